package report

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"fmt"
	"html"
	"io"
	"io/fs"
	"math"
	"os"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/fstest"

	"lampwright/internal/draw"
	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/partslib"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/review"
	"lampwright/internal/source"
	"lampwright/internal/study"
	"lampwright/internal/version"
)

const examples = "../../examples"

var cache sync.Map

// result evaluates an example once.
func result(t *testing.T, name string) *figure.Evaluation {
	t.Helper()
	if r, ok := cache.Load(name); ok {
		return r.(*figure.Evaluation)
	}
	r := evaluate(t, os.DirFS(examples+"/"+name))
	cache.Store(name, r)
	return r
}

// copyOf returns an evaluation whose results can be replaced without a change of the original.
func copyOf(r *figure.Evaluation) figure.Evaluation {
	c, inner := *r, *r.Result
	c.Result = &inner
	return c
}

func evaluate(t *testing.T, dir fs.FS) *figure.Evaluation {
	t.Helper()
	p, problems := project.Load(dir, "lamp.yaml", partslib.Files())
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	r, err := figure.Evaluate(context.Background(), p, engine.Options{Samples: 20})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func someFindings() []finding.Finding {
	return []finding.Finding{
		{Severity: finding.Pass, Check: "a", Subject: "board", Title: "the board holds", Margin: "12 K"},
		{Severity: finding.Note, Check: "b", Subject: "fan", Title: "the fan hums", Why: "fans do"},
		{
			Severity: finding.Stop, Check: "c", Subject: "channel warm", Title: "current of amber is 640 mA",
			Figure: "warm.junction", Value: "640 mA", Limit: "460 mA", Margin: "-180 mA", Why: "it " +
				"dies", Fix: []string{"Set channel warm to ≤ 460 mA"}, At: source.Pos{
				File: "lamp.yaml", Line: 53,
				Col: 14, Path: "channels[1].current",
			},
		},
		{
			Severity: finding.Ask, Check: "d", Subject: "lens", Title: "the lens states no efficiency",
			Figure: "no such figure",
		},
		{Severity: finding.Warn, Check: "e", Subject: "light", Title: "too bright"},
	}
}

func write(t *testing.T, r *figure.Evaluation, f []finding.Finding, o Options) string {
	t.Helper()
	var b bytes.Buffer
	if err := HTML(&b, r, f, o); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// wellFormed reads a page as XML in the manner of HTML: void elements close themselves, and every other element is
// closed.
func wellFormed(t *testing.T, page string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(page))
	d.Strict = false
	d.AutoClose = []string{"meta"}
	d.Entity = xml.HTMLEntity
	var open []string
	for {
		tok, err := d.RawToken()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatalf("page does not parse: %v", err)
		}
		switch e := tok.(type) {
		case xml.StartElement:
			if e.Name.Local != "meta" {
				open = append(open, e.Name.Local)
			}
		case xml.EndElement:
			if len(open) == 0 || open[len(open)-1] != e.Name.Local {
				t.Fatalf("</%s> closes %v", e.Name.Local, open)
			}
			open = open[:len(open)-1]
		}
	}
	if len(open) > 0 {
		t.Fatalf("left open: %v", open)
	}
}

var (
	idAttr   = regexp.MustCompile(` id="([^"]*)"`)
	hrefAttr = regexp.MustCompile(`href="([^"]*)"`)
	policy   = regexp.MustCompile(`sha256-[^&]*`)
	labelled = regexp.MustCompile(`aria-labelledby="([^"]*)"`)
)

// check holds a page against the rules for every report.
func check(t *testing.T, page string) {
	t.Helper()
	wellFormed(t, page)
	page = policy.ReplaceAllString(page, "") // a hash may spell anything
	for _, never := range []string{
		"http:", "https:", "//", "src=", "url(", "@import", "<script", "<link", "<iframe",
		"javascript:", " style=", "NaN", "+Inf", "-Inf", "%!", "&lt;nil&gt;", "ZgotmplZ",
	} {
		if at := strings.Index(page, never); at >= 0 {
			t.Errorf("page holds %q: …%s…", never, page[max(at-60, 0):min(at+60, len(page))])
		}
	}
	ids := map[string]bool{}
	for _, m := range idAttr.FindAllStringSubmatch(page, -1) {
		if ids[m[1]] {
			t.Errorf("id %q is given twice", m[1])
		}
		ids[m[1]] = true
	}
	for _, m := range hrefAttr.FindAllStringSubmatch(page, -1) {
		if !strings.HasPrefix(m[1], "#") || !ids[m[1][1:]] {
			t.Errorf("link %q leads nowhere", m[1])
		}
	}
	for _, m := range labelled.FindAllStringSubmatch(page, -1) {
		for _, id := range strings.Fields(m[1]) {
			if !ids[id] {
				t.Errorf("label %q is missing", id)
			}
		}
	}
}

