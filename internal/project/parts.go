package project

import (
	"slices"

	"lampwright/internal/photometry"
	"lampwright/internal/source"
)

// PartsFile is one file of parts: the built-in parts library has one a kind, a project may have any number in parts/.
type PartsFile struct {
	Fictitious        source.Flag        `yaml:"fictitious" doc:"true where the parts are made up and nobody sells them; shown wherever they are used"`
	Emitters          []Emitter          `yaml:"emitters" doc:"LED packages"`
	Lenses            []Lens             `yaml:"lenses" doc:"secondary optics, one over one emitter"`
	Boards            []Stackup          `yaml:"boards" doc:"board stack-ups, without an outline"`
	Sinks             []Sink             `yaml:"sinks" doc:"heat sinks"`
	Fans              []Fan              `yaml:"fans" doc:"fans"`
	Drivers           []Driver           `yaml:"drivers" doc:"constant-current LED drivers"`
	Supplies          []Supply           `yaml:"supplies" doc:"constant-voltage power supplies"`
	Wires             []Wire             `yaml:"wires" doc:"wires between supply, driver and board"`
	ThermalInterfaces []ThermalInterface `yaml:"thermal_interfaces" doc:"thermal pastes and pads between board and sink"`
	Solders           []Solder           `yaml:"solders" doc:"solder alloys"`
	Sensors           []Sensor           `yaml:"sensors" doc:"temperature sensors"`
	Controllers       []Controller       `yaml:"controllers" doc:"controllers whose outputs dim the drivers"`
}

// Common is what every part has.
type Common struct {
	ID         source.Text  `yaml:"id" need:"yes" doc:"the name by which a design calls the part" eg:"white-5700"`
	Name       source.Text  `yaml:"name" doc:"a name for people" eg:"White, one die, 5000 K"`
	Datasheet  source.Text  `yaml:"datasheet" doc:"the datasheet the values come from; a value's own source goes before" eg:"datasheet W1, issue 3"`
	Price      source.Value `yaml:"price" dim:"money" min:">=0" doc:"price of one piece" eg:"2.40 EUR"`
	Mass       source.Value `yaml:"mass" dim:"mass" min:">0" doc:"of one piece, for the load of the suspension; of a sink also for the warm-up" eg:"0.4 kg"`
	Notes      source.Text  `yaml:"notes" doc:"anything worth knowing"`
	Fictitious bool         `yaml:"-"`
	Builtin    bool         `yaml:"-"`
}

