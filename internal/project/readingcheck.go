package project

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// reading checks one reading and fills in what its texts mean.
func (c *readingsChecker) reading(all *Readings, g *Campaign, r *Reading) {
	rule := readingRules[r.What.S]
	r.Dim = rule.dim
	r.Value = c.quantity(r.ValueText, rule.dim)
	r.Uncertainty = c.quantity(r.UncertaintyText, c.uncertaintyDim(r))
	if r.Uncertainty.Set && r.Uncertainty.SI <= 0 {
		c.add(r.Uncertainty.At, "leave it out to use that of the instrument", "an uncertainty is above zero")
	}
	c.meter(all, r, &rule)
	c.readingPlace(r, &rule)
	c.readingChannel(r, &rule)
	c.readingEmitter(r)
	c.readingSpot(r)
	c.furtherKeys(r, &rule)
	c.series(r, &rule)
	c.oneValue(r)
	if r.Value.Set {
		c.inRange(r, r.Value)
		c.usual(r, &rule, r.Value)
	}
	c.partOfLamp(r)
	c.repeated(g, r)
	if r.Pending() && !r.ValueText.Given() && !r.ColdVoltage.Given() && !r.SteadyVoltage.Given() {
		c.pending = append(c.pending, r)
	}
}

// uncertaintyDim returns the dimension of the uncertainty of a reading: of a junction temperature by voltages, that of
// the voltages.
func (c *readingsChecker) uncertaintyDim(r *Reading) quantity.Dim {
	if r.ColdVoltage.Given() || r.SteadyVoltage.Given() {
		return quantity.Voltage
	}
	return deltaOf(r.Dim)
}

// meter finds the instrument of a reading.
func (c *readingsChecker) meter(all *Readings, r *Reading, rule *readingRule) {
	name := r.InstrumentName
	if !name.Given() {
		if !r.UncertaintyText.Given() {
			c.add(r.Pos, "add instrument, the name of one under instruments, or uncertainty",
				"reading %s states neither instrument nor uncertainty", r.Label)
		}
		return
	}
	var names []string
	for i := range all.Instruments {
		m := &all.Instruments[i]
		if m.Name.Set && m.Name.S == name.S && r.Instrument == nil {
			r.Instrument = m
		}
		names = append(names, m.Name.S)
	}
	m := r.Instrument
	switch {
	case m == nil:
		if name.Set {
			c.add(name.At, among(name.S, names), "there is no instrument %q", name.S)
		}
	case !m.Kind.Set:
	case !slices.Contains(rule.meters, m.Kind.S):
		c.add(name.At, "use an instrument of the kind "+orList(rule.meters),
			"%q is of the kind %s, which does not measure %s", name.S, m.Kind.S, r.What.S)
	case c.faulty[m]:
	case m.Kind.S == Multimeter && m.Dim != quantity.None && m.Dim != r.meterDim():
		c.add(name.At, "give each range of a multimeter an instrument of its own",
			"the ranges of %q are of %s; this reading is %s", name.S, m.Dim.Name(), r.meterDim().Article())
	}
}

// meterDim returns the dimension that the instrument displays for a reading.
func (r *Reading) meterDim() quantity.Dim {
	if r.What.S == ReadJunctionTemperature {
		return quantity.Voltage
	}
	return r.Dim
}

// orList joins words with commas and "or".
func orList[T ~string](list []T) string {
	names := words(list...)
	if n := len(names); n > 1 {
		return strings.Join(names[:n-1], ", ") + " or " + names[n-1]
	}
	return strings.Join(names, "")
}

// readingPlace checks the place of a reading, and the keys that describe it.
func (c *readingsChecker) readingPlace(r *Reading, rule *readingRule) {
	switch {
	case r.Place.Set && len(rule.places) == 0:
		c.add(r.Place.At, "leave it out", "%s has no place", r.What.S)
		return
	case r.Place.Set && !slices.Contains(rule.places, r.Place.S):
		c.add(r.Place.At, "use "+orList(rule.places), "%s is not measured at the place %q", r.What.S, r.Place.S)
		return
	case !r.Place.Set && len(rule.places) > 1 && r.Place.At.Line == 0:
		c.add(r.Pos, "add place: "+orList(rule.places), "reading %s of %s states no place", r.Label, r.What.S)
		return
	}
	c.placeKeys(r, rule)
	d := &c.project.Design
	x, y, ok := place2(r.At)
	switch {
	case !ok:
	case r.Place.S == AtBoard && d.Board.Complete() && !d.Board.HoldsDisc(x, y, 0):
		c.add(r.At.At, "at is in the coordinates of the board", "(%.4g, %.4g) mm does not lie on the board", 1e3*x,
			1e3*y)
	case r.Place.S == AtSurface || r.Place.S == AtTarget:
		c.inside(r.At)
	}
	if r.Place.S == AtSurface && d.Installation.Water.SI <= 0 {
		c.add(r.Place.At, "use target", "the place has no water, and no surface")
	}
	if r.Place.S == AtSensor && d.Sensor == nil {
		c.add(r.Place.At, "add sensor to the design", "the design has no sensor")
	}
}

