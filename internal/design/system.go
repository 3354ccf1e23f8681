package design

import (
	"context"
	"fmt"
	"math"
	"strings"

	"lampwright/internal/colour"
	"lampwright/internal/curve"
	"lampwright/internal/drive"
	"lampwright/internal/light"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
	"lampwright/internal/spectrum"
)

// system is a lamp with its unit responses: all that is slow has been done.
type system struct {
	lamp  *Lamp
	board *boardResponse
	cases []coolCase
	light *unitLight
	// warmed is the light of each emitter as warm as it runs and at its current, to which light belongs; asStated is the
	// light of spectra as the sheets state them.
	warmed   []warmLight
	asStated *unitLight
}

// coolCase is one room and fan state.
type coolCase struct {
	key, title  string
	roomK, airK float64
	rise        spreadK // of the air under a canopy over the room
	dead        bool
	cool        cooling
	silent      bool // the sink's datasheet does not tell
}

// unitLight is the light of each emitter per watt that leaves its lens. Cells are [ny][nx], x fastest.
type unitLight struct {
	target, surface *unitMap          // surface is nil where there is no water
	shares          []light.Fractions // by emitter
	meets           []float64         // by emitter: share that arrives on the water, or at the target where there is none
	reaches         []float64         // by emitter: share that arrives at the target, each time it comes
	notes           []string
}

type unitMap struct {
	lengthM, widthM float64
	areaM2          float64 // of the plane itself
	nx, ny          int
	ppfd, lux       [][]float64 // [emitter][cell], µmol/m²/s and lx per watt
	bandMean        [][]float64 // [emitter][band], mean irradiance per watt in that band [1/m²]
}

// bandsNM are the middles of the wavelength bands in which water is reckoned.
var bandsNM = func() (b []float64) {
	for nm := 370.0; nm < 830; nm += 20 {
		b = append(b, nm)
	}
	return b
}()

// newSystem solves the unit responses of a lamp.
func newSystem(ctx context.Context, l *Lamp, o Options) (*system, error) {
	s := &system{lamp: l}
	var err error
	if s.board, err = l.solveBoard(ctx, o); err != nil {
		return nil, err
	}
	room := l.Design.Installation.Ambient
	heatW, err := l.heatGuess(s.board)
	if err != nil {
		return nil, err
	}
	for _, c := range []struct {
		key, title string
		roomK      float64
		dead       bool
	}{
		{"usual", "usual day", room.Typical.SI, false},
		{"hottest", "hottest day", room.Max.SI, false},
		{"usual-fan-dead", "usual day, fan stopped", room.Typical.SI, true},
		{"hottest-fan-dead", "hottest day, fan stopped", room.Max.SI, true},
	} {
		if c.dead && l.Fan == nil {
			continue
		}
		k := coolCase{key: c.key, title: c.title, roomK: c.roomK, dead: c.dead}
		rise, notes, err := l.airRise(heatW, c.roomK)
		if err != nil {
			return nil, err
		}
		k.airK, k.rise = c.roomK+rise.usual, rise
		k.cool, err = l.cool(k.airK, c.dead)
		k.cool.notes = append(k.cool.notes, notes...)
		switch {
		case err == errSilent && c.dead:
			k.silent, err = true, nil
		case err == errSilent:
			err = fmt.Errorf("sink %q states only how it does with a fan; add a fan, or take another sink", l.Sink.ID.S)
		}
		if err != nil {
			return nil, err
		}
		s.cases = append(s.cases, k)
	}
	if s.light, err = l.unitLight(ctx, o); err != nil {
		return nil, err
	}
	s.warm()
	s.assumeCanopy()
	return s, nil
}

// assumeCanopy asks for the air under a canopy that was reckoned from its walls and vents.
func (s *system) assumeCanopy() {
	hood := s.lamp.Design.Sink.Hood
	if hood == nil {
		return
	}
	for _, c := range s.cases {
		if r := c.rise; c.key == hottestDay && r.hi > r.lo {
			why := "walls and vents give it within such a range: their conductance and the loss of the vents are common practice, no source"
			s.lamp.assumeHere("hood", "rise of the air under the hood over the room", quantity.TemperatureDifference, spread{r.usual, r.lo, r.hi, why}, "lamp.junction-hottest", hood.WallArea.At,
				"measure the air under the hood, and give it as hood_air_rise",
				func(p *params, v float64) { p.canopy = r.side(v) })
		}
	}
}

