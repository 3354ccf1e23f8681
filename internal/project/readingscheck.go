package project

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// DefaultSpotName is the name of the infrared spot of a design that states none.
const DefaultSpotName = "hottest"

// FullState is the name of the state that every campaign has: the levels of full day, steady.
const FullState = "full"

// readingsChecker fills the fields of Readings that have no key, and collects what is impossible in the file or
// doubtful. It looks only at values that could be read.
type readingsChecker struct {
	checker
	file     *source.File
	project  *Project
	problems source.Problems
	doubts   source.Problems
	emitters []emitterPlace
	count    int // of readings
	ids      map[string]bool
	seen     map[string]string // label of the reading, by all that it states
	pending  []*Reading
	// faulty contains instruments and states with problems of their own: readings that name them have no others of it.
	faulty map[any]bool
}

// emitterPlace is an emitter of the design by its label, with the index of its channel.
type emitterPlace struct {
	label   string
	channel int
}

func newReadingsChecker(file *source.File, p *Project) *readingsChecker {
	c := &readingsChecker{
		checker: checker{library: p.Library}, file: file, project: p, ids: map[string]bool{}, seen: map[string]string{},
		faulty: map[any]bool{},
	}
	for i := range p.Design.Channels {
		ch := &p.Design.Channels[i]
		for j := range ch.Emitters {
			for k := range ch.Emitters[j].At {
				c.emitters = append(c.emitters, emitterPlace{ch.Label(j, k), i})
			}
		}
	}
	return c
}

// complaints returns the number of problems so far.
func (c *readingsChecker) complaints() int { return len(c.found) + len(c.problems) }

// doubt records what can be read and was perhaps not meant.
func (c *readingsChecker) doubt(at source.Pos, hint, format string, args ...any) {
	if len(c.doubts) < source.MaxProblems {
		c.doubts = append(c.doubts, problem(c.file, complaint{at, fmt.Sprintf(format, args...), hint}))
	}
}

// quantity reads a text as a value without a tolerance.
func (c *readingsChecker) quantity(t source.Text, dim quantity.Dim) source.Value {
	v, problems, doubts := c.file.ValueOf(t, dim)
	c.problems = append(c.problems, problems...)
	c.doubts = append(c.doubts, doubts...)
	return c.plain(v)
}

// plain complains of a tolerance, which a reading does not have.
func (c *readingsChecker) plain(v source.Value) source.Value {
	if v.Set && v.Lo != v.Hi {
		c.add(v.At, "write the value alone, and its standard uncertainty under uncertainty",
			"%q has a tolerance, which may be a limit or an uncertainty", v.Text)
		v.Set = false
	}
	return v
}

func (c *readingsChecker) readings(r *Readings) {
	names := map[string]bool{}
	for i := range r.Instruments {
		c.distinct(names, r.Instruments[i].Name, "instrument", "give each instrument its own name")
		before := c.complaints()
		c.instrument(&r.Instruments[i])
		c.faulty[&r.Instruments[i]] = c.complaints() > before
	}
	names = map[string]bool{}
	for i := range r.Campaigns {
		c.distinct(names, r.Campaigns[i].Name, "campaign", "give each campaign its own name")
		c.campaign(r, i)
	}
	c.order(r.Campaigns)
	if c.count > MaxReadings {
		c.add(source.Pos{File: c.file.Name()}, "move old campaigns into another file",
			"the file contains %d readings; at most %d are read", c.count, MaxReadings)
	}
	c.stillToMake()
}

// stillToMake doubts readings without a value, all in one line.
func (c *readingsChecker) stillToMake() {
	if len(c.pending) == 0 {
		return
	}
	const shown = 8
	var names []string
	for _, r := range c.pending[:min(len(c.pending), shown)] {
		names = append(names, r.Label)
	}
	list := strings.Join(names, ", ")
	if more := len(c.pending) - shown; more > 0 {
		list += fmt.Sprintf(" and %d more", more)
	}
	c.doubt(c.pending[0].Pos, "add value, with its unit", "no value yet: %s", list)
}

