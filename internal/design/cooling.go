package design

import (
	"errors"
	"fmt"
	"slices"

	"lampwright/internal/curve"
	"lampwright/internal/project"
	"lampwright/internal/sink"
)

// sampleRises are the rises of the base over the air at which a sink is computed; between them it is a curve, so that
// the loop does not compute fins at each step.
var sampleRises = []float64{0.5, 1, 2, 4, 7, 11, 16, 22, 30, 40, 55, 75, 100, 140} // K

// errSilent says that a datasheet does not tell how its sink does in the case asked for.
var errSilent = errors.New("the sink's datasheet is silent")

// cool finds the cooling of the lamp's sink and housing in air of a temperature [K]; dead stops the fan.
func (l *Lamp) cool(airK float64, dead bool) (cooling, error) {
	out, err := l.coolSink(airK, dead)
	if err != nil || l.Design.Housing == nil {
		return out, err
	}
	h := l.housing()
	pressurePa := sink.PressureAtAltitude(l.Design.Installation.Altitude.SI)
	var x, y []float64
	for _, rise := range sampleRises {
		c, _, err := h.Natural(airK+rise, airK, pressurePa)
		if err != nil {
			return out, fmt.Errorf("cooling by the housing: %w", err)
		}
		x, y = append(x, airK+rise), append(y, c.ConductanceWK)
	}
	g, err := curve.New(x, y)
	out.housingWK, out.housingJointKW = &g, h.JointKW
	return out, err
}

// housing returns the lamp's housing as the sink room knows it.
func (l *Lamp) housing() sink.Housing {
	h := l.Design.Housing
	out := sink.Housing{Face: sink.FaceVertical, AreaM2: h.Area.SI, HeightM: h.Height.SI, PerimeterM: h.Perimeter.SI, Emissivity: h.Emissivity.SI, JointKW: h.JointKW()}
	switch h.Faces.S {
	case project.FacesUp:
		out.Face = sink.FaceUp
	case project.FacesDown:
		out.Face = sink.FaceDown
	}
	return out
}

// coolSink finds the cooling of the sink alone.
func (l *Lamp) coolSink(airK float64, dead bool) (cooling, error) {
	pressurePa := sink.PressureAtAltitude(l.Design.Installation.Altitude.SI)
	withFan := l.Fan != nil && !dead
	s := l.Sink
	switch {
	case s.Fins != nil:
		return l.coolGeometry(airK, pressurePa, withFan, plateFin(s))
	case s.Pins != nil:
		return l.coolGeometry(airK, pressurePa, withFan, pinFin(s))
	case withFan && !s.Forced.Set:
		return cooling{}, fmt.Errorf("sink %q states only how it does without a fan; take the fan away, or take another sink", s.ID.S)
	case withFan:
		return l.coolForcedCurve(airK, pressurePa)
	case s.Natural.Set:
		return l.coolNaturalCurve(airK, pressurePa)
	}
	return cooling{}, errSilent
}

// plateFin returns the geometry of the lamp's sink.
func plateFin(s *project.Sink) sink.PlateFin {
	return sink.PlateFin{
		WidthM: s.Base.Width.SI, LengthM: s.Base.Length.SI, FinHeightM: s.Fins.Height.SI, FinThicknessM: s.Fins.Thickness.SI,
		BaseThicknessM: s.BaseThickness.SI, Fins: s.Fins.Count.N, KWmK: s.Conductivity.SI, Emissivity: s.Emissivity.SI,
	}
}

// pinFin returns the geometry of a sink of pins.
func pinFin(s *project.Sink) sink.PinFin {
	return sink.PinFin{
		WidthM: s.Base.Width.SI, LengthM: s.Base.Length.SI, PinHeightM: s.Pins.Height.SI, PinDiameterM: s.Pins.Diameter.SI,
		PitchAcrossM: s.Pins.TransversePitch.SI, PitchAlongM: s.Pins.LongitudinalPitch.SI, BaseThicknessM: s.BaseThickness.SI, Staggered: s.Pins.Staggered.On,
		KWmK: s.Conductivity.SI, Emissivity: s.Emissivity.SI,
	}
}

func (l *Lamp) orientation() sink.Orientation {
	switch l.Design.Sink.Orientation.S {
	case project.FinsDown:
		return sink.FinsDown
	case project.Vertical:
		return sink.Vertical
	case project.FinsAcross:
		return sink.FinsAcross
	}
	return sink.FinsUp
}

// FanShare returns the share of the fan's air that goes between the fins, and whether the design says so.
func (l *Lamp) FanShare() (share float64, stated bool) {
	if v := l.Design.Fan.FinFlowFraction; v.Set {
		return v.SI, true
	}
	return assumedThrough.used, false
}

// fanSpeed returns the fan's speed as a share of the rated one.
func (l *Lamp) fanSpeed() float64 {
	if v := l.Design.Fan.Speed; v.Set {
		return v.SI
	}
	return 1
}

