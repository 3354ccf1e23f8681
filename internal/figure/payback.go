package figure

import (
	"context"
	"fmt"
	"math"

	"lampwright/internal/day"
	"lampwright/internal/engine"
	"lampwright/internal/quantity"
)

// middayS is the middle of the day of a replaced lamp where the design states no programme [s after midnight]; rule of
// thumb (no source).
const middayS = 13 * 3600

// solveReplaced computes the lamp being replaced, where the design names one.
func (r *Evaluation) solveReplaced(ctx context.Context, o engine.Options) (err error) {
	if r.replaced = r.replacedLight(); r.replaced == nil {
		return nil
	}
	use := r.Lamp.Design.ReplacedLamp
	if use.Photoperiod.Set {
		r.replaced.onH = use.Photoperiod.SI / 3600
	} else if h, ok := r.hours(); ok {
		r.replaced.onH = h.HalfH
	}
	if tariff, ok := r.Lamp.Tariff(); ok && r.replaced.onH > 0 {
		r.replaced.tariff = r.replaced.meanTariff(tariff, r.middleOfDayS())
	}
	r.replaced.tube, err = r.Sys.TubeLight(ctx, r.replaced.light, o)
	return err
}

// middleOfDayS returns the time of day about which the light of the programme lies: the mean of its times as angles,
// weighted with the PPFD [s after midnight].
func (r *Evaluation) middleOfDayS() float64 {
	h, ok := r.hours()
	if !ok {
		return middayS
	}
	c := h.Course
	x, y := make([]float64, len(c.TimesS)), make([]float64, len(c.TimesS))
	for k, t := range c.TimesS {
		sin, cos := math.Sincos(2 * math.Pi * t / day.DayS)
		x[k], y[k] = c.PPFD[k]*cos, c.PPFD[k]*sin
	}
	sumX, sumY := c.Integral(x), c.Integral(y)
	if math.Hypot(sumX, sumY) < 1e-6*c.Integral(c.PPFD) {
		return middayS
	}
	return math.Mod(math.Atan2(sumY, sumX)/(2*math.Pi)+1, 1) * day.DayS
}

// meanTariff returns the mean price of energy while the replaced lamp is on, about the middle of the day [EUR/kWh].
func (o *replacedLamp) meanTariff(tariff day.Tariff, middleS float64) float64 {
	from := int64(math.Round(middleS - 1800*o.onH + day.DayS))
	course := []day.Sample{{UTC: from, PowerW: 1000}, {UTC: from + int64(math.Round(3600*o.onH)), PowerW: 1000}}
	bill, err := day.Clock{}.Cost(tariff, course)
	if err != nil || !(bill.KWh > 0) {
		return tariff[0].PerKWh
	}
	return bill.Cost / bill.KWh
}

// years writes energy, cost, saving and payback.
func (w *replacedWriter) years(r *Evaluation) {
	if w.onH == 0 {
		return
	}
	const energy, tubes, cost = "replaced.energy-year", "replaced.tubes-year", "replaced.cost-year"
	energyJ := 365 * 3600 * w.onH * w.light.PowerW
	w.row(energy, "Energy per year of "+w.name, quantity.Energy, free(energyJ), func() Basis {
		return Basis{
			Formula: "W = 365 P t", Numbers: fmt.Sprintf("365 · %s · %s h = %s",
				w.text("replaced.power", quantity.Power), num(w.onH), w.text(energy, quantity.Energy)),
			Inputs: []Input{w.ref("P", "replaced.power", quantity.Power), w.hoursInput()},
			Method: "definition of energy", Valid: "365 days; no standby power",
		}
	})
	perYear := w.tubesPerYear()
	price := w.use.Price.SI + w.use.Disposal.SI
	title := "Cost of tubes per year of " + w.name
	w.row(tubes, title, quantity.Money, onceFree(perYear*price, perYear > 0), func() Basis {
		return Basis{
			Formula: "K = N (price + disposal), N = n · 365 d / life",
			Numbers: fmt.Sprintf("%s · (%s + %s) = %s", num(perYear), quantity.Format(w.use.Price.SI, quantity.Money),
				quantity.Format(w.use.Disposal.SI, quantity.Money), w.text(tubes, quantity.Money)),
			Inputs: []Input{
				w.countInput(), given("price", w.use.Price, quantity.Money, theDesign), w.lifeInput(),
			},
			Method: "arithmetic; life is the first of rated_life and replacement_interval",
			Valid:  "these prices; no postage, no work",
		}
	})
	if !w.design.Day.Tariff.Set {
		return
	}
	costEUR := energyJ/3.6e6*w.tariff + w.values[tubes]
	w.row(cost, "Yearly cost of "+w.name, quantity.Money, free(costEUR), func() Basis {
		return Basis{
			Formula: "C = W · tariff + K",
			Numbers: fmt.Sprintf("%s · %s + %s = %s", w.text(energy, quantity.Energy),
				quantity.Format(w.tariff, quantity.Tariff), w.text(tubes, quantity.Money),
				w.text(cost, quantity.Money)),
			Inputs: []Input{
				w.ref("W", energy, quantity.Energy), w.ref("K", tubes, quantity.Money),
				{
					Name: "tariff", Value: quantity.Format(w.tariff, quantity.Tariff), Source: theDesign,
					At: w.design.Day.Tariff.At,
				},
			},
			Method: "arithmetic; the tariff is the mean of its windows while the lamp is on, about the middle of the " +
				"light of the day",
			Valid: "these tariffs; K is 0 where no life and price of a tube are stated",
		}
	})
	w.payback(r, costEUR)
}

