package project

import (
	"errors"
	"fmt"
	"io/fs"

	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// ReadingsFile is the name of the file of readings in a project folder.
const ReadingsFile = "readings.yaml"

// The limits on a file of readings.
const (
	MaxReadings     = 2000 // readings in a file
	MaxSeriesPoints = 500  // points in a series
)

// Readings is the readings file: what was measured on the built lamp, with what, and in which state.
//
// Fields without a key of the file are filled by LoadReadings.
type Readings struct {
	File        *source.File
	Version     source.Whole    `yaml:"lampwright_readings" need:"yes" min:">=1" max:"<=1" doc:"version of this file format; 1" eg:"1"`
	Instruments []Instrument    `yaml:"instruments" doc:"the measuring instruments"`
	Campaigns   []Campaign      `yaml:"campaigns" doc:"the readings of one day, with the state of the lamp"`
	Doubts      source.Problems // what can be read, and was perhaps not meant
}

// Instrument is a measuring instrument; each range of a multimeter is one of its own.
type Instrument struct {
	Name           source.Text                   `yaml:"name" need:"yes" doc:"what you call it" eg:"lux"`
	Kind           source.Choice[InstrumentKind] `yaml:"kind" need:"yes" doc:"kind of instrument"`
	Class          source.Choice[MeterClass]     `yaml:"class" doc:"of a lux meter, by DIN 5032-7; C where neither class nor accuracy is given"`
	Accuracy       source.Value                  `yaml:"accuracy" dim:"ratio" min:">=0 %" max:"<=100 %" doc:"maximum error as a fraction of the reading, to either side; of a temperature in °C" eg:"4 %"`
	AccuracyDigits source.Whole                  `yaml:"accuracy_digits" min:">=0" max:"<=10000" doc:"steps of the display that are added to the maximum error" eg:"2"`
	OffsetText     source.Text                   `yaml:"accuracy_offset" doc:"constant part of the maximum error, in the unit that the instrument displays; of a temperature in K" eg:"1.5 K"`
	ResolutionText source.Text                   `yaml:"resolution" doc:"step of the display, in the unit that the instrument displays; of a temperature in K" eg:"1 lx"`
	Range          *InstrumentRange              `yaml:"range" doc:"the range that was set; a reading outside it is an error"`
	Correction     source.Value                  `yaml:"correction" dim:"none" min:">=0.5" max:"<=2" doc:"factor that its certificate states; readings are multiplied by it; not for temperatures" eg:"1.02"`
	CorrectionText source.Text                   `yaml:"correction_offset" doc:"constant that its certificate states, in the unit that the instrument displays, of a temperature in K; it is added to readings" eg:"-0.4 K"`
	Immersion      source.Value                  `yaml:"immersion_factor" dim:"none" min:">=0.5" max:"<=2" doc:"of a quantum sensor or lux meter under water: readings in water are multiplied by it; 1 where it is not given" eg:"1.25"`
	Burden         source.Value                  `yaml:"burden" dim:"resistance" min:">=0 Ω" max:"<=1 kΩ" doc:"of a multimeter that measures current: its resistance in the string" eg:"50 mΩ"`
	Note           source.Text                   `yaml:"note" doc:"anything worth keeping"`

	Dim              quantity.Dim // of its display; None for a multimeter that states neither range nor resolution
	Offset           source.Value // constant part of the maximum error
	Resolution       source.Value // step of the display
	CorrectionOffset source.Value // added to readings
}

// InstrumentRange is the range that was set on an instrument.
type InstrumentRange struct {
	MinText source.Text `yaml:"min" doc:"lower end, in the unit that the instrument displays" eg:"0 lx"`
	MaxText source.Text `yaml:"max" doc:"upper end, in the unit that the instrument displays" eg:"20000 lx"`

	Min, Max source.Value
}

// Campaign is the readings of one day.
type Campaign struct {
	Name          source.Text  `yaml:"name" need:"yes" doc:"what you call it" eg:"first light"`
	Date          source.Text  `yaml:"date" need:"yes" doc:"the day, year-month-day" eg:"2031-09-12"`
	Room          source.Value `yaml:"room" dim:"temperature" need:"yes" min:">=-20 °C" max:"<=60 °C" doc:"air temperature about the lamp" eg:"22.5 °C"`
	OperatingTime source.Value `yaml:"operating_time" dim:"time" min:">=0 h" max:"<=30 a" doc:"of the lamp at full level before this campaign; 0 h where it is not given" eg:"0 h"`
	Note          source.Text  `yaml:"note" doc:"anything worth keeping"`
	States        []LampState  `yaml:"states" doc:"states of the lamp that readings name; full, which is the levels of full day in the steady state, exists without a declaration"`
	Readings      []Reading    `yaml:"readings" doc:"the readings, in any order"`
}

// LampState is a state of the lamp while it is measured.
type LampState struct {
	Name   source.Text               `yaml:"name" need:"yes" doc:"what readings call it" eg:"only cool"`
	Levels []StateLevel              `yaml:"levels" doc:"levels of the channels; one that is not listed is off; the levels of full day where this key is not given"`
	Fan    source.Choice[OnOff]      `yaml:"fan" doc:"on where it is not given and the design has a fan"`
	Lenses source.Choice[OnOff]      `yaml:"lenses" doc:"whether the lenses are mounted; on where it is not given"`
	After  source.Value              `yaml:"after" dim:"time" min:">=0 s" max:"<=30 d" doc:"time from switch-on of the cold lamp to the readings; steady where it is not given" eg:"60 min"`
	Origin source.Choice[TimeOrigin] `yaml:"times_from" doc:"from when after and the times of series count: switch-on of the cold lamp, or switch-off of the steady lamp at these levels; switch-on where it is not given"`
	Room   source.Value              `yaml:"room" dim:"temperature" min:">=-20 °C" max:"<=60 °C" doc:"air temperature in this state; that of the campaign where it is not given" eg:"23 °C"`
	Note   source.Text               `yaml:"note" doc:"anything worth keeping"`
}

// FullDay reports whether the channels are at their levels of full day.
func (s *LampState) FullDay() bool { return s.Levels == nil }

// LevelOf returns the dimming level of a channel of the design in this state, as a fraction.
func (s *LampState) LevelOf(ch *Channel) float64 {
	if s.FullDay() {
		if ch.Level.Set {
			return ch.Level.SI
		}
		return 1
	}
	for _, l := range s.Levels {
		if l.Channel.S == ch.Name.S {
			return l.Level.SI
		}
	}
	return 0
}

// StateLevel is the level of a channel.
type StateLevel struct {
	Channel source.Text  `yaml:"channel" need:"yes" doc:"name of the channel" eg:"cool"`
	Level   source.Value `yaml:"level" dim:"ratio" need:"yes" min:">=0 %" max:"<=100 %" doc:"dimming level, of the driver's full output" eg:"100 %"`
}

// Reading is one reading, or a series of one quantity at one place.
type Reading struct {
	ID                   source.Text                    `yaml:"id" doc:"what you call it; number of the campaign and position in it, such as 1.4, where it is not given" eg:"E1"`
	What                 source.Choice[ReadingQuantity] `yaml:"what" need:"yes" doc:"quantity; flux ratio is light with lens over light without it, by box, ceiling or scan"`
	InstrumentName       source.Text                    `yaml:"instrument" doc:"name of the instrument; may be left out where uncertainty is given" eg:"lux"`
	StateName            source.Text                    `yaml:"state" doc:"name of the state; the only one of the campaign, or full where it has none, where it is not given" eg:"only cool"`
	Channel              source.Text                    `yaml:"channel" doc:"name of the channel; of light, the one channel that the state lights" eg:"cool"`
	Place                source.Choice[ReadingPlace]    `yaml:"place" doc:"of light: axis, surface (of the water), target; of a temperature: solder point, board, heat sink, spot, sensor, room"`
	EmitterLabel         source.Text                    `yaml:"emitter" doc:"emitter of a solder point or junction, as the review names it" eg:"cool 2"`
	SpotName             source.Text                    `yaml:"spot" doc:"name of an infrared spot of the design; hottest where the design states none" eg:"beside-white"`
	Distance             source.Value                   `yaml:"distance" dim:"length" min:">=10 mm" max:"<=20 m" doc:"on the axis, from the front of the lenses to the diffuser of the meter; from the LED packages where lenses are off" eg:"500 mm"`
	At                   source.Point                   `yaml:"at" doc:"on the board, in its coordinates; at surface and target, from the centre of the place; on the axis, offset from the centre of the board" eg:"[0 mm, 0 mm]"`
	Angle                source.Value                   `yaml:"angle" dim:"angle" min:">=-90 deg" max:"<=90 deg" doc:"on the axis: of the lamp turned about its front; 0 deg where it is not given" eg:"10 deg"`
	MeterMode            source.Choice[MeterMode]       `yaml:"meter_mode" doc:"what the ammeter displays of a pulsed current; mean where it is not given"`
	EmissivitySet        source.Value                   `yaml:"emissivity_set" dim:"ratio" min:">=1 %" max:"<=100 %" doc:"emissivity set on the infrared thermometer; 95 % where it is not given" eg:"95 %"`
	Emissivity           source.Value                   `yaml:"emissivity" dim:"ratio" min:">=1 %" max:"<=100 %" doc:"emissivity of the surface; 95 % (mask, matt tape or paint) where it is not given" eg:"90 %"`
	ReflectedTemperature source.Value                   `yaml:"reflected_temperature" dim:"temperature" doc:"of what the surface reflects; that of the room where it is not given" eg:"23 °C"`
	ColdVoltage          source.Value                   `yaml:"cold_voltage" dim:"voltage" min:">0" doc:"of the string at the moment of switch-on, at room temperature, for a junction temperature" eg:"17.700 V"`
	SteadyVoltage        source.Value                   `yaml:"steady_voltage" dim:"voltage" min:">0" doc:"of the string in the steady state, at the same current" eg:"17.214 V"`
	ValueText            source.Text                    `yaml:"value" doc:"the reading as displayed, with its unit; a reading without a value is still to be made" eg:"4270 lx"`
	UncertaintyText      source.Text                    `yaml:"uncertainty" doc:"standard uncertainty of the errors that are new in each reading, in the unit of the quantity, of a temperature in K; from the instrument where it is not given" eg:"40 lx"`
	Series               []SeriesPoint                  `yaml:"series" doc:"values by time, by angle or by place, instead of value"`
	Doubted              source.Flag                    `yaml:"doubted" doc:"whether the reading is kept and shown, but not used"`
	Note                 source.Text                    `yaml:"note" doc:"anything worth keeping"`
	Pos                  source.Pos

	Label        string       // its id, or "1.4"
	Dim          quantity.Dim // of its values
	Value        source.Value // as displayed
	Uncertainty  source.Value // of a temperature a difference
	Instrument   *Instrument  // nil where none is named
	State        *LampState   // never nil
	ChannelIndex int          // in Design.Channels, of its channel or of that of its emitter; -1 where it has none
	EmitterIndex int          // among all emitters of the design, in the order of channels; -1 where it has none
	SpotIndex    int          // in Design.InfraredSpots; -1 where it has none, or is at the spot that no design states
}

// Pending reports whether the reading is still to be made.
func (r *Reading) Pending() bool {
	return !r.Value.Set && len(r.Series) == 0 && !(r.ColdVoltage.Set && r.SteadyVoltage.Set)
}

// SeriesPoint is one value of a series.
type SeriesPoint struct {
	Time      source.Value `yaml:"time" dim:"time" min:">=0 s" max:"<=30 d" doc:"since switch-on or switch-off, as the state states" eg:"60 s"`
	Angle     source.Value `yaml:"angle" dim:"angle" min:">=-90 deg" max:"<=90 deg" doc:"of the lamp turned about its front" eg:"10 deg"`
	At        source.Point `yaml:"at" doc:"at surface or target, from the centre of the place" eg:"[0 mm, 0 mm]"`
	ValueText source.Text  `yaml:"value" need:"yes" doc:"the reading as displayed, with its unit" eg:"24.1 °C"`
	Pos       source.Pos

	Value source.Value // as displayed
}

// LoadReadings reads the readings file of a project folder. Both results are nil where the folder has none; where there
// are problems, the Readings are nil.
func LoadReadings(folder fs.FS, p *Project) (*Readings, source.Problems) {
	if _, err := fs.Lstat(folder, ReadingsFile); errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	data, problems := readFile(folder, ReadingsFile)
	if len(problems) > 0 {
		return nil, problems
	}
	return LoadReadingsText(ReadingsFile, data, p)
}

// LoadReadingsText is LoadReadings of a text at hand, as an editor holds it.
func LoadReadingsText(name string, data []byte, p *Project) (*Readings, source.Problems) {
	file, problems := source.Read(name, data)
	if file == nil {
		return nil, problems
	}
	r := &Readings{File: file}
	decoded, doubts := file.DecodeDoubting(r)
	problems = append(problems, decoded...)
	c := newReadingsChecker(file, p)
	c.doubts = doubts
	c.readings(r)
	problems = append(problems, c.problems...)
	for _, w := range c.found {
		problems = append(problems, problem(file, w))
	}
	if len(problems) > 0 {
		problems.Sort()
		return nil, problems
	}
	r.Doubts = c.doubts
	r.Doubts.Sort()
	return r, nil
}

// readingLabel returns what a reading is called: its id, or campaign and position, both from 1.
func readingLabel(r *Reading, campaign, index int) string {
	if r.ID.Set {
		return r.ID.S
	}
	return fmt.Sprintf("%d.%d", campaign+1, index+1)
}
