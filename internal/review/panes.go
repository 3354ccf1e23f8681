package review

import (
	"fmt"
	"math"
	"sort"

	"lampwright/internal/finding"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// noticedPaneLoss is the fraction of the light at the target above which covered panes are a warning: a tenth is about
// what a lux meter shows for certain; rule of thumb (no source).
const noticedPaneLoss = 0.10

// panes asks for the condition of the glass, and reports what covered panes take.
func (v *reviewer) panes() []Judgement {
	var out []Judgement
	if left := v.l.UnstatedPanes(); len(left) > 0 {
		out = append(out, v.unstatedPanes(left))
	}
	f, ok := v.r.Figure("light.panes-ratio")
	if covered := v.l.CoveredPanes(); ok && len(covered) > 0 {
		j := Judgement{
			Severity: finding.Note, Subject: Subject{Kind: "panes"}, Figure: f.Key, At: v.paneAt(), Bound: AtLeast,
			Dim: quantity.Ratio, Value: f.Value, P90: f.Lo, Limit: 1 - noticedPaneLoss, text: coveredText(covered),
		}
		if f.Value < 1-noticedPaneLoss {
			j.Severity = finding.Warn
		}
		out = append(out, j)
	}
	return out
}

// paneAt returns the place of the first pane that the design states; that of the glass if there is none.
func (v *reviewer) paneAt() source.Pos {
	for _, p := range v.d.Installation.Panes.All() {
		if p != nil {
			return p.Condition.At
		}
	}
	return v.d.Installation.Glass.At
}

// unstatedPanes asks for the condition of some panes.
func (v *reviewer) unstatedPanes(names []string) Judgement {
	f, ok := v.r.Figure("light.via-glass")
	which := Subject{"pane", names}.String()
	if len(names) == len(project.PaneNames) {
		which = "the panes"
	}
	return Judgement{
		Severity: finding.Ask, Subject: Subject{"pane", names}, Figure: "light.via-glass", At: v.paneAt(),
		Dim: quantity.Ratio, Value: f.Value, P90: f.Hi,
		text: func(*reviewer, *Judgement) Text {
			t := Text{
				Title: "Condition of " + which + " not stated, assumed clean glass",
				Fix: []string{
					fmt.Sprintf("State it: `panes: {%s: {condition: clean}}`", names[0]),
					fmt.Sprintf("If it is painted: `%s: {condition: paint, reflectance: 4 %%}`; behind paper: "+
						"`{condition: paper, reflectance: 80 %%}`", names[0]),
				},
			}
			if ok {
				t.Value = f.Text()
				t.Why = fmt.Sprintf("%s of the light at the %s arrives by reflection at glass. Paint or film on the "+
					"glass ends its total reflection; paper behind air does not.", f.Text(), v.l.TargetName())
			}
			return t
		},
	}
}

// coveredText returns the text on covered panes.
func coveredText(covered []string) func(*reviewer, *Judgement) Text {
	return func(v *reviewer, j *Judgement) Text {
		t := Text{
			Title: fmt.Sprintf("Light at the %s %s of that with clean panes (%s)", v.l.TargetName(),
				format(j.Value, j.Dim), list(covered)),
			Value: format(j.Value, j.Dim),
			Why: "Paint and film in contact with the glass end its total reflection; a background covers it. " +
				"Paper behind a layer of air leaves total reflection.",
		}
		if j.Severity != finding.Pass && j.Value < 1 {
			t.fix("Use paper or board behind a layer of air in place of paint, film or a background")
			t.fix("Use a lighter colour")
		}
		return t
	}
}

// maintained compares the light at the end of the service life, before cleaning, with the requirements that it
// meets when new.
func (v *reviewer) maintained() []Judgement {
	for _, r := range []struct {
		key, name string
		want      source.Value
		dim       quantity.Dim
	}{
		{"target.ppfd", "Mean PPFD", v.d.Requirements.PPFD, quantity.PPFD},
		{"target.dli", "DLI", v.d.Requirements.DLI, quantity.DLI},
	} {
		f, ok := v.r.Figure(r.key)
		need := r.want.SI
		if r.want.Lo != r.want.Hi {
			need = r.want.Lo
		}
		if !ok || !r.want.Set || f.Value < need {
			continue
		}
		years, _ := v.l.ServiceYears()
		ageS, missing := years*lamp.YearS, v.unstatedMaintenance()
		m := v.maintenanceAt(ageS)
		j := Judgement{
			Subject: Subject{Kind: "lamp"}, Figure: "light.maintenance-factor", At: r.want.At,
			Bound: AtLeast, Dim: r.dim, Value: f.Value * m.Factor(), P90: f.Lo * m.Factor(), Limit: need,
		}
		if len(missing) == 0 {
			j = compare(finding.Warn, j)
		} else {
			j.Severity = finding.Note
		}
		name, value := r.name, f.Value
		j.text = func(v *reviewer, j *Judgement) Text { return v.maintainedText(j, name, value, ageS, missing) }
		return []Judgement{j} // DLI follows PPFD
	}
	return nil
}

// unstatedMaintenance returns which keys are missing for the light at the end of the service life.
func (v *reviewer) unstatedMaintenance() (missing []missingKey) {
	if _, said := v.l.ServiceYears(); !said {
		missing = append(missing, missingKey{"service life", "`requirements`", "`service_life: 5 years`"})
	}
	if v.d.Installation.Maintenance == nil {
		missing = append(missing, missingKey{
			"maintenance", "`installation`",
			"`maintenance: {lens_cleaning: 3 months, glass_cleaning: weekly}`",
		})
	}
	return missing
}

// missingKey is a key that a design does not state: what it is, where it belongs, and an example.
type missingKey struct{ what, in, example string }

// maintainedText returns the text on the light after some years; new is the value when new.
func (v *reviewer) maintainedText(j *Judgement, name string, new, ageS float64, missing []missingKey) Text {
	m := v.maintenanceAt(ageS)
	t := Text{
		Title: j.title(claim{quantity: name, when: "after " + ageText(ageS), limit: "required"}),
		Value: format(j.Value, j.Dim),
		Why: fmt.Sprintf("Before cleaning the light is %.0f %% of that when new: emitters %.0f %%, "+
			"dirt on lenses %.0f %%, film on glass %.0f %%.", 100*m.Factor(), 100*m.Lumen, 100*m.Luminaire, 100*m.Surface),
	}
	if month := v.fallsShort(new, j.Limit, ageS); month >= 0 {
		t.Why += fmt.Sprintf(" It is below the requirement from month %d.", month)
	}
	var what []string
	for _, m := range missing {
		what = append(what, m.what)
		t.fixf("Add %s to %s", m.example, m.in)
	}
	if len(what) > 0 {
		t.Title = capital(list(what)) + " not stated, assumed: " + t.Title
	}
	if j.exceeded() {
		t.fixf("Plan for %s when new", format(j.Limit/m.Factor(), j.Dim))
		t.fix("Clean lenses and panes more often (`lens_cleaning`, `glass_cleaning`)")
	}
	return t
}

// fallsShort returns the month in which a value that is met when new is below a limit for the first time, before
// cleaning; −1 if it never is within the period.
func (v *reviewer) fallsShort(new, limit, periodS float64) int {
	const monthS = lamp.YearS / 12
	months := int(periodS / monthS * (1 + 1e-9))
	first := sort.Search(months, func(i int) bool {
		return new*v.maintenanceAt(float64(i+1)*monthS).Factor() < limit
	})
	if first == months {
		return -1
	}
	return first + 1
}

// maintenanceAt returns the light at an age [s], before cleaning, over that when new and clean.
func (v *reviewer) maintenanceAt(ageS float64) lamp.Maintenance {
	return v.r.Sys.MaintenanceAt(&v.r.Sol, ageS)
}

// ageText prints an age in years, or in months below two years.
func ageText(s float64) string {
	if years := s / lamp.YearS; years >= 2 {
		return fmt.Sprintf("%.3g years", years)
	}
	return fmt.Sprintf("%.0f months", math.Round(12*s/lamp.YearS))
}
