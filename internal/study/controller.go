package study

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"lampwright/internal/controller"
	"lampwright/internal/day"
	"lampwright/internal/drive"
	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

// ControllerPlan is the configuration of the controller core for a design, with what the user must know of it.
type ControllerPlan struct {
	Config    controller.Config `json:"config"`
	Wiring    []controller.Wire `json:"wiring"`
	Notes     []string          `json:"notes"`
	Deviation []float64         `json:"deviation_L"` // by channel: largest difference to the programme in L*

	eval     *figure.Evaluation
	curve    day.Curve // from setting to level
	sensor   sensorCode
	fullOf   []float64 // by channel: its greatest level of the day
	untilUTC int64     // end of the zone table
}

// ControllerOptions state what a design does not.
type ControllerOptions struct {
	FirstYear int // from which the zone table applies; an earlier clock is not valid
}

// Assumed for the controller core where the design states nothing; rules of thumb (no source).
const (
	settingSlew  = 33  // of a setting in each step: 0 to 100 % in 99 s, 1 L* in 1 s
	fastestSlew  = 328 // for programmes with short ramps: 0 to 100 % in 10 s
	softStep     = 110 // soft start: 30 s
	gainSlew     = 66  // foldback: 100 % in 50 s, slow against the sensor
	safeSetting  = 0.2 // without clock or sensor
	vinLowShare  = 0.875
	vinOKShare   = 0.9375
	zoneYears    = 12 // of the table; at least minZoneYears where its 24 rows hold them
	minZoneYears = 10
	zoneRows     = 24
	corePoints   = 16
)

// PlanController derives the configuration of the controller core from a design: programme and curve of each channel,
// power limit, foldback and fan by the thermistor, supply, zone table.
func PlanController(r *figure.Evaluation, o ControllerOptions) (*ControllerPlan, error) {
	d := r.Lamp.Design
	if err := controllable(r); err != nil {
		return nil, err
	}
	p := &ControllerPlan{eval: r}
	c := &p.Config
	c.Slew, c.SoftStep, c.FoldSlew = settingSlew, softStep, gainSlew
	p.curve = r.Day.Programme.Channels[0].Curve
	if err := p.setProgramme(); err != nil {
		return nil, err
	}
	if err := p.setHeat(); err != nil {
		return nil, err
	}
	p.setPower()
	if err := p.setClock(o); err != nil {
		return nil, err
	}
	p.setSupply()
	p.wire()
	if m := d.Day.Moonlight; m != nil && m.Phase.S == project.LunarPhase {
		p.note("The core does not know the phase of the moon: moonlight is that of a mean night.")
	}
	if d.Day.Clouds != nil {
		p.note("The core makes no clouds.")
	}
	if d.Day.Sun != nil && !d.Day.Sun.Date.Set {
		p.note("The core repeats the day of an equinox: it does not follow the sun through the year. Set day.sun.date.")
	}
	if err := c.Check(); err != nil {
		return nil, fmt.Errorf("configuration of the controller: %w", err)
	}
	return p, nil
}

// note adds a sentence for the user.
func (p *ControllerPlan) note(format string, a ...any) {
	p.Notes = append(p.Notes, fmt.Sprintf(format, a...))
}

// controllable returns why the core cannot run this lamp, or nil.
func controllable(r *figure.Evaluation) error {
	d := r.Lamp.Design
	switch {
	case d.Controller == nil:
		return errors.New("the design has no controller; add controller: {part: controller-16bit}")
	case r.Day == nil:
		return errors.New("the design has no daily programme; add day: {full_level_time: 8 h, ramp_time: 45 min}")
	case r.Day.Err != nil:
		return fmt.Errorf("the lamp cannot run its programme: %w", r.Day.Err)
	case len(r.Lamp.Channels) > controller.MaxChannels:
		return fmt.Errorf("the controller core drives %d channels; the design has %d: join channels on one driver",
			controller.MaxChannels, len(r.Lamp.Channels))
	}
	var without []string
	for i := range r.Lamp.Channels {
		if r.Lamp.Channels[i].Output.Number == 0 {
			without = append(without, r.Lamp.Channels[i].Name)
		}
	}
	if len(without) > 0 {
		return fmt.Errorf("no output dims channel %s: its driver has no dimming, or the controller no output left; take "+
			"a driver with PWM or analogue dimming", strings.Join(without, ", "))
	}
	return nil
}

