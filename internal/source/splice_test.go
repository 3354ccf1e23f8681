package source

import (
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestSplice(t *testing.T) {
	for _, tt := range []struct{ name, text, path, to, want string }{
		{"plain", "a: 1 A   # keep\nb: 2\n", "a", "2.5 A", "a: 2.5 A   # keep\nb: 2\n"},
		{"plain that needs quotes", "a: x\n", "a", "b: c", "a: 'b: c'\n"},
		{"plain to comment sign", "a: x\n", "a", "b #c", "a: 'b #c'\n"},
		{"plain to empty", "a: x\n", "a", "", "a: ''\n"},
		{"plain to null's name", "a: x\n", "a", "null", "a: 'null'\n"},
		{"plain to number", "a: x\n", "a", "80", "a: 80\n"},
		{"plain to several lines", "a: x\n", "a", "b\nc", "a: \"b\\nc\"\n"},
		{"plain of several lines", "a: x\n  y\n  z\nb: 1\n", "a", "w", "a: w\nb: 1\n"},
		{"plain with a quote", "a: x\n", "a", "'s", "a: '''s'\n"},
		{"in brackets", "a: [1 A, 2 A, 3 A] # c\n", "a[1]", "5 A", "a: [1 A, 5 A, 3 A] # c\n"},
		{"comma in brackets", "a: [1 A, 2 A]\n", "a[0]", "b, c", "a: ['b, c', 2 A]\n"},
		{"in braces", "a: {x: 1 mm, y: 2 mm}\n", "a.y", "3 mm", "a: {x: 1 mm, y: 3 mm}\n"},
		{"single quotes", "a: 'it''s' # c\n", "a", "that's", "a: 'that''s' # c\n"},
		{"double quotes", "a: \"x \\\" y\" # c\n", "a", "b\\\"c", "a: \"b\\\\\\\"c\" # c\n"},
		{"double quotes over lines", "a: \"x\n   y\" # c\n", "a", "b", "a: \"b\" # c\n"},
		{"literal block", "a: |\n  x\n\n  y\n\nb: 1\n", "a", "w", "a: w\n\nb: 1\n"},
		{"folded block at the end", "b: 1\na: >-\n  x\n  y", "a", "w", "b: 1\na: w"},
		{"empty value", "a:\nb: 1\n", "a", "x", "a: x\nb: 1\n"},
		{"empty value with comment", "a:   # c\nb: 1\n", "a", "x", "a: x   # c\nb: 1\n"},
		{"empty value in braces", "a: {x: , y: 1}\n", "a.x", "2", "a: {x: 2 , y: 1}\n"},
		{"null written out", "a: ~\n", "a", "x", "a: x\n"},
		{"value mapping", "a: {value: 1 A, source: s}\n", "a", "2 A", "a: {value: 2 A, source: s}\n"},
		{"value mapping's end", "a: {value: 1 A, min: 0.5 A}\n", "a.min", "0.7 A", "a: {value: 1 A, min: 0.7 A}\n"},
		{
			"curve point", "v:\n  0.1 A: 2.7 V\n  0.35 A: 2.9 V\n", "v[0.35 A]", "3 V",
			"v:\n  0.1 A: 2.7 V\n  0.35 A: 3 V\n",
		},
		{
			"list of mappings", "c:\n  - n: a\n    i: 1 A\n  - n: b\n    i: 2 A # x\n", "c[1].i", "3 A",
			"c:\n  - n: a\n    i: 1 A\n  - n: b\n    i: 3 A # x\n",
		},
		{"wide characters", "日本: [Ω, µ, 🌱, x]\n", "日本[3]", "y", "日本: [Ω, µ, 🌱, y]\n"},
		{"byte order mark and CRLF", "\uFEFFa: 1\r\nb: 2\r\n", "b", "3", "\uFEFFa: 1\r\nb: 3\r\n"},

		{
			"new key", "a: 1\nb:\n  c: 2 # x\n\n# next\nd: 3\n", "b.e", "5",
			"a: 1\nb:\n  c: 2 # x\n  e: 5\n\n# next\nd: 3\n",
		},
		{"new key at the root", "a: 1\nb: 2", "c", "3", "a: 1\nb: 2\nc: 3"},
		{"new key at the root, line break", "a: 1\nb: 2\n", "c", "3", "a: 1\nb: 2\nc: 3\n"},
		{"new key, CRLF", "a: 1\r\nb: 2\r\n", "c", "3", "a: 1\r\nb: 2\r\nc: 3\r\n"},
		{
			"new key in an item", "c:\n  - n: a\n    i: 1 A\n  - n: b\n", "c[0].l", "80 %",
			"c:\n  - n: a\n    i: 1 A\n    l: 80 %\n  - n: b\n",
		},
		{"new key in braces", "a: {x: 1} # c\n", "a.y", "2", "a: {x: 1, y: 2} # c\n"},
		{"new key in empty braces", "a: {}\n", "a.y", "2", "a: {y: 2}\n"},
		{"new key in braces over lines", "a: {\n  x: 1, # c\n}\n", "a.y", "2", "a: {\n  x: 1, y: 2, # c\n}\n"},
		{
			"new key after a list", "a:\n  b: [1,\n    {c: 2} ] # z\nd: 1\n", "a.e", "2",
			"a:\n  b: [1,\n    {c: 2} ] # z\n  e: 2\nd: 1\n",
		},
		{
			"new key after a block", "a:\n  b: |\n    x\n    y\nd: 1\n", "a.e", "2",
			"a:\n  b: |\n    x\n    y\n  e: 2\nd: 1\n",
		},
		{"new key after an empty value", "a:\n  b:\nd: 1\n", "a.e", "2", "a:\n  b:\n  e: 2\nd: 1\n"},
		{
			"new key after an empty item", "a:\n  b:\n  -\n  -   # c\nd: 1\n", "a.e", "2",
			"a:\n  b:\n  -\n  -   # c\n  e: 2\nd: 1\n",
		},
		{"new key after a bare key in braces", "a: {x, y}\n", "a.z", "2", "a: {x, y, z: 2}\n"},
		{"new mapping", "a: 1\n", "day.full", "8 h", "a: 1\nday: {full: 8 h}\n"},
		{"new mapping in a mapping", "a: {b: 1}\n", "a.c.d", "8, h", "a: {b: 1, c: {d: '8, h'}}\n"},
		{"new key in an empty mapping", "a:   # c\nb: 1\n", "a.x", "2", "a: {x: 2}   # c\nb: 1\n"},
		{"new point of a curve", "v: {0.1 A: 2.7 V}\n", "v[0.35 A]", "2.9 V", "v: {0.1 A: 2.7 V, 0.35 A: 2.9 V}\n"},
		{
			"new point between two", "v: {0.1 A: 2.7 V, 1 A: 3 V} # c\n", "v[350 mA]", "2.9 V",
			"v: {0.1 A: 2.7 V, 350 mA: 2.9 V, 1 A: 3 V} # c\n",
		},
		{"new first point", "v: {0.1 A: 2.7 V}\n", "v[50 mA]", "2.5 V", "v: {50 mA: 2.5 V, 0.1 A: 2.7 V}\n"},
		{
			"new point in lines", "v:\n  # low\n  0.1 A: 2.7 V  # x\n  # high\n  1 A: 3 V\nw: 1\n", "v[0.5 A]", "2.9 V",
			"v:\n  # low\n  0.1 A: 2.7 V  # x\n  0.5 A: 2.9 V\n  # high\n  1 A: 3 V\nw: 1\n",
		},
		{
			"new first point in lines", "v:\n  0.1 A: 2.7 V\r\n  1 A: 3 V\n", "v[0.05 A]", "2.5 V",
			"v:\n  0.05 A: 2.5 V\n  0.1 A: 2.7 V\r\n  1 A: 3 V\n",
		},
		{"new first point, last line", "v:\n  0 °C: 1", "v[-10 °C]", "2", "v:\n  -10 °C: 2\n  0 °C: 1"},
		{
			"new point of a curve in full", "v:\n  source: s\n  points: {0 °C: 1, 50 °C: 2}\n", "v.points[25 °C]",
			"1.5", "v:\n  source: s\n  points: {0 °C: 1, 25 °C: 1.5, 50 °C: 2}\n",
		},
		{
			"new point where keys do not grow", "v: {2 A: 1 V, 1 A: 2 V}\n", "v[1.5 A]", "3 V",
			"v: {2 A: 1 V, 1 A: 2 V, 1.5 A: 3 V}\n",
		},
		{"new point of a new curve", "a: 1\n", "v[0.1 A]", "2.7 V", "a: 1\nv: {0.1 A: 2.7 V}\n"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			f, problems := Read("x", []byte(tt.text))
			if len(problems) > 0 {
				t.Fatal(problems)
			}
			got, err := f.Splice(tt.path, tt.to)
			if err != nil {
				t.Fatal(err)
			}
			if string(got) != tt.want {
				t.Errorf("got\n%s\nwant\n%s", got, tt.want)
			}
		})
	}
}

