package study

import (
	"lampwright/internal/figure"
	"lampwright/internal/quantity"
)

// DayCourse is the light over one day: dark, a straight ramp to full level, full level, and a straight ramp back.
type DayCourse struct {
	FullS  float64    `json:"full_s"`
	RampS  float64    `json:"ramp_s"`
	Points []DayPoint `json:"points"` // straight between them
}

// DayPoint is one time of it.
type DayPoint struct {
	TimeS float64 `json:"time_s"` // since the first light
	Says  string  `json:"says"`
	Level float64 `json:"level"`          // share of the levels at full day
	PPFD  float64 `json:"ppfd_umol_m2_s"` // mean at the target
}

// DailyProgramme returns the day that the design gives; ok is false where it gives none. Light is taken in proportion to the level, as the
// day's light is.
func DailyProgramme(r *figure.Evaluation) (c DayCourse, ok bool) {
	day := r.Lamp.Design.Day
	if !day.FullLevelTime.Set {
		return c, false
	}
	c.FullS, c.RampS = day.FullLevelTime.SI, day.RampTime.SI
	ppfd := r.Value("target.ppfd")
	add := func(timeS float64, level float64, says string) {
		c.Points = append(c.Points, DayPoint{timeS, says, level, level * ppfd})
	}
	if c.RampS > 0 {
		add(0, 0, "first light")
	}
	add(c.RampS, 1, "full light")
	add(c.RampS+c.FullS, 1, "full light ends, after "+quantity.Format(c.FullS, quantity.Time))
	if c.RampS > 0 {
		add(2*c.RampS+c.FullS, 0, "dark")
	}
	return c, true
}
