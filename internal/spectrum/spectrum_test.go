package spectrum

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func illuminant(t testing.TB, name string) Spectrum {
	t.Helper()
	if name == "E" {
		return Equal()
	}
	s, ok := Illuminant(name)
	if !ok {
		t.Fatalf("no illuminant %q", name)
	}
	return s
}

func pick(t testing.TB, name string, lo, hi, step int) Spectrum {
	t.Helper()
	s, err := illuminant(t, name).Pick(lo, hi, step)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestPhotonUmolJ(t *testing.T) {
	for _, tt := range []struct{ nm, want float64 }{
		{400, 3.34374}, {450, 3.76171}, {525, 4.38866}, {590, 4.93201}, {660, 5.51717}, {730, 6.10232},
	} {
		if got := PhotonUmolJ(tt.nm); math.Abs(got-tt.want) > 1e-5 {
			t.Errorf("PhotonUmolJ(%g) = %g, want %g ± 1e-5 (exact SI 2019 constants)", tt.nm, got, tt.want)
		}
	}
}

func TestSumsOfIlluminants(t *testing.T) {
	for _, tt := range []struct {
		name         string
		lo, hi, step int
		what         string
		want, tol    float64
		source       string
	}{
		{"A", 380, 780, 1, "ler", 155.78, 0.05, "reference calculation, 1 nm"},
		{"A", 360, 830, 1, "ler", 122.67, 0.05, "reference calculation, 1 nm"},
		{"D65", 380, 780, 1, "ler", 204.82, 0.05, "reference calculation, 1 nm"},
		{"D65", 360, 830, 1, "ler", 184.17, 0.05, "reference calculation, 1 nm"},
		{"E", 380, 780, 1, "ler", 182.00, 0.05, "reference calculation, 1 nm"},
		{"E", 360, 830, 1, "ler", 154.95, 0.05, "reference calculation, 1 nm"},
		{"D65", 380, 780, 5, "lux", 55.50, 0.05, "reference calculation, trapezoid"},
		{"A", 380, 780, 5, "lux", 50.25, 0.05, "reference calculation, trapezoid"},
		{"FL2", 380, 780, 5, "lux", 76.51, 0.05, "reference calculation, trapezoid"},
		{"HP1", 380, 780, 5, "lux", 85.86, 0.05, "reference calculation, trapezoid"},
		{"D65", 380, 780, 5, "umolW", 4.5284, 0.001, "reference calculation, trapezoid"},
		{"FL2", 380, 780, 5, "umolW", 4.5327, 0.001, "reference calculation, trapezoid"},
		// Published factors of real lamps of these kinds scatter by 6 % between papers.
		{"D65", 380, 780, 5, "lux", 54, 0.06 * 54, "ThimijanHeins1983 Table 3, sun and sky"},
		{"A", 380, 780, 5, "lux", 50, 0.06 * 50, "ThimijanHeins1983 Table 3, incandescent"},
		{"FL2", 380, 780, 5, "lux", 74, 0.06 * 74, "ThimijanHeins1983 Table 3, cool white fluorescent"},
		{"FL2", 380, 780, 5, "lux", 78.75, 0.06 * 78.75, "Deitzer1994, cool white fluorescent"},
		{"HP1", 380, 780, 5, "lux", 82, 0.06 * 82, "ThimijanHeins1983 Table 3, high pressure sodium"},
	} {
		s := pick(t, tt.name, tt.lo, tt.hi, tt.step)
		var got float64
		switch tt.what {
		case "ler":
			got = s.LERlmW()
		case "lux":
			got = s.LuminousLmUmol()
		case "umolW":
			got = s.PhotonUmolS(400, 700) / s.BandW(400, 700)
		}
		if math.Abs(got-tt.want) > tt.tol {
			t.Errorf("%s %s over %d–%d nm by %d nm = %g, want %g ± %g (%s)", tt.name, tt.what, tt.lo, tt.hi, tt.step, got, tt.want, tt.tol, tt.source)
		}
	}
}

// The formula of illuminant A uses c₂ = 1.435e-2 and 2848 K, which is the black body of 1.4388/1.435 × 2848 K.
func TestPlanckIsIlluminantA(t *testing.T) {
	a, p := illuminant(t, "A"), Planck(2848*1.4388/1.435)
	for nm := 360.0; nm <= 830; nm += 10 {
		want := a.At(nm) / 100
		if got := p.At(nm); math.Abs(got/want-1) > 1e-5 {
			t.Errorf("Planck at %g nm = %g, want %g ± 1e-5 (ISO/CIE 11664-2 Table 1)", nm, got, want)
		}
	}
}

func TestDaylightIsIlluminantD(t *testing.T) {
	for _, tt := range []struct {
		name        string
		nominal, nm float64
		want, tol   float64
		source      string
	}{
		// Unrounded M1 and M2, as this program uses; the printed tables round them to three decimals.
		{"D50", 5000, 385, 27.190, 0.001, "CIE15-2018 formula, M unrounded"},
		{"D50", 5000, 540, 100.756, 0.001, "CIE15-2018 formula, M unrounded"},
		{"D75", 7500, 385, 68.344, 0.001, "CIE15-2018 formula, M unrounded"},
		{"D75", 7500, 540, 106.290, 0.001, "CIE15-2018 formula, M unrounded"},
		{"D50", 5000, 385, 27.179, 0.02, "CIE15-2018 Table 5, M rounded"},
		{"D75", 7500, 540, 106.289, 0.02, "CIE15-2018 Table 5, M rounded"},
		{"D65", 6500, 460, 117.812, 0.03, "ISO/CIE 11664-2 Table 1"},
	} {
		s, err := Daylight(tt.nominal * 1.4388 / 1.4380)
		if err != nil {
			t.Fatal(err)
		}
		if got := s.At(tt.nm); math.Abs(got-tt.want) > tt.tol {
			t.Errorf("%s at %g nm = %g, want %g ± %g (%s)", tt.name, tt.nm, got, tt.want, tt.tol, tt.source)
		}
	}
	for _, k := range []float64{3999, 25001, math.NaN()} {
		if _, err := Daylight(k); err == nil {
			t.Errorf("Daylight(%g) gave no error", k)
		}
	}
}

func TestDaylightXY(t *testing.T) {
	for _, tt := range []struct{ k, x, y float64 }{
		{5000, 0.34574, 0.35867},
		{6500, 0.31278, 0.32918},
		{8000, 0.29377, 0.30922},
	} {
		x, y, err := DaylightXY(tt.k)
		if err != nil || math.Abs(x-tt.x) > 1e-5 || math.Abs(y-tt.y) > 1e-5 {
			t.Errorf("DaylightXY(%g) = %g, %g, %v; want %g, %g ± 1e-5 (CIE15-2018 eqs 4.1 to 4.3)", tt.k, x, y, err, tt.x, tt.y)
		}
	}
}

func TestOneLineOf555IsKm(t *testing.T) {
	v := make([]float64, Count)
	v[555-LoNM] = 1
	s, err := OnGrid(LoNM, 1, v)
	if err != nil {
		t.Fatal(err)
	}
	if got := s.LuminousLm(); math.Abs(got-683.002) > 0.001 {
		t.Errorf("1 W at 555 nm gives %g lm, want 683.002 (CIE018-2019)", got)
	}
}

func TestFromPeaks(t *testing.T) {
	s, err := FromPeaks([]Peak{
		{CentreNM: 450, FWHMNM: 20, RadiantShare: 3},
		{CentreNM: 660, FWHMNM: 20, RadiantShare: 1},
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		name           string
		got, want, tol float64
	}{
		{"radiant power", s.RadiantW(), 1, 1e-12},
		{"fraction of the blue hump", s.BandW(400, 550), 0.75, 1e-6},
		{"peak", s.PeakNM(), 450, 0.01},
		{"width", s.FWHMNM(), 20, 0.05},
		{"centroid", s.CentroidNM(), 0.75*450 + 0.25*660, 1e-6},
		// A narrow symmetric hump carries the photons of its centre.
		{"photons", s.PhotonUmolS(360, 830), 0.75*PhotonUmolJ(450) + 0.25*PhotonUmolJ(660), 1e-6},
	} {
		if math.Abs(tt.got-tt.want) > tt.tol {
			t.Errorf("%s = %g, want %g ± %g (exact)", tt.name, tt.got, tt.want, tt.tol)
		}
	}
	skew, err := FromPeaks([]Peak{{CentreNM: 560, FWHMNM: 80, RedFWHMNM: 120, RadiantShare: 1}})
	if err != nil {
		t.Fatal(err)
	}
	if got := skew.FWHMNM(); math.Abs(got-100) > 0.1 {
		t.Errorf("width of a skew hump = %g, want 100 ± 0.1 (half of each side)", got)
	}
	if got, want := skew.BandW(360, 560), 0.4; math.Abs(got-want) > 1e-3 {
		t.Errorf("blue side of a skew hump contains %g, want %g ± 1e-3 (80/(80+120))", got, want)
	}
}

func TestFromPeaksRefuses(t *testing.T) {
	for _, tt := range []struct {
		name  string
		peaks []Peak
		text  string
	}{
		{"none", nil, "no peaks"},
		{"micrometres", []Peak{{0.45, 0.02, 0, 1}}, "centre of 0.45 nm"},
		{"no width", []Peak{{450, 0, 0, 1}}, "width of 0 nm"},
		{"red width", []Peak{{450, 20, 900, 1}}, "red side"},
		{"negative share", []Peak{{450, 20, 0, -1}}, "fraction of -1"},
		{"no share", []Peak{{450, 20, 0, 0}}, "share above zero"},
		{"not a number", []Peak{{math.NaN(), 20, 0, 1}}, "centre"},
	} {
		_, err := FromPeaks(tt.peaks)
		if err == nil || !strings.Contains(err.Error(), tt.text) {
			t.Errorf("%s: error %v, want one that says %q", tt.name, err, tt.text)
		}
	}
}

// A digitised curve at 5 nm to 10 nm must come back as the smooth spectrum it was read from.
func TestFromTableResamples(t *testing.T) {
	whole, err := FromPeaks([]Peak{{450, 22, 0, 0.35}, {560, 110, 130, 0.65}})
	if err != nil {
		t.Fatal(err)
	}
	var nm, v []float64
	for x := 380.0; x <= 800; x += 5 {
		nm, v = append(nm, x), append(v, whole.At(x))
	}
	s, err := FromTable(nm, v)
	if err != nil {
		t.Fatal(err)
	}
	// CIE167-2005 asks interpolation errors to stay far below those of measurement, 1 % here.
	if got, want := s.LERlmW(), whole.LERlmW(); math.Abs(got/want-1) > 0.002 {
		t.Errorf("LER of the 5 nm table = %g, of the spectrum %g", got, want)
	}
	if lo, hi := s.Known(); lo != LoNM || hi != HiNM {
		t.Errorf("a table with dark ends is known over %g–%g nm, want the whole grid", lo, hi)
	}
}

func TestFromTableRefusesAndNotes(t *testing.T) {
	for _, tt := range []struct {
		name  string
		nm, v []float64
		text  string
	}{
		{"short", []float64{400, 500}, []float64{1, 2}, "three"},
		{"unsorted", []float64{400, 500, 450}, []float64{1, 2, 3}, "increase"},
		{"negative", []float64{400, 450, 500}, []float64{1, -2, 3}, "negative"},
		{"not finite", []float64{400, 450, 500}, []float64{1, math.Inf(1), 3}, "finite"},
		{"micrometres", []float64{0.4, 0.5, 0.6}, []float64{1, 2, 3}, "wholly outside"},
	} {
		_, err := FromTable(tt.nm, tt.v)
		if err == nil || !strings.Contains(err.Error(), tt.text) {
			t.Errorf("%s: error %v, want one that says %q", tt.name, err, tt.text)
		}
	}
	s, err := FromTable([]float64{420, 500, 600}, []float64{1, 1, 0})
	if err != nil {
		t.Fatal(err)
	}
	if lo, hi := s.Known(); lo != 420 || hi != HiNM {
		t.Errorf("known over %g–%g nm, want 420–830 (bright at 420, dark at 600)", lo, hi)
	}
}

func TestOnGridCropsAndRefuses(t *testing.T) {
	v := make([]float64, 100)
	for i := range v {
		v[i] = 1
	}
	s, err := OnGrid(300, 10, v) // to 1290 nm
	if err != nil {
		t.Fatal(err)
	}
	if lo, hi, step := s.Grid(); lo != 360 || hi != 830 || step != 10 {
		t.Errorf("grid %d–%d by %d nm, want 360–830 by 10", lo, hi, step)
	}
	for _, tt := range []struct {
		name     string
		lo, step int
		v        []float64
	}{
		{"no step", 400, 0, v},
		{"wide step", 400, 50, v},
		{"outside", 900, 5, v},
		{"before", 100, 1, v},
		{"negative", 400, 5, []float64{1, -1}},
		{"not a number", 400, 5, []float64{1, math.NaN()}},
	} {
		if _, err := OnGrid(tt.lo, tt.step, tt.v); err == nil {
			t.Errorf("%s: no error", tt.name)
		}
	}
}

func TestPick(t *testing.T) {
	s := illuminant(t, "LED-B1")
	for _, bad := range [][3]int{{370, 780, 5}, {380, 790, 5}, {380, 780, 0}} {
		if _, err := s.Pick(bad[0], bad[1], bad[2]); err == nil {
			t.Errorf("Pick(%v) gave no error", bad)
		}
	}
	if _, err := illuminant(t, "FL1").Pick(380, 780, 1); err == nil {
		t.Error("1 nm samples of a 5 nm table gave no error")
	}
}

func TestShift(t *testing.T) {
	s, err := FromPeaks([]Peak{{450, 20, 0, 1}})
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range []float64{-3, -0.4, 0.25, 1, 6.7} {
		m := s.Shift(d)
		if got := m.CentroidNM(); math.Abs(got-450-d) > 1e-3 {
			t.Errorf("shift by %g nm moves the centroid to %g", d, got)
		}
		if got := m.FWHMNM(); math.Abs(got-20) > 0.05 {
			t.Errorf("shift by %g nm changes the width to %g", d, got)
		}
		if got := m.RadiantW(); math.Abs(got-1) > 1e-9 {
			t.Errorf("shift by %g nm changes the power to %g W", d, got)
		}
	}
	for _, d := range []float64{1e6, -1e6, 475} {
		if got := s.Shift(d).RadiantW(); got > 1e-6 {
			t.Errorf("shifted by %g nm, out of range, %g W are left", d, got)
		}
	}
	line := make([]float64, Count)
	line[200] = 1
	sharp, err := OnGrid(LoNM, 1, line)
	if err != nil {
		t.Fatal(err)
	}
	if got := sharp.Shift(0.5).RadiantW(); math.Abs(got-1) > 1e-9 {
		t.Errorf("a sharp line shifted by half a nanometre has %g W, want 1", got)
	}
}

func TestMixAdds(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		peak := func(label string) Spectrum {
			s, err := FromPeaks([]Peak{{
				rapid.Float64Range(400, 740).Draw(rt, label),
				rapid.Float64Range(8, 60).Draw(rt, label+" width"), 0, 1,
			}})
			if err != nil {
				rt.Fatal(err)
			}
			return s
		}
		a, b := peak("a"), peak("b")
		k, l := rapid.Float64Range(0, 5).Draw(rt, "k"), rapid.Float64Range(0, 5).Draw(rt, "l")
		m := Mix([]float64{k, l}, []Spectrum{a, b})
		for _, f := range []func(Spectrum) float64{
			Spectrum.RadiantW, Spectrum.LuminousLm,
			func(s Spectrum) float64 { return s.PhotonUmolS(400, 700) },
		} {
			want := k*f(a) + l*f(b)
			if got := f(m); math.Abs(got-want) > 1e-12*(1+want) {
				rt.Fatalf("a sum over the mix is %g, the mix of sums %g", got, want)
			}
		}
		// Bands add up to the whole.
		parts := m.PhotonUmolS(400, 500) + m.PhotonUmolS(500, 600) + m.PhotonUmolS(600, 700)
		if whole := m.PhotonUmolS(400, 700); math.Abs(parts-whole) > 1e-12*(1+whole) {
			rt.Fatalf("bands add to %g, the whole is %g", parts, whole)
		}
		cut := rapid.Float64Range(401, 699).Draw(rt, "cut")
		parts = m.BandW(400, cut) + m.BandW(cut, 700)
		if whole := m.BandW(400, 700); math.Abs(parts-whole) > 1e-12*(1+whole) {
			rt.Fatalf("cut at %g nm, parts add to %g, the whole is %g", cut, parts, whole)
		}
	})
}

