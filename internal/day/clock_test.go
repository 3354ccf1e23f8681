package day

import (
	"os"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"lampwright/internal/table"
)

func clock(t testing.TB, zone string, standard bool) Clock {
	t.Helper()
	c, err := NewClock(zone, standard)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// at reads an instant of UTC.
func at(t testing.TB, text string) int64 {
	t.Helper()
	v, err := time.Parse(time.RFC3339, text)
	if err != nil {
		t.Fatal(err)
	}
	return secondsOf(v)
}

// Changes of the clock are those of the database, read by another program.
func TestTransitions(t *testing.T) {
	text, err := os.ReadFile("testdata/zone_changes.csv")
	if err != nil {
		t.Fatal(err)
	}
	tab, err := table.Read("zone_changes.csv", text, "offset_s")
	if err != nil {
		t.Fatal(err)
	}
	byZone := map[string][]Transition{}
	for i := range tab.Rows() {
		z := tab.Text(i, "zone")
		byZone[z] = append(byZone[z], Transition{at(t, tab.Text(i, "utc")), int(tab.Number(i, "offset_s"))})
	}
	for zone, want := range byZone {
		got := clock(t, zone, false).Transitions(at(t, "2026-01-01T00:00:00Z"), at(t, "2029-01-01T00:00:00Z"))[1:]
		if len(got) != len(want) {
			t.Errorf("%s: %d changes, want %d", zone, len(got), len(want))
			continue
		}
		for i := range want {
			if got[i] != want[i] {
				t.Errorf("%s: change %+v, want %+v (IANA 2026f)", zone, got[i], want[i])
			}
		}
	}
	k := clock(t, "Asia/Kathmandu", false).Transitions(at(t, "2026-01-01T00:00:00Z"), at(t, "2029-01-01T00:00:00Z"))
	if len(k) != 1 || k[0].OffsetS != 20700 {
		t.Errorf("Kathmandu: %+v, want +20700 s and no change (IANA 2026f)", k)
	}
	if v := ZoneVersion(); v != "2026f" {
		t.Errorf("edition %q; data/zoneinfo.txt states 2026f", v)
	}
}

// Lengths of local dates, by the same database.
func TestDayHours(t *testing.T) {
	for _, tt := range []struct {
		zone    string
		y, m, d int
		want    float64
	}{
		{"Europe/Berlin", 2027, 3, 28, 23},
		{"Europe/Berlin", 2027, 10, 31, 25},
		{"Europe/Berlin", 2027, 3, 29, 24},
		{"Europe/Berlin", 2028, 3, 26, 23},
		{"Europe/Berlin", 2028, 10, 29, 25},
		{"Australia/Lord_Howe", 2027, 4, 4, 24.5},
		{"Australia/Lord_Howe", 2027, 10, 3, 23.5},
		{"Pacific/Apia", 2011, 12, 30, 0},   // the zone changed to the other side of the date line
		{"America/Havana", 2028, 11, 5, 25}, // back to midnight at 01:00
	} {
		if got := clock(t, tt.zone, false).DayHours(Date(tt.y, tt.m, tt.d)); got != tt.want {
			t.Errorf("%s %d-%02d-%02d: %g h, want %g", tt.zone, tt.y, tt.m, tt.d, got, tt.want)
		}
		if got := clock(t, tt.zone, true).DayHours(Date(tt.y, tt.m, tt.d)); got != 24 && tt.want != 0 {
			t.Errorf("%s in standard time, %d-%02d-%02d: %g h, want 24", tt.zone, tt.y, tt.m, tt.d, got)
		}
	}
}

// Standard time is the winter offset, on both hemispheres, where summer is the legal standard, and where one month of
// the year differs (IANA 2026f).
func TestStandardTime(t *testing.T) {
	summer, winter := at(t, "2021-07-01T12:00:00Z"), at(t, "2021-01-01T12:00:00Z")
	for zone, want := range map[string]int{
		"Europe/Berlin": 3600, "America/New_York": -18000, "Australia/Sydney": 36000, "Australia/Lord_Howe": 37800,
		"Europe/Dublin": 0, "Asia/Kathmandu": 20700, "Africa/Casablanca": 3600, "UTC": 0,
	} {
		c := clock(t, zone, true)
		if got := [2]int{c.OffsetAt(summer), c.OffsetAt(winter)}; got != [2]int{want, want} {
			t.Errorf("%s in standard time: offsets %v, want %d", zone, got, want)
		}
	}
	if got := clock(t, "Africa/Casablanca", true).OffsetAt(at(t, "2021-05-01T12:00:00Z")); got != 3600 {
		t.Errorf("Casablanca in standard time, in the month that differs: %d", got)
	}
	c := clock(t, "Europe/Berlin", true)
	if all := c.Transitions(at(t, "2000-01-01T00:00:00Z"), at(t, "2099-12-31T00:00:00Z")); len(all) != 1 {
		t.Errorf("Berlin in standard time changes in a century: %v", all[1:])
	}
}

// A change that lasts for most of a year or longer is for good; shorter ones alternate, months at most interrupt.
func TestStandardOffset(t *testing.T) {
	days := func(lengths ...int64) (out []zoneSpan) {
		from := int64(0)
		for i, n := range lengths {
			out = append(out, zoneSpan{from, from + n*DayS, 3600 * (i % 2)})
			from += n * DayS
		}
		return out
	}
	for _, tt := range []struct {
		lengths []int64
		i, want int
	}{
		{[]int64{150, 215, 150}, 1, 0},
		{[]int64{150, 215, 150}, 2, 0},
		{[]int64{150, 299, 150}, 1, 0},
		{[]int64{150, 301, 150}, 1, 3600},
		{[]int64{150, 9000, 150}, 1, 3600},
		{[]int64{30, 200, 30}, 1, 3600},
		{[]int64{200, 300, 30, 300}, 2, 3600},
	} {
		if got := standardOffset(days(tt.lengths...), tt.i); got != tt.want {
			t.Errorf("stretch %d of %v days: %d, want %d", tt.i, tt.lengths, got, tt.want)
		}
	}
}

// Local time agrees with the time package on any instant, dates partition time, and a date starts at its first second.
func TestClockProperties(t *testing.T) {
	zones := []string{"Europe/Berlin", "Australia/Lord_Howe", "America/St_Johns", "Asia/Tehran", "Africa/Casablanca"}
	clocks := map[string]Clock{}
	locations := map[string]*time.Location{}
	for _, z := range zones {
		clocks[z] = clock(t, z, false)
		data, _, err := readZone(z)
		if err != nil {
			t.Fatal(err)
		}
		if locations[z], err = time.LoadLocationFromTZData(z, data); err != nil {
			t.Fatal(err)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		z := rapid.SampledFrom(zones).Draw(t, "zone")
		utc := rapid.Int64Range(0, 98*366*DayS).Draw(t, "utc")
		c := clocks[z]
		date, second := c.Local(utc)
		y, m, d := Civil(date)
		want := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC).Add(time.Duration(utc) * time.Second).In(locations[z])
		if y != want.Year() || m != int(want.Month()) || d != want.Day() ||
			second != want.Hour()*3600+want.Minute()*60+want.Second() || Date(y, m, d) != date {
			t.Fatalf("%s, second %d: %d-%d-%d + %d s; want %s", z, utc, y, m, d, second, want)
		}
		start := c.DayStart(date)
		if got, _ := c.Local(start); got < date {
			t.Fatalf("%s: date %d starts at %d, whose date is %d", z, date, start, got)
		}
		if got, _ := c.Local(start - 1); got >= date {
			t.Fatalf("%s: date %d starts at %d, but its date is reached before", z, date, start)
		}
	})
}

// Unknown zones are errors with a near name.
func TestUnknownZone(t *testing.T) {
	for zone, want := range map[string]string{
		"Europe/Berln": "nearest: Europe/Berlin", "berlin": "nearest: Europe/Berlin",
		"europe/berlin":  "nearest: Europe/Berlin",
		"Germany/Berlin": "nearest: Europe/Berlin", "": "is not known; zones are named", "+VERSION": "is not known",
		"Mars/Olympus Mons": "Area/City", strings.Repeat("x", 5000): "Area/City",
	} {
		_, err := NewClock(zone, false)
		if err == nil || !strings.Contains(err.Error(), want) || len(err.Error()) > 300 {
			t.Errorf("zone %q: %v; want %q", zone, err, want)
		}
	}
}

// The zero value is UTC.
func TestZeroClock(t *testing.T) {
	var c Clock
	date, second := c.Local(-1)
	if date != -1 || second != DayS-1 || c.DayStart(3) != 3*DayS || c.Zone() != "UTC" || c.Standard() {
		t.Errorf("date %d, second %d, start %d, %s", date, second, c.DayStart(3), c.Zone())
	}
}
