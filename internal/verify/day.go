package verify

import (
	"fmt"
	"math"

	"lampwright/internal/day"
	"lampwright/internal/sky"
)

// dayChecks computes the rows of data/day.csv.
func dayChecks() map[string]check {
	out := map[string]check{}
	list := numbered(out)
	sunRows(list)
	moonRows(list)
	codeRows(list)
	clockRows(out)
	return out
}

// secondOf returns the second within the day of an instant at a distance from UTC.
func secondOf(utc, offsetS float64) float64 {
	return math.Mod(utc+offsetS, day.DayS)
}

func sunRows(add rows) {
	sun := sky.SunAt(2448908.5)
	add("DY01", sun.LongitudeDeg, sun.DeclinationDeg)
	add("DY02", sun.EquationMin)
	add("DY03", sky.SeasonAt(1962, sky.JuneSolstice))
	golden, utc := sky.Place{LatDeg: 39.742476, LonDeg: -105.1786}, float64(day.Date(2003, 10, 17))*day.DayS+70230
	add("DY04", golden.SunElevation(utc), sky.SunAt(sky.JDE(utc)).EquationMin)
	const west = -7 * 3600
	october := golden.SolarDay(day.Date(2003, 10, 17))
	add("DY05", secondOf(october.Sun.Rise.UTC, west), secondOf(october.TransitUTC, west))
	before := golden.SolarDay(day.Date(2003, 10, 16))
	add("DY06", secondOf(october.Sun.Set.UTC, west), secondOf(before.Sun.Set.UTC, west))
	north, south, equator := sky.Place{LatDeg: 52.5, LonDeg: 13.5}, sky.Place{LatDeg: -34, LonDeg: 151}, sky.Place{}
	june, march := north.SolarDay(day.Date(2027, 6, 21)), north.SolarDay(day.Date(2027, 3, 20))
	add("DY07", secondOf(june.Sun.Rise.UTC, 0), secondOf(south.SolarDay(day.Date(2027, 12, 22)).Sun.Set.UTC, 0))
	equal := equator.SolarDay(day.Date(2027, 3, 20))
	add("DY08", equal.Hours(equal.Sun))
	dusk := func(d sky.SolarDay) float64 { return (d.Civil.Set.UTC - d.Sun.Set.UTC) / 60 }
	add("DY09", dusk(june), dusk(march), dusk(equal))
	add("DY10", sky.AirMass(90), sky.AirMass(60), sky.AirMass(30), sky.AirMass(10), sky.AirMass(5), sky.AirMass(0))
}

func moonRows(add rows) {
	moon := sky.MoonAt(2448724.5)
	add("DY11", moon.LongitudeDeg, moon.LatitudeDeg, moon.DistanceM/1e3)
	add("DY12", sky.IlluminatedAt(2448724.5))
	add("DY13", sky.PhaseAt(-283*4).JDE)
	add("DY14", sky.PhaseAt(544*4+3).JDE)
	from, to := float64(day.Date(2027, 1, 1))*day.DayS, float64(day.Date(2028, 1, 1))*day.DayS
	phases, full := sky.Phases(from, to), 0.0
	for _, p := range phases {
		if p.Kind == sky.FullMoon && full == 0 {
			full = sky.UTC(p.JDE)
		}
	}
	add("DY15", secondOf(full, 0)/60, float64(len(phases)))
}

func codeRows(add rows) {
	curve := day.Curve{Shape: day.Lightness}
	row := func(k int) float64 { return math.Floor(32768*curve.Duty(float64(k)/256) + 0.5) }
	sum := 0.0
	for k := range 257 {
		sum += row(k)
	}
	add("DY19", sum, row(1), row(64), row(128), row(192), row(255))
	budget, duties := day.Budget{FullW: []float64{64, 12}, MaxW: 55}, []float64{1, 0.717}
	k := budget.FactorFor(duties)
	add("DY30", k*(64*duties[0]+12*duties[1]), k*duties[1]/(k*duties[0]))
}

// clockRows computes the rows that need a time zone.
func clockRows(out map[string]check) {
	in := func(zone string, of func(c day.Clock) float64) check {
		return func() (float64, error) {
			c, err := day.NewClock(zone, false)
			if err != nil {
				return 0, fmt.Errorf("time zone of a check row: %w", err)
			}
			return of(c), nil
		}
	}
	const berlin, newYork, lordHowe = "Europe/Berlin", "America/New_York", "Australia/Lord_Howe"
	changes := func(c day.Clock) []day.Transition {
		return c.Transitions(int64(day.Date(2026, 1, 1))*day.DayS, int64(day.Date(2029, 1, 1))*day.DayS)[1:]
	}
	out["DY16a"] = func() (sum float64, err error) {
		for _, zone := range []string{berlin, newYork, lordHowe} {
			n, err := in(zone, func(c day.Clock) float64 { return float64(len(changes(c))) })()
			if err != nil {
				return 0, err
			}
			sum += n
		}
		return sum, nil
	}
	out["DY16b"] = in(lordHowe, func(c day.Clock) float64 { return secondOf(float64(changes(c)[2].UTC), 0) })
	out["DY16c"] = in(lordHowe, func(c day.Clock) float64 { return float64(changes(c)[2].OffsetS) })
	out["DY16d"] = in("Asia/Kathmandu", func(c day.Clock) float64 { return float64(c.OffsetAt(0)) })
	length := func(zone string, year, month, dayOfMonth int) check {
		return in(zone, func(c day.Clock) float64 { return c.DayHours(day.Date(year, month, dayOfMonth)) })
	}
	out["DY17a"], out["DY17b"] = length(berlin, 2027, 3, 28), length(berlin, 2027, 10, 31)
	out["DY17c"], out["DY17d"] = length(lordHowe, 2027, 4, 4), length(lordHowe, 2027, 10, 3)
	out["DY18a"] = in(berlin, func(c day.Clock) float64 {
		return float64(c.DayStart(day.Date(2029, 1, 1))-c.DayStart(day.Date(2028, 1, 1))) / 3600
	})
	out["DY18b"], out["DY18c"] = length(berlin, 2028, 3, 26), length(berlin, 2028, 10, 29)
	usual, spring, autumn := nightRamp(2027, 6, 1), nightRamp(2027, 3, 28), nightRamp(2027, 10, 31)
	out["DY29a"] = in(berlin, func(c day.Clock) float64 { return usual(c) - spring(c) })
	out["DY29b"] = in(berlin, func(c day.Clock) float64 { return autumn(c) - usual(c) })
}

// nightRamp returns the hours of full light of a light that falls from 0.4 to 0 between 02:00 and 04:00 of a date.
func nightRamp(year, month, dayOfMonth int) func(c day.Clock) float64 {
	return func(c day.Clock) float64 {
		p := day.Programme{Clock: c, Channels: []day.Channel{{Points: []day.Point{
			{SecondS: 2 * 3600, Setting: 0.4},
			{SecondS: 4 * 3600},
			{SecondS: 22 * 3600},
			{SecondS: 23 * 3600, Setting: 0.4},
		}}}}
		date := day.Date(year, month, dayOfMonth)
		in, err := p.Integrate(c.DayStart(date), c.DayStart(date+1))
		if err != nil {
			return math.NaN()
		}
		return in.FullHours[0]
	}
}
