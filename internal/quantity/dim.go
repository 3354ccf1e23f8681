package quantity

import (
	"fmt"
	"math"
	"strings"
)

// Dim names a dimension that a value can have. The zero Dim is None, a plain number.
type Dim uint8

// The dimensions. Dim.Name gives the name that ByName and the tags of package source use.
const (
	None                      Dim = iota // a number without a unit
	Ratio                                // fraction; written in % or ‰
	Current                              // A
	Voltage                              // V
	Power                                // W
	Resistance                           // Ω
	Capacitance                          // F
	Inductance                           // H
	Length                               // m
	CopperThickness                      // m; also "1 oz", which the trade takes as 35 µm of copper
	Wavelength                           // nm
	Area                                 // m²
	Volume                               // m³
	Angle                                // rad
	Time                                 // s
	Temperature                          // K, absolute
	TemperatureDifference                // K
	TemperatureRate                      // K/s
	CCT                                  // K, 1000 to 40000
	Conductivity                         // W/(m·K)
	ThermalResistance                    // K/W
	SpecificThermalResistance            // m²·K/W
	ThermalConductance                   // W/K
	HeatTransferCoefficient              // W/(m²·K)
	HeatFlux                             // W/m²; also irradiance
	Flux                                 // lm
	Illuminance                          // lx
	Intensity                            // cd
	IntensityPerFlux                     // cd/lm
	Luminance                            // cd/m²
	Efficacy                             // lm/W
	PhotonFlux                           // µmol/s
	PPFD                                 // µmol/m²/s
	DLI                                  // mol/m²/d
	PhotonEfficacy                       // µmol/J
	Absorption                           // 1/m
	Concentration                        // kg/m³; written in mg/l and the like
	Pressure                             // Pa
	VolumeFlow                           // m³/s
	Velocity                             // m/s
	Frequency                            // Hz
	Rotation                             // revolutions per second
	Mass                                 // kg
	Force                                // N
	Torque                               // N·m
	Stiffness                            // N/m; written in N/mm
	Energy                               // J
	Money                                // EUR
	Tariff                               // EUR/kWh
	VoltagePerKelvin                     // V/K
	RatioPerKelvin                       // 1/K; written in %/K
	WavelengthPerKelvin                  // nm/K
	PerKelvin                            // 1/K; written in 1/K or ppm/K
	Density                              // kg/m³
	SpecificHeat                         // J/(kg·K)
	HeatCapacity                         // J/K
	ResistancePerLength                  // Ω/m
	FieldStrength                        // V/m
	SoundLevel                           // dB
	Rate                                 // 1/s; written in 1/h
	dimCount
)

const (
	zeroCelsius     = 273.15 // K, exact
	minCCT          = 1000   // K; below it a radiator hardly glows
	maxCCT          = 40000  // K; the bluest daylight
	ounceCopperM    = 35e-6  // m of copper per ounce: the trade's rounding of the nominal 34.3 µm of IPC-4562
	inchM           = 0.0254 // m, exact
	cubicFootM3     = 0.028316846592
	millimetreWater = 9.80665 // Pa, conventional
)

// unit is one way to write a dimension.
type unit struct {
	symbol  string
	factor  float64 // stored value = number·factor + offset
	offset  float64
	from    float64  // Format uses the unit from this stored magnitude upwards; below zero: never
	aliases []string // other spellings that the rules of canonical do not already cover
}

// dimension is what is known of a Dim.
type dimension struct {
	name, phrase string // phrase reads after "is": "a voltage"
	stored       string
	example      string
	decimals     int // fixed decimals in Format; below zero: by significant digits
	units        []unit
}

const never = -1

// u is a unit that Format uses from a stored magnitude upwards.
func u(symbol string, factor, from float64, aliases ...string) unit {
	return unit{symbol: symbol, factor: factor, from: from, aliases: aliases}
}

const bySignificance = -1

