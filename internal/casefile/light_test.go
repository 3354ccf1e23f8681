package casefile

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"lampwright/internal/raytrace"
)

// Worked cases with closed-form answers, each file reports its derivation, and the three open cases of the reference.
func TestWorkedCases(t *testing.T) {
	if testing.Short() {
		t.Skip("it traces many rays")
	}
	files, err := filepath.Glob("testdata/light/*/*.json")
	if err != nil || len(files) < 6+3 {
		t.Fatalf("%d case files, %v", len(files), err)
	}
	for _, name := range files {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		out, err := Run(context.Background(), "case.json", data)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		r := out.(raytrace.CaseResult)
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

// Lamps beside the rim, below it, close to a pane, and tanks deep and narrow: whatever a case may hold, both solvers
// agree on every share, mean and patch. Seed 5, a million paths; 4 standard errors, as 17 figures a case are looked at,
// and 0.2 % (0.5 % of a patch) of the figure, which is what an answer may be off.
func TestOddCasesAgree(t *testing.T) {
	if testing.Short() {
		t.Skip("it traces many rays")
	}
	for name, text := range map[string]string{
		"beside the rim": `"tank":{"inner_length_m":0.5,"inner_width_m":0.4,"height_m":0.4,"water_depth_m":0.36,"glass_thickness_m":0.008,"substrate_reflectance":0.4,"water_absorption_per_m":0.3},"pattern":{"kind":"cosm","m":1},"sources":[{"x":0.31,"y":0.02,"z":0.65,"lumens":800}],"points_xy_m":[[0.06,0.03],[-0.13,0.08]]`,
		"by a pane":      `"tank":{"inner_length_m":0.5,"inner_width_m":0.4,"height_m":0.4,"water_depth_m":0.36,"glass_thickness_m":0.003,"n_glass":1.5},"pattern":{"kind":"table","theta_deg":[0,10,20,30,45,60,80,90],"intensity":[100,98,90,70,35,10,2,0]},"sources":[{"x":-0.235,"y":0.1,"z":0.55,"lumens":900}],"points_xy_m":[[-0.16,0.07],[0.1,-0.05]]`,
		"below the rim":  `"tank":{"inner_length_m":0.5,"inner_width_m":0.4,"height_m":0.5,"water_depth_m":0.3,"glass_thickness_m":0.008,"substrate_reflectance":0.3},"pattern":{"kind":"cosm","m":2},"sources":[{"x":0.07,"y":0.03,"z":0.47,"lumens":1000}],"points_xy_m":[[0.13,0.06],[-0.24,0.19]]`,
		"deep, narrow":   `"tank":{"inner_length_m":0.3,"inner_width_m":0.3,"height_m":0.8,"water_depth_m":0.75,"glass_thickness_m":0.01,"substrate_reflectance":0.5,"water_absorption_per_m":0.5},"pattern":{"kind":"cosm","fwhm_deg":40},"sources":[{"x":0.04,"y":-0.03,"z":1.1,"lumens":1000,"tilt_deg":10,"tilt_azimuth_deg":200}],"points_xy_m":[[0.07,0.06]]`,
	} {
		out, err := Run(
			context.Background(), "case.json", []byte(`{"id":"odd",`+text+`,"trace":{"rays":1000000,"seed":5}}`),
		)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		r := out.(raytrace.CaseResult)
		m := r.MonteCarlo
		within(
			t, name+": surface", raytrace.Estimate{Value: m.SurfaceAvg[0], Err: m.SurfaceAvg[1]}, r.SurfaceAvg, 4,
			0.002*r.SurfaceAvg,
		)
		within(
			t, name+": bottom", raytrace.Estimate{Value: m.BottomAvg[0], Err: m.BottomAvg[1]}, r.BottomAvg, 4,
			0.002*r.BottomAvg,
		)
		for i := range r.SurfacePatch {
			within(
				t, name+": patch above", raytrace.Estimate{Value: m.SurfacePatch[i], Err: m.SurfacePatchSE[i]},
				r.SurfacePatch[i], 4, 0.005*r.SurfacePatch[i],
			)
			within(
				t, name+": patch below", raytrace.Estimate{Value: m.BottomPatch[i], Err: m.BottomPatchSE[i]},
				r.BottomPatch[i], 4, 0.005*r.BottomPatch[i],
			)
		}
		for key, mc := range m.Frac {
			if got, ok := r.Frac[key]; ok {
				within(t, name+": "+key, raytrace.Estimate{Value: mc[0], Err: mc[1]}, got, 4, 2e-5+0.002*got)
			}
		}
	}
}

func TestBadCases(t *testing.T) {
	good := `{"id":"g","tank":{"inner_length_m":0.5,"inner_width_m":0.4,"height_m":0.4,` +
		`"water_depth_m":0.36,"n_water":1.333,"n_glass":1.52,"glass_thickness_m":0.008,"walls":"glass"},` +
		`"pattern":{"kind":"cosm","m":2},"sources":[{"x":0,"y":0,"z":0.6,"lumens":1000}],"points_xy_m":[[0,0]],"trace":{"rays":40000}}`
	if _, err := Run(context.Background(), "case.json", []byte(good)); err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct{ name, from, to, want string }{
		{"truncated", `"trace":{"rays":40000}}`, ``, "the text ends before the case does"},
		{"lamp under water", `"z":0.6`, `"z":0.2`, "must hang above the water"},
		{"no glass", `"glass_thickness_m":0.008`, `"glass_thickness_m":0`, "needs a glass thickness"},
		{"overfull", `"water_depth_m":0.36`, `"water_depth_m":0.46`, "lower the water"},
		{"walls", `"walls":"glass"`, `"walls":"mirror"`, "use glass or black"},
		{"kind", `"kind":"cosm"`, `"kind":"gauss"`, "use cosm, super_gaussian or table"},
		{"no exponent", `"kind":"cosm","m":2`, `"kind":"cosm"`, "needs m or fwhm_deg"},
		{"dark", `"lumens":1000`, `"lumens":0`, "give a figure above 0"},
		{"point outside", `[[0,0]]`, `[[9,0]]`, "inside the tank"},
		{"no sources", `{"x":0,"y":0,"z":0.6,"lumens":1000}`, ``, "1 to 200"},
		{"negative size", `"inner_length_m":0.5`, `"inner_length_m":-0.5`, "out of range"},
		{
			"table", `"kind":"cosm","m":2`, `"kind":"table","theta_deg":[0,50,40],"intensity":[1,1,1]`,
			"angles must rise",
		},
		{"not a number", `"m":2`, `"m":"two"`, "pattern.m is a JSON text; it takes a number"},
		{"tall", `"height_m":0.4`, `"height_m":"tall"`, "tank.height_m is a JSON text; it takes a number"},
		{"sources in a mapping", `[{"x":0,"y":0,"z":0.6,"lumens":1000}]`, `{}`, "sources is a JSON object; it takes " +
			"a list"},
		{
			"beyond all numbers", `"height_m":0.4`, `"height_m":1e999`,
			"case.json:1:71: tank.height_m is 1e999, too large to be a number",
		},
		{"misspelt in the tank", `"glass_thickness_m"`, `"glas_thickness_m"`, `unknown key "glas_thickness_m"`},
		{"misspelt in a source", `"lumens"`, `"lumen"`, `unknown key "lumen"`},
		{"misspelt in the pattern", `"m":2`, `"m":2,"exponent":3`, `unknown key "exponent"`},
		{"two exponents", `"m":2`, `"m":2,"fwhm_deg":60`, "not both"},
		{"looks up", `"lumens":1000`, `"lumens":1000,"tilt_deg":120`, "give 0 to 90"},
		{"no height", `"height_m":0.4,`, ``, "raise the rim"},
	} {
		_, err := Run(context.Background(), "case.json", []byte(strings.Replace(good, tt.from, tt.to, 1)))
		if err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: error %v, want one with %q", tt.name, err, tt.want)
		}
	}
	out, err := Run(context.Background(), "case.json", []byte(strings.Replace(good, `"id"`, `"author":"me","id"`, 1)))
	if err != nil ||
		!strings.Contains(strings.Join(out.(raytrace.CaseResult).Notes, "\n"), `the key "author" is none of a case's`) {
		t.Errorf("a key beside the case: %v", err)
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
		d := document{"pattern.json", []byte(text)}
		n, err := d.parse()
		if err != nil {
			t.Fatal(err)
		}
		var c tankPattern
		dec := decoder{document: d}
		if dec.fill(n, &c, ""); dec.err() != nil {
			t.Fatal(dec.err())
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
	if testing.Short() {
		t.Skip("it traces many rays")
	}
	tank := func(more string) string {
		return `"tank":{"inner_length_m":0.6,"inner_width_m":0.35,"height_m":0.4,"n_water":1.333,"n_glass":1.52,"glass_thickness_m":0.008,` + more + `}`
	}
	for name, text := range map[string]string{
		"dry, glass": tank(
			`"water_depth_m":0,"walls":"glass","substrate_reflectance":0.4,"virtual_plane_z_m":0.2`,
		),
		"dry, black": tank(
			`"water_depth_m":0,"walls":"black","substrate_reflectance":0.4,"virtual_plane_z_m":0.4`,
		),
		"dry, no plane": tank(`"water_depth_m":0,"walls":"glass","substrate_reflectance":0`),
		"wet, black": tank(
			`"water_depth_m":0.3,"walls":"black","substrate_reflectance":0.6,"water_absorption_per_m":1.5`,
		),
		"tinted glass": tank(
			`"water_depth_m":0.3,"walls":"glass","substrate_reflectance":0.5,"glass_absorption_per_m":8`,
		),
		"full to the rim": tank(
			`"water_depth_m":0.4,"walls":"glass","substrate_reflectance":0.5,"water_absorption_per_m":0.2`,
		),
		"thin, low water": tank(
			`"water_depth_m":0.08,"walls":"glass","substrate_reflectance":0.3,"water_absorption_per_m":0.8`,
		),
		"white, very clear": tank(`"water_depth_m":0.3,"walls":"glass","substrate_reflectance":0.95`),
	} {
		text = `{"id":"` + name + `",` + text +
			`,"pattern":{"kind":"table","theta_deg":[0,20,45,70,90],"intensity":[100,90,60,15,0]},` +
			`"sources":[{"x":-0.1,"y":0.05,"z":0.55,"lumens":700},{"x":0.2,"y":-0.1,"z":0.62,"lumens":300}],"points_xy_m":[[0.1,0.03]],"trace":{"rays":600000}}`
		out, err := Run(context.Background(), "case.json", []byte(text))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		r := out.(raytrace.CaseResult)
		sum := 0.0
		for _, key := range []string{
			"spill", "substrate_absorbed", "out_dry_walls", "out_wet_walls", "up_through_rim", "absorbed_water",
			"absorbed_glass",
		} {
			sum += r.Frac[key]
		}
		near(t, name+": sum of shares", sum, 1, 1e-3)
		for key, mc := range r.MonteCarlo.Frac {
			got, ok := r.Frac[key]
			if !ok {
				continue
			}
			// Beside the errors of both: the inter-reflection on coarse cells is good to 1 % of itself.
			within(
				t, name+": "+key,
				raytrace.Estimate{Value: mc[0], Err: math.Hypot(mc[1], r.StandardErrors["frac."+key])}, got, 4,
				2e-5+0.01*(r.Frac["substrate_incident_total"]-r.Frac["substrate_first"]),
			)
		}
		area := 0.6 * 0.35
		within(
			t, name+": bottom_avg", raytrace.Estimate{Value: r.MonteCarlo.BottomAvg[0], Err: r.MonteCarlo.BottomAvg[1]},
			r.BottomAvg, 4, 0.2+10/area*(r.Frac["substrate_incident_total"]-r.Frac["substrate_first"]),
		)
		within(
			t, name+": surface_avg",
			raytrace.Estimate{Value: r.MonteCarlo.SurfaceAvg[0], Err: r.MonteCarlo.SurfaceAvg[1]}, r.SurfaceAvg, 4, 0.5,
		)
		within(
			t, name+": bottom patch",
			raytrace.Estimate{Value: r.MonteCarlo.BottomPatch[0], Err: r.MonteCarlo.BottomPatchSE[0]}, r.BottomPatch[0],
			4, 5,
		)
	}
}

// near complains where a figure is off.
func near(t *testing.T, name string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.8g, want %.8g ± %g", name, got, want, tol)
	}
}

// within checks an estimate against a figure: k standard errors and a floor for the figure's own rounding.
func within(t *testing.T, name string, e raytrace.Estimate, want, k, floor float64) {
	t.Helper()
	if d := math.Abs(e.Value - want); d > k*e.Err+floor {
		t.Errorf(
			"%s = %.6g ± %.2g, want %.6g: off by %.1f standard errors", name, e.Value, e.Err, want,
			d/math.Max(e.Err, 1e-300),
		)
	}
}
