package figure

import (
	"fmt"

	"lampwright/internal/colour"
	"lampwright/internal/engine"
	"lampwright/internal/quantity"
)

// Conditions of the figures of vision.
const (
	observerValid = "sensitivity of human eyes aged 32; for fish and plants only a measure of blue-green light"
	belowValid    = "in air, directly below the centre of the lenses, all channels at their levels"
)

// visionFigures writes melanopic figures and those of a viewer below the lamp.
func (r *Evaluation) visionFigures(w *writer, s *engine.System, v *spectralLight) {
	target := "at the " + s.Lamp.TargetName()
	melanopicRatio(w, "lamp.melanopic-der", "Melanopic DER of the lamp", v.lampColour.MelanopicDER,
		w.ref("luminous flux", "lamp.flux", quantity.Flux))
	melanopicRatio(w, "target.melanopic-der", "Melanopic DER "+target, v.targetColour.MelanopicDER,
		w.ref("illuminance", "target.lux", quantity.Illuminance))
	melanopicEDI(w, "Melanopic EDI "+target, product(v.targetColour.MelanopicDER, v.targetColour.LumensLm))
	moonlight(w)
	if v.viewer.atEye.Empty() {
		return
	}
	vw := newViewerWriter(w, s, &v.viewer)
	vw.illuminance()
	vw.blueIrradiance()
	vw.blueRadiance()
	vw.riskGroup()
	vw.exposureTime()
	vw.thresholdDistance()
}

func melanopicRatio(w *writer, key, title string, value *float64, light Input) {
	w.row(key, title, quantity.None, onceIf(value), func() Basis {
		return Basis{
			Formula: "melanopic EDI / illuminance", Numbers: num(w.values[key]) + "; daylight D65: 1",
			Inputs: []Input{light},
			Method: "CIES026-2018, §3", Valid: observerValid,
		}
	})
}

func melanopicEDI(w *writer, title string, n numbers) {
	const key, lux, der = "target.melanopic-edi", "target.lux", "target.melanopic-der"
	w.row(key, title, quantity.Illuminance, n, func() Basis {
		numbers := fmt.Sprintf("%s · %s = %s", w.text(lux, quantity.Illuminance), num(w.values[der]),
			w.text(key, quantity.Illuminance))
		return Basis{
			Formula: "EDI = E_v · DER", Numbers: numbers,
			Inputs: []Input{w.ref("E_v", lux, quantity.Illuminance), w.ref("DER", der, quantity.None)},
			Method: "CIES026-2018, §3", Valid: observerValid,
		}
	})
}

func moonlight(w *writer) {
	const key, lux = "light.moon-level", "surface.lux"
	w.row(key, "Level equal to full moon on the water", quantity.Ratio, moonLevel(w.values[lux]), func() Basis {
		return Basis{
			Formula: "level = 0.2 lx / E_v",
			Numbers: fmt.Sprintf("0.2 lx / %s = %s", w.text(lux, quantity.Illuminance), w.text(key, quantity.Ratio)),
			Inputs:  []Input{w.ref("E_v", lux, quantity.Illuminance)}, Method: "Kyba2017",
			Valid: "a high full moon in a clear sky: 0.05 to 0.3 lx; few drivers dim to this level: use a separate " +
				"channel",
		}
	})
}

// viewerWriter writes the figures of a viewer who looks up at the lamp.
type viewerWriter struct {
	*writer
	sys      *engine.System
	v        *viewerView
	distance Input
	where    string
}

func newViewerWriter(w *writer, s *engine.System, v *viewerView) *viewerWriter {
	at := &s.Lamp.Design.Installation
	d := Input{
		Name: "d", Value: quantity.Format(v.distanceM, quantity.Length), Source: theDesign,
		At: at.ViewerDistance.At,
	}
	if !v.stated {
		d.Source = "assumed: distance for lamps not for general lighting (IEC62471-2006); set viewer_distance"
		d.At = at.Hanging.At
	}
	return &viewerWriter{writer: w, sys: s, v: v, distance: d, where: d.Value + " below the lamp, looking up"}
}

func (w *viewerWriter) illuminance() {
	const lux, edi = "viewer.lux", "viewer.melanopic-edi"
	e := w.v.atEye.LuminousLm()
	w.row(lux, "Illuminance at the eye, "+w.where, quantity.Illuminance, once(e), func() Basis {
		return Basis{
			Formula: "E_v = Σ I_v,e cos θ / d²", Numbers: w.text(lux, quantity.Illuminance),
			Inputs: []Input{w.distance, w.ref("luminous flux", "lamp.flux", quantity.Flux)},
			Method: "inverse-square law for each lens", Valid: belowValid,
		}
	})
	w.row(edi, "Melanopic EDI at the eye, "+w.where, quantity.Illuminance, once(e*colour.MelanopicDER(w.v.atEye)),
		func() Basis {
			numbers := fmt.Sprintf("%s → %s", w.text(lux, quantity.Illuminance), w.text(edi, quantity.Illuminance))
			return Basis{
				Formula: "EDI = E_v · DER", Numbers: numbers,
				Inputs: []Input{w.distance, w.ref("E_v", lux, quantity.Illuminance)},
				Method: "CIES026-2018, §3; recommendations of Brown2022", Valid: belowValid + "; " + observerValid,
				Notes: []string{
					"at the eye: " + colour.MelanopicAdvice(w.values[edi]) +
						"; in the room beside the lamp it is much lower, which is not computed",
				},
			}
		})
}
