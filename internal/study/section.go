package study

import (
	"context"
	"errors"
	"fmt"
	"math"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/light"
	"lampwright/internal/project"
)

// Kinds of sections through the installation.
const (
	TargetCut  = "target"  // the target, as in the figures; of ChannelMaps alone
	SurfaceCut = "surface" // the water surface, as in the figures; of ChannelMaps alone
	LevelCut   = "level"   // a horizontal plane; its position is the height above the inside bottom, or the bench
	AlongCut   = "along"   // a vertical plane along x; its position is y from the centre
	AcrossCut  = "across"  // a vertical plane along y; its position is x from the centre
)

// Section is a plane through the installation.
type Section struct {
	Kind string  `json:"kind"`
	AtM  float64 `json:"at_m"`
}

// SectionMap is the light on horizontal surfaces in the points of a section, [ny][nx], x fastest; of a vertical section
// the first row is the lowest.
type SectionMap struct {
	figure.Map
	Section
	LowM  float64  `json:"low_m"` // lower edge of a vertical section
	Notes []string `json:"notes,omitempty"`
}

// CutRows is the number of levels of a vertical section.
const CutRows = 18

// CutRange returns the range of positions of a section [m].
func CutRange(r *figure.Evaluation, kind string) (lo, hi float64) {
	in := r.Lamp.Design.Installation.Inside
	switch kind {
	case AlongCut:
		return -in.Width.SI / 2, in.Width.SI / 2
	case AcrossCut:
		return -in.Length.SI / 2, in.Length.SI / 2
	}
	return LowM(r), HighM(r)
}

// LowM is the lowest level that is nowhere below the substrate.
func LowM(r *figure.Evaluation) float64 {
	p := &r.Lamp.Design.Installation
	x, y := p.RiseM()
	return p.Substrate.SI + math.Abs(x)*p.Inside.Length.SI/2 + math.Abs(y)*p.Inside.Width.SI/2
}

// HighM is the highest level of a section: the rim, or 60 % of the height of the lenses where there is no glass.
func HighM(r *figure.Evaluation) float64 {
	p := &r.Lamp.Design.Installation
	if p.Kind.S == project.Tank {
		return p.Inside.Height.SI
	}
	low := LowM(r)
	return low + 0.6*(r.Lamp.LensLevelM()-low)
}

// MapSection returns the light on horizontal surfaces in the points of a section, at typical ambient, by the same maps
// as the figures.
//
// A level on the water surface is the one just above it. With a store.Memory the unit responses are kept, so that
// another current needs no new maps. progress may be nil.
func MapSection(ctx context.Context, r *figure.Evaluation, c Section, progress func(done, total int)) (*SectionMap,
	error,
) {
	tank, unit, err := checkedCut(ctx, r, c, progress)
	if err != nil {
		return nil, err
	}
	umol, lm := bandLight(r, max(len(tank.Bands), 1))
	out := &SectionMap{Section: c}
	for _, u := range unit {
		out.PPFD, out.Lux = append(out.PPFD, u.Mix(umol)...), append(out.Lux, u.Mix(lm)...)
	}
	out.NX, out.NY = unit[0].Grid.NX, len(unit)
	switch c.Kind {
	case LevelCut:
		out.LengthM, out.WidthM, out.NY, out.LowM = tank.LengthM, tank.WidthM, unit[0].Grid.NY, c.AtM
		out.Title = levelName(r, c.AtM)
	default:
		out.LowM = LowM(r)
		out.LengthM, out.WidthM = tank.LengthM, HighM(r)-out.LowM
		out.Title = "longitudinal section"
		if c.Kind == AcrossCut {
			out.Title, out.LengthM, out.NX = "transverse section", tank.WidthM, unit[0].Grid.NY
		}
	}
	seen := map[string]bool{}
	for _, u := range unit {
		for _, n := range u.Notes {
			if !seen[n] {
				seen[n] = true
				out.Notes = append(out.Notes, n)
			}
		}
	}
	return out, nil
}

// MapLevels returns the light on n ≥ 2 level planes, evenly spaced from the highest to the lowest: from the water
// surface to the highest corner of the substrate, or where there is no water from the highest level of a section.
func MapLevels(ctx context.Context, r *figure.Evaluation, n int) ([]*SectionMap, error) {
	low, high := LowM(r), HighM(r)
	if water := r.Lamp.WaterM(); water > low {
		high = water
	}
	var out []*SectionMap
	for i := range n {
		z := high - (high-low)*float64(i)/float64(n-1)
		m, err := MapSection(ctx, r, Section{LevelCut, z}, nil)
		if err != nil {
			return nil, err
		}
		out = append(out, m)
	}
	return out, nil
}

// ChannelMap is the light of one channel in the points of a section.
type ChannelMap struct {
	Name     string    `json:"name"`
	PPFD     []float64 `json:"ppfd"`
	Lux      []float64 `json:"lux"`
	MeanPPFD float64   `json:"mean_ppfd"`
	MeanLux  float64   `json:"mean_lux"`
}

