package raytrace

import (
	"context"
	"fmt"
	"math"
	"sort"

	"lampwright/internal/light"
)

// Case is a worked case of light in a tank, in one band.
type Case struct {
	ID      string
	Tank    light.Tank
	Plane   light.Plane // the water surface, or the plane asked for where there is no water
	Sources []light.Emitter
	Lumens  []float64 // of each source
	Points  [][2]float64
	Grid    light.Grid // cells whose middles give the extremes; zero means 25 × 20
	Rays    int        // Monte Carlo paths in all; 0 means 4 million
	Seed    uint64
}

// Check reports what makes a case unsolvable, or nil.
func (c *Case) Check() error {
	if err := c.Tank.Check(); err != nil {
		return err
	}
	return c.Tank.CheckEmitters(c.Sources)
}

// CaseResult is the answer to a Case. Figures in lux and lux of plane means; frac holds shares of the lumens emitted.
// Points and patch means come from the wall images, shares up to the substrate from weighted rays, and what the
// substrate sends up from Monte Carlo; StandardErrors names the error of each figure that has one.
type CaseResult struct {
	ID             string             `json:"id"`
	SurfacePoints  []float64          `json:"surface_points"`
	BottomPoints   []float64          `json:"bottom_points"`
	SurfacePatch   []float64          `json:"surface_patch20mm"`
	BottomPatch    []float64          `json:"bottom_patch20mm"`
	SurfaceAvg     float64            `json:"surface_avg"`
	BottomAvg      float64            `json:"bottom_avg"`
	SurfaceMin     float64            `json:"surface_min_cell"`
	SurfaceMax     float64            `json:"surface_max_cell"`
	BottomMin      float64            `json:"bottom_min_cell"`
	BottomMax      float64            `json:"bottom_max_cell"`
	Frac           map[string]float64 `json:"frac"`
	StandardErrors map[string]float64 `json:"standard_errors"`
	MonteCarlo     CaseMonteCarlo     `json:"montecarlo"`
	Compared       []CaseCompared     `json:"compared,omitempty"`
	Notes          []string           `json:"notes,omitempty"`
}

// CaseMonteCarlo is the same from Monte Carlo alone, each figure with its standard error.
type CaseMonteCarlo struct {
	Rays           int64                 `json:"rays"`
	Seed           uint64                `json:"seed"`
	SurfacePatch   []float64             `json:"surface_patch20mm"`
	SurfacePatchSE []float64             `json:"surface_patch_se"`
	BottomPatch    []float64             `json:"bottom_patch20mm"`
	BottomPatchSE  []float64             `json:"bottom_patch_se"`
	SurfaceAvg     [2]float64            `json:"surface_avg"`
	BottomAvg      [2]float64            `json:"bottom_avg"`
	Frac           map[string][2]float64 `json:"frac"`
}

// CaseCompared sets a figure that the file expects beside the computed one.
type CaseCompared struct {
	Key       string  `json:"key"`
	Want      float64 `json:"want"`
	Got       float64 `json:"got"`
	Tolerance float64 `json:"tolerance"`
	Passed    bool    `json:"passed"`
}

// Passed says that every expected figure was met; true if the file expects nothing.
func (r CaseResult) Passed() bool {
	for _, c := range r.Compared {
		if !c.Passed {
			return false
		}
	}
	return true
}

// solvable is a case with its defaults filled in.
type solvable struct {
	Case
	em    []light.Emitter
	tank  light.Tank
	plane light.Plane
	total float64 // lumens
	grid  light.Grid
}

// SolveCase computes a case with both solvers.
func SolveCase(ctx context.Context, c Case) (CaseResult, error) {
	if err := c.Check(); err != nil {
		return CaseResult{}, err
	}
	if c.Grid.NX == 0 && c.Grid.NY == 0 {
		c.Grid = light.Grid{NX: 25, NY: 20}
	}
	if c.Rays == 0 {
		c.Rays = 4_000_000
	}
	grid, err := c.Tank.CompleteGrid(c.Grid)
	if err != nil {
		return CaseResult{}, err
	}
	s := solvable{Case: c, em: c.Sources, tank: c.Tank, plane: c.Plane, grid: grid}
	for _, lm := range c.Lumens {
		s.total += lm
	}
	return s.run(ctx)
}

