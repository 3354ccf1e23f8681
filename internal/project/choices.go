package project

// The closed sets of the file format. Each type lists its words once: loading, schema, reference and the choices of the
// workspace follow from it.

func words[T ~string](all ...T) []string {
	out := make([]string, len(all))
	for i, w := range all {
		out[i] = string(w)
	}
	return out
}

// MeterKind says what a meter reads.
type MeterKind string

// Words of MeterKind.
const (
	MeterLux MeterKind = "lux"
	MeterPAR MeterKind = "PAR"
)

// Values lists the words.
func (MeterKind) Values() []string { return words(MeterLux, MeterPAR) }

// Facing is the direction of the white disc of a meter.
type Facing string

// Words of Facing.
const (
	FacingUp    Facing = "up"
	FacingDown  Facing = "down"
	FacingFront Facing = "front"
	FacingBack  Facing = "back"
	FacingLeft  Facing = "left"
	FacingRight Facing = "right"
)

// Values lists the words.
func (Facing) Values() []string {
	return words(FacingUp, FacingDown, FacingFront, FacingBack, FacingLeft, FacingRight)
}

// InstallationKind says what the lamp lights.
type InstallationKind string

// Words of InstallationKind.
const (
	Tank  InstallationKind = "tank"
	Bench InstallationKind = "bench"
)

// Values lists the words.
func (InstallationKind) Values() []string { return words(Tank, Bench) }

// WaterTint is the colour of the water.
type WaterTint string

// Words of WaterTint.
const (
	TintClear  WaterTint = "clear"
	TintYellow WaterTint = "slightly yellow"
	TintTea    WaterTint = "tea"
)

// Values lists the words.
func (WaterTint) Values() []string { return words(TintClear, TintYellow, TintTea) }

// Persons is the persons that can touch the lamp.
type Persons string

// Words of Persons.
const (
	Adults   Persons = "adults"
	Children Persons = "children"
)

// Values lists the words.
func (Persons) Values() []string { return words(Adults, Children) }

// BoardShape is the outline of a board.
type BoardShape string

// Words of BoardShape.
const (
	Rectangle BoardShape = "rectangle"
	Disc      BoardShape = "disc"
	Polygon   BoardShape = "polygon"
)

// Values lists the words.
func (BoardShape) Values() []string { return words(Rectangle, Disc, Polygon) }

// MountingMethod is what presses a board on its heat sink.
type MountingMethod string

// Words of MountingMethod.
const (
	MountScrews   MountingMethod = "screws"
	MountClips    MountingMethod = "clips"
	MountAdhesive MountingMethod = "adhesive"
	MountTape     MountingMethod = "tape"
	MountNone     MountingMethod = "none"
)

// Values lists the words.
func (MountingMethod) Values() []string {
	return words(MountScrews, MountClips, MountAdhesive, MountTape, MountNone)
}

// WasherKind is what is between the head of a screw and the board.
type WasherKind string

// Words of WasherKind.
const (
	WasherFlat       WasherKind = "flat"
	WasherToothed    WasherKind = "toothed"
	WasherInsulating WasherKind = "insulating"
)

// Values lists the words.
func (WasherKind) Values() []string { return words(WasherFlat, WasherToothed, WasherInsulating) }

// ScrewSize is the thread of a screw.
type ScrewSize string

// Words of ScrewSize.
const (
	ScrewM2  ScrewSize = "M2"
	ScrewM25 ScrewSize = "M2.5"
	ScrewM3  ScrewSize = "M3"
	ScrewM4  ScrewSize = "M4"
	ScrewM5  ScrewSize = "M5"
)

// Values lists the words.
func (ScrewSize) Values() []string { return words(ScrewM2, ScrewM25, ScrewM3, ScrewM4, ScrewM5) }

// LensMaterial is what a lens is made of.
type LensMaterial string

// Words of LensMaterial.
const (
	LensPMMA     LensMaterial = "PMMA"
	LensPC       LensMaterial = "PC"
	LensSilicone LensMaterial = "silicone"
	LensCOC      LensMaterial = "COC"
	LensGlass    LensMaterial = "glass"
	LensPS       LensMaterial = "PS"
)

// Values lists the words.
func (LensMaterial) Values() []string {
	return words(LensPMMA, LensPC, LensSilicone, LensCOC, LensGlass, LensPS)
}

// CutoutKind is how a thermal cut-out works.
type CutoutKind string

// Words of CutoutKind.
const (
	CutoutBimetal CutoutKind = "bimetal"
	CutoutLink    CutoutKind = "thermal link"
)

// Values lists the words.
func (CutoutKind) Values() []string { return words(CutoutBimetal, CutoutLink) }

// CutoutSwitches is what a thermal cut-out interrupts.
type CutoutSwitches string

