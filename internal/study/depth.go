package study

import (
	"context"
	"fmt"
	"math"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/light"
)

// DepthPoint is the light at one depth in the water.
type DepthPoint struct {
	DepthM float64 `json:"depth_m"` // below the surface; 0 is just above it
	Lux    float64 `json:"lux"`     // mean
	light.Figures
}

// depthLevels is how many levels a curve of depth has, the first on the surface and the last on the substrate.
const depthLevels = 7

// Depth returns the light against depth, in µmol/m²/s and lux, at typical ambient; it is empty where there is no water.
//
// Maps as for the figures, for levels evenly spaced from the surface to the substrate (to
// its highest corner where it slopes).
func Depth(ctx context.Context, r *figure.Evaluation) ([]DepthPoint, error) {
	l := r.Lamp
	tank, err := engine.TankOf(l)
	if err != nil || tank.WaterDepthM == 0 {
		return nil, err
	}
	cell := engine.Options{}.CellEdgeM(l)
	grid := engine.CellsOver(tank, cell, 4)
	x, y := l.Design.Installation.RiseM()
	deepest := tank.WaterDepthM - tank.SubstrateM - math.Abs(x)*tank.LengthM/2 - math.Abs(y)*tank.WidthM/2
	umol, lm := bandLight(r, len(tank.Bands))
	var out []DepthPoint
	for i := range depthLevels {
		d := deepest * float64(i) / (depthLevels - 1)
		plane := tank.AtDepth(d)
		if i == 0 {
			plane = tank.Surface()
		}
		m, err := light.WallMap(ctx, tank, l.Sources(), plane, grid)
		if err != nil {
			return nil, fmt.Errorf("light %.0f mm below the surface: %w", 1e3*d, err)
		}
		out = append(out, DepthPoint{
			DepthM: d, Figures: light.Summarise(m.Mix(umol)),
			Lux: light.Summarise(m.Mix(lm)).Mean,
		})
	}
	return out, nil
}
