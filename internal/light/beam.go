package light

import (
	"math"
)

// beam is a weighted ray inside the tank. It follows mirror reflections at panes, the water surface and the cover, and
// refraction; it splits at the water surface.
type beam struct {
	p, d   [3]float64
	w      float64 // fraction of the flux, without absorption in water
	waterM float64 // path in water [m]
	wet    bool
	turned bool // its vertical direction reversed, or it was scattered
}

// faintBeam is the weight below which a beam ends.
const faintBeam = 1e-4

// paneTable holds the optics of a pane by the cosine to its normal, in even steps.
type paneTable struct {
	mirrored, passed []float64
	catches          bool // light that passes the glass meets a backing that scatters
}

// deposit receives the light of a beam: on the substrate, on the backing of a pane, and downward through a plane.
type deposit interface {
	onSubstrate(b *beam)
	onPane(b *beam, s Side, passed float64)
	onPlane(b *beam, x, y, waterM float64)
}

// beams follows beams through a tank with a level substrate.
type beams struct {
	half             [2]float64
	top, level, base float64 // rim, water surface (base without water) and substrate [m]
	water            bool
	n                float64
	panes            [2][4]paneTable // dry, wet
	cover            Cover
	planeM           float64 // level of the plane that is recorded
	into, up         []float64
	stack            []beam
}

const opticsSteps = 2048

// newBeams tabulates the optics of a tank.
func (t Tank) newBeams(planeM float64) *beams {
	m := &beams{
		half: [2]float64{t.LengthM / 2, t.WidthM / 2}, top: t.HeightM, level: max(t.WaterDepthM, t.SubstrateM),
		base: t.SubstrateM, water: t.WaterDepthM > 0, n: t.index(), cover: t.Cover, planeM: planeM,
	}
	for i := range opticsSteps + 1 {
		c := float64(i) / opticsSteps
		m.into = append(m.into, Reflectance(c, 1, m.n))
		m.up = append(m.up, Reflectance(c, m.n, 1))
	}
	for wet, n := range [2]float64{1, m.n} {
		for s := Left; s <= Back; s++ {
			m.panes[wet][s] = t.paneTable(s, n)
		}
	}
	return m
}

// paneTable tabulates a pane; walls that are not of glass absorb all light here.
func (t Tank) paneTable(s Side, n float64) paneTable {
	tab := paneTable{mirrored: make([]float64, opticsSteps+1), passed: make([]float64, opticsSteps+1)}
	if t.Walls != WallGlass {
		return tab
	}
	tab.catches = t.Panes[s].Diffuses()
	o := t.PaneOptics(s, n)
	for i := range tab.mirrored {
		tab.mirrored[i], tab.passed[i] = o.Split(float64(i) / opticsSteps)
	}
	return tab
}

// sideOf returns the pane across an axis in a direction.
func sideOf(axis int, d float64) Side {
	if d > 0 {
		return Side(2*axis + 1)
	}
	return Side(2 * axis)
}

// follow follows a beam and all its parts.
func (m *beams) follow(b beam, to deposit) {
	m.stack = append(m.stack[:0], b)
	for len(m.stack) > 0 {
		b := m.stack[len(m.stack)-1]
		m.stack = m.stack[:len(m.stack)-1]
		for range 1000 {
			if !m.step(&b, to) {
				break
			}
		}
	}
}

// step follows one straight segment; it reports whether the beam continues.
func (m *beams) step(b *beam, to deposit) bool {
	low, high := m.level, m.top
	if b.wet || !m.water {
		low = m.base
	}
	if b.wet {
		high = m.level
	}
	length, axis := math.Inf(1), 2
	if b.d[2] > 0 {
		length = max(0, (high-b.p[2])/b.d[2])
	} else if b.d[2] < 0 {
		length = max(0, (low-b.p[2])/b.d[2])
	}
	for a := range 2 {
		if b.d[a] == 0 {
			continue
		}
		if l := (math.Copysign(m.half[a], b.d[a]) - b.p[a]) / b.d[a]; l < length {
			length, axis = max(0, l), a
		}
	}
	if b.d[2] < 0 {
		m.cross(b, length, to)
	}
	for i := range b.p {
		b.p[i] += length * b.d[i]
	}
	if b.wet {
		b.waterM += length
	}
	if axis < 2 {
		return m.hitPane(b, axis, to)
	}
	switch {
	case b.d[2] > 0 && !b.wet:
		return m.hitRim(b)
	case b.wet == (b.d[2] > 0) && m.water:
		return m.hitSurface(b)
	}
	b.p[2] = m.base
	to.onSubstrate(b)
	return false
}

// cross records a segment that crosses the plane downward; the plane belongs to the segment that ends on it.
func (m *beams) cross(b *beam, length float64, to deposit) {
	l := (m.planeM - b.p[2]) / b.d[2]
	if !(l > 0) || l > length {
		return
	}
	waterM := b.waterM
	if b.wet {
		waterM += l
	}
	to.onPlane(b, b.p[0]+l*b.d[0], b.p[1]+l*b.d[1], waterM)
}

func (m *beams) hitPane(b *beam, axis int, to deposit) bool {
	b.p[axis] = math.Copysign(m.half[axis], b.d[axis])
	s, wet := sideOf(axis, b.d[axis]), 0
	if b.wet {
		wet = 1
	}
	tab, cos := &m.panes[wet][s], math.Abs(b.d[axis])
	if tab.catches {
		to.onPane(b, s, lookup(tab.passed, cos))
	}
	b.w *= lookup(tab.mirrored, cos)
	b.d[axis] = -b.d[axis]
	return b.w > faintBeam
}

// hitRim reflects a beam at the cover; the rest leaves.
func (m *beams) hitRim(b *beam) bool {
	r, _ := m.cover.Split(b.d[2])
	b.p[2], b.d[2], b.turned = m.top, -b.d[2], true
	b.w *= r
	return b.w > faintBeam
}

// hitSurface splits a beam at the water surface.
func (m *beams) hitSurface(b *beam) bool {
	b.p[2] = m.level
	table, ratio := m.into, 1/m.n
	if b.wet {
		table, ratio = m.up, m.n
	}
	r := lookup(table, math.Abs(b.d[2]))
	through := *b
	through.w *= 1 - r
	sin2 := (1 - b.d[2]*b.d[2]) * ratio * ratio
	if through.w > faintBeam && sin2 < 1 {
		through.d[0] *= ratio
		through.d[1] *= ratio
		through.d[2] = math.Copysign(math.Sqrt(1-sin2), b.d[2])
		through.wet = !b.wet
		m.stack = append(m.stack, through)
	}
	b.w *= r
	b.d[2], b.turned = -b.d[2], true
	return b.w > faintBeam
}
