package day

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lampwright/internal/sky"
)

func sunny(lat float64) Sunlight {
	return Sunlight{Place: sky.Place{LatDeg: lat}, NoonS: 13 * hour, FullDeg: 40, Power: 1}
}

// The level is that of the sun of the place, moved so that its transit is at the chosen time: compared with the
// elevation that package sky computes at the same distance from its transit.
func TestSunlight(t *testing.T) {
	for _, tt := range []struct {
		lat   float64
		date  int
		shift int
	}{
		{0, Date(2027, 3, 20), 0},
		{52.5, Date(2027, 6, 21), 0},
		{-34, Date(2027, 6, 21), 0},
		{52.5, Date(2027, 1, 5), 183},
	} {
		s := sunny(tt.lat)
		s.ShiftDays = tt.shift
		p := &Programme{Channels: []Channel{{Points: []Point{{0, 0.8}}}}, Sunlight: &s}
		if err := p.Check(); err != nil {
			t.Fatal(err)
		}
		c, err := p.Course(tt.date)
		if err != nil {
			t.Fatal(err)
		}
		transit := s.Place.SolarDay(tt.date + tt.shift).TransitUTC
		got := make([]float64, 1)
		for second := 2.0 * hour; second < 24*hour; second += 97 {
			c.Settings(second, got)
			h := s.Place.SunElevation(transit + second - s.NoonS)
			want := 0.8 * clamp(math.Sin(h*math.Pi/180)/math.Sin(40*math.Pi/180))
			if math.Abs(got[0]-want) > 0.004 { // the declination moves by 0.1° in six hours
				t.Fatalf("%g° on %s at %s: %g, want %g", tt.lat, FormatDate(tt.date), FormatClock(second), got[0], want)
			}
		}
	}
}

// Pieces deviate from the formula by no more than stated, on any date.
func TestSunlightPieces(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := sunny(rapid.Float64Range(-89, 89).Draw(t, "lat"))
		s.NoonS, s.FullDeg = rapid.Float64Range(0, DayS-1).Draw(t, "noon"), rapid.Float64Range(5, 90).Draw(t, "full")
		date := rapid.IntRange(9000, 11000).Draw(t, "date")
		lines := s.lines(date)
		if lines[0].fromS != 0 || lines[len(lines)-1].toS != DayS {
			t.Fatalf("from %g to %g", lines[0].fromS, lines[len(lines)-1].toS)
		}
		for k := range 500 {
			second := (float64(k) + 0.5) / 500 * DayS
			got, want := lines[lineAt(lines, second)].at(second), s.level(second, s.Declination(date))
			if math.Abs(got-want) > 0.0003/math.Sin(s.FullDeg*math.Pi/180) {
				t.Fatalf("%g° at %g s: %g, want %g", s.Place.LatDeg, second, got, want)
			}
		}
	})
}

// A frozen date repeats, at the circles the sun stays up or down, and a shift of half a year exchanges the hemispheres.
func TestSunlightDates(t *testing.T) {
	equinox := Date(2027, 3, 20)
	s := sunny(52.5)
	s.FixedDate = &equinox
	p := &Programme{Channels: []Channel{{Points: []Point{{0, 1}}}}, Sunlight: &s}
	mean := func(date int) float64 {
		in, err := p.Integrate(int64(date)*DayS, int64(date+1)*DayS)
		if err != nil {
			t.Fatal(err)
		}
		return in.LitHours
	}
	if a, b := mean(Date(2027, 1, 1)), mean(Date(2027, 7, 1)); a != b || math.Abs(a-12) > 0.1 || !p.SameEveryDay() {
		t.Errorf("frozen: %g h and %g h of light, want 12", a, b)
	}
	s.FixedDate = nil
	// Geometric day: 2·acos(−tan φ tan δ)/15° at δ = 23.44°: 16.59 h, and 7.41 h half a year later.
	if a, b := mean(Date(2027, 6, 21)), mean(Date(2027, 12, 22)); math.Abs(a-16.59) > 0.01 || math.Abs(b-7.41) > 0.01 ||
		p.SameEveryDay() {
		t.Errorf("real dates: %g h and %g h, want 16.59 and 7.41", a, b)
	}
	s.ShiftDays = 183
	if a := mean(Date(2027, 6, 21)); math.Abs(a-7.41) > 0.02 {
		t.Errorf("shifted by half a year: %g h", a)
	}
	s.ShiftDays, s.Place.LatDeg = 0, 75
	if a, b := mean(Date(2027, 6, 21)), mean(Date(2027, 12, 22)); a != 24 || b != 0 {
		t.Errorf("75° north: %g h in June, %g h in December", a, b)
	}
}

