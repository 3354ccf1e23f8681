package design

import (
	"context"
	"fmt"
	"math"

	"lampwright/internal/light"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/spectrum"
)

// bandHalfNM is half the width of a band.
const bandHalfNM = 10

// cellM returns the edge of the cells of the light maps [m].
func (o Options) cellM(l *Lamp) float64 {
	if o.CellM > 0 {
		return o.CellM
	}
	in := l.Design.Installation.Inside
	return math.Max(0.02, math.Max(in.Length.SI, in.Width.SI)/50)
}

// tank returns the place as the light room knows it.
func (l *Lamp) tank() (light.Tank, error) {
	p := l.Design.Installation
	t := light.Tank{LengthM: p.Inside.Length.SI, WidthM: p.Inside.Width.SI}
	if p.Kind.S == project.Bench {
		return t, nil
	}
	t.HeightM, t.WaterDepthM, t.SubstrateM, t.GlassM = p.Inside.Height.SI, p.Water.SI, p.Substrate.SI, p.Glass.SI
	t.SubstrateSlopeX, t.SubstrateSlopeY = p.RiseM()
	if t.WaterDepthM == 0 {
		t.Bands = []light.Band{{SubstrateReflectance: p.Reflectance.SI}}
		return t, nil
	}
	water, err := l.water()
	if err != nil {
		return t, err
	}
	// On maps, light that particles scatter forward counts as light that goes on straight: of b only (1 − g) b is taken
	// off, which is what the loss of downward light comes to while little is absorbed.
	water.ScatterPerM *= 1 - light.ForwardScattering
	t.Bands = light.BandsFor(bandsNM, water, p.Reflectance.SI)
	return t, nil
}

// water returns what is in the water: as measured, or as the word for it says.
func (l *Lamp) water() (light.Water, error) {
	p := l.Design.Installation
	word := p.WaterTint.S
	if word == "" {
		word = project.TintClear
	}
	w, err := light.NamedWater(string(word))
	if loss := p.WaterTransmittance; loss != nil {
		w, err = light.WaterFromLoss(bandsNM, l.seenBy(loss.Meter.S), loss.PathLength.SI, loss.Transmittance.SI)
	}
	if err != nil || !p.BlackDiscRange.Set {
		return w, err
	}
	// A black disc goes out of sight at y = 4.8/c, c the beam's attenuation a + b at about 550 nm.
	// Source: DaviesColley1988, from memory.
	if w.ScatterPerM = 4.8/p.BlackDiscRange.SI - light.Absorption(550, w); w.ScatterPerM < 0 {
		w.ScatterPerM = 0
		w.Notes = append(w.Notes, fmt.Sprintf("a visibility of %s is more than water of this colour has without any particles", quantity.Format(p.BlackDiscRange.SI, quantity.Length)))
	}
	return w, nil
}

// waterNotes returns what to know about the water.
func (l *Lamp) waterNotes() []string {
	if l.Design.Installation.Water.SI == 0 {
		return nil
	}
	w, err := l.water()
	if err != nil {
		return nil // tank has said so
	}
	return w.Notes
}

// seenBy returns how a meter sees the light of this lamp shared over the bands.
func (l *Lamp) seenBy(meter project.MeterKind) []float64 {
	out := make([]float64, len(bandsNM))
	weights := l.bandWeights(len(bandsNM))
	p := l.nominal()
	for e := range l.Emitters {
		k := l.Emitters[e].Kind
		w := l.Channels[l.Emitters[e].Channel].Duty() * l.state(p, e, l.Kinds[k].Model.TestJunctionK).RadiantW * p.lens[l.Emitters[e].Optic]
		for b := range out {
			if meter == project.MeterPAR {
				out[b] += w * weights[k].umolJ[b]
			} else {
				out[b] += w * weights[k].lmW[b]
			}
		}
	}
	return out
}