// Emitter is one LED package as its datasheet states it. Currents and voltages are of one die; flux is of the package.
type Emitter struct {
	Common                `yaml:",inline"`
	Package               source.Text             `yaml:"package" need:"yes" doc:"outline of the package, as lenses name it" eg:"3535"`
	Material              source.Choice[Material] `yaml:"material" doc:"semiconductor of the die: InGaN is blue, green and white, AlInGaP amber to far red"`
	Dies                  source.Whole            `yaml:"dies" min:">=1" max:"<=64" doc:"dies in the package; 1 where it is not said"`
	DieConfigurations     []DieConfiguration      `yaml:"die_configurations" doc:"ways the dies can be joined; all in series where none is given"`
	MaxForwardCurrent     source.Value            `yaml:"max_forward_current" dim:"current" min:">0" doc:"absolute maximum of one die" eg:"1 A"`
	SurgeCurrent          source.Value            `yaml:"surge_current" dim:"current" min:">0" doc:"peak of one die for less than 1 ms" eg:"2 A"`
	ReverseVoltage        source.Value            `yaml:"reverse_voltage" dim:"voltage" min:">0" doc:"absolute maximum of one die; a package with a protection diode conducts instead, see its datasheet" eg:"5 V"`
	ESD                   source.Value            `yaml:"esd" dim:"voltage" min:">0" doc:"withstand voltage, human body model (ANSI/ESDA/JEDEC JS-001)" eg:"2 kV"`
	Derating              source.Curve            `yaml:"derating" x:"temperature" y:"current" trend:"falls" doc:"the largest current of one die against solder point temperature"`
	TestCurrent           source.Value            `yaml:"test_current" dim:"current" need:"yes" min:">0" doc:"current of one die at which flux is stated" eg:"350 mA"`
	TestJunction          source.Value            `yaml:"test_junction" dim:"temperature" need:"yes" doc:"junction temperature at which flux and voltage are stated" eg:"85 °C"`
	ForwardVoltage        source.Curve            `yaml:"forward_voltage" x:"current" y:"voltage" trend:"rises" test:"test_current" need:"yes" doc:"voltage of one die against its current, at test_junction"`
	VoltageSpread         source.Value            `yaml:"forward_voltage_spread" dim:"voltage" min:">=0" doc:"half of the range of the bins of one die, about the curve" eg:"0.15 V"`
	VoltageTempco         source.Value            `yaml:"forward_voltage_tempco" dim:"voltage per kelvin" max:"<=0 mV/K" doc:"change of one die's voltage per kelvin, below zero" eg:"-2 mV/K"`
	Flux                  source.Value            `yaml:"flux" dim:"flux" min:">0" doc:"luminous flux of the package at test_current in every die and test_junction; min and max are the bin" eg:"300 lm ± 4 %"`
	RadiantFlux           source.Value            `yaml:"radiant_flux" dim:"power" min:">0" doc:"radiant flux in place of flux, as deep blue and red parts state it" eg:"900 mW"`
	FluxVsCurrent         source.Curve            `yaml:"flux_vs_current" x:"current" y:"ratio" trend:"rises" test:"test_current" doc:"flux against the current of one die, relative to that at test_current"`
	FluxVsJunction        source.Curve            `yaml:"flux_vs_junction" x:"temperature" y:"ratio" trend:"falls" test:"test_junction" doc:"flux against junction temperature, relative to that at test_junction"`
	Peaks                 []Peak                  `yaml:"peaks" doc:"the spectrum as a sum of peaks"`
	Spectrum              source.Curve            `yaml:"spectrum" x:"wavelength" y:"none" doc:"the spectrum as relative power per nanometre, in place of peaks"`
	SpectrumFile          source.Text             `yaml:"spectrum_file" doc:"file beside this file of parts with the spectrum, in place of peaks or spectrum: text in columns, wavelength first, or XML after IES TM-27" eg:"white.csv"`
	SpectrumColumn        source.Text             `yaml:"spectrum_column" doc:"name of the column, where that file contains several spectra"`
	SpectrumNotes         []string                `yaml:"-"`
	fromFile              bool
	WavelengthTempco      source.Value `yaml:"wavelength_tempco" dim:"wavelength per kelvin" doc:"shift of the spectrum with junction temperature" eg:"0.05 nm/K"`
	PeakVsCurrent         source.Curve `yaml:"peak_vs_current" x:"current" y:"wavelength" test:"test_current" doc:"peak wavelength against the current of one die; only its change from that at test_current counts, by which the spectrum is moved"`
	DominantVsCurrent     source.Curve `yaml:"dominant_vs_current" x:"current" y:"wavelength" test:"test_current" doc:"dominant wavelength against the current of one die, in place of peak_vs_current; the spectrum is moved until its dominant wavelength changes as much"`
	XVsCurrent            source.Curve `yaml:"cie_x_vs_current" x:"current" y:"none" test:"test_current" doc:"of a white: chromaticity x of CIE 1931, or its change, against the current of one die; only the change from that at test_current counts"`
	YVsCurrent            source.Curve `yaml:"cie_y_vs_current" x:"current" y:"none" test:"test_current" doc:"of a white: chromaticity y, or its change, beside cie_x_vs_current"`
	CCTVsCurrent          source.Curve `yaml:"cct_vs_current" x:"current" y:"cct" test:"test_current" doc:"of a white: correlated colour temperature against the current of one die, in place of x and y; the distance from the Planckian locus is kept"`
	CCT                   source.Value `yaml:"cct" dim:"cct" doc:"correlated colour temperature as stated" eg:"5000 K"`
	BeamAngle             source.Value `yaml:"beam_angle" dim:"angle" min:">0" max:"<180 deg" doc:"full angle at half intensity without a lens" eg:"120 deg"`
	IntensityDistribution `yaml:",inline"`
	Rth                   source.Value                 `yaml:"thermal_resistance" dim:"thermal resistance" min:">0" doc:"junction to solder point" eg:"4 K/W"`
	RthKind               source.Choice[RthDefinition] `yaml:"thermal_resistance_kind" doc:"JESD51-51: real is per watt of heat, electrical per watt of electrical power; assumed electrical, and said, where it is not stated"`
	MaxJunction           source.Value                 `yaml:"max_junction" dim:"temperature" doc:"absolute maximum" eg:"150 °C"`
	LightEmittingSurface  Size                         `yaml:"light_emitting_surface" doc:"rectangle that emits light (die, phosphor or field of dies), as it appears through the dome of the package, for the blue-light hazard; of a round one the square of equal area, 0.89 of its diameter"`
	Body                  Size                         `yaml:"body" doc:"outer size"`
	CycleTest             *CycleTest                   `yaml:"cycle_test" doc:"temperature cycling of soldered packages, as its datasheet or a report states it"`
	ThermalPad            Size                         `yaml:"thermal_pad" doc:"size of the pad that carries the heat"`
	LumenTests            []LumenTest                  `yaml:"lumen_maintenance_tests" doc:"lumen maintenance over time by LM-80, as its datasheet or a report states it: one entry for each case temperature and current"`
	PadPotential          source.Choice[PadPotential]  `yaml:"thermal_pad_potential" doc:"what the thermal pad is joined to inside the package; ask the manufacturer where the datasheet does not state it"`
}

