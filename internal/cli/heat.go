package cli

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"lampwright/internal/design"
	"lampwright/internal/report"
	"lampwright/internal/quantity"
)

type warmupCmd struct {
	Path string `arg:"" optional:"" default:"." help:"Project folder or design file; the folder you are in if not given."`
	Case string `enum:"usual,hottest,usual-fan-dead,hottest-fan-dead" default:"usual" help:"Day to follow: usual, hottest, and with the fan stopped usual-fan-dead or hottest-fan-dead."`
	JSON bool   `name:"json" help:"Print as JSON."`
}

// Run follows a lamp from a cold start.
func (c *warmupCmd) Run(r *run) error {
	result, err := r.evaluate(c.Path)
	if err != nil {
		return err
	}
	if keys := caseKeys(result); !slices.Contains(keys, c.Case) {
		return fmt.Errorf("this lamp has no case %s; it has %s", c.Case, strings.Join(keys, ", "))
	}
	w, err := result.WarmUp(r.ctx, c.Case, design.Options{})
	if err != nil {
		return err
	}
	if c.JSON {
		return writeJSON(r, w)
	}
	r.println(report.WarmText(w))
	table := report.WarmTable(w, nil)
	t := newTable(table.Head...)
	for _, row := range table.Rows {
		t.Row(row...)
	}
	r.println(t.String())
	for _, n := range w.Notes {
		r.println(marksNote(n))
	}
	return nil
}

// caseKeys returns the days for which a lamp was computed: those with the fan stopped are not there without a fan.
func caseKeys(result *design.Result) (keys []string) {
	for _, c := range result.Cases {
		keys = append(keys, c.Key)
	}
	return keys
}

func marksNote(n string) string { return "note: " + wrap(n, textWidth, 6) }

func temp(k float64) string { return quantity.Format(k, quantity.Temperature) }

type foldbackCmd struct {
	Path string `arg:"" optional:"" default:"." help:"Project folder or design file; the folder you are in if not given."`
	JSON bool   `name:"json" help:"Print as JSON."`
}

// Run works out how the lamp's sensor cuts its light.
func (c *foldbackCmd) Run(r *run) error {
	result, err := r.evaluate(c.Path)
	if err != nil {
		return err
	}
	f, err := result.Foldback(r.ctx, design.Options{})
	if err != nil {
		return err
	}
	if c.JSON {
		return writeJSON(r, f)
	}
	texts, table := report.FoldTexts(f), report.FoldTable(f)
	for _, line := range texts[:3] {
		r.println(line)
	}
	r.println("")
	t := newTable(table.Head...)
	for _, row := range table.Rows {
		t.Row(row...)
	}
	r.println(t.String())
	for _, line := range texts[3:] {
		r.println(line)
	}
	for _, n := range f.Notes {
		r.println(marksNote(n))
	}
	return nil
}

type solderCmd struct {
	Path  string `arg:"" optional:"" default:"." help:"Project folder or design file; the folder you are in if not given."`
	Tip   string `default:"350 °C" help:"Temperature the tip is held at."`
	Power string `default:"70 W" help:"Power of the iron."`
	JSON  bool   `name:"json" help:"Print as JSON."`
}

// Run says whether an iron can solder a wire to the board, and with which preheat.
func (c *solderCmd) Run(r *run) error {
	tip, err := quantity.Parse(c.Tip, quantity.Temperature)
	if err != nil {
		return fmt.Errorf("--tip: %w", err)
	}
	power, err := quantity.Parse(c.Power, quantity.Power)
	if err != nil {
		return fmt.Errorf("--power: %w", err)
	}
	result, err := r.evaluate(c.Path)
	if err != nil {
		return err
	}
	s, err := result.Solder(r.ctx, design.Iron{TipK: tip, PowerW: power})
	if err != nil {
		return err
	}
	if c.JSON {
		return writeJSON(r, s)
	}
	r.println(fmt.Sprintf("a wire pad of 4 mm at the edge rises by %.2f K for each watt after %.0f s; %s flows at %s", s.PadKW, s.WithinS, s.Alloy, temp(s.FlowK)))
	r.println(fmt.Sprintf("board at %s: it takes %s; this iron brings %s", temp(s.BenchK), quantity.Format(s.NeedW, quantity.Power), quantity.Format(s.IronW, quantity.Power)))
	switch {
	case !s.Feasible:
		r.println(fmt.Sprintf("this iron cannot do it: the joints of %s, which hold the emitters, may reach %s", s.Holds, temp(s.LimitK)))
	case s.PreheatK > s.BenchK:
		r.println(fmt.Sprintf("preheat the board to %s to %s: it flows from the first on; the second is 30 K under the solidus of %s, which holds the emitters", temp(math.Ceil(s.PreheatK-273.15)+273.15), temp(s.LimitK), s.Holds))
		r.println(fmt.Sprintf("that takes %s into the board", quantity.Format(s.BoardJ, quantity.Energy)))
	default:
		r.println("it flows without preheat")
	}
	if s.NearMax > 0 {
		r.println(fmt.Sprintf("the emitters' joints come to %s at the most", temp(s.NearMax)))
	}
	for _, n := range s.Notes {
		r.println(marksNote(n))
	}
	return nil
}
