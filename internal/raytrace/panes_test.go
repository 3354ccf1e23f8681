package raytrace

import (
	"context"
	"math"
	"testing"

	"lampwright/internal/intensity"
	"lampwright/internal/light"
)

// covered is a tank with four different panes and a cover glass, all of whose effects are large.
func covered() (light.Tank, []light.Emitter) {
	t := light.Tank{
		LengthM: 0.5, WidthM: 0.3, HeightM: 0.42, WaterDepthM: 0.36, SubstrateM: 0.04, GlassM: 0.006, WaterIndex: 1.333,
		Bands: []light.Band{
			{AbsorptionPerM: 0.1, SubstrateReflectance: 0.4}, {AbsorptionPerM: 0.6, SubstrateReflectance: 0.1},
		},
		Panes: [4]light.Pane{
			Left: {Backing: light.Inside, Reflectance: 0.6}, Right: {Loss: 0.1},
			Front: {Backing: light.Gap, Reflectance: 0.7, Loss: 0.05},
			Back:  {Backing: light.Contact, Reflectance: 0.85},
		},
		Cover: light.Cover{ThicknessM: 0.004, PerM: 5, Loss: 0.05},
	}
	return t, []light.Emitter{
		{XM: -0.1, YM: 0.05, ZM: 0.55, Distribution: must(intensity.CosineBeam(rad(80)))},
		{
			XM: 0.12, YM: -0.03, ZM: 0.6, TiltRad: 0.3, TiltAzimuthRad: 1,
			Distribution: must(intensity.CosineBeam(rad(60))),
		},
	}
}

// Images with radiosity and Monte Carlo agree on means and coarse cells in a tank with a plate inside, paper, white
// paint, algae and a cover: 1 million paths, seed 7; 4 standard errors and 0.3 % (cells 1 %) for the nodes and
// lattices of the maps.
func TestCoveredPanesAgree(t *testing.T) {
	tank, em := covered()
	g := light.Grid{NX: 4, NY: 3}
	fine := light.Grid{NX: 40, NY: 24}
	for _, plane := range []light.Plane{tank.Surface(), tank.AtDepth(0.15), tank.Substrate()} {
		maps := must(light.WallMap(context.Background(), tank, em, plane, fine))
		rec := Receiver{Region: OnPlane, Plane: plane, Grid: g}
		tr := trace(t, Scene{Tank: tank}, em, []Receiver{rec}, Options{Paths: 1_000_000, Seed: 7})
		for e := range em {
			for b := range tank.Bands {
				cells, mean := make([]float64, g.NX*g.NY), 0.0
				for i, v := range maps.Map(e, b) {
					cells[i/fine.NX/8*g.NX+i%fine.NX/10] += v / 80
					mean += v / 960
				}
				within(t, plane.Name+" mean", tr.Maps[0].Mean[e][b], mean, 4, 3e-3*mean)
				for c, want := range cells {
					i := (e*len(tank.Bands)+b)*len(cells) + c
					got := Estimate{tr.Maps[0].Response.Data[i], tr.Maps[0].Err[i]}
					within(t, plane.Name+" cell", got, want, 4, 1e-2*want)
				}
				near(t, "balance", tr.Balance(e, b), 0, 1e-9)
			}
		}
	}
}

// Very thin glass, followed face by face and photon by photon into the pigment, is the thin-wall convention with its
// closed sums over all orders. 400 000 paths, seed 6; 4 standard errors.
func TestThinGlassIsPaneOptics(t *testing.T) {
	tank, em := covered()
	tank.GlassM = 1e-6
	o := Options{Paths: 400_000, Seed: 6}
	closed := trace(t, Scene{Tank: tank}, em[:1], nil, o)
	o.Seed = 7
	faces := trace(t, Scene{Tank: tank, GlassInterior: true}, em[:1], nil, o)
	for f := range TerminationCount {
		a, b := closed.Terminations[0][0][f], faces.Terminations[0][0][f]
		within(t, f.String(), Estimate{b.Value, math.Hypot(a.Err, b.Err)}, a.Value, 4, 2e-4)
	}
	near(t, "balance", faces.Balance(0, 0), 0, 1e-9)
}

// First passes by weighted rays meet the first arrivals of the trace with covered panes where these return nothing.
func TestFirstPassThroughCover(t *testing.T) {
	tank, em := covered()
	for s := range tank.Panes {
		tank.Panes[s].Reflectance = 0
	}
	tank.Bands = tank.Bands[:1]
	tank.Bands[0].SubstrateReflectance = 0
	f := must(FollowFirstPass(context.Background(), tank, em[0], tank.WaterDepthM, 400_000))
	tr := trace(t, Scene{Tank: tank}, em[:1], nil, Options{Paths: 400_000, Seed: 6})
	got := tr.Flows[0][0]
	within(t, "opening", got[ThroughOpening], f.Opening.Value, 4, 1e-4)
	// What the surface reflects up, the cover returns in part: 2 % of 8 % is in the trace only.
	within(t, "surface", got[OnWater], f.Surface.Value, 4, 4e-3*f.Surface.Value)
	within(t, "substrate", got[SubstrateFirst], f.Substrate.Value, 4, 4e-3*f.Substrate.Value)
	s := must(light.DirectFractions(tank, em[0]))
	within(t, "cover", tr.Terminations[0][0][ToCover], s.Cover, 4, 1e-4)
	within(t, "direct on the water", got[OnWaterDirect], s.Surface, 4, 1e-4)
	near(t, "sum", s.Spill+s.Cover+s.DryWall+s.Surface, 1, 1e-9)
}

// A covered pane hides the lamp from an eye beside the tank; a cover takes its part of the view through the opening.
func TestViewThroughCoveredPanes(t *testing.T) {
	tank, em := covered()
	tank.WaterDepthM, tank.SubstrateM = 0, 0
	scene := Scene{Tank: tank}
	v := must(LuminanceFrom(scene, em[0], 0.02, [3]float64{0, 1, -1}))
	if v.Visible || v.Hidden != "a covered pane" {
		t.Errorf("behind white paint: %+v", v)
	}
	scene.Tank.Panes = [4]light.Pane{}
	with := must(LuminanceFrom(scene, em[0], 0.02, [3]float64{0, 1, -1}))
	scene.Tank.Cover = light.Cover{}
	open := must(LuminanceFrom(scene, em[0], 0.02, [3]float64{0, 1, -1}))
	d := math.Sqrt(0.1*0.1 + 0.95*0.95 + 1.55*1.55)
	_, passed := tank.Cover.Split(1.55 / d)
	near(t, "through the cover", with.Illuminance/open.Illuminance, passed, 1e-9)
}
