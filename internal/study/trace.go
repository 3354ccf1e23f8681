// Package study answers questions about a solved lamp: hanging heights, colour mixes, Monte Carlo tracing, warm-up,
// foldback, soldering, photometric files, sections through the light.
//
// In: a figure.Evaluation and the question.
// Out: plain data for each question.
// Assumes: the steady state of the evaluation.
// Leaves to others: pictures (draw) and tables (report, web, cli).
package study

import (
	"context"
	"fmt"
	"math"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/lamp"
	"lampwright/internal/light"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/raytrace"
)

// TraceOptions control TraceLight. The zero value suits a table on a terminal.
type TraceOptions struct {
	GlassInterior bool    // trace light inside the glass, with black edges, instead of mirrors at its inner face
	RelErr        float64 // required standard error of the light at the target, by emitter type; 0 means 0.5 %
	MaxPaths      int     // limit of the paths of each emitter type; 0 means 4 million
	Seed          uint64
	Workers       int                   // 0 means one per core; the result does not depend on it
	Progress      func(done, total int) // may be nil
}

// TracedLight is the Monte Carlo traced light of a lamp.
type TracedLight struct {
	Complete      bool               `json:"complete"` // false where it was stopped, or ended above the required error
	Paths         int64              `json:"paths"`
	Segments      int64              `json:"segments"` // straight pieces of path
	Bands         int                `json:"bands"`
	Seed          uint64             `json:"seed"`
	GlassInterior bool               `json:"thick_panes"`
	Balance       float64            `json:"balance"` // maximum error of an energy balance [1]
	Ledgers       []EnergyBalance    `json:"ledgers"` // one per channel, and last all of them
	Receivers     []TracedReceiver   `json:"receivers"`
	Meters        []TracedMeter      `json:"meters,omitempty"`
	Eye           *TracedEye         `json:"viewer,omitempty"`
	Depth         []DepthPoint       `json:"depth,omitempty"`                    // by the maps
	Agreement     []TracedAgreement  `json:"agreement"`                          // of the maps with the traced light
	Glass         *raytrace.Estimate `json:"thick_against_thin_panes,omitempty"` // effect of glass thickness with black edges on the light at the target [1]
	Left          []string           `json:"left_out"`                           // what the maps do not model here
	Notes         []string           `json:"notes"`
}

// EnergyBalance is the terminations of the light, as fractions of the light after the lenses.
type EnergyBalance struct {
	Channel string        `json:"channel"` // empty for the whole lamp
	Watts   float64       `json:"watts"`   // after the lenses
	Fates   []BalanceLine `json:"fates"`   // their sum is 1
	Flows   []BalanceLine `json:"flows"`   // light through interfaces on the way, counted each time
}

// BalanceLine is one fraction.
type BalanceLine struct {
	Name  string            `json:"name"`
	Share raytrace.Estimate `json:"share"`
}

// TracedReceiver is the light on a plane, glass or a wall.
type TracedReceiver struct {
	Name    string            `json:"name"`
	Share   raytrace.Estimate `json:"share"` // fraction of the lamp's radiant flux, counted each time it arrives
	PPFD    raytrace.Estimate `json:"ppfd"`
	Lux     raytrace.Estimate `json:"lux"`
	MostLux raytrace.Estimate `json:"most_lux"` // maximum over cells
	NX      int               `json:"nx"`
	NY      int               `json:"ny"`
	CellLux []float64         `json:"cell_lux"` // [ny][nx], x fastest
	CellErr []float64         `json:"cell_standard_error"`
}

// TracedMeter is the reading of a small meter.
type TracedMeter struct {
	Name string            `json:"name"`
	PPFD raytrace.Estimate `json:"ppfd"`
	Lux  raytrace.Estimate `json:"lux"`
}

// TracedEye is the lamp as seen by a viewer.
type TracedEye struct {
	Visible     int               `json:"visible"`          // emitters in sight
	Hidden      string            `json:"hidden,omitempty"` // object that hides the first of the others
	DirectLux   float64           `json:"direct_lux"`       // at the eye, facing the lamp
	IndirectLux raytrace.Estimate `json:"indirect_lux"`     // of that, via water, glass and room
	Luminance   float64           `json:"luminance_cd_m2"`  // of the brightest lens in sight
	Brightest   string            `json:"brightest,omitempty"`
}

