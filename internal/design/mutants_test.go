package design

import "testing"

// linearDrive feeds the lamp of one die by a linear driver on a supply of 12 V ± 3 %.
func linearDrive() []change {
	return []change{
		{"    driver: box\n", "    driver: drop\n"},
		{"day: {full_light", "supplies:\n  - {part: supply-12v-60w}\nday: {full_light"},
		{"  - {id: box, kind: mains", "  - {id: drop, kind: linear, output_min: 2 V, output_max: 28 V, input_min: 5 V, input_max: 30 V, headroom: 0.8 V, current_max: 2 A, current_tolerance: 3 %, dimming: pwm, isolated: false}\n  - {id: box, kind: mains"},
	}
}

// TestLensHeatUnderPWM: at a PWM duty of 40 % the lens absorbs 40 % of what it absorbs at full level. The die converts
// 3 W into 2 W of heat and 1 W of light, of which a lens of 90 % absorbs 0.1 W:
//
//	Q = D (V I − Φ_e) + D Φ_e (1 − η) = 0.4 · 2 W + 0.4 · 1 W · 0.1 = 0.84 W
func TestLensHeatUnderPWM(t *testing.T) {
	r := evaluate(t,
		lights("{part: die, lens: clear, at: [[0 mm, 0 mm]]}"),
		change{"    current: 1 A\n", "    current: 1 A\n    level: 40 %\n"},
		change{"dimming: none", "dimming: pwm"},
		change{"boards:\n", "lenses:\n  - {id: clear, fits: [p35], diameter: 15 mm, efficiency: 90 %, beam_angle: 60 deg}\nboards:\n"},
	)
	near(t, "heat at 40 %", r.Value("lamp.heat"), 0.84, 1e-9, "0.4 · (2 W + 0.1 W)")
	near(t, "light at 40 %", r.Value("lamp.radiant"), 0.36, 1e-9, "0.4 · 1 W · 90 %")
}

// TestYearlyEnergyWithStandby: outside the 10 h of light a day, driver and supply draw their standby power:
//
//	W = 365 (P · 10 h + (0.5 W + 0.2 W) · 14 h)
func TestYearlyEnergyWithStandby(t *testing.T) {
	drive := linearDrive()
	drive[2].now = "  - {id: drop, kind: linear, standby: 0.5 W, output_min: 2 V, output_max: 28 V, input_min: 5 V, input_max: 30 V, headroom: 0.8 V, current_max: 2 A, current_tolerance: 3 %, dimming: pwm, isolated: false}\n  - {id: box, kind: mains"
	r := evaluate(t, with(drive, change{"ramp: 1 h}", "ramp: 1 h, tariff: 0.30 EUR/kWh}"})...)
	const standbyWh = 365 * 0.7 * 14 // 3577 Wh
	wantWh := 365*10*r.Value("wall.power") + standbyWh
	near(t, "energy of a year", r.Value("wall.energy-year")/3600, wantWh, 1e-6*wantWh, "365 days of 10 h and 14 h")
	// 12 V · 1 A is 20 % of the load, where the supply's efficiency is 82 %.
	near(t, "power from the mains", r.Value("wall.power"), 12/0.82, 1e-6, "12 W/82 %")
	near(t, "its price", r.Value("cost.energy-year"), (365*10*12/0.82+standbyWh)/1000*0.30, 1e-5, "0.30 EUR a kilowatt-hour")
}

// TestDriverHeatByHand: a linear driver dissipates most at the maximum supply voltage, the maximum current and the
// minimum string voltage, which is that of the hottest day:
//
//	V_lo = 2.8 V + 0.2 Ω · 0.97 A − 10 mV/K (T_hot − 25 °C)    P = 1.03 A (12.36 V − V_lo)
func TestDriverHeatByHand(t *testing.T) {
	slope := change{"forward_voltage_over_temperature: 0 mV/K", "forward_voltage_over_temperature: -10 mV/K"}
	r := evaluate(t, with(linearDrive(), slope)...)
	low := 2.8 + 0.2*0.97 - 0.010*(r.Value("a.junction-hottest")-298.15)
	near(t, "driver heat", r.Value("a.driver-heat"), 1.03*(12.36-low), 1e-9, "Kirchhoff's laws")
	dimmed := evaluate(t, with(linearDrive(), slope, change{"    current: 1 A\n", "    current: 1 A\n    level: 40 %\n"})...)
	low = 2.8 + 0.2*0.97 - 0.010*(dimmed.Value("a.junction-hottest")-298.15)
	near(t, "driver heat at 40 %", dimmed.Value("a.driver-heat"), 0.4*1.03*(12.36-low), 1e-9, "Kirchhoff's laws, duty 40 %")
}

// TestDriverHeatIsOfTheHottestDay: the die emits 2.9 W of its 3 W up to 50 °C, and loses 2.9 W/225 K above; on a sink of
// 1000 K/W it settles at 35 °C in a room of 20 °C, and runs away in a room of 65 °C. What is computed from the string
// voltage of the hottest day is then withheld, and what belongs to the usual day is not.
func TestDriverHeatIsOfTheHottestDay(t *testing.T) {
	r := evaluate(t, with(
		linearDrive(), fmtSink(1000),
		change{"radiant_flux: 1 W", "radiant_flux: 2.9 W"},
		change{"{-50 °C: 100 %, 400 °C: 100 %}", "{25 °C: 100 %, 50 °C: 100 %, 275 °C: 0 %}"},
		change{"hottest: 30 °C", "hottest: 65 °C"},
	)...)
	for key, withheld := range map[string]bool{
		"a.driver-heat": true, "a.voltage-hot": true, "a.junction-hottest": true,
		"a.driver-input": false, "a.junction": false, "a.voltage-cold": false,
	} {
		f, ok := r.Figure(key)
		if !ok || (f.Withheld != "") != withheld {
			t.Errorf("%s: found %v, withheld %q; want withheld %v", key, ok, f.Withheld, withheld)
		}
	}
}
