package day

import (
	"fmt"
	"math"
	"slices"
)

// Integral is what a programme does over a span of time.
type Integral struct {
	Hours     float64   // length of the span
	MeanDuty  []float64 // of each channel, over the span [1]
	FullHours []float64 // hours at duty 1 with the same light, of each channel: ∫ duty dt
	LitHours  float64   // hours in which any channel is above duty 0
	DarkHours float64   // hours in which none is
}

// maxSpanS is the longest span that is integrated: 100 years.
const maxSpanS = 100 * 366 * DayS

// Integrate returns means and hours from one instant of UTC to a later one.
//
// The span is divided at local midnights, at changes of the clock and at points and knots; each part is integrated in
// closed form. Where a power budget limits the duties, each part is divided at the limit and integrated by 8 × 3
// Gauss points (relative error below 1e-6).
func (p *Programme) Integrate(from, to int64) (Integral, error) {
	in := Integral{FullHours: make([]float64, len(p.Channels)), MeanDuty: make([]float64, len(p.Channels))}
	err := p.eachPiece(from, to, func(c *Course, a, b float64) {
		c.addDuties(a, b, in.FullHours)
		in.LitHours += c.litS(a, b)
	})
	if err != nil {
		return in, err
	}
	in.Hours = float64(to-from) / 3600
	in.LitHours /= 3600
	in.DarkHours = in.Hours - in.LitHours
	for i := range in.FullHours {
		in.MeanDuty[i] = in.FullHours[i] / float64(to-from)
		in.FullHours[i] /= 3600
	}
	return in, nil
}

// eachPiece calls do for every stretch of a span with straight settings and clouds, in seconds of the local clock of
// its date.
func (p *Programme) eachPiece(from, to int64, do func(c *Course, a, b float64)) error {
	if to <= from || to-from > maxSpanS {
		return fmt.Errorf("a span of %d s; use above 0 s and at most 100 years", to-from)
	}
	var c *Course
	var cuts []float64
	for utc := from; utc < to; {
		date, second := p.Clock.Local(utc)
		if c == nil || c.Date != date {
			next, err := p.Course(date)
			if err != nil {
				return err
			}
			if c == nil || !p.SameEveryDay() {
				cuts = next.cuts()
			}
			c = next
		}
		end := min(utc+int64(DayS-second), to)
		if next, changes := p.Clock.nextChange(utc); changes {
			end = min(end, next)
		}
		a, last := float64(second), float64(second)+float64(end-utc)
		i, _ := slices.BinarySearch(cuts, a)
		for ; i < len(cuts) && cuts[i] < last; i++ {
			if cuts[i] > a {
				do(c, a, cuts[i])
				a = cuts[i]
			}
		}
		do(c, a, last)
		utc = end
	}
	return nil
}

// nextChange returns the first change of the offset after an instant.
func (c Clock) nextChange(utc int64) (int64, bool) {
	if len(c.periods) == 0 {
		return 0, false
	}
	if i := c.period(utc) + 1; i < len(c.periods) {
		return c.periods[i].UTC, true
	}
	return 0, false
}

