package foldback

import (
	"context"
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func must[T any](t testing.TB) func(v T, err error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func celsius(t float64) float64 { return t + 273.15 }

// plain is a divider of 10 kΩ with B 3950 under 10 kΩ at 3.3 V, 12 bits.
func plain(t testing.TB) Divider {
	return Divider{NTC: must[NTC](t)(Beta(10e3, 3950)), FixedOhm: 10e3, Bits: 12, ReferenceV: 3.3}
}

func TestThermistor(t *testing.T) {
	b3950 := must[NTC](t)(Beta(10e3, 3950))
	b3974 := must[NTC](t)(Beta(10e3, 3974))
	fitted := must[NTC](t)(Fit([3]float64{32650, 10000, 678.3}, [3]float64{celsius(0), celsius(25), celsius(100)}))
	for _, tt := range []struct {
		name           string
		got, want, tol float64
		source         string
	}{
		{"B 3950 at 0 °C", b3950.OhmAt(celsius(0)), 33620.6, 3.4, "Beta equation"},
		{"B 3950 at 85 °C", b3950.OhmAt(celsius(85)), 1086.67, 0.11, "Beta equation"},
		{"B 3974 at −25 °C", b3974.OhmAt(celsius(-25)), 146676, 1, "public device-tree thermistor table"},
		{"B 3974 at 85 °C", b3974.OhmAt(celsius(85)), 1072, 1, "public device-tree thermistor table"},
		{"B 3950, slope at 25 °C", 100 * b3950.SlopePerK(celsius(25)), -4.4435, 0.01, "−B/T²"},
		{"fitted A", fitted.A, 1.129531e-3, 1e-8, "SteinhartHart1968, solved by a separate program"},
		{"fitted B", fitted.B, 2.340632e-4, 1e-9, "SteinhartHart1968, solved by a separate program"},
		{"fitted C", fitted.C, 8.790816e-8, 1e-12, "SteinhartHart1968, solved by a separate program"},
		{"fitted at 3603 Ω", fitted.KelvinAt(3603) - 273.15, 49.985, 1e-3, "SteinhartHart1968; the table's 50 °C"},
	} {
		if !(math.Abs(tt.got-tt.want) <= tt.tol) {
			t.Errorf("%s = %.8g, want %g ± %g (%s)", tt.name, tt.got, tt.want, tt.tol, tt.source)
		}
	}
	for _, bad := range [][3]float64{{1e-3, 0, 0}, {1e-3, -1e-4, 0}, {1e-3, 2e-4, -1}, {math.NaN(), 2e-4, 0}} {
		if _, err := SteinhartHart(bad[0], bad[1], bad[2]); err == nil {
			t.Errorf("coefficients %v passed", bad)
		}
	}
	if _, err := Beta(0, 3950); err == nil {
		t.Error("a thermistor of 0 Ω passed")
	}
	if _, err := Fit([3]float64{1, 1, 2}, [3]float64{300, 310, 320}); err == nil {
		t.Error("two equal resistances passed")
	}
	if _, err := Fit([3]float64{10e3, 5e3, 1e3}, [3]float64{300, 290, 280}); err == nil {
		t.Error("a resistance that rises with temperature passed")
	}
}

func TestThermistorRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := NTC{A: 1.129531e-3, B: 2.340632e-4, C: 8.790816e-8}
		if rapid.Bool().Draw(t, "beta") {
			var err error
			if n, err = Beta(rapid.Float64Range(100, 1e6).Draw(t, "ohm"), rapid.Float64Range(2500, 5000).Draw(t, "beta")); err != nil {
				t.Fatal(err)
			}
		}
		k := rapid.Float64Range(230, 420).Draw(t, "kelvin")
		if back := n.KelvinAt(n.OhmAt(k)); math.Abs(back-k) > 1e-9 {
			t.Fatalf("%g K → %g Ω → %g K", k, n.OhmAt(k), back)
		}
		const h = 1e-3
		slope := math.Log(n.OhmAt(k+h)/n.OhmAt(k-h)) / (2 * h)
		if math.Abs(slope-n.SlopePerK(k)) > 1e-6*math.Abs(slope) {
			t.Fatalf("slope at %g K is %g, by difference %g", k, n.SlopePerK(k), slope)
		}
	})
}

