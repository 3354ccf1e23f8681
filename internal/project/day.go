package project

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"lampwright/internal/day"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// Day is the daily programme.
type Day struct {
	FullLevelTime source.Value            `yaml:"full_level_time" dim:"time" min:">=0 h" max:"<=24 h" doc:"time at full level, in place of keyframes" eg:"8 h"`
	RampTime      source.Value            `yaml:"ramp_time" dim:"time" min:">=0 h" max:"<=12 h" doc:"length of sunrise, and of sunset, beside full_level_time" eg:"45 min"`
	Start         source.Text             `yaml:"start" doc:"time of day at which the sunrise of full_level_time starts; the middle of the day is at 13:00 where it is not given" eg:"08:30"`
	Keyframes     []Keyframe              `yaml:"keyframes" doc:"levels of all channels over the day, by time of day; the course between them wraps over midnight"`
	Channels      []ChannelDay            `yaml:"channels" doc:"keyframes of single channels, in place of those of all"`
	Curve         source.Choice[DayCurve] `yaml:"curve" doc:"between keyframes the level is linear in time, or the lightness L* that the eye sees; linear where it is not given"`
	TimeZone      source.Text             `yaml:"time_zone" doc:"zone of the local clock, by its name in the IANA time zone database; without changes of the clock where it is not given" eg:"Europe/Berlin"`
	Clock         source.Choice[DayClock] `yaml:"clock" doc:"whether the programme follows the local clock or standard time all year; local where it is not given"`
	Sun           *SunDay                 `yaml:"sun" doc:"levels of all channels that follow the sun of a place, in place of keyframes"`
	NoonBreak     *NoonBreak              `yaml:"noon_break" doc:"a lower level in the middle of the day"`
	Moonlight     *Moonlight              `yaml:"moonlight" doc:"a weak light of one channel at night"`
	Clouds        *Clouds                 `yaml:"clouds" doc:"slow random changes of the light"`
	Acclimation   *Acclimation            `yaml:"acclimation" doc:"a lower setting at first, which rises from day to day"`
	Tariff        source.Value            `yaml:"tariff" dim:"tariff" min:">=0 EUR/kWh" doc:"price of electricity" eg:"0.32 EUR/kWh"`
	TariffWindows []TariffWindow          `yaml:"tariff_windows" doc:"times of day with another price than tariff"`
}

// Keyframe is the light at one time of day.
type Keyframe struct {
	Time  source.Text              `yaml:"time" need:"yes" doc:"time of day, hours and minutes" eg:"09:30"`
	Level source.Value             `yaml:"level" dim:"ratio" min:">=0 %" max:"<=100 %" doc:"of each channel, relative to its level at full day" eg:"100 %"`
	PPFD  source.Value             `yaml:"ppfd" dim:"ppfd" min:">=0 µmol/m²/s" doc:"mean at the target, in place of level; with cct the amount of that mix" eg:"80 µmol/m²/s"`
	CCT   source.Value             `yaml:"cct" dim:"cct" min:">=1000 K" max:"<=25000 K" doc:"colour temperature, mixed of the channels, with ppfd" eg:"3500 K"`
	Ramp  source.Choice[RampShape] `yaml:"ramp" doc:"course from the keyframe before: straight, eased at both ends, or a step at this time; straight where it is not given"`
}

// ChannelDay is the keyframes of one channel.
type ChannelDay struct {
	Channel   source.Text `yaml:"channel" need:"yes" doc:"name of the channel" eg:"red"`
	Keyframes []Keyframe  `yaml:"keyframes" need:"yes" doc:"its levels over the day, by time of day"`
}

// SunDay is a day that follows the sun of a place.
type SunDay struct {
	Latitude  source.Value `yaml:"latitude" dim:"angle" need:"yes" min:">=-90 deg" max:"<=90 deg" doc:"of the place, north above zero" eg:"-3 deg"`
	Longitude source.Value `yaml:"longitude" dim:"angle" need:"yes" min:">=-180 deg" max:"<=180 deg" doc:"of the place, east above zero" eg:"-60 deg"`
	Date      source.Text  `yaml:"date" doc:"a day of the year that is repeated, year-month-day; the course of the year where it is not given" eg:"2031-03-20"`
	Noon      source.Text  `yaml:"noon" need:"yes" doc:"time of day here at which the sun of the place is highest" eg:"13:30"`
	Full      source.Value `yaml:"full_level_elevation" dim:"angle" min:">=5 deg" max:"<=90 deg" doc:"elevation of the sun from which the level is 100 %; 40 deg where it is not given" eg:"40 deg"`
}

