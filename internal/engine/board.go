package engine

import (
	"context"
	"errors"
	"fmt"
	"math"

	"lampwright/internal/geom"
	"lampwright/internal/heat"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
)

// CopperWmK is the conductivity of copper foil. Rule of thumb (no source): 380 to 398 W/(m·K).
const CopperWmK = 385

// BoardResponse is the heat conduction of the board as unit responses: rises over the air per watt of each emitter with
// the heat sink at air temperature, and rises per kelvin of the heat sink node, the contact face of TIM and heat sink.
type BoardResponse struct {
	Heat   *heat.Response
	ToSink []float64 // fraction of the dissipation of each emitter that reaches the heat sink
	// [at][from]: sink beneath an emitter, and last beneath each reading, over the mean of its base, per watt into the
	// sink [K/W]
	Spread [][]float64
	// by the specific resistance of the TIM over the nominal one [m²·K/W]; nil where it has no range
	tim        *sensitivity
	cover      *sensitivity // by copper coverage; nil where it is stated
	laminate   *sensitivity // by the factor on the resistance of the laminate beneath the pads
	readings   []Reading
	SensorAt   int          // index of the sensor among the readings; -1 where there is none
	Spots      []lamp.Spot  // infrared spots: the last readings
	places     []geom.Point // free positions for a sensor; probes too, from firstPlace on
	firstPlace int
	Notes      []string
}

// Method and sources of the board, for derivations.
const (
	BoardMethod = "finite volumes of the layered board, one unit response per emitter"
	BoardSource = "Patankar1980, §4.2 (finite volumes, harmonic means); Roache1998, §5.3 (extrapolation from two " +
		"grids); Muzychka2003 (spreading in the heat sink base, exact series)"
)

// boardLayers returns the layers of the board, from the top.
func boardLayers(l *lamp.Lamp, pads []geom.Shape) []heat.Layer {
	s := l.Stack
	cover, _ := l.CoverageOf()
	core := heat.Layer{
		Name: "core", ThicknessM: l.Design.Board.Thickness.SI, KWmK: s.BaseK.SI,
		KzWmK: s.BaseKThroughPlane.SI,
	}
	core.DensityKgM3, core.HeatJkgK = coreCapacity(s.Base.S)
	copper := heat.Layer{
		Name: "copper", ThicknessM: s.Copper.SI, KWmK: CopperWmK, DensityKgM3: 8930, HeatJkgK: 385,
		Cover: pads, Rest: cover,
	}
	switch s.ThermalPath.S {
	case project.PathDirect:
		// The thermal pads are soldered to the core; copper and dielectric around them conduct little heat.
		return []heat.Layer{core}
	case project.PathVias:
		core.Vias, core.ViaKzWmK = pads, s.ViaK.SI
		return []heat.Layer{copper, core}
	}
	return []heat.Layer{copper, {
		Name: "dielectric", ThicknessM: s.Dielectric.SI, KWmK: s.DielectricK.SI,
		DensityKgM3: 2000, HeatJkgK: 900,
	}, core}
}

// coreCapacity returns density [kg/m³] and specific heat [J/(kg·K)] of a core, which matter in time only. Sources:
// ASM-Handbook2 for aluminium 5052 (cited from memory), IncroperaDeWitt2007, table A.1 for copper; FR4 and the
// dielectric are rules of thumb (no source).
func coreCapacity(base project.BoardBase) (densityKgM3, heatJkgK float64) {
	switch base {
	case project.Copper:
		return 8933, 385
	case project.FR4:
		return 1850, 1100
	}
	return 2680, 880
}

// HeatBoard returns the board and its heat sources, with an ideal heat sink behind the TIM.
func HeatBoard(l *lamp.Lamp) (heat.Board, []heat.Source) {
	var sources []heat.Source
	var pads []geom.Shape
	for i := range l.Emitters {
		r := l.PadRect(i)
		sources = append(sources, heat.Source{Name: l.Emitters[i].Label, Rect: r})
		pads = append(pads, geom.Rectangle(r))
	}
	interfaceM2KW, _, _ := l.InterfaceM2KW()
	x, y, length, width := l.ContactOf()
	top, back := FaceFilms(l)
	return heat.Board{
		Outline: l.Design.Board.Outline(), Holes: l.Design.Board.HoleShapes(), Layers: boardLayers(l, pads),
		TopFilmWm2K: top, BackFilmWm2K: back,
		Contact: &heat.Contact{
			Area:       geom.Rectangle(geom.Rect{XM: x, YM: y, WidthM: length, HeightM: width}),
			ResistM2KW: interfaceM2KW,
		},
	}, sources
}

