package figure_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"runtime"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/lamptest"
	"lampwright/internal/project"
	"lampwright/internal/source"
)

// TestSameBytes: one lamp gives the same result to the last byte, twice over and on any number of cores.
func TestSameBytes(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	var first []byte
	for _, cores := range []int{1, 2, 2} {
		runtime.GOMAXPROCS(cores)
		// no store: all is solved
		r := lamptest.EvaluateProject(t, lamptest.Example(t, "long-tank-first"),
			engine.Options{Samples: 20, CellM: 0.05})
		out, err := json.Marshal(r)
		if err != nil {
			t.Fatal(err)
		}
		if first == nil {
			first = out
			continue
		}
		if !bytes.Equal(first, out) {
			t.Errorf("on %d cores the result differs from that on one", cores)
		}
	}
}

// TestFlow: every watt that goes into a place leaves it, and the wall gives what is lost and what arrives.
func TestFlow(t *testing.T) {
	supplied := lamptest.Change{
		"day: {full_level_time",
		"supplies:\n  - {part: supply-12v-60w, wire: {part: lead, length: 2 m}}\nday: {full_level_time",
	}
	driver := func(id string) lamptest.Change {
		return lamptest.Change{"    driver: box\n", "    driver: " + id + "\n"}
	}
	lens := lamptest.Change{"part: die, at", "part: die, lens: lens-52, at"}
	lead := lamptest.Change{"    driver: box\n", "    driver: box\n    wire: {part: lead, length: 3 m}\n"}
	fan := lamptest.Change{"sink: {part: block}", "sink: {part: fins-90-forced}\nfan: {part: fan-60}"}
	water := lamptest.Change{
		"kind: bench\n  inside: {length: 400 mm, width: 400 mm}",
		"kind: tank\n  inside: {length: 400 mm, width: 400 mm, height: 300 mm}\n  glass: 6 mm\n  water_depth: 250 " +
			"mm\n  substrate_depth: 40 mm",
	}
	dry := lamptest.Change{
		"kind: bench\n  inside: {length: 400 mm, width: 400 mm}",
		"kind: tank\n  inside: {length: 400 mm, width: 400 mm, height: 250 mm}\n  glass: 6 mm",
	}
	dimmed := []lamptest.Change{{
		"    driver: box\n",
		"    driver: box\n    level: 30 %\n    wire: {part: lead, length: 3 m}\n",
	}, {"dimming: none", "dimming: pwm"}}
	lamps := map[string]*project.Project{
		"first demo":        lamptest.Example(t, "long-tank-first"),
		"mains":             lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts),
		"mains, wire, lens": lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts, lead, lens),
		"mains, fan":        lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts, fan),
		"supply":            lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts, supplied, driver("buck-1a")),
		"supply, fan":       lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts, supplied, driver("buck-1a"), fan),
		"linear": lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts, supplied, driver("linear-350ma"),
			lamptest.Change{"current: 1 A\n    driver", "current: 0.3 A\n    driver"}),
		"dimmed":   lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts, dimmed...),
		"water":    lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts, water, lens),
		"dry tank": lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts, dry),
		"water, narrow": lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts, water,
			lamptest.Change{"part: die, at", "part: die, lens: lens-18, at"}),
		"dry tank, narrow": lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts, dry,
			lamptest.Change{"part: die, at", "part: die, lens: lens-18, at"}),
	}
	for name, p := range lamps {
		t.Run(name, func(t *testing.T) {
			r := lamptest.EvaluateProject(t, p, lamptest.Quick())
			in, out := map[string]float64{}, map[string]float64{}
			ends := 0.0
			for _, f := range r.EnergyFlows {
				if !(f.Watts > 0) {
					t.Errorf("%s → %s: %g W", f.From, f.To, f.Watts)
				}
				out[f.From] += f.Watts
				in[f.To] += f.Watts
			}
			for _, f := range r.EnergyFlows {
				if _, on := out[f.To]; !on || f.Loss {
					ends += f.Watts
					if on {
						t.Errorf("%s → %s is a loss, and goes on", f.From, f.To)
					}
				}
			}
			// 1e-9 W: sums of a dozen doubles near 50 W; flows below that are not drawn.
			for node, w := range out {
				if node != figure.AtMains {
					lamptest.Near(t, "what leaves "+node, w, in[node], 1e-8, "conservation of energy")
				}
			}
			lamptest.Near(t, "what the wall gives", out[figure.AtMains], r.Value("mains.power"), 1e-9,
				"conservation of energy")
			lamptest.Near(t, "all losses and the target", ends, r.Value("mains.power"), 1e-8, "conservation of energy")
			if t.Failed() {
				for _, f := range r.EnergyFlows {
					t.Logf("%s → %s: %.9g W, loss %v", f.From, f.To, f.Watts, f.Loss)
				}
			}
		})
	}
}

