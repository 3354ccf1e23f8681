package bench

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"lampwright/internal/engine"
	"lampwright/internal/estimate"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/sink"
)

// addReading adds the items of a reading.
func (m *Model) addReading(campaign int, r *project.Reading) error {
	at, err := m.conditionOf(campaign, r)
	if err != nil {
		return err
	}
	base := Item{
		Label: r.Label, Campaign: campaign, Reading: r, Point: -1, Dim: r.Dim, Value: math.NaN(), condition: at,
		Doubted: r.Doubted.On, U: r.Uncertainty.SI,
	}
	if len(r.Series) == 0 {
		m.setValue(&base)
		if err := m.setPredictor(&base, nil); err != nil {
			return err
		}
		m.Items = append(m.Items, base)
		return nil
	}
	for k := range r.Series {
		point := &r.Series[k]
		it := base
		it.Point, it.Value = k, corrected(r, point.Value.SI)
		it.Label = fmt.Sprintf("%s at %s", r.Label, pointText(point))
		if point.Time.Set {
			it.time = -1 // found once all times are known
			m.conditions[at].timesS = append(m.conditions[at].timesS, point.Time.SI)
		}
		if err := m.setPredictor(&it, point); err != nil {
			return err
		}
		m.Items = append(m.Items, it)
	}
	return nil
}

// computed tells whether a reading is computed of what its instrument displays: corrections and steps of the display
// are
// not in its unit.
func computed(r *project.Reading) bool {
	return r.What.S == project.ReadFluxRatio || r.What.S == project.ReadJunctionTemperature
}

// corrected returns a displayed value with the corrections of the instrument's certificate; in a ratio they cancel.
func corrected(r *project.Reading, value float64) float64 {
	in := r.Instrument
	if in == nil || computed(r) {
		return value
	}
	if in.Correction.Set {
		value *= in.Correction.SI
	}
	return value + in.CorrectionOffset.SI
}

// setValue sets the value of a reading that has one; a junction temperature may be stated by two voltages of its
// string:
//
//	T_j = T_room + (V_steady − V_cold)/(n k_V)      u = √2 u_V/(n |k_V|)
//
// Source: JESD51-51 (junction temperature by forward voltage).
func (m *Model) setValue(it *Item) {
	r := it.Reading
	if r.Value.Set {
		it.Value = corrected(r, r.Value.SI)
		return
	}
	if !r.ColdVoltage.Set || !r.SteadyVoltage.Set || r.ChannelIndex < 0 {
		return
	}
	if slope := m.stringSlopeVK(r.ChannelIndex); slope != 0 {
		fall := r.SteadyVoltage.SI - r.ColdVoltage.SI
		if in := r.Instrument; in != nil && in.Correction.Set {
			fall *= in.Correction.SI
		}
		it.Value = m.roomOf(it) + fall/slope
		it.U *= math.Sqrt2 / math.Abs(slope)
	}
}

// stringSlopeVK returns the change of the voltage of a string of a channel with its junction temperatures [V/K].
func (m *Model) stringSlopeVK(channel int) (slope float64) {
	l := m.Sys.Lamp
	ch := &l.Channels[channel]
	for _, e := range ch.Emitters {
		k := &l.Types[l.Emitters[e].Type]
		slope += float64(k.Model.Series) * k.Model.VoltageSlopeVK / float64(ch.Strings)
	}
	return slope
}

// roomOf returns the air temperature at a reading [K].
func (m *Model) roomOf(it *Item) float64 {
	if it.Reading.State.Room.Set {
		return it.Reading.State.Room.SI
	}
	return m.readings.Campaigns[it.Campaign].Room.SI
}

