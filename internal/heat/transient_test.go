package heat

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"lampwright/internal/geom"
)

// testdata/open-4.json: finite elements in space, the same scheme in time with steps that were halved as a check; 0.05–0.15 %.
func TestOpenTransient(t *testing.T) {
	if testing.Short() {
		t.Skip("it solves large grids")
	}
	data := openCase(t, "open-4")
	var want struct{ Results []CaseMoment }
	if err := json.Unmarshal(data, &want); err != nil {
		t.Fatal(err)
	}
	r, err := RunCase(context.Background(), data)
	if err != nil {
		t.Fatal(err)
	}
	got := r.Results.([]CaseMoment)
	if len(got) != len(want.Results) {
		t.Fatalf("%d moments, want %d", len(got), len(want.Results))
	}
	t.Logf("%+v", r.Solver)
	for i, w := range want.Results {
		g := got[i]
		if fmt.Sprint(g.T) != fmt.Sprint(w.T) {
			t.Errorf("moment %d is at %v, want %v", i, g.T, w.T)
		}
		name := fmt.Sprintf("t %v ", w.T)
		compare(t, name+"T_max", g.TMax, w.TMax, 0.015)
		compare(t, name+"T_sink", *g.TSink, *w.TSink, 0.005)
		compare(t, name+"stored", g.StoredJ, w.StoredJ, 0.002)
		for k, v := range w.MeanSource {
			compare(t, name+k, g.MeanSource[k], v, 0.01)
		}
		for k, v := range w.Probes {
			// relative to the probe, or to 5 % of the hottest place where it has hardly warmed (the reference's own rule)
			if d := math.Abs(g.Probes[k]-v) / max(v, 0.05*w.TMax); d > 0.015 {
				t.Errorf("%s%s: %g, want %g", name, k, g.Probes[k], v)
			}
		}
	}
	if r.Solver.EnergyBalance > 1e-6 {
		t.Errorf("energy balance %g", r.Solver.EnergyBalance)
	}
}

// oneBlock is a block that is as good as one temperature: C 323 J/K, G 1.6 W/K.
func oneBlock() (Board, []Source) {
	r := geom.Rect{WidthM: 0.02, HeightM: 0.02}
	t := 0.01
	return Board{
		Outline: geom.Rectangle(r), BackFilmWm2K: 1.6 / 4e-4,
		Layers: []Layer{{ThicknessM: t, KWmK: 1e6, DensityKgM3: 323 / (4e-4 * t * 1000), HeatJkgK: 1000}},
	}, []Source{{Rect: r, PowerW: 37}}
}

func TestLumpedBlock(t *testing.T) {
	b, s := oneBlock()
	w, err := Transient(context.Background(), b, s, nil, []float64{20, 60, 200, 1000}, TimeOptions{})
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range w.Moments {
		// exact: P/G (1 − exp(−t G/C))
		compare(t, fmt.Sprint(m.TimeS), m.StoredJ/323, LumpedStep(37, 1.6, 323, m.TimeS), 1e-3)
	}
	if w.EnergyBalance > 1e-8 {
		t.Errorf("energy balance %g", w.EnergyBalance)
	}
}

// The scheme is of second order: halving the steps takes about a quarter of the error.
func TestOrderInTime(t *testing.T) {
	b, s := oneBlock()
	at := func(share float64) float64 {
		w, err := Transient(context.Background(), b, s, nil, []float64{25, 250}, TimeOptions{StepShare: share, Options: Options{Tol: 1e-11}})
		if err != nil {
			t.Fatal(err)
		}
		return w.Moments[1].StoredJ
	}
	exact := at(0.01)
	coarse, fine := math.Abs(at(0.4)-exact), math.Abs(at(0.1)-exact)
	if r := coarse / fine; r < 10 || r > 24 { // 16
		t.Errorf("errors %g and %g at steps four times apart: ratio %.1f", coarse, fine, r)
	}
}

// A cold board in a warm sink, without watts, takes up heat; a warm board cools to nothing.
func TestCoolingDown(t *testing.T) {
	b, s := lampBoard(2)
	for i := range s {
		s[i].PowerW = 0
	}
	w, err := Transient(context.Background(), b, s, nil, []float64{1, 10, 100, 1000, 10000}, TimeOptions{InitialK: 40})
	if err != nil {
		t.Fatal(err)
	}
	last := 40.0
	for _, m := range w.Moments {
		if m.SinkK > last+1e-9 || m.SinkK < -1e-9 {
			t.Errorf("sink at %g K after %g s", m.SinkK, m.TimeS)
		}
		last = m.SinkK
	}
	if last > 1e-6 || w.EnergyBalance > 1e-6 {
		t.Errorf("left %g K, energy balance %g", last, w.EnergyBalance)
	}
}

