package bench

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"lampwright/internal/engine"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// PlanSheet is what to read of a lamp as built: the first power-up, then readings in the order of work.
type PlanSheet struct {
	RoomK   float64      `json:"room_k"`   // air temperature for which everything is predicted
	SettleS float64      `json:"settle_s"` // from a cold start until heat sink reaches 95 % of its rise; 0 is not known
	Strings []PlanString `json:"strings"`
	Groups  []PlanGroup  `json:"groups"`
	LeftOut []PlanOut    `json:"left_out,omitempty"`
	Figures []PlanFigure `json:"figures"`
	Warmup  *PlanSeries  `json:"warm_up,omitempty"`
	Map     *PlanSeries  `json:"map,omitempty"`
	Minutes float64      `json:"minutes"` // of all but the series, with waiting

	Instruments []*project.Instrument `json:"-"` // that the readings name
	States      []*project.LampState  `json:"-"` // that the readings name, without full
}

// PlanString is what to expect of the strings of a channel at the first power-up.
type PlanString struct {
	Channel  string              `json:"channel"`
	Strings  int                 `json:"strings"`   // equal strings; each is measured alone
	LimitV   float64             `json:"limit_v"`   // voltage limit of the bench supply
	ShortedV float64             `json:"shorted_v"` // of one die at the first current
	Cold     []engine.BenchPoint `json:"cold"`      // on the bench supply, all junctions at the temperature of the room
	Volts    PlanReading         `json:"volts"`     // on its driver, full day, steady
	Amps     PlanReading         `json:"amps"`
	Dimmed   PlanReading         `json:"dimmed"` // mean current at the level of the first power-up
}

// PlanReading is a reading to take, with what is expected. The range is ±2u, of lamp and instrument together.
type PlanReading struct {
	ID         string  `json:"id"`
	Rank       int     `json:"rank,omitempty"` // by information per minute, from 1; 0 for those of the first power-up
	What       string  `json:"what"`
	Where      string  `json:"where"`
	Instrument string  `json:"instrument"`
	Setting    string  `json:"setting,omitempty"`
	Minutes    float64 `json:"minutes"`
	Expected   float64 `json:"expected"` // SI
	U          float64 `json:"u"`        // standard uncertainty of the expected reading
	// Tells is the figure that the reading determines best, and Reduction the fraction of the variance of that figure
	// that it removes beyond the readings of a better rank.
	Tells     string       `json:"tells,omitempty"`
	Reduction float64      `json:"variance_reduction,omitempty"`
	Dim       quantity.Dim `json:"-"`

	Reading *project.Reading `json:"-"`
}

// Lo and Hi are the ends of the expected range.
func (r *PlanReading) Lo() float64 { return r.Expected - planK*r.U }

// Hi is the upper end of the expected range.
func (r *PlanReading) Hi() float64 { return r.Expected + planK*r.U }

// PlanGroup is the readings of one state of the lamp, the most telling first.
type PlanGroup struct {
	State    *project.LampState `json:"-"`
	Name     string             `json:"state"`
	Minutes  float64            `json:"minutes"` // until the lamp is in it
	Readings []PlanReading      `json:"readings"`
}

// PlanOut is a reading that is not planned, with the reason.
type PlanOut struct {
	What   string `json:"what"`
	Where  string `json:"where"`
	Reason string `json:"reason"`
}

// PlanFigure is a figure with its standard deviation before and after the planned readings.
type PlanFigure struct {
	Key      string       `json:"key"`
	Title    string       `json:"title"`
	Value    float64      `json:"value"`
	SDBefore float64      `json:"sd_before"`
	SDAfter  float64      `json:"sd_after"`
	Dim      quantity.Dim `json:"-"`
}

// PlanSeries is a series that is offered: the warm-up, or the map of the target.
type PlanSeries struct {
	ID         string      `json:"id"`
	What       string      `json:"what"`
	Where      string      `json:"where"`
	Instrument string      `json:"instrument"`
	Minutes    float64     `json:"minutes"`
	Points     []PlanPoint `json:"points"`
	Tells      string      `json:"tells,omitempty"` // as of a reading, after all planned ones
	Reduction  float64     `json:"variance_reduction,omitempty"`

	Dim     quantity.Dim     `json:"-"`
	Reading *project.Reading `json:"-"`
}

