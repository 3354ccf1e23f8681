package colour

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// bareSource is an evenly bright disc of a blue-weighted radiance, bare.
func bareSource(radiance, diameterM float64) BlueSource {
	area := math.Pi / 4 * sq(diameterM)
	return BlueSource{
		IntensityWSr: radiance * area, SurfaceWM2Sr: radiance, Transmission: 1, ApertureM2: area, Finish: FinishClear,
	}
}

func mustHazard(t testing.TB, distanceM float64, s ...BlueSource) BlueHazard {
	t.Helper()
	h, err := BlueLight(s, distanceM)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func nearly(t testing.TB, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s = %.7g, want %.7g ± %g %%", what, got, want, 100*rel)
	}
}

// TestLensByHand: a die of 1.2 × 1.2 mm² with L_B = 50 kW/(m²·sr) in a lens of 20 mm and transmission 0.92, which
// concentrates it to I_B = 1.2 W/sr; seen from 200 mm:
//
//	clear      L = 0.92 · 50 000 = 46 000    A_lit = 1.2/46 000 = 26.1 mm² (5.76 mm across, 28.8 mrad)
//	diffusing  L = 1.2 / (π/4 · 0.02²) = 3820
//	100 mrad   L = 1.2 / (π/4 · 0.02²) = 3820 for both
//
// Source: conservation of étendue, and IEC62471-2006, §4.3.3 (cited from memory).
func TestLensByHand(t *testing.T) {
	lens := BlueSource{
		IntensityWSr: 1.2, SurfaceWM2Sr: 50e3, Transmission: 0.92, ApertureM2: math.Pi / 4 * sq(0.02),
		Finish: FinishClear,
	}
	even := 1.2 / (math.Pi / 4 * sq(0.02))
	clear := mustHazard(t, 0.2, lens)
	nearly(t, "lit area", lens.LitM2(), 26.087e-6, 1e-4)
	nearly(t, "clear, 1.7 mrad", clear.L1p7, 46000, 1e-9)
	nearly(t, "clear, 11 mrad", clear.L11, 46000, 1e-9)
	nearly(t, "clear, 100 mrad", clear.L100, even, 1e-9)
	nearly(t, "clear, time", clear.MaxExposureS, 1e6/46000, 1e-4) // 21.7 s, field of 11 mrad
	if clear.Group != 2 {
		t.Errorf("clear: group %d, want 2: 46 000 exceeds 10 000", clear.Group)
	}
	unknown := lens
	unknown.Finish = FinishUnknown
	if got := mustHazard(t, 0.2, unknown); got != clear {
		t.Errorf("finish not stated: %+v, want the more hazardous %+v", got, clear)
	}
	diffusing := lens
	diffusing.Finish = FinishDiffusing
	d := mustHazard(t, 0.2, diffusing)
	nearly(t, "diffusing, 11 mrad", d.L11, even, 1e-9)
	nearly(t, "diffusing, time", d.MaxExposureS, 1e6/even, 2e-4) // 262 s: 17.8 mrad, filled
	if d.Group != 1 {
		t.Errorf("diffusing: group %d, want 1: 3820 is below 10 000", d.Group)
	}
	// An intensity that the die cannot give: the aperture is bright all over, and more than its due.
	lens.IntensityWSr = 30
	nearly(t, "impossible lens", mustHazard(t, 0.2, lens).L11, 30/lens.ApertureM2, 1e-9)
}

// TestRiskGroups: each border from both sides, by discs that fill every field. Source: IEC62471-2006, Table 6.2 (cited
// from memory).
func TestRiskGroups(t *testing.T) {
	for _, tt := range []struct {
		name                string
		radiance, diameterM float64
		below, beyond       int
	}{
		{"exempt", 100, 0.05, 0, 1},
		{"low", 1e4, 0.05, 1, 2},
		{"moderate", 4e6, 0.05, 2, 3},
		// Seen under 50 mrad, half the field of 100 mrad: four times the radiance averages to 100.
		{"exempt, half the field", 400, 0.01, 0, 1},
		// Seen under 5.5 mrad, half the field of 11 mrad.
		{"low, half the field", 4e4, 0.0011, 1, 2},
	} {
		for k, want := range map[float64]int{0.99: tt.below, 1.01: tt.beyond} {
			got := mustHazard(t, 0.2, bareSource(k*tt.radiance, tt.diameterM))
			if got.Group != want {
				t.Errorf("%s at %g of the limit: group %d, want %d (%+v)", tt.name, k, got.Group, want, got)
			}
		}
	}
	for _, d := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if _, err := BlueLight(nil, d); err == nil {
			t.Errorf("distance %g gave no error", d)
		}
	}
	if dark := mustHazard(t, 0.2); dark.Group != 0 || dark.MaxExposureS != 1e4 {
		t.Errorf("dark: %+v", dark)
	}
}

