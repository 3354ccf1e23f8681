package cli

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/quantity"
	"lampwright/internal/report"
	"lampwright/internal/study"
)

type warmupCmd struct {
	Path string `arg:"" optional:"" default:"." help:"Project folder or design file; default: current folder."`
	Case string `enum:"typical,max-ambient,fan-failure,max-ambient-fan-failure" default:"typical" help:"Ambient temperature and fan state: typical, max-ambient, fan-failure or max-ambient-fan-failure."`
	JSON bool   `name:"json" help:"Print as JSON."`

	Calibrated bool `help:"Use the parameters that were learned from readings (calibration.yaml)."`
}

// Run simulates a warm-up from ambient temperature.
func (c *warmupCmd) Run(r *run) error {
	result, err := r.evaluate(c.Path)
	if err != nil {
		return err
	}
	if have := casesOf(result); !slices.Contains(have, c.Case) {
		return fmt.Errorf("case %s needs a fan; the cases of this lamp are %s", c.Case, strings.Join(have, ", "))
	}
	w, err := study.SimulateWarmup(r.ctx, result, engine.CaseKey(c.Case), engine.Options{})
	if err != nil {
		return err
	}
	if c.JSON {
		return writeJSON(r, w)
	}
	r.prose("", report.WarmText(w))
	table := report.WarmTable(w, nil)
	r.printTable(table)
	return nil
}

// casesOf returns the cases that were computed for a lamp; a lamp without a fan has no fan failure.
func casesOf(result *figure.Evaluation) (names []string) {
	for _, c := range result.Cases {
		names = append(names, string(c.Key))
	}
	return names
}

// note prints a note.
func (r *run) note(text string) { r.prose("note: ", text) }

func temp(k float64) string { return quantity.Format(k, quantity.Temperature) }

type foldbackCmd struct {
	Path string `arg:"" optional:"" default:"." help:"Project folder or design file; default: current folder."`
	JSON bool   `name:"json" help:"Print as JSON."`

	Calibrated bool `help:"Use the parameters that were learned from readings (calibration.yaml)."`
}

// Run computes the thermal foldback.
func (c *foldbackCmd) Run(r *run) error {
	result, err := r.evaluate(c.Path)
	if err != nil {
		return err
	}
	f, err := study.SimulateFoldback(r.ctx, result, engine.Options{})
	if err != nil {
		return err
	}
	if c.JSON {
		return writeJSON(r, f)
	}
	texts, table := report.FoldTexts(f), report.FoldTable(f)
	for _, line := range texts[:3] {
		r.prose("", line)
	}
	r.println("")
	r.printRows(table)
	for _, line := range texts[3:] {
		r.prose("", line)
	}
	for _, n := range f.Notes {
		r.note(n)
	}
	return nil
}

type solderCmd struct {
	Path           string `arg:"" optional:"" default:"." help:"Project folder or design file; default: current folder."`
	TipTemperature string `default:"350 °C" help:"Temperature of the soldering tip."`
	IronPower      string `default:"70 W" help:"Rated power of the soldering iron."`
	JSON           bool   `name:"json" help:"Print as JSON."`

	Calibrated bool `help:"Use the parameters that were learned from readings (calibration.yaml)."`
}

// flagBetween reads a flag whose value lies between two limits.
func flagBetween(flag, text string, d quantity.Dim, atLeast, atMost string) (float64, error) {
	x, err := quantity.ParseUnambiguous(text, d)
	if err != nil {
		return 0, fmt.Errorf("--%s: %w", flag, err)
	}
	for _, limit := range []string{">=" + atLeast, "<=" + atMost} {
		l, err := quantity.ParseLimit(limit, d)
		if err != nil {
			panic("cli: " + err.Error())
		}
		if !l.Holds(x) {
			return 0, fmt.Errorf("--%s: %q is out of range; it must be %s to %s", flag, text, atLeast, atMost)
		}
	}
	return x, nil
}

// Run checks whether an iron can solder a wire to the board, and computes the preheat.
func (c *solderCmd) Run(r *run) error {
	tip, err := flagBetween("tip-temperature", c.TipTemperature, quantity.Temperature, "100 °C", "600 °C")
	if err != nil {
		return err
	}
	power, err := flagBetween("iron-power", c.IronPower, quantity.Power, "1 W", "1000 W")
	if err != nil {
		return err
	}
	result, err := r.evaluate(c.Path)
	if err != nil {
		return err
	}
	s, err := study.SolderWire(r.ctx, result, study.Iron{TipK: tip, PowerW: power})
	if err != nil {
		return err
	}
	if c.JSON {
		return writeJSON(r, s)
	}
	r.prose("", fmt.Sprintf("wire pad, 4 mm, at the edge: %.2f K/W after %.0f s; %s flows at %s", s.PadKW, s.WithinS, s.Alloy, temp(s.FlowK)))
	r.prose("", fmt.Sprintf("board at %s: required %s, available %s", temp(s.BenchK), quantity.Format(s.NeedW, quantity.Power), quantity.Format(s.IronW, quantity.Power)))
	switch {
	case !s.Feasible:
		r.prose("", fmt.Sprintf("not possible with this iron: emitter joints (%s) are limited to %s", s.Holds, temp(s.LimitK)))
	case s.PreheatK > s.BenchK:
		r.prose("", fmt.Sprintf("preheat the board to %s … %s: minimum for the joint to flow … solidus of the emitter solder %s minus 30 K", temp(math.Ceil(s.PreheatK-273.15)+273.15), temp(s.LimitK), s.Holds))
		r.prose("", fmt.Sprintf("energy for the preheat: %s", quantity.Format(s.BoardJ, quantity.Energy)))
	default:
		r.prose("", "result: no preheat needed")
	}
	if s.NearMax > 0 {
		r.prose("", fmt.Sprintf("maximum temperature of the emitter joints: %s", temp(s.NearMax)))
	}
	for _, n := range s.Notes {
		r.note(n)
	}
	return nil
}
