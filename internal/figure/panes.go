package figure

import (
	"fmt"
	"strings"

	"lampwright/internal/engine"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

// coverLoss is the key of the loss in a cover glass.
const coverLoss = "light.cover-loss"

// coverLoss writes the light that a cover glass takes, where there is one.
func (w *lightWriter) coverLoss() {
	n := fraction(func(x *engine.LightSolution) float64 { return x.Cover })
	if w.l.Design.Installation.Cover == nil {
		n = onceIf(nil)
	}
	w.row(coverLoss, "Loss in the cover glass", quantity.Ratio, n, func() Basis {
		c := w.l.Design.Installation.Cover
		return Basis{
			Formula: "∫ LID (1 − T(θ)) over the opening; T of the slab air|glass|air, times what deposits leave",
			Numbers: w.text(coverLoss, quantity.Ratio),
			Inputs:  append([]Input{given("thickness", c.Thickness, quantity.Length, theDesign)}, w.inputs...),
			Method:  "slab per polarisation (StokesG1862), absorption by path",
			Valid: "reflected or absorbed on the way down; drops scatter and are taken as a loss (rule of thumb, " +
				"no source)",
		}
	})
}

// glassParts writes what the panes contribute to the light at the target.
func (w *lightWriter) glassParts() {
	const via, ratio = "light.via-glass", "light.panes-ratio"
	tank := w.l.Design.Installation.Kind.S == project.Tank
	part := when(engine.Typical, engine.Emission, func(s *engine.Solution) (float64, bool) {
		return 1 - s.Light.Straight/s.Light.AtTarget, tank && s.Light.AtTarget > 0 && s.Light.Straight > 0
	})
	part.once = true // both parts are those of the nominal geometry
	w.row(via, "Light at the "+w.l.TargetName()+" by way of the glass", quantity.Ratio, part, func() Basis {
		return w.basis("1 − straight from the lens / incident on "+w.l.TargetName(), w.text(via, quantity.Ratio),
			w.ref("incident", "light.incident-substrate", quantity.Ratio))
	})
	over := when(engine.Typical, engine.Emission, func(s *engine.Solution) (float64, bool) {
		return s.Light.AtTarget / s.Light.AllClean, s.Light.AllClean > 0
	})
	over.once = true
	w.row(ratio, "Light at the "+w.l.TargetName()+" over that with clean panes", quantity.Ratio, over, func() Basis {
		b := w.basis("incident on "+w.l.TargetName()+" / the same with clean panes and no cover glass",
			w.text(ratio, quantity.Ratio), w.ref("incident", "light.incident-substrate", quantity.Ratio))
		b.Inputs = append(b.Inputs, Input{
			Name: "panes", Value: strings.Join(append(w.l.CoveredPanes(), "others clean"), ", "), Source: theDesign,
		})
		b.Method += "; backings by Saunderson1942 and radiosity (WallaceCohenGreenberg1987)"
		b.Valid += "; contact of paint or film complete: with air bubbles the value is between paint and paper"
		return b
	})
}

// maintenance writes the light at the end of the service life, before cleaning.
func (w *lightWriter) maintenance(s *engine.System) {
	l := w.l
	years, stated := l.ServiceYears()
	ageS := years * lamp.YearS
	m := s.MaintenanceAt(w.sol, ageS)
	from := theDesign
	if !stated {
		from = "not stated, assumed"
	}
	life := Input{Name: "service life", Value: num(years) + " years", Source: from}
	on := Input{Name: "time on", Value: num(l.DailyHours()*ageS/86400) + " h", Source: "day programme, or 10 h a day"}
	for _, f := range []struct {
		key, title, formula string
		value               float64
	}{
		{
			"light.lumen-maintenance", "Lumen maintenance of the emitters (f_LF)",
			"as stated, or PPFD of the aged lamp / PPFD when new", m.Lumen,
		},
		{
			"light.luminaire-maintenance", "Light left by dirt on lenses and cover (f_LM)",
			"as stated, or by the interval of cleaning", m.Luminaire,
		},
		{
			"light.surface-maintenance", "Light left by film on panes and water (f_SM)",
			"as stated, or 95 %, 85 %, 70 % for cleaning weekly, monthly, rarely", m.Surface,
		},
	} {
		w.row(f.key, f.title, quantity.Ratio, free(f.value), func() Basis {
			return Basis{
				Formula: f.formula, Numbers: w.text(f.key, quantity.Ratio), Inputs: []Input{life, on},
				Method: "CIE97, cited from memory; emitters by TM21 and Miner1945 at their solder points; what is " +
					"not stated by rules of thumb (no source)",
				Valid: "gradual decrease; failures of emitters are not included",
			}
		})
	}
	w.maintained(s, m, life)
}

// maintained writes the maintenance factor and the PPFD that it leaves.
func (w *lightWriter) maintained(s *engine.System, m lamp.Maintenance, life Input) {
	const factor, ppfd = "light.maintenance-factor", "target.ppfd-maintained"
	w.row(factor, "Maintenance factor (MF)", quantity.Ratio, free(m.Factor()), func() Basis {
		return Basis{
			Formula: "MF = f_LF f_LM f_SM",
			Numbers: fmt.Sprintf("%s · %s · %s = %s", num(m.Lumen), num(m.Luminaire), num(m.Surface),
				w.text(factor, quantity.Ratio)),
			Inputs: []Input{
				w.ref("f_LF", "light.lumen-maintenance", quantity.Ratio),
				w.ref("f_LM", "light.luminaire-maintenance", quantity.Ratio),
				w.ref("f_SM", "light.surface-maintenance", quantity.Ratio), life,
			},
			Method: "CIE97, cited from memory", Valid: "before cleaning, at the end of the service life",
		}
	})
	n := meanPPFD("target")
	mean := n.value
	years, _ := w.l.ServiceYears()
	n.value = func(sol *engine.Solution) (float64, bool) {
		v, ok := mean(sol)
		return v * s.MaintenanceAt(sol, years*lamp.YearS).Factor(), ok
	}
	w.row(ppfd, "Mean PPFD at the end of the service life, "+w.l.TargetName(), quantity.PPFD, n, func() Basis {
		return Basis{
			Formula: "E_m = E · MF",
			Numbers: fmt.Sprintf("%s · %s = %s", w.text("target.ppfd", quantity.PPFD), w.text(factor, quantity.Ratio),
				w.text(ppfd, quantity.PPFD)),
			Inputs: []Input{
				w.ref("E", "target.ppfd", quantity.PPFD), w.ref("MF", factor, quantity.Ratio), life,
			},
			Method: "definition of the maintained light", Valid: "before cleaning, at the end of the service life",
		}
	})
}
