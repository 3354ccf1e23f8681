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
	Points   []ColourPoint       `json:"points"`             // chromaticities: the lamp, the target, each channel
	Required *ColourPoint        `json:"required,omitempty"` // the required colour, if any
	R        []float64           `json:"r,omitempty"`        // R1 to R15 of the lamp; none where it has no colour temperature
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
	lamp, target           spectrum.Spectrum
	lampLooks, targetLooks colour.Figures
	lampLeaves             plant.Figures
	targetLeaves           plant.Figures
	viewer                 viewerView
}

// viewerView is what somebody gets who looks up under the lamp.
type viewerView struct {
	distanceM   float64
	stated      bool
	atEye       spectrum.Spectrum // W/m²/nm
	Lens, Board colour.BlueHazard // of the most hazardous lens alone, and of all lenses as one disc
	label       string            // of that lens
	lensM       float64           // what shines, of that lens
	boardM      float64
	notes       []string
}

// spectralValues computes the figures of colour and plants that come from whole spectra. It does so once, for the lamp
// as its sheets state it.
func spectralValues(s *engine.System, r *Evaluation, sol *engine.Solution) spectralView {
	v := spectralView{lamp: s.LampSpectrum(sol.EmittedW), target: s.TargetSpectrum(sol.EmittedW)}
	var both sync.WaitGroup
	both.Go(func() { v.lampLooks = colour.All(v.lamp) })
	v.targetLooks = colour.All(v.target)
	both.Wait()
	colourValues(r, sol, v.lamp, &v.lampLooks)
	v.lampLeaves, v.targetLeaves = plant.All(v.lamp), plant.All(v.target)
	var err error
	if v.viewer, err = viewer(s, *sol); err != nil {
		r.Notes = append(r.Notes, err.Error())
		v.viewer.atEye = spectrum.Dark()
	}
	looks(s, r, &v, *sol)
	return v
}

// single returns the numbers of a channel of one colour.
func single(s *engine.System, channel int, emittedW []float64, value func(colour.Dominance) float64) numbers {
	d, ok := singleColour(s, channel, emittedW)
	if !ok {
		return onceIf(nil)
	}
	return once(value(d))
}

// moonLevel returns the numbers of the level at which the light on the water equals a full moon's.
func moonLevel(surfaceLux float64) numbers {
	if !(surfaceLux > 0) {
		return onceIf(nil)
	}
	return once(math.Min(1, colour.FullMoonLux/surfaceLux))
}

