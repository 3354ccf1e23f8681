package light

import (
	"context"
	"math"
	"testing"

	"lampwright/internal/intensity"
)

// TestTwins: the map and the fractions of an emitter that has a mirror-symmetric emitter are those that it gets when
// it is alone, to the rounding of sums that run the other way; and what is not alike on both sides of the tank's
// middle has no mirror-symmetric emitters.
func TestTwins(t *testing.T) {
	narrow, err := intensity.SuperGaussian(0.9, 1.6)
	if err != nil {
		t.Fatal(err)
	}
	wide, err := intensity.CosinePower(1)
	if err != nil {
		t.Fatal(err)
	}
	tank := Tank{LengthM: 0.6, WidthM: 0.3, HeightM: 0.36, WaterDepthM: 0.32, SubstrateM: 0.05, GlassM: 0.006, Bands: []Band{{AbsorptionPerM: 0.3, SubstrateReflectance: 0.2}, {AbsorptionPerM: 2}}}
	at := func(x, y float64, p intensity.Distribution) Emitter {
		return Emitter{XM: x, YM: y, ZM: 0.62, Distribution: p}
	}
	leaning := at(0.04, 0, narrow)
	leaning.TiltRad = 0.1
	emitters := []Emitter{
		at(0.04, 0.02, narrow), at(-0.04, 0.02, narrow), at(0.04, -0.02, narrow), at(-0.04, -0.02, narrow), // one and its three mirror-symmetric emitters
		at(0.04, 0.02, wide), at(-0.04, -0.03, narrow), leaning, at(-0.04, 0, narrow), at(-0.04, 0, narrow), // none, but the last
	}
	want := []int{-1, 0, 0, 0, -1, -1, -1, -1, 7}
	for i, w := range mirrorSymmetric(emitters, true, true) {
		if w.of != want[i] {
			t.Errorf("emitter %d has the twin %d, want %d", i, w.of, want[i])
		}
	}
	for i, w := range mirrorSymmetric(emitters, false, true) {
		if w.x || i == 1 && w.of >= 0 || i == 2 && w.of != 0 {
			t.Errorf("emitter %d is mirrored along an axis that is not even: %+v", i, w)
		}
	}
	shares, err := EachDirectFractions(tank, emitters)
	if err != nil {
		t.Fatal(err)
	}
	spills, err := EachSpillFraction(tank, emitters)
	if err != nil {
		t.Fatal(err)
	}
	for _, plane := range []Plane{tank.Surface(), tank.Substrate(), {ZM: 0.1, SlopeX: 0.2}} {
		for _, grid := range []Grid{{NX: 9, NY: 6}, {NX: 5, NY: 4, X0: -0.3, X1: 0.1, Y0: -0.15, Y1: 0.15}} {
			all, err := WallMap(context.Background(), tank, emitters, plane, grid)
			if err != nil {
				t.Fatal(err)
			}
			for i := range emitters {
				alone, err := WallMap(context.Background(), tank, emitters[i:i+1], plane, grid)
				if err != nil {
					t.Fatal(err)
				}
				for b := range all.Bands {
					one := alone.Map(0, b)
					for c, v := range all.Map(i, b) {
						if math.Abs(v-one[c]) > 1e-12*one[c] {
							t.Fatalf("%+v, %+v: emitter %d, band %d, cell %d: %g beside its twins and %g alone", plane, grid, i, b, c, v, one[c])
						}
					}
				}
			}
		}
	}
	for i, e := range emitters {
		one, err := DirectFractions(tank, e)
		if err != nil {
			t.Fatal(err)
		}
		spill, err := SpillFraction(tank, e)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(shares[i].Entered-one.Entered) > 1e-14 || math.Abs(shares[i].Spill-one.Spill) > 1e-14 || math.Abs(spills[i]-spill) > 1e-14 || spill != one.Spill {
			t.Errorf("emitter %d: shares %+v beside its twins and %+v alone, spill %g and %g", i, shares[i], one, spills[i], spill)
		}
	}
}
