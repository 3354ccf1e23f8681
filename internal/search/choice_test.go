package search

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"lampwright/internal/finding"
	"lampwright/internal/lamptest"
	"lampwright/internal/project"
)

// chosen is what every alternative of some kinds of parts did to a design.
type chosen struct {
	rows, stops, left int // alternatives that can be built; new stops of the part alone, and with its companions
}

// chooseAll takes every alternative of each place of some kinds, and looks whether one more companion would clear a
// stop that a choice leaves.
func chooseAll(t *testing.T, name string, p *project.Project, kinds ...string) (sum chosen) {
	t.Helper()
	ctx := context.Background()
	c, err := NewChooser(ctx, p, solver(), nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range p.Slots() {
		if !slices.Contains(kinds, s.Kind.Name) {
			continue
		}
		for _, a := range p.Alternatives(s) {
			if len(a.Sets) == 0 {
				continue
			}
			start := time.Now()
			got, err := c.Choose(ctx, a.Sets)
			if err != nil {
				t.Logf("%s: %s %s: %v", name, s.Path, a.Part.ID.S, err)
				continue
			}
			took := time.Since(start)
			alone, err := with(p, a.Sets)
			if err != nil {
				t.Fatal(err)
			}
			first, err := c.x.evaluate(ctx, alone, c.x.o)
			if err != nil {
				t.Fatal(err)
			}
			before, _ := c.brought(&bundle{to: first})
			together, err := with(p, got.Sets)
			if err != nil {
				t.Fatal(err)
			}
			last, err := c.x.evaluate(ctx, together, c.x.o)
			if err != nil {
				t.Fatal(err)
			}
			b := &bundle{to: last}
			left, _ := c.brought(b)
			sum.rows, sum.stops, sum.left = sum.rows+1, sum.stops+len(before), sum.left+len(left)
			if len(before) > 0 {
				var words []string
				for _, m := range got.Companions {
					words = append(words, m.Words)
				}
				t.Logf("%s: %s %s: new stops %d → %d %v with %s (%s)", name, s.Path, a.Part.ID.S, len(before),
					len(left), left, strings.Join(words, "; "), took.Round(time.Millisecond))
			}
			more, err := c.continued(ctx, a.Sets, b, left, nil)
			if err != nil {
				t.Fatal(err)
			}
			for _, m := range more {
				if after, _ := c.brought(m); len(after) < len(left) && len(got.Companions) < maxCompanions {
					t.Errorf("%s: %s %s leaves %v; %s would clear one", name, s.Path, a.Part.ID.S, left,
						m.moves[len(m.moves)-1].words)
				}
			}
			for _, f := range got.Brings {
				if f.Severity == finding.Stop && !slices.Contains(left, matter{f.Check, f.Subject}) {
					t.Logf("%s: %s %s: %v is new at full accuracy only", name, s.Path, a.Part.ID.S, f)
				}
			}
		}
	}
	return sum
}

// TestChooseDemos: no driver, supply or board leaves a new stop that one more companion would clear.
func TestChooseDemos(t *testing.T) {
	if testing.Short() {
		t.Skip("it evaluates some thousand designs")
	}
	var sum chosen
	for _, name := range []string{
		"long-tank-first", "moss-jar", "propagation-bench-first", "rain-wall",
	} {
		one := chooseAll(t, name, lamptest.Example(t, name), "driver", "supply", "board")
		t.Logf("%s: %+v", name, one)
		sum = chosen{sum.rows + one.rows, sum.stops + one.stops, sum.left + one.left}
	}
	t.Logf("%+v", sum)
}

// TestChooseGenerated: the same of generated bad lamps.
func TestChooseGenerated(t *testing.T) {
	if testing.Short() {
		t.Skip("it evaluates some thousand designs")
	}
	var sum chosen
	for seed := range uint64(3) {
		one := chooseAll(t, fmt.Sprintf("lamp %d", seed), worse(t, seed), "driver", "supply", "board")
		t.Logf("lamp %d: %+v", seed, one)
		sum = chosen{sum.rows + one.rows, sum.stops + one.stops, sum.left + one.left}
	}
	t.Logf("%+v", sum)
}
