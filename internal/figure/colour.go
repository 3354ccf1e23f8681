package figure

import (
	"fmt"
	"math"
	"strings"
	"sync"

	"lampwright/internal/colour"
	"lampwright/internal/engine"
	"lampwright/internal/lamp"
	"lampwright/internal/plant"
	"lampwright/internal/quantity"
	"lampwright/internal/spectrum"
)

// LooksView is what pictures of the lamp's colour need.
type ColourPreview struct {
	Points   []ColourPoint       `json:"points"`           // chromaticities: the lamp, the target, each channel
	Wanted   *ColourPoint        `json:"wanted,omitempty"` // the colour wanted, where one is
	R        []float64           `json:"r,omitempty"`      // R1 to R15 of the lamp; none where it has no colour temperature
	Bins     []colour.BinFigures `json:"hue_bins,omitempty"`
	LightHex string              `json:"light_hex,omitempty"` // #rrggbb of the light itself beside daylight
	Patches  []PatchView         `json:"patches,omitempty"`   // the samples of CIE 13.3
	Notes    []string            `json:"notes,omitempty"`     // what a preview cannot show
}

// ColourPoint is a chromaticity by its name.
type ColourPoint struct {
	Name  string    `json:"name"`
	XY    colour.XY `json:"xy"`
	Steps float64   `json:"steps,omitempty"` // radius of a tolerance about it, in SDCM
	LoK   float64   `json:"lo_k,omitempty"`  // a tolerance along the locus of black bodies in its place
	HiK   float64   `json:"hi_k,omitempty"`
}

// PatchView is a sample as a screen can show it, each as #rrggbb.
type PatchView struct {
	Name        string `json:"name"`
	LampHex     string `json:"lamp_hex"`     // under the lamp, to an eye adapted to it
	DaylightHex string `json:"daylight_hex"` // the same under D65
}

// viewerM is the distance of a viewer where the design does not state one: that at which lamps which do not light rooms
// are compared. Source: IEC62471-2006, §6.1.
const viewerM = 0.2

// spectralView holds the spectra that the figures of colour and plants come from, and those figures.
type spectralView struct {
	Lamp, Target           spectrum.Spectrum
	LampLooks, TargetLooks colour.Figures
	LampLeaves             plant.Figures
	TargetLeaves           plant.Figures
	Viewer                 viewerView
}

// viewerView is what somebody gets who looks up under the lamp.
type viewerView struct {
	DistanceM   float64
	Stated      bool
	AtEye       spectrum.Spectrum // W/m²/nm
	Lens, Board colour.BlueHazard // of the most hazardous lens alone, and of all lenses as one disc
	Label       string            // of that lens
	LensM       float64           // what shines, of that lens
	BoardM      float64
	Notes       []string
}

