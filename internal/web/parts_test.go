package web

import (
	gocmp "cmp"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"lampwright/internal/partslib"
	"lampwright/internal/project"
	"lampwright/internal/source"
)

const ownParts = `# My own parts.
fictitious: true   # made up

emitters: []
lenses:
  - id: my-lens          # on all whites
    fits: [3535, "5050"]
    beam_angle: 60 deg   # page 2
    efficiency: {value: 88 %, source: "page 3"}
    diameter: 12 mm
    intensity_vs_angle: {0 deg: 100 %, 30 deg: 50 %, 60 deg: 0 %}
`

// withParts is a demo with a file of own parts.
func withParts(t testing.TB) string {
	t.Helper()
	dir := demo(t, "long-tank-first")
	if err := os.MkdirAll(filepath.Join(dir, "parts"), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "parts", "own.yaml"), []byte(ownParts), 0o644); err != nil {
		t.Fatal(err)
	}
	return dir
}

func partsOnDisk(t testing.TB, dir, name string) string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(dir, "parts", name))
	if errors.Is(err, fs.ErrNotExist) {
		return "(none)"
	}
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// TestParts changes a part's value: that value alone changes in its file, with a snapshot, undo and redo.
func TestParts(t *testing.T) {
	dir := withParts(t)
	s, ts := serve(t, dir)
	before := onDisk(t, dir)
	st := state(t, ts)
	if len(st.Problems) > 0 {
		t.Fatal(st.Problems)
	}
	_, data := send(t, ts, "GET", "/api/parts", nil, nil)
	v := read[partsView](t, data)
	if len(v.Own) != 1 || v.Own[0].ID != "my-lens" || v.Own[0].Path != "lenses[0]" || !v.Own[0].Fictitious ||
		v.Own[0].Line != 6 || len(v.Kinds) != 12 || v.Hash != st.Hash {
		t.Fatalf("the parts are %+v of %d kinds", v.Own, len(v.Kinds))
	}
	// Every value can be changed at its path, and stays what it is.
	for _, l := range v.Own[0].Values {
		path := "parts/own.yaml#lenses[0]" + join(l.Path)
		got, err := new(fileMemory).splice("lamp.yaml", []byte(before),
			map[string][]byte{"parts/own.yaml": []byte(ownParts)}, []change{{path, l.Text}})
		if err != nil || string(got["parts/own.yaml"]) != ownParts {
			t.Errorf("%s set to what it is: %v\n%s", path, err, cmp.Diff(ownParts, string(got["parts/own.yaml"])))
		}
	}
	hash := st.Hash
	post := func(path string, body map[string]any, status int) []byte {
		t.Helper()
		body["base"] = hash
		resp, data := send(t, ts, "POST", path, body, nil)
		if resp.StatusCode != status {
			t.Fatalf("%s: %s: %.400s", path, resp.Status, data)
		}
		if status == 200 && path != "/api/preview" {
			hash = read[stateSeen](t, data).Hash
		}
		return data
	}
	const field = "parts/own.yaml#lenses[0]."
	for _, tt := range []struct{ path, text, say, at string }{
		{"beam_angle", "60 mm", "is a length", "lenses[0].beam_angle"},
		{"beam_angle", "-60 deg", "out of range", "lenses[0].beam_angle"},
		{"beam_angle", "", "beam_angle", "lenses[0].beam_angle"},
		{"efficiency", "188 %", "out of range", "lenses[0].efficiency"},
		{"intensity_vs_angle[30 deg]", "1e999 %", "intensity_vs_angle", "lenses[0].intensity_vs_angle[30 deg]"},
		{"nonsense", "3 mm", "is not a key", "lenses[0].nonsense"},
		{"diameter", "1e999 mm", "diameter", "lenses[0].diameter"},
		{"diameter", "12\nmm", "diameter", "lenses[0].diameter"},
	} {
		for _, path := range []string{"/api/preview", "/api/save"} {
			resp, data := send(t, ts, "POST", path, map[string]any{
				"base":    hash,
				"changes": []change{{field + tt.path, tt.text}},
			}, nil)
			f := read[failure](t, data)
			if resp.StatusCode != http.StatusUnprocessableEntity || len(f.Problems) == 0 ||
				!strings.Contains(f.Problems[0].Msg, tt.say) || f.Problems[0].At.File != "parts/own.yaml" ||
				f.Problems[0].At.Path != tt.at || f.Problems[0].At.Line == 0 {
				t.Errorf("%s: %s = %q: %s: %+v", path, tt.path, tt.text, resp.Status, f)
			}
		}
	}
	if partsOnDisk(t, dir, "own.yaml") != ownParts || state(t, ts).Hash != hash {
		t.Fatal("a wrong value was written")
	}
	post("/api/preview", map[string]any{"changes": []change{{field + "beam_angle", "55 deg"}}}, 200)
	if partsOnDisk(t, dir, "own.yaml") != ownParts {
		t.Fatal("trying wrote the file")
	}
	// A part and the design in one step.
	post("/api/save", map[string]any{"changes": []change{
		{field + "efficiency", "90 %"},
		{field + "price", "1.20 EUR"},
		{"channels[1].current", "350 mA"},
	}}, 200)
	want := strings.Replace(ownParts, "value: 88 %", "value: 90 %", 1)
	want = strings.TrimSuffix(want, "\n") + "\n    price: 1.20 EUR\n"
	if d := cmp.Diff(want, partsOnDisk(t, dir, "own.yaml")); d != "" {
		t.Errorf("the file of parts:\n%s", d)
	}
	changed := strings.Replace(before, "current: 780 mA  ", "current: 350 mA  ", 1)
	if d := cmp.Diff(changed, onDisk(t, dir)); d != "" {
		t.Errorf("the design:\n%s", d)
	}
	if n := len(s.work.snapshotsIn(snapshotDir + "/parts")); n != 1 || len(s.work.snapshotNames()) != 1 {
		t.Errorf("%d snapshots of parts, want 1", n)
	}
	post("/api/undo", map[string]any{}, 200)
	if partsOnDisk(t, dir, "own.yaml") != ownParts || onDisk(t, dir) != before {
		t.Error("undo did not take back both files")
	}
	post("/api/redo", map[string]any{}, 200)
	if partsOnDisk(t, dir, "own.yaml") != want || onDisk(t, dir) != changed {
		t.Error("redo did not bring back both files")
	}
	// The whole text of the file, by its own hash.
	resp, data := send(t, ts, "GET", "/api/file?name="+url.QueryEscape("parts/own.yaml"), nil, nil)
	f := read[struct {
		Text, Hash string
		Own        bool
		Before     []saved
	}](t, data)
	if resp.StatusCode != 200 || f.Text != want || !f.Own || len(f.Before) != 1 || f.Before[0].When == "" {
		t.Fatalf("the file: %s: %+v", resp.Status, f)
	}
	if _, data = send(t, ts, "GET",
		"/api/file?name="+url.QueryEscape("parts/own.yaml")+"&before="+url.QueryEscape(f.Before[0].Name), nil, nil); read[struct{ Text string }](t, data).Text != ownParts {
		t.Error("the snapshot is not what stood there")
	}
	resp, data = send(t, ts, "POST", "/api/save", map[string]any{
		"file": "parts/own.yaml", "base": f.Hash,
		"text": want + "# more\n",
	}, nil)
	if resp.StatusCode != 200 || partsOnDisk(t, dir, "own.yaml") != want+"# more\n" {
		t.Errorf("the whole text: %s: %.300s", resp.Status, data)
	}
	if resp, _ = send(t, ts, "POST", "/api/save", map[string]any{
		"file": "parts/own.yaml", "base": f.Hash,
		"text": "emitters: []\n",
	}, nil); resp.StatusCode != http.StatusConflict {
		t.Errorf("a whole text over another: %s", resp.Status)
	}
	// An editor beside the page.
	hash = state(t, ts).Hash
	other := want + "# of an editor\n"
	if err := os.WriteFile(filepath.Join(dir, "parts", "own.yaml"), []byte(other), 0o644); err != nil {
		t.Fatal(err)
	}
	post("/api/save", map[string]any{"changes": []change{{field + "price", "2 EUR"}}}, http.StatusConflict)
	if partsOnDisk(t, dir, "own.yaml") != other {
		t.Error("what the editor wrote was overwritten")
	}
	if st := state(t, ts); !st.Outside || st.CanUndo {
		t.Errorf("after a change from outside: %+v", st.Outside)
	}
}

