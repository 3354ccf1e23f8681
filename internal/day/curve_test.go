package day

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestCurveValues(t *testing.T) {
	for _, tt := range []struct {
		name               string
		c                  Curve
		setting, want, tol float64
		source             string
	}{
		{"linear", Curve{}, 0.3, 0.3, 0, "definition"},
		{"gamma", Curve{Gamma, 2.2}, 0.9, 0.7931, 5e-5, "0.9^2.2"},
		{"lightness, half", Curve{Shape: Lightness}, 0.5, 0.18419, 5e-6, "CIE 15:2018: L* 50 is Y 18.42 %"},
		{"lightness, knee", Curve{Shape: Lightness}, 0.08, 216.0 / 24389, 1e-15, "CIE 15:2018, (6/29)³"},
		{"lightness, below the knee", Curve{Shape: Lightness}, 0.04, 108.0 / 24389, 1e-15, "CIE 15:2018, straight"},
		{"above 1", Curve{Shape: Lightness}, 1.7, 1, 0, "settings end at 1"},
		{"below 0", Curve{Gamma, 2}, -1, 0, 0, "settings end at 0"},
	} {
		if got := tt.c.Duty(tt.setting); math.Abs(got-tt.want) > tt.tol {
			t.Errorf("%s: Duty(%g) = %.9g, want %g ± %g (%s)", tt.name, tt.setting, got, tt.want, tt.tol, tt.source)
		}
	}
}

func drawCurve(t *rapid.T) Curve {
	return Curve{Shape(rapid.IntRange(0, 2).Draw(t, "shape")), rapid.Float64Range(0.1, 10).Draw(t, "exponent")}
}

// The inverse is exact, duty rises with setting, and the ends are 0 and 1.
func TestCurveInverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, s := drawCurve(t), rapid.Float64Range(0, 1).Draw(t, "s")
		d := c.Duty(s)
		if d > 1e-290 && math.Abs(c.Setting(d)-s) > 1e-12 {
			t.Fatalf("Setting(Duty(%g)) = %g", s, c.Setting(d))
		}
		if e := c.Duty(s + 0.01); e < d || c.Duty(0) != 0 || math.Abs(c.Duty(1)-1) > 1e-15 {
			t.Fatalf("duty %g at %g, %g at 0.01 more; ends %g, %g", d, s, e, c.Duty(0), c.Duty(1))
		}
	})
}

// The means of a ramp equal sums over 20 000 parts of it.
func TestCurveMeans(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCurve(t)
		a, b := rapid.Float64Range(0, 1).Draw(t, "a"), rapid.Float64Range(0, 1).Draw(t, "b")
		if rapid.Bool().Draw(t, "near") {
			b = min(1, a*1.001)
		}
		const n = 20_000
		w0, w1 := 0.0, 0.0
		for i := range n {
			u := (float64(i) + 0.5) / n
			d := c.Duty(a+u*(b-a)) / n
			w0 += d
			w1 += u * d
		}
		// The midpoint rule near 0 of s^0.1 is the less exact one.
		if m0, m1 := c.mean(a, b); math.Abs(m0-w0) > 2e-6 || math.Abs(m1-w1) > 2e-6 {
			t.Fatalf("%+v from %g to %g: means %.9g, %.9g; sums %.9g, %.9g", c, a, b, m0, m1, w0, w1)
		}
	})
	// Mean duty of a ramp from 0 to 1 (integrals of the definitions): 1/2, 1/3.2, 0.28982.
	for i, want := range []float64{0.5, 0.28982, 1 / 3.2} {
		if m0, _ := (Curve{Shape(i), 2.2}).mean(0, 1); math.Abs(m0-want) > 5e-6 {
			t.Errorf("mean of a ramp of shape %d = %.7f, want %.7f", i, m0, want)
		}
	}
}
