package bench

import (
	"fmt"
	"math"

	"lampwright/internal/engine"
	"lampwright/internal/estimate"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
)

// Priors of the factors of faults, as median and spread of the logarithm; common practice, no source.
var (
	dryJoint   = estimate.Prior{Name: "fault.thermal_interface", Kind: estimate.LogNormal, Centre: 6, Spread: 0.5}
	lessAir    = estimate.Prior{Name: "fault.heat_sink", Kind: estimate.LogNormal, Centre: 0.5, Spread: 0.2}
	voidKW     = estimate.Prior{Name: "fault.void", Kind: estimate.LogNormal, Centre: 4, Spread: 0.6}
	wrongLens  = estimate.Prior{Name: "fault.lens", Kind: estimate.LogNormal, Centre: 0.6, Spread: 0.25}
	wrongBeta  = estimate.Prior{Name: "fault.beta", Kind: estimate.LogNormal, Centre: 1, Spread: 0.12}
	wrongSet   = estimate.Prior{Name: "fault.current", Kind: estimate.LogNormal, Centre: 1, Spread: 0.35}
	lowSupply  = estimate.Prior{Name: "fault.supply", Kind: estimate.LogNormal, Centre: 0.85, Spread: 0.1}
	wrongScale = estimate.Prior{Name: "fault.meter", Kind: estimate.LogNormal, Centre: 1, Spread: 0.4}
)

const switchOff = "switch the lamp off now, fix it, and read again"

// hypotheses returns the faults that the readings could show.
func (m *Model) hypotheses(healthy *estimate.Fit, used []int) (out []hypothesis) {
	out = append(m.thermalFaults(), m.emitterFaults()...)
	out = append(out, m.channelFaults(used)...)
	return append(out, m.meterFaults(healthy, used)...)
}

// thermalFaults are those of the heat path.
func (m *Model) thermalFaults() (out []hypothesis) {
	l := m.Sys.Lamp
	typical, _, _ := l.InterfaceM2KW()
	out = append(out, hypothesis{
		Fault: Fault{
			Code: "dry_joint", Title: "thermal interface between board and heat sink dry or loose",
			FactorOf: "resistance of the thermal interface over the predicted one", Action: switchOff,
		},
		factor: &dryJoint,
		params: func(p lamp.Params, f float64) { p[l.Param.TIM] = f*(p[l.Param.TIM]+typical) - typical },
	})
	if l.Fan == nil {
		return append(out, hypothesis{
			Fault: Fault{
				Code: "sink_obstructed", Title: "air flow of the heat sink obstructed",
				FactorOf: "conductance of the heat sink over the predicted one", Action: switchOff,
			},
			factor: &lessAir,
			params: func(p lamp.Params, f float64) { p[l.Param.NaturalConvection] *= f },
		})
	}
	return append(out, hypothesis{
		Fault: Fault{
			Code: "fan_backwards", Title: "fan mounted in the wrong direction, or its air flow obstructed",
			FactorOf: "conductance of the heat sink over the predicted one", Action: switchOff,
		},
		factor: &lessAir,
		params: func(p lamp.Params, f float64) { p[l.Param.ForcedConvection] *= f },
	}, hypothesis{
		Fault: Fault{Code: "fan_dead", Title: "fan does not turn", Action: switchOff}, fanOff: true,
		item: func(m *Model, i int, value float64, _ *engine.Moment, _ float64) float64 {
			if functionOf(m.Items[i].Reading.What.S) == speed {
				return 0
			}
			return value
		},
	})
}

// emitterFaults are those of single emitters: a void beneath each, and a short in one of each channel and type, since
// readings of a string do not tell its emitters apart.
func (m *Model) emitterFaults() (out []hypothesis) {
	l := m.Sys.Lamp
	type reel struct{ channel, kind int }
	seen := map[reel]bool{}
	for e := range l.Emitters {
		label := l.Emitters[e].Label
		out = append(out, hypothesis{
			Fault: Fault{
				Code: "void." + label, Title: "void in the solder beneath " + label,
				FactorOf: "additional thermal resistance [K/W]", Action: switchOff,
			},
			factor:  &voidKW,
			defects: func(f float64) engine.Defects { return engine.Defects{ExtraKW: map[int]float64{e: f}} },
		})
		of := reel{l.Emitters[e].Channel, l.Emitters[e].Type}
		if seen[of] {
			continue
		}
		seen[of] = true
		channel := l.Channels[of.channel].Name
		out = append(out, hypothesis{
			Fault: Fault{
				Code: "short_emitter." + channel, Title: "one emitter of channel " + channel + " shorted",
				Action: "inspect the solder joints of channel " + channel,
			},
			defects: func(float64) engine.Defects { return engine.Defects{Shorted: []int{e}} },
		})
	}
	return out
}

