package light

import (
	"errors"
	"fmt"
	"math"
)

// Wall says what the vertical sides of the tank are made of.
type Wall int

// The kinds of wall.
const (
	WallGlass   Wall = iota // panes with air outside
	WallBlack               // everything that meets a wall is absorbed
	WallDiffuse             // opaque and matt, with Band.WallReflectance
)

// Tank is the place that is lit. With HeightM and WaterDepthM 0 it is a bench: a rectangle in air without walls.
type Tank struct {
	LengthM, WidthM float64 // inside, along x and y [m]
	HeightM         float64 // inside bottom to rim [m]
	WaterDepthM     float64 // inside bottom to water surface [m]; 0 means no water
	SubstrateM      float64 // inside bottom to the top of the substrate at the centre: the target plane [m]
	SubstrateSlopeX float64 // rise of the substrate along x [1]
	SubstrateSlopeY float64 // rise of the substrate along y [1]
	Walls           Wall
	GlassM          float64 // thickness of the panes [m]; needed for WallGlass
	GlassIndex      float64 // 0 means 1.52
	GlassPerM       float64 // absorption of the glass [1/m]
	WaterIndex      float64 // 0 means DefaultWaterIndex
	Bands           []Band  // none means one band without any loss
}

// Band is a slice of the spectrum in which the light is followed with one set of figures.
type Band struct {
	LambdaNM             float64 // centre wavelength [nm], for the record
	AbsorptionPerM       float64 // of the water, natural logarithm [1/m]
	ScatterPerM          float64 // of the water [1/m]
	SubstrateReflectance float64 // diffuse [1]
	WallReflectance      float64 // diffuse, for WallDiffuse [1]
	WaterIndex           float64 // 0 means the tank's; used by DirectMap only
}

// BandsFor returns one Band a wavelength with the figures of the water; substrateReflectance holds one value for all or
// one a wavelength.
func BandsFor(lambdaNM []float64, w Water, substrateReflectance ...float64) []Band {
	bands := make([]Band, len(lambdaNM))
	for i, l := range lambdaNM {
		bands[i] = Band{LambdaNM: l, AbsorptionPerM: Absorption(l, w), ScatterPerM: w.ScatterPerM}
		if n := len(substrateReflectance); n > 0 {
			bands[i].SubstrateReflectance = substrateReflectance[min(i, n-1)]
		}
	}
	return bands
}

// Emitter is one source of light with its lens, a point at (XM, YM, ZM), aimed straight down unless tilted.
type Emitter struct {
	Name           string
	XM, YM, ZM     float64 // place of the lens [m]; ZM counts from the inside bottom of the tank
	TiltRad        float64 // of the aim away from straight down [rad]
	TiltAzimuthRad float64 // towards which side, counterclockwise from x seen from above [rad]
	RollRad        float64 // turn of the pattern's C0 plane about the aim [rad]
	Pattern        Pattern
	LensDiameterM  float64 // bright opening, to say when the lens is too near to be a point; 0 leaves that out
}

// Plane is a target: z = ZM + SlopeX·x + SlopeY·y. At the level of the water surface or above it lies in air.
// Irradiance is per area of the plane itself and counts light from above only.
type Plane struct {
	Name           string
	ZM             float64
	SlopeX, SlopeY float64
}

// Grid is NX × NY cells over a rectangle; the zero rectangle means the inside of the tank.
type Grid struct {
	NX, NY         int
	X0, X1, Y0, Y1 float64 // [m]
}

// Centre returns the middle of cell (ix, iy) [m].
func (g Grid) Centre(ix, iy int) (x, y float64) {
	return g.X0 + (float64(ix)+0.5)*(g.X1-g.X0)/float64(g.NX), g.Y0 + (float64(iy)+0.5)*(g.Y1-g.Y0)/float64(g.NY)
}

// CellArea returns the area of one cell [m²], seen from above.
func (g Grid) CellArea() float64 {
	return (g.X1 - g.X0) * (g.Y1 - g.Y0) / float64(g.NX*g.NY)
}