// TestFeed: a supply of 12 V ± 3 % and a driver of 3 V headroom at the built-in shelf, with leads of 50 Ω/km.
func TestFeed(t *testing.T) {
	r := lamptest.Evaluate(t, lamptest.Change{
		"    driver: box\n",
		"    driver: buck-1a\n    wire: {part: lead, length: 3 m}\n",
	},
		lamptest.Change{
			"day: {full_level_time",
			"supplies:\n  - {part: supply-12v-60w, wire: {part: lead, length: 2 m}}\nday: {full_level_time",
		})
	f := r.Feed(0)
	room := 1 + 0.00393*(r.Lamp.Design.Installation.Ambient.Typical.SI-293.15)
	lamptest.Near(t, "drop in the supply's wire", f.SupplyWireV,
		2*2*0.05*room*r.Value("a.driver-input")/(12-f.SupplyWireV),
		1e-9, "Ohm's law, IEC 60028; the driver draws constant power")
	lamptest.Near(t, "drop in the wire to the board", f.WireV,
		2*3*0.05*(1+0.00393*(r.Value("sink.temperature")-293.15)), 1e-9, "Ohm's law, IEC 60028")
	lamptest.Near(t, "supply at its lowest", f.LeastV, 12*0.97-f.SupplyWireV, 1e-9, "Kirchhoff's voltage law")
	lamptest.Near(t, "supply at its highest", f.MostV, 12*1.03, 1e-9, "its sheet")
	lamptest.Near(t, "what the supply leaves", f.CapV, 12*0.97-f.SupplyWireV-3, 1e-9, "Kirchhoff's voltage law")
	lamptest.Near(t, "what the driver must give", f.HighV, r.Value("a.voltage-max")+f.WireV, 1e-9,
		"Kirchhoff's voltage law")
	if !f.Supplied || !f.Capped {
		t.Errorf("supplied %v, capped %v: a step-down driver on a supply is both", f.Supplied, f.Capped)
	}
	if f := lamptest.Evaluate(t).Feed(0); f.Supplied || f.Capped || f.WireV != 0 {
		t.Errorf("fed from the mains, without a wire: %+v", f)
	}
}

// TestPowers: from die to wall by hand. 3 W and a lead of 2 · 3 m · 50 Ω/km at the sink's temperature; 80 % of the box.
func TestPowers(t *testing.T) {
	r := lamptest.Evaluate(t, lamptest.Change{
		"    driver: box\n",
		"    driver: box\n    wire: {part: lead, length: 3 m}\n",
	})
	drop := 2 * 3 * 0.05 * (1 + 0.00393*(r.Value("sink.temperature")-293.15))
	lamptest.Near(t, "drop", r.Value("a.wire-drop"), drop, 1e-9, "Ohm's law, IEC 60028")
	lamptest.Near(t, "driver input", r.Value("a.driver-input"), (3+drop)/0.8, 1e-9, "(P + ΔV I)/η")
	lamptest.Near(t, "wall", r.Value("mains.power"), (3+drop)/0.8, 1e-9, "mains driver")
	lamptest.Near(t, "day's light", r.Value("target.dli"), r.Value("target.ppfd")*36000e-6, 1e-12, "10 h")
	// 365 · (P · 9 h), in joules; nothing is stated for standby.
	steep := lamptest.Evaluate(t, lamptest.Change{"full_level_time: 9 h, ramp_time: 1 h", "full_level_time: 9 h"})
	lamptest.Near(t, "energy of a year", steep.Value("mains.energy-year"), 365*9*3600*steep.Value("mains.power"), 1e-3,
		"365 days")
	linear := lamptest.Evaluate(t, lamptest.Change{"    driver: box\n", "    driver: linear-350ma\n"},
		lamptest.Change{"current: 1 A\n    driver", "current: 0.3 A\n    driver"},
		lamptest.Change{"day: {full_level_time", "supplies:\n  - {part: supply-12v-60w}\nday: {full_level_time"})
	noLoadW := linear.Sol.Params[linear.Lamp.Channels[0].Param.NoLoad]
	lamptest.Near(t, "input of a linear stage", linear.Value("a.driver-input")-noLoadW, 12*0.3, 1e-9,
		"the string's current at the supply's voltage")
}

