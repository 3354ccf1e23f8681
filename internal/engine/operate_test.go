package engine_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"pgregory.net/rapid"

	"lampwright/internal/engine"
	"lampwright/internal/intensity"
	"lampwright/internal/lamp"
	"lampwright/internal/lamptest"
	"lampwright/internal/sink"
)

// TestClosedForm holds the loop against a sum of resistances on paper. Heat H goes from the junction through R_th to
// the top of the board; from there a share leaves by the face's film h, the rest goes down:
//
//	T_top − T_air = H / (h A + 1/(R_board + R_paste + R_sink))    R_board = Σ t/(k A)
//	A = 4·10⁻⁴ m²    R_cu = 35 µm/(385 · A) = 0.000227    R_d = 100 µm/(2 · A) = 0.125    R_core = 2 mm/(138 · A) = 0.0362
//	R_paste = 40 mm²K/W / 400 mm² = 0.1    R_sink = 5    R_th = 5 K/W
func TestClosedForm(t *testing.T) {
	const (
		area    = 4e-4
		down    = 35e-6/(385*area) + 100e-6/(2*area) + 2e-3/(138*area) + 0.1 + 5
		heat    = 2.0
		roomK   = 293.15
		dieRise = 5 * heat
	)
	r := lamptest.Evaluate(t)
	// The film at the rise of the face itself, by repeated substitution.
	face, _ := engine.BoardFaces(r.Lamp)
	topAt := func(airK float64) (rise float64) {
		rise = 10
		for range 50 {
			rise = heat / (face.Coefficient(airK+rise, airK, sink.StandardPressurePa)*area + 1/down)
		}
		return rise
	}
	top := topAt(roomK)
	base := top * 5 / down
	// The field is exact for heat that runs straight; 0.1 % of the rise is for its iterative solution, and 0.02 K for
	// what the sink's sampled curve does to a constant.
	tol := 1e-3*top + 0.02
	lamptest.Near(t, "solder point", r.Value("a.solder"), roomK+top, tol, "series of resistances")
	lamptest.Near(t, "junction", r.Value("a.junction"), roomK+top+dieRise, tol, "series of resistances")
	lamptest.Near(t, "sink", r.Value("sink.temperature"), roomK+base, tol, "series of resistances")
	lamptest.Near(t, "heat", r.Value("lamp.heat"), heat, 1e-9, "3 V · 1 A − 1 W")
	lamptest.Near(t, "junction, hottest day", r.Value("a.junction-max-ambient"), roomK+10+topAt(roomK+10)+dieRise, tol,
		"10 K warmer air")
	// An electrical resistance counts against electrical power at the test point (JESD51-51): 5 K/W · 3 W = 15 K.
	electrical := lamptest.Change{"resistance_kind: real", "resistance_kind: electrical"}
	el := lamptest.Evaluate(t, electrical)
	lamptest.Near(t, "junction by an electrical resistance", el.Value("a.junction")-el.Value("a.solder"), 15, 1e-6,
		"JESD51-51")
	// At 2 A it is that of the test point, 7.5 K/W real, on 3.2 V · 2 A − 2 W = 4.4 W: 33 K, not 5 K/W · 6.4 W = 32 K.
	twice := lamptest.Evaluate(t, electrical, lamptest.Change{"    current: 1 A\n", "    current: 2 A\n"})
	lamptest.Near(t, "the same at twice the test current", twice.Value("a.junction")-twice.Value("a.solder"), 33, 1e-6,
		"JESD51-51")
}

// TestMovedRoom: a room that is moved within its 5 K needs no new field of the board; over the steps the film follows
// it, by 4 σ ε T³ of its radiation in the main.
func TestMovedRoom(t *testing.T) {
	film := func(room string) float64 {
		top, _ := engine.FaceFilms(lamptest.Evaluate(t, lamptest.Change{"typical: 20 °C", "typical: " + room}).Lamp)
		return top
	}
	at20 := film("20 °C")
	if a, b := film("17.6 °C"), film("22.4 °C"); a != at20 || b != at20 {
		t.Errorf("films of %g and %g beside %g W/(m²·K)", a, b, at20)
	}
	if step := film("25 °C")/at20 - 1; step < 0.005 || step > 0.05 {
		t.Errorf("a room 5 K warmer has a film %.2f %% greater, want 0.5 %% to 5 %%", 100*step)
	}
}

