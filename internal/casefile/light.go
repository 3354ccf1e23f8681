package casefile

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"math"
	"reflect"
	"slices"
	"strings"

	"lampwright/internal/intensity"
	"lampwright/internal/raytrace"

	"lampwright/internal/light"
)

// tankCase is a worked case of a tank as people exchange it: lengths in metres, one band, thin-wall convention.
// docs/cases-light.md describes every key.
type tankCase struct {
	ID          string         `json:"id"`
	Description string         `json:"description"`
	Tank        tankDimensions `json:"tank"`
	Pattern     *tankPattern   `json:"pattern"`
	Sources     []tankSource   `json:"sources"`
	Points      [][2]float64   `json:"points_xy_m"`
	Grid        tankGrid       `json:"grid"`
	Trace       tankTrace      `json:"trace"`
}

type tankDimensions struct {
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

type tankPattern struct {
	Kind      string       `json:"kind"`
	M         *float64     `json:"m"`
	BeamDeg   *float64     `json:"fwhm_deg"`
	FieldDeg  *float64     `json:"field_deg"`
	ThetaDeg  []float64    `json:"theta_deg"`
	PhiDeg    []float64    `json:"phi_deg"`
	Intensity intensities  `json:"intensity"`
	Points    [][2]float64 `json:"points"`
}

// intensities are one row of numbers or several.
type intensities [][]float64

func (v *intensities) decode(d *decoder, n *node, path string) {
	if n.kind == list && len(n.items) > 0 && n.items[0].kind != list {
		var row []float64
		d.fill(n, &row, path)
		*v = intensities{row}
		return
	}
	var rows [][]float64
	d.fill(n, &rows, path)
	*v = rows
}

// rename lists the other names under which people write a table.
func (*tankPattern) rename() map[string]string {
	return map[string]string{
		"angles_deg": "theta_deg", "angle_deg": "theta_deg", "thetas_deg": "theta_deg", "theta": "theta_deg",
		"values": "intensity", "intensities": "intensity", "relative": "intensity", "relative_intensity": "intensity",
		"cd": "intensity", "candela": "intensity", "I": "intensity", "i": "intensity",
		"table": "points", "data": "points", "beam_deg": "fwhm_deg",
	}
}

type tankSource struct {
	X         float64      `json:"x"`
	Y         float64      `json:"y"`
	Z         float64      `json:"z"`
	Lumens    float64      `json:"lumens"`
	PPF       float64      `json:"ppf_umol_s"` // instead of lumens, for cases of one band
	TiltDeg   float64      `json:"tilt_deg"`
	TowardDeg float64      `json:"tilt_azimuth_deg"`
	Pattern   *tankPattern `json:"pattern"`
}

type tankGrid struct {
	NX int `json:"nx"`
	NY int `json:"ny"`
}

type tankTrace struct {
	Rays int    `json:"rays"`
	Seed uint64 `json:"seed"`
}

// maxTankSources bounds the work of a case.
const maxTankSources = 200

// isLight reports whether a document looks like a tank case, alone, as the value of "case", or as a list of such.
func isLight(n *node) bool {
	if n.kind == list {
		return len(n.items) > 0 && isLight(n.items[0])
	}
	if inner := n.get("case"); inner != nil {
		return isLight(inner)
	}
	return n.get("tank") != nil && n.get("sources") != nil
}

// runLight computes a tank case and returns a raytrace.CaseResult, or a list of them for a list of cases.
func runLight(ctx context.Context, d document, n *node) (any, error) {
	if len(d.data) > maxTankBytes {
		return nil, fmt.Errorf("%s: a tank case of %d bytes; at most %d are read", d.file, len(d.data), maxTankBytes)
	}
	if n.kind != list {
		return runTank(ctx, d, n)
	}
	var out []raytrace.CaseResult
	for i, one := range n.items {
		r, err := runTank(ctx, d, one)
		if err != nil {
			return nil, fmt.Errorf("case %d: %w", i+1, err)
		}
		out = append(out, r)
	}
	return out, nil
}

func runTank(ctx context.Context, d document, n *node) (raytrace.CaseResult, error) {
	inner := n
	if wrapped := n.get("case"); wrapped != nil {
		inner = wrapped
	}
	c, unused, err := decodeTank(d, inner)
	if err != nil {
		return raytrace.CaseResult{}, err
	}
	s, err := c.prepare()
	if err != nil {
		return raytrace.CaseResult{}, d.placed(inner, err)
	}
	r, err := raytrace.SolveCase(ctx, s)
	if err != nil {
		return raytrace.CaseResult{}, fmt.Errorf("%s: case %q: %w", d.file, c.ID, err)
	}
	for _, key := range unused {
		if inner != n || key != "expected" {
			r.Notes = append(r.Notes, fmt.Sprintf("the key %q is none of a case's and is left aside", key))
		}
	}
	if expected := n.get("expected"); expected != nil && expected.kind != null {
		if r.Compared, err = compare(d, expected, r); err != nil {
			return raytrace.CaseResult{}, err
		}
	}
	return r, nil
}

// decodeTank reads the keys of a tank case. Keys beside those of a case are returned in order; within its parts they
// are errors.
func decodeTank(d document, n *node) (c tankCase, unused []string, err error) {
	used := map[string]bool{}
	for f := range reflect.TypeFor[tankCase]().Fields() {
		used[f.Tag.Get("json")] = true
	}
	known := *n
	known.members = nil
	for _, m := range n.members {
		if used[m.key] {
			known.members = append(known.members, m)
		} else {
			unused = append(unused, m.key)
		}
	}
	slices.Sort(unused)
	dec := decoder{document: d, guide: "docs/cases-light.md"}
	dec.fill(&known, &c, "")
	return c, unused, dec.err()
}

// tank returns the tank of a case with glass walls.
func (c *tankCase) tank() light.Tank {
	return light.Tank{
		LengthM: c.Tank.LengthM, WidthM: c.Tank.WidthM, HeightM: c.Tank.HeightM, WaterDepthM: c.Tank.WaterM,
		GlassM: c.Tank.GlassM, GlassIndex: c.Tank.GlassIndex, GlassPerM: c.Tank.GlassPerM,
		WaterIndex: c.Tank.WaterIndex,
		Bands:      []light.Band{{AbsorptionPerM: c.Tank.AbsorptionPerM, SubstrateReflectance: c.Tank.SubstrateReflectance}},
	}
}

// prepare turns a case into the terms of package light.
func (c *tankCase) prepare() (raytrace.Case, error) {
	s := raytrace.Case{ID: c.ID, Rays: c.Trace.Rays, Seed: c.Trace.Seed, Points: c.Points}
	s.Grid.NX, s.Grid.NY = c.Grid.NX, c.Grid.NY
	s.Tank = c.tank()
	switch c.Tank.Walls {
	case "", "glass":
	case "black":
		s.Tank.Walls = light.WallBlack
	default:
		return s, at("tank.walls", fmt.Errorf("walls %q are not known; use glass or black", c.Tank.Walls))
	}
	if err := s.Tank.Check(); err != nil {
		return s, at("tank", err)
	}
	s.Plane = s.Tank.Surface()
	if z := c.Tank.PlaneM; z != nil && c.Tank.WaterM == 0 {
		if !(*z >= 0) || *z > max(c.Tank.HeightM, 0) {
			return s, at("tank.virtual_plane_z_m", fmt.Errorf("plane at %g m must lie between bottom and rim", *z))
		}
		s.Plane = light.Plane{Name: "plane", ZM: *z}
	}
	if len(c.Sources) == 0 || len(c.Sources) > maxTankSources {
		return s, at("sources", fmt.Errorf("%d sources; a case needs 1 to %d", len(c.Sources), maxTankSources))
	}
	for i := range c.Sources {
		em, err := c.emitter(i)
		if err != nil {
			return s, at(fmt.Sprintf("sources[%d]", i), err)
		}
		s.Sources = append(s.Sources, em)
		s.Lumens = append(s.Lumens, c.Sources[i].Lumens)
	}
	if err := s.Check(); err != nil {
		return s, at("sources", err)
	}
	return s, c.counts()
}

// emitter turns source i into an emitter.
func (c *tankCase) emitter(i int) (light.Emitter, error) {
	src := c.Sources[i]
	description := c.Pattern
	if src.Pattern != nil {
		description = src.Pattern
	}
	p, err := description.pattern()
	if err != nil {
		return light.Emitter{}, fmt.Errorf("source %d: %w", i+1, err)
	}
	if !(src.TiltDeg >= 0) || src.TiltDeg > 90 {
		return light.Emitter{}, fmt.Errorf("source %d is tilted by %g°; give 0 to 90 away from straight down, and "+
			"tilt_azimuth_deg for where to", i+1, src.TiltDeg)
	}
	if !(src.Lumens > 0) {
		return light.Emitter{}, fmt.Errorf("source %d has %g lumens; give a figure above 0", i+1, src.Lumens)
	}
	return light.Emitter{
		Name: fmt.Sprintf("source %d", i+1), XM: src.X, YM: src.Y, ZM: src.Z, Distribution: p,
		TiltRad: src.TiltDeg * math.Pi / 180, TiltAzimuthRad: src.TowardDeg * math.Pi / 180,
	}, nil
}

// counts bounds points, grid and rays.
func (c *tankCase) counts() error {
	for i, p := range c.Points {
		if math.Abs(p[0]) > c.Tank.LengthM/2 || math.Abs(p[1]) > c.Tank.WidthM/2 {
			return at(
				fmt.Sprintf("points_xy_m[%d]", i), fmt.Errorf("point %d %v must be [x, y] inside the tank", i+1, p),
			)
		}
	}
	if len(c.Points) > 10_000 {
		return at("points_xy_m", fmt.Errorf("%d points are more than 10000", len(c.Points)))
	}
	if c.Grid.NX > 400 || c.Grid.NY > 400 {
		return at("grid", fmt.Errorf("grid of %d × %d cells; at most 400 a side", c.Grid.NX, c.Grid.NY))
	}
	if c.Trace.Rays < 0 || c.Trace.Rays > 1e9 {
		return at("trace.rays", fmt.Errorf("%d rays; give 1 to 1000000000", c.Trace.Rays))
	}
	return nil
}

func (p *tankPattern) pattern() (intensity.Distribution, error) {
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
	case "super_gaussian":
		if p.BeamDeg == nil || p.FieldDeg == nil {
			return nil, errors.New("a super_gaussian pattern needs fwhm_deg and field_deg")
		}
		return intensity.SuperGaussian(*p.BeamDeg*math.Pi/180, *p.FieldDeg*math.Pi/180)
	case "table":
		theta, values := p.ThetaDeg, [][]float64(p.Intensity)
		if theta == nil && p.Points != nil {
			row := make([]float64, len(p.Points))
			for i, pair := range p.Points {
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
	return nil, fmt.Errorf("pattern kind %q is not known; use cosm, super_gaussian or table", p.Kind)
}

// expectation compares expected figures with computed ones.
type expectation struct {
	document
	percent, pointPercent float64 // tolerances
	compared              []raytrace.CaseCompared
}

func (e *expectation) add(key string, want, got, percent float64) {
	c := raytrace.CaseCompared{Key: key, Want: want, Got: got, Tolerance: math.Abs(want)*percent/100 + 1e-12}
	if strings.HasPrefix(key, "frac.") && math.Abs(want) < 0.001 {
		c.Tolerance = 2e-5
	}
	c.Passed = math.Abs(got-want) <= c.Tolerance
	e.compared = append(e.compared, c)
}

// compare sets expected figures beside computed ones. Expected contains the result's keys and "tolerance_percent" (0.3
// if absent) and "tolerance_points_percent" (1 if absent); shares below 0.001 are met within 0.00002.
func compare(d document, expected *node, r raytrace.CaseResult) ([]raytrace.CaseCompared, error) {
	if expected.kind != object {
		return nil, d.errorAt(expected.at, fmt.Errorf("expected is a JSON %s; it takes an object", expected.kind))
	}
	e := expectation{document: d, percent: 0.3, pointPercent: 1}
	members := slices.Clone(expected.members)
	slices.SortFunc(members, func(a, b member) int { return strings.Compare(a.key, b.key) })
	for key, to := range map[string]*float64{
		"tolerance_percent": &e.percent, "tolerance_points_percent": &e.pointPercent,
	} {
		if n := expected.get(key); n != nil {
			if err := unmarshal(d, n, key, to); err != nil {
				return nil, err
			}
		}
	}
	for _, m := range members {
		if strings.HasPrefix(m.key, "tolerance_") {
			continue
		}
		if err := e.figure(m, r); err != nil {
			return nil, err
		}
	}
	return e.compared, nil
}

// figure compares one expected key.
func (e *expectation) figure(m member, r raytrace.CaseResult) error {
	lists := map[string][]float64{
		"surface_points": r.SurfacePoints, "bottom_points": r.BottomPoints,
		"surface_patch20mm": r.SurfacePatch, "bottom_patch20mm": r.BottomPatch,
	}
	scalars := map[string]float64{
		"surface_avg": r.SurfaceAvg, "bottom_avg": r.BottomAvg, "surface_min_cell": r.SurfaceMin,
		"surface_max_cell": r.SurfaceMax,
		"bottom_min_cell":  r.BottomMin, "bottom_max_cell": r.BottomMax,
	}
	if got, ok := lists[m.key]; ok {
		var want []float64
		if err := unmarshal(e.document, m.value, m.key, &want); err != nil {
			return err
		}
		if len(want) != len(got) {
			return e.errorAt(
				m.value.at, fmt.Errorf("expected %s must list %d numbers, not %d", m.key, len(got), len(want)),
			)
		}
		for i, v := range want {
			e.add(fmt.Sprintf("%s[%d]", m.key, i), v, got[i], e.pointPercent)
		}
		return nil
	}
	if m.key == "frac" {
		return e.shares(m.value, r.Frac)
	}
	got, ok := scalars[m.key]
	if !ok {
		return e.errorAt(m.at, fmt.Errorf("expected figure %q is not one of a case's", m.key))
	}
	var want float64
	if err := unmarshal(e.document, m.value, m.key, &want); err != nil {
		return err
	}
	e.add(m.key, want, got, e.percent)
	return nil
}

// shares compares expected shares of the lumens.
func (e *expectation) shares(n *node, frac map[string]float64) error {
	var want map[string]float64
	if err := unmarshal(e.document, n, "frac", &want); err != nil {
		return err
	}
	for _, name := range slices.Sorted(maps.Keys(want)) {
		got, ok := frac[name]
		if !ok {
			return e.errorAt(n.at, fmt.Errorf("expected share %q is not one of a case's", name))
		}
		e.add("frac."+name, want[name], got, e.percent)
	}
	return nil
}