// CycleTest is a test of solder joints by cycles of temperature.
type CycleTest struct {
	Low    source.Value `yaml:"low" dim:"temperature" need:"yes" doc:"coldest of the cycle" eg:"-40 °C"`
	High   source.Value `yaml:"high" dim:"temperature" need:"yes" doc:"hottest of the cycle" eg:"125 °C"`
	PerDay source.Value `yaml:"per_day" dim:"none" min:">0" max:"<=10000" doc:"cycles a day; 24 where it is not given" eg:"24"`
	Cycles source.Value `yaml:"cycles" dim:"none" need:"yes" min:">0" doc:"number of cycles" eg:"1000"`
	Failed source.Value `yaml:"failed" dim:"ratio" need:"yes" min:">0 %" max:"<100 %" doc:"fraction of the packages that had failed then; where none had, one over their number" eg:"1 %"`
}

// Wiring is one way to join the dies of a package.
type DieConfiguration struct {
	Name     source.Text  `yaml:"name" need:"yes" doc:"as the datasheet calls it" eg:"12 V"`
	Series   source.Whole `yaml:"series" need:"yes" min:">=1" doc:"dies in series"`
	Parallel source.Whole `yaml:"parallel" need:"yes" min:">=1" doc:"rows in parallel"`
}

// Peak is one peak of a spectrum: a Gaussian over wavelength.
type Peak struct {
	At    source.Value `yaml:"at" dim:"wavelength" need:"yes" min:">=300 nm" max:"<=1000 nm" doc:"wavelength of the peak" eg:"450 nm"`
	Width source.Value `yaml:"width" dim:"wavelength" need:"yes" min:">=1 nm" max:"<=300 nm" doc:"full width at half power" eg:"20 nm"`
	Share source.Value `yaml:"share" dim:"ratio" min:">0" doc:"fraction of the radiant power; all of it where there is one peak" eg:"25 %"`
}

// Size is a rectangle's two sides.
type Size struct {
	Length source.Value `yaml:"length" dim:"length" min:">0" doc:"along x" eg:"3.5 mm"`
	Width  source.Value `yaml:"width" dim:"length" min:">0" doc:"along y" eg:"3.5 mm"`
}

// Stated reports whether both sides are stated.
func (s *Size) Stated() bool { return s.Length.Set && s.Width.Set }

// PadSize returns the sides of the thermal pad [m]: those of the body where the datasheet does not state the pad, and
// unstatedPadM where it states neither.
func (e *Emitter) PadSize() (lengthM, widthM float64) {
	for _, s := range []Size{e.ThermalPad, e.Body} {
		if s.Length.SI > 0 && s.Width.SI > 0 {
			return s.Length.SI, s.Width.SI
		}
	}
	return unstatedPadM, unstatedPadM
}

// unstatedPadM is the side of a thermal pad whose datasheet states no size; the review reports it.
const unstatedPadM = 2e-3

// At returns where a side is stated.
func (s *Size) At() source.Pos {
	if s.Length.Set {
		return s.Length.At
	}
	return s.Width.At
}

// Lens is a secondary optic.
type Lens struct {
	Common                `yaml:",inline"`
	Fits                  []source.Text `yaml:"fits" need:"yes" doc:"packages it is made for" eg:"3535"`
	Beam                  source.Value  `yaml:"beam_angle" dim:"angle" min:">=2 deg" max:"<180 deg" doc:"full angle at half of the largest intensity; due where neither intensity_vs_angle nor photometry_file is given" eg:"60 deg"`
	Field                 source.Value  `yaml:"field_angle" dim:"angle" min:">=2 deg" max:"<180 deg" doc:"full angle at a tenth of the largest intensity" eg:"100 deg"`
	Efficiency            source.Value  `yaml:"efficiency" dim:"ratio" min:">0" max:"<=100 %" doc:"lumens out of the lens over lumens of the bare emitter" eg:"90 %"`
	Intensity             source.Value  `yaml:"peak_intensity" dim:"intensity per flux" min:">0" doc:"largest intensity per lumen of the bare emitter" eg:"0.85 cd/lm"`
	IntensityDistribution `yaml:",inline"`
	Diameter              source.Value                `yaml:"diameter" dim:"length" need:"yes" min:">0" doc:"footprint on the board" eg:"15 mm"`
	Height                source.Value                `yaml:"height" dim:"length" min:">0" doc:"above the board" eg:"8 mm"`
	Material              source.Choice[LensMaterial] `yaml:"material" doc:"plastic or glass it is made of"`
	MaxTemperature        source.Value                `yaml:"max_temperature" dim:"temperature" doc:"in service" eg:"90 °C"`
	Gap                   source.Value                `yaml:"gap" dim:"length" min:">0" max:"<=20 mm" doc:"mean air gap between lens and board, through which the board heats it; 0.4 mm where it is not given" eg:"0.4 mm"`

	Finish source.Choice[LensFinish] `yaml:"finish" doc:"clear: the dies are visible in the lens; diffusing: a frosted or milky lens whose whole aperture is evenly bright; where it is not stated, the more hazardous of both counts for blue light"`
}

