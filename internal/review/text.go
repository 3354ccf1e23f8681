package review

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"lampwright/internal/finding"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// Text is a judgement in words.
type Text struct {
	Title string // one line that is alone: quantity, value, limit
	Why   string // the physical consequence, at most two short sentences
	Fix   []string
	Edits []finding.SuggestedEdit
	Value string // in place of the formatted Value
	Limit string // in place of the formatted limit
	// Margin is in place of the formatted margin.
	Margin string
}

// fix adds an alternative: an imperative with its number.
func (t *Text) fix(item string) { t.Fix = append(t.Fix, item) }

// fixf is fix with a format.
func (t *Text) fixf(format string, args ...any) { t.fix(fmt.Sprintf(format, args...)) }

// edit adds a change of the design that carries out a fix.
func (t *Text) edit(label string, settings ...source.Setting) {
	t.Edits = append(t.Edits, finding.SuggestedEdit{Label: label, Settings: settings})
}

// finding returns a judgement and its margin as a finding, in words.
func (v *reviewer) finding(j *Judgement, margin Margin) finding.Finding {
	t := j.text(v, j)
	f := finding.Finding{
		Severity: j.Severity, Check: j.check, Subject: j.Subject.String(), Names: j.Subject.Names,
		Title: trueMinus(t.Title), Figure: j.Figure,
		Value: t.Value, Limit: t.Limit, Why: trueMinus(t.Why), Edits: t.Edits, At: j.At,
	}
	for _, item := range t.Fix {
		f.Fix = append(f.Fix, trueMinus(item))
	}
	if margin.Bound != NoBound {
		m := margin.Signed
		if !math.IsInf(m, 0) && !math.IsNaN(m) {
			f.SignedMargin = m
		}
		if !j.exceeded() && margin.Worst < 0 {
			m = margin.Worst
		}
		if f.Margin = t.Margin; f.Margin == "" {
			f.Margin = marginText(m, margin.Limit, j.Dim)
		}
		value, limit := j.pairText()
		f.Value, f.Limit = cmp.Or(f.Value, value), cmp.Or(f.Limit, limit)
		f.Comparison = j.comparison()
	}
	f.Value, f.Limit = trueMinus(f.Value), trueMinus(f.Limit)
	return f
}

// pairText prints the number that is judged and its limit: the value, or its unfavourable end where only that is beyond the
// limit. Beyond a limit both have as many digits as it takes to tell them apart.
func (j *Judgement) pairText() (value, limit string) {
	x := j.Value
	if j.worstMargin() < 0 && !j.exceeded() {
		x = j.worstEnd()
	}
	if j.Bound == Range || j.worstMargin() >= 0 {
		return j.format(x), j.limitText()
	}
	value, limit = j.apart(x)
	return value, j.side() + limit
}

// format prints a number of the judgement with the digits that the range of its value supports.
func (j *Judgement) format(x float64) string {
	lo, hi := j.ends()
	if lo == hi || j.Dim == quantity.None {
		return format(x, j.Dim)
	}
	return quantity.FormatWithin(x, lo, hi, j.Dim)
}

// apart prints a number beyond the limit, and the limit, so that they differ.
func (j *Judgement) apart(x float64) (value, limit string) {
	if value, limit = j.format(x), format(j.Limit, j.Dim); value != limit {
		return value, limit
	}
	return formatApart(x, j.Limit, j.Dim)
}

// side is the sign before a limit.
func (j *Judgement) side() string {
	switch j.Bound {
	case AtMost:
		return "≤ "
	case AtLeast:
		return "≥ "
	}
	return ""
}

// limitText prints the limit with its side: "≤ 500 mA".
func (j *Judgement) limitText() string {
	limit := j.side() + format(j.Limit, j.Dim)
	if j.Bound == Range {
		return limit + " to " + format(j.Upper, j.Dim)
	}
	return limit
}

// claim is a comparison with a limit, in words.
type claim struct {
	quantity string // "Die current"
	when     string // "at maximum ambient", after the value
	limit    string // "absolute maximum rating"
	of       string // "amber-592, channel dusk", in brackets at the end
	end      string // how the unfavourable end comes about: "at the upper driver tolerance"; P90 or P10 where empty
}

