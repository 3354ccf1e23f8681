package review

import (
	"fmt"
	"math"

	"lampwright/internal/engine"
	"lampwright/internal/finding"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
	"lampwright/internal/study"
)

// sensorJudgement returns a judgement of the sensor.
func (v *reviewer) sensorJudgement(s finding.Severity) Judgement {
	return Judgement{Severity: s, Subject: Subject{"sensor", []string{v.d.Sensor.Part.S}}, At: v.d.Sensor.At.At}
}

// foldbackSettles reports the light level at which foldback settles in the worst case.
func (v *reviewer) foldbackSettles() []Judgement {
	level, junctionK, law, ok := study.FoldbackSteadyState(v.r)
	if !ok || level >= 0.995 {
		return nil
	}
	j := v.sensorJudgement(finding.Note)
	j.text = func(v *reviewer, _ *Judgement) Text {
		when := "maximum ambient"
		if v.l.Fan != nil {
			when = "fan failure at maximum ambient"
		}
		light := quantity.Format(level, quantity.Ratio)
		return Text{
			Value: light,
			Title: fmt.Sprintf("Foldback (%s at the sensor) settles at %s light, T_j %s (%s)",
				foldbackRange(law.StartK, law.EndK), light, quantity.Format(junctionK, quantity.Temperature), when),
			Why: "The sensor measures the board, not the junction. `lampwright foldback` prints the table and " +
				"simulates the loop.",
		}
	}
	return []Judgement{j}
}

// foldbackActive looks for foldback at typical ambient.
func (v *reviewer) foldbackActive() []Judgement {
	_, _, law, ok := study.FoldbackSteadyState(v.r)
	if !ok || v.runsAway(v.worstCase()) && !v.d.Sensor.FoldbackStart.Set {
		return nil // a computed foldback curve comes from the worst case
	}
	typical := v.r.Value("sensor.temperature")
	if typical <= law.StartK {
		return nil
	}
	j := v.sensorJudgement(finding.Warn)
	j.Figure = "sensor.temperature"
	j.Bound, j.Dim, j.Value, j.P90, j.Limit = AtMost, quantity.Temperature, typical, typical, law.StartK
	j.text = func(v *reviewer, j *Judgement) Text {
		value, start := formatApart(j.Value, j.Limit, quantity.Temperature)
		t := Text{
			Title: fmt.Sprintf("Foldback is active at typical ambient: sensor %s, start %s", value, start),
			Why:   "The predicted light is never sustained.",
		}
		if v.d.Sensor.FoldbackStart.Set {
			t.fixf("Set `foldback_start` > %s if T_j allows", value)
		} else {
			t.fix("Raise the junction limit: foldback then starts later")
		}
		t.fixf("Improve cooling: sensor < %s", start)
		return t
	}
	return []Judgement{j}
}

func foldbackRange(startK, endK float64) string {
	return quantity.Format(startK, quantity.Temperature) + " to " + quantity.Format(endK, quantity.Temperature)
}

// requiredFollow is the part of the hottest solder point's rise that a sensor should show: a choice of this program
// (no source).
const requiredFollow = 1.0 / 3

// sensorPosition compares what the sensor shows of the hottest solder point's rise with what it should show.
func (v *reviewer) sensorPosition() []Judgement {
	if v.d.Sensor == nil {
		return nil
	}
	out := v.sensorCovered()
	_, hot, ok := engine.SensorFollow(&v.r.Sol)
	if !ok {
		return out
	}
	j := v.sensorJudgement(finding.Pass)
	j.Bound, j.Limit, j.text = AtLeast, requiredFollow, sensorText(hot)
	j = v.figureJudgement("sensor.follow", j)
	return append(out, compare(finding.Warn, j))
}