func TestDivider(t *testing.T) {
	d := plain(t)
	ten := d
	ten.FixedOhm, ten.Bits = 6.8e3, 10
	for _, tt := range []struct {
		name           string
		got, want, tol float64
		source         string
	}{
		{"ratio at 85 °C", d.Ratio(d.NTC.OhmAt(celsius(85))), 0.098016, 1e-6, "own formula"},
		{"codes per kelvin at 25 °C", d.CountsPerK(celsius(25)), 45.49, 0.02, "own formula"},
		{"codes per kelvin at 85 °C", d.CountsPerK(celsius(85)), 11.15, 0.011, "own formula"},
		{"10 bits, 6.8 kΩ at 25 °C", float64(ten.Code(celsius(25))), 609, 0, "floor(ratio·1024)"},
		{"10 bits, 6.8 kΩ at 60 °C", float64(ten.Code(celsius(60))), 274, 0, "floor(ratio·1024)"},
		{"10 bits, 6.8 kΩ at 85 °C", float64(ten.Code(celsius(85))), 141, 0, "floor(ratio·1024)"},
		{"self-heating at 25 °C", d.SelfHeatingK(celsius(25)), 0.136, 0.0005, "V²/R over 2 mW/K"},
		{"1 % of the fixed resistor at 25 °C", d.Errors(celsius(25), Tolerances{Fixed: 0.01}).FixedK, 0.2263, 0.001, "T²·0.01/B, to second order"},
		{"1 % of the thermistor at 85 °C", d.Errors(celsius(85), Tolerances{Ohm25: 0.01}).Ohm25K, 0.3264, 0.001, "T²·0.01/B, to second order"},
		{"B off by 1 % does nothing at 25 °C", d.Errors(celsius(25), Tolerances{Beta: 0.01}).BetaK, 0, 1e-9, "definition"},
		{"open", float64(d.OpenCode()), 4095, 0, "full scale"},
		{"short", float64(d.ShortCode()), 0, 0, "zero"},
	} {
		if !(math.Abs(tt.got-tt.want) <= tt.tol) {
			t.Errorf("%s = %.7g, want %g ± %g (%s)", tt.name, tt.got, tt.want, tt.tol, tt.source)
		}
	}
	// B off by 1 %: 1/T − 1/T₀ goes by 1 %, so T by T²·0.01·|1/T − 1/T₀|.
	tk := celsius(85)
	if got, want := d.Errors(tk, Tolerances{Beta: 0.01}).BetaK, tk*tk*0.01*math.Abs(1/tk-1/298.15); math.Abs(got-want) > 0.01*want {
		t.Errorf("1 %% of B at 85 °C: %g K, want %g K ± 1 %%", got, want)
	}
	b := d.Errors(tk, Tolerances{Ohm25: 0.01, Beta: 0.01, Fixed: 0.01, Counts: 4})
	if !(b.RootK < b.WorstK && b.RootK > b.BetaK) {
		t.Errorf("budget %+v: the root sum must lie between its largest part and the sum", b)
	}
	for _, e := range []Divider{
		{NTC: d.NTC, Bits: 12},
		{NTC: d.NTC, FixedOhm: 1, Bits: 2},
		{FixedOhm: 1, Bits: 12},
		{NTC: d.NTC, FixedOhm: 1, Bits: 12, ReferenceV: -1},
	} {
		if e.Validate() == nil {
			t.Errorf("divider %+v passed", e)
		}
	}
}

func TestDividerRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n, err := Beta(10e3, rapid.Float64Range(3000, 4500).Draw(t, "beta"))
		if err != nil {
			t.Fatal(err)
		}
		d := Divider{NTC: n, FixedOhm: rapid.Float64Range(1e3, 47e3).Draw(t, "fixed"), OnTop: rapid.Bool().Draw(t, "top"), Bits: rapid.IntRange(8, 16).Draw(t, "bits")}
		cold, hot := d.Range()
		k := rapid.Float64Range(cold+1, hot-1).Draw(t, "kelvin")
		code := d.Code(k)
		if d.Fault(code) {
			t.Skip()
		}
		// half a step off at most, and the slope may change within it
		if off := math.Abs(d.Kelvin(code) - k); off > 0.75/math.Min(d.CountsPerK(k), d.CountsPerK(d.Kelvin(code)))+1e-9 {
			t.Fatalf("%g K reads %g K: off by %g K", k, d.Kelvin(code), off)
		}
		if !math.IsNaN(d.Kelvin(d.OpenCode())) || !math.IsNaN(d.Kelvin(d.ShortCode())) {
			t.Fatal("an open or shorted sensor reads as a temperature")
		}
	})
}

