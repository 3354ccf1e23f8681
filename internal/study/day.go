package study

import (
	"context"
	"fmt"
	"math"
	"slices"

	"lampwright/internal/colour"
	"lampwright/internal/day"
	"lampwright/internal/engine"
	"lampwright/internal/figure"
)

// Day is a lamp over one day of its programme, from midnight to midnight of the local clock. Lists are by time.
type Day struct {
	Date      string       `json:"date"` // empty for the reference day; see lamp.Reference
	Case      string       `json:"case"` // title
	TimesS    []float64    `json:"times_s"`
	Channels  []DayChannel `json:"channels"`
	PPFD      []float64    `json:"ppfd_umol_m2_s"` // mean at the target
	DLI       []float64    `json:"dli_mol_m2"`     // since midnight
	MainsW    []float64    `json:"mains_w"`
	SinkK     []float64    `json:"sink_k"`
	JunctionK []float64    `json:"junction_k"` // maximum
	SensorK   []float64    `json:"sensor_k"`   // null without a sensor
	CCTK      []float64    `json:"cct_k"`      // 0 where the light has none
	Duv       []float64    `json:"duv"`
	Supplies  [][]float64  `json:"supply_w"` // [supply]: load with all channels on at once
	Colours   []string     `json:"colours"`  // of the light on a screen beside daylight, #rrggbb
	Sums      DaySums      `json:"sums"`
	Notes     []string     `json:"notes"`
}

// DayChannel is one channel over the day.
type DayChannel struct {
	Name    string    `json:"name"`
	Levels  []float64 `json:"levels"` // 0 to 1
	PPFD    []float64 `json:"ppfd_umol_m2_s"`
	SolderK []float64 `json:"solder_k"` // maximum solder point
}

// DaySums are the sums and extremes of a day.
type DaySums struct {
	DLI          float64 `json:"dli_mol_m2"`
	EnergyKWh    float64 `json:"energy_kwh"`
	Cost         float64 `json:"cost"` // [EUR]; 0 without a tariff
	LitH         float64 `json:"lit_h"`
	PhotoperiodH float64 `json:"photoperiod_h"` // above half of the maximum PPFD
	BandH        float64 `json:"band_h"`        // within the required PPFD
	AboveH       float64 `json:"above_h"`       // above the PPFD that is asked for
	MaxPPFD      float64 `json:"max_ppfd_umol_m2_s"`
	MaxMainsW    float64 `json:"max_mains_w"`
	MaxJunction  float64 `json:"max_junction_k"`
	MaxSinkK     float64 `json:"max_sink_k"`
	MinCCTK      float64 `json:"min_cct_k"` // while bright; 0 where the light has none
	MaxCCTK      float64 `json:"max_cct_k"`
}

// DayRequest is which day is asked for.
type DayRequest struct {
	Date  string         // year-month-day; empty for the reference day; see lamp.Reference
	Case  engine.CaseKey // typical where it is empty
	StepS float64        // longest interval; 0 is one minute
	Above float64        // PPFD whose hours are asked for [µmol/m²/s]
}

// minuteS is the interval of a day where none is asked for [s].
const minuteS = 60

