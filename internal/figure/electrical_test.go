package figure_test

import (
	"context"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/lamptest"
)

// TestElectricalFigures compares figures of the lamp of one die (3 V · 1 A, 1 W of light) with numbers by hand.
func TestElectricalFigures(t *testing.T) {
	r := lamptest.Evaluate(t, lamptest.Change{"current_tolerance: 0 %", "current_tolerance: 5 %"})
	lamptest.Near(t, "die current", r.Value("a.die-current-max"), 1, 1e-12, "the design")
	die, _ := r.Figure("a.die-current-max")
	lamptest.Near(t, "die current, upper end", die.Hi, 1.05, 1e-12, "1 A · 1.05")
	lamptest.Near(t, "die current, lower end", die.Lo, 0.95, 1e-12, "1 A · 0.95")
	lamptest.Near(t, "radiant efficiency", r.Value("a.radiant-efficiency"), 1.0/3, 1e-9, "1 W / (3 V · 1 A)")
	lamptest.Near(t, "circuit voltage", r.Value("a.circuit-voltage"), 24, 0, "open circuit, its sheet")
	lamptest.Near(t, "working voltage", r.Value("board.working-voltage"), 24, 0, "the open circuit")
	lamptest.Near(t, "output power", r.Value("a.output-power-max"), r.Value("a.voltage-max"), 1e-12, "1 A · V_max")
	if _, ok := r.Figure("a.input-required"); ok {
		t.Error("a driver on the mains has a required input voltage")
	}
}

// TestSuppliedFigures compares the figures of a lamp on a supply of 12 V ± 3 % with sums by hand: a buck driver of 3 V
// headroom, two wires of 50 Ω/km, a fuse of 2 A.
func TestSuppliedFigures(t *testing.T) {
	const supply = "supplies:\n  - {part: supply-12v-60w, wire: {part: lead, length: 2 m}, " +
		"fuse: {rated_current: 2 A, rated_voltage_dc: 32 V}}\n"
	r := lamptest.Evaluate(t,
		lamptest.Change{"    driver: box\n", "    driver: buck-1a\n    wire: {part: lead, length: 3 m}\n"},
		lamptest.Change{"day: {full_level_time", supply + "day: {full_level_time"})
	required := r.Value("a.voltage-max") + r.Value("a.wire-drop") + 3
	lamptest.Near(t, "required input", r.Value("a.input-required"), required, 1e-12, "string, cable and headroom")
	lowV := 12 * 0.97
	lamptest.Near(t, "minimum supply voltage", r.Value("supply1.voltage-min"), lowV-r.Value("supply1.wire-drop"), 1e-9,
		"Kirchhoff's voltage law")
	lamptest.Near(t, "driver input current", r.Value("a.input-current-max"), r.Value("a.driver-input")/lowV, 1e-9,
		"P/V")
	lamptest.Near(t, "supply current", r.Value("supply1.current-max"), r.Value("supply1.load-peak")/lowV, 1e-9, "P/V")
	// A fuse above the capacity of its wire counts with its conventional fusing current, 2.1 · 2 A (IEC 60127), one
	// within it with 2.1 · 2 A / 1.45; the supply delivers 1.3 · 5 A.
	fuseA := 2.1 * 2.0
	if r.Value("supply1.ampacity") >= 2 {
		fuseA /= 1.45
	}
	for _, key := range []string{"supply1.wire-fault-current", "a.wire-fault-current"} {
		f, ok := r.Figure(key)
		if !ok {
			t.Fatalf("no figure %s", key)
		}
		lamptest.Near(t, key, f.Value, fuseA, 1e-9, "IEC 60364-4-43")
	}
}

// TestElectricalRanges: tolerances and assumptions move what the limits are compared with.
func TestElectricalRanges(t *testing.T) {
	r, err := figure.Evaluate(context.Background(), lamptest.Example(t, "long-tank-first"), engine.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{
		"cool.input-required", "cool.input-current-max", "cool.radiant-efficiency", "cool.die-current-max",
		"cool.wire-fault-current", "supply1.current-max", "sensor.follow",
	} {
		f, ok := r.Figure(key)
		if !ok || !(f.Lo < f.Value && f.Value < f.Hi) {
			t.Errorf("%s: value %g, range %g to %g (exists: %v)", key, f.Value, f.Lo, f.Hi, ok)
		}
		if f.Basis.Formula == "" || f.Basis.Numbers == "" || f.Basis.Method == "" || len(f.Basis.Inputs) == 0 {
			t.Errorf("%s has no complete derivation: %+v", key, f.Basis)
		}
	}
}
