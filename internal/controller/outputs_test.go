package controller

import (
	"slices"
	"testing"
)

// outputsOf returns the outputs of each step of a trace over the open configuration after a change of it.
func outputsOf(t *testing.T, tr Trace, change func(*Config)) (all []Outputs) {
	t.Helper()
	cfg := openConfig()
	if change != nil {
		change(&cfg)
	}
	image, err := cfg.Image()
	if err != nil {
		t.Fatal(err)
	}
	if tr.UTC0 == 0 {
		tr.UTC0 = 862657200
	}
	see := func(_ int64, out *Outputs) { all = append(all, *out) }
	if err := Simulate(t.Context(), New(image, int(tr.Boots)), tr.Ticks, tr.inputs(), see); err != nil {
		t.Fatal(err)
	}
	return all
}

// flat makes one linear channel at a constant level without limits, so that its duty is level × gain × soft start.
func flat(level int64) func(*Config) {
	return func(c *Config) {
		c.Channels = []Channel{{Points: [][2]int64{{0, level}}, Weight10mW: 1000}}
		c.SoftStep, c.FoldSlew, c.Slew, c.PMax10mW = One, One, One, max32
		c.Acclimation = Acclimation{0, 1, One}
	}
}

// The fan: kick from standstill, dead zone of the code, off below its least duty, retries while it stands still.
func TestFan(t *testing.T) {
	fans := func(tr Trace, change func(*Config)) (out []uint16) {
		for _, o := range outputsOf(t, tr, change) {
			out = append(out, o.Fan)
		}
		return out
	}
	// The curve at 1500 is 13107; 30 codes do not move it, 31 do: 13107 + (32768 − 13107)·31/600 = 14122.8.
	got := fans(Trace{Ticks: 40, Signals: Signals{
		ADC: [][2]int64{{0, 1500}, {20, 1500}, {20, 1470}, {30, 1470}, {30, 1469}}, RPM: [][2]int64{{0, 3000}},
	}}, nil)
	for tick, want := range map[int]uint16{0: One, 14: One, 15: 13107, 29: 13107, 30: 14123} {
		if got[tick] != want {
			t.Errorf("dead zone: fan at %d is %d, want %d", tick, got[tick], want)
		}
	}
	// At 1575 the curve is 13107·225/300 = 9830.25, not below 9830; at 1576 it is 9786.6: off.
	exact := func(c *Config) { c.Fan.Hyst = 0 }
	got = fans(Trace{Ticks: 60, Signals: Signals{
		ADC: [][2]int64{{0, 1575}, {29, 1575}, {29, 1576}, {40, 1576}, {40, 1575}}, RPM: [][2]int64{{0, 3000}},
	}}, exact)
	for tick, want := range map[int]uint16{14: One, 15: 9830, 28: 9830, 29: 0, 39: 0, 40: One, 54: One, 55: 9830} {
		if got[tick] != want {
			t.Errorf("least duty: fan at %d is %d, want %d", tick, got[tick], want)
		}
	}
	// Stopped from the start: fault at 59, retry at 358. The fan turns from 330 on: samples at 339, 349, 359 are good,
	// the fault ends at 359, and what is left of the kick runs until 373.
	got = fans(Trace{Ticks: 400, Signals: Signals{
		ADC: [][2]int64{{0, 1500}}, RPM: [][2]int64{{0, 0}, {330, 3000}},
	}}, nil)
	for tick, want := range map[int]uint16{
		15: 13107, 59: 13107, 60: One, 359: One, 360: One, 373: One, 374: 13107,
	} {
		if got[tick] != want {
			t.Errorf("retry: fan at %d is %d, want %d", tick, got[tick], want)
		}
	}
}

