package raytrace

import (
	"errors"
	"fmt"
	"math"

	"lampwright/internal/light"
)

// Region is the surface on which a Receiver is.
type Region int

// The regions of receivers.
const (
	OnPlane     Region = iota // a light.Plane inside the tank, or above the bench: light from above
	OnSubstrate               // the substrate, all orders
	OnPane                    // the outside of a glass wall: light that leaves the tank; Side selects the wall
	OnFloor                   // the floor of the room
	OnRoomWall                // a wall of the room; Side selects it
	OnMeter                   // a flat disk at any position: a cosine-corrected meter
)

// Side identifies a wall of the tank or of the room by its outward direction.
type Side = light.Side

// The sides.
const (
	Left  = light.Left  // −x
	Right = light.Right // +x
	Front = light.Front // −y
	Back  = light.Back  // +y
)

// Receiver records light. Grids on walls run along the wall and upwards; the zero rectangle means the whole wall.
type Receiver struct {
	Name   string
	Region Region
	Plane  light.Plane // OnPlane
	Side   Side        // OnPane, OnRoomWall
	Grid   light.Grid  // not for OnMeter
	At     [3]float64
	Facing [3]float64 // OnMeter: direction of its front
	Radius float64    // OnMeter [m]
}

// completeReceiver checks a receiver and completes its grid.
func (r *run) completeReceiver(rec *Receiver) error {
	if rec.Side < Left || rec.Side > Back {
		return fmt.Errorf("unknown side %d", rec.Side)
	}
	var err error
	switch rec.Region {
	case OnPlane:
	case OnSubstrate:
		rec.Plane = r.Tank.Substrate()
	case OnPane:
		err = r.completePane(rec)
	case OnFloor, OnRoomWall:
		err = r.completeRoomFace(rec)
	case OnMeter:
		return completeMeter(rec)
	default:
		err = fmt.Errorf("unknown region %d", rec.Region)
	}
	if err != nil {
		return err
	}
	g, err := r.Tank.CompleteGrid(rec.Grid)
	rec.Grid = g
	if err == nil && g.NX*g.NY*len(r.bands)*len(r.groups) > maxValues {
		return fmt.Errorf("%d × %d cells, %d bands and %d groups are too many; use a coarser grid",
			g.NX, g.NY, len(r.bands), len(r.groups))
	}
	return err
}

// completePane sets the grid of a receiver on a glass wall.
func (r *run) completePane(rec *Receiver) error {
	t := &r.Tank
	if t.HeightM == t.SubstrateM && t.WaterDepthM == 0 {
		return errors.New("a bench has no glass walls")
	}
	rec.defaultGrid(-t.LengthM/2, t.LengthM/2, -t.WidthM/2, t.WidthM/2, 0, t.HeightM)
	return nil
}

// completeRoomFace sets the grid of a receiver on the floor or a wall of the room.
func (r *run) completeRoomFace(rec *Receiver) error {
	room := r.Room
	switch {
	case room == nil:
		return errors.New("the scene has no room")
	case rec.Region == OnRoomWall:
		rec.defaultGrid(room.X0, room.X1, room.Y0, room.Y1, room.FloorM, room.CeilingM)
	case rec.Grid.X0 == 0 && rec.Grid.X1 == 0:
		rec.Grid.X0, rec.Grid.X1, rec.Grid.Y0, rec.Grid.Y1 = room.X0, room.X1, room.Y0, room.Y1
	}
	return nil
}

// defaultGrid sets the rectangle of a grid that has none to the whole of a wall on the receiver's side.
func (rec *Receiver) defaultGrid(x0, x1, y0, y1, low, high float64) {
	g := &rec.Grid
	if g.X0 != 0 || g.X1 != 0 || g.Y0 != 0 || g.Y1 != 0 {
		return
	}
	if rec.Side == Left || rec.Side == Right {
		x0, x1 = y0, y1
	}
	g.X0, g.X1, g.Y0, g.Y1 = x0, x1, low, high
}

// completeMeter normalises the direction of a meter; its one cell has the area πr².
func completeMeter(rec *Receiver) error {
	size := math.Sqrt(dot(rec.Facing, rec.Facing))
	if !(rec.Radius > 0) || !(size > 0) {
		return errors.New("a meter must have a radius above 0 and a direction")
	}
	for i := range rec.Facing {
		rec.Facing[i] /= size
	}
	rec.Grid = light.Grid{NX: 1, NY: 1, X0: 0, X1: math.Pi * rec.Radius, Y0: 0, Y1: rec.Radius}
	return nil
}

// area returns the area of one cell of a receiver [m²].
func (rec *Receiver) area() float64 {
	a := rec.Grid.CellArea()
	if rec.Region == OnPlane || rec.Region == OnSubstrate {
		a *= math.Sqrt(1 + rec.Plane.SlopeX*rec.Plane.SlopeX + rec.Plane.SlopeY*rec.Plane.SlopeY)
	}
	return a
}
