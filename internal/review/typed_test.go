package review

import (
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"lampwright/internal/finding"
	"lampwright/internal/lamp"
	"lampwright/internal/partslib"
	"lampwright/internal/project"
	"lampwright/internal/source"
)

// TestTypedValuesOfLibrary: no built-in part is doubted, and each of its emitters is, with the right number of dies,
// once its forward voltage is that of a package.
func TestTypedValuesOfLibrary(t *testing.T) {
	library, problems := project.LoadLibrary(nil, partslib.Files())
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	for _, f := range CheckParts(library) {
		t.Errorf("%s: %s", f.Severity, f.Title)
	}
	for _, id := range library.Emitters.IDs() {
		for _, k := range []int{2, 3, 4, 6, 8, 12} {
			part := *library.Emitters.Get(id)
			part.ForwardVoltage.Y = scaled(part.ForwardVoltage.Y, float64(k))
			led, ok := ledOf(&part)
			if !ok {
				t.Fatal(id)
			}
			if d := led.Voltage(); d == nil || d.Times != k || !d.Grave {
				t.Errorf("%s, voltage × %d: %+v", id, k, d)
			}
		}
	}
}

func scaled(y []float64, k float64) []float64 {
	out := make([]float64, len(y))
	for i := range y {
		out[i] = k * y[i]
	}
	return out
}

// TestLuminousEfficacyOfDies: luminous efficacy of radiation of Gaussian peaks, computed outside this project by
// 683 Σ S·V/Σ S over the table of CIE 1931 in steps of 1 nm; within 1 %.
func TestLuminousEfficacyOfDies(t *testing.T) {
	for _, tt := range []struct{ nm, width, want float64 }{
		{450, 20, 27.6}, {500, 28, 246}, {525, 32, 512}, {592, 16, 499}, {632, 18, 172}, {660, 20, 45.9}, {
			730, 25,
			0.465,
		},
	} {
		value := func(x float64) source.Value { return source.Value{SI: x, Lo: x, Hi: x, Set: true} }
		unit, err := lamp.UnitSpectrum(&project.Emitter{Peaks: []project.Peak{{
			At:    value(tt.nm),
			Width: value(tt.width),
		}}})
		if err != nil {
			t.Fatal(err)
		}
		if got := unit.LERlmW(); math.Abs(got-tt.want) > 0.01*tt.want {
			t.Errorf("%g nm: %.4g lm/W, want %.4g", tt.nm, got, tt.want)
		}
	}
}

