package study_test

import (
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/lamptest"
	"lampwright/internal/study"
)

// TestFirstPowerUp: the list has every channel in its order at the typical ambient temperature, the board with its
// range, and the current of an insulation tester: 2π · 50 Hz · 500 V · C, 0.417 mA at 2.656 nF.
func TestFirstPowerUp(t *testing.T) {
	r := lamptest.EvaluateProject(t, lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts, lamptest.Small(
		"shape: rectangle, length: 60 mm, width: 100 mm", "[0 mm, 0 mm]",
		lamptest.Change{"{typical: 20 °C", "{typical: 21 °C"},
		lamptest.Change{"forward_voltage_tempco: 0 mV/K", "forward_voltage_tempco: -2 mV/K"},
	)...), engine.Options{CellM: 0.05, Solver: lamptest.Remembered})
	p := study.FirstPowerUp(r)
	want := r.Sys.Bench(&r.Sol, 273.15+21)
	if len(p.Strings) != 1 || p.Strings[0].Channel != "a" || p.Strings[0].Count != 1 {
		t.Fatalf("strings %+v", p.Strings)
	}
	for i, at := range p.Strings[0].At {
		if at != want[0].Points[i] {
			t.Errorf("%+v, want %+v", at, want[0].Points[i])
		}
	}
	lamptest.Near(t, "limit", p.Strings[0].LimitV, 1.05*r.Value("a.voltage-max"), 1e-9, "1.05 of the figure")
	lamptest.Near(t, "shorted", p.Strings[0].ShortedV, want[0].LeastDie, 1e-12, "one die")
	lamptest.Near(t, "capacitance", p.CoreF, 2.656e-9, 3e-12, "plate capacitor of 60 cm², 100 µm, ε_r 5")
	lamptest.Near(t, "tester", p.CoreA, 0.417e-3, 1e-6, "2π f C V")
	f, _ := r.Figure("spot.hottest")
	if len(p.Board) != 1 || p.Board[0].Spot != "hottest" || !(f.Hi > f.Value+0.1) {
		t.Fatalf("board %+v", p.Board)
	}
	air := r.Sol.Cases[engine.Typical].AirK
	lamptest.Near(t, "spot, P90", p.Board[0].P90K, f.Hi, 1e-9, "the figure")
	lamptest.Near(t, "spot", p.Board[0].TempK, f.Value, 1e-9, "the figure")
	lamptest.Near(t, "spot, stop", p.Board[0].StopK-air, 1.3*(f.Hi-air), 1e-9, "1.3 times the rise of P90")
}
