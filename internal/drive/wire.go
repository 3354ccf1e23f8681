package drive

import (
	"fmt"
	"math"
	"strconv"
)

const (
	// copperPerK is the rise of copper's resistance per kelvin about 20 °C. Source: IEC60028.
	copperPerK = 0.00393
	// circularMilMM2 is the area of a disc one thousandth of an inch across.
	circularMilMM2 = math.Pi / 4 * 0.0254 * 0.0254
	// milsPerAmpere is the cautious rule for wire in bundles and boxes. Common practice, no source.
	milsPerAmpere = 700
	// UsualDrop is the share of the supply's voltage that a cable may lose. Common practice, no source.
	UsualDrop = 0.03
	// ConnectorDerating is the share of its rated current that a contact is asked for. Common practice, no source.
	ConnectorDerating = 0.7
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
	for _, row := range table("awg", 5) {
		if row[0] == strconv.Itoa(gauge) {
			return Conductor{
				Name: "AWG " + row[0], AreaMM2: number(row[2]), OhmPerM: number(row[3]) / 1000,
				Notes: []string{"resistance of a solid conductor; stranded wire has 2 to 4 % more"},
			}, true
		}
	}
	return Conductor{}, false
}

// Metric returns the copper conductor of a nominal cross-section [mm²], 0.5 to 4; ok is false for others. flexible is
// class 5, else class 1 or 2.
//
// Source: IEC60228, tables 1 to 3 (from memory): the greatest resistance that the standard allows.
func Metric(areaMM2 float64, flexible bool) (c Conductor, ok bool) {
	column, class := 1, "solid or stranded"
	if flexible {
		column, class = 2, "flexible"
	}
	for _, row := range table("metric_wire", 3) {
		if number(row[0]) == areaMM2 {
			return Conductor{
				Name: row[0] + " mm² " + class, AreaMM2: areaMM2, OhmPerM: number(row[column]) / 1000,
				Notes: []string{"greatest resistance that IEC 60228 allows, from memory of the standard"},
			}, true
		}
	}
	return Conductor{}, false
}

// GaugeDiameter returns the diameter of a wire gauge in millimetres: d = 0.127·92^((36 − n)/39).
//
// Source: ASTMB258.
func GaugeDiameter(gauge int) float64 {
	return 0.127 * math.Pow(92, float64(36-gauge)/39)
}

// CopperFactor returns copper's resistance at a temperature over that at 20 °C [1]: 1 + 0.00393·(T − 20 °C).
//
// tK in kelvin, valid for about −50 °C to 150 °C. Source: IEC60028.
func CopperFactor(tK float64) float64 {
	return 1 + copperPerK*(tK-zeroCelsiusK-20)
}

// LoopOhm returns the resistance of a pair there and back in ohms: R = 2·l·R′·factor.
//
// lengthM is the length of the pair one way [m], ohmPerM that of one conductor at 20 °C [Ω/m], tK the copper [K].
// Source: Ohm's law; factor is CopperFactor.
func LoopOhm(lengthM, ohmPerM, tK float64) float64 {
	return 2 * lengthM * ohmPerM * CopperFactor(tK)
}

// Drop returns what a pair loses in volts: ΔV = 2·l·R′·I, with the copper at 20 °C; times CopperFactor where warmer.
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
		Notes:    []string{"both currents are common practice without a source; for wiring that is fixed to a building IEC 60364-5-52 and local codes rule"},
	}
	// The table runs from thick to thin.
	var thick, thin []string
	for _, row := range table("awg", 5) {
		if row[4] == "" {
			continue
		}
		if number(row[2]) >= areaMM2 {
			thick = row
		} else if thin == nil {
			thin = row
		}
	}
	switch {
	case thick == nil:
		a.FreeAirA = number(thin[4])
		a.Notes = append(a.Notes, fmt.Sprintf("thicker than the table; %.3g A is that of AWG %s", a.FreeAirA, thin[0]))
	case thin == nil:
		a.FreeAirA = number(thick[4]) * areaMM2 / number(thick[2])
		if number(thick[2]) > areaMM2 {
			a.Notes = append(a.Notes, "thinner than the table; scaled by area")
		}
	default:
		u := math.Log(areaMM2/number(thin[2])) / math.Log(number(thick[2])/number(thin[2]))
		a.FreeAirA = number(thin[4]) * math.Pow(number(thick[4])/number(thin[4]), u)
	}
	return a
}

// Contact returns the current that a connector's contact is asked for at the most in amperes: 0.7 of its rating.
//
// Common practice, no source.
func Contact(ratedA float64) float64 { return ConnectorDerating * ratedA }
