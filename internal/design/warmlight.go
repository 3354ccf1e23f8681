package design

import (
	"lampwright/internal/colour"
	"lampwright/internal/plant"
	"lampwright/internal/spectrum"
)

// warmLight is the light of an emitter at the junction temperature and the current that it has on the usual day.
type warmLight struct {
	unit    spectrum.Spectrum // for each watt of the model [1/nm]
	lmW     float64           // lumens per watt of the model
	umolJ   float64           // µmol of 400 nm to 700 nm per joule of the model
	xyz     colour.XYZ        // per watt of the model
	shiftNM float64           // how far its spectrum has moved from that of the sheet
	moved   bool              // whether it is another than that of the sheet
}

// warm moves the spectra by the junction temperatures and the currents of the usual day, and the unit maps with them.
//
//	Δλ = k (T_j − T_test) + Δλ(I)
//
// I is what flows in a die while it is on: analog dimming moves a colour, pulses do not. Whites that state a chromaticity
// over current are bent to it, see colour.Bend.
// A part that states lumens keeps them, since its curves over temperature and current are of lumens; a part that states
// watts keeps its watts. The watts of the model, and with them heat and shares of watts, stay as they are.
// The maps keep their shape from cell to cell and change by what the means of their bands change: water and glass take
// differently from a shifted spectrum, but not otherwise in one corner than in another. Other days, and lamps drawn from
// tolerances, are shifted as the nominal one on the usual day.
func (s *system) warm() {
	if s.asStated == nil {
		s.asStated = s.light
	}
	s.light = s.asStated
	l := s.lamp
	s.warmed = make([]warmLight, len(l.Emitters))
	for i := range l.Emitters {
		k := &l.Kinds[l.Emitters[i].Kind]
		s.warmed[i] = warmLight{unit: k.Unit, lmW: k.LmW, umolJ: k.UmolJ, xyz: k.XYZ}
	}
	if s.cases[0].silent || !l.moves() {
		return
	}
	usual := l.rest(l.nominal(), s.board, s.cases[0].cool, s.cases[0].airK)
	moved := false
	for i := range l.Emitters {
		k := &l.Kinds[l.Emitters[i].Kind]
		if usual.junctionK[i] < runawayK {
			s.warmed[i] = k.lightAt(usual.junctionK[i], usual.states[i].DieCurrentA)
			moved = moved || s.warmed[i].moved
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

// moves tells whether any sheet states that temperature or current moves its spectrum.
func (l *Lamp) moves() bool {
	for i := range l.Kinds {
		if l.Kinds[i].Part.WavelengthTempco.SI != 0 || l.Kinds[i].Drift.way != noDrift {
			return true
		}
	}
	return false
}

// lightAt returns the light of a kind at a junction temperature and with a current in each die.
func (k *Kind) lightAt(junctionK, dieA float64) warmLight {
	out := warmLight{unit: k.Unit, lmW: k.LmW, umolJ: k.UmolJ, xyz: k.XYZ}
	byCurrent, err := k.Drift.shiftNM(k.Unit, dieA)
	if err != nil { // newDrift has tried the curve's points, and the rest lies between
		byCurrent = 0
	}
	out.shiftNM = k.Part.WavelengthTempco.SI*(junctionK-k.Part.TestJunction.SI) + byCurrent
	unit := k.Unit.Shift(out.shiftNM)
	if k.Drift.way.white() {
		if bent, err := k.Drift.bent(unit, dieA); err == nil {
			unit = bent
		}
		out.moved = k.Drift.change(0, dieA) != 0 || k.Drift.way == xyDrift && k.Drift.change(1, dieA) != 0
	}
	if out.moved = out.moved || out.shiftNM != 0; !out.moved {
		return out
	}
	if lm := unit.LuminousLm(); k.Part.Flux.Set && lm > 0 {
		unit = unit.Scale(k.LmW / lm)
	}
	out.unit, out.lmW, out.umolJ, out.xyz = unit, unit.LuminousLm(), unit.PhotonUmolS(plant.PAR.LoNM, plant.PAR.HiNM), colour.Tristimulus(unit)
	return out
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
		if !s.warmed[e].moved {
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
