package cli

import (
	"encoding/json"
	"fmt"
	"io"
	"os"
	"strconv"

	"lampwright/internal/heat"
	"lampwright/internal/raytrace"
	"lampwright/internal/verify"
)

type verifyCmd struct {
	JSON bool   `name:"json" help:"Print as JSON."`
	Case string `placeholder:"FILE.json" help:"Compute one case of a board or a tank instead, and print its figures as JSON; docs/cases-heat.md and docs/cases-light.md say what a case holds."`
}

// maxCaseBytes bounds a case file; the largest of ours has a hundredth of it.
const maxCaseBytes = 4 << 20

// runCase computes a case of heat in a board or of light in a tank.
func runCase(r *run, path string) error {
	f, err := os.Open(path)
	if err != nil {
		return fmt.Errorf("open case: %w", err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, maxCaseBytes+1))
	if err != nil {
		return fmt.Errorf("read case %s: %w", path, err)
	}
	if len(data) > maxCaseBytes {
		return fmt.Errorf("case %s is larger than %d MB", path, maxCaseBytes>>20)
	}
	var out any
	switch {
	case heat.IsCase(data):
		out, err = heat.RunCase(r.ctx, data)
	case raytrace.IsCase(data):
		out, err = raytrace.RunCase(r.ctx, data)
	default:
		var whatever any
		if err := json.Unmarshal(data, &whatever); err != nil {
			return fmt.Errorf("case %s is no JSON: %w", path, err)
		}
		return fmt.Errorf("%s is no case of a board or of a tank; docs/cases-heat.md and docs/cases-light.md say what one holds", path)
	}
	if err != nil {
		return fmt.Errorf("case %s: %w", path, err)
	}
	if err := writeJSON(r, out); err != nil {
		return err
	}
	if !casePassed(out) {
		return errFound
	}
	return nil
}

// casePassed tells whether every value that a case brought with it was met; a case that brings none passes.
func casePassed(out any) bool {
	switch c := out.(type) {
	case raytrace.CaseResult:
		return c.Passed()
	case []raytrace.CaseResult:
		for _, one := range c {
			if !one.Passed() {
				return false
			}
		}
	}
	return true
}

// Run prints the built-in check table; its status is 1 where a row misses.
func (c *verifyCmd) Run(r *run) error {
	if c.Case != "" {
		return runCase(r, c.Case)
	}
	outcomes, err := verify.Run()
	if err != nil {
		return err
	}
	missed := 0
	for _, o := range outcomes {
		if !o.Passed {
			missed++
		}
	}
	if c.JSON {
		err = writeJSON(r, outcomes)
	} else {
		t := newTable("", "id", "what", "print says", "this program", "tolerance", "unit", "kind", "source")
		num := func(v float64) string { return strconv.FormatFloat(v, 'g', 7, 64) }
		for _, o := range outcomes {
			mark := "ok"
			if !o.Passed {
				mark = "MISS"
			}
			t.Row(mark, o.ID, o.What, num(o.Want), num(o.Got), strconv.FormatFloat(o.Tol, 'g', 2, 64), o.Unit, o.Kind, o.Source+o.Err)
		}
		r.println(t.String())
		r.println(fmt.Sprintf("%d passed, %d failed", len(outcomes)-missed, missed))
	}
	if err == nil && missed > 0 {
		return errFound
	}
	return err
}
