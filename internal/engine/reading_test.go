package engine_test

import (
	"fmt"
	"math"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/geom"
	"lampwright/internal/lamp"
	"lampwright/internal/lamptest"
)

// measured returns changes that put a sensor and infrared spots on the lamp of one die; a sensor or spot of no text is
// left out.
func measured(sensor, spots string, more ...lamptest.Change) []lamptest.Change {
	text := "thermal_interface: {part: grease}"
	to := text
	if sensor != "" {
		to += "\nsensor: {part: ntc-10k, at: " + sensor + "}"
	}
	if spots != "" {
		to += "\ninfrared_spots: [" + spots + "]"
	}
	return lamptest.Small("shape: rectangle, length: 60 mm, width: 40 mm", "[-5 mm, 0 mm]",
		append([]lamptest.Change{{text, to}}, more...)...)
}

// evenBase leaves out the spreading in the base, which is taken beneath the centre of a spot.
var evenBase = lamptest.Change{"base_thickness: 6 mm, conductivity: 200 W/(m·K), ", ""}

// TestSpotIsMeanOfSensors: an infrared spot reads the weighted mean of sensors at its seven positions, and the mean of
// the map of the board over its disc.
func TestSpotIsMeanOfSensors(t *testing.T) {
	r := lamptest.Evaluate(t, measured("", "{name: s, at: [10 mm, 3 mm], diameter: 12 mm}", evenBase)...)
	got := r.Value("spot.s")
	mean := 0.0
	for _, p := range geom.DiscRule(10e-3, 3e-3, 6e-3) {
		at := fmt.Sprintf("[%.12g mm, %.12g mm]", 1e3*p.XM, 1e3*p.YM)
		mean += p.Weight * lamptest.Evaluate(t, measured(at, "", evenBase)...).Value("sensor.temperature")
	}
	lamptest.Near(t, "spot of 12 mm", got, mean, 1e-6, "sensors at the seven positions")
	m, sum, n := r.BoardHeat, 0.0, 0
	for k, kelvin := range m.TempK {
		x, y := m.X0M+float64(k%m.NX)*m.StepM, m.Y0M+float64(k/m.NX)*m.StepM
		if math.Hypot(x-10e-3, y-3e-3) <= 6e-3 {
			sum, n = sum+kelvin, n+1
		}
	}
	if n < 50 {
		t.Fatalf("%d cells of the map in the spot", n)
	}
	// 113 cells of 1 mm: their edge is ± 0.5 mm of the radius, in a field that falls by 1 K over the spot.
	lamptest.Near(t, "spot of 12 mm", got, sum/float64(n), 0.03, "mean of the map over the disc")
	centre := lamptest.Evaluate(t, measured("[10 mm, 3 mm]", "", evenBase)...).Value("sensor.temperature")
	if !(math.Abs(got-centre) > 0.005) {
		t.Errorf("the mean over the disc, %.4f K, is the value at its centre, %.4f K: no test of the mean", got, centre)
	}
}

// TestSpotVariesLikeTheSensor: a spot of 2.3 mm at the sensor has its temperature and its range: tolerances of the
// thermal interface, laminate, copper and method reach both.
func TestSpotVariesLikeTheSensor(t *testing.T) {
	evaluate := func(sensor, spots string) *figure.Evaluation {
		p := lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts,
			measured(sensor, spots,
				lamptest.Change{", copper_coverage: 100 %", ""}, lamptest.Change{
					"thermal_impedance: 40 mm²·K/W",
					"thermal_impedance: {value: 40 mm²·K/W, min: 25 mm²·K/W, max: 60 mm²·K/W}",
				})...)
		return lamptest.EvaluateProject(t, p, engine.Options{CellM: 0.05, Solver: lamptest.Remembered})
	}
	at := evaluate("[7 mm, 0 mm]", "")
	sensor, _ := at.Figure("sensor.temperature")
	r := evaluate("[28 mm, 18 mm]",
		"{name: far, at: [20 mm, 10 mm], diameter: 4 mm}, {name: s, at: [7 mm, 0 mm], diameter: 2.2568 mm}")
	spot, ok := r.Figure("spot.s")
	if !ok || !(sensor.Hi > sensor.Lo+1) {
		t.Fatal(ok, sensor)
	}
	// The spot has the footprint of a sensor, a square of 2 mm.
	lamptest.Near(t, "value", spot.Value, sensor.Value, 0.02, "the sensor")
	lamptest.Near(t, "P10", spot.Lo, sensor.Lo, 0.03, "the sensor")
	lamptest.Near(t, "P90", spot.Hi, sensor.Hi, 0.03, "the sensor")
	st := r.Sol.Cases[engine.Typical]
	for _, c := range []engine.BoardChange{
		{Coverage: 0.8, Laminate: 1, Field: 1.1},
		{Coverage: 0.5, Laminate: 1, Field: 1},
		{Coverage: 0.95, Laminate: 1, Field: 1},
		{Coverage: 0.8, Laminate: 1.2, Field: 1},
		{Coverage: 0.8, Laminate: 0.9, Field: 1},
		{Coverage: 0.8, Laminate: 1, Field: 1, TIMM2KW: 10e-6},
	} {
		want := at.Sys.Board.With(c).SensorRise(&st) - at.Sys.Board.SensorRise(&st)
		got := r.Sys.Board.With(c).SpotRise(1, &st) - r.Sys.Board.SpotRise(1, &st)
		lamptest.Near(t, fmt.Sprintf("change of the rise [K] with %+v", c), got, want, 0.06*math.Abs(want),
			"the sensor; the effects bend by some per cent over the disc")
		if want == 0 {
			t.Errorf("%+v changes nothing", c)
		}
	}
	if far := r.Value("spot.far"); !(far < spot.Value-0.2) {
		t.Errorf("the far spot has %.2f K, that beside the package %.2f K", far, spot.Value)
	}
}