// q15 returns a number of 0 to 1 in Q15.
func q15(v float64) int64 { return int64(math.Round(controller.One * math.Min(1, math.Max(0, v)))) }

// setProgramme sets the points of all channels.
func (p *ControllerPlan) setProgramme() error {
	programme, courses, err := p.coreProgramme()
	if err != nil {
		return err
	}
	lit := false
	for i := range programme.Channels {
		ch := &p.eval.Lamp.Channels[i]
		var night []day.Point
		if m := programme.Moonlight; m != nil && m.Channel == i {
			night = m.Points
		}
		points, dL := corePointsOf(&programme.Channels[i], night, courses[i])
		out := controller.Channel{}
		if p.curve.Shape == day.Lightness {
			out.Curve = controller.Lightness
		}
		full := 0.0
		for _, pt := range points {
			out.Points = append(out.Points, [2]int64{int64(pt.SecondS), q15(pt.Setting)})
			full = math.Max(full, p.curve.Duty(pt.Setting))
		}
		p.setFloor(i, &out)
		p.Config.Channels = append(p.Config.Channels, out)
		p.Deviation, p.fullOf = append(p.Deviation, dL), append(p.fullOf, full)
		lit = lit || full > 0
		if dL > 0.005 {
			p.note("Channel %s: the programme is reduced to %d points, of 16 that the core has; the lightness "+
				"differs by up to %.2f L*.", ch.Name, len(points), dL)
		}
	}
	if !lit {
		return errors.New("the programme is dark all day; the core needs a level above 0 %")
	}
	p.Config.Slew = min(fastestSlew, max(settingSlew, steepest(p.Config.Channels)))
	if s := steepest(p.Config.Channels); s > p.Config.Slew {
		p.note("The programme has ramps faster than the core follows: a change from 0 to 100 %% takes %.0f s.",
			math.Ceil(controller.One/float64(p.Config.Slew))/10)
	}
	p.setAcclimation()
	return nil
}

// steepest returns the largest change of a setting in a step of the core [Q15].
func steepest(channels []controller.Channel) (most int64) {
	for _, ch := range channels {
		n := len(ch.Points)
		for i, a := range ch.Points {
			b := ch.Points[(i+1)%n]
			span := (b[0] - a[0] + day.DayS) % day.DayS
			if change := max(b[1]-a[1], a[1]-b[1]); span > 0 {
				most = max(most, (change+10*span-1)/(10*span))
			}
		}
	}
	return most
}

// coreProgramme returns the reference day without what the core has by itself or has not, and the level of each channel
// along it where that is not just between its points: sun and moon act on it.
func (p *ControllerPlan) coreProgramme() (*day.Programme, []func(second float64) float64, error) {
	programme := *p.eval.Day.Reference
	programme.Acclimation, programme.Clouds, programme.Budget = nil, nil, nil
	levels := make([]func(float64) float64, len(programme.Channels))
	if programme.Sunlight == nil && programme.Moonlight == nil {
		return &programme, levels, nil
	}
	course, err := programme.Course(0)
	if err != nil {
		return nil, nil, fmt.Errorf("reference day: %w", err)
	}
	duties := make([]float64, len(levels))
	for i := range levels {
		levels[i] = func(second float64) float64 {
			course.Duties(second, duties)
			return duties[i]
		}
	}
	return &programme, levels, nil
}

