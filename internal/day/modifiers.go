package day

import (
	"fmt"
	"math"
	"math/rand/v2"

	"lampwright/internal/drive"
	"lampwright/internal/root"
)

// Acclimation raises the settings over days: a factor on the setting, before the curve. It steps at local midnight.
type Acclimation struct {
	StartDate int     // local date, days since 2000-01-01
	Days      int     // until the full setting
	From      float64 // factor before and on the start date
	Channels  []int   // indices of channels; nil is all of them
}

// FactorOn returns the factor on the setting on a local date [1]: From before and on StartDate, then linear, 1 from
// StartDate + Days on.
func (a Acclimation) FactorOn(date int) float64 {
	passed := clamp(float64(date-a.StartDate) / float64(a.Days))
	return a.From + (1-a.From)*passed
}

func (a Acclimation) check(channels int) error {
	switch {
	case a.Days < 1 || a.Days > 1000:
		return fmt.Errorf("acclimation over %d days; use 1 to 1000", a.Days)
	case !(a.From >= 0 && a.From <= 1):
		return fmt.Errorf("acclimation from a factor of %g; use 0 to 1", a.From)
	}
	return checkIndices("acclimation", a.Channels, channels)
}

// Clouds dim the light of channels: a factor on duty, after the curve.
//
//	factor = 1 − amount·(1 − x(t))
//
// x is straight between knots half a period apart on the local clock, from 0 (cloud) to 1 (clear). Its knots are
// drawn from Seed and the local date, so that a date is the same whenever it is computed. Its mean over the 24 h of a
// date is Mean; over the hours of light of a single date the mean differs, over many dates it converges to Mean.
type Clouds struct {
	Amount   float64 // light that a full cloud takes: 0 to 1
	Mean     float64 // of x: above 0 and below 1
	PeriodS  float64 // typical time from cloud to cloud; a day is divided into whole half periods; 0 is a steady haze
	Seed     uint64
	Channels []int // indices of channels; nil is all of them
}

// cloudSlewL is the greatest change of lightness by clouds [L*/s]: 1 L* in 2 s (rule of thumb, no source).
const cloudSlewL = 0.5

// MinPeriodS returns the shortest period at which clouds change the light of a channel at full duty by 1 L* in 2 s at
// most [s].
//
//	T = 2·amount·(dL*/dY at Y = 1 − amount)/0.5
//
// x runs from end to end in half a period at most, and lightness changes fastest at the dark end. Source: CIE15-2018,
// §8.2.1 (lightness).
func (c Clouds) MinPeriodS() float64 {
	const dY = 1e-6
	low := 1 - c.Amount
	return 2 * c.Amount * (drive.Lightness(low+dY) - drive.Lightness(low)) / dY / cloudSlewL
}

// maxCloudPeriodS is the longest period of clouds: four knots a day.
const maxCloudPeriodS = DayS / 2

func (c Clouds) check(channels int) error {
	switch {
	case !(c.Amount >= 0 && c.Amount <= 1):
		return fmt.Errorf("clouds of amount %g; use 0 to 1", c.Amount)
	case !(c.Mean > 0 && c.Mean < 1):
		return fmt.Errorf("clouds with a mean of %g; use above 0 and below 1, 1 is clear sky", c.Mean)
	case c.PeriodS == 0:
	case !(c.PeriodS <= maxCloudPeriodS):
		return fmt.Errorf("clouds with a period of %g s; use at most %d s", c.PeriodS, maxCloudPeriodS)
	case !(c.PeriodS >= max(c.MinPeriodS(), 60)):
		return fmt.Errorf("clouds with a period of %g s change the light faster than 1 L* in 2 s; use %.0f s or "+
			"longer for an amount of %g", c.PeriodS, math.Ceil(max(c.MinPeriodS(), 60)), c.Amount)
	}
	return checkIndices("clouds", c.Channels, channels)
}

// knots returns x at the ends of the equal intervals of a date. At midnight it is the mean, so that dates join.
func (c Clouds) knots(date int) ([]float64, error) {
	if c.PeriodS == 0 {
		return []float64{c.Mean, c.Mean}, nil
	}
	n := int(math.Floor(DayS / (c.PeriodS / 2)))
	rng := rand.New(rand.NewPCG(c.Seed, uint64(int64(date))))
	u := make([]float64, n+1)
	for i := 1; i < n; i++ {
		u[i] = rng.Float64()
	}
	x := make([]float64, n+1)
	x[0], x[n] = c.Mean, c.Mean
	// A power of the drawn values has the mean exactly; x starts and ends at the mean, so that the others must have
	// it too.
	excess := func(lnPower float64) float64 {
		sum := 0.0
		for i := 1; i < n; i++ {
			x[i] = math.Pow(u[i], math.Exp(lnPower))
			sum += x[i]
		}
		return sum/float64(n-1) - c.Mean
	}
	p, err := root.Brent(excess, -30, 30, 1e-13)
	if err != nil {
		return nil, fmt.Errorf("clouds of mean %g: %w", c.Mean, err)
	}
	excess(p)
	return x, nil
}

// Budget limits the power of the lamp: a factor on all duties, so that the ratio of the channels stays.
type Budget struct {
	FullW []float64 // power of each channel at duty 1 [W]
	MaxW  float64   // limit of their sum
}

// FactorFor returns the factor on all duties [1]: 1, or MaxW over the power of the duties where that is larger.
func (b Budget) FactorFor(duties []float64) float64 {
	return drive.BudgetFactor(b.FullW, duties, b.MaxW)
}

func (b Budget) check(channels int) error {
	if len(b.FullW) != channels {
		return fmt.Errorf("power budget for %d channels; the programme has %d", len(b.FullW), channels)
	}
	for i, w := range b.FullW {
		if !(w >= 0) || math.IsInf(w, 1) {
			return fmt.Errorf("power budget: channel %d of %g W; use 0 W or more", i+1, w)
		}
	}
	if !(b.MaxW > 0) || math.IsInf(b.MaxW, 1) {
		return fmt.Errorf("power budget of %g W; use above 0 W", b.MaxW)
	}
	return nil
}

func checkIndices(what string, list []int, channels int) error {
	for _, i := range list {
		if i < 0 || i >= channels {
			return fmt.Errorf("%s of channel %d; the programme has %d", what, i+1, channels)
		}
	}
	return nil
}
