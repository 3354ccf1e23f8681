package report

import (
	"fmt"
	"html/template"

	"lampwright/internal/draw"
	"lampwright/internal/finding"
)

type findingView struct {
	Sign                                 template.HTML
	Class, Word                          string
	Title, Subject, Check                string
	Value, Limit, Margin, Why, At, Where string
	Fix                                  []string
	Anchor, FigureTitle                  string
	Acknowledged                         string // the reason, with its date
}

// severities is the sign and the label of each severity.
var severities = [...]struct {
	sign               draw.Sign
	class, word, means string
}{
	finding.Stop: {draw.Octagon, "stop", "Stop", "failure or hazard"},
	finding.Warn: {draw.Triangle, "warn", "Warning", "marginal, or a requirement is not met"},
	finding.Ask:  {draw.Question, "ask", "Missing data", "not stated in a datasheet"},
	finding.Note: {draw.Square, "note", "Note", "for information"},
	finding.Pass: {draw.Tick, "pass", "Pass", "within its limit"},
}

func (b *builder) findings(v *view, findings []finding.Finding) {
	list := append([]finding.Finding(nil), findings...)
	finding.Sort(list)
	count := finding.Count(list)
	for s := finding.Stop; s <= finding.Pass; s++ {
		look := severities[s]
		v.Counts = append(v.Counts, countView{sign(look.sign), look.class, count[s], look.word, look.means})
	}
	v.Verdict = verdict(list, count)
	for _, f := range list {
		s := f.Severity
		if s < finding.Stop || s > finding.Pass {
			s = finding.Note
		}
		look := severities[s]
		x := findingView{
			Sign: sign(look.sign), Class: look.class, Word: look.word, Title: capital(f.Title), Subject: f.Subject, Check: f.Check,
			Value: f.Value, Limit: f.Limit, Margin: f.Margin, Why: sentence(f.Why), Fix: fixes(f), At: where(f.At),
			Acknowledged: reasonOf(f.Acknowledged),
		}
		if fig, ok := b.r.Figure(f.Figure); ok {
			x.Anchor, x.FigureTitle = b.anchor[f.Figure], fig.Title
		}
		switch {
		case s < finding.Note && !f.Open():
			v.Acknowledged = append(v.Acknowledged, x)
		case s == finding.Note:
			v.Notes = append(v.Notes, x)
		case s == finding.Pass:
			v.Passes = append(v.Passes, x)
		default:
			v.Open = append(v.Open, x)
		}
	}
}

// verdict is what the counts mean, in a line.
func verdict(list []finding.Finding, count map[finding.Severity]int) (text string) {
	switch {
	case len(list) == 0:
		return "This report contains no review."
	case count[finding.Stop] > 0:
		them := "it is"
		if count[finding.Stop] > 1 {
			them = "they are"
		}
		text = counted(count[finding.Stop], "stop") + ". Do not order parts before " + them + " resolved."
	case count[finding.Warn] > 0:
		text = "No stops, " + counted(count[finding.Warn], "warning") + "."
	default:
		text = "No stops and no warnings. This is the result of the listed checks and does not certify safety."
	}
	aside := finding.CountAcknowledged(list)
	if n := aside[finding.Warn] + aside[finding.Ask]; n > 0 {
		text += " " + counted(n, "finding") + " acknowledged, counted apart."
	}
	return text
}

// reasonOf returns the reason of an acknowledgement with its date; empty without one.
func reasonOf(a *finding.Acknowledgement) string {
	if a == nil {
		return ""
	}
	text := sentence(a.Reason)
	if a.Date != "" {
		text += " " + a.Date + "."
	}
	return text
}

// counted returns a count with its noun.
func counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// fixes returns the fixes of a finding, a sentence each.
func fixes(f finding.Finding) (out []string) {
	for _, fix := range f.Fix {
		out = append(out, sentence(fix))
	}
	return out
}