// setFloor sets the least duty of a channel and the setting below which it is dark.
func (p *ControllerPlan) setFloor(i int, out *controller.Channel) {
	l := p.eval.Lamp
	ch := &l.Channels[i]
	d, ok := l.Dimmer(i)
	if !ok {
		p.note("Channel %s: the resolution of its output is not stated.", ch.Name)
		d.Steps, d.MinDuty = controller.One, ch.MinLevel()
	}
	if !ch.PWM() {
		d.Bend = 0 // levels of a programme are fractions of the current
	}
	if d.MinDuty == 0 {
		p.note("Channel %s: the datasheet of %s states no lowest level; set min_level of the driver once it is "+
			"measured.", ch.Name, ch.Driver.ID.S)
	}
	out.MinDuty = int64(math.Ceil(controller.One * d.Level(d.MinDuty*float64(d.Steps))))
	out.OffBelow = q15(p.curve.Setting(d.OffBelow))
	if ok {
		var codes []string
		for _, level := range []float64{0.01, 0.05, 0.1, 0.25, 0.5, 1} {
			codes = append(codes, strconv.FormatFloat(d.Code(level), 'f', min(d.DitherBits, 2), 64))
		}
		meaning := "A duty is the light"
		if !ch.PWM() {
			meaning = "A duty is the fraction of the current, as the levels of the design are"
		}
		p.note("Channel %s, %s: codes for duties of 1, 5, 10, 25, 50 and 100 %%, with the response of the driver: %s, "+
			"of %d. %s; let lc1_hal_duty interpolate.", ch.Name, ch.Output, strings.Join(codes, ", "), d.Steps, meaning)
	}
}

// corePointsOf returns at most corePoints points of a channel with whole seconds, and the largest difference to its
// programme in L*. level is the level along the day; nil is that of the points. night is the points of moonlight.
func corePointsOf(ch *day.Channel, night []day.Point, level func(second float64) float64) ([]day.Point, float64) {
	own := make([]day.Point, 0, len(ch.Points))
	for _, pt := range ch.Points {
		at := day.Point{SecondS: math.Min(day.DayS-1, math.Round(pt.SecondS)), Setting: pt.Setting}
		if n := len(own); n == 0 || at.SecondS > own[n-1].SecondS {
			own = append(own, at)
		}
	}
	var all []day.Point
	switch {
	case level == nil && len(own) <= corePoints:
		level = func(second float64) float64 { return ch.Curve.Duty(ch.SettingAt(second)) }
		return own, deviation(own, ch.Curve, level)
	case level == nil:
		level = func(second float64) float64 { return ch.Curve.Duty(ch.SettingAt(second)) }
		all = rampPoints(own)
	default:
		all = gridPoints(slices.Concat(ch.Points, night))
	}
	for i := range all {
		all[i].Setting = ch.Curve.Setting(level(all[i].SecondS))
	}
	out := reduced(all, ch.Curve)
	return out, deviation(out, ch.Curve, level)
}

// gridPoints returns times at most 5 min apart, and the seconds around points, between which a step may lie.
func gridPoints(points []day.Point) (all []day.Point) {
	var times []float64
	for s := 0.0; s < day.DayS; s += 5 * 60 {
		times = append(times, s)
	}
	for _, pt := range points {
		times = append(times, math.Floor(pt.SecondS), math.Mod(math.Ceil(pt.SecondS), day.DayS))
	}
	slices.Sort(times)
	for _, s := range slices.Compact(times) {
		all = append(all, day.Point{SecondS: s})
	}
	return all
}

// rampPoints returns the times of points, and times within the ramps between them.
func rampPoints(own []day.Point) (all []day.Point) {
	for i, pt := range own {
		next := own[(i+1)%len(own)]
		span := math.Mod(next.SecondS-pt.SecondS+day.DayS, day.DayS)
		pieces := 1.0
		if next.Setting != pt.Setting {
			pieces = math.Min(rampSamples, math.Ceil(span/60))
		}
		for k := range int(pieces) {
			second := math.Mod(math.Round(pt.SecondS+span*float64(k)/pieces), day.DayS)
			all = append(all, day.Point{SecondS: second})
		}
	}
	slices.SortFunc(all, func(a, b day.Point) int { return cmp.Compare(a.SecondS, b.SecondS) })
	return all
}

// rampSamples is the number of samples of a ramp between two points, at most one a minute.
const rampSamples = 32

// lightnessTolerance is the difference below which no further point is of use [L*]: a tenth of a step that the eye
// sees. Rule of thumb (no source).
const lightnessTolerance = 0.1

