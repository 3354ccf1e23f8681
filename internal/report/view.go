package report

import (
	"fmt"
	"html/template"
	"math"
	"regexp"
	"sort"
	"strconv"
	"strings"

	"lampwright/internal/draw"
	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
	"lampwright/internal/study"
)

// view is what the page shows, all as text.
type view struct {
	Style              template.HTML
	Policy             string
	Name               string
	Fictitious         string // ids of parts that do not exist, with commas
	NotSampled         string // what is in no range, in one line
	Calibrated         string // the learned parameters, in one line; empty where none are applied
	Made               string
	Program            string
	Verdict            string
	Counts             []countView
	Tiles              []tileView
	Requirements       []requirementView
	Open               []findingView // stop, warn, ask
	Acknowledged       []findingView // warnings and missing data that stay as they are
	Notes              []findingView
	Passes             []findingView
	Board              template.HTML
	BoardHeat          template.HTML
	Layers             pair
	Emitters           []emitterView
	Installation       pair
	InstallationAcross pair
	InstallationTexts  []string
	Maps               []mapRow
	Light              []figureView
	Spectrum           pair
	Chroma             pair
	Rendering          pair
	Hues               pair
	HueRows            []hueRow
	Colour             []figureView
	Plant              []figureView
	Visual             []figureView
	Suspension         []figureView
	Replaced           []figureView
	Heat               pair
	Cases              []string
	CaseRows           []caseRow
	HeatFigures        []figureView
	More               []Table
	Measured           []Table
	Years              []Table // the lamp over years of use; none without light
	YearsTexts         []string
	PowerUp            Table    // of the first power-up
	PowerUpSteps       []string // nil without an evaluation
	Windows            pair
	Channels           []channelView
	Power              []figureView
	Flow               pair
	Groups             []groupView
	Orders             []orderView
	Total              string
	Unpriced           int
	Assumed            []assumptionView
	Extrapolated       []string // methods and curves outside their range
	Methods            []methodView
	Datasheets         []string
}

type pair struct{ Wide, Narrow template.HTML }

func (p pair) Has() bool { return p.Wide != "" }

type countView struct {
	Sign  template.HTML
	Class string
	Count int
	Word  string
	Means string
}

type tileView struct{ Title, Value, Range, Anchor string }

type requirementView struct {
	What, Required, Predicted, Range string
	Word, Class                      string
	Sign                             template.HTML
	Anchor                           string
}

type emitterView struct{ Label, Part, Lens, At, Current, Voltage, Power, Light, Heat string }

type mapRow struct{ Left, Right template.HTML }

type caseRow struct {
	What  string
	Cells []string
}

type channelView struct {
	Name, Driver, Current, Strings, Hot, Typical, Cold, Power, Input, Drop, Flux, PPF string
}

type figureView struct {
	ID, Anchor, Key, Title, Value, Range string
	Formula                              template.HTML
	Numbers, Method, Valid               string
	Inputs                               []inputView
	Notes                                []string
}

type inputView struct {
	Name                      template.HTML
	Value, Source, At, Anchor string
}

type groupView struct {
	Title   string
	Figures []figureView
}

type orderView struct {
	Part, What, Note, Each, Total string
	Count                         int
}

type assumptionView struct{ What, Used, Spread, Why, Effect, At string }

type methodView struct{ Method, Citation string }

func sign(s draw.Sign) template.HTML { return template.HTML(s.Inline()) }

// svg takes a picture of package draw, which escapes all text itself, into the page.
func svg(p draw.Picture) template.HTML {
	if p.Empty() {
		return ""
	}
	return template.HTML(p.Inline())
}

func pairOf(p [2]draw.Picture) pair { return pair{svg(p[0]), svg(p[1])} }

// builder makes a view.
type builder struct {
	r      *figure.Evaluation
	anchor map[string]string // of figures, by key
}

