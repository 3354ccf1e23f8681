package figure

import (
	"fmt"
	"math"

	"lampwright/internal/colour"
	"lampwright/internal/engine"
	"lampwright/internal/lamp"
	"lampwright/internal/quantity"
)

// hazardValid is the validity of the figures of radiance.
const hazardValid = "in air, each lens seen from its front at its maximum intensity, all channels at their levels, " +
	"mean over dimming; adults: not infants, aphakic eyes or animals; a comparison, not the classification of a " +
	"tested lamp"

// hazard returns the numbers of a figure of the blue-light hazard.
func hazard(value func(*engine.HazardSolution) float64) numbers {
	return when(engine.Typical, engine.Emission|engine.Hazard, func(s *engine.Solution) (float64, bool) {
		return value(&s.Hazard), s.Hazard.IntensityWSr > 0
	})
}

func (w *viewerWriter) blueIrradiance() {
	const key = "viewer.blue"
	n := once(colour.BlueWeightedW(w.v.atEye))
	w.row(key, "Blue-light weighted irradiance E_B, "+w.where, quantity.HeatFlux, n, func() Basis {
		return Basis{
			Formula: "E_B = Σ_λ E B(λ) Δλ", Numbers: w.text(key, quantity.HeatFlux),
			Inputs: []Input{w.distance, w.ref("E_v", "viewer.lux", quantity.Illuminance)},
			Method: "IEC62471-2006, §4.3.4", Valid: belowValid,
		}
	})
}

// blueRadiance writes the radiances averaged over the fields of view of the limits.
func (w *viewerWriter) blueRadiance() {
	for _, f := range []struct {
		key, field, limit string
		value             func(*engine.HazardSolution) float64
	}{
		{
			"viewer.blue-radiance", "11 mrad", "risk group 1: ≤ 10 000",
			func(h *engine.HazardSolution) float64 { return h.Viewer.L11 },
		},
		{
			"viewer.blue-radiance-100mrad", "100 mrad", "exempt: ≤ 100",
			func(h *engine.HazardSolution) float64 { return h.Viewer.L100 },
		},
	} {
		title := fmt.Sprintf("Blue-light weighted radiance L_B over %s, %s, W/(m²·sr)", f.field, w.where)
		w.row(f.key, title, quantity.None, hazard(f.value), func() Basis {
			b := w.radianceBasis()
			b.Numbers = fmt.Sprintf("%s → %s W/(m²·sr); %s", b.Numbers, num(w.values[f.key]), f.limit)
			return b
		})
	}
}

// radianceBasis derives the radiance of the most hazardous emitter, as it appears in its lens.
func (w *viewerWriter) radianceBasis() Basis {
	sources := w.sys.BlueSources(w.sol)
	i, radiance := engine.MostHazardous(sources)
	e, b := &w.sys.Lamp.Emitters[i], &sources[i]
	k, o := &w.sys.Lamp.Types[e.Type], &w.sys.Lamp.Optics[e.Optic]
	out := Basis{
		Formula: "L_B(γ) = Σ I_B / max(A, A_γ),  A_γ = π/4 (γ d)²,  clear lens: A = I_B / (τ L_B,surface)",
		Inputs:  []Input{w.distance, surfaceInput(k), finishInput(o)},
		Method: "IEC62471-2006, §4.3.3 and Table 6.2 (cited from memory); radiance along a ray is conserved " +
			"(BornWolf1999, §4.8)",
		Valid: hazardValid,
		Notes: cautions(&w.sol.Hazard),
	}
	area := fmt.Sprintf("A = %s mm²", num(1e6*b.ApparentM2()))
	if o.Lens != nil {
		area += fmt.Sprintf(" of %s mm² of the lens, τ = %s", num(1e6*b.ApertureM2), num(b.Transmission))
		if b.LitM2() > b.ApertureM2*(1+1e-9) && k.Part.LightEmittingSurface.Stated() {
			out.Notes = append(out.Notes, fmt.Sprintf("inconsistent data: intensity of lens %s and light-emitting "+
				"surface of %s require %s mm² of lit aperture", o.Lens.ID.S, k.Part.ID.S, num(1e6*b.LitM2())))
		}
	}
	out.Numbers = fmt.Sprintf("brightest %s: surface %s W/(m²·sr), I_B = %s W/sr, %s, L_B = %s W/(m²·sr)", e.Label,
		num(b.SurfaceWM2Sr), num(b.IntensityWSr), area, num(radiance))
	return out
}

