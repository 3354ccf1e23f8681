package light

import (
	"errors"
	"fmt"
	"math"
)

// Side identifies a pane of the tank by its outward direction.
type Side int

// The sides.
const (
	Left  Side = iota // −x
	Right             // +x
	Front             // −y
	Back              // +y
)

// Backing is what is behind a pane, or in front of it.
type Backing int

// The kinds of backing.
const (
	Air     Backing = iota // clean glass against air: reflects totally beyond the critical angle
	Contact                // paint or film that wets the outside of the glass: no total reflection
	Gap                    // paper or board behind a layer of air: total reflection as against air
	Inside                 // a matt plate inside the tank, on the glass
)

// Pane is a vertical glass wall with its backing, over its whole height. The zero Pane is clean.
type Pane struct {
	Backing     Backing
	Reflectance float64 // diffuse, of the pigment in its binder (Contact), or of the sheet or plate (Gap, Inside) [1]
	BinderIndex float64 // refractive index of the binder of Contact; 0 means 1.5
	Loss        float64 // fraction of the returned light that deposits, algae and trims absorb [1]
}

func (p Pane) binder() float64 {
	if p.BinderIndex == 0 {
		return 1.5
	}
	return p.BinderIndex
}

// clean reports that the pane is glass without anything on it.
func (p Pane) clean() bool { return p.Backing == Air && p.Loss == 0 }

// Diffuses reports that the pane returns light in other directions than a mirror.
func (p Pane) Diffuses() bool { return p.Backing != Air && p.Reflectance > 0 }

func (p Pane) check() error {
	var errs []error
	if p.Backing < Air || p.Backing > Inside {
		errs = append(errs, fmt.Errorf("unknown backing %d of a pane", p.Backing))
	}
	if !(p.Reflectance >= 0 && p.Reflectance <= 1) || !(p.Loss >= 0 && p.Loss < 1) {
		errs = append(errs, fmt.Errorf("reflectance %g of a pane must be from 0 to 1, its loss %g from 0 and below 1",
			p.Reflectance, p.Loss))
	}
	if n := p.binder(); !(n >= 1) || n > 3 {
		errs = append(errs, fmt.Errorf("refractive index %g of a binder is outside 1 to 3", n))
	}
	return errors.Join(errs...)
}

// PaneOptics is the reflection of light inside the tank at one pane, for one medium.
type PaneOptics struct {
	none    bool    // no glass in front of the backing
	kept    float64 // 1 − Loss
	n       float64 // index inside the tank
	ng      float64
	behind  float64 // index behind the glass
	depth   float64 // optical depth of the glass, a·t
	clear   bool    // depth 0
	Diffuse float64 // fraction that returns diffusely of the light that passes the glass to the backing [1]
	backed  bool
}

// PaneOptics returns the optics of a pane for light in a medium of index n.
//
// Of the light that passes the glass to the backing, the fraction
//
//	kept · ρ t/(1 − ρ r)
//
// returns: the backing scatters ρ of it by Lambert's law, the glass returns r of that to the backing and passes t into
// the tank (diffuse reflectance and transmittance of the slab backing|glass|tank), over all orders. Without absorption
// in the glass t = 1 − r. Source: Saunderson1942 (correction for the surface of a paint), with the slab in place of a
// single surface.
func (t Tank) PaneOptics(s Side, n float64) PaneOptics {
	o, p := t.glassOptics(s, n), t.Panes[s]
	switch {
	case !p.Diffuses():
	case p.Backing == Inside:
		o.Diffuse = o.kept * p.Reflectance
	default:
		r := DiffuseSlabReflectance(o.behind, o.ng, n, o.depth)
		passed := 1 - r
		if !o.clear {
			passed = diffuseSlabTransmittance(o.behind, o.ng, n, o.depth)
		}
		o.Diffuse = o.kept * p.Reflectance * passed / (1 - p.Reflectance*r)
	}
	return o
}

// glassOptics is PaneOptics without Diffuse, which takes two integrals.
func (t Tank) glassOptics(s Side, n float64) PaneOptics {
	p := t.Panes[s]
	o := PaneOptics{
		kept: 1 - p.Loss, n: n, ng: t.glassIndex(), behind: 1, depth: t.GlassPerM * t.GlassM, backed: p.Backing != Air,
		none: p.Backing == Inside,
	}
	o.clear = o.depth == 0
	if p.Backing == Contact {
		o.behind = p.binder()
	}
	return o
}

