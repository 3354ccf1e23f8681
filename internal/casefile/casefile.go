// Package casefile reads and computes cases: JSON documents that describe a board with heat sources or a tank with
// light sources, a trace of the controller core, or readings of a stated lamp, so that the solvers can be compared with
// references of any origin.
//
// In: the text of a case, as docs/cases-heat.md, docs/cases-light.md, docs/cases-topics.md, docs/cases-controller.md
// and docs/cases-bench.md describe it.
// Out: its figures, as values that marshal to JSON, and whether expected figures were met; errors state file, line,
// column.
// Assumes: SI units, as the keys state.
// Leaves to others: the physics (heat, light), reading the file, and printing.
package casefile

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"lampwright/internal/raytrace"

	"lampwright/internal/heat"
)

// MaxBytes is the largest size of a case.
const MaxBytes = 4 << 20

// maxTankBytes is the largest size of a case of light in a tank.
const maxTankBytes = 1 << 20

// Run computes the case in data; file is its name, for errors. The result marshals to JSON: a HeatResult, a
// raytrace.CaseResult, a list of those, or a TopicResult.
func Run(ctx context.Context, file string, data []byte) (any, error) {
	if len(data) > MaxBytes {
		return nil, fmt.Errorf("%s: %d bytes; at most %d are read", file, len(data), MaxBytes)
	}
	d := document{file, data}
	n, err := d.parse()
	if err != nil {
		return nil, err
	}
	switch {
	case isTopic(n):
		return runTopic(ctx, d, n)
	case isBench(n):
		return runBench(ctx, d, n, fullEffort)
	case isController(n):
		return runController(ctx, d, n)
	case isHeat(n):
		return runHeat(ctx, d, n, heat.Options{RelErr: 0.004})
	case isLight(n):
		return runLight(ctx, d, n)
	}
	return nil, fmt.Errorf("%s is no case of a board or of a tank; docs/cases-heat.md, docs/cases-light.md, "+
		"docs/cases-topics.md, docs/cases-controller.md and docs/cases-bench.md describe what one holds", file)
}

// Placed reports whether an error begins with a position in the case.
func Placed(err error) bool { return errors.As(err, new(*placedError)) }

// Passed reports whether every figure that a case expects was met; a case that expects none passes.
func Passed(result any) bool {
	switch r := result.(type) {
	case TopicResult:
		return len(r.Missed) == 0
	case raytrace.CaseResult:
		return r.Passed()
	case []raytrace.CaseResult:
		for _, one := range r {
			if !one.Passed() {
				return false
			}
		}
	}
	return true
}

// kinds are the kinds that the JSON library calls otherwise.
var kinds = map[string]kind{"array": list, "string": text, "bool": flag}

// unmarshal reads a value that a case expects.
func unmarshal(d document, n *node, what string, to any) error {
	err := json.Unmarshal(n.raw, to)
	if err == nil {
		return nil
	}
	why := "cannot be read"
	if wrong := (*json.UnmarshalTypeError)(nil); errors.As(err, &wrong) {
		given, _, _ := strings.Cut(wrong.Value, " ")
		due := words[wrong.Type.Kind()]
		why = fmt.Sprintf("contains a JSON %s in place of a JSON %s", cmp.Or(kinds[given], kind(given)), due)
		if given == "number" && due == number {
			why = "contains a number that is too large"
		}
	}
	return d.errorAt(n.at, fmt.Errorf("expected %s %s", what, why))
}
