package plausible

import (
	"math"
	"testing"
)

// white is an invented white die: K = 320 lm/W, 2.95 V at 350 mA.
var white = LED{
	Material: InGaN, PeakNM: 450, Broad: true, LmW: 320, Dies: 1, CurrentA: 0.35, VoltageV: 2.95, RadiantW: 0.45,
	InLumens: true, TempcoVK: -2e-3, JunctionK: 358.15,
}

// blue is an invented royal blue die with K = 27.6 lm/W (Gaussian of 450 nm, 20 nm wide).
var blue = LED{
	Material: InGaN, PeakNM: 450, LmW: 27.6, Dies: 1, CurrentA: 0.35, VoltageV: 2.9, RadiantW: 0.55, TempcoVK: -2e-3,
	JunctionK: 358.15,
}

// TestPhotonV: h·c/(e·λ) by hand, 1239.84/λ.
func TestPhotonV(t *testing.T) {
	for _, tt := range []struct{ nm, want float64 }{{450, 2.76}, {525, 2.36}, {632, 1.96}, {660, 1.88}, {730, 1.70}} {
		if got := PhotonV(tt.nm); math.Abs(got-tt.want) > 0.003*tt.want {
			t.Errorf("%g nm: %.3f V, want %.2f", tt.nm, got, tt.want)
		}
	}
}

// TestVoltage: ratios to 2.9 V, the middle of the class; ranges are rules of thumb (no source).
func TestVoltage(t *testing.T) {
	for _, tt := range []struct {
		name    string
		volts   float64
		slip    Slip
		times   int
		grave   bool
		noDoubt bool
	}{
		{name: "usual", volts: 2.95, noDoubt: true},
		{name: "at the upper end", volts: 3.4, noDoubt: true},
		{name: "high", volts: 3.6},
		{name: "low", volts: 2.4},
		{name: "two dies", volts: 5.9, slip: PackageValue, times: 2, grave: true},
		{name: "three dies, 8.85/2.95 = 3", volts: 8.85, slip: PackageValue, times: 3, grave: true},
		{name: "four dies", volts: 11, slip: PackageValue, times: 4, grave: true},
		{name: "twelve dies", volts: 35.4, slip: PackageValue, times: 12, grave: true},
		{name: "millivolts", volts: 2950, slip: Thousand, grave: true},
		{name: "kilovolts", volts: 0.00295, slip: Thousand, grave: true},
	} {
		e := white
		e.VoltageV = tt.volts
		d := e.Voltage()
		if (d == nil) != tt.noDoubt {
			t.Errorf("%s: doubt %v", tt.name, d)
			continue
		}
		if d != nil && (d.Slip != tt.slip || d.Times != tt.times || d.Grave != tt.grave) {
			t.Errorf("%s: slip %d, %d times, grave %v", tt.name, d.Slip, d.Times, d.Grave)
		}
		if d != nil && tt.slip != NoSlip && math.Abs(d.Meant-2.9) > 0.2 {
			t.Errorf("%s: meant %g V", tt.name, d.Meant)
		}
	}
	// Photon energy, whatever the class: 385 nm is 3.22 V, and 2.95 V is 0.27 V less.
	uv := LED{Material: InGaN, PeakNM: 385, VoltageV: 2.95}
	if uv.Voltage() == nil {
		t.Error("2.95 V at 385 nm passes")
	}
	if uv.VoltageV = 2.98; uv.Voltage() != nil {
		t.Error("2.98 V at 385 nm does not pass")
	}
	ir := LED{PeakNM: 940, VoltageV: 1.0} // no class: 1.32 V − 0.25 V = 1.07 V
	if ir.Voltage() == nil {
		t.Error("1.0 V at 940 nm passes")
	}
}

