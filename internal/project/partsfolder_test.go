package project

import (
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"lampwright/internal/partslib"
)

// TestPartsFolderUnreadable wants an error where a folder of parts exists and cannot be listed: only one that does not
// exist means that the project has no parts of its own.
func TestPartsFolderUnreadable(t *testing.T) {
	link := func(to string) func(t *testing.T, dir string) {
		return func(t *testing.T, dir string) {
			if err := os.Symlink(to, filepath.Join(dir, "parts")); err != nil {
				t.Skip("no links here:", err)
			}
		}
	}
	for _, tt := range []struct {
		name string
		make func(t *testing.T, dir string)
		want string // nothing: no problem
	}{
		{"none", func(*testing.T, string) {}, ""},
		{"empty folder", func(t *testing.T, dir string) {
			if err := os.Mkdir(filepath.Join(dir, "parts"), 0o755); err != nil {
				t.Fatal(err)
			}
		}, ""},
		{"plain file", func(t *testing.T, dir string) {
			if err := os.WriteFile(filepath.Join(dir, "parts"), []byte("emitters: []\n"), 0o644); err != nil {
				t.Fatal(err)
			}
		}, "parts: this is not a folder, so the project's own parts cannot be read; move its content"},
		{
			"link to itself", link("parts"),
			"parts: cannot follow the link to the folder of the project's own parts: its links",
		},
		{
			"link to nothing", link("nowhere"),
			"parts: cannot follow the link to the folder of the project's own parts: no such",
		},
		{"no permission", func(t *testing.T, dir string) {
			if os.Getuid() == 0 {
				t.Skip("root may read every folder")
			}
			if err := os.Mkdir(filepath.Join(dir, "parts"), 0o000); err != nil {
				t.Fatal(err)
			}
		}, "parts: permission to read the folder of the project's own parts is denied; allow it"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			dir := t.TempDir()
			tt.make(t, dir)
			wantPartsProblem(t, os.DirFS(dir), tt.want)
		})
	}
	for err, want := range map[error]string{
		fs.ErrPermission: "parts: permission to read",
		fs.ErrClosed:     "parts: cannot read the folder of the project's own parts: file already closed; make it",
	} {
		wantPartsProblem(t, unlistable{fstest.MapFS{"parts/own.yaml": {Data: []byte("emitters: []\n")}}, err}, want)
	}
}

func wantPartsProblem(t *testing.T, own fs.FS, want string) {
	t.Helper()
	_, problems := LoadLibrary(own, partslib.Files())
	switch {
	case want == "" && len(problems) > 0:
		t.Errorf("problems: %v", problems)
	case want != "" && (len(problems) != 1 || !strings.HasPrefix(problems.Error(), want)):
		t.Errorf("problems %q, want one that begins with %q", problems, want)
	}
}

// unlistable is a folder whose parts cannot be listed.
type unlistable struct {
	fstest.MapFS
	err error
}

func (u unlistable) ReadDir(name string) ([]fs.DirEntry, error) {
	return nil, &fs.PathError{Op: "open", Path: name, Err: u.err}
}
