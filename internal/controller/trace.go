package controller

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"hash"
	"hash/crc32"
)

// TickMS is the length of a step [ms].
const TickMS = 100

// MaxTraceTicks is the length of the longest trace that Run computes: 23 days.
const MaxTraceTicks = 20_000_000

// rowTicks is the distance of the rows of a summary.
const rowTicks = 100

// A Trace is a stated course of inputs: a case of the core.
type Trace struct {
	Config  Config
	Ticks   int64
	Now0MS  int64
	UTC0    int64
	Boots   int64 // unclean starts before this one
	CRCOK   bool  // false: the image of the configuration is damaged
	Signals Signals
}

// Signals are the inputs of a trace as nodes of tick and value in the order of their ticks. A signal without nodes has
// its default: vin_mV 24000, rtc_ok 1, utc_shift 0, rpm 0, adc 2000.
type Signals struct {
	VinMV    [][2]int64 `json:"vin_mV"`    // held [mV]
	RTCOK    [][2]int64 `json:"rtc_ok"`    // held, 0 or 1
	UTCShift [][2]int64 `json:"utc_shift"` // held [s]: what the clock was set by
	RPM      [][2]int64 `json:"rpm"`       // held: speed of the fan
	ADC      [][2]int64 `json:"adc"`       // linear between nodes, rounded down
}

// defaults are the values of signals without nodes.
var defaults = struct{ vinMV, rtcOK, utcShift, rpm, adc int64 }{24000, 1, 0, 0, 2000}

// Check returns what makes a trace no course of inputs; its Config may be out of bounds, which is a case of its own.
func (t *Trace) Check() error {
	var k checker
	k.in("ticks", t.Ticks, 1, MaxTraceTicks)
	k.in("now0_ms", t.Now0MS, 0, max32)
	k.in("utc0", t.UTC0, 0, max32)
	k.in("boots", t.Boots, 0, max16)
	s := &t.Signals
	for _, sig := range []struct {
		name        string
		nodes       [][2]int64
		least, most int64
	}{
		{"vin_mV", s.VinMV, 0, max16},
		{"rtc_ok", s.RTCOK, 0, 1},
		{"utc_shift", s.UTCShift, -max32, max32},
		{"rpm", s.RPM, 0, max16},
		{"adc", s.ADC, 0, max16},
	} {
		for i, n := range sig.nodes {
			path := fmt.Sprintf("signals.%s[%d]", sig.name, i)
			k.in(path+"[0]", n[0], 0, max32)
			k.in(path+"[1]", n[1], sig.least, sig.most)
			if i > 0 && n[0] < sig.nodes[i-1][0] {
				k.problem(path+"[0]", "is tick %d after %d; the ticks of nodes must not fall", n[0], sig.nodes[i-1][0])
			}
		}
	}
	return errors.Join(k.problems...)
}

// signal walks along the nodes of one signal.
type signal struct {
	nodes [][2]int64
	i     int // the last node whose tick is reached
}

func newSignal(nodes [][2]int64, other int64) signal {
	if len(nodes) == 0 {
		nodes = [][2]int64{{0, other}}
	}
	return signal{nodes: nodes}
}

// held returns the value of the last node at or before a tick, that of the first node before it. Ticks do not fall.
func (s *signal) held(tick int64) int64 {
	for s.i+1 < len(s.nodes) && s.nodes[s.i+1][0] <= tick {
		s.i++
	}
	return s.nodes[s.i][1]
}

// linear returns the value on the line between the nodes around a tick, rounded down.
func (s *signal) linear(tick int64) int64 {
	v := s.held(tick)
	from := s.nodes[s.i][0]
	if s.i+1 == len(s.nodes) || tick <= from {
		return v
	}
	next := s.nodes[s.i+1]
	rise, span := (next[1]-v)*(tick-from), next[0]-from
	q := rise / span
	if rise%span < 0 {
		q--
	}
	return v + q
}