// conditionOf returns the position of the condition of a reading, which it adds where it is new. Series over time have
// conditions of their own.
func (m *Model) conditionOf(campaign int, r *project.Reading) (int, error) {
	l := m.Sys.Lamp
	c := condition{}
	c.RoomK = m.roomOf(&Item{Campaign: campaign, Reading: r})
	if !r.State.FullDay() {
		c.Levels = make([]float64, len(l.Channels))
		for _, level := range r.State.Levels {
			for i := range l.Channels {
				if l.Channels[i].Name == level.Channel.S {
					c.Levels[i] = level.Level.SI
				}
			}
		}
	}
	c.FanFailure = r.State.Fan.S == project.Off
	if c.FanFailure && l.Fan == nil {
		return 0, errors.New("fan: off, but the design has no fan")
	}
	c.off = r.State.Origin.S == project.FromSwitchOff
	series := len(r.Series) > 0 && r.Series[0].Time.Set
	switch {
	case series:
	case r.State.After.Set:
		c.timesS = []float64{r.State.After.SI}
	case c.off:
		return 0, errors.New("times_from: switch-off needs after, or a series over time")
	}
	for i := range m.conditions {
		if m.conditions[i].equal(&c, series) {
			return i, nil
		}
	}
	m.conditions = append(m.conditions, c)
	return len(m.conditions) - 1, nil
}

// equal tells whether readings of two conditions may share their states.
func (c *condition) equal(o *condition, series bool) bool {
	return c.RoomK == o.RoomK && c.FanFailure == o.FanFailure && c.off == o.off && slices.Equal(c.Levels, o.Levels) &&
		(c.Levels == nil) == (o.Levels == nil) && !series && slices.Equal(c.timesS, o.timesS)
}

// addTimes finds the times of the points of series among those of their conditions, and the heat capacity.
func (m *Model) addTimes() error {
	for i := range m.Items {
		it := &m.Items[i]
		if it.time == 0 {
			continue
		}
		c := &m.conditions[it.condition]
		at, ok := slices.BinarySearch(c.timesS, it.Reading.Series[it.Point].Time.SI)
		if !ok {
			return fmt.Errorf("reading %s: its time is not among those of its state", it.Label)
		}
		it.time = at
	}
	for i := range m.conditions {
		if len(m.conditions[i].timesS) > 0 {
			m.capacity = m.readParameter("heat_sink.heat_capacity", "heat capacity of heat sink and board over "+
				"the computed one",
				estimate.LogNormal, 1, capacitySpread)
			m.Params[m.capacity].timed = true
			break
		}
	}
	return nil
}

// pointText names a point of a series.
func pointText(p *project.SeriesPoint) string {
	switch {
	case p.Time.Set:
		return quantity.Format(p.Time.SI, quantity.Time)
	case p.Angle.Set:
		return quantity.Format(p.Angle.SI, quantity.Angle)
	}
	return fmt.Sprintf("%s, %s", quantity.Format(p.At.X.SI, quantity.Length), quantity.Format(p.At.Y.SI,
		quantity.Length))
}

// setPredictor sets the function that predicts an item, a reading or a point of it.
func (m *Model) setPredictor(it *Item, point *project.SeriesPoint) (err error) {
	r := it.Reading
	switch f := functionOf(r.What.S); f {
	case light, photons:
		if it.light, err = m.meterLight(r, point); err == nil {
			it.predict = m.lightPredictor(it, f)
		}
	case temperature:
		it.predict, err = m.temperaturePredictor(r, m.roomOf(it))
	case ratio:
		it.predict, err = m.ratioPredictor(r)
	case wavelength:
		it.predict, err = m.wavelengthPredictor(r)
	case speed:
		it.predict, err = m.speedPredictor(r)
	case ohms:
		it.predict, err = m.thermistorPredictor(r)
	default:
		it.predict, err = m.electricalPredictor(r, f)
	}
	return err
}

// scaled returns a predictor whose reading has the common errors of the instrument: factor and constant.
func (m *Model) scaled(r *project.Reading, f function, of func(*engine.Moment, []float64) float64,
) func(*engine.Moment, []float64) float64 {
	in := r.Instrument
	if in == nil {
		return of
	}
	e := errorsOf(in, f)
	name := fmt.Sprintf("instrument.%s.%s", in.Name.S, f)
	scale, offset := -1, -1
	if e.scale > 0 {
		scale = m.meterParameter(name+".scale", fmt.Sprintf("scale of the %s of instrument %s", f, in.Name.S),
			estimate.LogNormal, 1, e.scale)
	}
	if e.offset > 0 {
		offset = m.meterParameter(name+".offset", fmt.Sprintf("offset of the %s of instrument %s", f, in.Name.S),
			estimate.Normal, 0, e.offset)
	}
	zero := 0.0
	if f == temperature { // an accuracy in per cent is of the temperature in °C
		zero = celsius0K
	}
	return func(at *engine.Moment, theta []float64) float64 {
		v := of(at, theta)
		if scale >= 0 {
			v = zero + (v-zero)*theta[scale]
		}
		if offset >= 0 {
			v += theta[offset]
		}
		return v
	}
}

