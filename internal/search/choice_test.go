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
	"lampwright/internal/source"
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
	if sum.left*5 > sum.stops*3 {
		t.Errorf("%d of %d new stops are left", sum.left, sum.stops)
	}
}

// TestChoose: what some choices bring, and that no more is brought than is needed.
func TestChoose(t *testing.T) {
	for _, tt := range []struct {
		demo, path, text string
		stops            int // new ones that are left
		brings           []string
	}{
		{"long-tank-first", "supplies[0].part", "supply-24v-100w", 0, []string{
			"supply-12v-60w added for the fan alone",
			"wire of supply-24v-100w: awg20 → awg18, time-lag fuse of 3.15 A at the output of supply-24v-100w, " +
				"and ahead of each channel: 1.00 A cool, 1.00 A neutral, 400 mA cyan, 500 mA red",
		}},
		{"long-tank-first", "supplies[0].part", "supply-36v-150w", 0, []string{
			"driver of red: linear-350ma → buck-1a", "supply-12v-60w added for the fan alone",
			"time-lag fuses of 1.60 A at the output of supply-36v-150w and ahead of each channel: 630 mA cool, " +
				"630 mA neutral, 250 mA cyan, 100 mA red",
		}},
		{"moss-jar", "channels[0].driver", "buck-3a", 0, []string{
			"supply supply-12v-60w → supply-24v-100w", "channel white: current 180 mA → 800 mA, range of buck-3a",
		}},
		{"moss-jar", "channels[0].driver", "buck-6a", 1, nil}, // the emitters do not withstand 1.5 A
		{"long-tank", "channels[0].driver", "buck-700ma", 0, nil},
		{"rain-wall", "channels[1].driver", "linear-350ma", 0, []string{
			"supply-12v-60w added for channel evening alone",
			"channel evening: current 360 mA → 350 mA, range of linear-350ma",
			"time-lag fuse of 500 mA at the output of supply-12v-60w",
		}},
	} {
		p := lamptest.Example(t, tt.demo)
		c, err := NewChooser(t.Context(), p, solver(), nil)
		if err != nil {
			t.Fatal(err)
		}
		got, err := c.Choose(t.Context(), []source.Setting{set(tt.path, tt.text)})
		if err != nil {
			t.Fatal(err)
		}
		stops := 0
		for _, f := range got.Brings {
			if f.Severity == finding.Stop {
				stops++
			}
		}
		var brings []string
		for _, m := range got.Companions {
			brings = append(brings, m.Words)
		}
		if stops != tt.stops || !slices.Equal(brings, tt.brings) {
			t.Errorf("%s with %s: %d new stops, want %d; brings\n%s\nwant\n%s", tt.demo, tt.text, stops, tt.stops,
				strings.Join(brings, "\n"), strings.Join(tt.brings, "\n"))
		}
		q, err := with(p, got.Sets)
		if err != nil {
			t.Fatal(err)
		}
		s, err := c.x.evaluate(t.Context(), q, c.exact)
		if err != nil || s.findings != got.After || c.Now().After != got.Before {
			t.Errorf("%s with %s: %v, stated %+v", tt.demo, tt.text, err, got.After)
		}
	}
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
