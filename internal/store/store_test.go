package store_test

import (
	"context"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"lampwright/internal/engine"
	"lampwright/internal/intensity"
	"lampwright/internal/lamp"
	"lampwright/internal/lamptest"
	"lampwright/internal/light"
	"lampwright/internal/store"
)

// BenchmarkStoredLight asks: and how long, once they are kept on disk?
func BenchmarkStoredLight(b *testing.B) {
	lamp, err := lamp.New(lamptest.Example(b, "long-tank-first"), intensity.FromLens)
	if err != nil {
		b.Fatal(err)
	}
	in, err := engine.LightInputsOf(lamp, engine.Options{})
	if err != nil {
		b.Fatal(err)
	}
	kept := lamptest.MapStore{}
	for b.Loop() {
		if _, err := (&store.Memory{Store: kept}).Light(context.Background(), in); err != nil {
			b.Fatal(err)
		}
	}
}

// TestStore: what was kept gives the result of what was solved, and spoilt data are solved again.
func TestStore(t *testing.T) {
	kept := &lamptest.Memory{Data: map[string][]byte{}}
	text := func() string {
		o := engine.Options{Samples: -1, CellM: 0.05, Solver: &store.Memory{Store: kept}}
		out, err := json.Marshal(lamptest.EvaluateProject(t, lamptest.Load(t, lamptest.OneDie, lamptest.OneDieParts),
			o))
		if err != nil {
			t.Fatal(err)
		}
		return string(out)
	}
	solved := text()
	if len(kept.Data) == 0 {
		t.Fatal("nothing was kept")
	}
	if text() != solved {
		t.Error("with what was kept the result differs")
	}
	for k, v := range kept.Data {
		kept.Data[k] = append(v[:len(v)/2:len(v)/2], 'x')
	}
	if text() != solved {
		t.Error("with spoilt data the result differs")
	}
	for k := range kept.Data {
		kept.Data[k] = store.Seal(k, []byte("sealed, and yet no unit responses"))
	}
	if text() != solved {
		t.Error("with other people's data the result differs")
	}
}

// TestStoreNames wants a file that lies under the name of another one solved again: heat and light of a lamp that has
// another board and another tank, with as many emitters.
func TestStoreNames(t *testing.T) {
	text := func(kept *lamptest.Memory, other bool) string {
		lamp := lamptest.OneDie
		if other {
			lamp = strings.Replace(lamp, "length: 20 mm, width: 20 mm", "length: 30 mm, width: 20 mm", 1)
			lamp = strings.Replace(lamp, "hanging_height: 300 mm", "hanging_height: 250 mm", 1)
		}
		o := engine.Options{Samples: -1, CellM: 0.05, Solver: &store.Memory{Store: kept}}
		out, err := json.Marshal(lamptest.EvaluateProject(t, lamptest.Load(t, lamp, lamptest.OneDieParts), o))
		if err != nil {
			t.Fatal(err)
		}
		return string(out)
	}
	one, other := &lamptest.Memory{Data: map[string][]byte{}}, &lamptest.Memory{Data: map[string][]byte{}}
	text(one, false)
	want := text(other, true)
	exchanged := 0
	for k := range other.Data {
		for from, data := range one.Data {
			if from != k && from[:5] == k[:5] {
				other.Data[k] = data
				exchanged++
			}
		}
	}
	if exchanged != 2 {
		t.Fatalf("%d files were exchanged, want one of heat and one of light", exchanged)
	}
	if text(other, true) != want {
		t.Error("files under the names of others were believed")
	}
}

// Light of a tank with water, panes and a measured pattern comes back from the store as it was solved, in a lamp that
// is read anew; whatever it depends on has a key of its own, and what it does not depend on has the same.
func TestLightStore(t *testing.T) {
	kept := &lamptest.Memory{Data: map[string][]byte{}}
	keys := func() (n int) {
		for k := range kept.Data {
			if strings.HasPrefix(k, "light-") {
				n++
			}
		}
		return n
	}
	run := func(o engine.Options, lines ...string) string {
		r := lamptest.InPlaceWith(t, o, lines...)
		out, err := json.Marshal(r)
		if err != nil {
			t.Fatal(err)
		}
		return string(out)
	}
	o := func() engine.Options {
		return engine.Options{Samples: -1, CellM: 0.05, Solver: &store.Memory{Store: kept}}
	}
	solved := run(engine.Options{Samples: -1, CellM: 0.05})
	for i, lines := range [][]string{{}, {}, {"altitude: 300 m"}} {
		out := run(o(), lines...)
		if i < 2 && out != solved {
			t.Errorf("run %d with a store differs from one without", i+1)
		}
		if n := keys(); n != 1 {
			t.Errorf("%d lights are kept after %d runs of the same light", n, i+1)
		}
	}
	for i, lines := range [][]string{
		{"lamp_tilt: {tilt: 5 deg, azimuth: 0 deg}"},
		{"water_tint: tea"},
		{"substrate_reflectance: 30 %"},
		{"lamp_offset: [5 mm, 0 mm]"},
		{"surface_slope_rms: 2 deg"},
	} {
		run(o(), lines...)
		if n := keys(); n != i+2 {
			t.Errorf("%v: %d lights are kept, want %d", lines, n, i+2)
		}
	}
}

// TestLightVersion: light that was stored by an earlier program must not be taken for that of this one. If this fails
// since the maps are better now, raise lightVersion and set the sum anew.
func TestLightVersion(t *testing.T) {
	wide, err := intensity.CosinePower(1)
	if err != nil {
		t.Fatal(err)
	}
	tank := light.Tank{
		LengthM: 0.4, WidthM: 0.3, HeightM: 0.3, WaterDepthM: 0.26, SubstrateM: 0.05, GlassM: 0.005,
		Bands: []light.Band{{AbsorptionPerM: 0.3, SubstrateReflectance: 0.3}, {AbsorptionPerM: 1}},
	}
	em := light.Emitter{XM: 0.03, YM: 0.02, ZM: 0.46, TiltRad: 0.2, TiltAzimuthRad: 0.5, Distribution: wide}
	sum := 0.0
	for _, plane := range []light.Plane{tank.Surface(), tank.Substrate()} {
		m, err := light.WallMap(context.Background(), tank, []light.Emitter{em}, plane, light.Grid{NX: 8, NY: 6})
		if err != nil {
			t.Fatal(err)
		}
		for _, v := range m.Data {
			sum += v
		}
	}
	s, err := light.DirectFractions(tank, em)
	if err != nil {
		t.Fatal(err)
	}
	sum += s.Spill
	const version, want = 3, 689.172938431
	if store.LightVersion != version || math.Abs(sum/want-1) > 1e-9 {
		t.Errorf("version %d of the light sums to %.12g; version %d did to %.12g", store.LightVersion, sum, version,
			want)
	}
}
