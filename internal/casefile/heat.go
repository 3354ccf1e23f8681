package casefile

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"lampwright/internal/geom"
	"lampwright/internal/heat"
)

// Bounds of a case.
const (
	maxHeatSources = 400
	manySources    = 60   // beyond which a case is solved to 1 % in place of 0.4 %: each source is a solve
	maxParts       = 4000 // probes, pieces, times: of each
	maxHoles       = 400  // holes, patches: of each
	maxPoints      = 1000 // corners of one outline
)

// HeatResult is the answer to a heat case, with the result keys of the schema.
type HeatResult struct {
	ID      string     `json:"id"`
	Results any        `json:"results"` // HeatFigures, or a list of HeatMoment
	Heat    *HeatFlow  `json:"heat,omitempty"`
	Solver  HeatSolver `json:"solver"`
	Notes   []string   `json:"notes,omitempty"`
}

// HeatFigures are steady rises over ambient [K].
type HeatFigures struct {
	TMax       float64            `json:"T_max"`
	MeanSource map[string]float64 `json:"mean_source"`
	Probes     map[string]float64 `json:"probes"`
	TSink      *float64           `json:"T_sink,omitempty"`
}

// HeatMoment is one time of a transient; T is seconds or "steady".
type HeatMoment struct {
	T any `json:"t"`
	HeatFigures
	StoredJ float64 `json:"stored_J"`
}

// HeatFlow is where the heat goes in the steady state [W].
type HeatFlow struct {
	TopW  float64 `json:"top_W"`
	BackW float64 `json:"back_W"`
	SinkW float64 `json:"sink_W"`
}

// HeatSolver reports how the figures came about.
type HeatSolver struct {
	heat.Stats
	Steps         int     `json:"time_steps,omitempty"`
	EnergyBalance float64 `json:"energy_balance,omitempty"`
}

// heatCase is the schema. Boards are described from the bottom up, as z is.
type heatCase struct {
	ID    string `json:"id"`
	Board struct {
		Shape  string       `json:"shape"`
		LX     float64      `json:"lx"`
		LY     float64      `json:"ly"`
		Radius float64      `json:"radius"`
		Points [][2]float64 `json:"points"`
		Holes  []heatArea   `json:"holes"`
	} `json:"board"`
	Layers   []heatLayer  `json:"layers"`
	Back     heatFace     `json:"back"`
	Top      heatFace     `json:"top"`
	Sources  []heatSource `json:"sources"`
	Probes   []heatProbe  `json:"probes"`
	Sink     *heatSink    `json:"sink"`
	TAmbient *float64     `json:"T_ambient_C"`
	TInitial *float64     `json:"T_initial_C"`
	Times    []float64    `json:"times"`
}

type heatArea struct {
	X      float64      `json:"x"`
	Y      float64      `json:"y"`
	WX     float64      `json:"wx"`
	WY     float64      `json:"wy"`
	Radius float64      `json:"radius"`
	Points [][2]float64 `json:"points"`
}

type heatLayer struct {
	Name   string    `json:"name"`
	T      float64   `json:"t"`
	Region region    `json:"region"`
	Rest   float64   `json:"rest"`
	K      *float64  `json:"k"`
	KXY    *float64  `json:"k_xy"`
	KZ     *float64  `json:"k_z"`
	Rho    float64   `json:"rho"`
	Cp     float64   `json:"cp"`
	RBelow float64   `json:"r_below"`
	Vias   *heatVias `json:"vias"`
}

type heatVias struct {
	Areas []heatArea `json:"areas"`
	KZ    float64    `json:"k_z"`
}

type heatFace struct {
	H       float64     `json:"h"`
	Patch   *heatPatch  `json:"patch"`
	Patches []heatPatch `json:"patches"`
}

type heatPatch struct {
	heatArea
	H        *float64 `json:"h"`
	HContact *float64 `json:"h_contact"`
}

type heatSource struct {
	Name     string        `json:"name"`
	X        float64       `json:"x"`
	Y        float64       `json:"y"`
	WX       float64       `json:"wx"`
	WY       float64       `json:"wy"`
	P        float64       `json:"P"`
	Submount *heatSubmount `json:"submount"`
}

type heatSubmount struct {
	X    *float64 `json:"x"`
	Y    *float64 `json:"y"`
	WX   float64  `json:"wx"`
	WY   float64  `json:"wy"`
	T    float64  `json:"t"`
	K    float64  `json:"k"`
	R    float64  `json:"r_attach"`
	Rho  float64  `json:"rho"`
	Cp   float64  `json:"cp"`
	Name string   `json:"name"`
}

