package figure_test

import (
	"context"
	"math"
	"os"
	"path"
	"slices"
	"strconv"
	"strings"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/partslib"
	"lampwright/internal/project"
)

// readTSV returns the rows of a tab-separated file after its comments and its header.
func readTSV(t *testing.T, name string) (rows [][]string) {
	t.Helper()
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	header := false
	for line := range strings.Lines(string(text)) {
		switch {
		case strings.HasPrefix(line, "#"):
		case !header:
			header = true
		default:
			rows = append(rows, strings.Split(strings.TrimSuffix(line, "\n"), "\t"))
		}
	}
	return rows
}

// TestBaseline compares every figure of the three demos with what it was before the redesign of the code: value, P10
// and P90 to 1e-6 of the value, far below print. Renamed keys are listed in testdata/renamed.tsv; figures that are new
// since then, with the reason for each, in testdata/added.tsv.
func TestBaseline(t *testing.T) {
	newKey := map[string]string{}
	for _, row := range readTSV(t, "testdata/renamed.tsv") {
		newKey[row[0]] = row[1]
	}
	newPatterns := readTSV(t, "testdata/added.tsv")
	added := func(key string) bool {
		return slices.ContainsFunc(newPatterns, func(row []string) bool {
			match, err := path.Match(row[0], key)
			return match && err == nil && row[1] != ""
		})
	}
	demos := map[string][][]string{}
	for _, row := range readTSV(t, "testdata/baseline.tsv") {
		demos[row[0]] = append(demos[row[0]], row[1:])
	}
	if len(demos) != 3 {
		t.Fatalf("testdata/baseline.tsv has %d demos, want 3", len(demos))
	}
	for demo, rows := range demos {
		t.Run(demo, func(t *testing.T) {
			if testing.Short() && demo != "propagation-bench" {
				t.Skip("the largest demos")
			}
			t.Parallel()
			p, problems := project.Load(os.DirFS("../../examples/"+demo), project.DesignFile, partslib.Files())
			if p == nil {
				t.Fatal(problems)
			}
			r, err := figure.Evaluate(context.Background(), p, engine.Options{})
			if err != nil {
				t.Fatal(err)
			}
			known := map[string]bool{}
			for _, row := range rows {
				key := row[0]
				if k, ok := newKey[key]; ok {
					key = k
				}
				known[key] = true
				f, ok := r.Figure(key)
				if !ok {
					t.Errorf("no figure %s (before: %s)", key, row[0])
					continue
				}
				for i, got := range []float64{f.Value, f.Lo, f.Hi} {
					want, err := strconv.ParseFloat(row[i+1], 64)
					if err != nil {
						t.Fatal(err)
					}
					if math.Abs(got-want) > 1e-6*math.Abs(want) {
						t.Errorf("%s %s: %.9g, before %.9g", key, [...]string{"value", "P10", "P90"}[i], got, want)
					}
				}
			}
			for _, key := range r.Keys() {
				if !known[key] && !added(key) {
					t.Errorf("figure %s is neither in the baseline nor in testdata/added.tsv", key)
				}
			}
		})
	}
}
