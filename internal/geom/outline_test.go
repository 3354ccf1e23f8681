package geom

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func lines(lo, hi float64, n int) []float64 {
	out := make([]float64, n+1)
	for i := range out {
		out[i] = lo + (hi-lo)*float64(i)/float64(n)
	}
	return out
}

func sum(v []float64) float64 {
	t := 0.0
	for _, x := range v {
		t += x
	}
	return t
}

func TestCoverAddsUpToTheArea(t *testing.T) {
	for _, tt := range []struct {
		name  string
		shape Shape
		want  float64
		why   string
	}{
		{"disc", Disc(0.003, -0.002, 0.05), math.Pi * 0.0025, "exact: π r²"},
		{"rectangle", Rectangle(Rect{XM: 0.01, YM: 0, WidthM: 0.03, HeightM: 0.02}), 0.0006, "exact: w h"},
		{"turned rectangle", Rectangle(Rect{WidthM: 0.03, HeightM: 0.02, AngleRad: 0.4}), 0.0006, "exact: a turn keeps the area"},
		{"L", Polygon(Point{0, 0}, Point{0.04, 0}, Point{0.04, 0.01}, Point{0.01, 0.01}, Point{0.01, 0.03}, Point{0, 0.03}), 0.0006, "exact: 40×10 + 10×20 mm²"},
	} {
		got := sum(tt.shape.Cover(lines(-0.06, 0.06, 37), lines(-0.07, 0.06, 41)))
		if math.Abs(got-tt.want) > 1e-12*tt.want*1e3 {
			t.Errorf("%s: area %g, want %g (%s)", tt.name, got, tt.want, tt.why)
		}
		if math.Abs(tt.shape.AreaM2()-tt.want) > 1e-12 {
			t.Errorf("%s: AreaM2 = %g, want %g", tt.name, tt.shape.AreaM2(), tt.want)
		}
	}
}

func TestDiscCoverAgainstFineCounting(t *testing.T) {
	x, y := lines(-1.1, 1.2, 7), lines(-1.3, 1.05, 5)
	got := Disc(0, 0, 1).Cover(x, y)
	const n = 400
	for j := range 5 {
		for i := range 7 {
			in := 0
			for a := range n {
				for b := range n {
					px := x[i] + (x[i+1]-x[i])*(float64(a)+0.5)/n
					py := y[j] + (y[j+1]-y[j])*(float64(b)+0.5)/n
					if px*px+py*py < 1 {
						in++
					}
				}
			}
			cell := (x[i+1] - x[i]) * (y[j+1] - y[j])
			want := cell * float64(in) / (n * n)
			// counting n² points errs by about one point along the rim, 1.5/n of a cell at most
			if math.Abs(got[j*7+i]-want) > 1.5*cell/n {
				t.Errorf("cell %d,%d: %g, want %g", i, j, got[j*7+i], want)
			}
		}
	}
}

func TestPolygonOfManySidesCoversLikeItsDisc(t *testing.T) {
	var p []Point
	const n = 720
	for i := range n {
		s, c := math.Sincos(2 * math.Pi * float64(i) / n)
		p = append(p, Point{c, s})
	}
	x, y := lines(-1.1, 1.1, 9), lines(-1.1, 1.1, 8)
	a, b := Polygon(p...).Cover(x, y), Disc(0, 0, 1).Cover(x, y)
	for i := range a {
		// the polygon lacks π − n/2 sin(2π/n) ≈ 4e-5 in all
		if math.Abs(a[i]-b[i]) > 4e-5 {
			t.Errorf("cell %d: %g and %g", i, a[i], b[i])
		}
	}
}

