package figure

import (
	"fmt"
	"math"
	"strings"

	"lampwright/internal/colour"
	"lampwright/internal/engine"
	"lampwright/internal/lamp"
	"lampwright/internal/plant"
	"lampwright/internal/quantity"
	"lampwright/internal/spectrum"
)

// Where every figure of light in the place comes from.
const (
	lightMethod = "ray tube through a flat surface with its Jacobian, Fresnel unpolarised (BornWolf1999, §1.5); panes as mirrors by the method of images, slabs combined per polarisation; water absorption Beer–Lambert in 20 nm bands"
	lightValid  = "point sources, flat water, panes as mirrors at their inner face: thick glass with dead edges takes up to about 4 % of the bottom's light, close to the panes; what a level substrate sends up and the surface and panes send back is in it, on coarse cells"
)

// planeName is a plane by the first part of its figures' keys and by its name for people.
type planeName struct{ key, name string }

func (r *Evaluation) lightFigures(w *writer, s *engine.System, sol engine.Solution) {
	l := s.Lamp
	m := s.Light.Target
	grid := fmt.Sprintf("%d × %d cells of %.0f × %.0f mm", m.Nx, m.Ny, 1e3*m.LengthM/float64(m.Nx), 1e3*m.WidthM/float64(m.Ny))
	place := []Input{given("hanging height", l.Design.Installation.Hanging, quantity.Length, theDesign)}
	if t := l.Design.Installation.LampTilt; t != nil {
		place = append(place, given("lamp tilt", t.Tilt, quantity.Angle, theDesign), given("towards", t.Azimuth, quantity.Angle, theDesign))
	}
	if l.Design.Installation.Water.SI > 0 {
		place = append(place, given("water", l.Design.Installation.Water, quantity.Length, theDesign))
		if l.Design.Installation.Substrate.Set {
			place = append(place, given("substrate", l.Design.Installation.Substrate, quantity.Length, theDesign))
		}
	}
	for _, o := range l.Optics {
		if o.Lens != nil && o.Lens.Measured() {
			place = append(place, Input{Name: "pattern of " + o.Lens.ID.S + " (" + o.Model + ")", Value: fmt.Sprintf("beam %.0f°", lamp.Degrees(o.BeamRad)), Source: lamp.SheetOf(o.Lens.Datasheet, "lens", o.Lens.ID.S), At: o.Lens.PatternAt()})
		} else if o.Lens != nil {
			place = append(place, given("beam of "+o.Lens.ID.S+" ("+o.Model+")", o.Lens.Beam, quantity.Angle, lamp.SheetOf(o.Lens.Datasheet, "lens", o.Lens.ID.S)))
		} else {
			place = append(place, Input{Name: "beam of the bare emitters (" + o.Model + ")", Value: quantity.Format(o.BeamRad, quantity.Angle), Source: "the emitters' sheets; 120° where they are silent (common practice, no source)"})
		}
	}
	basis := func(formula, numbers string, in ...Input) Basis {
		return Basis{Formula: formula, Numbers: numbers, Inputs: append(in, place...), Method: lightMethod, Valid: lightValid + "; " + grid, Notes: s.Light.Notes}
	}
	target := l.TargetName()
	planes := []planeName{{"target", target}}
	if s.Light.Surface != nil {
		planes = append(planes, planeName{"surface", "water surface"})
	}
	for _, p := range planes {
		w.row(p.key+".ppfd", "mean PPFD, "+p.name, quantity.PPFD, meanPPFD(p.key), func() Basis {
			return basis("E = mean over cells of Σ_e Φ_e G_e", fmt.Sprintf("%d emitters, %s W of light → %s", len(l.Emitters), num(w.values["lamp.radiant"]), w.text(p.key+".ppfd", quantity.PPFD)), w.ref("light", "lamp.ppf", quantity.PhotonFlux))
		})
		w.row(p.key+".ppfd-min", "least PPFD, "+p.name, quantity.PPFD, plane(p.key, func(x *engine.PlaneSolution) float64 { return x.Min }), func() Basis { return basis("E_min = least over cells", w.text(p.key+".ppfd-min", quantity.PPFD)) })
		for _, q := range []struct {
			key, title string
			value      func(*engine.PlaneSolution) float64
		}{
			{"-p10", "a tenth of the area has less PPFD, ", func(x *engine.PlaneSolution) float64 { return x.P10 }},
			{"-median", "half of the area has less PPFD, ", func(x *engine.PlaneSolution) float64 { return x.P50 }},
			{"-p90", "a tenth of the area has more PPFD, ", func(x *engine.PlaneSolution) float64 { return x.P90 }},
		} {
			w.row(p.key+".ppfd"+q.key, q.title+p.name, quantity.PPFD, plane(p.key, q.value), func() Basis {
				return basis("percentile of the cells, straight between them", w.text(p.key+".ppfd"+q.key, quantity.PPFD))
			})
		}
		w.row(p.key+".uniformity", "uniformity (least over mean), "+p.name, quantity.Ratio, uniformity(p.key), func() Basis {
			return basis("U₀ = E_min / E_mean (EN 12464-1)", fmt.Sprintf("%s / %s = %s", w.text(p.key+".ppfd-min", quantity.PPFD), w.text(p.key+".ppfd", quantity.PPFD), w.text(p.key+".uniformity", quantity.Ratio)), w.ref("E_mean", p.key+".ppfd", quantity.PPFD), w.ref("E_min", p.key+".ppfd-min", quantity.PPFD))
		})
		w.row(p.key+".lux", "mean illuminance, "+p.name, quantity.Illuminance, plane(p.key, func(x *engine.PlaneSolution) float64 { return x.Lux }), func() Basis {
			return basis("E_v = mean over cells of Σ_e Φ_v,e G_e", w.text(p.key+".lux", quantity.Illuminance), w.ref("light", "lamp.flux", quantity.Flux))
		})
	}
	day := l.Design.Day
	w.row("target.dli", "day's light (DLI), "+target, quantity.DLI, dailyLight(day), func() Basis {
		return Basis{
			Formula: "DLI = E (t_full + t_ramp) · 10⁻⁶",
			Numbers: fmt.Sprintf("%s · (%s h + %s h) · 3600 s/h · 10⁻⁶ = %s", w.text("target.ppfd", quantity.PPFD), num(day.FullLevelTime.SI/3600), num(day.RampTime.SI/3600), w.text("target.dli", quantity.DLI)),
			Inputs:  []Input{w.ref("E", "target.ppfd", quantity.PPFD), given("t_full", day.FullLevelTime, quantity.Time, theDesign), given("t_ramp", day.RampTime, quantity.Time, theDesign)},
			Method:  "definition of the daily light integral; straight ramps count half, dawn and dusk together one", Valid: "every channel at its level for the same time",
		}
	})
	w.row("light.lux-per-ppfd", "lux for one µmol/m²/s at the target", quantity.None, when(engine.Typical, engine.Emission|engine.Planes, func(s *engine.Solution) (float64, bool) { return s.Target.Lux / s.Target.Mean, s.Target.Mean > 0 }), func() Basis {
		return Basis{
			Formula: "f = E_v / E", Numbers: fmt.Sprintf("%s / %s = %s lx per µmol/m²/s", w.text("target.lux", quantity.Illuminance), w.text("target.ppfd", quantity.PPFD), num(w.values["light.lux-per-ppfd"])),
			Inputs: []Input{w.ref("E_v", "target.lux", quantity.Illuminance), w.ref("E", "target.ppfd", quantity.PPFD)}, Method: "definition; ThimijanHeins1983, Table 3, at second hand, for the notes", Valid: "this spectrum only; a lux meter must follow V(λ) in the blue and the red",
			Notes: luxNotes(w.values["light.lux-per-ppfd"]),
		}
	})
	w.row("light.spill", "share of the light that misses "+l.OpeningName(), quantity.Ratio, fraction(func(x *engine.LightSolution) float64 { return x.Spill }), func() Basis {
		return basis("1 − ∫ pattern over the opening", w.text("light.spill", quantity.Ratio))
	})
	w.row("light.glass-loss", "share lost through "+l.DryPanes(), quantity.Ratio, glassLoss(l), func() Basis {
		return basis("1 − spill − share that meets "+l.SurfaceName()+", and no less than nothing",
			fmt.Sprintf("1 − %s − %s = %s", w.text("light.spill", quantity.Ratio), w.text("light.incident-surface", quantity.Ratio), w.text("light.glass-loss", quantity.Ratio)), w.ref("spill", "light.spill", quantity.Ratio), w.ref("meets", "light.incident-surface", quantity.Ratio))
	})
	w.row("light.incident-surface", "share that meets "+l.SurfaceName(), quantity.Ratio, fraction(func(x *engine.LightSolution) float64 { return x.Incident }), func() Basis {
		return basis("mean irradiance per watt · area", w.text("light.incident-surface", quantity.Ratio))
	})
	w.row("light.reflected", "share that the water's surface sends back", quantity.Ratio, atSurface(s, func(x *engine.LightSolution) float64 { return x.Reflected }), func() Basis { return basis("Σ Φ R(θ)", w.text("light.reflected", quantity.Ratio)) })
	w.row("light.transmitted", "share that enters the water", quantity.Ratio, atSurface(s, func(x *engine.LightSolution) float64 { return x.Incident - x.Reflected }), func() Basis { return basis("Σ Φ (1 − R(θ))", w.text("light.transmitted", quantity.Ratio)) })
	w.row("light.incident-substrate", "share that arrives at the "+target, quantity.Ratio, fraction(func(x *engine.LightSolution) float64 { return x.AtTarget }), func() Basis {
		return basis("mean irradiance per watt · area", w.text("light.incident-substrate", quantity.Ratio))
	})
	r.lampLightFigures(w, sol)
}

