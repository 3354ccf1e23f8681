package day

import "testing"

// sixChannels is an invented programme of six channels in local time.
func sixChannels(b *testing.B) *Programme {
	p := moonAndDay(clock(b, "Europe/Berlin", false))
	p.Channels = append(p.Channels, p.Channels...)
	return p
}

// How long are the duties of a day at steps of one minute?
func BenchmarkDuties(b *testing.B) {
	clouds := &Clouds{Amount: 0.5, Mean: 0.6, PeriodS: 1800}
	for name, c := range map[string]*Clouds{"plain": nil, "clouds": clouds} {
		b.Run(name, func(b *testing.B) {
			p := sixChannels(b)
			p.Clouds = c
			from := p.Clock.DayStart(Date(2027, 6, 1))
			out := make([]float64, 6)
			for b.Loop() {
				err := p.Walk(from, from+DayS, 60, func(_ int64, s float64, c *Course) { c.Duties(s, out) })
				if err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// How long are the integrals of a year?
func BenchmarkYear(b *testing.B) {
	p := sixChannels(b)
	p.Acclimation = &Acclimation{Date(2027, 1, 1), 60, 0.5, nil}
	for b.Loop() {
		if _, err := p.Integrate(p.Clock.DayStart(Date(2027, 1, 1)), p.Clock.DayStart(Date(2028, 1, 1))); err != nil {
			b.Fatal(err)
		}
	}
}

// How long does a clock take to read?
func BenchmarkNewClock(b *testing.B) {
	for b.Loop() {
		if _, err := NewClock("Europe/Berlin", false); err != nil {
			b.Fatal(err)
		}
	}
}