// side returns where a value lies in a range: −1 at its low end, 0 at the usual value, 1 at the high end.
func (r spreadK) side(v float64) float64 {
	switch {
	case v < r.usual && r.lo < r.usual:
		return (v - r.usual) / (r.usual - r.lo)
	case v > r.usual && r.hi > r.usual:
		return (v - r.usual) / (r.hi - r.usual)
	}
	return 0
}

// at is the inverse of side, over the usual value [K].
func (r spreadK) at(side float64) float64 {
	if side < 0 {
		return side * (r.usual - r.lo)
	}
	return side * (r.hi - r.usual)
}

// heatGuess returns the heat of the lamp on the usual day without a canopy [W]; with one, the air it warms follows from it.
// Heat changes by a few percent over the temperatures of a lamp, so that one guess does.
func (l *Lamp) heatGuess(b *boardResponse) (float64, error) {
	if l.Design.Sink.Hood == nil {
		return 0, nil
	}
	room := l.Design.Installation.Ambient.Typical.SI
	c, err := l.cool(room, l.Fan == nil)
	if err != nil {
		return 0, err
	}
	return l.rest(l.nominal(), b, c, room).totalW, nil
}

// solution is the lamp settled in every case, with every figure as a number.
type solution struct {
	board   *boardResponse     // of this lamp
	settled map[string]settled // by case
	values  map[string]float64 // by figure key
	leavesW []float64          // by emitter: radiant watts that leave its lens, usual day, mean over dimming
}

// solve settles the lamp with the given parameters, with every figure. It is all algebra: well under a millisecond.
func (s *system) solve(p params) solution {
	return s.settle(p, needs{thermal: true, windows: true, light: true, planes: true, colour: true, power: true})
}

// figure returns one figure of the lamp with the given parameters, just as solve does, without what it does not come from.
func (s *system) figure(p params, key string) float64 { return s.settle(p, needsOf(key)).values[key] }

// needs says what of a lamp is reckoned.
type needs struct {
	only                                           string // the one case; all of them where it is empty
	thermal, windows, light, planes, colour, power bool
	mean                                           bool // of the planes, only the mean PPFD at the target
}

// needsOf returns what a figure comes from; of a figure that it does not know, all.
func needsOf(key string) needs {
	of, name, _ := strings.Cut(key, ".")
	kind, _, _ := strings.Cut(name, "-")
	switch {
	case key == runawayKey:
		return needs{}
	case key == "board.dielectric", kind == "junction", kind == "solder", kind == "temperature":
		return needs{only: dependsOn(key), thermal: true}
	case key == "target.ppfd":
		return needs{only: usualDay, light: true, mean: true}
	case of == "target":
		return needs{only: usualDay, light: true, planes: true}
	case key == "lamp.power", key == "lamp.flux", key == "lamp.ppf", key == "lamp.radiant":
		return needs{only: usualDay, light: true}
	case of == "wall":
		return needs{thermal: true, windows: true, light: true, power: true}
	}
	return needs{thermal: true, windows: true, light: true, planes: true, colour: true, power: true}
}

// settle is solve for what is needed alone.
func (s *system) settle(p params, n needs) solution {
	out := solution{board: s.board.with(p), settled: map[string]settled{}, values: map[string]float64{}}
	for _, c := range s.cases {
		if c.silent || n.only != "" && c.key != n.only {
			continue
		}
		airK, cool := c.airK, c.cool
		if p.canopy != 0 {
			airK += c.rise.at(p.canopy)
			cool = cool.inAir(airK)
		}
		settle := s.lamp.operate
		if n.only != "" {
			settle = s.lamp.rest // the figures themselves do not ask whether the lamp runs away
		}
		st := settle(p, out.board, cool, airK)
		out.settled[c.key] = st
		if st.runaway {
			out.values[runawayKey]++
		}
	}
	if n.windows {
		s.windows(p, &out)
	}
	if n.thermal {
		s.thermalValues(p, &out)
	}
	if n.light {
		s.lightValues(p, &out)
	}
	if n.mean {
		out.values["target.ppfd"] = light.Summarise(combine(s.light.target.ppfd, out.leavesW)).Mean
	}
	if n.planes {
		s.planeValues(&out)
	}
	if n.colour {
		s.mixValues(&out)
	}
	if n.power {
		s.powerValues(p, &out)
	}
	return out
}

// The keys of the cases that most figures are of.
const (
	usualDay   = "usual"
	hottestDay = "hottest"
)

