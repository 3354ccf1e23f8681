package light

import (
	"context"
	"math"
	"testing"

	"lampwright/internal/intensity"
)

func flat(emitters, bands int, v float64) [][]float64 {
	var out [][]float64
	for range emitters {
		row := make([]float64, bands)
		for b := range row {
			row[b] = v / float64(bands)
		}
		out = append(out, row)
	}
	return out
}

// A higher lamp spills more, and less of its light enters the water and meets the substrate.
func TestHeightTrades(t *testing.T) {
	tank, em := demo(2), nine(t)
	var last HeightPoint
	for i, h := range []float64{0.1, 0.25, 0.5} {
		p, err := heightPoint(context.Background(), DirectMap, tank, AtHeight(tank, em, h), flat(9, 2, 30), Grid{NX: 20, NY: 10})
		if err != nil {
			t.Fatal(err)
		}
		if i > 0 && (p.Target.Mean >= last.Target.Mean || p.Spill <= last.Spill || p.Entered >= last.Entered) {
			t.Errorf("to %g m: %+v, then %+v", h, last, p)
		}
		last = p
	}
}

func TestHeightFor(t *testing.T) {
	ctx := context.Background()
	bench := Tank{LengthM: 0.6, WidthM: 0.6}
	em := []Emitter{{ZM: 0.3, Distribution: must(intensity.CosinePower(1))}}
	// A single Lambertian source over one cell: E = 1000/(π h²); 1000 to 4000 per m² fixes the heights by hand.
	w := [][]float64{{1000}}
	g := Grid{NX: 1, NY: 1, X0: -1e-4, X1: 1e-4, Y0: -1e-4, Y1: 1e-4}
	c, err := HeightFor(ctx, DirectMap, bench, em, w, g, Requirement{MinMean: 1000, MaxMean: 4000}, 0.1, 1)
	if err != nil || !c.Found {
		t.Fatal(c, err)
	}
	near(t, "lowest", c.LowM, math.Sqrt(1000/(4000*math.Pi)), 1.1e-3)
	near(t, "highest", c.HighM, math.Sqrt(1000/(1000*math.Pi)), 1.1e-3)
	if c.LowLimit != "maximum light" || c.HighLimit != "minimum light" {
		t.Errorf("limits %q and %q", c.LowLimit, c.HighLimit)
	}
	c, err = HeightFor(ctx, DirectMap, bench, em, w, g, Requirement{MinMean: 1e6}, 0.1, 1)
	if err != nil || c.Found || c.Limit != "minimum light" || c.Margin >= 0 {
		t.Errorf("impossible wish: %+v, %v", c, err)
	}
	if _, err := HeightFor(ctx, DirectMap, bench, em, w, g, Requirement{}, 0.1, 1); err == nil {
		t.Error("no wish is accepted")
	}
}
