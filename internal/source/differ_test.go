package source

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// told writes a difference in one line: way, text of a, text of b.
func told(list []Difference) (out []string) {
	for _, d := range list {
		var way []string
		for _, s := range d.Steps {
			way = append(way, strings.TrimSpace(s.Key+" "+s.Item))
		}
		a, b := d.A, d.B
		if !d.InA {
			a = "none"
		}
		if !d.InB {
			b = "none"
		}
		out = append(out, fmt.Sprintf("%s: %s → %s", strings.Join(way, ", "), a, b))
	}
	return out
}

func TestDiffer(t *testing.T) {
	for _, tt := range []struct {
		name, a, b string
		want       []string
	}{
		{"nothing", "a: 1 # x\nb: [1, 2]\n", "b: [1,\n  2]\na: \"1\"\n", nil},
		{"a value", "a: 1 A\nb: 2\n", "a: 2 A\nb: 2\n", []string{"a: 1 A → 2 A"}},
		{"units", "a: 0.35 A\nb: 24 V ± 0.5 V\n", "a: 350 mA\nb: 24000 mV ± 500 mV\n", nil},
		{"a tolerance", "b: 24 V ± 2 %\n", "b: 24 V ± 3 %\n", []string{"b: 24 V ± 2 % → 24 V ± 3 %"}},
		{"words are no units", "a: m\n", "a: mm\n", []string{"a: m → mm"}},
		{
			"added and removed", "a: 1\nc: {d: 4}\n", "a: 1\nb: {x: 2, y: 3}\n",
			[]string{"b, x: none → 2", "b, y: none → 3", "c, d: 4 → none"},
		},
		{"a list of values", "at: [1 mm, 2 mm]\n", "at: [1 mm, 3 mm]\n", []string{"at: [1 mm, 2 mm] → [1 mm, 3 mm]"}},
		{"a list of lists", "at: [[1, 2], [3, 4]]\n", "at: [[1, 2]]\n", []string{"at: [[1, 2], [3, 4]] → [[1, 2]]"}},
		{
			"items that moved", "c:\n- {name: x, i: 1}\n- {name: y, i: 2}\n",
			"c:\n- {name: y, i: 2}\n- {name: x, i: 3}\n",
			[]string{"c x, i: 1 → 3"},
		},
		{"another name", "c:\n- {name: x, i: 1}\n", "c:\n- {name: y, i: 1}\n", []string{"c x, name: x → y"}},
		{
			"items come and gone", "c:\n- {name: x, i: 1}\n- {name: y, i: 1}\n",
			"c:\n- {name: y, i: 1}\n- {name: z, i: 1}\n",
			[]string{"c z, name: none → z", "c z, i: none → 1", "c x, name: x → none", "c x, i: 1 → none"},
		},
		{
			"items alike", "c:\n- {part: x, i: 1}\n- {part: x, i: 2}\n", "c:\n- {part: x, i: 1}\n- {part: x, i: 3}\n",
			[]string{"c x (2), i: 2 → 3"},
		},
		{
			"a value with its source", "a: 1 A\nb: {value: 2 A, source: s}\nc: {value: 3 A, source: t}\n",
			"a: {value: 1 A, source: s}\nb: 2.5 A\nc: {value: 4 A, source: u}\n",
			[]string{
				"a, source: none → s", "b: 2 A → 2.5 A", "b, source: s → none", "c: 3 A → 4 A", "c, source: t → u",
			},
		},
		{"another kind", "a: 1\nb: [1]\n", "a: [1]\nb: {x: 1}\n", []string{"a: 1 → [1]", "b: [1] → {x: 1}"}},
		{"empty ones", "a: []\nb:\nc: {}\n", "a: []\nb:\nc: {d: 1}\n", []string{"c, d: none → 1"}},
		{"lines", "a: >\n  x\n  y\n", "a: x y\n", nil},
	} {
		a, badA := Read("a", []byte(tt.a))
		b, badB := Read("b", []byte(tt.b))
		if len(badA)+len(badB) > 0 {
			t.Fatal(tt.name, badA, badB)
		}
		if d := cmp.Diff(tt.want, told(Differ(a, "", b, ""))); d != "" {
			t.Errorf("%s (−want +got):\n%s", tt.name, d)
		}
	}
	f, _ := Read("f", []byte("l:\n- {id: x, v: 1}\n- {id: y, v: 2}\n"))
	if got := told(Differ(f, "l[0]", f, "l[1]")); len(got) != 2 || got[1] != "v: 1 → 2" {
		t.Errorf("of two items differ %q", got)
	}
	if got := told(Differ(nil, "", f, "l[0]")); len(got) != 2 || got[0] != "id: none → x" {
		t.Errorf("of nothing differs %q", got)
	}
	if got := Differ(f, "l[7]", f, "none"); got != nil {
		t.Errorf("what is not there differs: %v", got)
	}
}

// TestDifferSplice: whatever value is put in anywhere, it alone differs, and none where it says the same.
// TestDifferAlike: items that are called alike take no longer than others.
func TestDifferAlike(t *testing.T) {
	text := []byte("c:\n" + strings.Repeat("- {part: a}\n", 5000))
	f, problems := Read("x", text)
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	names := called(f.root.get("c"))
	if names[0] != "a" || names[1] != "a (2)" || names[4999] != "a (5000)" {
		t.Errorf("they are called %q, %q … %q", names[0], names[1], names[4999])
	}
	if got := Differ(f, "", f, ""); len(got) > 0 {
		t.Errorf("a file differs from itself in %d values", len(got))
	}
}

func TestDifferSplice(t *testing.T) {
	data, err := os.ReadFile("testdata/sample/good.yaml")
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		f, _ := Read("x", data)
		leaf := rapid.SampledFrom(f.Leaves("")).Draw(t, "leaf")
		text := rapid.StringMatching(`[a-z0-9]{1,4}`).Draw(t, "text")
		out, err := f.Splice(leaf.Path, text)
		if err != nil {
			t.Fatal(err)
		}
		g, _ := Read("x", out)
		want := 1
		if saysSame(leaf.Text, text) {
			want = 0
		}
		if got := Differ(f, "", g, ""); len(got) != want {
			t.Fatalf("%s: %q put in place of %q: %q differ", leaf.Path, text, leaf.Text, told(got))
		}
	})
}
