package engine

import (
	"math"
	"testing"

	"lampwright/internal/intensity"
	"lampwright/internal/light"
)

// TestAxisIrradiance compares the light before lenses with closed forms.
func TestAxisIrradiance(t *testing.T) {
	beam, err := intensity.CosineBeam(30 * math.Pi / 180)
	if err != nil {
		t.Fatal(err)
	}
	m := intensity.CosineExponent(30 * math.Pi / 180)
	peak := (m + 1) / (2 * math.Pi)
	at := func(xM float64, p AxisPlace) float64 { return p.irradiance(light.Emitter{XM: xM, Distribution: beam}) }
	for _, tt := range []struct {
		name      string
		got, want float64
		tol       float64
		source    string
	}{
		{"on the axis", at(0, AxisPlace{DistanceM: 0.5}), peak / 0.25, 1e-12, "exact: I/d²"},
		{
			"beside the axis, 0.3 m", at(0.04, AxisPlace{DistanceM: 0.3}) / (peak / 0.09), 0.8166, 1e-4,
			"exact: (d²/(d² + r²))^((m + 3)/2), two lenses at ±40 mm, 30°",
		},
		{"beside the axis, 1 m", at(-0.04, AxisPlace{DistanceM: 1}) / peak, 0.98178, 1e-5, "the same"},
		{
			"meter under the lens", at(0.04, AxisPlace{DistanceM: 0.3, XM: 0.04}), peak / 0.09, 1e-12, "exact",
		},
		{
			"lamp turned by 20°", at(0, AxisPlace{DistanceM: 2, TurnRad: 20 * math.Pi / 180}),
			peak * math.Pow(math.Cos(20*math.Pi/180), m) / 4, 1e-12, "exact: I(20°)/d²; the meter faces the lamp",
		},
		{"behind the lamp", at(0, AxisPlace{DistanceM: 2, TurnRad: 100 * math.Pi / 180}), 0, 0, "no light"},
	} {
		if math.Abs(tt.got-tt.want) > tt.tol {
			t.Errorf("%s: %.9g, want %.9g ± %g (%s)", tt.name, tt.got, tt.want, tt.tol, tt.source)
		}
	}
}

// TestAround interpolates between the centres of cells.
func TestAround(t *testing.T) {
	m := UnitMap{LengthM: 0.4, WidthM: 0.2, NX: 4, NY: 2}
	value := func(x, y float64) (v float64) {
		cells, shares := m.around(x, y)
		for i, c := range cells {
			v += shares[i] * (10*float64(c%4) + float64(c/4))
		}
		return v
	}
	for _, tt := range []struct {
		name       string
		x, y, want float64
	}{
		{"centre of the first cell", -0.15, -0.05, 0},
		{"centre of the last cell", 0.15, 0.05, 31},
		{"middle", 0, 0, 15.5},
		{"between two cells", -0.10, -0.05, 5},
		{"beyond the first centre", -0.2, -0.1, 0},
	} {
		if got := value(tt.x, tt.y); math.Abs(got-tt.want) > 1e-9 {
			t.Errorf("%s: %g, want %g (bilinear)", tt.name, got, tt.want)
		}
	}
}
