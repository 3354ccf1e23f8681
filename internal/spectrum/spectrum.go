// Package spectrum contains what a source radiates at each wavelength, and the sums that any reading of it needs.
//
// In: tables (datasheet curves, measured files, CIE illuminants) or a few peaks.
// Out: a Spectrum in watts per nanometre; its watts, lumens and photons; sums under any weighting function.
// Assumes: only 360 nm to 830 nm matters, the range of the CIE observers; power outside is left aside, and "radiant"
// means radiant within that range.
// Leaves to others: chromaticity, rendering and hazard (package colour), photosynthesis (package plant), and how much a
// source gives at a current and a temperature.
//
// Sums follow CIE 15: the plain sum of samples times the step, at the step in which the data came. A smooth spectrum is
// exact to 1e-5 so, even at 5 nm, whereas a straight line through 5 nm data is wrong by up to 0.8 %. Bands with hard
// ends, such as photons of 400 nm to 700 nm, use the trapezoid rule, in which the end samples count half.
package spectrum

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"

	"lampwright/internal/curve"
)

// The lamp grid: every nanometre on which a lamp's spectrum is. Spectra on it may be added.
const (
	LoNM  = 360
	HiNM  = 830
	Count = HiNM - LoNM + 1
)

// Physical constants; the first three are exact in the SI since 2019.
const (
	planckJS      = 6.62607015e-34
	lightMS       = 299792458
	avogadroPerMo = 6.02214076e23

	// MaxEfficacyLmW is the luminous flux of one watt where V(λ) is 1.
	// Source: CIE018-2019: 683 lm/W at 540 THz, which is 555.017 nm in air, gives 683.002 lm/W at 555 nm.
	MaxEfficacyLmW = 683.002
)

// darkShare is the fraction of its largest value below which the end of a table counts as dark: nothing is missing
// there.
const darkShare = 0.005

// Spectrum is spectral radiant power on a regular grid of whole nanometres, in W/nm (or any unit per nm: W/m²/nm gives
// irradiance, lux and PPFD instead of watts, lumens and PPF). The zero Spectrum is dark and has no grid.
type Spectrum struct {
	loNM, stepNM int
	wPerNM       []float64
	fromNM, toNM float64 // where it is known; outside, zeros represent "not measured"
	cutLo, cutHi bool    // whether the data broke off while still bright
	apartNM      float64 // how far apart samples of a file lay, where that is more than 5 nm
	rough        bool    // and whether they jumped from one to the next
}

// OnGrid returns the spectrum with the given values at loNM, loNM+stepNM, and so on.
//
// What lies outside 360 nm to 830 nm is left aside. It is an error if the step is not 1 nm to 20 nm, if there are fewer
// than two values inside the range, or if a value is negative or not finite.
func OnGrid(loNM, stepNM int, wPerNM []float64) (Spectrum, error) {
	if stepNM < 1 || stepNM > 20 {
		return Spectrum{}, fmt.Errorf("spectrum has a step of %d nm; give 1 nm to 20 nm", stepNM)
	}
	for loNM < LoNM && len(wPerNM) > 0 {
		loNM += stepNM
		wPerNM = wPerNM[1:]
	}
	if n := (HiNM-loNM)/stepNM + 1; len(wPerNM) > n {
		wPerNM = wPerNM[:max(n, 0)]
	}
	if len(wPerNM) < 2 {
		return Spectrum{}, fmt.Errorf("spectrum has %d values between %d nm and %d nm; it needs two at least", len(wPerNM), LoNM, HiNM)
	}
	for i, v := range wPerNM {
		if err := checkPower(float64(loNM+i*stepNM), v); err != nil {
			return Spectrum{}, err
		}
	}
	s := Spectrum{loNM: loNM, stepNM: stepNM, wPerNM: append([]float64(nil), wPerNM...)}
	s.setKnown(float64(loNM), float64(loNM+(len(wPerNM)-1)*stepNM))
	return s, nil
}

