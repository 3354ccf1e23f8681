package engine

import (
	"slices"

	"lampwright/internal/colour"
	"lampwright/internal/lamp"
	"lampwright/internal/plant"
	"lampwright/internal/point"
	"lampwright/internal/spectrum"
)

// operatingSpectrum is the light of an emitter at its junction temperature and current at typical ambient.
type operatingSpectrum struct {
	Unit    spectrum.Spectrum // per watt of the model [1/nm]
	LmW     float64           // lumens per watt of the model
	UmolJ   float64           // µmol of 400 nm to 700 nm per joule of the model
	XYZ     colour.XYZ        // per watt of the model
	BlueW   float64           // blue-weighted watts (IEC 62471) per watt of the model
	ShiftNM float64           // shift from the spectrum of the datasheet
	Shifted bool              // whether it differs from that of the datasheet

	WattsRatio float64 // point.State.WattsRatio of this spectrum; 0 is 1
}

// lmPerW returns the lumens per watt of the model in a state, which may have another temperature than the spectrum: a
// part that states lumens has those of its curves there, and its watts follow the shift, so that lumens per watt change
// as 1/WattsRatio.
func (o *operatingSpectrum) lmPerW(st *point.State) float64 {
	if o.WattsRatio == 0 || st.WattsRatio == 0 {
		return o.LmW
	}
	return o.LmW * o.WattsRatio / st.WattsRatio
}

// ShiftSpectra computes the operating spectra from the junction temperatures and currents at typical ambient, and
// adapts the unit maps.
//
//	Δλ = k (T_j − T_test) + Δλ(I)
//
// I is the on-state die current: analogue dimming shifts the colour, PWM dimming does not. Whites with a stated
// chromaticity against current follow it, see colour.ShiftToChromaticity. A part that states lumens keeps them, since its curves are
// of lumens, and its watts, and so its heat, are those of the shifted spectrum (lamp, point.Emitter.WattsRatio); a part
// that states watts keeps its watts. The maps keep their shape and are scaled with the means of their bands: absorption of a shifted spectrum
// changes, but by the same factor in every cell. Other cases and Monte Carlo samples have spectra shifted
// as those of the nominal lamp at typical ambient.
func (s *System) ShiftSpectra() {
	if s.datasheetLight == nil {
		s.datasheetLight = s.Light
	}
	s.Light = s.datasheetLight
	l := s.Lamp
	s.Spectra, s.spectraAt = make([]operatingSpectrum, len(l.Emitters)), nil
	for i := range l.Emitters {
		k := &l.Types[l.Emitters[i].Type]
		s.Spectra[i] = operatingSpectrum{Unit: k.Unit, LmW: k.LmW, UmolJ: k.UmolJ, XYZ: k.XYZ, BlueW: k.BlueW}
	}
	if s.Cases[0].NoData || !SpectraShift(l) {
		return
	}
	p := l.Nominal()
	airK, cool := s.airOf(&s.Cases[0], p)
	typical := steadyState(l, p, s.boardFor(p), cool, airK)
	s.spectraAt = &typical
	shifted := false
	for i := range l.Emitters {
		s.Spectra[i] = s.spectrumOf(i, &l.Types[l.Emitters[i].Type])
		shifted = shifted || s.Spectra[i].Shifted
	}
	if !shifted {
		return
	}
	u := *s.Light // others may share it
	u.Target = s.shiftedMap(u.Target)
	if u.Surface != nil {
		u.Surface = s.shiftedMap(u.Surface)
	}
	s.Light = &u
}

// spectrumOf returns the operating spectrum of an emitter of a type.
func (s *System) spectrumOf(emitter int, k *lamp.EmitterType) operatingSpectrum {
	if s.spectraAt == nil || s.spectraAt.JunctionK[emitter] >= RunawayK {
		return operatingSpectrum{Unit: k.Unit, LmW: k.LmW, UmolJ: k.UmolJ, XYZ: k.XYZ}
	}
	return spectrumAt(k, s.spectraAt.JunctionK[emitter], s.spectraAt.States[emitter].DieCurrentA)
}

// spectraFor returns the operating spectra for some parameters. The emitters of a channel and type are of one reel: its
// spectrum is computed for the first of them, and its difference from that of the datasheet added to the others.
func (s *System) spectraFor(p lamp.Params) []operatingSpectrum {
	out := s.Spectra
	for t := range s.Lamp.Types {
		reel, varies := s.Lamp.Types[t].OfReel(p)
		if !varies {
			continue
		}
		if &out[0] == &s.Spectra[0] {
			out = slices.Clone(out)
		}
		first := map[int]int{} // by channel
		for e := range s.Lamp.Emitters {
			if s.Lamp.Emitters[e].Type != t {
				continue
			}
			of, known := first[s.Lamp.Emitters[e].Channel]
			if !known {
				first[s.Lamp.Emitters[e].Channel] = e
				out[e] = s.spectrumOf(e, &reel)
				continue
			}
			was, now, own := &s.Spectra[of], &out[of], &s.Spectra[e]
			out[e] = *now
			out[e].WattsRatio = own.WattsRatio
			out[e].LmW, out[e].UmolJ = now.LmW+own.LmW-was.LmW, now.UmolJ+own.UmolJ-was.UmolJ
			out[e].XYZ = colour.XYZ{
				X: now.XYZ.X + own.XYZ.X - was.XYZ.X, Y: now.XYZ.Y + own.XYZ.Y - was.XYZ.Y,
				Z: now.XYZ.Z + own.XYZ.Z - was.XYZ.Z,
			}
		}
	}
	return out
}

