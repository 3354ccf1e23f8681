package web

import (
	"bytes"
	"errors"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"lampwright/internal/atomicfile"
)

// rounds is the number of rounds of a race.
func rounds() int {
	if testing.Short() {
		return 12
	}
	return 400
}

// idle makes a server that computes nothing, so that rounds of saves take less time.
func idle(o *Options) {
	o.Busy = make(chan struct{}, 1)
	o.Busy <- struct{}{}
}

// TestTwoServersSave saves from two servers on one folder at the same moment. Each change that was told to be saved is
// in the file, or was in it when the other server wrote the next one over it.
func TestTwoServersSave(t *testing.T) {
	dir := demo(t, "propagation-bench")
	_, a := serve(t, dir, idle)
	_, b := serve(t, dir, idle)
	refused := 0
	for i := range rounds() {
		st := state(t, a)
		if other := state(t, b); other.Hash != st.Hash {
			t.Fatalf("round %d begins with two versions", i)
		}
		values := [2]change{
			{hangingHeight, fmt.Sprintf("%d mm", 200+i%100)},
			{"installation.inside.length", fmt.Sprintf("%d mm", 1000+i%100)},
		}
		var saved [2]int
		var both sync.WaitGroup
		for k, ts := range []string{a.URL, b.URL} {
			both.Go(func() { saved[k] = saveStatus(t, ts, st.Hash, values[k]) })
		}
		both.Wait()
		for k, status := range saved {
			text := onDisk(t, dir)
			switch {
			case status == http.StatusConflict:
				refused++
			case status != http.StatusOK:
				t.Fatalf("round %d: status %d", i, status)
			case !strings.Contains(text, values[k].Text):
				t.Fatalf("round %d: %s was saved and is lost:\n%s", i, values[k].Text, text)
			}
		}
	}
	if refused == 0 {
		t.Error("no save met another one")
	}
	t.Logf("%d of %d saves were refused", refused, 2*rounds())
}

// saveStatus saves one value and returns the status of the answer.
func saveStatus(t *testing.T, url, base string, c change) int {
	body := fmt.Sprintf(`{"base":%q,"changes":[{"path":%q,"text":%q}]}`, base, c.Path, c.Text)
	r, err := http.NewRequest("POST", url+"/api/save", strings.NewReader(body))
	if err != nil {
		t.Error(err)
		return 0
	}
	r.Header.Set("Origin", url)
	r.Header.Set("Content-Type", "application/json")
	resp, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Error(err)
		return 0
	}
	resp.Body.Close()
	return resp.StatusCode
}

// TestEditorSaves writes the file as an editor does, up to 40 ms after a save from the page was sent, in place and by a
// rename. What the editor wrote is in the file or in a snapshot, and so is what the page was told to be saved.
func TestEditorSaves(t *testing.T) {
	dir := demo(t, "propagation-bench")
	_, ts := serve(t, dir, idle)
	original := onDisk(t, dir)
	refused := 0
	for i := range rounds() {
		st := state(t, ts)
		c := change{hangingHeight, fmt.Sprintf("%d mm", 201+i)}
		editor := fmt.Sprintf("%s# round %d\n", original, i)
		var both sync.WaitGroup
		both.Go(func() {
			time.Sleep(time.Duration(7*i%41) * time.Millisecond)
			if i%2 == 0 {
				write(t, dir, editor)
				return
			}
			tmp := filepath.Join(dir, "editor.tmp")
			if err := os.WriteFile(tmp, []byte(editor), 0o644); err != nil {
				t.Error(err)
			}
			if err := os.Rename(tmp, filepath.Join(dir, "lamp.yaml")); err != nil {
				t.Error(err)
			}
		})
		status := saveStatus(t, ts.URL, st.Hash, c)
		both.Wait()
		state(t, ts)
		text := onDisk(t, dir)
		if text != editor && !inSnapshots(t, dir, editor) {
			t.Fatalf("round %d, status %d: what the editor wrote is lost:\n%s", i, status, text)
		}
		switch status {
		case http.StatusConflict:
			refused++
		case http.StatusOK:
			if !strings.Contains(text, "hanging_height: "+c.Text) && !inSnapshots(t, dir, "hanging_height: "+c.Text) {
				t.Fatalf("round %d: what the page saved is lost:\n%s", i, text)
			}
		default:
			t.Fatalf("round %d: status %d", i, status)
		}
	}
	t.Logf("%d of %d saves were refused", refused, rounds())
}