// cuts returns the seconds within the day at which a channel or the clouds bend, rising.
func (c *Course) cuts() (out []float64) {
	for _, lines := range c.lines {
		for _, l := range lines[1:] {
			out = append(out, l.fromS)
		}
	}
	for i := 1; i < len(c.knots)-1; i++ {
		out = append(out, DayS*float64(i)/float64(len(c.knots)-1))
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// ends returns the settings of a channel at the ends of a stretch without bends; a step at an end counts from within.
func (c *Course) ends(i int, a, b float64) (from, to float64) {
	l := c.lines[i][lineAt(c.lines[i], (a+b)/2)]
	return clamp(l.at(a)), clamp(l.at(b))
}

// addDuties adds the integral of each duty over a stretch without bends [s] to sums.
func (c *Course) addDuties(a, b float64, sums []float64) {
	if c.p.Budget != nil && c.peakW(a, b) > c.p.Budget.MaxW {
		c.addLimited(a, b, sums)
		return
	}
	f0, f1 := c.cloudFactor(a), c.cloudFactor(b)
	for i := range sums {
		s0, s1 := c.ends(i, a, b)
		if s0 == 0 && s1 == 0 {
			continue
		}
		m0, m1 := c.p.Channels[i].Curve.mean(s0, s1)
		if c.cloud[i] {
			m0 = f0*m0 + (f1-f0)*m1
		}
		sums[i] += (b - a) * m0
	}
}

// peakW returns an upper bound of the power of the duties in a stretch: each channel and the clouds at their larger
// end.
func (c *Course) peakW(a, b float64) (w float64) {
	f := max(c.cloudFactor(a), c.cloudFactor(b))
	for i, full := range c.p.Budget.FullW {
		s0, s1 := c.ends(i, a, b)
		d := c.p.Channels[i].Curve.Duty(max(s0, s1))
		if c.cloud[i] {
			d *= f
		}
		w += d * full
	}
	return w
}

// limitedPieces is the number of parts of a stretch in which a power budget may limit.
const limitedPieces = 8

// addLimited adds the integral of duties that a power budget limits: parts on either side of the limit, by Gauss
// points.
func (c *Course) addLimited(a, b float64, sums []float64) {
	duties := make([]float64, len(sums))
	excess := func(s float64) float64 {
		c.unlimited(s, a, b, duties)
		w := 0.0
		for i, d := range duties {
			w += d * c.p.Budget.FullW[i]
		}
		return w - c.p.Budget.MaxW
	}
	for _, part := range splitAt(excess, a, b, limitedPieces) {
		for g, u := range gaussPoints() {
			c.unlimited(part[0]+u*(part[1]-part[0]), a, b, duties)
			k := c.p.Budget.FactorFor(duties)
			for i, d := range duties {
				sums[i] += gaussWeights()[g] * (part[1] - part[0]) * k * d
			}
		}
	}
}

// unlimited writes the duties before the power budget at a second of a stretch without bends.
func (c *Course) unlimited(s, a, b float64, out []float64) {
	f := c.cloudFactor(s)
	for i := range out {
		s0, s1 := c.ends(i, a, b)
		out[i] = c.p.Channels[i].Curve.Duty(s0 + (s1-s0)*(s-a)/(b-a))
		if c.cloud[i] {
			out[i] *= f
		}
	}
}

// splitAt divides a stretch into n parts, and these where f changes sign.
func splitAt(f func(float64) float64, a, b float64, n int) (out [][2]float64) {
	from, fFrom := a, f(a)
	for k := 1; k <= n; k++ {
		to := a + (b-a)*float64(k)/float64(n)
		fTo := f(to)
		if (fFrom > 0) != (fTo > 0) {
			lo, hi := from, to
			for range 60 {
				if mid := (lo + hi) / 2; (f(mid) > 0) == (fFrom > 0) {
					lo = mid
				} else {
					hi = mid
				}
			}
			out = append(out, [2]float64{from, hi})
			from = hi
		}
		if to > from {
			out = append(out, [2]float64{from, to})
		}
		from, fFrom = to, fTo
	}
	return out
}

// litS returns the seconds of a stretch without bends in which any duty is above 0.
func (c *Course) litS(a, b float64) float64 {
	cloud := max(c.cloudFactor(a), c.cloudFactor(b)) > 0
	for i := range c.lines {
		if s0, s1 := c.ends(i, a, b); max(s0, s1) > 0 && (cloud || !c.cloud[i]) {
			return b - a // a straight setting is 0 at one instant at most
		}
	}
	return 0
}

// Peak returns the largest Σ weight·duty from one instant to a later one; weights are, for example, the watts of
// each channel at full duty. It looks at the ends of each stretch without bends and at eighths between.
func (p *Programme) Peak(from, to int64, weights []float64) (peak float64, err error) {
	if len(weights) != len(p.Channels) {
		return 0, fmt.Errorf("peak of %d weights for %d channels", len(weights), len(p.Channels))
	}
	duties := make([]float64, len(weights))
	err = p.eachPiece(from, to, func(c *Course, a, b float64) {
		for k := range limitedPieces + 1 {
			peak = max(peak, c.sum(a+(b-a)*float64(k)/limitedPieces, a, b, weights, duties))
		}
	})
	return peak, err
}

// sum returns Σ weight·duty at a second of a stretch without bends.
func (c *Course) sum(s, a, b float64, weights, duties []float64) (sum float64) {
	c.unlimited(s, a, b, duties)
	k := 1.0
	if c.p.Budget != nil {
		k = c.p.Budget.FactorFor(duties)
	}
	for i, d := range duties {
		sum += weights[i] * k * d
	}
	return sum
}

// HoursAbove returns the hours from one instant to a later one in which Σ weight·duty is above a level; weights
// are, for example, the PPFD of each channel at full duty.
//
// Crossings are found by bisection in stretches of an eighth between points: a rise above the level and back within one
// such stretch is not seen.
func (p *Programme) HoursAbove(from, to int64, weights []float64, level float64) (float64, error) {
	if len(weights) != len(p.Channels) || math.IsNaN(level) {
		return 0, fmt.Errorf("hours above %g: %d weights for %d channels", level, len(weights), len(p.Channels))
	}
	duties, total := make([]float64, len(weights)), 0.0
	err := p.eachPiece(from, to, func(c *Course, a, b float64) {
		excess := func(s float64) float64 { return c.sum(s, a, b, weights, duties) - level }
		for _, part := range splitAt(excess, a, b, limitedPieces) {
			if excess((part[0]+part[1])/2) > 0 {
				total += part[1] - part[0]
			}
		}
	})
	return total / 3600, err
}
