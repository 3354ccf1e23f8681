package heat

import (
	"context"
	"runtime"
	"runtime/debug"
	"syscall"
	"testing"
	"time"

	"lampwright/internal/geom"
)

// lampBoard is an invented lamp: 150 × 80 mm of aluminium, 2 mm thick, whose left part is on a contact of 100 × 64 mm,
// with n packages of 3.5 mm in two staggered rows.
func lampBoard(n int) (Board, []Source) {
	b := Board{
		Outline: geom.Rectangle(geom.Rect{WidthM: 0.15, HeightM: 0.08}), BackFilmWm2K: 10, TopFilmWm2K: 10,
		Layers: []Layer{
			{Name: "copper", ThicknessM: 35e-6, KWmK: 385, DensityKgM3: 8930, HeatJkgK: 385},
			{Name: "dielectric", ThicknessM: 100e-6, KWmK: 2, DensityKgM3: 2000, HeatJkgK: 900},
			{Name: "base", ThicknessM: 2e-3, KWmK: 138, DensityKgM3: 2680, HeatJkgK: 880},
		},
		Contact: &Contact{
			Area: geom.Rectangle(geom.Rect{XM: -0.02, WidthM: 0.1, HeightM: 0.064}), ResistM2KW: 5e-5, SinkWK: 0.8,
			CapacityJK: 200,
		},
	}
	var s []Source
	for i := range n {
		r := geom.Rect{XM: -0.065 + 0.0065*float64(i), YM: 0.017, WidthM: 0.0035, HeightM: 0.0035}
		if i%2 > 0 {
			r.YM = -0.021
		}
		s = append(s, Source{Rect: r, PowerW: 3})
	}
	return b, s
}

// BenchmarkUnit is what a review waits for: all unit responses of a lamp, cold, on one core.
func BenchmarkUnit(b *testing.B) {
	for _, n := range []int{9, 12, 20} {
		b.Run("sources="+itoa(n), func(b *testing.B) {
			board, sources := lampBoard(n)
			var r *Response
			var err error
			for b.Loop() {
				if r, err = Unit(context.Background(), board, sources, nil, Options{Workers: 1}); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(r.Stats.Iterations), "iters")
			b.ReportMetric(100*r.Stats.RelErr, "%err")
			b.ReportMetric(float64(r.Stats.Cells), "cells")
			b.ReportMetric(r.Stats.Balance, "balance")
		})
	}
}

// BenchmarkAt is what every change of a current costs.
func BenchmarkAt(b *testing.B) {
	board, sources := lampBoard(12)
	r, err := Unit(context.Background(), board, sources, nil, Options{})
	if err != nil {
		b.Fatal(err)
	}
	p := Powers(sources)
	for b.Loop() {
		r.At(p, 0.8)
	}
}

func itoa(n int) string {
	if n < 10 {
		return string(rune('0' + n))
	}
	return itoa(n/10) + string(rune('0'+n%10))
}

// BenchmarkSolve solves all unit responses of nine sources on one grid of the size named, on all cores.
func BenchmarkSolve(b *testing.B) {
	for _, tt := range []struct {
		cells  string
		across float64
	}{{"45k", 6.4}, {"360k", 19.2}} {
		b.Run("cells="+tt.cells, func(b *testing.B) {
			board, sources := lampBoard(9)
			o := Options{OneGrid: true, Grids: 1, Across: tt.across, Tol: 1e-8}
			var r *Response
			var err error
			var peak uint64
			for b.Loop() {
				if r, err = Unit(context.Background(), board, sources, nil, o); err != nil {
					b.Fatal(err)
				}
			}
			b.StopTimer()
			runtime.GC()
			peak = peakDuring(func() { _, err = Unit(context.Background(), board, sources, nil, o) })
			b.ReportMetric(float64(peak)/float64(r.Stats.Cells), "B/cell")
			b.ReportMetric(float64(r.Stats.Cells), "cells")
			b.ReportMetric(float64(r.Stats.Iterations), "iters")
			b.ReportMetric(r.Stats.Balance, "balance")
		})
	}
}

// BenchmarkTransient is a warm-up curve over an hour.
func BenchmarkTransient(b *testing.B) {
	board, sources := lampBoard(9)
	for b.Loop() {
		if _, err := Transient(
			context.Background(), board, sources, nil, []float64{60, 300, 600, 1800, 3600}, TimeOptions{},
		); err != nil {
			b.Fatal(err)
		}
	}
}

// peakDuring is how much the heap grew at most while f ran, garbage of earlier steps not counted where the collector
// has already taken it.
func peakDuring(f func()) uint64 {
	old := debug.SetGCPercent(10)
	defer debug.SetGCPercent(old)
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	base, peak := m.HeapAlloc, m.HeapAlloc
	stop, done := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(done)
		for {
			select {
			case <-stop:
				return
			case <-time.After(5 * time.Millisecond):
				runtime.ReadMemStats(&m)
				peak = max(peak, m.HeapAlloc)
			}
		}
	}()
	f()
	close(stop)
	<-done
	return peak - base
}

