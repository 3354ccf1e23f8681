package search

import (
	"context"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/lamptest"
	"lampwright/internal/store"
)

// BenchmarkPlan asks: how long does the plan of a demo with errors take, once its own unit responses are known?
func BenchmarkPlan(b *testing.B) {
	for _, name := range []string{"long-tank-first", "moss-jar-first", "propagation-bench-first"} {
		b.Run(name, func(b *testing.B) {
			p := lamptest.Example(b, name)
			for b.Loop() {
				b.StopTimer()
				o := engine.Options{Solver: &store.Memory{Store: &lamptest.Memory{Data: map[string][]byte{}}}}
				if _, err := (&searcher{}).evaluate(context.Background(), p, o); err != nil {
					b.Fatal(err)
				}
				b.StartTimer()
				if _, err := Find(context.Background(), p, o, nil); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