func (m *Model) electricalPredictor(r *project.Reading, f function) (func(*engine.Moment, []float64) float64, error) {
	ch := r.ChannelIndex
	if ch < 0 && f != watts && r.What.S != project.ReadSupplyVoltage {
		return nil, errors.New("channel is not given; name the channel whose string is read")
	}
	switch r.What.S {
	case project.ReadStringVoltage:
		return m.scaled(r, f, lit(ch, func(at *engine.Moment) float64 { return at.StringV(ch) })), nil
	case project.ReadDriverVoltage:
		return m.scaled(r, f, lit(ch, func(at *engine.Moment) float64 { return at.DriverV(ch) })), nil
	case project.ReadStringCurrent:
		return m.scaled(r, f, lit(ch, func(at *engine.Moment) float64 {
			a, duty := at.StringA(ch)
			return shownCurrent(r.MeterMode.S, a, duty)
		})), nil
	case project.ReadSupplyVoltage:
		return m.supplyPredictor(r)
	}
	return m.scaled(r, f, func(at *engine.Moment, _ []float64) float64 { return at.MainsW() }), nil
}

// lit returns a predictor that is 0 while a channel is off.
func lit(channel int, of func(at *engine.Moment) float64) func(*engine.Moment, []float64) float64 {
	return func(at *engine.Moment, _ []float64) float64 {
		if at.Off(channel) {
			return 0
		}
		return of(at)
	}
}

// supplyPredictor predicts the voltage of a supply at the end of its wire: its output has the tolerance of the
// datasheet.
func (m *Model) supplyPredictor(r *project.Reading) (func(*engine.Moment, []float64) float64, error) {
	s := m.supplyOf(r)
	if s < 0 {
		return nil, errors.New("the lamp has no supply at which a voltage is read")
	}
	l := m.Sys.Lamp
	v := l.Project.Library.Supplies.Get(l.Design.Supplies[s].Part.S).Voltage
	spread := math.Max((v.Hi-v.Lo)/math.Sqrt(12)/v.SI, supplySpread)
	output := m.readParameter(fmt.Sprintf("supply.%d.voltage", s+1),
		fmt.Sprintf("voltage of supply %d over its datasheet", s+1), estimate.LogNormal, 1, spread)
	return m.scaled(r, volts, func(at *engine.Moment, theta []float64) float64 {
		return at.SupplyV(s) + v.SI*(theta[output]-1)
	}), nil
}

// supplyOf returns the supply of the channel of a reading, or the first one; −1 where there is none.
func (m *Model) supplyOf(r *project.Reading) int {
	if r.ChannelIndex >= 0 {
		return m.Sys.Lamp.Channels[r.ChannelIndex].Supply
	}
	if len(m.Sys.Lamp.Design.Supplies) > 0 {
		return 0
	}
	return -1
}

// lightPredictor predicts illuminance and PPFD: each channel counts with the spectral mismatch of the meter.
func (m *Model) lightPredictor(it *Item, f function) func(*engine.Moment, []float64) float64 {
	r, place, aged := it.Reading, it.light, m.driftOf(it.Campaign)
	l := m.Sys.Lamp
	mismatchOf := make([]int, len(l.Channels))
	for c := range l.Channels {
		mismatchOf[c] = -1
		if in := r.Instrument; in != nil {
			white, peak := m.lightOf(c)
			mismatchOf[c] = m.meterParameter(fmt.Sprintf("instrument.%s.mismatch.%s", in.Name.S, l.Channels[c].Name),
				fmt.Sprintf("spectral mismatch of instrument %s for channel %s", in.Name.S, l.Channels[c].Name),
				estimate.LogNormal, 1, mismatch(f, in.Class.S, white, peak))
		}
	}
	gain := m.axisGains(r)
	immersion, cosine := m.immersion(r), m.cosine(r, f)
	of := func(at *engine.Moment, theta []float64) float64 {
		channels := at.Lux(place)
		if f == photons {
			channels = at.PPFD(place)
		}
		sum := 0.0
		for c, v := range channels {
			if mismatchOf[c] >= 0 {
				v *= theta[mismatchOf[c]]
			}
			if gain[c] >= 0 {
				v *= theta[gain[c]]
			}
			if aged != nil {
				v *= aged.left[c] * theta[aged.param[c]]
			}
			sum += v
		}
		if immersion >= 0 {
			sum /= theta[immersion]
		}
		if cosine >= 0 {
			sum *= theta[cosine]
		}
		return sum
	}
	return m.scaled(r, f, of)
}

