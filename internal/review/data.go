package review

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"lampwright/internal/curve"
	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/point"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// assumedValue is what the review says of a kind of value that no file states. The kind is the start of its key.
type assumedValue struct {
	name string // "R_th definition"
	used string // in place of the number that is used
	fix  string
}

var assumedValues = map[string]assumedValue{
	"fall":  {"Flux loss 25 °C to 100 °C", "", "Ask the manufacturer; add `flux_vs_junction`"},
	"droop": {"Flux-current exponent", "", "Ask the manufacturer; add `flux_vs_current`"},
	"rth":   {"Thermal resistance R_th", "", "Ask the manufacturer; add `thermal_resistance`"},
	"rth-kind": {
		"R_th definition", "electrical",
		"Ask the manufacturer; add `thermal_resistance_kind` (real or electrical, JESD51-51)",
	},
	"voltage-slope": {
		"V_F temperature coefficient", "",
		"Ask the manufacturer; add `forward_voltage_tempco`",
	},
	"surface": {"Light-emitting surface", "", "Ask the manufacturer; add `light_emitting_surface`"},
	"lens":    {"Lens efficiency", "", "Ask the manufacturer; add `efficiency`"},
	"driver":  {"Driver efficiency", "", "Ask the manufacturer; add `efficiency` or `efficiency_vs_load`"},
	"driver-no-load": {
		"No-load power of drivers", "",
		"Ask the manufacturer; add `no_load_power` (input power at the lowest level, without output power)",
	},
	"supply-no-load": {
		"No-load power of power supplies", "",
		"Ask the manufacturer; add `standby_power` (input power without load)",
	},
	"supply":      {"Supply efficiency", "", "Ask the manufacturer; add `efficiency_vs_load`"},
	"ambient-min": {"Minimum ambient temperature", "", "Add `installation.ambient.min`"},
	"coverage":    {"Copper coverage", "", "Add `copper_coverage` to the board"},
	"lumen-maintenance": {
		"Time to 70 % of the light (L70)", "",
		"Ask the manufacturer for the LM-80 report; add `lumen_maintenance_tests`",
	},
	"fin-flow": {
		"Fin flow fraction", "",
		"Add `fin_flow_fraction` (100 % for a fan tight on the fins or in a duct)",
	},
}

// assumption is a value that was assumed, with its effect.
type assumption struct {
	figure.Assumption
	kind   string  // "rth-kind"
	of     string  // part or channel; empty where there is one only
	effect float64 // relative change of the figure that it moves most, over its typical range [1]
	seen   bool    // whether that change shows in print
}

// assumptions returns the assumed values with their effects.
func (v *reviewer) assumptions() []assumption {
	out := make([]assumption, len(v.r.Assumptions))
	for i, a := range v.r.Assumptions {
		x := assumption{Assumption: a, seen: true}
		x.kind, x.of, _ = strings.Cut(a.Key, ".")
		if _, named := assumedValues[x.kind]; !named {
			x.kind = a.Key
		}
		x.of = v.assumedOf(x.kind, x.of)
		if f, ok := v.r.Figure(a.Affects); ok && f.Withheld == "" {
			x.effect = v.relativeChange(f, a.AtLo, a.AtHi)
			x.seen = shows(a.AtLo, a.AtHi, f.Dim)
		}
		out[i] = x
	}
	slices.SortStableFunc(out, func(a, b assumption) int { return cmp.Compare(b.effect, a.effect) })
	return out
}

// assumedOf returns the part that an assumed value is of; keys name drivers by their channel and supplies by their
// number.
func (v *reviewer) assumedOf(kind, of string) string {
	switch kind {
	case "driver", "driver-no-load":
		for i := range v.l.Channels {
			if c := &v.l.Channels[i]; c.Name == of {
				return c.Driver.ID.S
			}
		}
	case "supply", "supply-no-load":
		if n, err := strconv.Atoi(of); err == nil && n >= 1 && n <= len(v.d.Supplies) {
			return v.supplyOf(n - 1).ID.S
		}
	}
	return of
}

// shows reports whether two values differ by more than the last digit that is printed of them: by 0.1 % or 0.1 K.
func shows(a, b float64, dim quantity.Dim) bool {
	if dim == quantity.Temperature {
		return math.Abs(a-b) >= 0.1
	}
	return math.Abs(a-b) >= 1e-3*math.Max(math.Abs(a), math.Abs(b))
}

