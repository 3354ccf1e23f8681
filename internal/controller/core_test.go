package controller

import (
	"context"
	"hash/crc32"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// The open cases are met to the bit.
func TestOpenCases(t *testing.T) {
	for _, tt := range openTraces() {
		s, err := tt.trace.Run(t.Context())
		if err != nil || s.CRC32 != tt.crc {
			t.Errorf("%s: %08x, %v; want %08x (DY23, DY24: two implementations)", tt.name, s.CRC32, err, tt.crc)
		}
	}
}

// The counter of milliseconds may pass 2³¹ and 2³² at any step: nothing changes.
func TestMillisecondWrap(t *testing.T) {
	for _, now := range []int64{1, 1<<31 - 40000, 1<<31 - 1, 1<<32 - 77, 1<<32 - 100000} {
		for _, tt := range openTraces() {
			tt.trace.Now0MS = now
			s, err := tt.trace.Run(t.Context())
			if err != nil || s.CRC32 != tt.crc {
				t.Errorf("%s from %d ms: %08x, %v; want %08x", tt.name, now, s.CRC32, err, tt.crc)
			}
		}
	}
}

// The lightness table is that of CIE 1976: the published row sums and the whole table of the specification.
func TestLightnessTable(t *testing.T) {
	table, sum := lightnessTable(), 0
	for _, v := range table {
		sum += int(v)
	}
	if sum != 2447626 {
		t.Errorf("sum %d, want 2447626 (DY19)", sum)
	}
	for k, want := range map[int]uint16{0: 0, 1: 14, 64: 1447, 128: 6035, 192: 15820, 255: 32438, 256: One} {
		if table[k] != want {
			t.Errorf("row %d is %d, want %d (DY19)", k, table[k], want)
		}
	}
	text, err := os.ReadFile("testdata/lightness_lut_q15.csv")
	if err != nil {
		t.Fatal(err)
	}
	rows := 0
	for line := range strings.Lines(string(text)) {
		k, v, ok := strings.Cut(strings.TrimSpace(line), ",")
		if i, err := strconv.Atoi(k); ok && err == nil && i < lutRows {
			rows++
			if got := strconv.Itoa(int(table[i])); got != v {
				t.Errorf("row %d is %s, want %s", i, got, v)
			}
		}
	}
	if rows != lutRows {
		t.Errorf("%d rows in the table of the specification", rows)
	}
}

// changes returns the state changes of a trace over the open configuration after a change of it.
func changes(t *testing.T, tr Trace, change func(*Config)) [][3]int64 {
	t.Helper()
	tr.Config, tr.CRCOK = openConfig(), true
	if tr.UTC0 == 0 {
		tr.UTC0 = 862657200
	}
	if change != nil {
		change(&tr.Config)
	}
	s, err := tr.Run(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return s.StateChanges
}

// Faults come and go at the steps that part 2 of the specification counts; each expected step was counted by hand.
func TestFaultsByStep(t *testing.T) {
	for _, tt := range []struct {
		name  string
		trace Trace
		want  [][3]int64
	}{
		{
			"short: tenth sample; clear at the hundredth good one",
			Trace{Ticks: 800, Signals: Signals{
				ADC: [][2]int64{{399, 2000}, {400, 40}, {499, 40}, {500, 2000}}, RPM: [][2]int64{{0, 2000}},
			}},
			[][3]int64{{0, 3, 0}, {297, 4, 0}, {409, 2, 8}, {599, 4, 0}},
		},
		{
			"flaky: nine samples are no fault",
			Trace{Ticks: 500, Signals: Signals{ADC: [][2]int64{{399, 2000}, {400, 40}, {408, 40}, {409, 2000}}}},
			[][3]int64{{0, 3, 0}, {297, 4, 0}},
		},
		{
			"too hot: tenth sample; back after 600 cool ones through a soft start of 298",
			Trace{Ticks: 1600, Signals: Signals{
				ADC: [][2]int64{{399, 2000}, {400, 600}, {499, 600}, {500, 900}}, RPM: [][2]int64{{0, 2000}},
			}},
			[][3]int64{{0, 3, 0}, {297, 4, 0}, {409, 0, 16}, {1099, 3, 0}, {1396, 4, 0}},
		},
		{
			"dip: second sample; back after 50 good ones",
			Trace{Ticks: 900, Signals: Signals{VinMV: [][2]int64{{0, 24000}, {400, 20999}, {410, 22500}}}},
			[][3]int64{{0, 3, 0}, {297, 4, 0}, {401, 1, 64}, {459, 3, 0}, {756, 4, 0}},
		},
		{
			"between both limits it stays dark",
			Trace{Ticks: 700, Signals: Signals{VinMV: [][2]int64{{0, 24000}, {400, 20999}, {410, 22499}}}},
			[][3]int64{{0, 3, 0}, {297, 4, 0}, {401, 1, 64}},
		},
		{
			"fifth dip: 600 good samples, and the resets bit until 6000 steps after it",
			Trace{Ticks: 8000, Signals: fiveDips()},
			[][3]int64{
				{0, 3, 0},
				{297, 4, 0},
				{1001, 1, 64},
				{1059, 3, 0},
				{1201, 1, 64},
				{1259, 3, 0},
				{1401, 1, 64},
				{1459, 3, 0},
				{1601, 1, 64},
				{1659, 3, 0},
				{1801, 1, 64 + 128},
				{2409, 3, 128},
				{2706, 4, 128},
				{7801, 4, 0},
			},
		},
		{
			"five unclean starts: safe level for 6000 steps",
			Trace{Ticks: 6200, Boots: 5},
			[][3]int64{{0, 2, 128}, {5999, 4, 0}},
		},
		{
			"clock lost and back after 20 s: level held, then the jump flag by the stale second",
			Trace{Ticks: 1400, Signals: Signals{RTCOK: [][2]int64{{0, 1}, {400, 0}, {600, 1}}}},
			[][3]int64{{0, 3, 0}, {297, 4, 0}, {400, 2, 2}, {600, 4, 256}, {1200, 4, 0}},
		},
		{
			"clock set by 6 s, then by -6 s; 5 s are no jump",
			Trace{Ticks: 2000, Signals: Signals{UTCShift: [][2]int64{{0, 0}, {400, 6}, {1200, 1}, {1305, 6}}}},
			[][3]int64{{0, 3, 0}, {297, 4, 0}, {400, 4, 256}, {1000, 4, 0}},
		},
		{
			"before min_utc the clock is not valid",
			Trace{Ticks: 50, UTC0: 820540798},
			[][3]int64{{0, 2, 2}, {20, 3, 0}},
		},
		{
			"fan stands still: third slow second after 40 steps, cleared by the third good one",
			Trace{Ticks: 600, Signals: Signals{ADC: [][2]int64{{0, 1400}}, RPM: [][2]int64{{0, 0}, {400, 1500}}}},
			[][3]int64{{0, 3, 0}, {59, 2, 32}, {429, 4, 0}},
		},
	} {
		if got := changes(t, tt.trace, nil); !slices.Equal(got, tt.want) {
			t.Errorf("%s:\n%v, want\n%v", tt.name, got, tt.want)
		}
	}
}

// A year of pulses wraps the counter of the tachometer: a fan at a constant speed is never slow.
func TestTachWrap(t *testing.T) {
	fan := Signals{ADC: [][2]int64{{0, 1400}}, RPM: [][2]int64{{0, 6000}}}
	got := changes(t, Trace{Ticks: 40000, Signals: fan}, nil)
	if want := [][3]int64{{0, 3, 0}, {297, 4, 0}}; !slices.Equal(got, want) { // 6000/300·40000 = 12·2¹⁶ pulses
		t.Errorf("%v, want %v", got, want)
	}
}

// A step that is late, or taken twice, is no jump of the clock.
func TestLateStep(t *testing.T) {
	cfg := openConfig()
	image, err := cfg.Image()
	if err != nil {
		t.Fatal(err)
	}
	c := New(image, 0)
	in := Inputs{NowMS: 1<<32 - 5000, UTC: 862657200, RTCOK: true, ADC: 2000, VinMV: 24000}
	for i, late := range []uint32{100, 3000, 9000, 0, 100, 60000} {
		in.NowMS, in.UTC = in.NowMS+late, in.UTC+late/1000
		if out := c.Step(in); out.Fault != 0 {
			t.Errorf("step %d, %d ms late: fault %d", i, late, out.Fault)
		}
	}
}

// The local clock: exact seconds of a change, the first entry before all, the end of a year and of the count.
func TestLocalClock(t *testing.T) {
	c := openConfig()
	p := compile(&c)
	for _, tt := range []struct{ utc, offset uint32 }{
		{0, 3600}, {828061199, 3600}, {828061200, 7200}, {846205199, 7200}, {846205200, 3600}, {1<<32 - 1, 7200},
	} {
		if got := p.offset(tt.utc); got != tt.offset {
			t.Errorf("offset at %d is %d, want %d", tt.utc, got, tt.offset)
		}
	}
	c.Zone = [][2]int64{{0, -64800}}
	p = compile(&c)
	if got, want := 86400+p.offset(0), uint32(21600); got != want {
		t.Errorf("local second %d, want %d", got, want)
	}
}

// The programme between its points: rounding, midnight, one point, and the largest product.
func TestLevel(t *testing.T) {
	for _, tt := range []struct {
		points [][2]int64
		second uint32
		want   uint32
		why    string
	}{
		{[][2]int64{{100, 7}}, 0, 7, "one point is constant"},
		{[][2]int64{{0, 0}, {10, 5}}, 3, 2, "1.5 rounds away from the start: up"},
		{[][2]int64{{0, 5}, {10, 0}}, 3, 3, "1.5 rounds away from the start: down"},
		{[][2]int64{{0, 0}, {86399, One}}, 86398, 32768, "32768·86398 needs 32 unsigned bits: 32767.62"},
		{[][2]int64{{21600, 0}, {64800, 100}}, 0, 50, "after midnight the last point is of yesterday"},
		{[][2]int64{{21600, 0}, {64800, 100}}, 86399, 50, "before midnight the next point is tomorrow's: 50.0023"},
		{[][2]int64{{21600, 0}, {64800, 100}}, 64800, 100, "at a point"},
	} {
		c := Config{Channels: []Channel{{Points: tt.points}}}
		p := compile(&c)
		if got := p.channels[0].level(tt.second); got != tt.want {
			t.Errorf("%v at %d: %d, want %d (%s)", tt.points, tt.second, got, tt.want, tt.why)
		}
	}
}

// The factor of the power limit is exact for any limit: ⌊32768 a/b⌋.
func TestQuotient15(t *testing.T) {
	for _, tt := range []struct{ a, b uint32 }{
		{1, 2}, {1, 393210}, {393209, 393210}, {131071, 131072}, {200000, 393210},
	} {
		if got, want := quotient15(tt.a, tt.b), uint32(uint64(tt.a)<<15/uint64(tt.b)); got != want {
			t.Errorf("quotient15(%d, %d) = %d, want %d", tt.a, tt.b, got, want)
		}
	}
}

// A configuration that breaks a bound is dark for good, with the fan at full speed.
func TestBadConfig(t *testing.T) {
	for _, change := range []func(*Trace){
		func(tr *Trace) { tr.CRCOK = false },
		func(tr *Trace) { tr.Config.Channels[0].Points[1][1] = One + 1 },
		func(tr *Trace) { tr.Config.Channels = nil },
	} {
		tr := openTraces()[0].trace
		change(&tr)
		s, err := tr.Run(t.Context())
		if err != nil || !slices.Equal(s.StateChanges, [][3]int64{{0, 0, 1}}) {
			t.Fatalf("%v, %v", s.StateChanges, err)
		}
		for _, row := range s.Rows {
			if row[3] != One || slices.Max(append(row[4:], 0)) != 0 {
				t.Fatalf("row %v", row)
			}
		}
	}
}

// Simulate ends with its context.
func TestSimulateStops(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	tr := openTraces()[0].trace
	if _, err := tr.Run(ctx); err == nil {
		t.Error("no error from a context that ended")
	}
}

// fuzzed returns the outputs of a random configuration under a random course of faults, and its last inputs.
func fuzzed(seed uint64, ticks int, see func(*Core, Inputs, Outputs)) (*Core, Config, *fuzzer) {
	d := newDice(seed)
	cfg := d.config()
	image, err := cfg.Image()
	if err != nil {
		panic(err)
	}
	c := New(image, d.IntN(8))
	f := newFuzzer(uint32(seed)*2654435761+1, &cfg, uint32(d.in(0, max32)))
	for range ticks {
		in := f.next()
		see(c, in, c.Step(in))
	}
	return c, cfg, f
}

// What holds at every step of any course of faults. Each state and each fault occurs among them.
func TestEveryStep(t *testing.T) {
	var seen Fault
	states := map[State]bool{}
	defer func() {
		if seen != 511&^FaultConfig || len(states) != 5 {
			t.Errorf("faults %d and states %v occurred; all should", seen, states)
		}
	}()
	for seed := range uint64(60) {
		copied := &Core{}
		_, cfg, _ := fuzzed(seed, 4000, func(c *Core, in Inputs, out Outputs) {
			seen |= out.Fault
			states[out.State] = true
			stopped := out.Fault&(FaultOverTemperature|FaultBrownOut) != 0
			if (out.State == Off || out.State == Brown) != stopped || out.State > Run {
				t.Fatalf("seed %d: state %d with fault %d", seed, out.State, out.Fault)
			}
			for i, d := range out.Duty {
				if d > One || stopped && d != 0 {
					t.Fatalf("seed %d: duty %d is %d in state %d", seed, i, d, out.State)
				}
			}
			if out.Fan > One {
				t.Fatalf("seed %d: fan %d", seed, out.Fan)
			}
			if copied.ok { // the state is in the struct alone
				if again := copied.Step(in); again != out {
					t.Fatalf("seed %d: %v from a copy, %v", seed, again, out)
				}
			}
			*copied = *c
		})
		fuzzed(seed, 4000, func(_ *Core, _ Inputs, out Outputs) {
			for i, ch := range cfg.Channels {
				most := ch.MinDuty
				for _, p := range ch.Points {
					most = max(most, p[1])
				}
				if int64(out.Duty[i]) > most {
					t.Fatalf("seed %d: duty %d is %d, above its greatest level %d", seed, i, out.Duty[i], most)
				}
			}
		})
	}
}

// After any course of faults 7000 quiet steps lead to normal operation without a fault (checks of the specification:
// own fuzz, 30 of 30 within 7000).
func TestRecovery(t *testing.T) {
	for seed := range uint64(40) {
		c, cfg, f := fuzzed(seed, 3000, func(*Core, Inputs, Outputs) {})
		in := f.in
		in.UTC, in.RTCOK, in.ADC, in.VinMV = uint32(cfg.MinUTC), true, uint16(cfg.ADCRelease), uint16(cfg.VinOKMV)
		var out Outputs
		for tick := range uint32(7000) {
			in.NowMS, in.Tach = in.NowMS+100, in.Tach+uint16(cfg.Fan.MinRPM/300+1)
			if tick%10 == 9 && in.UTC < max32 {
				in.UTC++
			}
			out = c.Step(in)
		}
		if out.State != Run || out.Fault&^FaultClockJump != 0 {
			t.Errorf("seed %d: state %d, fault %d", seed, out.State, out.Fault)
		}
	}
}

// A duty rises by at most the slew in one step on a linear curve while the gains are constant.
func TestSlew(t *testing.T) {
	cfg := openConfig()
	cfg.Slew, cfg.SoftStep = 20, One
	for i := range cfg.Channels {
		cfg.Channels[i].Curve, cfg.Channels[i].MinDuty, cfg.Channels[i].OffBelow = Linear, 0, 0
	}
	cfg.PMax10mW = max32
	tr := Trace{Config: cfg, Ticks: 30000, UTC0: 862617600, CRCOK: true}
	tr.Signals.UTCShift = [][2]int64{{0, 0}, {3000, 20000}, {9000, -30000}, {15000, 40000}, {25000, 0}}
	image, err := cfg.Image()
	if err != nil {
		t.Fatal(err)
	}
	var last Outputs
	most := 0
	err = Simulate(t.Context(), New(image, 0), tr.Ticks, tr.inputs(), func(tick int64, out *Outputs) {
		for i := range out.Duty {
			if tick > 0 {
				most = max(most, int(out.Duty[i])-int(last.Duty[i]))
			}
		}
		last = *out
	})
	if err != nil || most != 20 {
		t.Errorf("largest rise %d, want 20; %v", most, err)
	}
}

// The standard check value of CRC-32, which the C core computes without a table.
func TestCRC(t *testing.T) {
	if got := crc32.ChecksumIEEE([]byte("123456789")); got != 0xcbf43926 {
		t.Errorf("%08x (DY22)", got)
	}
}

// Floor division of a falling signal, the value before the first node, and held values.
func TestSignals(t *testing.T) {
	tr := Trace{Signals: Signals{
		ADC: [][2]int64{{2, 100}, {5, 90}, {5, 50}, {7, 51}}, RPM: [][2]int64{{0, 299}, {2, 301}},
		UTCShift: [][2]int64{{3, -5}},
	}, Now0MS: max32, UTC0: 2}
	next := tr.inputs()
	var adc, tach []uint16
	var in Inputs
	for tick := range int64(9) {
		in = next(tick)
		adc, tach = append(adc, in.ADC), append(tach, in.Tach)
	}
	if want := []uint16{100, 100, 100, 96, 93, 50, 50, 51, 51}; !slices.Equal(adc, want) {
		t.Errorf("adc %v, want %v", adc, want) // 100 − 10/3 and 100 − 20/3, rounded down; 50 + 1/2 rounded down
	}
	if want := []uint16{0, 1, 2, 4, 5, 6, 7, 8, 9}; !slices.Equal(tach, want) {
		t.Errorf("tach %v, want %v", tach, want) // 299 598 899 1200 1501 1802 2103 2404 2705 over 300
	}
	if in.NowMS != 799 || in.UTC != 1<<32-3 {
		t.Errorf("%+v", in)
	}
	want := Inputs{NowMS: 0, UTC: 0, RTCOK: true, ADC: 2000, VinMV: 24000}
	if got := new(Trace).inputs()(0); got != want {
		t.Errorf("%+v without signals, want %+v", got, want)
	}
}

// BenchmarkYear reports the time of a year of steps, 3.156e8, from 864 000 steps of one day.
func BenchmarkYear(b *testing.B) {
	cfg := openConfig()
	image, err := cfg.Image()
	if err != nil {
		b.Fatal(err)
	}
	const day, year = 864000, 365.25 * 864000
	for b.Loop() {
		c := New(image, 0)
		tr := Trace{UTC0: 862617600, Signals: Signals{
			ADC: [][2]int64{{0, 2000}, {432000, 1400}, {day, 2000}}, RPM: [][2]int64{{0, 1500}},
		}}
		var sum uint64
		see := func(_ int64, out *Outputs) { sum += uint64(out.Duty[0]) }
		if err := Simulate(b.Context(), c, day, tr.inputs(), see); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(b.Elapsed().Seconds()/float64(b.N)*year/day, "s/year")
}
