package colour

import (
	"math"
	"sync"

	"lampwright/internal/spectrum"
)

// WhiteE is the equal-energy white, the usual reference of dominant wavelength for LEDs. Source: CIE127-2007, §7.
var WhiteE = XY{1.0 / 3, 1.0 / 3}

// Dominance is the dominant wavelength of a colour as seen from a white.
type Dominance struct {
	NM            float64 // dominant wavelength [nm], or the complementary one if Complementary
	Purity        float64 // excitation purity: distance from white over that of the spectral colour, 0 to 1
	Complementary bool    // purple: there is no dominant wavelength, NM is that of the opposite colour
	Valid         bool    // false for white itself, which has none
}

// The spectral locus is followed between these wavelengths; beyond them the chromaticity does not change with
// wavelength (CIE018-2019, Table 1: equal from 699 nm on) or turns back upon itself.
const (
	locusBlueNM = 380
	locusRedNM  = 699
)

var spectralLocus = sync.OnceValue(func() []XY {
	o := spectrum.Observer2Deg()
	out := make([]XY, 0, locusRedNM-locusBlueNM+1)
	for nm := locusBlueNM; nm <= locusRedNM; nm++ {
		i := nm - spectrum.LoNM
		xy, _ := XYZ{o.X[i], o.Y[i], o.Z[i]}.XY()
		out = append(out, xy)
	}
	return out
})

// SpectralLocus returns the chromaticities of single wavelengths from 380 nm to 699 nm, one a nanometre.
func SpectralLocus() []XY { return append([]XY(nil), spectralLocus()...) }

// DominantWavelength returns the dominant wavelength in nm and the excitation purity of a chromaticity against a white:
// where the ray from white through the colour meets the spectral locus. For purples, whose ray meets the line between
// the ends, it is the complementary wavelength, on the opposite ray, and the purity is counted to the purple line.
//
// Between 1 nm points the locus is a straight line.
// Source: CIE15-2018, §9.3.
func DominantWavelength(c, white XY) Dominance {
	dx, dy := c.X-white.X, c.Y-white.Y
	dist := math.Hypot(dx, dy)
	if !(dist > 1e-9) || !finite(dist) {
		return Dominance{}
	}
	if nm, reach, ok := meetLocus(white, dx, dy); ok {
		return Dominance{NM: nm, Purity: 1 / reach, Valid: true}
	}
	locus := spectralLocus()
	nm, _, ok := meetLocus(white, -dx, -dy)
	reach, okLine := meet(white, dx, dy, locus[0], locus[len(locus)-1])
	if !ok || !okLine {
		return Dominance{}
	}
	return Dominance{NM: nm, Purity: 1 / reach.t, Complementary: true, Valid: true}
}

// meetLocus returns where the ray from a point meets the spectral locus, in nm, and how many (dx, dy) it goes.
func meetLocus(from XY, dx, dy float64) (nm, reach float64, ok bool) {
	locus := spectralLocus()
	for i := 1; i < len(locus); i++ {
		if h, hit := meet(from, dx, dy, locus[i-1], locus[i]); hit && h.t > reach {
			nm, reach, ok = float64(locusBlueNM+i-1)+h.s, h.t, true
		}
	}
	return nm, reach, ok
}

// crossing is where a ray (t times its direction) meets a line (share s of the way).
type crossing struct{ t, s float64 }

func meet(from XY, dx, dy float64, a, b XY) (crossing, bool) {
	ex, ey := b.X-a.X, b.Y-a.Y
	det := ex*dy - ey*dx
	if math.Abs(det) < 1e-18 {
		return crossing{}, false
	}
	ax, ay := a.X-from.X, a.Y-from.Y
	h := crossing{t: (ex*ay - ey*ax) / det, s: (dx*ay - dy*ax) / det}
	const edge = 1e-9 // so that no ray slips between two pieces
	return h, h.t > 0 && h.s >= -edge && h.s <= 1+edge
}