// Split returns the fractions of light at the cosine cos to the normal of the pane that are reflected as by a mirror,
// and that pass the glass: to the backing, or out of the tank if there is none [1]. The rest is absorbed in the glass
// or in deposits.
func (o *PaneOptics) Split(cos float64) (mirrored, passed float64) {
	if o.none {
		return 0, 1
	}
	if o.clear && o.n*math.Sqrt(max(0, 1-cos*cos)) >= o.behind {
		return o.kept, 0
	}
	r, passed := Slab(cos, o.n, o.ng, o.behind, o.depth)
	return o.kept * r, passed
}

// Mirror returns the Split of a pane for light at the cosine cos in a medium of index n.
func (t Tank) Mirror(s Side, n, cos float64) (mirrored, passed float64) {
	o := t.glassOptics(s, n)
	return o.Split(cos)
}

// Deposits returns the fraction that deposits absorb of light of which the fraction mirrored is reflected [1].
func (o *PaneOptics) Deposits(mirrored float64) float64 {
	if o.none || o.kept == 1 {
		return 0
	}
	return mirrored / o.kept * (1 - o.kept)
}

// Leaves returns the transmittance of the glass for light that the backing scatters, by the cosine of its direction in
// the tank [1]; the intensity in the tank is proportional to cos times this. By reversibility it is that of the same
// ray from the tank.
func (o *PaneOptics) Leaves(cos float64) float64 {
	if o.none {
		return 1
	}
	_, passed := o.Split(cos)
	return passed
}

// Behind returns the refractive index behind the glass.
func (o *PaneOptics) Behind() float64 { return o.behind }

// Backed reports that light that passes the glass meets a backing instead of leaving the tank.
func (o *PaneOptics) Backed() bool { return o.backed }

// diffuseSlabTransmittance returns the fraction of perfectly diffuse light from the side n1 that a pane transmits [1].
func diffuseSlabTransmittance(n1, nGlass, n2, opticalDepth float64) float64 {
	passed := func(cos float64) float64 {
		_, v := Slab(cos, n1, nGlass, n2, opticalDepth)
		return v
	}
	return diffuse(passed, math.Cos(CriticalAngle(n1, n2)))
}

// Cover is a horizontal cover glass on the rim. The zero Cover is none.
type Cover struct {
	ThicknessM float64 // 0 means no cover
	Index      float64 // 0 means 1.52
	PerM       float64 // absorption [1/m]
	Loss       float64 // fraction that condensation and deposits take from each passage [1]
}

func (c Cover) index() float64 {
	if c.Index == 0 {
		return 1.52
	}
	return c.Index
}

// Present reports that there is a cover.
func (c Cover) Present() bool { return c.ThicknessM > 0 }

func (c Cover) check() error {
	if !(c.ThicknessM >= 0) || c.ThicknessM > 1 || !(c.PerM >= 0) || c.PerM > 1e6 || !(c.Loss >= 0 && c.Loss <= 1) {
		return fmt.Errorf("cover glass of %g m, absorption %g/m and loss %g is out of range", c.ThicknessM, c.PerM,
			c.Loss)
	}
	if n := c.index(); !(n >= 1) || n > 3 {
		return fmt.Errorf("refractive index %g of the cover glass is outside 1 to 3", n)
	}
	return nil
}

// Split returns the fractions of light from air at the cosine cos that the cover reflects and transmits [1]; without a
// cover all is transmitted.
func (c Cover) Split(cos float64) (reflected, transmitted float64) {
	if !c.Present() {
		return 0, 1
	}
	r, t := Slab(cos, 1, c.index(), 1, c.PerM*c.ThicknessM)
	return r, t * (1 - c.Loss)
}

// Plain reports that all walls are clean glass and that there is no cover: light that returns from the surface leaves,
// and all walls reflect alike.
func (t Tank) Plain() bool {
	for _, p := range t.Panes {
		if !p.clean() {
			return false
		}
	}
	return !t.Cover.Present()
}

// equalMirrors reports that all panes return light alike, as mirrors only, and that there is no cover.
func (t Tank) equalMirrors() bool {
	p := t.Panes[0]
	return !t.Cover.Present() && !p.Diffuses() && t.Panes == [4]Pane{p, p, p, p}
}

// alike reports that the two panes across an axis are equal.
func (t Tank) alike(axis int) bool { return t.Panes[2*axis] == t.Panes[2*axis+1] }
