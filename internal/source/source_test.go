package source

import (
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "write the golden files anew")

func golden(t *testing.T, path, got string) {
	t.Helper()
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), got); d != "" {
		t.Errorf("%s (-want +got):\n%s", path, d)
	}
}

// read returns all problems of a file, as a face shows them.
func read(name string, data []byte, dst any) (*File, Problems) {
	f, problems := Read(name, data)
	if f != nil {
		problems = append(problems, f.Decode(dst)...)
		problems.Sort()
	}
	return f, problems
}

// TestProblems holds every message against testdata/problems/*.want.
func TestProblems(t *testing.T) {
	paths, err := filepath.Glob("testdata/problems/*.yaml")
	if err != nil || len(paths) == 0 {
		t.Fatal("no files", err)
	}
	for _, path := range paths {
		t.Run(filepath.Base(path), func(t *testing.T) {
			data, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			var s sample
			f, problems := read("lamp.yaml", data, &s)
			if len(problems) == 0 {
				t.Fatal("no problem was found")
			}
			golden(t, strings.TrimSuffix(path, ".yaml")+".want", problems.Error()+"\n")
			for _, p := range problems {
				if p.At.File != "lamp.yaml" || p.Msg == "" {
					t.Errorf("%+v lacks a place or a message", p)
				}
				if f != nil && p.At.Line > 0 && p.Line != f.Excerpt(p.At) {
					t.Errorf("%+v does not show its line", p)
				}
			}
		})
	}
}

// TestHouseStyle is the example of the house style, to the letter.
func TestHouseStyle(t *testing.T) {
	text := strings.Repeat("\n", 12) + "channels:\n  - current: 2.4 V\n"
	text = strings.Replace(text, "  - current", "  - {}\n  - name: a\n    current", 1)
	var v struct {
		Channels []struct {
			Name    Text  `yaml:"name"`
			Current Value `yaml:"current" dim:"current"`
		} `yaml:"channels"`
	}
	_, problems := read("lamp.yaml", []byte(text[2:]), &v)
	want := `lamp.yaml:14:14: current "2.4 V" is a voltage; this field takes a current, such as "2.4 A"
   14 |     current: 2.4 V
      |              ^`
	if got := problems.Error(); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	if got := problems[0].At.Path; got != "channels[1].current" {
		t.Errorf("the path is %s", got)
	}
	out, err := json.Marshal(problems)
	if err != nil {
		t.Fatal(err)
	}
	wantJSON := `[{"at":{"file":"lamp.yaml","line":14,"col":14,"path":"channels[1].current"},"msg":"current \"2.4 V\" is a voltage; this field takes a current, such as \"2.4 A\"","line":"    current: 2.4 V"}]`
	if string(out) != wantJSON {
		t.Errorf("JSON is %s", out)
	}
}

