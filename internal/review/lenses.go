package review

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"lampwright/internal/finding"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// maxLensLoss is the lens loss above which a lens costs too much light: rule of thumb (no source).
const maxLensLoss = 0.12

// lensFit looks for lenses on packages they are not made for. Packages that a lens fits are one finding.
func (v *reviewer) lensFit() (out []Judgement) {
	seen := map[[2]string]bool{}
	for i := range v.l.Emitters {
		e := &v.l.Emitters[i]
		lens, part := v.l.Optics[e.Optic].Lens, v.l.Types[e.Type].Part
		if lens == nil || seen[[2]string{lens.ID.S, part.ID.S}] {
			continue
		}
		seen[[2]string{lens.ID.S, part.ID.S}] = true
		j := Judgement{
			Severity: finding.Pass, Subject: Subject{"lens", []string{lens.ID.S}}, At: e.Use.Lens.At,
			group: [2]string{lens.ID.S, part.Package.S}, text: lensFitText(lens, part),
		}
		if !lens.MadeFor(part.Package.S) {
			j.Severity, j.group = finding.Stop, nil
		}
		out = append(out, j)
	}
	return out
}

func lensFitText(lens *project.Lens, part *project.Emitter) func(*reviewer, *Judgement) Text {
	return func(v *reviewer, j *Judgement) Text {
		t := Text{Why: "A lens on another package loses light and casts rings, or has no seat."}
		if j.Severity == finding.Pass {
			t.Title = fmt.Sprintf("Lens %s fits package %s", lens.ID.S, part.Package.S)
			return t
		}
		var packages []string
		for _, f := range lens.Fits {
			packages = append(packages, f.S)
		}
		t.Title = fmt.Sprintf("Lens %s does not fit package %s (%s); made for %s", lens.ID.S, part.Package.S,
			part.ID.S, list(packages))
		if other := v.lensFor(part.Package.S, lens.Beam.SI); other != "" {
			t.fixf("Use %s (made for %s)", other, part.Package.S)
		} else {
			t.fixf("Use a lens made for package %s", part.Package.S)
		}
		return t
	}
}

// lensFor returns the lens of the parts library for a package whose beam angle is nearest to a given one.
func (v *reviewer) lensFor(pack string, beamRad float64) string {
	best, at := "", math.Inf(1)
	for _, id := range v.l.Project.Library.Lenses.IDs() {
		lens := v.l.Project.Library.Lenses.Get(id)
		d := math.Abs(math.Log(lens.Beam.SI / beamRad))
		if lens.MadeFor(pack) && d < at && lens.Efficiency.SI > 1-maxLensLoss {
			best, at = id, d
		}
	}
	return best
}

// inconsistent reports whether a note says that the data of a lens contradict each other.
func inconsistent(note string) bool {
	return strings.Contains(note, "do not fit together") || strings.Contains(note, "inconsistent")
}

// lensData reports what the luminous intensity distribution of each lens was made from.
func (v *reviewer) lensData() (out []Judgement) {
	for i := range v.l.Optics {
		o := &v.l.Optics[i]
		if o.Lens == nil {
			continue
		}
		for _, n := range o.Notes {
			j := Judgement{
				Severity: finding.Note, Subject: Subject{"lens", []string{o.Lens.ID.S}}, At: o.Lens.ID.At,
				text: func(_ *reviewer, j *Judgement) Text {
					t := Text{
						Title: fmt.Sprintf("Lens data of %s: %s", j.Subject.Names[0], n),
						Why:   "Beam angle, field angle, intensity and efficiency of one lens depend on each other.",
					}
					if j.Severity == finding.Warn {
						t.fix("Ask the manufacturer which package was measured")
						t.fix("Check beam angle, field angle, cd/lm and efficiency against the datasheet")
					}
					return t
				},
			}
			if inconsistent(n) {
				j.Severity = finding.Warn
			}
			out = append(out, j)
		}
	}
	return out
}

// lensLoss compares the loss of each lens with what is usual.
func (v *reviewer) lensLoss() (out []Judgement) {
	for i := range v.l.Optics {
		o := &v.l.Optics[i]
		if o.Lens == nil || o.EfficiencyFrom == "" && v.l.LearnedFrom(o.Param) == "" {
			continue // not-stated asks for it
		}
		loss := 1 - v.r.Base[o.Param]
		j := Judgement{
			Subject: Subject{"lens", []string{o.Lens.ID.S}}, At: v.lensAt(i), Bound: AtMost, Dim: quantity.Ratio,
			Value: loss, P90: loss, Limit: maxLensLoss,
			text: func(v *reviewer, j *Judgement) Text {
				t := Text{
					Title: j.title(claim{quantity: "Lens loss", limit: "usual maximum", of: o.Lens.ID.S}),
					Why:   "Lost light costs current and heat. 12 % is a rule of thumb (no source).",
				}
				if j.Severity != finding.Pass {
					v.betterLens(&t, i)
				}
				return t
			},
		}
		out = append(out, compare(finding.Warn, j))
	}
	return out
}

func (v *reviewer) lensAt(optic int) (at source.Pos) {
	for i := range v.l.Emitters {
		if v.l.Emitters[i].Optic == optic {
			return v.l.Emitters[i].Use.Lens.At
		}
	}
	return at
}

// betterLens adds a lens of about the same beam angle with less loss.
func (v *reviewer) betterLens(t *Text, optic int) {
	o := &v.l.Optics[optic]
	best, gain := "", 1.0
	for _, id := range v.l.Project.Library.Lenses.IDs() {
		lens := v.l.Project.Library.Lenses.Get(id)
		if math.Abs(lens.Beam.SI/o.BeamRad-1) > 0.2 || !sharePackage(lens.Fits, o.Lens.Fits) {
			continue
		}
		if g := lens.Efficiency.SI / v.r.Base[o.Param]; g > gain {
			best, gain = id, g
		}
	}
	if best == "" {
		t.fixf("Use a lens of the same beam angle with loss ≤ %s", quantity.Format(maxLensLoss, quantity.Ratio))
		return
	}
	var sets []source.Setting
	for i := range v.l.Emitters {
		e := &v.l.Emitters[i]
		path := e.Use.Lens.At.Path
		if e.Optic == optic && !slices.ContainsFunc(sets, func(s source.Setting) bool { return s.Path == path }) {
			sets = append(sets, source.Setting{Path: path, Text: best})
		}
	}
	t.edit("use lens "+best, sets...)
	t.fixf("Use %s: about the same beam angle, %.3f × light", best, gain)
}

func sharePackage(a, b []source.Text) bool {
	for _, x := range a {
		for _, y := range b {
			if x.S == y.S {
				return true
			}
		}
	}
	return false
}
