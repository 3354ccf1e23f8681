// Package plausible compares typed datasheet values with the values that such a part can have, and names the slip that
// explains the difference: the value of a package typed as that of one die, lumens as milliwatts, kelvins as degrees
// Celsius, a factor 1000.
//
// In: plain SI values of one part.
// Out: a Doubt for each value outside its usual range, with the slip and the value that was meant, where one explains
// it.
// Assumes: usual ranges are rules of thumb (no source); photon energy and luminous efficacy of radiation are physics.
// Leaves to others: which part and key a value is of, severities and texts (review).
package plausible

import (
	"embed"
	"math"
	"slices"
	"sync"

	"lampwright/internal/table"
)

//go:embed data/*.csv
var data embed.FS

// Slip is a mistake of typing that explains a value.
type Slip int

// The slips.
const (
	NoSlip          Slip = iota // none is known that explains it
	PackageValue                // the value of the package, of Times dies, typed as that of one die
	DiesNotStated               // the package has Times dies
	LumensForMW                 // a number of milliwatts typed as lumens
	WattsForLumens              // a number of lumens typed as watts or milliwatts
	Thousand                    // a factor of 1000, either way
	KelvinAsCelsius             // a number of kelvins typed as °C
	CelsiusAsKelvin             // a number of °C typed as kelvins
)

// Doubt is a value outside its usual range.
type Doubt struct {
	Value, Lo, Hi float64 // SI; an end that is no limit is infinite
	Grave         bool    // no such part exists: figures computed from the value are void
	Slip          Slip
	Times         int     // dies, of PackageValue and DiesNotStated
	Meant         float64 // the value without the slip, in the unit that was meant
}

// within returns a doubt about a value outside lo to hi; nil where it lies inside.
func within(value, lo, hi float64) *Doubt {
	const bits = 1e-9
	if value >= lo-bits*math.Abs(lo) && value <= hi+bits*math.Abs(hi) {
		return nil
	}
	return &Doubt{Value: value, Lo: lo, Hi: hi}
}

// partRange is the usual range of a key of a kind of part.
type partRange struct{ lo, hi float64 }

var partRanges = sync.OnceValue(func() map[[2]string]partRange {
	t := table.Must(data, "data/parts.csv", "lo", "hi")
	out := map[[2]string]partRange{}
	for i := range t.Rows() {
		out[[2]string{t.Text(i, "kind"), t.Text(i, "key")}] = partRange{t.Number(i, "lo"), t.Number(i, "hi")}
	}
	return out
})

// Value compares a value with the usual range of a key of a kind of part; nil where it lies inside or the range of that
// key is not known. A value that lies inside after a factor 1000, or after the step from °C to kelvins, is taken as
// that slip.
func Value(kind, key string, value float64, isTemperature bool) *Doubt {
	r, known := partRanges()[[2]string{kind, key}]
	if !known {
		return nil
	}
	d := within(value, r.lo, r.hi)
	if d == nil {
		return nil
	}
	const zeroCelsius = 273.15
	try := []struct {
		slip  Slip
		meant float64
	}{{Thousand, value / 1000}, {Thousand, value * 1000}}
	if isTemperature {
		try[0].slip, try[0].meant = KelvinAsCelsius, value-zeroCelsius
		try[1].slip, try[1].meant = CelsiusAsKelvin, value+zeroCelsius
	}
	for _, s := range try {
		if value != 0 && within(s.meant, r.lo, r.hi) == nil {
			d.Slip, d.Meant = s.slip, s.meant
			return d
		}
	}
	return d
}

// pack is a row of usual packages.
type pack struct{ longMM, shortMM, rLo, rHi, areaLo, areaHi float64 }

var packs = sync.OnceValue(func() (out []pack) {
	t := table.Must(data, "data/packages.csv", "long", "short", "r_lo", "r_hi", "area_lo", "area_hi")
	for i := range t.Rows() {
		out = append(out, pack{
			t.Number(i, "long"), t.Number(i, "short"), t.Number(i, "r_lo"), t.Number(i, "r_hi"),
			t.Number(i, "area_lo"), t.Number(i, "area_hi"),
		})
	}
	return out
})

// sizeSlackMM is how far a body may differ from the size of its package class.
const sizeSlackMM = 0.3

// usualPack returns the range of packages with a body of these sides, whatever their material; of all packages, without
// a resistance, where no class has that size.
func usualPack(lengthM, widthM float64) pack {
	long, short := 1e3*math.Max(lengthM, widthM), 1e3*math.Min(lengthM, widthM)
	out := pack{rLo: math.Inf(1), areaLo: math.Inf(1)}
	none := pack{rHi: math.Inf(1), areaLo: math.Inf(1)}
	for _, p := range packs() {
		none.areaLo, none.areaHi = math.Min(none.areaLo, p.areaLo), math.Max(none.areaHi, p.areaHi)
		if math.Abs(p.longMM-long) > sizeSlackMM || math.Abs(p.shortMM-short) > sizeSlackMM {
			continue
		}
		out.rLo, out.rHi = math.Min(out.rLo, p.rLo), math.Max(out.rHi, p.rHi)
		out.areaLo, out.areaHi = math.Min(out.areaLo, p.areaLo), math.Max(out.areaHi, p.areaHi)
	}
	if out.rHi == 0 {
		return none
	}
	return out
}

// Resistance compares a thermal resistance from junction to solder point [K/W] with that of packages of its size; nil
// where it lies inside. Sides of 0 are not known.
func Resistance(rthKW, bodyLengthM, bodyWidthM float64) *Doubt {
	p := usualPack(bodyLengthM, bodyWidthM)
	return within(rthKW, p.rLo, p.rHi)
}

// ResistanceOfPad compares thermal resistance times thermal pad [K·m²/W] with that of packages of its size; nil where
// it lies inside. The heat of a package leaves through its pad, so that the product depends on its material alone: 4 to
// 60 K·mm²/W for ceramic, 20 to 250 for plastic.
func ResistanceOfPad(rthKW, padM2, bodyLengthM, bodyWidthM float64) *Doubt {
	p := usualPack(bodyLengthM, bodyWidthM)
	return within(rthKW*padM2, 1e-6*p.areaLo, 1e-6*p.areaHi)
}

// Steepens returns the position of the first segment of a forward-voltage curve that is steeper than the one before it
// by more than two readings of a graph, each ± readingV, explain; 0 where there is none. The slope of a die falls with
// current towards that of its series resistance.
func Steepens(currentA, voltageV []float64) int {
	const readingV = 0.02
	for i := 2; i < len(currentA); i++ {
		before, now := currentA[i-1]-currentA[i-2], currentA[i]-currentA[i-1]
		slope := (voltageV[i-1] - voltageV[i-2]) / before
		if voltageV[i]-voltageV[i-1]-slope*now > 2*readingV*(1+now/before) {
			return i
		}
	}
	return 0
}

// Swapped reports whether all points lie in a rectangle about the origin after its sides, or the coordinates of the
// points, are exchanged, while at least one lies outside it as stated. Points are [x, y, half length, half width] in
// metres.
func Swapped(lengthM, widthM float64, points [][4]float64) bool {
	inside := func(l, w float64, p [4]float64) bool {
		const slackM = 1e-9
		return math.Abs(p[0])+p[2] <= l/2+slackM && math.Abs(p[1])+p[3] <= w/2+slackM
	}
	out := func(l, w float64) bool {
		return slices.ContainsFunc(points, func(p [4]float64) bool { return !inside(l, w, p) })
	}
	return out(lengthM, widthM) && !out(widthM, lengthM)
}
