package controller

// A State is what the core does; its numbers are those of the outputs.
type State uint16

// States of the core.
const (
	Off   State = iota // configuration bad, or over-temperature: dark
	Brown              // supply too low: dark
	Limp               // a fault is present: reduced, constant or safe level
	Soft               // soft start
	Run
)

// String returns the word for a state.
func (s State) String() string {
	names := [...]string{"off", "brown-out", "limp", "soft start", "run"}
	if int(s) < len(names) {
		return names[s]
	}
	return "unknown"
}

// A Fault is a set of bits of the outputs.
type Fault uint16

// Faults of the core.
const (
	FaultConfig Fault = 1 << iota
	FaultClock
	FaultNTCOpen
	FaultNTCShort
	FaultOverTemperature
	FaultFan
	FaultBrownOut
	FaultResets
	FaultClockJump
)

// Words returns the words for the faults of a set.
func (f Fault) Words() (out []string) {
	for i, name := range [...]string{
		"configuration", "clock", "sensor open", "sensor short", "over-temperature", "fan", "brown-out", "resets",
		"clock jump",
	} {
		if f&(1<<i) != 0 {
			out = append(out, name)
		}
	}
	return out
}

// Times and counts of the core, in steps unless stated.
const (
	ntcFaultSteps  = 10  // samples beyond the range of a sensor that make a fault
	ntcClearSteps  = 100 // samples within it that clear the fault
	tripSteps      = 10
	releaseSteps   = 600
	brownSteps     = 2
	brownWait      = 50   // samples of a good supply that end a dip
	brownLongWait  = 600  // the same from the fifth dip on
	brownMany      = 5    // dips that make the long wait
	brownMemory    = 6000 // without a further dip the dips are forgotten
	bootsMany      = 5    // unclean starts that make the safe level
	safeSteps      = 6000
	jumpSeconds    = 5
	jumpSteps      = 600
	fanOnMost      = 60000
	tachSteps      = 10
	rpmPerPulse    = 30 // two pulses a turn, counted over one second
	fanSamples     = 3
	fanRetrySteps  = 300
	countMost      = max16
	brownCountMost = 255
)

// Inputs are what the core reads at a step.
type Inputs struct {
	NowMS uint32 // free running, wraps
	UTC   uint32 // seconds since 2000-01-01 00:00 UTC
	RTCOK bool   // the real-time clock answers and did not stop
	ADC   uint16 // code of the thermistor, 0 to 4095
	Tach  uint16 // pulses of the fan since the start, wraps
	VinMV uint16 // supply [mV]
}

// Outputs are what the core sets at a step; duties are Q15.
type Outputs struct {
	Duty  [MaxChannels]uint16
	Fan   uint16
	State State
	Fault Fault
}

// A Core is the whole state of the controller between steps. Its zero value has no configuration.
type Core struct {
	ok    bool // the configuration is valid
	run   program
	begun bool

	lastMS           uint32
	nOpen, nShort    uint16 // samples in a row
	nSane            uint16
	ntc              Fault // FaultNTCOpen, FaultNTCShort
	nHot, nCool      uint16
	trip             bool
	nLow, nGood      uint16
	brown            bool
	brownLeft        uint16 // steps until the dips are forgotten
	dips             uint16
	lastUTC          uint32
	seenUTC          bool
	jumpLeft         uint16
	safeLeft         uint16
	fanADC           uint16
	fanWant          uint32
	kickLeft         uint16
	fanOn            uint16
	tachCount        uint16
	lastTach         uint16
	slowFan, goodFan uint16
	fanFault         bool
	retry            uint16
	gain, soft       uint32
	setting          [MaxChannels]uint32

	// The levels of the programme change once a second: they are kept for the second they belong to.
	day memory
}

// memory keeps the levels of the programme for one second of the clock; it is no state: it is a function of utc.
type memory struct {
	valid bool
	utc   uint32
	level [MaxChannels]uint32
}

// New returns a core that has just started with the image of its configuration, after a number of unclean starts. With
// an image that ReadImage refuses it stays dark with FaultConfig.
func New(image []byte, boots int) *Core {
	c := &Core{}
	cfg, err := ReadImage(image)
	if err != nil {
		return c
	}
	c.ok, c.run = true, compile(&cfg)
	if boots >= bootsMany {
		c.safeLeft = safeSteps
	}
	return c
}

