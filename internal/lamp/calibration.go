package lamp

import (
	"fmt"
	"slices"
	"strings"

	"lampwright/internal/project"
)

// LearnedValue is the value of a parameter by readings of the built lamp: normal with mean and standard deviation.
type LearnedValue struct{ Mean, SD float64 }

// coverage is half the width of the interval in which a learned value lies with a probability of 95 %, over its
// standard deviation. Source: JCGM100, annex G (95.45 % of a normal distribution).
const coverage = 2

// Calibration is the learned parameters that are applied to a lamp.
type Calibration struct {
	*project.Calibration
	Applied []int // positions in Params, in the order of the file
	// Correlations is the lower triangle of the correlation matrix of those, without its diagonal of ones.
	Correlations [][]float64
	Dropped      []Dropped
}

// Dropped is a learned parameter that is not applied.
type Dropped struct {
	Name string `json:"name"`
	Why  string `json:"why"`
}

// Text returns the message about the parameter: "tim.resistance_offset dropped: learned with …; the design has …".
func (d Dropped) Text() string { return d.Name + " dropped: " + d.Why }

// Calibrate sets the parameters that were learned from readings of this lamp, before it is solved: Nominal returns
// their means from there on, and the assumptions about them are gone. Parameters that belong to other parts or settings
// than those of the design are dropped. nil changes nothing.
func (l *Lamp) Calibrate(c *project.Calibration) {
	if c == nil {
		return
	}
	out := &Calibration{Calibration: c}
	var kept []int // positions in c.Parameters
	for i := range c.Parameters {
		learned := &c.Parameters[i]
		at := l.ParamIndex(learned.Name)
		if why := l.notApplied(learned, at); why != "" {
			out.Dropped = append(out.Dropped, Dropped{learned.Name, why})
			continue
		}
		l.Params[at].Learned = &LearnedValue{learned.Value, learned.SD}
		row := make([]float64, len(kept))
		for j, k := range kept {
			row[j] = c.Correlations[i][k]
		}
		kept = append(kept, i)
		out.Applied, out.Correlations = append(out.Applied, at), append(out.Correlations, row)
	}
	l.Calibration = out
	l.Assumptions = slices.DeleteFunc(slices.Clone(l.Assumptions), func(a Assumption) bool {
		at := l.ParamIndex(a.Param)
		return at >= 0 && l.Params[at].Learned != nil
	})
}

// notApplied returns why a learned parameter is not one of this lamp; empty where it is.
func (l *Lamp) notApplied(learned *project.Learned, at int) string {
	if at < 0 {
		return "this lamp has no such parameter"
	}
	basis, p := l.Basis(at), &l.Params[at]
	switch {
	case basis == "":
		return "readings of this lamp tell nothing of it"
	case basis != learned.Basis:
		return fmt.Sprintf("learned with %s; the design has %s", learned.Basis, basis)
	case p.Positive() && learned.Value <= 0:
		return fmt.Sprintf("its value %.4g is not above 0", learned.Value)
	case strings.HasSuffix(p.Name, "efficiency") && learned.Value > 1:
		return fmt.Sprintf("an efficiency of %.4g is above 1", learned.Value)
	}
	return ""
}

// Source states where the learned values are from.
func (c *Calibration) Source() string { return "learned from readings of " + c.Made }

// LearnedFrom returns the source of a parameter that was learned from readings; empty where it was not.
func (l *Lamp) LearnedFrom(param int) string {
	if param < 0 || l.Params[param].Learned == nil {
		return ""
	}
	return l.Calibration.Source()
}

// LimitsOf returns the limits of a parameter for checks of extreme values: those of the datasheet, or of a learned one
// the interval of 95 %.
func (l *Lamp) LimitsOf(param int) (lo, hi float64) {
	p := &l.Params[param]
	if v := p.Learned; v != nil {
		return v.Mean - coverage*v.SD, v.Mean + coverage*v.SD
	}
	return p.Lo, p.Hi
}
