package raytrace

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"reflect"
	"sort"
	"strings"

	"lampwright/internal/intensity"
	"lampwright/internal/light"
)

// caseFile is a worked case of a tank as people exchange it: lengths in metres, one band, thin-wall convention.
// docs/cases-light.md describes every key.
type caseFile struct {
	ID          string        `json:"id"`
	Description string        `json:"description"`
	Tank        caseTank      `json:"tank"`
	Pattern     *casePattern  `json:"pattern"`
	Sources     []caseSource  `json:"sources"`
	Points      [][]float64   `json:"points_xy_m"`
	Grid        caseGrid      `json:"grid"`
	Trace       caseTraceOpts `json:"trace"`
}

// caseWords are said about a part of a case and change nothing.
type caseWords struct {
	Title       json.RawMessage `json:"title"`
	Note        json.RawMessage `json:"note"`
	Notes       json.RawMessage `json:"notes"`
	Comment     json.RawMessage `json:"comment"`
	Description json.RawMessage `json:"description"`
}

type caseTank struct {
	caseWords
	LengthM              float64  `json:"inner_length_m"`
	WidthM               float64  `json:"inner_width_m"`
	HeightM              float64  `json:"height_m"`
	WaterM               float64  `json:"water_depth_m"`
	WaterIndex           float64  `json:"n_water"`
	GlassIndex           float64  `json:"n_glass"`
	GlassM               float64  `json:"glass_thickness_m"`
	GlassPerM            float64  `json:"glass_absorption_per_m"`
	Walls                string   `json:"walls"`
	AbsorptionPerM       float64  `json:"water_absorption_per_m"`
	SubstrateReflectance float64  `json:"substrate_reflectance"`
	PlaneM               *float64 `json:"virtual_plane_z_m"`
}

type casePattern struct {
	caseWords
	Kind      string      `json:"kind"`
	M         *float64    `json:"m"`
	BeamDeg   *float64    `json:"fwhm_deg"`
	ThetaDeg  []float64   `json:"theta_deg"`
	PhiDeg    []float64   `json:"phi_deg"`
	Intensity intensities `json:"intensity"`
	Points    [][]float64 `json:"points"`
}

// intensities reads one row of numbers or several.
type intensities [][]float64

func (v *intensities) UnmarshalJSON(data []byte) error {
	var rows [][]float64
	if err := json.Unmarshal(data, &rows); err == nil {
		*v = rows
		return nil
	}
	var row []float64
	if err := json.Unmarshal(data, &row); err != nil {
		return errors.New("intensity must be a list of numbers, or one list a plane")
	}
	*v = [][]float64{row}
	return nil
}

// UnmarshalJSON takes the names under which people write a table.
func (p *casePattern) UnmarshalJSON(data []byte) error {
	var keys map[string]json.RawMessage
	if err := json.Unmarshal(data, &keys); err != nil {
		return err
	}
	for name, alias := range map[string]string{
		"angles_deg": "theta_deg", "angle_deg": "theta_deg", "thetas_deg": "theta_deg", "theta": "theta_deg",
		"values": "intensity", "intensities": "intensity", "relative": "intensity", "relative_intensity": "intensity",
		"cd": "intensity", "candela": "intensity", "I": "intensity", "i": "intensity",
		"table": "points", "data": "points",
	} {
		if v, ok := keys[name]; ok && keys[alias] == nil {
			keys[alias] = v
			delete(keys, name)
		}
	}
	plain, err := json.Marshal(keys)
	if err != nil {
		return err
	}
	type bare casePattern
	return strict(plain, (*bare)(p))
}

// strict decodes JSON and refuses keys that it does not know: a misspelt one would silently be another question.
func strict(data []byte, to any) error {
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	return d.Decode(to)
}

// caseError says in a case's own words what JSON did not take.
func caseError(err error) error {
	if kind := (*json.UnmarshalTypeError)(nil); errors.As(err, &kind) {
		want := map[reflect.Kind]string{reflect.Float64: "a number", reflect.Int: "a whole number", reflect.Uint64: "a whole number", reflect.String: "text", reflect.Slice: "a list", reflect.Struct: "a mapping"}[kind.Type.Kind()]
		return fmt.Errorf("read case: %s is %s; it takes %s", cmp.Or(kind.Field, "it"), kind.Value, cmp.Or(want, "something else"))
	}
	if key, ok := strings.CutPrefix(err.Error(), "json: unknown field "); ok {
		return fmt.Errorf("read case: the key %s is not known there; docs/cases-light.md lists those that are", key)
	}
	return fmt.Errorf("read case: %w", err)
}

