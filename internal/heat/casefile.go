package heat

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"lampwright/internal/geom"
)

// A case is one JSON document that describes a board, for holding the solver against a reference of one's own. The
// schema is in docs/cases-heat.md.

// Bounds of a case.
const (
	maxCaseBytes   = 4 << 20
	maxCaseSources = 400
	manySources    = 60   // beyond which a case is solved to 1 % in place of 0.4 %: each source is a solve
	maxCaseParts   = 4000 // probes, pieces, times: of each
	maxCaseHoles   = 400  // holes, patches: of each
	maxCasePoints  = 1000 // corners of one outline
)

// CaseResult is what RunCase found, with the result keys of the schema.
type CaseResult struct {
	ID      string     `json:"id"`
	Results any        `json:"results"` // CaseFigures, or a list of CaseMoment
	Heat    *CaseHeat  `json:"heat,omitempty"`
	Solver  CaseSolver `json:"solver"`
	Notes   []string   `json:"notes,omitempty"`
}

// CaseFigures are steady rises over ambient [K].
type CaseFigures struct {
	TMax       float64            `json:"T_max"`
	MeanSource map[string]float64 `json:"mean_source"`
	Probes     map[string]float64 `json:"probes"`
	TSink      *float64           `json:"T_sink,omitempty"`
}

// CaseMoment is one time of a transient; T is seconds or "steady".
type CaseMoment struct {
	T any `json:"t"`
	CaseFigures
	StoredJ float64 `json:"stored_J"`
}

// CaseHeat is where the heat goes in the steady state [W].
type CaseHeat struct {
	TopW  float64 `json:"top_W"`
	BackW float64 `json:"back_W"`
	SinkW float64 `json:"sink_W"`
}

// CaseSolver tells how the figures came about.
type CaseSolver struct {
	Stats
	Steps         int     `json:"time_steps,omitempty"`
	EnergyBalance float64 `json:"energy_balance,omitempty"`
}

// caseFile is the schema. Boards are described from the bottom up, as z is.
type caseFile struct {
	ID    string `json:"id"`
	Board struct {
		caseWords
		Shape  string       `json:"shape"`
		LX     float64      `json:"lx"`
		LY     float64      `json:"ly"`
		Radius float64      `json:"radius"`
		Points [][2]float64 `json:"points"`
		Holes  []caseArea   `json:"holes"`
	} `json:"board"`
	Layers   []caseLayer  `json:"layers"`
	Back     caseFace     `json:"back"`
	Top      caseFace     `json:"top"`
	Sources  []caseSource `json:"sources"`
	Probes   []caseProbe  `json:"probes"`
	Sink     *caseSink    `json:"sink"`
	TAmbient *float64     `json:"T_ambient_C"`
	TInitial *float64     `json:"T_initial_C"`
	Times    []float64    `json:"times"`
}

// caseWords are said about a part of a case and change nothing.
type caseWords struct {
	Title       json.RawMessage `json:"title"`
	Note        json.RawMessage `json:"note"`
	Notes       json.RawMessage `json:"notes"`
	Comment     json.RawMessage `json:"comment"`
	Description json.RawMessage `json:"description"`
}

type caseArea struct {
	caseWords
	X      float64      `json:"x"`
	Y      float64      `json:"y"`
	WX     float64      `json:"wx"`
	WY     float64      `json:"wy"`
	Radius float64      `json:"radius"`
	Points [][2]float64 `json:"points"`
}

type caseLayer struct {
	caseWords
	Name   string          `json:"name"`
	T      float64         `json:"t"`
	Region json.RawMessage `json:"region"`
	Rest   float64         `json:"rest"`
	K      *float64        `json:"k"`
	KXY    *float64        `json:"k_xy"`
	KZ     *float64        `json:"k_z"`
	Rho    float64         `json:"rho"`
	Cp     float64         `json:"cp"`
	RBelow float64         `json:"r_below"`
	Vias   *caseVias       `json:"vias"`
}

