package casefile

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"lampwright/internal/curve"
	"lampwright/internal/engine"
	"lampwright/internal/heat"
	"lampwright/internal/lamp"
	"lampwright/internal/point"
	"lampwright/internal/project"
	"lampwright/internal/sampling"
)

// rangeCase is a lamp of lumped resistances whose parameters vary independently.
type rangeCase struct {
	Lamp struct {
		RSinkAirKW float64         `json:"R_sink_air_K_per_W"`
		StandbyW   float64         `json:"standby_W"`
		NTCBetaK   float64         `json:"ntc_B_K"`     // changes no figure of this topic
		NTCR25Ohm  float64         `json:"ntc_R25_ohm"` // the same
		Channels   []statedChannel `json:"channels"`
	} `json:"lamp"`
	Parameters []statedParameter `json:"parameters"`
	RoomC      *float64          `json:"T_room_C"`
}

// statedChannel is a string of equal emitters: V = V₀ + R_d (I − I₀) + k_V (T_j − 25 °C), Φ_v = Φ₀ (I/I₀)(1 + k_F (T_j −
// 25 °C)).
type statedChannel struct {
	Name          string  `json:"name"`
	N             int     `json:"n"`
	CurrentA      float64 `json:"I_A"`
	TestA         float64 `json:"I0_A"`
	VoltageV      float64 `json:"Vf0_V"`
	SlopeOhm      float64 `json:"Rd_ohm"`
	VoltageVK     float64 `json:"kV_V_per_K"`
	FluxLm        float64 `json:"flux0_lm"`
	FluxPerK      float64 `json:"kF_per_K"`
	EfficacyLmW   float64 `json:"K_lm_per_W"`
	JunctionKW    float64 `json:"R_js_K_per_W"`
	DielectricsKW float64 `json:"R_dielectric_K_per_W"`
}

// statedParameter is one parameter with its distribution.
type statedParameter struct {
	Name    string   `json:"name"`
	Prior   string   `json:"prior"`
	Median  *float64 `json:"median"`
	SigmaLn *float64 `json:"sigma_ln"`
	Mean    *float64 `json:"mean"`
	SD      *float64 `json:"sd"`
}

// Bounds of a case.
const (
	maxStatedChannels = 20
	maxStatedEmitters = 200
	maxParameters     = 400
	rangeSamples      = 100_000 // the standard error of a quantile is then below 0.3 % of P10 to P90
)

// Parameters of a lamp by the first part of their name, with the value of one that is not listed. Those of "channel" are
// of one channel, named after a full stop. The readings of a meter change no figure.
var (
	lampDefaults = map[string]float64{"paste": 0, "dielectric": 1, "film": 1, "wall_efficiency": 0.85}
	ofReadings   = []string{
		"lux_scale", "tc_offset", "emissivity", "eps_set", "C_board", "C_sink", "ntc_B", "mismatch", "lens_axis",
	}
)

// input returns the distribution of a parameter.
func (p *statedParameter) input() (sampling.Input, error) {
	switch {
	case p.Prior == "lognormal" && p.Median != nil && p.SigmaLn != nil:
		if !(*p.Median > 0) || !(*p.SigmaLn >= 0 && *p.SigmaLn <= 2) {
			return sampling.Input{}, fmt.Errorf("median %g and sigma_ln %g; give a median above 0 and 0 to 2", *p.Median,
				*p.SigmaLn)
		}
		f := math.Exp(*p.SigmaLn)
		return sampling.Input{
			Nominal: *p.Median, Lo: *p.Median / f, Hi: *p.Median * f, Distribution: sampling.LogNormal,
		}, nil
	case p.Prior == "normal" && p.Mean != nil && p.SD != nil:
		if !(*p.SD >= 0) {
			return sampling.Input{}, fmt.Errorf("sd %g; give 0 or more", *p.SD)
		}
		return sampling.Input{
			Nominal: *p.Mean, Lo: *p.Mean - *p.SD, Hi: *p.Mean + *p.SD, Distribution: sampling.Normal,
		}, nil
	}
	return sampling.Input{}, fmt.Errorf("prior %q; give lognormal with median and sigma_ln, or normal with mean and sd",
		p.Prior)
}

