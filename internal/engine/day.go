package engine

import (
	"context"
	"math"
	"slices"

	"lampwright/internal/day"
	"lampwright/internal/drive"
	"lampwright/internal/lamp"
)

// DayCourse is a lamp over one local day, from midnight to midnight.
type DayCourse struct {
	TimesS []float64   // of the local clock, rising from 0 to 86 400
	Levels [][]float64 // [time][channel], as the drivers make them
	Asked  [][]float64 // [time][channel], of the programme
	*Course
}

// DayInput is what a course of a day depends on.
type DayInput struct {
	Programme *day.Programme
	Date      int         // local date, days since 2000-01-01
	Case      CaseKey     // typical where it is empty
	Params    lamp.Params // nil is the nominal lamp
	StepS     float64     // longest interval; points of the programme are times as well
}

const (
	preRollS     = 3 * 3600 // before midnight, in which the heat sink takes the temperature of the evening
	preRollStepS = 900
)

// DayCourse returns the lamp over a day. The heat sink starts at midnight as the same evening would leave it. With a
// controller a channel is off below the level that its driver needs, and never lower than the driver's minimum; see
// drive.Dimmer.
func (s *System) DayCourse(ctx context.Context, in DayInput) (*DayCourse, error) {
	course, err := in.Programme.Course(in.Date)
	if err != nil {
		return nil, err
	}
	d := s.dayLevels(course)
	out := &DayCourse{}
	for t := day.DayS - float64(preRollS); t < day.DayS; t += preRollStepS {
		out.add(t-day.DayS, d, t)
	}
	before := len(out.TimesS)
	for _, t := range dayTimes(in.Programme, in.StepS) {
		if last := len(out.TimesS) - 1; last >= before {
			for _, at := range d.switched(out.TimesS[last], t) {
				out.add(at, d, at)
			}
		}
		out.add(t, d, t)
	}
	c, err := s.Course(ctx, CourseInput{Case: in.Case, Params: in.Params, TimesS: out.TimesS, Levels: out.Levels})
	if err != nil {
		return nil, err
	}
	c.dropFirst(before)
	out.TimesS, out.Levels, out.Asked, out.Course = out.TimesS[before:], out.Levels[before:], out.Asked[before:], c
	return out, nil
}

// add adds the levels of a second of the clock at a time.
func (c *DayCourse) add(timeS float64, d *dayLevels, second float64) {
	asked := make([]float64, len(d.drivers))
	d.course.Duties(second, asked)
	c.TimesS, c.Asked, c.Levels = append(c.TimesS, timeS), append(c.Asked, asked), append(c.Levels, d.made(asked))
}

// dayLevels turns the levels of a programme into those that the drivers make.
type dayLevels struct {
	course  *day.Course
	drivers []channelDriver
}

// channelDriver is the driver of a channel behind the output of a controller; the zero value makes any level.
type channelDriver struct {
	known   bool
	pwm     bool
	dimmer  drive.Dimmer
	minimum float64 // level
}

// dayLevels returns the levels of a date.
func (s *System) dayLevels(course *day.Course) *dayLevels {
	out := &dayLevels{course: course, drivers: make([]channelDriver, len(s.Lamp.Channels))}
	for i := range out.drivers {
		x := &out.drivers[i]
		if x.dimmer, x.known = s.Lamp.Dimmer(i); x.known {
			x.pwm, x.minimum = s.Lamp.Channels[i].PWM(), x.dimmer.MinDuty
		}
	}
	return out
}

// made returns the levels that the drivers make of those that are asked for.
func (d *dayLevels) made(asked []float64) []float64 {
	out := make([]float64, len(asked))
	for i, level := range asked {
		x := &d.drivers[i]
		switch {
		case !x.known:
			out[i] = level
		case level <= 0 || level < x.dimmer.OffBelow:
		case x.pwm:
			out[i] = x.dimmer.Level(x.dimmer.Code(level))
		default:
			out[i] = math.Max(level, x.minimum)
		}
	}
	return out
}

