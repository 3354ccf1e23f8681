package figure

import (
	"context"
	"fmt"
	"slices"

	"lampwright/internal/day"
	"lampwright/internal/engine"
	"lampwright/internal/lamp"
	"lampwright/internal/quantity"
)

// Day is the programme of a lamp, and its hours.
type Day struct {
	Programme *day.Programme
	Reference *day.Programme // the same every day; see lamp.Reference
	Levels    lamp.LevelsFor // of keyframes by light
	Hours     *engine.DayHours
	Hottest   *engine.DayCourse // at maximum ambient; nil without a sensor or a steady state
	Tariff    float64           // mean price of the energy of the day [EUR/kWh]; 0 where none is stated
	Err       error             // why there are no hours: a keyframe that the lamp cannot make, or thermal runaway
}

// solveDay computes the reference day; nil where the design states no programme.
func (r *Evaluation) solveDay(ctx context.Context) (*Day, error) {
	levels := r.Sys.LevelsFor(r.Base)
	p, given, err := r.Lamp.Programme(levels)
	if err != nil {
		return &Day{Levels: levels, Err: err}, nil
	}
	if !given {
		return nil, nil
	}
	out := &Day{Programme: p, Reference: lamp.Reference(p), Levels: levels}
	if out.Hours, out.Err = r.Sys.DayHours(ctx, out.Reference, &r.Sol); out.Err != nil {
		return out, ctx.Err()
	}
	if r.Sys.Board.SensorAt >= 0 {
		d, err := r.Sys.DayCourse(ctx, engine.DayInput{
			Programme: out.Reference, Case: engine.MaxAmbient, Params: r.Base, StepS: engine.ReferenceStepS,
		})
		if err == nil {
			out.Hottest = d
		}
	}
	if tariff, ok := r.Lamp.Tariff(); ok {
		out.Tariff, out.Err = meanTariff(out.Hours.Course, tariff)
	}
	return out, nil
}

// meanTariff returns the price of the energy of a day over its energy [EUR/kWh].
func meanTariff(d *engine.DayCourse, tariff day.Tariff) (float64, error) {
	bill, err := d.Bill(tariff)
	if err != nil || bill.KWh == 0 {
		return tariff[0].PerKWh, err
	}
	return bill.Cost / bill.KWh, nil
}

// hours returns the hours of the reference day; false where there are none.
func (r *Evaluation) hours() (*engine.DayHours, bool) {
	if r.Day == nil || r.Day.Hours == nil {
		return nil, false
	}
	return r.Day.Hours, true
}

// dailyLight returns the numbers of the daily light integral: the light of each channel at full level times its hours.
func (r *Evaluation) dailyLight() numbers {
	h, ok := r.hours()
	if !ok {
		return onceIf(nil)
	}
	return when(engine.Typical, engine.Emission|engine.TargetMean, func(s *engine.Solution) (float64, bool) {
		sum := h.OtherDLI
		for i, hours := range h.LightH {
			sum += s.Channels[i].TargetPPFD * hours * 3600e-6
		}
		return sum, true
	})
}

// dailyEnergyJ returns the mains energy of the reference day [J].
func dailyEnergyJ(h *engine.DayHours, s *engine.Solution) float64 {
	return 3600 * ((s.Mains.PowerW-s.Mains.StandbyW)*h.PowerH + 24*s.Mains.StandbyW + 1000*h.OtherKWh)
}

// dayFigures writes light and hours of the day.
func (w *lightWriter) dayFigures(r *Evaluation) {
	h, ok := r.hours()
	if !ok {
		return
	}
	w.row("target.dli", "Daily light integral (DLI), "+w.l.TargetName(), quantity.DLI, r.dailyLight(), func() Basis {
		numbers := ""
		inputs := []Input{w.ref("E", "target.ppfd", quantity.PPFD)}
		for i, hours := range h.LightH {
			name := w.l.Channels[i].Name
			if numbers != "" {
				numbers += " + "
			}
			ppfd := quantity.Format(r.Sol.Channels[i].TargetPPFD, quantity.PPFD)
			numbers += fmt.Sprintf("%s · %s h", ppfd, num(hours))
			inputs = append(inputs, Input{
				Name: "h of " + name, Value: num(hours) + " h", Source: "the programme, solved along the day",
			})
		}
		return Basis{
			Formula: "DLI = Σ E_c h_c · 3600 s/h · 10⁻⁶",
			Numbers: fmt.Sprintf("(%s) · 3600 · 10⁻⁶ = %s", numbers, w.text("target.dli", quantity.DLI)),
			Inputs:  inputs,
			Method: "definition of the daily light integral; h_c is the light of channel c over the day, solved with " +
				"the temperatures along it (Hochbruck2010, §2.3), over that at full level",
			Valid: "typical ambient; a day after acclimation, of mean clouds, sun and moon; with light in proportion " +
				"to level " +
				quantity.Format(h.SteadyDLI+h.OtherDLI, quantity.DLI),
		}
	})
	w.row("programme.photoperiod", "Photoperiod", quantity.Time, once(3600*h.HalfH), func() Basis {
		return Basis{
			Formula: "time with more than half of the maximum PPFD of the day",
			Numbers: fmt.Sprintf("above %s = %s h", quantity.Format(h.MaxPPFD/2, quantity.PPFD), num(h.HalfH)),
			Inputs:  []Input{{Name: "programme", Value: fmt.Sprintf("%d points", h.Points), Source: theDesign}},
			Method:  "convention of this program: ramps count from half of the light",
			Valid:   "a day after acclimation, of mean clouds, sun and moon",
		}
	})
	w.brightColours(h)
	w.row("programme.dark", "Longest darkness", quantity.Time, once(3600*h.DarkH), func() Basis {
		return Basis{
			Formula: "longest time with a PPFD of at most " + quantity.Format(engine.LitPPFD, quantity.PPFD),
			Numbers: num(h.DarkH) + " h",
			Method:  "convention of this program: about the light of a full moon, 0.2 lx to 0.3 lx",
			Inputs:  []Input{{Name: "programme", Value: fmt.Sprintf("%d points", h.Points), Source: theDesign}},
			Valid:   "light of the lamp alone",
		}
	})
}

