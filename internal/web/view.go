package web

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"lampwright/internal/design"
	"lampwright/internal/dossier"
	"lampwright/internal/draw"
	"lampwright/internal/finding"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// stateView is the project as a page shows it.
type stateView struct {
	Version    int             `json:"version"`
	Folder     string          `json:"folder"`
	File       string          `json:"file"`
	Empty      bool            `json:"empty"` // there is no design file
	Begin      []Beginning     `json:"begin,omitempty"`
	Hash       string          `json:"hash"`
	Text       string          `json:"text"`
	Files      []fileView      `json:"files"` // the design file, and the project's own parts files
	Problems   source.Problems `json:"problems"`
	Failed     string          `json:"failed,omitempty"`
	Job        *job            `json:"job,omitempty"`
	Current    bool            `json:"current"` // the lamp is that of the text; else it is an earlier one
	CanUndo    bool            `json:"can_undo"`
	CanRedo    bool            `json:"can_redo"`
	Outside    bool            `json:"outside"` // the last change was made by another program
	Lamp       *lampView       `json:"lamp"`
	Severities []string        `json:"severities"`
}

// fileView is a file that can be edited.
type fileView struct {
	Name string `json:"name"`
	Hash string `json:"hash"`
}

// lampView is a computed lamp. It is a design.Result with what a page needs beside it to let it be changed.
type lampView struct {
	Number      int                   `json:"number,omitempty"` // of a lamp of the file
	Name        string                `json:"name"`
	Invented    bool                  `json:"invented_parts"`
	Full        bool                  `json:"full"` // with ranges and pictures
	Figures     []figureView          `json:"figures"`
	Findings    []finding.Finding     `json:"findings"`
	Counts      map[string]int        `json:"counts"` // of findings, by severity
	Channels    []channelView         `json:"channels"`
	Emitters    []emitterView         `json:"emitters"`
	Cases       []design.Case         `json:"cases"`
	Board       design.BoardView      `json:"board"`
	BoardHeat   design.HeatMap        `json:"board_heat"`
	Stack       []design.LayerNow     `json:"stack"`
	Place       placeView             `json:"place"`
	Maps        []design.Map          `json:"maps"`
	Spectrum    design.SpectrumView   `json:"spectrum"`
	Looks       design.LooksView      `json:"looks"`
	Flow        []design.Flow         `json:"flow"`
	Orders      []design.Order        `json:"orders"`
	Assumptions []design.Assumption   `json:"assumptions"`
	X           float64               `json:"x"` // chromaticity of the whole lamp
	Y           float64               `json:"y"`
	Notes       []string              `json:"notes"`
	Knobs       []knob                `json:"knobs"`
	Wants       []want                `json:"wants"`
	Curves      map[string]curvesView `json:"curves,omitempty"` // by emitter part
	Pictures    map[string]string     `json:"pictures,omitempty"`
}

type figureView struct {
	Key   string  `json:"key"`
	Title string  `json:"title"`
	Text  string  `json:"text"`
	Range string  `json:"range"`
	Kind  string  `json:"kind"`
	Value float64 `json:"value"`
	Lo    float64 `json:"p10"`
	Hi    float64 `json:"p90"`
}

type channelView struct {
	design.ChannelNow
	Driver     string   `json:"driver"`
	MinA       float64  `json:"driver_min_a"`
	MaxA       float64  `json:"driver_max_a"`
	MinV       float64  `json:"driver_min_v"`
	MaxV       float64  `json:"driver_max_v"`
	Strings    int      `json:"strings"`
	Level      float64  `json:"level"`
	PWM        bool     `json:"pwm"`
	Parts      []string `json:"parts"`
	CurrentKey string   `json:"current_path"`
}

type emitterView struct {
	design.EmitterNow
	XPath     string  `json:"x_path"` // of its place in the design file
	YPath     string  `json:"y_path"`
	JunctionK float64 `json:"junction_k"` // usual day
	SolderK   float64 `json:"solder_k"`
	BeamRad   float64 `json:"beam_rad"` // full angle at half intensity
}

type placeView struct {
	design.PlaceView
	GlassM   float64 `json:"glass_m"`
	OffsetXM float64 `json:"offset_x_m"`
	OffsetYM float64 `json:"offset_y_m"`
}

