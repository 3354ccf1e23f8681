package raytrace

import (
	"math"
	"slices"

	"lampwright/internal/light"
)

// bandFactor is a property of each band, and what all have in common if they do.
type bandFactor struct {
	bands []float64
	equal bool // all bands have the same
	none  bool // and it is 0
}

func (f *bandFactor) add(v float64) {
	f.bands = append(f.bands, v)
	f.equal = len(f.bands) == 1 || f.equal && v == f.bands[0]
	f.none = f.equal && v == 0
}

// addBands prepares the properties of the bands.
func (w *tracer) addBands() {
	for _, b := range w.r.bands {
		w.water.add(b.AbsorptionPerM)
		w.substrate.add(b.SubstrateReflectance)
		w.wall.add(b.WallReflectance)
	}
	w.layers = newLayers(w.water.bands)
	w.brightest = -1
	for i, b := range w.r.bands {
		all := true
		for _, c := range w.r.bands {
			all = all && b.AbsorptionPerM <= c.AbsorptionPerM && b.SubstrateReflectance >= c.SubstrateReflectance &&
				b.WallReflectance >= c.WallReflectance
		}
		if all {
			w.brightest = i
			return
		}
	}
}

// separate makes the bands of the path differ.
func (w *tracer) separate() {
	if w.spectral {
		return
	}
	w.spectral = true
	for b := range w.w {
		w.w[b] = 1
	}
}

// put adds a fraction of the path to an account.
func (w *tracer) put(a *account, fraction float64) {
	fraction *= w.weight
	if !w.spectral {
		a.common += fraction
		return
	}
	addScaled(a.bands, w.w, fraction)
}

// addScaled adds s·v to a vector of the same length.
func addScaled(to, v []float64, s float64) {
	for b, x := range v[:len(to)] {
		to[b] += s * x
	}
}

// attenuate applies the absorption in water since the last call.
func (w *tracer) attenuate() {
	if w.waterM != 0 {
		w.absorb()
	}
}

// absorb applies the absorption of a path in water.
func (w *tracer) absorb() {
	wet := w.waterM
	if w.waterM = 0; w.water.none {
		return
	}
	a := &w.t.terminated[ToWater]
	if w.metSubstrate {
		a = &w.t.flow[IntoWaterLater]
	}
	if w.water.equal {
		kept := light.Attenuation(w.water.bands[0] * wet)
		w.put(a, 1-kept)
		w.weight *= kept
		return
	}
	w.separate()
	v := w.w
	n := len(v)
	layer, rest := w.layers.of(wet)
	layer = layer[:n]
	into, perM := a.bands[:n], w.water.bands[:n]
	for b, x := range v {
		kept := x * layer[b] * attenuation(perM[b]*rest)
		into[b] += w.weight * (x - kept)
		v[b] = kept
	}
}

// layers tabulates the transmittances of all bands in layers of water of rising thickness.
type layers struct {
	perM   []float64 // absorption of each band [1/m]
	perMax float64   // layers per metre
	table  []float64 // [layer·bands + band], at the middle of each
	thick  []float64 // transmittances of a path beyond the table
}

// The step of the optical depth of the darkest band between layers, and their number.
const (
	layerStep  = 1.0 / 128
	layerCount = 384
)

func newLayers(perM []float64) *layers {
	l := &layers{perM: perM, perMax: slices.Max(perM) / layerStep, thick: make([]float64, len(perM))}
	for i := range layerCount {
		for _, a := range perM {
			l.table = append(l.table, math.Exp(-a*(float64(i)+0.5)/l.perMax))
		}
	}
	return l
}

// of returns the transmittances of the layer nearest to a path in water [m], and the rest of the path [m].
func (l *layers) of(wet float64) (layer []float64, rest float64) {
	n := len(l.perM)
	if at := wet * l.perMax; at < layerCount {
		i := int(at)
		return l.table[i*n : (i+1)*n], wet - (float64(i)+0.5)/l.perMax
	}
	for b, a := range l.perM {
		l.thick[b] = math.Exp(-a * wet)
	}
	return l.thick, 0
}

// attenuation returns e^(−x) for |x| up to layerStep/2, within 1e-11.
func attenuation(x float64) float64 { return 1 - x*(1-x*(0.5-x*(1.0/6))) }

