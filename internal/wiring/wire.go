package wiring

import (
	"fmt"
	"math"
	"slices"
	"strconv"
)

const (
	// copperPerK is the rise of copper's resistance per kelvin about 20 °C. Source: IEC60028.
	copperPerK = 0.00393
	// circularMilMM2 is the area of a disc one thousandth of an inch across.
	circularMilMM2 = math.Pi / 4 * 0.0254 * 0.0254
	// milsPerAmpere is the cautious rule for wire in bundles and boxes. Rule of thumb (no source).
	milsPerAmpere = 700
	// UsualDrop is the fraction of the supply voltage allowed as drop in a cable. Rule of thumb (no source).
	UsualDrop = 0.03
)

// Conductor is one conductor of a lead.
type Conductor struct {
	Name    string
	AreaMM2 float64
	OhmPerM float64 // at 20 °C
	Notes   []string
}

// AWG returns the solid copper conductor of a wire gauge, 10 to 30; ok is false for others.
//
// Source: ASTMB258 (diameter), IEC60028 (resistivity). Stranded wire has 2 to 4 % more resistance.
func AWG(gauge int) (c Conductor, ok bool) {
	t := gauges()
	if row, ok := t.Find("awg", strconv.Itoa(gauge)); ok {
		return Conductor{
			Name: "AWG " + t.Text(row, "awg"), AreaMM2: t.Number(row, "area_mm2"), OhmPerM: t.Number(row, "ohm_per_km") / 1000,
			Notes: []string{"resistance of a solid conductor; stranded wire has 2 to 4 % more"},
		}, true
	}
	return Conductor{}, false
}

// Metric returns the copper conductor of a nominal cross-section [mm²], 0.5 to 4; ok is false for others. flexible is
// class 5, else class 1 or 2.
//
// Source: IEC60228, tables 1 to 3 (cited from memory): the largest resistance that the standard allows.
func Metric(areaMM2 float64, flexible bool) (c Conductor, ok bool) {
	column, class := "class1_2", "solid or stranded"
	if flexible {
		column, class = "class5", "flexible"
	}
	t := metricWires()
	if row := slices.Index(t.Numbers("area_mm2"), areaMM2); row >= 0 {
		return Conductor{
			Name: t.Text(row, "area_mm2") + " mm² " + class, AreaMM2: areaMM2, OhmPerM: t.Number(row, column) / 1000,
			Notes: []string{"maximum resistance that IEC 60228 allows, cited from memory"},
		}, true
	}
	return Conductor{}, false
}

// CopperFactor returns copper's resistance at a temperature over that at 20 °C [1]: 1 + 0.00393·(T − 20 °C).
//
// tK in kelvin, valid for about −50 °C to 150 °C. Source: IEC60028.
func CopperFactor(tK float64) float64 {
	return 1 + copperPerK*(tK-zeroCelsiusK-20)
}

// Drop returns the voltage drop of a pair in volts: ΔV = 2·l·R′·I, with the copper at 20 °C; times CopperFactor where warmer.
func Drop(lengthM, ohmPerM, currentA float64) float64 {
	return 2 * lengthM * ohmPerM * currentA
}

// Ampacity is the band in which a conductor's largest current lies.
type Ampacity struct {
	BundledA float64 // by the rule of 700 circular mils per ampere
	FreeAirA float64 // single wire in free air, as printed beside gauge tables
	Notes    []string
}

// RuleOfThumb returns the band of a copper conductor's largest current in amperes, by two rules of common practice that
// have no standard behind them: the wire's own limit lies between the two, and its connector's is often lower.
//
// areaMM2 in 0.05 to 5.3 mm²; the free-air figure is interpolated over the logarithm of the area.
func RuleOfThumb(areaMM2 float64) Ampacity {
	a := Ampacity{
		BundledA: areaMM2 / circularMilMM2 / milsPerAmpere,
		Notes:    []string{"both currents are common practice without a source; for wiring that is fixed to a building IEC 60364-5-52 and local regulations take precedence"},
	}
	thick, thin := freeAirNeighbours(areaMM2)
	t := gauges()
	area := func(row int) float64 { return t.Number(row, "area_mm2") }
	amps := func(row int) float64 { return t.Number(row, "chassis_a") }
	switch {
	case thick < 0:
		a.FreeAirA = amps(thin)
		a.Notes = append(a.Notes, fmt.Sprintf("thicker than the table; %.3g A is that of AWG %s", a.FreeAirA, t.Text(thin, "awg")))
	case thin < 0:
		a.FreeAirA = amps(thick) * areaMM2 / area(thick)
		if area(thick) > areaMM2 {
			a.Notes = append(a.Notes, "thinner than the table; scaled by area")
		}
	default:
		u := math.Log(areaMM2/area(thin)) / math.Log(area(thick)/area(thin))
		a.FreeAirA = amps(thin) * math.Pow(amps(thick)/amps(thin), u)
	}
	return a
}

// freeAirNeighbours returns the rows of the gauges with a stated free-air current that are next to a cross-section: the
// thinnest that is at least as thick, and the thickest that is thinner; -1 where there is none. The table runs from thick
// to thin.
func freeAirNeighbours(areaMM2 float64) (thick, thin int) {
	thick, thin = -1, -1
	t := gauges()
	for row := range t.Rows() {
		switch {
		case t.Text(row, "chassis_a") == "":
		case t.Number(row, "area_mm2") >= areaMM2:
			thick = row
		case thin < 0:
			thin = row
		}
	}
	return thick, thin
}
