package cli

import (
	"bytes"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestDisplayWidth(t *testing.T) {
	for text, want := range map[string]int{"": 0, "µmol/m²/s": 9, "T\u0304": 1, "灯": 2, "ｗ": 2, "≤ 500 mA": 8, "·−×": 3} {
		if got := displayWidth(text); got != want {
			t.Errorf("displayWidth(%q) = %d, want %d", text, got, want)
		}
	}
}

func TestWrap(t *testing.T) {
	for _, tt := range []struct {
		text            string
		columns, indent int
		want            string
	}{
		{"one two three", 9, 2, "one two\n  three"},
		{"limit is 500 mA here", 14, 0, "limit is\n500 mA here"}, // a number stays with its unit
		{"− 700 mA", 4, 0, "−\n700 mA"},
		{"unbreakable", 4, 2, "unbreakable"},
	} {
		if got := wrap(tt.text, tt.columns, tt.indent); got != tt.want {
			t.Errorf("wrap(%q, %d, %d) = %q, want %q", tt.text, tt.columns, tt.indent, got, tt.want)
		}
	}
}

func TestClip(t *testing.T) {
	for _, tt := range []struct {
		text    string
		columns int
		want    string
	}{{"short", 5, "short"}, {"a longer one", 9, "a longer…"}, {"one, two", 5, "one…"}, {"灯灯灯", 5, "灯灯…"}} {
		if got := clip(tt.text, tt.columns); got != tt.want || displayWidth(got) > tt.columns {
			t.Errorf("clip(%q, %d) = %q, want %q", tt.text, tt.columns, got, tt.want)
		}
	}
}

func TestCommandIsQuoted(t *testing.T) {
	for _, tt := range []struct {
		args []string
		want string
	}{
		{[]string{"explain", "white.junction", "my lamp"}, "lampwright explain white.junction 'my lamp'"},
		{[]string{"explain", "white.junction", "."}, "lampwright explain white.junction"},
		{[]string{"new", "it's"}, `lampwright new 'it'\''s'`},
		{[]string{"new", "Lampe_ß-2/x"}, "lampwright new Lampe_ß-2/x"},
		{[]string{"new", "$(rm x)"}, "lampwright new '$(rm x)'"},
	} {
		if got := command(tt.args...); got != tt.want {
			t.Errorf("command(%q) = %s, want %s", tt.args, got, tt.want)
		}
	}
}

// printed returns the lines of a table.
func printed(columns int, head []string, rows ...[]string) []string {
	var b bytes.Buffer
	r := newRun(&output{w: &b}, &b)
	r.width = columns
	t := r.table(head...)
	for _, row := range rows {
		t.row(row...)
	}
	t.print()
	return strings.Split(strings.TrimSuffix(b.String(), "\n"), "\n")
}

func TestTable(t *testing.T) {
	got := printed(30, []string{"key", "value", "quantity"},
		[]string{"a.b", "1.6 A", "current of one string while on"}, []string{"灯.c", "", "x"})
	want := []string{
		"key   value  quantity", "──────────────────────────────",
		"a.b   1.6 A  current of one", "             string while on", "灯.c         x",
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("table:\n%s\nwant:\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// TestHeadsWrapFirst: a long head is wrapped before the cells of a wider column are.
func TestHeadsWrapFirst(t *testing.T) {
	got := printed(40, []string{"alternative", "maximum junction temperature"}, []string{"now aluminium, 2 mm core", "60.0 °C"})
	want := []string{
		"alternative               maximum", "                          junction", "                          temperature",
		strings.Repeat("─", 40), "now aluminium, 2 mm core  60.0 °C",
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("table:\n%s\nwant:\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// TestTableFits: no line of a table is wider than the terminal unless its longest words are, and no word is lost; only the heads of empty columns are left out.
func TestTableFits(t *testing.T) {
	word := rapid.StringMatching(`[a-zµ灯]{1,9}`)
	cell := rapid.Custom(func(t *rapid.T) string {
		return strings.Join(rapid.SliceOfN(word, 0, 12).Draw(t, "words"), " ")
	})
	rapid.Check(t, func(t *rapid.T) {
		columns := rapid.IntRange(minWidth, 140).Draw(t, "columns")
		head := []string{"first", "second", "third"}
		rows := rapid.SliceOfN(rapid.SliceOfN(cell, 3, 3), 1, 5).Draw(t, "rows")
		lines := printed(columns, head, rows...)
		for _, line := range lines {
			if w := displayWidth(line); w > max(columns, 3*18+2*columnGap) {
				t.Fatalf("line of %d columns in a table of %d: %q", w, columns, line)
			}
			if line != strings.TrimRight(line, " ") {
				t.Fatalf("blanks at the end of %q", line)
			}
		}
		have := max(0, len(strings.Fields(strings.Join(lines, "\n")))-1) // without the rule
		want := 0
		for i := range head {
			words := 0
			for _, row := range rows {
				words += len(strings.Fields(row[i]))
			}
			if want += words; words > 0 { // an empty column is left out with its head
				want++
			}
		}
		if have != want {
			t.Fatalf("%d words printed, want %d", have, want)
		}
	})
}

func TestWidthAndColour(t *testing.T) {
	var b bytes.Buffer
	t.Setenv("COLUMNS", "")
	if r := newRun(&output{w: &b}, &b); r.width != 100 || r.colour || r.paint(red, "x") != "x" {
		t.Errorf("a pipe has %d columns, colour %v; want 100 without colour", r.width, r.colour)
	}
	t.Setenv("COLUMNS", "72")
	if r := newRun(&output{w: &b}, &b); r.width != 72 {
		t.Errorf("COLUMNS=72 gives %d columns", r.width)
	}
	t.Setenv("COLUMNS", "5")
	if r := newRun(&output{w: &b}, &b); r.width != minWidth {
		t.Errorf("COLUMNS=5 gives %d columns, want %d", r.width, minWidth)
	}
	if r := (&run{colour: true}); r.paint(red, "x") != "\x1b[1;31mx\x1b[0m" {
		t.Error("no colour on a terminal")
	}
}
