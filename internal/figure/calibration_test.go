package figure_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/lamptest"
	"lampwright/internal/project"
)

// wired is the lamp of one die with a wire of 0.2 Ω at 20 °C.
func wired(t *testing.T) *project.Project {
	t.Helper()
	return lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts,
		lamptest.Change{"    driver: box\n", "    driver: box\n    wire: {part: lead, length: 2 m}\n"})
}

func calibrated(t *testing.T, p *project.Project, samples int, learned ...project.Learned) *figure.Evaluation {
	t.Helper()
	o := lamptest.Quick()
	o.Samples, o.Calibration = samples, lamptest.Learned(t, p, learned...)
	return lamptest.EvaluateProject(t, p, o)
}

// TestLearnedValues: each learned value counts where its parameter does. The lamp has one die of 3 V, 1 A and 1 W of
// light on a heat sink of 5 K/W.
func TestLearnedValues(t *testing.T) {
	p := wired(t)
	sheet := lamptest.EvaluateProject(t, p, lamptest.Quick())
	rise := func(r *figure.Evaluation) float64 { // of the heat sink per watt into it
		st := r.Sol.Cases[engine.Typical]
		return (st.Sink.BaseK - st.AirK) / st.Sink.DissipatedW
	}
	joint := func(r *figure.Evaluation) float64 { // from the solder point to the heat sink, per watt
		st := r.Sol.Cases[engine.Typical]
		return (st.SolderK[0] - st.Sink.BaseK) / st.HeatW[0]
	}
	ratio := func(of func(*figure.Evaluation) float64) func(a, b *figure.Evaluation) float64 {
		return func(a, b *figure.Evaluation) float64 { return of(a) / of(b) }
	}
	value := func(key string) func(*figure.Evaluation) float64 {
		return func(r *figure.Evaluation) float64 { return r.Value(key) }
	}
	for _, tt := range []struct {
		name, basis string
		value       float64
		change      func(learned, sheet *figure.Evaluation) float64
		want, tol   float64
		source      string
	}{
		{"emitter.die.flux", "", 0.9, ratio(value("target.ppfd")), 0.9, 1e-9, "proportional"},
		{"bare.1.efficiency", "", 0.9, ratio(value("a.flux")), 0.9, 1e-9, "proportional"},
		{"channel.a.current_tolerance", "", 1.1, ratio(value("a.current")), 1.1, 1e-9, "definition"},
		{"channel.a.wire_resistance", "", 3, ratio(value("a.wire-drop")), 3, 1e-9, "definition"},
		{"channel.a.driver_efficiency", "", 0.4, ratio(value("a.driver-input")), 2, 1e-9, "80 % in the datasheet"},
		{"heat_sink.natural_convection", "", 1.25, ratio(rise), 0.8, 1e-3, "1/1.25"},
		{
			"tim.resistance_offset", "", 40e-6,
			func(a, b *figure.Evaluation) float64 { return joint(a) - joint(b) }, 0.1, 2e-3,
			"40 mm²·K/W over 400 mm²; a die of the whole board",
		},
		{
			"board.dielectric_conductivity", "", 1,
			func(a, b *figure.Evaluation) float64 { return joint(a) - joint(b) }, 0.125, 2e-3,
			"100 µm over 400 mm² of 1 in place of 2 W/(m·K)",
		},
		{
			"emitter.die.forward_voltage", "", 0.1,
			func(a, b *figure.Evaluation) float64 { return a.Value("a.voltage") - b.Value("a.voltage") }, 0.1, 1e-9,
			"definition",
		},
		{
			"emitter.die.forward_voltage", "", 0.1,
			func(a, b *figure.Evaluation) float64 { return a.Value("a.voltage-max") - b.Value("a.voltage-max") },
			0.1 + 2*0.001, 1e-9, "mean and twice the standard deviation; no bins in the datasheet",
		},
	} {
		sd := 0.001
		if tt.name == "tim.resistance_offset" {
			sd = 1e-6
		}
		r := calibrated(t, p, -1, project.Learned{Name: tt.name, Value: tt.value, SD: sd})
		if c := r.Calibration; c == nil || len(c.Parameters) != 1 || len(c.Dropped) > 0 {
			t.Errorf("%s: calibration %+v", tt.name, c)
			continue
		}
		lamptest.Near(t, tt.name, tt.change(r, sheet), tt.want, tt.tol, tt.source)
		found := false
		for _, f := range r.Figures {
			found = found || slices.ContainsFunc(f.Basis.Inputs, func(in figure.Input) bool {
				return in.Source == "learned from readings of 2031-09-13"
			})
		}
		if !found {
			t.Errorf("%s: no derivation names the readings", tt.name)
		}
	}
}

// TestLearnedHeight: a learned hanging height gives the light of a design with that height, without samples too; the
// ratios of coarse maps by which it acts are good to a thousandth.
func TestLearnedHeight(t *testing.T) {
	p := wired(t)
	r := calibrated(t, p, -1, project.Learned{Name: "installation.hanging_height", Value: 0.305, SD: 0.001})
	want := lamptest.Hung(t, p, 0.305).Value("target.ppfd")
	lamptest.Near(t, "PPFD at 305 mm", r.Value("target.ppfd")/want, 1, 2e-3, "the design with that height")
}