// PlanPoint is a point of a series: after a time, or at a place from the centre of the target.
type PlanPoint struct {
	TimeS    float64 `json:"time_s,omitempty"`
	XM       float64 `json:"x_m,omitempty"`
	YM       float64 `json:"y_m,omitempty"`
	Expected float64 `json:"expected"`
	U        float64 `json:"u"`
}

// Choices of a plan; common practice, no source.
const (
	planK            = 2.0  // of the expected range, over the standard uncertainty
	firstLevel       = 0.05 // of the first power-up
	tellsLeast       = 0.01 // of the variance of a figure: a reading that removes less of all figures is left out
	maxPlanned       = 10   // readings beside those of the first power-up
	coldStartMinutes = 1.0
	coldWaitS        = 120.0 // from a cold start to a reading of light of one channel: the heat sink is still cool
	bareGroupMinutes = 2.0   // the lenses go on again
	unknownSettleS   = 3600  // wait where the heat capacity of the heat sink is not known
	mapSide          = 5     // cells along each side of the map; EN 12464-1 reads at cell centres, cited from memory
	mapPointMinutes  = 0.5
	settled          = 0.95 // of the final rise
)

// FirstFractions are the string currents of the first power-up on a bench supply over the nominal ones.
func FirstFractions() []float64 { return []float64{firstLevel, 1} }

// RoomOf returns the air temperature for which a plan is made: that of the last campaign, else the typical ambient [K].
func RoomOf(sys *engine.System, readings *project.Readings) float64 {
	if readings != nil {
		if n := len(readings.Campaigns); n > 0 {
			return readings.Campaigns[n-1].Room.SI
		}
	}
	return sys.Lamp.Design.Installation.Ambient.Typical.SI
}

// Plan returns what to read of the lamp. Instruments are those of a readings file, or usual ones where it is nil;
// strings are those on a bench supply, by channel, at FirstFractions. The readings are picked one by one: that which
// removes the largest fraction of the variance of the figures per minute, after those that were picked before.
//
// Source: Lindley1956 (information of an experiment), Kalman1960 (variance after a reading); cited from memory.
func Plan(ctx context.Context, sys *engine.System, readings *project.Readings, figures []Figure,
	strings []engine.BenchString,
) (*PlanSheet, error) {
	p, err := newPlanner(ctx, sys, readings, figures)
	if err != nil {
		return nil, err
	}
	p.firstPowerUp(strings)
	p.pick()
	p.finish()
	return p.sheet, nil
}

// planner makes a PlanSheet.
type planner struct {
	m         *Model
	sheet     *PlanSheet
	list      []candidate // the readings of one value; each is the item of its position
	groups    []int       // first item of warm-up and map; items up to the next one, or the end
	series    []candidate
	rows      [][]float64
	predicted []float64
	lampU     []float64 // standard uncertainty of each predicted item
	figures   []Figure
	values    []float64   // of the figures
	gradients [][]float64 // of the figures
	before    []float64   // variance of each figure
	cov       *mat.SymDense
	fixed     []int // items of the first power-up, three for each channel
	picked    []int // items in the order of their rank
	hottest   []int // emitter of each channel
	tells     map[int]PlanReading
}

// newPlanner returns a planner with the predicted readings, their derivatives and those of the figures.
func newPlanner(ctx context.Context, sys *engine.System, readings *project.Readings, figures []Figure) (*planner,
	error,
) {
	known := readings != nil && len(readings.Instruments) > 0
	r := &project.Readings{}
	roomK := RoomOf(sys, readings)
	if readings != nil {
		r.Instruments = readings.Instruments
	}
	r.Campaigns = []project.Campaign{{Room: source.Value{SI: roomK, Set: true}}}
	p := &planner{
		m:     &Model{Sys: sys, Params: lampParameters(sys), readings: r, capacity: -1},
		sheet: &PlanSheet{RoomK: roomK}, figures: figures, tells: map[int]PlanReading{},
	}
	p.m.addDrifts()
	if err := p.settle(ctx); err != nil {
		return nil, err
	}
	p.offer(known)
	if err := p.addItems(); err != nil {
		return nil, err
	}
	return p, p.predict(ctx)
}

