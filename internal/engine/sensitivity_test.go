package engine_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/heat"
	"lampwright/internal/lamp"
	"lampwright/internal/lamptest"
	"lampwright/internal/source"
)

// TestPasteCountsByFootprint: what the interface's spread does beneath each emitter is held against the board's field
// solved anew with the interface at the end of its range, for few emitters on a large sink and for the crowded demo.
// The whole contact would give far too little: 25 mm²·K/W over 36 cm² are 0.007 K/W.
func TestPasteCountsByFootprint(t *testing.T) {
	if testing.Short() {
		t.Skip("solves several lamps")
	}
	few := lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts,
		lamptest.With(lamptest.Larger(),
			lamptest.Change{
				"thermal_impedance: 40 mm²·K/W",
				"thermal_impedance: {value: 40 mm²·K/W, min: 15 mm²·K/W, max: 90 mm²·K/W}",
			})...)
	for name, p := range map[string]*lamp.Lamp{
		"one die on 60 mm":   lamptest.MustLamp(t, few),
		"the corrected demo": lamptest.MustLamp(t, lamptest.Example(t, "long-tank")),
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			o := engine.Options{HeatRelErr: 0.01}
			sys, err := engine.NewSystem(context.Background(), p, o)
			if err != nil {
				t.Fatal(err)
			}
			typical, lo, hi := p.InterfaceM2KW()
			board, sources := engine.HeatBoard(p)
			field := func(r float64) *heat.Response {
				b := board
				c := *board.Contact
				c.ResistM2KW = r
				b.Contact = &c
				out, err := heat.Unit(context.Background(), b, sources, nil, heat.Options{RelErr: 0.005})
				if err != nil {
					t.Fatal(err)
				}
				return out
			}
			base := field(typical)
			for _, end := range []float64{lo, hi} {
				other := field(end)
				now := sys.Board.With(engine.BoardChange{
					TIMM2KW: end - typical, Coverage: sys.Lamp.Nominal()[sys.Lamp.Param.CopperCoverage],
					Laminate: 1, Field: 1,
				})
				for i := range sources {
					got := (now.Spread[i][i] - sys.Board.Spread[i][i]) * sys.Board.ToSink[i]
					want := other.MeanKW[i][i] - base.MeanKW[i][i]
					// 15 %: the plate's faces shed nothing, its copper is as thin beneath the pads as beside them, and
					// it has no corners beyond the contact.
					if math.Abs(got-want) > 0.15*math.Abs(want)+2e-3 {
						t.Errorf("interface at %.0f mm²·K/W: emitter %d stands %.4f K/W higher, want %.4f (the field "+
							"solved anew)", 1e6*end, i, got, want)
					}
					whole := (end - typical) / p.ContactAreaM2()
					if math.Abs(want) < 1.2*math.Abs(whole) {
						t.Errorf("interface at %.0f mm²·K/W: the field says %.4f K/W, and the whole contact %.4f: "+
							"the case shows nothing", 1e6*end, want, whole)
					}
				}
			}
		})
	}
}

