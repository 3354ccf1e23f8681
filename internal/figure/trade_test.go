package figure_test

import (
	"math"
	"testing"

	"lampwright/internal/figure"
	"lampwright/internal/lamptest"
	"lampwright/internal/light"
	"lampwright/internal/partslib"
	"lampwright/internal/project"
)

// TestDieConfigurations: six dies at 1.2 A each take the same power however they are joined: 18 V at 1.2 A, 9 V at 2.4
// A and 6 V at 3.6 A (nominal). By hand each die has the 2.98 V of the datasheet at 85 °C less 1.7 mV for each kelvin
// above.
func TestDieConfigurations(t *testing.T) {
	wired := func(name, amps string) *figure.Evaluation {
		return lamptest.Evaluate(t, lamptest.With(lamptest.Larger(),
			lamptest.Lights("{part: white-5700-six, die_configuration: "+name+", at: [[0 mm, 0 mm]]}"),
			lamptest.Change{"current: 1 A\n    driver", "current: " + amps + "\n    driver"}, lamptest.FmtSink(1))...)
	}
	eighteen, nine, six := wired("18 V", "1.2 A"), wired("9 V", "2.4 A"), wired("6 V", "3.6 A")
	p := eighteen.Value("a.power")
	byHand := 6 * 1.2 * (2.98 - 0.0017*(eighteen.Value("a.junction")-358.15))
	lamptest.Near(t, "power at 18 V and 1.2 A", p, byHand, 1e-3,
		"curve of forward voltage and its temperature coefficient")
	for _, r := range []*figure.Evaluation{nine, six} {
		lamptest.Near(t, "power by another configuration", r.Value("a.power"), p, 1e-9,
			"the same dies at the same current")
		lamptest.Near(t, "light by another configuration", r.Value("lamp.flux"), eighteen.Value("lamp.flux"), 1e-6,
			"the same dies")
		lamptest.Near(t, "junction by another configuration", r.Value("a.junction"), eighteen.Value("a.junction"), 1e-6,
			"the same dies")
	}
	lamptest.Near(t, "voltage by 18 V over 9 V", eighteen.Value("a.voltage")/nine.Value("a.voltage"), 2, 1e-9,
		"ratio exact")
	lamptest.Near(t, "voltage by 18 V over 6 V", eighteen.Value("a.voltage")/six.Value("a.voltage"), 3, 1e-9,
		"ratio exact")
	lamptest.Near(t, "current of a die", nine.Emitters[0].DieA, 1.2, 1e-12, "2.4 A over two strings")
}

// TestMaterials: facts of the trade that parts of the library must have (common practice, no source).
func TestMaterials(t *testing.T) {
	s, problems := project.LoadLibrary(nil, partslib.Files())
	if len(problems) > 0 {
		t.Fatal(problems.Error())
	}
	lamptest.Near(t, "SnBi58 melts at", s.Solders.Get("snbi58").Liquidus.SI-273.15, 138, 1e-9,
		"common practice, no source")
	lamptest.Near(t, "SAC305 begins to melt at", s.Solders.Get("sac305").Solidus.SI-273.15, 217, 1e-9,
		"common practice, no source")
	lamptest.Near(t, "SAC305 is molten at", s.Solders.Get("sac305").Liquidus.SI-273.15, 220, 1e-9,
		"common practice, no source")
	b := s.Boards.Get("aluminium-2w")
	lamptest.Near(t, "dielectric of the common board", b.DielectricK.SI, 2, 1e-12, "common practice, no source")
	if _, made := b.PriceAt(2e-3); !made {
		t.Error("the common board is not made 2 mm thick")
	}
}

