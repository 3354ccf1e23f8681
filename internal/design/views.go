package design

import (
	"math"

	"lampwright/internal/project"
	"lampwright/internal/spectrum"
	"lampwright/internal/wiring"
)

// wireDrop returns what a pair loses [V]; the copper is at tempK.
func wireDrop(w *project.Wire, lengthM, amps, tempK float64) float64 {
	return wiring.Drop(lengthM, w.Resistance.SI, amps) * wiring.CopperFactor(tempK)
}

// orders fills the bill of materials.
func (r *Result) orders(l *Lamp) {
	for _, o := range project.Orders(l.Project.Library, l.Design) {
		what := o.Part.Name.S
		if what == "" {
			what = o.Kind
		}
		r.Invented = r.Invented || o.Part.Fictitious
		r.Orders = append(r.Orders, Order{
			Part: o.Part.ID.S, What: what, Count: o.Count, Each: o.Each, Total: float64(o.Count) * o.Each, Priced: o.Priced, Note: o.Note,
			Fictitious: o.Part.Fictitious && !standardPart(o.Kind, *o.Part),
		})
	}
	for _, x := range l.Design.Extras {
		r.Orders = append(r.Orders, Order{What: x.What.S, Count: 1, Each: x.Price.SI, Total: x.Price.SI, Priced: true})
	}
}

// standardPart reports whether a part of the parts library stands for a standard: a wire gauge or an alloy, which any manufacturer sells.
func standardPart(kind string, c project.Common) bool {
	return c.Builtin && (kind == "wire" || kind == "solder")
}

// Fictitious returns the ids of the parts that do not exist, in the order of the bill of materials.
func (r *Result) Fictitious() (ids []string) {
	for _, o := range r.Orders {
		if o.Fictitious {
			ids = append(ids, o.Part)
		}
	}
	return ids
}

func (r *Result) partsCost() float64 {
	sum := 0.0
	for _, o := range r.Orders {
		sum += o.Total
	}
	return sum
}

