package cli

import (
	"fmt"
	"io"
	"os"
	"strconv"

	"lampwright/internal/casefile"
	"lampwright/internal/verify"
)

type verifyCmd struct {
	JSON bool   `name:"json" help:"Print as JSON."`
	Case string `placeholder:"FILE.json" help:"Compute one case of a board or a tank instead, and print its figures as JSON; docs/cases-heat.md and docs/cases-light.md say what a case holds."`
}

// runCase computes a case of heat in a board or of light in a tank.
func runCase(r *run, path string) error {
	f, err := os.Open(path)
	if err != nil {
		return fmt.Errorf("open case: %w", err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, casefile.MaxBytes+1))
	if err != nil {
		return fmt.Errorf("read case %s: %w", path, err)
	}
	out, err := casefile.Run(r.ctx, path, data)
	if err != nil {
		return err
	}
	if err := writeJSON(r, out); err != nil {
		return err
	}
	if !casefile.Passed(out) {
		return errFound
	}
	return nil
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