// ledBoard is an invented board of the given sides, aluminium 1.6 mm thick on a sink all over, with a grid of nx × ny
// packages of 3 mm, on pads of their own where pads is set.
func ledBoard(widthM, heightM float64, nx, ny int, pads bool) (Board, []Source) {
	all := geom.Rectangle(geom.Rect{WidthM: widthM, HeightM: heightM})
	b := Board{
		Outline: all, BackFilmWm2K: 10, TopFilmWm2K: 10,
		Layers: []Layer{
			{Name: "copper", ThicknessM: 35e-6, KWmK: 385},
			{Name: "dielectric", ThicknessM: 100e-6, KWmK: 2},
			{Name: "core", ThicknessM: 1.6e-3, KWmK: 138},
		},
		Contact: &Contact{Area: all, ResistM2KW: 5e-5, SinkWK: 0.8},
	}
	var s []Source
	for i := range nx * ny {
		// a little off the lattice, so that no symmetry is left
		x := (float64(i%nx)+0.5)/float64(nx)*widthM - widthM/2 + 1e-5*float64(i*7%13)
		y := (float64(i/nx)+0.5)/float64(ny)*heightM - heightM/2 + 1e-5*float64(i*5%11)
		s = append(s, Source{Rect: geom.Rect{XM: x, YM: y, WidthM: 0.003, HeightM: 0.003}, PowerW: 1})
	}
	if pads {
		b.Layers[0].Rest = 0.8
		for i := range s {
			b.Layers[0].Cover = append(b.Layers[0].Cover, geom.Rectangle(s[i].Rect))
		}
	}
	return b, s
}

// discNine is nine sources on a round board: one in the middle and eight about it, a little off a ring.
func discNine() (Board, []Source) {
	b, _ := ledBoard(0.08, 0.08, 1, 1, false)
	b.Outline = geom.Disc(0, 0, 0.04)
	b.Contact.Area = b.Outline
	s := []Source{{Rect: geom.Rect{WidthM: 0.003, HeightM: 0.003}, PowerW: 1}}
	for _, r := range ring(8, 0.02) {
		r.WidthM, r.AngleRad = 3e-3, 0
		s = append(s, Source{Rect: r, PowerW: 1})
	}
	return b, s
}

// userS is the processor time that this process has used [s]: beside others, time by the clock says little.
func userS(b *testing.B) float64 {
	b.Helper()
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		b.Fatal(err)
	}
	return float64(u.Utime.Sec) + 1e-6*float64(u.Utime.Usec)
}

func benchUnit(b *testing.B, board Board, sources []Source, o Options) {
	b.Helper()
	o.Workers = 1
	var r *Response
	var err error
	from, n := userS(b), 0
	for b.Loop() {
		if r, err = Unit(context.Background(), board, sources, nil, o); err != nil {
			b.Fatal(err)
		}
		n++
	}
	b.ReportMetric(1e3*(userS(b)-from)/float64(n), "user-ms/op")
	b.ReportMetric(float64(r.Stats.Iterations), "iters")
	b.ReportMetric(100*r.Stats.RelErr, "%err")
	b.ReportMetric(float64(r.Stats.Cells), "cells")
	b.ReportMetric(float64(r.Stats.Grids), "grids")
}

func BenchmarkDiscNine(b *testing.B) {
	board, s := discNine()
	benchUnit(b, board, s, Options{RelErr: 0.001})
}

func BenchmarkTwoHundredCold(b *testing.B) {
	board, s := ledBoard(0.3, 0.15, 20, 10, true)
	benchUnit(b, board, s, Options{})
}

func BenchmarkHundredCold(b *testing.B) {
	board, s := ledBoard(0.15, 0.15, 10, 10, true)
	benchUnit(b, board, s, Options{})
}

func BenchmarkLongBoard(b *testing.B) {
	for _, n := range []int{9, 12} {
		b.Run("sources="+itoa(n), func(b *testing.B) {
			board, s := ledBoard(0.9, 0.04, n, 1, true)
			benchUnit(b, board, s, Options{})
		})
	}
}

// BenchmarkMovedOfHundred is what a user waits for who moves one emitter by a millimetre.
func BenchmarkMovedOfHundred(b *testing.B) {
	board, s := ledBoard(0.15, 0.15, 10, 10, true)
	o := Options{Workers: 1, Fields: &Fields{}}
	if _, err := Unit(context.Background(), board, s, nil, o); err != nil {
		b.Fatal(err)
	}
	from, n := userS(b), 0
	for b.Loop() {
		n++
		s[55].Rect.XM += 1e-4
		board.Layers[0].Cover[55] = geom.Rectangle(s[55].Rect)
		if _, err := Unit(context.Background(), board, s, nil, o); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(1e3*(userS(b)-from)/float64(n), "user-ms/op")
}
