package report

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	"lampwright/internal/colour"
	"lampwright/internal/draw"
	"lampwright/internal/figure"
	"lampwright/internal/intensity"
	"lampwright/internal/light"
	"lampwright/internal/project"
	"lampwright/internal/spectrum"
)

// Widths of the pictures: for a page as wide as paper, for one of two side by side, and for a telephone.
const (
	widePx   = 900
	halfPx   = 460
	narrowPx = 370
)

// Pictures is every drawing of a Result. Those that come twice are for wide and for narrow pages; a picture that there is
// nothing to draw for is Empty.
type Pictures struct {
	Board       draw.Picture
	BoardHeat   draw.Picture
	Layers      [2]draw.Picture
	Place       [2]draw.Picture
	PlaceAcross [2]draw.Picture // of a lamp that looks aside, out of the cut along its length
	Maps        []draw.Picture
	Flow        [2]draw.Picture
	Spectrum    [2]draw.Picture
	Chroma      [2]draw.Picture
	Rendering   [2]draw.Picture
	Hues        [2]draw.Picture
	Windows     [2]draw.Picture
	Temperature [2]draw.Picture
}

// Draw makes the pictures of a Result.
func Draw(r *figure.Evaluation) Pictures {
	return Pictures{
		Board:       board(r, "board", nil),
		BoardHeat:   boardHeat(r),
		Layers:      twice(func(id string, w float64) draw.Picture { return layers(r, "layers"+id, w) }),
		Place:       twice(func(id string, w float64) draw.Picture { return place(r, "place"+id, w, false) }),
		PlaceAcross: twice(func(id string, w float64) draw.Picture { return place(r, "place-across"+id, w, true) }),
		Maps:        maps(r),
		Flow:        twice(func(id string, w float64) draw.Picture { return flow(r, "flow"+id, w) }),
		Spectrum:    twice(func(id string, w float64) draw.Picture { return spectrumOf(r, "spectrum"+id, w) }),
		Chroma:      twice(func(id string, w float64) draw.Picture { return chroma(r, "chroma"+id, w) }),
		Rendering:   twice(func(id string, w float64) draw.Picture { return rendering(r, "rendering"+id, w) }),
		Hues:        twice(func(id string, w float64) draw.Picture { return hues(r, "hues"+id, w) }),
		Windows:     twice(func(id string, w float64) draw.Picture { return windows(r, "windows"+id, w) }),
		Temperature: twice(func(id string, w float64) draw.Picture { return temperatures(r, "heat"+id, w) }),
	}
}

func twice(make func(id string, w float64) draw.Picture) [2]draw.Picture {
	return [2]draw.Picture{make("", widePx), make("-narrow", narrowPx)}
}

// channelColours returns the colour of each channel by its name.
func channelColours(r *figure.Evaluation) map[string]string {
	out := map[string]string{}
	ours := draw.ChannelColours(r.Spectrum.LambdaNM, r.Spectrum.Channels)
	for i, c := range r.Channels {
		out[c.Name] = c.Colour
		if c.Colour == "" && i < len(ours) {
			out[c.Name] = ours[i]
		}
	}
	return out
}

func board(r *figure.Evaluation, id string, field *draw.Field) draw.Picture {
	v, colours := r.Board, channelColours(r)
	b := draw.Board{
		ID: id, Disc: v.Shape == "disc", LengthM: v.LengthM, WidthM: v.WidthM, Corners: v.Corners, Field: field, Width: halfPx,
		Contact: draw.Rect{XM: v.ContactXM, YM: v.ContactYM, LengthM: v.ContactLM, WidthM: v.ContactWM},
	}
	for _, h := range v.Holes {
		b.Holes = append(b.Holes, draw.BoardHole(h))
	}
	for _, e := range r.Emitters {
		b.Emitters = append(b.Emitters, draw.BoardEmitter{
			Label: e.Label, XM: e.XM, YM: e.YM, LengthM: e.BodyLM, WidthM: e.BodyWM, LensM: e.LensM, Colour: colours[e.Channel],
		})
	}
	if v.HasSensor {
		b.Sensor = &draw.Spot{XM: v.SensorXM, YM: v.SensorYM, Name: "sensor"}
	}
	for _, s := range v.Spots {
		b.Infrared = append(b.Infrared, draw.RoundSpot{Name: s.Name, XM: s.XM, YM: s.YM, DiameterM: s.DiameterM})
	}
	return draw.BoardPicture(b)
}

// boardHeat draws the temperatures of the board at typical ambient; Empty without a heat map.
func boardHeat(r *figure.Evaluation) draw.Picture {
	m := r.BoardHeat
	if m.NX < 1 || m.NY < 1 {
		return draw.Picture{ID: "board-heat"}
	}
	return board(r, "board-heat", &draw.Field{X0M: m.X0M, Y0M: m.Y0M, StepM: m.StepM, NX: m.NX, NY: m.NY, CellsK: m.TempK})
}