// settle finds the hottest emitters, and the time in which the heat sink reaches its steady state.
func (p *planner) settle(ctx context.Context) error {
	sys := p.m.Sys
	in := engine.Conditions{RoomK: p.sheet.RoomK}
	steady, err := sys.Measure(sys.Lamp.Nominal(), in, nil)
	if err != nil {
		return fmt.Errorf("predict the steady state at full day: %w", err)
	}
	for c := range sys.Lamp.Channels {
		p.hottest = append(p.hottest, slices.MaxFunc(sys.Lamp.Channels[c].Emitters, func(a, b int) int {
			return cmp.Compare(steady.JunctionK(a), steady.JunctionK(b))
		}))
	}
	var times []float64
	for t := 60.0; t <= 6*3600; t *= 1.15 {
		times = append(times, t)
	}
	course, err := sys.MeasureOver(ctx, sys.Lamp.Nominal(), in, times, false)
	if err != nil {
		return ctx.Err() // the heat capacity is not known: no series over time
	}
	for k, at := range course {
		if at.SinkK()-at.AirK() >= settled*(steady.SinkK()-steady.AirK()) {
			p.sheet.SettleS = times[k]
			return nil
		}
	}
	p.sheet.SettleS = times[len(times)-1]
	return nil
}

// offer lists the readings that could be taken: those of the first power-up first, three for each channel.
func (p *planner) offer(known bool) {
	l := p.m.Sys.Lamp
	dim := &project.LampState{Name: source.Text{S: fmt.Sprintf("all at %.0f %%", 100*firstLevel), Set: true}}
	for c := range l.Channels {
		dim.Levels = append(dim.Levels, project.StateLevel{
			Channel: source.Text{S: l.Channels[c].Name, Set: true}, Level: source.Value{SI: firstLevel, Set: true},
		})
	}
	all := p.m.candidates()
	for c := range l.Channels {
		var volts, amps candidate
		for _, x := range all {
			switch {
			case x.reading.ChannelIndex != c:
			case x.reading.What.S == project.ReadStringVoltage:
				volts = x
			case x.reading.What.S == project.ReadStringCurrent:
				amps = x
			}
		}
		low := amps
		low.reading.State, low.minutes = dim, quickMinutes
		p.list = append(p.list, volts, amps, low)
	}
	for _, x := range append(all, p.planeCandidate()...) {
		switch what := x.reading.What.S; {
		case what == project.ReadStringVoltage, what == project.ReadStringCurrent:
		case known && !slices.ContainsFunc(p.m.readings.Instruments, func(in project.Instrument) bool {
			return in.Kind.S == x.reading.Instrument.Kind.S
		}):
			p.sheet.LeftOut = append(p.sheet.LeftOut, PlanOut{
				string(what), p.m.where(&Item{Reading: &x.reading, Point: -1}), "no " +
					string(x.reading.Instrument.Kind.S),
			})
		default:
			p.list = append(p.list, p.placed(x))
		}
	}
	p.offerSeries()
}

// placed returns a candidate whose state and emitter suit a plan: a solder point is that of the hottest emitter of its
// channel; one channel alone is read soon after a cold start, so that nothing must cool down between channels.
func (p *planner) placed(x candidate) candidate {
	if x.reading.Place.S == project.AtSolderPoint {
		x.reading.EmitterIndex = p.hottest[x.reading.ChannelIndex]
	}
	p.atHand(&x.reading)
	if p.sheet.SettleS > 0 && !x.reading.State.FullDay() {
		state := *x.reading.State
		state.After = source.Value{SI: coldWaitS, Set: true}
		x.reading.State = &state
	}
	return x
}

