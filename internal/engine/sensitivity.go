package engine

import (
	"context"
	"fmt"
	"math"
	"slices"

	"lampwright/internal/geom"
	"lampwright/internal/heat"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
)

// sensitivity is the change of the board's unit responses with an uncertain property: rise of each place over the heat
// sink per watt of an emitter into it, at either limit of the property's range.
type sensitivity struct {
	used, lo, hi float64
	atLo, atHi   [][]float64 // [at][from]: the emitters, and last the readings [K/W]
}

// add adds the effect of a value to spread, linear to either side of the value of the solved responses.
func (s *sensitivity) add(spread [][]float64, value float64) {
	var at [][]float64
	share := 0.0
	switch {
	case s == nil:
		return
	case value < s.used && s.lo < s.used:
		at, share = s.atLo, (s.used-value)/(s.used-s.lo)
	case value > s.used && s.hi > s.used:
		at, share = s.atHi, (value-s.used)/(s.hi-s.used)
	default:
		return
	}
	for i, row := range at {
		for j, k := range row {
			spread[i][j] += share * k
		}
	}
}

// BoardChange is what varies of a board: the specific resistance of the TIM over the nominal one, copper coverage, the
// resistance of the laminate beneath the pads over the nominal one, and the factor of the method's error on the rises
// over the heat sink.
type BoardChange struct{ TIMM2KW, Coverage, Laminate, Field float64 }

// With returns the board with a change.
func (b *BoardResponse) With(c BoardChange) *BoardResponse {
	if c.TIMM2KW == 0 && (b.cover == nil || c.Coverage == b.cover.used) && c.Laminate == 1 && c.Field == 1 {
		return b
	}
	out := *b
	n := len(b.ToSink)
	flat := make([]float64, n*len(b.Spread))
	out.Spread = make([][]float64, len(b.Spread))
	for i := range out.Spread {
		out.Spread[i] = flat[i*n : (i+1)*n : (i+1)*n]
		copy(out.Spread[i], b.Spread[i])
	}
	b.tim.add(out.Spread, c.TIMM2KW)
	b.cover.add(out.Spread, c.Coverage)
	b.laminate.add(out.Spread, c.Laminate)
	out.scaleField(c.Field)
	return &out
}

// scaleField multiplies the rises over the heat sink by a factor.
func (b *BoardResponse) scaleField(factor float64) {
	if factor == 1 {
		return
	}
	n := len(b.ToSink)
	for i, to := range b.Spread {
		from := []float64(nil)
		if i < n {
			from = b.Heat.MeanKW[i]
		} else {
			from = b.readings[i-n].kw
		}
		for j, k := range from {
			if b.ToSink[j] > 0 {
				to[j] += (factor - 1) * (to[j] + k/b.ToSink[j])
			}
		}
	}
}

// plateModes is the number of modes per axis for the effects of TIM and laminate. That of the TIM is a difference of
// two smooth fields, since the TIM is beneath the core; that of the laminate beneath a pad of 2 mm on a board of 110 mm
// is 2 % short of its limit with 80 modes.
const plateModes = 80

