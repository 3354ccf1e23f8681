package engine

import (
	"lampwright/internal/colour"
	"lampwright/internal/lamp"
	"lampwright/internal/plant"
	"lampwright/internal/spectrum"
)

// warmLight is the light of an emitter at the junction temperature and the current that it has on the usual day.
type warmLight struct {
	Unit    spectrum.Spectrum // for each watt of the model [1/nm]
	LmW     float64           // lumens per watt of the model
	UmolJ   float64           // µmol of 400 nm to 700 nm per joule of the model
	Xyz     colour.XYZ        // per watt of the model
	ShiftNM float64           // how far its spectrum has moved from that of the sheet
	Moved   bool              // whether it is another than that of the sheet
}

// warm moves the spectra by the junction temperatures and the currents of the usual day, and the unit maps with them.
//
//	Δλ = k (T_j − T_test) + Δλ(I)
//
// I is what flows in a die while it is on: analog dimming moves a colour, pulses do not. Whites that state a chromaticity
// over current are bent to it, see colour.ShiftToChromaticity.
// A part that states lumens keeps them, since its curves over temperature and current are of lumens; a part that states
// watts keeps its watts. The watts of the model, and with them heat and shares of watts, stay as they are.
// The maps keep their shape from cell to cell and change by what the means of their bands change: water and glass take
// differently from a shifted spectrum, but not otherwise in one corner than in another. Other days, and lamps drawn from
// tolerances, are shifted as the nominal one on the usual day.
func (s *System) Warm() {
	if s.asStated == nil {
		s.asStated = s.Light
	}
	s.Light = s.asStated
	l := s.Lamp
	s.Warmed = make([]warmLight, len(l.Emitters))
	for i := range l.Emitters {
		k := &l.Types[l.Emitters[i].Type]
		s.Warmed[i] = warmLight{Unit: k.Unit, LmW: k.LmW, UmolJ: k.UmolJ, Xyz: k.XYZ}
	}
	if s.Cases[0].Silent || !SpectraShift(l) {
		return
	}
	usual := steadyState(l, l.Nominal(), s.Board, s.Cases[0].Cool, s.Cases[0].AirK)
	moved := false
	for i := range l.Emitters {
		k := &l.Types[l.Emitters[i].Type]
		if usual.JunctionK[i] < RunawayK {
			s.Warmed[i] = lightAt(k, usual.JunctionK[i], usual.States[i].DieCurrentA)
			moved = moved || s.Warmed[i].Moved
		}
	}
	if !moved {
		return
	}
	u := *s.Light // others may share it
	u.Target = s.shiftedMap(u.Target)
	if u.Surface != nil {
		u.Surface = s.shiftedMap(u.Surface)
	}
	s.Light = &u
}

// moves tells whether any sheet states that temperature or current moves its spectrum.
func SpectraShift(l *lamp.Lamp) bool {
	for i := range l.Types {
		if l.Types[i].Part.WavelengthTempco.SI != 0 || l.Types[i].Shift.Way != lamp.NoDrift {
			return true
		}
	}
	return false
}

// lightAt returns the light of a kind at a junction temperature and with a current in each die.
func lightAt(k *lamp.EmitterType, junctionK, dieA float64) warmLight {
	out := warmLight{Unit: k.Unit, LmW: k.LmW, UmolJ: k.UmolJ, Xyz: k.XYZ}
	byCurrent, err := k.Shift.ShiftNM(k.Unit, dieA)
	if err != nil { // newDrift has tried the curve's points, and the rest lies between
		byCurrent = 0
	}
	out.ShiftNM = k.Part.WavelengthTempco.SI*(junctionK-k.Part.TestJunction.SI) + byCurrent
	unit := k.Unit.Shift(out.ShiftNM)
	if k.Shift.Way.White() {
		if bent, err := k.Shift.Bent(unit, dieA); err == nil {
			unit = bent
		}
		out.Moved = k.Shift.Change(0, dieA) != 0 || k.Shift.Way == lamp.XyDrift && k.Shift.Change(1, dieA) != 0
	}
	if out.Moved = out.Moved || out.ShiftNM != 0; !out.Moved {
		return out
	}
	if lm := unit.LuminousLm(); k.Part.Flux.Set && lm > 0 {
		unit = unit.Scale(k.LmW / lm)
	}
	out.Unit, out.LmW, out.UmolJ, out.Xyz = unit, unit.LuminousLm(), unit.PhotonUmolS(plant.PAR.LoNM, plant.PAR.HiNM), colour.Tristimulus(unit)
	return out
}

// shiftedMap returns a unit map for the spectra as they are on the usual day.
func (s *System) shiftedMap(m *UnitMap) *UnitMap {
	out := *m
	out.Ppfd, out.Lux = append([][]float64(nil), m.Ppfd...), append([][]float64(nil), m.Lux...)
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
	for e := range out.Ppfd {
		if !s.Warmed[e].Moved {
			continue
		}
		coldUmol, coldLm := through(s.Lamp.Types[s.Lamp.Emitters[e].Type].Unit, m.BandMean[e])
		warmUmol, warmLm := through(s.Warmed[e].Unit, m.BandMean[e])
		out.Ppfd[e], out.Lux[e] = scaled(m.Ppfd[e], warmUmol, coldUmol), scaled(m.Lux[e], warmLm, coldLm)
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
			b = min(int(nm-BandsNM[0]+bandHalfNM)/(2*bandHalfNM), len(bandMean)-1)
		}
		if nm >= plant.PAR.LoNM && nm <= plant.PAR.HiNM {
			umol += bandMean[b] * v * nm
		}
		lm += bandMean[b] * v * eye[i]
	}
	return umol, lm
}

// lampSpectrum returns the light that leaves all lenses [W/nm].
func (s *System) LampSpectrum(leavesW []float64) spectrum.Spectrum {
	units := make([]spectrum.Spectrum, len(s.Warmed))
	for e := range s.Warmed {
		units[e] = s.Warmed[e].Unit
	}
	return spectrum.Mix(leavesW, units)
}
