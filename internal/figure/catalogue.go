package figure

import (
	"math"
	"slices"

	"lampwright/internal/colour"
	"lampwright/internal/engine"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/sampling"
)

// row is one line of the catalogue: everything that a figure is, in one place.
type row struct {
	key, title string
	dim        quantity.Dim
	numbers
	derive func() Basis
}

// numbers is where the value of a figure comes from.
type numbers struct {
	of     engine.CaseKey // the case that it belongs to; empty where it holds whether the lamp settles or not
	stages engine.Stage   // what it needs of a Solution
	value  func(*engine.Solution) (float64, bool)
	// parts are smooth values of which join makes the value; nil where value itself is smooth
	parts func(*engine.Solution) []float64
	join  *sampling.Join
	once  bool // computed for the nominal lamp only
	// decimals is the fixed number of decimals in print; nil where digits follow the value.
	decimals *int
	lo, hi   float64 // ends stated by datasheets or usual, where hi > lo; the value is then once
}

// needs returns what a Solution must have for the row.
func (r *row) needs() engine.Needs {
	n := engine.Needs{Only: r.of, Stages: r.stages}
	if r.stages&(engine.StringVoltages|engine.Power) != 0 {
		n.Only = "" // they look at several cases
	}
	return n
}

// powerStages are the stages of figures from the driver back to the mains.
const powerStages = engine.StringVoltages | engine.Emission | engine.Power

// when returns the numbers of a figure that may not exist.
func when(c engine.CaseKey, stages engine.Stage, value func(*engine.Solution) (float64, bool)) numbers {
	return numbers{of: c, stages: stages, value: value}
}

// of returns the numbers of a figure that exists for every solution.
func of(c engine.CaseKey, stages engine.Stage, value func(*engine.Solution) float64) numbers {
	return when(c, stages, func(s *engine.Solution) (float64, bool) { return value(s), true })
}

// ofChannel returns the numbers of a figure of one channel.
func ofChannel(channel int, c engine.CaseKey, stages engine.Stage,
	value func(*engine.ChannelSolution) float64,
) numbers {
	return of(c, stages, func(s *engine.Solution) float64 { return value(&s.Channels[channel]) })
}

// ofCase returns the numbers of a figure of one case.
func ofCase(c engine.CaseKey, value func(*engine.State) float64) numbers {
	return when(c, 0, func(s *engine.Solution) (float64, bool) {
		st, ok := s.Cases[c]
		if !ok {
			return 0, false
		}
		return value(&st), true
	})
}

// once returns the numbers of a figure that is computed for the nominal lamp at typical ambient.
func once(v float64) numbers { return onceIf(&v) }

// onceIf is once for a value that may not exist.
func onceIf(v *float64) numbers {
	return numbers{of: engine.Typical, once: true, value: func(*engine.Solution) (float64, bool) {
		if v == nil {
			return 0, false
		}
		return *v, true
	}}
}

// free is once for a value that holds whether the lamp settles or not.
func free(v float64) numbers {
	n := once(v)
	n.of = ""
	return n
}

// between is free for a value with ends that datasheets state or that are usual.
func between(v, lo, hi float64) numbers {
	n := free(v)
	n.lo, n.hi = lo, hi
	return n
}

// rounded sets the number of decimals in print.
func (n numbers) rounded(decimals int) numbers {
	n.decimals = &decimals
	return n
}

// Decimals in print: indices of rendering are whole numbers (CIE 13.3-1995, CIE 224:2017), Duv has four decimals (ANSI
// C78.377).
const (
	indexDecimals = 0
	duvDecimals   = 4
)

// product is onceIf of a product whose factors may not exist.
func product(a, b *float64) numbers {
	if a == nil || b == nil {
		return onceIf(nil)
	}
	return once(*a * *b)
}

// plane returns the numbers of a figure of the target or the water surface.
func plane(key string, value func(*engine.PlaneSolution) float64) numbers {
	return when(engine.Typical, engine.Emission|engine.Planes, func(s *engine.Solution) (float64, bool) {
		p := planeOf(s, key)
		if p == nil {
			return 0, false
		}
		return value(p), true
	})
}

func planeOf(s *engine.Solution, key string) *engine.PlaneSolution {
	if key == "surface" {
		return s.Surface
	}
	return &s.Target
}

// meanPPFD returns the numbers of the mean PPFD at the target, which the maps give without the rest of the plane.
func meanPPFD(key string) numbers {
	n := plane(key, func(x *engine.PlaneSolution) float64 { return x.Mean })
	if key == "target" {
		n.stages = engine.Emission | engine.TargetMean
	}
	return n
}

func uniformity(key string) numbers {
	return when(engine.Typical, engine.Emission|engine.Planes, func(s *engine.Solution) (float64, bool) {
		p := planeOf(s, key)
		if p == nil || !(p.Mean > 0) {
			return 0, false
		}
		return p.MinOverMean, true
	})
}

// fraction returns the numbers of a fraction of the lamp's light.
func fraction(value func(*engine.LightSolution) float64) numbers {
	return when(engine.Typical, engine.Emission, func(s *engine.Solution) (float64, bool) {
		return value(&s.Light), s.Light.RadiantW > 0
	})
}

// atSurface is fraction for what exists where there is water.
func atSurface(sys *engine.System, value func(*engine.LightSolution) float64) numbers {
	n := fraction(value)
	if sys.Light.Surface == nil {
		return onceIf(nil)
	}
	return n
}

func glassLoss(l *lamp.Lamp) numbers {
	if l.Design.Installation.Kind.S != project.Tank {
		return onceIf(nil)
	}
	return fraction(func(x *engine.LightSolution) float64 { return math.Max(0, 1-(x.Spill+x.Cover+x.Incident)) })
}