// MadeFor reports whether a lens is made for a package.
func (l *Lens) MadeFor(pack string) bool {
	return slices.ContainsFunc(l.Fits, func(f source.Text) bool { return f.S == pack })
}

// FarField is a measured pattern, of a lens on its emitter or of a bare emitter; it goes before any angle that is
// stated.
type IntensityDistribution struct {
	Table    source.Curve     `yaml:"intensity_vs_angle" x:"angle" y:"ratio" doc:"measured intensity against the angle from the aim (half of a full angle), all round alike, relative to any one value; nothing is emitted beyond the last angle"`
	FileName source.Text      `yaml:"photometry_file" doc:"LM-63 file (.ies) beside this file of parts with the measured far field; its planes count from x towards y, seen from above" eg:"my-lens.ies"`
	File     *photometry.File `yaml:"-"`
}

// Measured reports whether there is a measured pattern.
func (f *IntensityDistribution) Measured() bool { return f.Table.Set || f.File != nil }

// PatternAt returns where the measured pattern is.
func (f *IntensityDistribution) PatternAt() source.Pos {
	if f.FileName.Set {
		return f.FileName.At
	}
	return f.Table.At
}

// Stackup is what a board is made of, from the emitters down.
type Stackup struct {
	Common                  `yaml:",inline"`
	Base                    source.Choice[BoardBase]   `yaml:"base" need:"yes" doc:"material of the core"`
	Copper                  source.Value               `yaml:"copper" dim:"copper thickness" need:"yes" min:">=5 µm" max:"<=1 mm" doc:"copper on top" eg:"1 oz"`
	Dielectric              source.Value               `yaml:"dielectric_thickness" dim:"length" min:">0" max:"<=2 mm" doc:"insulating layer between copper and core; absent on FR4" eg:"100 µm"`
	DielectricK             source.Value               `yaml:"dielectric_conductivity" dim:"conductivity" min:">0" doc:"of that layer" eg:"2 W/(m·K)"`
	MaxOperatingTemperature source.Value               `yaml:"max_operating_temperature" dim:"temperature" doc:"largest temperature of that layer in service" eg:"130 °C"`
	BreakdownVoltage        source.Value               `yaml:"breakdown_voltage" dim:"voltage" min:">0" doc:"breakdown voltage as stated; a material test, not a promise of the made board" eg:"3 kV"`
	BaseK                   source.Value               `yaml:"base_conductivity" dim:"conductivity" need:"yes" min:">0" doc:"of the core, in its plane" eg:"138 W/(m·K)"`
	BaseKThroughPlane       source.Value               `yaml:"base_conductivity_through_plane" dim:"conductivity" min:">0" doc:"of the core, through it; the same where it is not given" eg:"0.3 W/(m·K)"`
	ViaK                    source.Value               `yaml:"via_conductivity" dim:"conductivity" min:">0" doc:"through an FR4 core beneath a thermal pad, its vias spread over the pad's area" eg:"15 W/(m·K)"`
	ThermalPath             source.Choice[ThermalPath] `yaml:"thermal_path" need:"yes" doc:"how heat leaves a thermal pad: through the dielectric, straight into the core, or through vias"`
	Emissivity              source.Value               `yaml:"emissivity" dim:"ratio" min:">0" max:"<=100 %" doc:"of the solder mask" eg:"90 %"`
	BackEmissivity          source.Value               `yaml:"back_emissivity" dim:"ratio" min:">0" max:"<=100 %" doc:"of the back beside the heat sink: bare metal 5 % to 30 %, anodised or with solder mask 85 %" eg:"85 %"`
	PriceByThickness        source.Curve               `yaml:"price_by_thickness" x:"length" y:"money" need:"yes" minpoints:"1" doc:"price of one board against the thickness of its core; only these thicknesses are made"`
	PriceArea               source.Value               `yaml:"price_area" dim:"area" min:">0" doc:"area that price is for; larger boards cost in proportion" eg:"100 cm²"`
	PriceByQuantity         source.Curve               `yaml:"price_by_quantity" x:"none" y:"ratio" minpoints:"1" doc:"price of one board against the number in one order, as a fraction of price_by_thickness; the next smaller number counts" eg:"{1: 160 %, 5: 100 %, 10: 70 %}"`
	SetupPrice              source.Value               `yaml:"setup_price" dim:"money" min:">=0" doc:"paid once for each order, whatever the number of boards" eg:"25 EUR"`
	StencilPrice            source.Value               `yaml:"stencil_price" dim:"money" min:">=0" doc:"of the stencil for solder paste, paid once for each order; none is ordered where it is not given" eg:"15 EUR"`
	MinOrder                source.Whole               `yaml:"minimum_order" min:">=1" max:"<=10000" doc:"smallest number of boards that is made; 1 where it is not given" eg:"5"`
	MaxVoltage              source.Value               `yaml:"max_working_voltage" dim:"voltage" min:">0" doc:"largest voltage between copper and core in service, where it is stated" eg:"120 V"`
}

