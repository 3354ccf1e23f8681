// Package project reads a project folder: the design file, the project's own parts and the parts library, as typed
// values.
//
// In: a file system with lamp.yaml and parts/*.yaml, and one with the built-in parts library.
// Out: a Project whose parts are found and whose geometry is possible, or every problem of every file at once.
// Assumes: nothing; whatever is in the files, it answers with a Project or with Problems.
// Leaves to others: what the values mean together (design), and whether that is wise (review).
package project

import (
	"fmt"

	"lampwright/internal/source"
)

// Design is the design file as the user wrote it.
type Design struct {
	Version          source.Whole        `yaml:"lampwright" need:"yes" min:">=2" max:"<=2" doc:"version of this file format; 2" eg:"2"`
	Name             source.Text         `yaml:"name" need:"yes" doc:"what you call the lamp" eg:"Planted tank, 60 cm"`
	Notes            source.Text         `yaml:"notes" doc:"anything worth keeping"`
	Installation     Installation        `yaml:"installation" need:"yes" doc:"where the lamp hangs and what it shines on"`
	Requirements     Requirements        `yaml:"requirements" doc:"what the lamp is to do; the review compares the prediction with it"`
	Board            BoardUse            `yaml:"board" need:"yes" doc:"the board the emitters sit on"`
	Channels         []Channel           `yaml:"channels" need:"yes" doc:"what dims together: the emitters on one driver output"`
	ThermalInterface ThermalInterfaceUse `yaml:"thermal_interface" need:"yes" doc:"what lies between board and sink"`
	Sink             SinkUse             `yaml:"sink" need:"yes" doc:"the heat sink and where it touches the board"`
	Housing          *HousingUse         `yaml:"housing" doc:"a part of the lamp's body that is screwed to the sink and dissipates heat too, where there is one"`
	Enclosure        *Enclosure          `yaml:"enclosure" doc:"what keeps water from board and joints, where they are enclosed"`
	Fan              *FanUse             `yaml:"fan" doc:"the fan, where there is one"`
	Sensor           *SensorUse          `yaml:"sensor" doc:"the temperature sensor on the board, where there is one"`
	InfraredSpots    []InfraredSpot      `yaml:"infrared_spots" doc:"where the board is measured with an infrared thermometer; the free place of 5 mm nearest to the hottest emitter where none is given"`
	Controller       *ControllerUse      `yaml:"controller" doc:"what dims the drivers and runs the day, where it is described"`
	Cutout           *CutoutUse          `yaml:"cutout" doc:"the thermal cut-out that is independent of sensor and controller, where there is one"`
	Solder           source.Text         `yaml:"solder" part:"solder" doc:"alloy under the emitters, by its id" eg:"sac305"`
	WireAlloy        source.Text         `yaml:"wire_solder" part:"solder" doc:"alloy for the wires, by its id; the same where it is not given" eg:"snbi58"`
	Supplies         []SupplyUse         `yaml:"supplies" doc:"supplies that feed the drivers; none where every driver is fed from the mains"`
	Suspension       *Suspension         `yaml:"suspension" doc:"how the lamp is hung or set up"`
	Mains            *Mains              `yaml:"mains" doc:"what is between the lamp and the mains: socket, breaker, switch; the review asks for what matters of it"`
	Day              Day                 `yaml:"day" doc:"the daily programme"`
	Extras           []Extra             `yaml:"extras" doc:"whatever else is to be bought"`
	Acknowledged     []Acknowledgement   `yaml:"acknowledged" doc:"findings of the review that stay as they are, each with a reason; a stop stays a stop"`
	ReplacedLamp     *ReplacedLamp       `yaml:"replaced_lamp" doc:"the lamp that this one replaces, as its packaging describes it"`
}

