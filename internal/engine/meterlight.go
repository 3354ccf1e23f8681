package engine

import (
	"errors"
	"fmt"
	"math"

	"lampwright/internal/intensity"
	"lampwright/internal/light"
	"lampwright/internal/spectrum"
)

// MeterLight is the light of each emitter at the place of a meter, per watt that leaves its lens.
type MeterLight struct {
	bare      bool      // without lenses
	lux, ppfd []float64 // by emitter: lx and µmol/m²/s per watt, with the spectra of System.Spectra
	axis      []float64 // by emitter: irradiance per watt [1/m²], of a place in the air; nil on a map
	changes   []meterChange
}

// meterChange is the change of the light of each emitter with one parameter; see lightChange.
type meterChange struct {
	param  int
	weight func(value float64) float64
	ratio  []float64 // by emitter: light in the variant over that of the nominal geometry
}

// PlaneLight is the light on one of the maps of the lamp at a place from the centre of the tank; bilinear between the
// centres of the cells, and constant beyond them. surface asks for that of the water.
func (s *System) PlaneLight(surface bool, xM, yM float64) (*MeterLight, error) {
	m := s.Light.Target
	if surface {
		if m = s.Light.Surface; m == nil {
			return nil, errors.New("this place has no water surface; use place: target")
		}
	}
	if math.Abs(xM) > m.LengthM/2 || math.Abs(yM) > m.WidthM/2 {
		return nil, fmt.Errorf("the place is outside the tank, which is %.0f mm × %.0f mm about its centre",
			1e3*m.LengthM,
			1e3*m.WidthM)
	}
	corners, shares := m.around(xM, yM)
	at := func(cells []float64) (v float64) {
		for i, c := range corners {
			v += shares[i] * cells[c]
		}
		return v
	}
	out := &MeterLight{}
	for e := range m.Lux {
		out.lux, out.ppfd = append(out.lux, at(m.Lux[e])), append(out.ppfd, at(m.PPFD[e]))
	}
	for i := range s.lightBy {
		c := &s.lightBy[i]
		change := meterChange{param: c.param, weight: c.weight}
		of := c.Target
		if surface {
			of = c.Surface
		}
		for e := range of {
			change.ratio = append(change.ratio, at(of[e]))
		}
		out.changes = append(out.changes, change)
	}
	return out, nil
}

// around returns the cells about a place from the centre of a plane, and the fraction of each in its value.
func (m *UnitMap) around(xM, yM float64) (cells [4]int, shares [4]float64) {
	axis := func(at, size float64, n int) (first, second int, share float64) {
		f := math.Min(math.Max((at/size+0.5)*float64(n)-0.5, 0), float64(n-1))
		first = min(int(f), max(n-2, 0))
		return first, min(first+1, n-1), f - float64(first)
	}
	x0, x1, u := axis(xM, m.LengthM, m.NX)
	y0, y1, v := axis(yM, m.WidthM, m.NY)
	cells = [4]int{y0*m.NX + x0, y0*m.NX + x1, y1*m.NX + x0, y1*m.NX + x1}
	return cells, [4]float64{(1 - u) * (1 - v), u * (1 - v), (1 - u) * v, u * v}
}

// AxisPlace is a meter in the air before the lamp: distance from the front of the lenses, or of the LED packages where
// the lenses are off, offset from the centre of the board, and the angle by which the lamp is turned about the centre
// of its front, in its x–z plane. The meter faces the lamp where it is not turned.
type AxisPlace struct {
	DistanceM, XM, YM float64
	TurnRad           float64
	Bare              bool
}

// AxisLight is the light in the air before the lamp, summed over the emitters where the meter is:
//
//	E = Σ_e Φ_e I_e(θ_e)/Φ_e · cos ε_e/r_e²
//
// θ_e is the angle to the optical axis of emitter e, ε_e the angle of incidence, r_e the distance. Walls return
// nothing. Source: definition of illuminance; each emitter is a point.
func (s *System) AxisLight(p AxisPlace) (*MeterLight, error) {
	if !(p.DistanceM > 0) {
		return nil, errors.New("the distance of the meter must be above 0")
	}
	l := s.Lamp
	out := &MeterLight{bare: p.Bare}
	for e := range l.Emitters {
		src := l.OnBoard(e)
		if p.Bare {
			bare, err := l.BareOptic(e)
			if err != nil {
				return nil, err
			}
			src.Distribution = bare.Pattern
		}
		g := p.irradiance(src)
		out.axis = append(out.axis, g)
		out.lux, out.ppfd = append(out.lux, g*s.Spectra[e].LmW), append(out.ppfd, g*s.Spectra[e].UmolJ)
	}
	if p.Bare {
		return out, nil
	}
	for i := range l.Optics {
		s.addAxisChanges(p, out, i)
	}
	return out, nil
}

