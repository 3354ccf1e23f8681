package colour

import (
	"fmt"
	"math"
	"reflect"
	"strings"

	"lampwright/internal/spectrum"
)

// Figures are all that this package says of one spectrum. A figure that is not defined for it, or needs wavelengths at
// which it is not known, is nil (null in JSON), and NotGiven reports why.
type Figures struct {
	FromNM   float64  `json:"from_nm" unit:"nm" doc:"first wavelength summed"`
	ToNM     float64  `json:"to_nm" unit:"nm" doc:"last wavelength summed"`
	StepNM   float64  `json:"step_nm" unit:"nm" doc:"step of the samples"`
	RadiantW *float64 `json:"radiant_w" unit:"W" doc:"radiant power from from_nm to to_nm; in the unit of the file times nm"`
	LumensLm *float64 `json:"luminous_lm" unit:"lm" doc:"luminous flux, 683.002 lm/W times the sum weighted with V (CIE 1931)"`
	LERLmW   *float64 `json:"ler_lm_w" unit:"lm/W" doc:"luminous efficacy of radiation: luminous_lm over radiant_w"`

	PeakNM     *float64 `json:"peak_nm" unit:"nm" doc:"wavelength of the highest value"`
	CentroidNM *float64 `json:"centroid_nm" unit:"nm" doc:"power-weighted mean wavelength"`
	FWHMNM     *float64 `json:"fwhm_nm" unit:"nm" doc:"full width at half maximum around the highest value"`

	X             *float64 `json:"x" doc:"CIE 1931 chromaticity x"`
	Y             *float64 `json:"y" doc:"CIE 1931 chromaticity y"`
	UPrime        *float64 `json:"u_prime" doc:"CIE 1976 chromaticity u′"`
	VPrime        *float64 `json:"v_prime" doc:"CIE 1976 chromaticity v′"`
	CCTK          *float64 `json:"cct_k" unit:"K" doc:"correlated colour temperature, nearest point of the Planckian locus"`
	Duv           *float64 `json:"duv" doc:"signed distance from the Planckian locus in CIE 1960 (u, v), positive above"`
	DominantNM    *float64 `json:"dominant_nm" unit:"nm" doc:"dominant wavelength against equal-energy white"`
	ComplementNM  *float64 `json:"complementary_nm" unit:"nm" doc:"complementary wavelength of purples, which have no dominant one"`
	Purity        *float64 `json:"purity" doc:"excitation purity, 0 for white to 1 for a single wavelength"`
	NominalCCTK   *float64 `json:"nominal_cct_k" unit:"K" doc:"nearest nominal colour temperature of 2200 K to 6500 K"`
	NominalStepsN *float64 `json:"nominal_steps" doc:"distance from that nominal colour in steps (SDCM) of 0.0011 in CIE 1976 (u′, v′)"`

	Ra   *float64     `json:"ra" doc:"general colour rendering index, CIE 13.3, not rounded"`
	R    *[15]float64 `json:"r" doc:"special colour rendering indices R1 to R15; may lie below zero"`
	Rf   *float64     `json:"rf" doc:"colour fidelity index, CIE 224 and IES TM-30"`
	Rg   *float64     `json:"rg" doc:"gamut index, IES TM-30; 100 is the saturation of the reference"`
	Bins []BinFigures `json:"hue_bins" doc:"the 16 hue bins of IES TM-30, red first, counter-clockwise"`

	MelanopicDER *float64    `json:"melanopic_der" doc:"melanopic daylight efficacy ratio, CIE S 026; 1 for D65"`
	Alphaopic    *EDIFigures `json:"alphaopic_der" doc:"daylight efficacy ratios of all five receptors, CIE S 026"`
	BlueWLm      *float64    `json:"blue_hazard_w_lm" unit:"W/lm" doc:"blue-light hazard efficacy K_B,v, IEC 62471"`
	BlueLux      *float64    `json:"blue_threshold_lux" unit:"lx" doc:"illuminance at which a small source reaches 1 W/m² of blue-weighted irradiance"`

	Notes    []string          `json:"notes" doc:"where a standard says that a figure loses accuracy, and what was assumed"`
	NotGiven map[string]string `json:"not_given" doc:"by key: why a figure is null"`
}

