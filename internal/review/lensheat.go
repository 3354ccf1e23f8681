package review

import (
	"math"
	"slices"

	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/sink"
)

// Limits of lenses; rules of thumb (no source).
const (
	warmBoardK = 273.15 + 75 // above it the material of a lens matters
	lensClearM = 0.2e-3      // between lens and dome
)

// lensOf is a lens with the channels that it is used in.
type lensOf struct {
	part     *project.Lens
	channels []string
	types    []int // of emitters beneath it
}

// lensesUsed lists the lenses of the lamp, each once.
func (v *reviewer) lensesUsed() (out []*lensOf) {
	for i := range v.l.Emitters {
		e := &v.l.Emitters[i]
		part := v.l.Optics[e.Optic].Lens
		if part == nil {
			continue
		}
		k := slices.IndexFunc(out, func(x *lensOf) bool { return x.part == part })
		if k < 0 {
			k, out = len(out), append(out, &lensOf{part: part})
		}
		if name := v.l.Channels[e.Channel].Name; !slices.Contains(out[k].channels, name) {
			out[k].channels = append(out[k].channels, name)
		}
		if !slices.Contains(out[k].types, e.Type) {
			out[k].types = append(out[k].types, e.Type)
		}
	}
	return out
}

// lensTemperature compares each lens with the maximum of its datasheet, else with what its material withstands.
func (v *reviewer) lensTemperature() (out []Judgement) {
	unknown := missing{kind: "lens"}
	for _, lens := range v.lensesUsed() {
		material, known := lamp.LensMaterial(lens.part)
		limitK, fail := lens.part.MaxTemperature.SI, finding.Stop
		if !lens.part.MaxTemperature.Set {
			limitK, fail = material.ServiceK, finding.Warn
		}
		worst := ""
		for _, c := range lens.channels {
			if key := c + ".lens-max-ambient"; worst == "" || v.r.Value(key) > v.r.Value(worst) {
				worst = key
			}
		}
		if limitK == 0 && !known {
			if v.hottestSolder(lens.channels) > warmBoardK {
				unknown.add(lens.part.ID.S, lens.part.ID.S, lens.part.ID.At)
			}
			continue
		}
		out = append(out, v.lensJudgement(lens, worst, limitK, fail))
	}
	return append(out, unknown.judgements("Material and maximum temperature",
		"The board beneath is hotter than 75 °C: acrylic softens from about 80 °C and sinks onto the dome.",
		"Ask the manufacturer; add `material` and `max_temperature`")...)
}

// hottestSolder returns the hottest solder point of some channels at maximum ambient [K].
func (v *reviewer) hottestSolder(channels []string) (kelvin float64) {
	for _, c := range channels {
		kelvin = math.Max(kelvin, v.r.Value(c+".solder-max-ambient"))
	}
	return kelvin
}

func (v *reviewer) lensJudgement(lens *lensOf, key string, limitK float64, fail finding.Severity) Judgement {
	assumed := fail == finding.Warn
	j := v.temperature(key, limitK)
	j.P90 = math.Max(j.P90, j.Value) + figure.LensModelErrorK
	j.Subject, j.At = Subject{"lens", []string{lens.part.ID.S}}, lens.part.ID.At
	j.text = func(v *reviewer, j *Judgement) Text {
		limit, why := "maximum temperature", "A lens that softens sinks onto the dome and breaks bond wires."
		if assumed {
			limit = "assumed limit of " + string(lens.part.Material.S)
			why += " Maximum temperature not stated, assumed from the material."
		}
		t := Text{
			Title: j.title(claim{
				quantity: "Lens temperature", when: "at maximum ambient", limit: limit, of: lens.part.ID.S,
				end: "with the error of the model",
			}),
			Why: why,
		}
		if j.Severity <= finding.Warn {
			t.fixf("Use a lens rated ≥ %s", quantity.Format(math.Ceil(j.P90-273.15)+273.15, quantity.Temperature))
			t.fixf("Lower the board by ≥ %s: larger heat sink, fan or lower currents",
				quantity.Format(math.Ceil(j.P90-j.Limit),
					quantity.TemperatureDifference))
		}
		return t
	}
	j = compare(fail, j)
	if assumed && j.Severity == finding.Pass {
		j.Severity = finding.Note // a default is no pass
	}
	return j
}

// lensMaterial compares the shortest peak under each lens with what its material withstands for years, and says how to
// clean the lenses.
func (v *reviewer) lensMaterial() (out []Judgement) {
	used := v.lensesUsed()
	for _, lens := range used {
		m, known := lamp.LensMaterial(lens.part)
		if !known || m.MinPeakNM == 0 {
			continue
		}
		shortest := math.Inf(1)
		for _, k := range lens.types {
			shortest = math.Min(shortest, v.l.Types[k].ShortestPeakNM())
		}
		if !math.IsInf(shortest, 0) {
			out = append(out, compare(finding.Warn, Judgement{
				Subject: Subject{"lens", []string{lens.part.ID.S}}, At: lens.part.Material.At, Bound: AtLeast,
				Dim: quantity.Wavelength, Value: shortest, P90: shortest, Limit: m.MinPeakNM, text: yellowingText(lens.part.ID.S, m),
			}))
		}
	}
	if len(used) > 0 {
		out = append(out, v.lensCare(used))
	}
	return out
}

func yellowingText(id string, m sink.LensMaterial) func(*reviewer, *Judgement) Text {
	return func(_ *reviewer, j *Judgement) Text {
		t := Text{
			Title: j.title(claim{quantity: "Shortest peak under a lens", limit: "limit of " + m.Name, of: id}),
			Why:   m.Name + " yellows or absorbs below it (handbook value, cited from memory).",
		}
		if j.Severity != finding.Pass {
			better := "PMMA or silicone"
			if j.Value < 420 {
				better = "silicone or glass"
			}
			t.fixf("Use a lens of %s for a peak of %s", better, quantity.Format(j.Value, quantity.Wavelength))
		}
		return t
	}
}

// lensCare says what cracks the lenses, and what room they need over the dome.
func (v *reviewer) lensCare(used []*lensOf) Judgement {
	return Judgement{
		Severity: finding.Note, Subject: Subject{Kind: "lenses"}, At: used[0].part.ID.At,
		text: func(v *reviewer, _ *Judgement) Text {
			t := Text{
				Title: "Clean lenses with water and mild soap only; no alcohol, no solvent",
				Why: "Alcohol cracks moulded acrylic within minutes; the vapour of cyanoacrylate leaves a white " +
					"film.",
			}
			var said []string
			for _, lens := range used {
				m, known := lamp.LensMaterial(lens.part)
				if !known || slices.Contains(said, m.Name) {
					continue
				}
				said = append(said, m.Name)
				if m.Attack != "" {
					t.fixf("%s: %s", capital(m.Name), m.Attack)
				}
				if rise := v.hottestSolder(lens.channels) - 293.15; lens.part.Height.Set && rise > 0 {
					t.fixf("Leave ≥ %s between %s and the dome (0.2 mm and its expansion: rule of thumb, no source)",
						quantity.Format(lensClearM+sink.Growth(m.ExpansionPerK, lens.part.Height.SI, rise),
							quantity.Length),
						lens.part.ID.S)
				}
			}
			return t
		},
	}
}
