package verify

import (
	"fmt"
	"math"
	"strconv"

	"lampwright/internal/colour"
	"lampwright/internal/plant"
	"lampwright/internal/spectrum"
)

// colourChecks computes the rows of data/colour.csv. All ids start with "C_".
func colourChecks() map[string]check {
	out := map[string]check{}
	photonRows(out)
	illuminantRows(out)
	locusRows(out)
	renderingRows(out)
	photosynthesisRows(out)
	receptorRows(out)
	waterRows(out)
	return out
}

// lamp returns a CIE illuminant, or E, at samples of its table.
func lamp(name string, loNM, hiNM, stepNM int) (spectrum.Spectrum, error) {
	s, ok := spectrum.Illuminant(name)
	if name == "E" {
		s, ok = spectrum.Equal(), true
	}
	if !ok {
		return spectrum.Spectrum{}, fmt.Errorf("no illuminant %q", name)
	}
	return s.Pick(loNM, hiNM, stepNM)
}

// cie returns a check of an illuminant at 5 nm from 380 nm to 780 nm, as CIE 15 tables have it.
func cie(name string, f func(spectrum.Spectrum) (float64, error)) check {
	return func() (float64, error) {
		s, err := lamp(name, 380, 780, 5)
		if err != nil {
			return 0, err
		}
		return f(s)
	}
}

// plain makes a figure that cannot fail into one that could.
func plain(f func(spectrum.Spectrum) float64) func(spectrum.Spectrum) (float64, error) {
	return func(s spectrum.Spectrum) (float64, error) { return f(s), nil }
}

func temperature(s spectrum.Spectrum) colour.Temperature {
	xy, _ := colour.Chromaticity(s)
	return colour.CCT(xy)
}

func rendered(take func(colour.Rendering) float64) func(spectrum.Spectrum) (float64, error) {
	return func(s spectrum.Spectrum) (float64, error) {
		r, err := colour.RenderingIndices(s)
		return take(r), err
	}
}

func faithful(take func(colour.Fidelity) float64) func(spectrum.Spectrum) (float64, error) {
	return func(s spectrum.Spectrum) (float64, error) {
		f, err := colour.FidelityIndices(s)
		return take(f), err
	}
}

var (
	ra = rendered(func(r colour.Rendering) float64 { return r.Ra })
	r9 = rendered(func(r colour.Rendering) float64 { return r.R[8] })
	rf = faithful(func(f colour.Fidelity) float64 { return f.Rf })
	rg = faithful(func(f colour.Fidelity) float64 { return f.Rg })
)

func photonRows(out map[string]check) {
	out["C_km"] = func() (float64, error) {
		v := make([]float64, spectrum.Count)
		v[555-spectrum.LoNM] = 1
		s, err := spectrum.OnGrid(spectrum.LoNM, 1, v)
		return s.LuminousLm(), err
	}
	out["C_hcna"] = number(1e-3 / spectrum.PhotonUmolJ(1)) // nm·J/µmol to m·J/mol
	for _, nm := range []int{400, 450, 470, 525, 555, 590, 625, 660, 700, 730} {
		out[fmt.Sprintf("C_umolJ_%d", nm)] = number(spectrum.PhotonUmolJ(float64(nm)))
	}
}

// Illuminants of the rows on colour and rendering.
var (
	tabulated = []string{
		"A", "D50", "D65", "FL1", "FL2", "FL4", "FL7", "FL8", "FL11", "FL12", "HP1", "HP4",
		"LED-B1", "LED-B2", "LED-B3", "LED-B4", "LED-B5", "LED-BH1", "LED-RGB1", "LED-V1", "E",
	}
	withoutPrintedXY = map[string]bool{"HP1": true, "HP4": true, "E": true}
)

