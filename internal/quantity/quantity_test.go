package quantity

import (
	"errors"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// The sources of the factors. SI2019 is the SI Brochure, 9th edition (BIPM 2019, updated 2022), which also contains the
// units accepted for use with the SI; NIST811 is NIST Special Publication 811 (2008), appendix B.
const (
	si2019  = "SI2019"
	nist811 = "NIST811"
	inch    = "exact: international yard and pound agreement of 1959, 1 in = 25.4 mm (NIST811, B.6)"
)

func TestParse(t *testing.T) {
	for _, tt := range []struct {
		text   string
		dim    Dim
		want   float64
		source string
	}{
		{"2.1 A", Current, 2.1, "by definition"},
		{"2.1A", Current, 2.1, "the blank may be left out"},
		{" 350 mA\t", Current, 0.35, "prefix: SI2019, table 7"},
		{"350 mA", Current, 0.35, "no-break space"},
		{"20 µA", Current, 20e-6, "micro sign U+00B5"},
		{"20 μA", Current, 20e-6, "Greek mu U+03BC"},
		{"20 uA", Current, 20e-6, "u for micro: ISO 2955, common practice"},
		{"+2 V", Voltage, 2, "sign"},
		{"-2 V", Voltage, -2, "sign"},
		{"−2 V", Voltage, -2, "minus sign U+2212"},
		{"-0 V", Voltage, 0, "no negative zero"},
		{".5 V", Voltage, 0.5, "no digit before the point"},
		{"1e-3 m", Length, 1e-3, "exponent"},
		{"1E+3 m", Length, 1e3, "exponent"},
		{"1e−3m", Length, 1e-3, "exponent with U+2212"},
		{"3 kV", Voltage, 3000, si2019},
		{"10 kΩ", Resistance, 1e4, "U+03A9"},
		{"10 kΩ", Resistance, 1e4, "ohm sign U+2126"},
		{"10 kohm", Resistance, 1e4, "spelled out"},
		{"0.1 Ohm", Resistance, 0.1, "spelled out"},
		{"100 nF", Capacitance, 1e-7, si2019},
		{"47 uH", Inductance, 47e-6, si2019},
		{"320 mm", Length, 0.32, si2019},
		{"12 cm", Length, 0.12, si2019},
		{"1 in", Length, 0.0254, inch},
		{"10 mil", Length, 254e-6, inch},
		{"1 oz", CopperThickness, 35e-6, "common practice: 35 µm; IPC-4562 nominal 34.3 µm"},
		{"70 µm", CopperThickness, 70e-6, si2019},
		{"450 nm", Wavelength, 450, "stored in nm"},
		{"0.45 µm", Wavelength, 450, "stored in nm"},
		{"100 cm²", Area, 0.01, si2019},
		{"100 cm^2", Area, 0.01, si2019},
		{"100 cm2", Area, 0.01, si2019},
		{"60 l", Volume, 0.06, "SI2019, table 8"},
		{"60 L", Volume, 0.06, "SI2019, table 8"},
		{"180 deg", Angle, math.Pi, "SI2019, table 8"},
		{"180°", Angle, math.Pi, "SI2019, table 8"},
		{"1 rad", Angle, 1, si2019},
		{"12 h", Time, 43200, "SI2019, table 8"},
		{"45 min", Time, 2700, "SI2019, table 8"},
		{"1 d", Time, 86400, "SI2019, table 8"},
		{"2 ms", Time, 2e-3, si2019},
		{"0 °C", Temperature, 273.15, "SI2019, 2.3.1"},
		{"85 °C", Temperature, 358.15, "SI2019, 2.3.1"},
		{"85°C", Temperature, 358.15, "no blank"},
		{"85 ℃", Temperature, 358.15, "U+2103"},
		{"85 degC", Temperature, 358.15, "spelled out"},
		{"-40 °C", Temperature, 233.15, "SI2019, 2.3.1"},
		{"300 K", Temperature, 300, "by definition"},
		{"5 K", TemperatureDifference, 5, "by definition"},
		{"-5 K", TemperatureDifference, -5, "by definition"},
		{"90 K/min", TemperatureRate, 1.5, "60 s in a minute"},
		{"5000 K", CCT, 5000, "by definition"},
		{"2 W/(m·K)", Conductivity, 2, "by definition"},
		{"2 W/(m*K)", Conductivity, 2, "spelling"},
		{"2 W/(m K)", Conductivity, 2, "spelling"},
		{"2 W/m/K", Conductivity, 2, "spelling"},
		{"2 W/mK", Conductivity, 2, "spelling of datasheets"},
		{"2 W m⁻¹ K⁻¹", Conductivity, 2, "spelling of SI2019, 5.4.7"},
		{"2 W·m^-1·K^-1", Conductivity, 2, "spelling"},
		{"2 W m-1 K-1", Conductivity, 2, "spelling"},
		{"4 K/W", ThermalResistance, 4, "by definition"},
		{"4 °C/W", ThermalResistance, 4, "a degree Celsius is as large as a kelvin: SI2019, 2.3.1"},
		{"30 mm²·K/W", SpecificThermalResistance, 30e-6, si2019},
		{"30 mm2K/W", SpecificThermalResistance, 30e-6, si2019},
		{"30 K·mm²/W", SpecificThermalResistance, 30e-6, si2019},
		{"1 in²·°C/W", SpecificThermalResistance, 6.4516e-4, inch},
		{"8 W/(m²·K)", HeatTransferCoefficient, 8, "by definition"},
		{"8 W/m²K", HeatTransferCoefficient, 8, "factors that touch are one denominator"},
		{"8 W/m2/K", HeatTransferCoefficient, 8, "spelling"},
		{"100 W/m²", HeatFlux, 100, "by definition"},
		{"1.5 klm", Flux, 1500, si2019},
		{"4000 lux", Illuminance, 4000, "spelled out"},
		{"0.85 cd/lm", IntensityPerFlux, 0.85, "by definition"},
		{"850 cd/klm", IntensityPerFlux, 0.85, si2019},
		{"40 µmol/s", PhotonFlux, 40, "stored in µmol/s"},
		{"60 µmol/m²/s", PPFD, 60, "stored in µmol/m²/s"},
		{"60 µmol/(m²·s)", PPFD, 60, "spelling"},
		{"60 umol/m2/s", PPFD, 60, "spelling"},
		{"60 µmol m⁻² s⁻¹", PPFD, 60, "spelling"},
		{"60 µmol·m⁻²·s⁻¹", PPFD, 60, "spelling"},
		{"2 mol/m²/d", DLI, 2, "stored in mol/m²/d"},
		{"2 mol/(m²·day)", DLI, 2, "spelling"},
		{"2.5 µmol/J", PhotonEfficacy, 2.5, "stored in µmol/J"},
		{"9 mol/kWh", PhotonEfficacy, 2.5, "1 kWh = 3.6 MJ"},
		{"0.3 1/m", Absorption, 0.3, "by definition"},
		{"0.3 m⁻¹", Absorption, 0.3, "spelling"},
		{"5 mg/l", Concentration, 5e-3, "1 mg/l = 1 g/m³"},
		{"1 mbar", Pressure, 100, nist811},
		{"1 mmH2O", Pressure, 9.80665, "NIST811, conventional millimetre of water"},
		{"1 inH2O", Pressure, 249.08891, "NIST811, conventional inch of water"},
		{"3600 m³/h", VolumeFlow, 1, "3600 s in an hour"},
		{"60 l/min", VolumeFlow, 1e-3, "60 s in a minute"},
		{"1 cfm", VolumeFlow, 4.719474432e-4, "NIST811: 4.719474 E−04 for ft³/min; here from (0.3048 m)³/60 s"},
		{"3.6 km/h", Velocity, 1, "3600 s in an hour"},
		{"1 kHz", Frequency, 1000, si2019},
		{"1800 1/min", Rotation, 30, "60 s in a minute"},
		{"1800 rpm", Rotation, 30, "60 s in a minute"},
		{"400 g", Mass, 0.4, si2019},
		{"1 kWh", Energy, 3.6e6, "exact, NIST811"},
		{"12.50 EUR", Money, 12.5, "by definition"},
		{"12.50 €", Money, 12.5, "by definition"},
		{"32 ct/kWh", Tariff, 0.32, "stored in EUR/kWh"},
		{"-2 mV/K", VoltagePerKelvin, -2e-3, si2019},
		{"-2 mV/°C", VoltagePerKelvin, -2e-3, si2019},
		{"0.39 %/K", RatioPerKelvin, 3.9e-3, "per cent: SI2019, 5.4.7"},
		{"0.39 %/°C", RatioPerKelvin, 3.9e-3, "per cent"},
		{"0.05 nm/K", WavelengthPerKelvin, 0.05, "stored in nm/K"},
		{"17 ppm/K", PerKelvin, 17e-6, "parts in a million"},
		{"2.7 g/cm³", Density, 2700, "1 g/cm³ = 1000 kg/m³"},
		{"900 J/(kg·K)", SpecificHeat, 900, "by definition"},
		{"0.9 kJ/kgK", SpecificHeat, 900, si2019},
		{"33.3 Ω/km", ResistancePerLength, 0.0333, si2019},
		{"30 kV/mm", FieldStrength, 3e7, si2019},
		{"82 %", Ratio, 0.82, "per cent"},
		{"8 ‰", Ratio, 0.008, "per mille"},
		{"80", None, 80, "plain number"},
		{"1e3", None, 1000, "plain number"},
		{"18 dB(A)", SoundLevel, 18, "by definition"},
	} {
		got, err := Parse(tt.text, tt.dim)
		if err != nil {
			t.Errorf("Parse(%q, %s): %v (%s)", tt.text, tt.dim, err, tt.source)
			continue
		}
		// A factor and a multiplication each round once: a few parts in 2⁵³.
		if math.Abs(got-tt.want) > 1e-14*math.Abs(tt.want) || math.Signbit(got) != math.Signbit(tt.want) {
			t.Errorf("Parse(%q, %s) = %.17g, want %.17g (%s)", tt.text, tt.dim, got, tt.want, tt.source)
		}
	}
}

func TestParseErrors(t *testing.T) {
	for _, tt := range []struct {
		text string
		dim  Dim
		kind Kind
		want string
	}{
		{"2.4", Current, BareNumber, `"2.4" has no unit; a current takes A, mA or µA, such as "2.4 A"`},
		{"0.82", Ratio, BareNumber, `"0.82" has no unit; a ratio takes %, ‰ or ppm, such as "82 %"`},
		{"85", Temperature, BareNumber, `"85" has no unit; a temperature takes °C or K, such as "85 °C"`},
		{"2.4 V", Current, WrongDimension, `"2.4 V" is a voltage; this field takes a current, such as "2.4 A"`},
		{"300 mV", Current, WrongDimension, `"300 mV" is a voltage; this field takes a current, such as "2.1 A"`},
		{"80 %", None, WrongDimension, `"80 %" is a ratio; this field takes a plain number, such as "80"`},
		{"85 °C", Conductivity, WrongDimension, `"85 °C" is a temperature; this field takes a thermal conductivity, such as "2 W/(m·K)"`},
		{"3000 lm", CCT, WrongDimension, `"3000 lm" is a luminous flux; this field takes a colour temperature, such as "5000 K"`},
		{"1 oz", Length, WrongDimension, `"1 oz" is a copper thickness; this field takes a length, such as "320 mm"`},
		{"5 °C", TemperatureDifference, Absolute, `"5 °C" is a temperature; this field takes a temperature difference, such as "5 K"; a difference is written in K`},
		{"10 K", Temperature, Difference, `"10 K" would be -263.15 °C; this field takes a temperature, such as "85 °C"; a temperature is written in °C, a difference in K`},
		{"85 C", Temperature, UnknownUnit, `"C" in "85 C" is not a unit known here; this field takes a temperature; write "85 °C"; C alone is the coulomb`},
		{"185 °F", Temperature, UnknownUnit, `"°F" in "185 °F" is not a unit known here; this field takes a temperature; write it in °C`},
		{"-300 °C", Temperature, OutOfRange, `"-300 °C" is below absolute zero`},
		{"-1 K", Temperature, OutOfRange, `"-1 K" is below absolute zero`},
		{"700 K", CCT, OutOfRange, `"700 K" is no colour temperature of a light source; 1000 K to 40000 K`},
		{
			"5.700 K", CCT, OutOfRange,
			`"5.700 K" is no colour temperature of a light source; write "5700 K": the point is the decimal mark, ` +
				`and nothing parts thousands`,
		},
		{"1e999 A", Current, OutOfRange, `"1e999 A" is too large a number`},
		{"1e308 kV", Voltage, OutOfRange, `"1e308 kV" is too large a number`},
		{"5 Ma", Current, UnknownUnit, `"Ma" in "5 Ma" is not a unit known here; this field takes a current; did you mean "5 mA"?`},
		{"5 khz", Frequency, UnknownUnit, `"khz" in "5 khz" is not a unit known here; this field takes a frequency; did you mean "5 kHz"?`},
		{"60 µmol/m²s²", PPFD, UnknownUnit, `"µmol/m²s²" in "60 µmol/m²s²" is not a unit known here; this field takes a photon flux density; did you mean "60 µmol/m²/s"?`},
		{"2 W/m K", Conductivity, UnknownUnit, `"W/m K" in "2 W/m K" is not a unit known here; this field takes a thermal conductivity; such as "2 W/(m·K)"`},
		{"5 xyz", Current, UnknownUnit, `"xyz" in "5 xyz" is not a unit known here; this field takes a current; such as "2.1 A"`},
		{"12 USD", Money, UnknownUnit, `"USD" in "12 USD" is not a unit known here; this field takes an amount of money; amounts are in EUR: exchange it and write "12.50 EUR"`},
		{"€12", Money, Malformed, `"€12" does not begin with a number; the unit follows the number: "12 EUR"`},
		{"2,1 A", Current, Malformed, `"2,1 A" contains a decimal comma; write "2.1 A"`},
		{
			"3.100,5 lm", Flux, Malformed,
			`"3.100,5 lm" contains a point and a comma; write "3100.5 lm": the decimal mark is a point, and nothing ` +
				`parts thousands`,
		},
		{
			"1.400.000 lm", Flux, Malformed,
			`"1.400.000 lm" contains two points; write the digits together: "1400000 lm"`,
		},
		{
			"5000-7000 K", CCT, Malformed,
			`"5000-7000 K" is a range; write {value: 6000 K, min: 5000 K, max: 7000 K}, or one value`,
		},
		{
			"65–110 µmol/m²/s", PPFD, Malformed,
			`"65–110 µmol/m²/s" is a range; write {value: 87.5 µmol/m²/s, min: 65 µmol/m²/s, max: 110 µmol/m²/s}, ` +
				`or one value`,
		},
		{
			"5000 K to 7000 K", CCT, Malformed,
			`"5000 K to 7000 K" is a range; write {value: 6000 K, min: 5000 K, max: 7000 K}, or one value`,
		},
		{"1..3 A", Current, Malformed, `"1..3 A" is a range; write {value: 2 A, min: 1 A, max: 3 A}, or one value`},
		{"1,000 lm", Flux, Malformed, `"1,000 lm" contains a comma; write "1.000 lm", or "1000 lm" if the comma parts thousands`},
		{"1, A", Current, Malformed, `"1, A" contains a comma after its number; the decimal mark is a point, as in "2.1 A"`},
		{"1 000 lm", Flux, Malformed, `"1 000 lm" has a blank inside its number; write the digits together: "1000 lm"`},
		{"1 2 A", Current, Malformed, `"1 2 A" contains two numbers; write one number and its unit`},
		{"1_000 A", Current, Malformed, `"1_000 A" parts its digits with a mark; write the digits together: "1000 A"`},
		{"1'000 A", Current, Malformed, `"1'000 A" parts its digits with a mark; write the digits together: "1000 A"`},
		{"0x10 A", Current, Malformed, `"0x10 A" is hexadecimal; write a decimal number`},
		{"5. A", Current, Malformed, `"5. A" is not a number that can be read; write digits on both sides of the point, or no point`},
		{"NaN A", Current, Malformed, `"NaN A" does not begin with a number; write "2.1 A"`},
		{"Inf A", Current, Malformed, `"Inf A" does not begin with a number; write "2.1 A"`},
		{".inf", None, Malformed, `".inf" does not begin with a number; write "80"`},
		{"A", Current, Malformed, `"A" does not begin with a number; write "2.1 A"`},
		{"~2 A", Current, Malformed, `"~2 A" does not begin with a number; write one value, or one with a tolerance such as "2.1 A ± 5 %"`},
		{"--2 A", Current, Malformed, `"--2 A" does not begin with a number; write "2.1 A"`},
		{"", Current, Malformed, `there is no value; write "2.1 A"`},
		{"2 A\x00\x1b", Current, UnknownUnit, `"A\x00\x1b" in "2 A\x00\x1b" is not a unit known here; this field takes a current; such as "2.1 A"`},
		{"5 /K", PerKelvin, UnknownUnit, `"/K" in "5 /K" is not a unit known here; this field takes a coefficient per kelvin; did you mean "5 1/K"?`},
		{"5 K/K", None, UnknownUnit, `"K/K" in "5 K/K" is not a unit known here; this field takes a plain number; such as "80"`},
		{"2 " + strings.Repeat("A", 200), Current, TooLong, `"2 ` + strings.Repeat("A",
			57) + `…" is too long for a value; write a number and its unit, such as "2.1 A"`},
	} {
		_, err := Parse(tt.text, tt.dim)
		var e *Error
		switch {
		case err == nil:
			t.Errorf("Parse(%q, %s): no error, want %s", tt.text, tt.dim, tt.want)
		case !errors.As(err, &e):
			t.Errorf("Parse(%q, %s): a %T, want *Error", tt.text, tt.dim, err)
		case e.Kind != tt.kind || e.Error() != tt.want:
			t.Errorf("Parse(%q, %s):\n got %d %s\nwant %d %s", tt.text, tt.dim, e.Kind, e, tt.kind, tt.want)
		case e.Want != tt.dim:
			t.Errorf("Parse(%q, %s): Want is %s", tt.text, tt.dim, e.Want)
		}
	}
}

func TestParseTolerance(t *testing.T) {
	for _, tt := range []struct {
		text      string
		dim       Dim
		v, lo, hi float64
	}{
		{"2.9 V", Voltage, 2.9, 2.9, 2.9},
		{"2.9 V ± 0.1 V", Voltage, 2.9, 2.8, 3.0},
		{"2.9 V +/- 100 mV", Voltage, 2.9, 2.8, 3.0},
		{"2.9V±5%", Voltage, 2.9, 2.755, 3.045},
		{"-2 mV/K ± 10 %", VoltagePerKelvin, -2e-3, -2.2e-3, -1.8e-3},
		{"6500 K ± 500 K", CCT, 6500, 6000, 7000},
		{"85 °C ± 5 K", Temperature, 358.15, 353.15, 363.15},
		{"300 lm ± 4 %", Flux, 300, 288, 312},
		{"2 mol/m²/d ± 25 %", DLI, 2, 1.5, 2.5},
		{"80 ± 2", None, 80, 78, 82},
		{"80 ± 5 %", None, 80, 76, 84},
		{"1 oz ± 10 %", CopperThickness, 35e-6, 31.5e-6, 38.5e-6},
		{"5 A ± 0 A", Current, 5, 5, 5},
	} {
		v, lo, hi, err := ParseTolerance(tt.text, tt.dim)
		if err != nil {
			t.Errorf("ParseTolerance(%q): %v", tt.text, err)
			continue
		}
		for _, c := range [][2]float64{{v, tt.v}, {lo, tt.lo}, {hi, tt.hi}} {
			if math.Abs(c[0]-c[1]) > 1e-12*math.Abs(tt.v) { // rounding of a few operations
				t.Errorf("ParseTolerance(%q) = %g, %g, %g, want %g, %g, %g", tt.text, v, lo, hi, tt.v, tt.lo, tt.hi)
			}
		}
	}
	for _, tt := range []struct {
		text string
		dim  Dim
		want string
	}{
		{"2.9 ± 0.1 V", Voltage, `"2.9" has no unit; a voltage takes V, mV, kV or µV, such as "2.9 V"; write the unit twice: "2.9 V ± 0.1 V"`},
		{"2.9 V ± 0.1", Voltage, `"0.1" has no unit; a voltage takes V, mV, kV or µV, such as "0.1 V"`},
		{"2.9 V ± 0.1 A", Voltage, `"0.1 A" is a current; this field takes a voltage, such as "0.1 V"`},
		{"85 °C ± 5 °C", Temperature, `"5 °C" is a temperature; this field takes a temperature difference, such as "5 K"; a difference is written in K`},
		{"85 °C ± 5 %", Temperature, `a tolerance of "5 %" on a temperature can be read in two ways; give both ends: {value: 85 °C, min: …, max: …}`},
		{"90 % ± 2 %", Ratio, `a tolerance of "2 %" on a ratio can be read in two ways; give both ends: {value: 90 %, min: …, max: …}`},
		{"5 V ±", Voltage, `"5 V ±" has a tolerance that cannot be read; write "2.9 V ± 5 %"`},
		{"5 V ± 1 V ± 2 V", Voltage, `"5 V ± 1 V ± 2 V" has a tolerance that cannot be read; write "2.9 V ± 5 %"`},
		{"5 V ± -1 V", Voltage, `the tolerance "-1 V" is below zero; leave out the sign`},
		{"± 1 V", Voltage, `there is no value; write "2.9 V"`},
		{
			"1e308 V ± 1e308 V", Voltage,
			`"1e308 V" is out of the range of a voltage; its magnitude is 0, or 1e-9 V to 1000000 V`,
		},
		{strings.Repeat("±", 101), Voltage, `"` + strings.Repeat("±",
			59) + `…" is too long for a value; write a number and its unit, such as "2.9 V"`},
	} {
		_, _, _, err := ParseTolerance(tt.text, tt.dim)
		if err == nil || err.Error() != tt.want {
			t.Errorf("ParseTolerance(%q, %s):\n got %v\nwant %s", tt.text, tt.dim, err, tt.want)
		}
	}
}

func TestFormat(t *testing.T) {
	for _, tt := range []struct {
		si   float64
		dim  Dim
		want string
	}{
		{2.1, Current, "2.10 A"},
		{0.35, Current, "350 mA"},
		{2e-5, Current, "20.0 µA"},
		{0, Current, "0 A"},
		{0.32, Length, "320 mm"},
		{1.2, Length, "1.20 m"},
		{0.9996, Length, "1000 mm"},
		{-0.0123, Length, "-12.3 mm"},
		{35e-6, CopperThickness, "35.0 µm"},
		{450, Wavelength, "450 nm"},
		{358.35, Temperature, "85.2 °C"},
		{273.149, Temperature, "0.0 °C"},
		{233.15, Temperature, "-40.0 °C"},
		{5, TemperatureDifference, "5.00 K"},
		{5012.4, CCT, "5012 K"},
		{0.82, Ratio, "82.0 %"},
		{60.1, PPFD, "60.1 µmol/m²/s"},
		{2, DLI, "2.00 mol/m²/d"},
		{12345, Illuminance, "12350 lx"},
		{1234.5, Flux, "1235 lm"},
		{43200, Time, "12.0 h"},
		{2700, Time, "45.0 min"},
		{90, Time, "90.0 s"},
		{math.Pi / 3, Angle, "60.0°"},
		{30, Rotation, "1800 rpm"},
		{1. / 60, VolumeFlow, "60.0 m³/h"},
		{250, Money, "250.00 EUR"},
		{-0.001, Money, "0.00 EUR"},
		{0.32, Tariff, "0.320 EUR/kWh"},
		{-2e-3, VoltagePerKelvin, "-2.00 mV/K"},
		{3.9e-3, RatioPerKelvin, "0.390 %/K"},
		{30e-6, SpecificThermalResistance, "30.0 mm²·K/W"},
		{80, None, "80"},
		{0.8166, None, "0.8166"},
		{12345.6, None, "12350"},
		{0, None, "0"},
		{1e20, None, "1e+20"},
		{18, SoundLevel, "18.0 dB(A)"},
		{math.NaN(), Current, "NaN A"},
		{math.Inf(1), Time, "∞ h"},
		{math.Inf(-1), None, "-∞"},
	} {
		if got := Format(tt.si, tt.dim); got != tt.want {
			t.Errorf("Format(%g, %s) = %q, want %q", tt.si, tt.dim, got, tt.want)
		}
	}
	for _, tt := range []struct {
		si     float64
		dim    Dim
		unit   string
		digits int
		want   string
	}{
		{0.32, Length, "mm", 1, "320.0 mm"},
		{358.15, Temperature, "°C", 0, "85 °C"},
		{358.15, Temperature, "K", 2, "358.15 K"},
		{math.Pi, Angle, "°", 0, "180°"},
		{0.35, Current, "uA", 0, "350000 uA"},
		{0.826, None, "", 2, "0.83"},
		{math.NaN(), Length, "mm", 1, "NaN mm"},
		{3, Length, "m", -1, "3 m"},
	} {
		if got := FormatIn(tt.si, tt.dim, tt.unit, tt.digits); got != tt.want {
			t.Errorf("FormatIn(%g, %s, %q, %d) = %q, want %q", tt.si, tt.dim, tt.unit, tt.digits, got, tt.want)
		}
	}
	if got := In(0.1, VolumeFlow, "m³/h"); math.Abs(got-360) > 1e-9 {
		t.Errorf("In(0.1 m³/s, m³/h) = %g, want 360", got)
	}
}

func TestMistakesPanic(t *testing.T) {
	for name, f := range map[string]func(){
		"unit of another dimension": func() { FormatIn(1, Current, "V", 2) },
		"no dimension":              func() { Format(1, dimCount) },
		"no dimension to parse":     func() { _, _ = Parse("1", dimCount) },
	} {
		t.Run(name, func(t *testing.T) {
			defer func() {
				if r := recover(); r == nil || !strings.HasPrefix(r.(string), "quantity: ") {
					t.Errorf("got %v, want a panic of this package", r)
				}
			}()
			f()
		})
	}
}

// TestDimensions checks what the table of dimensions promises.
func TestDimensions(t *testing.T) {
	names := map[string]bool{}
	for _, d := range Dims() {
		if names[d.Name()] || d.Name() == "" || d.Article() == "" {
			t.Errorf("%s: the name is empty or is given twice", d)
		}
		names[d.Name()] = true
		if got, ok := ByName(d.Name()); !ok || got != d {
			t.Errorf("ByName(%q) = %v, %v", d.Name(), got, ok)
		}
		if _, err := Parse(d.Example(), d); err != nil {
			t.Errorf("%s: the example cannot be read: %v", d, err)
		}
		if d != None && d != Ratio {
			text, x := possible(d, d.Stored())
			if v, err := Parse(text, d); err != nil || math.Abs(v-x) > 1e-9 {
				t.Errorf("%s: %s is stored as %g, %v", d, text, v, err)
			}
		}
		for _, u := range d.Units() {
			text, x := possible(d, u)
			if v, err := Parse(text, d); err != nil || math.Abs(In(v, d, u)-x) > 1e-9 {
				t.Errorf("%s: %s does not come back: %g, %v", d, text, v, err)
			}
		}
		if _, err := ParseLimit(">0", d); err != nil {
			t.Errorf("%s: %v", d, err)
		}
	}
	if _, ok := ByName("weight"); ok {
		t.Error("ByName knows weight")
	}
	if Dim(200).String() != "Dim(200)" {
		t.Error("a dimension that is none has no name")
	}
}

// possible returns a value in a unit that is within the range of its dimension: 1500, or less.
func possible(d Dim, unit string) (text string, x float64) {
	for x = 1500; ; x /= 10 {
		text = strconv.FormatFloat(x, 'g', -1, 64) + " " + unit
		if e := new(Error); x < 1e-12 || !errors.As(parseErr(text, d), &e) || e.Kind != OutOfRange {
			return text, x
		}
	}
}

func parseErr(text string, d Dim) error {
	_, err := Parse(text, d)
	return err
}

func TestLimit(t *testing.T) {
	for _, tt := range []struct {
		text  string
		dim   Dim
		si    float64
		holds bool
		words string
	}{
		{">0", Current, 0, false, "above 0"},
		{">0", Current, 1e-9, true, "above 0"},
		{">=0", Length, 0, true, "at least 0"},
		{">=1 mm", Length, 0.001, true, "at least 1 mm"},
		{">=1 mm", Length, 0.00099, false, "at least 1 mm"},
		{"<=50 A", Current, 50, true, "at most 50 A"},
		{"<=50 A", Current, 50.1, false, "at most 50 A"},
		{"<180 deg", Angle, math.Pi, false, "below 180 deg"},
		{"<=0.35 A", Current, 0.7 / 2, true, "at most 0.35 A"},
		{"<1", Ratio, 1, false, "below 100 %"},
		{"<=64", None, 65, false, "at most 64"},
		{"", None, 65, true, ""},
	} {
		l, err := ParseLimit(tt.text, tt.dim)
		if err != nil || l.Holds(tt.si) != tt.holds || l.String() != tt.words {
			t.Errorf("%q: %v, Holds(%g) = %v, String() = %q", tt.text, err, tt.si, l.Holds(tt.si), l)
		}
	}
	for _, text := range []string{"5 A", "=5 A", ">5 V", ">", ">=abc"} {
		if l, err := ParseLimit(text, Current); err == nil {
			t.Errorf("ParseLimit(%q) = %v, want an error", text, l)
		}
	}
}

func TestNear(t *testing.T) {
	names := []string{"current", "voltage", "name", "supplies"}
	for word, want := range map[string]string{
		"curent": "current", "Current": "current", "volatge": "voltage", "names": "name", "suplies": "supplies",
		"x": "", "": "", "totally": "", "courant": "",
	} {
		if got, ok := Near(word, names); got != want || ok != (want != "") {
			t.Errorf("Near(%q) = %q, %v, want %q", word, got, ok, want)
		}
	}
	if _, ok := Near(strings.Repeat("x", 1000), names); ok {
		t.Error("a very long word is near")
	}
}

// usual draws stored values of the sizes that people meet.
func usual(t *rapid.T, d Dim) float64 {
	x := rapid.Float64Range(1, 10).Draw(t, "mantissa") * math.Pow(
		10, float64(rapid.IntRange(-5, 5).Draw(t, "exponent")),
	)
	switch d {
	case Temperature:
		return rapid.Float64Range(absoluteFloorK, 2000).Draw(t, "kelvin")
	case CCT:
		return rapid.Float64Range(minCCT+1, maxCCT-1).Draw(t, "kelvin")
	}
	x = min(max(x, spans[d].min), 0.9*spans[d].max) // Format rounds to three digits
	if rapid.Bool().Draw(t, "negative") {
		return -x
	}
	return x
}

// TestRoundTrip: what Format prints, Parse reads, to the digits that were printed; and the pattern matches it.
func TestRoundTrip(t *testing.T) {
	patterns := make([]*regexp.Regexp, dimCount)
	for _, d := range Dims() {
		patterns[d] = regexp.MustCompile("^" + d.Pattern() + "$")
	}
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.SampledFrom(Dims()).Draw(t, "dim")
		si := usual(t, d)
		text := Format(si, d)
		got, err := Parse(text, d)
		if err != nil {
			t.Fatalf("%s: Parse(Format(%g) = %q): %v", d, si, text, err)
		}
		tol := 5.1e-3 * math.Abs(si) // half a unit of the third digit, at worst of 1.00
		switch d {
		case Temperature, SoundLevel:
			tol = 0.051
		case CCT:
			tol = 0.51
		case Money:
			tol = 0.0051
		}
		if math.Abs(got-si) > tol {
			t.Fatalf("%s: Parse(Format(%g) = %q) = %g", d, si, text, got)
		}
		if again := Format(got, d); again != text {
			t.Fatalf("%s: Format(%g) = %q, and after reading it %q", d, si, text, again)
		}
		if !patterns[d].MatchString(text) {
			t.Fatalf("%s: the pattern does not match %q", d, text)
		}
	})
}