// NoonBreak is a lower level in the middle of the day.
type NoonBreak struct {
	From     source.Text  `yaml:"from" need:"yes" doc:"time of day at which the light begins to fall" eg:"12:30"`
	To       source.Text  `yaml:"to" need:"yes" doc:"time of day at which it is back" eg:"14:30"`
	Level    source.Value `yaml:"level" dim:"ratio" need:"yes" min:">=0 %" max:"<=100 %" doc:"of the setting without the break" eg:"50 %"`
	RampTime source.Value `yaml:"ramp_time" dim:"time" min:">=0 min" max:"<=6 h" doc:"length of each of its ramps; 15 min where it is not given" eg:"20 min"`
}

// Moonlight is a weak light at night.
type Moonlight struct {
	Channel  source.Text              `yaml:"channel" need:"yes" doc:"name of the channel" eg:"blue"`
	Level    source.Value             `yaml:"level" dim:"ratio" need:"yes" min:">0 %" max:"<=20 %" doc:"of the channel at full moon, relative to its level at full day" eg:"1 %"`
	From     source.Text              `yaml:"from" need:"yes" doc:"time of day at which it rises" eg:"20:30"`
	To       source.Text              `yaml:"to" need:"yes" doc:"time of day at which it is off" eg:"23:30"`
	RampTime source.Value             `yaml:"ramp_time" dim:"time" min:">=0 min" max:"<=3 h" doc:"length of each of its ramps; 10 min where it is not given" eg:"10 min"`
	Phase    source.Choice[MoonPhase] `yaml:"phase" doc:"the same every night, or in proportion to the illuminated fraction of the moon; constant where it is not given"`
}

// Clouds are slow random changes of the light.
type Clouds struct {
	Depth  source.Value `yaml:"depth" dim:"ratio" need:"yes" min:">0 %" max:"<=80 %" doc:"fraction of the light that the densest cloud takes" eg:"30 %"`
	Period source.Value `yaml:"period" dim:"time" min:">=2 min" max:"<=6 h" doc:"time from cloud to cloud; 20 min where it is not given" eg:"25 min"`
	Seed   source.Whole `yaml:"seed" min:">=0" max:"<=65535" doc:"other seeds have other clouds; 1 where it is not given"`
}

// Acclimation is a lower setting at first.
type Acclimation struct {
	Start    source.Text  `yaml:"start" need:"yes" doc:"first day, year-month-day" eg:"2031-05-04"`
	Duration source.Value `yaml:"duration" dim:"time" need:"yes" min:">=1 d" max:"<=1000 d" doc:"time until the full setting" eg:"42 d"`
	From     source.Value `yaml:"initial_setting" dim:"ratio" need:"yes" min:">=0 %" max:"<=100 %" doc:"of the setting, on the first day" eg:"60 %"`
}

// TariffWindow is a time of day with a price of its own.
type TariffWindow struct {
	From   source.Text  `yaml:"from" need:"yes" doc:"time of day" eg:"22:00"`
	To     source.Text  `yaml:"to" need:"yes" doc:"time of day; before from, it ends on the next day" eg:"06:00"`
	Tariff source.Value `yaml:"tariff" dim:"tariff" need:"yes" min:">=0 EUR/kWh" doc:"price of electricity in it" eg:"0.24 EUR/kWh"`
}

// Given tells whether the design states a programme.
func (d *Day) Given() bool {
	return d.FullLevelTime.Set || len(d.Keyframes) > 0 || len(d.Channels) > 0 || d.Sun != nil
}

// Ramps tells whether the light passes through the levels between dark and full.
func (d *Day) Ramps() bool {
	return d.RampTime.SI > 0 || len(d.Keyframes) > 0 || len(d.Channels) > 0 || d.Sun != nil || d.Moonlight != nil
}

// minRampS is the shortest ramp: a step [s].
const minRampS = 1

// maxKeyframes is the largest number of keyframes of a list: one every five minutes.
const maxKeyframes = 288

