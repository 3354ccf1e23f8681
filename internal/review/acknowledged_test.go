package review

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"lampwright/internal/finding"
	"lampwright/internal/project"
)

// TestChecksOfFiles: the ids that a design may acknowledge are those of the rules.
func TestChecksOfFiles(t *testing.T) {
	ids := Checks()
	if got := project.Checks(); !slices.Equal(got, ids) {
		t.Errorf("project.Checks are %v, the rules have %v", got, ids)
	}
}

// acknowledges is an edit that adds entries to the design.
func acknowledges(entries ...string) edit {
	const day = "day: {full_level_time: 9 h, ramp_time: 1 h}\n"
	return edit{day, day + "acknowledged: [" + strings.Join(entries, ", ") + "]\n"}
}

// TestAcknowledged: a warning, missing data and a note keep their severity and get the reason, a stop stays one, and
// what matches nothing is a note itself.
func TestAcknowledged(t *testing.T) {
	bad := lampVariant{}.with(edit{"    current: 0.5 A", "    current: 1.1 A"}, // a stop of die-current
		edit{"max_working_voltage: 60 V", "notes: a"}, // missing data
		edit{"max_operating_temperature: 130 °C", "emissivity: 90 %"},
		edit{"requirements: {spill: 100 %}", "requirements: {spill: 100 %, ra: 99}"}) // a warning
	before := bad.review(t)
	stop, warn := before.one(t, "die-current", "a", ""), before.one(t, "ra", "lamp", "")
	var ask finding.Finding
	for _, f := range before.findings {
		if f.Severity == finding.Ask {
			ask = f
		}
	}
	if stop.Severity != finding.Stop || warn.Severity != finding.Warn || ask.Check == "" {
		t.Fatalf("%v %v %v", stop, warn, ask)
	}
	entry := func(f finding.Finding) string {
		return fmt.Sprintf("{check: %[1]s, subject: %[2]q, reason: \"r %[1]s\", date: 2031-05-04}", f.Check, f.Subject)
	}
	after := bad.with(acknowledges(entry(stop), entry(warn), entry(ask),
		"{check: cct, subject: lamp, reason: none such}")).review(t)
	other := bad.with(acknowledges("{check: ra, subject: board, reason: x}")).review(t)
	if f := other.one(t, "ra", "lamp", ""); f.Acknowledged != nil {
		t.Errorf("an entry of another subject: %+v", f)
	}
	if len(after.findings) != len(before.findings)+1 {
		t.Errorf("%d findings, want one more than %d", len(after.findings), len(before.findings))
	}
	for _, was := range []finding.Finding{stop, warn, ask} {
		f := after.one(t, was.Check, was.Subject, was.Title)
		if f.Severity != was.Severity || f.Acknowledged == nil || f.Acknowledged.Reason != "r "+was.Check ||
			f.Acknowledged.Date != "2031-05-04" || !strings.HasPrefix(f.Acknowledged.At.Path, "acknowledged[") {
			t.Errorf("%s: %+v", was.Check, f)
		}
		if f.Open() != (was.Severity == finding.Stop) {
			t.Errorf("%s: open is %t", was.Check, f.Open())
		}
	}
	was, now := finding.Count(before.findings), finding.Count(after.findings)
	aside := finding.CountAcknowledged(after.findings)
	if now[finding.Stop] != was[finding.Stop] || now[finding.Warn] != was[finding.Warn]-1 ||
		now[finding.Ask] != was[finding.Ask]-1 || aside[finding.Warn] != 1 || aside[finding.Ask] != 1 ||
		len(aside) != 2 {
		t.Errorf("counts %v, acknowledged %v, before %v", now, aside, was)
	}
	idle := after.one(t, "acknowledged", "cct, lamp", "")
	if idle.Severity != finding.Note || !strings.Contains(fixes(idle), "`acknowledged[3]`") ||
		idle.Acknowledged != nil {
		t.Errorf("the entry without a finding: %+v", idle)
	}
	for _, m := range Judge(t.Context(), after.Evaluation).Margins() {
		of := []string{stop.Check, warn.Check, ask.Check}
		if want := slices.Contains(of, m.Check) && m.Severity != finding.Pass &&
			m.Subject.String() == after.one(t, m.Check, m.Subject.String(), "").Subject; m.Acknowledged != want {
			t.Errorf("%s of %s (%s): acknowledged %t", m.Check, m.Subject, m.Severity, m.Acknowledged)
		}
	}
}

// TestAcknowledgedElsewhere: another subject, a pass and a quick review without ranges.
func TestAcknowledgedElsewhere(t *testing.T) {
	r := lampVariant{}.with(acknowledges("{check: die-current, subject: channel b, reason: x}",
		"{check: die-current, subject: channel a, reason: y}")).review(t)
	if f := r.one(t, "die-current", "a", ""); f.Severity != finding.Pass || f.Acknowledged != nil {
		t.Errorf("another subject: %+v", f)
	}
	r.one(t, "acknowledged", "die-current, channel b", "")
	r.one(t, "acknowledged", "die-current, channel a", "") // it is a pass
	r.Preview = true
	for _, f := range Review(t.Context(), r.Evaluation) {
		if f.Check == "acknowledged" {
			t.Errorf("without ranges: %+v", f)
		}
	}
}
