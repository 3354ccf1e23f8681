package cli

import (
	"fmt"
	"strconv"

	"lampwright/internal/casefile"
	"lampwright/internal/inputfile"
	"lampwright/internal/verify"
)

type verifyCmd struct {
	JSON bool   `name:"json" help:"Print as JSON."`
	Case string `placeholder:"FILE.json" help:"Compute one case instead, as JSON (formats: docs/cases-*.md)."`
}

// runCase computes a case of heat in a board, of light in a tank, of a topic, of the controller core or of readings.
func runCase(r *run, path string) error {
	data, err := inputfile.ReadPath(path, casefile.MaxBytes)
	if err != nil {
		return fmt.Errorf("read case %s: %s", path, inputfile.Reason(err))
	}
	out, err := casefile.Run(r.ctx, path, data)
	if casefile.Placed(err) {
		fmt.Fprintln(r.err, err)
		return errShown
	}
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

// Run prints the table of published values; its status is 1 if a row fails.
func (c *verifyCmd) Run(r *run) error {
	if c.Case != "" {
		return runCase(r, c.Case)
	}
	outcomes, err := verify.Run(r.ctx)
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
		t := r.table("", "id", "quantity", "published", "computed", "tolerance", "unit", "kind", "source")
		num := func(v float64) string { return strconv.FormatFloat(v, 'g', 7, 64) }
		for _, o := range outcomes {
			mark := "ok"
			if !o.Passed {
				mark = "FAIL"
			}
			t.row(mark, o.ID, o.What, num(o.Want), num(o.Got), strconv.FormatFloat(o.Tol, 'g', 2, 64), o.Unit, o.Kind, o.Source+o.Err)
		}
		t.print()
		r.println(fmt.Sprintf("%d passed, %d failed", len(outcomes)-missed, missed))
	}
	if err == nil && missed > 0 {
		return errFound
	}
	return err
}
