package casefile

import (
	"context"
	"fmt"
	"math"

	"lampwright/internal/light"
	"lampwright/internal/raytrace"
)

// paneInputs are the inputs of the topic "panes": light in a tank whose panes are covered.
type paneInputs struct {
	Tank        coveredTank  `json:"tank"`
	Pattern     *tankPattern `json:"pattern"`
	Sources     []tankSource `json:"sources"`
	Grid        tankGrid     `json:"grid"`
	Maintenance factors      `json:"maintenance"`
	Trace       tankTrace    `json:"trace"`
}

type coveredTank struct {
	tankDimensions
	Panes tankPanes  `json:"panes"`
	Cover *tankCover `json:"cover"`
}

type tankPanes struct {
	Left  *tankPane `json:"x_min"`
	Right *tankPane `json:"x_max"`
	Front *tankPane `json:"y_min"`
	Back  *tankPane `json:"y_max"`
}

type tankPane struct {
	Condition   string   `json:"condition"`
	Reflectance float64  `json:"reflectance"`
	BinderIndex float64  `json:"n_binder"`
	Keep        *float64 `json:"keep"`
}

type tankCover struct {
	ThicknessM float64 `json:"thickness_m"`
	Index      float64 `json:"n"`
	PerM       float64 `json:"absorption_per_m"`
}

// factors are numbers under any name.
type factors map[string]float64

func (f *factors) decode(d *decoder, n *node, path string) {
	if n.kind != object {
		d.problem(n.at, "%s is a JSON %s; it takes an object", path, n.kind)
		return
	}
	*f = factors{}
	for _, m := range n.members {
		var v float64
		d.fill(m.value, &v, path+"."+m.key)
		if m.value.kind == number && !(v > 0 && v <= 1) {
			d.problem(m.value.at, "%s.%s is %g; a factor is above 0 and at most 1", path, m.key, v)
		}
		(*f)[m.key] = v
	}
}

// product returns the product of all factors.
func (f factors) product() float64 {
	p := 1.0
	for _, v := range f {
		p *= v
	}
	return p
}

// backings are the words for the condition of a pane.
var backings = map[string]light.Backing{
	"": light.Air, "clean": light.Air, "contact": light.Contact, "gap": light.Gap, "inside": light.Inside,
}

func (p *tankPane) pane() (light.Pane, error) {
	if p == nil {
		return light.Pane{}, nil
	}
	b, ok := backings[p.Condition]
	if !ok {
		return light.Pane{}, fmt.Errorf("condition %q is not known; use clean, contact, gap or inside", p.Condition)
	}
	out := light.Pane{Backing: b, Reflectance: p.Reflectance, BinderIndex: p.BinderIndex}
	if p.Keep != nil {
		out.Loss = 1 - *p.Keep
	}
	return out, nil
}

// tank returns the tank with its panes and its cover.
func (c *coveredTank) tank() (light.Tank, error) {
	own := tankCase{Tank: c.tankDimensions}
	t := own.tank()
	for s, p := range []struct {
		key  string
		pane *tankPane
	}{
		light.Left: {"x_min", c.Panes.Left}, light.Right: {"x_max", c.Panes.Right},
		light.Front: {"y_min", c.Panes.Front}, light.Back: {"y_max", c.Panes.Back},
	} {
		var err error
		if t.Panes[s], err = p.pane.pane(); err != nil {
			return t, at("tank.panes."+p.key, err)
		}
	}
	if c.Cover != nil {
		t.Cover = light.Cover{ThicknessM: c.Cover.ThicknessM, Index: c.Cover.Index, PerM: c.Cover.PerM}
	}
	if t.GlassM == 0 {
		t.GlassM = thinGlassM
	}
	return t, at("tank", t.Check())
}

// thinGlassM is the thickness of glass that a case does not state: without absorption it has no effect.
const thinGlassM = 0.006

