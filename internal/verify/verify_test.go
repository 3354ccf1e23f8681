package verify

import (
	"context"
	"errors"
	"maps"
	"testing"
)

// TestEveryRowPasses runs what `lampwright verify` runs.
func TestEveryRowPasses(t *testing.T) {
	outcomes, err := Run(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for _, o := range outcomes {
		if seen[o.ID] {
			t.Errorf("row id %s appears twice", o.ID)
		}
		seen[o.ID] = true
		if o.Source == "" {
			t.Errorf("row %s names no source", o.ID)
		}
		if !o.Passed {
			t.Errorf(
				"%s %s: got %g %s, want %g ± %g (%s) %s", o.ID, o.What, o.Got, o.Unit, o.Want, o.Tol, o.Source, o.Err,
			)
		}
	}
}

func TestToleranceReadsBothForms(t *testing.T) {
	for _, tt := range []struct {
		text       string
		want, tol  float64
		shouldFail bool
	}{
		{"0.01", 5, 0.01, false},
		{"0.5 %", 200, 1, false},
		{"2%", -50, 1, false},
		{"exact", 1, 0, true},
	} {
		got, err := tolerance(tt.text, tt.want)
		if (err != nil) != tt.shouldFail || got != tt.tol {
			t.Errorf("tolerance(%q, %g) = %g, %v; want %g", tt.text, tt.want, got, err, tt.tol)
		}
	}
}

// TestStopped ends where the context does, so that an interrupted table is not taken for one that passed.
func TestStopped(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if out, err := Run(ctx); !errors.Is(err, context.Canceled) || len(out) > 0 {
		t.Errorf("a table that was stopped: %d rows, %v", len(out), err)
	}
}

// TestLongRowStops: a row that solves or traces ends in the middle of its work, not after it.
func TestLongRowStops(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	rows := map[string]check{}
	for _, f := range fields(ctx) {
		maps.Copy(rows, f.checks)
	}
	for _, id := range []string{
		"A11a", "A12a", "A13a", "A14a", "A15a", "D43f", "D44f", "D45f", "D46a", "D47", // boards, steady and in time
		"OM1", "OM2", "OM4", "OM7", "OP1-opening", "OP2-a", // scenes
	} {
		if _, err := rows[id](); !errors.Is(err, context.Canceled) {
			t.Errorf("row %s, stopped: %v", id, err)
		}
	}
}