// payback writes the yearly saving, and the time in which it pays for the parts.
func (w *replacedWriter) payback(r *Evaluation, costEUR float64) {
	h, ok := r.hours()
	if !ok {
		return
	}
	const saving, payback, parts = "replaced.saving-year", "replaced.payback", "cost.bom"
	savingEUR := func(s *engine.Solution) float64 {
		return costEUR - 365*dailyEnergyJ(h, s)/3.6e6*r.Day.Tariff
	}
	w.row(saving, "Saving per year against "+w.name, quantity.Money, of(engine.Typical, powerStages, savingEUR),
		func() Basis {
			return Basis{
				Formula: "S = C − C_LED",
				Numbers: fmt.Sprintf("%s − %s = %s", w.text("replaced.cost-year", quantity.Money),
					w.text("cost.electricity-year", quantity.Money), w.text(saving, quantity.Money)),
				Inputs: []Input{
					w.ref("C", "replaced.cost-year", quantity.Money),
					w.ref("C_LED", "cost.electricity-year", quantity.Money),
				},
				Method: "arithmetic", Valid: "the LED lamp without spare parts; below 0 the LED lamp costs more",
			}
		})
	partsEUR := w.values[parts]
	years := when(engine.Typical, powerStages, func(s *engine.Solution) (float64, bool) {
		return partsEUR / savingEUR(s), savingEUR(s) > 0 && partsEUR > 0
	})
	w.row(payback, "Payback period against "+w.name+", years", quantity.None, years, func() Basis {
		return Basis{
			Formula: "parts cost / S", Numbers: fmt.Sprintf("%s / %s a year = %s years", w.text(parts, quantity.Money),
				w.text(saving, quantity.Money), num(w.values[payback])),
			Inputs: []Input{w.ref("parts cost", parts, quantity.Money), w.ref("S", saving, quantity.Money)},
			Method: "simple payback, without interest",
			Valid:  "parts with a price only; constant tariffs; no figure where nothing is saved",
		}
	})
}

// tubesPerYear returns how many tubes are replaced in a year; 0 where no life is stated.
func (w *replacedWriter) tubesPerYear() float64 {
	hours, ok := w.lifeH()
	if !ok || !(w.use.Price.Set || w.use.Disposal.Set) {
		return 0
	}
	return float64(w.count) * 365 * w.onH / hours
}

func (w *replacedWriter) lifeInput() Input {
	hours, _ := w.lifeH()
	at := w.use.RatedLife.At
	if v := w.use.ReplacementInterval; v.Set && (!w.use.RatedLife.Set || hours < w.use.RatedLife.SI/3600) {
		at = v.At
	}
	return Input{Name: "life", Value: quantity.Format(3600*hours, quantity.Time), Source: theDesign, At: at}
}