func newView(r *figure.Evaluation, findings []finding.Finding, o Options) *view {
	b := &builder{r: r, anchor: map[string]string{}}
	for i, f := range r.Figures {
		b.anchor[f.Key] = "figure-" + strconv.Itoa(i+1)
	}
	p := Draw(r)
	v := &view{
		Name: r.Name, Fictitious: strings.Join(r.Fictitious(), ", "), NotSampled: r.NotSampledText(),
		Calibrated: r.CalibrationText(),
		Made:       o.Made, Program: o.Program, More: o.More, Measured: o.Measured,
		Board: svg(p.Board), BoardHeat: svg(p.BoardHeat), Layers: pairOf(p.Layers), Installation: pairOf(p.Place), InstallationAcross: pairOf(p.PlaceAcross), Spectrum: pairOf(p.Spectrum), Chroma: pairOf(p.Chroma), Rendering: pairOf(p.Rendering), Hues: pairOf(p.Hues), HueRows: hueRows(r), Heat: pairOf(p.Temperature), Windows: pairOf(p.Windows), Flow: pairOf(p.Flow),
	}
	if y, err := study.YearsOf(r); err == nil {
		v.Years = YearsTables(y)
		for _, text := range YearsTexts(y) {
			v.YearsTexts = append(v.YearsTexts, capital(text)+".")
		}
	}
	if v.Name == "" {
		v.Name = "Unnamed lamp"
	}
	for i := 0; i < len(p.Maps); i += 2 {
		row := mapRow{Left: svg(p.Maps[i])}
		if i+1 < len(p.Maps) {
			row.Right = svg(p.Maps[i+1])
		}
		if row.Left != "" || row.Right != "" {
			v.Maps = append(v.Maps, row)
		}
	}
	b.findings(v, findings)
	b.tiles(v)
	b.requirements(v)
	b.emitters(v)
	b.cases(v)
	b.channels(v)
	b.figures(v)
	b.orders(v)
	b.assumptions(v)
	b.extrapolated(v)
	b.sources(v, o.Sources)
	b.installationTexts(v)
	b.powerUp(v)
	return v
}

func (b *builder) tiles(v *view) {
	for _, key := range []struct{ key, title string }{
		{"target.ppfd", "mean PPFD at the " + b.target()},
		{"target.uniformity", "uniformity (min/mean)"},
		{"target.area-within", "area within the required PPFD"},
		{"target.dli", "daily light integral (DLI)"},
		{"light.spill", "spill light"},
		{"lamp.cct", "CCT"},
		{"lamp.ra", "colour rendering Ra"},
		{"lamp.junction-max-ambient", "maximum T_j at maximum ambient"},
		{"mains.power", "mains input power"},
		{"mains.ppe", "PPE, mains"},
		{"cost.bom", "parts cost"},
	} {
		if f, ok := b.r.Figure(key.key); ok {
			value, spread := valueOf(f)
			v.Tiles = append(v.Tiles, tileView{key.title, value, spread, b.anchor[key.key]})
		}
	}
}

func (b *builder) target() string {
	if b.r.Target != nil && b.r.Target.Title != "" {
		return b.r.Target.Title
	}
	return "target"
}

// Kinds of requirements.
const (
	within  = iota // between two values
	atLeast        // a lower limit
	atMost         // an upper limit
)

// requiredText returns the limits of a figure.
func requiredText(f figure.Figure, lo, hi float64) string {
	switch {
	case math.IsInf(hi, 1):
		return "≥ " + text(lo, f.Dim)
	case math.IsInf(lo, -1):
		return "≤ " + text(hi, f.Dim)
	case f.Key == "lamp.duv":
		return quantity.Signed(lo, 4) + " to " + quantity.Signed(hi, 4)
	}
	return span(lo, hi, f.Dim)
}

