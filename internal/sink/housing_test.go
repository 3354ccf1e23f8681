package sink

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// TestHousing compares a housing with an isothermal plate by hand and against its limits.
func TestHousing(t *testing.T) {
	const airK, pressure = 295.15, StandardPressurePa
	plate := Housing{AreaM2: 0.06, HeightM: 0.1, Emissivity: 0.85}

	// An upright plate of 10 cm at 50 K over 22 °C by the tables of IncroperaDeWitt2007 (A.4, cited from memory), air at 320 K:
	// ν = 17.9e-6 m²/s, k = 0.0278 W/(m·K), Pr = 0.704.
	const nu, k, pr, dT, film = 17.9e-6, 0.0278, 0.704, 50.0, 320.15
	ra := 9.81 / film * dT * 1e-3 / (nu * nu) * pr
	n := 0.825 + 0.387*math.Pow(ra, 1.0/6)/math.Pow(1+math.Pow(0.492/pr, 9.0/16), 8.0/27)
	convective := n * n * k / 0.1
	radiant := 0.85 * 5.670374e-8 * (345.15*345.15 + airK*airK) * (345.15 + airK)
	want := 0.06 * (convective + radiant) * dT
	c, surface, err := plate.Natural(345.15, airK, pressure)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(c.HeatW-want) > 0.01*want || surface != 345.15 {
		t.Errorf("a perfect joint_resistance: %.3f W at %.2f K, want %.3f W ± 1 %% (tables of air are good to that) at the base's 345.15 K", c.HeatW, surface, want)
	}

	for _, joint := range []float64{0.01, 0.3, 2, 50} {
		h := plate
		h.JointKW = joint
		c, surface, err := h.Natural(345.15, airK, pressure)
		if err != nil {
			t.Fatal(err)
		}
		through, off := (345.15-surface)/joint, h.FaceWK(surface, airK, pressure)*(surface-airK)
		if math.Abs(through-off) > 1e-9*off || math.Abs(c.HeatW-off) > 1e-9*off {
			t.Errorf("joint of %g K/W: %.9f W go through, %.9f W leave, %.9f W are told", joint, through, off, c.HeatW)
		}
	}
	free := plate
	free.JointKW = math.Inf(1)
	if c, surface, err := free.Natural(345.15, airK, pressure); err != nil || c.HeatW != 0 || c.ConductanceWK != 0 || surface != airK {
		t.Errorf("hanging free: %+v at %g K, %v", c, surface, err)
	}
	for _, bad := range []Housing{
		{HeightM: 0.1},
		{AreaM2: 0.1},
		{AreaM2: 0.1, Face: FaceUp},
		{AreaM2: 0.1, HeightM: 0.1, Emissivity: 1.1},
		{AreaM2: 0.1, HeightM: 0.1, JointKW: -1},
		{AreaM2: math.NaN(), HeightM: 0.1},
		{AreaM2: 0.1, HeightM: math.Inf(1)},
	} {
		if _, _, err := bad.Natural(345.15, airK, pressure); err == nil {
			t.Errorf("%+v is taken", bad)
		}
	}
}

// TestHousingIsMonotone: a better joint, a warmer base and a larger area dissipate more, and the housing lies between air and base.
func TestHousingIsMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := Housing{
			Face: Face(rapid.IntRange(0, 2).Draw(t, "face")), AreaM2: rapid.Float64Range(1e-3, 1).Draw(t, "area"), HeightM: rapid.Float64Range(0.01, 1).Draw(t, "height"),
			PerimeterM: rapid.Float64Range(0.1, 4).Draw(t, "perimeter"), Emissivity: rapid.Float64Range(0, 1).Draw(t, "emissivity"), JointKW: rapid.Float64Range(0, 20).Draw(t, "joint"),
		}
		air := rapid.Float64Range(270, 320).Draw(t, "air")
		base := air + rapid.Float64Range(0.1, 90).Draw(t, "rise")
		heat := func(h Housing, base float64) float64 {
			c, surface, err := h.Natural(base, air, StandardPressurePa)
			if err != nil {
				t.Fatal(err)
			}
			if surface < air || surface > base {
				t.Fatalf("%g K between air of %g K and a base of %g K", surface, air, base)
			}
			return c.HeatW
		}
		now := heat(h, base)
		if warmer := heat(h, base+1); warmer <= now {
			t.Fatalf("a warmer base dissipates %g W instead of %g W", warmer, now)
		}
		worse := h
		worse.JointKW++
		if w := heat(worse, base); w >= now {
			t.Fatalf("a worse joint dissipates %g W instead of %g W", w, now)
		}
	})
}