// inSnapshots reports whether a snapshot of the design contains a text.
func inSnapshots(t *testing.T, dir, text string) bool {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(dir, snapshotDir, "*.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range names {
		if data, err := os.ReadFile(n); err == nil && bytes.Contains(data, []byte(text)) {
			return true
		}
	}
	return false
}

// TestTriedValues tries a value of each kind, changes the file as an editor does, and saves what was tried: a value
// that the editor changed too is refused and named, with nothing written; one that it did not change is saved. Once the
// page knows the change, it is saved as well.
func TestTriedValues(t *testing.T) {
	const x = "channels[0].emitters[0].at[0][0]"
	for _, tt := range []struct {
		name, file string
		change     change
		from, to   string // what the editor replaces
		clash      bool
		now        string
	}{
		{"length", "lamp.yaml", change{hangingHeight, "210 mm"}, "200 mm  ", "190 mm  ", true, "190 mm"},
		{"another value", "lamp.yaml", change{hangingHeight, "210 mm"}, "[[0 mm, 0 mm]]", "[[0 mm, 1 mm]]", false, ""},
		{"position", "lamp.yaml", change{x, "-51 mm"}, "[[-50 mm, 0 mm]", "[[-53 mm, 0 mm]", true, "-53 mm"},
		{"position removed", "lamp.yaml", change{x, "-51 mm"}, "[[-50 mm, 0 mm], ", "[", true, "50 mm"},
		{
			"position behind", "lamp.yaml",
			change{x, "-51 mm"},
			"[50 mm, 0 mm]]", "[50 mm, 0 mm], [54 mm, 9 mm]]", true, "-50 mm",
		},
		{"channel", "lamp.yaml", change{"channels[0].current", "700 mA"}, "name: cool", "name: cold", true, "790 mA"},
		{
			"new value", "lamp.yaml",
			change{"channels[0].level", "50 %"},
			"current: 790 mA", "level: 40 %\n    current: 790 mA", true, "40 %",
		},
		{
			"taken away", "lamp.yaml",
			change{"name", gone},
			"Long tank 90", "Short tank 90", true, "Short tank 90 × 45 cm, first version",
		},
		{
			"part", "parts/own.yaml",
			change{"parts/own.yaml#lenses[0].diameter", "16 mm"},
			"diameter: 12 mm", "diameter: 14 mm", true, "14 mm",
		},
		{
			"point of a curve", "parts/own.yaml",
			change{"parts/own.yaml#lenses[0].intensity_vs_angle[30 deg]", "55 %"},
			"30 deg: 50 %", "30 deg: 45 %", true, "45 %",
		},
	} {
		t.Run(tt.name, func(t *testing.T) {
			dir := withParts(t)
			_, ts := serve(t, dir)
			tried := state(t, ts).Hash
			path := filepath.Join(dir, filepath.FromSlash(tt.file))
			edited := replaceIn(t, path, tt.from, tt.to)
			body := map[string]any{
				"base": state(t, ts).Hash, "changes": []change{tt.change},
				"tried": map[string]string{tt.change.Path: tried},
			}
			resp, data := send(t, ts, "POST", "/api/save", body, nil)
			if (resp.StatusCode == http.StatusConflict) != tt.clash {
				t.Fatalf("%s: %.300s", resp.Status, data)
			}
			if !tt.clash {
				return
			}
			f := read[failure](t, data)
			if len(f.Clashes) != 1 || f.Clashes[0].Path != tt.change.Path || f.Clashes[0].Now != tt.now ||
				!strings.HasPrefix(f.Error, "1 value of the file changed since you changed the same here; nothing") {
				t.Errorf("answer %+v, want the clash of %s, now %s", f, tt.change.Path, tt.now)
			}
			if got, err := os.ReadFile(path); err != nil || string(got) != edited {
				t.Errorf("the file was changed: %v", err)
			}
			body["tried"] = map[string]string{tt.change.Path: f.Hash}
			if resp, data := send(t, ts, "POST", "/api/save", body, nil); resp.StatusCode == http.StatusConflict {
				t.Errorf("a value whose change the page knows: %.300s", data)
			}
		})
	}
}

