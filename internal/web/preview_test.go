package web

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"net/http"
	"slices"
	"strings"
	"sync"
	"testing"

	gocmp "github.com/google/go-cmp/cmp"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/partslib"
	"lampwright/internal/project"
	"lampwright/internal/review"
)

// merged applies the differences of a preview to the sections and figures of the file's lamp, as ui/src/merge.ts does.
func merged(t *testing.T, file map[string]json.RawMessage, d previewDiff) map[string]any {
	t.Helper()
	out := map[string]any{}
	for _, name := range d.Same {
		out[name] = read[any](t, file[name])
	}
	patched := func(item any, p []any) any {
		fields := maps.Clone(item.(map[string]any))
		for key, v := range p[1].(map[string]any) {
			if m, ok := v.(map[string]any); ok && m["cells"] != nil {
				v = packedCells{int(m["nx"].(float64)), m["max"].(float64), m["cells"].(string)}
			}
			fields[key] = v
		}
		for _, key := range p[2].([]any) {
			delete(fields, key.(string))
		}
		return fields
	}
	for name, data := range d.Sections {
		was, diff := read[any](t, file[name]), read[[]any](t, data)
		list, many := was.([]any)
		if !many {
			out[name] = patched(was, diff)
			continue
		}
		for i, x := range diff {
			switch x := x.(type) {
			case float64:
				diff[i] = list[int(x)]
			case []any:
				diff[i] = patched(list[int(x[0].(float64))], x)
			}
		}
		out[name] = diff
	}
	figures := read[[]figureView](t, file["figures"])
	for k, at := range d.Figures.At {
		figures[at].Text, figures[at].Value = d.Figures.Text[k], d.Figures.Value[k]
	}
	texts := map[string]any{}
	for _, f := range append(figures, d.Added...) {
		if !slices.Contains(d.Gone, f.Key) {
			texts[f.Key] = fmt.Sprint(f.Title, f.Kind, f.Text, f.Value)
		}
	}
	out["figures"] = texts
	return out
}

// whole returns the sections and figures of an answer that is no difference, for comparison with merged.
func whole(t *testing.T, lamp map[string]json.RawMessage, view string) map[string]any {
	t.Helper()
	out, texts := map[string]any{}, map[string]any{}
	for _, name := range sectionsOf(view) {
		out[name] = read[any](t, lamp[name])
	}
	for _, f := range read[[]figureView](t, lamp["figures"]) {
		texts[f.Key] = fmt.Sprint(f.Title, f.Kind, f.Text, f.Value)
	}
	out["figures"] = texts
	return out
}

// equalCells compares the packed cells of a map, which are steps of a 1023rd of the maximum, with the cells.
func equalCells(p packedCells, cells []any) bool {
	got := unpackCells(p)
	if len(got) != len(cells) {
		return false
	}
	for i, v := range cells {
		// Rounded to a step; cells and maximum are rounded to five digits.
		if math.Abs(got[i]-v.(float64)) > p.Max*(0.5/cellSteps+1e-5) {
			return false
		}
	}
	return true
}

// byCells lets cmp compare packed cells with cells.
var byCells = gocmp.FilterValues(func(a, b any) bool {
	_, p := a.(packedCells)
	_, q := b.(packedCells)
	return p != q
}, gocmp.Comparer(func(a, b any) bool {
	if p, ok := a.(packedCells); ok {
		cells, list := b.([]any)
		return list && equalCells(p, cells)
	}
	cells, list := a.([]any)
	return list && equalCells(b.(packedCells), cells)
}))

// TestPreviewDiff applies the differences that previews are sent as to the lamp of the file, for random values: the
// result is the lamp that an answer without differences holds.
func TestPreviewDiff(t *testing.T) {
	for _, name := range []string{"long-tank-first", "moss-jar-first"} { // findings of the first depend on P90
		t.Run(name, func(t *testing.T) { testPreviewDiff(t, name) })
	}
}