func join(path string) string {
	if strings.HasPrefix(path, "[") {
		return path
	}
	return "." + path
}

// TestPoints puts points into a curve and takes others away: in a trial, and in the file with undo. What is about them
// stays.
func TestPoints(t *testing.T) {
	dir := withParts(t)
	_, ts := serve(t, dir)
	const curve = "parts/own.yaml#lenses[0].intensity_vs_angle"
	changes := []change{{curve + "[45 deg]", "25 %"}, {curve + "[30 deg]", gone}, {curve + "[10 deg]", "90 %"}}
	post := func(path string, status int, changes []change) []byte {
		t.Helper()
		resp, data := send(t, ts, "POST", path, map[string]any{"base": state(t, ts).Hash, "changes": changes}, nil)
		if resp.StatusCode != status {
			t.Fatalf("%s: %s: %.400s", path, resp.Status, data)
		}
		return data
	}
	post("/api/preview", 200, changes)
	if partsOnDisk(t, dir, "own.yaml") != ownParts {
		t.Fatal("trying wrote the file")
	}
	post("/api/save", 200, changes)
	want := strings.Replace(ownParts, "{0 deg: 100 %, 30 deg: 50 %, 60 deg: 0 %}",
		"{0 deg: 100 %, 10 deg: 90 %, 45 deg: 25 %, 60 deg: 0 %}", 1)
	if d := cmp.Diff(want, partsOnDisk(t, dir, "own.yaml")); d != "" {
		t.Errorf("(−want +got):\n%s", d)
	}
	for _, c := range []change{{curve + "[33 deg]", gone}, {curve, gone + "x"}, {"parts/own.yaml#lenses[7]", gone}} {
		post("/api/preview", 422, []change{c})
	}
	// A key that a part needs cannot be missed.
	if f := read[failure](t, post("/api/save", 422,
		[]change{{"parts/own.yaml#lenses[0].id", gone}})); len(f.Problems) == 0 {
		t.Errorf("without an id: %+v", f)
	}
	if resp, data := send(t, ts, "POST", "/api/undo", map[string]string{"base": state(t, ts).Hash},
		nil); resp.StatusCode != 200 || partsOnDisk(t, dir, "own.yaml") != ownParts {
		t.Errorf("undo: %s: %.200s", resp.Status, data)
	}
}