// TestRanges: a tolerance makes a range about the value; where nothing varies there is none.
func TestRanges(t *testing.T) {
	o := lamptest.Quick()
	o.Samples = 80
	fixed := lamptest.EvaluateProject(t, lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts), o)
	for _, key := range []string{
		"a.current", "a.voltage", "a.power", "a.radiant",
		"mains.power", "a.voltage-max",
	} {
		if f, _ := fixed.Figure(key); f.Lo != f.Value || f.Hi != f.Value || f.RangeText() != "" {
			t.Errorf("%s: nothing varies, and its range is %q", key, f.RangeText())
		}
	}
	loose := lamptest.EvaluateProject(t, lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts,
		lamptest.Change{"radiant_flux: 1 W", "radiant_flux: 1 W ± 10 %"},
		lamptest.Change{"current_tolerance: 0 %", "current_tolerance: 5 %"},
		lamptest.Change{
			"thermal_impedance: 40 mm²·K/W",
			"thermal_impedance: {value: 40 mm²·K/W, min: 20 mm²·K/W, max: 60 mm²·K/W}",
		}), o)
	varied := 0
	for _, f := range loose.Figures {
		if f.Lo > f.Hi {
			t.Errorf("%s: its range runs from %g to %g", f.Key, f.Lo, f.Hi)
		}
		if f.Hi > f.Lo {
			varied++
			if f.Value < f.Lo || f.Value > f.Hi {
				t.Errorf("%s: %g lies outside of its range %g to %g, and every tolerance is even", f.Key, f.Value, f.Lo,
					f.Hi)
			}
		}
	}
	if varied < 10 {
		t.Errorf("only %d figures vary", varied)
	}
	// Of an even draw over ± 10 % and ± 5 % the middle 80 % span less than the ends, and more than half of them.
	f, _ := loose.Figure("a.radiant")
	if w := f.Hi - f.Lo; w < 0.15 || w > 0.30 {
		t.Errorf("light of 1 W ± 10 %% at ± 5 %% of the current ranges over %g W", w)
	}
	again := lamptest.EvaluateProject(t,
		lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts,
			lamptest.Change{"radiant_flux: 1 W", "radiant_flux: 1 W ± 10 %"}), o)
	if f, _ := again.Figure("a.voltage"); f.Lo != f.Hi {
		t.Errorf("flux alone varies, and the voltage ranges over %q", f.RangeText())
	}
}

