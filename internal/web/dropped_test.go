package web

import (
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"lampwright/internal/sheetfile"
)

// white is an invented spectrum in columns.
const white = "nm,power\n400,0\n420,20\n440,90\n460,100\n480,30\n500,20\n520,50\n540,70\n560,72\n580,68\n600,60\n" +
	"620,40\n640,25\n660,12\n680,5\n700,0\n"

// lid is an invented LM-63 file with a beam of about 60°.
const lid = "IESNA:LM-63-2002\n[TEST] none\n[MANUFAC] none\nTILT=NONE\n1 -1 1 5 1 1 2 0 0 0\n1 1 10\n" +
	"0 15 30 60 90\n0\n1000 900 500 50 0\n"

func dropFile(t *testing.T, ts *httptest.Server, name string, data []byte) (droppedView, *http.Response) {
	t.Helper()
	resp, body := send(t, ts, "POST", "/api/drop", map[string]any{"name": name, "data": data}, nil)
	var v droppedView
	if resp.StatusCode == http.StatusOK {
		v = read[droppedView](t, body)
	}
	return v, resp
}

// TestDrop drops files of each kind and of none.
func TestDrop(t *testing.T) {
	_, ts := serve(t, demo(t, "moss-jar"))
	for _, tt := range []struct {
		name, file, text string
		kind             sheetfile.Kind
		stored, says     string
	}{
		{"a spectrum", "White 5000 K (typ.).CSV", white, sheetfile.Spectra, "White-5000-K-typ.csv", ""},
		{"a distribution", "../../etc/lens.ies", lid, sheetfile.Distribution, "lens.ies", ""},
		{"a distribution with another name", `C:\lens.txt`, lid, sheetfile.Distribution, "lens.ies", ""},
		{"no name", "…", white, sheetfile.Spectra, "spectrum.csv", ""},
		{"an outline", "board.csv", "0,0\n100,0\n0,60\n", sheetfile.Outline, "", ""},
		{"a letter", "letter.doc", "Dear all,\n", sheetfile.Unknown, "", "none of the kinds"},
		{"a damaged distribution", "x.ies", "IESNA:LM-63-2002\nTILT=NONE\n1 -1 1 x\n", sheetfile.Distribution, "", ""},
		{"a spectrum with a word", "x.csv", "nm,p\n400,1\n410,red\n500,2\n", sheetfile.Spectra, "", "red"},
	} {
		v, resp := dropFile(t, ts, tt.file, []byte(tt.text))
		if resp.StatusCode != http.StatusOK || v.Kind != tt.kind || v.Name != tt.stored {
			t.Errorf("%s: %s: %q, %q", tt.name, resp.Status, v.Kind, v.Name)
		}
		if ok := v.Token != "" || v.Outline != nil; ok != (len(v.Problems) == 0) || tt.says != "" &&
			!strings.Contains(fmt.Sprint(v.Problems), tt.says) {
			t.Errorf("%s: problems %+v, want %q", tt.name, v.Problems, tt.says)
		}
	}
	_, resp := dropFile(t, ts, "large.csv", make([]byte, sheetfile.MaxBytes+1))
	if resp.StatusCode != http.StatusBadRequest {
		t.Errorf("a large file: %s", resp.Status)
	}
	if _, resp := dropFile(t, ts, "huge.csv", make([]byte, 2*sheetfile.MaxBytes)); resp.StatusCode !=
		http.StatusRequestEntityTooLarge {
		t.Errorf("a huge file: %s", resp.Status)
	}
}

