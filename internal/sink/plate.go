package sink

import "math"

// Face says which way a flat face looks.
type Face int

const (
	FaceVertical Face = iota // upright
	FaceUp                   // looks at the ceiling
	FaceDown                 // looks at the floor, or at the water
)

// VerticalPlateNusselt returns the mean Nusselt number of an upright isothermal plate [1]:
//
//	Nu = {0.825 + 0.387·Ra^(1/6)/[1 + (0.492/Pr)^(9/16)]^(8/27)}²
//
// ra is the Rayleigh number over the height, up to 1e12; pr is the Prandtl number.
// Source: ChurchillChu1975, eq. for all Rayleigh numbers.
func VerticalPlateNusselt(ra, pr float64) float64 {
	r := 0.825 + 0.387*math.Pow(ra, 1.0/6)/math.Pow(1+math.Pow(0.492/pr, 9.0/16), 8.0/27)
	return r * r
}

// VerticalPlateNusseltLaminar returns the same where the flow is laminar [1], which is a little more exact there:
//
//	Nu = 0.68 + 0.670·Ra^(1/4)/[1 + (0.492/Pr)^(9/16)]^(4/9)
//
// For ra up to 1e9. A plate tilted by θ < 60° from upright has Ra with g·cos θ.
// Source: ChurchillChu1975, laminar form; IncroperaDeWitt2007, §9.6.2 for the tilt.
func VerticalPlateNusseltLaminar(ra, pr float64) float64 {
	return 0.68 + 0.670*math.Pow(ra, 0.25)/math.Pow(1+math.Pow(0.492/pr, 9.0/16), 4.0/9)
}

// HotUpNusselt returns the mean Nusselt number of a hot face that looks up, or of a cold one that looks down [1]:
//
//	Nu = the largest of 0.96·Ra^(1/6), 0.54·Ra^(1/4) and 0.15·Ra^(1/3)
//
// ra is the Rayleigh number over area/perimeter. The three hold below about 1e3, from 1e4 to 1e7 and from 1e7 to 1e11;
// the largest of them joins them without a step and lies within 7 % of each in its own range.
// Source: McAdams1954 and LloydMoran1974 (the last two), GoldsteinSparrowJones1973 (the first, cited from memory).
func HotUpNusselt(ra float64) float64 {
	return math.Max(0.96*math.Pow(ra, 1.0/6), math.Max(0.54*math.Pow(ra, 0.25), 0.15*math.Cbrt(ra)))
}

// HotDownNusselt returns the mean Nusselt number of a hot face that looks down, or of a cold one that looks up [1]:
//
//	Nu = 0.52·Ra^(1/5)
//
// ra is the Rayleigh number over area/perimeter, 1e4 to 1e9, which holds for lamp boards. Older editions print
// 0.27·Ra^(1/4) for 1e5 to 1e10: 12 % less on a board of 100 mm.
// Source: IncroperaDeWitt2011 (7th ed.), eq. 9.32; McAdams1954 for the older form.
func HotDownNusselt(ra float64) float64 { return 0.52 * math.Pow(ra, 0.2) }

// PlateCoefficient returns the heat transfer coefficient of natural convection on a bare flat face, in W/(m²·K).
//
// lengthM is the height of an upright face [m]; areaM2 and perimeterM are those of a lying one, which has area/perimeter
// as its length. Properties are taken at the film temperature. A face colder than the air mirrors: looking up, it is
// treated as a hot one looking down. Below a difference of 0.01 K the heat transfer coefficient is held. Good to about ±15 %, lying ±25 %.
// A length, area or perimeter that is not positive is a mistake of the caller and panics.
// Source: ChurchillChu1975 (upright); McAdams1954, LloydMoran1974, IncroperaDeWitt2011 (lying).
func PlateCoefficient(face Face, lengthM, areaM2, perimeterM, surfaceK, airK, pressurePa float64) float64 {
	air := AirAt((surfaceK+airK)/2, pressurePa)
	raPerM3 := air.rayleighPerM3(heldRise(surfaceK - airK))
	if face == FaceVertical {
		if !(lengthM > 0) {
			panic("sink: upright face without a height")
		}
		return VerticalPlateNusselt(raPerM3*lengthM*lengthM*lengthM, air.Pr) * air.KWmK / lengthM
	}
	if !(areaM2 > 0 && perimeterM > 0) {
		panic("sink: lying face without an area or a perimeter")
	}
	l := areaM2 / perimeterM
	ra := raPerM3 * l * l * l
	if (face == FaceUp) == (surfaceK >= airK) {
		return HotUpNusselt(ra) * air.KWmK / l
	}
	return HotDownNusselt(ra) * air.KWmK / l
}

// ForcedPlateNusselt returns the mean Nusselt number of a flat plate in a laminar stream [1]:
//
//	Nu = 0.664·Re^(1/2)·Pr^(1/3)
//
// re is the Reynolds number over the length along the stream, up to about 5e5.
// Source: IncroperaDeWitt2007, eq. 7.30 (Pohlhausen).
func ForcedPlateNusselt(re, pr float64) float64 {
	return 0.664 * math.Sqrt(re) * math.Cbrt(pr)
}
