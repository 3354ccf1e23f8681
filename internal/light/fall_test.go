package light

import (
	"math"
	"testing"
)

// TestFall: 14 mm from 220 mm: (220/234)² = 0.88392. Under 300 mm of n = 1.333: (445.06/448.55)² = 0.98448. A target at
// the surface that falls with Δ = d is reached through air alone: (h + d/n)²/(h + d)².
func TestFall(t *testing.T) {
	for _, tt := range []struct {
		what      string
		got, want float64
	}{
		{"surface", FallSurface(0.22, 0.014), 0.88392},
		{"target", FallTarget(0.22, 0.3, 0.014, 1.333), 0.98448},
		{"all water gone", FallTarget(0.2, 0.1, 0.1, 1.25), math.Pow(0.28/0.3, 2)},
		{"no index", FallTarget(0.2, 0.1, 0.05, 1), 1},
	} {
		if math.Abs(tt.got-tt.want) > 2e-5 {
			t.Errorf("%s: %.5f, want %.5f (by hand)", tt.what, tt.got, tt.want)
		}
	}
}