// curvesView is the datasheet curves of an emitter, of one die.
type curvesView struct {
	Name     string    `json:"name"`
	Sheet    string    `json:"sheet"`
	VoltageA []float64 `json:"voltage_a"`
	VoltageV []float64 `json:"voltage_v"`
	FluxA    []float64 `json:"flux_a"`
	Flux     []float64 `json:"flux"` // relative to the test current
	FluxK    []float64 `json:"flux_k"`
	FluxT    []float64 `json:"flux_t"` // relative to the test junction temperature
	DerateK  []float64 `json:"derate_k"`
	DerateA  []float64 `json:"derate_a"`
	MaxA     float64   `json:"max_a"` // 0 where the sheet is silent
	MaxK     float64   `json:"max_k"`
	TestA    float64   `json:"test_a"`
	TestK    float64   `json:"test_k"`
}

// knob is a value of the design that a page offers to try: a slider with a field, or a choice.
type knob struct {
	Path    string   `json:"path"`
	Group   string   `json:"group"`
	Label   string   `json:"label"`
	Text    string   `json:"text"` // as it stands in the file
	Unit    string   `json:"unit,omitempty"`
	Value   float64  `json:"value"` // in Unit
	Min     float64  `json:"min"`
	Max     float64  `json:"max"`
	Step    float64  `json:"step"`
	Choices []string `json:"choices,omitempty"`
	Slow    bool     `json:"slow"` // it makes the board's heat be solved again
}

// state returns what a page shows now.
func (w *workspace) state() stateView {
	w.mu.Lock()
	defer w.mu.Unlock()
	s := stateView{
		Version: w.version, Folder: w.o.Folder, File: w.name, Empty: !w.exists, Hash: w.hash, Text: string(w.text), Problems: w.problems,
		Failed: w.failed, CanUndo: len(w.past) > 0, CanRedo: len(w.future) > 0, Outside: w.outside,
	}
	s.Files = append(s.Files, fileView{w.name, hashOf(w.text)})
	for _, n := range slices.Sorted(maps.Keys(w.own)) {
		s.Files = append(s.Files, fileView{n, hashOf(w.own[n])})
	}
	if s.Empty {
		s.Begin = w.o.Begin
	}
	if s.Problems == nil {
		s.Problems = source.Problems{}
	}
	for v := finding.Stop; v <= finding.Pass; v++ {
		s.Severities = append(s.Severities, v.String())
	}
	if w.job != nil {
		j := *w.job
		s.Job = &j
	}
	if w.shown != nil {
		s.Current = w.shown.of == w.hash && !w.shown.quick
		if w.job != nil {
			s.Current = w.shown.job == w.job.ID // its ranges and pictures follow
		}
		s.Lamp = w.shown.view
	}
	return s
}

// view makes of a Result what a page shows; full adds ranges and pictures.
func view(r *design.Result, findings []finding.Finding, full bool) *lampView {
	return viewOf(r, findings, full, toldAll)
}

// viewOf is view with the many numbers of maps and temperatures only where a section named shows them.
func viewOf(r *design.Result, findings []finding.Finding, full bool, sections []string) *lampView {
	v := &lampView{
		Name: r.Name, Invented: r.Invented, Full: full, Findings: findings, Cases: r.Cases, Board: r.Board, BoardHeat: r.BoardHeat, Stack: r.Stack,
		Counts: map[string]int{}, Flow: r.Flow, Orders: r.Orders, Assumptions: r.Assumptions, X: finite(r.Colour.X), Y: finite(r.Colour.Y), Notes: r.Notes,
	}
	for _, f := range findings {
		v.Counts[f.Severity.String()]++
	}
	for _, f := range r.Figures {
		one := figureView{Key: f.Key, Title: f.Title, Text: trueMinus(f.Text()), Kind: f.Unit, Value: finite(f.Value), Lo: finite(f.Lo), Hi: finite(f.Hi)}
		if full {
			one.Range = trueMinus(f.RangeText())
		}
		v.Figures = append(v.Figures, one)
	}
	if v.BoardHeat.TempK = nil; slices.Contains(sections, "board_heat") {
		v.BoardHeat.TempK = short(r.BoardHeat.TempK)
	}
	for _, m := range []*design.Map{r.Target, r.Surface} {
		if m != nil && slices.Contains(sections, "maps") {
			c := *m
			c.PPFD, c.Lux = short(m.PPFD), short(m.Lux)
			v.Maps = append(v.Maps, c)
		}
	}
	v.Spectrum = design.SpectrumView{LambdaNM: r.Spectrum.LambdaNM, Target: short(r.Spectrum.Target)}
	for _, c := range r.Spectrum.Channels {
		v.Spectrum.Channels = append(v.Spectrum.Channels, short(c))
	}
	colours := draw.ChannelColours(r.Spectrum.LambdaNM, r.Spectrum.Channels)
	l := r.Lamp
	for i, c := range r.Channels {
		ch := &l.Channels[i]
		if c.Colour == "" && i < len(colours) {
			c.Colour = colours[i]
		}
		one := channelView{
			ChannelNow: c, Driver: ch.Driver.ID.S, MinA: ch.Driver.CurrentMin.SI, MaxA: ch.Driver.CurrentMax.SI, MinV: ch.Driver.OutputMin.SI,
			MaxV: ch.Driver.OutputMax.SI, Strings: ch.Strings, Level: ch.Level, PWM: ch.PWM(), CurrentKey: fmt.Sprintf("channels[%d].current", i),
		}
		for _, e := range ch.Emitters {
			if id := l.Kinds[l.Emitters[e].Kind].Part.ID.S; len(one.Parts) == 0 || one.Parts[len(one.Parts)-1] != id {
				one.Parts = append(one.Parts, id)
			}
		}
		v.Channels = append(v.Channels, one)
	}
	for i, e := range r.Emitters {
		one := emitterView{EmitterNow: e, XPath: l.Emitters[i].Point.X.At.Path, YPath: l.Emitters[i].Point.Y.At.Path, BeamRad: l.Optics[l.Emitters[i].Optic].BeamRad}
		if len(r.Cases) > 0 && i < len(r.Cases[0].JunctionK) {
			one.JunctionK, one.SolderK = r.Cases[0].JunctionK[i], r.Cases[0].SolderK[i]
		}
		v.Emitters = append(v.Emitters, one)
	}
	p := l.Design.Place
	v.Place = placeView{PlaceView: r.Place, GlassM: p.Glass.SI, OffsetXM: p.Offset.X.SI, OffsetYM: p.Offset.Y.SI}
	v.Looks = r.Looks
	v.Knobs, v.Wants = knobs(l), wants(l)
	if full {
		v.Curves, v.Pictures = curves(l), pictures(r)
	}
	return v
}

