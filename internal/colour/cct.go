package colour

import (
	"fmt"
	"math"
	"sync"

	"lampwright/internal/root"
	"lampwright/internal/spectrum"
)

// Temperature is the nearest point of the Planckian locus to a chromaticity.
type Temperature struct {
	K     float64 // correlated colour temperature [K]
	Duv   float64 // signed distance from the locus in CIE 1960 (u, v); above the locus (greenish) is positive
	Valid bool    // whether the CIE lets one speak of a colour temperature here
	Note  string  // why not, where Valid is false
}

// Limits within which a correlated colour temperature is given.
const (
	maxDuv  = 0.05   // Source: CIE15-2018, §9.2
	minCCTK = 1000.0 // project limit: lower is not a lamp
	maxCCTK = 25000.0
)

// c2MK is the second radiation constant of the locus, rounded as the CIE does. Source: CIE15-2018, §3.1.
const c2MK = 1.4388e-2

// locusStepMired is the step of the table of the locus, 1e6/T.
const (
	locusStepMired = 5.0
	locusFirst     = 2 // in steps: 10 mired is 100 000 K
	locusLast      = 250
)

// planckUV returns the point of the Planckian locus at a reciprocal temperature in mired, and its derivative by mired.
//
// The sum runs over the 1 nm observer from 360 nm to 830 nm.
func planckUV(mired float64) (p, d UV) {
	o, fifth := spectrum.Observer2Deg(), overFifth()
	var x, y, z, dx, dy, dz float64
	k := c2MK * 1e3 * mired // c₂/T in nm: 1.4388e7 nm·K × mired/1e6
	for i := range o.Y {
		nm := float64(spectrum.LoNM + i)
		e := math.Exp(-k / nm) // at 800 K and 360 nm still 2e-22
		b := fifth[i] * e / (1 - e)
		db := -b * (c2MK * 1e3) / (nm * (1 - e))
		x += b * o.X[i]
		y += b * o.Y[i]
		z += b * o.Z[i]
		dx += db * o.X[i]
		dy += db * o.Y[i]
		dz += db * o.Z[i]
	}
	s, ds := x+15*y+3*z, dx+15*dy+3*dz
	p = UV{4 * x / s, 6 * y / s}
	d = UV{(4*dx - p.U*ds) / s, (6*dy - p.V*ds) / s}
	return p, d
}

// overFifth is (560 nm/λ)⁵ at each nanometre.
var overFifth = sync.OnceValue(func() *spectrum.Weights {
	out := new(spectrum.Weights)
	for i := range out {
		r := 560 / float64(spectrum.LoNM+i)
		out[i] = r * r * r * r * r
	}
	return out
})

// locusPoint is a point of the Planckian locus with its derivative by mired.
type locusPoint struct {
	mired float64
	p, d  UV
}

func locusAt(mired float64) locusPoint {
	p, d := planckUV(mired)
	return locusPoint{mired, p, d}
}

// slope is half the derivative by mired of the squared distance to a chromaticity: below zero the nearest point lies
// further on.
func (l *locusPoint) slope(at UV) float64 {
	return (l.p.U-at.U)*l.d.U + (l.p.V-at.V)*l.d.V
}

var locusTable = sync.OnceValue(func() []locusPoint {
	out := make([]locusPoint, locusLast+1)
	for i := locusFirst; i <= locusLast; i++ {
		out[i] = locusAt(float64(i) * locusStepMired)
	}
	return out
})

// locusBetween returns the point of the locus and its derivative by mired, interpolated in the table: the cubic that
// has the positions and derivatives of both neighbours. mired within 10 and 1250; the error of u and v is below 1e-9.
func locusBetween(mired float64) (p, d UV) {
	i := min(max(int(mired/locusStepMired), locusFirst), locusLast-1)
	table := locusTable()
	return table[i].to(&table[i+1], mired)
}

// to returns the cubic from one point of the table to the next, and its derivative by mired.
func (l *locusPoint) to(next *locusPoint, mired float64) (p, d UV) {
	h := next.mired - l.mired
	t := (mired - l.mired) / h
	t2, t3 := t*t, t*t*t
	a, b, c, e := 2*t3-3*t2+1, (t3-2*t2+t)*h, 3*t2-2*t3, (t3-t2)*h
	da, db, dc, de := (6*t2-6*t)/h, 3*t2-4*t+1, (6*t-6*t2)/h, 3*t2-2*t
	p = UV{a*l.p.U + b*l.d.U + c*next.p.U + e*next.d.U, a*l.p.V + b*l.d.V + c*next.p.V + e*next.d.V}
	d = UV{da*l.p.U + db*l.d.U + dc*next.p.U + de*next.d.U, da*l.p.V + db*l.d.V + dc*next.p.V + de*next.d.V}
	return p, d
}