// lensLevelM returns the height of the lens fronts over the inside bottom, or over the bench [m].
func (l *Lamp) lensLevelM() float64 {
	p := l.Design.Installation
	return math.Max(p.Water.SI, p.Substrate.SI) + p.Hanging.SI
}

// sources returns the emitters as the light room knows them: in the place, the lamp tilted about the centre of its board.
func (l *Lamp) sources() []light.Emitter {
	off := l.Design.Installation.Offset
	centre := [3]float64{off.X.SI, off.Y.SI, l.lensLevelM()}
	tilt, to := l.Design.Installation.TiltRad()
	out := make([]light.Emitter, len(l.Emitters))
	for i := range l.Emitters {
		e := l.onBoard(i)
		e.XM, e.YM, e.ZM = centre[0]+e.XM, centre[1]+e.YM, centre[2]
		out[i] = e.Tilted(tilt, to, centre)
	}
	return out
}

// onBoard returns an emitter as it sits on the board, from its centre, with the lamp level.
func (l *Lamp) onBoard(i int) light.Emitter {
	e := &l.Emitters[i]
	tilt, to := e.Use.AimRad(e.Point)
	return light.Emitter{
		Name: e.Label, XM: e.XM, YM: e.YM, Distribution: l.Optics[e.Optic].Pattern, LensDiameterM: l.brightM(e),
		TiltRad: tilt, TiltAzimuthRad: to, RollRad: e.Use.Rotation.SI,
	}
}

// dropM returns how much lower than the centre of the board the lowest lens hangs, as the lamp is tilted [m].
func (l *Lamp) dropM() float64 {
	drop := 0.0
	for i := range l.Emitters {
		drop = math.Max(drop, -l.Design.Installation.RiseOfLens(l.Emitters[i].Point))
	}
	return drop
}

// brightM returns the diameter of the bright opening of an emitter: its lens, or the side of its bare body [m].
func (l *Lamp) brightM(e *Emitter) float64 {
	if lens := l.Optics[e.Optic].Lens; lens != nil {
		return lens.Diameter.SI
	}
	return l.Kinds[e.Kind].Part.Body.Length.SI
}

// cellsOver covers the place with cells of about an edge [m], at least so many a side.
func cellsOver(t light.Tank, cellM float64, least int) light.Grid {
	n := func(lengthM float64) int { return max(least, int(math.Ceil(lengthM/cellM-1e-9))) }
	return light.Grid{NX: n(t.LengthM), NY: n(t.WidthM)}
}

// solveLight finds the light of each emitter per watt, on the water and at the target, by every way that panes throw it.
// What a level substrate sends up and the water sends back is in it.
func (l *Lamp) solveLight(ctx context.Context, o Options) (*unitLight, error) {
	t, err := l.tank()
	if err != nil {
		return nil, fmt.Errorf("light in the installation: %w", err)
	}
	cell := o.cellM(l)
	grid := cellsOver(t, cell, 2)
	emitters := l.sources()
	u := &unitLight{notes: l.waterNotes()}
	for _, left := range l.LeftOut() {
		u.notes = append(u.notes, "left out here: "+left+"; `lampwright trace` follows it")
	}
	weights := l.bandWeights(max(len(t.Bands), 1))
	if u.target, err = l.unitMap(ctx, o, t, emitters, t.Substrate(), grid, weights, &u.notes); err != nil {
		return nil, err
	}
	if t.WaterDepthM > 0 {
		if u.surface, err = l.unitMap(ctx, o, t, emitters, t.Surface(), grid, weights, &u.notes); err != nil {
			return nil, err
		}
	}
	if u.shares, err = light.EachDirectFractions(t, emitters); err != nil {
		return nil, fmt.Errorf("shares of the light: %w", err)
	}
	for i, s := range u.shares {
		reaches := l.arriving(i, u.target, weights)
		if t.HeightM == 0 {
			reaches = s.Surface // without panes it is the same integral, and finer than the cells
		}
		u.reaches = append(u.reaches, reaches)
		if u.surface != nil {
			u.meets = append(u.meets, l.arriving(i, u.surface, weights))
		} else {
			u.meets = append(u.meets, u.reaches[i])
		}
	}
	return u, nil
}

