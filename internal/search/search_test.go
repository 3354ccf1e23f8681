package search

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/finding"
	"lampwright/internal/lamptest"
	"lampwright/internal/project"
	"lampwright/internal/review"
	"lampwright/internal/source"
	"lampwright/internal/store"
)

// find plans a design, and checks that the plan is true: its changes, put into the design in order, give the counts
// that it states.
func find(t *testing.T, p *project.Project, o engine.Options) *Plan {
	t.Helper()
	plan, err := Find(context.Background(), p, o, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(plan.Causes) > MaxCauses {
		t.Errorf("%d causes", len(plan.Causes))
	}
	now, err := (&searcher{}).evaluate(context.Background(), p, o)
	if err != nil {
		t.Fatal(err)
	}
	if plan.Before != now.findings {
		t.Errorf("%+v before, the plan states %+v", now.findings, plan.Before)
	}
	for _, c := range plan.Causes {
		if p, err = with(p, c.Sets); err != nil {
			t.Fatal(err)
		}
		s, err := (&searcher{}).evaluate(context.Background(), p, o)
		if err != nil {
			t.Fatal(err)
		}
		if s.findings != c.After {
			t.Errorf("%s: %+v, the plan states %+v", c.Change, s.findings, c.After)
		}
		if !s.count().better(now.count()) || len(c.Clears) == 0 || c.Title == "" {
			t.Errorf("%s: %+v after %+v, clears %v", c.Change, s.count(), now.count(), c.Clears)
		}
		now = s
	}
	if now.findings != plan.After || len(plan.Left) != now.count().Stops {
		t.Errorf("%+v after the last cause, the plan states %+v and names %d stops", now.findings, plan.After,
			len(plan.Left))
	}
	return plan
}

func solver() engine.Options {
	return engine.Options{Solver: &store.Memory{Store: &lamptest.Memory{Data: map[string][]byte{}}}, Samples: 1000}
}

// TestDemos: every stop of the demos with errors can be cleared by a plan.
func TestDemos(t *testing.T) {
	for _, name := range []string{"long-tank-first", "moss-jar-first", "propagation-bench-first"} {
		plan := find(t, lamptest.Example(t, name), solver())
		if plan.Before.Stops < 3 || plan.After.Stops != 0 {
			t.Errorf("%s: %+v to %+v, left %v", name, plan.Before, plan.After, plan.Left)
		}
	}
	if plan := find(t, lamptest.Example(t, "moss-jar"), solver()); len(plan.Causes) != 0 || plan.Before != (Count{}) {
		t.Errorf("the corrected demo has a plan: %+v", plan)
	}
}

// worse returns a demo with values and parts that are drawn.
func worse(t *testing.T, seed uint64) *project.Project {
	draw := rand.New(rand.NewPCG(seed, 0x5e4c))
	demo := []string{"long-tank", "moss-jar", "propagation-bench"}[seed%3]
	p := lamptest.Example(t, demo)
	for range 40 {
		var sets []source.Setting
		for i := range p.Design.Channels {
			c := &p.Design.Channels[i]
			sets = append(sets, set(fmt.Sprintf("channels[%d].current", i),
				fmt.Sprintf("%.0f mA", 1e3*c.Current.SI*math.Exp(draw.NormFloat64()*0.4))))
			if ids := p.Library.Drivers.IDs(); draw.IntN(2) == 0 {
				sets = append(sets, set(fmt.Sprintf("channels[%d].driver", i), ids[draw.IntN(len(ids))]))
			}
		}
		for j := range p.Design.Supplies {
			if ids := p.Library.Supplies.IDs(); draw.IntN(2) == 0 {
				sets = append(sets, set(fmt.Sprintf("supplies[%d].part", j), ids[draw.IntN(len(ids))]))
			}
		}
		if ids := p.Library.Boards.IDs(); draw.IntN(3) == 0 {
			id := ids[draw.IntN(len(ids))]
			made := p.Library.Boards.Get(id).PriceByThickness.X
			sets = append(sets, set("board.part", id), set("board.thickness", fmt.Sprintf("%g mm", 1e3*made[0])))
		}
		h := p.Design.Installation.Hanging.SI * math.Exp(draw.NormFloat64()*0.3)
		sets = append(sets, set("installation.hanging_height", fmt.Sprintf("%.0f mm", 1e3*h)))
		if q, err := with(p, sets); err == nil {
			return q
		}
	}
	t.Fatal("no design can be built")
	return nil
}

var generatedLamps = flag.Uint64("lamps", 8, "generated bad lamps in TestGenerated; 20 take some 3 minutes of CPU")

// TestGenerated: plans of generated bad lamps never make a lamp worse, and clear every stop of most.
func TestGenerated(t *testing.T) {
	if testing.Short() {
		t.Skip("it evaluates some 1500 designs")
	}
	bad, cleared, stops, left := 0, 0, 0, 0
	for seed := range *generatedLamps {
		plan := find(t, worse(t, seed), solver())
		t.Logf("lamp %d: %+v → %+v in %d causes, left %v", seed, plan.Before, plan.After, len(plan.Causes), plan.Left)
		stops, left = stops+plan.Before.Stops, left+plan.After.Stops
		if plan.Before.Stops > 0 {
			bad++
			if plan.After.Stops == 0 {
				cleared++
			}
		}
	}
	t.Logf("%d of %d lamps with stops end with none; %d of %d stops are cleared", cleared, bad, stops-left, stops)
	if bad < int(*generatedLamps)*3/4 || cleared < bad*3/4 {
		t.Errorf("%d of %d lamps with stops end with none", cleared, bad)
	}
}

// TestRepaired: a supply of 24 V overfeeds the fan of 12 V; a supply for the fan alone goes with it.
func TestRepaired(t *testing.T) {
	ctx, o := context.Background(), solver()
	o.Samples = -1
	x := &searcher{o: o}
	before, err := (&searcher{}).evaluate(ctx, lamptest.Example(t, "long-tank-first"), o)
	if err != nil {
		t.Fatal(err)
	}
	volts := move{words: "24 V", sets: []source.Setting{set("supplies[0].part", "supply-24v-100w")}}
	steps, err := x.try(ctx, before, []move{volts})
	if err != nil || len(steps) != 1 {
		t.Fatal(steps, err)
	}
	stops := func(to *state) (n int) {
		for _, f := range difference(before, to) {
			if f.Severity == finding.Stop {
				n++
			}
		}
		return n
	}
	cause, err := x.repaired(ctx, before, steps[0])
	if err != nil {
		t.Fatal(err)
	}
	last := cause[len(cause)-1]
	if stops(steps[0].to) == 0 || stops(last.to) >= stops(steps[0].to) ||
		!strings.Contains(last.words, "for the fan alone") || len(cause) != 2 {
		t.Errorf("%d changes, %q, %d new stops, then %d", len(cause), last.words, stops(steps[0].to), stops(last.to))
	}
}

// TestCancelled: a search ends with its context.
func TestCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	_, err := Find(ctx, lamptest.Example(t, "moss-jar-first"), solver(), func(done, _ int) {
		if done == 3 {
			cancel()
		}
	})
	if !errors.Is(err, context.Canceled) {
		t.Error(err)
	}
}

