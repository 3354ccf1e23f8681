package day

import (
	"errors"
	"fmt"
	"slices"
)

// maxChannels is the largest number of channels of a programme.
const maxChannels = 40

// Programme is the day of a lamp: its channels, what modifies them, and the clock that they follow.
type Programme struct {
	Clock       Clock
	Channels    []Channel
	Sunlight    *Sunlight    // on settings
	Acclimation *Acclimation // on settings
	Moonlight   *Moonlight   // on settings
	Clouds      *Clouds      // on duties
	Budget      *Budget      // on duties, after clouds
}

// Check returns every error of a programme.
func (p *Programme) Check() error {
	n := len(p.Channels)
	if n == 0 || n > maxChannels {
		return fmt.Errorf("%d channels in the programme; use 1 to %d", n, maxChannels)
	}
	var errs []error
	for i, c := range p.Channels {
		for _, err := range []error{c.Curve.check(), CheckPoints(c.Points)} {
			if err != nil {
				errs = append(errs, fmt.Errorf("channel %d (%s): %w", i+1, c.Name, err))
			}
		}
	}
	if p.Acclimation != nil {
		errs = append(errs, p.Acclimation.check(n))
	}
	if p.Sunlight != nil {
		errs = append(errs, p.Sunlight.check(n))
	}
	if p.Moonlight != nil {
		errs = append(errs, p.Moonlight.check(n))
	}
	if p.Clouds != nil {
		errs = append(errs, p.Clouds.check(n))
	}
	if p.Budget != nil {
		errs = append(errs, p.Budget.check(n))
	}
	return errors.Join(errs...)
}

// SameEveryDay reports whether every date has the same course, so that a year needs one of them.
func (p *Programme) SameEveryDay() bool {
	return p.Acclimation == nil && (p.Clouds == nil || p.Clouds.PeriodS == 0) &&
		(p.Sunlight == nil || p.Sunlight.FixedDate != nil) && (p.Moonlight == nil || !p.Moonlight.Phase)
}

// line is a stretch of local time in which the setting of a channel is straight.
type line struct {
	fromS, toS float64
	a, b       float64
}

func (l line) at(s float64) float64 { return l.a + (l.b-l.a)*(s-l.fromS)/(l.toS-l.fromS) }

// Course is the programme of one local date, ready to be evaluated: seconds of its clock to settings and duties.
type Course struct {
	p     *Programme
	Date  int
	lines [][]line  // [channel], from 0 to 86 400 s without gaps
	knots []float64 // of clouds, equally spaced over the day; nil without clouds
	cloud []bool    // [channel] clouds dim it
}

// Course returns the course of a local date, days since 2000-01-01. The programme must have passed Check.
func (p *Programme) Course(date int) (*Course, error) {
	c := &Course{p: p, Date: date, lines: make([][]line, len(p.Channels)), cloud: make([]bool, len(p.Channels))}
	var sun []line
	if p.Sunlight != nil {
		sun = p.Sunlight.lines(date)
	}
	for i, ch := range p.Channels {
		factor := 1.0
		if a := p.Acclimation; a != nil && applies(a.Channels, i) {
			factor = a.FactorOn(date)
		}
		c.lines[i] = linesOf(ch.Points, factor)
		if sun != nil && applies(p.Sunlight.Channels, i) {
			c.lines[i] = combine(c.lines[i], sun, func(a, b float64) float64 { return a * b })
		}
		if p.Moonlight != nil && p.Moonlight.Channel == i {
			c.lines[i] = upper(c.lines[i], p.Moonlight.lines(p.Clock, date))
		}
	}
	if p.Clouds != nil && p.Clouds.Amount > 0 {
		var err error
		if c.knots, err = p.Clouds.knots(date); err != nil {
			return nil, err
		}
		for i := range c.cloud {
			c.cloud[i] = applies(p.Clouds.Channels, i)
		}
	}
	return c, nil
}

// applies reports whether a modifier of a list of channels acts on one; nil is all of them.
func applies(channels []int, i int) bool { return channels == nil || slices.Contains(channels, i) }

// linesOf returns the stretches of a programme from midnight to midnight, times a factor.
func linesOf(points []Point, factor float64) (out []line) {
	midnight := factor * settingAt(points, 0)
	from := line{toS: 0, b: midnight}
	for _, p := range points {
		if p.SecondS > from.toS {
			from = line{from.toS, p.SecondS, from.b, factor * p.Setting}
			out = append(out, from)
		}
	}
	return append(out, line{from.toS, DayS, from.b, midnight})
}

// Settings writes the setting of each channel at a second of the local clock, 0 to 86 400, into out.
func (c *Course) Settings(second float64, out []float64) {
	for i, lines := range c.lines {
		out[i] = lines[lineAt(lines, second)].at(second)
	}
}

// lineAt returns the index of the line of a second.
func lineAt(lines []line, second float64) int {
	lo, hi := 0, len(lines)-1
	for lo < hi {
		if mid := (lo + hi) / 2; lines[mid].toS > second {
			hi = mid
		} else {
			lo = mid + 1
		}
	}
	return lo
}

// Duties writes the duty of each channel at a second of the local clock, 0 to 86 400, into out.
func (c *Course) Duties(second float64, out []float64) {
	c.Settings(second, out)
	cloud := c.cloudFactor(second)
	for i := range out {
		out[i] = c.p.Channels[i].Curve.Duty(out[i])
		if c.cloud[i] {
			out[i] *= cloud
		}
	}
	if c.p.Budget != nil {
		k := c.p.Budget.FactorFor(out)
		for i := range out {
			out[i] *= k
		}
	}
}

// cloudFactor returns the factor of clouds on duty at a second of the day [1].
func (c *Course) cloudFactor(second float64) float64 {
	if c.knots == nil {
		return 1
	}
	n := len(c.knots) - 1
	u := second / DayS * float64(n)
	i := min(int(u), n-1)
	x := c.knots[i] + (u-float64(i))*(c.knots[i+1]-c.knots[i])
	return 1 - c.p.Clouds.Amount*(1-x)
}

// Walk calls do at each of the instants from, from + step … before to with the local second and the course of its
// date, which it computes once a date.
func (p *Programme) Walk(from, to, step int64, do func(utc int64, second float64, c *Course)) error {
	if step < 1 {
		panic("day: step below one second")
	}
	var c *Course
	for utc := from; utc < to; utc += step {
		date, second := p.Clock.Local(utc)
		if c == nil || c.Date != date {
			next, err := p.Course(date)
			if err != nil {
				return err
			}
			c = next
		}
		do(utc, float64(second), c)
	}
	return nil
}
