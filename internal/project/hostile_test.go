package project

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"lampwright/internal/partslib"
	"lampwright/internal/source"
)

// TestHostile: whatever is in a file, there is a clear problem, in well under a second, and never a Project.
func TestHostile(t *testing.T) {
	in := func(old, now string) string {
		if strings.Count(goodLamp, old) != 1 {
			t.Fatalf("%q does not stand once in the lamp", old)
		}
		return strings.Replace(goodLamp, old, now, 1)
	}
	binary := make([]byte, 4096)
	rng := rand.New(rand.NewPCG(1, 1))
	for i := range binary {
		binary[i] = byte(rng.Uint32())
	}
	for _, tt := range []struct {
		name, text string
		at         string // of the first problem
		msg        string
	}{
		{"empty", "", DesignFile, "the file is empty"},
		{"blank", " \n\n", DesignFile, "the file is empty"},
		{"comments only", "# a lamp\n", DesignFile, "the file is empty"},
		{"one word", "lamp\n", DesignFile + ":1:1", "a mapping (key: value) is expected here, not one value"},
		{"a list", "- a\n- b\n", DesignFile + ":1:1", "a mapping (key: value) is expected here, not a list"},
		{"binary", string(binary), "", "is not text in UTF-8"},
		{"zero bytes", "lampwright: 2\x00", DesignFile + ":1:14", "this is not a text file"},
		{"over a megabyte", goodLamp + "# " + strings.Repeat("x\n# ", 1<<18), DesignFile, "at most 1048576 (1 MB) are read"},
		{"exactly too large", strings.Repeat("#", 1<<20+1), DesignFile, "at most 1048576 (1 MB) are read"},
		{"deep lists", "name: " + strings.Repeat("[", 5000), "", "deep"},
		{"deep mappings", "name: " + strings.Repeat("{a: ", 2000), "", "deep"},
		{"deep blocks", func() string {
			var b strings.Builder
			for i := range 400 {
				b.WriteString(strings.Repeat(" ", i) + "a:\n")
			}
			return b.String()
		}(), "", "deep"},
		{"a very long line", "name: " + strings.Repeat("x", 100_000), DesignFile + ":1:1", "the line has"},
		{"a key twice", in("name: good lamp\n", "name: good lamp\nname: other lamp\n"), DesignFile + ":3:1", `the key "name" is given twice`},
		{"an anchor", in("name: good lamp", "name: &a good lamp"), DesignFile + ":2:7", "an anchor"},
		{"an alias bomb", "a: &a [x, x, x]\nb: &b [*a, *a, *a]\nc: [*b, *b]\n", "", "an"},
		{"a merge key", in("requirements:\n", "requirements:\n  <<: {ra: 80}\n"), "", "a merge key"},
		{"a tag", in("name: good lamp", "name: !!int 5"), "", "a tag"},
		{"two documents", goodLamp + "---\nname: two\n", "", "a second document"},
		{"a tab", in("  glass: 6 mm", "\tglass: 6 mm"), "", "tab"},
		{"not a number", in("glass: 6 mm", "glass: .nan"), DesignFile + ":6:10", ""},
		{"NaN with a unit", in("glass: 6 mm", "glass: NaN mm"), DesignFile + ":6:10", ""},
		{"infinity", in("glass: 6 mm", "glass: .inf mm"), DesignFile + ":6:10", ""},
		{"Inf", in("glass: 6 mm", "glass: Inf mm"), DesignFile + ":6:10", ""},
		{"a number beyond all", in("glass: 6 mm", "glass: 1e999 mm"), DesignFile + ":6:10", ""},
		{"below zero", in("glass: 6 mm", "glass: -6 mm"), DesignFile + ":6:10", "must be"},
		{"no length at all", in("length: 600 mm", "length: 0 mm"), "", "must be"},
		{"a board below zero", in("length: 120 mm\n", "length: -120 mm\n"), "", "must be"},
		{"no unit", in("glass: 6 mm", "glass: 6"), DesignFile + ":6:10", "unit"},
		{"a wrong unit", in("glass: 6 mm", "glass: 6 V"), DesignFile + ":6:10", "voltage"},
		{"a current of 0 A", in("current: 1.0 A", "current: 0 A"), "", "must be"},
		{"an unknown key", in("  glass: 6 mm", "  glas: 6 mm"), "", ""},
		{"a version of the future", in("lampwright: 2", "lampwright: 3"), DesignFile + ":1:13", "out of range"},
		{"no channels", goodLamp[:strings.Index(goodLamp, "channels:")] + "channels: []\n" + goodLamp[strings.Index(goodLamp, "thermal_interface:"):], "", "empty list"},
		{"channels without a value", goodLamp[:strings.Index(goodLamp, "channels:")] + "channels:\n" + goodLamp[strings.Index(goodLamp, "thermal_interface:"):], "", "has no value"},
		{"a part without a name", in("part: fins-100", `part: ""`), "", "is empty"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			began := time.Now()
			p, problems := loadTexts(tt.text, goodParts)
			if took := time.Since(began); took > time.Second {
				t.Errorf("it took %s", took)
			}
			if p != nil || len(problems) == 0 {
				t.Fatal("it loads")
			}
			found := false
			for _, q := range problems {
				found = found || strings.Contains(q.Msg, tt.msg) && (tt.at == "" || q.At.String() == tt.at)
				if q.At.File == "" || q.Msg == "" {
					t.Errorf("a problem says nothing: %+v", q)
				}
			}
			if !found {
				t.Errorf("no problem at %q says %q:\n%s", tt.at, tt.msg, problems.Error())
			}
		})
	}
}

