package raytrace

import (
	"context"
	"fmt"
	"math"

	"lampwright/internal/light"
)

// TankLight is the light of a lamp in a tank by both solvers, in one band: maps by images and radiosity, destinations
// by Monte Carlo. Fluxes are in the unit of the weights, irradiances in that unit per m².
type TankLight struct {
	Surface, Substrate light.Figures // of the mean values of cells
	Terminations       [TerminationCount]Estimate
	Flows              [FlowCount]Estimate
}

// SolveTank computes the light of emitters of the given fluxes on the cells of a grid, and where their light ends as
// fractions of the flux, with a number of Monte Carlo paths in all.
func SolveTank(
	ctx context.Context, t light.Tank, emitters []light.Emitter, flux []float64, g light.Grid, paths int, seed uint64,
) (TankLight, error) {
	var out TankLight
	weights := make([][]float64, len(flux))
	total := 0.0
	for i, f := range flux {
		weights[i] = []float64{f}
		total += f
	}
	for _, by := range []struct {
		plane light.Plane
		to    *light.Figures
	}{{t.Surface(), &out.Surface}, {t.Substrate(), &out.Substrate}} {
		m, err := light.WallMap(ctx, t, emitters, by.plane, g)
		if err != nil {
			return out, fmt.Errorf("light on the %s: %w", by.plane.Name, err)
		}
		*by.to = light.Summarise(m.Mix(weights))
	}
	tr, err := Trace(ctx, Scene{Tank: t}, emitters, nil,
		Options{Paths: max(1000, paths/len(emitters)), Tiles: 40, Seed: seed})
	if err != nil {
		return out, fmt.Errorf("trace the light: %w", err)
	}
	add := func(to *Estimate, e Estimate, share float64) {
		to.Value += share * e.Value
		to.Err = math.Hypot(to.Err, share*e.Err)
	}
	for e, f := range flux {
		for k := range out.Terminations {
			add(&out.Terminations[k], tr.Terminations[e][0][k], f/total)
		}
		for k := range out.Flows {
			add(&out.Flows[k], tr.Flows[e][0][k], f/total)
		}
	}
	return out, nil
}