func layers(r *figure.Evaluation, id string, width float64) draw.Picture {
	l := draw.Layers{ID: id, Width: width}
	for _, c := range r.Cases {
		if e, ok := hottest(c); ok && c.Key == "typical" && e < len(r.Emitters) {
			l.Emitter = r.Emitters[e].Label
		}
	}
	for _, s := range r.Stack {
		l.Steps = append(l.Steps, draw.LayerStep(s))
	}
	return draw.LayersPicture(l)
}

// offset returns where the board's centre hangs from the centre of the place.
func offset(r *figure.Evaluation) (x, y float64) {
	if r.Lamp == nil || r.Lamp.Design == nil {
		return 0, 0
	}
	o := r.Lamp.Design.Installation.Offset
	return o.X.SI, o.Y.SI
}

// looksAside tells whether some of the light goes out of the cut along the length, or across the width.
func looksAside(r *figure.Evaluation, across bool) bool {
	axis := 1
	if across {
		axis = 0
	}
	for _, e := range r.Emitters {
		if math.Abs(e.Aim[axis]) > 0.02 {
			return true
		}
	}
	return false
}

// place draws the place in section: along its length, or across its width where the lamp looks aside there.
func place(r *figure.Evaluation, id string, width float64, across bool) draw.Picture {
	if across && !looksAside(r, false) {
		return draw.Picture{ID: id}
	}
	p, colours := r.Installation, channelColours(r)
	x, y := offset(r)
	s := draw.Section{
		ID: id, Across: across, LengthM: p.LengthM, HeightM: p.HeightM, WaterM: p.WaterM, SubstrateM: p.SubstrateM,
		LensM: math.Max(p.WaterM, p.SubstrateM) + p.HangingM, BoardM: r.Board.LengthM, BoardXM: x, SinkM: r.Board.ContactLM, BoardDeepM: r.Board.WidthM,
		Index: light.DefaultWaterIndex, Width: width,
	}
	axis := 0
	if across {
		axis = 1
		s.LengthM, s.BoardM, s.BoardXM, s.SinkM, s.BoardDeepM = p.WidthM, r.Board.WidthM, y, r.Board.ContactWM, r.Board.LengthM
	}
	if p.Kind == "bench" {
		s.HeightM = 0
	}
	if l := r.Lamp; l != nil {
		s.GlassM = l.Design.Installation.Glass.SI
		if tilt, to := l.Design.Installation.TiltRad(); tilt != 0 {
			s.Tilt = draw.TiltOf(tilt, to, across)
		}
		beams := make([]intensity.Beam, len(l.Optics))
		for i := range beams {
			beams[i] = intensity.BeamOf(l.Optics[i].Pattern)
		}
		for i, e := range l.Emitters {
			at, aim := [3]float64{x + e.XM, y + e.YM, s.LensM}, [3]float64{0, 0, -1}
			if i < len(r.Emitters) {
				at, aim = r.Emitters[i].At, r.Emitters[i].Aim
			}
			name := l.Channels[e.Channel].Name
			s.Lenses = append(s.Lenses, draw.SectionLens{
				XM: at[axis], UpM: at[2] - s.LensM, AimRad: math.Atan2(aim[axis], -aim[2]),
				HalfRad: beams[e.Optic].BeamRad / 2, FieldRad: beams[e.Optic].FieldRad / 2, Colour: colours[name],
				Channel: name,
			})
		}
		switch {
		case across && looksAside(r, true):
			s.Texts = append(s.Texts, "Part of the light is tilted to the left or right: see the section along the length.")
		case !across && looksAside(r, false):
			s.Texts = append(s.Texts, "Part of the light is tilted to the front or back: see the section across the width.")
		}
	}
	return draw.SectionPicture(s)
}

func maps(r *figure.Evaluation) []draw.Picture {
	var out []draw.Picture
	add := func(id string, m *figure.Map, edge string) {
		if m == nil {
			return
		}
		var spots []draw.Spot
		for _, e := range r.Emitters {
			spots = append(spots, draw.Spot{XM: e.At[0], YM: e.At[1], Name: e.Label})
		}
		in := draw.Map{
			ID: id + "-ppfd", Title: "Light on the " + m.Title, What: "PPFD", Unit: "µmol/m²/s", LengthM: m.LengthM, WidthM: m.WidthM,
			NX: m.NX, NY: m.NY, Cells: m.PPFD, Spots: spots, Edge: edge, Width: halfPx,
		}
		lux := in
		lux.ID, lux.What, lux.Unit, lux.Cells = id+"-lux", "illuminance", "lx", m.Lux
		out = append(out, draw.LightMap(in), draw.LightMap(lux))
	}
	edge := "inner glass face"
	if r.Installation.Kind == "bench" {
		edge = "bench edge"
	}
	add("target", r.Target, edge)
	add("surface", r.Surface, edge)
	return out
}