func TestLaws(t *testing.T) {
	p := must[Curve](t)(Proportional(celsius(60), celsius(80), 0.2))
	for _, tt := range []struct {
		name      string
		got, want float64
	}{
		{"cold", p.Level(celsius(20)), 1},
		{"half way", p.Level(celsius(70)), 0.6},
		{"hot", p.Level(celsius(95)), 0.2},
		{"no reading", p.Level(math.NaN()), 0.2},
		{"slope", p.SlopePerK(), 0.04},
	} {
		if math.Abs(tt.got-tt.want) > 1e-12 {
			t.Errorf("%s: %g, want %g", tt.name, tt.got, tt.want)
		}
	}
	for _, bad := range []func() (Curve, error){
		func() (Curve, error) { return Proportional(350, 340, 0.2) },
		func() (Curve, error) { return Proportional(350, 360, 1) },
		func() (Curve, error) { return Proportional(350, math.NaN(), 0) },
		func() (Curve, error) { return ForLimit(350, 0, 20, 0.2) },
	} {
		if l, err := bad(); err == nil {
			t.Errorf("curve %+v passed", l)
		}
	}
}

func TestTableIsSafe(t *testing.T) {
	rows, err := Table(plain(t), must[Curve](t)(Proportional(celsius(60), celsius(80), 0.1)), celsius(0), celsius(100), 5)
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != 23 {
		t.Fatalf("%d rows, want 21 and two for faults", len(rows))
	}
	if rows[0].Fault != Open || rows[22].Fault != Short {
		t.Errorf("the ends mean %d and %d, want open and short", rows[0].Fault, rows[22].Fault)
	}
	for i, r := range rows {
		if i > 1 && i < 22 && (r.Level > rows[i-1].Level || r.Code >= rows[i-1].Code) {
			t.Errorf("row %d: level %g code %d after %g, %d; both must fall with temperature", i, r.Level, r.Code, rows[i-1].Level, rows[i-1].Code)
		}
		if r.Fault != Healthy && r.Level != 0.1 {
			t.Errorf("row %d: a fault gives level %g, want the minimum", i, r.Level)
		}
	}
	if _, err := json.Marshal(rows); err != nil {
		t.Errorf("table does not go into JSON: %v", err)
	}
	if _, err := Table(plain(t), Curve{}, 300, 310, 1); err == nil {
		t.Error("an empty curve passed")
	}
}

// TestFaultRows: every code is either a fault, and then in one of the two ranges at the ends, or means a temperature between
// those that the ranges tell.
func TestFaultRows(t *testing.T) {
	law := must[Curve](t)(Proportional(celsius(60), celsius(80), 0.1))
	for _, onTop := range []bool{false, true} {
		for _, bits := range []int{4, 6, 10, 12} {
			d := plain(t)
			d.OnTop, d.Bits = onTop, bits
			rows, err := Table(d, law, celsius(-60), celsius(250), 10)
			if err != nil {
				t.Fatal(err)
			}
			first, last := rows[0], rows[len(rows)-1]
			if first.Fault != Open || last.Fault != Short || first.SensorK >= last.SensorK {
				t.Errorf("%d bits: first row %+v, last row %+v", bits, first, last)
			}
			for code := range 1 << bits {
				open, short := first.Code <= code && code <= first.CodeTo, last.Code <= code && code <= last.CodeTo
				if (open || short) != d.Fault(code) || open && short {
					t.Fatalf("%d bits: code %d is a fault: %v; open %v, short %v", bits, code, d.Fault(code), open, short)
				}
				if k := d.Kelvin(code); bits > 5 && !d.Fault(code) && (k < first.SensorK || k > last.SensorK) {
					t.Errorf("%d bits: code %d means %g K, beyond %g K to %g K", bits, code, k, first.SensorK, last.SensorK)
				}
			}
			if d.OpenCode() < first.Code || d.OpenCode() > first.CodeTo || d.ShortCode() < last.Code || d.ShortCode() > last.CodeTo {
				t.Errorf("%d bits: the codes of a broken sensor lie outside of their rows", bits)
			}
			for _, r := range rows[1 : len(rows)-1] {
				if r.Fault != Healthy || r.SensorK <= first.SensorK || r.SensorK >= last.SensorK {
					t.Errorf("%d bits: %+v is among the temperatures", bits, r)
				}
			}
		}
	}
}

