package casefile

import (
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"lampwright/internal/day"
	"lampwright/internal/sky"
)

// maxDates bounds the dates of a case: ten years.
const maxDates = 3660

// lampDay is a programme ready to be evaluated, with what its duties mean.
type lampDay struct {
	day.Programme
	ppfd, ledW []float64
	wallPerLed float64 // mains watts per watt of the LEDs
	standbyW   float64
	tariff     day.Tariff // nil without prices
}

// answerProgramme evaluates the programme on the dates, in the year and at the instants of a case.
func answerProgramme(c *programmeCase) (map[string]any, error) {
	l, err := c.lamp()
	if err != nil {
		return nil, err
	}
	out := map[string]any{}
	if len(c.Dates) > maxDates || len(c.Probes) > maxDates {
		return nil, fmt.Errorf("%d dates and %d probes; at most %d of each are read", len(c.Dates), len(c.Probes),
			maxDates)
	}
	if err := c.affordable(); err != nil {
		return nil, err
	}
	days := map[string]any{}
	for i, text := range c.Dates {
		date, err := day.ParseDate(text)
		if err == nil {
			days[text], err = l.date(date)
		}
		if err != nil {
			return nil, at(fmt.Sprintf("dates[%d]", i), err)
		}
	}
	if len(days) > 0 {
		out["days"] = days
	}
	if c.Year != 0 {
		if err := allWithin(bounded{"year", float64(c.Year), 2000, 2099}); err != nil {
			return nil, err
		}
		if out["year"], err = l.year(c.Year); err != nil {
			return nil, err
		}
	}
	if out["probes"], err = l.probes(c.Probes); err != nil {
		return nil, err
	}
	if len(c.Probes) == 0 {
		delete(out, "probes")
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("nothing is asked; use dates, year or probes")
	}
	return out, nil
}

// maxWork bounds dates × stretches × channels: a few seconds.
const maxWork = 1e7

// affordable returns an error for a case that would take minutes.
func (c *programmeCase) affordable() error {
	stretches, dates := 200, len(c.Dates) // of the sun
	for _, ch := range c.Channels {
		stretches += len(ch.At)
	}
	if c.Year != 0 {
		dates += 366
	}
	if work := float64(stretches) * float64(len(c.Channels)) * float64(dates); work > maxWork {
		return fmt.Errorf("%d dates of %d channels with %d points are too many; ask for fewer dates", dates,
			len(c.Channels), stretches)
	}
	return nil
}

// lamp returns the programme of a case.
func (c *programmeCase) lamp() (*lampDay, error) {
	l := &lampDay{wallPerLed: 1, standbyW: c.System.StandbyW}
	zone := c.Zone
	if zone == "" {
		zone = "UTC"
	}
	if !slices.Contains([]string{"", "local", "standard"}, c.Clock) {
		return nil, at("clock", fmt.Errorf("clock %q; use local or standard", short(c.Clock)))
	}
	var err error
	if l.Clock, err = day.NewClock(zone, c.Standard || c.Clock == "standard"); err != nil {
		return nil, at("zone", err)
	}
	if err := c.channels(l); err != nil {
		return nil, err
	}
	if err := c.system(l); err != nil {
		return nil, err
	}
	if err := c.modify(l); err != nil {
		return nil, err
	}
	return l, l.Check()
}

func (c *programmeCase) channels(l *lampDay) error {
	for i, ch := range c.Channels {
		path := fmt.Sprintf("channels[%d]", i)
		curve, err := shapeOf(ch.Shape)
		if err != nil {
			return at(path+".shape", err)
		}
		if ch.At == nil && ch.Sun != nil {
			ch.At = casePoints{{Setting: 1}}
		}
		if err := day.CheckPoints(ch.At); err != nil {
			return at(path+".points", err)
		}
		err = allWithin(bounded{path + ".ppfd_full", ch.PPFD, 0, 1e5},
			bounded{path + ".led_power_full_W", ch.LedW, 0, 1e6})
		if err != nil {
			return err
		}
		if ch.Name == "" || slices.ContainsFunc(l.Channels, func(o day.Channel) bool { return o.Name == ch.Name }) {
			return at(path, fmt.Errorf("channel %d needs a name of its own", i+1))
		}
		l.Channels = append(l.Channels, day.Channel{Name: ch.Name, Curve: curve, Points: ch.At})
		l.ppfd, l.ledW = append(l.ppfd, ch.PPFD), append(l.ledW, ch.LedW)
	}
	return nil
}

