package wiring

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// check is one number against a source.
type check struct {
	name           string
	got, want, tol float64
	source         string
}

func compare(t *testing.T, checks []check) {
	t.Helper()
	for _, c := range checks {
		if !(math.Abs(c.got-c.want) <= c.tol) {
			t.Errorf("%s: got %.8g, want %.8g ± %g (%s)", c.name, c.got, c.want, c.tol, c.source)
		}
	}
}

func must[T any](t *testing.T) func(T, error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func TestWire(t *testing.T) {
	const table = "AWG table of a university physics site, Ω/1000 ft"
	for _, c := range []struct {
		gauge int
		kft   float64
	}{{18, 6.385}, {20, 10.15}, {22, 16.14}, {24, 25.67}} {
		w, ok := AWG(c.gauge)
		if !ok {
			t.Fatalf("no AWG %d", c.gauge)
		}
		want := c.kft / 304.8
		compare(t, []check{{w.Name, w.OhmPerM, want, 0.001 * want, table}})
	}
	w22, _ := AWG(22)
	w24, _ := AWG(24)
	compare(t, []check{
		{"drop", Drop(3, w22.OhmPerM, 1.5), 0.4767, 0.0014, "2·3·0.05296·1.5"},
		{"copper at 60 °C", CopperFactor(333.15), 1.1572, 1e-9, "IEC 60028"},
		{
			"700 circular mil/A, AWG 24", RuleOfThumb(w24.AreaMM2).BundledA, 0.577, 0.001,
			"printed beside gauge tables, common practice",
		},
		{
			"free air, AWG 24", RuleOfThumb(w24.AreaMM2).FreeAirA, 3.5, 1e-9,
			"printed beside gauge tables, common practice",
		},
	})
	// The embedded table against the formulas it comes from, to its printed digits.
	for g := 10; g <= 30; g++ {
		w, ok := AWG(g)
		d := 0.127 * math.Pow(92, float64(36-g)/39) // ASTM B258, mm
		area := math.Pi / 4 * d * d
		if !ok || math.Abs(w.AreaMM2-area) > 6e-5 || math.Abs(w.OhmPerM*1000-1000/58.0/area) > 6e-4 {
			t.Errorf(
				"AWG %d: table has %g mm² and %g Ω/m, the formulas %g and %g", g, w.AreaMM2, w.OhmPerM, area,
				1/58.0/area,
			)
		}
	}
	metric, ok := Metric(0.75, true)
	if !ok || metric.OhmPerM != 0.026 {
		t.Errorf("0.75 mm² flexible: %+v, want 0.026 Ω/m (IEC 60228 class 5, cited from memory)", metric)
	}
	// Nominal metric areas are not exact; the standard's limit is near that of solid copper of that area.
	for _, area := range []float64{0.5, 0.75, 1, 1.5, 2.5, 4} {
		for _, flexible := range []bool{false, true} {
			m, ok := Metric(area, flexible)
			if ratio := m.OhmPerM * 58 * area; !ok || ratio < 1.02 || ratio > 1.17 {
				t.Errorf("%g mm²: %g of pure copper, want 1.02 to 1.17", area, ratio)
			}
		}
	}
	if _, ok := AWG(99); ok {
		t.Error("AWG 99 found")
	}
	if _, ok := Metric(0.9, true); ok {
		t.Error("0.9 mm² found")
	}
}

func TestDropIsLinearInLength(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := rapid.Float64Range(0, 50).Draw(t, "length")
		m := rapid.Float64Range(0, 50).Draw(t, "more")
		i := rapid.Float64Range(0, 20).Draw(t, "current")
		if d := Drop(l+m, 0.033, i) - Drop(l, 0.033, i) - Drop(m, 0.033, i); math.Abs(d) > 1e-9 {
			t.Fatalf("drop is off by %g V", d)
		}
	})
}

