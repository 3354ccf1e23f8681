package light

import (
	"reflect"
	"runtime"

	"golang.org/x/sync/errgroup"
	"lampwright/internal/intensity"
)

// mirrored identifies an emitter as the mirror image of an earlier one in a vertical plane through the middle of the
// tank. In a symmetric lamp over the middle of the tank half of the emitters or more are such images.
type mirrored struct {
	of   int  // the earlier emitter; −1: none
	x, y bool // the axes along which it is mirrored
}

// symmetric tells whether the light of an emitter at the middle of the tank is its own mirror image.
func (e Emitter) symmetric() bool {
	return e.TiltRad == 0 && (e.Distribution.Axial() || e.RollRad == 0 && intensity.Quadrants(e.Distribution))
}

// mirrorSymmetric finds the mirror images among emitters that point straight down and have axially symmetric
// distributions, or tubes along the tank; mirrorX and mirrorY report the axes along which the lit area is symmetric.
func mirrorSymmetric(emitters []Emitter, mirrorX, mirrorY bool) []mirrored {
	out := make([]mirrored, len(emitters))
	for i, a := range emitters {
		out[i].of = -1
		if !a.symmetric() {
			continue
		}
		for k, b := range emitters[:i] {
			x, y := a.XM != b.XM, a.YM != b.YM
			if x && !(mirrorX && a.XM == -b.XM) || y && !(mirrorY && a.YM == -b.YM) ||
				out[k].of >= 0 || !b.symmetric() || a.ZM != b.ZM || !reflect.DeepEqual(a.Distribution, b.Distribution) {
				continue
			}
			out[i] = mirrored{k, x, y}
			break
		}
	}
	return out
}

// mirrorSymmetric finds the emitters whose maps are mirror images.
func (r *Response) mirrorSymmetric(emitters []Emitter, t Tank) []mirrored {
	g := r.Grid
	level := r.Plane.SlopeX == 0 && r.Plane.SlopeY == 0
	return mirrorSymmetric(emitters, level && g.X0 == -g.X1 && t.alike(0),
		level && g.Y0 == -g.Y1 && t.alike(1))
}

// mirror fills the map of emitter e with the mirror image of that of w.of.
func (r *Response) mirror(e int, w mirrored) {
	nx, ny := r.Grid.NX, r.Grid.NY
	for b := range r.Bands {
		from, to := r.Map(w.of, b), r.Map(e, b)
		for iy := range ny {
			row := from[iy*nx : (iy+1)*nx]
			if w.y {
				row = from[(ny-1-iy)*nx : (ny-iy)*nx]
			}
			for ix, v := range row {
				if w.x {
					ix = nx - 1 - ix
				}
				to[iy*nx+ix] = v
			}
		}
	}
}

// eachDistinct calls do for each emitter that is no mirror image and copies its result to the mirror images.
func eachDistinct[T any](emitters []Emitter, do func(Emitter) (T, error)) ([]T, error) {
	out := make([]T, len(emitters))
	of := mirrorSymmetric(emitters, true, true)
	var group errgroup.Group
	group.SetLimit(runtime.GOMAXPROCS(0))
	for i, e := range emitters {
		if of[i].of < 0 {
			group.Go(func() (err error) {
				out[i], err = do(e)
				return err
			})
		}
	}
	if err := group.Wait(); err != nil {
		return nil, err
	}
	for i, w := range of {
		if w.of >= 0 {
			out[i] = out[w.of]
		}
	}
	return out, nil
}

// EachDirectFractions returns the DirectFractions of each emitter.
func EachDirectFractions(t Tank, emitters []Emitter) ([]Fractions, error) {
	return eachDistinct(emitters, func(e Emitter) (Fractions, error) { return DirectFractions(t, e) })
}

// EachSpillFraction returns the SpillFraction of each emitter.
func EachSpillFraction(t Tank, emitters []Emitter) ([]float64, error) {
	return eachDistinct(emitters, func(e Emitter) (float64, error) { return SpillFraction(t, e) })
}