// shapeOf reads the curve from setting to duty.
func shapeOf(word string) (day.Curve, error) {
	plain := strings.ToLower(strings.NewReplacer(" ", "", "_", "", "-", "").Replace(word))
	if digits, ok := strings.CutPrefix(plain, "gamma"); ok {
		exponent, err := strconv.ParseFloat(digits, 64)
		if err == nil && exponent >= 0.1 && exponent <= 10 {
			return day.Curve{Shape: day.Gamma, Exponent: exponent}, nil
		}
	}
	switch plain {
	case "", "linear":
		return day.Curve{}, nil
	case "lightness", "l*", "lstar", "l", "cie1976", "cielightness", "cie", "ciel*":
		return day.Curve{Shape: day.Lightness}, nil
	}
	return day.Curve{}, fmt.Errorf("shape %q; use linear, lightness, or gamma with its exponent from 0.1 to 10, such "+
		"as gamma2.2", short(word))
}

// short cuts a text for an error.
func short(text string) string {
	if len(text) > 40 {
		return text[:40] + "…"
	}
	return text
}

func (c *programmeCase) system(l *lampDay) error {
	s := &c.System
	for _, e := range []struct {
		path  string
		value float64
	}{{"system.driver_efficiency", s.Driver}, {"system.supply_efficiency", s.Supply}} {
		if e.value == 0 {
			continue
		}
		if err := allWithin(bounded{e.path, e.value, 0.01, 1}); err != nil {
			return err
		}
		l.wallPerLed /= e.value
	}
	if err := allWithin(bounded{"system.standby_W", s.StandbyW, 0, 1e6}); err != nil {
		return err
	}
	switch {
	case s.Price != nil && s.Windows != nil:
		return at("system", fmt.Errorf("both tariff_per_kWh and tariff_windows; use one"))
	case s.Price != nil:
		l.tariff = day.Flat(*s.Price)
	}
	for _, w := range s.Windows {
		l.tariff = append(l.tariff, day.Window{FromS: float64(w.From), ToS: float64(w.To), PerKWh: w.Price})
	}
	if l.tariff != nil {
		if err := l.tariff.Check(); err != nil {
			return at("system", err)
		}
	}
	limit := max(c.LimitW, s.LimitW)
	for _, w := range []float64{c.LimitW, s.LimitW} {
		if err := allWithin(bounded{"led_limit_W", w, 0, 1e6}); err != nil {
			return err
		}
	}
	if limit > 0 {
		l.Budget = &day.Budget{FullW: l.ledW, MaxW: limit}
	}
	return nil
}

// indices returns the channels of names; no names are all of them.
func (c *programmeCase) indices(path string, names []string) (out []int, err error) {
	for _, name := range names {
		i := slices.IndexFunc(c.Channels, func(ch programmeChannel) bool { return ch.Name == name })
		if i < 0 {
			return nil, at(path, fmt.Errorf("no channel is called %q", short(name)))
		}
		out = append(out, i)
	}
	return out, nil
}

