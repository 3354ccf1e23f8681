package web

import (
	"encoding/json"
	"maps"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"slices"
	"strings"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/project"
)

// TestInOrder: items of lists are taken away after all other changes, the last ones first.
func TestInOrder(t *testing.T) {
	list := []change{
		{"a[0]", gone},
		{"a[10].b[1]", gone},
		{"a[2]", gone},
		{"a[10].b[3]", gone},
		{"c", gone},
		{"a[11]", asYAML + "[1, 2]"},
	}
	var got []string
	for _, c := range inOrder(list) {
		got = append(got, c.Path)
	}
	want := []string{"c", "a[11]", "a[10].b[3]", "a[10].b[1]", "a[2]", "a[0]"}
	if !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
	// What is left of a is its items 1, 3 to 9, 10, 11.
	r := removalsOf(list)
	for path, want := range map[string]string{
		"a[0].x": "a[1].x", "a[1]": "a[3]", "a[8].b[0]": "a[10].b[0]", "a[8].b[1].y": "a[10].b[2].y", "a[9]": "a[11]",
		"c.d": "c.d", "b[0]": "b[0]",
	} {
		if got := r.filed(path); got != want {
			t.Errorf("%s is %s of the file, want %s", path, got, want)
		}
	}
}

// TestEditBoard adds, moves and takes away on the board of a demo: the paths stay those of the file while the change is
// not saved, and the file keeps its comments.
func TestEditBoard(t *testing.T) {
	dir := demo(t, "long-tank-first")
	s, ts := serve(t, dir)
	settled(t, s)
	st := state(t, ts)
	changes := []change{
		{"channels[0].emitters[0].at[0]", gone},
		{"channels[0].emitters[0].at[2]", asYAML + "[20 mm, 12 mm]"},
		{"channels[2]", gone},
		{"channels[3].emitters[0].at[1][0]", "30 mm"},
		{"board.holes[1].at[0]", gone},
		{"sensor.at[0]", "60 mm"},
		{"extras[0]", gone},
		{"extras[1]", gone},
	}
	body := map[string]any{"base": st.Hash, "changes": changes, "view": "board"}
	resp, data := send(t, ts, "POST", "/api/preview", body, nil)
	if resp.StatusCode != http.StatusOK {
		t.Fatalf("%s: %s", resp.Status, data)
	}
	v := read[struct {
		Emitters []struct {
			XPath string  `json:"x_path"`
			X     float64 `json:"x_m"`
		}
		Channels []struct {
			Key string `json:"current_path"`
		}
		Layout layoutView
	}](t, data)
	var got []string
	for _, e := range v.Emitters {
		got = append(got, strings.TrimSuffix(strings.TrimPrefix(e.XPath, "channels"), "[0]"))
	}
	want := "[0].emitters[0].at[1] [0].emitters[0].at[2] [1].emitters[0].at[0] [1].emitters[0].at[1] " +
		"[3].emitters[0].at[0] [3].emitters[0].at[1]"
	if strings.Join(got, " ") != want {
		t.Errorf("emitters at %v, want %s", got, want)
	}
	part, key, hole := v.Layout.Part, v.Channels[2].Key, v.Layout.Holes[1]
	if part != "ntc-100k" || key != "channels[3].current" || hole != "board.holes[1].at[1]" {
		t.Errorf("sensor %s, channel %s, hole %s", part, key, hole)
	}
	// The second red emitter by its path in the file, where its channel is the fourth.
	body = map[string]any{"base": st.Hash, "changes": changes, "emitters": []string{"channels[3].emitters[0].at[1]"}}
	resp, data = send(t, ts, "POST", "/api/board", body, nil)
	m := read[boardMap](t, data)
	if len(m.Rise) == 0 {
		t.Fatalf("%s: nothing is by the emitter: %.200s", resp.Status, data)
	}
	top := slices.Index(m.Rise, slices.Max(m.Rise))
	if x := m.Heat.X0M + float64(top%m.Heat.NX)*m.Heat.StepM; math.Abs(x-0.03) > m.Heat.StepM {
		t.Errorf("the emitter at 30 mm warms most at %g m", x)
	}
	resp, data = send(t, ts, "POST", "/api/save", map[string]any{"base": st.Hash, "changes": changes}, nil)
	if resp.StatusCode != http.StatusOK {
		t.Fatalf("%s: %s", resp.Status, data)
	}
	text := onDisk(t, dir)
	for _, want := range []string{
		"lens: lens-76             # a lens for packages of one die\n        at: [[50 mm, 0 mm], [20 mm, 12 mm]]",
		"at: [[-25 mm, 0 mm], [30 mm, 0 mm]]", "[128 mm, -14 mm]]}   # screws, M3", "at: [60 mm, -14 mm]",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the file lacks %q", want)
		}
	}
	if strings.Contains(text, "cyan") || strings.Contains(text, "[-128 mm, 14 mm]") ||
		strings.Contains(text, "extras") {
		t.Error("the file still has what was taken away")
	}
}

