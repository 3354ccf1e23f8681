package engine_test

import (
	"context"
	"math"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/lamptest"
	"lampwright/internal/sink"
	"lampwright/internal/study"
)

// TestHousing: the lamp of one die, whose sink has 5 K/W (0.2 W/K) and whose board's faces are as they were, with a
// plate beside the sink.
func TestHousing(t *testing.T) {
	with := func(joint string) *figure.Evaluation {
		return lamptest.Evaluate(t, lamptest.Change{"base_thickness: 6 mm", "mass: 0.1 kg, base_thickness: 6 mm"},
			lamptest.Change{
				"thermal_interface: {part: grease}",
				"thermal_interface: {part: grease}\nhousing: {area: 200 cm², emissivity: 85 %, height: 80 mm, " +
					"joint_resistance: " + joint + "}",
			})
	}
	bare := lamptest.Evaluate(t)
	rise := func(r *figure.Evaluation) float64 { return r.Value("sink.temperature") - r.Cases[0].AirK }

	lamptest.Near(t, "rise of the sink behind a joint that leads nothing", rise(with("1e9 K/W")), rise(bare), 1e-5,
		"limit: the lamp without a housing")

	tight := with("1e-9 K/W")
	base, air := tight.Cases[0].SinkK, tight.Cases[0].AirK
	plate := sink.Housing{AreaM2: 0.02, HeightM: 0.08, Emissivity: 0.85}
	beside := plate.FaceWK(base, air, sink.StandardPressurePa)
	lamptest.Near(t, "what a housing without a joint sheds", tight.Value("housing.heat"), beside*(base-air),
		0.005*beside*(base-air), "limit: conductances add; the film between two rises of the samples runs straight")
	lamptest.Near(t, "temperature of that housing", tight.Value("housing.temperature"), base, 1e-6, "limit")
	lamptest.Near(t, "what the sink sheds beside it",
		tight.Value("lamp.heat")-tight.Value("board.face-loss")-tight.Value("housing.heat"), 0.2*(base-air), 1e-4,
		"5 K/W")

	// Closed form: node · (0.2 + G_h + L) = s · 2 W, with what the board's response says of L and s.
	b := tight.Sys.Board
	film := tight.Sol.Cases[engine.Typical].Film
	node := b.SinkFraction(film, 0) * 2 / (0.2 + tight.Value("housing.heat")/(base-air) + b.FaceLossWK(film))
	lamptest.Near(t, "rise of the sink", base-air, node, 1e-4, "films side by side")

	half := with("2 K/W")
	c := half.Cases[0]
	lamptest.Near(t, "heat through the joint", (c.SinkK-c.HousingK)/2, c.HousingW, 1e-9, "Q = ΔT/R")
	lamptest.Near(t, "heat off the faces",
		plate.FaceWK(c.HousingK, c.AirK, sink.StandardPressurePa)*(c.HousingK-c.AirK), c.HousingW, 0.005*c.HousingW,
		"the same heat")
	if !(rise(tight) < rise(half) && rise(half) < rise(bare)) {
		t.Errorf("the sink rises by %.2f K with a tight joint, %.2f K with a loose one and %.2f K without a housing",
			rise(tight), rise(half), rise(bare))
	}
	all := c.HousingW + c.FaceW + 0.2*(c.SinkK-c.AirK)
	lamptest.Near(t, "watts shed", all, c.HeatW, 1e-5, "what goes in comes out")

	w, err := study.SimulateWarmup(context.Background(), half, "typical", lamptest.Quick())
	if err != nil {
		t.Fatal(err)
	}
	lamptest.Near(t, "sink in the end of the warm-up", w.Steady.SinkK, c.SinkK, 0.1, "the steady state")
	if f, ok := half.Figure("housing.heat"); !ok || math.IsNaN(f.Value) || f.Basis.Numbers == "" {
		t.Errorf("housing.heat: %+v", f)
	}
}