// spectralValues computes the figures of colour and plants that come from whole spectra. It does so once, for the lamp
// as its sheets state it.
func spectralValues(s *engine.System, r *Evaluation, sol engine.Solution) spectralView {
	v := spectralView{Lamp: s.LampSpectrum(sol.EmittedW), Target: s.TargetSpectrum(sol.EmittedW)}
	var both sync.WaitGroup
	both.Go(func() { v.LampLooks = colour.All(v.Lamp) })
	v.TargetLooks = colour.All(v.Target)
	both.Wait()
	colourValues(s, r, sol, v.Lamp, &v.LampLooks)
	v.LampLeaves, v.TargetLeaves = plant.All(v.Lamp), plant.All(v.Target)
	put := func(key string, x *float64) {
		if x != nil {
			sol.Values[key] = *x
		}
	}
	for _, p := range []struct {
		Name   string
		Looks  *colour.Figures
		Leaves *plant.Figures
	}{{"lamp", &v.LampLooks, &v.LampLeaves}, {"target", &v.TargetLooks, &v.TargetLeaves}} {
		put(p.Name+".u-prime", p.Looks.UPrime)
		put(p.Name+".v-prime", p.Looks.VPrime)
		put(p.Name+".melanopic-ratio", p.Looks.MelanopicDER)
		put(p.Name+".blue", p.Leaves.BlueShare)
		put(p.Name+".green", p.Leaves.GreenShare)
		put(p.Name+".red", p.Leaves.RedShare)
		put(p.Name+".far-red", p.Leaves.FarRedShare)
		put(p.Name+".blue-red", p.Leaves.BlueToRed)
		put(p.Name+".red-far-red", p.Leaves.RedToFarRed)
		if p.Leaves.YieldField != nil {
			sol.Values[p.Name+".yield"] = *p.Leaves.YieldField * *p.Leaves.PPFUmolS
		}
	}
	put("lamp.ler", v.LampLooks.LERLmW)
	put("lamp.chlorophyll", v.LampLeaves.ChlorophyllIx)
	put("target.cct", v.TargetLooks.CCTK)
	put("target.duv", v.TargetLooks.Duv)
	put("target.ra", v.TargetLooks.Ra)
	if e := v.TargetLooks.MelanopicDER; e != nil {
		sol.Values["target.melanopic"] = *e * *v.TargetLooks.LumensLm
	}
	if want := s.Lamp.Design.Wanted.CCT; want.Set {
		if xy, err := colour.TargetXY(want.SI); err == nil && v.LampLooks.X != nil {
			sol.Values["lamp.steps"] = colour.Steps(colour.XY{X: *v.LampLooks.X, Y: *v.LampLooks.Y}, xy)
		}
	}
	for i := range s.Lamp.Channels {
		if d, ok := single(s, i, sol.EmittedW); ok {
			name := s.Lamp.Channels[i].Name
			sol.Values[name+".dominant"], sol.Values[name+".purity"] = d.NM, d.Purity
		}
	}
	if lux := sol.Values["surface.lux"]; lux > 0 {
		sol.Values["light.moon-level"] = math.Min(1, colour.FullMoonLux/lux)
	}
	var err error
	if v.Viewer, err = viewer(s, sol); err != nil {
		r.Notes = append(r.Notes, err.Error())
	}
	if e := v.Viewer; err == nil && !e.AtEye.Empty() {
		lux := e.AtEye.LuminousLm()
		sol.Values["viewer.lux"], sol.Values["viewer.melanopic"] = lux, lux*colour.MelanopicDER(e.AtEye)
		sol.Values["viewer.blue"] = e.Board.IrradianceWM2
		sol.Values["viewer.blue-radiance"] = e.Lens.RadianceWM2Sr
		sol.Values["viewer.stare"] = math.Min(e.Lens.MaxExposureS, e.Board.MaxExposureS)
		sol.Values["viewer.blue-distance"] = colour.BlueThresholdM(e.AtEye.Scale(e.DistanceM * e.DistanceM))
	}
	looks(s, r, &v, sol)
	return v
}

// single returns the dominant wavelength of a channel of one colour; it is false for whites and purples.
func single(s *engine.System, channel int, leavesW []float64) (colour.Dominance, bool) {
	xy, ok := colour.Chromaticity(s.SpectrumOf(channel, leavesW))
	if !ok {
		return colour.Dominance{}, false
	}
	d := colour.DominantWavelength(xy, colour.WhiteE)
	least := lamp.SinglePurity
	if !colour.CCT(xy).Valid {
		least = lamp.TintPurity
	}
	return d, d.Valid && !d.Complementary && d.Purity >= least
}