type heatProbe struct {
	Name string  `json:"name"`
	X    float64 `json:"x"`
	Y    float64 `json:"y"`
	Z    float64 `json:"z"`
}

type heatSink struct {
	C float64 `json:"C"`
	G float64 `json:"G"`
}

// described are keys that say something about a case without changing it.
var described = []string{"units", "frame", "title", "source", "method", "results", "checks", "error_estimate_rel", "notes", "comment"}

// isHeat reports whether a document looks like a heat case: an object with a board, layers and sources of heat.
func isHeat(n *node) bool {
	return n.get("board") != nil && n.get("layers") != nil && n.get("sources") != nil
}

// decodeHeat reads the keys of a heat case, refusing those that it does not know.
func decodeHeat(d document, n *node) (*heatCase, error) {
	known := *n
	known.members = slices.DeleteFunc(slices.Clone(n.members), func(m member) bool { return slices.Contains(described, m.key) })
	var f heatCase
	dec := decoder{document: d, guide: "docs/cases-heat.md"}
	dec.fill(&known, &f, "")
	return &f, dec.err()
}

// counts bounds how many parts a case has.
func (f *heatCase) counts() error {
	for _, n := range []struct {
		path, what string
		n, atMost  int
	}{
		{"sources", "sources", len(f.Sources), maxHeatSources},
		{"layers", "layers", len(f.Layers), 60},
		{"probes", "probes", len(f.Probes), maxParts},
		{"times", "times", len(f.Times), maxParts},
		{"board.holes", "holes", len(f.Board.Holes), maxHoles},
		{"back", "patches", len(f.Top.Patches) + len(f.Back.Patches), maxHoles},
		{"layers", "pieces of layers", f.pieces(), maxParts},
	} {
		if n.n > n.atMost {
			return at(n.path, fmt.Errorf("%d %s; at most %d are read", n.n, n.what, n.atMost))
		}
	}
	return nil
}

// solvableHeat is a heat case in the terms of package heat.
type solvableHeat struct {
	*heatCase
	built   heat.Board
	emitted []heat.Source
	probed  []heat.Probe
}

// prepare checks a case and turns it into a board.
func (f *heatCase) prepare() (s solvableHeat, err error) {
	s.heatCase = f
	if err := f.counts(); err != nil {
		return s, err
	}
	if err := f.limits(); err != nil {
		return s, err
	}
	if s.built, err = f.board(); err != nil {
		return s, err
	}
	if s.emitted, err = f.sources(); err != nil {
		return s, err
	}
	for _, p := range f.Probes {
		s.probed = append(s.probed, heat.Probe{Name: p.Name, XM: p.X, YM: p.Y, DepthM: s.built.ThicknessM() - p.Z})
	}
	last := 0.0
	for i, t := range f.Times {
		if !(t > last) || math.IsInf(t, 0) {
			return s, at(fmt.Sprintf("times[%d]", i), fmt.Errorf("time %d is %g s; times must be above zero and rise", i+1, t))
		}
		last = t
	}
	return s, nil
}

// shape reads a piece: a rectangle by centre and sides, a disc by radius, or a polygon.
func (a *heatArea) shape() geom.Shape {
	switch {
	case len(a.Points) > 0:
		return polygon(a.Points)
	case a.Radius != 0:
		return geom.Disc(a.X, a.Y, a.Radius)
	}
	return geom.Rectangle(geom.Rect{XM: a.X, YM: a.Y, WidthM: a.WX, HeightM: a.WY})
}

func polygon(points [][2]float64) geom.Shape {
	var c []geom.Point
	for _, p := range points {
		c = append(c, geom.Point{XM: p[0], YM: p[1]})
	}
	return geom.Polygon(c...)
}

