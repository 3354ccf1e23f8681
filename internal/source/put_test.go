package source

import (
	"strings"
	"testing"
)

func TestPut(t *testing.T) {
	for _, tt := range []struct{ name, text, path, value, want string }{
		{"a scalar", "a: 1 # one\nb: 2\n", "a", "3", "a: 3 # one\nb: 2\n"},
		{"a mapping for a scalar", "a: 1 # one\nb: 2\n", "a", "{x: 1, y: [2]}", "a: {x: 1, y: [2]} # one\nb: 2\n"},
		{"a mapping in braces", "a: {x: 1} # c\n", "a", "{x: 2, y: 3}", "a: {x: 2, y: 3} # c\n"},
		{"a mapping in lines", "a:\n  x: 1\n  y: 2\nb: 3\n", "a", "{x: 4}", "a:\n  {x: 4}\nb: 3\n"},
		{
			"a missing key", "a: 1\nb:\n  c: 2 # two\nd: 3\n", "b.e", "{f: 4}",
			"a: 1\nb:\n  c: 2 # two\n  e: {f: 4}\nd: 3\n",
		},
		{"missing keys", "a: 1\n", "b.c", "[1, 2]", "a: 1\nb: {c: [1, 2]}\n"},
		{"an empty key", "a:\nb: 1\n", "a", "{c: 2}", "a: {c: 2}\nb: 1\n"},
		{
			"an item in lines", "l:\n  - a: 1\n    b: 2 # of b\n# of m\nm: 3\n", "l[1]", "{a: 4}",
			"l:\n  - a: 1\n    b: 2 # of b\n  - {a: 4}\n# of m\nm: 3\n",
		},
		{"an item without indent", "l:\n- 1\n- 2\nm: 3\n", "l[2]", "3", "l:\n- 1\n- 2\n- 3\nm: 3\n"},
		{"an item in brackets", "l: [[1, 2], [3, 4]] # c\n", "l[2]", "[5, 6]", "l: [[1, 2], [3, 4], [5, 6]] # c\n"},
		{"an item before a comma", "l: [1, 2,]\n", "l[2]", "3", "l: [1, 2, 3,]\n"},
		{"the first item in brackets", "l: []\n", "l[0]", "1", "l: [1]\n"},
		{"the first item of a missing list", "a: 1\n", "l[0]", "{b: 2}", "a: 1\nl: [{b: 2}]\n"},
		{"the first item of an empty key", "l:\na: 1\n", "l[0]", "2", "l: [2]\na: 1\n"},
		{"an item in its place", "l: [1, 2]\n", "l[0]", "{a: 3}", "l: [{a: 3}, 2]\n"},
		{"an item of an item", "l:\n  - at: [[1, 2]]\n", "l[0].at[1]", "[3, 4]", "l:\n  - at: [[1, 2], [3, 4]]\n"},
		{"CRLF", "l:\r\n  - 1\r\nm: 2\r\n", "l[1]", "3", "l:\r\n  - 1\r\n  - 3\r\nm: 2\r\n"},
		{"the last line without a break", "l:\n  - 1", "l[1]", "3", "l:\n  - 1\n  - 3"},
	} {
		f, problems := Read("x", []byte(tt.text))
		if len(problems) > 0 {
			t.Fatal(tt.name, problems)
		}
		got, err := f.Put(tt.path, tt.value)
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
		} else if string(got.Text()) != tt.want {
			t.Errorf("%s: %q, want %q", tt.name, got.Text(), tt.want)
		}
	}
}

