package review

import (
	"fmt"
	"math"
	"strings"

	"lampwright/internal/curve"
	"lampwright/internal/finding"
	"lampwright/internal/lamp"
	"lampwright/internal/plausible"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// typedCheck is the id of the check of typed values.
const typedCheck = "typed-values"

// CheckParts compares the typed values of all parts of a library with those that such parts can have, worst first. It
// needs no design and no figure.
func CheckParts(l *project.Library) []finding.Finding {
	var list []Judgement
	for _, e := range l.List() {
		list = append(list, typedJudgements(&e)...)
	}
	list = append(list, thousandsJudgements(l.Doubts)...)
	out := make([]finding.Finding, 0)
	for i := range list {
		list[i].check = typedCheck
		out = append(out, (*reviewer)(nil).finding(&list[i], list[i].margin()))
	}
	finding.Sort(out)
	return out
}

// typedValues compares the typed values of the parts of this lamp, and the sides that are easily exchanged, with those
// that are usual.
func (v *reviewer) typedValues() (out []Judgement) {
	used := map[[2]string]bool{}
	for _, k := range project.Kinds {
		for _, u := range k.Uses(v.d) {
			used[[2]string{k.Name, u.ID.S}] = true
		}
	}
	for _, e := range v.l.Project.Library.List() {
		if used[[2]string{e.Kind, e.ID}] {
			out = append(out, typedJudgements(&e)...)
		}
	}
	out = append(out, v.exchangedSides()...)
	out = append(out, thousandsJudgements(v.l.Project.Doubts)...)
	if len(out) > 0 {
		return out
	}
	return []Judgement{{
		Severity: finding.Pass, Subject: Subject{Kind: "parts"}, At: v.d.Name.At,
		text: func(*reviewer, *Judgement) Text {
			return Text{
				Title: "Typed part values are within their usual ranges",
				Why:   "Ranges are rules of thumb (no source); they find slips of typing, not small errors.",
			}
		},
	}}
}

// thousandsJudgements warns of values whose point may have been meant to part thousands.
func thousandsJudgements(doubts source.Problems) []Judgement {
	const listed = 5
	if len(doubts) == 0 {
		return nil
	}
	return []Judgement{{
		Severity: finding.Warn, Subject: Subject{Kind: "numbers"}, At: doubts[0].At,
		text: func(*reviewer, *Judgement) Text {
			t := Text{
				Title: "Decimal point: " + doubts[0].Msg,
				Why: "The decimal mark is a point. Where a point parts thousands, as in many languages, the value is " +
					"too small by a factor of 1000, and every figure wrong that depends on it.",
			}
			if n := len(doubts); n > 1 {
				t.Title = fmt.Sprintf("Decimal points: %d values, the first: %s", n, doubts[0].Msg)
			}
			for _, d := range doubts[:min(len(doubts), listed)] {
				t.fixf("%s (%s)", strings.ToUpper(d.Hint[:1])+d.Hint[1:], d.At)
			}
			if n := len(doubts) - listed; n > 0 {
				t.fixf("Check the other %d in the same way", n)
			}
			return t
		},
	}}
}

// doubt returns the judgement of a value that is outside its usual range.
func doubt(severity finding.Severity, d *plausible.Doubt, dim quantity.Dim, at source.Pos, e *project.Entry,
	text func(j *Judgement) Text,
) Judgement {
	j := Judgement{
		Severity: severity, Subject: Subject{e.Kind, []string{e.ID}}, At: at, Dim: dim, Value: d.Value, P90: d.Value,
		Bound: AtMost, Limit: d.Hi, text: func(_ *reviewer, j *Judgement) Text { return text(j) },
	}
	if d.Value < d.Lo {
		j.Bound, j.Limit = AtLeast, d.Lo
	}
	return j
}

// usualLimit names the limit of a doubt: "usual maximum of one white die".
func (j *Judgement) usualLimit(of string) string {
	if j.Bound == AtLeast {
		return "usual minimum" + of
	}
	return "usual maximum" + of
}

// typedJudgements looks at one part: its emitter as a whole, and each of its values alone.
func typedJudgements(e *project.Entry) (out []Judgement) {
	switch p := e.Part.(type) {
	case project.Emitter:
		out = typedEmitter(e, &p)
	case project.Lens:
		out = typedLens(e, &p)
	}
	for _, v := range project.TypedValues(e.Part) {
		d := plausible.Value(e.Kind, v.Key, v.Value.SI, v.Dim == quantity.Temperature)
		if d == nil {
			continue
		}
		out = append(out, doubt(finding.Warn, d, v.Dim, v.Value.At, e, func(j *Judgement) Text {
			t := Text{
				Title: j.title(claim{quantity: "`" + v.Key + "`", limit: j.usualLimit(""), of: e.ID}),
				Why: "Rule of thumb (no source). A slip of typing makes every figure wrong that depends on this " +
					"value.",
			}
			return slipFix(t, d, v.Dim)
		}))
	}
	return out
}

// slipFix adds what was probably meant.
func slipFix(t Text, d *plausible.Doubt, dim quantity.Dim) Text {
	switch d.Slip {
	case plausible.Thousand:
		t.fixf("Check the unit: did you mean %s?", quantity.Format(d.Meant, dim))
	case plausible.KelvinAsCelsius:
		t.fixf("Check the unit: did you mean %.5g K, which is %s?", d.Meant, quantity.Format(d.Meant, dim))
	case plausible.CelsiusAsKelvin:
		t.fixf("Check the unit: did you mean %s?", quantity.Format(d.Meant, dim))
	}
	t.fix("Check the value against the datasheet")
	return t
}

// ledOf returns an emitter at its test point; false where its spectrum is not readable.
func ledOf(p *project.Emitter) (plausible.LED, bool) {
	unit, err := lamp.UnitSpectrum(p)
	voltage, err2 := curve.New(p.ForwardVoltage.X, p.ForwardVoltage.Y)
	if err != nil || err2 != nil {
		return plausible.LED{}, false
	}
	const besideNM, oneColour = 35, 0.85
	peak := unit.PeakNM()
	e := plausible.LED{
		PeakNM: peak, Broad: unit.BandW(peak-besideNM, peak+besideNM) < oneColour, LmW: unit.LERlmW(),
		Dies: p.DieCount(), CurrentA: p.TestCurrent.SI, RadiantW: p.RadiantFlux.SI, InLumens: p.Flux.Set,
		TempcoVK: p.VoltageTempco.SI, JunctionK: p.TestJunction.SI,
	}
	switch p.Material.S {
	case project.InGaN:
		e.Material = plausible.InGaN
	case project.AlInGaP:
		e.Material = plausible.AlInGaP
	}
	e.VoltageV, _ = voltage.At(e.CurrentA)
	if p.Flux.Set && e.LmW > 0 {
		e.RadiantW = p.Flux.SI / e.LmW
	}
	return e, true
}

func typedEmitter(e *project.Entry, p *project.Emitter) (out []Judgement) {
	led, ok := ledOf(p)
	if !ok {
		return nil
	}
	if d := led.Voltage(); d != nil {
		out = append(out, voltageDoubt(e, p, &led, d))
	}
	// A wrong voltage makes the efficiency wrong; one that no part has is a stop in any case.
	if d := led.Efficiency(); d != nil && (len(out) == 0 || d.Grave && out[0].Severity != finding.Stop) {
		out = append(out, efficiencyDoubt(e, p, &led, d))
	}
	if d := led.Tempco(); d != nil && p.VoltageTempco.Set {
		out = append(out, tempcoDoubt(e, p, d))
	}
	out = append(out, resistanceDoubts(e, p)...)
	out = append(out, outsideTestPoint(e, p)...)
	if i := plausible.Steepens(p.ForwardVoltage.X, p.ForwardVoltage.Y); i > 0 {
		out = append(out, Judgement{
			Severity: finding.Warn, Subject: Subject{"emitter", []string{e.ID}}, At: p.ForwardVoltage.At,
			text: func(*reviewer, *Judgement) Text {
				x := p.ForwardVoltage.X
				return Text{
					Title: fmt.Sprintf("`forward_voltage` is steeper from %s to %s than below it (%s)",
						quantity.Format(x[i-1], quantity.Current), quantity.Format(x[i], quantity.Current), e.ID),
					Why: "The slope of a diode falls with current towards its series resistance.",
					Fix: []string{"Check the points against the graph"},
				}
			},
		})
	}
	return out
}

// aDie names one die of a class: "one white die".
func aDie(led *plausible.LED) string {
	if class := led.Class(); class != "" {
		return " of one " + class + " die"
	}
	return " of one die"
}

func voltageDoubt(e *project.Entry, p *project.Emitter, led *plausible.LED, d *plausible.Doubt) Judgement {
	severity := finding.Warn
	if d.Grave {
		severity = finding.Stop
	}
	return doubt(severity, d, quantity.Voltage, p.ForwardVoltage.At, e, func(j *Judgement) Text {
		t := Text{
			Title: j.title(claim{quantity: "Forward voltage", limit: j.usualLimit(aDie(led)), of: e.ID}),
			Why: fmt.Sprintf("The energy of one photon of %.0f nm corresponds to %.2f V. Power, heat and driver "+
				"follow from this value.",
				led.PeakNM, plausible.PhotonV(led.PeakNM)),
		}
		if d.Slip == plausible.PackageValue {
			t.Why = fmt.Sprintf("It is that of %d usual dies in series: did you type the value of the package? "+
				"Power, heat "+
				"and driver follow from it.", d.Times)
			t.fixf("State `forward_voltage` of one die: divide it by %d, to %s at the test current", d.Times,
				quantity.Format(d.Meant, quantity.Voltage))
			if led.Dies < d.Times {
				t.fixf("Set `dies: %d` besides, if the package has them", d.Times)
			}
		}
		return slipFix(t, d, quantity.Voltage)
	})
}

func efficiencyDoubt(e *project.Entry, p *project.Emitter, led *plausible.LED, d *plausible.Doubt) Judgement {
	severity := finding.Warn
	if d.Grave {
		severity = finding.Stop
	}
	at := p.Flux.At
	if !p.Flux.Set {
		at = p.RadiantFlux.At
	}
	return doubt(severity, d, quantity.Ratio, at, e, func(j *Judgement) Text {
		t := Text{
			Title: j.title(claim{
				quantity: "Radiant efficiency", when: "at the test current", limit: j.usualLimit(aDie(led)), of: e.ID,
			}),
			Why: fmt.Sprintf("It is flux ÷ %.3g lm/W ÷ (dies × current × voltage). Light and heat follow from it.",
				led.LmW),
		}
		lumens, watts := quantity.Flux, quantity.Power
		typed := watts
		if led.InLumens {
			typed = lumens
		}
		switch d.Slip {
		case plausible.LumensForMW:
			t.fixf("Check the unit: did you mean `radiant_flux: %s`?", quantity.Format(d.Meant, watts))
		case plausible.WattsForLumens:
			t.fixf("Check the unit: did you mean `flux: %s`?", quantity.Format(d.Meant, lumens))
		case plausible.DiesNotStated:
			t.fixf("Set `dies: %d`, if the package has them: the efficiency is then %s", d.Times,
				quantity.Format(d.Value*float64(led.Dies)/float64(d.Times), quantity.Ratio))
		}
		return slipFix(t, d, typed)
	})
}

func tempcoDoubt(e *project.Entry, p *project.Emitter, d *plausible.Doubt) Judgement {
	severity := finding.Warn
	if d.Value > d.Hi {
		severity = finding.Note // it changes a string by little
	}
	return doubt(severity, d, quantity.VoltagePerKelvin, p.VoltageTempco.At, e, func(j *Judgement) Text {
		t := Text{
			Title: j.title(claim{
				quantity: "Temperature coefficient of V_F", limit: j.usualLimit(" of one die"),
				of: e.ID,
			}),
			Why: "Cold string voltage, and so driver and supply, follow from it (rule of thumb, no source).",
		}
		if d.Slip == plausible.PackageValue {
			t.fixf("State `forward_voltage_tempco` of one die: divide it by %d, to %s", d.Times,
				quantity.Format(d.Meant, quantity.VoltagePerKelvin))
		}
		return slipFix(t, d, quantity.VoltagePerKelvin)
	})
}

// resistanceDoubts compares the thermal resistance with packages of this size, and its product with the thermal pad.
func resistanceDoubts(e *project.Entry, p *project.Emitter) (out []Judgement) {
	if !p.Rth.Set {
		return nil
	}
	length, width := p.Body.Length.SI, p.Body.Width.SI
	const why = "Junction temperatures follow from it (rule of thumb, no source)."
	if d := plausible.Resistance(p.Rth.SI, length, width); d != nil {
		return []Judgement{doubt(finding.Warn, d, quantity.ThermalResistance, p.Rth.At, e, func(j *Judgement) Text {
			t := Text{
				Title: j.title(claim{
					quantity: "Thermal resistance", limit: j.usualLimit(fmt.Sprintf(" of packages of %.2g × %.2g mm",
						1e3*length,
						1e3*width)), of: e.ID,
				}),
				Why: why,
			}
			t.fix("Check whether it is that of the package, junction to solder point: not of one die, and not with " +
				"the board")
			return t
		})}
	}
	pad := p.ThermalPad.Length.SI * p.ThermalPad.Width.SI
	if d := plausible.ResistanceOfPad(p.Rth.SI, pad, length, width); d != nil && pad > 0 {
		out = append(out, doubt(finding.Warn, d, quantity.SpecificThermalResistance, p.Rth.At, e,
			func(j *Judgement) Text {
				t := Text{
					Title: j.title(claim{
						quantity: "Thermal resistance × thermal pad", limit: j.usualLimit(" of packages"), of: e.ID,
					}),
					Why: why,
				}
				t.fix("Check `thermal_resistance`: per package, junction to solder point")
				t.fix("Check `thermal_pad`: length and width of the pad under the dies")
				return t
			}))
	}
	return out
}

// outsideTestPoint asks for curves that contain the test current.
func outsideTestPoint(e *project.Entry, p *project.Emitter) []Judgement {
	var names []string
	var first source.Curve
	for _, c := range []struct {
		name string
		of   source.Curve
	}{{"`forward_voltage`", p.ForwardVoltage}, {"`flux_vs_current`", p.FluxVsCurrent}} {
		slack := bitError * p.TestCurrent.SI
		if n := len(c.of.X); n == 0 || p.TestCurrent.SI >= c.of.X[0]-slack && p.TestCurrent.SI <= c.of.X[n-1]+slack {
			continue
		}
		if names = append(names, c.name); len(names) == 1 {
			first = c.of
		}
	}
	if len(names) == 0 {
		return nil
	}
	return []Judgement{{
		Severity: finding.Ask, Subject: Subject{"emitter", []string{e.ID}}, At: first.At, Bound: Range,
		Dim: quantity.Current, Value: p.TestCurrent.SI, P90: p.TestCurrent.SI, P10: p.TestCurrent.SI,
		Limit: first.X[0], Upper: first.X[len(first.X)-1],
		text: func(_ *reviewer, j *Judgement) Text {
			t := Text{
				Title: fmt.Sprintf("Test current %s is outside the data of %s, %s (%s)", format(j.Value, j.Dim),
					list(names),
					j.limitText(), e.ID),
				Why: "Flux and voltage of the datasheet hold at the test current.",
			}
			t.fixf("Check `test_current`, or add the point to %s", list(names))
			return t
		},
	}}
}

func typedLens(e *project.Entry, p *project.Lens) []Judgement {
	// Two faces of index 1.49 reflect 4 % each (Fresnel); a part that is bonded to the package has one of them less.
	const clearest = 0.96
	if !p.Efficiency.Set || p.Efficiency.SI <= clearest*(1+bitError) {
		return nil
	}
	d := &plausible.Doubt{Value: p.Efficiency.SI, Hi: clearest, Lo: math.Inf(-1)}
	return []Judgement{doubt(finding.Warn, d, quantity.Ratio, p.Efficiency.At, e, func(j *Judgement) Text {
		t := Text{
			Title: j.title(claim{quantity: "Lens efficiency", limit: j.usualLimit(" of a lens"), of: e.ID}),
			Why:   "The two faces of a clear lens reflect 8 %; usual are 70 % to 95 % (rule of thumb, no source).",
		}
		t.fix("Check whether it is the lens alone: a lens bonded with silicone may reach it")
		return t
	})}
}

// exchangedSides notes sizes whose sides are often exchanged.
func (v *reviewer) exchangedSides() (out []Judgement) {
	add := func(subject Subject, at source.Pos, why, fix, format string, args ...any) {
		out = append(out, Judgement{
			Severity: finding.Note, Subject: subject, At: at,
			text: func(*reviewer, *Judgement) Text {
				return Text{Title: fmt.Sprintf(format, args...), Why: why, Fix: []string{fix}}
			},
		})
	}
	if in := v.d.Installation.Inside; v.d.Installation.Kind.S == project.Tank && in.Width.SI > in.Length.SI {
		add(Subject{Kind: "tank"}, in.Width.At, "Length is along x, width front to back.",
			"Exchange them if they were typed in the other order", "Tank width %s exceeds its length %s",
			quantity.Format(in.Width.SI, quantity.Length), quantity.Format(in.Length.SI, quantity.Length))
	}
	if s := v.l.Sink; s.Fins != nil && s.Base.Width.SI > s.Base.Length.SI {
		add(Subject{"sink", []string{s.ID.S}}, s.Base.Width.At, "Fins run along the length of the base.",
			"Exchange length and width if the fins run along the longer side",
			"Fins run along the shorter side of the base, %s (%s)", quantity.Format(s.Base.Length.SI, quantity.Length),
			s.ID.S)
	}
	seen := map[[2]string]bool{}
	for i := range v.l.Emitters {
		lens, part := v.l.Optics[v.l.Emitters[i].Optic].Lens, v.l.Types[v.l.Emitters[i].Type].Part
		if lens == nil || seen[[2]string{lens.ID.S, part.ID.S}] {
			continue
		}
		seen[[2]string{lens.ID.S, part.ID.S}] = true
		const least = 1.5
		if body := math.Max(part.Body.Length.SI, part.Body.Width.SI); lens.Diameter.SI < least*body {
			add(Subject{"lens", []string{lens.ID.S}}, lens.Diameter.At,
				"A lens is usually wider than 1.5 × its package (rule of thumb, no source).",
				"Check `diameter` of the lens and `body` of the package",
				"Lens diameter %s is small for a package of %s (%s, %s)", quantity.Format(lens.Diameter.SI,
					quantity.Length),
				quantity.Format(body, quantity.Length), lens.ID.S, part.ID.S)
		}
	}
	return out
}
