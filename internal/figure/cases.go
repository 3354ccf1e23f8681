package figure

import (
	"fmt"

	"lampwright/internal/engine"
	"lampwright/internal/lamp"
)

// caseOf turns a settled lamp into what is shown.
func caseOf(l *lamp.Lamp, key engine.CaseKey, title string, roomK, airK float64, dead bool, s engine.State, b *engine.BoardResponse, c engine.Cooling) CaseView {
	out := CaseView{
		Key: key, Title: title, RoomK: roomK, AirK: airK, SinkK: s.Sink.BaseK, NodeK: s.Sink.BaseK, HeatW: s.TotalW, FaceW: s.Sink.FaceLossW, HousingW: s.Sink.HousingW, HousingK: s.Sink.HousingK,
		SolderK: s.SolderK, JunctionK: s.JunctionK, LoopGain: s.Gain, Iterations: s.Iterations, Runaway: s.Runaway, FanFailure: dead,
		Notes: append([]string(nil), c.Notes...),
	}
	if s.Sink.DissipatedW > 0 {
		out.SinkKW = (s.Sink.BaseK - airK) / s.Sink.DissipatedW
	}
	rise := s.Sink.BaseK - airK
	for i := range l.Emitters {
		if !l.OnLaminate() {
			break
		}
		out.DielectricK = append(out.DielectricK, airK+b.DielectricRise(i, s.HeatW, rise))
	}
	if b.SensorAt >= 0 {
		out.SensorK = airK + b.SensorRise(s.HeatW, rise)
	}
	// Below the first kelvin a sink of fins was not computed either, and it does not matter.
	if lo, hi := c.ConductanceWK.Range(); hi > lo && (s.Sink.BaseK < lo-0.05 && lo > airK+1 || s.Sink.BaseK > hi+0.05) {
		out.Notes = append(out.Notes, fmt.Sprintf("what the sink sheds is known for a base %.3g K to %.3g K over the air, and it works outside of that: its conductance was held at that of the nearer end", lo-airK, hi-airK))
	}
	switch {
	case s.Runaway && s.Gain >= 1:
		out.Notes = append(out.Notes, fmt.Sprintf("thermal runaway: the loop of junction temperature and heat has a gain of %.2f; the figures of this case are where it was stopped, not where it settles", s.Gain))
	case s.Runaway:
		out.Notes = append(out.Notes, fmt.Sprintf("a junction passed %s before the loop settled; the figures of this case are where it was stopped", celsius(engine.RunawayK)))
	}
	return out
}
