package wiring

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// TestLeadAmpacity compares the heat balance with printed tables for pairs in free air at 30 °C and 70 °C at the conductor.
// The tables are for sheathed cords and for other ways to lay them, and disagree with each other by about 10 %, which is the
// tolerance.
func TestLeadAmpacity(t *testing.T) {
	for _, tt := range []struct {
		areaMM2, insulationMM, want float64
		source                      string
	}{
		{0.75, 0.6, 12, "VDE 0298-4, table 11, flexible leads of several cores, cited from memory"},
		{1, 0.6, 15, "VDE 0298-4, table 11, cited from memory"},
		{1.5, 0.7, 18, "VDE 0298-4, table 11, cited from memory"},
		{2.5, 0.8, 26, "VDE 0298-4, table 11, cited from memory"},
		{4, 0.8, 34, "VDE 0298-4, table 11, cited from memory"},
		{1.5, 0.7, 19.5, "IEC 60364-5-52, table B.52.2, method C, cited from memory"},
		{2.5, 0.8, 27, "IEC 60364-5-52, table B.52.2, method C, cited from memory"},
	} {
		w, ok := Metric(tt.areaMM2, true)
		if !ok {
			t.Fatalf("no wire of %g mm²", tt.areaMM2)
		}
		got := Lead{AreaMM2: tt.areaMM2, OhmPerM: w.OhmPerM, InsulationMM: tt.insulationMM, MaxK: 343.15}.Ampacity(303.15)
		t.Logf("%g mm²: %.2f A, %g A (%s)", tt.areaMM2, got, tt.want, tt.source)
		if math.Abs(got/tt.want-1) > 0.1 {
			t.Errorf("%g mm²: %.2f A, want %g A ± 10 %% (%s)", tt.areaMM2, got, tt.want, tt.source)
		}
	}
}

// TestThinLead: tables for thin leads are far below the balance; less the 10 % that it is away from those for thick ones, the low
// end is not beyond them, to the whole amperes in which they are printed.
func TestThinLead(t *testing.T) {
	for _, tt := range []struct {
		areaMM2, ohmPerM, want float64 // resistance: IEC 60228, table 3, and manufacturers' figures below 0.5 mm², cited from memory
	}{
		{0.14, 0.138, 2}, {0.25, 0.0799, 4}, {0.34, 0.0588, 6}, {0.5, 0.039, 9},
	} {
		l := Lead{AreaMM2: tt.areaMM2, OhmPerM: tt.ohmPerM, InsulationMM: 0.4, MaxK: 343.15}
		low, full := 0.9*l.ConservativeAmpacity(303.15), l.Ampacity(303.15)
		t.Logf("%g mm²: %.2f A at the low end, %.2f A by the balance, %g A printed", tt.areaMM2, low, full, tt.want)
		if low > tt.want+0.5 || full < tt.want {
			t.Errorf("%g mm²: %.2f A to %.2f A do not hold the %g A of VDE 0298-4, table 11, cited from memory", tt.areaMM2, low, full, tt.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		l := Lead{AreaMM2: rapid.Float64Range(0.05, 6).Draw(t, "area"), InsulationMM: rapid.Float64Range(0, 2).Draw(t, "insulation"), MaxK: rapid.Float64Range(330, 480).Draw(t, "max")}
		l.OhmPerM = ohmMM2PerM / l.AreaMM2
		low, full := l.ConservativeAmpacity(303.15), l.Ampacity(303.15)
		switch {
		case low > full:
			t.Fatalf("%+v: the low end of %g A is over %g A", l, low, full)
		case l.AreaMM2 >= VerifiedMinMM2 && low != full:
			t.Fatalf("%+v was checked, but its low end is %g A of %g A", l, low, full)
		}
	})
	edge := func(area float64) float64 {
		return Lead{AreaMM2: area, OhmPerM: ohmMM2PerM / area, InsulationMM: 0.4, MaxK: 343.15}.ConservativeAmpacity(303.15)
	}
	if a, b := edge(VerifiedMinMM2-1e-9), edge(VerifiedMinMM2); math.Abs(a-b) > 1e-6 {
		t.Errorf("%g A below 0.75 mm², %g A there: a step", a, b)
	}
}

// TestLeadBalance: the heat that the current makes leaves through the surface of the conductor that is as warm as allowed.
func TestLeadBalance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := Lead{
			AreaMM2:      rapid.Float64Range(0.05, 6).Draw(t, "area"),
			InsulationMM: rapid.Float64Range(0, 2).Draw(t, "insulation"),
			MaxK:         rapid.Float64Range(330, 480).Draw(t, "max"),
		}
		l.OhmPerM = 1 / 58.0 / l.AreaMM2
		air := rapid.Float64Range(270, 325).Draw(t, "air")
		i := l.Ampacity(air)
		w := i * i * l.OhmPerM * (1 + 0.00393*(l.MaxK-293.15))
		d := math.Sqrt(4*l.AreaMM2/math.Pi) / 1000
		outer := d + l.InsulationMM/500
		surface := l.MaxK - w*5/(2*math.Pi)*math.Log(outer/d)
		if out := math.Pi * outer * (0.29/math.Sqrt(outer) + 2.35) * math.Pow(surface-air, 1.25); math.Abs(out/w-1) > 1e-6 {
			t.Fatalf("%+v in air of %g K: %g W/m go in, %g W/m go out", l, air, w, out)
		}
		if more := l.Ampacity(air + 1); more >= i {
			t.Fatalf("%g A in warmer air, %g A before", more, i)
		}
	})
	if got := (Lead{OhmPerM: 1 / 58.0 / 0.75}).Area(); math.Abs(got-0.75) > 1e-12 {
		t.Errorf("area by resistance %g mm², want 0.75", got)
	}
	if got := (Lead{OhmPerM: 0.03, InsulationMM: 0.4, MaxK: 320}).Ampacity(320); got != 0 {
		t.Errorf("%g A in air as warm as the insulation is, want none", got)
	}
}

