package heat

import (
	"context"
	"math"
	"slices"
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
	t.Logf("%d lags, %.3g to %.3g s", len(r.TauS), slices.Min(r.TauS), slices.Max(r.TauS))
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

// The second difference of n points has the eigenvalues 2 − 2 cos(kπ/(n+1)): textbook.
func TestEigen(t *testing.T) {
	const n = 40
	a := make([][]float64, n)
	for i := range a {
		a[i] = make([]float64, n)
		a[i][i] = 2
		if i > 0 {
			a[i][i-1] = -1
			a[i-1][i] = -1
		}
	}
	values, vectors, ok := eigen(a)
	if !ok {
		t.Fatal("did not settle")
	}
	for k, v := range values { // A v = λ v, and columns of unit length
		norm := 0.0
		for i := range n {
			av := 2 * vectors[i][k]
			if i > 0 {
				av -= vectors[i-1][k]
			}
			if i+1 < n {
				av -= vectors[i+1][k]
			}
			if math.Abs(av-v*vectors[i][k]) > 1e-12 {
				t.Fatalf("pair %d misses by %g", k, av-v*vectors[i][k])
			}
			norm += vectors[i][k] * vectors[i][k]
		}
		compare(t, "length", norm, 1, 1e-12)
	}
	slices.Sort(values)
	for k, v := range values {
		compare(t, "eigenvalue", v, 2-2*math.Cos(float64(k+1)*math.Pi/(n+1)), 1e-10)
	}
	if _, _, ok := eigen([][]float64{{math.NaN(), 1}, {1, 0}}); ok {
		t.Error("not a number passed")
	}
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
