package engine

import (
	"math"

	"lampwright/internal/drive"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
)

// minDimmedFraction is the minimum current of a driver with analogue dimming, relative to its set current, where the
// datasheet states none: below about 10 % its offset dominates; rule of thumb (no source).
const minDimmedFraction = 0.1

// MinCurrentA returns the minimum current of one string between sunrise and sunset [A], and whether it is below that at
// full level: only with analogue dimming during the ramps.
func MinCurrentA(l *lamp.Lamp, c *lamp.Channel) (amps float64, dimmed bool) {
	full := c.StringA()
	if c.Driver.Dimming.S != project.DimmingAnalogue || !l.Design.Day.Ramps() {
		return full, false
	}
	minimum := minDimmedFraction * c.CurrentA
	if c.Driver.CurrentMin.Set {
		minimum = c.Driver.CurrentMin.SI
	}
	if minimum /= float64(c.Strings); minimum < full {
		return minimum, true
	}
	return full, false
}

// solveVoltages computes the range of each string's voltage: from a cold start with the highest bin and the upper
// driver tolerance to maximum ambient with the lowest bin and the lower tolerance; and the minimum of all, with fan
// failure where there is a fan, and dimmed with analogue dimming.
//
// A string that is dimmed has its low current at once, and its junctions cool to the board beneath them, which is still
// as hot as at full level.
func (s *System) solveVoltages(out *Solution) {
	l, p := s.Lamp, out.Params
	for i := range l.Channels {
		ch, c := &l.Channels[i], &out.Channels[i]
		full := ch.StringA() * p[ch.Param.Current]
		least, most := l.LimitsOf(ch.Param.CurrentTolerance)
		w := s.windowOf(p, ch, out.Cases[MaxAmbient].JunctionK, full*least, full*most)
		c.VoltageMaxV, c.VoltageMinV, c.MinDimmedV = w.HiV, w.LoV, w.LoV
		low, dimmed := MinCurrentA(l, ch)
		for _, key := range []CaseKey{MaxAmbient, MaxAmbientFanFailure} {
			st, ok := out.Cases[key]
			if !ok || st.Runaway {
				continue
			}
			c.MinDimmedV = math.Min(c.MinDimmedV, s.windowOf(p, ch, st.JunctionK, full*least, full).LoV)
			if dimmed {
				now := low * p[ch.Param.Current]
				c.MinDimmedV = math.Min(c.MinDimmedV, s.windowOf(p, ch, s.afterDimming(p, ch, st, now), now, full).LoV)
			}
		}
	}
}

// windowOf returns the voltage range of a channel's string: minimum at loA and hot junctions, maximum at hiA and a cold
// start.
func (s *System) windowOf(p lamp.Params, ch *lamp.Channel, hotK []float64, loA, hiA float64) drive.Window {
	l := s.Lamp
	cold := p[l.Param.ColdStart]
	parts := make([]drive.Forward, len(ch.Emitters))
	for n, e := range ch.Emitters {
		kind := l.Emitters[e].Type
		k := &l.Types[kind]
		series, parallel := float64(k.Model.Series), float64(k.Model.Parallel)
		lo, hi := k.Model.DieVoltage(loA/parallel), k.Model.DieVoltage(hiA/parallel)
		below, above := l.LimitsOf(k.Param.VoltageOffset)
		parts[n] = drive.Forward{
			Count: 1, MinV: series * (lo + below), MaxV: series * (hi + above),
			SlopeVK: series * p[k.Param.Tempco], RefK: k.Model.TestJunctionK, ColdK: cold, HotK: hotK[e],
		}
	}
	w := drive.StringWindow(parts)
	per := float64(ch.Strings)
	return drive.Window{LoV: w.LoV / per, HiV: w.HiV / per}
}

// afterDimming returns the junctions of a channel that has just been dimmed to a string current, over a board that is
// still as hot as before [K], by emitter.
func (s *System) afterDimming(p lamp.Params, ch *lamp.Channel, st State, stringA float64) []float64 {
	out := append([]float64(nil), st.JunctionK...)
	for _, e := range ch.Emitters {
		m := modelWith(s.Lamp, p, e)
		if now, settled := m.OnSolder(stringA/float64(m.Parallel), st.SolderK[e]); settled {
			out[e] = math.Max(st.SolderK[e], now.JunctionK)
		}
	}
	return out
}