// brightColours writes the range of the CCT while the light is bright.
func (w *lightWriter) brightColours(h *engine.DayHours) {
	if h.MinCCTK == 0 {
		return
	}
	for _, x := range []struct {
		key, title string
		k          float64
	}{
		{"programme.cct-min", "Minimum CCT of the bright day", h.MinCCTK},
		{"programme.cct-max", "Maximum CCT of the bright day", h.MaxCCTK},
	} {
		w.row(x.key, x.title, quantity.CCT, once(x.k), func() Basis {
			return Basis{
				Formula: "extreme of the CCT while the PPFD is above half of its maximum",
				Numbers: fmt.Sprintf("above %s = %s", quantity.Format(h.MaxPPFD/2, quantity.PPFD),
					w.text(x.key, quantity.CCT)),
				Inputs: []Input{{Name: "programme", Value: fmt.Sprintf("%d points", h.Points), Source: theDesign}},
				Method: "sum of the light of all channels at each time of the day",
				Valid:  "typical ambient; a day after acclimation, of mean clouds, sun and moon",
			}
		})
	}
}

// loadFigures writes the loads of the day: the sensor at maximum ambient, and supplies above their load at full level.
func (r *Evaluation) loadFigures(w *writer) {
	h, ok := r.hours()
	if !ok {
		return
	}
	inputs := []Input{{Name: "programme", Value: fmt.Sprintf("%d points", h.Points), Source: theDesign}}
	const key = "programme.sensor-max-ambient"
	if d := r.Day.Hottest; d != nil {
		const title = "Sensor temperature along the day at maximum ambient"
		w.row(key, title, quantity.Temperature, once(slices.Max(d.SensorK)),
			func() Basis {
				return Basis{
					Formula: "maximum along the day of C dT/dt = Q − q(T)", Numbers: w.text(key, quantity.Temperature),
					Inputs: inputs, Method: "course of the heat sink (Hochbruck2010, §2.3) with its heat capacity",
					Valid: "maximum ambient all day; the fan running",
				}
			})
	}
	for j, loads := range h.Course.SupplyW {
		most := slices.Max(loads)
		if most <= r.Sol.Supplies[j].PeakW*(1+1e-3) {
			continue
		}
		at := DaySupplyKey(j)
		w.row(at, fmt.Sprintf("Peak load of supply %d along the day", j+1), quantity.Power, once(most), func() Basis {
			return Basis{
				Formula: "maximum along the day, all channels on at once", Numbers: w.text(at, quantity.Power),
				Inputs: inputs, Method: "drivers' input power and wire loss at each time", Valid: "typical ambient",
			}
		})
	}
}

// yearFigures writes energy and cost of a year.
func (r *Evaluation) yearFigures(w *writer) {
	h, ok := r.hours()
	if !ok {
		return
	}
	energyJ := func(s *engine.Solution) float64 { return 365 * dailyEnergyJ(h, s) }
	energy := of(engine.Typical, powerStages, energyJ)
	w.row("mains.energy-year", "Energy per year", quantity.Energy, energy, func() Basis {
		return Basis{
			Formula: "W = 365 ((P − P_standby) h_P + P_standby · 24 h)",
			Numbers: w.text("mains.energy-year", quantity.Energy),
			Inputs: []Input{
				w.ref("P", "mains.power", quantity.Power),
				w.ref("P_standby", "mains.power-off", quantity.Power),
				{Name: "h_P", Value: num(h.PowerH) + " h", Source: "the programme, solved along the day"},
			},
			Method: "definition of energy; h_P is the energy of the day above standby over the power at full level " +
				"above it",
			Valid: "365 such days",
		}
	})
	cost := when(engine.Typical, powerStages, func(s *engine.Solution) (float64, bool) {
		return energyJ(s) / 3.6e6 * r.Day.Tariff, r.Lamp.Design.Day.Tariff.Set
	})
	w.row("cost.electricity-year", "Electricity cost per year", quantity.Money, cost, func() Basis {
		return Basis{
			Formula: "energy · tariff", Numbers: w.text("cost.electricity-year", quantity.Money),
			Inputs: []Input{
				w.ref("energy", "mains.energy-year", quantity.Energy),
				{
					Name: "tariff", Value: quantity.Format(r.Day.Tariff, quantity.Tariff), Source: theDesign,
					At: r.Lamp.Design.Day.Tariff.At,
				},
			},
			Method: "arithmetic; the tariff is the mean of its windows, weighted with the power of the day",
			Valid:  "these tariffs",
		}
	})
}