// someParts are parts of some kinds that fit any lamp.
var someParts = map[string][]string{
	"driver": {"buck-700ma", "buck-1a", "buck-3a"}, "supply": {"supply-12v-60w", "supply-24v-100w"},
	"fan": {"fan-60", "fan-92"}, "sink": {"bar-280", "fins-100"},
	"thermal interface": {"tim-paste-3w", "tim-tape-adhesive"},
}

func testPreviewDiff(t *testing.T, name string) {
	s, ts := serve(t, demo(t, name))
	settled(t, s)
	st := state(t, ts)
	ask := func(view string, against int, c []change) []byte {
		t.Helper()
		resp, data := send(t, ts, "POST", "/api/preview", map[string]any{
			"base": st.Hash, "changes": c, "view": view, "against": against,
		}, nil)
		if resp.StatusCode != http.StatusOK && resp.StatusCode != http.StatusUnprocessableEntity {
			t.Fatalf("%v: %s: %s", c, resp.Status, data)
		}
		return data
	}
	_, data := send(t, ts, "GET", "/api/state", nil, nil)
	file := read[map[string]json.RawMessage](t, read[map[string]json.RawMessage](t, data)["lamp"])
	number := read[int](t, file["number"])
	random, compared, draws := rand.New(rand.NewPCG(1, 2)), 0, 24
	knobs := st.Lamp.Knobs
	for i := range knobs {
		for _, id := range someParts[knobs[i].Kind] {
			knobs[i].Choices = append(knobs[i].Choices, option{Value: id})
		}
	}
	knobs = slices.DeleteFunc(knobs, func(k knob) bool { return k.Kind != "" && k.Choices == nil })
	if testing.Short() { // nothing that needs another field of light or heat
		draws = 12
		knobs = slices.DeleteFunc(knobs, func(k knob) bool { return !strings.HasPrefix(k.Path, "channels") || k.Choices != nil })
	}
	for range draws {
		view := ViewKeys()[random.IntN(len(ViewKeys()))]
		c := randomChanges(random, knobs)
		full := read[map[string]json.RawMessage](t, ask(view, 0, c))
		told := read[previewDiff](t, ask(view, number, c))
		if full["figures"] == nil {
			continue // impossible together
		}
		compared++
		if told.Against != number || full["against"] != nil {
			t.Fatalf("%s: a number that fits, or none, is not seen", view)
		}
		if d := gocmp.Diff(whole(t, full, view), merged(t, file, told), byCells); d != "" {
			t.Errorf("%s, %v (−want +told):\n%s", view, c, d)
		}
	}
	if compared < draws/2 {
		t.Errorf("only %d changes can be computed", compared)
	}
	// Findings that only P10 or P90 causes are in the preview too.
	if got := read[previewDiff](t, ask("figures", number, nil)); len(got.Figures.At)+len(got.Sections) > 0 ||
		len(got.Same) != len(sectionsOf("figures")) {
		t.Errorf("without a change is told %v", got)
	}
	if got := read[map[string]json.RawMessage](t, ask("figures", number+1, nil)); got["against"] != nil {
		t.Error("a lamp that the page does not hold is told against")
	}
}

// randomChanges moves up to three of the what-if values.
func randomChanges(random *rand.Rand, knobs []knob) (out []change) {
	for range 1 + random.IntN(3) {
		k := knobs[random.IntN(len(knobs))]
		text := fmt.Sprintf("%.4g %s", k.Min+(k.Max-k.Min)*random.Float64(), k.Unit)
		if n := len(k.Choices); n > 0 {
			text = k.Choices[random.IntN(n)].Value
		}
		if !slices.ContainsFunc(out, func(c change) bool { return c.Path == k.Path }) {
			out = append(out, change{k.Path, text})
		}
	}
	return out
}

