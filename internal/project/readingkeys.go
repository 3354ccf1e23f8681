package project

import "slices"

// Meters returns the kinds of instrument that display a quantity.
func (q ReadingQuantity) Meters() []InstrumentKind { return readingRules[q].meters }

// Logged reports whether a quantity is read over time.
func (q ReadingQuantity) Logged() bool { return slices.Contains(readingRules[q].series, "time") }

// Takes reports whether a key of the file belongs to readings of a quantity.
func (q ReadingQuantity) Takes(key string) bool {
	rule := readingRules[q]
	switch key {
	case "place":
		return len(rule.places) > 0
	case "channel":
		return rule.channel != absent
	case "distance", "at", "angle", "emitter", "spot", "meter_mode", "emissivity_set", "emissivity",
		"reflected_temperature", "cold_voltage", "steady_voltage":
		return slices.Contains(rule.keys, key)
	}
	return true
}
