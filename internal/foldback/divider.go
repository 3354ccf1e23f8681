package foldback

import (
	"fmt"
	"math"
	"sort"
)

// A converter reading within this fraction of either end means a sensor that is open or short. Rule of thumb (no source).
const faultShare = 0.02

// Divider is a thermistor and a fixed resistor between a reference voltage and ground, read by a converter that is
// referred to the same voltage.
type Divider struct {
	NTC           NTC
	FixedOhm      float64
	OnTop         bool    // thermistor on the side of the reference, fixed resistor to ground
	Bits          int     // of the converter
	ReferenceV    float64 // for self-heating; 0 leaves it out
	DissipationWK float64 // heat per kelvin of self-heating; 0 means 2 mW/K, a small part on a board
}

// Validate says what is wrong with the divider, or nil.
func (d Divider) Validate() error {
	if !(d.FixedOhm > 0) || math.IsInf(d.FixedOhm, 0) {
		return fmt.Errorf("fixed resistor of the divider is %g Ω; give a positive number", d.FixedOhm)
	}
	if d.Bits < 4 || d.Bits > 24 {
		return fmt.Errorf("converter has %d bits; give 4 to 24", d.Bits)
	}
	if !(d.NTC.B > 0) {
		return fmt.Errorf("divider has no thermistor; make one from its B-value or its coefficients")
	}
	if !(d.ReferenceV >= 0) || !(d.DissipationWK >= 0) {
		return fmt.Errorf("reference of %g V and dissipation constant of %g W/K; give zero or more", d.ReferenceV, d.DissipationWK)
	}
	return nil
}

// Ratio returns the fraction of the reference voltage that the converter sees at a resistance of the thermistor in ohm.
func (d Divider) Ratio(ohm float64) float64 {
	if d.OnTop {
		return d.FixedOhm / (ohm + d.FixedOhm)
	}
	return 1 / (1 + d.FixedOhm/ohm)
}

// counts returns the number of codes of the converter.
func (d Divider) counts() float64 { return float64(int(1) << d.Bits) }

// code returns the code of a ratio: floor(ratio·2^N), at most 2^N − 1.
func (d Divider) code(ratio float64) int {
	return int(math.Max(0, math.Min(math.Floor(ratio*d.counts()), d.counts()-1)))
}

// Code returns the converter's code at a temperature in kelvin: floor(ratio·2^N).
func (d Divider) Code(kelvin float64) int { return d.code(d.Ratio(d.NTC.OhmAt(kelvin))) }

// OpenCode returns the code that a sensor with a wire off gives.
func (d Divider) OpenCode() int {
	if d.OnTop {
		return 0
	}
	return d.code(1)
}

// ShortCode returns the code that a shorted sensor gives.
func (d Divider) ShortCode() int {
	if d.OnTop {
		return d.code(1)
	}
	return 0
}

// Fault reports whether a code means a sensor that is open or short: within 2 % of either end, and the last code at the least.
func (d Divider) Fault(code int) bool {
	r := (float64(code) + 0.5) / d.counts()
	return r < faultShare || r > 1-faultShare || code <= 0 || code >= int(d.counts())-1
}

// Kelvin returns the temperature that a code means, in kelvin, from the middle of its step. It is NaN for a code that
// means an open or a shorted sensor.
func (d Divider) Kelvin(code int) float64 {
	if d.Fault(code) {
		return math.NaN()
	}
	return d.kelvinAtRatio((float64(code) + 0.5) / d.counts())
}

// kelvinAtRatio inverts Ratio.
func (d Divider) kelvinAtRatio(ratio float64) float64 {
	ohm := d.FixedOhm * ratio / (1 - ratio)
	if d.OnTop {
		ohm = d.FixedOhm * (1 - ratio) / ratio
	}
	return d.NTC.KelvinAt(ohm)
}

// Range returns the coldest and the hottest temperature that are not taken for an open or a shorted sensor, in kelvin.
// A room colder than the first gives minimum light.
func (d Divider) Range() (coldK, hotK float64) {
	a, b := d.kelvinAtRatio(faultShare), d.kelvinAtRatio(1-faultShare)
	return math.Min(a, b), math.Max(a, b)
}

// CountsPerK returns by how many codes the reading changes per kelvin, without sign:
//
//	|dv/dT|·2^N = v·(1 − v)·|d(ln R)/dT|·2^N
//
// It is largest where the thermistor equals the fixed resistor.
func (d Divider) CountsPerK(kelvin float64) float64 {
	v := d.Ratio(d.NTC.OhmAt(kelvin))
	return v * (1 - v) * math.Abs(d.NTC.SlopePerK(kelvin)) * d.counts()
}

// SelfHeatingK returns by how much the measuring current warms the thermistor, in kelvin: (V²/R)/δ.
func (d Divider) SelfHeatingK(kelvin float64) float64 {
	delta := d.DissipationWK
	if delta == 0 {
		delta = 2e-3
	}
	ohm := d.NTC.OhmAt(kelvin)
	current := d.ReferenceV / (ohm + d.FixedOhm)
	return current * current * ohm / delta
}

