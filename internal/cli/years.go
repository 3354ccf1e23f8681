package cli

import (
	"lampwright/internal/report"
	"lampwright/internal/study"
)

type yearsCmd struct {
	Path string `arg:"" optional:"" default:"." help:"Project folder or design file; default: current folder."`
	JSON bool   `name:"json" help:"Print as JSON."`

	Calibrated bool `help:"Use the parameters that were learned from readings (calibration.yaml)."`
}

// Run computes the lamp over years of use.
func (c *yearsCmd) Run(r *run) error {
	result, err := r.evaluate(c.Path)
	if err != nil {
		return err
	}
	y, err := study.YearsOf(result)
	if err != nil {
		return err
	}
	if c.JSON {
		return writeJSON(r, y)
	}
	for _, line := range report.YearsTexts(y) {
		r.prose("", line)
	}
	for _, table := range report.YearsTables(y) {
		r.println("")
		r.println(table.Title)
		if table.Text != "" {
			r.prose("", table.Text)
		}
		r.printTable(table)
	}
	return nil
}
