// Package curve contains sampled curves of datasheets and standards, with the range in which they were measured.
//
// In: points with strictly increasing x.
// Out: a Curve that passes through every point, is monotone wherever the points are, and says when it is asked
// outside its range.
// Assumes: the caller has turned both axes into SI units.
// Leaves to others: what the axes mean, and what to tell the user when a value lies outside.
package curve

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/interp"
)

// Curve is a monotone cubic through points. The zero Curve has no points and must not be asked.
type Curve struct {
	x, y   []float64
	cubic  *interp.FritschButland // nil for one or two points
	slopes [2]float64             // at the first and the last point
}

// New returns the curve through (x[i], y[i]).
//
// Between points it is the piecewise cubic of Fritsch and Butland, which does not overshoot: where the points rise, so
// does the curve. Two points give a straight line, one a constant.
// It is an error if x and y differ in length, are empty, hold a NaN or an infinity, or if x does not increase.
// Source: FritschButland1984.
func New(x, y []float64) (Curve, error) {
	if len(x) != len(y) {
		return Curve{}, fmt.Errorf("curve has %d x values and %d y values", len(x), len(y))
	}
	if len(x) == 0 {
		return Curve{}, errors.New("curve has no points")
	}
	for i := range x {
		if !finite(x[i]) || !finite(y[i]) {
			return Curve{}, fmt.Errorf("curve point %d (%g, %g) is not finite", i+1, x[i], y[i])
		}
		if i > 0 && x[i] <= x[i-1] {
			return Curve{}, fmt.Errorf("curve point %d has x = %g after %g; x must increase", i+1, x[i], x[i-1])
		}
	}
	c := Curve{x: append([]float64(nil), x...), y: append([]float64(nil), y...)}
	switch n := len(x); {
	case n == 2:
		s := (y[1] - y[0]) / (x[1] - x[0])
		c.slopes = [2]float64{s, s}
	case n > 2:
		c.cubic = &interp.FritschButland{}
		if err := c.cubic.Fit(c.x, c.y); err != nil {
			return Curve{}, fmt.Errorf("fit curve: %w", err)
		}
		c.slopes = [2]float64{c.cubic.PredictDerivative(x[0]), c.cubic.PredictDerivative(x[n-1])}
	}
	return c, nil
}

// Empty reports whether the curve has no points.
func (c Curve) Empty() bool { return len(c.x) == 0 }

// Range returns the first and the last x of the curve.
func (c Curve) Range() (lo, hi float64) { return c.x[0], c.x[len(c.x)-1] }

// Points returns copies of the points the curve goes through.
func (c Curve) Points() (x, y []float64) {
	return append([]float64(nil), c.x...), append([]float64(nil), c.y...)
}

// At returns the value at x and whether x lies within the range of the points.
//
// Outside the range the curve goes on as a straight line with the slope of its end, so that a caller which looks for a
// root does not meet a wall; such a value is a guess, and the caller must say so.
func (c Curve) At(x float64) (y float64, inside bool) {
	lo, hi := c.Range()
	// An end that is met but for the last bits of a decimal, 700 mA against 0.7 A, is met.
	slack := 1e-12 * math.Max(math.Abs(lo), math.Abs(hi))
	switch {
	case x < lo:
		return c.y[0] + c.slopes[0]*(x-lo), x >= lo-slack
	case x > hi:
		return c.y[len(c.y)-1] + c.slopes[1]*(x-hi), x <= hi+slack
	}
	return c.inside(x), !math.IsNaN(x)
}

// Slope returns dy/dx at x; outside the range it is the slope of the nearer end.
func (c Curve) Slope(x float64) float64 {
	lo, hi := c.Range()
	switch {
	case x <= lo:
		return c.slopes[0]
	case x >= hi:
		return c.slopes[1]
	case c.cubic == nil:
		return c.slopes[0]
	}
	return c.cubic.PredictDerivative(x)
}

func (c Curve) inside(x float64) float64 {
	switch len(c.x) {
	case 1:
		return c.y[0]
	case 2:
		return c.y[0] + c.slopes[0]*(x-c.x[0])
	}
	return c.cubic.Predict(x)
}

// Held reads points straight between their x, which rise, and contains the values of the ends beyond them.
func Held(x, y []float64, at float64) float64 {
	if len(y) == 1 || at <= x[0] {
		return y[0]
	}
	for i := 1; i < len(x); i++ {
		if at <= x[i] {
			t := (at - x[i-1]) / (x[i] - x[i-1])
			return y[i-1] + t*(y[i]-y[i-1])
		}
	}
	return y[len(y)-1]
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
