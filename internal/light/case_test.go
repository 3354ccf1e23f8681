package light

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Worked cases with closed-form answers, each file tells its derivation, and the three open cases of the reference.
func TestWorkedCases(t *testing.T) {
	files, err := filepath.Glob("testdata/*/*.json")
	if err != nil || len(files) < 6+3 {
		t.Fatalf("%d case files, %v", len(files), err)
	}
	for _, name := range files {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if !IsCase(data) {
			t.Errorf("%s is not seen as a case", name)
		}
		out, err := RunCase(context.Background(), data)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		r := out.(CaseResult)
		if len(r.Compared) < 2 {
			t.Errorf("%s expects only %d figures", name, len(r.Compared))
		}
		for _, c := range r.Compared {
			if !c.Passed {
				t.Errorf("%s: %s = %.7g, want %.7g ± %.2g", name, c.Key, c.Got, c.Want, c.Tolerance)
			}
		}
		if _, err := json.Marshal(out); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestBadCases(t *testing.T) {
	good := `{"id":"g","tank":{"inner_length_m":0.5,"inner_width_m":0.4,"height_m":0.4,"water_depth_m":0.36,"n_water":1.333,"n_glass":1.52,"glass_thickness_m":0.008,"walls":"glass"},` +
		`"pattern":{"kind":"cosm","m":2},"sources":[{"x":0,"y":0,"z":0.6,"lumens":1000}],"points_xy_m":[[0,0]],"trace":{"rays":40000}}`
	if _, err := RunCase(context.Background(), []byte(good)); err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct{ name, from, to, want string }{
		{"truncated", `"trace":{"rays":40000}}`, ``, "read case"},
		{"lamp under water", `"z":0.6`, `"z":0.2`, "must hang above the water"},
		{"no glass", `"glass_thickness_m":0.008`, `"glass_thickness_m":0`, "needs a glass thickness"},
		{"overfull", `"water_depth_m":0.36`, `"water_depth_m":0.46`, "lower the water"},
		{"walls", `"walls":"glass"`, `"walls":"mirror"`, "say glass or black"},
		{"kind", `"kind":"cosm"`, `"kind":"gauss"`, "say cosm or table"},
		{"no exponent", `"kind":"cosm","m":2`, `"kind":"cosm"`, "needs m or fwhm_deg"},
		{"dark", `"lumens":1000`, `"lumens":0`, "give a figure above 0"},
		{"point outside", `[[0,0]]`, `[[9,0]]`, "inside the tank"},
		{"no sources", `{"x":0,"y":0,"z":0.6,"lumens":1000}`, ``, "1 to 1000"},
		{"negative size", `"inner_length_m":0.5`, `"inner_length_m":-0.5`, "out of range"},
		{"table", `"kind":"cosm","m":2`, `"kind":"table","theta_deg":[0,50,40],"intensity":[1,1,1]`, "angles must rise"},
		{"not a number", `"m":2`, `"m":"two"`, "read case"},
	} {
		_, err := RunCase(context.Background(), []byte(strings.Replace(good, tt.from, tt.to, 1)))
		if err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: error %v, want one with %q", tt.name, err, tt.want)
		}
	}
	for _, other := range []string{``, `[]`, `3`, `{"board":{}}`, `{"case":{"board":{}}}`} {
		if IsCase([]byte(other)) {
			t.Errorf("%q is seen as a tank case", other)
		}
	}
}

// A table is read under the names that people use, as two lists or as pairs.
func TestCaseTables(t *testing.T) {
	for _, text := range []string{
		`{"kind":"table","theta_deg":[0,45,90],"intensity":[2,1,0]}`,
		`{"kind":"table","angles_deg":[0,45,90],"values":[2,1,0]}`,
		`{"kind":"table","points":[[0,2],[45,1],[90,0]]}`,
		`{"kind":"table","theta_deg":[0,45,90],"phi_deg":[0,180],"intensity":[[2,1,0],[2,1,0]]}`,
	} {
		var c casePattern
		if err := json.Unmarshal([]byte(text), &c); err != nil {
			t.Fatal(err)
		}
		p, err := c.pattern()
		if err != nil {
			t.Errorf("%s: %v", text, err)
			continue
		}
		// ∫ I sin θ over the lines 2 to 1 to 0, by hand: 2 − 4/π.
		near(t, text, p.PerFlux(1, 0), 2/(2*math.Pi*(2-4/math.Pi)), 1e-9)
	}
}
