package casefile

import (
	"cmp"
	"context"
	"encoding/json"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"
)

// drawn gives a campaign values drawn from its own model: parameters from the priors, errors of the readings from the
// likelihood; with a fault, that of a hypothesis. It returns the true parameters and figures too.
func drawn(t testing.TB, c *benchCase, seed uint64, fault string) (theta, figures []float64) {
	t.Helper()
	w, err := c.world()
	if err != nil {
		t.Fatal(err)
	}
	e := explanation{code: healthyCode}
	for _, variants := range w.faults {
		if variants[0].code == fault {
			e = variants[len(variants)-1]
		}
	}
	if fault != "" && e.code == healthyCode {
		t.Fatalf("no hypothesis %s", fault)
	}
	v, err := w.view(e)
	if err != nil {
		t.Fatal(err)
	}
	r := rand.New(rand.NewPCG(seed, 7))
	z := make([]float64, len(v.problem().Priors))
	for j := range z {
		z[j] = r.NormFloat64()
	}
	predicted, err := v.predict(z)
	if err != nil {
		t.Fatal(err)
	}
	for i := range predicted {
		predicted[i] += v.u[i] * noiseDraw(r, w.noise.Nu)
	}
	k := 0
	for i := range c.Readings {
		if c.Readings[i].Value != nil {
			value := predicted[k]
			c.Readings[i].Value = &value
			k++
		}
		for p := range c.Readings[i].Series {
			c.Readings[i].Series[p].value = predicted[k]
			k++
		}
	}
	if figures, err = v.figuresAt(z); err != nil {
		t.Fatal(err)
	}
	return v.problem().Theta(z), figures
}

// noiseDraw draws an error in u: normal, or of Student's t.
func noiseDraw(r *rand.Rand, nu float64) float64 {
	x := r.NormFloat64()
	if nu == 0 {
		return x
	}
	sum := 0.0
	for range int(nu) {
		g := r.NormFloat64()
		sum += g * g
	}
	return x / math.Sqrt(sum/nu)
}