// solveBoard computes the unit responses of the board.
func solveBoard(ctx context.Context, l *lamp.Lamp, o Options) (*BoardResponse, error) {
	board, sources := HeatBoard(l)
	out := &BoardResponse{}
	out.readings, out.SensorAt = sensorReading(l)
	spots := l.StatedSpots()
	if len(spots) == 0 {
		spots = l.SpotsBeside()
	}
	candidates := spotReadings(spots)
	probes := probesOf(out.readings, candidates)
	if out.SensorAt >= 0 {
		out.firstPlace = len(probes)
		out.places = l.FreePlaces(SensorRoomM)
		for _, p := range out.places {
			probes = append(probes, heat.Probe{XM: p.XM, YM: p.YM})
		}
	}
	r, err := o.UsedSolver().Board(ctx, board, sources, probes,
		heat.Options{RelErr: o.HeatError(), Progress: o.Progress})
	if err != nil {
		return nil, fmt.Errorf("heat of the board: %w", err)
	}
	out.Heat, out.ToSink = r, r.ToSinkW
	out.Notes = append(out.Notes, r.Notes...)
	if l.Stack.ThermalPath.S == project.PathDirect {
		out.Notes = append(out.Notes, "copper and dielectric beside the thermal pads are not modelled, which "+
			"overestimates temperature")
	}
	if k := l.Sink; !k.BaseThickness.Set || !k.Conductivity.Set {
		out.Notes = append(out.Notes, fmt.Sprintf("base thickness or conductivity not stated in the datasheet of "+
			"heat sink %q; uniform base temperature assumed, a few kelvin too low beneath a strong emitter", k.ID.S))
	}
	respond(r, out.readings, candidates)
	if err := out.chooseSpots(l, o.UsedSolver(), spots, candidates); err != nil {
		return nil, err
	}
	if err := spreadInBase(l, out, o.UsedSolver()); err != nil {
		return nil, err
	}
	if o.SampleCount() > 0 || jointLearned(l) {
		if err := plateSensitivity(l, out); err != nil {
			return nil, err
		}
	}
	return out, copperSensitivity(ctx, l, out, o)
}

// BaseModes is the number of modes per axis of the heat sink base, enough for footprints of 1 cm on a base of 20 cm.
const BaseModes = 120

// spreadInBase computes how much hotter than the mean of its base the heat sink is beneath each emitter and each
// reading, per watt of an emitter into it [K/W]:
//
//	S_ij = θ_i/P_j − t/(k A) − 1/(h A)
//
// θ_i is the mean rise at footprint i of a plate with heat transfer coefficient h on its far face, for 1 W in footprint
// j: the exact series. A footprint is a pad plus spreadLengthM on each side; one beyond the base is moved to its edge.
// h is that at a rise of 30 K. The base has uniform temperature where the datasheet does not state its thickness or
// conductivity; a note reports that.
// Source: Muzychka2003.
func spreadInBase(l *lamp.Lamp, out *BoardResponse, solver Solver) error {
	n := len(l.Emitters)
	out.Spread = zeroes(n+len(out.readings), n)
	if s := l.Sink; !s.BaseThickness.Set || !s.Conductivity.Set {
		return nil
	}
	plate, feet, err := SinkBase(l, solver, out.Feet()...)
	if errors.Is(err, errNoCoolingData) {
		return nil // NewSystem reports it
	}
	if err != nil {
		return err
	}
	unit, err := solver.SinkBase(plate, feet)
	if err != nil {
		return fmt.Errorf("spreading in the base of heat sink %q: %w", l.Sink.ID.S, err)
	}
	out.Spread = overMean(plate, unit, n)
	return nil
}

// overMean returns the unit responses of a base over the mean of its top face: [at][from], from n emitters [K/W].
func overMean(plate heat.Plate, unit [][]float64, n int) [][]float64 {
	area := plate.WidthM * plate.HeightM
	even := plate.Layers[0].ThicknessM/(plate.Layers[0].KWmK*area) + 1/(plate.BackFilmWm2K*area)
	out := make([][]float64, len(unit))
	for i := range unit {
		out[i] = make([]float64, n)
		for j := range n {
			out[i][j] = unit[i][j] - even
		}
	}
	return out
}

// SinkBase returns the base of the heat sink as a plate with a uniform heat transfer coefficient, and the footprints of
// the emitters and, last, further ones, such as that of the sensor.
func SinkBase(l *lamp.Lamp, solver Solver, more ...geom.Rect) (heat.Plate, []geom.Rect, error) {
	s := l.Sink
	room := l.Design.Installation.Ambient.Typical.SI
	c, err := coolingOf(l, solver, room, l.Fan == nil)
	if err != nil {
		return heat.Plate{}, nil, err
	}
	length, width := s.Base.Length.SI, s.Base.Width.SI
	interfaceM2KW, _, _ := l.InterfaceM2KW()
	lambda := SpreadLengthM(l, interfaceM2KW)
	cx, cy := 0.0, 0.0 // the centre of the base, from the centre of the board
	if k := l.Design.Sink.Contact; k != nil {
		cx, cy = k.At.X.SI, k.At.Y.SI
	}
	feet := append(padsOf(l), more...)
	for i, r := range feet {
		r.WidthM, r.HeightM = r.WidthM+2*lambda, r.HeightM+2*lambda
		feet[i] = within(r, cx, cy, length, width)
	}
	return heat.Plate{
		WidthM: length, HeightM: width, BackFilmWm2K: c.At(room+30) / (length * width),
		Layers: []heat.Layer{{Name: "base", ThicknessM: s.BaseThickness.SI, KWmK: s.Conductivity.SI}},
	}, feet, nil
}