// TestLibraryList lists every built-in part with its figures, its price and its line.
func TestLibraryList(t *testing.T) {
	_, ts := serve(t, demo(t, "long-tank-first"))
	_, data := send(t, ts, "GET", "/api/parts", nil, nil)
	v := read[partsView](t, data)
	all, problems := project.LoadLibrary(nil, partslib.Files())
	if len(problems) > 0 || len(v.Library) != len(all.List()) || len(v.Library) < 60 {
		t.Fatalf("%d parts are listed", len(v.Library))
	}
	for i, p := range v.Library {
		if e := all.List()[i]; p.ID != e.ID || p.Info != e.Info || p.Price != e.Price || p.Info == "" {
			t.Errorf("%+v is listed, want %s: %s, %s", p, e.ID, e.Info, e.Price)
		}
		resp, data := send(t, ts, "GET", "/api/file?name="+url.QueryEscape(p.File), nil, nil)
		text := read[struct{ Text string }](t, data).Text
		lines := strings.Split(text, "\n")
		if resp.StatusCode != 200 || p.Line < 1 || p.Line > len(lines) ||
			strings.TrimSpace(lines[p.Line-1]) != "- id: "+p.ID {
			t.Errorf("%s stands at %s:%d: %s", p.ID, p.File, p.Line, resp.Status)
		}
		if p.Price == "" {
			t.Logf("%s %s has no price", p.Kind, p.ID)
		}
	}
}