// TestPictures asks for the pictures of each view: the state has none of them, and those of another lamp are refused.
func TestPictures(t *testing.T) {
	s, ts := serve(t, demo(t, "long-tank-first"))
	settled(t, s)
	_, data := send(t, ts, "GET", "/api/state", nil, nil)
	lamp := read[map[string]json.RawMessage](t, read[map[string]json.RawMessage](t, data)["lamp"])
	number := read[int](t, lamp["number"])
	if lamp["pictures"] != nil {
		t.Error("the state has pictures")
	}
	all := map[string]bool{}
	for _, v := range views {
		resp, data := send(t, ts, "GET", fmt.Sprintf("/api/pictures?lamp=%d&view=%s", number, v.Key), nil, nil)
		got := read[picturesView](t, data).Pictures
		if resp.StatusCode != http.StatusOK || (len(got) > 0) != (len(v.Pictures) > 0) {
			t.Errorf("%s: %s with %d pictures", v.Key, resp.Status, len(got))
		}
		for name, svg := range got {
			all[name] = true
			if !slices.ContainsFunc(v.Pictures, func(begin string) bool { return strings.HasPrefix(name, begin) }) ||
				!strings.HasPrefix(svg, "<svg") {
				t.Errorf("%s: %s is %.20q", v.Key, name, svg)
			}
		}
	}
	for name := range s.work.shown.view.Pictures {
		if !all[name] && name != "board" { // the page draws the board itself
			t.Errorf("no view asks for %s", name)
		}
	}
	if resp, _ := send(t, ts, "GET", fmt.Sprintf("/api/pictures?lamp=%d&view=light", number-1), nil,
		nil); resp.StatusCode != http.StatusNotFound {
		t.Errorf("of another lamp: %s", resp.Status)
	}
}

