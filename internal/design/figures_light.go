package design

import (
	"fmt"
	"strings"

	"lampwright/internal/colour"
	"lampwright/internal/plant"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/spectrum"
)

// Where every figure of light in the place comes from.
const (
	lightMethod = "ray tube through a flat surface with its Jacobian, Fresnel unpolarised (BornWolf1999, §1.5); panes as mirrors by the method of images, slabs combined per polarisation; water absorption Beer–Lambert in 20 nm bands"
	lightValid  = "point sources, flat water, panes as mirrors at their inner face: thick glass with dead edges takes up to about 4 % of the bottom's light, close to the panes; what a level substrate sends up and the surface and panes send back is in it, on coarse cells"
)

func (r *Result) lightFigures(w *writer, s *system, sol solution) {
	l := s.lamp
	m := s.light.target
	grid := fmt.Sprintf("%d × %d cells of %.0f × %.0f mm", m.nx, m.ny, 1e3*m.lengthM/float64(m.nx), 1e3*m.widthM/float64(m.ny))
	place := []Input{given("hanging height", l.Design.Installation.Hanging, quantity.Length, theDesign)}
	if t := l.Design.Installation.LampTilt; t != nil {
		place = append(place, given("lamp tilt", t.Tilt, quantity.Angle, theDesign), given("azimuth", t.Azimuth, quantity.Angle, theDesign))
	}
	if l.Design.Installation.Water.SI > 0 {
		place = append(place, given("water", l.Design.Installation.Water, quantity.Length, theDesign))
		if l.Design.Installation.Substrate.Set {
			place = append(place, given("substrate", l.Design.Installation.Substrate, quantity.Length, theDesign))
		}
	}
	for _, o := range l.Optics {
		if o.Lens != nil && o.Lens.Measured() {
			place = append(place, Input{Name: "pattern of " + o.Lens.ID.S + " (" + o.Model + ")", Value: fmt.Sprintf("beam %.0f°", degrees(o.BeamRad)), Source: sheetOf(o.Lens.Datasheet, "lens", o.Lens.ID.S), At: o.Lens.PatternAt()})
		} else if o.Lens != nil {
			place = append(place, given("beam of "+o.Lens.ID.S+" ("+o.Model+")", o.Lens.Beam, quantity.Angle, sheetOf(o.Lens.Datasheet, "lens", o.Lens.ID.S)))
		} else {
			place = append(place, Input{Name: "beam of the bare emitters (" + o.Model + ")", Value: quantity.Format(o.BeamRad, quantity.Angle), Source: "the emitters' sheets; 120° where they are silent (common practice, no source)"})
		}
	}
	basis := func(formula, numbers string, in ...Input) Basis {
		return Basis{Formula: formula, Numbers: numbers, Inputs: append(in, place...), Method: lightMethod, Valid: lightValid + "; " + grid, Notes: s.light.notes}
	}
	target := l.targetName()
	planes := []struct{ key, name string }{{"target", target}}
	if s.light.surface != nil {
		planes = append(planes, struct{ key, name string }{"surface", "water surface"})
	}
	for _, p := range planes {
		w.put(p.key+".ppfd", "mean PPFD, "+p.name, quantity.PPFD, basis("E = mean over cells of Σ_e Φ_e G_e", fmt.Sprintf("%d emitters, %s W of light → %s", len(l.Emitters), num(w.values["lamp.radiant"]), w.text(p.key+".ppfd", quantity.PPFD)), w.ref("light", "lamp.ppf", quantity.PhotonFlux)))
		w.put(p.key+".ppfd-least", "least PPFD, "+p.name, quantity.PPFD, basis("E_min = least over cells", w.text(p.key+".ppfd-least", quantity.PPFD)))
		for _, q := range []struct{ key, title string }{{"-p10", "a tenth of the area has less PPFD, "}, {"-median", "half of the area has less PPFD, "}, {"-p90", "a tenth of the area has more PPFD, "}} {
			w.put(p.key+".ppfd"+q.key, q.title+p.name, quantity.PPFD, basis("percentile of the cells, straight between them", w.text(p.key+".ppfd"+q.key, quantity.PPFD)))
		}
		w.put(p.key+".uniformity", "uniformity (least over mean), "+p.name, quantity.Ratio, basis("U₀ = E_min / E_mean (EN 12464-1)", fmt.Sprintf("%s / %s = %s", w.text(p.key+".ppfd-least", quantity.PPFD), w.text(p.key+".ppfd", quantity.PPFD), w.text(p.key+".uniformity", quantity.Ratio)), w.ref("E_mean", p.key+".ppfd", quantity.PPFD), w.ref("E_min", p.key+".ppfd-least", quantity.PPFD)))
		w.put(p.key+".lux", "mean illuminance, "+p.name, quantity.Illuminance, basis("E_v = mean over cells of Σ_e Φ_v,e G_e", w.text(p.key+".lux", quantity.Illuminance), w.ref("light", "lamp.flux", quantity.Flux)))
	}
	day := l.Design.Day
	w.put("target.daily-light", "day's light (DLI), "+target, quantity.DLI, Basis{
		Formula: "DLI = E (t_full + t_ramp) · 10⁻⁶",
		Numbers: fmt.Sprintf("%s · (%s h + %s h) · 3600 s/h · 10⁻⁶ = %s", w.text("target.ppfd", quantity.PPFD), num(day.FullLevelTime.SI/3600), num(day.RampTime.SI/3600), w.text("target.daily-light", quantity.DLI)),
		Inputs:  []Input{w.ref("E", "target.ppfd", quantity.PPFD), given("t_full", day.FullLevelTime, quantity.Time, theDesign), given("t_ramp", day.RampTime, quantity.Time, theDesign)},
		Method:  "definition of the daily light integral; straight ramps count half, dawn and dusk together one", Valid: "every channel at its level for the same time",
	})
	w.put("light.lux-per-ppfd", "lux for one µmol/m²/s at the target", quantity.None, Basis{
		Formula: "f = E_v / E", Numbers: fmt.Sprintf("%s / %s = %s lx per µmol/m²/s", w.text("target.lux", quantity.Illuminance), w.text("target.ppfd", quantity.PPFD), num(w.values["light.lux-per-ppfd"])),
		Inputs: []Input{w.ref("E_v", "target.lux", quantity.Illuminance), w.ref("E", "target.ppfd", quantity.PPFD)}, Method: "definition; ThimijanHeins1983, Table 3, at second hand, for the notes", Valid: "this spectrum only; a lux meter must follow V(λ) in the blue and the red",
		Notes: luxNotes(w.values["light.lux-per-ppfd"]),
	})
	w.put("light.spill", "share of the light that misses "+l.openingName(), quantity.Ratio, basis("1 − ∫ pattern over the opening", w.text("light.spill", quantity.Ratio)))
	w.put("light.dry-glass", "share lost through "+l.dryPanes(), quantity.Ratio, basis("1 − spill − share that meets "+l.surfaceName()+", and no less than nothing",
		fmt.Sprintf("1 − %s − %s = %s", w.text("light.spill", quantity.Ratio), w.text("light.meets", quantity.Ratio), w.text("light.dry-glass", quantity.Ratio)), w.ref("spill", "light.spill", quantity.Ratio), w.ref("meets", "light.meets", quantity.Ratio)))
	w.put("light.meets", "share that meets "+l.surfaceName(), quantity.Ratio, basis("mean irradiance per watt · area", w.text("light.meets", quantity.Ratio)))
	w.put("light.reflected", "share that the water's surface sends back", quantity.Ratio, basis("Σ Φ R(θ)", w.text("light.reflected", quantity.Ratio)))
	w.put("light.enters", "share that enters the water", quantity.Ratio, basis("Σ Φ (1 − R(θ))", w.text("light.enters", quantity.Ratio)))
	w.put("light.reaches", "share that arrives at the "+target, quantity.Ratio, basis("mean irradiance per watt · area", w.text("light.reaches", quantity.Ratio)))
	r.lampLightFigures(w, sol)
}