// Place is where the lamp hangs.
type Installation struct {
	Kind                source.Choice[InstallationKind] `yaml:"kind" need:"yes" doc:"an open tank with or without water, or a level surface in air"`
	Inside              Inside                          `yaml:"inside" need:"yes" doc:"inside size of the tank, or the size of the bench"`
	Glass               source.Value                    `yaml:"glass" dim:"length" min:">=0.1 mm" max:"<=500 mm" doc:"thickness of the panes of a tank" eg:"6 mm"`
	Water               source.Value                    `yaml:"water_depth" dim:"length" min:">=0 mm" doc:"from the inside bottom to the surface; no water where it is not given" eg:"320 mm"`
	LevelFall           source.Value                    `yaml:"level_fall" dim:"length" min:">=0 mm" doc:"how far the water falls between two refills; 14 mm, a week of 2 mm a day, and said, where it is not given" eg:"14 mm"`
	WaterTemperature    source.Value                    `yaml:"water_temperature" dim:"temperature" doc:"below which a heater does not let the water fall, under a hood; no heater where it is not given" eg:"25 °C"`
	SaltWater           source.Flag                     `yaml:"salt_water" doc:"whether it is sea water, for corrosion; fresh where it is not given"`
	WaterTint           source.Choice[WaterTint]        `yaml:"water_tint" doc:"colour of the water; clear where it is not given"`
	Substrate           source.Value                    `yaml:"substrate_depth" dim:"length" min:">=0 mm" doc:"thickness of gravel or soil; the target plane is its top" eg:"50 mm"`
	Reflectance         source.Value                    `yaml:"substrate_reflectance" dim:"ratio" min:">=0 %" max:"<=95 %" doc:"fraction of the light that gravel or soil sends back; black soil 5 %, pale sand 40 %; taken as none where it is not given" eg:"10 %"`
	Hanging             source.Value                    `yaml:"hanging_height" dim:"length" need:"yes" min:">0" doc:"from the front of the lenses down to the water surface, or to the target where there is no water" eg:"300 mm"`
	ViewerDistance      source.Value                    `yaml:"viewer_distance" dim:"length" min:">=20 mm" max:"<=20 m" doc:"from the lenses straight down to the eye of somebody who looks up under the lamp, for the figures of blue light; 200 mm, and said, where it is not given; an eye that looks on from its seat is viewer, for glare" eg:"300 mm"`
	LampTilt            *LampTilt                       `yaml:"lamp_tilt" doc:"the lamp hung askew; level where it is not given"`
	Offset              source.Point                    `yaml:"lamp_offset" doc:"centre of the board from the centre of the place" eg:"[0 mm, 0 mm]"`
	Ambient             Ambient                         `yaml:"ambient" need:"yes" doc:"air temperatures where the lamp hangs"`
	Altitude            source.Value                    `yaml:"altitude" dim:"length" min:">=-500 m" max:"<=6000 m" doc:"above the sea; thin air cools less" eg:"400 m"`
	InstallationDetails `yaml:",inline"`
}

// LampTilt is how a lamp hangs that does not look straight down.
type LampTilt struct {
	Tilt    source.Value `yaml:"tilt" dim:"angle" need:"yes" min:">=0 deg" max:"<=80 deg" doc:"away from straight down, about the centre of the board, whose height stays hanging_height; that side of the board goes up" eg:"15 deg"`
	Azimuth source.Value `yaml:"azimuth" dim:"angle" need:"yes" min:">=-360 deg" max:"<=360 deg" doc:"which way it looks, from x (right) towards y (back) seen from above: 90 deg is the back, -90 deg the front" eg:"90 deg"`
}

// Inside is a size inside the panes.
type Inside struct {
	Length source.Value `yaml:"length" dim:"length" need:"yes" min:">=10 mm" max:"<=50 m" doc:"along x" eg:"600 mm"`
	Width  source.Value `yaml:"width" dim:"length" need:"yes" min:">=10 mm" max:"<=50 m" doc:"along y, front to back" eg:"300 mm"`
	Height source.Value `yaml:"height" dim:"length" min:">=10 mm" max:"<=20 m" doc:"of the panes over the inside bottom; a tank needs it" eg:"360 mm"`
}

// Ambient is the air about the lamp.
type Ambient struct {
	Typical  source.Value `yaml:"typical" dim:"temperature" need:"yes" doc:"on a usual day" eg:"22 °C"`
	Max      source.Value `yaml:"max" dim:"temperature" need:"yes" doc:"at maximum ambient" eg:"32 °C"`
	Min      source.Value `yaml:"min" dim:"temperature" doc:"when the lamp starts cold; 10 °C, and said, where it is not given" eg:"10 °C"`
	Humidity source.Value `yaml:"humidity" dim:"ratio" min:">=1 %" max:"<=100 %" doc:"relative humidity of that air; under a hood over water 50 %, elsewhere above water 60 %, below the rim 75 %, and said, where it is not given" eg:"55 %"`
}

