package life

import (
	"math"
	"slices"
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

func TestProjectPublishedSet(t *testing.T) {
	// Averages of the public 6000 h set of 20 units, as their mean works out; US DOE slide deck on TM-21.
	m := Maintenance{
		Hours: []float64{0, 500, 1000, 2000, 3000, 4000, 5000, 6000},
		Mean:  []float64{1, 0.98305, 0.96795, 0.97185, 0.96665, 0.95990, 0.95525, 0.95415},
		Units: 20,
	}
	p := must[Projection](t)(m.Project())
	const fit = "least squares over 1000 h to 6000 h, computed outside this program"
	compare(t, []check{
		{"α", p.AlphaPerH, 3.728292e-6, 4e-10, fit},
		{"B", p.B, 0.975246, 1e-6, fit},
		{"L90", p.Life(0.9).Hours, 21536.5, 10, fit},
		{"L80", p.Life(0.8).Hours, 53128.2, 25, fit},
		{"L70", p.Life(0.7).Hours, 88943.9, 45, fit},
		{"limit", p.LimitH, 36000, 0, "6 × 6000 h, 20 units, TM-21"},
		{"points", float64(p.FitPoints), 6, 0, "1000 h to 6000 h"},
	})
	for share, want := range map[float64]string{0.9: "L90(6k) = 21500 h", 0.8: "L80(6k) > 36000 h", 0.7: "L70(6k) > 36000 h"} {
		if got := p.Life(share).Text; got != want {
			t.Errorf("reported %q, want %q (TM-21 notation)", got, want)
		}
	}
	m.Units = 12
	compare(t, []check{{"limit of 12 units", must[Projection](t)(m.Project()).LimitH, 33000, 0, "5.5 × 6000 h, TM-21"}})
}

func TestInterpolatePublishedExample(t *testing.T) {
	cool := Projection{AlphaPerH: 1.684e-6, B: 0.9639, Units: 20, TestH: 10000, LimitH: 60000}
	hot := Projection{AlphaPerH: 3.354e-6, B: 0.9525, Units: 20, TestH: 10000, LimitH: 60000}
	b := must[Interpolated](t)(Interpolate(cool, hot, 328.15, 358.15, 343.15))
	const deck = "US DOE slide deck on TM-21, 55 °C and 85 °C, in situ 70 °C"
	compare(t, []check{
		{"Ea/k", b.EaOverKK, 2699, 2.7, deck},
		{"A", b.PreFactorH, 6.283e-3, 1e-5, deck + "; 6.288e-3 where Ea/k is not rounded"},
		{"B0", b.B, 0.9582, 1e-4, deck},
		{"α", b.AlphaPerH, 2.413e-6, 2.4e-9, deck},
		{"L70", b.Life(0.7).Hours, 130131, 130, deck},
	})
	if got := b.Life(0.7).Text; got != "L70(10k) > 60000 h" {
		t.Errorf("reported %q (%s)", got, deck)
	}
	if b := must[Interpolated](t)(Interpolate(cool, hot, 328.15, 358.15, 310)); b.AlphaPerH != cool.AlphaPerH || len(b.Notes) != 1 {
		t.Errorf("cooler than all tests: %+v", b)
	}
	if b := must[Interpolated](t)(Interpolate(cool, hot, 328.15, 358.15, 358.15)); b.AlphaPerH != hot.AlphaPerH {
		t.Errorf("at the hotter test: %+v", b)
	}
	if b := must[Interpolated](t)(Interpolate(hot, cool, 328.15, 358.15, 340)); b.AlphaPerH != hot.AlphaPerH || len(b.Notes) != 1 {
		t.Errorf("falling α must take the worse set: %+v", b)
	}
	if _, err := Interpolate(cool, hot, 328.15, 358.15, 359); err == nil {
		t.Error("hotter than all tests gave no error")
	}
	if _, err := Interpolate(cool, hot, 358.15, 328.15, 340); err == nil {
		t.Error("tests in the wrong order gave no error")
	}
}

func TestProjectFindsAnExponential(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		alpha := rapid.Float64Range(1e-7, 1e-5).Draw(t, "alpha")
		b := rapid.Float64Range(0.9, 1.05).Draw(t, "B")
		m := Maintenance{Units: 20}
		last := 1000 * float64(rapid.IntRange(6, 20).Draw(t, "kh"))
		for h := 0.0; h <= last; h += 1000 {
			at := h
			if h >= 1000 {
				at += rapid.Float64Range(-48, 48).Draw(t, "late")
			}
			m.Hours, m.Mean = append(m.Hours, at), append(m.Mean, b*math.Exp(-alpha*at))
		}
		m.Mean[0] = 1 // the first hours do not follow the later fall, and must not count
		p, err := m.Project()
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(p.AlphaPerH-alpha) > 1e-6*alpha || math.Abs(p.B-b) > 1e-9 {
			t.Fatalf("α %g of %g, B %g of %g", p.AlphaPerH, alpha, p.B, b)
		}
		test := m.Hours[len(m.Hours)-1]
		if from := math.Max(mark(test)-5000, 1000); mark(test) <= 10000 && mark(p.FitFromH) != from {
			t.Fatalf("fit from %g h, want %g", p.FitFromH, from)
		}
	})
}