// TestPreviewIsFresh: what a trial answers out of all that is remembered, with three pages asking at once, is to the
// last byte what the same text gives to a program that remembers nothing.
func TestPreviewIsFresh(t *testing.T) {
	slow(t)
	dir := demo(t, "long-tank-first")
	s, ts := serve(t, dir)
	settled(t, s)
	st := state(t, ts)
	tries := []change{
		{"channels[0].current", "900 mA"},
		{"channels[2].level", "40 %"},
		{"fan.speed", "35 %"},
		{"installation.hanging_height", "215 mm"},
		{"channels[0].emitters[0].lens", "lens-70-large"},
		{"channels[0].current", "2.2 A"},
	}
	var pages sync.WaitGroup
	got := make([][]byte, len(tries))
	for page := range 3 {
		pages.Go(func() {
			for i := page; i < len(tries); i += 3 {
				resp, data := send(t, ts, "POST", "/api/preview", map[string]any{"base": st.Hash, "changes": tries[i : i+1]}, nil)
				if got[i] = data; resp.StatusCode != http.StatusOK {
					t.Errorf("%v: %s: %s", tries[i], resp.Status, data)
				}
			}
		})
	}
	pages.Wait()
	own, problems := project.LoadText("lamp.yaml", []byte(onDisk(t, dir)), nil, partslib.Files())
	if own == nil {
		t.Fatal(problems)
	}
	file, err := figure.Evaluate(t.Context(), own, engine.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i, c := range tries {
		text, err := new(fileMemory).splice("lamp.yaml", []byte(onDisk(t, dir)), nil, []change{c})
		if err != nil {
			t.Fatal(err)
		}
		p, problems := project.LoadText("lamp.yaml", text["lamp.yaml"], nil, partslib.Files())
		if p == nil {
			t.Fatal(problems)
		}
		r, err := figure.Evaluate(t.Context(), p, engine.Options{Samples: -1, Preview: true})
		if err != nil {
			t.Fatal(err)
		}
		r.BorrowRanges(file)
		want, err := json.Marshal(newLampView(r, review.Review(context.Background(), r), false))
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(want, got[i]) {
			t.Errorf("%v: another answer than that of a program that remembers nothing:\n%s", c,
				gocmp.Diff(read[any](t, want), read[any](t, got[i])))
		}
	}
}

// TestPreviewCounts: without a change a preview counts as the review of the file, of lamps with findings that only P10 or
// P90 causes.
func TestPreviewCounts(t *testing.T) {
	slow(t)
	for _, name := range []string{"long-tank-first", "moss-jar-first", "propagation-bench-first"} {
		s, ts := serve(t, demo(t, name))
		settled(t, s)
		st := state(t, ts)
		_, data := send(t, ts, "POST", "/api/preview", map[string]any{"base": st.Hash}, nil)
		_, whole := send(t, ts, "GET", "/api/state", nil, nil)
		type counted struct{ Counts map[string]int }
		want, got := read[struct{ Lamp counted }](t, whole).Lamp.Counts, read[counted](t, data).Counts
		if d := gocmp.Diff(want, got); d != "" || want["warn"] == 0 {
			t.Errorf("%s (−review +preview):\n%s", name, d)
		}
	}
}

// TestWhy wants the derivation of a figure of the file, and of what is tried.
func TestWhy(t *testing.T) {
	s, ts := serve(t, demo(t, "long-tank-first"))
	settled(t, s)
	st := state(t, ts)
	why := func(key string, c ...change) figure.Basis {
		t.Helper()
		resp, data := send(t, ts, "POST", "/api/why", map[string]any{"base": st.Hash, "changes": c, "key": key}, nil)
		if resp.StatusCode != http.StatusOK {
			t.Fatalf("%s: %s", resp.Status, data)
		}
		return read[figure.Basis](t, data)
	}
	file, tried := why("neutral.power"), why("neutral.power", change{"channels[1].current", "350 mA"})
	if file.Formula == "" || file.Formula != tried.Formula || file.Numbers == tried.Numbers {
		t.Errorf("of the file %+v, tried %+v: want one formula with other numbers", file, tried)
	}
	for _, tt := range []struct {
		base, key string
		status    int
	}{{st.Hash, "no.such", http.StatusBadRequest}, {"other", "neutral.power", http.StatusConflict}} {
		if resp, data := send(t, ts, "POST", "/api/why", map[string]any{"base": tt.base, "key": tt.key},
			nil); resp.StatusCode != tt.status {
			t.Errorf("%+v: %s %s", tt, resp.Status, data)
		}
	}
}

// TestCutsAndAround wants planes through the place and the light about it, of the file and of what is tried.
func TestCutsAndAround(t *testing.T) {
	slow(t)
	s, ts := serve(t, demo(t, "long-tank-first"))
	settled(t, s)
	st := state(t, ts)
	dim := []change{{"channels[0].current", "400 mA"}}
	ask := func(path string, body map[string]any, status int) map[string]any {
		t.Helper()
		body["base"] = st.Hash
		resp, data := send(t, ts, "POST", path, body, nil)
		if resp.StatusCode != status {
			t.Fatalf("%v: %s, want %d: %.200s", body, resp.Status, status, data)
		}
		return read[map[string]any](t, data)
	}
	cut := func(kind string, at float64) map[string]any { return map[string]any{"kind": kind, "at_m": at} }
	bright := func(v map[string]any) (sum float64) {
		for _, x := range v["lux"].([]any) {
			sum += x.(float64)
		}
		return sum
	}
	for _, c := range []map[string]any{cut("level", 0.2), cut("level", 0.34), cut("along", 0), cut("across", 0.1)} {
		file, tried := ask("/api/cut", map[string]any{"cut": c}, 200), ask("/api/cut",
			map[string]any{"cut": c, "changes": dim}, 200)
		if bright(file) <= bright(tried) || file["max_m"].(float64) <= file["min_m"].(float64) {
			t.Errorf("%v: dimmed %g, of the file %g", c, bright(tried), bright(file))
		}
	}
	ask("/api/cut", map[string]any{"cut": cut("level", 3)}, 400)
	ask("/api/cut", map[string]any{"cut": cut("slanted", 0)}, 400)
	if got := ask("/api/cut", map[string]any{"cut": cut("level", 3), "clamp": true}, 200); got["at_m"] != got["max_m"] {
		t.Errorf("a level beyond the rim lies at %v, want the rim at %v", got["at_m"], got["max_m"])
	}
	for _, c := range []map[string]any{cut("target", 0), cut("level", 0.2)} {
		sum, part := 0.0, ask("/api/channel-light", map[string]any{"cut": c, "changes": dim}, 200)["channels"].([]any)
		for _, ch := range part {
			sum += bright(ch.(map[string]any))
		}
		if c["kind"] == "target" {
			if len(part) < 2 {
				t.Errorf("%d channels have light, want those of the demo", len(part))
			}
			continue
		}
		// Cells are rounded to five digits.
		if want := bright(ask("/api/cut", map[string]any{"cut": c, "changes": dim}, 200)); math.Abs(sum-want) > 1e-4*want {
			t.Errorf("the channels add up to %g lx in all cells, want %g", sum, want)
		}
	}
	ask("/api/channel-light", map[string]any{"cut": cut("slanted", 0)}, 400)
	levels := ask("/api/levels", map[string]any{"changes": dim}, 200)["levels"].([]any)
	for i := 1; i < len(levels); i++ {
		above, below := levels[i-1].(map[string]any), levels[i].(map[string]any)
		if below["at_m"].(float64) >= above["at_m"].(float64) {
			t.Errorf("level %d lies at %v, not below %v", i, below["at_m"], above["at_m"])
		}
	}
	if len(levels) != levelCount {
		t.Errorf("%d levels, want %d", len(levels), levelCount)
	}
	around := ask("/api/room-surfaces", map[string]any{}, 200)
	again := ask("/api/room-surfaces", map[string]any{}, 200)
	if d := gocmp.Diff(around, again); d != "" || len(around["faces"].([]any)) != 5 {
		t.Errorf("asked again it is another:\n%s", d)
	}
	dimmed := ask("/api/room-surfaces", map[string]any{"changes": dim}, 200)
	of := func(v map[string]any) float64 { return bright(v["faces"].([]any)[0].(map[string]any)) }
	if of(dimmed) >= of(around) {
		t.Errorf("dimmed the floor has %g, of the file %g", of(dimmed), of(around))
	}
}

// TestSuggestedEdits takes every change that a finding offers at its word: once it is tried, the check passes, and
// nothing else stops.
func TestSuggestedEdits(t *testing.T) {
	slow(t)
	for name, offered := range map[string]map[string]int{
		"long-tank-first": {"die-current": 1}, "moss-jar-first": {"ppfd": 2, "dli": 1},
	} {
		t.Run(name, func(t *testing.T) { testSuggestedEdits(t, name, offered) })
	}
}

func testSuggestedEdits(t *testing.T, name string, offered map[string]int) {
	s, ts := serve(t, demo(t, name))
	settled(t, s)
	st := state(t, ts)
	_, data := send(t, ts, "GET", "/api/state", nil, nil)
	type seen struct {
		Findings []finding.Finding
	}
	tried, stops := map[string]int{}, map[string]bool{}
	list := read[struct{ Lamp seen }](t, data).Lamp.Findings
	for _, f := range list {
		if f.Severity == finding.Stop {
			stops[f.Check+f.Subject] = true
		}
	}
	for _, f := range list {
		for _, offer := range f.Edits {
			var changes []change
			for _, x := range offer.Settings {
				changes = append(changes, change(x))
			}
			resp, data := send(t, ts, "POST", "/api/preview", map[string]any{
				"base": st.Hash, "changes": changes,
				"full": true,
			}, nil)
			if resp.StatusCode != 200 {
				t.Fatalf("%s: %s", offer.Label, data)
			}
			tried[f.Check]++
			for _, g := range read[seen](t, data).Findings {
				if g.Severity == finding.Stop && !stops[g.Check+g.Subject] {
					t.Errorf("%q: tried, and stops: %s", offer.Label, g.Title)
				}
				if g.Check == f.Check && g.Subject == f.Subject && g.Figure == f.Figure && g.Severity <= finding.Warn {
					t.Errorf("%q: tried, and yet: %s", offer.Label, g.Title)
				}
			}
		}
	}
	for check, n := range offered {
		if tried[check] != n {
			t.Errorf("%d changes are offered for %s, want %d", tried[check], check, n)
		}
	}
}
