package study

import (
	"context"
	"fmt"
	"math"

	"lampwright/internal/day"
	"lampwright/internal/engine"
	"lampwright/internal/figure"
)

// Year is the light and the energy of a lamp over the local days of a calendar year.
type Year struct {
	Year      int       `json:"year"`
	Zone      string    `json:"zone"`
	Hours     float64   `json:"hours"` // of the year
	ShortDays []string  `json:"short_days"`
	LongDays  []string  `json:"long_days"` // dates that are not 24 h long
	Dates     []string  `json:"dates"`
	DLI       []float64 `json:"dli_mol_m2"`
	EnergyKWh []float64 `json:"energy_kwh"`
	MeanDLI   float64   `json:"mean_dli_mol_m2"`
	MinDLI    float64   `json:"min_dli_mol_m2"`
	MaxDLI    float64   `json:"max_dli_mol_m2"`
	TotalKWh  float64   `json:"total_kwh"`
	Cost      float64   `json:"cost"`  // [EUR]; 0 without a tariff
	Exact     int       `json:"exact"` // dates that are solved along their course
}

// exactEvery is the distance of the dates whose course is solved [d].
const exactEvery = 30

// YearOf returns a year of a lamp's programme.
//
//	DLI(d) = r_L(d) Σ E_c h_c(d)      W(d) = P_sb T(d) + r_P(d) Σ P_c h_c(d)
//
// E_c and P_c are the PPFD and the input power of channel c at full level, h_c its hours at full level with the same
// duty, exact over the local day of T hours, P_sb the standby power. The ratios r_L and r_P of light and power along
// the temperatures to these sums are computed from the course of every 30th date, and are linear between them.
// A programme that is the same every day needs one. It is an error where the design states no programme.
func YearOf(ctx context.Context, r *figure.Evaluation, year int) (*Year, error) {
	p, err := programmeOf(r)
	if err != nil {
		return nil, err
	}
	first, end := day.Date(year, 1, 1), day.Date(year+1, 1, 1)
	y := &yearSolver{r: r, p: p, out: &Year{Year: year, Zone: p.Clock.Zone(), MinDLI: math.Inf(1)}}
	y.tariff, y.priced = r.Lamp.Tariff()
	var before, after exactDay
	for date := first; date < end; date++ {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		switch at := (date - first) % exactEvery; {
		case p.SameEveryDay() && date > first:
		case p.SameEveryDay():
			if before, err = y.solve(ctx, date); err != nil {
				return nil, err
			}
			after = before
		case at == 0:
			if before = after; date == first {
				if before, err = y.solve(ctx, date); err != nil {
					return nil, err
				}
			}
			if after, err = y.solve(ctx, min(date+exactEvery, end-1)); err != nil {
				return nil, err
			}
		}
		if err := y.add(date, before.towards(after, date)); err != nil {
			return nil, err
		}
	}
	y.out.MeanDLI /= float64(end - first)
	return y.out, nil
}

// yearSolver sums the days of a year.
type yearSolver struct {
	r      *figure.Evaluation
	p      *day.Programme
	tariff day.Tariff
	priced bool
	out    *Year
}

// exactDay is the light, the power and the price of a date along its course, over those of the plain sums.
type exactDay struct {
	date         int
	light, power float64
	pricePerKWh  float64
}

// towards returns the ratios of a date between two.
func (a exactDay) towards(b exactDay, date int) exactDay {
	if a.date == b.date {
		return a
	}
	u := float64(date-a.date) / float64(b.date-a.date)
	mix := func(x, y float64) float64 { return x + u*(y-x) }
	return exactDay{
		date: date, light: mix(a.light, b.light), power: mix(a.power, b.power),
		pricePerKWh: mix(a.pricePerKWh, b.pricePerKWh),
	}
}

// plain returns the DLI and the energy above standby of a span without the temperatures along it [mol/m², kWh].
func (y *yearSolver) plain(hours []float64) (dli, kWh float64) {
	for i := range hours {
		c, ch := &y.r.Sol.Channels[i], &y.r.Lamp.Channels[i]
		if ch.Level > 0 {
			dli += c.TargetPPFD / ch.Level * hours[i] * 3600e-6
			kWh += c.InputW / ch.Level * hours[i] / 1000
		}
	}
	return dli, kWh
}

// solve returns a date along its course.
func (y *yearSolver) solve(ctx context.Context, date int) (exactDay, error) {
	y.out.Exact++
	d, err := y.r.Sys.DayCourse(ctx, engine.DayInput{
		Programme: y.p, Date: date, Params: y.r.Base, StepS: engine.ReferenceStepS,
	})
	if err != nil {
		return exactDay{}, fmt.Errorf("day of %s: %w", day.FormatDate(date), err)
	}
	hours := make([]float64, len(y.r.Lamp.Channels))
	levels := make([]float64, len(d.TimesS))
	for i := range hours {
		for k := range levels {
			levels[k] = d.Asked[k][i]
		}
		hours[i] = d.Integral(levels) / 3600
	}
	out := exactDay{date: date, light: 1, power: 1}
	dli, kWh := y.plain(hours)
	energy := d.Integral(d.MainsW)/3.6e6 - y.r.Sol.Mains.StandbyW*24/1000
	if dli > 0 {
		out.light = 1e-6 * d.Integral(d.PPFD) / dli
	}
	if kWh > 0 {
		out.power = energy / kWh
	}
	if y.priced {
		bill, err := d.Bill(y.tariff)
		if err != nil {
			return out, err
		}
		if out.pricePerKWh = y.tariff[0].PerKWh; bill.KWh > 0 {
			out.pricePerKWh = bill.Cost / bill.KWh
		}
	}
	return out, nil
}

// add adds a local date with its ratios.
func (y *yearSolver) add(date int, x exactDay) error {
	from, to := y.p.Clock.DayStart(date), y.p.Clock.DayStart(date+1)
	sum, err := y.p.Integrate(from, to)
	if err != nil {
		return err
	}
	o, name := y.out, day.FormatDate(date)
	switch {
	case sum.Hours < 24:
		o.ShortDays = append(o.ShortDays, name)
	case sum.Hours > 24:
		o.LongDays = append(o.LongDays, name)
	}
	dli, kWh := y.plain(sum.FullHours)
	dli, kWh = dli*x.light, kWh*x.power+y.r.Sol.Mains.StandbyW*sum.Hours/1000
	o.Hours += sum.Hours
	o.Dates, o.DLI, o.EnergyKWh = append(o.Dates, name), append(o.DLI, dli), append(o.EnergyKWh, kWh)
	o.MeanDLI += dli
	o.MinDLI, o.MaxDLI = math.Min(o.MinDLI, dli), math.Max(o.MaxDLI, dli)
	o.TotalKWh += kWh
	o.Cost += kWh * x.pricePerKWh
	return nil
}
