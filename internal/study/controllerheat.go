package study

import (
	"errors"
	"fmt"
	"math"

	"lampwright/internal/engine"
	"lampwright/internal/foldback"
	"lampwright/internal/project"
)

// Assumed for thermistor and fan of the controller core; rules of thumb (no source).
const (
	coreBits      = 12   // codes of the core: 0 to 4095
	faultMargin   = 0.02 // of the range of the converter: an open or a shorted sensor
	tripMarginK   = 5    // of the cut-out in software above the end of the foldback curve
	releaseK      = 3    // below the start of the curve
	aboveAirK     = 3    // that a dark heat sink cools to
	foldRows      = 8
	fanStartShare = 0.5 // of the rise of the sensor in the typical state, at which the fan starts
	fanWarmShare  = 0.9 // of it, at which it has the speed of the design
	fanHystK      = 1.5
	fanMinShare   = 0.2 // of rated speed, where the datasheet states no minimum
	fanKickTicks  = 15
	fanTachDelay  = 40
	slowFanShare  = 0.5 // of its slowest speed
	minFanFailure = 0.1
)

// sensorCode is the thermistor as the core reads it.
type sensorCode struct {
	divider foldback.Divider
	scale   float64 // voltage of the pull-up over the reference of the converter
}

// at returns the code at a temperature [K].
func (s sensorCode) at(kelvin float64) int64 {
	code := math.Floor(math.Exp2(coreBits) * s.scale * s.divider.Ratio(s.divider.NTC.OhmAt(kelvin)))
	return int64(math.Min(math.Exp2(coreBits)-1, code))
}

// sensorCodes returns the thermistor as the core reads it: 12 bits.
func (p *ControllerPlan) sensorCodes() (sensorCode, error) {
	l := p.eval.Lamp
	if l.Design.Sensor == nil {
		return sensorCode{}, errors.New("the controller core needs a thermistor; add sensor: {part: ntc-10k, at: " +
			"[0 mm, 20 mm]}")
	}
	d, err := l.Divider()
	if err != nil {
		return sensorCode{}, err
	}
	d.Bits = coreBits
	part := l.Controller.Part
	out := sensorCode{divider: d, scale: 1}
	if part.PullUpSupply.Set && part.ADCReference.Set {
		out.scale = part.PullUpSupply.SI / part.ADCReference.SI
	}
	return out, nil
}

// setHeat sets what follows the thermistor: foldback, over-temperature, fan.
func (p *ControllerPlan) setHeat() (err error) {
	if p.sensor, err = p.sensorCodes(); err != nil {
		return err
	}
	s := p.eval.Sys
	key, airK := worstCase(s)
	law, limitK, _, from, err := foldbackCurve(s, p.eval.Sol.Cases[key], airK)
	if err != nil {
		return err
	}
	c := &p.Config
	open := math.Exp2(coreBits) * math.Min(p.sensor.scale*(1-faultMargin), 1)
	c.ADCShort, c.ADCOpen = int64(math.Ceil(math.Exp2(coreBits)*faultMargin)), min(int64(open), 4095)
	hottestAirK := p.eval.Sol.Cases[engine.Typical].AirK
	if st, ok := p.eval.Sol.Cases[engine.MaxAmbient]; ok {
		hottestAirK = math.Max(hottestAirK, st.AirK)
	}
	tripK := law.EndK + tripMarginK
	backK := math.Max(law.StartK-releaseK, hottestAirK+aboveAirK)
	c.ADCTrip, c.ADCRelease = p.sensor.at(tripK), p.sensor.at(backK)
	if c.ADCTrip >= c.ADCRelease || c.ADCTrip <= c.ADCShort || c.ADCRelease >= c.ADCOpen {
		return fmt.Errorf("the thermistor does not separate %.0f °C, at which the lamp stops, from %.0f °C, at which "+
			"it may return: codes %d and %d, short up to %d, open from %d; take another pull-up, or another foldback "+
			"curve", tripK-273.15, backK-273.15, c.ADCTrip, c.ADCRelease, c.ADCShort, c.ADCOpen)
	}
	c.Fold = p.foldRows(law)
	failed := p.fanFailureLevel(limitK)
	c.FanfailGain = q15(p.gainFor(failed))
	c.LimpLevel = min(q15(safeSetting), c.FanfailGain)
	switch {
	case p.eval.Lamp.Design.Fan == nil:
	case failed < 1:
		p.note("Fan failure: at most %.0f %% of the light, which keeps the junctions below their limit at maximum "+
			"ambient.", 100*failed)
	default:
		p.note("Fan failure: full light, with which the junctions stay below their limit at maximum ambient too.")
	}
	p.setFan(law)
	p.note("Foldback from %.0f °C to %.0f °C at the sensor (junction limit: %s); dark from %.0f °C, back below "+
		"%.0f °C.", law.StartK-273.15, law.EndK-273.15, from, tripK-273.15, backK-273.15)
	return nil
}