func TestGain(t *testing.T) {
	from := &state{bad: map[matter]finding.Severity{
		{"a", "x"}: finding.Stop, {"b", "x"}: finding.Warn, {"c", "x"}: finding.Stop,
	}}
	s := step{
		clears: []Found{{"a", "x", finding.Stop}, {"b", "x", finding.Warn}, {"gone", "x", finding.Stop}},
		brings: []Found{{"d", "x", finding.Warn}, {"c", "x", finding.Stop}},
	}
	// The stop of a and the warning of b go; that of gone is no longer there; d comes, c is there already.
	if g := s.gain(from); g != (Count{Stops: 1, Warnings: 0}) {
		t.Errorf("gain %+v", g)
	}
	other := step{move: move{words: "other"}, clears: []Found{{"b", "x", finding.Warn}}}
	none := step{move: move{words: "none"}, brings: []Found{{"d", "x", finding.Warn}}}
	if got := rank(from, []step{none, other, s}); len(got) != 2 || got[0].words != s.words {
		t.Errorf("ranked %v", got)
	}
	small, large := step{move: move{words: "small", by: 0.1}, clears: s.clears}, step{
		move: move{words: "large", by: 0.5}, clears: s.clears,
	}
	if got := rank(from, []step{large, small}); got[0].words != "small" {
		t.Error("the larger change of a value comes first")
	}
}