func colourOf(value func(*engine.ColourSolution) float64) numbers {
	return when(engine.Typical, engine.Emission|engine.Colour, func(s *engine.Solution) (float64, bool) {
		if s.Colour == nil {
			return 0, false
		}
		return value(s.Colour), true
	})
}

func rendering(value func(*engine.RenderingSolution) float64) numbers {
	return when(engine.Typical, engine.Emission|engine.Rendering, func(s *engine.Solution) (float64, bool) {
		if s.Rendering == nil {
			return 0, false
		}
		v := value(s.Rendering)
		return v, !math.IsNaN(v)
	}).rounded(indexDecimals)
}

// ofDifferences sets the parts of an index to the colour differences of the samples of CIE 13.3, whose lengths have a
// kink where they are 0.
func (n numbers) ofDifferences(samples ...int) numbers {
	n.parts = func(s *engine.Solution) []float64 {
		out := make([]float64, 0, 3*len(samples))
		for _, i := range samples {
			if s.Rendering == nil {
				out = append(out, math.NaN(), math.NaN(), math.NaN())
				continue
			}
			d := s.Rendering.Differences[i-1]
			out = append(out, d.U, d.V, d.W)
		}
		return out
	}
	n.join = &sampling.Join{Of: func(d []float64) float64 {
		sum := 0.0
		for i := 0; i < len(d); i += 3 {
			sum += math.Sqrt(d[i]*d[i] + d[i+1]*d[i+1] + d[i+2]*d[i+2])
		}
		return colour.IndexOf(sum / float64(len(samples)))
	}}
	return n
}

func fluxLm(s *engine.Solution) float64   { return s.Light.FluxLm }
func ppfUmolS(s *engine.Solution) float64 { return s.Light.PPFUmolS }
func lampW(s *engine.Solution) float64    { return s.Light.PowerW }
func radiantW(s *engine.Solution) float64 { return s.Light.RadiantW }
func mainsW(s *engine.Solution) float64   { return s.Mains.PowerW }

// perPower returns the numbers of an efficacy.
func perPower(stages engine.Stage, value, powerW func(*engine.Solution) float64) numbers {
	return when(engine.Typical, stages, func(s *engine.Solution) (float64, bool) {
		return value(s) / powerW(s), powerW(s) > 0
	})
}

// standbyPower returns the numbers of the mains input with the light off. It is a sum of values with wide ranges: its
// response is sampled with the sign changed, and so not in its logarithm, which is for products.
func standbyPower() numbers {
	n := of(engine.Typical, powerStages, func(s *engine.Solution) float64 { return s.Mains.StandbyW })
	n.parts = func(s *engine.Solution) []float64 { return []float64{-s.Mains.StandbyW} }
	n.join = &sampling.Join{Of: func(parts []float64) float64 { return -parts[0] }}
	return n
}

func switchedPower(l *lamp.Lamp) numbers {
	return when(engine.Typical, powerStages, func(s *engine.Solution) (float64, bool) {
		return s.Mains.SwitchedW, l.SwitchesPart()
	})
}

func sinkResistance() numbers {
	return when(engine.Typical, 0, func(s *engine.Solution) (float64, bool) {
		st := s.Cases[engine.Typical]
		return (st.Sink.BaseK - st.AirK) / st.Sink.DissipatedW, st.TotalW > 0
	})
}

func sensorK(s *engine.Solution) float64 {
	return s.Cases[engine.Typical].AirK + engine.SensorRiseK(s)
}

// hottest returns the numbers of the maximum temperature of some emitters in a case [K].
func hottest(l *lamp.Lamp, c engine.CaseKey, emitters []int, kelvin func(*engine.Solution, *engine.State) []float64,
) numbers {
	groups := emitterGroups(l, emitters)
	among := func(s *engine.Solution) []float64 {
		st := s.Cases[c]
		k, out := kelvin(s, &st), make([]float64, len(groups))
		for g, members := range groups {
			for _, e := range members {
				out[g] = math.Max(out[g], k[e])
			}
		}
		return out
	}
	n := when(c, 0, func(s *engine.Solution) (float64, bool) {
		if _, ok := s.Cases[c]; !ok {
			return 0, false
		}
		return slices.Max(among(s)), true
	})
	n.parts, n.join = among, &sampling.Join{Of: slices.Max[[]float64], Ranked: true}
	return n
}

// emitterGroups divides emitters by channel and type: those of a group vary together.
func emitterGroups(l *lamp.Lamp, emitters []int) (groups [][]int) {
	at := map[[2]int]int{}
	for _, e := range emitters {
		key := [2]int{l.Emitters[e].Channel, l.Emitters[e].Type}
		g, ok := at[key]
		if !ok {
			g = len(groups)
			at[key], groups = g, append(groups, nil)
		}
		groups[g] = append(groups[g], e)
	}
	return groups
}

func allEmitters(l *lamp.Lamp) []int {
	out := make([]int, len(l.Emitters))
	for i := range out {
		out[i] = i
	}
	return out
}

func junctionsK(_ *engine.Solution, st *engine.State) []float64 { return st.JunctionK }
func soldersK(_ *engine.Solution, st *engine.State) []float64   { return st.SolderK }

// laminatesK returns the temperature of the laminate beneath each pad [K].
func laminatesK(s *engine.Solution, st *engine.State) []float64 {
	out := make([]float64, len(st.SolderK))
	for i := range out {
		out[i] = st.AirK + s.Board.DielectricRise(i, st)
	}
	return out
}