// check refuses what is no lamp.
func (c *rangeCase) check() error {
	if n := len(c.Lamp.Channels); n == 0 || n > maxStatedChannels {
		return at("lamp.channels", fmt.Errorf("%d channels; a case needs 1 to %d", n, maxStatedChannels))
	}
	emitters := 0
	for i := range c.Lamp.Channels {
		ch := &c.Lamp.Channels[i]
		path := fmt.Sprintf("lamp.channels[%d]", i)
		if ch.Name == "" || slices.ContainsFunc(c.Lamp.Channels[:i], func(o statedChannel) bool {
			return o.Name == ch.Name
		}) {
			return at(path, fmt.Errorf("name %q is missing or used twice", ch.Name))
		}
		if err := ch.check(); err != nil {
			return at(path, fmt.Errorf("channel %s: %w", ch.Name, err))
		}
		emitters += ch.N
	}
	switch {
	case emitters > maxStatedEmitters:
		return at("lamp.channels", fmt.Errorf("%d emitters; at most %d", emitters, maxStatedEmitters))
	case !(c.Lamp.RSinkAirKW > 0):
		return at("lamp", errors.New("R_sink_air_K_per_W is not above 0"))
	case c.RoomC == nil || !(*c.RoomC > -100 && *c.RoomC < 200):
		return at("T_room_C", errors.New("T_room_C is missing or not between -100 and 200"))
	case len(c.Parameters) > maxParameters:
		return at("parameters", fmt.Errorf("%d parameters; at most %d", len(c.Parameters), maxParameters))
	}
	return nil
}

func (ch *statedChannel) check() error {
	for _, x := range []struct {
		key   string
		value float64
		above bool // must be above 0, and not 0 or more
	}{
		{"I_A", ch.CurrentA, true},
		{"I0_A", ch.TestA, true},
		{"Vf0_V", ch.VoltageV, true},
		{"Rd_ohm", ch.SlopeOhm, false},
		{"flux0_lm", ch.FluxLm, true},
		{"K_lm_per_W", ch.EfficacyLmW, true},
		{"R_js_K_per_W", ch.JunctionKW, false},
		{"R_dielectric_K_per_W", ch.DielectricsKW, false},
	} {
		if !(x.value >= 0) || x.above && x.value == 0 {
			return fmt.Errorf("%s of %g is negative or missing", x.key, x.value)
		}
	}
	if ch.N < 1 || ch.N > maxStatedEmitters {
		return fmt.Errorf("n is %d; give 1 to %d", ch.N, maxStatedEmitters)
	}
	return nil
}

// runRanges samples the figures of a lamp of lumped resistances. Its steady state is that of package engine with these
// resistances as unit responses of the board, and its quantiles are those of package sampling, as for a design.
func runRanges(ctx context.Context, d document, inputs *node) (map[string]any, error) {
	var c rangeCase
	dec := decoder{document: d, guide: topicsGuide}
	dec.fill(inputs, &c, "")
	if err := dec.err(); err != nil {
		return nil, err
	}
	out, err := c.quantiles(ctx)
	if err != nil {
		return nil, d.placed(inputs, err)
	}
	return out, nil
}

// quantiles returns P10, P50 and P90 of every figure.
func (c *rangeCase) quantiles(ctx context.Context) (map[string]any, error) {
	if err := c.check(); err != nil {
		return nil, err
	}
	lumped, err := newLumpedLamp(c)
	if err != nil {
		return nil, err
	}
	in, set, err := lumped.inputs()
	if err != nil {
		return nil, err
	}
	surface, err := sampling.Fit(in, func(x []float64, _ int) ([]float64, error) {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		p := lumped.nominal()
		for i, v := range x {
			set[i](p, v)
		}
		return lumped.figures(p)
	})
	if err != nil {
		return nil, err
	}
	out, samples, buffer := map[string]any{}, surface.Sample(rangeSamples, 1), sampling.Buffer{}
	warmest := sampling.Join{Of: slices.Max[[]float64], Ranked: true}
	junctions := make([]int, len(c.Lamp.Channels))
	for i := range junctions {
		junctions[i] = len(lumpedFigures) + i
	}
	add := func(key string, q []float64, zero float64) {
		for i, name := range []string{".p10", ".p50", ".p90"} {
			out[key+name] = q[i] - zero
		}
	}
	for i, f := range lumpedFigures {
		add(f.key, samples.Quantiles([]int{i}, nil, &buffer, 0.1, 0.5, 0.9), f.zero)
	}
	add("junction_hottest_C", samples.Quantiles(junctions, &warmest, &buffer, 0.1, 0.5, 0.9), zeroC)
	return out, nil
}

