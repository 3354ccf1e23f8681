package cli

import (
	"fmt"
	"math"

	"lampwright/internal/figure"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

type bomCmd struct {
	Path   string `arg:"" optional:"" default:"." help:"Project folder or design file; default: current folder."`
	Spares int    `short:"s" default:"0" help:"Spare LED packages and lenses in percent, rounded up for each part."`
	JSON   bool   `name:"json" help:"Print as JSON."`
}

// Run prints the bill of materials.
func (c *bomCmd) Run(r *run) error {
	if c.Spares < 0 || c.Spares > 100 {
		return fmt.Errorf("--spares %d: state a percentage from 0 to 100", c.Spares)
	}
	p, err := r.load(c.Path)
	if err != nil {
		return err
	}
	lines := make([]figure.BOMLine, 0)
	for _, o := range project.BillOfMaterials(p.Library, &p.Design) {
		if o.Kind == "emitter" || o.Kind == "lens" {
			o.Count += int(math.Ceil(float64(o.Count*c.Spares) / 100))
		}
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
