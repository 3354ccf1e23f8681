package heat

import (
	"errors"
	"fmt"
	"math"

	"lampwright/internal/geom"
)

// errNoWayOut is the one thing no steady state survives.
var errNoWayOut = errors.New("no heat transfer coefficient, patch or sink carries heat away, so there is no steady " +
	"state; give a heat transfer coefficient or a sink above zero")

// errOverdrawn is found when the board is cut up.
var errOverdrawn = errors.New("holes overlap or reach off the board; make one hole of two that overlap, and put a " +
	"notch into the outline")

// Layer is one layer of a board. Layers are listed from the top.
type Layer struct {
	Name       string
	ThicknessM float64
	KWmK       float64 // conductivity in the plane [W/(m·K)]
	KzWmK      float64 // and through it; 0 means as in the plane
	JointM2KW  float64 // specific resistance of the joint under the layer [m²·K/W]
	// DensityKgM3 and HeatJkgK matter in time only.
	DensityKgM3, HeatJkgK float64
	// Cover lists where the layer is; nil means everywhere. Elsewhere the layer has the share Rest of its material
	// (0 is none: what lies below is then the surface): less of it in height, which leads less heat along and resists
	// less on the way through.
	Cover []geom.Shape
	Rest  float64
	// Vias lists where heat passes through the layer with the conductivity ViaKzWmK [W/(m·K)] in place of its own.
	Vias     []geom.Shape
	ViaKzWmK float64
}

func (l *Layer) kz() float64 {
	if l.KzWmK == 0 {
		return l.KWmK
	}
	return l.KzWmK
}

// label names a layer in a message.
func (l *Layer) label(i int) string {
	if l.Name == "" {
		return fmt.Sprintf("%d", i+1)
	}
	return fmt.Sprintf("%d (%q)", i+1, l.Name)
}

func (l *Layer) check(i int) error {
	bad := func(v float64) bool { return math.IsNaN(v) || math.IsInf(v, 0) }
	switch {
	case !(l.ThicknessM > 0) || bad(l.ThicknessM):
		return fmt.Errorf("layer %s has thickness %g m; it must be above zero", l.label(i), l.ThicknessM)
	case !(l.KWmK > 0) || bad(l.KWmK):
		return fmt.Errorf("layer %s has conductivity %g W/(m·K); it must be above zero", l.label(i), l.KWmK)
	case l.KzWmK < 0 || bad(l.KzWmK):
		return fmt.Errorf("layer %s has conductivity %g W/(m·K) through it; it must be above zero", l.label(i), l.KzWmK)
	case l.JointM2KW < 0 || bad(l.JointM2KW):
		return fmt.Errorf("the joint under layer %s has resistance %g m²·K/W; it must not be negative", l.label(i),
			l.JointM2KW)
	case l.DensityKgM3 < 0 || l.HeatJkgK < 0 || bad(l.DensityKgM3) || bad(l.HeatJkgK):
		return fmt.Errorf("layer %s has a negative density or heat capacity", l.label(i))
	case l.Rest < 0 || l.Rest > 1 || bad(l.Rest):
		return fmt.Errorf("layer %s keeps the share %g outside its pieces; it must be 0 to 1", l.label(i), l.Rest)
	}
	for k, s := range l.Cover {
		if err := s.Check(); err != nil {
			return fmt.Errorf("piece %d of layer %s: %w", k+1, l.label(i), err)
		}
	}
	if len(l.Vias) > 0 && (!(l.ViaKzWmK > 0) || bad(l.ViaKzWmK)) {
		return fmt.Errorf("layer %s has conductivity %g W/(m·K) through its vias; it must be above zero", l.label(i),
			l.ViaKzWmK)
	}
	for k, s := range l.Vias {
		if err := s.Check(); err != nil {
			return fmt.Errorf("vias %d of layer %s: %w", k+1, l.label(i), err)
		}
	}
	return nil
}

// Board is what the sources sit on. Its plane has x and y in metres from any origin; depth counts down from the top
// face.
type Board struct {
	Outline geom.Shape
	Holes   []geom.Shape // inside the outline, apart from each other
	Layers  []Layer      // top first
	// heat transfer coefficients to ambient [W/(m²·K)], on all of a face that nothing else takes
	TopFilmWm2K, BackFilmWm2K float64
	Patches                   []CoefficientPatch // areas with a heat transfer coefficient of their own
	Contact                   *Contact           // area of the back that touches a sink; nil if none does

	near *zone // where pieces and vias are as listed; nil is everywhere
}

// Face is one side of the board.
type Face string

// The two faces.
const (
	Top  Face = "top"
	Back Face = "back"
)

// CoefficientPatch is an area of a face with its own heat transfer coefficient. Where patches overlap the first one
// counts.
type CoefficientPatch struct {
	Face     Face
	Area     geom.Shape
	FilmWm2K float64
}