func (b *builder) requirements(v *view) {
	if b.r.Lamp == nil {
		return
	}
	w := b.r.Lamp.Design.Requirements
	duv, stated := w.Whiteness()
	duvTitle := "Duv"
	if !stated {
		duvTitle = "Duv (not stated, assumed)"
	}
	for _, x := range []struct {
		want source.Value
		what string
		key  string
		kind int
	}{
		{w.PPFD, "mean PPFD at the " + b.target(), "target.ppfd", within},
		{w.Uniformity, "uniformity (min/mean)", "target.uniformity", atLeast},
		{w.DLI, "daily light integral (DLI)", "target.dli", within},
		{w.Colour(), "CCT", "lamp.cct", within},
		{duv, duvTitle, "lamp.duv", within},
		{w.Ra, "colour rendering Ra", "lamp.ra", atLeast},
		{w.Rf, "colour fidelity Rf", "lamp.rf", atLeast},
		{w.R9, "colour rendering R9 (saturated red)", "lamp.r9", atLeast},
		{w.MaxJunction, "maximum T_j at maximum ambient", "lamp.junction-max-ambient", atMost},
		{w.Spill, "spill light", "light.spill", atMost},
		{w.Budget, "parts cost", "cost.bom", atMost},
	} {
		if !x.want.Set {
			continue
		}
		f, ok := b.r.Figure(x.key)
		if !ok || bad(f.Value) {
			v.Requirements = append(v.Requirements, requirementView{What: x.what, Required: x.want.Text, Predicted: "not computed", Word: "not computed", Class: "ask", Sign: sign(draw.Question)})
			continue
		}
		lo, hi := x.want.Lo, x.want.Hi
		row := requirementView{What: x.what, Anchor: b.anchor[x.key]}
		row.Predicted, row.Range = valueOf(f)
		switch x.kind {
		case atLeast:
			lo, hi = x.want.SI, math.Inf(1)
		case atMost:
			lo, hi = math.Inf(-1), x.want.SI
		}
		row.Required = requiredText(f, lo, hi)
		row.Word, row.Class, row.Sign = "met", "pass", sign(draw.Tick)
		reaches := f.Lo < lo || f.Hi > hi
		switch {
		case f.Value < lo:
			row.Word, row.Class, row.Sign = "below", "warn", sign(draw.Triangle)
		case f.Value > hi:
			row.Word, row.Class, row.Sign = "above", "warn", sign(draw.Triangle)
		case reaches:
			row.Word, row.Class, row.Sign = "met, P10 or P90 outside", "note", sign(draw.Square)
		}
		v.Requirements = append(v.Requirements, row)
	}
}

func millimetre(m float64) string {
	if bad(m) {
		return "–"
	}
	s := strconv.FormatFloat(math.Round(1e4*m)/10, 'f', -1, 64)
	return strings.Replace(strings.TrimPrefix(s, "-0"), "-", "−", 1)
}

func (b *builder) emitters(v *view) {
	for _, e := range b.r.Emitters {
		lens := e.Lens
		if lens == "" {
			lens = "bare"
		}
		x, y := millimetre(e.XM), millimetre(e.YM)
		v.Emitters = append(v.Emitters, emitterView{
			Label: e.Label, Part: e.Part, Lens: lens, At: x + ", " + y, Current: text(e.DieA, quantity.Current), Voltage: text(e.VoltageV, quantity.Voltage),
			Power: text(e.ElectricalW, quantity.Power), Light: text(e.RadiantW, quantity.Power), Heat: text(e.HeatW, quantity.Power),
		})
	}
}

// caseRowOf is a row of the table of cases.
type caseRowOf struct {
	what string
	of   func(c figure.CaseView) string
}

