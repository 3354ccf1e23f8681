package heat

import (
	"context"
	"errors"
	"fmt"
	"math"
	"sync"

	"lampwright/internal/geom"
)

// spots is the number of places along each side of a source at which its hottest one is looked for.
const spots = 5

// rasterCells is the number of cells of the temperature map along the longer side of the board.
const rasterCells = 96

// Response is what every watt does everywhere: rises per watt of each source with the sink held at ambient, and rises
// per kelvin of the sink. Temperatures are linear in both, so At gives any operating point without another solve.
//
// First indices say where, second ones from which source.
type Response struct {
	Names []string `json:"names"`
	// MeanKW is the mean rise of source i per watt in source j [K/W]; it is symmetric.
	MeanKW [][]float64 `json:"meanKW"`
	// SpotKW are the rises at spots×spots places of source i [K/W], as [i][spot][j].
	SpotKW [][][]float64 `json:"spotKW"`
	// ProbeKW is the rise of each probe [K/W].
	ProbeKW [][]float64 `json:"probeKW"`
	// TopW, BackW and ToSinkW are where a watt of source j leaves while the sink is held at ambient; they sum to 1.
	TopW, BackW, ToSinkW []float64
	// Sink is the same for the sink at 1 K and no watts; nil if no sink node touches the board.
	Sink *SinkResponse `json:"sink,omitempty"`
	// Film is how the response falls where the films of the faces grow; nil if Sink is.
	Film *FilmResponse `json:"film,omitempty"`
	// SinkWK is the conductance of the sink that the board came with [W/K]; 0 is ideal.
	SinkWK float64 `json:"sinkWK"`
	// Raster is the map of the top surface.
	Raster Raster `json:"raster"`
	// Sections are cuts down through the middle of each source.
	Sections []Section `json:"sections"`
	Stats    Stats     `json:"stats"`
	// Reciprocity is the largest difference between rise at i by j and rise at j by i, over the larger rise of the two
	// at themselves, before both were set to their mean. Each source has its own grid, so this is an error estimate
	// too.
	Reciprocity float64  `json:"reciprocity"`
	Notes       []string `json:"notes,omitempty"`
}

// SinkResponse is what the sink at 1 K over ambient does to a board without watts.
type SinkResponse struct {
	Mean        []float64   `json:"mean"`   // mean rise of each source [K/K]
	Spot        [][]float64 `json:"spot"`   // [source][spot]
	Probe       []float64   `json:"probe"`  // rise of each probe [K/K]
	Raster      []float64   `json:"raster"` // rise over the map [K/K]
	Section     [][]float64 `json:"section"`
	TopW, BackW float64     // heat that the sink loses through the board's own heat transfer coefficients [W/K]
}

// Raster is a map of square cells: surface rise per watt of each source, NaN off the board.
type Raster struct {
	X0M, Y0M, StepM float64     // centre of the first cell, and their pitch
	NX, NY          int         // cells, x fastest
	KW              [][]float64 `json:"-"` // [source][cell]
}

// Section contains the knots of a cut, at the faces of layers: their depth under the nominal top face (negative in a
// submount) and rise per watt.
type Section struct {
	DepthM []float64
	KW     [][]float64 // [source][knot]
	Layers []SectionLayer
}

// SectionLayer says which knots are the top and bottom of a layer, and the far side of its joint.
type SectionLayer struct {
	Name               string
	Top, Bottom, Joint int
}

// State is one operating point: rises over ambient [K] and heat [W].
type State struct {
	MeanK   []float64 `json:"meanK"` // of each source
	MaxK    []float64 `json:"maxK"`  // hottest spot of each source
	ProbeK  []float64 `json:"probeK"`
	SinkK   float64   `json:"sinkK"`
	TopW    float64   `json:"topW"`  // heat that leaves by the top face
	BackW   float64   `json:"backW"` // by heat transfer coefficients on the back
	SinkW   float64   `json:"sinkW"` // by the sink
	Balance float64   `json:"balance"`
}

// figures are all linear answers of one solution, flat, so that two grids extrapolate in one go.
type figures struct {
	mean, spot, probe, section []float64
	flow                       []float64 // by top, back, sink
}

func (f *figures) parts() [5]*[]float64 {
	return [5]*[]float64{&f.mean, &f.spot, &f.probe, &f.section, &f.flow}
}

// request is what figures are read off every solution.
type request struct {
	b       *Board
	sources []Source
	probes  []Probe
	raster  Raster
	on      []bool // raster cell on the board
}

