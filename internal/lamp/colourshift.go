package lamp

import (
	"fmt"
	"math"

	"lampwright/internal/colour"
	"lampwright/internal/curve"
	"lampwright/internal/project"
	"lampwright/internal/source"
	"lampwright/internal/spectrum"
)

// ColourShift is the change of an emitter's colour with current, as its datasheet states it.
type ColourShift struct {
	Definition ShiftDefinition
	of         [2]curve.Curve // against the current of one die [A]; the second is y beside x
	Given      [2]source.Curve
	TestA      float64
}

// ShiftDefinition is how a datasheet states a colour shift.
type ShiftDefinition int

const (
	NoShift       ShiftDefinition = iota
	peakShift                     // the spectrum shifts as its peak wavelength
	dominantShift                 // it shifts until its dominant wavelength agrees
	XYShift                       // its shape changes until its chromaticity agrees
	CCTShift                      // the same, by CCT at equal Duv
)

func (w ShiftDefinition) field() string {
	return [...]string{"", "peak_vs_current", "dominant_vs_current", "cie_x_vs_current", "cct_vs_current"}[w]
}

// White tells whether the shift is one of chromaticity and not of wavelength.
func (w ShiftDefinition) White() bool { return w == XYShift || w == CCTShift }

// newColourShift builds the curves of a part and checks that its spectrum can follow them.
func newColourShift(part *project.Emitter, unit spectrum.Spectrum) (ColourShift, error) {
	d := ColourShift{TestA: part.TestCurrent.SI}
	switch {
	case part.PeakVsCurrent.Set:
		d.Definition, d.Given[0] = peakShift, part.PeakVsCurrent
	case part.DominantVsCurrent.Set:
		d.Definition, d.Given[0] = dominantShift, part.DominantVsCurrent
	case part.XVsCurrent.Set && part.YVsCurrent.Set:
		d.Definition, d.Given = XYShift, [2]source.Curve{part.XVsCurrent, part.YVsCurrent}
	case part.CCTVsCurrent.Set:
		d.Definition, d.Given[0] = CCTShift, part.CCTVsCurrent
	}
	for i, g := range d.Given {
		if !g.Set {
			continue
		}
		var err error
		if d.of[i], err = curve.New(g.X, g.Y); err != nil {
			return d, fmt.Errorf("%s: %w", d.Definition.field(), err)
		}
	}
	for _, g := range d.Given {
		for _, a := range g.X {
			if err := d.check(unit, a); err != nil {
				return d, fmt.Errorf("%s at %.3g A: %w", d.Definition.field(), a, err)
			}
		}
	}
	return d, nil
}

// maxShiftNM bounds a shift: a larger one is a typing error.
const maxShiftNM = 60

func (d ColourShift) check(unit spectrum.Spectrum, dieA float64) error {
	if d.Definition.White() {
		_, err := d.AtCurrent(unit, dieA)
		return err
	}
	nm, err := d.ShiftNM(unit, dieA)
	if err == nil && math.Abs(nm) > maxShiftNM {
		err = fmt.Errorf("the spectrum would shift by %.0f nm from that at test_current; the maximum plausible shift "+
			"is %d nm", nm, maxShiftNM)
	}
	return err
}

// Change returns the value of a curve at a current minus that at the test current; beyond its points it is constant.
func (d ColourShift) Change(i int, dieA float64) float64 {
	now, _ := d.of[i].At(d.clamped(i, dieA))
	ref, _ := d.of[i].At(d.TestA)
	return now - ref
}

// clamped returns the current at which a curve is read.
func (d ColourShift) clamped(i int, dieA float64) float64 {
	lo, hi := d.of[i].Range()
	return math.Min(math.Max(dieA, lo), hi)
}

// OutsideCurve states where a current is outside the curves.
func (d ColourShift) OutsideCurve(id string, dieA float64) (notes []string) {
	for i := range d.of {
		if d.of[i].Empty() {
			continue
		}
		lo, hi := d.of[i].Range()
		if slack := 1e-9 * hi; dieA < lo-slack || dieA > hi+slack {
			field := d.Definition.field()
			if i == 1 {
				field = "cie_y_vs_current"
			}
			notes = append(notes, fmt.Sprintf("%s: %.3g A is outside %s (%.3g A to %.3g A); the value of the nearer "+
				"end is used", id, dieA, field, lo, hi))
		}
	}
	return notes
}

// ShiftNM returns the shift to longer wavelengths at a current against the test point [nm]; 0 for whites.
//
// For a dominant wavelength it is found by the secant method, to 1e-4 nm: the locus is curved around green, so that
// peak and dominant wavelength of a broad spectrum shift differently.
func (d ColourShift) ShiftNM(unit spectrum.Spectrum, dieA float64) (float64, error) {
	switch d.Definition {
	case peakShift:
		return d.Change(0, dieA), nil
	case dominantShift:
	default:
		return 0, nil
	}
	want := d.Change(0, dieA)
	if want == 0 {
		return 0, nil
	}
	dominant := func(shift float64) (float64, bool) {
		xy, ok := colour.Chromaticity(unit.Shift(shift))
		if !ok {
			return 0, false
		}
		w := colour.DominantWavelength(xy, colour.WhiteE)
		return w.NM, w.Valid && !w.Complementary && w.Purity >= TintPurity
	}
	ref, ok := dominant(0)
	if !ok {
		return 0, fmt.Errorf("its light is not saturated enough for a dominant wavelength; state peak_vs_current, or " +
			"cct_vs_current for a white")
	}
	a, fa := 0.0, -want
	b := want
	for range 30 {
		nm, ok := dominant(b)
		if !ok || math.Abs(b) > 3*maxShiftNM {
			break
		}
		fb := nm - ref - want
		if math.Abs(fb) < 1e-4 {
			return b, nil
		}
		if fb == fa {
			break
		}
		a, b, fa = b, b-fb*(b-a)/(fb-fa), fb
	}
	return 0, fmt.Errorf("no shift of its spectrum changes its dominant wavelength by %.1f nm", want)
}

// AtCurrent returns the spectrum of a white at a current: its chromaticity shifts as that in the datasheet.
func (d ColourShift) AtCurrent(unit spectrum.Spectrum, dieA float64) (spectrum.Spectrum, error) {
	xy, ok := colour.Chromaticity(unit)
	if !ok {
		return unit, fmt.Errorf("its light has no colour")
	}
	switch d.Definition {
	case XYShift:
		xy.X += d.Change(0, dieA)
		xy.Y += d.Change(1, dieA)
	case CCTShift:
		t := colour.CCT(xy)
		if !t.Valid {
			return unit, fmt.Errorf("its light has no CCT: %s", t.Note)
		}
		k := t.K + d.Change(0, dieA)
		if !(k >= 1000 && k <= 25000) {
			return unit, fmt.Errorf("CCT %.0f K is outside 1000 K to 25 000 K", k)
		}
		xy = colour.PlanckXY(k, t.Duv)
	default:
		return unit, nil
	}
	return colour.ShiftToChromaticity(unit, xy)
}

// A channel counts as of one colour (our definition) from a purity of SinglePurity, or from TintPurity where it has no
// CCT: a green LED of 30 nm width has a purity of about 75 %.
const (
	SinglePurity = 0.85
	TintPurity   = 0.5
)