// title returns the title of a comparison:
//
//	{quantity} {value} exceeds {limit} (of)
//	{quantity} {value}; {end} exceeds {limit} (of)
//	{quantity} {value}, within {limit} (of)
//
// For a lower limit "is below" represents "exceeds", and "meets" for "within".
func (j *Judgement) title(c claim) string {
	if j.Bound == Range {
		return j.rangeTitle(c)
	}
	verb, passes := "exceeds", ", within"
	if j.Bound == AtLeast {
		verb, passes = "is below", ", meets"
	}
	of, when := "", ""
	if c.of != "" {
		of = " (" + c.of + ")"
	}
	if c.when != "" {
		when = " " + strings.TrimPrefix(c.when, " ")
	}
	value, limit := j.format(j.Value), format(j.Limit, j.Dim)
	switch {
	case j.exceeded():
		value, limit = j.apart(j.Value)
		return c.quantity + " " + value + when + " " + verb + " " + c.limit + " " + limit + of
	case j.worstMargin() < 0:
		end, limit := j.apart(j.P90)
		return c.quantity + " " + value + when + "; " + j.endText(c,
			end) + " " + verb + " " + c.limit + " " + limit + of
	}
	return c.quantity + " " + value + when + passes + " " + c.limit + " " + limit + of
}

// endText names the unfavourable end of a value.
func (j *Judgement) endText(c claim, end string) string {
	switch {
	case c.end != "":
		return end + " " + c.end
	case j.Bound == AtLeast:
		return "P10 " + end
	}
	return "P90 " + end
}

// rangeTitle returns the title of a requirement with two ends.
func (j *Judgement) rangeTitle(c claim) string {
	t := strings.TrimSpace(fmt.Sprintf("%s %s %s", c.quantity, j.format(j.Value), strings.TrimSpace(c.when)))
	if j.exceeded() {
		return t + "; required " + j.limitText()
	}
	if j.worstMargin() < 0 {
		lo, hi := j.format(j.P10), j.format(j.P90)
		return fmt.Sprintf("%s (P10 to P90: %s to %s); required %s", t, lo, hi, j.limitText())
	}
	return t + ", within required " + j.limitText()
}

// format prints a value; plain numbers, such as Ra, as whole ones.
func format(x float64, dim quantity.Dim) string {
	if dim == quantity.None {
		return quantity.FormatIn(x, dim, "", 0)
	}
	return quantity.Format(x, dim)
}

// formatApart prints two numbers that differ with as many digits as it takes to tell them apart, up to six decimals.
func formatApart(a, b float64, dim quantity.Dim) (string, string) {
	textA, textB := format(a, dim), format(b, dim)
	at := strings.LastIndexFunc(textB, func(r rune) bool { return r >= '0' && r <= '9' })
	if textA != textB || at < 0 {
		return textA, textB
	}
	unit := strings.TrimSpace(textB[at+1:])
	for digits := 1; digits <= 6 && textA == textB; digits++ {
		textA, textB = quantity.FormatIn(a, dim, unit, digits), quantity.FormatIn(b, dim, unit, digits)
	}
	return textA, textB
}

// missing gathers parts whose datasheets do not state a value, and the subjects that they concern, for one finding.
type missing struct {
	kind         string // of subject: "channel"
	parts, names []string
	at           source.Pos // of the first part
}

func (m *missing) add(part, name string, at source.Pos) {
	if len(m.parts) == 0 {
		m.at = at
	}
	if !slices.Contains(m.parts, part) {
		m.parts = append(m.parts, part)
	}
	if !slices.Contains(m.names, name) {
		m.names = append(m.names, name)
	}
}

// judgements returns the one finding; none where nothing is missing.
func (m *missing) judgements(what, why string, fixes ...string) []Judgement {
	if len(m.parts) == 0 {
		return nil
	}
	text := func(*reviewer, *Judgement) Text {
		sheets := "datasheet"
		if len(m.parts) > 1 {
			sheets = "datasheets"
		}
		return Text{
			Title: fmt.Sprintf("%s not stated in the %s of %s", what, sheets, list(m.parts)), Why: why, Fix: fixes,
		}
	}
	return []Judgement{{Severity: finding.Ask, Subject: Subject{m.kind, m.names}, At: m.at, text: text}}
}

// marginText prints a margin in the unit of its limit, with three digits or more; differences of temperatures are in
// kelvin.
func marginText(m, limit float64, dim quantity.Dim) string {
	if math.Abs(m) < bitError {
		return "none"
	}
	switch dim {
	case quantity.Temperature, quantity.CCT:
		dim = quantity.TemperatureDifference
	case quantity.None:
		if math.Abs(limit) >= wholeFrom {
			return quantity.Signed(m, 0)
		}
		return quantity.Signed(m, 1)
	}
	sign := "+"
	if m < 0 {
		sign = "−"
	}
	unit := quantity.UnitOf(limit, dim)
	if dim == quantity.TemperatureDifference {
		unit = "K"
	}
	size, digits := quantity.In(math.Abs(m), dim, unit), 0
	for ; digits < 6 && math.Round(size*math.Pow(10, float64(digits))) < 100; digits++ {
	}
	return sign + quantity.FormatIn(math.Abs(m), dim, unit, digits)
}