func newAsk(b *Board, sources []Source, probes []Probe) *request {
	a := &request{b: b, sources: sources, probes: probes}
	x0, x1, y0, y1 := b.Outline.Bounds()
	step := max(x1-x0, y1-y0) / rasterCells
	a.raster = Raster{
		X0M: x0 + step/2, Y0M: y0 + step/2, StepM: step, NX: max(1, int(math.Ceil((x1-x0)/step-1e-9))),
		NY: max(1, int(math.Ceil((y1-y0)/step-1e-9))),
	}
	a.on = make([]bool, a.raster.NX*a.raster.NY)
	for i := range a.on {
		x, y := a.raster.Place(i)
		a.on[i] = b.contains(x, y)
	}
	return a
}

// Place is the centre of a cell of the map.
func (r *Raster) Place(i int) (xM, yM float64) {
	return r.X0M + float64(i%r.NX)*r.StepM, r.Y0M + float64(i/r.NX)*r.StepM
}

// spotPlace is one of the places of a source, on a raster from edge to edge but a little inside.
func spotPlace(r geom.Rect, k int) (x, y float64) {
	u := (float64(k%spots)/(spots-1) - 0.5) * 0.9 * r.WidthM
	v := (float64(k/spots)/(spots-1) - 0.5) * 0.9 * r.HeightM
	s, c := math.Sincos(r.AngleRad)
	return r.XM + c*u - s*v, r.YM + s*u + c*v
}

// solution is one solved right-hand side: cell temperatures, watts in each source (nil for none), rise of the sink.
type solution struct {
	s     *system
	t     []float64
	watts []float64
	sinkK float64
}

// read takes the figures of sources from one on, to another, and of the probes off a solution.
func (a *request) read(u *solution, from, to int) figures {
	c, t := u.s.c, u.t
	power := make([]float64, c.nx*c.ny)
	for i, p := range u.watts {
		if p != 0 {
			for k, col := range c.spread[i].col {
				power[col] += p * c.spread[i].share[k]
			}
		}
	}
	// surface rise at a place; the flux there is that of the source it lies in
	surface := func(x, y float64) float64 {
		r := c.columns.reading(x, y)
		v := 0.0
		for k, col := range r.col {
			v += r.w[k] * t[col]
		}
		flux := 0.0
		for i, p := range u.watts {
			if p != 0 && geom.Rectangle(a.sources[i].Rect).Contains(x, y) {
				flux += p / (a.sources[i].Rect.WidthM * a.sources[i].Rect.HeightM)
			}
		}
		return (flux*c.rho[r.here] + v) * c.entering(r.here)
	}
	down := func(x, y float64) []knot {
		r := c.columns.reading(x, y)
		var out []knot
		for k, col := range r.col {
			for n, q := range c.through(col, t, power[col], u.sinkK) {
				if k == 0 {
					out = append(out, knot{depthM: q.depthM})
				}
				out[n].riseK += r.w[k] * q.riseK
			}
		}
		return out
	}
	var f figures
	for i := from; i < to; i++ {
		sp, sum := &c.spread[i], 0.0
		for k, col := range sp.col {
			sum += sp.share[k] * c.surface(col, t[col], power[col])
		}
		f.mean = append(f.mean, sum)
		for k := range spots * spots {
			f.spot = append(f.spot, surface(spotPlace(a.sources[i].Rect, k)))
		}
		knots := down(a.sources[i].Rect.XM, a.sources[i].Rect.YM)
		f.section = append(f.section, knots[0].riseK)
		n := 0
		for _, p := range c.g.planes { // of every layer its bottom and the far side of its joint
			n += 2
			if p.bottom {
				f.section = append(f.section, knots[n].riseK, knots[n+1].riseK)
				n++
			}
		}
	}
	for _, p := range a.probes {
		if p.DepthM <= 0 {
			f.probe = append(f.probe, surface(p.XM, p.YM))
		} else {
			f.probe = append(f.probe, at(down(p.XM, p.YM), p.DepthM))
		}
	}
	fl := u.s.flows(t, c.spread, u.watts, u.sinkK)
	f.flow = []float64{fl.top, fl.back, fl.sink}
	return f
}

// picture reads the map of a surface, by column, in the field turned by an isometry.
func (a *request) picture(c *columns, surface []float64, m isometry) []float64 {
	r, out := &a.raster, make([]float64, len(a.on))
	type place struct {
		cell  int
		share float64
	}
	alongX, alongY := make([]place, r.NX), make([]place, r.NY)
	for i := range alongX {
		alongX[i].cell, alongX[i].share = between(c.x, r.X0M+float64(i)*r.StepM)
	}
	for j := range alongY {
		alongY[j].cell, alongY[j].share = between(c.y, r.Y0M+float64(j)*r.StepM)
	}
	for k, on := range a.on {
		if !on {
			out[k] = math.NaN()
			continue
		}
		x, y := alongX[k%r.NX], alongY[k/r.NX]
		if m != identity {
			xM, yM := m.origin(r.Place(k))
			x.cell, x.share = between(c.x, xM)
			y.cell, y.share = between(c.y, yM)
		}
		out[k] = c.blended(surface, x.cell, y.cell, x.share, y.share)
	}
	return out
}

