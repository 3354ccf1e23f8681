package web

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"lampwright/internal/bench"
	"lampwright/internal/engine"
	"lampwright/internal/project"
)

// measured is a readings file of the long tank with comments, one value, and one that is still to be read.
const measured = `# First light.
lampwright_readings: 1
instruments:
  - {name: lux, kind: lux meter, class: B, resolution: 1 lx}   # the old one
  - {name: volts, kind: multimeter, accuracy: 0.5 %, resolution: 10 mV}
  - {name: tc, kind: thermocouple, accuracy_offset: 1.5 K, resolution: 0.1 K}
campaigns:
  - name: first light
    date: 2031-09-12
    room: 22.5 °C
    states:
      - {name: full}
      - {name: only cool, levels: [{channel: cool, level: 100 %}], lenses: off}
    readings:
      # the string first
      - {what: string voltage, instrument: volts, channel: cool, state: full, value: 17.9 V}   # warm
      - what: illuminance      # on the axis
        instrument: lux
        state: only cool
        place: axis
        distance: 500 mm
      - {what: contact temperature, instrument: tc, place: heat sink, state: full}
`

func writeReadings(t testing.TB, dir, text string) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, project.ReadingsFile), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func readingsOnDisk(t testing.TB, dir string) string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(dir, project.ReadingsFile))
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// benchOf asks for the readings as the page does.
func benchOf(t testing.TB, ts *httptest.Server, readings string, quick bool, edits ...change) (v benchView) {
	t.Helper()
	resp, data := send(t, ts, "POST", "/api/bench", map[string]any{
		"base": state(t, ts).Hash, "changes": []change{}, "readings": readings, "edits": edits, "quick": quick,
	}, nil)
	if resp.StatusCode != http.StatusOK {
		t.Fatalf("%s: %.300s", resp.Status, data)
	}
	if err := json.Unmarshal(data, &v); err != nil {
		t.Fatal(err)
	}
	return v
}

// pointsOf returns the points of a reading, which must have some.
func pointsOf(t testing.TB, v benchView, i int) []benchPoint {
	t.Helper()
	if len(v.Readings) <= i || len(v.Readings[i].Points) == 0 {
		t.Fatalf("reading %d is not predicted: %q, %v, %d readings", i, v.Wrong, v.Problems, len(v.Readings))
	}
	return v.Readings[i].Points
}

// TestBench: each reading stands beside what the design predicts at its place and in its state, in its unit.
func TestBench(t *testing.T) {
	dir := demo(t, "long-tank")
	writeReadings(t, dir, measured)
	s, ts := serve(t, dir)
	settled(t, s)
	v := benchOf(t, ts, "", false)
	if !v.Exists || v.Hash != hashOf([]byte(measured)) || len(v.Readings) != 3 || len(v.Doubts) != 0 || v.Wrong != "" {
		t.Fatalf("view: %+v", v)
	}
	result := s.work.shown.result
	moment, err := result.Sys.Measure(result.Base, engine.Conditions{RoomK: 295.65}, nil)
	if err != nil {
		t.Fatal(err)
	}
	p := pointsOf(t, v, 0)[0]
	if math.Abs(p.Predicted-moment.StringV(0)) > 1e-4 || p.Read != 17.9 || v.Readings[0].Unit != "V" ||
		v.Readings[0].Where != "cool" || p.Verdict != bench.AgreesVague || !strings.HasPrefix(p.Says, "0.37 V above") {
		t.Errorf("string voltage %+v, the lamp has %g V", p, moment.StringV(0))
	}
	sink := pointsOf(t, v, 2)[0]
	if !sink.Pending || math.Abs(sink.Predicted-(moment.SinkK()-273.15)) > 1e-3 || v.Readings[2].Unit != "°C" {
		t.Errorf("heat sink %+v, the lamp has %g K", sink, moment.SinkK())
	}
	// Readings agree within two standard uncertainties of lamp and meter together.
	u := 2 * math.Hypot(p.ULamp, p.UMeter)
	if want := fmt.Sprintf("%.2f to %.2f V", p.Predicted-u, p.Predicted+u); p.Range != want || p.Expected !=
		fmt.Sprintf("%.2f V", p.Predicted) {
		t.Errorf("expected %q, range %q, want %q", p.Expected, p.Range, want)
	}
	warm := benchOf(t, ts, v.Hash, true, change{"campaigns[0].readings[2].value", "60 °C"})
	if said := pointsOf(t, warm, 0)[0].Says; !strings.Contains(said, " K above the prediction") {
		t.Errorf("a difference of temperatures is said as %q", said)
	}
	states := v.Campaigns[0].States
	if states[1].Says != "Only cool at 100 %; switch off neutral, cyan, red" ||
		!slices.Equal(states[1].Rest, []string{"lenses off", "steady state"}) || v.Readings[1].State != 1 {
		t.Errorf("states %+v", states)
	}
	// After that time the heat sink is within 2 % of its rise.
	in := engine.Conditions{RoomK: result.Lamp.Design.Installation.Ambient.Typical.SI}
	steady, err := result.Sys.Measure(result.Base, in, nil)
	if err != nil {
		t.Fatal(err)
	}
	course, err := result.Sys.MeasureOver(t.Context(), result.Base, in, []float64{v.ReadyS / 2, v.ReadyS}, false)
	if err != nil {
		t.Fatal(err)
	}
	share := func(i int) float64 { return (course[i].SinkK() - in.RoomK) / (steady.SinkK() - in.RoomK) }
	if share(0) > 0.95 || share(1) < 0.98 {
		t.Errorf("after half of %g s the rise is %.3f of the last one, then %.3f", v.ReadyS, share(0), share(1))
	}
}

