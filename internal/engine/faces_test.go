package engine_test

import (
	"context"
	"math"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/heat"
	"lampwright/internal/lamptest"
	"lampwright/internal/sink"
)

// overhang is a lamp whose board reaches 60 mm over a heat sink of 40 mm on one side, with a die over it and one beside.
func overhang(more ...lamptest.Change) []lamptest.Change {
	return lamptest.With([]lamptest.Change{
		{"shape: rectangle, length: 20 mm, width: 20 mm", "shape: rectangle, length: 120 mm, width: 40 mm"},
		{"sink: {part: block}", "sink: {part: block, contact: {length: 20 mm, width: 20 mm, at: [-30 mm, 0 mm]}}"},
		{"body: {length: 20 mm, width: 20 mm}", "body: {length: 4 mm, width: 4 mm}"},
		{"light_emitting_surface: {length: 10 mm, width: 10 mm}", "light_emitting_surface: {length: 2 mm, width: 2 mm}"},
		{"thermal_pad: {length: 20 mm, width: 20 mm}", "thermal_pad: {length: 4 mm, width: 4 mm}"},
		lamptest.Lights("{part: die, at: [[-30 mm, 0 mm], [40 mm, 5 mm]]}"),
	}, more...)
}

// TestFilmFollowsItsCase: the correction of the unit responses to the films of a case gives what a field that is solved
// with these films gives, within 0.5 % of the rise; the films are those of the mean rise of the faces.
func TestFilmFollowsItsCase(t *testing.T) {
	for _, kw := range []float64{1, 40} {
		o := lamptest.Quick()
		o.HeatRelErr = 0.005
		p := lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts, overhang(lamptest.FmtSink(kw))...)
		r := lamptest.EvaluateProject(t, p, o)
		st := r.Sol.Cases[engine.Typical]
		top, back := engine.BoardFaces(r.Lamp)
		lamptest.Near(t, "bare back", back.AreaM2, 0.12*0.04-4e-4, 1e-9, "board less contact")
		board, sources := engine.HeatBoard(r.Lamp)
		held := board
		board.TopFilmWm2K, board.BackFilmWm2K = st.Film.TopWm2K, st.Film.BackWm2K
		solve := func(b heat.Board) *heat.Response {
			full, err := heat.Unit(context.Background(), b, sources, nil, heat.Options{RelErr: 0.005})
			if err != nil {
				t.Fatal(err)
			}
			return full
		}
		full := solve(board)
		// The heat sink's balance, q + L θ = Σ s_j Q_j, and the mean rise of each face.
		in, topW, backW := 0.0, 0.0, 0.0
		for j, q := range st.HeatW {
			in += full.ToSinkW[j] * q
			topW += full.TopW[j] * q
			backW += full.BackW[j] * q
		}
		node := in / (1/kw + full.Sink.TopW + full.Sink.BackW)
		lamptest.Near(t, "heat sink", st.Sink.BaseK-st.AirK, node, 0.005*node, "a field of its own")
		for i, k := range st.SolderK {
			rise := full.Sink.Mean[i]*node + full.MeanKW[i][0]*st.HeatW[0] + full.MeanKW[i][1]*st.HeatW[1] +
				r.Sys.Board.SpreadAt(i, st.HeatW)
			lamptest.Near(t, "solder point", k-st.AirK, rise, 0.006*rise, "a field of its own")
		}
		topRise := (topW + full.Sink.TopW*node) / (board.TopFilmWm2K * top.AreaM2)
		lamptest.Near(t, "film of the top", st.Film.TopWm2K,
			top.Coefficient(st.AirK+topRise, st.AirK, sink.StandardPressurePa), 0.01*st.Film.TopWm2K, "its mean rise")
		backRise := (backW + full.Sink.BackW*node) / (board.BackFilmWm2K * back.AreaM2)
		lamptest.Near(t, "film of the back", st.Film.BackWm2K,
			back.Coefficient(st.AirK+backRise, st.AirK, sink.StandardPressurePa), 0.01*st.Film.BackWm2K, "its mean rise")
		was := solve(held)
		wasIn := was.ToSinkW[0]*st.HeatW[0] + was.ToSinkW[1]*st.HeatW[1]
		if change := wasIn/(1/kw+was.Sink.TopW+was.Sink.BackW)/node - 1; math.Abs(change) < 0.008 {
			t.Errorf("on %g K/W the films held at a rise of 30 K change the rise by %.3f %%: no test", kw, 100*change)
		}
	}
}