// surface returns the rise of the top surface by column.
func (u *solution) surface() []float64 {
	c := u.s.c
	surface := make([]float64, c.nx*c.ny)
	for col, area := range c.area {
		if area > 0 {
			surface[col] = c.surface(col, u.t[col], 0)
		}
	}
	for i, p := range u.watts {
		for k, col := range c.spread[i].col {
			surface[col] += p * c.spread[i].share[k] / c.area[col] * c.rho[col] * c.entering(col)
		}
	}
	return surface
}

// sectionPlan names the layers of a cut: the surface, then the bottom of every layer and the far side of its joint.
func (a *request) sectionPlan() (depths []float64, layers []SectionLayer) {
	depth, block := 0.0, 0.0
	for i := range a.sources {
		if m := a.sources[i].Submount; m != nil {
			block = max(block, m.ThicknessM)
		}
	}
	add := func(name string, thickness float64) {
		depth += thickness
		depths = append(depths, depth, depth)
		layers = append(layers, SectionLayer{name, len(depths) - 3, len(depths) - 2, len(depths) - 1})
	}
	depth = -block
	depths = append(depths, depth)
	if block > 0 {
		add("submount", block)
	}
	for i := range a.b.Layers {
		add(a.b.Layers[i].Name, a.b.Layers[i].ThicknessM)
	}
	return depths, layers
}

// job is the work for one source in focus, or for the sink: figures from ever finer grids until they are good enough.
type job struct {
	figures
	raster []float64
	stats  Stats
	film   *filmJob // of the sink's job
}

// Unit solves the board once per source and returns kelvin per watt between all of them, the probes and the sink.
//
// Each source gets a grid of its own, fine around it and coarse elsewhere; two grids, one twice as fine, are solved and
// extrapolated (the error falls as the square of the cell). Its field depends on the board and on what is near alone:
// where the others are, it is read. Powers of the sources do not matter.
// Sources: Patankar1980, §4.2 (finite volumes, harmonic means); Roache1998, §5.3 (extrapolation).
func Unit(ctx context.Context, b Board, sources []Source, probes []Probe, o Options) (*Response, error) {
	if err := Check(b, sources, probes, true); err != nil {
		return nil, err
	}
	o = o.withDefaults()
	a := newAsk(&b, sources, probes)
	n := len(sources)
	lumped := b.Contact != nil && b.Contact.FilmWm2K == 0
	total := n
	if lumped {
		total++
	}
	solve := a.apart
	if o.OneGrid {
		solve = a.together
	}
	jobs, err := solve(ctx, total, o)
	if err != nil {
		return nil, err
	}
	return a.assemble(jobs, lumped, o), nil
}

// focusOf job i: its source, or the sink after the last source.
func (a *request) focusOf(i int) int {
	if i == len(a.sources) {
		return focusSink
	}
	return i
}

// apart gives every job a grid of its own, but for those whose field is the image of another one, and those that are
// kept.
func (a *request) apart(ctx context.Context, total int, o Options) ([]job, error) {
	parts := a.parts(total)
	views := images(parts)
	var solved []int
	fields, keys := make([]*unitField, total), make([]string, total)
	for i := range views {
		if views[i].of == i {
			keys[i] = parts[i].key(o)
			if fields[i] = o.Fields.get(keys[i]); fields[i] == nil {
				solved = append(solved, i)
			}
		}
	}
	report := o.reporter(len(solved))
	err := spread(ctx, len(solved), o.Workers, func() func(context.Context, int) error {
		var mem arena
		return func(ctx context.Context, n int) error {
			i := solved[n]
			mem.reset()
			f, err := a.of(&parts[i]).solve(ctx, parts[i].own, o, &mem)
			report()
			if err != nil {
				return a.named(i, err)
			}
			o.Fields.put(keys[i], f, f.bytes(a))
			fields[i] = f
			return nil
		}
	})
	if err != nil {
		return nil, err
	}
	jobs := make([]job, total)
	return jobs, spread(ctx, total, o.Workers, func() func(context.Context, int) error {
		return func(_ context.Context, i int) error {
			jobs[i] = a.job(fields[views[i].of], a.focusOf(i), views[i].isometry)
			return nil
		}
	})
}

// of returns the request for the field of a part.
func (a *request) of(p *part) *request {
	out := *a
	out.b, out.sources, out.probes = &p.b, p.sources, nil
	return &out
}

// named puts the name of a job's source before an error.
func (a *request) named(i int, err error) error {
	if i == len(a.sources) {
		return err
	}
	return fmt.Errorf("source %s: %w", a.sources[i].label(i), err)
}

