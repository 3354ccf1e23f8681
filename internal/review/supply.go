package review

import (
	"fmt"
	"math"

	"lampwright/internal/curve"
	"lampwright/internal/design"
	"lampwright/internal/finding"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
	"lampwright/internal/wiring"
)

// warmRoomK is the room from which a supply's derating is asked for: common practice, no source, has it give all of its power
// up to 40 °C or 50 °C.
const warmRoomK = 313.15

// supplyDerating holds each supply's load against what its sheet allows on the hottest day.
func (v *reviewer) supplyDerating() {
	hot := v.d.Place.Room.Hottest.SI
	for j, use := range v.d.Supplies {
		part := v.l.Project.Shelf.Supplies.Get(use.Part.S)
		subject := "supply " + part.ID.S
		const why = "A supply rids itself of its own heat into the air about it, and gives less where that is warm. Here it is taken to stand in the room: in a hood, or above the lamp, its air is warmer still."
		if !part.Derating.Set {
			if hot >= warmRoomK-1e-9 {
				v.add(finding.Finding{
					Severity: finding.Ask, Check: "supply-derating", Subject: subject, At: part.ID.At, Why: why,
					Title: fmt.Sprintf("the sheet of supply %s does not say what it gives at %s", part.ID.S, quantity.Format(hot, quantity.Temperature)),
					Mend:  "ask its maker for power_over_air; most give all of it up to 40 °C or 50 °C (common practice, no source)",
				})
			}
			continue
		}
		key := fmt.Sprintf("supply%d.peak", j+1)
		v.judge(bound{
			check: "supply-derating", subject: subject, figure: key, value: v.r.Value(key), p90: v.r.Value(key), limit: part.Power.SI * curve.Held(part.Derating.X, part.Derating.Y, hot), dim: quantity.Power, fail: finding.Stop,
			what: fmt.Sprintf("load of supply %s with every channel on", part.ID.S), limitIs: fmt.Sprintf("what it gives at %s", quantity.Format(hot, quantity.Temperature)), why: why, at: use.Part.At,
			mend: func() string {
				return fmt.Sprintf("take one of %s or more that derates alike, or stand it where it is cooler", quantity.Format(math.Ceil(v.r.Value(key)/curve.Held(part.Derating.X, part.Derating.Y, hot)/5-1e-9)*5, quantity.Power))
			},
		})
	}
}

// liveV returns the greatest voltage that a channel's circuit can have [V]: the supply's, or that of a driver with its string
// open.
func (v *reviewer) liveV(c *design.Channel) float64 {
	live, drv := 0.0, c.Driver
	switch {
	case drv.OpenCircuit.Set:
		live = drv.OpenCircuit.SI
	case c.Supply < 0 || drv.Kind.S == "step-up":
		live = drv.OutputMax.SI // with no string on it, it rises at least that far
	}
	if c.Supply >= 0 {
		live = math.Max(live, v.l.Project.Shelf.Supplies.Get(v.d.Supplies[c.Supply].Part.S).Voltage.Hi)
	}
	return live
}

