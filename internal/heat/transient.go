package heat

import (
	"context"
	"errors"
	"fmt"
	"math"

	"lampwright/internal/geom"
)

// TimeOptions steer a transient; the zero value is right for a warm-up curve.
type TimeOptions struct {
	Options
	InitialK float64 // rise of everything over ambient at the start [K]
	// StepShare is the longest step over the time since the start; 0 means 0.2, good to about 0.1 % of the final rise.
	StepShare float64
}

// Moment is one time of a transient. Rises are over ambient [K].
type Moment struct {
	TimeS   float64   `json:"timeS"`
	MeanK   []float64 `json:"meanK"`
	MaxK    []float64 `json:"maxK"`
	ProbeK  []float64 `json:"probeK"`
	SinkK   float64   `json:"sinkK"`
	StoredJ float64   `json:"storedJ"` // heat in board and sink over ambient
}

// History is a transient at constant powers.
type History struct {
	Moments []Moment
	Steady  Moment // where it ends; TimeS is infinite
	Steps   int
	// EnergyBalance is |heat put in − heat stored − heat given off| over the heat that moved, summed over all steps.
	EnergyBalance float64
	Response      *Response // of the steady state
	Cells         int       // of the grid that was followed in time
}

// gamma of the two-stage diagonally implicit scheme of second order that damps stiff parts fully.
var gamma = 1 - math.Sqrt2/2

// Transient follows the board from an even start while its sources give constant powers, and reports the given times.
//
// Time is stepped with two short backward-Euler steps and then a two-stage diagonally implicit Runge–Kutta method of
// second order, γ = 1 − 1/√2, which is L-stable: thin copper with milliseconds of its own does not ring. Steps double
// as the curve flattens. The grid is a coarse one. What it errs in the steady state against Unit is put right: in a
// source's own rise over the fraction of a second in which heat spreads through the stack there, and elsewhere in
// proportion. Sources: Alexander1977 (the scheme), IncroperaDeWitt2007, §5.10 (implicit finite differences).
func Transient(
	ctx context.Context, b Board, sources []Source, probes []Probe, timesS []float64, o TimeOptions,
) (*History, error) {
	if err := checkTimes(b, sources, probes, timesS, &o); err != nil {
		return nil, err
	}
	r, err := Unit(ctx, b, sources, probes, o.Options)
	if err != nil {
		return nil, err
	}
	m, err := newMarch(&b, sources, probes, o)
	if err != nil {
		return nil, err
	}
	steady, err := m.correct(ctx, r)
	if err != nil {
		return nil, err
	}
	w := &History{Steady: steady, Response: r, Cells: len(m.s.ground)}
	if err := m.run(ctx, timesS, w); err != nil {
		return nil, err
	}
	return w, nil
}

func checkTimes(b Board, sources []Source, probes []Probe, timesS []float64, o *TimeOptions) error {
	if err := Check(b, sources, probes, true); err != nil {
		return err
	}
	var errs []error
	for i := range b.Layers {
		if l := &b.Layers[i]; l.DensityKgM3 == 0 || l.HeatJkgK == 0 {
			errs = append(
				errs, fmt.Errorf("layer %s has no density or heat capacity, which a course in time needs", l.label(i)),
			)
		}
	}
	last := 0.0
	for i, t := range timesS {
		if !(t > last) || math.IsInf(t, 0) {
			errs = append(errs, fmt.Errorf("time %d is %g s; times must be above zero and rise", i+1, t))
		}
		last = t
	}
	if len(timesS) == 0 {
		errs = append(errs, errors.New("no times to report"))
	}
	if o.StepShare < 0 || o.StepShare > 0.5 || math.IsNaN(o.StepShare) {
		errs = append(errs, fmt.Errorf("step share %g; it must be 0 to 0.5", o.StepShare))
	}
	if o.StepShare == 0 {
		o.StepShare = 0.2
	}
	return errors.Join(errs...)
}