// TestExposureTime: the dose of 10⁶ J/(m²·sr) in the field of each duration. A disc of 4 mm (20 mrad at 200 mm) fills
// the fields up to 331 s; beyond, a small one has the time of its irradiance. Source: IEC62471-2006, §4.3.3 (cited from
// memory).
func TestExposureTime(t *testing.T) {
	for _, tt := range []struct {
		radiance, diameterM, want float64
		why                       string
	}{
		{8e6, 0.05, 0.125, "below 0.25 s: 1.7 mrad"},
		{5e5, 0.05, 2, "filled field of 4.9 mrad"},
		{5e4, 0.05, 20, "filled field of 11 mrad"},
		{5e3, 0.05, 200, "filled field of 15.6 mrad"},
		{101, 0.05, 1e6 / 101, "filled field of 109 mrad"},
		// 0.5 mm from 200 mm are 2.5 mrad: filled until 10 s · (2.5/11)² = 0.517 s.
		{2.5e6, 0.5e-3, 0.4, "filled until 0.517 s"},
		// Half of the dose in the filled field of 11 mrad: an area of half the field at 50 s, 7.78 mrad.
		{4e4, 0.2 * 0.011 / math.Sqrt2, 50, "half of the field of 11 mrad"},
		{99, 0.05, 1e4, "exempt"},
		// 3000 · 331 s = 0.992 · 10⁶: beyond 331 s the field grows as the dose, which stays below the limit.
		{3000, 0.004, 1e4, "20 mrad is 1.1 mrad · √331 s"},
	} {
		got := mustHazard(t, 0.2, bareSource(tt.radiance, tt.diameterM)).MaxExposureS
		nearly(t, fmt.Sprintf("time of %g W/(m²·sr), %g m (%s)", tt.radiance, tt.diameterM, tt.why), got, tt.want, 2e-4)
	}
}

// TestFieldsAdd: emitters in one field of view add, wherever the field has to be placed. Three bright points at the
// corners of an equilateral triangle of 15 mm fit into a circle of 17.3 mm (side · 2/√3) and so into 20 mm, 100 mrad at
// 200 mm; of 18 mm they need 20.8 mm, and two fit.
func TestFieldsAdd(t *testing.T) {
	corners := func(sideM float64) (out []BlueSource) {
		for k := range 3 {
			s := bareSource(1e6, 1e-4)
			a := 2 * math.Pi * float64(k) / 3
			s.XM, s.YM = 0.3+sideM/math.Sqrt(3)*math.Cos(a), -0.1+sideM/math.Sqrt(3)*math.Sin(a)
			out = append(out, s)
		}
		// A distant one makes the sum over all no answer.
		far := bareSource(1e6, 1e-4)
		far.XM = 2
		return append(out, far)
	}
	single := mustHazard(t, 0.2, bareSource(1e6, 1e-4))
	one := single.L100
	nearly(t, "three in the field", mustHazard(t, 0.2, corners(0.015)...).L100, 3*one, 1e-9)
	nearly(t, "two in the field", mustHazard(t, 0.2, corners(0.018)...).L100, 2*one, 1e-9)
	nearly(t, "one in the field", mustHazard(t, 0.2, corners(0.0201)...).L100, one, 1e-9)
	nearly(t, "one in 11 mrad", mustHazard(t, 0.2, corners(0.015)...).L11, single.L11, 1e-9)
	// From 400 m the field of 11 mrad is 4.4 m wide: four discs of 0.1 mm.
	all := mustHazard(t, 400, corners(0.015)...)
	nearly(t, "all from afar", all.L11, 4*1e6*1e-8/sq(0.011*400), 1e-9)
}

// TestFieldAgainstSearch: the best circle is no worse than any of many random ones, seed 3.
func TestFieldAgainstSearch(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	for range 20 {
		var s []BlueSource
		for range 12 {
			b := bareSource(1e5*(0.2+rng.Float64()), 1e-3)
			b.XM, b.YM = 0.05*rng.Float64(), 0.05*rng.Float64()
			s = append(s, b)
		}
		best := mustHazard(t, 0.2, s...).L100
		for range 3000 {
			x, y, sum := 0.05*rng.Float64(), 0.05*rng.Float64(), 0.0
			for i := range s {
				if math.Hypot(s[i].XM-x, s[i].YM-y) <= 0.01 {
					sum += s[i].IntensityWSr / (math.Pi / 4 * sq(0.02))
				}
			}
			if sum > best*(1+1e-9) {
				t.Fatalf("a circle at %g, %g has %g, more than the best %g", x, y, sum, best)
			}
		}
	}
}

// TestThresholdDistance: beyond it no field of 11 mrad exceeds 10 000 W/(m²·sr), and at 0.95 of it a compact lamp does.
// √(1.6725 W/sr / 0.9503 W/m²) = 1.3266 m. Source: IECTR62778-2014, §6, with the limit of radiance.
func TestThresholdDistance(t *testing.T) {
	d := BlueThresholdM(1.6725)
	nearly(t, "threshold distance", d, 1.3266, 1e-4)
	point := bareSource(1.6725/(math.Pi/4*1e-6), 1e-3)
	if h := mustHazard(t, d*1.0001, point); h.Group != 1 {
		t.Errorf("beyond the distance: group %d", h.Group)
	}
	if h := mustHazard(t, 0.95*d, point); h.Group != 2 {
		t.Errorf("at 0.95 of the distance: group %d", h.Group)
	}
}
