package figure

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"lampwright/internal/colour"
	"lampwright/internal/engine"
	"lampwright/internal/lamp"
	"lampwright/internal/light"
	"lampwright/internal/plant"
	"lampwright/internal/quantity"
	"lampwright/internal/sampling"
	"lampwright/internal/source"
	"lampwright/internal/spectrum"
)

// Where every figure of light in the installation comes from.
const (
	lightMethod = "ray tube through a flat surface with its Jacobian, Fresnel unpolarised (BornWolf1999, §1.5); " +
		"glass as " +
		"mirrors by the method of images, slabs combined per polarisation; water absorption Beer–Lambert in 20 nm bands"
	lightValid = "point sources, flat water, glass as mirrors at its inner face: thick glass with black edges " +
		"absorbs up to " +
		"about 4 % of the light at the bottom, close to the glass; light that a level substrate reflects up and " +
		"surface and " +
		"glass reflect back is included, on coarse cells"
)

// lightWriter writes the figures of light on planes.
type lightWriter struct {
	*writer
	l      *lamp.Lamp
	inputs []Input // of the geometry
	grid   string
	notes  []string
}

func (w *lightWriter) basis(formula, numbers string, in ...Input) Basis {
	return Basis{
		Formula: formula, Numbers: numbers, Inputs: append(in, w.inputs...), Method: lightMethod,
		Valid: lightValid + "; " + w.grid, Notes: w.notes,
	}
}

// planeName is a plane by the first part of its figures' keys and by its name for people.
type planeName struct{ key, name string }

// lightFigures writes the light at the target and on the water, and where the light of the lamp goes.
func (r *Evaluation) lightFigures(w *writer, s *engine.System) {
	m := s.Light.Target
	lw := &lightWriter{
		writer: w, l: s.Lamp, inputs: geometryInputs(s.Lamp), notes: s.Light.Notes,
		grid: fmt.Sprintf("%d × %d cells of %.0f × %.0f mm", m.NX, m.NY, 1e3*m.LengthM/float64(m.NX),
			1e3*m.WidthM/float64(m.NY)),
	}
	planes := []planeName{{"target", s.Lamp.TargetName()}}
	if s.Light.Surface != nil {
		planes = append(planes, planeName{"surface", "water surface"})
	}
	for _, p := range planes {
		lw.planeFigures(p)
	}
	lw.bandFigures(s.Lamp.Design.Requirements.PPFD)
	lw.dayFigures(r)
	lw.luxPerPPFD()
	lw.fractions(s)
	lw.maintenance(s)
	r.lampSums(w)
	r.lampColour(w)
	r.lampEfficacies(w)
}

// geometryInputs lists what the design states about the geometry of the light.
func geometryInputs(l *lamp.Lamp) []Input {
	at := &l.Design.Installation
	in := []Input{given("hanging height", at.Hanging, quantity.Length, theDesign)}
	if t := at.LampTilt; t != nil {
		in = append(in, given("lamp tilt", t.Tilt, quantity.Angle, theDesign),
			given("azimuth", t.Azimuth, quantity.Angle, theDesign))
	}
	if l.WaterM() > 0 {
		in = append(in, given("water depth", at.Water, quantity.Length, theDesign))
		if at.Substrate.Set {
			in = append(in, given("substrate depth", at.Substrate, quantity.Length, theDesign))
		}
	}
	for i := range l.Optics {
		in = append(in, beamInput(&l.Optics[i]))
	}
	return in
}

func beamInput(o *lamp.Optic) Input {
	if o.Lens == nil {
		return Input{
			Name:   "beam angle of the bare packages (" + o.Model + ")",
			Value:  quantity.Format(o.BeamRad, quantity.Angle),
			Source: "datasheets of the packages; 120° where not stated (rule of thumb, no source)",
		}
	}
	sheet := lamp.DatasheetOf(o.Lens.Datasheet, "lens", o.Lens.ID.S)
	if o.Lens.Measured() {
		beam := fmt.Sprintf("beam angle %.0f°", lamp.Degrees(o.BeamRad))
		return Input{
			Name: "LID of " + o.Lens.ID.S + " (" + o.Model + ")", Value: beam, Source: sheet,
			At: o.Lens.PatternAt(),
		}
	}
	return given("beam angle of "+o.Lens.ID.S+" ("+o.Model+")", o.Lens.Beam, quantity.Angle, sheet)
}