// atHand names the instrument at hand of a reading that is computed from what the instrument displays: a ratio from
// illuminances, a junction temperature from voltages.
func (p *planner) atHand(r *project.Reading) {
	display := quantity.Illuminance
	switch r.What.S {
	case project.ReadJunctionTemperature:
		display = quantity.Voltage
	case project.ReadFluxRatio:
	default:
		return
	}
	for i := range p.m.readings.Instruments {
		in := &p.m.readings.Instruments[i]
		if in.Kind.S == r.Instrument.Kind.S && (in.Dim == display || in.Dim == quantity.None) {
			r.Instrument = in
			return
		}
	}
}

// planeCandidate is the light at the centre of the water surface, or of the target in the air.
func (p *planner) planeCandidate() []candidate {
	r := project.Reading{
		What: choice(project.ReadIlluminance), Place: choice(project.AtTarget), ChannelIndex: -1, EmitterIndex: -1,
		SpotIndex: -1, State: fullState(), Dim: quantity.Illuminance,
	}
	if p.m.Sys.Light.Surface != nil {
		r.Place = choice(project.AtSurface)
	}
	r.At.X.Set, r.At.Y.Set = true, true
	r.Instrument = p.m.instrument(project.LuxMeter, r.Dim)
	return []candidate{{r, lightMinutes, "steady, dark room, diffuser level, at the centre"}}
}

func fullState() *project.LampState {
	return &project.LampState{Name: source.Text{S: project.FullState, Set: true}}
}

// offerSeries adds the warm-up of the heat sink, where it can be predicted, and the map of the target.
func (p *planner) offerSeries() {
	base := project.Reading{ChannelIndex: -1, EmitterIndex: -1, SpotIndex: -1, State: fullState()}
	if p.sheet.SettleS > 0 {
		warm := base
		warm.What, warm.Place = choice(project.ReadContactTemperature), choice(project.AtHeatSink)
		warm.State = &project.LampState{Name: source.Text{S: "warm-up", Set: true}}
		warm.ID.S, warm.Dim = "warm-up", quantity.Temperature
		warm.Instrument = p.m.instrument(project.Thermocouple, warm.Dim)
		for _, minutes := range []float64{1, 2, 5, 10, 15, 20, 30, 45, 60, 90, 120, 180, 240} {
			warm.Series = append(warm.Series, project.SeriesPoint{Time: source.Value{SI: 60 * minutes, Set: true}})
			if 60*minutes >= p.sheet.SettleS {
				break
			}
		}
		p.series = append(p.series, candidate{warm, float64(len(warm.Series)), ""})
	}
	grid := base
	grid.What, grid.Place, grid.ID.S = choice(project.ReadIlluminance), choice(project.AtTarget), "map"
	grid.Instrument = p.m.instrument(project.LuxMeter, quantity.Illuminance)
	if p.m.Sys.Light.Surface != nil { // under water only a sealed sensor reads
		grid.What = choice(project.ReadPPFD)
		grid.Instrument = p.m.instrument(project.QuantumSensor, quantity.PPFD)
	}
	grid.Dim = grid.What.S.Dim()
	target := p.m.Sys.Light.Target
	for y := range mapSide {
		for x := range mapSide {
			point := project.SeriesPoint{}
			point.At.X = source.Value{SI: ((float64(x)+0.5)/mapSide - 0.5) * target.LengthM, Set: true}
			point.At.Y = source.Value{SI: ((float64(y)+0.5)/mapSide - 0.5) * target.WidthM, Set: true}
			grid.Series = append(grid.Series, point)
		}
	}
	p.series = append(p.series, candidate{grid, mapPointMinutes * mapSide * mapSide, ""})
}

