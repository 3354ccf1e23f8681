package project

import (
	"slices"

	"lampwright/internal/quantity"
)

// presence is whether a key belongs to a reading.
type presence int

const (
	absent presence = iota
	optional
	required
)

// readingRule is what a reading of one quantity states.
type readingRule struct {
	dim     quantity.Dim
	meters  []InstrumentKind // that display it
	places  []ReadingPlace   // where it is read; nil where it has no place
	channel presence
	keys    []string // further keys that belong to it
	series  []string // what its series may go by
	// usual is the range of such readings on a lamp, in the unit of dim: a value outside it is doubted. Choices of this
	// program (no source); the upper end of illuminance is that of full sun, 1.2e5 lx, with margin.
	usual [2]float64
}

var (
	lightPlaces = []ReadingPlace{AtAxis, AtSurface, AtTarget}
	byTime      = []string{"time"}
	volts       = []InstrumentKind{Multimeter}
)

// readingRules is what a reading of each quantity states.
var readingRules = map[ReadingQuantity]readingRule{
	ReadIlluminance: {
		quantity.Illuminance,
		[]InstrumentKind{LuxMeter},
		lightPlaces,
		optional,
		[]string{"distance", "at", "angle"},
		[]string{"time", "angle", "at"},
		[2]float64{1, 2e5},
	},
	ReadPPFD: {
		quantity.PPFD,
		[]InstrumentKind{QuantumSensor},
		lightPlaces,
		optional,
		[]string{"distance", "at", "angle"},
		[]string{"time", "angle", "at"},
		[2]float64{0.1, 5000},
	},
	ReadFluxRatio: {
		quantity.Ratio,
		[]InstrumentKind{LuxMeter, QuantumSensor},
		nil, required, nil, nil,
		[2]float64{0.3, 1},
	},
	ReadStringVoltage: {quantity.Voltage, volts, nil, required, nil, byTime, [2]float64{1, 1000}},
	ReadDriverVoltage: {quantity.Voltage, volts, nil, required, nil, byTime, [2]float64{1, 1000}},
	ReadStringCurrent: {
		quantity.Current,
		[]InstrumentKind{Multimeter, ClampMeter},
		nil, required,
		[]string{"meter_mode"},
		byTime,
		[2]float64{1e-3, 50},
	},
	ReadSupplyVoltage: {quantity.Voltage, volts, nil, optional, nil, byTime, [2]float64{2, 400}},
	ReadMainsPower: {
		quantity.Power,
		[]InstrumentKind{Wattmeter},
		nil, absent, nil, byTime,
		[2]float64{0.1, 5000},
	},
	ReadInfraredTemperature: {
		quantity.Temperature,
		[]InstrumentKind{InfraredThermometer},
		[]ReadingPlace{AtBoard, AtHeatSink, AtSpot},
		absent,
		[]string{"at", "spot", "emissivity_set", "emissivity", "reflected_temperature"},
		byTime,
		[2]float64{263.15, 473.15},
	},
	ReadContactTemperature: {
		quantity.Temperature,
		[]InstrumentKind{Thermocouple, Thermometer},
		[]ReadingPlace{AtSolderPoint, AtBoard, AtHeatSink, AtSpot, AtSensor, AtRoom},
		absent,
		[]string{"at", "spot", "emitter"},
		byTime,
		[2]float64{263.15, 473.15},
	},
	ReadJunctionTemperature: {
		quantity.Temperature,
		[]InstrumentKind{Multimeter},
		nil, required,
		[]string{"emitter", "cold_voltage", "steady_voltage"},
		nil,
		[2]float64{263.15, 473.15},
	},
	ReadThermistorResistance: {
		quantity.Resistance,
		[]InstrumentKind{Multimeter},
		[]ReadingPlace{AtSensor},
		absent, nil, byTime,
		[2]float64{10, 10e6},
	},
	ReadFanSpeed: {
		quantity.Rotation,
		[]InstrumentKind{Tachometer},
		nil, absent, nil, byTime,
		[2]float64{1, 500},
	},
	ReadPeakWavelength: {
		quantity.Wavelength,
		[]InstrumentKind{Spectrometer},
		nil, required, nil, nil,
		[2]float64{350, 800},
	},
	ReadPeakWidth: {
		quantity.Wavelength,
		[]InstrumentKind{Spectrometer},
		nil, required, nil, nil,
		[2]float64{5, 200},
	},
}

// light reports whether the quantity is light at a place.
func (r *readingRule) light() bool { return slices.Contains(r.places, AtAxis) }

// deltaOf returns the dimension of an uncertainty, an offset or a step of values of a dimension.
func deltaOf(d quantity.Dim) quantity.Dim {
	if d == quantity.Temperature {
		return quantity.TemperatureDifference
	}
	return d
}

// Dim returns the dimension of readings of the quantity.
func (q ReadingQuantity) Dim() quantity.Dim { return readingRules[q].dim }