// planeFigures writes PPFD, its percentiles, uniformity and illuminance of a plane.
func (w *lightWriter) planeFigures(p planeName) {
	ppfd := p.key + ".ppfd"
	w.row(ppfd, "Mean PPFD, "+p.name, quantity.PPFD, meanPPFD(p.key), func() Basis {
		numbers := fmt.Sprintf("%d emitters, %s W radiant → %s", len(w.l.Emitters), num(w.values["lamp.radiant"]),
			w.text(ppfd, quantity.PPFD))
		return w.basis("E = mean over cells of Σ_e Φ_e G_e", numbers, w.ref("PPF", "lamp.ppf", quantity.PhotonFlux))
	})
	minimum := plane(p.key, func(x *engine.PlaneSolution) float64 { return x.Min })
	w.row(ppfd+"-min", "Minimum PPFD, "+p.name, quantity.PPFD, minimum, func() Basis {
		return w.basis("E_min = minimum over cells", w.text(ppfd+"-min", quantity.PPFD))
	})
	for _, q := range []struct {
		key, title string
		of         numbers
	}{
		{"-p10", "PPFD, P10 of area, ", plane(p.key, func(x *engine.PlaneSolution) float64 { return x.P10 })},
		{"-median", "PPFD, median, ", median(p.key, w.sol)},
		{"-p90", "PPFD, P90 of area, ", plane(p.key, func(x *engine.PlaneSolution) float64 { return x.P90 })},
	} {
		w.row(ppfd+q.key, q.title+p.name, quantity.PPFD, q.of, func() Basis {
			return w.basis("percentile of the cells, linear interpolation", w.text(ppfd+q.key, quantity.PPFD))
		})
	}
	w.uniformity(p)
	lux := plane(p.key, func(x *engine.PlaneSolution) float64 { return x.Lux })
	w.row(p.key+".lux", "Mean illuminance, "+p.name, quantity.Illuminance, lux, func() Basis {
		return w.basis("E_v = mean over cells of Σ_e Φ_v,e G_e", w.text(p.key+".lux", quantity.Illuminance),
			w.ref("luminous flux", "lamp.flux", quantity.Flux))
	})
}

// Cells of which the median of the plane is composed: an odd number, of the middle fifth by rank.
const (
	medianCells = 9
	medianBand  = 0.2
)

// median returns the numbers of the median of a plane. Its parts are the PPFD of the cells next to the median of the
// nominal lamp: each is smooth in what varies, while the cell that is the median is another one in each sample.
func median(key string, nominal *engine.Solution) numbers {
	n := plane(key, func(x *engine.PlaneSolution) float64 { return x.P50 })
	p := planeOf(nominal, key)
	if p == nil {
		return n
	}
	ranked := ranks(p.PPFD)
	cells := make([]int, medianCells)
	for i := range cells {
		share := 0.5 + medianBand*(float64(i)/(medianCells-1)-0.5)
		cells[i] = ranked[int(math.Round(share*float64(len(ranked)-1)))]
	}
	n.parts = func(s *engine.Solution) []float64 {
		out := make([]float64, len(cells))
		for i, c := range cells {
			out[i] = planeOf(s, key).PPFD[c]
		}
		return out
	}
	n.join = &sampling.Join{Ranked: true, Of: func(parts []float64) float64 {
		slices.Sort(parts)
		return parts[len(parts)/2]
	}}
	return n
}

func (w *lightWriter) uniformity(p planeName) {
	key, mean, minimum := p.key+".uniformity", p.key+".ppfd", p.key+".ppfd-min"
	w.row(key, "Uniformity (min/mean), "+p.name, quantity.Ratio, uniformity(p.key), func() Basis {
		numbers := fmt.Sprintf("%s / %s = %s", w.text(minimum, quantity.PPFD), w.text(mean, quantity.PPFD),
			w.text(key, quantity.Ratio))
		return w.basis("U₀ = E_min / E_mean (EN 12464-1)", numbers, w.ref("E_mean", mean, quantity.PPFD),
			w.ref("E_min", minimum, quantity.PPFD))
	})
}

