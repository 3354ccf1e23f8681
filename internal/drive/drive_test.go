package drive

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// check is one number against a source.
type check struct {
	name           string
	got, want, tol float64
	source         string
}

func compare(t *testing.T, checks []check) {
	t.Helper()
	for _, c := range checks {
		if !(math.Abs(c.got-c.want) <= c.tol) {
			t.Errorf("%s: got %.8g, want %.8g ± %g (%s)", c.name, c.got, c.want, c.tol, c.source)
		}
	}
}

func must[T any](t *testing.T) func(T, error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func TestStringWindow(t *testing.T) {
	w := StringWindow([]Forward{
		{
			Count: 6, MinV: 2.8, TypV: 2.95, MaxV: 3.1, SlopeVK: -0.002, RefK: 358.15, ColdK: 283.15, TypK: 348.15,
			HotK: 378.15,
		},
		{Count: 2, MinV: 2.0, TypV: 2.1, MaxV: 2.3, SlopeVK: -0.002, RefK: 298.15, ColdK: 283.15, HotK: 378.15},
	})
	const source = "sum by hand"
	compare(t, []check{
		{"low", w.LoV, 6*(2.8-0.04) + 2*(2.0-0.16), 1e-12, source},
		{"typical", w.TypV, 6*(2.95+0.02) + 2*2.1, 1e-12, source},
		{"high", w.HiV, 6*(3.1+0.15) + 2*(2.3+0.03), 1e-12, source},
	})
}

func TestWindowIsOrdered(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		typ := rapid.Float64Range(1.5, 4).Draw(t, "typ")
		f := Forward{
			Count: rapid.IntRange(1, 20).Draw(t, "n"), TypV: typ,
			MinV:    typ - rapid.Float64Range(0, 0.5).Draw(t, "below"),
			MaxV:    typ + rapid.Float64Range(0, 0.5).Draw(t, "above"),
			SlopeVK: rapid.Float64Range(-0.005, 0.005).Draw(t, "k"),
			RefK:    298.15, ColdK: rapid.Float64Range(250, 300).Draw(t, "cold"),
			HotK: rapid.Float64Range(300, 420).Draw(t, "hot"),
		}
		f.TypK = rapid.Float64Range(f.ColdK, f.HotK).Draw(t, "usual")
		w := StringWindow([]Forward{f})
		if w.LoV > w.TypV+1e-9 || w.TypV > w.HiV+1e-9 {
			t.Fatalf("window %+v is out of order", w)
		}
	})
}

func TestDriverMargins(t *testing.T) {
	w := Window{LoV: 17, TypV: 18, HiV: 20}
	h := BuckHeadroom(w, 24, 2, 0.9)
	lin := Linear(w, 0.7, 23, 24, 25, 1)
	const source = "Kirchhoff by hand"
	compare(t, []check{
		{"headroom over string", h.OverStringV, 2, 1e-12, source},
		{"headroom at the largest duty", h.OverMaxDutyV, 0.9*24 - 22, 1e-12, source},
		{"the smaller rules", h.MarginV, 0.9*24 - 22, 1e-12, source},
		{"no largest duty given", BuckHeadroom(w, 24, 2, 0).MarginV, 2, 1e-12, source},
		{"step-up", BoostMargin(w, 18), -1, 1e-12, source},
		{"linear heat", lin.WorstW, 5.6, 1e-12, "(25 − 17)·0.7"},
		{"linear heat, usual", lin.TypicalW, 4.2, 1e-12, "(24 − 18)·0.7"},
		{"linear efficiency", lin.Efficiency, 0.75, 1e-12, "18/24"},
		{"linear dropout", lin.DropoutMarginV, 2, 1e-12, source},
	})
}

