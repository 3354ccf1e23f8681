package figure

import (
	"math"

	"lampwright/internal/engine"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/spectrum"
)

// orders makes the bill of materials.
func (r *Evaluation) orders(l *lamp.Lamp) {
	for _, o := range project.Orders(l.Project.Library, l.Design) {
		what := o.Part.Name.S
		if what == "" {
			what = o.Kind
		}
		r.HasFictitiousParts = r.HasFictitiousParts || o.Part.Fictitious
		r.BOM = append(r.BOM, BOMLine{
			Part: o.Part.ID.S, What: what, Count: o.Count, Each: o.Each, Total: float64(o.Count) * o.Each, Priced: o.Priced, Note: o.Note,
			Fictitious: o.Part.Fictitious && !standardPart(o.Kind, *o.Part),
		})
	}
	for _, x := range l.Design.Extras {
		r.BOM = append(r.BOM, BOMLine{What: x.What.S, Count: 1, Each: x.Price.SI, Total: x.Price.SI, Priced: true})
	}
}

// standardPart tells whether a part of the library stands for a standard: a wire gauge or an alloy, which any manufacturer
// sells.
func standardPart(kind string, c project.Common) bool {
	return c.Builtin && (kind == "wire" || kind == "solder")
}

// Fictitious returns the ids of the parts that do not exist, in the order of the bill of materials.
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
	l := s.Lamp
	usual := sol.Cases[engine.Typical]
	for _, c := range s.Cases {
		if st, ok := sol.Cases[c.Key]; ok {
			r.Cases = append(r.Cases, caseOf(l, c.Key, c.Key.Title(), c.RoomK, c.AirK, c.FanFailure, st, s.Board, c.Cool))
		}
	}
	placed := l.Sources()
	for i := range l.Emitters {
		e := &l.Emitters[i]
		k := &l.Types[e.Type]
		duty := l.Channels[e.Channel].Duty()
		v := EmitterView{
			At: [3]float64{placed[i].XM, placed[i].YM, placed[i].ZM}, Aim: placed[i].Aim(),
			Label: e.Label, Channel: l.Channels[e.Channel].Name, Part: k.Part.ID.S, XM: e.XM, YM: e.YM,
			BodyLM: k.Part.Body.Length.SI, BodyWM: k.Part.Body.Width.SI, DieA: usual.States[i].DieCurrentA, VoltageV: usual.States[i].VoltageV,
			ElectricalW: duty * usual.States[i].ElectricalW, RadiantW: duty * usual.States[i].RadiantW, HeatW: duty * usual.States[i].HeatW, Notes: append(k.Model.Strayed(usual.States[i]), k.Shift.Strayed(k.Part.ID.S, usual.States[i].DieCurrentA)...),
		}
		if lens := l.Optics[e.Optic].Lens; lens != nil {
			v.Lens, v.LensM = lens.ID.S, lens.Diameter.SI
		}
		r.Emitters = append(r.Emitters, v)
	}
	lo, hi, step := s.SpectrumOf(0, sol.EmittedW).Grid()
	for nm := lo; nm <= hi; nm += step {
		r.Spectrum.LambdaNM = append(r.Spectrum.LambdaNM, float64(nm))
	}
	for i := range r.Spectrum.LambdaNM {
		r.Spectrum.Target = append(r.Spectrum.Target, target.At(r.Spectrum.LambdaNM[i]))
	}
	for i := range l.Channels {
		ch := &l.Channels[i]
		sp := s.SpectrumOf(i, sol.EmittedW)
		row := make([]float64, len(r.Spectrum.LambdaNM))
		for j, nm := range r.Spectrum.LambdaNM {
			row[j] = sp.At(nm)
		}
		r.Spectrum.Channels = append(r.Spectrum.Channels, row)
		c := &sol.Channels[i]
		r.Channels = append(r.Channels, ChannelView{
			Name: ch.Name, CurrentA: ch.CurrentA, StringA: c.CurrentA, TypicalV: c.VoltageV, ColdHighV: c.VoltageMaxV, HotLowV: c.VoltageMinV,
			ElectricalW: c.PowerW, RadiantW: c.RadiantW, LumenLm: c.FluxLm, PPFUmolS: c.PPFUmolS, DriverInW: c.InputW, WireDropV: c.WireDropV,
		})
	}
	r.Target = makeMap(l.TargetName(), s.Light.Target, sol.EmittedW)
	if s.Light.Surface != nil {
		r.Surface = makeMap("water surface", s.Light.Surface, sol.EmittedW)
	}
	b := l.Design.Board
	x0, x1, y0, y1 := b.Outline().Bounds()
	r.Board = BoardView{Shape: string(b.Shape.S), LengthM: x1 - x0, WidthM: y1 - y0}
	for _, p := range b.Corners {
		r.Board.Corners = append(r.Board.Corners, [2]float64{p.X.SI, p.Y.SI})
	}
	for _, h := range b.HoleShapes() {
		r.Board.Holes = append(r.Board.Holes, BoardHole{XM: h.Rect.XM, YM: h.Rect.YM, DiameterM: 2 * h.RadiusM, LengthM: h.Rect.WidthM, WidthM: h.Rect.HeightM})
	}
	r.Board.ContactXM, r.Board.ContactYM, r.Board.ContactLM, r.Board.ContactWM = l.ContactOf()
	if d := l.Design.Sensor; d != nil {
		r.Board.HasSensor, r.Board.SensorXM, r.Board.SensorYM = true, d.At.X.SI, d.At.Y.SI
	}
	pl := l.Design.Installation
	r.Installation = InstallationView{Kind: string(pl.Kind.S), LengthM: pl.Inside.Length.SI, WidthM: pl.Inside.Width.SI, HeightM: pl.Inside.Height.SI, WaterM: pl.Water.SI, SubstrateM: pl.Substrate.SI, HangingM: pl.Hanging.SI}
	r.Installation.TiltRad, r.Installation.TowardsRad = pl.TiltRad()
	r.Notes = append(r.Notes, l.Notes...)
	if usual.Runaway {
		r.Notes = append(r.Notes, "the lamp does not settle on the usual day: maps, spectra and flows show where the loop was stopped, which is nowhere")
	}
	r.heatViews(s, usual)
	r.energyFlows(w.values)
}