// TestLensFlux: lenses of 91 % and 78 % differ by 1.167 in flux, whatever their beams do on the axis; the gain on the
// axis is another figure.
func TestLensFlux(t *testing.T) {
	under := func(lens string) *figure.Evaluation {
		emitter := "{part: white-5700-six, die_configuration: 9 V, at: [[0 mm, 0 mm]]}"
		if lens != "" {
			emitter = "{part: white-5700-six, die_configuration: 9 V, lens: " + lens + ", at: [[0 mm, 0 mm]]}"
		}
		p := lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts,
			lamptest.With(lamptest.Larger(), lamptest.Lights(emitter),
				lamptest.Change{"hanging_height: 300 mm", "hanging_height: 250 mm"}, lamptest.FmtSink(0.05))...)
		o := lamptest.Quick()
		o.CellM = 400e-3 / 21 // one cell lies under the lens
		return lamptest.EvaluateProject(t, p, o)
	}
	axis := func(r *figure.Evaluation) float64 { return r.Target.Lux[len(r.Target.Lux)/2] }
	bare, clear, satin := under(""), under("lens-70-large"), under("lens-70-large-satin")
	flux := func(r *figure.Evaluation) float64 { return r.Value("lamp.flux") / r.Value("a.radiant") }
	lamptest.Near(t, "flux, clear over satin", flux(clear)/flux(satin), 91.0/78, 5e-4, "ratio of the efficiencies")
	lamptest.Near(t, "flux, clear over bare", flux(clear)/flux(bare), 0.91, 1e-9, "efficiency")
	// The illuminance on the axis is intensity over distance squared: it depends on the beams too.
	gain := axis(clear) / axis(bare) * bare.Value("a.radiant") / clear.Value("a.radiant")
	if gain < 1.5 || gain > 3.5 {
		t.Errorf("a lens of 70° gains %.2f on the axis, want about 2", gain)
	}
	ratio := axis(clear) / axis(satin) * satin.Value("a.radiant") / clear.Value("a.radiant")
	want := 0.91 * clear.Lamp.Optics[0].Pattern.PerFlux(1, 0) / (0.78 * satin.Lamp.Optics[0].Pattern.PerFlux(1, 0))
	// 1 % for the breadth of a cell of 19 mm at 250 mm.
	lamptest.Near(t, "on the axis, clear over satin", ratio, want, 0.01*want, "I₀ over h²")
	if math.Abs(want-0.91/0.78) < 0.01 {
		t.Errorf("the two lenses gain alike on the axis (%.3f) and in flux; the test needs two beams", want)
	}
}

// TestPassiveSink: a heat sink of R in still air settles R times the heat above the room: 18 K at 24 °C for a sink
// chosen so.
func TestPassiveSink(t *testing.T) {
	lamp := func(kw float64) *figure.Evaluation {
		return lamptest.Evaluate(t, lamptest.With(lamptest.Larger(),
			lamptest.Lights("{part: white-5700-six, die_configuration: 18 V, at: [[0 mm, 0 mm]]}"),
			lamptest.Change{"current: 1 A\n    driver", "current: 1.1 A\n    driver"},
			lamptest.Change{"typical: 20 °C", "typical: 24 °C"}, lamptest.FmtSink(kw))...)
	}
	first := lamp(1.5)
	heat, power := first.Value("lamp.heat"), first.Value("a.power")
	if heat < 0.5*power || heat > 0.75*power {
		t.Errorf("of %.1f W %.1f W are heat; want half to three quarters for a white package (common practice, "+
			"no source)",
			power, heat)
	}
	r := lamp(18 / heat)
	// The board's own faces dissipate a few percent, so that the heat sink is a little cooler: up to 1.5 K of 18 K.
	lamptest.Near(t, "sink", r.Value("sink.temperature")-273.15, 42, 1.5, "24 °C and 18 K")
	lamptest.Near(t, "sink to room", r.Value("sink.resistance"), 18/heat, 0.01*18/heat, "18 K over the heat")
}

// TestBeamInWater: a lens of 52° at 210 mm is half as bright in the direction 102.4 mm aside, 204.8 mm in all; in the
// water the beam narrows, so that 450 mm are reached only 352 mm below the surface.
func TestBeamInWater(t *testing.T) {
	r := lamptest.Evaluate(t, lamptest.With(lamptest.Larger(),
		lamptest.Lights("{part: die, lens: lens-52, at: [[0 mm, 0 mm]]}"))...)
	pattern := r.Lamp.Optics[0].Pattern
	half := 26 * math.Pi / 180
	lamptest.Near(t, "intensity at half of the beam angle", pattern.PerFlux(math.Cos(half), 0)/pattern.PerFlux(1, 0),
		0.5, 1e-3, "beam angle")
	// Snell by hand: asin(sin 26° / 1.333) = 19.20°; (225 − 102.4) mm / tan 19.20° = 352 mm.
	ray := light.RayThrough(0.21, 0.352, 0.225, 1.333)
	lamptest.Near(t, "direction in air of the ray that is 225 mm aside at 352 mm", ray.AirRad*180/math.Pi, 26, 0.05,
		"Snell's law")
	lamptest.Near(t, "where it meets the surface", ray.CrossingM*1e3, 102.4, 0.3, "210 mm · tan 26°")
}

// TestTargetPPE: photons on the substrate of 900 mm × 450 mm over the mains power, and nearly the photon efficacy of
// the lamp times the fraction of its light that arrives; water and glass change the spectrum by a little.
func TestTargetPPE(t *testing.T) {
	r := lamptest.EvaluateProject(t, lamptest.Example(t, "long-tank"), lamptest.Quick())
	got := r.Value("target.ppe")
	want := r.Value("target.ppfd") * 0.900 * 0.450 / r.Value("mains.power")
	lamptest.Near(t, "photons per joule at the substrate", got, want, 1e-12, "definition")
	arrives := r.Value("mains.ppe") * r.Value("light.incident-substrate")
	lamptest.Near(t, "the same by the fraction that arrives", got, arrives, 0.02*arrives, "balance of photons")
}