// scale multiplies the path by a reflectance.
func (w *tracer) scale(by *bandFactor) {
	if by.equal {
		w.weight *= by.bands[0]
		return
	}
	w.separate()
	for b, r := range by.bands[:len(w.w)] {
		w.w[b] *= r
	}
}

// reflect records what a diffuse surface absorbs of the path and keeps the rest.
func (w *tracer) reflect(f Termination, by *bandFactor) {
	if by.equal {
		w.keep(f, by.bands[0])
		return
	}
	w.attenuate()
	w.separate()
	into := w.t.terminated[f].bands[:len(w.w)]
	for b, r := range by.bands[:len(w.w)] {
		into[b] += w.weight * w.w[b] * (1 - r)
		w.w[b] *= r
	}
}

// keep records what a surface absorbs of the path and keeps the fraction r.
func (w *tracer) keep(f Termination, r float64) {
	w.attenuate()
	w.put(&w.t.terminated[f], 1-r)
	w.weight *= r
}

// terminate ends the path.
func (w *tracer) terminate(f Termination) medium {
	w.attenuate()
	w.put(&w.t.terminated[f], 1)
	return ended
}

// recordFlow records the path in a flow.
func (w *tracer) recordFlow(f Flow) {
	w.attenuate()
	w.put(&w.t.flow[f], 1)
}

// recordLater records the path in a flow or, after the substrate was reached, in its later part.
func (w *tracer) recordLater(f, later Flow) {
	if w.metSubstrate {
		f = later
	}
	w.recordFlow(f)
}

// recordOnWater records the path on the water surface.
func (w *tracer) recordOnWater() {
	if w.reflected {
		w.recordFlow(OnWater)
	} else {
		w.recordFlow(OnWaterDirect)
	}
}

// raster finds the cells of a grid.
type raster struct {
	x0, x1, y0, y1, perX, perY float64 // [m], [1/m]
	nx, ny                     int
}

func newRaster(g light.Grid) raster {
	return raster{
		g.X0, g.X1, g.Y0, g.Y1, float64(g.NX) / (g.X1 - g.X0), float64(g.NY) / (g.Y1 - g.Y0), g.NX, g.NY,
	}
}

// recordAt records the path on a receiver at (x, y) of its grid, after a further path in water [m].
func (w *tracer) recordAt(k int, x, y, further float64) {
	g := &w.rasters[k]
	if x < g.x0 || x > g.x1 || y < g.y0 || y > g.y1 {
		return
	}
	ix, iy := min(g.nx-1, int((x-g.x0)*g.perX)), min(g.ny-1, int((y-g.y0)*g.perY))
	w.record(k, iy*g.nx+ix, further)
}

// record adds the path to one cell of a receiver, after a further path in water [m].
func (w *tracer) record(k, at int, further float64) {
	t := &w.t.cells[k]
	i := at
	if w.reflected {
		i += t.direct
	}
	t.lit.set(i)
	weight, wet := w.weight, w.waterM+further
	different := wet != 0 && !w.water.equal
	if wet != 0 && w.water.equal {
		weight *= light.Attenuation(w.water.bands[0] * wet)
	}
	if !different && !w.spectral {
		t.common[i] += weight
		return
	}
	t.spectral.set(i)
	n := len(w.w)
	into := t.bands[i*n : (i+1)*n]
	if !different {
		addScaled(into, w.w, weight)
		return
	}
	w.separate()
	layer, rest := w.layers.of(wet)
	layer = layer[:n]
	v, perM := w.w[:n], w.water.bands[:n]
	for b := range into {
		into[b] += weight * v[b] * layer[b] * attenuation(perM[b]*rest)
	}
}

// roulette ends paths of low weight at random and raises the weight of those that continue, which preserves the mean;
// it records the difference. It returns false if the path ends.
func (w *tracer) roulette() bool {
	top := w.weight
	if w.spectral {
		top *= w.greatest()
	}
	if top >= faint {
		return true
	}
	if top == 0 {
		return false
	}
	stay := top / faint
	if w.uniform() >= stay {
		w.terminate(NotTerminated)
		return false
	}
	w.put(&w.t.terminated[NotTerminated], 1-1/stay)
	w.weight /= stay
	return true
}

// greatest returns the greatest factor of a band.
func (w *tracer) greatest() float64 {
	if w.brightest >= 0 {
		return w.w[w.brightest]
	}
	top := 0.0
	for _, v := range w.w {
		if v > top {
			top = v
		}
	}
	return top
}