// dims is indexed by Dim and never changes.
var dims = [dimCount]dimension{
	None: {"none", "a plain number", "", "80", bySignificance, nil},
	Ratio: {
		"ratio", "a ratio", "", "82 %", bySignificance,
		[]unit{u("%", 0.01, 0), u("‰", 0.001, never), u("ppm", 1e-6, never)},
	},
	Current: {"current", "a current", "A", "2.1 A", bySignificance, []unit{
		u("A", 1, 1), u("mA", 1e-3, 1e-3), u("µA", 1e-6, 0),
	}},
	Voltage: {"voltage", "a voltage", "V", "2.9 V", bySignificance, []unit{
		u("V", 1, 1), u("mV", 1e-3, 1e-3), u("kV", 1e3, 1e3), u("µV", 1e-6, 0),
	}},
	Power: {"power", "a power", "W", "10 W", bySignificance, []unit{
		u("W", 1, 1), u("mW", 1e-3, 1e-3), u("kW", 1e3, 1e4), u("µW", 1e-6, 0),
	}},
	Resistance: {"resistance", "a resistance", "Ω", "10 kΩ", bySignificance, []unit{
		u(
			"Ω", 1, 1, "Ohm", "ohms", "R",
		), u("mΩ", 1e-3, 1e-3, "mOhm"), u("kΩ", 1e3, 1e3, "kOhm"), u("MΩ", 1e6, 1e6, "MOhm"), u("µΩ", 1e-6, 0),
	}},
	Capacitance: {"capacitance", "a capacitance", "F", "100 µF", bySignificance, []unit{
		u("F", 1, 1), u("mF", 1e-3, never), u("µF", 1e-6, 1e-6), u("nF", 1e-9, 1e-9), u("pF", 1e-12, 0),
	}},
	Inductance: {"inductance", "an inductance", "H", "47 µH", bySignificance, []unit{
		u("H", 1, 1), u("mH", 1e-3, 1e-3), u("µH", 1e-6, 1e-6), u("nH", 1e-9, 0),
	}},
	Length: {"length", "a length", "m", "320 mm", bySignificance, []unit{
		u("m", 1, 1), u("mm", 1e-3, 1e-3), u("µm", 1e-6, 1e-6), u("cm", 1e-2, never), u("nm", 1e-9, 0), u("km", 1e3, never), u("in", inchM, never), u("mil", inchM/1000, never),
	}},
	CopperThickness: {"copper thickness", "a copper thickness", "m", "35 µm", bySignificance, []unit{
		u("µm", 1e-6, 0), u("mm", 1e-3, 1e-3), u(
			"oz", ounceCopperM, never,
		), u("mil", inchM/1000, never), u("m", 1, never),
	}},
	Wavelength: {"wavelength", "a wavelength", "nm", "450 nm", bySignificance, []unit{
		u("nm", 1, 0), u("µm", 1e3, never), u("mm", 1e6, never), u("m", 1e9, never),
	}},
	Area: {"area", "an area", "m²", "100 cm²", bySignificance, []unit{
		u("m²", 1, 0.1), u("cm²", 1e-4, 1e-4), u("mm²", 1e-6, 1e-8), u("µm²", 1e-12, 0), u("dm²", 1e-2, never),
	}},
	Volume: {"volume", "a volume", "m³", "60 l", bySignificance, []unit{
		u("l", 1e-3, 1e-3, "L"), u(
			"ml", 1e-6, 1e-7, "mL",
		), u("m³", 1, 1), u("cm³", 1e-6, never), u("mm³", 1e-9, 0), u("dm³", 1e-3, never),
	}},
	Angle: {"angle", "an angle", "rad", "60 deg", bySignificance, []unit{
		u(
			"deg", math.Pi/180, never, "degree", "degrees",
		), u("°", math.Pi/180, 0), u("rad", 1, never), u("mrad", 1e-3, never),
	}},
	Time: {"time", "a time", "s", "12 h", bySignificance, []unit{
		u("s", 1, 1, "second", "seconds"), u("ms", 1e-3, 1e-3), u("min", 60, 120, "minute", "minutes"), u("h", 3600, 7200, "hour", "hours"), u("d", 86400, never, "day", "days"), u("µs", 1e-6, 1e-6), u("ns", 1e-9, 0), u("kh", 3.6e6, never), u("a", 365.25*86400, never, "year", "years"),
		u("week", 7*86400, never, "weeks"), u("month", 30.4375*86400, never, "months"),
	}},
	Temperature: {"temperature", "a temperature", "K", "85 °C", 1, []unit{
		{symbol: "°C", factor: 1, offset: zeroCelsius, from: 0, aliases: []string{"degC"}}, u("K", 1, never),
	}},
	TemperatureDifference: {
		"temperature difference", "a temperature difference", "K", "5 K", bySignificance,
		[]unit{u("K", 1, 1), u("mK", 1e-3, 0)},
	},
	TemperatureRate: {
		"temperature rate", "a temperature rate", "K/s", "2 K/s", bySignificance,
		[]unit{u("K/s", 1, 0, "°C/s"), u("K/min", 1./60, never, "°C/min"), u("K/h", 1./3600, never, "°C/h")},
	},
	CCT: {"cct", "a colour temperature", "K", "5000 K", 0, []unit{u("K", 1, 0)}},
	Conductivity: {
		"conductivity", "a thermal conductivity", "W/(m·K)", "2 W/(m·K)", bySignificance,
		[]unit{
			u("W/(m·K)", 1, 0, "W/mK", "W/(mK)", "W/(m·°C)", "W/m°C"), u("W/(cm·K)", 100, never),
			u("mW/(m·K)", 1e-3, never),
		},
	},
	ThermalResistance: {
		"thermal resistance", "a thermal resistance", "K/W", "4 K/W", bySignificance,
		[]unit{u("K/W", 1, 1e-3, "°C/W"), u("mK/W", 1e-3, 0)},
	},
	SpecificThermalResistance: {
		"specific thermal resistance", "a specific thermal resistance", "m²·K/W", "30 mm²·K/W",
		bySignificance,
		[]unit{
			u("mm²·K/W", 1e-6, 0, "mm²·°C/W"), u("m²·K/W", 1, 0.1, "m²·°C/W"), u("cm²·K/W", 1e-4, never, "cm²·°C/W"), u(
				"in²·K/W", inchM*inchM, never, "in²·°C/W",
			),
		},
	},
	ThermalConductance: {
		"thermal conductance", "a thermal conductance", "W/K", "0.5 W/K", bySignificance,
		[]unit{u("W/K", 1, 0.1, "W/°C"), u("mW/K", 1e-3, 0, "mW/°C")},
	},
	HeatTransferCoefficient: {
		"film", "a film coefficient", "W/(m²·K)", "8 W/(m²·K)", bySignificance,
		[]unit{u("W/(m²·K)", 1, 0, "W/(m²·°C)"), u("W/(cm²·K)", 1e4, never)},
	},
	HeatFlux: {
		"heat flux", "a power per area", "W/m²", "500 W/m²", bySignificance,
		[]unit{
			u("W/m²", 1, 1e-3), u("W/cm²", 1e4, never), u("kW/m²", 1e3, 1e4), u("mW/m²", 1e-3, 0),
			u("mW/cm²", 10, never), u("W/mm²", 1e6, never),
		},
	},
	Flux: {
		"flux", "a luminous flux", "lm", "300 lm", bySignificance,
		[]unit{u("lm", 1, 0), u("klm", 1e3, never), u("mlm", 1e-3, never)},
	},
	Illuminance: {
		"illuminance", "an illuminance", "lx", "4000 lx", bySignificance,
		[]unit{u("lx", 1, 0, "lux"), u("klx", 1e3, 1e5, "klux")},
	},
	Intensity: {
		"intensity", "a luminous intensity", "cd", "200 cd", bySignificance,
		[]unit{u("cd", 1, 1), u("mcd", 1e-3, 0), u("kcd", 1e3, 1e5)},
	},
	IntensityPerFlux: {
		"intensity per flux", "an intensity per flux", "cd/lm", "0.85 cd/lm", bySignificance,
		[]unit{u("cd/lm", 1, 0), u("cd/klm", 1e-3, never)},
	},
	Luminance: {
		"luminance", "a luminance", "cd/m²", "1000 cd/m²", bySignificance,
		[]unit{u("cd/m²", 1, 0), u("kcd/m²", 1e3, 1e5), u("Mcd/m²", 1e6, 1e7), u("cd/mm²", 1e6, never)},
	},
	Efficacy: {
		"efficacy", "a luminous efficacy", "lm/W", "150 lm/W", bySignificance, []unit{u("lm/W", 1, 0)},
	},
	PhotonFlux: {
		"photon flux", "a photon flux", "µmol/s", "40 µmol/s", bySignificance,
		[]unit{u("µmol/s", 1, 0), u("mmol/s", 1e3, never), u("mol/s", 1e6, never)},
	},
	PPFD: {
		"ppfd", "a photon flux density", "µmol/m²/s", "60 µmol/m²/s", bySignificance,
		[]unit{u("µmol/m²/s", 1, 0), u("mmol/m²/s", 1e3, never), u("mol/m²/s", 1e6, never)},
	},
	DLI: {
		"dli", "a daily light integral", "mol/m²/d", "2 mol/m²/d", bySignificance,
		[]unit{u("mol/m²/d", 1, 0, "mol/m²/day", "mol/(m²·day)")},
	},
	PhotonEfficacy: {
		"photon efficacy", "a photon efficacy", "µmol/J", "2.5 µmol/J", bySignificance,
		[]unit{u("µmol/J", 1, 0, "µmol/s/W"), u("mol/kWh", 1e6/3.6e6, never)},
	},
	Absorption: {
		"absorption", "an absorption coefficient", "1/m", "0.3 1/m", bySignificance,
		[]unit{u("1/m", 1, 0), u("1/cm", 100, never), u("1/mm", 1e3, never)},
	},
	Concentration: {"concentration", "a concentration", "kg/m³", "5 mg/l", bySignificance, []unit{
		u("mg/l", 1e-3, 1e-3, "mg/L"), u("g/l", 1, 1, "g/L"), u("µg/l", 1e-6, 0, "µg/L"), u("mg/m³", 1e-6, never), u("g/m³", 1e-3, never), u("kg/m³", 1, never),
	}},
	Pressure: {"pressure", "a pressure", "Pa", "30 Pa", bySignificance, []unit{
		u("Pa", 1, 0.1), u("hPa", 100, never), u("kPa", 1e3, 1e4), u("MPa", 1e6, 1e7), u("mPa", 1e-3, 0), u("mbar", 100, never), u("bar", 1e5, never), u("mmH2O", millimetreWater, never), u("inH2O", 25.4*millimetreWater, never),
	}},
	VolumeFlow: {"volume flow", "a volume flow", "m³/s", "60 m³/h", bySignificance, []unit{
		u("m³/h", 1./3600, 0), u("m³/min", 1./60, never), u("m³/s", 1, 10), u("l/s", 1e-3, never, "L/s"), u("l/min", 1e-3/60, never, "L/min"), u("l/h", 1e-3/3600, never, "L/h"), u("cfm", cubicFootM3/60, never, "CFM"),
	}},
	Velocity: {
		"velocity", "a velocity", "m/s", "2 m/s", bySignificance,
		[]unit{
			u("m/s", 1, 0.1), u("cm/s", 1e-2, never), u("mm/s", 1e-3, 0), u("m/min", 1./60, never),
			u("km/h", 1/3.6, never),
		},
	},
	Frequency: {
		"frequency", "a frequency", "Hz", "1 kHz", bySignificance,
		[]unit{u("Hz", 1, 1), u("kHz", 1e3, 1e3), u("MHz", 1e6, 1e6), u("GHz", 1e9, 1e9), u("mHz", 1e-3, 0)},
	},
	Rotation: {
		"rotation", "a speed of rotation", "1/s", "1800 rpm", bySignificance,
		[]unit{u("rpm", 1./60, 0, "1/min", "r/min", "RPM"), u("1/s", 1, never)},
	},
	Mass: {
		"mass", "a mass", "kg", "0.4 kg", bySignificance,
		[]unit{u("kg", 1, 1), u("g", 1e-3, 1e-3), u("mg", 1e-6, 1e-6), u("µg", 1e-9, 0)},
	},
	Force: {
		"force", "a force", "N", "240 N", bySignificance,
		[]unit{u("N", 1, 0), u("kN", 1e3, 1e4), u("kgf", 9.80665, never, "kp")},
	},
	Torque: {
		"torque", "a torque", "N·m", "0.5 N·m", bySignificance,
		[]unit{u("N·m", 1, 0, "Nm"), u("N·cm", 1e-2, never, "Ncm"), u("mN·m", 1e-3, never, "mNm")},
	},
	Stiffness: {
		"stiffness", "a stiffness", "N/m", "25 N/mm", bySignificance,
		[]unit{u("N/mm", 1e3, 0), u("N/m", 1, never)},
	},
	Energy: {
		"energy", "an energy", "J", "1.2 kWh", bySignificance,
		[]unit{
			u("J", 1, 1e-3), u("kJ", 1e3, never), u("MJ", 1e6, never), u("Wh", 3600, 3600), u("kWh", 3.6e6, 3.6e6),
			u("MWh", 3.6e9, 3.6e10), u("µJ", 1e-6, 0), u("mJ", 1e-3, never),
		},
	},
	Money: {
		"money", "an amount of money", "EUR", "12.50 EUR", 2, []unit{u("EUR", 1, 0, "Euro", "euro"), u("€", 1, never)},
	},
	Tariff: {"tariff", "a price of energy", "EUR/kWh", "0.32 EUR/kWh", bySignificance, []unit{
		u("EUR/kWh", 1, 0), u("€/kWh", 1, never), u(
			"ct/kWh", 0.01, never, "cent/kWh",
		), u("EUR/MWh", 1e-3, never), u("€/MWh", 1e-3, never),
	}},
	VoltagePerKelvin: {
		"voltage per kelvin", "a voltage per kelvin", "V/K", "-2 mV/K", bySignificance,
		[]unit{u("mV/K", 1e-3, 1e-5, "mV/°C"), u("V/K", 1, 1, "V/°C"), u("µV/K", 1e-6, 0, "µV/°C")},
	},
	RatioPerKelvin: {
		"ratio per kelvin", "a ratio per kelvin", "1/K", "-0.2 %/K", bySignificance,
		[]unit{
			u("%/K", 1e-2, 1e-6, "%/°C"), u("‰/K", 1e-3, never, "‰/°C"), u("ppm/K", 1e-6, 0, "ppm/°C"),
			u("1/K", 1, never, "1/°C"),
		},
	},
	WavelengthPerKelvin: {
		"wavelength per kelvin", "a wavelength shift per kelvin", "nm/K", "0.05 nm/K", bySignificance,
		[]unit{u("nm/K", 1, 0, "nm/°C")},
	},
	PerKelvin: {
		"per kelvin", "a coefficient per kelvin", "1/K", "17 ppm/K", bySignificance,
		[]unit{u("1/K", 1, 1e-3, "1/°C"), u("ppm/K", 1e-6, 0, "ppm/°C"), u("%/K", 1e-2, never, "%/°C")},
	},
	Density: {
		"density", "a density", "kg/m³", "2700 kg/m³", bySignificance,
		[]unit{
			u("kg/m³", 1, 0), u("g/cm³", 1e3, never), u("kg/dm³", 1e3, never), u("kg/l", 1e3, never, "kg/L"),
			u("g/ml", 1e3, never, "g/mL"),
		},
	},
	SpecificHeat: {
		"specific heat", "a specific heat capacity", "J/(kg·K)", "900 J/(kg·K)", bySignificance,
		[]unit{
			u("J/(kg·K)", 1, 0, "J/kgK", "J/(kgK)", "J/(kg·°C)"), u("kJ/(kg·K)", 1e3, never, "kJ/kgK"),
			u("J/(g·K)", 1e3, never, "J/gK"),
		},
	},
	HeatCapacity: {
		"heat capacity", "a heat capacity", "J/K", "350 J/K", bySignificance,
		[]unit{
			u("J/K", 1, 0.1, "J/°C"), u("kJ/K", 1e3, 1e5), u("mJ/K", 1e-3, 0), u("W·s/K", 1, never, "Ws/K"),
			u("Wh/K", 3600, never),
		},
	},
	ResistancePerLength: {
		"resistance per length", "a resistance per length", "Ω/m", "33.3 Ω/km", bySignificance,
		[]unit{u("Ω/km", 1e-3, 0, "Ohm/km"), u("Ω/m", 1, 10, "Ohm/m"), u("mΩ/m", 1e-3, never, "mOhm/m")},
	},
	FieldStrength: {
		"field strength", "a field strength", "V/m", "30 kV/mm", bySignificance,
		[]unit{
			u("kV/mm", 1e6, 1e5), u("V/m", 1, 0), u("kV/m", 1e3, never), u("V/mm", 1e3, never), u("V/µm", 1e6, never),
			u("kV/cm", 1e5, never), u("MV/m", 1e6, never), u("V/mil", 1000/inchM, never),
		},
	},
	SoundLevel: {"sound level", "a sound level", "dB", "18 dB(A)", 1, []unit{u("dB(A)", 1, 0, "dB", "dBA")}},
	Rate: {
		"rate", "a rate", "1/s", "2.5e-6 1/h", bySignificance,
		[]unit{u("1/h", 1./3600, 0), u("1/kh", 1./3.6e6, never), u("1/s", 1, never)},
	},
}