// FromTable returns the spectrum on the lamp grid through the points (nm[i], wPerNM[i]), as read off a datasheet.
//
// Between points it is a monotone cubic, which makes no new peaks; outside them it is zero, and Known reports where the
// data ended. Wavelengths must increase and need not be regular.
func FromTable(nm, wPerNM []float64) (Spectrum, error) {
	if len(nm) < 3 {
		return Spectrum{}, fmt.Errorf("spectrum table has %d points; it needs three at least", len(nm))
	}
	c, err := curve.New(nm, wPerNM)
	if err != nil {
		return Spectrum{}, fmt.Errorf("spectrum table: %w", err)
	}
	for i, v := range wPerNM {
		if err := checkPower(nm[i], v); err != nil {
			return Spectrum{}, err
		}
	}
	if nm[0] > HiNM || nm[len(nm)-1] < LoNM {
		return Spectrum{}, fmt.Errorf(
			"spectrum table runs from %g nm to %g nm, wholly outside %d nm to %d nm", nm[0], nm[len(nm)-1], LoNM, HiNM,
		)
	}
	s := dark()
	for i := range s.wPerNM {
		if v, inside := c.At(float64(LoNM + i)); inside {
			s.wPerNM[i] = math.Max(v, 0)
		}
	}
	s.setKnown(nm[0], nm[len(nm)-1])
	return s, nil
}

func checkPower(nm, v float64) error {
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		return fmt.Errorf("spectrum at %g nm is not a finite number", nm)
	case v < 0:
		return fmt.Errorf("spectrum at %g nm is negative (%g); a source radiates nothing or more", nm, v)
	}
	return nil
}

// Dark returns the spectrum of a lamp that is off, on the lamp grid.
func Dark() Spectrum { return dark() }

func dark() Spectrum {
	return Spectrum{loNM: LoNM, stepNM: 1, wPerNM: make([]float64, Count), fromNM: LoNM, toNM: HiNM}
}

// fill returns the spectrum of f at every nanometre of the lamp grid.
func fill(f func(nm float64) float64) Spectrum {
	s := dark()
	for i := range s.wPerNM {
		s.wPerNM[i] = f(float64(LoNM + i))
	}
	return s
}

// setKnown notes that the data ran from fromNM to toNM, and whether they broke off while still bright.
func (s *Spectrum) setKnown(fromNM, toNM float64) {
	s.fromNM, s.toNM = math.Max(fromNM, LoNM), math.Min(toNM, HiNM)
	limit := darkShare * floats.Max(s.wPerNM)
	first, _ := s.at(s.fromNM)
	last, _ := s.at(s.toNM)
	s.cutLo = fromNM > LoNM && first > limit
	s.cutHi = toNM < HiNM && last > limit
}

// Known returns the range in nanometres in which the spectrum is known. A table whose end is dark (below 0.5 % of its
// peak) counts as known up to the end of the lamp grid on that side.
func (s Spectrum) Known() (fromNM, toNM float64) {
	fromNM, toNM = LoNM, HiNM
	if s.cutLo {
		fromNM = s.fromNM
	}
	if s.cutHi {
		toNM = s.toNM
	}
	return fromNM, toNM
}

// Apart returns how far apart the samples of a file lay where the light is bright, in nanometres, and whether they
// jumped so from one to the next that emission bands may lie between them. It is 0 for samples within 5 nm.
func (s Spectrum) Apart() (nm float64, rough bool) { return s.apartNM, s.rough }

// CarriedOn returns the spectrum on a grid that reaches to loNM and hiNM: where the data broke off while still bright
// its first and last known values are carried on, where they ended dark it stays dark.
// Source: CIE15-2018, §7.2.3 (values that are missing at the ends may be set to the nearest one that was measured).
func (s Spectrum) CarriedOn(loNM, hiNM int) Spectrum {
	first, last, step := s.Grid()
	if s.Empty() || first <= loNM && last >= hiNM && !s.cutLo && !s.cutHi {
		return s
	}
	for first-step >= loNM {
		first -= step
	}
	for last+step <= hiNM {
		last += step
	}
	out := s
	out.loNM, out.wPerNM = first, make([]float64, 0, (last-first)/step+1)
	from, to := s.At(s.fromNM), s.At(s.toNM)
	for nm := first; nm <= last; nm += step {
		x := float64(nm)
		v := s.At(x)
		switch {
		case s.cutLo && x < s.fromNM && nm >= loNM:
			v = from
		case s.cutHi && x > s.toNM && nm <= hiNM:
			v = to
		}
		out.wPerNM = append(out.wPerNM, v)
	}
	if s.cutLo {
		out.fromNM, out.cutLo = math.Min(s.fromNM, float64(loNM)), false
	}
	if s.cutHi {
		out.toNM, out.cutHi = math.Max(s.toNM, float64(hiNM)), false
	}
	return out
}

// Empty reports whether the spectrum has no grid: the zero Spectrum.
func (s Spectrum) Empty() bool { return len(s.wPerNM) == 0 }