// integrator steps one board in time on one grid.
type integrator struct {
	a      *request
	s      *system
	o      Options
	time   TimeOptions
	watts  []float64
	load   []float64 // right-hand side of the sources
	direct float64   // watts that leave by the top heat transfer coefficient before they enter a cell
	total  float64   // watts put in
	lumped bool
	sinkC  float64
	sinkG  float64

	dt     float64 // of the matrix at hand
	op     *operator
	mem    arena // of that operator
	w      *workspace
	ground []float64 // ground plus capacity over γ dt
	z      []float64 // rise of the board for the sink at 1 K, at this step
	cz     float64   // contact·z
	sumC   float64   // contact in all
	y      []float64 // last solution for a sink at zero, to start from

	near figures // what the grid errs in a source's own rise, in the steady state; builds up over tau
	far  figures // what it errs beside, as a fraction of the figure
	tau  float64
}

func newMarch(b *Board, sources []Source, probes []Probe, o TimeOptions) (*integrator, error) {
	m := &integrator{a: newAsk(b, sources, probes), o: o.Options.withDefaults(), time: o, watts: Powers(sources)}
	g := newGrid(b, sources, focusAll, 3, 1)
	// probes some way off a source are the last to come right
	if fine := g.halved(); m.o.RelErr < 0.008 && fine.cells() <= m.o.MaxCells {
		g = fine
	}
	if n := g.cells(); n > m.o.MaxCells {
		return nil, tooMany(n, m.o.MaxCells)
	}
	s, err := newSystem(b, sources, g, nil)
	if err != nil {
		return nil, err
	}
	m.s = s
	m.load = make([]float64, len(s.ground))
	for i, p := range m.watts {
		s.c.load(m.load, &s.c.spread[i], p)
		m.total += p
	}
	m.direct = m.total
	for _, v := range m.load {
		m.direct -= v
	}
	m.lumped = b.Contact != nil && b.Contact.FilmWm2K == 0
	if m.lumped {
		m.sinkC, m.sinkG = b.Contact.CapacityJK, b.Contact.SinkWK
		for _, g := range s.c.contactG {
			m.sumC += g
		}
	}
	// the local error builds up as heat spreads through the stack and across a source
	diffusivity, reach := 0.0, b.ThicknessM()
	for i := range b.Layers {
		if l := &b.Layers[i]; l.ThicknessM >= 0.3*b.ThicknessM() {
			diffusivity = max(diffusivity, l.KWmK/(l.DensityKgM3*l.HeatJkgK))
		}
	}
	for i := range sources {
		reach = max(reach, min(sources[i].Rect.WidthM, sources[i].Rect.HeightM)/2)
	}
	if diffusivity > 0 {
		m.tau = reach * reach / diffusivity
	}
	m.w = s.op.newWorkspace()
	m.y = make([]float64, len(s.ground))
	return m, nil
}

// ideal reports whether the sink node stays at ambient.
func (m *integrator) ideal() bool { return !m.lumped || m.sinkG == 0 }

// prepare makes the matrix for steps of dt; 0 is the steady state.
func (m *integrator) prepare(ctx context.Context, dt float64) error {
	if m.op != nil && m.dt == dt {
		return nil
	}
	m.dt = dt
	m.ground = append(m.ground[:0], m.s.ground...)
	if dt > 0 {
		for i, h := range m.s.c.heatJK {
			m.ground[i] += h / (gamma * dt)
		}
	}
	op := m.s.op
	if dt > 0 {
		m.mem.reset()
		var err error
		if op, err = newOperator(m.s.c, m.ground, &m.mem); err != nil {
			return err
		}
	}
	m.op = op
	if m.ideal() {
		return nil
	}
	if m.z == nil {
		m.z = make([]float64, len(m.ground))
	}
	rhs := m.s.contactLoad()
	if _, err := op.solve(ctx, m.w, m.z, rhs, m.ground, m.tol(), m.o.MaxIter); err != nil {
		return err
	}
	m.cz = dot(rhs, m.z)
	return nil
}

// tol of the solves in time: errors of single steps add up, and starts are good.
func (m *integrator) tol() float64 { return min(m.o.Tol, 1e-7) }

// stage solves (capacity/(γ dt) + conductance) x = rhs with the sink node bordering it, and puts x and the sink's rise
// in place.
func (m *integrator) stage(ctx context.Context, x, rhs []float64, sinkRHS float64) (sinkK float64, err error) {
	if _, err = m.op.solve(ctx, m.w, m.y, rhs, m.ground, m.tol(), m.o.MaxIter); err != nil {
		return 0, err
	}
	copy(x, m.y)
	if m.ideal() {
		return 0, nil
	}
	c := m.s.c.contactG
	cy := dot(c, m.y[len(m.y)-len(c):])
	own := m.sinkG
	if m.dt > 0 {
		own += m.sinkC / (gamma * m.dt)
	}
	sinkK = (sinkRHS + cy) / (own + m.sumC - m.cz)
	for i := range x {
		x[i] += sinkK * m.z[i]
	}
	return sinkK, nil
}

