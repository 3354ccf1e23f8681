package colour

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lampwright/internal/spectrum"
)

// at is a band of one value.
func at(v float64) Band { return Band{v, v} }

// lamp is an invented six-channel lamp, each channel at about 3 W of light.
func lamp(t testing.TB) []Channel {
	t.Helper()
	single := func(name string, nm, width, lightW, powerW float64) Channel {
		s, err := spectrum.FromPeaks([]spectrum.Peak{{CentreNM: nm, FWHMNM: width, RadiantShare: 1}})
		if err != nil {
			t.Fatal(err)
		}
		return Channel{Name: name, Spectrum: s.ScaleToW(lightW), PowerW: powerW}
	}
	white := func(name string, k, ra, lm, powerW float64) Channel {
		w, err := PhosphorWhite(k, ra)
		if err != nil {
			t.Fatal(err)
		}
		return Channel{Name: name, Spectrum: w.Spectrum.ScaleToLm(lm), PowerW: powerW}
	}
	return []Channel{
		white("warm", 2700, 80, 1000, 9),
		white("cool", 6500, 75, 1200, 9),
		single("blue", 450, 20, 2, 4),
		single("green", 525, 32, 1.2, 5),
		single("amber", 592, 16, 0.6, 3.5),
		single("red", 660, 20, 2, 4),
	}
}

func TestSolveMeetsColourAndAmount(t *testing.T) {
	ch := lamp(t)
	for _, w := range []Requirement{
		{CCT: at(3000), LuminousLm: 800},
		{CCT: at(4000), PPFUmolS: 12},
		{CCT: at(5500), Duv: at(0.003), LuminousLm: 1500},
		{XY: XY{0.40, 0.37}, LuminousLm: 1000},
		{XY: XY{0.30, 0.22}, PPFUmolS: 10}, // purple, no colour temperature
	} {
		r, err := Solve(ch, w)
		if err != nil {
			t.Fatal(err)
		}
		if !r.InGamut || !r.AmountMet || r.StepsOff > 1e-6 || !r.RenderMet {
			t.Errorf("%+v: %+v", w, r)
		}
		if w.CCT.Lo > 0 && (math.Abs(r.CCT.K-w.CCT.Lo) > 0.01 || math.Abs(r.CCT.Duv-w.Duv.Lo) > 1e-7) {
			t.Errorf("%+v: colour temperature %+v", w, r.CCT)
		}
		checkLevels(t, ch, r)
	}
}

func checkLevels(t testing.TB, ch []Channel, r MixResult) {
	t.Helper()
	for i, l := range r.Levels {
		if !(l >= ch[i].Min-1e-12 && l <= ch[i].max()+1e-12) {
			t.Errorf("level of %s is %g, outside %g to %g", ch[i].Name, l, ch[i].Min, ch[i].max())
		}
	}
}

// What some levels make, Solve must make again, with no more power.
func TestSolveNeverNeedsMorePower(t *testing.T) {
	ch := lamp(t)
	rapid.Check(t, func(rt *rapid.T) {
		spectra, levels, power := []spectrum.Spectrum{}, []float64{}, 0.0
		for _, c := range ch {
			l := rapid.Float64Range(0, 1).Draw(rt, c.Name)
			spectra, levels, power = append(spectra, c.Spectrum), append(levels, l), power+l*c.PowerW
		}
		s := spectrum.Mix(levels, spectra)
		xy, ok := Chromaticity(s)
		if !ok || s.LuminousLm() < 1 {
			return
		}
		r, err := Solve(ch, Requirement{XY: xy, LuminousLm: s.LuminousLm()})
		if err != nil {
			rt.Fatal(err)
		}
		if !r.InGamut || !r.AmountMet || r.StepsOff > 0.01 {
			rt.Fatalf("levels %v exist, got %+v", levels, r)
		}
		// The program stops when no column lowers the cost by more than a ten-millionth of the power of all channels,
		// and takes colours within 1e-6 for equal.
		if r.PowerW > power+1e-5*34.5 {
			rt.Fatalf("%g W, but levels %v do it with %g W", r.PowerW, levels, power)
		}
	})
}