// DayOf returns the lamp over a day of its programme. It is an error where the design states none, where the lamp
// cannot run it, or where the date is no date.
func DayOf(ctx context.Context, r *figure.Evaluation, q DayRequest) (*Day, error) {
	p, err := programmeOf(r)
	if err != nil {
		return nil, err
	}
	in := engine.DayInput{Programme: r.Day.Reference, Case: q.Case, Params: r.Base, StepS: q.StepS}
	if q.Date != "" {
		if in.Date, err = day.ParseDate(q.Date); err != nil {
			return nil, err
		}
		in.Programme = p
	}
	if in.StepS == 0 {
		in.StepS = minuteS
	}
	c, err := r.Sys.DayCourse(ctx, in)
	if err != nil {
		return nil, fmt.Errorf("day of the lamp: %w", err)
	}
	title := q.Case
	if title == "" {
		title = engine.Typical
	}
	out := &Day{
		Date: q.Date, Case: title.Title(), TimesS: c.TimesS,
		PPFD: c.PPFD, MainsW: c.MainsW, SinkK: c.SinkK, JunctionK: c.JunctionK,
		SensorK:  c.SensorK,
		Supplies: c.SupplyW, CCTK: c.CCTK, Duv: c.Duv, Colours: coloursOf(c.XYZ), DLI: make([]float64, len(c.TimesS)),
	}
	for k := 1; k < len(c.TimesS); k++ {
		out.DLI[k] = out.DLI[k-1] + 1e-6*(c.TimesS[k]-c.TimesS[k-1])*(c.PPFD[k]+c.PPFD[k-1])/2
	}
	for i := range r.Lamp.Channels {
		ch := DayChannel{Name: r.Lamp.Channels[i].Name, PPFD: c.ChannelPPFD[i], SolderK: c.ChannelK[i]}
		for k := range c.TimesS {
			ch.Levels = append(ch.Levels, c.Levels[k][i])
		}
		out.Channels = append(out.Channels, ch)
	}
	if !c.Lagging {
		const steady = "mass and geometry of heat sink %q not stated: each time is a steady state"
		out.Notes = append(out.Notes, fmt.Sprintf(steady,
			r.Lamp.Sink.ID.S))
	}
	if hours := p.Clock.DayHours(in.Date); q.Date != "" && hours != 24 {
		const changes = "the clock changes on this date, which has %g h; lists and sums are those of a day of 24 h; " +
			"`day --year` counts every hour"
		out.Notes = append(out.Notes, fmt.Sprintf(changes, hours))
	}
	out.Sums.AboveH = c.HoursAbove(c.PPFD, q.Above)
	return out, out.sum(r, c)
}

// programmeOf returns the programme of a lamp that runs it.
func programmeOf(r *figure.Evaluation) (*day.Programme, error) {
	switch {
	case r.Day == nil:
		return nil, fmt.Errorf("the design states no daily programme; add `day: {full_level_time: 8 h}` or keyframes")
	case r.Day.Err != nil:
		return nil, r.Day.Err
	}
	return r.Day.Programme, nil
}

// sum fills the sums of the day.
func (d *Day) sum(r *figure.Evaluation, c *engine.DayCourse) error {
	s := &d.Sums
	s.DLI, s.EnergyKWh = d.DLI[len(d.DLI)-1], c.Integral(c.MainsW)/3.6e6
	s.MaxPPFD, s.MaxMainsW = slices.Max(c.PPFD), slices.Max(c.MainsW)
	s.MaxJunction, s.MaxSinkK = slices.Max(c.JunctionK), slices.Max(c.SinkK)
	s.LitH, s.PhotoperiodH = c.HoursAbove(c.PPFD, engine.LitPPFD), c.HoursAbove(c.PPFD, s.MaxPPFD/2)
	s.MinCCTK, s.MaxCCTK = c.CCTAbove(s.MaxPPFD / 2)
	if w := r.Lamp.Design.Requirements.PPFD; w.Set {
		s.BandH = c.HoursAbove(c.PPFD, w.Lo)
		if w.Hi > w.Lo {
			s.BandH -= c.HoursAbove(c.PPFD, w.Hi)
		}
	}
	tariff, ok := r.Lamp.Tariff()
	if !ok {
		return nil
	}
	bill, err := c.Bill(tariff)
	s.Cost = bill.Cost
	return err
}

// brightY is the luminance on a screen of the brightest light of a day, below which few whites are clipped.
const brightY = 0.75

// coloursOf returns the colours of the light on a screen beside daylight D65; luminance is relative to the brightest.
func coloursOf(light []colour.XYZ) []string {
	most := 0.0
	for _, c := range light {
		most = math.Max(most, c.Y)
	}
	out := make([]string, len(light))
	for k, c := range light {
		if k > 0 && c == light[k-1] {
			out[k] = out[k-1]
			continue
		}
		f := brightY / math.Max(most, 1e-300)
		out[k] = colour.SRGB(colour.XYZ{X: f * c.X, Y: f * c.Y, Z: f * c.Z}).Hex()
	}
	return out
}
