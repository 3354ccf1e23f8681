package bench

import (
	"context"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/lamptest"
	"lampwright/internal/project"
)

// planFigures are the figures that the plans of the tests determine.
func planFigures(e *figure.Evaluation) (out []Figure) {
	for _, key := range []string{"lamp.junction", "target.ppfd", "mains.power"} {
		f, _ := e.Figure(key)
		out = append(out, Figure{key, f.Title, f.Dim, e.ValueOf(key)})
	}
	return out
}

// planned plans a demo, and returns the planner too.
func planned(t *testing.T, demo string, readings *project.Readings) (*planner, *figure.Evaluation) {
	t.Helper()
	e := lamptest.Evaluated(t, demo)
	p, err := newPlanner(context.Background(), e.Sys, readings, planFigures(e))
	if err != nil {
		t.Fatal(err)
	}
	p.firstPowerUp(e.Sys.BenchAt(&e.Sol, RoomOf(e.Sys, readings), FirstFractions()))
	p.pick()
	p.finish()
	return p, e
}

// TestPlanIsGreedy: the first reading tells most per minute, and no reading that is left out tells as much as a picked
// one at its turn. The variances are by the inverse of the information matrix, (I + Σ hᵀh/u²)⁻¹, which neither gain nor
// updated use.
func TestPlanIsGreedy(t *testing.T) {
	p, _ := planned(t, "long-tank", nil)
	n := len(p.m.Params)
	after := func(items []int) *mat.SymDense {
		info := mat.NewSymDense(n, nil)
		for j := range n {
			info.SetSym(j, j, 1)
		}
		for _, i := range items {
			h := mat.NewVecDense(n, slices.Clone(p.rows[i]))
			info.SymRankOne(info, 1/sq(p.m.Items[i].U), h)
		}
		var chol mat.Cholesky
		if !chol.Factorize(info) {
			t.Fatal("the information matrix is not positive definite")
		}
		var out mat.SymDense
		if err := chol.InverseTo(&out); err != nil {
			t.Fatal(err)
		}
		return &out
	}
	told := func(before, now *mat.SymDense) (sum, most float64) {
		for f, g := range p.gradients {
			share := (quadratic(before, g) - quadratic(now, g)) / p.before[f]
			sum, most = sum+share, math.Max(most, share)
		}
		return sum, most
	}
	made := slices.Clone(p.fixed)
	open := map[string]bool{project.FullState: true}
	minutes := func(i int) float64 {
		state := p.list[i].reading.State
		if open[state.Name.S] {
			return p.list[i].minutes
		}
		return p.list[i].minutes + p.openMinutes(state)
	}
	for rank, picked := range p.picked {
		before := after(made)
		sum, _ := told(before, after(append(slices.Clone(made), picked)))
		rate := sum / minutes(picked)
		for i := len(p.fixed); i < len(p.list); i++ {
			if slices.Contains(made, i) || i == picked {
				continue
			}
			sum, most := told(before, after(append(slices.Clone(made), i)))
			if most >= 0.01*(1+1e-9) && sum/minutes(i) > rate*(1+1e-9) {
				t.Errorf("rank %d is %s with %g per minute, and %s tells %g", rank+1, p.list[picked].reading.ID.S, rate,
					p.list[i].reading.ID.S, sum/minutes(i))
			}
		}
		open[p.list[picked].reading.State.Name.S] = true
		made = append(made, picked)
	}
	final := after(made)
	for f, g := range p.gradients {
		want := math.Sqrt(quadratic(final, g))
		if got := p.sheet.Figures[f].SDAfter; math.Abs(got/want-1) > 1e-6 {
			t.Errorf("%s: standard deviation after all readings %g, want %g", p.sheet.Figures[f].Key, got, want)
		}
		if b := p.sheet.Figures[f].SDBefore; p.sheet.Figures[f].SDAfter > 0.95*b {
			t.Errorf("%s: the plan leaves %g of %g", p.sheet.Figures[f].Key, p.sheet.Figures[f].SDAfter, b)
		}
	}
}

