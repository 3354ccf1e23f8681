package engine

import (
	"math"
	"slices"

	"lampwright/internal/colour"
	"lampwright/internal/lamp"
	"lampwright/internal/life"
)

// Exposure is a part of the day in one state of the lamp.
type Exposure struct {
	Hours   float64   // per day
	SolderK []float64 // by emitter: temperature of the solder point, the case temperature of LM-80
	Level   []float64 // by channel, from 0 to 1
}

// FullLevelDay returns the day as one part at full level in the steady state at typical ambient: the hours of a ramp
// count half.
func (s *System) FullLevelDay(sol *Solution) []Exposure {
	st := sol.Cases[Typical]
	one := Exposure{Hours: s.Lamp.OnHours(86400), SolderK: st.SolderK}
	for i := range s.Lamp.Channels {
		one.Level = append(one.Level, s.Lamp.Channels[i].Level)
	}
	return []Exposure{one}
}

// Ageing is how fast the light of one emitter falls.
type Ageing struct {
	life.Damage
	LimitH        float64 // hours on that TM-21 lets one report; 0 where the datasheet states no test
	BeyondCurrent bool    // the current of its dies exceeds those of the tests
}

// Ageing returns how fast the light of each emitter falls over a day, for the parameters of a solution.
func (s *System) Ageing(sol *Solution, day []Exposure, w life.Weighting) []Ageing {
	l := s.Lamp
	out := make([]Ageing, len(l.Emitters))
	stages := make([]life.Stage, len(day))
	for e := range l.Emitters {
		em := &l.Emitters[e]
		for i, x := range day {
			stages[i] = life.Stage{Hours: x.Hours, CaseK: x.SolderK[e], Duty: x.Level[em.Channel]}
		}
		kind := &l.Types[em.Type]
		law, beyond := kind.AgeingAt(sol.Cases[Typical].States[e].DieCurrentA)
		d := law.Damage(stages, w)
		d.PerCalendarH *= sol.Params[kind.Param.Ageing]
		d.PerOnH *= sol.Params[kind.Param.Ageing]
		out[e] = Ageing{Damage: d, BeyondCurrent: beyond}
		if law.Stated() {
			out[e].LimitH = law.LimitH()
		}
	}
	return out
}

// LightLeft returns the light of each emitter after some calendar hours over that when new.
func LightLeft(ageing []Ageing, calendarH float64) []float64 {
	out := make([]float64, len(ageing))
	for e := range ageing {
		out[e] = ageing[e].Light(calendarH)
	}
	return out
}

// Aged returns the lamp whose emitters have a part of their light left: less light, more heat. The emitters of a type
// in a channel have the mean of theirs.
func (s *System) Aged(left []float64) *System {
	out, l := *s, *s.Lamp
	l.Emitters, l.Types = slices.Clone(l.Emitters), nil
	type group struct{ channel, kind int }
	at, sum, count := map[group]int{}, []float64{}, []float64{}
	for e := range l.Emitters {
		g := group{l.Emitters[e].Channel, l.Emitters[e].Type}
		if _, known := at[g]; !known {
			at[g] = len(l.Types)
			l.Types = append(l.Types, s.Lamp.Types[g.kind])
			sum, count = append(sum, 0), append(count, 0)
		}
		l.Emitters[e].Type = at[g]
		sum[at[g]] += left[e]
		count[at[g]]++
	}
	for i := range l.Types {
		l.Types[i].Model.RadiantW *= sum[i] / count[i]
	}
	out.Lamp = &l
	return &out
}

// AgedSolution solves the lamp after some calendar hours of a day, for the parameters of a solution.
func (s *System) AgedSolution(sol *Solution, day []Exposure, calendarH float64, n Needs) Solution {
	left := LightLeft(s.Ageing(sol, day, life.OnTime), calendarH)
	return s.Aged(left).Solve(sol.Params, n)
}

// targetMeanOnly asks for the mean PPFD at the target.
var targetMeanOnly = Needs{Only: Typical, Stages: Emission | TargetMean}

// LumenMaintenance returns the light of the emitters at the target at an age [s] over that when new [1]: as the design
// states it, or by TM-21 at the temperatures of the emitters.
func (s *System) LumenMaintenance(sol *Solution, ageS float64) float64 {
	if left, stated := s.Lamp.StatedLumenMaintenance(ageS); stated {
		return left
	}
	if st, ok := sol.Cases[Typical]; !ok || st.Runaway || !(sol.Target.Mean > 0) {
		return 1
	}
	aged := s.AgedSolution(sol, s.FullLevelDay(sol), ageS/3600, targetMeanOnly)
	return aged.Target.Mean / sol.Target.Mean
}

// MaintenanceAt returns the light at an age [s], before cleaning, over that when new and clean.
func (s *System) MaintenanceAt(sol *Solution, ageS float64) lamp.Maintenance {
	return s.Lamp.MaintenanceAt(ageS, s.LumenMaintenance(sol, ageS))
}

// Chromaticity returns the chromaticity of the sum of all light; false where there is none.
func (sol *Solution) Chromaticity() (colour.XY, bool) {
	var sum colour.XYZ
	for e, w := range sol.EmittedW {
		c := sol.spectra[e].XYZ
		sum.X += w * c.X
		sum.Y += w * c.Y
		sum.Z += w * c.Z
	}
	return sum.XY()
}

// LampLife returns the calendar hours until a share of the light at the target is left [h]; +Inf where the light does
// not fall to it:
//
//	Σ s_e·min(1, B_e·e^(−r_e·t)),  s_e the fraction of emitter e when new
func (s *System) LampLife(sol *Solution, ageing []Ageing, share float64) float64 {
	photonsW, _ := s.weightsOnMaps(sol)
	all := make([]life.ChannelDamage, 0, len(ageing))
	for e := range ageing {
		if w := photonsW[e] * mean(sol.unitLight.Target.PPFD[e]); w > 0 {
			all = append(all, life.ChannelDamage{Share: w, Damage: ageing[e].Damage})
		}
	}
	if len(all) == 0 {
		return math.Inf(1)
	}
	return life.LampCalendarH(all, share)
}
