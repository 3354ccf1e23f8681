package day

import (
	"fmt"
	"math"

	"lampwright/internal/drive"
)

// Shape is the kind of a curve from setting to duty.
type Shape int

// Shapes of curves. Lightness makes equal steps of setting look equal; Gamma approximates that with a power.
const (
	Linear    Shape = iota // duty = setting
	Lightness              // L* = 100 × setting, CIE 1976
	Gamma                  // duty = setting^exponent
)

// Curve turns a setting into a duty, both 0 to 1. The zero value is linear.
type Curve struct {
	Shape    Shape
	Exponent float64 // of Gamma: 0.1 to 10
}

// fullL is the lightness of a setting of 1.
const fullL = 100

// Duty returns the duty of a setting [1]; a setting outside 0 to 1 counts as the nearest end.
//
//	Linear: s    Lightness: Y(L* = 100·s)    Gamma: s^exponent
//
// Source: CIE15-2018, §8.2.1 (lightness).
func (c Curve) Duty(setting float64) float64 {
	s := clamp(setting)
	switch c.Shape {
	case Lightness:
		return drive.DutyForLightness(fullL * s)
	case Gamma:
		return math.Pow(s, c.Exponent)
	}
	return s
}

// Setting returns the setting of a duty [1], the inverse of Duty.
//
// Source: CIE15-2018, §8.2.1 (lightness).
func (c Curve) Setting(duty float64) float64 {
	d := clamp(duty)
	switch c.Shape {
	case Lightness:
		return clamp(drive.Lightness(d) / fullL)
	case Gamma:
		return math.Pow(d, 1/c.Exponent)
	}
	return d
}

// check returns an error for a curve that is none.
func (c Curve) check() error {
	switch c.Shape {
	case Linear, Lightness:
		return nil
	case Gamma:
		if !(c.Exponent >= 0.1 && c.Exponent <= 10) {
			return fmt.Errorf("exponent %g of a gamma curve; use 0.1 to 10, typically 2.2", c.Exponent)
		}
		return nil
	}
	return fmt.Errorf("curve %d is not known", c.Shape)
}

// mean returns the mean duty while the setting runs straight from a to b, both in 0 to 1, and the mean of duty × u,
// where u runs from 0 to 1 meanwhile.
//
// Exact: a polynomial of degree 4 at most by three Gauss points on each side of the lightness curve's knee, powers by
// their integrals.
func (c Curve) mean(a, b float64) (m0, m1 float64) {
	switch {
	case c.Shape == Gamma && math.Abs(a-b) > 0.02*max(a, b):
		return gammaMeans(a, b, c.Exponent)
	case c.Shape == Lightness && (a < kneeSetting) != (b < kneeSetting):
		u := (kneeSetting - a) / (b - a)
		p0, p1 := c.gauss(a, kneeSetting)
		q0, q1 := c.gauss(kneeSetting, b)
		return u*p0 + (1-u)*q0, u*u*p1 + (1-u)*(u*q0+(1-u)*q1)
	}
	return c.gauss(a, b)
}

// kneeSetting is the setting above which the lightness curve is a cube.
const kneeSetting = 0.08

// gauss returns the means by three Gauss points, exact to degree 5.
func (c Curve) gauss(a, b float64) (m0, m1 float64) {
	for i, u := range gaussPoints() {
		d := gaussWeights()[i] * c.Duty(a+u*(b-a))
		m0 += d
		m1 += u * d
	}
	return m0, m1
}

// gaussPoints and gaussWeights are those of Gauss-Legendre with three points on 0 to 1.
func gaussPoints() [3]float64 {
	h := math.Sqrt(0.15)
	return [3]float64{0.5 - h, 0.5, 0.5 + h}
}

func gaussWeights() [3]float64 { return [3]float64{5.0 / 18, 8.0 / 18, 5.0 / 18} }

// gammaMeans returns the means of s^g and of s^g × u for s straight from a to b.
func gammaMeans(a, b, g float64) (m0, m1 float64) {
	m0 = drive.MeanOfGammaRamp(a, b, g)
	return m0, (drive.MeanOfGammaRamp(a, b, g+1) - a*m0) / (b - a)
}

func clamp(v float64) float64 { return min(max(v, 0), 1) }
