package intensity

import (
	"fmt"
	"math"
)

// LensData holds the values of a lens datasheet; 0 means not stated.
type LensData struct {
	BeamRad     float64 // full angle at half of the peak [rad]
	FieldRad    float64 // full angle at a tenth of the peak [rad]
	PeakCdPerLm float64 // on-axis intensity per lumen of the bare emitter [cd/lm]
	Efficiency  float64 // light out of the lens per light of the bare emitter [1]
}

// LensFit reports the model that was fitted to a lens datasheet and how consistent the datasheet is.
type LensFit struct {
	Model             string     `json:"model"`               // "cosine power", "super-Gaussian", "core and skirt"
	PeakPerFlux       float64    `json:"peak_per_flux"`       // cd per lumen that leaves the lens
	FieldRad          float64    `json:"field_rad"`           // of the model
	ImpliedEfficiency float64    `json:"implied_efficiency"`  // stated cd/lm over PeakPerFlux; 0 if no cd/lm is stated
	PeakRange         [2]float64 `json:"peak_per_flux_range"` // minimum and maximum over the models with these angles
	Notes             []string   `json:"notes,omitempty"`
}

// plausibleEfficiency is the upper limit of a lens on an emitter: its two faces alone reflect 8 %. Rule of thumb.
const plausibleEfficiency = 0.95

// FromLens returns the distribution of a lens from its datasheet values, and a report of the fit.
//
// Beam alone gives a cosine power. Beam and field give a core and skirt where the field is wider than that of a cosine
// power, else a super-Gaussian. If cd/lm and efficiency are stated too, the exponent of the skirt is fitted so that
// efficiency · I₀/Φ equals the stated cd/lm; if no exponent does, the nearest model is used and a note states the
// difference. The beam angle is that at half of the maximum. Source: CIES017 for the angles; the models are common
// practice.
func FromLens(d LensData) (Distribution, LensFit, error) {
	if err := checkBeam(d.BeamRad); err != nil {
		return nil, LensFit{}, err
	}
	if d.PeakCdPerLm < 0 || d.Efficiency < 0 || d.Efficiency > 1 || !finite(d.PeakCdPerLm) || !finite(d.Efficiency) {
		return nil, LensFit{}, fmt.Errorf("lens with %g cd/lm and efficiency %g: cd/lm must be at least 0, "+
			"efficiency from 0 to 1",
			d.PeakCdPerLm, d.Efficiency)
	}
	cosine, _ := CosineBeam(d.BeamRad)
	if d.FieldRad == 0 {
		fit := LensFit{Model: "cosine power", FieldRad: cosineField(d.BeamRad), PeakPerFlux: cosine.PerFlux(1, 0)}
		fit.PeakRange = [2]float64{0.7 * fit.PeakPerFlux, 1.1 * fit.PeakPerFlux}
		fit.Notes = append(fit.Notes, fmt.Sprintf(
			"field angle not stated: cosine power assumed (field angle %.0f°); real lenses of this beam angle have "+
				"about 0.7 to 1.1 "+
				"times its peak of %.3g cd per lumen", deg(fit.FieldRad), fit.PeakPerFlux))
		fit.compare(d)
		return cosine, fit, nil
	}
	if err := checkField(d.BeamRad, d.FieldRad); err != nil {
		return nil, LensFit{}, err
	}
	gauss, err := SuperGaussian(d.BeamRad, d.FieldRad)
	if err != nil {
		return nil, LensFit{}, err
	}
	var p Distribution = gauss
	fit := LensFit{
		Model: "super-Gaussian", FieldRad: d.FieldRad,
		PeakRange: [2]float64{gauss.PerFlux(1, 0), gauss.PerFlux(1, 0)},
	}
	if skirt, ok := fitCoreSkirt(d.BeamRad, d.FieldRad, skirtExponent); ok {
		p, fit.Model = skirt, "core and skirt"
		fit.PeakRange[0] = math.Min(fit.PeakRange[0], skirt.peak)
		fit.PeakRange[1] = math.Max(fit.PeakRange[1], skirt.peak)
	}
	if d.PeakCdPerLm > 0 && d.Efficiency > 0 {
		if fitted, ok := fitSkirtToPeak(d); ok {
			p, fit.Model = fitted, "core and skirt"
			fit.Notes = append(fit.Notes, fmt.Sprintf("the skirt (exponent %.3g) is fitted to the stated cd/lm and "+
				"efficiency", fitted.skirt.m))
		} else if want := d.PeakCdPerLm / d.Efficiency; math.Abs(want-gauss.PerFlux(1, 0)) < math.Abs(want-p.PerFlux(1,
			0)) {
			p, fit.Model = gauss, "super-Gaussian"
		}
	}
	fit.PeakPerFlux = p.PerFlux(1, 0)
	fit.compare(d)
	return p, fit, nil
}

