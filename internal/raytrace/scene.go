package raytrace

import (
	"errors"
	"fmt"
	"math"

	"lampwright/internal/light"
)

// Scene is a tank with its surroundings.
type Scene struct {
	Tank          light.Tank
	SlopeRMS      float64 // RMS slope of the ripples of the water surface [1]; 0 means flat
	ScatterCosine float64 // mean cosine of scattering in water; 0 means ForwardScattering
	GlassInterior bool    // follow light inside the glass, with absorbing edges, instead of the thin-wall convention
	Room          *Room   // nil: light that leaves the tank or misses it ends there
	Objects       []Plate // hood, shade
}

// Room is a box around the tank with diffuse inner faces. Levels are relative to the inside bottom of the tank.
type Room struct {
	X0, X1, Y0, Y1              float64 // walls [m]
	FloorM, CeilingM            float64 // [m]
	OfFloor, OfWalls, OfCeiling float64 // diffuse reflectances [1]
}

// Plate is an opaque parallelogram with diffuse reflection on both sides.
type Plate struct {
	Name         string
	Corner       [3]float64 // [m]
	EdgeA, EdgeB [3]float64 // from the corner [m]
	Reflectance  float64
	normal       [3]float64
	level        float64    // of the plane along the normal [m]
	alongA       [3]float64 // the product with a point is its place along edge A, from 0 to 1 [1/m]
	alongB       [3]float64
	atA, atB     float64 // the products with the corner
}

// checkRoom checks that the room contains the tank and the emitters.
func (r *run) checkRoom() error {
	room := r.Room
	if room == nil {
		return nil
	}
	t := &r.Tank
	out := 0.0
	if t.Walls == light.WallGlass {
		out = t.GlassM
	}
	if room.X0 > -t.LengthM/2-out || room.X1 < t.LengthM/2+out || room.Y0 > -t.WidthM/2-out ||
		room.Y1 < t.WidthM/2+out {
		return errors.New("the walls of the room intersect the tank")
	}
	low, _ := t.SubstrateSpan()
	if room.FloorM > math.Min(0, low) || room.CeilingM <= t.HeightM {
		return fmt.Errorf("floor at %.4g m and ceiling at %.4g m of the room must be below and above the tank",
			room.FloorM, room.CeilingM)
	}
	for _, v := range []float64{room.OfFloor, room.OfWalls, room.OfCeiling} {
		if !(v >= 0 && v <= 1) {
			return fmt.Errorf("reflectance %g of the room is outside 0 to 1", v)
		}
	}
	for _, e := range r.emitters {
		if e.ZM >= room.CeilingM || e.XM <= room.X0 || e.XM >= room.X1 || e.YM <= room.Y0 || e.YM >= room.Y1 {
			return fmt.Errorf("emitter %q is outside the room", e.Name)
		}
	}
	return nil
}

// prepare checks a plate and computes its normal.
func (p *Plate) prepare() error {
	a, b := p.EdgeA, p.EdgeB
	p.normal = [3]float64{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
	size := math.Sqrt(dot(p.normal, p.normal))
	if !(size > 0) || !finite(size) || !(p.Reflectance >= 0 && p.Reflectance <= 1) {
		return fmt.Errorf("plate %q must have two edges that span an area and a reflectance from 0 to 1", p.Name)
	}
	for i := range p.normal {
		p.normal[i] /= size
	}
	p.level = dot(p.Corner, p.normal)
	aa, ab, bb := dot(a, a), dot(a, b), dot(b, b)
	for i := range a {
		p.alongA[i] = (a[i]*bb - b[i]*ab) / (aa*bb - ab*ab)
		p.alongB[i] = (b[i]*aa - a[i]*ab) / (aa*bb - ab*ab)
	}
	p.atA, p.atB = dot(p.Corner, p.alongA), dot(p.Corner, p.alongB)
	return nil
}

// intersects reports whether one of 21 × 21 points of the plate is inside the tank.
func (p *Plate) intersects(t *light.Tank) bool {
	for k := range 21 * 21 {
		var q [3]float64
		for i := range q {
			q[i] = p.Corner[i] + p.EdgeA[i]*float64(k%21)/20 + p.EdgeB[i]*float64(k/21)/20
		}
		if math.Abs(q[0]) < t.LengthM/2 && math.Abs(q[1]) < t.WidthM/2 && q[2] > 0 && q[2] < t.HeightM-1e-9 {
			return true
		}
	}
	return false
}

// hit returns the distance to the plate along a ray if it is below a limit, or the limit.
func (p *Plate) hit(at, dir *[3]float64, limit float64) float64 {
	n, x, y, z := &p.normal, at[0], at[1], at[2]
	along, to := dir[0]*n[0]+dir[1]*n[1]+dir[2]*n[2], p.level-(x*n[0]+y*n[1]+z*n[2])
	if along < 0 {
		along, to = -along, -to
	}
	if to <= 1e-9*along || to >= limit*along {
		return limit
	}
	t := to / along
	x, y, z = x+t*dir[0], y+t*dir[1], z+t*dir[2]
	a, b := &p.alongA, &p.alongB
	u := x*a[0] + y*a[1] + z*a[2] - p.atA
	v := x*b[0] + y*b[1] + z*b[2] - p.atB
	if u < 0 || u > 1 || v < 0 || v > 1 {
		return limit
	}
	return t
}
