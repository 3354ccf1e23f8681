package figure

import (
	"strings"

	"lampwright/internal/lamp"
)

// notSampled lists what varies between lamps and is in no range.
func notSampled(l *lamp.Lamp) []string {
	out := []string{
		"sizes and positions", "ambient temperature", "shapes of datasheet curves", "differences between LEDs of one reel",
		"convection at the faces of the board",
	}
	for i := range l.Optics {
		if l.Optics[i].AngleParam < 0 {
			out = append(out, "measured luminous intensity distributions")
			break
		}
	}
	for i := range l.Types {
		if len(l.Types[i].Part.Peaks) == 0 {
			out = append(out, "shapes of tabulated spectra")
			break
		}
	}
	if len(l.CoveredPanes()) > 0 {
		out = append(out, "contact of paint and film with the panes")
	}
	return append(out, "ageing", "results shown without a range")
}

// NotSampledText states in one line what is in no range; empty where there are no ranges.
func (r *Result) NotSampledText() string {
	if len(r.NotSampled) == 0 {
		return ""
	}
	return "Not in the ranges: " + strings.Join(r.NotSampled, ", ") + "."
}
