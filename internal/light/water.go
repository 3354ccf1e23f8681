package light

import (
	"embed"
	"fmt"
	"math"
	"sort"
	"sync"

	reference "lampwright/internal/table"
)

//go:embed data/*.csv
var data embed.FS

// DefaultWaterIndex is the refractive index of water used where none is given: 589 nm, 20 °C.
// Source: DaimonMasumura2007.
const DefaultWaterIndex = 1.333

// DefaultTanninSlopePerNM is how fast the absorption of yellow substance falls with wavelength.
// Source: Schwarz2002, mean of diverse waters at 440 nm, ± 0.0035.
const DefaultTanninSlopePerNM = 0.0165

// ForwardScattering is the mean cosine of the angle by which particles in natural waters turn light aside [1].
// Source: Petzold1972, turbid harbour.
const ForwardScattering = 0.924

// Water says what is dissolved and stirred into pure water at 20 °C. The zero Water is pure.
type Water struct {
	TanninPerM  float64  // absorption of yellow substance at 440 nm, natural logarithm [1/m]
	SlopePerNM  float64  // its exponential slope [1/nm]; 0 means DefaultTanninSlopePerNM
	ScatterPerM float64  // scattering coefficient of suspended matter [1/m], the same in all bands
	Described   string   // the user's word for it, if any
	Notes       []string // what to know about how it was found
}

// NamedWater returns the Water behind a word: "pure", "clear", "slightly yellow" or "tea".
//
// The words are common practice with no source; the figures of yellow substance at 440 nm (0.1, 0.5 and 5 per metre)
// lie within the range that Schwarz2002 and Sipelgas2003 measured in lakes and coastal waters.
func NamedWater(word string) (Water, error) {
	w := Water{Described: word}
	switch word {
	case "pure":
	case "clear":
		w.TanninPerM = 0.1
	case "slightly yellow":
		w.TanninPerM = 0.5
	case "tea":
		w.TanninPerM = 5
	default:
		return Water{}, fmt.Errorf("water %q is not known; say pure, clear, slightly yellow or tea, or give a measured loss", word)
	}
	return w, nil
}

// Absorption returns the absorption coefficient of the water, natural logarithm [1/m]:
//
//	a(λ) = a_w(λ) + a₄₄₀ exp[−S(λ − 440)]
//
// lambdaNM is the wavelength in air [nm], good from 300 to 850; outside, the end value of the table is kept.
// Sources: Roettgers2016 and Mason2016 for pure water; Bricaud1981 for the form of the yellow substance.
func Absorption(lambdaNM float64, w Water) float64 {
	return pureWater(lambdaNM) + w.TanninPerM*tannin(lambdaNM, w.SlopePerNM)
}

func tannin(lambdaNM, slopePerNM float64) float64 {
	if slopePerNM == 0 {
		slopePerNM = DefaultTanninSlopePerNM
	}
	return math.Exp(-slopePerNM * (lambdaNM - 440))
}