func TestCableEndVoltage(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v0 := rapid.Float64Range(5, 60).Draw(t, "supply")
		r := rapid.Float64Range(0, 2).Draw(t, "loop")
		p := rapid.Float64Range(0, 100).Draw(t, "power")
		v, i, err := CableEndVoltage(v0, r, p)
		if err != nil {
			if 4*r*p <= v0*v0 {
				t.Fatalf("refused a power that the cable carries: %v", err)
			}
			return
		}
		if math.Abs(v*i-p) > 1e-9*(1+p) || math.Abs(v0-r*i-v) > 1e-9*v0 {
			t.Fatalf("V·I = %g of %g W; V₀ − R·I = %g, V = %g", v*i, p, v0-r*i, v)
		}
		if v < v0/2-1e-9 {
			t.Fatalf("took the collapsed root, %g V of %g V", v, v0)
		}
	})
	for _, bad := range [][3]float64{{24, 10, 100}, {0, 1, 1}, {math.NaN(), 1, 1}} {
		if _, _, err := CableEndVoltage(bad[0], bad[1], bad[2]); err == nil {
			t.Errorf("CableEndVoltage(%v) gave no error", bad)
		}
	}
}

func TestParallelCurrents(t *testing.T) {
	two := must[[]float64](t)(ParallelCurrents(2, []float64{35.5, 36.5}, []float64{4, 4}))
	ballast := must[[]float64](t)(ParallelCurrents(2, []float64{35.5, 36.5}, []float64{9, 9}))
	gone := must[[]float64](t)(ParallelCurrents(1, []float64{30, 36, 37}, []float64{2, 2, 2}))
	compare(t, []check{
		{"low string", two[0], 1 + 1.0/8, 1e-12, "I/2 + ΔV/(2R), derived"},
		{"high string", two[1], 1 - 1.0/8, 1e-12, "I/2 − ΔV/(2R), derived"},
		{"with ballast", ballast[0], 1 + 1.0/18, 1e-12, "R → R + R_b"},
		{"one takes all", gone[0], 1, 1e-12, "the others would need a higher voltage"},
		{"gain", ThermalGain(-0.02, 36, 10, 9), 0.8, 1e-12, "0.02·36·10/9"},
		{"no gain where voltage rises", ThermalGain(0.001, 36, 10, 9), 0, 0, "derived"},
	})
	for _, bad := range [][2][]float64{{{}, {}}, {{1, 2}, {1}}, {{1}, {0}}, {{1}, {math.NaN()}}, {{math.NaN()}, {1}}} {
		if _, err := ParallelCurrents(1, bad[0], bad[1]); err == nil {
			t.Errorf("ParallelCurrents(%v) gave no error", bad)
		}
	}
}

func TestParallelCurrentsSumsToTheTotal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 12).Draw(t, "n")
		v := rapid.SliceOfN(rapid.Float64Range(20, 40), n, n).Draw(t, "volts")
		r := rapid.SliceOfN(rapid.Float64Range(0.1, 20), n, n).Draw(t, "ohm")
		total := rapid.Float64Range(0.01, 10).Draw(t, "total")
		shares, err := ParallelCurrents(total, v, r)
		if err != nil {
			t.Fatal(err)
		}
		var sum float64
		for k, i := range shares {
			sum += i
			if i < 0 {
				t.Fatalf("string %d feeds backwards: %v", k, shares)
			}
		}
		if math.Abs(sum-total) > 1e-9*total {
			t.Fatalf("shares sum to %g of %g", sum, total)
		}
		// Strings that conduct have one voltage, and those that do not would need a higher one.
		common := math.NaN()
		at := func(k int) float64 { return v[k] + r[k]*(shares[k]-total/float64(n)) }
		for k, i := range shares {
			if i > 1e-12 && (math.IsNaN(common) || at(k) < common) {
				common = at(k)
			}
		}
		for k, i := range shares {
			if at(k) < common-1e-9 || (i > 1e-12 && at(k) > common+1e-9) {
				t.Fatalf("string %d lies at %g V, the rest at %g V", k, at(k), common)
			}
		}
	})
}