const zeroC = 273.15

// lumpedFigures are the figures of the topic, and the zero of their unit. The junctions of the channels follow.
var lumpedFigures = []struct {
	key  string
	zero float64
}{{"flux_out_lm", 0}, {"heat_W", 0}, {"sink_C", zeroC}, {"wall_W", 0}, {"lm_per_W", 0}}

// lumpedLamp is a lamp of lumped resistances as package engine solves it.
type lumpedLamp struct {
	of      *rangeCase
	lamp    *lamp.Lamp
	cooling engine.Cooling
	roomK   float64
	vector  lamp.Params
}

// lumpedParams are the values of one sample.
type lumpedParams struct {
	engine                        lamp.Params
	paste, dielectric, efficiency float64
	wireOhm, lens                 []float64 // by channel
}

func newLumpedLamp(c *rangeCase) (*lumpedLamp, error) {
	out := &lumpedLamp{of: c, lamp: &lamp.Lamp{}, roomK: *c.RoomC + zeroC}
	l := out.lamp
	add := func(nominal float64) int {
		out.vector = append(out.vector, nominal)
		return len(out.vector) - 1
	}
	l.Param.NaturalConvection = add(1)
	lossless := add(1)
	for i := range c.Lamp.Channels {
		ch := &c.Lamp.Channels[i]
		model, err := ch.model()
		if err != nil {
			return nil, at(fmt.Sprintf("lamp.channels[%d]", i), fmt.Errorf("channel %s: %w", ch.Name, err))
		}
		l.Types = append(l.Types, lamp.EmitterType{Model: model, LmW: ch.EfficacyLmW, RealRth: 1, Param: lamp.EmitterParams{
			Flux: add(1), VoltageOffset: add(0), Tempco: add(ch.VoltageVK), Rth: add(ch.JunctionKW),
			FluxLoss: add(-ch.FluxPerK * lamp.FluxLossRangeK), FluxExponent: add(1),
		}})
		l.Optics = append(l.Optics, lamp.Optic{Param: lossless})
		channel := lamp.Channel{
			Name: ch.Name, Driver: &project.Driver{}, Strings: 1, CurrentA: ch.CurrentA, Level: 1,
			Param: lamp.ChannelParams{Current: add(1), CurrentTolerance: add(1)},
		}
		for range ch.N {
			channel.Emitters = append(channel.Emitters, len(l.Emitters))
			l.Emitters = append(l.Emitters, lamp.Emitter{Channel: i, Type: i, Optic: i})
		}
		l.Channels = append(l.Channels, channel)
	}
	conductance, err := curve.New([]float64{out.roomK}, []float64{1 / c.Lamp.RSinkAirKW})
	out.cooling.ConductanceWK = conductance
	return out, err
}

// model returns the emitter of a channel.
func (ch *statedChannel) model() (point.Emitter, error) {
	low, high := 1e-3*ch.TestA, 10*math.Max(ch.TestA, ch.CurrentA)
	voltage := func(amps float64) float64 { return ch.VoltageV + ch.SlopeOhm*(amps-ch.TestA) }
	v, err := curve.New([]float64{low, high}, []float64{voltage(low), voltage(high)})
	return point.Emitter{
		Name: ch.Name, Series: 1, Parallel: 1, VoltageV: v, VoltageSlopeVK: ch.VoltageVK, TestCurrentA: ch.TestA,
		TestJunctionK: 25 + zeroC, RadiantW: ch.FluxLm / ch.EfficacyLmW, RthKW: ch.JunctionKW, DroopPower: 1,
		FallPerK: -ch.FluxPerK,
	}, err
}

// nominal returns the values of parameters that a case does not list.
func (l *lumpedLamp) nominal() *lumpedParams {
	n := len(l.of.Lamp.Channels)
	return &lumpedParams{
		engine: l.vector.Clone(), paste: lampDefaults["paste"], dielectric: lampDefaults["dielectric"],
		efficiency: lampDefaults["wall_efficiency"], wireOhm: make([]float64, n), lens: slices.Repeat([]float64{1}, n),
	}
}

