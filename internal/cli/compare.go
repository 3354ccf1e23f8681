package cli

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/quantity"
	"lampwright/internal/report"
)

type compareCmd struct {
	A    string `arg:"" help:"Project folder or design file."`
	B    string `arg:"" help:"Project folder or design file to compare it with."`
	All  bool   `short:"a" help:"Show equal results, too."`
	JSON bool   `name:"json" help:"Print as JSON."`

	Calibrated bool `help:"Use the parameters that were learned from readings (calibration.yaml)."`
}

// titleWidth is the least width of a comparison with the titles of the results.
const titleWidth = 120

// sideBySide is one figure of two lamps.
type sideBySide struct {
	Key    string   `json:"key"`
	Title  string   `json:"title"`
	A      *float64 `json:"a"` // SI; null if that lamp has no such figure
	B      *float64 `json:"b"`
	aText  string
	bText  string
	change string
}

// Run compares two designs.
func (c *compareCmd) Run(r *run) error {
	a, err := r.evaluate(c.A)
	if err != nil {
		return err
	}
	b, err := r.evaluate(c.B)
	if err != nil {
		return err
	}
	rows := pairFigures(a, b)
	fa, errA := r.review(a)
	fb, errB := r.review(b)
	if err := errors.Join(errA, errB); err != nil {
		return err
	}
	onlyA, onlyB := differ(fa, fb), differ(fb, fa)
	if c.JSON {
		return writeJSON(r, struct {
			A       string            `json:"a"`
			B       string            `json:"b"`
			Figures []sideBySide      `json:"figures"`
			OnlyA   []finding.Finding `json:"only_a"`
			OnlyB   []finding.Finding `json:"only_b"`
		}{a.Name, b.Name, rows, onlyA, onlyB})
	}
	t := r.table("key", "A", "B", "change")
	titles := r.width >= titleWidth
	if titles {
		t.head = append(t.head, "quantity")
	}
	same := 0
	for _, row := range rows {
		if row.aText == row.bText && !c.All {
			same++
			continue
		}
		cells := []string{row.Key, row.aText, row.bText, row.change}
		if titles {
			cells = append(cells, strings.TrimPrefix(row.Title, "channel "+prefix(a, row.Key)+": "))
		}
		t.row(cells...)
	}
	r.println("A: " + a.Name)
	r.println("B: " + b.Name)
	r.println("")
	t.print()
	if same > 0 {
		r.prose("", fmt.Sprintf("%d results are equal in the digits that their ranges support; --all shows them", same))
	}
	for _, side := range []struct {
		name string
		list []finding.Finding
	}{{"A", onlyA}, {"B", onlyB}} {
		r.println("")
		r.println(fmt.Sprintf("only %s has:", side.name))
		findingTitles(r, side.list)
	}
	return nil
}

// pairFigures lists the figures of both lamps: those of a in its order, then those that only b has.
func pairFigures(a, b *figure.Evaluation) []sideBySide {
	var rows []sideBySide
	pair := func(key string) {
		fa, okA := a.Figure(key)
		fb, okB := b.Figure(key)
		row := sideBySide{Key: key, Title: fa.Title, aText: "–", bText: "–"}
		if okA {
			row.A = &fa.Value
			row.aText, _ = report.Rounded(fa)
		}
		if okB {
			row.B, row.Title = &fb.Value, fb.Title
			row.bText, _ = report.Rounded(fb)
		}
		if okA && okB && row.aText != row.bText {
			row.change = change(fa, fb)
		}
		rows = append(rows, row)
	}
	for _, key := range a.Keys() {
		pair(key)
	}
	for _, key := range b.Keys() {
		if _, ok := a.Figure(key); !ok {
			pair(key)
		}
	}
	return rows
}

// change formats the change from a to b: in kelvin for temperatures, else as a factor or a difference.
func change(a, b figure.Figure) string {
	d := b.Value - a.Value
	switch {
	case a.Dim == quantity.Temperature || a.Dim == quantity.CCT:
		return quantity.Signed(d, 1) + " K"
	case a.Dim == quantity.Ratio:
		return quantity.Signed(100*d, 1) + " points"
	case a.Value > 0 && b.Value > 0:
		return fmt.Sprintf("× %.3g", b.Value/a.Value)
	}
	return quantity.Signed(d, int(math.Max(0, 3-math.Floor(math.Log10(math.Abs(d)+1e-12)))))
}
