package heat

import (
	"context"
	"math"
	"testing"
)

// The lags follow the field: the same board by Transient, at every time from seconds to the end.
func TestReducedFollowsTheField(t *testing.T) {
	b, s := lampBoard(5)
	s[1].PowerW, s[2].PowerW = 6, 0
	probes := []Probe{{Name: "sensor", XM: 0.012, YM: 0.012}, {Name: "rim", XM: -0.048}}
	times := []float64{1, 5, 30, 120, 600, 3000}
	w, err := Transient(context.Background(), b, s, probes, times, TimeOptions{})
	if err != nil {
		t.Fatal(err)
	}
	r, err := Reduce(context.Background(), b, s, probes, TimeOptions{})
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d lags, %.3g to %.3g s", len(r.TauS), r.TauS[0], r.TauS[len(r.TauS)-1])
	state, p := r.Start(0), Powers(s)
	next := 0
	for dt := 0.01; next < len(times); {
		dt = max(dt, 0.05*state.TimeS)
		if state.TimeS+dt >= times[next] {
			dt = times[next] - state.TimeS
		}
		r.Step(state, p, b.Contact.SinkWK, dt)
		if state.TimeS < times[next]*(1-1e-12) {
			continue
		}
		got, want := r.Read(state, p), w.Moments[next]
		// errors beside the hottest rise then
		scale := want.MaxK[1]
		check := func(name string, got, want float64) {
			if e := math.Abs(got-want) / scale; e > 0.01 {
				t.Errorf("t %g %s: %.4f, want %.4f", times[next], name, got, want)
			}
		}
		check("sink", got.SinkK, want.SinkK)
		for i := range s {
			check("mean", got.MeanK[i], want.MeanK[i])
			check("max", got.MaxK[i], want.MaxK[i])
		}
		for i := range probes {
			check(probes[i].Name, got.ProbeK[i], want.ProbeK[i])
		}
		next++
		dt = 0.01
	}
	// in the end it is the steady response
	for range 200 {
		r.Step(state, p, b.Contact.SinkWK, 1000)
	}
	got := r.Read(state, p)
	for i := range s {
		compare(t, "steady mean", got.MeanK[i], w.Steady.MeanK[i], 0.005)
	}
	compare(t, "steady sink", got.SinkK, w.Steady.SinkK, 0.002)
}

// Without watts a warm board cools towards ambient, and nothing ever gets warmer.
func TestReducedCools(t *testing.T) {
	b, s := lampBoard(3)
	r, err := Reduce(context.Background(), b, s, nil, TimeOptions{})
	if err != nil {
		t.Fatal(err)
	}
	for _, tau := range r.TauS {
		if tau < 0 {
			t.Errorf("time constant %g s", tau)
		}
	}
	state, none := r.Start(30), make([]float64, 3)
	first := r.Read(state, none)
	for i := range s {
		compare(t, "even start", first.MeanK[i], 30, 1e-6)
	}
	last := 30.0
	for range 50 {
		r.Step(state, none, 0.8, 20)
		m := r.Read(state, none)
		if m.MeanK[0] > last+1e-6 {
			t.Fatalf("warms from %g to %g K without watts", last, m.MeanK[0])
		}
		last = m.MeanK[0]
	}
	if last > 3 {
		t.Errorf("still %g K after 1000 s", last)
	}
}

func BenchmarkReducedStep(b *testing.B) {
	board, s := lampBoard(9)
	r, err := Reduce(context.Background(), board, s, nil, TimeOptions{})
	if err != nil {
		b.Fatal(err)
	}
	state, p := r.Start(0), Powers(s)
	for b.Loop() {
		r.Step(state, p, 0.8, 1)
		r.Read(state, p)
	}
}