// views fills what pictures and tables show.
func (r *Result) views(s *system, p params, sol solution, target spectrum.Spectrum) {
	l := s.lamp
	usual := sol.settled["usual"]
	for _, c := range s.cases {
		if st, ok := sol.settled[c.key]; ok {
			r.Cases = append(r.Cases, l.caseOf(c.key, c.title, c.roomK, c.airK, c.dead, st, s.board, c.cool))
		}
	}
	placed := l.sources()
	for i := range l.Emitters {
		e := &l.Emitters[i]
		k := &l.Kinds[e.Kind]
		duty := l.Channels[e.Channel].Duty()
		v := EmitterNow{
			At: [3]float64{placed[i].XM, placed[i].YM, placed[i].ZM}, Aim: placed[i].Aim(),
			Label: e.Label, Channel: l.Channels[e.Channel].Name, Part: k.Part.ID.S, XM: e.XM, YM: e.YM,
			BodyLM: k.Part.Body.Length.SI, BodyWM: k.Part.Body.Width.SI, DieA: usual.states[i].DieCurrentA, VoltageV: usual.states[i].VoltageV,
			ElectricalW: duty * usual.states[i].ElectricalW, RadiantW: duty * usual.states[i].RadiantW, HeatW: duty * usual.states[i].HeatW, Notes: append(k.Model.Strayed(usual.states[i]), k.Drift.strayed(k.Part.ID.S, usual.states[i].DieCurrentA)...),
		}
		if lens := l.Optics[e.Optic].Lens; lens != nil {
			v.Lens, v.LensM = lens.ID.S, lens.Diameter.SI
		}
		r.Emitters = append(r.Emitters, v)
	}
	lo, hi, step := s.spectrumOf(0, sol.leavesW).Grid()
	for nm := lo; nm <= hi; nm += step {
		r.Spectrum.LambdaNM = append(r.Spectrum.LambdaNM, float64(nm))
	}
	for i := range r.Spectrum.LambdaNM {
		r.Spectrum.Target = append(r.Spectrum.Target, target.At(r.Spectrum.LambdaNM[i]))
	}
	for i := range l.Channels {
		ch := &l.Channels[i]
		sp := s.spectrumOf(i, sol.leavesW)
		row := make([]float64, len(r.Spectrum.LambdaNM))
		for j, nm := range r.Spectrum.LambdaNM {
			row[j] = sp.At(nm)
		}
		r.Spectrum.Channels = append(r.Spectrum.Channels, row)
		v := sol.values
		r.Channels = append(r.Channels, ChannelNow{
			Name: ch.Name, CurrentA: ch.CurrentA, StringA: v[ch.Name+".current"], TypicalV: v[ch.Name+".voltage"], ColdHighV: v[ch.Name+".voltage-cold"], HotLowV: v[ch.Name+".voltage-hot"],
			ElectricalW: v[ch.Name+".power"], RadiantW: v[ch.Name+".radiant"], LumenLm: v[ch.Name+".flux"], PPFUmolS: v[ch.Name+".ppf"], DriverInW: v[ch.Name+".driver-input"], WireDropV: v[ch.Name+".wire-drop"],
		})
	}
	r.Target = makeMap(l.targetName(), s.light.target, sol.leavesW)
	if s.light.surface != nil {
		r.Surface = makeMap("water surface", s.light.surface, sol.leavesW)
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
	r.Place = PlaceView{Kind: string(pl.Kind.S), LengthM: pl.Inside.Length.SI, WidthM: pl.Inside.Width.SI, HeightM: pl.Inside.Height.SI, WaterM: pl.Water.SI, SubstrateM: pl.Substrate.SI, HangingM: pl.Hanging.SI}
	r.Place.TiltRad, r.Place.TowardsRad = pl.TiltRad()
	r.Notes = append(r.Notes, l.notes...)
	if usual.runaway {
		r.Notes = append(r.Notes, "the lamp does not settle on the usual day: maps, spectra and flows show where the loop was stopped, which is nowhere")
	}
	r.heatViews(s, usual)
	r.flow(s, sol)
}

// heatViews fills the map of the board and the way down through its hottest emitter, on the usual day.
func (r *Result) heatViews(s *system, st settled) {
	airK := s.cases[0].airK
	nodeRise := st.sink.baseK - airK
	ras := s.board.heat.Raster
	r.BoardHeat = HeatMap{X0M: ras.X0M, Y0M: ras.Y0M, StepM: ras.StepM, NX: ras.NX, NY: ras.NY}
	for _, rise := range s.board.surface(st.heatW, nodeRise) {
		if math.IsNaN(rise) {
			r.BoardHeat.TempK = append(r.BoardHeat.TempK, 0)
			continue
		}
		r.BoardHeat.TempK = append(r.BoardHeat.TempK, airK+rise)
	}
	hot := 0
	for i, t := range st.junctionK {
		if t > st.junctionK[hot] {
			hot = i
		}
	}
	step := func(name string, hotK, coldK float64) {
		r.Stack = append(r.Stack, LayerNow{Name: name, HotK: hotK, ColdK: coldK})
	}
	// The package's resistance ends at the mean under the pad, the cut begins in its middle: the difference between the
	// two is a matter of where one looks, and no layer's.
	step(s.lamp.Emitters[hot].Label+": junction to solder point", st.junctionK[hot], st.solderK[hot])
	last := st.solderK[hot]
	layers := s.board.cut(hot, st.heatW, nodeRise)
	if len(layers) > 0 {
		middle := airK + layers[0].topK
		step("mean under the pad to its middle", last, middle)
		last = middle
	}
	for _, d := range layers {
		step(d.name, last, airK+d.lowK)
		last = airK + d.lowK
	}
	under := st.sink.baseK + s.board.spreadAt(hot, st.heatW)
	step("interface", last, under)
	step("spreading in the sink's base", under, st.sink.baseK)
	step("sink to air", st.sink.baseK, airK)
}

func makeMap(title string, m *unitMap, leavesW []float64) *Map {
	return &Map{Title: title, LengthM: m.lengthM, WidthM: m.widthM, NX: m.nx, NY: m.ny, PPFD: combine(m.ppfd, leavesW), Lux: combine(m.lux, leavesW)}
}

// The places that watts go through, from the wall plug to the plants.
const (
	atWall     = "wall plug"
	atSupply   = "supply"
	atDrivers  = "drivers"
	atEmitters = "emitters"
	atLenses   = "lenses"
	atLight    = "light of the lamp"
	atWater    = "in the water"
)

// flow follows each watt from the wall plug to the target.
func (r *Result) flow(s *system, sol solution) {
	l, v := s.lamp, sol.values
	add := func(from, to string, w float64, loss bool) {
		if w > 1e-9 {
			r.Flow = append(r.Flow, Flow{From: from, To: to, Watts: w, Loss: loss})
		}
	}
	supplied, mains, wire, driverIn := 0.0, 0.0, 0.0, 0.0
	for i := range l.Channels {
		ch := &l.Channels[i]
		in := v[ch.Name+".driver-input"]
		driverIn += in
		if ch.Supply >= 0 {
			supplied += in
		} else {
			mains += in
		}
		wire += ch.Duty() * v[ch.Name+".wire-drop"] * v[ch.Name+".current"] * float64(ch.Strings)
	}
	fanW := 0.0
	if l.Fan != nil {
		fanW = l.Fan.Power.SI * s.cases[0].cool.fan.PowerRatio
	}
	wall := v["wall.power"]
	if len(l.Design.Supplies) > 0 {
		add(atWall, atSupply, wall-mains, false)
		add(atWall, atDrivers, mains, false)
		add(atSupply, "heat in supply and its wire", wall-mains-supplied-fanW, true)
		add(atSupply, atDrivers, supplied, false)
		add(atSupply, "fan", fanW, true)
	} else {
		add(atWall, atDrivers, mains, false)
		add(atWall, "fan", fanW, true)
	}
	power := v["lamp.power"]
	add(atDrivers, "heat in drivers", driverIn-power-wire, true)
	add(atDrivers, "heat in wires", wire, true)
	add(atDrivers, atEmitters, power, false)
	dies := 0.0
	for i := range l.Channels {
		dies += v[l.Channels[i].Name+".radiant"]
	}
	out := v["lamp.radiant"]
	add(atEmitters, "heat in emitters", power-dies, true)
	add(atEmitters, atLenses, dies, false)
	add(atLenses, "lost in lenses", dies-out, true)
	add(atLenses, atLight, out, false)
	add(atLight, "misses "+l.openingName(), out*v["light.spill"], true)
	add(atLight, "out through the dry panes", out*v["light.dry-glass"], true)
	target := l.targetName()
	// What arrives and is sent up again is not spent there.
	stays := out * v["light.reaches"] * (1 - l.Design.Installation.Reflectance.SI)
	if s.light.surface != nil {
		add(atLight, "sent back by the water", out*v["light.reflected"], true)
		add(atLight, atWater, out*v["light.enters"], false)
		add(atWater, "absorbed by the water, or out again", out*v["light.enters"]-stays, true)
		add(atWater, target, stays, false)
		return
	}
	add(atLight, "sent back by the "+target, out*v["light.meets"]-stays, true)
	add(atLight, target, stays, false)
}