// addItems makes items of all candidates: those of one value, then the points of the series.
func (p *planner) addItems() error {
	for i := range p.list {
		x := &p.list[i]
		x.reading.ID.S = p.idOf(&x.reading)
		if e := x.reading.EmitterIndex; e >= 0 {
			x.reading.EmitterLabel.S = p.m.Sys.Lamp.Emitters[e].Label
		}
		x.reading.Label = x.reading.ID.S
		if err := p.m.addReading(0, &x.reading); err != nil {
			return fmt.Errorf("plan %s %s: %w", x.reading.What.S, x.reading.ID.S, err)
		}
	}
	for i := range p.series {
		x := &p.series[i]
		x.reading.Label = x.reading.ID.S
		p.groups = append(p.groups, len(p.m.Items))
		if err := p.m.addReading(0, &x.reading); err != nil {
			return fmt.Errorf("plan %s: %w", x.reading.ID.S, err)
		}
	}
	for i := range p.m.conditions {
		c := &p.m.conditions[i]
		slices.Sort(c.timesS)
		c.timesS = slices.Compact(c.timesS)
	}
	if err := p.m.addTimes(); err != nil {
		return err
	}
	return p.m.setFresh()
}

// idOf returns a short name of a reading.
func (p *planner) idOf(r *project.Reading) string {
	short := map[project.ReadingQuantity]string{
		project.ReadStringVoltage: "V", project.ReadDriverVoltage: "VD", project.ReadStringCurrent: "A",
		project.ReadIlluminance: "E", project.ReadFluxRatio: "R", project.ReadContactTemperature: "T",
		project.ReadJunctionTemperature: "TJ", project.ReadInfraredTemperature: "IR", project.ReadMainsPower: "P",
		project.ReadThermistorResistance: "NTC", project.ReadFanSpeed: "N",
	}[r.What.S]
	l := p.m.Sys.Lamp
	where := string(r.Place.S)
	switch {
	case r.EmitterIndex >= 0:
		where = l.Emitters[r.EmitterIndex].Label
	case r.ChannelIndex >= 0:
		where = l.Channels[r.ChannelIndex].Name
	case r.SpotName.S != "":
		where = r.SpotName.S
	}
	if r.State.Lenses.S == project.Off {
		short += "0"
	}
	if r.What.S == project.ReadStringCurrent && !r.State.FullDay() {
		short += "5"
	}
	id := short + " " + where
	if where == "" {
		id = short
	}
	return id
}

// predict computes the expected readings and the derivatives of readings and figures.
func (p *planner) predict(ctx context.Context) (err error) {
	z := make([]float64, len(p.m.Params))
	if p.rows, err = p.m.rowsAt(ctx, z); err != nil {
		return err
	}
	if p.predicted, err = p.m.Predict(ctx, z); err != nil {
		return err
	}
	for i := range p.m.Items {
		sum := sq(p.m.Items[i].U)
		for _, v := range p.rows[i] {
			sum += sq(v)
		}
		p.lampU = append(p.lampU, math.Sqrt(sum))
	}
	p.cov = mat.NewSymDense(len(z), nil)
	for j := range z {
		p.cov.SetSym(j, j, 1)
	}
	for _, g := range p.figures {
		if err := ctx.Err(); err != nil {
			return err
		}
		at, gradient := p.m.gradient(g, z)
		p.values, p.gradients = append(p.values, at), append(p.gradients, gradient)
		p.before = append(p.before, quadratic(p.cov, gradient))
	}
	return nil
}

// firstPowerUp fills the table of the strings, whose readings are taken in any case.
func (p *planner) firstPowerUp(strings []engine.BenchString) {
	l := p.m.Sys.Lamp
	for c := range l.Channels {
		x := PlanString{
			Channel: l.Channels[c].Name, Strings: l.Channels[c].Strings,
			Volts: p.reading(3 * c), Amps: p.reading(3*c + 1), Dimmed: p.reading(3*c + 2),
		}
		for _, b := range strings {
			if b.Channel == c {
				x.LimitV, x.ShortedV, x.Cold = b.LimitV, b.LeastDie, b.Points
			}
		}
		p.sheet.Strings = append(p.sheet.Strings, x)
		for k := range 3 {
			p.fixed = append(p.fixed, 3*c+k)
			p.use(3*c + k)
		}
	}
}

