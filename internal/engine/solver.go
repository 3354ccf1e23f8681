package engine

import (
	"context"
	"fmt"
	"math"

	"lampwright/internal/geom"
	"lampwright/internal/heat"
	"lampwright/internal/intensity"
	"lampwright/internal/light"
	"lampwright/internal/sink"
	"lampwright/internal/spectrum"
)

// Solver solves the slow parts of a lamp from plain physical inputs. Direct computes each; a store.Memory wraps it and
// returns earlier results. Callers do not write to results.
type Solver interface {
	// Board returns the unit responses of a board, in K/W.
	Board(ctx context.Context, b heat.Board, sources []heat.Source, probes []heat.Probe,
		o heat.Options) (*heat.Response, error)
	// SinkBase returns the unit responses of a heat sink's base at the footprints, [at][from] in K/W.
	SinkBase(p heat.Plate, feet []geom.Rect) ([][]float64, error)
	// Cooling returns the conductance of a heat sink of fins or pins against its base temperature.
	Cooling(in CoolingInputs) (Cooling, error)
	// Light returns the light of each emitter per watt that leaves its lens, on the target and the water surface.
	Light(ctx context.Context, in LightInputs) (*UnitLight, error)
	// LightChanges returns the light of each emitter in variants of the geometry over that of the nominal one.
	LightChanges(ctx context.Context, in LightChangesInputs) ([]LightChange, error)
	// Section returns the light of each emitter per watt on further planes, one response a plane.
	Section(ctx context.Context, in SectionInputs, progress func(done, total int)) ([]light.Response, error)
	// Lens returns the luminous intensity distribution that fits the figures of a lens's datasheet.
	Lens(d intensity.LensData) (intensity.Distribution, intensity.LensFit, error)
}

// Direct is the Solver that computes every result. Interreflection may keep the inter-reflection of a tank between
// calls; nil keeps nothing.
type Direct struct{ Interreflection *light.Interreflection }

var _ Solver = Direct{}

// Board solves the field of the board.
func (Direct) Board(ctx context.Context, b heat.Board, sources []heat.Source, probes []heat.Probe,
	o heat.Options,
) (*heat.Response, error) {
	return heat.Unit(ctx, b, sources, probes, o)
}

// SinkBase sums the exact series of the base.
func (Direct) SinkBase(p heat.Plate, feet []geom.Rect) ([][]float64, error) {
	return p.Unit(feet, BaseModes)
}

// Lens fits a distribution to the figures.
func (Direct) Lens(d intensity.LensData) (intensity.Distribution, intensity.LensFit, error) {
	return intensity.FromLens(d)
}

// CoolingInputs is what the cooling of a heat sink of fins or pins depends on.
type CoolingInputs struct {
	Shape       geometry
	Orientation sink.Orientation
	TiltRad     float64   // of an upright sink
	Askew       sink.Tilt // of a lying one
	AirK        float64
	PressurePa  float64
	Forced      bool          // by the fan
	Fan         sink.FanDrive // where it is
	Fractions   []float64     // of the fan's flow between the fins, where that is assumed: low, used, high
}

// LightInputs is what the unit responses of the light depend on.
type LightInputs struct {
	Tank     light.Tank
	Emitters []light.Emitter
	Types    []int               // by emitter
	Units    []spectrum.Spectrum // by type, of 1 W
	UmolJ    []float64           // by type
	LmW      []float64           // by type
	CellM    float64             // edge of a cell of the maps
	Notes    []string            // on the water, and on what the maps do not model
}

// SectionInputs is what the light on further planes depends on.
type SectionInputs struct {
	Light  LightInputs
	Planes []light.Plane
	Grid   light.Grid
}

// Section computes the maps of the planes.
func (d Direct) Section(ctx context.Context, in SectionInputs, progress func(done, total int)) ([]light.Response,
	error,
) {
	var out []light.Response
	shared := d.Interreflection
	if shared == nil {
		shared = &light.Interreflection{} // of these planes
	}
	for i, plane := range in.Planes {
		if progress != nil {
			progress(i, len(in.Planes))
		}
		m, err := light.WallMapWith(ctx, in.Light.Tank, in.Light.Emitters, plane, in.Grid, shared)
		if err != nil {
			return nil, fmt.Errorf("light %.0f mm above the bottom: %w", 1e3*plane.ZM, err)
		}
		out = append(out, m)
	}
	return out, nil
}