// job reads the figures of a source or the sink, and its map, off its field turned by an isometry.
func (a *request) job(f *unitField, own int, m isometry) job {
	j := job{stats: f.stats, raster: f.picture(a, m)}
	j.flow = f.flow
	for i := range a.sources {
		if i == own {
			j.mean, j.section = append(j.mean, f.mean[0]), append(j.section, f.section...)
			j.spot = append(j.spot, f.ownSpots(a.sources[i].Rect, m)...)
			continue
		}
		p := f.at(a.sources[i].Rect, m)
		j.mean, j.spot = append(j.mean, p.mean), append(j.spot, p.spot[:]...)
		j.section = append(j.section, p.section...)
	}
	scale := 1.0
	if own >= 0 {
		scale = f.mean[0]
	}
	for _, p := range a.probes {
		rise, step := f.probe(p, m)
		j.probe = append(j.probe, rise)
		if len(f.grids) > 1 {
			j.stats.RelErr = max(j.stats.RelErr, f.stats.depthErr+errorAfter(step/scale))
		}
	}
	if f.film != nil {
		chi := a.job(f.film.chi, focusSink, m)
		j.film = &filmJob{
			figures: chi.figures, raster: chi.raster, topWK: f.film.topWK, backWK: f.film.backWK, kappa: f.film.kappa,
		}
	}
	return j
}

// together solves all jobs on the same grid, fine around every source.
func (a *request) together(ctx context.Context, total int, o Options) ([]job, error) {
	g, err := a.grid(focusAll, o)
	if err != nil {
		return nil, err
	}
	var before []job
	for grids := 1; ; grids++ {
		s, err := newSystem(a.b, a.sources, g, nil)
		if err != nil {
			return nil, err
		}
		jobs := make([]job, total)
		report := o.reporter(total)
		err = spread(ctx, total, o.Workers, func() func(context.Context, int) error {
			w := s.op.newWorkspace()
			return func(ctx context.Context, i int) error {
				u, st, err := a.solveOn(ctx, s, w, a.focusOf(i), nil, o)
				if err != nil {
					return a.named(i, err)
				}
				st.Grids = grids
				jobs[i] = job{figures: a.read(u, 0, len(a.sources)), stats: st}
				jobs[i].raster = a.picture(s.c.columns, u.surface(), identity)
				if a.focusOf(i) == focusSink && before == nil {
					chi, film, err := a.solveFilm(ctx, w, u, o)
					if err != nil {
						return err
					}
					film.figures = a.read(chi, 0, len(a.sources))
					film.raster = a.picture(s.c.columns, chi.surface(), identity)
					jobs[i].film = film
				}
				report()
				return nil
			}
		})
		if err != nil {
			return nil, err
		}
		ahead, worst := a.ahead(before, jobs, g)
		if grids == o.Grids || 4*len(s.ground) > o.MaxCells || (o.Grids == 0 && worst <= o.RelErr) {
			return ahead, nil
		}
		before = jobs
		g = g.halved()
	}
}

// ahead extrapolates all jobs of one grid beyond those of the grid before, if there is one, and returns the largest error
// estimate of theirs.
func (a *request) ahead(before, jobs []job, g *grid) (out []job, worst float64) {
	worst = math.NaN()
	out = append([]job(nil), jobs...)
	for i := range before {
		jobs[i].film = before[i].film // of the first grid: a small correction needs no more
		out[i].film = jobs[i].film
		step := out[i].extrapolate(&before[i].figures, &jobs[i].figures, a.focusOf(i))
		out[i].stats.RelErr = errorAfter(step) + g.depthErr
		if !(out[i].stats.RelErr <= worst) {
			worst = out[i].stats.RelErr
		}
		out[i].raster = make([]float64, len(a.on))
		for k, v := range jobs[i].raster {
			out[i].raster[k] = beyond(before[i].raster[k], v)
		}
	}
	if before == nil {
		for i := range out {
			out[i].stats.RelErr = math.NaN()
		}
	}
	return out, worst
}

// reporter counts what is done, for Progress.
func (o Options) reporter(total int) func() {
	if o.Progress == nil {
		return func() {}
	}
	var mu sync.Mutex
	done := 0
	return func() {
		mu.Lock()
		defer mu.Unlock()
		done++
		o.Progress(done, total)
	}
}

// spread runs jobs 0…n−1 on several workers; each worker makes what it needs once. Every job writes its own results
// only, so the answer does not depend on who ran it.
func spread(ctx context.Context, n, workers int, worker func() func(ctx context.Context, i int) error) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	errs := make([]error, n)
	next := make(chan int, n)
	for i := range n {
		next <- i
	}
	close(next)
	var wg sync.WaitGroup
	for range max(1, min(workers, n)) {
		wg.Go(func() {
			do := worker()
			for i := range next {
				if errs[i] = do(ctx, i); errs[i] != nil {
					cancel()
					return
				}
			}
		})
	}
	wg.Wait()
	return firstError(errs)
}

