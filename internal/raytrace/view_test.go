package raytrace

import (
	"math"
	"testing"

	"lampwright/internal/intensity"
	"lampwright/internal/light"
)

func TestLook(t *testing.T) {
	tank := demo(1)
	em := light.Emitter{ZM: 0.8, Distribution: must(intensity.CosineBeam(rad(60)))}
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
		g, err := LuminanceFrom(tt.scene, em, 0.02, tt.eye)
		if err != nil || g.Hidden != tt.hidden || g.Visible != (tt.hidden == "") {
			t.Errorf("%s: %+v, %v; want hidden by %q", tt.name, g, err, tt.hidden)
		}
	}
	g, err := LuminanceFrom(Scene{Tank: tank}, em, 0.02, [3]float64{0, -1.5, 0.6})
	if err != nil {
		t.Fatal(err)
	}
	r2 := 1.5*1.5 + 0.2*0.2
	cos := 0.2 / math.Sqrt(r2)
	near(t, "illuminance", g.Illuminance, em.Distribution.PerFlux(cos, 0)/r2, 1e-12)
	near(t, "luminance", g.Luminance, light.SourceLuminance(em.Distribution.PerFlux(cos, 0), 0.02, math.Acos(cos)), 1e-9)
}

// A meter on the floor of a bench, traced, reads what the inverse square law says.
func TestMeterReadsInverseSquare(t *testing.T) {
	bench := light.Tank{LengthM: 1, WidthM: 1}
	em := light.Emitter{ZM: 0.5, Distribution: must(intensity.CosinePower(1))}
	tr := trace(t, Scene{Tank: bench}, []light.Emitter{em}, []Receiver{{Region: OnMeter, At: [3]float64{0.2, 0, 0.1}, Facing: [3]float64{0, 0, 1}, Radius: 0.02}}, Options{Paths: 400_000, Seed: 2})
	d2 := 0.2*0.2 + 0.4*0.4
	cos := 0.4 / math.Sqrt(d2)
	within(t, "meter", tr.Maps[0].Mean[0][0], cos*cos/math.Pi/d2, 3, 0)
}
