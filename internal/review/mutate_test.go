package review

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"regexp"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"pgregory.net/rapid"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/partslib"
	"lampwright/internal/project"
)

// number finds the numbers of a file, with their signs.
var number = regexp.MustCompile(`-?\d+(\.\d+)?`)

// mutated changes a text in one of the ways in which people and editors spoil files.
func mutated(t *rapid.T, text string) string {
	if text == "" {
		return text // an earlier change left nothing
	}
	lines := strings.Split(text, "\n")
	line := func(label string) int { return rapid.IntRange(0, len(lines)-1).Draw(t, label) }
	switch rapid.IntRange(0, 8).Draw(t, "how") {
	case 0: // a byte is another
		b := []byte(text)
		b[rapid.IntRange(0, len(b)-1).Draw(t, "byte")] = rapid.SampledFrom(
			[]byte(" 0159.-,:{}[]#\"'\tampVW%°\x00\xff\n"),
		).Draw(t, "to")
		return string(b)
	case 1: // a line is gone
		i := line("line")
		return strings.Join(append(lines[:i:i], lines[i+1:]...), "\n")
	case 2: // a line appears twice
		i := line("line")
		return strings.Join(append(lines[:i+1:i+1], lines[i:]...), "\n")
	case 3: // two lines change places
		i, j := line("line"), line("other")
		lines[i], lines[j] = lines[j], lines[i]
		return strings.Join(lines, "\n")
	case 4: // the end is missing
		return text[:rapid.IntRange(0, len(text)-1).Draw(t, "end")]
	default: // a number is another: most of what still loads
		at := number.FindAllStringIndex(text, -1)
		if len(at) == 0 {
			return text
		}
		m := at[rapid.IntRange(0, len(at)-1).Draw(t, "number")]
		to := rapid.SampledFrom(
			[]string{"0", "1", "2", "-1", "0.5", "3", "7", "10", "99", "1000", "1e-9", "1e9", "0.001", "100000"},
		).Draw(t, "to")
		return text[:m[0]] + to + text[m[1]:]
	}
}

// check loads, evaluates and reviews a lamp, and complains of all that no file may do.
func check(t interface{ Fatalf(string, ...any) }, lamp, parts string) (loaded bool) {
	files := fstest.MapFS{project.DesignFile: {Data: []byte(lamp)}, "parts/own.yaml": {Data: []byte(parts)}}
	began := time.Now()
	p, problems := project.Load(files, project.DesignFile, partslib.Files())
	if took := time.Since(began); took > 5*time.Second {
		t.Fatalf("loading took %s", took)
	}
	if p == nil {
		if len(problems) == 0 {
			t.Fatalf("neither a project nor a problem")
		}
		return false
	}
	r, err := figure.Evaluate(
		context.Background(), p, engine.Options{Samples: -1, CellM: 0.1, HeatRelErr: 0.1, Solver: boards},
	)
	if err != nil {
		if strings.Contains(err.Error(), "NaN") || strings.HasSuffix(err.Error(), ".") {
			t.Fatalf("the error says %q", err)
		}
		return true
	}
	for _, f := range r.Figures {
		if math.IsNaN(f.Value) || math.IsInf(f.Value, 0) || math.IsNaN(f.Lo) || math.IsNaN(f.Hi) {
			t.Fatalf("figure %s is %g (%g to %g)", f.Key, f.Value, f.Lo, f.Hi)
		}
	}
	if _, err := json.Marshal(r); err != nil {
		t.Fatalf("the result does not write: %v", err)
	}
	for _, f := range Review(context.Background(), r) {
		for _, text := range []string{f.Title, f.Value, f.Limit, f.Margin, fixes(f), f.Why} {
			if strings.Contains(text, "NaN") || strings.Contains(text, "∞") || strings.Contains(text, "%!") {
				t.Fatalf("%s of %s prints %q", f.Check, f.Subject, text)
			}
		}
	}
	return true
}

// TestSpoiltFiles: a good lamp, spoilt at random, is refused with a problem, or computed without a panic and without a
// figure that is no number.
func TestSpoiltFiles(t *testing.T) {
	demo, err := os.ReadFile("../../examples/long-tank-first/lamp.yaml")
	if err != nil {
		t.Fatal(err)
	}
	loaded, all := 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		lamp, parts := baseLamp, baseParts
		if rapid.IntRange(0, 3).Draw(rt, "which") == 0 {
			lamp = string(demo)
		}
		for range rapid.IntRange(1, 2).Draw(rt, "changes") {
			if rapid.Bool().Draw(rt, "parts") {
				parts = mutated(rt, parts)
			} else {
				lamp = mutated(rt, lamp)
			}
		}
		all++
		if check(rt, lamp, parts) {
			loaded++
		}
	})
	t.Logf("%d of %d spoilt lamps load", loaded, all)
}