func (r *Evaluation) lampLightFigures(w *writer, sol engine.Solution) {
	sum := Basis{Formula: "sum over channels", Inputs: nil, Method: "spectra add", Valid: "light that leaves the lenses, usual day"}
	for _, f := range []struct {
		key, title string
		dim        quantity.Dim
		value      func(*engine.Solution) float64
	}{
		{"lamp.flux", "luminous flux of the lamp", quantity.Flux, fluxLm},
		{"lamp.ppf", "photon flux of the lamp, 400–700 nm", quantity.PhotonFlux, ppfUmolS},
		{"lamp.radiant", "radiant power of the lamp", quantity.Power, radiantW},
	} {
		b := sum
		b.Numbers = w.text(f.key, f.dim)
		w.row(f.key, f.title, f.dim, of(engine.Typical, engine.Emission, f.value), func() Basis { return b })
	}
	colourBasis := func(method string, notes []string) Basis {
		return Basis{
			Formula: "spectra of the channels, each with its watts, added; then the standard's sums", Numbers: fmt.Sprintf("x = %.4f, y = %.4f", r.Colour.X, r.Colour.Y),
			Inputs: []Input{w.ref("light", "lamp.flux", quantity.Flux)}, Method: method, Valid: "at the lamp, far enough for the channels to mix; " + shiftNote(r.Sys), Notes: notes,
		}
	}
	w.row("lamp.cct", "correlated colour temperature", quantity.CCT, colourOf(func(c *engine.ColourSolution) float64 { return c.CCTK }), func() Basis { return colourBasis("CIE15-2018, §9; nearest point of the Planckian locus", nil) })
	w.row("lamp.duv", "distance from the Planckian locus (Duv)", quantity.None, colourOf(func(c *engine.ColourSolution) float64 { return c.Duv }).rounded(duvDecimals), func() Basis { return colourBasis("Ohno2014", nil) })
	w.row("lamp.ra", "colour rendering (Ra)", quantity.None, rendering(func(x *engine.RenderingSolution) float64 { return x.Ra }), func() Basis { return colourBasis("CIE13.3-1995", nil) })
	w.row("lamp.r9", "rendering of saturated red (R9)", quantity.None, rendering(func(x *engine.RenderingSolution) float64 { return x.R9 }), func() Basis { return colourBasis("CIE13.3-1995", nil) })
	w.row("lamp.rf", "colour fidelity (Rf)", quantity.None, rendering(func(x *engine.RenderingSolution) float64 { return x.Rf }), func() Basis { return colourBasis("CIE224-2017", nil) })
	w.row("lamp.rg", "colour gamut (Rg)", quantity.None, rendering(func(x *engine.RenderingSolution) float64 { return x.Rg }), func() Basis { return colourBasis("TM30-20", nil) })
	w.row("lamp.efficacy", "efficacy at the emitters", quantity.Efficacy, perPower(engine.Emission, fluxLm, lampW), func() Basis {
		return ratioBasis(w, "lamp.flux", quantity.Flux, "lamp.power", "lamp.efficacy", quantity.Efficacy)
	})
	w.row("lamp.ppe", "photon efficacy at the emitters", quantity.PhotonEfficacy, perPower(engine.Emission, ppfUmolS, lampW), func() Basis {
		return ratioBasis(w, "lamp.ppf", quantity.PhotonFlux, "lamp.power", "lamp.ppe", quantity.PhotonEfficacy)
	})
}

