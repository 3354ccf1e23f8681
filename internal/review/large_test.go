package review

import (
	"context"
	"fmt"
	"os"
	"strings"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/lamptest"
	"lampwright/internal/project"
	"lampwright/internal/store"
)

// large is a panel of 20 × 10 emitters of two kinds, from the demo of the propagation bench.
func large(tb testing.TB) *project.Project {
	tb.Helper()
	demo, err := os.ReadFile("../../examples/propagation-bench/lamp.yaml")
	if err != nil {
		tb.Fatal(err)
	}
	before, _, ok := strings.Cut(string(demo), "\nboard:")
	_, after, ok2 := strings.Cut(string(demo), "\nthermal_interface:")
	if !ok || !ok2 {
		tb.Fatal("the demo has another order of keys")
	}
	var places [2][]string
	for i := range 200 {
		x, y := -142.5+15*float64(i%20), -54+12*float64(i/20)
		places[i/100] = append(places[i/100], fmt.Sprintf("[%g mm, %g mm]", x, y))
	}
	text := before + fmt.Sprintf(`
board: {part: aluminium-2w, thickness: 3 mm, shape: rectangle, length: 310 mm, width: 124 mm, copper_coverage: 75 %%}
channels:
  - name: white
    emitters:
      - {part: white-4500-trio, die_configuration: 9 V, at: [%s]}
    parallel_strings: 25
    current: 1.25 A
    driver: buck-3a
    wire: {part: awg20, length: 2 m}
  - name: red
    emitters:
      - {part: photored-662, at: [%s]}
    parallel_strings: 10
    current: 500 mA
    driver: buck-3a
    wire: {part: awg20, length: 2 m}
thermal_interface:`, strings.Join(places[0], ", "), strings.Join(places[1], ", ")) +
		strings.Replace(after, "[26 mm, -16 mm]", "[0 mm, 0 mm]", 1)
	return lamptest.Load(tb, text, "wires: []\n")
}

// BenchmarkLargeLamp asks: how long does the review of 200 emitters take when their unit responses are known?
func BenchmarkLargeLamp(b *testing.B) {
	p := large(b)
	o := engine.Options{Solver: &store.Memory{Store: lamptest.MapStore{}}}
	for range 2 { // the first solves
		if _, err := figure.Evaluate(context.Background(), p, o); err != nil {
			b.Fatal(err)
		}
	}
	b.ResetTimer()
	for b.Loop() {
		r, err := figure.Evaluate(context.Background(), p, o)
		if err != nil {
			b.Fatal(err)
		}
		Review(context.Background(), r)
	}
}