// Requirements is what the lamp is to do.
type Requirements struct {
	PPFD         source.Value           `yaml:"ppfd" dim:"ppfd" min:">0" doc:"mean at the target; a tolerance is the band you accept" eg:"{value: 60 µmol/m²/s, min: 50 µmol/m²/s, max: 90 µmol/m²/s}"`
	Uniformity   source.Value           `yaml:"uniformity" dim:"ratio" min:">0" max:"<=100 %" doc:"minimum ratio of minimum to mean PPFD at the target" eg:"40 %"`
	DLI          source.Value           `yaml:"dli" dim:"dli" min:">0" doc:"day's light at the target; a tolerance is the band you accept" eg:"2 mol/m²/d ± 25 %"`
	CCT          source.Value           `yaml:"cct" dim:"cct" doc:"colour of the whole lamp; a tolerance is the band you accept" eg:"6500 K ± 500 K"`
	Duv          source.Value           `yaml:"duv" dim:"none" min:">=-0.05" max:"<=0.05" doc:"distance of the whole lamp's light from the Planckian locus in CIE 1960 (u, v), positive above; a tolerance is the band you accept, ±0.006 about a value without one; assumed 0 ± 0.006, and said, where cct or ra is required and this is not stated" eg:"0 ± 0.003"`
	Ra           source.Value           `yaml:"ra" dim:"none" min:">0" max:"<=100" doc:"minimum colour rendering index" eg:"80"`
	Rf           source.Value           `yaml:"rf" dim:"none" min:">0" max:"<=100" doc:"minimum colour fidelity index (CIE 224)" eg:"75"`
	R9           source.Value           `yaml:"r9" dim:"none" max:"<=100" doc:"minimum rendering index of saturated red; may be below zero" eg:"20"`
	MaxJunction  source.Value           `yaml:"max_junction" dim:"temperature" doc:"hottest junction you accept at maximum ambient" eg:"100 °C"`
	Spill        source.Value           `yaml:"spill" dim:"ratio" min:">=0 %" max:"<=100 %" doc:"fraction of the lamp's light that misses the place, at most" eg:"25 %"`
	ServiceLife  source.Value           `yaml:"service_life" dim:"time" min:">=1 d" max:"<=100 a" doc:"for how long the lamp is to run at its daily programme and to meet its requirements; 10 years, and said, where it is not given" eg:"10 years"`
	Budget       source.Value           `yaml:"budget" dim:"money" min:">0" doc:"for all parts" eg:"250 EUR"`
	AccessibleTo source.Choice[Persons] `yaml:"accessible_to" doc:"who can reach the sink; decides for how long a touch must do no harm"`
}

// Colour returns the required colour temperature as a band: a colour is no lower bound, so that a value alone means 5 %
// to either side, about one nominal step of ANSI C78.377, such as 2725 K ± 145 K.
func (w *Requirements) Colour() source.Value {
	v := w.CCT
	if v.Set && v.Lo == v.Hi {
		v.Lo, v.Hi = 0.95*v.SI, 1.05*v.SI
	}
	return v
}

// whiteDuv is the largest distance from the Planckian locus of light that counts as white. Source: ANSIC78.377.
const whiteDuv = 0.006

// Whiteness returns the required Duv as a band; stated is false where it is assumed, because a CCT or Ra is required,
// and says nothing of a light that is not white. A value without a tolerance means that of white light to either side.
// Source: ANSIC78.377, for the tolerance.
func (w *Requirements) Whiteness() (band source.Value, stated bool) {
	v := w.Duv
	switch {
	case v.Set && v.Lo < v.Hi:
	case v.Set:
		v.Lo, v.Hi = v.SI-whiteDuv, v.SI+whiteDuv
	case w.CCT.Set:
		v = source.Value{Lo: -whiteDuv, Hi: whiteDuv, Set: true, At: w.CCT.At}
	case w.Ra.Set:
		v = source.Value{Lo: -whiteDuv, Hi: whiteDuv, Set: true, At: w.Ra.At}
	}
	return v, w.Duv.Set
}

// BoardUse is the board of this lamp.
type BoardUse struct {
	Part      source.Text               `yaml:"part" need:"yes" part:"board" doc:"stack-up, by its id" eg:"aluminium-2w"`
	Thickness source.Value              `yaml:"thickness" dim:"length" need:"yes" min:">0" doc:"of the core; one the stack-up is made in" eg:"2 mm"`
	Shape     source.Choice[BoardShape] `yaml:"shape" need:"yes" doc:"outline"`
	Length    source.Value              `yaml:"length" dim:"length" min:">0" doc:"of a rectangle, along x" eg:"120 mm"`
	Width     source.Value              `yaml:"width" dim:"length" min:">0" doc:"of a rectangle, along y" eg:"80 mm"`
	Diameter  source.Value              `yaml:"diameter" dim:"length" min:">0" doc:"of a disc" eg:"100 mm"`
	Corners   []source.Point            `yaml:"corners" doc:"of a polygon, in order around the rim, from the point that all places on the board are measured from" eg:"[60 mm, 40 mm]"`
	Holes     []Hole                    `yaml:"holes" doc:"holes and cut-outs: screws, cables, windows"`
	Mounting  *Mounting                 `yaml:"mounting" doc:"what presses the board on the heat sink"`
	Coverage  source.Value              `yaml:"copper_coverage" dim:"ratio" min:">0" max:"<=100 %" doc:"fraction of the board under copper; 80 %, and said, where it is not given" eg:"85 %"`
	Coating   source.Choice[Coating]    `yaml:"coating" doc:"conformal coating of joints and copper; none where it is not given"`
}