// known takes the keys of a case that it has no use for out of it and names them.
func known(data []byte) (rest []byte, unused []string, err error) {
	var keys map[string]json.RawMessage
	if err := json.Unmarshal(data, &keys); err != nil {
		return nil, nil, err
	}
	use := map[string]bool{}
	for f := range reflect.TypeFor[caseFile]().Fields() {
		use[f.Tag.Get("json")] = true
	}
	for key := range keys {
		if !use[key] {
			unused = append(unused, key)
			delete(keys, key)
		}
	}
	sort.Strings(unused)
	rest, err = json.Marshal(keys)
	return rest, unused, err
}

type caseSource struct {
	caseWords
	X         float64      `json:"x"`
	Y         float64      `json:"y"`
	Z         float64      `json:"z"`
	Lumens    float64      `json:"lumens"`
	TiltDeg   float64      `json:"tilt_deg"`
	TowardDeg float64      `json:"tilt_azimuth_deg"`
	Pattern   *casePattern `json:"pattern"`
}

type caseGrid struct {
	NX int `json:"nx"`
	NY int `json:"ny"`
}

type caseTraceOpts struct {
	Rays int    `json:"rays"`
	Seed uint64 `json:"seed"`
}

// CaseResult is what RunCase found. Figures in lux and lux of plane means; frac holds shares of the lumens emitted.
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

// maxSources bounds the work of a case.
const maxSources = 200

// maxCaseBytes bounds a case file.
const maxCaseBytes = 1 << 20

// wrapped is a case with what is expected of it.
type wrapped struct {
	Case     json.RawMessage `json:"case"`
	Expected json.RawMessage `json:"expected"`
}

// IsCase says whether JSON text looks like a tank case, alone, as the value of "case", or as a list of such.
func IsCase(data []byte) bool {
	if len(data) > maxCaseBytes {
		return false
	}
	var list []json.RawMessage
	if json.Unmarshal(data, &list) == nil {
		return len(list) > 0 && IsCase(list[0])
	}
	var keys map[string]json.RawMessage
	if json.Unmarshal(data, &keys) != nil {
		return false
	}
	if inner, ok := keys["case"]; ok {
		return IsCase(inner)
	}
	return keys["tank"] != nil && keys["sources"] != nil
}

// RunCase computes a tank case and returns a CaseResult, or a list of them for a list of cases; both marshal to JSON.
func RunCase(ctx context.Context, data []byte) (any, error) {
	if len(data) > maxCaseBytes {
		return nil, fmt.Errorf("case file of %d bytes is larger than 1 MB", len(data))
	}
	if trimmed := bytes.TrimSpace(data); len(trimmed) > 0 && trimmed[0] == '[' {
		var list []json.RawMessage
		if err := json.Unmarshal(data, &list); err != nil {
			return nil, fmt.Errorf("read case: %w", err)
		}
		var out []CaseResult
		for i, one := range list {
			r, err := runOne(ctx, one)
			if err != nil {
				return nil, fmt.Errorf("case %d: %w", i+1, err)
			}
			out = append(out, r)
		}
		return out, nil
	}
	r, err := runOne(ctx, data)
	if err != nil {
		return nil, err
	}
	return r, nil
}

