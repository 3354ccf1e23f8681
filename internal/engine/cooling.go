package engine

import (
	"errors"
	"fmt"

	"lampwright/internal/curve"
	"lampwright/internal/lamp"
	"lampwright/internal/sink"
)

// sampleRises are the rises of the base over the air at which a heat sink is computed; a curve joins them, so that the
// iteration does not compute fins.
var sampleRises = []float64{0.5, 1, 2, 4, 7, 11, 16, 22, 30, 40, 55, 75, 100, 140} // K

// errNoCoolingData says that the datasheet of the heat sink has no data for a case.
var errNoCoolingData = errors.New("no cooling data in the datasheet of the heat sink")

// coolingOf computes the cooling by heat sink, its base faces beside the board, housing and board faces at an air
// temperature [K]; fanFailure stops the fan.
func coolingOf(l *lamp.Lamp, solver Solver, airK float64, fanFailure bool) (Cooling, error) {
	out, err := coolSink(l, solver, airK, fanFailure)
	if err != nil {
		return out, err
	}
	pressurePa := sink.PressureAtAltitude(l.Design.Installation.Altitude.SI)
	if out.films, err = filmsOf(l, airK, pressurePa); err != nil {
		return out, err
	}
	over := func(conductanceWK func(baseK float64) (float64, error)) (*curve.Curve, error) {
		var x, y []float64
		for _, rise := range sampleRises {
			wk, err := conductanceWK(airK + rise)
			if err != nil {
				return nil, err
			}
			x, y = append(x, airK+rise), append(y, wk)
		}
		g, err := curve.New(x, y)
		return &g, err
	}
	// The resistance of a datasheet is that of the whole heat sink.
	if f := BaseFace(l); f.AreaM2 > 0 && (l.Sink.Fins != nil || l.Sink.Pins != nil) {
		out.base, err = over(func(baseK float64) (float64, error) {
			return f.AreaM2 * f.Coefficient(baseK, airK, pressurePa), nil
		})
		if err != nil {
			return out, fmt.Errorf("cooling by the base of the heat sink: %w", err)
		}
	}
	if l.Design.Housing == nil {
		return out, nil
	}
	h := l.Housing()
	out.housingJointKW = h.JointKW
	out.housingWK, err = over(func(baseK float64) (float64, error) {
		c, _, err := h.Natural(baseK, airK, pressurePa)
		return c.ConductanceWK, err
	})
	if err != nil {
		return out, fmt.Errorf("cooling by the housing: %w", err)
	}
	return out, nil
}

// coolSink finds the cooling of the sink alone.
func coolSink(l *lamp.Lamp, solver Solver, airK float64, fanFailure bool) (Cooling, error) {
	pressurePa := sink.PressureAtAltitude(l.Design.Installation.Altitude.SI)
	withFan := l.Fan != nil && !fanFailure
	s := l.Sink
	switch {
	case s.Fins != nil:
		return coolGeometry(l, solver, airK, pressurePa, withFan, lamp.PlateFin(s))
	case s.Pins != nil && (withFan || !s.Natural.Set): // without a fan, the datasheet is better than a bound
		return coolGeometry(l, solver, airK, pressurePa, withFan, lamp.PinFin(s))
	case withFan && !s.Forced.Set:
		return Cooling{}, fmt.Errorf("the datasheet of heat sink %q has no data with a fan; remove the fan, or use "+
			"another heat sink", s.ID.S)
	case withFan:
		return coolForcedCurve(l, airK, pressurePa)
	case s.Natural.Set:
		c, err := coolNaturalCurve(l, airK, pressurePa)
		if tilt, _ := l.Design.Installation.TiltRad(); tilt > 0 {
			c.Notes = append(c.Notes, "tilt of the heat sink not modelled: the datasheet states its resistance as mounted there")
		}
		return c, err
	}
	return Cooling{}, errNoCoolingData
}

// geometry is a heat sink that is computed from its shape.
type geometry interface {
	NaturalAskew(o sink.Orientation, t sink.Tilt, baseK, airK, surroundK, pressurePa float64) (sink.Cooling, error)
}

// coolGeometry returns the cooling of a sink of fins or pins.
func coolGeometry(l *lamp.Lamp, solver Solver, airK, pressurePa float64, withFan bool, g geometry) (Cooling, error) {
	in := CoolingInputs{
		Shape: g, Orientation: l.Orientation(), AirK: airK, PressurePa: pressurePa,
	}
	in.TiltRad, in.Askew = l.SinkTilt()
	if withFan {
		share, stated := l.FlowFraction()
		in.Forced, in.Fan = true, l.FanDrive(share)
		if !stated {
			in.Fractions = []float64{lamp.AssumedFlowFraction.Lo, share, lamp.AssumedFlowFraction.Hi}
		}
	}
	c, err := solver.Cooling(in)
	if err != nil {
		return c, fmt.Errorf("cooling of heat sink %q: %w", l.Sink.ID.S, err)
	}
	return c, nil
}

