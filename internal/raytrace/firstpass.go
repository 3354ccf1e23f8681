package raytrace

import (
	"context"
	"math"
	"runtime"

	"golang.org/x/sync/errgroup"
	"lampwright/internal/intensity"
	"lampwright/internal/light"
)

// FirstPass holds the fractions of the flux of one emitter up to its first arrival at the substrate [1]: after
// refraction, absorption and any number of mirror reflections at walls, before reflection at the substrate; what a
// backing scatters counts as lost at the wall.
type FirstPass struct {
	Opening, Surface, Reflected, Entered Estimate
	DryWall, WetWall, Up, Water, Glass   Estimate
	Substrate                            Estimate
	Plane                                Estimate // downward through the plane at planeM
}

// The sums of a FirstPass.
const (
	passOpening = iota
	passSurface
	passReflected
	passEntered
	passDry
	passWet
	passUp
	passWater
	passGlass
	passSubstrate
	passPlane
	passCount
)

// FollowFirstPass computes the FirstPass of one emitter with the given number of rays, in the first band, for flat
// water, smooth or black walls and a level substrate. planeM is a level at which the downward flux is recorded as
// well.
//
// Rays are weighted instead of sampled at surfaces. Their directions are sixteen shifted lattices, whose spread gives
// the standard errors; as the integral is smooth, these decrease almost as 1/rays. Thin-wall convention as in
// light.WallMap.
func FollowFirstPass(ctx context.Context, t light.Tank, em light.Emitter, planeM float64, rays int) (FirstPass, error) {
	if err := t.Check(); err != nil {
		return FirstPass{}, err
	}
	if err := t.CheckEmitters([]light.Emitter{em}); err != nil {
		return FirstPass{}, err
	}
	t = t.WithDefaults()
	if t.IsBench() {
		t.HeightM = t.SubstrateM
	}
	const lattices = 16
	smp, f := intensity.NewSampler(em.Distribution), em.Frame()
	n := max(1000, rays/lattices)
	var got [lattices][passCount]float64
	group, ctx := errgroup.WithContext(ctx)
	group.SetLimit(runtime.GOMAXPROCS(0))
	for k := range lattices {
		group.Go(func() error {
			u, v := fraction(float64(k)*0.6180339887498949+0.013), fraction(float64(k)*0.4142135623730951+0.37)
			for i := range n {
				if i&4095 == 0 && ctx.Err() != nil {
					return ctx.Err()
				}
				u, v = fraction(u+0.7548776662466927), fraction(v+0.5698402909980532)
				cos, phi, weight := smp.Sample(u, v)
				sin := math.Sqrt(max(0, 1-cos*cos))
				sp, cp := turn(phi / (2 * math.Pi))
				var d [3]float64
				for a := range d {
					d[a] = cos*f.Axis[a] + sin*(cp*f.X[a]+sp*f.Y[a])
				}
				firstPass(&t, [3]float64{em.XM, em.YM, em.ZM}, d, weight, planeM, &got[k])
			}
			return nil
		})
	}
	if err := group.Wait(); err != nil {
		return FirstPass{}, err
	}
	var sums [passCount]moments
	for _, one := range got {
		for i, g := range one {
			sums[i].add(g / float64(n))
		}
	}
	at := func(i int) Estimate { return sums[i].estimate(lattices, 1) }
	return FirstPass{
		Opening: at(passOpening), Surface: at(passSurface), Reflected: at(passReflected), Entered: at(passEntered),
		DryWall: at(passDry), WetWall: at(passWet), Up: at(passUp), Water: at(passWater), Glass: at(passGlass),
		Substrate: at(passSubstrate), Plane: at(passPlane),
	}, nil
}

func fraction(x float64) float64 { return x - math.Floor(x) }