func TestTransientBadInput(t *testing.T) {
	b, s := lampBoard(1)
	for _, tt := range []struct {
		name  string
		times []float64
		spoil func(*Board)
		want  string
	}{
		{"no times", nil, func(*Board) {}, "no times"},
		{"falling times", []float64{5, 3}, func(*Board) {}, "rise"},
		{"no capacity", []float64{5}, func(b *Board) { b.Layers = append([]Layer(nil), b.Layers...); b.Layers[0].HeatJkgK = 0 }, "heat capacity"},
	} {
		c := b
		tt.spoil(&c)
		if _, err := Transient(context.Background(), c, s, nil, tt.times, TimeOptions{}); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: %v", tt.name, err)
		}
	}
}

func TestCaseRefusals(t *testing.T) {
	good := string(openCase(t, "open-2"))
	if !IsCase([]byte(good)) {
		t.Error("an open case is not known as one")
	}
	for _, no := range []string{"", "[]", `{"board":1}`, "lamp: yes"} {
		if IsCase([]byte(no)) {
			t.Errorf("%q passes for a case", no)
		}
	}
	for _, tt := range []struct{ name, old, new, want string }{
		{"unknown key", `"rho": 2700.0`, `"rhoo": 2700.0`, "rhoo"},
		{"shape", `"disc"`, `"oval"`, "oval"},
		{"conductivity", `"k": 1.5`, `"k": 0`, "conductivity 0"},
		{"no conductivity", `"k": 1.5,`, ``, "no conductivity"},
		{"names", `"name": "e"`, `"name": "c"`, "two sources"},
		{"patch", `"h": 600.0`, `"h_contact": 600.0`, "no sink"},
		{"off the board", `"y": 0.008`, `"y": 0.08`, "off the board"},
		{"trailing", "", "", "not a JSON object"},
		{"a key twice", `"k": 1.5`, `"k": 1.5, "K": 150`, `the key "K" stands twice`},
		{"a text for a number", `"k": 1.5`, `"k": "1.5"`, "layers.k is a JSON string, and a number is due there"},
		{"a number for a list", `"sources": [`, `"sources": 5, "notes": [`, "sources is a JSON number, and a list is due there"},
		{"a list for a number", `"h": 600.0`, `"h": [600.0]`, "is a JSON array, and a number is due there"},
		{"null layers", `"layers": [`, `"layers": null, "notes": [`, "no layers"},
		{"too large to be a number", `"k": 1.5`, `"k": 1e400`, "is a JSON number 1e400, and a number is due there"},
		{"huge", `"k": 1.5`, `"k": 1e300`, "conductivity of layer"},
		{"thin as an atom", `"t": 0.0001`, `"t": 1e-12`, "at least 1e-09 is taken"},
		{"size in mm", `"y": 0.008`, `"y": 80`, "place of source"},
		{"no size", `"wx": 0.003`, `"wx": 0`, "has no area"},
		{"a point", `"wx": 0.003`, `"wx": 1e-9`, "at least 1e-06 is taken"},
		{"region null", `"region": "full"`, `"region": null`, "region is null"},
		{"region of nothing", `"region": "full"`, `"region": [{}]`, "piece 1 has no area"},
		{"area of two kinds", `"region": "full"`, `"region": [{"radius": 0.01, "wx": 0.01, "wy": 0.01}]`, "several kinds"},
		{"vias without k_z", `"region": "full"`, `"vias": {"areas": [{"wx": 0.01, "wy": 0.01}]}`, "vias need their areas and a k_z"},
		{"vias of an unknown kind", `"region": "full"`, `"vias": {"areas": [{"wx": 0.01, "wy": 0.01}], "k": 5}`, `unknown field "k"`},
		{"hole off the board", `"shape": "disc"`, `"holes": [{"y": -0.05, "radius": 0.01}], "shape": "disc"`, "holes overlap or reach off the board"},
		{"holes that overlap", `"shape": "disc"`, `"holes": [{"x": 0.03, "radius": 0.004}, {"x": 0.033, "radius": 0.004}], "shape": "disc"`, "holes overlap or reach off the board"},
		{"times that fall", `"sources": [`, `"times": [5, 2], "sources": [`, "times must be above zero and rise"},
		{"time before the start", `"sources": [`, `"times": [-1], "sources": [`, "times must be above zero and rise"},
		{"time of ages", `"sources": [`, `"times": [1e12], "sources": [`, "time is 1e+12"},
		{"sink that sheds nothing", `"h": 600.0`, `"h_contact": 600.0`, "no sink"},
		{"deep", `"sources": [`, `"notes": ` + strings.Repeat("[", 30) + strings.Repeat("]", 30) + `, "sources": [`, "nested more than 20 deep"},
	} {
		data := strings.Replace(good, tt.old, tt.new, 1)
		if tt.old == "" {
			data = good + "{}"
		}
		if _, err := RunCase(context.Background(), []byte(data)); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: %v", tt.name, err)
		}
	}
	if _, err := RunCase(context.Background(), make([]byte, maxCaseBytes+1)); err == nil {
		t.Error("five megabytes passed")
	}
}
