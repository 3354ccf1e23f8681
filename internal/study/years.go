package study

import (
	"cmp"
	"errors"
	"math"
	"slices"

	"lampwright/internal/colour"
	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/lamp"
	"lampwright/internal/life"
	"lampwright/internal/project"
)

// Years is the lamp over years of use, at typical ambient.
type Years struct {
	HoursPerDay   float64        `json:"hours_per_day"`
	ServiceYears  float64        `json:"service_years"`
	ServiceStated bool           `json:"service_stated"`
	Emitters      []EmitterYears `json:"emitters"` // by channel and package
	Parts         []PartYears    `json:"parts"`    // fan and electrolytic capacitors
	L90Years      float64        `json:"l90_years"`
	L80Years      float64        `json:"l80_years"` // of the light at the target; 0 where it does not fall to it
	L70Years      float64        `json:"l70_years"`
	Ages          []AgedLamp     `json:"ages"` // new, 1, 3 and 5 years, and the service life
	Due           MaintenanceDue `json:"due"`
	Constant      ConstantLight  `json:"constant_light"`
	Shortest      PartYears      `json:"shortest"` // the part with the shortest life
	Notes         []string       `json:"notes"`
}

// EmitterYears is the lumen maintenance of the packages of one kind in a channel: of the one that ages fastest.
type EmitterYears struct {
	Channel        string  `json:"channel"`
	Emitter        string  `json:"emitter"`
	Count          int     `json:"count"`
	HottestK       float64 `json:"hottest_k"`    // solder point
	EquivalentK    float64 `json:"equivalent_k"` // temperature of the mean rate over the hours on
	DieA           float64 `json:"die_a"`
	TestA          float64 `json:"test_a"`      // of the tests that count; 0 where the datasheet states none
	TestedLoK      float64 `json:"tested_lo_k"` // range of case temperatures of these tests
	TestedHiK      float64 `json:"tested_hi_k"`
	AlphaPerOnH    float64 `json:"alpha_per_on_h"`
	B              float64 `json:"b"`
	L90Years       float64 `json:"l90_years"` // by hours on; 0 where the light does not fall
	L80Years       float64 `json:"l80_years"`
	L70Years       float64 `json:"l70_years"`
	L80DutyYears   float64 `json:"l80_duty_years"`   // weighted with the level
	ReportableYear float64 `json:"reportable_years"` // up to which TM-21 lets one report; 0 where it does not
	BeyondCurrent  bool    `json:"beyond_current"`
	Below          bool    `json:"below_tests"` // cooler than the coolest test, whose rate counts
	Above          bool    `json:"above_tests"` // hotter than the hottest test: extrapolated
}

// PartYears is the life of one part.
type PartYears struct {
	Name    string  `json:"name"`
	What    string  `json:"what"` // L80, L10, wear-out
	OnHours float64 `json:"on_hours"`
	Years   float64 `json:"years"` // calendar
}

// AgedLamp is the lamp at an age.
type AgedLamp struct {
	Years      float64            `json:"years"`
	Left       map[string]float64 `json:"left"` // light of the emitters by channel over that when new
	PPFD       float64            `json:"ppfd"` // clean
	BeforePPFD float64            `json:"ppfd_before_cleaning"`
	CCTK       float64            `json:"cct_k"` // 0 where there is none
	Duv        float64            `json:"duv"`
	Steps      float64            `json:"sdcm"` // colour difference from the new lamp
	JunctionK  float64            `json:"junction_k"`
	Service    bool               `json:"service"` // the end of the service life
}

// MaintenanceDue is when the light falls below a limit.
type MaintenanceDue struct {
	LimitPPFD   float64 `json:"limit_ppfd"`
	Required    bool    `json:"required"`     // the lower end of the requirement; else 80 % of the light when new
	BeforeYears float64 `json:"before_years"` // before cleaning; 0 from the first day
	CleanYears  float64 `json:"clean_years"`  // with clean lenses and panes, by the emitters alone
	Within      bool    `json:"within"`       // within maxYears
}

// maxYears is how far the lamp is followed.
const maxYears = 50

// reportedAges are the ages of a report [years].
var reportedAges = []float64{0, 1, 3, 5}

// unrequiredShare is the light over that when new at which maintenance is due where no PPFD is required; rule of thumb
// (no source).
const unrequiredShare = 0.8