// TracedAgreement is a value by both methods.
type TracedAgreement struct {
	What    string            `json:"what"`
	Unit    string            `json:"unit"`
	Mapped  float64           `json:"mapped"` // by ray tubes and mirror images
	Traced  raytrace.Estimate `json:"traced"`
	Sigmas  float64           `json:"sigmas"`            // their difference in standard errors
	Because string            `json:"because,omitempty"` // known reason of a difference
}

// tracer is a lamp prepared for TraceLight.
type tracer struct {
	l       *lamp.Lamp
	scene   raytrace.Scene
	sources []light.Emitter
	bands   int
	groupOf []int // by emitter
	groups  []traceGroup
	leaves  []float64 // by emitter [W]
}

// traceGroup is emitters of one channel, part and lens.
type traceGroup struct {
	channel int
	count   int
	watts   float64
	weights engine.BandWeights // of the operating spectrum of its first emitter
}

// TraceLight traces the light of the lamp through the installation with all its objects, at typical ambient.
func TraceLight(ctx context.Context, r *figure.Evaluation, o TraceOptions) (*TracedLight, error) {
	if o.RelErr == 0 {
		o.RelErr = 0.005
	}
	if o.MaxPaths == 0 {
		o.MaxPaths = 4_000_000
	}
	t, err := newTracer(r, o.GlassInterior)
	if err != nil {
		return nil, err
	}
	receivers := t.receivers()
	// The maps first, so that a stopped trace can be compared with them.
	mapped, err := t.mapped(ctx)
	if err != nil {
		return nil, err
	}
	depth, err := Depth(ctx, r)
	if err != nil {
		return nil, err
	}
	// Small rounds first, so that a lamp of many emitter types is not traced longer than required.
	tr, err := raytrace.Trace(ctx, t.scene, t.sources, receivers, raytrace.Options{
		Paths: 50_000, Tiles: 32, RelErr: o.RelErr, MaxPaths: o.MaxPaths, Seed: o.Seed, Workers: o.Workers,
		Groups: t.groupOf, Progress: o.Progress, ExactMeters: true,
	})
	if err != nil {
		return nil, fmt.Errorf("trace the light: %w", err)
	}
	out := &TracedLight{
		Complete: tr.Complete, Segments: tr.Segments, Bands: tr.Bands, Seed: o.Seed,
		GlassInterior: t.scene.GlassInterior, Depth: depth, Left: t.notModelled(),
		Notes: append(engine.WaterNotes(r.Lamp), tr.Notes...),
	}
	for g, n := range tr.Paths {
		out.Paths += n
		for b := range tr.Bands {
			if d := tr.Balance(g, b); math.Abs(d) > math.Abs(out.Balance) {
				out.Balance = d
			}
		}
	}
	for i := range r.Lamp.Channels {
		out.Ledgers = append(out.Ledgers, t.ledger(&tr, i))
	}
	out.Ledgers = append(out.Ledgers, t.ledger(&tr, -1))
	if t.scene.Tank.HeightM > 0 && t.scene.Tank.WaterDepthM > 0 && ctx.Err() == nil {
		// Reported as the uncertainty of thin glass; omitted where it is stopped.
		if g, err := raytrace.GlassInteriorEffect(ctx, t.scene, t.sources,
			raytrace.Options{Paths: 100_000, Seed: o.Seed, Workers: o.Workers, Groups: t.groupOf}); err == nil &&
			ctx.Err() == nil {
			out.Glass = &g
		}
	}
	t.collect(out, &tr)
	if err := t.eye(out, &tr); err != nil {
		return nil, err
	}
	t.agree(out, &tr, mapped)
	return out, nil
}

