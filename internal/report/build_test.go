package report

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"html"
	"os"
	"strings"
	"testing"
	"testing/fstest"

	"lampwright/internal/finding"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
	"lampwright/internal/study"
)

func buildSheet(t *testing.T, name string, findings []finding.Finding, o Options) string {
	t.Helper()
	var b bytes.Buffer
	if err := BuildSheet(&b, result(t, name), findings, o); err != nil {
		t.Fatal(err)
	}
	return html.UnescapeString(b.String())
}

// TestBuildSheet: the sheet has each line of the order list, the wires with cross-section and length, the strings from
// + to −, and what the first power-up expects.
func TestBuildSheet(t *testing.T) {
	r := result(t, "propagation-bench")
	page := buildSheet(t, "propagation-bench", someFindings(), Options{Made: "with 1 unsaved change: a = b"})
	for _, want := range []string{
		"The review has 1 stop", "12 parts of this list do not exist", "with 1 unsaved change: a = b",
		">0.82 mm²<", ">0.8 m<", "0.52 mm², 2 m", ">2.5 A<", "each of 2",
		"296.12\u00a0EUR", "without the 5 lines that have no price",
		"A1 to A8 white-4500-trio wired for 9 V; + A1 → A2 → A3 → A4 −, + A5 → A6 → A7 → A8 −.",
		"screws M3, torque 0.5 N·m, washer flat, no copper of the circuit within 5.5 mm", "scale 1 : ",
		"Local regulations take precedence", "Metal of the lamp: joined to the protective earth.", "4\u00a0m",
		`<tr><th scope="row">A1</th><td class="num">−120</td><td class="num">−32</td></tr>`,
	} {
		if !strings.Contains(page, want) {
			t.Errorf("the sheet lacks %q", want)
		}
	}
	for i, s := range study.FirstPowerUp(r).Strings {
		for _, at := range s.At {
			want := fmt.Sprintf("<b>%s</b>", text(at.VoltageV, quantity.Voltage))
			if !strings.Contains(page, want) || !strings.Contains(page, channelCode(i)+" "+s.Channel) {
				t.Errorf("%s: no %s", s.Channel, want)
			}
		}
	}
	for _, wrong := range []string{"further lines", "further LEDs", "NaN", "http:", "<script"} {
		if strings.Contains(page, wrong) {
			t.Errorf("the sheet has %q", wrong)
		}
	}
	if n := strings.Count(page, `<span class="box">`); n != 22 {
		t.Errorf("%d lines to tick off, want 22", n)
	}
}

// TestCodes: channels are A to Z, then with a number, so that no code means two things.
func TestCodes(t *testing.T) {
	for channel, want := range map[int]string{0: "A", 25: "Z", 26: "A2/", 27: "B2/", 52: "A3/"} {
		if got := channelCode(channel); got != want {
			t.Errorf("channel %d is %s, want %s", channel, got, want)
		}
	}
	if got := code(1, 11); got != "B12" {
		t.Errorf("the twelfth of channel B is %s", got)
	}
}

func readCSV(t *testing.T, data string) [][]string {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(data)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

// TestOrdersCSV: texts of files that a spreadsheet takes for a formula are escaped, wires are metres, and the last row
// is the total of what has a price.
func TestOrdersCSV(t *testing.T) {
	part := &project.Common{ID: source.Text{S: "@part", Set: true, At: source.Pos{File: "parts/own.yaml"}}}
	var b bytes.Buffer
	err := OrdersCSV(&b, []project.OrderLine{
		{Kind: "emitter", Part: part, What: "=1+1", Count: 3, Each: 1.5, Priced: true, Note: "-x"},
		{Kind: "wire", Part: &project.Common{Builtin: true}, What: "wire", Count: 2, Each: 0.6, Priced: true},
		{What: "+screws", Count: 1},
	})
	if err != nil {
		t.Fatal(err)
	}
	want := [][]string{
		{"kind", "part", "what", "count", "unit", "each_eur", "total_eur", "note", "from", "fictitious"},
		{"emitter", "'@part", "'=1+1", "3", "piece", "1.50", "4.50", "'-x", "parts/own.yaml", "false"},
		{"wire", "", "wire", "2", "m", "0.60", "1.20", "", "library", "false"},
		{"", "", "'+screws", "1", "piece", "", "", "", "design", "false"},
		{"total", "", "", "", "", "", "5.70", "", "", ""},
	}
	if got := readCSV(t, b.String()); fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("%v, want %v", got, want)
	}
}