// inputs returns the distributions of the parameters, and what sets the value of each.
func (l *lumpedLamp) inputs() (in []sampling.Input, set []func(*lumpedParams, float64), err error) {
	seen := map[string]bool{}
	for i := range l.of.Parameters {
		p := &l.of.Parameters[i]
		path := fmt.Sprintf("parameters[%d]", i)
		distribution, err := p.input()
		if err != nil {
			return nil, nil, at(path, fmt.Errorf("parameter %q: %w", p.Name, err))
		}
		if seen[p.Name] {
			return nil, nil, at(path, fmt.Errorf("parameter %q is listed twice", p.Name))
		}
		seen[p.Name] = true
		to, err := l.setter(p.Name)
		if err != nil {
			return nil, nil, at(path, err)
		}
		if to != nil {
			in, set = append(in, distribution), append(set, to)
		}
	}
	return in, set, nil
}

// setter returns what sets a parameter; nil for one that changes no figure.
func (l *lumpedLamp) setter(name string) (func(p *lumpedParams, v float64), error) {
	switch name {
	case "paste":
		return func(p *lumpedParams, v float64) { p.paste = v }, nil
	case "dielectric":
		return func(p *lumpedParams, v float64) { p.dielectric = v }, nil
	case "film":
		return func(p *lumpedParams, v float64) { p.engine[l.lamp.Param.NaturalConvection] = v }, nil
	case "wall_efficiency":
		return func(p *lumpedParams, v float64) { p.efficiency = v }, nil
	}
	kind, of, _ := strings.Cut(name, ".")
	if slices.Contains(ofReadings, kind) {
		return nil, nil
	}
	i := slices.IndexFunc(l.lamp.Channels, func(c lamp.Channel) bool { return c.Name == of })
	if i < 0 {
		return nil, fmt.Errorf("parameter %q is none of this model, or names no channel", name)
	}
	ch, k := &l.lamp.Channels[i], &l.lamp.Types[i]
	switch kind {
	case "flux":
		return func(p *lumpedParams, v float64) { p.engine[k.Param.Flux] = v }, nil
	case "current":
		return func(p *lumpedParams, v float64) { p.engine[ch.Param.CurrentTolerance] = v }, nil
	case "vf":
		return func(p *lumpedParams, v float64) { p.engine[k.Param.VoltageOffset] = v }, nil
	case "wire":
		return func(p *lumpedParams, v float64) { p.wireOhm[i] = v }, nil
	case "lens_efficiency":
		return func(p *lumpedParams, v float64) { p.lens[i] = v }, nil
	}
	return nil, fmt.Errorf("parameter %q is none of this model", name)
}

// board returns the unit responses: the paste is common to all emitters, the dielectric and its factor are of each.
func (l *lumpedLamp) board(p *lumpedParams) *engine.BoardResponse {
	n := len(l.lamp.Emitters)
	out := &engine.BoardResponse{
		Heat: &heat.Response{Sink: &heat.SinkResponse{Mean: slices.Repeat([]float64{1}, n)}}, SensorAt: -1,
		ToSink: slices.Repeat([]float64{1}, n),
	}
	for i := range n {
		row := slices.Repeat([]float64{p.paste}, n)
		row[i] += p.dielectric * l.of.Lamp.Channels[l.lamp.Emitters[i].Channel].DielectricsKW
		out.Heat.MeanKW = append(out.Heat.MeanKW, row)
		out.Spread = append(out.Spread, make([]float64, n))
	}
	return out
}

// figures returns lumpedFigures and the junctions of the channels [K].
func (l *lumpedLamp) figures(p *lumpedParams) ([]float64, error) {
	st := engine.Operate(l.lamp, p.engine, l.board(p), l.cooling, l.roomK)
	if st.Runaway {
		return nil, at("lamp", errors.New("a lamp within these parameters has no steady state (thermal runaway)"))
	}
	flux, driversW := 0.0, 0.0
	junctions := make([]float64, len(l.lamp.Channels))
	for i := range l.lamp.Channels {
		amps := 0.0
		for _, e := range l.lamp.Channels[i].Emitters {
			s := &st.States[e]
			flux += s.RadiantW * l.lamp.Types[i].LmW * p.lens[i]
			driversW += s.ElectricalW
			junctions[i], amps = math.Max(junctions[i], st.JunctionK[e]), s.CurrentA
		}
		driversW += amps * amps * p.wireOhm[i]
	}
	wall := driversW/p.efficiency + l.of.Lamp.StandbyW
	return append([]float64{flux, st.TotalW, st.Sink.BaseK, wall, flux / wall}, junctions...), nil
}
