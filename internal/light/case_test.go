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

// Both solvers agree on cases of every kind: shares within 4 standard errors, and the ledger closes.
func TestCaseSolversAgree(t *testing.T) {
	tank := func(more string) string {
		return `"tank":{"inner_length_m":0.6,"inner_width_m":0.35,"height_m":0.4,"n_water":1.333,"n_glass":1.52,"glass_thickness_m":0.008,` + more + `}`
	}
	for name, text := range map[string]string{
		"dry, glass":        tank(`"water_depth_m":0,"walls":"glass","substrate_reflectance":0.4,"virtual_plane_z_m":0.2`),
		"dry, black":        tank(`"water_depth_m":0,"walls":"black","substrate_reflectance":0.4,"virtual_plane_z_m":0.4`),
		"dry, no plane":     tank(`"water_depth_m":0,"walls":"glass","substrate_reflectance":0`),
		"wet, black":        tank(`"water_depth_m":0.3,"walls":"black","substrate_reflectance":0.6,"water_absorption_per_m":1.5`),
		"tinted glass":      tank(`"water_depth_m":0.3,"walls":"glass","substrate_reflectance":0.5,"glass_absorption_per_m":8`),
		"full to the rim":   tank(`"water_depth_m":0.4,"walls":"glass","substrate_reflectance":0.5,"water_absorption_per_m":0.2`),
		"white, very clear": tank(`"water_depth_m":0.3,"walls":"glass","substrate_reflectance":0.95`),
	} {
		text = `{"id":"` + name + `",` + text + `,"pattern":{"kind":"table","theta_deg":[0,20,45,70,90],"intensity":[100,90,60,15,0]},` +
			`"sources":[{"x":-0.1,"y":0.05,"z":0.55,"lumens":700},{"x":0.2,"y":-0.1,"z":0.62,"lumens":300}],"points_xy_m":[[0.1,0.03]],"trace":{"rays":600000}}`
		out, err := RunCase(context.Background(), []byte(text))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		r := out.(CaseResult)
		sum := 0.0
		for _, key := range []string{"spill", "substrate_absorbed", "out_dry_walls", "out_wet_walls", "up_through_rim", "absorbed_water", "absorbed_glass"} {
			sum += r.Frac[key]
		}
		near(t, name+": sum of shares", sum, 1, 1e-3)
		for key, mc := range r.MonteCarlo.Frac {
			got, ok := r.Frac[key]
			if !ok {
				continue
			}
			// Beside the errors of both: the inter-reflection on coarse cells is good to 1 % of itself.
			within(t, name+": "+key, Estimate{mc[0], math.Hypot(mc[1], r.StandardErrors["frac."+key])}, got, 4, 2e-5+0.01*(r.Frac["substrate_incident_total"]-r.Frac["substrate_first"]))
		}
		area := 0.6 * 0.35
		within(t, name+": bottom_avg", Estimate{r.MonteCarlo.BottomAvg[0], r.MonteCarlo.BottomAvg[1]}, r.BottomAvg, 4, 0.2+10/area*(r.Frac["substrate_incident_total"]-r.Frac["substrate_first"]))
		within(t, name+": surface_avg", Estimate{r.MonteCarlo.SurfaceAvg[0], r.MonteCarlo.SurfaceAvg[1]}, r.SurfaceAvg, 4, 0.5)
		within(t, name+": bottom patch", Estimate{r.MonteCarlo.BottomPatch[0], r.MonteCarlo.BottomPatchSE[0]}, r.BottomPatch[0], 4, 5)
	}
}
