package day

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// moonAndDay is an invented programme: daylight with a gamma curve, and a moon over midnight.
func moonAndDay(c Clock) *Programme {
	return &Programme{Clock: c, Channels: []Channel{
		{"day", Curve{Gamma, 2.2}, []Point{{9 * hour, 0}, {10 * hour, 0.8}, {19 * hour, 0.8}, {21 * hour, 0}}},
		{"leaf", Curve{Shape: Lightness}, []Point{{8 * hour, 0}, {11 * hour, 1}, {18 * hour, 1}, {22 * hour, 0}}},
		{"moon", Curve{}, []Point{{2 * hour, 0.4}, {4 * hour, 0}, {22 * hour, 0}, {23 * hour, 0.4}}},
	}}
}

// sumOf returns the mean duties of a span by the middle of each second of UTC.
func sumOf(t testing.TB, p *Programme, from, to int64) []float64 {
	sums, duties := make([]float64, len(p.Channels)), make([]float64, len(p.Channels))
	err := p.Walk(from, to, 1, func(_ int64, s float64, c *Course) {
		c.Duties(s+0.5, duties)
		for i, d := range duties {
			sums[i] += d
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	for i := range sums {
		sums[i] /= float64(to - from)
	}
	return sums
}

// Integrals are the sums over the seconds of UTC, on the dates of a change and off them, with every modifier.
func TestIntegralIsSumOfSeconds(t *testing.T) {
	full := []float64{40, 30, 2}
	for _, tt := range []struct {
		zone   string
		from   string
		modify func(*Programme)
		tol    float64 // of the midpoint sum
	}{
		{"Europe/Berlin", "2027-03-27T12:00:00Z", func(*Programme) {}, 1e-8},
		{"Europe/Berlin", "2027-10-30T12:00:00Z", func(*Programme) {}, 1e-8},
		{"Australia/Lord_Howe", "2027-04-03T01:00:00Z", func(*Programme) {}, 1e-8},
		{"Asia/Kathmandu", "2027-01-01T00:00:00Z", func(p *Programme) {
			p.Acclimation = &Acclimation{Date(2027, 1, 1), 10, 0.4, []int{1}}
		}, 1e-8},
		{"Europe/Berlin", "2027-10-30T12:00:00Z", func(p *Programme) {
			p.Clouds = &Clouds{Amount: 0.6, Mean: 0.7, PeriodS: 1500, Seed: 3, Channels: []int{0, 1}}
		}, 1e-7},
		{"Europe/Berlin", "2027-10-30T12:00:00Z", func(p *Programme) { p.Budget = &Budget{full, 45} }, 1e-6},
		{"Europe/Berlin", "2027-10-30T12:00:00Z", func(p *Programme) {
			p.Clouds = &Clouds{Amount: 0.6, Mean: 0.7, PeriodS: 1500, Seed: 3}
			p.Budget = &Budget{full, 45}
		}, 1e-6},
	} {
		p := moonAndDay(clock(t, tt.zone, false))
		tt.modify(p)
		if err := p.Check(); err != nil {
			t.Fatal(err)
		}
		from := at(t, tt.from)
		to := from + 2*DayS
		in, err := p.Integrate(from, to)
		if err != nil {
			t.Fatal(err)
		}
		for i, want := range sumOf(t, p, from, to) {
			if math.Abs(in.MeanDuty[i]-want) > tt.tol || math.Abs(in.FullHours[i]-48*in.MeanDuty[i]) > 1e-12 {
				t.Errorf("%s from %s, channel %d: mean %.10f, full hours %.10f; %.10f by seconds", tt.zone, tt.from, i,
					in.MeanDuty[i], in.FullHours[i], want)
			}
		}
	}
}

// DLI and energy of a date do not depend on the zone where the clock does not change; hours follow the clock where it
// does.
func TestZoneProperty(t *testing.T) {
	var first []float64
	for _, zone := range []string{"UTC", "Asia/Kathmandu", "America/Bogota", "Pacific/Apia", "Europe/Berlin"} {
		p := moonAndDay(clock(t, zone, false))
		date := Date(2027, 6, 1)
		in, err := p.Integrate(p.Clock.DayStart(date), p.Clock.DayStart(date+1))
		if err != nil {
			t.Fatal(err)
		}
		if first == nil {
			first = in.MeanDuty
		}
		for i := range first {
			if math.Abs(in.MeanDuty[i]-first[i]) > 1e-14 {
				t.Errorf("%s: mean duties %v, in UTC %v", zone, in.MeanDuty, first)
			}
		}
		// Lit from 08:00 to 04:00.
		if in.Hours != 24 || math.Abs(in.LitHours-20) > 1e-9 || math.Abs(in.DarkHours-4) > 1e-9 {
			t.Errorf("%s: %+v", zone, in)
		}
	}
}

// A year is the sum of its dates: 8760 or 8784 h.
func TestYear(t *testing.T) {
	for year, hours := range map[int]float64{2027: 8760, 2028: 8784} {
		p := moonAndDay(clock(t, "Europe/Berlin", false))
		from, to := p.Clock.DayStart(Date(year, 1, 1)), p.Clock.DayStart(Date(year+1, 1, 1))
		all, err := p.Integrate(from, to)
		if err != nil {
			t.Fatal(err)
		}
		sums := make([]float64, 3)
		for d := Date(year, 1, 1); d < Date(year+1, 1, 1); d++ {
			in, err := p.Integrate(p.Clock.DayStart(d), p.Clock.DayStart(d+1))
			if err != nil {
				t.Fatal(err)
			}
			for i, h := range in.FullHours {
				sums[i] += h
			}
		}
		for i, h := range sums {
			if math.Abs(h-all.FullHours[i]) > 1e-8 || all.Hours != hours {
				t.Errorf("%d, channel %d: %g h of dates, %g of %g h", year, i, h, all.FullHours[i], all.Hours)
			}
		}
	}
}

// A ramp from 0.4 to 0 from 02:00 to 04:00 loses 0.3 full hours in spring, whose clock skips 02:00 to 03:00, and
// gains 0.3 in autumn, which plays them twice: the mean of 0.4 and 0.2 over one hour.
func TestClockChangeInRamp(t *testing.T) {
	p := moonAndDay(clock(t, "Europe/Berlin", false))
	full := func(y, m, d int) float64 {
		in, err := p.Integrate(p.Clock.DayStart(Date(y, m, d)), p.Clock.DayStart(Date(y, m, d)+1))
		if err != nil {
			t.Fatal(err)
		}
		return in.FullHours[2]
	}
	usual := full(2027, 6, 1)
	lost, won := usual-full(2027, 3, 28), full(2027, 10, 31)-usual
	if math.Abs(lost-0.3) > 1e-12 || math.Abs(won-0.3) > 1e-12 {
		t.Errorf("spring loses %g, autumn gains %g full hours, want 0.3", lost, won)
	}
}

// Hours above a level: of a symmetric ramp, by its inverse.
func TestHoursAbove(t *testing.T) {
	p := moonAndDay(Clock{})
	p.Channels = p.Channels[1:2]
	c := p.Channels[0].Curve
	for _, level := range []float64{0, 5, 50, 99.9, 100, 101} {
		got, err := p.HoursAbove(0, DayS, []float64{100}, level)
		if err != nil {
			t.Fatal(err)
		}
		want := 14 - 7*c.Setting(level/100) // 3 h up and 4 h down
		if level >= 100 {
			want = 0
		}
		if math.Abs(got-want) > 1e-6 {
			t.Errorf("above %g: %.8f h, want %.8f", level, got, want)
		}
	}
	p.Budget = &Budget{[]float64{100}, 50}
	for level, want := range map[float64]float64{49.9: 14 - 7*c.Setting(0.499), 50.1: 0} {
		if got, err := p.HoursAbove(0, DayS, []float64{100}, level); err != nil || math.Abs(got-want) > 1e-6 {
			t.Errorf("limited to 50, above %g: %.8f h, %v, want %.8f", level, got, err, want)
		}
	}
	// Two courses that cross: u² + (1 − u)² is above 0.75 for u below 0.1464 and above 0.8536.
	square := Curve{Gamma, 2}
	p = &Programme{Channels: []Channel{
		{"up", square, []Point{{0, 0}, {12 * hour, 1}}}, {"down", square, []Point{{0, 1}, {12 * hour, 0}}},
	}}
	want := 24 * (1 - math.Sqrt(0.5))
	if got, err := p.HoursAbove(0, DayS, []float64{1, 1}, 0.75); err != nil || math.Abs(got-want) > 1e-6 {
		t.Errorf("above 0.75: %.8f h, %v, want %.8f", got, err, want)
	}
	if _, err := p.HoursAbove(0, DayS, nil, 1); err == nil {
		t.Error("no weights: no error")
	}
}

// A budget keeps the ratio of the duties, and the sum at the limit.
func TestBudget(t *testing.T) {
	b := Budget{[]float64{64, 12}, 55}
	duties := []float64{1, 0.717}
	k := b.FactorFor(duties)
	if sum := k * (64 + 12*0.717); math.Abs(sum-55) > 1e-12 || b.FactorFor([]float64{0.5, 0.5}) != 1 {
		t.Errorf("factor %g: sum %g W, limit 55 W", k, sum)
	}
}

// Acclimation steps at local midnight, from the stated factor to 1, on the setting.
func TestAcclimation(t *testing.T) {
	a := Acclimation{StartDate: 100, Days: 20, From: 0.5}
	for date, want := range map[int]float64{-5: 0.5, 100: 0.5, 110: 0.75, 119: 0.975, 120: 1, 5000: 1} {
		if got := a.FactorOn(date); math.Abs(got-want) > 1e-15 {
			t.Errorf("date %d: %g, want %g", date, got, want)
		}
	}
	p := moonAndDay(Clock{})
	p.Acclimation = &a
	c, err := p.Course(110)
	if err != nil {
		t.Fatal(err)
	}
	s, d := make([]float64, 3), make([]float64, 3)
	c.Settings(14*hour, s)
	c.Duties(14*hour, d)
	if math.Abs(s[0]-0.6) > 1e-15 || math.Abs(d[0]-math.Pow(0.6, 2.2)) > 1e-15 {
		t.Errorf("setting %g, duty %g; want 0.6 and 0.6^2.2", s[0], d[0])
	}
}

// Clouds: the mean over a date is the stated one, x is 0 to 1 and continuous over midnight, lightness changes by at
// most 1 L* in 2 s, the same seed gives the same date, another date another course.
func TestClouds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cl := &Clouds{
			Amount: rapid.Float64Range(0.01, 1).Draw(t, "amount"), Mean: rapid.Float64Range(0.05, 0.95).Draw(t, "mean"),
			Seed: rapid.Uint64().Draw(t, "seed"),
		}
		cl.PeriodS = max(60, cl.MinPeriodS()*rapid.Float64Range(1, 3).Draw(t, "period"))
		p := &Programme{Channels: []Channel{{"a", Curve{}, []Point{{0, 1}}}}, Clouds: cl}
		if err := p.Check(); err != nil {
			t.Fatal(err)
		}
		in, err := p.Integrate(0, DayS)
		if want := 1 - cl.Amount*(1-cl.Mean); err != nil || math.Abs(in.MeanDuty[0]-want) > 1e-9 {
			t.Fatalf("mean duty %.12g, %v; want 1 − a(1 − mean) = %.12g", in.MeanDuty[0], err, want)
		}
		courses := make([]*Course, 3)
		for i := range courses {
			if courses[i], err = p.Course(i % 2); err != nil {
				t.Fatal(err)
			}
		}
		last, other := -1.0, 0.0
		d := make([]float64, 1)
		for i, c := range courses[:2] {
			from := float64((1 - i) * 20 * hour) // four hours before midnight, four after
			for s := from; s <= from+4*hour; s += 2 {
				c.Duties(s, d)
				l := 100 * (Curve{Shape: Lightness}).Setting(d[0])
				if d[0] < 1-cl.Amount-1e-12 || d[0] > 1 || last >= 0 && math.Abs(l-last) > 1.0001 {
					t.Fatalf("date %d, %g s: duty %g, L* %g after %g", i, s, d[0], l, last)
				}
				last = l
			}
		}
		for i, x := range courses[0].knots {
			if x != courses[2].knots[i] {
				t.Fatal("the same date has another course")
			}
			other += math.Abs(x - courses[1].knots[i])
		}
		if other == 0 {
			t.Fatal("two dates have the same course")
		}
	})
}