// BinFigures are the figures of one hue bin.
type BinFigures struct {
	Rf          float64 `json:"rf"`
	ChromaShift float64 `json:"chroma_shift"`
	HueShiftRad float64 `json:"hue_shift_rad"`
	Samples     int     `json:"samples"`
	RefA        float64 `json:"ref_a"` // means in the a′b′ plane of CAM02-UCS
	RefB        float64 `json:"ref_b"`
	TestA       float64 `json:"test_a"`
	TestB       float64 `json:"test_b"`
}

// EDIFigures are daylight efficacy ratios by receptor.
type EDIFigures struct {
	SCone     float64 `json:"s_cone"`
	MCone     float64 `json:"m_cone"`
	LCone     float64 `json:"l_cone"`
	Rod       float64 `json:"rod"`
	Melanopic float64 `json:"melanopic"`
}

// Key is one key of the JSON form of a set of figures.
type Key struct{ Name, Unit, Doc string }

// KeysOf returns the keys of a struct of figures from its field tags, in order. It serves this package and others
// whose figures carry the same tags.
func KeysOf(figures any) []Key {
	t := reflect.TypeOf(figures)
	var out []Key
	for i := range t.NumField() {
		tag := t.Field(i).Tag
		name, _, _ := strings.Cut(tag.Get("json"), ",")
		out = append(out, Key{Name: name, Unit: tag.Get("unit"), Doc: tag.Get("doc")})
	}
	return out
}

// Wavelengths at which a spectrum must be known for a figure. What the eye sees outside 400 nm to 700 nm adds less than
// 0.5 % for any lamp; the standards ask for 380 nm to 780 nm, which counts as met where the ends are dark.
const (
	seenFromNM, seenToNM = 400, 700
	melanopicToNM        = 640
	hazardToNM           = 600
	standardFromNM       = 380
	standardToNM         = 780
)

// widestRenderingNM is the widest step from which rendering is given. Source: CIE224-2017, §4 asks for 5 nm; at 10 nm,
// filled in after CIE 167, white LEDs lose 0.1 at most (computed).
const widestRenderingNM = 10

// nominalCCTs are the nominal colour temperatures of lamps. Source: ANSI-C78.377-2017, §5, flexible values left out.
var nominalCCTs = []float64{2200, 2500, 2700, 3000, 3500, 4000, 4500, 5000, 5700, 6500}

