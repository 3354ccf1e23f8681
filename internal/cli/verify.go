package cli

import (
	"fmt"
	"strconv"

	"lampwright/internal/verify"
)

type verifyCmd struct {
	JSON bool `name:"json" help:"Print as JSON."`
}

// Run prints the built-in check table; its status is 1 where a row misses.
func (c *verifyCmd) Run(r *run) error {
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