// trueMinus prints negative numbers of a sentence with a minus, in place of a hyphen.
func trueMinus(text string) string {
	signs := false
	for i := 1; i < len(text) && !signs; i++ {
		signs = text[i-1] == '-' && text[i] >= '0' && text[i] <= '9'
	}
	if !signs {
		return text
	}
	b := []rune(text)
	for i, c := range b {
		if c == '-' && i+1 < len(b) && b[i+1] >= '0' && b[i+1] <= '9' && (i == 0 || strings.ContainsRune(" (±",
			b[i-1])) {
			b[i] = '−'
		}
	}
	return string(b)
}

// list joins names for a sentence, and counts those beyond the fifth.
func list(names []string) string {
	switch n := len(names); {
	case n <= 1:
		return strings.Join(names, "")
	case n > 6:
		return strings.Join(names[:5], ", ") + fmt.Sprintf(" and %d more", n-5)
	default:
		return strings.Join(names[:n-1], ", ") + " and " + names[n-1]
	}
}

// sentence puts a capital at the start and a full stop at the end.
func sentence(s string) string { return strings.TrimSuffix(capital(s), ".") + "." }

func capital(s string) string {
	if s == "" {
		return s
	}
	r := []rune(s)
	return strings.ToUpper(string(r[:1])) + string(r[1:])
}

// ampsDown rounds a current down to two digits, so that what is suggested passes.
func ampsDown(a float64) string { return twoDigits(a, math.Floor) }

// ampsUp rounds a current up to two digits.
func ampsUp(a float64) string { return twoDigits(a, math.Ceil) }

func twoDigits(a float64, round func(float64) float64) string {
	if a <= 0 {
		return "0 A"
	}
	step := math.Pow(10, math.Floor(math.Log10(a))-1)
	steps := a / step
	if near := math.Round(steps); math.Abs(steps-near) < 1e-9 {
		steps = near
	}
	return quantity.Format(round(steps)*step, quantity.Current)
}

// roundUp prints a value as the next multiple of a step: a part is ordered in such steps.
func roundUp(x, step float64, dim quantity.Dim) string {
	return quantity.Format(math.Ceil(x/step-1e-9)*step, dim)
}

// atLeast prints a value that a part must reach, rounded up to the digits of print.
func atLeast(x float64, dim quantity.Dim) string { return roundedText(x, dim, 1) }

// atMost prints a value that a part must not exceed, rounded down to the digits of print.
func atMost(x float64, dim quantity.Dim) string { return roundedText(x, dim, -1) }

// roundedText prints the number next to x, on the side of the sign, that reads as printed.
func roundedText(x float64, dim quantity.Dim, sign float64) string {
	const step = 2e-4 // of x: less than a unit of the last of three digits
	text := quantity.Format(x, dim)
	for i := 1.0; i <= 100; i++ {
		printed, err := quantity.Parse(text, dim)
		if err != nil || sign*(printed-x) >= -bitError*math.Abs(x) {
			return text
		}
		text = quantity.Format(x+sign*i*step*math.Abs(x), dim)
	}
	return text
}

// inSteps prints a number in steps of 1/per, rounded up or down.
func inSteps(x float64, up bool, per float64) string {
	if up {
		return fmt.Sprintf("%g", math.Ceil(x*per-1e-9)/per)
	}
	return fmt.Sprintf("%g", math.Floor(x*per+1e-9)/per)
}

// currentRange prints a range of currents; one current where it has no width.
func currentRange(lo, hi float64) string {
	if hi <= lo*(1+1e-9) {
		return quantity.Format(lo, quantity.Current)
	}
	return quantity.Format(lo, quantity.Current) + " to " + quantity.Format(hi, quantity.Current)
}

// groupBy lists names under a key, each once, in the order of the first.
type groupBy[K comparable] struct {
	keys  []K
	names map[K][]string
}

func (g *groupBy[K]) add(key K, name string) {
	if g.names == nil {
		g.names = map[K][]string{}
	}
	if len(g.names[key]) == 0 {
		g.keys = append(g.keys, key)
	}
	if !slices.Contains(g.names[key], name) {
		g.names[key] = append(g.names[key], name)
	}
}
