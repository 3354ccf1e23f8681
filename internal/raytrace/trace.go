package raytrace

import (
	"context"
	"errors"
	"fmt"
	"math"
	"reflect"
	"runtime"
	"sync"
	"sync/atomic"

	"lampwright/internal/intensity"
	"lampwright/internal/light"
)

// Options control a trace. The zero value traces 200 000 paths per group.
type Options struct {
	Paths    int     // paths per group, rounded up to whole tiles; 0 means 200 000
	Tiles    int     // tiles per group and round, at least 8; their spread gives the standard errors; 0 means 32
	RelErr   float64 // if above 0: add rounds until the relative standard error on the substrate is below it
	MaxPaths int     // maximum number of paths per group over these rounds; 0 means 20 million
	Seed     uint64
	Workers  int   // 0 means one per core; the result does not depend on it
	Groups   []int // group of each emitter, from 0; nil means one group per emitter
	// Split replaces the traced direct light on planes and substrate by the exact one, so that only reflected light
	// has noise. It has no effect with ripples, objects, or receivers outside the tank.
	Split bool
	// ExactMeters does the same for meters below all emitters of a group: direct light at the centre of the meter,
	// without noise. It has no effect with ripples or objects, or on a meter beside the tank.
	ExactMeters bool
	Progress    func(done, total int) // in tiles
}

const (
	maxBands    = 64
	maxSegments = 10000 // per path
	maxValues   = 25e6  // per receiver, over cells, bands and groups
	faint       = 0.05  // weight below which Russian roulette ends paths
)

// Trace follows light by Monte Carlo through the scene and returns maps and the energy balance per watt of each group
// of emitters; the emitters of a group have equal flux.
//
// At each surface reflection or transmission is sampled; all bands follow one path, each with its own weight. Glass
// walls reflect as light.PaneOptics states (with GlassInterior face by face, one polarisation per passage). Directions
// are a shifted lattice in each tile. Each tile has its own stream of random numbers, and tiles are added in order:
// the same seed gives the same result on any number of cores. Standard errors come from the spread between tiles. If
// ctx ends, the result so far is returned with Complete false, or the error of the context if there is none.
// Dispersion is ignored: all bands use the index of the tank (averages change by less than 0.1 %). Source: analogue
// Monte Carlo with implicit capture, LuxKoblinger1991.
func Trace(ctx context.Context, s Scene, emitters []light.Emitter, receivers []Receiver, o Options) (Result, error) {
	r, err := newRun(s, emitters, receivers, o)
	if err != nil {
		return Result{}, err
	}
	return r.all(ctx)
}

// run is one call of Trace.
type run struct {
	Scene
	emitters  []light.Emitter
	frames    []intensity.Frame
	samplers  []*intensity.Sampler
	groups    [][]int // emitters of each group
	receivers []Receiver
	o         Options
	bands     []light.Band
	glass     [2][4]pane  // above and below the water, by side
	interior  [4]interior // of thick walls, by side
	surface   [2]sheet    // the water from above and from below
	cover     sheet
	tilePaths int
	scatter   float64
	notes     []string

	buffers sync.Pool
	sums    []*sums // one per group
}

