package report

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"lampwright/internal/bench"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

const someReadings = `lampwright_readings: 1
instruments:
  - {name: lux, kind: lux meter, class: B, resolution: 1 lx}
  - {name: dmm, kind: multimeter, accuracy: 0.5 %}
  - {name: tc, kind: thermocouple, accuracy_offset: 1.5 K}
campaigns:
  - name: first light
    date: 2031-09-12
    room: 22 °C
    states:
      - {name: warm-up}
    readings:
      - {id: V, what: string voltage, instrument: dmm, channel: white, state: full, value: 8.29 V}
      - {id: low, what: string voltage, instrument: dmm, channel: white, state: full, value: 5.7 V}
      - {id: kept, what: string voltage, instrument: dmm, channel: white, state: full, value: 8.3 V, doubted: yes}
      - {id: later, what: string current, instrument: dmm, channel: white, state: full}
      - what: contact temperature
        id: rise
        instrument: tc
        place: heat sink
        state: warm-up
        series: [{time: 60 s, value: 23.5 °C}, {time: 300 s, value: 27.4 °C}, {time: 900 s, value: 32.9 °C}]
      - what: illuminance
        id: map
        instrument: lux
        place: target
        state: full
        series:
          - {at: [-50 mm, -50 mm], value: 2700 lx}
          - {at: [50 mm, -50 mm], value: 2710 lx}
          - {at: [-50 mm, 50 mm], value: 2720 lx}
          - {at: [50 mm, 50 mm], value: 2730 lx}
`

func measuredOf(t *testing.T, demo, text string) *Measured {
	t.Helper()
	r := result(t, demo)
	readings, problems := project.LoadReadingsText("readings.yaml", []byte(text), r.Lamp.Project)
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	m, err := bench.New(r.Sys, readings)
	if err != nil {
		t.Fatal(err)
	}
	review, _, err := m.Review(context.Background(), nil)
	if err != nil {
		t.Fatal(err)
	}
	return &Measured{Review: review, Readings: readings}
}

// TestMeasuredTold: results before and after, ageing and the next reading are the tables of the lamp; those without
// rows are left out. The results are those of the lamp.
func TestMeasuredTold(t *testing.T) {
	r := result(t, "moss-jar")
	m := Measured{Review: &bench.Review{}}
	if told := m.Told(); len(told) != 0 {
		t.Errorf("of nothing: %v", told)
	}
	m.Review.Drift = []bench.DriftRow{{Channel: "white", Hours: 2000, Predicted: 0.962, Measured: 0.95}}
	m.Next = []bench.Next{
		{What: "string voltage", Expected: 8.3, U: 0.1, Dim: quantity.Voltage, Reduction: 0.4},
		{What: "string current", Reduction: 0.004}, // tells nothing
	}
	var keys []string
	for _, f := range BenchFigures(r) {
		keys = append(keys, f.Key)
		want, _ := r.Figure(f.Key)
		if got := f.Value(r.Base); f.Title != want.Title || math.Abs(got-want.Value) > 1e-3*math.Abs(want.Value) {
			t.Errorf("%s is %g, want %g", f.Key, got, want.Value)
		}
		m.Review.Figures = append(m.Review.Figures, bench.FigureRow{Key: f.Key, SDBefore: 2, SDAfter: 1})
	}
	if !slices.Equal(keys, []string{"lamp.junction", "target.ppfd", "mains.power"}) {
		t.Errorf("results %q", keys)
	}
	told := m.Told()
	if len(told) != 3 || len(told[0].Rows) != 3 || told[0].Rows[1][3] != "50 %" || len(told[1].Rows) != 1 ||
		told[1].Rows[0][3] != "96.2 %" || len(told[2].Rows) != 1 || told[2].Rows[0][4] != "40 %" {
		t.Errorf("tables %+v", told)
	}
}

// TestMeasuredTables: each reading has a row with its verdict, each series a table and a picture.
func TestMeasuredTables(t *testing.T) {
	m := measuredOf(t, "moss-jar", someReadings)
	tables := m.Tables()
	first := tables[0]
	if len(first.Rows) != 4 || first.Picture.Empty() {
		t.Fatalf("%d rows, picture empty %v", len(first.Rows), first.Picture.Empty())
	}
	verdict := map[string]string{}
	for _, row := range first.Rows {
		verdict[row[0]] = row[7]
	}
	if verdict["low"] != "differs" || verdict["later"] != "still to be read" ||
		!strings.HasSuffix(verdict["kept"], "; doubted, not used") || !strings.HasPrefix(verdict["V"], "agrees") {
		t.Errorf("verdicts %v", verdict)
	}
	for _, want := range []string{
		"11 values; ", "differs: 1", "still to be read: 1", "degrees of freedom",
		"Student t",
	} {
		if !strings.Contains(first.Text, want) {
			t.Errorf("the summary lacks %q: %s", want, first.Text)
		}
	}
	if tables[1].Title != "Contact temperature, heat sink (rise)" || len(tables[1].Rows) != 3 ||
		!strings.Contains(tables[1].Picture.Title, "Contact") || tables[1].Rows[1][0] != "5 min" {
		t.Errorf("the warm-up is %q %v", tables[1].Title, tables[1].Rows)
	}
	grid := tables[2]
	if grid.Title != "Illuminance, target (map)" || grid.Picture.Empty() || grid.Rows[2][0] != "−50 mm, 50 mm" {
		t.Errorf("the map is %q %v", grid.Title, grid.Rows)
	}
	for _, want := range []string{">2700<", ">2730<"} {
		if !strings.Contains(grid.Picture.Inline(), want) {
			t.Errorf("the map lacks %s", want)
		}
	}
	for _, table := range tables {
		for _, row := range table.Rows {
			if len(row) != len(table.Head) {
				t.Errorf("%s: a row of %d cells under %d", table.Title, len(row), len(table.Head))
			}
		}
	}
}

