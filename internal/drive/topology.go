package drive

// Topology is the circuit of a constant-current driver: what its input and output have to do with each other.
type Topology interface {
	NeedsSupply() bool      // its input is a DC supply; else it is the mains
	CappedByInput() bool    // its output voltage stays below its input voltage
	OutputAboveInput() bool // its output voltage must exceed its input voltage
	HasEfficiency() bool    // its input power follows from a stated efficiency

	// InputW returns the mean input power [W] for the mean output outputW at outputA. supplyV is the supply voltage.
	InputW(outputW, outputA, supplyV float64, line InputLine) float64

	// WorstHeatW returns the maximum dissipation [W] of a stage that drops voltage, and false for one that converts it.
	WorstHeatW(w Window, outputA, supplyMinV, supplyTypV, supplyMaxV float64) (float64, bool)
}

// The topologies.
var (
	ACTopology     Topology = converter{}
	BuckTopology   Topology = converter{supplied: true, capped: true}
	BoostTopology  Topology = converter{supplied: true, above: true}
	LinearTopology Topology = dropper{}
)

// converter is a switching stage; its input power follows from its efficiency and no-load power.
type converter struct{ supplied, capped, above bool }

func (c converter) NeedsSupply() bool      { return c.supplied }
func (c converter) CappedByInput() bool    { return c.capped }
func (c converter) OutputAboveInput() bool { return c.above }
func (converter) HasEfficiency() bool      { return true }

func (converter) InputW(outputW, _, _ float64, line InputLine) float64 { return line.InputW(outputW) }

func (converter) WorstHeatW(Window, float64, float64, float64, float64) (float64, bool) {
	return 0, false
}

// dropper is a linear stage, which conducts the current of the string at the voltage of the supply:
//
//	P_in = P_0 + V_supply I
//
// P_0 is its no-load power. Source: Kirchhoff's laws.
type dropper struct{}

func (dropper) NeedsSupply() bool      { return true }
func (dropper) CappedByInput() bool    { return true }
func (dropper) OutputAboveInput() bool { return false }
func (dropper) HasEfficiency() bool    { return false }

func (dropper) InputW(_, outputA, supplyV float64, line InputLine) float64 {
	return line.NoLoadW + outputA*supplyV
}

func (dropper) WorstHeatW(w Window, outputA, supplyMinV, supplyTypV, supplyMaxV float64) (float64, bool) {
	return Linear(w, outputA, supplyMinV, supplyTypV, supplyMaxV, 0).WorstW, true
}
