package geom

import (
	"math"
	"testing"
)

// meanOverDisc is the exact mean of xᵃ yᵇ over the unit disc: 0 for an odd power, else
// 2/(a+b+2) · (a−1)!!(b−1)!!/(a+b)!! (polar coordinates; Wallis' integral).
func meanOverDisc(a, b int) float64 {
	if a%2 == 1 || b%2 == 1 {
		return 0
	}
	odd := func(n int) (p float64) {
		p = 1
		for ; n > 1; n -= 2 {
			p *= float64(n)
		}
		return p
	}
	return 2 / float64(a+b+2) * odd(a-1) * odd(b-1) / odd(a+b)
}

// TestDiscRule: the seven positions give the mean of every polynomial up to the fifth degree over a disc, and not of
// the sixth.
func TestDiscRule(t *testing.T) {
	// By hand: ⟨x²⟩ = 1/4, ⟨x⁴⟩ = 1/8, ⟨x² y²⟩ = 1/24 over the unit disc.
	for _, tt := range []struct {
		a, b int
		want float64
	}{{0, 0, 1}, {2, 0, 0.25}, {4, 0, 0.125}, {2, 2, 1.0 / 24}} {
		if got := meanOverDisc(tt.a, tt.b); math.Abs(got-tt.want) > 1e-15 {
			t.Fatalf("mean of x^%d y^%d over the disc is %g, by hand %g", tt.a, tt.b, got, tt.want)
		}
	}
	rule := func(a, b int) (sum float64) {
		for _, p := range DiscRule(0, 0, 1) {
			sum += p.Weight * math.Pow(p.XM, float64(a)) * math.Pow(p.YM, float64(b))
		}
		return sum
	}
	for a := 0; a <= 5; a++ {
		for b := 0; a+b <= 5; b++ {
			if got, want := rule(a, b), meanOverDisc(a, b); math.Abs(got-want) > 1e-15 {
				t.Errorf("x^%d y^%d: %.17g, want %.17g (exact integral)", a, b, got, want)
			}
		}
	}
	if math.Abs(rule(6, 0)-meanOverDisc(6, 0)) < 1e-3 {
		t.Error("the rule is exact for the sixth degree; seven positions cannot be")
	}
	for i, p := range DiscRule(3, -2, 0.5) {
		unit := DiscRule(0, 0, 1)[i]
		if math.Hypot(p.XM-3-unit.XM/2, p.YM+2-unit.YM/2) > 1e-15 || p.Weight != unit.Weight {
			t.Errorf("position %d of a disc of 0.5 about (3, -2) is (%g, %g)", i, p.XM, p.YM)
		}
	}
}

// TestNearest: no free position of the grid is nearer than the one returned, and the one towards the origin is taken of
// equal ones.
func TestNearest(t *testing.T) {
	const step = 0.5
	outside := func(r float64) func(x, y float64) bool {
		return func(x, y float64) bool { return math.Hypot(x-4, y) >= r-1e-9 }
	}
	if p, ok := Nearest(4, 0, step, 10, outside(2)); !ok || p != (Point{2, 0}) {
		t.Errorf("outside a disc of 2 about (4, 0): %v, %v; want (2, 0)", p, ok)
	}
	// A disc of 2.2: (2, 1) and its mirror images are √5 = 2.236 away, (1.5, 0) is 2.5 away.
	if p, ok := Nearest(4, 0, step, 10, outside(2.2)); !ok || p.XM != 2 || math.Abs(p.YM) != 1 {
		t.Errorf("outside a disc of 2.2 about (4, 0): %v, %v; want (2, ±1)", p, ok)
	}
	if p, ok := Nearest(4, 0, step, 1.9, outside(2)); ok {
		t.Errorf("a free position %v within 1.9 of the centre of a disc of 2", p)
	}
	if p, ok := Nearest(4, 0, step, 2, outside(2)); !ok || p != (Point{2, 0}) {
		t.Errorf("the limit itself: %v, %v", p, ok)
	}
	if p, ok := Nearest(4.2, 0.1, step, 10, func(float64, float64) bool { return true }); !ok || p != (Point{4, 0}) {
		t.Errorf("where all is free the next position of the grid is (4, 0), not %v", p)
	}
	for i := range 81 {
		x := 0.5e-3 * float64(i)
		free := func(xx, y float64) bool { return math.Hypot(xx-x, y) >= 5e-3-1e-9 }
		if p, ok := Nearest(x, 0, 0.5e-3, 0.06, free); !ok || math.Hypot(p.XM, p.YM) > math.Abs(x-5e-3)+1e-9 {
			t.Errorf("5 mm about (%g, 0) m: %v is not the place nearest to the origin", x, p)
		}
	}
	quadrant := func(x, y float64) bool { return x >= 3 && y >= 3 }
	if p, ok := Nearest(0, 0, step, 10, quadrant); !ok || p != (Point{3, 3}) {
		t.Errorf("in the first quadrant from (3, 3): %v, %v", p, ok)
	}
}