// TestEfficiency: η = Φ_v/(K·n·I·V) by hand.
func TestEfficiency(t *testing.T) {
	lumens := func(e LED, lm float64, dies int) LED {
		e.InLumens, e.RadiantW, e.Dies = true, lm/e.LmW, dies
		return e
	}
	watts := func(e LED, w float64) LED {
		e.InLumens, e.RadiantW = false, w
		return e
	}
	at29 := white
	at29.VoltageV = 2.9
	for _, tt := range []struct {
		name    string
		led     LED
		eta     float64
		slip    Slip
		meant   float64
		grave   bool
		noDoubt bool
	}{
		{name: "520 lm, four dies", led: lumens(at29, 520, 4), eta: 0.400, noDoubt: true},
		{name: "520 lm, one die", led: lumens(at29, 520, 1), eta: 1.601, slip: DiesNotStated, grave: true},
		{
			name: "620 lm typed for 620 mW", led: lumens(blue, 620, 1), eta: 22.13, slip: LumensForMW, meant: 0.620,
			grave: true,
		},
		{name: "620 mW", led: watts(blue, 0.62), eta: 0.611, noDoubt: true},
		{name: "620 W typed for 620 mW", led: watts(blue, 620), eta: 611, slip: Thousand, meant: 0.62, grave: true},
		{
			name: "150 W typed for 150 lm", led: watts(white, 150), eta: 145.3, slip: WattsForLumens, meant: 150,
			grave: true,
		},
		{name: "0.15 lm typed for 150 lm", led: lumens(white, 0.15, 1), eta: 0.000454, slip: Thousand, meant: 150},
		{name: "just below the warning", led: watts(white, 0.619*0.35*2.95), eta: 0.619, noDoubt: true},
		{name: "just above it", led: watts(white, 0.621*0.35*2.95), eta: 0.621},
		{name: "just above the stop", led: watts(white, 0.751*0.35*2.95), eta: 0.751, grave: true},
	} {
		if got := tt.led.RadiantEfficiency(); math.Abs(got-tt.eta) > 0.002*tt.eta {
			t.Errorf("%s: efficiency %.4g, want %.4g", tt.name, got, tt.eta)
		}
		d := tt.led.Efficiency()
		if (d == nil) != tt.noDoubt {
			t.Errorf("%s: doubt %+v", tt.name, d)
			continue
		}
		if d == nil {
			continue
		}
		if d.Slip != tt.slip || d.Grave != tt.grave || math.Abs(d.Meant-tt.meant) > 1e-9 {
			t.Errorf("%s: slip %d, grave %v, meant %g", tt.name, d.Slip, d.Grave, d.Meant)
		}
	}
	// A white of K = 400 lm/W at η = 0.61 makes 244 lm/W: more than 240, though η is usual.
	bright := watts(white, 0.61*0.35*2.95)
	bright.LmW = 400
	if bright.Efficiency() == nil {
		t.Error("244 lm/W at 85 °C passes")
	}
	far := LED{Material: AlInGaP, PeakNM: 730, LmW: 0.5, Dies: 1, CurrentA: 0.35, VoltageV: 1.9, RadiantW: 0.01}
	if far.Efficiency() != nil {
		t.Error("a dim far red, of which no minimum is known, is doubted")
	}
}

// TestClass: peaks between classes.
func TestClass(t *testing.T) {
	for _, tt := range []struct {
		led  LED
		want string
	}{
		{LED{PeakNM: 470}, "blue"},
		{LED{PeakNM: 405}, "violet"},
		{LED{PeakNM: 595}, "amber"},
		{LED{PeakNM: 655}, "deep red"},
		{LED{PeakNM: 600, Broad: true}, "white"},
		{LED{PeakNM: 600, Broad: true, Material: AlInGaP}, "amber"},
		{LED{PeakNM: 560, Material: InGaN}, "green"},
		{LED{PeakNM: 850}, ""},
	} {
		if got := tt.led.Class(); got != tt.want {
			t.Errorf("%+v: %q, want %q", tt.led, got, tt.want)
		}
	}
}

// TestTempco: −0.5 to −5 mV/K a die, k times that for a package (rule of thumb, no source).
func TestTempco(t *testing.T) {
	for _, tt := range []struct {
		mVK     float64
		slip    Slip
		times   int
		noDoubt bool
	}{
		{mVK: -5, noDoubt: true},
		{mVK: -0.5, noDoubt: true},
		{mVK: -8, slip: PackageValue, times: 4},
		{mVK: -2000, slip: Thousand},
		{mVK: -0.002, slip: Thousand},
		{mVK: 0, noDoubt: true},
		{mVK: -0.2},
	} {
		e := white
		e.TempcoVK = tt.mVK / 1000
		d := e.Tempco()
		if (d == nil) != tt.noDoubt || d != nil && (d.Slip != tt.slip || d.Times != tt.times) {
			t.Errorf("%g mV/K: %+v", tt.mVK, d)
		}
	}
}