// viewer returns what somebody gets at the eye who looks straight up from beneath the centre of the board.
//
// Two readings of the standard's source are taken, and the worse counts: the brightest lens alone, looked at along the
// direction of its greatest intensity; and all lenses as one even disc that just holds them.
func viewer(s *engine.System, sol engine.Solution) (viewerView, error) {
	l := s.Lamp
	v := viewerView{DistanceM: viewerM}
	if d := l.Design.Place.Viewer; d.Set {
		v.DistanceM, v.Stated = d.SI, true
	}
	levels := make([]float64, len(l.Emitters))
	units := make([]spectrum.Spectrum, len(l.Emitters))
	var cx, cy float64
	for i := range l.Emitters {
		cx += l.Emitters[i].XM / float64(len(l.Emitters))
		cy += l.Emitters[i].YM / float64(len(l.Emitters))
	}
	worst := math.Inf(-1)
	for i := range l.Emitters {
		e := &l.Emitters[i]
		p := l.Optics[e.Optic].Pattern
		lens := l.OnBoard(i)
		wide := l.ShinesM(e)
		x, y := e.XM-cx, e.YM-cy
		v.BoardM = math.Max(v.BoardM, 2*math.Hypot(x, y)+wide)
		far2 := x*x + y*y + v.DistanceM*v.DistanceM
		far := math.Sqrt(far2)
		cos := v.DistanceM / far
		// The eye is under the centre of the board, in line with the lamp's own axis.
		levels[i] = sol.EmittedW[i] * lens.Towards([3]float64{-x / far, -y / far, -cos}) * cos / far2
		units[i] = s.Warmed[i].Unit
		if sol.EmittedW[i] <= 0 {
			continue
		}
		h, err := colour.BlueLight(units[i].Scale(sol.EmittedW[i]*lamp.PeakOf(p)), colour.Viewer{DistanceM: v.DistanceM, SourceDiameterM: wide})
		if err != nil {
			return v, fmt.Errorf("blue light of emitter %s: %w", e.Label, err)
		}
		if h.RadianceWM2Sr > worst {
			worst, v.Lens, v.Label, v.LensM = h.RadianceWM2Sr, h, e.Label, wide
		}
	}
	if math.IsInf(worst, 0) {
		return v, nil
	}
	v.AtEye = spectrum.Mix(levels, units)
	var err error
	v.Board, err = colour.BlueLight(v.AtEye.Scale(v.DistanceM*v.DistanceM), colour.Viewer{DistanceM: v.DistanceM, SourceDiameterM: math.Min(v.BoardM, 2)})
	if err != nil {
		return v, fmt.Errorf("blue light of the board: %w", err)
	}
	group := max(v.Lens.Group, v.Board.Group)
	worse := v.Lens
	if v.Board.MaxExposureS < v.Lens.MaxExposureS {
		worse = v.Board
	}
	v.Notes = append(v.Notes, fmt.Sprintf("by these numbers the lamp compares with the limits of %s at this distance; a comparison, not the class of a tested lamp",
		[...]string{"the exempt group", "risk group 1 (low)", "risk group 2 (moderate)", "risk group 3 (high)"}[group]))
	v.Notes = append(v.Notes, worse.Notes...)
	return v, nil
}

// atOneWatt is a watt out of every lens.
func atOneWatt(s *engine.System) []float64 {
	w := make([]float64, len(s.Lamp.Emitters))
	for i := range w {
		w[i] = 1
	}
	return w
}

// looks fills what pictures of the colour need.
func looks(s *engine.System, r *Evaluation, v *spectralView, sol engine.Solution) {
	point := func(name string, sp spectrum.Spectrum) {
		if xy, ok := colour.Chromaticity(sp); ok {
			r.ColourPreview.Points = append(r.ColourPreview.Points, ColourPoint{Name: name, XY: xy})
		}
	}
	point("lamp", v.Lamp)
	point(s.Lamp.TargetName(), v.Target)
	for i := range s.Lamp.Channels {
		leavesW := sol.EmittedW
		if ch := &s.Lamp.Channels[i]; ch.Off() {
			leavesW = atOneWatt(s) // what it would look like: the channels are to be mixed
		}
		point(s.Lamp.Channels[i].Name, s.SpectrumOf(i, leavesW))
	}
	if want := s.Lamp.Design.Wanted.CCT; want.Set {
		if xy, err := colour.TargetXY(want.SI); err == nil {
			r.ColourPreview.Wanted = &ColourPoint{Name: quantity.Format(want.SI, quantity.CCT), XY: xy, Steps: 7}
			if w := r.ColourPreview.Wanted; want.Lo < want.Hi {
				w.Name, w.Steps, w.LoK, w.HiK = quantity.Format(want.Lo, quantity.CCT)+" to "+quantity.Format(want.Hi, quantity.CCT), 0, want.Lo, want.Hi
			}
		}
	}
	if v.LampLooks.R != nil {
		r.ColourPreview.R = v.LampLooks.R[:]
	}
	r.ColourPreview.Bins = v.LampLooks.Bins
	p, err := colour.NewPreview(v.Lamp)
	if err != nil {
		return // there is no light
	}
	r.ColourPreview.LightHex = p.Light.Hex()
	for _, patch := range p.Patches {
		r.ColourPreview.Patches = append(r.ColourPreview.Patches, PatchView{patch.Name, patch.Lamp.Hex(), patch.Daylight.Hex()})
	}
	r.ColourPreview.Notes = append([]string{"a preview: a screen has its own white and brightness, and adaptation of the eye is taken as complete"}, p.Notes...)
}