// Step advances the core by one step of 100 ms.
func (c *Core) Step(in Inputs) Outputs {
	if !c.ok {
		return Outputs{Fan: One, State: Off, Fault: FaultConfig}
	}
	dt := in.NowMS - c.lastMS
	first := !c.begun
	if first {
		dt = 0
		c.begun, c.lastTach, c.fanADC, c.gain = true, in.Tach, in.ADC, One
	}
	c.lastMS = in.NowMS
	sane := c.sensor(in.ADC)
	c.overTemperature(in.ADC, sane)
	c.supply(in.VinMV)
	clockOK := c.clock(in, dt)
	var out Outputs
	out.Fan = uint16(c.fan(in.ADC, sane))
	c.tach(in.Tach)
	c.foldback(in.ADC, sane)
	stopped := c.trip || c.brown
	if stopped {
		c.soft = 0
	} else {
		c.soft = min(One, c.soft+c.run.softStep)
	}
	c.levels(in.UTC)
	for i := range c.run.channels {
		c.follow(i, clockOK, first && !stopped)
		if !stopped {
			out.Duty[i] = uint16(c.duty(i))
		}
	}
	c.budget(&out.Duty)
	out.Fault = c.faults(clockOK)
	out.State = c.state(clockOK)
	return out
}

// count counts a sample that is in a row with those before it, or ends the row.
func count(n *uint16, hit bool) uint16 {
	switch {
	case !hit:
		*n = 0
	case *n < countMost:
		*n++
	}
	return *n
}

// down counts a timer down to 0.
func down(n *uint16) {
	if *n > 0 {
		*n--
	}
}

// sensor watches the thermistor for an open and a short circuit; it reports whether the sample is between both.
func (c *Core) sensor(adc uint16) bool {
	open, short := adc >= c.run.adcOpen, adc <= c.run.adcShort
	sane := !open && !short
	if count(&c.nOpen, open) >= ntcFaultSteps {
		c.ntc |= FaultNTCOpen
	}
	if count(&c.nShort, short) >= ntcFaultSteps {
		c.ntc |= FaultNTCShort
	}
	if count(&c.nSane, sane) >= ntcClearSteps {
		c.ntc = 0
	}
	return sane
}

// overTemperature stops the lamp while it is too hot; it returns through the soft start.
func (c *Core) overTemperature(adc uint16, sane bool) {
	if count(&c.nHot, sane && adc <= c.run.adcTrip) >= tripSteps {
		c.trip = true
	}
	if count(&c.nCool, sane && adc >= c.run.adcRelease) >= releaseSteps && c.trip {
		c.trip, c.soft = false, 0
	}
}

// supply stops the lamp while the supply is too low; from the fifth dip on it waits longer.
func (c *Core) supply(vinMV uint16) {
	down(&c.brownLeft)
	if c.brownLeft == 0 && !c.brown {
		c.dips = 0
	}
	if count(&c.nLow, vinMV < c.run.vinLow) >= brownSteps && !c.brown {
		c.brown, c.brownLeft = true, brownMemory
		c.dips = min(brownCountMost, c.dips+1)
	}
	wait := uint16(brownWait)
	if c.dips >= brownMany {
		wait = brownLongWait
	}
	if count(&c.nGood, vinMV >= c.run.vinOK) >= wait && c.brown {
		c.brown, c.soft = false, 0
	}
}

// clock reports whether the clock is valid, and notices that it was set.
func (c *Core) clock(in Inputs, dt uint32) bool {
	ok := in.RTCOK && in.UTC >= c.run.minUTC
	down(&c.jumpLeft)
	if ok {
		d := in.UTC - (c.lastUTC + dt/1000)
		if d >= 1<<31 {
			d = -d
		}
		if c.seenUTC && d > jumpSeconds {
			c.jumpLeft = jumpSteps
		}
		c.lastUTC, c.seenUTC = in.UTC, true
	}
	down(&c.safeLeft)
	return ok
}

// fan returns the duty of the fan, with a kick from standstill.
func (c *Core) fan(adc uint16, sane bool) uint32 {
	change := int32(adc) - int32(c.fanADC)
	if sane && max(change, -change) > c.run.fanHyst {
		c.fanADC = adc
	}
	want := uint32(One)
	if c.ntc == 0 && !c.trip && !c.fanFault {
		want = c.run.fan.at(c.fanADC)
	}
	if want < c.run.fanMin {
		want = 0
	}
	if want > 0 && c.fanWant == 0 {
		c.kickLeft = c.run.fanKick
	}
	c.fanWant = want
	out := want
	if c.kickLeft > 0 && want > 0 {
		out = One
	}
	down(&c.kickLeft)
	if want == 0 {
		c.fanOn = 0
	} else {
		c.fanOn = min(fanOnMost, c.fanOn+1)
	}
	return out
}