// TestCopperCounts: where the design does not state its copper, the ends of the common range are those of the board's
// field with that much copper, solved anew twice as finely as the review does.
func TestCopperCounts(t *testing.T) {
	if testing.Short() {
		t.Skip("solves large grids over time")
	}
	silent := lamptest.With(lamptest.Larger(), lamptest.Change{", copper_coverage: 100 %", ""})
	l := lamptest.MustLamp(t, lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts, silent...))
	sys, err := engine.NewSystem(context.Background(), l, engine.Options{})
	if err != nil {
		t.Fatal(err)
	}
	at := func(share float64) float64 {
		board, sources := engine.HeatBoard(l)
		for i := range board.Layers {
			if board.Layers[i].Name == "copper" {
				board.Layers[i].Rest = share
			}
		}
		r, err := heat.Unit(context.Background(), board, sources, nil, heat.Options{RelErr: 0.005})
		if err != nil {
			t.Fatal(err)
		}
		return r.MeanKW[0][0]
	}
	base := at(0.8)
	for _, share := range []float64{0.5, 0.95} {
		got := (sys.Board.With(engine.BoardChange{Coverage: share, Laminate: 1, Field: 1}).Spread[0][0] -
			sys.Board.Spread[0][0]) * sys.Board.ToSink[0]
		// 25 %: the review's fields are known to 2 % of 4 K/W, and a difference of them to more; and a logarithm for
		// the high end.
		lamptest.Near(t, "more or less copper", got, at(share)-base, 0.25*math.Abs(at(share)-base),
			"the field solved anew")
	}
	// Less copper, hotter; and the same in words and range.
	r := lamptest.EvaluateProject(t, lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts, silent...),
		engine.Options{Samples: 100, CellM: 0.05, Solver: lamptest.Remembered})
	stated := lamptest.EvaluateProject(t, lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts, lamptest.Larger()...),
		engine.Options{Samples: 100, CellM: 0.05, Solver: lamptest.Remembered})
	var a figure.Assumption
	for _, x := range r.Assumptions {
		if x.Key == "coverage" {
			a = x
		}
	}
	if !(a.AtLo > a.AtHi+0.05) {
		t.Errorf("the junction goes from %.2f K at 50 %% of copper to %.2f K at 95 %%, want it hotter with less",
			a.AtLo, a.AtHi)
	}
	wide, _ := r.Figure(a.Affects)
	narrow, _ := stated.Figure(a.Affects)
	if !(wide.Hi-wide.Lo > narrow.Hi-narrow.Lo) {
		t.Errorf("the junction's range is %.3f K wide where copper is not stated, and %.3f K where it is",
			wide.Hi-wide.Lo, narrow.Hi-narrow.Lo)
	}
}

// TestFanAndStillAirErrApart: a stopped fan leaves still air, whose method errs by itself: of a sink of fins 25 % fins
// up, and with a fan 20 % blown onto the tips; so that the two factors are drawn apart.
func TestFanAndStillAirErrApart(t *testing.T) {
	r := lamptest.EvaluateProject(t, lamptest.Example(t, "long-tank-first"), lamptest.Quick())
	rng := rand.New(rand.NewPCG(1, 1))
	still, blown, together := 0.0, 0.0, 0.0
	const n = 4000
	for range n {
		p := r.Sys.Draw(rng)
		still = math.Max(still, math.Abs(p[r.Lamp.Param.NaturalConvection]-1))
		blown = math.Max(blown, math.Abs(p[r.Lamp.Param.ForcedConvection]-1))
		together += (p[r.Lamp.Param.NaturalConvection] - 1) * (p[r.Lamp.Param.ForcedConvection] - 1) / n
	}
	uncertain := func(key string) float64 {
		for _, c := range r.Sys.Cases {
			if string(c.Key) == key {
				return c.Cool.RelUnc
			}
		}
		return math.NaN()
	}
	lamptest.Near(t, "still air", still, uncertain("max-ambient-fan-failure"), 0.001, "its own method's error")
	lamptest.Near(t, "fan on", blown, uncertain("max-ambient"), 0.001, "its own method's error")
	// Two even draws of width ± a and ± b: the standard error of their product is a b/(3 √n).
	lamptest.Near(t, "drawn apart", together, 0, 4*still*blown/3/math.Sqrt(n), "independence")
}