// reduced returns at most corePoints of all points: those of the smallest tolerance at which so many are enough, from
// lightnessTolerance up.
func reduced(all []day.Point, c day.Curve) []day.Point {
	bySetting := func(a, b day.Point) int { return cmp.Compare(a.Setting, b.Setting) }
	low, high := slices.MinFunc(all, bySetting), slices.MaxFunc(all, bySetting)
	if low.Setting == high.Setting {
		return []day.Point{low}
	}
	start := slices.IndexFunc(all, func(p day.Point) bool { return p == low })
	for n := len(all); all[(start+1)%n].Setting == low.Setting; {
		start = (start + 1) % n // the end of the dark
	}
	around := slices.Clone(all[start:])
	for _, pt := range all[:start+1] {
		around = append(around, day.Point{SecondS: pt.SecondS + day.DayS, Setting: pt.Setting})
	}
	least, most := lightnessTolerance, 100.0
	out := within(around, c, least)
	for range 24 {
		if len(out) <= corePoints && most == 100 {
			break // at the smallest tolerance
		}
		middle := math.Sqrt(least * most)
		if fewer := within(around, c, middle); len(fewer) <= corePoints {
			most, out = middle, fewer
		} else {
			least = middle
		}
	}
	for i := range out {
		out[i].SecondS = math.Mod(out[i].SecondS, day.DayS)
	}
	slices.SortFunc(out, func(a, b day.Point) int { return cmp.Compare(a.SecondS, b.SecondS) })
	return out
}

// within returns points of a course, without its last, so that those between them differ from straight lines by at most
// a tolerance in L*. Each line is as long as it can be.
func within(all []day.Point, c day.Curve, tolerance float64) (out []day.Point) {
	for i := 0; i < len(all)-1; {
		out = append(out, all[i])
		end := i + 1
		for end+1 < len(all) && lineDifference(all[i:end+2], c) <= tolerance {
			end++
		}
		i = end
	}
	return out
}

// lineDifference returns the largest difference of points from the line between the first and the last in L*.
func lineDifference(points []day.Point, c day.Curve) (worst float64) {
	a, b := points[0], points[len(points)-1]
	for _, pt := range points[1 : len(points)-1] {
		u := (pt.SecondS - a.SecondS) / (b.SecondS - a.SecondS)
		worst = math.Max(worst, lightnessDifference(c, a.Setting+u*(b.Setting-a.Setting), pt.Setting))
	}
	return worst
}

func lightnessDifference(c day.Curve, a, b float64) float64 {
	return math.Abs(drive.Lightness(c.Duty(a)) - drive.Lightness(c.Duty(b)))
}

// deviation returns the largest difference between points and a course of levels in L*, at each minute.
func deviation(points []day.Point, c day.Curve, level func(second float64) float64) (worst float64) {
	ch := day.Channel{Points: points}
	for s := 0.0; s < day.DayS; s += 60 {
		worst = math.Max(worst, lightnessDifference(c, ch.SettingAt(s), c.Setting(level(s))))
	}
	return worst
}

// setAcclimation sets the factor on the settings of the first days.
func (p *ControllerPlan) setAcclimation() {
	p.Config.Acclimation = controller.Acclimation{Days: 1, From: controller.One}
	if a := p.eval.Day.Programme.Acclimation; a != nil {
		p.Config.Acclimation = controller.Acclimation{
			StartDay: int64(a.StartDate), Days: int64(a.Days), From: q15(a.From),
		}
	}
}

// setPower sets power and limit of the channels: of the LEDs where the design limits them, else of the inputs of the
// drivers by the supply with the least reserve.
func (p *ControllerPlan) setPower() {
	l, use := p.eval.Lamp, p.eval.Lamp.Design.Controller
	sol := p.atFullDuty()
	total, atFull := int64(0), make([]float64, len(l.Channels))
	for i := range l.Channels {
		w := sol.Channels[i].InputOnW
		if use.PowerLimit.Set {
			w = ledOnW(l, sol, i)
		}
		atFull[i] = w
		weight := int64(math.Ceil(100 * w))
		p.Config.Channels[i].Weight10mW = weight
		total += weight
	}
	if use.PowerLimit.Set {
		p.Config.PMax10mW = int64(math.Floor(100 * use.PowerLimit.SI))
		p.note("Power limit: %s of all LEDs together, as the design states.",
			quantity.Format(use.PowerLimit.SI, quantity.Power))
		return
	}
	share, from := 1.0, ""
	for s := range l.Design.Supplies {
		load := 0.0
		for i := range l.Channels {
			if l.Channels[i].Supply == s {
				load += atFull[i]
			}
		}
		part := l.Project.Library.Supplies.Get(l.Design.Supplies[s].Part.S)
		if part != nil && load > 0 && part.Power.SI/load < share {
			share, from = part.Power.SI/load, part.ID.S
		}
	}
	p.Config.PMax10mW = max(1, int64(math.Floor(float64(total)*share)))
	if from != "" {
		p.note("Power limit: all channels at 100 %% would exceed the rated power of %s.", from)
	}
}

