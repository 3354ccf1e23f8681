package web

import (
	"fmt"
	"io/fs"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"lampwright/internal/partslib"
	"lampwright/internal/project"
	"lampwright/internal/source"
)

// TestDiffers names every value in which a version differs: of the design, with what is tried, and of own parts that
// both name.
func TestDiffers(t *testing.T) {
	dir := demo(t, "long-tank-first")
	text := onDisk(t, dir)
	put := func(name, text string) {
		t.Helper()
		name = filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	swap := strings.NewReplacer("hanging_height: 200 mm", "hanging_height: 25 cm", "current: 780 mA", "current: 0.78 A",
		"    current: 350 mA\n", "", "[62 mm, -14 mm]", "[62 mm, -13 mm]")
	put("second/lamp.yaml", swap.Replace(text))
	cyan, err := libraryText(partslib.Files(), "emitters", "cyan-498")
	if err != nil {
		t.Fatal(err)
	}
	put("second/parts/own.yaml", string(cyan))
	s, ts := serve(t, dir, func(o *Options) {
		o.Templates = []Template{{Key: "first", Title: "First", Files: map[string][]byte{project.DesignFile: []byte(text)}}}
	})
	ask := func(id string, changes ...change) (out []string) {
		t.Helper()
		resp, data := send(t, ts, "POST", "/api/differences",
			map[string]any{"base": state(t, ts).Hash, "changes": changes, "id": id}, nil)
		if resp.StatusCode != http.StatusOK {
			t.Fatalf("%s: %s: %.300s", id, resp.Status, data)
		}
		for _, d := range read[[]difference](t, data) {
			if resp, _ := send(t, ts, "GET", "/api/file?name="+url.QueryEscape(d.File), nil, nil); d.InB &&
				(d.Line == 0 || resp.StatusCode != http.StatusOK) {
				t.Errorf("%s has no line: %s", d.said(), d.File)
			}
			out = append(out, d.said())
		}
		return out
	}
	want := []string{
		"installation, hanging height: 25 cm → 200 mm", "channel red, current: not stated → 350 mA",
		"sensor, at: [62 mm, -13 mm] → [62 mm, -14 mm]",
	}
	// The copy has the values of the built-in part, so that nothing of it differs.
	if d := cmp.Diff(want, ask("here/second/lamp.yaml")); d != "" {
		t.Errorf("(−want +got):\n%s", d)
	}
	if d := cmp.Diff(want[1:], ask("here/second/lamp.yaml", change{"installation.hanging_height", "0.25 m"})); d != "" {
		t.Errorf("with a value that is tried (−want +got):\n%s", d)
	}
	put("second/parts/own.yaml", strings.Replace(string(cyan), "max_forward_current: 0.8 A",
		"max_forward_current: 0.4 A", 1))
	if got := ask("here/second/lamp.yaml"); len(got) != 4 ||
		got[3] != "built-in part in place of the other's own cyan-498, max forward current: 0.4 A → 0.8 A" {
		t.Errorf("with a part of its own differ %q", got)
	}
	if got := ask("demo/first"); len(got) != 0 {
		t.Errorf("from itself differs %q", got)
	}
	// A part of this project against the built-in one of the demo.
	put("parts/own.yaml", strings.Replace(string(cyan), "max_forward_current: 0.8 A", "max_forward_current: 0.6 A", 1))
	if got := ask("demo/first"); len(got) != 1 ||
		got[0] != "own part in place of the built-in cyan-498, max forward current: 0.8 A → 0.6 A" {
		t.Errorf("with an own part differ %q", got)
	}
	if got := ask("here/second/lamp.yaml", change{
		"parts/own.yaml#emitters[0].max_forward_current",
		"900 mA",
	}); len(got) != 4 || got[3] != "own part cyan-498, max forward current: 0.4 A → 900 mA" {
		t.Errorf("of two own parts differ %q", got)
	}
	for name, body := range map[string]any{
		"no such version": map[string]any{"base": state(t, ts).Hash, "id": "here/third.yaml"},
		"an old base":     map[string]any{"base": "x", "id": "demo/first"},
	} {
		if resp, data := send(t, ts, "POST", "/api/differences", body, nil); resp.StatusCode == http.StatusOK {
			t.Errorf("%s: %.200s", name, data)
		}
	}
	// A snapshot says in what it differs.
	resp, data := send(t, ts, "POST", "/api/save", map[string]any{
		"base": state(t, ts).Hash,
		"changes": []change{
			{"installation.hanging_height", "190 mm"},
			{"channels[0].current", "1 A"},
			{"board.thickness", "1 mm"},
		},
	}, nil)
	if resp.StatusCode != http.StatusOK {
		t.Fatalf("%s: %s", resp.Status, data)
	}
	for range 2 { // the second time from what was read
		_, data = send(t, ts, "GET", "/api/versions", nil, nil)
		list := read[[]version](t, data)
		if v := list[0]; v.Kind != "snapshot" || v.Differs == nil || *v.Differs != 3 ||
			fmt.Sprint(v.First) != "[installation, hanging height: 200 mm → 190 mm board, thickness: 1.6 mm → 1 mm]" {
			t.Errorf("the snapshot is told as %+v, %v", v, v.First)
		}
		if v := list[len(list)-1]; v.Differs != nil {
			t.Errorf("of %s differences are told", v.ID)
		}
	}
	s.Close()
}

// TestNamed finds every part that the demos name, each among its kind: no place where a design names one is left out.
func TestNamed(t *testing.T) {
	all := partsOf(partslib.Files())
	for _, name := range []string{"long-tank-first", "long-tank", "propagation-bench"} {
		text := onDisk(t, demo(t, name))
		f, problems := source.Read("lamp.yaml", []byte(text))
		if len(problems) > 0 {
			t.Fatal(problems)
		}
		count := 0
		at := map[string]bool{}
		for key, paths := range named(f) {
			if _, ok := all[key]; !ok {
				t.Errorf("%s: %s is no part", name, key)
			}
			count += len(paths)
			for _, p := range paths {
				at[p] = true
			}
		}
		ids := map[string]bool{}
		for key := range all {
			_, id, _ := strings.Cut(key, " ")
			ids[id] = true
		}
		for _, l := range f.Leaves("") {
			if ids[l.Text] && !at[l.Path] {
				t.Errorf("%s: %s says %s, which is no place known to name a part", name, l.Path, l.Text)
			}
		}
		if count < 10 {
			t.Errorf("%s names only %d parts", name, count)
		}
	}
	if got := partsOf(nil); len(got) != 0 {
		t.Errorf("no folder has parts: %v", got)
	}
	var none fs.FS = os.DirFS(t.TempDir())
	if got := partsOf(none); len(got) != 0 {
		t.Errorf("an empty folder has parts: %v", got)
	}
}
