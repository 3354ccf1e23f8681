package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestReasonsAndDifferences(t *testing.T) {
	listed, err := reasons("# head\n\ninternal/a.F  # later\ninternal/b.T.M # ?\ninternal/c.G # gone\n")
	if err != nil || len(listed) != 3 || listed["internal/a.F"] != "later" {
		t.Fatalf("reasons: %v, %v", listed, err)
	}
	if _, err := reasons("internal/a.F\n"); err == nil {
		t.Error("an entry without a reason is no error")
	}
	err = differences([]string{"internal/a.F", "internal/b.T.M", "internal/d.H"}, listed)
	if err == nil {
		t.Fatal("differences are no error")
	}
	for _, want := range []string{"internal/b.T.M has no reason yet", "internal/d.H is not reachable", "internal/c.G is reachable or gone"} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("no %q in %v", want, err)
		}
	}
	if strings.Contains(err.Error(), "internal/a.F") {
		t.Errorf("a listed function is named: %v", err)
	}
	if err := differences([]string{"internal/a.F"}, map[string]string{"internal/a.F": "later"}); err != nil {
		t.Error(err)
	}
	if got := list([]string{"a.F", "internal/b"}, map[string]string{"a.F": "later"}); got != "a.F         # later\ninternal/b  # ?\n" {
		t.Errorf("list %q", got)
	}
}

// TestShape: lines of 120 columns and functions of 60 lines are allowed, one more is counted, and a worse tree fails.
func TestShape(t *testing.T) {
	root := t.TempDir()
	write := func(name, text string) {
		t.Helper()
		if err := os.MkdirAll(filepath.Dir(filepath.Join(root, name)), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(root, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	source := func(columns, lines int) string {
		return fmt.Sprintf("package a\n\n//%s\n\nfunc f() {\n%s}\n", strings.Repeat("µ", columns-2), strings.Repeat("\tf()\n", lines-2))
	}
	write("tools/shape.txt", "lines over 120 columns: 0\nfunctions over 60 lines: 0\n")
	write("a/a.go", source(120, 60))
	if err := checkShape(root, false); err != nil {
		t.Error(err)
	}
	write("a/a.go", source(121, 60))
	if err := checkShape(root, false); err == nil {
		t.Error("a line of 121 columns is allowed")
	}
	write("a/a.go", source(120, 61))
	if err := checkShape(root, false); err == nil || !strings.Contains(err.Error(), "f (61 lines)") {
		t.Errorf("a function of 61 lines: %v", err)
	}
	write("a/a_test.go", source(121, 61))
	if s, _, err := shapeOf(root); err != nil || s != (shape{lines: 1, functions: 1}) {
		t.Errorf("shape %+v, %v; a test may have long functions", s, err)
	}
	if err := checkShape(root, true); err != nil {
		t.Fatal(err)
	}
	if err := checkShape(root, false); err != nil {
		t.Error(err)
	}
}