// spectralFigures writes the figures of colour, plants and eyes.
func (r *Evaluation) SpectralFigures(w *writer, s *engine.System, v *spectralView) {
	r.ColourFigures(w, s, v)
	r.LeafFigures(w, s, v)
	r.EyeFigures(w, s, v)
}

// shiftNote says how far spectra have moved, where they have.
func shiftNote(s *engine.System) string {
	most, of, bent, whites := 0.0, "", 0.0, ""
	stated := false
	for i := range s.Warmed {
		e := &s.Warmed[i]
		k := &s.Lamp.Types[s.Lamp.Emitters[i].Type]
		stated = stated || k.Part.PeakShift.Set || k.Shift.Way != lamp.NoDrift
		if math.Abs(e.ShiftNM) > math.Abs(most) {
			most, of = e.ShiftNM, s.Lamp.Emitters[i].Label
		}
		if !e.Moved || !k.Shift.Way.White() {
			continue
		}
		was, _ := k.XYZ.XY()
		now, _ := e.Xyz.XY()
		if n := colour.Steps(was, now); n > bent {
			bent, whites = n, s.Lamp.Emitters[i].Label
		}
	}
	switch {
	case !stated:
		return "no sheet states how its spectrum moves with temperature or current"
	case of == "" && whites == "":
		return "spectra as at their test points, where they run"
	}
	var far []string
	if of != "" {
		far = append(far, fmt.Sprintf("%s by %s nm", of, quantity.Signed(most, 1)))
	}
	if whites != "" {
		far = append(far, fmt.Sprintf("%s by %.1f steps", whites, bent))
	}
	return fmt.Sprintf("spectra as warm as they run on the usual day and at its currents (%s, the most); in every range and case the same", strings.Join(far, " and "))
}

