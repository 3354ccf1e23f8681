package foldback

import (
	"math"
	"testing"
)

// TestCutout is by hand: 40 W in 0.5 kg of 800 J/(kg·K) warm by 0.1 K/s.
func TestCutout(t *testing.T) {
	if got := HeatingRate(40, 0.5, 800); math.Abs(got-0.1) > 1e-12 {
		t.Errorf("rate %g K/s, want 0.1", got)
	}
	if got := Overshoot(40, 0.5, 800, 30); math.Abs(got-3) > 1e-12 {
		t.Errorf("overshoot %g K, want 3", got)
	}
	lo, hi := Cutout{NormalK: 330, LimitK: 370, GradientK: 6, ToleranceK: 4, OvershootK: 3}.Window()
	if math.Abs(lo-339) > 1e-9 || math.Abs(hi-357) > 1e-9 {
		t.Errorf("window %g to %g K, want 330 + 4 + 5 and 370 − 6 − 4 − 3", lo, hi)
	}
	if open, early, rest := Link(400); open != 400 || early != 390 || rest != 375 {
		t.Errorf("link of 400 K: %g, %g, %g (IEC 60691, from memory)", open, early, rest)
	}
}
