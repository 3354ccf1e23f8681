package day

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

// Bounds of dates and instants that are read: the library's calendar and our seconds hold there.
const (
	minYear = 1900
	maxYear = 2200
)

// ParseUTC reads an instant such as 2027-03-28T01:00:00Z, or with an offset, as seconds since 2000-01-01 00:00 UTC.
func ParseUTC(text string) (int64, error) {
	t, err := time.Parse(time.RFC3339, text)
	if err != nil || t.Year() < minYear || t.Year() > maxYear {
		return 0, fmt.Errorf("instant %q; use the form 2027-03-28T01:00:00Z, years %d to %d", short(text), minYear,
			maxYear)
	}
	return secondsOf(t), nil
}

// FormatUTC writes an instant in the form that ParseUTC reads.
func FormatUTC(utc int64) string {
	return time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC).Add(time.Duration(utc) * time.Second).Format(time.RFC3339)
}

// ParseDate reads a date such as 2027-03-28 as days since 2000-01-01.
func ParseDate(text string) (int, error) {
	t, err := time.Parse(time.DateOnly, text)
	if err != nil || t.Year() < minYear || t.Year() > maxYear {
		return 0, fmt.Errorf("date %q; use the form 2027-03-28, years %d to %d", short(text), minYear, maxYear)
	}
	return int(floorDiv(secondsOf(t), DayS)), nil
}

// FormatDate writes a date in the form that ParseDate reads.
func FormatDate(date int) string {
	y, m, d := Civil(date)
	return fmt.Sprintf("%04d-%02d-%02d", y, m, d)
}

// errClock says how a time of day is written.
var errClock = errors.New("hours and minutes of a day, such as 09:30")

// ParseClock reads a time of day, hours and minutes, and seconds where they matter, as seconds after midnight.
func ParseClock(text string) (seconds float64, err error) {
	parts := strings.Split(strings.TrimSpace(text), ":")
	if len(parts) < 2 || len(parts) > 3 {
		return 0, errClock
	}
	limits := [3]int{23, 59, 59}
	for i, p := range parts {
		n, err := strconv.Atoi(p)
		if err != nil || len(p) > 2 || n < 0 || n > limits[i] || strings.HasPrefix(p, "+") {
			return 0, errClock
		}
		seconds = 60*seconds + float64(n)
	}
	if len(parts) == 2 {
		seconds *= 60
	}
	return seconds, nil
}

// FormatClock writes a second of the day in the form that ParseClock reads, rounded; 24:00 is the end of the day.
func FormatClock(seconds float64) string {
	s := int(math.Round(seconds))
	if s%60 != 0 {
		return fmt.Sprintf("%02d:%02d:%02d", s/3600, s/60%60, s%60)
	}
	return fmt.Sprintf("%02d:%02d", s/3600, s/60%60)
}

// short cuts a text for an error message.
func short(text string) string {
	if len(text) > 40 {
		return text[:40] + "…"
	}
	return text
}
