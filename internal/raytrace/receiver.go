package raytrace

import (
	"errors"
	"fmt"
	"math"

	"lampwright/internal/light"
)

// Place says where a Receiver lies.
type Region int

// The places of receivers.
const (
	OnPlane     Region = iota // a Plane inside the tank, or over the bench: light from above
	OnSubstrate               // the substrate, all orders
	OnPane                    // the outside of a pane: light that leaves; Side says which
	OnFloor                   // the floor of the room
	OnRoomWall                // a wall of the room; Side says which
	OnMeter                   // a flat disk anywhere: a cosine-corrected meter
)

// Side names a pane or a wall by the axis it stands across.
type Side int

// The sides.
const (
	Left  Side = iota // −x
	Right             // +x
	Front             // −y
	Back              // +y
)

// Receiver collects light. Grids of panes and room walls run along the wall and up; the zero rectangle is all of it.
type Receiver struct {
	Name   string
	Region Region
	Plane  light.Plane // OnPlane
	Side   Side        // OnPane, OnRoomWall
	Grid   light.Grid  // not for OnMeter
	At     [3]float64
	Facing [3]float64 // OnMeter: where its front looks
	Radius float64    // OnMeter [m]
}

// place completes a receiver's grid.
func (r *run) completeReceiver(rec *Receiver) error {
	t := &r.Tank
	side := func(x0, x1, y0, y1, low, high float64) {
		if rec.Grid.X0 != 0 || rec.Grid.X1 != 0 || rec.Grid.Y0 != 0 || rec.Grid.Y1 != 0 {
			return
		}
		if rec.Side == Left || rec.Side == Right {
			x0, x1 = y0, y1
		}
		rec.Grid.X0, rec.Grid.X1, rec.Grid.Y0, rec.Grid.Y1 = x0, x1, low, high
	}
	switch rec.Region {
	case OnPlane:
	case OnSubstrate:
		rec.Plane = t.Substrate()
	case OnPane:
		if t.HeightM == t.SubstrateM && t.WaterDepthM == 0 {
			return errors.New("a bench has no panes")
		}
		side(-t.LengthM/2, t.LengthM/2, -t.WidthM/2, t.WidthM/2, 0, t.HeightM)
	case OnFloor, OnRoomWall:
		if r.Room == nil {
			return errors.New("the scene has no room")
		}
		if rec.Region == OnRoomWall {
			side(r.Room.X0, r.Room.X1, r.Room.Y0, r.Room.Y1, r.Room.FloorM, r.Room.CeilingM)
		} else if rec.Grid.X0 == 0 && rec.Grid.X1 == 0 {
			rec.Grid.X0, rec.Grid.X1, rec.Grid.Y0, rec.Grid.Y1 = r.Room.X0, r.Room.X1, r.Room.Y0, r.Room.Y1
		}
	case OnMeter:
		size := math.Sqrt(dot(rec.Facing, rec.Facing))
		if !(rec.Radius > 0) || !(size > 0) {
			return errors.New("a meter needs a radius and a direction to face")
		}
		for i := range rec.Facing {
			rec.Facing[i] /= size
		}
		rec.Grid = light.Grid{NX: 1, NY: 1, X0: 0, X1: math.Pi * rec.Radius, Y0: 0, Y1: rec.Radius} // area πr²
		return nil
	default:
		return fmt.Errorf("place %d is not known", rec.Region)
	}
	if rec.Side < Left || rec.Side > Back {
		return fmt.Errorf("side %d is not known", rec.Side)
	}
	g, err := t.CompleteGrid(rec.Grid)
	rec.Grid = g
	if err == nil && g.NX*g.NY*len(r.bands)*len(r.groups) > maxValues {
		return fmt.Errorf("%d × %d cells, %d bands and %d groups are too many; use a coarser grid", g.NX, g.NY, len(r.bands), len(r.groups))
	}
	return err
}

// area returns the area of one cell of a receiver [m²].
func (rec *Receiver) area() float64 {
	a := rec.Grid.CellArea()
	if rec.Region == OnPlane || rec.Region == OnSubstrate {
		a *= math.Sqrt(1 + rec.Plane.SlopeX*rec.Plane.SlopeX + rec.Plane.SlopeY*rec.Plane.SlopeY)
	}
	return a
}
