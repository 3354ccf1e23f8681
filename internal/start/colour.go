package start

import (
	"cmp"
	"math"
	"slices"

	"lampwright/internal/colour"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/spectrum"
)

// Tolerances of the colour that a design requires. CCTBand is about two nominal steps of ANSIC78.377 at 5000 K; the
// light is white within ±0.006 of Duv, of which a margin is left for bins.
const (
	cctBandK   = 500
	duvBand    = 0.006
	duvMargin  = 0.002
	cctMarginK = 250
	raMargin   = 1
)

// recipe is the emitters of a lamp: one white, or a white and a second emitter that shifts its colour.
type recipe struct {
	parts  []*project.Emitter
	shares []float64 // of the luminous flux, after lenses
	cctK   float64
	duv    float64
	ra     float64
	lmW    float64 // luminous flux over electrical power at the test currents
}

// miss is how far a recipe is from a colour, in bands: 0 where it is within.
func (r *recipe) miss(a *Answers) float64 {
	over := func(x, limit, band float64) float64 { return math.Max(0, x-limit) / band }
	return over(math.Abs(r.cctK-a.CCTK), cctBandK-cctMarginK, cctBandK) +
		over(math.Abs(r.duv), duvBand-duvMargin, duvBand) + over(a.Ra+raMargin, r.ra, 10)
}

// within reports whether a recipe has a colour within the required bands, without margins.
func (r *recipe) within(a *Answers) bool {
	return math.Abs(r.cctK-a.CCTK) <= cctBandK && math.Abs(r.duv) <= duvBand && r.ra >= a.Ra
}

// usable reports whether the datasheet of an emitter states what a design needs, and any board may carry it.
func usable(e *project.Emitter) bool {
	return e.RthKind.Set && e.PadPotential.S == project.PadIsolated && seriesOf(e) > 0 && e.Price.Set
}

// recipes returns the emitters that come nearest to a colour, the best first. A pair is taken only where no single
// white is within the required band.
func recipes(lib *project.Library, a *Answers) []recipe {
	var whites, blues []*project.Emitter
	for _, id := range lib.Emitters.IDs() {
		e := lib.Emitters.Get(id)
		switch {
		case !usable(e):
		case e.CCT.Set:
			whites = append(whites, e)
		case len(e.Peaks) == 1 && e.Peaks[0].At.SI < 480:
			blues = append(blues, e)
		}
	}
	var out []recipe
	for _, e := range whites {
		if r, ok := mixed(a, e, nil); ok {
			out = append(out, r)
		}
	}
	if !slices.ContainsFunc(out, func(r recipe) bool { return r.miss(a) == 0 }) {
		for i, e := range whites {
			for _, f := range append(slices.Clone(whites[i+1:]), blues...) {
				if r, ok := mixed(a, e, f); ok {
					out = append(out, r)
				}
			}
		}
	}
	slices.SortStableFunc(out, func(r, s recipe) int {
		return cmp.Or(cmp.Compare(r.miss(a), s.miss(a)), cmp.Compare(len(r.parts), len(s.parts)),
			cmp.Compare(s.lmW, r.lmW))
	})
	return out
}

// mixed returns one emitter, or two in the ratio that is nearest to the required colour.
func mixed(a *Answers, e, f *project.Emitter) (best recipe, ok bool) {
	one, err := lamp.UnitSpectrum(e)
	if err != nil {
		return recipe{}, false
	}
	if f == nil {
		return coloured(recipe{parts: []*project.Emitter{e}, shares: []float64{1}, lmW: efficacy(e, one)}, one)
	}
	two, err := lamp.UnitSpectrum(f)
	if err != nil {
		return recipe{}, false
	}
	for i := 1; i < 200; i++ {
		x := 1 - math.Pow(float64(i)/200, 2) // a few lumens of blue shift the colour much
		r := recipe{parts: []*project.Emitter{e, f}, shares: []float64{x, 1 - x}}
		r.lmW = 1 / (x/efficacy(e, one) + (1-x)/efficacy(f, two))
		r, valid := coloured(r, one.ScaleToLm(x).Add(two.ScaleToLm(1-x)))
		if valid && (!ok || r.miss(a) < best.miss(a) ||
			r.miss(a) == best.miss(a) && math.Abs(r.cctK-a.CCTK) < math.Abs(best.cctK-a.CCTK)) {
			best, ok = r, true
		}
	}
	return best, ok
}

// coloured returns a recipe with the colour of its spectrum.
func coloured(r recipe, s spectrum.Spectrum) (recipe, bool) {
	xy, lit := colour.Chromaticity(s)
	if !lit {
		return r, false
	}
	t := colour.CCT(xy)
	rendering, err := colour.RenderingIndices(s)
	r.cctK, r.duv, r.ra = t.K, t.Duv, rendering.Ra
	return r, t.Valid && err == nil
}

// fluxLm returns the luminous flux of a package at its test current.
func fluxLm(e *project.Emitter, unit spectrum.Spectrum) float64 {
	if e.Flux.Set {
		return e.Flux.SI
	}
	return e.RadiantFlux.SI * unit.LERlmW()
}

// efficacy returns lumens per electrical watt at the test current.
func efficacy(e *project.Emitter, unit spectrum.Spectrum) float64 {
	return fluxLm(e, unit) / (float64(seriesOf(e)) * voltageOf(e) * e.TestCurrent.SI)
}

// seriesOf returns the dies of a package where all of them can be in series; 0 otherwise.
func seriesOf(e *project.Emitter) int {
	dies := 1
	if e.Dies.Set {
		dies = e.Dies.N
	}
	for _, c := range e.DieConfigurations {
		if c.Series.N == dies {
			return dies
		}
	}
	if len(e.DieConfigurations) > 0 {
		return 0
	}
	return dies
}

// voltageOf returns an upper bound of the voltage of one die within its curve [V]: that at the end of the curve, and
// the spread of the bins.
func voltageOf(e *project.Emitter) float64 {
	y := e.ForwardVoltage.Y
	return y[len(y)-1] + e.VoltageSpread.SI
}

// counts returns about how many of each emitter give a photon flux [µmol/s] at a fraction of their largest current.
func (r *recipe) counts(umolS float64) []int {
	var out []int
	perLm := 0.0
	units := make([]spectrum.Spectrum, len(r.parts))
	for i, e := range r.parts {
		unit, err := lamp.UnitSpectrum(e)
		if err != nil {
			return nil
		}
		units[i] = unit
		perLm += r.shares[i] / unit.LuminousLmUmol()
	}
	for i, e := range r.parts {
		lm := fluxLm(e, units[i]) * useOfCurrent * maxAmps(e) / e.TestCurrent.SI * lensLoss
		out = append(out, max(1, int(math.Ceil(r.shares[i]*umolS/perLm/lm-0.25))))
	}
	return out
}

// lensLoss is about the efficiency of a lens.
const lensLoss = 0.9
