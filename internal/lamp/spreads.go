package lamp

import (
	"fmt"
	"math"

	"lampwright/internal/intensity"
	"lampwright/internal/project"
	"lampwright/internal/source"
)

// Typical spreads of stated values without a stated tolerance: half of the range, over the value where it is relative.
// Rules of thumb (no source).
const (
	hangingHeightM       = 0.010 // chain, rope and hand
	lensEfficiencySpread = 0.03  // of a lens over a die of another size, seated by hand
	angleSpread          = 0.05  // datasheets round angles; lenses of one type differ by up to 10 %
	dielectricKSpread    = 0.15  // test methods differ by more than batches do
	dielectricSpread     = 0.10  // thickness after lamination
	viaSpread            = 0.20  // plating of the holes
	boardFieldError      = 0.04  // of the solver, against independent solutions and idealised pads
	lightFieldError      = 0.03  // of the light maps: panes without thickness, level water, no plants
	clearWaterSpread     = 3.0   // factor either way on the yellow substance of a word for clear water
	tintedWaterSpread    = 2.0
	measuredWaterSpread  = 1.25 // of water whose transmittance is measured
	maxAngleRad          = 175 * math.Pi / 180
	paramHangingHeight   = "installation.hanging_height"
	paramYellowSubstance = "installation.yellow_substance"
	paramDielectric      = "board.dielectric_thickness"
	paramDielectricK     = "board.dielectric_conductivity"
	paramBoardField      = "model.board_field"
	paramLightField      = "model.light_maps"
)

// within returns a parameter with the stated tolerance of a value, or a typical one of half the range half.
func within(name string, v source.Value, half float64) Param {
	p := stated(name, v.SI, v)
	if v.Set && !p.Drawn {
		p.Lo, p.Hi, p.Drawn = v.SI-half, v.SI+half, true
	}
	return p
}

// addSpreads lists what varies of geometry, water, laminate and of the methods themselves.
func (l *Lamp) addSpreads() {
	p := &l.Design.Installation
	l.Param.HangingHeight = l.param(within(paramHangingHeight, p.Hanging, math.Min(hangingHeightM, p.Hanging.SI/2)))
	l.Param.YellowSubstance = l.param(l.yellowSubstance())
	s := l.Stack
	half := func(v source.Value, spread float64) float64 { return spread * v.SI }
	dielectric, k := about1(paramDielectric, 0), about1(paramDielectricK, 0)
	switch s.ThermalPath.S {
	case project.PathDielectric:
		dielectric = within(paramDielectric, s.Dielectric, half(s.Dielectric, dielectricSpread))
		k = within(paramDielectricK, s.DielectricK, half(s.DielectricK, dielectricKSpread))
	case project.PathVias:
		k = within(paramDielectricK, s.ViaK, half(s.ViaK, viaSpread))
	}
	l.Param.Dielectric, l.Param.DielectricK = l.param(dielectric), l.param(k)
	l.Param.BoardField = l.param(about1(paramBoardField, boardFieldError))
	l.Param.LightField = l.param(about1(paramLightField, lightFieldError))
}

// about1 returns a factor with the relative error of a method.
func about1(name string, err float64) Param {
	return Param{Name: name, nominal: 1, Lo: 1 - err, Hi: 1 + err, Drawn: err > 0}
}

// yellowSubstance returns the logarithm of the factor on the yellow substance of the water.
func (l *Lamp) yellowSubstance() Param {
	p, spread := &l.Design.Installation, clearWaterSpread
	switch {
	case p.WaterTransmittance != nil:
		spread = measuredWaterSpread
	case p.WaterTint.Set && p.WaterTint.S != project.TintClear:
		spread = tintedWaterSpread
	}
	end := math.Log(spread)
	return Param{Name: paramYellowSubstance, Lo: -end, Hi: end, Drawn: p.Water.SI > 0}
}

