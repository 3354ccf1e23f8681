package project

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"pgregory.net/rapid"
)

const goodCalibration = `lampwright_calibration: 1
made: 2031-09-13
from: [first light, "2031-09-12"]
readings: 38
checksum: 8f2c41d0
parameters:
  - name: emitter.white/9 V.flux
    value: 0.962
    sd: 0.021
    prior: 1
    prior_sd: 0.04
    basis: "emitter white, die configuration 9 V, 540 lm at 450 mA"
  - name: tim.resistance_offset
    value: 1.25e-05
    sd: 3e-06
    basis: thermal interface tim-paste-3w
    correlations: [-0.61]
  - name: lens.lens-52.efficiency
    value: 0.9
    sd: 0.01
    basis: lens lens-52
    correlations: [-0.5, 0.25]
`

func loadCalibration(text string) (*Calibration, string) {
	c, problems := LoadCalibration(fstest.MapFS{CalibrationFile: {Data: []byte(text)}})
	return c, problems.Error()
}

// TestLoadCalibration: every value of the file, and the file again from them.
func TestLoadCalibration(t *testing.T) {
	c, wrong := loadCalibration(goodCalibration)
	if c == nil {
		t.Fatal(wrong)
	}
	want := fmt.Sprintf("%+v", &Calibration{
		Made: "2031-09-13", From: []string{"first light", "2031-09-12"}, Readings: 38, Checksum: "8f2c41d0",
		Parameters: []Learned{
			{"emitter.white/9 V.flux", 0.962, 0.021, 1, 0.04, "emitter white, die configuration 9 V, 540 lm at 450 mA"},
			{"tim.resistance_offset", 1.25e-5, 3e-6, 0, 0, "thermal interface tim-paste-3w"},
			{"lens.lens-52.efficiency", 0.9, 0.01, 0, 0, "lens lens-52"},
		},
		Correlations: [][]float64{{}, {-0.61}, {-0.5, 0.25}},
	})
	if got := fmt.Sprintf("%+v", c); got != want {
		t.Errorf("read\n%s\nwant\n%s", got, want)
	}
	if got := string(c.Text()); got != strings.Replace(goodCalibration, `"2031-09-12"`, "2031-09-12", 1) {
		t.Errorf("written\n%s\nwant\n%s", got, goodCalibration)
	}
	if c, problems := LoadCalibration(fstest.MapFS{}); c != nil || len(problems) > 0 {
		t.Errorf("without the file: %v, %v", c, problems)
	}
}

// TestBadCalibration: each mistake is reported at its line and column.
func TestBadCalibration(t *testing.T) {
	for _, tt := range []struct{ was, is, want string }{
		{"sd: 0.021", "sd: 0", "calibration.yaml:9:9: sd \"0\""},
		{"sd: 0.021", "sd: -0.021", "calibration.yaml:9:9: sd \"-0.021\""},
		{"value: 0.962", "value: NaN", "calibration.yaml:8:12: value \"NaN\""},
		{"value: 0.962", "value: .inf", "calibration.yaml:8:12: value \".inf\""},
		{"value: 0.962", "value: 0,962", "calibration.yaml:8:12: value \"0,962\""},
		{"value: 0.962", "value: 96.2 %", "calibration.yaml:8:12: value \"96.2 %\""},
		{"value: 0.962", "value: 0.962 ± 0.02", "calibration.yaml:8:12: \"0.962 ± 0.02\" has a tolerance"},
		{"[-0.61]", "[-1]", "calibration.yaml:17:20: correlations[0] \"-1\""},
		{"[-0.61]", "[1.2]", "calibration.yaml:17:20: correlations[0] \"1.2\""},
		{
			"[-0.61]", "[-0.61, 0]",
			"calibration.yaml:17:20: \"tim.resistance_offset\" has 2 correlation coefficients; required 1",
		},
		{"[-0.5, 0.25]", "[0.9, 0.9]", "calibration.yaml:22:20: the correlations of \"lens.lens-52.efficiency\""},
		{"name: lens.lens-52.efficiency", "name: tim.resistance_offset", "calibration.yaml:18:11: parameter"},
		{"made: 2031-09-13", "made: 2031-09-31", "calibration.yaml:2:7: \"2031-09-31\" is no date"},
		{"readings: 38", "readings: 0", "calibration.yaml:4:11: readings \"0\""},
		{"checksum", "checksam", "calibration.yaml:5:1: \"checksam\" is not a key"},
		{"_calibration: 1", "_calibration: 2", "calibration.yaml:1:25: "},
	} {
		if !strings.Contains(goodCalibration, tt.was) {
			t.Fatalf("no %q in the good file", tt.was)
		}
		c, wrong := loadCalibration(strings.Replace(goodCalibration, tt.was, tt.is, 1))
		if c != nil || !strings.Contains(wrong, tt.want) {
			t.Errorf("%s in place of %s: %q, want %q", tt.is, tt.was, wrong, tt.want)
		}
	}
}

