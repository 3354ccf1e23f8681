package project

import (
	"lampwright/internal/geom"
	"lampwright/internal/mount"
)

// mounting complains of screws that are not on the board.
func (c *checker) mounting(b *BoardUse) {
	if b.Mounting == nil || !b.Complete() {
		return
	}
	for _, at := range b.Mounting.At {
		if !at.X.Set || !at.Y.Set {
			continue
		}
		if !b.Outline().Contains(at.X.SI, at.Y.SI) {
			c.add(at.X.At, "places count from the centre of the board", "a screw of the mounting lies off the board")
		}
	}
}

// Screwed tells whether screws or clips press the board on the heat sink.
func (b *BoardUse) Screwed() bool {
	m := b.Mounting
	return m != nil && (m.Method.S == MountScrews || m.Method.S == MountClips)
}

// Screw returns the screw of the mounting, with its washer.
func (b *BoardUse) Screw() (s mount.Screw, ok bool) {
	if m := b.Mounting; m != nil && m.Screw.Set {
		return mount.ScrewOf(string(m.Screw.S))
	}
	return mount.Screw{}, false
}

// looseM is by how much a hole for a screw is larger than its clearance hole at most; rule of thumb (no source).
const looseM = 0.4e-3

// Fasteners returns the places of the screws or clips on the board: those that the design states, else its round holes
// that fit the screw.
func (b *BoardUse) Fasteners() (out []geom.Point) {
	if !b.Screwed() {
		return nil
	}
	for _, at := range b.Mounting.At {
		out = append(out, geom.Point{XM: at.X.SI, YM: at.Y.SI})
	}
	screw, ok := b.Screw()
	if len(out) > 0 || !ok {
		return out
	}
	for i := range b.Holes {
		h := &b.Holes[i]
		if d := h.Diameter.SI; !h.Diameter.Set || d <= screw.DiameterM || d > screw.HoleM+looseM {
			continue
		}
		for _, at := range h.At {
			out = append(out, geom.Point{XM: at.X.SI, YM: at.Y.SI})
		}
	}
	return out
}
