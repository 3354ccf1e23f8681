package project

import (
	"io/fs"
	"strings"
	"testing"
	"testing/fstest"

	"lampwright/internal/source"
)

// TestFileRef reads a file beside a parts file, and reports every name that is none at the position of its key.
func TestFileRef(t *testing.T) {
	fsys := fstest.MapFS{
		"parts/a.csv": {Data: []byte("12345678")}, "parts/sub": {Mode: fs.ModeDir}, "secret.csv": {Data: []byte("x")},
	}
	text, _ := source.Read("parts/own.yaml", []byte("emitters: []\n"))
	for _, tt := range []struct{ name, want, msg string }{
		{"a.csv", "12345", ""}, // one byte over the limit of 4, which its reader then reports
		{"", "", "is not the name of a file"},
		{"../secret.csv", "", "is not the name of a file"},
		{"/etc/passwd", "", "is not the name of a file"},
		{`c:\a.csv`, "", "is not the name of a file"},
		{".a.csv", "", "is not the name of a file"},
		{"sub", "", "this is a folder"},
		{"none.csv", "", "file does not exist"},
	} {
		a := &adder{file: text, fsys: fsys, dir: "parts", beside: newFilesBeside(100)}
		at := source.Pos{File: "parts/own.yaml", Line: 1, Col: 4}
		ref := FileRef{
			Key: "spectrum_file", Name: source.Text{S: tt.name, Set: true, At: at}, MaxBytes: 4, Example: "white.csv",
		}
		data, ok := ref.read(a)
		if string(data) != tt.want || ok != (tt.msg == "") {
			t.Errorf("%q: %q, %t; want %q", tt.name, data, ok, tt.want)
		}
		if tt.msg == "" {
			continue
		}
		if len(a.problems) != 1 || !strings.Contains(a.problems[0].Msg, tt.msg) || a.problems[0].At != at {
			t.Errorf("%q: %v, want one problem %q at %v", tt.name, a.problems, tt.msg, at)
		}
	}
}
