package engine

import (
	"fmt"
	"math"

	"lampwright/internal/curve"
	"lampwright/internal/drive"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/wiring"
)

// CircuitVoltageV returns the highest voltage of a channel's circuit, its string open [V]:
//
//	V = max(V_open, V_supply,max)
//
// openV is the driver's open-circuit voltage; where its datasheet does not state it (0), a driver that can exceed its
// supply (boost, or fed from the mains) reaches at least its maximum output outMaxV. supplyMaxV is 0 for a driver fed
// from the mains. Source: derived.
func CircuitVoltageV(openV, outMaxV, supplyMaxV float64, exceedsSupply bool) float64 {
	v := openV
	if openV == 0 && exceedsSupply {
		v = outMaxV
	}
	return math.Max(v, supplyMaxV)
}

// CircuitVoltageOf returns CircuitVoltageV of a channel [V].
func CircuitVoltageOf(l *lamp.Lamp, channel int) float64 {
	c := &l.Channels[channel]
	supplyV, open := 0.0, 0.0
	if c.Supply >= 0 {
		supplyV = supplyPart(l, c.Supply).Voltage.Hi
	}
	if c.Driver.OpenCircuitVoltage.Set {
		open = c.Driver.OpenCircuitVoltage.SI
	}
	exceeds := !c.Driver.OpenCircuitVoltage.Set && !c.Driver.Topology().CappedByInput()
	return CircuitVoltageV(open, c.Driver.OutputMax.SI, supplyV, exceeds)
}

// WorkingVoltageV returns the highest voltage between copper and metal core of the board [V]: that of an open circuit,
// or the span of the potentials of all strings with one reference. It needs the state at typical ambient.
func WorkingVoltageV(l *lamp.Lamp, sol *Solution) float64 {
	open := 0.0
	for i := range l.Channels {
		open = math.Max(open, CircuitVoltageOf(l, i))
	}
	return math.Max(open, PadSpanV(l, sol))
}

// PadSpanV returns the span of the potentials of all strings with one reference [V], with no circuit open. It needs the
// state at typical ambient.
func PadSpanV(l *lamp.Lamp, sol *Solution) float64 {
	return drive.InsulationStressV(PadStrings(l, sol), 0)
}

// RequiredInputV returns the input voltage that a buck or linear driver needs at a cold start [V]:
//
//	V_in = V_string,max + ΔV_cable + V_headroom
//
// Source: Kirchhoff's voltage law.
func RequiredInputV(stringMaxV, cableDropV, headroomV float64) float64 {
	return stringMaxV + cableDropV + headroomV
}

// OutputPowerMaxW returns the output power of a channel's driver at its set current, cold start and highest bins [W]:
// I_set · V_string,max. It needs StringVoltages. Source: definition of power.
func OutputPowerMaxW(l *lamp.Lamp, sol *Solution, channel int) float64 {
	c := &l.Channels[channel]
	return c.CurrentA * sol.Params[c.Param.Current] * sol.Channels[channel].VoltageMaxV
}

// InputCurrentA returns the current that a driver or a group of drivers draws from its supply [A]: P/V_min. inputW is
// its input power while its current flows. Source: definition of power, at the lower end of the supply's tolerance.
func InputCurrentA(inputW, supplyMinV float64) float64 { return inputW / supplyMinV }

// SustainedFaultA returns the continuous fault current of a wire behind its fuses, as it counts against its ampacity
// [A]:
//
//	I = min(I_fault, I_2,k)   over all fuses k ahead; see wiring.SustainedFuseCurrent
//
// faultA is I_fault, the continuous fault current of the supply. Source: IEC60364-4-43, §433.1 (cited from memory).
func SustainedFaultA(faultA float64, limit WireLimit, fuses []*project.FuseUse) float64 {
	for _, f := range fuses {
		fuseA := wiring.SustainedFuseCurrent(f.RatedCurrent.SI, limit.SafeA(), string(f.Standard.S))
		faultA = math.Min(faultA, fuseA)
	}
	return faultA
}