func TestCheckParallel(t *testing.T) {
	p := must[Parallel](t)(CheckParallel(2, []float64{35.5, 36.5}, []float64{9, 9}, -0.02, 4))
	gain := 0.02 * 36.5 * 4 / 9
	compare(t, []check{
		{"worst share", p.WorstShare, 1 + 1.0/18, 1e-12, "derived"},
		{"gain", p.Gain, gain, 1e-12, "derived"},
		{"one open", p.OneOpenWorstA, 2, 1e-12, "the other carries all"},
	})
	if p.Runaway || p.SettledWorst <= p.WorstShare {
		t.Errorf("settled at %g after %g, runaway %v; the warm mismatch must be greater", p.SettledWorst, p.WorstShare, p.Runaway)
	}
	alike := must[Parallel](t)(CheckParallel(3, []float64{36, 36, 36}, []float64{4, 4, 4}, -0.02, 1))
	compare(t, []check{
		{"alike strings", alike.WorstShare, 1, 1e-12, "symmetry"},
		{"one of three open", alike.OneOpenWorstA, 1.5, 1e-12, "I/(N − 1)"},
	})
	if run := must[Parallel](t)(CheckParallel(2, []float64{36, 36}, []float64{4, 4}, -0.02, 6)); !run.Runaway ||
		run.SettledA != nil {
		t.Errorf("gain %g: %+v, want runaway", run.Gain, run)
	}
	if _, err := CheckParallel(1, []float64{36}, []float64{4}, 0, 0); err == nil {
		t.Error("one string gave no error")
	}
}

func TestTwoStringsSettleByTheGain(t *testing.T) {
	p := must[Parallel](t)(CheckParallel(2, []float64{35.9, 36.1}, []float64{9, 9}, -0.02, 5))
	g := 0.02 * 36 * 5 / 9
	// The strings' gains differ from the mean's by 0.3 %, which 1/(1 − g) turns into 0.2 %.
	compare(t, []check{
		{
			"settled mismatch", p.SettledWorst - 1, (p.WorstShare - 1) / (1 - g), 0.002 * p.WorstShare,
			"1/(1 − g), derived",
		},
	})
}

func TestDimming(t *testing.T) {
	const cie = "CIE 15, 1976 lightness"
	compare(t, []check{
		{"L* of 0.01", Lightness(0.01), 8.991, 0.001, cie},
		{"L* of 0.10", Lightness(0.10), 37.842, 0.001, cie},
		{"L* of 0.50", Lightness(0.50), 76.069, 0.001, cie},
		{"Y of 50", DutyForLightness(50), 0.184187, 1e-6, cie},
		{"first of 8 bit", FirstStep(8), 3.5285, 0.0001, "903.296/2^N"},
		{"first of 10 bit", FirstStep(10), 0.8821, 0.0001, "903.296/2^N"},
		{"first of 12 bit", FirstStep(12), 0.2205, 0.0001, "903.296/2^N"},
		{"first of 16 bit", FirstStep(16), 0.01378, 0.00001, "903.296/2^N"},
		{"mean of L* ramp", MeanOfLightnessRamp(0, 100), 0.289823, 1e-6, "integral"},
		{"mean of gamma ramp", MeanOfGammaRamp(0, 1, 2.2), 0.3125, 1e-12, "1/3.2"},
		{"mean of nothing", MeanOfGammaRamp(0.5, 0.5, 2), 0.25, 1e-12, "limit"},
		{"timer", TimerFrequency(80e6, 16), 1220.703125, 0, "80e6/65536"},
	})
}

func TestLightnessTurnsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		y := rapid.Float64Range(0, 1).Draw(t, "y")
		if back := DutyForLightness(Lightness(y)); math.Abs(back-y) > 1e-12 {
			t.Fatalf("%g comes back as %g", y, back)
		}
		a := rapid.Float64Range(0, 100).Draw(t, "a")
		b := rapid.Float64Range(0, 100).Draw(t, "b")
		if math.Abs(a-b) < 1e-3 {
			return
		}
		var sum float64
		const n = 2000
		for k := range n {
			sum += DutyForLightness(a + (b-a)*(float64(k)+0.5)/n)
		}
		if m := MeanOfLightnessRamp(a, b); math.Abs(m-sum/n) > 1e-6 {
			t.Fatalf("mean from %g to %g is %g, summed %g", a, b, m, sum/n)
		}
	})
}

