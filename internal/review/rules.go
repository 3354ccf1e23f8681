package review

import "lampwright/internal/engine"

// Rule is one check.
type Rule struct {
	ID   string // "die-current"
	Name string // "Die current"
	// Needs returns the thermal case that must have a steady state for the rule to say anything; nil where none does.
	Needs func(*reviewer) engine.CaseKey
	// Eval returns what the rule finds, in numbers.
	Eval func(*reviewer) []Judgement
}

func inTypical(*reviewer) engine.CaseKey    { return typicalCase }
func inMaxAmbient(*reviewer) engine.CaseKey { return maxAmbientCase }
func inFanFailure(*reviewer) engine.CaseKey { return fanFailureCase }
func inWorst(v *reviewer) engine.CaseKey    { return v.worstCase() }

// rules are all checks, in the order in which findings of one severity are listed.
var rules = []Rule{
	{"typed-values", "Typed part values", nil, (*reviewer).typedValues},
	{"die-current", "Die current", nil, (*reviewer).dieCurrent},
	{"derating", "Derating of the die current", inMaxAmbient, (*reviewer).derating},
	{"radiant-efficiency", "Radiant efficiency", inTypical, (*reviewer).radiantEfficiency},
	{"junction", "Junction temperature", inMaxAmbient, (*reviewer).junctions},
	{"junction-wanted", "Required junction temperature", inMaxAmbient, (*reviewer).requiredJunction},
	{"solder-joint", "Solder joint temperature", inMaxAmbient, (*reviewer).solderJoints},
	{"solder-fatigue", "Fatigue of solder joints", inMaxAmbient, (*reviewer).solderFatigue},
	{"laminate-temperature", "Laminate temperature", inMaxAmbient, (*reviewer).laminateTemperature},
	{"tim-temperature", "Temperature of the thermal interface material", inMaxAmbient, (*reviewer).timTemperature},
	{"mounting", "Mounting of the board", inMaxAmbient, (*reviewer).boardMounting},
	{"pad-potential", "Potential of thermal pads", inTypical, (*reviewer).padPotentials},
	{"insulation-voltage", "Voltage across the board insulation", inTypical, (*reviewer).insulationVoltage},
	{"selv", "Isolation from mains", nil, (*reviewer).selv},
	{"hot-plug", "String on a live driver", nil, (*reviewer).hotPlug},
	{"polarity", "Reversed string", nil, (*reviewer).polarity},
	{"esd", "Electrostatic discharge", nil, (*reviewer).esd},
	{"connector", "Connectors", nil, (*reviewer).connectors},
	{"boot-light", "Light while the controller starts", nil, (*reviewer).bootLight},
	{"lens-fit", "Lens and package", nil, (*reviewer).lensFit},
	{"lens-data", "Lens data", nil, (*reviewer).lensData},
	{"lens-loss", "Lens loss", nil, (*reviewer).lensLoss},
	{"lens-temperature", "Lens temperature", inMaxAmbient, (*reviewer).lensTemperature},
	{"lens-material", "Lens material", inMaxAmbient, (*reviewer).lensMaterial},
	{"footprint", "Space for lenses", nil, (*reviewer).footprints},
	{"driver-output-range", "Driver output range", inMaxAmbient, (*reviewer).driverOutputRange},
	{"driver-input", "Driver input voltage", inMaxAmbient, (*reviewer).driverInput},
	{"driver-headroom", "Driver headroom", inMaxAmbient, (*reviewer).driverHeadroom},
	{"linear-heat", "Dissipation of linear drivers", inMaxAmbient, (*reviewer).linearHeat},
	{"driver-current", "Driver current", nil, (*reviewer).driverCurrent},
	{"driver-power", "Driver power", inMaxAmbient, (*reviewer).driverPower},
	{"supply-peak", "Peak load of supplies", inTypical, (*reviewer).supplyPeak},
	{"supply-load", "Load of supplies", inTypical, (*reviewer).supplyLoad},
	{"supply-derating", "Derating of supplies", inTypical, (*reviewer).supplyDerating},
	{"air-limits", "Air temperature of parts", inMaxAmbient, (*reviewer).airLimits},
	{"part-life", "Life of fan and capacitors", inMaxAmbient, (*reviewer).partLife},
	{"touch-voltage", "Touch voltage", nil, (*reviewer).touchVoltage},
	{"parallel-strings", "Parallel strings", inTypical, (*reviewer).parallelStrings},
	{"wire-drop", "Voltage drop of wires", inTypical, (*reviewer).wireDrop},
	{"ampacity", "Current-carrying capacity of wires", inTypical, (*reviewer).ampacity},
	{"fault-current", "Fault protection of wires", inTypical, (*reviewer).faultCurrent},
	{"fuse", "Fuse current", inTypical, (*reviewer).fuseCurrent},
	{"fuse-voltage", "Fuse voltage", inTypical, (*reviewer).fuseVoltage},
	{"inrush-switch", "Inrush current of the switch", inTypical, (*reviewer).inrushSwitch},
	{"inrush-breaker", "Inrush current of the circuit breaker", inTypical, (*reviewer).inrushBreaker},
	{"protective-earth", "Protective earth", inTypical, (*reviewer).protectiveEarth},
	{"lamp-metal", "Metal of the lamp", nil, (*reviewer).lampMetal},
	{"rcd", "Residual current device", inTypical, (*reviewer).residualCurrent},
	{"drip-loop", "Drip loops", inTypical, (*reviewer).dripLoops},
	{"ip-code", "Splash protection", inTypical, (*reviewer).splashProtection},
	{"suspension", "Suspension", nil, (*reviewer).suspension},
	{"altitude", "Altitude", nil, (*reviewer).altitude},
	{"mains", "Mains data", inTypical, (*reviewer).mainsData},
	{"dimming", "Dimming level", nil, (*reviewer).dimming},
	{"flicker", "Flicker", nil, (*reviewer).flicker},
	{"fan-supply", "Fan supply", nil, (*reviewer).fanSupply},
	{"sink-contact", "Contact of board and heat sink", inTypical, (*reviewer).sinkContact},
	{"fan-speed", "Fan speed", nil, (*reviewer).fanSpeed},
	{"natural-convection", "Natural convection of pins", nil, (*reviewer).naturalPins},
	{"fan-failure", "Fan failure", inFanFailure, (*reviewer).fanFailure},
	{"sensor-place", "Sensor position", inTypical, (*reviewer).sensorPosition},
	{"foldback", "Foldback at typical ambient", inTypical, (*reviewer).foldbackActive},
	{"foldback", "Foldback in the worst case", inWorst, (*reviewer).foldbackSettles},
	{"cutout", "Thermal cut-out", inMaxAmbient, (*reviewer).cutout},
	{"housing", "Housing", inTypical, (*reviewer).housing},
	{"burn-threshold", "Surface temperature", inMaxAmbient, (*reviewer).surfaceAtMaxAmbient},
	{"burn-threshold", "Surface temperature on fan failure", inFanFailure, (*reviewer).surfaceOnFanFailure},
	{"lens-height", "Lens height above the water", nil, (*reviewer).lensHeight},
	{"rim", "Lamp below the rim", nil, (*reviewer).belowRim},
	{"water-level", "Water and substrate", nil, (*reviewer).waterLevel},
	{"ice", "Freezing of the water", nil, (*reviewer).ice},
	{"ppfd", "PPFD", inTypical, (*reviewer).ppfd},
	{"dli", "DLI", inTypical, (*reviewer).dli},
	{"uniformity", "Uniformity", inTypical, (*reviewer).uniformity},
	{"cct", "CCT", inTypical, (*reviewer).cct},
	{"ra", "Colour rendering Ra", inTypical, (*reviewer).ra},
	{"duv", "Duv", inTypical, (*reviewer).duv},
	{"rf", "Colour fidelity Rf", inTypical, (*reviewer).rf},
	{"r9", "Red rendering R9", inTypical, (*reviewer).r9},
	{"not-modelled", "Light that is not modelled", inTypical, (*reviewer).notModelled},
	{"spill", "Spill light", inTypical, (*reviewer).spill},
	{"blue-light", "Blue-light exposure", inTypical, (*reviewer).blueLight},
	{"replaced-lamp", "Comparison with the replaced lamp", inTypical, (*reviewer).replacedLamp},
	{"budget", "Parts cost", nil, (*reviewer).budget},
	{"bom", "Bill of materials", nil, (*reviewer).unpricedHardware},
	{"not-stated", "Missing datasheet values", nil, (*reviewer).missingData},
	{"curve-reference", "Reference points of curves", nil, (*reviewer).curveReference},
	{"extrapolation", "Extrapolated curves", inTypical, (*reviewer).extrapolations},
	{"wire-solder", "Soldering of wires", nil, (*reviewer).wireSolder},
	{"caution", "Hazards", nil, (*reviewer).cautions},
	{"supply-wire", "Power through supply wires", nil, (*reviewer).supplyWire},
	{"runaway", "Thermal runaway", nil, (*reviewer).runaway},
}
