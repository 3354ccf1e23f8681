package source

import "testing"

func TestPutBlock(t *testing.T) {
	const part = "fans:\n  - id: a\n"
	for _, tt := range []struct{ name, text, path, value, want string }{
		{"the first part of a kind", "x: 1\n", "fans[0]", "{id: a}", "x: 1\nfans:\n  - id: a\n"},
		{
			"the first part of an empty list", "fans: [] # none\nx:\n  - id: b\n", "fans[0]", "{id: a, dies: 1}",
			"fans:\n  - id: a\n    dies: 1 # none\nx:\n  - id: b\n",
		},
		{"the first part of an empty key", "fans:\nx: []\n", "fans[0]", "{id: a}", "fans:\n  - id: a\nx: []\n"},
		{
			"a further part", part + "    cct: 5000 K # c\nx: []\n", "fans[1]",
			`{id: b, name: "x: y", body: {length: 3 mm, width: 3 mm}}`,
			part + "    cct: 5000 K # c\n  - id: b\n    name: \"x: y\"\n    body: {length: 3 mm, width: 3 mm}\nx: []\n",
		},
		{
			"a curve in place of another", part + "    v:\n      0.1 A: 2.7 V\n      0.2 A: 2.8 V\n    w: 1\n",
			"fans[0].v", `{source: "sheet, page 3", points: {1 A: 1 V, 2 A: 2 V, 3 A: 3 V, 4 A: 4 V, 5 A: 5 V}}`,
			part + "    v:\n      source: \"sheet, page 3\"\n      points:\n        1 A: 1 V\n        2 A: 2 V\n" +
				"        3 A: 3 V\n        4 A: 4 V\n        5 A: 5 V\n    w: 1\n",
		},
		{
			"a missing curve", part, "fans[0].v", "{source: s, points: {1 A: 3 V}}",
			part + "    v:\n      source: s\n      points: {1 A: 3 V}\n",
		},
		{"a curve for a value", "l:\n  - v: 3 V\n", "l[0].v", "{1 A: 3 V}", "l:\n  - v:\n      1 A: 3 V\n"},
		{"within braces", "l: [{id: a}]\n", "l[0].v", "{1 A: 3 V}", "l: [{id: a, v: {1 A: 3 V}}]\n"},
		{"a part of a list in brackets", "l: [{id: a}]\n", "l[1]", "{id: b}", "l: [{id: a}, {id: b}]\n"},
		{
			"a list of mappings", part, "fans[0].peaks", "[{at: 450 nm}, {at: 550 nm}]",
			part + "    peaks:\n      - {at: 450 nm}\n      - {at: 550 nm}\n",
		},
		{"a single value", "a: 1\n", "a", "2", "a: 2\n"},
		{"CRLF", "a: 1\r\n", "l[0]", "{b: 2}", "a: 1\r\nl:\r\n  - b: 2\r\n"},
	} {
		f, problems := Read("x", []byte(tt.text))
		if len(problems) > 0 {
			t.Fatal(tt.name, problems)
		}
		got, err := f.PutBlock(tt.path, tt.value)
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
		} else if string(got.Text()) != tt.want {
			t.Errorf("%s:\n%s\nwant\n%s", tt.name, got.Text(), tt.want)
		}
	}
}

// FuzzPutBlock: whatever is put where says the same as in brackets, or is refused.
func FuzzPutBlock(f *testing.F) {
	f.Add("a: 1\nl:\n  - b: 2\n", "l[1]", "{b: 3, c: [1, {d: 4}]}")
	f.Add("a: {b: [1, 2]}\n", "a.b[2]", "{x: y}")
	f.Add("a:\n", "a", "{b: {c: {d: [[1], [2, 3, 4, 5, 6]]}}}")
	f.Fuzz(func(t *testing.T, text, path, value string) {
		file, problems := Read("x", []byte(text))
		if file == nil || len(problems) > 0 {
			return
		}
		got, err := file.PutBlock(path, value)
		if err != nil {
			return
		}
		if flow, err := file.Put(path, value); err == nil &&
			outline(flow.root, placed{}) != outline(got.root, placed{}) {
			t.Fatalf("%q differs from %q", got.Text(), flow.Text())
		}
	})
}