func TestZeroAndDark(t *testing.T) {
	var zero Spectrum
	for name, s := range map[string]Spectrum{"zero": zero, "dark": Dark()} {
		for _, got := range []float64{
			s.RadiantW(), s.LuminousLm(), s.LERlmW(), s.PhotonUmolS(400, 700), s.LuminousLmUmol(),
			s.PeakNM(), s.CentroidNM(), s.FWHMNM(), s.At(555), s.ScaleToLm(100).LuminousLm(),
		} {
			if got != 0 {
				t.Errorf("%s spectrum gives %g, want 0", name, got)
			}
		}
	}
	if s := zero.Add(Equal()); s.RadiantW() != Count {
		t.Errorf("zero plus E has %g W, want %d", s.RadiantW(), Count)
	}
}

func TestMixPanicsOnDifferentGrids(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("no panic")
		}
	}()
	Equal().Add(illuminant(t, "FL1"))
}

func TestOnLampGridKeepsSums(t *testing.T) {
	for _, name := range []string{"LED-B1", "LED-B3", "LED-RGB1", "D65"} {
		s := pick(t, name, 380, 780, 5)
		fine := s.OnLampGrid()
		// The monotone cubic through 5 nm samples of the narrowest of these (20 nm wide) keeps lumens to 0.5 %.
		if got, want := fine.LuminousLm(), s.LuminousLm(); math.Abs(got/want-1) > 0.005 {
			t.Errorf("%s: %g lm on the lamp grid, %g lm at 5 nm", name, got, want)
		}
	}
}

