package lamp

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"lampwright/internal/day"
	"lampwright/internal/project"
	"lampwright/internal/sky"
	"lampwright/internal/source"
)

// Light is what a keyframe asks of all channels together: an amount of light, and a colour where one is stated.
type Light struct {
	PPFD float64 // mean at the target [µmol/m²/s]
	CCTK float64 // 0 keeps the mix of the design
}

// LevelsFor returns the dimming level of each channel for some light.
type LevelsFor func(Light) ([]float64, error)

// noonS is the middle of a day that states its hours only [s after midnight]; rule of thumb (no source).
const noonS = 13 * 3600

// stepS is the length of a step between two levels [s].
const stepS = 1

// Programme returns the daily programme of the design, without its modifiers of single days (acclimation, clouds); ok
// is false where the design states none.
//
// The setting of a channel is the lightness that the eye sees, or its level, as day.curve states; it is linear between
// points. Levels of keyframes are relative to the level of the channel at full day. levels finds those of keyframes by
// PPFD and colour.
func (l *Lamp) Programme(levels LevelsFor) (p *day.Programme, ok bool, err error) {
	d := &l.Design.Day
	if !d.Given() {
		return nil, false, nil
	}
	p = &day.Programme{}
	if p.Clock, err = l.Clock(); err != nil {
		return nil, false, err
	}
	whole, err := l.wholeDay(levels)
	if err != nil {
		return nil, false, err
	}
	for i := range l.Channels {
		c := day.Channel{Name: l.Channels[i].Name, Curve: l.dayCurve()}
		if c.Points, err = l.channelDay(i, c.Curve, whole); err != nil {
			return nil, false, fmt.Errorf("day of channel %s: %w", c.Name, err)
		}
		p.Channels = append(p.Channels, c)
	}
	l.modify(p)
	return p, true, p.Check()
}

// Values of modifiers that the design does not state; rules of thumb (no source).
const (
	sunFullDeg    = 40      // elevation of the sun from which the level is 100 %
	cloudPeriodS  = 20 * 60 // from cloud to cloud
	cloudMean     = 0.5     // mean clearness between cloud and clear sky
	equinoxDate   = 79      // 20 March 2000, the day of the sun where a reference day is asked for
	meanMoonPhase = 0.5     // mean illuminated fraction over a month
)

// modify adds the modifiers of the design to its programme.
func (l *Lamp) modify(p *day.Programme) {
	d := &l.Design.Day
	if s := d.Sun; s != nil {
		x := &day.Sunlight{
			Place:   sky.Place{LatDeg: Degrees(s.Latitude.SI), LonDeg: Degrees(s.Longitude.SI)},
			FullDeg: sunFullDeg, Power: 1,
		}
		x.NoonS = clockS(s.Noon)
		if s.Full.Set {
			x.FullDeg = Degrees(s.Full.SI)
		}
		if s.Date.Set {
			date, _ := day.ParseDate(s.Date.S)
			x.FixedDate = &date
		}
		p.Sunlight = x
	}
	if a := d.Acclimation; a != nil {
		start, _ := day.ParseDate(a.Start.S)
		days := int(math.Round(a.Duration.SI / day.DayS))
		p.Acclimation = &day.Acclimation{StartDate: start, Days: days, From: a.From.SI}
	}
	if c := d.Clouds; c != nil {
		p.Clouds = &day.Clouds{Amount: c.Depth.SI, Mean: cloudMean, PeriodS: cloudPeriodS, Seed: 1}
		p.Clouds.PeriodS = math.Max(cloudPeriodS, p.Clouds.MinPeriodS())
		if c.Period.Set {
			p.Clouds.PeriodS = c.Period.SI
		}
		if c.Seed.Set {
			p.Clouds.Seed = uint64(c.Seed.N)
		}
	}
	if m := d.Moonlight; m != nil {
		p.Moonlight = l.moonlight(m, p)
	}
}

// moonlight returns the night light of a channel.
func (l *Lamp) moonlight(m *project.Moonlight, p *day.Programme) *day.Moonlight {
	out := &day.Moonlight{Phase: m.Phase.S == project.LunarPhase}
	for i := range l.Channels {
		if l.Channels[i].Name == m.Channel.S {
			out.Channel = i
		}
	}
	from := clockS(m.From)
	to := clockS(m.To)
	ramp := math.Max(stepS, m.Ramp())
	full := p.Channels[out.Channel].Curve.Setting(m.Level.SI * l.Channels[out.Channel].Level)
	for _, at := range []day.Point{
		{SecondS: from},
		{SecondS: from + ramp, Setting: full},
		{SecondS: to - ramp, Setting: full},
		{SecondS: to},
	} {
		at.SecondS = math.Mod(at.SecondS+day.DayS, day.DayS)
		out.Points = append(out.Points, at)
	}
	slices.SortFunc(out.Points, func(a, b day.Point) int { return cmp.Compare(a.SecondS, b.SecondS) })
	out.Points = slices.CompactFunc(out.Points, func(a, b day.Point) bool { return a.SecondS == b.SecondS })
	return out
}

