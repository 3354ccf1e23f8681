package day

import (
	"archive/zip"
	"bytes"
	_ "embed"
	"fmt"
	"io"
	"math"
	"slices"
	"sort"
	"strings"
	"time"

	"lampwright/internal/quantity"
)

//go:embed data/zoneinfo.zip
var zoneinfo []byte

// Bounds of a clock: changes are known from 2000 to the end of 2099 by today's rules; outside, the first and the last
// offset apply.
const (
	firstYear = 2000
	lastYear  = 2099
)

// seasonMinS and seasonMaxS bound the length of a period that belongs to a yearly change between two offsets: shorter
// is an interruption (a month of fasting), longer is for good.
const (
	seasonMinS = 60 * DayS
	seasonMaxS = 300 * DayS
)

// Transition is a change of the offset of local time.
type Transition struct {
	UTC     int64 // second since 2000-01-01 00:00 UTC from which the offset applies
	OffsetS int   // local time minus UTC
}

// Clock turns UTC into the local time of a zone. The zero value is UTC.
type Clock struct {
	zone     string
	standard bool
	periods  []Transition // rising; the first applies before its time too
}

// NewClock returns the clock of an IANA zone such as "Europe/Berlin". With standardTime it is never set to summer
// time: of two offsets that alternate within a year it keeps the smaller.
//
// Source: IANA-TZ, edition ZoneVersion. An unknown zone is an error that names near ones.
func NewClock(zone string, standardTime bool) (Clock, error) {
	data, names, err := readZone(zone)
	if err != nil {
		return Clock{}, err
	}
	if data == nil || zone == versionEntry {
		return Clock{}, unknownZone(zone, names)
	}
	loc, err := time.LoadLocationFromTZData(zone, data)
	if err != nil {
		return Clock{}, fmt.Errorf("read zone %q: %w", zone, err)
	}
	c := Clock{zone: zone, standard: standardTime}
	spans := spansOf(loc)
	for i, s := range spans {
		offset := s.offset
		if standardTime {
			offset = standardOffset(spans, i)
		}
		if n := len(c.periods); n == 0 || c.periods[n-1].OffsetS != offset {
			c.periods = append(c.periods, Transition{s.from, offset})
		}
	}
	return c, nil
}

// zoneSpan is a stretch of one offset.
type zoneSpan struct {
	from, to int64
	offset   int
}

// spansOf lists the stretches of a zone within the bounds of a clock.
func spansOf(loc *time.Location) (out []zoneSpan) {
	t := time.Date(firstYear, 1, 1, 0, 0, 0, 0, time.UTC).In(loc)
	end := time.Date(lastYear+1, 1, 1, 0, 0, 0, 0, time.UTC)
	for t.Before(end) {
		from, to := t.ZoneBounds()
		_, offset := t.Zone()
		s := zoneSpan{math.MinInt64 / 2, math.MaxInt64 / 2, offset}
		if !from.IsZero() {
			s.from = secondsOf(from)
		}
		switch {
		case to.IsZero():
			t = end
		case !to.After(t): // the library's years by rule end a day early in leap years
			t = t.AddDate(0, 0, 1)
			s.to = secondsOf(t)
		default:
			t = to
			s.to = secondsOf(t)
		}
		if n := len(out); n > 0 && out[n-1].offset == offset {
			out[n-1].to = s.to
			continue
		}
		out = append(out, s)
	}
	return out
}

// standardOffset returns the smaller of the offsets that alternate around a stretch.
func standardOffset(spans []zoneSpan, i int) int {
	length := spans[i].to - spans[i].from
	if length > seasonMaxS {
		return spans[i].offset
	}
	least, found := spans[i].offset, length >= seasonMinS
	for _, j := range []int{i - 1, i + 1} {
		if j < 0 || j >= len(spans) || spans[j].to-spans[j].from < seasonMinS {
			continue
		}
		if !found || spans[j].offset < least {
			least, found = spans[j].offset, true
		}
	}
	return least
}

// secondsOf returns the seconds of an instant since 2000-01-01 00:00 UTC.
func secondsOf(t time.Time) int64 {
	return t.Unix() - time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC).Unix()
}

// readZone returns the compiled rules of a zone, nil where there is none, and then the names of all zones.
func readZone(zone string) (data []byte, names []string, err error) {
	z, err := zip.NewReader(bytes.NewReader(zoneinfo), int64(len(zoneinfo)))
	if err != nil {
		return nil, nil, fmt.Errorf("open the time zones of the program: %w", err)
	}
	for _, f := range z.File {
		if f.Name != zone {
			if f.Name != versionEntry {
				names = append(names, f.Name)
			}
			continue
		}
		r, err := f.Open()
		if err == nil {
			data, err = io.ReadAll(r)
		}
		if err != nil {
			return nil, nil, fmt.Errorf("read zone %q: %w", zone, err)
		}
		return data, nil, nil
	}
	return nil, names, nil
}

