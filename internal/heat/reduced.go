package heat

import (
	"context"
	"errors"
	"fmt"
	"math"
)

// Reduced is a board in time as a few dozen first-order lags, for simulations whose powers change as they go:
//
//	τ_k dx_k/dt = −x_k + Σ_j In[k][j] P_j + ToSink[k] s
//	C_s ds/dt = Σ_k ToSink[k] x_k − (contact + G) s + sink losses to the board's films
//	rise = Σ_k row[k] x_k + Σ_j direct[j] P_j
//
// It is the field of one grid, seen through the shapes that its sources and its sink drive at several speeds; a step costs
// microseconds. It is held against Transient by a test. The conductance is projected as it is (Galerkin), so that every lag
// is stable and reciprocity stays.
type Reduced struct {
	TauS   []float64   // time constants, the board alone with its sink held at ambient [s]
	In     [][]float64 // [lag][source]
	ToSink []float64   // [lag]
	One    []float64   // the lags of a board at 1 K all over
	// Rows of what is read, over lags, and what watts add at once.
	Mean, Spot, Probe                   [][]float64
	DirectMean, DirectSpot, DirectProbe [][]float64
	ContactWK                           float64 // board to sink node [W/K]
	SinkCapacityJK                      float64
	SinkWK                              float64 // that the board came with
	Lumped                              bool    // there is a sink node
	Stats                               Stats   // of the steady response that put the rows right
	Notes                               []string
}

// ReducedState is a Reduced at one moment.
type ReducedState struct {
	X     []float64
	SinkK float64
	TimeS float64
}

// reducedSpeeds are the time constants at which shapes are taken [s]; between and beyond them the shapes blend.
var reducedSpeeds = [...]float64{0.02, 0.2, 2, 20, 200}