// day looks for programmes that contradict themselves.
func (c *checker) day(d *Design) {
	y := &d.Day
	c.oneProgramme(y)
	if y.FullLevelTime.Set && y.FullLevelTime.SI+2*y.RampTime.SI > day.DayS {
		c.add(y.FullLevelTime.At, "full_level_time and two ramps make up the day", "the programme is longer than 24 h")
	}
	if y.FullLevelTime.Set && y.FullLevelTime.SI == 0 && y.RampTime.SI < minRampS {
		c.add(y.FullLevelTime.At, "lengthen full_level_time, or leave the day out", "the day has no light")
	}
	if y.RampTime.Set && !y.FullLevelTime.Given() {
		c.add(y.RampTime.At, "add full_level_time, or use keyframes", "ramp_time is given without full_level_time")
	}
	c.clockTime(y.Start)
	c.keyframes(y.Keyframes, true)
	seen := map[string]bool{}
	for i := range y.Channels {
		ch := &y.Channels[i]
		c.dayChannel(d, ch.Channel)
		if ch.Channel.Set && seen[ch.Channel.S] {
			c.add(ch.Channel.At, "keep one list a channel", "channel %q has two lists of keyframes", ch.Channel.S)
		}
		seen[ch.Channel.S] = true
		c.keyframes(ch.Keyframes, false)
	}
	c.dayModifiers(d)
	if len(y.TariffWindows) > 0 && !y.Tariff.Given() {
		c.add(y.TariffWindows[0].From.At, "add tariff, the price in the rest of the day",
			"tariff_windows are given without tariff")
	}
	c.tariffWindows(y.TariffWindows)
}

// oneProgramme looks for a day that is described in more than one way.
func (c *checker) oneProgramme(y *Day) {
	const hint = "use one of full_level_time, keyframes and sun"
	switch {
	case y.FullLevelTime.Given() && len(y.Keyframes) > 0:
		c.add(y.FullLevelTime.At, hint, "full_level_time and keyframes both describe the day")
	case y.FullLevelTime.Given() && y.Sun != nil:
		c.add(y.FullLevelTime.At, hint, "full_level_time and sun both describe the day")
	case len(y.Keyframes) > 0 && y.Sun != nil:
		c.add(y.Keyframes[0].Time.At, hint, "keyframes and sun both describe the day")
	case y.Start.Set && !y.FullLevelTime.Given():
		c.add(y.Start.At, "add full_level_time, or use keyframes", "start is given without full_level_time")
	}
	if y.TimeZone.Set {
		if _, err := day.NewClock(y.TimeZone.S, false); err != nil {
			c.add(y.TimeZone.At, "a name of the IANA time zone database, such as Europe/Berlin", "%v", err)
		}
	}
	if y.Moonlight != nil && !y.Given() {
		c.add(y.Moonlight.Channel.At, "add full_level_time or keyframes", "moonlight is given without a day")
	}
}

// clockTime returns the seconds of a time of day; ok is false where it is not given or not readable, which is reported.
func (c *checker) clockTime(t source.Text) (seconds float64, ok bool) {
	if !t.Set {
		return 0, false
	}
	seconds, err := day.ParseClock(t.S)
	if err != nil {
		c.add(t.At, "such as 09:30 or 21:15", "%q is no time of day: hours 00 to 23, minutes 00 to 59", t.S)
	}
	return seconds, err == nil
}

// dayChannel looks for a channel that the design does not have.
func (c *checker) dayChannel(d *Design, name source.Text) {
	if !name.Set || hasChannel(d, name.S) {
		return
	}
	var names []string
	for i := range d.Channels {
		names = append(names, d.Channels[i].Name.S)
	}
	hint := "use " + strings.Join(names, ", ")
	if near, ok := quantity.Near(name.S, names); ok {
		hint = "did you mean " + strconv.Quote(near) + "?"
	}
	c.add(name.At, hint, "there is no channel %q", name.S)
}

// keyframes looks for keyframes whose times do not rise, and that state no light or two.
func (c *checker) keyframes(list []Keyframe, whole bool) {
	if len(list) > maxKeyframes {
		c.add(list[maxKeyframes].Time.At, fmt.Sprintf("use at most %d", maxKeyframes), "%d keyframes are too many",
			len(list))
		return
	}
	before := -1.0
	for i := range list {
		k := &list[i]
		c.keyframe(k, whole)
		s, ok := c.clockTime(k.Time)
		if !ok {
			continue
		}
		if s <= before {
			c.add(k.Time.At, "list them from 00:00 on; the course wraps over midnight by itself",
				"keyframe %s is not after %s", k.Time.S, day.FormatClock(before))
		}
		before = max(before, s)
	}
}