// Words of CutoutSwitches.
const (
	CutsMains       CutoutSwitches = "mains"
	CutsDriverInput CutoutSwitches = "driver_input"
	CutsEnable      CutoutSwitches = "enable"
)

// Values lists the words.
func (CutoutSwitches) Values() []string { return words(CutsMains, CutsDriverInput, CutsEnable) }

// SuspensionMethod is how a lamp is hung or set up.
type SuspensionMethod string

// Words of SuspensionMethod.
const (
	HangLines SuspensionMethod = "lines"
	HangRim   SuspensionMethod = "rim"
	HangStand SuspensionMethod = "stand"
)

// Values lists the words.
func (SuspensionMethod) Values() []string { return words(HangLines, HangRim, HangStand) }

// AnchorBase is what an anchor is in.
type AnchorBase string

// Words of AnchorBase.
const (
	BaseConcrete     AnchorBase = "concrete"
	BaseWood         AnchorBase = "wood"
	BaseFrame        AnchorBase = "frame"
	BasePlasterboard AnchorBase = "plasterboard"
)

// Values lists the words.
func (AnchorBase) Values() []string {
	return words(BaseConcrete, BaseWood, BaseFrame, BasePlasterboard)
}

// InterfaceForm is what a thermal interface material is.
type InterfaceForm string

// Words of InterfaceForm.
const (
	FormPaste    InterfaceForm = "paste"
	FormPad      InterfaceForm = "pad"
	FormTape     InterfaceForm = "tape"
	FormAdhesive InterfaceForm = "adhesive"
)

// Values lists the words.
func (InterfaceForm) Values() []string { return words(FormPaste, FormPad, FormTape, FormAdhesive) }

// FuseStandard is the standard that rates a fuse.
type FuseStandard string

// Words of FuseStandard.
const (
	FuseIEC60127 FuseStandard = "IEC 60127"
	FuseUL248    FuseStandard = "UL 248"
	FuseISO8820  FuseStandard = "ISO 8820"
)

// Values lists the words.
func (FuseStandard) Values() []string { return words(FuseIEC60127, FuseUL248, FuseISO8820) }

// Orientation is the orientation of a heat sink.
type Orientation string

// Words of Orientation.
const (
	FinsUp     Orientation = "fins up"
	FinsDown   Orientation = "fins down"
	Vertical   Orientation = "vertical"
	FinsAcross Orientation = "fins across"
)

// Values lists the words.
func (Orientation) Values() []string { return words(FinsUp, FinsDown, Vertical, FinsAcross) }

// HousingFaces is the direction of the faces of a housing.
type HousingFaces string

// Words of HousingFaces.
const (
	FacesUpright HousingFaces = "upright"
	FacesUp      HousingFaces = "up"
	FacesDown    HousingFaces = "down"
)

// Values lists the words.
func (HousingFaces) Values() []string { return words(FacesUpright, FacesUp, FacesDown) }

// Airflow is the direction of the air of a fan to the fins.
type Airflow string

// Words of Airflow.
const (
	Impinging    Airflow = "impinging"
	ParallelFlow Airflow = "parallel"
)

// Values lists the words.
func (Airflow) Values() []string { return words(Impinging, ParallelFlow) }

// MainsLocation says where supplies and drivers with mains input are.
type MainsLocation string

// Words of MainsLocation.
const (
	Remote     MainsLocation = "remote"
	AboveWater MainsLocation = "above_water"
)

// Values lists the words.
func (MainsLocation) Values() []string { return words(Remote, AboveWater) }

// BreakerCurve is the tripping curve of a circuit breaker (IEC 60898-1).
type BreakerCurve string

// Words of BreakerCurve.
const (
	CurveB BreakerCurve = "B"
	CurveC BreakerCurve = "C"
	CurveD BreakerCurve = "D"
)

// Values lists the words.
func (BreakerCurve) Values() []string { return words(CurveB, CurveC, CurveD) }

// SwitchKind is the device that switches the mains.
type SwitchKind string

// Words of SwitchKind.
const (
	SwitchTimer  SwitchKind = "timer"
	SwitchRelay  SwitchKind = "relay"
	SwitchPlug   SwitchKind = "plug switch"
	SwitchManual SwitchKind = "manual"
	SwitchNone   SwitchKind = "none"
)

// Values lists the words.
func (SwitchKind) Values() []string {
	return words(SwitchTimer, SwitchRelay, SwitchPlug, SwitchManual, SwitchNone)
}

// LampType is the type of a lamp that is replaced.
type LampType string

// Words of LampType.
const (
	Triphosphor   LampType = "triphosphor"
	Halophosphate LampType = "halophosphate"
	Broadband     LampType = "broadband"
	MetalHalide   LampType = "metal halide"
	Incandescent  LampType = "incandescent"
	LED           LampType = "led"
)

