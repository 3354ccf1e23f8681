package day

import (
	"fmt"
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

// short cuts a text for an error message.
func short(text string) string {
	if len(text) > 40 {
		return text[:40] + "…"
	}
	return text
}