// TestBenchTyped: a value that is typed is judged by its distance in standard uncertainties, with the model that is
// kept, and nothing is written.
func TestBenchTyped(t *testing.T) {
	dir := demo(t, "long-tank")
	writeReadings(t, dir, measured)
	s, ts := serve(t, dir)
	settled(t, s)
	v := benchOf(t, ts, "", false)
	p := pointsOf(t, v, 1)[0]
	kept := s.work.bench.model
	u := math.Hypot(p.ULamp, p.UMeter)
	for _, tt := range []struct {
		off  float64
		want bench.Verdict
	}{
		{0, bench.Agrees},
		{-1.9, bench.Agrees},
		{2.1, bench.Questionable},
		{-2.9, bench.Questionable},
		{3.1, bench.Differs},
	} {
		text := fmt.Sprintf("%.1f lx", p.Predicted+tt.off*u)
		got := benchOf(t, ts, v.Hash, true, change{"campaigns[0].readings[1].value", text})
		q := pointsOf(t, got, 0)[0]
		if q.Verdict != tt.want || math.Abs(q.Zeta-tt.off) > 0.01 || len(got.Readings) != 1 || got.Learned != nil {
			t.Errorf("%s, %g u off: %s, ζ %g; want %s", text, tt.off, q.Verdict, q.Zeta, tt.want)
		}
	}
	if s.work.bench.model != kept {
		t.Error("another value makes another model")
	}
	other := benchOf(t, ts, v.Hash, true, change{"campaigns[0].readings[1].distance", "400 mm"})
	if s.work.bench.model == kept || pointsOf(t, other, 0)[0].Predicted < 1.4*p.Predicted {
		t.Errorf("another distance does not: %+v", other)
	}
	if got := benchOf(t, ts, v.Hash, true, change{"campaigns[0].readings[1].value", "19 V"}); len(got.Problems) != 1 ||
		got.Problems[0].At.Path != "campaigns[0].readings[1].value" {
		t.Errorf("a voltage as an illuminance: %+v", got.Problems)
	}
	if got := benchOf(t, ts, v.Hash, true, change{"campaigns[0].readings[1].value", "1.9 Mlx"}); len(got.Problems)+
		len(got.Doubts) == 0 {
		t.Error("an illuminance of the sun's surface is not doubted")
	}
	if got := readingsOnDisk(t, dir); got != measured {
		t.Errorf("the file became %q", got)
	}
}

// putReadings saves as the page does.
func putReadings(t testing.TB, ts *httptest.Server, hash string, edits ...change) (*http.Response, []byte) {
	t.Helper()
	return send(t, ts, "POST", "/api/bench-save", map[string]any{
		"base": state(t, ts).Hash, "readings": hash, "edits": edits,
	}, nil)
}

