package sink

import "math"

// RadiationCoefficient returns the heat transfer coefficient by which a grey face radiates to large surroundings, in
// W/(m²·K):
//
//	h_r = ε·σ·(T₁ + T₂)·(T₁² + T₂²)
//
// so that the flux is h_r·(surface − surroundings). emissivity lies in [0, 1]; temperatures in kelvin. A face that
// looks down on water sees the water (emissivity about 0.96) and not the ceiling: give the water's temperature. Source:
// IncroperaDeWitt2007, eq. 1.9.
func RadiationCoefficient(emissivity, surfaceK, surroundK float64) float64 {
	return emissivity * stefanBoltzman * (surfaceK + surroundK) * (surfaceK*surfaceK + surroundK*surroundK)
}

// CavityEmissivity returns the apparent emissivity of the mouth of an isothermal grey cavity [1]:
//
//	ε_app = 1/[1 + (A_m/A_w)·(1/ε − 1)]
//
// mouthM2 and wallM2 are the areas of the mouth and of the walls behind it. Exact if the walls are lit evenly. It is 0
// for an emissivity of 0.
// Source: SparrowCess1978, ch. 6.
func CavityEmissivity(emissivity, mouthM2, wallM2 float64) float64 {
	if emissivity <= 0 {
		return 0
	}
	return 1 / (1 + mouthM2/wallM2*(1/emissivity-1))
}

// ViewFactorParallel returns the fraction of the diffuse radiation of one rectangle that falls on an equal one straight
// opposite [1]: of a lamp's board that falls on the water below, say.
//
//	F = 2/(π·X·Y)·{ln√[(1+X²)(1+Y²)/(1+X²+Y²)] + X·√(1+Y²)·atan(X/√(1+Y²)) + Y·√(1+X²)·atan(Y/√(1+X²)) − X·atan X − Y·atan Y}
//
// x and y are the sides over the distance, both positive.
// Source: IncroperaDeWitt2007, table 13.2.
func ViewFactorParallel(x, y float64) float64 {
	x2, y2 := 1+x*x, 1+y*y
	rx, ry := math.Sqrt(x2), math.Sqrt(y2)
	sum := 0.5*math.Log(x2*y2/(x2+y2-1)) +
		x*ry*math.Atan(x/ry) + y*rx*math.Atan(y/rx) - x*math.Atan(x) - y*math.Atan(y)
	return 2 * sum / (math.Pi * x * y)
}

// MeterSetting is the default emissivity of infrared thermometers; rule of thumb (no source).
const MeterSetting = 0.95

// InfraredReading returns what an infrared thermometer shows, in kelvin, that is set to one emissivity and looks at a
// surface of another:
//
//	ε_set·(T_read⁴ − T_s⁴) = ε·(T⁴ − T_s⁴)
//
// surfaceK is the true temperature T, surroundK that of what the surface mirrors, emissivity ε that of the surface and
// setting ε_set that of the meter, both above 0. The fourth power represents the whole spectrum; in the 8 µm to 14 µm
// of such meters it is good to about 1 K below 100 °C. A bright metal surface (ε below 0.3) shows the room, not itself.
// Source: IncroperaDeWitt2007, eq. 1.7 on both sides.
func InfraredReading(surfaceK, surroundK, emissivity, setting float64) float64 {
	s4 := math.Pow(surroundK, 4)
	return math.Pow(s4+emissivity/setting*(math.Pow(surfaceK, 4)-s4), 0.25)
}