// SpreadLengthM returns how far the board spreads heat beyond a pad on its way into the heat sink [m]:
//
//	λ² = k_core t_core R_i + k_Cu t_Cu (R_below + R_i)
//
// R_i is the specific resistance of the TIM, R_below that between copper and core, or of the core on FR4; all [m²·K/W].
// It is the length of a fin cooled through the layer beneath it, for two parallel fins; derived.
func SpreadLengthM(l *lamp.Lamp, interfaceM2KW float64) float64 {
	s, t := l.Stack, l.Design.Board.Thickness.SI
	cover, _ := l.CoverageOf()
	below := 0.0
	switch {
	case s.ThermalPath.S == project.PathDielectric:
		below = s.Dielectric.SI / s.DielectricK.SI
	case s.ThermalPath.S == project.PathVias && s.BaseKThroughPlane.Set:
		below = t / s.BaseKThroughPlane.SI
	}
	return math.Sqrt(s.BaseK.SI*t*interfaceM2KW + CopperWmK*cover*s.Copper.SI*(below+interfaceM2KW))
}

// SpreadAt returns how much hotter than the mean of its base the heat sink is beneath emitter i [K].
func (b *BoardResponse) SpreadAt(i int, heatW []float64) (k float64) {
	for j, h := range heatW {
		k += b.Spread[i][j] * b.ToSink[j] * h
	}
	return k
}

// sinkState is the steady state of heat sink and board for a given dissipation.
type sinkState struct {
	BaseK              float64 // of the heat sink base, at the contact with the TIM
	DissipatedW        float64 // by the heat sink
	HousingW, HousingK float64 // dissipation and temperature of the housing; 0 without one
	FaceLossW          float64 // by the board's faces
}