func (s *solvable) run(ctx context.Context) (CaseResult, error) {
	r := CaseResult{ID: s.ID, Frac: map[string]float64{}, StandardErrors: map[string]float64{}}
	area := s.tank.LengthM * s.tank.WidthM

	// First arrivals, by weighted rays.
	first := map[string]Estimate{}
	add := func(key string, e Estimate, weight float64) {
		old := first[key]
		first[key] = Estimate{old.Value + weight*e.Value, math.Hypot(old.Err, weight*e.Err)}
	}
	rays := max(20_000, 1_000_000/len(s.em))
	back := 0.0 // flux that comes back to the substrate
	solved, err := s.tank.ReturnedLight(ctx, s.em, s.tank.Bands[0])
	if err != nil {
		return r, err
	}
	for i, em := range s.em {
		f, err := FollowFirstPass(ctx, s.tank, em, s.plane.ZM, rays)
		if err != nil {
			return r, err
		}
		share := s.Lumens[i] / s.total
		for key, e := range map[string]Estimate{
			"opening": f.Opening, "surface_incident": f.Plane, "surface_reflected": f.Reflected, "entered_water": f.Entered,
			"substrate_first": f.Substrate, "wet_wall_direct": f.WetWall, "absorbed_direct": f.Water, "glass": f.Glass,
			"dry": f.DryWall, "up": f.Up,
		} {
			add(key, e, share)
		}
		if b := solved[i]; b != nil {
			back += share * b.Flux()
		}
	}
	if s.tank.WaterDepthM == 0 {
		first["entered_water"] = first["surface_incident"]
	}

	if err := s.maps(ctx, &r, solved); err != nil {
		return r, err
	}
	r.SurfaceAvg = s.total * first["surface_incident"].Value / area
	r.BottomAvg = s.total * (first["substrate_first"].Value + back) / area
	r.StandardErrors["surface_avg"] = s.total * first["surface_incident"].Err / area
	r.StandardErrors["bottom_avg"] = s.total * first["substrate_first"].Err / area

	later, err := s.monteCarlo(ctx, &r, area)
	if err != nil {
		return r, err
	}
	put := func(key string, e Estimate) {
		r.Frac[key] = e.Value
		if e.Err > 0 {
			r.StandardErrors["frac."+key] = e.Err
		}
	}
	for _, key := range []string{"opening", "surface_incident", "surface_reflected", "entered_water", "substrate_first", "wet_wall_direct", "absorbed_direct"} {
		put(key, first[key])
	}
	sum := func(a, b Estimate) Estimate { return Estimate{a.Value + b.Value, math.Hypot(a.Err, b.Err)} }
	if s.tank.WaterDepthM > 0 && s.tank.InterreflectionCoarse() && s.tank.Bands[0].SubstrateReflectance > 0 {
		back = later[SubstrateTotal].Value - later[SubstrateFirst].Value
		r.BottomAvg = s.total * (first["substrate_first"].Value + back) / area
		r.Notes = append(r.Notes, "wide for its depth: averages of the light between substrate and surface are of Monte Carlo, points only rough")
	}
	total := first["substrate_first"].Value + back
	put("emitted", Estimate{Value: 1})
	put("spill", Estimate{1 - first["opening"].Value, first["opening"].Err})
	put("dry_wall_direct", Estimate{Value: first["opening"].Value - first["surface_incident"].Value, Err: first["opening"].Err})
	put("substrate_incident_total", Estimate{total, first["substrate_first"].Err})
	put("substrate_absorbed", Estimate{total * (1 - s.tank.Bands[0].SubstrateReflectance), first["substrate_first"].Err})
	put("out_dry_walls", sum(first["dry"], later[OutOfDryWallsLater]))
	put("out_wet_walls", sum(first["wet_wall_direct"], later[OutOfWetWallsLater]))
	put("up_through_rim", sum(first["up"], later[UpLater]))
	put("absorbed_water", sum(first["absorbed_direct"], later[IntoWaterLater]))
	closing := 1.0
	for _, key := range []string{"spill", "substrate_absorbed", "out_dry_walls", "out_wet_walls", "up_through_rim", "absorbed_water"} {
		closing -= r.Frac[key]
	}
	if s.tank.GlassPerM > 0 {
		put("absorbed_glass", Estimate{r.MonteCarlo.Frac["absorbed_glass"][0], r.MonteCarlo.Frac["absorbed_glass"][1]})
		closing -= r.Frac["absorbed_glass"]
	}
	put("lost_glass_edges", Estimate{})
	r.Notes = append(r.Notes,
		"walls after the thin-wall convention: reflection at the inner face, no light inside the panes",
		fmt.Sprintf("shares of spill, substrate, walls, rim, water and glass add up to 1 within %.1g; both solvers enter, so this is their disagreement", math.Abs(closing)))
	return r, nil
}

