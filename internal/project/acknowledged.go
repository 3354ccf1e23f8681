package project

import (
	"slices"
	"strconv"

	"lampwright/internal/day"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// Acknowledgement is a finding of the review that the user has read and leaves as it is, with the reason.
type Acknowledgement struct {
	Check   source.Text `yaml:"check" need:"yes" doc:"check of the finding, by its id" eg:"solder-fatigue"`
	Subject source.Text `yaml:"subject" need:"yes" doc:"what was checked, as in review --json" eg:"channel white"`
	Reason  source.Text `yaml:"reason" need:"yes" doc:"why it stays as it is" eg:"the board is replaced each year"`
	Date    source.Text `yaml:"date" doc:"when it was acknowledged: year-month-day" eg:"2031-05-04"`
}

// Checks returns the ids of all checks of the review, in its order.
func Checks() []string { return slices.Clone(checks) }

// checks is the ids of the rules of package review, which a test there compares.
var checks = []string{
	"typed-values", "die-current", "derating", "radiant-efficiency", "junction", "junction-wanted", "solder-joint",
	"solder-fatigue", "laminate-temperature", "tim-temperature", "mounting", "pad-potential", "insulation-voltage",
	"selv", "hot-plug", "polarity", "esd", "connector", "boot-light", "lens-fit", "lens-data", "lens-loss",
	"lens-temperature", "lens-material", "footprint", "driver-output-range", "driver-input", "driver-headroom",
	"linear-heat", "driver-current", "driver-power", "supply-peak", "supply-load", "supply-derating", "air-limits",
	"part-life", "touch-voltage", "parallel-strings", "wire-drop", "ampacity", "fault-current", "fuse",
	"fuse-voltage", "inrush-switch", "inrush-breaker", "protective-earth", "touch-current", "lamp-metal",
	"galvanic", "condensation", "coating", "breathing", "off-leakage", "night-glow", "standby", "rcd", "drip-loop",
	"ip-code", "suspension", "altitude", "mains", "dimming", "flicker",
	"dimming-signal", "dimming-step", "first-light", "dither-flicker", "sensor-input", "controller-supply",
	"power-limit",
	"controller-clock", "fan-monitor", "controller-data", "fan-supply", "sink-contact", "fan-speed",
	"natural-convection", "fan-failure", "sensor-place", "infrared-spot", "foldback", "cutout", "housing",
	"burn-threshold", "lens-height", "rim", "water-level", "ice", "ppfd", "evaporation", "dli", "programme",
	"darkness", "day-colour", "day-foldback", "day-supply", "maintenance",
	"emitter-life", "colour-maintenance",
	"panes", "uniformity", "cct", "ra", "duv", "rf", "r9", "not-modelled", "spill", "blue-light", "replaced-lamp",
	"budget", "bom", "not-stated", "curve-reference", "extrapolation", "wire-solder", "caution", "supply-wire",
	"runaway", "acknowledged",
}

// isDate reports whether a text is a date of the Gregorian calendar, year-month-day.
func isDate(text string) bool {
	_, err := day.ParseDate(text)
	return err == nil
}

// acknowledgements looks for checks that do not exist, for dates that are none, and for what is acknowledged twice.
func (c *checker) acknowledgements(list []Acknowledgement) {
	type matter struct{ check, subject string }
	seen := map[matter]bool{}
	for i := range list {
		a := &list[i]
		if a.Check.Set && !slices.Contains(checks, a.Check.S) {
			hint := "`lampwright review` names the check of each finding"
			if near, ok := quantity.Near(a.Check.S, checks); ok {
				hint = "did you mean " + strconv.Quote(near) + "?"
			}
			c.add(a.Check.At, hint, "there is no check %q", a.Check.S)
		}
		if a.Date.Set && !isDate(a.Date.S) {
			c.add(a.Date.At, "such as 2031-05-04", "%q is no date: year-month-day", a.Date.S)
		}
		if m := (matter{a.Check.S, a.Subject.S}); a.Check.Set && a.Subject.Set {
			if seen[m] {
				c.add(a.Check.At, "keep one of them", "check %q of %q is acknowledged twice", m.check, m.subject)
			}
			seen[m] = true
		}
	}
}