func TestSpliceErrors(t *testing.T) {
	for _, tt := range []struct{ name, text, path, to, want string }{
		{"list", "a: [1]\n", "a", "2", `change "a" in x: a list is there at x:1:4; only a single value can be changed`},
		{"mapping", "a: {b: 1}\n", "a", "2", `change "a" in x: a mapping (key: value) is there at x:1:4; only a single value can be changed`},
		{"no item", "a: [1]\n", "a[1]", "2", `change "a[1]" in x: "a[1]" has no item 1 in x`},
		{"no list", "a: 1\n", "b[0]", "2", `change "b[0]" in x: there is no list to hold item [0]`},
		{"through a value", "a: 1\n", "a.b", "2", `change "a.b" in x: "a.b" leads through one value at x:1:4`},
		{"whole file", "a: 1\n", "", "2", `change "" in x: a path is due, such as channels[0].current`},
		{"path", "a: 1\n", "a..b", "2", `change "a..b" in x: path "a..b" has an empty part`},
		{"path bracket", "a: 1\n", "a[0", "2", `change "a[0" in x: path "a[0" has a [ without ]`},
		{"problems", "a: &x 1\n", "a", "2", `change "a" in x: the file has problems; put them right first`},
		{
			"not text", "a: 1\n", "a", "\xff",
			`change "a" in x: the new text contains characters that is not allowed in a file`,
		},
		{"long", "a: 1\n", "a", strings.Repeat("x", 5000), `change "a" in x: the new text has 5000 bytes; at most 4096 are taken`},
		{"key that is no key", "a: 1\n", "b: c", "2", `change "b: c" in x: the text about it cannot be changed without touching more; change it by hand`},
		{
			"pair without braces", "a: [b: 1]\n", "a[0].c", "2",
			`change "a[0].c" in x: its mapping has no braces to put it in`,
		},
		{"empty item", "a:\n- \n- 1\n", "a[0]", "2", `change "a[0]" in x: an empty item cannot be changed; change it by hand`},
	} {
		f, _ := Read("x", []byte(tt.text))
		got, err := f.Splice(tt.path, tt.to)
		if err == nil || err.Error() != tt.want {
			t.Errorf("%s: %q, %v\nwant %s", tt.name, got, err, tt.want)
		}
	}
}

