package engine

import (
	"math"

	"lampwright/internal/colour"
	"lampwright/internal/project"
)

// HazardSolution is the blue-light hazard of the lamp at typical ambient.
type HazardSolution struct {
	Viewer       colour.BlueHazard // at the distance of the viewer
	Group        int               // risk group at colour.RiskGroupM
	IntensityWSr float64           // sum of the maximum blue-weighted intensities of all emitters
}

// BlueSources returns the emitters as an eye sees them from the front, with the light of a solution, as means over
// dimming.
func (s *System) BlueSources(sol *Solution) []colour.BlueSource {
	l := s.Lamp
	out := make([]colour.BlueSource, len(l.Emitters))
	for i := range l.Emitters {
		e := &l.Emitters[i]
		k, o := &l.Types[e.Type], &l.Optics[e.Optic]
		surfaceM2 := sol.Params[k.Param.Surface]
		bareW := l.Channels[e.Channel].Duty() * sol.Cases[Typical].States[i].RadiantW
		b := colour.BlueSource{
			XM: e.XM, YM: e.YM,
			IntensityWSr: sol.EmittedW[i] * s.Spectra[i].BlueW * o.PeakPerFlux,
			SurfaceWM2Sr: bareW * s.Spectra[i].BlueW * k.PeakPerFlux / surfaceM2,
			Transmission: o.RayTransmission(sol.Params[o.Param]), ApertureM2: surfaceM2, Finish: colour.FinishClear,
		}
		if o.Lens != nil {
			b.ApertureM2, b.Finish = math.Pi/4*o.Lens.Diameter.SI*o.Lens.Diameter.SI, finishes[o.Lens.Finish.S]
		}
		out[i] = b
	}
	return out
}

// finishes are those of the file format; a lens whose datasheet states none has FinishUnknown.
var finishes = map[project.LensFinish]colour.LensFinish{
	project.LensClear: colour.FinishClear, project.LensDiffusing: colour.FinishDiffusing,
}

// solveHazard compares the light of a solution with the limits of the blue-light hazard.
func (s *System) solveHazard(out *Solution) {
	sources := s.BlueSources(out)
	h := &out.Hazard
	for i := range sources {
		h.IntensityWSr += sources[i].IntensityWSr
	}
	viewerM, _ := s.Lamp.ViewerM()
	h.Viewer = mustBlueLight(sources, viewerM)
	h.Group = h.Viewer.Group
	if viewerM != colour.RiskGroupM {
		h.Group = mustBlueLight(sources, colour.RiskGroupM).Group
	}
}

// mustBlueLight is colour.BlueLight for a distance that the file format bounds.
func mustBlueLight(sources []colour.BlueSource, distanceM float64) colour.BlueHazard {
	h, err := colour.BlueLight(sources, distanceM)
	if err != nil {
		panic("engine: " + err.Error())
	}
	return h
}

// MostHazardous returns the emitter with the highest blue-weighted radiance, in its lens or bare, and that radiance
// [W/(m²·sr)]; −1 where there is no blue light.
func MostHazardous(sources []colour.BlueSource) (emitter int, radianceWM2Sr float64) {
	emitter = -1
	for i := range sources {
		if b := &sources[i]; b.IntensityWSr > 0 {
			if l := b.IntensityWSr / b.ApparentM2(); l > radianceWM2Sr {
				emitter, radianceWM2Sr = i, l
			}
		}
	}
	return emitter, radianceWM2Sr
}