// Sink is a heat sink: by geometry, or by the curves of its datasheet.
type Sink struct {
	Common        `yaml:",inline"`
	Base          Size                 `yaml:"base" need:"yes" doc:"the face the board sits on"`
	BaseThickness source.Value         `yaml:"base_thickness" dim:"length" min:">0" doc:"of the plate under the fins" eg:"6 mm"`
	Conductivity  source.Value         `yaml:"conductivity" dim:"conductivity" min:">0" doc:"of the metal" eg:"200 W/(m·K)"`
	Emissivity    source.Value         `yaml:"emissivity" dim:"ratio" min:">0" max:"<=100 %" doc:"of the surface: bare about 6 %, anodised about 85 %" eg:"85 %"`
	Fins          *Fins                `yaml:"fins" doc:"straight plate fins along the length of the base"`
	Pins          *Pins                `yaml:"pins" doc:"round pins, in place of fins"`
	Natural       source.Curve         `yaml:"resistance_vs_power" x:"power" y:"thermal resistance" trend:"falls" minpoints:"1" doc:"still air: base to room, against the heat"`
	Forced        source.Curve         `yaml:"resistance_vs_air_speed" x:"velocity" y:"thermal resistance" trend:"falls" minpoints:"1" doc:"with a fan: base to room, against the approach velocity"`
	Material      source.Choice[Metal] `yaml:"material" doc:"metal of its surface, for contact corrosion; copper from 350 W/(m·K) on, else aluminium, and said, where it is not given"`
	Flatness      source.Value         `yaml:"flatness" dim:"length" min:">0" max:"<=5 mm" doc:"deviation of its base from a plane over 100 mm; extrusions are made to about 0.4 mm, milled faces to 0.05 mm" eg:"50 µm"`
}

// Fins is a row of straight plate fins.
type Fins struct {
	Count     source.Whole `yaml:"count" need:"yes" min:">=2" max:"<=500" doc:"number of fins"`
	Height    source.Value `yaml:"height" dim:"length" need:"yes" min:">0" doc:"above the base" eg:"30 mm"`
	Thickness source.Value `yaml:"thickness" dim:"length" need:"yes" min:">0" doc:"of one fin" eg:"1.5 mm"`
}

// Pins is a field of round pins.
type Pins struct {
	Diameter          source.Value `yaml:"diameter" dim:"length" need:"yes" min:">0" doc:"of one pin" eg:"3 mm"`
	Height            source.Value `yaml:"height" dim:"length" need:"yes" min:">0" doc:"above the base" eg:"25 mm"`
	TransversePitch   source.Value `yaml:"transverse_pitch" dim:"length" need:"yes" min:">0" doc:"between pins across the stream of air, centre to centre" eg:"8 mm"`
	LongitudinalPitch source.Value `yaml:"longitudinal_pitch" dim:"length" need:"yes" min:">0" doc:"between rows along the stream" eg:"8 mm"`
	Staggered         source.Flag  `yaml:"staggered" doc:"whether each row is in the gaps of the one before"`
}

// Fan is a fan with its pressure–flow curve at rated speed.
type Fan struct {
	Common    `yaml:",inline"`
	Curve     source.Curve `yaml:"pressure_vs_flow" x:"volume flow" y:"pressure" need:"yes" doc:"static pressure against flow at rated speed"`
	Speed     source.Value `yaml:"speed" dim:"rotation" need:"yes" min:">0" doc:"rated" eg:"1800 rpm"`
	MinSpeed  source.Value `yaml:"min_speed" dim:"rotation" min:">0" doc:"slowest at which it starts and runs" eg:"500 rpm"`
	Power     source.Value `yaml:"power" dim:"power" min:">0" doc:"electrical, at rated speed" eg:"1.2 W"`
	Voltage   source.Value `yaml:"voltage" dim:"voltage" min:">0" doc:"supply" eg:"12 V"`
	Noise     source.Value `yaml:"noise" dim:"sound level" doc:"at rated speed, as stated" eg:"18 dB(A)"`
	Frame     source.Value `yaml:"frame" dim:"length" need:"yes" min:">0" doc:"side of the square frame" eg:"92 mm"`
	Life      *RatedLife   `yaml:"life" doc:"L10: the hours at which 10 % of the fans have failed"`
	AirLimits `yaml:",inline"`
}

