package verify

import (
	"context"
	"fmt"
	"math"
	"strings"
	"sync"

	"lampwright/internal/intensity"
	"lampwright/internal/light"
	"lampwright/internal/photometry"
	"lampwright/internal/raytrace"
)

// sceneChecks computes the rows of data/optics.csv that need a whole scene: traced, mapped, or read from a file.
func sceneChecks(ctx context.Context) map[string]check {
	checks := map[string]check{
		"OM1": func() (float64, error) { return closedBox(ctx) },
		"OM2": func() (float64, error) {
			f, err := cube(ctx)
			return f[raytrace.ToCeiling], err
		},
		"OM3": func() (float64, error) {
			f, err := cube(ctx)
			return f[raytrace.ToRoomWall] / 4, err
		},
		"OM4": func() (float64, error) {
			f, err := basin(ctx, 2, 0)
			return f[raytrace.IntoWater].Value, err
		},
		"OM5": func() (float64, error) {
			f, err := basin(ctx, 1, 0)
			return 1 - f[raytrace.IntoWater].Value/f[raytrace.OnWater].Value, err
		},
		"OM6": func() (float64, error) {
			const rho = 0.8
			f, err := basin(ctx, 2, rho)
			gain := f[raytrace.SubstrateTotal].Value / f[raytrace.SubstrateFirst].Value
			return (1 - 1/gain) / rho, err
		},
		"OM7":   func() (float64, error) { return disk(ctx) },
		"OP2-a": func() (float64, error) { return openCase(ctx, 0.3, 0, 0.17, -0.11) },
		"OP2-b": func() (float64, error) { return openCase(ctx, 0.3, 0, -0.2, -0.15) },
		"OP3-a": func() (float64, error) { return openCase(ctx, 0.3, 0.5, 0.17, -0.11) },
		"OP3-b": func() (float64, error) { return openCase(ctx, 0.3, 0.5, -0.2, -0.15) },
	}
	firstPass := sync.OnceValues(func() (raytrace.FirstPass, error) {
		tank, em, err := openTank(0, 0)
		if err != nil {
			return raytrace.FirstPass{}, err
		}
		return raytrace.FollowFirstPass(ctx, tank, em, tank.WaterDepthM, 1_000_000)
	})
	for key, pick := range map[string]func(raytrace.FirstPass) raytrace.Estimate{
		"opening": func(f raytrace.FirstPass) raytrace.Estimate { return f.Opening },
		"surface": func(f raytrace.FirstPass) raytrace.Estimate { return f.Surface },
		"entered": func(f raytrace.FirstPass) raytrace.Estimate { return f.Entered },
		"dry":     func(f raytrace.FirstPass) raytrace.Estimate { return f.DryWall },
		"up":      func(f raytrace.FirstPass) raytrace.Estimate { return f.Up },
	} {
		checks["OP1-"+key] = func() (float64, error) {
			f, err := firstPass()
			return pick(f).Value, err
		}
	}
	uniform := lm63(
		"0 10 20 30 40 50 60 70 80 90 100 110 120 130 140 150 160 170 180", func(float64) float64 { return 100 },
	)
	cosine := lm63(
		"0 5 10 15 20 25 30 35 40 45 50 55 60 65 70 75 80 85 90",
		func(v float64) float64 { return 1000 * math.Cos(v*math.Pi/180) },
	)
	step := lm63("0 29.99 30.01 90", func(v float64) float64 {
		if v < 30 {
			return 1000
		}
		return 0
	})
	flux := func(text string) check {
		return func() (float64, error) {
			f, err := photometry.Read([]byte(text))
			if err != nil {
				return 0, err
			}
			return f.FluxLm(), nil
		}
	}
	checks["O46"], checks["O47"], checks["O48f"] = flux(uniform), flux(cosine), flux(step)
	checks["O47e"] = func() (float64, error) {
		f, err := photometry.Read([]byte(cosine))
		if err != nil {
			return 0, err
		}
		theta, _, cd := f.Polar()
		return intensity.ScanFlux(theta, cd[0], intensity.ScanTrapezoid)
	}
	checks["O48b"] = func() (float64, error) {
		f, err := photometry.Read([]byte(step))
		if err != nil {
			return 0, err
		}
		p, err := f.Distribution()
		if err != nil {
			return 0, err
		}
		return intensity.BeamOf(p).BeamRad * 180 / math.Pi, nil
	}
	return checks
}

// lm63 is a file of one plane, absolute photometry.
func lm63(angles string, candela func(deg float64) float64) string {
	fields := strings.Fields(angles)
	values := make([]string, len(fields))
	for i, f := range fields {
		var deg float64
		if _, err := fmt.Sscan(f, &deg); err != nil {
			panic("verify: " + err.Error())
		}
		values[i] = fmt.Sprintf("%.9g", candela(deg))
	}
	return fmt.Sprintf(
		"IESNA91\nTILT=NONE\n1 -1 1 %d 1 1 2 0 0 0\n1 1 0\n%s\n0\n%s\n", len(fields), angles,
		strings.Join(values, "\n"),
	)
}

// openTank is the tank of the open cases P1 to P3, with a source of unit flux.
func openTank(rho, absorptionPerM float64) (light.Tank, light.Emitter, error) {
	p, err := intensity.CosinePower(2)
	return light.Tank{
		LengthM: 0.5, WidthM: 0.4, HeightM: 0.4, WaterDepthM: 0.36, GlassM: 0.008,
		Bands: []light.Band{{SubstrateReflectance: rho, AbsorptionPerM: absorptionPerM}},
	}, light.Emitter{XM: 0.05, YM: 0.02, ZM: 0.61, Distribution: p}, err
}