func newRun(s Scene, emitters []light.Emitter, receivers []Receiver, o Options) (*run, error) {
	t := s.Tank
	if err := t.Check(); err != nil {
		return nil, err
	}
	if err := t.CheckEmitters(emitters); err != nil {
		return nil, err
	}
	if len(emitters) == 0 {
		return nil, errors.New("nothing to trace: no emitters")
	}
	o, err := o.withDefaults()
	if err != nil {
		return nil, err
	}
	s.Tank = t.WithDefaults()
	r := &run{Scene: s, emitters: emitters, o: o, bands: s.Tank.Bands}
	n := s.Tank.WaterIndex
	r.glass = [2][4]pane{panes(s.Tank, 1), panes(s.Tank, n)}
	r.surface = [2]sheet{newSheet(&face{1, n, unpolarised}), newSheet(&face{n, 1, unpolarised})}
	r.cover = newSheet(s.Tank.Cover)
	if len(r.bands) > maxBands {
		return nil, fmt.Errorf("%d bands exceed the maximum of %d", len(r.bands), maxBands)
	}
	if t.IsBench() {
		if t.SubstrateSlopeX != 0 || t.SubstrateSlopeY != 0 {
			return nil, errors.New("a bench is traced level; set the slope of a receiver plane instead")
		}
		r.Tank.HeightM = t.SubstrateM
	}
	if err := r.checkScene(t.IsBench()); err != nil {
		return nil, err
	}
	r.addSamplers()
	if err := r.group(); err != nil {
		return nil, err
	}
	for i, rec := range receivers {
		if err := r.completeReceiver(&rec); err != nil {
			return nil, fmt.Errorf("receiver %d %q: %w", i+1, rec.Name, err)
		}
		r.receivers = append(r.receivers, rec)
	}
	r.tilePaths = (o.Paths + o.Tiles - 1) / o.Tiles
	for range r.groups {
		r.sums = append(r.sums, r.newSums())
	}
	r.buffers.New = func() any { return r.newTally() }
	return r, nil
}

// checkScene checks the surroundings of the tank and completes the scene with defaults.
func (r *run) checkScene(bench bool) error {
	if !(r.SlopeRMS >= 0) || r.SlopeRMS > 0.5 {
		return fmt.Errorf("surface slope %g of the ripples is outside 0 to 0.5", r.SlopeRMS)
	}
	if r.ScatterCosine == 0 {
		r.ScatterCosine = light.ForwardScattering
	}
	if r.ScatterCosine <= -1 || r.ScatterCosine >= 1 {
		return fmt.Errorf("mean cosine of scattering %g must be above -1 and below 1", r.ScatterCosine)
	}
	if r.GlassInterior = r.GlassInterior && r.Tank.Walls == light.WallGlass && !bench; r.GlassInterior {
		r.interior = interiors(r.Tank, r.glass[0])
	}
	for _, b := range r.bands {
		r.scatter += b.ScatterPerM / float64(len(r.bands))
	}
	for _, b := range r.bands {
		if math.Abs(b.ScatterPerM-r.scatter) > 1e-9*r.scatter {
			r.notes = append(r.notes, fmt.Sprintf("scattering differs between bands; its mean of %.3g per metre is "+
				"traced", r.scatter))
			break
		}
	}
	if err := r.checkRoom(); err != nil {
		return err
	}
	r.Objects = append([]Plate(nil), r.Objects...)
	for i := range r.Objects {
		if err := r.Objects[i].prepare(); err != nil {
			return err
		}
		if r.Objects[i].intersects(&r.Tank) {
			return fmt.Errorf("plate %q reaches into the tank; plates must be above the rim or beside the tank",
				r.Objects[i].Name)
		}
	}
	return nil
}

// addSamplers prepares the frame and the sampler of each emitter; equal distributions use one sampler.
func (r *run) addSamplers() {
	known := map[intensity.Distribution]*intensity.Sampler{}
	for _, e := range r.emitters {
		r.frames = append(r.frames, e.Frame())
		if !reflect.TypeOf(e.Distribution).Comparable() {
			r.samplers = append(r.samplers, intensity.NewSampler(e.Distribution))
			continue
		}
		if known[e.Distribution] == nil {
			known[e.Distribution] = intensity.NewSampler(e.Distribution)
		}
		r.samplers = append(r.samplers, known[e.Distribution])
	}
}

// withDefaults returns the options with their defaults.
func (o Options) withDefaults() (Options, error) {
	if o.Paths < 0 || o.MaxPaths < 0 || o.Tiles < 0 || !(o.RelErr >= 0) {
		return o, errors.New("trace options must be at least 0")
	}
	if o.Paths == 0 {
		o.Paths = 200_000
	}
	if o.Tiles == 0 {
		o.Tiles = 32
	}
	o.Tiles = max(8, o.Tiles)
	if o.MaxPaths == 0 {
		o.MaxPaths = 20_000_000
	}
	if o.Workers <= 0 {
		o.Workers = runtime.GOMAXPROCS(0)
	}
	return o, nil
}

