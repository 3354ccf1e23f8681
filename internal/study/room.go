package study

import (
	"context"
	"fmt"
	"math"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/lamp"
	"lampwright/internal/light"
	"lampwright/internal/raytrace"
)

// RoomSurfaces is the light on floor and walls of the room, inter-reflection included.
type RoomSurfaces struct {
	Complete bool              `json:"complete"` // false where it was stopped, or ended above the required error
	Assumed  bool              `json:"assumed"`  // the design states no room; a living room was assumed
	Room     RoomExtent        `json:"room"`
	Paths    int64             `json:"paths"`
	Spill    raytrace.Estimate `json:"spill"` // fraction of the lamp's light
	Faces    []RoomSurface     `json:"faces"`
	Notes    []string          `json:"notes"`
}

// RoomExtent is the room; levels are measured from the inside bottom, or the bench.
type RoomExtent struct {
	X0       float64 `json:"x0_m"`
	X1       float64 `json:"x1_m"`
	Y0       float64 `json:"y0_m"`
	Y1       float64 `json:"y1_m"`
	FloorM   float64 `json:"floor_m"`
	CeilingM float64 `json:"ceiling_m"`
}

// RoomSurface is the light on the floor or a wall, [ny][nx]: x, or y on the left and right walls, fastest; the first
// row is the front one of the floor, and the lowest of a wall.
type RoomSurface struct {
	Title   string            `json:"title"`
	Side    string            `json:"side"` // "floor", "front", "back", "left" or "right"
	LengthM float64           `json:"length_m"`
	WidthM  float64           `json:"width_m"`
	NX      int               `json:"nx"`
	NY      int               `json:"ny"`
	Lux     []float64         `json:"lux"`
	Err     []float64         `json:"standard_error"`
	Mean    raytrace.Estimate `json:"mean_lux"`
}

// roomCellM is the approximate edge of a cell of floor and walls.
const roomCellM = 0.15

// assumedRoom is the room where the design states none: 4 m × 3 m × 2.5 m with the installation on a stand of 0.75 m in
// its centre; rule of thumb (no source).
func assumedRoom(l *lamp.Lamp) *raytrace.Room {
	in := l.Design.Installation.Inside
	floor := -0.75 - l.Design.Installation.Glass.SI
	x, y := math.Max(4, in.Length.SI+2), math.Max(3, in.Width.SI+2)
	top := math.Max(2.5, l.LensLevelM()-floor+0.5)
	return &raytrace.Room{
		X0: -x / 2, X1: x / 2, Y0: -y / 2, Y1: y / 2, FloorM: floor, CeilingM: floor + top,
		OfFloor: 0.2, OfWalls: 0.5, OfCeiling: 0.7,
	}
}

// LightRoomSurfaces traces the light of the lamp to floor and walls of the room, at typical ambient. The room is that
// of the design, or an assumed one. Where ctx ends, it returns its error.
func LightRoomSurfaces(ctx context.Context, r *figure.Evaluation, o TraceOptions) (*RoomSurfaces, error) {
	if o.RelErr == 0 {
		o.RelErr = 0.01
	}
	if o.MaxPaths == 0 {
		o.MaxPaths = 600_000
	}
	t, err := newTracer(r, o.GlassInterior)
	if err != nil {
		return nil, err
	}
	out := &RoomSurfaces{}
	if t.scene.Room == nil {
		t.scene.Room, out.Assumed = assumedRoom(r.Lamp), true
	}
	room := t.scene.Room
	out.Room = RoomExtent{room.X0, room.X1, room.Y0, room.Y1, room.FloorM, room.CeilingM}
	out.Faces = roomFaces(room)
	tr, err := raytrace.Trace(ctx, t.scene, t.sources, roomReceivers(out.Faces), raytrace.Options{
		Paths: 100_000, Tiles: 32, RelErr: o.RelErr, MaxPaths: o.MaxPaths, Seed: o.Seed, Workers: o.Workers,
		Groups: t.groupOf, Progress: o.Progress,
	})
	if err != nil {
		return nil, fmt.Errorf("trace the light: %w", err)
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	out.Complete, out.Notes = tr.Complete, append(engine.WaterNotes(r.Lamp), tr.Notes...)
	for _, n := range tr.Paths {
		out.Paths += n
	}
	whole := t.ledger(&tr, -1)
	out.Spill = whole.Share(raytrace.BesideOpening.String())
	for k := range tr.Maps {
		f, m := &out.Faces[k], &tr.Maps[k]
		f.Mean = t.sum(-1, t.lmIn, func(g, b int) raytrace.Estimate { return m.Mean[g][b] })
		for c := range f.NX * f.NY {
			e := t.sum(-1, t.lmIn, func(g, b int) raytrace.Estimate { return cell(m, g, b, c, false) })
			f.Lux, f.Err = append(f.Lux, e.Value), append(f.Err, e.Err)
		}
	}
	return out, nil
}

// roomFaces returns floor and walls of a room with their cells, without light.
func roomFaces(room *raytrace.Room) []RoomSurface {
	cells := func(length float64) int { return max(4, min(32, int(math.Ceil(length/roomCellM-1e-9)))) }
	face := func(title, side string, length, width float64) RoomSurface {
		return RoomSurface{
			Title: title, Side: side, LengthM: length, WidthM: width, NX: cells(length),
			NY: cells(width),
		}
	}
	x, y, z := room.X1-room.X0, room.Y1-room.Y0, room.CeilingM-room.FloorM
	return []RoomSurface{
		face("floor", "floor", x, y), face("front wall", "front", x, z), face("back wall", "back", x, z),
		face("left wall", "left", y, z), face("right wall", "right", y, z),
	}
}

func roomReceivers(faces []RoomSurface) (out []raytrace.Receiver) {
	sides := map[string]raytrace.Side{
		"front": raytrace.Front, "back": raytrace.Back, "left": raytrace.Left, "right": raytrace.Right,
	}
	for _, f := range faces {
		rec := raytrace.Receiver{Name: f.Title, Region: raytrace.OnFloor, Grid: light.Grid{NX: f.NX, NY: f.NY}}
		if f.Side != "floor" {
			rec.Region, rec.Side = raytrace.OnRoomWall, sides[f.Side]
		}
		out = append(out, rec)
	}
	return out
}