// CCT returns the correlated colour temperature in kelvin and Duv of a chromaticity: the nearest point of the Planckian
// locus in CIE 1960 (u, v), found to 1e-6 of T on a table of the locus and not by a fitted formula.
//
// The CIE defines it within 0.05 of the locus; this program gives it between 1000 K and 25 000 K. Outside, K and Duv
// still hold the nearest point, at most 100 000 K and at least 800 K, but Valid is false and Note says why.
// Source: CIE15-2018, §9 (definition); Ohno2014 (Duv).
func CCT(c XY) Temperature {
	at := c.UV()
	if !finite(at.U) || !finite(at.V) {
		return Temperature{Note: "there is no light, so no colour temperature"}
	}
	near := nearest(at)
	p, d := near.p, near.d
	t := Temperature{K: 1e6 / near.mired, Duv: math.Hypot(at.U-p.U, at.V-p.V)}
	// With rising mired the locus runs to larger u; what lies on its left, towards larger v, is above.
	if d.U*(at.V-p.V)-d.V*(at.U-p.U) < 0 {
		t.Duv = -t.Duv
	}
	switch {
	case math.Abs(t.Duv) > maxDuv:
		t.Note = fmt.Sprintf("the colour lies %.3f from the Planckian locus in CIE 1960 (u, v); beyond 0.05 the CIE "+
			"gives no colour temperature", math.Abs(t.Duv))
	case t.K < minCCTK || t.K > maxCCTK:
		t.Note = "the nearest colour temperature lies outside 1000 K to 25 000 K and means nothing for a lamp"
	default:
		t.Valid = true
	}
	return t
}

// nearest returns the point of the locus that is nearest to a chromaticity.
func nearest(at UV) locusPoint {
	locus := locusTable()
	best, bestD := locusFirst, math.Inf(1)
	for i := locusFirst; i <= locusLast; i++ {
		du, dv := at.U-locus[i].p.U, at.V-locus[i].p.V
		if d := du*du + dv*dv; d < bestD {
			best, bestD = i, d
		}
	}
	from := max(locusFirst, best-1)
	if best > locusFirst && locus[best].slope(at) < 0 || best == locusFirst {
		from = min(best, locusLast-1)
	}
	low, high := &locus[from], &locus[from+1]
	atLow, atHigh := low.slope(at), high.slope(at)
	switch {
	case atLow >= 0:
		return *low
	case atHigh <= 0:
		return *high
	}
	between := func(mired float64) locusPoint {
		p, d := low.to(high, mired)
		return locusPoint{mired, p, d}
	}
	slope := func(mired float64) float64 { p := between(mired); return p.slope(at) }
	mired, err := root.BrentFrom(slope, low.mired, high.mired, atLow, atHigh, 1e-8*high.mired)
	if err != nil {
		panic("colour: nearest point of the locus: " + err.Error())
	}
	return between(mired)
}

// PlanckXY returns the chromaticity of a black body at a temperature in kelvin, moved by duv along the normal of the
// locus in CIE 1960 (u, v), above it where duv is positive.
//
// tempK within 800 K and 100 000 K; outside is a mistake of the programmer.
// Source: CIE15-2018, §3.1 (locus); Ohno2014 (Duv).
func PlanckXY(tempK, duv float64) XY {
	if !(tempK >= 800 && tempK <= 1e5) {
		panic(fmt.Sprintf("colour: Planckian locus at %g K", tempK))
	}
	p, d := planckUV(1e6 / tempK)
	n := math.Hypot(d.U, d.V)
	return UV{p.U - duv*d.V/n, p.V + duv*d.U/n}.XY()
}

// TargetXY returns the chromaticity that a lamp of a nominal colour temperature is meant to have: the Planckian locus
// below 5000 K, daylight from 5000 K up. tempK in kelvin, 1000 K to 25 000 K.
// Source: IEC60081, annex D, and CIE13.3-1995 for the border at 5000 K, common practice for LED lamps.
func TargetXY(tempK float64) (XY, error) {
	switch {
	case tempK >= minCCTK && tempK < 5000:
		return PlanckXY(tempK, 0), nil
	case tempK >= 5000 && tempK <= maxCCTK:
		x, y, err := spectrum.DaylightXY(tempK)
		return XY{x, y}, err
	}
	return XY{}, fmt.Errorf("colour temperature of %g K lies outside 1000 K to 25 000 K", tempK)
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
