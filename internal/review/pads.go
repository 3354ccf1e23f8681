package review

import (
	"fmt"
	"strings"

	"lampwright/internal/drive"
	"lampwright/internal/engine"
	"lampwright/internal/finding"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

// mounting returns how thermal pads meet metal on this board.
func (v *reviewer) mounting() drive.Mounting {
	switch v.l.Stack.ThermalPath.S {
	case project.PathDirect:
		return drive.Mounting{Path: drive.PathCore}
	case project.PathVias:
		return drive.Mounting{Path: drive.PathVias}
	}
	return drive.Mounting{Path: drive.PathDielectric}
}

const padWhy = "A non-isolated thermal pad is tied to anode or cathode. Bare metal connects all such pads."

// padPotentials looks for thermal pads of different potentials on one conductor.
func (v *reviewer) padPotentials() (out []Judgement) {
	groups, err := drive.PadGroups(v.mounting(), engine.PadStrings(v.l, &v.r.Sol))
	if err != nil {
		panic("review: " + err.Error())
	}
	base := Judgement{Subject: Subject{"board", []string{v.l.Stack.ID.S}}, At: v.d.Board.Part.At}
	for i := range groups {
		g := &groups[i]
		j := base
		j.Dim, j.text = quantity.Voltage, padText(g)
		switch {
		case g.Conflict:
			j.Severity = finding.Stop
			j.Bound, j.Value, j.P90 = AtMost, g.SpreadV, g.SpreadV // the limit is 0 V
		case len(g.Bridges) > 1:
			j.Severity = finding.Warn
		case len(g.Unknown) > 0:
			j.Severity = finding.Ask
		default:
			j.Severity = finding.Warn
		}
		out = append(out, j)
		if g.Conflict && len(g.Unknown) > 0 {
			ask := base
			ask.Severity, ask.text = finding.Ask, padUnknownText(g)
			out = append(out, ask)
		}
	}
	if len(groups) > 0 {
		return out
	}
	base.Severity = finding.Pass
	base.text = func(v *reviewer, _ *Judgement) Text {
		how := "dielectric under each pad"
		if joined, _ := v.mounting().Joined(); joined {
			how = "every pad is isolated inside its package"
		}
		return Text{Title: "No thermal pads of different potentials are connected: " + how, Why: padWhy}
	}
	return []Judgement{base}
}

func padText(g *drive.PadGroup) func(*reviewer, *Judgement) Text {
	return func(v *reviewer, j *Judgement) Text {
		if j.Severity == finding.Ask {
			return padUnknownText(g)(v, j)
		}
		var names []string
		for _, p := range g.Pads {
			names = append(names, p.Emitter)
		}
		t := Text{Why: padWhy}
		switch {
		case g.Conflict:
			spread := quantity.Format(g.SpreadV, quantity.Voltage)
			t.Limit = "0 V"
			t.Title = fmt.Sprintf("Thermal pads at different potentials (%s) share %s: %s", spread, g.Conductor,
				list(names))
			if len(g.Shorted) > 0 {
				t.Title += "; shorted: " + list(labels(g.Shorted))
			}
		case len(g.Bridges) > 1:
			t.Title = fmt.Sprintf("%s connects isolated outputs: %s", capital(strings.TrimPrefix(g.Conductor,
				"the ")), list(g.Bridges))
		default:
			live := quantity.Format(g.LiveV, quantity.Voltage)
			t.Title = fmt.Sprintf("%s is live at %s through the thermal pad of %s",
				capital(strings.TrimPrefix(g.Conductor, "the ")), live, list(names))
		}
		t.fix("Use a board with dielectric under the pads")
		t.fix("Use packages with isolated thermal pads")
		return t
	}
}

// labels returns the labels of emitters that are named as "string: label".
func labels(named []string) []string {
	out := make([]string, len(named))
	for i, n := range named {
		_, label, ok := strings.Cut(n, ": ")
		if out[i] = label; !ok {
			out[i] = n
		}
	}
	return out
}

func padUnknownText(g *drive.PadGroup) func(*reviewer, *Judgement) Text {
	return func(*reviewer, *Judgement) Text {
		t := Text{
			Title: fmt.Sprintf("Thermal pad potential not stated (%s); the pads share %s", list(labels(g.Unknown)),
				g.Conductor),
			Why: padWhy,
		}
		if g.MaxSpreadV == 0 { // one pad alone shorts nothing
			t.fixf("Ask the manufacturer; if not isolated, the pad makes %s live", g.Conductor)
		} else {
			t.fixf("Ask the manufacturer; worst case %s between pads", quantity.Format(g.MaxSpreadV,
				quantity.Voltage))
		}
		t.fix("Use a board with dielectric under the pads")
		return t
	}
}