func (r *Evaluation) ColourFigures(w *writer, s *engine.System, v *spectralView) {
	target := s.Lamp.TargetName()
	for _, p := range []struct {
		Key, Name, From string
		Dim             quantity.Dim
		Looks           *colour.Figures
	}{
		{"lamp", "of the lamp", "lamp.flux", quantity.Flux, &v.LampLooks},
		{"target", "at the " + target, "target.lux", quantity.Illuminance, &v.TargetLooks},
	} {
		if p.Looks.X == nil {
			continue
		}
		xy := fmt.Sprintf("x = %.4f, y = %.4f", *p.Looks.X, *p.Looks.Y)
		valid := "where the channels have mixed; " + shiftNote(s)
		if p.Key == "target" {
			valid = "mean over the plane, light of all ways; the water's share in 20 nm bands, straight between; " + shiftNote(s)
		}
		basis := func(formula, numbers, method string, notes ...string) Basis {
			return Basis{Formula: formula, Numbers: numbers, Inputs: []Input{w.Ref("light", p.From, p.Dim)}, Method: method, Valid: valid, Notes: notes}
		}
		uv := func(f string) string { return fmt.Sprintf("%s → %s", xy, f) }
		w.Put(p.Key+".u-prime", "chromaticity u′ "+p.Name, quantity.None, basis("u′ = 4x/(−2x + 12y + 3)", uv(fmt.Sprintf("%.4f", w.Values[p.Key+".u-prime"])), "CIE15-2018, §8.2"))
		w.Put(p.Key+".v-prime", "chromaticity v′ "+p.Name, quantity.None, basis("v′ = 9y/(−2x + 12y + 3)", uv(fmt.Sprintf("%.4f", w.Values[p.Key+".v-prime"])), "CIE15-2018, §8.2"))
		if p.Key == "target" {
			w.Put("target.cct", "colour temperature at the "+target, quantity.CCT, basis("nearest point of the Planckian locus in CIE 1960 u, v", xy+" → "+w.Text("target.cct", quantity.CCT), "CIE15-2018, §9"))
			w.Put("target.duv", "distance from the Planckian locus at the "+target+" (Duv)", quantity.None, basis("distance in CIE 1960 u, v, above is positive", fmt.Sprintf("%s → %s", xy, quantity.Signed(w.Values["target.duv"], 4)), "Ohno2014"))
			w.Put("target.ra", "colour rendering at the "+target+" (Ra)", quantity.None, basis("mean of R1 to R8 under the light that arrives", xy+" → "+w.Text("target.ra", quantity.None), "CIE13.3-1995", p.Looks.Notes...))
		}
	}
	if want := s.Lamp.Design.Wanted.CCT; want.Set && v.LampLooks.X != nil {
		xy, _ := colour.TargetXY(want.SI)
		w.Put("lamp.steps", "steps of visible difference from the colour wanted (SDCM)", quantity.None, Basis{
			Formula: "n = |Δ(u′, v′)| / 0.0011",
			Numbers: fmt.Sprintf("lamp x = %.4f, y = %.4f; %s is x = %.4f, y = %.4f → %s steps", *v.LampLooks.X, *v.LampLooks.Y, quantity.Format(want.SI, quantity.CCT), xy.X, xy.Y, num(w.Values["lamp.steps"])),
			Inputs:  []Input{given("colour wanted", want, quantity.CCT, theDesign), w.Ref("light", "lamp.flux", quantity.Flux)},
			Method:  "CIETN001-2014, §4; the colour wanted lies on the Planckian locus, from 5000 K up on that of daylight (IEC60081)",
			Valid:   "near the white line; one step can just be told apart side by side, lamps are commonly sold within 3 to 7 (common practice, no source)",
		})
	}
	w.Put("lamp.ler", "lumens in each watt of the lamp's light", quantity.Efficacy, Basis{
		Formula: "K = 683 lm/W · ∫S V dλ / ∫S dλ", Numbers: w.Text("lamp.ler", quantity.Efficacy), Inputs: []Input{w.Ref("light", "lamp.flux", quantity.Flux)},
		Method: "CIE018-2019", Valid: "360 nm to 830 nm; " + shiftNote(s),
	})
	for i := range s.Lamp.Channels {
		ch := &s.Lamp.Channels[i]
		first := ch.Emitters[0]
		k := &s.Lamp.Types[s.Lamp.Emitters[first].Type]
		sheet := lamp.SheetOf(k.Part.Sheet, "emitter", k.Part.ID.S)
		in := []Input{{Name: "spectrum", Value: "at the test point", Source: spectrumSource(k, sheet)}, w.Ref("T_j", ch.Name+".junction", quantity.Temperature)}
		numbers := fmt.Sprintf("%s at a purity of %s", w.Text(ch.Name+".dominant", quantity.Wavelength), w.Text(ch.Name+".purity", quantity.Ratio))
		if _, ok := w.Values[ch.Name+".shift"]; ok {
			in = append(in, w.Ref("shift", ch.Name+".shift", quantity.Wavelength))
			numbers += fmt.Sprintf("; moved by %+.2f nm, the first emitter's", s.Warmed[first].ShiftNM)
		}
		b := Basis{
			Formula: "ray from equal-energy white through the colour to the spectral locus", Numbers: numbers, Inputs: in,
			Method: "CIE15-2018, §9.3; CIE127-2007, §7", Valid: "colours of a purity of 85 % and more, or of 50 % where there is no colour temperature; " + shiftNote(s),
		}
		w.Put(ch.Name+".dominant", "channel "+ch.Name+": dominant wavelength", quantity.Wavelength, b)
		w.Put(ch.Name+".purity", "channel "+ch.Name+": excitation purity", quantity.Ratio, b)
	}
}

