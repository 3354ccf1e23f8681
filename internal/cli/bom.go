package cli

import (
	"fmt"
	"math"

	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

type bomCmd struct {
	Path   string `arg:"" optional:"" default:"." help:"Project folder or design file; default: current folder."`
	Spares int    `short:"s" default:"0" help:"Spare LED packages and lenses in percent, rounded up for each part."`
	JSON   bool   `name:"json" help:"Print as JSON."`
}

// bomLine is a line of the printed list.
type bomLine struct {
	Count      int      `json:"count"`
	Part       string   `json:"part,omitempty"`
	What       string   `json:"what"`
	EachEUR    *float64 `json:"each_eur"` // null where no price is stated
	TotalEUR   *float64 `json:"total_eur"`
	Note       string   `json:"note,omitempty"`
	Fictitious bool     `json:"fictitious,omitempty"`
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
	lines := make([]bomLine, 0)
	for _, o := range project.BillOfMaterials(p.Library, &p.Design) {
		if o.Kind == "emitter" || o.Kind == "lens" {
			o.Count += int(math.Ceil(float64(o.Count*c.Spares) / 100))
		}
		line := bomLine{Count: o.Count, What: o.What, Note: o.Note, Fictitious: o.Fictitious()}
		if o.Part != nil {
			line.Part = o.Part.ID.S
		}
		if o.Priced {
			each, total := o.Each, o.Total()
			line.EachEUR, line.TotalEUR = &each, &total
		}
		lines = append(lines, line)
	}
	if c.JSON {
		return writeJSON(r, lines)
	}
	printBOM(r, lines)
	return nil
}

func printBOM(r *run, lines []bomLine) {
	sum := 0.0
	unpriced, fictitious := 0, 0
	t := r.table("count", "part", "name", "each", "total", "note")
	for _, o := range lines {
		each, total := "no price", "–"
		if o.EachEUR != nil {
			each, total = quantity.Format(*o.EachEUR, quantity.Money), quantity.Format(*o.TotalEUR, quantity.Money)
			sum += *o.TotalEUR
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
