package cli

import (
	"errors"
	"fmt"

	"lampwright/internal/figure"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/report"
)

type bomCmd struct {
	Path   string `arg:"" optional:"" default:"." help:"Project folder or design file; default: current folder."`
	Spares int    `short:"s" default:"0" help:"Spare LED packages and lenses in percent, rounded up for each part."`
	Lamps  int    `short:"n" default:"1" help:"Number of lamps: boards in one lot, solder and paste once."`
	CSV    bool   `name:"csv" help:"Print as CSV, RFC 4180."`
	JSON   bool   `name:"json" help:"Print as JSON."`
}

// Run prints the bill of materials.
func (c *bomCmd) Run(r *run) error {
	switch {
	case c.Spares < 0 || c.Spares > 100:
		return fmt.Errorf("--spares %d: state a percentage from 0 to 100", c.Spares)
	case c.Lamps < 1 || c.Lamps > 1000:
		return fmt.Errorf("--lamps %d: state a number from 1 to 1000", c.Lamps)
	case c.CSV && c.JSON:
		return errors.New("--csv and --json: state one of them")
	}
	p, err := r.load(c.Path)
	if err != nil {
		return err
	}
	order := project.Order{Lamps: c.Lamps, Spares: float64(c.Spares) / 100}
	all := project.BillOfMaterials(p.Library, &p.Design, order)
	if c.CSV {
		return report.OrdersCSV(r.out, all)
	}
	lines := make([]figure.BOMLine, 0)
	for _, o := range all {
		lines = append(lines, figure.NewBOMLine(&o))
	}
	if c.JSON {
		return writeJSON(r, lines)
	}
	printBOM(r, lines)
	return nil
}

func printBOM(r *run, lines []figure.BOMLine) {
	sum := 0.0
	unpriced, fictitious := 0, 0
	t := r.table("count", "part", "name", "each", "total", "note")
	for _, o := range lines {
		each, total := "no price", "–"
		if o.Priced {
			each, total = quantity.Format(o.Each, quantity.Money), quantity.Format(o.Total, quantity.Money)
			sum += o.Total
		} else {
			unpriced++
		}
		if o.Fictitious {
			fictitious++
		}
		t.row(fmt.Sprint(o.Count), o.Part, o.What, each, total, o.Note)
	}
	t.print()
	r.println(fmt.Sprintf("Total %s, without shipping and tools.", quantity.Format(sum, quantity.Money)))
	if unpriced > 0 {
		r.println(fmt.Sprintf("%d lines have no price and are not in the total.", unpriced))
	}
	if fictitious > 0 {
		r.println(fmt.Sprintf("%d of the parts are fictitious: replace them by real ones before you order.", fictitious))
	}
}
