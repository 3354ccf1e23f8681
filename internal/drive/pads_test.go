package drive

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func positions(v float64, ties ...PadPotential) []PadPosition {
	var out []PadPosition
	for i, tie := range ties {
		out = append(out, PadPosition{Name: string(rune('a' + i)), VoltageV: v, Potential: tie})
	}
	return out
}

func TestPadGroups(t *testing.T) {
	core := Mounting{Path: PathCore}
	for _, tt := range []struct {
		name     string
		mounting Mounting
		strings  []PadString
		groups   int
		conflict bool
		spread   float64
		worst    float64
		live     float64
		shorted  []string
		bridges  int
		unknown  int
	}{
		{
			name: "a dielectric keeps pads apart", mounting: Mounting{Path: PathDielectric},
			strings: []PadString{{Name: "s", Positions: positions(3, PadAnode, PadAnode)}},
		},
		{
			name: "isolated pads may share a core", mounting: core,
			strings: []PadString{{Name: "s", Positions: positions(3, PadIsolated, PadIsolated)}},
		},
		{
			name: "two cathodes in a row short the lower package", mounting: core,
			strings: []PadString{{Name: "s", Positions: positions(3, PadCathode, PadCathode)}},
			groups:  1, conflict: true, spread: 3, worst: 3, live: 3, shorted: []string{"s: b"},
		},
		{
			name: "four anodes short three packages", mounting: core,
			strings: []PadString{{Name: "s", Positions: positions(3, PadAnode, PadAnode, PadAnode, PadAnode)}},
			groups:  1, conflict: true, spread: 9, worst: 9, live: 12, shorted: []string{"s: a", "s: b", "s: c"},
		},
		{
			name: "cathode of one is anode of the next", mounting: core,
			strings: []PadString{{Name: "s", Positions: positions(3, PadCathode, PadAnode)}},
			groups:  1, live: 3,
		},
		{
			name: "one tied pad makes the core live", mounting: core,
			strings: []PadString{{Name: "s", Positions: positions(3, PadAnode, PadIsolated)}},
			groups:  1, live: 6,
		},
		{
			name: "vias with paste join through the sink", mounting: Mounting{Path: PathVias, SeparateBack: true},
			strings: []PadString{{Name: "s", Positions: positions(3, PadCathode, PadCathode)}},
			groups:  1, conflict: true, spread: 3, worst: 3, live: 3, shorted: []string{"s: b"},
		},
		{
			name: "one back copper joins over an insulating pad too", mounting: Mounting{Path: PathVias, InsulatingSink: true},
			strings: []PadString{{Name: "s", Positions: positions(3, PadCathode, PadCathode)}},
			groups:  1, conflict: true, spread: 3, worst: 3, live: 3, shorted: []string{"s: b"},
		},
		{
			name: "islands over an insulating pad stay apart", mounting: Mounting{Path: PathVias, SeparateBack: true, InsulatingSink: true},
			strings: []PadString{{Name: "s", Positions: positions(3, PadCathode, PadCathode)}},
		},
		{
			name: "negative ends of one reference are one node", mounting: core,
			strings: []PadString{
				{Name: "r", Output: "1", Reference: "supply", Positions: positions(2, PadCathode)},
				{Name: "w", Output: "2", Reference: "supply", Positions: positions(3, PadIsolated, PadCathode)},
			},
			groups: 1,
		},
		{
			name: "parallel strings share both ends", mounting: core,
			strings: []PadString{
				{Name: "1", Output: "w", Positions: positions(3, PadAnode, PadIsolated)},
				{Name: "2", Output: "w", Positions: positions(3, PadAnode, PadIsolated)},
			},
			groups: 1, live: 6,
		},
		{
			name: "alike voltages between parallel strings are still two nodes", mounting: core,
			strings: []PadString{
				{Name: "1", Output: "w", Positions: positions(3, PadCathode, PadIsolated)},
				{Name: "2", Output: "w", Positions: positions(3, PadCathode, PadIsolated)},
			},
			groups: 1, conflict: true, live: 3,
		},
		{
			name: "switching below the string contains the positive end", mounting: core,
			strings: []PadString{
				{Name: "1", Output: "a", Reference: "24 V", PositiveFixed: true, EndV: 24, Positions: positions(3, PadAnode, PadIsolated)},
				{Name: "2", Output: "b", Reference: "24 V", PositiveFixed: true, EndV: 24, Positions: positions(2, PadIsolated, PadCathode)},
			},
			groups: 1, conflict: true, spread: 4, worst: 4, live: 24, shorted: []string{"2: a", "2: b"},
		},
		{
			name: "floating outputs are bridged, not shorted", mounting: core,
			strings: []PadString{
				{Name: "1", Output: "a", Positions: positions(3, PadAnode, PadIsolated)},
				{Name: "2", Output: "b", Positions: positions(2, PadIsolated, PadCathode)},
			},
			groups: 1, live: 6, bridges: 2,
		},
		{
			name: "a node between dies", mounting: core,
			strings: []PadString{{Name: "s", Positions: []PadPosition{
				{Name: "a", VoltageV: 12, Potential: PadChainNode, NodeShare: 0.5},
				{Name: "b", VoltageV: 12, Potential: PadChainNode, NodeShare: 0.5},
				{Name: "c", VoltageV: 12, Potential: PadIsolated},
			}}},
			groups: 1, conflict: true, spread: 12, worst: 12, live: 30, shorted: []string{"s: a", "s: b"},
		},
		{
			name: "silence is asked about", mounting: core,
			strings: []PadString{{Name: "s", Positions: positions(3, PadUnknown, PadIsolated, PadUnknown)}},
			groups:  1, worst: 9, unknown: 2,
		},
		{
			name: "one silent package alone can only be live", mounting: core,
			strings: []PadString{{Name: "s", Positions: positions(3, PadUnknown, PadIsolated)}},
			groups:  1, unknown: 1,
		},
	} {
		t.Run(tt.name, func(t *testing.T) {
			groups := must[[]PadGroup](t)(PadGroups(tt.mounting, tt.strings))
			if len(groups) != tt.groups {
				t.Fatalf("%d groups, want %d: %+v", len(groups), tt.groups, groups)
			}
			if tt.groups == 0 {
				return
			}
			g := groups[0]
			if g.Conflict != tt.conflict || math.Abs(g.SpreadV-tt.spread) > 1e-12 || math.Abs(g.MaxSpreadV-tt.worst) > 1e-12 ||
				math.Abs(g.LiveV-tt.live) > 1e-12 || !slices.Equal(g.Shorted, tt.shorted) || len(g.Bridges) != tt.bridges || len(g.Unknown) != tt.unknown {
				t.Errorf("got %+v, want conflict %v, spread %g, worst %g, live %g, shorted %v, %d bridges, %d unknown",
					g, tt.conflict, tt.spread, tt.worst, tt.live, tt.shorted, tt.bridges, tt.unknown)
			}
			if len(g.Notes) == 0 {
				t.Error("nothing is said")
			}
		})
	}
	if _, err := PadGroups(Mounting{}, nil); err == nil {
		t.Error("an unstated path gave no error")
	}
	bad := []PadString{{Positions: []PadPosition{{VoltageV: 3, Potential: PadChainNode}}}}
	if _, err := PadGroups(core, bad); err == nil {
		t.Error("a chain node at the package's end gave no error")
	}
}