// Contact couples an area of the back to a sink through a joint. It takes its area before any patch does.
//
// The sink is a heat transfer coefficient behind the joint where FilmWm2K is set, and otherwise one node with the
// conductance SinkWK to ambient; SinkWK zero is an ideal sink that stays at ambient. CapacityJK matters in time only.
type Contact struct {
	Area       geom.Shape
	ResistM2KW float64 // specific resistance of the joint (paste, gap, flatness) [m²·K/W]
	FilmWm2K   float64
	SinkWK     float64
	CapacityJK float64
}

// Source is an area that sends heat into the top face, evenly.
type Source struct {
	Name   string
	Rect   geom.Rect
	PowerW float64
	// Submount is the ceramic block under the source, on top of the board; nil if the source heats the board itself.
	Submount *Submount
}

// Submount is a block between a source and the board. Its sides pass no heat.
type Submount struct {
	Rect       geom.Rect // its footprint; it must hold the source
	ThicknessM float64
	KWmK       float64
	AttachM2KW float64 // specific resistance of the solder or glue under it [m²·K/W]
	// DensityKgM3 and HeatJkgK matter in time only.
	DensityKgM3, HeatJkgK float64
}

// Probe is a place whose temperature is asked for: DepthM under the nominal top face (0 is the surface, whatever it is
// made of there).
type Probe struct {
	Name   string
	XM, YM float64
	DepthM float64
}

// ThicknessM is the height of the whole stack [m].
func (b *Board) ThicknessM() float64 {
	t := 0.0
	for i := range b.Layers {
		t += b.Layers[i].ThicknessM
	}
	return t
}

// Check reports everything that keeps a board, its sources and its probes from being solved. steady asks for a way out
// of the heat as well.
func Check(b Board, sources []Source, probes []Probe, steady bool) error {
	var errs []error
	add := func(format string, a ...any) { errs = append(errs, fmt.Errorf(format, a...)) }
	outlineOK := true
	if err := b.Outline.Check(); err != nil {
		add("board outline: %w", err)
		outlineOK = false
	}
	for i, h := range b.Holes {
		if err := h.Check(); err != nil {
			add("hole %d: %w", i+1, err)
			outlineOK = false
		}
	}
	if len(b.Layers) == 0 {
		add("board has no layers; give at least its base")
	}
	for i := range b.Layers {
		if err := b.Layers[i].check(i); err != nil {
			errs = append(errs, err)
		}
	}
	errs = append(errs, b.checkFaces()...)
	if steady && b.isolated() {
		errs = append(errs, errNoWayOut)
	}
	if len(sources) == 0 {
		add("board has no sources of heat")
	}
	for i := range sources {
		s := &sources[i]
		if err := s.check(); err != nil {
			add("source %s: %w", s.label(i), err)
			continue
		}
		if !outlineOK {
			continue
		}
		if !b.holds(s.Rect) {
			add("source %s at (%g, %g) m reaches off the board; move it inside the outline and clear of holes",
				s.label(i), s.Rect.XM, s.Rect.YM)
		} else if s.Submount != nil && !b.holds(s.Submount.Rect) {
			add("submount of source %s reaches off the board", s.label(i))
		}
	}
	for i := range sources {
		for j := range i {
			if a, c := sources[i].Submount, sources[j].Submount; a != nil && c != nil && overlap(a.Rect, c.Rect) {
				add("submounts of sources %s and %s overlap", sources[j].label(j), sources[i].label(i))
			}
		}
	}
	for i, p := range probes {
		if outlineOK && !b.contains(p.XM, p.YM) {
			add("probe %d (%q) at (%g, %g) m lies off the board", i+1, p.Name, p.XM, p.YM)
		}
		if t := b.ThicknessM(); !(p.DepthM >= -1e-9 && p.DepthM <= t*(1+1e-9)+1e-12) {
			add("probe %d (%q) lies %g m deep in a board of %g m", i+1, p.Name, p.DepthM, t)
		}
	}
	return errors.Join(errs...)
}

// checkFaces reports what is wrong with heat transfer coefficients, patches and contact.
func (b *Board) checkFaces() []error {
	var errs []error
	add := func(format string, a ...any) { errs = append(errs, fmt.Errorf(format, a...)) }
	film := func(what string, h float64) {
		if !(h >= 0) || math.IsInf(h, 0) {
			add("%s has heat transfer coefficient %g W/(m²·K); it must be zero or more, and finite", what, h)
		}
	}
	film("top face", b.TopFilmWm2K)
	film("back face", b.BackFilmWm2K)
	for i, p := range b.Patches {
		what := fmt.Sprintf("patch %d", i+1)
		film(what, p.FilmWm2K)
		if p.Face != Top && p.Face != Back {
			add("%s lies on face %q; use top or back", what, p.Face)
		}
		if err := p.Area.Check(); err != nil {
			add("%s: %w", what, err)
		}
	}
	if c := b.Contact; c != nil {
		if err := c.Area.Check(); err != nil {
			add("contact with the sink: %w", err)
		}
		film("sink heat transfer coefficient behind the contact", c.FilmWm2K)
		if !(c.ResistM2KW >= 0) || math.IsInf(c.ResistM2KW, 0) {
			add("joint to the sink has resistance %g m²·K/W; it must be zero or more", c.ResistM2KW)
		}
		if !(c.SinkWK >= 0) {
			add("sink has conductance %g W/K; it must be zero (ideal) or more", c.SinkWK)
		}
		if !(c.CapacityJK >= 0) {
			add("sink has heat capacity %g J/K; it must be zero or more", c.CapacityJK)
		}
	}
	return errs
}

