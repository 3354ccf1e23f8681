package controller

import (
	"math/rand/v2"
)

// openConfig is the configuration of the open cases of the LC1 specification.
func openConfig() Config {
	ramp := func(a, b, c, d, top int64) [][2]int64 { return [][2]int64{{a, 0}, {b, top}, {c, top}, {d, 0}} }
	zone := [][2]int64{}
	for i, t := range []int64{
		820540800, 828061200, 846205200, 859510800, 878259600, 890960400, 909709200, 922410000, 941158800, 954464400,
		972608400, 985914000, 1004058000, 1017363600, 1036112400, 1048813200, 1067562000, 1080262800, 1099011600,
		1111712400, 1130461200, 1143766800, 1161910800, 1175216400,
	} {
		zone = append(zone, [2]int64{t, 3600 + 3600*int64(i%2)})
	}
	return Config{
		Channels: []Channel{
			{ramp(32400, 36000, 64800, 68400, 32768), 4500, 330, 200, Lightness},
			{ramp(30600, 34200, 66600, 70200, 26214), 1500, 330, 200, Lightness},
			{[][2]int64{{3600, 1000}, {10800, 0}, {72000, 0}, {79200, 1000}}, 300, 100, 50, Linear},
		},
		PMax10mW: 8000, Slew: 33, SoftStep: 110, FoldSlew: 66, LimpLevel: 6554, FanfailGain: 16384,
		Acclimation: Acclimation{9800, 42, 16384}, Fold: [][2]int64{{700, 6554}, {1000, 32768}},
		ADCShort: 40, ADCTrip: 600, ADCRelease: 900, ADCOpen: 4000,
		Fan:      Fan{[][2]int64{{900, 32768}, {1500, 13107}, {1800, 0}}, 9830, 30, 15, true, 40, 600},
		VinLowMV: 21000, VinOKMV: 22500, MinUTC: 820540800, Zone: zone,
	}
}

// openTrace is a trace with its CRC-32.
type openTrace struct {
	name  string
	trace Trace
	crc   uint32
}

// openTraces are the open cases with the CRC-32 that two independent implementations agree on (checks DY23, DY24).
func openTraces() []openTrace {
	soft := Trace{Config: openConfig(), Ticks: 1500, UTC0: 862644000, CRCOK: true}
	broken := Trace{Config: openConfig(), Ticks: 2400, UTC0: 862657200, CRCOK: true, Signals: Signals{
		ADC: [][2]int64{{0, 1400}, {399, 1400}, {400, 4095}, {899, 4095}, {900, 1400}}, RPM: [][2]int64{{0, 1500}},
	}}
	return []openTrace{{"soft start", soft, 0x5a55b466}, {"sensor open", broken, 0xfc592aae}}
}

// fiveDips are signals with five dips of the supply within 10 min.
func fiveDips() Signals {
	five := [][2]int64{{0, 24000}}
	for i := range int64(5) {
		five = append(five, [2]int64{1000 + 200*i, 20000}, [2]int64{1010 + 200*i, 22500})
	}
	return Signals{VinMV: five}
}

// dice are seeded random numbers.
type dice struct{ *rand.Rand }

func newDice(seed uint64) dice { return dice{rand.New(rand.NewPCG(seed, 15))} }

// in returns a number from a to b.
func (d dice) in(a, b int64) int64 { return a + d.Int64N(b-a+1) }

// of returns one of some numbers.
func (d dice) of(v ...int64) int64 { return v[d.IntN(len(v))] }

// q15 returns a level that is often an end of its range.
func (d dice) q15() int64 { return d.of(0, One, d.in(0, One), d.in(0, One), d.in(0, 400)) }

// rising returns n numbers from a to b that rise.
func (d dice) rising(n int, a, b int64) []int64 {
	out := make([]int64, n)
	for i := range out { // each leaves enough numbers for those after it
		out[i] = d.in(a, a+(b-a-int64(n-1-i))/int64(n-i))
		a = out[i] + 1
	}
	return out
}

// table returns a table of n rows with rising codes.
func (d dice) table(n int) (out [][2]int64) {
	for _, code := range d.rising(n, 0, 4095) {
		out = append(out, [2]int64{code, d.q15()})
	}
	return out
}

