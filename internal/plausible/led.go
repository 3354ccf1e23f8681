package plausible

import (
	"math"
	"slices"
	"sync"

	"lampwright/internal/table"
)

// Material is the semiconductor of a die.
type Material int

// The materials.
const (
	Unknown Material = iota
	InGaN
	AlInGaP
)

// LED is an LED package at its test point, as its datasheet was typed.
type LED struct {
	Material  Material
	PeakNM    float64 // of its spectrum
	Broad     bool    // several peaks or a phosphor: less than 85 % of the power within ± 35 nm of the peak
	LmW       float64 // luminous efficacy of radiation of its spectrum
	Dies      int
	CurrentA  float64 // of one die
	VoltageV  float64 // of one die at that current
	RadiantW  float64 // of the package
	InLumens  bool    // whether its flux was typed in lumens
	TempcoVK  float64 // change of the voltage of one die
	JunctionK float64 // at which all this is stated
}

// die is a class of dies.
type die struct {
	name                           string
	material                       Material // Unknown for a phosphor
	peakNM                         float64
	vLo, vMid, vHi                 float64
	etaLo, etaHi, etaWarn, etaStop float64
}

var dies = sync.OnceValue(func() (out []die) {
	t := table.Must(data, "data/dies.csv", "peak", "v_lo", "v_mid", "v_hi", "eta_lo", "eta_hi", "eta_warn", "eta_stop")
	for i := range t.Rows() {
		d := die{
			name: t.Text(i, "class"), peakNM: t.Number(i, "peak"),
			vLo: t.Number(i, "v_lo"), vMid: t.Number(i, "v_mid"), vHi: t.Number(i, "v_hi"),
			etaLo: t.Number(i, "eta_lo"), etaHi: t.Number(i, "eta_hi"),
			etaWarn: t.Number(i, "eta_warn"), etaStop: t.Number(i, "eta_stop"),
		}
		switch t.Text(i, "material") {
		case "InGaN":
			d.material = InGaN
		case "AlInGaP":
			d.material = AlInGaP
		}
		out = append(out, d)
	}
	return out
})

// widestGapNM is how far a peak may be from that of its class.
const widestGapNM = 45

// class returns the class of a die, and whether there is one. A broad spectrum is that of a phosphor on a blue die,
// unless the datasheet states another material; without a material InGaN ends at 570 nm.
func (e *LED) class() (die, bool) {
	material := e.Material
	if material == Unknown {
		const lastInGaN = 570
		if material = InGaN; e.PeakNM > lastInGaN {
			material = AlInGaP
		}
	}
	var best die
	gap := math.Inf(1)
	for _, d := range dies() {
		switch {
		case e.Broad && e.Material != AlInGaP:
			if d.material == Unknown {
				return d, true
			}
		case d.material == material && math.Abs(d.peakNM-e.PeakNM) < gap:
			best, gap = d, math.Abs(d.peakNM-e.PeakNM)
		}
	}
	return best, gap <= widestGapNM
}

// Class names the class of the die, such as "deep red"; "" where none is known.
func (e *LED) Class() string {
	if d, ok := e.class(); ok {
		return d.name
	}
	return ""
}

// dieCounts are the numbers of dies that packages have.
var dieCounts = []int{2, 3, 4, 6, 8, 9, 12, 16, 24}

// nearestCount returns the number of dies that is nearest to a ratio, and whether it explains the ratio within 12 %,
// the spread of forward voltages about the middle of their class.
func nearestCount(ratio float64) (int, bool) {
	const spread = 0.12
	k := slices.MinFunc(dieCounts, func(a, b int) int {
		return int(math.Copysign(1, math.Abs(ratio-float64(a))-math.Abs(ratio-float64(b))))
	})
	return k, math.Abs(ratio-float64(k)) <= spread*float64(k)
}

// PhotonV returns the voltage that gives one electron the energy of a photon [V]:
//
//	V = h·c/(e·λ) = 1239.84 V·nm / λ
//
// A die at its working current needs about that much; a part of it may come from heat, 0.25 V at most at rated current
// (rule of thumb, no source). Source: SI2019, exact constants.
func PhotonV(peakNM float64) float64 { return 1239.841984 / peakNM }

// Voltage compares the forward voltage of one die with its class and with the photon energy; nil where it is usual. It
// is grave where the value is that of a package: no single die has it.
func (e *LED) Voltage() *Doubt {
	const fromHeatV = 0.25
	d, known := e.class()
	if !known {
		return within(e.VoltageV, PhotonV(e.PeakNM)-fromHeatV, math.Inf(1))
	}
	lo := d.vLo
	if !e.Broad {
		lo = math.Max(lo, PhotonV(e.PeakNM)-fromHeatV)
	}
	out := within(e.VoltageV, lo, d.vHi)
	if out == nil {
		return nil
	}
	switch k, fits := nearestCount(e.VoltageV / d.vMid); {
	case fits && e.VoltageV > d.vHi:
		out.Grave, out.Slip, out.Times, out.Meant = true, PackageValue, k, e.VoltageV/float64(k)
	case within(e.VoltageV/1000, lo, d.vHi) == nil:
		out.Grave, out.Slip, out.Meant = true, Thousand, e.VoltageV/1000
	case within(e.VoltageV*1000, lo, d.vHi) == nil:
		out.Grave, out.Slip, out.Meant = true, Thousand, e.VoltageV*1000
	}
	return out
}