// clockS returns the second of a time of day of a project, which was loaded without problems.
func clockS(t source.Text) float64 {
	s, _ := day.ParseClock(t.S)
	return s
}

// Reference returns a programme that is the same every day: after acclimation, under clouds of mean density, with the
// sun of an equinox and the moon of mean phase. Figures of a day are those of this one.
func Reference(p *day.Programme) *day.Programme {
	out := *p
	out.Acclimation = nil
	if p.Clouds != nil {
		haze := *p.Clouds
		haze.PeriodS = 0
		out.Clouds = &haze
	}
	if p.Sunlight != nil && p.Sunlight.FixedDate == nil {
		sun, date := *p.Sunlight, equinoxDate
		sun.FixedDate = &date
		out.Sunlight = &sun
	}
	if p.Moonlight != nil && p.Moonlight.Phase {
		moon := *p.Moonlight
		moon.Phase = false
		moon.Points = slices.Clone(moon.Points)
		for i := range moon.Points {
			moon.Points[i].Setting *= meanMoonPhase
		}
		out.Moonlight = &moon
	}
	return &out
}

// Clock returns the clock of the programme; UTC, which never changes, where the design states no time zone.
func (l *Lamp) Clock() (day.Clock, error) {
	d := &l.Design.Day
	if !d.TimeZone.Set {
		return day.Clock{}, nil
	}
	return day.NewClock(d.TimeZone.S, d.Clock.S == project.StandardTime)
}

func (l *Lamp) dayCurve() day.Curve {
	if l.Design.Day.Curve.S == project.LinearLightness {
		return day.Curve{Shape: day.Lightness}
	}
	return day.Curve{}
}

// frame is a keyframe with the level of each channel.
type frame struct {
	secondS float64
	levels  []float64 // absolute, by channel
	ramp    project.RampShape
}

// wholeDay returns the keyframes of all channels.
func (l *Lamp) wholeDay(levels LevelsFor) (out []frame, err error) {
	d := &l.Design.Day
	if d.FullLevelTime.Set {
		return l.statedHours(), nil
	}
	for i := range d.Keyframes {
		k := &d.Keyframes[i]
		f := frame{ramp: k.Ramp.S, levels: l.fullLevels(k.Level.SI)}
		f.secondS = clockS(k.Time)
		if k.PPFD.Set {
			if f.levels, err = levels(Light{k.PPFD.SI, k.CCT.SI}); err != nil {
				return nil, fmt.Errorf("%s: keyframe %s: %w", k.Time.At, k.Time.S, err)
			}
		}
		out = append(out, f)
	}
	return out, nil
}

// fullLevels returns the levels of all channels at a fraction of full day.
func (l *Lamp) fullLevels(fraction float64) []float64 {
	out := make([]float64, len(l.Channels))
	for i := range out {
		out[i] = fraction * l.Channels[i].Level
	}
	return out
}

// StatedFrame is a keyframe that full_level_time and ramp_time stand for.
type StatedFrame struct {
	SecondS float64
	Level   float64 // relative to full day
}

// StatedFrames returns the keyframes that full_level_time and ramp_time stand for.
func (l *Lamp) StatedFrames() (out []StatedFrame) {
	dark := l.fullLevels(0)
	for _, f := range l.statedHours() {
		level := 1.0
		if slices.Equal(f.levels, dark) {
			level = 0
		}
		out = append(out, StatedFrame{f.secondS, level})
	}
	return out
}

// statedHours returns the keyframes of full_level_time and ramp_time.
func (l *Lamp) statedHours() []frame {
	d := &l.Design.Day
	full, ramp := d.FullLevelTime.SI, d.RampTime.SI
	if ramp < stepS { // full level from the middle of the step to that of the other
		full, ramp = full+ramp-stepS, stepS
	}
	on, off := l.fullLevels(1), l.fullLevels(0)
	if full+2*ramp > day.DayS-stepS {
		return []frame{{levels: on}}
	}
	start := noonS - full/2 - ramp
	if d.Start.Set {
		start = clockS(d.Start)
	}
	out := []frame{
		{secondS: start, levels: off},
		{secondS: start + ramp, levels: on},
		{secondS: start + ramp + full, levels: on},
		{secondS: start + 2*ramp + full, levels: off},
	}
	if full < stepS {
		out = slices.Delete(out, 2, 3)
	}
	for i := range out {
		out[i].secondS = math.Mod(out[i].secondS+day.DayS, day.DayS)
	}
	slices.SortFunc(out, func(a, b frame) int { return cmp.Compare(a.secondS, b.secondS) })
	return out
}

