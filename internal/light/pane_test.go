package light

import (
	"context"
	"math"
	"testing"

	"lampwright/internal/intensity"
	"pgregory.net/rapid"
)

// backed returns a tank whose left pane has a backing.
func backed(p Pane) Tank {
	return Tank{LengthM: 1, WidthM: 1, HeightM: 1, GlassM: 0.01, WaterIndex: 1.333, Panes: [4]Pane{Left: p}}
}

// Mirror reflectance of a pane with paint on it, and of a clean one. Values of the reference, checks.md part 1: paint
// ends total reflection, as 1.333 < 1.5; half a unit of the last digit.
func TestPaneMirrors(t *testing.T) {
	paint, paper := Pane{Backing: Contact, Reflectance: 0.04}, Pane{Backing: Gap, Reflectance: 0.5}
	for _, tt := range []struct {
		name   string
		pane   Pane
		n, deg float64
		want   float64
		tol    float64
	}{
		{"clean, wet", Pane{}, 1.333, 0, 0.0465, 5e-5},
		{"clean, wet, beyond the critical angle", Pane{}, 1.333, 48.7, 1, 0},
		{"paint, wet", paint, 1.333, 0, 0.00434, 5e-6},
		{"paint, wet", paint, 1.333, 60, 0.02125, 5e-6},
		{"paint, wet", paint, 1.333, 80, 0.2389, 5e-5},
		{"paint, dry", paint, 1, 0, 0.0426, 5e-5},
		{"paint, dry", paint, 1, 60, 0.0925, 5e-5},
		{"paper, wet", paper, 1.333, 0, 0.0465, 5e-5},
		{"paper, wet, beyond the critical angle", paper, 1.333, 60, 1, 0},
		{"algae", Pane{Loss: 0.1}, 1.333, 60, 0.9, 1e-12},
		{"plate inside", Pane{Backing: Inside, Reflectance: 0.5}, 1.333, 80, 0, 0},
	} {
		got, passed := backed(tt.pane).Mirror(Left, tt.n, math.Cos(rad(tt.deg)))
		near(t, tt.name, got, tt.want, tt.tol)
		if tt.pane.Loss == 0 {
			near(t, tt.name+", whole", got+passed, 1, 1e-12)
		}
	}
}

// The fraction that a backing returns of the light that passes the glass to it. Values of the reference, checks.md part
// 1, table; half a unit of the last digit.
func TestBackingReturns(t *testing.T) {
	for _, row := range [][5]float64{ // pigment; contact dry, wet; gap dry, wet
		{0.04, 0.01649, 0.03083, 0.03407, 0.03620},
		{0.1, 0.04279, 0.07819, 0.08596, 0.09105},
		{0.2, 0.09139, 0.16026, 0.17465, 0.18393},
		{0.5, 0.28690, 0.43291, 0.45841, 0.47411},
		{0.8, 0.61676, 0.75330, 0.77199, 0.78290},
	} {
		for k, by := range []struct {
			backing Backing
			n       float64
		}{{Contact, 1}, {Contact, 1.333}, {Gap, 1}, {Gap, 1.333}} {
			o := backed(Pane{Backing: by.backing, Reflectance: row[0]}).PaneOptics(Left, by.n)
			near(t, "returned", o.Diffuse, row[k+1], 1e-5)
		}
		inside := backed(Pane{Backing: Inside, Reflectance: row[0], Loss: 0.1}).PaneOptics(Left, 1.333)
		near(t, "plate inside", inside.Diffuse, 0.9*row[0], 1e-12)
	}
	near(t, "clean", func() float64 { o := backed(Pane{}).PaneOptics(Left, 1.333); return o.Diffuse }(), 0, 0)
}

