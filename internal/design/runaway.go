package design

import (
	"fmt"
	"strings"
)

// runawayKey is the number of cases that do not settle, among the values of a solution; it is no figure.
const runawayKey = "cases that run away"

// dependsOn returns the case that a figure is of; nothing for figures that hold whether the lamp settles or not.
func dependsOn(key string) string {
	switch {
	case key == "cost.parts", key == runawayKey, strings.HasSuffix(key, ".voltage-cold"), strings.HasSuffix(key, ".current"):
		return ""
	case strings.HasSuffix(key, "-usual-fan-dead"):
		return "usual-fan-dead"
	case strings.HasSuffix(key, "-fan-dead"):
		return "hottest-fan-dead"
	case strings.HasSuffix(key, "-hottest"), key == "board.dielectric", strings.HasSuffix(key, ".voltage-hot"), strings.HasSuffix(key, ".voltage-least"), strings.HasSuffix(key, ".driver-heat"):
		return hottestDay
	}
	return "usual"
}

// ranAway tells whether a case of this lamp does not settle.
func (sol *solution) ranAway(caseKey string) bool {
	st, ok := sol.settled[caseKey]
	return ok && st.runaway
}

// withhold takes the number out of a figure of a case that does not settle: where the loop was stopped is nowhere.
func (f *Figure) withhold(title string) {
	f.Withheld = fmt.Sprintf("withheld: %s the lamp does not settle (thermal runaway)", title)
	f.Value, f.Lo, f.Hi = 0, 0, 0
	f.Basis.Numbers = f.Withheld
	f.Basis.Inputs, f.Basis.Notes = nil, nil
}