// tach notices that the fan stands still, each tenth step, and kicks it again while it does.
func (c *Core) tach(tach uint16) {
	if !c.run.hasTach {
		return
	}
	if c.tachCount++; c.tachCount >= tachSteps {
		rpm := uint32(tach-c.lastTach) * rpmPerPulse
		c.tachCount, c.lastTach = 0, tach
		switch {
		case c.fanOn < c.run.tachDelay:
			c.slowFan = 0
		case rpm < c.run.minRPM:
			c.slowFan, c.goodFan = min(fanSamples, c.slowFan+1), 0
		default:
			c.slowFan, c.goodFan = 0, min(fanSamples, c.goodFan+1)
		}
		if c.slowFan >= fanSamples {
			c.fanFault = true
		}
		if c.goodFan >= fanSamples {
			c.fanFault = false
		}
	}
	if !c.fanFault {
		c.retry = 0
		return
	}
	if c.retry++; c.retry >= fanRetrySteps {
		c.retry, c.kickLeft = 0, c.run.fanKick
	}
}

// foldback moves the common gain towards what the temperature and the faults allow.
func (c *Core) foldback(adc uint16, sane bool) {
	to := c.gain
	switch {
	case c.ntc != 0:
		to = c.run.limp
	case sane:
		to = c.run.fold.at(adc)
	}
	if c.fanFault {
		to = min(to, c.run.fanfail)
	}
	if c.safeLeft > 0 {
		to = min(to, c.run.limp)
	}
	c.gain = towards(c.gain, to, c.run.foldSlew)
}

// towards returns v moved towards a target by at most a step.
func towards(v, to, step uint32) uint32 {
	if v < to {
		return v + min(to-v, step)
	}
	return v - min(v-to, step)
}

// levels finds the levels of the programme at a second, after acclimation.
func (c *Core) levels(utc uint32) {
	if c.day.valid && c.day.utc == utc {
		return
	}
	c.day.valid, c.day.utc = true, utc
	local := utc + c.run.offset(utc)
	second, factor := local%dayS, c.run.acclimation(local/dayS)
	for i := range c.run.channels {
		c.day.level[i] = c.run.channels[i].level(second) * factor >> 15
	}
}

// follow moves the setting of a channel towards its programme; at the first step it is there.
func (c *Core) follow(i int, clockOK, first bool) {
	to := c.day.level[i]
	if !clockOK {
		to = min(c.run.limp, c.run.channels[i].most)
	}
	if first {
		c.setting[i] = to
		return
	}
	c.setting[i] = towards(c.setting[i], to, c.run.slew)
}

// duty returns the duty of a channel at its setting under both gains.
func (c *Core) duty(i int) uint32 {
	ch := &c.run.channels[i]
	level := (c.setting[i] * c.gain >> 15) * c.soft >> 15
	if level < ch.offBelow || level == 0 {
		return 0
	}
	d := level
	if ch.lightness {
		d = c.run.luminance(level)
	}
	return max(d, ch.minDuty)
}

// budget reduces all duties by one factor where their power exceeds the limit, so that the colour stays.
func (c *Core) budget(duty *[MaxChannels]uint16) {
	var p uint32
	for i := range c.run.channels {
		p += uint32(duty[i]) * c.run.channels[i].weight >> 15
	}
	if p <= c.run.pMax {
		return
	}
	k := quotient15(c.run.pMax, p)
	for i := range c.run.channels {
		duty[i] = uint16(uint32(duty[i]) * k >> 15)
	}
}

// quotient15 returns ⌊32768 a/b⌋ of a < b < 2³⁰, by long division: the product with 32768 may exceed 32 bits.
func quotient15(a, b uint32) (q uint32) {
	for range 15 {
		a, q = a<<1, q<<1
		if a >= b {
			a, q = a-b, q|1
		}
	}
	return q
}

func (c *Core) faults(clockOK bool) Fault {
	f := c.ntc
	if !clockOK {
		f |= FaultClock
	}
	if c.trip {
		f |= FaultOverTemperature
	}
	if c.fanFault {
		f |= FaultFan
	}
	if c.brown {
		f |= FaultBrownOut
	}
	if c.safeLeft > 0 || c.dips >= brownMany {
		f |= FaultResets
	}
	if c.jumpLeft > 0 {
		f |= FaultClockJump
	}
	return f
}

func (c *Core) state(clockOK bool) State {
	switch {
	case c.trip:
		return Off
	case c.brown:
		return Brown
	case c.ntc != 0 || c.fanFault || !clockOK || c.safeLeft > 0:
		return Limp
	case c.soft < One:
		return Soft
	}
	return Run
}