// TestDropSaved saves a part with a dropped file beside it, takes it back, and brings it again; what another program
// put there under that name stays.
func TestDropSaved(t *testing.T) {
	dir := withParts(t)
	_, ts := serve(t, dir)
	post := func(path string, changes ...change) (*http.Response, []byte) {
		t.Helper()
		return send(t, ts, "POST", path, map[string]any{"base": state(t, ts).Hash, "changes": changes}, nil)
	}
	v, _ := dropFile(t, ts, "my lens.ies", []byte(lid))
	if v.Distribution == nil || math.Abs(v.Distribution.PeakCd-1000) > 1 || v.Name != "my-lens.ies" {
		t.Fatalf("%+v", v)
	}
	list := []change{
		{"parts/my-lens.ies#", asFile + v.Token},
		{"parts/own.yaml#lenses[0].photometry_file", v.Name},
		{"parts/own.yaml#lenses[0].intensity_vs_angle", gone},
	}
	if resp, data := post("/api/preview", list...); resp.StatusCode != http.StatusOK {
		t.Fatalf("preview: %s: %.300s", resp.Status, data)
	}
	if got := partsOnDisk(t, dir, v.Name); got != "(none)" {
		t.Fatal("a preview wrote the file")
	}
	if resp, data := post("/api/save", list...); resp.StatusCode != http.StatusOK {
		t.Fatalf("save: %s: %.300s", resp.Status, data)
	}
	if partsOnDisk(t, dir, v.Name) != lid ||
		!strings.Contains(partsOnDisk(t, dir, "own.yaml"), "photometry_file: my-lens.ies") {
		t.Fatalf("the files are\n%s\n%s", partsOnDisk(t, dir, v.Name), partsOnDisk(t, dir, "own.yaml"))
	}
	if st := state(t, ts); len(st.Problems) > 0 {
		t.Fatal(st.Problems)
	}
	for _, step := range []struct{ path, file string }{{"/api/undo", "(none)"}, {"/api/redo", lid}} {
		resp, data := send(t, ts, "POST", step.path, map[string]any{"base": state(t, ts).Hash}, nil)
		if resp.StatusCode != http.StatusOK {
			t.Fatalf("%s: %s: %.300s", step.path, resp.Status, data)
		}
		if got := partsOnDisk(t, dir, v.Name); got != step.file {
			t.Errorf("%s: %q", step.path, got)
		}
	}
	// Another program changes the file: undo leaves it, and the same name is not written over.
	if err := os.WriteFile(filepath.Join(dir, "parts", v.Name), []byte("theirs"), 0o600); err != nil {
		t.Fatal(err)
	}
	if resp, data := post("/api/save", change{"parts/my-lens.ies#", asFile + v.Token}); resp.StatusCode !=
		http.StatusUnprocessableEntity || !strings.Contains(string(data), "other content") {
		t.Errorf("over another file: %s: %.300s", resp.Status, data)
	}
	if again, _ := dropFile(t, ts, "my lens.ies", []byte(lid)); again.Name != "my-lens-2.ies" {
		t.Errorf("dropped again it is called %q", again.Name)
	}
	_, _ = send(t, ts, "POST", "/api/undo", map[string]any{"base": state(t, ts).Hash}, nil)
	if got := partsOnDisk(t, dir, v.Name); got != "theirs" {
		t.Errorf("undo changed another program's file: %q", got)
	}
}

// TestDropNames: a dropped file is written beside the parts only, and only if it was dropped.
func TestDropNames(t *testing.T) {
	dir := withParts(t)
	_, ts := serve(t, dir)
	v, _ := dropFile(t, ts, "white.csv", []byte(white))
	for _, name := range []string{
		"lamp.yaml", "parts/own.yaml", "parts/x.yaml", "../white.csv", "parts/../white.csv",
		"white.csv", "parts/a/b.csv",
		"parts/.csv", `parts\white.csv`, "parts/white.exe", "parts/" + strings.Repeat("x", 99) + ".csv",
	} {
		resp, data := send(t, ts, "POST", "/api/save", map[string]any{
			"base": state(t, ts).Hash, "changes": []change{{name + "#", asFile + v.Token}},
		}, nil)
		if resp.StatusCode != http.StatusUnprocessableEntity {
			t.Errorf("%s: %s: %.200s", name, resp.Status, data)
		}
	}
	for _, token := range []string{"", "../../lamp.yaml", strings.Repeat("0", 32), v.Token + "x"} {
		resp, data := send(t, ts, "POST", "/api/save", map[string]any{
			"base": state(t, ts).Hash, "changes": []change{{"parts/white.csv#", asFile + token}},
		}, nil)
		if resp.StatusCode != http.StatusUnprocessableEntity {
			t.Errorf("token %q: %s: %.200s", token, resp.Status, data)
		}
	}
	for i := range 2 * maxDropped {
		dropFile(t, ts, "x.csv", []byte(strings.Replace(white, "100", fmt.Sprint(100+i), 1)))
	}
	entries, err := os.ReadDir(filepath.Join(dir, filepath.FromSlash(dropDir)))
	if err != nil || len(entries) > maxDropped {
		t.Errorf("%d dropped files are kept, %v", len(entries), err)
	}
}