func TestRemoved(t *testing.T) {
	for _, tt := range []struct{ name, text, path, want string }{
		{"a line", "a: 1\nb: 2 # of b\n# of c\nc: 3\n", "b", "a: 1\n# of c\nc: 3\n"},
		{"the first line", "a: 1\nb: 2\n", "a", "b: 2\n"},
		{"the last line", "a: 1\nb: 2\n", "b", "a: 1\n"},
		{"the last line without a break", "a: 1\r\nb: 2", "b", "a: 1"},
		{"several lines", "a: 1\nb:\n  c: 2\n  d: [1,\n   2]\ne: 3\n", "b", "a: 1\ne: 3\n"},
		{"CRLF", "a: 1\r\nb: 2\r\nc: 3\r\n", "b", "a: 1\r\nc: 3\r\n"},
		{
			"a point in lines", "v:\n  0.1 A: 2.7 V\n  0.35 A: 2.9 V # x\n  1 A: 3 V\n", "v[0.35 A]",
			"v:\n  0.1 A: 2.7 V\n  1 A: 3 V\n",
		},
		{
			"a point in braces", "v: {0.1 A: 2.7 V, 0.35 A: 2.9 V, 1 A: 3 V} # c\n", "v[0.35 A]",
			"v: {0.1 A: 2.7 V, 1 A: 3 V} # c\n",
		},
		{"the first in braces", "v: {0.1 A: 2.7 V, 1 A: 3 V}\n", "v[0.1 A]", "v: {1 A: 3 V}\n"},
		{"the last in braces", "v: { 0.1 A: 2.7 V, 1 A: 3 V }\n", "v[1 A]", "v: { 0.1 A: 2.7 V }\n"},
		{"the last before a comma", "v: {0.1 A: 2.7 V, 1 A: 3 V,}\n", "v[1 A]", "v: {0.1 A: 2.7 V,}\n"},
		{
			"braces over lines", "v: {\n  0.1 A: 2.7 V, # low\n  1 A: 3 V,\n  2 A: 4 V\n}\n", "v[1 A]",
			"v: {\n  0.1 A: 2.7 V, # low\n  2 A: 4 V\n}\n",
		},
		{
			"the last over lines", "v: {\n  0.1 A: 2.7 V, # low\n  1 A: 3 V\n}\n", "v[1 A]",
			"v: {\n  0.1 A: 2.7 V, # low\n}\n",
		},
		{"the first of an item", "c:\n  - n: a\n    i: 1 A\n  - n: b\n", "c[0].n", "c:\n  - i: 1 A\n  - n: b\n"},
		{"the last of an item", "c:\n  - n: a\n    i: 1 A\n  - n: b\n", "c[0].i", "c:\n  - n: a\n  - n: b\n"},
		{"an empty value", "a:\nb:\nc: 1\n", "b", "a:\nc: 1\n"},
		{"a block", "a: |\n  x\n\n  y\nb: 1\n", "a", "b: 1\n"},
		{"a byte order mark", "\uFEFFa: 1\nb: 2\n", "a", "\uFEFFb: 2\n"},
	} {
		f, problems := Read("x", []byte(tt.text))
		if len(problems) > 0 {
			t.Fatal(tt.name, problems)
		}
		got, err := f.Removed(tt.path)
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
		} else if string(got.Text()) != tt.want {
			t.Errorf("%s: got\n%s\nwant\n%s", tt.name, got.Text(), tt.want)
		}
	}
	for _, tt := range []struct{ name, text, path, want string }{
		{"not there", "a: 1\n", "b", `take away "b" in x: it does not stand there`},
		{"the whole file", "a: 1\n", "", `take away "" in x: it does not stand there`},
		{"an item", "a: [1, 2]\n", "a[0]", `take away "a[0]" in x: an item of a list cannot be taken away; change it by hand`},
		{"all of a mapping", "a: {b: 1}\n", "a.b", `take away "a.b" in x: it is all that is there; change it by hand`},
		{"a path", "a: 1\n", "a..b", `take away "a..b" in x: path "a..b" has an empty part`},
		{"problems", "a: &x 1\nb: 2\n", "b", `take away "b" in x: the file has problems; put them right first`},
	} {
		f, _ := Read("x", []byte(tt.text))
		if _, err := f.Removed(tt.path); err == nil || err.Error() != tt.want {
			t.Errorf("%s: %v\nwant %s", tt.name, err, tt.want)
		}
	}
	// A comment of another value that would go with it is not touched.
	f, _ := Read("x", []byte("l:\n- a: 1\n  # about b\n  b: 2\n"))
	if got, err := f.Removed("l[0].a"); err == nil {
		t.Errorf("a comment of another value went too: %q", got.Text())
	}
}