// channelDay returns the points of a channel: its own keyframes, or those of all, with the noon break.
func (l *Lamp) channelDay(channel int, curve day.Curve, whole []frame) ([]day.Point, error) {
	d := &l.Design.Day
	frames := whole
	for i := range d.Channels {
		if own := &d.Channels[i]; own.Channel.S == l.Channels[channel].Name {
			frames = ownFrames(own, channel, l)
		}
	}
	switch {
	case len(frames) > 0:
	case d.Sun != nil:
		frames = []frame{{levels: l.fullLevels(1)}}
	default:
		frames = []frame{{levels: l.fullLevels(0)}}
	}
	points, err := pointsOf(frames, channel, curve)
	if err != nil || d.NoonBreak == nil {
		return points, err
	}
	b := d.NoonBreak
	from := clockS(b.From)
	to := clockS(b.To)
	return day.NoonBreak{FromS: from, ToS: to, RampS: math.Max(stepS, b.Ramp()), Factor: b.Level.SI}.Apply(points)
}

// ownFrames returns the keyframes of one channel.
func ownFrames(own *project.ChannelDay, channel int, l *Lamp) (out []frame) {
	for i := range own.Keyframes {
		k := &own.Keyframes[i]
		f := frame{ramp: k.Ramp.S, levels: make([]float64, len(l.Channels))}
		f.secondS = clockS(k.Time)
		f.levels[channel] = k.Level.SI * l.Channels[channel].Level
		out = append(out, f)
	}
	return out
}

// knot is a point of a channel, and whether the ramp after it is eased.
type knot struct {
	day.Point
	eased bool
}

// pointsOf returns the settings of a channel at keyframes; a step rises within stepS, an eased ramp follows a
// smoothstep.
func pointsOf(frames []frame, channel int, curve day.Curve) ([]day.Point, error) {
	var knots []knot
	for i, f := range frames {
		before, after := frames[(i+len(frames)-1)%len(frames)], frames[(i+1)%len(frames)]
		if f.ramp == project.StepRamp && before.levels[channel] != f.levels[channel] {
			last := day.Point{
				SecondS: math.Mod(f.secondS-stepS+day.DayS, day.DayS), Setting: curve.Setting(before.levels[channel]),
			}
			if last.SecondS != before.secondS { // a keyframe a second before is the foot of the step itself
				knots = append(knots, knot{last, false})
			}
		}
		now := day.Point{SecondS: f.secondS, Setting: curve.Setting(f.levels[channel])}
		knots = append(knots, knot{now, after.ramp == project.EasedRamp && len(frames) > 1})
	}
	slices.SortStableFunc(knots, func(a, b knot) int { return cmp.Compare(a.SecondS, b.SecondS) })
	points, eased := make([]day.Point, len(knots)), make([]bool, len(knots))
	for i, k := range knots {
		points[i], eased[i] = k.Point, k.eased
	}
	if !slices.Contains(eased, true) {
		return points, nil
	}
	return day.Ease(points, eased)
}

// proportional returns the levels of keyframes by PPFD without a solution: relative to the largest PPFD of the day.
func (l *Lamp) proportional() LevelsFor {
	most := 0.0
	for i := range l.Design.Day.Keyframes {
		most = math.Max(most, l.Design.Day.Keyframes[i].PPFD.SI)
	}
	return func(want Light) ([]float64, error) { return l.fullLevels(want.PPFD / math.Max(most, 1e-300)), nil }
}

// hours returns the hours of a day with any light, and those at full level with the same light, of the channel that has
// most; 10 h where the design states no programme. Keyframes by PPFD count in proportion to the largest.
func (l *Lamp) hours() (lit, full float64) {
	p, ok, err := l.Programme(l.proportional())
	if err != nil || !ok {
		return assumedDailyH, assumedDailyH
	}
	sum, err := p.Integrate(0, day.DayS)
	if err != nil {
		return assumedDailyH, assumedDailyH
	}
	for i := range l.Channels {
		if level := l.Channels[i].Level; level > 0 {
			full = math.Max(full, sum.FullHours[i]/level)
		}
	}
	return sum.LitHours, full
}

// Tariff returns the price of electricity over the day; false where the design states none.
func (l *Lamp) Tariff() (day.Tariff, bool) {
	d := &l.Design.Day
	if !d.Tariff.Set {
		return nil, false
	}
	if len(d.TariffWindows) == 0 {
		return day.Flat(d.Tariff.SI), true
	}
	var out day.Tariff
	for i := range d.TariffWindows {
		w := &d.TariffWindows[i]
		from := clockS(w.From)
		to := clockS(w.To)
		out = append(out, day.Window{FromS: from, ToS: to, PerKWh: w.Tariff.SI})
	}
	slices.SortFunc(out, func(a, b day.Window) int { return cmp.Compare(a.FromS, b.FromS) })
	// The rest of the day has the price of tariff.
	for i, w := range slices.Clone(out) {
		next := out[(i+1)%len(d.TariffWindows)]
		if math.Mod(w.ToS, day.DayS) != next.FromS {
			out = append(out, day.Window{FromS: math.Mod(w.ToS, day.DayS), ToS: next.FromS, PerKWh: d.Tariff.SI})
		}
	}
	return out, true
}