func flow(r *figure.Evaluation, id string, width float64) draw.Picture {
	f := draw.FlowChart{ID: id, Width: width, Down: width < 600}
	for _, s := range r.EnergyFlows {
		f.Streams = append(f.Streams, draw.Stream(s))
	}
	return draw.FlowPicture(f)
}

func spectrumOf(r *figure.Evaluation, id string, width float64) draw.Picture {
	v, colours := r.Spectrum, channelColours(r)
	s := draw.Spectrum{ID: id, LambdaNM: v.LambdaNM, Target: v.Target, Width: width}
	if r.Target != nil {
		s.TargetAt = r.Target.Title
	}
	for i, c := range r.Channels {
		if i < len(v.Channels) {
			s.Channels = append(s.Channels, draw.SpectrumChannel{Name: c.Name, Colour: colours[c.Name], PerNM: v.Channels[i]})
		}
	}
	eye := &spectrum.Observer2Deg().Y
	for _, nm := range v.LambdaNM {
		i := int(nm) - spectrum.LoNM
		if i < 0 || i >= len(eye) {
			s.Eye = nil
			break
		}
		s.Eye = append(s.Eye, eye[i])
	}
	return draw.SpectrumPicture(s)
}

func chroma(r *figure.Evaluation, id string, width float64) draw.Picture {
	d := draw.Chroma{ID: id, Width: width}
	point := func(name string, xy colour.XY) draw.ChromaPoint {
		u, v := xy.UVPrime()
		return draw.ChromaPoint{Name: name, U: u, V: v}
	}
	for i, xy := range colour.SpectralLocus() {
		name := ""
		switch nm := 380 + i; nm {
		case 450, 470, 480, 490, 500, 520, 550, 580, 600, 620, 650:
			name = strconv.Itoa(nm)
		}
		d.Locus = append(d.Locus, point(name, xy))
	}
	for k := 1500.0; k <= 20000; k *= 1.02 {
		d.White = append(d.White, point("", colour.PlanckXY(k, 0)))
	}
	for _, k := range []float64{2200, 2700, 3000, 3500, 4000, 5000, 6500, 8000, 10000, 15000} {
		p := point(strconv.Itoa(int(k))+" K", colour.PlanckXY(k, 0))
		// The locus runs from right to left.
		at, _ := slices.BinarySearchFunc(d.White, p, func(a, b draw.ChromaPoint) int { return cmp.Compare(b.U, a.U) })
		d.White = slices.Insert(d.White, at, p)
	}
	colours := channelColours(r)
	for _, p := range r.ColourPreview.Points {
		one := point(p.Name, p.XY)
		one.Hex = colours[p.Name]
		if p.Name == "lamp" {
			one.Hex = r.ColourPreview.LightHex
		}
		d.Points = append(d.Points, one)
	}
	if w := r.ColourPreview.Required; w != nil {
		one := point(w.Name, w.XY)
		d.Required = &one
		d.Range = requiredRange(w, point)
	}
	d.Gamut = gamut(r, point)
	return draw.ChromaPicture(d)
}

// gamut is the outline of what the channels can mix.
func gamut(r *figure.Evaluation, point func(string, colour.XY) draw.ChromaPoint) (outline []draw.ChromaPoint) {
	var all []colour.UV
	for _, c := range r.Channels {
		for _, p := range r.ColourPreview.Points {
			if p.Name == c.Name {
				all = append(all, p.XY.UV())
			}
		}
	}
	for _, c := range colour.Hull(all) {
		outline = append(outline, point("", c.XY()))
	}
	return outline
}

// requiredRange is the outline of the colours of required bands of CCT and Duv; nothing where there is no such range.
func requiredRange(w *figure.ColourPoint, point func(string, colour.XY) draw.ChromaPoint) (outline []draw.ChromaPoint) {
	loK, hiK := math.Max(w.LoK, 1000), math.Min(w.HiK, 25000)
	if !(loK < hiK) {
		return nil
	}
	const pieces = 24
	for back, duv := range []float64{w.HiDuv, w.LoDuv} {
		for i := range pieces + 1 {
			t := float64(i) / pieces
			if back == 1 {
				t = 1 - t
			}
			outline = append(outline, point("", colour.PlanckXY(1/((1-t)/loK+t/hiK), duv)))
		}
	}
	return outline
}

