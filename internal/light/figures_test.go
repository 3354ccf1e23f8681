package light

import (
	"context"
	"math"
	"testing"
)

func TestSummarise(t *testing.T) {
	f := Summarise([]float64{5, 1, 2, 3, 4, 6, 7, 8, 9, 10, 0})
	if f.Mean != 5 || f.Min != 0 || f.Max != 10 || f.P10 != 1 || f.P50 != 5 || f.P90 != 9 || f.MinOverMean != 0 {
		t.Errorf("%+v", f)
	}
	if (Summarise(nil) != Figures{}) {
		t.Error("no cells give figures")
	}
}

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
	var last SweepPoint
	for i, h := range []float64{0.1, 0.25, 0.5} {
		p, err := sweepPoint(context.Background(), DirectMap, tank, Lifted(tank, em, h), flat(9, 2, 30), Grid{NX: 20, NY: 10})
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
	em := []Emitter{{ZM: 0.3, Pattern: must(CosExponent(1))}}
	// A single Lambertian source over one cell: E = 1000/(π h²); 1000 to 4000 per m² fixes the heights by hand.
	w := [][]float64{{1000}}
	g := Grid{NX: 1, NY: 1, X0: -1e-4, X1: 1e-4, Y0: -1e-4, Y1: 1e-4}
	c, err := HeightFor(ctx, DirectMap, bench, em, w, g, Wish{MeanAtLeast: 1000, MeanAtMost: 4000}, 0.1, 1)
	if err != nil || !c.Found {
		t.Fatal(c, err)
	}
	near(t, "lowest", c.LowM, math.Sqrt(1000/(4000*math.Pi)), 1.1e-3)
	near(t, "highest", c.HighM, math.Sqrt(1000/(1000*math.Pi)), 1.1e-3)
	if c.LowLimit != "not too much light" || c.HighLimit != "enough light" {
		t.Errorf("limits %q and %q", c.LowLimit, c.HighLimit)
	}
	c, err = HeightFor(ctx, DirectMap, bench, em, w, g, Wish{MeanAtLeast: 1e6}, 0.1, 1)
	if err != nil || c.Found || c.Limit != "enough light" || c.Margin >= 0 {
		t.Errorf("impossible wish: %+v, %v", c, err)
	}
	if _, err := HeightFor(ctx, DirectMap, bench, em, w, g, Wish{}, 0.1, 1); err == nil {
		t.Error("no wish is accepted")
	}
}

func TestLook(t *testing.T) {
	tank := demo(1)
	em := Emitter{ZM: 0.8, Pattern: must(CosPower(rad(60)))}
	shade := Plate{Name: "shade", Corner: [3]float64{-0.5, -0.26, 0.6}, EdgeA: [3]float64{1, 0, 0}, EdgeB: [3]float64{0, 0, 0.25}}
	dry := tank
	dry.WaterDepthM = 0.1
	for _, tt := range []struct {
		name   string
		scene  Scene
		eye    [3]float64
		hidden string
	}{
		{"over the rim", Scene{Tank: tank}, [3]float64{0, -1.5, 0.6}, ""},
		{"behind the shade", Scene{Tank: tank, Objects: []Plate{shade}}, [3]float64{0, -1.5, 0.6}, "shade"},
		{"from below the water line", Scene{Tank: tank}, [3]float64{0, -0.5, 0.1}, "the water"},
		{"through a dry pane", Scene{Tank: dry}, [3]float64{0, -0.7, 0.1}, ""},
		{"from above", Scene{Tank: tank}, [3]float64{0, -0.5, 1.6}, "its own lens"},
	} {
		g, err := Look(tt.scene, em, 0.02, tt.eye)
		if err != nil || g.Hidden != tt.hidden || g.Visible != (tt.hidden == "") {
			t.Errorf("%s: %+v, %v; want hidden by %q", tt.name, g, err, tt.hidden)
		}
	}
	g, err := Look(Scene{Tank: tank}, em, 0.02, [3]float64{0, -1.5, 0.6})
	if err != nil {
		t.Fatal(err)
	}
	r2 := 1.5*1.5 + 0.2*0.2
	cos := 0.2 / math.Sqrt(r2)
	near(t, "illuminance", g.Illuminance, em.Pattern.PerFlux(cos, 0)/r2, 1e-12)
	near(t, "luminance", g.Luminance, SourceLuminance(em.Pattern.PerFlux(cos, 0), 0.02, math.Acos(cos)), 1e-9)
}

// A meter on the floor of a bench, traced, reads what the inverse square law says.
func TestMeterReadsInverseSquare(t *testing.T) {
	bench := Tank{LengthM: 1, WidthM: 1}
	em := Emitter{ZM: 0.5, Pattern: must(CosExponent(1))}
	tr := trace(t, Scene{Tank: bench}, []Emitter{em}, []Receiver{{Place: OnMeter, At: [3]float64{0.2, 0, 0.1}, Facing: [3]float64{0, 0, 1}, Radius: 0.02}}, TraceOptions{Paths: 400_000, Seed: 2})
	d2 := 0.2*0.2 + 0.4*0.4
	cos := 0.4 / math.Sqrt(d2)
	within(t, "meter", tr.Maps[0].Mean[0][0], cos*cos/math.Pi/d2, 3, 0)
}
