package cli

import (
	"fmt"
	"strings"

	"lampwright/internal/finding"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/search"
)

// plan prints the changes that clear what the review of a lamp finds; its status is 1 if there is a stop.
func (c *reviewCmd) plan(r *run, p *project.Project) error {
	o, err := r.options(c.Path, p)
	if err != nil {
		return err
	}
	progress := r.progress("changes of the design")
	plan, err := search.Find(r.ctx, p, o, progress)
	r.clearProgress()
	if err != nil {
		return err
	}
	if c.JSON {
		err = writeJSON(r, plan)
	} else {
		printPlan(r, plan, p.File.Name())
	}
	if err == nil && plan.Before.Stops > 0 {
		return errFound
	}
	return err
}

func printPlan(r *run, plan *search.Plan, file string) {
	if len(plan.Causes) == 0 {
		r.prose("", "Plan: no change found that clears a stop or a warning ("+countText(plan.Before)+")")
		return
	}
	r.println(r.paint(bold, fmt.Sprintf("Plan: stops %d → %d, warnings %d → %d", plan.Before.Stops,
		plan.After.Stops, plan.Before.Warnings, plan.After.Warnings)))
	for i, c := range plan.Causes {
		r.println("")
		r.prose(fmt.Sprintf("%d  ", i+1), c.Title)
		r.prose("   Change: ", c.Change)
		for _, s := range c.Sets {
			text := s.Text
			if text == "" {
				text = "(remove)"
			}
			r.prose("           ", fmt.Sprintf("%s: %s: %s", file, s.Path, text))
		}
		r.prose("   Clears: ", foundText(c.Clears))
		if len(c.Brings) > 0 {
			r.prose("   New:    ", foundText(c.Brings))
		}
		r.prose("   Price:  ", fmt.Sprintf("%s EUR; then %s", quantity.Signed(c.PriceEUR, 2), countText(c.After)))
	}
	r.println("")
	for _, f := range plan.Left {
		r.prose(labels[f.Severity].word+" not cleared: ", f.Check+", "+f.Subject)
	}
	r.prose("", "Each change is computed with the changes above it, from the parts library and the project's own "+
		"parts. Prices: parts cost only, without fuses and switches that state none. Check each part against its "+
		"datasheet.")
}

func countText(c search.Count) string {
	return severityCount(c.Stops, finding.Stop) + ", " + severityCount(c.Warnings, finding.Warn)
}

// foundText lists findings: "2 stops (driver-input: channel cool, channel neutral), 1 warning (cct: lamp)".
func foundText(list []search.Found) string {
	var parts []string
	for _, severity := range []finding.Severity{finding.Stop, finding.Warn} {
		n := 0
		var checks []string
		subjects := map[string][]string{}
		for _, f := range list {
			if f.Severity != severity {
				continue
			}
			if n++; len(subjects[f.Check]) == 0 {
				checks = append(checks, f.Check)
			}
			subjects[f.Check] = append(subjects[f.Check], f.Subject)
		}
		if n == 0 {
			continue
		}
		for i, check := range checks {
			checks[i] = check + ": " + strings.Join(subjects[check], ", ")
		}
		parts = append(parts, severityCount(n, severity)+" ("+strings.Join(checks, "; ")+")")
	}
	return strings.Join(parts, ", ")
}