// correct solves the steady state on this grid, and keeps what it lacks of the response.
func (m *integrator) correct(ctx context.Context, r *Response) (Moment, error) {
	if err := m.prepare(ctx, 0); err != nil {
		return Moment{}, err
	}
	x := make([]float64, len(m.ground))
	sink, err := m.stage(ctx, x, m.load, 0)
	if err != nil {
		return Moment{}, err
	}
	f := m.figures(x, sink)
	st := r.At(m.watts, m.sinkG)
	exact := figures{mean: st.MeanK, probe: st.ProbeK, flow: []float64{st.SinkK, 0}}
	for i := range m.watts {
		for _, row := range r.SpotKW[i] {
			v := dot(row, m.watts)
			if r.Sink != nil {
				v += st.SinkK * r.Sink.Spot[i][len(exact.spot)%(spots*spots)]
			}
			exact.spot = append(exact.spot, v)
		}
	}
	m.near = figures{
		mean: make([]float64, len(f.mean)), spot: make([]float64, len(f.spot)), probe: make([]float64, len(f.probe)),
		flow: []float64{0, 0},
	}
	for i, p := range m.watts {
		if p == 0 {
			continue
		}
		u, _, err := m.a.solveOn(ctx, m.s, m.w, i, nil, m.o)
		if err != nil {
			return Moment{}, m.a.named(i, err)
		}
		own := m.a.read(u, 0, len(m.a.sources))
		m.near.mean[i] = p * (r.MeanKW[i][i] - own.mean[i])
		for k := range spots * spots {
			m.near.spot[i*spots*spots+k] = p * (r.SpotKW[i][k][i] - own.spot[i*spots*spots+k])
		}
		around := m.a.sources[i].Rect
		around.WidthM += 4 * m.a.b.ThicknessM()
		around.HeightM += 4 * m.a.b.ThicknessM()
		for k, q := range m.a.probes {
			if geom.Rectangle(around).Contains(q.XM, q.YM) {
				m.near.probe[k] += p * (r.ProbeKW[k][i] - own.probe[k])
			}
		}
	}
	rest := func(exact, got, near []float64) []float64 {
		out := make([]float64, len(got))
		for i, v := range got {
			if v != 0 {
				out[i] = (exact[i] - v - near[i]) / v
			}
		}
		return out
	}
	m.far = figures{
		mean: rest(exact.mean, f.mean, m.near.mean), spot: rest(exact.spot, f.spot, m.near.spot),
		probe: rest(exact.probe, f.probe, m.near.probe), flow: rest(exact.flow[:1], f.flow[:1], m.near.flow),
	}
	clear(m.y)
	return m.moment(math.Inf(1), f), nil
}

// figures reads the answers off cell temperatures; flow contains the sink's rise and the heat stored.
func (m *integrator) figures(x []float64, sinkK float64) figures {
	f := m.a.read(&solution{s: m.s, t: x, watts: m.watts, sinkK: sinkK}, 0, len(m.watts))
	f.flow = []float64{sinkK, dot(m.s.c.heatJK, x) + m.sinkC*sinkK}
	f.section = nil
	return f
}

// moment corrects figures for what the grid errs.
func (m *integrator) moment(t float64, f figures) Moment {
	share := 1.0
	if m.tau > 0 && !math.IsInf(t, 1) {
		share = -math.Expm1(-t / m.tau)
	}
	add := func(v, near, far []float64) []float64 {
		out := make([]float64, len(v))
		for i := range v {
			out[i] = v[i]*(1+far[i]) + share*near[i]
		}
		return out
	}
	out := Moment{
		TimeS: t, MeanK: add(f.mean, m.near.mean, m.far.mean), ProbeK: add(f.probe, m.near.probe, m.far.probe),
		SinkK: f.flow[0] * (1 + m.far.flow[0]), StoredJ: f.flow[1],
	}
	for i, spot := 0, add(f.spot, m.near.spot, m.far.spot); i < len(m.watts); i++ {
		hot := math.Inf(-1)
		for _, v := range spot[i*spots*spots : (i+1)*spots*spots] {
			hot = max(hot, v)
		}
		out.MaxK = append(out.MaxK, hot)
	}
	return out
}

