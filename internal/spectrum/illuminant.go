package spectrum

import (
	"embed" // tables of the CIE
	"fmt"
	"math"
	"sync"
)

// c2MK is the second radiation constant in m·K as the CIE rounds it for colorimetry; CODATA has 1.438777e-2, which
// moves a colour temperature of 2856 K by 0.03 K. Source: CIE15-2018, §3.1.
const c2MK = 1.4388e-2

//go:embed data/*.csv
var data embed.FS

// Observer is a set of colour matching functions on the lamp grid.
type Observer struct{ X, Y, Z Weights }

var observer2Deg = sync.OnceValue(func() *Observer {
	t := MustTable(data, "data/observer2deg_1nm.csv")
	return &Observer{X: t.Weights("xbar"), Y: t.Weights("ybar"), Z: t.Weights("zbar")}
})

// Observer2Deg returns the CIE 1931 standard observer; its Y is V(λ). The tables must not be changed.
// Source: CIE018-2019, Table 1.
func Observer2Deg() *Observer { return observer2Deg() }

// Planck returns the relative spectrum of a black body on the lamp grid, 1 at 560 nm:
//
//	S(λ) ∝ λ⁻⁵/(exp(c₂/(λ·T)) − 1)
//
// tempK in kelvin, 500 K to 1e6 K; outside is a mistake of the programmer.
// Source: CIE15-2018, §3.1, with c₂ = 1.4388e-2 m·K and wavelengths in standard air taken as they are.
func Planck(tempK float64) Spectrum {
	if !(tempK >= 500 && tempK <= 1e6) {
		panic(fmt.Sprintf("spectrum: black body of %g K", tempK))
	}
	x := c2MK / tempK * 1e9
	at560 := math.Expm1(x / 560)
	return fill(func(nm float64) float64 {
		return math.Pow(560/nm, 5) * at560 / math.Expm1(x/nm)
	})
}

var daylightComponents = sync.OnceValue(func() *[3]Weights {
	t := MustTable(data, "data/daylight_components_5nm.csv")
	return &[3]Weights{t.Weights("S0"), t.Weights("S1"), t.Weights("S2")}
})

// Daylight returns the relative spectrum of a phase of daylight on the lamp grid, 100 at 560 nm:
//
//	S(λ) = S₀ + M₁·S₁ + M₂·S₂
//
// with M₁ and M₂ from the chromaticity on the daylight locus, not rounded. tempK is the correlated colour temperature
// as it is, 4000 K to 25 000 K; for a nominal illuminant D multiply its name by 1.4388/1.4380 (D65: 6504 K).
// Source: CIE15-2018, §4.1.2, eqs 4.5 to 4.8.
func Daylight(tempK float64) (Spectrum, error) {
	x, y, err := DaylightXY(tempK)
	if err != nil {
		return Spectrum{}, err
	}
	m := 0.0241 + 0.2562*x - 0.7341*y
	m1 := (-1.3515 - 1.7703*x + 5.9114*y) / m
	m2 := (0.0300 - 31.4424*x + 30.0717*y) / m
	c := daylightComponents()
	s := dark()
	for i := range s.wPerNM {
		s.wPerNM[i] = math.Max(0, c[0][i]+m1*c[1][i]+m2*c[2][i])
	}
	return s, nil
}

// DaylightXY returns the chromaticity x, y of daylight of a correlated colour temperature of 4000 K to 25 000 K.
// Source: CIE15-2018, eqs 4.1 to 4.3.
func DaylightXY(tempK float64) (x, y float64, err error) {
	t := tempK
	switch {
	case t >= 4000 && t <= 7000:
		x = -4.6070e9/(t*t*t) + 2.9678e6/(t*t) + 0.09911e3/t + 0.244063
	case t > 7000 && t <= 25000:
		x = -2.0064e9/(t*t*t) + 1.9018e6/(t*t) + 0.24748e3/t + 0.237040
	default:
		return 0, 0, fmt.Errorf("daylight of %g K is not defined; it runs from 4000 K to 25 000 K", tempK)
	}
	return x, -3.000*x*x + 2.870*x - 0.275, nil
}

// illuminantTables are the tables of illuminants.
var illuminantTables = []string{"a_d65_1nm", "d_5nm", "fl_5nm", "fl3_5nm", "hp_5nm", "led_1nm"}

var illuminants = sync.OnceValue(func() map[string]Spectrum {
	out := map[string]Spectrum{}
	for _, name := range illuminantTables {
		t := MustTable(data, "data/illuminants_"+name+".csv")
		for _, name := range t.Names {
			out[name] = t.Spectrum(name)
		}
	}
	return out
})

// Illuminant returns a CIE illuminant by name (A, D50, D55, D65, D75, FL1 to FL12, FL3.1 to FL3.15, HP1 to HP5, LED-B1
// to LED-B5, LED-BH1, LED-RGB1, LED-V1, LED-V2), on the grid of its table, and whether there is one of that name.
// Source: CIE15-2018, Tables 5, 10.1 to 10.3, 11, 12.1, 12.2; ISO/CIE 11664-2 for A and D65.
func Illuminant(name string) (Spectrum, bool) {
	s, ok := illuminants()[name]
	return s, ok
}

// Equal returns the equal-energy spectrum E on the lamp grid, 1 W/nm.
func Equal() Spectrum { return fill(func(float64) float64 { return 1 }) }