// finned replaces the sink by fins on a base that is larger than the board by 60 mm × 40 mm less 20 mm × 20 mm.
var finned = lamptest.Change{
	"base: {length: 20 mm, width: 20 mm}, base_thickness: 6 mm, conductivity: 200 W/(m·K), emissivity: 85 %, " +
		"resistance_vs_power: {0.1 W: 5 K/W, 100 W: 5 K/W}",
	"base: {length: 60 mm, width: 40 mm}, base_thickness: 6 mm, conductivity: 200 W/(m·K), emissivity: 85 %, " +
		"fins: {count: 5, height: 20 mm, thickness: 1.5 mm}",
}

// TestBaseFaceBesideBoard: what the heat sink dissipates is the fins' share and that of its base beside the board.
func TestBaseFaceBesideBoard(t *testing.T) {
	r := lamptest.Evaluate(t, finned)
	f := engine.BaseFace(r.Lamp)
	lamptest.Near(t, "base beside the board", f.AreaM2, 0.06*0.04-4e-4, 1e-9, "60 mm × 40 mm less 20 mm × 20 mm")
	st := r.Sol.Cases[engine.Typical]
	base, air := st.Sink.BaseK, st.AirK
	fins, err := sink.PlateFin{
		WidthM: 0.04, LengthM: 0.06, FinHeightM: 0.02, FinThicknessM: 1.5e-3, BaseThicknessM: 6e-3, Fins: 5, KWmK: 200,
		Emissivity: 0.85,
	}.Natural(sink.FinsUp, base, air, air, sink.StandardPressurePa)
	if err != nil {
		t.Fatal(err)
	}
	down := sink.BareFace{Face: sink.FaceDown, AreaM2: 0.0024, PerimeterM: 0.2, Emissivity: 0.85}
	beside := down.Coefficient(base, air, sink.StandardPressurePa) * f.AreaM2
	lamptest.Near(t, "heat sink", st.Sink.DissipatedW, (fins.ConductanceWK+beside)*(base-air),
		0.005*st.Sink.DissipatedW, "conductances add; straight between two samples")
	if part := beside / (beside + fins.ConductanceWK); part < 0.05 {
		t.Errorf("the base beside the board is %.1f %% only: no test", 100*part)
	}
	// A datasheet's resistance is that of the whole heat sink.
	whole := lamptest.Evaluate(t, lamptest.Change{
		"base: {length: 20 mm, width: 20 mm}", "base: {length: 60 mm, width: 40 mm}",
	})
	at := whole.Sol.Cases[engine.Typical].Sink
	lamptest.Near(t, "heat sink of a datasheet", at.DissipatedW, (at.BaseK-293.15)/5, 1e-4, "5 K/W")
}

// TestTiltedLampTiltsItsSink: towards the back the slope lies across the fins, to the side along them.
func TestTiltedLampTiltsItsSink(t *testing.T) {
	tilt := func(angle, azimuth string) float64 {
		r := lamptest.Evaluate(t, finned, lamptest.Change{
			"hanging_height: 300 mm", "hanging_height: 300 mm\n  lamp_tilt: {tilt: " + angle + ", azimuth: " + azimuth + "}",
		})
		return r.Value("sink.temperature")
	}
	level := lamptest.Evaluate(t, finned).Value("sink.temperature")
	lamptest.Near(t, "tilt of 0°", tilt("0 deg", "0 deg"), level, 1e-6, "limit")
	along, across := tilt("60 deg", "0 deg"), tilt("60 deg", "90 deg")
	// Fins up have 0.75 of the convection of upright ones; 30° from upright they have cos(30°)^½ to ^1/4 of it, and
	// across the slope 2/3 of the way to 0.55.
	if !(along < level-0.2 && across > level+0.2) {
		t.Errorf("heat sink level at %.2f K, tilted along its fins at %.2f K, across them at %.2f K", level, along, across)
	}
}
