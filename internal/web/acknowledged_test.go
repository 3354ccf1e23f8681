package web

import (
	"strings"
	"testing"

	"lampwright/internal/finding"
)

// acknowledgedSeen is what a page sees of findings and their counts.
type acknowledgedSeen struct {
	Findings         []finding.Finding
	Counts           map[string]int
	Bad              []struct{ Check, Subject string }
	Acknowledgements int
}

// TestAcknowledge tries an entry for a finding of a demo, saves it, takes it away again, and saves that: the file is as
// before but for the reason in between.
func TestAcknowledge(t *testing.T) {
	dir := demo(t, "long-tank-first")
	s, ts := serve(t, dir)
	settled(t, s)
	before := onDisk(t, dir)
	seen := func() acknowledgedSeen {
		t.Helper()
		_, data := send(t, ts, "GET", "/api/state", nil, nil)
		return read[struct{ Lamp acknowledgedSeen }](t, data).Lamp
	}
	lamp := seen()
	var warn, stop finding.Finding
	for _, f := range lamp.Findings {
		switch {
		case f.Severity == finding.Warn && warn.Check == "":
			warn = f
		case f.Severity == finding.Stop && stop.Check == "":
			stop = f
		}
	}
	entry := func(f finding.Finding) string {
		return asYAML + "{check: " + f.Check + ", subject: \"" + f.Subject + "\", reason: \"a: #b\", date: 2031-05-04}"
	}
	save := func(changes ...change) acknowledgedSeen {
		t.Helper()
		body := map[string]any{"base": state(t, ts).Hash, "changes": changes}
		if resp, data := send(t, ts, "POST", "/api/save", body, nil); resp.StatusCode != 200 {
			t.Fatalf("%s: %.300s", resp.Status, data)
		}
		settled(t, s)
		return seen()
	}
	reasonOf := func(l acknowledgedSeen, of finding.Finding) string {
		for _, f := range l.Findings {
			if f.Check == of.Check && f.Subject == of.Subject && f.Acknowledged != nil {
				return f.Acknowledged.Reason + " " + f.Acknowledged.At.Path
			}
		}
		return ""
	}
	got := save(change{"acknowledged[0]", entry(warn)}, change{"acknowledged[1]", entry(stop)})
	if reasonOf(got, warn) != "a: #b acknowledged[0].check" || reasonOf(got, stop) != "a: #b acknowledged[1].check" {
		t.Errorf("reasons %q and %q", reasonOf(got, warn), reasonOf(got, stop))
	}
	if got.Counts["stop"] != lamp.Counts["stop"] || got.Counts["warn"] >= lamp.Counts["warn"] ||
		got.Counts["acknowledged"] != lamp.Counts["warn"]-got.Counts["warn"] || got.Acknowledgements != 2 {
		t.Errorf("counts %v with %d entries, before %v", got.Counts, got.Acknowledgements, lamp.Counts)
	}
	for _, b := range got.Bad {
		if b.Check == warn.Check && b.Subject == warn.Subject {
			t.Errorf("the acknowledged warning is still among those to resolve: %+v", b)
		}
	}
	body := map[string]any{
		"base": state(t, ts).Hash, "changes": []change{{"acknowledged[0]", gone}}, "full": false, "view": "review",
	}
	_, data := send(t, ts, "POST", "/api/preview", body, nil)
	tried := read[acknowledgedSeen](t, data)
	if reasonOf(tried, warn) != "" || reasonOf(tried, stop) != "a: #b acknowledged[1].check" {
		t.Errorf("after the first is withdrawn: %q, %q", reasonOf(tried, warn), reasonOf(tried, stop))
	}
	save(change{"acknowledged[0]", gone}, change{"acknowledged[1]", gone})
	if now := onDisk(t, dir); strings.TrimSpace(now) != strings.TrimSpace(before) {
		t.Errorf("the file is not as before:\n%s", now[len(before)-100:])
	}
}
