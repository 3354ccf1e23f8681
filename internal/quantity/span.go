package quantity

import (
	"strconv"
	"strings"
)

// span is the range of magnitudes that a value of a dimension can have in a self-built lamp, its room, or a datasheet
// of its parts. Zero is always in it.
type span struct{ min, max float64 }

// spans is the range of each dimension, in the unit that it is stored in. The ends lie at least a factor of ten beyond
// what any part or room has, so that they catch slips such as 1e308 EUR and 1 fm, and no unusual part; limits of a key
// are in its own tags. Judgement of the trade, no source; a limit of nature is named.
var spans = [dimCount]span{
	None:                      {1e-12, 1e12},
	Ratio:                     {1e-12, 1e6},
	Current:                   {1e-15, 1e6}, // leakage, to the breaking capacity of a breaker
	Voltage:                   {1e-9, 1e6},  // insulation tests: some kV
	Power:                     {1e-12, 1e6}, // a lamp has some kW at most
	Resistance:                {1e-9, 1e15}, // contacts, to insulation
	Capacitance:               {1e-18, 1e4},
	Inductance:                {1e-15, 1e4},
	Length:                    {1e-9, 20e3}, // coatings, to the altitude
	CopperThickness:           {1e-7, 1e-2},
	Wavelength:                {1e-3, 1e6}, // also widths and shifts
	Area:                      {1e-15, 1e6},
	Volume:                    {1e-15, 1e6},
	Angle:                     {1e-9, 1e3},
	Time:                      {1e-12, 1e11}, // switching, to 3000 years
	Temperature:               {1, 3000},     // soldering and melting points; above absolute zero
	TemperatureDifference:     {1e-9, 1e5},   // also B of a thermistor, some 4000 K
	TemperatureRate:           {1e-9, 1e6},
	CCT:                       {minCCT, maxCCT},
	Conductivity:              {1e-6, 1e5}, // air 0.026, diamond 2200
	ThermalResistance:         {1e-9, 1e9},
	SpecificThermalResistance: {1e-12, 1e6},
	ThermalConductance:        {1e-9, 1e9},
	HeatTransferCoefficient:   {1e-6, 1e9},
	HeatFlux:                  {1e-12, 1e12},
	Flux:                      {1e-9, 1e9},
	Illuminance:               {1e-9, 1e9}, // the sun: 1e5 lx
	Intensity:                 {1e-9, 1e12},
	IntensityPerFlux:          {1e-9, 1e9},
	Luminance:                 {1e-9, 1e13}, // the disc of the sun: 1.6e9 cd/m²
	Efficacy:                  {1e-9, 1e5},  // limit of nature: 683 lm/W
	PhotonFlux:                {1e-9, 1e9},
	PPFD:                      {1e-9, 1e5}, // the sun: 2000 µmol/m²/s
	DLI:                       {1e-9, 1e4}, // a summer day: 65 mol/m²/d
	PhotonEfficacy:            {1e-9, 1e3}, // limit of nature at 700 nm: 5.9 µmol/J
	Absorption:                {1e-12, 1e9},
	Concentration:             {1e-12, 1e5},
	Pressure:                  {1e-9, 1e13}, // moduli of elasticity: 1e11 Pa
	VolumeFlow:                {1e-12, 1e4},
	Velocity:                  {1e-9, 1e5},
	Frequency:                 {1e-9, 1e13},
	Rotation:                  {1e-6, 1e5},
	Mass:                      {1e-12, 1e6},
	Force:                     {1e-12, 1e9},
	Torque:                    {1e-12, 1e7},
	Stiffness:                 {1e-9, 1e12},
	Energy:                    {1e-15, 1e13},
	Money:                     {1e-6, 1e6}, // the whole lamp has less
	Tariff:                    {1e-6, 1e3},
	VoltagePerKelvin:          {1e-12, 1e3},
	RatioPerKelvin:            {1e-12, 1e3},
	WavelengthPerKelvin:       {1e-9, 1e3},
	PerKelvin:                 {1e-12, 1e3},
	Density:                   {1e-6, 1e6}, // osmium 22 600 kg/m³
	SpecificHeat:              {1e-3, 1e6}, // water 4186 J/(kg·K)
	HeatCapacity:              {1e-12, 1e12},
	ResistancePerLength:       {1e-12, 1e12},
	FieldStrength:             {1e-6, 1e12},
	SoundLevel:                {1e-6, 300},
	Rate:                      {1e-15, 1e6}, // ageing, 1e-10 1/s
}

// holds reports whether a value is possible.
func (s span) holds(si float64) bool {
	m := abs(si)
	return m == 0 || m >= s.min*(1-1e-9) && m <= s.max*(1+1e-9)
}

// within is an error for a value that is impossible in any place; it names the range.
func within(text string, si float64, d Dim) *Error {
	s := spans[d]
	if s.holds(si) {
		return nil
	}
	return &Error{
		Kind: OutOfRange, Text: text, Want: d, Msg: quote(text) + " is out of the range of " + d.Article(),
		Hint: "its magnitude is 0, or " + stored(s.min, d) + " to " + stored(s.max, d),
	}
}

// stored returns a number with the unit that its dimension is stored in: 20000 m, 1e-9 m.
func stored(x float64, d Dim) string {
	text := strconv.FormatFloat(x, 'f', -1, 64)
	if len(text) > 7 {
		text = strings.NewReplacer("e-0", "e-", "e+0", "e", "e+", "e").Replace(strconv.FormatFloat(x, 'e', -1, 64))
	}
	return strings.TrimSpace(text + " " + d.Stored())
}
