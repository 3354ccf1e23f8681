package project

import (
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"lampwright/internal/partslib"
)

// TestPartsSum: files of parts that are too large together are refused before one is read.
func TestPartsSum(t *testing.T) {
	own := fstest.MapFS{}
	line := "# " + strings.Repeat("comment ", 12) + "\n"
	comment := []byte("fictitious: true\n" + strings.Repeat(line, 10_000)) // 0.94 MB
	for i := range 16 {
		own[fmt.Sprintf("parts/%03d.yaml", i)] = &fstest.MapFile{Data: comment}
	}
	_, problems := LoadLibrary(own, partslib.Files())
	if len(problems) > 0 {
		t.Errorf("16 files of 0.94 MB: %s", problems.Error())
	}
	for i := 16; i < 18; i++ {
		own[fmt.Sprintf("parts/%03d.yaml", i)] = &fstest.MapFile{Data: comment}
	}
	_, problems = LoadLibrary(own, partslib.Files())
	if len(problems) != 1 || !strings.Contains(problems[0].Msg, "16 MB are the most") {
		t.Errorf("18 files of 0.94 MB: %d problems: %.300s", len(problems), problems.Error())
	}
}

// TestFilesBesideCount: spectra and LM-63 files count with the parts files that name them; one that several parts name
// counts once.
func TestFilesBesideCount(t *testing.T) {
	const mb = 1 << 20
	file := []byte("nm,power\n400,1\n500,1\n600,1\n" + strings.Repeat("# "+strings.Repeat("note ", 20)+"\n", 7*mb/103))
	emitters := "fictitious: true\nemitters:\n"
	own := fstest.MapFS{}
	for i, name := range []string{"a", "a", "a", "a", "b", "c"} {
		emitters += fmt.Sprintf("  - {id: e%d, spectrum_file: %s.csv}\n", i, name)
		own["parts/"+name+".csv"] = &fstest.MapFile{Data: file}
	}
	own["parts/own.yaml"] = &fstest.MapFile{Data: []byte(emitters)}
	_, problems := LoadLibrary(own, partslib.Files())
	var refused []string
	for _, p := range problems {
		if strings.Contains(p.Msg, "exceed 16 MB together") {
			refused = append(refused, fmt.Sprintf("%s at line %d", p.Msg, p.At.Line))
		}
	}
	if len(refused) != 1 || !strings.HasPrefix(refused[0], `spectrum_file "c.csv" was not read`) ||
		!strings.HasSuffix(refused[0], "at line 8") {
		t.Errorf("refused %q, want c.csv alone", refused)
	}
}

// TestManyFaults: files of parts after the first hundreds of problems are not read.
func TestManyFaults(t *testing.T) {
	own := fstest.MapFS{}
	text := []byte("emitters:\n" + strings.Repeat("  - {nonsense: 1}\n", maxProblems))
	for i := range 10 {
		own[fmt.Sprintf("parts/%03d.yaml", i)] = &fstest.MapFile{Data: text}
	}
	_, problems := LoadLibrary(own, partslib.Files())
	last := problems[len(problems)-1]
	if last.At.File != "parts/001.yaml" || !strings.Contains(last.Msg, "were not read") {
		t.Errorf("the last of %d problems is %s", len(problems), last.Error())
	}
}

// TestGivenNotMissing: a value that cannot be read is reported once, and not as missing, too.
func TestGivenNotMissing(t *testing.T) {
	for _, tt := range []struct{ from, to string }{
		{"height: 360 mm}", "height: 360 A}"},
		{"glass: 6 mm", "glass: thick"},
		{"length: 120 mm", "length: 120"},
	} {
		text := strings.Replace(goodLamp, tt.from, tt.to, 1)
		if text == goodLamp {
			t.Errorf("the lamp of the tests has no %q", tt.from)
			continue
		}
		_, problems := Load(fstest.MapFS{DesignFile: {Data: []byte(text)}}, DesignFile, partslib.Files())
		if len(problems) != 1 {
			t.Errorf("%q: %d problems, want 1:\n%s", tt.to, len(problems), problems.Error())
		}
	}
}

// TestFuseWithoutCurrent: the fuse of a mains driver that does not state its current has a place (found by FuzzLoad).
func TestFuseWithoutCurrent(t *testing.T) {
	text := strings.Replace(goodLamp, "driver: ac-700ma\n", "driver: ac-700ma\n    fuse: {standard: UL 248}\n", 1)
	_, problems := Load(fstest.MapFS{DesignFile: {Data: []byte(text)}}, DesignFile, partslib.Files())
	if len(problems) != 2 {
		t.Errorf("%d problems, want 2: %s", len(problems), problems.Error())
	}
	for _, p := range problems {
		if p.At.File == "" || p.At.Line == 0 {
			t.Errorf("a problem without a place: %s", p.Error())
		}
	}
}