// TestPoints: whatever points are put into a curve and taken out again in any order, its keys go on growing, what was
// put in and is taken out leaves the file as it was, and comments stay.
func TestPoints(t *testing.T) {
	for name, text := range map[string]string{
		"in lines": "a: 1\n# about v\nv:\n  # the first\n  0.1 A: 2.7 V  # low\n  1 A: 3 V\n  # the " +
			"end\nw: 2 # two\n",
		"in braces":          "a: 1\nv: {0.1 A: 2.7 V, 1 A: 3 V} # about v\nw: 2\n",
		"in braces in lines": "v: {\n  0.1 A: 2.7 V, # low\n  1 A: 3 V # high\n}\n",
		"CRLF":               "v:\r\n  0.1 A: 2.7 V # low\r\n  1 A: 3 V\r\nw: 2\r\n",
		"in an item":         "l:\n  - v:\n      0.1 A: 2.7 V # low\n      1 A: 3 V\n",
	} {
		path := "v"
		if name == "in an item" {
			path = "l[0].v"
		}
		rapid.Check(t, func(t *rapid.T) {
			data := []byte(text)
			list := rapid.SliceOfNDistinct(rapid.IntRange(1, 1999), 1, 6, rapid.ID[int]).Filter(
				func(l []int) bool { return !slices.Contains(l, 100) && !slices.Contains(l, 1000) },
			).Draw(t, "mA")
			for _, mA := range list {
				f, _ := Read("x", data)
				var err error
				if data, err = f.Splice(fmt.Sprintf("%s[%d mA]", path, mA), "2.8 V"); err != nil {
					t.Fatal(err)
				}
			}
			var c struct {
				V Curve `yaml:"v" x:"current" y:"voltage"`
			}
			if name != "in an item" {
				f, _ := Read("x", data)
				for _, p := range f.Decode(&c) {
					if strings.HasPrefix(p.At.Path, "v") {
						t.Fatalf("%s\n%s", p, data)
					}
				}
				if len(c.V.X) != len(list)+2 {
					t.Fatalf("%d points of %d\n%s", len(c.V.X), len(list)+2, data)
				}
			}
			for _, mA := range rapid.Permutation(list).Draw(t, "out") {
				f, _ := Read("x", data)
				g, err := f.Removed(fmt.Sprintf("%s[%d mA]", path, mA))
				if err != nil {
					t.Fatal(err)
				}
				data = g.Text()
			}
			if string(data) != text {
				t.Fatalf("%s: put in and taken out %v leaves\n%s\nof\n%s", name, list, data, text)
			}
		})
	}
}

