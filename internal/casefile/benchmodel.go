package casefile

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"lampwright/internal/benchlamp"
	"lampwright/internal/estimate"
)

// benchNames are other names of parameters.
var benchNames = map[string]string{
	"ntc_beta": "ntc_B", "ntc_B_K": "ntc_B", "beta": "ntc_B", "ntc_R25_ohm": "ntc_R25", "R25": "ntc_R25",
	"C_sink_J_per_K": "C_sink", "C_board_J_per_K": "C_board", "sink_capacity": "C_sink", "board_capacity": "C_board",
	"thermocouple_offset": "tc_offset", "lens_eff": "lens_efficiency",
}

// benchWorld is a campaign whose names are resolved.
type benchWorld struct {
	lamp       *benchlamp.Lamp
	priors     []estimate.Prior
	names      []string // of the parameters, as in the case
	divisors   []float64
	modes      []benchlamp.Mode
	readings   []placedReading
	candidates []placedReading
	faults     [][]explanation // variants of each hypothesis
	figures    int             // mode of the figures
	next       int             // figure that the next reading is to tell
	noise      estimate.Noise
	read, u    []float64
}

// placedReading is a reading with the index of its mode.
type placedReading struct {
	benchlamp.Reading
	id   string
	u    float64
	mode int
}

// world resolves the names of a campaign.
func (c *benchCase) world() (*benchWorld, error) {
	w := &benchWorld{lamp: c.lamp()}
	var err error
	if w.noise, err = c.Likelihood.noise(); err != nil {
		return nil, err
	}
	if err := w.addParameters(c.Parameters); err != nil {
		return nil, err
	}
	modes, err := w.addModes(c)
	if err != nil {
		return nil, err
	}
	for i, r := range c.Readings {
		if err := w.addReading(r, modes); err != nil {
			return nil, at(fmt.Sprintf("readings[%d]", i), err)
		}
	}
	for i, r := range c.Candidates {
		p, err := w.place(r, modes)
		if err != nil {
			return nil, at(fmt.Sprintf("candidates[%d]", i), err)
		}
		w.candidates = append(w.candidates, p)
	}
	if w.figures, err = modeOf(modes, cmp.Or(c.FiguresMode, allMode)); err != nil {
		return nil, at("figures_mode", err)
	}
	figure := cmp.Or(c.Figure.Figure, benchlamp.FigureNames[0])
	if w.next = slices.Index(benchlamp.FigureNames, figure); w.next < 0 {
		return nil, at("figure", fmt.Errorf("figure %q is not known; use %s", figure,
			strings.Join(benchlamp.FigureNames, ", ")))
	}
	return w, w.addFaults(c.Hypotheses)
}

// addFaults resolves the hypotheses.
func (w *benchWorld) addFaults(list []benchHypothesis) error {
	for i, h := range list {
		if h.Code == healthyCode || h.Kind == healthyCode {
			continue // always among them
		}
		path := fmt.Sprintf("hypotheses[%d]", i)
		variants, err := w.explanations(h)
		if tied := (*pathError)(nil); errors.As(err, &tied) {
			return &pathError{path + "." + tied.path, tied.err}
		}
		if err != nil {
			return at(path, err)
		}
		w.faults = append(w.faults, variants)
	}
	return nil
}

// addParameters resolves the parameters and their priors.
func (w *benchWorld) addParameters(list []benchParameter) error {
	seen := map[string]bool{}
	for i, p := range list {
		path := fmt.Sprintf("parameters[%d]", i)
		prior := estimate.Prior{Name: p.Name, Centre: p.Mean, Spread: p.SD}
		switch p.Prior {
		case "normal":
		case "lognormal":
			prior.Kind, prior.Centre, prior.Spread = estimate.LogNormal, p.Median, p.SigmaLn
			if !(p.Median > 0) {
				return at(path+".median", fmt.Errorf("median of %s is %g; required above 0", p.Name, p.Median))
			}
		default:
			return at(path+".prior", fmt.Errorf("prior %q is not known; use normal or lognormal", p.Prior))
		}
		if !(prior.Spread > 0) {
			return at(path, fmt.Errorf("spread of %s is %g; a prior needs sd or sigma_ln above 0", p.Name,
				prior.Spread))
		}
		what, channel, own := strings.Cut(p.Name, ".")
		name := cmp.Or(benchNames[what], what)
		if own {
			name += "." + channel
		}
		if seen[name] {
			return at(path, fmt.Errorf("parameter %s is listed twice", p.Name))
		}
		seen[name] = true
		if _, err := w.lamp.Slot(w.lamp.Nominal(), name); err != nil {
			return at(path+".name", err)
		}
		w.names, w.priors = append(w.names, name), append(w.priors, prior)
		w.divisors = append(w.divisors, w.divisor(name, p.Unit, prior.Centre))
	}
	return nil
}

