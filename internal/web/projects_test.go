package web

import (
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// stateOf returns the state of a project by its id.
func stateOfProject(t *testing.T, ts *httptest.Server, id string) stateSeen {
	t.Helper()
	res, data := send(t, ts, http.MethodGet, "/api/state?project="+id, nil, nil)
	if res.StatusCode != http.StatusOK {
		t.Fatalf("state of %s: %d, %s", id, res.StatusCode, data)
	}
	return read[stateSeen](t, data)
}

func listed(t *testing.T, ts *httptest.Server, id string) projectsView {
	t.Helper()
	res, data := send(t, ts, http.MethodGet, "/api/projects?project="+id, nil, nil)
	if res.StatusCode != http.StatusOK {
		t.Fatalf("projects: %d, %s", res.StatusCode, data)
	}
	return read[projectsView](t, data)
}

// TestVariant duplicates a design with an unsaved change: the original stays as it is, the variant has the change, its
// name and all comments, and a page of its own.
func TestVariant(t *testing.T) {
	dir := demo(t, "moss-jar")
	before := onDisk(t, dir)
	s, ts := serve(t, dir)
	hash := state(t, ts).Hash
	body := map[string]any{
		"base": hash, "name": "Jar, hung higher",
		"changes": []change{{Path: "installation.hanging_height", Text: "230 mm"}},
	}
	res, data := send(t, ts, http.MethodPost, "/api/variant", body, nil)
	if res.StatusCode != http.StatusOK {
		t.Fatalf("%d, %s", res.StatusCode, data)
	}
	id := read[idView](t, data).ID
	if onDisk(t, dir) != before {
		t.Error("the original changed")
	}
	text, err := os.ReadFile(filepath.Join(dir, "jar-hung-higher.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	want := strings.Replace(before, "hanging_height: 210 mm", "hanging_height: 230 mm", 1)
	want = strings.Replace(want, "name: Moss jar", "name: Jar, hung higher", 1)
	if string(text) != want {
		t.Errorf("the variant is\n%s\nwant\n%s", text, want)
	}
	v := stateOfProject(t, ts, id)
	if v.Folder != dir || v.Text != want {
		t.Errorf("its page shows a text of %s that is another one", v.Folder)
	}
	list := listed(t, ts, id)
	if len(list.Projects) != 2 || list.Present != id || list.Projects[0].Name != "Jar, hung higher" ||
		!list.Projects[0].Present || list.Projects[1].Name != "Moss jar" || !list.Projects[1].Here {
		t.Errorf("listed are %+v", list)
	}
	// A save of the variant's page writes the variant alone.
	body = map[string]any{"base": v.Hash, "changes": []change{{Path: "installation.hanging_height", Text: "240 mm"}}}
	if res, data = send(t, ts, http.MethodPost, "/api/save?project="+id, body, nil); res.StatusCode != http.StatusOK {
		t.Fatalf("save: %d, %s", res.StatusCode, data)
	}
	if text, _ = os.ReadFile(filepath.Join(dir, "jar-hung-higher.yaml")); !strings.Contains(string(text), "240 mm") {
		t.Error("the save did not reach the variant")
	}
	if onDisk(t, dir) != before {
		t.Error("a save of the variant changed the original")
	}
	// Back at the original by its own id.
	if got := stateOfProject(t, ts, s.work.place().id()); got.Hash != hash {
		t.Error("the original is not found by its id")
	}
}

// TestVariantRefused names what is wrong with a name, and writes nothing.
func TestVariantRefused(t *testing.T) {
	dir := demo(t, "moss-jar")
	_, ts := serve(t, dir)
	hash := state(t, ts).Hash
	for name, want := range map[string]string{
		"": "is empty", "  ": "is empty", "…": "no letter or digit", "lamp": "lamp.yaml already exists",
		"a\nb": "control character", strings.Repeat("x", 81): "more than 80",
	} {
		res, data := send(t, ts, http.MethodPost, "/api/variant", map[string]any{"base": hash, "name": name}, nil)
		if res.StatusCode != http.StatusBadRequest || !strings.Contains(string(data), want) {
			t.Errorf("%q: %d, %s, want %q", name, res.StatusCode, data, want)
		}
	}
	res, data := send(t, ts, http.MethodPost, "/api/variant", map[string]any{"base": "old", "name": "b"}, nil)
	if res.StatusCode != http.StatusConflict {
		t.Errorf("on another version: %d, %s", res.StatusCode, data)
	}
	// A name leads to no other folder.
	body := map[string]any{"base": hash, "name": "../../out"}
	if res, data = send(t, ts, http.MethodPost, "/api/variant", body, nil); res.StatusCode != http.StatusOK {
		t.Fatalf("%d, %s", res.StatusCode, data)
	}
	if _, err := os.Stat(filepath.Join(dir, "out.yaml")); err != nil {
		t.Error(err)
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	designs := 0
	for _, e := range entries {
		if filepath.Ext(e.Name()) == ".yaml" {
			designs++
		}
	}
	if designs != 2 {
		t.Errorf("%d designs in the folder, want 2", designs)
	}
}

// TestProjects makes a project beside the one that is shown, and finds both again with another server.
func TestProjects(t *testing.T) {
	parent := t.TempDir()
	recent := filepath.Join(t.TempDir(), "deep", "recent.json")
	dir := filepath.Join(parent, "jar")
	if err := os.Rename(demo(t, "moss-jar"), dir); err != nil {
		t.Fatal(err)
	}
	keep := func(o *Options) { o.Recent = recent }
	s, ts := serve(t, dir, keep)
	first := listed(t, ts, "")
	if first.Beside != parent || len(first.Projects) != 1 {
		t.Errorf("listed are %+v", first)
	}
	res, data := send(t, ts, http.MethodPost, "/api/project", map[string]any{"name": "Second tank"}, nil)
	if res.StatusCode != http.StatusOK {
		t.Fatalf("%d, %s", res.StatusCode, data)
	}
	id := read[idView](t, data).ID
	if got := stateOfProject(t, ts, id); !got.Empty || got.Folder != filepath.Join(parent, "second-tank") {
		t.Errorf("the new project is at %s, empty %v", got.Folder, got.Empty)
	}
	res, data = send(t, ts, http.MethodPost, "/api/begin?project="+id, map[string]any{"key": "demo"}, nil)
	if res.StatusCode != http.StatusOK {
		t.Fatalf("begin: %d, %s", res.StatusCode, data)
	}
	listed(t, ts, id) // remembers it
	res, data = send(t, ts, http.MethodPost, "/api/project", map[string]any{"name": "second tank"}, nil)
	if res.StatusCode !=
		http.StatusBadRequest || !strings.Contains(string(data), "already exists") {
		t.Errorf("the same folder again: %d, %s", res.StatusCode, data)
	}
	s.Close()
	// The next server, over the jar again, knows the second one; one over another folder knows both.
	_, again := serve(t, demo(t, "moss-jar-first"), keep)
	list := listed(t, again, "")
	var folders []string
	for _, p := range list.Projects {
		folders = append(folders, filepath.Base(p.Folder))
	}
	if len(folders) != 3 || folders[1] != "second-tank" || folders[2] != "jar" {
		t.Errorf("remembered are %q, want second-tank, then jar", folders)
	}
	if got := stateOfProject(t, again, list.Projects[2].ID); got.Folder != dir {
		t.Errorf("the jar is at %s", got.Folder)
	}
	// A project that is gone is not offered.
	if err := os.RemoveAll(dir); err != nil {
		t.Fatal(err)
	}
	_, third := serve(t, demo(t, "moss-jar"), keep)
	for _, p := range listed(t, third, "").Projects {
		if p.Folder == dir {
			t.Error("a project that is gone is offered")
		}
	}
}

// TestUnknownProject refuses an id that is not of the list, whatever it says.
func TestUnknownProject(t *testing.T) {
	_, ts := serve(t, demo(t, "moss-jar"))
	for _, id := range []string{"0123456789abcdef", "..%2F..", "%2Fetc", strings.Repeat("a", 4000)} {
		res, data := send(t, ts, http.MethodGet, "/api/state?project="+id, nil, nil)
		if res.StatusCode != http.StatusNotFound || !strings.Contains(string(data), "no such project") {
			t.Errorf("%.40s: %d, %s", id, res.StatusCode, data)
		}
	}
}

// TestDesks opens more projects than are kept open: those that no page listens to are closed for them.
func TestDesks(t *testing.T) {
	dir := demo(t, "moss-jar")
	s, ts := serve(t, dir)
	hash := state(t, ts).Hash
	var ids []string
	for _, name := range strings.Fields("a b c d e f g h i j") {
		res, data := send(t, ts, http.MethodPost, "/api/variant", map[string]any{"base": hash, "name": name}, nil)
		if res.StatusCode != http.StatusOK {
			t.Fatalf("%d, %s", res.StatusCode, data)
		}
		ids = append(ids, read[idView](t, data).ID)
	}
	for _, id := range ids {
		stateOfProject(t, ts, id)
	}
	s.all.mu.Lock()
	open := len(s.all.desks)
	_, first := s.all.desks[ids[0]]
	s.all.mu.Unlock()
	if open != maxDesks || first {
		t.Errorf("%d workspaces are open, want %d; the first one still: %v", open, maxDesks, first)
	}
	stateOfProject(t, ts, ids[0]) // and again
}

// TestVariants computes the designs of a folder beside each other.
func TestVariants(t *testing.T) {
	dir := demo(t, "moss-jar")
	broken := strings.Replace(onDisk(t, dir), "driver: linear-350ma", "driver: none-such", 1)
	if err := os.WriteFile(filepath.Join(dir, "broken.yaml"), []byte(broken), 0o644); err != nil {
		t.Fatal(err)
	}
	higher := strings.Replace(onDisk(t, dir), "hanging_height: 210 mm", "hanging_height: 230 mm", 1)
	higher = strings.Replace(higher, "name: Moss jar", "name: Higher", 1)
	if err := os.WriteFile(filepath.Join(dir, "higher.yaml"), []byte(higher), 0o644); err != nil {
		t.Fatal(err)
	}
	s, ts := serve(t, dir)
	state(t, ts)
	settled(t, s)
	res, data := send(t, ts, http.MethodPost, "/api/variants", map[string]any{}, nil)
	if res.StatusCode != http.StatusOK {
		t.Fatalf("%d, %s", res.StatusCode, data)
	}
	list := read[[]variantView](t, data)
	if len(list) != 3 || list[0].Name != "Moss jar" || list[2].Name != "Higher" {
		t.Fatalf("variants are %+v", list)
	}
	if !strings.Contains(list[1].Wrong, "none-such") || len(list[1].Figures) != 0 {
		t.Errorf("of the broken one it says %q", list[1].Wrong)
	}
	ppfd := func(v variantView) float64 {
		for _, f := range v.Figures {
			if f.Key == "target.ppfd" {
				return f.Value
			}
		}
		return 0
	}
	// At the same flux a lamp that hangs higher gives the moss less light.
	if a, b := ppfd(list[0]), ppfd(list[2]); !(a > b && b > 0.8*a) {
		t.Errorf("mean PPFD %g and, hung 20 mm higher, %g", a, b)
	}
	if d := list[2].Differs; len(d) != 1 || !strings.Contains(d[0], "210 mm → 230 mm") {
		t.Errorf("it differs in %q", d)
	}
	if list[0].Counts["stop"] != 0 || list[0].Counts["pass"] == 0 {
		t.Errorf("counts are %v", list[0].Counts)
	}
}