// fanDrive returns the fan, with a share of its air between the fins.
func (l *Lamp) fanDrive(share float64) sink.FanDrive {
	return sink.FanDrive{
		Curve:      sink.FanCurve{FlowM3S: l.Fan.Curve.X, PressurePa: l.Fan.Curve.Y},
		SpeedRatio: l.fanSpeed(), Impinging: l.Design.Fan.Airflow.S != project.ParallelFlow, ChannelShare: share, PowerW: l.Fan.Power.SI,
	}
}

// geometry is a sink that is computed from its shape.
type geometry interface {
	Natural(o sink.Orientation, baseK, airK, surroundK, pressurePa float64) (sink.Cooling, error)
}

// coolGeometry returns the cooling of a sink of fins or pins, from the memory where it stands there.
func (l *Lamp) coolGeometry(airK, pressurePa float64, withFan bool, g geometry) (cooling, error) {
	in := coolInputs{shape: g, orientation: l.orientation(), tiltRad: l.Design.Sink.Tilt.SI, airK: airK, pressurePa: pressurePa}
	if withFan {
		share, stated := l.FanShare()
		in.blown, in.fan, in.shareStated = true, l.fanDrive(share), stated
	}
	if c, ok := l.cools.get(in); ok {
		return c, nil
	}
	c, err := l.sampleGeometry(airK, pressurePa, withFan, g)
	if err == nil {
		c.notes = slices.Clip(c.notes) // others append theirs
		l.cools.put(in, c)
	}
	return c, err
}

// sampleGeometry computes a sink of fins or pins at each of sampleRises.
func (l *Lamp) sampleGeometry(airK, pressurePa float64, withFan bool, g geometry) (cooling, error) {
	tilt := l.Design.Sink.Tilt.SI
	out := cooling{blown: withFan, airK: airK}
	share := 1.0
	if withFan {
		share, _ = l.FanShare()
	}
	var x, y []float64
	for _, rise := range sampleRises {
		var c sink.Cooling
		var p sink.Point
		var err error
		fins, finned := g.(sink.PlateFin)
		pins, _ := g.(sink.PinFin)
		switch {
		case withFan && finned:
			c, p, err = fins.WithFan(l.fanDrive(share), l.orientation(), airK+rise, airK, airK, pressurePa)
		case withFan:
			c, p, err = l.blowPins(pins, share, airK+rise, airK, pressurePa)
		case finned && tilt > 0:
			c, err = fins.NaturalTilted(tilt, airK+rise, airK, airK, pressurePa)
		default:
			c, err = g.Natural(l.orientation(), airK+rise, airK, airK, pressurePa)
		}
		if err != nil {
			return out, fmt.Errorf("cooling of sink %q: %w", l.Sink.ID.S, err)
		}
		if !(c.ConductanceWK > 0) {
			continue // the fan's own heat warms the air above so small a rise
		}
		x, y = append(x, airK+rise), append(y, c.ConductanceWK)
		if rise == 30 {
			out.film, out.fan, out.relUnc, out.method, out.source = c, p, c.RelUncertainty, c.Method, c.Source
			out.notes = append(append([]string(nil), c.Notes...), p.Notes...)
		}
	}
	if len(x) == 0 {
		return out, fmt.Errorf("cooling of sink %q: it sheds no heat", l.Sink.ID.S)
	}
	var err error
	if out.conductanceWK, err = curve.New(x, y); err == nil && withFan {
		out.shares, out.factors, err = l.overShare(airK, out.film.ConductanceWK)
	}
	return out, err
}

// blown returns what the sink sheds at 30 K over the air with a share of the fan's air between its fins [W/K].
func (l *Lamp) blown(share, airK, pressurePa float64) (float64, error) {
	const riseK = 30
	var c sink.Cooling
	var err error
	switch s := l.Sink; {
	case s.Fins != nil:
		c, _, err = plateFin(s).WithFan(l.fanDrive(share), l.orientation(), airK+riseK, airK, airK, pressurePa)
	case s.Pins != nil:
		c, _, err = l.blowPins(pinFin(s), share, airK+riseK, airK, pressurePa)
	default:
		c, err = l.forcedAt(share, airK, pressurePa)
	}
	if err != nil {
		return 0, fmt.Errorf("cooling of sink %q: %w", l.Sink.ID.S, err)
	}
	return c.ConductanceWK, nil
}

// blowPins finds where the fan works on a field of pins, and what they shed there.
func (l *Lamp) blowPins(f sink.PinFin, share, baseK, airK, pressurePa float64) (sink.Cooling, sink.Point, error) {
	air := sink.AirAt((baseK+airK)/2, pressurePa)
	d := l.fanDrive(share)
	p, err := sink.Operate(d.Curve, d.SpeedRatio, func(flow float64) float64 { return f.PressureDrop(flow*d.ChannelShare, air) }, air.RhoKgM3/1.2)
	if err != nil {
		return sink.Cooling{}, p, err
	}
	p.Notes = append(p.Notes, "cross flow over the pins assumed; impingement flow dissipates about the same (rule of thumb, no source)", sink.RecirculationNote)
	c, err := f.Forced(sink.Flow{VolumeM3S: p.FlowM3S, ChannelShare: d.ChannelShare}, baseK, airK, pressurePa)
	return c, p, err
}