// What a backing returns and absorbs is what passes the glass, for glass that absorbs too: t + r < 1 then, and the
// returned fraction is below that of clear glass.
func TestBackingConservesEnergy(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rho := rapid.Float64Range(0.01, 1).Draw(t, "rho")
		n := rapid.SampledFrom([]float64{1, 1.333}).Draw(t, "n")
		b := rapid.SampledFrom([]Backing{Contact, Gap}).Draw(t, "backing")
		tank := backed(Pane{Backing: b, Reflectance: rho})
		clear := tank.PaneOptics(Left, n).Diffuse
		tank.GlassPerM = rapid.Float64Range(0.1, 20).Draw(t, "a")
		tinted := tank.PaneOptics(Left, n).Diffuse
		if !(clear > 0 && clear <= 1+1e-9) || !(tinted < clear) {
			t.Fatalf("clear %g, tinted %g", clear, tinted)
		}
	})
	// A white pigment behind clear glass absorbs nothing.
	near(t, "white", func() float64 {
		o := backed(Pane{Backing: Contact, Reflectance: 1}).PaneOptics(Left, 1.333)
		return o.Diffuse
	}(), 1, 1e-9)
}

// Cover glass of 4 mm and 3 /m at normal incidence, from the reference, checks.md part 1.
func TestCoverSplit(t *testing.T) {
	r, tr := Cover{ThicknessM: 0.004, PerM: 3}.Split(1)
	near(t, "reflected", r, 0.08075, 5e-6)
	near(t, "transmitted", tr, 0.90732, 5e-6)
	_, wet := Cover{ThicknessM: 0.004, PerM: 3, Loss: 0.1}.Split(1)
	near(t, "with deposits", wet, 0.9*0.90732, 5e-6)
	r, tr = Cover{}.Split(0.3)
	near(t, "no cover", r, 0, 0)
	near(t, "no cover", tr, 1, 0)
}

// paneTank is the tank of the reference cases G1 and G2 (checks.md part 1) with its three sources.
func paneTank(t *testing.T) (Tank, []Emitter, [][]float64) {
	p, err := intensity.CosineBeam(rad(74))
	if err != nil {
		t.Fatal(err)
	}
	tank := Tank{
		LengthM: 0.78, WidthM: 0.38, HeightM: 0.44, WaterDepthM: 0.385, WaterIndex: 1.333, GlassM: 0.006,
		Bands: []Band{{AbsorptionPerM: 0.09, SubstrateReflectance: 0.12}},
	}
	return tank, []Emitter{
		{XM: -0.22, YM: 0.03, ZM: 0.625, Distribution: p},
		{XM: 0.01, YM: -0.02, ZM: 0.625, Distribution: p},
		{XM: 0.25, YM: 0.03, ZM: 0.625, Distribution: p},
	}, [][]float64{{14}, {21}, {14}}
}

// One pane painted with a pigment of reflectance 0: a lattice of images with a radiosity matrix of the reference
// (checks.md part 1, second methods) gives 125.485, 98.240 and 0.7040. Tolerance 0.1 %, the accuracy of its Monte
// Carlo, and 0.002 of the uniformity.
func TestBlackPaneMeetsLattice(t *testing.T) {
	tank, em, w := paneTank(t)
	tank.Panes[Back] = Pane{Backing: Contact}
	g := Grid{NX: 13, NY: 6}
	s := Summarise(must(WallMap(context.Background(), tank, em, tank.Surface(), g)).Mix(w))
	b := Summarise(must(WallMap(context.Background(), tank, em, tank.Substrate(), g)).Mix(w))
	near(t, "surface", s.Mean, 125.485, 0.13)
	near(t, "substrate", b.Mean, 98.240, 0.10)
	near(t, "uniformity", b.MinOverMean, 0.7040, 0.002)
}

