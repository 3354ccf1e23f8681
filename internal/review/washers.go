package review

import (
	"fmt"
	"math"

	"lampwright/internal/engine"
	"lampwright/internal/finding"
	"lampwright/internal/mount"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/wiring"
)

// leastCreepageM is the distance that copper keeps from a screw at any voltage: rule of thumb (no source).
const leastCreepageM = 1.5e-3

// harmlessV is the voltage between copper and screw below which a contact does no harm: rule of thumb (no source).
const harmlessV = 0.5

// screwCreepageM returns the creepage distance between a screw and copper [m], and the voltage and the pollution degree
// that it is for: that of IEC60664-1 for laminates, at least leastCreepageM. False above the end of the table.
func (v *reviewer) screwCreepageM() (creepageM, volts float64, degree int, ok bool) {
	degree = 2
	if permitted, _ := v.place(); permitted < coupleDryV {
		degree = 3
	}
	volts = engine.WorkingVoltageV(v.l, &v.r.Sol)
	r, err := wiring.Creepage(volts, wiring.Surface{PollutionDegree: degree, MaterialGroup: 3})
	return math.Max(leastCreepageM, r.Value*1e-3), volts, degree, err == nil
}

// washers compares the copper around the screws with what washers and heads touch and creep to.
func (v *reviewer) washers(m *project.Mounting, screws []mount.Point, screw mount.Screw) (out []Judgement) {
	if m.Washer.S == project.WasherToothed && !m.KeepOut.Set {
		out = append(out, v.toothed(m))
	}
	creepage, volts, degree, ok := v.screwCreepageM()
	if !ok {
		return append(out, v.boardAsk(fmt.Sprintf("Creepage distance of screws at %s not in the table",
			quantity.Format(volts, quantity.Voltage)), maskWhy, "Look it up in IEC 60664-1"))
	}
	if m.Metal.S == project.MetalPlastic {
		return out // nothing conducts
	}
	touch := mount.KeepOut(screw.WasherM, screw.DiameterM, screw.HoleM, 0)
	j := Judgement{
		Subject: Subject{Kind: "board"}, At: v.mountingAt(), Bound: AtLeast, Dim: quantity.Length,
		Limit: touch + creepage,
	}
	why := fmt.Sprintf("%s Radius of the washer, play of the hole and %s creepage (%s, pollution degree %d).", maskWhy,
		quantity.Format(creepage, quantity.Length), quantity.Format(volts, quantity.Voltage), degree)
	insulated := m.Washer.S == project.WasherInsulating
	if insulated {
		touch, j.Limit = 0, mount.ShankKeepOut(screw.HoleM, creepage)
		why = fmt.Sprintf("Under an insulating washer copper has to keep clear of the shank: radius of the hole and "+
			"%s creepage (%s, pollution degree %d).", quantity.Format(creepage, quantity.Length),
			quantity.Format(volts, quantity.Voltage), degree)
	}
	if m.KeepOut.Set {
		return append(out, keepOutStated(j, m, screw, touch, volts, why))
	}
	return append(out, v.keepOutOfPackages(j, screws, screw, insulated, why))
}

const maskWhy = "Solder mask is no insulation."

// keepOutStated compares the stated radius without copper with the limit of a judgement; a metal washer that reaches
// over copper touches it.
func keepOutStated(j Judgement, m *project.Mounting, screw mount.Screw, touchM, volts float64, why string) Judgement {
	j.Value, j.P90, j.At = m.KeepOut.SI, m.KeepOut.Lo, m.KeepOut.At
	fail := finding.Warn
	if j.P90 < touchM && volts > harmlessV {
		fail = finding.Stop
		why = fmt.Sprintf("The washer reaches %s and touches copper through the mask. ",
			quantity.Format(touchM, quantity.Length)) + why
	}
	j.text = func(_ *reviewer, j *Judgement) Text {
		t := Text{
			Title: j.title(claim{
				quantity: "Radius without copper around the screws", limit: "keep-out radius", of: screw.ID,
			}),
			Why: why,
		}
		keepOutFixes(&t, j, touchM > 0)
		return t
	}
	return compare(fail, j)
}

// keepOutOfPackages looks for packages under the washers, where the copper is not known.
func (v *reviewer) keepOutOfPackages(j Judgement, screws []mount.Point, screw mount.Screw, insulated bool, why string,
) Judgement {
	j.Value = math.Inf(1)
	for _, s := range screws {
		j.Value = math.Min(j.Value, v.bodyDistanceM(s.XM, s.YM))
	}
	j.P90 = j.Value
	j.text = func(_ *reviewer, j *Judgement) Text {
		t := Text{
			Title: j.title(claim{
				quantity: "Distance of a screw from the nearest package", limit: "keep-out radius", of: screw.ID,
			}),
			Why: why + " Copper around the screws not stated.",
		}
		t.fixf("State the radius without copper: `keep_out_radius: %s` under `mounting`",
			roundUp(j.Limit, 0.1e-3, quantity.Length))
		if j.Severity != finding.Note {
			keepOutFixes(&t, j, !insulated)
		}
		return t
	}
	if j = compare(finding.Warn, j); j.Severity == finding.Pass {
		j.Severity = finding.Note // the copper is not known
	}
	return j
}

// keepOutFixes adds what keeps screws from copper.
func keepOutFixes(t *Text, j *Judgement, metal bool) {
	if j.Severity == finding.Pass {
		return
	}
	t.fixf("Keep copper of the circuit ≥ %s from the centre of each screw", quantity.Format(j.Limit, quantity.Length))
	if metal {
		t.fix("Use washers of plastic (`washer: insulating`), or plastic screws, at half the torque")
	}
}

// toothed warns of washers that cut the mask.
func (v *reviewer) toothed(m *project.Mounting) Judgement {
	return Judgement{
		Severity: finding.Warn, Subject: Subject{Kind: "board"}, At: m.Washer.At,
		text: func(*reviewer, *Judgement) Text {
			t := Text{
				Title: "Toothed washer on the board", Why: "Its teeth cut the solder mask and touch copper under it.",
			}
			t.fix("Put a flat washer against the board")
			t.fix("State `keep_out_radius`, if there is no copper under it")
			return t
		},
	}
}
