package wiring

import (
	"math"

	"lampwright/internal/root"
)

const (
	// Constants of the heat transfer coefficient at two cables that touch, one beside the other, in still air: h = Z/Dᵍ + E in W/(m²·K^1.25).
	// Source: IEC60287-2-1, table 2 (cited from memory).
	filmZ, filmE, filmG = 0.29, 2.35, 0.5
	// insulationKMW is the thermal resistivity of PVC [K·m/W]; other insulations have less. Source: IEC60287-2-1, table 1
	// (5.0 up to 3 kV, cited from memory).
	insulationKMW = 5.0
	// ohmMM2PerM is the resistivity of copper at 20 °C [Ω·mm²/m]. Source: IEC60028.
	ohmMM2PerM = 1.0 / 58
)

// Lead is a pair of insulated copper conductors that lie side by side in still air.
type Lead struct {
	AreaMM2      float64 // of one conductor; 0 means that of its resistance, ρ/R′
	OhmPerM      float64 // of one conductor at 20 °C
	InsulationMM float64 // thickness of the insulation
	MaxK         float64 // insulation temperature rating, at the conductor
}

// Area returns the cross-section of one conductor in mm²: as given, or A = ρ/R′.
//
// Source: IEC60028 (resistivity).
func (l Lead) Area() float64 {
	if l.AreaMM2 > 0 {
		return l.AreaMM2
	}
	return ohmMM2PerM / l.OhmPerM
}

// Ampacity returns the current at which the conductors of a single pair reach their insulation temperature rating, in
// amperes:
//
//	W = π D h Δθ^1.25       h = Z/Dᵍ + E          heat of a metre of one conductor through its surface
//	θ_max − θ_air = Δθ + W (ρ_T/2π) ln(D/d)       the surface over the air, and the conductor over the surface
//	I = √(W/(R′ (1 + α (θ_max − 20 °C))))
//
// d is the conductor's diameter, D that over its insulation, Δθ the rise of the surface. airK is the ambient temperature [K];
// at or above the insulation temperature rating the result is 0.
// Valid for still air and steady current. The constants were made for cables of 20 mm and more; for flexible pairs of 0.75 to
// 4 mm² the result lies within 10 % of printed tables (VDE0298-4, IEC60364-5-52, cited from memory). Sleeves, boxes and bundles
// reduce it, see GroupingFactor. Source: IEC60287-1-1, §1.4.1, and IEC60287-2-1, §4.2.1.1 (cited from memory).
func (l Lead) Ampacity(airK float64) float64 {
	rise := l.MaxK - airK
	if !(rise > 0) {
		return 0
	}
	d := 2 * math.Sqrt(l.Area()/math.Pi) * 1e-3 // m
	outer := d + 2*l.InsulationMM*1e-3
	film := math.Pi * outer * (filmZ/math.Pow(outer, filmG) + filmE)
	across := insulationKMW / (2 * math.Pi) * math.Log(outer/d)
	heatW := func(surface float64) float64 { return film * math.Pow(surface, 1.25) }
	surface, err := root.Brent(func(k float64) float64 { return k + across*heatW(k) - rise }, 0, rise, 1e-12*rise)
	if err != nil {
		return math.NaN() // of a lead whose dimensions are not numbers
	}
	return math.Sqrt(heatW(surface) / (l.OhmPerM * CopperFactor(l.MaxK)))
}

// VerifiedMinMM2 and VerifiedMaxMM2 are the cross-sections between which Ampacity was compared with printed tables for pairs [mm²].
const VerifiedMinMM2, VerifiedMaxMM2 = 0.75, 4.0

// ConservativeAmpacity returns the current for which a single pair may be used, in amperes. Where Ampacity was checked it is that;
// in thinner leads no more of it runs in a square millimetre than where the checks begin:
//
//	I_low(A) = min(I(A), I(A₀) A/A₀)       A₀ = 0.75 mm²
//
// airK is as for Ampacity. The balance leaves thin leads far more than tables do, half as much again at 0.25 mm² and twice as much
// at 0.14 mm²: those of VDE0298-4, table 11 (cited from memory), fall in proportion to the cross-section from 0.5 to 0.14 mm². Why they
// do has no source; the rule does not go beyond them there.
func (l Lead) ConservativeAmpacity(airK float64) float64 {
	area := l.Area()
	if area >= VerifiedMinMM2 {
		return l.Ampacity(airK)
	}
	share := area / VerifiedMinMM2
	thick := l
	thick.AreaMM2, thick.OhmPerM = VerifiedMinMM2, l.OhmPerM*share
	return math.Min(l.Ampacity(airK), share*thick.Ampacity(airK))
}

// AmbientFactor returns the factor by which the rated current of a lead changes at another ambient temperature [1]:
//
//	k = √((θ_max − θ_air)/(θ_max − θ_stated))
//
// All temperatures in kelvin; 0 where the air is at least θ_max, or where θ_stated is.
// Source: derived, with a heat flow in proportion to the rise; it gives the factors of IEC60364-5-52, table B.52.14 (cited from memory).
func AmbientFactor(maxK, statedK, airK float64) float64 {
	if airK >= maxK || statedK >= maxK {
		return 0
	}
	return math.Sqrt((maxK - airK) / (maxK - statedK))
}

// GroupingFactor returns the factor on the ampacity of each of several loaded leads that touch in one bundle or sleeve [1].
//
// Between two rows of the table the row for more leads counts; beyond the table, its last one.
// Source: IEC60364-5-52, table B.52.17 (cited from memory).
func GroupingFactor(leads int) float64 {
	factor := 1.0
	if leads <= 1 {
		return factor
	}
	t := grouping()
	for row := range t.Rows() {
		factor = t.Number(row, "factor")
		if t.Number(row, "leads") >= float64(leads) {
			break
		}
	}
	return factor
}
