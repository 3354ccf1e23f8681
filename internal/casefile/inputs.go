package casefile

import (
	"context"
	"fmt"
	"math"
)

// modelTopic returns the topic with inputs of type T: it reads them strictly, and places the errors of the model in the
// file by their path. Results are finite.
func modelTopic[T any](answer func(in *T) (map[string]any, error)) topic {
	return func(_ context.Context, d document, inputs *node) (map[string]any, error) {
		var in T
		dec := decoder{document: d, guide: topicsGuide}
		dec.fill(inputs, &in, "inputs")
		if err := dec.err(); err != nil {
			return nil, err
		}
		out, err := answer(&in)
		if err != nil {
			return nil, d.placed(inputs, err)
		}
		for key, v := range out {
			if x, number := v.(float64); number && (math.IsNaN(x) || math.IsInf(x, 0)) {
				return nil, d.errorAt(inputs.at, fmt.Errorf("%s has no finite value for these inputs", key))
			}
		}
		return out, nil
	}
}

// bounded is a number of a case with its path and its bounds.
type bounded struct {
	path   string
	v      float64
	lo, hi float64
}

// allWithin returns an error for the first number outside its bounds.
func allWithin(all ...bounded) error {
	for _, b := range all {
		if !(b.v >= b.lo && b.v <= b.hi) {
			return at(b.path, fmt.Errorf("%s is %g; it must be from %g to %g", b.path, b.v, b.lo, b.hi))
		}
	}
	return nil
}