// relativeChange returns a change of a figure over the figure, or of a temperature over its rise above typical
// ambient [1].
func (v *reviewer) relativeChange(f figure.Figure, a, b float64) float64 {
	base := math.Abs(f.Value)
	if f.Dim == quantity.Temperature {
		base = math.Max(1, f.Value-v.d.Installation.Ambient.Typical.SI)
	}
	if base == 0 {
		return 0
	}
	return math.Abs(a-b) / base
}

// missingData asks for every value that had to be assumed: one finding for each kind, those with the largest effect
// first, and one for all kinds without visible effect.
func (v *reviewer) missingData() (out []Judgement) {
	var order []string
	kinds := map[string][]assumption{}
	for _, a := range v.assumptions() {
		if kinds[a.kind] == nil {
			order = append(order, a.kind)
		}
		kinds[a.kind] = append(kinds[a.kind], a)
	}
	var unseen []string
	for _, kind := range order {
		if !slices.ContainsFunc(kinds[kind], func(a assumption) bool { return a.seen }) {
			unseen = append(unseen, kind)
			continue
		}
		out = append(out, assumedJudgement(kinds[kind]))
	}
	switch len(unseen) {
	case 0:
		return out
	case 1:
		return append(out, assumedJudgement(kinds[unseen[0]]))
	}
	var all []assumption
	for _, kind := range unseen {
		all = append(all, kinds[kind]...)
	}
	return append(out, Judgement{
		Severity: finding.Ask, Subject: Subject{Kind: "datasheets"}, At: all[0].At, text: unseenText(all),
	})
}

// assumedJudgement asks for values of one kind; the first has the largest effect.
func assumedJudgement(all []assumption) Judgement {
	first := &all[0]
	subject := Subject{Kind: lowerFirst(nameOf(first))}
	if parts := partsOf(all); len(parts) > 0 {
		subject = Subject{subject.Kind + " of", []string{list(parts)}}
	}
	j := Judgement{
		Severity: finding.Ask, Subject: subject, Figure: first.Affects, At: first.At, Dim: first.Dim, Value: first.Used,
	}
	j.text = func(v *reviewer, _ *Judgement) Text { return assumptionText(v, all) }
	return j
}

// nameOf returns the name of the kind of an assumed value.
func nameOf(a *assumption) string {
	if k, ok := assumedValues[a.kind]; ok {
		return k.name
	}
	return capital(a.What)
}

// partsOf returns the parts or channels that assumed values are of, each once.
func partsOf(all []assumption) (names []string) {
	for _, a := range all {
		if a.of != "" && !slices.Contains(names, a.of) {
			names = append(names, a.of)
		}
	}
	return names
}

// assumptionText puts assumed values of one kind into words.
func assumptionText(v *reviewer, all []assumption) Text {
	first := &all[0]
	used := quantity.Format(first.Used, first.Dim)
	same := true
	for _, a := range all {
		same = same && quantity.Format(a.Used, a.Dim) == used
	}
	t := Text{Value: used}
	switch k := assumedValues[first.kind]; {
	case k.used != "":
		used = k.used
	case !same:
		used, t.Value = "typical values", ""
	}
	t.Title = fmt.Sprintf("%s not stated; %s assumed", nameOf(first), used)
	if parts := partsOf(all); len(parts) > 0 {
		t.Title += " (" + list(parts) + ")"
	}
	t.Why = v.effectText(first, len(all) > 1)
	if k, ok := assumedValues[first.kind]; ok {
		t.fix(k.fix)
	} else {
		t.fix(capital(first.Fix))
	}
	return t
}

// effectText states what the typical range of an assumed value does to the figure that it moves most.
func (v *reviewer) effectText(a *assumption, ofSeveral bool) string {
	f, ok := v.r.Figure(a.Affects)
	if !ok || f.Withheld != "" {
		return sentence(a.Why)
	}
	lo, hi := formatApart(a.AtLo, a.AtHi, f.Dim)
	span := fmt.Sprintf("Typical %s to %s", quantity.Format(a.Lo, a.Dim), quantity.Format(a.Hi, a.Dim))
	tag := " (rule of thumb, no source)"
	if a.kind == "rth-kind" { // the two definitions, and no range
		span = fmt.Sprintf("%s (electrical) to %s (real)", quantity.Format(a.Hi, a.Dim), quantity.Format(a.Lo, a.Dim))
		tag = ""
		if a.Lo < a.Hi {
			lo, hi = hi, lo
		}
	}
	if ofSeveral {
		span += " of " + a.of
	}
	if !a.seen {
		return fmt.Sprintf("%s does not change %s%s.", span, lowerFirst(f.Title), tag)
	}
	return fmt.Sprintf("%s changes %s from %s to %s%s.", span, lowerFirst(f.Title), lo, hi, tag)
}