// firstError picks the reason and not those whom it cancelled.
func firstError(errs []error) error {
	var first error
	for _, err := range errs {
		if err != nil && (first == nil || (errors.Is(first, context.Canceled) && !errors.Is(err, context.Canceled))) {
			first = err
		}
	}
	return first
}

// deepest times the error asked for is what the depth of planes may err before it is put right from the first grid.
const deepest = 3

// grid plans the first grid, coarser than asked for where the next one would pass the limit of cells.
func (a *request) grid(focus int, o Options) (*grid, error) {
	deep, across := 1, o.Across
	if focus == focusSink {
		across = min(across, 4) // its field is smooth
	}
	for ; ; across *= 0.8 {
		g := newGrid(a.b, a.sources, focus, across, deep)
		if g.depthErr > deepest*o.RelErr { // what is left is put right from the first grid
			deep = int(math.Ceil(math.Sqrt(g.depthErr / (deepest * o.RelErr))))
			g = newGrid(a.b, a.sources, focus, across, deep)
		}
		n := g.cells()
		if 4*n <= o.MaxCells || o.Grids == 1 {
			return g, nil
		}
		if across < 1 {
			if n > o.MaxCells {
				return nil, tooMany(n, o.MaxCells)
			}
			return g, nil
		}
	}
}

// tooMany refuses a board whose coarsest grid is too fine.
func tooMany(cells, most int) error {
	return fmt.Errorf("the edges of this board's sources, pieces, patches and holes ask for %d cells; at most %d are "+
		"solved, so describe it with fewer", cells, most)
}

// solve finds the field of one source of a part, or of the sink.
func (a *request) solve(ctx context.Context, own int, o Options, mem *arena) (*unitField, error) {
	g, err := a.grid(own, o)
	if err != nil {
		return nil, err
	}
	f := &unitField{}
	var before *solution
	var coarse, deeper figures
	was := math.Inf(1)
	from, to := own, own+1
	if own == focusSink {
		from, to = 0, 0
	}
	for grids := 1; ; grids++ {
		s, err := newSystem(a.b, a.sources, g, mem)
		if err != nil {
			return nil, err
		}
		w := s.op.newWorkspace()
		u, st, err := a.solveOn(ctx, s, w, own, before, o)
		if err != nil {
			return nil, err
		}
		if own == focusSink && grids == 1 { // a small correction needs no finer grid
			chi, film, err := a.solveFilm(ctx, w, u, o)
			if err != nil {
				return nil, err
			}
			f.film = &filmField{
				chi:   &unitField{figures: figures{flow: make([]float64, 3)}, grids: []snapshot{chi.shoot(a, own)}},
				topWK: film.topWK, backWK: film.backWK, kappa: film.kappa,
			}
		}
		s.op.levels = s.op.levels[:1] // the start of the next grid needs no more
		fine := a.read(u, from, to)
		f.stats, f.figures = st, fine
		f.stats.Grids, f.stats.RelErr = grids, math.NaN()
		f.grids = append(f.grids[max(0, len(f.grids)-1):], u.shoot(a, own))
		if grids > 1 {
			if grids == 2 && o.Grids == 0 && g.depthErr > o.RelErr/4 && own >= 0 {
				if deeper, err = a.deeper(ctx, before, &coarse, own, o, mem); err != nil {
					return nil, err
				}
			}
			f.estimate(a, &coarse, &fine, &deeper, g.depthErr, own)
		}
		if grids == o.Grids || 4*st.Cells > o.MaxCells || (o.Grids == 0 && grids > 1 && o.enough(&f.stats, was)) {
			return f, nil
		}
		if grids > 1 {
			was = f.stats.RelErr
		}
		before, coarse = u, fine
		g = g.halved()
	}
}

// leastGain is the fraction to which a finer grid must lower the error estimate for the next one to be solved: a source
// of a nanometre is a point on any grid, and its rise grows from each to the next.
const leastGain = 0.7

// enough tells whether the error estimate of a grid is as asked for, or whether no finer one will lower it so far: not
// if it has hardly fallen from what it was, nor if at an eighth for each of the grids that may follow it is too large.
func (o *Options) enough(st *Stats, was float64) bool {
	if st.RelErr <= o.RelErr || st.RelErr > leastGain*was {
		return true
	}
	best := st.RelErr
	for cells := 4 * st.Cells; cells <= o.MaxCells; cells *= 4 {
		best /= 8
	}
	return best > o.RelErr
}

// deeper finds what planes of half the depth change of the figures of the first grid, taken to the limit.
func (a *request) deeper(
	ctx context.Context, before *solution, was *figures, own int, o Options, mem *arena,
) (figures, error) {
	s, err := newSystem(a.b, a.sources, before.s.c.g.deepened(), mem)
	if err != nil {
		return figures{}, err
	}
	u, _, err := a.solveOn(ctx, s, s.op.newWorkspace(), own, before, o)
	if err != nil {
		return figures{}, err
	}
	return combine([]float64{4.0 / 3, -4.0 / 3}, a.read(u, own, own+1), *was), nil
}