func (r *Evaluation) LeafFigures(w *writer, s *engine.System, v *spectralView) {
	target := s.Lamp.TargetName()
	for _, p := range []struct {
		Key, Name, From string
		Dim             quantity.Dim
		Sp              spectrum.Spectrum
	}{
		{"lamp", "of the lamp", "lamp.ppf", quantity.PhotonFlux, v.Lamp},
		{"target", "at the " + target, "target.ppfd", quantity.PPFD, v.Target},
	} {
		all := plant.PAR.UmolS(p.Sp)
		valid := "trapezoid sums at 1 nm; " + shiftNote(s)
		share := func(key, what string, b plant.Band) {
			part := b.UmolS(p.Sp)
			w.Put(p.Key+"."+key, what+" "+p.Name, quantity.Ratio, Basis{
				Formula: fmt.Sprintf("∫ q dλ, %g–%g nm, over 400–700 nm", b.LoNM, b.HiNM),
				Numbers: fmt.Sprintf("%s of %s = %s", quantity.Format(part, p.Dim), quantity.Format(all, p.Dim), w.Text(p.Key+"."+key, quantity.Ratio)),
				Inputs:  []Input{w.Ref("photons", p.From, p.Dim)}, Method: "ANSI-ASABE-S640", Valid: valid,
			})
		}
		share("blue", "share of blue photons", plant.Blue)
		share("green", "share of green photons", plant.Green)
		share("red", "share of red photons", plant.Red)
		share("far-red", "far-red photons over those of 400–700 nm", plant.FarRed)
		w.Put(p.Key+".blue-red", "blue over red photons "+p.Name, quantity.None, Basis{
			Formula: "B:R = ∫ q dλ 400–500 nm / ∫ q dλ 600–700 nm",
			Numbers: fmt.Sprintf("%s / %s = %s", w.Text(p.Key+".blue", quantity.Ratio), w.Text(p.Key+".red", quantity.Ratio), num(w.Values[p.Key+".blue-red"])),
			Inputs:  []Input{w.Ref("blue", p.Key+".blue", quantity.Ratio), w.Ref("red", p.Key+".red", quantity.Ratio)}, Method: "ANSI-ASABE-S640 (bands)", Valid: valid,
		})
		w.Put(p.Key+".red-far-red", "red over far-red photons "+p.Name, quantity.None, Basis{
			Formula: "R:FR = ∫ q dλ 655–665 nm / ∫ q dλ 725–735 nm",
			Numbers: fmt.Sprintf("%s / %s = %s", quantity.Format(plant.Band{LoNM: 655, HiNM: 665}.UmolS(p.Sp), p.Dim), quantity.Format(plant.Band{LoNM: 725, HiNM: 735}.UmolS(p.Sp), p.Dim), num(w.Values[p.Key+".red-far-red"])),
			Inputs:  []Input{w.Ref("photons", p.From, p.Dim)}, Method: "Smith1982", Valid: valid + "; daylight has about 1.2; of spectra made of peaks the far tail is too weak, and this ratio too high",
		})
		w.Put(p.Key+".yield", "photons weighted by yield "+p.Name+" (McCree, field set)", p.Dim, Basis{
			Formula: "YPF = ∫ q y dλ, 360–750 nm",
			Numbers: fmt.Sprintf("%s of %s, %.1f %%", w.Text(p.Key+".yield", p.Dim), quantity.Format(all, p.Dim), 100*w.Values[p.Key+".yield"]/all),
			Inputs:  []Input{w.Ref("photons", p.From, p.Dim)}, Method: "McCree1972, Table IV (plants grown in the field)", Valid: valid,
			Notes: []string{
				fmt.Sprintf("with his plants from a growth chamber (Table III) it is %s", quantity.Format(plant.YieldUmolS(p.Sp, plant.Chamber), p.Dim)),
				"measured with one colour at a time, weak light and single leaves of crop plants: it undervalues green in a dense stand and far-red beside red",
			},
		})
	}
	w.Put("lamp.chlorophyll", "mean absorption of chlorophyll over the lamp's photons", quantity.Ratio, Basis{
		Formula: "∫ q a dλ / ∫ q dλ, 400–700 nm, a = 1 at its peak", Numbers: w.Text("lamp.chlorophyll", quantity.Ratio),
		Inputs: []Input{w.Ref("photons", "lamp.ppf", quantity.PhotonFlux)}, Method: "Du1998, three parts of chlorophyll a to one of b",
		Valid: "information only and no measure of growth: pigments in ether absorb in narrower bands than leaves, which use green light too",
	})
}

