package heat

import (
	"fmt"
	"math"
	"testing"

	"lampwright/internal/geom"
)

// symmetricBoard is a core on a contact of its own shape, with sources.
func symmetricBoard(outline geom.Shape, at []geom.Rect) (Board, []Source) {
	b := Board{
		Outline: outline,
		Layers: []Layer{
			{Name: "dielectric", ThicknessM: 100e-6, KWmK: 2}, {Name: "core", ThicknessM: 1.6e-3, KWmK: 140},
		},
		TopFilmWm2K: 12, Contact: &Contact{Area: outline, ResistM2KW: 1e-3},
	}
	var s []Source
	for i, r := range at {
		s = append(s, Source{Name: fmt.Sprint(i), Rect: r})
	}
	return b, s
}

func ring(n int, radiusM float64) (out []geom.Rect) {
	for i := range n {
		angle := 2 * math.Pi * float64(i) / float64(n)
		sin, cos := math.Sincos(angle)
		out = append(out, geom.Rect{
			XM: radiusM * cos, YM: radiusM * sin, WidthM: 2e-3, HeightM: 3e-3, AngleRad: angle,
		})
	}
	return out
}

// bar is four sources that a turn by 180° maps onto each other, and no reflection: two orbits.
var bar = []geom.Rect{
	{XM: -0.03, YM: 0.004, WidthM: 2e-3, HeightM: 3e-3},
	{XM: -0.01, YM: -0.002, WidthM: 2e-3, HeightM: 3e-3},
	{XM: 0.01, YM: 0.002, WidthM: 2e-3, HeightM: 3e-3},
	{XM: 0.03, YM: -0.004, WidthM: 2e-3, HeightM: 3e-3},
}

var (
	disc  = geom.Disc(0, 0, 0.03)
	plate = geom.Rectangle(geom.Rect{WidthM: 0.08, HeightM: 0.02})
)

// submounts puts blocks of some conductivities under the sources of a bar.
func submounts(kWmK ...float64) func(*Board, []Source) {
	return func(_ *Board, s []Source) {
		for i, k := range kWmK {
			s[i].Submount = &Submount{Rect: bar[i], ThicknessM: 1e-3, KWmK: k}
		}
	}
}

// imagesOf is how many sources are images of others.
func imagesOf(b Board, s []Source) (n int) {
	for i, m := range images(newAsk(&b, s, nil).parts(len(s))) {
		if m.of != i {
			n++
		}
	}
	return n
}

func TestImages(t *testing.T) {
	pairs := []geom.Rect{
		{XM: -0.02, YM: 0.005, WidthM: 2e-3, HeightM: 3e-3},
		{XM: 0.02, YM: 0.005, WidthM: 2e-3, HeightM: 3e-3},
		{XM: -0.02, YM: -0.005, WidthM: 2e-3, HeightM: 3e-3},
		{XM: 0.02, YM: -0.005, WidthM: 2e-3, HeightM: 3e-3},
		{XM: 0, YM: 0, WidthM: 2e-3, HeightM: 3e-3},
	}
	for _, tt := range []struct {
		name    string
		outline geom.Shape
		at      []geom.Rect
		change  func(b *Board, s []Source)
		want    int
	}{
		{
			name: "a ring of eight and a rectangle in its middle", outline: disc,
			at: append(ring(8, 0.02), pairs[4]), want: 7, // which no field of the ring knows of
		},
		{
			name: "a ring of eight and a square in its middle", outline: disc,
			at: append(ring(8, 0.02), geom.Rect{WidthM: 2e-3, HeightM: 2e-3}), want: 7,
		},
		{name: "a ring of eight", outline: disc, at: ring(8, 0.02), want: 7},
		{
			name: "a ring of eight on a square", at: ring(8, 0.02), want: 6,
			outline: geom.Rectangle(geom.Rect{WidthM: 0.06, HeightM: 0.06}),
		},
		{
			name: "a ring of eight on a plate", at: ring(8, 0.02), want: 5,
			outline: geom.Rectangle(geom.Rect{WidthM: 0.07, HeightM: 0.06}),
		},
		{name: "a bar", outline: plate, at: bar, want: 2},
		{name: "four and the middle", outline: plate, at: pairs, want: 3},
		{
			name: "a hole on one side", outline: plate, at: pairs, want: 0,
			change: func(b *Board, _ []Source) { b.Holes = []geom.Shape{geom.Disc(0.035, 0.007, 1e-3)} },
		},
		{
			name: "a hole on the axis", outline: plate, at: pairs, want: 2,
			change: func(b *Board, _ []Source) { b.Holes = []geom.Shape{geom.Disc(0.035, 0, 1e-3)} },
		},
		{
			name: "a notch in the rim", at: bar, want: 0,
			outline: geom.Polygon(geom.Point{XM: -0.04, YM: -0.01}, geom.Point{XM: 0.04, YM: -0.01},
				geom.Point{XM: 0.04, YM: 0.008}, geom.Point{XM: -0.04, YM: 0.01}),
			change: func(b *Board, _ []Source) { b.Contact.Area = geom.Rectangle(geom.Rect{WidthM: 0.06, HeightM: 0.01}) },
		},
		{
			name: "another contact", outline: plate, at: bar, want: 0,
			change: func(b *Board, _ []Source) {
				b.Contact.Area = geom.Rectangle(geom.Rect{XM: 0.01, WidthM: 0.06, HeightM: 0.02})
			},
		},
		{
			name: "copper on one side", outline: plate, at: bar, want: 0,
			change: func(b *Board, _ []Source) {
				b.Layers[0].Cover = []geom.Shape{geom.Rectangle(geom.Rect{XM: 0.01, WidthM: 0.06, HeightM: 0.02})}
			},
		},
		{
			name: "vias under one", outline: plate, at: bar, want: 0,
			change: func(b *Board, _ []Source) {
				b.Layers[0].Vias, b.Layers[0].ViaKzWmK = []geom.Shape{geom.Rectangle(bar[0])}, 20
			},
		},
		{
			name: "a pad near the last one", outline: plate, at: bar, want: 1,
			change: func(b *Board, _ []Source) {
				b.Layers = append([]Layer{{
					ThicknessM: 35e-6, KWmK: 385, Rest: 0.5, Cover: []geom.Shape{geom.Rectangle(bar[3])},
				}}, b.Layers...)
			},
		},
		{
			name: "a patch", outline: plate, at: bar, want: 0,
			change: func(b *Board, _ []Source) { b.Patches = []CoefficientPatch{{Top, plate, 5}} },
		},
		{
			name: "a submount under one", outline: plate, at: bar, want: 0,
			change: func(_ *Board, s []Source) { s[0].Submount = &Submount{Rect: bar[0], ThicknessM: 1e-3, KWmK: 20} },
		},
		{
			name: "two kinds of submount", outline: plate, at: bar, want: 2, change: submounts(20, 30, 30, 20),
		},
		{
			name: "three kinds of submount", outline: plate, at: bar, want: 0, change: submounts(20, 30, 31, 20),
		},
		{
			name: "another size", outline: plate, at: bar, want: 1, // the two within
			change: func(_ *Board, s []Source) { s[3].Rect.WidthM = 2.1e-3 },
		},
	} {
		b, s := symmetricBoard(tt.outline, tt.at)
		if tt.change != nil {
			tt.change(&b, s)
		}
		if got := imagesOf(b, s); got != tt.want {
			t.Errorf("%s: %d sources are images, want %d", tt.name, got, tt.want)
		}
	}
}

