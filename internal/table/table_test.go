package table

import (
	"math"
	"strings"
	"testing"
	"testing/fstest"
)

const header = `# quantity: resistance
# unit: gauge 1, Ω/km
# source: ASTM B258
# edition: 2018
# licence: facts
# retrieved: 2026-11-25
`

const rows = header + `# note: solid copper
awg,ohm,chassis,kind
10,3.277,55,memory
12,5.211,,"formula, rounded"
`

func TestRead(t *testing.T) {
	tab, err := Read("awg.csv", []byte(rows), "ohm", "chassis")
	if err != nil {
		t.Fatal(err)
	}
	if tab.Rows() != 2 || len(tab.Columns) != 4 {
		t.Errorf("%d rows of %d columns, want 2 of 4", tab.Rows(), len(tab.Columns))
	}
	if got := tab.Number(1, "ohm"); got != 5.211 {
		t.Errorf("row 1, ohm: %g, want 5.211", got)
	}
	if got := tab.Number(1, "chassis"); got != 0 || tab.Text(1, "chassis") != "" {
		t.Errorf("a blank cell reads as %g and %q", got, tab.Text(1, "chassis"))
	}
	if got := tab.Text(1, "kind"); got != "formula, rounded" {
		t.Errorf("row 1, kind: %q", got)
	}
	if row, ok := tab.Find("awg", "12"); !ok || row != 1 {
		t.Errorf("AWG 12 is found in row %d, %v; want 1", row, ok)
	}
	if _, ok := tab.Find("awg", "13"); ok {
		t.Error("AWG 13 is found")
	}
	h := tab.Header
	if h.Quantity != "resistance" || h.Unit != "gauge 1, Ω/km" || h.Source != "ASTM B258" || h.Edition != "2018" ||
		h.Licence != "facts" || h.Retrieved != "2026-11-25" || len(h.Notes) != 1 || h.Notes[0] != "note: solid copper" {
		t.Errorf("header %+v", h)
	}
}

func TestReadErrors(t *testing.T) {
	for _, tt := range []struct{ name, text, want string }{
		{"empty", "", `t.csv:1: the header has no line "# quantity: …"`},
		{"no licence", strings.Replace(rows, "# licence: facts\n", "", 1), `t.csv:7: the header has no line "# licence: …"`},
		{"unit twice", strings.Replace(rows, "# edition", "# unit: 1\n# edition", 1), "t.csv:4: the header states unit twice"},
		{"no date", strings.Replace(rows, "2026-11-25", "yesterday", 1), `retrieved "yesterday" is not a date`},
		{"no names", header, "t.csv: no column names"},
		{"no rows", header + "awg,ohm,chassis\n", "t.csv:7: no rows"},
		{
			"not a number", strings.Replace(rows, "5.211", "5,211", 1),
			"t.csv:10:1: the row has another number of values than the 4 column names",
		},
		{"text in a number", strings.Replace(rows, "5.211", "five", 1), `t.csv:10:4: ohm is "five"; this column takes finite numbers`},
		{"infinite", strings.Replace(rows, "5.211", "1e999", 1), `t.csv:10:4: ohm is "1e999"`},
		{"NaN", strings.Replace(rows, "5.211", "NaN", 1), `t.csv:10:4: ohm is "NaN"`},
		{"same name twice", strings.Replace(rows, "chassis", "ohm", 1), `t.csv:8: column 3 is named "ohm"`},
		{"no such column", strings.Replace(rows, "chassis", "box", 1), `t.csv:8: no column "chassis"`},
		{"quote", strings.Replace(rows, `"formula`, `x"formula`, 1), "a double quote is in the middle of a value"},
		{"too long", rows + strings.Repeat("#", maxBytes), "at most 4194304 are read"},
		{"too many rows", rows + strings.Repeat("1,1,1,a\n", maxRows), "more than 100000 rows"},
		{"too many columns", header + strings.Repeat("a,", maxColumns) + "b\n", "1001 columns"},
	} {
		if _, err := Read("t.csv", []byte(tt.text), "ohm", "chassis"); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: error %v, want one with %q", tt.name, err, tt.want)
		}
	}
}

func TestMust(t *testing.T) {
	files := fstest.MapFS{"a.csv": {Data: []byte(header + "nm,a,b\n400,1,2\n405,,4\n")}}
	tab := Must(files, "a.csv", AllNumbers)
	if b := tab.Numbers("b"); len(b) != 2 || b[1] != 4 {
		t.Errorf("column b is %v, want 2 and 4", b)
	}
	for name, mistake := range map[string]func(){
		"no file":          func() { Must(files, "b.csv") },
		"not a number":     func() { Must(fstest.MapFS{"a.csv": {Data: []byte(rows)}}, "a.csv", AllNumbers) },
		"no column":        func() { tab.Numbers("c") },
		"not read as such": func() { Must(files, "a.csv", "a").Numbers("b") },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", name)
				}
			}()
			mistake()
		}()
	}
}

// FuzzRead: whatever a text holds, it is a table of finite numbers or an error that names the file, and never a panic.
func FuzzRead(f *testing.F) {
	f.Add([]byte(rows))
	f.Add([]byte(header + "ohm\n\n\"1\n\"\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		tab, err := Read("t.csv", text, "ohm")
		if err != nil {
			if !strings.HasPrefix(err.Error(), "t.csv:") {
				t.Fatalf("an error without the file: %v", err)
			}
			return
		}
		if len(tab.Numbers("ohm")) != tab.Rows() || tab.Rows() == 0 {
			t.Fatalf("%d numbers in %d rows", len(tab.Numbers("ohm")), tab.Rows())
		}
		for _, v := range tab.Numbers("ohm") {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("%g is read as a number", v)
			}
		}
	})
}
