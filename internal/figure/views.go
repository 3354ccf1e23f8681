package figure

import (
	"math"

	"lampwright/internal/engine"
	"lampwright/internal/lamp"
	"lampwright/internal/light"
	"lampwright/internal/point"
	"lampwright/internal/project"
	"lampwright/internal/spectrum"
)

// bom makes the bill of materials.
func (r *Evaluation) bom(l *lamp.Lamp) {
	for _, o := range project.BillOfMaterials(l.Project.Library, l.Design, project.Order{}) {
		line := NewBOMLine(&o)
		r.HasFictitiousParts = r.HasFictitiousParts || line.Fictitious
		r.BOM = append(r.BOM, line)
	}
}

// NewBOMLine returns a line of the bill of materials as it is shown.
func NewBOMLine(o *project.OrderLine) BOMLine {
	line := BOMLine{
		What: o.What, Count: o.Count, Each: o.Each, Total: o.Total(), Priced: o.Priced, Note: o.Note,
		Fictitious: o.Fictitious(),
	}
	if o.Part != nil {
		line.Part = o.Part.ID.S
	}
	return line
}

// Fictitious returns the ids of the fictitious parts, in the order of the bill of materials.
func (r *Result) Fictitious() (ids []string) {
	for _, o := range r.BOM {
		if o.Fictitious {
			ids = append(ids, o.Part)
		}
	}
	return ids
}

func (r *Evaluation) partsCost() float64 {
	sum := 0.0
	for _, o := range r.BOM {
		sum += o.Total
	}
	return sum
}

// views fills what pictures and tables show.
func (r *Evaluation) views(w *writer, target spectrum.Spectrum) {
	s, sol := r.Sys, &r.Sol
	l, typical := s.Lamp, sol.Cases[engine.Typical]
	for i := range s.Cases {
		if st, ok := sol.Cases[s.Cases[i].Key]; ok {
			r.Cases = append(r.Cases, caseOf(s, &s.Cases[i], &st))
		}
	}
	for i, at := range l.Sources() {
		r.Emitters = append(r.Emitters, emitterView(l, i, at, typical.States[i]))
	}
	r.Spectrum = spectrumView(s, sol, target)
	for i := range l.Channels {
		r.Channels = append(r.Channels, channelView(&l.Channels[i], &sol.Channels[i]))
	}
	r.Target = makeMap(l.TargetName(), s.Light.Target, sol.EmittedW)
	if s.Light.Surface != nil {
		r.Surface = makeMap("water surface", s.Light.Surface, sol.EmittedW)
	}
	r.Board, r.Installation = boardView(l, s.Board.Spots), installationView(l)
	r.Notes = append(r.Notes, l.Notes...)
	if typical.Runaway {
		r.Notes = append(r.Notes, "no steady state at typical ambient: maps, spectra and energy flow are those at "+
			"the last iteration and not valid")
	}
	r.heatViews(s, typical)
	r.energyFlows(w.values)
}

func emitterView(l *lamp.Lamp, i int, at light.Emitter, st point.State) EmitterView {
	e := &l.Emitters[i]
	k := &l.Types[e.Type]
	duty, body := l.Channels[e.Channel].Duty(), k.Part.Body
	v := EmitterView{
		Label: e.Label, Channel: l.Channels[e.Channel].Name, Part: k.Part.ID.S,
		XM: e.XM, YM: e.YM, At: [3]float64{at.XM, at.YM, at.ZM}, Aim: at.Aim(), BodyLM: body.Length.SI,
		BodyWM: body.Width.SI,
		DieA:   st.DieCurrentA, VoltageV: st.VoltageV, ElectricalW: duty * st.ElectricalW, RadiantW: duty * st.RadiantW,
		HeatW: duty * st.HeatW,
		Notes: append(k.Model.OutsideCurves(st), k.Shift.OutsideCurve(k.Part.ID.S, st.DieCurrentA)...),
	}
	if lens := l.Optics[e.Optic].Lens; lens != nil {
		v.Lens, v.LensM = lens.ID.S, lens.Diameter.SI
	}
	return v
}

func spectrumView(s *engine.System, sol *engine.Solution, target spectrum.Spectrum) (v SpectrumView) {
	lo, hi, step := s.SpectrumOf(0, sol.EmittedW).Grid()
	for nm := lo; nm <= hi; nm += step {
		v.LambdaNM = append(v.LambdaNM, float64(nm))
	}
	at := func(sp spectrum.Spectrum) []float64 {
		out := make([]float64, len(v.LambdaNM))
		for i, nm := range v.LambdaNM {
			out[i] = sp.At(nm)
		}
		return out
	}
	v.Target = at(target)
	for i := range s.Lamp.Channels {
		v.Channels = append(v.Channels, at(s.SpectrumOf(i, sol.EmittedW)))
	}
	return v
}