// TestPasteSpreadsOverTheContact: the interface's tolerance counts on the area in which sink and board touch, which is
// the board's where the sink is larger. 400 mm² of 40 mm²·K/W ± 20 mm²·K/W are 0.1 K/W ± 0.05 K/W, whatever the sink.
func TestPasteSpreadsOverTheContact(t *testing.T) {
	for _, tt := range []struct {
		Name  string
		Lamp  []lamptest.Change
		AreaM float64
	}{
		{"as large as the board", nil, 4e-4},
		{"larger sink", []lamptest.Change{{
			"base: {length: 20 mm, width: 20 mm}",
			"base: {length: 80 mm, width: 60 mm}",
		}}, 4e-4},
		{"smaller contact", []lamptest.Change{{
			"sink: {part: block}",
			"sink: {part: block, contact: {length: 10 mm, width: 5 mm}}",
		}}, 5e-5},
		{"contact over the edge", []lamptest.Change{{
			"sink: {part: block}",
			"sink: {part: block, contact: {length: 10 mm, width: 5 mm, at: [10 mm, 0 mm]}}",
		}}, 2.5e-5},
		{"disc", []lamptest.Change{
			{"shape: rectangle, length: 20 mm, width: 20 mm", "shape: disc, diameter: 40 mm"},
			{"base: {length: 20 mm, width: 20 mm}", "base: {length: 80 mm, width: 60 mm}"},
		}, math.Pi * 4e-4},
	} {
		r := lamptest.Evaluate(t, tt.Lamp...)
		lamptest.Near(t, tt.Name, r.Lamp.ContactAreaM2(), tt.AreaM, 1e-12, "geometry")
	}
	p := lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts,
		lamptest.Change{"base: {length: 20 mm, width: 20 mm}", "base: {length: 80 mm, width: 60 mm}"},
		lamptest.Change{
			"thermal_impedance: 40 mm²·K/W",
			"thermal_impedance: {value: 40 mm²·K/W, min: 20 mm²·K/W, max: 60 mm²·K/W}",
		})
	r := lamptest.EvaluateProject(t, p, lamptest.Quick())
	lo, hi := math.Inf(1), math.Inf(-1)
	rng := rand.New(rand.NewPCG(1, 1))
	for range 500 {
		kw := r.Sys.Draw(rng)[r.Lamp.Param.TIM] / r.Lamp.ContactAreaM2()
		lo, hi = math.Min(lo, kw), math.Max(hi, kw)
	}
	lamptest.Near(t, "least", lo, -0.05, 0.001, "20 mm²·K/W over 400 mm²")
	lamptest.Near(t, "most", hi, 0.05, 0.001, "20 mm²·K/W over 400 mm²")
}

// TestViasThroughFR4: heat goes down the vias under the pad, and beside them through plain FR4 from the copper that
// spreads it, as an annular fin of foil over what it leaks through does. Within 10 %: the pad is no disc and the board
// has an end.
func TestViasThroughFR4(t *testing.T) {
	r := lamptest.Evaluate(t, lamptest.With(lamptest.Larger(), lamptest.Change{
		"base: aluminium, copper: 35 µm, dielectric_thickness: 100 µm, dielectric_conductivity: 2 W/(m·K), " +
			"base_conductivity: 138 W/(m·K), thermal_path: dielectric",
		"base: FR4, copper: 70 µm, base_conductivity: 0.81 W/(m·K), base_conductivity_through_plane: 0.29 W/(m·K), " +
			"via_conductivity: 13 W/(m·K), thermal_path: vias",
	})...)
	// The foil: K₁(0.124)/K₀(0.124) = 7.88/2.21 by table gives 2π · 385 · 70 µm · 0.124 · 7.88/2.21 = 0.0750 W/K, in
	// series with its own 1/(8π · 385 · 70 µm) = 1.48 K/W from within the pad, so 0.0675 W/K; vias 13 · 9 mm² / 2 mm =
	// 0.0585 W/K.
	const want = 1 / (0.0675 + 0.0585)
	// The sink's own spreading beneath the pad is not the board's.
	got := (r.Value("a.solder")-r.Value("sink.temperature"))/r.Value("lamp.heat") - r.Sys.Board.Spread[0][0]*r.Sys.Board.ToSink[0]
	lamptest.Near(t, "pad to sink per watt", got, want, 0.1*want, "IncroperaDeWitt2007, table 3.4")
}

