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

// exposure is the day of the nominal lamp.
type exposure struct {
	day   []Exposure
	airK  float64
	fullK []float64 // by emitter: solder points at full level
}

// Bounds within which parts of a day are one: of levels, and of temperatures [K].
const (
	sameLevel  = 0.02
	sameSolder = 0.5
)

// Expose takes the parts of the day from the nominal lamp over its programme; full is its solution at full level. The
// rises of the emitters of a channel over the air keep their proportions.
func (s *System) Expose(d *DayCourse, full *Solution) {
	st, l := full.Cases[Typical], s.Lamp
	out := &exposure{airK: st.AirK, fullK: st.SolderK}
	var last []float64 // of the part that is open: levels and temperatures
	for k := 1; k < len(d.TimesS); k++ {
		x := Exposure{Hours: (d.TimesS[k] - d.TimesS[k-1]) / 3600, SolderK: make([]float64, len(l.Emitters))}
		var now []float64
		lit := false
		for i := range l.Channels {
			level := (d.Levels[k][i] + d.Levels[k-1][i]) / 2
			hotK := (d.ChannelK[i][k] + d.ChannelK[i][k-1]) / 2
			x.Level = append(x.Level, level)
			now = append(now, level/sameLevel, hotK/sameSolder)
			lit = lit || level > 0
			fullRise := 0.0
			for _, e := range l.Channels[i].Emitters {
				fullRise = math.Max(fullRise, st.SolderK[e]-st.AirK)
			}
			for _, e := range l.Channels[i].Emitters {
				x.SolderK[e] = hotK
				if fullRise > 0 {
					x.SolderK[e] = st.AirK + (hotK-st.AirK)*(st.SolderK[e]-st.AirK)/fullRise
				}
			}
		}
		switch {
		case !lit:
			last = nil
		case last != nil && alike(last, now):
			out.day[len(out.day)-1].Hours += x.Hours
		default:
			out.day, last = append(out.day, x), now
		}
	}
	if len(out.day) > 0 {
		s.exposed = out
	}
}

// alike reports whether no value differs by more than 1.
func alike(a, b []float64) bool {
	for i := range a {
		if math.Abs(a[i]-b[i]) > 1 {
			return false
		}
	}
	return true
}

// Day returns the parts of the day for the parameters of a solution at full level: those of Expose, whose temperatures
// over the air scale as those at full level. Without a programme it is one part at full level in the steady state at
// typical ambient.
func (s *System) Day(sol *Solution) []Exposure {
	st := sol.Cases[Typical]
	if s.exposed == nil {
		one := Exposure{Hours: s.Lamp.OnHours(86400), SolderK: st.SolderK}
		for i := range s.Lamp.Channels {
			one.Level = append(one.Level, s.Lamp.Channels[i].Level)
		}
		return []Exposure{one}
	}
	return scaled(s.exposed.day, s.exposed.airK, s.exposed.fullK, &st)
}

// DayAt returns the parts of a day of a solution at full level for another one: temperatures over the air scale as
// those at full level.
func DayAt(day []Exposure, full, other *Solution) []Exposure {
	was, is := full.Cases[Typical], other.Cases[Typical]
	return scaled(day, was.AirK, was.SolderK, &is)
}

func scaled(day []Exposure, airK float64, fullK []float64, st *State) []Exposure {
	out := slices.Clone(day)
	for i := range out {
		out[i].SolderK = slices.Clone(out[i].SolderK)
		for e, k := range out[i].SolderK {
			if rise := fullK[e] - airK; rise > 0 {
				out[i].SolderK[e] = st.AirK + (k-airK)*(st.SolderK[e]-st.AirK)/rise
			}
		}
	}
	return out
}

// dimLevel is the level below which an hour counts in proportion to the level: moonlight hardly ages a package. Rule of
// thumb (no source).
const dimLevel = 0.1

// Ageing is how fast the light of one emitter falls.
type Ageing struct {
	life.Damage
	LimitH        float64 // hours on that TM-21 lets one report; 0 where the datasheet states no test
	BeyondCurrent bool    // the current of its dies exceeds those of the tests
}

// Ageing returns how fast the light of each emitter falls over a day, for the parameters of a solution.
func (s *System) Ageing(sol *Solution, day []Exposure, w life.Weighting) []Ageing {
	out := make([]Ageing, len(s.Lamp.Emitters))
	for e := range out {
		out[e] = s.AgeingOf(e, sol, day, w)
	}
	return out
}

// AgeingOf is Ageing of one emitter. Where an hour on is an hour at any level, hours below dimLevel count in
// proportion.
func (s *System) AgeingOf(e int, sol *Solution, day []Exposure, w life.Weighting) Ageing {
	em := &s.Lamp.Emitters[e]
	stages := make([]life.Stage, len(day))
	for i, x := range day {
		stages[i] = life.Stage{Hours: x.Hours, CaseK: x.SolderK[e], Duty: x.Level[em.Channel]}
		if w == life.OnTime {
			stages[i].Hours *= math.Min(1, stages[i].Duty/dimLevel)
		}
	}
	kind := &s.Lamp.Types[em.Type]
	law, beyond := kind.AgeingAt(sol.Cases[Typical].States[e].DieCurrentA)
	d := law.Damage(stages, w)
	d.PerCalendarH *= sol.Params[kind.Param.Ageing]
	d.PerOnH *= sol.Params[kind.Param.Ageing]
	out := Ageing{Damage: d, BeyondCurrent: beyond}
	if law.Stated() {
		out.LimitH = law.LimitH()
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
	aged := s.AgedSolution(sol, s.Day(sol), ageS/3600, targetMeanOnly)
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
