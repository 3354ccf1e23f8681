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

// drift is what current does to the colour of an emitter, as its sheet states it: in one of three ways, or not at all.
type ColourShift struct {
	Way   ShiftDefinition
	of    [2]curve.Curve // against the current of one die [A]; the second is y beside x
	Given [2]source.Curve
	TestA float64
}

// driftWay is how a sheet states a drift.
type ShiftDefinition int

const (
	NoDrift       ShiftDefinition = iota
	peakDrift                     // the spectrum is moved as much as its peak
	dominantDrift                 // it is moved until its dominant wavelength is
	XyDrift                       // it is bent until its chromaticity is moved as much
	CctDrift                      // the same, by the colour temperature at the same distance from the Planckian locus
)

func (w ShiftDefinition) field() string {
	return [...]string{"", "peak_vs_current", "dominant_vs_current", "cie_x_vs_current", "cct_vs_current"}[w]
}

// white tells whether the drift is one of chromaticity and not of wavelength.
func (w ShiftDefinition) White() bool { return w == XyDrift || w == CctDrift }

// newDrift builds the curves of a part and sees that its spectrum can follow them all the way.
func newDrift(part *project.Emitter, unit spectrum.Spectrum) (ColourShift, error) {
	d := ColourShift{TestA: part.TestCurrent.SI}
	switch {
	case part.PeakVsCurrent.Set:
		d.Way, d.Given[0] = peakDrift, part.PeakVsCurrent
	case part.DominantVsCurrent.Set:
		d.Way, d.Given[0] = dominantDrift, part.DominantVsCurrent
	case part.XVsCurrent.Set && part.YVsCurrent.Set:
		d.Way, d.Given = XyDrift, [2]source.Curve{part.XVsCurrent, part.YVsCurrent}
	case part.CCTVsCurrent.Set:
		d.Way, d.Given[0] = CctDrift, part.CCTVsCurrent
	}
	for i, g := range d.Given {
		if !g.Set {
			continue
		}
		var err error
		if d.of[i], err = curve.New(g.X, g.Y); err != nil {
			return d, fmt.Errorf("%s: %w", d.Way.field(), err)
		}
	}
	for _, g := range d.Given {
		for _, a := range g.X {
			if err := d.can(unit, a); err != nil {
				return d, fmt.Errorf("%s at %.3g A: %w", d.Way.field(), a, err)
			}
		}
	}
	return d, nil
}

// mostShiftNM bounds a shift: no die moves so far, and a typing error does.
const mostShiftNM = 60

func (d ColourShift) can(unit spectrum.Spectrum, dieA float64) error {
	if d.Way.White() {
		_, err := d.Bent(unit, dieA)
		return err
	}
	nm, err := d.ShiftNM(unit, dieA)
	if err == nil && math.Abs(nm) > mostShiftNM {
		err = fmt.Errorf("the spectrum would move by %.0f nm from where it is at test_current; no die moves by more than %d nm", nm, mostShiftNM)
	}
	return err
}

// change returns what a curve says of a current against the test current; beyond its points it is held.
func (d ColourShift) Change(i int, dieA float64) float64 {
	now, _ := d.of[i].At(d.held(i, dieA))
	ref, _ := d.of[i].At(d.TestA)
	return now - ref
}

// held returns the current at which a curve is read.
func (d ColourShift) held(i int, dieA float64) float64 {
	lo, hi := d.of[i].Range()
	return math.Min(math.Max(dieA, lo), hi)
}

// strayed says where a current lies outside of the curves.
func (d ColourShift) Strayed(id string, dieA float64) (notes []string) {
	for i := range d.of {
		if d.of[i].Empty() {
			continue
		}
		lo, hi := d.of[i].Range()
		if slack := 1e-9 * hi; dieA < lo-slack || dieA > hi+slack {
			field := d.Way.field()
			if i == 1 {
				field = "cie_y_vs_current"
			}
			notes = append(notes, fmt.Sprintf("%s: %.3g A lies outside %s (%.3g A to %.3g A); its nearer end was held", id, dieA, field, lo, hi))
		}
	}
	return notes
}

// shiftNM returns how far the spectrum of the test point is moved to the red at a current; 0 for whites.
//
// For a dominant wavelength it is found by the secant method, to 1e-4 nm: the locus bends around green, so that peak and
// dominant wavelength of a hump of some width do not move alike.
func (d ColourShift) ShiftNM(unit spectrum.Spectrum, dieA float64) (float64, error) {
	switch d.Way {
	case peakDrift:
		return d.Change(0, dieA), nil
	case dominantDrift:
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
		return 0, fmt.Errorf("its light is too pale for a dominant wavelength; give peak_vs_current, or for a white cct_vs_current")
	}
	a, fa := 0.0, -want
	b := want
	for range 30 {
		nm, ok := dominant(b)
		if !ok || math.Abs(b) > 3*mostShiftNM {
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
	return 0, fmt.Errorf("no shift of its spectrum moves its dominant wavelength by %.1f nm", want)
}

// bent returns a spectrum as a white has it at a current: its chromaticity is moved as its sheet says that of the stated
// spectrum moves.
func (d ColourShift) Bent(unit spectrum.Spectrum, dieA float64) (spectrum.Spectrum, error) {
	xy, ok := colour.Chromaticity(unit)
	if !ok {
		return unit, fmt.Errorf("its light has no colour")
	}
	switch d.Way {
	case XyDrift:
		xy.X += d.Change(0, dieA)
		xy.Y += d.Change(1, dieA)
	case CctDrift:
		t := colour.CCT(xy)
		if !t.Valid {
			return unit, fmt.Errorf("its light has no colour temperature: %s", t.Note)
		}
		k := t.K + d.Change(0, dieA)
		if !(k >= 1000 && k <= 25000) {
			return unit, fmt.Errorf("a colour temperature of %.0f K lies outside 1000 K to 25 000 K", k)
		}
		xy = colour.PlanckXY(k, t.Duv)
	default:
		return unit, nil
	}
	return colour.ShiftToChromaticity(unit, xy)
}

// A channel counts as of one colour (ours) from a purity of singlePurity, below which whites and mixes with white stay, or
// from tintPurity where it has no colour temperature: a green LED of 30 nm has three quarters, and so far from the Planckian
// locus there are no whites.
const (
	SinglePurity = 0.85
	TintPurity   = 0.5
)