// lowerFirst puts a title into a sentence; an abbreviation or symbol keeps its capital.
func lowerFirst(s string) string {
	if len(s) > 1 && s[1] >= 'a' && s[1] <= 'z' {
		return strings.ToLower(s[:1]) + s[1:]
	}
	return s
}

func unseenText(all []assumption) func(*reviewer, *Judgement) Text {
	return func(*reviewer, *Judgement) Text {
		var by groupBy[string]
		for i := range all {
			by.add(nameOf(&all[i]), all[i].of)
		}
		var names []string
		for _, k := range by.keys {
			name := lowerFirst(k)
			if of := strings.Trim(list(by.names[k]), " "); of != "" {
				name += " (" + of + ")"
			}
			names = append(names, name)
		}
		return Text{
			Title: fmt.Sprintf("%d values not stated, without visible effect on results: %s", len(all),
				strings.Join(names, ", ")),
			Why: "Over its typical range each changes the figure it affects most by less than 0.1 % or 0.1 K.",
			Fix: []string{"Add the values when they are known"},
		}
	}
}

// curveTolerance is how far a relative curve may be from 100 % at its reference point: the error of reading a graph;
// rule of thumb (no source).
const curveTolerance = 0.05

// referencePoint is a relative curve with the point at which it is 100 % by definition.
type referencePoint struct {
	key, test string
	curve     source.Curve
	at        source.Value
	dim       quantity.Dim
}

func referencePoints(part *project.Emitter) []referencePoint {
	return []referencePoint{
		{"flux_vs_current", "test current", part.FluxVsCurrent, part.TestCurrent, quantity.Current},
		{"flux_vs_junction", "test junction", part.FluxVsJunction, part.TestJunction, quantity.Temperature},
	}
}

// curveReference compares relative curves with 100 % at their reference point: a misread point shows there.
func (v *reviewer) curveReference() (out []Judgement) {
	for i := range v.l.Types {
		part := v.l.Types[i].Part
		for _, c := range referencePoints(part) {
			if !c.curve.Set || !c.at.Set || c.at.SI < c.curve.X[0] || c.at.SI > c.curve.X[len(c.curve.X)-1] {
				continue
			}
			y := curve.Held(c.curve.X, c.curve.Y, c.at.SI)
			if math.Abs(y-1) <= curveTolerance {
				continue
			}
			out = append(out, Judgement{
				Severity: finding.Warn, Subject: Subject{"emitter", []string{part.ID.S}}, At: c.curve.At,
				Bound: Range, Dim: quantity.Ratio, Value: y, P90: y, P10: y, Limit: 1 - curveTolerance, Upper: 1 + curveTolerance,
				group: [2]string{part.ID.S, c.key},
				text: func(_ *reviewer, j *Judgement) Text {
					t := Text{
						Limit: "100 %", Why: "All light of this package follows that curve.",
						Title: fmt.Sprintf("%s is %s at its %s %s; 100 %% expected (%s)",
							c.key, quantity.Format(j.Value, quantity.Ratio), c.test, quantity.Format(c.at.SI,
								c.dim), part.ID.S),
					}
					t.fixf("Check the points of `%s` against the graph", c.key)
					t.fixf("Check the %s that the graph is relative to", c.test)
					return t
				},
			})
		}
	}
	return out
}

// operatingPoint is where the emitters of one kind read a datasheet curve.
type operatingPoint struct {
	curve      string // "Forward-voltage"
	below      string // how it is extrapolated below its first point; empty where it is linearly
	dim        quantity.Dim
	value      float64 // furthest outside the data
	lo, hi     float64 // range of the data
	part       string
	channels   []string
	at         source.Pos
	beyondData float64
}

// extrapolations reports datasheet curves that are read outside their data, and the notes of the solvers.
func (v *reviewer) extrapolations() (out []Judgement) {
	for _, p := range v.extrapolated() {
		out = append(out, Judgement{
			Severity: finding.Warn, Subject: Subject{"channel", p.channels}, At: p.at, Bound: Range, Dim: p.dim,
			Value: p.value, P90: p.value, P10: p.value, Limit: p.lo, Upper: p.hi, text: extrapolatedText(p),
		})
	}
	return append(out, v.solverNotes()...)
}