func (r *Result) lampLightFigures(w *writer, sol solution) {
	sum := Basis{Formula: "sum over channels", Inputs: nil, Method: "spectra add", Valid: "light that leaves the lenses, usual day"}
	for _, f := range []struct {
		key, title string
		dim        quantity.Dim
	}{
		{"lamp.flux", "luminous flux of the lamp", quantity.Flux},
		{"lamp.ppf", "photon flux of the lamp, 400–700 nm", quantity.PhotonFlux},
		{"lamp.radiant", "radiant power of the lamp", quantity.Power},
	} {
		b := sum
		b.Numbers = w.text(f.key, f.dim)
		w.put(f.key, f.title, f.dim, b)
	}
	colourBasis := func(method string, notes []string) Basis {
		return Basis{
			Formula: "spectra of the channels, each with its watts, added; then the standard's sums", Numbers: fmt.Sprintf("x = %.4f, y = %.4f", r.Colour.X, r.Colour.Y),
			Inputs: []Input{w.ref("light", "lamp.flux", quantity.Flux)}, Method: method, Valid: "at the lamp, far enough for the channels to mix; " + r.sys.shiftNote(), Notes: notes,
		}
	}
	w.put("lamp.cct", "correlated colour temperature", quantity.CCT, colourBasis("CIE15-2018, §9; nearest point of the Planckian locus", nil))
	w.put("lamp.duv", "distance from the Planckian locus (Duv)", quantity.None, colourBasis("Ohno2014", nil))
	w.put("lamp.ra", "colour rendering (Ra)", quantity.None, colourBasis("CIE13.3-1995", nil))
	w.put("lamp.r9", "rendering of saturated red (R9)", quantity.None, colourBasis("CIE13.3-1995", nil))
	w.put("lamp.rf", "colour fidelity (Rf)", quantity.None, colourBasis("CIE224-2017", nil))
	w.put("lamp.rg", "colour gamut (Rg)", quantity.None, colourBasis("TM30-20", nil))
	w.put("lamp.efficacy", "efficacy at the emitters", quantity.Efficacy, ratioBasis(w, "lamp.flux", quantity.Flux, "lamp.power", "lamp.efficacy", quantity.Efficacy))
	w.put("lamp.photon-efficacy", "photon efficacy at the emitters", quantity.PhotonEfficacy, ratioBasis(w, "lamp.ppf", quantity.PhotonFlux, "lamp.power", "lamp.photon-efficacy", quantity.PhotonEfficacy))
}