// Against every corner of the feasible set: with three equations, at most three channels are neither off nor full.
func TestSolveIsTheCheapestCorner(t *testing.T) {
	ch := lamp(t)
	w := Requirement{CCT: at(4500), LuminousLm: 1400}
	r, err := Solve(ch, w)
	if err != nil {
		t.Fatal(err)
	}
	target := w.target()
	least := math.Inf(1)
	n := len(ch)
	for i := range n {
		for j := i + 1; j < n; j++ {
			for k := j + 1; k < n; k++ {
				free := [3]int{i, j, k}
				for bits := range 1 << n {
					if bits>>i&1+bits>>j&1+bits>>k&1 != 0 {
						continue
					}
					var a mat3
					rhs := [3]float64{0, 0, w.LuminousLm}
					p := 0.0
					for q, c := range ch {
						v := Tristimulus(c.Spectrum)
						sum := v.X + v.Y + v.Z
						row := [3]float64{v.X - target.X*sum, v.Y - target.Y*sum, v.Y}
						at := -1
						for f, q2 := range free {
							if q2 == q {
								at = f
							}
						}
						for e := range rhs {
							switch {
							case at >= 0:
								a[e][at] = row[e]
							case bits>>q&1 == 1:
								rhs[e] -= row[e]
							}
						}
						if at < 0 && bits>>q&1 == 1 {
							p += c.PowerW
						}
					}
					x := a.inverse().apply(rhs)
					good := true
					for f, v := range x {
						good = good && v >= -1e-9 && v <= 1+1e-9
						p += v * ch[free[f]].PowerW
					}
					if good {
						least = math.Min(least, p)
					}
				}
			}
		}
	}
	if math.Abs(r.PowerW-least) > 1e-6 {
		t.Errorf("Solve takes %.6f W, the cheapest corner %.6f W", r.PowerW, least)
	}
}

func TestOutOfGamut(t *testing.T) {
	ch := lamp(t)[:2] // two whites: the gamut is a line
	r, err := Solve(ch, Requirement{CCT: at(4000), LuminousLm: 800})
	if err != nil {
		t.Fatal(err)
	}
	// A straight line between two points of the curved locus runs below it.
	if r.InGamut || r.StepsOff < 1 || r.StepsOff > 15 || r.CCT.Duv >= 0 || !r.AmountMet {
		t.Errorf("4000 K of two whites: %+v", r)
	}
	if len(r.Notes) == 0 || !strings.Contains(r.Notes[0], "out of gamut") {
		t.Errorf("notes %q", r.Notes)
	}
	// No other mix of the two is nearer.
	wished := PlanckXY(4000, 0)
	for i := 0; i <= 1000; i++ {
		l := float64(i) / 1000
		xy, _ := Chromaticity(spectrum.Mix([]float64{l, 1 - l}, []spectrum.Spectrum{ch[0].Spectrum, ch[1].Spectrum}))
		if d := Steps(xy, wished); d < r.StepsOff-1e-9 {
			t.Errorf("a mix of %g and %g lies %g steps off, nearer than %g", l, 1-l, d, r.StepsOff)
		}
	}
	t.Logf("two whites for 4000 K: %v", r.Notes)

	all := lamp(t)
	r, err = Solve(all, Requirement{XY: XY{0.10, 0.75}, LuminousLm: 50})
	if err != nil {
		t.Fatal(err)
	}
	if r.InGamut || r.Levels[3] == 0 {
		t.Errorf("a green outside the gamut: %+v", r)
	}
	t.Logf("a green outside the gamut: %v, %v", r.Levels, r.Notes)

	one, err := Solve(all[2:3], Requirement{CCT: at(4000), LuminousLm: 10})
	if err != nil || one.InGamut || one.Levels[0] <= 0 {
		t.Errorf("one blue channel for 4000 K: %+v, %v", one, err)
	}
}

