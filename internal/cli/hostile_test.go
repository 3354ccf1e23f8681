//go:build unix

package cli

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"lampwright/internal/store"
)

// demoFolder returns a folder with a copy of a demo.
func demoFolder(t *testing.T, name string) string {
	t.Helper()
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS("../../examples/"+name)); err != nil {
		t.Fatal(err)
	}
	return dir
}

// TestHostileFiles gives named pipes, devices and loops of links where a command reads a file: each ends with 2 and a
// message that names the file.
func TestHostileFiles(t *testing.T) {
	makers := map[string]func(path string) error{
		"named pipe":  func(path string) error { return syscall.Mkfifo(path, 0o600) },
		"device":      func(path string) error { return os.Symlink("/dev/zero", path) },
		"form a loop": func(path string) error { return os.Symlink(filepath.Base(path), path) },
	}
	for want, put := range makers {
		for file, args := range map[string][]string{
			"lamp.yaml":           {"review", "DIR"},
			"parts/a.yaml":        {"review", "DIR"},
			"other.yaml":          {"figures", "DIR/other.yaml"},
			"case.json":           {"verify", "--case", "DIR/case.json"},
			"spectrum.csv":        {"spectrum", "DIR/spectrum.csv"},
			"lamp.ies":            {"photometry", "DIR/lamp.ies"},
			"parts/spectrum.yaml": {"parts", "--dir", "DIR"},
		} {
			dir := demoFolder(t, "propagation-bench")
			path := filepath.Join(dir, file)
			if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
				t.Fatal(err)
			}
			_ = os.Remove(path)
			if err := put(path); err != nil {
				t.Fatal(err)
			}
			line := make([]string, len(args))
			for i, a := range args {
				line[i] = strings.ReplaceAll(a, "DIR", dir)
			}
			status, text := mainWithin(t, line)
			if status != statusBad || !strings.Contains(text, want) || !strings.Contains(text, filepath.Base(file)) {
				t.Errorf("%s as %s: status %d, %q", want, file, status, text)
			}
		}
	}
}

// TestHostileCache makes the cache folder's files named pipes: the lamp is computed.
func TestHostileCache(t *testing.T) {
	dir := demoFolder(t, "propagation-bench")
	store := fileStore{dir: filepath.Join(dir, store.Folder)}
	if err := os.MkdirAll(store.dir, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := syscall.Mkfifo(filepath.Join(store.dir, "heat-1"), 0o600); err != nil {
		t.Fatal(err)
	}
	done := make(chan bool)
	go func() {
		_, ok := store.Get("heat-1")
		done <- ok
	}()
	select {
	case ok := <-done:
		if ok {
			t.Error("a named pipe is taken for a stored response")
		}
	case <-time.After(5 * time.Second):
		t.Fatal("a named pipe in the cache folder hangs the program")
	}
}

// mainWithin runs a command and fails if it does not end.
func mainWithin(t *testing.T, args []string) (status int, text string) {
	t.Helper()
	var out bytes.Buffer
	ended := make(chan int, 1)
	go func() { ended <- Main(args, &out, &out) }()
	select {
	case status = <-ended:
		return status, out.String()
	case <-time.After(20 * time.Second):
		t.Fatalf("%q does not end", args)
	}
	return 0, ""
}
