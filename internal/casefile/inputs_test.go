package casefile

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

const smallRth = `{"id":"x","topic":"rth","inputs":{
"emitter":{"Vf0_V":3,"I0_A":1,"T0_C":25,"Rd_ohm":0,"kV_V_per_K":0,
"flux0_lm":100,"flux_exponent":1,"kF_per_K":0,"K_lm_per_W":100},
"sheet":{"R_th_electrical_K_per_W":5,"I_test_A":1,"T_test_C":25},
"states":[{"id":"s","I_A":2,"T_solder_C":40}]}}`

// TestInputErrors: what the inputs of a model may not contain, with its place.
func TestInputErrors(t *testing.T) {
	for _, tt := range []struct{ name, old, new, want string }{
		{"unknown key", `"I_A":2`, `"I_B":2`, `case.json:5:21: unknown key "I_B"`},
		{"a word, no number", `"Vf0_V":3`, `"Vf0_V":"3"`, "case.json:2:20: inputs.emitter.Vf0_V is a JSON text"},
		{"out of bounds", `"I_A":2`, `"I_A":-2`, "case.json:5:27: states[0].I_A is -2; it must be from"},
		{"no heat", `"flux0_lm":100`, `"flux0_lm":400`, "radiant power 4 W is not below the electrical power 3 W"},
		{
			"runaway", `"kV_V_per_K":0`, `"kV_V_per_K":0.5`,
			`the junction of state "s" has no steady temperature`,
		},
	} {
		_, err := Run(context.Background(), "case.json", []byte(strings.Replace(smallRth, tt.old, tt.new, 1)))
		if err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: %v, want %q", tt.name, err, tt.want)
		}
	}
}

// FuzzTopic: whatever a case with a topic contains, there are finite figures or an error in words, and never a panic.
func FuzzTopic(f *testing.F) {
	files, _ := filepath.Glob("testdata/topics/*.json")
	for _, name := range files {
		data, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		d := document{"case.json", data}
		n, err := d.parse()
		if err != nil || !isTopic(n) {
			return
		}
		// Light in tanks would take most of the time.
		ctx, cancel := context.WithTimeout(context.Background(), 20*time.Millisecond)
		defer cancel()
		out, err := runTopic(ctx, d, n)
		if err != nil {
			if err.Error() == "" {
				t.Fatal("an error without words")
			}
			return
		}
		if _, err := json.Marshal(out); err != nil {
			t.Fatal(err)
		}
	})
}
