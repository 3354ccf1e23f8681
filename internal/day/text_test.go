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

func TestClock(t *testing.T) {
	for _, tt := range []struct {
		text string
		want float64
		back string
	}{
		{"00:00", 0, "00:00"},
		{"09:30", 34200, "09:30"},
		{"7:05", 25500, "07:05"},
		{"23:59:59", 86399, "23:59:59"},
	} {
		got, err := ParseClock(tt.text)
		if err != nil || got != tt.want || FormatClock(got) != tt.back {
			t.Errorf("ParseClock(%q) = %v, %v, written %s; want %v, %s", tt.text, got, err, FormatClock(got), tt.want,
				tt.back)
		}
	}
	for _, bad := range []string{
		"", "9", "24:00", "12:60", "12:00:60", "-1:00", "+1:00",
		"1:2:3:4", "ten", "NaN:00", "012:00",
	} {
		if got, err := ParseClock(bad); err == nil {
			t.Errorf("ParseClock(%q) = %v, want an error", bad, got)
		}
	}
}

// TestFormatClock: a time is rounded to the second; a day ends at 24:00.
func TestFormatClock(t *testing.T) {
	for second, want := range map[float64]string{
		34200.4: "09:30", 34200.6: "09:30:01", 86399.4: "23:59:59", 86399.6: "24:00", DayS: "24:00",
	} {
		if got := FormatClock(second); got != want {
			t.Errorf("%g s: %s, want %s", second, got, want)
		}
	}
}