func TestPageOfEachExample(t *testing.T) {
	for _, name := range []string{"long-tank-first", "long-tank", "propagation-bench"} {
		t.Run(name, func(t *testing.T) {
			r := result(t, name)
			page := write(t, r, someFindings(), Options{})
			check(t, page)
			shown := html.UnescapeString(page)
			for _, f := range someFindings() {
				if !strings.Contains(shown, capital(f.Title)) {
					t.Errorf("finding %q is missing", f.Title)
				}
			}
			for _, f := range r.Figures {
				if !strings.Contains(shown, f.Title) || !strings.Contains(shown, ">"+f.Key+"<") {
					t.Errorf("figure %s is missing", f.Key)
				}
			}
			if strings.Contains(page, "<h3 class=\"sub\">Other</h3>") {
				t.Error("a figure has no group")
			}
			for _, o := range r.BOM {
				if !strings.Contains(shown, o.What) {
					t.Errorf("order %q is missing", o.What)
				}
			}
			for _, want := range []string{
				"Fictitious parts.", "Requirements", "1</span> <span class=\"word\">Stop", "lamp.yaml:53:14 " +
					"(channels[1].current)", "Fix:",
				"Energy flow, mains to target", "Bill of materials", "Cautions", "residual-current", "licensed", "Soldering", "Fire", "Hot surfaces", "Bright light in eyes", "Falling lamp",
				"Derivations", "Sources",
			} {
				if !strings.Contains(shown, want) {
					t.Errorf("page holds no %q", want)
				}
			}
			if strings.Contains(strings.ToLower(page), "is safe") && !strings.Contains(page,
				"does not say that the lamp is safe") {
				t.Error("page says that something is safe")
			}
			if got := strings.Count(page, `role="img"`); got < 11 {
				t.Errorf("only %d pictures", got)
			}
			if len(page) > 1<<20 {
				t.Errorf("page of %d bytes", len(page))
			}
			if again := write(t, r, someFindings(), Options{}); again != page {
				t.Error("two runs give two pages")
			}
		})
	}
}

func TestVerdict(t *testing.T) {
	r := &figure.Evaluation{Result: &figure.Result{Name: "x"}}
	for _, tt := range []struct {
		want string
		list []finding.Finding
	}{
		{"This report contains no review.", nil},
		{"1 stop. Do not order", []finding.Finding{{Severity: finding.Stop}, {Severity: finding.Warn}}},
		{"2 stops. Do not order", []finding.Finding{{Severity: finding.Stop}, {Severity: finding.Stop}}},
		{"No stops, 1 warning.", []finding.Finding{{Severity: finding.Warn}}},
		{"does not certify safety", []finding.Finding{{Severity: finding.Pass}}},
	} {
		if got := newView(r, tt.list, Options{}).Verdict; !strings.Contains(got, tt.want) {
			t.Errorf("verdict %q, want %q", got, tt.want)
		}
	}
}

// A Result may be sparse, and its numbers may be wild; the page stays a page.
func TestWildResults(t *testing.T) {
	check(t, write(t, &figure.Evaluation{Result: &figure.Result{}}, nil, Options{}))
	nan, inf := math.NaN(), math.Inf(1)
	r := &figure.Evaluation{Result: &figure.Result{
		Name: "wild", Figures: []figure.Figure{{
			Key: "a.b", Title: "t", Value: nan, Lo: -inf, Hi: inf,
			Dim: quantity.Power,
		}, {Key: "mains.power", Title: "p", Value: inf, Dim: quantity.Power}},
		Channels: []figure.ChannelView{{
			Name: "a", CurrentA: nan,
			MaxV: inf,
		}}, Emitters: []figure.EmitterView{{Label: "a 1", XM: nan, DieA: inf}},
		Cases: []figure.CaseView{{
			Key: "typical", Title: "typical ambient", RoomK: nan, SolderK: []float64{nan},
			JunctionK: []float64{inf}, Runaway: true,
		}},
		Board: figure.BoardView{Shape: "disc", LengthM: inf, WidthM: nan}, Installation: figure.InstallationView{LengthM: nan},
		Target: &figure.Map{NX: 1, NY: 1, LengthM: 1, WidthM: 1, PPFD: []float64{nan}, Lux: []float64{1}},
		Spectrum: figure.SpectrumView{LambdaNM: []float64{400, nan}, Channels: [][]float64{{
			inf,
			1,
		}}}, EnergyFlows: []figure.EnergyFlow{{From: "a", To: "b", Watts: nan}},
		BOM: []figure.BOMLine{{
			What: "w", Each: nan, Total: inf,
			Priced: true,
		}}, Assumptions: []figure.Assumption{{What: "x", Used: nan, Dim: quantity.Ratio}},
	}}
	check(t, write(t, r, []finding.Finding{{Severity: 99, Title: "beyond"}}, Options{}))
	var b bytes.Buffer
	if err := CSV(&b, r); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(b.String(), "NaN") || strings.Contains(b.String(), "Inf") {
		t.Errorf("CSV holds wild numbers: %s", b.String())
	}
	if err := JSON(io.Discard, r, nil); err == nil {
		t.Error("JSON of numbers that are none is no error")
	}
}

