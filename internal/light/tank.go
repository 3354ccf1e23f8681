package light

import (
	"errors"
	"fmt"
	"math"
)

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// Wall is the material of the vertical walls of the tank.
type Wall int

// The kinds of wall.
const (
	WallGlass   Wall = iota // glass walls with air outside
	WallBlack               // all incident light is absorbed
	WallDiffuse             // opaque and diffuse, with Band.WallReflectance
)

// Tank is the illuminated space. With HeightM and WaterDepthM 0 it is a bench: a rectangle in air without walls.
type Tank struct {
	LengthM, WidthM float64 // inside, along x and y [m]
	HeightM         float64 // inside bottom to rim [m]
	WaterDepthM     float64 // inside bottom to water surface [m]; 0 means no water
	SubstrateM      float64 // inside bottom to the top of the substrate at the centre: the target plane [m]
	SubstrateSlopeX float64 // rise of the substrate along x [1]
	SubstrateSlopeY float64 // rise of the substrate along y [1]
	Walls           Wall
	GlassM          float64 // thickness of the glass walls [m]; needed for WallGlass
	GlassIndex      float64 // 0 means 1.52
	GlassPerM       float64 // absorption of the glass [1/m]
	WaterIndex      float64 // 0 means DefaultWaterIndex
	Panes           [4]Pane // backings of the glass walls, by Side
	Cover           Cover   // cover glass on the rim
	Bands           []Band  // none means one band without losses
}

// Band is a range of wavelengths with one set of optical constants.
type Band struct {
	LambdaNM             float64 // centre wavelength [nm], informative
	AbsorptionPerM       float64 // of the water, natural logarithm [1/m]
	ScatterPerM          float64 // of the water [1/m]
	SubstrateReflectance float64 // diffuse [1]
	WallReflectance      float64 // diffuse, for WallDiffuse [1]
	WaterIndex           float64 // 0 means the tank's; used by DirectMap only
}

// BandsFor returns one Band per wavelength with the absorption and scattering of the water; substrateReflectance
// holds one value for all or one per wavelength.
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

// IsBench reports that there are neither walls nor water.
func (t Tank) IsBench() bool { return t.HeightM == 0 }

// Check reports invalid values of the tank, all in one error.
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
		bad("water depth %.4g m exceeds the tank height %.4g m; lower the water or raise the rim", t.WaterDepthM,
			t.HeightM)
	}
	if !t.IsBench() && t.Walls == WallGlass && t.GlassM == 0 {
		bad("a tank with glass walls needs a glass thickness")
	}
	if t.Walls < WallGlass || t.Walls > WallDiffuse {
		bad("unknown wall type %d", t.Walls)
	}
	if n := t.index(); !(n >= 1) || n > 2 {
		bad("refractive index %g of the water is outside 1 to 2", n)
	}
	if n := t.glassIndex(); !(n >= 1) || n > 3 {
		bad("refractive index %g of the glass is outside 1 to 3", n)
	}
	low, high := t.SubstrateSpan()
	if low < -1e-9 {
		bad("the substrate is %.4g m below the inside bottom at its lowest point", -low)
	}
	if t.WaterDepthM > 0 && high >= t.WaterDepthM {
		bad("the substrate rises to %.4g m, above the water at %.4g m", high, t.WaterDepthM)
	}
	if !t.IsBench() && t.WaterDepthM == 0 && high >= t.HeightM {
		bad("the substrate rises to %.4g m, above the rim at %.4g m", high, t.HeightM)
	}
	for _, p := range t.Panes {
		errs = append(errs, p.check())
	}
	errs = append(errs, t.Cover.check())
	for i, b := range t.bands() {
		if !(b.AbsorptionPerM >= 0) || !(b.ScatterPerM >= 0) || !finite(b.AbsorptionPerM) || !finite(b.ScatterPerM) {
			bad("band %d: absorption %g/m and scattering %g/m must be finite and at least 0", i+1, b.AbsorptionPerM,
				b.ScatterPerM)
		}
		if !(b.SubstrateReflectance >= 0 && b.SubstrateReflectance <= 1 && b.WallReflectance >= 0 &&
			b.WallReflectance <= 1) {
			bad("band %d: reflectances %g and %g must be from 0 to 1", i+1, b.SubstrateReflectance, b.WallReflectance)
		}
		if b.WaterIndex != 0 && (!(b.WaterIndex >= 1) || b.WaterIndex > 2) {
			bad("band %d: refractive index %g of the water is outside 1 to 2", i+1, b.WaterIndex)
		}
	}
	return errors.Join(errs...)
}

// SubstrateSpan returns the lowest and highest level of the substrate.
func (t Tank) SubstrateSpan() (low, high float64) {
	reach := math.Abs(t.SubstrateSlopeX)*t.LengthM/2 + math.Abs(t.SubstrateSlopeY)*t.WidthM/2
	return t.SubstrateM - reach, t.SubstrateM + reach
}
