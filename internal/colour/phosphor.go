package colour

import (
	"fmt"
	"math"

	"lampwright/internal/root"
	"lampwright/internal/spectrum"
)

// Humps of the model, in nm; widths as in spectrum.Peak. They were fitted to the CIE illuminants LED-B1 to LED-B5, which
// are measured whites with phosphor of 2700 K to 6600 K and Ra 77 to 85.
const (
	pumpNM, pumpBlueNM, pumpRedNM    = 450, 28, 21
	greenNM, greenBlueNM, greenRedNM = 544, 100, 123
	redNM, redBlueNM, redRedNM       = 611, 96, 126
	greenRangeNM, redRangeNM         = 27, 40
)

// whiteMix returns the spectrum of 1 W with the wanted chromaticity at a richness q, and whether positive shares give
// it. From −1 to 1 the green hump moves from yellow to green, which fills the gap beside the pump; from 1 to 2 the red
// hump moves to deep red.
func whiteMix(target XY, q, pump float64) (spectrum.Spectrum, bool) {
	humps := [3]spectrum.Peak{
		{CentreNM: pump, FWHMNM: pumpBlueNM, RedFWHMNM: pumpRedNM, RadiantShare: 1},
		{CentreNM: greenNM - greenRangeNM*math.Min(q, 1), FWHMNM: greenBlueNM, RedFWHMNM: greenRedNM, RadiantShare: 1},
		{CentreNM: redNM + redRangeNM*math.Max(q-1, 0), FWHMNM: redBlueNM, RedFWHMNM: redRedNM, RadiantShare: 1},
	}
	var parts [3]spectrum.Spectrum
	var rows mat3 // shares·rows = target·sum
	for i, h := range humps {
		s, err := spectrum.FromPeaks([]spectrum.Peak{h})
		if err != nil {
			panic("colour: phosphor model: " + err.Error())
		}
		parts[i] = s
		c := Tristimulus(s)
		rows[0][i], rows[1][i], rows[2][i] = c.X, c.Y, c.Z
	}
	shares := rows.inverse().apply([3]float64{target.X, target.Y, 1 - target.X - target.Y})
	for _, v := range shares {
		if !(v >= 0) {
			return spectrum.Spectrum{}, false
		}
	}
	return spectrum.Mix(shares[:], parts[:]).ScaleToW(1), true
}

// White is a modelled white emitter.
type White struct {
	Spectrum spectrum.Spectrum // 1 W
	Ra       float64           // of the model
	Notes    []string
}

// PhosphorWhite returns the spectrum of 1 W of a white emitter with phosphor of which only the colour temperature in
// kelvin and Ra are known: a pump at 450 nm and two phosphor humps, whose shares give the chromaticity exactly and whose
// places give Ra.
//
// cctK 2200 K to 8000 K on TargetXY, ra 65 to 95. Where no place gives that Ra, the nearest is taken and a note says so.
// It is a stand-in for a datasheet curve; Notes tell how good.
// Source: the shape is a rule of thumb (no source); fitted to CIE15-2018, Table 12.1.
func PhosphorWhite(cctK, ra float64) (White, error) {
	if !(cctK >= 2200 && cctK <= 8000) {
		return White{}, fmt.Errorf("white with phosphor of %g K lies outside 2200 K to 8000 K", cctK)
	}
	if !(ra >= 65 && ra <= 95) {
		return White{}, fmt.Errorf("white with phosphor of Ra %g lies outside 65 to 95; give its spectrum instead", ra)
	}
	target, err := TargetXY(cctK)
	if err != nil {
		return White{}, err
	}
	return whiteOf(target, ra)
}

// whiteOf searches the richness that gives Ra at a chromaticity.
func whiteOf(target XY, ra float64) (White, error) {
	at := func(q float64) (White, bool) {
		s, ok := whiteMix(target, q, pumpNM)
		if !ok {
			return White{}, false
		}
		r, err := RenderingIndices(s)
		return White{Spectrum: s, Ra: r.Ra}, err == nil
	}
	const least, most, steps = -1.0, 1.5, 25
	place := func(i int) float64 { return least + (most-least)*float64(i)/steps }
	var best, prev White
	for i := 0; i <= steps; i++ {
		w, ok := at(place(i))
		if !ok {
			prev = White{}
			continue
		}
		if best.Spectrum.Empty() || math.Abs(w.Ra-ra) < math.Abs(best.Ra-ra) {
			best = w
		}
		if !prev.Spectrum.Empty() && prev.Ra < ra && w.Ra >= ra {
			above := func(x float64) float64 {
				v, ok := at(x)
				if !ok {
					return math.NaN()
				}
				return v.Ra - ra
			}
			if x, err := root.Brent(above, place(i-1), place(i), 1e-6); err == nil {
				best, _ = at(x)
			}
			break
		}
		prev = w
	}
	if best.Spectrum.Empty() {
		return White{}, fmt.Errorf("the phosphor model cannot give x = %.4f, y = %.4f", target.X, target.Y)
	}
	best.Notes = []string{phosphorNote}
	if math.Abs(best.Ra-ra) > 1 {
		best.Notes = append(best.Notes, fmt.Sprintf("the phosphor model gives Ra %.0f here, not %.0f", best.Ra, ra))
	}
	return best, nil
}

// phosphorNote is what TestPhosphorWhiteAgainstCIE and TestPumpMatters found.
const phosphorNote = "modelled from colour temperature and Ra alone; against five measured whites the model is right within " +
	"2 % for lumens per watt and photons per lumen, 4 % for the shares of blue and red, 3 % for melanopic and blue-hazard " +
	"figures; a pump 10 nm off moves the last two by 9 % to 12 %"