// plateSensitivity computes the effects of the ranges of the TIM and of the laminate beneath each emitter [K/W]:
//
//	Δ_ij = θ_ij(R_i, R_l) − θ_ij(R_i nominal, R_l nominal), one of the two at an end of its range
//
// θ is the mean rise at pad i for 1 W in pad j of a plate of the board's layers with heat transfer coefficient 1/R_i
// beneath it, by the exact series; R_l is the resistance of the dielectric, or of the core with its vias. The
// plate has the size of the contact; a pad beyond it is moved to its edge.
// Source: Muzychka2003 (compound plate).
func plateSensitivity(l *lamp.Lamp, out *BoardResponse) error {
	typical, lo, hi := timRange(l)
	plate, feet, ok := contactPlate(l, out.Feet())
	if !ok {
		return nil // no contact, which the field reports
	}
	at := func(resistM2KW, laminate float64) ([][]float64, error) {
		p := plate
		p.BackFilmWm2K = 1 / resistM2KW
		p.Layers = slices.Clone(p.Layers)
		scaleLaminate(l, p.Layers, laminate)
		unit, err := p.Unit(feet, plateModes)
		if err != nil {
			return nil, fmt.Errorf("range of the TIM and the laminate: %w", err)
		}
		return unit, nil
	}
	base, err := at(typical, 1)
	if err != nil {
		return err
	}
	thin, thick := l.LaminateRange()
	tim := &sensitivity{lo: lo - typical, hi: hi - typical}
	laminate := &sensitivity{used: 1, lo: thin, hi: thick}
	for _, end := range []struct {
		to               *[][]float64
		resist, laminate float64
	}{{&tim.atLo, lo, 1}, {&tim.atHi, hi, 1}, {&laminate.atLo, typical, thin}, {&laminate.atHi, typical, thick}} {
		*end.to = zeroes(len(feet), len(l.Emitters))
		if end.resist == typical && end.laminate == 1 {
			continue
		}
		unit, err := at(end.resist, end.laminate)
		if err != nil {
			return err
		}
		*end.to = minus(unit, base, len(l.Emitters))
	}
	out.tim, out.laminate = tim, laminate
	return nil
}

// jointLearned tells whether readings told a resistance between the pads and the heat sink.
func jointLearned(l *lamp.Lamp) bool {
	return slices.ContainsFunc([]int{l.Param.TIM, l.Param.Dielectric, l.Param.DielectricK}, func(param int) bool {
		return l.Params[param].Learned != nil
	})
}

// The range of a TIM without a stated one, over its specific resistance, within which its effect is computed.
const (
	thinTIM  = 0.7
	thickTIM = 1.5
)

// timRange returns the specific resistance between board and heat sink as the datasheet states it, and the ends at
// which its effect is computed [m²·K/W]: those of its tolerance, and a learned value beyond them.
func timRange(l *lamp.Lamp) (typical, lo, hi float64) {
	typical, lo, hi = l.InterfaceM2KW()
	if lo == typical {
		lo *= thinTIM
	}
	if hi == typical {
		hi *= thickTIM
	}
	if v := l.Params[l.Param.TIM].Learned; v != nil {
		lo, hi = math.Min(lo, math.Max(typical+v.Mean, leastLearned*typical)), math.Max(hi, typical+v.Mean)
	}
	return typical, lo, hi
}

// contactPlate returns the board over its contact with the heat sink as a plate, and the footprints of the emitters and
// the readings on it; false where there is no contact.
func contactPlate(l *lamp.Lamp, readings []geom.Rect) (plate heat.Plate, feet []geom.Rect, ok bool) {
	x, y, length, width := l.ContactOf()
	x0, x1, y0, y1 := l.Design.Board.Outline().Bounds()
	x0, x1 = math.Max(x-length/2, x0), math.Min(x+length/2, x1)
	y0, y1 = math.Max(y-width/2, y0), math.Min(y+width/2, y1)
	if x1 <= x0 || y1 <= y0 {
		return plate, nil, false
	}
	cx, cy := (x0+x1)/2, (y0+y1)/2
	even := math.Sqrt(l.ContactAreaM2() / ((x1 - x0) * (y1 - y0))) // corrects for corners and holes
	w, h := (x1-x0)*even, (y1-y0)*even
	for _, r := range append(padsOf(l), readings...) {
		feet = append(feet, within(r, cx, cy, w, h))
	}
	plate = heat.Plate{WidthM: w, HeightM: h}
	for _, layer := range boardLayers(l, nil) {
		if layer.Name == "copper" {
			layer.KWmK *= math.Max(layer.Rest, 0.01) // full beneath the pads; beside them it spreads
		}
		if l.Stack.ThermalPath.S == project.PathVias && layer.Name == "core" {
			layer.KzWmK = l.Stack.ViaK.SI // conducts the heat down
		}
		layer.Vias, layer.Cover, layer.Rest = nil, nil, 0
		plate.Layers = append(plate.Layers, layer)
	}
	return plate, feet, true
}

