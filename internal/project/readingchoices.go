package project

import "lampwright/internal/quantity"

// The closed sets of the readings file.

// InstrumentKind is the kind of a measuring instrument.
type InstrumentKind string

// Words of InstrumentKind.
const (
	LuxMeter            InstrumentKind = "lux meter"
	QuantumSensor       InstrumentKind = "quantum sensor"
	Spectrometer        InstrumentKind = "spectrometer"
	Multimeter          InstrumentKind = "multimeter"
	ClampMeter          InstrumentKind = "clamp meter"
	Wattmeter           InstrumentKind = "wattmeter"
	InfraredThermometer InstrumentKind = "infrared thermometer"
	Thermocouple        InstrumentKind = "thermocouple"
	Thermometer         InstrumentKind = "thermometer"
	Tachometer          InstrumentKind = "tachometer"
)

// Values lists the words.
func (InstrumentKind) Values() []string {
	return words(LuxMeter, QuantumSensor, Spectrometer, Multimeter, ClampMeter, Wattmeter, InfraredThermometer,
		Thermocouple, Thermometer, Tachometer)
}

// Dims returns the dimensions that an instrument of this kind can display, the commonest first.
func (k InstrumentKind) Dims() []quantity.Dim {
	switch k {
	case LuxMeter:
		return []quantity.Dim{quantity.Illuminance}
	case QuantumSensor:
		return []quantity.Dim{quantity.PPFD}
	case Spectrometer:
		return []quantity.Dim{quantity.Wavelength}
	case Multimeter:
		return []quantity.Dim{quantity.Voltage, quantity.Current, quantity.Resistance}
	case ClampMeter:
		return []quantity.Dim{quantity.Current}
	case Wattmeter:
		return []quantity.Dim{quantity.Power}
	case InfraredThermometer, Thermocouple, Thermometer:
		return []quantity.Dim{quantity.Temperature}
	case Tachometer:
		return []quantity.Dim{quantity.Rotation}
	}
	return nil
}

// MeterClass is the class of a lux meter.
type MeterClass string

// Words of MeterClass.
const (
	ClassL MeterClass = "L"
	ClassA MeterClass = "A"
	ClassB MeterClass = "B"
	ClassC MeterClass = "C"
)

// Values lists the words.
func (MeterClass) Values() []string { return words(ClassL, ClassA, ClassB, ClassC) }

// ReadingQuantity is what a reading is of.
type ReadingQuantity string

// Words of ReadingQuantity.
const (
	ReadIlluminance          ReadingQuantity = "illuminance"
	ReadPPFD                 ReadingQuantity = "ppfd"
	ReadFluxRatio            ReadingQuantity = "flux ratio"
	ReadStringVoltage        ReadingQuantity = "string voltage"
	ReadDriverVoltage        ReadingQuantity = "driver voltage"
	ReadStringCurrent        ReadingQuantity = "string current"
	ReadSupplyVoltage        ReadingQuantity = "supply voltage"
	ReadMainsPower           ReadingQuantity = "mains power"
	ReadInfraredTemperature  ReadingQuantity = "infrared temperature"
	ReadContactTemperature   ReadingQuantity = "contact temperature"
	ReadJunctionTemperature  ReadingQuantity = "junction temperature"
	ReadThermistorResistance ReadingQuantity = "thermistor resistance"
	ReadFanSpeed             ReadingQuantity = "fan speed"
	ReadPeakWavelength       ReadingQuantity = "peak wavelength"
	ReadPeakWidth            ReadingQuantity = "peak width"
)

// Values lists the words.
func (ReadingQuantity) Values() []string {
	return words(ReadIlluminance, ReadPPFD, ReadFluxRatio, ReadStringVoltage, ReadDriverVoltage, ReadStringCurrent,
		ReadSupplyVoltage, ReadMainsPower, ReadInfraredTemperature, ReadContactTemperature, ReadJunctionTemperature,
		ReadThermistorResistance, ReadFanSpeed, ReadPeakWavelength, ReadPeakWidth)
}

// ReadingPlace is where a reading of light or of a temperature is made.
type ReadingPlace string

// Words of ReadingPlace.
const (
	AtAxis        ReadingPlace = "axis"
	AtSurface     ReadingPlace = "surface"
	AtTarget      ReadingPlace = "target"
	AtSolderPoint ReadingPlace = "solder point"
	AtBoard       ReadingPlace = "board"
	AtHeatSink    ReadingPlace = "heat sink"
	AtSpot        ReadingPlace = "spot"
	AtSensor      ReadingPlace = "sensor"
	AtRoom        ReadingPlace = "room"
)

// Values lists the words.
func (ReadingPlace) Values() []string {
	return words(AtAxis, AtSurface, AtTarget, AtSolderPoint, AtBoard, AtHeatSink, AtSpot, AtSensor, AtRoom)
}

// MeterMode is what an ammeter displays of a pulsed current.
type MeterMode string

// Words of MeterMode.
const (
	MeterMean      MeterMode = "mean"
	MeterTrueRMS   MeterMode = "true rms"
	MeterACRMS     MeterMode = "ac rms"
	MeterACAverage MeterMode = "ac average"
)

// Values lists the words.
func (MeterMode) Values() []string { return words(MeterMean, MeterTrueRMS, MeterACRMS, MeterACAverage) }

// OnOff is the state of a part that can be switched or removed.
type OnOff string

// Words of OnOff.
const (
	On  OnOff = "on"
	Off OnOff = "off"
)

// Values lists the words.
func (OnOff) Values() []string { return words(On, Off) }

// TimeOrigin is the moment from which the times of a state count.
type TimeOrigin string

// Words of TimeOrigin.
const (
	FromSwitchOn  TimeOrigin = "switch-on"
	FromSwitchOff TimeOrigin = "switch-off"
)

// Values lists the words.
func (TimeOrigin) Values() []string { return words(FromSwitchOn, FromSwitchOff) }
