package source

import (
	"fmt"
	"strings"
	"testing"
)

type treeItem struct {
	Name Text    `yaml:"name" need:"yes" doc:"its name"`
	At   []Point `yaml:"at" need:"yes" doc:"points"`
	Size Value   `yaml:"size" dim:"length" max:"<=1 m" doc:"its size" eg:"20 mm"`
}

type treeInner struct {
	On   Flag  `yaml:"on" doc:"whether"`
	Part Text  `yaml:"part" need:"yes" part:"fan" doc:"a fan"`
	N    Whole `yaml:"n" min:">=1" doc:"how many"`
}

type treeFile struct {
	Title Text       `yaml:"title" need:"yes" doc:"a title"`
	Place Point      `yaml:"place" doc:"a place"`
	Inner *treeInner `yaml:"inner" doc:"what is within"`
	Items []treeItem `yaml:"items" doc:"a list"`
	Names []Text     `yaml:"names" doc:"names" eg:"a"`
	Kind  Text       `yaml:"kind" one:"x|y" doc:"one of two"`
}

// outlineOf writes a tree on lines: path, form, text, and what adds it.
func outlineOf(list []Node) string {
	var b strings.Builder
	var walk func(list []Node)
	walk = func(list []Node) {
		for _, n := range list {
			fmt.Fprintf(&b, "%s %s", n.Path, n.Form)
			if n.Set {
				fmt.Fprintf(&b, " =%s", n.Text)
			}
			if n.New != "" {
				fmt.Fprintf(&b, " +%s", n.New)
			}
			b.WriteByte('\n')
			walk(n.Keys)
			walk(n.Items)
		}
	}
	walk(list)
	return b.String()
}

func TestTree(t *testing.T) {
	f := sampleFile(t, `title: "a: b"
items:
  - name: one   # the first
    at: [[1 mm, 2 mm], [3 mm, 4 mm]]
  - {name: "no", at: [], size: {value: 5 mm, source: "p. 1"}}
names: [a, "true", -2, x y]
`)
	example := func(path, part string) string {
		if part == "fan" {
			return "fan-1"
		}
		return map[string]string{"items[].name": "next"}[path]
	}
	got := outlineOf(f.Tree(treeFile{}, example))
	want := `title text =a: b
place point
inner mapping +{part: fan-1}
inner.on flag
inner.part text
inner.n whole
items mappings = +{name: next, at: [[320 mm, 320 mm]]}
items[0] mapping ={name: one, at: [[1 mm, 2 mm], [3 mm, 4 mm]]}
items[0].name text =one
items[0].at values =[[1 mm, 2 mm], [3 mm, 4 mm]]
items[0].size quantity
items[1] mapping ={name: "no", at: [], size: {value: 5 mm, source: "p. 1"}}
items[1].name text =no
items[1].at values =[]
items[1].size quantity ={value: 5 mm, source: "p. 1"}
names values =[a, "true", -2, x y]
kind choice
`
	if got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	tree := f.Tree(treeFile{}, func(string, string) string { return "" })
	size := tree[3].Items[1].Keys[2]
	if size.Limits != "at most 1 m" || size.Dim != "length" || len(size.Units) == 0 || !size.Whole || size.Need {
		t.Errorf("%+v", size)
	}
	if part := tree[2].Keys[1]; part.Part != "fan" || !part.Need || tree[5].One[1] != "y" {
		t.Errorf("%+v", part)
	}
}

// sampleFile reads a text that has no problems.
func sampleFile(t *testing.T, text string) *File {
	t.Helper()
	f, problems := Read("f.yaml", []byte(text))
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	return f
}

func TestCleared(t *testing.T) {
	const text = `a: 1
b: {c: {d: 2}}   # all of it
list:
  - {x: 1}
  - {x: 2}   # second
one: [3]
curve: {1 A: 2}
`
	for path, want := range map[string]string{
		"a":       strings.Replace(text, "a: 1\n", "", 1),
		"b.c.d":   strings.Replace(text, "b: {c: {d: 2}}   # all of it\n", "", 1), // nothing is left around it
		"list[1]": strings.Replace(text, "  - {x: 2}   # second\n", "", 1),
		"one[0]":  strings.Replace(text, "one: [3]\n", "", 1),
		"absent":  text,
		"b.e":     text,
	} {
		got, err := sampleFile(t, text).Cleared(path)
		if err != nil {
			t.Errorf("%s: %v", path, err)
		} else if s := string(got.Text()); s != want {
			t.Errorf("%s: got\n%s\nwant\n%s", path, s, want)
		}
	}
	for _, path := range []string{"list[7]", "curve[3 A]", "curve[1 A]", "a.b"} {
		if got, err := sampleFile(t, text).Cleared(path); err == nil {
			t.Errorf("%s: no error, and\n%s", path, got.Text())
		}
	}
}

func TestFlowText(t *testing.T) {
	for text, want := range map[string]string{
		"white": "white", "awg 20": "awg 20", "−2 K": "−2 K", "-2 K": "-2 K", "60 µmol/m²/s": "60 µmol/m²/s",
		"": `""`, "no": `"no"`, "a: b": `"a: b"`, "a, b": `"a, b"`, " a": `" a"`, "- a": `"- a"`,
		`"`: `"\""`, "-a": `"-a"`,
		"[a]": `"[a]"`, "Yes": `"Yes"`, "null": `"null"`, "true": `"true"`,
	} {
		got := FlowText(text)
		if got != want {
			t.Errorf("%q is written %s, want %s", text, got, want)
		}
		f := sampleFile(t, "v: ["+got+"]\n")
		if list := f.Leaves("v"); len(list) != 1 || list[0].Text != text {
			t.Errorf("%s is read as %v", got, list)
		}
	}
}
