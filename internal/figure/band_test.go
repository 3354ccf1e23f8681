package figure

import (
	"context"
	"math"
	"strings"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/quantity"
)

// withBand evaluates the lamp of twoStrings with a required PPFD.
func withBand(t *testing.T, required string, samples int) *Evaluation {
	t.Helper()
	p := loadLamp(t, strings.Replace(twoStrings, "board:", "requirements: {ppfd: "+required+"}\nboard:", 1))
	r, err := Evaluate(context.Background(), p, engine.Options{HeatRelErr: 0.1, Samples: samples})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestAreaWithinBand: the three fractions of the target add up to one and follow from the cells; a value without a
// tolerance is a lower bound; the range holds the value. The channels' means add up to the mean.
func TestAreaWithinBand(t *testing.T) {
	free := withBand(t, "1 µmol/m²/s", -1)
	mean := free.Value("target.ppfd")
	lo, hi := quantity.Format(0.8*mean, quantity.PPFD), quantity.Format(1.1*mean, quantity.PPFD)
	r := withBand(t, "{value: "+quantity.Format(mean, quantity.PPFD)+", min: "+lo+", max: "+hi+"}", 2000)
	band := r.Lamp.Design.Requirements.PPFD
	counted := 0.0
	for _, v := range r.Target.PPFD {
		if v >= band.Lo && v <= band.Hi {
			counted += 1 / float64(len(r.Target.PPFD))
		}
	}
	below, within, above := r.Value("target.area-below"), r.Value("target.area-within"), r.Value("target.area-above")
	// By counting, a cell at either end is in or out.
	if tol := 2 / float64(len(r.Target.PPFD)); math.Abs(within-counted) > tol {
		t.Errorf("within the band: %g, counted %g ± %g", within, counted, tol)
	}
	if sum := below + within + above; math.Abs(sum-1) > 1e-9 || below < 0.05 || above < 0.05 {
		t.Errorf("below %g, within %g, above %g: sum %g, want 1 of three parts", below, within, above, sum)
	}
	for _, key := range []string{"target.area-below", "target.area-within", "target.area-above"} {
		f, ok := r.Figure(key)
		if !ok || !(f.Lo < f.Hi) || f.Value < f.Lo-0.02 || f.Value > f.Hi+0.02 {
			t.Errorf("%s: %g, range %g to %g", key, f.Value, f.Lo, f.Hi)
		}
		if !strings.Contains(f.Basis.Numbers, lo+" to "+hi) {
			t.Errorf("%s: derivation states %q, want the band %s to %s", key, f.Basis.Numbers, lo, hi)
		}
	}
	sum := r.Value("day.target-ppfd") + r.Value("dusk.target-ppfd")
	if mean := r.Value("target.ppfd"); math.Abs(sum-mean) > 1e-9*mean || r.Value("dusk.target-ppfd") < 0.01*mean {
		t.Errorf("the channels' means add up to %g, want %g", sum, mean)
	}
	if got := free.Value("target.area-above"); got != 0 {
		t.Errorf("%g of the area is above a requirement without upper bound", got)
	}
	if got := free.Value("target.area-within"); got != 1 {
		t.Errorf("%g of the area has at least 1 µmol/m²/s, want all", got)
	}
}

// TestAreaRangesAgreeWithExactSamples: of lamps that are solved exactly, eight of ten have a fraction of area below and
// within a band between P10 and P90, and one less. No area is above it in more than one lamp of ten, which P10 states.
func TestAreaRangesAgreeWithExactSamples(t *testing.T) {
	r := withBand(t, "{value: 80 µmol/m²/s, min: 76 µmol/m²/s, max: 92 µmol/m²/s}", 0)
	var samples []*engine.Solution
	if err := r.Sys.Sample(context.Background(), 800, 7, func(sol *engine.Solution) {
		c := *sol
		samples = append(samples, &c)
	}); err != nil {
		t.Fatal(err)
	}
	root := 4 / math.Sqrt(float64(len(samples))) // as in TestSurfaceAgreesWithExactSamples
	for i := range r.rows {
		x := &r.rows[i]
		if !strings.HasPrefix(x.key, "target.area-") {
			continue
		}
		f, _ := r.Figure(x.key)
		less, within := 0.0, 0.0
		for _, s := range samples {
			switch v, _ := x.value(s); {
			case v < f.Lo:
				less += 1 / float64(len(samples))
			case v <= f.Hi:
				within += 1 / float64(len(samples))
			}
		}
		if x.key == "target.area-above" {
			if f.Lo != 0 || math.Abs(less+within-0.9) > 0.03+0.3*root {
				t.Errorf("%s: P10 %g, want 0; %.3f of exact samples up to P90, want 0.9", x.key, f.Lo, less+within)
			}
			continue
		}
		if math.Abs(within-0.8) > 0.01+0.4*root || math.Abs(less-0.1) > 0.03+0.3*root {
			t.Errorf("%s: %.3f of exact samples within P10 to P90, %.3f below, want 0.8 and 0.1", x.key, within, less)
		}
	}
}