// Surface returns the plane just above the water (or the target plane, where there is no water).
func (t Tank) Surface() Plane {
	if t.WaterDepthM == 0 {
		return t.Substrate()
	}
	return Plane{Name: "water surface", ZM: t.WaterDepthM}
}

// AtDepth returns the horizontal plane depthM below the water surface.
func (t Tank) AtDepth(depthM float64) Plane {
	return Plane{Name: fmt.Sprintf("%.0f mm below the surface", depthM*1000), ZM: t.WaterDepthM - depthM}
}

// Substrate returns the top of the substrate.
func (t Tank) Substrate() Plane {
	return Plane{Name: "substrate", ZM: t.SubstrateM, SlopeX: t.SubstrateSlopeX, SlopeY: t.SubstrateSlopeY}
}

func (t Tank) index() float64 {
	if t.WaterIndex == 0 {
		return DefaultWaterIndex
	}
	return t.WaterIndex
}

func (t Tank) glassIndex() float64 {
	if t.GlassIndex == 0 {
		return 1.52
	}
	return t.GlassIndex
}

func (t Tank) bands() []Band {
	if len(t.Bands) == 0 {
		return []Band{{}}
	}
	return t.Bands
}

// WithDefaults returns the tank with its default refractive indices and at least one band.
func (t Tank) WithDefaults() Tank {
	t.WaterIndex, t.GlassIndex, t.Bands = t.index(), t.glassIndex(), t.bands()
	return t
}

// bench says that there are neither walls nor water.
func (t Tank) bench() bool { return t.HeightM == 0 }

func (t Tank) grid(g Grid) (Grid, error) {
	if g.NX < 1 || g.NY < 1 || g.NX > 4096 || g.NY > 4096 {
		return g, fmt.Errorf("grid of %d × %d cells; each side needs 1 to 4096", g.NX, g.NY)
	}
	if g.X0 == 0 && g.X1 == 0 && g.Y0 == 0 && g.Y1 == 0 {
		g.X0, g.X1, g.Y0, g.Y1 = -t.LengthM/2, t.LengthM/2, -t.WidthM/2, t.WidthM/2
	}
	if !(g.X1 > g.X0) || !(g.Y1 > g.Y0) || !finite(g.X0+g.X1+g.Y0+g.Y1) {
		return g, fmt.Errorf("grid from (%g, %g) to (%g, %g) m has no area", g.X0, g.Y0, g.X1, g.Y1)
	}
	return g, nil
}

// Check says what is wrong with the tank, all at once.
func (t Tank) Check() error {
	var errs []error
	bad := func(format string, args ...any) { errs = append(errs, fmt.Errorf(format, args...)) }
	for _, v := range []struct {
		what string
		m    float64
		max  float64
	}{
		{"inside length", t.LengthM, 100},
		{"inside width", t.WidthM, 100},
		{"height", t.HeightM, 100},
		{"water depth", t.WaterDepthM, 100},
		{"substrate height", t.SubstrateM, 100},
		{"glass thickness", t.GlassM, 1},
		{"glass absorption", t.GlassPerM, 1e6},
	} {
		if !(v.m >= 0) || v.m > v.max {
			bad("%s %g is out of range 0 to %g", v.what, v.m, v.max)
		}
	}
	if t.LengthM == 0 || t.WidthM == 0 {
		bad("a tank or bench needs an inside length and width above 0")
	}
	if t.WaterDepthM > t.HeightM {
		bad("water stands %.4g m deep in a tank %.4g m high; lower the water or raise the rim", t.WaterDepthM, t.HeightM)
	}
	if !t.bench() && t.Walls == WallGlass && t.GlassM == 0 {
		bad("a tank with glass walls needs a glass thickness")
	}
	if t.Walls < WallGlass || t.Walls > WallDiffuse {
		bad("wall kind %d is not known", t.Walls)
	}
	if n := t.index(); !(n >= 1) || n > 2 {
		bad("refractive index %g of the water must lie between 1 and 2", n)
	}
	if n := t.glassIndex(); !(n >= 1) || n > 3 {
		bad("refractive index %g of the glass must lie between 1 and 3", n)
	}
	low, high := t.substrateSpan()
	if low < -1e-9 {
		bad("the substrate falls %.4g m below the inside bottom", -low)
	}
	if t.WaterDepthM > 0 && high >= t.WaterDepthM {
		bad("the substrate rises to %.4g m, above the water at %.4g m", high, t.WaterDepthM)
	}
	if !t.bench() && t.WaterDepthM == 0 && high >= t.HeightM {
		bad("the substrate rises to %.4g m, above the rim at %.4g m", high, t.HeightM)
	}
	for i, b := range t.bands() {
		if !(b.AbsorptionPerM >= 0) || !(b.ScatterPerM >= 0) || !finite(b.AbsorptionPerM) || !finite(b.ScatterPerM) {
			bad("band %d: absorption %g and scattering %g per metre must not be negative", i+1, b.AbsorptionPerM, b.ScatterPerM)
		}
		if !(b.SubstrateReflectance >= 0 && b.SubstrateReflectance <= 1 && b.WallReflectance >= 0 && b.WallReflectance <= 1) {
			bad("band %d: reflectances %g and %g must lie between 0 and 1", i+1, b.SubstrateReflectance, b.WallReflectance)
		}
		if b.WaterIndex != 0 && (!(b.WaterIndex >= 1) || b.WaterIndex > 2) {
			bad("band %d: refractive index %g of the water must lie between 1 and 2", i+1, b.WaterIndex)
		}
	}
	return errors.Join(errs...)
}

