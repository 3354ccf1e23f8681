package lamp

import (
	"math"

	"lampwright/internal/life"
	"lampwright/internal/project"
)

// Values of the fatigue of solder joints that datasheets do not state; rules of thumb (no source).
const (
	usualN63     = 1500 // cycles of −40 °C to 125 °C of a ceramic package of 3.5 mm on aluminium
	weibullShape = 4
	testPerDay   = 24
	softBoard    = 3 // life on a copper core or FR4 over that on aluminium
)

// The alloys that the literature has constants for, by their solidus [K].
const (
	sacLoK, sacHiK         = 273.15 + 214, 273.15 + 222
	tinLeadLoK, tinLeadHiK = 273.15 + 178, 273.15 + 184
	// TinBismuthK is the solidus below which an alloy is taken as tin-bismuth, which creeps in service.
	TinBismuthK = 273.15 + 145
)

// Alloy returns the solder under the emitters; nil where the design names none.
func (l *Lamp) Alloy() *project.Solder { return l.Project.Library.Solders.Get(l.Design.Solder.S) }

// FatigueSets returns the constants of an alloy: those that it states, or those of the literature; none for alloys that
// it has none for.
func FatigueSets(alloy *project.Solder) []life.Fatigue {
	if f := alloy.Fatigue; f != nil {
		return []life.Fatigue{{Name: alloy.ID.S, DeltaT: f.Swing.SI, Frequency: f.Frequency.SI, QK: f.Q.SI}}
	}
	switch k := alloy.Solidus.SI; {
	case k >= sacLoK && k <= sacHiK:
		return []life.Fatigue{life.SACPan, life.SACVasudevanFan}
	case k >= tinLeadLoK && k <= tinLeadHiK:
		return []life.Fatigue{life.TinLead}
	}
	return nil
}

// CycleTest returns the characteristic cycles of a package in its test, on the core of this board, and the test; stated
// tells whether its datasheet states it.
func (l *Lamp) CycleTest(kind int) (n63 float64, test life.Cycling, stated bool) {
	part := l.Types[kind].Part
	if t := part.CycleTest; t != nil {
		test = life.Cycling{SwingK: t.High.SI - t.Low.SI, MaxK: t.High.SI, PerDay: testPerDay}
		if t.PerDay.Set {
			test.PerDay = t.PerDay.SI
		}
		return life.Characteristic(t.Cycles.SI, weibullShape, t.Failed.SI), test, true
	}
	n63 = usualN63 * sizeFactor(math.Max(part.Body.Length.SI, part.Body.Width.SI))
	if l.Stack.Base.S != project.Aluminium {
		n63 *= softBoard
	}
	return n63, life.Cycling{SwingK: 165, MaxK: 398.15, PerDay: testPerDay}, false
}

// sizeFactor returns the life of the joints of a package over that of 3.5 mm: 0.5 for 5 mm, 0.3 for 7 mm and more; rule
// of thumb (no source).
func sizeFactor(sideM float64) float64 {
	const mm = 1e-3
	switch {
	case sideM <= 3.5*mm:
		return 1
	case sideM <= 5*mm:
		return 1 - 0.5*(sideM-3.5*mm)/(1.5*mm)
	case sideM <= 7*mm:
		return 0.5 - 0.2*(sideM-5*mm)/(2*mm)
	}
	return 0.3
}

// JointCycles returns the daily cycles after which a joint of the lamp has failed in 1 % of the lamps, by each set of
// constants, for the swing of the solder point of each emitter from the air at night; the smallest over the packages.
func (l *Lamp) JointCycles(solderK []float64, nightK float64) (cycles []float64, swingK float64, stated bool) {
	alloy := l.Alloy()
	if alloy == nil {
		return nil, 0, false
	}
	sets := FatigueSets(alloy)
	cycles = make([]float64, len(sets))
	for s := range cycles {
		cycles[s] = math.Inf(1)
	}
	stated = true
	for i, k := range solderK {
		if k <= nightK {
			continue
		}
		n63, test, said := l.CycleTest(l.Emitters[i].Type)
		first := life.WeibullCycles(n63, weibullShape, 0.01, len(l.Emitters))
		for s, set := range sets {
			use := life.Cycling{SwingK: k - nightK, MaxK: k, PerDay: 1}
			cycles[s] = math.Min(cycles[s], first*set.Acceleration(test, use))
		}
		swingK, stated = math.Max(swingK, k-nightK), stated && said
	}
	return cycles, swingK, stated
}

// usualServiceYears is how long a lamp is to run where the requirements do not state it; rule of thumb (no source).
const usualServiceYears = 10

// ServiceYears returns for how many years the lamp is to run and to meet its requirements, and whether the design
// states it.
func (l *Lamp) ServiceYears() (years float64, stated bool) {
	if s := l.Design.Requirements.ServiceLife; s.Set {
		return s.SI / YearS, true
	}
	return usualServiceYears, false
}

// DailyHours returns for how long a day light is on [h], ramps included; 10 h where the programme does not state it.
func (l *Lamp) DailyHours() float64 {
	lit, _ := l.hours()
	return lit
}