// TestPatterns: what the patterns match, Parse reads, where it is in the range of its dimension.
func TestPatterns(t *testing.T) {
	for _, d := range Dims() {
		re := regexp.MustCompile("^" + d.TolerancePattern() + "$")
		for _, u := range append(d.Units(), "") {
			for _, text := range []string{"1500 " + u, "1500 " + u + " ± 5 %", "1500 " + u + " ± 3 " + u, d.Example()} {
				text = strings.TrimSpace(strings.ReplaceAll(text, "  ", " "))
				_, _, _, err := ParseTolerance(text, d)
				if e := new(Error); errors.As(err, &e) && e.Kind == OutOfRange {
					continue // a pattern knows no sizes
				}
				if ok := re.MatchString(text); ok != (err == nil) {
					t.Errorf("%s: pattern matches %q: %v; ParseTolerance: %v", d, text, ok, err)
				}
			}
		}
	}
	for _, tt := range []struct {
		dim  Dim
		text string
	}{
		{Conductivity, "2 W/m/K"},
		{Conductivity, "2 W/mK"},
		{Conductivity, "2 W m⁻¹ K⁻¹"},
		{Conductivity, "2 W·m^-1·K^-1"},
		{PPFD, "60 umol/(m2*s)"},
		{PPFD, "60 µmol m⁻² s⁻¹"},
		{PPFD, "60 μmol/m^2/s"},
		{ThermalResistance, "4 °C/W"},
		{Resistance, "10 kohm"},
		{Absorption, "0.3 m⁻¹"},
		{Angle, "−60°"},
		{Energy, "1.5e3 kWh"},
	} {
		re := regexp.MustCompile("^" + tt.dim.Pattern() + "$")
		if _, err := Parse(tt.text, tt.dim); err != nil || !re.MatchString(tt.text) {
			t.Errorf("%s: %q is matched: %v, read: %v", tt.dim, tt.text, re.MatchString(tt.text), err)
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{
		"2.1 A", "2,1 A", "-10 °C", "60 µmol m⁻² s⁻¹", "2.9 V ± 5 %", "1e-3 m", "W/(m·K)", "1 ((((m))))", "5 m^-9^",
		"\xff", "0x1p-2 A", "1 \u2212",
	} {
		f.Add(s, uint8(Current))
	}
	f.Fuzz(func(t *testing.T, text string, dim uint8) {
		d := Dim(dim % uint8(dimCount))
		v, lo, hi, err := ParseTolerance(text, d)
		if err != nil {
			var e *Error
			if !errors.As(err, &e) || e.Msg == "" {
				t.Fatalf("%q: %T %v", text, err, err)
			}
			return
		}
		if !finite(v) || lo > v || hi < v || len(text) > MaxLen {
			t.Fatalf("%q: %g, %g, %g", text, v, lo, hi)
		}
		if out := Format(v, d); out == "" {
			t.Fatalf("%q: printed as nothing", text)
		}
	})
}

func BenchmarkParse(b *testing.B) {
	for b.Loop() {
		if _, err := Parse("60 µmol/m²/s", PPFD); err != nil {
			b.Fatal(err)
		}
	}
}

// TestSigned: a difference shows which way it goes, and nothing shows neither.
func TestSigned(t *testing.T) {
	for _, tt := range []struct {
		x        float64
		decimals int
		want     string
	}{
		{1.25, 1, "+1.2"},
		{-0.64, 1, "−0.6"},
		{-0.04, 1, "0.0"},
		{0, 2, "0.00"},
		{0.004, 2, "0.00"},
		{math.Inf(-1), 1, "−∞"},
	} {
		if got := Signed(tt.x, tt.decimals); got != tt.want {
			t.Errorf("Signed(%g, %d) = %q, want %q", tt.x, tt.decimals, got, tt.want)
		}
	}
}
