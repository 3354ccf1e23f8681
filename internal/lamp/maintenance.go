package lamp

import (
	"math"

	"lampwright/internal/life"
	"lampwright/internal/project"
)

// Values of maintenance that the design does not state; rules of thumb (no source).
const (
	YearS                = 3600 * life.YearH // a Julian year
	assumedLensCleaningS = YearS
	assumedDailyH        = 10
)

// surfaceFactors is the light that film and algae on the panes leave before the glass is cleaned [1]: rule of thumb (no
// source).
var surfaceFactors = map[project.Cleaning]float64{
	project.CleanedWeekly: 0.95, project.CleanedMonthly: 0.85, project.CleanedRarely: 0.70,
}

// Maintenance is the light of a lamp at some age, before cleaning, over its light when new and clean [1]. Source: CIE97
// (maintenance factor MF = LLMF · LMF · RMF), cited from memory; failures of emitters (LSF) are not included.
type Maintenance struct {
	Lumen     float64 // of the emitters (LLMF, f_LF)
	Luminaire float64 // dirt on lenses and cover glass (LMF, f_LM)
	Surface   float64 // film on panes and water (RMF, f_SM)
}

// Factor returns the maintenance factor [1].
func (m Maintenance) Factor() float64 { return m.Lumen * m.Luminaire * m.Surface }

// stated returns what the design states of maintenance; the zero value where it states nothing.
func (l *Lamp) statedMaintenance() project.Maintenance {
	if m := l.Design.Installation.Maintenance; m != nil {
		return *m
	}
	return project.Maintenance{}
}

// LensCleaningS returns the interval at which lenses and cover glass are cleaned [s].
func (l *Lamp) LensCleaningS() float64 {
	if m := l.statedMaintenance(); m.LensCleaning.Set {
		return m.LensCleaning.SI
	}
	return assumedLensCleaningS
}

// OnHours returns the hours at full level with the same light up to an age [h]: a straight ramp counts half.
func (l *Lamp) OnHours(ageS float64) float64 {
	_, daily := l.hours()
	return ageS / 86400 * daily
}

// StatedLumenMaintenance returns the lumen maintenance of the emitters at an age [s] where the design states it: that
// of the service life, by an exponential.
func (l *Lamp) StatedLumenMaintenance(ageS float64) (left float64, stated bool) {
	m := l.statedMaintenance()
	if !m.Lumen.Set {
		return 0, false
	}
	years, _ := l.ServiceYears()
	return math.Pow(m.Lumen.SI, ageS/(years*YearS)), true
}

// MaintenanceAt returns the Maintenance at an age [s], with the lumen maintenance of the emitters.
func (l *Lamp) MaintenanceAt(ageS, lumen float64) Maintenance {
	m := l.statedMaintenance()
	out := Maintenance{Lumen: lumen, Surface: 1}
	if out.Luminaire = m.Luminaire.SI; !m.Luminaire.Set {
		out.Luminaire = l.cleanedLight(math.Min(ageS, l.LensCleaningS()) / YearS)
	}
	p := &l.Design.Installation
	switch {
	case m.Surface.Set:
		out.Surface = m.Surface.SI
	case p.Kind.S == project.Tank && m.GlassCleaning.Set:
		out.Surface = surfaceFactors[m.GlassCleaning.S]
	case p.Kind.S == project.Tank:
		out.Surface = surfaceFactors[project.CleanedMonthly]
	}
	return out
}

// cleanedLight returns the light that dirt leaves some years after lenses and cover glass were cleaned [1].
func (l *Lamp) cleanedLight(years float64) float64 {
	p := &l.Design.Installation
	height := math.Inf(1)
	if p.Water.SI > 0 && p.Cover == nil {
		height = p.Hanging.SI
	}
	f := life.LensMaintenance(height, years)
	switch {
	case p.Cover == nil:
	case p.Cover.Condition.S == project.CoverWet:
		f *= life.LuminaireMaintenance(life.WetCover, years)
	default:
		f *= life.LuminaireMaintenance(life.DryCover, years)
	}
	return f
}