func TestChain(t *testing.T) {
	one := Chain{{CapacityJK: 323, ToNextWK: 1.6}}
	step := must[Response](t)(one.HeatStep(0))
	if got := 37 * step(60); math.Abs(got-5.94578) > 1e-5 {
		t.Errorf("lumped step after 60 s: %g K, want 5.94578 (exact exponential)", got)
	}
	if tau := must[float64](t)(one.SlowestS()); math.Abs(tau-201.875) > 1e-9 {
		t.Errorf("time constant %g s, want 201.875", tau)
	}
	three := Chain{{30, 4}, {200, 3}, {100, 1.2}}
	for node := range three {
		r := must[Response](t)(three.HeatStep(node))
		if got, want := r(1e6), steadyKW(three, node); math.Abs(got-want) > 1e-9 {
			t.Errorf("node %d settles at %g K/W, want %g (series resistance)", node, got, want)
		}
		air := must[Response](t)(three.AirStep(node))
		if math.Abs(air(1e6)-1) > 1e-9 || math.Abs(air(1e-9)) > 1e-9 {
			t.Errorf("node %d follows the air to %g from %g, want 1 from 0", node, air(1e6), air(1e-9))
		}
	}
	for _, bad := range []Chain{{}, {{0, 1}}, {{1, -1}}, {{1, math.NaN()}}} {
		if _, err := bad.HeatStep(0); err == nil {
			t.Errorf("chain %v passed", bad)
		}
	}
	if _, err := three.HeatStep(3); err == nil {
		t.Error("a node that is not there passed")
	}
}

// TestChainConverges compares the chain with the exact plane wall: the error falls with the square of the cell.
func TestChainConverges(t *testing.T) {
	const exact = 0.772526 // midplane at Bi = 1, Fo = 0.5: full series of IncroperaDeWitt2007, eq. 5.42, 6 digits
	wall := func(n int) float64 {
		dx := 1 / float64(n)
		c := make(Chain, n)
		for i := range c {
			c[i] = Node{CapacityJK: dx, ToNextWK: 1 / dx}
		}
		c[n-1].ToNextWK = 1 / (dx/2 + 1)
		r := must[Response](t)(c.AirStep(0))
		return 1 - r(0.5)
	}
	coarse, fine := math.Abs(wall(5)-exact), math.Abs(wall(10)-exact)
	if order := math.Log2(coarse / fine); order < 1.8 || order > 2.2 {
		t.Errorf("order of convergence %.2f (errors %g, %g), want 2", order, coarse, fine)
	}
	if got := wall(80); math.Abs(got-exact) > 1e-5 {
		t.Errorf("midplane %g, want %g ± 1e-5", got, exact)
	}
}

// single is a lamp of one lag with a sensor of its own lag, whose curve has the given loop gain.
func single(t *testing.T, gain, sensorS, delayS float64) Loop {
	c := Chain{{CapacityJK: 200, ToNextWK: 1}}
	place := must[Response](t)(c.HeatStep(0))
	const heatW = 40.0
	// Without foldback 25 + 40 K/W·W; the foldback curve begins at 45 °C.
	slope := gain / heatW
	d := plain(t)
	d.Bits = 24
	return Loop{
		Sensor: place, Junction: place.With(0.3), SensorTauS: sensorS, AirK: celsius(25), FullHeatW: heatW,
		Divider: d, Curve: must[Curve](t)(Proportional(celsius(45), celsius(45)+1/slope, 0)), DelayS: delayS, SampleS: 0.5,
	}
}

func TestProportionalLoopSettlesWhereTheFormulaSays(t *testing.T) {
	l := single(t, 4, 10, 0)
	out := must[Simulation](t)(l.Simulate(context.Background(), Options{DurationS: 4000}))
	// Excess over the start is that without foldback over 1 + L.
	want := celsius(45) + 20.0/5
	if out.Verdict != Settled || math.Abs(out.SensorK-want) > 0.01 {
		t.Errorf("%s at %.3f K, want settled at %.3f K ((T_u − T₀)/(1 + L), AstromMurray2008)", out.Verdict, out.SensorK, want)
	}
	if level := l.SteadyLevel(1); math.Abs(level-out.Level) > 1e-3 {
		t.Errorf("level %g, steady solution %g", out.Level, level)
	}
	if math.Abs(out.OffsetK-0.3*40*out.Level) > 0.01 {
		t.Errorf("junction %g K above the sensor, want %g", out.OffsetK, 0.3*40*out.Level)
	}
	if _, err := json.Marshal(out); err != nil {
		t.Error(err)
	}
}