func TestIlluminants(t *testing.T) {
	names := illuminants()
	if len(names) != 46 {
		t.Errorf("%d illuminants, want 46: A, 4 D, 12 FL, 15 FL3, 5 HP, 9 LED", len(names))
	}
	if _, ok := Illuminant("FL99"); ok {
		t.Error("there is no FL99")
	}
}

func BenchmarkSums(b *testing.B) {
	s := Planck(3000)
	Observer2Deg()
	for b.Loop() {
		_ = s.LuminousLm() + s.RadiantW() + s.PhotonUmolS(400, 700)
	}
}

// Pure water, 0.5 m: a from PopeFry1997 and Kou1993.
func TestAbsorbed(t *testing.T) {
	for _, tt := range []struct{ nm, aPerM, want float64 }{
		{450, 0.00922, 0.99540},
		{525, 0.0417, 0.97937},
		{660, 0.41, 0.81465},
		{730, 1.97, 0.37344},
	} {
		s := Equal().Absorbed(func(float64) float64 { return tt.aPerM }, 0.5)
		if got := s.At(tt.nm); math.Abs(got-tt.want) > 1e-4 {
			t.Errorf("0.5 m of water at %g nm passes %.5f, want %g ± 1e-4 (PopeFry1997, Kou1993)", tt.nm, got, tt.want)
		}
	}
}