const hangingHeight = "installation.hanging_height"

// replaceIn changes a file as an editor does, and returns its new text.
func replaceIn(t *testing.T, path, from, to string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil || !strings.Contains(string(text), from) {
		t.Fatalf("%s does not contain %q: %v", path, from, err)
	}
	out := strings.Replace(string(text), from, to, 1)
	if err := os.WriteFile(path, []byte(out), 0o644); err != nil {
		t.Fatal(err)
	}
	return out
}

// TestTriedLongAgo wants a value refused that was tried on a version which is not remembered: what it stated is not
// known.
func TestTriedLongAgo(t *testing.T) {
	dir := demo(t, "propagation-bench")
	_, ts := serve(t, dir)
	resp, data := send(t, ts, "POST", "/api/save", map[string]any{
		"base": state(t, ts).Hash, "changes": []change{{hangingHeight, "210 mm"}},
		"tried": map[string]string{hangingHeight: hashOf([]byte("a server before"))},
	}, nil)
	f := read[failure](t, data)
	if resp.StatusCode != http.StatusConflict || len(f.Clashes) != 1 || f.Clashes[0].Was != "" {
		t.Errorf("%s: %.300s", resp.Status, data)
	}
}

// TestSeenBounded wants few versions remembered.
func TestSeenBounded(t *testing.T) {
	w := &workspace{}
	for i := range 3 * maxSeen {
		w.hash = fmt.Sprint(i)
		w.rememberTexts()
	}
	if len(w.seen) != maxSeen || w.seen[len(w.seen)-1].hash != w.hash {
		t.Errorf("%d versions are remembered, want %d", len(w.seen), maxSeen)
	}
	w.text = make([]byte, maxSeenBytes*2/3)
	w.rememberTexts()
	w.rememberTexts()
	if len(w.seen) != 1 {
		t.Errorf("%d versions of two thirds of the bound are remembered, want 1", len(w.seen))
	}
}

// TestBusyFolder wants a save refused while another server keeps the lock, and nothing written.
func TestBusyFolder(t *testing.T) {
	slow(t)
	dir := demo(t, "propagation-bench")
	_, ts := serve(t, dir)
	before, st := onDisk(t, dir), state(t, ts)
	if err := os.MkdirAll(filepath.Join(dir, cacheDir), 0o755); err != nil {
		t.Fatal(err)
	}
	f, err := os.Create(filepath.Join(dir, lockFile))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := atomicfile.Lock(f, 0); err != nil {
		t.Fatal(err)
	}
	if got := saveStatus(t, ts.URL, st.Hash, change{hangingHeight, "210 mm"}); got != http.StatusServiceUnavailable {
		t.Errorf("status %d, want 503", got)
	}
	if onDisk(t, dir) != before {
		t.Error("the file was changed")
	}
}