// runPanes returns the light of a tank with covered panes: PPFD by the maps, shares by Monte Carlo.
func runPanes(ctx context.Context, d document, inputs *node) (map[string]any, error) {
	var c paneInputs
	dec := decoder{document: d, guide: topicsGuide}
	dec.fill(inputs, &c, "")
	if err := dec.err(); err != nil {
		return nil, err
	}
	q, err := c.prepare()
	if err != nil {
		return nil, d.placed(inputs, err)
	}
	r, err := q.solve(ctx, q.tank, q.rays)
	if err != nil {
		return nil, d.placed(inputs, err)
	}
	clean := q.tank
	clean.Panes, clean.Cover = [4]light.Pane{}, light.Cover{}
	ref, err := q.solve(ctx, clean, 1)
	if err != nil {
		return nil, d.placed(inputs, err)
	}
	share := func(k raytrace.Termination) float64 { return r.Terminations[k].Value }
	substrate := r.Substrate.Mean * q.tank.LengthM * q.tank.WidthM / q.flux()
	first := r.Flows[raytrace.SubstrateFirst].Value
	out := map[string]any{
		"surface_ppfd_mean":       r.Surface.Mean,
		"substrate_ppfd_mean":     r.Substrate.Mean,
		"substrate_min_over_mean": r.Substrate.MinOverMean,
		"share_spill":             share(raytrace.ToSpill),
		"share_substrate_first":   first,
		"share_substrate_all":     substrate,
		"share_substrate_absorbed": substrate *
			(1 - c.Tank.SubstrateReflectance),
		"share_lost_panes_dry": share(raytrace.ToDryWall),
		"share_lost_panes_wet": share(raytrace.ToWetWall),
		"share_absorbed_water": share(raytrace.ToWater),
		"share_up_and_out":     share(raytrace.ToRim),
		"share_cover_loss":     share(raytrace.ToCover),
		"ratio_to_all_clean":   r.Substrate.Mean / (ref.Substrate.Mean / c.Maintenance.product()),
	}
	return out, nil
}

// paneQuestion is a case of the topic, ready to be solved.
type paneQuestion struct {
	tank     light.Tank
	emitters []light.Emitter
	fluxes   []float64
	grid     light.Grid
	rays     int
	seed     uint64
}

func (q *paneQuestion) flux() (sum float64) {
	for _, f := range q.fluxes {
		sum += f
	}
	return sum
}

func (q *paneQuestion) solve(ctx context.Context, t light.Tank, rays int) (raytrace.TankLight, error) {
	return raytrace.SolveTank(ctx, t, q.emitters, q.fluxes, q.grid, rays, q.seed)
}

// prepare turns the inputs into the terms of package light.
func (c *paneInputs) prepare() (q paneQuestion, err error) {
	if q.tank, err = c.Tank.tank(); err != nil {
		return q, err
	}
	if c.Tank.Walls != "" && c.Tank.Walls != "glass" {
		return q, at("tank.walls", fmt.Errorf("walls %q are not known; panes are of glass", c.Tank.Walls))
	}
	own := tankCase{Tank: c.Tank.tankDimensions, Pattern: c.Pattern, Sources: c.Sources, Grid: c.Grid, Trace: c.Trace}
	if err := own.counts(); err != nil {
		return q, err
	}
	if len(c.Sources) == 0 || len(c.Sources) > maxTankSources {
		return q, at("sources", fmt.Errorf("%d sources; a case needs 1 to %d", len(c.Sources), maxTankSources))
	}
	for i := range c.Sources {
		s := &own.Sources[i]
		where := fmt.Sprintf("sources[%d]", i)
		if s.PPF != 0 && s.Lumens != 0 {
			return q, at(where, fmt.Errorf("source %d has both ppf_umol_s and lumens; give one", i+1))
		}
		s.Lumens += s.PPF
		em, err := own.emitter(i)
		if err != nil {
			return q, at(where, err)
		}
		q.emitters, q.fluxes = append(q.emitters, em), append(q.fluxes, s.Lumens*c.Maintenance.product())
	}
	if err := q.tank.CheckEmitters(q.emitters); err != nil {
		return q, at("sources", err)
	}
	q.grid, q.rays, q.seed = light.Grid{NX: c.Grid.NX, NY: c.Grid.NY}, c.Trace.Rays, c.Trace.Seed
	if q.grid.NX == 0 && q.grid.NY == 0 {
		q.grid = light.Grid{NX: 25, NY: 20}
	}
	if q.rays == 0 {
		q.rays = defaultPaneRays
	}
	if !(q.flux() > 0) || math.IsInf(q.flux(), 0) {
		return q, at("sources", fmt.Errorf("the sources have a flux of %g in all", q.flux()))
	}
	q.grid, err = q.tank.CompleteGrid(q.grid)
	return q, at("grid", err)
}

// defaultPaneRays brings the standard error of a share below 0.0003.
const defaultPaneRays = 3_000_000
