package design

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"lampwright/internal/colour"
	"lampwright/internal/curve"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
	"lampwright/internal/spectrum"
)

// drift is what current does to the colour of an emitter, as its sheet states it: in one of three ways, or not at all.
type drift struct {
	way   driftWay
	of    [2]curve.Curve // against the current of one die [A]; the second is y beside x
	given [2]source.Curve
	testA float64
}

// driftWay is how a sheet states a drift.
type driftWay int

const (
	noDrift       driftWay = iota
	peakDrift              // the spectrum is moved as much as its peak
	dominantDrift          // it is moved until its dominant wavelength is
	xyDrift                // it is bent until its chromaticity is moved as much
	cctDrift               // the same, by the colour temperature at the same distance from the Planckian locus
)

func (w driftWay) field() string {
	return [...]string{"", "peak_vs_current", "dominant_vs_current", "cie_x_vs_current", "cct_vs_current"}[w]
}

// white tells whether the drift is one of chromaticity and not of wavelength.
func (w driftWay) white() bool { return w == xyDrift || w == cctDrift }

// newDrift builds the curves of a part and sees that its spectrum can follow them all the way.
func newDrift(part *project.Emitter, unit spectrum.Spectrum) (drift, error) {
	d := drift{testA: part.TestCurrent.SI}
	switch {
	case part.PeakVsCurrent.Set:
		d.way, d.given[0] = peakDrift, part.PeakVsCurrent
	case part.DominantVsCurrent.Set:
		d.way, d.given[0] = dominantDrift, part.DominantVsCurrent
	case part.XVsCurrent.Set && part.YVsCurrent.Set:
		d.way, d.given = xyDrift, [2]source.Curve{part.XVsCurrent, part.YVsCurrent}
	case part.CCTVsCurrent.Set:
		d.way, d.given[0] = cctDrift, part.CCTVsCurrent
	}
	for i, g := range d.given {
		if !g.Set {
			continue
		}
		var err error
		if d.of[i], err = curve.New(g.X, g.Y); err != nil {
			return d, fmt.Errorf("%s: %w", d.way.field(), err)
		}
	}
	for _, g := range d.given {
		for _, a := range g.X {
			if err := d.can(unit, a); err != nil {
				return d, fmt.Errorf("%s at %.3g A: %w", d.way.field(), a, err)
			}
		}
	}
	return d, nil
}

// mostShiftNM bounds a shift: no die moves so far, and a typing error does.
const mostShiftNM = 60

func (d drift) can(unit spectrum.Spectrum, dieA float64) error {
	if d.way.white() {
		_, err := d.bent(unit, dieA)
		return err
	}
	nm, err := d.shiftNM(unit, dieA)
	if err == nil && math.Abs(nm) > mostShiftNM {
		err = fmt.Errorf("the spectrum would move by %.0f nm from where it is at test_current; no die moves by more than %d nm", nm, mostShiftNM)
	}
	return err
}

// change returns what a curve says of a current against the test current; beyond its points it is held.
func (d drift) change(i int, dieA float64) float64 {
	now, _ := d.of[i].At(d.held(i, dieA))
	ref, _ := d.of[i].At(d.testA)
	return now - ref
}

// held returns the current at which a curve is read.
func (d drift) held(i int, dieA float64) float64 {
	lo, hi := d.of[i].Range()
	return math.Min(math.Max(dieA, lo), hi)
}