func (c *programmeCase) modify(l *lampDay) (err error) {
	if a := c.Acclimation; a != nil {
		l.Acclimation = &day.Acclimation{StartDate: int(a.Start), Days: a.Days, From: a.From}
		if l.Acclimation.Channels, err = c.indices("acclimation.channels", a.Channels); err != nil {
			return err
		}
	}
	if s := c.Siesta; s != nil {
		list, err := c.indices("siesta.channels", s.Channels)
		if err != nil {
			return err
		}
		if s.Window != nil {
			s.From, s.To = s.Window[0], s.Window[1]
		}
		b := day.NoonBreak{FromS: float64(s.From), ToS: float64(s.To), RampS: max(60*s.RampMin, 1), Factor: s.Factor}
		for i := range l.Channels {
			if list != nil && !slices.Contains(list, i) {
				continue
			}
			if l.Channels[i].Points, err = b.Apply(l.Channels[i].Points); err != nil {
				return at("siesta", err)
			}
		}
	}
	if x := c.Clouds; x != nil {
		l.Clouds = &day.Clouds{Amount: x.Amount, Mean: x.Mean}
		if l.Clouds.Channels, err = c.indices("clouds.channels", x.Channels); err != nil {
			return err
		}
	}
	return c.skylight(l)
}

// skylight adds what follows sun and moon.
func (c *programmeCase) skylight(l *lampDay) (err error) {
	var moons []int
	for i, ch := range c.Channels {
		if ch.Moon || c.Moon != nil && c.Moon.Channel == ch.Name {
			moons = append(moons, i)
		}
	}
	if c.Moon != nil && len(moons) == 0 {
		return at("moon.channel", fmt.Errorf("no channel is called %q", short(c.Moon.Channel)))
	}
	if len(moons) > 1 {
		return at("channels", fmt.Errorf("%d channels follow the moon; at most one does", len(moons)))
	}
	for _, i := range moons {
		l.Moonlight = &day.Moonlight{Channel: i, Points: l.Channels[i].Points, Phase: true}
		l.Channels[i].Points = []day.Point{{}}
	}
	s, list, err := c.sun()
	if s == nil || err != nil {
		return err
	}
	l.Sunlight = &day.Sunlight{
		Place: sky.Place{LatDeg: s.Lat, LonDeg: s.Lon}, NoonS: float64(s.Noon), FullDeg: s.FullDeg, Power: s.Power,
		ShiftDays: s.ShiftDays,
	}
	if s.Power == 0 {
		l.Sunlight.Power = 1
	}
	if s.FullDeg == 0 {
		l.Sunlight.FullDeg = 90
	}
	if s.Date != "" {
		date, err := day.ParseDate(s.Date)
		if err != nil {
			return at("sun.date", err)
		}
		l.Sunlight.FixedDate = &date
	}
	l.Sunlight.Channels = list
	return nil
}

// sun returns the sun of a case and the channels that follow it: one for the lamp, or the same at several channels.
func (c *programmeCase) sun() (s *caseSun, list []int, err error) {
	if s = c.Sun; s != nil {
		list, err = c.indices("sun.channels", s.Channels)
	}
	for i, ch := range c.Channels {
		if ch.Sun == nil {
			continue
		}
		if s != nil && !reflect.DeepEqual(s, ch.Sun) {
			return nil, nil, at(fmt.Sprintf("channels[%d].sun", i), errors.New("a second sun; a programme has one"))
		}
		s, list = ch.Sun, append(list, i)
	}
	return s, list, err
}

// sums are the light and energy of a span.
type sums struct {
	integral           day.Integral
	dli                float64 // mol/m²
	ledWh              float64
	wallKWh            float64
	cost               float64
	ppfdPeak, ledPeakW float64
}

// span integrates from one instant to another.
func (l *lampDay) span(from, to int64) (s sums, err error) {
	if s.integral, err = l.Integrate(from, to); err != nil {
		return s, err
	}
	for i, h := range s.integral.FullHours {
		s.dli += l.ppfd[i] * h * 3600 / 1e6
		s.ledWh += l.ledW[i] * h
	}
	s.wallKWh = l.kWh(s.integral)
	if s.ppfdPeak, err = l.Peak(from, to, l.ppfd); err != nil {
		return s, err
	}
	if s.ledPeakW, err = l.Peak(from, to, l.ledW); err != nil {
		return s, err
	}
	if l.tariff == nil {
		return s, nil
	}
	if len(l.tariff) == 1 {
		s.cost = s.wallKWh * l.tariff[0].PerKWh
		return s, nil
	}
	l.Clock.EachWindow(l.tariff, from, to, func(w int, a, b int64) {
		in, fault := l.Integrate(a, b)
		if fault != nil {
			err = fault
		}
		s.cost += l.kWh(in) * l.tariff[w].PerKWh
	})
	return s, err
}