// TestBenchSave: values are put into the text, whose comments and spacing stay; each save is a step that can be undone;
// the lamp is not computed again.
func TestBenchSave(t *testing.T) {
	dir := demo(t, "long-tank")
	writeReadings(t, dir, measured)
	s, ts := serve(t, dir)
	settled(t, s)
	lamp := s.work.shown
	want := measured
	for _, tt := range []struct {
		name     string
		edit     change
		old, now string
	}{
		{"a value", change{"campaigns[0].readings[0].value", "17.85 V"}, "17.9 V}   # warm", "17.85 V}   # warm"},
		{
			"a first value",
			change{"campaigns[0].readings[1].value", "1900 lx"},
			"        distance: 500 mm\n",
			"        distance: 500 mm\n        value: 1900 lx\n",
		},
		{
			"a doubt",
			change{"campaigns[0].readings[2].doubted", "yes"},
			"heat sink, state: full}",
			"heat sink, state: full, doubted: yes}",
		},
		{"no doubt", change{"campaigns[0].readings[2].doubted", gone}, ", doubted: yes", ""},
		{
			"a new reading",
			change{
				"campaigns[0].readings[3]",
				asBlock + "{what: string voltage, instrument: volts, channel: red, state: full}",
			},
			"place: heat sink, state: full}\n", "place: heat sink, state: full}\n      - what: string voltage\n" +
				"        instrument: volts\n        channel: red\n        state: full\n",
		},
		{
			"no reading",
			change{"campaigns[0].readings[2]", gone},
			"      - {what: contact temperature, instrument: tc, place: heat sink, state: full}\n", "",
		},
	} {
		before := readingsOnDisk(t, dir)
		if resp, data := putReadings(t, ts, hashOf([]byte(before)), tt.edit); resp.StatusCode != http.StatusOK {
			t.Fatalf("%s: %s %.300s", tt.name, resp.Status, data)
		}
		if want = strings.Replace(want, tt.old, tt.now, 1); readingsOnDisk(t, dir) != want {
			t.Fatalf("%s: the file became %s, want %s", tt.name, readingsOnDisk(t, dir), want)
		}
	}
	if s.work.shown != lamp || s.work.job != nil {
		t.Error("the lamp is computed again")
	}
	send(t, ts, "POST", "/api/undo", map[string]any{"base": state(t, ts).Hash}, nil)
	if got := readingsOnDisk(t, dir); !strings.Contains(got, "place: heat sink") {
		t.Errorf("undone: %s", got)
	}
	send(t, ts, "POST", "/api/redo", map[string]any{"base": state(t, ts).Hash}, nil)
	if got := readingsOnDisk(t, dir); got != want {
		t.Errorf("redone: %s", got)
	}
}

// TestBenchConflict: a file that another program has changed is not written over, neither by a save nor by an undo, and
// what has problems is refused.
func TestBenchConflict(t *testing.T) {
	dir := demo(t, "long-tank")
	writeReadings(t, dir, measured)
	s, ts := serve(t, dir)
	settled(t, s)
	hash := hashOf([]byte(measured))
	edit := change{"campaigns[0].readings[0].value", "18 V"}
	if resp, _ := putReadings(t, ts, hash, change{edit.Path, "18 lx"}); resp.StatusCode != 422 ||
		readingsOnDisk(t, dir) != measured {
		t.Errorf("an illuminance as a voltage: %s", resp.Status)
	}
	if resp, data := putReadings(t, ts, hash, edit); resp.StatusCode != http.StatusOK {
		t.Fatalf("%s %.300s", resp.Status, data)
	}
	other := strings.Replace(measured, "17.9 V", "17.7 V", 1)
	writeReadings(t, dir, other)
	for _, h := range []string{hash, ""} {
		if resp, _ := putReadings(t, ts, h, edit); resp.StatusCode != 409 || readingsOnDisk(t, dir) != other {
			t.Errorf("of hash %q: %s", h, resp.Status)
		}
	}
	resp, _ := send(t, ts, "POST", "/api/bench", map[string]any{
		"base": state(t, ts).Hash, "changes": []change{}, "readings": hash, "edits": []change{edit}, "quick": true,
	}, nil)
	if resp.StatusCode != http.StatusConflict {
		t.Errorf("a value typed over another file is judged: %s", resp.Status)
	}
	if st := state(t, ts); st.CanUndo || !st.Outside {
		t.Error("undo reaches over the change of another program")
	}
	writeReadings(t, dir, strings.Replace(measured, "channel: cool, state", "channel: kool, state", 1))
	v := benchOf(t, ts, "", false)
	if len(v.Problems) != 1 || v.Problems[0].At.Line != 16 || len(v.Readings) != 0 {
		t.Errorf("an unknown channel: %+v", v.Problems)
	}
}