func TestCheckNamesTheFault(t *testing.T) {
	for _, tt := range []struct {
		name  string
		shape Shape
		ok    bool
	}{
		{"square", Polygon(Point{0, 0}, Point{1, 0}, Point{1, 1}, Point{0, 1}), true},
		{"bow tie", Polygon(Point{0, 0}, Point{1, 1}, Point{1, 0}, Point{0, 1}), false},
		{"fold back", Polygon(Point{0, 0}, Point{1, 0}, Point{0.5, 0}, Point{0, 1}), false},
		{"corner on a side", Polygon(Point{0, 0}, Point{2, 0}, Point{2, 1}, Point{1, 0}, Point{0, 1}), false},
		{"two corners", Polygon(Point{0, 0}, Point{1, 1}), false},
		{"same corner twice", Polygon(Point{0, 0}, Point{1, 0}, Point{1, 0}, Point{0, 1}), false},
		{"disc of nothing", Disc(0, 0, 0), false},
		{"flat rectangle", Rectangle(Rect{WidthM: 1}), false},
		{"not a number", Disc(math.NaN(), 0, 1), false},
		{"no kind", Shape{}, false},
	} {
		if err := tt.shape.Check(); (err == nil) != tt.ok {
			t.Errorf("%s: %v", tt.name, err)
		}
	}
}

func TestQuarterTurnSwapsSides(t *testing.T) {
	r := Rectangle(Rect{XM: 1, YM: 2, WidthM: 3, HeightM: 1, AngleRad: math.Pi / 2})
	x0, x1, y0, y1 := r.Bounds()
	if x0 != 0.5 || x1 != 1.5 || y0 != 0.5 || y1 != 3.5 {
		t.Errorf("bounds %g…%g, %g…%g", x0, x1, y0, y1)
	}
}

// Property: what any shape covers of a grid that holds it is its area, and no cell is over-full.
func TestCoverProperty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.Float64Range
		var s Shape
		if rapid.Bool().Draw(t, "disc") {
			s = Disc(f(-1, 1).Draw(t, "x"), f(-1, 1).Draw(t, "y"), f(0.01, 2).Draw(t, "r"))
		} else {
			s = Rectangle(Rect{f(-1, 1).Draw(t, "x"), f(-1, 1).Draw(t, "y"), f(0.1, 2).Draw(t, "w"), f(0.1, 2).Draw(t, "h"), f(-4, 4).Draw(t, "turn")})
		}
		x, y := lines(-4, 4, rapid.IntRange(1, 20).Draw(t, "nx")), lines(-4, 4, rapid.IntRange(1, 20).Draw(t, "ny"))
		c := s.Cover(x, y)
		cell := (x[1] - x[0]) * (y[1] - y[0])
		for _, a := range c {
			if a < -1e-12 || a > cell*(1+1e-9) {
				t.Fatalf("cell covered %g of %g", a, cell)
			}
		}
		if math.Abs(sum(c)-s.AreaM2()) > 1e-9 {
			t.Fatalf("sum %g, area %g", sum(c), s.AreaM2())
		}
	})
}

func TestRimAndSharedArea(t *testing.T) {
	l := Polygon(Point{0, 0}, Point{4, 0}, Point{4, 1}, Point{1, 1}, Point{1, 3}, Point{0, 3})
	for _, tt := range []struct {
		name      string
		got, want float64
		why       string
	}{
		{"rim of a disc", Disc(1, 2, 3).PerimeterM(), 6 * math.Pi, "2 π r"},
		{"rim of a turned rectangle", Rectangle(Rect{WidthM: 3, HeightM: 2, AngleRad: 0.3}).PerimeterM(), 10, "a turn keeps lengths"},
		{"rim of an L", l.PerimeterM(), 14, "4 + 1 + 3 + 2 + 1 + 3"},
		{"within, over the bend", l.AreaWithinM2(0.5, 2, 0.5, 2), 0.5*1.5 + 1.5*0.5 - 0.25, "two strips less what both have"},
		{"nothing shared", l.AreaWithinM2(2, 3, 2, 3), 0, "beside it"},
		{"no box", l.AreaWithinM2(2, 2, 0, 1), 0, "no width"},
		{"from the bay of the L", l.RimDistanceM(2, 2), 1, "to (2, 1) and to (1, 2)"},
		{"from a corner", l.RimDistanceM(5, -1), math.Sqrt2, "to (4, 0)"},
		{"within a disc", Disc(0, 0, 3).RimDistanceM(0, 1), 2, "r − 1"},
		{"out of a disc", Disc(0, 0, 3).RimDistanceM(3, 4), 2, "5 − r"},
	} {
		if math.Abs(tt.got-tt.want) > 1e-12 {
			t.Errorf("%s: %g, want %g (%s)", tt.name, tt.got, tt.want, tt.why)
		}
	}
}
