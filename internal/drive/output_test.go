package drive

import (
	"math"
	"math/cmplx"
	"testing"

	"pgregory.net/rapid"
)

// TestTimerSteps: reference values of the day (DY20) and whole numbers of steps.
func TestTimerSteps(t *testing.T) {
	const counter = "definition of a counter"
	compare(t, []check{
		{"80 MHz, 14 bit", TimerFrequency(80e6, 14), 4882.8125, 0, counter},
		{"16 MHz, 16 bit", TimerFrequency(16e6, 16), 244.140625, 0, counter},
		{"48 MHz, 12 bit", TimerFrequency(48e6, 12), 11718.75, 0, counter},
		{"steps at 4 kHz", float64(TimerSteps(80e6, 4000, 16)), 20000, 0, counter},
		{"steps at 3 kHz", float64(TimerSteps(80e6, 3000, 16)), 26666, 0, "80e6/3e3 = 26 666.7"},
		{"counter of 12 bit", float64(TimerSteps(80e6, 4000, 12)), 4096, 0, "2^12"},
		{"too fast", float64(TimerSteps(1e6, 2e6, 12)), 0, 0, "less than one step"},
	})
	rapid.Check(t, func(t *rapid.T) {
		bits := rapid.IntRange(4, 20).Draw(t, "bits")
		clock := rapid.Float64Range(1e5, 2e8).Draw(t, "clock")
		if n := TimerSteps(clock, TimerFrequency(clock, bits), 32); n != 1<<bits {
			t.Fatalf("%d steps at the frequency of %d bits of %g Hz", n, bits, clock)
		}
	})
}

// TestLightnessTable: sum and rows of the table of 257 values in units of 1/32768 by which controllers interpolate
// (DY19).
func TestLightnessTable(t *testing.T) {
	row := func(k int) int { return int(math.Floor(32768*DutyForLightness(100*float64(k)/256) + 0.5)) }
	sum := 0
	for k := range 257 {
		sum += row(k)
	}
	const source = "CIE 1976 lightness, rounded; reference table of the project"
	compare(t, []check{
		{"sum", float64(sum), 2447626, 0, source},
		{"1", float64(row(1)), 14, 0, source},
		{"64", float64(row(64)), 1447, 0, source},
		{"128", float64(row(128)), 6035, 0, source},
		{"192", float64(row(192)), 15820, 0, source},
		{"255", float64(row(255)), 32438, 0, source},
	})
}

// TestDither: a quarter of a step repeats each four cycles, and the mean is exact (DY27).
func TestDither(t *testing.T) {
	d := Dither{Bits: 2}
	var got []uint32
	for range 8 {
		got = append(got, d.Next(7<<2+1))
	}
	want := []uint32{7, 7, 7, 8, 7, 7, 7, 8}
	for i := range want {
		if got[i] != want[i] {
			t.Fatalf("codes %v, want %v", got, want)
		}
	}
	compare(t, []check{
		{"repeats", DitherHz(4800, 2), 1200, 0, "f/2^b"},
		{"depth at code 1", DitherPercent(1), 50, 0, "half, methods of the day 6"},
		{"depth at code 0", DitherPercent(0), 100, 0, "light is switched"},
	})
	var plain Dither
	if c := plain.Next(1234); c != 1234 {
		t.Errorf("without bits 1234 becomes %d", c)
	}
}

// TestDitherMean: over 2^bits cycles from any state the mean is exact; the codes are the two next to the value; and the
// bound of the modulation covers percent flicker and fundamental.
func TestDitherMean(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := Dither{Bits: rapid.IntRange(0, 8).Draw(t, "bits")}
		n := 1 << d.Bits
		for range rapid.IntRange(0, 300).Draw(t, "before") {
			d.Next(uint32(rapid.IntRange(0, n-1).Draw(t, "fraction")))
		}
		value := uint32(rapid.IntRange(0, 40*n).Draw(t, "value"))
		sum, least, most := uint32(0), uint32(math.MaxUint32), uint32(0)
		var first complex128
		for k := range n {
			c := d.Next(value)
			sum, least, most = sum+c, min(least, c), max(most, c)
			first += complex(float64(c), 0) * cmplx.Rect(1, 2*math.Pi*float64(k)/float64(n))
		}
		if sum != value {
			t.Fatalf("%d cycles of %d/%d sum up to %d", n, value, n, sum)
		}
		if least < value>>d.Bits || most > value>>d.Bits+1 {
			t.Fatalf("codes from %d to %d for %d/%d", least, most, value, n)
		}
		bound := DitherPercent(float64(value >> d.Bits))
		if least+most > 0 && 100*float64(most-least)/float64(most+least) > bound {
			t.Fatalf("percent flicker between %d and %d is above %g", least, most, bound)
		}
		if n == 1 || value < uint32(n) {
			return
		}
		hold := math.Sin(math.Pi/float64(n)) / (math.Pi / float64(n)) // each code lasts one cycle
		if 100*2*hold*cmplx.Abs(first)/float64(sum) > bound {
			t.Fatalf("fundamental of %d/%d is above %g %%", value, n, bound)
		}
	})
}