func runOne(ctx context.Context, data []byte) (CaseResult, error) {
	var outer wrapped
	if err := json.Unmarshal(data, &outer); err != nil {
		return CaseResult{}, fmt.Errorf("read case: %w", err)
	}
	inner := []byte(outer.Case)
	if inner == nil {
		inner = data
	}
	var c caseFile
	inner, unused, err := known(inner)
	if err == nil {
		err = strict(inner, &c)
	}
	if err != nil {
		return CaseResult{}, caseError(err)
	}
	s, err := c.prepare()
	if err != nil {
		return CaseResult{}, fmt.Errorf("case %q: %w", c.ID, err)
	}
	r, err := s.run(ctx)
	if err != nil {
		return CaseResult{}, fmt.Errorf("case %q: %w", c.ID, err)
	}
	for _, key := range unused {
		if outer.Case != nil || key != "expected" {
			r.Notes = append(r.Notes, fmt.Sprintf("the key %q is none of a case's and is left aside", key))
		}
	}
	if outer.Expected != nil {
		if r.Compared, err = compare(r, outer.Expected); err != nil {
			return CaseResult{}, fmt.Errorf("case %q: %w", c.ID, err)
		}
	}
	return r, nil
}

// solvable is a case turned into our own terms.
type solvable struct {
	caseFile
	tank   light.Tank
	plane  light.Plane // the water surface, or the plane asked for where there is no water
	em     []light.Emitter
	lumens []float64
	total  float64
	grid   light.Grid
}

func (c caseFile) prepare() (*solvable, error) {
	s := &solvable{caseFile: c}
	s.tank = light.Tank{
		LengthM: c.Tank.LengthM, WidthM: c.Tank.WidthM, HeightM: c.Tank.HeightM, WaterDepthM: c.Tank.WaterM,
		GlassM: c.Tank.GlassM, GlassIndex: c.Tank.GlassIndex, GlassPerM: c.Tank.GlassPerM, WaterIndex: c.Tank.WaterIndex,
		Bands: []light.Band{{AbsorptionPerM: c.Tank.AbsorptionPerM, SubstrateReflectance: c.Tank.SubstrateReflectance}},
	}
	switch c.Tank.Walls {
	case "", "glass":
	case "black":
		s.tank.Walls = light.WallBlack
	default:
		return nil, fmt.Errorf("walls %q are not known; say glass or black", c.Tank.Walls)
	}
	if err := s.tank.Check(); err != nil {
		return nil, err
	}
	s.plane = s.tank.Surface()
	if c.Tank.PlaneM != nil && c.Tank.WaterM == 0 {
		if !(*c.Tank.PlaneM >= 0) || *c.Tank.PlaneM > max(c.Tank.HeightM, 0) {
			return nil, fmt.Errorf("plane at %g m must lie between bottom and rim", *c.Tank.PlaneM)
		}
		s.plane = light.Plane{Name: "plane", ZM: *c.Tank.PlaneM}
	}
	if len(c.Sources) == 0 || len(c.Sources) > maxSources {
		return nil, fmt.Errorf("%d sources; a case needs 1 to %d", len(c.Sources), maxSources)
	}
	for i, src := range c.Sources {
		description := c.Pattern
		if src.Pattern != nil {
			description = src.Pattern
		}
		p, err := description.pattern()
		if err != nil {
			return nil, fmt.Errorf("source %d: %w", i+1, err)
		}
		if !(src.TiltDeg >= 0) || src.TiltDeg > 90 || !finite(src.TowardDeg) {
			return nil, fmt.Errorf("source %d is tilted by %g°; give 0 to 90 away from straight down, and tilt_azimuth_deg for where to", i+1, src.TiltDeg)
		}
		if !(src.Lumens > 0) || !finite(src.Lumens) {
			return nil, fmt.Errorf("source %d has %g lumens; give a figure above 0", i+1, src.Lumens)
		}
		s.em = append(s.em, light.Emitter{
			Name: fmt.Sprintf("source %d", i+1), XM: src.X, YM: src.Y, ZM: src.Z, Distribution: p,
			TiltRad: src.TiltDeg * math.Pi / 180, TiltAzimuthRad: src.TowardDeg * math.Pi / 180,
		})
		s.lumens = append(s.lumens, src.Lumens)
		s.total += src.Lumens
	}
	if err := s.tank.CheckEmitters(s.em); err != nil {
		return nil, err
	}
	for i, p := range c.Points {
		if len(p) != 2 || math.Abs(p[0]) > s.tank.LengthM/2 || math.Abs(p[1]) > s.tank.WidthM/2 {
			return nil, fmt.Errorf("point %d %v must be [x, y] inside the tank", i+1, p)
		}
	}
	if len(c.Points) > 10_000 {
		return nil, fmt.Errorf("%d points are more than 10000", len(c.Points))
	}
	if c.Grid.NX == 0 && c.Grid.NY == 0 {
		c.Grid = caseGrid{25, 20}
	}
	if c.Grid.NX > 400 || c.Grid.NY > 400 {
		return nil, fmt.Errorf("grid of %d × %d cells; at most 400 a side", c.Grid.NX, c.Grid.NY)
	}
	if c.Trace.Rays < 0 || c.Trace.Rays > 1e9 {
		return nil, fmt.Errorf("%d rays; give 1 to 1000000000", c.Trace.Rays)
	}
	if s.Trace.Rays == 0 {
		s.Trace.Rays = 4_000_000
	}
	var err error
	s.grid, err = s.tank.CompleteGrid(light.Grid{NX: c.Grid.NX, NY: c.Grid.NY})
	return s, err
}