// estimate extrapolates the figures of a field from two grids, puts the depth of its planes right, and estimates what
// error is left: of the source itself, and of the map about it.
func (f *unitField) estimate(a *request, coarse, fine, deeper *figures, depthErr float64, own int) {
	var j job
	step, scale := 0.0, 1.0
	if own >= 0 {
		step = j.extrapolate(coarse, fine, 0)
		f.figures, scale = j.figures, math.Abs(j.mean[0])
	} else {
		j.extrapolate(coarse, fine, focusSink)
		f.figures = j.figures
	}
	if deeper.mean != nil {
		f.figures = combine([]float64{1, 1}, f.figures, *deeper)
		depthErr = deeperShare * math.Abs(deeper.mean[0]) / scale
	}
	around := geom.Rect{}
	if own >= 0 {
		around = a.sources[own].Rect
		around.WidthM += 2 * a.raster.StepM
		around.HeightM += 2 * a.raster.StepM
	}
	f.maps = nil
	last := &f.grids[len(f.grids)-1]
	v := a.picture(last.columns, last.top(), identity)
	for k, out := range f.picture(a, identity) {
		if a.on[k] && (own < 0 || !geom.Rectangle(around).Contains(a.raster.Place(k))) {
			step = max(step, math.Abs(out-v[k])/scale)
		}
	}
	if own < 0 { // it has no source whose heat spreads in depth
		depthErr = 0
	}
	f.stats.depthErr = depthErr
	f.stats.RelErr = errorAfter(step) + depthErr
	if own >= 0 && !a.sources[own].Rect.AxisAligned() {
		f.stats.RelErr = turnedErr*errorAfter(step) + depthErr
	}
}

// beyond takes the values of two grids, one twice as fine, to the limit of a second-order method.
func beyond(coarse, fine float64) float64 { return fine + (fine-coarse)/3 }

func allBeyond(coarse, fine []float64) {
	for i, v := range coarse {
		fine[i] = beyond(v, fine[i])
	}
}

// errorAfter estimates what error the last step of extrapolation leaves, both relative: at most half of it; and as the
// step falls at least as fast as the cells to the power of two and the error as that of three, a part of it that falls.
// No case with a known answer came out worse (TestEstimateHolds).
func errorAfter(step float64) float64 { return min(step/2, 3*math.Pow(step, 1.5)) }

// turnedErr times that is the estimate for a source that is turned: its edges cut through cells, and its error falls
// unevenly (TestTurnedSource).
const turnedErr = 2.5

// stepFor is the step that leaves an error.
func stepFor(relErr float64) float64 { return max(2*relErr, math.Pow(relErr/3, 2.0/3)) }

// deeperShare of the change that planes of half the depth make is left of it as error.
const deeperShare = 0.25

// extrapolate goes beyond two grids, and returns the last step over the rise of the source in focus.
func (j *job) extrapolate(coarse, fine *figures, focus int) float64 {
	worst, scale := 0.0, 0.0
	hot := -1 // the hottest spot of the source in focus
	if focus >= 0 {
		for i := focus * spots * spots; i < (focus+1)*spots*spots; i++ {
			if hot < 0 || fine.spot[i] > fine.spot[hot] {
				hot = i
			}
		}
	}
	from, to := coarse.parts(), j.parts()
	for k, p := range fine.parts() {
		v := *p
		out := make([]float64, len(v))
		for i := range v {
			out[i] = beyond((*from[k])[i], v[i])
			if k == 0 || k == 2 || (k == 1 && i == hot) {
				worst = max(worst, math.Abs(out[i]-v[i]))
			}
			if k == 0 {
				scale = max(scale, math.Abs(out[i]))
			}
		}
		*to[k] = out
	}
	if scale == 0 {
		return 0
	}
	return worst / scale
}

// solveOn solves one right-hand side on one grid, from the solution of the grid before it where there is one.
func (a *request) solveOn(
	ctx context.Context, s *system, w *workspace, focus int, before *solution, o Options,
) (*solution, Stats, error) {
	n := len(s.ground)
	u := &solution{s: s, t: s.c.mem.floats(n)}
	var rhs []float64
	in := 1.0 // watts put in
	if focus == focusSink {
		u.sinkK = 1
		rhs = s.contactLoad()
		in = 0
		for _, g := range s.c.contactG {
			in += g
		}
		before = nil // a rise of 1 is the better start: the answer, were there no heat transfer coefficients
		for i := range u.t {
			u.t[i] = 1
		}
	} else {
		rhs = s.c.mem.floats(n)
		s.c.load(rhs, &s.c.spread[focus], 1)
		u.watts = make([]float64, len(a.sources))
		u.watts[focus] = 1
	}
	if before != nil {
		s.start(u.t, before)
	}
	st := Stats{Cells: n, Grids: 1}
	out, err := s.op.solve(ctx, w, u.t, rhs, s.ground, o.Tol, o.MaxIter)
	st.Iterations, st.Residual = out.iterations, out.residual
	if err != nil {
		return nil, st, err
	}
	fl := s.flows(u.t, s.c.spread, u.watts, 0)
	if in > 0 {
		st.Balance = math.Abs(fl.top+fl.back+fl.sink-in) / in
	}
	return u, st, nil
}

