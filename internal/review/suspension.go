package review

import (
	"fmt"
	"math"
	"slices"

	"lampwright/internal/finding"
	"lampwright/internal/mount"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// Limits of a suspension; rules of thumb (no source). Standards are of the same order: backup devices 6 times the
// static
// load, luminaires 4 times their mass for an hour (IEC60598-1, cited from memory).
const (
	lineSafety      = 5
	steepRad        = 45 * math.Pi / 180
	lightLampKg     = 1 // below it, parts without a stated mass do not matter
	usualStiffnessN = 25e3
)

const suspensionWhy = "A lamp that falls into water can kill, and burns or cuts whoever is under it."

// suspension judges what holds the lamp up.
func (v *reviewer) suspension() []Judgement {
	s := v.d.Suspension
	if s == nil {
		return []Judgement{v.suspensionAsk("Suspension of the lamp not stated", v.d.Installation.Hanging.At,
			"Add `suspension`: method, lines with place, anchor and breaking load")}
	}
	if s.Method.S != project.HangLines {
		return nil
	}
	if len(s.Lines) == 0 {
		return []Judgement{v.suspensionAsk("Lines of the suspension not stated", s.Method.At,
			"Add `lines` with place, anchor and breaking load")}
	}
	out := v.suspensionData(s)
	out = append(out, v.breakingLoads(s)...)
	out = append(out, v.lineAngle(s))
	out = append(out, v.singleSuspension(s)...)
	out = append(out, v.oneLineFails(s)...)
	return append(out, v.anchorBase(s)...)
}

func (v *reviewer) suspensionAsk(title string, at source.Pos, fixes ...string) Judgement {
	return Judgement{
		Severity: finding.Ask, Subject: Subject{Kind: "suspension"}, At: at,
		text: func(v *reviewer, _ *Judgement) Text {
			t := Text{Title: title, Why: suspensionWhy, Fix: fixes}
			if kg, _ := v.l.HangingMass(); kg > 0 {
				t.fixf("Each line: breaking load ≥ %s for %s", roundUp(v.requiredN(2), 10, quantity.Force),
					quantity.Format(kg, quantity.Mass))
			}
			return t
		},
	}
}

// requiredN returns the breaking load that a line needs: a safety factor on the weight, times the factor of its sudden
// load [N].
func (v *reviewer) requiredN(sudden float64) float64 {
	kg, _ := v.l.HangingMass()
	return lineSafety * sudden * mount.LineForce(kg, 1, 0)
}

// suspensionData asks for what is missing, in one finding.
func (v *reviewer) suspensionData(s *project.Suspension) []Judgement {
	var what, add []string
	ask := func(missing bool, name, key string) {
		if missing {
			what, add = append(what, name), append(add, key)
		}
	}
	kg, missing := v.l.HangingMass()
	ask(kg == 0, "mass of heat sink "+v.l.Sink.ID.S, "`mass` of the sink, or `suspension.mass` as weighed")
	ask(kg >= lightLampKg && len(missing) > 0, "mass of "+list(missing),
		"`mass` of the parts, or `suspension.mass` as weighed")
	ask(slices.ContainsFunc(s.Lines, func(l project.SuspensionLine) bool { return !l.BreakingLoad.Set }),
		"breaking load",
		"`breaking_load` of each line")
	ask(slices.ContainsFunc(s.Lines, func(l project.SuspensionLine) bool { return !l.Anchor.Set }) && len(s.Lines) > 1,
		"anchors", "`anchor` of each line")
	if len(what) == 0 {
		return nil
	}
	return []Judgement{v.suspensionAsk("Suspension not stated completely: "+list(what), s.Method.At, "Add "+list(add))}
}

// suddenFactor returns the factor of the load that a line takes up when another fails, and whether its slack is stated.
func suddenFactor(line *project.SuspensionLine, kg float64) (factor float64, stated bool) {
	stiffness := usualStiffnessN
	if line.Stiffness.Set {
		stiffness = line.Stiffness.SI
	}
	return mount.SuddenFactor(line.Slack.Hi, stiffness, kg), line.Slack.Set
}

// breakingLoads compares the line that has the least in reserve with the sudden load of the whole lamp, five times.
func (v *reviewer) breakingLoads(s *project.Suspension) []Judgement {
	kg, missing := v.l.HangingMass()
	weakest, least := -1, math.Inf(1)
	for i := range s.Lines {
		line := &s.Lines[i]
		f, _ := suddenFactor(line, kg)
		if ratio := line.BreakingLoad.Lo / v.requiredN(f); line.BreakingLoad.Set && ratio < least {
			weakest, least = i, ratio
		}
	}
	if weakest < 0 || kg == 0 {
		return nil
	}
	line := &s.Lines[weakest]
	factor, stated := suddenFactor(line, kg)
	j := compare(finding.Warn, Judgement{
		Subject: Subject{Kind: "suspension"}, At: line.BreakingLoad.At, Bound: AtLeast, Dim: quantity.Force,
		Value: line.BreakingLoad.SI, P90: line.BreakingLoad.Lo, Limit: v.requiredN(factor),
		text: breakingText(kg, factor, stated),
	})
	switch {
	case line.BreakingLoad.SI < j.Limit/lineSafety:
		j.Severity = finding.Stop
	case j.Severity == finding.Pass && (!stated && len(s.Lines) > 1 || len(missing) > 0):
		j.Severity = finding.Note // a default is no pass
	}
	return []Judgement{j}
}

func breakingText(kg, factor float64, stated bool) func(*reviewer, *Judgement) Text {
	return func(_ *reviewer, j *Judgement) Text {
		t := Text{
			Title: j.title(claim{
				quantity: "Breaking load of a line", limit: "required load",
				of: quantity.Format(kg, quantity.Mass),
			}),
			Why: fmt.Sprintf("When a line fails, the force in another rises suddenly to %.3g times the weight; safety "+
				"factor 5 "+
				"(rule of thumb, no source).", factor),
		}
		if !stated {
			t.Why += " Slack not stated, assumed taut."
		}
		if j.Severity == finding.Stop {
			t.Title += "; below the sudden load " + format(j.Limit/lineSafety, j.Dim)
		}
		if j.Severity <= finding.Warn {
			t.fixf("Use lines, grippers and anchors rated ≥ %s", roundUp(j.Limit, 10, quantity.Force))
			if factor > 2.01 {
				t.fix("Make the safety line taut: without slack the factor is 2")
			}
		}
		return t
	}
}

// lineAngle compares the steepest line with the angle beyond which its force grows fast.
func (v *reviewer) lineAngle(s *project.Suspension) Judgement {
	steepest := &s.Lines[0]
	for i := range s.Lines {
		if s.Lines[i].Angle.SI > steepest.Angle.SI {
			steepest = &s.Lines[i]
		}
	}
	at := steepest.At.At
	if steepest.Angle.Set {
		at = steepest.Angle.At
	}
	return compare(finding.Warn, Judgement{
		Subject: Subject{Kind: "suspension"}, At: at, Bound: AtMost, Dim: quantity.Angle, Value: steepest.Angle.SI,
		P90: steepest.Angle.Hi, Limit: steepRad,
		text: func(_ *reviewer, j *Judgement) Text {
			t := Text{
				Title: j.title(claim{quantity: "Angle of a line from vertical", limit: "usual maximum"}),
				Why: fmt.Sprintf("Its force is %.2f times that of a vertical line (45° is a rule of thumb, no source).",
					1/math.Cos(j.Value)),
			}
			if j.Severity != finding.Pass {
				t.fix("Set anchors ≤ 45° from vertical")
			}
			return t
		},
	})
}

// singleSuspension looks for a lamp that one line, or one anchor, holds.
func (v *reviewer) singleSuspension(s *project.Suspension) []Judgement {
	anchors := map[string]bool{}
	for i := range s.Lines {
		if s.Lines[i].Anchor.Set {
			anchors[s.Lines[i].Anchor.S] = true
		} else {
			anchors[fmt.Sprintf("line %d", i)] = true
		}
	}
	if len(anchors) > 1 {
		return nil
	}
	what := "One anchor holds all lines"
	if len(s.Lines) == 1 {
		what = "One line holds the lamp"
	}
	where := "under which people reach"
	if v.aboveWater() {
		where = "above water"
	}
	return []Judgement{{
		Severity: finding.Warn, Subject: Subject{Kind: "suspension"}, At: s.Lines[0].At.At,
		text: func(v *reviewer, _ *Judgement) Text {
			t := Text{Title: what + " " + where, Why: suspensionWhy}
			t.fix("Add a second, taut suspension to its own anchor")
			return t
		},
	}}
}

// oneLineFails looks at what happens when any one line fails: the lamp stays level, or swings down about the others.
func (v *reviewer) oneLineFails(s *project.Suspension) []Judgement {
	lines, centre := v.l.SuspensionLines(), v.l.CentreOfMass()
	if len(lines) < 2 {
		return nil
	}
	reach := 0.0
	for i := range lines {
		rest := slices.Delete(slices.Clone(lines), i, i+1)
		if mount.Level(rest, centre) {
			continue
		}
		for _, line := range rest {
			reach = math.Max(reach, v.l.Reach(line))
		}
	}
	if reach == 0 {
		return []Judgement{{
			Severity: finding.Pass, Subject: Subject{Kind: "suspension"}, At: s.Method.At,
			text: func(*reviewer, *Judgement) Text {
				return Text{Title: "The lamp stays level when any one line fails", Why: suspensionWhy}
			},
		}}
	}
	height := v.d.Installation.Hanging
	return []Judgement{compare(finding.Warn, Judgement{
		Subject: Subject{Kind: "suspension"}, At: s.Method.At, Bound: AtMost, Dim: quantity.Length, Value: reach, P90: reach,
		Limit: height.Lo,
		text: func(v *reviewer, j *Judgement) Text {
			t := Text{
				Title: j.title(claim{
					quantity: "Reach of the lamp", when: "hanging from one end", limit: "height above " +
						v.l.SurfaceName(),
				}),
				Why: "If the other line fails, the lamp swings down about this one.",
			}
			if j.Severity != finding.Pass {
				t.Why += fmt.Sprintf(" Its end reaches %s below.", quantity.Format(mount.Dip(j.Value, j.Limit),
					quantity.Length))
				t.fix("Use two independent suspensions, each to its own anchor, each holding both ends")
				t.fix("Fit a stop on the rim")
			}
			return t
		},
	})}
}

// anchorBase looks for anchors in plasterboard alone.
func (v *reviewer) anchorBase(s *project.Suspension) []Judgement {
	if s.Base.S != project.BasePlasterboard {
		return nil
	}
	return []Judgement{{
		Severity: finding.Warn, Subject: Subject{Kind: "suspension"}, At: s.Base.At,
		text: func(v *reviewer, _ *Judgement) Text {
			return Text{
				Title: "Anchors in plasterboard alone", Why: "Plasterboard creeps and fails without warning.",
				Fix: []string{
					"Anchor in the joist, beam or concrete behind it",
					"Use anchors rated by their manufacturer for that ceiling; ask a specialist",
				},
			}
		},
	}}
}