func TestBadProgramme(t *testing.T) {
	for _, tt := range []struct {
		want   string
		modify func(p *Programme)
	}{
		{"0 channels in the programme", func(p *Programme) { p.Channels = nil }},
		{"channel 2 (leaf): no points", func(p *Programme) { p.Channels[1].Points = nil }},
		{"channel 1 (day): exponent 0", func(p *Programme) { p.Channels[0].Curve.Exponent = 0 }},
		{"curve 7 is not known", func(p *Programme) { p.Channels[0].Curve.Shape = 7 }},
		{"acclimation over 0 days", func(p *Programme) { p.Acclimation = &Acclimation{} }},
		{"acclimation from a factor of 2", func(p *Programme) { p.Acclimation = &Acclimation{Days: 1, From: 2} }},
		{
			"acclimation of channel 4; the programme",
			func(p *Programme) { p.Acclimation = &Acclimation{Days: 1, Channels: []int{3}} },
		},
		{"clouds of amount 2", func(p *Programme) { p.Clouds = &Clouds{Amount: 2} }},
		{"clouds with a mean of 1", func(p *Programme) { p.Clouds = &Clouds{Amount: 1, Mean: 1} }},
		{"use 3614 s or longer", func(p *Programme) { p.Clouds = &Clouds{Amount: 1, Mean: 0.5, PeriodS: 900} }},
		{
			"period of +Inf s",
			func(p *Programme) { p.Clouds = &Clouds{Amount: 1, Mean: 0.5, PeriodS: math.Inf(1)} },
		},
		{"power budget for 0 channels", func(p *Programme) { p.Budget = &Budget{MaxW: 1} }},
		{"power budget of 0 W", func(p *Programme) { p.Budget = &Budget{FullW: []float64{1, 1, 1}} }},
		{"channel 3 of NaN W", func(p *Programme) { p.Budget = &Budget{[]float64{1, 1, math.NaN()}, 5} }},
	} {
		p := moonAndDay(Clock{})
		tt.modify(p)
		if err := p.Check(); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%v; want %q", err, tt.want)
		}
	}
	if err := moonAndDay(Clock{}).Check(); err != nil {
		t.Error(err)
	}
	for _, to := range []int64{0, -5, math.MaxInt64} {
		if _, err := moonAndDay(Clock{}).Integrate(0, to); err == nil {
			t.Errorf("span to %d: no error", to)
		}
	}
}