// Values lists the words.
func (LampType) Values() []string {
	return words(Triphosphor, Halophosphate, Broadband, MetalHalide, Incandescent, LED)
}

// ReflectorKind is what is above the tubes of a lamp that is replaced.
type ReflectorKind string

// Words of ReflectorKind.
const (
	NoReflector        ReflectorKind = "none"
	PaintedReflector   ReflectorKind = "painted"
	AluminiumReflector ReflectorKind = "aluminium"
)

// Values lists the words.
func (ReflectorKind) Values() []string {
	return words(NoReflector, PaintedReflector, AluminiumReflector)
}

// Material is the semiconductor of a die.
type Material string

// Words of Material.
const (
	InGaN   Material = "InGaN"
	AlInGaP Material = "AlInGaP"
)

// Values lists the words.
func (Material) Values() []string { return words(InGaN, AlInGaP) }

// RthDefinition is the definition of a thermal resistance (JESD51-51).
type RthDefinition string

// Words of RthDefinition.
const (
	RthReal       RthDefinition = "real"
	RthElectrical RthDefinition = "electrical"
)

// Values lists the words.
func (RthDefinition) Values() []string { return words(RthReal, RthElectrical) }

// LensFinish says how a die appears through a lens.
type LensFinish string

// Words of LensFinish.
const (
	LensClear     LensFinish = "clear"
	LensDiffusing LensFinish = "diffusing"
)

// Values lists the words.
func (LensFinish) Values() []string { return words(LensClear, LensDiffusing) }

// PadPotential is the potential of a thermal pad.
type PadPotential string

// Words of PadPotential.
const (
	PadIsolated PadPotential = "isolated"
	PadAnode    PadPotential = "anode"
	PadCathode  PadPotential = "cathode"
)

// Values lists the words.
func (PadPotential) Values() []string { return words(PadIsolated, PadAnode, PadCathode) }

// BoardBase is the material of the core of a board.
type BoardBase string

// Words of BoardBase.
const (
	Aluminium BoardBase = "aluminium"
	Copper    BoardBase = "copper"
	FR4       BoardBase = "FR4"
)

// Values lists the words.
func (BoardBase) Values() []string { return words(Aluminium, Copper, FR4) }

// ThermalPath is the heat path from a thermal pad into the core.
type ThermalPath string

// Words of ThermalPath.
const (
	PathDielectric ThermalPath = "dielectric"
	PathDirect     ThermalPath = "direct"
	PathVias       ThermalPath = "vias"
)

// Values lists the words.
func (ThermalPath) Values() []string { return words(PathDielectric, PathDirect, PathVias) }

// DriverKind is the topology of a driver.
type DriverKind string

// Words of DriverKind.
const (
	DriverAC     DriverKind = "ac"
	DriverBuck   DriverKind = "buck"
	DriverBoost  DriverKind = "boost"
	DriverLinear DriverKind = "linear"
)

// Values lists the words.
func (DriverKind) Values() []string { return words(DriverAC, DriverBuck, DriverBoost, DriverLinear) }

// DimmingMethod is the dimming method of a driver.
type DimmingMethod string

// Words of DimmingMethod.
const (
	DimmingNone     DimmingMethod = "none"
	DimmingPWM      DimmingMethod = "pwm"
	DimmingAnalogue DimmingMethod = "analogue"
)

// Values lists the words.
func (DimmingMethod) Values() []string { return words(DimmingNone, DimmingPWM, DimmingAnalogue) }

// Isolation is the insulation between output and mains.
type Isolation string

// Words of Isolation.
const (
	IsolationSELV  Isolation = "SELV"
	IsolationBasic Isolation = "basic"
	IsolationNone  Isolation = "none"
)

// Values lists the words.
func (Isolation) Values() []string { return words(IsolationSELV, IsolationBasic, IsolationNone) }

// ProtectionClass is the protection class (IEC 61140).
type ProtectionClass string

// Words of ProtectionClass.
const (
	ClassI  ProtectionClass = "I"
	ClassII ProtectionClass = "II"
)

// Values lists the words.
func (ProtectionClass) Values() []string { return words(ClassI, ClassII) }

// OverloadProtection is the behaviour of a supply on overload.
type OverloadProtection string

// Words of OverloadProtection.
const (
	OverloadConstantCurrent OverloadProtection = "constant current"
	OverloadFoldback        OverloadProtection = "foldback"
	OverloadHiccup          OverloadProtection = "hiccup"
	OverloadLatchOff        OverloadProtection = "latch-off"
)

// Values lists the words.
func (OverloadProtection) Values() []string {
	return words(OverloadConstantCurrent, OverloadFoldback, OverloadHiccup, OverloadLatchOff)
}

// OpenInput is what a driver does while its dimming input is open.
type OpenInput string

// Words of OpenInput.
const (
	OpenOff  OpenInput = "off"
	OpenFull OpenInput = "full"
)