// TestPlacementCSV: every emitter has its string and its place in it, and x as one looks at the LED side.
func TestPlacementCSV(t *testing.T) {
	var b bytes.Buffer
	if err := PlacementCSV(&b, result(t, "propagation-bench")); err != nil {
		t.Fatal(err)
	}
	count, found := map[string]int{}, false
	for _, row := range readCSV(t, b.String())[1:] {
		count[row[0]]++
		if row[1] == "A6" {
			found = true
			want := []string{
				"emitter", "A6", "white 6", "white-4500-trio", "", "A2", "2",
				"-40.000", "32.000", "40.000",
			}
			if fmt.Sprint(row[:10]) != fmt.Sprint(want) {
				t.Errorf("%v, want %v", row[:10], want)
			}
		}
	}
	if !found {
		t.Error("no row of A6")
	}
	if fmt.Sprint(count) != "map[emitter:12 fastener:17 hole:17 infrared spot:1 sensor:1]" {
		t.Errorf("rows %v", count)
	}
}

// TestSheetOfMany: what has no room on the sheet is counted, and nothing is lost from the tables.
func TestSheetOfMany(t *testing.T) {
	data, err := os.ReadFile(examples + "/moss-jar/lamp.yaml")
	if err != nil {
		t.Fatal(err)
	}
	design := string(data)
	for range 40 {
		design += "  - {what: \"<b>thing</b>\", price: 1 EUR}\n"
	}
	r := evaluate(t, fstest.MapFS{"lamp.yaml": {Data: []byte(design)}})
	var b bytes.Buffer
	if err := BuildSheet(&b, r, nil, Options{}); err != nil {
		t.Fatal(err)
	}
	page := b.String()
	shown := strings.Count(page, `<span class="box">`)
	if want := fmt.Sprintf("%d further lines are in the order list as CSV. Total", len(r.BOM)-shown); shown < 20 ||
		!strings.Contains(page, want) || !strings.Contains(page, "&lt;b&gt;thing") ||
		strings.Contains(page, "<b>thing") {
		t.Errorf("%d lines are shown of %d; want %q", shown, len(r.BOM), want)
	}
}

// TestAcknowledgedInReport: an acknowledged warning is in a chapter of its own with its reason, a stop stays.
func TestAcknowledgedInReport(t *testing.T) {
	why := &finding.Acknowledgement{Reason: "the bench is rebuilt", Date: "2031-05-04"}
	list := []finding.Finding{
		{Severity: finding.Stop, Check: "a", Subject: "x", Title: "first", Acknowledged: why},
		{Severity: finding.Warn, Check: "b", Subject: "y", Title: "second", Acknowledged: why},
	}
	var b bytes.Buffer
	if err := HTML(&b, result(t, "moss-jar"), list, Options{}); err != nil {
		t.Fatal(err)
	}
	page := html.UnescapeString(b.String())
	for _, want := range []string{
		"1 stop. Do not order parts before it is resolved. 1 finding acknowledged, counted apart.",
		"<p><strong>Acknowledged:</strong> The bench is rebuilt. 2031-05-04. It stays a stop.</p>",
		`<span class="word">Warning</span> Second</p><p><strong>Acknowledged:</strong> The bench is rebuilt. 2031`,
	} {
		if !strings.Contains(page, want) {
			t.Errorf("the report lacks %q", want)
		}
	}
	if !strings.Contains(page, `<span class="n">0</span> <span class="word">Warning`) {
		t.Error("the acknowledged warning is counted with the others")
	}
}

// TestLEDSide: on the LED side x is that of the design with its sign changed, of all that is on the board; y stays.
func TestLEDSide(t *testing.T) {
	r := result(t, "propagation-bench")
	b := &sheetBuilder{r: r}
	p := b.board(0.5)
	if want := 96 / 0.0254 / 2; p.PxPerM != want || !p.XLeft {
		t.Errorf("%g px a metre, want %g at 1 : 2", p.PxPerM, want)
	}
	for i, e := range p.Emitters {
		if e.XM != -r.Emitters[i].XM || e.YM != r.Emitters[i].YM {
			t.Errorf("%s is at %g, %g", e.Label, e.XM, e.YM)
		}
	}
	for i, h := range p.Holes {
		if h.XM != -r.Board.Holes[i].XM || h.YM != r.Board.Holes[i].YM {
			t.Errorf("hole %d is at %g, %g", i, h.XM, h.YM)
		}
	}
	for i, c := range p.Corners {
		if c[0] != -r.Board.Corners[i][0] || c[1] != r.Board.Corners[i][1] {
			t.Errorf("corner %d is at %v", i, c)
		}
	}
	if p.Sensor == nil || p.Sensor.XM != -r.Board.SensorXM || len(p.Holes) != 17 || len(p.Corners) != 8 {
		t.Errorf("sensor %+v, %d holes, %d corners", p.Sensor, len(p.Holes), len(p.Corners))
	}
}
