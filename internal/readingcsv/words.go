package readingcsv

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

// role is what the cells of a column are.
type role int

const (
	keyColumn   role = iota // a key of the readings file
	valueColumn             // readings of one quantity
	timeColumn              // times of a log
	dateColumn              // dates of a log, whose times are clock times
	xColumn                 // coordinates of at
	yColumn
	unitColumn // units of the column value
	skipColumn
)

// meaning is what a word of a header means.
type meaning struct {
	words []string // in lower case, but a letter that is alone
	role  role
	key   string                    // of a key column
	dim   quantity.Dim              // of the values of a key column; None: a text
	what  []project.ReadingQuantity // what a value column may be of
	unit  string                    // that the word implies
}

var (
	anyVoltage = []project.ReadingQuantity{
		project.ReadStringVoltage, project.ReadDriverVoltage, project.ReadSupplyVoltage,
	}
	anyTemperature = []project.ReadingQuantity{
		project.ReadContactTemperature, project.ReadInfraredTemperature, project.ReadJunctionTemperature,
	}
	anyWavelength = []project.ReadingQuantity{project.ReadPeakWavelength, project.ReadPeakWidth}
)

// one is a quantity as a list.
func one(q project.ReadingQuantity) []project.ReadingQuantity { return []project.ReadingQuantity{q} }

// meanings are the words of headers: names of quantities, their symbols, and keys of the readings file. A letter that
// is alone has the case of its symbol: T is a temperature, t a time.
var meanings = []meaning{
	{words: []string{"illuminance", "E", "ev", "light level"}, role: valueColumn, what: one(project.ReadIlluminance)},
	{words: []string{"lux", "lx"}, role: valueColumn, what: one(project.ReadIlluminance), unit: "lx"},
	{
		words: []string{"ppfd", "par", "pfd", "photon flux density"}, role: valueColumn, what: one(project.ReadPPFD),
		unit: "µmol/m²/s",
	},
	{words: []string{"flux ratio", "ratio"}, role: valueColumn, what: one(project.ReadFluxRatio)},
	{words: []string{"voltage", "V", "v", "U", "volt", "volts"}, role: valueColumn, what: anyVoltage},
	{
		words: []string{"string voltage", "forward voltage", "vf", "v f", "v string"}, role: valueColumn,
		what: one(project.ReadStringVoltage),
	},
	{
		words: []string{"driver voltage", "output voltage", "v driver"}, role: valueColumn,
		what: one(project.ReadDriverVoltage),
	},
	{
		words: []string{"supply voltage", "input voltage", "supply", "vin", "v in", "v supply"}, role: valueColumn,
		what: one(project.ReadSupplyVoltage),
	},
	{
		words: []string{"string current", "current", "I", "i", "A", "amp", "amps"}, role: valueColumn,
		what: one(project.ReadStringCurrent),
	},
	{
		words: []string{"mains power", "power", "P", "W", "w", "watt", "watts", "wall power"}, role: valueColumn,
		what: one(project.ReadMainsPower),
	},
	{words: []string{"temperature", "temp", "T"}, role: valueColumn, what: anyTemperature},
	{
		words: []string{"infrared temperature", "infrared", "ir", "ir temperature", "t ir"}, role: valueColumn,
		what: one(project.ReadInfraredTemperature),
	},
	{
		words: []string{"contact temperature", "thermocouple", "tc", "t tc"}, role: valueColumn,
		what: one(project.ReadContactTemperature),
	},
	{
		words: []string{"junction temperature", "tj", "t j"}, role: valueColumn,
		what: one(project.ReadJunctionTemperature),
	},
	{
		words: []string{"thermistor resistance", "thermistor", "ntc", "resistance", "R", "r", "ohm", "ohms"},
		role:  valueColumn, what: one(project.ReadThermistorResistance),
	},
	{words: []string{"fan speed", "fan", "speed"}, role: valueColumn, what: one(project.ReadFanSpeed)},
	{words: []string{"rpm"}, role: valueColumn, what: one(project.ReadFanSpeed), unit: "rpm"},
	{words: []string{"wavelength"}, role: valueColumn, what: anyWavelength},
	{words: []string{"peak wavelength", "peak"}, role: valueColumn, what: one(project.ReadPeakWavelength)},
	{words: []string{"peak width", "fwhm", "width"}, role: valueColumn, what: one(project.ReadPeakWidth)},
	{words: []string{"value", "reading", "display"}, role: valueColumn},
	{words: []string{"unit", "units"}, role: unitColumn},
	{words: []string{"time", "t", "elapsed", "elapsed time", "timestamp", "date time", "datetime"}, role: timeColumn},
	{words: []string{"s", "sec", "seconds"}, role: timeColumn, unit: "s"},
	{words: []string{"min", "minutes"}, role: timeColumn, unit: "min"},
	{words: []string{"h", "hours"}, role: timeColumn, unit: "h"},
	{words: []string{"date", "day"}, role: dateColumn},
	{words: []string{"x"}, role: xColumn, dim: quantity.Length},
	{words: []string{"y"}, role: yColumn, dim: quantity.Length},
	{words: []string{"id", "no", "nr", "number"}, key: "id"},
	{words: []string{"what", "quantity"}, key: "what"},
	{words: []string{"instrument", "meter", "device"}, key: "instrument"},
	{words: []string{"state"}, key: "state"},
	{words: []string{"channel", "ch"}, key: "channel"},
	{words: []string{"place", "location"}, key: "place"},
	{words: []string{"emitter", "led"}, key: "emitter"},
	{words: []string{"spot"}, key: "spot"},
	{words: []string{"distance", "d"}, key: "distance", dim: quantity.Length},
	{words: []string{"angle", "theta", "θ"}, key: "angle", dim: quantity.Angle},
	{words: []string{"meter mode"}, key: "meter_mode"},
	{words: []string{"emissivity set"}, key: "emissivity_set", dim: quantity.Ratio},
	{words: []string{"emissivity", "eps", "ε"}, key: "emissivity", dim: quantity.Ratio},
	{words: []string{"reflected temperature"}, key: "reflected_temperature", dim: quantity.Temperature},
	{words: []string{"cold voltage"}, key: "cold_voltage", dim: quantity.Voltage},
	{words: []string{"steady voltage"}, key: "steady_voltage", dim: quantity.Voltage},
	{words: []string{"uncertainty"}, key: "uncertainty"},
	{words: []string{"doubted"}, key: "doubted"},
	{words: []string{"note", "notes", "comment", "remark", "remarks"}, key: "note"},
}

