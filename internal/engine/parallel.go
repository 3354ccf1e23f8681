package engine

import (
	"math"
	"slices"

	"lampwright/internal/drive"
	"lampwright/internal/point"
)

// ParallelStrings are the strings of a channel that share one driver output: one of lowest bins, the others of highest.
type ParallelStrings struct {
	RatedA   float64 // lowest current rating of the packages of a string; +Inf where none is stated
	SlopeOhm float64 // of one string at its mean share

	totalA         float64 // of the channel, while on
	slopeVK, rthKW float64 // change with temperature; rise of a string's own junctions per electrical watt of it
	voltsV         []float64
	emitters       int // of one string
}

// ParallelStrings returns the strings of a channel at the ends of their bins. It needs the state at typical ambient.
func (s *System) ParallelStrings(sol *Solution, channel int) *ParallelStrings {
	l, c := s.Lamp, &s.Lamp.Channels[channel]
	n := float64(c.Strings)
	out := &ParallelStrings{RatedA: math.Inf(1), totalA: stringCurrentA(l, sol.Params, channel) * n}
	states := sol.Cases[Typical].States
	voltsV, spreadV := 0.0, 0.0
	for _, e := range c.Emitters {
		k := &l.Types[l.Emitters[e].Type]
		series, parallel := float64(k.Model.Series), float64(k.Model.Parallel)
		voltsV += states[e].VoltageV / n
		spreadV += series * k.Part.VoltageSpread.SI / n
		out.SlopeOhm += series / parallel * k.Model.SlopeOhm(states[e].DieCurrentA) / n
		out.slopeVK += series * sol.Params[k.Param.Tempco] / n
		out.rthKW += sol.Params[k.Param.Rth] * k.RealRth * heatFraction(states[e]) * n /
			float64(len(c.Emitters)*len(c.Emitters))
		if k.Part.MaxForwardCurrent.Set {
			out.RatedA = math.Min(out.RatedA, parallel*k.Part.MaxForwardCurrent.SI)
		}
	}
	out.emitters = len(c.Emitters) / c.Strings
	out.voltsV = append(out.voltsV, voltsV-spreadV)
	for range c.Strings - 1 {
		out.voltsV = append(out.voltsV, voltsV+spreadV)
	}
	return out
}

// heatFraction returns the fraction of its electrical power that an emitter dissipates; all of it while off.
func heatFraction(s point.State) float64 {
	if !(s.ElectricalW > 0) {
		return 1
	}
	return s.HeatW / s.ElectricalW
}

// MeanA returns the mean share of one string [A].
func (p *ParallelStrings) MeanA() float64 { return p.totalA / float64(len(p.voltsV)) }

// Share returns how the strings share the current with a resistance added to each [Ω]. Strings of no slope run away:
// the one of lowest voltage conducts all.
func (p *ParallelStrings) Share(ballastOhm float64) drive.Parallel {
	n, ohm := len(p.voltsV), p.SlopeOhm+ballastOhm
	runaway := drive.Parallel{Runaway: true, SettledWorst: float64(n), OneOpenWorstA: p.totalA}
	if !(ohm > 0) {
		return runaway
	}
	share, err := drive.CheckParallel(p.totalA, p.voltsV, slices.Repeat([]float64{ohm}, n), p.slopeVK, p.rthKW)
	if err != nil {
		return runaway
	}
	return share
}

// WorstA returns the largest current of one string once warm [A]: the whole current at thermal runaway.
func (p *ParallelStrings) WorstA() float64 { return p.Share(0).SettledWorst * p.MeanA() }

// OneShortA returns the current of a string one of whose emitters has shorted [A]; 0 where a string has one emitter.
func (p *ParallelStrings) OneShortA() float64 {
	volts := 0.0
	for _, v := range p.voltsV {
		volts += v / float64(len(p.voltsV))
	}
	a, err := drive.ShortedStringA(p.totalA, len(p.voltsV), p.emitters, volts, p.SlopeOhm)
	if err != nil {
		return 0
	}
	return a
}

// OneOpenA returns the largest current of one string after another one has opened [A].
func (p *ParallelStrings) OneOpenA() float64 { return p.Share(0).OneOpenWorstA }
