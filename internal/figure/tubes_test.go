package figure_test

import (
	"math"
	"testing"

	"lampwright/internal/figure"
	"lampwright/internal/lamptest"
)

// withTubes is the lamp of one die over its bench of 400 mm × 400 mm, 300 mm below, in place of two invented lamps.
func withTubes(t *testing.T, replaced, day string) *figure.Evaluation {
	t.Helper()
	return lamptest.Evaluate(t, lamptest.Change{
		"day: {full_level_time: 9 h, ramp_time: 1 h}\n",
		"replaced_lamp: {count: 2, flux: 2700 lm, power: 33 W, cct: 4000 K" + replaced + "}\nday: {full_level_time: " +
			"9 h, ramp_time: 1 h" + day + "}\n",
	})
}

const twoTubes = ", tubes: {length: 380 mm, spacing: 100 mm, reflector: aluminium, reflectance: 80 %, restrike: 10 %}"

// tubeMean is the mean of E/Φ over a level rectangle below a diffuse line source of flux Φ [1/m²], by Simpson's rule of
// the closed form E = I' h/d² · ½ (t + sin t cos t) between the ends, I' = Φ/(π² L), tan t = (x_end − x)/d,
// d² = h² + y². Derived in the tests of package light; cited there.
func tubeMean(sizeM, lengthM, h, y0 float64) float64 {
	const n = 80
	weight := func(i int) float64 {
		if i == 0 || i == n {
			return 1
		}
		return float64(2 + 2*(i%2))
	}
	sum := 0.0
	for i := range n + 1 {
		for k := range n + 1 {
			x, y := sizeM*(float64(i)/n-0.5), sizeM*(float64(k)/n-0.5)-y0
			d := math.Hypot(h, y)
			part := func(end float64) float64 {
				a := math.Atan2(end-x, d)
				return (a + math.Sin(a)*math.Cos(a)) / 2
			}
			e := h / (d * d) * (part(lengthM/2) - part(-lengthM/2)) / (math.Pi * math.Pi * lengthM)
			sum += weight(i) * weight(k) * e / (9 * n * n)
		}
	}
	return sum
}

// TestTubesOverBench compares the PPFD of tubes with the closed form of a line source, and what follows from it with
// arithmetic. FL11 of 4000 K has 13.148 µmol/s per klm (reference calculation): two tubes of 2700 lm have 71.0 µmol/s.
// A mirror returns 0.8 · (1 − 0.1) = 0.72 of the upper half.
func TestTubesOverBench(t *testing.T) {
	r := withTubes(t, twoTubes+", operating_time: 8000 h, replacement_interval: 1 year", "")
	photons := 2 * 2.7 * 13.148
	want := photons * 1.72 * (tubeMean(0.4, 0.38, 0.3, 0.05) + tubeMean(0.4, 0.38, 0.3, -0.05)) / 2
	for _, tt := range []struct {
		key       string
		want, tol float64
		source    string
	}{
		{"replaced.output-ratio", 0.86, 1e-12, "(1 + 0.72)/2"},
		// cells of 50 mm and points: 0.2 %; the reference of photons per lumen has 0.4 % (0.05 of 13.148)
		{"replaced.ppfd-new", want, 0.006 * want, "closed form of the line source"},
		{"replaced.ppfd", 0.95 * r.Value("replaced.ppfd-new"), 1e-9, "Akashi2002: 95 % after 8000 h"},
		// Half of the light of the tubes that leaves downwards arrives or misses.
		{
			"replaced.spill", 1 - 0.16*r.Value("replaced.ppfd-new")/(0.86*r.Value("replaced.ppf")/0.95), 0.004,
			"what does not arrive on 0.16 m² misses it",
		},
		{"replaced.dli", r.Value("replaced.ppfd") * 10 * 3600e-6, 2e-5, "9 h and half of two ramps of 1 h"},
		{"replaced.ppfd-ratio", r.Value("target.ppfd") / r.Value("replaced.ppfd"), 1e-12, "arithmetic"},
		{"replaced.dli-ratio", r.Value("target.dli") / r.Value("replaced.dli"), 1e-12, "arithmetic"},
		{
			"replaced.ppfd-end",
			r.Value("replaced.ppfd-new") * (1 - 0.05*(1-math.Exp(-3652.5/2500))/(1-math.Exp(-3.2))),
			1e-3, "365.25 days of 10 h",
		},
	} {
		lamptest.Near(t, tt.key, r.Value(tt.key), tt.want, tt.tol, tt.source)
	}
	if mean, end := r.Value("replaced.ppfd-mean"), r.Value("replaced.ppfd-end"); !(mean > end &&
		mean < r.Value("replaced.ppfd-new")) {
		t.Errorf("mean over the life %g, at its end %g", mean, end)
	}
	if u := r.Value("replaced.uniformity"); u < 0.4 || u > 0.8 {
		t.Errorf("uniformity %g: the edges of a bench as wide as the tubes are long have 0.4 to 0.8 of the mean", u)
	}
	for _, key := range []string{
		"replaced.ppfd-surface", "replaced.cost-year", "replaced.payback", "replaced.tubes-year",
	} {
		if _, there := r.Figure(key); there {
			t.Errorf("%s without water, tariff or prices", key)
		}
	}
}

