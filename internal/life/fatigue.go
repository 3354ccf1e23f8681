package life

import "math"

// Fatigue is the set of constants of an alloy in the law of Norris and Landzberg.
type Fatigue struct {
	Name      string
	DeltaT    float64 // n, exponent of the swing
	Frequency float64 // m, exponent of the frequency
	QK        float64 // Q, activation energy over Boltzmann's constant [K]
}

// Sets of constants. No single set fits tin-silver-copper: the two give a range.
var (
	// SACPan: Pan2005, cited from memory.
	SACPan = Fatigue{"SAC (Pan)", 2.65, 0.136, 2185}
	// SACVasudevanFan: VasudevanFan2008, cited from memory.
	SACVasudevanFan = Fatigue{"SAC (Vasudevan and Fan)", 2.3, 0.3, 4562}
	// TinLead: NorrisLandzberg1969, cited from memory.
	TinLead = Fatigue{"SnPb (Norris and Landzberg)", 1.9, 1.0 / 3, 1414}
)

// Cycling is a cycle of temperature.
type Cycling struct {
	SwingK float64 // ΔT
	MaxK   float64 // hottest solder of the cycle [K]
	PerDay float64 // frequency
}

// Acceleration returns how many times more cycles a joint withstands in use than in a test [1]:
//
//	AF = (ΔT_t/ΔT_u)^n · (f_u/f_t)^m · exp(Q·(1/T_u − 1/T_t))
//
// Slow cycles creep more: with f_u below f_t the second factor is below 1.
// Source: NorrisLandzberg1969, cited from memory.
func (f Fatigue) Acceleration(test, use Cycling) float64 {
	return math.Pow(test.SwingK/use.SwingK, f.DeltaT) * math.Pow(use.PerDay/test.PerDay, f.Frequency) *
		math.Exp(f.QK*(1/use.MaxK-1/test.MaxK))
}

// WeibullCycles returns the cycles at which the first of some joints has failed with a probability [cycles]:
//
//	N = N63·(−ln(1−p)/n)^(1/β)
//
// characteristic is N63 of one joint, at which 63.2 % have failed; shape is β; joints is n. Source: Weibull1951.
func WeibullCycles(characteristic, shape, failed float64, joints int) float64 {
	return characteristic * math.Pow(-math.Log(1-failed)/float64(joints), 1/shape)
}

// Characteristic returns N63 from the cycles at which a fraction of the joints of a test had failed: the inverse of
// WeibullCycles for one joint. Source: Weibull1951.
func Characteristic(cycles, shape, failed float64) float64 {
	return cycles / math.Pow(-math.Log(1-failed), 1/shape)
}

// Damage returns the damage of many small cycles a day over that of one large one [1]: (n_1/N_1)/(n_2/N_2), by Miner.
// Source: Miner1945.
func (f Fatigue) Damage(many, one Cycling) float64 {
	return many.PerDay / f.Acceleration(one, many) / one.PerDay
}

// ShearStrain returns the largest strain of a joint under a stiff package [1]: Δγ = Δα·ΔT·L/h.
//
// expansionPerK is Δα of package and board, halfDiagonalM is L of the pads, solderM is h. A bound, to rank by: the
// dielectric yields. Source: Engelmaier1983.
func ShearStrain(expansionPerK, swingK, halfDiagonalM, solderM float64) float64 {
	return expansionPerK * swingK * halfDiagonalM / solderM
}

// Engelmaier returns the median cycles to failure of tin-lead from a shear strain [cycles]:
//
//	N = ½·(Δγ/(2·ε_f))^(1/c), c = −0.442 − 6e−4·T_mean + 1.74e−2·ln(1 + 360/t_dwell)
//
// ε_f is 0.325; meanK is the mean temperature of the cycle [K], dwellS the half-cycle dwell [s]. From the bound of
// ShearStrain on a metal core it is some 25 times too low: rank only. Source: Engelmaier1983, cited from memory.
func Engelmaier(strain, meanK, dwellS float64) float64 {
	const ductility = 0.325
	c := -0.442 - 6e-4*(meanK-zeroCelsiusK) + 1.74e-2*math.Log(1+360/(dwellS/60))
	return 0.5 * math.Pow(strain/(2*ductility), 1/c)
}

// Homologous returns the temperature of a solder over its solidus, both in kelvin [1]; creep is fast above 0.8.
func Homologous(tempK, solidusK float64) float64 { return tempK / solidusK }