// channelFaults are those of drivers and wiring.
func (m *Model) channelFaults(used []int) (out []hypothesis) {
	l := m.Sys.Lamp
	for c := range l.Channels {
		ch := &l.Channels[c]
		out = append(out, hypothesis{
			Fault: Fault{
				Code: "open." + ch.Name, Title: "channel " + ch.Name + " open: an emitter or a connection is " +
					"interrupted",
				Action: "check the wires and the polarity of channel " + ch.Name + " with the supply off",
			},
			levels: func(levels []float64, _ float64) { levels[c] = 0 }, item: m.openChannel(c),
		}, hypothesis{
			Fault: Fault{
				Code: "set_current." + ch.Name, Title: "driver of channel " + ch.Name + " set to another current",
				FactorOf: "current over the set one", Action: "check the set resistor of the driver of channel " +
					"" + ch.Name,
			},
			factor: &wrongSet,
			params: func(p lamp.Params, f float64) { p[ch.Param.Current] *= f },
		})
		if ch.PWM() {
			out = append(out, hypothesis{
				Fault: Fault{
					Code: "pwm_inverted." + ch.Name, Title: "PWM of channel " + ch.Name + " inverted",
					Action: "check the polarity of the dimming output of channel " + ch.Name,
				},
				levels: func(levels []float64, _ float64) { levels[c] = 1 - levels[c] },
			})
		}
		if h, ok := m.lensFault(c); ok {
			out = append(out, h)
		}
		for d := range c {
			out = append(out, m.swapped(d, c))
		}
	}
	return append(out, m.supplyFaults(used)...)
}

// openChannel changes the voltage at the driver of an open channel: it rises to its open-circuit voltage, and that at
// the board, which is read up to the interruption, with it.
func (m *Model) openChannel(channel int) func(*Model, int, float64, *engine.Moment, float64) float64 {
	openV := engine.CircuitVoltageOf(m.Sys.Lamp, channel)
	return func(m *Model, i int, value float64, _ *engine.Moment, _ float64) float64 {
		r := m.Items[i].Reading
		if r.ChannelIndex == channel && functionOf(r.What.S) == volts && r.What.S != project.ReadSupplyVoltage {
			return openV
		}
		return value
	}
}

// lensFault is a lens that does not do what it should: readings on the axis tell; false where the channel has none.
func (m *Model) lensFault(channel int) (hypothesis, bool) {
	l := m.Sys.Lamp
	name := l.Channels[channel].Name
	if l.Optics[l.Emitters[l.Channels[channel].Emitters[0]].Optic].Lens == nil {
		return hypothesis{}, false
	}
	return hypothesis{
		Fault: Fault{
			Code: "lens_seat." + name, Title: "lens of channel " + name + " badly seated, or of another type",
			FactorOf: "intensity on the axis over the predicted one", Action: "check type and seat of the " +
				"lenses of channel " + name,
		},
		factor: &wrongLens,
		item: func(m *Model, i int, value float64, at *engine.Moment, f float64) float64 {
			share, ok := m.axisShare(i, at, channel)
			if !ok {
				return value
			}
			return value * (1 + share*(f-1))
		},
	}, true
}

// axisShare returns the fraction of a channel in a reading of light on the axis with lenses; false for others.
func (m *Model) axisShare(i int, at *engine.Moment, channel int) (float64, bool) {
	it := &m.Items[i]
	f := functionOf(it.Reading.What.S)
	if it.light == nil || it.Reading.Place.S != project.AtAxis || it.Reading.State.Lenses.S == project.Off {
		return 0, false
	}
	channels := at.Lux(it.light)
	if f == photons {
		channels = at.PPFD(it.light)
	}
	sum := 0.0
	for _, v := range channels {
		sum += v
	}
	if sum <= 0 {
		return 0, false
	}
	return channels[channel] / sum, true
}

// swapped is two channels whose dimming lines, or names, are exchanged: each driver keeps its string.
func (m *Model) swapped(a, b int) hypothesis {
	l := m.Sys.Lamp
	nameA, nameB := l.Channels[a].Name, l.Channels[b].Name
	return hypothesis{
		Fault: Fault{
			Code: "swapped." + nameA + "." + nameB, Title: "channels " + nameA + " and " + nameB + " exchanged",
			Action: "exchange the dimming lines of the two channels, or their names",
		},
		levels: func(levels []float64, _ float64) { levels[a], levels[b] = levels[b], levels[a] },
		item: func(m *Model, i int, value float64, at *engine.Moment, _ float64) float64 {
			r := m.Items[i].Reading
			to, ok := map[int]int{a: b, b: a}[r.ChannelIndex]
			if !ok {
				return value
			}
			own, other := swappedValues(r, at, to)
			if own == 0 {
				return value
			}
			return value * other / own // keeps the errors of the meter
		},
	}
}

