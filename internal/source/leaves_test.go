package source

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

// TestLeaves wants the path of every scalar to be one that At finds and Splice changes.
func TestLeaves(t *testing.T) {
	text := "a: 1 # one\nlist:\n  - id: x\n    curve: {0.1 A: 2 V, 1 A: \"3 V\"}\n    v: {value: 3 m, source: \"p. 2\"}\n  - id: y\n    empty:\n"
	f, problems := Read("f.yaml", []byte(text))
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	var got [][2]string
	for _, l := range f.Leaves("list[0]") {
		got = append(got, [2]string{l.Path, l.Text})
		at, ok := f.At(l.Path)
		if !ok || at.Line != l.At.Line || at.Col != l.At.Col {
			t.Errorf("%s is at %v, and not at %v", l.Path, at, l.At)
		}
		if _, err := f.Splice(l.Path, "7 V"); err != nil {
			t.Errorf("%s cannot be changed: %v", l.Path, err)
		}
	}
	want := [][2]string{{"list[0].id", "x"}, {"list[0].curve[0.1 A]", "2 V"}, {"list[0].curve[1 A]", "3 V"}, {"list[0].v.value", "3 m"}, {"list[0].v.source", "p. 2"}}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
	if n := len(f.Leaves("")); n != 8 {
		t.Errorf("the file has %d scalars, want 8", n)
	}
	for _, path := range []string{"none", "list[7]", "list[", "a.b"} {
		if l := f.Leaves(path); l != nil {
			t.Errorf("%s has %v", path, l)
		}
	}
}

func TestKeys(t *testing.T) {
	list := Keys(sample{})
	if len(list) == 0 {
		t.Fatal("no keys")
	}
	for _, k := range list {
		if k.Key == "" {
			t.Errorf("a key without a name: %+v", k)
		}
	}
}