// TestStabilityLimits brackets the simulated loop by the analytic limits.
func TestStabilityLimits(t *testing.T) {
	dead := DeadTimeGainLimit(200, 10)
	for _, tt := range []struct {
		name string
		gain float64
		want Verdict
	}{
		{"0.75 of the limit", 0.75 * dead, Settled},
		{"1.25 of the limit", 1.25 * dead, Hunting},
	} {
		l := single(t, tt.gain, 0, 9.5)
		// sampling at 0.5 s adds half a sample of dead time to the hold and none to the sensor
		out := must[Simulation](t)(l.Simulate(context.Background(), Options{DurationS: 6000}))
		if out.Verdict != tt.want {
			t.Errorf("lag and dead time at %s: %s, swing %g..%g, want %s (Nyquist)", tt.name, out.Verdict, out.LowLevel, out.HighLevel, tt.want)
		}
		if tt.want == Hunting && (out.PeriodS < 30 || out.PeriodS > 60) {
			t.Errorf("hunts with a period of %g s, want near 2π/0.160 = 39 s, longer when it clips", out.PeriodS)
		}
	}
	// Three lags: 200 s, 10 s of the sensor and 2 s of a board before the sink.
	limit := ThreeLagGainLimit(200, 10, 2)
	for _, tt := range []struct {
		gain float64
		want Verdict
	}{{0.6 * limit, Settled}, {1.6 * limit, Hunting}} {
		l := single(t, tt.gain, 10, 0)
		// A second lag of 2 s in series that takes no heat: convolve the step of the sink with it.
		l.Sensor = func(s float64) float64 {
			if s <= 0 {
				return 0
			}
			return 1 - (200*math.Exp(-s/200)-2*math.Exp(-s/2))/198
		}
		l.SampleS = 0.1
		out := must[Simulation](t)(l.Simulate(context.Background(), Options{DurationS: 1500}))
		if out.Verdict != tt.want {
			t.Errorf("three lags at a gain of %.0f: %s, swing %g..%g, want %s (Routh: limit %.1f)", tt.gain, out.Verdict, out.LowLevel, out.HighLevel, tt.want, limit)
		}
	}
}

func TestSensorFaultsGiveLeastLight(t *testing.T) {
	for _, onTop := range []bool{false, true} {
		for _, f := range []Fault{Open, Short} {
			l := single(t, 2, 10, 2)
			l.Divider.OnTop, l.Divider.Bits = onTop, 10
			l.Curve.MinLevel, l.Curve.RampPerS = 0.15, 0.05
			out := must[Simulation](t)(l.Simulate(context.Background(), Options{DurationS: 1500, Fault: f, FaultAtS: 300}))
			last := out.Samples[len(out.Samples)-1]
			if out.Verdict != FailSafe || last.Level != 0.15 {
				t.Errorf("thermistor on top %v, fault %d: %s at level %g, want minimum light", onTop, f, out.Verdict, last.Level)
			}
		}
	}
}

// TestDeadFanOnTheHottestDay is the case that foldback is for: with the fan the lamp runs at full light, without it the
// curve contains the junction, and without a curve it would be lost.
func TestDeadFanOnTheHottestDay(t *testing.T) {
	const heatW, junctionKW = 40.0, 0.5
	limitK := celsius(105)
	law := must[Curve](t)(ForLimit(limitK-5, junctionKW, heatW, 0.1))
	run := func(toAirWK float64) (Simulation, Chain) {
		c := Chain{{30, 8}, {350, toAirWK}}
		board := must[Response](t)(c.HeatStep(0))
		l := Loop{Sensor: board, Junction: board.With(junctionKW), SensorTauS: 8, AirK: celsius(32), FullHeatW: heatW, Divider: plain(t), Curve: law}
		return must[Simulation](t)(l.Simulate(context.Background(), Options{})), c
	}
	if on, _ := run(1.8); on.Verdict != Full || on.PeakJunctionK > limitK {
		t.Errorf("fan on: %s, junction %.1f K; want full light below the limit", on.Verdict, on.PeakJunctionK)
	}
	off, c := run(0.5)
	if off.Verdict != Settled || off.PeakJunctionK > limitK {
		t.Errorf("fan dead: %s at level %.2f, junction %.1f K; want settled below the limit of %.1f K", off.Verdict, off.Level, off.PeakJunctionK, limitK)
	}
	if without := celsius(32) + heatW*(steadyKW(c, 0)+junctionKW); without < limitK+20 {
		t.Errorf("without foldback the junction reaches only %.1f K: the case shows nothing", without)
	}
}

