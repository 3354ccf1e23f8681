package cli

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// labels are the words and styles of the severities.
var labels = [...]struct {
	word, plural string
	style        style
}{
	finding.Stop: {"Stop", "stops", red},
	finding.Warn: {"Warning", "warnings", yellow},
	finding.Ask:  {"Missing data", "missing data", blue},
	finding.Note: {"Note", "notes", faint},
	finding.Pass: {"Pass", "passed", green},
}

const labelWidth = len("Missing data")

// label returns the padded, coloured word of a severity.
func (r *run) label(s finding.Severity) string {
	l := labels[s]
	return r.paint(l.style, l.word) + strings.Repeat(" ", labelWidth-len(l.word))
}

// twoUnits is a range with its unit after each end.
var twoUnits = regexp.MustCompile(`^(\S+) (\S+) to (\S+) (\S+)$`)

// against returns value and limit in short form: "700 mA" and "≤ 500 mA", or "50.0 to 90.0 lx".
func against(f finding.Finding) (value, limit string) {
	limit = f.Limit
	for words, symbol := range map[string]string{"at most ": "≤ ", "at least ": "≥ "} {
		if rest, ok := strings.CutPrefix(limit, words); ok {
			limit = symbol + rest
		}
	}
	if m := twoUnits.FindStringSubmatch(limit); m != nil && m[2] == m[4] {
		limit = m[1] + " to " + m[3] + " " + m[4]
	}
	return f.Value, limit
}

// ofChecks returns the findings of these checks; all without any check.
func ofChecks(list []finding.Finding, checks []string) ([]finding.Finding, error) {
	if len(checks) == 0 {
		return list, nil
	}
	var out []finding.Finding
	for _, f := range list {
		if slices.Contains(checks, f.Check) {
			out = append(out, f)
		}
	}
	known := checksOf(list)
	for _, c := range checks {
		if near, ok := quantity.Near(c, project.Checks()); ok && !slices.Contains(project.Checks(), c) {
			return nil, fmt.Errorf("there is no check %q; did you mean %s?", c, near)
		}
		if !slices.Contains(known, c) {
			return nil, fmt.Errorf("the review of this design has no finding of check %q; its checks are %s", c,
				strings.Join(known, ", "))
		}
	}
	return out, nil
}