// YearsOf returns the lamp over years of use: lumen maintenance of the emitters by TM-21 and the sum of damage over the
// day, the life of fan and capacitors, light and colour at some ages, and what it takes to keep the light constant.
//
// The emitters are followed at the temperatures of the lamp when new; the lamp at an age is solved with the light that
// is left, whose loss is heat. It is an error where the lamp has no steady state at typical ambient or no light.
func YearsOf(r *figure.Evaluation) (*Years, error) {
	st, ok := r.Sol.Cases[engine.Typical]
	switch {
	case !ok || st.Runaway:
		return nil, errors.New("the lamp has no steady state at typical ambient, from which its life follows")
	case !(r.Sol.Target.Mean > 0):
		return nil, errDark
	}
	s, l := r.Sys, r.Lamp
	day := s.Day(&r.Sol)
	out := &Years{}
	out.ServiceYears, out.ServiceStated = l.ServiceYears()
	for _, x := range day {
		out.HoursPerDay += x.Hours
	}
	ageing, duty := s.Ageing(&r.Sol, day, life.OnTime), s.Ageing(&r.Sol, day, life.DutyWeighted)
	out.Emitters = emitterYears(r, ageing, duty)
	out.L90Years = yearsOf(s.LampLife(&r.Sol, ageing, 0.9))
	out.L80Years = yearsOf(s.LampLife(&r.Sol, ageing, 0.8))
	out.L70Years = yearsOf(s.LampLife(&r.Sol, ageing, 0.7))
	out.Parts = partYears(r, out.HoursPerDay)
	for _, years := range reportedAges {
		out.Ages = append(out.Ages, agedLamp(r, ageing, years))
	}
	if !slices.Contains(reportedAges, out.ServiceYears) {
		out.Ages = append(out.Ages, agedLamp(r, ageing, out.ServiceYears))
	}
	for i := range out.Ages {
		out.Ages[i].Service = out.Ages[i].Years == out.ServiceYears
	}
	slices.SortFunc(out.Ages, func(a, b AgedLamp) int { return cmp.Compare(a.Years, b.Years) })
	out.Due = maintenanceDue(r)
	out.Constant = constantLight(r, day)
	out.Shortest = out.shortest()
	out.Notes = out.notes(r)
	return out, nil
}

// yearsOf returns calendar hours in years; 0 where they are infinite.
func yearsOf(calendarH float64) float64 {
	if math.IsInf(calendarH, 1) {
		return 0
	}
	return calendarH / life.YearH
}

// emitterYears returns the lumen maintenance by channel and package.
func emitterYears(r *figure.Evaluation, ageing, duty []engine.Ageing) (out []EmitterYears) {
	type group struct{ channel, kind int }
	at := map[group]int{}
	l, st := r.Lamp, r.Sol.Cases[engine.Typical]
	for e := range l.Emitters {
		g := group{l.Emitters[e].Channel, l.Emitters[e].Type}
		if l.Channels[g.channel].Off() {
			continue
		}
		i, known := at[g]
		if !known {
			i = len(out)
			at[g] = i
			out = append(out, EmitterYears{Channel: l.Channels[g.channel].Name, Emitter: l.Types[g.kind].Part.ID.S})
		}
		x := &out[i]
		x.Count++
		a := &ageing[e]
		x.HottestK = math.Max(x.HottestK, a.HottestK)
		if known && a.PerOnH <= x.AlphaPerOnH {
			continue
		}
		law, _ := l.Types[g.kind].AgeingAt(st.States[e].DieCurrentA)
		x.DieA, x.TestA = st.States[e].DieCurrentA, law.CurrentA
		x.EquivalentK, x.AlphaPerOnH, x.B = a.EquivalentK, a.PerOnH, a.B
		x.L90Years, x.L80Years = yearsOf(a.CalendarH(0.9)), yearsOf(a.CalendarH(0.8))
		x.L70Years = yearsOf(a.CalendarH(0.7))
		x.L80DutyYears = yearsOf(duty[e].CalendarH(0.8))
		x.BeyondCurrent, x.Below, x.Above = a.BeyondCurrent, a.Below, a.Above
		if law.Stated() {
			x.TestedLoK, x.TestedHiK = law.Tested()
			x.ReportableYear = yearsOf(a.ReportableH(a.LimitH))
		}
	}
	return out
}

// partYears returns the lives of fan and capacitors.
func partYears(r *figure.Evaluation, hoursPerDay float64) (out []PartYears) {
	add := func(key, name, what string, most float64) {
		f, ok := r.Figure(key)
		if !ok || f.Withheld != "" || !(hoursPerDay > 0) {
			return
		}
		p := PartYears{Name: name, What: what, OnHours: f.Lo / 3600}
		p.Years = math.Min(p.OnHours/hoursPerDay/365.25, most)
		out = append(out, p)
	}
	l := r.Lamp
	if l.Fan != nil {
		add("fan.life", "fan "+l.Fan.ID.S, "L10", math.Inf(1))
	}
	const most = life.MaxCapacitorH / life.YearH
	for i, use := range l.Design.Supplies {
		add(figure.SupplyKey(i, "capacitor-life"), "capacitors of supply "+use.Part.S, "wear-out", most)
	}
	for i := range l.Channels {
		c := &l.Channels[i]
		add(c.Name+".capacitor-life", "capacitors of driver "+c.Driver.ID.S+" ("+c.Name+")", "wear-out", most)
	}
	return out
}

// agedNeeds is what is solved of the lamp at an age.
var agedNeeds = engine.Needs{Only: engine.Typical, Stages: engine.Emission | engine.TargetMean | engine.Colour}