// meterLight returns the light at the place of a reading.
func (m *Model) meterLight(r *project.Reading, point *project.SeriesPoint) (*engine.MeterLight, error) {
	x, y, turn := r.At.X.SI, r.At.Y.SI, r.Angle.SI
	if point != nil && point.Angle.Set {
		turn = point.Angle.SI
	}
	if point != nil && point.At.X.Set {
		x, y = point.At.X.SI, point.At.Y.SI
	}
	switch r.Place.S {
	case project.AtAxis:
		return m.Sys.AxisLight(engine.AxisPlace{
			DistanceM: r.Distance.SI, XM: x, YM: y, TurnRad: turn, Bare: r.State.Lenses.S == project.Off,
		})
	case project.AtSurface, project.AtTarget:
		if r.State.Lenses.S == project.Off {
			return nil, errors.New("light on a plane without lenses is not predicted; read it on the axis")
		}
		return m.Sys.PlaneLight(r.Place.S == project.AtSurface, x, y)
	}
	return nil, fmt.Errorf("place %q is not one of light; use axis, surface or target", r.Place.S)
}

// lightOf returns whether a channel is white, and the peak of the spectrum of its first package [nm].
func (m *Model) lightOf(channel int) (white bool, peakNM float64) {
	l := m.Sys.Lamp
	k := &l.Types[l.Emitters[l.Channels[channel].Emitters[0]].Type]
	_, white = k.White()
	return white, k.ShortestPeakNM()
}

// axisGains returns the parameter of the gain on the axis of the lens of each channel; −1 for none.
func (m *Model) axisGains(r *project.Reading) []int {
	l := m.Sys.Lamp
	out := make([]int, len(l.Channels))
	for c := range out {
		out[c] = -1
		o := &l.Optics[l.Emitters[l.Channels[c].Emitters[0]].Optic]
		if r.Place.S == project.AtAxis && r.State.Lenses.S != project.Off && o.Lens != nil {
			out[c] = m.readParameter("lens."+o.Lens.ID.S+".axis_gain", "intensity on the axis of lens "+o.Lens.ID.S+
				" over that of its beam", estimate.LogNormal, 1, axisSpread)
		}
	}
	return out
}

// immersion returns the parameter of the immersion factor of a meter under water; −1 in air.
func (m *Model) immersion(r *project.Reading) int {
	in := r.Instrument
	if in == nil || r.Place.S != project.AtTarget || m.Sys.Lamp.WaterM() <= 0 {
		return -1
	}
	centre, spread := 1.25, bareSpread
	if in.Immersion.Set {
		centre, spread = in.Immersion.SI, immersedSpread
	}
	return m.meterParameter("instrument."+in.Name.S+".immersion_factor", "immersion factor of instrument "+in.Name.S,
		estimate.LogNormal, centre, spread)
}

// cosine returns the parameter of the directional response of a meter on a plane; −1 on the axis, where it faces the
// lamp.
func (m *Model) cosine(r *project.Reading, f function) int {
	if r.Instrument == nil || r.Place.S == project.AtAxis {
		return -1
	}
	name := r.Instrument.Name.S
	return m.meterParameter("instrument."+name+".cosine", "directional response of instrument "+name+" on a plane",
		estimate.LogNormal, 1, cosineSpread(f, r.Instrument.Class.S))
}