// Cooling computes a sink of fins or pins at each of sampleRises.
func (Direct) Cooling(in CoolingInputs) (Cooling, error) {
	out := Cooling{blown: in.Forced, airK: in.AirK}
	var x, y []float64
	for _, rise := range sampleRises {
		c, p, err := in.at(in.AirK+rise, in.Fan.ChannelShare)
		if err != nil {
			return out, err
		}
		if !(c.ConductanceWK > 0) {
			continue // the fan's own dissipation exceeds so small a rise
		}
		x, y = append(x, in.AirK+rise), append(y, c.ConductanceWK)
		if rise == referenceRiseK {
			out.film, out.Fan, out.RelUnc, out.Method, out.Source = c, p, c.RelUncertainty, c.Method, c.Source
			out.Notes = append(append([]string(nil), c.Notes...), p.Notes...)
		}
	}
	if len(x) == 0 {
		return out, errors.New("it has no dissipation")
	}
	var err error
	if out.ConductanceWK, err = curve.New(x, y); err != nil {
		return out, err
	}
	if nominal := out.film.ConductanceWK; len(in.Fractions) > 0 && nominal > 0 {
		out.shares = in.Fractions
		out.factors, err = flowFractionFactors(in.Fractions, nominal, func(share float64) (float64, error) {
			c, _, err := in.at(in.AirK+referenceRiseK, share)
			return c.ConductanceWK, err
		})
	}
	return out, err
}

// referenceRiseK is the rise of the base over the air at which method and factors of a heat sink are reported.
const referenceRiseK = 30

// at computes the sink at a base temperature, with a fraction of the fan's flow between its fins.
func (in CoolingInputs) at(baseK, share float64) (c sink.Cooling, p sink.Point, err error) {
	fins, finned := in.Shape.(sink.PlateFin)
	pins, _ := in.Shape.(sink.PinFin)
	fan := in.Fan
	fan.ChannelShare = share
	switch {
	case in.Forced && finned:
		return fins.WithFan(fan, in.Orientation, baseK, in.AirK, in.AirK, in.PressurePa)
	case in.Forced:
		return forcedPins(pins, fan, baseK, in.AirK, in.PressurePa)
	case finned && fins.Fins > 0 && in.TiltRad > 0:
		c, err = fins.NaturalTilted(in.TiltRad, baseK, in.AirK, in.AirK, in.PressurePa)
	default:
		c, err = in.Shape.NaturalAskew(in.Orientation, in.Askew, baseK, in.AirK, in.AirK, in.PressurePa)
	}
	return c, p, err
}

// flowFractionFactors returns by what the conductance changes with the fraction of the fan's flow between the fins,
// against the fraction used, the second of three.
func flowFractionFactors(fractions []float64, nominalWK float64,
	at func(fraction float64) (float64, error),
) (factors []float64, err error) {
	for _, share := range fractions {
		f := 1.0
		if share != fractions[1] {
			wk, err := at(share)
			if err != nil {
				return nil, err
			}
			f = wk / nominalWK
		}
		factors = append(factors, f)
	}
	return factors, nil
}

// forcedPins computes the operating point of the fan on a pin fin heat sink, and its dissipation there.
func forcedPins(f sink.PinFin, d sink.FanDrive, baseK, airK, pressurePa float64) (sink.Cooling, sink.Point, error) {
	air := sink.AirAt((baseK+airK)/2, pressurePa)
	p, err := sink.Operate(d.Curve, d.SpeedRatio,
		func(flow float64) float64 { return f.PressureDrop(flow*d.ChannelShare, air) }, air.RhoKgM3/1.2)
	if err != nil {
		return sink.Cooling{}, p, err
	}
	p.Notes = append(p.Notes, "cross flow through the pins assumed; dissipation with impinging flow is similar: rule "+
		"of thumb (no source)", sink.RecirculationNote)
	c, err := f.Forced(sink.Flow{VolumeM3S: p.FlowM3S, ChannelShare: d.ChannelShare}, baseK, airK, pressurePa)
	return c, p, err
}

// spreadK is a temperature difference with its range [K].
type spreadK struct{ usual, lo, hi float64 }

