package review

import (
	"testing"

	"lampwright/internal/finding"
)

// tank puts the lamp of the tests over a tank with water.
func tank(l lampVariant) lampVariant {
	return l.with(
		edit{"  kind: bench\n  inside: {length: 400 mm, width: 400 mm}\n", `  kind: tank
  glass: 6 mm
  water_depth: 250 mm
  inside: {length: 400 mm, width: 400 mm, height: 300 mm}
`},
		edit{"mains: {", "mains: {rcd: 30 mA, drip_loop: true, location: remote, "},
	)
}

// TestIce: water freezes at 0 °C.
func TestIce(t *testing.T) {
	cold := func(low, high string) lampVariant {
		return tank(lampVariant{}).with(edit{
			"{typical: 20 °C, max: 30 °C, min: 15 °C}",
			"{typical: " + high + ", max: " + high + ", min: " + low + "}",
		})
	}
	runTable(t, []side{
		{name: "a room", lamp: tank(lampVariant{}), check: "ice", none: true},
		{name: "no water", lamp: lampVariant{}.with(edit{"min: 15 °C", "min: -15 °C"}), check: "ice", none: true},
		{name: "at the freezing point", lamp: cold("0 °C", "20 °C"), check: "ice", none: true},
		{
			name: "frost", lamp: cold("-5 °C", "20 °C"), check: "ice", want: finding.Warn,
			title: "Minimum ambient temperature −5.0 °C is below freezing point of water 0.0 °C",
		},
		{
			name: "always frost", lamp: cold("-20 °C", "-2 °C"), check: "ice", want: finding.Stop,
			title: "Maximum ambient temperature −2.0 °C is below freezing point",
		},
	})
}
