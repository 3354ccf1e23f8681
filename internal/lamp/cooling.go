package lamp

import (
	"math"

	"lampwright/internal/project"
	"lampwright/internal/sink"
)

// Housing returns the housing as package sink defines it.
func (l *Lamp) Housing() sink.Housing {
	h := l.Design.Housing
	out := sink.Housing{
		Face: sink.FaceVertical, AreaM2: h.Area.SI, HeightM: h.Height.SI, PerimeterM: h.Perimeter.SI,
		Emissivity: h.Emissivity.SI, JointKW: h.JointKW(),
	}
	switch h.Faces.S {
	case project.FacesUp:
		out.Face = sink.FaceUp
	case project.FacesDown:
		out.Face = sink.FaceDown
	}
	return out
}

// PlateFin returns the geometry of the lamp's sink.
func PlateFin(s *project.Sink) sink.PlateFin {
	return sink.PlateFin{
		WidthM: s.Base.Width.SI, LengthM: s.Base.Length.SI, FinHeightM: s.Fins.Height.SI,
		FinThicknessM:  s.Fins.Thickness.SI,
		BaseThicknessM: s.BaseThickness.SI, Fins: s.Fins.Count.N, KWmK: s.Conductivity.SI, Emissivity: s.Emissivity.SI,
	}
}

// PinFin returns the geometry of a sink of pins.
func PinFin(s *project.Sink) sink.PinFin {
	return sink.PinFin{
		WidthM: s.Base.Width.SI, LengthM: s.Base.Length.SI, PinHeightM: s.Pins.Height.SI,
		PinDiameterM: s.Pins.Diameter.SI,
		PitchAcrossM: s.Pins.TransversePitch.SI, PitchAlongM: s.Pins.LongitudinalPitch.SI,
		BaseThicknessM: s.BaseThickness.SI, Staggered: s.Pins.Staggered.On,
		KWmK: s.Conductivity.SI, Emissivity: s.Emissivity.SI,
	}
}

// Orientation returns how the fins are oriented.
func (l *Lamp) Orientation() sink.Orientation {
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

// SinkTilt returns how far an upright sink leans from upright, or how a lying one hangs askew: a tilted lamp tilts its
// sink. Fins run along the length of the base.
func (l *Lamp) SinkTilt() (fromUprightRad float64, askew sink.Tilt) {
	tilt, azimuth := l.Design.Installation.TiltRad()
	switch l.Orientation() {
	case sink.FinsUp, sink.FinsDown:
		along := math.Cos(azimuth)
		return 0, sink.Tilt{FromLevelRad: tilt, AlongFins: along * along}
	case sink.Vertical:
		if own := l.Design.Sink.Tilt; own.Set {
			return own.SI, sink.Tilt{}
		}
		return tilt, sink.Tilt{}
	}
	return 0, sink.Tilt{} // fins across the air: no model of their tilt
}

// FlowFraction returns the fraction of the fan's flow between the fins, and whether the design states it.
func (l *Lamp) FlowFraction() (share float64, stated bool) {
	if v := l.Design.Fan.FinFlowFraction; v.Set {
		return v.SI, true
	}
	return AssumedFlowFraction.Used, false
}

// FanSpeed returns the fan speed relative to the rated one [1].
func (l *Lamp) FanSpeed() float64 {
	if v := l.Design.Fan.Speed; v.Set {
		return v.SI
	}
	return 1
}

// FanDrive returns the fan with a fraction of its flow between the fins.
func (l *Lamp) FanDrive(share float64) sink.FanDrive {
	return sink.FanDrive{
		Curve:      sink.FanCurve{FlowM3S: l.Fan.Curve.X, PressurePa: l.Fan.Curve.Y},
		SpeedRatio: l.FanSpeed(), Impinging: l.Design.Fan.Airflow.S != project.ParallelFlow, ChannelShare: share,
		PowerW: l.Fan.Power.SI,
	}
}

// FreeFlow returns the flow rate of the fan at zero pressure [m³/s].
func (l *Lamp) FreeFlow() float64 { return l.Fan.Curve.X[len(l.Fan.Curve.X)-1] * l.FanSpeed() }

const (
	insideSurfaceM2KW = 0.13 // of an upright face in a room, convection and radiation: ISO6946, cited from memory
	glassWmK          = 1.0  // ISO10456, cited from memory
)

// OpenWater returns the water under the hood of the lamp, without the heat of the light; false where no hood is over
// open water: there is none of them, or a cover glass keeps the vapour in the tank. Heat passes to the room through the
// wet panes:
//
//	UA = 2 (L + W) d_water/(R_si + d_glass/k)
//
// Source: ISO6946.
func (l *Lamp) OpenWater() (w sink.OpenWater, ok bool) {
	p := &l.Design.Installation
	if l.Design.Sink.Hood == nil || l.WaterM() == 0 || p.Cover != nil {
		return w, false
	}
	length, width := p.Inside.Length.SI, p.Inside.Width.SI
	w = sink.OpenWater{AreaM2: length * width, HeldWaterK: p.WaterTemperature.SI, RoomRH: p.Ambient.Humidity.SI}
	w.TankWK = 2 * (length + width) * p.Water.SI / (insideSurfaceM2KW + p.Glass.SI/glassWmK)
	return w, true
}

// Hood returns the hood as package sink defines it; the design has one.
func (l *Lamp) Hood() sink.Hood {
	h := l.Design.Sink.Hood
	return sink.Hood{
		WallM2: h.WallArea.SI, WallUWm2K: h.WallUValue.SI, VentM2: h.VentArea.SI, VentHeightM: h.VentHeight.SI,
		ExchangeM3S: h.AirExchange.SI,
	}
}
