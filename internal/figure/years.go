package figure

import (
	"fmt"
	"math"

	"lampwright/internal/colour"
	"lampwright/internal/engine"
	"lampwright/internal/lamp"
	"lampwright/internal/life"
	"lampwright/internal/quantity"
)

// yearsWriter writes the lamp over years of use: L80, the PPFD at some ages, and the colour at the end of the service
// life.
type yearsWriter struct {
	*writer
	r      *Evaluation
	day    []engine.Exposure
	ageing []engine.Ageing
}

const (
	ageingMethod = "TM21 (rates between two tests; that of the coolest test below it), Miner1945 (rates add over " +
		"the day)"
	ageingValid = "gradual decrease at typical ambient; hours on count in full at any level from 10 % on, and in " +
		"proportion below (rule of thumb, no source); failures of packages, lenses, solder and humidity are not " +
		"included"
)

// yearsFigures writes them.
func (r *Evaluation) yearsFigures(w *writer) {
	st, ok := r.Sol.Cases[engine.Typical]
	if !ok || st.Runaway || !(r.Sol.Target.Mean > 0) {
		return
	}
	day := r.Sys.Day(&r.Sol)
	y := &yearsWriter{writer: w, r: r, day: day, ageing: r.Sys.Ageing(&r.Sol, day, life.OnTime)}
	for i := range r.Lamp.Channels {
		if !r.Lamp.Channels[i].Off() {
			y.channelL80(newChannelWriter(w, r, i))
		}
	}
	y.lampL80()
	for _, years := range []float64{1, 3, 5} {
		y.ppfd(years)
	}
	y.colours()
}

// fastest returns the emitter of a channel that ages fastest.
func (y *yearsWriter) fastest(ch *lamp.Channel) int {
	at := ch.Emitters[0]
	for _, e := range ch.Emitters {
		if y.ageing[e].CalendarH(0.8) < y.ageing[at].CalendarH(0.8) {
			at = e
		}
	}
	return at
}

// hoursOn is the input of the hours on a day.
func (y *yearsWriter) hoursOn() Input {
	hours := 0.0
	for _, x := range y.day {
		hours += x.Hours
	}
	return Input{Name: "time on", Value: num(hours) + " h a day", Source: "day programme, or 10 h a day"}
}

// channelL80 writes the L80 of the emitter of a channel that ages fastest.
func (y *yearsWriter) channelL80(w *channelWriter) {
	e := y.fastest(w.ch)
	a := &y.ageing[e]
	if math.IsInf(a.CalendarH(0.8), 1) {
		return
	}
	n := ofCase(engine.Typical, func(*engine.State) float64 { return 0 })
	n.value = func(sol *engine.Solution) (float64, bool) {
		aged := y.r.Sys.AgeingOf(e, sol, y.r.Sys.Day(sol), life.OnTime)
		return 3600 * aged.CalendarH(0.8), true
	}
	kind := &y.r.Lamp.Types[y.r.Lamp.Emitters[e].Type]
	w.put("l80", "L80, calendar time", quantity.Time, n, func() Basis {
		return Basis{
			Formula: "L80 = ln(B/0.8)/r, r = Σ h α(T_s)/24 h, α(T) = α₁ exp(E_a/k (1/T₁ − 1/T))",
			Numbers: fmt.Sprintf("ln(%.4g/0.8)/(%.3g · %.3g/24 1/h) = %s", a.B, a.OnHours, a.PerOnH,
				w.print("l80", quantity.Time)),
			Inputs: []Input{
				{Name: "T_s", Value: celsius(a.EquivalentK), Source: "of the mean rate over the day"},
				y.hoursOn(),
				testsInput(kind, y.r.Sol.Cases[engine.Typical].States[e].DieCurrentA),
			},
			Method: ageingMethod, Valid: ageingValid, Notes: limitsOf(a),
		}
	})
}

// testsInput is the input of the tests of a package.
func testsInput(kind *lamp.EmitterType, dieA float64) Input {
	law, _ := kind.AgeingAt(dieA)
	if !law.Stated() {
		return Input{Name: "L70", Value: num(lamp.AssumedL70.Used/3600) + " h on", Source: lamp.AssumedL70.Why}
	}
	lo, hi := law.Tested()
	return Input{
		Name: "tests", Source: emitterSheet(kind), At: kind.Part.LumenTests[0].Case.At,
		Value: celsius(lo) + " to " + celsius(hi) + " at " + quantity.Format(law.CurrentA, quantity.Current),
	}
}