func newTracer(r *figure.Evaluation, thick bool) (*tracer, error) {
	l := r.Lamp
	p := &l.Design.Installation
	tank, err := engine.TankOf(l)
	if err != nil {
		return nil, err
	}
	t := &tracer{l: l, sources: l.Sources(), leaves: r.Sol.EmittedW}
	at := map[[3]int]int{}
	for i := range l.Emitters {
		e := &l.Emitters[i]
		key := [3]int{e.Channel, e.Type, e.Optic}
		g, ok := at[key]
		if !ok {
			g = len(t.groups)
			at[key] = g
			sp := &r.Sys.Spectra[i]
			t.groups = append(t.groups, traceGroup{
				channel: e.Channel,
				weights: engine.WeightsOf(sp.Unit, sp.UmolJ, sp.LmW, max(len(tank.Bands), 1)),
			})
		}
		t.groupOf = append(t.groupOf, g)
		t.groups[g].count++
		t.groups[g].watts += t.leaves[i]
	}
	from, to := litBands(t.groups)
	if len(tank.Bands) > 0 {
		tank.Bands = tank.Bands[from:to]
	}
	t.bands = max(len(tank.Bands), 1)
	if tank.WaterDepthM > 0 {
		w, err := engine.WaterOf(l)
		if err != nil {
			return nil, err
		}
		for b := range tank.Bands {
			tank.Bands[b].ScatterPerM = w.ScatterPerM
		}
	}
	for g := range t.groups {
		t.groups[g].weights = t.groups[g].weights.Within(from, to)
	}
	t.scene = raytrace.Scene{
		Tank: tank, SlopeRMS: math.Tan(p.SurfaceSlopeRMS.SI), GlassInterior: thick,
		Room: roomAround(l),
	}
	if p.Shade != nil {
		t.scene.Objects = shadePlates(l)
	}
	return t, nil
}

// litBands returns the bands that contain all but 0.01 % of every group's light.
func litBands(groups []traceGroup) (from, to int) {
	from, to = len(groups[0].weights.Share), 0
	for _, g := range groups {
		for b, s := range g.weights.Share {
			if s > 5e-5 {
				from, to = min(from, b), max(to, b+1)
			}
		}
	}
	return from, to
}

// roomAround returns the room of the design, or nil.
func roomAround(l *lamp.Lamp) *raytrace.Room {
	p := &l.Design.Installation
	s := p.Room
	if s == nil {
		return nil
	}
	of := func(set bool, given, usual float64) float64 {
		if set {
			return given
		}
		return usual
	}
	// The bottom of a tank has the thickness of its glass.
	floor := -s.HeightAboveFloor.SI - p.Glass.SI
	return &raytrace.Room{
		X0: -s.Length.SI/2 - s.At.X.SI, X1: s.Length.SI/2 - s.At.X.SI, Y0: -s.Width.SI/2 - s.At.Y.SI,
		Y1:     s.Width.SI/2 - s.At.Y.SI,
		FloorM: floor, CeilingM: floor + s.Height.SI,
		// Rule of thumb (no source): a wooden floor, painted walls, a white ceiling.
		OfFloor:   of(s.FloorReflectance.Set, s.FloorReflectance.SI, 0.2),
		OfWalls:   of(s.WallReflectance.Set, s.WallReflectance.SI, 0.5),
		OfCeiling: of(s.CeilingReflectance.Set, s.CeilingReflectance.SI, 0.7),
	}
}

// shadePlates returns the plates of the shade around the lamp.
func shadePlates(l *lamp.Lamp) []raytrace.Plate {
	s := l.Design.Installation.Shade
	off := l.Design.Installation.Offset
	above, rho := 0.02, 0.05
	if s.Above.Set {
		above = s.Above.SI
	}
	if s.Reflectance.Set {
		rho = s.Reflectance.SI
	}
	x, y, z := s.Length.SI/2, s.Width.SI/2, l.LensLevelM()-s.Below.SI
	tall := [3]float64{0, 0, s.Below.SI + above}
	plate := func(name string, sx, sy float64, along [3]float64) raytrace.Plate {
		return raytrace.Plate{
			Name: name, Corner: [3]float64{off.X.SI + sx*x, off.Y.SI + sy*y, z}, EdgeA: along,
			EdgeB: tall, Reflectance: rho,
		}
	}
	return []raytrace.Plate{
		plate("shade, front", -1, -1, [3]float64{2 * x, 0, 0}), plate("shade, back", -1, 1, [3]float64{2 * x, 0, 0}),
		plate("shade, left", -1, -1, [3]float64{0, 2 * y, 0}), plate("shade, right", 1, -1, [3]float64{0, 2 * y, 0}),
	}
}

