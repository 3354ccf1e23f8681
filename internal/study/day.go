package study

import (
	"lampwright/internal/figure"
	"lampwright/internal/quantity"
)

// DayCourse is the daily programme: a linear ramp to full level, full level, and a linear ramp down.
type DayCourse struct {
	FullS  float64    `json:"full_s"`
	RampS  float64    `json:"ramp_s"`
	Points []DayPoint `json:"points"` // linear between them
}

// DayPoint is one time of it.
type DayPoint struct {
	TimeS float64 `json:"time_s"` // since the start of sunrise
	Says  string  `json:"says"`
	Level float64 `json:"level"`          // relative to full level
	PPFD  float64 `json:"ppfd_umol_m2_s"` // mean at the target
}

// DailyProgramme returns the daily programme of the design; ok is false where it states none. Light is proportional to the level,
// as in the DLI.
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
		add(0, 0, "sunrise starts")
	}
	add(c.RampS, 1, "full level")
	add(c.RampS+c.FullS, 1, "sunset starts, after "+quantity.Format(c.FullS, quantity.Time))
	if c.RampS > 0 {
		add(2*c.RampS+c.FullS, 0, "off")
	}
	return c, true
}