// TestHostileParts: the same for parts; curves above all.
func TestHostileParts(t *testing.T) {
	in := func(old, now string) string {
		if strings.Count(goodParts, old) != 1 {
			t.Fatalf("%q does not stand once in the parts", old)
		}
		return strings.Replace(goodParts, old, now, 1)
	}
	fv := "{0.1 A: 2.9 V, 1 A: 3.2 V}"
	for _, tt := range []struct{ name, text, at, msg string }{
		{"two points at one x", in(fv, "{0.1 A: 2.9 V, 100 mA: 3.0 V, 1 A: 3.2 V}"), "100 mA", "has two points at"},
		{"one key twice", in(fv, "{0.1 A: 2.9 V, 0.1 A: 3.0 V, 1 A: 3.2 V}"), "", "is given twice"},
		{"unsorted", in(fv, "{1 A: 3.2 V, 0.1 A: 2.9 V}"), "0.1 A: 2.9", `"0.1 A" comes after "1 A"`},
		{"one point", in(fv, "{1 A: 3.2 V}"), "", "has 1 point and needs at least 2"},
		{"no point", in(fv, "{}"), "", "has 0 points"},
		{"axes swapped", in(fv, "{2.9 V: 0.1 A, 3.2 V: 1 A}"), "", "is a voltage"},
		{"NaN on a curve", in(fv, "{0.1 A: 2.9 V, 1 A: NaN V}"), "", ""},
		{"a list for a curve", in(fv, "[0.1 A, 2.9 V]"), "", "a curve is due here"},
		{"lens that names no package", in("fits: [p35], ", ""), "", `needs the key "fits"`},
		{"fraction of nothing", in("share: 40 %", "share: 0 %"), "", "must be"},
		{"peak in the X-rays", in("at: 450 nm", "at: 4 nm"), "", "must be"},
		{"no dies", in("dies: 2", "dies: 0"), "", "must be"},
		{"half a die", in("dies: 2", "dies: 1.5"), "", "not a whole number"},
		{"negative conductivity", in("dielectric_conductivity: 2 W/(m·K)", "dielectric_conductivity: -2 W/(m·K)"), "", "must be"},
		{"negative resistance", in("resistance: 50 Ω/km", "resistance: -50 Ω/km"), "", "must be"},
		{"efficiency over 100 %", in("efficiency: 90 %, diameter", "efficiency: 101 %, diameter"), "", "must be"},
		{"efficiency over 100 % with its tolerance", in("efficiency: 90 %, diameter", "efficiency: {value: 90 %, max: 105 %}, diameter"), "", "with its tolerance"},
		{"tolerance upside down", in("beam_angle: 60 deg", "beam_angle: {value: 60 deg, min: 70 deg}"), "70 deg", "lies above value"},
		{"part without an id", in("{id: n1, ", "{"), "", `needs the key "id"`},
		{"parts under no kind", "fictitious: true\nlamps: []\n", "", "is not a key"},
		{"broken off", goodParts[:len(goodParts)/2], "", ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			p, problems := loadTexts(goodLamp, tt.text)
			if p != nil || len(problems) == 0 {
				t.Fatal("it loads")
			}
			found := false
			for _, q := range problems {
				found = found || q.At.File == partsName && strings.Contains(q.Msg, tt.msg) && (tt.at == "" || q.At.String() == partsName+":"+place(t, tt.text, tt.at))
			}
			if !found {
				t.Errorf("no problem at %q says %q:\n%s", tt.at, tt.msg, problems.Error())
			}
		})
	}
}