// settleSink computes the heat sink temperature for the dissipation of each emitter:
//
//	q = (G(T_n) + G_h(T_n))·(T_n − T_air)      q + L·(T_n − T_air) = Σ s_j Q_j
//
// G_h is the conductance of the housing, joint and faces in series. L is the dissipation from the board's faces per
// kelvin of T_n, s_j the fraction of the dissipation of emitter j that reaches a heat sink at air temperature, both at
// the films of the faces' own rise. The left side less the right one increases with T_n, so that bisection finds the one
// solution.
func (b *BoardResponse) settleSink(c Cooling, airK, factor float64, heatW []float64) (sinkState, film) {
	n := b.sinkNode(c, airK, factor, heatW)
	tooCold := func(baseK float64) bool { return n.gainW(baseK) > 0 }
	lo, hi := airK, airK+1
	if n.inW <= 0 {
		hi = airK
	}
	for tooCold(hi) && hi < airK+5000 {
		hi = airK + 2*(hi-airK)
	}
	for range 60 {
		if hi-lo < 1e-6 {
			break
		}
		if mid := (lo + hi) / 2; tooCold(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	base := (lo + hi) / 2
	return n.at(base), n.filmAt(base)
}

// sinkNode is the balance of the heat sink node for the dissipation of each emitter; see settleSink.
type sinkNode struct {
	board        *BoardResponse
	cool         Cooling
	airK, factor float64
	inW, allW    float64 // dissipation that reaches a heat sink at air temperature; all
	off          heatOffFaces
}

// sinkNode returns the balance of the heat sink for the dissipation of each emitter.
func (b *BoardResponse) sinkNode(c Cooling, airK, factor float64, heatW []float64) sinkNode {
	n := sinkNode{board: b, cool: c, airK: airK, factor: factor}
	for j, h := range heatW {
		n.inW += b.ToSink[j] * h
		n.allW += h
	}
	if c.films != nil { // a board without them is as its unit responses are
		n.off = b.heatOffFaces(heatW)
	}
	return n
}

// at returns the dissipation at a base temperature [K].
func (n *sinkNode) at(baseK float64) sinkState {
	s := sinkState{
		BaseK: baseK, DissipatedW: n.factor * n.cool.At(baseK) * (baseK - n.airK),
		HousingW: n.factor * n.cool.housingAt(baseK) * (baseK - n.airK),
	}
	s.FaceLossW = n.allW - s.DissipatedW - s.HousingW
	if n.cool.housingWK != nil {
		s.HousingK = baseK - n.cool.housingJointKW*s.HousingW
	}
	return s
}

// filmAt returns the films of the board's faces at a base temperature [K].
func (n *sinkNode) filmAt(baseK float64) film {
	return n.board.filmAt(n.cool.films, n.off, baseK-n.airK)
}

// gainW returns the heat that the node gains at a base temperature [W]; 0 in the steady state.
func (n *sinkNode) gainW(baseK float64) float64 {
	s, f := n.at(baseK), n.filmAt(baseK)
	return n.inW - f.shift*n.off.fallW - s.DissipatedW - s.HousingW - n.board.FaceLossWK(f)*(baseK-n.airK)
}

// solderRise returns the mean rise over the air beneath an emitter [K].
func (b *BoardResponse) solderRise(i int, st *State) float64 {
	rise := b.Heat.Sink.Mean[i]*(st.Sink.BaseK-st.AirK) + b.SpreadAt(i, st.HeatW)
	for j, h := range st.HeatW {
		rise += b.Heat.MeanKW[i][j] * h
	}
	return rise - b.SolderByFilm(st, i)
}

// SensorRise returns the rise over the air at the sensor [K].
func (b *BoardResponse) SensorRise(st *State) float64 { return b.readingRise(b.SensorAt, st) }

// SpotRise returns the mean rise over the air of an infrared spot [K].
func (b *BoardResponse) SpotRise(spot int, st *State) float64 {
	return b.readingRise(len(b.readings)-len(b.Spots)+spot, st)
}

// readingRise returns the rise over the air at a reading [K].
func (b *BoardResponse) readingRise(k int, st *State) float64 {
	r, spread := &b.readings[k], b.Spread[len(b.ToSink)+k]
	rise := r.sink * (st.Sink.BaseK - st.AirK)
	for j, h := range st.HeatW {
		rise += (r.kw[j] + spread[j]*b.ToSink[j]) * h
	}
	return rise - b.byFilm(st, r.film)
}

// probeRise returns the rise over the air at a probe [K]; spread is that of the heat sink base beneath it, by emitter.
func (b *BoardResponse) probeRise(probe int, spread []float64, st *State) float64 {
	rise := b.Heat.Sink.Probe[probe] * (st.Sink.BaseK - st.AirK)
	for j, h := range st.HeatW {
		rise += (b.Heat.ProbeKW[probe][j] + spread[j]*b.ToSink[j]) * h
	}
	return rise - b.byFilm(st, b.Heat.Film.Probe[probe])
}

// sectionRise returns the rise over the air at a knot of the cut through emitter i [K].
func (b *BoardResponse) sectionRise(i, knot int, st *State) float64 {
	rise := b.Heat.Sink.Section[i][knot]*(st.Sink.BaseK-st.AirK) + b.SpreadAt(i, st.HeatW)
	for j, h := range st.HeatW {
		rise += b.Heat.Sections[i].KW[j][knot] * h
	}
	return rise - b.cutByFilm(st, i, knot)
}

// layerDrop is the temperature drop of one layer.
type layerDrop struct {
	Name       string
	TopK, LowK float64 // rises over the air
}

// Cut returns the layers through the centre of emitter i, from the pad to the heat sink.
func (b *BoardResponse) Cut(i int, st *State) (out []layerDrop) {
	for _, p := range b.Heat.Sections[i].Layers {
		out = append(out, layerDrop{p.Name, b.sectionRise(i, p.Top, st), b.sectionRise(i, p.Bottom, st)})
	}
	return out
}

// DielectricRise returns the rise of the hot side of the laminate beneath emitter i [K]: of the dielectric, or of an
// FR4 core beneath its copper.
func (b *BoardResponse) DielectricRise(i int, st *State) float64 {
	return b.sectionRise(i, b.LaminateTop(i), st)
}

// LaminateTop returns the knot at the hot side of the laminate in the cut through emitter i.
func (b *BoardResponse) LaminateTop(i int) int {
	layers := b.Heat.Sections[i].Layers
	for _, p := range layers {
		if p.Name == "dielectric" {
			return p.Top
		}
	}
	return layers[len(layers)-1].Top // the FR4 itself
}

// Surface returns the rise of the board's top over the air, cell by cell, NaN off the board [K].
func (b *BoardResponse) Surface(st *State) []float64 {
	out := make([]float64, b.Heat.Raster.NX*b.Heat.Raster.NY)
	fall := b.byFilm(st, 1)
	for k := range out {
		out[k] = b.Heat.Sink.Raster[k]*(st.Sink.BaseK-st.AirK) - fall*b.Heat.Film.Raster[k]
		for j, h := range st.HeatW {
			out[k] += b.Heat.Raster.KW[j][k] * h
		}
	}
	return out
}