// Names from files are escaped wherever they are shown, in text, attributes and pictures.
func TestHostileNames(t *testing.T) {
	const evil = `"><script>alert(1)</script><img src=x onerror=alert(1)> & <style>*{}</style> javascript:alert(1)`
	r := copyOf(result(t, "long-tank-first"))
	r.Name = evil
	r.Figures = append([]figure.Figure(nil), r.Figures...)
	f := &r.Figures[0]
	f.Title, f.Basis.Formula, f.Basis.Numbers, f.Basis.Method, f.Basis.Valid, f.Basis.Notes = evil, "I_"+evil, evil, evil, evil, []string{evil}
	f.Basis.Inputs = []figure.Input{{Name: evil, Value: evil, Source: evil, At: source.Pos{
		File: evil, Line: 1,
		Col: 1, Path: evil,
	}}}
	r.Channels = append([]figure.ChannelView(nil), r.Channels...)
	r.Channels[0].Name, r.Channels[0].Colour = evil, evil
	r.Emitters = append([]figure.EmitterView(nil), r.Emitters...)
	r.Emitters[0].Label, r.Emitters[0].Part, r.Emitters[0].Lens = evil, evil, evil
	r.BOM = []figure.BOMLine{{Part: evil, What: evil, Note: evil}}
	r.Notes = []string{evil}
	r.EnergyFlows = []figure.EnergyFlow{{From: evil, To: "b", Watts: 1}, {
		From: "b", To: evil + "2", Watts: 1,
		Loss: true,
	}}
	r.Assumptions = []figure.Assumption{{What: evil, Why: evil, Dim: quantity.Ratio}}
	target := *r.Target
	target.Title = evil
	r.Target = &target
	findings := []finding.Finding{{
		Severity: finding.Stop, Check: evil, Subject: evil, Title: evil, Value: evil,
		Limit: evil, Margin: evil, Why: evil, Fix: []string{evil}, At: source.Pos{File: evil, Path: evil},
	}}
	page := write(t, &r, findings, Options{Made: evil, Program: evil, Sources: map[string]string{evil: evil}})
	wellFormed(t, page)
	for _, never := range []string{"<script", "<img", "<style>*", "onerror=alert(1)>"} {
		if strings.Contains(page, never) {
			t.Errorf("page holds %q", never)
		}
	}
	if n := strings.Count(page, "<style>"); n != 1 {
		t.Errorf("%d style sheets", n)
	}
}

func TestPolicyHoldsTheStyle(t *testing.T) {
	page := write(t, &figure.Evaluation{Result: &figure.Result{}}, nil, Options{})
	if !strings.Contains(page, "default-src &#39;none&#39;; style-src &#39;sha256-") {
		t.Error("page has no policy")
	}
}