// TestAmbientFactor: factors of IEC 60364-5-52, table B.52.14, about 30 °C, cited from memory; two decimals.
func TestAmbientFactor(t *testing.T) {
	for maxC, row := range map[float64]map[float64]float64{
		70: {10: 1.22, 15: 1.17, 20: 1.12, 25: 1.06, 30: 1, 35: 0.94, 40: 0.87, 45: 0.79, 50: 0.71, 55: 0.61, 60: 0.50, 70: 0, 80: 0},
		90: {10: 1.15, 20: 1.08, 35: 0.96, 40: 0.91, 45: 0.87, 50: 0.82, 55: 0.76, 60: 0.71, 70: 0.58, 80: 0.41},
	} {
		for airC, want := range row {
			if got := AmbientFactor(maxC+273.15, 303.15, airC+273.15); math.Abs(got-want) > 0.005 {
				t.Errorf("%g °C insulation in air of %g °C: %.3f, want %g", maxC, airC, got, want)
			}
		}
	}
	if got := AmbientFactor(300, 303, 290); got != 0 {
		t.Errorf("a rating at an air above the insulation's limit leaves %g, want 0", got)
	}
}

func TestGroupingFactor(t *testing.T) {
	for n, want := range map[int]float64{0: 1, 1: 1, 2: 0.8, 3: 0.7, 5: 0.6, 9: 0.5, 10: 0.45, 20: 0.38, 60: 0.38} {
		if got := GroupingFactor(n); got != want {
			t.Errorf("%d leads keep %g, want %g (IEC 60364-5-52, table B.52.17, cited from memory)", n, got, want)
		}
	}
}

// TestFuseAndLead: IEC 60364-4-43, §433.1: I_n ≤ I_Z and I₂ ≤ 1.45·I_Z.
func TestFuseAndLead(t *testing.T) {
	for _, tt := range []struct {
		standard   string
		lead, want float64
	}{
		{"IEC 60127", 4.2, 2.9},   // 1.45 · 4.2 A / 2.1
		{"UL 248", 4.2, 4.2},      // 1.45 / 1.35 > 1
		{"ISO 8820", 4.2, 4.2},    // the same
		{"", 4.2, 2.9},            // the laziest
		{"IEC 60127", 0, 0},       //
		{"of another", 2.1, 1.45}, // the laziest
	} {
		got := MaxFuseRating(tt.lead, tt.standard)
		if math.Abs(got-tt.want) > 1e-12 {
			t.Errorf("%s for %g A: %g A, want %g A", tt.standard, tt.lead, got, tt.want)
		}
		if got == 0 {
			continue
		}
		if through := SustainedFuseCurrent(got, tt.lead, tt.standard); through > tt.lead*(1+1e-9) {
			t.Errorf("%s: %g A through a fuse of %g A, which protects %g A", tt.standard, through, got, tt.lead)
		}
		if through := SustainedFuseCurrent(got*1.01, tt.lead, tt.standard); through <= tt.lead {
			t.Errorf("%s: %g A through a fuse of %g A, which does not protect %g A", tt.standard, through, got*1.01, tt.lead)
		}
	}
	// A fuse larger than the lead lets its melting current through: 2.1 · 5 A.
	if got := SustainedFuseCurrent(5, 4, "IEC 60127"); math.Abs(got-10.5) > 1e-12 {
		t.Errorf("through 5 A fuse: %g A, want 10.5 A", got)
	}
}

// TestBreakerNonTrippingPeak: 3, 5 and 10 times the rated current (IEC 60898-1, cited from memory); a surge of a hundredth of 10 ms may be ten
// times as high for the same ∫i² dt.
func TestBreakerNonTrippingPeak(t *testing.T) {
	for _, tt := range []struct {
		curve             string
		rated, time, want float64
	}{
		{"B", 16, 0.01, 48},
		{"B", 16, 1, 48},
		{"B", 16, 0, 48},
		{"B", 16, 100e-6, 480},
		{"C", 10, 0.0025, 100}, // 50 A · √4
		{"D", 6, 0.01, 60},
	} {
		if got, ok := BreakerNonTrippingPeak(tt.curve, tt.rated, tt.time); !ok || math.Abs(got-tt.want) > 1e-9 {
			t.Errorf("%s%g contains %g A for %g s, want %g A", tt.curve, tt.rated, got, tt.time, tt.want)
		}
	}
	if _, ok := BreakerNonTrippingPeak("K", 16, 0.01); ok {
		t.Error("there is a curve K")
	}
}