// TestPlanStopsWhereNothingIsTold: each planned reading removes at least 1 % of the first variance of one figure, and
// those that are left out less.
func TestPlanStopsWhereNothingIsTold(t *testing.T) {
	p, _ := planned(t, "moss-jar", nil)
	if len(p.picked) == 0 || len(p.picked) >= maxPlanned {
		t.Fatalf("%d readings are planned", len(p.picked))
	}
	for i := len(p.fixed); i < len(p.list); i++ {
		if slices.Contains(p.picked, i) {
			continue
		}
		if _, most, _, _ := p.worth(i); most >= 0.01 {
			t.Errorf("%s is left out, and removes %.1f %% of a variance", p.list[i].reading.ID.S, 100*most)
		}
	}
}

// TestPlanPredictsTheFirstPowerUp: volts and amps of the strings are those of the lamp in its steady state at full day,
// and the current at 5 % is 5 % of them.
func TestPlanPredictsTheFirstPowerUp(t *testing.T) {
	p, e := planned(t, "long-tank", nil)
	at, err := e.Sys.Measure(e.Lamp.Nominal(), engine.Conditions{RoomK: p.sheet.RoomK}, nil)
	if err != nil {
		t.Fatal(err)
	}
	bins := e.Sys.BenchAt(&e.Sol, p.sheet.RoomK, FirstFractions())
	for c, x := range p.sheet.Strings {
		amps, _ := at.StringA(c)
		if math.Abs(x.Volts.Expected-at.StringV(c)) > 1e-6 || math.Abs(x.Amps.Expected-amps) > 1e-9 {
			t.Errorf("%s: %g V, %g A; want %g V, %g A", x.Channel, x.Volts.Expected, x.Amps.Expected, at.StringV(c),
				amps)
		}
		if math.Abs(x.Dimmed.Expected/amps-0.05) > 1e-9 {
			t.Errorf("%s: mean current at 5 %% %g, want 0.05 of %g", x.Channel, x.Dimmed.Expected, amps)
		}
		full := x.Cold[1]
		if math.Abs(full.CurrentA-amps) > 1e-9 || !(full.VoltageV > x.Volts.Expected) {
			t.Errorf("%s: cold %g V at %g A, which must be above %g V when warm", x.Channel, full.VoltageV,
				full.CurrentA,
				x.Volts.Expected)
		}
		if x.LimitV != bins[c].LimitV || !(x.LimitV > full.MaxV) {
			t.Errorf("%s: voltage limit %g; the highest bins take %g", x.Channel, x.LimitV, full.MaxV)
		}
		// Expected ± 2u.
		if w := x.Volts.Hi() - x.Volts.Lo(); math.Abs(w-4*x.Volts.U) > 1e-12 {
			t.Errorf("%s: range of %g is not ±2u of %g", x.Channel, w, x.Volts.U)
		}
	}
}

// TestPlanOrdersTheWork: lenses go on once, and cold states come before the warm-up; no state is made twice.
func TestPlanOrdersTheWork(t *testing.T) {
	p, _ := planned(t, "long-tank", nil)
	order := -1
	seen := map[string]bool{}
	total := 38.0 // minutes of the warm-up: see below
	for _, g := range p.sheet.Groups {
		if o := workOrder(g.State); o < order {
			t.Errorf("state %q comes too late", g.Name)
		} else {
			order = o
		}
		if seen[g.Name] {
			t.Errorf("state %q is made twice", g.Name)
		}
		seen[g.Name] = true
		for k := range g.Readings {
			if k > 0 && g.Readings[k].Rank < g.Readings[k-1].Rank {
				t.Errorf("%s of rank %d comes after rank %d", g.Readings[k].ID, g.Readings[k].Rank,
					g.Readings[k-1].Rank)
			}
			total += g.Readings[k].Minutes
		}
		if !g.State.FullDay() {
			total += g.Minutes
			if g.State.After.SI != coldWaitS {
				t.Errorf("state %q is read %g s after a cold start", g.Name, g.State.After.SI)
			}
		}
	}
	total += float64(len(p.sheet.Strings)) * (1 + 3 + 1) // volts, amps, dimmed amps
	if math.Abs(p.sheet.Minutes-total) > 1e-9 {
		t.Errorf("%g minutes in all, want %g", p.sheet.Minutes, total)
	}
	// The heat sink has 95 % of its rise then: between that and the rise one step of 15 % of the time later.
	at, err := p.m.Sys.MeasureOver(context.Background(), p.m.Sys.Lamp.Nominal(),
		engine.Conditions{RoomK: p.sheet.RoomK}, []float64{p.sheet.SettleS / 1.15, p.sheet.SettleS}, false)
	if err != nil {
		t.Fatal(err)
	}
	steady, err := p.m.Sys.Measure(p.m.Sys.Lamp.Nominal(), engine.Conditions{RoomK: p.sheet.RoomK}, nil)
	if err != nil {
		t.Fatal(err)
	}
	share := func(m *engine.Moment) float64 { return (m.SinkK() - m.AirK()) / (steady.SinkK() - steady.AirK()) }
	if early, late := share(at[0]), share(at[1]); early >= 0.95 || late < 0.95 {
		t.Errorf("the heat sink has %.3f and %.3f of its rise about the settling time", early, late)
	}
	if math.Ceil(p.sheet.SettleS/60) != 38 {
		t.Errorf("the warm-up takes %g s; the sum above counts 38 min", p.sheet.SettleS)
	}
}