// swappedValues returns a reading of one channel of a pair, and the same of the other channel; zeros for readings of
// light
// and temperature, which follow the levels.
func swappedValues(r *project.Reading, at *engine.Moment, to int) (own, other float64) {
	of := func(channel int) float64 {
		switch r.What.S {
		case project.ReadStringVoltage:
			return at.StringV(channel)
		case project.ReadDriverVoltage:
			return at.DriverV(channel)
		case project.ReadStringCurrent:
			amps, duty := at.StringA(channel)
			return shownCurrent(r.MeterMode.S, amps, duty)
		case project.ReadPeakWavelength:
			peak, _ := at.Spectrum(channel).Peak()
			return peak
		case project.ReadPeakWidth:
			_, width := at.Spectrum(channel).Peak()
			return width
		}
		return 0
	}
	return of(r.ChannelIndex), of(to)
}

// supplyFaults are supplies that reach the voltage of the drivers only while the lamp is dimmed.
func (m *Model) supplyFaults(used []int) (out []hypothesis) {
	l := m.Sys.Lamp
	for s := range l.Design.Supplies {
		out = append(out, hypothesis{
			Fault: Fault{
				Code: fmt.Sprintf("low_supply.%d", s+1), Title: fmt.Sprintf("voltage of supply %d too low at "+
					"full load", s+1),
				FactorOf: "light and current at full level over the predicted ones",
				Action:   "read the supply voltage at the drivers under load",
			},
			factor: &lowSupply,
			levels: func(levels []float64, f float64) {
				for c := range levels {
					if l.Channels[c].Supply == s && levels[c] > nearlyFull {
						levels[c] *= math.Min(f, 1)
					}
				}
			},
		})
	}
	return out
}

// nearlyFull is the level from which a channel counts as at full level.
const nearlyFull = 0.95

// meterFaults are those of the instruments and of the sensor.
func (m *Model) meterFaults(healthy *estimate.Fit, used []int) (out []hypothesis) {
	scales, slips := map[string]bool{}, map[*project.Reading]bool{}
	sensor := false
	for _, i := range used {
		it := &m.Items[i]
		r := it.Reading
		f := functionOf(r.What.S)
		if f == ohms {
			sensor = true
		}
		if r.Instrument != nil && (f == light || f == photons) && !scales[r.Instrument.Name.S] {
			scales[r.Instrument.Name.S] = true
			out = append(out, m.scaleFault(r.Instrument.Name.S, f))
		}
		if slips[r] || m.prior == nil {
			continue
		}
		if power, ok := slipOfTen(it.Value, m.prior.at[i]); ok {
			slips[r] = true
			out = append(out, m.rangeFault(i, power))
		}
	}
	if sensor {
		out = append(out, hypothesis{
			Fault: Fault{
				Code: "ntc_beta", Title: "thermistor with another B-value", FactorOf: "B-value over that of the " +
					"datasheet",
				Action: "read the thermistor in ice water and at room temperature",
			},
			factor: &wrongBeta,
			item: func(m *Model, i int, value float64, _ *engine.Moment, f float64) float64 {
				if functionOf(m.Items[i].Reading.What.S) != ohms {
					return value
				}
				return m.ohm25 * math.Pow(value/m.ohm25, f)
			},
		})
	}
	return out
}

// scaleFault is an instrument whose scale is wrong beyond its accuracy.
func (m *Model) scaleFault(instrument string, f function) hypothesis {
	return hypothesis{
		Fault: Fault{
			Code: "meter_scale." + instrument, Title: "scale of instrument " + instrument + " wrong beyond its " +
				"accuracy",
			FactorOf: "reading over the true value", Action: "compare instrument " + instrument + " with another one",
		},
		factor: &wrongScale,
		item: func(m *Model, i int, value float64, _ *engine.Moment, factor float64) float64 {
			r := m.Items[i].Reading
			if r.Instrument == nil || r.Instrument.Name.S != instrument || functionOf(r.What.S) != f {
				return value
			}
			return value * factor
		},
	}
}

// rangeFault is one reading, or a series, in another range of its instrument.
func (m *Model) rangeFault(item, power int) hypothesis {
	label := m.Items[item].Reading.Label
	factor := math.Pow(10, float64(power))
	return hypothesis{
		Fault: Fault{
			Code:   "meter_range." + label,
			Title:  fmt.Sprintf("reading %s written in another range of its instrument (factor %g)", label, factor),
			Action: "read " + label + " again",
		},
		item: func(m *Model, i int, value float64, _ *engine.Moment, _ float64) float64 {
			if m.Items[i].Reading == m.Items[item].Reading {
				return value * factor
			}
			return value
		},
	}
}

// slipOfTen tells whether a reading is about 10 or 1/10 of its prediction, and the power of ten.
func slipOfTen(value, predicted float64) (power int, ok bool) {
	if !(value > 0) || !(predicted > 0) {
		return 0, false
	}
	decades := math.Log10(value / predicted)
	power = int(math.Round(decades))
	return power, power*power == 1 && math.Abs(decades-float64(power)) < 0.3
}
