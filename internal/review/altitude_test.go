package review

import (
	"math"
	"testing"

	"lampwright/internal/finding"
)

// TestClearanceFactor: IEC 60664-1, table A.2, from memory. Its factors are those of pressure, rounded up.
func TestClearanceFactor(t *testing.T) {
	for _, tt := range []struct{ altitudeM, want float64 }{
		{0, 1}, {2000, 1}, {2500, 1.07}, {3000, 1.14}, {4000, 1.29}, {5000, 1.48}, {6000, 1.70},
	} {
		if got := clearanceFactor(tt.altitudeM); math.Abs(got-tt.want) > 0.015*tt.want {
			t.Errorf("%g m: factor %.3f, want %.2f", tt.altitudeM, got, tt.want)
		}
	}
}

func TestAltitude(t *testing.T) {
	at := func(altitude string) lampVariant {
		return lampVariant{}.with(edit{"hanging_height: 300 mm", "hanging_height: 300 mm\n  altitude: " + altitude})
	}
	runTable(t, []side{
		{name: "not stated", lamp: lampVariant{}, check: "altitude", none: true},
		{name: "a valley", lamp: at("400 m"), check: "altitude", want: finding.Pass},
		{name: "at the limit", lamp: at("2000 m"), check: "altitude", want: finding.Pass},
		{
			name: "a high plateau", lamp: at("3000 m"), check: "altitude", want: finding.Warn,
			title: "Altitude 3000 m exceeds usual maximum of mains equipment 2000 m",
			fix:   "Use equipment whose datasheet states ≥ 3000 m",
		},
		{
			name: "rated for it", lamp: at("3000 m").with(edit{
				"protection_class: II,",
				"protection_class: II, max_altitude: 3000 m,",
			}),
			check: "altitude", title: "Altitude 3000 m, within maximum altitude 3000 m", want: finding.Pass,
		},
		{
			name: "beyond its rating", lamp: at("3000 m").with(edit{
				"protection_class: II,",
				"protection_class: II, max_altitude: 2500 m,",
			}),
			check: "altitude", title: "Altitude 3000 m exceeds maximum altitude 2500 m", want: finding.Stop,
		},
	})
}