// TestAssumptions: each value that is taken in place of a missing one is listed, with what it does.
func TestAssumptions(t *testing.T) {
	if r := lamptest.Evaluate(t); len(r.Assumptions) != 0 {
		t.Errorf("nothing is missing, and %q is assumed", r.Assumptions[0].What)
	}
	for _, tt := range []struct {
		Key  string
		Took lamptest.Change
	}{
		{"rth.die", lamptest.Change{"    thermal_resistance: 5 K/W\n    thermal_resistance_kind: real\n", ""}},
		{"rth-kind.die", lamptest.Change{"    thermal_resistance_kind: real\n", ""}},
		{"voltage-slope.die", lamptest.Change{"    forward_voltage_tempco: 0 mV/K\n", ""}},
		{"driver.a", lamptest.Change{"efficiency: 80 %, ", ""}},
		{"lens.lens-48-plain", lamptest.Change{"part: die, at", "part: die, lens: lens-48-plain, at"}},
	} {
		r := lamptest.Evaluate(t, tt.Took)
		if len(r.Assumptions) != 1 || r.Assumptions[0].Key != tt.Key {
			t.Errorf("%s: assumed are %+v", tt.Key, r.Assumptions)
			continue
		}
		a := r.Assumptions[0]
		f, ok := r.Figure(a.Affects)
		if !ok || a.AtLo == a.AtHi || a.Why == "" || a.At.Line == 0 || a.Lo > a.Used || a.Hi < a.Used {
			t.Errorf("%s: %+v", tt.Key, a)
		}
		if lo, hi := math.Min(a.AtLo, a.AtHi), math.Max(a.AtLo, a.AtHi); f.Value < lo-1e-6 || f.Value > hi+1e-6 {
			t.Errorf("%s: %s is %g, and %g to %g at the ends of what is assumed", tt.Key, a.Affects, f.Value, lo, hi)
		}
	}
}

// TestTry: a change of a current gives the figures of a lamp that was written so.
func TestTry(t *testing.T) {
	r := lamptest.Evaluate(t)
	written := lamptest.Evaluate(t, lamptest.Change{"current: 1 A\n    driver", "current: 0.6 A\n    driver"})
	for _, key := range []string{
		"a.junction", "a.junction-max-ambient", "a.voltage", "lamp.heat", "target.ppfd",
		"mains.power",
	} {
		lamptest.Near(t, key, r.Try(figure.Change{Current: map[string]float64{"a": 0.6}}, key), written.Value(key),
			1e-6*math.Abs(written.Value(key)), "the lamp written so")
	}
}

// TestTryAlone: a figure that is reckoned alone is, to the last bit, that of the whole lamp.
func TestTryAlone(t *testing.T) {
	for _, name := range []string{"long-tank-first", "long-tank", "propagation-bench"} {
		r := lamptest.EvaluateProject(t, lamptest.Example(t, name), lamptest.Quick())
		for _, f := range []float64{0.05, 0.83, 4} {
			c, p := figure.Change{Current: map[string]float64{r.Lamp.Channels[0].Name: f}}, r.Base.Clone()
			p[r.Lamp.Channels[0].Param.Current] *= f
			for key, want := range r.ValuesAt(p) {
				if got := r.Try(c, key); got != want {
					t.Errorf("%s at %g times the current: %s is %g alone and %g with all the others", name, f, key, got,
						want)
				}
			}
		}
	}
}

// TestFigures: every figure prints, names its method, and its derivation leads only to figures that are there.
func TestFigures(t *testing.T) {
	for _, p := range []*project.Project{
		lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts),
		lamptest.Example(t, "long-tank-first"),
	} {
		r := lamptest.EvaluateProject(t, p, lamptest.Quick())
		for _, f := range r.Figures {
			b := f.Basis
			if f.Title == "" || b.Formula == "" || b.Numbers == "" || b.Method == "" || b.Valid == "" {
				t.Errorf("%s: something is not said: %+v", f.Key, b)
			}
			for _, text := range append([]string{f.Text(), b.Numbers, f.Title}, b.Notes...) {
				if strings.Contains(text, "NaN") || strings.Contains(text, "Inf") || strings.Contains(text, "∞") ||
					strings.Contains(text, "%!") {
					t.Errorf("%s prints %q", f.Key, text)
				}
			}
			for _, in := range b.Inputs {
				if in.Name == "" || in.Value == "" || in.Source == "" {
					t.Errorf("%s: an input is %+v", f.Key, in)
				}
				if _, ok := r.Figure(in.Figure); in.Figure != "" && !ok {
					t.Errorf("%s leads to %q, which is not there", f.Key, in.Figure)
				}
			}
		}
		if _, err := json.Marshal(r); err != nil {
			t.Error(err)
		}
	}
}