// isolated reports whether no heat can leave the board.
func (b *Board) isolated() bool {
	if b.TopFilmWm2K > 0 || b.BackFilmWm2K > 0 || b.Contact != nil {
		return false
	}
	for _, p := range b.Patches {
		if p.FilmWm2K > 0 {
			return false
		}
	}
	return true
}

func (s *Source) label(i int) string {
	if s.Name == "" {
		return fmt.Sprintf("%d", i+1)
	}
	return fmt.Sprintf("%d (%q)", i+1, s.Name)
}

func (s *Source) check() error {
	if err := geom.Rectangle(s.Rect).Check(); err != nil {
		return err
	}
	if math.IsNaN(s.PowerW) || math.IsInf(s.PowerW, 0) {
		return fmt.Errorf("power %g W is not a number", s.PowerW)
	}
	m := s.Submount
	if m == nil {
		return nil
	}
	if err := geom.Rectangle(m.Rect).Check(); err != nil {
		return fmt.Errorf("submount: %w", err)
	}
	if !(m.ThicknessM > 0) || !(m.KWmK > 0) || !(m.AttachM2KW >= 0) || math.IsInf(m.ThicknessM+m.KWmK+m.AttachM2KW, 0) {
		return fmt.Errorf("submount of %g m, %g W/(m·K) on a joint of %g m²·K/W; thickness and conductivity must be "+
			"above zero", m.ThicknessM, m.KWmK, m.AttachM2KW)
	}
	if m.DensityKgM3 < 0 || m.HeatJkgK < 0 {
		return errors.New("submount has a negative density or heat capacity")
	}
	block := geom.Rectangle(m.Rect)
	for _, p := range inset(s.Rect) {
		if !block.Contains(p.XM, p.YM) {
			return errors.New("the source reaches beyond its submount")
		}
	}
	return nil
}

// inset gives the corners of r drawn in by a millionth, so that a source may touch an edge.
func inset(r geom.Rect) []geom.Point {
	r.WidthM *= 1 - 2e-6
	r.HeightM *= 1 - 2e-6
	return r.Corners()
}

// contains reports whether a point is on the board and in no hole.
func (b *Board) contains(x, y float64) bool {
	// a point on the rim is on the board, also where the rim is a polygon
	const slack = 1e-9
	in := false
	for _, d := range [5][2]float64{{0, 0}, {slack, slack}, {-slack, slack}, {slack, -slack}, {-slack, -slack}} {
		in = in || b.Outline.Contains(x+d[0], y+d[1])
	}
	for _, h := range b.Holes {
		in = in && !h.Contains(x, y)
	}
	return in
}

// holds reports whether a rectangle lies on the board and clear of holes: by its area where it is upright, and by its
// corners, those of half its size and the middles of holes where it is turned.
func (b *Board) holds(r geom.Rect) bool {
	if r.AxisAligned() {
		const slack = 2e-6 // as in inset
		x0, x1, y0, y1 := geom.Rectangle(r).Bounds()
		if b.Outline.AreaWithinM2(x0, x1, y0, y1) < (1-slack)*r.WidthM*r.HeightM {
			return false
		}
		for _, h := range b.Holes {
			if h.AreaWithinM2(x0, x1, y0, y1) > slack*r.WidthM*r.HeightM {
				return false
			}
		}
		return true
	}
	x := r
	for _, scale := range [2]float64{1, 0.5} {
		x.WidthM, x.HeightM = scale*r.WidthM, scale*r.HeightM
		for _, p := range inset(x) {
			if !b.contains(p.XM, p.YM) {
				return false
			}
		}
	}
	for _, h := range b.Holes { // a small hole may fit between the corners
		x0, x1, y0, y1 := h.Bounds()
		if geom.Rectangle(r).Contains((x0+x1)/2, (y0+y1)/2) {
			return false
		}
	}
	return b.contains(r.XM, r.YM)
}

// overlap reports whether two rectangles share area, to a millionth of their sides.
func overlap(a, b geom.Rect) bool {
	ca, cb := inset(a), inset(b)
	for _, r := range [2]geom.Rect{a, b} { // a line along a side of either parts two rectangles that do not overlap
		s, c := math.Sincos(r.AngleRad)
		for _, axis := range [2][2]float64{{c, s}, {-s, c}} {
			span := func(p []geom.Point) (lo, hi float64) {
				lo, hi = math.Inf(1), math.Inf(-1)
				for _, q := range p {
					v := q.XM*axis[0] + q.YM*axis[1]
					lo, hi = min(lo, v), max(hi, v)
				}
				return lo, hi
			}
			alo, ahi := span(ca)
			blo, bhi := span(cb)
			if ahi <= blo || bhi <= alo {
				return false
			}
		}
	}
	return true
}
