package life

import "math"

// Stage is a part of the day at one level.
type Stage struct {
	Hours float64 // per day [h]
	CaseK float64 // case temperature of the package [K]
	Duty  float64 // part of the time for which current flows, or of the full current, from 0 to 1
}

// Weighting is how the hours of a stage count in the sum of damage.
type Weighting int

const (
	OnTime       Weighting = iota // an hour on is an hour at any level: the cautious convention
	DutyWeighted                  // an hour on counts by its duty: PWM, whose current flows for that part of the time
)

// Damage is the mean rate at which the light of a package falls over a day.
type Damage struct {
	PerCalendarH float64 // mean of α over all 24 hours [1/h]
	PerOnH       float64 // mean of α over the hours on [1/h]
	OnHours      float64 // per day
	B            float64 // B of the equivalent temperature
	EquivalentK  float64 // temperature at which α is PerOnH [K]; 0 where no temperature has that rate
	HottestK     float64 // of the stages
	Below, Above bool    // a stage is cooler or hotter than the tests
}

// Damage sums the rates of the stages of a day: rates add, lives do not.
//
//	r = Σ h_i·α(T_i)·w_i / 24 h,  w = 1 or the duty
//
// Stages without duty are off and count nothing. The day has 24 h whatever the sum of the stages is.
// Source: Miner1945 (linear damage), TM21 (α).
func (l Law) Damage(day []Stage, w Weighting) Damage {
	var d Damage
	var sum, weight float64
	for _, s := range day {
		if !(s.Duty > 0) || !(s.Hours > 0) {
			continue
		}
		r, h := l.At(s.CaseK), s.Hours
		if w == DutyWeighted {
			h *= s.Duty
		}
		sum, weight = sum+h*r.AlphaPerH, weight+h
		d.OnHours += s.Hours
		d.HottestK = math.Max(d.HottestK, s.CaseK)
		d.Below, d.Above = d.Below || r.Below, d.Above || r.Above
	}
	d.PerCalendarH = sum / 24
	if weight == 0 {
		d.B = l.tests[0].B
		return d
	}
	d.PerOnH = sum / weight
	d.EquivalentK = l.equivalent(day, d.PerOnH)
	d.B = l.At(d.EquivalentK).B
	return d
}

// equivalent returns the temperature at which α is a mean rate of stages [K], between those of the coolest and the
// hottest stage that is on.
func (l Law) equivalent(day []Stage, alphaPerH float64) float64 {
	lo, hi := math.Inf(1), 0.0
	for _, s := range day {
		if s.Duty > 0 && s.Hours > 0 {
			lo, hi = math.Min(lo, s.CaseK), math.Max(hi, s.CaseK)
		}
	}
	if l.At(hi).AlphaPerH <= alphaPerH {
		return hi
	}
	for range 60 {
		if mid := (lo + hi) / 2; l.At(mid).AlphaPerH < alphaPerH {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// CalendarH returns the calendar hours until a share p of the light is left [h]: L_p = ln(B/p)/r; +Inf where the light
// does not fall. Source: TM21, §5.2.5; Miner1945.
func (d Damage) CalendarH(share float64) float64 {
	reserve := math.Log(d.B / share)
	switch {
	case reserve <= 0:
		return 0
	case d.PerCalendarH <= 0:
		return math.Inf(1)
	}
	return reserve / d.PerCalendarH
}

// Light returns the light after some calendar hours over that when new [1]: min(1, B·exp(−r·h)). Source: TM21.
func (d Damage) Light(calendarH float64) float64 {
	return math.Min(1, d.B*math.Exp(-d.PerCalendarH*calendarH))
}

// ReportableH returns the calendar hours beyond which TM-21 lets nobody report a life [h]: its limit is in hours on.
func (d Damage) ReportableH(limitH float64) float64 {
	if d.OnHours <= 0 {
		return math.Inf(1)
	}
	return limitH * 24 / d.OnHours
}

// HarmonicMean returns the life of a mix of lives [h]: Σw/Σ(w/L). shares are w, of the time; nil means equal ones.
// Source: Miner1945: rates add.
func HarmonicMean(livesH, shares []float64) float64 {
	var sum, rate float64
	for i, l := range livesH {
		w := 1.0
		if shares != nil {
			w = shares[i]
		}
		sum, rate = sum+w, rate+w/l
	}
	return sum / rate
}

// ChannelDamage is one channel of a lamp with its share of the light.
type ChannelDamage struct {
	Share float64
	Damage
}

// LampLight returns the light of several channels after some calendar hours over that when new [1]:
// Σ s_c·min(1, B_c·exp(−r_c·h)), over the sum of the shares.
func LampLight(channels []ChannelDamage, calendarH float64) float64 {
	var light, all float64
	for _, c := range channels {
		light, all = light+c.Share*c.Light(calendarH), all+c.Share
	}
	return light / all
}

// LampCalendarH returns the calendar hours until a share of the light of several channels is left [h]; +Inf where it
// never falls to it.
func LampCalendarH(channels []ChannelDamage, share float64) float64 {
	lo, hi := 0.0, 1.0
	if LampLight(channels, 0) <= share {
		return 0
	}
	for ; LampLight(channels, hi) > share; lo, hi = hi, 2*hi {
		if hi > 1e12 {
			return math.Inf(1)
		}
	}
	for range 100 {
		if mid := (lo + hi) / 2; LampLight(channels, mid) > share {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}
