package web

import (
	"bytes"
	"context"
	"encoding/json"
	"net/http"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/partslib"
	"lampwright/internal/project"
	"lampwright/internal/review"
)

// TestPreviewDiff puts together again what a trial leaves out: it is to be the lamp that an answer without a lamp to
// tell it against holds.
func TestPreviewDiff(t *testing.T) {
	s, ts := serve(t, demo(t, "long-tank-first")) // a finding of it depends on P90
	settled(t, s)
	st := state(t, ts)
	ask := func(view string, against int, c ...change) map[string]json.RawMessage {
		t.Helper()
		resp, data := send(t, ts, "POST", "/api/preview", map[string]any{
			"base": st.Hash, "changes": c, "view": view,
			"against": against,
		}, nil)
		if resp.StatusCode != http.StatusOK {
			t.Fatalf("%s: %s", resp.Status, data)
		}
		return read[map[string]json.RawMessage](t, data)
	}
	_, whole := send(t, ts, "GET", "/api/state", nil, nil)
	file := read[map[string]json.RawMessage](t, read[map[string]json.RawMessage](t, whole)["lamp"])
	number := read[int](t, file["number"])
	texts := map[string]string{} // of the figures of the file
	for _, f := range read[[]figureView](t, file["figures"]) {
		texts[f.Key] = f.Text
	}
	for _, view := range ViewKeys() {
		c := change{"channels[1].current", "350 mA"}
		want, told := ask(view, 0, c), ask(view, number, c)
		if told["against"] == nil || want["against"] != nil {
			t.Fatalf("%s: a number that fits, or none, is not seen", view)
		}
		figures := read[map[string]figureNow](t, told["figures"])
		for _, f := range read[[]figureView](t, want["figures"]) {
			was := texts[f.Key]
			if now, ok := figures[f.Key]; ok {
				was = now.Text
			}
			if was != f.Text {
				t.Errorf("%s: %s is told as %q, want %q", view, f.Key, was, f.Text)
			}
		}
		sections := read[map[string]json.RawMessage](t, told["sections"])
		for _, name := range read[[]string](t, told["same"]) {
			sections[name] = file[name]
		}
		if len(sections) != len(sectionsOf(view)) {
			t.Errorf("%s: told are %d sections, want %d", view, len(sections), len(sectionsOf(view)))
		}
		for name, got := range sections {
			var items []json.RawMessage
			if json.Unmarshal(got, &items) == nil {
				there := read[[]json.RawMessage](t, file[name])
				for i, item := range items {
					var at int
					if json.Unmarshal(item, &at) == nil {
						items[i] = there[at]
					}
				}
				got, _ = json.Marshal(items)
			}
			if d := cmp.Diff(read[any](t, want[name]), read[any](t, got)); d != "" {
				t.Errorf("%s: %s (−want +told):\n%s", view, name, d)
			}
		}
	}
	// Findings that only P10 or P90 causes are in the preview too.
	if got := ask("figures", number); string(got["figures"]) != "{}" ||
		len(read[[]string](t, got["same"])) != len(sectionsOf("figures")) {
		t.Errorf("without a change is told %v", got)
	}
	if got := ask("figures", number+1, change{"channels[1].current", "350 mA"}); got["against"] != nil {
		t.Error("a lamp that the page does not hold is told against")
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
				cmp.Diff(read[any](t, want), read[any](t, got[i])))
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
		if d := cmp.Diff(want, got); d != "" || want["warn"] == 0 {
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
	around := ask("/api/room-surfaces", map[string]any{}, 200)
	again := ask("/api/room-surfaces", map[string]any{}, 200)
	if d := cmp.Diff(around, again); d != "" || len(around["faces"].([]any)) != 5 {
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