// TestResistance: 4 K/W on a pad of 3.3 × 1.4 mm is 18.5 K·mm²/W; 40 K/W is 185.
func TestResistance(t *testing.T) {
	const pad = 3.3e-3 * 1.4e-3
	if got := 4 * pad * 1e6; math.Abs(got-18.48) > 0.01 {
		t.Fatalf("%g K·mm²/W", got)
	}
	for _, tt := range []struct {
		name          string
		rth, l, w     float64
		usual, padIsF bool
	}{
		{"ceramic 3535", 4, 3.45e-3, 3.45e-3, true, true},
		{"ceramic 3535, ten times", 40, 3.45e-3, 3.45e-3, false, false},
		{"ceramic 3535, a tenth", 0.4, 3.45e-3, 3.45e-3, false, false},
		{"5050 may be plastic", 12, 5e-3, 5e-3, true, true},
		{"2835 turned", 18, 2.8e-3, 3.5e-3, true, true},
		{"no class of that size", 40, 15e-3, 15e-3, true, true},
		{"no class, pad alone", 60, 15e-3, 15e-3, true, false},
	} {
		if got := Resistance(tt.rth, tt.l, tt.w) == nil; got != tt.usual {
			t.Errorf("%s: usual %v", tt.name, got)
		}
		if got := ResistanceOfPad(tt.rth, pad, tt.l, tt.w) == nil; got != tt.padIsF {
			t.Errorf("%s: with its pad usual %v", tt.name, got)
		}
	}
}

func TestValue(t *testing.T) {
	for _, tt := range []struct {
		kind, key   string
		value       float64
		temperature bool
		slip        Slip
		meant       float64
		noDoubt     bool
	}{
		{kind: "driver", key: "current_max", value: 0.7, noDoubt: true},
		{kind: "driver", key: "current_max", value: 700, slip: Thousand, meant: 0.7},
		{kind: "board", key: "dielectric_thickness", value: 1e-7, slip: Thousand, meant: 1e-4},
		{kind: "sensor", key: "r25", value: 10, slip: Thousand, meant: 10e3},
		{
			kind: "emitter", key: "max_junction", value: 423.15 + 273.15, temperature: true, slip: KelvinAsCelsius,
			meant: 423.15,
		},
		{kind: "emitter", key: "test_junction", value: 85, temperature: true, slip: CelsiusAsKelvin, meant: 358.15},
		{kind: "emitter", key: "max_junction", value: 500, temperature: true},
		{kind: "lens", key: "no such key", value: 1e9, noDoubt: true},
	} {
		d := Value(tt.kind, tt.key, tt.value, tt.temperature)
		if (d == nil) != tt.noDoubt || d != nil && (d.Slip != tt.slip || math.Abs(d.Meant-tt.meant) > 1e-9*tt.meant) {
			t.Errorf("%s %s %g: %+v", tt.kind, tt.key, tt.value, d)
		}
	}
}

func TestSteepens(t *testing.T) {
	x := []float64{0.1, 0.35, 0.7, 1}
	for _, tt := range []struct {
		name string
		y    []float64
		want int
	}{
		{"diode", []float64{2.6, 2.75, 2.87, 2.95}, 0},
		{"straight", []float64{2.6, 2.725, 2.9, 3.05}, 0},
		{"steeper by less than two readings", []float64{2.6, 2.75, 3.02, 3.2}, 0},
		{"a misread point", []float64{2.6, 2.7, 2.81, 3.11}, 3},
	} {
		if got := Steepens(x, tt.y); got != tt.want {
			t.Errorf("%s: %d, want %d", tt.name, got, tt.want)
		}
	}
}

func TestSwapped(t *testing.T) {
	long := [][4]float64{{0.09, 0.02, 0.002, 0.002}, {-0.09, -0.02, 0.002, 0.002}}
	if !Swapped(0.06, 0.2, long) {
		t.Error("60 × 200 mm with emitters along x: not found")
	}
	if Swapped(0.2, 0.06, long) {
		t.Error("200 × 60 mm with emitters along x: they lie inside")
	}
	if Swapped(0.06, 0.1, long) {
		t.Error("60 × 100 mm: exchanging does not help")
	}
}