// Panes that differ along an axis are each met by the rays towards them: a tank is the mirror image of its mirror
// image.
func TestPanesMirrored(t *testing.T) {
	tank, em, w := paneTank(t)
	tank.Panes = [4]Pane{
		Left: {Backing: Contact, Reflectance: 0.3}, Front: {Loss: 0.2}, Back: {Backing: Gap, Reflectance: 0.6},
	}
	turned := tank
	turned.Panes[Left], turned.Panes[Right] = tank.Panes[Right], tank.Panes[Left]
	turned.Panes[Front], turned.Panes[Back] = tank.Panes[Back], tank.Panes[Front]
	back := append([]Emitter(nil), em...)
	for i := range back {
		back[i].XM, back[i].YM = -back[i].XM, -back[i].YM
	}
	g := Grid{NX: 8, NY: 6}
	for _, p := range []Plane{tank.Surface(), tank.Substrate(), tank.AtDepth(0.2)} {
		a := must(WallMap(context.Background(), tank, em, p, g)).Mix(w)
		b := must(WallMap(context.Background(), turned, back, p, g)).Mix(w)
		for i, v := range a {
			// The lattices of the beams are not mirror images of each other: cells beside a pane differ by up to 0.6 %.
			if o := b[len(b)-1-i]; math.Abs(v-o) > 1e-2*v {
				t.Errorf("%s cell %d: %g, turned %g", p.Name, i, v, o)
			}
		}
	}
	// Two mirror-symmetric lamps are not copied where the panes differ.
	pair := []Emitter{em[0], em[0]}
	pair[1].XM = -pair[0].XM
	r := must(WallMap(context.Background(), tank, pair, tank.Substrate(), Grid{NX: 2, NY: 2}))
	if r.Map(0, 0)[0] == r.Map(1, 0)[1] {
		t.Error("mirror images in spite of different panes")
	}
}

// The exchange is kept between calls, and the answer is the same.
func TestExchangeIsCached(t *testing.T) {
	tank, em, _ := paneTank(t)
	tank.Panes[Back] = Pane{Backing: Contact, Reflectance: 0.5}
	var m Interreflection
	g := Grid{NX: 6, NY: 4}
	fresh := must(WallMap(context.Background(), tank, em, tank.Substrate(), g))
	for range 2 {
		kept := must(WallMapWith(context.Background(), tank, em, tank.Substrate(), g, &m))
		for i, v := range fresh.Data {
			near(t, "cell", kept.Data[i], v, 1e-12*v)
		}
	}
	if len(m.exchanges) != 1 {
		t.Errorf("%d exchanges are kept, want 1", len(m.exchanges))
	}
	tank.Panes[Back].Reflectance = 0.1
	darker := must(WallMapWith(context.Background(), tank, em, tank.Substrate(), g, &m))
	if !(darker.Data[0] < fresh.Data[0]) {
		t.Errorf("a darker pane: %g, want below %g", darker.Data[0], fresh.Data[0])
	}
}

// Four equal panes with algae: images with inter-reflection, and radiosity with beams, give the same light. They share
// the images only. Tolerance 0.3 %, the coarse cells of the inter-reflection.
func TestEqualMirrors(t *testing.T) {
	tank, em, w := paneTank(t)
	tank.Bands[0].SubstrateReflectance = 0.5
	for s := range tank.Panes {
		tank.Panes[s].Loss = 0.1
	}
	g := Grid{NX: 13, NY: 6}
	plane := tank.Substrate()
	got := Summarise(must(WallMap(context.Background(), tank, em, plane, g)).Mix(w))
	r := must(tank.darkMap(em, plane, g))
	if err := tank.fill(context.Background(), &r, em, true); err != nil {
		t.Fatal(err)
	}
	first := Summarise(r.Mix(w)).Mean
	if err := tank.addScattered(context.Background(), &r, em, nil); err != nil {
		t.Fatal(err)
	}
	want := Summarise(r.Mix(w))
	near(t, "mean", got.Mean, want.Mean, 3e-3*want.Mean)
	near(t, "minimum", got.Min, want.Min, 1e-2*want.Min)
	if got.Mean < 1.01*first {
		t.Errorf("the substrate returns %g over %g, too little to compare", got.Mean, first)
	}
}

func TestPaneChecks(t *testing.T) {
	for name, tank := range map[string]Tank{
		"reflectance": backed(Pane{Backing: Gap, Reflectance: 1.2}),
		"loss":        backed(Pane{Loss: 1}),
		"backing":     backed(Pane{Backing: 9}),
		"binder":      backed(Pane{Backing: Contact, BinderIndex: 0.5}),
		"cover":       {LengthM: 1, WidthM: 1, HeightM: 1, GlassM: 0.01, Cover: Cover{ThicknessM: -1}},
		"cover index": {LengthM: 1, WidthM: 1, HeightM: 1, GlassM: 0.01, Cover: Cover{ThicknessM: 0.004, Index: 5}},
	} {
		if tank.Check() == nil {
			t.Errorf("%s: no error", name)
		}
	}
}