func surfaceInput(k *lamp.EmitterType) Input {
	in := Input{Name: "light-emitting surface", Value: num(1e6*k.SurfaceM2) + " mm²"}
	if s := &k.Part.LightEmittingSurface; s.Stated() {
		in.Source, in.At = emitterSheet(k), s.At()
	} else {
		in.Source = "not stated, assumed: 15 % of the body (8 % to 50 %); rule of thumb (no source)"
		in.At = k.Part.ID.At
	}
	return in
}

func finishInput(o *lamp.Optic) Input {
	switch {
	case o.Lens == nil:
		return Input{Name: "lens", Value: "none", Source: theDesign}
	case o.Lens.Finish.Set:
		return Input{
			Name: "finish", Value: string(o.Lens.Finish.S), At: o.Lens.Finish.At,
			Source: lamp.DatasheetOf(o.Lens.Datasheet, "lens", o.Lens.ID.S),
		}
	}
	return Input{
		Name: "finish", Value: "more hazardous of clear and diffusing", At: o.Lens.ID.At,
		Source: "not stated in the datasheet of lens " + o.Lens.ID.S,
	}
}

// cautions are what a person has to know beside the numbers.
func cautions(h *engine.HazardSolution) (out []string) {
	if h.Group > 0 {
		out = append(out, "do not stare into this lamp; a reflection in the glass or the water surface counts "+
			"like the lamp itself")
	}
	if h.Group > 1 {
		out = append(out, "shield it from eyes, children's above all, and switch it off to work under it")
	}
	return out
}

// RiskGroupName names a risk group of IEC 62471.
func RiskGroupName(group int) string {
	return [...]string{
		"exempt group", "risk group 1 (low)", "risk group 2 (moderate)", "risk group 3 (high)",
	}[group]
}

func (w *viewerWriter) riskGroup() {
	const key = "lamp.blue-risk-group"
	n := hazard(func(h *engine.HazardSolution) float64 { return float64(h.Group) }).rounded(indexDecimals)
	w.row(key, "Risk group by blue light at 200 mm (0 exempt to 3 high)", quantity.None, n, func() Basis {
		b := w.radianceBasis()
		b.Formula = "0: L_B(100 mrad) ≤ 100; 1: L_B(11 mrad) ≤ 10 000; 2: L_B(1.7 mrad) ≤ 4 000 000 W/(m²·sr); else 3"
		b.Numbers += " → " + RiskGroupName(w.sol.Hazard.Group)
		b.Inputs = b.Inputs[1:]
		return b
	})
}

func (w *viewerWriter) exposureTime() {
	const key = "viewer.exposure-time"
	n := hazard(func(h *engine.HazardSolution) float64 { return h.Viewer.MaxExposureS })
	w.row(key, "Maximum exposure time, "+w.where, quantity.Time, n, func() Basis {
		t := w.values[key]
		return Basis{
			Formula: "L_B(γ(t)) t = 10⁶ J/(m²·sr), t ≤ 10 000 s",
			Numbers: fmt.Sprintf("field of view %s mrad at %s", num(1e3*colour.FieldRad(t)),
				w.text(key, quantity.Time)),
			Inputs: []Input{w.distance, w.ref("L_B(11 mrad)", "viewer.blue-radiance", quantity.None)},
			Method: "IEC62471-2006, §4.3.3 (cited from memory): γ = 1.7 mrad below 0.25 s, 11 mrad · √(t/10 s) to " +
				"10 s, 11 mrad to 100 s, 1.1 mrad · √(t/1 s) to 10 000 s",
			Valid: hazardValid, Notes: cautions(&w.sol.Hazard),
		}
	})
}

// thresholdDistance writes the distance beyond which the lamp is in risk group 1, where it is above that at all.
func (w *viewerWriter) thresholdDistance() {
	const key = "viewer.blue-distance"
	if max(w.sol.Hazard.Group, w.sol.Hazard.Viewer.Group) < 2 {
		return
	}
	n := hazard(func(h *engine.HazardSolution) float64 { return colour.BlueThresholdM(h.IntensityWSr) })
	w.row(key, "Distance beyond which blue light is in risk group 1", quantity.Length, n, func() Basis {
		i := w.sol.Hazard.IntensityWSr
		return Basis{
			Formula: "d = √(Σ I_B / 0.950 W/m²)",
			Numbers: fmt.Sprintf("√(%s W/sr / 0.950 W/m²) = %s", num(i), num(math.Sqrt(i/0.950))+" m"),
			Inputs:  []Input{w.ref("luminous flux", "lamp.flux", quantity.Flux)},
			Method: "IECTR62778-2014, §6; E_B of 10 000 W/(m²·sr) in a field of 11 mrad, which that report rounds to " +
				"1 W/m²",
			Valid: "all emitters in one field of view of 11 mrad at their maximum intensity: an upper limit; " +
				hazardValid,
			Notes: cautions(&w.sol.Hazard),
		}
	})
}