// TestExtremes: values at the far ends of what the format takes.
func TestExtremes(t *testing.T) {
	for _, tt := range []struct {
		name  string
		edits []edit
		parts string
	}{
		{"a current of a billionth", []edit{current("1 nA")}, ""},
		{"a current of a thousand amperes", []edit{current("1 kA")}, ""},
		{"a lamp on the moon", []edit{{"hanging_height: 300 mm", "hanging_height: 400000 km"}}, ""},
		{"a lamp on the bench", []edit{{"hanging_height: 300 mm", "hanging_height: 1 nm"}}, ""},
		{
			"a bench of a micrometre",
			[]edit{{"inside: {length: 400 mm, width: 400 mm}", "inside: {length: 1 µm, width: 1 µm}"}},
			"",
		},
		{
			"a bench of a thousand kilometres",
			[]edit{{"inside: {length: 400 mm, width: 400 mm}", "inside: {length: 1000 km, width: 1 mm}"}},
			"",
		},
		{"dies that give nearly nothing", []edit{{"radiant_flux: 0.5 W", "radiant_flux: 1 pW"}}, ""},
		{"dies that give more than they get", []edit{{"radiant_flux: 0.5 W", "radiant_flux: 1 MW"}}, ""},
		{
			"light that falls to nothing at once",
			[]edit{{"{-50 °C: 100 %, 250 °C: 100 %}", "{24.9 °C: 100 %, 25.1 °C: 0 %}"}},
			"",
		},
		{
			"light that is dark at the test point",
			[]edit{{"{-50 °C: 100 %, 250 °C: 100 %}", "{0 °C: 0 %, 25 °C: 0 %, 50 °C: 100 %}"}},
			"",
		},
		{
			"light that is dark at the test current",
			[]edit{{"{0.1 A: 20 %, 1.1 A: 220 %}", "{0.1 A: 0 %, 0.5 A: 0 %, 1.1 A: 220 %}"}},
			"",
		},
		{
			"a wire in a wall of insulation",
			[]edit{
				fromDriver,
				leadOf(
					"insulation_thickness: 1000 km, insulation_temperature_rating: 100000 °C, resistance: 0.000001 " +
						"Ω/km",
				),
			},
			"",
		},
		{
			"a wire that is none",
			[]edit{
				fromDriver,
				leadOf(
					"insulation_thickness: 0.000001 µm, insulation_temperature_rating: -200 °C, cross_section: " +
						"0.000001 mm², resistance: 1000000 Ω/km",
				),
			},
			"",
		},
		{
			"a supply that gives all there is",
			[]edit{fromDriver, sheetSays("overload_current: 1000000 A"), outputFuse("rated_current: 1 µA")},
			"",
		},
		{"a voltage that falls without end", []edit{{"voltage_tempco: 0 mV/K", "voltage_tempco: -10 V/K"}}, ""},
		{
			"a sink like a needle",
			[]edit{{"{0.1 W: 5 K/W, 100 W: 5 K/W}", "{0.1 W: 1000000 K/W, 100 W: 1000000 K/W}"}},
			"",
		},
		{
			"a sink like the sea",
			[]edit{{"{0.1 W: 5 K/W, 100 W: 5 K/W}", "{0.1 W: 0.000001 K/W, 100 W: 0.000001 K/W}"}},
			"",
		},
		{"a sink from no power on", []edit{{"{0.1 W: 5 K/W, 100 W: 5 K/W}", "{0 W: 5 K/W, 100 W: 5 K/W}"}}, ""},
		{
			"a sink that falls below nothing beyond its curve",
			[]edit{{"{0.1 W: 5 K/W, 100 W: 5 K/W}", "{0.1 W: 5 K/W, 0.2 W: 1 K/W}"}},
			"",
		},
		{
			"a base of a micrometre",
			[]edit{{"base: {length: 60 mm, width: 60 mm}", "base: {length: 1 µm, width: 1 µm}"}},
			"",
		},
		{"a junction that insulates", []edit{{"thermal_resistance: 5 K/W", "thermal_resistance: 1000000 K/W"}}, ""},
		{
			"a core of a nanometre",
			[]edit{{"thickness: 2 mm", "thickness: 1 nm"}, {"{2 mm: 5 EUR}", "{0.000001 mm: 5 EUR}"}},
			"",
		},
		{"a core of a metre", []edit{{"thickness: 2 mm", "thickness: 1 m"}, {"{2 mm: 5 EUR}", "{1000 mm: 5 EUR}"}}, ""},
		{"a board of a metre", []edit{{"length: 60 mm, width: 60 mm, copper", "length: 1 m, width: 1 m, copper"}}, ""},
		{
			"a package without sizes",
			[]edit{
				{"    body: {length: 3.5 mm, width: 3.5 mm}\n", ""},
				{"    light_emitting_surface: {length: 3 mm, width: 3 mm}\n", ""},
				{"    thermal_pad: {length: 3 mm, width: 3 mm}\n", ""},
			},
			"",
		},
		{
			"a pad larger than the board",
			[]edit{{"thermal_pad: {length: 3 mm, width: 3 mm}", "thermal_pad: {length: 1 m, width: 1 m}"}},
			"",
		},
		{
			"a pad of a nanometre",
			[]edit{{"thermal_pad: {length: 3 mm, width: 3 mm}", "thermal_pad: {length: 1 nm, width: 1 nm}"}},
			"",
		},
		{
			"a contact beside the board",
			[]edit{
				{
					"sink: {part: block}",
					"sink: {part: block, contact: {length: 1 mm, width: 1 mm, at: [29 mm, 29 mm]}}",
				},
			},
			"",
		},
		{
			"a lens like a needle",
			[]edit{{"beam_angle: 60 deg, field_angle: 100 deg", "beam_angle: 2 deg, field_angle: 2.1 deg"}},
			"",
		},
		{
			"a lens like a plate",
			[]edit{{"beam_angle: 60 deg, field_angle: 100 deg", "beam_angle: 179 deg, field_angle: 179.5 deg"}},
			"",
		},
		{"a bare die like a needle", []edit{{", lens: optic", ""}, {"beam_angle: 120 deg", "beam_angle: 0.1 deg"}}, ""},
		{"a driver without efficiency", []edit{{"efficiency: 75 %, max", "efficiency: 0.0001 %, max"}}, ""},
		{
			"a wire of an insulator",
			[]edit{
				{"50 Ω/km", "1000000 Ω/km"},
				{"    driver: down\n", "    driver: down\n    wire: {part: lead, length: 1000 km}\n"},
			},
			"",
		},
		{
			"only infrared",
			[]edit{
				{
					"      - {at: 450 nm, width: 20 nm, share: 20 %}\n      - {at: 555 nm, width: 110 nm, share: " +
						"59.5 %}\n      - {at: 620 nm, width: 90 nm, share: 20.5 %}\n",
					"      - {at: 1000 nm, width: 1 nm}\n",
				},
			},
			"",
		},
		{
			"lumens of infrared",
			[]edit{
				{
					"      - {at: 450 nm, width: 20 nm, share: 20 %}\n      - {at: 555 nm, width: 110 nm, share: " +
						"59.5 %}\n      - {at: 620 nm, width: 90 nm, share: 20.5 %}\n",
					"      - {at: 1000 nm, width: 1 nm}\n",
				},
				{"radiant_flux: 0.5 W", "flux: 1 lm"},
			},
			"",
		},
		{
			"a spectrum that is dark",
			[]edit{
				{
					"    peaks:\n      - {at: 450 nm, width: 20 nm, share: 20 %}\n      - {at: 555 nm, width: 110 " +
						"nm, share: 59.5 %}\n      - {at: 620 nm, width: 90 nm, share: 20.5 %}\n",
					"    spectrum: {400 nm: 0, 500 nm: 0}\n",
				},
			},
			"",
		},
		{
			"a spectrum below zero",
			[]edit{
				{
					"    peaks:\n      - {at: 450 nm, width: 20 nm, share: 20 %}\n      - {at: 555 nm, width: 110 " +
						"nm, share: 59.5 %}\n      - {at: 620 nm, width: 90 nm, share: 20.5 %}\n",
					"    spectrum: {400 nm: -1, 500 nm: -2}\n",
				},
			},
			"",
		},
		{
			"a dimming level of nearly nothing",
			[]edit{
				{"    driver: down\n", "    driver: down\n    level: 0.0000001 %\n"},
				{"dimming: none", "dimming: pwm, dimming_frequency: 1 kHz"},
			},
			"",
		},
		{"air that hardly moves", []edit{{"speed: 100 %", "speed: 0.0001 %"}}, "fan"},
		{"a fan like a coin", []edit{{"frame: 60 mm", "frame: 1 µm"}}, "fan"},
		{"high in the hills", []edit{{"min: 15 °C}", "min: 15 °C}\n  altitude: 6000 m"}}, ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			l := lampVariant{}
			if tt.parts == "fan" {
				l = withFan(l)
			}
			l = l.with(tt.edits...)
			lampText, parts := baseLamp, baseParts
			for _, e := range l.edits {
				if strings.Count(lampText, e.old)+strings.Count(parts, e.old)+strings.Count(l.parts, e.old) != 1 {
					t.Fatalf("the text %q does not stand once", e.old)
				}
				lampText, parts, l.parts = strings.Replace(
					lampText, e.old, e.now, 1,
				), strings.Replace(parts, e.old, e.now, 1), strings.Replace(l.parts, e.old, e.now, 1)
			}
			began := time.Now()
			check(t, lampText, parts+l.parts)
			// A second or two each; this finds what practically does not end, on a slow machine with -race as well.
			if took := time.Since(began); took > 3*time.Minute {
				t.Errorf("it took %s", took)
			}
		})
	}
}
