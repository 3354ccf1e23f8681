package assembly

import (
	"fmt"
	"math"
)

const (
	// MinAreaRatio is the minimum opening over wall area at which paste leaves the stencil. Source: IPC7525.
	MinAreaRatio = 0.66
	// MinAspectRatio is the minimum width over foil of a long opening. Source: IPC7525.
	MinAspectRatio = 1.5
	// longOpening is the length over width from which the aspect ratio rules. Source: IPC7525.
	longOpening = 5
	// minOrderKg is the minimum amount of paste that can be worked with. Rule of thumb (no source).
	minOrderKg = 0.010
)

// FluxDensity is the usual density of the flux in paste [kg/m³], cited from memory.
const FluxDensity = 1050

// Opening is a rectangular stencil opening, in metres.
type Opening struct {
	LengthM, WidthM float64
	FoilM           float64
	Coverage        float64 // fraction of the rectangle that is open, where it is windowed; 0 means 1
	Count           int
}

// Stencil is whether paste leaves an opening.
type Stencil struct {
	AreaRatio   float64
	AspectRatio float64
	Releases    bool // by the ratio that rules: aspect for long openings, else area
	Notes       []string
}

// Release returns the ratios of an opening [1]:
//
//	area ratio = L·W/(2·(L + W)·t) ≥ 0.66    aspect ratio = W/t ≥ 1.5 (where L > 5·W)
//
// The ratios are of the whole rectangle; the panes of a windowed opening are to be given one by one.
// Source: IPC7525, §3.2.
func (o Opening) Release() Stencil {
	long, short := math.Max(o.LengthM, o.WidthM), math.Min(o.LengthM, o.WidthM)
	s := Stencil{AreaRatio: long * short / (2 * (long + short) * o.FoilM), AspectRatio: short / o.FoilM}
	// A ratio that is met on paper must not fail by the last bit.
	const slack = 1e-9
	if s.Releases = s.AreaRatio >= MinAreaRatio-slack; long > longOpening*short {
		s.Releases = s.AspectRatio >= MinAspectRatio-slack
	}
	if o.Coverage > 0 && (o.Coverage < 0.5 || o.Coverage > 0.8) {
		s.Notes = append(s.Notes, fmt.Sprintf("%.0f %% of a large thermal pad is open; 50 to 80 %% keeps voids and floating small (rule of thumb)", 100*o.Coverage))
	}
	return s
}

// SmallestSquare returns the side of the smallest square opening that releases in metres: 4·0.66·t.
//
// Source: IPC7525, §3.2.
func SmallestSquare(foilM float64) float64 { return 4 * MinAreaRatio * foilM }

// Deposit is an amount of paste.
type Deposit struct {
	VolumeM3 float64
	MassKg   float64
	MetalM3  float64 // what is left after reflow
}

// Paste is a solder paste.
type Paste struct {
	MetalShare  float64 // by mass, 0.88 to 0.91 for printing
	MetalKgM3   float64
	FluxKgM3    float64 // 0 means FluxDensity
	Transferred float64 // fraction of the opening's volume that stays on the board, 0.8 to 1; 0 means 1
}

// Density returns the density of paste in kg/m³: 1/ρ = w/ρ_metal + (1 − w)/ρ_flux. Source: conservation of volume.
func (p Paste) Density() float64 {
	flux := p.FluxKgM3
	if flux == 0 {
		flux = FluxDensity
	}
	return 1 / (p.MetalShare/p.MetalKgM3 + (1-p.MetalShare)/flux)
}

// MetalVolume returns the fraction of paste's volume that is metal [1]: w·ρ/ρ_metal, about one half: the solder after reflow
// is half as high as the print. Source: conservation of volume.
func (p Paste) MetalVolume() float64 { return p.MetalShare * p.Density() / p.MetalKgM3 }

// Print returns the paste that openings leave on a board: V = N·A·t·TE.
//
// It is an error if a share is not in (0, 1] or a size is not above zero. Source: IPC7525 for the terms.
func (p Paste) Print(openings []Opening) (Deposit, error) {
	var d Deposit
	te := p.Transferred
	if te == 0 {
		te = 1
	}
	if !(p.MetalShare > 0 && p.MetalShare <= 1) || !(p.MetalKgM3 > 0) || !(te > 0 && te <= 1) {
		return d, fmt.Errorf("paste of %g metal at %g kg/m³ and transfer %g: shares run from 0 to 1 and density is above zero", p.MetalShare, p.MetalKgM3, te)
	}
	for _, o := range openings {
		open := o.Coverage
		if open == 0 {
			open = 1
		}
		if !(o.LengthM > 0) || !(o.WidthM > 0) || !(o.FoilM > 0) || !(open > 0 && open <= 1) || o.Count < 0 {
			return Deposit{}, fmt.Errorf("opening of %g m by %g m in a foil of %g m, %g open, %d times: sizes must be above zero", o.LengthM, o.WidthM, o.FoilM, open, o.Count)
		}
		d.VolumeM3 += float64(o.Count) * o.LengthM * o.WidthM * open * o.FoilM * te
	}
	d.MassKg = d.VolumeM3 * p.Density()
	d.MetalM3 = d.VolumeM3 * p.MetalVolume()
	return d, nil
}

// OrderKg returns how much paste to have at hand for one board in kilograms: twice the print, and at least 10 g.
//
// The allowance is for setting up, the bead before the squeegee and cleaning. Rule of thumb (no source).
func OrderKg(printKg float64) float64 { return math.Max(2*printKg, minOrderKg) }