// scaleLaminate multiplies the resistance of the laminate beneath the pads by a factor.
func scaleLaminate(l *lamp.Lamp, layers []heat.Layer, factor float64) {
	for i := range layers {
		switch l.Stack.ThermalPath.S {
		case project.PathDielectric:
			if layers[i].Name == "dielectric" {
				layers[i].KWmK /= factor
			}
		case project.PathVias:
			if layers[i].Name == "core" {
				layers[i].KzWmK /= factor
			}
		}
	}
}

// zeroes returns a matrix of zeroes.
func zeroes(rows, columns int) [][]float64 {
	out := make([][]float64, rows)
	for i := range out {
		out[i] = make([]float64, columns)
	}
	return out
}

// padsOf returns the thermal pads.
func padsOf(l *lamp.Lamp) (out []geom.Rect) {
	for i := range l.Emitters {
		out = append(out, l.PadRect(i))
	}
	return out
}

// within moves a rectangle into a plate about a centre, and cuts it to its size.
func within(r geom.Rect, cx, cy, width, height float64) geom.Rect {
	w, h := math.Min(r.WidthM, width), math.Min(r.HeightM, height)
	inside := func(at, half, size float64) float64 {
		return math.Min(math.Max(at, half-size/2), size/2-half)
	}
	return geom.Rect{XM: inside(r.XM-cx, w/2, width), YM: inside(r.YM-cy, h/2, height), WidthM: w, HeightM: h}
}

// minus returns the difference of two unit responses for the first n sources.
func minus(a, b [][]float64, n int) [][]float64 {
	out := make([][]float64, len(a))
	for i := range a {
		out[i] = make([]float64, n)
		for j := range n {
			out[i][j] = a[i][j] - b[i][j]
		}
	}
	return out
}

// copperSensitivity computes the effect of copper coverage where the design does not state it: the board's field at the
// low limit of the usual range minus that at the assumed coverage. The rises are proportional to the logarithm of the
// coverage, which gives the high limit: on a board of one die 0.310 K/W at 50 % and −0.114 K/W at 95 %, −0.113 K/W by
// the logarithm (a fit to the solver). As a difference of two fields known to 2 % it is good to about 20 % of a range
// that is itself an estimate. Preview omits it, except where the coverage was learned from readings.
func copperSensitivity(ctx context.Context, l *lamp.Lamp, out *BoardResponse, o Options) error {
	omitted := o.Preview && l.Params[l.Param.CopperCoverage].Learned == nil
	if _, stated := l.CoverageOf(); stated || l.Stack.ThermalPath.S == project.PathDirect || omitted {
		return nil
	}
	board, sources := HeatBoard(l)
	readings := slices.Clone(out.readings)
	probes := probesOf(readings)
	s := &sensitivity{used: lamp.AssumedCoverage.Used, lo: lamp.AssumedCoverage.Lo, hi: lamp.AssumedCoverage.Hi}
	for i := range board.Layers {
		if board.Layers[i].Name == "copper" {
			board.Layers[i].Rest = s.lo
		}
	}
	r, err := o.UsedSolver().Board(ctx, board, sources, probes, heat.Options{RelErr: o.HeatError()})
	if err != nil {
		return fmt.Errorf("range of the copper coverage: %w", err)
	}
	rows := func(r *heat.Response, readings []Reading) [][]float64 {
		all := slices.Clone(r.MeanKW)
		for i := range readings {
			all = append(all, readings[i].of(r.ProbeKW))
		}
		return all
	}
	s.atLo = minus(rows(r, readings), rows(out.Heat, out.readings), len(sources))
	toHi := math.Log(s.hi/s.used) / math.Log(s.lo/s.used)
	for _, row := range s.atLo {
		high := make([]float64, len(row))
		for j := range row {
			if into := out.ToSink[j]; into > 0 {
				row[j] /= into
			}
			high[j] = toHi * row[j]
		}
		s.atHi = append(s.atHi, high)
	}
	out.cover = s
	return nil
}
