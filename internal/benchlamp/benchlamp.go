// Package benchlamp predicts the readings of the stated test lamp BL1: a small closed model of a lamp of several
// strings on one board and one heat sink, for campaigns of readings whose answer is known.
//
// In: the lamp, what varies of it and of the meters (Values), what is switched on (Mode), readings with their place.
// Out: predicted readings in their own unit, temperatures [°C], light [lm], heat and mains power [W].
// Assumes: one temperature for the board and one for the heat sink, identical emitters in a string, voltage and flux
// linear in junction temperature. The room is the reference of all nodes.
// Leaves to others: priors, estimation, reading of files. A lamp as built is computed by package engine.
package benchlamp

import (
	"errors"
	"fmt"
	"math"
	"strings"
)

// ErrRunaway is the error of a lamp whose temperature has no steady state.
var ErrRunaway = errors.New("the lamp has no steady temperature")

// Channel is a string of emitters with its driver.
type Channel struct {
	Name            string
	Emitters        float64 // in series
	CurrentA        float64 // while on
	RatedA          float64 // at which voltage and flux are stated
	VoltageV        float64 // of an emitter at RatedA, 25 °C
	SlopeOhm        float64 // of the voltage with current
	VoltageVPerK    float64
	FluxLm          float64 // of an emitter at RatedA, 25 °C
	FluxPerK        float64
	EfficacyLmPerW  float64 // of the radiation
	JunctionKPerW   float64 // junction to solder point
	DielectricKPerW float64 // solder point to board
}

// Lamp is the stated lamp.
type Lamp struct {
	Channels     []Channel
	SinkAirKPerW float64
	StandbyW     float64
	NTCBetaK     float64
	NTCR25Ohm    float64
	BoardJPerK   float64 // heat capacity; 0: the board follows at once
	SinkJPerK    float64
}

// Own are the values of one channel.
type Own struct {
	Flux, Current  float64 // scales
	VoltageV       float64 // offset of an emitter
	WireOhm        float64
	LensAxis       float64 // ratio on the optical axis
	LensEfficiency float64
	Mismatch       float64 // spectral, of the lux meter
}

// Values are what varies of the lamp and of the meters.
type Values struct {
	Channels       []Own
	PasteKPerW     float64
	Dielectric     float64 // scale of the resistance of the dielectric
	Film           float64 // scale of the conductance from heat sink to air
	LuxScale       float64
	Emissivity     float64
	ContactOffsetK float64 // of contact thermometers
	WallEfficiency float64
	BetaScale      float64 // of the thermistor
	R25Scale       float64
	BoardScale     float64 // of the heat capacities
	SinkScale      float64
}

// Nominal returns the values of a lamp of which nothing is stated: scales 1, offsets and wires 0, an efficiency of the
// supply of 0.85.
func (l *Lamp) Nominal() *Values {
	v := &Values{
		Dielectric: 1, Film: 1, LuxScale: 1, Emissivity: 1, WallEfficiency: 0.85, BetaScale: 1, R25Scale: 1,
		BoardScale: 1, SinkScale: 1,
	}
	for range l.Channels {
		v.Channels = append(v.Channels, Own{Flux: 1, Current: 1, LensAxis: 1, LensEfficiency: 1, Mismatch: 1})
	}
	return v
}

// OwnNames and CommonNames are the names of values, of a channel (name.channel) and of the lamp.
func ownSlots(o *Own) map[string]*float64 {
	return map[string]*float64{
		"flux": &o.Flux, "current": &o.Current, "vf": &o.VoltageV, "wire": &o.WireOhm, "lens_axis": &o.LensAxis,
		"lens_efficiency": &o.LensEfficiency, "mismatch": &o.Mismatch,
	}
}

func commonSlots(v *Values) map[string]*float64 {
	return map[string]*float64{
		"paste": &v.PasteKPerW, "dielectric": &v.Dielectric, "film": &v.Film, "lux_scale": &v.LuxScale,
		"emissivity": &v.Emissivity, "tc_offset": &v.ContactOffsetK, "wall_efficiency": &v.WallEfficiency,
		"ntc_B": &v.BetaScale, "ntc_R25": &v.R25Scale, "C_board": &v.BoardScale, "C_sink": &v.SinkScale,
	}
}

// Slot returns the place of a value by its name, such as film or flux.white.
func (l *Lamp) Slot(v *Values, name string) (*float64, error) {
	if to, ok := commonSlots(v)[name]; ok {
		return to, nil
	}
	what, channel, _ := strings.Cut(name, ".")
	if c, err := l.Index(channel); err == nil {
		if to, ok := ownSlots(&v.Channels[c])[what]; ok {
			return to, nil
		}
	}
	return nil, fmt.Errorf("parameter %q is not known; use %s, or %s with a point and the name of a channel (%s)", name,
		keys(commonSlots(v)), keys(ownSlots(&Own{})), l.names())
}

// Index returns the index of a channel by its name.
func (l *Lamp) Index(name string) (int, error) {
	for i, c := range l.Channels {
		if c.Name == name {
			return i, nil
		}
	}
	return 0, fmt.Errorf("channel %q is not known; use %s", name, l.names())
}

func (l *Lamp) names() string {
	var out []string
	for _, c := range l.Channels {
		out = append(out, c.Name)
	}
	return strings.Join(out, ", ")
}