// substrateSpan returns the lowest and highest level of the substrate.
func (t Tank) substrateSpan() (low, high float64) {
	reach := math.Abs(t.SubstrateSlopeX)*t.LengthM/2 + math.Abs(t.SubstrateSlopeY)*t.WidthM/2
	return t.SubstrateM - reach, t.SubstrateM + reach
}

// checkEmitters says what is wrong with the places and patterns of the emitters, all at once.
func (t Tank) checkEmitters(emitters []Emitter) error {
	var errs []error
	for i, e := range emitters {
		name := e.Name
		if name == "" {
			name = fmt.Sprintf("emitter %d", i+1)
		}
		_, floor := t.substrateSpan()
		switch {
		case e.Pattern == nil:
			errs = append(errs, fmt.Errorf("%s has no pattern", name))
		case !finite(e.XM + e.YM + e.ZM + e.TiltRad + e.TiltAzimuthRad + e.RollRad):
			errs = append(errs, fmt.Errorf("%s has a place or aim that is not finite", name))
		case t.WaterDepthM > 0 && e.ZM < t.WaterDepthM+minClearanceM:
			errs = append(errs, fmt.Errorf("%s hangs %.4g m above the bottom, the water stands at %.4g m; a lamp must hang above the water", name, e.ZM, t.WaterDepthM))
		case e.ZM < floor+minClearanceM:
			errs = append(errs, fmt.Errorf("%s hangs %.4g m above the bottom, not above the target at %.4g m", name, e.ZM, floor))
		case e.ZM < t.HeightM && (math.Abs(e.XM) >= t.LengthM/2 || math.Abs(e.YM) >= t.WidthM/2):
			errs = append(errs, fmt.Errorf("%s hangs below the rim but outside the tank", name))
		}
	}
	return errors.Join(errs...)
}

// nearNotes says which emitters are too near a level to be points: E falls short of the inverse square law by
// 1 − h²/(h² + a²) for a disk of radius a, which is 1 % at ten radii. Source: Howell2010, element to disk.
func (t Tank) nearNotes(emitters []Emitter, levelM float64) []string {
	worst, name := 0.0, ""
	for _, e := range emitters {
		a, h := e.LensDiameterM/2, e.ZM-levelM
		if a <= 0 || h <= 0 {
			continue
		}
		if short := a * a / (a*a + h*h); short > worst {
			worst, name = short, e.Name
		}
	}
	if worst <= 0.01 {
		return nil
	}
	return []string{fmt.Sprintf("emitter %q is nearer to the plane than ten radii of its lens: straight below it the light is up to %.0f %% less than computed", name, 100*worst)}
}

// minClearanceM keeps the inverse square law away from its pole.
const minClearanceM = 1e-3
