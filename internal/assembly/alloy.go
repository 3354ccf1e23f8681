package assembly

import (
	"fmt"
	"math"
)

const (
	// usualMarginK is what the melting point lies above the hottest joint in service. Rule of thumb (no source).
	usualMarginK = 30
	// ternaryK is the melting point of the tin-bismuth-lead eutectic. Source: NISTSolder2002.
	ternaryK = 96 + zeroCelsiusK
)

var alloys = load(
	"alloys", "solidus_c", "liquidus_c", "density_kg_m3", "bismuth", "lead", "service_max_c", "peak_low_c", "peak_high_c",
)

// Alloy is a solder alloy. Values that are not stated are 0.
type Alloy struct {
	ID, Name                string
	SolidusK, LiquidusK     float64
	DensityKgM3             float64
	BismuthShare, LeadShare float64 // by mass
	ServiceMaxK             float64 // common practice
	PeakLowK, PeakHighK     float64 // usual working peak of reflow; common practice
	Kind, Remark            string  // where the melting range is from, and what to know
}

// Alloys returns the alloys of the built-in table. Source: JSTD006, NISTSolder2002 (in part cited from memory, see Kind).
func Alloys() []Alloy {
	var out []Alloy
	t := alloys()
	for r := range t.Rows() {
		out = append(out, Alloy{
			ID: t.Text(r, "id"), Name: t.Text(r, "name"), Kind: t.Text(r, "kind"), Remark: t.Text(r, "remark"),
			SolidusK: celsius(t, r, "solidus_c"), LiquidusK: celsius(t, r, "liquidus_c"), DensityKgM3: t.Number(r, "density_kg_m3"),
			BismuthShare: t.Number(r, "bismuth"), LeadShare: t.Number(r, "lead"), ServiceMaxK: celsius(t, r, "service_max_c"),
			PeakLowK: celsius(t, r, "peak_low_c"), PeakHighK: celsius(t, r, "peak_high_c"),
		})
	}
	return out
}

// ByID returns the alloy of an id, such as "sac305".
func ByID(id string) (a Alloy, ok bool) {
	for _, a := range Alloys() {
		if a.ID == id {
			return a, true
		}
	}
	return Alloy{}, false
}

// Margin is how far a joint in service stays below the melting of its alloy. Margins below zero ask for another alloy.
type Margin struct {
	ToMeltingK float64 // solidus less the joint
	SpareK     float64 // ToMeltingK less the usual 30 K, or the alloy's own largest service less the joint where that is less
	Notes      []string
}

// ServiceMargin returns how far a joint in service stays below the melting of its alloy in kelvin.
//
// jointK is the hottest joint [K], at maximum ambient. Where only the liquidus is known give it as the solidus too.
// Source: the 30 K, and 105 °C for tin-bismuth, are common practice.
func ServiceMargin(a Alloy, jointK float64) Margin {
	m := Margin{ToMeltingK: a.SolidusK - jointK}
	m.SpareK = m.ToMeltingK - usualMarginK
	if a.ServiceMaxK > 0 {
		m.SpareK = math.Min(m.SpareK, a.ServiceMaxK-jointK)
	}
	if a.BismuthShare > 0.3 && jointK > 85+zeroCelsiusK {
		m.Notes = append(m.Notes, "tin-bismuth joints lose strength above about 100 °C; keep the solder point below 85 °C (rule of thumb)")
	}
	return m
}

// Mixing returns a caution where two alloys that meet in one joint melt low together, and "" where they do not.
//
// Source: NISTSolder2002 (the ternary eutectic of tin, bismuth and lead at 96 °C).
func Mixing(a, b Alloy) string {
	if (a.BismuthShare > 0 && b.LeadShare > 0) || (b.BismuthShare > 0 && a.LeadShare > 0) {
		return fmt.Sprintf("%s and %s must not meet in one joint: tin, bismuth and lead together melt at %.0f °C", a.Name, b.Name, ternaryK-zeroCelsiusK)
	}
	return ""
}

// LaterStep returns how far the first alloy's joints stay below melting while a later one is worked, in kelvin.
//
//	margin = solidus of the first − working peak of the later
//
// peakK is the temperature the later joint is worked at; 0 means the later alloy's usual lowest peak. Below zero the first
// joints melt again, and small parts may stay by surface tension alone. Source: derived.
func LaterStep(first, later Alloy, peakK float64) float64 {
	if peakK == 0 {
		peakK = later.PeakLowK
	}
	return first.SolidusK - peakK
}
