package light

import (
	"context"
	"errors"
	"fmt"
	"math"
	"reflect"
	"runtime"
	"sync"
	"sync/atomic"
)

// Scene is a tank with what stands around it.
type Scene struct {
	Tank    Tank
	Ripple  float64 // root mean square slope of the water surface; 0 means flat
	Mean    float64 // mean cosine of scattering in water; 0 means ForwardScattering
	Thick   bool    // follow light inside the panes, with dead edges, instead of the thin-wall convention
	Room    *Room   // nil: what leaves the tank or misses it is gone
	Objects []Plate // hood, shade, shelf
}

// ForwardScattering is the mean cosine of the angle by which particles in natural waters turn light aside [1].
// Source: Petzold1972, turbid harbour.
const ForwardScattering = 0.924

// Room is the box around the tank, matt inside. Levels count from the inside bottom of the tank.
type Room struct {
	X0, X1, Y0, Y1              float64 // walls [m]
	FloorM, CeilingM            float64 // [m]
	OfFloor, OfWalls, OfCeiling float64 // reflectances [1]
}

// Plate is an opaque parallelogram, matt on both sides.
type Plate struct {
	Name           string
	Corner         [3]float64 // [m]
	EdgeA, EdgeB   [3]float64 // from the corner [m]
	Reflectance    float64
	normal         [3]float64
	aa, ab, bb, dt float64
}

// Place says where a Receiver lies.
type Place int

// The places of receivers.
const (
	OnPlane     Place = iota // a Plane inside the tank, or over the bench: light from above
	OnSubstrate              // the substrate, all orders
	OnPane                   // the outside of a pane: light that leaves; Side says which
	OnFloor                  // the floor of the room
	OnRoomWall               // a wall of the room; Side says which
	OnMeter                  // a flat disk anywhere: a cosine-corrected meter
)

// Side names a pane or a wall by the axis it stands across.
type Side int

// The sides.
const (
	Left  Side = iota // −x
	Right             // +x
	Front             // −y
	Back              // +y
)

// Receiver collects light. Grids of panes and room walls run along the wall and up; the zero rectangle is all of it.
type Receiver struct {
	Name   string
	Place  Place
	Plane  Plane // OnPlane
	Side   Side  // OnPane, OnRoomWall
	Grid   Grid  // not for OnMeter
	At     [3]float64
	Facing [3]float64 // OnMeter: where its front looks
	Radius float64    // OnMeter [m]
}

// Fate is where light ends.
type Fate int

// The fates. With a Room, light that passes panes or rim goes on to end elsewhere.
const (
	ToSpill     Fate = iota // missed the opening and is gone
	ToRim                   // left upwards through the rim
	ToDryWall               // left through (or ended at) walls above the water line
	ToWetWall               // the same below the water line
	ToWater                 // absorbed by water
	ToGlass                 // absorbed in panes
	ToGlassEdge             // ran out of sight inside a thick pane
	ToSubstrate             // absorbed by the substrate
	ToObject                // absorbed by plates
	ToFloor                 // absorbed by the floor of the room
	ToRoomWall              // by its walls
	ToCeiling               // by its ceiling
	ToOutside               // by the tank's underside and plinth
	Unsettled               // left over by the roulette that ends faint paths: zero on average
	fates
)

var fateNames = [fates]string{
	"spill", "up through the rim", "dry walls", "wet walls", "water", "glass", "glass edges", "substrate", "objects",
	"floor", "room walls", "ceiling", "outside of the tank", "unsettled",
}

func (f Fate) String() string { return fateNames[f] }

// Flow is light that passes a place, counted each time.
type Flow int

// The flows.
const (
	ThroughOpening     Flow = iota // down through the rim
	OnWater                        // meets the water surface from above (the target, where there is no water)
	IntoWater                      // enters the water
	SubstrateDirect                // meets the substrate straight from the lens
	SubstrateFirst                 // meets it for the first time
	SubstrateTotal                 // meets it, all orders
	UpThroughRim                   // leaves the tank upwards
	OutOfDryWalls                  // passes (or ends at) walls above the water line
	OutOfWetWalls                  // the same below the water line
	BesideOpening                  // lamp light that misses the opening
	OnWaterDirect                  // meets the surface straight from the lens
	UpLater                        // of UpThroughRim, what the substrate has sent up
	OutOfDryWallsLater             // of OutOfDryWalls, likewise
	OutOfWetWallsLater             // of OutOfWetWalls, likewise
	IntoWaterLater                 // absorbed by water after the substrate was met
	flows
)