// strayed says where a current lies outside of the curves.
func (d drift) strayed(id string, dieA float64) (notes []string) {
	for i := range d.of {
		if d.of[i].Empty() {
			continue
		}
		lo, hi := d.of[i].Range()
		if slack := 1e-9 * hi; dieA < lo-slack || dieA > hi+slack {
			field := d.way.field()
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
func (d drift) shiftNM(unit spectrum.Spectrum, dieA float64) (float64, error) {
	switch d.way {
	case peakDrift:
		return d.change(0, dieA), nil
	case dominantDrift:
	default:
		return 0, nil
	}
	want := d.change(0, dieA)
	if want == 0 {
		return 0, nil
	}
	dominant := func(shift float64) (float64, bool) {
		xy, ok := colour.Chromaticity(unit.Shift(shift))
		if !ok {
			return 0, false
		}
		w := colour.DominantWavelength(xy, colour.WhiteE)
		return w.NM, w.Valid && !w.Complementary && w.Purity >= tintPurity
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
func (d drift) bent(unit spectrum.Spectrum, dieA float64) (spectrum.Spectrum, error) {
	xy, ok := colour.Chromaticity(unit)
	if !ok {
		return unit, fmt.Errorf("its light has no colour")
	}
	switch d.way {
	case xyDrift:
		xy.X += d.change(0, dieA)
		xy.Y += d.change(1, dieA)
	case cctDrift:
		t := colour.CCT(xy)
		if !t.Valid {
			return unit, fmt.Errorf("its light has no colour temperature: %s", t.Note)
		}
		k := t.K + d.change(0, dieA)
		if !(k >= 1000 && k <= 25000) {
			return unit, fmt.Errorf("a colour temperature of %.0f K lies outside 1000 K to 25 000 K", k)
		}
		xy = colour.PlanckXY(k, t.Duv)
	default:
		return unit, nil
	}
	return colour.Bend(unit, xy)
}

// inputs lists the curves for a derivation.
func (d drift) inputs(dieA float64, sheet string) (in []Input) {
	for i, g := range d.given {
		if !g.Set {
			continue
		}
		name := [...]string{"", "λ_peak(I)", "λ_dominant(I)", "x(I)", "CCT(I)"}[d.way]
		value := fmt.Sprintf("%+.4f at %s A against %s A", d.change(i, dieA), num(dieA), num(d.testA))
		switch {
		case i == 1:
			name = "y(I)"
		case d.way == cctDrift:
			value = fmt.Sprintf("%+.0f K at %s A against %s A", d.change(i, dieA), num(dieA), num(d.testA))
		case !d.way.white():
			value = fmt.Sprintf("%+.2f nm at %s A against %s A", d.change(i, dieA), num(dieA), num(d.testA))
		}
		in = append(in, Input{Name: name, Value: value, Source: pick(g.Source, sheet), At: g.At})
	}
	return in
}

// driftFigures writes how far the light of each channel has moved from that of its sheet, where a sheet says that it moves.
func (r *Result) driftFigures(w *writer, s *system, usual settled) {
	for i := range s.lamp.Channels {
		ch := &s.lamp.Channels[i]
		first := ch.Emitters[0]
		k := &s.lamp.Kinds[s.lamp.Emitters[first].Kind]
		part, warm := k.Part, &s.warmed[first]
		if !part.WavelengthTempco.Set && k.Drift.way == noDrift {
			continue
		}
		dieA, hot := usual.states[first].DieCurrentA, usual.junctionK[first]
		sheet := sheetOf(part.Datasheet, "emitter", part.ID.S)
		in := k.Drift.inputs(dieA, sheet)
		if part.WavelengthTempco.Set {
			in = append(in, given("k", part.WavelengthTempco, quantity.WavelengthPerKelvin, sheet), w.ref("T_j", ch.Name+".junction", quantity.Temperature))
		}
		in = append(in, w.ref("I", ch.Name+".current", quantity.Current))
		valid := "the first emitter's, on the usual day; other days and lamps drawn from tolerances are moved alike"
		if ch.PWM() {
			valid += "; the channel is dimmed by pulses, in which the dies have their full current at any level"
		}
		notes := k.Drift.strayed(part.ID.S, dieA)
		if part.WavelengthTempco.Set || !k.Drift.way.white() {
			byHeat := part.WavelengthTempco.SI * (hot - part.TestJunction.SI)
			byCurrent := warm.shiftNM - byHeat
			var terms, said []string
			more := slices.Clone(notes)
			if part.WavelengthTempco.Set {
				terms, said = append(terms, "k (T_j − T_test)"), append(said, fmt.Sprintf("%+.2f nm by temperature, %s against %s", byHeat, celsius(hot), celsius(part.TestJunction.SI)))
			} else {
				more = append(more, "the sheet does not say how temperature moves it")
			}
			switch {
			case k.Drift.way == noDrift:
				more = append(more, "the sheet does not say how current moves it")
			case !k.Drift.way.white():
				terms, said = append(terms, "Δλ(I)"), append(said, fmt.Sprintf("%+.2f nm by current, %s A against %s A", byCurrent, num(dieA), num(k.Drift.testA)))
			}
			w.values[ch.Name+".shift"] = warm.shiftNM
			w.put(ch.Name+".shift", "channel "+ch.Name+": shift of its spectrum to the red", quantity.Wavelength, Basis{
				Formula: "Δλ = " + strings.Join(terms, " + "),
				Numbers: fmt.Sprintf("%s → %+.2f nm", strings.Join(said, "; "), warm.shiftNM),
				Inputs:  in, Method: "datasheet curves; the whole spectrum moves and keeps its width (common practice, no source)", Valid: valid, Notes: more,
			})
		}
		if k.Drift.way.white() {
			was, _ := k.XYZ.XY()
			now, _ := warm.xyz.XY()
			w.values[ch.Name+".colour-drift"] = colour.Steps(was, now)
			w.put(ch.Name+".colour-drift", "channel "+ch.Name+": steps from its colour at the test point (SDCM)", quantity.None, Basis{
				Formula: "n = |Δ(u′, v′)| / 0.0011",
				Numbers: fmt.Sprintf("x = %.4f, y = %.4f at %s A; x = %.4f, y = %.4f at %s A → %s steps", was.X, was.Y, num(k.Drift.testA), now.X, now.Y, num(dieA), num(w.values[ch.Name+".colour-drift"])),
				Inputs:  in, Method: "CIETN001-2014, §4; the spectrum follows by the gentlest smooth change of its shape (common practice, no source)", Valid: valid, Notes: notes,
			})
		}
	}
}