// TestReflectors: the range of what is assumed of a reflector is in the figures; a stated one has none. Bare tubes lose
// half of their light upwards.
func TestReflectors(t *testing.T) {
	lor := func(keys string) (figure.Figure, *figure.Evaluation) {
		r := withTubes(t, ", tubes: {length: 380 mm"+keys+"}", "")
		f, _ := r.Figure("replaced.output-ratio")
		return f, r
	}
	bare, bareLight := lor("")
	lamptest.Near(t, "bare", bare.Value, 1, 0, "definition")
	painted, paintedLight := lor(", reflector: painted")
	lamptest.Near(t, "painted", painted.Value, 0.8, 1e-12, "(1 + 0.8 · 0.75)/2, rules of thumb (no source)")
	lamptest.Near(t, "painted, dim", painted.Lo, 0.71, 1e-12, "(1 + 0.7 · 0.6)/2, rules of thumb (no source)")
	lamptest.Near(t, "painted, bright", painted.Hi, 0.874, 1e-12, "(1 + 0.88 · 0.85)/2, rules of thumb (no source)")
	stated, _ := lor(", reflector: aluminium, reflectance: 90 %, restrike: 20 %")
	lamptest.Near(t, "stated", stated.Value, 0.86, 1e-12, "(1 + 0.9 · 0.8)/2")
	if stated.Lo != stated.Hi {
		t.Errorf("a reflector that is stated has a range: %g to %g", stated.Lo, stated.Hi)
	}
	_, mirror := lor(", reflector: aluminium, reflectance: 90 %, restrike: 20 %")
	ratio := mirror.Value("replaced.ppfd-new") / bareLight.Value("replaced.ppfd-new")
	lamptest.Near(t, "PPFD below a mirror", ratio, 1.72, 1e-6, "the upper half, mirrored, times 0.72")
	if s := bareLight.Value("replaced.spill"); s < 0.5 || s <= paintedLight.Value("replaced.spill") {
		t.Errorf("spill of bare tubes %g, below a painted reflector %g", s, paintedLight.Value("replaced.spill"))
	}
	if p := paintedLight.Value("replaced.ppfd-new") / bareLight.Value("replaced.ppfd-new"); p < 1.6 || p > 2.2 {
		t.Errorf("a painted reflector gives %g of the light of bare tubes; its light is Lambert's, so more than 1.6", p)
	}
}

