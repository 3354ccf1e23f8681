package casefile

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"
)

// topicOf computes a case of a file after a change of its text.
func topicOf(t *testing.T, file string, change *strings.Replacer) TopicResult {
	t.Helper()
	r, err := runFile(t, file, change)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func runFile(t *testing.T, file string, change *strings.Replacer) (TopicResult, error) {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if change != nil {
		changed := change.Replace(string(text))
		if changed == string(text) {
			t.Fatal("the change changes nothing")
		}
		text = []byte(changed)
	}
	out, err := Run(context.Background(), file, text)
	if err != nil {
		return TopicResult{}, err
	}
	if _, err := json.Marshal(out); err != nil {
		t.Fatal(err)
	}
	return out.(TopicResult), nil
}

// TestColourRefuses: what is wrong with a case is one error with its place.
func TestColourRefuses(t *testing.T) {
	const n1 = "testdata/topics/N1.json"
	for _, tt := range []struct{ old, new, want string }{
		{`"duv_sd": 0.001`, `"duv_spread": 0.001`, `unknown key "duv_spread"`},
		{`"duv_sd": 0.001`, `"duv_sd": -1`, "standard deviation"},
		{`"cct_halfwidth_K": 150`, `"cct_halfwidth_K": 1e9`, "low end"},
		{`"peak_nm": 452`, `"peak_nm": 200`, "centre of 200 nm"},
		{`"name": "cool"`, `"name": "warm"`, "used twice"},
		{`"flux_lm": 780`, `"flux_lm": -1`, "flux of -1"},
		{`"weight": 0.739`, `"weight": 0`, "no colour temperature"},
	} {
		_, err := runFile(t, n1, strings.NewReplacer(tt.old, tt.new))
		if err == nil || !strings.Contains(err.Error(), tt.want) || !strings.HasPrefix(err.Error(), n1+":") {
			t.Errorf("%s: error %v, want one at a place that says %q", tt.new, err, tt.want)
		}
	}
}

// TestColourBinSpread: a channel without a bin stays, and one without a number takes the typical spread.
func TestColourBinSpread(t *testing.T) {
	const n1 = "testdata/topics/N1.json"
	width := func(change *strings.Replacer) float64 {
		r := topicOf(t, n1, change)
		return r.Results["lamp_cct.p90"].(float64) - r.Results["lamp_cct.p10"].(float64)
	}
	stated := width(nil)
	none := width(strings.NewReplacer(`"bin": {`, `"bin": null, "note": {`))
	if none > 1e-6 {
		t.Errorf("P10 to P90 of %g K without a bin, want 0 K", none)
	}
	if stated < 100 {
		t.Errorf("P10 to P90 of %g K with bins of ±150 K", stated)
	}
	// The formula of TypicalBin by hand: 494.5 K at 6456.8 K and 174.3 K at 2949.4 K.
	typical := width(strings.NewReplacer(`"cct_halfwidth_K": 150,`, ""))
	const cool, warm = `"cct_halfwidth_K": 150,`, `"warm"`
	text, err := os.ReadFile(n1)
	if err != nil {
		t.Fatal(err)
	}
	first, second, _ := strings.Cut(string(text), warm)
	byHand := width(strings.NewReplacer(string(text), strings.Replace(first, cool, `"cct_halfwidth_K": 494.5,`, 1)+
		warm+strings.Replace(second, cool, `"cct_halfwidth_K": 174.3,`, 1)))
	if math.Abs(typical/byHand-1) > 1e-3 {
		t.Errorf("P10 to P90 of %g K, want %g K", typical, byHand)
	}
}

// TestMixOutOfReach: bands that no levels reach, and limits of the levels.
func TestMixOutOfReach(t *testing.T) {
	const x1 = "testdata/topics/X1.json"
	r := topicOf(t, x1, strings.NewReplacer(`"expected"`, `"note"`, "-0.003,", "-0.05,", "   0.003", "   -0.03",
		`"tolerance"`, `"notes"`))
	if r.Results["feasible"] != false || r.Results["max_flux_lm"] != 0.0 || len(r.Results) != 3 {
		t.Errorf("%v", r.Results)
	}
	// The locus curves, so that the line between the whites runs below it; a mix of two such is −0.0036 (open case N1).
	if duv := r.Results["duv_nearest"].(float64); duv > -0.003 || duv < -0.005 {
		t.Errorf("nearest Duv %g", duv)
	}
	limited := topicOf(t, x1, strings.NewReplacer(`"expected"`, `"note"`, `"tolerance"`, `"notes"`,
		`"flux_lm": 1350,`, `"flux_lm": 1350, "level_min": 0.1, "level_max": 0.5,`))
	if cool := limited.Results["level.cool"].(float64); limited.Results["feasible"] != true || cool > 0.5+1e-9 {
		t.Errorf("%v", limited.Results)
	}
	off := topicOf(t, x1, strings.NewReplacer(`"expected"`, `"note"`, `"tolerance"`, `"notes"`,
		`"flux_lm": 210,`, `"flux_lm": 210, "level_max": 0,`, "-0.003,", "-0.05,"))
	if off.Results["level.cyan"] != 0.0 {
		t.Errorf("%v", off.Results)
	}
	for _, tt := range []struct{ old, new, want string }{
		{`"flux_lm": 210,`, `"flux_lm": 210, "level_min": 2,`, "level_min"},
		{`"flux_lm": 210,`, `"flux_lm": 210, "level": 2,`, `unknown key "level"`},
		{"4600,", "5000,", "in order"},
		{"-0.003,", "-0.2,", "within ±0.05"},
		{`"flux_lm": 210,`, `"flux_lm": 1e300,`, "flux of 1e+300"},
	} {
		_, err := runFile(t, x1, strings.NewReplacer(tt.old, tt.new))
		if err == nil || !strings.Contains(err.Error(), tt.want) || !strings.HasPrefix(err.Error(), x1+":") {
			t.Errorf("%s: error %v, want one at a place that says %q", tt.new, err, tt.want)
		}
	}
}