func extrapolatedText(p *operatingPoint) func(*reviewer, *Judgement) Text {
	return func(*reviewer, *Judgement) Text {
		print := func(x float64) string { return quantity.Format(x, p.dim) }
		how, why := "linearly", "Outside the data the error is unknown."
		if p.below != "" && p.value < p.lo {
			how = fmt.Sprintf("below %s %s", print(p.lo), p.below)
			why = "At 1 % of the first point flux deviates by +20 % to −50 % (rule of thumb, no source)."
		}
		t := Text{
			Title: fmt.Sprintf("%s curve extrapolated %s to %s (data %s to %s; %s)", p.curve, how, print(p.value),
				print(p.lo), print(p.hi), p.part),
			Why: why,
		}
		if p.value > p.hi {
			t.fixf("Stay ≤ %s", print(p.hi))
		} else {
			t.fixf("Stay ≥ %s", print(p.lo))
		}
		t.fix("Get a curve of a wider range from the manufacturer")
		return t
	}
}

// extrapolated returns the curves that are read outside their data at typical ambient, each with the furthest point.
func (v *reviewer) extrapolated() (out []*operatingPoint) {
	for e := range v.r.Emitters {
		k := &v.l.Types[v.l.Emitters[e].Type]
		c := &v.l.Channels[v.l.Emitters[e].Channel]
		die, junctionK := v.r.Emitters[e].DieA, v.r.Cases[0].JunctionK[e]
		for _, p := range []struct {
			name, below string
			curve       curve.Curve
			at          float64
			dim         quantity.Dim
		}{
			{"Forward-voltage", point.DiodeLawBelow, k.Model.VoltageV, die, quantity.Current},
			{"Flux-current", point.ProportionalBelow, k.Model.OverCurrent, die, quantity.Current},
			{"Flux-temperature", "", k.Model.OverTempK, junctionK, quantity.Temperature},
		} {
			if p.curve.Empty() || c.Off() {
				continue
			}
			lo, hi := p.curve.Range()
			beyond := math.Max(lo-p.at, p.at-hi)
			if beyond <= bitError*math.Abs(hi) {
				continue
			}
			out = addFurthest(out, &operatingPoint{
				p.name, p.below, p.dim, p.at, lo, hi, k.Part.ID.S, []string{c.Name}, currentAt(c), beyond,
			})
		}
	}
	return out
}

// addFurthest adds an operating point, or joins it with that of the same part and curve: the furthest outside the
// data counts.
func addFurthest(all []*operatingPoint, p *operatingPoint) []*operatingPoint {
	for _, have := range all {
		if have.part != p.part || have.curve != p.curve {
			continue
		}
		if !slices.Contains(have.channels, p.channels[0]) {
			have.channels = append(have.channels, p.channels[0])
		}
		if p.beyondData > have.beyondData {
			have.value, have.beyondData = p.value, p.beyondData
		}
		return all
	}
	return append(all, p)
}

// solverNotes passes on what methods say about their range. Notes that differ in their numbers only are one finding.
func (v *reviewer) solverNotes() (out []Judgement) {
	const why = "A method contains only in the range in which it was measured."
	type noted struct {
		severity   finding.Severity
		kind       string
		title      string
		at         source.Pos
		withoutNum string
	}
	var by groupBy[string]
	first := map[string]noted{}
	add := func(n noted, who string) {
		if by.add(n.withoutNum, who); first[n.withoutNum].title == "" {
			first[n.withoutNum] = n
		}
	}
	for e := range v.r.Emitters {
		c := &v.l.Channels[v.l.Emitters[e].Channel]
		for _, n := range v.r.Emitters[e].Notes {
			if strings.Contains(n, "extrapolated") || strings.Contains(n, "carried on straight") {
				continue // extrapolated has its numbers
			}
			add(noted{finding.Warn, "channel", n, currentAt(c), "emitter " + withoutDigits(n)}, c.Name)
		}
	}
	for i := range v.r.Cases {
		c := &v.r.Cases[i]
		for _, n := range c.Notes {
			if strings.Contains(n, "lower bound only") && v.boundedCooling(c.Key) {
				continue // natural-convection asks for it
			}
			add(noted{finding.Note, "", n, v.d.Sink.Part.At, "case " + withoutDigits(n)}, caseName(c))
		}
	}
	for _, key := range by.keys {
		n := first[key]
		out = append(out, Judgement{
			Severity: n.severity, Subject: Subject{n.kind, by.names[key]}, At: n.at,
			text: func(*reviewer, *Judgement) Text {
				t := Text{Title: capital(n.title), Why: why}
				if n.severity == finding.Warn {
					t.fix("Stay within the curve, or get one of a wider range")
				}
				return t
			},
		})
	}
	return out
}

// withoutDigits removes the digits of a text.
func withoutDigits(text string) string {
	return strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' {
			return -1
		}
		return r
	}, text)
}