func (f *heatCase) board() (heat.Board, error) {
	b := heat.Board{TopFilmWm2K: f.Top.H, BackFilmWm2K: f.Back.H}
	switch f.Board.Shape {
	case "rect":
		b.Outline = geom.Rectangle(geom.Rect{WidthM: f.Board.LX, HeightM: f.Board.LY})
	case "disc":
		b.Outline = geom.Disc(0, 0, f.Board.Radius)
	case "polygon":
		b.Outline = polygon(f.Board.Points)
	default:
		return b, at("board.shape", fmt.Errorf("board has shape %q; use rect, disc or polygon", f.Board.Shape))
	}
	for i := range f.Board.Holes {
		b.Holes = append(b.Holes, f.Board.Holes[i].shape())
	}
	for i := range f.Layers {
		l, err := f.Layers[i].layer()
		if err != nil {
			return b, at(fmt.Sprintf("layers[%d]", i), fmt.Errorf("layer %q: %w", f.Layers[i].Name, err))
		}
		b.Layers = append(b.Layers, l)
	}
	slices.Reverse(b.Layers)
	for _, face := range []heat.Face{heat.Top, heat.Back} {
		key, side := "top", &f.Top
		if face == heat.Back {
			key, side = "back", &f.Back
		}
		for i, p := range side.patches() {
			if err := f.addPatch(&b, face, i, p); err != nil {
				return b, at(key, err)
			}
		}
	}
	if f.Sink != nil && b.Contact == nil {
		return b, at("sink", errors.New("the case has a sink but no patch of the back touches it; give a patch h_contact"))
	}
	return b, nil
}

// patches returns the patches of a face, the single one first.
func (f *heatFace) patches() []*heatPatch {
	var out []*heatPatch
	if f.Patch != nil {
		out = append(out, f.Patch)
	}
	for i := range f.Patches {
		out = append(out, &f.Patches[i])
	}
	return out
}

// addPatch adds patch i of a face to the board: a heat transfer coefficient of its own, or the contact with the sink.
func (f *heatCase) addPatch(b *heat.Board, face heat.Face, i int, p *heatPatch) error {
	switch {
	case p.HContact != nil && p.H != nil:
		return fmt.Errorf("patch %d of the %s has both h and h_contact; give one", i+1, face)
	case p.HContact != nil:
		if face != heat.Back || b.Contact != nil {
			return errors.New("only one patch, and on the back, may have h_contact")
		}
		if !(*p.HContact > 0) {
			return fmt.Errorf("h_contact is %g W/(m²·K); it must be above zero", *p.HContact)
		}
		if f.Sink == nil {
			return errors.New("a patch has h_contact but the case has no sink")
		}
		if !(f.Sink.G > 0) {
			return at("sink", fmt.Errorf("sink has G %g W/K; it must be above zero", f.Sink.G))
		}
		b.Contact = &heat.Contact{Area: p.shape(), ResistM2KW: 1 / *p.HContact, SinkWK: f.Sink.G, CapacityJK: f.Sink.C}
	case p.H != nil:
		b.Patches = append(b.Patches, heat.CoefficientPatch{Face: face, Area: p.shape(), FilmWm2K: *p.H})
	default:
		return fmt.Errorf("patch %d of the %s has neither h nor h_contact", i+1, face)
	}
	return nil
}

func (c *heatLayer) layer() (heat.Layer, error) {
	l := heat.Layer{Name: c.Name, ThicknessM: c.T, Rest: c.Rest, DensityKgM3: c.Rho, HeatJkgK: c.Cp, JointM2KW: c.RBelow}
	switch {
	case c.K != nil && (c.KXY != nil || c.KZ != nil):
		return l, errors.New("both k and k_xy or k_z; give one kind")
	case c.K != nil:
		l.KWmK = *c.K
	case c.KXY != nil && c.KZ != nil:
		l.KWmK, l.KzWmK = *c.KXY, *c.KZ
		if !(l.KzWmK > 0) {
			return l, fmt.Errorf("k_z is %g W/(m·K); it must be above zero", l.KzWmK)
		}
	default:
		return l, errors.New("no conductivity; give k, or k_xy and k_z")
	}
	if v := c.Vias; v != nil {
		if len(v.Areas) == 0 || !(v.KZ > 0) {
			return l, errors.New("vias need their areas and a k_z above zero")
		}
		l.ViaKzWmK = v.KZ
		for i := range v.Areas {
			l.Vias = append(l.Vias, v.Areas[i].shape())
		}
	}
	if !c.Region.given {
		return l, nil
	}
	var b bounds
	l.Cover = []geom.Shape{}
	for i := range c.Region.areas {
		b.area(fmt.Sprintf("piece %d", i+1), &c.Region.areas[i])
		l.Cover = append(l.Cover, c.Region.areas[i].shape())
	}
	return l, b.err
}

// region is where a layer is: everywhere unless areas are given.
type region struct {
	given bool
	areas []heatArea
}

func (r *region) decode(d *decoder, n *node, path string) {
	switch {
	case n.kind == text && n.scalar == "full":
	case n.kind == list:
		r.given = true
		d.fill(n, &r.areas, path)
	default:
		d.problem(n.at, "%s is a JSON %s; it takes \"full\" or a list of areas", path, n.kind)
	}
}

