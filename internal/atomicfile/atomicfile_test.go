package atomicfile

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"
)

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// holds checks text and mode of a file.
func holds(t *testing.T, path, want string, mode os.FileMode) {
	t.Helper()
	got, err := os.ReadFile(path)
	must(t, err)
	info, err := os.Stat(path)
	must(t, err)
	if string(got) != want || info.Mode().Perm() != mode {
		t.Errorf("%s contains %q with mode %v, want %q with %v", path, got, info.Mode().Perm(), want, mode)
	}
}

// entries checks the number of files in a folder: no temporary file stays.
func entries(t *testing.T, dir string, want int) {
	t.Helper()
	list, err := os.ReadDir(dir)
	must(t, err)
	if len(list) != want {
		t.Errorf("%d files are left, want %d: %v", len(list), want, list)
	}
}

func TestSave(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "lamp.yaml")
	must(t, Save(path, []byte("a: 1\n")))
	holds(t, path, "a: 1\n", 0o644)
	must(t, os.Chmod(path, 0o600))
	must(t, Save(path, []byte("a: 2\n")))
	holds(t, path, "a: 2\n", 0o600)

	link := filepath.Join(dir, "link.yaml")
	must(t, os.Symlink(path, link))
	must(t, Save(link, []byte("a: 3\n")))
	holds(t, path, "a: 3\n", 0o600)
	if target, err := os.Readlink(link); err != nil || target != path {
		t.Errorf("the link is gone: %v", err)
	}

	dangling := filepath.Join(dir, "dangling.yaml")
	must(t, os.Symlink(filepath.Join(dir, "nowhere"), dangling))
	for name, at := range map[string]string{
		"a folder": dir, "no folder": filepath.Join(dir, "no", "x"), "a link to nowhere": dangling,
	} {
		if err := Save(at, nil); err == nil || !strings.HasPrefix(err.Error(), fmt.Sprintf("save %s: ", at)) {
			t.Errorf("%s: %v", name, err)
		}
	}
	entries(t, dir, 3)
}

// TestReadOnly wants a file that its owner may not write left as it is, for root too.
func TestReadOnly(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "lamp.yaml")
	must(t, os.WriteFile(path, []byte("a"), 0o444))
	for name, do := range map[string]func() error{
		"save":    func() error { return Save(path, []byte("b")) },
		"replace": func() error { return Replace(path, []byte("a"), []byte("b")) },
		"remove":  func() error { return Remove(path, []byte("a")) },
	} {
		err := do()
		if !errors.Is(err, fs.ErrPermission) || !strings.Contains(err.Error(), "read-only (mode 0444): allow") {
			t.Errorf("%s: %v", name, err)
		}
	}
	holds(t, path, "a", 0o444)
	entries(t, dir, 1)
}

func TestReplace(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "lamp.yaml")
	changed := func(name string, err error) {
		t.Helper()
		if !errors.Is(err, ErrChanged) {
			t.Errorf("%s: %v, want ErrChanged", name, err)
		}
	}
	changed("a file that is not there", Replace(path, []byte("a"), []byte("b")))
	must(t, Replace(path, nil, []byte("a")))
	changed("a file that exists already", Replace(path, nil, []byte("b")))
	must(t, Replace(path, []byte("a"), []byte("b")))
	holds(t, path, "b", 0o644)
	changed("another text", Replace(path, []byte("a"), []byte("c")))
	changed("another text, removed", Remove(path, []byte("a")))
	holds(t, path, "b", 0o644)
	must(t, Remove(path, []byte("b")))
	changed("removed twice", Remove(path, []byte("b")))
	entries(t, dir, 0)
}

// TestCreateRace wants a file that another program made in the meantime left as it is.
func TestCreateRace(t *testing.T) {
	dir := t.TempDir()
	tmp, path := filepath.Join(dir, "tmp"), filepath.Join(dir, "own.yaml")
	must(t, os.WriteFile(tmp, []byte("ours"), 0o644))
	must(t, os.WriteFile(path, []byte("theirs"), 0o644))
	if err := create(tmp, path); !errors.Is(err, ErrChanged) {
		t.Errorf("%v, want ErrChanged", err)
	}
	holds(t, path, "theirs", 0o644)
}