func illuminantRows(out map[string]check) {
	for _, name := range tabulated {
		if !withoutPrintedXY[name] {
			out["C_xy_"+name] = cie(name, plain(func(s spectrum.Spectrum) float64 { c, _ := colour.Chromaticity(s); return c.X }))
			out["C_xy_"+name+"_y"] = cie(name, plain(func(s spectrum.Spectrum) float64 { c, _ := colour.Chromaticity(s); return c.Y }))
		}
		out["C_cct_"+name] = cie(name, plain(func(s spectrum.Spectrum) float64 { return temperature(s).K }))
		out["C_duv_"+name] = cie(name, plain(func(s spectrum.Spectrum) float64 { return temperature(s).Duv }))
		out["C_ler_"+name] = cie(name, plain(spectrum.Spectrum.LERlmW))
		out["C_Ra_"+name] = cie(name, ra)
		out["C_R9_"+name] = cie(name, r9)
		out["C_Rf_"+name] = cie(name, rf)
		out["C_Rg_"+name] = cie(name, rg)
	}
	for i := 1; i <= 12; i++ {
		name := fmt.Sprintf("FL%d", i)
		out["C_RaCIE_"+name] = cie(name, ra)
	}
	for _, name := range []string{
		"LED-B1", "LED-B2", "LED-B3", "LED-B4", "LED-B5", "LED-BH1", "LED-RGB1", "LED-V1", "LED-V2",
	} {
		out["C_cctCIE_"+name] = cie(name, plain(func(s spectrum.Spectrum) float64 { return temperature(s).K }))
	}
	for id, name := range map[string]string{"C_lerA1": "A", "C_lerD1": "D65", "C_lerE1": "E"} {
		for suffix, band := range map[string][2]int{"_380": {380, 780}, "_360": {360, 830}} {
			s, err := lamp(name, band[0], band[1], 1)
			out[id+suffix] = of(s, err, spectrum.Spectrum.LERlmW)
		}
	}
}

func locusRows(out map[string]check) {
	for _, mired := range []float64{50, 100, 200, 300, 350, 400, 500, 600} {
		uv := colour.PlanckXY(1e6/mired, 0).UV()
		out[fmt.Sprintf("C_planck_u_%g", mired)] = number(uv.U)
		out[fmt.Sprintf("C_planck_v_%g", mired)] = number(uv.V)
	}
	for _, k := range []float64{1500, 2000, 2856, 3000, 4000, 5000, 6500, 10000, 20000} {
		xy := colour.PlanckXY(k, 0)
		out[fmt.Sprintf("C_planck_x_%g", k)] = number(xy.X)
		out[fmt.Sprintf("C_planck_y_%g", k)] = number(xy.Y)
	}
	for id, uv := range map[string]colour.UV{
		"a": {U: 0.1978, V: 0.3122}, "b": {U: 0.2202, V: 0.3331}, "c": {
			U: 0.19374138, V: 0.31522104,
		}, "d": {U: 0.2927, V: 0.2722},
	} {
		t := colour.CCT(uv.XY())
		out["C_cct_uv_"+id], out["C_duv_uv_"+id] = number(t.K), number(t.Duv)
	}
	for id, uv := range map[string]colour.UV{
		"3000_-0.01": {
			U: 0.25413403, V: 0.33824635,
		}, "3000_0": {U: 0.25057056, V: 0.34758989}, "3000_0.01": {U: 0.24700709, V: 0.35693343},
		"5000_-0.02": {
			U: 0.22543851, V: 0.30884676,
		}, "5000_0.02": {U: 0.19741038, V: 0.33738487}, "6500_0.003": {U: 0.19802069, V: 0.31212333},
	} {
		t := colour.CCT(uv.XY())
		out["C_rt_"+id+"_k"], out["C_rt_"+id+"_d"] = number(t.K), number(t.Duv)
	}
	for _, k := range []float64{5000, 6500, 8000} {
		x, y, err := spectrum.DaylightXY(k)
		out[fmt.Sprintf("C_dl_%g_x", k)], out[fmt.Sprintf("C_dl_%g_y", k)] = of(x, err, same), of(y, err, same)
	}
	for id, nominal := range map[string]float64{"C_dser_50": 5000, "C_dser_75": 7500} {
		s, err := spectrum.Daylight(nominal * 1.4388 / 1.4380)
		for _, nm := range []float64{385, 540} {
			out[fmt.Sprintf("%s_%g", id, nm)] = of(s, err, func(s spectrum.Spectrum) float64 { return s.At(nm) })
		}
	}
}

