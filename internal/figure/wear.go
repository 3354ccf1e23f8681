package figure

import (
	"fmt"
	"math"

	"lampwright/internal/engine"
	"lampwright/internal/lamp"
	"lampwright/internal/life"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

// usualCapacitorRiseK is the rise of electrolytic capacitors over the air about a supply at full load; rule of thumb
// (no source).
const usualCapacitorRiseK = 20

// ratedRippleRiseK is the rise of the core of an electrolytic capacitor at its rated ripple current; cited from memory.
const ratedRippleRiseK = 5

// wearFigures writes the life of the fan and of electrolytic capacitors.
func (r *Evaluation) wearFigures(w *writer) {
	l := r.Lamp
	st, ok := r.Sol.Cases[engine.Typical]
	if !ok {
		return
	}
	if f := l.Fan; f != nil && f.Life != nil {
		r.fanLife(w, f, st.AirK)
	}
	roomK := l.Design.Installation.Ambient.Typical.SI
	for i := range l.Design.Supplies {
		part := r.supplyPart(i)
		capacitorLife(w, SupplyKey(i, "capacitor-life"), part.CapacitorLife, roomK, supplySheet(part))
	}
	for i := range l.Channels {
		if c := &l.Channels[i]; !c.Driver.Topology().NeedsSupply() {
			capacitorLife(w, c.Name+".capacitor-life", c.Driver.CapacitorLife, roomK,
				lamp.DatasheetOf(c.Driver.Datasheet, "driver", c.Driver.ID.S))
		}
	}
}

func (r *Evaluation) fanLife(w *writer, f *project.Fan, airK float64) {
	rated := f.Life
	at := func(factor float64) float64 {
		return 3600 * life.FanLife(rated.Hours.SI/3600, rated.At.SI, airK, factor)
	}
	a, b := at(life.FanFactor), at(life.FanFactorHi)
	w.row("fan.life", "Fan life L10, typical ambient", quantity.Time, between(a, math.Min(a, b), math.Max(a, b)),
		func() Basis {
			sheet := lamp.DatasheetOf(f.Datasheet, "fan", f.ID.S)
			return Basis{
				Formula: "L10 = L10₀ · f^(−(T − T₀) / 10 K)",
				Numbers: fmt.Sprintf("%s · 1.5^(−(%s − %s) / 10 K) = %s", quantity.Format(rated.Hours.SI, quantity.Time),
					celsius(airK),
					celsius(rated.At.SI), w.text("fan.life", quantity.Time)),
				Inputs: []Input{
					given("L10₀", rated.Hours, quantity.Time, sheet), given("T₀", rated.At, quantity.Temperature, sheet),
					{Name: "f", Value: "1.5 to 2", Source: "rule of thumb (no source)"},
				},
				Method: "common practice, no source", Valid: "10 % of fans have failed at L10; dust is not counted",
			}
		})
}

func capacitorLife(w *writer, key string, c *project.RatedLife, roomK float64, sheet string) {
	if c == nil {
		return
	}
	rise, ripple, from := float64(usualCapacitorRiseK), 1.0, "assumed; rule of thumb (no source)"
	if c.Rise.Set {
		rise, from = c.Rise.SI, sheet
	}
	if c.Ripple.Set {
		ripple = c.Ripple.SI
	}
	hours := life.CapacitorLife(c.Hours.SI/3600, c.At.SI, roomK+rise) * life.RippleLife(ripple, ratedRippleRiseK)
	w.row(key, "Life of electrolytic capacitors, typical ambient", quantity.Time,
		free(3600*math.Min(hours, life.MaxCapacitorH)), func() Basis {
			return Basis{
				Formula: "L = L₀ · 2^((T₀ − T) / 10 K) · 2^(5 K · (1 − r²) / 10 K), at most 15 years",
				Numbers: fmt.Sprintf("%s · 2^((%s − %s) / 10 K), r = %s → %s", quantity.Format(c.Hours.SI,
					quantity.Time),
					celsius(c.At.SI), celsius(roomK+rise), num(ripple), w.text(key, quantity.Time)),
				Inputs: []Input{
					given("L₀", c.Hours, quantity.Time, sheet), given("T₀", c.At, quantity.Temperature, sheet),
					{
						Name: "rise in the supply", Value: quantity.Format(rise, quantity.TemperatureDifference),
						Source: from, At: c.Rise.At,
					},
				},
				Method: "common practice, no source; ripple cited from memory", Valid: "full load; 15 years by drying " +
					"of the seal",
			}
		})
}