func (s *system) thermalValues(p params, out *solution) {
	l, v := s.lamp, out.values
	suffix := map[string]string{"usual": "", "hottest": "-hottest", "usual-fan-dead": "-usual-fan-dead", "hottest-fan-dead": "-fan-dead"}
	for _, c := range s.cases {
		st, ok := out.settled[c.key]
		if !ok {
			continue
		}
		x := suffix[c.key]
		v["sink.temperature"+x] = st.sink.baseK
		if l.Design.Housing != nil {
			v["housing.temperature"+x] = st.sink.housingK
		}
		v["lamp.junction"+x] = st.hottest()
		for i := range l.Channels {
			ch := &l.Channels[i]
			hotJ, hotS := 0.0, 0.0
			for _, e := range ch.Emitters {
				hotJ, hotS = math.Max(hotJ, st.junctionK[e]), math.Max(hotS, st.solderK[e])
			}
			v[ch.Name+".junction"+x] = hotJ
			v[ch.Name+".solder"+x] = hotS
		}
		all := st.totalW
		if c.key == hottestDay && l.onLaminate() {
			for i := range l.Emitters {
				v["board.dielectric"] = math.Max(v["board.dielectric"], st.airK+out.board.dielectricRise(i, st.heatW, st.sink.baseK-st.airK))
			}
		}
		if c.key == "usual" {
			if s.board.sensorAt >= 0 {
				v["sensor.temperature"] = st.airK + out.board.sensorRise(st.heatW, st.sink.baseK-st.airK)
			}
			v["board.faces"] = st.sink.leaksW
			if l.Design.Housing != nil {
				v["housing.heat"] = st.sink.housingW
			}
			v["lamp.heat"] = all
			if all > 0 {
				v["sink.resistance"] = (st.sink.baseK - st.airK) / st.sink.shedW
			}
		}
	}
}

func (s *system) lightValues(p params, out *solution) {
	l, v := s.lamp, out.values
	usual := out.settled["usual"]
	out.leavesW = make([]float64, len(l.Emitters))
	var allLm, allUmol, allW, spill, meets, reflected, reaches float64
	for i := range l.Channels {
		ch := &l.Channels[i]
		var lm, umol, w, elec float64
		for _, e := range ch.Emitters {
			em := &l.Emitters[e]
			st := usual.states[e]
			before := ch.Duty() * st.RadiantW
			after := before * p.lens[em.Optic]
			out.leavesW[e] = after
			lm += after * s.warmed[e].lmW
			umol += after * s.warmed[e].umolJ
			w += before
			elec += ch.Duty() * st.ElectricalW
			allW += after
			sh := s.light.shares[e]
			spill += after * sh.Spill
			meets += after * s.light.meets[e]
			if sh.Surface > 0 {
				// Light that comes by way of the dry panes is sent back as the direct light is.
				reflected += after * s.light.meets[e] * sh.Reflected / sh.Surface
			}
			reaches += after * s.light.reaches[e]
		}
		v[ch.Name+".flux"], v[ch.Name+".ppf"], v[ch.Name+".radiant"], v[ch.Name+".power"] = lm, umol, w, elec
		allLm += lm
		allUmol += umol
		v["lamp.power"] += elec
	}
	v["lamp.flux"], v["lamp.ppf"], v["lamp.radiant"] = allLm, allUmol, allW
	if allW > 0 {
		v["light.spill"] = spill / allW
		v["light.meets"] = meets / allW
		v["light.reaches"] = reaches / allW
		if s.light.surface != nil {
			v["light.reflected"] = reflected / allW
			v["light.enters"] = (meets - reflected) / allW
		}
		if l.Design.Installation.Kind.S == project.Tank {
			v["light.dry-glass"] = math.Max(0, 1-(spill+meets)/allW)
		}
	}
}

// planeValues adds the figures of the target and of the water surface.
func (s *system) planeValues(out *solution) {
	v := out.values
	mapValues(v, "target", s.light.target, out.leavesW)
	if s.light.surface != nil {
		mapValues(v, "surface", s.light.surface, out.leavesW)
	}
	if v["target.ppfd"] > 0 {
		v["light.lux-per-ppfd"] = v["target.lux"] / v["target.ppfd"]
	}
	day := s.lamp.Design.Day
	if day.FullLevelTime.Set {
		// A straight ramp counts half; dawn and dusk together count as one.
		v["target.daily-light"] = v["target.ppfd"] * (day.FullLevelTime.SI + day.RampTime.SI) * 1e-6
	}
}