// TestReplaceRace writes a file at the worst moments: after the last look at it, and once more while it is put back.
func TestReplaceRace(t *testing.T) {
	for _, tt := range []struct {
		name     string
		writes   []string // before each exchange; empty: none
		want     string   // in the file
		left     string   // in a temporary file
		conflict bool
	}{
		{"nobody", nil, "ours", "", false},
		{"an editor", []string{"theirs"}, "theirs", "", true},
		{"an editor twice", []string{"theirs", "again"}, "theirs", "again", true},
		{"it is removed", []string{"(remove)"}, "", "", true},
	} {
		t.Run(tt.name, func(t *testing.T) {
			dir := t.TempDir()
			path := filepath.Join(dir, "lamp.yaml")
			must(t, os.WriteFile(path, []byte("was"), 0o644))
			n := 0
			err := replace(path, []byte("was"), []byte("ours"), func(a, b string) error {
				if n < len(tt.writes) {
					if tt.writes[n] == "(remove)" {
						must(t, os.Remove(path))
					} else {
						editor := filepath.Join(t.TempDir(), "x")
						must(t, os.WriteFile(editor, []byte(tt.writes[n]), 0o644))
						must(t, os.Rename(editor, path))
					}
				}
				n++
				return exchange(a, b)
			})
			if runtime.GOOS != "linux" && runtime.GOOS != "darwin" {
				t.Skip("this system cannot exchange two files in one step")
			}
			if errors.Is(err, ErrChanged) != tt.conflict || (err != nil) != tt.conflict {
				t.Errorf("error %v, want a conflict: %v", err, tt.conflict)
			}
			if tt.want != "" {
				holds(t, path, tt.want, 0o644)
			}
			wantLeft(t, dir, tt.left)
		})
	}
}

// wantLeft checks the text of the only temporary file; none is expected without a text.
func wantLeft(t *testing.T, dir, want string) {
	t.Helper()
	list, err := os.ReadDir(dir)
	must(t, err)
	got := ""
	for _, e := range list {
		if of, whole, ok := Leftover(e.Name()); ok {
			if of != "lamp.yaml" || !whole {
				t.Errorf("%s is left of %s, whole: %v", e.Name(), of, whole)
			}
			data, err := os.ReadFile(filepath.Join(dir, e.Name()))
			must(t, err)
			got = string(data)
		}
	}
	if got != want {
		t.Errorf("left behind: %q, want %q", got, want)
	}
}

// TestNoExchange replaces where two files cannot be exchanged in one step.
func TestNoExchange(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "lamp.yaml")
	must(t, os.WriteFile(path, []byte("was"), 0o644))
	cannot := func(_, _ string) error { return errors.ErrUnsupported }
	must(t, replace(path, []byte("was"), []byte("ours"), cannot))
	holds(t, path, "ours", 0o644)
	if err := replace(path, []byte("was"), []byte("more"), cannot); !errors.Is(err, ErrChanged) {
		t.Errorf("%v, want ErrChanged", err)
	}
	entries(t, dir, 1)
}

func TestLeftover(t *testing.T) {
	for name, want := range map[string]string{
		".lamp.yaml.123.lampwright-new":  "lamp.yaml false true",
		".lamp.yaml.123.lampwright-swap": "lamp.yaml true true",
		".lamp.yaml.123.tmp":             " false false",
		".lamp.yaml.12x.lampwright-new":  " false false",
		"lamp.yaml.12.lampwright-new":    " false false",
		"..12.lampwright-new":            " false false",
	} {
		if of, whole, ok := Leftover(name); fmt.Sprint(of, " ", whole, " ", ok) != want {
			t.Errorf("%s: %q %v %v, want %s", name, of, whole, ok, want)
		}
	}
}

// TestLock wants one holder at a time, also among the open files of one process.
func TestLock(t *testing.T) {
	path := filepath.Join(t.TempDir(), "lock")
	open := func() *os.File {
		f, err := os.OpenFile(path, os.O_RDONLY|os.O_CREATE, 0o644)
		must(t, err)
		t.Cleanup(func() { f.Close() })
		return f
	}
	a, b := open(), open()
	must(t, Lock(a, 0))
	if err := Lock(b, 5*time.Millisecond); !errors.Is(err, ErrBusy) {
		t.Errorf("a lock was given twice: %v", err)
	}
	must(t, a.Close())
	must(t, Lock(b, time.Second))
	if err := Lock(a, 0); err == nil || errors.Is(err, ErrBusy) {
		t.Errorf("a closed file: %v", err)
	}
}