// TestPayback compares yearly cost and payback with arithmetic. Two lamps of 33 W, 4 h a day, are 96.36 kWh a year.
func TestPayback(t *testing.T) {
	const prices = ", photoperiod: 4 h, price: 9 EUR, disposal_cost: 1 EUR"
	// Cheap power from 12:00 to 14:00; the programme lies about 13:00, so do the 4 h.
	const windows = ", tariff: 0.30 EUR/kWh, tariff_windows: [{from: \"12:00\", to: \"14:00\", tariff: 0.10 EUR/kWh}]"
	r := withTubes(t, prices+", rated_life: 1000 h, replacement_interval: 1 year", windows)
	led := r.Value("cost.electricity-year")
	for _, tt := range []struct {
		key       string
		want, tol float64
		source    string
	}{
		{"replaced.energy-year", 96.36 * 3.6e6, 1, "365 · 66 W · 4 h"},
		{"replaced.tubes-year", 2 * 10 * 365 / 250.0, 1e-9, "1000 h at 4 h a day are 250 days"},
		{"replaced.cost-year", 96.36*0.20 + 29.2, 1e-6, "half of the energy at 0.10, half at 0.30 EUR/kWh"},
		{"replaced.saving-year", 96.36*0.20 + 29.2 - led, 1e-6, "arithmetic"},
		{"replaced.payback", r.Value("cost.bom") / (96.36*0.20 + 29.2 - led), 1e-6, "arithmetic"},
	} {
		lamptest.Near(t, tt.key, r.Value(tt.key), tt.want, tt.tol, tt.source)
	}
	r = withTubes(t, prices+", rated_life: 20000 h, replacement_interval: 6 months", windows)
	lamptest.Near(t, "tubes of half a year", r.Value("replaced.tubes-year"), 2*10*365/182.625, 1e-6, "6 · 30.4375 days")
	r = withTubes(t, ", photoperiod: 24 h", windows)
	lamptest.Near(t, "the day round", r.Value("replaced.cost-year"), 365*1.584*(22*0.3+2*0.1)/24, 1e-6,
		"24 h of 66 W; 2 h of it at 0.10 EUR/kWh")
	// A lamp that saves nothing never pays for itself.
	r = lamptest.Evaluate(t, lamptest.Change{
		"day: {full_level_time: 9 h, ramp_time: 1 h}\n", "replaced_lamp: {flux: 60 lm, power: 1 W, cct: 4000 K}\n" +
			"day: {full_level_time: 9 h, ramp_time: 1 h, tariff: 0.30 EUR/kWh}\n",
	})
	if _, there := r.Figure("replaced.payback"); there || r.Value("replaced.saving-year") >= 0 {
		t.Errorf("a lamp of 1 W is replaced by one of 3.75 W: saving %g", r.Value("replaced.saving-year"))
	}
	// Without a programme the hours of the replaced lamp are stated, or nothing is known of its year.
	r = lamptest.Evaluate(t, lamptest.Change{
		"day: {full_level_time: 9 h, ramp_time: 1 h}\n", "replaced_lamp: {flux: 60 lm, power: 1 W, cct: 4000 K" +
			twoTubes[:len(twoTubes)-1] + ", height: 200 mm}}\n",
	})
	if _, there := r.Figure("replaced.energy-year"); there || r.Value("replaced.ppfd") <= 0 {
		t.Error("a year without hours per day, or no PPFD without them")
	}
}

// TestMiddleOfDay: a programme over midnight has its middle there, and so has the replaced lamp.
func TestMiddleOfDay(t *testing.T) {
	r := withTubes(t, ", photoperiod: 2 h", `, start: "19:00", tariff: 0.30 EUR/kWh, tariff_windows: [{from: "23:30", `+
		`to: "01:30", tariff: 0.10 EUR/kWh}]`) // 11 h with ramps: to 06:00, about 00:30
	lamptest.Near(t, "cost", r.Value("replaced.cost-year"), 365*0.132*0.10, 1e-3, "2 h of 66 W at 0.10 EUR/kWh")
}