func TestRequirementsAgainstPredicted(t *testing.T) {
	r := result(t, "long-tank-first")
	v := newView(r, nil, Options{})
	if len(v.Requirements) != 9 {
		t.Fatalf("%d lines, want 9", len(v.Requirements))
	}
	rows := map[string]requirementView{}
	for _, w := range v.Requirements {
		rows[w.What] = w
	}
	if got := rows["uniformity (min/mean)"].Required; got != "≥ 35.0\u00a0%" {
		t.Errorf("uniformity required %q", got)
	}
	if got := rows["mean PPFD at the substrate"].Required; got != "55.0 to 115\u00a0µmol/m²/s" {
		t.Errorf("PPFD required %q", got)
	}
	if got := rows["Duv (not stated, assumed)"]; got.Required != "−0.0060 to +0.0060" || got.Word != "above" {
		t.Errorf("Duv: %+v", got)
	}
	f, _ := r.Figure("target.ppfd")
	want := "met"
	switch {
	case f.Value > 115:
		want = "above"
	case f.Value < 55:
		want = "below"
	}
	if got := rows["mean PPFD at the substrate"].Word; !strings.HasPrefix(got, want) {
		t.Errorf("PPFD of %g is called %q, want %q", f.Value, got, want)
	}
}

// TestFiguresUnderTheirHeadings: each section lists figures of its own field only; the first part of their keys names it.
func TestFiguresUnderTheirHeadings(t *testing.T) {
	r := result(t, "long-tank")
	title := func(key string) string {
		f, ok := r.Figure(key)
		if !ok {
			t.Fatalf("the lamp has no figure %s", key)
		}
		return f.Title
	}
	b := &builder{r: r, anchor: map[string]string{}}
	var v view
	b.figures(&v)
	for name, tt := range map[string]struct {
		list        []figureView
		with, never string
	}{
		"light":      {v.Light, "light.spill", "viewer.exposure-time"},
		"suspension": {v.Suspension, "lamp.mass", "mains.power"},
		"visual":     {v.Visual, "viewer.exposure-time", "cost.bom"},
		"cooling":    {v.HeatFigures, "sink.temperature", "lamp.mass"},
		"power":      {v.Power, "mains.power", "lamp.mass"},
		"colour":     {v.Colour, "lamp.cct", "lamp.mass"},
		"replaced":   {v.Replaced, "", "viewer.exposure-time"},
	} {
		has := func(key string) bool {
			return slices.ContainsFunc(tt.list, func(f figureView) bool { return f.Title == title(key) })
		}
		if tt.with != "" && !has(tt.with) || has(tt.never) {
			t.Errorf("%s: want %s among the figures, and not %s", name, tt.with, tt.never)
		}
	}
}

func TestCitationsAreFound(t *testing.T) {
	r := &figure.Evaluation{Result: &figure.Result{Figures: []figure.Figure{{
		Key: "a.b", Title: "t",
		Basis: figure.Basis{Method: "thing (JESD51-51) and BornWolf1999 §1.5"},
	}}}}
	v := newView(r, nil, Options{Sources: map[string]string{"JESD51-51": "First.", "BornWolf1999": "Second."}})
	if len(v.Methods) != 1 || v.Methods[0].Citation != "First. Second." {
		t.Errorf("methods %+v", v.Methods)
	}
}

func TestHeatMapIsDrawnWhereThereIsAField(t *testing.T) {
	r := result(t, "long-tank")
	p := Draw(r)
	if !strings.Contains(p.BoardHeat.Desc, "Temperatures from") || strings.Contains(p.Board.Desc, "Temperatures from") {
		t.Errorf("board says %q, its heat %q", p.Board.Desc, p.BoardHeat.Desc)
	}
	if len(r.Stack) > 0 && p.Layers[0].Empty() {
		t.Error("the layers are not drawn")
	}
}

// TestWindowsSayWhatTheReviewSays: the picture of the drivers' windows and the review tell one shortfall of a supply.
func TestWindowsSayWhatTheReviewSays(t *testing.T) {
	r := result(t, "long-tank-first")
	findings := review.Review(t.Context(), r)
	picture := Draw(r).Windows[0].Inline()
	short := 0
	for i, c := range r.Channels {
		for _, f := range findings {
			if f.Check != "driver-headroom" || f.Subject != "channel "+c.Name || f.Severity != finding.Stop {
				continue
			}
			short++
			feed := r.Feed(i)
			by := feed.HighV - feed.CapV
			if want := fmt.Sprintf("−%.*f V", max(0, 2-int(math.Floor(math.Log10(by)))), by); f.Margin != want {
				t.Errorf("channel %s: the review's margin is %q, want %q", c.Name, f.Margin, want)
			}
			if want := fmt.Sprintf("%.3g V ", by); !strings.Contains(picture,
				want+"above the driver maximum") && !strings.Contains(picture, want+"above maximum") {
				t.Errorf("channel %s: the picture does not say %q: %s", c.Name, want,
					regexp.MustCompile(c.Name+`[^.]*window[^.]*\.\d+ V[^;.]*`).FindString(picture))
			}
		}
	}
	if short != 2 {
		t.Errorf("%d channels are short of voltage, want the two that the demo's review names", short)
	}
}