// mixValues adds the colour temperature of the sum of all light.
func (s *system) mixValues(out *solution) {
	var sum colour.XYZ
	for e, w := range out.leavesW {
		c := s.warmed[e].xyz
		sum.X += w * c.X
		sum.Y += w * c.Y
		sum.Z += w * c.Z
	}
	if xy, ok := sum.XY(); ok {
		if t := colour.CCT(xy); t.Valid {
			out.values["lamp.cct"], out.values["lamp.duv"] = t.K, t.Duv
		}
	}
}

// mapValues adds mean, least and uniformity of a plane.
func mapValues(v map[string]float64, plane string, m *unitMap, leavesW []float64) {
	ppfd := combine(m.ppfd, leavesW)
	lux := combine(m.lux, leavesW)
	sumLux := 0.0
	for _, x := range lux {
		sumLux += x
	}
	f := light.Summarise(ppfd)
	v[plane+".ppfd"], v[plane+".ppfd-least"], v[plane+".lux"] = f.Mean, f.Min, sumLux/float64(len(lux))
	v[plane+".ppfd-p10"], v[plane+".ppfd-median"], v[plane+".ppfd-p90"] = f.P10, f.P50, f.P90
	if f.Mean > 0 {
		v[plane+".uniformity"] = f.MinOverMean
	}
}

// combine sums unit maps with the watts of each emitter.
func combine(unit [][]float64, watts []float64) []float64 {
	if len(unit) == 0 {
		return nil
	}
	out := make([]float64, len(unit[0]))
	for e, m := range unit {
		if watts[e] == 0 {
			continue
		}
		for i, g := range m {
			out[i] += watts[e] * g
		}
	}
	return out
}

// powerValues follows the electrical power from the emitters back to the wall plug.
func (s *system) powerValues(p params, out *solution) {
	l, v := s.lamp, out.values
	usual := out.settled["usual"]
	mains, standby := 0.0, 0.0
	loadW := make([]float64, len(l.Design.Supplies))
	peakW := make([]float64, len(l.Design.Supplies)) // with every channel on at once, those that are off at full day too
	litW := make([]float64, len(l.Design.Supplies))  // without those
	turned, turnedW := map[string]bool{}, 0.0
	for _, o := range l.Switched() {
		turned[o.Name] = true
	}
	for i := range l.Channels {
		ch := &l.Channels[i]
		amps := l.stringA(p, i) * float64(ch.Strings)
		volts := s.stringVolts(i, usual)
		drop := 0.0
		if ch.Wire != nil {
			drop = wireDrop(ch.Wire, ch.Use.Wire.Length.SI, amps, v["sink.temperature"])
		}
		elec := 0.0
		for _, e := range ch.Emitters {
			elec += usual.states[e].ElectricalW
		}
		var from source.Value
		if ch.Supply >= 0 {
			from = l.Project.Library.Supplies.Get(l.Design.Supplies[ch.Supply].Part.S).Voltage
		}
		topology := ch.Driver.Topology()
		onW := topology.InputW(elec+drop*amps, amps, from.SI, p.driver[i]) // while the current flows
		maxA := ch.Duty() * ch.StringA() * p.set[i] * (1 + ch.Driver.Tolerance.SI) * float64(ch.Strings)
		if heatW, drops := topology.WorstHeatW(drive.Window{LoV: v[ch.Name+".voltage-hot"]}, maxA, from.Lo, from.SI, from.Hi); drops {
			v[ch.Name+".driver-heat"] = heatW
		}
		v[ch.Name+".current"] = l.stringA(p, i)
		v[ch.Name+".voltage"] = volts
		v[ch.Name+".wire-drop"] = drop
		inW := ch.Duty() * onW
		v[ch.Name+".driver-input"] = inW
		v[ch.OnInput()] = onW
		standby += ch.Driver.StandbyPower.SI
		if ch.Supply < 0 {
			mains += inW
			if turned[ch.Name] {
				turnedW += inW
			}
			continue
		}
		loadW[ch.Supply] += inW
		peakW[ch.Supply] += onW
		if !ch.Off() {
			litW[ch.Supply] += onW
		}
	}
	fanW := 0.0
	if l.Fan != nil {
		fanW = l.Fan.Power.SI * s.cases[0].cool.fan.PowerRatio
	}
	wall := mains
	for j := range loadW {
		part := l.Project.Library.Supplies.Get(l.Design.Supplies[j].Part.S)
		if fanAt, ok := l.Design.FanSupply(); ok && fanAt == j {
			loadW[j] += fanW
			peakW[j] += fanW
			litW[j] += fanW
		}
		amps := peakW[j] / part.Voltage.SI
		if w := l.Design.Supplies[j].Wire; w != nil {
			dropAt := func(amps float64) float64 {
				return wireDrop(l.Project.Library.Wires.Get(w.Part.S), w.Length.SI, amps, l.Design.Installation.Ambient.Typical.SI)
			}
			drop := dropAt(amps)
			v[fmt.Sprintf("supply%d.wire-drop", j+1)] = drop
			// A channel that is off takes nothing from the lamp at work.
			loadW[j] += dropAt(litW[j]/part.Voltage.SI) * loadW[j] / part.Voltage.SI
			peakW[j] += drop * amps
		}
		v[fmt.Sprintf("supply%d.load", j+1)] = loadW[j]
		v[fmt.Sprintf("supply%d.peak", j+1)] = peakW[j]
		plugW := loadW[j] / l.supplyEfficiency(p, j, loadW[j])
		wall += plugW
		if turned[l.Design.Supplies[j].Part.S] {
			turnedW += plugW
		}
		standby += part.StandbyPower.SI
	}
	if len(loadW) == 0 {
		wall += fanW
	}
	v["wall.power"] = wall
	if l.switchesPart() {
		v["wall.power-switched"] = turnedW
	}
	if wall > 0 {
		v["wall.efficacy"] = v["lamp.flux"] / wall
		v["wall.photon-efficacy"] = v["lamp.ppf"] / wall
	}
	if v["lamp.power"] > 0 {
		v["lamp.efficacy"] = v["lamp.flux"] / v["lamp.power"]
		v["lamp.photon-efficacy"] = v["lamp.ppf"] / v["lamp.power"]
	}
	if day := l.Design.Day; day.FullLevelTime.Set {
		light := day.FullLevelTime.SI + day.RampTime.SI
		v["wall.energy-year"] = 365 * (wall*light + standby*(24*3600-light)) // J
		if day.Tariff.Set {
			v["cost.energy-year"] = v["wall.energy-year"] / 3.6e6 * day.Tariff.SI
		}
	}
}

