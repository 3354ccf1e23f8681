package heat

import (
	"fmt"
	"math"
)

// LeeResult is what Lee estimates, all in kelvin per watt but the dimensionless inputs of the formula.
type LeeResult struct {
	MeanKW, MaxKW, OneDKW float64 // spreading part at the source's mean and centre; and the plain part without spreading
	TotalMeanKW           float64 // MeanKW + OneDKW
	TotalMaxKW            float64 // MaxKW + OneDKW
	Epsilon, Tau, Biot    float64 // ratio of radii, relative thickness, Biot number of the plate
	Lambda, Phi           float64
	Notes                 []string
}

// Lee estimates the spreading resistance of one source centred on one plate with a heat transfer coefficient on its far face [K/W].
//
//	ε = √(As/Ap), τ = t/b, Bi = h b/k, b = √(Ap/π), λ = π + 1/(√π ε)
//	Φ = (tanh λτ + λ/Bi)/(1 + λ/Bi tanh λτ)
//	R mean = ½ (1−ε)^1.5 Φ/(k√As), R max = (1−ε) Φ/(√π k√As), R 1-D = t/(k Ap) + 1/(h Ap)
//
// As and Ap are the areas of source and plate [m²], t the thickness [m], k the conductivity [W/(m·K)], h the heat transfer coefficient
// [W/(m²·K)]. For sizing only: single layer, centred, near square; within about 10 % of the exact circular solution.
// Source: Lee1995, eqs. for the dimensionless mean and maximum constriction resistance.
func Lee(sourceAreaM2, plateAreaM2, thicknessM, kWmK, filmWm2K float64) (LeeResult, error) {
	for _, v := range []struct {
		name string
		v    float64
	}{
		{"source area", sourceAreaM2},
		{"plate area", plateAreaM2},
		{"thickness", thicknessM},
		{"conductivity", kWmK},
		{"heat transfer coefficient", filmWm2K},
	} {
		if !(v.v > 0) || math.IsInf(v.v, 1) {
			return LeeResult{}, fmt.Errorf("%s %g must be above zero and finite", v.name, v.v)
		}
	}
	if sourceAreaM2 > plateAreaM2 {
		return LeeResult{}, fmt.Errorf("source area %g m² is larger than the plate %g m²", sourceAreaM2, plateAreaM2)
	}
	b := math.Sqrt(plateAreaM2 / math.Pi)
	r := LeeResult{Epsilon: math.Sqrt(sourceAreaM2 / plateAreaM2), Tau: thicknessM / b, Biot: filmWm2K * b / kWmK}
	r.Lambda = math.Pi + 1/(math.Sqrt(math.Pi)*r.Epsilon)
	th := math.Tanh(r.Lambda * r.Tau)
	r.Phi = (th + r.Lambda/r.Biot) / (1 + r.Lambda/r.Biot*th)
	scale := kWmK * math.Sqrt(sourceAreaM2)
	r.MeanKW = 0.5 * math.Pow(1-r.Epsilon, 1.5) * r.Phi / scale
	r.MaxKW = (1 - r.Epsilon) * r.Phi / math.Sqrt(math.Pi) / scale
	r.OneDKW = thicknessM/(kWmK*plateAreaM2) + 1/(filmWm2K*plateAreaM2)
	r.TotalMeanKW, r.TotalMaxKW = r.MeanKW+r.OneDKW, r.MaxKW+r.OneDKW
	r.Notes = append(r.Notes, "closed form for one centred source on one layer, good to about 10 % of the spreading part; it knows nothing of a dielectric")
	return r, nil
}

// HalfSpaceRectMean is the mean rise of a uniformly heated rectangle on a half-space per watt [K/W]:
//
//	R = [a² b asinh(b/a) + a b² asinh(a/b) + (a³ + b³ − (a²+b²)^1.5)/3] / (π k a² b²)
//
// a, b are the sides [m], k the conductivity [W/(m·K)]. The square gives k√A R = 0.4732.
// Source: Yovanovich2003, ch. 4 (isoflux rectangle); CarslawJaeger1959, §10.5.
func HalfSpaceRectMean(aM, bM, kWmK float64) float64 {
	a, b := aM, bM
	d := math.Hypot(a, b)
	i := a*a*b*math.Asinh(b/a) + a*b*b*math.Asinh(a/b) + (a*a*a+b*b*b-d*d*d)/3
	return i / (math.Pi * kWmK * a * a * b * b)
}

// HalfSpaceRectCentre is the rise at the centre of a uniformly heated rectangle on a half-space per watt [K/W]:
//
//	R = [a asinh(b/a) + b asinh(a/b)] / (π k a b)
//
// Source: CarslawJaeger1959, §10.5.
func HalfSpaceRectCentre(aM, bM, kWmK float64) float64 {
	return (aM*math.Asinh(bM/aM) + bM*math.Asinh(aM/bM)) / (math.Pi * kWmK * aM * bM)
}

// HalfSpaceDisc gives the rise per watt of a heated disc of radius a on a half-space [K/W]: mean 8/(3π² k a) and centre
// 1/(π k a) for uniform flux, and 1/(4 k a) for an isothermal disc.
// Source: CarslawJaeger1959, §8.2.
func HalfSpaceDisc(radiusM, kWmK float64) (meanKW, centreKW, isothermalKW float64) {
	ka := kWmK * radiusM
	return 8 / (3 * math.Pi * math.Pi * ka), 1 / (math.Pi * ka), 1 / (4 * ka)
}

// StackKW is the resistance of each layer straight through an area, and their sum, without any spreading [K/W]:
// t/(kz A) + R”/A. Layers are as in a Board; joints belong to the layer above them.
func StackKW(layers []Layer, areaM2 float64) (each []float64, sumKW float64) {
	for _, l := range layers {
		r := l.ThicknessM/(l.kz()*areaM2) + l.JointM2KW/areaM2
		each = append(each, r)
		sumKW += r
	}
	return each, sumKW
}