// Driver is a constant-current source for one channel.
type Driver struct {
	Common             `yaml:",inline"`
	Kind               source.Choice[DriverKind]    `yaml:"kind" need:"yes" doc:"fed from the mains, or from a supply whose voltage it lowers, raises or burns off"`
	OutputMin          source.Value                 `yaml:"output_min" dim:"voltage" min:">=0" doc:"lowest output voltage at which it regulates" eg:"9 V"`
	OutputMax          source.Value                 `yaml:"output_max" dim:"voltage" need:"yes" min:">0" doc:"highest output voltage at which it regulates" eg:"36 V"`
	OpenCircuitVoltage source.Value                 `yaml:"open_circuit_voltage" dim:"voltage" min:">0" doc:"output voltage with no string on it" eg:"42 V"`
	OutputCapacitance  source.Value                 `yaml:"output_capacitance" dim:"capacitance" min:">=0 µF" doc:"between its output terminals; it discharges into a string that is connected to the live driver; 0 µF where it has none" eg:"10 µF"`
	OffLeakage         source.Value                 `yaml:"off_leakage" dim:"current" min:">=0 mA" doc:"output current while its light is off" eg:"20 µA"`
	OpenInput          source.Choice[OpenInput]     `yaml:"open_input" doc:"light while its dimming input is open, as a controller leaves it at start: off or full"`
	InputMin           source.Value                 `yaml:"input_min" dim:"voltage" min:">0" doc:"lowest input" eg:"12 V"`
	InputMax           source.Value                 `yaml:"input_max" dim:"voltage" min:">0" doc:"highest input" eg:"48 V"`
	Headroom           source.Value                 `yaml:"headroom" dim:"voltage" min:">=0" doc:"input over output that regulation needs" eg:"2 V"`
	CurrentMin         source.Value                 `yaml:"current_min" dim:"current" min:">0" doc:"smallest current it can be set to" eg:"0.2 A"`
	CurrentMax         source.Value                 `yaml:"current_max" dim:"current" need:"yes" min:">0" doc:"largest current it can be set to" eg:"1.5 A"`
	Tolerance          source.Value                 `yaml:"current_tolerance" dim:"ratio" min:">=0" max:"<=50 %" doc:"of the set current" eg:"5 %"`
	Efficiency         source.Value                 `yaml:"efficiency" dim:"ratio" min:">0" max:"<=100 %" doc:"output over input power near full load" eg:"92 %"`
	EfficiencyCurve    source.Curve                 `yaml:"efficiency_vs_load" x:"ratio" y:"ratio" minpoints:"1" doc:"in place of efficiency: against output power as a fraction of max_power" eg:"{20 %: 86 %, 50 %: 91 %, 100 %: 92 %}"`
	MaxPower           source.Value                 `yaml:"max_power" dim:"power" min:">0" doc:"largest output power" eg:"50 W"`
	MaxLoss            source.Value                 `yaml:"max_dissipation" dim:"power" min:">0" doc:"heat that it can get rid of as it is built in (linear drivers)" eg:"3 W"`
	StandbyPower       source.Value                 `yaml:"standby_power" dim:"power" min:">=0" doc:"input power with the light off; the no-load power where it is not given" eg:"0.3 W"`
	NoLoadPower        source.Value                 `yaml:"no_load_power" dim:"power" min:">=0" doc:"input power in operation at the lowest level, without output power: the loss that does not depend on the load" eg:"60 mW"`
	Dimming            source.Choice[DimmingMethod] `yaml:"dimming" doc:"how the channel's level is made"`
	MinLevel           source.Value                 `yaml:"min_level" dim:"ratio" min:">0" max:"<=100 %" doc:"lowest level that it dims to; below it the light stays, flickers or goes out" eg:"2 %"`
	MinPulse           source.Value                 `yaml:"min_pulse" dim:"time" min:">0" doc:"shortest pulse of its pulse-width dimming that still gives the light set" eg:"10 µs"`
	DimmingFreq        source.Value                 `yaml:"dimming_frequency" dim:"frequency" min:">0" doc:"of pulse-width dimming" eg:"1 kHz"`
	RiseTime           source.Value                 `yaml:"rise_time" dim:"time" min:">=0 s" doc:"climb of the output current in each pulse of its PWM dimming, from nought" eg:"4 µs"`
	FallTime           source.Value                 `yaml:"fall_time" dim:"time" min:">=0 s" doc:"decay of the output current after each pulse" eg:"6 µs"`
	DimmingInput       *DimmingInput                `yaml:"dimming_input" doc:"the input that a controller dims it by"`
	Isolation          source.Choice[Isolation]     `yaml:"isolation" doc:"how the output is separated from the mains (drivers of kind ac)"`
	AirLimits          `yaml:",inline"`
	MainsSide          `yaml:",inline"`
}