// throughOpening moves a ray from above the rim into the tank and returns its weight there, 0 if it misses the opening.
func throughOpening(t *light.Tank, p *[3]float64, d [3]float64, w float64, got *[passCount]float64) float64 {
	if p[2] <= t.HeightM {
		got[passOpening] += w
		return w
	}
	if d[2] >= 0 {
		return 0
	}
	l := (t.HeightM - p[2]) / d[2]
	*p = [3]float64{p[0] + l*d[0], p[1] + l*d[1], t.HeightM}
	if math.Abs(p[0]) > t.LengthM/2 || math.Abs(p[1]) > t.WidthM/2 {
		return 0
	}
	got[passOpening] += w
	_, passed := t.Cover.Split(-d[2])
	return w * passed
}

// firstPass follows one ray.
func firstPass(t *light.Tank, p, d [3]float64, w, planeM float64, got *[passCount]float64) {
	if w = throughOpening(t, &p, d, w, got); w == 0 {
		return
	}
	if d[2] >= 0 {
		w = slide(t, &p, &d, w, 1, t.HeightM, passDry, got)
		got[passUp] += w
		return
	}
	level := t.WaterDepthM
	stop := max(level, t.SubstrateM)
	if planeM > stop && planeM <= t.HeightM {
		if p[2] >= planeM {
			w = slide(t, &p, &d, w, 1, planeM, passDry, got)
		}
		got[passPlane] += w
	}
	w = slide(t, &p, &d, w, 1, stop, passDry, got)
	if planeM == stop {
		got[passPlane] += w
	}
	got[passSurface] += w
	if level == 0 {
		got[passEntered] += w
		got[passSubstrate] += w
		return
	}
	n := t.WaterIndex
	r := light.Reflectance(-d[2], 1, n)
	if back := w * r; back > 0 {
		got[passReflected] += back
		q, up := p, [3]float64{d[0], d[1], -d[2]}
		back = slide(t, &q, &up, back, 1, t.HeightM, passDry, got)
		got[passUp] += back
	}
	w -= w * r
	got[passEntered] += w
	d[0], d[1] = d[0]/n, d[1]/n
	d[2] = -math.Sqrt(max(0, 1-d[0]*d[0]-d[1]*d[1]))
	if planeM < level && planeM > t.SubstrateM {
		w = slide(t, &p, &d, w, n, planeM, passWet, got)
		got[passPlane] += w
	}
	w = slide(t, &p, &d, w, n, t.SubstrateM, passWet, got)
	if planeM <= t.SubstrateM {
		got[passPlane] += w
	}
	got[passSubstrate] += w
}

// slide moves a ray to a level, from wall to wall, in a medium of index n (1 or that of water), and returns its
// remaining weight.
func slide(t *light.Tank, p, d *[3]float64, w, n, toM float64, wall int, got *[passCount]float64) float64 {
	half := [2]float64{t.LengthM / 2, t.WidthM / 2}
	absorb := 0.0
	if wall == passWet {
		absorb = t.Bands[0].AbsorptionPerM
	}
	for range 2000 {
		l, axis := math.Inf(1), 2
		if d[2] != 0 {
			l = max(0, (toM-p[2])/d[2])
		}
		for a := range 2 {
			if d[a] == 0 {
				continue
			}
			if k := (math.Copysign(half[a], d[a]) - p[a]) / d[a]; k < l {
				l, axis = max(0, k), a
			}
		}
		if absorb > 0 {
			kept := w * math.Exp(-absorb*l)
			got[passWater] += w - kept
			w = kept
		}
		for i := range p {
			p[i] += l * d[i]
		}
		if axis == 2 {
			p[2] = toM
			return w
		}
		p[axis] = math.Copysign(half[axis], d[axis])
		if t.Walls != light.WallGlass {
			got[wall] += w
			return 0
		}
		mirrored, passed := t.Mirror(sideAt(axis, d[axis]), n, math.Abs(d[axis]))
		got[wall] += w * passed
		got[passGlass] += w * (1 - mirrored - passed)
		d[axis] = -d[axis]
		if w *= mirrored; w < 1e-12 {
			return 0
		}
	}
	return w
}
