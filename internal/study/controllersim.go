package study

import (
	"context"
	"fmt"

	"lampwright/internal/controller"
	"lampwright/internal/day"
)

// ControllerRun is a simulated stretch of the controller core. Duties and fan are means over the time of a row.
type ControllerRun struct {
	Title    string             `json:"title"`
	Along    string             `json:"along"`    // quantity and unit of At
	At       []float64          `json:"at"`       // end of each row
	Channels []string           `json:"channels"` // names
	Duty     [][]float64        `json:"duty"`     // [channel][row], 0 to 1
	Fan      []float64          `json:"fan"`
	State    []int              `json:"state"` // at the end of each row
	Changes  []ControllerChange `json:"changes"`
	Changed  int                `json:"changed"` // all changes; the first maxChanges are listed
	Ticks    int64              `json:"ticks"`
	CRC32    string             `json:"crc32,omitempty"` // of a trace
	Every    int                `json:"-"`               // row that is worth printing: each of so many
}

// ControllerChange is a change of state or faults of the core.
type ControllerChange struct {
	Tick  int64            `json:"tick"`
	State controller.State `json:"state"`
	Fault controller.Fault `json:"fault"`
}

// maxChanges is the number of changes that a run lists.
const maxChanges = 200

// runner sums a run up into rows.
type runner struct {
	out   ControllerRun
	rowOf func(tick int64) float64 // where on the axis the row of a tick ends
	sums  [controller.MaxChannels]int64
	fan   int64
	steps int64
	now   float64
	last  controller.Outputs
}

func (r *runner) see(tick int64, o *controller.Outputs) {
	if tick%10 == 0 || r.steps == 0 {
		if at := r.rowOf(tick); at != r.now {
			r.close()
			r.now = at
		}
	}
	for i, d := range o.Duty {
		r.sums[i] += int64(d)
	}
	r.fan += int64(o.Fan)
	r.steps++
	if r.out.Ticks == 0 || o.State != r.last.State || o.Fault != r.last.Fault {
		if r.out.Changed++; r.out.Changed <= maxChanges {
			r.out.Changes = append(r.out.Changes, ControllerChange{tick, o.State, o.Fault})
		}
	}
	r.out.Ticks++
	r.last = *o
}

// close ends a row.
func (r *runner) close() {
	if r.steps == 0 {
		return
	}
	share := 1 / float64(controller.One*r.steps)
	r.out.At = append(r.out.At, r.now)
	r.out.Fan = append(r.out.Fan, share*float64(r.fan))
	r.out.State = append(r.out.State, int(r.last.State))
	for i := range r.out.Channels {
		r.out.Duty[i] = append(r.out.Duty[i], share*float64(r.sums[i]))
	}
	r.sums, r.fan, r.steps = [controller.MaxChannels]int64{}, 0, 0
}

// SimulateDay runs the core over a local date, and SimulateYear over a year, at typical ambient: the thermistor follows
// the lamp along its reference day, the fan turns at its rated speed.
func (p *ControllerPlan) SimulateDay(ctx context.Context, date int) (*ControllerRun, error) {
	clock := p.eval.Day.Programme.Clock
	from, to := clock.DayStart(date), clock.DayStart(date+1)
	r := &runner{rowOf: func(tick int64) float64 { return float64(tick/600+1) / 60 }}
	r.out.Title = "Controller on " + day.FormatDate(date)
	r.out.Along, r.out.Every = "time since local midnight, h", 60
	return p.simulate(ctx, r, from, to)
}

// SimulateYear runs the core over a year of the local calendar; rows are days.
func (p *ControllerPlan) SimulateYear(ctx context.Context, year int) (*ControllerRun, error) {
	clock := p.eval.Day.Programme.Clock
	first := day.Date(year, 1, 1)
	from, to := clock.DayStart(first), clock.DayStart(day.Date(year+1, 1, 1))
	r := &runner{rowOf: func(tick int64) float64 {
		date, _ := clock.Local(from + tick/10)
		return float64(date - first + 1)
	}}
	r.out.Title = fmt.Sprintf("Controller in %d", year)
	r.out.Along, r.out.Every = "day of the year", 30
	return p.simulate(ctx, r, from, to)
}

