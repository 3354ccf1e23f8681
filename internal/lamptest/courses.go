package lamptest

import "lampwright/internal/engine"

// FullFrom returns a course at the levels of the design from a cold start.
func FullFrom(s *engine.System, times []float64, key engine.CaseKey) engine.CourseInput {
	in := engine.CourseInput{Case: key, TimesS: times}
	levels := make([]float64, len(s.Lamp.Channels))
	for i := range levels {
		levels[i] = s.Lamp.Channels[i].Level
	}
	for range times {
		in.Levels = append(in.Levels, levels)
	}
	return in
}

// Seconds returns times from 0 to an end, a step apart [s].
func Seconds(to, step float64) (out []float64) {
	for t := 0.0; t <= to; t += step {
		out = append(out, t)
	}
	return out
}
