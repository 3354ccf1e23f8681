package design

import (
	"lampwright/internal/colour"
	"lampwright/internal/plant"
	"lampwright/internal/spectrum"
)

// warmLight is the light of an emitter at the junction temperature it has on the usual day.
type warmLight struct {
	unit    spectrum.Spectrum // for each watt of the model [1/nm]
	lmW     float64           // lumens per watt of the model
	umolJ   float64           // µmol of 400 nm to 700 nm per joule of the model
	xyz     colour.XYZ        // per watt of the model
	shiftNM float64           // how far its spectrum has moved from that of the sheet
}

// warm moves the spectra by the junction temperatures of the usual day, and the unit maps with them.
//
//	Δλ = k (T_j − T_test)
//
// A part that states lumens keeps them, since its curve over temperature is one of lumens; a part that states watts keeps
// its watts. The watts of the model, and with them heat and shares of watts, stay as they are.
// The maps keep their shape from cell to cell and change by what the means of their bands change: water and glass take
// differently from a shifted spectrum, but not otherwise in one corner than in another. Other days, and lamps drawn from
// tolerances, are shifted as the nominal one on the usual day.
func (s *system) warm() {
	l := s.lamp
	s.warmed = make([]warmLight, len(l.Emitters))
	for i := range l.Emitters {
		k := &l.Kinds[l.Emitters[i].Kind]
		s.warmed[i] = warmLight{unit: k.Unit, lmW: k.LmW, umolJ: k.UmolJ, xyz: k.XYZ}
	}
	if s.cases[0].silent {
		return
	}
	usual := l.operate(l.nominal(), s.board, s.cases[0].cool, s.cases[0].airK)
	moved := false
	for i := range l.Emitters {
		k := &l.Kinds[l.Emitters[i].Kind]
		if d := k.Part.PeakShift.SI * (usual.junctionK[i] - k.Part.TestJunction.SI); d != 0 && usual.junctionK[i] < runawayK {
			s.warmed[i] = k.shifted(d)
			moved = true
		}
	}
	if !moved {
		return
	}
	u := *s.light // others may share it
	u.target = s.shiftedMap(u.target)
	if u.surface != nil {
		u.surface = s.shiftedMap(u.surface)
	}
	s.light = &u
}

// shifted returns the light of a kind moved to the red by dNM.
func (k *Kind) shifted(dNM float64) warmLight {
	unit := k.Unit.Shift(dNM)
	if lm := unit.LuminousLm(); k.Part.Flux.Set && lm > 0 {
		unit = unit.Scale(k.LmW / lm)
	}
	return warmLight{unit: unit, lmW: unit.LuminousLm(), umolJ: unit.PhotonUmolS(plant.PAR.LoNM, plant.PAR.HiNM), xyz: colour.Tristimulus(unit), shiftNM: dNM}
}

// shiftedMap returns a unit map for the spectra as they are on the usual day.
func (s *system) shiftedMap(m *unitMap) *unitMap {
	out := *m
	out.ppfd, out.lux = append([][]float64(nil), m.ppfd...), append([][]float64(nil), m.lux...)
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
	for e := range out.ppfd {
		if s.warmed[e].shiftNM == 0 {
			continue
		}
		coldUmol, coldLm := through(s.lamp.Kinds[s.lamp.Emitters[e].Kind].Unit, m.bandMean[e])
		warmUmol, warmLm := through(s.warmed[e].unit, m.bandMean[e])
		out.ppfd[e], out.lux[e] = scaled(m.ppfd[e], warmUmol, coldUmol), scaled(m.lux[e], warmLm, coldLm)
	}
	return &out
}

// through returns, to a factor, the photons of 400 nm to 700 nm and the lumens of a spectrum of which a mean share arrives
// in each band, or one share of all of it.
func through(unit spectrum.Spectrum, bandMean []float64) (umol, lm float64) {
	eye := &spectrum.Observer2Deg().Y
	for i, v := range unit.Values() {
		nm := float64(spectrum.LoNM + i)
		b := 0
		if len(bandMean) > 1 {
			b = min(int(nm-bandsNM[0]+bandHalfNM)/(2*bandHalfNM), len(bandMean)-1)
		}
		if nm >= plant.PAR.LoNM && nm <= plant.PAR.HiNM {
			umol += bandMean[b] * v * nm
		}
		lm += bandMean[b] * v * eye[i]
	}
	return umol, lm
}

// lampSpectrum returns the light that leaves all lenses [W/nm].
func (s *system) lampSpectrum(leavesW []float64) spectrum.Spectrum {
	units := make([]spectrum.Spectrum, len(s.warmed))
	for e := range s.warmed {
		units[e] = s.warmed[e].unit
	}
	return spectrum.Mix(leavesW, units)
}
