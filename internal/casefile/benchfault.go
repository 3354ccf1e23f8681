package casefile

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"lampwright/internal/benchlamp"
	"lampwright/internal/estimate"
)

// benchKinds lists the kinds of hypotheses by their word; other words for the same kind lead to it.
var benchKinds = map[string]func(w *benchWorld, h benchHypothesis) ([]explanation, error){
	"dry_joint":     scaling("paste", benchFactor{6, 0.5}),
	"fan_backwards": scaling("film", benchFactor{0.5, 0.2}),
	"lens_seat":     scaling("lens_axis.", benchFactor{0.6, 0.25}),
	"set_resistor":  scaling("current.", benchFactor{}),
	"lux_scale":     scaling("lux_scale", benchFactor{}),
	"dielectric":    scaling("dielectric", benchFactor{}),
	"scale":         scaling("", benchFactor{}),
	"short_emitter": ofChannel(func(f *benchlamp.Fault, c int) { f.Shorted = c + 1 }),
	"open_emitter":  ofChannel(func(f *benchlamp.Fault, c int) { f.Open = c + 1 }),
	"pwm_inverted":  ofChannel(func(f *benchlamp.Fault, c int) { f.Inverted = c + 1 }),
	"swapped":       exchanged,
	"meter_range":   wrongRange,
	"ntc_beta":      wrongBeta,
}

// benchWords are other words for kinds of hypotheses.
var benchWords = map[string]string{
	"dry_paste": "dry_joint", "paste": "dry_joint", "fan": "fan_backwards", "fan_dead": "fan_backwards",
	"fan_stopped": "fan_backwards", "fan_failure": "fan_backwards", "sink_choked": "fan_backwards",
	"film": "fan_backwards", "lens_axis": "lens_seat", "lens_wrong": "lens_seat", "wrong_lens": "lens_seat",
	"lens":            "lens_seat",
	"emitter_shorted": "short_emitter", "shorted_emitter": "short_emitter", "short": "short_emitter",
	"emitter_open": "open_emitter", "open": "open_emitter", "open_string": "open_emitter", "dark": "open_emitter",
	"channel_dark": "open_emitter", "channels_swapped": "swapped", "swap": "swapped", "inverted": "pwm_inverted",
	"range": "meter_range", "wrong_range": "meter_range", "range_slip": "meter_range", "decade": "meter_range",
	"meter_wrong_range": "meter_range", "wrong_beta": "ntc_beta", "wrong_ntc_beta": "ntc_beta", "ntc": "ntc_beta",
	"beta": "ntc_beta", "wrong_ntc": "ntc_beta", "ntc_wrong_beta": "ntc_beta", "current": "set_resistor",
	"wrong_set_resistor": "set_resistor", "current_set": "set_resistor", "current_set_resistor": "set_resistor",
	"wrong_current_set": "set_resistor", "lux_meter_scale": "lux_scale", "meter_scale": "lux_scale",
	"void": "dielectric", "parameter": "scale", "factor": "scale",
}

// explanations returns the lamps with a fault of a hypothesis: one, or several variants that are equally probable.
func (w *benchWorld) explanations(h benchHypothesis) ([]explanation, error) {
	word := cmp.Or(h.Kind, h.Code)
	kind := cmp.Or(benchWords[word], word)
	of, ok := benchKinds[kind]
	if !ok {
		return nil, at("kind", fmt.Errorf("hypothesis of kind %q is not known; use %s", word, keysOf(benchKinds)))
	}
	list, err := of(w, h)
	for i := range list {
		list[i].code = cmp.Or(h.Code, strings.Trim(word+"."+h.Channel, "."))
	}
	return list, err
}

// channelOf returns the index of the channel of a hypothesis.
func (w *benchWorld) channelOf(h benchHypothesis) (int, error) {
	name := h.Channel
	if name == "" && len(h.Channels) == 1 {
		name = h.Channels[0]
	}
	if name == "" && len(w.lamp.Channels) == 1 {
		return 0, nil
	}
	if name == "" {
		return 0, fmt.Errorf("hypothesis %q needs a channel", h.Code)
	}
	return w.lamp.Index(name)
}