// TestPulses compares the mean current with that of a simulated one, in each of the three shapes.
func TestPulses(t *testing.T) {
	p := Pulses{RiseS: 40e-6, FallS: 60e-6, Hz: 2000}
	for _, duty := range []float64{0.01, 0.05, 0.08, 0.081, 0.3, 0.879, 0.881, 0.97} {
		if got, want := p.Output(duty), simulate(p, duty); math.Abs(got-want) > 2e-5 {
			t.Errorf("duty %g: mean current %g, simulated %g", duty, got, want)
		}
	}
	if err := p.Check(); err != nil {
		t.Error(err)
	}
	if (Pulses{RiseS: 300e-6, FallS: 201e-6, Hz: 2000}).Check() == nil {
		t.Error("edges longer than the period pass")
	}
}

// simulate integrates a current that climbs and decays straight, until the cycle repeats.
func simulate(p Pulses, duty float64) (mean float64) {
	const steps = 200_000
	dt, i := 1/p.Hz/steps, 0.0
	for range 3 {
		mean = 0
		for k := range steps {
			if float64(k)+0.5 < duty*steps {
				i = math.Min(1, i+dt/p.RiseS)
			} else {
				i = math.Max(0, i-dt/p.FallS)
			}
			mean += i / steps
		}
	}
	return mean
}

// drawPulses draws pulses that pass Check, some without edges.
func drawPulses(t *rapid.T) Pulses {
	hz := rapid.Float64Range(50, 20e3).Draw(t, "hz")
	edges := rapid.Float64Range(0, 0.99).Draw(t, "edges") / hz
	share := rapid.SampledFrom([]float64{0, 0.2, 0.5, 0.9, 1}).Draw(t, "share")
	return Pulses{RiseS: edges * share, FallS: edges * (1 - share), Hz: hz}
}

// TestPulsesTurnBack: Output rises without a jump, and Duty is its inverse wherever light is made.
func TestPulsesTurnBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPulses(t)
		duty := rapid.Float64Range(1e-6, 1-1e-6).Draw(t, "duty")
		out := p.Output(duty)
		if out < 0 || out > 1+1e-12 || p.Output(duty+1e-7) < out-1e-12 {
			t.Fatalf("%+v: duty %g gives %g, a little more %g", p, duty, out, p.Output(duty+1e-7))
		}
		if math.Abs(p.Output(p.Duty(out))-out) > 1e-9 {
			t.Fatalf("%+v: %g comes back as %g", p, out, p.Output(p.Duty(out)))
		}
		if p.RiseS > 0 && p.FallS > 0 && math.Abs(p.Duty(out)-duty) > 1e-6 {
			t.Fatalf("%+v: duty %g comes back as %g", p, duty, p.Duty(out))
		}
	})
}

// TestAnalogue: the parabola meets its three points, rises, and is inverted.
func TestAnalogue(t *testing.T) {
	compare(t, []check{
		{"none", AnalogueFlux(0, 1.2), 0, 0, "definition"},
		{"all", AnalogueFlux(1, 1.2), 1, 1e-15, "definition"},
		{"tenth", AnalogueFlux(0.1, 1.2), 0.118, 1e-15, "1.2·0.1 − 0.2·0.01"},
		{"bend", AnalogueBend(AnalogueFlux(0.5, 1.17)), 1.17, 1e-12, "by its definition"},
		{"straight", AnalogueFraction(0.3, 1), 0.3, 1e-15, "proportional"},
	})
	rapid.Check(t, func(t *rapid.T) {
		bend := rapid.Float64Range(0.7, 1.6).Draw(t, "bend")
		d := rapid.Float64Range(0, 1).Draw(t, "d")
		if back := AnalogueFraction(AnalogueFlux(d, bend), bend); math.Abs(back-d) > 1e-9 {
			t.Fatalf("bend %g: %g comes back as %g", bend, d, back)
		}
		if AnalogueFlux(math.Min(1, d+0.01), bend) < AnalogueFlux(d, bend) {
			t.Fatalf("bend %g falls at %g", bend, d)
		}
	})
}

