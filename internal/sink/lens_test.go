package sink

import (
	"math"
	"testing"
)

// TestLens: a disc without height, as wide as its face of 1 m²: G_o = h, G_b = k/g + 6.
func TestLens(t *testing.T) {
	l := Lens{DiameterM: 2 / math.Sqrt(math.Pi), GapM: 2e-3, FilmWm2K: 20}
	air, board := l.Conductances()
	if math.Abs(air-20) > 1e-9 || math.Abs(board-20) > 1e-9 {
		t.Errorf("conductances %g and %g W/K, want 20 and 0.028/0.002 + 6", air, board)
	}
	if got := l.Temperature(40, 300, 340); math.Abs(got-321) > 1e-9 {
		t.Errorf("temperature %g K, want (40 + 20·300 + 20·340)/40", got)
	}
	l.HeightM = l.DiameterM
	if air, _ = l.Conductances(); math.Abs(air-20*(1+math.Pi*l.DiameterM*l.DiameterM)) > 1e-9 {
		t.Errorf("with its side %g W/K, want π·D·H more", air)
	}
	if got := Growth(50e-6, 0.01, 40); math.Abs(got-20e-6) > 1e-15 {
		t.Errorf("growth %g m, want 20 µm", got)
	}
}

func TestMaterials(t *testing.T) {
	m, ok := MaterialOf("PMMA")
	if !ok || math.Abs(m.ServiceK-353.15) > 1e-9 || math.Abs(m.ExpansionPerK-70e-6) > 1e-12 || m.MinPeakNM != 390 {
		t.Errorf("PMMA is %+v (handbook values, from memory)", m)
	}
	if _, ok := MaterialOf("butter"); ok {
		t.Error("butter is no lens")
	}
}