func TestAmountOutOfReach(t *testing.T) {
	ch := lamp(t)
	r, err := Solve(ch, Requirement{CCT: at(5000), LuminousLm: 1e5})
	if err != nil {
		t.Fatal(err)
	}
	if r.AmountMet || r.StepsOff > 1e-6 {
		t.Errorf("too much light: %+v", r)
	}
	most, err := Solve(ch, Requirement{CCT: at(5000), Goal: MaxLight})
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(most.LuminousLm/r.LuminousLm-1) > 1e-6 {
		t.Errorf("the nearest to too much is %g lm, the most %g lm", r.LuminousLm, most.LuminousLm)
	}
}

func TestLimitsPerChannel(t *testing.T) {
	ch := lamp(t)
	ch[2].Min, ch[2].Max = 0.2, 0.2
	ch[1].Max = 0.3
	r, err := Solve(ch, Requirement{CCT: at(5000), LuminousLm: 800})
	if err != nil {
		t.Fatal(err)
	}
	if r.Levels[2] != 0.2 || r.StepsOff > 1e-6 || !r.AmountMet {
		t.Errorf("blue fixed at 0.2: %+v", r)
	}
	checkLevels(t, ch, r)
	ch[2].Min, ch[2].Max = 1, 1
	r, err = Solve(ch, Requirement{CCT: at(2700), LuminousLm: 50})
	if err != nil {
		t.Fatal(err)
	}
	if r.StepsOff < 0.05 && r.AmountMet || len(r.Notes) == 0 {
		t.Errorf("full blue cannot give 50 lm of 2700 K: %+v", r)
	}
}

func TestRenderingWish(t *testing.T) {
	ch := lamp(t)
	plain, err := Solve(ch, Requirement{CCT: at(4000), LuminousLm: 1000})
	if err != nil {
		t.Fatal(err)
	}
	best, err := Solve(ch, Requirement{CCT: at(4000), LuminousLm: 1000, Goal: BestRa})
	if err != nil {
		t.Fatal(err)
	}
	wish := (plain.Ra + best.Ra) / 2
	mid, err := Solve(ch, Requirement{CCT: at(4000), LuminousLm: 1000, MinRa: wish})
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("cheapest: Ra %.1f with %.2f W; required %.1f: Ra %.1f with %.2f W; best Ra %.1f with %.2f W", plain.Ra, plain.PowerW, wish, mid.Ra, mid.PowerW, best.Ra, best.PowerW)
	if !mid.RenderMet || mid.Ra < wish-0.1 || mid.PowerW < plain.PowerW-1e-9 || mid.StepsOff > 1e-4 || !mid.AmountMet {
		t.Errorf("Ra %.1f required: %+v", wish, mid)
	}
	if best.Ra <= plain.Ra || best.StepsOff > 1e-4 || !best.AmountMet {
		t.Errorf("best Ra: %+v", best)
	}
	never, err := Solve(ch, Requirement{CCT: at(4000), LuminousLm: 1000, MinRa: 100})
	if err != nil || never.RenderMet || len(never.Notes) == 0 {
		t.Errorf("Ra 100: %+v, %v", never, err)
	}
	rf, err := Solve(ch, Requirement{CCT: at(4000), LuminousLm: 1000, Goal: BestRf})
	if err != nil || rf.Rf < plain.Rf {
		t.Errorf("best Rf: %+v, %v", rf, err)
	}
}

func TestMostPerWatt(t *testing.T) {
	ch := lamp(t)
	r, err := Solve(ch, Requirement{CCT: at(3500)})
	if err != nil {
		t.Fatal(err)
	}
	full := false
	for i, l := range r.Levels {
		full = full || math.Abs(l-ch[i].max()) < 1e-9
	}
	if !full || r.StepsOff > 1e-6 {
		t.Errorf("most light per watt: %+v", r)
	}
	// A tenth of that light must be as efficient, and no other mix of it better.
	tenth, err := Solve(ch, Requirement{CCT: at(3500), LuminousLm: r.LuminousLm / 10})
	if err != nil {
		t.Fatal(err)
	}
	if a, b := r.LuminousLm/r.PowerW, tenth.LuminousLm/tenth.PowerW; math.Abs(a/b-1) > 1e-6 {
		t.Errorf("%g lm/W at full, %g at a tenth", a, b)
	}
}