// ChannelMaps returns the light of each channel in the points of a section, of the target or of the water surface, at
// typical ambient. Light is linear in the emitters: the maps add up to that of all channels.
func ChannelMaps(ctx context.Context, r *figure.Evaluation, c Section) ([]ChannelMap, error) {
	if c.Kind == TargetCut || c.Kind == SurfaceCut {
		m := r.Sys.Light.Target
		if c.Kind == SurfaceCut {
			if m = r.Sys.Light.Surface; m == nil {
				return nil, errors.New("there is no water surface")
			}
		}
		return byChannel(r, func(watts []float64) (ppfd, lux []float64) {
			return engine.Combine(m.PPFD, watts), engine.Combine(m.Lux, watts)
		}), nil
	}
	tank, unit, err := checkedCut(ctx, r, c, nil)
	if err != nil {
		return nil, err
	}
	umol, lm := bandLight(r, max(len(tank.Bands), 1))
	only := func(of [][]float64, watts []float64) [][]float64 {
		out := make([][]float64, len(of))
		for e := range of {
			out[e] = of[e]
			if watts[e] == 0 {
				out[e] = make([]float64, len(of[e]))
			}
		}
		return out
	}
	return byChannel(r, func(watts []float64) (ppfd, lux []float64) {
		u, l := only(umol, watts), only(lm, watts)
		for _, response := range unit {
			ppfd, lux = append(ppfd, response.Mix(u)...), append(lux, response.Mix(l)...)
		}
		return ppfd, lux
	}), nil
}

// byChannel makes the maps of each channel, from the emitted watts of its emitters and 0 of the others.
func byChannel(r *figure.Evaluation, of func(watts []float64) (ppfd, lux []float64)) []ChannelMap {
	out := make([]ChannelMap, len(r.Lamp.Channels))
	for i := range r.Lamp.Channels {
		ch := &r.Lamp.Channels[i]
		watts := make([]float64, len(r.Sol.EmittedW))
		for _, e := range ch.Emitters {
			watts[e] = r.Sol.EmittedW[e]
		}
		m := ChannelMap{Name: ch.Name}
		m.PPFD, m.Lux = of(watts)
		m.MeanPPFD, m.MeanLux = light.Summarise(m.PPFD).Mean, light.Summarise(m.Lux).Mean
		out[i] = m
	}
	return out
}

// levelName names a level.
func levelName(r *figure.Evaluation, zM float64) string {
	p := &r.Lamp.Design.Installation
	water := r.Lamp.WaterM()
	switch d := water - zM; {
	case water == 0:
		return fmt.Sprintf("%.0f mm above the %s", 1e3*(zM-p.Substrate.SI), r.Lamp.TargetName())
	case math.Abs(d) < 5e-4:
		return "water surface"
	case d > 0:
		return fmt.Sprintf("%.0f mm below the surface", 1e3*d)
	default:
		return fmt.Sprintf("%.0f mm above the water", -1e3*d)
	}
}

// bandLight returns photons [µmol/s] and lumens of each emitter after its lens in each band, at typical ambient.
func bandLight(r *figure.Evaluation, bands int) (umol, lm [][]float64) {
	for e, w := range r.Sol.EmittedW {
		sp := &r.Sys.Spectra[e]
		in := engine.WeightsOf(sp.Unit, sp.UmolJ, sp.LmW, bands)
		u, l := make([]float64, bands), make([]float64, bands)
		for b := range bands {
			u[b], l[b] = w*in.UmolJ[b], w*in.LmW[b]
		}
		umol, lm = append(umol, u), append(lm, l)
	}
	return umol, lm
}

// checkedCut returns the maps of a section per watt, one per level, and the tank; an error where the section is none of
// the installation.
func checkedCut(ctx context.Context, r *figure.Evaluation, c Section, progress func(done, total int)) (light.Tank,
	[]light.Response, error,
) {
	lo, hi := CutRange(r, c.Kind)
	if c.Kind != LevelCut && c.Kind != AlongCut && c.Kind != AcrossCut {
		return light.Tank{}, nil, fmt.Errorf("unknown section kind %q; use level, along or across", c.Kind)
	}
	if !(c.AtM >= lo-1e-9 && c.AtM <= hi+1e-9) {
		return light.Tank{}, nil, fmt.Errorf("section at %.0f mm is outside the installation, %.0f to %.0f mm", 1e3*c.AtM,
			1e3*lo, 1e3*hi)
	}
	tank, err := engine.TankOf(r.Lamp)
	if err != nil {
		return tank, nil, err
	}
	unit, err := unitCut(ctx, r, tank, c, progress)
	return tank, unit, err
}

// unitCut returns the maps of a section per watt, one per level.
func unitCut(ctx context.Context, r *figure.Evaluation, tank light.Tank, c Section,
	progress func(done, total int),
) ([]light.Response, error) {
	in, err := engine.LightInputsOf(r.Lamp, engine.Options{})
	if err != nil {
		return nil, err
	}
	grid := engine.CellsOver(tank, in.CellM, 4)
	grid.X0, grid.X1, grid.Y0, grid.Y1 = -tank.LengthM/2, tank.LengthM/2, -tank.WidthM/2, tank.WidthM/2
	var planes []light.Plane
	if c.Kind == LevelCut {
		plane := light.Plane{Name: "cut", ZM: c.AtM}
		if tank.WaterDepthM > 0 && math.Abs(c.AtM-tank.WaterDepthM) < 5e-4 {
			plane = tank.Surface()
		}
		planes = append(planes, plane)
	} else {
		low, high := LowM(r), HighM(r)
		for i := range CutRows {
			planes = append(planes, light.Plane{Name: "cut", ZM: low + (high-low)*(float64(i)+0.5)/CutRows})
		}
		// A row of cells, centred on the section, or at the wall.
		row := func(half, size, n float64) (float64, float64) {
			w := size / n
			at := math.Min(math.Max(c.AtM, -half+w/2), half-w/2)
			return at - w/2, at + w/2
		}
		if c.Kind == AlongCut {
			grid.Y0, grid.Y1 = row(tank.WidthM/2, tank.WidthM, float64(grid.NY))
			grid.NY = 1
		} else {
			grid.X0, grid.X1 = row(tank.LengthM/2, tank.LengthM, float64(grid.NX))
			grid.NX = 1
		}
	}
	return r.Sys.Solver.Section(ctx, engine.SectionInputs{Light: in, Planes: planes, Grid: grid}, progress)
}