// spreadK is a temperature difference with its range [K].
type spreadK struct{ usual, lo, hi float64 }

// airRise returns how much warmer than the room the air at the sink is, for the heat that the lamp gives to it [K].
func (l *Lamp) airRise(heatW, roomK float64) (rise spreadK, notes []string, err error) {
	use := l.Design.Sink
	if use.Hood == nil {
		return spreadK{use.HoodAirRise.SI, use.HoodAirRise.Lo, use.HoodAirRise.Hi}, nil, nil
	}
	h := sink.Canopy{WallM2: use.Hood.WallArea.SI, WallUWm2K: use.Hood.WallUValue.SI, VentM2: use.Hood.VentArea.SI, VentHeightM: use.Hood.VentHeight.SI}
	d, err := h.Air(heatW, roomK, sink.PressureAtAltitude(l.Design.Installation.Altitude.SI))
	if err != nil {
		return rise, nil, fmt.Errorf("air under the hood: %w", err)
	}
	return spreadK{d.RiseK, d.LowRiseK, d.HighRiseK}, append(d.Notes, fmt.Sprintf("hood air is %.0f K above room ambient (%.0f K to %.0f K)", d.RiseK, d.LowRiseK, d.HighRiseK)), nil
}

// coolNaturalCurve reads resistance against power as a conductance against temperature: at the heat P the base stands
// P·R(P) over the air.
func (l *Lamp) coolNaturalCurve(airK, pressurePa float64) (cooling, error) {
	r, err := curve.New(l.Sink.Natural.X, l.Sink.Natural.Y)
	if err != nil {
		return cooling{}, fmt.Errorf("resistance_vs_power of sink %q: %w", l.Sink.ID.S, err)
	}
	lo, hi := r.Range()
	var x, y []float64
	out := cooling{source: "datasheet", airK: airK}
	const points = 24
	for i := range points {
		w := lo + (hi-lo)*float64(i)/(points-1)
		resistance, _ := r.At(w)
		c, err := sink.NaturalFromCurve(r, w, airK+w*resistance, airK, pressurePa)
		if err != nil {
			return out, fmt.Errorf("cooling of sink %q: %w", l.Sink.ID.S, err)
		}
		base := airK + w/c.ConductanceWK
		if len(x) > 0 && base <= x[len(x)-1]+1e-6 {
			continue
		}
		x, y = append(x, base), append(y, c.ConductanceWK)
		out.film, out.relUnc, out.method, out.notes = c, c.RelUncertainty, c.Method, c.Notes
	}
	out.conductanceWK, err = curve.New(x, y)
	return out, err
}

// halfFlow is the share of its free flow that a fan moves through a sink whose pressure loss is not stated: common
// practice, no source.
const halfFlow = 0.5

// freeFlow returns what the fan moves against no pressure [m³/s].
func (l *Lamp) freeFlow() float64 { return l.Fan.Curve.X[len(l.Fan.Curve.X)-1] * l.fanSpeed() }

// forcedAt reads the sink's datasheet at the speed of a share of the fan's air.
func (l *Lamp) forcedAt(share, airK, pressurePa float64) (sink.Cooling, error) {
	r, err := curve.New(l.Sink.Forced.X, l.Sink.Forced.Y)
	if err != nil {
		return sink.Cooling{}, fmt.Errorf("resistance_vs_air_speed of sink %q: %w", l.Sink.ID.S, err)
	}
	frame := l.Fan.Frame.SI
	return sink.ForcedFromCurve(r, l.freeFlow()*halfFlow*share/(frame*frame), airK+30, airK, pressurePa)
}

func (l *Lamp) coolForcedCurve(airK, pressurePa float64) (cooling, error) {
	free := l.freeFlow()
	share, _ := l.FanShare()
	c, err := l.forcedAt(share, airK, pressurePa)
	if err != nil {
		return cooling{}, fmt.Errorf("cooling of sink %q: %w", l.Sink.ID.S, err)
	}
	out := cooling{blown: true, airK: airK, film: c, relUnc: 0.25, method: c.Method, source: c.Source, notes: c.Notes}
	if out.shares, out.factors, err = l.overShare(airK, c.ConductanceWK); err != nil {
		return out, err
	}
	out.fan = sink.Point{FlowM3S: free * halfFlow, PowerRatio: sink.PowerRatio(l.fanSpeed(), 1), NoiseDB: sink.NoiseChangeDB(l.fanSpeed())}
	out.notes = append(out.notes, fmt.Sprintf("pressure drop of heat sink %q not stated; half the free fan flow assumed (rule of thumb, no source)", l.Sink.ID.S), sink.RecirculationNote)
	out.conductanceWK, err = curve.New([]float64{airK}, []float64{c.ConductanceWK})
	return out, err
}