// TestImagesAreSolutions: the response of a symmetric board is that of a board whose symmetry is broken by a micrometre,
// so that every source is solved; two solves are as good as their grids, 0.5 %.
func TestImagesAreSolutions(t *testing.T) {
	for _, tt := range []struct {
		name    string
		outline geom.Shape
		at      []geom.Rect
		want    int
	}{{"ring", disc, ring(4, 0.018), 3}, {"bar", plate, bar, 2}} {
		b, s := symmetricBoard(tt.outline, tt.at)
		probes := []Probe{{Name: "sensor", XM: 0.012, YM: 0.006}, {Name: "core", XM: -0.02, YM: 0.001, DepthM: 1e-3}}
		got := unit(t, b, s, probes, Options{})
		broken := append([]Source(nil), s...)
		for i := range broken {
			broken[i].Rect.XM += 1e-6 * float64(i+1) * float64(1-2*(i%2))
		}
		if n := imagesOf(b, s); n != tt.want {
			t.Errorf("%s: %d images, want %d", tt.name, n, tt.want)
		}
		if n := imagesOf(b, broken); n != 0 {
			t.Fatalf("%s: %d images after all", tt.name, n)
		}
		want := unit(t, b, broken, probes, Options{})
		worst := 0.0
		near := func(what string, a, b, scale float64) {
			if math.IsNaN(a) != math.IsNaN(b) || math.Abs(a-b) > 0.005*scale {
				t.Errorf("%s, %s: %.5f, want %.5f", tt.name, what, a, b)
			}
			worst = max(worst, math.Abs(a-b)/scale)
		}
		for j := range s {
			own := want.MeanKW[j][j]
			for i := range s {
				near(fmt.Sprintf("mean of %d by %d", i, j), got.MeanKW[i][j], want.MeanKW[i][j], own)
				for k := range got.SpotKW[i] {
					near(fmt.Sprintf("spot %d of %d by %d", k, i, j), got.SpotKW[i][k][j], want.SpotKW[i][k][j], 2*own)
				}
				for k := range got.Sections[i].KW[j] {
					near(fmt.Sprintf("section %d of %d by %d", k, i, j), got.Sections[i].KW[j][k],
						want.Sections[i].KW[j][k], 2*own)
				}
			}
			for i := range probes {
				near("probe", got.ProbeKW[i][j], want.ProbeKW[i][j], 0.2*own)
			}
			for i, v := range got.Raster.KW[j] {
				near(fmt.Sprintf("cell %d of the map by %d", i, j), v, want.Raster.KW[j][i], 4*own)
			}
			near("watts into the sink", got.ToSinkW[j], want.ToSinkW[j], 1)
		}
	}
}
