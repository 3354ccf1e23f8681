package light

import (
	"context"
	"errors"
	"fmt"
	"math"
	"sort"
)

// Figures sum up a map of equal cells. The unit is that of the cells.
type Figures struct {
	Mean, Min, Max float64
	P10, P50, P90  float64 // tenth, fiftieth and ninetieth percentile of the area
	MinOverMean    float64 // uniformity U₀; it falls as the grid gets finer, so state the grid
	MinOverMax     float64
	Cells          int
}

// Summarise returns the Figures of a map. Percentiles lie on straight lines between the sorted cells.
// Source: EN12464 for U₀ = min/mean.
func Summarise(cells []float64) Figures {
	if len(cells) == 0 {
		return Figures{}
	}
	sorted := append([]float64(nil), cells...)
	sort.Float64s(sorted)
	f := Figures{Min: sorted[0], Max: sorted[len(sorted)-1], Cells: len(cells)}
	for _, v := range sorted {
		f.Mean += v / float64(len(sorted))
	}
	at := func(share float64) float64 {
		u := share * float64(len(sorted)-1)
		i := min(int(u), len(sorted)-1)
		j := min(i+1, len(sorted)-1)
		return sorted[i] + (u-float64(i))*(sorted[j]-sorted[i])
	}
	f.P10, f.P50, f.P90 = at(0.1), at(0.5), at(0.9)
	if f.Mean > 0 {
		f.MinOverMean = f.Min / f.Mean
	}
	if f.Max > 0 {
		f.MinOverMax = f.Min / f.Max
	}
	return f
}

// Solver makes a map; DirectMap and WallMap are Solvers.
type Solver func(context.Context, Tank, []Emitter, Plane, Grid) (Response, error)

// Lifted returns the emitters moved up or down together so that the lowest hangs heightM above the water (or target).
func Lifted(t Tank, emitters []Emitter, heightM float64) []Emitter {
	lowest := math.Inf(1)
	for _, e := range emitters {
		lowest = math.Min(lowest, e.ZM)
	}
	out := append([]Emitter(nil), emitters...)
	for i := range out {
		out[i].ZM += t.Surface().ZM + heightM - lowest
	}
	return out
}

// SweepPoint is the light at one height.
type SweepPoint struct {
	HeightM float64 // of the lowest emitter over the water or target [m]
	Target  Figures // on the substrate, in the unit of the weights per m²
	Entered float64 // share of the light that enters the water (meets the target), by weight
	Spill   float64 // share that misses the opening
}

func sweepPoint(ctx context.Context, solve Solver, t Tank, emitters []Emitter, weights [][]float64, g Grid) (SweepPoint, error) {
	r, err := solve(ctx, t, emitters, t.Substrate(), g)
	if err != nil {
		return SweepPoint{}, err
	}
	p := SweepPoint{Target: Summarise(r.Mix(weights))}
	all := 0.0
	for e := range emitters {
		if e >= len(weights) {
			break
		}
		weight := 0.0
		for _, w := range weights[e] {
			weight += w
		}
		if weight == 0 {
			continue
		}
		s, err := DirectShares(t, emitters[e])
		if err != nil {
			return SweepPoint{}, err
		}
		p.Entered += weight * s.Entered
		p.Spill += weight * s.Spill
		all += weight
	}
	if all > 0 {
		p.Entered, p.Spill = p.Entered/all, p.Spill/all
	}
	return p, nil
}

// Wish is what a height must meet; 0 leaves a wish out.
type Wish struct {
	MeanAtLeast    float64 // on the substrate, unit of the weights per m²
	MeanAtMost     float64
	EvenAtLeast    float64 // min/mean
	SpillAtMost    float64 // share
	EnteredAtLeast float64 // share
}

// margins returns by how much each wish is met, as a share of it, under a word for it.
func (w Wish) margins(p SweepPoint) map[string]float64 {
	m := map[string]float64{}
	least := func(word string, wish, got float64) {
		if wish > 0 {
			m[word] = got/wish - 1
		}
	}
	most := func(word string, wish, got float64) {
		if wish > 0 {
			m[word] = 1 - got/wish
		}
	}
	least("enough light", w.MeanAtLeast, p.Target.Mean)
	most("not too much light", w.MeanAtMost, p.Target.Mean)
	least("evenness", w.EvenAtLeast, p.Target.MinOverMean)
	most("spill", w.SpillAtMost, p.Spill)
	least("light into the water", w.EnteredAtLeast, p.Entered)
	return m
}

