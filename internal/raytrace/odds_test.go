package raytrace

import (
	"math"
	"math/rand/v2"
	"testing"

	"lampwright/internal/light"
)

// The odds decide as the formula does, for every random number and cosine, also near the critical angle and at grazing
// incidence.
func TestOddsDecideAsTheFormula(t *testing.T) {
	tank, _ := covered()
	tank = tank.WithDefaults()
	sheets := map[string]sheet{
		"into water":  newSheet(&face{1, 1.333, unpolarised}),
		"out of it":   newSheet(&face{1.333, 1, unpolarised}),
		"across":      newSheet(&face{1.52, 1.333, across}),
		"in plane":    newSheet(&face{1.52, 1, inPlane}),
		"cover":       newSheet(tank.Cover),
		"no cover":    newSheet(light.Cover{}),
		"water cover": newSheet(light.Cover{ThicknessM: 1, PerM: 1}),
	}
	for i, n := range [2]float64{1, tank.WaterIndex} {
		for side, p := range panes(tank, n) {
			sheets[string(rune('0'+i))+"-"+string(rune('0'+side))] = p.sheet
		}
	}
	rng := rand.New(rand.NewPCG(1, 1))
	const draws = 200_000
	for name, s := range sheets {
		formula := 0
		for k := range draws {
			cos, u := rng.Float64(), rng.Float64()
			switch k % 4 {
			case 0: // near a threshold
				r, p := s.Split(cos)
				u = max(0, min(math.Nextafter(1, 0), r+p*float64(k/4%2)+1e-9*(rng.Float64()-0.5)))
			case 1:
				cos = min(1, math.Sqrt(1-1/(1.333*1.333))+1e-3*(rng.Float64()-0.5))
			case 2:
				cos *= 0.01
			}
			out := s.odds.outcome(cos, u)
			if out == undecided {
				formula++
				continue
			}
			r, p := s.Split(cos)
			rounding := math.Abs(u-r) < 1e-15 || math.Abs(u-(r+p)) < 1e-15
			if want := s.exactly(cos, u); out != want && !rounding {
				t.Fatalf("%s at cosine %.17g, number %.17g: outcome %d, want %d", name, cos, u, out, want)
			}
		}
		if formula > draws/2 { // the draws are chosen to be hard; of even ones it is some per cent
			t.Errorf("%s: %d of %d draws need the formula", name, formula, draws)
		}
	}
}

func TestTurn(t *testing.T) {
	for i := range 100_001 {
		u := float64(i) / 100_000
		sin, cos := math.Sincos(2 * math.Pi * u)
		s, c := turn(u)
		if math.Abs(s-sin) > 2e-15 || math.Abs(c-cos) > 2e-15 {
			t.Fatalf("turn(%g) = %.17g, %.17g; want %.17g, %.17g", u, s, c, sin, cos)
		}
	}
}

// The tabulated layers are the exponential function within 1e-11 of it, in the table and beyond it.
func TestLayers(t *testing.T) {
	perM := []float64{0, 0.02, 0.7, 3}
	l := newLayers(perM)
	for i := 1; i < 40_000; i++ {
		wet := float64(i) * 1e-4
		layer, rest := l.of(wet)
		for b, a := range perM {
			got, want := layer[b]*attenuation(a*rest), math.Exp(-a*wet)
			if math.Abs(got/want-1) > 1e-11 {
				t.Fatalf("%g/m over %g m passes %.15g, want %.15g", a, wet, got, want)
			}
		}
	}
}

// A band gives the same figures alone and beside a darker one, whether what it shares with others is kept once or
// for each.
func TestBandsBesideOthers(t *testing.T) {
	for name, s := range benchScenes(1) {
		s.Tank.Bands = []light.Band{{AbsorptionPerM: 0.3, SubstrateReflectance: 0.6, WallReflectance: 0.5}}
		more := s
		more.Tank.Bands = []light.Band{
			{AbsorptionPerM: 2, SubstrateReflectance: 0.1, WallReflectance: 0.2},
			s.Tank.Bands[0],
			{AbsorptionPerM: 0.3, SubstrateReflectance: 0.6, WallReflectance: 0.2},
		}
		matt := [2]Scene{s, more}
		matt[0].GlassInterior, matt[1].GlassInterior = false, false
		matt[0].Tank.Walls, matt[1].Tank.Walls = light.WallDiffuse, light.WallDiffuse
		for i, pair := range [][2]Scene{{s, more}, matt} {
			if name == "glass" && i == 1 {
				continue // its panes have backings
			}
			g := light.Grid{NX: 3, NY: 2}
			rec := []Receiver{
				{Region: OnSubstrate, Grid: g},
				{Region: OnPlane, Plane: s.Tank.Surface(), Grid: g},
				{Region: OnPlane, Plane: light.Plane{ZM: 0.2}, Grid: g},
			}
			o := Options{Paths: 20_000, Seed: 3}
			em := nine(t)[:1]
			one, three := trace(t, pair[0], em, rec, o), trace(t, pair[1], em, rec, o)
			for f := range TerminationCount {
				near(t, name+" "+f.String(), three.Terminations[0][1][f].Value, one.Terminations[0][0][f].Value, 1e-11)
			}
			for f := range FlowCount {
				near(t, name+" "+f.String(), three.Flows[0][1][f].Value, one.Flows[0][0][f].Value, 1e-11)
				near(t, name+" error", three.Flows[0][1][f].Err, one.Flows[0][0][f].Err, 1e-9)
			}
			for k := range rec {
				for c, v := range one.Maps[k].Response.Data {
					near(t, name+" cell", three.Maps[k].Response.Data[6+c], v, 1e-10*(1+v))
				}
			}
		}
	}
}