// TestBenchStart: an empty campaign is written where there is no readings file, and only there.
func TestBenchStart(t *testing.T) {
	dir := demo(t, "long-tank")
	s, ts := serve(t, dir)
	settled(t, s)
	if v := benchOf(t, ts, "", false); v.Exists || len(v.Form.Channels) != 4 || len(v.Form.Quantities) != 15 {
		t.Errorf("without a file: %+v", v)
	}
	begin := func(room string) *http.Response {
		resp, _ := send(t, ts, "POST", "/api/bench-start", map[string]any{
			"base": state(t, ts).Hash, "name": `first "light": 1`, "date": "2031-09-12", "room": room,
			"meters": []string{"lux meter", "multimeter, volts"},
		}, nil)
		return resp
	}
	if resp := begin("22 V"); resp.StatusCode != http.StatusBadRequest {
		t.Errorf("a room of 22 V: %s", resp.Status)
	}
	if resp := begin("22 °C"); resp.StatusCode != http.StatusOK {
		t.Fatal(resp.Status)
	}
	text := readingsOnDisk(t, dir)
	v := benchOf(t, ts, "", false)
	if !v.Exists || len(v.Problems) > 0 || len(v.Campaigns[0].States) != 5 || len(v.Instruments) != 2 ||
		v.Campaigns[0].Name != `first "light": 1` {
		t.Fatalf("the file %s is %+v", text, v)
	}
	if resp := begin("22 °C"); resp.StatusCode != http.StatusBadRequest || readingsOnDisk(t, dir) != text {
		t.Errorf("a second time: %s", resp.Status)
	}
	item := asBlock + "{what: string voltage, instrument: volts, state: full, channel: cool}"
	if resp, data := putReadings(t, ts, v.Hash, change{v.Campaigns[0].Next, item}); resp.StatusCode != http.StatusOK {
		t.Fatalf("a first reading: %s %.300s", resp.Status, data)
	}
	if p := pointsOf(t, benchOf(t, ts, "", false), 0)[0]; !p.Pending || p.Predicted < 15 || p.Predicted > 20 {
		t.Errorf("it is predicted as %+v", p)
	}
}

// TestBenchPlan: a readings file begins with the readings of the plan by the instruments at hand, to be read in the
// room and on the day that were answered.
func TestBenchPlan(t *testing.T) {
	dir := demo(t, "long-tank")
	s, ts := serve(t, dir)
	settled(t, s)
	resp, data := send(t, ts, "POST", "/api/bench-start", map[string]any{
		"base": state(t, ts).Hash, "name": `first "light": 1`, "date": "2031-09-12", "room": "19 °C", "plan": true,
		"meters": []string{"lux meter", "multimeter, volts", "multimeter, amps"},
	}, nil)
	if resp.StatusCode != http.StatusOK {
		t.Fatalf("%s %.300s", resp.Status, data)
	}
	v := benchOf(t, ts, "", false)
	if len(v.Problems) > 0 || v.Wrong != "" || len(v.Campaigns) != 1 {
		t.Fatalf("the file %s is %+v", readingsOnDisk(t, dir), v)
	}
	g := v.Campaigns[0]
	if g.Name != `first "light": 1` || g.Date != "2031-09-12" || !strings.HasPrefix(g.Room, "19") {
		t.Errorf("campaign %+v", g)
	}
	// Three of each channel at the first power-up: voltage, current, dimmed current; then what tells of the results.
	count := map[string]int{}
	for i, r := range v.Readings {
		count[r.What]++
		if p := pointsOf(t, v, i)[0]; !p.Pending || p.Predicted == 0 {
			t.Errorf("%s %s: %+v", r.Label, r.What, p)
		}
	}
	if count["string voltage"] != 4 || count["string current"] != 8 || count["illuminance"] == 0 {
		t.Errorf("readings %v", count)
	}
	for _, what := range []string{"contact temperature", "mains power", "ppfd"} {
		if count[what] > 0 {
			t.Errorf("%d readings of %s without its instrument", count[what], what)
		}
	}
	// They are predicted in the room that was answered.
	result := s.work.shown.result
	moment, err := result.Sys.Measure(result.Base, engine.Conditions{RoomK: 292.15}, nil)
	if err != nil {
		t.Fatal(err)
	}
	at := slices.IndexFunc(v.Readings, func(r benchReading) bool {
		return r.What == "string voltage" && r.Where == "red" && v.Campaigns[0].States[r.State].Name == "full"
	})
	if at < 0 || math.Abs(pointsOf(t, v, at)[0].Predicted-moment.StringV(3)) > 1e-3 {
		t.Errorf("reading %d of the red string: %+v; the lamp has %g V", at, v.Readings, moment.StringV(3))
	}
}

