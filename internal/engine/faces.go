package engine

import (
	"fmt"
	"math"

	"lampwright/internal/curve"
	"lampwright/internal/lamp"
	"lampwright/internal/sink"
)

// BoardFaces returns the bare faces of the board: the one with the emitters, and the back beside the contact with the
// heat sink, whose area may be 0. Both take part in the air flow of the whole board.
func BoardFaces(l *lamp.Lamp) (top, back sink.BareFace) {
	outline := l.Design.Board.Outline()
	x0, x1, y0, y1 := outline.Bounds()
	tilt, azimuth := l.Design.Installation.TiltRad()
	top = sink.BareFace{
		Face: sink.FaceDown, AreaM2: l.Design.Board.AreaM2(), PlaneM2: outline.AreaM2(),
		PerimeterM: outline.PerimeterM(), TiltRad: tilt, Emissivity: l.MaskEmissivity(),
		HeightM: math.Abs(math.Cos(azimuth))*(x1-x0) + math.Abs(math.Sin(azimuth))*(y1-y0),
	}
	back = top
	back.Face, back.AreaM2 = sink.FaceUp, l.BareBackM2()
	emissivity, _ := l.BackEmissivity()
	back.Emissivity = emissivity
	switch l.Orientation() {
	case sink.Vertical, sink.FinsAcross:
		top.Face, top.HeightM = sink.FaceVertical, y1-y0
		back.Face, back.HeightM = sink.FaceVertical, y1-y0
	case sink.FinsDown:
		top.Face, back.Face = sink.FaceUp, sink.FaceDown
	}
	return top, back
}

// BaseFace returns the face of the heat sink base beside the board; its area is 0 where the board covers it.
func BaseFace(l *lamp.Lamp) sink.BareFace {
	length, width := l.Sink.Base.Length.SI, l.Sink.Base.Width.SI
	x, y, _, _ := l.ContactOf()
	f, _ := BoardFaces(l)
	f.PlaneM2, f.PerimeterM, f.Emissivity = length*width, 2*(length+width), l.Sink.Emissivity.SI
	f.AreaM2 = f.PlaneM2 - l.Design.Board.ContactAreaM2(x, y, length, width)
	if h := l.Design.Housing; h != nil {
		f.AreaM2 -= h.ContactArea.SI
	}
	if f.AreaM2 < 1e-6*f.PlaneM2 {
		f.AreaM2 = 0
	}
	if f.Face == sink.FaceVertical {
		f.HeightM = width
	}
	return f
}

// faceRiseK is the rise of the board's faces at which its unit responses are computed.
const faceRiseK = 30

// FaceFilms returns the heat transfer coefficients of the board's top and bare back at which its unit responses are
// computed [W/(m²·K)]: at a rise of 30 K. Ambient is rounded to 5 K, so that a small change needs no new field. Each
// case is corrected from there to its own rise: see film.
func FaceFilms(l *lamp.Lamp) (top, back float64) {
	room := 273.15 + 5*math.Round((l.Design.Installation.Ambient.Typical.SI-273.15)/5)
	p := sink.PressureAtAltitude(l.Design.Installation.Altitude.SI)
	t, b := BoardFaces(l)
	return t.Coefficient(room+faceRiseK, room, p), b.Coefficient(room+faceRiseK, room, p)
}

// faceFilms are the films of the board's faces in the air of a case, against their mean rise.
type faceFilms struct {
	top, back       curve.Curve // [W/(m²·K)] against [K]
	topRef, backRef float64     // of the unit responses
	topM2, backM2   float64
	airK            float64
	backEmissivity  float64 // of the curve of the back
	moreEmissive    float64 // than that
}

// emissive returns the films with another emissivity of the back.
func (f *faceFilms) emissive(emissivity float64) *faceFilms {
	if f == nil || emissivity == f.backEmissivity {
		return f
	}
	other := *f
	other.moreEmissive = emissivity - f.backEmissivity
	return &other
}

// filmsOf returns the films of a lamp in some air.
func filmsOf(l *lamp.Lamp, airK, pressurePa float64) (*faceFilms, error) {
	top, back := BoardFaces(l)
	out := &faceFilms{topM2: top.AreaM2, backM2: back.AreaM2, airK: airK, backEmissivity: back.Emissivity}
	out.topRef, out.backRef = FaceFilms(l)
	ofTop, ofBack := make([]float64, len(sampleRises)), make([]float64, len(sampleRises))
	for i, rise := range sampleRises {
		ofTop[i] = top.Coefficient(airK+rise, airK, pressurePa)
		ofBack[i] = back.Coefficient(airK+rise, airK, pressurePa)
	}
	var err error
	if out.top, err = curve.New(sampleRises, ofTop); err == nil {
		out.back, err = curve.New(sampleRises, ofBack)
	}
	if err != nil {
		return nil, fmt.Errorf("films of the board's faces: %w", err)
	}
	return out, nil
}

