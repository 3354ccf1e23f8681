package draw

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

func benchPictures(name string, width float64) map[string]Picture {
	course := []BandPoint{{0, 20, 0}, {5, 31, 1}, {10, 38, 1.5}, {45, 49, 2.5}}
	return map[string]Picture{
		"residuals": ResidualsPicture(Residuals{ID: "r", Title: name, Width: width, Rows: []Residual{
			{Name: name, Verdict: name, Zeta: 0.5, ULamp: 3, UMeter: 1},
			{Name: "b", Verdict: "differs", Zeta: -9, ULamp: 1, UMeter: 1, Beyond: true},
			{Name: "c", Verdict: "doubted", Zeta: 1, UMeter: 1, Unused: true},
			{Name: "not read", Zeta: math.NaN(), UMeter: 1},
		}}),
		"band": BandPicture(Band{
			ID: "bd", Title: name, Along: name, What: name, Predicted: course, Width: width, Grid: true,
			Read: []BandPoint{{2, 25, 0.8}, {50, 48, 0.8}},
		}),
		"cells": CellsPicture(Cells{
			ID: "cl", Title: name, What: name, LengthM: 0.9, WidthM: 0.45, NX: 3, NY: 2, Width: width,
			Cells: []Cell{{name, name, true}, {"b", "", false}, {}, {}, {}, {}}, Spots: []Spot{{0.1, 0.1, name}, {
				9,
				9, "",
			}},
		}),
		"map with readings": LightMap(Map{
			ID: "m", Title: name, What: "PPFD", Unit: "µmol/m²/s", LengthM: 0.6, WidthM: 0.3, NX: 5, NY: 5,
			Cells: bump(5, 5), Width: width, Readings: []MapReading{{0, 0, name, name}, {math.NaN(), 0, "x", ""}},
		}),
	}
}

func TestBenchPicturesAreSoundAndEscaped(t *testing.T) {
	for _, name := range []string{"plain", hostile, strings.Repeat("very long name ", 20), "", "白い光"} {
		for _, width := range []float64{0, 320, 900} {
			for kind, p := range benchPictures(name, width) {
				checkPicture(t, fmt.Sprintf("%s of %q, %g wide", kind, name, width), p)
			}
		}
	}
}

func TestNothingOfABenchToDraw(t *testing.T) {
	nan := math.NaN()
	for name, p := range map[string]Picture{
		"residuals without a reading": ResidualsPicture(Residuals{Rows: []Residual{{Zeta: nan, UMeter: 1}}}),
		"band of one point":           BandPicture(Band{Predicted: []BandPoint{{1, 1, 1}}}),
		"band that goes back":         BandPicture(Band{Predicted: []BandPoint{{1, 1, 1}, {0, 1, 1}}}),
		"band with NaN":               BandPicture(Band{Predicted: []BandPoint{{0, 1, 1}, {1, nan, 1}}}),
		"cells without size":          CellsPicture(Cells{NX: 1, NY: 1, Cells: []Cell{{}}}),
		"cells of another number":     CellsPicture(Cells{NX: 2, NY: 1, LengthM: 1, WidthM: 1, Cells: []Cell{{}}}),
	} {
		if !p.Empty() {
			t.Errorf("%s: something was drawn", name)
		}
	}
}

// TestResidualsToScale: 280 px of names and 196 px of words leave 424 px for 10 standard uncertainties: ζ = 1 is at
// 280 + 42.4·6. Lamp 3 and meter 4 make u = 5: the bar of the prediction is ±2·3/5, the whiskers ±2·4/5.
func TestResidualsToScale(t *testing.T) {
	p := ResidualsPicture(Residuals{ID: "r", Rows: []Residual{{Name: "a", Zeta: 1, ULamp: 3, UMeter: 4}}})
	const per = 42.4
	at := func(z float64) string { return n(280 + per*(z+5)) }
	for _, want := range []string{
		`<circle cx="` + at(1) + `" cy="55" r="4"`,
		`<rect x="` + at(-1.2) + `" y="50" width="` + n(2.4*per) + `"`,
		"M" + at(1-1.6) + " 51v8m0 -4H" + at(1+1.6),
		`<rect x="` + at(-2) + `" y="40" width="` + n(4*per) + `"`, // no verdict but "agrees" within ±2
	} {
		if !strings.Contains(p.Inline(), want) {
			t.Errorf("the picture lacks %s:\n%s", want, p.Inline())
		}
	}
	far := ResidualsPicture(Residuals{ID: "r", Rows: []Residual{{
		Name: "a", Zeta: 7, ULamp: 3, UMeter: 4,
		Beyond: true,
	}}})
	if s := far.Inline(); !strings.Contains(s, "M"+at(5)+" 55L"+n(280+per*10-11)+" 49") || strings.Contains(s,
		`cy="55"`) {
		t.Errorf("a reading beyond the axis is not an arrow at its end:\n%s", s)
	}
}

// TestBandToScale: the band is ±2 standard uncertainties about the line.
func TestBandToScale(t *testing.T) {
	p := BandPicture(Band{
		ID: "b", Predicted: []BandPoint{{0, 20, 0}, {10, 40, 5}}, Read: []BandPoint{{5, 30, 2.5}}, Width: 460,
		Height: 200,
	})
	// 400 px for 10 units along; the values go from 20 to 50: 200 px for 30.
	y := func(v float64) string { return n(226 - 200*(v-20)/30) }
	for _, want := range []string{
		"M46 226L446 " + y(50) + "L446 " + y(30) + "L46 226Z", "M46 226L446 " + y(40),
		`<circle cx="246" cy="` + y(30) + `"`, "M246 " + y(25) + "L246 " + y(35),
	} {
		if !strings.Contains(p.Inline(), want) {
			t.Errorf("the picture lacks %s:\n%s", want, p.Inline())
		}
	}
}

// TestCellsAreSeenFromAbove: the first cell is at the left of the front, as on the maps of the light.
func TestCellsAreSeenFromAbove(t *testing.T) {
	p := CellsPicture(Cells{
		ID: "c", What: "PPFD", LengthM: 1, WidthM: 0.5, NX: 2, NY: 2, Width: 402,
		Cells: []Cell{{Above: "front left"}, {Above: "front right"}, {Above: "back left"}, {Above: "back right"}},
	})
	for text, at := range map[string][2]float64{
		"front left": {101, 22 + 113}, "front right": {301, 22 + 113}, "back left": {101, 22 + 13},
		"back right": {301, 22 + 13},
	} {
		want := fmt.Sprintf(`<text x="%s" y="%s"`, n(at[0]), n(at[1]))
		if i := strings.Index(p.Inline(), want); i < 0 || !strings.HasPrefix(p.Inline()[strings.Index(p.Inline()[i:],
			">")+i+1:], text) {
			t.Errorf("%q is not at %v", text, at)
		}
	}
	if !strings.Contains(p.Desc, "back left, back right; front left, front right") {
		t.Errorf("the description is %q", p.Desc)
	}
}
