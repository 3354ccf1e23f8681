package figure

import (
	"math"
	"slices"
	"sync"

	"lampwright/internal/colour"
	"lampwright/internal/engine"
	"lampwright/internal/lamp"
	"lampwright/internal/plant"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/spectrum"
)

// ColourPreview is what pictures of the lamp's colour need.
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
	Name string    `json:"name"`
	XY   colour.XY `json:"xy"`
	// of a requirement: the bands of CCT and Duv
	LoK   float64 `json:"lo_k,omitempty"`
	HiK   float64 `json:"hi_k,omitempty"`
	LoDuv float64 `json:"lo_duv,omitempty"`
	HiDuv float64 `json:"hi_duv,omitempty"`
}

// PatchView is a sample as a screen can show it, each as #rrggbb.
type PatchView struct {
	Name        string `json:"name"`
	LampHex     string `json:"lamp_hex"`     // under the lamp, to an eye adapted to it
	DaylightHex string `json:"daylight_hex"` // the same under D65
}

// spectralLight holds the spectra from which the figures of colour and plants come, and those figures.
type spectralLight struct {
	lamp, target             spectrum.Spectrum
	lampColour, targetColour colour.Figures
	lampPlant, targetPlant   plant.Figures
	viewer                   viewerView
}

// viewerView is the light at the eye of somebody who looks up below the lamp.
type viewerView struct {
	distanceM float64
	stated    bool
	atEye     spectrum.Spectrum // W/m²/nm
}

// spectralValues computes the figures of colour and plants that come from whole spectra, for the nominal lamp.
func spectralValues(s *engine.System, r *Evaluation, sol *engine.Solution) spectralLight {
	v := spectralLight{lamp: s.LampSpectrum(sol.EmittedW), target: s.TargetSpectrum(sol.EmittedW)}
	var both sync.WaitGroup
	both.Go(func() { v.lampColour = colour.All(v.lamp) })
	v.targetColour = colour.All(v.target)
	both.Wait()
	colourValues(r, sol, v.lamp, &v.lampColour)
	v.lampPlant, v.targetPlant = plant.All(v.lamp), plant.All(v.target)
	v.viewer = viewer(s, sol.EmittedW)
	preview(s, r, &v, *sol)
	return v
}

// moonLevel returns the numbers of the level at which the illuminance of the water equals that of a full moon.
func moonLevel(surfaceLux float64) numbers {
	if !(surfaceLux > 0) {
		return onceIf(nil)
	}
	return once(math.Min(1, colour.FullMoonLux/surfaceLux))
}

// singleColour returns the dominant wavelength of a channel of one colour; it is false for whites and purples.
func singleColour(s *engine.System, channel int, emittedW []float64) (colour.Dominance, bool) {
	xy, ok := colour.Chromaticity(s.SpectrumOf(channel, emittedW))
	if !ok {
		return colour.Dominance{}, false
	}
	d := colour.DominantWavelength(xy, colour.WhiteE)
	minimum := lamp.SinglePurity
	if !colour.CCT(xy).Valid {
		minimum = lamp.TintPurity
	}
	return d, d.Valid && !d.Complementary && d.Purity >= minimum
}

// viewer returns the light at the eye of somebody who looks straight up from below the centre of the board.
func viewer(s *engine.System, emittedW []float64) (v viewerView) {
	l := s.Lamp
	v.distanceM, v.stated = l.ViewerM()
	levels, units := make([]float64, len(l.Emitters)), make([]spectrum.Spectrum, len(l.Emitters))
	cx, cy := boardCentre(l)
	for i := range l.Emitters {
		x, y := l.Emitters[i].XM-cx, l.Emitters[i].YM-cy
		square := x*x + y*y + v.distanceM*v.distanceM
		far := math.Sqrt(square)
		cos := v.distanceM / far
		// The eye is below the centre of the board, on the axis of the lamp.
		levels[i] = emittedW[i] * l.OnBoard(i).Towards([3]float64{-x / far, -y / far, -cos}) * cos / square
		units[i] = s.Spectra[i].Unit
	}
	v.atEye = spectrum.Mix(levels, units)
	return v
}

// boardCentre returns the mean position of the emitters [m].
func boardCentre(l *lamp.Lamp) (x, y float64) {
	for i := range l.Emitters {
		x += l.Emitters[i].XM / float64(len(l.Emitters))
		y += l.Emitters[i].YM / float64(len(l.Emitters))
	}
	return x, y
}

// oneWattEach is 1 W after every lens.
func oneWattEach(s *engine.System) []float64 {
	return slices.Repeat([]float64{1}, len(s.Lamp.Emitters))
}

// preview fills what pictures of the colour need.
func preview(s *engine.System, r *Evaluation, v *spectralLight, sol engine.Solution) {
	out := &r.ColourPreview
	point := func(name string, sp spectrum.Spectrum) {
		if xy, ok := colour.Chromaticity(sp); ok {
			out.Points = append(out.Points, ColourPoint{Name: name, XY: xy})
		}
	}
	point("lamp", v.lamp)
	point(s.Lamp.TargetName(), v.target)
	for i := range s.Lamp.Channels {
		emittedW := sol.EmittedW
		if ch := &s.Lamp.Channels[i]; ch.Off() {
			emittedW = oneWattEach(s) // its colour when it is on
		}
		point(s.Lamp.Channels[i].Name, s.SpectrumOf(i, emittedW))
	}
	out.Required = requiredColour(&s.Lamp.Design.Requirements)
	if v.lampColour.R != nil {
		out.R = v.lampColour.R[:]
	}
	out.Bins = v.lampColour.Bins
	p, err := colour.NewPreview(v.lamp)
	if err != nil {
		return // there is no light
	}
	out.LightHex = p.Light.Hex()
	for _, patch := range p.Patches {
		out.Patches = append(out.Patches, PatchView{patch.Name, patch.Lamp.Hex(), patch.Daylight.Hex()})
	}
	out.Notes = append([]string{"preview: white point and brightness of the screen are its own; complete adaptation " +
		"of the eye is assumed"}, p.Notes...)
}

// requiredColour returns the bands of a required CCT and its Duv, and the colour that is meant; nil where there is
// none.
func requiredColour(w *project.Requirements) *ColourPoint {
	if !w.CCT.Set {
		return nil
	}
	xy, err := colour.TargetXY(w.CCT.SI)
	if err != nil {
		return nil
	}
	cct := w.Colour()
	duv, _ := w.Whiteness()
	lo, hi := quantity.Format(cct.Lo, quantity.CCT), quantity.Format(cct.Hi, quantity.CCT)
	return &ColourPoint{
		Name: lo + " to " + hi, XY: xy, LoK: cct.Lo, HiK: cct.Hi, LoDuv: duv.Lo, HiDuv: duv.Hi,
	}
}