// TestFixedPoint: where the loop stops, one more round moves nothing by more than a millikelvin, whatever it started
// from; and it takes few rounds.
func TestFixedPoint(t *testing.T) {
	l, err := lamp.New(lamptest.Example(t, "long-tank-first"), intensity.FromLens)
	if err != nil {
		t.Fatal(err)
	}
	sys, err := engine.NewSystem(context.Background(), l, lamptest.Quick())
	if err != nil {
		t.Fatal(err)
	}
	p := l.Nominal()
	for _, c := range sys.Cases {
		if c.NoData {
			continue
		}
		s := engine.Operate(l, p, sys.Board, c.Cool, c.AirK)
		if s.Runaway {
			continue
		}
		if s.Iterations > 40 {
			t.Errorf("%s: the loop took %d rounds", c.Key.Title(), s.Iterations)
		}
		if moved := engine.Iterate(l, p, sys.Board, c.Cool, c.AirK, &s); moved > 1e-3 {
			t.Errorf("%s: a further round moves a junction by %g K", c.Key.Title(), moved)
		}
		// From far off it comes to the same place: a gain below 1 has one fixed point.
		before := append([]float64(nil), s.JunctionK...)
		for i := range s.JunctionK {
			s.JunctionK[i] = c.AirK + 100
		}
		for range 60 {
			engine.Iterate(l, p, sys.Board, c.Cool, c.AirK, &s)
		}
		for i, k := range s.JunctionK {
			if math.Abs(k-before[i]) > 2e-3/(1-math.Max(0, s.Gain)) {
				t.Errorf("%s: emitter %d settles at %.4f K from one side and at %.4f K from another", c.Key.Title(), i,
					before[i], k)
			}
		}
	}
}

// TestLoopInClosedForm: light that falls by 0.2 % of its value at 25 °C for each kelvin. The junction solves
//
//	T = T_air + k H(T)    H(T) = 3 W − 1 W · (1 − 0.002 (T − 25 °C))
//
// where k is what a lamp of the same, constant heat shows: its faces have the same films. The loop gain is 0.002 W/K · k.
func TestLoopInClosedForm(t *testing.T) {
	for _, kw := range []float64{2, 20, 80} {
		r := lamptest.Evaluate(t, lamptest.FmtSink(kw),
			lamptest.Change{"{-50 °C: 100 %, 400 °C: 100 %}", "{25 °C: 100 %, 425 °C: 20 %}"})
		junction, heat := r.Value("a.junction"), r.Value("lamp.heat")
		lamptest.Near(t, "heat", heat, 2+0.002*(junction-298.15), 1e-5, "H(T)")
		same := lamptest.Evaluate(t, lamptest.FmtSink(kw),
			lamptest.Change{"radiant_flux: 1 W", fmt.Sprintf("radiant_flux: %.9g W", 3-heat)})
		k := (same.Value("a.junction") - 293.15) / heat
		lamptest.Near(t, fmt.Sprintf("rise of the junction on %g K/W", kw), junction-293.15, k*heat,
			2e-3/(1-0.002*k), "the same heat")
		lamptest.Near(t, fmt.Sprintf("loop gain on %g K/W", kw), r.Cases[0].LoopGain, 0.002*k, 1e-3*0.002*k,
			"0.002 W/K · k")
	}
}

// TestRunawayIsBounded: light that falls very steeply on a poor sink has no steady state. It is said, and nothing waits
// for it.
func TestRunawayIsBounded(t *testing.T) {
	steep := lamptest.Change{"{-50 °C: 100 %, 400 °C: 100 %}", "{25 °C: 100 %, 250 °C: 0 %}"}
	bright := lamptest.Change{"radiant_flux: 1 W", "radiant_flux: 2.9 W"}
	began := time.Now()
	r := lamptest.Evaluate(t, steep, bright, lamptest.FmtSink(200))
	if took := time.Since(began); took > 10*time.Second {
		t.Errorf("a lamp that runs away took %s", took)
	}
	for _, c := range r.Cases {
		if !c.Runaway || c.LoopGain < 1 {
			t.Errorf("%s: runaway %v, gain %.3f; want true and more than 1", c.Key.Title(), c.Runaway, c.LoopGain)
		}
		if c.Iterations > 200 {
			t.Errorf("%s: %d rounds", c.Key.Title(), c.Iterations)
		}
	}
	for _, f := range r.Figures {
		if math.IsNaN(f.Value) || math.IsInf(f.Value, 0) {
			t.Errorf("figure %s is %g", f.Key, f.Value)
		}
	}
	// The gain is 2.9 W / 225 K times the kelvin per watt of the flat lamp.
	flat := lamptest.Evaluate(t, lamptest.FmtSink(200))
	k := (flat.Value("a.junction") - 293.15) / 2
	lamptest.Near(t, "loop gain", r.Cases[0].LoopGain, 2.9/225*k, 0.01*2.9/225*k,
		"slope of the heat times kelvin per watt")
	// On a good sink the same die settles.
	if r := lamptest.Evaluate(t, steep, bright, lamptest.FmtSink(2)); r.Cases[0].Runaway {
		t.Errorf("on 2 K/W the die runs away, gain %.3f", r.Cases[0].LoopGain)
	}
}