func ratioBasis(w *writer, over string, overDim quantity.Dim, under, key string, dim quantity.Dim) Basis {
	return Basis{
		Formula: over + " / " + under, Numbers: fmt.Sprintf("%s / %s = %s", w.text(over, overDim), w.text(under, quantity.Power), w.text(key, dim)),
		Inputs: []Input{w.ref(over, over, overDim), w.ref(under, under, quantity.Power)}, Method: "definition", Valid: "usual day, every channel at its level",
	}
}

// colourValues computes the colour of the whole lamp, with Rf and Rg of the same spectrum where they are known.
func colourValues(r *Evaluation, sol *engine.Solution, sum spectrum.Spectrum, looks *colour.Figures) {
	xy, ok := colour.Chromaticity(sum)
	if !ok {
		return
	}
	r.Colour = xy
	if t := colour.CCT(xy); !t.Valid {
		r.Notes = append(r.Notes, "no colour temperature: "+t.Note)
		return
	}
	c, err := colour.RenderingIndices(sum)
	if err != nil {
		return
	}
	r.Notes = append(r.Notes, c.Notes...)
	sol.Rendering = &engine.RenderingSolution{Ra: c.Ra, R9: c.R[8], Rf: math.NaN(), Rg: math.NaN()}
	if looks.Rf != nil {
		sol.Rendering.Rf, sol.Rendering.Rg = *looks.Rf, *looks.Rg
	} else if f, err := colour.FidelityIndices(sum); err == nil {
		sol.Rendering.Rf, sol.Rendering.Rg = f.Rf, f.Rg
	}
}

