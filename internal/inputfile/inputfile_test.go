//go:build unix

package inputfile

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// hostile makes a folder with files that must not be read, and returns their names with the words of the refusal.
func hostile(t *testing.T) (dir string, refused map[string]string) {
	t.Helper()
	dir = t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	outside := filepath.Join(t.TempDir(), "outside")
	for _, err := range []error{
		syscall.Mkfifo(at("pipe"), 0o600),
		os.Symlink("pipe", at("link-to-pipe")),
		os.Symlink("/dev/zero", at("device")),
		os.Symlink("b", at("a")),
		os.Symlink("a", at("b")),
		os.Mkdir(at("folder"), 0o700),
		os.WriteFile(at("whole"), []byte("12345"), 0o600),
		os.Symlink("whole", at("link")),
		os.WriteFile(outside, []byte("beyond"), 0o600),
		os.Symlink(outside, at("out")),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	return dir, map[string]string{
		"pipe": "this is a named pipe, not a regular file", "link-to-pipe": "this is a named pipe, not a regular file",
		"device": "this is a device, not a regular file", "folder": "this is a folder, not a regular file",
		"a": "its links form a loop", "absent": "no such file or directory",
	}
}

// within fails a test that does not end.
func within(t *testing.T, what string, f func()) {
	t.Helper()
	done := make(chan struct{})
	go func() {
		defer close(done)
		f()
	}()
	select {
	case <-done:
	case <-time.After(5 * time.Second):
		t.Fatalf("%s: still waiting after 5 s", what)
	}
}

// TestRead reads what is no regular file: each is refused in words, and none waits.
func TestRead(t *testing.T) {
	dir, refused := hostile(t)
	root, err := os.OpenRoot(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer root.Close()
	for from, fsys := range map[string]fs.FS{"folder": Folder(dir), "root": Root(root)} {
		for name, want := range refused {
			if from == "root" && name == "device" {
				want = "leads out of the project folder"
			}
			within(t, from+" "+name, func() {
				data, err := Read(fsys, name, 100)
				if err == nil || !strings.Contains(Reason(err), want) {
					t.Errorf("%s: Read(%s) = %d bytes, %v; want %q", from, name, len(data), err, want)
				}
			})
		}
		for _, name := range []string{"whole", "link"} {
			for limit, want := range map[int64]string{100: "12345", 5: "12345", 3: "1234"} {
				data, err := Read(fsys, name, limit)
				if err != nil || string(data) != want {
					t.Errorf("%s: Read(%s, %d) = %q, %v; want %q", from, name, limit, data, err, want)
				}
			}
		}
		if info, err := fs.Lstat(fsys, "link"); err != nil || info.Mode()&fs.ModeSymlink == 0 {
			t.Errorf("%s: Lstat of a link: %v, %v", from, info, err)
		}
		if to, err := fs.ReadLink(fsys, "link"); err != nil || to != "whole" {
			t.Errorf("%s: a link leads to %q, %v", from, to, err)
		}
		if _, err := Read(fsys, "../x", 9); !errors.Is(err, fs.ErrInvalid) {
			t.Errorf("%s: a name beyond the folder: %v", from, err)
		}
	}
	if _, err := Read(Root(root), "out", 9); err == nil || !strings.Contains(Reason(err), "leads out of the project") {
		t.Errorf("a link that leads out of a root: %v", err)
	}
	if data, err := Read(Folder(dir), "out", 9); err != nil || string(data) != "beyond" {
		t.Errorf("a folder follows links: %q, %v", data, err)
	}
}

// TestReadPath names the path as typed.
func TestReadPath(t *testing.T) {
	dir, _ := hostile(t)
	path := filepath.Join(dir, "pipe")
	within(t, path, func() {
		if _, err := ReadPath(path, 9); !errors.Is(err, ErrType) || !strings.Contains(err.Error(), path) {
			t.Errorf("ReadPath(%s): %v", path, err)
		}
	})
	if data, err := ReadPath(filepath.Join(dir, "whole"), 9); err != nil || string(data) != "12345" {
		t.Errorf("a file: %q, %v", data, err)
	}
}

// TestReplaced opens a file that became a named pipe after it was looked at: the second look refuses it.
func TestReplaced(t *testing.T) {
	dir, _ := hostile(t)
	real, ok := Folder(dir).(opener)
	if !ok {
		t.Fatal("a folder is not an opener")
	}
	late := opener{
		stat: func(string) (fs.FileInfo, error) { return real.stat("whole") },
		open: func(string) (*os.File, error) { return real.open("pipe") },
	}
	within(t, "replaced", func() {
		if _, err := late.Open("whole"); !errors.Is(err, ErrType) {
			t.Errorf("a file replaced by a named pipe: %v", err)
		}
	})
}