// TestRoom: without anything that depends on temperature a room 10 K warmer warms all by 10 K; light that falls with
// temperature adds to it.
func TestRoom(t *testing.T) {
	flat := lamptest.Evaluate(t)
	// Radiation and films grow with the room: the faces lose about 10 % of the heat, 2 % easier.
	lamptest.Near(t, "rise of the junction with the room, flat",
		flat.Value("a.junction-max-ambient")-flat.Value("a.junction"), 9.98, 0.02, "linear but for the films")
	falling := lamptest.Evaluate(t, lamptest.Change{"{-50 °C: 100 %, 400 °C: 100 %}", "{25 °C: 100 %, 425 °C: 20 %}"})
	if rise := falling.Value("a.junction-max-ambient") - falling.Value("a.junction"); rise <= 10 {
		t.Errorf("with light that falls, 10 K more in the room make %.3f K more in the junction; want more than 10 K",
			rise)
	}
	canopy := lamptest.Evaluate(t, lamptest.Change{"sink: {part: block}", "sink: {part: block, hood_air_rise: 7 K}"})
	lamptest.Near(t, "rise of the junction with the canopy", canopy.Value("a.junction")-flat.Value("a.junction"), 7,
		0.01, "linear system")
}

// TestDeadFan: with its fan dead no part of a lamp is cooler.
func TestDeadFan(t *testing.T) {
	r := lamptest.EvaluateProject(t, lamptest.Example(t, "long-tank-first"), lamptest.Quick())
	on, dead := r.Cases[1], r.Cases[3]
	if on.Key != "max-ambient" || dead.Key != "max-ambient-fan-failure" {
		t.Fatalf("cases are %s and %s", on.Key, dead.Key)
	}
	for i := range on.JunctionK {
		if dead.JunctionK[i] <= on.JunctionK[i] {
			t.Errorf("%s is at %.1f K with the fan dead, and at %.1f K with it on", r.Emitters[i].Label,
				dead.JunctionK[i], on.JunctionK[i])
		}
	}
}

// TestDimming: at a level of 50 % switching halves the time of the whole current, so that light and power halve; half
// of the current gives the light of the flux curve at half the current and a lower voltage.
func TestDimming(t *testing.T) {
	droop := lamptest.Change{"{0.1 A: 10 %, 2.1 A: 210 %}", "{0.1 A: 14 %, 0.5 A: 60 %, 1 A: 100 %, 2.1 A: 160 %}"}
	level := func(kind string) []lamptest.Change {
		return []lamptest.Change{
			droop,
			{"    driver: box\n", "    driver: box\n    level: 50 %\n"},
			{"dimming: none", "dimming: " + kind + ", dimming_frequency: 4 kHz"},
		}
	}
	full := lamptest.Evaluate(t, droop)
	pwm := lamptest.Evaluate(t, level("pwm")...)
	amps := lamptest.Evaluate(t, level("analogue")...)
	for _, tt := range []struct {
		what      string
		got, want float64
		source    string
	}{
		{"PWM: current while on", pwm.Value("a.current"), 1, "all of it"},
		{"PWM: power", pwm.Value("a.power"), 1.5, "half of 3 W"},
		{"PWM: light", pwm.Value("a.radiant"), 0.5, "half of 1 W"},
		{"PWM: voltage", pwm.Value("a.voltage"), 3.0, "that of the whole current"},
		{"PWM: flux", pwm.Value("lamp.flux"), full.Value("lamp.flux") / 2, "half"},
		{"by current: current", amps.Value("a.current"), 0.5, "half of 1 A"},
		// 3.0 V − 0.2 V/A · 0.5 A = 2.9 V; 2.9 V · 0.5 A.
		{"by current: voltage", amps.Value("a.voltage"), 2.9, "curve at 0.5 A"},
		{"by current: power", amps.Value("a.power"), 1.45, "2.9 V · 0.5 A"},
		{"by current: light", amps.Value("a.radiant"), 0.6, "curve at 0.5 A"},
	} {
		lamptest.Near(t, tt.what, tt.got, tt.want, 1e-9, tt.source)
	}
	// The junction sees each pulse, 5 K/W · 2 W; the board sees the mean, 1 W in place of 2 W.
	lamptest.Near(t, "PWM: junction over solder point", pwm.Value("a.junction")-pwm.Value("a.solder"), 10, 1e-6,
		"5 K/W · 2 W while on")
	lamptest.Near(t, "PWM: rise of the solder point", pwm.Value("a.solder")-293.15, (full.Value("a.solder")-293.15)/2,
		0.01, "half of the mean heat")
}

