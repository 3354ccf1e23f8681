package figure_test

import (
	"testing"

	"lampwright/internal/lamptest"
)

// linearDrive feeds the lamp of one die by a linear driver on a supply of 12 V ± 3 %.
func linearDrive() []lamptest.Change {
	return []lamptest.Change{
		{"    driver: box\n", "    driver: drop\n"},
		{"day: {full_level_time", "supplies:\n  - {part: supply-12v-60w}\nday: {full_level_time"},
		{"  - {id: box, kind: ac", "  - {id: drop, kind: linear, output_min: 2 V, output_max: 28 V, input_min: 5 V, " +
			"input_max: 30 V, headroom: 0.8 V, current_max: 2 A, current_tolerance: 3 %, dimming: pwm, isolation: " +
			"none}\n  - {id: box, kind: ac"},
	}
}

// TestLensHeatUnderPWM: at a PWM duty of 40 % the lens absorbs 40 % of what it absorbs at full level. The die converts
// 3 W into 2 W of heat and 1 W of light, of which a lens of 90 % absorbs 0.1 W:
//
//	Q = D (V I − Φ_e) + D Φ_e (1 − η) = 0.4 · 2 W + 0.4 · 1 W · 0.1 = 0.84 W
func TestLensHeatUnderPWM(t *testing.T) {
	r := lamptest.Evaluate(t,
		lamptest.Lights("{part: die, lens: clear, at: [[0 mm, 0 mm]]}"),
		lamptest.Change{"    current: 1 A\n", "    current: 1 A\n    level: 40 %\n"},
		lamptest.Change{"dimming: none", "dimming: pwm"},
		lamptest.Change{"boards:\n", "lenses:\n  - {id: clear, fits: [p35], diameter: 15 mm, efficiency: 90 %, " +
			"beam_angle: 60 deg}\nboards:\n"},
	)
	lamptest.Near(t, "heat at 40 %", r.Value("lamp.heat"), 0.84, 1e-9, "0.4 · (2 W + 0.1 W)")
	lamptest.Near(t, "light at 40 %", r.Value("lamp.radiant"), 0.36, 1e-9, "0.4 · 1 W · 90 %")
}

// TestYearlyEnergyWithStandby: outside the 9 h of light a day, driver and supply draw their standby power:
//
//	P_off = 0.2 W + 0.5 W · (8 W − 0.2 W)/6 W = 0.85 W, 8 W/6 W at the supply's first point, 10 % at 75 %
//	W = 365 (P · 9 h + P_off · 15 h)
func TestYearlyEnergyWithStandby(t *testing.T) {
	drive := linearDrive()
	drive[2][1] = "  - {id: drop, kind: linear, standby_power: 0.5 W, no_load_power: 0.5 W, output_min: 2 V, output_max: 28 V, input_min: " +
		"5 V, input_max: 30 V, headroom: 0.8 V, current_max: 2 A, current_tolerance: 3 %, dimming: pwm, isolation: " +
		"none}\n  - {id: box, kind: ac"
	r := lamptest.Evaluate(t, lamptest.With(drive,
		lamptest.Change{", ramp_time: 1 h}", ", tariff: 0.30 EUR/kWh}"})...)
	const standbyWh = 365 * 0.85 * 15 // 4653.75 Wh
	lamptest.Near(t, "light off", r.Value("mains.power-off"), 0.85, 1e-9, "line through (0, 0.2 W) and (6 W, 8 W)")
	wantWh := 365*9*r.Value("mains.power") + standbyWh
	lamptest.Near(t, "energy of a year", r.Value("mains.energy-year")/3600, wantWh, 1e-5*wantWh,
		"365 days of 9 h and 15 h")
	// 12 V · 1 A is 20 % of the load, where the supply's efficiency is 82 %; 0.5 W beyond on the line to 87 % at 30 W.
	const mainsW = 12/0.82 + 0.5*(30/0.87-12/0.82)/18
	lamptest.Near(t, "power from the mains", r.Value("mains.power"), mainsW, 1e-6, "12 W at 82 %, 30 W at 87 %")
	lamptest.Near(t, "its price", r.Value("cost.electricity-year"), (365*9*mainsW+standbyWh)/1000*0.30, 1e-3,
		"0.30 EUR a kilowatt-hour")
}

// TestDriverHeatByHand: a linear driver dissipates most at the maximum supply voltage, the maximum current and the
// minimum string voltage, which is that of the hottest day:
//
//	V_lo = 2.8 V + 0.2 Ω · 0.97 A − 10 mV/K (T_hot − 25 °C)    P = 1.03 A (12.36 V − V_lo)
func TestDriverHeatByHand(t *testing.T) {
	slope := lamptest.Change{"forward_voltage_tempco: 0 mV/K", "forward_voltage_tempco: -10 mV/K"}
	r := lamptest.Evaluate(t, lamptest.With(linearDrive(), slope)...)
	low := 2.8 + 0.2*0.97 - 0.010*(r.Value("a.junction-max-ambient")-298.15)
	lamptest.Near(t, "driver heat", r.Value("a.driver-heat"), 1.03*(12.36-low), 1e-9, "Kirchhoff's laws")
	dimmed := lamptest.Evaluate(t, lamptest.With(linearDrive(), slope,
		lamptest.Change{"    current: 1 A\n", "    current: 1 A\n    level: 40 %\n"})...)
	low = 2.8 + 0.2*0.97 - 0.010*(dimmed.Value("a.junction-max-ambient")-298.15)
	lamptest.Near(t, "driver heat at 40 %", dimmed.Value("a.driver-heat"), 0.4*1.03*(12.36-low), 1e-9,
		"Kirchhoff's laws, duty 40 %")
}

// TestDriverHeatIsOfTheHottestDay: the die emits 2.9 W of its 3 W up to 50 °C, and loses 2.9 W/225 K above; on a sink
// of 1000 K/W it settles at 35 °C in a room of 20 °C, and runs away in a room of 65 °C. What is computed from the
// string voltage of the hottest day is then withheld, and what belongs to the usual day is not.
func TestDriverHeatIsOfTheHottestDay(t *testing.T) {
	r := lamptest.Evaluate(t, lamptest.With(
		linearDrive(), lamptest.FmtSink(1000),
		lamptest.Change{"radiant_flux: 1 W", "radiant_flux: 2.9 W"},
		lamptest.Change{"{-50 °C: 100 %, 400 °C: 100 %}", "{25 °C: 100 %, 50 °C: 100 %, 275 °C: 0 %}"},
		lamptest.Change{"max: 30 °C", "max: 65 °C"},
	)...)
	for key, withheld := range map[string]bool{
		"a.driver-heat": true, "a.voltage-min": true, "a.junction-max-ambient": true,
		"a.driver-input": false, "a.junction": false, "a.voltage-max": false,
	} {
		f, ok := r.Figure(key)
		if !ok || (f.Withheld != "") != withheld {
			t.Errorf("%s: found %v, withheld %q; want withheld %v", key, ok, f.Withheld, withheld)
		}
	}
}
