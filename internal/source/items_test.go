package source

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// TestPutItems: what stays as it is keeps its text, its comments and its quotes.
func TestPutItems(t *testing.T) {
	const (
		first  = "{time: 08:00, level: 0 %}"
		second = "{time: 09:00, level: 100 %}"
		third  = "{time: 18:00, level: 100 %}"
	)
	const text = "day:\n  frames:   # of all channels\n    - {time: 08:00, level: 0 %}    # dark\n    # the morning\n" +
		"    - time: \"09:00\"\n      level: 100 % # full\n    - {time: 18:00, level: 100 %}\nend: 1\n"
	for _, tt := range []struct{ name, value, from, to string }{
		{"nothing", "[" + first + ", " + second + ", " + third + "]", "", ""},
		{
			"a value", "[" + first + `, {time: "09:30", level: 100 %}, ` + third + "]",
			`"09:00"`, `"09:30"`,
		},
		{
			"both values", "[" + first + ", " + second + `, {time: "19:05", level: 40 %}]`,
			"18:00, level: 100 %", "19:05, level: 40 %",
		},
		{
			"a new key", "[{time: 08:00, level: 0 %, ramp: step}, " + second + ", " + third + "]",
			"level: 0 %}", "level: 0 %, ramp: step}",
		},
		{"the first one away", "[" + second + ", " + third + "]", "    - " + first + "    # dark\n", ""},
		{
			"one between", "[" + first + ", " + second + ", {time: 12:00, level: 60 %}, " + third + "]",
			"# full\n", "# full\n    - {time: 12:00, level: 60 %}\n",
		},
		{
			"one at the beginning", "[{time: 07:00, level: 1 %}, " + first + ", " + second + ", " + third + "]",
			"    - {time: 08:00", "    - {time: 07:00, level: 1 %}\n    - {time: 08:00",
		},
		{
			"a key less, one behind", "[{time: 08:00}, " + second + ", " + third + ", {time: 20:00, level: 0 %}]",
			"", "",
		},
	} {
		f, problems := Read("x", []byte(text))
		if len(problems) > 0 {
			t.Fatal(problems)
		}
		got, err := f.PutItems("day.frames", tt.value)
		if err != nil {
			t.Errorf("%s: %v", tt.name, err)
			continue
		}
		want := strings.Replace(text, tt.from, tt.to, 1)
		if tt.name == "a key less, one behind" {
			want = strings.NewReplacer("08:00, level: 0 %", "08:00",
				"100 %}\n", "100 %}\n    - {time: 20:00, level: 0 %}\n").Replace(text)
		}
		if string(got.Text()) != want {
			t.Errorf("%s: %q, want %q", tt.name, got.Text(), want)
		}
	}
}

// TestPutItemsOther: what is no list of mappings is put in as a whole; in brackets, the other items stay as they are.
func TestPutItemsOther(t *testing.T) {
	for _, tt := range []struct{ text, path, value, want string }{
		{"a: [1, 2] # c\n", "a", "[3]", "a: [3] # c\n"},
		{"a: 1\n", "b", "[{c: 2}]", "a: 1\nb: [{c: 2}]\n"},
		{"a: [{c: 2}]\n", "a", "{d: 1}", "a: {d: 1}\n"},
		{"a: [{c: 2}]\n", "a", "[]", "a: []\n"},
		{"a: [{c:  2}, {c: 3}]\n", "a", "[{c: 1}, {c: 2}, {c: 3}]", "a: [{c: 1}, {c:  2}, {c: 3}]\n"},
	} {
		f, _ := Read("x", []byte(tt.text))
		if got, err := f.PutItems(tt.path, tt.value); err != nil || string(got.Text()) != tt.want {
			t.Errorf("%q in %q: %v, want %q", tt.value, tt.text, err, tt.want)
		}
	}
	f, _ := Read("x", []byte("a: [{c: 2}]\n"))
	if _, err := f.PutItems("a", "[{c: 2"); err == nil {
		t.Error("an open bracket is taken")
	}
}

// TestPutItemsSays: the file says what Put would make it say, whatever the two lists are; a list that stays as it is
// keeps its text.
func TestPutItemsSays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		times := rapid.SliceOfNDistinct(rapid.IntRange(0, 40), 1, 9, rapid.ID[int])
		was, now := times.Draw(t, "was"), times.Draw(t, "now")
		slices.Sort(was)
		slices.Sort(now)
		flow := rapid.Bool().Draw(t, "flow")
		level := func(n int) string { return fmt.Sprintf("{time: t%02d, level: %d}", n, n%3) }
		var b strings.Builder
		b.WriteString("a: 1\nl:")
		var list []string
		for _, n := range was {
			list = append(list, level(n))
		}
		if flow {
			fmt.Fprintf(&b, " [%s] # of l\n", strings.Join(list, ", "))
		} else {
			for i, item := range list {
				fmt.Fprintf(&b, "\n  - %s # c%02d", item, was[i])
			}
			b.WriteString("\n")
		}
		b.WriteString("z: 2\n")
		f, problems := Read("x", []byte(b.String()))
		if len(problems) > 0 {
			t.Fatal(problems)
		}
		list = nil
		for _, n := range now {
			list = append(list, level(n))
		}
		value := "[" + strings.Join(list, ", ") + "]"
		got, err := f.PutItems("l", value)
		if err != nil {
			t.Fatal(err)
		}
		want, err := f.Put("l", value)
		if err != nil {
			t.Fatal(err)
		}
		if outline(got.root, placed{}) != outline(want.root, placed{}) {
			t.Fatalf("%q says another thing than %q", got.Text(), want.Text())
		}
		if slices.Equal(was, now) && string(got.Text()) != b.String() {
			t.Fatalf("nothing changed, and the text is %q", got.Text())
		}
	})
}
