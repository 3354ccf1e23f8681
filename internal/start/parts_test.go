package start

import (
	"math"
	"slices"
	"testing"

	"lampwright/internal/project"
)

// TestLayouts: on every heat sink and for every lens, emitters and screws keep clear of each other, the board is within
// heat sink and place, and the sensor is on the board.
func TestLayouts(t *testing.T) {
	lib := library(t)
	tried := 0
	for _, id := range lib.Sinks.IDs() {
		s := lib.Sinks.Get(id)
		for _, lens := range []float64{11e-3, 13.5e-3, 27e-3, 33e-3} {
			for _, n := range []int{1, 2, 3, 4, 7, 12, 20, 30} {
				for _, l := range layouts(n, lens, s, 0.5, 0.3) {
					tried++
					checkLayout(t, id, l, lens, s)
				}
			}
		}
	}
	if tried < 100 {
		t.Errorf("%d layouts", tried)
	}
}

func checkLayout(t *testing.T, id string, l layout, lens float64, s *project.Sink) {
	t.Helper()
	far := func(a, b [2]float64) float64 { return math.Hypot(a[0]-b[0], a[1]-b[1]) }
	emitters, screws, sensor := l.emitters(), l.screws(), l.sensor(lens)
	if l.lengthM > s.Base.Length.SI+1e-9 || l.widthM > s.Base.Width.SI+1e-9 || len(emitters) != l.count() {
		t.Errorf("%s, %+v: larger than the base", id, l)
	}
	for i, a := range emitters {
		for _, b := range emitters[:i] {
			if far(a, b) < lens {
				t.Errorf("%s, %+v: lenses %.1f mm apart", id, l, 1e3*far(a, b))
			}
		}
		for _, b := range screws {
			if far(a, b) < lens/2+washerM {
				t.Errorf("%s, %+v: a washer under a lens", id, l)
			}
		}
		if math.Abs(a[0])+lens/2 > l.lengthM/2+1e-9 || math.Abs(a[1])+lens/2 > l.widthM/2+1e-9 ||
			far(a, sensor) < lens/2 {
			t.Errorf("%s, %+v: a lens over the edge or the sensor", id, l)
		}
	}
	for _, b := range screws {
		if math.Abs(b[0])+keepOutM > l.lengthM/2+1e-9 || math.Abs(b[1])+keepOutM > l.widthM/2+1e-9 ||
			far(b, sensor) < keepOutM {
			t.Errorf("%s, %+v: a screw over the edge or the sensor", id, l)
		}
	}
}

// TestFeed: four packages of three dies, at most 3.13 V each, are 37.6 V in series: with 3 V of headroom and the loss
// of the cable only the supply of 48 V feeds them in one channel. No driver delivers 20 A.
func TestFeed(t *testing.T) {
	lib := library(t)
	trio := []*project.Emitter{lib.Emitters.Get("white-4500-trio")}
	f, ok := feed(lib, trio, []int{4}, []float64{0.5})
	if !ok || f.supply.ID.S != "supply-48v-150w" || f.drivers[0].ID.S != "buck-1a" ||
		!slices.Equal(f.strings[0], []int{4}) || f.supplies != 1 {
		t.Errorf("%v: %+v", ok, f)
	}
	// 4 · 37.6/4 V · 0.5 A / 94 % = 20 W: 1.7 · 20/48 A = 0.71 A, and the next rating is 0.8 A.
	if f.fuseA != 0.8 {
		t.Errorf("fuse of %g A", f.fuseA)
	}
	if _, ok := feed(lib, trio, []int{4}, []float64{20}); ok {
		t.Error("20 A are delivered")
	}
	// Two packages suit the small driver as well, whose PWM of 1 kHz is not of low risk.
	if f, ok := feed(lib, trio, []int{2}, []float64{0.5}); !ok || f.drivers[0].ID.S != "buck-1a" {
		t.Errorf("2 packages: %+v", f)
	}
	// 2.5 A: the fuse melts at 2.1 · 2.5 A = 5.3 A at the latest; a wire of 4 A withstands 1.45 · 4 A = 5.8 A.
	if w := wireFor(lib, 2.5, math.Inf(1)); w != "awg20" {
		t.Errorf("wire behind a fuse of 2.5 A: %s", w)
	}
	if w := wireFor(lib, 0.5, 0.06); w != "awg22" {
		t.Errorf("wire of at most 60 mΩ/m: %s", w)
	}
	// Thirteen packages are more than 48 V can feed in three strings of four.
	if f, ok := feed(lib, trio, []int{13}, []float64{0.5}); !ok || f.channels() != 4 {
		t.Errorf("13 packages: %+v", f.strings)
	}
}

func TestEvenly(t *testing.T) {
	for _, tt := range []struct {
		n, most int
		want    []int
	}{{4, 4, []int{4}}, {5, 4, []int{2, 3}}, {13, 4, []int{3, 3, 3, 4}}, {1, 9, []int{1}}} {
		if got := evenly(tt.n, tt.most); !slices.Equal(got, tt.want) {
			t.Errorf("evenly(%d, %d) = %v, want %v", tt.n, tt.most, got, tt.want)
		}
	}
}

// TestRecipes: a look within the band of a white needs no second emitter; 6500 K needs blue beside the white of 5700 K.
func TestRecipes(t *testing.T) {
	lib := library(t)
	for _, tt := range []struct {
		form Form
		want []string
	}{
		{Form{CCT: "4500 K", Ra: "90"}, []string{"white-4500-trio"}},
		{Form{CCT: "3000 K", Ra: "90"}, []string{"white-3000"}},
		{Form{CCT: "6500 K"}, []string{"white-5700-trio", "blue-473"}},
	} {
		a := answers(t, tt.form)
		r := recipes(lib, &a)[0]
		var ids []string
		for _, e := range r.parts {
			ids = append(ids, e.ID.S)
		}
		if !slices.Equal(ids, tt.want) || r.miss(&a) != 0 || math.Abs(r.cctK-a.CCTK) > 250 {
			t.Errorf("%+v: %v, %.0f K, Ra %.1f, miss %g", tt.form, ids, r.cctK, r.ra, r.miss(&a))
		}
	}
}
