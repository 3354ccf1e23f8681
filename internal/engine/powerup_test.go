package engine_test

import (
	"math"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/lamptest"
)

// nineDies is the lamp of one die with a package of nine dies in series, ± 0.2 V and −2 mV/K each, at an ambient of
// 25 °C, −20 °C when cold.
func nineDies(voltage, current string, more ...lamptest.Change) []lamptest.Change {
	return append([]lamptest.Change{
		{"forward_voltage: {0.1 A: 2.82 V, 2.1 A: 3.22 V}", "forward_voltage: {" + voltage + "}\n    dies: 9\n" +
			"    die_configurations: [{name: nine, series: 9, parallel: 1}]\n    forward_voltage_spread: 0.2 V"},
		{"forward_voltage_tempco: 0 mV/K", "forward_voltage_tempco: -2 mV/K"},
		{"    current: 1 A\n", "    current: " + current + "\n"},
		{"output_max: 20 V, open_circuit_voltage: 24 V", "output_max: 40 V, open_circuit_voltage: 44 V"},
		{"typical: 20 °C, max: 30 °C, min: 15 °C", "typical: 25 °C, max: 30 °C, min: -20 °C"},
	}, more...)
}

// TestBenchStrings: voltages of a string on a bench supply, and the limit of the supply.
//
// By hand, 9 × 2.95 V at 550 mA, 0.32 Ω: at 5 mA 9·(2.95 − 2·0.025692·ln(550/5) − 0.16·0.545) = 23.59 V, the diode law
// with half of the slope as ohmic resistance (common practice, ± 3 %; computed by a separate program). Limit:
// 9 × 3.15 V + 9 × 2 mV/K × 45 K = 29.16 V, and 5 %: 30.62 V.
func TestBenchStrings(t *testing.T) {
	r := lamptest.Evaluate(t, nineDies("0.55 A: 2.95 V, 0.65 A: 2.982 V", "0.5 A")...)
	b := r.Sys.Bench(&r.Sol, 298.15)
	if len(b) != 1 || len(b[0].Points) != 3 {
		t.Fatalf("%+v", b)
	}
	at := b[0].Points[0]
	lamptest.Near(t, "first current [A]", at.CurrentA, 5e-3, 1e-12, "1 % of 0.5 A")
	lamptest.Near(t, "voltage at 5 mA", at.VoltageV, 23.59, 0.03*23.59, "diode law, half of the slope ohmic")
	lamptest.Near(t, "lowest bin", at.VoltageV-at.MinV, 1.8, 1e-9, "9 × 0.2 V")
	lamptest.Near(t, "highest bin", at.MaxV-at.VoltageV, 1.8, 1e-9, "9 × 0.2 V")
	lamptest.Near(t, "one die", b[0].LeastDie, at.VoltageV/9, 1e-9, "a ninth of the package")
	for i, fraction := range []float64{0.01, 0.05, 0.10} {
		lamptest.Near(t, "fraction", b[0].Points[i].CurrentA, 0.5*fraction, 1e-12, "of 0.5 A")
		if i > 0 && !(b[0].Points[i].VoltageV > b[0].Points[i-1].VoltageV+0.1) {
			t.Errorf("voltages do not rise with current: %+v", b[0].Points)
		}
	}
	cold := r.Sys.Bench(&r.Sol, 288.15)[0].Points[1]
	lamptest.Near(t, "10 K colder", cold.VoltageV-b[0].Points[1].VoltageV, 0.18, 1e-9, "9 × 2 mV/K × 10 K")
	lamptest.Near(t, "10 K colder, lowest bin", cold.MinV-b[0].Points[1].MinV, 0.18, 1e-9, "9 × 2 mV/K × 10 K")
	lamptest.Near(t, "10 K colder, highest bin", cold.MaxV-b[0].Points[1].MaxV, 0.18, 1e-9, "9 × 2 mV/K × 10 K")

	full := lamptest.Evaluate(t, nineDies("0.5 A: 2.934 V, 0.6 A: 2.966 V", "550 mA")...)
	lamptest.Near(t, "limit of the supply", full.Sys.Bench(&full.Sol, 298.15)[0].LimitV, 30.618, 0.005*30.618,
		"1.05·(9·3.15 V + 9·2 mV/K·45 K)")
}

// TestBenchOfParallelStrings: a channel of two equal strings has the voltage of one, and half of the current.
func TestBenchOfParallelStrings(t *testing.T) {
	one := lamptest.Evaluate(t, lamptest.Larger()...)
	two := lamptest.Evaluate(t, append(lamptest.Larger(),
		lamptest.Change{"at: [[0 mm, 0 mm]]}", "at: [[-10 mm, 0 mm], [10 mm, 0 mm]]}"},
		lamptest.Change{"    current: 1 A\n", "    current: 2 A\n    parallel_strings: 2\n"})...)
	a, b := one.Sys.Bench(&one.Sol, 293.15)[0], two.Sys.Bench(&two.Sol, 293.15)[0]
	for i := range a.Points {
		lamptest.Near(t, "current", b.Points[i].CurrentA, a.Points[i].CurrentA, 1e-12, "1 A each")
		lamptest.Near(t, "voltage", b.Points[i].VoltageV, a.Points[i].VoltageV, 1e-9, "one string")
	}
	lamptest.Near(t, "limit", b.LimitV, a.LimitV, 1e-9, "one string")
}

// TestCoreCapacitance: 60 cm² of copper on 100 µm of relative permittivity 5: 8.854e-12·5·60e-4/100e-6 = 2.66 nF.
func TestCoreCapacitance(t *testing.T) {
	size := func(coverage string) lamptest.Change {
		return lamptest.Change{
			"length: 20 mm, width: 20 mm, copper_coverage: 100 %",
			"length: 60 mm, width: 100 mm, copper_coverage: " + coverage,
		}
	}
	for _, tt := range []struct {
		coverage string
		want     float64
	}{{"100 %", 2.656e-9}, {"50 %", 1.328e-9}} {
		c, ok := engine.CoreCapacitanceF(lamptest.Evaluate(t, size(tt.coverage)).Lamp)
		if !ok || math.Abs(c/tt.want-1) > 1e-3 {
			t.Errorf("coverage %s: %g F, want %g F (plate capacitor)", tt.coverage, c, tt.want)
		}
	}
}