// touchVoltage holds the voltage of each channel against what may be touched bare.
func (v *reviewer) touchVoltage() {
	bound := func(p wiring.Place) wiring.Requirement {
		r, err := wiring.TouchVoltage(p, false)
		if err != nil {
			panic("review: " + err.Error())
		}
		return r
	}
	extraLow, dry, wet := bound(wiring.ExtraLow), bound(wiring.Dry), bound(wiring.Wet)
	overWater := v.d.Place.Water.SI > 0
	// Channels of one voltage have one thing to say.
	var order []float64
	same := map[float64][]*design.Channel{}
	for i := range v.l.Channels {
		c := &v.l.Channels[i]
		live := v.liveV(c)
		if len(same[live]) == 0 {
			order = append(order, live)
		}
		same[live] = append(same[live], c)
	}
	for _, live := range order {
		c := same[live][0]
		subject, reach := "channel "+c.Name, fmt.Sprintf("the circuit of channel %s reaches", c.Name)
		if len(same[live]) > 1 {
			var names []string
			for _, c := range same[live] {
				names = append(names, c.Name)
			}
			subject, reach = "channels "+list(names), fmt.Sprintf("the circuits of channels %s reach", list(names))
		}
		f := finding.Finding{
			Check: "touch-voltage", Subject: subject, At: c.Use.Driver.At, Value: quantity.Format(live, quantity.Voltage), Limit: "at most " + quantity.Format(dry.Value, quantity.Voltage),
			Margin: marginText(dry.Value-live, quantity.Voltage), Severity: finding.Pass,
			Title: fmt.Sprintf("%s %s", reach, quantity.Format(live, quantity.Voltage)),
			Why:   fmt.Sprintf("Solder joints, terminals and pads of a lamp are bare. Up to %.0f V DC they may be in a dry place, and up to %.0f V DC where wet hands or hands in the tank reach them, if the source is SELV; above %.0f V DC it is no extra-low voltage at all (IEC 60364-4-41, from memory; IEC 60364-7-702). The voltage with the string open counts. Local codes go before.", dry.Value, wet.Value, extraLow.Value),
		}
		fewer := ""
		if each := v.r.Value(c.Name+".voltage-cold") / float64(len(c.Emitters)/c.Strings); v.r.Value(c.Name+".voltage-cold") > dry.Value && dry.Value >= each {
			fewer = fmt.Sprintf("; that is %.0f such emitters in a string", math.Floor(dry.Value/each))
		}
		f.Mend = fmt.Sprintf("take shorter strings, and a driver that stays below %.0f V with its string open%s; or cover every bare part with insulation made for the voltage", dry.Value, fewer)
		switch {
		case live > extraLow.Value*(1+1e-9):
			f.Severity = finding.Stop
			f.Title += fmt.Sprintf(", above the %.0f V DC of extra-low voltage", extraLow.Value)
		case live > dry.Value*(1+1e-9):
			f.Severity = finding.Warn
			f.Title += fmt.Sprintf("; bare parts may be touched up to %.0f V DC", dry.Value)
		case overWater && live > wet.Value*(1+1e-9):
			f.Severity = finding.Note
			f.Title += fmt.Sprintf("; where wet hands reach bare parts %.0f V DC are the bound", wet.Value)
			f.Mend = "cover bare joints, and keep driver and terminals where no hand in the tank and no splash reaches them"
		default:
			f.Mend = ""
		}
		v.add(f)
	}
}

// seesShare is the share of the hottest solder point's rise that a sensor should see to stand for it: a choice of this
// program, no source.
const seesShare = 1.0 / 3