// finite returns 0 for what is no number: JSON has no way to write it, and the figure's text says what it is.
func finite(x float64) float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return 0
	}
	return x
}

// short rounds numbers of a picture to five figures, so that a page has less to read.
func short(x []float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		if v = finite(v); v == 0 {
			continue
		}
		p := math.Pow(10, 4-math.Floor(math.Log10(math.Abs(v))))
		if out[i] = math.Round(v*p) / p; math.IsNaN(out[i]) || math.IsInf(out[i], 0) {
			out[i] = v
		}
	}
	return out
}

func curves(l *design.Lamp) map[string]curvesView {
	out := map[string]curvesView{}
	for i := range l.Kinds {
		p := l.Kinds[i].Part
		out[p.ID.S] = curvesView{
			Name: p.Name.S, Sheet: p.Sheet.S, VoltageA: p.ForwardVoltage.X, VoltageV: p.ForwardVoltage.Y,
			FluxA: p.FluxOverCurrent.X, Flux: p.FluxOverCurrent.Y, FluxK: p.FluxOverTemp.X, FluxT: p.FluxOverTemp.Y,
			DerateK: p.Derating.X, DerateA: p.Derating.Y, MaxA: p.MaxCurrent.SI, MaxK: p.MaxJunction.SI, TestA: p.TestCurrent.SI, TestK: p.TestJunction.SI,
		}
	}
	return out
}

// pictures returns the drawings that the page shares with the dossier.
func pictures(r *design.Result) map[string]string {
	out := map[string]string{}
	put := func(name string, p draw.Picture) {
		if !p.Empty() {
			out[name] = p.Inline()
		}
	}
	d := dossier.Draw(r)
	put("board", d.Board)
	for i, suffix := range []string{"", "-narrow"} {
		put("place"+suffix, d.Place[i])
		put("flow"+suffix, d.Flow[i])
		put("layers"+suffix, d.Layers[i])
		put("windows"+suffix, d.Windows[i])
		put("temperature"+suffix, d.Temperature[i])
		put("chroma"+suffix, d.Chroma[i])
		put("rendering"+suffix, d.Rendering[i])
		put("hues"+suffix, d.Hues[i])
	}
	return out
}