// pieces counts the pieces and vias of all layers.
func (f *heatCase) pieces() (n int) {
	for i := range f.Layers {
		if f.Layers[i].Vias != nil {
			n += len(f.Layers[i].Vias.Areas)
		}
		n += len(f.Layers[i].Region.areas)
	}
	return n
}

func (f *heatCase) sources() ([]heat.Source, error) {
	var out []heat.Source
	seen := map[string]bool{}
	for i := range f.Sources {
		c := &f.Sources[i]
		if seen[c.Name] {
			return nil, at(fmt.Sprintf("sources[%d]", i), fmt.Errorf("two sources are named %q; results go by name", c.Name))
		}
		seen[c.Name] = true
		s := heat.Source{Name: c.Name, Rect: geom.Rect{XM: c.X, YM: c.Y, WidthM: c.WX, HeightM: c.WY}, PowerW: c.P}
		if m := c.Submount; m != nil {
			r := geom.Rect{XM: c.X, YM: c.Y, WidthM: m.WX, HeightM: m.WY}
			if m.X != nil {
				r.XM = *m.X
			}
			if m.Y != nil {
				r.YM = *m.Y
			}
			s.Submount = &heat.Submount{Rect: r, ThicknessM: m.T, KWmK: m.K, AttachM2KW: m.R, DensityKgM3: m.Rho, HeatJkgK: m.Cp}
		}
		out = append(out, s)
	}
	return out, nil
}

// runHeat computes the figures of one case: steady rises, or with times the rises at those times and in the end.
func runHeat(ctx context.Context, d document, n *node, o heat.Options) (HeatResult, error) {
	f, err := decodeHeat(d, n)
	if err != nil {
		return HeatResult{}, err
	}
	s, err := f.prepare()
	if err != nil {
		return HeatResult{}, d.placed(n, err)
	}
	if len(f.Sources) > manySources {
		o.RelErr = max(o.RelErr, 0.01)
	}
	out, err := s.solve(ctx, o)
	if err != nil {
		return HeatResult{}, fmt.Errorf("%s: heat case %q: %w", d.file, f.ID, err)
	}
	return out, nil
}

func (s *solvableHeat) solve(ctx context.Context, o heat.Options) (HeatResult, error) {
	out := HeatResult{ID: s.ID}
	sink := s.built.Contact != nil
	var r *heat.Response
	if len(s.Times) == 0 {
		var err error
		if r, err = heat.Unit(ctx, s.built, s.emitted, s.probed, o); err != nil {
			return out, err
		}
		out.Results = s.figures(r.At(heat.Powers(s.emitted), r.SinkWK), sink)
	} else {
		t := heat.TimeOptions{Options: o}
		if s.TInitial != nil && s.TAmbient != nil {
			t.InitialK = *s.TInitial - *s.TAmbient
		}
		w, err := heat.Transient(ctx, s.built, s.emitted, s.probed, s.Times, t)
		if err != nil {
			return out, err
		}
		var moments []HeatMoment
		for _, m := range append(w.Moments, w.Steady) {
			state := heat.State{MeanK: m.MeanK, MaxK: m.MaxK, ProbeK: m.ProbeK, SinkK: m.SinkK}
			c := HeatMoment{T: m.TimeS, StoredJ: m.StoredJ, HeatFigures: s.figures(state, sink)}
			if math.IsInf(m.TimeS, 1) {
				c.T = "steady"
			}
			moments = append(moments, c)
		}
		out.Results, r = moments, w.Response
		out.Solver.Steps, out.Solver.EnergyBalance = w.Steps, w.EnergyBalance
	}
	out.Solver.Stats, out.Notes = r.Stats, r.Notes
	state := r.At(heat.Powers(s.emitted), r.SinkWK)
	out.Heat = &HeatFlow{state.TopW, state.BackW, state.SinkW}
	return out, nil
}

// figures names the numbers of a state.
func (f *heatCase) figures(s heat.State, sink bool) HeatFigures {
	c := HeatFigures{TMax: slices.Max(s.MaxK), MeanSource: map[string]float64{}, Probes: map[string]float64{}}
	for i := range f.Sources {
		c.MeanSource[f.Sources[i].Name] = s.MeanK[i]
	}
	for i := range f.Probes {
		name := f.Probes[i].Name
		if _, twice := c.Probes[name]; twice || name == "" {
			name = strings.TrimSpace(fmt.Sprintf("%s (%d)", name, i+1))
		}
		c.Probes[name] = s.ProbeK[i]
	}
	if sink {
		c.TSink = &s.SinkK
	}
	return c
}