// gainFor returns the gain on settings that reduces every channel at its greatest level at least to a fraction of its
// light. On the lightness curve a gain reduces dim channels less than bright ones: the smallest one counts.
func (p *ControllerPlan) gainFor(fraction float64) float64 {
	gain := 1.0
	for _, full := range p.fullOf {
		if s := p.curve.Setting(full); s > 0 {
			gain = math.Min(gain, p.curve.Setting(fraction*full)/s)
		}
	}
	return gain
}

// foldRows returns the foldback curve as codes and gains, hot first.
func (p *ControllerPlan) foldRows(law foldback.Curve) (out [][2]int64) {
	for i := range foldRows {
		u := float64(i) / (foldRows - 1)
		row := [2]int64{
			p.sensor.at(law.EndK + u*(law.StartK-law.EndK)), q15(p.gainFor(law.MinLevel + u*(1-law.MinLevel))),
		}
		if n := len(out); n > 0 && row[0] <= out[n-1][0] {
			continue // less than a code from row to row
		}
		out = append(out, row)
	}
	return out
}

// fanFailureLevel returns the level at which the hottest junction keeps its limit without the fan at maximum ambient,
// with rises in proportion to the level. Keyframes by light may raise channels above the level of the solution: it then
// counts for the one that rises most.
func (p *ControllerPlan) fanFailureLevel(limitK float64) float64 {
	st, ok := p.eval.Sol.Cases[engine.MaxAmbientFanFailure]
	if !ok || st.TotalW == 0 {
		return 1
	}
	level, raised := (limitK-curveMarginK-st.AirK)/(st.Hottest()-st.AirK), 1.0
	for i, full := range p.fullOf {
		if full > 0 {
			raised = math.Max(raised, full/p.eval.Lamp.Channels[i].Level)
		}
	}
	level /= raised
	return math.Min(1, math.Max(minFanFailure, level))
}

// fanDriven tells whether the controller drives the fan of the design.
func (p *ControllerPlan) fanDriven() bool {
	part := p.eval.Lamp.Controller.Part
	return p.eval.Lamp.Design.Fan != nil && part.FanOutput.Set && part.FanOutput.S != project.FanOutputNone
}

// setFan sets the fan: off while the heat sink is cool, at the speed of the design from 90 % of the typical rise of the
// sensor on, full from the start of the foldback on.
func (p *ControllerPlan) setFan(law foldback.Curve) {
	l := p.eval.Lamp
	f := &p.Config.Fan
	f.KickTicks, f.TachDelayTicks = fanKickTicks, fanTachDelay
	if !p.fanDriven() {
		f.Curve = [][2]int64{{p.Config.ADCTrip, 0}, {p.Config.ADCRelease, 0}}
		if l.Design.Fan != nil {
			p.note("The controller does not drive the fan: let it run whenever the lamp has its supply.")
		}
		return
	}
	part := l.Controller.Part
	speed, slowest := 1.0, fanMinShare
	if l.Design.Fan.Speed.Set {
		speed = l.Design.Fan.Speed.SI
	}
	if l.Fan.MinSpeed.Set {
		slowest = l.Fan.MinSpeed.SI / l.Fan.Speed.SI
	}
	typical := p.eval.Sol.Cases[engine.Typical]
	rise := math.Max(2, p.eval.Sys.Board.SensorRise(&typical))
	onK, warmK := typical.AirK+fanStartShare*rise, typical.AirK+fanWarmShare*rise
	hotK := warmK + 1
	if st, ok := p.eval.Sol.Cases[engine.MaxAmbient]; ok {
		hotK = math.Max(hotK, st.AirK+p.eval.Sys.Board.SensorRise(&st))
	}
	fullK := math.Max(law.StartK, hotK+1)
	if part.FanOutput.S == project.FanOutputSwitch {
		speed, warmK, hotK, fullK = 1, onK+1, onK+2, onK+3
	}
	f.Min = q15(math.Min(slowest, speed))
	for _, row := range []struct{ kelvin, duty float64 }{{fullK, 1}, {hotK, speed}, {warmK, speed}, {onK, 0}} {
		code := p.sensor.at(row.kelvin)
		if n := len(f.Curve); n == 0 || code > f.Curve[n-1][0] {
			f.Curve = append(f.Curve, [2]int64{code, q15(row.duty)})
		}
	}
	f.Hyst = int64(math.Ceil(fanHystK * p.sensor.divider.CountsPerK(warmK) * p.sensor.scale))
	if part.TachometerInputs.N > 0 {
		f.HasTach = true
		f.MinRPM = int64(math.Round(slowFanShare * slowest * l.Fan.Speed.SI * 60))
		p.note("The fan must have a tachometer output; without one, set has_tach to 0 in the configuration.")
	}
}