// placeKeys checks which of distance, at and angle belong to the place.
func (c *readingsChecker) placeKeys(r *Reading, rule *readingRule) {
	if !r.Place.Set {
		return
	}
	grid := slices.ContainsFunc(r.Series, func(p SeriesPoint) bool { return p.At.At.Line > 0 })
	for _, k := range []struct {
		key   string
		given bool
		at    source.Pos
		need  []ReadingPlace
		may   []ReadingPlace
	}{
		{"distance", r.Distance.Given(), r.Distance.At, []ReadingPlace{AtAxis}, nil},
		{"at", r.At.At.Line > 0 || grid, r.At.At, []ReadingPlace{AtSurface, AtTarget, AtBoard}, []ReadingPlace{AtAxis}},
		{"angle", r.Angle.Given(), r.Angle.At, nil, []ReadingPlace{AtAxis}},
		{"emitter", r.EmitterLabel.Given(), r.EmitterLabel.At, []ReadingPlace{AtSolderPoint}, nil},
		{"spot", r.SpotName.Given(), r.SpotName.At, []ReadingPlace{AtSpot}, nil},
	} {
		needed := slices.Contains(k.need, r.Place.S)
		switch {
		case needed && !k.given:
			c.add(r.Place.At, "add "+k.key+": "+placeExample[k.key], "a reading at the place %q states its %s",
				r.Place.S, k.key)
		case !slices.Contains(rule.keys, k.key): // furtherKeys reports it
		case k.given && !needed && !slices.Contains(k.may, r.Place.S) && k.at.Line > 0:
			c.add(k.at, "leave it out", "%s does not belong to a reading at the place %q", k.key, r.Place.S)
		}
	}
}

// placeExample is an example of each key that describes a place.
var placeExample = map[string]string{
	"distance": "500 mm", "at": "[0 mm, 0 mm]", "emitter": "the label of an emitter", "spot": "the name of a spot",
}

// place2 returns the coordinates of a point [m]; false where it is not given or not readable.
func place2(p source.Point) (x, y float64, ok bool) {
	return p.X.SI, p.Y.SI, p.X.Set && p.Y.Set
}

// inside complains of a point of the surface or target that lies outside the place.
func (c *readingsChecker) inside(p source.Point) {
	x, y, ok := place2(p)
	in := &c.project.Design.Installation.Inside
	if ok && (math.Abs(x) > in.Length.SI/2+1e-9 || math.Abs(y) > in.Width.SI/2+1e-9) {
		c.add(p.At, fmt.Sprintf("at counts from the centre: x within ±%.4g mm, y within ±%.4g mm", 500*in.Length.SI,
			500*in.Width.SI), "(%.4g, %.4g) mm lies outside the place", 1e3*x, 1e3*y)
	}
}

// readingChannel finds the channel of a reading.
func (c *readingsChecker) readingChannel(r *Reading, rule *readingRule) {
	d := &c.project.Design
	name := r.Channel
	switch {
	case name.Given() && rule.channel == absent:
		c.add(name.At, "leave it out", "%s is not of one channel", r.What.S)
		return
	case !name.Given():
		c.missingChannel(r, rule)
		return
	}
	c.dayChannel(d, name)
	for i := range d.Channels {
		if name.Set && d.Channels[i].Name.S == name.S {
			r.ChannelIndex = i
		}
	}
	if r.ChannelIndex < 0 || c.faulty[r.State] {
		return
	}
	lit := c.lit(r.State)
	own := slices.Contains(lit, r.ChannelIndex)
	switch {
	case r.What.S == ReadFluxRatio || r.What.S == ReadSupplyVoltage:
	case !own && r.State.Origin.S != FromSwitchOff:
		c.add(name.At, "name a state in which it is on", "channel %q is off in the state %q", name.S, r.State.Name.S)
	case rule.light() && len(lit) > 1:
		c.add(name.At, "leave channel out, or name a state that lights this channel alone",
			"the state %q lights %d channels, and the meter sees all of them", r.State.Name.S, len(lit))
	}
}

