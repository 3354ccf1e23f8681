package casefile

import (
	"context"
	"fmt"
	"strings"
	"testing"
)

// Bad inputs are one clear error with their place, which names the keys.
func TestLifeRefusals(t *testing.T) {
	const tests = `"lm80":{"alpha_55":1e-6,"alpha_85":2e-6},`
	for inputs, want := range map[string]string{
		`"heat":1`: "use R_ca_K_per_W, T_room_C, at_h, channels",
		`"lm80":{"alpha_x":1},"segments":[[1,1]]`:                      "use alpha_T and B or B_T",
		`"lm80":{"alpha_55":1},"segments":[[1,1]]`:                     "1 tests; use 2",
		`"lm80":{"alpha_5":1,"alpha_5.0":1},"segments":[[1,1]]`:        "one per temperature",
		`"lm80":{"alpha_55":0,"alpha_85":2e-6},"segments":[[1,1]]`:     "it must be from 1e-12",
		`"lm80":7,"segments":[[1,1]]`:                                  "it takes an object such as",
		`"segments":[[1,1]]`:                                           "lm80 is missing",
		``:                                                             "neither segments_h_level nor",
		tests + `"segments":[[20,1],[5,1]]`:                            "25 h; a day has 24 h",
		tests + `"segments":[[5,0]]`:                                   "no segment has hours",
		tests + `"segments":[[5,2]]`:                                   "is 2; it must be from 0 to 1",
		tests + `"segments":[{"hour":1}]`:                              "use T_case_C, hours, level",
		tests + `"segments":[[8,1]],"channels":[{"id":"a"}]`:           "channels[0].share is 0",
		tests + `"compensation":{"start_level":2}`:                     "compensation.start_level is 2",
		`"lives_h":[]`:                                                 "0 lives",
		`"lives_h":[1],"shares":[1,2]`:                                 "2 shares for 1 lives",
		tests + `"segments":[[8,1]],"channels":[` + twice:              `two channels are called "a"`,
		tests + `"segments":[[8,1]],"T_room_C":-300`:                   "T_room_C is -300",
		tests + `"segments":[[8,1]],"R_ca_K_per_W":9,"heat_full_W":50`: "segments_h_level[0].T_case_C is 450",
	} {
		_, err := Run(context.Background(), "case.json", []byte(`{"topic":"life","inputs":{`+inputs+`}}`))
		if err == nil || !strings.Contains(err.Error(), want) || !Placed(err) {
			t.Errorf("%s:\n%v; want %q", inputs, err, want)
		}
	}
}

// twice lists two channels of one name.
const twice = `{"id":"a","share":1},{"id":"a","share":1}]`

// Tolerances as texts, objects and per path; expected objects and lists by value.
func TestTolerances(t *testing.T) {
	const text = `{"topic":"life","inputs":{"lm80":{"alpha_55":1e-6,"alpha_85":2e-6},"segments":[[8,1]],` +
		`"T_room_C":55},"expected":{"levels_C":[55],"on_time":{"L80_calendar_h":%s}},"tolerance":%s}`
	for _, tt := range []struct {
		value, tolerance string
		missed           int
		fault            string
	}{
		{"669430.7", `"0.001 %"`, 0, ""}, // ln(1/0.8) · 24 h/8 h / 1e-6 per h at the test of 55 °C
		{"660000", `"1 %"`, 1, ""},
		{"660000", `"2 %"`, 0, ""},
		{"1", `"0.1 %"`, 1, ""},
		{"1", `{"on_time":{"abs":1e9}}`, 0, ""},
		{"1", `{"on_time.L80_calendar_h":{"abs":1e9},"on_time":"exact"}`, 0, ""},
		{"1", `{"on_tim":{"abs":1e9}}`, 1, ""},
		{"1", `"exact"`, 1, ""},
		{"1", `"close"`, 0, `tolerance "close" is neither`},
		{"1", `{"on_time":"-1 %"}`, 0, `tolerance "-1 %" is neither`},
		{"1", `7`, 0, "tolerance is a JSON number"},
		{"[1]", `"0.1 %"`, 1, ""},
		{`{"a":1}`, `"0.1 %"`, 1, ""},
		{"true", `"0.1 %"`, 1, ""},
	} {
		out, err := Run(context.Background(), "case.json", fmt.Appendf(nil, text, tt.value, tt.tolerance))
		if tt.fault != "" {
			if err == nil || !strings.Contains(err.Error(), tt.fault) {
				t.Errorf("tolerance %s: %v; want %q", tt.tolerance, err, tt.fault)
			}
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		if got := out.(TopicResult).Missed; len(got) != tt.missed {
			t.Errorf("expected %s, tolerance %s: missed %v; want %d", tt.value, tt.tolerance, got, tt.missed)
		}
	}
}
