package design

import (
	"context"
	"math/rand/v2"
	"os"
	"testing"

	"lampwright/internal/partslib"
	"lampwright/internal/project"
)

// example loads one of the demos.
func example(tb testing.TB, name string) *project.Project {
	tb.Helper()
	p, problems := project.Load(os.DirFS("../../examples/"+name), project.DesignFile, partslib.Files())
	if p == nil {
		tb.Fatal(problems.Error())
	}
	return p
}

// BenchmarkEvaluate asks: how long does a cold evaluation of the demo take, ranges included?
func BenchmarkEvaluate(b *testing.B) {
	p := example(b, "planted-tank-first")
	for b.Loop() {
		if _, err := Evaluate(context.Background(), p, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkOperatingPoint asks: how long does it take to settle the lamp again after a current was changed?
func BenchmarkOperatingPoint(b *testing.B) {
	lamp, err := NewLamp(example(b, "planted-tank-first"))
	if err != nil {
		b.Fatal(err)
	}
	sys, err := newSystem(context.Background(), lamp, Options{})
	if err != nil {
		b.Fatal(err)
	}
	p := lamp.nominal()
	rng := rand.New(rand.NewPCG(1, 1))
	rounds := 0
	for b.Loop() {
		p.current[0] = 0.5 + 0.5*rng.Float64()
		rounds = lamp.operate(p, sys.board, sys.cases[0].cool, sys.cases[0].airK).rounds
	}
	b.ReportMetric(float64(rounds), "rounds")
}

// BenchmarkWhatIf asks: how long does every figure take after a current was changed?
func BenchmarkWhatIf(b *testing.B) {
	r, err := Evaluate(context.Background(), example(b, "planted-tank-first"), Options{Samples: -1})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		r.Try(Change{Current: map[string]float64{"white": 0.8}}, "lamp.junction-hottest")
	}
}

// BenchmarkLightMap asks: how long do the light maps of the demo take, on the water and at the target?
func BenchmarkLightMap(b *testing.B) {
	lamp, err := NewLamp(example(b, "planted-tank-first"))
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := lamp.solveLight(context.Background(), Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkStoredLight asks: and how long, once they are kept on disk?
func BenchmarkStoredLight(b *testing.B) {
	lamp, err := NewLamp(example(b, "planted-tank-first"))
	if err != nil {
		b.Fatal(err)
	}
	o := Options{Store: mapStore{}}
	for b.Loop() {
		if _, err := lamp.unitLight(context.Background(), o); err != nil {
			b.Fatal(err)
		}
	}
}