// TestBoardProblem: what is wrong with an emitter is told at its path in the file.
func TestBoardProblem(t *testing.T) {
	_, ts := serve(t, demo(t, "long-tank-first"))
	body := map[string]any{"base": state(t, ts).Hash, "changes": []change{
		{"channels[0].emitters[0].at[0]", gone}, {"channels[0].emitters[0].at[1][0]", "500 mm"},
	}}
	resp, data := send(t, ts, "POST", "/api/preview", body, nil)
	f := read[failure](t, data)
	if resp.StatusCode != http.StatusUnprocessableEntity || len(f.Problems) == 0 ||
		!strings.HasPrefix(f.Problems[0].At.Path, "channels[0].emitters[0].at[1]") {
		t.Errorf("%s: %s", resp.Status, data)
	}
}

// TestBoardCase asks for the map of each case, and adds up the parts that two emitters cause.
func TestBoardCase(t *testing.T) {
	s, ts := serve(t, demo(t, "long-tank-first"))
	settled(t, s)
	base := state(t, ts).Hash
	ask := func(c engine.CaseKey, emitters ...string) boardMap {
		t.Helper()
		body := map[string]any{"base": base, "case": c, "emitters": emitters}
		resp, data := send(t, ts, "POST", "/api/board", body, nil)
		if resp.StatusCode != http.StatusOK {
			t.Fatalf("%s: %s", resp.Status, data)
		}
		return read[boardMap](t, data)
	}
	cases := s.work.shown.result.Cases
	typical := ask("")
	if got := ask(engine.Typical); got.Heat.TempK[500] != typical.Heat.TempK[500] {
		t.Error("without a case, it is not the typical one")
	}
	last := typical.Heat
	for _, c := range cases[1:] {
		heat := ask(c.Key).Heat
		i := slices.Index(heat.TempK, slices.Max(heat.TempK))
		if heat.TempK[i] < last.TempK[i] && c.Key == engine.MaxAmbient {
			t.Errorf("%s: %g K at the hottest cell, typical %g K", c.Key, heat.TempK[i], last.TempK[i])
		}
		if hot := slices.Max(c.JunctionK); heat.TempK[i] >= hot || heat.TempK[i] <= c.AirK {
			t.Errorf("%s: maximum of the board %g K, junction %g K, air %g K", c.Key, heat.TempK[i], hot, c.AirK)
		}
	}
	one, other := ask("", "channels[0].emitters[0].at[0]"), ask("", "channels[1].emitters[0].at[1]")
	both := ask("", "channels[0].emitters[0].at[0]", "channels[1].emitters[0].at[1]")
	if len(one.Rise) != typical.Heat.NX*typical.Heat.NY {
		t.Fatalf("%d cells", len(one.Rise))
	}
	at := func(h figure.HeatMap, x float64) int {
		return int(math.Round((0-h.Y0M)/h.StepM))*h.NX + int(math.Round((x-h.X0M)/h.StepM))
	}
	if i, j := at(one.Heat, -0.05), at(one.Heat, 0.1); one.Rise[i] < 3*one.Rise[j] || other.Rise[j] < 3*other.Rise[i] {
		t.Errorf("rise %g K at the emitter, %g K elsewhere; %g K and %g K", one.Rise[i], one.Rise[j], other.Rise[j],
			other.Rise[i])
	}
	for k := range both.Rise {
		if d := both.Rise[k] - one.Rise[k] - other.Rise[k]; math.Abs(d) > 1e-3 {
			t.Fatalf("cell %d: both %g K, one by one %g K and %g K", k, both.Rise[k], one.Rise[k], other.Rise[k])
		}
	}
	wrong := map[string]any{"base": base, "case": "x"}
	if resp, _ := send(t, ts, "POST", "/api/board", wrong, nil); resp.StatusCode != http.StatusBadRequest {
		t.Errorf("an unknown case: %s", resp.Status)
	}
}

