package sink

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// TestNaturalAskew: the ends are the lying sink and both upright ones, but for their radiation, which stays.
func TestNaturalAskew(t *testing.T) {
	f := b1()
	f.Emissivity = 0.85
	const base, air = 333.15, 298.15
	at := func(o Orientation, deg, along float64) float64 {
		c, err := f.NaturalAskew(o, Tilt{deg * math.Pi / 180, along}, base, air, air, p0)
		if err != nil {
			t.Fatal(err)
		}
		return c.ConductanceWK
	}
	plain := func(o Orientation) float64 {
		c, err := f.Natural(o, base, air, air, p0)
		if err != nil {
			t.Fatal(err)
		}
		return c.ConductanceWK
	}
	tilted, err := f.NaturalTilted(math.Pi/4, base, air, air, p0)
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		name      string
		got, want float64
	}{
		{"level", at(FinsUp, 0, 1), plain(FinsUp)},
		{"level, fins down", at(FinsDown, 0, 0.3), plain(FinsDown)},
		{"upright, slope along the fins", at(FinsUp, 90, 1), plain(Vertical)},
		{"upright, slope across the fins", at(FinsUp, 90, 0), plain(FinsAcross)},
		{"45° along the fins", at(FinsUp, 45, 1), tilted.ConductanceWK},
		{"45° across the fins", at(FinsUp, 45, 0), (plain(FinsUp) + plain(FinsAcross)) / 2},
		{"45° askew by 45°", at(FinsUp, 45, 0.5), (at(FinsUp, 45, 1) + at(FinsUp, 45, 0)) / 2},
	} {
		if math.Abs(tt.got/tt.want-1) > 2e-3 { // radiation is that of the lying fins, which are as cold by 0.1 %
			t.Errorf("%s: %.6g W/K, want %.6g", tt.name, tt.got, tt.want)
		}
	}
	for _, bad := range []Tilt{{2, 1}, {-0.1, 1}, {0.1, 2}, {math.NaN(), 1}} {
		if _, err := f.NaturalAskew(FinsUp, bad, base, air, air, p0); err == nil {
			t.Errorf("tilt %+v is taken", bad)
		}
	}
	if _, err := f.NaturalAskew(Vertical, Tilt{0.1, 1}, base, air, air, p0); err == nil {
		t.Error("a tilt from level of an upright sink is taken")
	}
}

// TestBareFaceByHand: the face of open case F1 of the thermal checks, 210 mm × 85 mm with an emissivity of 88 % at
// 43.838 °C in 24 °C. L = A/P = 30.25 mm; at 307.07 K ν = 16.42e-6 m²/s, α = 23.2e-6 m²/s, k = 0.0266 W/(m·K):
//
//	Ra = 9.807 · 19.84/307.07 · 0.03025³/(ν α) = 4.6e4    Nu = 0.27 Ra^¼ = 3.95    h_c = 3.48    h_r = 0.88 · 6.58
func TestBareFaceByHand(t *testing.T) {
	f := BareFace{Face: FaceDown, AreaM2: 0.21 * 0.085, PerimeterM: 2 * (0.21 + 0.085), Emissivity: 0.88}
	got := f.Coefficient(316.988, 297.15, p0)
	if want := 3.48 + 0.88*6.58; math.Abs(got/want-1) > 0.01 {
		t.Errorf("%.4g W/(m²·K), want %.4g", got, want)
	}
}

// TestBareFaceTilts: level it is the lying face, upright at least the upright one, and it never loses by a tilt.
func TestBareFaceTilts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		side := rapid.Float64Range(0.02, 0.5).Draw(t, "side")
		rise := rapid.Float64Range(1, 80).Draw(t, "rise")
		f := BareFace{
			Face: FaceDown, AreaM2: side * side, PerimeterM: 4 * side, HeightM: side, Emissivity: 0.9,
			TiltRad: rapid.Float64Range(0, math.Pi/2).Draw(t, "tilt"),
		}
		level, upright := f, f
		level.TiltRad, upright.TiltRad = 0, math.Pi/2
		h, lo, hi := f.Coefficient(300+rise, 300, p0), level.Coefficient(300+rise, 300, p0),
			upright.Coefficient(300+rise, 300, p0)
		vertical := BareFace{Face: FaceVertical, AreaM2: 1, HeightM: side, Emissivity: 0.9}
		if h < lo || h > hi || math.Abs(hi-math.Max(lo, vertical.Coefficient(300+rise, 300, p0))) > 1e-9*hi {
			t.Fatalf("tilted %g, level %g, upright %g", h, lo, hi)
		}
	})
}