// powerW returns the electrical power of the package at its test point [W].
func (e *LED) powerW() float64 { return float64(e.Dies) * e.CurrentA * e.VoltageV }

// RadiantEfficiency returns radiant flux over electrical power at the test point [1].
func (e *LED) RadiantEfficiency() float64 { return e.RadiantW / e.powerW() }

// Efficiency compares the radiant efficiency at the test point with that of its class; nil where it is usual. It is
// grave above what any die of the class reaches, and above 1 whatever the class.
//
//	η = Φ_e/(n·I·V),   Φ_e = Φ_v/K
//
// Whites are also compared with 240 lm/W and 360 lm/W at a junction of 25 °C or more (rule of thumb, no source): lm/W
// is η·K.
func (e *LED) Efficiency() *Doubt {
	d, known := e.class()
	warn, stop, lo := 1.0, 1.0, 0.0
	if known {
		warn, stop = d.etaWarn, d.etaStop
	}
	const lastVisibleNM, dark = 700, 0.03
	if e.PeakNM < lastVisibleNM {
		lo = dark
	}
	const roomK, bestLmW, impossibleLmW = 298.15 - 0.01, 240, 360
	if d.material == Unknown && known && e.JunctionK >= roomK {
		warn, stop = math.Min(warn, bestLmW/e.LmW), math.Min(stop, impossibleLmW/e.LmW)
	}
	out := within(e.RadiantEfficiency(), lo, warn)
	if out == nil {
		return nil
	}
	if out.Grave = out.Value > stop; out.Grave {
		out.Hi = stop
	}
	e.explain(out, d, known)
	return out
}

// explain looks for the slip that brings an efficiency into the usual range of its class, widened by 0.1.
func (e *LED) explain(out *Doubt, d die, known bool) {
	if !known {
		d = die{etaLo: 0.2, etaHi: 0.7}
	}
	const slack = 0.1
	usual := func(radiantW, dies float64) bool {
		eta := radiantW / (dies * e.CurrentA * e.VoltageV)
		return eta >= d.etaLo-slack && eta <= d.etaHi+slack && eta > 0
	}
	n := float64(e.Dies)
	typed := e.RadiantW
	if e.InLumens {
		typed = e.RadiantW * e.LmW
	}
	high := out.Value > out.Hi
	switch {
	case high && out.Value <= 1: // possible energy, so that no slip of a whole factor explains it
	case e.Broad && high && e.manyDies(usual) > 0: // whites are stated in lumens
		out.Slip, out.Times = DiesNotStated, e.manyDies(usual)
	case high && e.InLumens && usual(typed/1000, n):
		out.Slip, out.Meant = LumensForMW, typed/1000
	case high && !e.InLumens && e.LmW > 0 && usual(typed/e.LmW, n):
		out.Slip, out.Meant = WattsForLumens, typed
	case high && e.manyDies(usual) > 0:
		out.Slip, out.Times = DiesNotStated, e.manyDies(usual)
	case high && usual(e.RadiantW/1000, n):
		out.Slip, out.Meant = Thousand, typed/1000
	case !high && !e.InLumens && e.LmW > 0 && usual(1000*typed/e.LmW, n):
		out.Slip, out.Meant = WattsForLumens, 1000*typed
	case !high && usual(1000*e.RadiantW, n):
		out.Slip, out.Meant = Thousand, 1000*typed
	}
}

// manyDies returns the smallest number of dies, larger than that stated, with which the efficiency is usual; 0 for
// none.
func (e *LED) manyDies(usual func(radiantW, dies float64) bool) int {
	for _, k := range dieCounts {
		if k > e.Dies && usual(e.RadiantW, float64(k)) {
			return k
		}
	}
	return 0
}

// Tempco compares the change of forward voltage of one die with 0.5 to 5 mV/K; nil where it is usual, and where it is
// 0, which is no slip of typing but a simplification. A value of k times the usual 2 mV/K is that of a package of k
// dies.
func (e *LED) Tempco() *Doubt {
	const lo, usual, hi = -5e-3, -2e-3, -0.5e-3
	out := within(e.TempcoVK, lo, hi)
	if out == nil || e.TempcoVK >= 0 {
		return nil
	}
	switch k, fits := nearestCount(e.TempcoVK / usual); {
	case e.TempcoVK < lo && fits:
		out.Slip, out.Times, out.Meant = PackageValue, k, e.TempcoVK/float64(k)
	case within(e.TempcoVK/1000, lo, hi) == nil:
		out.Slip, out.Meant = Thousand, e.TempcoVK/1000
	case within(e.TempcoVK*1000, lo, hi) == nil:
		out.Slip, out.Meant = Thousand, e.TempcoVK*1000
	}
	return out
}