// Mounting is what presses the board on the heat sink.
type Mounting struct {
	Method  source.Choice[MountingMethod] `yaml:"method" need:"yes" doc:"what keeps the board on the heat sink; none where nothing but the thermal interface does"`
	Screw   source.Choice[ScrewSize]      `yaml:"screw" doc:"thread of the screws" eg:"M3"`
	Metal   source.Choice[Metal]          `yaml:"screw_material" doc:"metal of the screws, for contact corrosion: stainless is A2 and A4, zinc is plated steel"`
	Torque  source.Value                  `yaml:"torque" dim:"torque" min:">0" max:"<=20 N·m" doc:"tightening torque of each screw, dry" eg:"0.5 N·m"`
	Washer  source.Choice[WasherKind]     `yaml:"washer" doc:"what is under the head of each screw: a flat or a toothed washer, or the bare head, which counts as one; insulating: a plastic washer, and the head does not reach beyond it"`
	KeepOut source.Value                  `yaml:"keep_out_radius" dim:"length" min:">0" doc:"radius about the centre of each screw that is free of copper of the circuit" eg:"5.5 mm"`
	At      []source.Point                `yaml:"at" doc:"centres of the screws or clips, from the centre of the board; the round holes of the board that fit the screw where it is not given" eg:"[50 mm, 0 mm]"`
}

// Hole is holes of one kind through a board: round ones, or rectangular cut-outs.
type Hole struct {
	Diameter source.Value   `yaml:"diameter" dim:"length" min:">0" doc:"of a round hole" eg:"3.2 mm"`
	Length   source.Value   `yaml:"length" dim:"length" min:">0" doc:"of a rectangular cut-out, along x" eg:"20 mm"`
	Width    source.Value   `yaml:"width" dim:"length" min:">0" doc:"of a rectangular cut-out, along y" eg:"6 mm"`
	At       []source.Point `yaml:"at" need:"yes" doc:"their centres, from the centre of the board" eg:"[50 mm, 0 mm]"`
}

// Channel is what one driver output feeds and what dims together.
type Channel struct {
	Name             source.Text  `yaml:"name" need:"yes" doc:"what you call it" eg:"white"`
	Emitters         []EmitterUse `yaml:"emitters" need:"yes" doc:"the emitters, in the order of the string"`
	Current          source.Value `yaml:"current" dim:"current" need:"yes" min:">0" doc:"the driver's output, shared by the strings" eg:"700 mA"`
	ParallelStrings  source.Whole `yaml:"parallel_strings" min:">=1" max:"<=100" doc:"parallel strings on this output; 1 where it is not given"`
	CurrentBalancing source.Flag  `yaml:"current_balancing" doc:"whether parallel strings have a ballast or a current mirror each"`
	Level            source.Value `yaml:"level" dim:"ratio" min:">=0 %" max:"<=100 %" doc:"dimming level at full day; 0 % leaves the channel off; 100 % where it is not given" eg:"80 %"`
	Driver           source.Text  `yaml:"driver" need:"yes" part:"driver" doc:"driver, by its id" eg:"buck-1a"`
	Wire             *WireUse     `yaml:"wire" doc:"from driver to board"`
	Fuse             *FuseUse     `yaml:"fuse" doc:"between the supply and this driver, where there is one"`
	Connector        *Connector   `yaml:"connector" doc:"between driver and string, where there is one"`
	Bleeder          source.Value `yaml:"bleeder" dim:"resistance" min:">0" doc:"resistor across the string, for leakage of the driver while it is off" eg:"330 kΩ"`
	PullDown         source.Value `yaml:"pull_down" dim:"resistance" min:">0" doc:"resistor at the driver that holds its dimming input low while the controller starts" eg:"8.2 kΩ"`
}

// Connector is a connector between driver and string.
type Connector struct {
	RatedCurrent   source.Value `yaml:"rated_current" dim:"current" need:"yes" min:">0" doc:"of one contact, which it heats by 30 K" eg:"3 A"`
	Poles          source.Whole `yaml:"poles" min:">=2" max:"<=40" doc:"loaded contacts; 2 where it is not given"`
	MaxTemperature source.Value `yaml:"max_temperature" dim:"temperature" doc:"upper end of its range; without it the rated current is compared" eg:"85 °C"`
	Keyed          source.Flag  `yaml:"keyed" doc:"whether it fits in one orientation only"`
	Price          source.Value `yaml:"price" dim:"money" min:">=0 EUR" doc:"of the pair" eg:"1.20 EUR"`
}

