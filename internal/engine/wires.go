package engine

import (
	"math"

	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/wiring"
)

const (
	PVCMaxK    = 273.15 + 70 // IEC 60364-5-52, table 52.1, from memory: PVC, the least of the common insulations
	ratedAirK  = 273.15 + 30 // IEC 60364-5-52, §523.1, from memory: the air that ratings of leads are for
	balanceErr = 0.1         // of the heat balance from printed tables, see wiring.Lead
)

// WireLimit is what a lead carries for good on the hottest day.
type WireLimit struct {
	Stated             bool    // the sheet gives a largest current
	RatedA             float64 // that current
	DeratedA           float64 // what is left of it in this air and this bundle
	HeatA, LoA, HiA    float64 // by the heat balance, and its range
	AirK, MaxK, Factor float64 // air, insulation, and what the bundle leaves
	Lead               wiring.Lead
}

// SafeA is the current that the lead is to carry: what its sheet allows, or the low end of the heat balance.
func (w WireLimit) SafeA() float64 {
	if w.Stated {
		return w.DeratedA
	}
	return w.LoA
}

// InsulationLimitA is the current beyond which its insulation gets warmer than it stands.
func (w WireLimit) InsulationLimitA() float64 { return math.Max(w.HeatA, w.DeratedA) }

// LimitOf returns what a lead of this lamp carries.
func LimitOf(l *lamp.Lamp, use *project.WireUse, airK float64) WireLimit {
	part := l.Project.Library.Wires.Get(use.Part.S)
	w := WireLimit{AirK: airK, MaxK: PVCMaxK, Factor: wiring.GroupingFactor(use.GroupedCircuits.N)}
	if part.InsulationRating.Set {
		w.MaxK = part.InsulationRating.SI
	}
	at := func(mm float64) (a, low float64) {
		w.Lead = wiring.Lead{AreaMM2: part.Area.SI * 1e6, OhmPerM: part.Resistance.SI, InsulationMM: mm, MaxK: w.MaxK}
		return w.Factor * w.Lead.Ampacity(airK), w.Factor * w.Lead.ConservativeAmpacity(airK)
	}
	thick := lamp.TypicalInsulationMM
	if part.Insulation.Set {
		mm := part.Insulation.SI * 1e3
		thick = lamp.Spread{Used: mm, Lo: mm, Hi: mm}
	}
	// Thicker insulation is a larger surface, and a longer way through: either end can be the better one.
	a, lowA := at(thick.Lo)
	b, lowB := at(thick.Hi)
	used, low := at(thick.Used)
	w.HeatA = used
	w.LoA, w.HiA = min(lowA, lowB, low)*(1-balanceErr), max(a, b, used)*(1+balanceErr)
	w.RatedA, w.Stated = part.MaxCurrent.SI, part.MaxCurrent.Set
	w.DeratedA = DeratedWireA(l, use, airK)
	return w
}

// DeratedWireA returns what is left in this air and this bundle of the largest current that a wire's sheet states [A]; 0 where
// it states none. In air cooler than stated no more is asked of it than its sheet says.
func DeratedWireA(l *lamp.Lamp, use *project.WireUse, airK float64) float64 {
	part := l.Project.Library.Wires.Get(use.Part.S)
	maxK, statedK := PVCMaxK, ratedAirK
	if part.InsulationRating.Set {
		maxK = part.InsulationRating.SI
	}
	if part.MaxCurrentAmbient.Set {
		statedK = part.MaxCurrentAmbient.SI
	}
	return part.MaxCurrent.SI * wiring.GroupingFactor(use.GroupedCircuits.N) * math.Min(1, wiring.AmbientFactor(maxK, statedK, airK))
}

// SupplyWireLimit is that of the lead from a supply, in the room.
func SupplyWireLimit(l *lamp.Lamp, supply int) WireLimit {
	return LimitOf(l, l.Design.Supplies[supply].Wire, l.Design.Installation.Ambient.Max.SI)
}

// Overload returns what a supply gives for good into a fault that it does not take for a short [A], with its range; stated
// tells that its sheet gives it.
func Overload(l *lamp.Lamp, supply int) (a, lo, hi float64, stated bool) {
	part := l.Project.Library.Supplies.Get(l.Design.Supplies[supply].Part.S)
	if part.OverloadCurrent.Set {
		return part.OverloadCurrent.SI, part.OverloadCurrent.Lo, part.OverloadCurrent.Hi, true
	}
	rated := part.Power.SI / part.Voltage.SI
	return lamp.TypicalOverload.Used * rated, lamp.TypicalOverload.Lo * rated, lamp.TypicalOverload.Hi * rated, false
}
