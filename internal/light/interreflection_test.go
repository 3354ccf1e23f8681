package light

import (
	"context"
	"slices"
	"testing"

	"lampwright/internal/intensity"
)

// BenchmarkInterReflection asks: what does the light between substrate and surface cost in a review's map?
func BenchmarkInterReflection(b *testing.B) {
	for _, rho := range []float64{0, 0.15} {
		b.Run(map[bool]string{true: "without", false: "with"}[rho == 0], func(b *testing.B) {
			t, em := demo(23), nine(b)
			for i := range t.Bands {
				t.Bands[i].SubstrateReflectance = rho
			}
			start, n := cpuTime(), 0.0
			defer func() { b.ReportMetric((cpuTime()-start).Seconds()*1000/n, "core-ms") }()
			for b.Loop() {
				n++
				if _, err := WallMap(context.Background(), t, em, t.Substrate(), Grid{NX: 50, NY: 25}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// TestThrown: a map with the memory of one that was made before is, bit by bit, the one without, also once the tank
// is another and at other levels.
func TestThrown(t *testing.T) {
	wide, err := intensity.CosinePower(1)
	if err != nil {
		t.Fatal(err)
	}
	tank := Tank{LengthM: 0.6, WidthM: 0.3, HeightM: 0.36, WaterDepthM: 0.32, SubstrateM: 0.05, GlassM: 0.006, Bands: []Band{{AbsorptionPerM: 0.3, SubstrateReflectance: 0.2}, {AbsorptionPerM: 2}}}
	paler := tank
	paler.Bands = []Band{{AbsorptionPerM: 0.3, SubstrateReflectance: 0.4}, {AbsorptionPerM: 2, SubstrateReflectance: 0.1}}
	var memory Interreflection
	for i, tt := range []struct {
		tank    Tank
		zM, upM float64 // of the emitter, and of the plane over the substrate
	}{
		{tank, 0.62, 0},
		{tank, 0.7, 0},
		{tank, 0.7, 0.1},
		{paler, 0.7, 0},
		{paler, 0.5, 0},
		{tank, 0.5, 0.2},
		{tank, 0.5, 0},
		// Planes of one lamp, then another lamp, and another tank, at planes that were seen before.
		{tank, 0.7, 0.1},
		{tank, 0.7, 0.2},
		{tank, 0.7, 0.1},
		{tank, 0.62, 0.1},
		{tank, 0.62, 0.2},
		{paler, 0.62, 0.1},
		{paler, 0.62, 0.2},
		{paler, 0.62, 0},
	} {
		emitters := []Emitter{{XM: 0.04, YM: 0.02, ZM: tt.zM, Distribution: wide}}
		plane := Plane{ZM: tt.tank.SubstrateM + tt.upM}
		// The second one is fine enough to contain the light on the substrate.
		for _, grid := range []Grid{{NX: 9, NY: 6}, {NX: 24, NY: 12}} {
			want := must(WallMap(context.Background(), tt.tank, emitters, plane, grid))
			got := must(WallMapWith(context.Background(), tt.tank, emitters, plane, grid, &memory))
			if !slices.Equal(want.Data, got.Data) {
				t.Errorf("step %d, %d × %d cells: with a memory the map is another", i, grid.NX, grid.NY)
			}
		}
	}
	if memory.light == nil || len(memory.toPlanes) == 0 {
		t.Error("the memory keeps neither the light on the substrate nor the kernels to a plane")
	}
	for i := range 40 {
		size := memory.grid.NX * memory.grid.NX * memory.grid.NY * memory.grid.NY
		memory.putToPlane(tank, memory.grid, 0.1+0.001*float64(i), make([][]float64, maxInterreflection/20/size))
	}
	if n := len(memory.toPlanes); n == 0 || n > 20 {
		t.Errorf("the memory keeps the kernels to %d planes, want as many as it has room for", n)
	}
	memory.put(tank, Grid{NX: 200, NY: 200}, make([][]float64, 2))
	if memory.grid.NX == 200 {
		t.Error("the memory keeps more than it may")
	}
}
