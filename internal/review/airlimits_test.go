package review

import (
	"math"
	"testing"

	"lampwright/internal/finding"
)

const (
	driverAir = "dimming: none, min_air_temperature: -20 °C, max_air_temperature: 75 °C}"
	supplyAir = "II, min_air_temperature: -20 °C, max_air_temperature: 75 °C, capacitor_life: {hours: 10000 h, at: " +
		"105 °C, rise: 20 K}}"
)

func TestAirLimits(t *testing.T) {
	driver := func(text string) lampVariant {
		return lampVariant{}.with(edit{driverAir, "dimming: none" + text + "}"})
	}
	runTable(t, []side{
		{
			name: "not stated", lamp: driver(""), check: "air-limits", title: "air temperature limits (down)",
			want: finding.Ask,
		},
		{
			name: "life not stated",
			lamp: lampVariant{}.with(edit{
				", capacitor_life: {hours: 10000 h, at: 105 °C, rise: 20 K}",
				"",
			}), check: "air-limits",
			title: "Not stated in datasheets: life (twelve)", want: finding.Ask,
		},
		{
			name: "equal to its limit", lamp: driver(", min_air_temperature: 15 °C, max_air_temperature: 30 " +
				"°C"), check: "air-limits",
			subject: "down", title: "at maximum ambient, within", want: finding.Pass,
		},
		{
			name: "equal to its lower limit", lamp: driver(", min_air_temperature: 15 °C, max_air_temperature: 30 " +
				"°C"), check: "air-limits",
			subject: "down", title: "at minimum ambient, meets", want: finding.Pass,
		},
		{
			name: "too hot", lamp: driver(", min_air_temperature: 0 °C, max_air_temperature: 29 " +
				"°C"), check: "air-limits", subject: "down",
			title: "Air 30.0 °C at maximum ambient exceeds maximum air temperature 29.0 " +
				"°C", want: finding.Stop, fix: "rated ≥ 30.0 °C",
		},
		{
			name: "too cold", lamp: driver(", min_air_temperature: 16 °C, max_air_temperature: 60 " +
				"°C"), check: "air-limits", subject: "down",
			title: "Air 15.0 °C at minimum ambient is below minimum air temperature 16.0 °C", want: finding.Warn,
		},
		{
			name: "minimum ambient assumed", lamp: lampVariant{}.with(edit{", min: 15 °C", ""}), check: "air-limits",
			title: "at minimum ambient", none: true,
		},
		{
			// 75 °C less 3.5 K for each 1000 m above 2000 m
			name: "thin air", lamp: lampVariant{}.with(edit{
				"hanging_height: 300 mm",
				"hanging_height: 300 mm\n  altitude: 4000 m",
			},
				edit{"max: 30 °C", "max: 69 °C"}), check: "air-limits", subject: "twelve", title: "exceeds maximum " +
				"air temperature 68.0 °C",
			want: finding.Stop,
		},
	})
}

// TestAltitudeDerating: usual datasheets of supplies, from memory: 3.5 K and 5 K per 1000 m above 2000 m.
func TestAltitudeDerating(t *testing.T) {
	for _, tt := range []struct{ altitudeM, rateK, want float64 }{
		{3000, altitudeDerateK, 3.5}, {3000, altitudeDerateFanK, 5}, {2000, 5, 0}, {500, 5, 0},
	} {
		if got := altitudeDerating(tt.altitudeM, tt.rateK); math.Abs(got-tt.want) > 1e-12 {
			t.Errorf("%g m: %g K, want %g", tt.altitudeM, got, tt.want)
		}
	}
}

// TestPartLife: capacitors at 20 + 20 = 40 °C: 10000 h · 2^6.5 = 905 000 h, capped at 15 years = 131 490 h. The lamp is
// on for 11 h a day: 10 years are 40 178 h. A fan of 40 000 h at 40 °C has 1.5² · 40 000 = 90 000 h at 20 °C.
func TestPartLife(t *testing.T) {
	life := func(text string) edit { return edit{"spill: 100 %", "spill: 100 %, service_life: " + text} }
	capacitor := func(text string) edit {
		return edit{"capacitor_life: {hours: 10000 h, at: 105 °C, rise: 20 K}", "capacitor_life: {" + text + "}"}
	}
	fan := func(hours, at string) lampVariant {
		return lampVariant{parts: "fans:\n  - {id: blower, pressure_vs_flow: {0 m³/h: 30 Pa, 60 m³/h: 0 Pa}, speed: " +
			"1800 rpm, " +
			"frame: 60 mm, life: {hours: " + hours + ", at: " + at + "}}\n"}.with(edit{
			"sink: {part: block}\n",
			"sink: {part: block}\nfan: {part: blower}\n",
		},
			edit{"resistance_vs_power: {0.1 W: 5 K/W, 100 W: 5 K/W}", "resistance_vs_power: {0.1 W: 5 K/W, 100 W: 5 " +
				"K/W}, resistance_vs_air_speed: {0.1 m/s: 5 K/W, 50 m/s: 5 K/W}"}, life("10 years"))
	}
	runTable(t, []side{
		{name: "life assumed", lamp: lampVariant{}, check: "part-life", title: "131500 h", want: finding.Note},
		{
			name: "long enough", lamp: lampVariant{}.with(life("10 years")), check: "part-life",
			title: "131500 h, meets service life 40180 h", want: finding.Pass,
		},
		{
			// 2000 h at 85 °C, 40 °C in use: 2^4.5 · 2000 = 45 255 h; 12 years are 48 213 h
			name: "too short", lamp: lampVariant{}.with(life("12 years"),
				capacitor("hours: 2000 h, at: 85 °C, rise: 20 K")), check: "part-life",
			title: "45250 h is below service life 48210 h", want: finding.Warn, fix: "cooler by ≥ 1 K",
		},
		{
			name: "rise assumed", lamp: lampVariant{}.with(life("10 years"),
				capacitor("hours: 2000 h, at: 105 °C")), check: "part-life",
			title: "meets service life", want: finding.Note,
		},
		{
			name: "fan", lamp: fan("40000 h", "40 °C"), check: "part-life", subject: "blower", title: "90000 h",
			want: finding.Pass,
		},
		{
			// at 10 °C: 60 000 h · 1.5⁻¹ = 40 000 h
			name: "short-lived fan", lamp: fan("60000 h", "10 "+
				"°C"), check: "part-life", subject: "blower", title: "40000 h", want: finding.Warn,
			fix: "Replace the fan every 30000 h",
		},
	})
}