// TestParallel: two strings side by side carry half of the driver's current each.
func TestParallel(t *testing.T) {
	two := lamptest.Lights("{part: die, at: [[-10 mm, 0 mm], [10 mm, 0 mm]]}")
	row := lamptest.Evaluate(t, lamptest.With(lamptest.Larger(), two)...)
	side := lamptest.Evaluate(t, lamptest.With(lamptest.Larger(), two,
		lamptest.Change{"    driver: box\n", "    driver: box\n    parallel_strings: 2\n"})...)
	for _, tt := range []struct {
		what      string
		got, want float64
		source    string
	}{
		{"in a row: current", row.Value("a.current"), 1, ""},
		{"in a row: voltage", row.Value("a.voltage"), 6, "2 · 3.0 V"},
		{"in a row: power", row.Value("a.power"), 6, "6 V · 1 A"},
		{"side by side: current", side.Value("a.current"), 0.5, "1 A / 2"},
		{"side by side: voltage", side.Value("a.voltage"), 2.9, "curve at 0.5 A"},
		{"side by side: power", side.Value("a.power"), 2.9, "2.9 V · 1 A"},
		{"side by side: light", side.Value("a.radiant"), 1, "2 · 50 % · 1 W"},
	} {
		lamptest.Near(t, tt.what, tt.got, tt.want, 1e-9, tt.source)
	}
}

// TestAnyLamp: whatever the lamp of one die is made of, it settles or says that it runs away, and its heat is what its
// figures say.
func TestAnyLamp(t *testing.T) {
	if testing.Short() {
		t.Skip("solves several lamps")
	}
	rapid.Check(t, func(rt *rapid.T) {
		amps := rapid.Float64Range(0.05, 2).Draw(rt, "amps")
		flux := rapid.Float64Range(0.01, 2.5).Draw(rt, "flux")
		kw := rapid.Float64Range(0.1, 300).Draw(rt, "sink")
		far := rapid.Float64Range(30, 400).Draw(rt, "dark at")
		slope := rapid.Float64Range(-5, 0).Draw(rt, "slope")
		r := lamptest.Evaluate(t,
			lamptest.Change{"current: 1 A\n    driver", fmt.Sprintf("current: %.4f A\n    driver", amps)},
			lamptest.Change{"radiant_flux: 1 W", fmt.Sprintf("radiant_flux: %.4f W", flux)},
			lamptest.Change{"{-50 °C: 100 %, 400 °C: 100 %}", fmt.Sprintf("{25 °C: 100 %%, %.1f °C: 0 %%}", far)},
			lamptest.Change{"tempco: 0 mV/K", fmt.Sprintf("tempco: %.3f mV/K", slope)},
			lamptest.FmtSink(kw))
		for _, f := range r.Figures {
			if math.IsNaN(f.Value) || math.IsInf(f.Value, 0) {
				rt.Fatalf("figure %s is %g", f.Key, f.Value)
			}
		}
		for _, c := range r.Cases {
			if c.Iterations > 200 {
				rt.Fatalf("%s: %d rounds", c.Key.Title(), c.Iterations)
			}
			if !c.Runaway && c.LoopGain >= 1 {
				rt.Fatalf("%s: a gain of %.3f and no runaway", c.Key.Title(), c.LoopGain)
			}
		}
		if got, want := r.Value("lamp.heat"), r.Value("lamp.power")-r.Value("lamp.radiant"); math.Abs(got-want) > 1e-6 {
			rt.Fatalf("heat %g W, electrical less radiant power %g W", got, want)
		}
	})
}