// TestDefaultSpot: it is beside the hottest emitter, clear of lenses, packages, screws, sensor, holes and edge, and no
// free place of its grid is nearer to that emitter.
func TestDefaultSpot(t *testing.T) {
	r := lamptest.Evaluated(t, "long-tank")
	l, hot := r.Lamp, 0
	st := r.Sol.Cases[engine.Typical]
	for i, k := range st.JunctionK {
		if k > st.JunctionK[hot] {
			hot = i
		}
	}
	spots := r.Sys.Board.Spots
	if len(spots) != 1 || spots[0].Name != "hottest" || spots[0].Emitter != hot || spots[0].DiameterM != 5e-3 {
		t.Fatalf("%+v; the hottest emitter is %d", spots, hot)
	}
	s, e := &spots[0], &l.Emitters[hot]
	distance := math.Hypot(s.XM-e.XM, s.YM-e.YM)
	if _, roomM := l.NextToSpot(s); roomM < 0 {
		t.Errorf("the spot at (%g, %g) m is covered", s.XM, s.YM)
	}
	if lens := l.Optics[e.Optic].Lens.Diameter.SI / 2; distance < lens+2.5e-3-1e-9 {
		t.Errorf("the spot is %.2f mm from the centre of a lens of %.2f mm", 1e3*distance, 2e3*lens)
	}
	for i := -270; i <= 270; i++ {
		for j := -45; j <= 45; j++ {
			x, y := 0.5e-3*float64(i), 0.5e-3*float64(j)
			if math.Hypot(x-e.XM, y-e.YM) > distance-1e-9 || !free(l, x, y, 2.5e-3) {
				continue
			}
			if _, roomM := l.NextToSpot(&lamp.Spot{Point: geom.Point{XM: x, YM: y}, DiameterM: 5e-3}); roomM >= 0 {
				t.Fatalf("(%g, %g) m is free and nearer", x, y)
			}
		}
	}
}

// TestNoDefaultSpot: a package that covers its whole board leaves no free place, and no figure.
func TestNoDefaultSpot(t *testing.T) {
	r := lamptest.Evaluate(t)
	if n := len(r.Sys.Board.Spots); n != 0 {
		t.Errorf("%d spots on a board that is covered", n)
	}
	if _, ok := r.Figure("spot.hottest"); ok {
		t.Error("a figure of no spot")
	}
}

// TestWashersCover: a position is free only clear of the washers of the screws; 7 mm for M3 (ISO7089, from memory).
func TestWashersCover(t *testing.T) {
	l := lamptest.Evaluate(t, lamptest.Small("mounting: {method: screws, screw: M3, torque: 0.5 N·m, "+
		"at: [[20 mm, 0 mm]]}, shape: rectangle, length: 60 mm, width: 40 mm", "[-5 mm, 0 mm]")...).Lamp
	for _, tt := range []struct {
		x    float64
		free bool
	}{{14.5e-3, true}, {14.6e-3, false}, {20e-3, false}, {25.5e-3, true}} {
		if got := free(l, tt.x, 0, 2e-3); got != tt.free {
			t.Errorf("a disc of 4 mm at %g mm, beside a washer of 7 mm at 20 mm: free %v", 1e3*tt.x, got)
		}
	}
}

// free reports whether a disc lies on the board, clear of holes and of all that covers it.
func free(l *lamp.Lamp, xM, yM, radiusM float64) bool {
	return l.Design.Board.Free(l.Design.Covers(l.Project.Library), xM, yM, radiusM)
}