// order doubts campaigns whose operating time falls from one date to the next.
func (c *readingsChecker) order(list []Campaign) {
	var dated []*Campaign
	for i := range list {
		if isDate(list[i].Date.S) {
			dated = append(dated, &list[i])
		}
	}
	slices.SortStableFunc(dated, func(a, b *Campaign) int { return cmp.Compare(a.Date.S, b.Date.S) })
	for i := 1; i < len(dated); i++ {
		a, b := dated[i-1], dated[i]
		if b.OperatingTime.SI < a.OperatingTime.SI*(1-1e-9) {
			at := b.OperatingTime.At
			if !b.OperatingTime.Set {
				at = b.Date.At
			}
			c.doubt(at, "operating_time counts from the first switch-on of the lamp",
				"operating time of campaign %q, %s, is less than that of the earlier campaign %q, %s", b.Name.S,
				quantity.Format(b.OperatingTime.SI, quantity.Time), a.Name.S,
				quantity.Format(a.OperatingTime.SI, quantity.Time))
		}
	}
}

// instrument reads what depends on the kind of the instrument.
func (c *readingsChecker) instrument(m *Instrument) {
	if !m.Kind.Set {
		return
	}
	m.Dim = c.displayOf(m)
	read := func(t source.Text, dim quantity.Dim) source.Value {
		if m.Dim == quantity.None {
			return source.Value{}
		}
		return c.quantity(t, dim)
	}
	m.Offset = read(m.OffsetText, deltaOf(m.Dim))
	m.Resolution = read(m.ResolutionText, deltaOf(m.Dim))
	m.CorrectionOffset = read(m.CorrectionText, deltaOf(m.Dim))
	if x := m.Range; x != nil {
		x.Min, x.Max = read(x.MinText, m.Dim), read(x.MaxText, m.Dim)
		if x.Min.Set && x.Max.Set && x.Max.SI <= x.Min.SI {
			c.add(x.Max.At, "", "the upper end of the range, %s, is not above the lower end, %s", x.Max.Text,
				x.Min.Text)
		}
	}
	for _, v := range []source.Value{m.Offset, m.Resolution} {
		if v.Set && v.SI < 0 {
			c.add(v.At, "leave out the sign", "%q is below zero", v.Text)
		}
	}
	if m.AccuracyDigits.N > 0 && !m.ResolutionText.Given() {
		c.add(m.AccuracyDigits.At, "add resolution, the step of the display",
			"digits of a display without a resolution")
	}
	c.instrumentKeys(m)
}

// displayOf returns the dimension of an instrument's display. That of a multimeter is the one of the units that it
// states.
func (c *readingsChecker) displayOf(m *Instrument) quantity.Dim {
	dims := m.Kind.S.Dims()
	if len(dims) == 1 {
		return dims[0]
	}
	texts := []source.Text{m.ResolutionText, m.OffsetText, m.CorrectionText}
	if m.Range != nil {
		texts = append([]source.Text{m.Range.MaxText, m.Range.MinText}, texts...)
	}
	for _, t := range texts {
		if !t.Set {
			continue
		}
		for _, d := range dims {
			if _, err := quantity.Parse(t.S, d); err == nil {
				return d
			}
		}
		c.quantity(t, dims[0]) // reports it
		return quantity.None
	}
	return quantity.None
}

// instrumentKeys complains of keys that an instrument of its kind does not have.
func (c *readingsChecker) instrumentKeys(m *Instrument) {
	kind := m.Kind.S
	for _, k := range []struct {
		key   string
		given bool
		at    source.Pos
		of    []InstrumentKind
	}{
		{"class", m.Class.Set, m.Class.At, []InstrumentKind{LuxMeter}},
		{"immersion_factor", m.Immersion.Set, m.Immersion.At, []InstrumentKind{LuxMeter, QuantumSensor}},
		{"burden", m.Burden.Set, m.Burden.At, []InstrumentKind{Multimeter}},
	} {
		if k.given && !slices.Contains(k.of, kind) {
			c.add(k.at, "leave it out", "%s is not a property of the kind %s", k.key, kind)
		}
	}
	if m.Burden.Set && m.Dim != quantity.Current && m.Dim != quantity.None {
		c.add(m.Burden.At, "give the range of current an instrument of its own",
			"burden is of a multimeter that measures current; the ranges of %q are of %s", m.Name.S, m.Dim.Name())
	}
	if m.Correction.Set && m.Dim == quantity.Temperature {
		c.add(m.Correction.At, "write correction_offset, such as -0.4 K", "a temperature has no factor as a correction")
	}
}

