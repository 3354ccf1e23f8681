// Package photometry reads and writes far-field photometric files after ANSI/IES LM-63, editions 1986 to 2019.
//
// In: the bytes of a file, or a far field to be written.
// Out: a File with intensities on an even description (polar angle from the aim, azimuth about it), what the file says
// of itself, and warnings in plain sentences; or the bytes of an LM-63:2002 file.
// Assumes: at most 16 MiB of text; the real files of the trade, which bend the standard, are read where their meaning
// is plain, with a warning.
// Leaves to others: what a pattern does with the intensities, and files on disk.
package photometry

import (
	"fmt"
	"math"

	"lampwright/internal/intensity"
)

// Edition is the edition of LM-63 that a file follows.
type Edition int

// The editions.
const (
	LM63_1986 Edition = 1986
	LM63_1991 Edition = 1991
	LM63_1995 Edition = 1995
	LM63_2002 Edition = 2002
	LM63_2019 Edition = 2019
)

// Type is the goniometer's arrangement of angles.
type Type int

// The types. C turns about the vertical through the luminaire; B and A serve floodlights and headlights.
const (
	TypeC Type = 1
	TypeB Type = 2
	TypeA Type = 3
)

// Keyword is one [KEY] line with what follows it.
type Keyword struct{ Key, Value string }

// File is what an LM-63 file holds.
type File struct {
	Edition       Edition
	Labels        []string // free text of 1986 files, and lines without a keyword
	Keywords      []Keyword
	Tilt          string // "NONE", "INCLUDE" or the name of a file that was not read
	Lamps         int
	LumensPerLamp float64 // −1 in absolute photometry
	Multiplier    float64
	BallastFactor float64
	Field12       float64 // ballast-lamp factor (1986, 1991), reserved (1995, 2002), kind of file (2019)
	InputW        float64
	Type          Type
	WidthM        float64 // luminous opening, along 90°–270°; negative means round, as in the file
	LengthM       float64 // along 0°–180°
	HeightM       float64
	VerticalDeg   []float64
	HorizontalDeg []float64
	Candela       [][]float64 // [horizontal][vertical], all factors applied [cd]
	Warnings      []string
}

// Absolute says that the candelas represent the luminaire as measured, and must not be scaled to other lamps.
func (f *File) Absolute() bool { return f.LumensPerLamp < 0 }

// Value returns the text of a keyword, joined with its [MORE] lines; "" if absent.
func (f *File) Value(key string) string {
	for _, k := range f.Keywords {
		if k.Key == key {
			return k.Value
		}
	}
	return ""
}

// FluxLm returns the luminous flux of the file's intensities [lm]: exact integrals of straight lines over the angle
// that the solid angle depends on, trapezoids over the other. Source: IESLM63 for the angles; the rule reproduces the
// totals stated in measured files within some hundredths of a per cent.
func (f *File) FluxLm() float64 {
	if f.Type != TypeC {
		return f.planarFlux()
	}
	h, rows := f.circle()
	v := radians(f.VerticalDeg)
	if len(h) == 1 {
		return 2 * math.Pi * sineIntegral(v, rows[0])
	}
	sum := 0.0
	for j := 1; j < len(h); j++ {
		sum += (h[j] - h[j-1]) * math.Pi / 180 / 2 * (sineIntegral(v, rows[j-1]) + sineIntegral(v, rows[j]))
	}
	return sum
}

// sineIntegral is ∫ I sin θ dθ of straight pieces.
func sineIntegral(theta, value []float64) float64 {
	sum := 0.0
	for i := 1; i < len(theta); i++ {
		a, b := theta[i-1], theta[i]
		s := (value[i] - value[i-1]) / (b - a)
		sum += value[i-1]*math.Cos(a) - value[i]*math.Cos(b) + s*(math.Sin(b)-math.Sin(a))
	}
	return sum
}

// cosineIntegral is ∫ I cos x dx of straight pieces.
func cosineIntegral(x, value []float64) float64 {
	sum := 0.0
	for i := 1; i < len(x); i++ {
		a, b := x[i-1], x[i]
		s := (value[i] - value[i-1]) / (b - a)
		sum += value[i]*math.Sin(b) - value[i-1]*math.Sin(a) + s*(math.Cos(b)-math.Cos(a))
	}
	return sum
}

// planarFlux integrates types A and B: dω = cos V dV dH for A, cos H dH dV for B, mirrored where only one half is
// given.
func (f *File) planarFlux() float64 {
	h, v := radians(f.HorizontalDeg), radians(f.VerticalDeg)
	mirror := 1.0
	if len(h) > 1 && f.HorizontalDeg[0] == 0 {
		mirror = 2
	}
	if len(h) < 2 {
		return 0
	}
	if f.Type == TypeA {
		sum := 0.0
		for j := 1; j < len(h); j++ {
			sum += (h[j] - h[j-1]) / 2 * (cosineIntegral(v, f.Candela[j-1]) + cosineIntegral(v, f.Candela[j]))
		}
		return mirror * sum
	}
	columns := make([]float64, len(v))
	for i := range v {
		across := make([]float64, len(h))
		for j := range h {
			across[j] = f.Candela[j][i]
		}
		columns[i] = cosineIntegral(h, across)
	}
	sum := 0.0
	for i := 1; i < len(v); i++ {
		sum += (v[i] - v[i-1]) / 2 * (columns[i-1] + columns[i])
	}
	return mirror * sum
}