func ratioBasis(w *writer, over string, overDim quantity.Dim, under, key string, dim quantity.Dim) Basis {
	return Basis{
		Formula: over + " / " + under, Numbers: fmt.Sprintf("%s / %s = %s", w.text(over, overDim), w.text(under, quantity.Power), w.text(key, dim)),
		Inputs: []Input{w.ref(over, over, overDim), w.ref(under, under, quantity.Power)}, Method: "definition", Valid: "usual day, every channel at its level",
	}
}

// colourValues computes the colour of the whole lamp.
func (s *system) colourValues(r *Result, sol solution, sum spectrum.Spectrum, looks *colour.Figures) {
	xy, ok := colour.Chromaticity(sum)
	if !ok {
		return
	}
	r.Colour = xy
	if t := colour.CCT(xy); !t.Valid {
		r.Notes = append(r.Notes, "no colour temperature: "+t.Note)
		return
	}
	if c, err := colour.RenderingIndices(sum); err == nil {
		sol.values["lamp.ra"], sol.values["lamp.r9"] = c.Ra, c.R[8]
		r.Notes = append(r.Notes, c.Notes...)
	}
	if looks.Rf != nil {
		sol.values["lamp.rf"], sol.values["lamp.rg"] = *looks.Rf, *looks.Rg // of the same spectrum by the same way
	} else if f, err := colour.FidelityIndices(sum); err == nil {
		sol.values["lamp.rf"], sol.values["lamp.rg"] = f.Rf, f.Rg
	}
}

func (l *Lamp) targetName() string {
	p := l.Design.Installation
	switch {
	case p.Kind.S == project.Bench:
		return "bench"
	case p.Substrate.SI > 0:
		return "substrate"
	}
	return "bottom"
}

func (l *Lamp) openingName() string {
	if l.Design.Installation.Kind.S == project.Bench {
		return "the bench"
	}
	return "the tank's opening"
}

// dryPanes names the panes that light can leave by before it meets water, or anything.
func (l *Lamp) dryPanes() string {
	if l.Design.Installation.Water.SI > 0 {
		return "the dry panes above the water"
	}
	return "the panes, all of them dry"
}

func (l *Lamp) surfaceName() string {
	if l.Design.Installation.Water.SI > 0 {
		return "the water"
	}
	return "the " + l.targetName()
}