// worst returns the wish that is met least.
func (w Wish) worst(p SweepPoint) (string, float64) {
	word, low := "", math.Inf(1)
	m := w.margins(p)
	var words []string
	for k := range m {
		words = append(words, k)
	}
	sort.Strings(words)
	for _, k := range words {
		if m[k] < low {
			word, low = k, m[k]
		}
	}
	return word, low
}

// HeightChoice is the answer of HeightFor.
type HeightChoice struct {
	Found     bool
	Best      SweepPoint // where the wish met least is met best
	Limit     string     // that wish
	Margin    float64    // by how much it is met, as a share; below 0: by how much it is missed
	LowM      float64    // lowest height that meets all wishes around the best one, if Found
	LowLimit  string     // what forbids a lower one
	HighM     float64
	HighLimit string
}

// HeightFor looks between lowM and highM for the hanging heights that meet all wishes, by 33 even steps and bisection to
// 1 mm from there.
func HeightFor(ctx context.Context, solve Solver, t Tank, emitters []Emitter, weights [][]float64, g Grid, w Wish, lowM, highM float64) (HeightChoice, error) {
	if !(lowM > 0) || !(highM > lowM) {
		return HeightChoice{}, fmt.Errorf("heights from %g to %g m; give a lower one above 0 and a higher one", lowM, highM)
	}
	if len(w.margins(SweepPoint{})) == 0 {
		return HeightChoice{}, errors.New("nothing is wished for; name an amount of light, an evenness or a spill")
	}
	try := func(h float64) (SweepPoint, string, float64, error) {
		p, err := sweepPoint(ctx, solve, t, Lifted(t, emitters, h), weights, g)
		p.HeightM = h
		word, margin := w.worst(p)
		return p, word, margin, err
	}
	const steps = 32
	var c HeightChoice
	best := -1
	margins := make([]float64, steps+1)
	at := func(i int) float64 { return lowM + (highM-lowM)*float64(i)/steps }
	for i := range margins {
		p, word, margin, err := try(at(i))
		if err != nil {
			return c, err
		}
		if margins[i] = margin; best < 0 || margin > c.Margin {
			best, c.Best, c.Limit, c.Margin = i, p, word, margin
		}
	}
	// Golden section between the neighbours of the best step.
	a, b := at(max(best-1, 0)), at(min(best+1, steps))
	for b-a > 5e-4 {
		x, y := b-(b-a)*0.6180339887498949, a+(b-a)*0.6180339887498949
		px, wx, mx, err := try(x)
		if err != nil {
			return c, err
		}
		py, wy, my, err := try(y)
		if err != nil {
			return c, err
		}
		if mx >= my {
			b = y
		} else {
			a, px, wx, mx = x, py, wy, my
		}
		if mx > c.Margin {
			c.Best, c.Limit, c.Margin = px, wx, mx
		}
	}
	if c.Found = c.Margin >= 0; !c.Found {
		return c, nil
	}
	edge := func(good, bad float64) (float64, string, error) {
		_, word, margin, err := try(bad)
		if err != nil || margin >= 0 {
			return bad, "the range asked for", err
		}
		for math.Abs(bad-good) > 5e-4 {
			mid := (good + bad) / 2
			_, midWord, m, err := try(mid)
			if err != nil {
				return good, "", err
			}
			if m >= 0 {
				good = mid
			} else {
				bad, word = mid, midWord
			}
		}
		return good, word, nil
	}
	down, up := lowM, highM
	for i := range margins {
		if margins[i] < 0 && at(i) < c.Best.HeightM {
			down = at(i)
		}
	}
	for i := steps; i >= 0; i-- {
		if margins[i] < 0 && at(i) > c.Best.HeightM {
			up = at(i)
		}
	}
	var err error
	if c.LowM, c.LowLimit, err = edge(c.Best.HeightM, down); err != nil {
		return c, err
	}
	c.HighM, c.HighLimit, err = edge(c.Best.HeightM, up)
	return c, err
}

