package engine

import (
	"lampwright/internal/drive"
	"lampwright/internal/lamp"
	"lampwright/internal/wiring"
)

// DriverLoad is a driver with its load.
type DriverLoad struct {
	Topology         drive.Topology
	Line             drive.InputLine
	StandbyW         float64 // input with the light off
	OutputW, OutputA float64 // while the current flows, the wire to the board included
	Duty             float64 // mean over on-state of the output
	Off              bool
	Supply           int     // position of its power supply; -1 for a driver on the mains
	SupplyV          float64 // of that supply
	Switched         bool    // by the mains switch
}

// InputW returns the input power of a driver [W], mean over PWM dimming: that of its mean output; its standby power where
// the light is off.
func (d *DriverLoad) InputW() float64 {
	if d.Off {
		return d.StandbyW
	}
	return d.Topology.InputW(d.Duty*d.OutputW, d.Duty*d.OutputA, d.SupplyV, d.Line)
}

// InputOnW returns the input power of a driver [W] while the current flows; of one that is off, at its set current.
func (d *DriverLoad) InputOnW() float64 {
	return d.Topology.InputW(d.OutputW, d.OutputA, d.SupplyV, d.Line)
}

// SupplyLoad is a power supply with its load beside the drivers.
type SupplyLoad struct {
	Line    drive.InputLine
	Volts   float64
	WireOhm float64 // of both conductors of its wire; 0 for none
	FanW    float64
	// ControllerW is drawn with the light on and off.
	ControllerW float64
	Switched    bool // by the mains switch
}

// MainsPower follows the power from the outputs of the drivers back to the mains. Supplies stay connected when the light
// is off.
func MainsPower(drivers []DriverLoad, supplies []SupplyLoad) (MainsSolution, []SupplySolution) {
	var mains MainsSolution
	out := make([]SupplySolution, len(supplies))
	litW := make([]float64, len(supplies)) // peak loads without the channels that are off
	offW := make([]float64, len(supplies)) // loads with every light off
	for i := range drivers {
		d := &drivers[i]
		inputW := d.InputW()
		if d.Supply < 0 {
			mains.add(inputW, d.Switched)
			mains.StandbyW += d.StandbyW
			continue
		}
		offW[d.Supply] += d.StandbyW
		onW := d.InputOnW()
		out[d.Supply].LoadW += inputW
		out[d.Supply].PeakW += onW
		if !d.Off {
			litW[d.Supply] += onW
		}
	}
	for j := range supplies {
		s, x := &supplies[j], &out[j]
		beside := s.FanW + s.ControllerW
		x.LoadW += beside
		x.PeakW += beside
		x.addWire(s, litW[j]+beside)
		mains.add(s.Line.InputW(x.LoadW), s.Switched)
		mains.StandbyW += s.Line.InputW(offW[j] + s.ControllerW)
	}
	return mains, out
}

func (m *MainsSolution) add(inputW float64, switched bool) {
	m.PowerW += inputW
	if switched {
		m.SwitchedW += inputW
	}
}

// addWire adds the loss in the wire of a supply: its drop at the peak load, the load with litW on. Drivers and fan draw
// constant power, so that the current grows as the voltage falls.
func (x *SupplySolution) addWire(s *SupplyLoad, litW float64) {
	if s.WireOhm == 0 {
		return
	}
	if litW > 0 { // a channel that is off draws no current
		dropV, possible := wiring.DropAtPower(s.Volts, litW, s.WireOhm)
		if x.RequiredW = litW; !possible {
			x.DeliverableW = wiring.MaxPowerW(s.Volts, s.WireOhm)
		}
		x.LoadW *= s.Volts / (s.Volts - dropV)
	}
	peakV, _ := wiring.DropAtPower(s.Volts, x.PeakW, s.WireOhm) // half of the voltage where the peak is impossible
	x.WireDropV = peakV
	x.PeakW *= s.Volts / (s.Volts - x.WireDropV)
}

// solvePower computes the electrical power from the emitters back to the mains.
func (s *System) solvePower(out *Solution) {
	l := s.Lamp
	switched := map[string]bool{}
	for _, o := range l.Switched() {
		switched[o.Name] = true
	}
	drivers := make([]DriverLoad, len(l.Channels))
	for i := range l.Channels {
		d, c := &drivers[i], &out.Channels[i]
		*d = s.driverLoad(out, i)
		d.Switched = switched[l.Channels[i].Name]
		c.InputW, c.InputOnW = d.InputW(), d.InputOnW()
	}
	supplies := s.supplyLoads(out.Params)
	for j := range supplies {
		supplies[j].Switched = switched[l.Design.Supplies[j].Part.S]
	}
	out.Mains, out.Supplies = MainsPower(drivers, supplies)
	s.addUnsupplied(&out.Mains)
}