// TestStepWhole wants all files of a step written or none: where the design has another text by now, parts go back.
func TestStepWhole(t *testing.T) {
	dir := withParts(t)
	s, ts := serve(t, dir)
	state(t, ts)
	parts := partsOnDisk(t, dir, "own.yaml")
	edited := replaceIn(t, filepath.Join(dir, "lamp.yaml"), "name: cool", "name: cold") // the server has not read it
	s.work.mu.Lock()
	_, err := s.work.write(texts{"lamp.yaml": []byte("lampwright: 2\n"), "parts/own.yaml": []byte("{}\n")})
	s.work.mu.Unlock()
	if !errors.Is(err, errConflict) {
		t.Errorf("%v, want a conflict", err)
	}
	if partsOnDisk(t, dir, "own.yaml") != parts || onDisk(t, dir) != edited {
		t.Error("half of the step was written")
	}
}

// TestReadOnlyFile wants a file of mode 0444 left as it is, with a message that says what to do.
func TestReadOnlyFile(t *testing.T) {
	dir := demo(t, "propagation-bench")
	_, ts := serve(t, dir)
	before, st := onDisk(t, dir), state(t, ts)
	if err := os.Chmod(filepath.Join(dir, "lamp.yaml"), 0o444); err != nil {
		t.Fatal(err)
	}
	resp, data := send(t, ts, "POST", "/api/save", map[string]any{
		"base": st.Hash, "changes": []change{{hangingHeight, "210 mm"}},
	}, nil)
	if resp.StatusCode == 200 || !strings.Contains(string(data), "read-only (mode 0444)") || onDisk(t, dir) != before {
		t.Errorf("%s: %.300s", resp.Status, data)
	}
}

// TestSnapshotOfOutside wants what an editor wrote in a snapshot once it is replaced, also within a minute of the last.
func TestSnapshotOfOutside(t *testing.T) {
	dir := demo(t, "propagation-bench")
	_, ts := serve(t, dir)
	saveStatus(t, ts.URL, state(t, ts).Hash, change{hangingHeight, "210 mm"})
	write(t, dir, onDisk(t, dir)+"# of the editor\n")
	saveStatus(t, ts.URL, state(t, ts).Hash, change{hangingHeight, "220 mm"})
	if !inSnapshots(t, dir, "# of the editor") {
		t.Error("no snapshot has the editor's text")
	}
}

// TestLeftovers wants the temporary files of a killed server removed at the next start, and the text of another program
// among them kept as a snapshot. Files of others, and those that a command may be writing, stay.
func TestLeftovers(t *testing.T) {
	dir := withParts(t)
	present := onDisk(t, dir)
	old := time.Now().Add(-2 * staleAfter)
	files := []struct {
		name, text string
		at         time.Time
		stays      bool
	}{
		{".lamp.yaml.12.lampwright-new", "half", time.Now(), false},
		{".lamp.yaml.13.lampwright-swap", "of an editor", time.Now(), false},
		{".lamp.yaml.14.lampwright-swap", present, time.Now(), false},
		{"parts/.own.yaml.12.lampwright-new", "half", time.Now(), false},
		{snapshotDir + "/.x.yaml.12.lampwright-new", "half", time.Now(), false},
		{cacheDir + "/.heat-1.12.lampwright-new", "half", old, false},
		{cacheDir + "/.heat-2.12.lampwright-new", "of a command", time.Now(), true},
		{".report.html.12.lampwright-new", "of a command", old, true},
		{"parts/.notes.txt.12.lampwright-new", "of somebody", old, true},
		{".lamp.yaml.swp", "of an editor", old, true},
	}
	for _, f := range files {
		path := filepath.Join(dir, f.name)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(f.text), 0o644); err != nil {
			t.Fatal(err)
		}
		if err := os.Chtimes(path, f.at, f.at); err != nil {
			t.Fatal(err)
		}
	}
	serve(t, dir)
	for _, f := range files {
		if _, err := os.Lstat(filepath.Join(dir, f.name)); (err == nil) != f.stays {
			t.Errorf("%s: %v, want it to stay: %v", f.name, err, f.stays)
		}
	}
	if !inSnapshots(t, dir, "of an editor") || inSnapshots(t, dir, "half") || inSnapshots(t, dir, present) {
		t.Error("the snapshots are not just the text of the editor")
	}
}
