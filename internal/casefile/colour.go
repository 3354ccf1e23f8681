package casefile

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"lampwright/internal/colour"
	"lampwright/internal/spectrum"
)

// colourChannel is a channel of a case of colour.
type colourChannel struct {
	Name     string       `json:"name"`
	FluxLm   float64      `json:"flux_lm"` // at level 1
	Spectrum []colourPeak `json:"spectrum"`
}

// colourPeak is one Gaussian of a spectrum.
type colourPeak struct {
	PeakNM float64 `json:"peak_nm"`
	FWHMNM float64 `json:"fwhm_nm"`
	Weight float64 `json:"weight"` // fraction of the radiant power
}

// maxColourChannels bounds the work of a case.
const maxColourChannels = 40

// light returns the spectrum of a channel at level 1 [W/nm].
func (c *colourChannel) light() (spectrum.Spectrum, error) {
	var peaks []spectrum.Peak
	for _, p := range c.Spectrum {
		peaks = append(peaks, spectrum.Peak{CentreNM: p.PeakNM, FWHMNM: p.FWHMNM, RadiantShare: p.Weight})
	}
	if !(c.FluxLm >= 0) || c.FluxLm > 1e9 {
		return spectrum.Spectrum{}, fmt.Errorf("flux of %g lm; give 0 lm to 1e9 lm", c.FluxLm)
	}
	s, err := spectrum.FromPeaks(peaks)
	if err != nil {
		return s, err
	}
	if !(s.LuminousLm() > 0) {
		return s, errors.New("its spectrum has no luminous flux")
	}
	return s.ScaleToLm(c.FluxLm), nil
}

// checkColourChannels bounds the number of channels and refuses two of one name.
func checkColourChannels(names []string) error {
	if len(names) == 0 || len(names) > maxColourChannels {
		return fmt.Errorf("%d channels; a case needs 1 to %d", len(names), maxColourChannels)
	}
	for i, name := range names {
		if name == "" || slices.Contains(names[:i], name) {
			return at(fmt.Sprintf("channels[%d]", i), fmt.Errorf("name %q is missing or used twice", name))
		}
	}
	return nil
}

// binnedChannel is a channel whose LEDs come from one reel.
type binnedChannel struct {
	colourChannel
	Bin *colourBin `json:"bin"`
}

// colourBin is the spread of a reel; what is left out is that of colour.TypicalBin.
type colourBin struct {
	CCTHalfK *float64 `json:"cct_halfwidth_K"`
	DuvSD    *float64 `json:"duv_sd"`
}

// spread returns the bin about a nominal colour temperature.
func (b *colourBin) spread(cctK float64) (colour.Bin, error) {
	out := colour.TypicalBin(cctK)
	if b.CCTHalfK != nil {
		out.CCTLoK, out.CCTHiK = -*b.CCTHalfK, *b.CCTHalfK
	}
	if b.DuvSD != nil {
		out.DuvSD = *b.DuvSD
	}
	if !(out.CCTHiK >= 0 && out.CCTHiK < cctK-1000) || !(out.DuvSD >= 0 && out.DuvSD <= 0.02) {
		return out, fmt.Errorf("bin of ±%g K about %.0f K with a standard deviation of Duv of %g; give 0 or more, a "+
			"CCT above 1000 K at its low end, and Duv up to 0.02", out.CCTHiK, cctK, out.DuvSD)
	}
	return out, nil
}

// binSamples is the number of lamps of a case: the standard error of a quantile is then below 0.4 % of P10 to P90.
const binSamples = 50_000

// binnedLamp is the light of a lamp whose white channels come from one reel each.
type binnedLamp struct {
	fixed colour.XYZ // channels without a bin
	light []colour.Binned
	bins  []colour.Bin
}

// draw returns CCT and Duv of one lamp.
func (l *binnedLamp) draw(rng *rand.Rand) colour.Temperature {
	sum := l.fixed
	for i, w := range l.light {
		sum = sum.Plus(w.Of(l.bins[i].Draw(rng)))
	}
	xy, _ := sum.XY()
	return colour.CCT(xy)
}

// runColourBins samples the colour of a lamp whose channels are each moved as one reel within their bins.
func runColourBins(ctx context.Context, doc document, inputs *node) (map[string]any, error) {
	var in struct {
		Channels []binnedChannel `json:"channels"`
	}
	d := decoder{document: doc, guide: topicsGuide}
	d.fill(inputs, &in, "")
	if err := d.err(); err != nil {
		return nil, err
	}
	var names []string
	for _, c := range in.Channels {
		names = append(names, c.Name)
	}
	if err := checkColourChannels(names); err != nil {
		return nil, doc.placed(inputs, at("channels", err))
	}
	out := map[string]any{}
	lamp, nominal := binnedLamp{}, colour.XYZ{}
	for i := range in.Channels {
		light, err := lamp.add(&in.Channels[i], out)
		if err != nil {
			err = at(fmt.Sprintf("channels[%d]", i), fmt.Errorf("channel %s: %w", names[i], err))
			return nil, doc.placed(inputs, err)
		}
		nominal = nominal.Plus(light)
	}
	xy, ok := nominal.XY()
	t := colour.CCT(xy)
	if !ok || !t.Valid {
		err := at("channels", fmt.Errorf("the sum of the channels has no colour temperature: %s", t.Note))
		return nil, doc.placed(inputs, err)
	}
	out["lamp_cct_nominal"], out["lamp_duv_nominal"] = t.K, t.Duv
	return out, lamp.quantiles(ctx, out)
}