// LaminateFactor returns the thermal resistance of the laminate beneath the pads over the nominal one [1].
func (l *Lamp) LaminateFactor(p Params) float64 {
	at := func(i int) float64 { return p[i] / l.Params[i].nominal }
	return at(l.Param.Dielectric) / at(l.Param.DielectricK)
}

// LaminateRange returns the range of LaminateFactor.
func (l *Lamp) LaminateRange() (lo, hi float64) {
	t, k := &l.Params[l.Param.Dielectric], &l.Params[l.Param.DielectricK]
	return t.Lo / t.nominal * k.nominal / k.Hi, t.Hi / t.nominal * k.nominal / k.Lo
}

// addOpticParams lists what varies of an optic.
func (l *Lamp) addOpticParams(i int) error {
	o := &l.Optics[i]
	o.ShapeParam, o.AngleParam = -1, -1
	if o.Lens == nil {
		o.Param = l.param(Param{Name: fmt.Sprintf("bare.%d.efficiency", i+1), nominal: o.Efficiency})
		if o.bare != nil {
			return nil
		}
		return l.addAngle(i, fmt.Sprintf("bare.%d", i+1), source.Value{}, intensity.LensData{BeamRad: o.BeamRad})
	}
	name := "lens." + o.Lens.ID.S
	eta := stated(name+".efficiency", o.Efficiency, o.Lens.Efficiency)
	if !eta.Drawn && o.EfficiencyFrom != "" {
		eta.Lo, eta.Hi = o.Efficiency-lensEfficiencySpread, math.Min(1, o.Efficiency+lensEfficiencySpread)
		eta.Drawn = true
	}
	o.Param = l.param(eta)
	if o.Lens.Measured() {
		return nil
	}
	if other, ok := intensity.OtherShape(lensData(o.Lens)); ok {
		o.OtherShape = other
		o.ShapeParam = l.param(Param{Name: name + ".shape", Lo: 0, Hi: 1, Drawn: true})
	}
	return l.addAngle(i, name, o.Lens.Beam, lensData(o.Lens))
}

// addAngle adds the factor on the angles of a distribution that is fitted to them.
func (l *Lamp) addAngle(i int, name string, beam source.Value, data intensity.LensData) error {
	lo, hi := 1-angleSpread, 1+angleSpread
	if beam.Lo != beam.Hi {
		lo, hi = beam.Lo/beam.SI, beam.Hi/beam.SI
	}
	top := maxAngleRad / math.Max(data.BeamRad, data.FieldRad)
	if hi = math.Min(hi, top); hi <= 1 {
		return nil
	}
	o := &l.Optics[i]
	var err error
	if o.Wider, err = l.withAngles(o, data, hi); err != nil {
		return fmt.Errorf("intensity distribution of %s at the upper end of its angles: %w", name, err)
	}
	if lo < 1 {
		if o.Narrower, err = l.withAngles(o, data, lo); err != nil {
			return fmt.Errorf("intensity distribution of %s at the lower end of its angles: %w", name, err)
		}
	}
	o.AngleParam = l.param(Param{Name: name + ".angle", nominal: 1, Lo: lo, Hi: hi, Drawn: true})
	return nil
}

// withAngles returns the distribution of an optic with its angles times a factor, and the same light.
func (l *Lamp) withAngles(o *Optic, data intensity.LensData, factor float64) (intensity.Distribution, error) {
	data.BeamRad, data.FieldRad = factor*data.BeamRad, factor*data.FieldRad
	data.PeakCdPerLm /= factor * factor
	if o.Lens == nil {
		return intensity.CosineBeam(data.BeamRad)
	}
	d, _, err := l.fitLens(data)
	return d, err
}

// lensData returns the values of a datasheet from which a distribution is fitted.
func lensData(lens *project.Lens) intensity.LensData {
	return intensity.LensData{
		BeamRad: lens.Beam.SI, FieldRad: lens.Field.SI, PeakCdPerLm: lens.Intensity.SI, Efficiency: lens.Efficiency.SI,
	}
}