// MainsSide is what the sheet of a supply, or of a driver of kind mains, says of the side that is connected to the
// mains.
type MainsSide struct {
	Inrush        source.Value                   `yaml:"inrush" dim:"current" min:">0" doc:"largest current from your mains when it is switched on cold, as the datasheet gives it (supplies, mains drivers)" eg:"45 A"`
	InrushTime    source.Value                   `yaml:"inrush_time" dim:"time" min:">0" max:"<=1 s" doc:"for how long the inrush is above half of that" eg:"0.3 ms"`
	Class         source.Choice[ProtectionClass] `yaml:"protection_class" doc:"IEC 61140: I needs the protective earth, II has double insulation (supplies, mains drivers)"`
	MaxAltitude   source.Value                   `yaml:"max_altitude" dim:"length" min:">0" doc:"up to which its isolation from the mains is rated; 2000 m is usual (supplies, mains drivers)" eg:"3000 m"`
	CapacitorLife *RatedLife                     `yaml:"capacitor_life" doc:"of its electrolytic capacitors (supplies, mains drivers)"`
	IP            source.Text                    `yaml:"ip_code" doc:"protection against touch and water by IEC 60529 (supplies, mains drivers)" eg:"IP20"`
	TouchCurrent  source.Value                   `yaml:"touch_current" dim:"current" min:">=0 mA" doc:"largest current to earth through a person who touches the output, as stated (class II)" eg:"0.25 mA"`
}

// RatedLife is a life at a temperature.
type RatedLife struct {
	Hours  source.Value `yaml:"hours" dim:"time" need:"yes" min:">0" doc:"life, of a fan L10" eg:"5000 h"`
	At     source.Value `yaml:"at" dim:"temperature" need:"yes" doc:"temperature at which it is stated: of the air for a fan, of its own case for a capacitor" eg:"105 °C"`
	Rise   source.Value `yaml:"rise" dim:"temperature difference" min:">=0 K" doc:"of a capacitor: over the air about the supply at full load; 20 K, and said, where it is not given" eg:"20 K"`
	Ripple source.Value `yaml:"ripple" dim:"ratio" min:">=0 %" max:"<=300 %" doc:"of a capacitor: ripple current over its rated one; 100 % where it is not given" eg:"60 %"`
}

// AirLimits is the air in which a part may work.
type AirLimits struct {
	AirMin source.Value `yaml:"min_air_temperature" dim:"temperature" doc:"lowest temperature of the air about it in service" eg:"-20 °C"`
	AirMax source.Value `yaml:"max_air_temperature" dim:"temperature" doc:"highest temperature of the air about it in service" eg:"60 °C"`
}

// Supply is a constant-voltage power supply.
type Supply struct {
	Common             `yaml:",inline"`
	Voltage            source.Value                      `yaml:"voltage" dim:"voltage" need:"yes" min:">0" doc:"output; min and max are its tolerance" eg:"24 V ± 2 %"`
	Power              source.Value                      `yaml:"power" dim:"power" need:"yes" min:">0" doc:"rated output" eg:"100 W"`
	Efficiency         source.Curve                      `yaml:"efficiency_vs_load" x:"ratio" y:"ratio" minpoints:"1" doc:"efficiency against load as a fraction of rated power"`
	Derating           source.Curve                      `yaml:"derating" x:"temperature" y:"ratio" trend:"falls" minpoints:"1" doc:"fraction of its rated power that it gives, against the air about it" eg:"{40 °C: 100 %, 60 °C: 60 %}"`
	StandbyPower       source.Value                      `yaml:"standby_power" dim:"power" min:">=0" doc:"input power without load (no-load power)" eg:"0.3 W"`
	Isolation          source.Choice[Isolation]          `yaml:"isolation" doc:"how its output is separated from the mains"`
	OverloadCurrent    source.Value                      `yaml:"overload_current" dim:"current" min:">0" doc:"output current at which it limits or gives up; just below it flows for good; min and max are its spread" eg:"{value: 5.2 A, min: 4.6 A, max: 6.2 A}"`
	OverloadProtection source.Choice[OverloadProtection] `yaml:"overload_protection" doc:"what it does there: it goes on giving that current, gives less, tries again and again, or stays off"`
	AirLimits          `yaml:",inline"`
	MainsSide          `yaml:",inline"`
}