// sensorCovered looks for a lens or package over the sensor.
func (v *reviewer) sensorCovered() (out []Judgement) {
	at := v.d.Sensor.At
	for i := range v.r.Emitters {
		e := &v.r.Emitters[i]
		distance := math.Hypot(at.X.SI-e.XM, at.Y.SI-e.YM)
		j := v.sensorJudgement(finding.Pass)
		j.Bound, j.Dim, j.Value, j.P90, j.Limit = AtLeast, quantity.Length, distance, distance, v.l.CoverM(i)
		if j = compare(finding.Stop, j); j.Severity == finding.Pass {
			continue
		}
		what, half := "package", math.Hypot(e.BodyLM, e.BodyWM)/2
		if distance >= half && e.LensM > 0 {
			what, j.Severity = "lens", finding.Warn
		}
		j.text = func(v *reviewer, j *Judgement) Text {
			value, limit := formatApart(j.Value, j.Limit, quantity.Length)
			t := Text{
				Title: fmt.Sprintf("Sensor is beneath the %s of %s: %s from its centre, covered to %s", what, e.Label,
					value, limit),
				Why: "There is no room for it, and light heats it: it does not measure the board.",
			}
			v.moveToWarmest(&t, 0)
			if len(t.Fix) == 0 {
				t.fixf("Move it ≥ %s from the centre of %s", quantity.Format(v.keepOutM(i), quantity.Length), e.Label)
			}
			return t
		}
		out = append(out, j)
	}
	return out
}

func sensorText(hot int) func(*reviewer, *Judgement) Text {
	return func(v *reviewer, j *Judgement) Text {
		e := &v.r.Emitters[hot]
		value, limit := formatApart(j.Value, j.Limit, quantity.Ratio)
		t := Text{
			Title: fmt.Sprintf("Sensor follows %s of the rise at the hottest solder point (%s); %s required", value,
				e.Label, limit),
			Why: "It mostly reads ambient; foldback acts late. One third is a choice of this program (no source).",
		}
		if j.Severity == finding.Pass {
			t.Title = fmt.Sprintf("Sensor follows %s of the rise at the hottest solder point (%s), meets "+
				"required %s", value, e.Label, limit)
			t.Why = "The less it follows, the later foldback acts. One third is a choice of this program (no source)."
			return t
		}
		v.moveSensor(&t, hot)
		return t
	}
}

// moveToWarmest adds the move of the sensor to the warmest free position on the board, if it has at least a rise there
// [K]. It returns that position; false where none is free.
func (v *reviewer) moveToWarmest(t *Text, leastK float64) (best engine.Place, ok bool) {
	best, ok, err := v.r.Sys.WarmestPlace(&v.r.Sol)
	if err != nil || !ok {
		return best, false // a position that is not known is not suggested
	}
	if best.TempK-v.r.Cases[0].AirK >= leastK {
		x, y := fmt.Sprintf("%g mm", 1e3*best.XM), fmt.Sprintf("%g mm", 1e3*best.YM)
		t.edit("move the sensor to x "+x+", y "+y,
			source.Setting{Path: v.d.Sensor.At.X.At.Path, Text: x},
			source.Setting{Path: v.d.Sensor.At.Y.At.Path, Text: y})
		t.fixf("Move the sensor to x %s, y %s (%s)", x, y, quantity.Format(best.TempK, quantity.Temperature))
	}
	return best, true
}

// moveSensor adds where the sensor follows the hottest solder point well enough.
func (v *reviewer) moveSensor(t *Text, hot int) {
	c := &v.r.Cases[0]
	rise := c.SolderK[hot] - c.AirK
	best, free := v.moveToWarmest(t, 1.05*requiredFollow*rise)
	if near, around := v.warmAround(hot, requiredFollow*rise*1.1); around && near > v.keepOutM(hot) {
		t.fixf("Keep it within %s of %s", quantity.Format(math.Floor(near*1e3)/1e3, quantity.Length),
			v.r.Emitters[hot].Label)
	}
	switch {
	case len(t.Fix) > 0:
	case !free:
		t.fix("No free position on the board: mount it on the heat sink and lower `foldback_start`")
	default:
		t.fixf("No free position on the board follows 33 %%: mount it beside %s, at x %g mm, y %g mm (%s), and lower "+
			"`foldback_start`", v.nearestTo(best.XM, best.YM), 1e3*best.XM, 1e3*best.YM,
			quantity.Format((best.TempK-c.AirK)/rise, quantity.Ratio))
	}
}

// keepOutM returns the distance that a sensor must have from the centre of an emitter [m].
func (v *reviewer) keepOutM(emitter int) float64 { return v.l.CoverM(emitter) + engine.SensorRoomM }

// nearestTo names the emitter that is nearest to a position.
func (v *reviewer) nearestTo(x, y float64) string {
	best, name := math.Inf(1), ""
	for i := range v.r.Emitters {
		if d := math.Hypot(x-v.r.Emitters[i].XM, y-v.r.Emitters[i].YM); d < best {
			best, name = d, v.r.Emitters[i].Label
		}
	}
	return name
}

// warmAround returns the radius around an emitter within which the board is warmer than the air by a rise everywhere
// [m].
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
