package heat

import (
	"context"
	"fmt"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"lampwright/internal/geom"
)

// viaBoard is ledBoard on FR4 with vias beneath the packages, under foil of the given coverage.
func viaBoard(widthM, heightM float64, nx, ny int, coverage float64) (Board, []Source) {
	b, s := ledBoard(widthM, heightM, nx, ny, true)
	pads := b.Layers[0].Cover
	b.Layers = []Layer{
		{Name: "copper", ThicknessM: 35e-6, KWmK: 385, Cover: pads, Rest: coverage},
		{Name: "core", ThicknessM: 1.6e-3, KWmK: 0.81, KzWmK: 0.29, Vias: pads, ViaKzWmK: 13},
	}
	return b, s
}

// TestNearIsEnough: the field of a source that knows what is near, and the mean of what is far, is that of one that
// knows all: the mean of any source to 0.15 % of its own rise, a fraction of the 1 % that is asked for; and their sum to
// 0.5 %.
func TestNearIsEnough(t *testing.T) {
	if testing.Short() {
		t.Skip("it solves each source twice")
	}
	for _, tt := range []struct {
		name  string
		board func() (Board, []Source)
	}{
		{"aluminium, sparse copper", func() (Board, []Source) {
			b, s := ledBoard(0.064, 0.048, 8, 6, true)
			b.Layers[0].Rest = 0.2
			return b, s
		}},
		{"aluminium, packages 4 mm apart", func() (Board, []Source) { return ledBoard(0.036, 0.024, 9, 6, true) }},
		{"vias on a sink", func() (Board, []Source) { return viaBoard(0.144, 0.12, 12, 10, 0.6) }},
		{"vias in air", func() (Board, []Source) {
			b, s := viaBoard(0.144, 0.12, 12, 10, 0.2)
			b.Contact, b.BackFilmWm2K = nil, 20
			return b, s
		}},
	} {
		b, s := tt.board()
		a := newAsk(&b, s, nil)
		parts := a.parts(len(s))
		for _, j := range []int{0, len(s)/2 + 3} {
			field := func(p part) job {
				f, err := a.of(&p).solve(context.Background(), p.own, Options{}.withDefaults(), nil)
				if err != nil {
					t.Fatal(err)
				}
				return a.job(f, j, identity)
			}
			if n := len(parts[j].b.Layers[0].Cover); n > len(s)/2 {
				t.Errorf("%s: %d pads of %d are near source %d", tt.name, n, len(s), j)
			}
			near := field(parts[j])
			parts[j].b = b
			all := field(parts[j])
			sum, want := 0.0, 0.0
			for i := range s {
				sum, want = sum+near.mean[i], want+all.mean[i]
				if d := math.Abs(near.mean[i]-all.mean[i]) / all.mean[j]; d > 0.0015 {
					t.Errorf("%s: %d by %d differs by %.3f %%", tt.name, i, j, 100*d)
				}
			}
			compare(t, fmt.Sprintf("%s: sum of the rises by %d", tt.name, j), sum, want, 0.005)
		}
	}
}

// TestOneMovedIsOneSolved: after one source has moved, that one and the sink are solved, and the answer is that of a
// board solved anew, to the last bit.
func TestOneMovedIsOneSolved(t *testing.T) {
	b, s := ledBoard(0.06, 0.04, 3, 2, true)
	probes := []Probe{{XM: 0.004, YM: 0.003}, {XM: -0.02, YM: 0.001, DepthM: 1e-3}}
	kept := &Fields{}
	unit(t, b, s, probes, Options{Fields: kept})
	if n := len(kept.kept); n != len(s)+1 {
		t.Fatalf("%d fields of %d sources and the sink", n, len(s))
	}
	before := len(kept.kept)
	s[4].Rect.XM += 1e-3
	b.Layers[0].Cover[4] = geom.Rectangle(s[4].Rect)
	got := unit(t, b, s, probes, Options{Fields: kept})
	if n := len(kept.kept) - before; n != 2 {
		t.Errorf("%d fields were solved, want that of the moved source and that of the sink", n)
	}
	sameResponse(t, got, unit(t, b, s, probes, Options{}))
	b.Layers[0].Cover[0] = geom.Rectangle(geom.Rect{XM: s[0].Rect.XM, YM: s[0].Rect.YM, WidthM: 0.012, HeightM: 0.01})
	sameResponse(t, unit(t, b, s, probes, Options{Fields: kept}), unit(t, b, s, probes, Options{}))
}

func sameResponse(t *testing.T, got, want *Response) {
	t.Helper()
	for _, d := range []string{
		cmp.Diff(want.MeanKW, got.MeanKW), cmp.Diff(want.ProbeKW, got.ProbeKW), cmp.Diff(want.SpotKW, got.SpotKW),
		cmp.Diff(want.Sections, got.Sections), cmp.Diff(want.Sink.Mean, got.Sink.Mean),
	} {
		if d != "" {
			t.Error(d)
		}
	}
}