// switchS is the time within which a channel is switched [s].
const switchS = 1

// switched returns the times about which a channel is switched on or off between two times, before and after.
func (d *dayLevels) switched(fromS, toS float64) (out []float64) {
	lit := func(second float64, i int) bool {
		asked := make([]float64, len(d.drivers))
		d.course.Duties(second, asked)
		return d.made(asked)[i] > 0
	}
	for i := range d.drivers {
		if !d.drivers[i].known || toS-fromS <= switchS {
			continue
		}
		at := lit(fromS, i)
		if at == lit(toS, i) {
			continue
		}
		lo, hi := fromS, toS
		for hi-lo > switchS {
			if mid := (lo + hi) / 2; lit(mid, i) == at {
				lo = mid
			} else {
				hi = mid
			}
		}
		out = append(out, lo, hi)
	}
	slices.Sort(out)
	return slices.DeleteFunc(slices.Compact(out), func(s float64) bool { return s <= fromS || s >= toS })
}

// dayTimes returns the points of a programme and times at most stepS apart, from 0 to 86 400 s.
func dayTimes(p *day.Programme, stepS float64) []float64 {
	times := []float64{0, day.DayS}
	for _, c := range p.Channels {
		for _, point := range c.Points {
			times = append(times, point.SecondS)
		}
	}
	if p.Moonlight != nil {
		for _, point := range p.Moonlight.Points {
			times = append(times, point.SecondS)
		}
	}
	slices.Sort(times)
	times = slices.Compact(times)
	out := times[:1:1]
	for i := 1; i < len(times); i++ {
		pieces := math.Ceil((times[i]-times[i-1])/stepS - 1e-9)
		for k := 1.0; k <= pieces; k++ {
			out = append(out, times[i-1]+(times[i]-times[i-1])*k/pieces)
		}
	}
	return out
}

// dropFirst leaves out the first times.
func (c *Course) dropFirst(n int) {
	for _, x := range []*[]float64{
		&c.SinkK, &c.JunctionK, &c.PPFD, &c.Lux, &c.CCTK, &c.Duv, &c.MainsW,
	} {
		*x = (*x)[n:]
	}
	c.XYZ = c.XYZ[n:]
	if c.SensorK != nil {
		c.SensorK = c.SensorK[n:]
	}
	for _, list := range [][][]float64{c.ChannelK, c.ChannelPPFD, c.SupplyW} {
		for i := range list {
			list[i] = list[i][n:]
		}
	}
}

// Integral returns the integral of values over the times of the day, by the trapezoidal rule [unit · s].
func (d *DayCourse) Integral(values []float64) (sum float64) {
	for k := 1; k < len(values); k++ {
		sum += (d.TimesS[k] - d.TimesS[k-1]) * (values[k] + values[k-1]) / 2
	}
	return sum
}

// HoursAbove returns for how many hours values are above a limit, linear between times.
func (d *DayCourse) HoursAbove(values []float64, limit float64) (hours float64) {
	for k := 1; k < len(values); k++ {
		a, b := values[k-1]-limit, values[k]-limit
		span := (d.TimesS[k] - d.TimesS[k-1]) / 3600
		switch {
		case a > 0 && b > 0:
			hours += span
		case a > 0 || b > 0:
			hours += span * math.Max(a, b) / math.Abs(a-b)
		}
	}
	return hours
}

// DayHours is the light and the energy of a day over those at full level: what a figure of a day is for any sample of
// the tolerances.
type DayHours struct {
	LightH   []float64 // by channel: light of the day at the target over that at full level [h]
	OtherDLI float64   // of channels that are off at full level [mol/m²]
	PowerH   float64   // mains energy of the day above standby, over that at full level [h]
	OtherKWh float64   // mains energy of the day above standby where there is no light at full level
	HalfH    float64   // with a PPFD above half of its maximum: the photoperiod
	DarkH    float64   // longest time without light at the target
	MaxPPFD  float64
	// of the light while the PPFD is above half of its maximum; 0 where it has no CCT at any of these times
	MinCCTK, MaxCCTK float64
	Points           int     // of the programme, of the channel that has most
	SteadyDLI        float64 // of the others, with light in proportion to level [mol/m²]
	Course           *DayCourse
}

