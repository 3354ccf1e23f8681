package lamp_test

import (
	"testing"

	"lampwright/internal/intensity"
	"lampwright/internal/lamp"
	"lampwright/internal/lamptest"
)

// TestBasis: each parameter that readings tell of names the parts and settings for which its value holds; the design of
// each row is that of one die with one change, which changes the basis.
func TestBasis(t *testing.T) {
	wire := lamptest.Change{"    driver: box\n", "    driver: box\n    wire: {part: lead, length: 2 m}\n"}
	for _, tt := range []struct {
		param, want string
		changes     []lamptest.Change
	}{
		{"emitter.die.flux", "emitter die, 1.00 W at 1.00 A", nil},
		{
			"emitter.die.flux", "emitter die, 1.20 W at 1.00 A",
			[]lamptest.Change{{"radiant_flux: 1 W", "radiant_flux: 1.2 W"}},
		},
		{"emitter.die.forward_voltage", "emitter die, 3.00 V per die at 1.00 A", nil},
		{"emitter.die.thermal_resistance", "emitter die", nil},
		{"bare.1.efficiency", "emitter die without a lens", nil},
		{"channel.a.current_tolerance", "driver box on channel a", nil},
		{"channel.a.no_load_power", "driver box on channel a", nil},
		{"channel.a.current", "", nil},
		{"channel.a.wire_resistance", "", nil},
		{"channel.a.wire_resistance", "wire lead, 2.00 m, on channel a", []lamptest.Change{wire}},
		{
			"tim.resistance_offset",
			"thermal interface grease, board core, contact 20.0 mm × 20.0 mm, fastening none", nil,
		},
		{
			"tim.resistance_offset",
			"thermal interface grease, board core, contact 20.0 mm × 20.0 mm, fastening 2 × screws M3",
			[]lamptest.Change{{"length: 20 mm, width: 20 mm, copper_coverage: 100 %}", "length: 20 mm, width: 20 mm, " +
				"copper_coverage: 100 %, mounting: {method: screws, screw: M3, at: [[8 mm, 8 mm], [-8 mm, 8 mm]]}}"}},
		},
		{"heat_sink.natural_convection", "heat sink block, fins up", nil},
		{
			"heat_sink.natural_convection", "heat sink block, vertical, hood with air rise 5.00 K",
			[]lamptest.Change{{"{part: block}", "{part: block, orientation: vertical, hood_air_rise: 5 K}"}},
		},
		{"heat_sink.forced_convection", "", nil},
		{"hood.air_rise", "", nil},
		{"board.dielectric_thickness", "board core", nil},
		{"board.dielectric_conductivity", "board core", nil},
		{"ambient.min", "", nil},
		{"installation.hanging_height", "bench of 400 mm × 400 mm, hanging height 300 mm", nil},
		{"installation.yellow_substance", "", nil},
	} {
		l := mustLamp(t, tt.changes...)
		at := l.ParamIndex(tt.param)
		if at < 0 {
			t.Errorf("no parameter %s", tt.param)
			continue
		}
		if got := l.Basis(at); got != tt.want {
			t.Errorf("basis of %s is %q, want %q", tt.param, got, tt.want)
		}
	}
}

// TestBasisOfPlacement: the basis of the errors of the methods changes when an emitter moves.
func TestBasisOfPlacement(t *testing.T) {
	was := mustLamp(t)
	moved := mustLamp(t, lamptest.Change{"at: [[0 mm, 0 mm]]", "at: [[0 mm, 0.1 mm]]"},
		lamptest.Change{"thermal_pad: {length: 20 mm, width: 20 mm}", "thermal_pad: {length: 10 mm, width: 10 mm}"},
		lamptest.Change{"body: {length: 20 mm, width: 20 mm}", "body: {length: 12 mm, width: 12 mm}"})
	for _, name := range []string{"model.board_field", "model.light_maps"} {
		at := was.ParamIndex(name)
		if a, b := was.Basis(at), moved.Basis(at); a == b || a == "" {
			t.Errorf("%s: basis %q before and %q after an emitter moved", name, a, b)
		}
	}
}

// TestBasisOfDemo: die configuration, lens, wire, supply, water and screws of a demo are named.
func TestBasisOfDemo(t *testing.T) {
	l, err := lamp.New(lamptest.Example(t, "long-tank"), intensity.FromLens)
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]string{
		"emitter.white-5700-trio/9 V.flux": "emitter white-5700-trio, die configuration 9 V, 540 lm at 450 mA",
		"lens.lens-100-large.efficiency":   "lens lens-100-large over emitter white-5700-trio, white-4500-trio",
		"channel.cool.wire_resistance":     "wire awg20, 1.50 m, on channel cool",
		"supply.1.efficiency":              "supply 1, supply-24v-100w",
		"installation.yellow_substance":    "tank of 900 mm × 450 mm, water 370 mm, tint slightly yellow",
		"tim.resistance_offset": "thermal interface tim-paste-3w, board aluminium-2w, contact 280 mm × 50.0 mm, " +
			"fastening 12 × screws M3",
	} {
		if got := l.Basis(l.ParamIndex(name)); got != want {
			t.Errorf("basis of %s is %q, want %q", name, got, want)
		}
	}
}

func mustLamp(t *testing.T, changes ...lamptest.Change) *lamp.Lamp {
	t.Helper()
	l, err := lamp.New(lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts, changes...), intensity.FromLens)
	if err != nil {
		t.Fatal(err)
	}
	return l
}