// traceCellM is the approximate edge of a cell; the maps of the figures are finer.
const traceCellM = 0.05

func coarseCells(lengthM float64) int {
	return max(4, min(24, int(math.Ceil(lengthM/traceCellM-1e-9))))
}

func (t *tracer) targetGrid() light.Grid {
	return light.Grid{NX: coarseCells(t.scene.Tank.LengthM), NY: coarseCells(t.scene.Tank.WidthM)}
}

func (t *tracer) receivers() []raytrace.Receiver {
	p := &t.l.Design.Installation
	tank := t.scene.Tank
	out := []raytrace.Receiver{{Name: t.l.TargetName(), Region: raytrace.OnSubstrate, Grid: t.targetGrid()}}
	if tank.WaterDepthM > 0 {
		out = append(out, raytrace.Receiver{
			Name: "water surface", Region: raytrace.OnPlane, Plane: tank.Surface(),
			Grid: t.targetGrid(),
		})
	}
	sides := []struct {
		side   raytrace.Side
		name   string
		length float64
	}{
		{raytrace.Front, "front", tank.LengthM},
		{raytrace.Back, "back", tank.LengthM},
		{raytrace.Left, "left", tank.WidthM},
		{raytrace.Right, "right", tank.WidthM},
	}
	if p.Kind.S == project.Tank {
		for _, s := range sides {
			out = append(out, raytrace.Receiver{
				Name: "outside of the " + s.name + " glass", Region: raytrace.OnPane,
				Side: s.side, Grid: light.Grid{NX: coarseCells(s.length), NY: coarseCells(tank.HeightM)},
			})
		}
	}
	if t.scene.Room != nil {
		out = append(out, raytrace.Receiver{
			Name: "room floor", Region: raytrace.OnFloor,
			Grid: light.Grid{NX: 12, NY: 12},
		})
		for _, s := range sides {
			out = append(out, raytrace.Receiver{
				Name: "room, " + s.name + " wall", Region: raytrace.OnRoomWall,
				Side: s.side, Grid: light.Grid{NX: 12, NY: 8},
			})
		}
	}
	for _, m := range p.Meters {
		facing := map[project.Facing][3]float64{
			"": {0, 0, 1}, project.FacingUp: {0, 0, 1},
			project.FacingDown: {0, 0, -1}, project.FacingFront: {0, -1, 0}, project.FacingBack: {0, 1, 0},
			project.FacingLeft: {-1, 0, 0}, project.FacingRight: {1, 0, 0},
		}[m.Facing.S]
		out = append(out, raytrace.Receiver{
			Name: m.Name.S, Region: raytrace.OnMeter,
			At: [3]float64{m.At.X.SI, m.At.Y.SI, m.Height.SI}, Facing: facing, Radius: meterRadiusM,
		})
	}
	if p.Viewer != nil {
		eye, facing := t.eyeAt()
		out = append(out, raytrace.Receiver{
			Name: "viewer", Region: raytrace.OnMeter, At: eye, Facing: facing,
			Radius: eyeRadiusM,
		})
	}
	return out
}

// Radii of a meter's diffuser and, for indirect light at the eye, of a head: larger means less noise.
const (
	meterRadiusM = 0.01
	eyeRadiusM   = 0.08
)

// eyeAt returns the viewer's eye and the direction towards the centre of the lamp.
func (t *tracer) eyeAt() (eye, facing [3]float64) {
	e := t.l.Design.Installation.Viewer
	off := t.l.Design.Installation.Offset
	eye = [3]float64{e.At.X.SI, e.At.Y.SI, e.Height.SI}
	return eye, [3]float64{off.X.SI - eye[0], off.Y.SI - eye[1], t.l.LensLevelM() - eye[2]}
}

// sum adds estimates of all groups: errors of the bands of a group are correlated and add linearly; those of groups are
// independent and add in quadrature.
func (t *tracer) sum(channel int, weight func(g, b int) float64,
	of func(g, b int) raytrace.Estimate,
) raytrace.Estimate {
	value, square := 0.0, 0.0
	for g := range t.groups {
		if channel >= 0 && t.groups[g].channel != channel {
			continue
		}
		err := 0.0
		for b := range t.bands {
			w := weight(g, b)
			e := of(g, b)
			value += w * e.Value
			err += w * e.Err
		}
		square += err * err
	}
	return raytrace.Estimate{Value: value, Err: math.Sqrt(square)}
}