// TestMeasuredGridOnly: points that are not a grid have no map.
func TestMeasuredGridOnly(t *testing.T) {
	m := measuredOf(t, "moss-jar", strings.Replace(someReadings, "at: [50 mm, 50 mm]", "at: [40 mm, 30 mm]", 1))
	if tables := m.Tables(); !tables[2].Picture.Empty() || len(tables[2].Rows) != 4 {
		t.Errorf("a map of points that are not a grid, or %d rows", len(tables[2].Rows))
	}
}

// TestVagueAgreementIsSaid: the note counts agreements that prove little.
func TestVagueAgreementIsSaid(t *testing.T) {
	m := measuredOf(t, "moss-jar", someReadings)
	m.Review.Rows = m.Review.Rows[:1]
	m.Review.Rows[0].Verdict = bench.AgreesVague
	notes := strings.Join(m.Tables()[0].Notes, " ")
	if !strings.Contains(notes, "1 reading agrees only because the prediction is vague") {
		t.Errorf("notes %q", notes)
	}
}

// TestMeasuredNumbers: differences in the unit of the value with the digits of their uncertainty, temperatures in K;
// parameters with their standard deviations; odds and probabilities.
func TestMeasuredNumbers(t *testing.T) {
	for _, tt := range []struct{ got, want string }{
		{difference(-0.0731, 4.08, 0.16, quantity.Voltage), "−0.07 V"},
		{difference(0.9, 298, 0.8, quantity.Temperature), "+0.90 K"},
		{difference(-0.007, 0.64, 0.0155, quantity.Current), "−7 mA"},
		{difference(23.4, 1970, 221, quantity.Illuminance), "+23 lx"},
		{plusMinus(1.0236, 0.027), "1.024 ± 0.027"},
		{plusMinus(-0.0348, 0.006), "−0.0348 ± 0.0060"},
		{plusMinus(0.0001, 5.8e-6), "(100.0 ± 5.8)·10^−6"},
		{plusMinus(2, 0), "2"},
		{probability(0.00001), "below 0.0001"},
		{probability(0.0043), "0.0043"},
		{probability(0.976), "0.98"},
		{FaultText([]bench.Fault{
			{Code: "dry_joint", Title: "a", LogBayes: 6, Probability: 0.9},
			{Code: bench.Healthy, Title: "b", Probability: 0.1},
		}), "Likeliest: a; runner-up: b; odds 9.0 to 1. Evidence against the lamp as designed: strong."},
		{FaultText([]bench.Fault{
			{Code: "dry_joint", Title: "a", LogBayes: 5, Probability: 0.5}, {
				Code: bench.Healthy, Title: "b",
				Probability: 0.1,
			},
		}), "Likeliest: a; runner-up: b; odds 5.0 to 1. Evidence against the lamp as designed: likely."},
		{FaultText([]bench.Fault{
			{Code: "dry_joint", Title: "a", LogBayes: 3, Probability: 0.5}, {
				Code: bench.Healthy, Title: "b",
				Probability: 0.001,
			},
		}), "Likeliest: a; runner-up: b; odds 500 to 1. Evidence against the lamp as designed: weak."},
		{FaultText([]bench.Fault{
			{Code: bench.Healthy, Title: "b", Probability: 0.9995}, {Title: "a", Probability: 0.0001},
		}), "Likeliest: b; runner-up: a; odds above 1000 to 1."},
	} {
		if plainText(tt.got) != tt.want {
			t.Errorf("%q, want %q", tt.got, tt.want)
		}
	}
}

// TestExplanationsAndNext: a fault has its size and what to do, the healthy lamp neither; small probabilities and
// readings that tell nothing are left out.
func TestExplanationsAndNext(t *testing.T) {
	m := &Measured{NextFor: "Maximum T_j", Review: &bench.Review{Faults: []bench.Fault{
		{
			Code: "dry_joint", Title: "dry joint", LogBayes: 8, Probability: 0.97, Factor: 6, FactorSD: 1,
			FactorOf: "resistance",
			Action:   "switch off", Decide: "read the heat sink",
		},
		{Code: bench.Healthy, Title: "healthy", Probability: 0.02},
		{Code: "void", Title: "void", Probability: 0.0001, LogBayes: 1},
	}}, Next: []bench.Next{
		{
			What: "contact temperature", Where: "cool 1", Reduction: 0.3, Minutes: 5, Expected: 330, U: 1,
			Dim: quantity.Temperature,
		},
		{What: "mains power", Reduction: 0.001},
	}}
	faults := m.explanations()
	if len(faults.Rows) != 2 || faults.Rows[0][3] != "resistance: 6.0 ± 1.0" || faults.Rows[0][4] != "switch off" ||
		faults.Rows[1][4] != "" {
		t.Errorf("explanations %v", faults.Rows)
	}
	if notes := strings.Join(faults.Notes, " "); !strings.Contains(notes, "To decide: read the heat sink.") {
		t.Errorf("notes %q", notes)
	}
	next := m.next()
	if len(next.Rows) != 1 || next.Rows[0][4] != "30 %" || next.Rows[0][0] != "contact temperature, cool 1" {
		t.Errorf("next %v", next.Rows)
	}
}
