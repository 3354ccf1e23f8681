package cli

import (
	"bytes"
	"fmt"
	"io"
	"path/filepath"

	"lampwright/internal/atomicfile"
	"lampwright/internal/project"
	"lampwright/internal/report"
	"lampwright/internal/version"
)

type buildCmd struct {
	Path   string `arg:"" optional:"" default:"." help:"Project folder or design file; default: current folder."`
	Output string `short:"o" placeholder:"FILE" help:"File to write; default: in the project folder; - to print."`
	CSV    string `name:"csv" enum:",orders,placement" default:"" help:"Write this table: orders, placement."`

	Calibrated bool `help:"Use the parameters that were learned from readings (calibration.yaml)."`
}

// buildFiles are the names of the files by the table that they hold.
var buildFiles = map[string]string{"": "build-sheet.html", "orders": "order-list.csv", "placement": "placement.csv"}

// Run writes the build sheet, or one of its tables.
func (c *buildCmd) Run(r *run) error {
	b, err := c.content(r)
	if err != nil {
		return err
	}
	if c.Output == "-" {
		_, err := io.Copy(r.out, b)
		return err
	}
	out := c.Output
	if out == "" {
		out = filepath.Join(folder(c.Path), buildFiles[c.CSV])
	}
	if err := atomicfile.Save(out, b.Bytes()); err != nil {
		return err
	}
	r.println("wrote " + out)
	return nil
}

// content returns the file to write.
func (c *buildCmd) content(r *run) (*bytes.Buffer, error) {
	var b bytes.Buffer
	if c.CSV == "orders" { // nothing is computed for it
		p, err := r.load(c.Path)
		if err != nil {
			return nil, err
		}
		return &b, report.OrdersCSV(&b, project.BillOfMaterials(p.Library, &p.Design, project.Order{}))
	}
	result, err := r.evaluate(c.Path)
	if err != nil {
		return nil, err
	}
	if c.CSV == "placement" {
		return &b, report.PlacementCSV(&b, result)
	}
	findings, err := r.review(result)
	if err != nil {
		return nil, err
	}
	o := report.Options{Program: "lampwright " + version.String()}
	if err := report.BuildSheet(&b, result, findings, o); err != nil {
		return nil, fmt.Errorf("write build sheet: %w", err)
	}
	return &b, nil
}