func TestBuck(t *testing.T) {
	s := must[BuckState](t)(Buck{InV: 24, OutV: 12, CurrentA: 2, InductanceH: 100e-6, FrequencyHz: 100e3}.Steady())
	one := must[BuckState](t)(Buck{InV: 24, OutV: 12, CurrentA: 1, InductanceH: 150e-6, FrequencyHz: 100e3}.Steady())
	const source = "Erickson2020 ch. 2, whose Δi is half of ΔI"
	compare(t, []check{
		{"duty", s.Duty, 0.5, 1e-12, source},
		{"ripple", s.RippleA, 0.6, 1e-12, source},
		{"inductor for it", InductorForRipple(24, 12, 2, 100e3, 0.3), 100e-6, 1e-15, source},
		{"input capacitor", one.InputCapRMSA, 0.50662, 0.00005, "√(D(I²(1−D)+ΔI²/12)), ΔI = 0.4 A"},
		{"saturation", s.SaturationA, 2.76, 1e-12, "1.2 of the peak, common practice"},
	})
	var wave BuckState
	wave.Duty, wave.RippleA = 0.5, 1
	wave.fill(2)
	compare(t, []check{{"rms of 2 A and 1 A triangle", wave.InductorRMSA, 2.02073, 5e-6, "√(4 + 1/12)"}})
	wave.RippleA = 0
	wave.fill(1)
	compare(
		t, []check{{"input capacitor without ripple", wave.InputCapRMSA, 0.5, 0, "I·√(D(1−D)), LED-driver datasheets"}},
	)
	for _, bad := range []Buck{
		{InV: 12, OutV: 12, CurrentA: 1, InductanceH: 1e-4, FrequencyHz: 1e5},
		{InV: 24, OutV: 12, CurrentA: 1, FrequencyHz: 1e5},
		{InV: math.NaN(), OutV: 12, CurrentA: 1, InductanceH: 1e-4, FrequencyHz: 1e5},
	} {
		if _, err := bad.Steady(); err == nil {
			t.Errorf("%+v gave no error", bad)
		}
	}
	small := must[BuckState](t)(Buck{InV: 24, OutV: 12, CurrentA: 0.1, InductanceH: 1e-5, FrequencyHz: 1e5}.Steady())
	if small.Continuous || len(small.Notes) == 0 {
		t.Error("discontinuous conduction went unsaid")
	}
}

func drawBuck(t *rapid.T) Buck {
	return Buck{
		InV: rapid.Float64Range(20, 60).Draw(t, "in"), OutV: rapid.Float64Range(3, 15).Draw(t, "out"),
		CurrentA:    rapid.Float64Range(0.2, 3).Draw(t, "current"),
		InductanceH: 1e3, FrequencyHz: 1e5, // no ripple to speak of, so that means and rms agree
		SenseOhm: rapid.Float64Range(0.01, 0.4).Draw(t, "sense"), SenseCarriesBoth: rapid.Bool().Draw(t, "both"),
		InductorOhm: rapid.Float64Range(0, 0.3).Draw(t, "inductor"), SwitchOhm: rapid.Float64Range(0, 0.3).Draw(t, "switch"),
		DiodeV: rapid.Float64Range(0, 0.8).Draw(t, "diode"),
	}
}

func TestBuckKeepsEnergy(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := drawBuck(t)
		s, err := b.Steady()
		if err != nil {
			t.Fatal(err)
		}
		l, err := b.Losses(Switching{})
		if err != nil {
			t.Fatal(err)
		}
		in, led := b.InV*s.Duty*b.CurrentA, b.OutV*b.CurrentA
		if math.Abs(in-led-l.TotalW) > 1e-9*in {
			t.Fatalf("%g W in, %g W to the LEDs, %g W lost", in, led, l.TotalW)
		}
	})
}