func (t *tracer) wattsIn(g, b int) float64 { return t.groups[g].watts * t.groups[g].weights.Share[b] }

func (t *tracer) umolIn(g, b int) float64 { return t.groups[g].watts * t.groups[g].weights.UmolJ[b] }

func (t *tracer) lmIn(g, b int) float64 { return t.groups[g].watts * t.groups[g].weights.LmW[b] }

// watts returns the light of a channel after its lenses, or of all for -1.
func (t *tracer) watts(channel int) (sum float64) {
	for g := range t.groups {
		if channel < 0 || t.groups[g].channel == channel {
			sum += t.groups[g].watts
		}
	}
	return sum
}

// Share returns the fraction of that name; 0 where there is none.
func (e EnergyBalance) Share(name string) raytrace.Estimate {
	for _, f := range append(e.Fates, e.Flows...) {
		if f.Name == name {
			return f.Share
		}
	}
	return raytrace.Estimate{}
}

func (t *tracer) ledger(tr *raytrace.Result, channel int) EnergyBalance {
	out := EnergyBalance{Watts: t.watts(channel)}
	if channel >= 0 {
		out.Channel = t.l.Channels[channel].Name
	}
	if out.Watts <= 0 {
		return out
	}
	scaled := func(of func(g, b int) raytrace.Estimate) raytrace.Estimate {
		e := t.sum(channel, t.wattsIn, of)
		return raytrace.Estimate{Value: e.Value / out.Watts, Err: e.Err / out.Watts}
	}
	for f := range tr.Terminations[0][0] {
		e := scaled(func(g, b int) raytrace.Estimate { return tr.Terminations[g][b][f] })
		if e.Value != 0 {
			out.Fates = append(out.Fates, BalanceLine{raytrace.Termination(f).String(), e})
		}
	}
	for f := range tr.Flows[0][0] {
		e := scaled(func(g, b int) raytrace.Estimate { return tr.Flows[g][b][f] })
		if e.Value != 0 {
			out.Flows = append(out.Flows, BalanceLine{raytrace.Flow(f).String(), e})
		}
	}
	return out
}

// cell returns an estimate of one cell of a traced map; direct takes only the light directly from the lens.
func cell(m *raytrace.Map, g, b, c int, direct bool) raytrace.Estimate {
	i := (g*m.Response.Bands+b)*m.Response.Cells() + c
	if direct {
		return raytrace.Estimate{Value: m.Direct[i], Err: m.DirectErr[i]}
	}
	return raytrace.Estimate{Value: m.Response.Data[i], Err: m.Err[i]}
}

func (t *tracer) collect(out *TracedLight, tr *raytrace.Result) {
	all := t.watts(-1)
	for k := range tr.Maps {
		m := &tr.Maps[k]
		mean := func(weight func(g, b int) float64) raytrace.Estimate {
			return t.sum(-1, weight, func(g, b int) raytrace.Estimate { return m.Mean[g][b] })
		}
		if m.Receiver.Region == raytrace.OnMeter {
			if k < len(tr.Maps)-1 || t.l.Design.Installation.Viewer == nil {
				out.Meters = append(out.Meters,
					TracedMeter{Name: m.Receiver.Name, PPFD: mean(t.umolIn), Lux: mean(t.lmIn)})
			}
			continue
		}
		g := m.Receiver.Grid
		one := TracedReceiver{Name: m.Receiver.Name, PPFD: mean(t.umolIn), Lux: mean(t.lmIn), NX: g.NX, NY: g.NY}
		if all > 0 {
			w := mean(t.wattsIn)
			area := g.CellArea() * float64(g.NX*g.NY) / all
			if p := m.Receiver.Plane; m.Receiver.Region == raytrace.OnSubstrate ||
				m.Receiver.Region == raytrace.OnPlane {
				area *= math.Sqrt(1 + p.SlopeX*p.SlopeX + p.SlopeY*p.SlopeY)
			}
			one.Share = raytrace.Estimate{Value: w.Value * area, Err: w.Err * area}
		}
		for c := range g.NX * g.NY {
			e := t.sum(-1, t.lmIn, func(g, b int) raytrace.Estimate { return cell(m, g, b, c, false) })
			one.CellLux, one.CellErr = append(one.CellLux, e.Value), append(one.CellErr, e.Err)
			if e.Value > one.MostLux.Value {
				one.MostLux = e
			}
		}
		out.Receivers = append(out.Receivers, one)
	}
}

