package figure_test

import (
	"context"
	"math/rand/v2"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/intensity"
	"lampwright/internal/lamp"
	"lampwright/internal/lamptest"
)

// BenchmarkEvaluate asks: how long does a cold evaluation of the demo take, ranges included?
func BenchmarkEvaluate(b *testing.B) {
	p := lamptest.Example(b, "long-tank-first")
	for b.Loop() {
		if _, err := figure.Evaluate(context.Background(), p, engine.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkOperatingPoint asks: how long does it take to settle the lamp again after a current was changed?
func BenchmarkOperatingPoint(b *testing.B) {
	lamp, err := lamp.New(lamptest.Example(b, "long-tank-first"), intensity.FromLens)
	if err != nil {
		b.Fatal(err)
	}
	sys, err := engine.NewSystem(context.Background(), lamp, engine.Options{})
	if err != nil {
		b.Fatal(err)
	}
	p := lamp.Nominal()
	rng := rand.New(rand.NewPCG(1, 1))
	rounds := 0
	for b.Loop() {
		p[lamp.Channels[0].Param.CurrentTolerance] = 0.5 + 0.5*rng.Float64()
		rounds = engine.Operate(lamp, p, sys.Board, sys.Cases[0].Cool, sys.Cases[0].AirK).Iterations
	}
	b.ReportMetric(float64(rounds), "rounds")
}

// BenchmarkWhatIf asks: how long does every figure take after a current was changed?
func BenchmarkWhatIf(b *testing.B) {
	r, err := figure.Evaluate(context.Background(), lamptest.Example(b, "long-tank-first"),
		engine.Options{Samples: -1})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		r.Try(figure.Change{Current: map[string]float64{"white": 0.8}}, "lamp.junction-max-ambient")
	}
}

// BenchmarkLightMap asks: how long do the light maps of the demo take, on the water and at the target?
func BenchmarkLightMap(b *testing.B) {
	lamp, err := lamp.New(lamptest.Example(b, "long-tank-first"), intensity.FromLens)
	if err != nil {
		b.Fatal(err)
	}
	in, err := engine.LightInputsOf(lamp, engine.Options{})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := (engine.Direct{}).Light(context.Background(), in); err != nil {
			b.Fatal(err)
		}
	}
}
