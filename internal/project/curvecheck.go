package project

import (
	"fmt"
	"math"

	"lampwright/internal/curve"
	"lampwright/internal/plausible"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// ReadingError is how far a table read off a printed diagram may lie from the value that the datasheet states at the
// test point, as a fraction of that value. Rule of thumb (no source).
const ReadingError = 0.02

// ReadTable is a table read off a diagram, in the units that its dimensions are stored in, by increasing x.
type ReadTable struct {
	Kind string     // of the part, as its file calls it: emitters
	Key  source.Key // of the curve
	X, Y []float64
	// TestX is the x of the test point, TestY the value that the datasheet states there; NaN where it is not known.
	// Of a ratio to the value at the test point it is 1.
	TestX, TestY float64
}

// TableDoubt is what speaks against a table.
type TableDoubt struct {
	Rows []int  `json:"rows"` // from 0; empty where it is about the whole
	Text string `json:"text"`
}

// Doubts compares a table with what such a curve can be: it has no x twice, rises or falls as its quantity must, lies
// in the usual range of such parts, and agrees with the test point.
func (t *ReadTable) Doubts() (out []TableDoubt) {
	xd, _ := quantity.ByName(t.Key.X)
	yd, _ := quantity.ByName(t.Key.Y)
	xs := func(i int) string { return quantity.Format(t.X[i], xd) }
	ys := func(i int) string { return quantity.Format(t.Y[i], yd) }
	for i := 1; i < len(t.X); i++ {
		if t.X[i]-t.X[i-1] <= 1e-9*math.Max(math.Abs(t.X[i]), math.Abs(t.X[i-1])) {
			out = append(out, TableDoubt{[]int{i - 1, i}, fmt.Sprintf(
				"points %d and %d have the same %s, %s; keep one of them", i, i+1, t.Key.X, xs(i),
			)})
			continue
		}
		step := t.Y[i] - t.Y[i-1]
		word := "falls"
		if t.Key.Trend == "falls" {
			word, step = "rises", -step
		}
		if t.Key.Trend != "" && step < 0 {
			out = append(out, TableDoubt{[]int{i - 1, i}, fmt.Sprintf(
				"%s %s from %s at %s to %s at %s; it %s with %s", t.Key.Key, word, ys(i-1), xs(i-1), ys(i), xs(i),
				t.Key.Trend, t.Key.X,
			)})
		}
	}
	out = append(out, t.unusual(".x", t.X, xd)...)
	out = append(out, t.unusual(".y", t.Y, yd)...)
	return append(out, t.atTestPoint(xd, yd)...)
}

// unusual returns the first value of a column that is outside the usual range.
func (t *ReadTable) unusual(column string, values []float64, dim quantity.Dim) []TableDoubt {
	for _, k := range Kinds {
		if k.Key != t.Kind {
			continue
		}
		for i, v := range values {
			d := plausible.Value(k.Name, t.Key.Key+column, v, dim == quantity.Temperature)
			if d == nil {
				continue
			}
			text := fmt.Sprintf("%s at point %d is outside the usual range of %s to %s; rule of thumb (no source)",
				quantity.Format(v, dim), i+1, quantity.Format(d.Lo, dim), quantity.Format(d.Hi, dim))
			if d.Slip != plausible.NoSlip {
				text += ". Check the unit: did you mean " + quantity.Format(d.Meant, dim) + "?"
			}
			return []TableDoubt{{[]int{i}, text}}
		}
	}
	return nil
}

// atTestPoint compares the curve with the value stated at the test point.
func (t *ReadTable) atTestPoint(xd, yd quantity.Dim) []TableDoubt {
	want := t.TestY
	if t.Key.Test != "" && t.Key.Y == quantity.Ratio.Name() {
		want = 1
	}
	c, err := curve.New(t.X, t.Y)
	if t.Key.Test == "" || math.IsNaN(t.TestX) || err != nil {
		return nil
	}
	got, inside := c.At(t.TestX)
	at := quantity.Format(t.TestX, xd)
	if !inside {
		return []TableDoubt{
			{[]int{}, fmt.Sprintf("the curve does not reach %s, %s; add a point there", t.Key.Test, at)},
		}
	}
	if math.IsNaN(want) || math.Abs(got-want) <= ReadingError*math.Abs(want) {
		return nil
	}
	return []TableDoubt{{[]int{}, fmt.Sprintf(
		"at %s, %s, the curve gives %s; stated: %s. Difference %.1f %%, tolerance %.0f %% (reading error of a "+
			"diagram, rule of thumb, no source)",
		t.Key.Test,
		at,
		quantity.Format(got, yd),
		quantity.Format(want, yd),
		100*math.Abs(got-want)/math.Abs(want),
		100*ReadingError,
	)}}
}