func (b *builder) cases(v *view) {
	rows := []caseRowOf{
		{"ambient", func(c figure.CaseView) string { return text(c.RoomK, quantity.Temperature) }},
		{"air at the heat sink", func(c figure.CaseView) string { return text(c.AirK, quantity.Temperature) }},
		{"heat sink base", func(c figure.CaseView) string { return text(c.SinkK, quantity.Temperature) }},
		{"hottest solder point", func(c figure.CaseView) string { return b.highest(c.SolderK) }},
		{"hottest junction", func(c figure.CaseView) string { return b.highest(c.JunctionK) }},
		{"sensor", func(c figure.CaseView) string {
			if c.SensorK == 0 {
				return "–"
			}
			return text(c.SensorK, quantity.Temperature)
		}},
		{"heat sink dissipation", func(c figure.CaseView) string { return text(c.HeatW, quantity.Power) }},
		{"heat sink thermal resistance", func(c figure.CaseView) string { return text(c.SinkKW, quantity.ThermalResistance) }},
		{"thermal loop gain", func(c figure.CaseView) string { return text(c.LoopGain, quantity.None) }},
	}
	for i, s := range b.r.Board.Spots {
		rows = append(rows, caseRowOf{"infrared spot " + s.Name, func(c figure.CaseView) string {
			return text(c.SpotK[i], quantity.Temperature)
		}})
	}
	for _, c := range b.r.Cases {
		title := c.Title
		if c.Runaway {
			title += " (thermal runaway)"
		}
		v.Cases = append(v.Cases, title)
	}
	if len(v.Cases) == 0 {
		return
	}
	for _, r := range rows {
		row := caseRow{What: r.what}
		present := false
		for _, c := range b.r.Cases {
			cell := r.of(c)
			present = present || cell != "–"
			row.Cells = append(row.Cells, cell)
		}
		if present {
			v.CaseRows = append(v.CaseRows, row)
		}
	}
}

// highest prints the maximum temperature and the emitter that has it.
func (b *builder) highest(list []float64) string {
	at, most := -1, math.Inf(-1)
	for i, t := range list {
		if t > most {
			at, most = i, t
		}
	}
	if at < 0 {
		return "–"
	}
	s := text(most, quantity.Temperature)
	if at < len(b.r.Emitters) {
		s += ", " + b.r.Emitters[at].Label
	}
	return s
}

func (b *builder) channels(v *view) {
	for i, c := range b.r.Channels {
		x := channelView{
			Name: c.Name, Current: text(c.CurrentA, quantity.Current), Hot: text(c.MinV, quantity.Voltage), Typical: text(c.TypicalV, quantity.Voltage), Cold: text(c.MaxV, quantity.Voltage),
			Power: text(c.ElectricalW, quantity.Power), Input: text(c.DriverInW, quantity.Power), Drop: text(c.WireDropV, quantity.Voltage), Flux: text(c.LumenLm, quantity.Flux), PPF: text(c.PPFUmolS, quantity.PhotonFlux),
		}
		if b.r.Lamp != nil && i < len(b.r.Lamp.Channels) {
			ch := &b.r.Lamp.Channels[i]
			x.Driver, x.Strings = ch.Driver.ID.S, strconv.Itoa(ch.Strings)
		}
		v.Channels = append(v.Channels, x)
	}
}

func (b *builder) figure(f figure.Figure) figureView {
	x := figureView{
		ID: b.anchor[f.Key], Anchor: b.anchor[f.Key], Key: f.Key, Title: f.Title, Formula: symbols(f.Basis.Formula), Numbers: f.Basis.Numbers,
		Method: f.Basis.Method, Valid: f.Basis.Valid, Notes: f.Basis.Notes,
	}
	x.Value, x.Range = valueOf(f)
	for _, in := range f.Basis.Inputs {
		i := inputView{Name: symbols(in.Name), Value: in.Value, Source: in.Source}
		if in.At.File != "" {
			i.At = in.At.String()
		}
		if in.Figure != "" {
			i.Anchor = b.anchor[in.Figure]
		}
		x.Inputs = append(x.Inputs, i)
	}
	return x
}

// Headings of groups whose figures stand in a section of the report as well.
const (
	groupLight      = "Light"
	groupCooling    = "Cooling"
	groupSuspension = "Suspension"
	groupPower      = "Power and cost"
	groupViewer     = "Viewer below the lamp"
	groupReplaced   = "Lamp being replaced"
)