// maps fills points, patches and cells.
func (s *solvable) maps(ctx context.Context, r *CaseResult, solved []*light.ReturnedLight) error {
	var images []light.Images
	for _, em := range s.em {
		images = append(images, s.tank.Images(em, s.tank.Bands))
	}
	one := make([]float64, 1)
	direct := func(p light.Plane, x, y float64) float64 {
		sum := 0.0
		for i := range images {
			images[i].At(p, x, y, one)
			sum += s.Lumens[i] * one[0]
		}
		return sum
	}
	back := func(x, y float64) float64 {
		sum := 0.0
		for i, b := range solved {
			if b != nil {
				sum += s.Lumens[i] * b.At(x, y, s.tank.SubstrateM)
			}
		}
		return sum
	}
	bottom := s.tank.Substrate()
	for _, p := range s.Points {
		if err := ctx.Err(); err != nil {
			return err
		}
		extra := back(p[0], p[1])
		r.SurfacePoints = append(r.SurfacePoints, direct(s.plane, p[0], p[1]))
		r.BottomPoints = append(r.BottomPoints, direct(bottom, p[0], p[1])+extra)
		above, below, err := s.patch(ctx, images, p)
		if err != nil {
			return err
		}
		r.SurfacePatch = append(r.SurfacePatch, above)
		r.BottomPatch = append(r.BottomPatch, below+extra)
	}
	lowHigh := func(p light.Plane) (low, high float64, err error) {
		m, err := light.WallPoints(ctx, s.tank, s.em, p, s.grid)
		if err != nil {
			return 0, 0, err
		}
		weights := make([][]float64, len(s.em))
		for i := range weights {
			weights[i] = []float64{s.Lumens[i]}
		}
		cells := m.Mix(weights)
		sort.Float64s(cells)
		return cells[0], cells[len(cells)-1], nil
	}
	var err error
	if r.SurfaceMin, r.SurfaceMax, err = lowHigh(s.plane); err != nil {
		return err
	}
	r.BottomMin, r.BottomMax, err = lowHigh(bottom)
	return err
}

// patchGrid is the square of 20 mm about a point, as far as it lies in the tank, in cells.
func (s *solvable) patchGrid(p [2]float64, cells int) light.Grid {
	const half = 0.01
	x, y := s.tank.LengthM/2, s.tank.WidthM/2
	return light.Grid{
		NX: cells, NY: cells,
		X0: max(-x, p[0]-half), X1: min(x, p[0]+half), Y0: max(-y, p[1]-half), Y1: min(y, p[1]+half),
	}
}

