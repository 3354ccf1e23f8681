package design

import (
	"context"
	"fmt"
	"math"

	"lampwright/internal/light"
)

// DepthPoint is the light on one level in the water.
type DepthPoint struct {
	DepthM float64 `json:"depth_m"` // below the surface; 0 is just above it
	Lux    float64 `json:"lux"`     // mean
	light.Figures
}

// depthLevels is how many levels a curve of depth has, the first on the surface and the last on the substrate.
const depthLevels = 7

// Depth returns the light against depth, in µmol/m²/s and lux, on the usual day; it is empty where there is no water.
//
// Maps as for the figures, for levels evenly spaced from the surface to the substrate (to
// its highest corner where it slopes).
func (r *Result) Depth(ctx context.Context) ([]DepthPoint, error) {
	l := r.Lamp
	tank, err := l.tank()
	if err != nil || tank.WaterDepthM == 0 {
		return nil, err
	}
	cell := Options{}.cellM(l)
	grid := cellsOver(tank, cell, 4)
	x, y := l.Design.Installation.RiseM()
	deepest := tank.WaterDepthM - tank.SubstrateM - math.Abs(x)*tank.LengthM/2 - math.Abs(y)*tank.WidthM/2
	umol, lm := r.bandLight(len(tank.Bands))
	var out []DepthPoint
	for i := range depthLevels {
		d := deepest * float64(i) / (depthLevels - 1)
		plane := tank.AtDepth(d)
		if i == 0 {
			plane = tank.Surface()
		}
		m, err := light.WallMap(ctx, tank, l.sources(), plane, grid)
		if err != nil {
			return nil, fmt.Errorf("light %.0f mm below the surface: %w", 1e3*d, err)
		}
		out = append(out, DepthPoint{DepthM: d, Figures: light.Summarise(m.Mix(umol)), Lux: light.Summarise(m.Mix(lm)).Mean})
	}
	return out, nil
}
