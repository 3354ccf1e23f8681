package drive

import (
	"fmt"
	"math"
)

// ParallelCurrents returns how parallel strings on one constant-current output share its current, in amperes:
//
//	I_k = I/N + (V − V_k)/R_k    V such that Σ I_k = I
//
// totalA is I; voltsV are the V_k, each string's voltage if it carried I/N [V]; ohm are the R_k, the slope of each
// string's curve at I/N with any ballast added [Ω]. A string whose share would be below zero carries nothing and the
// rest share again. Valid where the curves are straight, about 0.5 to 1.3 of I/N; beyond that the shares are a guide.
// Source: Kirchhoff's laws. For two alike slopes it is I/2 ± ΔV/(2·R).
func ParallelCurrents(totalA float64, voltsV, ohm []float64) ([]float64, error) {
	n := len(voltsV)
	if n == 0 || len(ohm) != n {
		return nil, fmt.Errorf("%d strings have %d slopes; give one slope for each string", n, len(ohm))
	}
	for k, r := range ohm {
		if !(r > 0) {
			return nil, fmt.Errorf("slope %g Ω of string %d must be above zero", r, k+1)
		}
		if v := voltsV[k]; math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, fmt.Errorf("voltage %g V of string %d must be finite", v, k+1)
		}
	}
	each := totalA / float64(n)
	shares := make([]float64, n)
	off := make([]bool, n)
	for {
		sum, sumG, on := totalA, 0.0, 0
		for k, r := range ohm {
			if !off[k] {
				sum += voltsV[k]/r - each
				sumG += 1 / r
				on++
			}
		}
		common := sum / sumG
		again := false
		for k, r := range ohm {
			shares[k] = 0
			if off[k] {
				continue
			}
			shares[k] = each + (common-voltsV[k])/r
			// Taking out a string that would feed backwards lowers the common voltage, so none ever comes back.
			if shares[k] < 0 && on > 1 {
				off[k], again = true, true
			}
		}
		if !again {
			return shares, nil
		}
	}
}

// ThermalGain returns the fraction of a current mismatch between parallel strings that comes back as more mismatch [1]:
//
//	g = |k|·V·R_th/(R + R_b)
//
// The mismatch settles at 1/(1 − g) of its first value; at g ≥ 1 one string takes all (runaway). slopeVK is k, the
// change of the string's voltage with temperature [V/K]; voltsV its voltage V; rthKW the rise of its own junctions per
// electrical watt in that string alone [K/W] (the real R_th times the fraction of heat), not the rise of the common
// sink; ohm is R + R_b, slope and ballast [Ω].
// Source: derived: a current δ more brings V·δ more power and k·V·R_th·δ less voltage, a negative resistance.
func ThermalGain(slopeVK, voltsV, rthKW, ohm float64) float64 {
	if slopeVK > 0 {
		return 0
	}
	return -slopeVK * voltsV * rthKW / ohm
}

// Parallel is what parallel strings on one output do.
type Parallel struct {
	SharesA       []float64 // as soon as the light is on
	WorstShare    float64   // the largest over I/N
	Gain          float64   // largest ThermalGain of the strings
	Runaway       bool      // Gain ≥ 1
	SettledA      []float64 // once warm; nil at runaway
	SettledWorst  float64   // the largest of them over I/N; N at runaway
	OneOpenWorstA float64   // largest current of a string after any one other string has opened
}

// CheckParallel returns the shares of parallel strings cold and warm, and what is left when one opens.
//
// slopeVK [V/K] and rthKW [K/W] are those of ThermalGain, alike for all strings; the rest is as in ParallelCurrents.
// The warm shares are those with the slopes R_k·(1 − g_k). It needs at least two strings. Source: as ParallelCurrents
// and ThermalGain.
func CheckParallel(totalA float64, voltsV, ohm []float64, slopeVK, rthKW float64) (Parallel, error) {
	var p Parallel
	n := len(voltsV)
	if n < 2 {
		return p, fmt.Errorf("sharing takes at least two strings, not %d", n)
	}
	var err error
	if p.SharesA, err = ParallelCurrents(totalA, voltsV, ohm); err != nil {
		return p, err
	}
	each := totalA / float64(n)
	p.WorstShare = greatest(p.SharesA) / each
	warm := make([]float64, n)
	for k := range ohm {
		g := ThermalGain(slopeVK, voltsV[k], rthKW, ohm[k])
		p.Gain = max(p.Gain, g)
		warm[k] = ohm[k] * (1 - g)
	}
	p.Runaway = p.Gain >= 1
	p.SettledWorst = float64(n)
	if !p.Runaway {
		if p.SettledA, err = ParallelCurrents(totalA, voltsV, warm); err != nil {
			return p, err
		}
		p.SettledWorst = greatest(p.SettledA) / each
	}
	for open := range n {
		var v, r []float64
		for k := range n {
			if k != open {
				// Carry the string's voltage on to the greater share that is now even.
				v = append(v, voltsV[k]+ohm[k]*(totalA/float64(n-1)-each))
				r = append(r, ohm[k])
			}
		}
		left, err := ParallelCurrents(totalA, v, r)
		if err != nil {
			return p, err
		}
		p.OneOpenWorstA = max(p.OneOpenWorstA, greatest(left))
	}
	return p, nil
}

func greatest(values []float64) float64 {
	m := values[0]
	for _, v := range values {
		m = max(m, v)
	}
	return m
}
