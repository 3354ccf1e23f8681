package light

import (
	"context"
	"errors"
	"fmt"
	"math"
)

// Solver computes a map; DirectMap, DirectMeans and WallMap are Solvers.
type Solver func(context.Context, Tank, []Emitter, Plane, Grid) (Response, error)

// AtHeight returns the emitters moved vertically together so that the lowest is heightM above the water (or target).
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

// HeightPoint is the light at one height.
type HeightPoint struct {
	HeightM float64 // of the lowest emitter above the water or target [m]
	Target  Figures // on the substrate, in the unit of the weights per m²
	Entered float64 // fraction of the weighted light that enters the water (without water: reaches the target)
	Spill   float64 // fraction of the weighted light that misses the opening
}

// heightPoint computes the light at the present height of the emitters.
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

// Requirement is what a hanging height must meet; 0 omits a limit.
type Requirement struct {
	MinMean       float64 // on the substrate, unit of the weights per m²
	MaxMean       float64
	MinUniformity float64 // min/mean
	MaxSpill      float64 // fraction of the light
	MinEntered    float64 // fraction of the light
}

// margin is the relative distance of a value to a limit; negative: the limit is not met.
type margin struct {
	limit string
	value float64
}

// worst returns the smallest margin of a height over the limits that are set; +Inf if none is set.
func (w Requirement) worst(p HeightPoint) margin {
	worst := margin{value: math.Inf(1)}
	add := func(name string, limit, value float64) {
		if limit > 0 && value < worst.value {
			worst = margin{name, value}
		}
	}
	add("minimum light", w.MinMean, p.Target.Mean/w.MinMean-1)
	add("minimum uniformity", w.MinUniformity, p.Target.MinOverMean/w.MinUniformity-1)
	add("minimum light into the water", w.MinEntered, p.Entered/w.MinEntered-1)
	add("maximum light", w.MaxMean, 1-p.Target.Mean/w.MaxMean)
	add("maximum spill light", w.MaxSpill, 1-p.Spill/w.MaxSpill)
	return worst
}

// HeightRange is the result of HeightFor.
type HeightRange struct {
	Found     bool
	Best      HeightPoint // the height with the largest margin to its nearest limit
	Limit     string      // that limit
	Margin    float64     // relative margin to it; negative: not met
	LowM      float64     // lowest height around Best that meets all limits, if Found
	LowLimit  string      // the limit that a lower height violates
	HighM     float64
	HighLimit string
}

// Resolution of HeightFor: the number of even steps, and the width at which bisection stops [m].
const (
	heightSteps      = 32
	heightToleranceM = 5e-4
)

// HeightFor returns the hanging heights between lowM and highM that meet a requirement: 33 evenly spaced heights, then
// golden section for the best one and bisection to 1 mm for the ends of the range around it.
func HeightFor(
	ctx context.Context, solve Solver, t Tank, emitters []Emitter, weights [][]float64, g Grid, w Requirement, lowM, highM float64,
) (HeightRange, error) {
	if !(lowM > 0) || !(highM > lowM) {
		return HeightRange{}, fmt.Errorf("height range %g to %g m; the lower height must be above 0 and below the "+
			"higher one", lowM, highM)
	}
	if w.worst(HeightPoint{}).limit == "" {
		return HeightRange{}, errors.New("no requirement; set a minimum or maximum of light, uniformity or spill light")
	}
	s := heightSearch{lowM: lowM, highM: highM, at: func(h float64) (HeightPoint, margin, error) {
		p, err := heightPoint(ctx, solve, t, AtHeight(t, emitters, h), weights, g)
		p.HeightM = h
		return p, w.worst(p), err
	}}
	if err := s.best(); err != nil {
		return s.out, err
	}
	if s.out.Found = s.out.Margin >= 0; !s.out.Found {
		return s.out, nil
	}
	err := s.limits()
	return s.out, err
}

// heightSearch is one call of HeightFor.
type heightSearch struct {
	lowM, highM float64
	at          func(heightM float64) (HeightPoint, margin, error)
	margins     [heightSteps + 1]float64
	out         HeightRange
}

func (s *heightSearch) stepM(i int) float64 {
	return s.lowM + (s.highM-s.lowM)*float64(i)/heightSteps
}

// best finds the height with the largest margin.
func (s *heightSearch) best() error {
	c, best := &s.out, -1
	for i := range s.margins {
		p, m, err := s.at(s.stepM(i))
		if err != nil {
			return err
		}
		if s.margins[i] = m.value; best < 0 || m.value > c.Margin {
			best, c.Best, c.Limit, c.Margin = i, p, m.limit, m.value
		}
	}
	// Golden section between the neighbours of the best step.
	const golden = 0.6180339887498949
	a, b := s.stepM(max(best-1, 0)), s.stepM(min(best+1, heightSteps))
	for b-a > heightToleranceM {
		x, y := b-(b-a)*golden, a+(b-a)*golden
		p, m, err := s.at(x)
		if err != nil {
			return err
		}
		q, n, err := s.at(y)
		if err != nil {
			return err
		}
		if m.value >= n.value {
			b = y
		} else {
			a, p, m = x, q, n
		}
		if m.value > c.Margin {
			c.Best, c.Limit, c.Margin = p, m.limit, m.value
		}
	}
	return nil
}

// limits finds the ends of the range around the best height.
func (s *heightSearch) limits() (err error) {
	c := &s.out
	down, up := s.lowM, s.highM
	for i, m := range s.margins {
		if m < 0 && s.stepM(i) < c.Best.HeightM {
			down = s.stepM(i)
		}
	}
	for i := heightSteps; i >= 0; i-- {
		if s.margins[i] < 0 && s.stepM(i) > c.Best.HeightM {
			up = s.stepM(i)
		}
	}
	if c.LowM, c.LowLimit, err = s.edge(c.Best.HeightM, down); err != nil {
		return err
	}
	c.HighM, c.HighLimit, err = s.edge(c.Best.HeightM, up)
	return err
}

// edge bisects between a height that meets the requirement and one that may not; it returns the last height that does
// and the limit that ends the range.
func (s *heightSearch) edge(good, bad float64) (heightM float64, limit string, err error) {
	_, m, err := s.at(bad)
	if err != nil || m.value >= 0 {
		return bad, "search range", err
	}
	limit = m.limit
	for math.Abs(bad-good) > heightToleranceM {
		mid := (good + bad) / 2
		_, m, err := s.at(mid)
		if err != nil {
			return good, "", err
		}
		if m.value >= 0 {
			good = mid
		} else {
			bad, limit = mid, m.limit
		}
	}
	return good, limit, nil
}
