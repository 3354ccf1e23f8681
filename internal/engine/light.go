package engine

import (
	"fmt"
	"math"

	"lampwright/internal/lamp"
	"lampwright/internal/light"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/spectrum"
)

// bandHalfNM is half the width of a band.
const bandHalfNM = 10

// TankOf returns the place as the light room knows it.
func TankOf(l *lamp.Lamp) (light.Tank, error) {
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
	water, err := WaterOf(l)
	if err != nil {
		return t, err
	}
	// On maps, light that particles scatter forward counts as light that goes on straight: of b only (1 − g) b is taken
	// off, which is what the loss of downward light comes to while little is absorbed.
	water.ScatterPerM *= 1 - light.ForwardScattering
	t.Bands = light.BandsFor(BandsNM, water, p.Reflectance.SI)
	return t, nil
}

// WaterOf returns what is in the water: as measured, or as the word for it says.
func WaterOf(l *lamp.Lamp) (light.Water, error) {
	p := l.Design.Installation
	word := p.WaterTint.S
	if word == "" {
		word = project.TintClear
	}
	w, err := light.NamedWater(string(word))
	if loss := p.WaterTransmittance; loss != nil {
		w, err = light.WaterFromLoss(BandsNM, MeterBandWeights(l, loss.Meter.S), loss.PathLength.SI, loss.Transmittance.SI)
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

// WaterNotes returns what to know about the water.
func WaterNotes(l *lamp.Lamp) []string {
	if l.Design.Installation.Water.SI == 0 {
		return nil
	}
	w, err := WaterOf(l)
	if err != nil {
		return nil // tank has said so
	}
	return w.Notes
}

// MeterBandWeights returns how a meter sees the light of this lamp shared over the bands.
func MeterBandWeights(l *lamp.Lamp, meter project.MeterKind) []float64 {
	out := make([]float64, len(BandsNM))
	weights := BandWeightsOf(l, len(BandsNM))
	p := l.Nominal()
	for e := range l.Emitters {
		k := l.Emitters[e].Type
		w := l.Channels[l.Emitters[e].Channel].Duty() * StateOf(l, p, e, l.Types[k].Model.TestJunctionK).RadiantW * p[l.Optics[l.Emitters[e].Optic].Param]
		for b := range out {
			if meter == project.MeterPAR {
				out[b] += w * weights[k].UmolJ[b]
			} else {
				out[b] += w * weights[k].LmW[b]
			}
		}
	}
	return out
}

// LightInputsOf returns what the light of this lamp depends on.
func LightInputsOf(l *lamp.Lamp, o Options) (LightInputs, error) {
	t, err := TankOf(l)
	if err != nil {
		return LightInputs{}, fmt.Errorf("light in the place: %w", err)
	}
	in := LightInputs{Tank: t, Emitters: l.Sources(), CellM: o.CellEdgeM(l), Notes: WaterNotes(l)}
	for _, left := range l.NotModelled() {
		in.Notes = append(in.Notes, "left out here: "+left+"; `lampwright trace` follows it")
	}
	for i := range l.Types {
		k := &l.Types[i]
		in.Units, in.UmolJ, in.LmW = append(in.Units, k.Unit), append(in.UmolJ, k.UmolJ), append(in.LmW, k.LmW)
	}
	for i := range l.Emitters {
		in.Types = append(in.Types, l.Emitters[i].Type)
	}
	return in, nil
}

// CellsOver covers the place with cells of about an edge [m], at least so many a side.
func CellsOver(t light.Tank, cellM float64, least int) light.Grid {
	n := func(lengthM float64) int { return max(least, int(math.Ceil(lengthM/cellM-1e-9))) }
	return light.Grid{NX: n(t.LengthM), NY: n(t.WidthM)}
}

// BandWeights says what one watt of a kind's light holds in each band.
type BandWeights struct{ Share, UmolJ, LmW []float64 }

// BandWeightsOf returns the weights of every kind; with one band all light is in it.
func BandWeightsOf(l *lamp.Lamp, bands int) []BandWeights {
	out := make([]BandWeights, len(l.Types))
	for i := range l.Types {
		k := &l.Types[i]
		out[i] = WeightsOf(k.Unit, k.UmolJ, k.LmW, bands)
	}
	return out
}

// WeightsOf returns what one watt of a spectrum holds in each band.
func WeightsOf(unit spectrum.Spectrum, umolJ, lmW float64, bands int) BandWeights {
	if bands == 1 {
		return BandWeights{[]float64{1}, []float64{umolJ}, []float64{lmW}}
	}
	w := BandWeights{make([]float64, bands), make([]float64, bands), make([]float64, bands)}
	for b := range bands {
		part := slice(unit, BandsNM[b]-bandHalfNM, BandsNM[b]+bandHalfNM)
		w.Share[b], w.UmolJ[b], w.LmW[b] = part.RadiantW(), part.PhotonUmolS(400, 700), part.LuminousLm()
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
