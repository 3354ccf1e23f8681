package review

import (
	"fmt"
	"math"
	"slices"

	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// Rules of thumb for a cut-out (no source).
const (
	cutoutNearM = 15e-3 // from the hottest emitter
	arcV, arcA  = 24, 1 // direct current that contacts without a stated rating interrupt
)

const cutoutWhy = "Sensor, controller and fan can fail; an independent cut-out ends what foldback does not."

// cutout judges whether a thermal cut-out is needed, and whether the one of the design fits.
func (v *reviewer) cutout() []Judgement {
	f := v.r.Fault()
	use := v.d.Cutout
	if f == nil {
		return nil // fan-failure asks for the data
	}
	if use == nil {
		return v.cutoutNeeded(f)
	}
	out := []Judgement{v.cutoutOpens(f, use)}
	out = append(out, v.cutoutRating(use)...)
	return append(out, v.cutoutPlace(use)...)
}

// beyond lists the parts that exceed their limits after the worst single failure, with the surfaces that burn skin.
func (v *reviewer) beyond(f *figure.Fault) (names []string, wire bool) {
	for _, p := range f.Parts {
		if p.FaultK > p.LimitK {
			names = append(names, fmt.Sprintf("%s %s, limit %s", p.Name, quantity.Format(p.FaultK,
				quantity.Temperature),
				quantity.Format(p.LimitK, quantity.Temperature)))
			wire = wire || p.Wire
		}
	}
	if limit, _ := v.burnLimit(v.l.Sink.Emissivity.SI); f.BaseK > limit.LowK {
		names = append(names, fmt.Sprintf("heat sink %s, burn threshold %s", quantity.Format(f.BaseK,
			quantity.Temperature),
			quantity.Format(limit.LowK, quantity.Temperature)))
	}
	return names, wire
}

// cutoutNeeded looks at a lamp without a cut-out.
func (v *reviewer) cutoutNeeded(f *figure.Fault) []Judgement {
	names, wire := v.beyond(f)
	j := Judgement{
		Subject: Subject{Kind: "lamp"}, At: v.d.Sink.Part.At, Severity: finding.Pass,
		text: cutoutNeededText(f, names),
	}
	switch {
	case f.Runaway:
		j.Severity = finding.Warn
	case len(names) > 0:
		j.Severity = finding.Warn
		if wire {
			j.Severity = finding.Stop
		}
	case f.Silent:
		j.Severity = finding.Note // what is not stated is not compared
	}
	return []Judgement{j}
}

func cutoutNeededText(f *figure.Fault, names []string) func(*reviewer, *Judgement) Text {
	return func(v *reviewer, j *Judgement) Text {
		t := Text{Why: cutoutWhy + " Computed: fan failure, or full level, at maximum ambient without foldback."}
		if len(names) == 0 && !f.Runaway {
			t.Title = "No single failure exceeds a limit; a thermal cut-out is not needed for them"
			if f.Silent {
				t.Title = "No single failure exceeds a stated limit; some limits are not stated"
			}
			return t
		}
		t.Title = "No independent thermal cut-out; after one failure " + list(names)
		if f.Runaway {
			t.Title = "No independent thermal cut-out; after one failure the lamp has no steady state"
		}
		switch {
		case f.Runaway:
			t.fix("Add a cut-out in the mains or at the input of the drivers")
		case f.LoK > f.HiK:
			t.fixf("Lower the normal temperature by ≥ %s: no cut-out fits between normal and limit (%s)",
				quantity.Format(math.Ceil(f.LoK-f.HiK), quantity.TemperatureDifference), f.First)
		default:
			t.fixf("Add a cut-out that opens at %s to %s, clamped ≤ 15 mm from the hottest emitters",
				wholeCelsius(f.LoK, math.Ceil),
				wholeCelsius(f.HiK, math.Floor))
		}
		t.fix("Use a heat sink sized for natural convection")
		return t
	}
}

// wholeCelsius prints a temperature in whole degrees, rounded up or down.
func wholeCelsius(kelvin float64, round func(float64) float64) string {
	return fmt.Sprintf("%.0f °C", round(kelvin-273.15))
}

// cutoutOpens compares the opening temperature with its window, at the unfavourable ends of both temperatures.
func (v *reviewer) cutoutOpens(f *figure.Fault, use *project.CutoutUse) Judgement {
	j := Judgement{Subject: Subject{Kind: "cut-out"}, At: use.Opens.At, text: v.cutoutOpensText(f, use)}
	if f.Runaway {
		j.Severity = finding.Note
		return j
	}
	if f.LoK > f.HiK {
		j.Severity = finding.Warn
		return j
	}
	spread := func(key string) float64 {
		if _, ok := v.r.Figure(key); !ok {
			return 0
		}
		return math.Max(0, v.p90(key)-v.r.Value(key))
	}
	j.Bound, j.Dim, j.Value, j.Limit, j.Upper = Range, quantity.Temperature, use.Opens.SI, f.LoK, f.HiK
	j.P10 = use.Opens.SI - spread("sink.temperature-max-ambient")
	j.P90 = use.Opens.SI
	j = compare(finding.Warn, j)
	if j.Severity == finding.Pass && (!use.Tolerance.Set && use.Kind.S != project.CutoutLink || f.Silent) {
		j.Severity = finding.Note // a default is no pass
	}
	return j
}

func (v *reviewer) cutoutOpensText(f *figure.Fault, use *project.CutoutUse) func(*reviewer, *Judgement) Text {
	return func(_ *reviewer, j *Judgement) Text {
		t := Text{Why: "Below the window it trips on a hot day, above it a part fails first (" + f.First + ")."}
		if !use.Tolerance.Set && use.Kind.S != project.CutoutLink {
			t.Why += " Tolerance not stated, assumed ± 5 K."
		}
		lo, hi := wholeCelsius(f.LoK, math.Ceil), wholeCelsius(f.HiK, math.Floor)
		opens := quantity.Format(use.Opens.SI, quantity.Temperature)
		switch {
		case f.Runaway:
			t.Title, t.Why = "Cut-out opens at "+opens+"; after one failure the lamp has no steady state", cutoutWhy
			return t
		case f.LoK > f.HiK:
			t.Title = fmt.Sprintf("No cut-out fits: opens ≥ %s for normal operation, ≤ %s for %s", lo, hi, f.First)
			t.fixf("Lower the normal temperature by ≥ %s", quantity.Format(math.Ceil(f.LoK-f.HiK),
				quantity.TemperatureDifference))
			return t
		case j.Severity == finding.Warn:
			t.Title = fmt.Sprintf("Cut-out opens at %s; window %s to %s", opens, lo, hi)
			t.fixf("Use a cut-out of %s to %s", lo, hi)
		default:
			t.Title = fmt.Sprintf("Cut-out opens at %s, within its window %s to %s", opens, lo, hi)
		}
		return t
	}
}

// cutoutRating compares voltage and current at a cut-out in a direct-current feed with its ratings.
func (v *reviewer) cutoutRating(use *project.CutoutUse) (out []Judgement) {
	if use.Switches.S != project.CutsDriverInput {
		return nil
	}
	var volts, amps float64
	for i := range v.d.Supplies {
		volts = math.Max(volts, v.supplyOf(i).Voltage.Hi)
		amps += v.supplyA(i)
	}
	if len(v.d.Supplies) == 0 {
		return nil
	}
	if !use.RatedVoltageDC.Set || !use.RatedCurrentDC.Set {
		why := "An arc of direct current does not go out by itself; ratings for alternating current do not hold."
		title := "DC rating of the cut-out not stated; required " + quantity.Format(volts, quantity.Voltage) + ", " +
			quantity.Format(amps, quantity.Current)
		if volts <= arcV && amps <= arcA {
			why += " Up to 24 V and 1 A contacts interrupt it (rule of thumb, no source)."
		}
		return []Judgement{{
			Severity: finding.Ask, Subject: Subject{Kind: "cut-out"}, At: use.Switches.At,
			text: func(*reviewer, *Judgement) Text {
				return Text{Title: title, Why: why, Fix: []string{
					"Ask the manufacturer; add `rated_voltage_dc` and `rated_current_dc`", "Put the cut-out into the " +
						"mains feed",
				}}
			},
		}}
	}
	for _, r := range []struct {
		what  string
		rated source.Value
		value float64
		dim   quantity.Dim
	}{
		{"DC voltage at the cut-out", use.RatedVoltageDC, volts, quantity.Voltage},
		{"Direct current through the cut-out", use.RatedCurrentDC, amps, quantity.Current},
	} {
		out = append(out, compare(finding.Stop, Judgement{
			Subject: Subject{Kind: "cut-out"}, At: r.rated.At, Bound: AtMost, Dim: r.dim, Value: r.value, P90: r.value,
			Limit: r.rated.SI,
			text: func(_ *reviewer, j *Judgement) Text {
				t := Text{
					Title: j.title(claim{quantity: r.what, limit: "rating"}),
					Why:   "Its contacts do not interrupt more: an arc remains, and the lamp stays on.",
				}
				if j.Severity != finding.Pass {
					t.fixf("Use a cut-out rated ≥ %s DC", quantity.Format(j.Value, r.dim))
					t.fix("Put the cut-out into the mains feed")
				}
				return t
			},
		}))
	}
	return out
}

// cutoutPlace compares the distance of the cut-out from the hottest emitter with what is usual.
func (v *reviewer) cutoutPlace(use *project.CutoutUse) []Judgement {
	i := slices.IndexFunc(v.r.Cases, func(c figure.CaseView) bool { return c.Key == maxAmbientCase })
	if use.At.At == (source.Pos{}) || i < 0 {
		return nil
	}
	hot := 0
	for e, k := range v.r.Sol.Cases[maxAmbientCase].SolderK {
		if k > v.r.Sol.Cases[maxAmbientCase].SolderK[hot] {
			hot = e
		}
	}
	e := &v.l.Emitters[hot]
	d := math.Hypot(use.At.X.SI-e.XM, use.At.Y.SI-e.YM)
	return []Judgement{compare(finding.Warn, Judgement{
		Subject: Subject{Kind: "cut-out"}, At: use.At.At, Bound: AtMost, Dim: quantity.Length, Value: d, P90: d, Limit: cutoutNearM,
		text: func(_ *reviewer, j *Judgement) Text {
			t := Text{
				Title: j.title(claim{
					quantity: "Distance of the cut-out from the hottest emitter",
					limit:    "usual maximum", of: e.Label,
				}),
				Why: "Far from the heat it opens late (15 mm is a rule of thumb, no source).",
			}
			if j.Severity != finding.Pass {
				t.fix("Clamp it to the core ≤ 15 mm from the hottest emitters, out of the fan's air")
			}
			return t
		},
	})}
}
