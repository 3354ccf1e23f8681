package casefile

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Both open traces of the controller core are met to the bit.
func TestControllerCases(t *testing.T) {
	files, err := filepath.Glob("testdata/controller/*.json")
	if err != nil || len(files) != 2 {
		t.Fatalf("%d case files, %v", len(files), err)
	}
	for _, name := range files {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		out, err := Run(t.Context(), name, data)
		if err != nil {
			t.Error(err)
			continue
		}
		r := out.(TopicResult)
		for _, m := range r.Missed {
			t.Errorf("%s: %s = %v, want %v", name, m.Key, m.Got, m.Want)
		}
		if len(r.Results) != 3 || !strings.Contains(string(data), r.Results["crc32"].(string)) {
			t.Errorf("%s: results %v", name, r.Results["crc32"])
		}
	}
}

// openTrace returns the text of an open trace with changes of its top-level keys; nil removes a key.
func openTrace(t *testing.T, changes map[string]any) []byte {
	t.Helper()
	data, err := os.ReadFile("testdata/controller/K_soft_start.json")
	if err != nil {
		t.Fatal(err)
	}
	var c map[string]any
	if err := json.Unmarshal(data, &c); err != nil {
		t.Fatal(err)
	}
	delete(c, "expected")
	for key, v := range changes {
		if c[key] = v; v == nil {
			delete(c, key)
		}
	}
	text, err := json.Marshal(c)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// What a trace leaves out has its default: without signals that are constant at their default the results are the same.
func TestControllerDefaults(t *testing.T) {
	crc := func(changes map[string]any) string {
		out, err := Run(t.Context(), "c.json", openTrace(t, changes))
		if err != nil {
			t.Fatal(err)
		}
		return out.(TopicResult).Results["crc32"].(string)
	}
	const open = "5a55b466" // DY23
	for _, changes := range []map[string]any{
		{"signals": nil}, {"signals": map[string]any{"adc": []any{}}}, {"now0_ms": nil}, {"crc_ok": true}, {"boots": 4},
	} {
		if got := crc(changes); got != open {
			t.Errorf("%v: %s, want %s", changes, got, open)
		}
	}
	bad := crc(map[string]any{"crc_ok": 0})
	if other := crc(map[string]any{"crc_ok": false}); bad != other || bad == open {
		t.Errorf("damaged image: %s and %s", bad, other)
	}
	if got := crc(map[string]any{"config": map[string]any{}}); got != bad {
		t.Errorf("empty configuration: %s, want %s, that of a damaged image", got, bad)
	}
	if got := crc(map[string]any{"boots": 5}); got == open || got == bad {
		t.Errorf("five unclean starts: %s", got)
	}
}

// A result that differs is listed; bad traces are refused with their place.
func TestControllerRefusals(t *testing.T) {
	out, err := Run(t.Context(), "c.json", openTrace(t, map[string]any{
		"expected": map[string]any{"crc32": "5a55b467", "state_changes": []any{[]any{0, 3, 0}}},
	}))
	if err != nil || Passed(out) {
		t.Fatalf("%v, %v", out, err)
	}
	missed := out.(TopicResult).Missed
	if len(missed) != 2 || missed[1].Key != "state_changes[1]" || missed[1].Want != nil {
		t.Errorf("missed %+v", missed)
	}
	for _, tt := range []struct {
		change map[string]any
		want   string
	}{
		{map[string]any{"model": "LC2"}, `model "LC2" is not known; use "LC1" or "BL1"`},
		{map[string]any{"config": nil}, `needs an object "config"`},
		{map[string]any{"config": map[string]any{"slew": 1e300}}, "config.slew is 1e+300; it takes a whole number"},
		{map[string]any{"signal": 1}, `unknown key "signal"; use boots, config`},
		{map[string]any{"ticks": nil}, "ticks is 0; required 1 to 20000000"},
		{map[string]any{"ticks": "9"}, "ticks is a JSON text; it takes a number"},
		{map[string]any{"crc_ok": 2}, "crc_ok is a JSON number; it takes a true or false"},
		{map[string]any{"utc0": -1}, "utc0 is -1; required 0 to 4294967295"},
		{map[string]any{"signals": map[string]any{"rtc_ok": []any{[]any{0, 2}}}}, "rtc_ok[0][1] is 2; required 0 to 1"},
		{map[string]any{"signals": map[string]any{"adc": []any{[]any{9, 2}, []any{8, 2}}}}, "is tick 8 after 9"},
		{map[string]any{"signals": map[string]any{"adc": []any{[]any{9}}}}, "adc[0] lists 1 values; it takes 2"},
		{map[string]any{"expected": map[string]any{"crc": 1}}, `"crc" is not a result`},
	} {
		out, err := Run(t.Context(), "c.json", openTrace(t, tt.change))
		if err == nil || !strings.Contains(err.Error(), tt.want) || !strings.HasPrefix(err.Error(), "c.json:1:") {
			t.Errorf("%v: %v, %v; want %q", tt.change, out, err, tt.want)
		}
	}
}