// reading returns an item as a reading to take.
func (p *planner) reading(i int) PlanReading {
	x := &p.list[i]
	return PlanReading{
		ID: x.reading.ID.S, What: string(x.reading.What.S), Where: p.m.where(&p.m.Items[i]),
		Instrument: x.reading.Instrument.Name.S, Setting: x.setting, Minutes: x.minutes, Expected: p.predicted[i],
		U: p.lampU[i], Dim: x.reading.Dim, Reading: &x.reading,
	}
}

// use updates the covariance with a reading.
func (p *planner) use(i int) { p.cov = updated(p.cov, p.rows[i], p.m.Items[i].U) }

// worth is what a reading tells: the sum over the figures of the removed fraction of their first variance, the largest
// of these, and the figure that it tells most of with the removed fraction of its present variance.
func (p *planner) worth(i int) (sum, most float64, figure int, reduction float64) {
	for f, g := range p.gradients {
		v0, v1 := gain(p.cov, g, p.rows[i], p.m.Items[i].U)
		if p.before[f] <= 0 || v0 <= 0 {
			continue
		}
		share := (v0 - v1) / p.before[f]
		sum += share
		if share > most {
			most, figure, reduction = share, f, 1-v1/v0
		}
	}
	return sum, most, figure, reduction
}

// pick picks readings, the most telling per minute first. A state that no reading is in yet costs the minutes in which
// the lamp is brought into it.
func (p *planner) pick() {
	rest := map[int]bool{}
	for i := len(p.fixed); i < len(p.list); i++ {
		rest[i] = true
	}
	open := map[string]bool{project.FullState: true}
	for len(p.picked) < maxPlanned {
		best, rate := -1, 0.0
		for i := len(p.fixed); i < len(p.list); i++ {
			if !rest[i] {
				continue
			}
			sum, most, _, _ := p.worth(i)
			minutes := p.list[i].minutes
			if state := p.list[i].reading.State; !open[state.Name.S] {
				minutes += p.openMinutes(state)
			}
			if most >= tellsLeast && sum/minutes > rate {
				best, rate = i, sum/minutes
			}
		}
		if best < 0 {
			break
		}
		x := p.reading(best)
		x.Rank = len(p.picked) + 1
		var f int
		_, _, f, x.Reduction = p.worth(best)
		x.Tells = p.figures[f].Title
		p.tells[best] = x
		p.picked = append(p.picked, best)
		p.use(best)
		open[p.list[best].reading.State.Name.S] = true
		delete(rest, best)
	}
	for i := len(p.fixed); i < len(p.list); i++ {
		if rest[i] {
			p.sheet.LeftOut = append(p.sheet.LeftOut, PlanOut{
				string(p.list[i].reading.What.S), p.m.where(&p.m.Items[i]), "tells next to nothing beyond the others",
			})
		}
	}
}

// openMinutes returns the minutes in which the lamp is brought into a state.
func (p *planner) openMinutes(s *project.LampState) float64 {
	minutes := coldStartMinutes + s.After.SI/60
	switch {
	case s.FullDay():
		minutes = p.settleMinutes()
	case s.Lenses.S == project.Off:
		minutes += bareGroupMinutes
	}
	return minutes
}

func (p *planner) settleMinutes() float64 {
	if p.sheet.SettleS > 0 {
		return math.Ceil(p.sheet.SettleS / 60)
	}
	return unknownSettleS / 60
}