// groups maps the first part of a figure key to a heading; figures of a channel are grouped by its name.
var groups = []struct {
	prefixes []string
	title    string
}{
	{[]string{"target", "surface", "light", "programme"}, groupLight},
	{[]string{"lamp"}, "Lamp"},
	{[]string{"sink", "fan", "board", "sensor", "spot", "housing", "cutout"}, groupCooling},
	{[]string{"suspension"}, groupSuspension},
	{[]string{"supply", "mains", "cost", "controller"}, groupPower},
	{[]string{"viewer"}, groupViewer},
	{[]string{"replaced"}, groupReplaced},
}

// Figures of a plane or of the lamp with a heading of their own, by the last part of their key.
var (
	plantFigures  = map[string]bool{"blue": true, "green": true, "red": true, "far-red": true, "blue-red": true, "red-far-red": true, "ypf": true, "chlorophyll": true}
	colourFigures = map[string]bool{"u-prime": true, "v-prime": true, "cct": true, "duv": true, "ra": true}
)

func (b *builder) figures(v *view) {
	at := map[string]int{}
	into := func(title string, f figureView) {
		i, ok := at[title]
		if !ok {
			i = len(v.Groups)
			at[title] = i
			v.Groups = append(v.Groups, groupView{Title: title})
		}
		v.Groups[i].Figures = append(v.Groups[i].Figures, f)
	}
	channel := map[string]bool{}
	for _, c := range b.r.Channels {
		channel[c.Name] = true
	}
	for _, f := range b.r.Figures {
		x := b.figure(f)
		prefix, _, _ := strings.Cut(f.Key, ".")
		// A channel's name may hold a dot itself.
		for name := range channel {
			if strings.HasPrefix(f.Key, name+".") && len(name) > len(prefix) {
				prefix = name
			}
		}
		if channel[prefix] {
			into("Channel "+prefix, x)
			continue
		}
		word := strings.TrimRight(prefix, "0123456789")
		title := "Other"
		for _, g := range groups {
			for _, p := range g.prefixes {
				if p == word {
					title = g.title
				}
			}
		}
		into(title, x)
		_, last, _ := strings.Cut(f.Key, ".")
		switch {
		case title == groupViewer, strings.HasPrefix(last, "melanopic"), last == "moon-level":
			v.Visual = append(v.Visual, x)
		case title == groupReplaced:
			v.Replaced = append(v.Replaced, x)
		case title == groupSuspension, f.Key == "lamp.mass":
			v.Suspension = append(v.Suspension, x)
		case plantFigures[last]:
			v.Plant = append(v.Plant, x)
		case word == "target" && colourFigures[last]:
			v.Colour = append(v.Colour, x)
		case title == groupLight:
			v.Light = append(v.Light, x)
		case title == groupCooling, strings.HasPrefix(f.Key, "lamp.heat"):
			v.HeatFigures = append(v.HeatFigures, x)
		case title == groupPower, f.Key == "lamp.power":
			v.Power = append(v.Power, x)
		case word == "lamp" && !strings.HasPrefix(f.Key, "lamp.junction"):
			v.Colour = append(v.Colour, x)
		}
	}
	if c := b.r.Colour; !bad(c.X) && !bad(c.Y) && c.X > 0 {
		v.Colour = append(v.Colour, figureView{Title: "chromaticity x, y (CIE 1931)", Value: fmt.Sprintf("%.4f, %.4f", c.X, c.Y)})
	}
}

func (b *builder) orders(v *view) {
	sum := 0.0
	for _, o := range b.r.BOM {
		x := orderView{Part: o.Part, What: o.What, Note: o.Note, Count: o.Count, Each: "no price", Total: "–"}
		if o.Priced {
			x.Each, x.Total = text(o.Each, quantity.Money), text(o.Total, quantity.Money)
			sum += o.Total
		} else {
			v.Unpriced++
		}
		v.Orders = append(v.Orders, x)
	}
	v.Total = text(sum, quantity.Money)
}