func TestBuckControls(t *testing.T) {
	b := Buck{
		InV: 24, OutV: 10, CurrentA: 1, InductanceH: 100e-6, FrequencyHz: 200e3, SenseOhm: 0.1, SenseCarriesBoth: true,
		DiodeV: 0.4,
	}
	up, down := b.rates()
	h := must[Band](t)(b.Hysteretic(0.09, 0.11, 0))
	late := must[Band](t)(b.Hysteretic(0.09, 0.11, 500e-9))
	off := must[Band](t)(b.ConstantOff(3e-6))
	peak := must[Band](t)(b.PeakControlled(0.1, 0, 0))
	const source = "v = L·di/dt by hand"
	compare(t, []check{
		{"mean", h.MeanA, 1, 1e-12, "(v_hi + v_lo)/(2R)"},
		{"ripple", h.RippleA, 0.2, 1e-12, "(v_hi − v_lo)/R"},
		{"period", 1 / h.FrequencyHz, 1e-4*0.2/up + 1e-4*0.2/down, 1e-15, source},
		{"late ripple", late.RippleA, 0.2 + (up+down)*5e-7/1e-4, 1e-12, source},
		{"late mean", late.MeanA, 1 + (up-down)*5e-7/2e-4, 1e-12, source},
		{"constant off", off.RippleA, down * 3e-6 / 1e-4, 1e-12, source},
		{"peak", peak.MeanA + peak.RippleA/2, 1, 1e-9, "switches off at v_pk/R"},
		{"no ramp below half duty", b.RampNeeded(), 0, 0, "Erickson2020 ch. 18"},
	})
	b.OutV = 18
	up, down = b.rates()
	compare(
		t,
		[]check{{"ramp above half duty", b.RampNeeded(), (down - up) / 2e-4, 1e-6, "(m₂ − m₁)/2, Erickson2020 ch. 18"}},
	)
	// The band without delay, run at its own frequency, is the fixed-frequency stage.
	b.FrequencyHz = must[Band](t)(b.Hysteretic(0.09, 0.11, 0)).FrequencyHz
	compare(t, []check{{"the same stage twice", must[BuckState](t)(b.Steady()).RippleA, 0.2, 1e-9, "consistency"}})
	b.OutV = 24
	if _, err := b.PeakControlled(0.1, 0, 0); err == nil {
		t.Error("no voltage left gave no error")
	}
}

func TestBoost(t *testing.T) {
	s := must[BoostState](t)(
		Boost{
			InV: 24, OutV: 40, CurrentA: 0.5, InductanceH: 1e-4, FrequencyHz: 2e5, OutputF: 10e-6, StringOhm: 5,
		}.Steady(),
	)
	best, duty := MaxBoostGain(0.01)
	second, _ := MaxBoostGain(0.02)
	gain, eff := BoostGain(duty, 0.01)
	const source = "Erickson2020 §3.3"
	compare(t, []check{
		{"duty", s.Duty, 0.4, 1e-12, "1 − 24/40"},
		{"inductor", s.InductorA, 0.5 / 0.6, 1e-12, "I/(1 − D)"},
		{"ripple", s.RippleA, 24 * 0.4 / (1e-4 * 2e5), 1e-12, "V_in·D/(L·f)"},
		{"output ripple", s.OutputRippleV, 0.5 * 0.4 / (2e5 * 10e-6), 1e-12, "I·D/(f·C)"},
		{"zero", s.RightHalfZeroHz, 0.36 * 80 / (2 * math.Pi * 1e-4), 1e-6, "(1 − D)²·R/(2π·L)"},
		{"best ratio at 1 %", best, 5, 1e-9, source},
		{"best ratio at 2 %", second, 3.5355, 5e-5, source},
		{"gain there", gain, 5, 1e-9, source},
		{"efficiency there", eff, 0.5, 1e-12, source},
	})
	for _, bad := range []Boost{
		{InV: 48, OutV: 40, CurrentA: 0.5, InductanceH: 1e-4, FrequencyHz: 2e5},
		{InV: 5, OutV: 40, CurrentA: 1, InductanceH: 1e-4, FrequencyHz: 2e5, InductorOhm: 1},
		{InV: 24, OutV: 40, InductanceH: 1e-4, FrequencyHz: 2e5},
	} {
		if _, err := bad.Steady(); err == nil {
			t.Errorf("%+v gave no error", bad)
		}
	}
}