// The moon: by phase its settings follow the fraction of the night, and the channel keeps the larger of both
// programmes.
func TestMoonlight(t *testing.T) {
	m := &Moonlight{Channel: 0, Phase: true, Points: []Point{
		{5 * hour, 0.1}, {6 * hour, 0}, {20 * hour, 0}, {21 * hour, 0.1},
	}}
	p := &Programme{Moonlight: m, Channels: []Channel{{Points: []Point{
		{7 * hour, 0}, {9 * hour, 1}, {19 * hour, 1}, {20.75 * hour, 0},
	}}}}
	if err := p.Check(); err != nil {
		t.Fatal(err)
	}
	got := make([]float64, 1)
	setting := func(date int, second float64) float64 {
		c, err := p.Course(date)
		if err != nil {
			t.Fatal(err)
		}
		c.Settings(second, got)
		return got[0]
	}
	// Full on 2027-01-22 12:17 UTC, new on 2027-01-07 20:24 (pyephem 4.1.4): the midnights after are within half a day.
	full, dark := Date(2027, 1, 22), Date(2027, 1, 7)
	if a, b := setting(full, 22*hour), setting(full+1, 3*hour); math.Abs(a-0.1) > 0.001 || a != b {
		t.Errorf("full moon: %g in the evening, %g in the morning", a, b)
	}
	if a := setting(dark, 22*hour); a > 0.001 {
		t.Errorf("new moon: %g", a)
	}
	if a := setting(dark, 12*hour); a != 1 {
		t.Errorf("noon: %g", a)
	}
	// At dusk of full moon the courses cross: 1 − (t − 19 h)/1.75 h and 0.1 k (t − 20 h)/1 h.
	k := m.Fraction(p.Clock, full)
	cross := (1 + 19/1.75 + 2*k) / (1/1.75 + 0.1*k)
	if a, want := setting(full, cross*hour), 0.1*k*(cross-20); math.Abs(a-want) > 1e-9 {
		t.Errorf("at the crossing %g, want %g", a, want)
	}
	m.Phase = false
	if a := setting(dark, 22*hour); math.Abs(a-0.1) > 1e-15 || !p.SameEveryDay() {
		t.Errorf("the same every night: %g at new moon", a)
	}
}

// The larger of two programmes, at any instant.
func TestUpper(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawPoints(t), drawPoints(t)
		lines := upper(linesOf(a, 1), linesOf(b, 0.9))
		last := 0.0
		for _, l := range lines {
			if l.fromS != last || l.toS <= l.fromS {
				t.Fatalf("a gap at %g s: %v", last, lines)
			}
			last = l.toS
		}
		s := rapid.Float64Range(0, DayS-1).Draw(t, "s")
		if got, want := lines[lineAt(lines, s)].at(s), max(settingAt(a, s), 0.9*settingAt(b, s)); last != DayS ||
			math.Abs(got-want) > 1e-9 {
			t.Fatalf("%g at %g s, want %g", got, s, want)
		}
	})
}

// Integrals with sun and moon are the sums over the seconds.
func TestSkylightIntegrals(t *testing.T) {
	p := moonAndDay(clock(t, "Europe/Berlin", false))
	p.Sunlight = &Sunlight{
		Place: sky.Place{LatDeg: 52.5, LonDeg: 13.5}, NoonS: 13 * hour, FullDeg: 40, Power: 1, Channels: []int{0, 1},
	}
	p.Moonlight = &Moonlight{Channel: 2, Phase: true, Points: []Point{
		{3 * hour, 0.5}, {5 * hour, 0}, {20 * hour, 0}, {22 * hour, 0.5},
	}}
	if err := p.Check(); err != nil {
		t.Fatal(err)
	}
	from := at(t, "2027-10-30T12:00:00Z")
	in, err := p.Integrate(from, from+2*DayS)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range sumOf(t, p, from, from+2*DayS) {
		if math.Abs(in.MeanDuty[i]-want) > 1e-6 {
			t.Errorf("channel %d: mean %.9f, %.9f by seconds", i, in.MeanDuty[i], want)
		}
	}
}

func TestBadSkylight(t *testing.T) {
	for _, tt := range []struct {
		want   string
		modify func(s *Sunlight, m *Moonlight)
	}{
		{"latitude 91°", func(s *Sunlight, _ *Moonlight) { s.Place.LatDeg = 91 }},
		{"longitude NaN°", func(s *Sunlight, _ *Moonlight) { s.Place.LonDeg = math.NaN() }},
		{"noon of the sun at 86400 s", func(s *Sunlight, _ *Moonlight) { s.NoonS = DayS }},
		{"elevation of 0°", func(s *Sunlight, _ *Moonlight) { s.FullDeg = 0 }},
		{"power 9", func(s *Sunlight, _ *Moonlight) { s.Power = 9 }},
		{"shift of 1000 days", func(s *Sunlight, _ *Moonlight) { s.ShiftDays = 1000 }},
		{"sun of channel 10", func(s *Sunlight, _ *Moonlight) { s.Channels = []int{9} }},
		{"moonlight of channel 0", func(_ *Sunlight, m *Moonlight) { m.Channel = -1 }},
		{"moonlight: no points", func(_ *Sunlight, m *Moonlight) { m.Points = nil }},
	} {
		s, m := sunny(0), Moonlight{Points: []Point{{0, 0.1}}}
		tt.modify(&s, &m)
		p := moonAndDay(Clock{})
		p.Sunlight, p.Moonlight = &s, &m
		if err := p.Check(); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%v; want %q", err, tt.want)
		}
	}
}