// TestTiltedLampIsDrawnTilted: a lamp that looks to the back gets a cut across its width beside the one along its
// length, and lies in both as its emitters look; a level one gets one cut.
func TestTiltedLampIsDrawnTilted(t *testing.T) {
	if level := Draw(result(t, "long-tank-first")); !level.PlaceAcross[0].Empty() {
		t.Error("a level lamp is cut across")
	}
	text, err := os.ReadFile(examples + "/long-tank-first/lamp.yaml")
	if err != nil {
		t.Fatal(err)
	}
	tilted := strings.Replace(string(text), "installation:\n", "installation:\n  lamp_tilt: {tilt: 20 deg, azimuth: "+
		"70 deg}\n", 1)
	r := evaluate(t, fstest.MapFS{"lamp.yaml": {Data: []byte(tilted)}})
	for across, axis := range map[bool]int{false: 0, true: 1} {
		up := draw.TiltOf(20*math.Pi/180, 70*math.Pi/180, across).Up
		if aim := r.Emitters[0].Aim; math.Abs(aim[axis]+up[0]) > 1e-9 || math.Abs(aim[2]+up[1]) > 1e-9 {
			t.Errorf("across %v: the board's upright is %v, and its emitters look to %v", across, up, aim)
		}
	}
	d := Draw(r)
	for _, p := range []draw.Picture{d.PlaceAcross[0], d.PlaceAcross[1]} {
		if !strings.Contains(p.Inline(), "Section across the width") || !strings.Contains(p.Inline(), "inside 450 mm") {
			t.Errorf("the cut across: %.300s", p.Inline())
		}
	}
}

func TestSpan(t *testing.T) {
	for _, tt := range []struct {
		lo, hi float64
		dim    quantity.Dim
		want   string
	}{
		{50, 90, quantity.PPFD, "50.0 to 90.0\u00a0µmol/m²/s"},
		{0.5, 1.5, quantity.Current, "500\u00a0mA to 1.50\u00a0A"},
		{-0.03, -0.02, quantity.None, "−0.03 to −0.02"},
		{300, 300, quantity.Temperature, "26.9\u00a0°C"},
	} {
		if got := span(tt.lo, tt.hi, tt.dim); got != tt.want {
			t.Errorf("span(%g, %g) = %q, want %q", tt.lo, tt.hi, got, tt.want)
		}
	}
}

func TestSymbols(t *testing.T) {
	for in, want := range map[string]string{
		"T_j = T_solder + R_th H": "T<sub>j</sub> = T<sub>solder</sub> + R<sub>th</sub> H",
		"Φ_v,e < 3":               "Φ<sub>v,e</sub> &lt; 3",
		"plain":                   "plain",
	} {
		if got := string(symbols(in)); got != want {
			t.Errorf("symbols(%q) = %q, want %q", in, got, want)
		}
	}
}

func TestJSONAndCSV(t *testing.T) {
	r := result(t, "propagation-bench")
	var b bytes.Buffer
	if err := JSON(&b, r, nil); err != nil {
		t.Fatal(err)
	}
	var back struct {
		Version  string `json:"lampwright"`
		Findings []finding.Finding
		Result   struct{ Figures []struct{ Key string } }
	}
	if err := json.Unmarshal(b.Bytes(), &back); err != nil {
		t.Fatal(err)
	}
	if back.Version != version.String() || back.Findings == nil || len(back.Result.Figures) != len(r.Figures) {
		t.Errorf("JSON: version %q, %d figures", back.Version, len(back.Result.Figures))
	}
	b.Reset()
	if err := CSV(&b, r); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != len(r.Figures)+1 || len(rows[0]) != 12 {
		t.Errorf("CSV: %d rows of %d", len(rows), len(rows[0]))
	}
	for in, want := range map[string]string{"=1+1": "'=1+1", "@x": "'@x", "plain": "plain", "": ""} {
		if got := cell(in); got != want {
			t.Errorf("cell(%q) = %q, want %q", in, got, want)
		}
	}
}

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, io.ErrClosedPipe }

func TestFullDisk(t *testing.T) {
	r := &figure.Evaluation{Result: &figure.Result{Name: "x"}}
	if HTML(broken{}, r, nil, Options{}) == nil || JSON(broken{}, r, nil) == nil || CSV(broken{}, r) == nil {
		t.Error("a write that fails is no error")
	}
}