// TestFanShare: with less of its air between the fins the lamp is hotter, and the assumption says so at the very values
// that a lamp of that share has.
func TestFanShare(t *testing.T) {
	unstated := lamptest.Example(t, "propagation-bench")
	unstated.Design.Fan.FinFlowFraction = source.Value{}
	silent := lamptest.EvaluateProject(t, unstated, lamptest.Quick())
	var a figure.Assumption
	for _, x := range silent.Assumptions {
		if x.Key == "fin-flow" {
			a = x
		}
	}
	for _, end := range []struct{ Share, Got float64 }{{a.Lo, a.AtLo}, {a.Hi, a.AtHi}} {
		p := lamptest.Example(t, "propagation-bench")
		p.Design.Fan.FinFlowFraction.Set, p.Design.Fan.FinFlowFraction.SI = true, end.Share
		p.Design.Fan.FinFlowFraction.Lo, p.Design.Fan.FinFlowFraction.Hi = end.Share, end.Share
		stated := lamptest.EvaluateProject(t, p, lamptest.Quick())
		// 0.2 K: the ratio of conductances is that at a rise of 30 K.
		lamptest.Near(t, "hottest junction", end.Got, stated.Value(a.Affects), 0.2,
			"the same lamp with its share stated")
	}
	if !(a.AtLo > a.AtHi+0.5) {
		t.Errorf("at 40 %% of the air %.2f K, at 80 %% %.2f K: want it hotter with less", a.AtLo, a.AtHi)
	}
}

// TestCanopyCounts: air of a canopy that is 5 K warmer by its range makes everything about 5 K warmer.
func TestCanopyCounts(t *testing.T) {
	r := lamptest.Evaluate(t, lamptest.Change{
		"sink: {part: block}",
		"sink: {part: block, hood_air_rise: {value: 10 K, min: 5 K, max: 20 K}}",
	})
	for _, tt := range []struct{ Side, Want float64 }{{-1, -5}, {1, 10}, {0.5, 5}} {
		p := r.Base.Clone()
		p[r.Lamp.Param.HoodAirRise] = tt.Side
		got := r.ValueAt(p, "a.junction") - r.Value("a.junction")
		// The sink is of 5 K/W at any temperature, the die's light does not change: air adds up.
		lamptest.Near(t, "junction", got, tt.Want, 0.02, "the air's own rise")
	}
	hood := lamptest.Evaluate(t, lamptest.Change{
		"sink: {part: block}",
		"sink: {part: block, hood: {wall_area: 0.05 m²}}",
	})
	found := false
	for _, a := range hood.Assumptions {
		if a.Key == "hood" {
			found = true
			lamptest.Near(t, "from one end to the other", a.AtHi-a.AtLo, a.Hi-a.Lo, 0.02, "air adds up")
		}
	}
	if !found {
		t.Error("the air under a hood of walls is not asked for")
	}
}

// TestMissingFluxCurves: 10 % from 25 °C to 100 °C and a power of 0.9, and both move the light.
func TestMissingFluxCurves(t *testing.T) {
	r := lamptest.Evaluate(t, lamptest.Change{"    flux_vs_junction: {-50 °C: 100 %, 400 °C: 100 %}\n", ""},
		lamptest.Change{"    flux_vs_current: {0.1 A: 10 %, 2.1 A: 210 %}\n", ""},
		lamptest.Change{"current: 1 A\n    driver", "current: 0.5 A\n    driver"})
	k := r.Lamp.Types[0]
	warm := r.Value("a.junction") - k.Model.TestJunctionK
	want := math.Pow(0.5/k.Model.TestCurrentA, 0.9) * (1 - 0.1/75*warm) * k.Model.RadiantW
	lamptest.Near(t, "radiant", r.Value("a.radiant"), want, 1e-3, "(I/I₀)^0.9 (1 − 10 % ΔT/75 K)")
	for _, a := range r.Assumptions {
		switch a.Key {
		case "fall.die":
			if !(a.AtLo > a.AtHi) {
				t.Errorf("with a fall of %g %g, with one of %g %g: want less light", a.Lo, a.AtLo, a.Hi, a.AtHi)
			}
		case "droop.die": // below the test current a smaller power is more light
			lamptest.Near(t, "droop", a.AtLo/a.AtHi, math.Pow(0.5/k.Model.TestCurrentA, -0.2), 2e-3,
				"x^0.8 over x^1, a little less for its heat")
		}
	}
	if len(r.Assumptions) != 2 {
		t.Errorf("%d values are assumed, want 2", len(r.Assumptions))
	}
}