// assemble turns the jobs into a response.
func (a *request) assemble(jobs []job, lumped bool, o Options) *Response {
	n := len(a.sources)
	r := &Response{Raster: a.raster}
	square := func(rows int) [][]float64 {
		out := make([][]float64, rows)
		for i := range out {
			out[i] = make([]float64, n)
		}
		return out
	}
	r.MeanKW, r.ProbeKW = square(n), square(len(a.probes))
	depths, layers := a.sectionPlan()
	for i := range n {
		r.Names = append(r.Names, a.sources[i].Name)
		r.SpotKW = append(r.SpotKW, square(spots*spots))
		r.Sections = append(r.Sections, Section{DepthM: depths, Layers: layers, KW: make([][]float64, n)})
	}
	knots := len(depths)
	for j := range n {
		f := &jobs[j].figures
		for i := range n {
			r.MeanKW[i][j] = f.mean[i]
			for k := range spots * spots {
				r.SpotKW[i][k][j] = f.spot[i*spots*spots+k]
			}
			r.Sections[i].KW[j] = f.section[i*knots : (i+1)*knots]
		}
		for i := range a.probes {
			r.ProbeKW[i][j] = f.probe[i]
		}
		r.TopW, r.BackW, r.ToSinkW = append(r.TopW, f.flow[0]), append(r.BackW, f.flow[1]), append(r.ToSinkW, f.flow[2])
		r.Raster.KW = append(r.Raster.KW, jobs[j].raster)
	}
	for i := range n {
		for j := range i {
			scale := max(math.Abs(r.MeanKW[i][i]), math.Abs(r.MeanKW[j][j]))
			r.Reciprocity = max(r.Reciprocity, math.Abs(r.MeanKW[i][j]-r.MeanKW[j][i])/scale)
			m := (r.MeanKW[i][j] + r.MeanKW[j][i]) / 2
			r.MeanKW[i][j], r.MeanKW[j][i] = m, m
		}
	}
	if lumped {
		r.SinkWK = a.b.Contact.SinkWK
		f := &jobs[n].figures
		s := &SinkResponse{Mean: f.mean, Probe: f.probe, Raster: jobs[n].raster, TopW: f.flow[0], BackW: f.flow[1]}
		for i := range n {
			s.Spot = append(s.Spot, f.spot[i*spots*spots:(i+1)*spots*spots])
			s.Section = append(s.Section, f.section[i*knots:(i+1)*knots])
		}
		r.Sink = s
		r.Film = a.filmResponse(jobs[n].film, r)
	}
	st := &r.Stats
	for _, j := range jobs {
		st.Cells, st.Grids = max(st.Cells, j.stats.Cells), max(st.Grids, j.stats.Grids)
		st.Iterations, st.Residual = max(st.Iterations, j.stats.Iterations), max(st.Residual, j.stats.Residual)
		st.Balance = max(st.Balance, j.stats.Balance)
		st.RelErr = max(st.RelErr, j.stats.RelErr) // not a number if any is not
	}
	if o.Grids == 0 && !(st.RelErr <= o.RelErr) {
		why := fmt.Sprintf("finer grids of up to %d cells would not lower it so far", o.MaxCells)
		if 4*st.Cells > o.MaxCells {
			why = fmt.Sprintf("the limit of %d cells was reached", o.MaxCells)
		}
		r.Notes = append(r.Notes, fmt.Sprintf(
			"the estimated error of the heat field is %.2g %%, above the %.2g %% asked for: %s", 100*st.RelErr,
			100*o.RelErr, why,
		))
	}
	return r
}

// Powers of sources as they stand, for At.
func Powers(sources []Source) []float64 {
	out := make([]float64, len(sources))
	for i := range sources {
		out[i] = sources[i].PowerW
	}
	return out
}

// SinkRise is the rise of the sink node for a conductance to ambient [K]:
//
//	s = Σ h_j P_j / (G + L)
//
// h_j is the fraction of source j's watts that reaches a sink held at ambient and L what the board itself loses per
// kelvin of the sink. sinkWK 0 is an ideal sink and gives 0.
func (r *Response) SinkRise(powersW []float64, sinkWK float64) float64 {
	if r.Sink == nil || sinkWK == 0 {
		return 0
	}
	in := 0.0
	for j, p := range powersW {
		in += r.ToSinkW[j] * p
	}
	return in / (sinkWK + r.Sink.TopW + r.Sink.BackW)
}