func TestBoostKeepsEnergy(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := Boost{
			InV: rapid.Float64Range(10, 24).Draw(t, "in"), OutV: rapid.Float64Range(28, 60).Draw(t, "out"),
			CurrentA: rapid.Float64Range(0.1, 1).Draw(t, "current"), InductanceH: 1e3, FrequencyHz: 1e5,
			InductorOhm: rapid.Float64Range(0, 0.2).Draw(t, "inductor"), SwitchOhm: rapid.Float64Range(0, 0.2).Draw(t, "switch"),
			DiodeV: rapid.Float64Range(0, 0.8).Draw(t, "diode"), SenseOhm: rapid.Float64Range(0, 0.5).Draw(t, "sense"),
		}
		s, err := b.Steady()
		if err != nil {
			t.Fatal(err)
		}
		l, err := b.Losses(Switching{})
		if err != nil {
			t.Fatal(err)
		}
		in, led := b.InV*s.InductorA, b.OutV*b.CurrentA
		if math.Abs(in-led-l.TotalW) > 1e-9*in {
			t.Fatalf("%g W in, %g W to the LEDs, %g W lost", in, led, l.TotalW)
		}
	})
}

func TestSepic(t *testing.T) {
	s := must[BoostState](t)(
		Sepic{InV: 24, OutV: 30, CurrentA: 0.5, InputH: 1e-4, OutputH: 1e-4, FrequencyHz: 2e5}.Steady(),
	)
	compare(t, []check{
		{"duty", s.Duty, 30.0 / 54, 1e-12, "30/54"},
		{"energy", 24 * s.InductorA, 15, 1e-9, "V_in·I_L1 = V·I without losses"},
		{"peak", s.PeakA, 0.5/(24.0/54) + s.RippleA, 1e-9, "two alike ripples in the switch"},
		{
			"coupling", s.CouplingRMSA * s.CouplingRMSA, s.Duty*0.25 + (1-s.Duty)*s.InductorA*s.InductorA, 1e-9,
			"D·I_L2² + (1 − D)·I_L1²",
		},
		{"switch is", s.SwitchV, 54, 0, "V_in + V_out"},
	})
	if _, err := (Sepic{InV: 24}).Steady(); err == nil {
		t.Error("half a stage gave no error")
	}
}

func TestDayEnergy(t *testing.T) {
	e := must[Energy](t)(DayEnergy([]Span{{0.5, 0, 60}, {8, 60, 60}, {0.5, 60, 0}}, 1.5, 0.3))
	compare(t, []check{
		{"day", e.KWhPerDay, (15+480+15)/1000.0 + 0.036, 1e-12, "areas by hand"},
		{"standby year", 365 * e.StandbyKWh, 13.14, 1e-9, "1.5 W × 8760 h"},
		{"cost", e.CostPerYear, 0.3 * e.KWhPerYear, 1e-12, "definition"},
	})
	for _, bad := range [][]Span{{{25, 1, 1}}, {{-1, 1, 1}}, {{1, -1, 1}}, {{1, math.NaN(), 1}}} {
		if _, err := DayEnergy(bad, 0, 0.3); err == nil {
			t.Errorf("%v gave no error", bad)
		}
	}
	if _, err := DayEnergy(nil, -1, 0.3); err == nil {
		t.Error("standby below zero gave no error")
	}
}
