// Package burn computes the burn threshold of skin on touch: the surface temperature at which it burns.
//
// In: the material of the surface and how long it is touched.
// Out: a band of temperatures: below it no burn is to be expected, above it one is.
// Assumes: healthy adult skin. The table is from memory and says so with every answer; consult the standard before a
// product is judged by it.
// Leaves to others: how hot the surface is, and what contact time a use calls for.
package burn

import (
	"embed"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"

	"lampwright/internal/table"
)

//go:embed data/*.csv
var data embed.FS

// Limit is the band in which skin burns.
type Limit struct {
	LowK   float64  `json:"lowK"`  // no burn below [K]
	HighK  float64  `json:"highK"` // burn above [K]
	Source string   `json:"source"`
	Notes  []string `json:"notes"`
}

// Contact times that lamps are judged by. Common practice, after ISO13732.
const (
	BrushS = 1.0  // an adult touches it by mistake and lets go
	ChildS = 10.0 // children can reach it
	HoldS  = 60.0 // a knob or a handle that is turned
)

// memoryNote comes with every limit.
const memoryNote = "burn thresholds are from memory of ISO 13732-1:2006, the short contacts to about 3 K: consult the standard; they are thresholds, not limits, and pain starts lower, near 44 °C of the skin"

// point is one row of the table for one material.
type point struct{ seconds, lowC, highC float64 }

// thresholds are the rows of the table by material, read once.
var thresholds = sync.OnceValue(func() map[string][]point {
	rows := table.Must(data, "data/thresholds.csv", "seconds", "low", "high")
	t := map[string][]point{}
	for i := range rows.Rows() {
		material := rows.Text(i, "material")
		t[material] = append(t[material], point{rows.Number(i, "seconds"), rows.Number(i, "low"), rows.Number(i, "high")})
	}
	return t
})

// Materials lists the surfaces that the table knows, in order of their names.
func Materials() []string {
	var names []string
	for name := range thresholds() {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// At returns the burn threshold of a surface in kelvin: lower and upper edge of the band.
//
// material is one of Materials; contactSeconds is how long it is touched, from 1 s. Between the rows it runs straight over
// the logarithm of time; shorter contacts take the row of 1 s, which is on the safe side, and longer ones that of 8 h.
// Source: ISO13732, §5 and its figures (from memory).
func At(material string, contactSeconds float64) (Limit, error) {
	rows, ok := thresholds()[material]
	if !ok {
		return Limit{}, fmt.Errorf("no burn threshold for %q; use one of %s", material, strings.Join(Materials(), ", "))
	}
	if !(contactSeconds > 0) {
		return Limit{}, fmt.Errorf("contact time is %g s; give a positive time, 1 s for a touch by mistake", contactSeconds)
	}
	l := Limit{Source: "ISO13732 (from memory)", Notes: []string{memoryNote}}
	if material == "coated metal" && contactSeconds < 60 {
		l.Notes = append(l.Notes, "the band of coated metal spans thin and thick coats: 2 K more than bare metal at 50 µm, 10 to 15 K at 150 µm and more")
	}
	first, last := rows[0], rows[len(rows)-1]
	switch {
	case contactSeconds < first.seconds:
		l.Notes = append(l.Notes, "contact shorter than 1 s: the threshold of 1 s is given")
		l.LowK, l.HighK = kelvin(first.lowC), kelvin(first.highC)
	case contactSeconds >= last.seconds:
		l.LowK, l.HighK = kelvin(last.lowC), kelvin(last.highC)
	default:
		i := 1
		for contactSeconds >= rows[i].seconds {
			i++
		}
		a, b := rows[i-1], rows[i]
		share := math.Log(contactSeconds/a.seconds) / math.Log(b.seconds/a.seconds)
		l.LowK = kelvin(a.lowC + share*(b.lowC-a.lowC))
		l.HighK = kelvin(a.highC + share*(b.highC-a.highC))
	}
	return l, nil
}

// kelvin turns a Celsius temperature into kelvin.
func kelvin(celsius float64) float64 { return celsius + 273.15 }
