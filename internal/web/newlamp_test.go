package web

import (
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"lampwright/internal/start"
)

// TestAnswers: proposals stand in empty fields, a wrong answer is named, and nothing is written.
func TestAnswers(t *testing.T) {
	dir := t.TempDir()
	_, ts := serve(t, dir)
	ask := func(f start.Form) answersView {
		resp, data := send(t, ts, "POST", "/api/answers", map[string]any{"form": f}, nil)
		if resp.StatusCode != http.StatusOK {
			t.Fatalf("%d: %s", resp.StatusCode, data)
		}
		return read[answersView](t, data)
	}
	v := ask(start.Form{})
	if v.Filled.Length != "700 mm" || v.Filled.PPFDMin != "40 µmol/m²/s" || v.DLI != "1.94 mol/m²/d" ||
		v.Source != "rule of thumb (no source)" || len(v.Plants) != 3 || len(v.Wrong) != 0 || v.Place.Water != 360 {
		t.Errorf("without answers: %+v", v)
	}
	v = ask(start.Form{Kind: "bench", PPFDMin: "100 µmol/m²/s", Length: "8 kg"})
	if v.Source != "own values" || len(v.Wrong) != 1 || v.Wrong[0].Field != "length" || v.Place.Height != 0 {
		t.Errorf("wrong length: %+v", v)
	}
	if list, _ := os.ReadDir(dir); len(list) != 0 {
		t.Errorf("%v was written", list)
	}
}

// TestNewLamp: an empty folder gets a design without stops once; then it is refused, as wrong answers are.
func TestNewLamp(t *testing.T) {
	dir := t.TempDir()
	_, ts := serve(t, dir)
	form := start.Form{Length: "30 cm", Width: "20 cm", Height: "24 cm", Plants: "shade"}
	bad := form
	bad.WaterDepth = "30 cm"
	resp, data := send(t, ts, "POST", "/api/new", map[string]any{"form": bad}, nil)
	if f := read[failure](t, data); resp.StatusCode != http.StatusUnprocessableEntity || f.Path != "water_depth" {
		t.Errorf("wrong water depth: %d %s", resp.StatusCode, data)
	}
	resp, data = send(t, ts, "POST", "/api/new", map[string]any{"form": form}, nil)
	v := read[startedView](t, data)
	if resp.StatusCode != http.StatusOK || v.Stops != 0 || len(v.Notes) < 6 || v.State.Empty {
		t.Fatalf("%d: %s", resp.StatusCode, data)
	}
	text, err := os.ReadFile(filepath.Join(dir, "lamp.yaml"))
	if err != nil || !strings.Contains(string(text), "inside: {length: 300 mm, width: 200 mm, height: 240 mm}") {
		t.Errorf("%v\n%s", err, text)
	}
	resp, data = send(t, ts, "POST", "/api/new", map[string]any{"form": form}, nil)
	if resp.StatusCode != http.StatusBadRequest || !strings.Contains(string(data), "already exists; nothing was") {
		t.Errorf("a second time: %d %s", resp.StatusCode, data)
	}
}