// All returns every figure of a spectrum.
// Source: each figure's own function.
func All(s spectrum.Spectrum) Figures {
	f := Figures{Notes: []string{}, NotGiven: map[string]string{}}
	without := func(why string, keys ...string) {
		for _, k := range keys {
			f.NotGiven[k] = why
		}
	}
	rest := func() []string {
		var keys []string
		v := reflect.ValueOf(f)
		for i, k := range KeysOf(f) {
			if x := v.Field(i); (x.Kind() == reflect.Pointer || x.Kind() == reflect.Slice && k.Name == "hue_bins") &&
				x.IsNil() {
				if _, stated := f.NotGiven[k.Name]; !stated {
					keys = append(keys, k.Name)
				}
			}
		}
		return keys
	}
	if s.Empty() || s.RadiantW() <= 0 {
		without("there is no light", rest()...)
		return f
	}
	lo, hi, step := s.Grid()
	f.FromNM, f.ToNM, f.StepNM = float64(lo), float64(hi), float64(step)
	from, to := s.Known()
	short := func(a, b float64) string {
		return fmt.Sprintf("the spectrum is known from %g nm to %g nm only; this needs %g nm to %g nm", from, to, a, b)
	}
	known := func(a, b float64) bool { return from <= a && to >= b }

	f.RadiantW = some(s.RadiantW())
	f.PeakNM, f.CentroidNM = some(s.PeakNM()), some(s.CentroidNM())
	if w := s.FWHMNM(); w > 0 {
		f.FWHMNM = some(w)
	} else {
		without("the spectrum does not fall to half its peak on both sides", "fwhm_nm")
	}
	if known(seenFromNM, hazardToNM) {
		if k := BlueEfficacyWLm(s); k > 0 && known(seenFromNM, seenToNM) {
			f.BlueWLm, f.BlueLux = some(k), some(BlueThresholdLux(s))
		}
	}
	if f.BlueWLm == nil {
		why := "there are no lumens or no blue light"
		if !known(seenFromNM, seenToNM) {
			why = short(seenFromNM, seenToNM)
		}
		without(why, "blue_hazard_w_lm", "blue_threshold_lux")
	}
	if !known(seenFromNM, seenToNM) {
		without(short(seenFromNM, seenToNM), rest()...)
		return f
	}
	seen := s.CarriedOn(standardFromNM, standardToNM)
	if !known(standardFromNM, standardToNM) {
		var ends []string
		if from > standardFromNM {
			ends = append(ends, fmt.Sprintf("%g nm", from))
		}
		if to < standardToNM {
			ends = append(ends, fmt.Sprintf("%g nm", to))
		}
		f.Notes = append(f.Notes, fmt.Sprintf("the spectrum breaks off at %s while still bright; for what eyes see "+
			"it is carried on from there as it ends (CIE 15), radiant power and what counts by it are of what is "+
			"known", strings.Join(ends, " and at ")))
	}
	apart, rough := s.Apart()
	if rough && apart > widestRenderingNM {
		without(
			fmt.Sprintf(
				"samples lie %g nm apart and jump from one to the next, so that emission bands may lie between them",
				apart,
			),
			rest()...,
		)
		return f
	}
	t := Tristimulus(seen)
	xy, ok := t.XY()
	if !ok || t.Y <= 0 {
		without("there is no light that the eye sees", rest()...)
		return f
	}
	f.LumensLm, f.LERLmW = some(t.Y), some(t.Y/s.RadiantW())
	u, v := xy.UVPrime()
	f.X, f.Y, f.UPrime, f.VPrime = some(xy.X), some(xy.Y), some(u), some(v)
	f.dominance(xy, without)
	e := AlphaopicEDI(seen)
	f.MelanopicDER = some(e.Melanopic / t.Y)
	f.Alphaopic = &EDIFigures{e.SCone / t.Y, e.MCone / t.Y, e.LCone / t.Y, e.Rod / t.Y, e.Melanopic / t.Y}

	cct := CCT(xy)
	if !cct.Valid {
		without(cct.Note, rest()...)
		return f
	}
	f.CCTK, f.Duv = some(cct.K), some(cct.Duv)
	f.nominal(xy, cct.K, without)
	if apart > widestRenderingNM {
		without(fmt.Sprintf("samples lie %g nm apart; colour rendering needs 10 nm, and by its standards 5 nm", apart), "ra", "r", "rf", "rg", "hue_bins")
		return f
	}
	if r, err := rendering(seen, cct); err == nil {
		f.Ra, f.R = some(r.Ra), &r.R
		f.Notes = append(f.Notes, r.Notes...)
	} else {
		without(err.Error(), "ra", "r")
	}
	if d, err := fidelity(seen, cct); err == nil {
		f.Rf, f.Rg = some(d.Rf), some(d.Rg)
		f.Notes = append(f.Notes, d.Notes...)
		for _, b := range d.Bins {
			f.Bins = append(
				f.Bins, BinFigures{b.Rf, b.ChromaShift, b.HueShift, b.Samples, b.RefA, b.RefB, b.TestA, b.TestB},
			)
		}
	} else {
		without(err.Error(), "rf", "rg", "hue_bins")
	}
	return f
}

// dominance sets dominant or complementary wavelength and purity.
func (f *Figures) dominance(xy XY, without func(string, ...string)) {
	d := DominantWavelength(xy, WhiteE)
	switch {
	case !d.Valid:
		without("the colour is that of equal-energy white", "dominant_nm", "complementary_nm", "purity")
		return
	case d.Complementary:
		f.ComplementNM = some(d.NM)
		without("the colour is a purple", "dominant_nm")
	default:
		f.DominantNM = some(d.NM)
		without("the colour has a dominant wavelength", "complementary_nm")
	}
	f.Purity = some(d.Purity)
}

// nominal sets the nearest nominal colour temperature and the distance from its colour.
func (f *Figures) nominal(xy XY, cctK float64, without func(string, ...string)) {
	if cctK < 2000 || cctK > 7100 {
		without("no nominal colour temperature of lamps is near", "nominal_cct_k", "nominal_steps")
		return
	}
	best, dist := 0.0, math.Inf(1)
	for _, k := range nominalCCTs {
		if d := math.Abs(1/k - 1/cctK); d < dist {
			best, dist = k, d
		}
	}
	target, err := TargetXY(best)
	if err != nil {
		panic("colour: " + err.Error())
	}
	f.NominalCCTK, f.NominalStepsN = some(best), some(Steps(xy, target))
}

func some(v float64) *float64 { return &v }
