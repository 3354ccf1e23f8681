package project

import (
	"os"
	"strings"
	"testing"

	"lampwright/internal/partslib"
)

// TestAcknowledgements: what cannot be acknowledged is an error at its line and column, with the nearest name.
func TestAcknowledgements(t *testing.T) {
	data, err := os.ReadFile("../../examples/moss-jar/lamp.yaml")
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Count(string(data), "\n")
	for _, tt := range []struct {
		name, entries string
		line, col     int // of the problem, in the entries from 1; 0: none
		msg, hint     string
	}{
		{"good", "  - {check: ra, subject: lamp, reason: why not, date: 2031-05-04}\n", 0, 0, "", ""},
		{
			"two subjects", "  - {check: ra, subject: lamp, reason: a}\n  - {check: ra, subject: x, reason: b}\n", 0, 0, "", "",
		},
		{
			"unknown check", "  - {check: die-curent, subject: channel white, reason: a}\n", 2, 13,
			`there is no check "die-curent"`, `did you mean "die-current"?`,
		},
		{"no near check", "  - {check: zzzz, subject: lamp, reason: a}\n", 2, 13, `no check "zzzz"`, "`lampwright"},
		{"no reason", "  - {check: ra, subject: lamp}\n", 2, 5, "reason", ""},
		{"empty reason", "  - {check: ra, subject: lamp, reason: \"\"}\n", 2, 40, "reason", ""},
		{
			"no date", "  - {check: ra, subject: lamp, reason: a, date: 2031-13-04}\n", 2, 49,
			`"2031-13-04" is no date`, "2031-05-04",
		},
		{"another key", "  - {check: ra, subject: lamp, reason: a, severity: note}\n", 2, 43, "severity", ""},
		{
			"twice", "  - {check: ra, subject: lamp, reason: a}\n  - {check: ra, subject: lamp, reason: b}\n", 3, 13,
			`check "ra" of "lamp" is acknowledged twice`, "keep one",
		},
	} {
		text := string(data) + "acknowledged:\n" + tt.entries
		p, problems := LoadText("lamp.yaml", []byte(text), nil, partslib.Files())
		if tt.line == 0 {
			if p == nil || len(p.Design.Acknowledged) == 0 || p.Design.Acknowledged[0].Check.S != "ra" {
				t.Errorf("%s: %s", tt.name, problems.Error())
			}
			continue
		}
		if len(problems) != 1 {
			t.Errorf("%s: %d problems: %s", tt.name, len(problems), problems.Error())
			continue
		}
		got := problems[0]
		if got.At.Line != lines+tt.line || got.At.Col != tt.col || !strings.Contains(got.Msg, tt.msg) ||
			!strings.Contains(got.Hint, tt.hint) {
			t.Errorf("%s: %+v, want line %d, column %d", tt.name, got, lines+tt.line, tt.col)
		}
	}
}