func (r *Result) powerFigures(w *writer, s *system, p params, sol solution) {
	l := s.lamp
	w.put("lamp.power", "electrical power of the emitters", quantity.Power, Basis{
		Formula: "sum over channels", Numbers: w.text("lamp.power", quantity.Power), Method: "definition of power", Valid: "usual day, every channel at its level",
	})
	for j := range l.Design.Supplies {
		part := l.Project.Library.Supplies.Get(l.Design.Supplies[j].Part.S)
		key := fmt.Sprintf("supply%d.load", j+1)
		sheet := sheetOf(part.Datasheet, "supply", part.ID.S)
		var in, on []Input
		for i := range l.Channels {
			if c := &l.Channels[i]; c.Supply == j {
				in = append(in, w.ref(c.Name, c.Name+".driver-input", quantity.Power))
				on = append(on, w.ref(c.Name, c.OnInput(), quantity.Power))
			}
		}
		rated := given("rated power", part.Power, quantity.Power, sheet)
		in, on = append(in, rated), append(on, rated)
		w.put(key, "load of supply "+part.ID.S, quantity.Power, Basis{
			Formula: "P = Σ driver inputs + fan + loss in the wire", Numbers: fmt.Sprintf("%s, %.0f %% of its %s", w.text(key, quantity.Power), 100*sol.values[key]/part.Power.SI, quantity.Format(part.Power.SI, quantity.Power)),
			Inputs: in, Method: "conservation of energy", Valid: "every channel at its level, mean over dimming",
		})
		peak := fmt.Sprintf("supply%d.peak", j+1)
		w.put(peak, "load of supply "+part.ID.S+" while every channel is on", quantity.Power, Basis{
			Formula: "P_peak = Σ driver inputs while on + fan + loss in the wire", Numbers: fmt.Sprintf("%s, %.0f %% of its %s", w.text(peak, quantity.Power), 100*sol.values[peak]/part.Power.SI, quantity.Format(part.Power.SI, quantity.Power)),
			Inputs: on, Method: "conservation of energy", Valid: "channels that are dimmed by switching are on together at times, whatever their level; those that are off at full day at their set current",
		})
		if k := fmt.Sprintf("supply%d.wire-drop", j+1); l.Design.Supplies[j].Wire != nil {
			w.put(k, "drop in the wire from supply "+part.ID.S+", every channel on", quantity.Voltage, Basis{
				Formula: "ΔV = 2 l R′ (1 + α (T − 20 °C)) I", Numbers: w.text(k, quantity.Voltage), Inputs: []Input{w.ref("load", peak, quantity.Power), given("l", l.Design.Supplies[j].Wire.Length, quantity.Length, theDesign)},
				Method: "Ohm's law; IEC60028", Valid: "both conductors alike, at room temperature",
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
	w.put("wall.power-switched", "power of what the switch in the mains turns", quantity.Power, Basis{
		Formula: "P = Σ mains drivers + Σ loads / η_supply, of what it turns", Numbers: w.text("wall.power-switched", quantity.Power), Inputs: turned, Method: "conservation of energy", Valid: "usual day, every channel at its level",
	})
	w.put("wall.power", "power at the wall plug", quantity.Power, Basis{
		Formula: "P = Σ mains drivers + Σ loads / η_supply + fan", Numbers: w.text("wall.power", quantity.Power), Inputs: in, Method: "conservation of energy", Valid: "usual day, every channel at its level",
	})
	w.put("wall.efficacy", "efficacy at the wall plug", quantity.Efficacy, ratioBasis(w, "lamp.flux", quantity.Flux, "wall.power", "wall.efficacy", quantity.Efficacy))
	w.put("wall.photon-efficacy", "photon efficacy at the wall plug", quantity.PhotonEfficacy, ratioBasis(w, "lamp.ppf", quantity.PhotonFlux, "wall.power", "wall.photon-efficacy", quantity.PhotonEfficacy))
	day := l.Design.Day
	if day.FullLevelTime.Set {
		w.put("wall.energy-year", "energy in a year", quantity.Energy, Basis{
			Formula: "W = 365 (P (t_full + t_ramp) + P_standby (24 h − t_full − t_ramp))", Numbers: w.text("wall.energy-year", quantity.Energy),
			Inputs: []Input{w.ref("P", "wall.power", quantity.Power), given("t_full", day.FullLevelTime, quantity.Time, theDesign)}, Method: "definition of energy", Valid: "straight ramps; power in proportion to level",
		})
		w.put("cost.energy-year", "electricity in a year", quantity.Money, Basis{
			Formula: "energy · tariff", Numbers: w.text("cost.energy-year", quantity.Money), Inputs: []Input{w.ref("energy", "wall.energy-year", quantity.Energy), given("tariff", day.Tariff, quantity.Tariff, theDesign)}, Method: "arithmetic", Valid: "this tariff",
		})
	}
	missing := 0
	for _, o := range r.Orders {
		if !o.Priced {
			missing++
		}
	}
	b := Basis{Formula: "Σ count · price", Numbers: fmt.Sprintf("%d lines of the order list = %s", len(r.Orders), w.text("cost.parts", quantity.Money)), Method: "arithmetic", Valid: "prices as the parts state them; no shipping, no tools"}
	if missing > 0 {
		b.Notes = append(b.Notes, fmt.Sprintf("%d lines have no price and are left out", missing))
	}
	w.put("cost.parts", "price of all parts", quantity.Money, b)
}

// luxNotes holds a factor from PPFD to lux beside those of classic lights.
func luxNotes(factor float64) []string {
	if !(factor > 0) {
		return nil
	}
	var list []string
	for _, c := range plant.Classics() {
		list = append(list, fmt.Sprintf("%s %.0f", c.Name, c.LuxPerUmol))
	}
	near := plant.NearestClassic(factor)
	return []string{
		"published factors of classic lights: " + strings.Join(list, ", ") + "; lamps of a kind scatter by 6 %",
		fmt.Sprintf("a meter or a rule made for %s, the nearest of these, takes this light for %s %% of the photons that it has", near.Name, num(100*factor/near.LuxPerUmol)),
	}
}
