package casefile

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
)

// quickEffort is enough for the tolerances of the open campaigns.
var quickEffort = benchEffort{draws: 12000, trials: 3000, starts: 1}

// openCampaign returns the text of an open campaign with changes of its top-level keys; nil removes a key.
func openCampaign(t testing.TB, name string, changes map[string]any) []byte {
	t.Helper()
	data, err := os.ReadFile("testdata/bench/" + name + ".json")
	if err != nil {
		t.Fatal(err)
	}
	var c map[string]any
	if err := json.Unmarshal(data, &c); err != nil {
		t.Fatal(err)
	}
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

// campaign computes a campaign with little effort.
func campaign(t testing.TB, data []byte) map[string]any {
	t.Helper()
	d := document{"c.json", data}
	n, err := d.parse()
	if err != nil {
		t.Fatal(err)
	}
	r, err := runBench(t.Context(), d, n, quickEffort)
	if err != nil {
		t.Fatal(err)
	}
	return generic(r.Results).(map[string]any)
}

// distributions are those of an answer.
type distributions struct {
	Posterior, Figures map[string]map[string]float64
	LogEvidence        float64            `json:"log_evidence"`
	Chi2               float64            `json:"mode_chi2_readings"`
	Chi2Prior          float64            `json:"mode_chi2_prior"`
	Residuals          map[string]float64 `json:"mode_residuals_in_u"`
	Correlations       [][3]any           `json:"correlations_over_half"`
}

// answer is the answer of an open campaign.
type answer struct {
	Before []struct {
		ID          string
		Prediction  float64
		UPrediction float64 `json:"u_prediction"`
		Zeta        float64
		En          float64 `json:"E_n"`
	} `json:"before_fit"`
	Healthy    distributions
	Flagged    distributions `json:"with_flagged_fault"`
	Flag       string
	Hypotheses []struct {
		Code string
		LnBF float64 `json:"ln_bayes_factor_to_healthy"`
		P    float64 `json:"probability"`
	}
	Best struct {
		Figure string
		Table  []struct {
			ID        string
			Before    float64 `json:"sd_before"`
			After     float64 `json:"sd_after"`
			Reduction float64 `json:"variance_reduction"`
		}
	} `json:"best_next"`
}

// read returns an answer from results or from a file.
func read(t *testing.T, v any) (a answer) {
	t.Helper()
	text, err := json.Marshal(v)
	if err == nil {
		err = json.Unmarshal(text, &a)
	}
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// TestOpenCampaigns: the answers of the open campaigns, computed by a separate program with other samples: means within
// 0.15 of a standard deviation, standard deviations within 10 %, the flag exactly, the table of next readings.
func TestOpenCampaigns(t *testing.T) {
	for _, name := range []string{"O01_rich", "O02_dry_joint", "O03_sparse"} {
		data, err := os.ReadFile("testdata/bench/" + name + ".answer.json")
		if err != nil {
			t.Fatal(err)
		}
		var all map[string]any
		if err := json.Unmarshal(data, &all); err != nil {
			t.Fatal(err)
		}
		results := campaign(t, openCampaign(t, name, nil))
		sameShape(t, name, all, results)
		want, got := read(t, all), read(t, results)
		if got.Flag != want.Flag {
			t.Errorf("%s: flag %q, want %q", name, got.Flag, want.Flag)
		}
		sameDistributions(t, name+" healthy", got.Healthy, want.Healthy)
		sameDistributions(t, name+" with the fault", got.Flagged, want.Flagged)
		near := func(what string, got, want, tol float64) {
			if !(math.Abs(got-want) <= tol) {
				t.Errorf("%s: %s = %g, want %g ± %g", name, what, got, want, tol)
			}
		}
		for i, w := range want.Before {
			g := got.Before[i]
			near(w.ID, g.Prediction, w.Prediction, 1e-5)
			near("u of "+w.ID, g.UPrediction, w.UPrediction, 1e-5)
			near("ζ of "+w.ID, g.Zeta, w.Zeta, 6e-4)
			near("E_n of "+w.ID, g.En, w.En, 6e-4)
		}
		for i, w := range want.Best.Table {
			g := got.Best.Table[i]
			if g.ID != w.ID || got.Best.Figure != want.Best.Figure {
				t.Errorf("%s: reading %d is %s for %s, want %s", name, i, g.ID, got.Best.Figure, w.ID)
			}
			near(w.ID+" before", g.Before, w.Before, 1e-5)
			near(w.ID+" after", g.After, w.After, 1e-5)
			near(w.ID+" reduction", g.Reduction, w.Reduction, 1e-4)
		}
		for _, w := range want.Hypotheses {
			for _, g := range got.Hypotheses {
				if g.Code == w.Code && !strings.HasPrefix(w.Code, "swapped") { // see TestSwapped
					near("ln Bayes factor of "+w.Code, g.LnBF, w.LnBF, 0.2)
					near("probability of "+w.Code, g.P, w.P, 0.2*w.P*(1-w.P)+1e-4)
				}
			}
		}
	}
}

// TestSwapped: in the open answers a reading is of the string itself: ln evidence of that variant.
func TestSwapped(t *testing.T) {
	for name, want := range map[string]float64{"O01_rich": -30997.13, "O02_dry_joint": -26164.21} {
		w, err := decoded(t, openCampaign(t, name, nil)).world()
		if err != nil {
			t.Fatal(err)
		}
		for _, variants := range w.faults {
			if variants[0].code != "swapped.white.red" {
				continue
			}
			j, err := w.judgeHypothesis(t.Context(), variants[1:], quickEffort)
			if err != nil {
				t.Fatal(err)
			}
			if len(variants) != 2 || math.Abs(j.lnZ-want) > 0.3 {
				t.Errorf("%s: ln evidence %g, want %g", name, j.lnZ, want)
			}
		}
	}
}

// TestDefaultFaults: without factor_prior a dry joint has that of the open campaigns; variants of one have the mean
// of their evidence; a factor acts on a value that is no parameter too.
func TestDefaultFaults(t *testing.T) {
	changes := map[string]any{"hypotheses": json.RawMessage(`[{"code":"a","kind":"dry_joint","factor_prior":[6,0.5]},` +
		`{"code":"b","kind":"dry_paste"},{"code":"c","kind":"meter_range","reading":"sink","factor":10},` +
		`{"code":"d","kind":"meter_range","reading":"sink"},` +
		`{"code":"g","kind":"meter_range","reading":"sink","exponent":-1},` +
		`{"code":"e","kind":"scale","parameter":"wall_efficiency","factor":1.3},` +
		`{"code":"f","kind":"healthy"}]`)}
	lnZ := map[string]float64{}
	for _, h := range campaign(t, openCampaign(t, "O03_sparse", changes))["hypotheses"].([]any) {
		row := h.(map[string]any)
		lnZ[row["code"].(string)] = row["log_evidence"].(float64)
	}
	if len(lnZ) != 7 || math.Abs(lnZ["a"]-lnZ["b"]) > 1e-9 {
		t.Errorf("ln evidence of the stated and of the usual factor: %v", lnZ)
	}
	if want := logSum([]float64{lnZ["c"], lnZ["g"]}) - math.Ln2; math.Abs(lnZ["d"]-want) > 0.3 {
		t.Errorf("ln evidence of both ranges %g, the mean of each is %g", lnZ["d"], want)
	}
	if math.Abs(lnZ["e"]-lnZ["healthy"]) > 0.05 {
		t.Errorf("no reading tells of the mains: ln evidence %g, healthy %g", lnZ["e"], lnZ["healthy"])
	}
}

// TestUnlistedTarget: a factor acts on the value that an unlisted parameter has.
func TestUnlistedTarget(t *testing.T) {
	c := decoded(t, openCampaign(t, "O03_sparse", map[string]any{"hypotheses": json.RawMessage(
		`[{"code":"e","kind":"scale","parameter":"wall_efficiency","factor":1.1}]`)}))
	w, err := c.world()
	if err != nil {
		t.Fatal(err)
	}
	watts := func(e explanation) float64 {
		v, err := w.view(e)
		if err != nil {
			t.Fatal(err)
		}
		out, err := v.figuresAt(make([]float64, 12))
		if err != nil {
			t.Fatal(err)
		}
		return out[4] - 0.8
	}
	if ratio := watts(explanation{}) / watts(w.faults[0][0]); math.Abs(ratio-1.1) > 1e-9 {
		t.Errorf("mains power fell by %g for an efficiency that is 1.1 times as large", ratio)
	}
}

// sameShape wants every key of an answer in the results at the same path.
func sameShape(t *testing.T, path string, want, got any) {
	t.Helper()
	w, ok := want.(map[string]any)
	if !ok {
		return
	}
	g, _ := got.(map[string]any)
	for key, v := range w {
		if key == "truth" || key == "note" || key == "id" {
			continue
		}
		if _, ok := g[key]; !ok {
			t.Errorf("%s has no %s", path, key)
		}
		sameShape(t, path+"."+key, v, g[key])
	}
}

// sameDistributions compares posteriors.
func sameDistributions(t *testing.T, name string, got, want distributions) {
	t.Helper()
	for _, pair := range [][2]map[string]map[string]float64{
		{got.Posterior, want.Posterior}, {got.Figures, want.Figures},
	} {
		for key, w := range pair[1] {
			g := pair[0][key]
			for q, v := range w {
				allowed := 0.15 * w["sd"]
				if q == "sd" || q == "sd_ratio" {
					allowed = 0.1 * v
				}
				if !(math.Abs(g[q]-v) <= allowed) {
					t.Errorf("%s: %s of %s = %g, want %g ± %g", name, q, key, g[q], v, allowed)
				}
			}
		}
	}
	if math.Abs(got.LogEvidence-want.LogEvidence) > 0.1 || math.Abs(got.Chi2-want.Chi2) > 0.01 ||
		math.Abs(got.Chi2Prior-want.Chi2Prior) > 0.01 {
		t.Errorf("%s: ln evidence %g, χ² %g and %g; want %g, %g, %g", name, got.LogEvidence, got.Chi2, got.Chi2Prior,
			want.LogEvidence, want.Chi2, want.Chi2Prior)
	}
	for id, v := range want.Residuals {
		if math.Abs(got.Residuals[id]-v) > 0.01 {
			t.Errorf("%s: residual of %s %g, want %g", name, id, got.Residuals[id], v)
		}
	}
	for _, w := range want.Correlations {
		found := false
		for _, g := range got.Correlations {
			found = found || g[0] == w[0] && g[1] == w[1] && math.Abs(g[2].(float64)-w[2].(float64)) < 0.03
		}
		if !found {
			t.Errorf("%s: no pair %v among %v", name, w, got.Correlations)
		}
	}
}

// TestCampaignErrors: what is wrong in a campaign is reported with its place and what is known.
func TestCampaignErrors(t *testing.T) {
	parameters := func(v string) map[string]any { return map[string]any{"parameters": json.RawMessage(v)} }
	modes := func(v string) map[string]any { return map[string]any{"modes": json.RawMessage(v)} }
	reading := func(v string) map[string]any {
		return map[string]any{"readings": json.RawMessage("[" + v + "]")}
	}
	hypothesis := func(v string) map[string]any {
		return map[string]any{"hypotheses": json.RawMessage("[" + v + "]")}
	}
	for _, tt := range []struct {
		change map[string]any
		want   string
	}{
		{map[string]any{"model": "BL2"}, `model "BL2" is not known; use "LC1" or "BL1"`},
		{map[string]any{"reading": 1}, `unknown key "reading"; use candidates, date, figure`},
		{map[string]any{"lamp": nil}, "needs a lamp with channels"},
		{map[string]any{"lamp": json.RawMessage(`{"channels":[{"name":"white"}]}`)}, `n of channel "white" is 0`},
		{map[string]any{"parameters": nil}, "needs parameters"},
		{parameters(`[{"name":"flux","prior":"normal","sd":1}]`), `parameter "flux" is not`},
		{parameters(`[{"name":"film","prior":"gamma"}]`), `prior "gamma" is not known`},
		{parameters(`[{"name":"film","prior":"normal"}]`), "spread of film is 0"},
		{parameters(`[{"name":"film","prior":"lognormal","sigma_ln":1}]`), "median of film is 0"},
		{parameters(`[{"name":"film","prior":"normal","sd":1},` +
			`{"name":"film","prior":"normal","sd":1}]`), "film is listed twice"},
		{modes(`{}`), "needs modes"},
		{modes(`[]`), "takes an object of modes by name"},
		{modes(`{"all":{"on":["blue"]}}`), `channel "blue" is not known; use white`},
		{modes(`{"all":{"duty":{"white":1.5}}}`), "modes.all.duty.white is 1.5; required 0 to 1"},
		{modes(`{"all":{"duty":{"blue":0.5}}}`), `channel "blue" is not known`},
		{map[string]any{"figures_mode": "some"}, `mode "some" is not known; use all, only white`},
		{map[string]any{"figure": "lumens"}, `figure "lumens" is not known`},
		{map[string]any{"likelihood": "cauchy"}, `likelihood "cauchy" is not known`},
		{map[string]any{"likelihood": json.RawMessage(`{"kind":"student_t","nu":-1}`)}, "nu is -1"},
		{reading(`{"id":"a","kind":"t_sink","value":1}`), `u of "a" is 0`},
		{reading(`{"id":"a","kind":"t_sink","u":1}`), `"a" needs a value or a series`},
		{reading(`{"id":"a","kind":"t_sink","u":1,"series":[[1,2]]}`), "a series is of warmup_sink"},
		{reading(`{"id":"a","kind":"t_sink","u":1,"value":1,"mode":"x"}`), `mode "x" is not known`},
		{reading(`{"id":"a","kind":"t_solder","u":1,"value":1,"channel":"x"}`), `channel "x" is not known`},
		{reading(`{"id":"a","kind":"sink","u":1,"value":1}`), `kind "sink" is not known; use string_voltage_board`},
		{reading(`{"id":"a","kind":"ntc_bath","u":1,"value":1}`), "needs T_bath_C"},
		{reading(`{"id":"a","kind":"warmup_sink","u":1,"series":[[1,2]]}`), "C_sink_J_per_K"},
		{reading(`{"id":"a","kind":"warmup_sink","u":1,"series":{"t_s":[1],"value":[]}}`), "1 times and 0 values"},
		{reading(`{"id":"a","kind":"warmup_sink","u":1,"series":7}`), "takes a list of [time, value]"},
		{hypothesis(`{"code":"x","kind":"ghost"}`), `kind "ghost" is not known; use dielectric`},
		{hypothesis(`{"code":"x","kind":"lens_seat","channel":"blue"}`), `channel "blue" is not known`},
		{hypothesis(`{"code":"x","kind":"set_resistor"}`), "needs factor_prior"},
		{hypothesis(`{"code":"x","kind":"scale","parameter":"fan","factor":2}`), `parameter "fan" is not known`},
		{hypothesis(`{"code":"x","kind":"swapped"}`), "needs two channels"},
		{hypothesis(`{"code":"x","kind":"meter_range","reading":"y"}`), `reading "y" is not known; use I white`},
		{hypothesis(`{"code":"x","kind":"meter_range","reading":"sink","factor":-1}`), "factor of \"x\" is -1"},
		{hypothesis(`{"code":"x","kind":"ntc_beta","B_K":3950}`), "is that of the lamp"},
		{hypothesis(`{"code":"x","kind":"ntc_beta","B_K":-1}`), "is -1; required above 0"},
	} {
		out, err := Run(t.Context(), "c.json", openCampaign(t, "O03_sparse", tt.change))
		if err == nil || !strings.Contains(err.Error(), tt.want) || !strings.HasPrefix(err.Error(), "c.json:1:") {
			t.Errorf("%v: %v, %v; want %q", tt.change, out, err, tt.want)
		}
	}
	many := fmt.Sprintf("[%s]", strings.Repeat(`{},`, 200)+`{}`)
	data := openCampaign(t, "O03_sparse", map[string]any{"candidates": json.RawMessage(many)})
	_, err := Run(t.Context(), "c.json", data)
	if err == nil || !strings.Contains(err.Error(), "candidates lists 201; at most 200") {
		t.Errorf("too many candidates: %v", err)
	}
	points := "[" + strings.Repeat("[1,2],", 60) + "[1,2]]"
	_, err = Run(t.Context(), "c.json", everyKind(t, map[string]any{
		"hypotheses": json.RawMessage(`[{"code":"x","kind":"meter_range"}]`),
		"readings":   json.RawMessage(`[{"id":"w","kind":"warmup_sink","u":1,"series":` + points + `}]`),
	}))
	if err == nil || !strings.Contains(err.Error(), "122 variants; at most 100 are computed: name the reading") {
		t.Errorf("too many variants: %v", err)
	}
}

// TestCampaignExpected: results that differ from expected ones are listed.
func TestCampaignExpected(t *testing.T) {
	d := document{"c.json", openCampaign(t, "O03_sparse", map[string]any{
		"expected": json.RawMessage(`{"flag":"healthy","posterior":{"film":{"mean":1.105}},` +
			`"figures":{"sink_C":{"sd":0.636}}}`),
		"tolerance": json.RawMessage(`{"posterior":{"abs":0.01},"figures":"1 %"}`),
	})}
	n, err := d.parse()
	if err != nil {
		t.Fatal(err)
	}
	out, err := runBench(t.Context(), d, n, quickEffort)
	if err != nil || len(out.Missed) != 1 || out.Missed[0].Key != "flag" || Passed(out) {
		t.Errorf("missed %+v, %v; only the flag differs", out.Missed, err)
	}
}
