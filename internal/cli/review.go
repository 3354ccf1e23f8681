package cli

import (
	"encoding/json"
	"fmt"
	"strings"

	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/quantity"
	"lampwright/internal/report"
	"lampwright/internal/version"
)

type reviewCmd struct {
	Path  string   `arg:"" optional:"" default:"." help:"Project folder or design file; default: current folder."`
	Short bool     `short:"s" help:"Print the table of findings only."`
	All   bool     `short:"a" help:"Show notes and passed checks in full."`
	Check []string `placeholder:"CHECK" help:"Show only findings of this check, such as die-current."`
	Plan  bool     `help:"Print at most five changes that clear stops and warnings, with their prices."`
	JSON  bool     `name:"json" help:"Print results and findings, or the plan, as JSON."`

	Calibrated bool `help:"Use the parameters that were learned from readings (calibration.yaml)."`
}

// Run reviews a lamp; its status is 1 if there is a stop.
func (c *reviewCmd) Run(r *run) error {
	if c.Plan {
		p, err := r.load(c.Path)
		if err != nil {
			return err
		}
		return c.plan(r, p)
	}
	result, err := r.evaluate(c.Path)
	if err != nil {
		return err
	}
	findings, err := r.review(result)
	if err != nil {
		return err
	}
	shown, err := ofChecks(findings, c.Check)
	if err != nil {
		return err
	}
	if c.JSON {
		err = writeJSON(r, struct {
			Version  string             `json:"lampwright"`
			Result   *figure.Evaluation `json:"result"`
			Findings []finding.Finding  `json:"findings"`
		}{version.String(), result, shown})
	} else {
		printReview(r, result, shown, c)
	}
	if err == nil && finding.Any(findings, finding.Stop) {
		return errFound
	}
	return err
}

func writeJSON(r *run, v any) error {
	enc := json.NewEncoder(r.out)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}

// headline returns the main results in one line.
func headline(r *figure.Evaluation) string {
	text := func(key string) string {
		f, ok := r.Figure(key)
		if !ok {
			return "–"
		}
		value, _ := report.Rounded(f)
		return value
	}
	return fmt.Sprintf("mains input %s, %s, %s at the target; maximum T_j %s at maximum ambient; parts cost %s",
		text("mains.power"), text("lamp.flux"), text("target.ppfd"), text("lamp.junction-max-ambient"), text("cost.bom"))
}

type explainCmd struct {
	Figure string `arg:"" help:"Key of a result, such as white.junction; lampwright figures lists them."`
	Path   string `arg:"" optional:"" default:"." help:"Project folder or design file; default: current folder."`
	JSON   bool   `name:"json" help:"Print as JSON."`

	Calibrated bool `help:"Use the parameters that were learned from readings (calibration.yaml)."`
}

// Run prints the derivation of a result.
func (c *explainCmd) Run(r *run) error {
	result, err := r.evaluate(c.Path)
	if err != nil {
		return err
	}
	f, ok := result.Figure(c.Figure)
	if !ok {
		hint := "`lampwright figures` lists them"
		if near, ok := quantity.Near(c.Figure, result.Keys()); ok {
			hint = fmt.Sprintf("did you mean %s?", near)
		}
		return fmt.Errorf("result %q not found; %s", c.Figure, hint)
	}
	if c.JSON {
		return writeJSON(r, f)
	}
	r.println(r.paint(bold, f.Title))
	value, spread := report.Rounded(f)
	if spread != "" {
		value += "   (" + spread + " " + f.RangeOf() + ")"
	}
	line := func(label, text string) {
		if text != "" {
			r.prose(fmt.Sprintf("  %-9s ", label), text)
		}
	}
	line("value", value)
	line("formula", f.Basis.Formula)
	line("numbers", f.Basis.Numbers)
	line("method", f.Basis.Method)
	line("valid", f.Basis.Valid)
	for _, n := range f.Basis.Notes {
		line("note", n)
	}
	if len(f.Basis.Inputs) > 0 {
		r.println("  inputs")
	}
	for _, in := range f.Basis.Inputs {
		r.prose("    ", fmt.Sprintf("%s = %s — %s", in.Name, in.Value, origin(in, c.Path)))
	}
	return nil
}

// origin returns where an input comes from: source, command that explains it, and place in the files.
func origin(in figure.Input, path string) string {
	from := in.Source
	if in.Figure != "" {
		from = strings.TrimPrefix(from+"; "+command("explain", in.Figure, path), "; ")
	}
	if in.At.Line > 0 {
		from += " (" + place(path, in.At) + ")"
	}
	return from
}