// addUnsupplied adds fan and controller to the mains where the lamp has no supply.
func (s *System) addUnsupplied(m *MainsSolution) {
	if len(s.Lamp.Design.Supplies) > 0 {
		return
	}
	m.PowerW += s.FanW()
	if c := s.Lamp.Controller; c != nil {
		m.PowerW += c.Part.Power.SI
		m.StandbyW += c.Part.Power.SI
	}
}

// supplyLoads returns the supplies of the lamp with their loads beside the drivers.
func (s *System) supplyLoads(p lamp.Params) []SupplyLoad {
	l := s.Lamp
	supplies := make([]SupplyLoad, len(l.Design.Supplies))
	fanAt, fanOnSupply := l.Design.FanSupply()
	for j := range supplies {
		supplies[j] = SupplyLoad{
			Line: supplyLine(l, p, j), Volts: supplyPart(l, j).Voltage.SI, WireOhm: s.SupplyWireOhm(j),
		}
		if fanOnSupply && fanAt == j {
			supplies[j].FanW = s.FanW()
		}
		if c := l.Controller; c != nil && c.Supply == j {
			supplies[j].ControllerW = c.Part.Power.SI
		}
	}
	return supplies
}

// driverLoad returns the load of a channel's driver, and computes its current, voltage and wire.
func (s *System) driverLoad(out *Solution, channel int) DriverLoad {
	l, p := s.Lamp, out.Params
	ch, c := &l.Channels[channel], &out.Channels[channel]
	typical := out.Cases[Typical]
	d, string := loadOf(l, p, channel, &typical)
	c.CurrentA, c.VoltageV, c.WireDropV = string.amps, string.volts, string.dropV
	var loV, hiV float64
	if ch.Supply >= 0 {
		from := supplyPart(l, ch.Supply).Voltage
		loV, hiV = from.Lo, from.Hi
	}
	_, most := l.LimitsOf(ch.Param.CurrentTolerance)
	maxA := d.Duty * ch.StringA() * p[ch.Param.Current] * most * float64(ch.Strings)
	heatW, _ := d.Topology.WorstHeatW(drive.Window{LoV: c.VoltageMinV}, maxA, loV, d.SupplyV, hiV)
	c.DriverHeatW = heatW
	return d
}

// stringLoad is the current of one string, its voltage and the drop of its wire, while the current flows.
type stringLoad struct{ amps, volts, dropV float64 }

// loadOf returns the load of a channel's driver in a state.
func loadOf(l *lamp.Lamp, p lamp.Params, channel int, st *State) (DriverLoad, stringLoad) {
	ch := &l.Channels[channel]
	x := stringLoad{amps: stringCurrentA(l, p, channel)}
	electricalW := 0.0
	for _, e := range ch.Emitters {
		x.volts += st.States[e].VoltageV
		electricalW += st.States[e].ElectricalW
	}
	x.volts /= float64(ch.Strings)
	amps := x.amps * float64(ch.Strings)
	if ch.Wire != nil {
		x.dropV = channelWireDrop(ch, p, amps, st.Sink.BaseK)
	}
	d := DriverLoad{
		Topology: ch.Driver.Topology(), Line: driverLine(ch, p), StandbyW: p[ch.Param.NoLoad],
		OutputW: electricalW + x.dropV*amps, OutputA: amps, Duty: ch.Duty(), Off: ch.Off(), Supply: ch.Supply,
	}
	if ch.Driver.StandbyPower.Set {
		d.StandbyW = ch.Driver.StandbyPower.SI
	}
	if ch.Supply >= 0 {
		d.SupplyV = supplyPart(l, ch.Supply).Voltage.SI
	}
	return d, x
}

// fullLoad is the load of an efficiency that is stated near full load.
var fullLoad = []float64{1}

// driverLine returns the input power of a channel's driver against its output.
func driverLine(ch *lamp.Channel, p lamp.Params) drive.InputLine {
	curve := &ch.Driver.EfficiencyCurve
	line := drive.InputLine{
		NoLoadW: p[ch.Param.NoLoad], FullW: ch.Driver.FullW(), Load: curve.X, Efficiency: curve.Y,
	}
	if at := ch.Param.DriverEfficiency; p[at] > 0 {
		line.Load, line.Efficiency = fullLoad, p[at:at+1]
	}
	return line
}

// supplyLine returns the input power of a supply against its load.
func supplyLine(l *lamp.Lamp, p lamp.Params, j int) drive.InputLine {
	part := supplyPart(l, j)
	line := drive.InputLine{
		NoLoadW: p[l.Param.SupplyNoLoad[j]], FullW: part.Power.SI, Load: part.Efficiency.X, Efficiency: part.Efficiency.Y,
	}
	switch at := l.Param.Supply[j]; {
	case p[at] > 0:
		line.Load, line.Efficiency = fullLoad, p[at:at+1]
	case !part.Efficiency.Set:
		line.Load, line.Efficiency = fullLoad, []float64{lamp.AssumedSupply.Used}
	}
	return line
}
