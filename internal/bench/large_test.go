package bench

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"lampwright/internal/lamp"
	"lampwright/internal/project"
)

// large returns a campaign of about 200 readings: the strings, scans of the beams, maps and a warm-up.
func large(l *lamp.Lamp, channels []string) string {
	s := textOf(l, channels)
	for _, c := range channels {
		s += fmt.Sprintf("      - what: illuminance\n        instrument: lux\n        channel: %s\n        "+
			"state: only %s\n        place: axis\n        distance: 1 m\n        series:\n", c, c)
		for a := -70; a <= 70; a += 10 {
			s += fmt.Sprintf("          - {angle: %d deg, value: 1 lx}\n", a)
		}
	}
	for _, place := range []string{"surface", "target"} {
		s += fmt.Sprintf("      - what: illuminance\n        instrument: lux\n        state: full\n        "+
			"place: %s\n        series:\n", place)
		for i := range 25 {
			s += fmt.Sprintf("          - {at: [%d mm, %d mm], value: 1 lx}\n", -360+180*(i%5), -180+90*(i/5))
		}
	}
	s += "      - what: contact temperature\n        instrument: tc\n        place: heat sink\n        state: " +
		"full\n        series:\n"
	for i := range 60 {
		s += fmt.Sprintf("          - {time: %d s, value: 25 °C}\n", 30+120*i)
	}
	return s
}

func largeModel(t testing.TB) *Model {
	e := evaluated(t, "long-tank")
	r, problems := project.LoadReadingsText("readings.yaml", []byte(large(e.Lamp, []string{
		"cool", "neutral", "cyan",
		"red",
	})), e.Lamp.Project)
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	m, err := New(e.Sys, r)
	if err != nil {
		t.Fatal(err)
	}
	y, err := m.Predict(context.Background(), make([]float64, len(m.Params)))
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(7, 1))
	for i := range m.Items {
		m.Items[i].Value = y[i] + m.Items[i].U*rng.NormFloat64()
		if math.IsNaN(m.Items[i].Value) {
			t.Fatal(m.Items[i].Label, m.Items[i].U)
		}
	}
	return m
}

func BenchmarkReview200(b *testing.B) {
	m := largeModel(b)
	b.Logf("%d readings, %d parameters, %d conditions", len(m.Items), len(m.Params), len(m.conditions))
	for b.Loop() {
		m.forget()
		if _, _, err := m.Review(context.Background(), nil); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkTyping is a value that is typed beside the others: the model is kept.
func BenchmarkTyping(b *testing.B) {
	m := largeModel(b)
	if _, _, err := m.Review(context.Background(), nil); err != nil {
		b.Fatal(err)
	}
	value := m.Items[3].Value
	n := 0
	for b.Loop() {
		n++
		m.Items[3].Value = value * (1 + 0.02*float64(n%5))
		if _, _, err := m.Review(context.Background(), nil); err != nil {
			b.Fatal(err)
		}
	}
}

// forget drops what the model keeps between reviews.
func (m *Model) forget() { m.cache, m.prior, m.rows, m.start, m.silent = nil, nil, nil, nil, nil }