// TestLimitLaw contains the junction at its limit in any room, with any sink.
func TestLimitLaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sensorKW := rapid.Float64Range(0.5, 6).Draw(t, "sensor")
		offsetKW := rapid.Float64Range(0.1, 2).Draw(t, "offset")
		heatW := rapid.Float64Range(5, 60).Draw(t, "heat")
		limitK := celsius(105)
		law, err := ForLimit(limitK, offsetKW, heatW, 0.05)
		if err != nil {
			t.Fatal(err)
		}
		l := Loop{AirK: celsius(rapid.Float64Range(15, 40).Draw(t, "air")), FullHeatW: heatW, Curve: law}
		level := l.SteadyLevel(sensorKW)
		junctionK := l.AirK + heatW*level*(sensorKW+offsetKW)
		if level > 0.0501 && junctionK > limitK+1e-6 {
			t.Fatalf("junction at %g K with level %g, limit %g K", junctionK, level, limitK)
		}
		if level < 0.9999 && level > 0.0501 && junctionK < limitK-1e-6 {
			t.Fatalf("dimmed to %g although the junction is at %g K only", level, junctionK)
		}
		if gain := LoopGain(law.SlopePerK(), heatW, sensorKW); math.Abs(gain-sensorKW/offsetKW) > 1e-9*gain {
			t.Fatalf("loop gain %g, want %g", gain, sensorKW/offsetKW)
		}
	})
}

func TestBadLoops(t *testing.T) {
	for _, tt := range []struct {
		name   string
		change func(*Loop, *Options)
	}{
		{"no sensor", func(l *Loop, _ *Options) { l.Sensor = nil }},
		{"air below absolute zero", func(l *Loop, _ *Options) { l.AirK = -1 }},
		{"negative heat", func(l *Loop, _ *Options) { l.FullHeatW = -1 }},
		{"negative delay", func(l *Loop, _ *Options) { l.DelayS = -1 }},
		{"no divider", func(l *Loop, _ *Options) { l.Divider = Divider{} }},
		{"no curve", func(l *Loop, _ *Options) { l.Curve = Curve{} }},
		{"too many samples", func(l *Loop, o *Options) { l.SampleS = 1e-3 }},
		{"too short", func(l *Loop, o *Options) { o.DurationS = 1 }},
		{"no number", func(l *Loop, _ *Options) { l.Sensor = func(float64) float64 { return math.NaN() } }},
	} {
		l, o := single(t, 2, 10, 0), Options{DurationS: 300}
		tt.change(&l, &o)
		if _, err := l.Simulate(context.Background(), o); err == nil {
			t.Errorf("a loop with %s passed", tt.name)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := single(t, 2, 10, 0).Simulate(ctx, Options{DurationS: 300}); !errors.Is(err, context.Canceled) {
		t.Errorf("a cancelled simulation gives %v", err)
	}
}

func TestNotes(t *testing.T) {
	l := single(t, 2, 10, 0)
	l.Divider.Bits = 6
	l.Divider.FixedOhm = 330e3 // reads only the cold end
	l.SampleS = 1
	out := must[Simulation](t)(l.Simulate(context.Background(), Options{DurationS: 600}))
	all := strings.Join(out.Notes, "\n")
	for _, part := range []string{"one step of the converter", "shorted sensor"} {
		if !strings.Contains(all, part) {
			t.Errorf("notes %q do not hold %q", out.Notes, part)
		}
	}
	l.Divider.FixedOhm = 100 // reads only the hot end
	out = must[Simulation](t)(l.Simulate(context.Background(), Options{DurationS: 600}))
	if !strings.Contains(strings.Join(out.Notes, "\n"), "would not start") {
		t.Errorf("notes %q do not say that a cold lamp is taken for an open sensor", out.Notes)
	}
}

func BenchmarkSimulate(b *testing.B) {
	c := Chain{{30, 8}, {200, 4}, {150, 0.8}}
	sensor := must[Response](b)(c.HeatStep(0))
	law := must[Curve](b)(Proportional(celsius(55), celsius(75), 0.1))
	l := Loop{Sensor: sensor, Junction: sensor.With(0.5), SensorTauS: 8, AirK: celsius(32), FullHeatW: 40, Divider: plain(b), Curve: law}
	for b.Loop() {
		if _, err := l.Simulate(context.Background(), Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

// steadyKW is the steady rise of a node over the air per watt into the first node: its resistances in series.
func steadyKW(c Chain, node int) float64 {
	sum := 0.0
	for _, n := range c[node:] {
		sum += 1 / n.ToNextWK
	}
	return sum
}