// Tolerances are those of the parts of a divider, as shares (0.01 is 1 %), and of the converter.
type Tolerances struct {
	Ohm25  float64 // thermistor at 25 °C
	Beta   float64 // its B-value
	Fixed  float64 // fixed resistor
	Counts float64 // converter: offset, gain and linearity together, in codes
}

// Budget is how wrong a reading may be at one temperature, in kelvin. Every entry is the larger of both signs.
type Budget struct {
	Ohm25K       float64 `json:"ohm25K"`
	BetaK        float64 `json:"betaK"`
	FixedK       float64 `json:"fixedK"`
	ConverterK   float64 `json:"converterK"` // its counts and half a step
	SelfHeatingK float64 `json:"selfHeatingK"`
	WorstK       float64 `json:"worstK"` // all together, each at its worst
	RootK        float64 `json:"rootK"`  // root of the sum of squares
}

// Errors returns the error budget at a temperature: every tolerance is pushed through the nominal reading, one at a time.
//
// Source: JCGM100, §5 (combination of independent errors); one at a time through the model itself, not its slope.
func (d Divider) Errors(kelvin float64, t Tolerances) Budget {
	ohm := d.NTC.OhmAt(kelvin)
	atRoom := d.NTC.OhmAt(roomK)
	off := func(changed func(sign float64) float64) float64 {
		worst := 0.0
		for _, sign := range []float64{-1, 1} {
			worst = math.Max(worst, math.Abs(d.kelvinAtRatio(changed(sign))-kelvin))
		}
		return worst
	}
	var b Budget
	b.Ohm25K = off(func(s float64) float64 { return d.Ratio(ohm * (1 + s*t.Ohm25)) })
	b.BetaK = off(func(s float64) float64 { return d.Ratio(ohm * math.Pow(ohm/atRoom, s*t.Beta)) })
	b.FixedK = off(func(s float64) float64 {
		e := d
		e.FixedOhm *= 1 + s*t.Fixed
		return e.Ratio(ohm)
	})
	b.ConverterK = off(func(s float64) float64 {
		r := d.Ratio(ohm) + s*(t.Counts+0.5)/d.counts()
		return math.Max(1e-9, math.Min(r, 1-1e-9))
	})
	b.SelfHeatingK = d.SelfHeatingK(kelvin)
	for _, e := range []float64{b.Ohm25K, b.BetaK, b.FixedK, b.ConverterK, b.SelfHeatingK} {
		b.WorstK += e
		b.RootK = math.Hypot(b.RootK, e)
	}
	return b
}

// Row is one line of a foldback table: a temperature with its code, or the range of codes at one end that mean a fault.
type Row struct {
	SensorK float64 `json:"sensorK"` // in a row of faults, the coldest or hottest temperature that is not taken for one
	Ohm     float64 `json:"ohm"`     // 0 in a row of faults
	Code    int     `json:"code"`
	CodeTo  int     `json:"codeTo"` // last code of the range; Code where it is one
	Level   float64 `json:"level"`
	// Fault is what the codes mean. A sensor colder than the row of Open reports, or hotter than that of Short, gives the
	// same codes.
	Fault Fault `json:"fault,omitempty"`
}

// faultRow returns the range of codes that mean a fault at the end where code lies.
func (d Divider) faultRow(f Fault, code int, l Curve) Row {
	last := int(d.counts()) - 1
	n := sort.Search(last/2, func(i int) bool { // how many codes there are
		if code > last/2 {
			i = last - i
		}
		return !d.Fault(i)
	})
	r := Row{SensorK: d.kelvinAtRatio(float64(n) / d.counts()), CodeTo: n - 1, Level: l.at(d, code), Fault: f}
	if code > last/2 {
		r.Code, r.CodeTo = last-n+1, last
		r.SensorK = d.kelvinAtRatio(float64(r.Code) / d.counts())
	}
	return r
}

// Table returns the foldback table for a controller: temperature, resistance, code and light level, at even steps of
// temperature, between the codes that mean an open sensor, or one colder than can be told, and those of a shorted sensor, or
// a hotter one. Steps that fall among those are left out. A two-point curve is listed as for a rising temperature.
func Table(d Divider, l Curve, fromK, toK, stepK float64) ([]Row, error) {
	if err := d.Validate(); err != nil {
		return nil, err
	}
	if err := l.check(); err != nil {
		return nil, err
	}
	if !(fromK > 0) || !(toK >= fromK) || !(stepK > 0) || (toK-fromK)/stepK > 1e5 {
		return nil, fmt.Errorf("foldback table from %g K to %g K in steps of %g K; give rising temperatures and at most 100 000 steps", fromK, toK, stepK)
	}
	rows := []Row{d.faultRow(Open, d.OpenCode(), l)}
	n := int(math.Floor((toK-fromK)/stepK + 1e-9))
	for i := range n + 1 {
		t := fromK + float64(i)*stepK
		if code := d.Code(t); !d.Fault(code) {
			rows = append(rows, Row{SensorK: t, Ohm: d.NTC.OhmAt(t), Code: code, CodeTo: code, Level: l.at(d, code)})
		}
	}
	return append(rows, d.faultRow(Short, d.ShortCode(), l)), nil
}

// at returns the level that a controller sets at a code, which for a fault is the lowest one.
func (l Curve) at(d Divider, code int) float64 { return l.Level(d.Kelvin(code)) }
