package report

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"html"
	"math"
	"regexp"
	"strings"
	"testing"

	"lampwright/internal/bench"
	"lampwright/internal/figure"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

func planOf(t *testing.T, r *figure.Evaluation) *bench.PlanSheet {
	t.Helper()
	f, _ := r.Figure("lamp.junction")
	figures := []bench.Figure{{
		Key: "lamp.junction", Title: f.Title, Dim: f.Dim,
		Value: r.ValueOf("lamp.junction"),
	}}
	s, err := bench.Plan(context.Background(), r.Sys, nil, figures,
		r.Sys.BenchAt(&r.Sol, bench.RoomOf(r.Sys, nil), bench.FirstFractions()))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func planHTMLOf(t *testing.T, name string, s *bench.PlanSheet) string {
	t.Helper()
	var b bytes.Buffer
	if err := BenchPlan(&b, name, s, Options{}); err != nil {
		t.Fatal(err)
	}
	return html.UnescapeString(b.String())
}

// TestBenchPlanPage: both pages have what the plan has, with the range of ±2u and room to write.
func TestBenchPlanPage(t *testing.T) {
	s := planOf(t, result(t, "long-tank"))
	page := planHTMLOf(t, "Long tank", s)
	for _, x := range s.Strings {
		for _, want := range []string{
			"<b>" + text(x.Cold[0].VoltageV, quantity.Voltage) + "</b>", text(x.Cold[0].CurrentA, quantity.Current),
			"<b>" + text(x.Cold[1].VoltageV, quantity.Voltage) + "</b>", text(x.LimitV, quantity.Voltage),
		} {
			if !strings.Contains(page, want) {
				t.Errorf("%s: no %q", x.Channel, want)
			}
		}
	}
	readings := 0
	for _, g := range s.Groups {
		readings += len(g.Readings)
		for _, r := range g.Readings {
			at, spread := expected(r.Expected, r.U, r.Dim)
			if want := fmt.Sprintf("<b>%s</b><span class=\"range\">%s</span>", at, spread); !strings.Contains(page,
				want) {
				t.Errorf("%s: no %s", r.ID, want)
			}
		}
	}
	if n := strings.Count(page, `<td class="blank">`); n != readings+5*len(s.Strings) {
		t.Errorf("%d fields to write, want %d", n, readings+5*len(s.Strings))
	}
	for _, want := range []string{
		"Bench plan, page 1 of 2", "page 2 of 2", "local regulations take precedence", "Never look into LEDs",
		"never bring a meter to live leads over water", "one die or more is shorted", "plan-warm-up-t", "plan-map-t",
	} {
		if !strings.Contains(strings.ToLower(page), strings.ToLower(want)) {
			t.Errorf("the plan lacks %q", want)
		}
	}
	for _, wrong := range []string{"NaN", "http:", "<script", "%!"} {
		if strings.Contains(page, wrong) {
			t.Errorf("the plan has %q", wrong)
		}
	}
}

// TestBenchPlanPageOfManyChannels: what has no room on the pages is counted; names are escaped.
func TestBenchPlanPageOfManyChannels(t *testing.T) {
	s := *planOf(t, result(t, "moss-jar"))
	one := s.Strings[0]
	s.Strings = nil
	for i := range 12 {
		x := one
		x.Channel = fmt.Sprintf("<b>channel %d", i)
		s.Strings = append(s.Strings, x)
	}
	group := s.Groups[0]
	s.Groups = nil
	for range 10 {
		s.Groups = append(s.Groups, group)
	}
	var b bytes.Buffer
	if err := BenchPlan(&b, "", &s, Options{}); err != nil {
		t.Fatal(err)
	}
	page := b.String()
	for _, want := range []string{
		"3 further channels", "Unnamed lamp", "&lt;b&gt;channel 8",
		"Warm-up and map of the target: see",
	} {
		if !strings.Contains(page, want) {
			t.Errorf("the plan lacks %q", want)
		}
	}
	for _, wrong := range []string{"<b>channel", "channel 9<", "plan-map"} {
		if strings.Contains(page, wrong) {
			t.Errorf("the plan has %q", wrong)
		}
	}
}

// TestExpected: the range is ±2u; two digits of the uncertainty decide the digits (Particle Data Group, as of
// FormatRange).
func TestExpected(t *testing.T) {
	for _, tt := range []struct {
		value, u   float64
		d          quantity.Dim
		at, spread string
	}{
		{17.527, 0.342, quantity.Voltage, "17.5 V", "16.8 to 18.2 V"},
		{337.54, 3.0, quantity.Temperature, "64.5 °C", "58.5 to 70.5 °C"},
		{0.64, 0.0153, quantity.Current, "640 mA", "609 to 671 mA"},
	} {
		at, spread := expected(tt.value, tt.u, tt.d)
		if plainText(at) != tt.at || plainText(spread) != tt.spread {
			t.Errorf("%g ± %g: %q, %q; want %q, %q", tt.value, tt.u, at, spread, tt.at, tt.spread)
		}
	}
	for _, tt := range []struct {
		value, sd float64
		d         quantity.Dim
		want      string
	}{
		{343.7, 0.684, quantity.Temperature, "0.68 K"},
		{79.4, 3.12, quantity.PPFD, "3.1 µmol/m²/s"},
		{31.99, 0.1741, quantity.Power, "0.17 W"},
		{5100, 212.4, quantity.Illuminance, "212 lx"},
	} {
		if got := plainText(uncertainty(tt.value, tt.sd, tt.d)); got != tt.want {
			t.Errorf("uncertainty %g of %g: %q, want %q", tt.sd, tt.value, got, tt.want)
		}
	}
}

func plainText(s string) string { return strings.ReplaceAll(s, "\u00a0", " ") }

var expectedComment = regexp.MustCompile(`# expected ([^,]+), `)

// TestBenchPlanReadings: the written file is a readings file: its readings are those of the plan, without values; with
// the expected values entered, each is predicted as expected, series too.
func TestBenchPlanReadings(t *testing.T) {
	for _, demo := range []string{"long-tank", "propagation-bench"} {
		r := result(t, demo)
		s := planOf(t, r)
		var b bytes.Buffer
		if err := BenchPlanReadings(&b, "A lamp\n# with a line", "2031-09-12", s); err != nil {
			t.Fatal(err)
		}
		readings, problems := project.LoadReadingsText("readings.yaml", b.Bytes(), r.Lamp.Project)
		if len(problems) > 0 {
			t.Fatalf("%s: %v\n%s", demo, problems, b.String())
		}
		list := readings.Campaigns[0].Readings
		if len(list) != len(s.Readings()) {
			t.Errorf("%s: %d readings, want %d", demo, len(list), len(s.Readings()))
		}
		for i := range list {
			if !list[i].Pending() {
				t.Errorf("%s: %s has a value", demo, list[i].Label)
			}
		}
		readings, problems = project.LoadReadingsText("readings.yaml", []byte(filled(b.String())), r.Lamp.Project)
		if len(problems) > 0 {
			t.Fatalf("%s, with values: %v", demo, problems)
		}
		m, err := bench.New(r.Sys, readings)
		if err != nil {
			t.Fatal(err)
		}
		predicted, err := m.Predict(context.Background(), make([]float64, len(m.Params)))
		if err != nil {
			t.Fatal(err)
		}
		if want := len(s.Readings()) + len(s.Warmup.Points) + len(s.Map.Points); len(predicted) != want {
			t.Errorf("%s: %d values, want %d", demo, len(predicted), want)
		}
		for i := range m.Items {
			if it := &m.Items[i]; math.Abs(it.Value-predicted[i]) > 0.02*math.Abs(predicted[i]) {
				t.Errorf("%s: %s reads %g, predicted %g", demo, it.Label, it.Value, predicted[i])
			}
		}
	}
}

// filled enters the expected values into a readings file of a plan, and removes the first # of its series.
func filled(text string) string {
	var out []string
	at, series := "", false
	for line := range strings.SplitSeq(text, "\n") {
		if strings.HasPrefix(line, "      # Series") {
			series = true
			continue
		}
		if series {
			line = strings.Replace(line, "# ", "", 1)
		}
		if m := expectedComment.FindStringSubmatch(line); m != nil {
			at = strings.ReplaceAll(plainText(m[1]), "−", "-")
		}
		if series {
			line = strings.Replace(line, "value: }", fmt.Sprintf("value: %q}", at), 1)
		}
		out = append(out, strings.Replace(line, "# value:", "value: "+at, 1))
	}
	return strings.Join(out, "\n")
}

// TestYAMLText: a text is read as it was written.
func TestYAMLText(t *testing.T) {
	p := result(t, "moss-jar").Lamp.Project
	for _, name := range []string{
		"lux", "off", "Yes", "5 %", "a: b", "- x", "#1", `quo"te\`, "only cool, no lens", "1.5", "it's", "{x}", "~",
		"null", "ρ meter",
	} {
		data := "lampwright_readings: 1\ninstruments:\n  - name: " + yamlText(name) + "\n    kind: lux meter\n"
		r, problems := project.LoadReadingsText("readings.yaml", []byte(data), p)
		if len(problems) > 0 || r.Instruments[0].Name.S != name {
			t.Errorf("%q is written as %s: %v", name, yamlText(name), problems)
		}
	}
}

// TestBenchPlanCSV: one line for each reading and each point of a series, in the unit of its row.
func TestBenchPlanCSV(t *testing.T) {
	s := planOf(t, result(t, "moss-jar"))
	var b bytes.Buffer
	if err := BenchPlanCSV(&b, s); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if want := 1 + len(s.Readings()) + len(s.Warmup.Points) + len(s.Map.Points); len(rows) != want {
		t.Errorf("%d lines, want %d", len(rows), want)
	}
	for i, r := range s.Readings() {
		row := rows[i+1]
		if row[0] != r.ID || row[3] != r.What || row[12] != "" {
			t.Errorf("line %d is %v", i+1, row)
		}
		at, err := quantity.Parse(row[8]+" "+row[11], r.Dim)
		if row[11] == "" {
			at, err = quantity.Parse(row[8], r.Dim)
		}
		if err != nil || math.Abs(at-r.Expected) > 1e-3*r.Expected {
			t.Errorf("%s: expected %q %q, want %g: %v", r.ID, row[8], row[11], r.Expected, err)
		}
	}
}

// TestBenchPlanTables: the terminal has the same rows as the page.
func TestBenchPlanTables(t *testing.T) {
	s := planOf(t, result(t, "propagation-bench"))
	tables := BenchPlanTables(s)
	if len(tables[0].Rows) != 2*len(s.Strings) || len(tables[1].Rows) != len(s.Strings) {
		t.Errorf("%d and %d rows of strings", len(tables[0].Rows), len(tables[1].Rows))
	}
	n := 0
	for _, table := range tables[3 : len(tables)-1] {
		n += len(table.Rows)
	}
	want := 0
	for _, g := range s.Groups {
		want += len(g.Readings)
	}
	if n != want {
		t.Errorf("%d readings, want %d", n, want)
	}
	s.LeftOut = []bench.PlanOut{{What: "a", Reason: "x"}, {What: "a", Reason: "x"}, {What: "b", Reason: "y"}}
	if got := leftOut(s); got != "a (2): x; b: y" {
		t.Errorf("left out: %q", got)
	}
}

// TestPlanStopsWhereTheHeatSinkIsTooHot: the warm-up ends above 1.3 times the rise of the upper end of the range.
func TestPlanStopsWhereTheHeatSinkIsTooHot(t *testing.T) {
	s := &bench.PlanSheet{
		RoomK: 293.15, Warmup: &bench.PlanSeries{Points: []bench.PlanPoint{{TimeS: 600, Expected: 313.15, U: 2.5}}},
		Strings: []bench.PlanString{{ShortedV: 2.7}},
	}
	found := false
	for _, step := range planSteps(s) {
		found = found || strings.Contains(step, "Above 52.5 °C switch off") // 20 + 1.3·(20 + 5)
	}
	if !found {
		t.Errorf("no step says when to switch off: %q", planSteps(s))
	}
}