// bandWeights says what one watt of a kind's light holds in each band.
type bandWeights struct{ share, umolJ, lmW []float64 }

// bandWeights returns the weights of every kind; with one band all light is in it.
func (l *Lamp) bandWeights(bands int) []bandWeights {
	out := make([]bandWeights, len(l.Kinds))
	for i := range l.Kinds {
		k := &l.Kinds[i]
		out[i] = weightsOf(k.Unit, k.UmolJ, k.LmW, bands)
	}
	return out
}

// weightsOf returns what one watt of a spectrum holds in each band.
func weightsOf(unit spectrum.Spectrum, umolJ, lmW float64, bands int) bandWeights {
	if bands == 1 {
		return bandWeights{[]float64{1}, []float64{umolJ}, []float64{lmW}}
	}
	w := bandWeights{make([]float64, bands), make([]float64, bands), make([]float64, bands)}
	for b := range bands {
		part := slice(unit, bandsNM[b]-bandHalfNM, bandsNM[b]+bandHalfNM)
		w.share[b], w.umolJ[b], w.lmW[b] = part.RadiantW(), part.PhotonUmolS(400, 700), part.LuminousLm()
	}
	return w
}

// slice returns the part of a spectrum from lo up to, and without, hi.
func slice(s spectrum.Spectrum, lo, hi float64) spectrum.Spectrum {
	from, to, step := s.Grid()
	values := make([]float64, (to-from)/step+1)
	for i := range values {
		nm := float64(from + i*step)
		if nm >= lo && nm < hi {
			values[i] = s.At(nm)
		}
	}
	out, err := spectrum.OnGrid(from, step, values)
	if err != nil {
		panic("design: slice of a spectrum: " + err.Error())
	}
	return out
}

func (l *Lamp) unitMap(ctx context.Context, o Options, t light.Tank, emitters []light.Emitter, plane light.Plane, grid light.Grid, weights []bandWeights, notes *[]string) (*unitMap, error) {
	r, err := light.WallMapWith(ctx, t, emitters, plane, grid, o.Light.thrownTo())
	if err != nil {
		return nil, fmt.Errorf("light on the %s: %w", plane.Name, err)
	}
	*notes = append(*notes, r.Notes...)
	m := &unitMap{lengthM: t.LengthM, widthM: t.WidthM, areaM2: t.LengthM * t.WidthM * math.Sqrt(1+plane.SlopeX*plane.SlopeX+plane.SlopeY*plane.SlopeY), nx: grid.NX, ny: grid.NY}
	for e := range emitters {
		w := weights[l.Emitters[e].Kind]
		ppfd, lux := make([]float64, r.Cells()), make([]float64, r.Cells())
		mean := make([]float64, r.Bands)
		for b := range r.Bands {
			// Beyond one band, umolJ and lmW are per watt of the whole spectrum and so hold the band's share already.
			for c, g := range r.Map(e, b) {
				ppfd[c] += g * w.umolJ[b]
				lux[c] += g * w.lmW[b]
				mean[b] += g
			}
			mean[b] /= float64(r.Cells())
		}
		m.ppfd, m.lux, m.bandMean = append(m.ppfd, ppfd), append(m.lux, lux), append(m.bandMean, mean)
	}
	return m, nil
}

// arriving returns the share of an emitter's light that arrives on a plane, by whatever way; light that comes back from
// below counts each time.
func (l *Lamp) arriving(e int, m *unitMap, weights []bandWeights) float64 {
	w := weights[l.Emitters[e].Kind]
	sum := 0.0
	for b, g := range m.bandMean[e] {
		sum += g * w.share[b]
	}
	return sum * m.areaM2
}