// TestSpliceAnything: whatever text is put in anywhere, the file says just that there, and every line without the value
// stays as it was.
func TestSpliceAnything(t *testing.T) {
	data, err := os.ReadFile("testdata/sample/good.yaml")
	if err != nil {
		t.Fatal(err)
	}
	paths := []string{
		"name", "room.source", "labels[1]", "offset.x", "places[1][0]", "voltage[350 mA]", "channels[0].current",
		"channels[1].name", "inside.width", "fan.id", "channels[0].size.length", "wanted.more.of",
	}
	rapid.Check(t, func(t *rapid.T) {
		f, _ := Read("x", data)
		path := rapid.SampledFrom(paths).Draw(t, "path")
		text := rapid.StringOfN(rapid.RuneFrom([]rune("ab 1:#-,[]{}'\"\\|>&*!%@`?~\n\tµ日🌱")), 0, 12, -1).Draw(t, "text")
		out, err := f.Splice(path, text)
		if err != nil {
			t.Fatalf("Splice(%s, %q): %v", path, text, err)
		}
		g, problems := Read("x", out)
		if len(problems) > 0 {
			t.Fatal(problems)
		}
		if path == "channels[0].current" {
			path += ".value"
		}
		if got, _ := g.find(path); got.node == nil || !got.node.is(text) {
			t.Fatalf("Splice(%s, %q) gave\n%s", path, text, out)
		}
		before, after := strings.Split(string(data), "\n"), strings.Split(string(out), "\n")
		if n := len(after) - len(before); n != 0 && n != 1 {
			t.Fatalf("%d new lines", n)
		}
		changed := 0
		for i := range before {
			if i >= len(after) || before[i] != after[i] && before[i] != after[min(i+1, len(after)-1)] {
				changed++
			}
		}
		if changed > 1 {
			t.Fatalf("Splice(%s, %q) changed %d lines:\n%s", path, text, changed, out)
		}
	})
}