// TestManyLearned: a file of more parameters than can be learned is refused before its matrix is factorised.
func TestManyLearned(t *testing.T) {
	text := goodCalibration
	for i := range maxLearned {
		text += fmt.Sprintf("  - {name: p%d, value: 1, sd: 1, basis: x}\n", i)
	}
	if c, wrong := loadCalibration(text); c != nil || !strings.Contains(wrong, "the file has 403 parameters; 400 is") {
		t.Errorf("403 parameters: %v", wrong)
	}
}

// TestCalibrationText: what is written is read as it was, for any names and texts, to six digits of values and eight of
// correlations.
func TestCalibrationText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[ -~°Ω²]{1,20}`).Filter(func(s string) bool { return strings.TrimSpace(s) != "" })
		n := rapid.IntRange(1, 4).Draw(t, "n")
		c := &Calibration{
			Made: "2031-09-13", From: []string{text.Draw(t, "from")}, Readings: 3, Checksum: text.Draw(t, "checksum"),
		}
		for i := range n {
			c.Parameters = append(c.Parameters, Learned{
				Name: fmt.Sprintf("p%d %s", i, text.Draw(t, "name")), Basis: text.Draw(t, "basis"),
				Value: rapid.Float64Range(-1e3, 1e3).Draw(t, "value"), SD: rapid.Float64Range(1e-9, 1e3).Draw(t, "sd"),
			})
			row := make([]float64, i)
			for j := range row {
				row[j] = rapid.Float64Range(-0.3, 0.3).Draw(t, "rho")
			}
			c.Correlations = append(c.Correlations, row)
		}
		got, problems := parseCalibration(c.Text())
		if got == nil {
			t.Fatalf("%v\n%s", problems, c.Text())
		}
		if got.From[0] != c.From[0] || got.Checksum != c.Checksum || len(got.Parameters) != n {
			t.Fatalf("read %+v, want %+v", got, c)
		}
		for i, p := range got.Parameters {
			q := &c.Parameters[i]
			if p.Name != q.Name || p.Basis != q.Basis || math.Abs(p.Value-q.Value) > 1e-5*math.Abs(q.Value) ||
				math.Abs(p.SD-q.SD) > 1e-5*q.SD {
				t.Fatalf("read %+v, want %+v", p, *q)
			}
			if !slices.EqualFunc(got.Correlations[i], c.Correlations[i], func(a, b float64) bool {
				return math.Abs(a-b) < 1e-7
			}) {
				t.Fatalf("read %v, want %v", got.Correlations[i], c.Correlations[i])
			}
		}
	})
}

// FuzzCalibration: any bytes give a calibration or problems; what is read is written and read again.
func FuzzCalibration(f *testing.F) {
	f.Add([]byte(goodCalibration))
	f.Fuzz(func(t *testing.T, data []byte) {
		c, problems := parseCalibration(data)
		if (c == nil) == (len(problems) == 0) {
			t.Fatalf("calibration %v, problems %v", c, problems)
		}
		if c == nil {
			return
		}
		if again, problems := parseCalibration(c.Text()); again == nil {
			t.Fatalf("%v\n%s", problems, c.Text())
		}
	})
}