// scaling is a fault that multiplies a value by a factor; a name with a point at its end is of a channel.
func scaling(name string, usual benchFactor) func(w *benchWorld, h benchHypothesis) ([]explanation, error) {
	return func(w *benchWorld, h benchHypothesis) ([]explanation, error) {
		e := explanation{scaled: cmp.Or(name, h.Parameter)}
		if channel, ok := strings.CutSuffix(name, "."); ok {
			c, err := w.channelOf(h)
			if err != nil {
				return nil, err
			}
			e.scaled = channel + "." + w.lamp.Channels[c].Name
		}
		if _, err := w.lamp.Slot(w.lamp.Nominal(), e.scaled); err != nil {
			return nil, err
		}
		prior := usual
		if h.FactorPrior != nil {
			prior = *h.FactorPrior
		}
		e.factor = estimate.Prior{
			Name: faultFactor, Kind: estimate.LogNormal, Centre: prior.Median, Spread: prior.SigmaLn,
		}
		if h.Factor != nil {
			e.factor.Centre, e.factor.Spread = *h.Factor, 0
		}
		if !(e.factor.Centre > 0) || !(e.factor.Spread >= 0) {
			return nil, fmt.Errorf("hypothesis %q needs factor_prior [median, sigma_ln] or a factor, above 0", h.Code)
		}
		return []explanation{e}, nil
	}
}

// ofChannel is a fault of one channel.
func ofChannel(put func(f *benchlamp.Fault, c int)) func(w *benchWorld, h benchHypothesis) ([]explanation, error) {
	return func(w *benchWorld, h benchHypothesis) ([]explanation, error) {
		c, err := w.channelOf(h)
		if err != nil {
			return nil, err
		}
		var e explanation
		put(&e.fault, c)
		if e.fault.Shorted > 0 && w.lamp.Channels[c].Emitters <= 1 {
			return nil, errors.New("a string of one emitter has no emitter to be shorted")
		}
		return []explanation{e}, nil
	}
}

// exchanged is two channels whose strings are connected to each other's driver. The record of a channel is then of its
// string, or of the string of its driver.
func exchanged(w *benchWorld, h benchHypothesis) ([]explanation, error) {
	names := h.Channels
	if len(names) == 0 && len(w.lamp.Channels) == 2 {
		names = []string{w.lamp.Channels[0].Name, w.lamp.Channels[1].Name}
	}
	if len(names) != 2 {
		return nil, fmt.Errorf("hypothesis %q needs two channels", h.Code)
	}
	var e explanation
	for k, name := range names {
		c, err := w.lamp.Index(name)
		if err != nil {
			return nil, err
		}
		e.fault.Swapped[k] = c + 1
	}
	byDriver := e
	byDriver.fault.ByDriver = true
	return []explanation{byDriver, e}, nil
}

// maxVariants is the largest number of variants of a hypothesis.
const maxVariants = 100

// wrongRange is a meter that shows ten times too much or too little in one reading.
func wrongRange(w *benchWorld, h benchHypothesis) (list []explanation, err error) {
	decades := []float64{10, 0.1}
	switch {
	case h.Exponent != nil:
		decades = []float64{math.Pow(10, *h.Exponent)}
	case h.Factor != nil:
		decades = []float64{*h.Factor}
	}
	for _, f := range decades {
		if !(f > 0) || math.IsInf(f, 0) {
			return nil, fmt.Errorf("the factor of %q is %g; required above 0, such as 10 or 0.1", h.Code, f)
		}
	}
	for i, r := range w.readings {
		if h.Reading != "" && r.id != h.Reading {
			continue
		}
		for _, f := range decades {
			list = append(list, explanation{decade: map[int]float64{i: f}})
		}
	}
	if len(list) > maxVariants {
		return nil, fmt.Errorf("hypothesis %q has %d variants; at most %d are computed: name the reading", h.Code,
			len(list), maxVariants)
	}
	if len(list) == 0 {
		var ids []string
		for _, r := range w.readings {
			ids = append(ids, r.id)
		}
		slices.Sort(ids)
		return nil, at("reading", fmt.Errorf("reading %q is not known; use %s", h.Reading, strings.Join(ids, ", ")))
	}
	return list, nil
}

// usualBetas are values of B of thermistors that are confused [K].
var usualBetas = []float64{3380, 3435, 3950}

// wrongBeta is a thermistor of another B.
func wrongBeta(w *benchWorld, h benchHypothesis) (list []explanation, err error) {
	betas := usualBetas
	if h.BetaK != nil {
		betas = []float64{*h.BetaK}
	}
	for _, b := range betas {
		if !(b > 0) {
			return nil, at("B_K", fmt.Errorf("the B of a thermistor is %g; required above 0", b))
		}
		if b != w.lamp.NTCBetaK {
			list = append(list, explanation{fault: benchlamp.Fault{BetaK: b}})
		}
	}
	if len(list) == 0 {
		return nil, at("B_K", fmt.Errorf("the B of hypothesis %q is that of the lamp", h.Code))
	}
	return list, nil
}
