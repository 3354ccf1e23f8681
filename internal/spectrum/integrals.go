package spectrum

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// Weights is a weighting function at every nanometre of the lamp grid: entry i represents 360 nm + i.
type Weights [Count]float64

// Weighted returns Σ S(λ)·w(λ)·Δλ, in the unit of S times nanometres: with S in W/nm and a weight per watt, watts.
//
// The sum runs over the samples of s, at their own step.
// Source: CIE15-2018, §7 (summation).
func (s Spectrum) Weighted(w *Weights) float64 {
	if s.Empty() {
		return 0
	}
	if s.stepNM == 1 {
		lo := s.loNM - LoNM
		return floats.Dot(s.wPerNM, w[lo:lo+len(s.wPerNM)])
	}
	sum := 0.0
	for i, v := range s.wPerNM {
		sum += v * w[s.loNM-LoNM+i*s.stepNM]
	}
	return sum * float64(s.stepNM)
}

// RadiantW returns the radiant power within the samples' range, at most 360 nm to 830 nm, in watts: Σ S·Δλ.
func (s Spectrum) RadiantW() float64 { return floats.Sum(s.wPerNM) * float64(s.stepNM) }

// LuminousLm returns the luminous flux in lumens:
//
//	Φv = 683.002 lm/W · Σ S(λ)·V(λ)·Δλ
//
// V is the photopic observer of CIE 1931, tabulated 360 nm to 830 nm.
// Source: CIE018-2019, eq. 1 and Table 1.
func (s Spectrum) LuminousLm() float64 {
	return MaxEfficacyLmW * s.Weighted(&Observer2Deg().Y)
}

// LERlmW returns the luminous efficacy of radiation in lm/W, lumens over radiant watts of the samples' range; 0 if dark.
//
// It depends on that range wherever the source radiates beyond it: CIE illuminant A has 155.8 lm/W over 380 nm to
// 780 nm and 122.7 lm/W over 360 nm to 830 nm. Grid reports the range.
func (s Spectrum) LERlmW() float64 {
	w := s.RadiantW()
	if w <= 0 {
		return 0
	}
	return s.LuminousLm() / w
}

// BandW returns the radiant power between loNM and hiNM in watts, by the trapezoid rule: samples at the ends count half.
func (s Spectrum) BandW(loNM, hiNM float64) float64 {
	return s.band(loNM, hiNM, func(float64) float64 { return 1 })
}

// PhotonUmolS returns the photon flux between loNM and hiNM in µmol/s:
//
//	Qp = ∫ S(λ)·λ/(h·c·N_A) dλ
//
// by the trapezoid rule. With 400 nm and 700 nm it is the photosynthetic photon flux (PPF).
// Source: constants exact in SI 2019; bands of ANSI-ASABE-S640.
func (s Spectrum) PhotonUmolS(loNM, hiNM float64) float64 {
	return s.band(loNM, hiNM, PhotonUmolJ)
}

// PhotonUmolJ returns how many photons carry one joule at a wavelength, in µmol/J: λ/(h·c·N_A), which is λ/119.6266 nm.
func PhotonUmolJ(lambdaNM float64) float64 {
	return lambdaNM * 1e-9 / (planckJS * lightMS * avogadroPerMo) * 1e6
}

// LuminousLmUmol returns lumens per µmol/s between 400 nm and 700 nm, which is lux per µmol/m²/s; 0 if there are none.
func (s Spectrum) LuminousLmUmol() float64 {
	q := s.PhotonUmolS(400, 700)
	if q <= 0 {
		return 0
	}
	return s.LuminousLm() / q
}

// band integrates S·f from lo to hi by the trapezoid rule on the samples; an end between two samples cuts the
// trapezoid of that interval, whose value there is a straight line.
func (s Spectrum) band(lo, hi float64, f func(nm float64) float64) float64 {
	sum := 0.0
	step := float64(s.stepNM)
	for i := 1; i < len(s.wPerNM); i++ {
		b := float64(s.loNM + i*s.stepNM)
		a := b - step
		if b <= lo || a >= hi {
			continue
		}
		ya, yb := s.wPerNM[i-1]*f(a), s.wPerNM[i]*f(b)
		if a >= lo && b <= hi {
			sum += (ya + yb) / 2 * step
			continue
		}
		from, to := math.Max(a, lo), math.Min(b, hi)
		at := func(x float64) float64 { return ya + (yb-ya)*(x-a)/step }
		sum += (at(from) + at(to)) / 2 * (to - from)
	}
	return sum
}

// PeakNM returns the wavelength of the largest value in nanometres, from the parabola through it and its two
// neighbours; 0 if dark.
func (s Spectrum) PeakNM() float64 {
	if s.Empty() {
		return 0
	}
	i := floats.MaxIdx(s.wPerNM)
	if s.wPerNM[i] <= 0 {
		return 0
	}
	nm := float64(s.loNM + i*s.stepNM)
	if i == 0 || i == len(s.wPerNM)-1 {
		return nm
	}
	l, m, r := s.wPerNM[i-1], s.wPerNM[i], s.wPerNM[i+1]
	if d := l - 2*m + r; d < 0 {
		nm += 0.5 * (l - r) / d * float64(s.stepNM)
	}
	return nm
}

// CentroidNM returns the power-weighted mean wavelength in nanometres; 0 if dark.
func (s Spectrum) CentroidNM() float64 {
	var sum, moment float64
	for i, v := range s.wPerNM {
		sum += v
		moment += v * float64(s.loNM+i*s.stepNM)
	}
	if sum <= 0 {
		return 0
	}
	return moment / sum
}

// FWHMNM returns the full width at half maximum around the highest peak in nanometres, where it first falls to half on
// either side; 0 if it does not within the samples.
func (s Spectrum) FWHMNM() float64 {
	if s.Empty() {
		return 0
	}
	top := floats.MaxIdx(s.wPerNM)
	half := s.wPerNM[top] / 2
	if half <= 0 {
		return 0
	}
	walk := func(dir int) float64 {
		for i := top; i+dir >= 0 && i+dir < len(s.wPerNM); i += dir {
			if a, b := s.wPerNM[i], s.wPerNM[i+dir]; b <= half {
				return float64(i-top)*float64(dir) + (a-half)/(a-b)
			}
		}
		return math.NaN()
	}
	if w := walk(-1) + walk(1); !math.IsNaN(w) {
		return w * float64(s.stepNM)
	}
	return 0
}