func TestReserve(t *testing.T) {
	margin := func(signed, limit float64) review.Margin {
		return review.Margin{Severity: finding.Pass, Bound: review.AtMost, Signed: signed, Limit: limit}
	}
	stop, none := margin(1, 10), margin(1, 10)
	stop.Severity, none.Bound = finding.Stop, review.NoBound
	for _, tt := range []struct {
		m    review.Margin
		want float64
	}{{margin(0.5, 10), 0.05}, {margin(9, 10), 0.1}, {margin(0.5, -10), 0.05}, {margin(1, 0), 0}, {stop, 0}, {
		none,
		0,
	}} {
		if got := reserveOf(&tt.m); math.Abs(got-tt.want) > 1e-12 {
			t.Errorf("%+v has a reserve of %g, want %g", tt.m, got, tt.want)
		}
	}
	clears := []Found{{"a", "x", finding.Stop}}
	from := &state{bad: map[matter]finding.Severity{{"a", "x"}: finding.Stop}}
	cheap := step{move: move{words: "cheap"}, clears: clears, to: &state{reserve: 0.3}, costEUR: 1}
	safe := step{move: move{words: "safe"}, clears: clears, to: &state{reserve: 0.4}, costEUR: 2}
	if got := rank(from, []step{cheap, safe}); got[0].words != "safe" {
		t.Error("the change with less reserve comes first")
	}
	safe.to = &state{reserve: 0.301}
	if got := rank(from, []step{safe, cheap}); got[0].words != "cheap" {
		t.Error("a reserve that hardly differs decides")
	}
}

func TestJoined(t *testing.T) {
	cause := func(check string, n int) []step {
		return []step{{clears: slices.Repeat([]Found{{check, "x", finding.Stop}}, n)}}
	}
	got := joined([][]step{
		cause("driver-input", 4), cause("ppfd", 1), cause("junction", 1), cause("fuse", 1), cause("cct", 2),
		cause("inrush-switch", 1),
	})
	var sizes []string
	for _, c := range got {
		sizes = append(sizes, fmt.Sprint(c[0].clears[0].Check, len(c)))
	}
	if s := strings.Join(sizes, " "); s != "driver-input1 ppfd1 junction1 fuse2 cct1" {
		t.Errorf("joined to %s", s)
	}
}

func TestValues(t *testing.T) {
	for x, want := range map[float64]float64{347.2: 345, 1234: 1250, 96.1: 96, 0.0413: 0.0415} {
		if got := rounded(x); math.Abs(got/want-1) > 1e-12 {
			t.Errorf("%g is rounded to %g, want %g", x, got, want)
		}
	}
}

// TestAreas: each check of an area is one of the review's.
func TestAreas(t *testing.T) {
	rules, err := os.ReadFile("../review/rules.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, checks := range areas {
		for _, check := range checks {
			if !strings.Contains(string(rules), "{"+strconv.Quote(check)+", ") {
				t.Errorf("the review has no check %q", check)
			}
		}
	}
}

// TestAcknowledgedIsLeft: an acknowledged warning is none that a plan clears; an acknowledged stop is one.
func TestAcknowledgedIsLeft(t *testing.T) {
	p := lamptest.Example(t, "long-tank-first")
	o := engine.Options{Samples: -1, CellM: 0.01, Solver: lamptest.Remembered}
	before, err := (&searcher{}).evaluate(t.Context(), p, o)
	if err != nil {
		t.Fatal(err)
	}
	text := func(s string) source.Text { return source.Text{S: s, Set: true} }
	p.Design.Acknowledged = []project.Acknowledgement{
		{Check: text("cct"), Subject: text("lamp"), Reason: text("a")},
		{Check: text("die-current"), Subject: text("channel cyan"), Reason: text("b")},
	}
	after, err := (&searcher{}).evaluate(t.Context(), p, o)
	if err != nil {
		t.Fatal(err)
	}
	if after.findings.Stops != before.findings.Stops || after.findings.Warnings != before.findings.Warnings-1 {
		t.Errorf("%+v, want one warning less than %+v", after.findings, before.findings)
	}
}