// finish arranges the readings in the order of work, and adds series, figures and minutes.
func (p *planner) finish() {
	s := p.sheet
	for _, i := range p.picked {
		state := p.list[i].reading.State
		at := slices.IndexFunc(s.Groups, func(g PlanGroup) bool { return g.Name == state.Name.S })
		if at < 0 {
			at = len(s.Groups)
			s.Groups = append(s.Groups, PlanGroup{State: state, Name: state.Name.S, Minutes: p.openMinutes(state)})
		}
		s.Groups[at].Readings = append(s.Groups[at].Readings, p.tells[i])
	}
	// Lenses go on once, and cold states come before the warm-up.
	slices.SortStableFunc(s.Groups, func(a, b PlanGroup) int {
		return cmp.Compare(workOrder(a.State),
			workOrder(b.State))
	})
	for f, g := range p.figures {
		s.Figures = append(s.Figures, PlanFigure{
			g.Key, g.Title, p.values[f], math.Sqrt(p.before[f]), math.Sqrt(quadratic(p.cov, p.gradients[f])), g.Dim,
		})
	}
	p.addSeries()
	s.Minutes = p.settleMinutes()
	for _, i := range p.fixed {
		s.Minutes += p.list[i].minutes
	}
	for _, g := range s.Groups {
		if !g.State.FullDay() {
			s.Minutes += g.Minutes
		}
		for _, r := range g.Readings {
			s.Minutes += r.Minutes
		}
	}
	p.nameUsed()
}

// workOrder is the order in which states are made: without lenses, channels alone, full day.
func workOrder(s *project.LampState) int {
	switch {
	case s.Lenses.S == project.Off:
		return 0
	case s.FullDay():
		return 2
	}
	return 1
}

// addSeries adds the series that are offered, with what each tells beyond the planned readings.
func (p *planner) addSeries() {
	for k := range p.series {
		x := &p.series[k]
		first, end := p.groups[k], len(p.m.Items)
		if k+1 < len(p.groups) {
			end = p.groups[k+1]
		}
		s := &PlanSeries{
			ID: x.reading.ID.S, What: string(x.reading.What.S), Where: string(x.reading.Place.S),
			Instrument: x.reading.Instrument.Name.S, Minutes: x.minutes, Dim: x.reading.Dim, Reading: &x.reading,
		}
		after := p.cov
		for i := first; i < end; i++ {
			point := &x.reading.Series[i-first]
			s.Points = append(s.Points, PlanPoint{
				point.Time.SI, point.At.X.SI, point.At.Y.SI, p.predicted[i], p.lampU[i],
			})
			after = updated(after, p.rows[i], p.m.Items[i].U)
		}
		for f, g := range p.gradients {
			v0 := quadratic(p.cov, g)
			if v0 <= 0 {
				continue
			}
			if r := 1 - quadratic(after, g)/v0; r > s.Reduction {
				s.Reduction, s.Tells = r, p.figures[f].Title
			}
		}
		if len(x.reading.Series) > 0 && x.reading.Series[0].Time.Set {
			p.sheet.Warmup = s
		} else {
			p.sheet.Map = s
		}
	}
}

// nameUsed lists the instruments and states that the planned readings name.
func (p *planner) nameUsed() {
	s := p.sheet
	add := func(r *project.Reading) {
		if !slices.ContainsFunc(s.Instruments,
			func(in *project.Instrument) bool { return in.Name.S == r.Instrument.Name.S }) {
			s.Instruments = append(s.Instruments, r.Instrument)
		}
		named := func(st *project.LampState) bool { return st.Name.S == r.State.Name.S }
		if r.State.Name.S != project.FullState && !slices.ContainsFunc(s.States, named) {
			s.States = append(s.States, r.State)
		}
	}
	for _, r := range s.Readings() {
		add(r.Reading)
	}
	for _, series := range []*PlanSeries{s.Warmup, s.Map} {
		if series != nil {
			add(series.Reading)
		}
	}
}

// Readings lists the readings of one value in the order of work.
func (s *PlanSheet) Readings() (out []*PlanReading) {
	for i := range s.Groups {
		if g := &s.Groups[i]; !g.State.FullDay() {
			for k := range g.Readings {
				out = append(out, &g.Readings[k])
			}
		}
	}
	for i := range s.Strings {
		x := &s.Strings[i]
		out = append(out, &x.Dimmed, &x.Amps, &x.Volts)
	}
	for i := range s.Groups {
		if g := &s.Groups[i]; g.State.FullDay() {
			for k := range g.Readings {
				out = append(out, &g.Readings[k])
			}
		}
	}
	return out
}