// TestSpliced: the file that Spliced hands on is the one that Read makes of its text, in every node, also where a number was
// exchanged without Read.
func TestSpliced(t *testing.T) {
	for _, text := range []string{"a: ~\nb: null\n", "a: Null\nb: 1\n"} {
		f, _ := Read("x", []byte(text))
		got, err := f.Spliced("a", "1.6 A")
		if err != nil {
			t.Fatal(err)
		}
		if at := got.root.get("a"); at.null || at.text != "1.6 A" {
			t.Errorf("%q: what was nothing is now %+v", text, *at)
		}
	}
	good, err := os.ReadFile("testdata/sample/good.yaml")
	if err != nil {
		t.Fatal(err)
	}
	odd := "\uFEFFa: {x: 1 mm, y: {z: 2.5 mm, w: }, \"q\": 3} # 4\r\nb: [1, [2, 3 µm, \"4\"], {c: 5}, 6, 7: 8]\r\nc:\r\n- 1\r\n-   - 2\r\n    - x: 3\r\n      日本: 4 Ω # 5\r\nd: 1\r\n  2\r\ne: |\r\n  3\r\n? f\r\n: 4\r\ng:"
	texts := []string{string(good), odd}
	for _, name := range []string{"long-tank-first", "long-tank", "propagation-bench"} {
		data, err := os.ReadFile(filepath.Join("../../examples", name, "lamp.yaml"))
		if err != nil {
			t.Fatal(err)
		}
		texts = append(texts, string(data))
	}
	exchanged := 0
	for _, text := range texts {
		f, problems := Read("x", []byte(text))
		if len(problems) > 0 {
			t.Fatal(problems)
		}
		for i, l := range f.Leaves("") {
			for j, to := range []string{"7", "1.25 A", "30 µmol/m²/s ± 3 %", "12 000  Ω·m", "5e3", "1-2", "08:30", "3 #", "4,5", "x", "-1", "null", ""} {
				if (i+j)%4 != 0 {
					continue // each is tried at many leaves, and each leaf with three or four
				}
				got, err := f.Spliced(l.Path, to)
				if err != nil {
					continue // what cannot be spliced is TestSpliceErrors' matter
				}
				want, problems := Read("x", got.Text())
				if len(problems) > 0 {
					t.Fatalf("%s to %q: %v", l.Path, to, problems)
				}
				if !reflect.DeepEqual(want, got) {
					t.Fatalf("%s to %q is not what is read from\n%s", l.Path, to, got.Text())
				}
				if at, _ := f.find(l.Path); plainNumber(to) && at.node != nil && at.node.kind == scalar && at.node.style == 0 && f.exchanged(at.node, edit{f.offset(at.node.line, at.node.col), f.offset(at.node.line, at.node.col) + len(at.node.text), to}) != nil {
					exchanged++
				}
			}
		}
		if again, _ := Read("x", []byte(text)); !reflect.DeepEqual(again, f) {
			t.Error("the file that was spliced has changed")
		}
	}
	if exchanged < 100 {
		t.Errorf("%d numbers were exchanged without reading the file again; want most of them", exchanged)
	}
}