func (d Dim) check() {
	if d >= dimCount {
		panic(fmt.Sprintf("quantity: there is no dimension %d", d))
	}
}

// Name returns the name of the dimension, as ByName takes it.
func (d Dim) Name() string { d.check(); return dims[d].name }

// String returns the name of the dimension.
func (d Dim) String() string {
	if d >= dimCount {
		return fmt.Sprintf("Dim(%d)", uint8(d))
	}
	return dims[d].name
}

// MarshalText returns the name of the dimension.
func (d Dim) MarshalText() ([]byte, error) { return []byte(d.Name()), nil }

// UnmarshalText reads the name of a dimension.
func (d *Dim) UnmarshalText(text []byte) error {
	v, ok := ByName(string(text))
	if !ok {
		return fmt.Errorf("there is no dimension %q", text)
	}
	*d = v
	return nil
}

// Example returns a value of the dimension as a person would write it.
func (d Dim) Example() string { d.check(); return dims[d].example }

// Units returns the units that the dimension may be written in, the commonest first; none for a plain number.
func (d Dim) Units() []string {
	d.check()
	var out []string
	for _, u := range dims[d].units {
		out = append(out, u.symbol)
	}
	return out
}

// Stored returns the unit that Parse returns values in and Format takes them in; "" for plain numbers and fractions.
func (d Dim) Stored() string { d.check(); return dims[d].stored }