// atFullDuty returns the lamp with the channels of analogue dimming at their full current: the power of those of PWM
// does not depend on their duty while they are on.
func (p *ControllerPlan) atFullDuty() *engine.Solution {
	levels, analogue := make([]float64, len(p.eval.Lamp.Channels)), false
	for i := range levels {
		ch := &p.eval.Lamp.Channels[i]
		if levels[i] = ch.Level; ch.DimsCurrent() && ch.Level < 1 {
			levels[i], analogue = 1, true
		}
	}
	if !analogue {
		return &p.eval.Sol
	}
	sol := p.eval.Sys.WithLevels(levels).Solve(p.eval.Base, engine.Needs{
		Only: engine.Typical, Stages: engine.Emission | engine.Power,
	})
	return &sol
}

// ledOnW returns the electrical power of a channel at level 1 [W].
func ledOnW(l *lamp.Lamp, sol *engine.Solution, i int) float64 {
	ch := &sol.Channels[i]
	return ch.CurrentA * ch.VoltageV * float64(max(1, l.Channels[i].Strings))
}

// setClock sets the table of the zone and the earliest valid clock.
func (p *ControllerPlan) setClock(o ControllerOptions) error {
	if o.FirstYear < 2000 || o.FirstYear > 2085 {
		return fmt.Errorf("zone table from the year %d; use 2000 to 2085", o.FirstYear)
	}
	clock := p.eval.Day.Programme.Clock
	from := int64(day.Date(o.FirstYear, 1, 1)) * day.DayS
	until := int64(day.Date(o.FirstYear+zoneYears, 1, 1)) * day.DayS
	changes := clock.Transitions(from, until)
	if len(changes) > zoneRows {
		until = changes[zoneRows].UTC
		changes = changes[:zoneRows]
	}
	for _, c := range changes {
		p.Config.Zone = append(p.Config.Zone, [2]int64{c.UTC, int64(c.OffsetS)})
	}
	p.Config.MinUTC, p.untilUTC = from-day.DayS, until // the first local day may begin before that of UTC
	switch {
	case clock.Zone() == "UTC" && !p.eval.Lamp.Design.Day.TimeZone.Set:
		p.note("The design states no time zone: the programme follows UTC. Add day: {time_zone: Europe/Berlin}, or " +
			"where the lamp is.")
	case len(changes) == 1:
		p.note("Time zone %s, %s: it does not change, by edition %s of the time zone database.", clock.Zone(),
			clockKind(clock), day.ZoneVersion())
	default:
		p.note("Time zone %s, %s, by edition %s of the time zone database: %d changes of the clock, until %s. Write "+
			"the firmware anew before then, and when the law changes.", clock.Zone(), clockKind(clock),
			day.ZoneVersion(), len(changes)-1, day.FormatUTC(until))
	}
	if until < int64(day.Date(o.FirstYear+minZoneYears, 1, 1))*day.DayS {
		p.note("Warning: the zone changes its clock so often that the table of the core ends after less than %d years.",
			minZoneYears)
	}
	return nil
}

func clockKind(c day.Clock) string {
	if c.Standard() {
		return "standard time all year"
	}
	return "local clock"
}

// setSupply sets the voltages at which the lamp stops and may return.
func (p *ControllerPlan) setSupply() {
	l := p.eval.Lamp
	at, ok := l.Design.ControllerSupply()
	if !ok {
		p.Config.VinLowMV, p.Config.VinOKMV = 1, 2
		p.note("The drivers run on the mains: there is no supply to watch. Let lc1_hal_vin_mv return 2 or more.")
		return
	}
	part := l.Project.Library.Supplies.Get(l.Design.Supplies[at].Part.S)
	p.Config.VinLowMV = int64(math.Round(1000 * vinLowShare * part.Voltage.SI))
	p.Config.VinOKMV = int64(math.Round(1000 * vinOKShare * part.Voltage.SI))
}