// Label returns what emitter k of the channel's kind j is called: the channel's name and its number in it, from 1.
func (c *Channel) Label(j, k int) string {
	n := k + 1
	for i := range j {
		n += len(c.Emitters[i].At)
	}
	return fmt.Sprintf("%s %d", c.Name.S, n)
}

// EmitterUse is emitters of one kind in a channel.
type EmitterUse struct {
	Part             source.Text    `yaml:"part" need:"yes" part:"emitter" doc:"emitter, by its id" eg:"white-5700"`
	DieConfiguration source.Text    `yaml:"die_configuration" doc:"which of the package's wirings; the first where it is not given" eg:"12 V"`
	Lens             source.Text    `yaml:"lens" part:"lens" doc:"lens over each, by its id; bare where it is not given" eg:"lens-52"`
	Rotation         source.Value   `yaml:"rotation" dim:"angle" min:">=-360 deg" max:"<=360 deg" doc:"of a lens that is not the same all round: its first plane away from x, towards y seen from above" eg:"90 deg"`
	Tilt             source.Value   `yaml:"tilt" dim:"angle" min:">=0 deg" max:"<=80 deg" doc:"of these emitters away from the board's axis, as on a wedge; straight down where it is not given" eg:"15 deg"`
	Azimuth          source.Value   `yaml:"azimuth" dim:"angle" min:">=-360 deg" max:"<=360 deg" doc:"which way tilt goes, from x towards y seen from above: 90 deg is the back" eg:"90 deg"`
	Splay            source.Value   `yaml:"splay" dim:"angle" min:">=-80 deg" max:"<=80 deg" doc:"in place of tilt: each looks away from the centre of the board by this angle, below zero towards it" eg:"-10 deg"`
	At               []source.Point `yaml:"at" need:"yes" doc:"where they sit, from the centre of the board" eg:"[20 mm, 0 mm]"`
}

// WireUse is a length of wire.
type WireUse struct {
	Part            source.Text  `yaml:"part" need:"yes" part:"wire" doc:"wire, by its id" eg:"awg20"`
	Length          source.Value `yaml:"length" dim:"length" need:"yes" min:">0" doc:"of the pair, one way" eg:"2 m"`
	GroupedCircuits source.Whole `yaml:"grouped_circuits" min:">=1" max:"<=100" doc:"loaded pairs in the bundle or sleeve it runs in, itself among them; 1 where it is not given" eg:"3"`
}

// FuseUse is a fuse on the low-voltage side.
type FuseUse struct {
	RatedCurrent   source.Value                `yaml:"rated_current" dim:"current" need:"yes" min:">0" doc:"rated current" eg:"2 A"`
	RatedVoltageDC source.Value                `yaml:"rated_voltage_dc" dim:"voltage" min:">0" doc:"rated voltage for direct current, which is less than that for alternating current" eg:"32 V"`
	Standard       source.Choice[FuseStandard] `yaml:"standard" doc:"what it is rated by: miniature fuses of IEC 60127 or UL 248-14, blade fuses of ISO 8820; the laziest of them is taken where it is not given"`
	Price          source.Value                `yaml:"price" dim:"money" min:">=0 EUR" doc:"of one fuse" eg:"0.60 EUR"`
	HolderPrice    source.Value                `yaml:"holder_price" dim:"money" min:">=0 EUR" doc:"of its holder" eg:"1.80 EUR"`
}

// InterfaceUse is what lies between board and sink.
type ThermalInterfaceUse struct {
	Part source.Text `yaml:"part" need:"yes" part:"thermal interface" doc:"paste or pad, by its id" eg:"tim-paste-3w"`
}

// SinkUse is the sink of this lamp.
type SinkUse struct {
	Part        source.Text                `yaml:"part" need:"yes" part:"sink" doc:"sink, by its id" eg:"fins-100"`
	Orientation source.Choice[Orientation] `yaml:"orientation" doc:"fins up where it is not given: the base is level and the fins point up; vertical: air rises along the fins; fins across: upright, air crosses the fins"`
	Contact     *Contact                   `yaml:"contact" doc:"where the sink touches the board; its whole base, centred, where it is not given"`
	Tilt        source.Value               `yaml:"tilt" dim:"angle" min:">=0 deg" max:"<60 deg" doc:"of a vertical sink away from upright" eg:"20 deg"`
	Hood        *Hood                      `yaml:"hood" doc:"a hood about the lamp, whose air it warms; in place of hood_air_rise"`
	HoodAirRise source.Value               `yaml:"hood_air_rise" dim:"temperature difference" min:">=0 K" doc:"how much warmer the air is under a hood than in the room; 0 K where it hangs free" eg:"8 K"`
}

