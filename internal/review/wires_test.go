package review

import (
	"testing"

	"lampwright/internal/finding"
)

// TestSupplyWire: 12 V through R: at most 36/R watts. 4 W pass 9 Ω (180 m of 50 Ω/km, there and back, is 9 Ω at 20 °C,
// and 9.0 Ω at the typical ambient of 20 °C).
func TestSupplyWire(t *testing.T) {
	wire := func(length string) lampVariant {
		return lampVariant{}.with(edit{"feeds: [a]}", "feeds: [a], wire: {part: lead, length: " + length + "}}"})
	}
	runTable(t, []side{
		{name: "at the maximum", lamp: wire("90 m"), check: "supply-wire", none: true},
		{
			name: "beyond it", lamp: wire("90.1 m"), check: "supply-wire", want: finding.Stop,
			title: "Power required at the end of the supply wire 4.000 W exceeds maximum of this wire 3.996 W",
			fix:   "Use 9 × the cross-section",
		},
		{
			name: "all of 12 V would be lost", lamp: wire("360 m"), check: "supply-wire", want: finding.Stop,
			title: "maximum of this wire 1.00 W", fix: "Shorten the wire to ≤",
		},
	})
	r := wire("360 m").review(t)
	for _, key := range []string{"mains.power", "supply1.wire-drop", "lamp.flux", "target.ppfd", "a.junction"} {
		if f, ok := r.Figure(key); !ok || f.Withheld == "" || f.Value != 0 {
			t.Errorf("%s = %s", key, f.Text())
		}
	}
	for _, check := range []string{"junction", "ppfd", "wire-drop", "driver-input"} {
		if list := r.find(check, "", ""); len(list) > 0 {
			t.Errorf("%s of an impossible state: %s", check, list[0].Title)
		}
	}
}