func (m *Model) ratioPredictor(r *project.Reading) (func(*engine.Moment, []float64) float64, error) {
	ch := r.ChannelIndex
	if ch < 0 {
		return nil, errors.New("channel is not given; name the channel whose lenses are read")
	}
	return func(at *engine.Moment, _ []float64) float64 { return at.LensEfficiency(ch) }, nil
}

// temperaturePredictor predicts temperatures of contact, of radiation and of junctions.
func (m *Model) temperaturePredictor(r *project.Reading, roomK float64) (
	func(*engine.Moment, []float64) float64, error,
) {
	if r.What.S == project.ReadJunctionTemperature {
		return m.junctionPredictor(r, roomK)
	}
	surface, err := m.surfaceK(r, roomK)
	if err != nil {
		return nil, err
	}
	if r.What.S == project.ReadContactTemperature {
		return m.scaled(r, temperature, func(at *engine.Moment, _ []float64) float64 { return surface(at) }), nil
	}
	reflected, set := roomK, sink.MeterSetting
	if r.ReflectedTemperature.Set {
		reflected = r.ReflectedTemperature.SI
	}
	if r.EmissivitySet.Set {
		set = r.EmissivitySet.SI
	}
	centre, where := 0.95, "taped or painted surfaces"
	switch {
	case r.Emissivity.Set:
		centre = r.Emissivity.SI
		where = fmt.Sprintf("%s (%.3g)", string(r.Place.S), centre)
	case r.Place.S != project.AtHeatSink:
		centre, where = m.Sys.Lamp.MaskEmissivity(), "the solder mask"
	}
	emissivity := m.meterParameter("emissivity."+where, "emissivity of "+where, estimate.LogNormal, centre,
		math.Min(emissivitySpread/centre, 0.5))
	return m.scaled(r, temperature, func(at *engine.Moment, theta []float64) float64 {
		return sink.InfraredReading(surface(at), reflected, theta[emissivity], set)
	}), nil
}

// surfaceK returns the temperature of the place of a reading.
func (m *Model) surfaceK(r *project.Reading, roomK float64) (func(at *engine.Moment) float64, error) {
	switch r.Place.S {
	case project.AtHeatSink:
		return (*engine.Moment).SinkK, nil
	case project.AtRoom:
		return func(*engine.Moment) float64 { return roomK }, nil
	case project.AtSolderPoint:
		e := r.EmitterIndex
		if e < 0 {
			return nil, errors.New("emitter is not given; name the emitter whose solder point is read")
		}
		return func(at *engine.Moment) float64 { return at.SolderK(e) }, nil
	case project.AtSensor:
		if m.Sys.Board.SensorAt < 0 {
			return nil, errors.New("the design has no sensor")
		}
		return (*engine.Moment).SensorK, nil
	case project.AtSpot:
		spot := max(r.SpotIndex, 0)
		if spot >= len(m.Sys.Board.Spots) {
			return nil, errors.New("the lamp has no infrared spot; state infrared_spots in the design")
		}
		return func(at *engine.Moment) float64 { return at.SpotK(spot) }, nil
	case project.AtBoard:
		patch := m.Sys.PatchAt(r.At.X.SI, r.At.Y.SI, boardPatchM)
		return func(at *engine.Moment) float64 { return at.PatchK(&patch) }, nil
	}
	return nil, fmt.Errorf("place %q is not one of a temperature", r.Place.S)
}

// boardPatchM is the radius about a place of the board that a contact or a spot sees [m].
const boardPatchM = 2e-3