func TestPadGroupsDoNotDependOnTheZero(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ties := rapid.SliceOfN(rapid.SampledFrom([]PadPotential{PadUnknown, PadIsolated, PadAnode, PadCathode}), 1, 8).Draw(t, "ties")
		s := PadString{Name: "s", Positions: positions(3, ties...)}
		a, err := PadGroups(Mounting{Path: PathCore}, []PadString{s})
		if err != nil {
			t.Fatal(err)
		}
		s.EndV = rapid.Float64Range(-50, 50).Draw(t, "zero")
		b, err := PadGroups(Mounting{Path: PathCore}, []PadString{s})
		if err != nil {
			t.Fatal(err)
		}
		if len(a) != len(b) {
			t.Fatalf("%d and %d groups", len(a), len(b))
		}
		if len(a) == 0 {
			return
		}
		if a[0].Conflict != b[0].Conflict || math.Abs(a[0].SpreadV-b[0].SpreadV) > 1e-9 || !slices.Equal(a[0].Shorted, b[0].Shorted) {
			t.Fatalf("%+v and %+v", a[0], b[0])
		}
		// In one string of alike packages a conflict is a voltage, and shorts as many packages as the voltage spans.
		if a[0].Conflict != (a[0].SpreadV > 0) || len(a[0].Shorted) != int(math.Round(a[0].SpreadV/3)) || a[0].MaxSpreadV < a[0].SpreadV {
			t.Fatalf("%+v", a[0])
		}
	})
}

func TestInsulationStressV(t *testing.T) {
	compare(t, []check{
		{"one string", InsulationStressV([]PadString{{Positions: positions(3, PadIsolated, PadIsolated)}}, 0), 6, 0, "sum"},
		{"open circuit rules", InsulationStressV([]PadString{{Positions: positions(3, PadIsolated)}}, 42), 42, 0, "largest output"},
		{"hung from the supply", InsulationStressV([]PadString{{PositiveFixed: true, EndV: 24, Positions: positions(3, PadIsolated)}}, 0), 24, 0, "from the supply's return"},
		{"apart", InsulationStressV([]PadString{{Positions: positions(3, PadIsolated)}, {Positions: positions(2, PadIsolated)}}, 0), 3, 0, "floating outputs do not add"},
	})
}