func TestDecode(t *testing.T) {
	data, err := os.ReadFile("testdata/sample/good.yaml")
	if err != nil {
		t.Fatal(err)
	}
	s := sample{Note: "kept", Skipped: 7}
	f, problems := read("good.yaml", data, &s)
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	at := func(line, col int, path string) Pos { return Pos{"good.yaml", line, col, path} }
	one := func(si float64, text string, p Pos) Value {
		return Value{SI: si, Lo: si, Hi: si, Set: true, Text: text, At: p}
	}
	want := sample{
		At: at(2, 1, ""), Note: "kept", Skipped: 7,
		Version: Whole{1, true, at(2, 10, "version")},
		Name:    Text{"0x10", true, at(3, 7, "name")},
		Kind:    Text{"tank", true, at(4, 7, "kind")},
		Lit:     Flag{true, true, at(5, 6, "lit")},
		Current: Value{SI: 2.9, Lo: 2.8, Hi: 3, Set: true, Text: "2.9 A ± 0.1 A", At: at(6, 10, "current")},
		Room: Value{
			SI: 295.15, Lo: 291.15, Hi: 305.15, Set: true, Text: "22 °C", Source: "sheet 12, p. 3",
			At: at(7, 7, "room"),
		},
		Rise:  one(8, "8 K", at(8, 7, "rise")),
		Share: one(0.82, "82 %", at(9, 8, "share")),
		Ra:    one(80, "80", at(10, 5, "ra")),
		Steps: []Value{one(1800, "30 min", at(11, 9, "steps[0]")), one(28800, "8 h", at(11, 17, "steps[1]"))},
		Labels: []Text{
			{"on", true, at(13, 5, "labels[0]")},
			{"1e3", true, at(14, 5, "labels[1]")},
			{"2026-01-01", true, at(15, 5, "labels[2]")},
		},
		Counts: []Whole{{0, true, at(16, 10, "counts[0]")}, {12, true, at(16, 13, "counts[1]")}},
		Offset: Point{
			one(0.001, "1 mm", at(17, 13, "offset.x")), one(-0.002, "-2 mm", at(17, 22, "offset.y")),
			at(17, 9, "offset"),
		},
		Places: []Point{
			{
				one(0.01, "10 mm", at(19, 6, "places[0][0]")), one(0.02, "20 mm", at(19, 13, "places[0][1]")),
				at(19, 5, "places[0]"),
			},
			{
				one(-0.01, "-10 mm", at(20, 6, "places[1][0]")), one(0.02, "20 mm", at(20, 14, "places[1][1]")),
				at(20, 5, "places[1]"),
			},
		},
		Voltage: Curve{[]float64{0.1, 0.35}, []float64{2.7, 2.9}, true, "", at(21, 1, "voltage")},
		Price:   Curve{[]float64{0.002}, []float64{12.5}, true, "list of May", at(24, 1, "price")},
		Inside:  size{Length: one(0.6, "600 mm", at(26, 11, "inside.length"))},
		Channels: []channel{
			{
				At: at(28, 5, "channels[0]"), Name: Text{"white", true, at(28, 11, "channels[0].name")},
				Current: Value{
					SI: 0.7, Lo: 0.7, Hi: 0.7, Set: true, Text: "700 mA", Source: "sheet 4",
					At: at(29, 14, "channels[0].current"),
				},
				Size: &size{
					one(0.0035, "3.5 mm", at(30, 20, "channels[0].size.length")),
					one(0.0035, "3.5 mm", at(30, 35, "channels[0].size.width")),
				},
			},
			{
				At: at(31, 5, "channels[1]"), Name: Text{"blue", true, at(31, 11, "channels[1].name")},
				Current: one(0.35, "350 mA", at(32, 14, "channels[1].current")),
			},
		},
	}
	near := cmp.Comparer(func(a, b float64) bool { return a-b < 1e-12 && b-a < 1e-12 })
	if d := cmp.Diff(want, s, near); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
	for path, want := range map[string]Pos{
		"channels[1].current": at(32, 14, "channels[1].current"), "room.max": at(7, 39,
			"room.max"), "places[1][0]": at(20, 6, "places[1][0]"),
		"voltage[350 mA]": at(23, 11, "voltage[350 mA]"), "": at(2, 1, ""),
	} {
		if got, ok := f.At(path); !ok || got != want {
			t.Errorf("At(%q) = %v, %v, want %v", path, got, ok, want)
		}
	}
	for _, path := range []string{
		"channels[2]", "channels[1].curent", "channels.0", "name.first", "a..b", "[",
		"channels[x]", "a.", ".a",
	} {
		if got, ok := f.At(path); ok {
			t.Errorf("At(%q) = %v, want none", path, got)
		}
	}
}

// TestPartlyWrong: what is right is filled in beside what is wrong.
func TestPartlyWrong(t *testing.T) {
	var s sample
	_, problems := read("x", []byte("version: 1\nname: x\nkind: x\ncurrent: 1 V\nvoltage: {1 A: 1 V, 0.5 A: 1 "+
		"V}\nlabels: [a, [b], c]\nchannels: [{name: a}]\n"), &s)
	if len(problems) != 5 || !s.Version.Set || s.Kind.Set || s.Kind.S != "" || s.Current.Set ||
		s.Current.At.Line != 4 || s.Voltage.Set || s.Voltage.X != nil {
		t.Errorf("%+v\n%v", s, problems)
	}
	if len(s.Labels) != 3 || !s.Labels[0].Set || s.Labels[1].Set || !s.Labels[2].Set || len(s.Channels) != 1 ||
		!s.Channels[0].Name.Set {
		t.Errorf("%+v", s)
	}
	if s.Fan != nil || s.Inside.Length.Set {
		t.Error("what is absent was filled in")
	}
}

