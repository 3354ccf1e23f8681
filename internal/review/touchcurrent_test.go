package review

import (
	"testing"

	"lampwright/internal/finding"
)

// TestTouchCurrent: three class II supplies of 0.25 mA are 0.75 mA, from 0.5 mA on a person feels it.
func TestTouchCurrent(t *testing.T) {
	more := "  - {part: twelve, fan: true}\n"
	supplies := func(n int, stated, metal string) lampVariant {
		text := "  - {part: twelve, feeds: [a]}\n"
		for range n - 1 {
			text += more
		}
		return lampVariant{}.with(edit{"  - {part: twelve, feeds: [a]}\n", text},
			edit{"protection_class: II", "protection_class: II" + stated}, edit{"mains: {switch", "mains: {" + metal + "switch"})
	}
	runTable(t, []side{
		{name: "one", lamp: supplies(1, "", ""), check: "touch-current", none: true},
		{name: "two, assumed", lamp: supplies(2, "", ""), check: "touch-current", want: finding.Note, value: "500 µA"},
		{name: "two, stated", lamp: supplies(2, ", touch_current: 0.25 mA", ""), check: "touch-current", want: finding.Pass},
		{name: "three", lamp: supplies(3, "", ""), check: "touch-current", want: finding.Warn, value: "750 µA", fix: "Use one supply"},
		{name: "three, bonded", lamp: supplies(3, "", "metal: bonded, "), check: "touch-current", none: true},
	})
}
