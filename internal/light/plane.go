package light

import (
	"fmt"
)

// Plane is a target: z = ZM + SlopeX·x + SlopeY·y. At or above the level of the water surface it is in air.
// Irradiance is per area of the plane itself and counts light from above only.
type Plane struct {
	Name           string
	ZM             float64
	SlopeX, SlopeY float64
}

// Grid is NX × NY cells over a rectangle; the zero rectangle means the inside of the tank.
type Grid struct {
	NX, NY         int
	X0, X1, Y0, Y1 float64 // [m]
}

// Centre returns the middle of cell (ix, iy) [m].
func (g Grid) Centre(ix, iy int) (x, y float64) {
	return g.X0 + (float64(ix)+0.5)*(g.X1-g.X0)/float64(g.NX), g.Y0 + (float64(iy)+0.5)*(g.Y1-g.Y0)/float64(g.NY)
}

// CellArea returns the area of one cell [m²], seen from above.
func (g Grid) CellArea() float64 {
	return (g.X1 - g.X0) * (g.Y1 - g.Y0) / float64(g.NX*g.NY)
}

// Surface returns the plane just above the water (the target plane, if there is no water).
func (t Tank) Surface() Plane {
	if t.WaterDepthM == 0 {
		return t.Substrate()
	}
	return Plane{Name: "water surface", ZM: t.WaterDepthM}
}

// AtDepth returns the horizontal plane depthM below the water surface.
func (t Tank) AtDepth(depthM float64) Plane {
	return Plane{Name: fmt.Sprintf("%.0f mm below the surface", depthM*1000), ZM: t.WaterDepthM - depthM}
}

// Substrate returns the top of the substrate.
func (t Tank) Substrate() Plane {
	return Plane{Name: "substrate", ZM: t.SubstrateM, SlopeX: t.SubstrateSlopeX, SlopeY: t.SubstrateSlopeY}
}

// CompleteGrid returns g with the rectangle of the inside of the tank if it has none, and an error if it is invalid.
func (t Tank) CompleteGrid(g Grid) (Grid, error) {
	if g.NX < 1 || g.NY < 1 || g.NX > 4096 || g.NY > 4096 {
		return g, fmt.Errorf("grid of %d × %d cells; each side must have 1 to 4096", g.NX, g.NY)
	}
	if g.X0 == 0 && g.X1 == 0 && g.Y0 == 0 && g.Y1 == 0 {
		g.X0, g.X1, g.Y0, g.Y1 = -t.LengthM/2, t.LengthM/2, -t.WidthM/2, t.WidthM/2
	}
	if !(g.X1 > g.X0) || !(g.Y1 > g.Y0) || !finite(g.X0+g.X1+g.Y0+g.Y1) {
		return g, fmt.Errorf("grid from (%g, %g) to (%g, %g) m has no area", g.X0, g.Y0, g.X1, g.Y1)
	}
	return g, nil
}
