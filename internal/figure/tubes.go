package figure

import (
	"fmt"
	"math"

	"lampwright/internal/colour"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

// tubeMethod is the method of the light of tubes.
const tubeMethod = "each tube is a row of points with I ∝ sin γ of a diffuse cylinder (derived; ∫ sin γ dΩ = π²) in " +
	"the same tank model as the emitters; "

// tubeValid is where that holds.
const tubeValid = "horizontal tubes along the installation, farther than two diameters from the plane; a flat " +
	"reflector close above them: a curved one narrows the light across; no light of tubes on each other; rated " +
	"temperature of the tube, ballast lumen factor 1"

// tubes writes the light of the tubes in the installation.
func (w *replacedWriter) tubes() {
	if w.tube == nil {
		return
	}
	w.outputRatio()
	w.tubePPFD()
	w.agedPPFD()
	ppfd := w.ref("E_new", "replaced.ppfd-new", quantity.PPFD)
	if s := w.tube.Surface; s != nil {
		const key = "replaced.ppfd-surface"
		w.row(key, "Mean PPFD of "+w.name+", "+w.l.SurfaceName(), quantity.PPFD, w.spread(w.light.Kept*s.Mean),
			func() Basis {
				return w.tubeBasis("E = lumen maintenance · mean over cells", w.text(key, quantity.PPFD),
					w.ref("lumen maintenance", "replaced.lumen-maintenance", quantity.Ratio))
			})
	}
	w.row("replaced.uniformity", "Uniformity (min/mean) of "+w.name+", "+w.l.TargetName(), quantity.Ratio,
		onceFree(w.tube.Target.MinOverMean, w.tube.Target.Mean > 0), func() Basis {
			return w.tubeBasis("U₀ = E_min / E_mean (EN 12464-1)", w.text("replaced.uniformity", quantity.Ratio), ppfd)
		})
	w.row("replaced.spill", "Spill light of "+w.name, quantity.Ratio, free(w.tube.Spill), func() Basis {
		return w.tubeBasis("1 − ∫ LID over "+w.l.OpeningName(), w.text("replaced.spill", quantity.Ratio),
			w.ref("LOR", "replaced.output-ratio", quantity.Ratio))
	})
	w.quotient(quotient{
		"replaced.ppfd-ratio", "PPFD relative to " + w.name, "target.ppfd", "replaced.ppfd", quantity.PPFD,
		quantity.PPFD, quantity.None, tubeValid,
	})
}

// onceFree is free for a value that may not exist.
func onceFree(v float64, ok bool) numbers {
	n := onceIf(&v)
	if !ok {
		n = onceIf(nil)
	}
	n.of = ""
	return n
}

// spread returns the numbers of light in proportion to the light output ratio, with the ends of the reflector's.
func (w *replacedWriter) spread(v float64) numbers {
	r := &w.tube.Row.Reflector
	lo, hi := r.OutputRatio(r.ReturnedLo), r.OutputRatio(r.ReturnedHi)
	return between(v, v*lo/w.tube.OutputRatio, v*hi/w.tube.OutputRatio)
}

func (w *replacedWriter) tubeBasis(formula, numbers string, in ...Input) Basis {
	t := w.use.Tubes
	at, from := t.Height.At, theDesign
	if !t.Height.Set {
		at, from = t.Length.At, "assumed: hanging_height"
	}
	in = append(in, given("length", t.Length, quantity.Length, theDesign), Input{
		Name: "height", Value: quantity.Format(t.HeightM(&w.design.Installation), quantity.Length), Source: from,
		At: at,
	})
	points := fmt.Sprintf("%d tubes, each as %d points", w.count, w.tube.Row.Points)
	return Basis{
		Formula: formula, Numbers: numbers, Inputs: in, Method: tubeMethod + lightMethod, Valid: tubeValid,
		Notes: append([]string{points}, w.tube.Notes...),
	}
}

func (w *replacedWriter) outputRatio() {
	const key = "replaced.output-ratio"
	w.row(key, "Light output ratio (LOR) of "+w.name, quantity.Ratio, w.spread(w.tube.OutputRatio), func() Basis {
		r := &w.tube.Row.Reflector
		if r.Kind == project.NoReflector {
			return Basis{
				Formula: "1", Numbers: w.text(key, quantity.Ratio), Method: "definition",
				Valid: "bare tubes: one half of their light leaves upwards, as spill",
			}
		}
		input := func(name string, v float64, set bool) Input {
			from := "assumed; rule of thumb (no source)"
			if set {
				from = theDesign
			}
			return Input{
				Name: name, Value: quantity.Format(v, quantity.Ratio), Source: from, At: w.use.Tubes.Reflector.At,
			}
		}
		return Basis{
			Formula: "LOR = (1 + ρ (1 − s)) / 2",
			Numbers: fmt.Sprintf("(1 + %s (1 − %s)) / 2 = %s", num(r.Reflectance), num(r.Restrike),
				w.text(key, quantity.Ratio)),
			Inputs: []Input{
				input("reflectance ρ", r.Reflectance, w.use.Tubes.Reflectance.Set),
				input("restrike s", r.Restrike, w.use.Tubes.Restrike.Set),
			},
			Method: "the upper half of the light meets the reflector (derived)",
			Valid:  string(r.Kind) + " reflector, clean; losses of end caps and covers are not counted",
		}
	})
}

func (w *replacedWriter) tubePPFD() {
	const key = "replaced.ppfd-new"
	title := "Mean PPFD of " + w.name + " when new, " + w.l.TargetName()
	w.row(key, title, quantity.PPFD, w.spread(w.tube.Target.Mean), func() Basis {
		numbers := fmt.Sprintf("%s µmol/s · %s → %s", num(w.light.PPFNewUmolS),
			w.text("replaced.output-ratio", quantity.Ratio), w.text(key, quantity.PPFD))
		return w.tubeBasis("E = mean over cells of Σ_i PPF · LOR / n · G_i", numbers,
			w.ref("LOR", "replaced.output-ratio", quantity.Ratio))
	})
}

// agedPPFD writes the PPFD at the stated age, and over the life of a tube where it is stated.
func (w *replacedWriter) agedPPFD() {
	aged := func(key, title string, kept float64, of string) {
		w.row(key, title, quantity.PPFD, w.spread(kept*w.tube.Target.Mean), func() Basis {
			return Basis{
				Formula: "E = E_new · lumen maintenance",
				Numbers: fmt.Sprintf("%s · %s = %s", w.text("replaced.ppfd-new", quantity.PPFD),
					quantity.Format(kept, quantity.Ratio), w.text(key, quantity.PPFD)),
				Inputs: []Input{
					w.ref("E_new", "replaced.ppfd-new", quantity.PPFD),
					{Name: "lumen maintenance", Value: quantity.Format(kept, quantity.Ratio), Source: of},
				},
				Method: "Akashi2002 for triphosphor; CIE97 (cited from memory) and rules of thumb for other lamps",
				Valid:  "the luminous flux of all tubes at one age; dirt of reflector and tubes is not counted",
			}
		})
	}
	in := ", " + w.l.TargetName()
	hours := quantity.Format(w.use.OperatingTime.SI, quantity.Time)
	aged("replaced.ppfd", "Mean PPFD of "+w.name+in, w.light.Kept, "after "+hours+", replaced.lumen-maintenance")
	lifeH, ok := w.lifeH()
	if !ok {
		return
	}
	family := colour.Family(w.use.LampType.S)
	life := quantity.Format(3600*lifeH, quantity.Time)
	aged("replaced.ppfd-mean", "Mean PPFD of "+w.name+" over the life of a tube"+in,
		colour.MeanLumenMaintenance(family, lifeH), "mean over "+life)
	aged("replaced.ppfd-end", "Mean PPFD of "+w.name+" at replacement"+in,
		colour.LumenMaintenance(family, lifeH), "after "+life)
}

// lifeH returns after how many hours of operation a tube is replaced [h]; false where nothing states it.
func (w *replacedWriter) lifeH() (hours float64, ok bool) {
	hours = math.Inf(1)
	if v := w.use.RatedLife; v.Set {
		hours = v.SI / 3600
	}
	if v := w.use.ReplacementInterval; v.Set && w.onH > 0 {
		hours = math.Min(hours, v.SI/86400*w.onH)
	}
	return hours, !math.IsInf(hours, 1)
}

// daily writes the light of a day.
func (w *replacedWriter) daily() {
	if w.tube == nil || w.onH == 0 {
		return
	}
	const key = "replaced.dli"
	title := "Daily light integral (DLI) of " + w.name + ", " + w.l.TargetName()
	w.row(key, title, quantity.DLI, w.spread(w.light.Kept*w.tube.Target.Mean*w.onH*3600e-6), func() Basis {
		return Basis{
			Formula: "DLI = E t · 3600 s/h · 10⁻⁶",
			Numbers: fmt.Sprintf("%s · %s h · 3600 · 10⁻⁶ = %s", w.text("replaced.ppfd", quantity.PPFD), num(w.onH),
				w.text(key, quantity.DLI)),
			Inputs: []Input{w.ref("E", "replaced.ppfd", quantity.PPFD), w.hoursInput()},
			Method: "definition of the daily light integral", Valid: "full light while on; no run-up time",
		}
	})
	w.quotient(quotient{
		"replaced.dli-ratio", "DLI relative to " + w.name, "target.dli", key, quantity.DLI, quantity.DLI, quantity.None,
		"one day of each",
	})
}

func (w *replacedWriter) hoursInput() Input {
	in := Input{Name: "t", Value: num(w.onH) + " h", Source: theDesign, At: w.use.Photoperiod.At}
	if !w.use.Photoperiod.Set {
		in.Source, in.Figure = "computed", "programme.photoperiod"
	}
	return in
}