func TestRuleOfThumbRisesWithArea(t *testing.T) {
	last := RuleOfThumb(0.02)
	for area := 0.021; area < 8; area *= 1.02 {
		a := RuleOfThumb(area)
		if a.FreeAirA < last.FreeAirA || a.BundledA <= last.BundledA || a.FreeAirA < a.BundledA {
			t.Errorf("%g mm²: %+v after %+v", area, a, last)
		}
		last = a
	}
}

func TestSuggestFuse(t *testing.T) {
	for _, tt := range []struct {
		current, wire, want, upTo float64
		found                     bool
	}{
		{1.5, 7, 2, 6.3, true},
		{1.51, 7, 2.5, 6.3, true},
		{3, 4, 4, 4, true},
		{3, 3.5, 4, 0, false},
		{3, 100, 4, 20, true},
		{16, 100, 0, 0, false},
	} {
		f := SuggestFuse(tt.current, tt.wire)
		if f.RatedA != tt.want || f.Found != tt.found || f.UpToA != tt.upTo {
			t.Errorf("SuggestFuse(%g, %g) = %g to %g, %v; want %g to %g, %v (IEC 60127 ratings, I/0.75)", tt.current, tt.wire, f.RatedA, f.UpToA, f.Found, tt.want, tt.upTo, tt.found)
		}
	}
}

func TestPreferredValues(t *testing.T) {
	for _, tt := range []struct {
		series      string
		value, want float64
	}{
		{"E24", 0.28571, 0.3},
		{"E96", 0.28571, 0.287},
		{"E12", 0.28571, 0.27},
		{"E96", 1234, 1240},
		{"E12", 9.9, 10},
		{"E12", 10, 10},
		{"E3", 1e-6, 1e-6},
	} {
		if got := must[float64](t)(Nearest(tt.series, tt.value)); got != tt.want {
			t.Errorf("Nearest(%s, %g) = %g, want %g (IEC 60063)", tt.series, tt.value, got, tt.want)
		}
	}
	// The finer series follow 10^(i/n) to two decimals, with one exception.
	for name, n := range map[string]int{"E48": 48, "E96": 96, "E192": 192} {
		values := must[[]float64](t)(Series(name))
		if len(values) != n {
			t.Fatalf("%s has %d values", name, len(values))
		}
		for i, v := range values {
			want := math.Round(100*math.Pow(10, float64(i)/float64(n))) / 100
			if n == 192 && i == 185 {
				want = 9.20
			}
			if v != want {
				t.Errorf("%s value %d is %g, want %g (IEC 60063)", name, i, v, want)
			}
		}
	}
	if _, err := Nearest("E7", 1); err == nil {
		t.Error("E7 gave no error")
	}
	for _, bad := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if _, err := Nearest("E24", bad); err == nil {
			t.Errorf("%g gave no error", bad)
		}
	}
	s := must[Sense](t)(SenseResistor(0.2, 0.7, "E96", false, 0.03, 0.01))
	compare(t, []check{
		{"sense", s.Ohm, 0.287, 0, "E96"},
		{"current", s.CurrentA, 0.69686, 5e-6, "0.2/0.287"},
		{"error", s.Error, -0.0045, 5e-5, "0.2/0.287/0.7 − 1"},
		{"power", s.PowerW, 0.2 * 0.2 / 0.287, 1e-12, "V²/R"},
	})
	if lim := must[Sense](t)(SenseResistor(0.2, 0.7, "E24", true, 0, 0)); lim.Ohm != 0.3 {
		t.Errorf("limit takes %g Ω, want the next above, 0.3", lim.Ohm)
	}
}