// Mode is a state in which readings are taken.
type Mode struct {
	RoomC float64
	Duty  []float64 // of each driver: fraction of time on
	Off   []bool    // drivers that are switched off; nil: none
}

// off reports whether a driver is switched off.
func (m Mode) off(driver int) bool { return m.Off != nil && m.Off[driver] }

// State is the lamp in a steady state.
type State struct {
	RoomC, SinkC, BoardC float64
	HeatW                float64
	Channels             []ChannelState
	s0, s1               float64 // heat of the emitters: S0 + S1 (T_board − T_room)
	sinkKPerW            float64
}

// ChannelState is a channel in a steady state.
type ChannelState struct {
	Emitters, Duty, CurrentA float64
	SolderC, JunctionC       float64
	VoltageV                 float64 // of an emitter while on
	FluxLm                   float64 // of an emitter while on
	HeatW                    float64 // of an emitter, mean over the PWM period
	a, b, r                  float64 // heat a + b T_j; resistance from board to junction
}

// Solve returns the steady state of a lamp in a mode. With the heat q = a + b T_j of an emitter and A = R_d + R_js:
//
//	Q = S0/(1 − (paste + R_sa) S1),  S0 = Σ n (a + b T_room)/(1 − b A),  S1 = Σ n b/(1 − b A)
//
// Source: exact, linear balance of heat.
func (l *Lamp) Solve(v *Values, m Mode, f Fault) (State, error) {
	s := State{RoomC: m.RoomC, Channels: make([]ChannelState, len(l.Channels)), sinkKPerW: l.SinkAirKPerW / v.Film}
	for i := range l.Channels {
		c, own := &l.Channels[i], &v.Channels[i]
		x := &s.Channels[i]
		driver := 0
		x.Emitters, x.Duty, driver = f.drives(i, c.Emitters, m)
		x.CurrentA = l.Channels[driver].CurrentA * v.Channels[driver].Current
		amp := x.CurrentA
		v0 := c.VoltageV + own.VoltageV + c.SlopeOhm*(amp-c.RatedA)
		f0 := own.Flux * c.FluxLm * amp / c.RatedA
		x.a = x.Duty * (amp*(v0-25*c.VoltageVPerK) - f0*(1-25*c.FluxPerK)/c.EfficacyLmPerW)
		x.b = x.Duty * (amp*c.VoltageVPerK - f0*c.FluxPerK/c.EfficacyLmPerW)
		x.SolderC = v.Dielectric * c.DielectricKPerW // the resistance, until the temperature is known
		x.r = x.SolderC + c.JunctionKPerW
		gain := 1 - x.b*x.r
		if !(gain > 0) {
			return s, ErrRunaway
		}
		s.s0 += x.Emitters * (x.a + x.b*m.RoomC) / gain
		s.s1 += x.Emitters * x.b / gain
	}
	gain := 1 - (v.PasteKPerW+s.sinkKPerW)*s.s1
	if !(gain > 0) {
		return s, ErrRunaway
	}
	s.HeatW = s.s0 / gain
	s.SinkC = m.RoomC + s.sinkKPerW*s.HeatW
	s.BoardC = s.SinkC + v.PasteKPerW*s.HeatW
	for i := range l.Channels {
		c, own, x := &l.Channels[i], &v.Channels[i], &s.Channels[i]
		x.HeatW = (x.a + x.b*s.BoardC) / (1 - x.b*x.r)
		x.SolderC = s.BoardC + x.SolderC*x.HeatW
		x.JunctionC = s.BoardC + x.r*x.HeatW
		x.VoltageV = c.VoltageV + own.VoltageV + c.SlopeOhm*(x.CurrentA-c.RatedA) + c.VoltageVPerK*(x.JunctionC-25)
		x.FluxLm = own.Flux * c.FluxLm * x.CurrentA / c.RatedA * (1 + c.FluxPerK*(x.JunctionC-25))
	}
	return s, nil
}

// FluxLm returns the light behind the lenses, mean over the PWM period [lm].
func (s *State) FluxLm(v *Values) (sum float64) {
	for i, c := range s.Channels {
		sum += c.Emitters * c.Duty * c.FluxLm * v.Channels[i].LensEfficiency
	}
	return sum
}

// JunctionC returns the temperature of the hottest junction of a string that is on, or of the board where none is [°C].
func (s *State) JunctionC() float64 {
	hottest := math.Inf(-1)
	for _, c := range s.Channels {
		hottest = max(hottest, c.JunctionC)
	}
	return hottest
}

// WallW returns the mains power [W].
func (l *Lamp) WallW(v *Values, s *State) float64 {
	sum := 0.0
	for i, c := range s.Channels {
		sum += c.Duty * (c.Emitters*c.CurrentA*c.VoltageV + c.CurrentA*c.CurrentA*v.Channels[i].WireOhm)
	}
	return sum/v.WallEfficiency + l.StandbyW
}

// FigureNames are the names of Figures, in their order.
var FigureNames = []string{"junction_hottest_C", "flux_out_lm", "heat_W", "sink_C", "wall_W"}

// Figures returns junction of the hottest emitter [°C], light [lm], heat [W], heat sink [°C] and mains power [W].
func (l *Lamp) Figures(v *Values, s *State) []float64 {
	return []float64{s.JunctionC(), s.FluxLm(v), s.HeatW, s.SinkC, l.WallW(v, s)}
}
