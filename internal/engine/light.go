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

// underWaterM is how far the highest point of a substrate that leaves the water is taken below the surface [m].
const underWaterM = 1e-3

// TankOf returns the geometry and the water of the installation.
func TankOf(l *lamp.Lamp) (light.Tank, error) {
	p := l.Design.Installation
	t := light.Tank{LengthM: p.Inside.Length.SI, WidthM: p.Inside.Width.SI}
	if p.Kind.S == project.Bench {
		return t, nil
	}
	t.HeightM, t.WaterDepthM, t.SubstrateM, t.GlassM = p.Inside.Height.SI, l.WaterM(), p.Substrate.SI, p.Glass.SI
	nominal := l.Nominal()
	t.Panes, t.Cover = l.Panes(nominal), l.CoverGlass(nominal)
	t.SubstrateSlopeX, t.SubstrateSlopeY = p.RiseM()
	depth := t.WaterDepthM - t.SubstrateM
	if reach := l.EmergentM() + depth; t.WaterDepthM > 0 && reach > 0 && reach > depth-underWaterM {
		// A slope that leaves the water is flattened until it stays below the surface: the maps have one target plane.
		f := math.Max(0, depth-underWaterM) / reach
		t.SubstrateSlopeX, t.SubstrateSlopeY = f*t.SubstrateSlopeX, f*t.SubstrateSlopeY
	}
	if t.WaterDepthM == 0 {
		t.Bands = []light.Band{{SubstrateReflectance: p.Reflectance.SI}}
		return t, nil
	}
	water, err := WaterOf(l)
	if err != nil {
		return t, err
	}
	// On maps, forward-scattered light counts as unscattered: only (1 − g) b of b attenuates, the loss of downward
	// light at low absorption.
	water.ScatterPerM *= 1 - light.ForwardScattering
	t.Bands = light.BandsFor(BandsNM, water, p.Reflectance.SI)
	return t, nil
}

// WaterOf returns the optical properties of the water: measured, or by its named tint.
func WaterOf(l *lamp.Lamp) (light.Water, error) {
	p := l.Design.Installation
	word := p.WaterTint.S
	if word == "" {
		word = project.TintClear
	}
	w, err := light.NamedWater(string(word))
	if loss := p.WaterTransmittance; loss != nil {
		w, err = light.WaterFromLoss(BandsNM, MeterBandWeights(l, loss.Meter.S), loss.PathLength.SI,
			loss.Transmittance.SI)
	}
	if err != nil || !p.BlackDiscRange.Set {
		return w, err
	}
	// Black disc range y = 4.8/c, c the beam attenuation a + b at about 550 nm. Source: DaviesColley1988, cited from
	// memory.
	if w.ScatterPerM = 4.8/p.BlackDiscRange.SI - light.Absorption(550, w); w.ScatterPerM < 0 {
		w.ScatterPerM = 0
		w.Notes = append(w.Notes, fmt.Sprintf("black disc range %s exceeds that of water of this colour without "+
			"particles", quantity.Format(p.BlackDiscRange.SI, quantity.Length)))
	}
	return w, nil
}

// WaterNotes returns notes on the water.
func WaterNotes(l *lamp.Lamp) []string {
	if l.WaterM() == 0 {
		return nil
	}
	w, err := WaterOf(l)
	if err != nil {
		return nil // TankOf reports it
	}
	return w.Notes
}

// MeterBandWeights returns the distribution over the bands of the light of this lamp as a meter weights it.
func MeterBandWeights(l *lamp.Lamp, meter project.MeterKind) []float64 {
	out := make([]float64, len(BandsNM))
	weights := BandWeightsOf(l, len(BandsNM))
	p := l.Nominal()
	for e := range l.Emitters {
		k := l.Emitters[e].Type
		w := l.Channels[l.Emitters[e].Channel].Duty() * StateOf(l, p, e,
			l.Types[k].Model.TestJunctionK).RadiantW * p[l.Optics[l.Emitters[e].Optic].Param]
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
		return LightInputs{}, fmt.Errorf("light in the installation: %w", err)
	}
	in := LightInputs{Tank: t, Emitters: l.Sources(), CellM: o.CellEdgeM(l), Notes: WaterNotes(l)}
	for _, left := range l.NotModelled() {
		in.Notes = append(in.Notes, "not modelled here: "+left+"; `lampwright trace` models it")
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

// CellsOver returns a grid over the installation with a cell edge of about cellM, at least some cells per side.
func CellsOver(t light.Tank, cellM float64, least int) light.Grid {
	n := func(lengthM float64) int { return max(least, int(math.Ceil(lengthM/cellM-1e-9))) }
	return light.Grid{NX: n(t.LengthM), NY: n(t.WidthM)}
}

// BandWeights is the light of 1 W of an emitter type in each band.
type BandWeights struct{ Share, UmolJ, LmW []float64 }

// BandWeightsOf returns the weights of every emitter type; with one band all light is in it.
func BandWeightsOf(l *lamp.Lamp, bands int) []BandWeights {
	out := make([]BandWeights, len(l.Types))
	for i := range l.Types {
		k := &l.Types[i]
		out[i] = WeightsOf(k.Unit, k.UmolJ, k.LmW, bands)
	}
	return out
}

// WeightsOf returns the light of 1 W of a spectrum in each band.
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
		panic("engine: slice of a spectrum: " + err.Error())
	}
	return out
}
