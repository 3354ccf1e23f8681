package design

import (
	"fmt"
	"math"

	"lampwright/internal/drive"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

// leastDimmed is the share of the set current down to which a driver that dims by current is taken to go where its sheet
// states no smallest one: below some 10 % its own offset rules (common practice, no source).
const leastDimmed = 0.1

// leastA returns the smallest current of one string that the channel runs at between dawn and dusk [A], and whether it is
// smaller than that of full day: only a driver that dims by current makes it so, in the ramps.
func (l *Lamp) leastA(c *Channel) (amps float64, dimmed bool) {
	full := c.StringA()
	if c.Driver.Dimming.S != project.DimmingAnalogue || l.Design.Day.RampTime.SI == 0 {
		return full, false
	}
	least := leastDimmed * c.CurrentA
	if c.Driver.CurrentMin.Set {
		least = c.Driver.CurrentMin.SI
	}
	if least /= float64(c.Strings); least < full {
		return least, true
	}
	return full, false
}

// windows computes the range of each string's voltage: from a cold start with the highest bins and the driver at the upper
// end of its tolerance to the hottest day with the lowest bins and the lower end; and the least voltage of all, with
// the fan stopped where there is one, and dimmed where the driver dims by current.
//
// A string that is dimmed down takes its small current at once, and its junctions fall to the board beneath them, which is
// still as hot as at full light.
func (s *system) windows(p params, sol *solution) {
	l := s.lamp
	for i := range l.Channels {
		ch := &l.Channels[i]
		full := ch.StringA() * p.set[i]
		tol := ch.Driver.Tolerance.SI
		w := s.windowOf(p, ch, sol.settled[hottestDay].junctionK, full*(1-tol), full*(1+tol))
		sol.values[ch.Name+".voltage-cold"], sol.values[ch.Name+".voltage-hot"] = w.HiV, w.LoV
		least := w.LoV
		low, dimmed := l.leastA(ch)
		for _, key := range []string{hottestDay, "hottest-fan-dead"} {
			st, ok := sol.settled[key]
			if !ok || st.runaway {
				continue
			}
			least = math.Min(least, s.windowOf(p, ch, st.junctionK, full*(1-tol), full).LoV)
			if dimmed {
				least = math.Min(least, s.windowOf(p, ch, s.afterDimming(p, ch, st, low*p.set[i]), low*p.set[i], full).LoV)
			}
		}
		sol.values[ch.Name+".voltage-least"] = least
	}
}

// windowOf returns the range of a channel's string: the least voltage at loA and hot junctions, the greatest at hiA and a
// cold start.
func (s *system) windowOf(p params, ch *Channel, hotK []float64, loA, hiA float64) drive.Window {
	l := s.lamp
	cold := p.coldK
	parts := make([]drive.Forward, len(ch.Emitters))
	for n, e := range ch.Emitters {
		kind := l.Emitters[e].Kind
		k := &l.Kinds[kind]
		series, parallel := float64(k.Model.Series), float64(k.Model.Parallel)
		lo, _ := k.Model.VoltageV.At(loA / parallel)
		hi, _ := k.Model.VoltageV.At(hiA / parallel)
		spread := k.Part.VoltageSpread.SI
		parts[n] = drive.Forward{
			Count: 1, MinV: series * (lo - spread), MaxV: series * (hi + spread),
			SlopeVK: series * p.vSlope[kind], RefK: k.Model.TestJunctionK, ColdK: cold, HotK: hotK[e],
		}
	}
	w := drive.StringWindow(parts)
	per := float64(ch.Strings)
	return drive.Window{LoV: w.LoV / per, HiV: w.HiV / per}
}

// afterDimming returns the junctions of a channel that has just been dimmed to a string current, over a board that is still
// as hot as before [K], by emitter.
func (s *system) afterDimming(p params, ch *Channel, st settled, stringA float64) []float64 {
	out := append([]float64(nil), st.junctionK...)
	for _, e := range ch.Emitters {
		now := s.lamp.stateAt(p, e, stringA, st.solderK[e])
		out[e] = st.solderK[e] + now.RthKW*math.Max(0, now.HeatW)
	}
	return out
}

// LeastWhen says in which corner the voltage of a channel's string is the least.
func (r *Result) LeastWhen(channel int) string {
	when := "maximum ambient"
	if r.Lamp.Fan != nil {
		when = "fan failure at maximum ambient"
	}
	if a, dimmed := r.Lamp.leastA(&r.Lamp.Channels[channel]); dimmed {
		when += ", dimmed to " + quantity.Format(a*float64(r.Lamp.Channels[channel].Strings), quantity.Current)
	}
	return when
}

func (r *Result) windowBasis(w *writer, s *system, channel int, formula, key string) Basis {
	l := s.lamp
	ch := &l.Channels[channel]
	k := &l.Kinds[l.Emitters[ch.Emitters[0]].Kind]
	sheet := sheetOf(k.Part.Datasheet, "emitter", k.Part.ID.S)
	cold, stated := l.ColdestK()
	coldSource := theDesign
	if !stated {
		coldSource = "assumed: " + assumedColdest.why
	}
	tol := quantity.Format(ch.Driver.Tolerance.SI, quantity.Ratio)
	return Basis{
		Formula: formula, Numbers: w.text(key, quantity.Voltage),
		Inputs: []Input{
			{Name: "δV per die", Value: quantity.Format(k.Part.VoltageSpread.SI, quantity.Voltage), Source: sheet, At: k.Part.VoltageSpread.At},
			{Name: "k_V per die", Value: fmt.Sprintf("%s mV/K", num(1e3*k.Model.VoltageSlopeVK)), Source: sheet, At: k.Part.VoltageTempco.At},
			{Name: "tolerance of I", Value: tol, Source: sheetOf(ch.Driver.Datasheet, "driver", ch.Driver.ID.S), At: ch.Driver.Tolerance.At},
			{Name: "T_cold", Value: celsius(cold), Source: coldSource, At: l.Design.Installation.Ambient.Min.At},
			w.ref("T_hot", ch.Name+".junction-hottest", quantity.Temperature),
		},
		Method: "Kirchhoff's voltage law at the corners of bins, temperature and the driver's tolerance", Valid: "a straight change with temperature, about −40 °C to 150 °C; ranges are those of assumed values, since the bins stand at their ends already",
	}
}
