package intensity

import (
	"fmt"
	"math"
	"sort"
)

// table interpolates a measured distribution linearly in theta and phi.
type table struct {
	theta, phi []float64   // phi closes the circle: last = first + 2π; one entry if axial
	value      [][]float64 // [phi][theta], normalised
}

// FromTable returns a measured distribution: values[j][i] is the intensity at phiRad[j] and thetaRad[i], in any unit.
// Between the angles it is linear, outside them it is zero.
//
// thetaRad ascends within [0, π]; phiRad ascends within [0, 2π] and is closed to a circle; one plane (or none) means
// symmetry about the optical axis. The values are scaled to a flux of 1: exact integral of the linear pieces over
// theta, trapezoidal rule over phi.
func FromTable(thetaRad, phiRad []float64, values [][]float64) (Distribution, error) {
	if len(phiRad) == 0 {
		phiRad = []float64{0}
	}
	if len(thetaRad) < 2 || len(values) != len(phiRad) {
		return nil, fmt.Errorf("intensity table with %d angles, %d planes and %d rows; it needs at least 2 angles "+
			"and one row per plane",
			len(thetaRad), len(phiRad), len(values))
	}
	if err := checkRising("vertical angle", thetaRad, math.Pi); err != nil {
		return nil, err
	}
	if err := checkRising("horizontal angle", phiRad, 2*math.Pi); err != nil {
		return nil, err
	}
	t := table{theta: append([]float64(nil), thetaRad...), phi: append([]float64(nil), phiRad...)}
	for j, row := range values {
		if len(row) != len(thetaRad) {
			return nil, fmt.Errorf("row %d of an intensity table has %d values for %d angles", j+1, len(row),
				len(thetaRad))
		}
		for i, v := range row {
			if !(v >= 0) || math.IsInf(v, 1) {
				return nil, fmt.Errorf("row %d, value %d of an intensity table is %g; an intensity must be finite "+
					"and at least 0", j+1, i+1, v)
			}
		}
		t.value = append(t.value, append([]float64(nil), row...))
	}
	if n := len(t.phi); n > 1 {
		if closing := t.phi[0] + 2*math.Pi; t.phi[n-1] < closing-1e-9 {
			t.phi = append(t.phi, closing)
			t.value = append(t.value, t.value[0])
		} else {
			t.phi[n-1] = closing
		}
	}
	flux := t.flux()
	if !(flux > 0) {
		return nil, fmt.Errorf("intensity table has no flux: all values are 0")
	}
	for j := range t.value {
		scaled := make([]float64, len(t.theta))
		for i, v := range t.value[j] {
			scaled[i] = v / flux
		}
		t.value[j] = scaled
	}
	return t, nil
}

// flux integrates the table over the sphere.
func (t table) flux() float64 {
	if len(t.phi) == 1 {
		return 2 * math.Pi * LinearFluxPerAzimuth(t.theta, t.value[0])
	}
	sum := 0.0
	for j := 1; j < len(t.phi); j++ {
		sum += (t.phi[j] - t.phi[j-1]) / 2 * (LinearFluxPerAzimuth(t.theta,
			t.value[j-1]) + LinearFluxPerAzimuth(t.theta, t.value[j]))
	}
	return sum
}

// LinearFluxPerAzimuth returns ∫ I sin θ dθ [intensity·rad²] of the straight lines between the readings:
//
//	∫ = [−I cos θ + s sin θ] from θ₁ to θ₂, s the slope of the piece
//
// Source: formula, integration by parts.
func LinearFluxPerAzimuth(thetaRad, intensity []float64) float64 {
	sum := 0.0
	for i := 1; i < len(thetaRad); i++ {
		a, b := thetaRad[i-1], thetaRad[i]
		s := (intensity[i] - intensity[i-1]) / (b - a)
		sum += intensity[i-1]*math.Cos(a) - intensity[i]*math.Cos(b) + s*(math.Sin(b)-math.Sin(a))
	}
	return sum
}

// find returns the cell of the table that contains a direction and the position in it, 0 to 1; false outside.
func (t table) find(cosTheta, phi float64) (i, j int, u, v float64, ok bool) {
	theta := math.Acos(math.Max(-1, math.Min(1, cosTheta)))
	last := len(t.theta) - 1
	if theta < t.theta[0]-1e-12 || theta > t.theta[last]+1e-12 {
		return 0, 0, 0, 0, false
	}
	i = min(max(sort.SearchFloat64s(t.theta, theta), 1), last) - 1
	u = math.Max(0, math.Min(1, (theta-t.theta[i])/(t.theta[i+1]-t.theta[i])))
	if len(t.phi) > 1 {
		phi = t.phi[0] + math.Mod(math.Mod(phi-t.phi[0], 2*math.Pi)+2*math.Pi, 2*math.Pi)
		j = min(max(sort.SearchFloat64s(t.phi, phi), 1), len(t.phi)-1) - 1
		v = math.Max(0, math.Min(1, (phi-t.phi[j])/(t.phi[j+1]-t.phi[j])))
	}
	return i, j, u, v, true
}

func (t table) PerFlux(cosTheta, phi float64) float64 {
	i, j, u, v, ok := t.find(cosTheta, phi)
	if !ok {
		return 0
	}
	a := t.value[j][i] + u*(t.value[j][i+1]-t.value[j][i])
	if len(t.phi) == 1 {
		return a
	}
	b := t.value[j+1][i] + u*(t.value[j+1][i+1]-t.value[j+1][i])
	return a + v*(b-a)
}

func (t table) Axial() bool { return len(t.phi) == 1 }

func (t table) Breaks() []float64 { return t.theta }

func checkRising(what string, x []float64, limit float64) error {
	for i, v := range x {
		if !(v >= -1e-12) || v > limit+1e-9 {
			return fmt.Errorf("%s %d of an intensity table is %.5g°, outside 0° to %.0f°", what, i+1, deg(v),
				deg(limit))
		}
		if i > 0 && v <= x[i-1] {
			return fmt.Errorf("%s %d of an intensity table is %.5g° after %.5g°; angles must rise", what, i+1, deg(v),
				deg(x[i-1]))
		}
	}
	return nil
}
