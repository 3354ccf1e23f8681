package wiring

import "testing"

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