// circle unfolds the symmetry of a type C file: planes from 0° to 360°, or one plane if it is the same all round.
func (f *File) circle() (hDeg []float64, rows [][]float64) {
	h, c := f.HorizontalDeg, f.Candela
	n := len(h)
	last := h[n-1]
	if n == 1 || (n == 2 && h[0] == 0 && last == 360) {
		return []float64{0}, c[:1]
	}
	switch {
	case last == 90 && h[0] == 0: // quadrant
		half, halfRows := mirrored(h, c, 90)
		return mirrored(half, halfRows, 180)
	case last == 180 && h[0] == 0:
		return mirrored(h, c, 180)
	case h[0] == 90 && last == 270:
		// Mirror about the 90°–270° plane: the other half lies at 180° − h.
		hDeg, rows = append(hDeg, 0), append(rows, f.plane(h, c, 180))
		for j := range h {
			if h[j] > 180 {
				continue
			}
			if at := 180 - h[j]; at > 0 && at < 90 {
				hDeg, rows = append(hDeg, at), append(rows, c[j])
			}
		}
		reverse(hDeg[1:], rows[1:])
		hDeg, rows = append(hDeg, h...), append(rows, c...)
		for j := n - 1; j >= 0; j-- {
			if h[j] >= 180 && h[j] < 270 {
				if at := 540 - h[j]; at < 360 {
					hDeg, rows = append(hDeg, at), append(rows, c[j])
				}
			}
		}
		return append(hDeg, 360), append(rows, rows[0])
	case last == 360:
		return h, c
	}
	return append(append(hDeg, h...), h[0]+360), append(append(rows, c...), c[0])
}

// plane interpolates the row of one horizontal angle.
func (f *File) plane(h []float64, c [][]float64, at float64) []float64 {
	for j := 1; j < len(h); j++ {
		if at <= h[j] {
			u := (at - h[j-1]) / (h[j] - h[j-1])
			row := make([]float64, len(c[j]))
			for i := range row {
				row[i] = c[j-1][i] + u*(c[j][i]-c[j-1][i])
			}
			return row
		}
	}
	return c[len(c)-1]
}

// mirrored appends the mirror image of the planes about the angle at which they end.
func mirrored(h []float64, c [][]float64, about float64) ([]float64, [][]float64) {
	h, c = append([]float64(nil), h...), append([][]float64(nil), c...)
	for j := len(h) - 2; j >= 0; j-- {
		h, c = append(h, 2*about-h[j]), append(c, c[j])
	}
	return h, c
}

func reverse(h []float64, c [][]float64) {
	for i, j := 0, len(h)-1; i < j; i, j = i+1, j-1 {
		h[i], h[j] = h[j], h[i]
		c[i], c[j] = c[j], c[i]
	}
}

// Distribution returns the far field by its own angles: of type C straight down is the optical axis and planes count
// counterclockwise seen from above; of types A and B the aim, H = V = 0, is the optical axis.
func (f *File) Distribution() (intensity.Distribution, error) {
	if f.Type == TypeC {
		return intensity.FromTable(f.Polar())
	}
	kind := intensity.PlanarB
	if f.Type == TypeA {
		kind = intensity.PlanarA
	}
	return intensity.FromPlanar(kind, radians(f.HorizontalDeg), radians(f.VerticalDeg), f.Candela, f.planarFlux())
}

// Polar returns the far field of a type C file as intensities [cd] at angles from straight down and about it [rad],
// candela[plane][angle], ready for a pattern table. One plane means that it is the same all round.
func (f *File) Polar() (thetaRad, phiRad []float64, candela [][]float64) {
	h, rows := f.circle()
	if n := len(h); h[n-1] > 360 { // closed from a first plane that is not at 0°
		h, rows = h[:n-1], rows[:n-1]
	}
	return radians(f.VerticalDeg), radians(h), f.poles(h, rows)
}

// poles makes all planes agree straight down and straight up, where they meet: there they count by the angle about the
// axis that they represent.
func (f *File) poles(hDeg []float64, rows [][]float64) [][]float64 {
	n, shares := len(f.VerticalDeg), intensity.PlaneShares(radians(hDeg))
	out := make([][]float64, len(rows))
	for j := range rows {
		out[j] = append([]float64(nil), rows[j]...)
	}
	for _, p := range []struct {
		index int
		deg   float64
	}{{0, 0}, {n - 1, 180}} {
		if f.VerticalDeg[p.index] != p.deg {
			continue
		}
		mean := 0.0
		for j, share := range shares {
			mean += rows[j][p.index] * share
		}
		for _, row := range out {
			row[p.index] = mean
		}
	}
	return out
}

func radians(deg []float64) []float64 {
	out := make([]float64, len(deg))
	for i, d := range deg {
		out[i] = d * math.Pi / 180
	}
	return out
}

// ScaleTo multiplies the candelas of a relative file so that they belong to lamps of lumens in all [lm].
func (f *File) ScaleTo(lumens float64) error {
	if f.Absolute() {
		return fmt.Errorf("absolute photometry is not scaled to other lamps; it represents the luminaire as measured")
	}
	stated := float64(f.Lamps) * f.LumensPerLamp
	if !(stated > 0) || !(lumens > 0) || math.IsInf(lumens, 1) {
		return fmt.Errorf("cannot scale from %g lm to %g lm", stated, lumens)
	}
	for _, row := range f.Candela {
		for i := range row {
			row[i] *= lumens / stated
		}
	}
	f.LumensPerLamp = lumens / float64(f.Lamps)
	return nil
}
