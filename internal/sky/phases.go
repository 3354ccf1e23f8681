package sky

import (
	"math"
	"sync"
)

// PhaseKind is one of the four phases.
type PhaseKind int

// Phases in their order.
const (
	NewMoon PhaseKind = iota
	FirstQuarter
	FullMoon
	LastQuarter
)

func (k PhaseKind) String() string {
	return [...]string{"new", "first_quarter", "full", "last_quarter"}[k]
}

// Phase is the instant of a phase of the moon.
type Phase struct {
	Kind PhaseKind
	JDE  float64 // Julian ephemeris day
}

var (
	phaseTerms  = sync.OnceValue(func() [][]float64 { return rowsOf("moon_phases.csv") })
	planetTerms = sync.OnceValue(func() [][]float64 { return rowsOf("moon_phases_planets.csv") })
)

// lunation0 and synodicDays give the mean new moons: the first of 2000, and their distance.
const (
	lunation0   = 2451550.09766
	synodicDays = 29.530588861
)

// PhaseAt returns a phase by its number: quarters counts the phases since the new moon of 2000-01-06, four a lunation.
//
// Accuracy: 0.5 min. Source: Meeus1998, ch. 49, cited from memory.
func PhaseAt(quarters int) Phase {
	kind := PhaseKind(((quarters % 4) + 4) % 4)
	k := float64(quarters) / 4
	t := k / 1236.85
	jde := lunation0 + synodicDays*k + poly(t, 0, 0, 0.00015437, -0.000000150, 0.00000000073)
	m := poly(t, 2.5534+29.10535670*k, 0, -0.0000014, -0.00000011)
	mp := poly(t, 201.5643+385.81693528*k, 0, 0.0107582, 0.00001238, -0.000000058)
	f := poly(t, 160.7108+390.67050284*k, 0, -0.0016118, -0.00000227, 0.000000011)
	node := poly(t, 124.7746-1.56375588*k, 0, 0.0020672, 0.00000215)
	column := map[PhaseKind]int{NewMoon: 4, FullMoon: 5}[kind]
	if column == 0 {
		column = 6
	}
	for _, r := range phaseTerms() {
		jde += r[column] * eccentricity(t, r[0]) * sin(r[0]*m+r[1]*mp+r[2]*f+r[3]*node)
	}
	w := 0.00306 - 0.00038*eccentricity(t, 1)*cos(m) + 0.00026*cos(mp) - 0.00002*cos(mp-m) + 0.00002*cos(mp+m) +
		0.00002*cos(2*f)
	switch kind {
	case FirstQuarter:
		jde += w
	case LastQuarter:
		jde -= w
	}
	for _, r := range planetTerms() { // the T² of the first is below 1e-8 d
		jde += 1e-6 * r[2] * sin(r[0]+r[1]*k)
	}
	return Phase{kind, jde}
}

// Phases returns the phases from one instant of UTC to before another, in their order.
func Phases(from, to float64) (out []Phase) {
	first := int(math.Floor((JDE(from)-lunation0)/synodicDays*4)) - 3
	for q := first; ; q++ {
		p := PhaseAt(q)
		switch utc := UTC(p.JDE); {
		case utc >= to:
			return out
		case utc >= from:
			out = append(out, p)
		}
	}
}
