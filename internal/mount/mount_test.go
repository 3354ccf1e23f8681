package mount

import (
	"math"
	"testing"
)

func near(t *testing.T, what string, got, want, relative float64, source string) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > relative*math.Abs(want) {
		t.Errorf("%s = %g, want %g ± %g %% (%s)", what, got, want, 100*relative, source)
	}
}

func TestClampByHand(t *testing.T) {
	near(t, "preload", Preload(1.2, 0.2, 4e-3), 1500, 1e-9, "1.2/(0.2 · 0.004)")
	near(t, "torque", Torque(1500, 0.2, 4e-3), 1.2, 1e-9, "inverse")
	near(t, "pressure", MeanPressure(4, 1500, 0.01), 600e3, 1e-9, "4 · 1500/0.01")
	near(t, "bond line", BondLine(60, 60), 131e-6, 1e-9, "p = τ_y: the factor itself")
	near(t, "bond line", BondLine(60, 60e6), 131e-6*math.Pow(10, -6*0.166), 1e-9, "six decades")
	near(t, "gap", GapRise(2e4, 50e-6, 2), 0.5, 1e-9, "2e4 · 50e−6/2")
	near(t, "keep-out, plastic washer", ShankKeepOut(4.5e-3, 1e-3), 3.25e-3, 1e-9, "2.25 + 1 mm")
	near(t, "keep-out", KeepOut(9e-3, 4e-3, 4.5e-3, 1e-3), 5.75e-3, 1e-9, "4.5 + 0.25 + 1 mm")
	near(t, "tape", TapeArea(1, TapeShearPa), 54.5e-4, 0.001, "1 · 9.80665/1800")
}

// TestSpacing puts the spacing back into the deflection of a strip: 5·p·s⁴/(384·D).
func TestSpacing(t *testing.T) {
	b := Plate{YoungPa: 117e9, Poisson: 0.34, ThicknessM: 2e-3}
	s := b.Spacing(50e3, 20e-6)
	d := b.YoungPa * math.Pow(b.ThicknessM, 3) / (12 * (1 - b.Poisson*b.Poisson))
	near(t, "rise", 5*50e3*math.Pow(s, 4)/(384*d), 20e-6, 1e-9, "Timoshenko1959, §1")
}

// TestBow: a layer as thick as one hundredth of its plate, equal moduli: κ = 6·0.01·Δα·ΔT/t.
func TestBow(t *testing.T) {
	f := Film{
		YoungPa: 70e9, ThicknessM: 20e-6, PlateYoungPa: 70e9, PlateThicknessM: 2e-3, ExpansionPerK: 1e-5,
		CoolingK: 100,
	}
	near(t, "curvature", f.Curvature(), 0.06*1e-3/2e-3, 1e-9, "Stoney1909")
	near(t, "bow", Bow(0.08, 0.1), 1e-4, 1e-9, "0.08 · 0.01/8")
	near(t, "flux", FluxCurvature(2e-5, 1e4, 200), 1e-3, 1e-9, "α q/k")
	near(t, "flattening", FlatteningForce(70e9, 0.1, 1e-3, 1e-3, 0.2), 48*70e9*0.1e-9/12*1e-3/8e-3, 1e-9, "48 E I δ/L³")
}

func TestSpansOfAField(t *testing.T) {
	// 3 × 2 screws, pitch 40 mm by 50 mm: five spans, the longest 50 mm.
	var screws []Point
	for i := range 3 {
		for j := range 2 {
			screws = append(screws, Point{0.04 * float64(i), 0.05 * float64(j)})
		}
	}
	spans := Spans(screws)
	longest, sum := 0.0, 0.0
	for _, s := range spans {
		longest, sum = math.Max(longest, s.Length()), sum+s.Length()
	}
	if len(spans) != 5 {
		t.Errorf("%d spans, want 5", len(spans))
	}
	near(t, "longest", longest, 0.05, 1e-9, "by eye")
	near(t, "sum", sum, 4*0.04+0.05, 1e-9, "two rows and one link")
	if len(Spans(nil)) != 0 || len(Spans(screws[:1])) != 0 {
		t.Error("no or one screw has no span")
	}
	near(t, "nearest", Nearest(Point{0.02, 0}, screws), 0.02, 1e-9, "by eye")
	if !math.IsInf(Nearest(Point{}, nil), 1) {
		t.Error("without screws the nearest is at infinity")
	}
}

func TestScrewTable(t *testing.T) {
	s, ok := ScrewOf("M3")
	if !ok || s.DiameterM != 3e-3 || s.WasherM != 7e-3 || s.HoleM != 3.4e-3 || s.LargestTorqueNm != 0.7 {
		t.Errorf("M3 is %+v (ISO 7089, ISO 273, from memory)", s)
	}
	if _, ok := ScrewOf("M7"); ok {
		t.Error("there is no M7 in the table")
	}
}

func TestHangByHand(t *testing.T) {
	near(t, "line", LineForce(2, 2, math.Pi/3), 2*GravityMS2, 1e-9, "cos 60° = 1/2")
	near(t, "lever", Lever(0.1, 0.5, 0.2), 0.75, 1e-9, "0.3/0.4")
	near(t, "sudden", SuddenFactor(0, 1e4, 2), 2, 1e-9, "a load put on at once")
	// 4 m g/k slack: 1 + √9.
	near(t, "slack", SuddenFactor(4*2*GravityMS2/1e4, 1e4, 2), 4, 1e-9, "energy")
	near(t, "tilt", Tilt(1, 1), math.Pi/4, 1e-9, "45°")
	near(t, "shift", BeamShift(math.Pi/4, 0.3), 0.3, 1e-9, "tan 45° = 1")
	near(t, "dip", Dip(0.7, 0.3), 0.4, 1e-9, "0.7 − 0.3")
}

func TestLevel(t *testing.T) {
	square := []Point{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}}
	for _, tt := range []struct {
		name  string
		lines []Point
		want  bool
	}{
		{"no line", nil, false},
		{"a square", square, true},
		{"one of a square fails", square[1:], true}, // on the diagonal
		{"two ends", []Point{{-1, 0}, {1, 0}}, true},
		{"one end", []Point{{-1, 0}}, false},
		{"over the centre", []Point{{0, 0}}, true},
		{"both on one side", []Point{{-1, 1}, {1, 1}}, false},
		{"a triangle beside it", []Point{{1, 0}, {2, 1}, {2, -1}}, false},
	} {
		if got := Level(tt.lines, Point{}); got != tt.want {
			t.Errorf("%s: level is %t, want %t", tt.name, got, tt.want)
		}
	}
}

// TestMountFactors: rows BU01 and BU02 (M3, 0.45 N·m; the ends of the nut factor) and BU57 (4 mm over 420 mm) of the
// published values.
func TestMountFactors(t *testing.T) {
	near(t, "preload", Preload(0.45, NutFactor, 3e-3), 750, 1e-9, "BU01")
	near(t, "preload, lubricated", Preload(0.45, NutFactorLo, 3e-3), 1000, 1e-9, "BU02")
	near(t, "preload, dry stainless", Preload(0.45, NutFactorHi, 3e-3), 500, 1e-9, "BU02")
	near(t, "tilt", Tilt(4e-3, 0.42)*180/math.Pi, 0.546, 1e-3, "BU57")
	near(t, "shift", BeamShift(Tilt(4e-3, 0.42), 0.45), 4.29e-3, 2e-3, "BU57")
}