// Grid returns the first and the last wavelength of the samples and their step, in nanometres.
func (s Spectrum) Grid() (loNM, hiNM, stepNM int) {
	return s.loNM, s.loNM + (len(s.wPerNM)-1)*s.stepNM, s.stepNM
}

// Values returns a copy of the samples in W/nm, at the wavelengths of Grid.
func (s Spectrum) Values() []float64 { return append([]float64(nil), s.wPerNM...) }

// At returns the spectral power at a wavelength in W/nm: a straight line between samples, zero outside.
func (s Spectrum) At(nm float64) float64 {
	v, _ := s.at(nm)
	return v
}

func (s Spectrum) at(nm float64) (v float64, inside bool) {
	if s.Empty() {
		return 0, false
	}
	x := (nm - float64(s.loNM)) / float64(s.stepNM)
	last := float64(len(s.wPerNM) - 1)
	if !(x >= 0 && x <= last) {
		return 0, false
	}
	i := int(math.Min(math.Floor(x), last-1))
	f := x - float64(i)
	return s.wPerNM[i]*(1-f) + s.wPerNM[i+1]*f, true
}

// Pick returns the samples at loNM, loNM+stepNM, … hiNM alone, which must all stand on the grid of s.
//
// It is for figures that a standard defines at 5 nm, from data at 1 nm.
func (s Spectrum) Pick(loNM, hiNM, stepNM int) (Spectrum, error) {
	lo, hi, step := s.Grid()
	if s.Empty() || loNM < lo || hiNM > hi || stepNM < 1 || stepNM%step != 0 || (loNM-lo)%step != 0 {
		return Spectrum{}, fmt.Errorf(
			"spectrum of %d nm to %d nm in steps of %d nm has no samples every %d nm from %d nm to %d nm", lo, hi, step,
			stepNM, loNM, hiNM,
		)
	}
	var v []float64
	for nm := loNM; nm <= hiNM; nm += stepNM {
		v = append(v, s.wPerNM[(nm-lo)/step])
	}
	return OnGrid(loNM, stepNM, v)
}

// OnLampGrid returns the spectrum at every nanometre from 360 nm to 830 nm, by a monotone cubic through its samples.
func (s Spectrum) OnLampGrid() Spectrum {
	if s.Empty() {
		return dark()
	}
	if s.loNM == LoNM && s.stepNM == 1 && len(s.wPerNM) == Count {
		return s
	}
	nm := make([]float64, len(s.wPerNM))
	for i := range nm {
		nm[i] = float64(s.loNM + i*s.stepNM)
	}
	if len(nm) < 3 { // two samples: a straight line
		nm = []float64{nm[0], (nm[0] + nm[1]) / 2, nm[1]}
		s.wPerNM = []float64{s.wPerNM[0], (s.wPerNM[0] + s.wPerNM[1]) / 2, s.wPerNM[1]}
	}
	out, err := FromTable(nm, s.wPerNM)
	if err != nil { // cannot be: a Spectrum contains only regular, finite, positive samples
		panic("spectrum: " + err.Error())
	}
	return out
}

// Add returns the sum of two spectra on the same grid. The zero Spectrum adds nothing. Different grids are a mistake
// of the programmer: bring both OnLampGrid first.
func (s Spectrum) Add(t Spectrum) Spectrum {
	return Mix([]float64{1, 1}, []Spectrum{s, t})
}

// Scale returns the spectrum times k. A negative k is a mistake of the programmer.
func (s Spectrum) Scale(k float64) Spectrum {
	if k < 0 || math.IsNaN(k) || math.IsInf(k, 0) {
		panic(fmt.Sprintf("spectrum: scale by %g", k))
	}
	out := s
	out.wPerNM = append([]float64(nil), s.wPerNM...)
	floats.Scale(k, out.wPerNM)
	return out
}

// ScaleToW returns the spectrum scaled to a radiant power in watts. A dark spectrum stays dark.
func (s Spectrum) ScaleToW(radiantW float64) Spectrum { return s.scaleTo(radiantW, s.RadiantW()) }

// ScaleToLm returns the spectrum scaled to a luminous flux in lumens. A dark spectrum stays dark.
func (s Spectrum) ScaleToLm(luminousLm float64) Spectrum {
	return s.scaleTo(luminousLm, s.LuminousLm())
}

func (s Spectrum) scaleTo(want, have float64) Spectrum {
	if have <= 0 {
		return s
	}
	return s.Scale(want / have)
}

