package sink

import "math"

// Lens is a lens over a package, as one node between the air and the board beneath it.
type Lens struct {
	DiameterM, HeightM float64
	GapM               float64 // mean air gap under it
	FilmWm2K           float64 // of its outside, radiation included; 10 to 14 W/(m²·K)
}

// Constants of the gap beneath a lens.
const (
	gapAirWmK      = 0.028 // conductivity of air near 60 °C; IncroperaDeWitt2007, table A.4
	gapRadiationWK = 6     // W/(m²·K), radiation between matt faces near 60 °C
)

// Conductances returns the conductance from a lens to the air and to the board in watts per kelvin:
//
//	G_o = h·(π/4·D² + π·D·H), G_b = (k_air/g + h_r)·π/4·D²
//
// Source: derived; the model is good to ± 6 K, and the plastic over the dome is up to 10 K hotter (rule of thumb, no
// source).
func (l Lens) Conductances() (airWK, boardWK float64) {
	face := math.Pi / 4 * l.DiameterM * l.DiameterM
	return l.FilmWm2K * (face + math.Pi*l.DiameterM*l.HeightM), (gapAirWmK/l.GapM + gapRadiationWK) * face
}

// Temperature returns the mean temperature of a lens in kelvin: (P + G_o·T_air + G_b·T_board)/(G_o + G_b).
//
// absorbedW is P, the light that the lens absorbs. Source: derived.
func (l Lens) Temperature(absorbedW, airK, boardK float64) float64 {
	air, board := l.Conductances()
	return (absorbedW + air*airK + board*boardK) / (air + board)
}

// Growth returns the thermal expansion of a length in metres: α·h·ΔT.
func Growth(expansionPerK, lengthM, riseK float64) float64 { return expansionPerK * lengthM * riseK }
