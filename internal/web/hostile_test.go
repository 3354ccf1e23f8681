//go:build unix

package web

import (
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// TestNamedPipes puts named pipes where the workspace reads files, before it starts and while it runs: it answers, and
// says what the file is.
func TestNamedPipes(t *testing.T) {
	for _, name := range []string{"lamp.yaml", "parts", "parts/own.yaml", "other.yaml"} {
		dir := demo(t, "propagation-bench")
		path := filepath.Join(dir, name)
		_ = os.MkdirAll(filepath.Dir(path), 0o755)
		_ = os.Remove(path)
		if err := syscall.Mkfifo(path, 0o600); err != nil {
			t.Fatal(err)
		}
		_, addr := listening(t, dir)
		for _, page := range []string{"state", "versions"} {
			request := "GET /api/" + page + " HTTP/1.1\r\nHost: " + addr + "\r\nConnection: close\r\n\r\n"
			got, took := raw(t, addr, request, 20*time.Second)
			if !strings.HasPrefix(got, "HTTP/1.1 200") {
				t.Errorf("%s is a named pipe: /api/%s after %v: %.300s", name, page, took, got)
			}
			if page == "state" && name == "lamp.yaml" && !strings.Contains(got, "named pipe") {
				t.Errorf("%s is a named pipe: the page does not say so: %.300s", name, got)
			}
		}
	}
}

// TestManyProblems: a page gets the first problems, those of the file that is edited before the others, and their
// number.
func TestManyProblems(t *testing.T) {
	dir := demo(t, "moss-jar")
	faults := "emitters:\n" + strings.Repeat("  - {id: a b, nonsense: 1}\n", 30)
	for _, name := range []string{"a.yaml", "z.yaml"} {
		if err := os.MkdirAll(filepath.Join(dir, "parts"), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, "parts", name), []byte(faults), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	_, ts := serve(t, dir)
	type problems struct {
		Problems []struct{ At struct{ File string } }
		Count    int
		All      int `json:"problem_count"`
		Error    string
	}
	_, data := send(t, ts, "GET", "/api/state", nil, nil)
	if got := read[problems](t, data); len(got.Problems) != 20 || got.All < 200 {
		t.Errorf("state: %d problems of %d", len(got.Problems), got.All)
	}
	_, data = send(t, ts, "POST", "/api/check", map[string]string{"file": "parts/z.yaml", "text": faults}, nil)
	got := read[problems](t, data)
	if len(got.Problems) != 20 || got.Count < 200 || got.Problems[maxShown-1].At.File != "parts/z.yaml" {
		t.Errorf("check: %d problems of %d: %+v", len(got.Problems), got.Count, got.Problems)
	}
	_, data = send(t, ts, "POST", "/api/preview", map[string]any{"base": state(t, ts).Hash, "changes": []change{}}, nil)
	if got := read[problems](t, data); len(got.Problems) != 20 || !strings.HasSuffix(got.Error, " problems") {
		t.Errorf("preview: %d problems, %q", len(got.Problems), got.Error)
	}
}