// Light computes the light of each emitter per watt on the water and at the target, over all reflections of the glass.
// Light that a level substrate reflects up and the water reflects back is included.
func (d Direct) Light(ctx context.Context, in LightInputs) (*UnitLight, error) {
	grid := CellsOver(in.Tank, in.CellM, 2)
	u := &UnitLight{Notes: append([]string(nil), in.Notes...)}
	var weights []BandWeights
	for k := range in.Units {
		weights = append(weights, WeightsOf(in.Units[k], in.UmolJ[k], in.LmW[k], max(len(in.Tank.Bands), 1)))
	}
	var err error
	if u.Target, err = d.unitMap(ctx, in, in.Tank.Substrate(), grid, weights, &u.Notes); err != nil {
		return nil, err
	}
	if in.Tank.WaterDepthM > 0 {
		if u.Surface, err = d.unitMap(ctx, in, in.Tank.Surface(), grid, weights, &u.Notes); err != nil {
			return nil, err
		}
	}
	if u.Shares, err = light.EachDirectFractions(in.Tank, in.Emitters); err != nil {
		return nil, fmt.Errorf("fractions of the light: %w", err)
	}
	for i, s := range u.Shares {
		w := weights[in.Types[i]]
		reaches := u.Target.incident(i, w)
		if in.Tank.HeightM == 0 {
			reaches = s.Surface // without glass it is the same integral, finer than the cells
		}
		u.Direct = append(u.Direct, reaches)
		if u.Surface != nil {
			u.Incident = append(u.Incident, u.Surface.incident(i, w))
		} else {
			u.Incident = append(u.Incident, u.Direct[i])
		}
	}
	return u, d.glassParts(ctx, in, weights, u)
}

// glassParts computes which part of the light at the target comes straight from the lens, and how much it would be with
// clean panes, on coarse cells.
func (d Direct) glassParts(ctx context.Context, in LightInputs, weights []BandWeights, u *UnitLight) error {
	if in.Tank.HeightM == 0 {
		u.Straight = u.Direct
		return nil
	}
	grid := CellsOver(in.Tank, max(in.Tank.LengthM, in.Tank.WidthM)/glassCells, 4)
	part := func(solve light.Solver, t light.Tank) ([]float64, error) {
		r, err := solve(ctx, t, in.Emitters, t.Substrate(), grid)
		if err != nil {
			return nil, fmt.Errorf("light by way of the glass: %w", err)
		}
		out := make([]float64, len(in.Emitters))
		area := u.Target.AreaM2 / float64(r.Cells())
		for e := range out {
			for b := range r.Bands {
				sum := 0.0
				for _, g := range r.Map(e, b) {
					sum += g
				}
				out[e] += sum * area * weights[in.Types[e]].Share[b]
			}
		}
		return out, nil
	}
	var err error
	if u.Straight, err = part(light.DirectMeans, in.Tank); err != nil || in.Tank.Plain() {
		return err
	}
	clean := in.Tank
	clean.Panes, clean.Cover = [4]light.Pane{}, light.Cover{}
	u.AllClean, err = part(light.WallMap, clean)
	return err
}

// glassCells is the number of cells along the longer side of the maps of glassParts; they are used as means only.
const glassCells = 12

func (d Direct) unitMap(ctx context.Context, in LightInputs, plane light.Plane, grid light.Grid, weights []BandWeights,
	notes *[]string,
) (*UnitMap, error) {
	r, err := light.WallMapWith(ctx, in.Tank, in.Emitters, plane, grid, d.Interreflection)
	if err != nil {
		return nil, fmt.Errorf("light on the %s: %w", plane.Name, err)
	}
	*notes = append(*notes, r.Notes...)
	area := in.Tank.LengthM * in.Tank.WidthM * math.Sqrt(1+plane.SlopeX*plane.SlopeX+plane.SlopeY*plane.SlopeY)
	m := &UnitMap{LengthM: in.Tank.LengthM, WidthM: in.Tank.WidthM, AreaM2: area, NX: grid.NX, NY: grid.NY}
	for e := range in.Emitters {
		w := weights[in.Types[e]]
		ppfd, lux := make([]float64, r.Cells()), make([]float64, r.Cells())
		mean := make([]float64, r.Bands)
		for b := range r.Bands {
			// Beyond one band, umolJ and lmW are per watt of the whole spectrum and include the fraction of the band.
			for c, g := range r.Map(e, b) {
				ppfd[c] += g * w.UmolJ[b]
				lux[c] += g * w.LmW[b]
				mean[b] += g
			}
			mean[b] /= float64(r.Cells())
		}
		m.PPFD, m.Lux, m.BandMean = append(m.PPFD, ppfd), append(m.Lux, lux), append(m.BandMean, mean)
	}
	return m, nil
}

// incident returns the fraction of an emitter's light that arrives on the plane over all paths; light that returns from
// below counts each time.
func (m *UnitMap) incident(e int, w BandWeights) (sum float64) {
	for b, g := range m.BandMean[e] {
		sum += g * w.Share[b]
	}
	return sum * m.AreaM2
}
