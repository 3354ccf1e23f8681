package colour

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestLumenMaintenance(t *testing.T) {
	for _, tt := range []struct {
		f                Family
		hours, want, tol float64
		source           string
	}{
		{Triphosphor, 8000, 0.95, 1e-12, "Akashi2002"},
		{"", 8000, 0.95, 1e-12, "an empty family is triphosphor"},
		{Halophosphate, 0, 1, 0, "new"},
		{Halophosphate, 8000, 0.74, 0.02, "CIE97, cited from memory"},
		{Halophosphate, 12000, 0.71, 0.02, "CIE97, cited from memory"},
		{Halophosphate, 20000, 0.71, 0.02, "constant after the last row"},
		{MetalHalide, 4000, 0.82, 0.02, "CIE97, cited from memory"},
		{MetalHalide, 12000, 0.73, 0.02, "CIE97, cited from memory"},
		{Incandescent, 5000, 0.88, 1e-12, "constant after 2000 h"},
		{PhosphorLED, 25000, math.Sqrt(0.7), 0.01, "L70 of 50 000 h, exponential (rule of thumb, no source)"},
	} {
		if got := LumenMaintenance(tt.f, tt.hours); math.Abs(got-tt.want) > tt.tol {
			t.Errorf("%q after %g h: %g, want %g ± %g (%s)", tt.f, tt.hours, got, tt.want, tt.tol, tt.source)
		}
	}
	// The mean of 1 − a (1 − exp(−t/τ)) to T is 1 − a (1 − τ/T (1 − exp(−T/τ))), exactly.
	a, hours := 0.05/(1-math.Exp(-3.2)), 6000.0
	want := 1 - a*(1-2500/hours*(1-math.Exp(-hours/2500)))
	if got := MeanLumenMaintenance(Triphosphor, hours); math.Abs(got-want) > 1e-9 {
		t.Errorf("mean to %g h: %.10f, want %.10f", hours, got, want)
	}
	if got := MeanLumenMaintenance(MetalHalide, 0); got != 1 {
		t.Errorf("mean of a new lamp: %g", got)
	}
}

func TestMaintenanceFalls(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.SampledFrom(Families()).Draw(t, "family")
		a := rapid.Float64Range(0, 6e4).Draw(t, "hours")
		b := a + rapid.Float64Range(0, 1e4).Draw(t, "more")
		early, late, mean := LumenMaintenance(f, a), LumenMaintenance(f, b), MeanLumenMaintenance(f, b)
		if late > early || late <= 0 || early > 1 || mean < late-1e-9 || mean > 1+1e-9 {
			t.Errorf("%s: %g after %g h, %g after %g h, mean %g", f, early, a, late, b, mean)
		}
	})
}

func TestMaintenanceNotes(t *testing.T) {
	for _, tt := range []struct {
		f     Family
		hours float64
		note  string
	}{
		{Triphosphor, 8000, ""},
		{Triphosphor, 8001, "known to 8000 h"},
		{MetalHalide, 0, ""},
		{MetalHalide, 3000, "±5 %"},
		{Incandescent, 2500, "known to 2000 h"},
	} {
		if got := maintenanceNote(tt.f, tt.hours); (got == "") != (tt.note == "") || !strings.Contains(got, tt.note) {
			t.Errorf("%s after %g h: note %q, want %q", tt.f, tt.hours, got, tt.note)
		}
	}
}