func TestReadForms(t *testing.T) {
	for name, text := range map[string]string{
		"byte order mark":       "\uFEFFversion: 1\n",
		"carriage returns":      "version: 1\r\nname: x\r\n",
		"old Macintosh":         "version: 1\rname: x\r",
		"document marks":        "---\nversion: 1\n...\n",
		"JSON":                  `{"version": 1, "name": "x"}`,
		"no line break at last": "version: 1",
		"question mark":         "? version\n: 1\n",
	} {
		f, problems := Read("x", []byte(text))
		if len(problems) > 0 {
			t.Errorf("%s: %v", name, problems)
			continue
		}
		if pos, ok := f.At("version"); !ok || f.data[f.offset(pos.Line, pos.Col)] != '1' {
			t.Errorf("%s: version is at %v, %v", name, pos, ok)
		}
		if f.Name() != "x" {
			t.Error("the name is lost")
		}
	}
}

func TestTooMuch(t *testing.T) {
	for name, tt := range map[string]struct{ text, want string }{
		"bytes": {strings.Repeat("a: 1\n", MaxBytes/5+1), "x: the file has 1048580 bytes; at most 1048576 (1 MB) " +
			"are read; part it into several files"},
		"lines": {strings.Repeat("#\n", MaxLines), "x: the file has 50001 lines; at most 50000 are read; part it " +
			"into several files"},
		"marks": {
			strings.Repeat("# ,,,,,,,,,,,,,,,,,,,\n", 20000),
			"x: the file contains 380000 brackets, commas, quotes and the like; at most 300000 are read; part it into " +
				"several files",
		},
		"nodes": {strings.Repeat("- a, b, c, d\n", 9000) + "- [" + strings.Repeat("a,\n",
			38000) + "]\n- [" + strings.Repeat("'a',\n", 2990) + "]", ""},
		"problems": {strings.Repeat("- &a [b]\n", 2000), ""},
	} {
		start := time.Now()
		_, problems := Read("x", []byte(tt.text))
		if tt.want != "" && problems.Error() != tt.want {
			t.Errorf("%s: %v", name, problems)
		}
		if len(problems) > MaxProblems {
			t.Errorf("%s: %d problems", name, len(problems))
		}
		if d := time.Since(start); d > 2*raceSlows*time.Second {
			t.Errorf("%s took %v", name, d)
		}
	}
	f, problems := Read("x", []byte("k: ["+strings.Repeat("{a: 1, b: 2},\n", 21000)+"]\n"))
	if f != nil || !strings.Contains(problems.Error(), "more than 100000 keys and values") {
		t.Errorf("too many nodes: %.200s", problems.Error())
	}
	_, problems = Read("x", []byte("a: b\nc: "+strings.Repeat("d ", MaxLine)))
	if !strings.HasPrefix(problems.Error(), "x:2:1: the line has 16387 bytes; at most 8192 are read; break the line "+
		"after a comma\n    2 | c: d") {
		t.Errorf("a long line: %.300s", problems.Error())
	}
	var v struct {
		L []Text `yaml:"l" one:"a|b"`
	}
	_, problems = read("x", []byte("l:\n"+strings.Repeat("- c\n", 1500)), &v)
	if len(problems) != MaxProblems+1 || !strings.Contains(problems.Error(), "there are 500 more problems") {
		t.Errorf("%d problems", len(problems))
	}
}