// TestLearnedRange: P10 and P90 of a figure are those of the learned distribution. The light is proportional to the
// product of flux and efficiency of the bare emitter, both known to 4 %, and together to u² = 2 s² (1 + ρ) (GUM,
// 5.2.2). The other tolerances of the lamp do not change its radiant flux.
func TestLearnedRange(t *testing.T) {
	const s, z90 = 0.04, 1.2815515655446004
	p := wired(t)
	for _, rho := range []float64{0, -0.95} {
		o := lamptest.Quick()
		o.Samples = 10_000
		o.Calibration = lamptest.Learned(t, p, project.Learned{Name: "no.such", Value: 1, SD: 1, Basis: "x"},
			project.Learned{Name: "emitter.die.flux", Value: 1, SD: s},
			project.Learned{Name: "bare.1.efficiency", Value: 1, SD: s})
		o.Calibration.Correlations[2][1] = rho
		r := lamptest.EvaluateProject(t, p, o)
		f, _ := r.Figure("lamp.radiant")
		u := s * math.Sqrt(2*(1+rho))
		// Three standard errors of a quantile, and the second order of a product of 4 %.
		tol := 3*1.71*u/100 + s*s
		lamptest.Near(t, "P90", f.Hi/f.Value-1, z90*u, tol, "GUM, 5.2.2")
		lamptest.Near(t, "P10", f.Lo/f.Value-1, -z90*u, tol, "GUM, 5.2.2")
		var values []float64
		if err := r.Sys.Sample(t.Context(), 2000, 1, func(sol *engine.Solution) {
			values = append(values, sol.Light.RadiantW/f.Value-1)
		}); err != nil {
			t.Fatal(err)
		}
		sum := 0.0
		for _, v := range values {
			sum += v * v
		}
		lamptest.Near(t, "standard deviation of exact samples", math.Sqrt(sum/2000), u, 3*u/math.Sqrt(4000)+s*s/2,
			"GUM, 5.2.2; u/√(2n)")
	}
}

// TestDropped: a learned parameter of other parts, of none of this lamp, and with an impossible value is not applied,
// and the result states which and why.
func TestDropped(t *testing.T) {
	p := wired(t)
	r := calibrated(t, p, -1,
		project.Learned{Name: "emitter.die.flux", Value: 0.9, SD: 0.01, Basis: "emitter other, 1.00 W at 1.00 A"},
		project.Learned{Name: "emitter.other.flux", Value: 0.9, SD: 0.01, Basis: "emitter other, 1.00 W at 1.00 A"},
		project.Learned{Name: "channel.a.current", Value: 0.9, SD: 0.01},
		project.Learned{Name: "channel.a.wire_resistance", Value: -0.5, SD: 0.01},
		project.Learned{Name: "bare.1.efficiency", Value: 1.2, SD: 0.01})
	sheet := lamptest.EvaluateProject(t, p, lamptest.Quick())
	if a, b := r.Value("target.ppfd"), sheet.Value("target.ppfd"); a != b {
		t.Errorf("PPFD %g with every parameter dropped, want %g", a, b)
	}
	want := []figure.DroppedParameter{
		{
			Name: "emitter.die.flux",
			Why:  "learned with emitter other, 1.00 W at 1.00 A; the design has emitter die, 1.00 W at 1.00 A",
		},
		{Name: "emitter.other.flux", Why: "this lamp has no such parameter"},
		{Name: "channel.a.current", Why: "readings of this lamp tell nothing of it"},
		{Name: "channel.a.wire_resistance", Why: "its value -0.5 is not above 0"},
		{Name: "bare.1.efficiency", Why: "an efficiency of 1.2 is above 1"},
	}
	if got := r.Calibration.Dropped; !slices.Equal(got, want) {
		t.Errorf("dropped %+v, want %+v", got, want)
	}
}

// TestLearnedAssumption: what readings told is not assumed any more, and the derivation names the readings; of a lens
// without a stated efficiency and of a driver without a stated no-load power.
func TestLearnedAssumption(t *testing.T) {
	p := lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts, lamptest.Change{"no_load_power: 0 W, ", ""})
	key := "driver-no-load.a"
	of := func(r *figure.Evaluation) bool {
		return slices.ContainsFunc(r.Assumptions, func(a figure.Assumption) bool { return a.Key == key })
	}
	if r := lamptest.EvaluateProject(t, p, lamptest.Quick()); !of(r) {
		t.Fatalf("no assumption %s before", key)
	}
	r := calibrated(t, p, -1, project.Learned{Name: "channel.a.no_load_power", Value: 0.3, SD: 0.05})
	if of(r) {
		t.Errorf("%s is assumed after it was learned", key)
	}
	f, _ := r.Figure("a.driver-input")
	i := slices.IndexFunc(f.Basis.Inputs, func(in figure.Input) bool { return in.Name == "P₀" })
	if in := f.Basis.Inputs[i]; in.Value != "300 ± 50 mW" || !strings.HasPrefix(in.Source, "learned from readings") {
		t.Errorf("P₀ is %s from %q", in.Value, in.Source)
	}
}
