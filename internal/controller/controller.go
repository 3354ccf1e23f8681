// Package controller is the controller core LC1 in integer arithmetic: its configuration, the binary image of it, one
// step of 100 ms, traces of inputs with their outputs, and the same core as a folder of portable C99.
//
// In: a Config, or the image of one; the Inputs of each step; a Trace of inputs as a document gives it.
// Out: Outputs of each step (duty of each channel, fan, state, faults), a summary of a run with its CRC-32; the files
// of the firmware, which are under 0BSD.
// Assumes: a step each 100 ms, utc in seconds since 2000-01-01 00:00 UTC, a thermistor to ground with a pull-up (hot is
// a low code), Q15 numbers where 32768 (One) is 1. All arithmetic is unsigned or signed with at most 32 bits and equal
// bit for bit to c/lc1.c: tests compare the CRC-32 over each step.
// Leaves to others: a Config out of a design (study), files and clocks (cli), drawing.
//
// # Image
//
// A configuration is stored as one little-endian image, at most 946 bytes:
//
//	 0  magic "LC1C"            4 bytes
//	 4  version                 u16, 1
//	 6  length of the image     u16, with the CRC
//	 8  channels, rows of fold, rows of the fan curve, rows of zone: u8 each
//	12  p_max_10mW, start_day, min_utc: u32 each
//	24  slew, soft_step, fold_slew, limp_level, fanfail_level, days, from: u16 each
//	38  adc_short, adc_trip, adc_release, adc_open: u16 each
//	46  fan min, hyst, kick_ticks, tach_delay_ticks, min_rpm: u16 each
//	56  vin_low_mV, vin_ok_mV: u16 each
//	60  has_tach u8, zero u8
//	62  fold: code u16, gain u16 each; fan curve: code u16, duty u16 each; zone: utc u32, offset i32 each;
//	    channels: points u8, curve u8, weight_10mW u16, min_duty u16, off_below u16, then second u32 and level u16
//	    of each point
//	    CRC-32 of all bytes before it: u32 (reflected 0xEDB88320, initial value and final xor 0xFFFFFFFF)
package controller

import (
	"errors"
	"fmt"
)

// One is 1 in Q15.
const One = 32768

// MaxChannels is the number of channels that the core drives at most.
const MaxChannels = 6

// Limits of the lists of a Config.
const (
	maxPoints = 16
	maxRows   = 8
	minRows   = 2
	maxZone   = 24
)

// Largest values of a Config.
const (
	maxDays    = 1000
	maxCode    = 4095
	maxOffsetS = 64800
	dayS       = 86400
	max16      = 1<<16 - 1
	max32      = 1<<32 - 1
)

// A Config is what the core runs: programme, limits, fan, zone table. Numbers may be out of bounds; Check reports it.
type Config struct {
	Channels    []Channel   `json:"channels"`
	PMax10mW    int64       `json:"p_max_10mW"`    // limit of the sum of all channels [10 mW]
	Slew        int64       `json:"slew"`          // largest change of a setting each step, Q15
	SoftStep    int64       `json:"soft_step"`     // rise of the soft-start gain each step, Q15
	FoldSlew    int64       `json:"fold_slew"`     // largest change of the foldback gain each step, Q15
	LimpLevel   int64       `json:"limp_level"`    // gain or setting where a sensor or the clock cannot be trusted, Q15
	FanfailGain int64       `json:"fanfail_level"` // largest gain while the fan has failed, Q15
	Acclimation Acclimation `json:"acclimation"`
	Fold        [][2]int64  `json:"fold"` // code of the ADC, gain Q15, rising
	ADCShort    int64       `json:"adc_short"`
	ADCTrip     int64       `json:"adc_trip"`
	ADCRelease  int64       `json:"adc_release"`
	ADCOpen     int64       `json:"adc_open"`
	Fan         Fan         `json:"fan"`
	VinLowMV    int64       `json:"vin_low_mV"`
	VinOKMV     int64       `json:"vin_ok_mV"`
	MinUTC      int64       `json:"min_utc"` // an earlier clock is not valid [s]
	Zone        [][2]int64  `json:"zone"`    // UTC [s] from which an offset [s] of the local clock applies, rising
}

// A Channel is one output with its programme over the local day.
type Channel struct {
	Points     [][2]int64 `json:"points"`      // second of the local day, level Q15; linear between
	Weight10mW int64      `json:"weight_10mW"` // power at full duty [10 mW]
	MinDuty    int64      `json:"min_duty"`    // least duty of a lit channel, Q15
	OffBelow   int64      `json:"off_below"`   // setting below which the channel is dark, Q15
	Curve      int64      `json:"curve"`       // Linear or Lightness
}

// Curves of a Channel from setting to duty.
const (
	Linear    = 0
	Lightness = 1
)

// Acclimation raises the programme from From to 1 over Days local days from StartDay on.
type Acclimation struct {
	StartDay int64 `json:"start_day"` // days since 2000-01-01
	Days     int64 `json:"days"`
	From     int64 `json:"from"` // factor before and on the first day, Q15
}

