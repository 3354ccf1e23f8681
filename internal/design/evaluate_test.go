package design

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"runtime"
	"strings"
	"testing"

	"lampwright/internal/intensity"
	"lampwright/internal/light"
	"lampwright/internal/project"
	"lampwright/internal/source"
)

// TestSameBytes: one lamp gives the same result to the last byte, twice over and on any number of cores.
func TestSameBytes(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	var first []byte
	for _, cores := range []int{1, 2, 2} {
		runtime.GOMAXPROCS(cores)
		r := evaluateProject(t, example(t, "planted-tank-first"), Options{Samples: 20, CellM: 0.05}) // no store: all is solved
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

// TestStore: what was kept gives the result of what was solved, and spoilt data are solved again.
func TestStore(t *testing.T) {
	store := &memory{data: map[string][]byte{}}
	o := Options{Samples: -1, CellM: 0.05, Store: store}
	text := func() string {
		out, err := json.Marshal(evaluateProject(t, load(t, oneDie, oneDieParts), o))
		if err != nil {
			t.Fatal(err)
		}
		return string(out)
	}
	solved := text()
	if len(store.data) == 0 {
		t.Fatal("nothing was kept")
	}
	if text() != solved {
		t.Error("with what was kept the result differs")
	}
	for k, v := range store.data {
		store.data[k] = append(v[:len(v)/2:len(v)/2], 'x')
	}
	if text() != solved {
		t.Error("with spoilt data the result differs")
	}
	for k := range store.data {
		store.data[k] = seal([]byte("sealed, and yet no unit responses"))
	}
	if text() != solved {
		t.Error("with other people's data the result differs")
	}
}

// Light of a tank with water, panes and a measured pattern comes back from the store as it was solved, in a lamp that is read
// anew; whatever it depends on has a key of its own, and what it does not depend on has the same.
func TestLightStore(t *testing.T) {
	store := &memory{data: map[string][]byte{}}
	keys := func() (n int) {
		for k := range store.data {
			if strings.HasPrefix(k, "light-") {
				n++
			}
		}
		return n
	}
	run := func(o Options, lines ...string) string {
		r := inPlaceWith(t, o, lines...)
		out, err := json.Marshal(r)
		if err != nil {
			t.Fatal(err)
		}
		return string(out)
	}
	o := Options{Samples: -1, CellM: 0.05, Store: store}
	solved := run(Options{Samples: -1, CellM: 0.05})
	for i, lines := range [][]string{{}, {}, {"altitude: 300 m"}} {
		out := run(o, lines...)
		if i < 2 && out != solved {
			t.Errorf("run %d with a store differs from one without", i+1)
		}
		if n := keys(); n != 1 {
			t.Errorf("%d lights are kept after %d runs of the same light", n, i+1)
		}
	}
	for i, lines := range [][]string{{"lamp_tilt: {tilt: 5 deg, azimuth: 0 deg}"}, {"water_tint: tea"}, {"substrate_reflectance: 30 %"}, {"lamp_offset: [5 mm, 0 mm]"}, {"surface_slope_rms: 2 deg"}} {
		run(o, lines...)
		if n := keys(); n != i+2 {
			t.Errorf("%v: %d lights are kept, want %d", lines, n, i+2)
		}
	}
}

// TestLightVersion: light that was stored by an earlier program must not be taken for that of this one. If this fails since the
// maps are better now, raise lightVersion and set the sum anew.
func TestLightVersion(t *testing.T) {
	wide, err := intensity.CosinePower(1)
	if err != nil {
		t.Fatal(err)
	}
	tank := light.Tank{LengthM: 0.4, WidthM: 0.3, HeightM: 0.3, WaterDepthM: 0.26, SubstrateM: 0.05, GlassM: 0.005, Bands: []light.Band{{AbsorptionPerM: 0.3, SubstrateReflectance: 0.3}, {AbsorptionPerM: 1}}}
	em := light.Emitter{XM: 0.03, YM: 0.02, ZM: 0.46, TiltRad: 0.2, TiltAzimuthRad: 0.5, Distribution: wide}
	sum := 0.0
	for _, plane := range []light.Plane{tank.Surface(), tank.Substrate()} {
		m, err := light.WallMap(context.Background(), tank, []light.Emitter{em}, plane, light.Grid{NX: 8, NY: 6})
		if err != nil {
			t.Fatal(err)
		}
		for _, v := range m.Data {
			sum += v
		}
	}
	s, err := light.DirectFractions(tank, em)
	if err != nil {
		t.Fatal(err)
	}
	sum += s.Spill
	const version, want = 1, 689.172938431
	if lightVersion != version || math.Abs(sum/want-1) > 1e-9 {
		t.Errorf("version %d of the light sums to %.12g; version %d did to %.12g", lightVersion, sum, version, want)
	}
}

// TestFlow: every watt that goes into a place leaves it, and the wall gives what is lost and what arrives.
func TestFlow(t *testing.T) {
	supplied := change{"day: {full_level_time", "supplies:\n  - {part: supply-12v-60w, wire: {part: lead, length: 2 m}}\nday: {full_level_time"}
	driver := func(id string) change { return change{"    driver: box\n", "    driver: " + id + "\n"} }
	lens := change{"part: die, at", "part: die, lens: lens-60, at"}
	lead := change{"    driver: box\n", "    driver: box\n    wire: {part: lead, length: 3 m}\n"}
	fan := change{"sink: {part: block}", "sink: {part: fins-90-forced}\nfan: {part: fan-60}"}
	water := change{"kind: bench\n  inside: {length: 400 mm, width: 400 mm}", "kind: tank\n  inside: {length: 400 mm, width: 400 mm, height: 300 mm}\n  glass: 6 mm\n  water_depth: 250 mm\n  substrate_depth: 40 mm"}
	dry := change{"kind: bench\n  inside: {length: 400 mm, width: 400 mm}", "kind: tank\n  inside: {length: 400 mm, width: 400 mm, height: 250 mm}\n  glass: 6 mm"}
	dimmed := []change{{"    driver: box\n", "    driver: box\n    level: 30 %\n    wire: {part: lead, length: 3 m}\n"}, {"dimming: none", "dimming: pwm"}}
	lamps := map[string]*project.Project{
		"first demo":        example(t, "planted-tank-first"),
		"mains":             load(t, oneDie, oneDieParts),
		"mains, wire, lens": load(t, oneDie, oneDieParts, lead, lens),
		"mains, fan":        load(t, oneDie, oneDieParts, fan),
		"supply":            load(t, oneDie, oneDieParts, supplied, driver("buck-1a")),
		"supply, fan":       load(t, oneDie, oneDieParts, supplied, driver("buck-1a"), fan),
		"linear":            load(t, oneDie, oneDieParts, supplied, driver("linear-350ma"), change{"current: 1 A\n    driver", "current: 0.3 A\n    driver"}),
		"dimmed":            load(t, oneDie, oneDieParts, dimmed...),
		"water":             load(t, oneDie, oneDieParts, water, lens),
		"dry tank":          load(t, oneDie, oneDieParts, dry),
		"water, narrow":     load(t, oneDie, oneDieParts, water, change{"part: die, at", "part: die, lens: lens-15, at"}),
		"dry tank, narrow":  load(t, oneDie, oneDieParts, dry, change{"part: die, at", "part: die, lens: lens-15, at"}),
	}
	for name, p := range lamps {
		t.Run(name, func(t *testing.T) {
			r := evaluateProject(t, p, quick())
			in, out := map[string]float64{}, map[string]float64{}
			ends := 0.0
			for _, f := range r.Flow {
				if !(f.Watts > 0) {
					t.Errorf("%s → %s: %g W", f.From, f.To, f.Watts)
				}
				out[f.From] += f.Watts
				in[f.To] += f.Watts
			}
			for _, f := range r.Flow {
				if _, on := out[f.To]; !on || f.Loss {
					ends += f.Watts
					if on {
						t.Errorf("%s → %s is a loss, and goes on", f.From, f.To)
					}
				}
			}
			// 1e-9 W: sums of a dozen doubles near 50 W; flows below that are not drawn.
			for node, w := range out {
				if node != atWall {
					near(t, "what leaves "+node, w, in[node], 1e-8, "conservation of energy")
				}
			}
			near(t, "what the wall gives", out[atWall], r.Value("wall.power"), 1e-9, "conservation of energy")
			near(t, "all losses and the target", ends, r.Value("wall.power"), 1e-8, "conservation of energy")
			if t.Failed() {
				for _, f := range r.Flow {
					t.Logf("%s → %s: %.9g W, loss %v", f.From, f.To, f.Watts, f.Loss)
				}
			}
		})
	}
}

// TestFeed: a supply of 12 V ± 3 % and a driver of 3 V headroom at the built-in shelf, with leads of 50 Ω/km.
func TestFeed(t *testing.T) {
	r := evaluate(t, change{"    driver: box\n", "    driver: buck-1a\n    wire: {part: lead, length: 3 m}\n"},
		change{"day: {full_level_time", "supplies:\n  - {part: supply-12v-60w, wire: {part: lead, length: 2 m}}\nday: {full_level_time"})
	f := r.Feed(0)
	room := 1 + 0.00393*(r.Lamp.Design.Installation.Ambient.Typical.SI-293.15)
	near(t, "drop in the supply's wire", f.SupplyWireV, 2*2*0.05*room*r.Value("a.driver-input")/12, 1e-9, "Ohm's law, IEC 60028")
	near(t, "drop in the wire to the board", f.WireV, 2*3*0.05*(1+0.00393*(r.Value("sink.temperature")-293.15)), 1e-9, "Ohm's law, IEC 60028")
	near(t, "supply at its lowest", f.LeastV, 12*0.97-f.SupplyWireV, 1e-9, "Kirchhoff's voltage law")
	near(t, "supply at its highest", f.MostV, 12*1.03, 1e-9, "its sheet")
	near(t, "what the supply leaves", f.CapV, 12*0.97-f.SupplyWireV-3, 1e-9, "Kirchhoff's voltage law")
	near(t, "what the driver must give", f.HighV, r.Value("a.voltage-cold")+f.WireV, 1e-9, "Kirchhoff's voltage law")
	if !f.Supplied || !f.Capped {
		t.Errorf("supplied %v, capped %v: a step-down driver on a supply is both", f.Supplied, f.Capped)
	}
	if f := evaluate(t).Feed(0); f.Supplied || f.Capped || f.WireV != 0 {
		t.Errorf("fed from the mains, without a wire: %+v", f)
	}
}

// TestPowers: from die to wall by hand. 3 W and a lead of 2 · 3 m · 50 Ω/km at the sink's temperature; 80 % of the box.
func TestPowers(t *testing.T) {
	r := evaluate(t, change{"    driver: box\n", "    driver: box\n    wire: {part: lead, length: 3 m}\n"})
	drop := 2 * 3 * 0.05 * (1 + 0.00393*(r.Value("sink.temperature")-293.15))
	near(t, "drop", r.Value("a.wire-drop"), drop, 1e-9, "Ohm's law, IEC 60028")
	near(t, "driver input", r.Value("a.driver-input"), (3+drop)/0.8, 1e-9, "(P + ΔV I)/η")
	near(t, "wall", r.Value("wall.power"), (3+drop)/0.8, 1e-9, "mains driver")
	near(t, "day's light", r.Value("target.daily-light"), r.Value("target.ppfd")*36000e-6, 1e-12, "10 h")
	// 365 · (P · 10 h), in joules; nothing is stated for standby.
	near(t, "energy of a year", r.Value("wall.energy-year"), 365*36000*r.Value("wall.power"), 1e-3, "365 days")
	linear := evaluate(t, change{"    driver: box\n", "    driver: linear-350ma\n"}, change{"current: 1 A\n    driver", "current: 0.3 A\n    driver"},
		change{"day: {full_level_time", "supplies:\n  - {part: supply-12v-60w}\nday: {full_level_time"})
	near(t, "input of a linear stage", linear.Value("a.driver-input"), 12*0.3, 1e-9, "the string's current at the supply's voltage")
}

// TestRanges: a tolerance makes a range about the value; where nothing varies there is none.
func TestRanges(t *testing.T) {
	o := quick()
	o.Samples = 80
	fixed := evaluateProject(t, load(t, oneDie, oneDieParts), o)
	for _, key := range []string{"a.current", "a.voltage", "a.power", "a.radiant", "a.flux", "lamp.ppf", "target.ppfd", "wall.power", "a.voltage-cold"} {
		if f, _ := fixed.Figure(key); f.Lo != f.Value || f.Hi != f.Value || f.RangeText() != "" {
			t.Errorf("%s: nothing varies, and its range is %q", key, f.RangeText())
		}
	}
	loose := evaluateProject(t, load(t, oneDie, oneDieParts,
		change{"radiant_flux: 1 W", "radiant_flux: 1 W ± 10 %"}, change{"current_tolerance: 0 %", "current_tolerance: 5 %"},
		change{"thermal_impedance: 40 mm²·K/W", "thermal_impedance: {value: 40 mm²·K/W, min: 20 mm²·K/W, max: 60 mm²·K/W}"}), o)
	varied := 0
	for _, f := range loose.Figures {
		if f.Lo > f.Hi {
			t.Errorf("%s: its range runs from %g to %g", f.Key, f.Lo, f.Hi)
		}
		if f.Hi > f.Lo {
			varied++
			if f.Value < f.Lo || f.Value > f.Hi {
				t.Errorf("%s: %g lies outside of its range %g to %g, and every tolerance is even", f.Key, f.Value, f.Lo, f.Hi)
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
	again := evaluateProject(t, load(t, oneDie, oneDieParts, change{"radiant_flux: 1 W", "radiant_flux: 1 W ± 10 %"}), o)
	if f, _ := again.Figure("a.voltage"); f.Lo != f.Hi {
		t.Errorf("flux alone varies, and the voltage ranges over %q", f.RangeText())
	}
}

// TestAssumptions: each value that is taken in place of a missing one is listed, with what it does.
func TestAssumptions(t *testing.T) {
	if r := evaluate(t); len(r.Assumptions) != 0 {
		t.Errorf("nothing is missing, and %q is assumed", r.Assumptions[0].What)
	}
	for _, tt := range []struct {
		key  string
		took change
	}{
		{"rth.die", change{"    thermal_resistance: 5 K/W\n    thermal_resistance_kind: real\n", ""}},
		{"rth-kind.die", change{"    thermal_resistance_kind: real\n", ""}},
		{"voltage-slope.die", change{"    forward_voltage_tempco: 0 mV/K\n", ""}},
		{"driver.a", change{"efficiency: 80 %, ", ""}},
		{"lens.lens-45-plain", change{"part: die, at", "part: die, lens: lens-45-plain, at"}},
	} {
		r := evaluate(t, tt.took)
		if len(r.Assumptions) != 1 || r.Assumptions[0].Key != tt.key {
			t.Errorf("%s: assumed are %+v", tt.key, r.Assumptions)
			continue
		}
		a := r.Assumptions[0]
		f, ok := r.Figure(a.Affects)
		if !ok || a.AtLo == a.AtHi || a.Why == "" || a.At.Line == 0 || a.Lo > a.Used || a.Hi < a.Used {
			t.Errorf("%s: %+v", tt.key, a)
		}
		if lo, hi := math.Min(a.AtLo, a.AtHi), math.Max(a.AtLo, a.AtHi); f.Value < lo-1e-6 || f.Value > hi+1e-6 {
			t.Errorf("%s: %s is %g, and %g to %g at the ends of what is assumed", tt.key, a.Affects, f.Value, lo, hi)
		}
	}
}

// TestTry: a change of a current gives the figures of a lamp that was written so.
func TestTry(t *testing.T) {
	r := evaluate(t)
	written := evaluate(t, change{"current: 1 A\n    driver", "current: 0.6 A\n    driver"})
	for _, key := range []string{"a.junction", "a.junction-hottest", "a.voltage", "lamp.heat", "target.ppfd", "wall.power"} {
		near(t, key, r.Try(Change{Current: map[string]float64{"a": 0.6}}, key), written.Value(key), 1e-6*math.Abs(written.Value(key)), "the lamp written so")
	}
}

// TestTryAlone: a figure that is reckoned alone is, to the last bit, that of the whole lamp.
func TestTryAlone(t *testing.T) {
	for _, name := range []string{"planted-tank-first", "planted-tank", "propagation-bench"} {
		r := evaluateProject(t, example(t, name), quick())
		for _, f := range []float64{0.05, 0.83, 4} {
			c, p := Change{Current: map[string]float64{r.Lamp.Channels[0].Name: f}}, r.base.clone()
			p.set[0] *= f
			for key, want := range r.sys.solve(p).values {
				if got := r.Try(c, key); got != want {
					t.Errorf("%s at %g times the current: %s is %g alone and %g with all the others", name, f, key, got, want)
				}
			}
		}
	}
}

// TestFigures: every figure prints, names its method, and its derivation leads only to figures that are there.
func TestFigures(t *testing.T) {
	for _, p := range []*project.Project{load(t, oneDie, oneDieParts), example(t, "planted-tank-first")} {
		r := evaluateProject(t, p, quick())
		for _, f := range r.Figures {
			b := f.Basis
			if f.Title == "" || b.Formula == "" || b.Numbers == "" || b.Method == "" || b.Valid == "" {
				t.Errorf("%s: something is not said: %+v", f.Key, b)
			}
			for _, text := range append([]string{f.Text(), b.Numbers, f.Title}, b.Notes...) {
				if strings.Contains(text, "NaN") || strings.Contains(text, "Inf") || strings.Contains(text, "∞") || strings.Contains(text, "%!") {
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
	r := evaluateProject(t, example(t, "planted-tank"), quick())
	for _, key := range []string{"warm.flux", "warm.ppf"} {
		f, _ := r.Figure(key)
		var all, leaves, per float64
		if _, err := fmt.Sscanf(f.Basis.Numbers, "of %g W %g W leave the lenses, with %g", &all, &leaves, &per); err != nil {
			t.Fatalf("%s: %q: %v", key, f.Basis.Numbers, err)
		}
		near(t, key, leaves*per, f.Value, 0.01*f.Value, "arithmetic")
		near(t, key+", through lenses of 90 %", leaves, 0.9*all, 0.01*all, "lens-60")
	}
}

// TestSilentSink: a sink that is known only with a fan, in a lamp without one, is refused in words.
func TestSilentSink(t *testing.T) {
	p := load(t, oneDie, oneDieParts, change{"resistance_vs_power: {0.1 W: 5 K/W, 100 W: 5 K/W}", "resistance_vs_power: {0.1 W: 5 K/W, 100 W: 5 K/W}, resistance_vs_air_speed: {0.5 m/s: 2 K/W, 5 m/s: 1 K/W}"})
	p.Library.Sinks.Get("block").Natural = source.Curve{} // as where alternatives are tried one after the other
	if _, err := Evaluate(context.Background(), p, quick()); err == nil || !strings.Contains(err.Error(), "only how it does with a fan") {
		t.Errorf("the lamp is %v, want a sink that needs a fan", err)
	}
}

// TestOrders: what is used is on the order list, each part once with its count.
func TestOrders(t *testing.T) {
	r := evaluate(t, with(larger(), lights("{part: die, lens: lens-60, at: [[-10 mm, 0 mm], [10 mm, 0 mm]]}"),
		change{"    driver: box\n", "    driver: box\n    wire: {part: lead, length: 1.2 m}\n"},
		change{"day: {full_level_time", "solder: sac305\nwire_solder: sac305\nextras: [{what: screws, price: 6 EUR}]\nday: {full_level_time"})...)
	got := map[string]string{}
	for _, o := range r.Orders {
		got[o.Part+o.What] = fmt.Sprintf("%d · %.2f = %.2f %v", o.Count, o.Each, o.Total, o.Priced)
	}
	for what, want := range map[string]string{
		"dieemitter":      "2 · 0.00 = 0.00 false",
		"coreboard":       "1 · 5.00 = 5.00 true",
		"leadwire":        "2 · 1.00 = 2.00 true", // metres, rounded up
		"screws":          "1 · 6.00 = 6.00 true",
		"boxdriver":       "1 · 0.00 = 0.00 false",
		"greaseinterface": "1 · 0.00 = 0.00 false",
	} {
		if got[what] != want {
			t.Errorf("%s: %q, want %q", what, got[what], want)
		}
	}
	n := 0
	for _, o := range r.Orders {
		if o.Part == "sac305" {
			n += o.Count
		}
	}
	if n != 1 {
		t.Errorf("%d lots of solder are ordered, want 1 for both uses", n)
	}
}