// Values lists the words.
func (OpenInput) Values() []string { return words(OpenOff, OpenFull) }

// ResetOutputs is what the outputs of a controller do until its program sets them.
type ResetOutputs string

// Words of ResetOutputs.
const (
	ResetLow           ResetOutputs = "low"
	ResetHighImpedance ResetOutputs = "high impedance"
	ResetHigh          ResetOutputs = "high"
)

// Values lists the words.
func (ResetOutputs) Values() []string { return words(ResetLow, ResetHighImpedance, ResetHigh) }

// FanOutput is how a controller drives a fan.
type FanOutput string

// Words of FanOutput.
const (
	FanOutputNone   FanOutput = "none"
	FanOutputSwitch FanOutput = "switch"
	FanOutputPWM    FanOutput = "pwm"
)

// Values lists the words.
func (FanOutput) Values() []string { return words(FanOutputNone, FanOutputSwitch, FanOutputPWM) }

// DimmingPolarity is the level of a PWM input at which the light is on.
type DimmingPolarity string

// Words of DimmingPolarity.
const (
	ActiveHigh DimmingPolarity = "high"
	ActiveLow  DimmingPolarity = "low"
)

// Values lists the words.
func (DimmingPolarity) Values() []string { return words(ActiveHigh, ActiveLow) }

// LampMetal is how the metal of the lamp is connected.
type LampMetal string

// Words of LampMetal.
const (
	MetalBonded   LampMetal = "bonded"
	MetalFloating LampMetal = "floating"
)

// Values lists the words.
func (LampMetal) Values() []string { return words(MetalBonded, MetalFloating) }

// Metal is a metal of screws and surfaces, by its galvanic behaviour.
type Metal string

// Words of Metal.
const (
	MetalAluminium Metal = "aluminium"
	MetalAnodised  Metal = "anodised aluminium"
	MetalCopper    Metal = "copper"
	MetalTin       Metal = "tin"
	MetalBrass     Metal = "brass"
	MetalStainless Metal = "stainless"
	MetalSteel     Metal = "steel"
	MetalZinc      Metal = "zinc"
	MetalTitanium  Metal = "titanium"
	MetalPlastic   Metal = "plastic"
)

// Values lists the words.
func (Metal) Values() []string {
	return words(MetalAluminium, MetalAnodised, MetalCopper, MetalTin, MetalBrass, MetalStainless, MetalSteel, MetalZinc,
		MetalTitanium, MetalPlastic)
}

// Coating is a conformal coating of a board, by its resin (types AR, UR, ER, SR and XY of IPC-CC-830).
type Coating string

// Words of Coating.
const (
	CoatingAcrylic  Coating = "acrylic"
	CoatingUrethane Coating = "urethane"
	CoatingEpoxy    Coating = "epoxy"
	CoatingSilicone Coating = "silicone"
	CoatingParylene Coating = "parylene"
)

// Values lists the words.
func (Coating) Values() []string {
	return words(CoatingAcrylic, CoatingUrethane, CoatingEpoxy, CoatingSilicone, CoatingParylene)
}

// Sealing is how the air in an enclosure is connected to the room.
type Sealing string

// Words of Sealing.
const (
	SealingOpen   Sealing = "open"
	SealingVented Sealing = "vented"
	SealingSealed Sealing = "sealed"
	SealingPotted Sealing = "potted"
)

// Values lists the words.
func (Sealing) Values() []string {
	return words(SealingOpen, SealingVented, SealingSealed, SealingPotted)
}

// DayCurve is how light follows the time between two keyframes.
type DayCurve string

// Words of DayCurve.
const (
	LinearLevel     DayCurve = "linear"
	LinearLightness DayCurve = "lightness"
)

// Values lists the words.
func (DayCurve) Values() []string { return words(LinearLevel, LinearLightness) }

// RampShape is the course of the setting from the keyframe before.
type RampShape string

// Words of RampShape.
const (
	StraightRamp RampShape = "straight"
	EasedRamp    RampShape = "eased"
	StepRamp     RampShape = "step"
)

// Values lists the words.
func (RampShape) Values() []string { return words(StraightRamp, EasedRamp, StepRamp) }

// DayClock is the clock by which the programme runs.
type DayClock string

// Words of DayClock.
const (
	LocalClock   DayClock = "local"
	StandardTime DayClock = "standard"
)

// Values lists the words.
func (DayClock) Values() []string { return words(LocalClock, StandardTime) }

// MoonPhase is what the moonlight of a night follows.
type MoonPhase string

// Words of MoonPhase.
const (
	FullEveryNight MoonPhase = "constant"
	LunarPhase     MoonPhase = "lunar"
)

// Values lists the words.
func (MoonPhase) Values() []string { return words(FullEveryNight, LunarPhase) }
