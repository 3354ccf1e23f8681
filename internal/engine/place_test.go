package engine_test

import (
	"fmt"
	"math"
	"testing"

	"lampwright/internal/lamp"
	"lampwright/internal/lamptest"
)

// TestWarmestPlaceIsTheSensor: a sensor that is moved to the warmest free position reads the temperature that was
// stated for it, and no sensor of a raster of free positions reads more.
func TestWarmestPlaceIsTheSensor(t *testing.T) {
	sensor := func(x, y float64) lamptest.Change {
		return lamptest.Change{
			"thermal_interface: {part: grease}", fmt.Sprintf("thermal_interface: {part: grease}\n"+
				"sensor: {part: ntc-10k, at: [%g mm, %g mm]}", 1e3*x, 1e3*y),
		}
	}
	lamps := func(x, y float64) []lamptest.Change {
		return lamptest.Small("shape: rectangle, length: 60 mm, width: 40 mm", "[-5 mm, 0 mm]", sensor(x, y))
	}
	r := lamptest.Evaluate(t, lamps(25e-3, 15e-3)...)
	best, ok, err := r.Sys.WarmestPlace(&r.Sol)
	if !ok || err != nil {
		t.Fatal(ok, err)
	}
	there := lamptest.Evaluate(t, lamps(best.XM, best.YM)...)
	lamptest.Near(t, "sensor at the warmest place", there.Value("sensor.temperature"), best.TempK, 1e-6,
		"the same function of the same field")
	if far := r.Value("sensor.temperature"); !(best.TempK > far+0.5) {
		t.Errorf("the warmest place has %.2f K, a corner %.2f K", best.TempK, far)
	}
	for _, p := range [][2]float64{{-12e-3, 0}, {0, 8e-3}, {8e-3, 0}, {-6e-3, -6e-3}, {6e-3, 6e-3}} {
		if !free(r.Lamp, p[0], p[1], 2e-3) {
			continue
		}
		other := lamptest.Evaluate(t, lamps(p[0], p[1])...).Value("sensor.temperature")
		if other > best.TempK+0.02 {
			t.Errorf("%.3f K at (%g, %g) m, %.3f K at the warmest place", other, p[0], p[1], best.TempK)
		}
	}
	if !free(r.Lamp, best.XM, best.YM, 2e-3) {
		t.Errorf("(%g, %g) m is not free", best.XM, best.YM)
	}
}

// TestFreePlaces: they keep clear of body and edge, and touch what is covered to a step of 0.5 mm and its rounding.
func TestFreePlaces(t *testing.T) {
	l := lamptest.Evaluate(t, lamptest.Small("shape: rectangle, length: 60 mm, width: 9 mm", "[0 mm, 0 mm]")...).Lamp
	cover := math.Hypot(4e-3, 4e-3) / 2
	lamptest.Near(t, "covered by a body of 4 mm", l.CoverM(0), cover, 1e-9, "half its diagonal")
	places := l.FreePlaces(2e-3)
	if len(places) == 0 {
		t.Fatal("no place")
	}
	for _, p := range places {
		if d := math.Hypot(p.XM, p.YM); d < cover+2e-3-1e-9 || d > cover+2e-3+2.5e-3 || math.Abs(p.YM) > 2.5e-3+1e-9 {
			t.Errorf("(%g, %g) mm is %.3f mm from the centre of a body that covers %.3f mm", 1e3*p.XM, 1e3*p.YM, 1e3*d,
				1e3*cover)
		}
	}
	if got := (&lamp.Lamp{Design: l.Design}).FreePlaces(2e-3); len(got) != 0 {
		t.Errorf("a board without emitters has places %v", got)
	}
}