func TestTypedValues(t *testing.T) {
	voltage := func(at1, at2 string) edit {
		return edit{"{0.1 A: 2.92 V, 1.1 A: 3.12 V}", "{0.1 A: " + at1 + ", 1.1 A: " + at2 + "}"}
	}
	flux := func(is string) edit { return edit{"radiant_flux: 0.5 W", is} }
	pointed := edit{"    current: 0.5 A\n    driver", "    current: 1.400 mA\n    driver"}
	wide := edit{"output_max: 20 V", "output_max: 40 V"}
	runTable(t, []side{
		{name: "as it is", lamp: lampVariant{}, check: typedCheck, subject: "parts", want: finding.Pass},
		{
			name: "voltage of a package", lamp: lampVariant{}.with(voltage("10.9 V", "11.3 V"), wide),
			check:   typedCheck,
			subject: "emitter die", title: "Forward voltage 11.1 V exceeds usual maximum of one white die 3.40 V (die)",
			want: finding.Stop, fix: "divide it by 4, to 2.77 V",
		},
		{
			name: "voltage of a package: dies", lamp: lampVariant{}.with(voltage("10.9 V", "11.3 V"), wide),
			check: typedCheck, subject: "emitter die", want: finding.Stop, fix: "Set `dies: 4` besides",
		},
		{
			name: "high voltage", lamp: lampVariant{}.with(voltage("3.5 V", "3.7 V")), check: typedCheck,
			want:  finding.Warn,
			title: "Forward voltage 3.58 V exceeds usual maximum",
		},
		{
			// 1.1 W of 1.5 W is 73 %, within 75 %, beyond 62 %.
			name: "high efficiency", lamp: lampVariant{}.with(flux("radiant_flux: 1.1 W")), check: typedCheck,
			want: finding.Warn, title: "Radiant efficiency 73.3 % at the test current exceeds usual maximum of one " +
				"white die 62.0 %",
		},
		{
			name: "impossible efficiency", lamp: lampVariant{}.with(flux("radiant_flux: 1.6 W")), check: typedCheck,
			want: finding.Stop, title: "Radiant efficiency 107", fix: "Check the value",
		},
		{
			name: "lumens in place of milliwatts",
			lamp: lampVariant{}.with(flux("flux: 700 lm"), edit{
				`      - {at: 450 nm, width: 20 nm, share: 20 %}
      - {at: 555 nm, width: 110 nm, share: 59.5 %}
      - {at: 620 nm, width: 90 nm, share: 20.5 %}`, "      - {at: 450 nm, width: 20 nm}",
			}),
			check: typedCheck, want: finding.Stop, title: "exceeds usual maximum of one blue die 88.0 %",
			fix: "did you mean `radiant_flux: 700 mW`?",
		},
		{
			name: "kelvins", lamp: lampVariant{}.with(edit{"max_junction: 150 °C", "max_junction: 423 °C"}),
			check: typedCheck,
			want:  finding.Warn, title: "`max_junction` 423.0 °C exceeds usual maximum 185.0 °C (die)",
			fix: "did you mean 423 K",
		},
		{
			name: "resistance of another package", lamp: lampVariant{}.with(edit{
				"thermal_resistance: 5 K/W",
				"thermal_resistance: 50 K/W",
			}),
			check: typedCheck, want: finding.Warn,
			title: "Thermal resistance 50.0 K/W exceeds usual maximum of packages of 3.5 × 3.5 mm 12.0 K/W",
		},
		{
			name: "test current outside the curve", lamp: lampVariant{}.with(edit{
				"test_current: 0.5 A",
				"test_current: 1.5 A",
			}),
			check: typedCheck, want: finding.Ask,
			title: "Test current 1.50 A is outside the data of `forward_voltage` and `flux_vs_current`, 100 mA " +
				"to 1.10 A",
		},
		{
			name: "lens without Fresnel loss", lamp: lampVariant{}.with(edit{
				"efficiency: 90 %, diameter",
				"efficiency: 98 %, diameter",
			}),
			check: typedCheck, want: finding.Warn,
			title: "Lens efficiency 98.0 % exceeds usual maximum of a lens 96.0 %",
		},
		{
			name: "clear lens", lamp: lampVariant{}.with(edit{
				"efficiency: 90 %, diameter",
				"efficiency: 96 %, diameter",
			}),
			check: typedCheck, want: finding.Pass,
		},
		{
			name: "small lens", lamp: lampVariant{}.with(edit{"diameter: 12 mm,", "diameter: 4 mm,"}),
			check: typedCheck,
			title: "Lens diameter 4.00 mm is small for a package of 3.50 mm", want: finding.Note,
		},
		{
			name: "point that may part thousands", lamp: lampVariant{}.with(pointed),
			check: typedCheck, want: finding.Warn, title: `Decimal point: current "1.400 mA" is read as 1.4 mA`,
			fix: "Write 1400 mA if its point parts thousands, else 1.4 mA (lamp.yaml:15:14)",
		},
		{
			name: "several, of own parts too", lamp: lampVariant{}.with(pointed,
				edit{"radiant_flux: 0.5 W", "radiant_flux: {value: 1.500 mW, min: 1.400 mW}"}),
			check: typedCheck, subject: "numbers", want: finding.Warn,
			title: `Decimal points: 3 values, the first: current "1.400 mA" is read as 1.4 mA`,
			fix:   "Write 1400 mW if its point parts thousands, else 1.4 mW",
		},
		{
			name: "decimals that part no thousands", lamp: lampVariant{}.with(
				edit{"    price: 1 EUR\n    package", "    price: 0.400 EUR\n    package"},
				edit{"width: 60 mm, copper", "width: 60.000 mm, copper"}), check: typedCheck, want: finding.Pass,
		},
		{
			name: "amperes in place of milliamperes", lamp: lampVariant{}.with(edit{
				"current_max: 1 A",
				"current_max: 100 A",
			}),
			check: typedCheck, want: finding.Warn, title: "`current_max` 100 A exceeds usual maximum 60.0 A (down)",
			fix: "did you mean 100 mA?",
		},
	})
}

// TestExchangedOutline: an error of the design names the exchange that mends it.
func TestExchangedOutline(t *testing.T) {
	text := strings.Replace(baseLamp, "length: 60 mm, width: 60 mm, copper", "length: 20 mm, width: 60 mm, copper", 1)
	_, problems := project.Load(fstest.MapFS{
		project.DesignFile: {Data: []byte(text)}, "parts/base.yaml": {Data: []byte(baseParts)},
	}, project.DesignFile, partslib.Files())
	if len(problems) == 0 || !strings.Contains(problems.Error(), "exchange length and width of the board?") {
		t.Errorf("problems: %v", problems)
	}
}
