package project

import "slices"

// ReadingQuantities lists what can be read.
func ReadingQuantities() (out []ReadingQuantity) {
	for _, w := range ReadingQuantity("").Values() {
		out = append(out, ReadingQuantity(w))
	}
	return out
}

// Places returns where the quantity is read; none where it has no place.
func (q ReadingQuantity) Places() []ReadingPlace { return slices.Clone(readingRules[q].places) }

// OfChannel reports whether a reading of the quantity names its channel.
func (q ReadingQuantity) OfChannel() bool { return readingRules[q].channel == required }
