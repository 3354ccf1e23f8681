package colour

import (
	"fmt"
	"math"

	"lampwright/internal/spectrum"
)

// RGB is a screen colour in sRGB, 8 bits each.
type RGB struct {
	R, G, B uint8
	Clipped bool // a screen cannot show it; this is the nearest by cutting off
}

// Hex returns the colour as #rrggbb.
func (c RGB) Hex() string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }

// bradford takes X, Y, Z to the cone-like signals in which adaptation is a gain each.
// Source: Lam1985, as printed in ICC.1:2022, annex E.
var bradford = mat3{{0.8951, 0.2664, -0.1614}, {-0.7502, 1.7135, 0.0367}, {0.0389, -0.0685, 1.0296}}

// sRGBFromXYZ takes X, Y, Z for white D65 with Y = 1 to linear sRGB. Source: IEC61966-2-1, eq. 7.
var sRGBFromXYZ = mat3{{3.2406, -1.5372, -0.4986}, {-0.9689, 1.8758, 0.0415}, {0.0557, -0.2040, 1.0570}}

var whiteD65 = XYZ{0.95047, 1, 1.08883}

// Adapt returns the colour that looks to an eye adapted to the white `to` as c does to one adapted to `from`, adaptation
// being complete. Source: Lam1985 (Bradford transform).
func Adapt(c, from, to XYZ) XYZ {
	f := bradford.apply([3]float64{from.X, from.Y, from.Z})
	t := bradford.apply([3]float64{to.X, to.Y, to.Z})
	v := bradford.apply([3]float64{c.X, c.Y, c.Z})
	for i := range v {
		v[i] *= t[i] / f[i]
	}
	v = bradford.inverse().apply(v)
	return XYZ{v[0], v[1], v[2]}
}

// SRGB returns the screen colour of X, Y, Z relative to a white D65 of Y = 1.
// Source: IEC61966-2-1, eqs 7 to 10.
func SRGB(c XYZ) RGB {
	lin := sRGBFromXYZ.apply([3]float64{c.X, c.Y, c.Z})
	var out RGB
	var eight [3]uint8
	for i, v := range lin {
		if !(v > -1e-3 && v < 1+1e-3) {
			out.Clipped = true
		}
		v = math.Min(math.Max(v, 0), 1)
		if v <= 0.0031308 {
			v *= 12.92
		} else {
			v = 1.055*math.Pow(v, 1/2.4) - 0.055
		}
		eight[i] = uint8(math.Round(255 * v))
	}
	out.R, out.G, out.B = eight[0], eight[1], eight[2]
	return out
}

// Patch is a reflecting sample as a screen can show it.
type Patch struct {
	Name     string
	Lamp     RGB // under the lamp, to an eye adapted to it
	Daylight RGB // the same sample under D65
}

// Preview is how a lamp and samples under it look on a screen. It is a preview: a screen has three narrow primaries, its
// own white and its own brightness, and adaptation is taken as complete.
type Preview struct {
	Light   RGB // the light itself beside daylight D65, as bright as the screen can show it
	Patches []Patch
	Notes   []string
}

// Names of the test-colour samples. Source: CIE13.3-1995, Table 1.
var testColourNames = [15]string{
	"light greyish red", "dark greyish yellow", "strong yellow green", "moderate yellowish green", "light bluish green",
	"light blue", "light violet", "light reddish purple", "strong red", "strong yellow", "strong green", "strong blue",
	"light yellowish pink (skin)", "moderate olive green (leaf)", "skin, east Asian",
}

// NewPreview returns what a screen can show of a spectrum and of the samples of CIE 13.3 under it. It is an error if
// there is no light.
// Source: CIE13.3-1995 (samples), Lam1985 (adaptation), IEC61966-2-1 (screen).
func NewPreview(s spectrum.Spectrum) (Preview, error) {
	white := Tristimulus(s)
	xy, ok := white.XY()
	if !ok || !(white.Y > 0) {
		return Preview{}, fmt.Errorf("preview: there is no light")
	}
	var p Preview
	p.Light = brightest(xy.Scaled(1))
	if p.Light.Clipped {
		p.Notes = append(p.Notes, "the light is more saturated than a screen can show")
	}
	d65, ok := spectrum.Illuminant("D65")
	if !ok {
		panic("colour: no illuminant D65")
	}
	o := spectrum.Observer2Deg()
	lamp, day := newSampler(s, o), newSampler(d65, o)
	wl, wd := lamp.white(), day.white()
	clipped := false
	samples := testColours()
	for i := range samples {
		a := Adapt(lamp.sample(&samples[i]).times(1/wl.Y), wl.times(1/wl.Y), whiteD65)
		b := Adapt(day.sample(&samples[i]).times(1/wd.Y), wd.times(1/wd.Y), whiteD65)
		patch := Patch{Name: testColourNames[i], Lamp: SRGB(a), Daylight: SRGB(b)}
		clipped = clipped || patch.Lamp.Clipped
		p.Patches = append(p.Patches, patch)
	}
	if clipped {
		p.Notes = append(p.Notes, "some samples are more saturated under this lamp than a screen can show")
	}
	if t := CCT(xy); !t.Valid {
		p.Notes = append(p.Notes, "no eye adapts completely to a light this far from white; the samples would look more like the light")
	}
	return p, nil
}

// brightest returns a light at the largest brightness at which no channel of the screen overflows.
func brightest(c XYZ) RGB {
	lin := sRGBFromXYZ.apply([3]float64{c.X, c.Y, c.Z})
	return SRGB(c.times(1 / math.Max(lin[0], math.Max(lin[1], lin[2]))))
}
