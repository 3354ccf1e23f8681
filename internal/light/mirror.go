package light

import (
	"reflect"
	"runtime"

	"golang.org/x/sync/errgroup"
)

// twin says that an emitter is an earlier one seen in a mirror that stands in the middle of the tank: the earlier one, and
// along which axes it is mirrored; of is -1 where there is none.
//
// Lamps are drawn evenly about their middle and hang over that of the tank, so that half of their emitters are such.
type mirrored struct {
	of   int
	x, y bool
}

// twins finds the twins among emitters that look straight down with patterns that are the same all round; mirrorX and
// mirrorY say along which axes what they light is the same from either side.
func mirrorSymmetric(emitters []Emitter, mirrorX, mirrorY bool) []mirrored {
	out := make([]mirrored, len(emitters))
	for i, a := range emitters {
		out[i].of = -1
		if a.TiltRad != 0 || !a.Distribution.Axial() {
			continue
		}
		for k, b := range emitters[:i] {
			x, y := a.XM != b.XM, a.YM != b.YM
			if x && !(mirrorX && a.XM == -b.XM) || y && !(mirrorY && a.YM == -b.YM) ||
				out[k].of >= 0 || b.TiltRad != 0 || a.ZM != b.ZM || !reflect.DeepEqual(a.Distribution, b.Distribution) {
				continue
			}
			out[i] = mirrored{k, x, y}
			break
		}
	}
	return out
}

// twins finds those whose maps are mirrored ones.
func (r *Response) mirrorSymmetric(emitters []Emitter) []mirrored {
	g := r.Grid
	return mirrorSymmetric(emitters, r.Plane.SlopeX == 0 && r.Plane.SlopeY == 0 && g.X0 == -g.X1, r.Plane.SlopeX == 0 && r.Plane.SlopeY == 0 && g.Y0 == -g.Y1)
}

// mirror gives a twin its map.
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

// eachOnce calls do for each emitter that has no twin before it, and copies for the others.
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

// EachShares returns the DirectShares of each emitter.
func EachDirectFractions(t Tank, emitters []Emitter) ([]Fractions, error) {
	return eachDistinct(emitters, func(e Emitter) (Fractions, error) { return DirectFractions(t, e) })
}

// EachSpill returns the Spill of each emitter.
func EachSpillFraction(t Tank, emitters []Emitter) ([]float64, error) {
	return eachDistinct(emitters, func(e Emitter) (float64, error) { return SpillFraction(t, e) })
}