func renderingRows(out map[string]check) {
	for n, id := range map[int]string{1: "C_hp_tcs1", 8: "C_hp_tcs8"} {
		sample := colour.TestColour(n)
		lit, err := spectrum.Planck(4224.4).Times(func(nm float64) float64 { return sample[int(nm)-spectrum.LoNM] }).Pick(380, 780, 5)
		xy, _ := colour.Chromaticity(lit)
		out[id+"_x"], out[id+"_y"] = of(xy.X, err, same), of(xy.Y, err, same)
	}
	example := func(take func(colour.Rendering) float64) check { return cie("FL2", rendered(take)) }
	for name, uvw := range map[string]func(colour.Rendering) colour.UVW{
		"reference": func(r colour.Rendering) colour.UVW { return r.Reference[0] },
		"test":      func(r colour.Rendering) colour.UVW { return r.Test[0] },
	} {
		out["C_hp_uvw1_"+name+"_W"] = example(func(r colour.Rendering) float64 { return uvw(r).W })
		out["C_hp_uvw1_"+name+"_U"] = example(func(r colour.Rendering) float64 { return uvw(r).U })
		out["C_hp_uvw1_"+name+"_V"] = example(func(r colour.Rendering) float64 { return uvw(r).V })
	}
	for i := range 8 {
		out[fmt.Sprintf("C_hp_de%d", i+1)] = example(func(r colour.Rendering) float64 { return r.DeltaE[i] })
		out[fmt.Sprintf("C_hp_r%d", i+1)] = example(func(r colour.Rendering) float64 { return r.R[i] })
	}
	out["C_hp_ra"] = example(func(r colour.Rendering) float64 { return r.Ra })
	out["C_rf_fl1"], out["C_rf_fl2"], out["C_rg_fl2"] = cie("FL1", rf), cie("FL2", rf), cie("FL2", rg)
	for _, n := range []string{"1", "2"} {
		out["C_rf_lin"+n] = cie("FL"+n, func(s spectrum.Spectrum) (float64, error) {
			v := make([]float64, 0, 401)
			for nm := 380; nm <= 780; nm++ {
				v = append(v, s.At(float64(nm)))
			}
			fine, err := spectrum.OnGrid(380, 1, v)
			if err != nil {
				return 0, err
			}
			return rf(fine)
		})
	}
}

func photosynthesisRows(out map[string]check) {
	for _, name := range []string{"D65", "A", "FL2", "FL4", "HP1", "HP4", "HP3", "HP5"} {
		out["C_lux_"+name] = cie(name, plain(plant.LuxPerUmol))
	}
	for _, name := range []string{"D65", "A", "FL2", "HP1", "HP4"} {
		out["C_lux_"+name+"_pub"] = cie(name, plain(plant.LuxPerUmol))
		out["C_umolW_"+name] = cie(
			name, plain(func(s spectrum.Spectrum) float64 { return plant.UmolPerJ(s, s.BandW(400, 700)) }),
		)
	}
	for _, name := range []string{
		"D65", "D50", "A", "FL2", "FL11", "HP1",
		"LED-B1", "LED-B2", "LED-B3", "LED-B4", "LED-B5", "LED-BH1", "LED-RGB1", "LED-V1", "LED-V2",
	} {
		out["C_ppf_klm_"+name] = cie(
			name, plain(func(s spectrum.Spectrum) float64 { return 1000 * plant.UmolPerLm(s) }),
		)
	}
	v := spectrum.Observer2Deg().Y
	v589 := 0.7*v[589-spectrum.LoNM] + 0.3*v[590-spectrum.LoNM]
	out["C_mono589"] = number(spectrum.MaxEfficacyLmW * v589 / spectrum.PhotonUmolJ(589.3))

	shares := map[string]func(plant.Photons) float64{
		"blue":  func(p plant.Photons) float64 { return p.BlueShare },
		"green": func(p plant.Photons) float64 { return p.GreenShare },
		"red":   func(p plant.Photons) float64 { return p.RedShare },
	}
	for _, name := range []string{"D65", "A", "FL2", "HP1", "LED-B2", "LED-B3", "LED-B5", "LED-BH1"} {
		for set, word := range map[plant.Set]string{plant.Field: "field", plant.Chamber: "chamber"} {
			out["C_ypf_"+name+"_"+word] = cie(
				name, plain(func(s spectrum.Spectrum) float64 { return plant.YieldUmolS(s, set) / plant.PAR.UmolS(s) }),
			)
		}
		for band, take := range shares {
			out["C_bgr_"+name+"_"+band] = cie(
				name, plain(func(s spectrum.Spectrum) float64 { return take(plant.Count(s)) }),
			)
		}
	}
	for _, name := range []string{"D65", "A", "FL2"} {
		for band, take := range shares {
			out["C_deitzer_"+name+"_"+band] = cie(
				name, plain(func(s spectrum.Spectrum) float64 { return take(plant.Count(s)) }),
			)
		}
	}
	out["C_DR65"], out["C_DR66"] = number(plant.DailyLight(100, 10)), number(plant.DailyLight(500, 12))
}

