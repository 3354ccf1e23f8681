package engine

import "strings"

// runawayKey is the number of cases that do not settle, among the values of a solution; it is no figure.
const RunawayKey = "cases that run away"

// dependsOn returns the case that a figure is of; nothing for figures that hold whether the lamp settles or not.
func DependsOn(key string) string {
	switch {
	case key == "cost.parts", key == RunawayKey, strings.HasSuffix(key, ".voltage-cold"), strings.HasSuffix(key, ".current"):
		return ""
	case strings.HasSuffix(key, "-usual-fan-dead"):
		return "usual-fan-dead"
	case strings.HasSuffix(key, "-fan-dead"):
		return "hottest-fan-dead"
	case strings.HasSuffix(key, "-hottest"), key == "board.dielectric", strings.HasSuffix(key, ".voltage-hot"), strings.HasSuffix(key, ".voltage-least"), strings.HasSuffix(key, ".driver-heat"):
		return HottestDay
	}
	return "usual"
}

// ranAway tells whether a case of this lamp does not settle.
func (sol *Solution) RanAway(caseKey string) bool {
	st, ok := sol.Cases[caseKey]
	return ok && st.Runaway
}
