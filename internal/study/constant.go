package study

import (
	"math"
	"slices"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/life"
)

// ConstantLight is what it takes to keep the light of each channel constant by raising its level as its emitters age.
type ConstantLight struct {
	Possible      bool    `json:"possible"`            // every channel that is on has a level below 100 %
	Channel       string  `json:"channel"`             // the first whose level reaches 100 %
	Years         float64 `json:"years"`               // until then
	ConstantYears float64 `json:"constant_rate_years"` // the same if the rates stayed those of the new lamp
	Within        bool    `json:"within"`              // it ends within maxYears
	MeanPower     float64 `json:"mean_power"`          // of the emitters over that time, over that of the new lamp
	EndPower      float64 `json:"end_power"`           // at the end
	MoreKWhYear   float64 `json:"more_kwh_per_year"`   // mean energy of a year above that of the new lamp, with MeanPower
	StartSolderK  float64 `json:"start_solder_k"`      // maximum
	EndSolderK    float64 `json:"end_solder_k"`
}

// constantSteps is the number of steps over the time at the first rates.
const constantSteps = 80

// constantLight follows a lamp whose levels rise as its emitters age:
//
//	level_c(t) = level_c(0)/φ_c(t),  dx_e/dt = r_e(T_e),  φ_e = min(1, B_e·e^(−x_e)),  until a level is 100 %
//
// The temperatures of the parts of the day rise over the air as those at full level do. Source: derived from TM21 and
// Miner1945.
func constantLight(r *figure.Evaluation, day []engine.Exposure) ConstantLight {
	c := &constant{r: r, day: day, goal: channelLight(r, &r.Sol), start: r.Sol}
	out := ConstantLight{Possible: true, MeanPower: 1, EndPower: 1}
	st := r.Sol.Cases[engine.Typical]
	out.StartSolderK, out.EndSolderK = slices.Max(st.SolderK), slices.Max(st.SolderK)
	ageing := r.Sys.Ageing(&r.Sol, day, life.OnTime)
	firstH := math.Inf(1)
	for i := range r.Lamp.Channels {
		ch := &r.Lamp.Channels[i]
		c.levels = append(c.levels, ch.Level)
		if ch.Off() {
			continue
		}
		if h := channelReserveH(ageing, ch.Emitters, ch.Level); h < firstH {
			firstH, out.Channel = h, ch.Name
		}
		out.Possible = out.Possible && ch.Level < 1
	}
	switch {
	case !out.Possible || firstH == 0:
		out.Possible, out.Within = false, true
		return out
	case math.IsInf(firstH, 1):
		return out
	}
	out.ConstantYears = firstH / life.YearH
	c.run(&out, ageing, firstH/constantSteps)
	return out
}

// channelReserveH returns the calendar hours until the light of some emitters has fallen to a level, at their present
// rates [h].
func channelReserveH(ageing []engine.Ageing, emitters []int, level float64) float64 {
	var all []life.ChannelDamage
	for _, e := range emitters {
		all = append(all, life.ChannelDamage{Share: 1, Damage: ageing[e].Damage})
	}
	return life.LampCalendarH(all, level)
}

// constant is a lamp on its way.
type constant struct {
	r      *figure.Evaluation
	day    []engine.Exposure
	goal   []float64 // by channel: radiant flux to keep [W]
	levels []float64
	start  engine.Solution
}

// channelLight returns the radiant flux of the dies of each channel [W].
func channelLight(r *figure.Evaluation, sol *engine.Solution) (w []float64) {
	for i := range r.Lamp.Channels {
		w = append(w, sol.Channels[i].RadiantW)
	}
	return w
}

// run follows the lamp until a level is 100 %, in steps of some calendar hours, and fills the results.
func (c *constant) run(out *ConstantLight, ageing []engine.Ageing, stepH float64) {
	damage := make([]float64, len(ageing))
	sol, hours, energy := c.start, 0.0, 0.0
	for hours < maxYears*life.YearH {
		before, was := slices.Clone(c.levels), sol
		for e := range damage {
			damage[e] += ageing[e].PerCalendarH * stepH
		}
		var over float64
		if sol, over = c.settle(ageing, damage); over > 1 {
			// The step is cut where the level is 100 %; levels are about exponential over it.
			part := cut(before, c.levels, c.r)
			energy += part * stepH * (was.Light.PowerW + part/2*(sol.Light.PowerW-was.Light.PowerW))
			hours += part * stepH
			out.Within, out.Channel = true, c.highest()
			out.EndPower = (was.Light.PowerW + part*(sol.Light.PowerW-was.Light.PowerW)) / c.start.Light.PowerW
			break
		}
		energy += stepH * (was.Light.PowerW + sol.Light.PowerW) / 2
		hours += stepH
		out.EndPower = sol.Light.PowerW / c.start.Light.PowerW
		ageing = c.r.Sys.Ageing(&sol, engine.DayAt(c.day, &c.start, &sol), life.OnTime)
	}
	st := sol.Cases[engine.Typical]
	out.EndSolderK = slices.Max(st.SolderK)
	out.Years, out.MeanPower = hours/life.YearH, energy/hours/c.start.Light.PowerW
	if f, ok := c.r.Figure("mains.energy-year"); ok && f.Withheld == "" {
		const joulePerKWh = 3.6e6
		out.MoreKWhYear = (out.MeanPower - 1) * f.Value / joulePerKWh
	}
}

// settle raises the levels until each channel has its light, with what its emitters have left; over is the highest
// level.
func (c *constant) settle(ageing []engine.Ageing, damage []float64) (sol engine.Solution, over float64) {
	left := make([]float64, len(damage))
	for e := range left {
		left[e] = math.Min(1, ageing[e].B*math.Exp(-damage[e]))
	}
	aged := c.r.Sys.Aged(left)
	for range 4 {
		sol = aged.WithLevels(c.levels).Solve(c.r.Base, engine.Needs{Only: engine.Typical, Stages: engine.Emission})
		light := channelLight(c.r, &sol)
		for i := range c.levels {
			if light[i] > 0 {
				c.levels[i] *= c.goal[i] / light[i]
			}
		}
	}
	return sol, slices.Max(c.levels)
}

// cut returns the part of a step after which the first level is 100 %.
func cut(before, after []float64, r *figure.Evaluation) float64 {
	part := 1.0
	for i := range after {
		if !r.Lamp.Channels[i].Off() && after[i] > 1 {
			part = math.Min(part, math.Log(1/before[i])/math.Log(after[i]/before[i]))
		}
	}
	return math.Max(0, part)
}

// highest returns the channel with the highest level.
func (c *constant) highest() string {
	at := 0
	for i := range c.levels {
		if c.levels[i] > c.levels[at] {
			at = i
		}
	}
	return c.r.Lamp.Channels[at].Name
}
