// Package root finds where a function of one variable changes sign within a bracket.
//
// In: a function, the two ends of an interval, and how close the answer must be to the root.
// Out: the root, or an error: the ends have the same sign, a value is not a number, or the steps ran out.
// Assumes: the function is continuous, or its jump across zero is the answer that is wanted.
// Leaves to others: choosing the bracket, and which of several roots is meant.
package root

import (
	"errors"
	"fmt"
	"math"
)

// maxSteps is the largest number of function values before a search ends with an error: bisection halves 1e300 down to
// 1e-300 in 2000 steps, and Brent's method needs a dozen where the function is smooth.
const maxSteps = 2200

// ErrNoSignChange is the error of an interval at whose ends the function has the same sign.
var ErrNoSignChange = errors.New("the function has the same sign at both ends")

// bracketed returns an error unless the values at both ends are numbers, and one is a root or their signs differ.
func bracketed(a, b, fa, fb float64) error {
	switch {
	case math.IsNaN(fa) || math.IsNaN(fb):
		return fmt.Errorf("find a root between %g and %g: the values %g and %g are not both numbers", a, b, fa, fb)
	case fa != 0 && fb != 0 && (fa > 0) == (fb > 0):
		return fmt.Errorf("find a root between %g and %g, with values %g and %g: %w", a, b, fa, fb, ErrNoSignChange)
	}
	return nil
}

// Bisect returns where f changes sign between a and b, to within tol of the root, by halving the interval.
//
// a may lie above b. tol is absolute; with 0 the interval is halved until floating-point numbers end. It is the right method
// for functions with jumps and kinks; Brent is faster for smooth ones.
func Bisect(f func(float64) float64, a, b, tol float64) (float64, error) {
	fa, fb := f(a), f(b)
	err := bracketed(a, b, fa, fb)
	switch {
	case err != nil:
		return math.NaN(), err
	case fa == 0:
		return a, nil
	case fb == 0:
		return b, nil
	}
	for range maxSteps {
		mid := a + (b-a)/2
		if math.Abs(b-a)/2 <= tol || mid == a || mid == b {
			return mid, nil
		}
		fm := f(mid)
		switch {
		case math.IsNaN(fm):
			return math.NaN(), fmt.Errorf("find a root by bisection: the value at %g is not a number", mid)
		case fm == 0:
			return mid, nil
		case (fm > 0) == (fa > 0):
			a = mid
		default:
			b = mid
		}
	}
	return math.NaN(), fmt.Errorf("find a root by bisection: %d steps leave an interval from %g to %g", maxSteps, a, b)
}

// Brent returns where f changes sign between a and b, to within tol of the root: by secant and inverse quadratic
// interpolation where they stay in the bracket, and by bisection where they do not.
//
// a may lie above b. tol is absolute; the rounding of the root itself is added to it. Source: Brent1973, ch. 4.
func Brent(f func(float64) float64, a, b, tol float64) (float64, error) {
	return BrentFrom(f, a, b, f(a), f(b), tol)
}

// BrentFrom is Brent where the values fa and fb at both ends are known.
func BrentFrom(f func(float64) float64, a, b, fa, fb, tol float64) (float64, error) {
	if err := bracketed(a, b, fa, fb); err != nil {
		return math.NaN(), err
	}
	// b is the best estimate, c the other end of the bracket, a the estimate before b.
	c, fc := a, fa
	step := b - a
	before := step
	for range maxSteps {
		if math.Abs(fc) < math.Abs(fb) {
			a, b, c = b, c, b
			fa, fb, fc = fb, fc, fb
		}
		near := 2*epsilon*math.Abs(b) + tol/2
		half := (c - b) / 2
		if math.Abs(half) <= near || fb == 0 {
			return b, nil
		}
		if math.Abs(before) < near || math.Abs(fa) <= math.Abs(fb) {
			step, before = half, half
		} else if d, ok := interpolate(a, b, c, fa, fb, fc, near, before); ok {
			step, before = d, step
		} else {
			step, before = half, half
		}
		a, fa = b, fb
		if math.Abs(step) > near {
			b += step
		} else {
			b += math.Copysign(near, half)
		}
		if fb = f(b); math.IsNaN(fb) {
			return math.NaN(), fmt.Errorf("find a root by Brent's method: the value at %g is not a number", b)
		}
		if (fb > 0) == (fc > 0) {
			c, fc = a, fa
			step = b - a
			before = step
		}
	}
	return math.NaN(), fmt.Errorf("find a root by Brent's method: %d steps leave an interval from %g to %g", maxSteps, b, c)
}

// epsilon is half the spacing of floating-point numbers at 1.
const epsilon = 1.0 / (1 << 53)

// interpolate proposes a step from b by the secant through two points or the inverse quadratic through three. ok is false
// where the step would leave three quarters of the bracket or not be half of that before the last.
func interpolate(a, b, c, fa, fb, fc, near, before float64) (step float64, ok bool) {
	half := (c - b) / 2
	s := fb / fa
	p, q := 2*half*s, 1-s
	if a != c {
		q, r := fa/fc, fb/fc
		p = s * (2*half*q*(q-r) - (b-a)*(r-1))
		return accept(p, (q-1)*(r-1)*(s-1), half, near, before)
	}
	return accept(p, q, half, near, before)
}

func accept(p, q, half, near, before float64) (step float64, ok bool) {
	if p > 0 {
		q = -q
	} else {
		p = -p
	}
	if 2*p < math.Min(3*half*q-math.Abs(near*q), math.Abs(before*q)) {
		return p / q, true
	}
	return 0, false
}

// Boundary returns the last value, on the way from yes to no, at which a condition is known to hold, to within tol of where
// it ceases to hold.
//
// The condition must hold at yes and fail at no, and change once between them; it is evaluated at neither.
func Boundary(holds func(float64) bool, yes, no, tol float64) float64 {
	for range maxSteps {
		mid := yes + (no-yes)/2
		if math.Abs(no-yes) <= tol || mid == yes || mid == no {
			break
		}
		if holds(mid) {
			yes = mid
		} else {
			no = mid
		}
	}
	return yes
}

// Above doubles b from its first value until f changes sign between a and b, and returns that b; ok is false where b would
// pass most, or where a value is not a number.
func Above(f func(float64) float64, a, b, most float64) (upper float64, ok bool) {
	fa := f(a)
	if math.IsNaN(fa) {
		return b, false
	}
	for ; b <= most; b *= 2 {
		fb := f(b)
		if math.IsNaN(fb) {
			return b, false
		}
		if fb == 0 || (fb > 0) != (fa > 0) {
			return b, true
		}
	}
	return b, false
}