// divisor returns by what a parameter is divided: those that have a value in the lamp can be listed as the value itself
// in its unit, or as a scale.
func (w *benchWorld) divisor(name, unit string, centre float64) float64 {
	stated := map[string]*float64{
		"ntc_B": &w.lamp.NTCBetaK, "ntc_R25": &w.lamp.NTCR25Ohm, "C_sink": &w.lamp.SinkJPerK,
		"C_board": &w.lamp.BoardJPerK,
	}[name]
	if stated == nil || unit == "1" || unit == "" && centre <= 5 {
		return 1
	}
	if *stated == 0 {
		*stated = 1
	}
	return *stated
}

// allMode is the mode of a reading that names none.
const allMode = "all"

// addModes resolves the modes, in the order of their names.
func (w *benchWorld) addModes(c *benchCase) (index map[string]int, err error) {
	index = map[string]int{}
	for _, name := range slices.Sorted(maps.Keys(c.Modes)) {
		m := c.Modes[name]
		path := "modes." + name
		count := len(w.lamp.Channels)
		mode := benchlamp.Mode{RoomC: m.RoomC, Duty: make([]float64, count), Off: make([]bool, count)}
		for i := range mode.Duty {
			mode.Duty[i], mode.Off[i] = 1, m.On != nil
		}
		for k, driver := range m.On {
			i, err := w.lamp.Index(driver)
			if err != nil {
				return nil, at(fmt.Sprintf("%s.on[%d]", path, k), err)
			}
			mode.Off[i] = false
		}
		for driver, duty := range m.Duty {
			if driver == everyDriver {
				for i := range mode.Duty {
					mode.Duty[i] *= duty
				}
				continue
			}
			i, err := w.lamp.Index(driver)
			if err != nil {
				return nil, at(path+".duty", err)
			}
			mode.Duty[i] *= duty
		}
		index[name] = len(w.modes)
		w.modes = append(w.modes, mode)
	}
	if len(w.modes) == 0 {
		return nil, at("modes", errors.New(`a campaign needs modes, such as "all": {"T_room_C": 23}`))
	}
	return index, nil
}

// modeOf returns the index of a mode by its name.
func modeOf(modes map[string]int, name string) (int, error) {
	if i, ok := modes[name]; ok {
		return i, nil
	}
	if len(modes) == 1 && name == allMode {
		return 0, nil
	}
	return 0, fmt.Errorf("mode %q is not known; use %s", name, keysOf(modes))
}

// place resolves a reading without its value.
func (w *benchWorld) place(r benchReading, modes map[string]int) (p placedReading, err error) {
	if !(r.U > 0) {
		return p, fmt.Errorf("standard uncertainty u of %q is %g; required above 0", r.ID, r.U)
	}
	p = placedReading{id: r.ID, u: r.U}
	if p.mode, err = modeOf(modes, cmp.Or(r.Mode, allMode)); err != nil {
		return p, err
	}
	p.Reading = benchlamp.Reading{
		Kind: benchlamp.Kind(r.Kind), Channel: -1, DistanceM: r.DistanceM, EmissivitySet: 0.95,
		ReflectedC: w.modes[p.mode].RoomC, BathC: 25,
	}
	for _, v := range []struct {
		from *float64
		to   *float64
	}{
		{r.EmissivitySet, &p.EmissivitySet},
		{r.ReflectedC, &p.ReflectedC},
		{r.BathC, &p.BathC},
		{r.Time, &p.TimeS},
	} {
		if v.from != nil {
			*v.to = *v.from
		}
	}
	if p.Kind == benchlamp.NTCBath && r.BathC == nil {
		return p, errors.New("a reading of kind ntc_bath needs T_bath_C")
	}
	if r.Channel != "" {
		if p.Channel, err = w.lamp.Index(r.Channel); err != nil {
			return p, err
		}
	} else if len(w.lamp.Channels) == 1 {
		p.Channel = 0
	}
	return p, w.lamp.Check(p.Reading)
}