// Hood is a hood over the lamp.
type Hood struct {
	WallArea    source.Value `yaml:"wall_area" dim:"area" need:"yes" min:">0" doc:"walls and lid that face the room" eg:"0.6 m²"`
	WallUValue  source.Value `yaml:"wall_u_value" dim:"film" min:">0" doc:"of the walls; 2.5 W/(m²·K), a board of wood, where it is not given" eg:"2.5 W/(m²·K)"`
	VentArea    source.Value `yaml:"vent_area" dim:"area" min:">=0 cm²" doc:"free area of the smaller of inlet and outlet; closed where it is not given" eg:"60 cm²"`
	VentHeight  source.Value `yaml:"vent_height" dim:"length" min:">0" doc:"from inlet to outlet" eg:"150 mm"`
	AirExchange source.Value `yaml:"air_exchange" dim:"volume flow" min:">0" doc:"air that leaks through flaps and gaps, over open water; 0.6 m³/h, and said, where it is not given" eg:"0.6 m³/h"`
}

// Enclosure is what keeps water from board and joints: a housing, a cover with a seal, potting.
type Enclosure struct {
	Sealing source.Choice[Sealing] `yaml:"sealing" need:"yes" doc:"open: air and water drain; vented: sealed with a membrane that lets air pass; sealed: no way for the air; potted: no air in it"`
	Volume  source.Value           `yaml:"volume" dim:"volume" min:">0" doc:"of the air in it" eg:"0.6 l"`
	IP      source.Text            `yaml:"ip_code" doc:"protection of the lamp against touch and water by IEC 60529" eg:"IP65"`
}

// Splash returns the second digit of the IP code, how much water it keeps out; 0 where it says X or nothing.
func (e *Enclosure) Splash() int {
	if e == nil {
		return 0
	}
	return splashOf(e.IP)
}

// HousingUse is a part of the lamp's body that is screwed to the sink: a profile, a cover, a frame.
type HousingUse struct {
	Area              source.Value                `yaml:"area" dim:"area" need:"yes" min:">0" doc:"of its faces that see the room" eg:"600 cm²"`
	Emissivity        source.Value                `yaml:"emissivity" dim:"ratio" need:"yes" min:">0 %" max:"<=100 %" doc:"of its surface: anodised or painted 85 %, bare 10 %" eg:"85 %"`
	Faces             source.Choice[HousingFaces] `yaml:"faces" doc:"where they look; upright where it is not given"`
	Height            source.Value                `yaml:"height" dim:"length" min:">0" doc:"of upright faces" eg:"60 mm"`
	Perimeter         source.Value                `yaml:"perimeter" dim:"length" min:">0" doc:"around a face that looks up or down" eg:"1 m"`
	JointResistance   source.Value                `yaml:"joint_resistance" dim:"thermal resistance" min:">0" doc:"from the sink's base to it" eg:"0.3 K/W"`
	ContactArea       source.Value                `yaml:"contact_area" dim:"area" min:">0" doc:"in which it touches the sink; in place of joint_resistance, with contact_resistance" eg:"12 cm²"`
	ContactResistance source.Value                `yaml:"contact_resistance" dim:"specific thermal resistance" min:">0" doc:"of that contact: about 275 mm²·K/W for milled aluminium, dry; 30 mm²·K/W with paste" eg:"275 mm²·K/W"`
	Mass              source.Value                `yaml:"mass" dim:"mass" min:">0" doc:"for the warm-up" eg:"0.4 kg"`
}

// JointKW returns the resistance from the sink's base to the housing [K/W].
func (h *HousingUse) JointKW() float64 {
	if h.JointResistance.Set {
		return h.JointResistance.SI
	}
	return h.ContactResistance.SI / h.ContactArea.SI
}

// Contact is the area in which the sink touches the board.
type Contact struct {
	Length source.Value `yaml:"length" dim:"length" need:"yes" min:">0" doc:"along x" eg:"60 mm"`
	Width  source.Value `yaml:"width" dim:"length" need:"yes" min:">0" doc:"along y" eg:"60 mm"`
	At     source.Point `yaml:"at" doc:"its centre, from the centre of the board" eg:"[0 mm, 0 mm]"`
}

