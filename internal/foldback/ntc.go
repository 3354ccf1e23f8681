package foldback

import (
	"errors"
	"fmt"
	"math"
)

const roomK = 298.15 // 25 °C, where thermistors are stated

// NTC is a thermistor by the equation of Steinhart and Hart, 1/T = A + B·ln R + C·(ln R)³. The Beta equation is the case
// C = 0. Make one with Beta, SteinhartHart or Fit.
type NTC struct {
	A, B, C float64 // [1/K], with R in ohm
}

// Beta returns the thermistor of resistance ohm25 at 25 °C [Ω] and constant betaK [K]:
//
//	R = R₂₅·exp[B·(1/T − 1/298.15)]
//
// Beta holds between the two temperatures that it is stated for (25/50, 25/85 and 25/100 differ by 1 to 2 %).
// Source: IEC60539-1 (definition of the B-value).
func Beta(ohm25, betaK float64) (NTC, error) {
	if !(ohm25 > 0) || !(betaK > 0) || math.IsInf(ohm25, 0) || math.IsInf(betaK, 0) {
		return NTC{}, fmt.Errorf("thermistor of %g Ω and a B-value of %g K; give positive numbers", ohm25, betaK)
	}
	return NTC{A: 1/roomK - math.Log(ohm25)/betaK, B: 1 / betaK}, nil
}

// SteinhartHart returns the thermistor of the given coefficients, for resistance in ohm.
//
// Source: SteinhartHart1968.
func SteinhartHart(a, b, c float64) (NTC, error) {
	n := NTC{A: a, B: b, C: c}
	// Between 1 Ω and 10 MΩ the curve must fall with temperature.
	const most = 16.2 // ln(10 MΩ)
	if !(b > 0) || !(b+3*c*most*most > 0) || math.IsNaN(a) || math.IsInf(a, 0) {
		return NTC{}, fmt.Errorf("coefficients %g, %g, %g do not make a thermistor whose resistance falls with temperature; they are for ohm and kelvin", a, b, c)
	}
	return n, nil
}

// Fit returns the thermistor through three points of a table.
//
// ohm are resistances [Ω] and kelvin their temperatures [K]. It is exact at the three; between 0 and 100 °C a table is
// then met within some hundredths of a kelvin.
// Source: SteinhartHart1968, solved for the three coefficients.
func Fit(ohm, kelvin [3]float64) (NTC, error) {
	var l, y [3]float64
	for i := range 3 {
		if !(ohm[i] > 0) || !(kelvin[i] > 0) {
			return NTC{}, fmt.Errorf("thermistor point %d: %g Ω at %g K; give positive numbers", i+1, ohm[i], kelvin[i])
		}
		l[i], y[i] = math.Log(ohm[i]), 1/kelvin[i]
	}
	if l[0] == l[1] || l[1] == l[2] || l[0] == l[2] {
		return NTC{}, errors.New("two of the three thermistor points have the same resistance")
	}
	g2 := (y[1] - y[0]) / (l[1] - l[0])
	g3 := (y[2] - y[0]) / (l[2] - l[0])
	c := (g3 - g2) / (l[2] - l[1]) / (l[0] + l[1] + l[2])
	b := g2 - c*(l[0]*l[0]+l[0]*l[1]+l[1]*l[1])
	n, err := SteinhartHart(y[0]-(b+l[0]*l[0]*c)*l[0], b, c)
	if err != nil {
		return NTC{}, fmt.Errorf("fit three thermistor points: %w", err)
	}
	return n, nil
}

// KelvinAt returns the temperature in kelvin at a resistance in ohm. It is NaN where the equation has none.
func (n NTC) KelvinAt(ohm float64) float64 {
	l := math.Log(ohm)
	t := 1 / (n.A + n.B*l + n.C*l*l*l)
	if !(t > 0) {
		return math.NaN()
	}
	return t
}

// OhmAt returns the resistance in ohm at a temperature in kelvin.
//
// The cubic is solved by Newton's method from the solution without its cubic term; a dozen steps reach the last bit.
func (n NTC) OhmAt(kelvin float64) float64 {
	l := (1/kelvin - n.A) / n.B
	if n.C != 0 {
		for range 40 {
			step := (n.A + n.B*l + n.C*l*l*l - 1/kelvin) / (n.B + 3*n.C*l*l)
			l -= step
			if math.Abs(step) < 1e-14*math.Abs(l) {
				break
			}
		}
	}
	return math.Exp(l)
}

// SlopePerK returns by what fraction of itself the resistance changes per kelvin, which is negative:
//
//	d(ln R)/dT = −1/[T²·(B + 3·C·(ln R)²)]
//
// For the Beta equation that is −B/T².
func (n NTC) SlopePerK(kelvin float64) float64 {
	l := math.Log(n.OhmAt(kelvin))
	return -1 / (kelvin * kelvin * (n.B + 3*n.C*l*l))
}