// config returns a random configuration within bounds.
func (d dice) config() Config {
	adc := d.rising(4, 1, 4095)
	vin := d.rising(2, 1, 60000)
	c := Config{
		PMax10mW: d.of(1, d.in(1, 100), d.in(1, 60000), max32, 200000), Slew: d.of(1, One, d.in(1, 400)),
		SoftStep: d.of(One, d.in(33, 400)), FoldSlew: d.of(1, One, d.in(1, 400)),
		LimpLevel: d.q15(), FanfailGain: d.q15(),
		Acclimation: Acclimation{d.in(0, 40000), d.of(1, 1000, d.in(1, 1000)), d.q15()},
		Fold:        d.table(2 + d.IntN(7)),
		ADCShort:    adc[0], ADCTrip: adc[1], ADCRelease: adc[2], ADCOpen: adc[3],
		Fan: Fan{
			d.table(2 + d.IntN(7)), d.q15(), d.in(0, 100), d.of(0, 15, d.in(0, 500)), d.IntN(3) > 0,
			d.in(0, 100), d.in(0, 3000),
		},
		VinLowMV: vin[0], VinOKMV: vin[1], MinUTC: d.of(0, d.in(0, max32), 820540800),
	}
	for range 1 + d.IntN(MaxChannels) {
		ch := Channel{
			Weight10mW: d.of(0, max16, d.in(0, max16), d.in(0, 5000)), MinDuty: d.q15() / 8, OffBelow: d.q15() / 8,
			Curve: d.in(0, 1),
		}
		for _, s := range d.rising(1+d.IntN(maxPoints), 0, dayS-1) {
			ch.Points = append(ch.Points, [2]int64{s, d.q15()})
		}
		c.Channels = append(c.Channels, ch)
	}
	for _, t := range d.rising(1+d.IntN(maxZone), 0, d.of(max32, 900000000)) {
		c.Zone = append(c.Zone, [2]int64{t, d.of(-maxOffsetS, maxOffsetS, 3600, 7200, d.in(-maxOffsetS, maxOffsetS))})
	}
	return c
}

// xorshift is the generator of Marsaglia (2003) with 32 bits; c/testdata mirrors it and fuzzer in C.
type xorshift uint32

func (x *xorshift) next() uint32 {
	v := uint32(*x)
	v ^= v << 13
	v ^= v >> 17
	v ^= v << 5
	*x = xorshift(v)
	return v
}

// fuzzer makes a random course of faults: events that are held for a few steps to a minute.
type fuzzer struct {
	x                          xorshift
	short, trip, release, open uint32
	vinLow, vinOK, baseUTC     uint32
	in                         Inputs
	adc, rpm, turned           uint32
	hold, tenth                uint32
	noisy                      bool
}

func newFuzzer(seed uint32, c *Config, utc uint32) *fuzzer {
	f := &fuzzer{
		x: xorshift(seed), short: uint32(c.ADCShort), trip: uint32(c.ADCTrip), release: uint32(c.ADCRelease),
		open: uint32(c.ADCOpen), vinLow: uint32(c.VinLowMV), vinOK: uint32(c.VinOKMV), baseUTC: utc,
	}
	f.adc, f.rpm = f.release, 4000
	f.in = Inputs{NowMS: f.x.next(), UTC: utc, RTCOK: true, VinMV: uint16(f.vinOK), Tach: uint16(f.x.next())}
	return f
}

// next returns the inputs of the next step.
func (f *fuzzer) next() Inputs {
	r := f.x.next()
	f.in.NowMS += TickMS
	if f.tenth++; f.tenth == 10 {
		f.tenth, f.in.UTC = 0, f.in.UTC+1
	}
	if f.hold > 0 {
		f.hold--
	} else {
		f.hold = [8]uint32{0, 1, 2, 9, 12, 60, 120, 650}[r>>29]
		f.event(r%24, f.x.next())
	}
	f.turned += f.rpm
	f.in.Tach += uint16(f.turned / 300)
	f.turned %= 300
	f.in.ADC = uint16(f.adc)
	if noise := f.x.next() % 11; f.noisy && f.adc > 5 {
		f.in.ADC = uint16(f.adc + noise - 5)
	}
	return f.in
}

// event changes one input; arg is random.
func (f *fuzzer) event(kind, arg uint32) {
	switch kind {
	case 0:
		f.adc = f.open + arg%(4097-min(f.open, 4096))
	case 1:
		f.adc = arg % (f.short + 1)
	case 2:
		f.adc = f.short + 1 + arg%(f.trip-f.short)
	case 3:
		f.adc = arg % 4096
	case 4:
		f.in.VinMV = uint16(f.vinLow - 1)
	case 5:
		f.in.VinMV = uint16(arg)
	case 6:
		f.in.RTCOK = !f.in.RTCOK
	case 7:
		f.in.UTC += arg % 65536
	case 8:
		f.in.UTC -= arg % 20
	case 9:
		f.in.UTC = arg
	case 10, 11:
		f.in.UTC = f.baseUTC
	case 12:
		f.rpm = 0
	case 13:
		f.rpm = arg % 6000
	case 14:
		f.in.NowMS += arg % 5000
	case 15:
		f.in.NowMS += arg
	case 16:
		f.noisy = !f.noisy
	case 17, 18:
		f.in.VinMV = uint16(f.vinOK)
	default:
		f.adc, f.rpm = f.release+arg%(f.open-f.release), 4000
	}
}