// TestMixedChannelMultipliesOut: in a channel of two kinds the printed numbers give the printed result.
func TestMixedChannelMultipliesOut(t *testing.T) {
	r := lamptest.EvaluateProject(t, lamptest.Example(t, "rain-wall"), lamptest.Quick())
	for _, key := range []string{"evening.flux", "evening.ppf"} {
		f, _ := r.Figure(key)
		var all, after, per float64
		if _, err := fmt.Sscanf(f.Basis.Numbers, "%g W of %g W leave the lenses, at a mean of %g", &after, &all,
			&per); err != nil {
			t.Fatalf("%s: %q: %v", key, f.Basis.Numbers, err)
		}
		lamptest.Near(t, key, after*per, f.Value, 0.01*f.Value, "arithmetic")
		lamptest.Near(t, key+", through lenses of 91 %", after, 0.91*all, 0.01*all, "lens-110")
	}
}

// TestSilentSink: a sink that is known only with a fan, in a lamp without one, is refused in words.
func TestSilentSink(t *testing.T) {
	p := lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts,
		lamptest.Change{
			"resistance_vs_power: {0.1 W: 5 K/W, 100 W: 5 K/W}",
			"resistance_vs_power: {0.1 W: 5 K/W, 100 W: 5 K/W}, resistance_vs_air_speed: {0.5 m/s: 2 K/W, 5 m/s: 1 K/W}",
		})
	p.Library.Sinks.Get("block").Natural = source.Curve{} // as where alternatives are tried one after the other
	if _, err := figure.Evaluate(context.Background(), p, lamptest.Quick()); err == nil ||
		!strings.Contains(err.Error(), "no data without a fan") {
		t.Errorf("the lamp is %v, want a sink that needs a fan", err)
	}
}

// TestOrders: what is used is on the order list, each part once with its count.
func TestOrders(t *testing.T) {
	r := lamptest.Evaluate(t, lamptest.With(lamptest.Larger(),
		lamptest.Lights("{part: die, lens: lens-52, at: [[-10 mm, 0 mm], [10 mm, 0 mm]]}"),
		lamptest.Change{"    driver: box\n", "    driver: box\n    wire: {part: lead, length: 1.2 m}\n"},
		lamptest.Change{
			"day: {full_level_time",
			"solder: sac305\nwire_solder: sac305\nextras: [{what: screws, price: 6 EUR}]\nday: {full_level_time",
		})...)
	got := map[string]string{}
	for _, o := range r.BOM {
		got[o.Part+o.What] = fmt.Sprintf("%d · %.2f = %.2f %v", o.Count, o.Each, o.Total, o.Priced)
	}
	for what, want := range map[string]string{
		"dieemitter":              "2 · 0.00 = 0.00 false",
		"coreboard":               "1 · 5.00 = 5.00 true",
		"leadwire":                "2 · 1.00 = 2.00 true", // metres, rounded up
		"screws":                  "1 · 6.00 = 6.00 true",
		"boxdriver":               "1 · 0.00 = 0.00 false",
		"greasethermal interface": "1 · 0.00 = 0.00 false",
	} {
		if got[what] != want {
			t.Errorf("%s: %q, want %q", what, got[what], want)
		}
	}
	n := 0
	for _, o := range r.BOM {
		if o.Part == "sac305" {
			n += o.Count
		}
	}
	if n != 1 {
		t.Errorf("%d lots of solder are ordered, want 1 for both uses", n)
	}
}

// TestResultIsPlainData: a Result marshals to JSON and unmarshals to itself.
func TestResultIsPlainData(t *testing.T) {
	for _, name := range []string{"long-tank-first", "propagation-bench"} {
		r := lamptest.EvaluateProject(t, lamptest.Example(t, name), lamptest.Quick()).Result
		text, err := json.Marshal(r)
		if err != nil {
			t.Fatal(err)
		}
		var back figure.Result
		if err := json.Unmarshal(text, &back); err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(*r, back, cmpopts.EquateEmpty()); d != "" {
			t.Errorf("%s: a Result that was marshalled differs:\n%s", name, d)
		}
	}
}