func TestPreferredNeighbours(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.SampledFrom([]string{"E3", "E6", "E12", "E24", "E48", "E96", "E192"}).Draw(t, "series")
		v := math.Pow(10, rapid.Float64Range(-8.9, 11.9).Draw(t, "decades"))
		if down, err := AtMost(name, v); err != nil || down > v*(1+1e-12) {
			t.Fatalf("%s at most %g: %g, %v", name, v, down, err)
		}
		up, err := AtLeast(name, v)
		if err != nil {
			t.Fatal(err)
		}
		near, err := Nearest(name, v)
		if err != nil {
			t.Fatal(err)
		}
		if up < v*(1-1e-12) || near > up {
			t.Fatalf("%s at %g: at least %g, nearest %g", name, v, up, near)
		}
		again, err := Nearest(name, near)
		if err != nil || again != near {
			t.Fatalf("%s: %g is preferred, yet its nearest is %g (%v)", name, near, again, err)
		}
	})
}

func TestInsulation(t *testing.T) {
	for _, tt := range []struct {
		v    float64
		s    Surface
		want float64
	}{
		{50, Surface{PollutionDegree: 2, MaterialGroup: 1}, 0.6},
		{50, Surface{PollutionDegree: 2, MaterialGroup: 3}, 1.2},
		{50, Surface{PollutionDegree: 3, MaterialGroup: 3}, 1.9},
		{50, Surface{PollutionDegree: 3, MaterialGroup: 1}, 1.5},
		{51, Surface{PollutionDegree: 2, MaterialGroup: 3}, 1.25},
		{250, Surface{PollutionDegree: 2, PrintedWiring: true}, 1.0},
		{250, Surface{PollutionDegree: 1}, 0.56},
		{0, Surface{PollutionDegree: 1, PrintedWiring: true}, 0.025},
	} {
		r := must[Requirement](t)(Creepage(tt.v, tt.s))
		if r.Value != tt.want || r.Caution == "" || r.Source == "" {
			t.Errorf("Creepage(%g, %+v) = %+v, want %g mm (IEC 60664-1 table F.4 as reprinted)", tt.v, tt.s, r, tt.want)
		}
	}
	for _, bad := range []struct {
		v float64
		s Surface
	}{
		{401, Surface{PollutionDegree: 1}},
		{50, Surface{}},
		{50, Surface{PollutionDegree: 2}},
		{50, Surface{PollutionDegree: 3, PrintedWiring: true}},
		{math.NaN(), Surface{PollutionDegree: 1}},
	} {
		if _, err := Creepage(bad.v, bad.s); err == nil {
			t.Errorf("Creepage(%g, %+v) gave no error", bad.v, bad.s)
		}
	}
	for _, tt := range []struct {
		p    Place
		ac   bool
		want float64
	}{
		{ExtraLow, true, 50},
		{ExtraLow, false, 120},
		{Dry, true, 25},
		{Dry, false, 60},
		{Wet, true, 12},
		{Wet, false, 30},
	} {
		if r := must[Requirement](t)(TouchVoltage(tt.p, tt.ac)); r.Value != tt.want || r.Caution == "" {
			t.Errorf("TouchVoltage(%s, %v) = %+v, want %g (IEC 61140, IEC 60364)", tt.p, tt.ac, r, tt.want)
		}
	}
	if _, err := TouchVoltage("moon", false); err == nil {
		t.Error("an unknown place gave no error")
	}
	selv, mains := CheckDielectric(36, 100e-6, 3000, 120, true), CheckDielectric(200, 0, 0, 0, false)
	compare(t, []check{
		{"field", selv.FieldVM, 3.6e5, 1e-6, "V/t"},
		{"ratio", selv.BreakdownRatio, 3000.0 / 36, 1e-9, "definition"},
		{"margin", selv.RatedMarginV, 84, 1e-12, "definition"},
		{"test, SELV", selv.Test.Value, 500, 0, "IEC 60598-1 §10.2, cited from memory"},
		{"test, mains", mains.Test.Value, 1400, 0, "2U + 1000, IEC 60598-1 §10.2, cited from memory"},
	})
	if selv.Hazard || !mains.Hazard || !strings.Contains(strings.Join(mains.Notes, " "), "qualified person") {
		t.Errorf("mains without separation must be a hazard and say so: %+v", mains)
	}
}