// TestDimmer: a level comes back within half a unit, more level is never less code, and off and minimum are kept.
func TestDimmer(t *testing.T) {
	d := Dimmer{Steps: 4096, DitherBits: 2, MinDuty: 0.01, OffBelow: 0.004}
	compare(t, []check{
		{"below", d.Code(0.0039), 0, 0, "off"},
		{"first", d.Code(0.004), 41, 0, "⌈0.01·4096·4⌉/4 = 41"},
		{"half", d.Code(0.5), 2048, 0, "half of the steps"},
		{"unit", d.Unit(), 1. / 16384, 0, "1/(4096·4)"},
		{"first light", d.First(), 41. / 4096, 1e-15, "minimum of the driver"},
		{"full", d.Code(1), 4096, 0, "full scale"},
	})
	d.OffBelow = 0.02
	compare(t, []check{{"first light of off_below", d.First(), 0.02, 1. / 32768, "higher than the minimum"}})
	rapid.Check(t, func(t *rapid.T) {
		d := Dimmer{
			Steps: rapid.IntRange(16, 65536).Draw(t, "steps"), DitherBits: rapid.IntRange(0, 4).Draw(t, "dither"),
			MinDuty: rapid.SampledFrom([]float64{0, 0.003, 0.1, 1}).Draw(t, "least"), Pulses: drawPulses(t),
		}
		if rapid.Bool().Draw(t, "analogue") {
			d.Pulses, d.Bend = Pulses{}, rapid.Float64Range(1, 1.4).Draw(t, "bend")
		}
		d.OffBelow = d.MinDuty / 2
		a, b := rapid.Float64Range(0, 1).Draw(t, "a"), rapid.Float64Range(0, 1).Draw(t, "b")
		if (a <= b) != (d.Code(a) <= d.Code(b)) && d.Code(a) != d.Code(b) {
			t.Fatalf("%+v: codes %g and %g of %g and %g", d, d.Code(a), d.Code(b), a, b)
		}
		code := d.Code(a)
		if code > float64(d.Steps) || code > 0 && code < math.Floor(d.MinDuty*float64(d.Steps)) {
			t.Fatalf("%+v: code %g of %g", d, code, a)
		}
		unit := d.Unit() * float64(d.Steps)
		if code <= unit || code/float64(d.Steps) <= d.MinDuty+d.Unit() {
			return
		}
		if lo, hi := d.Level(code-0.51*unit), d.Level(math.Min(float64(d.Steps), code+0.51*unit)); a < lo || a > hi {
			t.Fatalf("%+v: level %g has code %g, which is %g to %g", d, a, code, lo, hi)
		}
	})
}

// TestBudgetFactor: one factor keeps the ratio of channels and meets the limit (DY30).
func TestBudgetFactor(t *testing.T) {
	power, duty := []float64{64, 12}, []float64{1, 0.717}
	k := BudgetFactor(power, duty, 55)
	compare(t, []check{
		{"power", k * (64 + 12*0.717), 55, 1e-12, "limit"},
		{"factor", k, 0.757534, 1e-6, "55/72.604"},
		{"within", BudgetFactor(power, duty, 73), 1, 0, "below the limit"},
		{"ratio", (k * duty[1]) / (k * duty[0]), 0.717, 1e-12, "colour is kept"},
	})
}

// TestLargestStep: of proportional dimming it is at the first light, and of any dimming what all codes have.
func TestLargestStep(t *testing.T) {
	straight := Dimmer{Steps: 4096}
	first, at := straight.LargestStep(1)
	floor := Dimmer{Steps: 4096, MinDuty: 0.01}
	later, from := floor.LargestStep(1)
	half, _ := straight.LargestStep(0.5)
	compare(t, []check{
		{"12 bit", first, FirstStep(12), 1e-12, "903.3/2^N"},
		{"its place", at, 1. / 4096, 1e-12, "code 1"},
		{"from 1 %", later, 0.2017, 5e-4, "116/3·Y^(−2/3)/4096 = 0.2034, less 0.0017 by the curvature"},
		{"its place", from, 41. / 4096, 1e-12, "first light"},
		{"of half light", half, 2 * first, 1e-9, "straight below the knee"},
	})
	for _, d := range []Dimmer{
		{Steps: 512, Pulses: Pulses{RiseS: 270e-6, FallS: 30e-6, Hz: 1000}},
		{Steps: 512, Pulses: Pulses{FallS: 1e-4, Hz: 1000}},
		{Steps: 4001, Pulses: Pulses{RiseS: 300e-6, Hz: 1000}}, // the last step closes the gap
	} {
		got, _ := d.LargestStep(1)
		compare(t, []check{{"with edges", got, ofAllCodes(d, 1), 1e-9, "all codes"}})
	}
	rapid.Check(t, func(t *rapid.T) {
		d := Dimmer{
			Steps: rapid.IntRange(16, 512).Draw(t, "steps"), DitherBits: rapid.IntRange(0, 1).Draw(t, "dither"),
			MinDuty: rapid.SampledFrom([]float64{0, 0.003, 0.1}).Draw(t, "least"), Pulses: drawPulses(t),
		}
		if rapid.Bool().Draw(t, "without edges") {
			d.Steps, d.Pulses = 37*d.Steps, Pulses{}
		}
		full := rapid.Float64Range(0.2, 1).Draw(t, "full")
		if got, _ := d.LargestStep(full); math.Abs(got-ofAllCodes(d, full)) > 1e-6*got {
			t.Fatalf("%+v: largest step %g, of all codes %g", d, got, ofAllCodes(d, full))
		}
	})
}

// ofAllCodes returns the largest step of lightness of all codes.
func ofAllCodes(d Dimmer, full float64) (most float64) {
	unit := d.Unit() * float64(d.Steps)
	for code := d.Code(d.First()); code+unit <= d.Code(full); code += unit {
		most = max(most, Lightness(min(1, d.Level(code+unit)/full))-Lightness(min(1, d.Level(code)/full)))
	}
	return most
}