func BenchmarkHTML(b *testing.B) {
	p, problems := project.Load(os.DirFS(examples+"/long-tank"), "lamp.yaml", partslib.Files())
	if len(problems) > 0 {
		b.Fatal(problems)
	}
	r, err := figure.Evaluate(context.Background(), p, engine.Options{Samples: -1})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if err := HTML(io.Discard, r, nil, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

// TestProse wants symbols of one letter with their subscripts, code where backticks quote it, and every other text
// escaped.
func TestProse(t *testing.T) {
	for text, want := range map[string]string{
		"maximum T_j at maximum ambient": "maximum T<sub>j</sub> at maximum ambient",
		"I_n ≤ I_Z, I_2 ≤ 1.45 I_Z":      "I<sub>n</sub> ≤ I<sub>Z</sub>, I<sub>2</sub> ≤ 1.45 I<sub>Z</sub>",
		"Add `fin_flow_fraction` (50 %)": "Add <code>fin_flow_fraction</code> (50 %)",
		"lens my_lens <b> & `<i>`":       "lens my_lens &lt;b&gt; &amp; <code>&lt;i&gt;</code>",
		"one ` alone":                    "one ` alone",
	} {
		if got := string(prose(text)); got != want {
			t.Errorf("%q becomes %q, want %q", text, got, want)
		}
	}
}

// TestInfraredSpotsAreInTheReport: the table of temperatures has a row for every spot, and the board its mark.
func TestInfraredSpotsAreInTheReport(t *testing.T) {
	r := result(t, "rain-wall")
	v := &view{}
	(&builder{r: r}).cases(v)
	for i, name := range []string{"beside-day-2", "edge"} {
		j := slices.IndexFunc(v.CaseRows, func(c caseRow) bool { return c.What == "infrared spot "+name })
		if j < 0 {
			t.Fatalf("no row of spot %s: %+v", name, v.CaseRows)
		}
		want := text(r.Cases[0].SpotK[i], quantity.Temperature)
		if got := v.CaseRows[j].Cells[0]; got != want || len(v.CaseRows[j].Cells) != len(r.Cases) {
			t.Errorf("spot %s: %q, want %q first", name, v.CaseRows[j].Cells, want)
		}
		if k, ok := r.Figure("spot." + name); !ok || math.Abs(k.Value-r.Cases[0].SpotK[i]) > 1e-9 {
			t.Errorf("spot %s: figure %g K, case %g K", name, k.Value, r.Cases[0].SpotK[i])
		}
		if page := Draw(r).Board.Inline(); !strings.Contains(page, ">"+name+"<") {
			t.Errorf("the board does not mark spot %s", name)
		}
	}
}

// TestFirstPowerUpIsInTheReport: the report has the checklist with the volts and amps of every string.
func TestFirstPowerUpIsInTheReport(t *testing.T) {
	r := result(t, "long-tank")
	var b bytes.Buffer
	if err := HTML(&b, r, nil, Options{}); err != nil {
		t.Fatal(err)
	}
	page := html.UnescapeString(b.String())
	i := strings.Index(page, `<section id="power-up">`)
	if i < 0 || !strings.Contains(page, `<a href="#power-up">First power-up</a>`) {
		t.Fatal("the report has no section on the first power-up")
	}
	section := page[i : i+strings.Index(page[i:], "</section>")]
	p := study.FirstPowerUp(r)
	for _, s := range p.Strings {
		for _, at := range s.At {
			row := fmt.Sprintf(`<th scope="row">%s</th><td class="num">%d</td><td class="num">%s</td>`+
				`<td class="num">%.0f %%</td><td class="num">%s</td>`, s.Channel, s.Count,
				text(at.CurrentA, quantity.Current), 100*at.Fraction,
				text(at.VoltageV, quantity.Voltage))
			if !strings.Contains(section, row) {
				t.Errorf("no row %s", row)
			}
		}
		if want := text(s.LimitV, quantity.Voltage); !strings.Contains(section, `<td class="num">`+want+"</td>") {
			t.Errorf("%s: no limit of %s", s.Channel, want)
		}
	}
	for _, want := range []string{
		"WARNING: electric shock", "Wear eye protection", kelvin(p.Board[0].StopK) + " switch off", "RCD test button",
		"the board has", "never connect a string to a live driver",
	} {
		if !strings.Contains(section, want) {
			t.Errorf("the checklist lacks %q", want)
		}
	}
}