// Reduce makes the lags of a board. Powers of the sources do not matter.
func Reduce(ctx context.Context, b Board, sources []Source, probes []Probe, o TimeOptions) (*Reduced, error) {
	if err := checkTimes(b, sources, probes, []float64{1}, &o); err != nil {
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
	p := &projection{m: m, level: m.s.op.levels[0]}
	if err := p.collect(ctx); err != nil {
		return nil, err
	}
	red, err := p.model()
	if err != nil {
		return nil, err
	}
	p.read(red, r)
	red.Stats, red.Lumped = r.Stats, m.lumped
	if m.lumped {
		red.ContactWK, red.SinkCapacityJK, red.SinkWK = m.sumC, m.sinkC, m.sinkG
	}
	return red, nil
}

// projection collects shapes of a board, orthonormal in its conductance.
type projection struct {
	m      *march
	level  *level
	shapes [][]float64
	images [][]float64 // conductance times shape
	loads  [][]float64 // right-hand sides: the sources, then the sink
	steady [][]float64 // their steady solutions
}

// collect solves every load at every speed and keeps what is new.
func (p *projection) collect(ctx context.Context) error {
	m := p.m
	n := len(m.s.ground)
	for j := range m.watts {
		b := make([]float64, n)
		m.s.c.load(b, &m.s.c.spread[j], 1)
		p.loads = append(p.loads, b)
	}
	if m.lumped {
		p.loads = append(p.loads, m.s.contactLoad())
	}
	one := make([]float64, n)
	for i := range one {
		if m.s.c.area[i%len(m.s.c.area)] > 0 {
			one[i] = 1
		}
	}
	p.keep(one)
	// the sink is left out of these solves: its equation is kept as it is
	ideal := m.sinkG
	m.sinkG = 0
	defer func() { m.sinkG = ideal }()
	for _, tau := range append([]float64{0}, reducedSpeeds[:]...) {
		if err := m.prepare(ctx, tau/gamma); err != nil {
			return err
		}
		for _, b := range p.loads {
			x := make([]float64, n)
			if _, err := m.op.solve(ctx, m.w, x, b, m.ground, m.tol(), m.o.MaxIter); err != nil {
				return err
			}
			if tau == 0 {
				p.steady = append(p.steady, append([]float64(nil), x...))
			}
			p.keep(x)
		}
	}
	return nil
}

// keep adds the part of a shape that is new, twice over for the sake of round-off.
func (p *projection) keep(x []float64) {
	v := append([]float64(nil), x...)
	before := math.Sqrt(p.energy(v, nil))
	if before == 0 {
		return
	}
	for range 2 {
		for k, s := range p.shapes {
			f := dot(p.images[k], v)
			for i := range v {
				v[i] -= f * s[i]
			}
		}
	}
	image := make([]float64, len(v))
	after := math.Sqrt(p.energy(v, image))
	if !(after > 1e-7*before) {
		return
	}
	for i := range v {
		v[i] /= after
		image[i] /= after
	}
	p.shapes, p.images = append(p.shapes, v), append(p.images, image)
}

// energy is v·A v, with A v left in image where there is one.
func (p *projection) energy(v, image []float64) float64 {
	l, w := p.level, p.m.w
	copy(w.p[l.pad:l.pad+l.n], v)
	e := l.multiply(w.q, w.p)
	if image != nil {
		copy(image, w.q[l.pad:l.pad+l.n])
	}
	return max(0, e)
}

// model turns the shapes into lags: in shapes orthonormal in the conductance, the capacity's eigenvalues are time constants.
func (p *projection) model() (*Reduced, error) {
	k := len(p.shapes)
	heat := p.m.s.c.heatJK
	capacity := make([][]float64, k)
	for i := range capacity {
		capacity[i] = make([]float64, k)
	}
	for i := range k {
		hs := make([]float64, len(heat))
		for c, h := range heat {
			hs[c] = h * p.shapes[i][c]
		}
		for j := i; j < k; j++ {
			capacity[i][j] = dot(hs, p.shapes[j])
			capacity[j][i] = capacity[i][j]
		}
	}
	tau, vec, ok := eigen(capacity)
	if !ok {
		return nil, errors.New("the lags of the board could not be found; its heat capacities may be far out of scale")
	}
	r := &Reduced{TauS: tau}
	for i, t := range r.TauS { // round-off may leave the quickest a hair below zero
		r.TauS[i] = max(0, t)
	}
	old := p.shapes
	p.shapes = make([][]float64, k)
	for i := range k { // shapes of single lags
		v := make([]float64, len(heat))
		for j, s := range old {
			f := vec[j][i]
			for c := range v {
				v[c] += f * s[c]
			}
		}
		p.shapes[i] = v
	}
	for _, s := range p.shapes {
		row := make([]float64, len(p.m.watts))
		for j := range row {
			row[j] = dot(p.loads[j], s)
		}
		r.In = append(r.In, row)
		if p.m.lumped {
			r.ToSink = append(r.ToSink, dot(p.loads[len(p.loads)-1], s))
		} else {
			r.ToSink = append(r.ToSink, 0)
		}
		image := make([]float64, len(s))
		p.energy(s, image)
		one := 0.0
		for c, v := range image {
			if p.m.s.c.area[c%len(p.m.s.c.area)] > 0 {
				one += v
			}
		}
		r.One = append(r.One, one)
	}
	return r, nil
}

// eigen gives the eigenvalues of a symmetric matrix and, as columns, its eigenvectors; it works in place. It turns away the
// largest entries beside the diagonal by pairs (cyclic Jacobi), which keeps small eigenvalues accurate.
func eigen(a [][]float64) (values []float64, vectors [][]float64, ok bool) {
	n := len(a)
	vectors = make([][]float64, n)
	for i := range vectors {
		vectors[i] = make([]float64, n)
		vectors[i][i] = 1
	}
	for range 60 {
		beside, all := 0.0, 0.0
		for i, row := range a {
			for j, v := range row {
				all += v * v
				if i != j {
					beside += v * v
				}
			}
		}
		if !(beside > 1e-28*all) {
			for i := range n {
				values = append(values, a[i][i])
			}
			return values, vectors, !math.IsNaN(all) && !math.IsInf(all, 0)
		}
		for p := range n {
			for q := p + 1; q < n; q++ {
				if a[p][q] == 0 {
					continue
				}
				theta := (a[q][q] - a[p][p]) / (2 * a[p][q])
				t := 1 / (math.Abs(theta) + math.Hypot(theta, 1))
				if theta < 0 {
					t = -t
				}
				c := 1 / math.Hypot(t, 1)
				s := t * c
				for k := range n {
					a[k][p], a[k][q] = c*a[k][p]-s*a[k][q], s*a[k][p]+c*a[k][q]
				}
				for k := range n {
					a[p][k], a[q][k] = c*a[p][k]-s*a[q][k], s*a[p][k]+c*a[q][k]
				}
				for k := range n {
					vectors[k][p], vectors[k][q] = c*vectors[k][p]-s*vectors[k][q], s*vectors[k][p]+c*vectors[k][q]
				}
			}
		}
	}
	return nil, nil, false
}

// read fills the rows, and puts right what the grid errs in each source's own rise.
func (p *projection) read(r *Reduced, exact *Response) {
	m := p.m
	n := len(m.watts)
	rows := func(count int) ([][]float64, [][]float64) {
		lags, watts := make([][]float64, count), make([][]float64, count)
		for i := range count {
			lags[i], watts[i] = make([]float64, len(p.shapes)), make([]float64, n)
		}
		return lags, watts
	}
	r.Mean, r.DirectMean = rows(n)
	r.Spot, r.DirectSpot = rows(n * spots * spots)
	r.Probe, r.DirectProbe = rows(len(m.a.probes))
	for k, s := range p.shapes {
		f := m.a.read(&solution{s: m.s, t: s})
		for i, v := range f.mean {
			r.Mean[i][k] = v
		}
		for i, v := range f.spot {
			r.Spot[i][k] = v
		}
		for i, v := range f.probe {
			r.Probe[i][k] = v
		}
	}
	nothing := make([]float64, len(m.s.ground))
	for j := range n {
		watts := make([]float64, n)
		watts[j] = 1
		at := m.a.read(&solution{s: m.s, t: nothing, watts: watts})
		grid := m.a.read(&solution{s: m.s, t: p.steady[j], watts: watts})
		for i := range n {
			r.DirectMean[i][j] = at.mean[i]
		}
		for i := range r.DirectSpot {
			r.DirectSpot[i][j] = at.spot[i]
		}
		for i := range r.DirectProbe {
			r.DirectProbe[i][j] = at.probe[i]
		}
		r.DirectMean[j][j] += exact.MeanKW[j][j] - grid.mean[j]
		for k := range spots * spots {
			i := j*spots*spots + k
			r.DirectSpot[i][j] += exact.SpotKW[j][k][j] - grid.spot[i]
		}
	}
}

// Start is the board and its sink at an even rise over ambient [K].
func (r *Reduced) Start(riseK float64) *ReducedState {
	s := &ReducedState{X: make([]float64, len(r.TauS))}
	for k, v := range r.One {
		s.X[k] = riseK * v
	}
	if r.Lumped {
		s.SinkK = riseK
	}
	return s
}

// Step follows the board for dtS seconds at constant powers and sink conductance [W/K] (0 is an ideal sink), by two stages of
// the scheme of Transient. Any step is stable; a fifth of what matters is accurate.
func (r *Reduced) Step(s *ReducedState, powersW []float64, sinkWK, dtS float64) {
	if len(powersW) != len(r.Mean) || !(dtS > 0) {
		panic(fmt.Sprintf("heat: step of %g s with %d powers for %d sources", dtS, len(powersW), len(r.Mean)))
	}
	h := gamma * dtS
	load := make([]float64, len(r.TauS))
	for k, in := range r.In {
		load[k] = dot(in, powersW)
	}
	held := !r.Lumped || sinkWK == 0
	stage := func(from []float64, sinkFrom float64) ([]float64, float64) {
		x := make([]float64, len(from))
		own, heat := r.SinkCapacityJK/h+sinkWK+r.ContactWK, r.SinkCapacityJK/h*sinkFrom
		for k, tau := range r.TauS {
			d := tau/h + 1
			x[k] = (tau/h*from[k] + load[k]) / d
			own -= r.ToSink[k] * r.ToSink[k] / d
			heat += r.ToSink[k] * x[k]
		}
		if held {
			return x, 0
		}
		sink := heat / own
		for k, tau := range r.TauS {
			x[k] += r.ToSink[k] * sink / (tau/h + 1)
		}
		return x, sink
	}
	q := (1 - gamma) / gamma
	first, sink := stage(s.X, s.SinkK)
	from := make([]float64, len(first))
	for k := range from {
		from[k] = s.X[k] + q*(first[k]-s.X[k])
	}
	s.X, s.SinkK = stage(from, s.SinkK+q*(sink-s.SinkK))
	s.TimeS += dtS
}

// Read gives the rises of a state while the sources give these watts. StoredJ is left at zero.
func (r *Reduced) Read(s *ReducedState, powersW []float64) Moment {
	rise := func(row, direct []float64) float64 { return dot(row, s.X) + dot(direct, powersW) }
	m := Moment{TimeS: s.TimeS, SinkK: s.SinkK}
	for i := range r.Mean {
		m.MeanK = append(m.MeanK, rise(r.Mean[i], r.DirectMean[i]))
		hot := math.Inf(-1)
		for k := range spots * spots {
			hot = max(hot, rise(r.Spot[i*spots*spots+k], r.DirectSpot[i*spots*spots+k]))
		}
		m.MaxK = append(m.MaxK, hot)
	}
	for i := range r.Probe {
		m.ProbeK = append(m.ProbeK, rise(r.Probe[i], r.DirectProbe[i]))
	}
	return m
}