// supplyEfficiency returns output over input of a supply at a load.
func (l *Lamp) supplyEfficiency(p params, j int, loadW float64) float64 {
	if p.supply[j] > 0 {
		return p.supply[j]
	}
	part := l.Project.Library.Supplies.Get(l.Design.Supplies[j].Part.S)
	if !part.Efficiency.Set {
		return assumedSupply.used
	}
	// An efficiency must not be drawn on over the ends of its curve.
	return curve.Held(part.Efficiency.X, part.Efficiency.Y, loadW/part.Power.SI)
}

// stringVolts returns the voltage of a channel's string while the current flows [V].
func (s *system) stringVolts(channel int, st settled) float64 {
	ch := &s.lamp.Channels[channel]
	sum := 0.0
	for _, e := range ch.Emitters {
		sum += st.states[e].VoltageV
	}
	return sum / float64(ch.Strings)
}

// spectrumOf returns the light that leaves the lenses of a channel [W/nm].
func (s *system) spectrumOf(channel int, leavesW []float64) spectrum.Spectrum {
	sum := spectrum.Dark()
	for _, e := range s.lamp.Channels[channel].Emitters {
		sum = sum.Add(s.warmed[e].unit.Scale(leavesW[e]))
	}
	return sum
}

// targetSpectrum returns the mean irradiance at the target over wavelength [W/m²/nm]. Between the middles of the bands
// the water's share is a straight line.
func (s *system) targetSpectrum(leavesW []float64) spectrum.Spectrum {
	sum := spectrum.Dark()
	lo, hi, step := sum.Grid()
	values := make([]float64, (hi-lo)/step+1)
	for e, w := range leavesW {
		unit := s.warmed[e].unit
		means := s.light.target.bandMean[e]
		for i := range values {
			nm := float64(lo + i*step)
			values[i] += w * unit.At(nm) * curve.Held(bandsNM, means, nm)
		}
	}
	out, err := spectrum.OnGrid(lo, step, values)
	if err != nil {
		panic("design: spectrum at the target: " + err.Error())
	}
	return out
}