func (r *Evaluation) powerFigures(w *writer, s *engine.System, p lamp.Params, sol engine.Solution) {
	l := s.Lamp
	w.row("lamp.power", "electrical power of the emitters", quantity.Power, of(engine.Typical, engine.Emission, lampW), func() Basis {
		return Basis{
			Formula: "sum over channels", Numbers: w.text("lamp.power", quantity.Power), Method: "definition of power", Valid: "usual day, every channel at its level",
		}
	})
	for j := range l.Design.Supplies {
		part := l.Project.Library.Supplies.Get(l.Design.Supplies[j].Part.S)
		key := fmt.Sprintf("supply%d.load-mean", j+1)
		sheet := lamp.SheetOf(part.Datasheet, "supply", part.ID.S)
		var in, on []Input
		for i := range l.Channels {
			if c := &l.Channels[i]; c.Supply == j {
				in = append(in, w.ref(c.Name, c.Name+".driver-input", quantity.Power))
				on = append(on, w.ref(c.Name, c.OnInput(), quantity.Power))
			}
		}
		rated := given("rated power", part.Power, quantity.Power, sheet)
		in, on = append(in, rated), append(on, rated)
		w.row(key, "load of supply "+part.ID.S, quantity.Power, of(engine.Typical, powerStages, func(s *engine.Solution) float64 { return s.Supplies[j].LoadW }), func() Basis {
			return Basis{
				Formula: "P = Σ driver inputs + fan + loss in the wire", Numbers: fmt.Sprintf("%s, %.0f %% of its %s", w.text(key, quantity.Power), 100*w.values[key]/part.Power.SI, quantity.Format(part.Power.SI, quantity.Power)),
				Inputs: in, Method: "conservation of energy", Valid: "every channel at its level, mean over dimming",
			}
		})
		peak := fmt.Sprintf("supply%d.load-peak", j+1)
		w.row(peak, "load of supply "+part.ID.S+" while every channel is on", quantity.Power, of(engine.Typical, powerStages, func(s *engine.Solution) float64 { return s.Supplies[j].PeakW }), func() Basis {
			return Basis{
				Formula: "P_peak = Σ driver inputs while on + fan + loss in the wire", Numbers: fmt.Sprintf("%s, %.0f %% of its %s", w.text(peak, quantity.Power), 100*w.values[peak]/part.Power.SI, quantity.Format(part.Power.SI, quantity.Power)),
				Inputs: on, Method: "conservation of energy", Valid: "channels that are dimmed by switching are on together at times, whatever their level; those that are off at full day at their set current",
			}
		})
		if k := fmt.Sprintf("supply%d.wire-drop", j+1); l.Design.Supplies[j].Wire != nil {
			w.row(k, "drop in the wire from supply "+part.ID.S+", every channel on", quantity.Voltage, of(engine.Typical, powerStages, func(s *engine.Solution) float64 { return s.Supplies[j].WireDropV }), func() Basis {
				return Basis{
					Formula: "ΔV = 2 l R′ (1 + α (T − 20 °C)) I", Numbers: w.text(k, quantity.Voltage), Inputs: []Input{w.ref("load", peak, quantity.Power), given("l", l.Design.Supplies[j].Wire.Length, quantity.Length, theDesign)},
					Method: "Ohm's law; IEC60028", Valid: "both conductors alike, at room temperature",
				}
			})
		}
	}
	var in, turned []Input
	for i := range l.Channels {
		in = append(in, w.ref(l.Channels[i].Name, l.Channels[i].Name+".driver-input", quantity.Power))
	}
	for _, o := range l.Switched() {
		turned = append(turned, Input{Name: o.What, Value: "turned", Source: theDesign, At: o.At})
	}
	w.row("mains.power-switched", "power of what the switch in the mains turns", quantity.Power, switchedPower(l), func() Basis {
		return Basis{
			Formula: "P = Σ mains drivers + Σ loads / η_supply, of what it turns", Numbers: w.text("mains.power-switched", quantity.Power), Inputs: turned, Method: "conservation of energy", Valid: "usual day, every channel at its level",
		}
	})
	w.row("mains.power", "power at the wall plug", quantity.Power, of(engine.Typical, powerStages, mainsW), func() Basis {
		return Basis{
			Formula: "P = Σ mains drivers + Σ loads / η_supply + fan", Numbers: w.text("mains.power", quantity.Power), Inputs: in, Method: "conservation of energy", Valid: "usual day, every channel at its level",
		}
	})
	w.row("mains.efficacy", "efficacy at the wall plug", quantity.Efficacy, perPower(powerStages, fluxLm, mainsW), func() Basis {
		return ratioBasis(w, "lamp.flux", quantity.Flux, "mains.power", "mains.efficacy", quantity.Efficacy)
	})
	w.row("mains.ppe", "photon efficacy at the wall plug", quantity.PhotonEfficacy, perPower(powerStages, ppfUmolS, mainsW), func() Basis {
		return ratioBasis(w, "lamp.ppf", quantity.PhotonFlux, "mains.power", "mains.ppe", quantity.PhotonEfficacy)
	})
	day := l.Design.Day
	if day.FullLevelTime.Set {
		w.row("mains.energy-year", "energy in a year", quantity.Energy, of(engine.Typical, powerStages, yearlyJ(day)), func() Basis {
			return Basis{
				Formula: "W = 365 (P (t_full + t_ramp) + P_standby (24 h − t_full − t_ramp))", Numbers: w.text("mains.energy-year", quantity.Energy),
				Inputs: []Input{w.ref("P", "mains.power", quantity.Power), given("t_full", day.FullLevelTime, quantity.Time, theDesign)}, Method: "definition of energy", Valid: "straight ramps; power in proportion to level",
			}
		})
		w.row("cost.electricity-year", "electricity in a year", quantity.Money, yearlyCost(day), func() Basis {
			return Basis{
				Formula: "energy · tariff", Numbers: w.text("cost.electricity-year", quantity.Money), Inputs: []Input{w.ref("energy", "mains.energy-year", quantity.Energy), given("tariff", day.Tariff, quantity.Tariff, theDesign)}, Method: "arithmetic", Valid: "this tariff",
			}
		})
	}
	missing := 0
	for _, o := range r.BOM {
		if !o.Priced {
			missing++
		}
	}
	b := Basis{Formula: "Σ count · price", Numbers: fmt.Sprintf("%d lines of the order list = %s", len(r.BOM), w.text("cost.bom", quantity.Money)), Method: "arithmetic", Valid: "prices as the parts state them; no shipping, no tools"}
	if missing > 0 {
		b.Notes = append(b.Notes, fmt.Sprintf("%d lines have no price and are left out", missing))
	}
	w.row("cost.bom", "price of all parts", quantity.Money, free(r.partsCost()), func() Basis { return b })
}

// luxNotes holds a factor from PPFD to lux beside those of classic lights.
func luxNotes(factor float64) []string {
	if !(factor > 0) {
		return nil
	}
	var list []string
	for _, c := range plant.ReferenceSources() {
		list = append(list, fmt.Sprintf("%s %.0f", c.Name, c.LuxPerUmol))
	}
	near := plant.NearestReference(factor)
	return []string{
		"published factors of classic lights: " + strings.Join(list, ", ") + "; lamps of a kind scatter by 6 %",
		fmt.Sprintf("a meter or a rule made for %s, the nearest of these, takes this light for %s %% of the photons that it has", near.Name, num(100*factor/near.LuxPerUmol)),
	}
}
