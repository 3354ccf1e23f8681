package wiring

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Series returns the preferred values of one decade from 1 to below 10, rising. name is E3, E6, … E192.
//
// Source: IEC60063.
func Series(name string) ([]float64, error) {
	hundredths, err := decade(name)
	if err != nil {
		return nil, err
	}
	out := make([]float64, len(hundredths))
	for i, h := range hundredths {
		out[i] = float64(h) / 100
	}
	return out, nil
}

// decade returns the values of a decade in hundredths, which are whole and so compare without rounding.
func decade(name string) ([]int, error) {
	t := eSeries()
	if row, ok := t.Find("series", name); ok {
		var out []int
		for _, cell := range strings.Fields(t.Text(row, "values")) {
			v, err := strconv.ParseFloat(cell, 64)
			if err != nil {
				return nil, fmt.Errorf("series %s of %s: %w", name, t.File, err)
			}
			out = append(out, int(math.Round(100*v)))
		}
		return out, nil
	}
	return nil, fmt.Errorf("no series %q; there are E3, E6, E12, E24, E48, E96 and E192", name)
}

// neighbours returns the preferred values at or below, and at or above a value.
func neighbours(series string, value float64) (below, above float64, err error) {
	values, err := decade(series)
	if err != nil {
		return 0, 0, err
	}
	if !(value >= 1e-9 && value <= 1e12) {
		return 0, 0, fmt.Errorf("%g has no preferred value near; give one between 1e-9 and 1e12", value)
	}
	// One part in 10¹² is the rounding of a value that is itself preferred.
	const slack = 1e-12
	exponent := int(math.Floor(math.Log10(value)))
	for _, e := range []int{exponent - 1, exponent, exponent + 1} {
		for _, h := range values {
			v := scale(h, e)
			if v <= value*(1+slack) {
				below = v
			}
			if v >= value*(1-slack) {
				return below, v, nil
			}
		}
	}
	panic("wiring: no preferred value above " + fmt.Sprint(value))
}

// scale returns hundredths·10^exponent/100 rounded once, so that 287 and −1 give 0.287 as it is written.
func scale(hundredths, exponent int) float64 {
	if exponent >= 2 {
		return float64(hundredths) * math.Pow10(exponent-2)
	}
	return float64(hundredths) / math.Pow10(2-exponent)
}

// Nearest returns the preferred value whose ratio to value is nearest to one.
//
// Source: IEC60063; nearest by ratio because an error of current is one of ratio.
func Nearest(series string, value float64) (float64, error) {
	below, above, err := neighbours(series, value)
	if err != nil {
		return 0, err
	}
	if value/below < above/value {
		return below, nil
	}
	return above, nil
}

// AtLeast returns the smallest preferred value that is not below value. Source: IEC60063.
func AtLeast(series string, value float64) (float64, error) {
	_, above, err := neighbours(series, value)
	return above, err
}

// AtMost returns the largest preferred value that is not above value. Source: IEC60063.
func AtMost(series string, value float64) (float64, error) {
	below, _, err := neighbours(series, value)
	return below, err
}

// Sense is a sense resistor that can be bought.
type Sense struct {
	Ohm       float64
	CurrentA  float64 // that it sets
	Error     float64 // CurrentA over the wanted current, less one
	PowerW    float64 // in it
	RatedW    float64 // to buy: twice PowerW, common practice
	WorstLowA float64 // with the tolerances of reference and resistor
	WorstHiA  float64
	Notes     []string
}

// SenseResistor returns the preferred resistor that sets a current: R = V_ref/I.
//
// refV is the reference [V], targetA the current [A]; neverAbove takes the next value up, so that the current is a
// limit and not a target. refTol and ohmTol are the tolerances of reference and resistor as shares. Source: Ohm's law,
// IEC60063; derating to half the rated power is common practice.
func SenseResistor(refV, targetA float64, series string, neverAbove bool, refTol, ohmTol float64) (Sense, error) {
	if !(refV > 0) || !(targetA > 0) {
		return Sense{}, fmt.Errorf(
			"a sense resistor needs a reference and a current above zero, not %g V and %g A", refV, targetA,
		)
	}
	if !(refTol >= 0 && refTol < 1 && ohmTol >= 0 && ohmTol < 1) {
		return Sense{}, fmt.Errorf(
			"tolerances %g and %g of reference and resistor must be shares from 0 to below 1", refTol, ohmTol,
		)
	}
	choose := Nearest
	if neverAbove {
		choose = AtLeast
	}
	r, err := choose(series, refV/targetA)
	if err != nil {
		return Sense{}, err
	}
	i := refV / r
	s := Sense{
		Ohm: r, CurrentA: i, Error: i/targetA - 1, PowerW: r * i * i, RatedW: 2 * r * i * i,
		WorstLowA: i * (1 - refTol) / (1 + ohmTol), WorstHiA: i * (1 + refTol) / (1 - ohmTol),
	}
	if r < 0.020 {
		s.Notes = append(
			s.Notes,
			"below about 20 mΩ the copper of the pads counts (0.5 mΩ a square at 35 µm, 0.39 %/K): use four-wire "+
				"pads (rule of thumb)",
		)
	}
	return s, nil
}
