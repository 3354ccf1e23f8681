package study

import (
	"math"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
)

// HeightForSpill returns the maximum hanging height for a fraction of spill light [m], to 5 mm; it is false where even 50 mm, or
// the rim of a tank, is too high, and for a preview.
//
// Spill increases with height; bisection.
func HeightForSpill(r *figure.Evaluation, share float64) (heightM float64, ok bool) {
	l := r.Lamp
	t, err := engine.TankOf(l)
	if err != nil || r.Preview {
		return 0, false
	}
	emittedW := r.Sol.EmittedW
	spill := func(heightM float64) float64 {
		moved := l.Sources()
		for i := range moved {
			moved[i].ZM += heightM - l.Design.Installation.Hanging.SI
		}
		share, err := spillOf(t, moved, emittedW)
		if err != nil {
			return 1
		}
		return share
	}
	const step = 0.005
	rim := t.HeightM + l.DropM() - (l.LensLevelM() - l.Design.Installation.Hanging.SI) // of the rim above the reference of the height
	lo, hi := math.Max(0.05, step*(math.Floor(rim/step)+1)), l.Design.Installation.Hanging.SI
	if spill(lo) > share {
		return 0, false
	}
	for hi-lo > step {
		if mid := (lo + hi) / 2; spill(mid) <= share {
			lo = mid
		} else {
			hi = mid
		}
	}
	return step * math.Floor(lo/step+1e-9), true
}
