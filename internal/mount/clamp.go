package mount

import "math"

// Preload returns the force of a tightened screw in newtons: F = T/(K·d).
//
// torqueNm is T, diameterM the nominal diameter d; nutFactor is K, see NutFactor. Torque leaves a scatter of ± 30 %.
// Source: common practice, no source (the short form of VDI2230, in which K sums friction at thread and head).
func Preload(torqueNm, nutFactor, diameterM float64) float64 {
	return torqueNm / (nutFactor * diameterM)
}

// Torque returns the tightening torque for a preload in newton metres: T = K·d·F, the inverse of Preload.
func Torque(preloadN, nutFactor, diameterM float64) float64 { return preloadN * nutFactor * diameterM }

// Nut factors: dry steel, lubricated steel, and dry stainless steel or aluminium; common practice, no source.
const (
	NutFactor   = 0.20
	NutFactorLo = 0.15
	NutFactorHi = 0.30
)

// MeanPressure returns the mean pressure under a board in pascal: p = n·F/A.
//
// A screw presses a cone of about 30° from the edge of its washer; between the cones only the board's stiffness does.
// Source: definition; VDI2230 for the cone, cited from memory.
func MeanPressure(screws int, preloadN, areaM2 float64) float64 {
	return float64(screws) * preloadN / areaM2
}

// UsualYieldPa is the yield stress of a filled thermal paste; pastes have 20 to 200 Pa. Rule of thumb (no source).
const UsualYieldPa = 60

// BondLine returns the bond line of a filled paste after it has flowed, in metres:
//
//	b = 1.31e−4 · (τ_y/p)^0.166
//
// yieldPa is τ_y, the yield stress of the paste; pressurePa is p. Not for pads, whose datasheet has a curve. Fifty
// times
// the pressure halves it. Source: Prasher2003, cited from memory.
func BondLine(yieldPa, pressurePa float64) float64 {
	return 1.31e-4 * math.Pow(yieldPa/pressurePa, 0.166)
}

// GapRise returns the temperature drop of a gap in kelvin: ΔT = q·g/k.
//
// fluxWm2 is q, gapM is g, conductivityWmK is k: 0.026 in still air. Source: IncroperaDeWitt2007, §3.1.
func GapRise(fluxWm2, gapM, conductivityWmK float64) float64 { return fluxWm2 * gapM / conductivityWmK }

// Film is a thin layer on a plate, for the bow of a laminated board.
type Film struct {
	YoungPa, ThicknessM float64 // of the layer
	PlateYoungPa        float64
	PlateThicknessM     float64
	ExpansionPerK       float64 // of the plate less that of the layer [1/K]
	CoolingK            float64 // below the temperature at which the two were laminated without stress
}

// Curvature returns the curvature of a plate with a thin layer after cooling in 1/m, convex on the side of the layer:
//
//	κ = 6·E_f·t_f·Δα·ΔT/(E_s·t_s²)
//
// Equal Poisson numbers; t_f far below t_s. Elastic: an upper bound, since copper yields; boards have 10 % to 50 % of
// it.
// Source: Stoney1909.
func (f Film) Curvature() float64 {
	return 6 * f.YoungPa * f.ThicknessM * f.ExpansionPerK * f.CoolingK / (f.PlateYoungPa * f.PlateThicknessM *
		f.PlateThicknessM)
}

// FluxCurvature returns the curvature of a plate that conducts heat through its thickness in 1/m: κ = α·q/k.
//
// Source: Timoshenko1959, §14 (pure bending by temperature).
func FluxCurvature(expansionPerK, fluxWm2, conductivityWmK float64) float64 {
	return expansionPerK * fluxWm2 / conductivityWmK
}

// Bow returns the rise of the middle over the ends of a bent plate in metres: δ = κ·L²/8.
func Bow(curvaturePerM, lengthM float64) float64 { return curvaturePerM * lengthM * lengthM / 8 }

// FlatteningForce returns the force at mid-span that flattens a bowed strip on two supports in newtons:
//
//	F = 48·E·I·δ/L³, I = w·t³/12
//
// Source: RoarkYoung2012, table 8.1 (beam on two supports, centre load).
func FlatteningForce(youngPa, widthM, thicknessM, bowM, lengthM float64) float64 {
	return 48 * youngPa * widthM * thicknessM * thicknessM * thicknessM / 12 * bowM / (lengthM * lengthM * lengthM)
}

// Plate is the core of a board between two screws.
type Plate struct {
	YoungPa, Poisson, ThicknessM float64
}

// Spacing returns the largest distance between screws at which a back pressure lifts the board less than a gap, in
// metres:
//
//	s = (32·E·t³·δ/(5·p·(1−ν²)))^¼
//
// pressurePa is p: what lies under the board presses back. gapM is δ. A strip on two supports, whose middle rises by
// 5·p·s⁴/(384·D) with D = E·t³/(12·(1−ν²)). Continuous strips and square fields of screws rise less: 0.2 and 0.45 of
// it.
// Source: derived from Timoshenko1959, §1 and §54.
func (b Plate) Spacing(pressurePa, gapM float64) float64 {
	t3 := b.ThicknessM * b.ThicknessM * b.ThicknessM
	return math.Pow(32*b.YoungPa*t3*gapM/(5*pressurePa*(1-b.Poisson*b.Poisson)), 0.25)
}

// KeepOut returns the radius around a screw in which a board has no copper, in metres: the washer, displaced by the
// play
// in its hole, and the creepage distance. Source: geometry.
func KeepOut(washerM, screwM, holeM, creepageM float64) float64 {
	return washerM/2 + (holeM-screwM)/2 + creepageM
}

// ShankKeepOut returns the radius around a screw in which a board has no copper where washer and head insulate, in
// metres: the shank may touch the edge of the hole, and the creepage distance begins there. Source: geometry.
func ShankKeepOut(holeM, creepageM float64) float64 { return holeM/2 + creepageM }

// TapeShearPa is the static shear that foam tape withstands for a long time, 55 cm² per kilogram. Common practice, no
// source.
const TapeShearPa = 1800

// TapeArea returns the area of tape that bears a mass in shear in square metres: A = m·g/σ. Source: definition.
func TapeArea(massKg, shearPa float64) float64 { return massKg * GravityMS2 / shearPa }

// Point is a position on a board [m].
type Point struct{ XM, YM float64 }

func (p Point) to(q Point) float64 { return math.Hypot(p.XM-q.XM, p.YM-q.YM) }

// Span is the straight line between two screws.
type Span struct{ From, To Point }

// Length returns the distance between the ends [m].
func (s Span) Length() float64 { return s.From.to(s.To) }

// Spans returns the lines that connect all screws with the least sum of lengths: the minimum spanning tree (Prim1957).
// On
// a row or a rectangular field of screws the longest of them is the pitch.
func Spans(screws []Point) (out []Span) {
	if len(screws) == 0 {
		return nil
	}
	joined := make([]bool, len(screws))
	joined[0] = true
	for range len(screws) - 1 {
		best, at := Span{}, -1
		for i, p := range screws {
			for j, q := range screws {
				if joined[i] && !joined[j] && (at < 0 || p.to(q) < best.Length()) {
					best, at = Span{p, q}, j
				}
			}
		}
		joined[at] = true
		out = append(out, best)
	}
	return out
}

// Nearest returns the distance from a position to the nearest screw in metres; +Inf without screws.
func Nearest(at Point, screws []Point) float64 {
	best := math.Inf(1)
	for _, s := range screws {
		best = math.Min(best, at.to(s))
	}
	return best
}