func (p *casePattern) pattern() (intensity.Distribution, error) {
	if p == nil {
		return nil, errors.New("no pattern is given")
	}
	switch p.Kind {
	case "cosm":
		switch {
		case p.M != nil && p.BeamDeg != nil:
			return nil, errors.New("a cosm pattern takes m or fwhm_deg, not both")
		case p.M != nil:
			return intensity.CosinePower(*p.M)
		case p.BeamDeg != nil:
			return intensity.CosineBeam(*p.BeamDeg * math.Pi / 180)
		}
		return nil, errors.New("a cosm pattern needs m or fwhm_deg")
	case "table":
		theta, values := p.ThetaDeg, [][]float64(p.Intensity)
		if theta == nil && p.Points != nil {
			row := make([]float64, len(p.Points))
			for i, pair := range p.Points {
				if len(pair) != 2 {
					return nil, fmt.Errorf("point %d of a pattern table must be [angle, intensity]", i+1)
				}
				theta = append(theta, pair[0])
				row[i] = pair[1]
			}
			values = [][]float64{row}
		}
		if len(theta) > 20_000 || len(values) > 1000 {
			return nil, errors.New("a pattern table has at most 20000 angles and 1000 planes")
		}
		rad := func(deg []float64) []float64 {
			out := make([]float64, len(deg))
			for i, d := range deg {
				out[i] = d * math.Pi / 180
			}
			return out
		}
		return intensity.FromTable(rad(theta), rad(p.PhiDeg), values)
	}
	return nil, fmt.Errorf("pattern kind %q is not known; say cosm or table", p.Kind)
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
		share := s.lumens[i] / s.total
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
	if s.tank.WaterDepthM > 0 && s.tank.InterreflectionCoarse() && s.Tank.SubstrateReflectance > 0 {
		back = later[SubstrateTotal].Value - later[SubstrateFirst].Value
		r.BottomAvg = s.total * (first["substrate_first"].Value + back) / area
		r.Notes = append(r.Notes, "wide for its depth: averages of the light between substrate and surface are of Monte Carlo, points only rough")
	}
	total := first["substrate_first"].Value + back
	put("emitted", Estimate{Value: 1})
	put("spill", Estimate{1 - first["opening"].Value, first["opening"].Err})
	put("dry_wall_direct", Estimate{Value: first["opening"].Value - first["surface_incident"].Value, Err: first["opening"].Err})
	put("substrate_incident_total", Estimate{total, first["substrate_first"].Err})
	put("substrate_absorbed", Estimate{total * (1 - s.Tank.SubstrateReflectance), first["substrate_first"].Err})
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
			sum += s.lumens[i] * one[0]
		}
		return sum
	}
	back := func(x, y float64) float64 {
		sum := 0.0
		for i, b := range solved {
			if b != nil {
				sum += s.lumens[i] * b.At(x, y, s.tank.SubstrateM)
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
			weights[i] = []float64{s.lumens[i]}
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
func (s *solvable) patchGrid(p []float64, cells int) light.Grid {
	const half = 0.01
	x, y := s.tank.LengthM/2, s.tank.WidthM/2
	return light.Grid{
		NX: cells, NY: cells,
		X0: max(-x, p[0]-half), X1: min(x, p[0]+half), Y0: max(-y, p[1]-half), Y1: min(y, p[1]+half),
	}
}

// patch returns the means over the square about a point, above and below, without what comes back from the substrate.
func (s *solvable) patch(ctx context.Context, images []light.Images, p []float64) (above, below float64, err error) {
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
				*on.to += s.lumens[i] * v / (cells * cells)
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
	o := Options{Paths: max(20_000, s.Trace.Rays/len(s.em)), Tiles: 40, Seed: s.Trace.Seed}
	tr, err := Trace(ctx, Scene{Tank: s.tank}, s.em, receivers, o)
	if err != nil {
		return out, err
	}
	mix := func(e func(group int) Estimate, scale float64) Estimate {
		var sum Estimate
		for g := range s.em {
			v := e(g)
			sum = Estimate{sum.Value + s.lumens[g]*v.Value*scale, math.Hypot(sum.Err, s.lumens[g]*v.Err*scale)}
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
	m.Seed, m.Frac = s.Trace.Seed, map[string][2]float64{}
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

// compare sets what a file expects beside what was found. Expected holds the result's keys and "tolerance_percent"
// (0.3 if absent) and "tolerance_points_percent" (1 if absent); shares below 0.001 are met within 0.00002.
func compare(r CaseResult, expected []byte) ([]CaseCompared, error) {
	var want map[string]json.RawMessage
	if err := json.Unmarshal(expected, &want); err != nil {
		return nil, fmt.Errorf("read what is expected: %w", err)
	}
	percent, pointPercent := 0.3, 1.0
	for key, to := range map[string]*float64{"tolerance_percent": &percent, "tolerance_points_percent": &pointPercent} {
		if v, ok := want[key]; ok {
			if err := json.Unmarshal(v, to); err != nil {
				return nil, fmt.Errorf("read %s: %w", key, err)
			}
			delete(want, key)
		}
	}
	var out []CaseCompared
	add := func(key string, want, got, percent float64) {
		c := CaseCompared{Key: key, Want: want, Got: got, Tolerance: math.Abs(want)*percent/100 + 1e-12}
		if strings.HasPrefix(key, "frac.") && math.Abs(want) < 0.001 {
			c.Tolerance = 2e-5
		}
		c.Passed = math.Abs(got-want) <= c.Tolerance
		out = append(out, c)
	}
	lists := map[string][]float64{
		"surface_points": r.SurfacePoints, "bottom_points": r.BottomPoints,
		"surface_patch20mm": r.SurfacePatch, "bottom_patch20mm": r.BottomPatch,
	}
	scalars := map[string]float64{
		"surface_avg": r.SurfaceAvg, "bottom_avg": r.BottomAvg, "surface_min_cell": r.SurfaceMin, "surface_max_cell": r.SurfaceMax,
		"bottom_min_cell": r.BottomMin, "bottom_max_cell": r.BottomMax,
	}
	var keys []string
	for key := range want {
		keys = append(keys, key)
	}
	sort.Strings(keys)
	for _, key := range keys {
		if list, ok := lists[key]; ok {
			var w []float64
			if err := json.Unmarshal(want[key], &w); err != nil || len(w) != len(list) {
				return nil, fmt.Errorf("expected %s must list %d numbers", key, len(list))
			}
			for i, v := range w {
				add(fmt.Sprintf("%s[%d]", key, i), v, list[i], pointPercent)
			}
			continue
		}
		if key == "frac" {
			var w map[string]float64
			if err := json.Unmarshal(want[key], &w); err != nil {
				return nil, fmt.Errorf("read expected frac: %w", err)
			}
			var names []string
			for name := range w {
				names = append(names, name)
			}
			sort.Strings(names)
			for _, name := range names {
				got, ok := r.Frac[name]
				if !ok {
					return nil, fmt.Errorf("expected share %q is not one of ours", name)
				}
				add("frac."+name, w[name], got, percent)
			}
			continue
		}
		got, ok := scalars[key]
		if !ok {
			return nil, fmt.Errorf("expected figure %q is not one of ours", key)
		}
		var w float64
		if err := json.Unmarshal(want[key], &w); err != nil {
			return nil, fmt.Errorf("read expected %s: %w", key, err)
		}
		add(key, w, got, percent)
	}
	return out, nil
}
