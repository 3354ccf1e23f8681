package casefile

import (
	"context"
	"fmt"
	"slices"

	"lampwright/internal/light"
	"lampwright/internal/raytrace"
)

// meterInputs are the inputs of the topic "meters": readings of cosine-corrected meters under point sources.
type meterInputs struct {
	Plane   string         `json:"plane"`
	Tank    tankDimensions `json:"tank"`
	Pattern *tankPattern   `json:"pattern"`
	Sources []tankSource   `json:"sources"`
	Meters  []pointMeter   `json:"meters"`
}

type pointMeter struct {
	ID string  `json:"id"`
	X  float64 `json:"x"`
	Y  float64 `json:"y"`
	Z  float64 `json:"z"`
}

// Bounds of a case of meters. meterRadiusM is that of the traced disk; the direct light is that at its centre.
// openM is the side of a bench, or of a tank without stated size: wide enough that no wall limits the light.
const (
	maxMeters    = 200
	meterRadiusM = 0.01
	openM        = 20
)

// meterPlanes are the words for the plane that a case is about.
var meterPlanes = []string{"", "bench", "rim", "surface", "water", "substrate", "tank"}

// runMeters returns the illuminance on each meter by the light that comes straight from the lenses [lx].
func runMeters(ctx context.Context, d document, inputs *node) (map[string]any, error) {
	var c meterInputs
	dec := decoder{document: d, guide: topicsGuide}
	dec.fill(inputs, &c, "")
	if err := dec.err(); err != nil {
		return nil, err
	}
	tank, receivers, err := c.scene()
	if err != nil {
		return nil, d.placed(inputs, err)
	}
	sources := tankCase{Pattern: c.Pattern, Sources: c.Sources}
	var emitters []light.Emitter
	for i := range c.Sources {
		em, err := sources.emitter(i)
		if err != nil {
			return nil, d.placed(inputs, at(fmt.Sprintf("sources[%d]", i), err))
		}
		emitters = append(emitters, em)
	}
	// Nothing reflects here, so that a few paths do: the direct light is exact.
	tr, err := raytrace.Trace(ctx, raytrace.Scene{Tank: tank}, emitters, receivers,
		raytrace.Options{Paths: 8, Tiles: 8, ExactMeters: true})
	if err != nil {
		return nil, d.placed(inputs, fmt.Errorf("trace the light: %w", err))
	}
	out := map[string]any{}
	for k, m := range c.Meters {
		lux := 0.0
		for e := range emitters {
			lux += c.Sources[e].Lumens * tr.Maps[k].Direct[e]
		}
		out["lux."+m.ID] = lux
	}
	return out, nil
}

// scene returns the tank or bench, and the meters as receivers.
func (c *meterInputs) scene() (light.Tank, []raytrace.Receiver, error) {
	sources := tankCase{Tank: c.Tank}
	tank := sources.tank()
	tank.Walls = light.WallBlack
	if tank.LengthM == 0 {
		tank.LengthM = openM
	}
	if tank.WidthM == 0 {
		tank.WidthM = openM
	}
	tank.HeightM = max(tank.HeightM, tank.WaterDepthM)
	if err := tank.Check(); err != nil {
		return tank, nil, at("tank", err)
	}
	if !slices.Contains(meterPlanes, c.Plane) {
		return tank, nil, at("plane", fmt.Errorf("plane %q is not known; use one of %q", c.Plane, meterPlanes[1:]))
	}
	if len(c.Sources) == 0 || len(c.Sources) > maxTankSources {
		return tank, nil, at("sources", fmt.Errorf("%d sources; a case needs 1 to %d", len(c.Sources), maxTankSources))
	}
	if len(c.Meters) == 0 || len(c.Meters) > maxMeters {
		return tank, nil, at("meters", fmt.Errorf("%d meters; a case needs 1 to %d", len(c.Meters), maxMeters))
	}
	lowest := c.Sources[0].Z
	for _, s := range c.Sources {
		lowest = min(lowest, s.Z)
	}
	var out []raytrace.Receiver
	names := map[string]bool{}
	for i, m := range c.Meters {
		where := fmt.Sprintf("meters[%d]", i)
		if m.ID == "" || names[m.ID] {
			return tank, nil, at(where, fmt.Errorf("meter %d needs an id of its own", i+1))
		}
		names[m.ID] = true
		if !(m.Z >= 0) || !(m.Z < lowest) {
			return tank, nil, at(where, fmt.Errorf("meter %q at %g m must be below all sources and not below 0",
				m.ID, m.Z))
		}
		out = append(out, raytrace.Receiver{
			Name: m.ID, Region: raytrace.OnMeter, At: [3]float64{m.X, m.Y, m.Z}, Facing: [3]float64{0, 0, 1},
			Radius: meterRadiusM,
		})
	}
	return tank, out, nil
}