type caseVias struct {
	caseWords
	Areas []caseArea `json:"areas"`
	KZ    float64    `json:"k_z"`
}

type caseFace struct {
	caseWords
	H       float64     `json:"h"`
	Patch   *casePatch  `json:"patch"`
	Patches []casePatch `json:"patches"`
}

type casePatch struct {
	caseArea
	H        *float64 `json:"h"`
	HContact *float64 `json:"h_contact"`
}

type caseSource struct {
	caseWords
	Name     string        `json:"name"`
	X        float64       `json:"x"`
	Y        float64       `json:"y"`
	WX       float64       `json:"wx"`
	WY       float64       `json:"wy"`
	P        float64       `json:"P"`
	Submount *caseSubmount `json:"submount"`
}

type caseSubmount struct {
	caseWords
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

type caseProbe struct {
	caseWords
	Name string  `json:"name"`
	X    float64 `json:"x"`
	Y    float64 `json:"y"`
	Z    float64 `json:"z"`
}

type caseSink struct {
	caseWords
	C float64 `json:"C"`
	G float64 `json:"G"`
}

// described are keys that say something about a case without changing it.
var described = []string{"units", "frame", "title", "source", "method", "results", "checks", "error_estimate_rel", "notes", "comment"}

// IsCase tells whether data looks like a heat case: a JSON object with a board, layers and sources of heat.
func IsCase(data []byte) bool {
	if len(data) > maxCaseBytes {
		return false
	}
	var keys map[string]json.RawMessage
	if json.Unmarshal(data, &keys) != nil {
		return false
	}
	for _, k := range []string{"board", "layers", "sources"} {
		if _, ok := keys[k]; !ok {
			return false
		}
	}
	return true
}

// readCase turns a document into a board, refusing what it does not know.
func readCase(data []byte) (*caseFile, Board, []Source, []Probe, error) {
	fail := func(format string, a ...any) (*caseFile, Board, []Source, []Probe, error) {
		return nil, Board{}, nil, nil, fmt.Errorf("heat case: "+format, a...)
	}
	if len(data) > maxCaseBytes {
		return fail("%d bytes; at most %d are read", len(data), maxCaseBytes)
	}
	var keys map[string]json.RawMessage
	if err := json.Unmarshal(data, &keys); err != nil {
		return fail("not a JSON object: %w", err)
	}
	if err := onceEach(data); err != nil {
		return fail("%w", err)
	}
	for _, k := range described {
		delete(keys, k)
	}
	rest, err := json.Marshal(keys)
	if err != nil {
		return fail("%w", err)
	}
	var f caseFile
	d := json.NewDecoder(bytes.NewReader(rest))
	d.DisallowUnknownFields()
	if err := d.Decode(&f); err != nil {
		return fail("%w", readable(err))
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return fail("something follows the closing brace")
	}
	for _, n := range []struct {
		what      string
		n, atMost int
	}{
		{"sources", len(f.Sources), maxCaseSources},
		{"layers", len(f.Layers), 60},
		{"probes", len(f.Probes), maxCaseParts},
		{"times", len(f.Times), maxCaseParts},
		{"holes", len(f.Board.Holes), maxCaseHoles},
		{"patches", len(f.Top.Patches) + len(f.Back.Patches), maxCaseHoles},
		{"pieces of layers", f.pieces(), maxCaseParts},
	} {
		if n.n > n.atMost {
			return fail("%d %s; at most %d are read", n.n, n.what, n.atMost)
		}
	}
	if err := f.limits(); err != nil {
		return fail("%w", err)
	}
	b, err := f.board()
	if err != nil {
		return fail("%w", err)
	}
	sources, err := f.sources()
	if err != nil {
		return fail("%w", err)
	}
	var probes []Probe
	for _, p := range f.Probes {
		probes = append(probes, Probe{Name: p.Name, XM: p.X, YM: p.Y, DepthM: b.ThicknessM() - p.Z})
	}
	last := 0.0
	for i, t := range f.Times {
		if !(t > last) || math.IsInf(t, 0) {
			return fail("time %d is %g s; times must be above zero and rise", i+1, t)
		}
		last = t
	}
	return &f, b, sources, probes, nil
}

// shape reads a piece: a rectangle by centre and sides, a disc by radius, or a polygon.
func (a *caseArea) shape() geom.Shape {
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

func (f *caseFile) board() (Board, error) {
	b := Board{TopFilmWm2K: f.Top.H, BackFilmWm2K: f.Back.H}
	switch f.Board.Shape {
	case "rect":
		b.Outline = geom.Rectangle(geom.Rect{WidthM: f.Board.LX, HeightM: f.Board.LY})
	case "disc":
		b.Outline = geom.Disc(0, 0, f.Board.Radius)
	case "polygon":
		b.Outline = polygon(f.Board.Points)
	default:
		return b, fmt.Errorf("board has shape %q; use rect, disc or polygon", f.Board.Shape)
	}
	for i := range f.Board.Holes {
		b.Holes = append(b.Holes, f.Board.Holes[i].shape())
	}
	for i := range f.Layers {
		l, err := f.Layers[i].layer()
		if err != nil {
			return b, fmt.Errorf("layer %q: %w", f.Layers[i].Name, err)
		}
		b.Layers = append(b.Layers, l)
	}
	slices.Reverse(b.Layers)
	for _, face := range []Face{Top, Back} {
		s := f.Top
		if face == Back {
			s = f.Back
		}
		patches := s.Patches
		if s.Patch != nil {
			patches = append([]casePatch{*s.Patch}, patches...)
		}
		for i := range patches {
			p := &patches[i]
			switch {
			case p.HContact != nil && p.H != nil:
				return b, fmt.Errorf("patch %d of the %s has both h and h_contact; give one", i+1, face)
			case p.HContact != nil:
				if face != Back || b.Contact != nil {
					return b, errors.New("only one patch, and on the back, may have h_contact")
				}
				if !(*p.HContact > 0) {
					return b, fmt.Errorf("h_contact is %g W/(m²·K); it must be above zero", *p.HContact)
				}
				if f.Sink == nil {
					return b, errors.New("a patch has h_contact but the case has no sink")
				}
				if !(f.Sink.G > 0) {
					return b, fmt.Errorf("sink has G %g W/K; it must be above zero", f.Sink.G)
				}
				b.Contact = &Contact{Area: p.shape(), ResistM2KW: 1 / *p.HContact, SinkWK: f.Sink.G, CapacityJK: f.Sink.C}
			case p.H != nil:
				b.Patches = append(b.Patches, FilmPatch{Face: face, Area: p.shape(), FilmWm2K: *p.H})
			default:
				return b, fmt.Errorf("patch %d of the %s has neither h nor h_contact", i+1, face)
			}
		}
	}
	if f.Sink != nil && b.Contact == nil {
		return b, errors.New("the case has a sink but no patch of the back touches it; give a patch h_contact")
	}
	return b, nil
}

func (c *caseLayer) layer() (Layer, error) {
	l := Layer{Name: c.Name, ThicknessM: c.T, Rest: c.Rest, DensityKgM3: c.Rho, HeatJkgK: c.Cp, JointM2KW: c.RBelow}
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
	pieces, full, err := c.region()
	if err != nil || full {
		return l, err
	}
	var b bounds
	l.Cover = []geom.Shape{}
	for i := range pieces {
		b.area(fmt.Sprintf("piece %d", i+1), &pieces[i])
		l.Cover = append(l.Cover, pieces[i].shape())
	}
	return l, b.err
}

// region reads where a layer is.
func (c *caseLayer) region() (pieces []caseArea, full bool, err error) {
	if len(c.Region) == 0 || string(c.Region) == `"full"` {
		return nil, true, nil
	}
	d := json.NewDecoder(bytes.NewReader(c.Region))
	d.DisallowUnknownFields()
	if err := d.Decode(&pieces); err != nil {
		return nil, false, fmt.Errorf("region is neither \"full\" nor a list of areas: %w", readable(err))
	}
	if pieces == nil {
		return nil, false, errors.New("region is null; say \"full\", or give a list of areas")
	}
	return pieces, false, nil
}

// pieces counts the pieces and vias of all layers; a region that cannot be read has none.
func (f *caseFile) pieces() (n int) {
	for i := range f.Layers {
		if f.Layers[i].Vias != nil {
			n += len(f.Layers[i].Vias.Areas)
		}
		if p, _, err := f.Layers[i].region(); err == nil {
			n += len(p)
		}
	}
	return n
}

func (f *caseFile) sources() ([]Source, error) {
	var out []Source
	seen := map[string]bool{}
	for i := range f.Sources {
		c := &f.Sources[i]
		if seen[c.Name] {
			return nil, fmt.Errorf("two sources are named %q; results go by name", c.Name)
		}
		seen[c.Name] = true
		s := Source{Name: c.Name, Rect: geom.Rect{XM: c.X, YM: c.Y, WidthM: c.WX, HeightM: c.WY}, PowerW: c.P}
		if m := c.Submount; m != nil {
			r := geom.Rect{XM: c.X, YM: c.Y, WidthM: m.WX, HeightM: m.WY}
			if m.X != nil {
				r.XM = *m.X
			}
			if m.Y != nil {
				r.YM = *m.Y
			}
			s.Submount = &Submount{Rect: r, ThicknessM: m.T, KWmK: m.K, AttachM2KW: m.R, DensityKgM3: m.Rho, HeatJkgK: m.Cp}
		}
		out = append(out, s)
	}
	return out, nil
}

// RunCase computes the figures of one case: steady rises, or with a sink and times the rises at those times and in the end.
func RunCase(ctx context.Context, data []byte) (CaseResult, error) {
	return runCase(ctx, data, Options{RelErr: 0.004})
}

func runCase(ctx context.Context, data []byte, o Options) (CaseResult, error) {
	f, b, sources, probes, err := readCase(data)
	if err != nil {
		return CaseResult{}, err
	}
	if len(f.Sources) > manySources {
		o.RelErr = max(o.RelErr, 0.01)
	}
	out := CaseResult{ID: f.ID}
	var r *Response
	if len(f.Times) == 0 {
		if r, err = Unit(ctx, b, sources, probes, o); err != nil {
			return CaseResult{}, fmt.Errorf("heat case %q: %w", f.ID, err)
		}
		out.Results = f.figures(r.At(Powers(sources), r.SinkWK), b.Contact != nil)
	} else {
		t := TimeOptions{Options: o}
		if f.TInitial != nil && f.TAmbient != nil {
			t.InitialK = *f.TInitial - *f.TAmbient
		}
		w, err := Transient(ctx, b, sources, probes, f.Times, t)
		if err != nil {
			return CaseResult{}, fmt.Errorf("heat case %q: %w", f.ID, err)
		}
		var moments []CaseMoment
		for _, m := range append(w.Moments, w.Steady) {
			c := CaseMoment{T: m.TimeS, StoredJ: m.StoredJ, CaseFigures: f.figures(State{MeanK: m.MeanK, MaxK: m.MaxK, ProbeK: m.ProbeK, SinkK: m.SinkK}, b.Contact != nil)}
			if math.IsInf(m.TimeS, 1) {
				c.T = "steady"
			}
			moments = append(moments, c)
		}
		out.Results, r = moments, w.Response
		out.Solver.Steps, out.Solver.EnergyBalance = w.Steps, w.EnergyBalance
	}
	out.Solver.Stats, out.Notes = r.Stats, r.Notes
	state := r.At(Powers(sources), r.SinkWK)
	out.Heat = &CaseHeat{state.TopW, state.BackW, state.SinkW}
	return out, nil
}

// figures names the numbers of a state.
func (f *caseFile) figures(s State, sink bool) CaseFigures {
	c := CaseFigures{TMax: slices.Max(s.MaxK), MeanSource: map[string]float64{}, Probes: map[string]float64{}}
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