// junctionPredictor predicts a junction temperature: of an emitter, or the mean of a channel. One that is computed of
// two
// voltages depends on the temperature coefficient k of the lamp over that of the datasheet:
//
//	T_shown = T_room + (T_j − T_room) k/k_datasheet
func (m *Model) junctionPredictor(r *project.Reading, roomK float64) (func(*engine.Moment, []float64) float64, error) {
	emitters := []int{r.EmitterIndex}
	if r.EmitterIndex < 0 {
		if r.ChannelIndex < 0 {
			return nil, errors.New("neither channel nor emitter is given; name whose junctions are read")
		}
		emitters = m.Sys.Lamp.Channels[r.ChannelIndex].Emitters
	}
	slope := -1
	if l := m.Sys.Lamp; !r.Value.Set {
		part := &l.Types[l.Emitters[emitters[0]].Type]
		slope = m.readParameter(part.ParamName("tempco_ratio"),
			"temperature coefficient of the forward voltage of "+part.Part.ID.S+" over its datasheet",
			estimate.LogNormal, 1,
			tempcoSpread)
	}
	return func(at *engine.Moment, theta []float64) float64 {
		sum := 0.0
		for _, e := range emitters {
			sum += at.JunctionK(e)
		}
		mean := sum / float64(len(emitters))
		if slope >= 0 {
			mean = roomK + (mean-roomK)*theta[slope]
		}
		return mean
	}, nil
}

// celsius0K is 0 °C [K].
const celsius0K = 273.15

// thermistorPredictor predicts the resistance of the sensor: R₂₅ and B-value have tolerances of their own.
func (m *Model) thermistorPredictor(r *project.Reading) (func(*engine.Moment, []float64) float64, error) {
	l := m.Sys.Lamp
	if l.Design.Sensor == nil {
		return nil, errors.New("the design has no sensor")
	}
	d, err := l.Divider()
	if err != nil {
		return nil, err
	}
	r25 := m.readParameter("sensor.resistance", "resistance of the thermistor at 25 °C over its datasheet",
		estimate.LogNormal, 1, ntcSpread)
	beta := m.readParameter(betaName, "B-value of the thermistor over its datasheet", estimate.LogNormal, 1, betaSpread)
	ntc := d.NTC
	ohm25 := ntc.OhmAt(roomK)
	m.ohm25 = ohm25
	return m.scaled(r, ohms, func(at *engine.Moment, theta []float64) float64 {
		return theta[r25] * ohm25 * math.Pow(ntc.OhmAt(at.SensorK())/ohm25, theta[beta])
	}), nil
}

const (
	roomK    = 298.15 // at which thermistors are stated [K]
	betaName = "sensor.beta"
)

func (m *Model) speedPredictor(r *project.Reading) (func(*engine.Moment, []float64) float64, error) {
	l := m.Sys.Lamp
	if l.Fan == nil {
		return nil, errors.New("the design has no fan")
	}
	rated := l.Fan.Speed.SI * l.FanSpeed()
	if r.State.Fan.S == project.Off {
		rated = 0
	}
	at := m.readParameter("fan.speed", "fan speed over that of the design", estimate.LogNormal, 1, fanSpread)
	return m.scaled(r, speed, func(_ *engine.Moment, theta []float64) float64 { return rated * theta[at] }), nil
}

// wavelengthPredictor predicts the peak of the spectrum of a channel, or its width at half of it.
func (m *Model) wavelengthPredictor(r *project.Reading) (func(*engine.Moment, []float64) float64, error) {
	ch := r.ChannelIndex
	if ch < 0 {
		return nil, errors.New("channel is not given; name the channel whose spectrum is read")
	}
	if r.What.S == project.ReadPeakWidth {
		own := m.meterParameter("instrument."+instrumentName(r)+".width", "width of a line that instrument "+
			instrumentName(r)+" displays [nm]", estimate.LogNormal, 5, 0.6)
		return func(mo *engine.Moment, theta []float64) float64 {
			_, width := mo.Spectrum(ch).Peak()
			return math.Hypot(width, theta[own]) // exact for Gaussian lines
		}, nil
	}
	at := m.readParameter("channel."+m.Sys.Lamp.Channels[ch].Name+".wavelength",
		"peak wavelength of channel "+m.Sys.Lamp.Channels[ch].Name+" over its datasheet [nm]", estimate.Normal, 0, 3)
	return m.scaled(r, wavelength, func(mo *engine.Moment, theta []float64) float64 {
		peak, _ := mo.Spectrum(ch).Peak()
		return peak + theta[at]
	}), nil
}

// instrumentName returns the name of the instrument of a reading; "unnamed" where it has none.
func instrumentName(r *project.Reading) string {
	if r.Instrument == nil {
		return "unnamed"
	}
	return r.Instrument.Name.S
}