// sensorPlace looks whether the sensor sees the emitters or the room.
func (v *reviewer) sensorPlace() {
	if v.d.Sensor == nil {
		return
	}
	c := &v.r.Cases[0]
	hot := 0
	for i, k := range c.SolderK {
		if k > c.SolderK[hot] {
			hot = i
		}
	}
	rise := c.SolderK[hot] - c.AirK
	if rise < 1 {
		return
	}
	e := &v.r.Emitters[hot]
	share := (c.SensorK - c.AirK) / rise
	far := math.Hypot(v.d.Sensor.At.X.SI-e.XM, v.d.Sensor.At.Y.SI-e.YM)
	value, limit := quantity.Format(share, quantity.Ratio), quantity.Format(seesShare, quantity.Ratio)
	f := finding.Finding{
		Severity: finding.Pass, Check: "sensor-place", Subject: "sensor " + v.d.Sensor.Part.S, Figure: "sensor.temperature", At: v.d.Sensor.At.At, Value: value, Limit: "at least " + limit, Margin: marginText(share-seesShare, quantity.Ratio),
		Title: fmt.Sprintf("the sensor, %s from %s, sees %s of its solder point's rise over the air", quantity.Format(far, quantity.Length), e.Label, value),
		Why:   "The less of the rise a sensor sees, the more its reading is that of the room: a loose screw or dried paste at the emitters hardly shows in it, and foldback comes late, or cuts the light on a warm day. A third is what this program asks for; no source.",
	}
	if share < seesShare*(1-1e-9) {
		f.Severity = finding.Warn
		near, around := v.warmAround(hot, seesShare*rise*1.1)
		x, y, most := v.warmestFreeSpot()
		sees := math.Max(0, most-c.AirK) / rise // 0 where no place is free
		if sees >= 1.05*seesShare {
			xText, yText := fmt.Sprintf("%g mm", 1e3*x), fmt.Sprintf("%g mm", 1e3*y)
			v.offer(fmt.Sprintf("put the sensor at %s, %s", xText, yText), source.Setting{Path: v.d.Sensor.At.X.At.Path, Text: xText}, source.Setting{Path: v.d.Sensor.At.Y.At.Path, Text: yText})
			f.Mend = fmt.Sprintf("put it at %s, %s, where it sees %s", xText, yText, quantity.Format(sees, quantity.Ratio))
		}
		switch {
		case around && near > v.keepOutM(hot):
			f.Mend = fmt.Sprintf("put it within %s of %s", quantity.Format(math.Floor(near*1e3)/1e3, quantity.Length), e.Label)
		case f.Mend == "" && most == 0:
			f.Mend = "no place on the board is free of emitters and lenses; put it on the sink beside the board, and let the law of the controller begin that much lower"
		case f.Mend == "":
			f.Mend = fmt.Sprintf("no free place on the board sees a third: beside %s it is %s at the most; put it there, and let the law of the controller begin that much lower", v.nearestTo(x, y), quantity.Format(sees, quantity.Ratio))
		}
	}
	v.add(f)
}

// sensorRoomM is what a sensor needs beside a lens: common practice, no source.
const sensorRoomM = 2e-3

// keepOutM returns how far from the middle of an emitter a sensor has to stay [m].
func (v *reviewer) keepOutM(emitter int) float64 {
	e := &v.r.Emitters[emitter]
	return math.Max(e.LensM, math.Hypot(e.BodyLM, e.BodyWM))/2 + sensorRoomM
}

// warmestFreeSpot returns the warmest place of the board that no lens or emitter covers, on a usual day, to half a millimetre.
func (v *reviewer) warmestFreeSpot() (x, y, tempK float64) {
	b := &v.r.BoardHeat
	for i, k := range b.TempK {
		if k <= tempK {
			continue
		}
		cx := math.Round(2e3*(b.X0M+float64(i%b.NX)*b.StepM)) / 2e3
		cy := math.Round(2e3*(b.Y0M+float64(i/b.NX)*b.StepM)) / 2e3
		free := v.d.Board.HoldsDisc(cx, cy, sensorRoomM)
		for j := range v.r.Emitters {
			free = free && math.Hypot(cx-v.r.Emitters[j].XM, cy-v.r.Emitters[j].YM) >= v.keepOutM(j)
		}
		if free {
			x, y, tempK = cx, cy, k
		}
	}
	return x, y, tempK
}

// nearestTo names the emitter that is nearest to a place.
func (v *reviewer) nearestTo(x, y float64) string {
	best, name := math.Inf(1), ""
	for i := range v.r.Emitters {
		if d := math.Hypot(x-v.r.Emitters[i].XM, y-v.r.Emitters[i].YM); d < best {
			best, name = d, v.r.Emitters[i].Label
		}
	}
	return name
}

// warmAround returns how far around an emitter the board is warmer than the air by so many kelvin everywhere [m].
func (v *reviewer) warmAround(emitter int, riseK float64) (m float64, ok bool) {
	b := &v.r.BoardHeat
	e := &v.r.Emitters[emitter]
	m = math.Inf(1)
	for i, k := range b.TempK {
		if k == 0 || k-v.r.Cases[0].AirK >= riseK {
			continue
		}
		x, y := b.X0M+float64(i%b.NX)*b.StepM, b.Y0M+float64(i/b.NX)*b.StepM
		m = math.Min(m, math.Hypot(x-e.XM, y-e.YM)-b.StepM)
	}
	return m, m >= 3e-3 && !math.IsInf(m, 1)
}