func receptorRows(out map[string]check) {
	// The efficacies themselves, from the equivalent daylight and the constants of CIE S 026 by which it is divided.
	d65, err := lamp("D65", 380, 780, 1)
	e := colour.AlphaopicEDI(d65)
	lm := d65.LuminousLm()
	for id, k := range map[string]float64{
		"C_kmelD65": 1.3262 * e.Melanopic / lm, "C_kD65_sc": 0.8173 * e.SCone / lm, "C_kD65_mc": 1.4558 * e.MCone / lm,
		"C_kD65_lc": 1.6289 * e.LCone / lm, "C_kD65_rh": 1.4497 * e.Rod / lm,
	} {
		out[id] = of(k, err, same)
	}
	out["C_mder_D65"] = of(d65, err, colour.MelanopicDER)
	a, err := lamp("A", 380, 780, 1)
	out["C_mder_A"] = of(a, err, colour.MelanopicDER)
	out["C_mder_D55"], out["C_mder_FL12"] = cie("D55", plain(colour.MelanopicDER)), cie(
		"FL12", plain(colour.MelanopicDER),
	)
	for _, name := range []string{
		"D50", "FL2", "FL11", "LED-B1", "LED-B2", "LED-B3", "LED-B4", "LED-B5", "LED-BH1", "LED-RGB1", "LED-V1", "LED-V2", "E",
	} {
		out["C_mder5_"+name] = cie(name, plain(colour.MelanopicDER))
	}
	milliwatts := func(s spectrum.Spectrum) float64 { return 1000 * colour.BlueEfficacyWLm(s) }
	led, err := lamp("LED-B1", 380, 780, 1)
	out["C_blh_B1"] = of(led, err, colour.BlueWeightedW)
	out["C_kbv_D65"] = number(milliwatts(d65))
	for _, name := range []string{"LED-B1", "LED-B2", "LED-B3", "LED-B4", "LED-B5", "A"} {
		out["C_kbv_"+name] = cie(name, plain(milliwatts))
	}
	out["C_DR60"] = number(milliwatts(spectrum.Planck(6500)))
	blue, err := spectrum.FromPeaks(
		[]spectrum.Peak{{CentreNM: 450, FWHMNM: 8.5 * math.Sqrt(8*math.Ln2), RadiantShare: 1}},
	)
	out["C_DR61a"], out["C_DR61b"] = of(blue, err, milliwatts), of(blue, err, colour.BlueThresholdLux)
}

func waterRows(out map[string]check) {
	for nm, perM := range map[int]float64{450: 0.00922, 525: 0.0417, 660: 0.41, 730: 1.97} {
		pass := func(humicPerM float64) check {
			s := spectrum.Equal().Absorbed(func(lambdaNM float64) float64 {
				return perM + humicPerM*math.Exp(-0.0165*(lambdaNM-440))
			}, 0.5)
			return number(s.At(float64(nm)))
		}
		out["C_wt_"+strconv.Itoa(nm)] = pass(0)
		if nm != 730 {
			out["C_wtc_"+strconv.Itoa(nm)] = pass(0.5)
		}
	}
}
