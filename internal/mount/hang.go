package mount

import "math"

// LineForce returns the force in one of n lines that share a load evenly in newtons: F = m·g/(n·cos θ).
//
// fromVerticalRad is θ. Source: statics.
func LineForce(massKg float64, lines int, fromVerticalRad float64) float64 {
	return massKg * GravityMS2 / (float64(lines) * math.Cos(fromVerticalRad))
}

// Lever returns the fraction of a load that the line at x = from bears, with a second line at x = to and the centre of
// mass between them [1]. Source: statics.
func Lever(fromM, toM, centreM float64) float64 { return (toM - centreM) / (toM - fromM) }

// SuddenFactor returns the peak force in a line that takes up a mass suddenly, over its weight [1]:
//
//	f = 1 + √(1 + 2·h·k/(m·g))
//
// slackM is h, the way it falls first; stiffnessNM is k, of the line. 2 without slack.
// Source: RoarkYoung2012, §16.4 (elastic body that is struck, energy).
func SuddenFactor(slackM, stiffnessNM, massKg float64) float64 {
	return 1 + math.Sqrt(1+2*slackM*stiffnessNM/(massKg*GravityMS2))
}

// Tilt returns the angle of a lamp whose two lines differ in length in radians: atan(Δl/s).
func Tilt(differenceM, spanM float64) float64 { return math.Atan(differenceM / spanM) }

// BeamShift returns how far the beam centre of a tilted lamp moves at a distance below it in metres: h·tan(tilt).
func BeamShift(tiltRad, heightM float64) float64 { return heightM * math.Tan(tiltRad) }

// Dip returns how far the end of a lamp reaches below a surface after it swung down about a line at its other end, in
// metres: reach − height; below 0 it stays above. Source: geometry.
func Dip(reachM, heightM float64) float64 { return reachM - heightM }

// Level tells whether lines bear a lamp without tilting: whether its centre of mass lies within the polygon of their
// places, or on the line between two of them. A lamp on two lines through its centre of mass is level, but free to
// roll.
func Level(lines []Point, centre Point) bool {
	// The centre is inside the convex hull unless all lines are strictly on one side of some line through it.
	const tolM = 1e-6
	var angles []float64
	for _, p := range lines {
		if p.to(centre) <= tolM {
			return true
		}
		angles = append(angles, math.Atan2(p.YM-centre.YM, p.XM-centre.XM))
	}
	return len(angles) > 0 && widestGap(angles) <= math.Pi+1e-6
}

// widestGap returns the widest angle between neighbouring directions [rad].
func widestGap(angles []float64) float64 {
	widest := 0.0
	for i, a := range angles {
		next := 2 * math.Pi // to itself, all round
		for j, b := range angles {
			d := math.Mod(b-a+2*math.Pi, 2*math.Pi)
			if i != j {
				next = math.Min(next, d)
			}
		}
		widest = math.Max(widest, next)
	}
	return widest
}