var flowNames = [flows]string{
	"through the opening", "on the water", "into the water", "substrate, direct", "substrate, first arrival",
	"substrate, all orders", "up through the rim", "out of dry walls", "out of wet walls", "beside the opening",
	"on the water, direct", "up through the rim, after the substrate", "out of dry walls, after the substrate",
	"out of wet walls, after the substrate", "absorbed by water, after the substrate",
}

func (f Flow) String() string { return flowNames[f] }

// Estimate is a figure with its standard error.
type Estimate struct {
	Value float64 `json:"value"`
	Err   float64 `json:"standard_error"`
}

// TraceOptions steer a run. The zero value traces 200 000 paths a group.
type TraceOptions struct {
	Paths    int     // paths a group, rounded up to whole tiles; 0 means 200 000
	Tiles    int     // tiles a group and round, at least 8, from whose spread the errors come; 0 means 32
	RelErr   float64 // if above 0: add rounds until every group's total on the substrate is known to this share, in each band
	MaxPaths int     // bound of those rounds, a group; 0 means 20 million
	Seed     uint64
	Workers  int   // 0 means one a core; the result does not depend on it
	Groups   []int // group of each emitter, from 0; nil means one group each
	// Split replaces the traced direct light on planes and substrate by the exact one, which leaves only the reflected
	// light noisy. It is ignored where the direct light is not simple (ripples, scattering, objects, a thick rim).
	Split    bool
	Progress func(done, total int) // in tiles
}

// TracedMap is one Receiver's irradiance per watt of each group, with standard errors.
type TracedMap struct {
	Receiver  Receiver
	Response  Response  // Emitters counts groups
	Err       []float64 // standard error of each value of Response.Data
	Direct    []float64 // of it, the light straight from the lens, as traced
	DirectErr []float64
	Mean      [][]Estimate // [group][band], over the whole grid
}

// Trace is the result of TraceLight.
type Trace struct {
	Groups, Bands int
	Paths         []int64 // of each group
	Segments      int64   // straight pieces of path
	Maps          []TracedMap
	Fates         [][][fates]Estimate // [group][band]
	Flows         [][][flows]Estimate // [group][band]
	Complete      bool                // false if stopped before the wanted paths or error
	Notes         []string
}

// Balance returns the sum of all fates of a group in a band less 1: how well the ledger closes [1].
func (t Trace) Balance(group, band int) float64 {
	sum := -1.0
	for _, f := range t.Fates[group][band] {
		sum += f.Value
	}
	return sum
}

const (
	maxBands    = 64
	maxSegments = 10000 // of one path
	maxValues   = 25e6  // of one receiver, over cells, bands and groups
	faint       = 0.05  // weight below which the roulette plays
)

// TraceLight follows light by Monte Carlo through the whole scene and returns maps and the ledger per watt of each group
// of emitters, the emitters of a group shining alike.
//
// Surfaces are hit one at a time, and reflection or passage is drawn; all bands travel together, each with its own
// weight. Panes reflect as Slab says, per polarisation (or, Thick, face by face). Directions are drawn evenly spread
// (a shifted lattice in each tile). Each tile has its own stream of random numbers, and tiles are added in order: the
// same seed gives the same result on any number of cores. Standard errors come from the spread between tiles.
// When ctx ends, what is done so far is returned with Complete false, or the context's error if that is nothing.
// Dispersion is left out: the tank's one index serves all bands (averages change by less than 0.1 %).
// Source: analogue Monte Carlo with implicit capture, LuxKoblinger1991.
func TraceLight(ctx context.Context, s Scene, emitters []Emitter, receivers []Receiver, o TraceOptions) (Trace, error) {
	r, err := newRun(s, emitters, receivers, o)
	if err != nil {
		return Trace{}, err
	}
	return r.all(ctx)
}