// bandCells is the number of cells of which a sample's fraction of area within a band is computed.
const bandCells = 25

// bandFigures writes which fraction of the target has less than the required PPFD, what is required, and more.
func (w *lightWriter) bandFigures(required source.Value) {
	if !required.Set {
		return
	}
	lo, hi := required.Lo, required.Hi
	if lo == hi {
		hi = math.Inf(1) // a value without a tolerance is a lower bound
	}
	band := "≥ " + quantity.Format(lo, quantity.PPFD)
	if !math.IsInf(hi, 1) {
		band = quantity.Format(lo, quantity.PPFD) + " to " + quantity.Format(hi, quantity.PPFD)
	}
	below := func(ppfd []float64) float64 { return light.ShareBelow(ppfd, lo) }
	above := func(ppfd []float64) float64 { return light.ShareAbove(ppfd, hi) }
	within := func(ppfd []float64) float64 { return math.Max(0, 1-below(ppfd)-above(ppfd)) }
	for _, x := range []struct {
		key, title, formula string
		of                  func(ppfd []float64) float64
	}{
		{"below", "below", "A(E < E_min) / A", below},
		{"within", "within", "1 − A(E < E_min)/A − A(E > E_max)/A", within},
		{"above", "above", "A(E > E_max) / A", above},
	} {
		key := "target.area-" + x.key
		title := "Area " + x.title + " the required PPFD, " + w.l.TargetName()
		w.row(key, title, quantity.Ratio, areaShare(w.sol, x.of), func() Basis {
			numbers := "required " + band + ": " + w.text(key, quantity.Ratio)
			b := w.basis(x.formula+"; linear between the sorted cells", numbers,
				given("required PPFD", required, quantity.PPFD, theDesign))
			b.Notes = append(b.Notes, fmt.Sprintf("range: computed from %d cells, evenly spaced by rank", bandCells))
			return b
		})
	}
}

// areaShare returns the numbers of a fraction of the target's area that follows from the PPFD of its cells. Its parts
// are the PPFD of cells evenly spaced by rank in the nominal lamp: each is smooth in what varies.
func areaShare(nominal *engine.Solution, share func(ppfd []float64) float64) numbers {
	n := plane("target", func(x *engine.PlaneSolution) float64 { return share(x.PPFD) })
	ranked := ranks(nominal.Target.PPFD)
	cells := make([]int, 0, bandCells)
	for i := range min(bandCells, len(ranked)) {
		at := (float64(i) + 0.5) / float64(min(bandCells, len(ranked)))
		cells = append(cells, ranked[int(at*float64(len(ranked)))])
	}
	n.parts = func(s *engine.Solution) []float64 {
		out := make([]float64, len(cells))
		for i, c := range cells {
			out[i] = s.Target.PPFD[c]
		}
		return out
	}
	n.join = &sampling.Join{Of: share}
	return n
}

// ranks returns the indices of values in ascending order of the values.
func ranks(values []float64) []int {
	ranked := make([]int, len(values))
	for i := range ranked {
		ranked[i] = i
	}
	slices.SortFunc(ranked, func(a, b int) int { return cmp.Compare(values[a], values[b]) })
	return ranked
}

func (w *lightWriter) luxPerPPFD() {
	const key = "light.lux-per-ppfd"
	n := when(engine.Typical, engine.Emission|engine.Planes, func(s *engine.Solution) (float64, bool) {
		return s.Target.Lux / s.Target.Mean, s.Target.Mean > 0
	})
	w.row(key, "Lux per PPFD at the target", quantity.None, n, func() Basis {
		lux, ppfd := w.text("target.lux", quantity.Illuminance), w.text("target.ppfd", quantity.PPFD)
		return Basis{
			Formula: "f = E_v / E", Numbers: fmt.Sprintf("%s / %s = %s lx per µmol/m²/s", lux, ppfd,
				num(w.values[key])),
			Inputs: []Input{w.ref("E_v", "target.lux", quantity.Illuminance), w.ref("E", "target.ppfd", quantity.PPFD)},
			Method: "definition; notes: ThimijanHeins1983, Table 3, cited from a secondary source",
			Valid:  "this spectrum only; the lux meter must follow V(λ) in blue and red",
			Notes:  luxNotes(w.values[key]),
		}
	})
}

