package engine

import (
	"slices"

	"lampwright/internal/lamp"
)

// atFullLevel returns the lamp with every channel at 100 %, as a controller that fails would set it.
func atFullLevel(l *lamp.Lamp) *lamp.Lamp {
	full := *l
	full.Channels = slices.Clone(l.Channels)
	for i := range full.Channels {
		full.Channels[i].Level = 1
	}
	return &full
}

// Fault returns the steady state of the worst single failure without foldback: the fan stopped, or, without a fan, the
// controller at full level. Two failures do not occur together. The lamp is that with the levels of the state; nil
// where there are no data.
func (s *System) Fault(sol *Solution) (st State, at *lamp.Lamp) {
	for i := range s.Cases {
		c := &s.Cases[i]
		if c.NoData || !c.Key.AtMaxAmbient() {
			continue
		}
		l := s.Lamp
		if !c.FanFailure {
			l = atFullLevel(l)
		}
		airK, cool := s.airOf(c, sol.Params)
		now := steadyState(l, sol.Params, sol.Board, cool, airK)
		if at == nil || now.Sink.BaseK > st.Sink.BaseK {
			st, at = now, l
		}
	}
	return st, at
}