// Glance is one emitter as an eye sees it.
type Glance struct {
	Visible     bool
	Hidden      string  // by what, if not visible
	Illuminance float64 // at the eye, facing the emitter, per lumen of it [1/m²]
	Luminance   float64 // of the lens, per lumen [1/(m² sr)], seen from its own axis
	AngleRad    float64 // between the aim and the eye
}

// Look returns how an eye sees an emitter past plates, through dry panes and over the rim; what lies behind water, wet
// panes or the tank's bottom counts as hidden. lensDiameterM is that of the bright opening [m].
//
//	E = I/r², L = I/(A cos θ)
//
// Source: CIES017 for luminance.
func Look(s Scene, em Emitter, lensDiameterM float64, eye [3]float64) (Glance, error) {
	if err := s.Tank.Check(); err != nil {
		return Glance{}, err
	}
	s.Tank = s.Tank.WithDefaults()
	if em.Pattern == nil || !(lensDiameterM > 0) {
		return Glance{}, errors.New("a look needs a pattern and the diameter of the lens")
	}
	from := [3]float64{em.XM, em.YM, em.ZM}
	d := [3]float64{eye[0] - from[0], eye[1] - from[1], eye[2] - from[2]}
	r := math.Sqrt(dot(d, d))
	if !(r > 0) || !finite(r) {
		return Glance{}, errors.New("the eye lies in the emitter")
	}
	for i := range d {
		d[i] /= r
	}
	f := em.Frame()
	cos := dot(d, f.aim)
	g := Glance{AngleRad: math.Acos(max(-1, min(1, cos)))}
	for i := range s.Objects {
		o := s.Objects[i]
		if err := o.prepare(); err != nil {
			return g, err
		}
		if o.hit(from, d) < r {
			g.Hidden = o.Name
			return g, nil
		}
	}
	passed, hidden := sight(&s.Tank, from, d, r)
	if hidden != "" {
		g.Hidden = hidden
		return g, nil
	}
	i := f.intensity(em.Pattern, d) * passed
	g.Visible = i > 0
	if !g.Visible {
		g.Hidden = "its own lens"
		return g, nil
	}
	g.Illuminance = i / (r * r)
	g.Luminance = i / (math.Pi / 4 * lensDiameterM * lensDiameterM * max(cos, 1e-3))
	return g, nil
}

// sight returns the share that passes along a line of length r, and what hides it.
func sight(t *Tank, from, d [3]float64, r float64) (passed float64, hidden string) {
	passed = 1
	half := [2]float64{t.LengthM / 2, t.WidthM / 2}
	inside := func(p [3]float64) bool {
		return math.Abs(p[0]) <= half[0]+1e-9 && math.Abs(p[1]) <= half[1]+1e-9 && p[2] >= -1e-9 && p[2] <= t.HeightM+1e-9
	}
	at := func(l float64) [3]float64 { return [3]float64{from[0] + l*d[0], from[1] + l*d[1], from[2] + l*d[2]} }
	if d[2] != 0 {
		for _, level := range []struct {
			z    float64
			what string
		}{{t.SubstrateM, "the target"}, {t.WaterDepthM, "the water"}} {
			if level.what == "the water" && level.z == 0 {
				continue
			}
			if l := (level.z - from[2]) / d[2]; l > 1e-9 && l < r {
				if p := at(l); math.Abs(p[0]) <= half[0] && math.Abs(p[1]) <= half[1] {
					return 0, level.what
				}
			}
		}
	}
	if t.bench() {
		return passed, ""
	}
	for a := range 2 {
		for _, face := range [2]float64{-half[a], half[a]} {
			if d[a] == 0 {
				continue
			}
			l := (face - from[a]) / d[a]
			if l <= 1e-9 || l >= r {
				continue
			}
			p := at(l)
			p[a] = face
			if !inside(p) {
				continue
			}
			if t.Walls != WallGlass {
				return 0, "a wall"
			}
			if p[2] < max(t.WaterDepthM, t.SubstrateM) {
				return 0, "a wet pane"
			}
			_, tr := Slab(math.Abs(d[a]), 1, t.GlassIndex, 1, t.GlassPerM*t.GlassM)
			passed *= tr
		}
	}
	return passed, ""
}
