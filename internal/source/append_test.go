package source

import (
	"fmt"
	"strings"
	"testing"
)

// TestAppendBlocks: items come at the end of a list, and everything else stays byte for byte as it was.
func TestAppendBlocks(t *testing.T) {
	two := []string{
		"{what: a, value: 1 V}",
		"{what: b, series: [{time: 1 s, value: 2 V}, {time: 2 s, value: 3 V}], note: \"x: y\"}",
	}
	const block = "\n  - what: a\n    value: 1 V\n  - what: b\n    series:\n      - {time: 1 s, value: 2 V}\n" +
		"      - {time: 2 s, value: 3 V}\n    note: \"x: y\""
	for _, tt := range []struct{ name, text, path, want string }{
		{
			"behind a block", "r:\n  - {what: z, value: 0 V} # first\n# end\nother: 1\n", "r",
			"r:\n  - {what: z, value: 0 V} # first" + block + "\n# end\nother: 1\n",
		},
		{"without a last line break", "r:\n  - what: z", "r", "r:\n  - what: z" + block},
		{"a missing list", "v: 1\n", "r", "v: 1\nr:" + block + "\n"},
		{"an empty list", "r: []\nv: 1\n", "r", "r:" + block + "\nv: 1\n"},
		{"a list that says null", "r: ~\nv: 1\n", "r", "r:" + block + "\nv: 1\n"},
		{"a list without a value", "r:\nv: 1\n", "r", "r:" + block + "\nv: 1\n"},
		{
			"in brackets", "r: [{what: z}]\n", "r",
			"r: [{what: z},\n    " + two[0] + ",\n    " + two[1] + "]\n",
		},
		{"line breaks of another system", "r:\r\n  - what: z\r\n", "r", "r:\r\n  - what: z" +
			strings.ReplaceAll(block, "\n", "\r\n") + "\r\n"},
		{"within a list", "c:\n  - n: 1\n    r:\n      - what: z\n  - n: 2\n", "c[0].r", "" +
			"c:\n  - n: 1\n    r:\n      - what: z" +
			strings.ReplaceAll(block, "\n", "\n    ") + "\n  - n: 2\n"},
	} {
		f, problems := Read("x", []byte(tt.text))
		if len(problems) > 0 {
			t.Fatal(problems)
		}
		got, err := f.AppendBlocks(tt.path, two)
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		if text := string(got.Text()); text != tt.want {
			t.Errorf("%s:\n%s\nwant\n%s", tt.name, text, tt.want)
		}
	}
}

// TestAppendNothing: what is no list is not touched.
func TestAppendNothing(t *testing.T) {
	f, _ := Read("x", []byte("r: {a: 1}\nv: 2\na: [1]\n"))
	for _, tt := range []struct{ path, value, msg string }{
		{"r", "{b: 1}", "there is a mapping (key: value), not a list"},
		{"v", "{b: 1}", "there is one value"},
		{"list", "{b:", "the new value cannot be read"},
		{"list", strings.Repeat("x", 9000), "at most 8092 are taken"},
		{"a.b.c", "{b: 1}", "leads through"},
	} {
		if _, err := f.AppendBlocks(tt.path, []string{tt.value}); err == nil || !strings.Contains(err.Error(), tt.msg) {
			t.Errorf("%s %.10s: %v, want %q", tt.path, tt.value, err, tt.msg)
		}
	}
	if g, err := f.AppendBlocks("r", nil); g != f || err != nil {
		t.Error("no items change the file")
	}
}

// BenchmarkAppendBlocks appends as many items as a file of readings has.
func BenchmarkAppendBlocks(b *testing.B) {
	var items []string
	for i := range 2000 {
		items = append(items, fmt.Sprintf("{what: illuminance, place: target, at: [%d mm, 0 mm], value: 4270 lx}", i))
	}
	f, _ := Read("x", []byte("v: 1\n"))
	for b.Loop() {
		if _, err := f.AppendBlocks("r", items); err != nil {
			b.Fatal(err)
		}
	}
}