// decoded reads a campaign.
func decoded(t testing.TB, data []byte) *benchCase {
	t.Helper()
	d := document{"c.json", data}
	n, err := d.parse()
	if err != nil {
		t.Fatal(err)
	}
	c, err := decodeBench(d, n)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// TestCoverage: 60 campaigns drawn from the model of the first open campaign: intervals of 95 % contain the truth in
// 93 % to 97 % of 1260 parameters, and 2 × the cost at the mode is the number of readings on average.
func TestCoverage(t *testing.T) {
	if testing.Short() {
		t.Skip("60 campaigns; TestOpenCampaigns is the fast test of the same posteriors")
	}
	text := openCampaign(t, "O01_rich", map[string]any{"hypotheses": nil})
	inside, all, cost := 0, 0, 0.0
	const campaigns = 60
	for seed := range uint64(campaigns) {
		c := decoded(t, text)
		theta, _ := drawn(t, c, seed, "")
		w, err := c.world()
		if err != nil {
			t.Fatal(err)
		}
		j, err := w.judge(t.Context(), explanation{code: healthyCode}, 0)
		if err == nil {
			err = j.sampled(t.Context(), 1500)
		}
		if err != nil {
			t.Fatal(err)
		}
		for k, m := range j.sample.Theta {
			all++
			if m.Q025 <= theta[k] && theta[k] <= m.Q975 {
				inside++
			}
		}
		cost += (j.fit.Misfit + j.fit.FromPrior) / campaigns
	}
	if share := float64(inside) / float64(all); all != 1260 || share < 0.93 || share > 0.97 {
		t.Errorf("%d of %d inside their intervals", inside, all)
	}
	// χ² of 18 degrees of freedom has an sd of 6: its mean of 60 one of 0.77.
	if math.Abs(cost-18) > 3*6/math.Sqrt(campaigns) {
		t.Errorf("mean of 2 × cost at the mode: %g of 18 readings", cost)
	}
	t.Logf("%d of %d inside, mean 2 × cost %.2f", inside, all, cost)
}

// everyKind is the first open campaign with readings of the other kinds, a dimmed mode and all kinds of faults.
func everyKind(t testing.TB, changes map[string]any) []byte {
	t.Helper()
	var c map[string]any
	if err := json.Unmarshal(openCampaign(t, "O01_rich", nil), &c); err != nil {
		t.Fatal(err)
	}
	extend := func(key, list string) {
		var more []any
		if err := json.Unmarshal([]byte(list), &more); err != nil {
			t.Fatal(err)
		}
		c[key] = append(c[key].([]any), more...)
	}
	extend("parameters", `[{"name":"C_sink","prior":"lognormal","median":400,"sigma_ln":0.1,"unit":"J/K"}]`)
	extend("readings", `[{"id":"ntc","kind":"ntc_ohm","u":40,"value":1},
		{"id":"ice","kind":"ntc_bath","u":100,"T_bath_C":0,"value":1},
		{"id":"warm","kind":"warmup_sink","u":0.3,"series":[[30,1],[60,1],[120,1],[300,1],[600,1],[1200,1],[3600,1]]},
		{"id":"tj","kind":"t_junction_vf","u":2,"channel":"white","value":1},
		{"id":"I dim","kind":"string_current_mean","u":0.004,"channel":"white","mode":"dim","value":1},
		{"id":"lux dim","kind":"lux_axis_bare","u":4,"channel":"red","distance_m":0.5,"mode":"dim","value":1}]`)
	extend("hypotheses", `[{"code":"open","kind":"open_emitter","channel":"red"},
		{"code":"range","kind":"meter_range","reading":"lux lens white"},
		{"code":"beta","kind":"ntc_beta","B_K":3435},
		{"code":"resistor","kind":"set_resistor","channel":"red","factor_prior":{"median":1.3,"sigma_ln":0.05}},
		{"code":"lux","kind":"scale","parameter":"lux_scale","factor":0.7}]`)
	c["candidates"] = json.RawMessage(`[{"id":"a","kind":"t_board","u":0.4},{"id":"b","kind":"ntc_ohm","u":5}]`)
	lamp, modes := c["lamp"].(map[string]any), c["modes"].(map[string]any)
	lamp["C_board_J_per_K"], lamp["C_sink_J_per_K"] = 60, 400
	modes["dim"] = map[string]any{"T_room_C": 22, "duty": map[string]any{"white": 0.3, "red": 0.2}}
	for key, v := range changes {
		c[key] = v
	}
	text, err := json.Marshal(c)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// TestFaultsFound: campaigns with all kinds of readings, drawn with a fault each, flag it.
func TestFaultsFound(t *testing.T) {
	effort := benchEffort{draws: 3000, trials: 1000, starts: 0}
	for _, tt := range []struct {
		code  string
		seed  uint64
		short bool
	}{
		{"", 0, true},
		{"dry_joint", 1, false},
		{"fan_backwards", 0, false},
		{"short_emitter.white", 0, false},
		{"short_emitter.red", 0, false},
		{"lens_seat.white", 0, false},
		{"lens_seat.red", 0, false},
		{"swapped.white.red", 0, true},
		{"pwm_inverted.white", 1, false},
		{"pwm_inverted.red", 0, false},
		{"open", 0, false},
		{"range", 0, true},
		{"beta", 0, true},
		{"resistor", 0, false},
		{"lux", 0, false},
	} {
		if testing.Short() && !tt.short {
			continue
		}
		c := decoded(t, everyKind(t, nil))
		drawn(t, c, tt.seed, tt.code)
		results, err := c.answer(t.Context(), effort)
		if err != nil {
			t.Errorf("%s: %v", tt.code, err)
			continue
		}
		if flag := results["flag"]; flag != cmp.Or(tt.code, healthyCode) || results["model"] != flag {
			t.Errorf("a lamp with the fault %q is flagged %q", tt.code, flag)
		}
		table := results["decides"].(map[string]any)["table"].([]any)
		if len(table) != 2 || len(results["resolution"].([]any)) != 30 {
			t.Errorf("%s: %d candidates and %d readings", tt.code, len(table), len(results["resolution"].([]any)))
		}
	}
}

// TestHeavyTails: a campaign with errors of Student's t, one of them far out: the reading is doubted, and the posterior
// does not follow it.
func TestHeavyTails(t *testing.T) {
	c := decoded(t, everyKind(t, map[string]any{
		"likelihood": json.RawMessage(`{"kind":"student_t","nu":4}`), "hypotheses": []any{}, "figure": "flux_out_lm",
	}))
	theta, figures := drawn(t, c, 3, "")
	for i, r := range c.Readings {
		if r.ID == "sink" {
			*c.Readings[i].Value += 12
		}
	}
	results, err := c.answer(t.Context(), benchEffort{draws: 8000, trials: 2, starts: 2})
	if err != nil {
		t.Fatal(err)
	}
	doubts := results["doubts"].(map[string]any)
	if ids := doubts["outliers"].([]any); len(ids) == 0 || ids[0] != "sink" {
		t.Errorf("outliers %v; the heat sink was read 12 K too warm", ids)
	}
	sink := results["figures"].(map[string]any)["sink_C"].(map[string]any)
	if mean, sd := sink["mean"].(float64), sink["sd"].(float64); math.Abs(mean-figures[3]) > 4*sd || sd > 1 {
		t.Errorf("heat sink %g ± %g °C; it is at %g", mean, sd, figures[3])
	}
	if next := results["best_next"].(map[string]any); next["figure"] != "flux_out_lm" || len(theta) != 22 {
		t.Errorf("next reading for %v", next["figure"])
	}
	if ess := results["importance_ess"].(float64); ess < 1000 {
		t.Errorf("ESS %g", ess)
	}
}

// TestEquivalentForms: series, duties, likelihoods and names in their other forms give the same answer.
func TestEquivalentForms(t *testing.T) {
	const base = `{"model":"BL1","lamp":{"R_sink_air_K_per_W":1.1,"C_board_J_per_K":60,"C_sink_J_per_K":400,
		"ntc_B_K":3950,
		"ntc_R25_ohm":1e4,"channels":[{"name":"w","n":6,"I_A":0.7,"I0_A":0.7,"Vf0_V":2.95,"Rd_ohm":0.35,
		"kV_V_per_K":-0.0018,
		"flux0_lm":255,"kF_per_K":-0.0018,"K_lm_per_W":325,"R_js_K_per_W":2.5,"R_dielectric_K_per_W":1.6}]},
		"parameters":[{"name":"film","prior":"lognormal","median":1,"sigma_ln":0.15},PARAMETER],
		"modes":{"all":{"T_room_C":23,"duty":DUTY}},"likelihood":LIKELIHOOD,
		"readings":[{"id":"s","kind":"warmup_sink","u":0.3,SERIES},{"id":"n","kind":"ntc_ohm","u":40,"value":7400}]}`
	build := func(parameter, duty, likelihood, series string) []byte {
		r := strings.NewReplacer("PARAMETER", parameter, "DUTY", duty, "LIKELIHOOD", likelihood, "SERIES", series)
		return []byte(r.Replace(base))
	}
	const parameter = `{"name":"C_sink","prior":"lognormal","median":400,"sigma_ln":0.1,"unit":"J/K"}`
	const duty, likelihood, series = `{"w":0.5}`, `{"kind":"student_t","nu":4}`, `"series":[[60,24],[600,27]]`
	want := campaign(t, build(parameter, duty, likelihood, series))["posterior"].(map[string]any)["film"]
	for _, tt := range [][4]string{
		{`{"name":"C_sink_J_per_K","prior":"lognormal","median":1,"sigma_ln":0.1}`, duty, likelihood, series},
		{`{"name":"C_sink","prior":"lognormal","median":1,"sigma_ln":0.1}`, "0.5", `"student_t"`, series},
		{parameter, duty, likelihood, `"series":{"t_s":[60,600],"value":[24,27]}`},
		{parameter, duty, likelihood, `"series":[{"t_s":60,"value":24},{"t":600,"T_C":27}]`},
		{parameter, duty, likelihood, `"t_s":[60,600],"series":[24,27]`},
	} {
		got := campaign(t, build(tt[0], tt[1], tt[2], tt[3]))["posterior"].(map[string]any)["film"]
		if !sameMarginal(got, want) {
			t.Errorf("%v: %v, want %v", tt, got, want)
		}
	}
}

// sameMarginal reports whether two distributions are equal but for rounding.
func sameMarginal(a, b any) bool {
	for key, v := range a.(map[string]any) {
		if math.Abs(v.(float64)-b.(map[string]any)[key].(float64)) > 1e-4 {
			return false
		}
	}
	return true
}

// FuzzBench: whatever a campaign holds, there is an answer that is JSON or an error in words, within seconds, and never
// a panic.
func FuzzBench(f *testing.F) {
	f.Add(openCampaign(f, "O03_sparse", nil))
	f.Add([]byte(`{"model":"BL1","lamp":{"C_sink_J_per_K":400,"channels":[{"name":"w","n":2,"I_A":1,` +
		`"I0_A":1,"Vf0_V":3,"flux0_lm":200,"K_lm_per_W":325,"R_js_K_per_W":2}]},` +
		`"modes":{"a":{"duty":0.5}},"figures_mode":"a",` +
		`"parameters":[{"name":"film","prior":"lognormal","median":1,"sigma_ln":1},` +
		`{"name":"C_sink","prior":"normal","mean":1,"sd":9}],"likelihood":"student_t",` +
		`"readings":[{"id":"s","kind":"warmup_sink","u":1,"series":[[9,30],{"t_s":1,"value":2}],"mode":"a"}],` +
		`"hypotheses":[{"kind":"meter_range"},{"kind":"open"},{"kind":"scale","parameter":"film","factor":2}],` +
		`"candidates":[{"kind":"t_sink","u":1,"mode":"a"}],"expected":{"flag":"x"},"tolerance":"1 %"}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		d := document{"c.json", data}
		n, err := d.parse()
		if err != nil || !isBench(n) {
			return
		}
		ctx, cancel := context.WithTimeout(t.Context(), 4*time.Second)
		defer cancel()
		began := time.Now()
		out, err := runBench(ctx, d, n, benchEffort{draws: 50, trials: 20})
		if took := time.Since(began); took > 20*time.Second {
			t.Fatalf("%v for %d bytes", took, len(data))
		}
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