// knobs returns what can be tried, in the order of the job.
func knobs(l *design.Lamp) []knob {
	var out []knob
	slider := func(group, label, path string, v source.Value, si float64, dim quantity.Dim, unit string, lo, hi, step float64) *knob {
		k := knob{Path: path, Group: group, Label: label, Unit: unit, Text: v.Text, Min: lo, Max: hi, Step: step}
		// The field's own text is kept where there is one: it may be written in another unit.
		k.Value = math.Round(quantity.In(si, dim, unit)*1e6) / 1e6
		if k.Text == "" {
			k.Text = strconv.FormatFloat(k.Value, 'g', -1, 64) + " " + unit
		}
		k.Max = math.Max(k.Max, k.Value)
		k.Min = math.Min(k.Min, k.Value)
		out = append(out, k)
		return &out[len(out)-1]
	}
	choice := func(group, label, path, now string, choices []string) {
		if len(choices) > 1 {
			out = append(out, knob{Path: path, Group: group, Label: label, Text: now, Choices: choices})
		}
	}
	for i := range l.Channels {
		ch := &l.Channels[i]
		path, group := fmt.Sprintf("channels[%d]", i), "Channel "+ch.Name
		top := math.Ceil(1e3 * math.Max(ch.Driver.CurrentMax.SI, ch.CurrentA))
		slider(group, "Current", path+".current", ch.Use.Current, ch.CurrentA, quantity.Current, "mA", math.Max(10, math.Floor(1e3*ch.Driver.CurrentMin.SI)), top, 10)
		slider(group, "Level at full day", path+".level", ch.Use.Level, ch.Level, quantity.Ratio, "%", 1, 100, 1)
		for j := range ch.Use.Emitters {
			u := &ch.Use.Emitters[j]
			fits := lensesFor(l.Project, u.Part.S)
			if u.Lens.Set {
				choice(group, "Lens on "+u.Part.S, fmt.Sprintf("%s.emitters[%d].lens", path, j), u.Lens.S, fits)
			}
		}
	}
	p := &l.Design.Place
	slider("Place", "Hanging height", "place.hanging_height", p.Hanging, p.Hanging.SI, quantity.Length, "mm", 50, 1000, 5)
	if t := p.Tilt; t != nil {
		slider("Place", "Lamp tilt", "place.lamp_tilt.angle", t.Angle, t.Angle.SI, quantity.Angle, "deg", 0, 80, 1)
	}
	if p.Kind.S == "tank" && p.Water.Set {
		slider("Place", "Water depth", "place.water_depth", p.Water, p.Water.SI, quantity.Length, "mm", 0, math.Floor(1e3*p.Inside.Height.SI), 5)
	}
	slider("Place", "Room, usual day", "place.room.usual", p.Room.Usual, p.Room.Usual.SI, quantity.Temperature, "°C", 5, 40, 0.5)
	slider("Place", "Room, hottest day", "place.room.hottest", p.Room.Hottest, p.Room.Hottest.SI, quantity.Temperature, "°C", 10, 50, 0.5)
	if l.Fan != nil {
		speed := 1.0
		if l.Design.Fan.Speed.Set {
			speed = l.Design.Fan.Speed.SI
		}
		slider("Cooling", "Fan speed", "fan.speed", l.Design.Fan.Speed, speed, quantity.Ratio, "%", 10, 100, 1)
	}
	choice("Cooling", "Sink", "sink.part", l.Design.Sink.Part.S, l.Project.Shelf.Sinks.IDs())
	b := &l.Design.Board
	var thick []string
	for _, t := range l.Stack.PriceByThickness.X {
		thick = append(thick, quantity.Format(t, quantity.Length))
	}
	choice("Board", "Core thickness", "board.thickness", b.Thickness.Text, with(thick, b.Thickness.Text))
	if l.Design.Day.Full.Set {
		slider("Day", "Full light", "day.full_light", l.Design.Day.Full, l.Design.Day.Full.SI, quantity.Time, "h", 0, 24, 0.25)
	}
	for i := range out {
		out[i].Slow = len(out[i].Choices) > 0 && out[i].Group != "Day"
	}
	return out
}

// with returns a list that has the value, as it is written, in place of one that says the same.
func with(list []string, now string) []string {
	for i, s := range list {
		a, errA := quantity.Parse(s, quantity.Length)
		b, errB := quantity.Parse(now, quantity.Length)
		if errA == nil && errB == nil && math.Abs(a-b) < 1e-9 {
			list[i] = now
			return list
		}
	}
	return append(list, now)
}

// lensesFor returns the lenses that fit an emitter.
func lensesFor(p *project.Project, emitter string) (out []string) {
	part := p.Shelf.Emitters.Get(emitter)
	if part == nil {
		return nil
	}
	for _, id := range p.Shelf.Lenses.IDs() {
		for _, f := range p.Shelf.Lenses.Get(id).Fits {
			if f.S == part.Package.S {
				out = append(out, id)
			}
		}
	}
	return out
}

// trueMinus writes a figure as print does.
func trueMinus(figure string) string { return strings.ReplaceAll(figure, "-", "−") }
