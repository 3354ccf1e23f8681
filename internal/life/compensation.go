package life

import "math"

// Compensation is what it takes to keep the light of a lamp constant by raising its level.
type Compensation struct {
	CalendarH  float64 // until the level is 1 [h]; +Inf where the light does not fall
	ConstantH  float64 // the same if the rate stayed that of the first level [h]
	MeanLevel  float64 // mean over the time, over the first level [1]: about the mean energy
	StartLevel float64
}

// Compensate raises a level as the light falls:
//
//	d(t) = d₀/φ(t),  dφ/dt = −φ·r(d),  until d = 1
//
// start is d₀; b is B, of which a value below 1 raises the level at once, and one above 1 leaves a time without a
// change; rate returns r at a level, per calendar hour. The heat rises with the level, so it ends sooner than
// ln(B/d₀)/r(d₀). Source: derived from TM21 and Miner1945.
func Compensate(start, b float64, rate func(level float64) float64) Compensation {
	const steps = 400 // Simpson's rule: below 1e-9 of the time for the exponentials of a case temperature
	c := Compensation{StartLevel: start, MeanLevel: 1}
	reserve := math.Log(b / start)
	switch first := rate(start); {
	case !(reserve > 0):
		return c
	case !(first > 0):
		c.CalendarH, c.ConstantH = math.Inf(1), math.Inf(1)
		return c
	default:
		c.ConstantH = reserve / first
	}
	// For b above 1 the level stays at the start for the first ln b of the damage; the kink is between two panels.
	kink := math.Max(0, math.Log(b))
	hours, level := kink/rate(start), start*kink/rate(start)
	x := (reserve - kink) / steps
	for i := 0; i <= steps; i++ {
		d := math.Min(1, start/math.Min(1, b*math.Exp(-kink-float64(i)*x)))
		w := 2.0
		switch {
		case i == 0 || i == steps:
			w = 1
		case i%2 == 1:
			w = 4
		}
		h := w * x / 3 / rate(d)
		hours, level = hours+h, level+h*d
	}
	c.CalendarH, c.MeanLevel = hours, level/hours/start
	return c
}