// Skirt of OtherShape: intensity on the axis over that of the whole, a few per cent of stray light beside the beam as
// total internal reflection lenses have it; and the field angle over that of a cosine power where none is stated. Rules
// of thumb (no source).
const (
	straySkirt            = 0.04
	unstatedFieldWidening = 1.15
)

// OtherShape returns the other distribution of a lens with the same beam and field angle as that of FromLens, which has
// more or less light beside the beam; false where the stated cd/lm decide between them:
//
//	core and skirt    → super-Gaussian
//	super-Gaussian    → super-Gaussian core with a skirt of cos² θ, see skirtedGaussian
//	cosine power      → FromLens with a field angle 15 % wider
//
// A mixture of both has these angles too, since each condition is linear in the intensity over that on the axis.
func OtherShape(d LensData) (Distribution, bool) {
	p, fit, err := FromLens(d)
	if err != nil {
		return nil, false
	}
	switch shape := p.(type) {
	case coreSkirt:
		if d.PeakCdPerLm > 0 && d.Efficiency > 0 {
			return nil, false
		}
		other, err := SuperGaussian(d.BeamRad, d.FieldRad)
		return other, err == nil
	case superGaussian:
		return skirtedGaussian(d.BeamRad, d.FieldRad, straySkirt)
	case cosinePower:
		if shape.m == 0 {
			return nil, false
		}
		wider, _, err := FromLens(LensData{BeamRad: d.BeamRad, FieldRad: unstatedFieldWidening * fit.FieldRad})
		return wider, err == nil
	}
	return nil, false
}

// fitSkirtToPeak searches the skirt exponent at which the distribution has the stated cd/lm and efficiency.
func fitSkirtToPeak(d LensData) (coreSkirt, bool) {
	want := d.PeakCdPerLm / d.Efficiency
	var last coreSkirt
	have := false
	top := CosineExponent(d.BeamRad)
	const steps = 400
	for i := range steps {
		m2 := 0.05 * math.Pow(top/0.05, float64(i)/steps)
		p, ok := fitCoreSkirt(d.BeamRad, d.FieldRad, m2)
		if ok && have && (p.peak-want)*(last.peak-want) <= 0 {
			low, high := last.skirt.m, m2
			for range 60 {
				mid := (low + high) / 2
				q, ok := fitCoreSkirt(d.BeamRad, d.FieldRad, mid)
				if !ok {
					return coreSkirt{}, false
				}
				if (q.peak-want)*(last.peak-want) > 0 {
					low = mid
				} else {
					high, p = mid, q
				}
			}
			return p, true
		}
		last, have = p, ok
	}
	return coreSkirt{}, false
}

// compare compares the stated cd/lm and efficiency with the model's.
func (f *LensFit) compare(d LensData) {
	if d.PeakCdPerLm == 0 {
		return
	}
	f.ImpliedEfficiency = d.PeakCdPerLm / f.PeakPerFlux
	switch {
	case f.ImpliedEfficiency > plausibleEfficiency:
		f.Notes = append(f.Notes, fmt.Sprintf(
			"datasheet values do not fit together: %.3g cd/lm with %.3g cd per lumen of the distribution (%s) "+
				"requires an efficiency of %.2f, which "+
				"no lens has; the angles, the cd/lm or their lumens have different definitions",
			d.PeakCdPerLm, f.PeakPerFlux, f.Model, f.ImpliedEfficiency))
	case d.Efficiency > 0 && math.Abs(f.ImpliedEfficiency/d.Efficiency-1) > 0.05:
		f.Notes = append(f.Notes, fmt.Sprintf(
			"datasheet values do not fit together: %.3g cd/lm with the distribution (%s) implies an efficiency of "+
				"%.2f, but %.2f is stated",
			d.PeakCdPerLm, f.Model, f.ImpliedEfficiency, d.Efficiency))
	}
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