// airRise returns the rise of the air at the heat sink over ambient for the heat of the lamp, and the humid air where
// the hood is over open water.
func airRise(l *lamp.Lamp, of lampHeat, roomK float64) (rise spreadK, humid *sink.HumidAir, notes []string, err error) {
	use := l.Design.Sink
	if use.Hood == nil {
		return spreadK{use.HoodAirRise.SI, use.HoodAirRise.Lo, use.HoodAirRise.Hi}, nil, nil, nil
	}
	pressurePa := sink.PressureAtAltitude(l.Design.Installation.Altitude.SI)
	if water, wet := l.OpenWater(); wet {
		water.LightW = of.lightW
		h, err := l.Hood().OverWater(water, of.airW, roomK, pressurePa)
		if err != nil {
			return rise, nil, nil, fmt.Errorf("air under the hood: %w", err)
		}
		rise = spreadK{h.Day.AirK - roomK, h.LowAirK - roomK, h.HighAirK - roomK}
		return rise, &h, append(h.Notes, rise.note()), nil
	}
	d, err := l.Hood().Air(of.airW, roomK, pressurePa)
	if err != nil {
		return rise, nil, nil, fmt.Errorf("air under the hood: %w", err)
	}
	rise = spreadK{d.RiseK, d.LowRiseK, d.HighRiseK}
	return rise, nil, append(d.Notes, rise.note()), nil
}

func (r spreadK) note() string {
	return fmt.Sprintf("hood air rise %.0f K, %.0f to %.0f K", r.usual, r.lo, r.hi)
}

// coolNaturalCurve converts resistance against power to conductance against temperature: at power P the rise is P·R(P).
func coolNaturalCurve(l *lamp.Lamp, airK, pressurePa float64) (Cooling, error) {
	r, err := curve.New(l.Sink.Natural.X, l.Sink.Natural.Y)
	if err != nil {
		return Cooling{}, fmt.Errorf("resistance_vs_power of heat sink %q: %w", l.Sink.ID.S, err)
	}
	lo, hi := r.Range()
	var x, y []float64
	out := Cooling{Source: "datasheet", airK: airK}
	const points = 24
	for i := range points {
		w := lo + (hi-lo)*float64(i)/(points-1)
		resistance, _ := r.At(w)
		c, err := sink.NaturalFromCurve(r, w, airK+w*resistance, airK, pressurePa)
		if err != nil {
			return out, fmt.Errorf("cooling of heat sink %q: %w", l.Sink.ID.S, err)
		}
		base := airK + w/c.ConductanceWK
		if len(x) > 0 && base <= x[len(x)-1]+1e-6 {
			continue
		}
		x, y = append(x, base), append(y, c.ConductanceWK)
		out.film, out.RelUnc, out.Method, out.Notes = c, c.RelUncertainty, c.Method, c.Notes
	}
	out.ConductanceWK, err = curve.New(x, y)
	return out, err
}

// halfFlow is the flow rate through a heat sink without stated pressure drop, relative to the free flow of the fan;
// rule of thumb (no source).
const halfFlow = 0.5

// forcedFromDatasheet reads the datasheet of the heat sink at the air speed of a fraction of the fan's flow.
func forcedFromDatasheet(l *lamp.Lamp, share, airK, pressurePa float64) (sink.Cooling, error) {
	r, err := curve.New(l.Sink.Forced.X, l.Sink.Forced.Y)
	if err != nil {
		return sink.Cooling{}, fmt.Errorf("resistance_vs_air_speed of heat sink %q: %w", l.Sink.ID.S, err)
	}
	frame := l.Fan.Frame.SI
	return sink.ForcedFromCurve(r, l.FreeFlow()*halfFlow*share/(frame*frame), airK+30, airK, pressurePa)
}

func coolForcedCurve(l *lamp.Lamp, airK, pressurePa float64) (Cooling, error) {
	free := l.FreeFlow()
	share, _ := l.FlowFraction()
	c, err := forcedFromDatasheet(l, share, airK, pressurePa)
	if err != nil {
		return Cooling{}, fmt.Errorf("cooling of heat sink %q: %w", l.Sink.ID.S, err)
	}
	out := Cooling{blown: true, airK: airK, film: c, RelUnc: 0.25, Method: c.Method, Source: c.Source, Notes: c.Notes}
	if _, stated := l.FlowFraction(); !stated && c.ConductanceWK > 0 {
		out.shares = []float64{lamp.AssumedFlowFraction.Lo, share, lamp.AssumedFlowFraction.Hi}
		out.factors, err = flowFractionFactors(out.shares, c.ConductanceWK, func(share float64) (float64, error) {
			c, err := forcedFromDatasheet(l, share, airK, pressurePa)
			return c.ConductanceWK, err
		})
		if err != nil {
			return out, fmt.Errorf("cooling of heat sink %q: %w", l.Sink.ID.S, err)
		}
	}
	out.Fan = sink.Point{
		FlowM3S: free * halfFlow, PowerRatio: sink.PowerRatio(l.FanSpeed(), 1),
		NoiseDB: sink.NoiseChangeDB(l.FanSpeed()),
	}
	out.Notes = append(out.Notes, fmt.Sprintf("pressure drop not stated in the datasheet of heat sink %q: flow rate "+
		"of 50 %% of the free flow assumed: rule of thumb (no source)", l.Sink.ID.S), sink.RecirculationNote)
	out.ConductanceWK, err = curve.New([]float64{airK}, []float64{c.ConductanceWK})
	return out, err
}