// TestColdest: a room that may be colder makes the cold string's range: with −2 mV/K, 5 K colder is 10 mV a die.
func TestColdest(t *testing.T) {
	slope := lamptest.Change{"voltage_tempco: 0 mV/K", "voltage_tempco: -2 mV/K"}
	r := lamptest.EvaluateProject(t, lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts, slope,
		lamptest.Change{", min: 15 °C", ""}), engine.Options{Samples: 300, CellM: 0.05, Solver: lamptest.Remembered})
	var a figure.Assumption
	for _, x := range r.Assumptions {
		if x.Key == "ambient-min" {
			a = x
		}
	}
	lamptest.Near(t, "at 5 °C", a.AtLo-r.Value("a.voltage-max"), 0.010, 1e-9, "2 mV/K · 5 K")
	lamptest.Near(t, "at the usual 20 °C", a.AtHi-r.Value("a.voltage-max"), -0.020, 1e-9, "2 mV/K · −10 K")
	f, _ := r.Figure("a.voltage-max")
	// Even between 5 °C and 20 °C: the 10 % and 90 % ends lie 12 K apart; 300 draws place them to some 3 %.
	lamptest.Near(t, "width of the range", f.Hi-f.Lo, 0.024, 0.0015, "0.8 · 15 K · 2 mV/K")
}

// TestGreatestEigenvalue against matrices whose eigenvalues are known by their characteristic polynomial.
func TestGreatestEigenvalue(t *testing.T) {
	for _, tt := range []struct {
		name        string
		m           []float64
		n           int
		shift, want float64
	}{
		{"one", []float64{0.7}, 1, 0, 0.7},
		{"two alike", []float64{0.3, 0.2, 0.2, 0.3}, 2, 0, 0.5},
		// λ² − 1.1 λ + 0.08 = 0; the largest sum of a row is 1.3.
		{"two unlike", []float64{1.0, 0.3, 0.066666666666666667, 0.1}, 2, 0, (1.1 + math.Sqrt(1.21-0.32)) / 2},
		{"one of them calms", []float64{0.5, -0.4, 0.1, -0.2}, 2, 0.4, (0.3 + math.Sqrt(0.09+0.24)) / 2},
		{"all calm", []float64{-0.5, 0, 0, -0.2}, 2, 0.5, -0.2},
		{"nothing", []float64{0, 0, 0, 0}, 2, 0, 0},
	} {
		lamptest.Near(t, tt.name, engine.GreatestEigenvalue(tt.m, tt.n, tt.shift), tt.want, 1e-5,
			"characteristic polynomial")
	}
}

// TestLoopGain: of one die the gain is what its heat grows by per kelvin, times the kelvin per watt from junction to
// air; by hand, and by the way the junction goes with a watt more. Of two dies of which one alone loses light, the gain
// is that die's own, while the sum of the other's row would say no less.
func TestLoopGain(t *testing.T) {
	falling := lamptest.Change{
		"flux_vs_junction: {-50 °C: 100 %, 400 °C: 100 %}",
		"flux_vs_junction: {25 °C: 100 %, 225 °C: 0 %}",
	}
	r := lamptest.Evaluate(t, falling)
	// 1 W of light falls to nothing over 200 K: 5 mW/K, which are heat. R = (T_j − T_air)/H in a lamp that is linear.
	perW := (r.Value("a.junction") - r.Cases[0].AirK) / r.Value("lamp.heat")
	lamptest.Near(t, "gain of one die", r.Cases[0].LoopGain, perW/200, 2e-3*perW/200, "dH/dT · R")
}