// singleColour returns the dominant wavelength of a channel of one colour; it is false for whites and purples.
func singleColour(s *engine.System, channel int, leavesW []float64) (colour.Dominance, bool) {
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
	v := viewerView{distanceM: viewerM}
	if d := l.Design.Installation.ViewerDistance; d.Set {
		v.distanceM, v.stated = d.SI, true
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
		v.boardM = math.Max(v.boardM, 2*math.Hypot(x, y)+wide)
		far2 := x*x + y*y + v.distanceM*v.distanceM
		far := math.Sqrt(far2)
		cos := v.distanceM / far
		// The eye is under the centre of the board, in line with the lamp's own axis.
		levels[i] = sol.EmittedW[i] * lens.Towards([3]float64{-x / far, -y / far, -cos}) * cos / far2
		units[i] = s.Warmed[i].Unit
		if sol.EmittedW[i] <= 0 {
			continue
		}
		h, err := colour.BlueLight(units[i].Scale(sol.EmittedW[i]*lamp.PeakOf(p)), colour.Viewer{DistanceM: v.distanceM, SourceDiameterM: wide})
		if err != nil {
			return v, fmt.Errorf("blue light of emitter %s: %w", e.Label, err)
		}
		if h.RadianceWM2Sr > worst {
			worst, v.Lens, v.label, v.lensM = h.RadianceWM2Sr, h, e.Label, wide
		}
	}
	if math.IsInf(worst, 0) {
		return v, nil
	}
	v.atEye = spectrum.Mix(levels, units)
	var err error
	v.Board, err = colour.BlueLight(v.atEye.Scale(v.distanceM*v.distanceM), colour.Viewer{DistanceM: v.distanceM, SourceDiameterM: math.Min(v.boardM, 2)})
	if err != nil {
		return v, fmt.Errorf("blue light of the board: %w", err)
	}
	group := max(v.Lens.Group, v.Board.Group)
	worse := v.Lens
	if v.Board.MaxExposureS < v.Lens.MaxExposureS {
		worse = v.Board
	}
	v.notes = append(v.notes, fmt.Sprintf("by these numbers the lamp compares with the limits of %s at this distance; a comparison, not the class of a tested lamp",
		[...]string{"the exempt group", "risk group 1 (low)", "risk group 2 (moderate)", "risk group 3 (high)"}[group]))
	v.notes = append(v.notes, worse.Notes...)
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
	point("lamp", v.lamp)
	point(s.Lamp.TargetName(), v.target)
	for i := range s.Lamp.Channels {
		leavesW := sol.EmittedW
		if ch := &s.Lamp.Channels[i]; ch.Off() {
			leavesW = atOneWatt(s) // what it would look like: the channels are to be mixed
		}
		point(s.Lamp.Channels[i].Name, s.SpectrumOf(i, leavesW))
	}
	if want := s.Lamp.Design.Requirements.CCT; want.Set {
		if xy, err := colour.TargetXY(want.SI); err == nil {
			r.ColourPreview.Required = &ColourPoint{Name: quantity.Format(want.SI, quantity.CCT), XY: xy, Steps: 7}
			if w := r.ColourPreview.Required; want.Lo < want.Hi {
				w.Name, w.Steps, w.LoK, w.HiK = quantity.Format(want.Lo, quantity.CCT)+" to "+quantity.Format(want.Hi, quantity.CCT), 0, want.Lo, want.Hi
			}
		}
	}
	if v.lampLooks.R != nil {
		r.ColourPreview.R = v.lampLooks.R[:]
	}
	r.ColourPreview.Bins = v.lampLooks.Bins
	p, err := colour.NewPreview(v.lamp)
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
func (r *Evaluation) spectralFigures(w *writer, s *engine.System, v *spectralView) {
	r.colourFigures(w, s, v)
	r.leafFigures(w, s, v)
	r.eyeFigures(w, s, v)
}

// shiftNote says how far spectra have moved, where they have.
func shiftNote(s *engine.System) string {
	most, of, bent, whites := 0.0, "", 0.0, ""
	stated := false
	for i := range s.Warmed {
		e := &s.Warmed[i]
		k := &s.Lamp.Types[s.Lamp.Emitters[i].Type]
		stated = stated || k.Part.WavelengthTempco.Set || k.Shift.Way != lamp.NoDrift
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

func (r *Evaluation) colourFigures(w *writer, s *engine.System, v *spectralView) {
	target := s.Lamp.TargetName()
	for _, p := range []struct {
		key, name, from string
		dim             quantity.Dim
		looks           *colour.Figures
	}{
		{"lamp", "of the lamp", "lamp.flux", quantity.Flux, &v.lampLooks},
		{"target", "at the " + target, "target.lux", quantity.Illuminance, &v.targetLooks},
	} {
		if p.looks.X == nil {
			continue
		}
		xy := fmt.Sprintf("x = %.4f, y = %.4f", *p.looks.X, *p.looks.Y)
		valid := "where the channels have mixed; " + shiftNote(s)
		if p.key == "target" {
			valid = "mean over the plane, light of all ways; the water's share in 20 nm bands, straight between; " + shiftNote(s)
		}
		basis := func(formula, numbers, method string, notes ...string) Basis {
			return Basis{Formula: formula, Numbers: numbers, Inputs: []Input{w.ref("light", p.from, p.dim)}, Method: method, Valid: valid, Notes: notes}
		}
		uv := func(f string) string { return fmt.Sprintf("%s → %s", xy, f) }
		w.row(p.key+".u-prime", "chromaticity u′ "+p.name, quantity.None, onceIf(p.looks.UPrime), func() Basis {
			return basis("u′ = 4x/(−2x + 12y + 3)", uv(fmt.Sprintf("%.4f", w.values[p.key+".u-prime"])), "CIE15-2018, §8.2")
		})
		w.row(p.key+".v-prime", "chromaticity v′ "+p.name, quantity.None, onceIf(p.looks.VPrime), func() Basis {
			return basis("v′ = 9y/(−2x + 12y + 3)", uv(fmt.Sprintf("%.4f", w.values[p.key+".v-prime"])), "CIE15-2018, §8.2")
		})
		if p.key == "target" {
			w.row("target.cct", "colour temperature at the "+target, quantity.CCT, onceIf(v.targetLooks.CCTK), func() Basis {
				return basis("nearest point of the Planckian locus in CIE 1960 u, v", xy+" → "+w.text("target.cct", quantity.CCT), "CIE15-2018, §9")
			})
			w.row("target.duv", "distance from the Planckian locus at the "+target+" (Duv)", quantity.None, onceIf(v.targetLooks.Duv), func() Basis {
				return basis("distance in CIE 1960 u, v, above is positive", fmt.Sprintf("%s → %s", xy, quantity.Signed(w.values["target.duv"], 4)), "Ohno2014")
			})
			w.row("target.ra", "colour rendering at the "+target+" (Ra)", quantity.None, onceIf(v.targetLooks.Ra), func() Basis {
				return basis("mean of R1 to R8 under the light that arrives", xy+" → "+w.text("target.ra", quantity.None), "CIE13.3-1995", p.looks.Notes...)
			})
		}
	}
	if want := s.Lamp.Design.Requirements.CCT; want.Set && v.lampLooks.X != nil {
		xy, _ := colour.TargetXY(want.SI)
		w.row("lamp.sdcm", "steps of visible difference from the colour wanted (SDCM)", quantity.None, once(colour.Steps(colour.XY{X: *v.lampLooks.X, Y: *v.lampLooks.Y}, xy)), func() Basis {
			return Basis{
				Formula: "n = |Δ(u′, v′)| / 0.0011",
				Numbers: fmt.Sprintf("lamp x = %.4f, y = %.4f; %s is x = %.4f, y = %.4f → %s steps", *v.lampLooks.X, *v.lampLooks.Y, quantity.Format(want.SI, quantity.CCT), xy.X, xy.Y, num(w.values["lamp.sdcm"])),
				Inputs:  []Input{given("colour wanted", want, quantity.CCT, theDesign), w.ref("light", "lamp.flux", quantity.Flux)},
				Method:  "CIETN001-2014, §4; the colour wanted lies on the Planckian locus, from 5000 K up on that of daylight (IEC60081)",
				Valid:   "near the white line; one step can just be told apart side by side, lamps are commonly sold within 3 to 7 (common practice, no source)",
			}
		})
	}
	w.row("lamp.ler", "lumens in each watt of the lamp's light", quantity.Efficacy, onceIf(v.lampLooks.LERLmW), func() Basis {
		return Basis{
			Formula: "K = 683 lm/W · ∫S V dλ / ∫S dλ", Numbers: w.text("lamp.ler", quantity.Efficacy), Inputs: []Input{w.ref("light", "lamp.flux", quantity.Flux)},
			Method: "CIE018-2019", Valid: "360 nm to 830 nm; " + shiftNote(s),
		}
	})
	for i := range s.Lamp.Channels {
		ch := &s.Lamp.Channels[i]
		first := ch.Emitters[0]
		k := &s.Lamp.Types[s.Lamp.Emitters[first].Type]
		sheet := lamp.SheetOf(k.Part.Datasheet, "emitter", k.Part.ID.S)
		in := []Input{{Name: "spectrum", Value: "at the test point", Source: spectrumSource(k, sheet)}, w.ref("T_j", ch.Name+".junction", quantity.Temperature)}
		numbers := fmt.Sprintf("%s at a purity of %s", w.text(ch.Name+".dominant", quantity.Wavelength), w.text(ch.Name+".purity", quantity.Ratio))
		if _, ok := w.values[ch.Name+".shift"]; ok {
			in = append(in, w.ref("shift", ch.Name+".shift", quantity.Wavelength))
			numbers += fmt.Sprintf("; moved by %+.2f nm, the first emitter's", s.Warmed[first].ShiftNM)
		}
		b := Basis{
			Formula: "ray from equal-energy white through the colour to the spectral locus", Numbers: numbers, Inputs: in,
			Method: "CIE15-2018, §9.3; CIE127-2007, §7", Valid: "colours of a purity of 85 % and more, or of 50 % where there is no colour temperature; " + shiftNote(s),
		}
		w.row(ch.Name+".dominant", "channel "+ch.Name+": dominant wavelength", quantity.Wavelength, single(s, i, w.sol.EmittedW, func(d colour.Dominance) float64 { return d.NM }), func() Basis { return b })
		w.row(ch.Name+".purity", "channel "+ch.Name+": excitation purity", quantity.Ratio, single(s, i, w.sol.EmittedW, func(d colour.Dominance) float64 { return d.Purity }), func() Basis { return b })
	}
}

func (r *Evaluation) leafFigures(w *writer, s *engine.System, v *spectralView) {
	target := s.Lamp.TargetName()
	for _, p := range []struct {
		key, name, from string
		dim             quantity.Dim
		sp              spectrum.Spectrum
		leaves          *plant.Figures
	}{
		{"lamp", "of the lamp", "lamp.ppf", quantity.PhotonFlux, v.lamp, &v.lampLeaves},
		{"target", "at the " + target, "target.ppfd", quantity.PPFD, v.target, &v.targetLeaves},
	} {
		all := plant.PAR.UmolS(p.sp)
		valid := "trapezoid sums at 1 nm; " + shiftNote(s)
		share := func(key, what string, b plant.Band, value *float64) {
			part := b.UmolS(p.sp)
			w.row(p.key+"."+key, what+" "+p.name, quantity.Ratio, onceIf(value), func() Basis {
				return Basis{
					Formula: fmt.Sprintf("∫ q dλ, %g–%g nm, over 400–700 nm", b.LoNM, b.HiNM),
					Numbers: fmt.Sprintf("%s of %s = %s", quantity.Format(part, p.dim), quantity.Format(all, p.dim), w.text(p.key+"."+key, quantity.Ratio)),
					Inputs:  []Input{w.ref("photons", p.from, p.dim)}, Method: "ANSI-ASABE-S640", Valid: valid,
				}
			})
		}
		share("blue", "share of blue photons", plant.Blue, p.leaves.BlueShare)
		share("green", "share of green photons", plant.Green, p.leaves.GreenShare)
		share("red", "share of red photons", plant.Red, p.leaves.RedShare)
		share("far-red", "far-red photons over those of 400–700 nm", plant.FarRed, p.leaves.FarRedShare)
		w.row(p.key+".blue-red", "blue over red photons "+p.name, quantity.None, onceIf(p.leaves.BlueToRed), func() Basis {
			return Basis{
				Formula: "B:R = ∫ q dλ 400–500 nm / ∫ q dλ 600–700 nm",
				Numbers: fmt.Sprintf("%s / %s = %s", w.text(p.key+".blue", quantity.Ratio), w.text(p.key+".red", quantity.Ratio), num(w.values[p.key+".blue-red"])),
				Inputs:  []Input{w.ref("blue", p.key+".blue", quantity.Ratio), w.ref("red", p.key+".red", quantity.Ratio)}, Method: "ANSI-ASABE-S640 (bands)", Valid: valid,
			}
		})
		w.row(p.key+".red-far-red", "red over far-red photons "+p.name, quantity.None, onceIf(p.leaves.RedToFarRed), func() Basis {
			return Basis{
				Formula: "R:FR = ∫ q dλ 655–665 nm / ∫ q dλ 725–735 nm",
				Numbers: fmt.Sprintf("%s / %s = %s", quantity.Format(plant.Band{LoNM: 655, HiNM: 665}.UmolS(p.sp), p.dim), quantity.Format(plant.Band{LoNM: 725, HiNM: 735}.UmolS(p.sp), p.dim), num(w.values[p.key+".red-far-red"])),
				Inputs:  []Input{w.ref("photons", p.from, p.dim)}, Method: "Smith1982", Valid: valid + "; daylight has about 1.2; of spectra made of peaks the far tail is too weak, and this ratio too high",
			}
		})
		w.row(p.key+".ypf", "photons weighted by yield "+p.name+" (McCree, field set)", p.dim, product(p.leaves.YieldField, p.leaves.PPFUmolS), func() Basis {
			return Basis{
				Formula: "YPF = ∫ q y dλ, 360–750 nm",
				Numbers: fmt.Sprintf("%s of %s, %.1f %%", w.text(p.key+".ypf", p.dim), quantity.Format(all, p.dim), 100*w.values[p.key+".ypf"]/all),
				Inputs:  []Input{w.ref("photons", p.from, p.dim)}, Method: "McCree1972, Table IV (plants grown in the field)", Valid: valid,
				Notes: []string{
					fmt.Sprintf("with his plants from a growth chamber (Table III) it is %s", quantity.Format(plant.YieldUmolS(p.sp, plant.Chamber), p.dim)),
					"measured with one colour at a time, weak light and single leaves of crop plants: it undervalues green in a dense stand and far-red beside red",
				},
			}
		})
	}
	w.row("lamp.chlorophyll", "mean absorption of chlorophyll over the lamp's photons", quantity.Ratio, onceIf(v.lampLeaves.ChlorophyllIx), func() Basis {
		return Basis{
			Formula: "∫ q a dλ / ∫ q dλ, 400–700 nm, a = 1 at its peak", Numbers: w.text("lamp.chlorophyll", quantity.Ratio),
			Inputs: []Input{w.ref("photons", "lamp.ppf", quantity.PhotonFlux)}, Method: "Du1998, three parts of chlorophyll a to one of b",
			Valid: "information only and no measure of growth: pigments in ether absorb in narrower bands than leaves, which use green light too",
		}
	})
}

func (r *Evaluation) eyeFigures(w *writer, s *engine.System, v *spectralView) {
	target := s.Lamp.TargetName()
	const receptor = "weighting of human eyes of 32 years; for fish and plants it is a figure of blue-green light and no more"
	w.row("lamp.melanopic-der", "melanopic daylight ratio of the lamp (DER)", quantity.None, onceIf(v.lampLooks.MelanopicDER), func() Basis {
		return Basis{
			Formula: "melanopic EDI / illuminance", Numbers: num(w.values["lamp.melanopic-der"]) + "; daylight D65 has 1", Inputs: []Input{w.ref("light", "lamp.flux", quantity.Flux)},
			Method: "CIES026-2018, §3", Valid: receptor,
		}
	})
	w.row("target.melanopic-der", "melanopic daylight ratio at the "+target+" (DER)", quantity.None, onceIf(v.targetLooks.MelanopicDER), func() Basis {
		return Basis{
			Formula: "melanopic EDI / illuminance", Numbers: num(w.values["target.melanopic-der"]) + "; daylight D65 has 1", Inputs: []Input{w.ref("light", "target.lux", quantity.Illuminance)},
			Method: "CIES026-2018, §3", Valid: receptor,
		}
	})
	w.row("target.melanopic-edi", "melanopic light at the "+target+" (EDI)", quantity.Illuminance, product(v.targetLooks.MelanopicDER, v.targetLooks.LumensLm), func() Basis {
		return Basis{
			Formula: "EDI = E_v · DER", Numbers: fmt.Sprintf("%s · %s = %s", w.text("target.lux", quantity.Illuminance), num(w.values["target.melanopic-der"]), w.text("target.melanopic-edi", quantity.Illuminance)),
			Inputs: []Input{w.ref("E_v", "target.lux", quantity.Illuminance), w.ref("DER", "target.melanopic-der", quantity.None)}, Method: "CIES026-2018, §3", Valid: receptor,
		}
	})
	w.row("light.moon-level", "share of full light that is as bright on the water as a full moon", quantity.Ratio, moonLevel(w.values["surface.lux"]), func() Basis {
		return Basis{
			Formula: "level = 0.2 lx / E_v", Numbers: fmt.Sprintf("0.2 lx / %s = %s", w.text("surface.lux", quantity.Illuminance), w.text("light.moon-level", quantity.Ratio)),
			Inputs: []Input{w.ref("E_v", "surface.lux", quantity.Illuminance)}, Method: "Kyba2017", Valid: "a high full moon in a clear sky gives 0.05 to 0.3 lx; few drivers dim so far, so that a night light is best a channel of its own",
		}
	})
	e := &v.viewer
	if e.atEye.Empty() {
		return
	}
	at := Input{Name: "d", Value: quantity.Format(e.distanceM, quantity.Length), Source: theDesign, At: s.Lamp.Design.Installation.ViewerDistance.At}
	if !e.stated {
		at.Source, at.At = "assumed: the distance at which lamps that do not light rooms are compared (IEC62471-2006); state viewer_distance for another", s.Lamp.Design.Installation.Hanging.At
	}
	where := "from " + quantity.Format(e.distanceM, quantity.Length) + " under the lamp, looking up"
	lux := e.atEye.LuminousLm()
	const still = "through air, straight beneath the middle of the lenses, every channel at its level"
	w.row("viewer.lux", "light at the eye "+where, quantity.Illuminance, once(lux), func() Basis {
		return Basis{
			Formula: "E_v = Σ I_v,e cos θ / d²", Numbers: w.text("viewer.lux", quantity.Illuminance), Inputs: []Input{at, w.ref("light", "lamp.flux", quantity.Flux)}, Method: "inverse square of each lens's intensity", Valid: still,
		}
	})
	w.row("viewer.melanopic-edi", "melanopic light at the eye (EDI) "+where, quantity.Illuminance, once(lux*colour.MelanopicDER(e.atEye)), func() Basis {
		return Basis{
			Formula: "EDI = E_v · DER", Numbers: fmt.Sprintf("%s → %s", w.text("viewer.lux", quantity.Illuminance), w.text("viewer.melanopic-edi", quantity.Illuminance)),
			Inputs: []Input{at, w.ref("E_v", "viewer.lux", quantity.Illuminance)}, Method: "CIES026-2018, §3; advice of Brown2022", Valid: still + "; " + receptor,
			Notes: []string{"at the eye that is " + colour.MelanopicAdvice(w.values["viewer.melanopic-edi"]) + "; in the room beside the lamp it is far less, which is not computed"},
		}
	})
	caution := append([]string(nil), e.notes...)
	w.row("viewer.blue", "blue-weighted irradiance at the eye "+where+" (E_B)", quantity.HeatFlux, once(e.Board.IrradianceWM2), func() Basis {
		return Basis{
			Formula: "E_B = Σ_λ E B(λ) Δλ", Numbers: w.text("viewer.blue", quantity.HeatFlux) + "; a small source may reach 1 W/m² at low risk",
			Inputs: []Input{at, w.ref("E_v", "viewer.lux", quantity.Illuminance)}, Method: "IEC62471-2006, §4.3.4", Valid: still, Notes: caution,
		}
	})
	w.row("viewer.blue-radiance", "blue-weighted radiance of the brightest lens (L_B), W/(m²·sr)", quantity.None, once(e.Lens.RadianceWM2Sr), func() Basis {
		return Basis{
			Formula: "L_B = I_B / (π/4 · D²)", Numbers: fmt.Sprintf("%s, %s wide → %s W/(m²·sr); seen under %.0f mrad", e.label, quantity.Format(e.lensM, quantity.Length), num(e.Lens.RadianceWM2Sr), 1e3*e.Lens.AngleRad),
			Inputs: []Input{at, w.ref("light", "lamp.flux", quantity.Flux)}, Method: "IEC62471-2006, §4.3.3", Valid: "a lens evenly filled with light, seen along its greatest intensity; of a bare package 0.7 of its width shines (common practice, no source)", Notes: caution,
		}
	})
	w.row("viewer.exposure-time", "staring time to the blue-light limit "+where, quantity.Time, once(math.Min(e.Lens.MaxExposureS, e.Board.MaxExposureS)), func() Basis {
		return Basis{
			Formula: "t = 10⁶ J/(m²·sr) / L_B, at most 10 000 s",
			Numbers: fmt.Sprintf("brightest lens alone %s, all lenses as one disc of %s %s → %s", quantity.Format(e.Lens.MaxExposureS, quantity.Time), quantity.Format(e.boardM, quantity.Length), quantity.Format(e.Board.MaxExposureS, quantity.Time), w.text("viewer.exposure-time", quantity.Time)),
			Inputs:  []Input{at, w.ref("L_B", "viewer.blue-radiance", quantity.None)}, Method: "IEC62471-2006, §§4.3.3, 4.3.4 and 6.1, L_B averaged over 11 mrad; below 11 mrad 100 J/m² over E_B", Valid: still, Notes: caution,
		}
	})
	w.row("viewer.blue-distance", "distance beyond which blue light stays under the limit of a small source", quantity.Length, once(colour.BlueThresholdM(e.atEye.Scale(e.distanceM*e.distanceM))), func() Basis {
		return Basis{
			Formula: "d = √(I_B / 1 W/m²)", Numbers: w.text("viewer.blue-distance", quantity.Length), Inputs: []Input{w.ref("E_B", "viewer.blue", quantity.HeatFlux)}, Method: "IECTR62778-2014, §6",
			Valid: "straight beneath the lamp; far enough away for the whole lamp to be a small source", Notes: caution,
		}
	})
}
