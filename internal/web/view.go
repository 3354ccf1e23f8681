package web

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"lampwright/internal/draw"
	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/report"
	"lampwright/internal/source"
)

// stateView is the project as the page shows it.
type stateView struct {
	Version    int             `json:"version"`
	Folder     string          `json:"folder"`
	File       string          `json:"file"`
	Empty      bool            `json:"empty"` // there is no design file
	Templates  []Template      `json:"templates,omitempty"`
	Hash       string          `json:"hash"`
	Text       string          `json:"text"`
	Files      []fileView      `json:"files"` // the design file, the project's own parts files, readings
	Problems   source.Problems `json:"problems"`
	Count      int             `json:"problem_count"` // of all of them
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

// badView is a stop or a warning: what a page compares with those of the file.
type badView struct {
	Severity finding.Severity `json:"severity"`
	Check    string           `json:"check"`
	Subject  string           `json:"subject"`
}

// lampView is a computed lamp. It is a figure.Evaluation with what a page needs beside it to let it be changed.
type lampView struct {
	Number             int                   `json:"number,omitempty"` // of a lamp of the file
	Name               string                `json:"name"`
	HasFictitiousParts bool                  `json:"fictitious_parts"`
	Full               bool                  `json:"full"` // with ranges and pictures
	Figures            []figureView          `json:"figures"`
	Findings           []finding.Finding     `json:"findings" section:"view"`
	Counts             map[string]int        `json:"counts" section:"always"` // of findings, by severity
	Bad                []badView             `json:"bad" section:"always"`    // stops, warnings
	Acknowledgements   int                   `json:"acknowledgements"`        // entries of the design
	Channels           []channelView         `json:"channels" section:"view"`
	Emitters           []emitterView         `json:"emitters" section:"view"`
	Cases              []figure.CaseView     `json:"cases" section:"view"`
	Board              figure.BoardView      `json:"board" section:"view"`
	BoardHeat          figure.HeatMap        `json:"board_heat" section:"view"`
	Layout             layoutView            `json:"layout" section:"view"`
	Stack              []figure.LayerView    `json:"stack" section:"view"`
	Installation       installationView      `json:"installation" section:"view"`
	Maps               []figure.Map          `json:"maps" section:"view"`
	Spectrum           figure.SpectrumView   `json:"spectrum" section:"view"`
	ColourPreview      figure.ColourPreview  `json:"colour_preview" section:"view"`
	EnergyFlows        []figure.EnergyFlow   `json:"energy_flows" section:"view"`
	BOM                []figure.BOMLine      `json:"bom" section:"view"`
	Power              []powerNode           `json:"power" section:"view"` // from the mains to the strings
	Assumptions        []figure.Assumption   `json:"assumptions"`
	X                  float64               `json:"x"` // chromaticity of the whole lamp
	Y                  float64               `json:"y"`
	Notes              []string              `json:"notes" section:"view"`
	Knobs              []knob                `json:"knobs" section:"always"`
	Requirements       []requirement         `json:"requirements" section:"always"`
	Curves             map[string]curvesView `json:"curves,omitempty"`   // by emitter part
	Pictures           map[string]string     `json:"pictures,omitempty"` // of a preview; see Server.pictures

	sent func() ([]byte, error) // its JSON, where it was made before
}

type figureView struct {
	Key   string  `json:"key"`
	Title string  `json:"title"`
	Text  string  `json:"text"`
	Range string  `json:"range"`
	Ends  bool    `json:"ends,omitempty"` // the range runs from end to end of what is stated or usual
	Kind  string  `json:"kind"`
	Value float64 `json:"value"`
	Lo    float64 `json:"p10"`
	Hi    float64 `json:"p90"`
}

type channelView struct {
	figure.ChannelView
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
	figure.EmitterView
	XPath     string  `json:"x_path"` // of its place in the design file
	YPath     string  `json:"y_path"`
	JunctionK float64 `json:"junction_k"` // typical ambient
	SolderK   float64 `json:"solder_k"`
	BeamRad   float64 `json:"beam_rad"` // full angle at half intensity
	MaxK      float64 `json:"max_k"`    // rated maximum junction temperature; 0 where it is not stated
}

type installationView struct {
	figure.InstallationView
	GlassM   float64  `json:"glass_m"`
	OffsetXM float64  `json:"offset_x_m"`
	OffsetYM float64  `json:"offset_y_m"`
	Sink     sinkView `json:"sink"`
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
	MaxA     float64   `json:"max_a"` // 0 where the datasheet states none
	MaxK     float64   `json:"max_k"`
	TestA    float64   `json:"test_a"`
	TestK    float64   `json:"test_k"`
}

// state returns what a page shows now.
func (w *workspace) state() stateView {
	w.mu.Lock()
	defer w.mu.Unlock()
	s := stateView{
		Version: w.version, Folder: w.o.Folder, File: w.name, Empty: !w.exists, Hash: w.hash, Text: string(w.text),
		Problems: first(w.problems), Count: len(w.problems),
		Failed: w.failed, CanUndo: len(w.past) > 0, CanRedo: len(w.future) > 0, Outside: w.outside,
	}
	s.Files = append(s.Files, fileView{w.name, hashOf(w.text)})
	for _, n := range slices.Sorted(maps.Keys(w.own)) {
		s.Files = append(s.Files, fileView{n, hashOf(w.own[n])})
	}
	if w.readings != nil {
		s.Files = append(s.Files, fileView{project.ReadingsFile, hashOf(w.readings)})
	}
	if s.Empty {
		s.Templates = w.o.Templates
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
		s.Lamp = w.shown.sent
	}
	return s
}

// newLampView makes of a Result what a page shows; full adds ranges and pictures.
func newLampView(r *figure.Evaluation, findings []finding.Finding, full bool) *lampView {
	return selectedLampView(r, findings, full, sectionsOf(""))
}

// count counts findings by severity, and acknowledged warnings and missing data apart; open stops and warnings are bad.
func (v *lampView) count(findings []finding.Finding) {
	for s, n := range finding.Count(findings) {
		v.Counts[s.String()] = n
	}
	for _, n := range finding.CountAcknowledged(findings) {
		v.Counts["acknowledged"] += n
	}
	for i := range findings {
		f := &findings[i]
		bad := badView{f.Severity, f.Check, f.Subject}
		if f.Severity <= finding.Warn && f.Open() && !slices.Contains(v.Bad, bad) {
			v.Bad = append(v.Bad, bad)
		}
	}
}

// selectedLampView is newLampView with the many numbers of maps and temperatures only where they are among the
// sections.
func selectedLampView(r *figure.Evaluation, findings []finding.Finding, full bool, sections []string) *lampView {
	v := &lampView{
		Name: r.Name, HasFictitiousParts: r.HasFictitiousParts, Full: full, Findings: findings, Cases: r.Cases,
		Board: r.Board, BoardHeat: r.BoardHeat, Stack: r.Stack,
		Counts: map[string]int{}, EnergyFlows: r.EnergyFlows, BOM: r.BOM, Assumptions: r.Assumptions,
		X: finite(r.Colour.X), Y: finite(r.Colour.Y), Notes: r.Notes,
	}
	v.count(findings)
	for i := range r.Figures {
		v.Figures = append(v.Figures, newFigureView(&r.Figures[i], full))
	}
	if v.BoardHeat.TempK = nil; slices.Contains(sections, "board_heat") {
		v.BoardHeat.TempK = short(r.BoardHeat.TempK)
	}
	for _, m := range []*figure.Map{r.Target, r.Surface} {
		if m != nil && slices.Contains(sections, "maps") {
			c := *m
			c.PPFD, c.Lux = short(m.PPFD), short(m.Lux)
			v.Maps = append(v.Maps, c)
		}
	}
	v.Spectrum = figure.SpectrumView{LambdaNM: r.Spectrum.LambdaNM, Target: short(r.Spectrum.Target)}
	for _, c := range r.Spectrum.Channels {
		v.Spectrum.Channels = append(v.Spectrum.Channels, short(c))
	}
	l := r.Lamp
	v.Acknowledgements = len(l.Design.Acknowledged)
	v.Channels, v.Emitters = channelViews(r), emitterViews(r)
	if slices.Contains(sections, "layout") {
		v.Layout = layoutOf(l)
	}
	p := l.Design.Installation
	v.Installation = installationView{
		InstallationView: r.Installation, GlassM: p.Glass.SI, OffsetXM: p.Offset.X.SI,
		OffsetYM: p.Offset.Y.SI, Sink: sinkOf(l),
	}
	if slices.Contains(sections, "power") {
		v.Power = powerOf(r, findings, v.Channels)
	}
	v.ColourPreview = r.ColourPreview
	v.Knobs, v.Requirements = knobs(l), requirements(l)
	if full {
		v.Curves, v.Pictures = curves(l), pictures(r)
	}
	fillLists(v)
	return v
}

// newFigureView returns a figure as a page shows it; full adds its range.
func newFigureView(f *figure.Figure, full bool) figureView {
	v := figureView{
		Key: f.Key, Title: f.Title, Text: trueMinus(f.PlainText()), Kind: f.Dim.Name(), Value: finite(f.Value),
		Lo: finite(f.Lo), Hi: finite(f.Hi),
	}
	if full {
		v.Range, v.Ends = trueMinus(f.RangeText()), f.Ends
	}
	return v
}

// channelViews returns the channels with their drivers and emitter parts.
func channelViews(r *figure.Evaluation) (out []channelView) {
	l := r.Lamp
	colours := draw.ChannelColours(r.Spectrum.LambdaNM, r.Spectrum.Channels)
	for i, c := range r.Channels {
		ch := &l.Channels[i]
		if c.Colour == "" && i < len(colours) {
			c.Colour = colours[i]
		}
		one := channelView{
			ChannelView: c, Driver: ch.Driver.ID.S, MinA: ch.Driver.CurrentMin.SI, MaxA: ch.Driver.CurrentMax.SI,
			MinV: ch.Driver.OutputMin.SI, MaxV: ch.Driver.OutputMax.SI, Strings: ch.Strings, Level: ch.Level,
			PWM:        ch.PWM(),
			CurrentKey: fmt.Sprintf("channels[%d].current", i),
		}
		for _, e := range ch.Emitters {
			if id := l.Types[l.Emitters[e].Type].Part.ID.S; len(one.Parts) == 0 || one.Parts[len(one.Parts)-1] != id {
				one.Parts = append(one.Parts, id)
			}
		}
		out = append(out, one)
	}
	return out
}

// emitterViews returns the emitters with their temperatures at typical ambient.
func emitterViews(r *figure.Evaluation) (out []emitterView) {
	l := r.Lamp
	for i, e := range r.Emitters {
		one := emitterView{
			EmitterView: e, XPath: l.Emitters[i].Point.X.At.Path, YPath: l.Emitters[i].Point.Y.At.Path,
			BeamRad: l.Optics[l.Emitters[i].Optic].BeamRad, MaxK: l.Types[l.Emitters[i].Type].Part.MaxJunction.SI,
		}
		if len(r.Cases) > 0 && i < len(r.Cases[0].JunctionK) {
			one.JunctionK, one.SolderK = r.Cases[0].JunctionK[i], r.Cases[0].SolderK[i]
		}
		out = append(out, one)
	}
	return out
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

func curves(l *lamp.Lamp) map[string]curvesView {
	out := map[string]curvesView{}
	for i := range l.Types {
		p := l.Types[i].Part
		c := curvesView{
			Name: p.Name.S, Sheet: p.Datasheet.S, VoltageA: p.ForwardVoltage.X, VoltageV: p.ForwardVoltage.Y,
			FluxA: p.FluxVsCurrent.X, Flux: p.FluxVsCurrent.Y, FluxK: p.FluxVsJunction.X, FluxT: p.FluxVsJunction.Y,
			DerateK: p.Derating.X, DerateA: p.Derating.Y, MaxA: p.MaxForwardCurrent.SI, MaxK: p.MaxJunction.SI,
			TestA: p.TestCurrent.SI, TestK: p.TestJunction.SI,
		}
		fillLists(&c)
		out[p.ID.S] = c
	}
	return out
}

// pictures returns the drawings that the page shares with the design report.
func pictures(r *figure.Evaluation) map[string]string {
	out := map[string]string{}
	put := func(name string, p draw.Picture) {
		if !p.Empty() {
			out[name] = p.Inline()
		}
	}
	d := report.Draw(r)
	put("board", d.Board)
	for i, suffix := range []string{"", "-narrow"} {
		put("installation"+suffix, d.Place[i])
		put("installation-across"+suffix, d.PlaceAcross[i])
		put("energy-flow"+suffix, d.Flow[i])
		put("layers"+suffix, d.Layers[i])
		put("windows"+suffix, d.Windows[i])
		put("temperature"+suffix, d.Temperature[i])
		put("chroma"+suffix, d.Chroma[i])
		put("rendering"+suffix, d.Rendering[i])
		put("hues"+suffix, d.Hues[i])
	}
	return out
}

// trueMinus writes a figure as print does.
func trueMinus(figure string) string { return strings.ReplaceAll(figure, "-", "−") }
