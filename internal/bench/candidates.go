package bench

import (
	"fmt"
	"slices"

	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// Minutes of work of a reading, once the lamp is in its state; common practice, no source.
const (
	quickMinutes    = 1
	lightMinutes    = 2
	currentMinutes  = 3 // the meter goes into the string
	contactMinutes  = 5 // the bead is glued to the copper
	bareMinutes     = 6 // the lens comes off
	junctionMinutes = 8
	boxMinutes      = 10
)

// planDistanceM is the distance at which light is read on the axis where the design says nothing: the far field of a
// lens begins before it [m].
const planDistanceM = 0.5

// extended returns the model with every reading that could be taken as further items without values, and those.
// Parameters of their instruments follow those of the model.
func (m *Model) extended() (*Model, []candidate, error) {
	out := *m
	out.cache, out.prior, out.rows, out.start, out.silent = nil, nil, nil, nil, nil
	out.Params, out.Items = slices.Clone(m.Params), slices.Clone(m.Items)
	out.conditions = slices.Clone(m.conditions)
	list := m.candidates()
	var factor []Parameter // of a fault: it stays the last parameter
	if last := len(out.Params) - 1; out.Params[last].fault {
		factor, out.Params = []Parameter{out.Params[last]}, out.Params[:last:last]
	}
	campaign := len(m.readings.Campaigns) - 1
	for i := range list {
		if err := out.addReading(max(campaign, 0), &list[i].reading); err != nil {
			return nil, nil, fmt.Errorf("reading %s: %w", list[i].reading.Label, err)
		}
	}
	out.Params = append(out.Params, factor...)
	return &out, list, out.setFresh()
}

// candidates returns the readings that could be taken of the lamp with the instruments of the readings file, or with
// usual ones.
func (m *Model) candidates() (out []candidate) {
	l := m.Sys.Lamp
	full := &project.LampState{Name: source.Text{S: "full", Set: true}}
	add := func(r project.Reading, kind project.InstrumentKind, minutes float64, setting string) {
		r.Dim, r.SpotIndex = r.What.S.Dim(), max(r.SpotIndex, -1)
		r.Label = fmt.Sprintf("next %d", len(out)+1)
		r.Instrument = m.instrument(kind, r.Dim)
		if r.State == nil {
			r.State = full
		}
		out = append(out, candidate{r, minutes, setting})
	}
	for c := range l.Channels {
		m.channelCandidates(c, add)
	}
	of := func(q project.ReadingQuantity, place project.ReadingPlace) project.Reading {
		return project.Reading{What: choice(q), Place: choice(place), ChannelIndex: -1, EmitterIndex: -1, SpotIndex: -1}
	}
	add(of(project.ReadContactTemperature, project.AtHeatSink), project.Thermocouple, quickMinutes,
		"steady; bead under tape on the base, beside the board")
	for i := range m.Sys.Board.Spots {
		r := of(project.ReadInfraredTemperature, project.AtSpot)
		r.SpotIndex = i
		r.SpotName = source.Text{S: m.Sys.Board.Spots[i].Name, Set: true}
		add(r, project.InfraredThermometer, quickMinutes, "steady; emissivity 0.95, below 45° to the face, no "+
			"lens in the spot")
	}
	add(of(project.ReadMainsPower, ""), project.Wattmeter, quickMinutes, "steady, all channels at full day")
	if l.Design.Sensor != nil {
		add(of(project.ReadThermistorResistance, project.AtSensor), project.Multimeter, quickMinutes,
			"steady; sensor unplugged from the controller")
	}
	if l.Fan != nil {
		add(of(project.ReadFanSpeed, ""), project.Tachometer, quickMinutes, "steady")
	}
	return out
}

// channelCandidates adds the readings of one channel.
func (m *Model) channelCandidates(c int, add func(project.Reading, project.InstrumentKind, float64, string)) {
	l := m.Sys.Lamp
	only := &project.LampState{
		Name: source.Text{S: "only " + l.Channels[c].Name, Set: true},
		Levels: []project.StateLevel{{
			Channel: source.Text{S: l.Channels[c].Name, Set: true},
			Level:   source.Value{SI: 1, Set: true},
		}},
	}
	bare := *only
	bare.Name.S += ", no lens"
	bare.Lenses = choice(project.Off)
	of := func(q project.ReadingQuantity) project.Reading {
		return project.Reading{
			What: choice(q), ChannelIndex: c, EmitterIndex: -1, SpotIndex: -1,
			Channel: source.Text{S: l.Channels[c].Name, Set: true},
		}
	}
	add(of(project.ReadStringVoltage), project.Multimeter, quickMinutes, "DC volts at the board, steady")
	add(of(project.ReadDriverVoltage), project.Multimeter, quickMinutes, "DC volts at the driver, steady")
	add(of(project.ReadStringCurrent), project.Multimeter, currentMinutes, "DC amps in series with the string, "+
		"10 A range, steady")
	light := of(project.ReadIlluminance)
	light.State, light.Place = only, choice(project.AtAxis)
	light.Distance = source.Value{SI: planDistanceM, Set: true}
	light.At.X.Set, light.At.Y.Set = true, true
	add(light, project.LuxMeter, lightMinutes, "this channel alone, dark room, diffuser on the axis")
	if l.Optics[l.Emitters[l.Channels[c].Emitters[0]].Optic].Lens != nil {
		light.State = &bare
		add(light, project.LuxMeter, bareMinutes, "this channel alone, lenses off, dark room")
		ratio := of(project.ReadFluxRatio)
		ratio.State = only
		add(ratio, project.LuxMeter, boxMinutes, "white box: reading with lens over reading without, in the "+
			"first second")
	}
	hot := of(project.ReadContactTemperature)
	hot.Place, hot.EmitterIndex = choice(project.AtSolderPoint), l.Channels[c].Emitters[0]
	add(hot, project.Thermocouple, contactMinutes, "bead soldered or glued to the copper beside the thermal "+
		"pad, shaded, steady")
	junction := of(project.ReadJunctionTemperature)
	add(junction, project.Multimeter, junctionMinutes, "string volts within 10 ms of a cold start, and steady")
}

// word is a word of a closed set.
type word interface {
	~string
	source.Enum
}

// choice returns a word of a closed set as a reading states it.
func choice[T word](of T) (out source.Choice[T]) {
	out.S, out.Set = of, of != ""
	return out
}

// instrument returns the first instrument of a kind that displays a dimension, or a usual one.
func (m *Model) instrument(kind project.InstrumentKind, dim quantity.Dim) *project.Instrument {
	for i := range m.readings.Instruments {
		in := &m.readings.Instruments[i]
		if in.Kind.S == kind && (in.Dim == dim || in.Dim == quantity.None) {
			return in
		}
	}
	return &project.Instrument{Name: source.Text{S: string(kind), Set: true}, Kind: choice(kind)}
}
