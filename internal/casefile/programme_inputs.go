package casefile

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"lampwright/internal/day"
)

// programmeCase is a programme of a lamp with dates, a year or instants at which it is evaluated.
type programmeCase struct {
	Zone        string             `json:"zone"`
	Clock       string             `json:"clock"`
	Standard    bool               `json:"standard_time"`
	Dates       caseDates          `json:"dates"`
	Year        int                `json:"year"`
	Channels    []programmeChannel `json:"channels"`
	System      programmeSystem    `json:"system"`
	LimitW      float64            `json:"led_limit_W"`
	Acclimation *caseAcclimation   `json:"acclimation"`
	Siesta      *caseSiesta        `json:"siesta"`
	Clouds      *caseClouds        `json:"clouds"`
	Moon        *caseMoon          `json:"moon"`
	Sun         *caseSun           `json:"sun"`
	Probes      []caseProbe        `json:"probes"`
	Rule        remark             `json:"rule"`
	Source      remark             `json:"source"`
}

// limitNames are other names of the limit of the power of all channels.
var limitNames = []string{
	"led_power_limit_W", "power_limit_W", "limit_W", "max_led_W", "led_max_W", "p_max_W", "P_max_W", "budget_W",
	"power_budget_W",
}

func (*programmeCase) rename() map[string]string {
	return withNames(map[string]string{
		"time_zone": "zone", "timezone": "zone", "tz": "zone", "noon_break": "siesta", "moonlight": "moon",
		"follow_sun": "sun",
		"standard":   "standard_time", "date_range": "dates",
	}, "led_limit_W", limitNames)
}

func withNames(out map[string]string, to string, names []string) map[string]string {
	for _, n := range names {
		out[n] = to
	}
	return out
}

type programmeChannel struct {
	Name  string     `json:"name"`
	PPFD  float64    `json:"ppfd_full"`
	LedW  float64    `json:"led_power_full_W"`
	Shape string     `json:"shape"`
	At    casePoints `json:"points"`
	Moon  bool       `json:"moon"`
	Sun   *caseSun   `json:"sun"`
}

func (*programmeChannel) rename() map[string]string {
	return map[string]string{
		"id": "name", "curve": "shape", "keyframes": "points", "ppfd_full_umol": "ppfd_full", "follow_sun": "sun",
		"led_full_W": "led_power_full_W", "power_full_W": "led_power_full_W", "moon_phase": "moon",
	}
}

type programmeSystem struct {
	Driver   float64       `json:"driver_efficiency"`
	Supply   float64       `json:"supply_efficiency"`
	StandbyW float64       `json:"standby_W"`
	Price    *float64      `json:"tariff_per_kWh"`
	Windows  []priceWindow `json:"tariff_windows"`
	LimitW   float64       `json:"led_limit_W"`
}

func (*programmeSystem) rename() map[string]string {
	return withNames(map[string]string{
		"price_per_kWh": "tariff_per_kWh", "tariff": "tariff_windows", "tariffs": "tariff_windows",
		"windows": "tariff_windows",
	}, "led_limit_W", limitNames)
}

type caseAcclimation struct {
	Start    caseDate `json:"start_date"`
	Days     int      `json:"days"`
	From     float64  `json:"from"`
	Channels []string `json:"channels"`
}

func (*caseAcclimation) rename() map[string]string {
	return map[string]string{
		"start": "start_date", "date": "start_date", "start_day": "start_date", "start_factor": "from",
		"initial": "from", "initial_factor": "from", "factor": "from", "from_factor": "from", "duration_days": "days",
	}
}

type caseSiesta struct {
	From     clockTime `json:"from"`
	To       clockTime `json:"to"`
	Factor   float64   `json:"factor"`
	RampMin  float64   `json:"ramp_min"`
	Channels []string  `json:"channels"`

	Window *[2]clockTime `json:"window"` // in place of from and to
}

func (*caseSiesta) rename() map[string]string {
	return map[string]string{
		"start": "from", "end": "to", "from_min": "from", "to_min": "to", "level": "factor", "setting": "factor",
		"ramp": "ramp_min", "ramp_minutes": "ramp_min", "minutes": "window", "between": "window",
	}
}

type caseClouds struct {
	Amount   float64  `json:"amount"`
	Mean     float64  `json:"mean"`
	PeriodS  remark   `json:"period_s"`
	Seed     remark   `json:"seed"`
	Channels []string `json:"channels"`
}

func (*caseClouds) rename() map[string]string {
	return map[string]string{
		"a": "amount", "depth": "amount", "mean_x": "mean", "mean_clear": "mean", "x_mean": "mean",
		"period":     "period_s",
		"period_min": "period_s",
	}
}

type caseMoon struct {
	Channel string `json:"channel"`
}

type caseSun struct {
	skyPlace
	Date      string    `json:"date"`
	Noon      clockTime `json:"noon"`
	FullDeg   float64   `json:"h_ref_deg"`
	Power     float64   `json:"power"`
	ShiftDays int       `json:"shift_days"`
	Channels  []string  `json:"channels"`
}

func (s *caseSun) rename() map[string]string {
	out := s.skyPlace.rename()
	for from, to := range map[string]string{
		"transit": "noon", "local_noon": "noon", "noon_local": "noon", "noon_min": "noon", "transit_local": "noon",
		"transit_min": "noon", "h_ref": "h_ref_deg", "full_level_elevation_deg": "h_ref_deg", "p": "power",
		"exponent": "power", "fixed_date": "date", "frozen_date": "date",
	} {
		out[from] = to
	}
	return out
}