// agedLamp returns the lamp at an age.
func agedLamp(r *figure.Evaluation, ageing []engine.Ageing, years float64) AgedLamp {
	l := r.Lamp
	out := AgedLamp{Years: years, Left: map[string]float64{}}
	left := engine.LightLeft(ageing, years*life.YearH)
	if years == 0 {
		for e := range left {
			left[e] = 1
		}
	}
	for i := range l.Channels {
		if c := &l.Channels[i]; !c.Off() {
			for _, e := range c.Emitters {
				out.Left[c.Name] += left[e] / float64(len(c.Emitters))
			}
		}
	}
	sol := r.Sys.Aged(left).Solve(r.Base, agedNeeds)
	out.PPFD, out.JunctionK = sol.Target.Mean, junctionK(&sol)
	if sol.Colour != nil {
		out.CCTK, out.Duv = sol.Colour.CCTK, sol.Colour.Duv
	}
	out.Steps = colourSteps(&r.Sol, &sol)
	m := l.MaintenanceAt(years*lamp.YearS, 1)
	out.BeforePPFD = out.PPFD * m.Factor()
	return out
}

// colourSteps returns the colour difference of two solutions in SDCM; 0 where one has no light.
func colourSteps(was, is *engine.Solution) float64 {
	a, ok := was.Chromaticity()
	b, also := is.Chromaticity()
	if !ok || !also {
		return 0
	}
	return colour.Steps(a, b)
}

// maintenanceDue returns when the light falls below the requirement.
func maintenanceDue(r *figure.Evaluation) MaintenanceDue {
	w := r.Lamp.Design.Requirements.PPFD
	out := MaintenanceDue{LimitPPFD: unrequiredShare * r.Sol.Target.Mean, Required: w.Set}
	if w.Set {
		out.LimitPPFD = w.SI
		if w.Lo != w.Hi {
			out.LimitPPFD = w.Lo
		}
	}
	before := func(years float64) float64 { return r.Sys.MaintenanceAt(&r.Sol, years*lamp.YearS).Factor() }
	clean := func(years float64) float64 { return r.Sys.LumenMaintenance(&r.Sol, years*lamp.YearS) }
	first := func(factor func(years float64) float64) float64 {
		lo, hi := 0.0, float64(maxYears)
		if r.Sol.Target.Mean*factor(hi) >= out.LimitPPFD {
			return maxYears
		}
		for hi-lo > 1.0/48 {
			if mid := (lo + hi) / 2; r.Sol.Target.Mean*factor(mid) >= out.LimitPPFD {
				lo = mid
			} else {
				hi = mid
			}
		}
		if lo == 0 {
			return 0
		}
		return hi
	}
	out.BeforeYears, out.CleanYears = first(before), first(clean)
	out.Within = out.BeforeYears < maxYears
	return out
}

// shortest returns the part with the shortest life: of packages L80, of a fan L10, of capacitors their wear-out.
func (y *Years) shortest() PartYears {
	all := slices.Clone(y.Parts)
	for _, e := range y.Emitters {
		if e.L80Years > 0 {
			all = append(all, PartYears{
				Name: "emitters " + e.Emitter + " (" + e.Channel + ")", What: "L80",
				OnHours: e.L80Years * 365.25 * y.HoursPerDay, Years: e.L80Years,
			})
		}
	}
	if len(all) == 0 {
		return PartYears{}
	}
	return slices.MinFunc(all, func(a, b PartYears) int { return cmp.Compare(a.Years, b.Years) })
}

// notes states how far the figures hold.
func (y *Years) notes(r *figure.Evaluation) []string {
	out := []string{
		"hours on count in full at any level from 10 % on, and in proportion below; the solder points are those of " +
			"the lamp when new along its day, at typical ambient",
		"lumen maintenance is gradual: failures of packages, yellowing of lenses, solder and humidity are not included",
	}
	for _, e := range y.Emitters {
		of := e.Emitter + " (" + e.Channel + ")"
		switch {
		case e.TestA == 0:
			out = append(out, of+": no LM-80 test stated; 70 % after 50 000 h assumed: rule of thumb (no source)")
			continue
		case e.BeyondCurrent:
			out = append(out, of+": the die current exceeds that of the tests; the light falls faster")
		}
		if e.Above {
			out = append(out, of+": hotter than the hottest test; extrapolated, no projection by TM-21")
		}
		if e.Below {
			out = append(out, of+": cooler than the coolest test, whose rate is used (TM-21)")
		}
	}
	if _, stated := r.Lamp.StatedLumenMaintenance(0); stated {
		out = append(out, "when maintenance is due follows from the lumen_maintenance of the design, the rest from TM-21")
	}
	if l := r.Lamp; l.Design.Installation.Kind.S == project.Tank || l.Design.Installation.Maintenance != nil {
		out = append(out, "before cleaning: dirt on lenses and film on panes at their worst")
	}
	return out
}