// FanUse is the fan of this lamp.
type FanUse struct {
	Part            source.Text            `yaml:"part" need:"yes" part:"fan" doc:"fan, by its id" eg:"fan-92"`
	Speed           source.Value           `yaml:"speed" dim:"ratio" min:">0" max:"<=100 %" doc:"fraction of rated speed; 100 % where it is not given" eg:"60 %"`
	Airflow         source.Choice[Airflow] `yaml:"airflow" doc:"impinging where it is not given: the air hits their tips and leaves at both ends"`
	FinFlowFraction source.Value           `yaml:"fin_flow_fraction" dim:"ratio" min:">0" max:"<=100 %" doc:"fraction of the air that goes between the fins; 100 % for a duct, 50 %, and said, where it is not given" eg:"50 %"`
}

// SensorUse is the temperature sensor of this lamp.
type SensorUse struct {
	Part          source.Text  `yaml:"part" need:"yes" part:"sensor" doc:"sensor, by its id" eg:"ntc-10k"`
	At            source.Point `yaml:"at" need:"yes" doc:"where it sits on the board" eg:"[0 mm, 30 mm]"`
	FixedResistor source.Value `yaml:"fixed_resistor" dim:"resistance" min:">0" doc:"resistor from the reference to the sensor, which goes to ground; as large as the sensor at 25 °C where it is not given" eg:"4.7 kΩ"`
	ADCBits       source.Whole `yaml:"adc_bits" min:">=6" max:"<=24" doc:"of the converter; 12 where it is not given" eg:"12"`
	MinLevel      source.Value `yaml:"min_level" dim:"ratio" min:">0" max:"<=100 %" doc:"light level that foldback goes down to, and that an open or shorted sensor gives; 10 % where it is not given" eg:"10 %"`
	FoldbackStart source.Value `yaml:"foldback_start" dim:"temperature" doc:"sensor temperature up to which the light is full; with foldback_end it is the law of the controller, without them one is computed" eg:"55 °C"`
	FoldbackEnd   source.Value `yaml:"foldback_end" dim:"temperature" doc:"sensor temperature from which the light is least" eg:"70 °C"`
}

// InfraredSpot is a disc on the board at which an infrared thermometer looks.
type InfraredSpot struct {
	Name     source.Text  `yaml:"name" need:"yes" doc:"what you call it; its figure is spot.NAME" eg:"beside-white"`
	At       source.Point `yaml:"at" need:"yes" doc:"its centre on the board" eg:"[12 mm, 0 mm]"`
	Diameter source.Value `yaml:"diameter" dim:"length" need:"yes" min:">=1 mm" max:"<=100 mm" doc:"of the disc that the thermometer sees from its distance" eg:"5 mm"`
}

// CutoutUse is an independent thermal cut-out: no sensor, wire, controller or code is shared with foldback.
type CutoutUse struct {
	Kind           source.Choice[CutoutKind]     `yaml:"kind" doc:"bimetal where it is not given: it opens within its tolerance and may close again; a thermal link opens once, up to 10 K early"`
	Opens          source.Value                  `yaml:"opens" dim:"temperature" need:"yes" doc:"nominal opening temperature" eg:"80 °C"`
	Tolerance      source.Value                  `yaml:"tolerance" dim:"temperature difference" min:">=0 K" max:"<=30 K" doc:"of a bimetal, to either side; 5 K, and said, where it is not given" eg:"5 K"`
	At             source.Point                  `yaml:"at" doc:"where it is clamped, from the centre of the board; on the base of the sink where it is not given" eg:"[30 mm, 0 mm]"`
	Switches       source.Choice[CutoutSwitches] `yaml:"switches" need:"yes" doc:"what it interrupts; never the string of LEDs, which must not be connected to a live driver"`
	RatedVoltageDC source.Value                  `yaml:"rated_voltage_dc" dim:"voltage" min:">0" doc:"for direct current, less than that for alternating current" eg:"48 V"`
	RatedCurrentDC source.Value                  `yaml:"rated_current_dc" dim:"current" min:">0" doc:"at that voltage" eg:"5 A"`
}

// SupplyUse is a supply of this lamp.
type SupplyUse struct {
	Part  source.Text   `yaml:"part" need:"yes" part:"supply" doc:"supply, by its id" eg:"supply-24v-100w"`
	Feeds []source.Text `yaml:"feeds" doc:"channels whose drivers it feeds; all where it is the only supply, none for one that is there for the fan alone" eg:"white"`
	Fan   source.Flag   `yaml:"fan" doc:"whether the fan runs on it; the first supply feeds the fan where none says so"`
	Wire  *WireUse      `yaml:"wire" doc:"from supply to drivers"`
	Fuse  *FuseUse      `yaml:"fuse" doc:"at its output, where there is one"`
}