// At gives the operating point for watts in each source and a sink of the given conductance to ambient [W/K] (0 is an
// ideal sink; without a sink node it does not matter). It is dense algebra: microseconds.
func (r *Response) At(powersW []float64, sinkWK float64) State {
	if len(powersW) != len(r.MeanKW) {
		panic(fmt.Sprintf("heat: %d powers for a response of %d sources", len(powersW), len(r.MeanKW)))
	}
	s := State{SinkK: r.SinkRise(powersW, sinkWK)}
	for i := range r.MeanKW {
		mean, hot := dot(r.MeanKW[i], powersW), math.Inf(-1)
		for k, row := range r.SpotKW[i] {
			v := dot(row, powersW)
			if r.Sink != nil {
				v += s.SinkK * r.Sink.Spot[i][k]
			}
			hot = max(hot, v)
		}
		if r.Sink != nil {
			mean += s.SinkK * r.Sink.Mean[i]
		}
		s.MeanK, s.MaxK = append(s.MeanK, mean), append(s.MaxK, hot)
	}
	for i := range r.ProbeKW {
		v := dot(r.ProbeKW[i], powersW)
		if r.Sink != nil {
			v += s.SinkK * r.Sink.Probe[i]
		}
		s.ProbeK = append(s.ProbeK, v)
	}
	s.TopW, s.BackW, s.SinkW = dot(r.TopW, powersW), dot(r.BackW, powersW), dot(r.ToSinkW, powersW)
	total := 0.0
	for _, p := range powersW {
		total += p
	}
	if r.Sink != nil {
		s.TopW += s.SinkK * r.Sink.TopW
		s.BackW += s.SinkK * r.Sink.BackW
		s.SinkW -= s.SinkK * (r.Sink.TopW + r.Sink.BackW)
	}
	if total != 0 {
		s.Balance = math.Abs(s.TopW+s.BackW+s.SinkW-total) / math.Abs(total)
	}
	return s
}

// Map is the rise of the top surface over the raster for an operating point [K]; NaN off the board.
func (r *Response) Map(powersW []float64, sinkWK float64) []float64 {
	out := make([]float64, r.Raster.NX*r.Raster.NY)
	for j, p := range powersW {
		for i, v := range r.Raster.KW[j] {
			out[i] += p * v
		}
	}
	if r.Sink != nil {
		s := r.SinkRise(powersW, sinkWK)
		for i, v := range r.Sink.Raster {
			out[i] += s * v
		}
	}
	return out
}

// LayerDrop is what one layer costs along a cut.
type LayerDrop struct {
	Name   string  `json:"name"`
	TopK   float64 `json:"topK"`
	BackK  float64 `json:"backK"`  // at its lower face
	DropK  float64 `json:"dropK"`  // TopK − BackK
	JointK float64 `json:"jointK"` // further drop over the joint under it
}

// Cut goes down through the middle of source i and reports which layer costs how many kelvin, from the top. The last
// joint is the board's own; contact with a sink comes after it.
func (r *Response) Cut(i int, powersW []float64, sinkWK float64) []LayerDrop {
	sec := r.Sections[i]
	t := make([]float64, len(sec.DepthM))
	for j, p := range powersW {
		for k, v := range sec.KW[j] {
			t[k] += p * v
		}
	}
	if r.Sink != nil {
		s := r.SinkRise(powersW, sinkWK)
		for k, v := range r.Sink.Section[i] {
			t[k] += s * v
		}
	}
	var out []LayerDrop
	for _, l := range sec.Layers {
		out = append(out, LayerDrop{l.Name, t[l.Top], t[l.Bottom], t[l.Top] - t[l.Bottom], t[l.Bottom] - t[l.Joint]})
	}
	return out
}

// Field is a solved board at given powers.
type Field struct {
	State
	Response *Response
	PowersW  []float64
}

// Solve finds the field of a board for the powers of its sources and the sink it comes with. Where powers or sink will
// change, call Unit once and At often instead.
func Solve(ctx context.Context, b Board, sources []Source, probes []Probe, o Options) (*Field, error) {
	r, err := Unit(ctx, b, sources, probes, o)
	if err != nil {
		return nil, err
	}
	p := Powers(sources)
	return &Field{State: r.At(p, r.SinkWK), Response: r, PowersW: p}, nil
}

// Hottest is the number of the hottest source.
func (s *State) Hottest() int {
	hot := 0
	for i, t := range s.MaxK {
		if t > s.MaxK[hot] {
			hot = i
		}
	}
	return hot
}