// TestHostile: a megabyte of anything is answered at once, without a panic.
func TestHostile(t *testing.T) {
	var s sample
	for _, unit := range []string{
		"[", "{", "- ", "&a ", "? ", "a: ", "!x ", "'", "\"", "*a,", "[a,", "a\n", "-\n", "\t", "|\n", "a: b\n", "- " +
			"{a: ", "- &a b\n", "%", "--- \n",
		"a: |\n b\n", "? a\n", "- - - -\n", "'a' ", "\"\\", "{},", "a,", "?\n", ": \n", " \n", "a\n " +
			"", "\xc2\x85", "日", "# c\n", "<<: \n", "- [a: b]\n",
	} {
		for _, before := range []string{"", "labels: [", "name: |\n "} {
			for _, width := range []int{MaxBytes, 900} {
				var b strings.Builder
				b.WriteString(before)
				for b.Len() < MaxBytes-1000-len(unit) {
					b.WriteString(strings.Repeat(unit, min(width, MaxBytes-1000-b.Len())/len(unit)))
					if width < MaxBytes {
						b.WriteByte('\n')
					}
				}
				start := time.Now()
				_, problems := read("x", []byte(b.String()), &s)
				if len(problems) == 0 {
					t.Errorf("%q %q: no problem", before, unit)
				}
				_ = problems.Error()
				if d := time.Since(start); d > 2*raceSlows*time.Second {
					t.Errorf("%q %q by %d took %v", before, unit, width, d)
				}
			}
		}
	}
}

func TestExcerpt(t *testing.T) {
	f, problems := Read("x", []byte("a: 1\nb: \""+strings.Repeat("é", 1000)+"\"\n"))
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	for _, tt := range []struct {
		line, col int
		want      string
	}{
		{1, 1, "a: 1"},
		{0, 1, ""},
		{9, 1, ""},
		{2, 1, "b: \"" + strings.Repeat("é", 156) + "…"},
		{2, 500, "…" + strings.Repeat("é", 319) + "…"},
		{2, 1005, "…" + strings.Repeat("é", 159) + "\""},
		{2, 99999, "…" + strings.Repeat("é", 158) + "\""},
	} {
		got := f.Excerpt(Pos{Line: tt.line, Col: tt.col})
		if got != tt.want {
			t.Errorf("Excerpt(%d:%d) = %q, want %q", tt.line, tt.col, got, tt.want)
		}
		if tt.col == 500 {
			text := Problem{At: Pos{"x", 2, 500, ""}, Msg: "m", Line: got}.Error()
			lines := strings.Split(text, "\n")
			if len([]rune(lines[1])) > 8+printWidth || strings.Index(lines[2], "^") != 8+printBefore {
				t.Errorf("a long line is shown as\n%s", text)
			}
		}
	}
	if got := (Problem{At: Pos{"x", 1, 3, ""}, Msg: "m", Line: "\x1b[31mred"}).Error(); strings.ContainsRune(got,
		0x1b) {
		t.Errorf("%q reaches the terminal", got)
	}
	if got := (Problem{Msg: "m"}).Error(); got != "m" {
		t.Errorf("a problem without a place is %q", got)
	}
	if Problems(nil).Err() != nil || (Problems{{Msg: "m"}}).Err() == nil {
		t.Error("Err")
	}
}

func TestMistakesPanic(t *testing.T) {
	f, _ := Read("x", []byte("a: 1\n"))
	for name, dst := range map[string]any{
		"no pointer": sample{},
		"no struct":  new(int),
		"no dimension": &struct {
			A Value `yaml:"a"`
		}{},
		"unknown dimension": &struct {
			A Value `yaml:"a" dim:"weight"`
		}{},
		"limit of another": &struct {
			A Value `yaml:"a" dim:"current" min:">=1 V"`
		}{},
		"limit points wrong": &struct {
			A Value `yaml:"a" dim:"current" min:"<=1 A"`
		}{},
		"unknown type": &struct {
			A float64 `yaml:"a"`
		}{},
		"key twice": &struct {
			A, B Text `yaml:"a"`
		}{},
		"no key": &struct {
			A Text `yaml:""`
		}{},
		"bad minpoints": &struct {
			A Curve `yaml:"a" x:"current" y:"voltage" minpoints:"0"`
		}{},
		"curve without y": &struct {
			A Curve `yaml:"a" x:"current"`
		}{},
	} {
		t.Run(name, func(t *testing.T) {
			defer func() {
				if r := recover(); r == nil || !strings.HasPrefix(fmt.Sprint(r), "source: ") {
					t.Errorf("got %v, want a panic of this package", r)
				}
			}()
			f.Decode(dst)
		})
	}
	type loop struct {
		A []loop `yaml:"a"`
	}
	f.Decode(&loop{}) // a type that contains itself is read as deep as the file goes
	defer func() {
		if recover() == nil {
			t.Error("Schema of a type that contains itself: no panic")
		}
	}()
	_, _ = Schema("loop", loop{})
}

