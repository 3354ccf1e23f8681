package web

import (
	"encoding/json"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"lampwright/internal/bench"
	"lampwright/internal/project"
)

// measured is a readings file of the long tank with comments, one value, and one that is still to be read.
const measured = `# First light.
lampwright_readings: 1
instruments:
  - {name: lux, kind: lux meter, class: B, resolution: 1 lx}   # the old one
  - {name: volts, kind: multimeter, accuracy: 0.5 %, resolution: 10 mV}
  - {name: tc, kind: thermocouple, accuracy_offset: 1.5 K, resolution: 0.1 K}
campaigns:
  - name: first light
    date: 2031-09-12
    room: 22.5 °C
    states:
      - {name: full}
      - {name: only cool, levels: [{channel: cool, level: 100 %}], lenses: off}
    readings:
      # the string first
      - {what: string voltage, instrument: volts, channel: cool, state: full, value: 17.9 V}   # warm
      - what: illuminance      # on the axis
        instrument: lux
        state: only cool
        place: axis
        distance: 500 mm
      - {what: contact temperature, instrument: tc, place: heat sink, state: full}
`

func writeReadings(t testing.TB, dir, text string) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, project.ReadingsFile), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func readingsOnDisk(t testing.TB, dir string) string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(dir, project.ReadingsFile))
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// benchOf asks for the readings as the page does.
func benchOf(t testing.TB, ts *httptest.Server, readings string, quick bool, edits ...change) (v benchView) {
	t.Helper()
	resp, data := send(t, ts, "POST", "/api/bench", map[string]any{
		"base": state(t, ts).Hash, "changes": []change{}, "readings": readings, "edits": edits, "quick": quick,
	}, nil)
	if resp.StatusCode != http.StatusOK {
		t.Fatalf("%s: %.300s", resp.Status, data)
	}
	if err := json.Unmarshal(data, &v); err != nil {
		t.Fatal(err)
	}
	return v
}

func TestZZ(t *testing.T) {
	dir := demo(t, "long-tank")
	writeReadings(t, dir, measured)
	s, ts := serve(t, dir)
	settled(t, s)
	v := benchOf(t, ts, "", false)
	data, _ := json.MarshalIndent(v, "", " ")
	t.Logf("%s", data)
	_ = bench.Agrees
	_ = math.Pi
	_ = strings.Cut
}