// WaterFromLoss returns the Water that transmits the fraction passed of light along depthM metres of it.
//
// weight is how the light is shared over lambdaNM as the meter sees it (relative power times the meter's response):
// one wavelength for a photograph's channel or a filtered reading, the lamp's spectrum times V(λ) for a lux meter.
// The yellow substance is found by bisection so that Σ w exp(−a(λ) d)/Σ w = passed. If pure water alone absorbs more
// than what was measured, the Water is pure and a note says so. Surface losses must be taken out of passed
// beforehand.
func WaterFromLoss(lambdaNM, weight []float64, depthM, passed float64) (Water, error) {
	if len(lambdaNM) == 0 || len(lambdaNM) != len(weight) {
		return Water{}, fmt.Errorf("a measured loss needs wavelengths and as many weights, got %d and %d", len(lambdaNM), len(weight))
	}
	if !(depthM > 0) || !(passed > 0) || passed > 1 {
		return Water{}, fmt.Errorf("a measured loss needs a depth above 0 and a passed share in (0, 1], got %g m and %g", depthM, passed)
	}
	through := func(tanninPerM float64) float64 {
		sum, all := 0.0, 0.0
		for i, l := range lambdaNM {
			sum += weight[i] * math.Exp(-Absorption(l, Water{TanninPerM: tanninPerM})*depthM)
			all += weight[i]
		}
		return sum / all
	}
	w := Water{Described: "from a measured loss"}
	if pure := through(0); !(pure > passed) {
		w.Notes = append(w.Notes, fmt.Sprintf(
			"pure water alone passes %.1f %%, less than the %.1f %% measured: taken as pure; check the depth and the surface loss", 100*pure, 100*passed))
		return w, nil
	}
	low, high := 0.0, 1.0
	for through(high) > passed {
		if high *= 2; high > 1e6 {
			return Water{}, fmt.Errorf("no yellow water passes only %.3g of this light over %g m; check the reading", passed, depthM)
		}
	}
	for range 100 {
		mid := (low + high) / 2
		if through(mid) > passed {
			low = mid
		} else {
			high = mid
		}
	}
	w.TanninPerM = (low + high) / 2
	return w, nil
}

type waterTable struct{ lambdaNM, aPerM []float64 }

var loadWater = sync.OnceValue(func() waterTable {
	rows := reference.Must(data, "data/water_absorption_2nm.csv", reference.AllNumbers)
	return waterTable{rows.Numbers("wavelength_nm"), rows.Numbers("a_per_m")}
})

// pureWater interpolates the table of pure water linearly; outside it the end values are kept.
func pureWater(lambdaNM float64) (aPerM float64) {
	t := loadWater()
	last := len(t.lambdaNM) - 1
	i := sort.SearchFloat64s(t.lambdaNM, lambdaNM)
	switch {
	case i == 0:
		return t.aPerM[0]
	case i > last:
		return t.aPerM[last]
	}
	f := (lambdaNM - t.lambdaNM[i-1]) / (t.lambdaNM[i] - t.lambdaNM[i-1])
	return t.aPerM[i-1] + f*(t.aPerM[i]-t.aPerM[i-1])
}

// WaterIndex returns the refractive index of pure water at 20 °C against air [1]:
//
//	n² − 1 = Σ Aᵢ L²/(L² − Bᵢ), L in µm, divided by 1.00027
//
// lambdaNM is the wavelength [nm], 182 to 1129. Source: DaimonMasumura2007, Table for 20.0 °C.
func WaterIndex(lambdaNM float64) float64 {
	a := [4]float64{0.5684027565, 0.1726177391, 0.02086189578, 0.1130748688}
	b := [4]float64{0.005101829712, 0.01821153936, 0.02620722293, 10.69792721}
	l2 := lambdaNM * lambdaNM * 1e-6
	sum := 1.0
	for i := range a {
		sum += a[i] * l2 / (l2 - b[i])
	}
	return math.Sqrt(sum) / 1.00027
}

// DiffuseTransmission returns the fraction of perfectly diffuse light that passes a layer of optical depth τ = a·d
// [1]:
//
//	2E₃(τ) = ∫₀¹ 2µ e^{−τ/µ} dµ
//
// Source: Chandrasekhar1960, appendix I.
func DiffuseTransmission(opticalDepth float64) float64 {
	return integrate(func(mu float64) float64 { return 2 * mu * math.Exp(-opticalDepth/mu) }, 0, 1, 96)
}

// RippleSlopeVariance returns the mean square slope of a clean sea surface in wind [1]:
//
//	σ² = 0.003 + 5.12·10⁻³ U
//
// windMS is the wind at 12.5 m height [m/s], 1 to 14. An ocean fit: an order of magnitude at most for a tank.
// Source: CoxMunk1954.
func RippleSlopeVariance(windMS float64) float64 { return 0.003 + 5.12e-3*windMS }