// Sprague's polynomial is exact for curves of the fourth degree; the two points that CIE 167 adds at either end make it
// exact for straight lines there.
func TestSmoothWeights(t *testing.T) {
	for _, tt := range []struct {
		name   string
		f      func(x float64) float64
		lo, hi float64 // where it is exact
	}{
		{"fourth degree", func(x float64) float64 { return 0.3 + x*(0.5+x*(-0.2+x*(0.7-0.4*x))) }, 390, 770},
		{"straight", func(x float64) float64 { return 0.3 + 0.2*x }, 380, 780},
	} {
		at := func(nm float64) float64 { return tt.f((nm - 580) / 200) }
		tab := Table{Names: []string{"f"}, Columns: [][]float64{nil}}
		for nm := 380.0; nm <= 780; nm += 5 {
			tab.NM, tab.Columns[0] = append(tab.NM, nm), append(tab.Columns[0], at(nm))
		}
		for i, got := range tab.SmoothWeights("f") {
			nm := float64(LoNM + i)
			switch {
			case nm >= tt.lo && nm <= tt.hi:
				if want := at(nm); math.Abs(got-want) > 1e-12 {
					t.Errorf("%s at %g nm %g, want %g (CIE167-2005)", tt.name, nm, got, want)
				}
			case nm < 380 || nm > 780:
				if got != 0 {
					t.Errorf("%s at %g nm %g, want 0", tt.name, nm, got)
				}
			}
		}
	}
}

func TestMixKnowsWhatItsPartsKnow(t *testing.T) {
	cut, err := FromTable([]float64{420, 500, 600}, []float64{1, 1, 0})
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		level float64
		from  float64
	}{{0, LoNM}, {0.5, 420}} {
		if from, to := Mix([]float64{tt.level, 1}, []Spectrum{cut, Equal()}).Known(); from != tt.from || to != HiNM {
			t.Errorf("with the cut spectrum at %g the mix is known over %g to %g nm, want %g to %d", tt.level, from, to, tt.from, HiNM)
		}
	}
}