// film is the state of the board's faces in one case.
type film struct {
	TopWm2K, BackWm2K float64 // heat transfer coefficients
	shift             float64 // e of heat.FilmResponse: how far the unit responses move towards these films
}

// heatOffFaces is what leaves by top and back at the films of the unit responses while the heat sink is at air
// temperature [W], and by how much less reaches the heat sink where the films grow: Σ_j χ_j Q_j [W].
type heatOffFaces struct{ topW, backW, fallW float64 }

func (b *BoardResponse) heatOffFaces(heatW []float64) (out heatOffFaces) {
	for j, q := range heatW {
		out.topW += b.Heat.TopW[j] * q
		out.backW += b.Heat.BackW[j] * q
		out.fallW += b.Heat.Film.Mean[j] * q
	}
	return out
}

// filmAt returns the films of a case at the mean rise of each face, and how far the unit responses move:
//
//	T̄_top = (Σ_j t_j Q_j + L_top θ)/(h_top A_top)    ε = (ε_top A₂_top + ε_back A₂_back)/(A₂_top + A₂_back)    e = ε/(1 + κ ε)
//
// t_j and L_top are the watts that leave by the top per watt of emitter j and per kelvin of the heat sink; ε_top is the
// relative change of the film; A₂ and κ are those of heat.FilmResponse. Both faces change alike but for a few per cent,
// so that one shift does for both.
func (b *BoardResponse) filmAt(f *faceFilms, off heatOffFaces, nodeRiseK float64) film {
	r := b.Heat
	if f == nil {
		return film{}
	}
	out := film{TopWm2K: f.topRef, BackWm2K: f.backRef}
	change := 0.0
	if f.topM2 > 0 {
		out.TopWm2K = clamped(&f.top, (off.topW+r.Sink.TopW*nodeRiseK)/(f.topRef*f.topM2))
		change += (out.TopWm2K/f.topRef - 1) * r.Film.TopWK
	}
	if f.backM2 > 0 {
		rise := (off.backW + r.Sink.BackW*nodeRiseK) / (f.backRef * f.backM2)
		out.BackWm2K = clamped(&f.back, rise) + sink.RadiationCoefficient(f.moreEmissive, f.airK+rise, f.airK)
		change += (out.BackWm2K/f.backRef - 1) * r.Film.BackWK
	}
	if all := r.Film.TopWK + r.Film.BackWK; all > 0 {
		change /= all
		out.shift = change / (1 + r.Film.Curvature*change)
	}
	return out
}

// FaceLossWK returns the dissipation from the board's faces per kelvin of the heat sink at some films [W/K].
func (b *BoardResponse) FaceLossWK(f film) float64 {
	loss := b.Heat.Sink.TopW + b.Heat.Sink.BackW
	if f.shift != 0 {
		loss += f.shift * (b.Heat.Film.TopWK + b.Heat.Film.BackWK)
	}
	return loss
}

// SinkFraction returns the fraction of the dissipation of emitter j that reaches a heat sink at air temperature, at some
// films.
func (b *BoardResponse) SinkFraction(f film, j int) float64 {
	return b.ToSink[j] - f.shift*b.Heat.Film.Mean[j]
}

// byFilm returns by how much the film of its case cools a place [K]; chi is that place's fall per kelvin of the heat
// sink. What the emitters add is taken as the part of their field that has the shape of the heat sink's:
//
//	e (θ + Σ_j χ_j Q_j/(A₂_top + A₂_back)) χ
//
// χ_j = ∫h ψ φ_j dA by reciprocity.
func (b *BoardResponse) byFilm(st *State, chi float64) float64 {
	e, f := st.Film.shift, b.Heat.Film
	if e == 0 {
		return 0
	}
	equal := st.Sink.BaseK - st.AirK
	for j, q := range st.HeatW {
		equal += f.Mean[j] * q / (f.TopWK + f.BackWK)
	}
	return e * equal * chi
}

// SolderByFilm returns by how much the film of its case cools emitter i [K].
func (b *BoardResponse) SolderByFilm(st *State, i int) float64 {
	if st.Film.shift == 0 {
		return 0
	}
	k := b.Heat.Film.Mean[i] * (st.Sink.BaseK - st.AirK)
	for j, q := range st.HeatW {
		k += b.Heat.Film.MeanKW[i][j] * q
	}
	return st.Film.shift * k
}

// cutByFilm returns by how much the film of its case cools a knot of the cut through emitter i [K]: as the emitter
// itself, by the shape of the heat sink's fall over depth.
func (b *BoardResponse) cutByFilm(st *State, i, knot int) float64 {
	if st.Film.shift == 0 || !(b.Heat.Film.Mean[i] > 0) {
		return 0 // no film, no fall
	}
	return b.SolderByFilm(st, i) * b.Heat.Film.Section[i][knot] / b.Heat.Film.Mean[i]
}
