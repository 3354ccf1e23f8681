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
//	Nu = 0.27·Ra^(1/4)
//
// ra is the Rayleigh number over area/perimeter, 1e5 to 1e10. IncroperaDeWitt2011, eq. 9.32, prints 0.52·Ra^(1/5) for
// 1e4 to 1e9: 12 % more on a board of 100 mm, equal at 5e5. Both lie within the scatter of ±25 %; the lower one errs on
// the warm side. Source: McAdams1954.
func HotDownNusselt(ra float64) float64 { return 0.27 * math.Pow(ra, 0.25) }

// laminarRayleigh is the Rayleigh number up to which the flow along an upright plate is laminar.
const laminarRayleigh = 1e9

// uprightNusselt returns the mean Nusselt number of an upright plate: the laminar form where it holds, else the one for
// all Rayleigh numbers [1].
func uprightNusselt(ra, pr float64) float64 {
	if ra <= laminarRayleigh {
		return VerticalPlateNusseltLaminar(ra, pr)
	}
	return VerticalPlateNusselt(ra, pr)
}

// PlateCoefficient returns the heat transfer coefficient of natural convection on a bare flat face, in W/(m²·K).
//
// lengthM is the height of an upright face [m]; areaM2 and perimeterM are those of a lying one, which has
// area/perimeter as its length. Properties are taken at the film temperature. A face colder than the air mirrors:
// looking up, it is treated as a hot one looking down. Below a difference of 0.01 K the heat transfer coefficient is
// held. Good to about ±15 %, lying ±25 %. A length, area or perimeter that is not positive is a mistake of the caller
// and panics. Source: ChurchillChu1975 (upright); McAdams1954, LloydMoran1974 (lying).
func PlateCoefficient(face Face, lengthM, areaM2, perimeterM, surfaceK, airK, pressurePa float64) float64 {
	air := AirAt((surfaceK+airK)/2, pressurePa)
	raPerM3 := air.rayleighPerM3(heldRise(surfaceK - airK))
	if face == FaceVertical {
		if !(lengthM > 0) {
			panic("sink: upright face without a height")
		}
		return uprightNusselt(raPerM3*lengthM*lengthM*lengthM, air.Pr) * air.KWmK / lengthM
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

// BareFace is a flat face that dissipates by natural convection and radiation to surroundings at the temperature of the
// air.
type BareFace struct {
	Face       Face    // how it looks before it is tilted
	AreaM2     float64 // that dissipates
	PlaneM2    float64 // of the plane that it is part of; of itself where 0
	PerimeterM float64 // of that plane
	HeightM    float64 // of an upright face, and along the slope of a tilted one
	TiltRad    float64 // of a lying face away from level, 0 to π/2
	Emissivity float64
}

// Coefficient returns the heat transfer coefficient of the face at a surface temperature, convection and radiation, in
// W/(m²·K):
//
//	h = h_c + h_r
//
// A lying face that is tilted by θ has the larger h_c of the lying face and of an upright one with g·sin θ.
// Source: as PlateCoefficient and RadiationCoefficient; IncroperaDeWitt2007, §9.6.2 for the tilt (the larger of both is
// a rule of thumb, no source).
func (f BareFace) Coefficient(surfaceK, airK, pressurePa float64) float64 {
	plane := f.PlaneM2
	if plane == 0 {
		plane = f.AreaM2
	}
	h := PlateCoefficient(f.Face, f.HeightM, plane, f.PerimeterM, surfaceK, airK, pressurePa)
	if steep := math.Sin(f.TiltRad); f.Face != FaceVertical && steep > 0 && f.HeightM > 0 {
		air := AirAt((surfaceK+airK)/2, pressurePa)
		ra := steep * air.rayleighPerM3(heldRise(surfaceK-airK)) * f.HeightM * f.HeightM * f.HeightM
		h = math.Max(h, uprightNusselt(ra, air.Pr)*air.KWmK/f.HeightM)
	}
	return h + RadiationCoefficient(f.Emissivity, surfaceK, airK)
}

// FacesWK returns what faces of one temperature dissipate per kelvin over the air, in W/K: Σ h A.
func FacesWK(faces []BareFace, surfaceK, airK, pressurePa float64) (sum float64) {
	for _, f := range faces {
		sum += f.Coefficient(surfaceK, airK, pressurePa) * f.AreaM2
	}
	return sum
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
