package life

import (
	"math"
	"testing"
)

// Rows of data/maintenance.csv, interpolated by hand.
func TestLuminaireMaintenance(t *testing.T) {
	for _, tt := range []struct {
		surface Surface
		years   float64
		want    float64
	}{
		{Lens, 0, 1},
		{Lens, 0.25, 0.97},
		{Lens, 0.125, 0.985},
		{Lens, 0.75, 0.93},
		{Lens, 9, 0.80},
		{LensNearWater, 1, 0.75},
		{DryCover, 0.5, 0.945},
		{WetCover, 0.25, 0.857},
	} {
		if got := LuminaireMaintenance(tt.surface, tt.years); math.Abs(got-tt.want) > 1e-12 {
			t.Errorf("%s after %g years: %g, want %g", tt.surface, tt.years, got, tt.want)
		}
	}
	for _, tt := range []struct{ heightM, want float64 }{
		{0.05, 0.75}, {0.1, 0.75}, {0.15, 0.83}, {0.2, 0.91}, {math.Inf(1), 0.91},
	} {
		if got := LensMaintenance(tt.heightM, 1); math.Abs(got-tt.want) > 1e-12 {
			t.Errorf("lens %g m over water after a year: %g, want %g", tt.heightM, got, tt.want)
		}
	}
}