// TestTruncated: the good lamp cut anywhere is either a lamp or a problem with a place.
func TestTruncated(t *testing.T) {
	all, problems := LoadLibrary(nil, partslib.Files())
	if len(problems) > 0 {
		t.Fatal(problems.Error())
	}
	for n := 0; n < len(goodLamp); n += 7 {
		p, problems := parse(DesignFile, []byte(goodLamp[:n]), all, nil)
		if p == nil && len(problems) == 0 {
			t.Fatalf("cut after %d bytes: neither a project nor a problem", n)
		}
		for _, q := range problems {
			if q.At.File != DesignFile || q.Msg == "" {
				t.Errorf("cut after %d bytes: %+v", n, q)
			}
		}
	}
}

// TestManyProblems: a file full of mistakes does not take long, nor print without end.
func TestManyProblems(t *testing.T) {
	var b bytes.Buffer
	b.WriteString(goodLamp[:strings.Index(goodLamp, "channels:")])
	b.WriteString("channels:\n")
	for i := range 3000 {
		fmt.Fprintf(&b, "  - {name: c%d, emitters: [{part: whit-1die-%d, at: [[0 mm, 0 mm]]}], current: 1 A, driver: stepdown-9a}\n", i, i)
	}
	b.WriteString(goodLamp[strings.Index(goodLamp, "thermal_interface:"):])
	began := time.Now()
	p, problems := loadTexts(b.String(), goodParts)
	if p != nil || len(problems) < 3000 {
		t.Errorf("%d problems", len(problems))
	}
	if took := time.Since(began); took > 10*time.Second { // half a second; the race detector takes ten times that
		t.Errorf("it took %s", took)
	}
}

// smallLamp is a design that is read in a fraction of a millisecond.
const smallLamp = `lampwright: 2
name: a
installation:
  {kind: bench, inside: {length: 1 m, width: 500 mm}, hanging_height: 300 mm, ambient: {typical: 20 °C, max: 30 °C}}
board: {part: aluminium-2w, thickness: 2 mm, shape: disc, diameter: 80 mm}
channels:
  - name: w
    emitters: [{part: white-5700-six, die_configuration: 9 V, at: [[0 mm, 0 mm]]}]
    current: 1.0 A
    driver: ac-700ma
thermal_interface: {part: tim-paste-3w}
sink: {part: fins-100}
solder: sac305
`

// smallParts is a file of parts that is read as fast.
const smallParts = `fictitious: true
sinks:
  - {id: s2, base: {length: 60 mm, width: 60 mm}, resistance_vs_power: {1 W: 5 K/W, 50 W: 4 K/W}}
boards:
  - {id: b1, base: aluminium, copper: 1 oz, dielectric_thickness: 100 µm, dielectric_conductivity: 2 W/(m·K),
    base_conductivity: 138 W/(m·K), thermal_path: dielectric, price_by_thickness: {1 mm: 4 EUR}}
`

// FuzzLoad replaces one line of a small design, or of a small file of parts, by any text: the answer is a Project or
// problems that have a place, and no panic. One line at a time keeps the input short, so that the fuzzer tries hundreds
// of them a second.
func FuzzLoad(f *testing.F) {
	for i, text := range append(strings.Split(goodLamp, "\n"), strings.Split(goodParts, "\n")...) {
		f.Add(uint8(i), text)
	}
	all, problems := LoadLibrary(nil, partslib.Files())
	if len(problems) > 0 {
		f.Fatal(problems.Error())
	}
	lines := strings.SplitAfter(smallLamp+smallParts, "\n")
	n := strings.Count(smallLamp, "\n")
	f.Fuzz(func(t *testing.T, at uint8, text string) {
		changed := slices.Clone(lines)
		changed[int(at)%len(lines)] = text + "\n"
		lamp, parts := strings.Join(changed[:n], ""), strings.Join(changed[n:], "")
		var p *Project
		var found source.Problems
		if int(at)%len(lines) < n {
			if p, found = parse(DesignFile, []byte(lamp), all, nil); (p == nil) == (len(found) == 0) {
				t.Fatalf("a project %v and %d problems", p != nil, len(found))
			}
		} else {
			_, found = LoadLibrary(fstest.MapFS{partsName: {Data: []byte(parts)}}, nil)
		}
		if p != nil && (len(p.Design.Channels) == 0 || len(p.Design.Channels[0].Emitters) == 0) {
			t.Fatal("a lamp without emitters loads")
		}
		for _, q := range found {
			if q.At.File == "" || q.Msg == "" || q.Error() == "" {
				t.Fatalf("a problem says nothing: %+v", q)
			}
		}
	})
}

// TestSmallFiles: the files that FuzzLoad changes have no problem before.
func TestSmallFiles(t *testing.T) {
	files := fstest.MapFS{DesignFile: {Data: []byte(smallLamp)}, partsName: {Data: []byte(smallParts)}}
	if p, problems := Load(files, DesignFile, partslib.Files()); p == nil {
		t.Error(problems.Error())
	}
}
