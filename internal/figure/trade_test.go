package figure_test

import (
	"math"
	"testing"

	"lampwright/internal/figure"
	"lampwright/internal/lamptest"
	"lampwright/internal/light"
	"lampwright/internal/partslib"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

// The facts below are common practice without a source: figures of the trade that a lamp must come near to.

// TestFourDies: a package of four dies wired for 12 V takes about 29 W at 2.4 A; wired for 6 V it takes twice the
// current at the same power, and each die sees the same.
func TestFourDies(t *testing.T) {
	wired := func(name, amps string) *figure.Evaluation {
		return lamptest.Evaluate(t, lamptest.With(lamptest.Larger(),
			lamptest.Lights("{part: white-4die-6500, die_configuration: "+name+", at: [[0 mm, 0 mm]]}"),
			lamptest.Change{"current: 1 A\n    driver", "current: " + amps + "\n    driver"}, lamptest.FmtSink(1))...)
	}
	twelve, six, three := wired("12 V", "2.4 A"), wired("6 V", "4.8 A"), wired("3 V", "9.6 A")
	p := twelve.Value("a.power")
	lamptest.Near(t, "power at 12 V and 2.4 A", p, 29, 0.05*29, "common practice, no source: about 29 W ± 5 %")
	for _, r := range []*figure.Evaluation{six, three} {
		lamptest.Near(t, "power by another wiring", r.Value("a.power"), p, 1e-9, "the same dies at the same current")
		lamptest.Near(t, "light by another wiring", r.Value("lamp.flux"), twelve.Value("lamp.flux"), 1e-6,
			"the same dies")
		lamptest.Near(t, "junction by another wiring", r.Value("a.junction"), twelve.Value("a.junction"), 1e-6,
			"the same dies")
	}
	lamptest.Near(t, "voltage by 12 V over 6 V", twelve.Value("a.voltage")/six.Value("a.voltage"), 2, 1e-9,
		"ratio exact")
	lamptest.Near(t, "voltage by 12 V over 3 V", twelve.Value("a.voltage")/three.Value("a.voltage"), 4, 1e-9,
		"ratio exact")
	lamptest.Near(t, "current of a die", six.Emitters[0].DieA, 2.4, 1e-12, "4.8 A over two rows")
}

// TestMaterials: one-die parts of amber, red and blue are commonly limited to 500 mA, 700 mA and 1 A.
func TestMaterials(t *testing.T) {
	s, problems := project.LoadLibrary(nil, partslib.Files())
	if len(problems) > 0 {
		t.Fatal(problems.Error())
	}
	for id, want := range map[string]float64{
		"amber-595": 0.5, "red-625": 0.7, "deepred-660": 0.7, "royalblue-450": 1,
		"blue-470": 1, "green-525": 1,
	} {
		lamptest.Near(t, "greatest current of "+id, s.Emitters.Get(id).MaxForwardCurrent.SI, want, 1e-12,
			"common practice, no source")
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

// TestLensFlux: lenses of 93 % and 82 % differ by 1.134 in flux, whatever their beams do on the axis. Readings of 509
// lx bare and 1590 and 1700 lx with two lenses are gains on the axis of 3.12 and 3.34, a ratio of 1.069: another
// figure.
func TestLensFlux(t *testing.T) {
	under := func(lens string) *figure.Evaluation {
		emitter := "{part: white-4die-6500, die_configuration: 12 V, at: [[0 mm, 0 mm]]}"
		if lens != "" {
			emitter = "{part: white-4die-6500, die_configuration: 12 V, lens: " + lens + ", at: [[0 mm, 0 mm]]}"
		}
		p := lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts,
			lamptest.With(lamptest.Larger(), lamptest.Lights(emitter),
				lamptest.Change{"hanging_height: 300 mm", "hanging_height: 250 mm"}, lamptest.FmtSink(0.05))...)
		o := lamptest.Quick()
		o.CellM = 400e-3 / 21 // one cell lies under the lens
		return lamptest.EvaluateProject(t, p, o)
	}
	axis := func(r *figure.Evaluation) float64 { return r.Target.Lux[len(r.Target.Lux)/2] }
	bare, clear, frosted := under(""), under("lens-60-clear"), under("lens-60-frosted")
	flux := func(r *figure.Evaluation) float64 { return r.Value("lamp.flux") / r.Value("a.radiant") }
	lamptest.Near(t, "flux, clear over frosted", flux(clear)/flux(frosted), 1.134, 5e-4,
		"common practice, no source: 93 % over 82 %")
	lamptest.Near(t, "flux, clear over bare", flux(clear)/flux(bare), 0.93, 1e-9, "efficiency")
	lamptest.Near(t, "gain of the first lens on the axis", 1590.0/509, 3.12, 5e-3, "common practice, no source")
	lamptest.Near(t, "gain of the second lens on the axis", 1700.0/509, 3.34, 5e-3, "common practice, no source")
	lamptest.Near(t, "ratio of the gains", 1700.0/1590, 1.069, 5e-4, "common practice, no source")
	// What the map says on the axis is intensity over distance squared: it goes with the beams as well.
	gain := axis(clear) / axis(bare) * bare.Value("a.radiant") / clear.Value("a.radiant")
	if gain < 2 || gain > 5 {
		t.Errorf("a lens of 60° gains %.2f on the axis, want about 3", gain)
	}
	ratio := axis(clear) / axis(frosted) * frosted.Value("a.radiant") / clear.Value("a.radiant")
	want := 0.93 * clear.Lamp.Optics[0].Pattern.PerFlux(1, 0) / (0.82 * frosted.Lamp.Optics[0].Pattern.PerFlux(1, 0))
	// 1 % for the breadth of a cell of 19 mm at 250 mm.
	lamptest.Near(t, "on the axis, clear over frosted", ratio, want, 0.01*want, "I₀ over h²")
	if math.Abs(want-0.93/0.82) < 0.01 {
		t.Errorf("the two lenses gain alike on the axis (%.3f) and in flux; the test needs two beams", want)
	}
}

// TestTube: a tube of 54.1 W that gives 4450 lm has 82 lm/W.
func TestTube(t *testing.T) {
	if got := quantity.Format(4450/54.1, quantity.Efficacy); got != "82.3 lm/W" {
		t.Errorf("4450 lm / 54.1 W = %s, want 82.3 lm/W", got)
	}
}

// TestPassiveSink: a lamp of 29 W on a passive sink settled near 50 °C from 25.6 °C: 24.4 K over its heat.
func TestPassiveSink(t *testing.T) {
	lamp := func(kw float64) *figure.Evaluation {
		return lamptest.Evaluate(t, lamptest.With(lamptest.Larger(),
			lamptest.Lights("{part: white-4die-6500, die_configuration: 12 V, at: [[0 mm, 0 mm]]}"),
			lamptest.Change{"current: 1 A\n    driver", "current: 2.4 A\n    driver"},
			lamptest.Change{"typical: 20 °C", "typical: 25.6 °C"}, lamptest.FmtSink(kw))...)
	}
	heat := lamp(1.3).Value("lamp.heat")
	if heat < 15 || heat > 25 {
		t.Errorf("of 29 W %.1f W are heat; want 15 to 25 W for a white package of today", heat)
	}
	r := lamp(24.4 / heat)
	// The board's own faces shed a few percent, so that the sink stays a little cooler; that is all that may be
	// missing.
	lamptest.Near(t, "sink", r.Value("sink.temperature")-273.15, 50, 1.5, "common practice, no source")
	lamptest.Near(t, "sink to room", r.Value("sink.resistance"), 24.4/heat, 0.01*24.4/heat, "24.4 K over the heat")
}

// TestBeamInWater: a lens of 60° at 300 mm is half as bright in direction 173 mm aside, 346 mm in all; in the water the
// beam narrows, so that 600 mm are reached only 313 mm below the surface.
func TestBeamInWater(t *testing.T) {
	r := lamptest.Evaluate(t, lamptest.With(lamptest.Larger(),
		lamptest.Lights("{part: die, lens: lens-60, at: [[0 mm, 0 mm]]}"))...)
	pattern := r.Lamp.Optics[0].Pattern
	half := math.Pi / 6
	lamptest.Near(t, "intensity at half of the beam angle", pattern.PerFlux(math.Cos(half), 0)/pattern.PerFlux(1, 0),
		0.5, 1e-3, "beam angle")
	lamptest.Near(t, "width at the surface", 2*300*math.Tan(half), 346, 0.5, "common practice, no source")
	// Snell by hand: asin(sin 30° / 1.33) = 22.1°; (300 − 173.2) mm / tan 22.1° = 312 mm.
	ray := light.RayThrough(0.3, 0.313, 0.3, 1.333)
	lamptest.Near(t, "direction in air of the ray that is 300 mm aside at 313 mm", ray.AirRad*180/math.Pi, 30, 0.05,
		"common practice, no source")
	lamptest.Near(t, "where it meets the surface", ray.CrossingM*1e3, 173.2, 0.5, "300 mm · tan 30°")
}

// TestTargetPPE: photons on the substrate of 600 mm × 300 mm over the mains power, and nearly the photon efficacy of the
// lamp times the fraction of its light that arrives; water and glass change the spectrum by a little.
func TestTargetPPE(t *testing.T) {
	r := lamptest.EvaluateProject(t, lamptest.Example(t, "planted-tank"), lamptest.Quick())
	got := r.Value("target.ppe")
	want := r.Value("target.ppfd") * 0.600 * 0.300 / r.Value("mains.power")
	lamptest.Near(t, "photons per joule at the substrate", got, want, 1e-12, "definition")
	arrives := r.Value("mains.ppe") * r.Value("light.incident-substrate")
	lamptest.Near(t, "the same by the fraction that arrives", got, arrives, 0.02*arrives, "balance of photons")
}