// TestCopyParts copies every built-in part, and wants the same part, marked as fictitious.
func TestCopyParts(t *testing.T) {
	all, problems := project.LoadLibrary(nil, partslib.Files())
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	s, _ := serve(t, demo(t, "propagation-bench"))
	v := s.work.partsView()
	if len(v.Library) < 60 {
		t.Fatalf("only %d built-in parts", len(v.Library))
	}
	for _, p := range v.Library {
		text, err := libraryText(partslib.Files(), p.Kind, p.ID)
		if err != nil {
			t.Error(err)
			continue
		}
		got, problems := all.With(overlay{os.DirFS(t.TempDir()), texts{"parts/copy.yaml": text}})
		if len(problems) > 0 {
			t.Errorf("%s %s: %v", p.Kind, p.ID, problems)
			continue
		}
		places := cmpopts.IgnoreTypes(source.Pos{})
		same := func(a, b any, builtin, fictitious bool) {
			t.Helper()
			if d := cmp.Diff(a, b, places, cmpopts.IgnoreFields(project.Common{}, "Builtin"),
				cmpopts.IgnoreUnexported(project.Emitter{})); d != "" {
				t.Errorf("%s %s differs:\n%s", p.Kind, p.ID, d)
			}
			if builtin || !fictitious {
				t.Errorf("%s %s: built in %v, fictitious %v", p.Kind, p.ID, builtin, fictitious)
			}
		}
		switch p.Kind {
		case "emitters":
			a, b := all.Emitters.Get(p.ID), got.Emitters.Get(p.ID)
			same(a, b, b.Builtin, b.Fictitious)
		case "drivers":
			a, b := all.Drivers.Get(p.ID), got.Drivers.Get(p.ID)
			same(a, b, b.Builtin, b.Fictitious)
		case "sinks":
			a, b := all.Sinks.Get(p.ID), got.Sinks.Get(p.ID)
			same(a, b, b.Builtin, b.Fictitious)
		case "boards":
			a, b := all.Boards.Get(p.ID), got.Boards.Get(p.ID)
			same(a, b, b.Builtin, b.Fictitious)
		case "lenses":
			a, b := all.Lenses.Get(p.ID), got.Lenses.Get(p.ID)
			same(a, b, b.Builtin, b.Fictitious)
		}
		if n := len(partsIn("copy.yaml", text, v.Kinds)); n != 1 {
			t.Errorf("the copy of %s %s holds %d parts", p.Kind, p.ID, n)
		}
	}
}