func (p *ControllerPlan) simulate(ctx context.Context, r *runner, from, to int64) (*ControllerRun, error) {
	if from < p.Config.MinUTC || to > p.untilUTC+day.DayS {
		return nil, fmt.Errorf("this time is outside the zone table, from %s to %s; set --year",
			day.FormatUTC(p.Config.MinUTC+day.DayS), day.FormatUTC(p.untilUTC))
	}
	image, err := p.Config.Image()
	if err != nil {
		return nil, fmt.Errorf("configuration of the controller: %w", err)
	}
	codes := p.dayCodes()
	for _, ch := range p.eval.Lamp.Channels {
		r.out.Channels = append(r.out.Channels, ch.Name)
	}
	r.out.Duty = make([][]float64, len(r.out.Channels))
	clock := p.eval.Day.Programme.Clock
	in := controller.Inputs{RTCOK: true, VinMV: uint16(p.Config.VinOKMV)}
	perTick := p.pulsesPer10000()
	var turned int64
	inputs := func(tick int64) controller.Inputs {
		if tick%10 == 0 {
			utc := from + tick/10
			_, second := clock.Local(utc)
			in.UTC, in.ADC = uint32(utc), codes[second/60]
		}
		turned += perTick
		in.NowMS, in.Tach = uint32(controller.TickMS*tick), uint16(turned/10000)
		return in
	}
	if err := controller.Simulate(ctx, controller.New(image, 0), 10*(to-from), inputs, r.see); err != nil {
		return nil, err
	}
	r.close()
	return &r.out, nil
}

// pulsesPer10000 returns the pulses of the fan in 10 000 steps, two a revolution.
func (p *ControllerPlan) pulsesPer10000() int64 {
	if p.eval.Lamp.Fan == nil {
		return 0
	}
	return int64(2 * p.eval.Lamp.Fan.Speed.SI * 10000 * controller.TickMS / 1000)
}

// dayCodes returns the code of the thermistor at each minute of the reference day, typical ambient.
func (p *ControllerPlan) dayCodes() []uint16 {
	c := p.eval.Day.Hours.Course
	out, k := make([]uint16, 24*60), 0
	for m := range out {
		second := 60 * float64(m)
		for k+1 < len(c.TimesS)-1 && c.TimesS[k+1] <= second {
			k++
		}
		u := (second - c.TimesS[k]) / (c.TimesS[k+1] - c.TimesS[k])
		kelvin := c.SensorK[k] + u*(c.SensorK[k+1]-c.SensorK[k])
		out[m] = uint16(max(p.Config.ADCShort+1, min(p.Config.ADCOpen-1, p.sensor.at(kelvin))))
	}
	return out
}

// RunTrace runs a trace of inputs; rows are 100 steps and instants, not means.
func RunTrace(ctx context.Context, title string, t controller.Trace) (*ControllerRun, error) {
	s, err := t.Run(ctx)
	if err != nil {
		return nil, err
	}
	out := &ControllerRun{
		Title: title, Along: "time, s", Every: max(1, len(s.Rows)/24), Ticks: t.Ticks,
		Changed: len(s.StateChanges), CRC32: fmt.Sprintf("%08x", s.CRC32),
	}
	for i := range min(len(t.Config.Channels), controller.MaxChannels) {
		out.Channels = append(out.Channels, fmt.Sprintf("channel %d", i))
	}
	out.Duty = make([][]float64, len(out.Channels))
	for _, c := range s.StateChanges[:min(len(s.StateChanges), maxChanges)] {
		out.Changes = append(out.Changes, ControllerChange{c[0], controller.State(c[1]), controller.Fault(c[2])})
	}
	for _, row := range s.Rows {
		out.At = append(out.At, float64(row[0])/10)
		out.State = append(out.State, int(row[1]))
		out.Fan = append(out.Fan, float64(row[3])/controller.One)
		for i := range out.Channels {
			out.Duty[i] = append(out.Duty[i], float64(row[4+i])/controller.One)
		}
	}
	return out, nil
}
