package review

import (
	"math"
	"slices"
	"strings"

	"lampwright/internal/finding"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// Judgement is what a rule found, in numbers. No text is made before a person reads it.
type Judgement struct {
	Severity finding.Severity
	Subject  Subject
	Figure   string // key of the figure, for `explain`
	At       source.Pos

	Bound Bound
	Dim   quantity.Dim // of the numbers below
	Value float64
	P90   float64 // the unfavourable end: P90 for an upper limit, P10 for a lower one, or the end of a tolerance
	P10   float64 // the other end; only used by Range
	Limit float64
	Upper float64 // upper limit of a Range; Limit is then the lower one
	Typed bool    // value and limit are typed numbers, or products of such

	// group makes findings of a rule into one: those of equal severity and group are gathered over their subjects.
	group any
	// text puts the judgement into words. It may search for a fix, which takes time.
	text func(v *reviewer, j *Judgement) Text

	check string
	fail  finding.Severity // where the value exceeds its limit
}

// Subject is what a judgement is of: a kind of thing, and which of them.
type Subject struct {
	Kind  string   // "channel", or the whole of it: "lamp"
	Names []string // "warm"
}

// String returns the subject in words: "channels warm and white".
func (s Subject) String() string {
	switch len(s.Names) {
	case 0:
		return s.Kind
	case 1:
		if strings.HasPrefix(s.Names[0], s.Kind+"-") {
			return s.Names[0] // the id of a part names its kind: "supply-24v-100w"
		}
		return strings.TrimSpace(s.Kind + " " + s.Names[0])
	}
	if s.Kind == "" {
		return list(s.Names)
	}
	plural := s.Kind + "s"
	if stem, ok := strings.CutSuffix(s.Kind, "y"); ok {
		plural = stem + "ies"
	}
	return plural + " " + list(s.Names)
}

func channel(name string) Subject { return Subject{"channel", []string{name}} }

// Bound is the side on which a limit lies.
type Bound int

// The bounds.
const (
	NoBound Bound = iota // a yes or no
	AtMost               // Value ≤ Limit
	AtLeast              // Value ≥ Limit
	Range                // Limit ≤ Value ≤ Upper
)

// Errors of a comparison, relative to the limit: a value that is beyond its limit by no more meets it. bitError is that
// of computed numbers, their last bits. typedError is that of numbers that are typed, or products of such: they are
// typed with three digits, so that 33.3 % of 4500 rpm is 1498.5 rpm where 1500 rpm is meant. It is a choice of this
// program (no source), below the tolerance of every part.
const (
	bitError   = 1e-9
	typedError = 1e-3 + bitError
)

// above reports whether a value exceeds a limit, given the error of the comparison.
func above(value, limit, relErr float64) bool { return value-limit > relErr*math.Abs(limit) }

// below reports whether a value is less than a lower limit, given the error of the comparison.
func below(value, limit, relErr float64) bool { return limit-value > relErr*math.Abs(limit) }

// marginOf returns the distance of a value from the limit: positive within it, negative beyond it, in the unit of the
// value.
func (j *Judgement) marginOf(value float64) float64 {
	m, limit := 0.0, j.Limit
	switch j.Bound {
	case AtMost:
		m = j.Limit - value
	case AtLeast:
		m = value - j.Limit
	case Range:
		m = value - j.Limit
		if upper := j.Upper - value; upper < m {
			m, limit = upper, j.Upper
		}
	}
	relErr := bitError
	if j.Typed {
		relErr = typedError
	}
	if math.Abs(m) <= relErr*math.Abs(limit) {
		return 0
	}
	return m
}

// ends returns the range of the value; where only its unfavourable end is known, the other is as far away.
func (j *Judgement) ends() (lo, hi float64) {
	other := j.P10
	if j.Bound != Range {
		other = 2*j.Value - j.P90
	}
	return math.Min(j.P90, other), math.Max(j.P90, other)
}

// comparison returns the value with its limits; nil where one of them is no number.
func (j *Judgement) comparison() *finding.Comparison {
	c := finding.Comparison{Value: j.Value}
	c.Lo, c.Hi = j.ends()
	if j.Bound == AtLeast || j.Bound == Range {
		c.Min = &j.Limit
	}
	switch j.Bound {
	case AtMost:
		c.Max = &j.Limit
	case Range:
		c.Max = &j.Upper
	}
	for _, x := range []float64{c.Value, c.Lo, c.Hi, j.Limit, j.Upper} {
		if math.IsInf(x, 0) || math.IsNaN(x) {
			return nil
		}
	}
	return &c
}

// step returns the step to which a value with a range is printed [SI]; 0 without a range.
func (j *Judgement) step() float64 {
	lo, hi := j.ends()
	if lo == hi {
		return 0
	}
	if j.Dim == quantity.None && math.Abs(j.Limit) >= wholeFrom {
		return 1
	}
	return quantity.RangeStep(j.Value, lo, hi, j.Dim)
}

// wholeFrom is the limit of a plain number, such as Ra, from which it is compared and printed as a whole one.
const wholeFrom = 10

// worstMargin returns the margin at the unfavourable end. An end that reads as the limit meets it: a P10 of Ra 79.9 of a
// range from 79.9 to 84 is no other number than 80.
func (j *Judgement) worstMargin() float64 {
	m := j.marginOf(j.worstEnd())
	if m < 0 && -m <= j.step()/2 && j.marginOf(j.Value) >= 0 {
		return 0
	}
	return m
}

// worstEnd returns the unfavourable end of the value.
func (j *Judgement) worstEnd() float64 {
	if j.Bound == Range && j.marginOf(j.P10) < j.marginOf(j.P90) {
		return j.P10
	}
	return j.P90
}

// nearest returns the limit that is nearest to x.
func (j *Judgement) nearest(x float64) float64 {
	if j.Bound == Range && j.Upper-x < x-j.Limit {
		return j.Upper
	}
	return j.Limit
}

// compare returns a judgement with the severity that its numbers give: fail where the value is beyond the limit, Warn
// where the unfavourable end is, else Pass.
func compare(fail finding.Severity, j Judgement) Judgement {
	j.fail = fail
	switch {
	case j.marginOf(j.Value) < 0:
		j.Severity = fail
	case j.worstMargin() < 0:
		j.Severity = finding.Warn
	default:
		j.Severity = finding.Pass
	}
	return j
}

// exceeded reports whether the value itself is beyond the limit, and not only its unfavourable end.
func (j *Judgement) exceeded() bool { return j.marginOf(j.Value) < 0 }

// gather joins judgements of equal severity and group: their subjects are listed in one, and the numbers are those of
// the one that is nearest to its limit.
func gather(in []Judgement) (out []Judgement) {
	type key struct {
		severity finding.Severity
		group    any
	}
	at := map[key]int{}
	for _, j := range in {
		k := key{j.Severity, j.group}
		i, joins := at[k]
		if j.group == nil || !joins {
			at[k] = len(out)
			j.Subject.Names = slices.Clone(j.Subject.Names)
			out = append(out, j)
			continue
		}
		names := out[i].Subject.Names
		for _, n := range j.Subject.Names {
			if !slices.Contains(names, n) {
				names = append(names, n)
			}
		}
		if j.Bound != NoBound && j.worstMargin() < out[i].worstMargin() {
			out[i] = j
		}
		out[i].Subject.Names = names
	}
	return out
}

// Margin is how far a value is from its limit, as numbers only. Where Bound is NoBound there are no numbers, and
// Severity alone says whether the check is passed.
type Margin struct {
	Check    string
	Subject  Subject
	Figure   string // key of the figure, where the value is one
	Severity finding.Severity
	Bound    Bound
	Dim      quantity.Dim
	Value    float64
	Limit    float64
	// Signed is the distance of the value from its limit, in the SI unit of the value: positive within, negative
	// beyond.
	Signed float64
	// Worst is Signed at the unfavourable end of the value: P90, P10 or the end of a tolerance.
	Worst float64
	// Acknowledged tells that the design says why it is left as it is.
	Acknowledged bool
}

// margin returns the numbers of a judgement.
func (j *Judgement) margin() Margin {
	return Margin{
		Check: j.check, Subject: j.Subject, Figure: j.Figure, Severity: j.Severity, Bound: j.Bound, Dim: j.Dim,
		Value: j.Value, Limit: j.nearest(j.Value), Signed: j.marginOf(j.Value), Worst: j.worstMargin(),
	}
}