// DeratedPowerW returns the power that a supply may deliver at maximum ambient [W]: P_rated · d, with d its derating
// there; false where its datasheet states no derating. Source: datasheet curve.
func DeratedPowerW(l *lamp.Lamp, supply int) (watts float64, stated bool) {
	part := supplyPart(l, supply)
	if !part.Derating.Set {
		return 0, false
	}
	return part.Power.SI * curve.Held(part.Derating.X, part.Derating.Y, l.Design.Installation.Ambient.Max.SI), true
}

// RadiantEfficiency returns the highest radiant efficiency of the emitters of one type in a channel at typical ambient,
// radiant flux over electrical power while the current flows [1]; false where there is no power. Source: CIES017.
func RadiantEfficiency(l *lamp.Lamp, sol *Solution, channel, emitterType int) (eta float64, ok bool) {
	states := sol.Cases[Typical].States
	for _, e := range l.Channels[channel].Emitters {
		if st := &states[e]; l.Emitters[e].Type == emitterType && st.ElectricalW > 0 {
			eta, ok = math.Max(eta, st.RadiantW/st.ElectricalW), true
		}
	}
	return eta, ok
}

// minSolderRiseK is the rise of the hottest solder point from which SensorFollow says anything.
const minSolderRiseK = 1.0

// SensorFollow returns the part of the hottest solder point's temperature rise over the air that the sensor shows at
// typical ambient [1], and that emitter:
//
//	s = (T_sensor − T_air) / (T_sp − T_air)
//
// It is false where that rise is below 1 K. Source: definition.
func SensorFollow(sol *Solution) (follow float64, hottest int, ok bool) {
	st := sol.Cases[Typical]
	for i, k := range st.SolderK {
		if k > st.SolderK[hottest] {
			hottest = i
		}
	}
	rise := st.SolderK[hottest] - st.AirK
	if rise < minSolderRiseK {
		return 0, hottest, false
	}
	return SensorRiseK(sol) / rise, hottest, true
}

// SensorRiseK returns the temperature of the board at the sensor over the air at typical ambient [K].
func SensorRiseK(sol *Solution) float64 {
	st := sol.Cases[Typical]
	return sol.Board.SensorRise(&st)
}

// PadStrings describes the strings of the lamp for the checks of potentials. It needs the state at typical ambient.
func PadStrings(l *lamp.Lamp, sol *Solution) (out []drive.PadString) {
	ties := map[project.PadPotential]drive.PadPotential{
		project.PadIsolated: drive.PadIsolated, project.PadAnode: drive.PadAnode, project.PadCathode: drive.PadCathode,
	}
	states := sol.Cases[Typical].States
	for i := range l.Channels {
		c := &l.Channels[i]
		for s := range c.Strings {
			p := padString(l, c, s)
			for n := range len(c.Emitters) / c.Strings {
				e := c.StringEmitter(s, n)
				p.Positions = append(p.Positions, drive.PadPosition{
					Name: l.Emitters[e].Label, VoltageV: states[e].VoltageV,
					Potential: ties[l.Types[l.Emitters[e].Type].Part.PadPotential.S],
				})
			}
			out = append(out, p)
		}
	}
	return out
}

// padString returns one string of a channel with its reference, without its emitters.
func padString(l *lamp.Lamp, c *lamp.Channel, s int) drive.PadString {
	p := drive.PadString{Name: c.Name, Output: c.Name}
	if c.Strings > 1 {
		p.Name = fmt.Sprintf("%s (string %d)", c.Name, s+1)
	}
	if c.Supply < 0 {
		return p
	}
	// Buck, boost and linear drivers share the supply's conductor with their output; most switch below the string and
	// fix its positive end, a boost driver its negative one.
	p.Reference = fmt.Sprintf("supply %d", c.Supply+1)
	if !c.Driver.Topology().OutputAboveInput() {
		p.PositiveFixed = true
		p.EndV = supplyPart(l, c.Supply).Voltage.SI
	}
	return p
}

func supplyPart(l *lamp.Lamp, supply int) *project.Supply {
	return l.Project.Library.Supplies.Get(l.Design.Supplies[supply].Part.S)
}
