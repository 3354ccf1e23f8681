package web

import (
	"encoding/json"
	"net/http"
	"testing"

	"github.com/google/go-cmp/cmp"

	"lampwright/internal/design"
)

// TestTrialTells puts together again what a trial leaves out: it is to be the lamp that an answer without a lamp to tell it
// against holds.
func TestTrialTells(t *testing.T) {
	s, ts := serve(t, demo(t, "planted-tank-first"))
	settled(t, s)
	st := state(t, ts)
	ask := func(view string, against int, c ...change) map[string]json.RawMessage {
		t.Helper()
		resp, data := send(t, ts, "POST", "/api/try", map[string]any{"base": st.Hash, "changes": c, "view": view, "against": against}, nil)
		if resp.StatusCode != http.StatusOK {
			t.Fatalf("%s: %s", resp.Status, data)
		}
		return read[map[string]json.RawMessage](t, data)
	}
	_, whole := send(t, ts, "GET", "/api/state", nil, nil)
	file := read[map[string]json.RawMessage](t, read[map[string]json.RawMessage](t, whole)["lamp"])
	number := read[int](t, file["number"])
	for view := range toldIn {
		c := change{"channels[1].current", "350 mA"}
		want, told := ask(view, 0, c), ask(view, number, c)
		if told["against"] == nil || want["against"] != nil {
			t.Fatalf("%s: a number that fits, or none, is not seen", view)
		}
		figures := read[map[string]figureNow](t, told["figures"])
		for _, f := range read[[]figureView](t, want["figures"]) {
			was := ""
			for _, g := range read[[]figureView](t, file["figures"]) {
				if g.Key == f.Key {
					was = g.Text
				}
			}
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
		if len(sections) != len(toldFor(view)) {
			t.Errorf("%s: told are %d sections, want %d", view, len(sections), len(toldFor(view)))
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
	if got := ask("figures", number); string(got["figures"]) != "{}" || len(read[[]string](t, got["same"])) != len(toldFor("figures")) {
		t.Errorf("without a change is told %v", got)
	}
	if got := ask("figures", number+1, change{"channels[1].current", "350 mA"}); got["against"] != nil {
		t.Error("a lamp that the page does not hold is told against")
	}
}

// TestWhy wants the derivation of a figure of the file, and of what is tried.
func TestWhy(t *testing.T) {
	s, ts := serve(t, demo(t, "planted-tank-first"))
	settled(t, s)
	st := state(t, ts)
	why := func(key string, c ...change) design.Basis {
		t.Helper()
		resp, data := send(t, ts, "POST", "/api/why", map[string]any{"base": st.Hash, "changes": c, "key": key}, nil)
		if resp.StatusCode != http.StatusOK {
			t.Fatalf("%s: %s", resp.Status, data)
		}
		return read[design.Basis](t, data)
	}
	file, tried := why("warm.power"), why("warm.power", change{"channels[1].current", "350 mA"})
	if file.Formula == "" || file.Formula != tried.Formula || file.Numbers == tried.Numbers {
		t.Errorf("of the file %+v, tried %+v: want one formula with other numbers", file, tried)
	}
	for _, tt := range []struct {
		base, key string
		status    int
	}{{st.Hash, "no.such", http.StatusNotFound}, {"other", "warm.power", http.StatusConflict}} {
		if resp, data := send(t, ts, "POST", "/api/why", map[string]any{"base": tt.base, "key": tt.key}, nil); resp.StatusCode != tt.status {
			t.Errorf("%+v: %s %s", tt, resp.Status, data)
		}
	}
}