// luxNotes compares a factor from PPFD to lux with those of reference sources.
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
		"published factors of reference sources: " + strings.Join(list, ", ") + "; lamps of one type vary by 6 %",
		fmt.Sprintf("with a meter or a factor made for %s, the nearest of these, the PPFD reading is %s %% of the "+
			"true value",
			near.Name, num(100*factor/near.LuxPerUmol)),
	}
}

// fractions writes where the light of the lamp goes.
func (w *lightWriter) fractions(s *engine.System) {
	put := func(key, title string, n numbers, formula string) {
		w.row(key, title, quantity.Ratio, n, func() Basis { return w.basis(formula, w.text(key, quantity.Ratio)) })
	}
	spill := fraction(func(x *engine.LightSolution) float64 { return x.Spill })
	put("light.spill", "Spill light", spill, "1 − ∫ LID over "+w.l.OpeningName())
	w.coverLoss()
	w.glassLoss()
	w.glassParts()
	incident := fraction(func(x *engine.LightSolution) float64 { return x.Incident })
	put("light.incident-surface", "Incident on "+w.l.SurfaceName(), incident, "mean irradiance per watt · area")
	reflected := atSurface(s, func(x *engine.LightSolution) float64 { return x.Reflected })
	put("light.reflected", "Reflected at water surface", reflected, "Σ Φ R(θ)")
	transmitted := atSurface(s, func(x *engine.LightSolution) float64 { return x.Incident - x.Reflected })
	put("light.transmitted", "Transmitted into water", transmitted, "Σ Φ (1 − R(θ))")
	arriving := fraction(func(x *engine.LightSolution) float64 { return x.AtTarget })
	put("light.incident-substrate", "Incident on "+w.l.TargetName(), arriving, "mean irradiance per watt · area")
}

func (w *lightWriter) glassLoss() {
	const key, spill, incident = "light.glass-loss", "light.spill", "light.incident-surface"
	w.row(key, "Loss through "+w.l.GlassAboveWater(), quantity.Ratio, glassLoss(w.l), func() Basis {
		numbers := fmt.Sprintf("1 − %s − %s = %s", w.text(spill, quantity.Ratio), w.text(incident, quantity.Ratio),
			w.text(key, quantity.Ratio))
		formula := "max(0, 1 − spill − incident on " + w.l.SurfaceName() + ")"
		if _, covered := w.values[coverLoss]; covered {
			numbers = fmt.Sprintf("1 − %s − %s − %s = %s", w.text(spill, quantity.Ratio),
				w.text(coverLoss, quantity.Ratio), w.text(incident, quantity.Ratio), w.text(key, quantity.Ratio))
			formula = "max(0, 1 − spill − cover glass − incident on " + w.l.SurfaceName() + ")"
		}
		return w.basis(formula, numbers, w.ref("spill", spill, quantity.Ratio),
			w.ref("incident", incident, quantity.Ratio))
	})
}

// lampSums writes the sums of the light after the lenses.
func (r *Evaluation) lampSums(w *writer) {
	for _, f := range []struct {
		key, title string
		dim        quantity.Dim
		value      func(*engine.Solution) float64
	}{
		{"lamp.flux", "Luminous flux of the lamp", quantity.Flux, fluxLm},
		{"lamp.ppf", "PPF of the lamp, 400–700 nm", quantity.PhotonFlux, ppfUmolS},
		{"lamp.radiant", "Radiant flux of the lamp", quantity.Power, radiantW},
	} {
		w.row(f.key, f.title, f.dim, of(engine.Typical, engine.Emission, f.value), func() Basis {
			return Basis{
				Formula: "sum over channels", Numbers: w.text(f.key, f.dim), Method: "spectra add",
				Valid: "after lenses, typical ambient",
			}
		})
	}
}