// missingChannel complains of a reading that must name its channel; a design with one channel needs no name.
func (c *readingsChecker) missingChannel(r *Reading, rule *readingRule) {
	d := &c.project.Design
	need := rule.channel == required && !r.EmitterLabel.Given() ||
		r.What.S == ReadSupplyVoltage && len(d.Supplies) > 1
	switch {
	case !need:
	case len(d.Channels) == 1:
		r.ChannelIndex = 0
	default:
		c.add(r.Pos, "add channel: "+d.Channels[0].Name.S, "reading %s of %s names no channel", r.Label, r.What.S)
	}
}

// lit returns the indices of the channels that a state lights.
func (c *readingsChecker) lit(s *LampState) (out []int) {
	for i := range c.project.Design.Channels {
		if s.LevelOf(&c.project.Design.Channels[i]) > 0 {
			out = append(out, i)
		}
	}
	return out
}

// readingEmitter finds the emitter of a reading.
func (c *readingsChecker) readingEmitter(r *Reading) {
	name := r.EmitterLabel
	if !name.Set {
		return
	}
	r.EmitterIndex = slices.IndexFunc(c.emitters, func(e emitterPlace) bool { return e.label == name.S })
	if r.EmitterIndex < 0 {
		var labels []string
		for _, e := range c.emitters {
			labels = append(labels, e.label)
		}
		c.add(name.At, among(name.S, labels), "there is no emitter %q", name.S)
		return
	}
	channel := c.emitters[r.EmitterIndex].channel
	if r.ChannelIndex >= 0 && r.ChannelIndex != channel {
		c.add(name.At, "leave channel out", "emitter %q is not of channel %q", name.S, r.Channel.S)
	}
	r.ChannelIndex = channel
}

// readingSpot finds the infrared spot of a reading.
func (c *readingsChecker) readingSpot(r *Reading) {
	name := r.SpotName
	spots := c.project.Design.InfraredSpots
	if !name.Set || len(spots) == 0 && name.S == DefaultSpotName {
		return
	}
	names := []string{DefaultSpotName}
	if len(spots) > 0 {
		names = nil
	}
	for i := range spots {
		if spots[i].Name.S == name.S {
			r.SpotIndex = i
		}
		names = append(names, spots[i].Name.S)
	}
	if r.SpotIndex < 0 {
		c.add(name.At, among(name.S, names), "there is no infrared spot %q", name.S)
	}
}

// furtherKeys complains of keys that do not belong to the quantity.
func (c *readingsChecker) furtherKeys(r *Reading, rule *readingRule) {
	for _, k := range []struct {
		key   string
		given bool
		at    source.Pos
	}{
		{"distance", r.Distance.Given(), r.Distance.At},
		{"at", r.At.At.Line > 0, r.At.At},
		{"angle", r.Angle.Given(), r.Angle.At},
		{"emitter", r.EmitterLabel.Given(), r.EmitterLabel.At},
		{"spot", r.SpotName.Given(), r.SpotName.At},
		{"meter_mode", r.MeterMode.Set, r.MeterMode.At},
		{"emissivity_set", r.EmissivitySet.Given(), r.EmissivitySet.At},
		{"emissivity", r.Emissivity.Given(), r.Emissivity.At},
		{"reflected_temperature", r.ReflectedTemperature.Given(), r.ReflectedTemperature.At},
		{"cold_voltage", r.ColdVoltage.Given(), r.ColdVoltage.At},
		{"steady_voltage", r.SteadyVoltage.Given(), r.SteadyVoltage.At},
	} {
		if k.given && !slices.Contains(rule.keys, k.key) {
			c.add(k.at, "leave it out", "%s does not belong to a reading of %s", k.key, r.What.S)
		}
	}
}

// partOfLamp complains of readings of parts that the design does not have.
func (c *readingsChecker) partOfLamp(r *Reading) {
	d := &c.project.Design
	switch {
	case r.What.S == ReadFanSpeed && d.Fan == nil:
		c.add(r.What.At, "add fan to the design", "the design has no fan")
	case r.What.S == ReadThermistorResistance && d.Sensor == nil && !r.Place.Set:
		c.add(r.What.At, "add sensor to the design", "the design has no sensor")
	case r.What.S == ReadSupplyVoltage && len(d.Supplies) == 0:
		c.add(r.What.At, "the drivers are fed from the mains", "the design has no supply")
	}
}
