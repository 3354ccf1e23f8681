package light

import (
	"context"
	"errors"
	"fmt"
	"math"
	"sort"
)

// Solver makes a map; DirectMap and WallMap are Solvers.
type Solver func(context.Context, Tank, []Emitter, Plane, Grid) (Response, error)

// Lifted returns the emitters moved up or down together so that the lowest hangs heightM above the water (or target).
func AtHeight(t Tank, emitters []Emitter, heightM float64) []Emitter {
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
type HeightPoint struct {
	HeightM float64 // of the lowest emitter over the water or target [m]
	Target  Figures // on the substrate, in the unit of the weights per m²
	Entered float64 // share of the light that enters the water (meets the target), by weight
	Spill   float64 // share that misses the opening
}

func heightPoint(ctx context.Context, solve Solver, t Tank, emitters []Emitter, weights [][]float64, g Grid) (HeightPoint, error) {
	r, err := solve(ctx, t, emitters, t.Substrate(), g)
	if err != nil {
		return HeightPoint{}, err
	}
	p := HeightPoint{Target: Summarise(r.Mix(weights))}
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
		s, err := DirectFractions(t, emitters[e])
		if err != nil {
			return HeightPoint{}, err
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
type Requirement struct {
	MinMean       float64 // on the substrate, unit of the weights per m²
	MaxMean       float64
	MinUniformity float64 // min/mean
	MaxSpill      float64 // share
	MinEntered    float64 // share
}

// margins returns by how much each wish is met, as a share of it, under a word for it.
func (w Requirement) margins(p HeightPoint) map[string]float64 {
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
	least("enough light", w.MinMean, p.Target.Mean)
	most("not too much light", w.MaxMean, p.Target.Mean)
	least("evenness", w.MinUniformity, p.Target.MinOverMean)
	most("spill", w.MaxSpill, p.Spill)
	least("light into the water", w.MinEntered, p.Entered)
	return m
}

// worst returns the wish that is met least.
func (w Requirement) worst(p HeightPoint) (string, float64) {
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
type HeightRange struct {
	Found     bool
	Best      HeightPoint // where the wish met least is met best
	Limit     string      // that wish
	Margin    float64     // by how much it is met, as a share; below 0: by how much it is missed
	LowM      float64     // lowest height that meets all wishes around the best one, if Found
	LowLimit  string      // what forbids a lower one
	HighM     float64
	HighLimit string
}

// HeightFor looks between lowM and highM for the hanging heights that meet all wishes, by 33 even steps and bisection to
// 1 mm from there.
func HeightFor(ctx context.Context, solve Solver, t Tank, emitters []Emitter, weights [][]float64, g Grid, w Requirement, lowM, highM float64) (HeightRange, error) {
	if !(lowM > 0) || !(highM > lowM) {
		return HeightRange{}, fmt.Errorf("heights from %g to %g m; give a lower one above 0 and a higher one", lowM, highM)
	}
	if len(w.margins(HeightPoint{})) == 0 {
		return HeightRange{}, errors.New("nothing is wished for; name an amount of light, an evenness or a spill")
	}
	try := func(h float64) (HeightPoint, string, float64, error) {
		p, err := heightPoint(ctx, solve, t, AtHeight(t, emitters, h), weights, g)
		p.HeightM = h
		word, margin := w.worst(p)
		return p, word, margin, err
	}
	const steps = 32
	var c HeightRange
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
