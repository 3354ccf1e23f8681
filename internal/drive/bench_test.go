package drive

import "testing"

func BenchmarkPadGroups(b *testing.B) {
	var chains []PadString
	for range 8 {
		chains = append(chains, PadString{Output: "w", Seats: seats(3, PadAnode, PadCathode, PadIsolated, PadUnknown, PadAnode, PadCathode, PadIsolated, PadUnknown)})
	}
	for b.Loop() {
		if _, err := PadGroups(Mounting{Path: PathCore}, chains); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkStepUpLosses(b *testing.B) {
	s := StepUp{InV: 24, OutV: 40, CurrentA: 0.5, InductanceH: 1e-4, FrequencyHz: 2e5, InductorOhm: 0.1, SwitchOhm: 0.1, DiodeV: 0.5}
	for b.Loop() {
		if _, err := s.Losses(Switching{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkLookUp(b *testing.B) {
	b.Run("what=creepage", func(b *testing.B) {
		for b.Loop() {
			if _, err := Creepage(50, Surface{PollutionDegree: 3, MaterialGroup: 3}); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("what=ampacity", func(b *testing.B) {
		for b.Loop() {
			RuleOfThumb(0.5)
		}
	})
	b.Run("what=E96", func(b *testing.B) {
		for b.Loop() {
			if _, err := Nearest("E96", 0.2857); err != nil {
				b.Fatal(err)
			}
		}
	})
}
