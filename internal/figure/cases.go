package figure

import (
	"fmt"
	"slices"

	"lampwright/internal/engine"
)

// caseOf turns the state of a case into what is shown.
func caseOf(s *engine.System, c *engine.CaseInput, st *engine.State) CaseView {
	out := CaseView{
		Key: c.Key, Title: c.Key.Title(), RoomK: c.RoomK, AirK: c.AirK, SinkK: st.Sink.BaseK, NodeK: st.Sink.BaseK,
		HeatW: st.TotalW, FaceW: st.Sink.FaceLossW, HousingW: st.Sink.HousingW, HousingK: st.Sink.HousingK,
		SolderK: st.SolderK, JunctionK: st.JunctionK, LoopGain: st.Gain, Iterations: st.Iterations, Runaway: st.Runaway,
		FanFailure: c.FanFailure, Notes: slices.Clone(c.Cool.Notes),
	}
	rise := st.Sink.BaseK - c.AirK
	if st.Sink.DissipatedW > 0 {
		out.SinkKW = rise / st.Sink.DissipatedW
	}
	if s.Lamp.OnLaminate() {
		for i := range s.Lamp.Emitters {
			out.DielectricK = append(out.DielectricK, c.AirK+s.Board.DielectricRise(i, st))
		}
	}
	if s.Board.SensorAt >= 0 {
		out.SensorK = c.AirK + s.Board.SensorRise(st)
	}
	for i := range s.Board.Spots {
		out.SpotK = append(out.SpotK, c.AirK+s.Board.SpotRise(i, st))
	}
	for _, note := range []string{outsideCooling(c, st), runawayNote(st)} {
		if note != "" {
			out.Notes = append(out.Notes, note)
		}
	}
	return out
}

// outsideCooling states that the heat sink works outside the range of its conductance; empty where it does not. Below a
// rise of 1 K no fins are computed, which has no effect.
func outsideCooling(c *engine.CaseInput, st *engine.State) string {
	lo, hi := c.Cool.ConductanceWK.Range()
	below, above := st.Sink.BaseK < lo-0.05 && lo > c.AirK+1, st.Sink.BaseK > hi+0.05
	if !(hi > lo) || !below && !above {
		return ""
	}
	return fmt.Sprintf("heat sink conductance is known for a base %.3g K to %.3g K above the air; the base is "+
		"outside this range and "+
		"the value of the nearer end is used", lo-c.AirK, hi-c.AirK)
}

func runawayNote(st *engine.State) string {
	switch {
	case st.Runaway && st.Gain >= 1:
		return fmt.Sprintf("thermal runaway: loop gain %.2f of junction temperature and dissipation; values are "+
			"those at the last "+
			"iteration, not a steady state", st.Gain)
	case st.Runaway:
		return fmt.Sprintf("a junction exceeded %s before a steady state was reached; values are those at the last "+
			"iteration",
			celsius(engine.RunawayK))
	}
	return ""
}