// A Fan is how the fan follows the thermistor, and how its failure is noticed.
type Fan struct {
	Curve          [][2]int64 `json:"curve"` // code of the ADC, duty Q15, rising codes
	Min            int64      `json:"min"`   // a lower duty is 0, Q15
	Hyst           int64      `json:"hyst"`  // the duty follows a change of the code beyond this
	KickTicks      int64      `json:"kick_ticks"`
	HasTach        bool       `json:"has_tach"`
	TachDelayTicks int64      `json:"tach_delay_ticks"`
	MinRPM         int64      `json:"min_rpm"`
}

// A Problem is one bound that a value breaks, with the path of the value, such as channels[0].points[2][1].
type Problem struct{ Path, Text string }

func (p *Problem) Error() string { return p.Path + " " + p.Text }

// checker collects problems.
type checker struct{ problems []error }

func (c *checker) problem(path, format string, a ...any) {
	c.problems = append(c.problems, &Problem{path, fmt.Sprintf(format, a...)})
}

// in requires a value from least to most.
func (c *checker) in(path string, v, least, most int64) {
	if v < least || v > most {
		c.problem(path, "is %d; required %d to %d", v, least, most)
	}
}

// count requires a list of least to most entries.
func (c *checker) count(path string, n, least, most int) {
	if n < least || n > most {
		c.problem(path, "has %d entries; required %d to %d", n, least, most)
	}
}

// rows requires pairs within bounds whose first values rise.
func (c *checker) rows(path string, rows [][2]int64, maxX, minY, maxY int64) {
	for i, r := range rows {
		x := fmt.Sprintf("%s[%d][0]", path, i)
		c.in(x, r[0], 0, maxX)
		c.in(fmt.Sprintf("%s[%d][1]", path, i), r[1], minY, maxY)
		if i > 0 && r[0] <= rows[i-1][0] {
			c.problem(x, "is %d after %d; the first values must rise", r[0], rows[i-1][0])
		}
	}
}

// Check returns every bound that the configuration breaks, each a Problem of one line, joined; or nil.
func (c *Config) Check() error {
	var k checker
	k.count("channels", len(c.Channels), 1, MaxChannels)
	for i := range c.Channels {
		c.Channels[i].check(&k, fmt.Sprintf("channels[%d]", i))
	}
	k.in("p_max_10mW", c.PMax10mW, 1, max32)
	k.in("slew", c.Slew, 1, One)
	k.in("soft_step", c.SoftStep, 1, One)
	k.in("fold_slew", c.FoldSlew, 1, One)
	k.in("limp_level", c.LimpLevel, 0, One)
	k.in("fanfail_level", c.FanfailGain, 0, One)
	k.in("acclimation.start_day", c.Acclimation.StartDay, 0, max32)
	k.in("acclimation.days", c.Acclimation.Days, 1, maxDays)
	k.in("acclimation.from", c.Acclimation.From, 0, One)
	k.count("fold", len(c.Fold), minRows, maxRows)
	k.rows("fold", c.Fold, max16, 0, One)
	k.in("adc_short", c.ADCShort, 1, maxCode)
	k.in("adc_open", c.ADCOpen, 1, maxCode)
	if c.ADCShort >= c.ADCTrip || c.ADCTrip >= c.ADCRelease || c.ADCRelease >= c.ADCOpen {
		k.problem("adc_trip", "is %d beside short %d, release %d and open %d; short, trip, release, open must rise",
			c.ADCTrip, c.ADCShort, c.ADCRelease, c.ADCOpen)
	}
	c.Fan.check(&k)
	k.in("vin_low_mV", c.VinLowMV, 1, max16)
	k.in("vin_ok_mV", c.VinOKMV, 1, max16)
	if c.VinLowMV >= c.VinOKMV {
		k.problem("vin_low_mV", "is %d; it must be below vin_ok_mV %d", c.VinLowMV, c.VinOKMV)
	}
	k.in("min_utc", c.MinUTC, 0, max32)
	k.count("zone", len(c.Zone), 1, maxZone)
	k.rows("zone", c.Zone, max32, -maxOffsetS, maxOffsetS)
	return errors.Join(k.problems...)
}

func (c *Channel) check(k *checker, name string) {
	k.count(name+".points", len(c.Points), 1, maxPoints)
	k.rows(name+".points", c.Points, dayS-1, 0, One)
	k.in(name+".weight_10mW", c.Weight10mW, 0, max16)
	k.in(name+".min_duty", c.MinDuty, 0, One)
	k.in(name+".off_below", c.OffBelow, 0, One)
	k.in(name+".curve", c.Curve, Linear, Lightness)
}

func (f *Fan) check(k *checker) {
	k.count("fan.curve", len(f.Curve), minRows, maxRows)
	k.rows("fan.curve", f.Curve, max16, 0, One)
	k.in("fan.min", f.Min, 0, One)
	k.in("fan.hyst", f.Hyst, 0, max16)
	k.in("fan.kick_ticks", f.KickTicks, 0, max16)
	k.in("fan.tach_delay_ticks", f.TachDelayTicks, 0, max16)
	k.in("fan.min_rpm", f.MinRPM, 0, max16)
}
