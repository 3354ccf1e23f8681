package engine_test

import (
	"context"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/lamptest"
)

// BenchmarkSolutions asks: how long do 10 000 solutions of the first demo take, without texts, each of other
// parameters?
func BenchmarkSolutions(b *testing.B) {
	r := lamptest.EvaluateProject(b, lamptest.Example(b, "long-tank-first"), lamptest.Quick())
	for b.Loop() {
		n := 0
		err := r.Sys.Sample(context.Background(), 10_000, 1, func(*engine.Solution) { n++ })
		if err != nil || n != 10_000 {
			b.Fatal(err, n)
		}
	}
}