func rendering(r *figure.Evaluation, id string, width float64) draw.Picture {
	p := draw.Rendering{ID: id, Width: width, General: math.NaN()}
	if f, ok := r.Figure("lamp.ra"); ok {
		p.General = f.Value
	}
	for i, v := range r.ColourPreview.R {
		bar := draw.RenderingBar{Name: "R" + strconv.Itoa(i+1), Value: v}
		if i < len(r.ColourPreview.Patches) {
			s := r.ColourPreview.Patches[i]
			bar.What, bar.LampHex, bar.LightHex = s.Name, s.LampHex, s.DaylightHex
		}
		p.Bars = append(p.Bars, bar)
	}
	return draw.RenderingPicture(p)
}

func hues(r *figure.Evaluation, id string, width float64) draw.Picture {
	rf, rg := math.NaN(), math.NaN()
	if f, ok := r.Figure("lamp.rf"); ok {
		rf = f.Value
	}
	if f, ok := r.Figure("lamp.rg"); ok {
		rg = f.Value
	}
	return HuesPicture(r.ColourPreview.Bins, rf, rg, id, width)
}

// HuesPicture draws where a light moves the colours of each range of hue; it is Empty where there are no ranges.
func HuesPicture(bins []colour.BinFigures, rf, rg float64, id string, width float64) draw.Picture {
	h := draw.Hues{ID: id, Rf: rf, Rg: rg, Width: width}
	for _, b := range bins {
		h.Bins = append(h.Bins, draw.HueArrow{
			Samples: b.Samples, RefA: b.RefA, RefB: b.RefB, TestA: b.TestA, TestB: b.TestB,
			Chroma: b.ChromaShift, HueRad: b.HueShiftRad, Rf: b.Rf,
		})
	}
	return draw.HuesPicture(h)
}

func windows(r *figure.Evaluation, id string, width float64) draw.Picture {
	w := draw.Windows{ID: id, Width: width}
	colours := channelColours(r)
	for i, c := range r.Channels {
		if r.Lamp == nil || i >= len(r.Lamp.Channels) {
			break
		}
		ch := &r.Lamp.Channels[i]
		d := ch.Driver
		row := draw.Window{
			Channel: c.Name, Driver: d.ID.S, Colour: colours[c.Name], LowV: c.MinV, TypV: c.TypicalV, HighV: c.MaxV,
			MinV: d.OutputMin.SI, MaxV: d.OutputMax.SI,
		}
		feed := r.Feed(i)
		if row.WireV = feed.WireV; feed.Capped {
			row.CapV = math.Max(feed.CapV, 0.01)
		}
		w.Rows = append(w.Rows, row)
	}
	return draw.WindowsPicture(w)
}

// hottest returns the emitter with the hottest junction of a case.
func hottest(c figure.CaseView) (int, bool) {
	at, best := 0, math.Inf(-1)
	for i, t := range c.JunctionK {
		if t > best {
			at, best = i, t
		}
	}
	return at, !math.IsInf(best, 0)
}

func temperatures(r *figure.Evaluation, id string, width float64) draw.Picture {
	s := draw.Stack{ID: id, Width: width}
	lowest := math.Inf(1)
	for _, c := range r.Cases {
		e, ok := hottest(c)
		if !ok || e >= len(c.SolderK) {
			continue
		}
		row := draw.StackRow{Title: c.Title, RoomK: c.RoomK}
		if e < len(r.Emitters) {
			row.Emitter = r.Emitters[e].Label
		}
		if c.Runaway {
			row.Note = "thermal runaway"
		}
		if c.AirK-c.RoomK > 0.05 {
			row.Steps = append(row.Steps, draw.Step{Name: "ambient to air under the hood", ToK: c.AirK})
		}
		row.Steps = append(row.Steps,
			draw.Step{Name: "air to heat sink", ToK: c.SinkK},
			draw.Step{Name: "heat sink to solder point (TIM, board)", ToK: c.SolderK[e]},
			draw.Step{Name: "solder point to junction", ToK: c.JunctionK[e]})
		s.Rows = append(s.Rows, row)
		if part := partOf(r, e); part != nil && part.MaxJunction.Set {
			lowest = math.Min(lowest, part.MaxJunction.SI)
		}
	}
	if r.Lamp != nil {
		if j := r.Lamp.Design.Requirements.MaxJunction; j.Set {
			s.Limits = append(s.Limits, draw.Limit{Name: "required maximum", AtK: j.SI})
		}
	}
	if !math.IsInf(lowest, 0) {
		s.Limits = append(s.Limits, draw.Limit{Name: "absolute maximum", AtK: lowest})
	}
	return draw.StackPicture(s)
}

func partOf(r *figure.Evaluation, emitter int) *project.Emitter {
	if r.Lamp == nil || emitter >= len(r.Lamp.Emitters) {
		return nil
	}
	return r.Lamp.Types[r.Lamp.Emitters[emitter].Type].Part
}
