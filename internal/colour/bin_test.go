package colour

import (
	"math"
	"math/rand/v2"
	"testing"

	"lampwright/internal/spectrum"
)

// TestLocusTable: the table of the locus against the sum over the spectrum, between and at its points.
func TestLocusTable(t *testing.T) {
	worst := 0.0
	for mired := 10.0; mired <= 1250; mired += 0.73 {
		p, d := locusBetween(mired)
		wantP, wantD := planckUV(mired)
		worst = math.Max(worst, math.Hypot(p.U-wantP.U, p.V-wantP.V))
		if math.Hypot(d.U-wantD.U, d.V-wantD.V) > 1e-8 {
			t.Fatalf("derivative at %g mired %v, want %v", mired, d, wantD)
		}
	}
	if worst > 1e-9 {
		t.Errorf("the table is off by %g in (u, v), want 1e-9", worst)
	}
}

// TestTypicalBin: half-widths of nominal CCTs that ANSI C78.377 tabulates (cited from memory), to 20 %: the standard's
// own table differs that much from its formula.
func TestTypicalBin(t *testing.T) {
	for _, tt := range []struct{ cctK, half float64 }{
		{2725, 145}, {3045, 175}, {3465, 245}, {3985, 275}, {4503, 243}, {5029, 283}, {5667, 355}, {6532, 510},
	} {
		b := TypicalBin(tt.cctK)
		if math.Abs(b.CCTHiK/tt.half-1) > 0.2 || b.CCTLoK != -b.CCTHiK {
			t.Errorf("half-width at %g K: %g K to %g K, want ±%g K", tt.cctK, b.CCTLoK, b.CCTHiK, tt.half)
		}
	}
	// Beyond the standard the reciprocal width stays: 510 K at 6500 K is 12 mired, at 13000 K four times as many K.
	if a, b := TypicalBin(6500).CCTHiK, TypicalBin(13000).CCTHiK; math.Abs(b-4*a) > 1e-9 {
		t.Errorf("%g K at 13000 K, want %g K", b, 4*a)
	}
	if a, b := TypicalBin(2700).CCTHiK, TypicalBin(1350).CCTHiK; math.Abs(b-a/4) > 1e-9 {
		t.Errorf("%g K at 1350 K, want %g K", b, a/4)
	}
}

// TestReel: a light shifted to a reel has the CCT and Duv of its spectrum plus those of the reel, and its lumens.
func TestReel(t *testing.T) {
	led, err := spectrum.FromPeaks([]spectrum.Peak{{CentreNM: 452, FWHMNM: 20, RadiantShare: 0.261}, {
		CentreNM: 564, FWHMNM: 122, RadiantShare: 0.739,
	}})
	if err != nil {
		t.Fatal(err)
	}
	w, ok := NewBinned(Tristimulus(led.ScaleToLm(780)))
	if !ok || math.Abs(w.Nominal.K-6456.663) > 3 || math.Abs(w.Nominal.Duv-0.001454109) > 1e-4 {
		t.Fatalf("%+v, want 6456.7 K and +0.00145 (open case N1, checks.md part 7)", w.Nominal)
	}
	got := w.Of(Reel{CCTK: 120, Duv: -0.0025})
	xy, _ := got.XY()
	at := CCT(xy)
	if math.Abs(at.K-w.Nominal.K-120) > 0.01 || math.Abs(at.Duv-w.Nominal.Duv+0.0025) > 1e-8 {
		t.Errorf("%+v, want 120 K and −0.0025 from %+v", at, w.Nominal)
	}
	if math.Abs(got.Y-780) > 1e-9 {
		t.Errorf("%g lm, want 780 lm", got.Y)
	}
	if same := w.Of(Reel{}); math.Abs(same.X-Tristimulus(led.ScaleToLm(780)).X) > 1e-5 {
		t.Errorf("a reel without a change has X = %g", same.X)
	}
	if xy, _ := w.Of(Reel{CCTK: -1e4}).XY(); math.Abs(CCT(xy).K-minCCTK) > 1 {
		t.Errorf("a reel below 1000 K: %+v", CCT(xy))
	}
	if _, ok := NewBinned(XYZ{}); ok {
		t.Error("no light has a bin")
	}
	if _, ok := NewBinned(XY{0.15, 0.05}.Scaled(10)); ok {
		t.Error("blue has a bin of CCT")
	}
}

// TestBinDraw: moments of the two distributions, closed form: a uniform one of half-width a has the variance a²/3.
func TestBinDraw(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 1))
	b := Bin{CCTLoK: -50, CCTHiK: 150, DuvLo: -0.001, DuvHi: 0.003, DuvSD: 0.002}
	const n = 40_000
	var k, kk, d, dd float64
	for range n {
		r := b.Draw(rng)
		if r.CCTK < -50 || r.CCTK > 150 {
			t.Fatalf("%g K is outside the bin", r.CCTK)
		}
		k, kk, d, dd = k+r.CCTK/n, kk+r.CCTK*r.CCTK/n, d+r.Duv/n, dd+r.Duv*r.Duv/n
	}
	for _, tt := range []struct {
		name      string
		got, want float64
		tol       float64
	}{
		// four standard errors of 40 000 samples: 4·sd/200, of a standard deviation 4·sd/√(2·40 000)
		{"mean CCT", k, 50, 1.2},
		{"sd of CCT", math.Sqrt(kk - k*k), 100 / math.Sqrt(3), 0.9},
		{"mean Duv", d, 0.001, 5e-5},
		{"sd of Duv", math.Sqrt(dd - d*d), math.Sqrt(4e-6/3 + 4e-6), 4e-5},
	} {
		if math.Abs(tt.got-tt.want) > tt.tol {
			t.Errorf("%s %g, want %g ± %g", tt.name, tt.got, tt.want, tt.tol)
		}
	}
}
