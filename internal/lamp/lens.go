package lamp

import (
	"math"

	"lampwright/internal/project"
	"lampwright/internal/sink"
)

// Values of a lens that its datasheet often does not state; rules of thumb (no source).
const (
	UsualLensGapM = 0.4e-3 // mean air gap between lens and board
	lensFilm      = 12     // heat transfer coefficient of its outside with radiation [W/(m²·K)]
)

// LensNode returns the lens of an emitter as one node between air and board; as high as half its diameter where its
// datasheet states no height.
func (l *Lamp) LensNode(emitter int) sink.Lens {
	part := l.Optics[l.Emitters[emitter].Optic].Lens
	out := sink.Lens{DiameterM: part.Diameter.SI, HeightM: part.Height.SI, GapM: part.Gap.SI, FilmWm2K: lensFilm}
	if !part.Height.Set {
		out.HeightM = part.Diameter.SI / 2
	}
	if !part.Gap.Set {
		out.GapM = UsualLensGapM
	}
	return out
}

// LensMaterial returns what is known of the material of a lens; false where its datasheet does not state it.
func LensMaterial(part *project.Lens) (sink.LensMaterial, bool) {
	if !part.Material.Set {
		return sink.LensMaterial{}, false
	}
	return sink.MaterialOf(string(part.Material.S))
}

// ShortestPeakNM returns the shortest wavelength at which the spectrum of a package has a peak of at least a tenth of
// its maximum [nm]: of a white package, that of its blue die.
func (k *EmitterType) ShortestPeakNM() float64 {
	if s := k.Part.Spectrum; s.Set {
		top := 0.0
		for _, y := range s.Y {
			top = math.Max(top, y)
		}
		for i, y := range s.Y {
			before, after := 0.0, 0.0
			if i > 0 {
				before = s.Y[i-1]
			}
			if i+1 < len(s.Y) {
				after = s.Y[i+1]
			}
			if y >= top/10 && y >= before && y > after {
				return s.X[i]
			}
		}
	}
	shortest := math.Inf(1)
	for _, p := range k.Part.Peaks {
		if !p.Share.Set || p.Share.SI >= 0.05 {
			shortest = math.Min(shortest, p.At.SI)
		}
	}
	return shortest
}