func (b *builder) assumptions(v *view) {
	for _, a := range b.r.Assumptions {
		x := assumptionView{What: capital(a.What), Used: text(a.Used, a.Dim), Spread: span(a.Lo, a.Hi, a.Dim), Why: sentence(a.Why), At: where(a.At)}
		if f, ok := b.r.Figure(a.Affects); ok {
			x.Effect = f.Title + ": " + span(a.AtLo, a.AtHi, f.Dim)
		}
		v.Assumed = append(v.Assumed, x)
	}
}

func (b *builder) extrapolated(v *view) {
	seen := map[string]bool{}
	add := func(s string) {
		if s != "" && !seen[s] {
			seen[s] = true
			v.Extrapolated = append(v.Extrapolated, sentence(s))
		}
	}
	for _, s := range b.r.Notes {
		add(s)
	}
	for _, c := range b.r.Cases {
		for _, s := range c.Notes {
			add(s)
		}
	}
}

// citationKey finds keys of the bibliography, such as BornWolf1999 or JESD51-51, in the name of a method.
var citationKey = regexp.MustCompile(`[A-Z][A-Za-z]*[0-9][0-9A-Za-z.-]*`)

func (b *builder) sources(v *view, citations map[string]string) {
	methods, datasheets := map[string]bool{}, map[string]bool{}
	for _, f := range b.r.Figures {
		if m := f.Basis.Method; m != "" && !strings.HasPrefix(m, "see ") {
			methods[m] = true
		}
		for _, in := range f.Basis.Inputs {
			switch s := in.Source; {
			case s == "" || s == "the design" || strings.HasPrefix(s, "computed") || strings.HasPrefix(s, "assumed"):
			default:
				datasheets[s] = true
			}
		}
	}
	for m := range methods {
		var cited []string
		for _, key := range citationKey.FindAllString(m, -1) {
			if c, ok := citations[strings.TrimRight(key, ".-")]; ok {
				cited = append(cited, c)
			}
		}
		v.Methods = append(v.Methods, methodView{capital(m), strings.Join(cited, " ")})
	}
	sort.Slice(v.Methods, func(i, j int) bool { return v.Methods[i].Method < v.Methods[j].Method })
	for s := range datasheets {
		v.Datasheets = append(v.Datasheets, s)
	}
	sort.Strings(v.Datasheets)
}

func (b *builder) installationTexts(v *view) {
	for _, key := range []string{"light.spill", "light.glass-loss", "light.reflected", "light.transmitted", "light.incident-substrate"} {
		if f, ok := b.r.Figure(key); ok {
			value, _ := valueOf(f)
			v.InstallationTexts = append(v.InstallationTexts, capital(f.Title)+": "+value+".")
		}
	}
}

// hueRow is one hue bin as text.
type hueRow struct {
	Number, Samples                 int
	Name, Chroma, Hue, Rf, From, To string
}

// hueRows returns the hue shift picture as a table.
func hueRows(r *figure.Evaluation) (rows []hueRow) {
	at := func(a, b float64) string { return quantity.Signed(a, 1) + ", " + quantity.Signed(b, 1) }
	for i, b := range r.ColourPreview.Bins {
		if b.Samples == 0 {
			continue
		}
		rows = append(rows, hueRow{
			Number: i + 1, Name: draw.HueName(i), Samples: b.Samples, From: at(b.RefA, b.RefB), To: at(b.TestA, b.TestB),
			Chroma: quantity.Signed(100*b.ChromaShift, 1) + " %", Hue: quantity.Signed(b.HueShiftRad*180/math.Pi, 1) + "°", Rf: fmt.Sprintf("%.0f", b.Rf),
		})
	}
	return rows
}