// kWh returns the mains energy of an integral.
func (l *lampDay) kWh(in day.Integral) float64 {
	wh := l.standbyW * in.Hours
	for i, h := range in.FullHours {
		wh += l.wallPerLed * l.ledW[i] * h
	}
	return wh / 1000
}

// date returns the figures of a local date.
func (l *lampDay) date(date int) (map[string]any, error) {
	from, to := l.Clock.DayStart(date), l.Clock.DayStart(date+1)
	if from == to {
		return nil, fmt.Errorf("the zone %s skipped the date %s", l.Clock.Zone(), day.FormatDate(date))
	}
	s, err := l.span(from, to)
	if err != nil {
		return nil, err
	}
	duty := map[string]any{}
	for i, ch := range l.Channels {
		duty[ch.Name] = s.integral.MeanDuty[i]
	}
	out := map[string]any{
		"hours": s.integral.Hours, "dli": s.dli, "led_Wh": s.ledWh, "wall_kWh": s.wallKWh, "peak_ppfd": s.ppfdPeak,
		"mean_duty": duty, "wall_peak_W": s.ledPeakW*l.wallPerLed + l.standbyW, "starts_utc": day.FormatUTC(from),
		"lit_hours": s.integral.LitHours, "dark_hours": s.integral.DarkHours,
	}
	if l.tariff != nil {
		out["cost"] = s.cost
	}
	return out, nil
}

// year returns the figures of a calendar year of the local clock.
func (l *lampDay) year(year int) (map[string]any, error) {
	first, end := day.Date(year, 1, 1), day.Date(year+1, 1, 1)
	from, to := l.Clock.DayStart(first), l.Clock.DayStart(end)
	s, err := l.span(from, to)
	if err != nil {
		return nil, err
	}
	lengths := map[string]any{}
	for date := first; date < end; date++ {
		if h := l.Clock.DayHours(date); h != 24 {
			key := strconv.FormatFloat(h, 'g', -1, 64)
			list, _ := lengths[key].([]any)
			lengths[key] = append(list, day.FormatDate(date))
		}
	}
	out := map[string]any{
		"hours": s.integral.Hours, "days": float64(end - first), "dli_mean": s.dli / float64(end-first), "mol": s.dli,
		"led_kWh": s.ledWh / 1000, "wall_kWh": s.wallKWh, "peak_ppfd": s.ppfdPeak,
		"wall_peak_W": s.ledPeakW*l.wallPerLed + l.standbyW, "lit_hours": s.integral.LitHours, "odd_days": lengths,
	}
	if l.tariff != nil {
		out["cost"] = s.cost
	}
	return out, nil
}

// probes returns duties at instants.
func (l *lampDay) probes(list []caseProbe) (out []any, err error) {
	for i, p := range list {
		utc, err := day.ParseUTC(string(p))
		if err != nil {
			return nil, at(fmt.Sprintf("probes[%d]", i), err)
		}
		date, second := l.Clock.Local(utc)
		course, err := l.Course(date)
		if err != nil {
			return nil, err
		}
		duties, byName := make([]float64, len(l.Channels)), map[string]any{}
		course.Duties(float64(second), duties)
		for i, ch := range l.Channels {
			byName[ch.Name] = duties[i]
		}
		out = append(out, map[string]any{
			"utc": string(p), "offset_s": float64(l.Clock.OffsetAt(utc)), "duty": byName,
			"local": fmt.Sprintf("%s %02d:%02d:%02d", day.FormatDate(date), second/3600, second/60%60, second%60),
		})
	}
	return out, nil
}