// keyframe looks for a keyframe that states no light, or two.
func (c *checker) keyframe(k *Keyframe, whole bool) {
	switch {
	case !whole && (k.PPFD.Given() || k.CCT.Given()):
		c.add(k.Time.At, "use day.keyframes", "ppfd and cct are of all channels together; this is one channel")
	case k.Level.Given() && (k.PPFD.Given() || k.CCT.Given()):
		c.add(k.Level.At, "keep level, or ppfd with or without cct", "the keyframe states its light twice")
	case k.CCT.Given() && !k.PPFD.Given():
		c.add(k.CCT.At, "add ppfd, the amount of light", "a colour without an amount of light")
	case !k.Level.Given() && !k.PPFD.Given():
		c.add(k.Time.At, "add level, such as 100 %, or ppfd", "the keyframe states no light")
	}
}

// dayModifiers looks for modifiers that end before they begin.
func (c *checker) dayModifiers(d *Design) {
	y := &d.Day
	if s := y.Sun; s != nil {
		c.clockTime(s.Noon)
		c.dayDate(s.Date)
	}
	if b := y.NoonBreak; b != nil {
		from, okFrom := c.clockTime(b.From)
		to, okTo := c.clockTime(b.To)
		switch ramp := b.Ramp(); {
		case !okFrom || !okTo:
		case to <= from:
			c.add(b.To.At, "a break lies within one day", "the break ends at %s, before it begins", b.To.S)
		case 2*max(minRampS, ramp) > to-from:
			c.add(b.To.At, "shorten ramp_time, or lengthen the break", "two ramps of %s are longer than the break",
				quantity.Format(max(minRampS, ramp), quantity.Time))
		}
	}
	if m := y.Moonlight; m != nil {
		c.dayChannel(d, m.Channel)
		from, okFrom := c.clockTime(m.From)
		to, okTo := c.clockTime(m.To)
		if ramp := max(minRampS, m.Ramp()); okFrom && okTo && between(from, to) < 2*ramp {
			c.add(m.To.At, "shorten ramp_time, or lengthen the night",
				"two ramps of %s are longer than the moonlight", quantity.Format(ramp, quantity.Time))
		}
	}
	if a := y.Acclimation; a != nil {
		c.dayDate(a.Start)
	}
	if x := y.Clouds; x != nil && x.Period.Set {
		if least := (day.Clouds{Amount: x.Depth.SI}).MinPeriodS(); x.Period.SI < least {
			c.add(x.Period.At, fmt.Sprintf("use %.0f min or longer, or a smaller depth", math.Ceil(least/60)),
				"clouds of this depth change the light faster than the eye follows: 1 L* in 2 s")
		}
	}
}

// between returns the seconds from one time of day to another, over midnight where it is earlier.
func between(from, to float64) float64 {
	if to < from {
		to += day.DayS
	}
	return to - from
}

// Ramp returns the length of each ramp of the break [s].
func (b *NoonBreak) Ramp() float64 {
	if b.RampTime.Set {
		return b.RampTime.SI
	}
	return 15 * 60
}

// Ramp returns the length of each ramp of the moonlight [s].
func (m *Moonlight) Ramp() float64 {
	if m.RampTime.Set {
		return m.RampTime.SI
	}
	return 10 * 60
}

// dayDate looks for a date that is none.
func (c *checker) dayDate(t source.Text) {
	if t.Set && !isDate(t.S) {
		c.add(t.At, "such as 2031-05-04", "%q is no date: year-month-day", t.S)
	}
}

// tariffWindows looks for times of day with two prices.
func (c *checker) tariffWindows(list []TariffWindow) {
	type span struct{ from, to float64 }
	var spans []span
	for i := range list {
		w := &list[i]
		from, okFrom := c.clockTime(w.From)
		to, okTo := c.clockTime(w.To)
		if !okFrom || !okTo {
			continue
		}
		if from == to {
			c.add(w.To.At, "leave the window out and use tariff", "a window from %s to %s is empty, or all day",
				w.From.S, w.To.S)
			continue
		}
		now := span{from, from + between(from, to)}
		for _, s := range spans {
			overlaps := slices.ContainsFunc([]float64{-day.DayS, 0, day.DayS}, func(shift float64) bool {
				return now.from+shift < s.to && s.from < now.to+shift
			})
			if overlaps {
				c.add(w.From.At, "let each begin where another ends", "two windows share a time of day")
				break
			}
		}
		spans = append(spans, now)
	}
}
