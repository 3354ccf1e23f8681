package lamp_test

import (
	"testing"

	"lampwright/internal/intensity"
	"lampwright/internal/lamp"
	"lampwright/internal/lamptest"
	"lampwright/internal/project"
	"lampwright/internal/source"
)

// TestOpenWater: the tank of 900 mm × 450 mm with 370 mm of water behind 8 mm of glass. By hand:
// 2 · 1.35 m · 0.37 m/(0.13 + 0.008) m²·K/W = 7.239 W/K (ISO6946, cited from memory).
func TestOpenWater(t *testing.T) {
	p := lamptest.Example(t, "long-tank")
	open := func() (areaM2, tankWK float64, ok bool) {
		l, err := lamp.New(p, intensity.FromLens)
		if err != nil {
			t.Fatal(err)
		}
		w, ok := l.OpenWater()
		return w.AreaM2, w.TankWK, ok
	}
	if _, _, ok := open(); ok {
		t.Error("a lamp that hangs free is over the water of a hood")
	}
	p.Design.Sink.Hood = &project.Hood{WallArea: source.Value{SI: 0.6, Set: true}}
	areaM2, tankWK, ok := open()
	if !ok {
		t.Fatal("a hood over a tank is over no water")
	}
	lamptest.Near(t, "open water", areaM2, 0.405, 1e-9, "900 mm × 450 mm")
	lamptest.Near(t, "water to room", tankWK, 7.239, 0.001, "by hand")
	p.Design.Installation.Water.SI = 0
	if _, _, ok := open(); ok {
		t.Error("a hood over a dry tank is over water")
	}
}