// campaign checks a campaign and its readings.
func (c *readingsChecker) campaign(all *Readings, index int) {
	g := &all.Campaigns[index]
	c.campaignDate(g.Date)
	names := map[string]bool{}
	for i := range g.States {
		s := &g.States[i]
		c.distinct(names, s.Name, "state", "give each state of a campaign its own name")
		before := c.complaints()
		c.state(s)
		c.faulty[s] = c.complaints() > before
		if !s.Room.Given() {
			s.Room = g.Room
		}
	}
	for i := range g.Readings {
		r := &g.Readings[i]
		c.count++
		r.Label = readingLabel(r, index, i)
		r.ChannelIndex, r.EmitterIndex, r.SpotIndex = -1, -1, -1
		c.readingID(r)
		r.State = c.stateOf(g, r)
		if r.What.Set && c.count <= MaxReadings {
			c.reading(all, g, r)
		}
	}
}

// numbered is how a reading without an id is called.
var numbered = regexp.MustCompile(`^[0-9]+\.[0-9]+$`)

// readingID complains of an id that another reading has, or could have without an id.
func (c *readingsChecker) readingID(r *Reading) {
	c.distinct(c.ids, r.ID, "reading", "give each reading its own id, or none")
	if numbered.MatchString(r.ID.S) {
		c.add(r.ID.At, "use a letter in it, such as E1", "%q is the name of a reading without an id", r.ID.S)
	}
}

// campaignDate complains of a text that is no date.
func (c *readingsChecker) campaignDate(t source.Text) {
	if !t.Set || isDate(t.S) {
		return
	}
	hint := "such as 2031-09-12"
	switch {
	case strings.ContainsAny(t.S, "Tt:") && len(t.S) > 10 && isDate(t.S[:10]):
		hint = "write " + t.S[:10] + ": a campaign has a date without a time of day or a time zone"
	case strings.Count(t.S, ".") == 2 || strings.Count(t.S, "/") == 2:
		hint = "write year-month-day, such as 2031-09-12: 03.04. and 03/04 can be read in two ways"
	}
	c.add(t.At, hint, "%q is no date: year-month-day", t.S)
}

// state checks a state of the lamp.
func (c *readingsChecker) state(s *LampState) {
	d := &c.project.Design
	seen := map[string]bool{}
	for i := range s.Levels {
		l := &s.Levels[i]
		c.dayChannel(d, l.Channel)
		c.distinct(seen, l.Channel, "channel", "keep one level a channel")
	}
	if s.Fan.S == On && d.Fan == nil {
		c.add(s.Fan.At, "leave it out", "the fan is on, and the design has none")
	}
	if s.Origin.S == FromSwitchOff && s.After.Set && s.After.SI == 0 {
		c.add(s.After.At, "leave both out for the steady state", "0 s after switch-off is the steady state")
	}
	if len(s.Levels) == 0 && !s.FullDay() && s.Origin.S == FromSwitchOff {
		c.add(s.Origin.At, "list the levels before switch-off", "the lamp was off before it was switched off")
	}
}

// stateOf returns the state that a reading names.
func (c *readingsChecker) stateOf(g *Campaign, r *Reading) *LampState {
	name := r.StateName
	if !name.Set && len(g.States) == 1 && !name.Given() {
		return &g.States[0]
	}
	full := &LampState{Name: source.Text{S: FullState, Set: true}, Room: g.Room}
	var names []string
	for i := range g.States {
		if s := &g.States[i]; s.Name.Set {
			if name.Set && s.Name.S == name.S {
				return s
			}
			names = append(names, s.Name.S)
		}
	}
	switch {
	case name.Set && name.S != FullState:
		c.add(name.At, among(name.S, append(names, FullState)), "campaign %q has no state %q", g.Name.S, name.S)
	case !name.Given() && len(g.States) > 1:
		c.add(r.Pos, "add state; "+among("", append(names, FullState)), "reading %s names no state", r.Label)
	}
	return full
}

// among returns a hint: the name that was probably meant, or all.
func among(name string, names []string) string {
	if near, ok := quantity.Near(name, names); ok {
		return "did you mean " + strconv.Quote(near) + "?"
	}
	const shown = 12
	if len(names) > shown {
		return "use one of " + strings.Join(names[:shown], ", ") + ", …"
	}
	if len(names) == 0 {
		return ""
	}
	return "use " + strings.Join(names, ", ")
}
