package cli

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"lampwright/internal/finding"
	"lampwright/internal/source"
)

var someFindings = []finding.Finding{
	{
		Severity: finding.Stop, Check: "die-current", Subject: "channel warm", Title: "Die current 640 mA exceeds 460 mA", Figure: "warm.current",
		Value: "640 mA", Limit: "at most 460 mA", Margin: "−180 mA", Why: "Overcurrent shortens die life.", At: source.Pos{File: "lamp.yaml", Line: 53, Col: 14},
	},
	{Severity: finding.Warn, Check: "ppfd", Subject: "lamp", Title: "Mean PPFD is high", Value: "163 lx", Limit: "50.0 lx to 90.0 lx"},
	{Severity: finding.Ask, Check: "mains", Subject: "mains", Title: "Mains data missing: " + strings.Repeat("RCD, ", 20)},
	{Severity: finding.Pass, Check: "fuse", Subject: "mains", Title: "Fuse current 1 A, within 2 A"},
}

func TestFindingTable(t *testing.T) {
	var b bytes.Buffer
	r := newRun(&output{w: &b}, &b)
	r.width = 60
	findingTable(r, someFindings)
	want := []string{
		"severity      check        subject  value   limit",
		"────────────────────────────────────────────────────────────",
		"Stop          die-current  warm     640 mA  ≤ 460 mA",
		"Warning       ppfd         lamp     163 lx  50.0 to 90.0",
		"Missing data  mains        Mains data missing: RCD, RCD, RC…",
	}
	if got := strings.TrimSpace(b.String()); got != strings.Join(want, "\n") {
		t.Errorf("table:\n%s\nwant:\n%s", got, strings.Join(want, "\n"))
	}
}

// TestFindingTableWidths wants limits whole at every width down to 55, and lines no wider than the terminal.
func TestFindingTableWidths(t *testing.T) {
	for width, subject := range map[int]string{70: "channel warm", 64: "channel warm", 63: "warm", 56: "warm", 55: ""} {
		var b bytes.Buffer
		r := newRun(&output{w: &b}, &b)
		r.width = width
		findingTable(r, someFindings)
		lines := strings.Split(b.String(), "\n")
		for _, line := range lines {
			if displayWidth(line) > width {
				t.Errorf("%d columns: %q", width, line)
			}
		}
		if !strings.HasSuffix(lines[2], "640 mA  ≤ 460 mA") || strings.Fields(lines[2])[2] != strings.Fields(subject + " 640")[0] {
			t.Errorf("%d columns: %q, want subject %q and the whole limit", width, lines[2], subject)
		}
	}
}

func TestFindingDetails(t *testing.T) {
	t.Chdir(t.TempDir())
	if err := os.MkdirAll("my lamp", 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile("my lamp/lamp.yaml", nil, 0o644); err != nil {
		t.Fatal(err)
	}
	if got := place("my lamp", source.Pos{File: "library/lenses.yaml", Line: 3, Col: 1}); got != "library/lenses.yaml:3:1" {
		t.Errorf("a part of the library is at %s", got)
	}
	var b bytes.Buffer
	findingDetails(newRun(&output{w: &b}, &b), someFindings, "my lamp", false)
	for _, want := range []string{
		"STOP  Die current 640 mA exceeds 460 mA\n", "    Limit: ≤ 460 mA, margin −180 mA\n", "    Why: Overcurrent shortens die life.\n",
		"    See: my lamp/lamp.yaml:53:14\n", "    Explain: lampwright explain warm.current 'my lamp'\n", "MISSING DATA  Mains data missing",
	} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("no %q in:\n%s", want, b.String())
		}
	}
	if strings.Contains(b.String(), "PASS") {
		t.Error("a passed check is shown without --all")
	}
}

func TestFindingCounts(t *testing.T) {
	if got, want := findingCounts(someFindings), "1 stop, 1 warning, 1 missing data, 0 notes, 1 passed"; got != want {
		t.Errorf("counts %q, want %q", got, want)
	}
	if got := verdict(someFindings); got != "Do not order this lamp as it is." {
		t.Errorf("verdict %q", got)
	}
	if got := verdict(someFindings[1:]); !strings.Contains(got, "does not certify safety") {
		t.Errorf("verdict %q", got)
	}
}

func TestOfChecks(t *testing.T) {
	list, err := ofChecks(someFindings, []string{"ppfd", "mains"})
	if err != nil || len(list) != 2 {
		t.Errorf("%d findings, %v; want 2", len(list), err)
	}
	if _, err := ofChecks(someFindings, []string{"nothing"}); err == nil || !strings.Contains(err.Error(), "its checks are die-current, fuse, mains, ppfd") {
		t.Errorf("an unknown check gives %v", err)
	}
}