func TestSchemaAndReference(t *testing.T) {
	got, err := Schema("Sample", &sample{})
	if err != nil {
		t.Fatal(err)
	}
	golden(t, "testdata/sample/schema.json", string(got))
	if again, _ := Schema("Sample", sample{}); string(again) != string(got) {
		t.Error("the schema differs from one time to the next")
	}
	golden(t, "testdata/sample/reference.md", Reference(sample{}))

	// Each example of the tags must pass the pattern of its key.
	var schema struct {
		Defs map[string]struct {
			Pattern string `json:"pattern"`
		} `json:"$defs"`
	}
	if err := json.Unmarshal(got, &schema); err != nil {
		t.Fatal(err)
	}
	list, _ := fields(structType(sample{}))
	for _, f := range list {
		if f.kind != valueField {
			continue
		}
		def := schema.Defs[dimKey(f.dim)+"-toleranced"]
		if def.Pattern == "" || !regexp.MustCompile(def.Pattern).MatchString(f.example()) {
			t.Errorf("%s: %q does not pass its pattern", f.key, f.example())
		}
	}
}

func FuzzDecode(f *testing.F) {
	for _, glob := range []string{"testdata/problems/*.yaml", "testdata/sample/*.yaml"} {
		paths, err := filepath.Glob(glob)
		if err != nil {
			f.Fatal(err)
		}
		for _, p := range paths {
			data, err := os.ReadFile(p)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(data)
		}
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		var s sample
		file, problems := read("x", data, &s)
		if file == nil && len(problems) == 0 {
			t.Fatal("neither a file nor a problem")
		}
		for _, p := range problems {
			lines := strings.Split(p.Error(), "\n")
			if len(lines) > 3 || p.At.Line > strings.Count(string(data), "\n")+strings.Count(string(data),
				"\r")+strings.Count(string(data), "\u0085")+strings.Count(string(data), "\u2028")+strings.Count(string(data), "\u2029")+1 {
				t.Fatalf("%+v\n%s", p, p)
			}
		}
		if file == nil {
			return
		}
		for _, path := range []string{"name", "channels[0].current", "inside.length", "fan.speed", "day.full.light"} {
			out, err := file.Splice(path, "7: #x")
			if err != nil {
				continue
			}
			again, problems := Read("x", out)
			if len(problems) > 0 {
				t.Fatalf("after Splice(%s): %v\n%s", path, problems, out)
			}
			target, err := again.find(path)
			if err != nil || target.node == nil || target.node.kind == scalar && target.node.text != "7: #x" {
				t.Fatalf("Splice(%s) gave\n%s", path, out)
			}
		}
		leaves := file.Leaves("")
		step := 1 + len(leaves)/16 // of a long file some, as each is read again
		for i := len(data) % step; i < len(leaves); i += step {
			l := leaves[i]
			removed, err := file.Removed(l.Path)
			if err != nil {
				continue
			}
			out := removed.Text()
			again, problems := Read("x", out)
			if len(problems) > 0 {
				t.Fatalf("after Removed(%s): %v\n%s", l.Path, problems, out)
			}
			if t0, _ := again.find(l.Path); t0.node != nil || len(again.Leaves("")) != len(leaves)-1 {
				t.Fatalf("Removed(%s) gave\n%s", l.Path, out)
			}
		}
	})
}

func BenchmarkDecode(b *testing.B) {
	data, err := os.ReadFile("testdata/sample/good.yaml")
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		var s sample
		if _, problems := read("x", data, &s); len(problems) > 0 {
			b.Fatal(problems)
		}
	}
}
