package review

import (
	"fmt"
	"math"
	"strings"

	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// clash is one way in which a lens has no space.
type clash struct {
	who    string // "white 1" or "white 1 and white 2"
	lens   string // of whose lens
	other  string // the emitter under it
	at     source.Pos
	gapM   float64 // spacing of two lenses
	needM  float64 // and the spacing that they need
	hole   string  // the hole under it
	excess float64 // by how much it is too near or too far out [m]
}

// clashKind is a kind of clash, in words.
type clashKind struct {
	severity finding.Severity
	one      func(c *clash) string // title of one
	many     string                // "lens pairs overlap"
	why      string
	fix      func(c *clash) string
}

const seatWhy = "The lens has no seat, or no clearance to screw it down."

func moveFix(c *clash) string {
	return "Move one by " + quantity.Format(math.Ceil(c.excess*1e4-1e-6)/1e4, quantity.Length)
}

// The kinds of clashes.
var (
	lensesOverlap = clashKind{
		finding.Stop,
		func(c *clash) string {
			gap, need := formatApart(c.gapM, c.needM, quantity.Length)
			return fmt.Sprintf("Lenses %s overlap: spacing %s, required %s", c.who, gap, need)
		},
		"lens pairs overlap", seatWhy, moveFix,
	}
	lensOnEmitter = clashKind{
		finding.Stop,
		func(c *clash) string { return fmt.Sprintf("Lens of %s covers emitter %s", c.lens, c.other) },
		"lenses cover emitters", seatWhy, moveFix,
	}
	lensOverHole = clashKind{
		finding.Warn,
		func(c *clash) string { return fmt.Sprintf("Lens of %s covers %s", c.who, c.hole) },
		"lenses cover holes", seatWhy,
		func(*clash) string { return "Move the hole or the emitter" },
	}
	lensOverEdge = clashKind{
		finding.Warn,
		func(c *clash) string {
			return fmt.Sprintf("Lens of %s extends %s beyond the board", c.who, quantity.Format(c.excess,
				quantity.Length))
		},
		"lenses extend beyond the board", seatWhy,
		func(c *clash) string {
			return "Move it inward by " + quantity.Format(math.Ceil(c.excess*1e4-1e-6)/1e4, quantity.Length)
		},
	}
)

// clashes are all clashes of a lamp by kind.
type clashes struct{ lenses, emitters, holes, edge []clash }

func (v *reviewer) clashes() (out clashes) {
	for i := range v.r.Emitters {
		a := &v.r.Emitters[i]
		at := v.l.Emitters[i].Point.At
		if a.LensM == 0 {
			continue
		}
		if h, over := v.d.Board.HoleUnder(a.XM, a.YM, a.LensM/2); over {
			out.holes = append(out.holes, clash{who: a.Label, at: at, hole: project.HoleName(h)})
		}
		if over := v.beyondBoardM(a.XM, a.YM, a.LensM/2); over > 1e-9 {
			out.edge = append(out.edge, clash{who: a.Label, at: at, excess: over})
		}
		for j := range v.r.Emitters {
			b := &v.r.Emitters[j]
			gap, need := math.Hypot(a.XM-b.XM, a.YM-b.YM), (a.LensM+b.LensM)/2
			both := a.Label + " and " + b.Label
			if j < i && b.LensM > 0 && gap < need-1e-6 {
				out.lenses = append(out.lenses, clash{who: both, at: at, gapM: gap, needM: need, excess: need - gap})
			}
			if j != i && b.LensM == 0 && bodyDistanceM(a, b) < a.LensM/2-1e-6 {
				out.emitters = append(out.emitters, clash{
					who: both, lens: a.Label, other: b.Label, at: at, excess: a.LensM/2 - bodyDistanceM(a, b),
				})
			}
		}
	}
	return out
}

// footprints looks for lenses that overlap each other, an emitter, a hole or the edge of the board. Each kind of
// clash is one finding, of the worst.
func (v *reviewer) footprints() (out []Judgement) {
	all := v.clashes()
	for _, k := range []struct {
		list []clash
		kind *clashKind
	}{
		{all.lenses, &lensesOverlap},
		{all.emitters, &lensOnEmitter},
		{all.holes, &lensOverHole},
		{all.edge, &lensOverEdge},
	} {
		if len(k.list) > 0 {
			out = append(out, clashJudgement(k.kind, k.list))
		}
	}
	if len(out) > 0 {
		return out
	}
	return []Judgement{{
		Severity: finding.Pass, Subject: Subject{Kind: "board"}, At: v.d.Board.Part.At,
		text: func(*reviewer, *Judgement) Text {
			return Text{Title: "All lenses have space on the board", Why: seatWhy}
		},
	}}
}

func clashJudgement(kind *clashKind, all []clash) Judgement {
	worst := &all[0]
	var who []string
	for i := range all {
		who = append(who, all[i].who)
		if all[i].excess > worst.excess+1e-9 {
			worst = &all[i]
		}
	}
	j := Judgement{Severity: kind.severity, Subject: Subject{"emitter", []string{worst.who}}, At: worst.at}
	if len(all) > 1 {
		j.Subject = Subject{Kind: "board"}
	}
	j.text = func(*reviewer, *Judgement) Text {
		t := Text{Title: kind.one(worst), Why: kind.why}
		if n := len(all); n > 1 {
			t.Title = fmt.Sprintf("%d %s; worst: %s", n, kind.many, kind.one(worst))
			t.Why += fmt.Sprintf(" All: %s.", strings.Join(who, "; "))
		}
		t.fix(kind.fix(worst))
		t.fix("Use smaller lenses or a larger board")
		return t
	}
	return j
}

// bodyDistanceM returns the distance of the body of b from the centre of a [m].
func bodyDistanceM(a, b *figure.EmitterView) float64 {
	dx := math.Max(0, math.Abs(a.XM-b.XM)-b.BodyLM/2)
	dy := math.Max(0, math.Abs(a.YM-b.YM)-b.BodyWM/2)
	return math.Hypot(dx, dy)
}

// beyondBoardM returns how far a disc extends beyond the outline, or into a corner of it [m]; 0 where it lies inside.
func (v *reviewer) beyondBoardM(x, y, r float64) float64 {
	if v.d.Board.HoldsDisc(x, y, r) {
		return 0
	}
	o := v.d.Board.Outline()
	if !o.Contains(x, y) {
		return r + o.RimDistanceM(x, y)
	}
	return r - o.RimDistanceM(x, y)
}