// addAxisChanges adds the changes of the light with the distribution of an optic; see opticVariants.
func (s *System) addAxisChanges(p AxisPlace, out *MeterLight, optic int) {
	o := &s.Lamp.Optics[optic]
	add := func(param int, weight func(float64) float64, d intensity.Distribution) {
		c := meterChange{param: param, weight: weight}
		for e := range s.Lamp.Emitters {
			ratio := 1.0
			if s.Lamp.Emitters[e].Optic == optic && out.axis[e] > 0 {
				src := s.Lamp.OnBoard(e)
				src.Distribution = d
				ratio = p.irradiance(src) / out.axis[e]
			}
			c.ratio = append(c.ratio, ratio)
		}
		out.changes = append(out.changes, c)
	}
	if o.ShapeParam >= 0 {
		add(o.ShapeParam, func(v float64) float64 { return v }, o.OtherShape)
	}
	if o.AngleParam >= 0 {
		lower, upper := endWeights(1, &s.params[o.AngleParam], o.Narrower != nil)
		add(o.AngleParam, upper, o.Wider)
		if o.Narrower != nil {
			add(o.AngleParam, lower, o.Narrower)
		}
	}
}

// irradiance returns the irradiance at the meter per watt of an emitter on the level board [1/m²].
func (p AxisPlace) irradiance(src light.Emitter) float64 {
	sin, cos := math.Sincos(p.TurnRad)
	// The lamp is turned about the centre of its front: in its frame the meter moves on a circle.
	at := [3]float64{p.DistanceM*sin + p.XM*cos, p.YM, -p.DistanceM*cos + p.XM*sin}
	normal := [3]float64{-sin, 0, cos}
	d := [3]float64{at[0] - src.XM, at[1] - src.YM, at[2] - src.ZM}
	r := math.Sqrt(d[0]*d[0] + d[1]*d[1] + d[2]*d[2])
	for i := range d {
		d[i] /= r
	}
	cosIncidence := -(d[0]*normal[0] + d[1]*normal[1] + d[2]*normal[2])
	if cosIncidence <= 0 {
		return 0
	}
	return src.Towards(d) * cosIncidence / (r * r)
}

// Lux returns the illuminance of each channel at the meter, mean over dimming [lx].
func (m *Moment) Lux(at *MeterLight) []float64 {
	return m.lit(at, at.lux, func(e int) float64 {
		was := m.sys.Spectra[e].LmW
		if was == 0 {
			return 0
		}
		return m.spectra[e].lmPerW(&m.state.States[e]) / was
	})
}

// PPFD returns the PPFD of each channel at the meter, mean over dimming [µmol/m²/s].
func (m *Moment) PPFD(at *MeterLight) []float64 {
	return m.lit(at, at.ppfd, func(e int) float64 {
		was := m.sys.Spectra[e].UmolJ
		if was == 0 {
			return 0
		}
		return m.spectra[e].UmolJ / was
	})
}

// lit sums the light of the emitters of each channel; unit is that per watt, ratio that of the operating spectrum.
func (m *Moment) lit(at *MeterLight, unit []float64, ratio func(e int) float64) []float64 {
	l := m.sys.Lamp
	out := make([]float64, len(l.Channels))
	field := 1.0
	if at.axis == nil {
		field = m.params[l.Param.LightField]
	}
	for e := range l.Emitters {
		factor := 1.0
		for i := range at.changes {
			c := &at.changes[i]
			factor += c.weight(m.params[c.param]) * (c.ratio[e] - 1)
		}
		watts := l.Channels[l.Emitters[e].Channel].Duty() * m.state.States[e].RadiantW
		if !at.bare {
			watts *= m.params[l.Optics[l.Emitters[e].Optic].Param]
		}
		if watts > 0 {
			out[l.Emitters[e].Channel] += watts * unit[e] * ratio(e) * field * math.Max(0, factor)
		}
	}
	return out
}

// RadiantW returns the radiant flux of each channel before its lenses, mean over dimming [W].
func (m *Moment) RadiantW() []float64 {
	l := m.sys.Lamp
	out := make([]float64, len(l.Channels))
	for e := range l.Emitters {
		c := l.Emitters[e].Channel
		out[c] += l.Channels[c].Duty() * m.state.States[e].RadiantW
	}
	return out
}

// LensEfficiency returns the light of a channel with its lenses over that without [1].
func (m *Moment) LensEfficiency(channel int) float64 {
	l := m.sys.Lamp
	sum, kept := 0.0, 0.0
	for _, e := range l.Channels[channel].Emitters {
		w := m.state.States[e].RadiantW
		sum += w
		kept += w * m.params[l.Optics[l.Emitters[e].Optic].Param]
	}
	if sum == 0 {
		return 0
	}
	return kept / sum
}

// Spectrum returns the spectrum of a channel while its current flows [W/nm].
func (m *Moment) Spectrum(channel int) spectrum.Spectrum {
	watts := make([]float64, len(m.sys.Lamp.Emitters))
	for _, e := range m.sys.Lamp.Channels[channel].Emitters {
		watts[e] = m.state.States[e].RadiantW
	}
	return mixOf(m.spectra, watts)
}