// limitsOf states how far TM-21 projects.
func limitsOf(a *engine.Ageing) (out []string) {
	if a.LimitH > 0 {
		limit := a.ReportableH(a.LimitH)
		word := "within"
		if a.CalendarH(0.8) > limit {
			word = "beyond"
		}
		out = append(out, fmt.Sprintf("%s the limit of TM-21: %s h on, %s h of calendar time", word, num(a.LimitH),
			num(limit)))
	}
	if a.Above {
		out = append(out, "hotter than the hottest test: extrapolated, no projection by TM-21")
	}
	if a.Below {
		out = append(out, "cooler than the coolest test, whose rate is used")
	}
	if a.BeyondCurrent {
		out = append(out, "the die current exceeds that of the tests: the light falls faster")
	}
	return out
}

// lampL80 writes the L80 of the light at the target.
func (y *yearsWriter) lampL80() {
	const key = "lamp.l80"
	hours := y.r.Sys.LampLife(&y.r.Sol, y.ageing, 0.8)
	if math.IsInf(hours, 1) {
		return
	}
	n := once(3600 * hours) // not smooth: no emitter counts below its coolest test
	y.row(key, "L80 of the light at the "+y.r.Lamp.TargetName()+", calendar time", quantity.Time, n, func() Basis {
		b := Basis{
			Formula: "Σ s_c min(1, B_c exp(−r_c t)) = 0.8", Numbers: "t = " + y.text(key, quantity.Time),
			Inputs: []Input{y.hoursOn()}, Method: ageingMethod,
			Valid: ageingValid + "; clean lenses and panes",
		}
		for i := range y.r.Lamp.Channels {
			if ch := &y.r.Lamp.Channels[i]; !ch.Off() {
				if of := ch.Name + ".l80"; y.values[of] > 0 {
					b.Inputs = append(b.Inputs, y.ref("L80 of "+ch.Name, of, quantity.Time))
				}
			}
		}
		return b
	})
}

// ppfd writes the PPFD at an age, with clean lenses and panes.
func (y *yearsWriter) ppfd(years float64) {
	key := fmt.Sprintf("target.ppfd-year-%.0f", years)
	factor := y.r.Sys.LumenMaintenance(&y.r.Sol, years*lamp.YearS)
	title := fmt.Sprintf("Mean PPFD after %.0f years, clean, %s", years, y.r.Lamp.TargetName())
	if years == 1 {
		title = "Mean PPFD after 1 year, clean, " + y.r.Lamp.TargetName()
	}
	y.row(key, title, quantity.PPFD, once(factor*y.r.Sol.Target.Mean), func() Basis {
		return Basis{
			Formula: "PPFD of the lamp with the light that its emitters have left",
			Numbers: fmt.Sprintf("%s · %s = %s", y.text("target.ppfd", quantity.PPFD), num(factor),
				y.text(key, quantity.PPFD)),
			Inputs: []Input{y.ref("when new", "target.ppfd", quantity.PPFD), y.hoursOn()},
			Method: ageingMethod + "; the lamp is solved again: lost light is heat",
			Valid:  ageingValid + "; no dirt",
		}
	})
}

// colours writes the colour at the end of the service life.
func (y *yearsWriter) colours() {
	const cct, steps = "lamp.cct-maintained", "lamp.colour-shift-maintained"
	r := y.r
	serviceYears, stated := r.Lamp.ServiceYears()
	aged := r.Sys.AgedSolution(&r.Sol, y.day, serviceYears*life.YearH, engine.Needs{
		Only: engine.Typical, Stages: engine.Emission | engine.Colour,
	})
	was, ok := r.Sol.Chromaticity()
	is, also := aged.Chromaticity()
	if !ok || !also {
		return
	}
	from := theDesign
	if !stated {
		from = "not stated, assumed"
	}
	period := Input{Name: "service life", Value: num(serviceYears) + " years", Source: from}
	basis := func(formula, numbers string) Basis {
		return Basis{
			Formula: formula, Numbers: numbers, Inputs: []Input{period, y.hoursOn()},
			Method: ageingMethod + "; the lamp is solved again",
			Valid:  ageingValid + "; spectra of the packages unchanged",
		}
	}
	if aged.Colour != nil {
		y.row(cct, "CCT at the end of the service life", quantity.CCT, once(aged.Colour.CCTK), func() Basis {
			return basis("CCT of the sum of the aged channels", y.text(cct, quantity.CCT))
		})
	}
	y.row(steps, "Colour shift by ageing over the service life (SDCM)", quantity.None, once(colour.Steps(was, is)),
		func() Basis {
			b := basis(stepsFormula, fmt.Sprintf("x = %.4f, y = %.4f when new; x = %.4f, y = %.4f → %s SDCM", was.X,
				was.Y, is.X, is.Y, num(y.values[steps])))
			b.Method += "; CIETN001-2014, §4"
			return b
		})
}