// Mix returns Σ levels[i]·spectra[i]. All spectra stand on one grid, apart from zero Spectra, which add nothing; the
// sum is known where all are known.
func Mix(levels []float64, spectra []Spectrum) Spectrum {
	if len(levels) != len(spectra) {
		panic(fmt.Sprintf("spectrum: mix of %d levels and %d spectra", len(levels), len(spectra)))
	}
	var out Spectrum
	for i, s := range spectra {
		if s.Empty() {
			continue
		}
		if levels[i] < 0 || math.IsNaN(levels[i]) {
			panic(fmt.Sprintf("spectrum: mix at level %g", levels[i]))
		}
		if out.Empty() {
			out = Spectrum{
				loNM: s.loNM, stepNM: s.stepNM, wPerNM: make([]float64, len(s.wPerNM)), fromNM: LoNM, toNM: HiNM,
			}
		} else if s.loNM != out.loNM || s.stepNM != out.stepNM || len(s.wPerNM) != len(out.wPerNM) {
			panic("spectrum: mix of spectra on different grids")
		}
		floats.AddScaled(out.wPerNM, levels[i], s.wPerNM)
		if levels[i] > 0 {
			from, to := s.Known()
			out.fromNM, out.toNM = math.Max(out.fromNM, from), math.Min(out.toNM, to)
			out.cutLo, out.cutHi = out.fromNM > LoNM, out.toNM < HiNM
		}
	}
	return out
}

// Times returns the spectrum after a filter: transmittance gives the share that passes at a wavelength in nm.
// A share that is negative or not finite is a mistake of the programmer.
func (s Spectrum) Times(transmittance func(nm float64) float64) Spectrum {
	out := s
	out.wPerNM = make([]float64, len(s.wPerNM))
	for i, v := range s.wPerNM {
		nm := float64(s.loNM + i*s.stepNM)
		t := transmittance(nm)
		if t < 0 || math.IsNaN(t) || math.IsInf(t, 0) {
			panic(fmt.Sprintf("spectrum: transmittance of %g at %g nm", t, nm))
		}
		out.wPerNM[i] = v * t
	}
	return out
}

// Shift returns the spectrum moved by dNM nanometres to the red (blue if negative), with the same radiant power apart
// from what leaves the grid.
//
// Junction temperature moves a single-colour emitter by about 0.03 nm/K to 0.2 nm/K and current moves it too; the
// coefficients are the datasheet's, and their product is dNM. The whole curve moves; its width is kept. For a white
// with phosphor this is right only for the pump. Samples between grid points come from a cubic through four neighbours.
func (s Spectrum) Shift(dNM float64) Spectrum {
	if math.IsNaN(dNM) || math.IsInf(dNM, 0) {
		panic(fmt.Sprintf("spectrum: shift by %g nm", dNM))
	}
	if dNM == 0 || s.Empty() {
		return s
	}
	n := len(s.wPerNM)
	sample := func(i int) float64 {
		if i < 0 || i >= n {
			return 0
		}
		return s.wPerNM[i]
	}
	out := s
	out.wPerNM = make([]float64, n)
	move := dNM / float64(s.stepNM)
	if math.Abs(move) > float64(n+4) {
		return out
	}
	sum := 0.0 // of the cubic, which dips below zero beside sharp peaks
	for j := range out.wPerNM {
		x := float64(j) - move
		i := int(math.Floor(x))
		f := x - float64(i)
		v := sample(i)
		if f > 0 {
			v = sample(i-1)*(-f*(f-1)*(f-2)/6) + v*((f+1)*(f-1)*(f-2)/2) +
				sample(i+1)*(-(f+1)*f*(f-2)/2) + sample(i+2)*((f+1)*f*(f-1)/6)
		}
		sum += v
		out.wPerNM[j] = math.Max(v, 0)
	}
	return out.ScaleToW(math.Max(sum, 0) * float64(s.stepNM))
}

// Absorbed returns the spectrum after a path through an absorbing medium, such as water:
//
//	S(λ)·exp(−a(λ)·L)
//
// perM gives the absorption coefficient a in 1/m at a wavelength in nm, to base e; pathM is the length L of the path
// inside the medium in metres, which for slanted rays is longer than the depth. Scattering is not in it.
// Source: the law of Bouguer, Lambert and Beer.
func (s Spectrum) Absorbed(perM func(nm float64) float64, pathM float64) Spectrum {
	if pathM < 0 {
		panic(fmt.Sprintf("spectrum: path of %g m", pathM))
	}
	return s.Times(func(nm float64) float64 { return math.Exp(-perM(nm) * pathM) })
}