// Dims returns every dimension.
func Dims() []Dim {
	out := make([]Dim, dimCount)
	for i := range out {
		out[i] = Dim(i)
	}
	return out
}

// ByName returns the dimension of that name.
func ByName(name string) (Dim, bool) {
	for i := range dims {
		if dims[i].name == name {
			return Dim(i), true
		}
	}
	return None, false
}

// delta returns the dimension of a tolerance on a value.
func (d Dim) delta() Dim {
	switch d {
	case Temperature, CCT:
		return TemperatureDifference
	}
	return d
}

// takesPercent reports whether a tolerance in per cent can be read in one way only.
func (d Dim) takesPercent() bool { return d != Ratio && d != Temperature && d != SoundLevel }

func (d Dim) toleranceExample() string {
	if d.takesPercent() {
		return dims[d].example + " ± 5 %"
	}
	if d == Ratio {
		return dims[d].example
	}
	return dims[d].example + " ± " + dims[d.delta()].example
}

// unitList names the units that would do: "A, mA or µA".
func (d Dim) unitList() string {
	names := d.Units()
	if len(names) > 5 {
		names = names[:5]
	}
	switch n := len(names); n {
	case 0:
		return "no unit"
	case 1:
		return names[0]
	default:
		return strings.Join(names[:n-1], ", ") + " or " + names[n-1]
	}
}

// suggest returns the person's number with a unit of d, where the unit had no prefix; else the example.
func (d Dim) suggest(digits string, from *unit) string {
	switch {
	case d == None:
		return digits
	case d == CCT || d == Money || len(dims[d].units) == 0:
		return dims[d].example
	case from != nil && (from.factor != 1 || from.offset != 0):
		return dims[d].example
	case dims[d].units[0].factor != 1 && from != nil:
		return dims[d].example
	case from == nil && d == Ratio:
		return dims[d].example
	case from == nil:
		// A bare number most likely means the unit that people use for the dimension, as the example does: 600 mm.
		if _, unit, ok := strings.Cut(dims[d].example, " "); ok {
			return digits + " " + unit
		}
		return dims[d].example
	}
	return digits + " " + dims[d].units[0].symbol
}

// Article returns what a value of the dimension is called in a sentence: "a current", "an area".
func (d Dim) Article() string { d.check(); return dims[d].phrase }