// Any programme: duties are 0 to 1 at any instant, and the integral of any span is that of its halves.
func TestProgrammeProperties(t *testing.T) {
	berlin := clock(t, "Europe/Berlin", false)
	rapid.Check(t, func(t *rapid.T) {
		p := &Programme{Clock: berlin}
		for range rapid.IntRange(1, 4).Draw(t, "channels") {
			p.Channels = append(p.Channels, Channel{Curve: drawCurve(t), Points: drawPoints(t)})
		}
		if rapid.Bool().Draw(t, "acclimate") {
			p.Acclimation = &Acclimation{rapid.IntRange(9790, 9800).Draw(t, "start"), 7, 0.3, nil}
		}
		from := rapid.Int64Range(9790*DayS, 10200*DayS).Draw(t, "from")
		mid := from + rapid.Int64Range(1, 3*DayS).Draw(t, "a")
		to := mid + rapid.Int64Range(1, 3*DayS).Draw(t, "b")
		whole, err := p.Integrate(from, to)
		a, errA := p.Integrate(from, mid)
		b, errB := p.Integrate(mid, to)
		if err != nil || errA != nil || errB != nil {
			t.Fatal(err, errA, errB)
		}
		for i := range p.Channels {
			sum := a.FullHours[i] + b.FullHours[i]
			if math.Abs(sum-whole.FullHours[i]) > 1e-9 || whole.MeanDuty[i] < 0 || whole.MeanDuty[i] > 1+1e-12 {
				t.Fatalf("channel %d: %g and %g h, together %g", i, a.FullHours[i], b.FullHours[i], whole.FullHours[i])
			}
		}
		if math.Abs(a.LitHours+b.LitHours-whole.LitHours) > 1e-9 {
			t.Fatalf("lit %g and %g h, together %g", a.LitHours, b.LitHours, whole.LitHours)
		}
	})
}