// TestBenchTables: results stand before and after the readings, the light of a lamp that has run beside its ageing,
// and the readings that determine the junction best per minute, the best first.
func TestBenchTables(t *testing.T) {
	dir := demo(t, "long-tank")
	text := strings.Replace(measured, "    room: 22.5 °C\n", "    room: 22.5 °C\n    operating_time: 2000 h\n", 1)
	writeReadings(t, dir, strings.Replace(text, "500 mm\n", "500 mm\n        value: 1800 lx\n", 1))
	s, ts := serve(t, dir)
	settled(t, s)
	v := benchOf(t, ts, "", false)
	if v.Learned == nil {
		t.Fatalf("nothing is learned: %+v", v)
	}
	var titles []string
	for _, table := range v.Learned.Tables {
		titles = append(titles, table.Title)
		for _, row := range table.Rows {
			if len(row) != len(table.Head) {
				t.Errorf("%s: row %q of head %q", table.Title, row, table.Head)
			}
		}
	}
	if !slices.Equal(titles, []string{"Results before and after", "Light over the operating time", "Next reading"}) {
		t.Fatalf("tables %q", titles)
	}
	junction, _ := s.work.shown.result.Figure("lamp.junction")
	before := v.Learned.Tables[0].Rows[0]
	if before[0] != junction.Title || math.Abs(leading(t, before[1])-(junction.Value-273.15)) > 0.051 {
		t.Errorf("the junction has %g K; before the readings: %q", junction.Value, before)
	}
	if aged := v.Learned.Tables[1].Rows; len(aged) != 1 || aged[0][1] != "cool" || aged[0][2] != "2000 h" ||
		leading(t, aged[0][3]) < 90 || leading(t, aged[0][3]) >= 100 {
		t.Errorf("ageing of cool, of which alone the light is read: %q", aged)
	}
	result := s.work.shown.result
	r, _ := project.LoadReadingsText(project.ReadingsFile, []byte(readingsOnDisk(t, dir)), result.Lamp.Project)
	m, err := bench.New(result.Sys, r)
	if err != nil {
		t.Fatal(err)
	}
	_, fit, err := m.Review(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	next, err := m.Best(t.Context(), fit.Fit, bench.Figure{Value: result.ValueOf("lamp.junction")})
	if err != nil {
		t.Fatal(err)
	}
	best := v.Learned.Tables[2].Rows[0]
	want := fmt.Sprintf("%.0f %%", 100*next[0].Reduction)
	if best[4] != want || !strings.HasPrefix(best[0], next[0].What) {
		t.Errorf("next: %q, want %s with %s", best, next[0].What, want)
	}
	worth := math.Inf(1)
	for _, row := range v.Learned.Tables[2].Rows {
		now := leading(t, row[4]) / leading(t, row[3])
		if now > worth+1 {
			t.Errorf("%q is better than the one before it", row)
		}
		worth = now
	}
	quick := benchOf(t, ts, v.Hash, true, change{"campaigns[0].readings[0].value", "18 V"})
	if quick.Learned != nil {
		t.Error("they are computed for each key that is typed")
	}
}

// leading returns the number with which a text begins.
func leading(t testing.TB, text string) float64 {
	t.Helper()
	var x float64
	if _, err := fmt.Sscan(strings.Fields(text)[0], &x); err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	return x
}

// TestBenchHostile: another site can neither read nor write readings.
func TestBenchHostile(t *testing.T) {
	dir := demo(t, "long-tank")
	writeReadings(t, dir, measured)
	_, ts := serve(t, dir)
	for _, path := range []string{"/api/bench", "/api/bench-faults", "/api/bench-save", "/api/bench-start"} {
		for _, head := range []map[string]string{
			{"Origin": foreign},
			{"Sec-Fetch-Site": "cross-site"},
			{"Content-Type": "text/plain"},
			{"Host": "lamp.example"},
		} {
			if resp, _ := send(t, ts, "POST", path, map[string]any{}, head); resp.StatusCode < 400 {
				t.Errorf("%s with %v: %s", path, head, resp.Status)
			}
		}
	}
	if got := readingsOnDisk(t, dir); got != measured {
		t.Errorf("the file became %q", got)
	}
}

// TestBenchFaults: faults are compared in a request of their own, with progress, and can be stopped.
func TestBenchFaults(t *testing.T) {
	slow(t)
	dir := demo(t, "long-tank")
	writeReadings(t, dir, measured)
	s, _ := serve(t, dir)
	settled(t, s)
	r, problems := project.LoadReadingsText(project.ReadingsFile, []byte(measured), s.work.shown.result.Lamp.Project)
	if r == nil {
		t.Fatal(problems)
	}
	last, total := 0, 0
	list, err := faultsOf(t.Context(), s.work.shown.result, r, func(done, of int) { last, total = max(last, done), of })
	if err != nil || len(list) < 2 || last != total || total == 0 {
		t.Fatalf("%d of %d explanations, %+v: %v", last, total, list, err)
	}
	sum := 0.0
	for i, f := range list {
		if sum += f.Probability; i > 0 && f.Probability > list[i-1].Probability {
			t.Errorf("%s is likelier than the one before it", f.Title)
		}
	}
	if math.Abs(sum-1) > 1e-9 {
		t.Errorf("the probabilities sum to %g", sum)
	}
	ctx, stop := context.WithCancel(t.Context())
	if _, err := faultsOf(ctx, s.work.shown.result, r, func(int, int) { stop() }); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
}

// BenchmarkBenchTyped is the verdict of a typed value as the server computes it, of 200 readings about their
// predictions.
func BenchmarkBenchTyped(b *testing.B) {
	dir := demo(b, "long-tank")
	s, ts := serve(b, dir)
	settled(b, s)
	grid := func(value func(i int) float64) string {
		text := strings.TrimSuffix(measured, "\n")
		const line = "\n      - {what: illuminance, instrument: lux, state: full, place: target, at: [%d mm, %d mm], " +
			"value: %.0f lx}"
		for i := range 197 {
			text += fmt.Sprintf(line, 20*(i%20)-200, 20*(i/20)-100, value(i))
		}
		return text + "\n"
	}
	writeReadings(b, dir, grid(func(int) float64 { return 4000 }))
	v := benchOf(b, ts, "", false)
	noise := rand.New(rand.NewPCG(1, 2))
	writeReadings(b, dir, grid(func(i int) float64 {
		p := pointsOf(b, v, 3+i)[0]
		return p.Predicted + 0.3*p.UMeter*noise.NormFloat64()
	}))
	v = benchOf(b, ts, "", true, change{"campaigns[0].readings[1].value", "1900 lx"})
	body := map[string]any{"base": state(b, ts).Hash, "changes": []change{}, "readings": v.Hash}
	for _, quick := range []bool{true, false} {
		b.Run(fmt.Sprintf("quick=%v", quick), func(b *testing.B) {
			body["quick"] = quick
			for i := 0; b.Loop(); i++ {
				body["edits"] = []change{{"campaigns[0].readings[1].value", fmt.Sprintf("%d lx", 1800+i%200)}}
				if resp, data := send(b, ts, "POST", "/api/bench", body, nil); resp.StatusCode != http.StatusOK {
					b.Fatalf("%s %.300s", resp.Status, data)
				}
			}
		})
	}
}
