package engine

import (
	"math"

	"lampwright/internal/drive"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
)

// minDimmedFraction is the share of the set current down to which a driver that dims by current is taken to go where its sheet
// states no smallest one: below some 10 % its own offset rules (common practice, no source).
const minDimmedFraction = 0.1

// MinCurrentA returns the smallest current of one string that the channel runs at between dawn and dusk [A], and whether it is
// smaller than that of full day: only a driver that dims by current makes it so, in the ramps.
func MinCurrentA(l *lamp.Lamp, c *lamp.Channel) (amps float64, dimmed bool) {
	full := c.StringA()
	if c.Driver.Dimming.S != project.DimmingAnalogue || l.Design.Day.RampTime.SI == 0 {
		return full, false
	}
	least := minDimmedFraction * c.CurrentA
	if c.Driver.CurrentMin.Set {
		least = c.Driver.CurrentMin.SI
	}
	if least /= float64(c.Strings); least < full {
		return least, true
	}
	return full, false
}

// solveVoltages computes the range of each string's voltage: from a cold start with the highest bins and the driver at the upper
// end of its tolerance to the hottest day with the lowest bins and the lower end; and the least voltage of all, with
// the fan stopped where there is one, and dimmed where the driver dims by current.
//
// A string that is dimmed down takes its small current at once, and its junctions fall to the board beneath them, which is
// still as hot as at full light.
func (s *System) solveVoltages(out *Solution) {
	l, p := s.Lamp, out.Params
	for i := range l.Channels {
		ch, c := &l.Channels[i], &out.Channels[i]
		full := ch.StringA() * p[ch.Param.Current]
		tol := ch.Driver.Tolerance.SI
		w := s.windowOf(p, ch, out.Cases[MaxAmbient].JunctionK, full*(1-tol), full*(1+tol))
		c.VoltageMaxV, c.VoltageMinV, c.MinDimmedV = w.HiV, w.LoV, w.LoV
		low, dimmed := MinCurrentA(l, ch)
		for _, key := range []CaseKey{MaxAmbient, MaxAmbientFanFailure} {
			st, ok := out.Cases[key]
			if !ok || st.Runaway {
				continue
			}
			c.MinDimmedV = math.Min(c.MinDimmedV, s.windowOf(p, ch, st.JunctionK, full*(1-tol), full).LoV)
			if dimmed {
				now := low * p[ch.Param.Current]
				c.MinDimmedV = math.Min(c.MinDimmedV, s.windowOf(p, ch, s.afterDimming(p, ch, st, now), now, full).LoV)
			}
		}
	}
}

// windowOf returns the range of a channel's string: the least voltage at loA and hot junctions, the greatest at hiA and a
// cold start.
func (s *System) windowOf(p lamp.Params, ch *lamp.Channel, hotK []float64, loA, hiA float64) drive.Window {
	l := s.Lamp
	cold := p[l.Param.ColdStart]
	parts := make([]drive.Forward, len(ch.Emitters))
	for n, e := range ch.Emitters {
		kind := l.Emitters[e].Type
		k := &l.Types[kind]
		series, parallel := float64(k.Model.Series), float64(k.Model.Parallel)
		lo, _ := k.Model.VoltageV.At(loA / parallel)
		hi, _ := k.Model.VoltageV.At(hiA / parallel)
		spread := k.Part.VoltageSpread.SI
		parts[n] = drive.Forward{
			Count: 1, MinV: series * (lo - spread), MaxV: series * (hi + spread),
			SlopeVK: series * p[k.Param.Tempco], RefK: k.Model.TestJunctionK, ColdK: cold, HotK: hotK[e],
		}
	}
	w := drive.StringWindow(parts)
	per := float64(ch.Strings)
	return drive.Window{LoV: w.LoV / per, HiV: w.HiV / per}
}

// afterDimming returns the junctions of a channel that has just been dimmed to a string current, over a board that is still
// as hot as before [K], by emitter.
func (s *System) afterDimming(p lamp.Params, ch *lamp.Channel, st State, stringA float64) []float64 {
	out := append([]float64(nil), st.JunctionK...)
	for _, e := range ch.Emitters {
		now := stateAtCurrent(s.Lamp, p, e, stringA, st.SolderK[e])
		out[e] = st.SolderK[e] + now.RthKW*math.Max(0, now.HeatW)
	}
	return out
}
