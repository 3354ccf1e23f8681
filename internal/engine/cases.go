package engine

// CaseKey names one combination of ambient temperature and fan state.
type CaseKey string

// The cases, in the order in which they are solved; those of a fan failure exist for a lamp with a fan.
const (
	Typical              CaseKey = "typical"
	MaxAmbient           CaseKey = "max-ambient"
	FanFailure           CaseKey = "fan-failure"
	MaxAmbientFanFailure CaseKey = "max-ambient-fan-failure"
)

// Title returns the case in words, such as "maximum ambient, fan failure".
func (k CaseKey) Title() string {
	switch k {
	case MaxAmbient:
		return "maximum ambient"
	case FanFailure:
		return "typical ambient, fan failure"
	case MaxAmbientFanFailure:
		return "maximum ambient, fan failure"
	}
	return "typical ambient"
}

// AtMaxAmbient tells whether the ambient temperature of the case is the maximum.
func (k CaseKey) AtMaxAmbient() bool { return k == MaxAmbient || k == MaxAmbientFanFailure }

// Stage is a part of a Solution that can be computed apart.
type Stage uint8

// The stages. Each needs those that its comment names.
const (
	StringVoltages Stage = 1 << iota // states at maximum ambient
	Emission                         // light that leaves the lenses; the state at typical ambient
	TargetMean                       // mean PPFD at the target alone; Emission
	Planes                           // light on the target and the water surface; Emission
	Colour                           // of the sum; Emission
	Rendering                        // of the sum, from whole spectra: slow; Emission
	Power                            // from the emitters back to the mains; StringVoltages, Emission
	Hazard                           // blue-light hazard; Emission
)

// Needs is what a Solution is asked for.
type Needs struct {
	Only   CaseKey // the one case to solve, without its loop gain; all of them where it is empty
	Stages Stage
}

// Everything asks for all but the rendering indices.
var Everything = Needs{Stages: StringVoltages | Emission | Planes | Colour | Power | Hazard}