func channelView(ch *lamp.Channel, c *engine.ChannelSolution) ChannelView {
	return ChannelView{
		Name: ch.Name, CurrentA: ch.CurrentA, StringA: c.CurrentA,
		TypicalV: c.VoltageV, MaxV: c.VoltageMaxV, MinV: c.VoltageMinV,
		ElectricalW: c.PowerW, RadiantW: c.RadiantW, LumenLm: c.FluxLm, PPFUmolS: c.PPFUmolS,
		DriverInW: c.InputW, WireDropV: c.WireDropV,
	}
}

func boardView(l *lamp.Lamp, spots []lamp.Spot) BoardView {
	b := l.Design.Board
	x0, x1, y0, y1 := b.Outline().Bounds()
	v := BoardView{Shape: string(b.Shape.S), LengthM: x1 - x0, WidthM: y1 - y0}
	for _, p := range b.Corners {
		v.Corners = append(v.Corners, [2]float64{p.X.SI, p.Y.SI})
	}
	for _, h := range b.HoleShapes() {
		v.Holes = append(v.Holes, BoardHole{
			XM: h.Rect.XM, YM: h.Rect.YM, DiameterM: 2 * h.RadiusM, LengthM: h.Rect.WidthM, WidthM: h.Rect.HeightM,
		})
	}
	v.ContactXM, v.ContactYM, v.ContactLM, v.ContactWM = l.ContactOf()
	if d := l.Design.Sensor; d != nil {
		v.HasSensor, v.SensorXM, v.SensorYM = true, d.At.X.SI, d.At.Y.SI
	}
	for _, s := range spots {
		v.Spots = append(v.Spots, BoardSpot{s.Name, s.XM, s.YM, s.DiameterM, s.Stated != nil})
	}
	return v
}

func installationView(l *lamp.Lamp) InstallationView {
	at := l.Design.Installation
	v := InstallationView{
		Kind: string(at.Kind.S), LengthM: at.Inside.Length.SI, WidthM: at.Inside.Width.SI, HeightM: at.Inside.Height.SI,
		WaterM: at.Water.SI, SubstrateM: at.Substrate.SI, HangingM: at.Hanging.SI,
	}
	v.TiltRad, v.TowardsRad = at.TiltRad()
	return v
}

// heatViews fills the map of the board and the temperature drops through its hottest emitter, at typical ambient.
func (r *Evaluation) heatViews(s *engine.System, st engine.State) {
	r.BoardHeat = r.boardHeat(s.Cases[0].AirK, &st)
	r.Stack = temperatureDrops(s, &st)
}

// boardHeat returns the map of the board in a state.
func (r *Evaluation) boardHeat(airK float64, st *engine.State) HeatMap {
	ras := r.Sys.Board.Heat.Raster
	m := HeatMap{X0M: ras.X0M, Y0M: ras.Y0M, StepM: ras.StepM, NX: ras.NX, NY: ras.NY}
	for _, rise := range r.Sys.Board.Surface(st) {
		if math.IsNaN(rise) {
			m.TempK = append(m.TempK, 0)
			continue
		}
		m.TempK = append(m.TempK, airK+rise)
	}
	return m
}

// BoardHeatIn returns the map of the board in a case; false where the lamp has no such case.
func (r *Evaluation) BoardHeatIn(c engine.CaseKey) (HeatMap, bool) {
	st, ok := r.Sol.Cases[c]
	if !ok {
		return HeatMap{}, false
	}
	return r.boardHeat(st.AirK, &st), true
}

// RiseBy returns the part of the rise of the board's top that some emitters cause in a case, with the heat sink at its
// temperature, cell by cell; 0 off the board [K].
func (r *Evaluation) RiseBy(c engine.CaseKey, emitters []int) []float64 {
	st := r.Sol.Cases[c]
	kw := r.Sys.Board.Heat.Raster.KW
	watts := make([]float64, len(kw))
	for _, i := range emitters {
		watts[i] = st.HeatW[i]
	}
	out := engine.Combine(kw, watts)
	for k := range out {
		if math.IsNaN(out[k]) {
			out[k] = 0
		}
	}
	return out
}