// versionEntry is the entry of the archive that states the edition of the database.
const versionEntry = "+VERSION"

// ZoneVersion returns the edition of the time zone database in the program, such as "2026f".
func ZoneVersion() string {
	data, _, err := readZone(versionEntry)
	if err != nil {
		return "unknown"
	}
	return strings.TrimSpace(string(data))
}

// unknownZone is the error of a zone that does not exist, with near names.
func unknownZone(zone string, names []string) error {
	const hint = "zones are named Area/City, such as \"Europe/Berlin\""
	var near []string
	for _, n := range names {
		_, city, _ := strings.Cut(n, "/")
		if strings.EqualFold(n, zone) || city != "" && strings.EqualFold(city, zone) {
			near = append(near, n)
		}
	}
	if n, ok := quantity.Near(zone, names); ok && len(near) == 0 {
		near = append(near, n)
	}
	last := zone[strings.LastIndex(zone, "/")+1:]
	cities := make([]string, len(names))
	for i, n := range names {
		cities[i] = n[strings.LastIndex(n, "/")+1:]
	}
	if c, ok := quantity.Near(last, cities); ok && len(near) == 0 {
		near = append(near, names[slices.Index(cities, c)])
	}
	if len(zone) > 40 {
		zone = zone[:40] + "…"
	}
	if len(near) > 0 {
		return fmt.Errorf("time zone %q is not known; nearest: %s; %s", zone, strings.Join(near, ", "), hint)
	}
	return fmt.Errorf("time zone %q is not known; %s", zone, hint)
}

// Zone returns the name of the zone, "UTC" for the zero value.
func (c Clock) Zone() string {
	if c.zone == "" {
		return "UTC"
	}
	return c.zone
}

// Standard reports whether the clock is never set to summer time.
func (c Clock) Standard() bool { return c.standard }

// period returns the index of the offset that applies at an instant.
func (c Clock) period(utc int64) int {
	i := sort.Search(len(c.periods), func(i int) bool { return c.periods[i].UTC > utc })
	return max(i-1, 0)
}

// OffsetAt returns local time minus UTC at an instant [s].
func (c Clock) OffsetAt(utc int64) int {
	if len(c.periods) == 0 {
		return 0
	}
	return c.periods[c.period(utc)].OffsetS
}

// Local returns the local date as days since 2000-01-01, and the second of its clock, at an instant.
func (c Clock) Local(utc int64) (date, second int) {
	local := utc + int64(c.OffsetAt(utc))
	date = int(floorDiv(local, DayS))
	return date, int(local - int64(date)*DayS)
}

// Transitions returns the offset at an instant, and each change from then to another instant.
func (c Clock) Transitions(from, to int64) []Transition {
	out := []Transition{{from, c.OffsetAt(from)}}
	for _, p := range c.periods {
		if p.UTC > from && p.UTC < to {
			out = append(out, p)
		}
	}
	return out
}

// DayStart returns the first instant at which the local date is the given one or later. A date lasts until the start
// of the next: 23, 24 or 25 h, 23.5 or 24.5 h in one zone, 0 h for a date that a zone skipped.
func (c Clock) DayStart(date int) int64 {
	midnight := int64(date) * DayS
	if len(c.periods) == 0 {
		return midnight
	}
	for i := c.period(midnight - 2*DayS); ; i++ {
		u := midnight - int64(c.periods[i].OffsetS)
		if i > 0 {
			u = max(u, c.periods[i].UTC)
		}
		if i+1 == len(c.periods) || u < c.periods[i+1].UTC {
			return u
		}
	}
}

// DayHours returns the length of a local date [h].
func (c Clock) DayHours(date int) float64 { return float64(c.DayStart(date+1)-c.DayStart(date)) / 3600 }

// Date returns the days from 2000-01-01 to a date of the Gregorian calendar; a month or day beyond its end runs on.
func Date(year, month, dayOfMonth int) int {
	return int(floorDiv(secondsOf(time.Date(year, time.Month(month), dayOfMonth, 0, 0, 0, 0, time.UTC)), DayS))
}

// Civil returns year, month and day of a date.
func Civil(date int) (year, month, dayOfMonth int) {
	t := time.Date(2000, 1, 1+date, 0, 0, 0, 0, time.UTC)
	return t.Year(), int(t.Month()), t.Day()
}

func floorDiv(a, b int64) int64 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}