// inputs returns the inputs at each tick; it is called with ticks that rise by one from 0.
func (t *Trace) inputs() func(tick int64) Inputs {
	s := &t.Signals
	vin, rtc := newSignal(s.VinMV, defaults.vinMV), newSignal(s.RTCOK, defaults.rtcOK)
	shift, rpm := newSignal(s.UTCShift, defaults.utcShift), newSignal(s.RPM, defaults.rpm)
	adc := newSignal(s.ADC, defaults.adc)
	turned := int64(0) // sum of rpm over the ticks: 300 of it are one pulse
	return func(tick int64) Inputs {
		turned += rpm.held(tick)
		return Inputs{
			NowMS: uint32(t.Now0MS + TickMS*tick),
			UTC:   uint32(t.UTC0 + tick/10 + shift.held(tick)),
			RTCOK: rtc.held(tick) != 0,
			ADC:   uint16(adc.linear(tick)),
			Tach:  uint16(turned / 300),
			VinMV: uint16(vin.held(tick)),
		}
	}
}

// A Summary is what a trace leads to.
type Summary struct {
	StateChanges [][3]int64 // tick, state, fault
	Rows         [][]int64  // each 100 ticks and at the last one: tick, state, fault, fan, duty of each channel
	CRC32        uint32     // over the six duties, fan, state and fault of each tick, u16 little-endian
}

// Run computes a trace. A configuration out of bounds, or a damaged image, is FaultConfig, not an error.
func (t *Trace) Run(ctx context.Context) (Summary, error) {
	if err := t.Check(); err != nil {
		return Summary{}, err
	}
	image, err := t.Config.Image()
	if err == nil && !t.CRCOK {
		image[len(image)-1] ^= 1
	}
	s := summarizer{ticks: t.Ticks, channels: min(len(t.Config.Channels), MaxChannels), crc: crc32.NewIEEE()}
	err = Simulate(ctx, New(image, int(t.Boots)), t.Ticks, t.inputs(), s.see)
	s.flush()
	s.out.CRC32 = s.crc.Sum32()
	return s.out, err
}

// contextTicks is how often Simulate looks at its context.
const contextTicks = 1 << 16

// Simulate runs a core over a number of ticks: inputs gives the inputs of each, see takes the outputs, which change
// with the next step.
func Simulate(
	ctx context.Context, c *Core, ticks int64, inputs func(tick int64) Inputs, see func(tick int64, out *Outputs),
) error {
	var out Outputs
	for tick := range ticks {
		if tick%contextTicks == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		out = c.Step(inputs(tick))
		see(tick, &out)
	}
	return nil
}

// summarizer makes a Summary from the outputs of each tick.
type summarizer struct {
	ticks    int64
	channels int
	out      Summary
	crc      hash.Hash32
	pending  []byte // words that are not in the CRC yet
	last     Outputs
}

func (s *summarizer) see(tick int64, o *Outputs) {
	for _, d := range o.Duty {
		s.pending = binary.LittleEndian.AppendUint16(s.pending, d)
	}
	for _, v := range []uint16{o.Fan, uint16(o.State), uint16(o.Fault)} {
		s.pending = binary.LittleEndian.AppendUint16(s.pending, v)
	}
	if len(s.pending) > 1<<12 {
		s.flush()
	}
	if tick == 0 || o.State != s.last.State || o.Fault != s.last.Fault {
		s.out.StateChanges = append(s.out.StateChanges, [3]int64{tick, int64(o.State), int64(o.Fault)})
	}
	if tick%rowTicks == 0 || tick == s.ticks-1 {
		row := []int64{tick, int64(o.State), int64(o.Fault), int64(o.Fan)}
		for _, d := range o.Duty[:s.channels] {
			row = append(row, int64(d))
		}
		s.out.Rows = append(s.out.Rows, row)
	}
	s.last = *o
}

func (s *summarizer) flush() {
	s.crc.Write(s.pending)
	s.pending = s.pending[:0]
}
