package heat

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"hash"
	"math"

	"lampwright/internal/geom"
)

// zone is the disc about a source within which the pieces and vias of layers are where they are listed. Beyond it a
// layer has their mean over the board, which no source changes by where it is.
type zone struct {
	XM, YM, RadiusM float64
	// by layer: the share of its material that does along the board what its pieces do, and the fraction of vias that
	// does through it what its vias do
	Share, Via []float64
}

func (z *zone) holds(xM, yM float64) bool { return math.Hypot(xM-z.XM, yM-z.YM) < z.RadiusM }

// near returns those of some shapes that reach into the zone; nil stays nil.
func (z *zone) near(shapes []geom.Shape) []geom.Shape {
	if shapes == nil {
		return nil
	}
	out := []geom.Shape{}
	for _, s := range shapes {
		x0, x1, y0, y1 := s.Bounds()
		if math.Hypot((x0+x1)/2-z.XM, (y0+y1)/2-z.YM) < z.RadiusM+math.Hypot(x1-x0, y1-y0)/2 {
			out = append(out, s)
		}
	}
	return out
}

// part is what the field of one source, or that of the sink, depends on.
type part struct {
	b       Board
	sources []Source // itself alone, or all where blocks stand on the board
	own     int      // its number among them, or focusSink
}

// parts divides a board among its sources, and last the sink if it is a node. What is far from a source, it does not
// know: its part stays as it is where another source moves there.
func (a *request) parts(total int) []part {
	out := make([]part, total)
	blocks, pieces := false, false
	for i := range a.sources {
		blocks = blocks || a.sources[i].Submount != nil
	}
	area := a.b.Outline.AreaM2()
	for _, h := range a.b.Holes {
		area -= h.AreaM2()
	}
	fraction := func(shapes []geom.Shape) float64 {
		sum := 0.0
		for _, s := range shapes {
			sum += s.AreaM2()
		}
		return min(1, sum/area)
	}
	mean := zone{}
	for i := range a.b.Layers {
		l := &a.b.Layers[i]
		pieces = pieces || l.Cover != nil || l.Vias != nil
		mean.Share = append(mean.Share, meanShare(a.b, i, fraction(l.Cover)))
		mean.Via = append(mean.Via, meanVias(a.b, i, fraction(l.Vias)))
	}
	reach := reachOf(a.b)
	for i := range out {
		out[i] = part{b: *a.b, sources: a.sources, own: a.focusOf(i)}
		if i == len(a.sources) || blocks {
			continue
		}
		out[i].sources, out[i].own = a.sources[i:i+1], 0
		if !pieces || math.IsInf(reach, 1) {
			continue
		}
		r := a.sources[i].Rect
		z := mean
		z.XM, z.YM, z.RadiusM = r.XM, r.YM, reach+math.Hypot(r.WidthM, r.HeightM)/2
		out[i].b.near = &z
		out[i].b.Layers = append([]Layer(nil), a.b.Layers...)
		for k := range out[i].b.Layers {
			l := &out[i].b.Layers[k]
			l.Cover, l.Vias = z.near(l.Cover), z.near(l.Vias)
		}
	}
	return out
}

// meanShare is the share of a layer's material that leads heat along the board as its pieces do, which take a
// fraction f of it:
//
//	s = s_rest (1 + f β)/(1 − f β), β = (s_full − s_rest)/(s_full + s_rest)
//
// s is the conductance of the board as a sheet, with the whole of the layer, with its rest, with the share.
// Source: derived, as Maxwell's mean of a sheet with round pieces in it.
func meanShare(b *Board, layer int, fraction float64) float64 {
	others := 0.0
	for i := range b.Layers {
		if i != layer {
			others += b.Layers[i].KWmK * b.Layers[i].ThicknessM
		}
	}
	l := &b.Layers[layer]
	own := l.KWmK * l.ThicknessM
	rest := others + l.Rest*own
	beta := fraction * (1 - l.Rest) * own / (others + own + rest)
	return (rest*(1+beta)/(1-beta) - others) / own
}

// meanVias is the fraction of vias that lets heat through a layer to its way out as its vias do, which take a
// fraction f of the board:
//
//	1/(t/k + R) = f/(t/k_via + R) + (1 − f)/(t/k_rest + R)
//
// R is the specific resistance from the layer to the sink or the air. Source: Ohm's law of heat.
func meanVias(b *Board, layer int, fraction float64) float64 {
	l := &b.Layers[layer]
	if fraction == 0 || l.ViaKzWmK == l.kz() {
		return 0
	}
	out := 0.0
	for i := layer; i < len(b.Layers); i++ {
		out += b.Layers[i].JointM2KW
		if i > layer {
			out += b.Layers[i].ThicknessM / b.Layers[i].kz()
		}
	}
	switch c := b.Contact; {
	case c == nil && b.BackFilmWm2K == 0:
		return 0
	case c == nil:
		out += 1 / b.BackFilmWm2K
	case c.FilmWm2K > 0:
		out += c.ResistM2KW + 1/c.FilmWm2K
	default:
		out += c.ResistM2KW
	}
	each := fraction/(l.ThicknessM/l.ViaKzWmK+out) + (1-fraction)/(l.ThicknessM/l.kz()+out)
	return (l.ThicknessM/(1/each-out) - l.kz()) / (l.ViaKzWmK - l.kz())
}

// beyondZone gives the columns out of the zone the mean of a layer's pieces, or of its vias.
func (z *zone) beyondZone(shares []float64, g *grid, mean float64) {
	if shares == nil {
		return
	}
	for col := range shares {
		i, j := col%g.nx(), col/g.nx()
		if !z.holds((g.x[i]+g.x[i+1])/2, (g.y[j]+g.y[j+1])/2) {
			shares[col] = mean
		}
	}
}

// method is part of every key: raise it when the same board has another answer.
const method = "field 4"

// Key is a hash of just what a Response depends on: not the watts, not the conductance of the sink, no names.
func Key(b Board, sources []Source, probes []Probe, o Options) string {
	h := sha256.New()
	writeKey(h, &b, sources, o)
	for _, p := range probes {
		p.Name = ""
		writeValue(h, p)
	}
	return hex.EncodeToString(h.Sum(nil))
}

// key is a hash of what the field of a part depends on.
func (p *part) key(o Options) string {
	h := sha256.New()
	writeKey(h, &p.b, p.sources, o)
	writeValue(h, p.b.near)
	writeValue(h, p.own)
	return hex.EncodeToString(h.Sum(nil))
}

func writeKey(h hash.Hash, b *Board, sources []Source, o Options) {
	kept := *b
	kept.Layers = append([]Layer(nil), b.Layers...)
	for i := range kept.Layers {
		kept.Layers[i].Name, kept.Layers[i].DensityKgM3, kept.Layers[i].HeatJkgK = "", 0, 0
	}
	if b.Contact != nil {
		c := *b.Contact
		c.SinkWK, c.CapacityJK = 0, 0
		kept.Contact = &c
	}
	writeValue(h, kept)
	for _, s := range sources {
		writeValue(h, s.Rect)
		if s.Submount != nil {
			m := *s.Submount
			m.DensityKgM3, m.HeatJkgK = 0, 0
			writeValue(h, m)
		}
	}
	writeValue(h, []any{o.RelErr, o.Across, o.Grids, o.MaxCells, o.Tol, o.OneGrid, method})
}

func writeValue(h hash.Hash, v any) {
	if err := json.NewEncoder(h).Encode(v); err != nil { // only for what Check refuses: not a number, or infinite
		fmt.Fprintf(h, "%+v", v)
	}
}