// TestCopy copies one part over the interface, changes it, and takes it back.
func TestCopy(t *testing.T) {
	dir := demo(t, "long-tank-first")
	_, ts := serve(t, dir)
	hash := state(t, ts).Hash
	post := func(kind, id, as string) (*http.Response, []byte) {
		return send(t, ts, "POST", "/api/copy", map[string]string{"base": hash, "kind": kind, "id": id, "as": as}, nil)
	}
	for _, tt := range [][3]string{
		{"emitters", "none", "none"},
		{"none", "cyan-498", "cyan-498"},
		{"emitters", "cyan-498", ""},
		{"emitters", "cyan-498", "../lamp"},
		{"emitters", "cyan-498", "a/b"},
		{"emitters", "cyan-498", ".x"},
		{"emitters", "cyan-498", "x\x00"},
		{"lenses", "cyan-498", "x"},
		{"emitters", "cyan-498", strings.Repeat("x", 61)},
	} {
		if resp, data := post(tt[0], tt[1], tt[2]); resp.StatusCode != 400 {
			t.Errorf("%q: %s: %.200s", tt, resp.Status, data)
		}
	}
	resp, data := post("emitters", "cyan-498", "cyan-498")
	if resp.StatusCode != 200 {
		t.Fatalf("%s: %s", resp.Status, data)
	}
	if text := partsOnDisk(t, dir, "cyan-498.yaml"); !strings.Contains(text, "fictitious: true\n") ||
		!strings.Contains(text, "\n  - id: cyan-498\n") {
		t.Errorf("the copy is\n%s", text)
	}
	st := read[stateSeen](t, data)
	hash = st.Hash
	if resp, _ := post("emitters", "cyan-498", "cyan-498"); resp.StatusCode != 400 {
		t.Errorf("over itself: %s", resp.Status)
	}
	_, data = send(t, ts, "GET", "/api/parts", nil, nil)
	if v := read[partsView](t, data); len(v.Own) != 1 || len(v.Own[0].Uses) != 1 || !v.Own[0].Fictitious {
		t.Errorf("own parts are %+v", v.Own)
	}
	resp, data = send(t, ts, "POST", "/api/save", map[string]any{
		"base":    hash,
		"changes": []change{{"parts/cyan-498.yaml#emitters[0].max_forward_current", "1 A"}},
	}, nil)
	if resp.StatusCode != 200 || !strings.Contains(partsOnDisk(t, dir, "cyan-498.yaml"), "max_forward_current: 1 A") {
		t.Fatalf("%s: %s", resp.Status, data)
	}
	for i := range 2 {
		hash = read[stateSeen](t, data).Hash
		if resp, data = send(t, ts, "POST", "/api/undo", map[string]string{"base": hash}, nil); resp.StatusCode != 200 {
			t.Fatalf("undo %d: %s: %s", i, resp.Status, data)
		}
	}
	if got := partsOnDisk(t, dir, "cyan-498.yaml"); got != "(none)" {
		t.Errorf("undo left %s", got)
	}
	hash = read[stateSeen](t, data).Hash
	if resp, _ = send(t, ts, "POST", "/api/redo", map[string]string{"base": hash}, nil); resp.StatusCode != 200 ||
		partsOnDisk(t, dir, "cyan-498.yaml") == "(none)" {
		t.Error("redo did not bring the copy back")
	}
}