// eye computes illuminance and luminance of every lens from the viewer's position.
func (t *tracer) eye(out *TracedLight, tr *raytrace.Result) error {
	if t.l.Design.Installation.Viewer == nil {
		return nil
	}
	eye, facing := t.eyeAt()
	size := math.Sqrt(facing[0]*facing[0] + facing[1]*facing[1] + facing[2]*facing[2])
	v := &TracedEye{}
	for i, e := range t.sources {
		g, err := raytrace.LuminanceFrom(t.scene, e, e.LensDiameterM, eye)
		if err != nil {
			return fmt.Errorf("luminance of emitter %s: %w", e.Name, err)
		}
		if !g.Visible {
			if v.Hidden == "" {
				v.Hidden = g.Hidden
			}
			continue
		}
		lm := 0.0
		for _, w := range t.groups[t.groupOf[i]].weights.LmW {
			lm += t.leaves[i] * w
		}
		v.Visible++
		d := [3]float64{e.XM - eye[0], e.YM - eye[1], e.ZM - eye[2]}
		cos := (d[0]*facing[0] + d[1]*facing[1] + d[2]*facing[2]) / size / math.Sqrt(d[0]*d[0]+d[1]*d[1]+d[2]*d[2])
		v.DirectLux += lm * g.Illuminance * math.Max(0, cos)
		if l := lm * g.Luminance; l > v.Luminance {
			v.Luminance, v.Brightest = l, e.Name
		}
	}
	m := &tr.Maps[len(tr.Maps)-1]
	v.IndirectLux = t.sum(-1, t.lmIn, func(g, b int) raytrace.Estimate {
		whole, direct := cell(m, g, b, 0, false), cell(m, g, b, 0, true)
		return raytrace.Estimate{
			Value: whole.Value - direct.Value,
			Err:   math.Sqrt(math.Max(0, whole.Err*whole.Err-direct.Err*direct.Err)),
		}
	})
	out.Eye = v
	return nil
}

// notModelled lists what maps by ray tubes and mirror images do not model of this trace.
func (t *tracer) notModelled() []string {
	out := t.l.NotModelled()
	if t.scene.GlassInterior && t.scene.Tank.HeightM > 0 {
		out = append(out, "light inside the glass")
	}
	if t.scene.Tank.HeightM > 0 && t.scene.Room != nil {
		out = append(out, "light reflected by the room into the tank")
	}
	return out
}

// mappedLight is the light by ray tubes and mirror images for the same bands and emitters.
type mappedLight struct {
	direct, all map[string][]float64 // by plane: PPFD of the coarse cells
	spill       float64
}

// finer is the number of map cells per side of a traced cell.
const finer = 2

