package drive

import "testing"

func BenchmarkPadGroups(b *testing.B) {
	var chains []PadString
	for range 8 {
		chains = append(chains, PadString{
			Output: "w",
			Positions: positions(
				3, PadAnode, PadCathode, PadIsolated, PadUnknown, PadAnode, PadCathode, PadIsolated, PadUnknown,
			),
		})
	}
	for b.Loop() {
		if _, err := PadGroups(Mounting{Path: PathCore}, chains); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkBoostLosses(b *testing.B) {
	s := Boost{
		InV: 24, OutV: 40, CurrentA: 0.5, InductanceH: 1e-4, FrequencyHz: 2e5, InductorOhm: 0.1, SwitchOhm: 0.1,
		DiodeV: 0.5,
	}
	for b.Loop() {
		if _, err := s.Losses(Switching{}); err != nil {
			b.Fatal(err)
		}
	}
}