// temperatureDrops lists the drops from the hottest junction to the air, at typical ambient.
func temperatureDrops(s *engine.System, st *engine.State) (out []LayerView) {
	airK, hot := s.Cases[0].AirK, hottestEmitter(st)
	last := st.JunctionK[hot]
	step := func(name string, coldK float64) {
		out = append(out, LayerView{Name: name, HotK: last, ColdK: coldK})
		last = coldK
	}
	step(s.Lamp.Emitters[hot].Label+": junction to solder point", st.SolderK[hot])
	layers := s.Board.Cut(hot, st)
	if len(layers) > 0 {
		// The thermal resistance of the package ends at the mean under the pad, the section starts at its centre: no
		// layer.
		step("mean under the pad to its centre", airK+layers[0].TopK)
	}
	for _, d := range layers {
		step(d.Name, airK+d.LowK)
	}
	step("thermal interface", st.Sink.BaseK+s.Board.SpreadAt(hot, st.HeatW))
	step("spreading in the heat sink base", st.Sink.BaseK)
	step("heat sink to air", airK)
	return out
}

func makeMap(title string, m *engine.UnitMap, emittedW []float64) *Map {
	return &Map{
		Title: title, LengthM: m.LengthM, WidthM: m.WidthM, NX: m.NX, NY: m.NY,
		PPFD: engine.Combine(m.PPFD, emittedW), Lux: engine.Combine(m.Lux, emittedW),
	}
}

// Nodes of the energy flow, from the mains to the target.
const (
	AtMains    = "mains input"
	atSupply   = "power supply"
	atDrivers  = "drivers"
	atEmitters = "emitters"
	atLenses   = "lenses"
	atLight    = "light after lenses"
	atWater    = "in the water"
)

func (r *Evaluation) flow(from, to string, watts float64, loss bool) {
	if watts > 1e-9 {
		r.EnergyFlows = append(r.EnergyFlows, EnergyFlow{From: from, To: to, Watts: watts, Loss: loss})
	}
}

// energyFlows follows the power from the mains to the target.
func (r *Evaluation) energyFlows(v map[string]float64) {
	r.electricalFlows(v)
	diesW, afterW := 0.0, v["lamp.radiant"]
	for i := range r.Lamp.Channels {
		diesW += r.Sol.Channels[i].RadiantW
	}
	r.flow(atEmitters, "emitter dissipation", v["lamp.power"]-diesW, true)
	r.flow(atEmitters, atLenses, diesW, false)
	r.flow(atLenses, "lens losses", diesW-afterW, true)
	r.flow(atLenses, atLight, afterW, false)
	r.lightFlows(v)
}

// electricalFlows follows the power from the mains to the emitters.
func (r *Evaluation) electricalFlows(v map[string]float64) {
	l := r.Lamp
	suppliedW, directW, wireW := 0.0, 0.0, 0.0 // of drivers on supplies, of AC-input drivers, in the wires to the board
	for i := range l.Channels {
		ch, c := &l.Channels[i], &r.Sol.Channels[i]
		if ch.Supply >= 0 {
			suppliedW += c.InputW
		} else {
			directW += c.InputW
		}
		wireW += ch.Duty() * c.WireDropV * c.CurrentA * float64(ch.Strings)
	}
	fanW, mainsW, powerW := r.Sys.FanW(), v["mains.power"], v["lamp.power"]
	if len(l.Design.Supplies) > 0 {
		r.flow(AtMains, atSupply, mainsW-directW, false)
		r.flow(AtMains, atDrivers, directW, false)
		r.flow(atSupply, "power supply and wire losses", mainsW-directW-suppliedW-fanW, true)
		r.flow(atSupply, atDrivers, suppliedW, false)
		r.flow(atSupply, "fan", fanW, true)
	} else {
		r.flow(AtMains, atDrivers, directW, false)
		r.flow(AtMains, "fan", fanW, true)
	}
	r.flow(atDrivers, "driver losses", suppliedW+directW-powerW-wireW, true)
	r.flow(atDrivers, "wire losses", wireW, true)
	r.flow(atDrivers, atEmitters, powerW, false)
}

// lightFlows follows the light from the lenses to the target.
func (r *Evaluation) lightFlows(v map[string]float64) {
	l, afterW := r.Lamp, v["lamp.radiant"]
	target := l.TargetName()
	r.flow(atLight, "spill light", afterW*v["light.spill"], true)
	r.flow(atLight, "loss through "+l.GlassAboveWater(), afterW*v["light.glass-loss"], true)
	// Reflected light is not absorbed by the target.
	absorbedW := afterW * v["light.incident-substrate"] * (1 - l.Design.Installation.Reflectance.SI)
	if r.Sys.Light.Surface == nil {
		r.flow(atLight, "reflected at the "+target, afterW*v["light.incident-surface"]-absorbedW, true)
		r.flow(atLight, target, absorbedW, false)
		return
	}
	r.flow(atLight, "reflected at water surface", afterW*v["light.reflected"], true)
	r.flow(atLight, atWater, afterW*v["light.transmitted"], false)
	r.flow(atWater, "absorbed by the water or leaving it", afterW*v["light.transmitted"]-absorbedW, true)
	r.flow(atWater, target, absorbedW, false)
}