func (t *tracer) mapped(ctx context.Context) (*mappedLight, error) {
	tank := t.scene.Tank
	tank.Bands = append([]light.Band(nil), tank.Bands...)
	for b := range tank.Bands {
		tank.Bands[b].ScatterPerM *= 1 - light.ForwardScattering
	}
	weights := make([][]float64, len(t.sources))
	for i, g := range t.groupOf {
		for b := range t.bands {
			weights[i] = append(weights[i], t.umolIn(g, b)/float64(t.groups[g].count))
		}
	}
	grid := t.targetGrid()
	fine := light.Grid{NX: grid.NX * finer, NY: grid.NY * finer}
	out := &mappedLight{direct: map[string][]float64{}, all: map[string][]float64{}}
	planes := map[string]light.Plane{t.l.TargetName(): tank.Substrate()}
	if tank.WaterDepthM > 0 {
		planes["water surface"] = tank.Surface()
	}
	for name, plane := range planes {
		for _, by := range []struct {
			solve light.Solver
			to    map[string][]float64
		}{{light.DirectMeans, out.direct}, {light.WallMap, out.all}} {
			r, err := by.solve(ctx, tank, t.sources, plane, fine)
			if err != nil {
				return nil, fmt.Errorf("light on the %s: %w", name, err)
			}
			cells := make([]float64, grid.NX*grid.NY)
			for i, v := range r.Mix(weights) {
				cells[i/fine.NX/finer*grid.NX+i%fine.NX/finer] += v / (finer * finer)
			}
			by.to[name] = cells
		}
	}
	all := 0.0
	for i, e := range t.sources {
		s, err := light.DirectFractions(tank, e)
		if err != nil {
			return nil, fmt.Errorf("fractions of the light of emitter %s: %w", e.Name, err)
		}
		g := &t.groups[t.groupOf[i]]
		out.spill += g.watts / float64(g.count) * s.Spill
		all += g.watts / float64(g.count)
	}
	if all > 0 {
		out.spill /= all
	}
	return out, nil
}

// directFlow is the flow of direct light on a receiver of a region.
func directFlow(region raytrace.Region) raytrace.Flow {
	if region == raytrace.OnPlane {
		return raytrace.OnWaterDirect
	}
	return raytrace.SubstrateDirect
}

// shadeReason returns a reason of a difference that only a shade causes.
func (t *tracer) shadeReason(because string) string {
	if t.l.Design.Installation.Shade == nil {
		return ""
	}
	return because
}

// agree compares the traced light with the maps: means, and the centre cells of the four quarters.
func (t *tracer) agree(out *TracedLight, tr *raytrace.Result, m *mappedLight) {
	because := ""
	if len(out.Left) > 0 {
		because = "not modelled by the maps"
	}
	add := func(what, unit string, mapped float64, e raytrace.Estimate, why string) {
		a := TracedAgreement{What: what, Unit: unit, Mapped: mapped, Traced: e, Because: why}
		if e.Err > 0 {
			a.Sigmas = (mapped - e.Value) / e.Err
		}
		out.Agreement = append(out.Agreement, a)
	}
	unit := quantity.PPFD.Stored()
	for k := range tr.Maps {
		r := &tr.Maps[k]
		name := r.Receiver.Name
		if _, ok := m.all[name]; !ok || r.Receiver.Region == raytrace.OnMeter {
			continue
		}
		mean := func(v []float64) (sum float64) {
			for _, x := range v {
				sum += x / float64(len(v))
			}
			return sum
		}
		grid := r.Receiver.Grid
		whole := grid.NX * grid.NY
		flow := directFlow(r.Receiver.Region)
		area := grid.CellArea() * float64(whole)
		if p := r.Receiver.Plane; p.SlopeX != 0 || p.SlopeY != 0 {
			area *= math.Sqrt(1 + p.SlopeX*p.SlopeX + p.SlopeY*p.SlopeY)
		}
		direct := t.sum(-1, t.umolIn, func(g, b int) raytrace.Estimate {
			e := tr.Flows[g][b][flow]
			return raytrace.Estimate{Value: e.Value / area, Err: e.Err / area}
		})
		if t.scene.SlopeRMS == 0 && t.l.Design.Installation.BlackDiscRange.SI == 0 {
			add(name+", direct, mean", unit, mean(m.direct[name]), direct, t.shadeReason(because))
		}
		add(name+", all, mean", unit, mean(m.all[name]),
			t.sum(-1, t.umolIn, func(g, b int) raytrace.Estimate { return r.Mean[g][b] }), because)
		for q, where := range []string{"front left", "front right", "back left", "back right"} {
			c := (grid.NY*(1+2*(q/2))/4)*grid.NX + grid.NX*(1+2*(q%2))/4
			add(name+", all, cell "+where, unit, m.all[name][c],
				t.sum(-1, t.umolIn, func(g, b int) raytrace.Estimate { return cell(r, g, b, c, false) }), because)
		}
	}
	spill := out.Ledgers[len(out.Ledgers)-1].Share(raytrace.BesideOpening.String())
	if t.scene.Tank.HeightM > 0 {
		add("spill light", "1", m.spill, spill, t.shadeReason(because))
	}
}