// The common gain: foldback, safe level of faults, the least of several, and one bad sample that changes nothing.
func TestGain(t *testing.T) {
	duty := func(tr Trace, tick int, change func(*Config)) uint16 { return outputsOf(t, tr, change)[tick].Duty[0] }
	still := [][2]int64{{0, 0}}
	turning := [][2]int64{{0, 3000}}
	for _, tt := range []struct {
		name string
		tr   Trace
		want uint16
	}{
		{"half way of the foldback: 6554 + 26214/2", Trace{Signals: Signals{
			ADC: [][2]int64{{0, 850}}, RPM: turning,
		}}, 19661},
		{"fan failure: at most 16384", Trace{Signals: Signals{ADC: [][2]int64{{0, 1400}}, RPM: still}}, 16384},
		{"fan failure, and the foldback is lower", Trace{Signals: Signals{
			ADC: [][2]int64{{0, 760}}, RPM: still,
		}}, 11797},
		{"unclean starts: 6554", Trace{Boots: 5}, 6554},
		{"unclean starts, and the foldback as low", Trace{Boots: 5, Signals: Signals{
			ADC: [][2]int64{{0, 700}}, RPM: turning,
		}}, 6554},
		{"sensor open: 6554", Trace{Signals: Signals{ADC: [][2]int64{{0, 4000}}, RPM: turning}}, 6554},
		{"one bad sample at the hundredth step", Trace{Signals: Signals{
			ADC: [][2]int64{{0, 850}, {99, 850}, {99, 4095}}, RPM: turning,
		}}, 19661},
		{"clock lost: the safe level is the setting", Trace{Signals: Signals{RTCOK: [][2]int64{{0, 0}}}}, 6554},
	} {
		tt.tr.Ticks = 100
		if got := duty(tt.tr, 99, flat(One)); got != tt.want {
			t.Errorf("%s: %d, want %d", tt.name, got, tt.want)
		}
	}
	if got := duty(Trace{Ticks: 6001, Boots: 5}, 5998, flat(One)); got != 6554 {
		t.Errorf("last step of the safe level: %d", got)
	}
	if got := duty(Trace{Ticks: 6001, Boots: 5}, 5999, flat(One)); got != One {
		t.Errorf("first step after it: %d", got)
	}
	if got := duty(Trace{Ticks: 2, Signals: Signals{RTCOK: [][2]int64{{0, 0}}}}, 1, flat(5000)); got != 5000 {
		t.Errorf("clock lost, programme below the safe level: %d, want 5000", got)
	}
	// The gain falls by 66 each step from 1: after 100 steps 32768 − 6600.
	slow := func(c *Config) { flat(One)(c); c.FoldSlew = 66 }
	warm := Trace{Ticks: 100, Signals: Signals{ADC: [][2]int64{{0, 700}}, RPM: turning}}
	if got := duty(warm, 99, slow); got != 26168 {
		t.Errorf("slew of the gain: %d, want 26168", got)
	}
}

// Acclimation by local days, dark and least duty, power limit.
func TestDuty(t *testing.T) {
	const day = 9984 // of the local clock at 862657200
	for _, tt := range []struct {
		name   string
		change func(*Config)
		want   []uint16
	}{
		{"before the start", func(c *Config) { c.Acclimation = Acclimation{day + 1, 10, 8192} }, []uint16{8192}},
		{"first day", func(c *Config) { c.Acclimation = Acclimation{day, 10, 8192} }, []uint16{8192}},
		{"fourth: 8192 + 7372", func(c *Config) { c.Acclimation = Acclimation{day - 3, 10, 8192} }, []uint16{15564}},
		{"last day", func(c *Config) { c.Acclimation = Acclimation{day - 9, 10, 8192} }, []uint16{30310}},
		{"over", func(c *Config) { c.Acclimation = Acclimation{day - 10, 10, 8192} }, []uint16{One}},
		{"dark below", func(c *Config) { c.Channels[0].Points[0][1], c.Channels[0].OffBelow = 199, 200 }, []uint16{0}},
		{"lit at it", func(c *Config) { c.Channels[0].Points[0][1], c.Channels[0].OffBelow = 200, 200 }, []uint16{200}},
		{"least duty", func(c *Config) { c.Channels[0].Points[0][1], c.Channels[0].MinDuty = 1, 330 }, []uint16{330}},
		{"level 0: dark", func(c *Config) { c.Channels[0].Points[0][1], c.Channels[0].MinDuty = 0, 330 }, []uint16{0}},
		{"lightness at a row: L* 50", func(c *Config) {
			c.Channels[0].Points[0][1], c.Channels[0].Curve = 16384, Lightness
		}, []uint16{6035}},
		{"lightness between rows: 14·1/128 rounds to 0, at 5 to 1", func(c *Config) {
			c.Channels[0].Curve, c.Channels[0].Points[0][1] = Lightness, 5
		}, []uint16{1}},
		{"power at the limit", func(c *Config) { c.PMax10mW = 1000 }, []uint16{One}},
		{"power limit: both by 1500/2000", func(c *Config) {
			c.Channels = append(c.Channels, Channel{Points: [][2]int64{{0, 16384}}, Weight10mW: 2000})
			c.PMax10mW = 1500
		}, []uint16{24576, 12288}},
		{"a reduced duty may be below the least one", func(c *Config) {
			c.Channels[0].MinDuty, c.PMax10mW = One, 10
		}, []uint16{327}},
	} {
		change := func(c *Config) { flat(One)(c); tt.change(c) }
		out := outputsOf(t, Trace{Ticks: 2}, change)[1]
		if got := out.Duty[:len(tt.want)]; !slices.Equal(got, tt.want) {
			t.Errorf("%s: %v, want %v", tt.name, got, tt.want)
		}
	}
}