// plainName writes a header without differences that mean nothing: case, underscores, points and hyphens.
func plainName(text string) string {
	text = strings.Join(strings.FieldsFunc(text, func(c rune) bool {
		return unicode.IsSpace(c) || c == '_' || c == '.' || c == '-' || c == ':'
	}), " ")
	if utf8.RuneCountInString(text) == 1 {
		return text
	}
	return strings.ToLower(text)
}

// meaningOf finds a word of a header; nil where it is not known.
func meaningOf(text string) *meaning {
	name := plainName(text)
	for i := range meanings {
		if slices.Contains(meanings[i].words, name) {
			return &meanings[i]
		}
	}
	return nil
}

// words lists the words of headers, for messages.
func words() (out []string) {
	for i := range meanings {
		for _, w := range meanings[i].words {
			if utf8.RuneCountInString(w) > 2 {
				out = append(out, w)
			}
		}
	}
	return out
}

// dims returns the dimensions that the cells of a column may have.
func (m *meaning) dims() (out []quantity.Dim) {
	switch {
	case m.role == timeColumn:
		return []quantity.Dim{quantity.Time}
	case m.key == "uncertainty" || m.role == valueColumn && m.what == nil:
		return quantity.Dims()
	case m.role == valueColumn:
		return []quantity.Dim{m.what[0].Dim()}
	case m.dim != quantity.None:
		return []quantity.Dim{m.dim}
	}
	return nil
}
