package web

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/lamptest"
	"lampwright/internal/project"
	"lampwright/internal/review"
	"lampwright/internal/source"
)

// chainWords writes a chain on lines: what is fed by what, its part, and the checks of its stops and warnings. first is
// the first finding of each part.
func chainWords(t *testing.T, p *project.Project) (lines []string, nodes []powerNode, first map[string]string) {
	t.Helper()
	r, err := figure.Evaluate(t.Context(), p, engine.Options{Samples: -1, Solver: lamptest.Remembered})
	if err != nil {
		t.Fatal(err)
	}
	findings := review.Review(t.Context(), r)
	nodes, first = powerOf(r, findings, channelViews(r)), map[string]string{}
	for _, n := range nodes {
		line := fmt.Sprintf("%s < %s: %s", n.ID, n.Parent, n.Title)
		for _, i := range n.Findings {
			if f := findings[i]; f.Severity <= 1 {
				line += " !" + f.Check
			}
		}
		if lines = append(lines, line); len(n.Findings) > 0 {
			first[n.ID] = findings[n.Findings[0]].Check
		}
	}
	return lines, nodes, first
}

// TestPowerChain: each part is fed by the one before it, and has the findings that concern it.
func TestPowerChain(t *testing.T) {
	p := lamptest.Example(t, "long-tank-first")
	lines, nodes, first := chainWords(t, p)
	want := []string{
		"mains < : Mains !ip-code", "switch < mains: Switch: timer !inrush-switch",
		"supplies[0] < switch: 12 V, 60 W !fault-current", "supplies[0].fuse < supplies[0]: No fuse",
		"supplies[0].wire < supplies[0].fuse: awg20, 1.2 m",
		"channels[0].driver < supplies[0].fuse: Buck, large, to 3 A !driver-headroom !driver-input !driver-current",
		"channels[0].wire < channels[0].driver: awg24, 1.5 m", "channels[0] < channels[0].driver: cool",
	}
	for i, w := range want {
		if i >= len(lines) || lines[i] != w {
			t.Errorf("line %d is %q, want %q", i, lines[min(i, len(lines)-1)], w)
		}
	}
	if last := lines[len(lines)-1]; last != "fan < supplies[0].fuse: 92 mm, 1600 rpm !fan-speed" {
		t.Error(last)
	}
	i := slices.IndexFunc(nodes, func(n powerNode) bool { return n.ID == "channels[2]" })
	if n := nodes[i]; n.Part != "2 in series" || len(n.Facts) != 3 || n.Facts[0].Figure != "cyan.voltage" ||
		!strings.HasPrefix(n.Facts[0].Text, "6.2") {
		t.Errorf("%+v", n)
	}
	if n := nodes[2]; n.Facts[0].Text != "41.3 W of 60 W" ||
		n.Slot != "supplies[0].part" || n.Part != "supply-12v-60w" {
		t.Errorf("%+v", n)
	}
	if n := nodes[5]; n.Facts[0].Text != "790 mA of 3 A" { // of all strings
		t.Errorf("%+v", n)
	}
	// A note does not come before what is drawn of a part.
	if first["channels[2].driver"] != "driver-headroom" || first["channels[0]"] != "die-current" {
		t.Errorf("%v", first)
	}
	// A channel with a fuse of its own is behind it; a mains driver hangs on the switch.
	f := p.File
	for _, s := range []source.Setting{
		{Path: "channels[0].fuse", Text: "{rated_current: 1 A, rated_voltage_dc: 63 V, standard: IEC 60127}"},
		{Path: "channels[1].driver", Text: "ac-700ma"},
		{Path: "mains.switch", Text: "{kind: none}"},
	} {
		var err error
		if f, err = f.Put(s.Path, s.Text); err != nil {
			t.Fatal(err)
		}
	}
	q, problems := project.Of(f, p.Library, nil)
	if q == nil {
		t.Fatal(problems)
	}
	lines, nodes, _ = chainWords(t, q)
	text := strings.Join(lines, "\n")
	for _, want := range []string{
		"switch < mains: Not switched", "channels[0].fuse < supplies[0].fuse: Fuse 1 A",
		"channels[0].driver < channels[0].fuse",
		"channels[1].driver < switch:",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
	// Once an item is taken away the others keep the paths of the file.
	keepPowerPaths(nodes, removals{"channels": {0}})
	if n := nodes[len(nodes)-2]; n.ID != "channels[4]" || n.Parent != "channels[4].driver" {
		t.Errorf("%+v", n)
	}
}