// heatViews fills the map of the board and the way down through its hottest emitter, on the usual day.
func (r *Evaluation) heatViews(s *engine.System, st engine.State) {
	airK := s.Cases[0].AirK
	nodeRise := st.Sink.BaseK - airK
	ras := s.Board.Heat.Raster
	r.BoardHeat = HeatMap{X0M: ras.X0M, Y0M: ras.Y0M, StepM: ras.StepM, NX: ras.NX, NY: ras.NY}
	for _, rise := range s.Board.Surface(st.HeatW, nodeRise) {
		if math.IsNaN(rise) {
			r.BoardHeat.TempK = append(r.BoardHeat.TempK, 0)
			continue
		}
		r.BoardHeat.TempK = append(r.BoardHeat.TempK, airK+rise)
	}
	hot := 0
	for i, t := range st.JunctionK {
		if t > st.JunctionK[hot] {
			hot = i
		}
	}
	step := func(name string, hotK, coldK float64) {
		r.Stack = append(r.Stack, LayerView{Name: name, HotK: hotK, ColdK: coldK})
	}
	// The package's resistance ends at the mean under the pad, the cut begins in its middle: the difference between the
	// two is a matter of where one looks, and no layer's.
	step(s.Lamp.Emitters[hot].Label+": junction to solder point", st.JunctionK[hot], st.SolderK[hot])
	last := st.SolderK[hot]
	layers := s.Board.Cut(hot, st.HeatW, nodeRise)
	if len(layers) > 0 {
		middle := airK + layers[0].TopK
		step("mean under the pad to its middle", last, middle)
		last = middle
	}
	for _, d := range layers {
		step(d.Name, last, airK+d.LowK)
		last = airK + d.LowK
	}
	under := st.Sink.BaseK + s.Board.SpreadAt(hot, st.HeatW)
	step("interface", last, under)
	step("spreading in the sink's base", under, st.Sink.BaseK)
	step("sink to air", st.Sink.BaseK, airK)
}