// Suspension is how the lamp is hung or set up.
type Suspension struct {
	Method source.Choice[SuspensionMethod] `yaml:"method" need:"yes" doc:"lines from above, a frame on the rim of the tank, or a stand"`
	Mass   source.Value                    `yaml:"mass" dim:"mass" min:">0" doc:"of all that hangs, as weighed; in place of the sum over the parts" eg:"2.4 kg"`
	Lines  []SuspensionLine                `yaml:"lines" doc:"the lines from above, a safety line among them"`
	Base   source.Choice[AnchorBase]       `yaml:"anchor_base" doc:"what the anchors of the lines are in"`
}

// SuspensionLine is one line from an anchor to the lamp.
type SuspensionLine struct {
	At           source.Point `yaml:"at" need:"yes" doc:"where it holds the lamp, from the centre of the board" eg:"[-200 mm, 0 mm]"`
	Anchor       source.Text  `yaml:"anchor" doc:"what you call its anchor; lines with the same anchor fall together" eg:"hook left"`
	BreakingLoad source.Value `yaml:"breaking_load" dim:"force" min:">0" doc:"smallest of line, gripper and anchor, as stated" eg:"300 N"`
	Angle        source.Value `yaml:"angle" dim:"angle" min:">=0 deg" max:"<90 deg" doc:"away from vertical; vertical where it is not given" eg:"20 deg"`
	Slack        source.Value `yaml:"slack" dim:"length" min:">=0 mm" max:"<=1 m" doc:"how far the lamp falls before a safety line bears it; taut, and said, where it is not given" eg:"0 mm"`
	Stiffness    source.Value `yaml:"stiffness" dim:"stiffness" min:">0" doc:"force over stretch of the line, for slack; 25 N/mm where it is not given" eg:"25 N/mm"`
}

// Mains is what is between the lamp and the mains.
type Mains struct {
	Breaker         *Breaker                     `yaml:"breaker" doc:"the circuit breaker of this circuit"`
	RCD             source.Value                 `yaml:"rcd" dim:"current" min:">0" doc:"rated residual current of the device that guards this circuit" eg:"30 mA"`
	Switch          *MainsSwitch                 `yaml:"switch" doc:"what turns the lamp on and off in the mains"`
	ProtectiveEarth source.Flag                  `yaml:"protective_earth" doc:"whether supplies of class I, and the metal that they earth, are joined to the protective earth"`
	Metal           source.Choice[LampMetal]     `yaml:"metal" doc:"metal of the lamp that can be touched: joined to the protective earth, or floating"`
	DripLoop        source.Flag                  `yaml:"drip_loop" doc:"whether every lead hangs lower than its plug and its terminals, so that water drips off on the way"`
	Location        source.Choice[MainsLocation] `yaml:"location" doc:"where supplies and mains drivers are: out of reach of splash, or above the water or its rim"`
}

// Breaker is a circuit breaker.
type Breaker struct {
	RatedCurrent source.Value                `yaml:"rated_current" dim:"current" need:"yes" min:">0" doc:"rated current" eg:"16 A"`
	Curve        source.Choice[BreakerCurve] `yaml:"curve" need:"yes" doc:"IEC 60898-1: trips at once from 3 to 5, 5 to 10 or 10 to 20 times its rated current" eg:"B"`
}

// MainsSwitch is what turns the lamp on and off in the mains.
type MainsSwitch struct {
	Kind           source.Choice[SwitchKind] `yaml:"kind" need:"yes" doc:"none where the supplies stay on and the drivers dim the light out"`
	Switches       []source.Text             `yaml:"switches" doc:"supplies by their id, and channels with a mains driver, that it turns; all where it is not given" eg:"supply-24v-100w"`
	MakingCapacity source.Value              `yaml:"making_capacity" dim:"current" min:">0" doc:"largest peak that its contacts close on, as its datasheet gives it" eg:"80 A"`
	Snubber        source.Value              `yaml:"snubber" dim:"capacitance" min:">0" doc:"capacitor of an RC snubber across its open contact" eg:"47 nF"`
	Cable          source.Value              `yaml:"cable" dim:"length" min:">0" doc:"of the cable behind a contact in one conductor, whose capacitance leaks" eg:"6 m"`
	LEDLoad        source.Value              `yaml:"led_load" dim:"power" min:">0" doc:"largest load of LED lamps or electronic supplies, as its datasheet gives it; where making_capacity is not stated" eg:"100 W"`
}

// Extra is something else on the order list.
type Extra struct {
	What  source.Text  `yaml:"what" need:"yes" doc:"what it is" eg:"screws and washers"`
	Price source.Value `yaml:"price" dim:"money" need:"yes" min:">=0 EUR" doc:"for all of it" eg:"6 EUR"`
}