// lampColour writes colour and rendering of the sum of all light.
func (r *Evaluation) lampColour(w *writer) {
	for _, f := range []struct {
		key, title, method string
		dim                quantity.Dim
		numbers            numbers
	}{
		{
			"cct", "Correlated colour temperature (CCT)", "CIE15-2018, §9; nearest point of the Planckian locus",
			quantity.CCT, colourOf(func(c *engine.ColourSolution) float64 { return c.CCTK }),
		},
		{
			"duv", "Distance from the Planckian locus (Duv)", "Ohno2014", quantity.None,
			colourOf(func(c *engine.ColourSolution) float64 { return c.Duv }).rounded(duvDecimals),
		},
		{
			"ra", "Colour rendering index (Ra)", "CIE13.3-1995", quantity.None,
			rendering(func(x *engine.RenderingSolution) float64 { return x.Ra }).ofDifferences(1, 2, 3, 4, 5, 6, 7, 8),
		},
		{
			"r9", "Rendering of saturated red (R9)", "CIE13.3-1995", quantity.None,
			rendering(func(x *engine.RenderingSolution) float64 { return x.R9 }).ofDifferences(9),
		},
		{
			"rf", "Colour fidelity index (Rf)", "CIE224-2017", quantity.None,
			rendering(func(x *engine.RenderingSolution) float64 { return x.Rf }),
		},
		{
			"rg", "Colour gamut index (Rg)", "TM30-20", quantity.None,
			rendering(func(x *engine.RenderingSolution) float64 { return x.Rg }),
		},
	} {
		w.row("lamp."+f.key, f.title, f.dim, f.numbers, func() Basis {
			return Basis{
				Formula: "spectra of the channels, weighted by radiant flux and added; then the sums of the standard",
				Numbers: fmt.Sprintf("x = %.4f, y = %.4f", r.Colour.X, r.Colour.Y),
				Inputs:  []Input{w.ref("luminous flux", "lamp.flux", quantity.Flux)}, Method: f.method,
				Valid: "far from the lamp, channels mixed; " + shiftNote(r.Sys),
			}
		})
	}
}

func (r *Evaluation) lampEfficacies(w *writer) {
	w.row("lamp.efficacy", "Luminous efficacy, emitters", quantity.Efficacy, perPower(engine.Emission, fluxLm, lampW),
		func() Basis {
			return ratioBasis(w, "lamp.flux", quantity.Flux, "lamp.power", "lamp.efficacy", quantity.Efficacy)
		})
	w.row("lamp.ppe", "PPE, emitters", quantity.PhotonEfficacy, perPower(engine.Emission, ppfUmolS, lampW),
		func() Basis {
			return ratioBasis(w, "lamp.ppf", quantity.PhotonFlux, "lamp.power", "lamp.ppe", quantity.PhotonEfficacy)
		})
}

func ratioBasis(w *writer, over string, overDim quantity.Dim, under, key string, dim quantity.Dim) Basis {
	return Basis{
		Formula: over + " / " + under,
		Numbers: fmt.Sprintf("%s / %s = %s", w.text(over, overDim), w.text(under, quantity.Power), w.text(key, dim)),
		Inputs:  []Input{w.ref(over, over, overDim), w.ref(under, under, quantity.Power)}, Method: "definition",
		Valid: fullLevel,
	}
}

// fullLevel is the condition of most figures of power.
const fullLevel = "typical ambient, all channels at their levels"

// colourValues computes the colour of the whole lamp, with Rf and Rg of the same spectrum where they are known.
func colourValues(r *Evaluation, sol *engine.Solution, sum spectrum.Spectrum, known *colour.Figures) {
	xy, ok := colour.Chromaticity(sum)
	if !ok {
		return
	}
	r.Colour = xy
	if t := colour.CCT(xy); !t.Valid {
		r.Notes = append(r.Notes, "no CCT: "+t.Note)
		return
	}
	c, err := colour.RenderingIndices(sum)
	if err != nil {
		return
	}
	r.Notes = append(r.Notes, c.Notes...)
	sol.Rendering = engine.RenderingOf(&c)
	if known.Rf != nil {
		sol.Rendering.Rf, sol.Rendering.Rg = *known.Rf, *known.Rg
	} else if f, err := colour.FidelityIndices(sum); err == nil {
		sol.Rendering.Rf, sol.Rendering.Rg = f.Rf, f.Rg
	}
}