func makeMap(title string, m *engine.UnitMap, leavesW []float64) *Map {
	return &Map{Title: title, LengthM: m.LengthM, WidthM: m.WidthM, NX: m.Nx, NY: m.Ny, PPFD: engine.Combine(m.Ppfd, leavesW), Lux: engine.Combine(m.Lux, leavesW)}
}

// The places that watts go through, from the wall plug to the plants.
const (
	AtWall     = "wall plug"
	atSupply   = "supply"
	atDrivers  = "drivers"
	atEmitters = "emitters"
	atLenses   = "lenses"
	atLight    = "light of the lamp"
	atWater    = "in the water"
)

// flow follows each watt from the wall plug to the target.
func (r *Evaluation) energyFlows(v map[string]float64) {
	s, l := r.Sys, r.Lamp
	add := func(from, to string, w float64, loss bool) {
		if w > 1e-9 {
			r.EnergyFlows = append(r.EnergyFlows, EnergyFlow{From: from, To: to, Watts: w, Loss: loss})
		}
	}
	supplied, mains, wire, driverIn := 0.0, 0.0, 0.0, 0.0
	for i := range l.Channels {
		ch := &l.Channels[i]
		c := &r.Sol.Channels[i]
		in := c.InputW
		driverIn += in
		if ch.Supply >= 0 {
			supplied += in
		} else {
			mains += in
		}
		wire += ch.Duty() * c.WireDropV * c.CurrentA * float64(ch.Strings)
	}
	fanW := s.FanW()
	wall := v["mains.power"]
	if len(l.Design.Supplies) > 0 {
		add(AtWall, atSupply, wall-mains, false)
		add(AtWall, atDrivers, mains, false)
		add(atSupply, "heat in supply and its wire", wall-mains-supplied-fanW, true)
		add(atSupply, atDrivers, supplied, false)
		add(atSupply, "fan", fanW, true)
	} else {
		add(AtWall, atDrivers, mains, false)
		add(AtWall, "fan", fanW, true)
	}
	power := v["lamp.power"]
	add(atDrivers, "heat in drivers", driverIn-power-wire, true)
	add(atDrivers, "heat in wires", wire, true)
	add(atDrivers, atEmitters, power, false)
	dies := 0.0
	for i := range l.Channels {
		dies += r.Sol.Channels[i].RadiantW
	}
	out := v["lamp.radiant"]
	add(atEmitters, "heat in emitters", power-dies, true)
	add(atEmitters, atLenses, dies, false)
	add(atLenses, "lost in lenses", dies-out, true)
	add(atLenses, atLight, out, false)
	add(atLight, "misses "+l.OpeningName(), out*v["light.spill"], true)
	add(atLight, "out through the dry panes", out*v["light.glass-loss"], true)
	target := l.TargetName()
	// What arrives and is sent up again is not spent there.
	stays := out * v["light.incident-substrate"] * (1 - l.Design.Installation.Reflectance.SI)
	if s.Light.Surface != nil {
		add(atLight, "sent back by the water", out*v["light.reflected"], true)
		add(atLight, atWater, out*v["light.transmitted"], false)
		add(atWater, "absorbed by the water, or out again", out*v["light.transmitted"]-stays, true)
		add(atWater, target, stays, false)
		return
	}
	add(atLight, "sent back by the "+target, out*v["light.incident-surface"]-stays, true)
	add(atLight, target, stays, false)
}