// ReferenceStepS is the longest interval of the reference day: halving it changes DLI and energy by less than 0.1 %.
const ReferenceStepS = 600

// LitPPFD is the PPFD at the target from which it counts as lit [µmol/m²/s]: about 0.2 lx, a full moon. Convention.
const LitPPFD = 0.005

// DayHours returns the hours of a day of the programme. The reference is the solution at full level.
func (s *System) DayHours(ctx context.Context, p *day.Programme, full *Solution) (*DayHours, error) {
	d, err := s.DayCourse(ctx, DayInput{Programme: p, Params: full.Params, StepS: ReferenceStepS})
	if err != nil {
		return nil, err
	}
	out := &DayHours{Course: d, LightH: make([]float64, len(s.Lamp.Channels))}
	levels := make([]float64, len(d.TimesS))
	for i := range out.LightH {
		sum := d.Integral(d.ChannelPPFD[i])
		ch := &s.Lamp.Channels[i]
		if at := full.Channels[i].TargetPPFD; at > 0 {
			out.LightH[i] = sum / at / 3600
			for k := range levels {
				levels[k] = d.Levels[k][i]
			}
			out.SteadyDLI += 1e-6 * at * d.Integral(levels) / ch.Level
		} else {
			out.OtherDLI += 1e-6 * sum
		}
		out.Points = max(out.Points, len(p.Channels[i].Points))
	}
	aboveWh := d.Integral(d.MainsW)/3600 - 24*full.Mains.StandbyW
	if above := full.Mains.PowerW - full.Mains.StandbyW; above > 0 && full.Light.RadiantW > 0 {
		out.PowerH = aboveWh / above
	} else {
		out.OtherKWh = aboveWh / 1000
	}
	out.MaxPPFD = slices.Max(d.PPFD)
	out.MinCCTK, out.MaxCCTK = d.CCTAbove(out.MaxPPFD / 2)
	out.HalfH = d.HoursAbove(d.PPFD, out.MaxPPFD/2)
	out.DarkH = d.longestDark()
	return out, nil
}

// longestDark returns the longest time without light, over midnight too [h].
func (d *DayCourse) longestDark() float64 {
	longest, since := 0.0, 0.0
	for range 2 { // over midnight
		for k := 1; k < len(d.PPFD); k++ {
			if d.PPFD[k] <= LitPPFD && d.PPFD[k-1] <= LitPPFD {
				since += d.TimesS[k] - d.TimesS[k-1]
			} else {
				longest, since = math.Max(longest, since), 0
			}
		}
	}
	return math.Min(day.DayS, math.Max(longest, since)) / 3600
}

// CCTAbove returns the range of the CCT while the PPFD is above a limit [K]; 0 where the light has none at some time.
func (d *DayCourse) CCTAbove(ppfd float64) (lo, hi float64) {
	for k, e := range d.PPFD {
		if e <= ppfd {
			continue
		}
		if d.CCTK[k] == 0 {
			return 0, 0
		}
		if lo == 0 || d.CCTK[k] < lo {
			lo = d.CCTK[k]
		}
		hi = math.Max(hi, d.CCTK[k])
	}
	return lo, hi
}

// Bill returns the mains energy of the day and its cost.
func (d *DayCourse) Bill(tariff day.Tariff) (day.Bill, error) {
	var course []day.Sample
	for k, t := range d.TimesS {
		now := day.Sample{UTC: int64(math.Round(t)), PowerW: d.MainsW[k]}
		if n := len(course); n > 0 && course[n-1].UTC == now.UTC { // on both sides of a switch
			course[n-1] = now
			continue
		}
		course = append(course, now)
	}
	return day.Clock{}.Cost(tariff, course)
}