// addReading resolves a reading and its values.
func (w *benchWorld) addReading(r benchReading, modes map[string]int) error {
	p, err := w.place(r, modes)
	if err != nil {
		return err
	}
	if r.Series == nil && r.Value == nil {
		return fmt.Errorf("reading %q needs a value or a series", r.ID)
	}
	if r.Value != nil {
		w.readings, w.read, w.u = append(w.readings, p), append(w.read, *r.Value), append(w.u, r.U)
	}
	if r.Series != nil && p.Kind != benchlamp.WarmUp {
		return fmt.Errorf("a reading of kind %s has one value; a series is of warmup_sink", p.Kind)
	}
	for i, point := range r.Series {
		one := p
		one.TimeS = point.timeS
		if point.timeS < 0 && i < len(r.Times) {
			one.TimeS = r.Times[i]
		}
		if err := w.lamp.Check(one.Reading); err != nil {
			return at(fmt.Sprintf("series[%d]", i), err)
		}
		one.id = fmt.Sprintf("%s[%d]", r.ID, i)
		w.readings, w.read, w.u = append(w.readings, one), append(w.read, point.value), append(w.u, r.U)
	}
	return nil
}

// explanation is a lamp that could explain the readings: healthy, or with one fault.
type explanation struct {
	code   string
	fault  benchlamp.Fault
	scaled string         // value that a factor scales, or ""
	factor estimate.Prior // of the factor, where its spread is above 0; else the factor is its centre
	decade map[int]float64
}

// view evaluates an explanation. It is not safe for concurrent use.
type view struct {
	*benchWorld
	explanation
	values  *benchlamp.Values
	slots   []*float64
	target  *float64
	nominal float64 // value of the target, where it is no parameter
	states  []benchlamp.State
	needed  []bool // modes of the readings
}

// faultFactor is the name of the factor of a fault among the parameters.
const faultFactor = "fault_factor"

// view returns the model of an explanation.
func (w *benchWorld) view(e explanation) (*view, error) {
	v := &view{
		benchWorld: w, explanation: e, values: w.lamp.Nominal(), states: make([]benchlamp.State, len(w.modes)),
		needed: make([]bool, len(w.modes)),
	}
	for _, r := range w.readings {
		v.needed[r.mode] = true
	}
	for _, name := range w.names {
		slot, err := w.lamp.Slot(v.values, name)
		if err != nil {
			return nil, err
		}
		v.slots = append(v.slots, slot)
	}
	if e.scaled != "" {
		var err error
		if v.target, err = w.lamp.Slot(v.values, e.scaled); err != nil {
			return nil, err
		}
		v.nominal = *v.target
	}
	return v, nil
}

// problem returns the problem of estimation of an explanation.
func (v *view) problem() *estimate.Problem {
	p := &estimate.Problem{Priors: slices.Clone(v.priors), Read: v.read, U: v.u, Noise: v.noise, Model: v.predict}
	if v.factor.Spread > 0 {
		p.Priors = append(p.Priors, v.factor)
	}
	return p
}

// set puts parameters into the values of the lamp.
func (v *view) set(z []float64) {
	if v.target != nil {
		*v.target = v.nominal // of a value that is no parameter
	}
	for j, slot := range v.slots {
		*slot = v.priors[j].At(z[j]) / v.divisors[j]
	}
	switch {
	case v.target == nil:
	case v.factor.Spread > 0:
		*v.target *= v.factor.At(z[len(v.slots)])
	default:
		*v.target *= v.factor.Centre
	}
}

// solve solves a mode.
func (v *view) solve(mode int) (*benchlamp.State, error) {
	s, err := v.lamp.Solve(v.values, v.modes[mode], v.fault)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", err, estimate.ErrImpossible)
	}
	v.states[mode] = s
	return &v.states[mode], nil
}

// predict is the model of the readings.
func (v *view) predict(z []float64) ([]float64, error) {
	v.set(z)
	for mode, needed := range v.needed {
		if needed {
			if _, err := v.solve(mode); err != nil {
				return nil, err
			}
		}
	}
	out := make([]float64, len(v.readings))
	for i := range v.readings {
		r := &v.readings[i]
		out[i] = v.lamp.Predict(v.values, &v.states[r.mode], &r.Reading, v.fault)
		if d, ok := v.decade[i]; ok {
			out[i] *= d
		}
	}
	return out, nil
}

// figuresAt are the figures of the lamp.
func (v *view) figuresAt(z []float64) ([]float64, error) {
	v.set(z)
	s, err := v.solve(v.figures)
	if err != nil {
		return nil, err
	}
	return v.lamp.Figures(v.values, s), nil
}

// candidatesAt predicts the candidates.
func (v *view) candidatesAt(z []float64) ([]float64, error) {
	v.set(z)
	out := make([]float64, len(v.benchWorld.candidates))
	for i := range out {
		r := &v.benchWorld.candidates[i]
		s, err := v.solve(r.mode)
		if err != nil {
			return nil, err
		}
		out[i] = v.lamp.Predict(v.values, s, &r.Reading, v.fault)
	}
	return out, nil
}