// group assigns the emitters to their groups.
func (r *run) group() error {
	if r.o.Groups == nil {
		for i := range r.emitters {
			r.groups = append(r.groups, []int{i})
		}
		return nil
	}
	if len(r.o.Groups) != len(r.emitters) {
		return fmt.Errorf("%d groups for %d emitters", len(r.o.Groups), len(r.emitters))
	}
	for i, g := range r.o.Groups {
		if g < 0 || g >= len(r.emitters) {
			return fmt.Errorf("group %d of emitter %d is outside 0 to %d", g, i+1, len(r.emitters)-1)
		}
		for len(r.groups) <= g {
			r.groups = append(r.groups, nil)
		}
		r.groups[g] = append(r.groups[g], i)
	}
	for g, members := range r.groups {
		if len(members) == 0 {
			return fmt.Errorf("group %d has no emitter", g)
		}
	}
	return nil
}

// all runs rounds of tiles until the required standard error or number of paths.
func (r *run) all(ctx context.Context) (Result, error) {
	perRound := r.o.Tiles * len(r.groups)
	total := perRound
	maxRounds := 1
	if r.o.RelErr > 0 {
		maxRounds = max(1, r.o.MaxPaths/(r.tilePaths*r.o.Tiles))
	}
	complete := true
	for round := range maxRounds {
		from := round * perRound
		done := r.round(ctx, from, from+perRound, total)
		if done < from+perRound {
			complete = false
			break
		}
		if r.o.RelErr == 0 {
			break
		}
		worst := r.worstError()
		if worst <= r.o.RelErr {
			break
		}
		if round == maxRounds-1 {
			complete = false
			r.notes = append(r.notes, fmt.Sprintf("stopped at %d paths per group with a relative standard error of "+
				"%.2g", r.o.MaxPaths, worst))
			break
		}
		// Estimate of the remaining rounds for the progress report: the error falls with the square root.
		ahead := int(math.Ceil(float64(round+1) * math.Pow(worst/r.o.RelErr, 2)))
		total = perRound * max(round+2, min(maxRounds, ahead))
	}
	for _, s := range r.sums {
		if s.tiles < 2 {
			return Result{}, fmt.Errorf("stopped before the first result: %w", context.Cause(ctx))
		}
	}
	return r.result(complete), nil
}

// worstError returns the largest relative standard error of the light on the substrate over groups and bands.
func (r *run) worstError() float64 {
	worst := 0.0
	for _, s := range r.sums {
		for b := range r.bands {
			e := s.flow[SubstrateTotal][b].estimate(s.tiles, 1)
			if e.Value > 0 {
				worst = math.Max(worst, e.Err/e.Value)
			} else {
				worst = math.Inf(1)
			}
		}
	}
	return worst
}

// round runs the tiles [from, to), adds them in order and returns the index after the last one added.
func (r *run) round(ctx context.Context, from, to, total int) int {
	type finished struct {
		tile int
		*tally
	}
	var next atomic.Int64
	next.Store(int64(from))
	results := make(chan finished, r.o.Workers)
	var wg sync.WaitGroup
	for range min(r.o.Workers, to-from) {
		wg.Go(func() {
			w := r.newTracer()
			for {
				tile := int(next.Add(1)) - 1
				if tile >= to || ctx.Err() != nil {
					return
				}
				t := r.buffers.Get().(*tally)
				t.reset()
				if !w.tile(ctx, tile, t) {
					return
				}
				results <- finished{tile, t}
			}
		})
	}
	go func() {
		wg.Wait()
		close(results)
	}()
	waiting := map[int]*tally{}
	added := from
	for f := range results {
		waiting[f.tile] = f.tally
		for t := waiting[added]; t != nil; t = waiting[added] {
			delete(waiting, added)
			r.sums[added%len(r.groups)].add(t, len(r.bands))
			r.buffers.Put(t)
			added++
			if r.o.Progress != nil {
				r.o.Progress(added, max(total, added))
			}
		}
	}
	return added
}
