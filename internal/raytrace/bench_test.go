package raytrace

import (
	"fmt"
	"testing"

	"lampwright/internal/light"
)

// benchScenes are the scenes whose rate of tracing is measured: clear glass around water, glass followed face by face
// between backings and under a cover, and a lamp with a hood and a shade in a room.
func benchScenes(bands int) map[string]Scene {
	glass, _ := covered()
	glass.Bands = demo(bands).Bands
	return map[string]Scene{
		"water": {Tank: demo(bands)},
		"glass": {Tank: glass, GlassInterior: true},
		"hood": {
			Tank: demo(bands),
			Room: &Room{
				X0: -2, X1: 2, Y0: -1.5, Y1: 1, FloorM: -0.8, CeilingM: 1.7, OfFloor: 0.2, OfWalls: 0.6, OfCeiling: 0.8,
			},
			Objects: []Plate{
				{
					Name: "shade", Corner: [3]float64{-0.6, 0.3, 0.6}, EdgeA: [3]float64{1.2, 0, 0},
					EdgeB: [3]float64{0, 0, 0.3}, Reflectance: 0.7,
				},
				{
					Name: "hood", Corner: [3]float64{-0.6, -0.3, 0.9}, EdgeA: [3]float64{1.2, 0, 0},
					EdgeB: [3]float64{0, 0.6, 0}, Reflectance: 0.8,
				},
			},
		},
	}
}

// BenchmarkTrace measures paths and their straight segments per second of one core.
func BenchmarkTrace(b *testing.B) {
	for _, bands := range []int{1, 16} {
		scenes := benchScenes(bands)
		for _, name := range []string{"water", "glass", "hood"} {
			b.Run(fmt.Sprintf("%s/bands=%d", name, bands), func(b *testing.B) { benchmarkTrace(b, scenes[name]) })
		}
	}
}

func benchmarkTrace(b *testing.B, s Scene) {
	g := light.Grid{NX: 100, NY: 60}
	rec := []Receiver{{Region: OnSubstrate, Grid: g}, {Region: OnPlane, Plane: s.Tank.Surface(), Grid: g}}
	em := nine(b)
	var paths, segments int64
	start := cpuTime()
	for b.Loop() {
		tr := trace(b, s, em, rec, Options{Paths: 200_000, Groups: make([]int, len(em)), Workers: 1, Seed: 1})
		paths += tr.Paths[0]
		segments += tr.Segments
	}
	core := (cpuTime() - start).Seconds()
	b.ReportMetric(float64(paths)/core/1e6, "Mrays/core-s")
	b.ReportMetric(float64(segments)/core/1e6, "Msegments/core-s")
}