func TestSolveRefuses(t *testing.T) {
	ch := lamp(t)
	bad := lamp(t)
	bad[0].Min = 2
	for _, tt := range []struct {
		name string
		ch   []Channel
		w    Requirement
		text string
	}{
		{"no channels", nil, Requirement{CCT: at(4000)}, "no channels"},
		{"no colour", ch, Requirement{}, "not a colour"},
		{"both amounts", ch, Requirement{CCT: at(4000), LuminousLm: 1, PPFUmolS: 1}, "give one"},
		{"negative", ch, Requirement{CCT: at(4000), LuminousLm: -1}, "0 or more"},
		{"cold", ch, Requirement{CCT: at(500)}, "within 1000"},
		{"order", ch, Requirement{CCT: Band{5000, 4000}}, "in order"},
		{"order of Duv", ch, Requirement{CCT: at(4000), Duv: Band{0.01, 0}}, "in order"},
		{"Duv", ch, Requirement{CCT: at(4000), Duv: at(0.2)}, "Duv"},
		{"limits", bad, Requirement{CCT: at(4000)}, "least"},
		{"dark", []Channel{{Spectrum: spectrum.Dark()}}, Requirement{CCT: at(4000)}, "no channel gives light"},
		{"goal", ch, Requirement{CCT: at(4000), Goal: 9}, "goal"},
	} {
		if _, err := Solve(tt.ch, tt.w); err == nil || !strings.Contains(err.Error(), tt.text) {
			t.Errorf("%s: error %v, want one that says %q", tt.name, err, tt.text)
		}
	}
}

// Two channels alike, and one that is dark, must not upset the solver.
func TestSolveOfLikeChannels(t *testing.T) {
	ch := lamp(t)
	ch = append(ch, ch[0], ch[5], Channel{Name: "unused", Spectrum: spectrum.Dark()})
	r, err := Solve(ch, Requirement{CCT: at(3500), LuminousLm: 2000})
	if err != nil || !r.AmountMet || r.StepsOff > 1e-6 {
		t.Errorf("%+v, %v", r, err)
	}
}

func BenchmarkSolve(b *testing.B) {
	ch := lamp(b)
	for _, c := range []struct {
		name string
		w    Requirement
	}{
		{"colour", Requirement{CCT: at(4000), LuminousLm: 1000}},
		{"Ra", Requirement{CCT: at(4000), LuminousLm: 1000, MinRa: 92}},
	} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				if _, err := Solve(ch, c.w); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// TestAmountElsewhere: the amount may be that of a plane to which each channel brings its own share, and the colour
// that of the lamp. Two channels of one colour, of which the second brings twice as much down for each watt: it is
// taken alone.
func TestAmountElsewhere(t *testing.T) {
	ch := lamp(t)[:2]
	ch[1].Spectrum, ch[1].PowerW = ch[0].Spectrum, ch[0].PowerW
	ch[0].PPFUmolS, ch[1].PPFUmolS = 30, 60
	xy, _ := Chromaticity(ch[0].Spectrum)
	r, err := Solve(ch, Requirement{XY: xy, PPFUmolS: 45})
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(r.Levels[0]) > 1e-6 || math.Abs(r.Levels[1]-0.75) > 1e-6 || math.Abs(r.PPFUmolS-45) > 1e-4 ||
		!r.AmountMet {
		t.Errorf("levels %v, amount %g; want 0, 0.75, 45", r.Levels, r.PPFUmolS)
	}
	ch[0].PPFUmolS = -1
	if _, err := Solve(ch, Requirement{XY: xy, PPFUmolS: 45}); err == nil {
		t.Error("a negative amount is taken")
	}
}
