package casefile

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Every case in testdata/topics is met; each file states the source of its expected values.
func TestTopicCases(t *testing.T) {
	files, err := filepath.Glob("testdata/topics/*.json")
	if err != nil || len(files) == 0 {
		t.Fatalf("%d case files, %v", len(files), err)
	}
	for _, name := range files {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if testing.Short() && strings.Contains(string(data), `"topic": "panes"`) {
			continue // it traces many rays
		}
		out, err := Run(context.Background(), name, data)
		if err != nil {
			t.Error(err)
			continue
		}
		r := out.(TopicResult)
		for _, m := range r.Missed {
			t.Errorf("%s: %s = %v, want %v ± %.2g", name, m.Key, m.Got, m.Want, m.Tolerance)
		}
		if _, err := json.Marshal(out); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A missed figure is listed, and the case does not pass.
func TestTopicMiss(t *testing.T) {
	const text = `{"id":"a","topic":"meters","inputs":{"sources":[{"z":0.5,"lumens":100}],
		"pattern":{"kind":"cosm","m":1},"meters":[{"id":"m"}]},
		"expected":{"lux.m":LUX},"tolerance":{"lux.m":{"rel":0.001}}}`
	// I₀ = Φ/π, E = I₀/h².
	for lux, passes := range map[string]bool{"127.324": true, "127.1": false, "true": false} {
		out, err := Run(context.Background(), "case.json", []byte(strings.Replace(text, "LUX", lux, 1)))
		if err != nil {
			t.Fatal(err)
		}
		if Passed(out) != passes || (len(out.(TopicResult).Missed) == 0) != passes {
			t.Errorf("expected %s: %+v, passed %v", lux, out, Passed(out))
		}
	}
}

// Bad cases of a topic are refused with the place of the fault.
func TestTopicRefusals(t *testing.T) {
	const source = `"sources":[{"z":0.3,"lumens":1,"pattern":{"kind":"cosm","m":1}}],"meters":[{"id":"a"}]`
	const box = `{"inner_length_m":1,"inner_width_m":1,"height_m":1}`
	for _, tt := range []struct{ text, want string }{
		{`{"topic":"tides","inputs":{}}`, `case.json:1:10: topic "tides" is not known`},
		{`{"topic":"meters"}`, `needs an object "inputs"`},
		{`{"topic":"meters","input":{}}`, `case.json:1:19: unknown key "input"`},
		{`{"topic":"meters","inputs":{"sorces":[]}}`, `case.json:1:29: unknown key "sorces"`},
		{`{"topic":"meters","inputs":{"plane":"wall"}}`, `plane "wall" is not known`},
		{`{"topic":"meters","inputs":{}}`, `0 sources`},
		{`{"topic":"meters","inputs":{"sources":[{"z":1,"lumens":1}],"meters":[{"id":"a"}]}}`, `no pattern`},
		{`{"topic":"meters","inputs":{"sources":[{"z":1}],"meters":[{"id":"a","z":1}]}}`, `must be below all sources`},
		{`{"topic":"meters","inputs":{"sources":[{"z":1}],"meters":[{"id":"a"},{"id":"a"}]}}`, `id of its own`},
		{`{"topic":"meters","inputs":{"tank":{"water_depth_m":-1},"sources":[{"z":1}]}}`, `water depth -1`},
		{`{"topic":"meters","inputs":{"tank":{"water_depth_m":0.4},` + source + `}}`, `must hang above the water`},
		{
			`{"topic":"meters","inputs":{"pattern":{"kind":"super_gaussian","fwhm_deg":40},` +
				`"sources":[{"z":1,"lumens":1}],"meters":[{"id":"a"}]}}`,
			`needs fwhm_deg and field_deg`,
		},
		{`{"topic":"panes","inputs":{"tank":{"panes":{"back":{}}}}}`, `unknown key "back"`},
		{`{"topic":"panes","inputs":{"tank":{"panes":{"y_max":{"condition":"oily"}}}}}`, `"oily" is not known`},
		{`{"topic":"panes","inputs":{"maintenance":{"lens":1.2}}}`, `maintenance.lens is 1.2`},
		{`{"topic":"panes","inputs":{"tank":` + box + `}}`, `0 sources`},
		{`{"topic":"panes","inputs":{"tank":` + box + `,"sources":[{"ppf_umol_s":1,"lumens":1}]}}`, `give one`},
		{`{"topic":"panes","inputs":{"tank":{"panes":{"x_min":{"keep":0}}}}}`, `below 1`},
		{`{"topic":"meters","inputs":{` + source + `},"expected":{"lux.b":1}}`, `"lux.b" is not a result`},
	} {
		out, err := Run(context.Background(), "case.json", []byte(tt.text))
		if err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: %v, %v; want %q", tt.text, out, err, tt.want)
		}
	}
}
