package lamp

import (
	"fmt"
	"math"

	"lampwright/internal/curve"
)

// The shifts over which the efficacy of a shifted spectrum is tabulated [nm].
const (
	efficacyRangeNM = 120
	efficacyStepNM  = 2
)

// wattsRatio returns the radiant watts of a part that states lumens, with its spectrum at a die current [A] and a
// junction temperature [K], over those with the spectrum of its test point, both for the same lumens:
//
//	W = Φ_v(I, T) / K(I, T)    ratio = K(test) / K(I, T)
//
// K is the luminous efficacy of radiation of the spectrum. It is nil where the datasheet states watts, or where nothing
// shifts the spectrum: watts and lumens belong to one spectrum then anyway. Source: CIES017 (definition of K).
func (k *EmitterType) wattsRatio() (func(dieA, junctionK float64) float64, error) {
	tempco := k.Part.WavelengthTempco.SI
	if !k.Part.Flux.Set || tempco == 0 && k.Shift.Definition == NoShift {
		return nil, nil
	}
	byShift, err := k.ratioByShift()
	if err != nil {
		return nil, err
	}
	byCurrent, err := k.ratioByCurrent()
	if err != nil {
		return nil, err
	}
	testK := k.Part.TestJunction.SI
	return func(dieA, junctionK float64) float64 {
		nm, ratio := tempco*(junctionK-testK), 1.0
		switch {
		case k.Shift.Definition.White():
			ratio = clampedAt(byCurrent, dieA)
		case k.Shift.Definition != NoShift:
			nm += clampedAt(byCurrent, dieA)
		}
		return ratio * clampedAt(byShift, nm)
	}, nil
}

// ratioByShift returns K(0)/K(Δλ) against the shift of the spectrum [nm].
func (k *EmitterType) ratioByShift() (curve.Curve, error) {
	var nm, ratio []float64
	for x := -efficacyRangeNM; x <= efficacyRangeNM; x += efficacyStepNM {
		if ler := k.Unit.Shift(float64(x)).LERlmW(); ler > 0 {
			nm, ratio = append(nm, float64(x)), append(ratio, k.LmW/ler)
		}
	}
	c, err := curve.New(nm, ratio)
	if err != nil {
		return c, fmt.Errorf("efficacy of the shifted spectrum of emitter %q: %w", k.Part.ID.S, err)
	}
	return c, nil
}

// ratioByCurrent returns against the die current [A], at the points of its curve, the shift of the spectrum [nm], or of
// a white K(test)/K(I). It is empty where current shifts nothing.
func (k *EmitterType) ratioByCurrent() (curve.Curve, error) {
	if k.Shift.Definition == NoShift {
		return curve.Curve{}, nil
	}
	x := k.Shift.Given[0].X
	y := make([]float64, len(x))
	for i, a := range x {
		if k.Shift.Definition.White() {
			unit, err := k.Shift.AtCurrent(k.Unit, a)
			if err != nil {
				return curve.Curve{}, fmt.Errorf("emitter %q: %w", k.Part.ID.S, err)
			}
			y[i] = k.LmW / unit.LERlmW()
			continue
		}
		var err error
		if y[i], err = k.Shift.ShiftNM(k.Unit, a); err != nil {
			return curve.Curve{}, fmt.Errorf("emitter %q: %w", k.Part.ID.S, err)
		}
	}
	return curve.New(x, y)
}

// clampedAt returns the value of a curve, constant beyond its points.
func clampedAt(c curve.Curve, x float64) float64 {
	lo, hi := c.Range()
	y, _ := c.At(math.Min(math.Max(x, lo), hi))
	return y
}