// roughCase is a move of one emitter: the map before it, the part that the emitter causes, and the solved map after it.
type roughCase struct {
	DX    float64        `json:"dx"`
	DY    float64        `json:"dy"`
	Grid  figure.HeatMap `json:"grid"`     // without temperatures
	BaseK float64        `json:"base_k"`   // subtracted from the maps
	Was   packedCells    `json:"before_k"` // 0 off the board
	Rise  packedCells    `json:"rise_k"`
	Now   packedCells    `json:"after_k"`
	X     []float64      `json:"x"` // of the emitters, before the move
	Y     []float64      `json:"y"`
	JuncK [2][]float64   `json:"junction_k"` // before and after
	Moved int            `json:"moved"`
}

// TestRoughCases writes the maps with which ui/test/boardheat.test.ts compares the rough map of a moved emitter.
func TestRoughCases(t *testing.T) {
	var list []roughCase
	for _, tt := range []struct {
		demo, emitter string
		index         int
		dx, dy        float64
	}{
		{"long-tank-first", "channels[0].emitters[0].at[1]", 1, 12e-3, 5e-3},
		{"long-tank-first", "channels[1].emitters[0].at[1]", 3, 18e-3, -6e-3},
		{"moss-jar-first", "channels[0].emitters[0].at[0]", 0, -3e-3, 2e-3},
	} {
		s, ts := serve(t, demo(t, tt.demo))
		settled(t, s)
		list = append(list, roughly(t, ts, tt.emitter, tt.index, tt.dx, tt.dy))
	}
	text, err := json.Marshal(list)
	if err != nil {
		t.Fatal(err)
	}
	const name = "ui/test/boardheat.json"
	if *update {
		if err := os.WriteFile(name, append(text, '\n'), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if data, err := os.ReadFile(name); err != nil || string(data) != string(text)+"\n" {
		t.Errorf("%s is not what this test makes (%v); run go generate ./internal/web", name, err)
	}
}

func roughly(t *testing.T, ts *httptest.Server, emitter string, index int, dx, dy float64) roughCase {
	t.Helper()
	ask := func(path string, changes []change, more map[string]any) []byte {
		t.Helper()
		body := map[string]any{"base": state(t, ts).Hash, "changes": changes}
		maps.Copy(body, more)
		resp, data := send(t, ts, "POST", path, body, nil)
		if resp.StatusCode != http.StatusOK {
			t.Fatalf("%s: %s: %.400s", path, resp.Status, data)
		}
		return data
	}
	type lampSeen struct {
		Emitters []struct {
			X float64 `json:"x_m"`
			Y float64 `json:"y_m"`
			K float64 `json:"junction_k"`
		}
	}
	was := read[lampSeen](t, ask("/api/preview", nil, map[string]any{"view": "board"}))
	c := roughCase{DX: dx, DY: dy, Moved: index}
	hundredth := func(k float64) float64 { return math.Round(100*k) / 100 }
	for _, e := range was.Emitters {
		c.X, c.Y, c.JuncK[0] = append(c.X, e.X), append(c.Y, e.Y), append(c.JuncK[0], hundredth(e.K))
	}
	before := read[boardMap](t, ask("/api/board", nil, map[string]any{"emitters": []string{emitter}}))
	moved := []change{
		{emitter + "[0]", project.Millimetres(c.X[index] + dx)},
		{emitter + "[1]", project.Millimetres(c.Y[index] + dy)},
	}
	after := read[boardMap](t, ask("/api/board", moved, nil)).Heat.TempK
	now := read[lampSeen](t, ask("/api/preview", moved, map[string]any{"view": "board"}))
	for _, e := range now.Emitters {
		c.JuncK[1] = append(c.JuncK[1], hundredth(e.K))
	}
	c.Grid, c.BaseK = before.Heat, math.Floor(before.Heat.TempK[slices.Index(before.Rise, slices.Max(before.Rise))]-60)
	over := func(temps []float64) packedCells {
		out := make([]float64, len(temps))
		for i, k := range temps {
			out[i] = hundredth(max(0, k-c.BaseK))
		}
		return packCells(out, c.Grid.NX)
	}
	c.Was, c.Now, c.Rise = over(before.Heat.TempK), over(after), packCells(before.Rise, c.Grid.NX)
	c.Rise.Max, c.Grid.TempK = hundredth(c.Rise.Max), nil
	return c
}