// run is one prepared call of TraceLight.
type run struct {
	Scene
	emitters  []Emitter
	frames    []frame
	samplers  []*sampler
	groups    [][]int // emitters of each group
	receivers []Receiver
	o         TraceOptions
	bands     []Band
	tilePaths int
	scatter   float64
	notes     []string

	buffers sync.Pool
	sums    []*sums // one a group
}

// tally is what one tile collects.
type tally struct {
	cells    [][2][]float64 // [receiver][direct, reflected][cell·bands + band]
	fate     [fates][]float64
	flow     [flows][]float64
	segments int64
	paths    int
}

// sums adds up tiles of a group.
type sums struct {
	tiles       int
	segments    int64
	paths       int64
	cell, cell2 [][2][]float64
	all, all2   [][]float64 // [receiver]: whole-grid totals, of all light by band and then of the reflected light by band
	fate, fate2 [fates][]float64
	flow, flow2 [flows][]float64
}

func newRun(s Scene, emitters []Emitter, receivers []Receiver, o TraceOptions) (*run, error) {
	t := s.Tank
	if err := t.Check(); err != nil {
		return nil, err
	}
	if err := t.checkEmitters(emitters); err != nil {
		return nil, err
	}
	if len(emitters) == 0 {
		return nil, errors.New("nothing to trace: no emitters")
	}
	if o.Paths < 0 || o.MaxPaths < 0 || o.Tiles < 0 || !(o.RelErr >= 0) {
		return nil, errors.New("trace options must not be negative")
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
	s.Tank = t.WithDefaults()
	r := &run{Scene: s, emitters: emitters, o: o, bands: s.Tank.Bands}
	if len(r.bands) > maxBands {
		return nil, fmt.Errorf("%d bands are more than %d", len(r.bands), maxBands)
	}
	if t.bench() {
		if t.SubstrateSlopeX != 0 || t.SubstrateSlopeY != 0 {
			return nil, errors.New("a bench without walls is traced level; give its slope to a receiver plane or to DirectMap")
		}
		r.Tank.HeightM = t.SubstrateM
	}
	if !(s.Ripple >= 0) || s.Ripple > 0.5 {
		return nil, fmt.Errorf("ripple slope %g must lie between 0 and 0.5", s.Ripple)
	}
	if s.Mean == 0 {
		r.Mean = ForwardScattering
	}
	if r.Mean <= -1 || r.Mean >= 1 {
		return nil, fmt.Errorf("mean cosine of scattering %g must lie between -1 and 1", s.Mean)
	}
	if s.Thick && (t.Walls != WallGlass || t.bench()) {
		r.Thick = false
	}
	for _, b := range r.bands {
		r.scatter += b.ScatterPerM / float64(len(r.bands))
	}
	for _, b := range r.bands {
		if math.Abs(b.ScatterPerM-r.scatter) > 1e-9*r.scatter {
			r.notes = append(r.notes, fmt.Sprintf("scattering differs between bands; its mean of %.3g per metre is traced", r.scatter))
			break
		}
	}
	if err := r.checkSurroundings(); err != nil {
		return nil, err
	}
	r.Objects = append([]Plate(nil), r.Objects...)
	for i := range r.Objects {
		if err := r.Objects[i].prepare(); err != nil {
			return nil, err
		}
		if r.Objects[i].reachesInto(&r.Tank) {
			return nil, fmt.Errorf("plate %q reaches into the tank; only plates above the rim or beside the tank are traced", r.Objects[i].Name)
		}
	}
	known := map[Pattern]*sampler{}
	for _, e := range emitters {
		r.frames = append(r.frames, e.Frame())
		if !reflect.TypeOf(e.Pattern).Comparable() {
			r.samplers = append(r.samplers, newSampler(e.Pattern))
			continue
		}
		if known[e.Pattern] == nil { // often the same for many emitters
			known[e.Pattern] = newSampler(e.Pattern)
		}
		r.samplers = append(r.samplers, known[e.Pattern])
	}
	if err := r.group(); err != nil {
		return nil, err
	}
	for i, rec := range receivers {
		if err := r.place(&rec); err != nil {
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

func (r *run) checkSurroundings() error {
	room := r.Room
	if room == nil {
		return nil
	}
	t := &r.Tank
	out := 0.0
	if t.Walls == WallGlass {
		out = t.GlassM
	}
	if room.X0 > -t.LengthM/2-out || room.X1 < t.LengthM/2+out || room.Y0 > -t.WidthM/2-out || room.Y1 < t.WidthM/2+out {
		return errors.New("the room's walls cut into the tank")
	}
	low, _ := t.substrateSpan()
	if room.FloorM > math.Min(0, low) || room.CeilingM <= t.HeightM {
		return fmt.Errorf("the room's floor at %.4g m and ceiling at %.4g m must lie below and above the tank", room.FloorM, room.CeilingM)
	}
	for _, v := range []float64{room.OfFloor, room.OfWalls, room.OfCeiling} {
		if !(v >= 0 && v <= 1) {
			return fmt.Errorf("reflectance %g of the room must lie between 0 and 1", v)
		}
	}
	for _, e := range r.emitters {
		if e.ZM >= room.CeilingM || e.XM <= room.X0 || e.XM >= room.X1 || e.YM <= room.Y0 || e.YM >= room.Y1 {
			return fmt.Errorf("emitter %q lies outside the room", e.Name)
		}
	}
	return nil
}

func (p *Plate) prepare() error {
	a, b := p.EdgeA, p.EdgeB
	p.normal = [3]float64{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
	size := math.Sqrt(dot(p.normal, p.normal))
	if !(size > 0) || !finite(size) || !(p.Reflectance >= 0 && p.Reflectance <= 1) {
		return fmt.Errorf("plate %q needs two edges that span an area and a reflectance between 0 and 1", p.Name)
	}
	for i := range p.normal {
		p.normal[i] /= size
	}
	p.aa, p.ab, p.bb = dot(a, a), dot(a, b), dot(b, b)
	p.dt = p.aa*p.bb - p.ab*p.ab
	return nil
}

// reachesInto says whether one of 21 × 21 points of the plate lies inside the tank.
func (p *Plate) reachesInto(t *Tank) bool {
	for k := range 21 * 21 {
		var q [3]float64
		for i := range q {
			q[i] = p.Corner[i] + p.EdgeA[i]*float64(k%21)/20 + p.EdgeB[i]*float64(k/21)/20
		}
		if math.Abs(q[0]) < t.LengthM/2 && math.Abs(q[1]) < t.WidthM/2 && q[2] > 0 && q[2] < t.HeightM-1e-9 {
			return true
		}
	}
	return false
}

// hit returns the distance to the plate along a ray, or +Inf.
func (p *Plate) hit(at, dir [3]float64) float64 {
	along := dot(dir, p.normal)
	if along == 0 {
		return math.Inf(1)
	}
	rel := [3]float64{p.Corner[0] - at[0], p.Corner[1] - at[1], p.Corner[2] - at[2]}
	t := dot(rel, p.normal) / along
	if t <= 1e-9 {
		return math.Inf(1)
	}
	q := [3]float64{t*dir[0] - rel[0], t*dir[1] - rel[1], t*dir[2] - rel[2]}
	qa, qb := dot(q, p.EdgeA), dot(q, p.EdgeB)
	u, v := (qa*p.bb-qb*p.ab)/p.dt, (qb*p.aa-qa*p.ab)/p.dt
	if u < 0 || u > 1 || v < 0 || v > 1 {
		return math.Inf(1)
	}
	return t
}

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
			return fmt.Errorf("group %d of emitter %d must lie between 0 and %d", g, i+1, len(r.emitters)-1)
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

// place completes a receiver's grid.
func (r *run) place(rec *Receiver) error {
	t := &r.Tank
	side := func(x0, x1, y0, y1, low, high float64) {
		if rec.Grid.X0 != 0 || rec.Grid.X1 != 0 || rec.Grid.Y0 != 0 || rec.Grid.Y1 != 0 {
			return
		}
		if rec.Side == Left || rec.Side == Right {
			x0, x1 = y0, y1
		}
		rec.Grid.X0, rec.Grid.X1, rec.Grid.Y0, rec.Grid.Y1 = x0, x1, low, high
	}
	switch rec.Place {
	case OnPlane:
	case OnSubstrate:
		rec.Plane = t.Substrate()
	case OnPane:
		if t.HeightM == t.SubstrateM && t.WaterDepthM == 0 {
			return errors.New("a bench has no panes")
		}
		side(-t.LengthM/2, t.LengthM/2, -t.WidthM/2, t.WidthM/2, 0, t.HeightM)
	case OnFloor, OnRoomWall:
		if r.Room == nil {
			return errors.New("the scene has no room")
		}
		if rec.Place == OnRoomWall {
			side(r.Room.X0, r.Room.X1, r.Room.Y0, r.Room.Y1, r.Room.FloorM, r.Room.CeilingM)
		} else if rec.Grid.X0 == 0 && rec.Grid.X1 == 0 {
			rec.Grid.X0, rec.Grid.X1, rec.Grid.Y0, rec.Grid.Y1 = r.Room.X0, r.Room.X1, r.Room.Y0, r.Room.Y1
		}
	case OnMeter:
		size := math.Sqrt(dot(rec.Facing, rec.Facing))
		if !(rec.Radius > 0) || !(size > 0) {
			return errors.New("a meter needs a radius and a direction to face")
		}
		for i := range rec.Facing {
			rec.Facing[i] /= size
		}
		rec.Grid = Grid{NX: 1, NY: 1, X0: 0, X1: math.Pi * rec.Radius, Y0: 0, Y1: rec.Radius} // area πr²
		return nil
	default:
		return fmt.Errorf("place %d is not known", rec.Place)
	}
	if rec.Side < Left || rec.Side > Back {
		return fmt.Errorf("side %d is not known", rec.Side)
	}
	g, err := t.grid(rec.Grid)
	rec.Grid = g
	if err == nil && g.NX*g.NY*len(r.bands)*len(r.groups) > maxValues {
		return fmt.Errorf("%d × %d cells, %d bands and %d groups are too many; use a coarser grid", g.NX, g.NY, len(r.bands), len(r.groups))
	}
	return err
}

func (r *run) newTally() *tally {
	n := len(r.bands)
	t := &tally{}
	for _, rec := range r.receivers {
		size := rec.Grid.NX * rec.Grid.NY * n
		t.cells = append(t.cells, [2][]float64{make([]float64, size), make([]float64, size)})
	}
	for i := range t.fate {
		t.fate[i] = make([]float64, n)
	}
	for i := range t.flow {
		t.flow[i] = make([]float64, n)
	}
	return t
}

func (t *tally) reset() {
	for _, c := range t.cells {
		clear(c[0])
		clear(c[1])
	}
	for i := range t.fate {
		clear(t.fate[i])
	}
	for i := range t.flow {
		clear(t.flow[i])
	}
	t.segments, t.paths = 0, 0
}

func (r *run) newSums() *sums {
	n := len(r.bands)
	s := &sums{}
	for _, rec := range r.receivers {
		size := rec.Grid.NX * rec.Grid.NY * n
		s.cell = append(s.cell, [2][]float64{make([]float64, size), make([]float64, size)})
		s.cell2 = append(s.cell2, [2][]float64{make([]float64, size), make([]float64, size)})
		s.all = append(s.all, make([]float64, 2*n))
		s.all2 = append(s.all2, make([]float64, 2*n))
	}
	for i := range s.fate {
		s.fate[i], s.fate2[i] = make([]float64, n), make([]float64, n)
	}
	for i := range s.flow {
		s.flow[i], s.flow2[i] = make([]float64, n), make([]float64, n)
	}
	return s
}

// add puts one tile into the sums of its group; values are per path.
func (s *sums) add(t *tally, bands int) {
	s.tiles++
	s.paths += int64(t.paths)
	per := 1 / float64(t.paths)
	put := func(sum, square, v []float64) {
		for i, x := range v {
			if x != 0 {
				x *= per
				sum[i] += x
				square[i] += x * x
			}
		}
	}
	total := make([]float64, 2*bands)
	for k, c := range t.cells {
		clear(total)
		for part := range c {
			put(s.cell[k][part], s.cell2[k][part], c[part])
			for i, x := range c[part] {
				if x == 0 {
					continue
				}
				b := i % bands
				if total[b] += x; part == 1 {
					total[bands+b] += x
				}
			}
		}
		put(s.all[k], s.all2[k], total)
	}
	for i := range t.fate {
		put(s.fate[i], s.fate2[i], t.fate[i])
	}
	for i := range t.flow {
		put(s.flow[i], s.flow2[i], t.flow[i])
	}
}

// estimate turns sums over n tiles into a mean and its standard error, both times scale.
func estimate(sum, square float64, n int, scale float64) Estimate {
	mean := sum / float64(n)
	e := Estimate{Value: mean * scale}
	if n > 1 {
		e.Err = math.Sqrt(math.Max(0, square/float64(n)-mean*mean)/float64(n-1)) * math.Abs(scale)
	}
	return e
}

// all runs rounds of tiles until the wanted error or number of paths.
func (r *run) all(ctx context.Context) (Trace, error) {
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
		worst := r.worst()
		if worst <= r.o.RelErr {
			break
		}
		if round == maxRounds-1 {
			complete = false
			r.notes = append(r.notes, fmt.Sprintf("stopped at %d paths a group with a standard error of %.2g of the total", r.o.MaxPaths, worst))
			break
		}
		// What is still to do, by the square law, for the progress alone.
		ahead := int(math.Ceil(float64(round+1) * math.Pow(worst/r.o.RelErr, 2)))
		total = perRound * max(round+2, min(maxRounds, ahead))
	}
	for _, s := range r.sums {
		if s.tiles < 2 {
			return Trace{}, fmt.Errorf("stopped before any figure was ready: %w", context.Cause(ctx))
		}
	}
	return r.result(complete), nil
}

// worst returns the largest relative standard error of the substrate's total over groups (band means).
func (r *run) worst() float64 {
	worst := 0.0
	for _, s := range r.sums {
		for b := range r.bands {
			e := estimate(s.flow[SubstrateTotal][b], s.flow2[SubstrateTotal][b], s.tiles, 1)
			if e.Value > 0 {
				worst = math.Max(worst, e.Err/e.Value)
			} else {
				worst = math.Inf(1)
			}
		}
	}
	return worst
}

// round runs tiles [from, to) and returns up to which one they were added, in order.
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
			w := r.newWalker()
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
			r.sums[added%len(r.groups)].segments += t.segments
			r.buffers.Put(t)
			added++
			if r.o.Progress != nil {
				r.o.Progress(added, max(total, added))
			}
		}
	}
	return added
}

func (r *run) result(complete bool) Trace {
	nb := len(r.bands)
	out := Trace{Groups: len(r.groups), Bands: nb, Complete: complete, Notes: r.notes}
	for _, s := range r.sums {
		out.Paths = append(out.Paths, s.paths)
		out.Segments += s.segments
		ledger := make([][fates]Estimate, nb)
		passing := make([][flows]Estimate, nb)
		for b := range nb {
			for f := range fates {
				ledger[b][f] = estimate(s.fate[f][b], s.fate2[f][b], s.tiles, 1)
			}
			for f := range flows {
				passing[b][f] = estimate(s.flow[f][b], s.flow2[f][b], s.tiles, 1)
			}
		}
		out.Fates = append(out.Fates, ledger)
		out.Flows = append(out.Flows, passing)
	}
	for k, rec := range r.receivers {
		out.Maps = append(out.Maps, r.mapOf(k, rec))
	}
	return out
}

// area returns the area of one cell of a receiver [m²].
func (rec *Receiver) area() float64 {
	a := rec.Grid.CellArea()
	if rec.Place == OnPlane || rec.Place == OnSubstrate {
		a *= math.Sqrt(1 + rec.Plane.SlopeX*rec.Plane.SlopeX + rec.Plane.SlopeY*rec.Plane.SlopeY)
	}
	return a
}

func (r *run) mapOf(k int, rec Receiver) TracedMap {
	nb, ng := len(r.bands), len(r.groups)
	m := TracedMap{Receiver: rec, Response: Response{Emitters: ng, Bands: nb, Plane: rec.Plane, Grid: rec.Grid}}
	cells := m.Response.Cells()
	size := ng * nb * cells
	m.Response.Data, m.Err = make([]float64, size), make([]float64, size)
	m.Direct, m.DirectErr = make([]float64, size), make([]float64, size)
	perArea := 1 / rec.area()
	split := r.o.Split && r.splits(rec)
	for g, s := range r.sums {
		var exact []float64
		if split {
			exact = r.exactDirect(rec, g)
		}
		means := make([]Estimate, nb)
		for b := range nb {
			whole := 0.0
			for c := range cells {
				i := (g*nb+b)*cells + c
				d := estimate(s.cell[k][0][c*nb+b], s.cell2[k][0][c*nb+b], s.tiles, perArea)
				q := estimate(s.cell[k][1][c*nb+b], s.cell2[k][1][c*nb+b], s.tiles, perArea)
				m.Direct[i], m.DirectErr[i] = d.Value, d.Err
				if split {
					m.Response.Data[i], m.Err[i] = exact[b*cells+c]+q.Value, q.Err
				} else {
					m.Response.Data[i], m.Err[i] = d.Value+q.Value, math.Hypot(d.Err, q.Err)
				}
				whole += m.Response.Data[i] / float64(cells)
			}
			part := b
			if split {
				part = nb + b
			}
			e := estimate(s.all[k][part], s.all2[k][part], s.tiles, perArea/float64(cells))
			means[b] = Estimate{Value: whole, Err: e.Err}
		}
		m.Mean = append(m.Mean, means)
	}
	return m
}

// splits says whether the direct light of a receiver is what DirectMap computes.
func (r *run) splits(rec Receiver) bool {
	t := &r.Tank
	if rec.Place != OnPlane && rec.Place != OnSubstrate || r.Ripple > 0 || len(r.Objects) > 0 {
		return false
	}
	g := rec.Grid
	return g.X0 >= -t.LengthM/2-1e-12 && g.X1 <= t.LengthM/2+1e-12 && g.Y0 >= -t.WidthM/2-1e-12 && g.Y1 <= t.WidthM/2+1e-12
}

// exactDirect returns the mean direct light of a group in each cell, [band][cell].
func (r *run) exactDirect(rec Receiver, group int) []float64 {
	t := r.Tank
	nb, cells := len(r.bands), rec.Grid.NX*rec.Grid.NY
	t.Bands = append([]Band(nil), r.bands...)
	for b := range t.Bands {
		t.Bands[b].WaterIndex, t.Bands[b].ScatterPerM = 0, r.scatter
	}
	members := r.groups[group]
	out := make([]float64, nb*cells)
	var wg sync.WaitGroup
	each := make([]Response, len(members))
	for i, e := range members {
		each[i] = Response{Emitters: 1, Bands: nb, Plane: rec.Plane, Grid: rec.Grid, Data: make([]float64, nb*cells)}
		wg.Go(func() {
			// Only its context could make this fail, and this one does not end.
			_ = t.AddDirectMeans(context.Background(), &each[i], []Emitter{r.emitters[e]})
		})
	}
	wg.Wait()
	for _, one := range each {
		for i, v := range one.Data {
			out[i] += v / float64(len(members))
		}
	}
	return out
}

// GlassEffect is what panes of real thickness with dead edges change against the thin-wall convention: the relative
// difference of the light that meets the substrate, thick less thin [1], of all groups and bands together.
//
// Real tanks lie between: an edge that is bonded to a bright base or trim returns some of its light. Carry it as the
// uncertainty of the convention.
func GlassEffect(ctx context.Context, s Scene, emitters []Emitter, o TraceOptions) (Estimate, error) {
	o.RelErr, o.Progress = 0, nil
	var total [2]Estimate
	for i, thick := range []bool{false, true} {
		s.Thick = thick
		tr, err := TraceLight(ctx, s, emitters, nil, o)
		if err != nil {
			return Estimate{}, err
		}
		for _, group := range tr.Flows {
			for _, band := range group {
				e := band[SubstrateTotal]
				total[i] = Estimate{total[i].Value + e.Value, math.Hypot(total[i].Err, e.Err)}
			}
		}
	}
	if total[0].Value == 0 {
		return Estimate{}, errors.New("no light meets the substrate")
	}
	return Estimate{
		Value: total[1].Value/total[0].Value - 1,
		Err:   math.Hypot(total[0].Err, total[1].Err) / total[0].Value,
	}, nil
}