// TestPartsFolder wants no file beyond the project read or written by way of its parts.
func TestPartsFolder(t *testing.T) {
	secret := t.TempDir()
	if err := os.WriteFile(filepath.Join(secret, "own.yaml"), []byte("emitters: [] # secret\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	dir := demo(t, "propagation-bench")
	_, ts := serve(t, dir)
	names := []string{
		"", ".", "..", "parts", "parts/", "parts/none.yaml", "../lamp.yaml", "/etc/passwd",
		"parts/../lamp.yaml", "./lamp.yaml", "parts/own.yaml", "library/", "library/..", "library/../lamp.yaml",
		"library/none.yaml", ".lampwright-cache/.gitignore", "lamp.yaml\x00",
	}
	check := func(when string) {
		t.Helper()
		st := state(t, ts)
		for _, name := range names {
			resp, data := send(t, ts, "GET", "/api/file?name="+url.QueryEscape(name), nil, nil)
			if resp.StatusCode != 400 || strings.Contains(string(data), "secret") {
				t.Errorf("%s: read %q: %s: %.100s", when, name, resp.Status, data)
			}
			resp, data = send(t, ts, "POST", "/api/save", map[string]any{
				"file": gocmp.Or(name, "x"), "base": hashOf(nil),
				"text": "emitters: []\n", "anyway": true,
			}, nil)
			if resp.StatusCode == 200 {
				t.Errorf("%s: wrote %q: %.100s", when, name, data)
			}
			resp, data = send(t, ts, "POST", "/api/save", map[string]any{
				"base":    st.Hash,
				"changes": []change{{name + "#emitters[0].id", "x"}},
			}, nil)
			if resp.StatusCode != 422 {
				t.Errorf("%s: changed %q: %s: %.100s", when, name, resp.Status, data)
			}
		}
		for _, before := range []string{"..", "../../../lamp.yaml", "parts", "x"} {
			if resp, _ := send(t, ts, "GET", "/api/file?name=lamp.yaml&before="+url.QueryEscape(before), nil,
				nil); resp.StatusCode != 400 {
				t.Errorf("%s: snapshot %q: %s", when, before, resp.Status)
			}
		}
	}
	check("without parts")
	if err := os.Symlink(secret, filepath.Join(dir, "parts")); err != nil {
		t.Skip("no links here:", err)
	}
	check("parts is a link out of the folder")
	st := state(t, ts)
	if resp, data := send(t, ts, "POST", "/api/copy", map[string]string{
		"base": st.Hash, "kind": "lenses",
		"id": "lens-52", "as": "lens-52",
	}, nil); resp.StatusCode == 200 {
		t.Errorf("copied into a folder that is a link: %.200s", data)
	}
	if err := os.Remove(filepath.Join(dir, "parts")); err != nil {
		t.Fatal(err)
	}
	if err := os.MkdirAll(filepath.Join(dir, "parts"), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(filepath.Join(secret, "own.yaml"), filepath.Join(dir, "parts", "own.yaml")); err != nil {
		t.Fatal(err)
	}
	check("a file of parts is a link out of the folder")
	entries, err := os.ReadDir(secret)
	if err != nil || len(entries) != 1 {
		t.Errorf("beyond the folder stand %v, %v", entries, err)
	}
	if data, _ := os.ReadFile(filepath.Join(secret, "own.yaml")); !strings.Contains(string(data), "secret") {
		t.Error("the file beyond the folder was changed")
	}
}

// TestOverlay lists files that would be, and hides those that would not.
func TestOverlay(t *testing.T) {
	dir := withParts(t)
	o := overlay{os.DirFS(dir), texts{"parts/new.yaml": []byte("new"), "parts/own.yaml": nil}}
	names, err := fs.Glob(o, "parts/*.yaml")
	if err != nil || fmt.Sprint(names) != "[parts/new.yaml]" {
		t.Errorf("%v, %v", names, err)
	}
	if _, err := o.Open("parts/own.yaml"); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a file that would be removed: %v", err)
	}
	if data, err := fs.ReadFile(o, "parts/new.yaml"); err != nil || string(data) != "new" {
		t.Errorf("%q, %v", data, err)
	}
	if data, err := fs.ReadFile(o, "lamp.yaml"); err != nil || len(data) == 0 {
		t.Errorf("the design: %v", err)
	}
}

// TestPartsBecomeUnreadable wants a problem shown, and no built-in part used in its place, once the folder of parts is
// no folder any longer.
func TestPartsBecomeUnreadable(t *testing.T) {
	dir := demo(t, "propagation-bench")
	s, ts := serve(t, dir)
	settled(t, s)
	if err := os.WriteFile(filepath.Join(dir, "parts"), []byte("x"), 0o644); err != nil {
		t.Fatal(err)
	}
	st := state(t, ts)
	if len(st.Problems) != 1 || !strings.Contains(st.Problems[0].Msg, "this is not a folder") {
		t.Errorf("problems: %v", st.Problems)
	}
}

// TestNewPart begins a part in a file that does not exist: it is named what is missing, the file is written as people
// write it, and undo takes the file away. Values are invented.
func TestNewPart(t *testing.T) {
	dir := demo(t, "long-tank-first")
	_, ts := serve(t, dir)
	const at = "parts/own.yaml#emitters[0]"
	list := []change{
		{at, asBlock + "{id: my-white}"},
		{at + ".package", "3535"},
		{at + ".test_current", asYAML + `{value: 350 mA, source: "datasheet T1, page 2"}`},
		{
			at + ".forward_voltage",
			asBlock + `{source: "datasheet T1, page 4, figure 2", ` +
				`points: {100 mA: 2.7 V, 350 mA: 2.9 V, 700 mA: 3.05 V}}`,
		},
		{at + ".body.length", "3.5 mm"},
		{at + ".peaks[0]", asBlock + "{at: 450 nm, width: 20 nm}"},
		{at + ".radiant_flux", "600 mW"},
	}
	post := func(path string, changes []change) (*http.Response, []byte) {
		t.Helper()
		return send(t, ts, "POST", path, map[string]any{"base": state(t, ts).Hash, "changes": changes}, nil)
	}
	for _, path := range []string{"/api/preview", "/api/save"} {
		resp, data := post(path, list)
		f := read[failure](t, data)
		if resp.StatusCode != http.StatusUnprocessableEntity || len(f.Problems) != 1 ||
			f.Problems[0].At.Path != "emitters[0].test_junction" {
			t.Errorf("%s: %s: %+v", path, resp.Status, f.Problems)
		}
	}
	if _, err := os.Stat(filepath.Join(dir, "parts")); err == nil {
		t.Error("a folder was made for what was refused")
	}
	list = append(list, change{at + ".test_junction", "25 °C"}, change{at + ".body.width", "3.5 mm"})
	if resp, data := post("/api/save", list); resp.StatusCode != http.StatusOK {
		t.Fatalf("%s: %.400s", resp.Status, data)
	}
	const want = newParts + `emitters:
  - id: my-white
    package: 3535
    test_current: {value: 350 mA, source: "datasheet T1, page 2"}
    forward_voltage:
      source: "datasheet T1, page 4, figure 2"
      points: {100 mA: 2.7 V, 350 mA: 2.9 V, 700 mA: 3.05 V}
    body: {length: 3.5 mm, width: 3.5 mm}
    peaks:
      - at: 450 nm
        width: 20 nm
    radiant_flux: 600 mW
    test_junction: 25 °C
`
	if d := cmp.Diff(want, partsOnDisk(t, dir, "own.yaml")); d != "" {
		t.Error(d)
	}
	v := partsSeen(t, ts)
	if v.OwnFile != "parts/own.yaml" || v.Counts["emitters"] != 1 || v.Counts["fans"] != 0 || len(v.Places) == 0 {
		t.Errorf("%s, %v, %d places", v.OwnFile, v.Counts, len(v.Places))
	}
	curve := change{at + ".forward_voltage", asBlock + "{source: T2, points: {100 mA: 2.6 V, 350 mA: 2.8 V}}"}
	if resp, data := post("/api/preview", []change{curve}); resp.StatusCode != http.StatusOK {
		t.Errorf("another curve in place of the first: %s: %.300s", resp.Status, data)
	}
	resp, data := send(t, ts, "POST", "/api/undo", map[string]any{"base": state(t, ts).Hash}, nil)
	if resp.StatusCode != http.StatusOK {
		t.Fatalf("%s: %.400s", resp.Status, data)
	}
	if got := partsOnDisk(t, dir, "own.yaml"); got != "(none)" {
		t.Errorf("after undo: %s", got)
	}
}

// partsSeen reads the parts over the interface.
func partsSeen(t *testing.T, ts *httptest.Server) partsView {
	t.Helper()
	_, data := send(t, ts, "GET", "/api/parts", nil, nil)
	return read[partsView](t, data)
}

// TestNewPartNames: only a file of parts can be begun, and never over another one. A file that is marked as fictitious
// is not the place of a part from a datasheet.
func TestNewPartNames(t *testing.T) {
	dir := withParts(t)
	_, ts := serve(t, dir)
	for _, name := range []string{
		"parts/../lamp2.yaml", "../own.yaml", "parts/x/y.yaml", "other.yaml",
		"parts/own.yml", "parts/.yaml", "/parts/a.yaml", `parts\a.yaml`,
	} {
		resp, data := send(t, ts, "POST", "/api/save", map[string]any{
			"base": state(t, ts).Hash, "changes": []change{{name + "#fans[0]", asBlock + "{id: a}"}},
		}, nil)
		if resp.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(string(data), "there is no file") {
			t.Errorf("%s: %s: %.300s", name, resp.Status, data)
		}
	}
	if v := partsSeen(t, ts); v.OwnFile != "parts/own-2.yaml" {
		t.Errorf("a new part goes to %s", v.OwnFile)
	}
	// The file comes to be between preview and save: the save is refused.
	st := state(t, ts)
	const plain = "fans:\n  - id: theirs\n"
	if err := os.WriteFile(filepath.Join(dir, "parts", "own-2.yaml"), []byte(plain), 0o600); err != nil {
		t.Fatal(err)
	}
	resp, _ := send(t, ts, "POST", "/api/save", map[string]any{
		"base": st.Hash, "changes": []change{{"parts/own-2.yaml#fans[0]", asBlock + "{id: a}"}},
	}, nil)
	if resp.StatusCode != http.StatusConflict || partsOnDisk(t, dir, "own-2.yaml") != plain {
		t.Errorf("%s: %s", resp.Status, partsOnDisk(t, dir, "own-2.yaml"))
	}
	// Even a save that is to overwrite does not put a new part in the place of another one.
	hash := state(t, ts).Hash
	resp, data := send(t, ts, "POST", "/api/save", map[string]any{
		"base": hash, "changes": []change{{"parts/own-2.yaml#fans[0]", asBlock + "{id: a}"}},
		"tried": map[string]string{"parts/own-2.yaml#fans[0]": hash},
	}, nil)
	if resp.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(string(data), "is taken") ||
		partsOnDisk(t, dir, "own-2.yaml") != plain {
		t.Errorf("%s: %s", resp.Status, data)
	}
}

// TestTable checks tables that were read off a diagram, over the interface. Values are invented.
func TestTable(t *testing.T) {
	_, ts := serve(t, demo(t, "moss-jar"))
	good := [][2]string{{"100 mA", "2.7 V"}, {"0.35 A", "2900 mV"}, {"700 mA", "3.05 V"}}
	for _, tt := range []struct {
		name, kind, key string
		points          [][2]string
		testX, testY    string
		says            []string
	}{
		{"good", "emitters", "forward_voltage", good, "350 mA", "2.9 V", nil},
		{"off the test point", "emitters", "forward_voltage", good, "350 mA", "3.1 V", []string{"stated: 3.10 V"}},
		{
			"not a voltage", "emitters", "forward_voltage",
			[][2]string{{"1 A", "3 A"}, {"2 A", "x"}},
			"", "",
			[]string{"is a current", "x"},
		},
		{"a bad test point", "emitters", "forward_voltage", good, "350 V", "", []string{"is a voltage"}},
		{"no points", "emitters", "forward_voltage", [][2]string{}, "350 mA", "", nil},
	} {
		resp, data := send(t, ts, "POST", "/api/table", map[string]any{
			"kind": tt.kind, "key": tt.key, "points": tt.points, "test_x": tt.testX, "test_y": tt.testY,
		}, nil)
		got := read[tableDoubts](t, data).Doubts
		if resp.StatusCode != http.StatusOK || len(got) != len(tt.says) {
			t.Errorf("%s: %s: %+v", tt.name, resp.Status, got)
			continue
		}
		for i, d := range got {
			if !strings.Contains(d.Text, tt.says[i]) {
				t.Errorf("%s: %q, want %q", tt.name, d.Text, tt.says[i])
			}
		}
	}
	for _, body := range []map[string]any{
		{"kind": "emitters", "key": "flux", "points": good},
		{"kind": "nonsense", "key": "flux", "points": good},
		{"kind": "emitters", "key": "forward_voltage", "points": make([][2]string, maxTable+1)},
	} {
		if resp, data := send(t, ts, "POST", "/api/table", body, nil); resp.StatusCode != http.StatusBadRequest {
			t.Errorf("%v: %s: %.200s", body["key"], resp.Status, data)
		}
	}
}