func TestFitWindow(t *testing.T) {
	kh := func(h ...float64) []float64 {
		for i := range h {
			h[i] *= 1000
		}
		return h
	}
	for _, tt := range []struct {
		name  string
		hours []float64
		want  float64
	}{
		{"6000 h", kh(0, 1, 2, 3, 4, 5, 6), 1000},
		{"10 000 h", kh(0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10), 5000},
		{"14 000 h", kh(0, 1, 2, 4, 6, 7, 8, 10, 12, 14), 7000},
		{"15 000 h without 7500", kh(0, 1, 3, 5, 7, 8, 10, 12, 15), 7000},
		{"a reading near the mark", kh(0, 0.96, 2, 4, 6), 960},
		{"a reading too far from it", kh(0, 0.94, 2, 4, 6), 2000},
	} {
		got := tt.hours[firstOfFit(tt.hours, mark(tt.hours[len(tt.hours)-1]))]
		if math.Abs(got-tt.want) > 1e-9 {
			t.Errorf("%s: fit from %g h, want %g (TM-21 §5.2)", tt.name, got, tt.want)
		}
	}
}

func TestLifeWithinTheTest(t *testing.T) {
	m := Maintenance{Hours: []float64{0, 1000, 2000, 3000, 4000, 5000, 6000}, Mean: []float64{1, 0.98, 0.95, 0.91, 0.87, 0.82, 0.78}, Units: 20}
	l := must[Projection](t)(m.Project()).Life(0.9)
	if !l.Measured || math.Abs(l.Hours-3250) > 1e-6 {
		t.Errorf("L90 = %+v, want 3250 h between the readings", l)
	}
	m.Mean = []float64{1, 1, 1.01, 1.02, 1.02, 1.03, 1.03}
	if l := must[Projection](t)(m.Project()).Life(0.7); l.Finite || !l.Beyond || l.Text != "L70(6k) > 36000 h" {
		t.Errorf("light that rises: %+v", l)
	}
}

func TestMaintenanceErrors(t *testing.T) {
	good := Maintenance{Hours: []float64{0, 1000, 6000}, Mean: []float64{1, 0.99, 0.95}, Units: 10}
	if _, err := good.Project(); err != nil {
		t.Error(err)
	}
	for name, spoil := range map[string]func(*Maintenance){
		"units":    func(m *Maintenance) { m.Units = 9 },
		"short":    func(m *Maintenance) { m.Hours[2] = 5900 },
		"order":    func(m *Maintenance) { m.Hours[1] = 7000 },
		"zero":     func(m *Maintenance) { m.Mean[1] = 0 },
		"NaN":      func(m *Maintenance) { m.Mean[1] = math.NaN() },
		"lengths":  func(m *Maintenance) { m.Mean = m.Mean[:2] },
		"one left": func(m *Maintenance) { m.Hours[1] = 900 },
	} {
		m := Maintenance{Hours: slices.Clone(good.Hours), Mean: slices.Clone(good.Mean), Units: good.Units}
		spoil(&m)
		if _, err := m.Project(); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	for name, f := range map[string]func() (Maintenance, error){
		"no units":  func() (Maintenance, error) { return Average([]float64{0}, nil) },
		"start":     func() (Maintenance, error) { return Average([]float64{500}, [][]float64{{1}}) },
		"ragged":    func() (Maintenance, error) { return Average([]float64{0, 1}, [][]float64{{1}}) },
		"dark unit": func() (Maintenance, error) { return Average([]float64{0}, [][]float64{{0}}) },
	} {
		if _, err := f(); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	m := must[Maintenance](t)(Average([]float64{0, 1000}, [][]float64{{2, 1.8}, {4, 3.8}}))
	compare(t, []check{{"mean of ratios", m.Mean[1], (0.9 + 0.95) / 2, 1e-12, "TM-21 §5.2"}})
}

func TestAgeing(t *testing.T) {
	compare(t, []check{
		{"10 K rule", CapacitorLife(8000, 378.15, 348.15), 64000, 1e-6, "common practice"},
	})
}