// caseDate is a local date in days since 2000-01-01: a text, or that number.
type caseDate int

func (c *caseDate) decode(d *decoder, n *node, path string) {
	if n.kind == number {
		d.fill(n, (*int)(c), path)
		return
	}
	var s string
	d.fill(n, &s, path)
	date, err := day.ParseDate(s)
	if err != nil && n.kind == text {
		d.problem(n.at, "%s: %s", path, err)
	}
	*c = caseDate(date)
}

// clockTime is a time of the local clock [s]: a number of minutes, or a text such as "22:30".
type clockTime float64

func (c *clockTime) decode(d *decoder, n *node, path string) {
	if n.kind == number {
		var minutes float64
		d.fill(n, &minutes, path)
		*c = clockTime(60 * minutes)
		return
	}
	var s string
	d.fill(n, &s, path)
	total, unit := 0.0, 3600.0
	for part := range strings.SplitSeq(s, ":") {
		v, err := strconv.ParseUint(part, 10, 8)
		if err != nil || unit < 1 || v > 59 || v > 24 && unit == 3600 {
			d.problem(n.at, "%s is %q; it takes minutes of the local clock, or a text such as \"22:30\"", path, s)
			return
		}
		total += float64(v) * unit
		unit /= 60
	}
	*c = clockTime(total)
}

// casePoints are points of a programme: pairs of a time and a setting, or objects.
type casePoints []day.Point

// casePoint is a point as an object.
type casePoint struct {
	Time    clockTime `json:"minute"`
	Setting float64   `json:"setting"`
}

func (*casePoint) rename() map[string]string {
	return map[string]string{"time": "minute", "at": "minute", "min": "minute", "level": "setting"}
}

func (p *casePoints) decode(d *decoder, n *node, path string) {
	if n.kind != list {
		d.problem(n.at, "%s is a JSON %s; it takes a list of [minute, setting]", path, n.kind)
		return
	}
	for i, item := range n.items {
		var one casePoint
		where := fmt.Sprintf("%s[%d]", path, i)
		switch {
		case item.kind == list && len(item.items) == 2:
			d.fill(item.items[0], &one.Time, where+"[0]")
			d.fill(item.items[1], &one.Setting, where+"[1]")
		case item.kind == object:
			d.fill(item, &one, where)
		default:
			d.problem(item.at, "%s is no pair of minute and setting", where)
		}
		*p = append(*p, day.Point{SecondS: float64(one.Time), Setting: one.Setting})
	}
	*p = fromMidnight(*p)
}

// fromMidnight returns points that pass midnight once in the order of the clock; others as they are.
func fromMidnight(points []day.Point) []day.Point {
	for i := 1; i < len(points); i++ {
		if points[i].SecondS < points[i-1].SecondS && points[len(points)-1].SecondS < points[0].SecondS {
			return append(slices.Clone(points[i:]), points[:i]...)
		}
	}
	return points
}

// caseDates are single dates, or an object with from and to, both of them included.
type caseDates []string

type dateRange struct {
	From string `json:"from"`
	To   string `json:"to"`
}

func (*dateRange) rename() map[string]string {
	return map[string]string{"start": "from", "first": "from", "end": "to", "last": "to"}
}

func (c *caseDates) decode(d *decoder, n *node, path string) {
	if n.kind == list {
		var all []string
		d.fill(n, &all, path)
		*c = all
		return
	}
	var r dateRange
	d.fill(n, &r, path)
	from, errFrom := day.ParseDate(r.From)
	to, errTo := day.ParseDate(r.To)
	if errFrom != nil || errTo != nil || to < from || to-from >= maxDates {
		d.problem(n.at, "%s is no range of at most %d dates, such as {\"from\": \"2027-01-01\", \"to\": "+
			"\"2027-01-31\"}", path, maxDates)
		return
	}
	for date := from; date <= to; date++ {
		*c = append(*c, day.FormatDate(date))
	}
}

// priceWindow is a part of the local day with a price: an object, or [from, to, price].
type priceWindow struct {
	From  clockTime `json:"from"`
	To    clockTime `json:"to"`
	Price float64   `json:"per_kWh"`
}

func (*priceWindow) rename() map[string]string {
	return map[string]string{
		"start": "from", "end": "to", "price": "per_kWh", "tariff_per_kWh": "per_kWh", "price_per_kWh": "per_kWh",
		"rate": "per_kWh",
	}
}

func (w *priceWindow) decode(d *decoder, n *node, path string) {
	if n.kind == list && len(n.items) == 3 {
		d.fill(n.items[0], &w.From, path+"[0]")
		d.fill(n.items[1], &w.To, path+"[1]")
		d.fill(n.items[2], &w.Price, path+"[2]")
		return
	}
	type plain priceWindow
	var p plain
	own := *n
	own.members = slices.Clone(n.members)
	for i, m := range own.members {
		if to, ok := w.rename()[m.key]; ok {
			own.members[i].key = to
		}
	}
	d.fill(&own, &p, path)
	*w = priceWindow(p)
}

// caseProbe is an instant: a text, or an object with utc.
type caseProbe string

func (c *caseProbe) decode(d *decoder, n *node, path string) {
	if utc := n.get("utc"); utc != nil {
		n = utc
	}
	var s string
	d.fill(n, &s, path)
	*c = caseProbe(s)
}