// Wire is a two-conductor lead's one conductor.
type Wire struct {
	Common            `yaml:",inline"`
	Resistance        source.Value `yaml:"resistance" dim:"resistance per length" need:"yes" min:">0" doc:"of one conductor at 20 °C" eg:"33.3 Ω/km"`
	MaxCurrent        source.Value `yaml:"max_current" dim:"current" min:">0" doc:"largest current" eg:"5 A"`
	MaxCurrentAmbient source.Value `yaml:"max_current_ambient" dim:"temperature" doc:"air in which max_current holds; 30 °C where it is not given" eg:"30 °C"`
	Area              source.Value `yaml:"cross_section" dim:"area" min:">0" doc:"of one conductor; that of copper with this resistance where it is not given" eg:"0.75 mm²"`
	Insulation        source.Value `yaml:"insulation_thickness" dim:"length" min:">0" doc:"of one conductor; 0.4 mm where it is not given" eg:"0.6 mm"`
	InsulationRating  source.Value `yaml:"insulation_temperature_rating" dim:"temperature" doc:"what the insulation represents good: PVC 70 °C, which is taken where it is not given, cross-linked 90 °C, silicone 180 °C" eg:"70 °C"`
	PricePerM         source.Value `yaml:"price_per_metre" dim:"money" min:">=0" doc:"price of a metre of the pair" eg:"0.60 EUR"`
}

// Interface is what lies between board and sink.
type ThermalInterface struct {
	Common           `yaml:",inline"`
	Conductivity     source.Value                 `yaml:"conductivity" dim:"conductivity" min:">0" doc:"in service; manufacturers' figures are often a third higher" eg:"2 W/(m·K)"`
	Thickness        source.Value                 `yaml:"thickness" dim:"length" min:">0" doc:"bond line; min and max are its spread" eg:"{value: 50 µm, min: 30 µm, max: 100 µm}"`
	ThermalImpedance source.Value                 `yaml:"thermal_impedance" dim:"specific thermal resistance" min:">0" doc:"in place of conductivity and thickness" eg:"30 mm²·K/W"`
	Max              source.Value                 `yaml:"max_temperature" dim:"temperature" doc:"in service" eg:"150 °C"`
	Form             source.Choice[InterfaceForm] `yaml:"form" doc:"paste and pad need pressure; tape and adhesive hold by themselves"`
	YieldStress      source.Value                 `yaml:"yield_stress" dim:"pressure" min:">0" doc:"of a paste, for the bond line under pressure; 60 Pa, and said, where it is not given" eg:"60 Pa"`
}

// Solder is a solder alloy.
type Solder struct {
	Common   `yaml:",inline"`
	Solidus  source.Value `yaml:"solidus" dim:"temperature" need:"yes" doc:"where it begins to melt" eg:"138 °C"`
	Liquidus source.Value `yaml:"liquidus" dim:"temperature" need:"yes" doc:"where it is all molten" eg:"138 °C"`
	Fatigue  *Fatigue     `yaml:"fatigue" doc:"constants of Norris and Landzberg; those of the literature for SnAgCu and SnPb where it is not given"`
}

// Fatigue is the constants of a solder alloy in the law of Norris and Landzberg.
type Fatigue struct {
	Swing     source.Value `yaml:"swing_exponent" dim:"none" need:"yes" min:">0" max:"<=10" doc:"n, of the temperature swing" eg:"2.65"`
	Frequency source.Value `yaml:"frequency_exponent" dim:"none" need:"yes" min:">=0" max:"<=2" doc:"m, of the frequency" eg:"0.136"`
	Q         source.Value `yaml:"activation_temperature" dim:"temperature difference" need:"yes" min:">=0 K" doc:"activation energy over Boltzmann's constant" eg:"2185 K"`
}

// Sensor is a thermistor with a negative temperature coefficient.
type Sensor struct {
	Common    `yaml:",inline"`
	R25       source.Value `yaml:"r25" dim:"resistance" need:"yes" min:">0" doc:"resistance at 25 °C" eg:"10 kΩ"`
	Beta      source.Value `yaml:"beta" dim:"temperature difference" need:"yes" min:">0" doc:"B value between 25 and 85 °C" eg:"3950 K"`
	Tolerance source.Value `yaml:"tolerance" dim:"ratio" min:">0" doc:"of r25" eg:"1 %"`
	Table     source.Curve `yaml:"resistance_vs_temperature" x:"temperature" y:"resistance" trend:"falls" minpoints:"3" doc:"points of the sensor's table; with three and more it is followed by Steinhart and Hart, which is closer than B"`
}