// patch returns the means over the square about a point, above and below, without what comes back from the substrate.
func (s *solvable) patch(ctx context.Context, images []light.Images, p [2]float64) (above, below float64, err error) {
	const cells = 4
	for i := range images {
		for _, on := range []struct {
			light.Plane
			to *float64
		}{{s.plane, &above}, {s.tank.Substrate(), &below}} {
			out := [][]float64{make([]float64, cells*cells)}
			if err := images[i].Means(ctx, on.Plane, s.patchGrid(p, cells), 0, cells, true, out); err != nil {
				return 0, 0, err
			}
			for _, v := range out[0] {
				*on.to += s.Lumens[i] * v / (cells * cells)
			}
		}
	}
	return above, below, nil
}

// monteCarlo traces the case and returns the flows, as shares of all lumens.
func (s *solvable) monteCarlo(ctx context.Context, r *CaseResult, area float64) ([FlowCount]Estimate, error) {
	var out [FlowCount]Estimate
	receivers := []Receiver{
		{Region: OnPlane, Plane: s.plane, Grid: light.Grid{NX: 1, NY: 1}}, {Region: OnSubstrate, Grid: light.Grid{NX: 1, NY: 1}},
	}
	for _, p := range s.Points {
		g := s.patchGrid(p, 1)
		receivers = append(receivers, Receiver{Region: OnPlane, Plane: s.plane, Grid: g}, Receiver{Region: OnSubstrate, Grid: g})
	}
	o := Options{Paths: max(20_000, s.Rays/len(s.em)), Tiles: 40, Seed: s.Seed}
	tr, err := Trace(ctx, Scene{Tank: s.tank}, s.em, receivers, o)
	if err != nil {
		return out, err
	}
	mix := func(e func(group int) Estimate, scale float64) Estimate {
		var sum Estimate
		for g := range s.em {
			v := e(g)
			sum = Estimate{sum.Value + s.Lumens[g]*v.Value*scale, math.Hypot(sum.Err, s.Lumens[g]*v.Err*scale)}
		}
		return sum
	}
	for f := range FlowCount {
		out[f] = mix(func(g int) Estimate { return tr.Flows[g][0][f] }, 1/s.total)
	}
	fate := func(f Termination) Estimate {
		return mix(func(g int) Estimate { return tr.Terminations[g][0][f] }, 1/s.total)
	}
	onMap := func(k int) [2]float64 {
		e := mix(func(g int) Estimate { return tr.Maps[k].Mean[g][0] }, 1)
		return [2]float64{e.Value, e.Err}
	}
	m := &r.MonteCarlo
	m.Seed, m.Frac = s.Seed, map[string][2]float64{}
	for _, n := range tr.Paths {
		m.Rays += n
	}
	m.SurfaceAvg, m.BottomAvg = onMap(0), onMap(1)
	for i := range s.Points {
		above, below := onMap(2+2*i), onMap(3+2*i)
		m.SurfacePatch, m.SurfacePatchSE = append(m.SurfacePatch, above[0]), append(m.SurfacePatchSE, above[1])
		m.BottomPatch, m.BottomPatchSE = append(m.BottomPatch, below[0]), append(m.BottomPatchSE, below[1])
	}
	for key, e := range map[string]Estimate{
		"emitted": {Value: 1}, "opening": out[ThroughOpening], "surface_incident": out[OnWater], "entered_water": out[IntoWater],
		"substrate_first": out[SubstrateFirst], "substrate_incident_total": out[SubstrateTotal],
		"substrate_absorbed": fate(ToSubstrate), "out_dry_walls": fate(ToDryWall), "out_wet_walls": fate(ToWetWall),
		"up_through_rim": fate(ToRim), "absorbed_water": fate(ToWater), "spill": fate(ToSpill),
		"absorbed_glass": fate(ToGlass), "lost_glass_edges": fate(ToGlassEdge),
	} {
		m.Frac[key] = [2]float64{e.Value, e.Err}
	}
	if s.tank.WaterDepthM == 0 {
		plane := [2]float64{m.SurfaceAvg[0] * area / s.total, m.SurfaceAvg[1] * area / s.total}
		m.Frac["surface_incident"], m.Frac["entered_water"] = plane, plane
	}
	return out, nil
}
