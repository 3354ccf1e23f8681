package wiring

import (
	"fmt"
)

// Requirement is a figure that a standard requires, with its notes.
type Requirement struct {
	Value   float64
	Unit    string
	Source  string // standard and place
	Kind    string // published, memory or common practice
	Caution string
	Notes   []string
}

// Surface says over what the creepage runs.
type Surface struct {
	PollutionDegree int  // 1 sealed, 2 indoors and dry, 3 where it may condense, as over a tank
	MaterialGroup   int  // 1 to 3 by tracking index; most laminates are 3
	PrintedWiring   bool // on printed wiring under a coating; up to pollution degree 2
}

// Creepage returns the minimum creepage distance for basic insulation at a working voltage, in millimetres.
//
// voltsV is the working voltage, rms or direct, up to 400 V; the next higher step of the table is taken. For a step-up
// driver it is the voltage with the string open. It is an error if the table has no figure.
// Source: IEC60664-1, table F.4 (excerpt, as reprinted).
func Creepage(voltsV float64, s Surface) (Requirement, error) {
	column, err := creepageColumn(s)
	if err != nil {
		return Requirement{}, err
	}
	t := creepages()
	for row := range t.Rows() {
		if !(t.Number(row, "volts") >= voltsV) {
			continue
		}
		return Requirement{
			Value: t.Number(row, column), Unit: "mm", Source: "IEC 60664-1, table F.4", Kind: "published", Caution: Caution,
			Notes: []string{"for basic insulation; double or reinforced insulation, as between mains and what may be touched, takes twice as much"},
		}, nil
	}
	return Requirement{}, fmt.Errorf("the creepage table ends at 400 V and %g V lies above it; look it up in IEC 60664-1", voltsV)
}

func creepageColumn(s Surface) (string, error) {
	switch {
	case s.PollutionDegree < 1 || s.PollutionDegree > 3:
		return "", fmt.Errorf("no pollution degree %d; 1 is sealed, 2 dry indoors, 3 where it may condense", s.PollutionDegree)
	case s.PrintedWiring && s.PollutionDegree == 3:
		return "", fmt.Errorf("the figures for printed wiring hold up to pollution degree 2; take the general ones where it may condense")
	case s.PrintedWiring:
		return fmt.Sprintf("pwb_pd%d", s.PollutionDegree), nil
	case s.PollutionDegree == 1:
		return "pd1", nil
	case s.MaterialGroup < 1 || s.MaterialGroup > 3:
		return "", fmt.Errorf("no material group %d; laminates are of group 3, the better ones 2, ceramic and glass 1", s.MaterialGroup)
	}
	return fmt.Sprintf("pd%d_mg%d", s.PollutionDegree, s.MaterialGroup), nil
}

// Place says who may touch a live part, and how.
type Place string

// The places of TouchVoltage.
const (
	ExtraLow Place = "elv" // the bound of extra-low voltage itself
	Dry      Place = "dry" // touched with dry hands
	Wet      Place = "wet" // wet hands, or hands in the tank
)

// TouchVoltage returns the voltage that is the bound in a place, in volts: direct and free of ripple, or rms of alternating.
//
// Source: IEC61140, IEC60364-4-41, IEC60364-7-702; each result names its own.
func TouchVoltage(p Place, alternating bool) (Requirement, error) {
	t := touchVoltages()
	if row, ok := t.Find("condition", string(p)); ok {
		column, unit := "dc_v", "V DC"
		if alternating {
			column, unit = "ac_v", "V AC"
		}
		return Requirement{
			Value: t.Number(row, column), Unit: unit, Source: t.Text(row, "source"), Kind: t.Text(row, "kind"), Caution: Caution,
			Notes: []string{
				"the open-circuit voltage counts, not the operating voltage",
				"it applies only to a source that is separated from the mains as SELV (safety transformer, IEC 61558 or IEC 62368)",
				"household aquarium luminaires have a standard of their own, IEC 60598-2-11",
			},
		}, nil
	}
	return Requirement{}, fmt.Errorf("no place %q; there are elv, dry and wet", string(p))
}

// Dielectric is the stress of a metal-core board's insulating layer.
type Dielectric struct {
	FieldVM        float64 // working voltage over thickness [V/m]; 0 where the thickness is not known
	BreakdownRatio float64 // stated breakdown over working voltage; 0 where it is not stated
	RatedMarginV   float64 // stated working voltage less the voltage; 0 where it is not stated
	Test           Requirement
	Insulation     Requirement
	Hazard         bool // the source is not SELV: this layer separates the mains from metal that is touched
	Notes          []string
}

// CheckDielectric returns how a dielectric is stressed and the tests that the made board should pass.
//
//	E = V/t    test voltage: 500 V where all is SELV, else 2·V + 1000 V
//
// voltsV is the largest voltage between copper and base, with the string open and the base at the worst end of it;
// thicknessM, breakdownV and ratedV are the dielectric's, 0 where not stated; selv reports that the source is separated
// from the mains. A datasheet's breakdown is a test of unpatterned laminate and no promise of the made board.
// Source: IEC60598-1, §10.2 (test voltages, cited from memory); insulation resistance is common practice.
func CheckDielectric(voltsV, thicknessM, breakdownV, ratedV float64, selv bool) Dielectric {
	d := Dielectric{
		Hazard:     !selv,
		Test:       Requirement{Value: 500, Unit: "V", Source: "IEC 60598-1, §10.2", Kind: "memory", Caution: Caution},
		Insulation: Requirement{Value: 100e6, Unit: "Ω", Source: "500 V direct between copper and base for a minute", Kind: "common practice", Caution: Caution},
	}
	if thicknessM > 0 {
		d.FieldVM = voltsV / thicknessM
	}
	if voltsV > 0 {
		d.BreakdownRatio = breakdownV / voltsV
	}
	if ratedV > 0 {
		d.RatedMarginV = ratedV - voltsV
	}
	if breakdownV > 0 {
		d.Notes = append(d.Notes, "the stated breakdown is a test of plain laminate; burrs, milled edges and screws lower it on a made board")
	} else {
		d.Notes = append(d.Notes, "the breakdown of the dielectric is not stated")
	}
	if !selv {
		d.Test.Value = 2*voltsV + 1000
		d.Notes = append(d.Notes, "the source is not separated from the mains: a thin dielectric alone is no protection; earth the base and the sink, and have a qualified person judge it")
	}
	d.Notes = append(d.Notes,
		"keep copper 0.5 mm from milled edges and 3 mm from screw heads, and the creepage more (rule of thumb)",
		"measure the made board before it is wired: 500 V direct between copper and base for a minute, above 100 MΩ (rule of thumb)")
	return d
}
