package engine_test

import (
	"math"
	"testing"

	"lampwright/internal/engine"
)

// TestElectrical compares the electrical numbers with sums by hand.
func TestElectrical(t *testing.T) {
	for _, tt := range []struct {
		name           string
		got, want, tol float64
		source         string
	}{
		{"CircuitVoltageV stated", engine.CircuitVoltageV(60, 40, 24, true), 60, 0, "open circuit"},
		{"CircuitVoltageV buck", engine.CircuitVoltageV(0, 52, 24.5, false), 24.5, 0, "its supply"},
		{"CircuitVoltageV boost", engine.CircuitVoltageV(0, 52, 24.5, true), 52, 0, "its maximum output"},
		{"RequiredInputV", engine.RequiredInputV(13, 0.4, 2.5), 15.9, 1e-12, "13 + 0.4 + 2.5"},
		{"InputCurrentA", engine.InputCurrentA(30, 11.4), 2.632, 5e-4, "30 W / 11.4 V"},
	} {
		if math.Abs(tt.got-tt.want) > tt.tol {
			t.Errorf("%s = %g, want %g ± %g (%s)", tt.name, tt.got, tt.want, tt.tol, tt.source)
		}
	}
}
