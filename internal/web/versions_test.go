package web

import (
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"lampwright/internal/partslib"
	"lampwright/internal/project"
)

type compared struct {
	Text string
	Lamp struct {
		lampSeen
		Requirements []requirement
	}
}

// ids lists what can be compared with.
func ids(t *testing.T, s *Server) (out []string) {
	t.Helper()
	for _, v := range s.work.versions() {
		out = append(out, v.ID)
	}
	return out
}

// TestVersions offers designs of the folder, folders within it, given projects and demos, and nothing else: no links,
// no hidden files, no parts, nothing that is no design.
func TestVersions(t *testing.T) {
	dir := demo(t, "propagation-bench")
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
	higher := strings.Replace(text, "hanging_height: ", "hanging_height: 1", 1)
	put("higher.yaml", higher)
	put("second/lamp.yaml", text)
	put("broken.yaml", "lampwright: 2\nname: 3 broken\n")
	put("notes.yaml", "shopping: list\n")
	put("letter.txt", "lampwright: 2\n")
	put(".hidden/lamp.yaml", text)
	put(".hidden.yaml", text)
	put("deep/er/lamp.yaml", text)
	put("parts/own.yaml", "emitters: []\n")
	secret := t.TempDir()
	write(t, secret, text+"# secret\n")
	for from, to := range map[string]string{
		"link.yaml": filepath.Join(secret, "lamp.yaml"), "away": secret,
		"half/lamp.yaml": filepath.Join(secret, "lamp.yaml"),
	} {
		put("half/x", "")
		if err := os.Symlink(to, filepath.Join(dir, filepath.FromSlash(from))); err != nil {
			t.Skip("no links here:", err)
		}
	}
	given := t.TempDir()
	write(t, given, text+"# given\n")
	root, err := os.OpenRoot(given)
	if err != nil {
		t.Fatal(err)
	}
	defer root.Close()
	s, ts := serve(t, dir, func(o *Options) {
		o.Others = []Other{{Title: "given", Folder: root.FS(), File: project.DesignFile}}
		o.Templates = []Template{{
			Key: "bench", Title: "A bench",
			Files: map[string][]byte{project.DesignFile: []byte(text)},
		}, {Key: "more", Title: "With parts", Files: map[string][]byte{project.DesignFile: nil, "parts/own.yaml": nil}}}
	})
	want := []string{"here/broken.yaml", "here/higher.yaml", "here/second/lamp.yaml", "other/0", "demo/bench"}
	if got := ids(t, s); !slices.Equal(got, want) {
		t.Errorf("offered are %q, want %q", got, want)
	}
	for _, id := range want {
		resp, data := send(t, ts, "POST", "/api/compare", map[string]string{"id": id}, nil)
		if id == "here/broken.yaml" {
			if f := read[failure](t, data); resp.StatusCode != http.StatusUnprocessableEntity || len(f.Problems) == 0 ||
				f.Problems[0].At.File != "broken.yaml" {
				t.Errorf("%s: %s: %.300s", id, resp.Status, data)
			}
			continue
		}
		if resp.StatusCode != 200 {
			t.Errorf("%s: %s: %.300s", id, resp.Status, data)
			continue
		}
		got := read[compared](t, data)
		if got.Lamp.Figures[0].Range == "" || len(got.Lamp.Requirements) == 0 {
			t.Errorf("%s: it lacks ranges, or what is wanted", id)
		}
		if id == "here/higher.yaml" {
			if a, b := got.Lamp.value(t, "light.spill"), state(t, ts).Lamp; b != nil && a <= b.value(t, "light.spill") {
				t.Errorf("a lamp hung a metre higher spills %g, no more than this one", a)
			}
		}
	}
	for _, id := range []string{
		"", ".", "here/", "here/.", "here/lamp.yaml", "here/../lamp.yaml", "here/link.yaml", "here/away/lamp.yaml",
		"here/half/lamp.yaml", "here/notes.yaml",
		"here/.hidden.yaml", "here/parts/own.yaml", "here/deep/er/lamp.yaml", "here/" + filepath.Join(secret,
			"lamp.yaml"), "other/1", "other/-1", "other/0/../..",
		"other/../secret", "demo/more", "demo/", "snapshot/../../lamp.yaml", "snapshot/x", "/etc/passwd",
		"here//etc/passwd", "here/second\x00/lamp.yaml",
	} {
		resp, data := send(t, ts, "POST", "/api/compare", map[string]string{"id": id}, nil)
		if resp.StatusCode != http.StatusBadRequest || strings.Contains(string(data), "secret\n") {
			t.Errorf("%q: %s: %.200s", id, resp.Status, data)
		}
	}
	if onDisk(t, given) != text+"# given\n" {
		t.Error("the given project was written")
	}
}

// TestVersionRace replaces a design by a link that leads out after it was listed: what is opened stays in the folder.
func TestVersionRace(t *testing.T) {
	dir, secret := demo(t, "propagation-bench"), t.TempDir()
	write(t, secret, "lampwright: 2 # secret\n")
	s, _ := serve(t, dir)
	if err := os.Symlink(filepath.Join(secret, "lamp.yaml"), filepath.Join(dir, "b.yaml")); err != nil {
		t.Skip("no links here:", err)
	}
	if text, err := readText(s.work.root.FS(), "b.yaml"); err == nil {
		t.Errorf("a link out of the folder was followed: %q", text)
	}
	if err := os.Symlink(secret, filepath.Join(dir, "sub")); err != nil {
		t.Fatal(err)
	}
	if _, problems := project.LoadText("lamp.yaml", []byte("lampwright: 2\n"), sub(t, s, "sub"),
		partslib.Files()); !strings.Contains(problems.Error(), "lamp.yaml") {
		t.Error("no problems")
	}
	if text, err := readText(sub(t, s, "sub"), "lamp.yaml"); err == nil {
		t.Errorf("a folder that is a link out was followed: %q", text)
	}
}

// sub is a folder within the served one, as compare opens it.
func sub(t *testing.T, s *Server, dir string) fs.FS {
	t.Helper()
	f, err := fs.Sub(s.work.root.FS(), dir)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// TestRequirements reads requirements as the review does; without one, only results where more or less is better are
// listed.
func TestRequirements(t *testing.T) {
	s, ts := serve(t, demo(t, "long-tank-first"))
	settled(t, s)
	resp, data := send(t, ts, "GET", "/api/state", nil, nil)
	if resp.StatusCode != 200 {
		t.Fatal(resp.Status)
	}
	list := read[struct {
		Lamp struct{ Requirements []requirement }
	}](t, data).Lamp.Requirements
	by := map[string]requirement{}
	for _, w := range list {
		if _, twice := by[w.Key]; twice {
			t.Errorf("%s is listed twice", w.Key)
		}
		by[w.Key] = w
		if (w.More != 0) == (w.At != nil) {
			t.Errorf("%s has a requirement and a direction, or neither: %+v", w.Key, w)
		}
	}
	if w := by["target.ppfd"]; w.Min == nil || w.Max == nil || *w.Min >= *w.Max || w.At == nil || w.At.Line == 0 {
		t.Errorf("the PPFD requirement is %+v", w)
	}
	if w := by["mains.efficacy"]; w.More != 1 {
		t.Errorf("efficacy: %+v, want more to be better", w)
	}
	if _, ok := by["white.current"]; ok {
		t.Error("a current is listed")
	}
}