// TestDropOutline takes the outline of a drawing over into the design, as drawn and centred: 100 × 60 mm with a hole
// of 3.2 mm at (10, 10) of the corner, and a triangle.
func TestDropOutline(t *testing.T) {
	dir := demo(t, "moss-jar")
	s, ts := serve(t, dir)
	box := func(x0, y0, x1, y1 float64) string {
		return fmt.Sprintf(
			"0\nLWPOLYLINE\n70\n1\n10\n%g\n20\n%g\n10\n%g\n20\n%[2]g\n10\n%[3]g\n20\n%[4]g\n10\n%[1]g\n20\n%[4]g\n",
			x0,
			y0,
			x1,
			y1,
		)
	}
	drawing := "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n" + box(0, 0, 100, 60) +
		"0\nCIRCLE\n10\n10\n20\n10\n40\n1.6\n0\nENDSEC\n0\nEOF\n"
	v, _ := dropFile(t, ts, "board.dxf", []byte(drawing))
	if v.Outline == nil || v.Outline.Size != "100 mm × 60 mm" || !v.Outline.Fixed || len(v.Outline.Holes) != 1 {
		t.Fatalf("%+v", v.Outline)
	}
	text := func(c []change) string {
		data, _ := json.Marshal(c)
		return string(data)
	}
	for _, want := range []string{`"rectangle"`, `"100 mm"`, `"60 mm"`, "{diameter: 3.2 mm, at: [[-40 mm, -20 mm]]}"} {
		if !strings.Contains(text(v.Outline.Centred), want) {
			t.Errorf("changes %s lack %s", text(v.Outline.Centred), want)
		}
	}
	v, _ = dropFile(t, ts, "board.csv", []byte("x mm;y mm\n0;0\n200;0\n100;180\n"))
	if v.Outline == nil || v.Outline.Fixed || !strings.Contains(text(v.Outline.AsDrawn), "[100 mm, 180 mm]") ||
		!strings.Contains(text(v.Outline.Centred), "[0 mm, 90 mm]") {
		t.Fatalf("%+v", v.Outline)
	}
	changed, err := s.work.spliceAll(s.work.text, s.work.own, v.Outline.Centred)
	if err != nil || !strings.Contains(string(changed["lamp.yaml"]), "shape: polygon") {
		t.Fatalf("%v\n%s", err, changed["lamp.yaml"])
	}
	for _, p := range s.work.problemsOf(changed) {
		if strings.Contains(p.Msg, "polygon has its size") || strings.Contains(p.Msg, "not a key") {
			t.Errorf("left over: %s", p.Msg)
		}
	}
}

// TestUnsavedText: what a report says of unsaved changes holds no control character.
func TestUnsavedText(t *testing.T) {
	got := unsavedText([]change{
		{
			"parts/own.yaml#fans[0]",
			asBlock + "{id: a}",
		},
		{"parts/a.csv#", asFile + strings.Repeat("0", 32)},
		{"x", gone},
		{"y", asYAML + "[1]"},
		{"z", "2 mm"},
	})
	const want = "with 5 unsaved changes: parts/own.yaml#fans[0] = {id: a}; file parts/a.csv; x removed; y = [1]; " +
		"z = 2 mm"
	if got != want {
		t.Errorf("%q, want %q", got, want)
	}
}