// TestPlanUsesTheInstrumentsAtHand: with a readings file, what its instruments do not read is left out with the reason,
// and the room is that of its last campaign.
func TestPlanUsesTheInstrumentsAtHand(t *testing.T) {
	e := lamptest.Evaluated(t, "moss-jar")
	r, problems := project.LoadReadingsText("readings.yaml", []byte(`lampwright_readings: 1
instruments:
  - {name: my meter, kind: lux meter, class: B}
  - {name: volts, kind: multimeter}
campaigns:
  - {name: first, date: 2031-09-12, room: 19 °C}
`), e.Lamp.Project)
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	p, _ := planned(t, "moss-jar", r)
	if math.Abs(p.sheet.RoomK-292.15) > 1e-9 {
		t.Errorf("room %g K, want 19 °C", p.sheet.RoomK)
	}
	reasons := map[string]bool{}
	for _, o := range p.sheet.LeftOut {
		reasons[o.Reason] = true
	}
	for _, want := range []string{"no thermocouple", "no infrared thermometer", "no wattmeter"} {
		if !reasons[want] {
			t.Errorf("nothing is left out because of %q: %v", want, reasons)
		}
	}
	for _, x := range p.sheet.Readings() {
		if x.Instrument != "my meter" && x.Instrument != "volts" {
			t.Errorf("%s is read with %q", x.ID, x.Instrument)
		}
	}
}

// TestPlanMap: the map has 5 × 5 points at the centres of equal cells of the target.
func TestPlanMap(t *testing.T) {
	p, e := planned(t, "moss-jar", nil)
	m := p.sheet.Map
	if m == nil || len(m.Points) != 25 {
		t.Fatal("no map of 25 points")
	}
	target := e.Sys.Light.Target
	if x, y := m.Points[0].XM, m.Points[0].YM; math.Abs(x+0.4*target.LengthM) > 1e-12 ||
		math.Abs(y+0.4*target.WidthM) > 1e-12 {
		t.Errorf("the first point is at %g, %g m; the target has %g × %g m", x, y, target.LengthM, target.WidthM)
	}
	if mid := m.Points[12]; math.Hypot(mid.XM, mid.YM) > 1e-12 || !(mid.Expected > m.Points[0].Expected) {
		t.Errorf("the middle is %+v", mid)
	}
	if w := p.sheet.Warmup; w == nil || !(w.Points[len(w.Points)-1].Expected > w.Points[0].Expected) {
		t.Error("the warm-up does not rise")
	}
}

// TestPlanIsCancelled: a plan that is stopped ends with the error of its context.
func TestPlanIsCancelled(t *testing.T) {
	e := lamptest.Evaluated(t, "moss-jar")
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Plan(ctx, e.Sys, nil, planFigures(e), nil); err == nil {
		t.Error("a cancelled plan has no error")
	}
}
