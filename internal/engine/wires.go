package engine

import (
	"math"

	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/wiring"
)

const (
	// IEC 60364-5-52, table 52.1, cited from memory: PVC, the lowest rating of common insulations
	PVCMaxK    = 273.15 + 70
	ratedAirK  = 273.15 + 30 // IEC 60364-5-52, §523.1, cited from memory: ambient of current ratings
	balanceErr = 0.1         // of the heat balance from printed tables, see wiring.Lead
)

// WireLimit is the current-carrying capacity of a wire at maximum ambient.
type WireLimit struct {
	Stated             bool    // the datasheet states a maximum current
	RatedA             float64 // that current
	DeratedA           float64 // that current, derated for ambient and grouping
	HeatA, LoA, HiA    float64 // by the heat balance, and its range
	AirK, MaxK, Factor float64 // ambient, insulation rating, grouping factor
	Lead               wiring.Lead
}

// SafeA is the permitted current: derated by the datasheet, or the low limit of the heat balance.
func (w WireLimit) SafeA() float64 {
	if w.Stated {
		return w.DeratedA
	}
	return w.LoA
}

// InsulationLimitA is the current at which the insulation reaches its temperature rating.
func (w WireLimit) InsulationLimitA() float64 { return math.Max(w.HeatA, w.DeratedA) }

// LimitOf returns the current-carrying capacity of a wire of this lamp.
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
	// Thicker insulation has a larger surface and a larger thermal resistance: either limit can be the better one.
	a, lowA := at(thick.Lo)
	b, lowB := at(thick.Hi)
	used, low := at(thick.Used)
	w.HeatA = used
	w.LoA, w.HiA = min(lowA, lowB, low)*(1-balanceErr), max(a, b, used)*(1+balanceErr)
	w.RatedA, w.Stated = part.MaxCurrent.SI, part.MaxCurrent.Set
	w.DeratedA = DeratedWireA(l, use, airK)
	return w
}

// DeratedWireA returns the maximum current in the datasheet of a wire, derated for ambient and grouping [A]; 0 where
// none is stated. Lower ambient than stated does not increase it.
func DeratedWireA(l *lamp.Lamp, use *project.WireUse, airK float64) float64 {
	part := l.Project.Library.Wires.Get(use.Part.S)
	maxK, statedK := PVCMaxK, ratedAirK
	if part.InsulationRating.Set {
		maxK = part.InsulationRating.SI
	}
	if part.MaxCurrentAmbient.Set {
		statedK = part.MaxCurrentAmbient.SI
	}
	return part.MaxCurrent.SI * wiring.GroupingFactor(use.GroupedCircuits.N) * math.Min(1,
		wiring.AmbientFactor(maxK, statedK, airK))
}

// SupplyWireLimit is that of the wire from a supply, at maximum ambient.
func SupplyWireLimit(l *lamp.Lamp, supply int) WireLimit {
	return LimitOf(l, l.Design.Supplies[supply].Wire, l.Design.Installation.Ambient.Max.SI)
}

// Overload returns the continuous fault current of a supply below its short-circuit threshold [A], with its range;
// stated tells that its datasheet states it.
func Overload(l *lamp.Lamp, supply int) (a, lo, hi float64, stated bool) {
	part := l.Project.Library.Supplies.Get(l.Design.Supplies[supply].Part.S)
	if part.OverloadCurrent.Set {
		return part.OverloadCurrent.SI, part.OverloadCurrent.Lo, part.OverloadCurrent.Hi, true
	}
	rated := part.Power.SI / part.Voltage.SI
	return lamp.TypicalOverload.Used * rated, lamp.TypicalOverload.Lo * rated, lamp.TypicalOverload.Hi * rated, false
}

// WireAreaM2 returns the cross-section of one conductor of a wire of the lamp [m²]: as stated, or that of copper of
// its resistance (wiring.Lead.Area).
func (s *System) WireAreaM2(use *project.WireUse) float64 {
	part := s.Lamp.Project.Library.Wires.Get(use.Part.S)
	return wiring.Lead{AreaMM2: part.Area.SI * 1e6, OhmPerM: part.Resistance.SI}.Area() * 1e-6
}