// openCase is the illuminance of the bottom at one point for 1000 lm.
func openCase(ctx context.Context, rho, absorptionPerM, x, y float64) (float64, error) {
	tank, em, err := openTank(rho, absorptionPerM)
	if err != nil {
		return 0, err
	}
	const e = 1e-6
	r, err := light.WallMap(
		ctx, tank, []light.Emitter{em}, tank.Substrate(),
		light.Grid{NX: 1, NY: 1, X0: x - e, X1: x + e, Y0: y - e, Y1: y + e},
	)
	if err != nil {
		return 0, err
	}
	return 1000 * r.Data[0], nil
}

// closedBox is the light that all faces of a matt box meet: the floor as target, the walls by receivers, and the
// ceiling by what it absorbs.
func closedBox(ctx context.Context) (float64, error) {
	const rho = 0.5
	p, err := intensity.CosinePower(1)
	if err != nil {
		return 0, err
	}
	var walls []raytrace.Receiver
	for _, side := range []raytrace.Side{raytrace.Left, raytrace.Right, raytrace.Front, raytrace.Back} {
		walls = append(
			walls, raytrace.Receiver{Region: raytrace.OnRoomWall, Side: side, Grid: light.Grid{NX: 1, NY: 1}},
		)
	}
	tr, err := raytrace.Trace(ctx, raytrace.Scene{
		Tank: light.Tank{LengthM: 2, WidthM: 1.5, Bands: []light.Band{{SubstrateReflectance: rho}}},
		Room: &raytrace.Room{
			X0: -1, X1: 1, Y0: -0.75, Y1: 0.75, CeilingM: 1.2, OfFloor: rho, OfWalls: rho, OfCeiling: rho,
		},
	}, []light.Emitter{
		{XM: 0.3, ZM: 0.9, TiltRad: 1, Distribution: p},
	}, walls, raytrace.Options{Paths: 40_000, Seed: 1})
	if err != nil {
		return 0, err
	}
	met := tr.Flows[0][0][raytrace.SubstrateTotal].Value +
		(tr.Terminations[0][0][raytrace.ToCeiling].Value+tr.Terminations[0][0][raytrace.ToFloor].Value)/(1-rho)
	for _, m := range tr.Maps {
		met += m.Mean[0][0].Value * m.Response.Grid.CellArea()
	}
	return met, nil
}

// cube returns where the light of an evenly diffuse floor of a black unit cube ends.
func cube(ctx context.Context) (map[raytrace.Termination]float64, error) {
	p, err := intensity.CosinePower(1)
	if err != nil {
		return nil, err
	}
	var floor []light.Emitter
	const n = 20
	for i := range n * n {
		floor = append(floor, light.Emitter{
			XM: (float64(i%n)+0.5)/n - 0.5, YM: (float64(i/n)+0.5)/n - 0.5, ZM: 1e-3, TiltRad: math.Pi, Distribution: p,
		})
	}
	tr, err := raytrace.Trace(ctx, raytrace.Scene{
		Tank: light.Tank{LengthM: 1, WidthM: 1},
		Room: &raytrace.Room{X0: -0.5, X1: 0.5, Y0: -0.5, Y1: 0.5, CeilingM: 1},
	}, floor, nil, raytrace.Options{Paths: 60_000, Seed: 1, Groups: make([]int, n*n)})
	if err != nil {
		return nil, err
	}
	ends := map[raytrace.Termination]float64{}
	for f, e := range tr.Terminations[0][0] {
		ends[raytrace.Termination(f)] = e.Value
	}
	return ends, nil
}

// basin traces a cosine power over water so wide that hardly any light meets its walls, and returns its flows.
func basin(ctx context.Context, m, rho float64) (map[raytrace.Flow]raytrace.Estimate, error) {
	p, err := intensity.CosinePower(m)
	if err != nil {
		return nil, err
	}
	tank := light.Tank{
		LengthM: 60, WidthM: 60, HeightM: 0.2, WaterDepthM: 0.2, GlassM: 0.01,
		Bands: []light.Band{{SubstrateReflectance: rho}},
	}
	tr, err := raytrace.Trace(
		ctx, raytrace.Scene{Tank: tank}, []light.Emitter{{ZM: 0.5, Distribution: p}}, nil,
		raytrace.Options{Paths: 60_000, Seed: 1},
	)
	if err != nil {
		return nil, err
	}
	flows := map[raytrace.Flow]raytrace.Estimate{}
	for f, e := range tr.Flows[0][0] {
		flows[raytrace.Flow(f)] = e
	}
	return flows, nil
}

// disk is the illuminance on the axis of a disk of 4000 diffuse points, spread like the seeds of a sunflower.
func disk(ctx context.Context) (float64, error) {
	p, err := intensity.CosinePower(1)
	if err != nil {
		return 0, err
	}
	const n, radius, luminance = 4000, 0.1, 1e4
	var points []light.Emitter
	weights := make([][]float64, n)
	for i := range n {
		s, c := math.Sincos(float64(i) * math.Pi * (3 - math.Sqrt(5)))
		r := radius * math.Sqrt((float64(i)+0.5)/n)
		points = append(points, light.Emitter{XM: r * c, YM: r * s, ZM: 0.3, Distribution: p})
		weights[i] = []float64{luminance * math.Pi * math.Pi * radius * radius / n}
	}
	bench := light.Tank{LengthM: 1, WidthM: 1}
	m, err := light.DirectMap(ctx, bench, points, bench.Substrate(), light.Grid{NX: 1, NY: 1})
	if err != nil {
		return 0, err
	}
	return m.Mix(weights)[0], nil
}