func (r *Evaluation) EyeFigures(w *writer, s *engine.System, v *spectralView) {
	target := s.Lamp.TargetName()
	const receptor = "weighting of human eyes of 32 years; for fish and plants it is a figure of blue-green light and no more"
	w.Put("lamp.melanopic-ratio", "melanopic daylight ratio of the lamp (DER)", quantity.None, Basis{
		Formula: "melanopic EDI / illuminance", Numbers: num(w.Values["lamp.melanopic-ratio"]) + "; daylight D65 has 1", Inputs: []Input{w.Ref("light", "lamp.flux", quantity.Flux)},
		Method: "CIES026-2018, §3", Valid: receptor,
	})
	w.Put("target.melanopic-ratio", "melanopic daylight ratio at the "+target+" (DER)", quantity.None, Basis{
		Formula: "melanopic EDI / illuminance", Numbers: num(w.Values["target.melanopic-ratio"]) + "; daylight D65 has 1", Inputs: []Input{w.Ref("light", "target.lux", quantity.Illuminance)},
		Method: "CIES026-2018, §3", Valid: receptor,
	})
	w.Put("target.melanopic", "melanopic light at the "+target+" (EDI)", quantity.Illuminance, Basis{
		Formula: "EDI = E_v · DER", Numbers: fmt.Sprintf("%s · %s = %s", w.Text("target.lux", quantity.Illuminance), num(w.Values["target.melanopic-ratio"]), w.Text("target.melanopic", quantity.Illuminance)),
		Inputs: []Input{w.Ref("E_v", "target.lux", quantity.Illuminance), w.Ref("DER", "target.melanopic-ratio", quantity.None)}, Method: "CIES026-2018, §3", Valid: receptor,
	})
	w.Put("light.moon-level", "share of full light that is as bright on the water as a full moon", quantity.Ratio, Basis{
		Formula: "level = 0.2 lx / E_v", Numbers: fmt.Sprintf("0.2 lx / %s = %s", w.Text("surface.lux", quantity.Illuminance), w.Text("light.moon-level", quantity.Ratio)),
		Inputs: []Input{w.Ref("E_v", "surface.lux", quantity.Illuminance)}, Method: "Kyba2017", Valid: "a high full moon in a clear sky gives 0.05 to 0.3 lx; few drivers dim so far, so that a night light is best a channel of its own",
	})
	e := &v.Viewer
	if e.AtEye.Empty() {
		return
	}
	at := Input{Name: "d", Value: quantity.Format(e.DistanceM, quantity.Length), Source: theDesign, At: s.Lamp.Design.Place.Viewer.At}
	if !e.Stated {
		at.Source, at.At = "assumed: the distance at which lamps that do not light rooms are compared (IEC62471-2006); state viewer_distance for another", s.Lamp.Design.Place.Hanging.At
	}
	where := "from " + quantity.Format(e.DistanceM, quantity.Length) + " under the lamp, looking up"
	const still = "through air, straight beneath the middle of the lenses, every channel at its level"
	w.Put("viewer.lux", "light at the eye "+where, quantity.Illuminance, Basis{
		Formula: "E_v = Σ I_v,e cos θ / d²", Numbers: w.Text("viewer.lux", quantity.Illuminance), Inputs: []Input{at, w.Ref("light", "lamp.flux", quantity.Flux)}, Method: "inverse square of each lens's intensity", Valid: still,
	})
	w.Put("viewer.melanopic", "melanopic light at the eye (EDI) "+where, quantity.Illuminance, Basis{
		Formula: "EDI = E_v · DER", Numbers: fmt.Sprintf("%s → %s", w.Text("viewer.lux", quantity.Illuminance), w.Text("viewer.melanopic", quantity.Illuminance)),
		Inputs: []Input{at, w.Ref("E_v", "viewer.lux", quantity.Illuminance)}, Method: "CIES026-2018, §3; advice of Brown2022", Valid: still + "; " + receptor,
		Notes: []string{"at the eye that is " + colour.MelanopicAdvice(w.Values["viewer.melanopic"]) + "; in the room beside the lamp it is far less, which is not computed"},
	})
	caution := append([]string(nil), e.Notes...)
	w.Put("viewer.blue", "blue-weighted irradiance at the eye "+where+" (E_B)", quantity.HeatFlux, Basis{
		Formula: "E_B = Σ_λ E B(λ) Δλ", Numbers: w.Text("viewer.blue", quantity.HeatFlux) + "; a small source may reach 1 W/m² at low risk",
		Inputs: []Input{at, w.Ref("E_v", "viewer.lux", quantity.Illuminance)}, Method: "IEC62471-2006, §4.3.4", Valid: still, Notes: caution,
	})
	w.Put("viewer.blue-radiance", "blue-weighted radiance of the brightest lens (L_B), W/(m²·sr)", quantity.None, Basis{
		Formula: "L_B = I_B / (π/4 · D²)", Numbers: fmt.Sprintf("%s, %s wide → %s W/(m²·sr); seen under %.0f mrad", e.Label, quantity.Format(e.LensM, quantity.Length), num(e.Lens.RadianceWM2Sr), 1e3*e.Lens.AngleRad),
		Inputs: []Input{at, w.Ref("light", "lamp.flux", quantity.Flux)}, Method: "IEC62471-2006, §4.3.3", Valid: "a lens evenly filled with light, seen along its greatest intensity; of a bare package 0.7 of its width shines (common practice, no source)", Notes: caution,
	})
	w.Put("viewer.stare", "staring time to the blue-light limit "+where, quantity.Time, Basis{
		Formula: "t = 10⁶ J/(m²·sr) / L_B, at most 10 000 s",
		Numbers: fmt.Sprintf("brightest lens alone %s, all lenses as one disc of %s %s → %s", quantity.Format(e.Lens.MaxExposureS, quantity.Time), quantity.Format(e.BoardM, quantity.Length), quantity.Format(e.Board.MaxExposureS, quantity.Time), w.Text("viewer.stare", quantity.Time)),
		Inputs:  []Input{at, w.Ref("L_B", "viewer.blue-radiance", quantity.None)}, Method: "IEC62471-2006, §§4.3.3, 4.3.4 and 6.1, L_B averaged over 11 mrad; below 11 mrad 100 J/m² over E_B", Valid: still, Notes: caution,
	})
	w.Put("viewer.blue-distance", "distance beyond which blue light stays under the limit of a small source", quantity.Length, Basis{
		Formula: "d = √(I_B / 1 W/m²)", Numbers: w.Text("viewer.blue-distance", quantity.Length), Inputs: []Input{w.Ref("E_B", "viewer.blue", quantity.HeatFlux)}, Method: "IECTR62778-2014, §6",
		Valid: "straight beneath the lamp; far enough away for the whole lamp to be a small source", Notes: caution,
	})
}
