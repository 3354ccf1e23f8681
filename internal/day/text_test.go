package day

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestTexts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		utc := rapid.Int64Range(-99*365*DayS, 200*365*DayS).Draw(t, "utc")
		if got, err := ParseUTC(FormatUTC(utc)); err != nil || got != utc {
			t.Fatalf("%d is %s, read as %d, %v", utc, FormatUTC(utc), got, err)
		}
		date := rapid.IntRange(-36524, 73000).Draw(t, "date")
		if got, err := ParseDate(FormatDate(date)); err != nil || got != date {
			t.Fatalf("%d is %s, read as %d, %v", date, FormatDate(date), got, err)
		}
	})
	if s, err := ParseUTC("2000-01-02T01:00:01+01:00"); err != nil || s != DayS+1 {
		t.Errorf("%d, %v; want %d", s, err, DayS+1)
	}
	for _, bad := range []string{
		"", "2027-02-30", "2027-13-01", "27-01-01", "0000-01-01", "9999-01-01", strings.Repeat("9", 999),
	} {
		if _, err := ParseDate(bad); err == nil || len(err.Error()) > 150 {
			t.Errorf("date %q: %v", bad, err)
		}
		if _, err := ParseUTC(bad + "T00:00:00Z"); err == nil || len(err.Error()) > 150 {
			t.Errorf("instant %q: %v", bad, err)
		}
	}
}