// SpectraShift tells whether any datasheet states a spectral shift with temperature or current.
func SpectraShift(l *lamp.Lamp) bool {
	for i := range l.Types {
		if l.Types[i].Part.WavelengthTempco.SI != 0 || l.Types[i].Shift.Definition != lamp.NoShift {
			return true
		}
	}
	return false
}

// spectrumAt returns the light of an emitter type at a junction temperature and a die current.
func spectrumAt(k *lamp.EmitterType, junctionK, dieA float64) operatingSpectrum {
	out := operatingSpectrum{Unit: k.Unit, LmW: k.LmW, UmolJ: k.UmolJ, XYZ: k.XYZ, BlueW: k.BlueW}
	byCurrent, err := k.Shift.ShiftNM(k.Unit, dieA)
	if err != nil { // lamp.New has checked the points of the curve
		byCurrent = 0
	}
	out.ShiftNM = k.Part.WavelengthTempco.SI*(junctionK-k.Part.TestJunction.SI) + byCurrent
	unit := k.Unit.Shift(out.ShiftNM)
	if k.Shift.Definition.White() {
		if white, err := k.Shift.AtCurrent(unit, dieA); err == nil {
			unit = white
		}
		out.Shifted = k.Shift.Change(0, dieA) != 0 || k.Shift.Definition == lamp.XYShift && k.Shift.Change(1, dieA) != 0
	}
	if out.Shifted = out.Shifted || out.ShiftNM != 0; !out.Shifted {
		return out
	}
	out.WattsRatio = k.Model.RatioAt(dieA, junctionK)
	if lm := unit.LuminousLm(); k.Part.Flux.Set && lm > 0 {
		unit = unit.Scale(k.LmW / out.WattsRatio / lm)
	}
	out.Unit, out.LmW, out.UmolJ, out.XYZ = unit, unit.LuminousLm(), unit.PhotonUmolS(plant.PAR.LoNM, plant.PAR.HiNM),
		colour.Tristimulus(unit)
	out.BlueW = colour.BlueWeightedW(unit)
	return out
}

// shiftedMap returns a unit map for the operating spectra.
func (s *System) shiftedMap(m *UnitMap) *UnitMap {
	out := *m
	out.PPFD, out.Lux = append([][]float64(nil), m.PPFD...), append([][]float64(nil), m.Lux...)
	scaled := func(v []float64, now, was float64) []float64 {
		if was <= 0 {
			return v
		}
		w := make([]float64, len(v))
		for i := range v {
			w[i] = v[i] * now / was
		}
		return w
	}
	for e := range out.PPFD {
		if !s.Spectra[e].Shifted {
			continue
		}
		sheetUmol, sheetLm := through(s.Lamp.Types[s.Lamp.Emitters[e].Type].Unit, m.BandMean[e])
		nowUmol, nowLm := through(s.Spectra[e].Unit, m.BandMean[e])
		out.PPFD[e], out.Lux[e] = scaled(m.PPFD[e], nowUmol, sheetUmol), scaled(m.Lux[e], nowLm, sheetLm)
	}
	return &out
}

// through returns, to a factor, the photons of 400 nm to 700 nm and the lumens of a spectrum attenuated by the mean
// fraction of each band, or by one fraction.
func through(unit spectrum.Spectrum, bandMean []float64) (umol, lm float64) {
	eye := &spectrum.Observer2Deg().Y
	for i, v := range unit.Values() {
		nm := float64(spectrum.LoNM + i)
		b := 0
		if len(bandMean) > 1 {
			b = min(int(nm-BandsNM[0]+bandHalfNM)/(2*bandHalfNM), len(bandMean)-1)
		}
		if nm >= plant.PAR.LoNM && nm <= plant.PAR.HiNM {
			umol += bandMean[b] * v * nm
		}
		lm += bandMean[b] * v * eye[i]
	}
	return umol, lm
}

// LampSpectrum returns the light of all emitters after their lenses [W/nm].
func (s *System) LampSpectrum(emittedW []float64) spectrum.Spectrum {
	return mixOf(s.Spectra, emittedW)
}

func mixOf(of []operatingSpectrum, emittedW []float64) spectrum.Spectrum {
	units := make([]spectrum.Spectrum, len(of))
	for e := range of {
		units[e] = of[e].Unit
	}
	return spectrum.Mix(emittedW, units)
}