// checksOf returns the checks of a review, sorted.
func checksOf(list []finding.Finding) []string {
	var out []string
	for _, f := range list {
		out = append(out, f.Check)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// findingRow is one line of a table of findings. Without a limit only check and title are shown.
type findingRow struct {
	severity                            finding.Severity
	check, subject, value, limit, title string
}

// findingRows returns the rows of a table of findings, and the widths of check, subject and value in a terminal. The subject has
// what the other columns leave; where that is too little, ranges lose their unit, which is that of the value, and channels the
// word "channel". A subject that still does not fit has no column: its width is 0.
func findingRows(list []finding.Finding, width int) (rows []findingRow, check, subject, value int) {
	check, value = len("check"), len("value")
	for _, f := range list {
		if f.Severity == finding.Pass || setAside(&f) {
			continue
		}
		row := findingRow{severity: f.Severity, check: f.Check, subject: f.Subject, title: f.Title}
		row.value, row.limit = against(f)
		check = max(check, displayWidth(row.check))
		if row.limit != "" {
			value = max(value, displayWidth(row.value))
		}
		rows = append(rows, row)
	}
	natural := func() (subject, room int) {
		subject, limit := len("subject"), len("limit")
		for _, row := range rows {
			if row.limit != "" {
				subject, limit = max(subject, displayWidth(row.subject)), max(limit, displayWidth(row.limit))
			}
		}
		return subject, width - labelWidth - check - value - limit - 4*columnGap
	}
	subject, room := natural()
	if subject > room {
		for i := range rows {
			row := &rows[i]
			row.subject = strings.TrimPrefix(row.subject, "channel ")
			if _, unit, ok := strings.Cut(row.value, " "); ok && strings.Contains(row.limit, " to ") {
				row.limit = strings.TrimSuffix(row.limit, " "+unit)
			}
		}
		subject, room = natural()
	}
	if subject = min(subject, room); subject < len("subject") {
		subject = 0
	}
	return rows, check, subject, value
}

// findingTable prints one line per finding: severity, check, subject, value and limit. A finding without a limit has its title in
// place of subject, value and limit, shortened to the line. Passed checks are left out.
func findingTable(r *run, list []finding.Finding) {
	rows, check, subject, value := findingRows(list, r.width)
	pad := func(text string, w int) string {
		return text + strings.Repeat(" ", max(0, w-displayWidth(text))+columnGap)
	}
	line := func(name, of, is, limit string) string {
		text := pad(name, check)
		if subject > 0 {
			text += pad(clip(of, subject), subject)
		}
		return text + pad(is, value) + limit
	}
	head := line("check", "subject", "value", "limit")
	longest := displayWidth(head)
	lines := make([]string, len(rows))
	for i, row := range rows {
		text := pad(row.check, check) + row.title
		if row.limit != "" {
			text = line(row.check, row.subject, row.value, row.limit)
		}
		lines[i] = clip(text, r.width-labelWidth-columnGap)
		longest = max(longest, displayWidth(lines[i]))
	}
	r.println(r.paint(bold, pad("severity", labelWidth)+head))
	r.println(strings.Repeat("─", min(r.width, labelWidth+columnGap+longest)))
	for i, row := range rows {
		r.println(pad(r.label(row.severity), 0) + lines[i])
	}
}

// findingDetails prints title, limit, reason, fixes and places of each finding. Notes and passed checks are printed only on request.
func findingDetails(r *run, list []finding.Finding, path string, all bool) {
	for _, f := range list {
		if (f.Severity >= finding.Note || setAside(&f)) && !all {
			continue
		}
		indent := strings.Repeat(" ", 4)
		r.println("")
		label := strings.ToUpper(labels[f.Severity].word) + "  "
		r.println(r.paint(labels[f.Severity].style, label) + wrap(f.Title, min(r.width, pipeWidth), displayWidth(label)))
		if f.Severity == finding.Pass {
			continue
		}
		detail := func(name, text string) {
			if text != "" {
				r.prose(indent+name, text)
			}
		}
		if f.Margin != "" {
			_, limit := against(f)
			detail("Limit: ", limit+", margin "+f.Margin)
		}
		detail("Acknowledged: ", acknowledgedText(f.Acknowledged))
		detail("Why: ", f.Why)
		if list := f.Fix; len(list) == 1 {
			detail("Fix: ", list[0])
		} else if len(list) > 1 {
			r.println(indent + "Fix:")
			for _, fix := range list {
				r.prose(indent+"- ", fix)
			}
		}
		if f.At.Line > 0 {
			r.println(indent + "See: " + place(path, f.At))
		}
		if f.Figure != "" {
			r.println(indent + "Explain: " + command("explain", f.Figure, path))
		}
	}
}

// setAside tells whether a warning or missing data is acknowledged: it is listed after the others.
func setAside(f *finding.Finding) bool { return f.Severity < finding.Note && !f.Open() }

// acknowledgedText returns a reason with its date; empty without one.
func acknowledgedText(a *finding.Acknowledgement) string {
	switch {
	case a == nil:
		return ""
	case a.Date == "":
		return a.Reason
	}
	return a.Reason + " (" + a.Date + ")"
}

// acknowledgedTable prints the acknowledged findings with their reasons.
func acknowledgedTable(r *run, list []finding.Finding) {
	head := true
	for i := range list {
		f := &list[i]
		if f.Acknowledged == nil {
			continue
		}
		if head {
			r.println("")
			r.println(r.paint(bold, "Acknowledged"))
			head = false
		}
		r.prose(r.label(f.Severity)+strings.Repeat(" ", columnGap), fmt.Sprintf("%s, %s: %s. Reason: %s", f.Check,
			f.Subject, f.Title, acknowledgedText(f.Acknowledged)))
	}
}

// place returns a position with the folder as typed, so that terminals and editors can open it.
func place(path string, at source.Pos) string {
	at.File = inFolder(path, at.File)
	return at.String()
}

// inFolder returns a file of the project at a path as typed. A file that is not there is one of the built-in parts library.
func inFolder(path, file string) string {
	joined := filepath.Join(folder(path), filepath.FromSlash(file))
	if _, err := os.Stat(joined); file == "" || err != nil {
		return file
	}
	return joined
}

// findingCounts returns the number of findings of each severity in one line.
func findingCounts(list []finding.Finding) string {
	n := finding.Count(list)
	var parts []string
	for s := finding.Stop; s <= finding.Pass; s++ {
		parts = append(parts, severityCount(n[s], s))
	}
	aside := finding.CountAcknowledged(list)
	var named []string
	for _, s := range []finding.Severity{finding.Warn, finding.Ask} {
		if aside[s] > 0 {
			named = append(named, severityCount(aside[s], s))
		}
	}
	if len(named) > 0 {
		parts = append(parts, strings.Join(named, " and ")+" acknowledged")
	}
	return strings.Join(parts, ", ")
}

// severityCount returns a number of findings of a severity: "2 stops".
func severityCount(n int, s finding.Severity) string {
	word := labels[s].plural
	if n == 1 && s != finding.Ask && s != finding.Pass {
		word = strings.ToLower(labels[s].word)
	}
	return fmt.Sprintf("%d %s", n, word)
}

// verdict returns the last line of a review.
func verdict(list []finding.Finding) string {
	if finding.Any(list, finding.Stop) {
		return "Do not order this lamp as it is."
	}
	return "No stops. This is the result of the listed checks and does not certify safety; local regulations and a qualified person take precedence."
}

// printReview prints a review: headline, table, details and counts.
func printReview(r *run, result *figure.Evaluation, list []finding.Finding, c *reviewCmd) {
	r.println(r.paint(bold, result.Name))
	r.prose("", headline(result))
	if text := result.CalibrationText(); text != "" {
		r.prose("", text)
	}
	if ids := result.Fictitious(); len(ids) > 0 {
		r.println(wrap("Fictitious parts (cannot be ordered): "+strings.Join(ids, ", "), min(r.width, pipeWidth), 2))
	}
	r.println("")
	findingTable(r, list)
	acknowledgedTable(r, list)
	if !c.Short {
		findingDetails(r, list, c.Path, c.All)
	}
	r.println("")
	count := findingCounts(list)
	if !c.All && !c.Short {
		count += "; --all shows notes and passed checks in full"
	}
	r.prose("", count)
	r.prose("", result.NotSampledText())
	r.prose("", verdict(list))
}

// differ returns the findings above the severity of a note that only a has, by check and subject.
func differ(a, b []finding.Finding) []finding.Finding {
	type key struct {
		check, subject string
		severity       finding.Severity
	}
	have := map[key]bool{}
	for _, f := range b {
		have[key{f.Check, f.Subject, f.Severity}] = true
	}
	out := []finding.Finding{}
	for _, f := range a {
		if f.Severity < finding.Note && !have[key{f.Check, f.Subject, f.Severity}] {
			out = append(out, f)
		}
	}
	return out
}

// findingTitles prints a line for each finding.
func findingTitles(r *run, list []finding.Finding) {
	if len(list) == 0 {
		r.println("  none above the severity of a note")
	}
	for _, f := range list {
		word := labels[f.Severity].word
		r.prose("  "+word+strings.Repeat(" ", labelWidth-len(word)+columnGap), f.Title)
	}
}