func TestPutRefuses(t *testing.T) {
	const text = "a: 1\nl: [1, 2]\nb: {c: 3}\n"
	for _, tt := range []struct{ name, path, value, says string }{
		{"an index far beyond", "l[4]", "1", "no item"},
		{"through a scalar", "a.b", "1", "leads through"},
		{"two lines", "a", "1\nb: 2", "one line"},
		{"nothing", "a", "", "one line"},
		{"a comment that swallows", "b.c", "4 # x", ""},
		{"more than a value", "b.c", "1, d: 2", ""},
		{"an open bracket", "a", "[1, 2", "cannot be read"},
		{"an alias", "a", "*x", "cannot be read"},
		{"a mapping without braces", "a", "b: 1", ""},
		{"a control character", "a", "\a", "not allowed"},
		{"much", "a", strings.Repeat("x", 9000), "at most"},
	} {
		f, _ := Read("x", []byte(text))
		got, err := f.Put(tt.path, tt.value)
		if err == nil || !strings.Contains(err.Error(), tt.says) {
			t.Errorf("%s: %v, %v", tt.name, got, err)
		}
	}
}

func TestWithout(t *testing.T) {
	for _, tt := range []struct{ name, text, path, want string }{
		{"the first in lines", "l:\n  - 1 # one\n  # of two\n  - 2\n", "l[0]", "l:\n  # of two\n  - 2\n"},
		{"the last in lines", "l:\n  - 1\n  - a: 2\n    b: 3\nm: 4\n", "l[1]", "l:\n  - 1\nm: 4\n"},
		{"the last line without a break", "l:\n- 1\n- 2", "l[1]", "l:\n- 1"},
		{"CRLF", "l:\r\n- 1\r\n- 2\r\n", "l[0]", "l:\r\n- 2\r\n"},
		{"the first in brackets", "l: [[1, 2], [3, 4]]\n", "l[0]", "l: [[3, 4]]\n"},
		{"the last in brackets", "l: [[1, 2], [3, 4]]\n", "l[1]", "l: [[1, 2]]\n"},
		{"one over lines", "l: [\n  1,\n  2,\n  3\n]\n", "l[1]", "l: [\n  1,\n  3\n]\n"},
	} {
		f, problems := Read("x", []byte(tt.text))
		if len(problems) > 0 {
			t.Fatal(tt.name, problems)
		}
		got, err := f.Without(tt.path)
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
		} else if string(got.Text()) != tt.want {
			t.Errorf("%s: %q, want %q", tt.name, got.Text(), tt.want)
		}
	}
	f, _ := Read("x", []byte("l: [1]\nm: {a: 2}\n"))
	for _, path := range []string{"l[0]", "l[1]", "m", "m[0]", "n[0]", "l[x]", ""} {
		if got, err := f.Without(path); err == nil {
			t.Errorf("%q: %q", path, got.Text())
		}
	}
}

// FuzzPut: whatever is put where, the result is a file without problems, or an error.
func FuzzPut(f *testing.F) {
	f.Add("a: 1\nl:\n  - b: 2\n", "l[1]", "{b: 3}")
	f.Add("a: {b: [1, 2]}\n", "a.b[2]", "3")
	f.Add("a:\n", "a.b.c", "[x]")
	f.Fuzz(func(t *testing.T, text, path, value string) {
		file, problems := Read("x", []byte(text))
		if file == nil || len(problems) > 0 {
			return
		}
		if got, err := file.Put(path, value); err == nil && len(got.Problems()) > 0 {
			t.Fatal(got.Problems())
		}
		if got, err := file.Without(path); err == nil && len(got.Problems()) > 0 {
			t.Fatal(got.Problems())
		}
	})
}

// TestPutAll puts a value, takes one away, and names the setting that fails.
func TestPutAll(t *testing.T) {
	f, problems := Read("lamp.yaml", []byte("a: 1 mm\nb: 2 mm # two\nc: 3 mm\n"))
	if f == nil {
		t.Fatal(problems)
	}
	got, err := f.PutAll([]Setting{{Path: "a", Text: "4 mm"}, {Path: "c"}})
	if err != nil {
		t.Fatal(err)
	}
	if want := "a: 4 mm\nb: 2 mm # two\n"; string(got.Text()) != want {
		t.Errorf("%q, want %q", got.Text(), want)
	}
	if _, err := f.PutAll([]Setting{{Path: "a", Text: "4 mm"}, {Path: "d"}}); err == nil {
		t.Error("a key that is not there was taken away")
	}
}
