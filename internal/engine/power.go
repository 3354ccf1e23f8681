package engine

import (
	"lampwright/internal/drive"
	"lampwright/internal/project"
)

// wireDrop returns what a pair loses [V]; the copper is at tempK.
func wireDrop(w *project.Wire, lengthM, amps, tempK float64) float64 {
	return drive.Drop(lengthM, w.Resistance.SI, amps) * drive.CopperFactor(tempK)
}