// combine gives Σ w_i f_i.
func combine(w []float64, f ...figures) figures {
	var out figures
	to := out.parts()
	for k := range to {
		v := make([]float64, len(*f[0].parts()[k]))
		for i := range f {
			for n, q := range *f[i].parts()[k] {
				v[n] += w[i] * q
			}
		}
		*to[k] = v
	}
	return out
}

// run steps to the last of the times.
func (m *integrator) run(ctx context.Context, times []float64, w *History) error {
	n := len(m.ground)
	x, x1, rhs := make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range x {
		if m.s.c.area[i%len(m.s.c.area)] > 0 {
			x[i] = m.time.InitialK
		}
	}
	sink := m.time.InitialK
	if m.ideal() {
		sink = 0
	}
	copy(m.y, x)
	was := m.figures(x, sink)
	var slopeWas figures
	heat := m.s.c.heatJK
	stored0 := was.flow[1]
	given, t := 0.0, 0.0
	out := func(x []float64, sinkK float64) float64 { // heat that leaves now [W]
		fl := m.s.flows(x, nil, nil, sinkK)
		v := fl.top + fl.back + m.direct
		switch {
		case m.lumped && m.sinkG > 0:
			v += m.sinkG * sinkK
		case m.lumped:
			v += fl.sink
		}
		return v
	}
	dt := times[0] / 16
	end := times[len(times)-1]
	next := 0
	for step := 0; next < len(times); step++ {
		if err := ctx.Err(); err != nil {
			return err
		}
		if step >= 2 {
			for 2*dt <= m.time.StepShare*t {
				dt *= 2
			}
		}
		if err := m.prepare(ctx, dt); err != nil {
			return err
		}
		h := gamma * dt
		// first stage, which alone is a backward-Euler step of γ dt
		for i := range rhs {
			rhs[i] = m.load[i] + heat[i]/h*x[i]
		}
		sink1, err := m.stage(ctx, x1, rhs, m.sinkC/h*sink)
		if err != nil {
			return err
		}
		var now, slope figures
		length := dt
		if step < 2 {
			length = h
			given += h * out(x1, sink1)
			copy(x, x1)
			sink = sink1
			now = m.figures(x, sink)
			slope = combine([]float64{1 / h, -1 / h}, now, was)
		} else {
			first := m.figures(x1, sink1)
			q := (1 - gamma) / gamma
			for i := range rhs {
				rhs[i] = m.load[i] + heat[i]/h*(x[i]+q*(x1[i]-x[i]))
			}
			given += (1 - gamma) * dt * out(x1, sink1)
			sink, err = m.stage(ctx, x, rhs, m.sinkC/h*(sink+q*(sink1-sink)))
			if err != nil {
				return err
			}
			given += gamma * dt * out(x, sink)
			now = m.figures(x, sink)
			slope = combine([]float64{1 / h, -(1 - q) / h, -q / h}, now, was, first)
		}
		w.Steps++
		for next < len(times) && times[next] <= t+length*(1+1e-12) {
			u := (times[next] - t) / length
			f := now
			if u < 1 && slopeWas.mean != nil { // cubic between the two ends and their slopes
				f = combine(
					[]float64{
						1 - u*u*(3-2*u), u * u * (3 - 2*u), length * u * (1 - u) * (1 - u), -length * u * u * (1 - u),
					},
					was, now, slopeWas, slope,
				)
			} else if u < 1 {
				f = combine([]float64{1 - u, u}, was, now)
			}
			w.Moments = append(w.Moments, m.moment(times[next], f))
			next++
		}
		t += length
		was, slopeWas = now, slope
		if m.o.Progress != nil {
			m.o.Progress(min(1000, int(1000*t/end)), 1000)
		}
	}
	put := m.total * t
	moved := math.Abs(put) + math.Abs(stored0) + math.Abs(was.flow[1])
	if moved > 0 {
		w.EnergyBalance = math.Abs(put+stored0-was.flow[1]-given) / moved
	}
	return nil
}