// add puts a channel into the lamp and its nominal colour into out, and returns its nominal light.
func (l *binnedLamp) add(c *binnedChannel, out map[string]any) (colour.XYZ, error) {
	s, err := c.light()
	if err != nil {
		return colour.XYZ{}, err
	}
	light := colour.Tristimulus(s)
	w, ok := colour.NewBinned(light)
	if ok {
		out["cct_nominal."+c.Name], out["duv_nominal."+c.Name] = w.Nominal.K, w.Nominal.Duv
	}
	if c.Bin == nil {
		l.fixed = l.fixed.Plus(light)
		return light, nil
	}
	if !ok {
		return light, fmt.Errorf("it has a bin and no colour temperature: %s", w.Nominal.Note)
	}
	bin, err := c.Bin.spread(w.Nominal.K)
	if err != nil {
		return light, err
	}
	l.light, l.bins = append(l.light, w), append(l.bins, bin)
	return light, nil
}

// quantiles samples lamps and adds P10, P50 and P90 of CCT and Duv to out.
func (l *binnedLamp) quantiles(ctx context.Context, out map[string]any) error {
	rng := rand.New(rand.NewPCG(1, 1))
	var cct, duv []float64
	for range binSamples {
		if err := ctx.Err(); err != nil {
			return err
		}
		t := l.draw(rng)
		cct, duv = append(cct, t.K), append(duv, t.Duv)
	}
	for key, v := range map[string][]float64{"lamp_cct": cct, "lamp_duv": duv} {
		slices.Sort(v)
		for _, q := range []int{10, 50, 90} {
			at := float64(q) / 100 * float64(len(v)-1)
			i := int(at)
			out[fmt.Sprintf("%s.p%d", key, q)] = v[i] + (at-float64(i))*(v[min(i+1, len(v)-1)]-v[i])
		}
	}
	return nil
}

// mixedChannel is a channel of a mix.
type mixedChannel struct {
	colourChannel
	Min *float64 `json:"level_min"`
	Max *float64 `json:"level_max"`
}

// runMix finds the levels of the most light within bands of CCT and Duv.
func runMix(_ context.Context, doc document, inputs *node) (map[string]any, error) {
	var in struct {
		Channels []mixedChannel `json:"channels"`
		CCT      [2]float64     `json:"cct_band_K"`
		Duv      [2]float64     `json:"duv_band"`
	}
	d := decoder{document: doc, guide: topicsGuide}
	d.fill(inputs, &in, "")
	if err := d.err(); err != nil {
		return nil, err
	}
	var names []string
	for _, c := range in.Channels {
		names = append(names, c.Name)
	}
	if err := checkColourChannels(names); err != nil {
		return nil, doc.placed(inputs, at("channels", err))
	}
	var channels []colour.Channel
	for i, c := range in.Channels {
		light, err := c.light()
		one := colour.Channel{Name: c.Name, Spectrum: light, Max: 1}
		if c.Min != nil {
			one.Min = *c.Min
		}
		if c.Max != nil {
			one.Max = *c.Max
		}
		if err == nil && !(one.Min >= 0 && one.Min <= one.Max && one.Max <= 1e6) {
			err = fmt.Errorf("levels from %g to %g; give 0 ≤ level_min ≤ level_max", one.Min, one.Max)
		}
		if err != nil {
			err = at(fmt.Sprintf("channels[%d]", i), fmt.Errorf("channel %s: %w", c.Name, err))
			return nil, doc.placed(inputs, err)
		}
		if one.Max == 0 { // a largest level of 0 means 1 in package colour
			one.Max, one.Spectrum = 1, spectrum.Dark()
		}
		channels = append(channels, one)
	}
	r, err := colour.Solve(channels, colour.Requirement{
		CCT: colour.Band{Lo: in.CCT[0], Hi: in.CCT[1]}, Duv: colour.Band{Lo: in.Duv[0], Hi: in.Duv[1]},
		Goal: colour.MaxLight,
	})
	if err != nil {
		return nil, doc.errorAt(inputs.at, err)
	}
	return mixFigures(channels, &r), nil
}

// mixFigures are the figures of a mix.
func mixFigures(channels []colour.Channel, r *colour.MixResult) map[string]any {
	if !r.InGamut {
		out := map[string]any{"feasible": false, "max_flux_lm": 0.0}
		if !math.IsNaN(r.NearestDuv) {
			out["duv_nearest"] = r.NearestDuv
		}
		return out
	}
	out := map[string]any{"feasible": true, "max_flux_lm": r.LuminousLm, "cct_K": r.CCT.K, "duv": r.CCT.Duv}
	for i, c := range channels {
		out["level."+c.Name] = r.Levels[i]
		if c.Spectrum.Empty() || c.Spectrum.RadiantW() == 0 {
			out["level."+c.Name] = 0.0
		}
	}
	return out
}