// TestMeanOfSpots: by the weights of its spots the mean over a side is that of a polynomial of the fifth degree.
func TestMeanOfSpots(t *testing.T) {
	for degree, want := range map[int]float64{0: 1, 2: 1.0 / 12, 4: 1.0 / 80} {
		sum := 0.0
		for k, w := range meanWeight {
			x, _ := spotPlace(geom.Rect{WidthM: 1, HeightM: 1}, k)
			sum += w * math.Pow(x, float64(degree))
		}
		compare(t, fmt.Sprintf("mean of x^%d", degree), sum, want, 1e-12)
	}
}

// TestFieldsAreBounded: the longest unused fields go first.
func TestFieldsAreBounded(t *testing.T) {
	k := &Fields{}
	a, b, c := &unitField{}, &unitField{}, &unitField{}
	k.put("a", a, fieldsBytes/2)
	k.put("b", b, fieldsBytes/2)
	if k.get("a") != a {
		t.Error("a is lost")
	}
	k.put("c", c, fieldsBytes/4)
	if k.get("a") != a || k.get("b") != nil || k.get("c") != c {
		t.Error("b was not used last")
	}
	if k.bytes != fieldsBytes*3/4 {
		t.Errorf("%d bytes", k.bytes)
	}
}

// The means of what is far, by hand. Pieces of full copper (0.0135 W/K a square) on half of it, beside 0.22 W/K of core,
// over a quarter of the board: β = 0.25·0.5·0.013475/(0.2343 + 0.2275) = 0.0036473, s = 0.22754·1.0073212 = 0.229205,
// of which the copper is 0.0084054/0.013475 = 0.6238. Vias of 13 W/(m·K) over a tenth of 1.6 mm of 0.3 W/(m·K), on
// 5e-5 m²·K/W: 0.1/(1.2308e-4 + 5e-5) + 0.9/(5.3333e-3 + 5e-5) = 744.95 W/(m²·K), 1.6e-3/(1/744.95 − 5e-5) =
// 1.2381 W/(m·K), as 7.387 % of vias do.
func TestMeansOfWhatIsFar(t *testing.T) {
	b := Board{
		Layers: []Layer{{ThicknessM: 35e-6, KWmK: 385, Rest: 0.5}, {ThicknessM: 1.6e-3, KWmK: 138}},
		Contact: &Contact{
			Area: geom.Rectangle(geom.Rect{WidthM: 1, HeightM: 1}), ResistM2KW: 5e-5,
		},
	}
	compare(t, "copper", meanShare(&b, 0, 0.25), 0.6238, 1e-3)
	b.Layers[1].KWmK, b.Layers[1].ViaKzWmK = 0.3, 13
	compare(t, "vias", meanVias(&b, 1, 0.1), 0.07387, 1e-3)
}

// TestTurnedSource: in the middle of a disc a source has the same rise however it is turned, within the estimate.
func TestTurnedSource(t *testing.T) {
	if testing.Short() {
		t.Skip("it solves many grids")
	}
	b, _ := discNine()
	for _, layers := range [][]Layer{b.Layers, {{Name: "ceramic", ThicknessM: 1e-3, KWmK: 24}}} {
		b.Layers = layers
		for _, size := range [][2]float64{{3e-3, 3e-3}, {1e-3, 3e-3}, {2e-3, 7e-3}} {
			at := func(deg, relErr float64) *Response {
				r := geom.Rect{WidthM: size[0], HeightM: size[1], AngleRad: deg * math.Pi / 180}
				return unit(t, b, []Source{{Rect: r}}, nil, Options{RelErr: relErr})
			}
			upright := at(0, 0.002)
			for _, deg := range []float64{10, 45, 60} {
				r := at(deg, 0.01)
				compare(t, fmt.Sprintf("%g mm by %g mm turned by %g°", 1e3*size[0], 1e3*size[1], deg), r.MeanKW[0][0],
					upright.MeanKW[0][0], r.Stats.RelErr+upright.Stats.RelErr)
				if r.Stats.RelErr > 0.01 {
					t.Errorf("turned by %g° its estimate is %g", deg, r.Stats.RelErr)
				}
			}
		}
	}
}

// TestLongBoardIsAsFine: the cells about a source are of the same size however long the board is, where it is far from
// an end.
func TestLongBoardIsAsFine(t *testing.T) {
	beside := func(lengthM float64) float64 {
		b, s := ledBoard(lengthM, 0.04, 1, 1, false)
		g := newGrid(&b, s, 0, 4, 1)
		edge := s[0].Rect.XM + s[0].Rect.WidthM/2
		i := within(g.x, edge+1e-6)
		return g.x[i+1] - g.x[i]
	}
	short, long := beside(0.15), beside(1)
	compare(t, "a cell beside a source on a board of 1 m", long, short, 0.15)
}
