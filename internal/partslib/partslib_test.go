package partslib_test

import (
	"io/fs"
	"math"
	"slices"
	"testing"

	"lampwright/internal/intensity"

	"lampwright/internal/colour"
	"lampwright/internal/curve"
	"lampwright/internal/partslib"
	"lampwright/internal/project"
	"lampwright/internal/source"
	"lampwright/internal/spectrum"
)

// load returns the parts library and fails the test if a file of it has a problem.
func load(t *testing.T) *project.Library {
	t.Helper()
	s, problems := project.LoadLibrary(nil, partslib.Files())
	for _, p := range problems {
		t.Errorf("%v", p)
	}
	if t.Failed() {
		t.FailNow()
	}
	return s
}

// all returns the parts of a set in the order of their ids.
func all[T any](s project.Set[T]) []*T {
	var out []*T
	for _, id := range s.IDs() {
		out = append(out, s.Get(id))
	}
	return out
}

func at(t *testing.T, c source.Curve, x float64) float64 {
	t.Helper()
	cv, err := curve.New(c.X, c.Y)
	if err != nil {
		t.Fatal(err)
	}
	y, inside := cv.At(x)
	if !inside {
		t.Errorf("%g lies outside a curve that starts at %g and ends at %g", x, c.X[0], c.X[len(c.X)-1])
	}
	return y
}

func TestEveryFileIsMarkedInvented(t *testing.T) {
	names, err := fs.Glob(partslib.Files(), "parts/*.yaml")
	if err != nil || len(names) != len(project.Kinds) {
		t.Fatalf("found %d files of parts (%v), want %d, one a kind", len(names), err, len(project.Kinds))
	}
	for _, name := range names {
		data, err := fs.ReadFile(partslib.Files(), name)
		if err != nil {
			t.Fatal(err)
		}
		file, problems := source.Read(name, data)
		if len(problems) > 0 {
			t.Errorf("%s: %v", name, problems)
			continue
		}
		var parts project.PartsFile
		if problems := file.Decode(&parts); len(problems) > 0 {
			t.Errorf("%s: %v", name, problems)
		}
		if !parts.Fictitious.On {
			t.Errorf("%s is not marked as invented", name)
		}
	}
}

func TestEveryPartHasNameSheetAndPrice(t *testing.T) {
	s := load(t)
	check := func(c *project.Common, priced bool) {
		if !c.Name.Set || !c.Datasheet.Set || !priced {
			t.Errorf("%s: name %t, sheet %t, price %t; want all three", c.ID.S, c.Name.Set, c.Datasheet.Set, priced)
		}
		if !c.Builtin || !c.Fictitious {
			t.Errorf("%s: built in %t, invented %t; want both", c.ID.S, c.Builtin, c.Fictitious)
		}
	}
	for _, p := range all(s.Emitters) {
		check(&p.Common, p.Price.Set)
	}
	for _, p := range all(s.Lenses) {
		check(&p.Common, p.Price.Set)
	}
	for _, p := range all(s.Boards) {
		check(&p.Common, p.PriceByThickness.Set && p.PriceArea.Set)
	}
	for _, p := range all(s.Sinks) {
		check(&p.Common, p.Price.Set)
	}
	for _, p := range all(s.Fans) {
		check(&p.Common, p.Price.Set)
	}
	for _, p := range all(s.Drivers) {
		check(&p.Common, p.Price.Set)
	}
	for _, p := range all(s.Supplies) {
		check(&p.Common, p.Price.Set)
	}
	for _, p := range all(s.Wires) {
		check(&p.Common, p.PricePerM.Set)
	}
	for _, p := range all(s.ThermalInterfaces) {
		check(&p.Common, p.Price.Set)
	}
	for _, p := range all(s.Solders) {
		check(&p.Common, p.Price.Set)
	}
	for _, p := range all(s.Sensors) {
		check(&p.Common, p.Price.Set)
	}
	for _, p := range all(s.Controllers) {
		check(&p.Common, p.Price.Set)
	}
}

func TestEnoughParts(t *testing.T) {
	s := load(t)
	var whites, singles, withoutEfficiency, finned, byPower, bySpeed int
	for _, e := range all(s.Emitters) {
		if len(e.Peaks) > 1 {
			whites++
		} else {
			singles++
		}
	}
	for _, l := range all(s.Lenses) {
		if !l.Efficiency.Set {
			withoutEfficiency++
		}
	}
	for _, h := range all(s.Sinks) {
		if h.Fins != nil {
			finned++
		}
		if h.Natural.Set {
			byPower++
		}
		if h.Forced.Set {
			bySpeed++
		}
	}
	for _, tt := range []struct {
		what       string
		got, least int
	}{
		{"white emitters", whites, 4},
		{"emitters of a single colour", singles, 7},
		{"lenses", len(s.Lenses.IDs()), 6},
		{"lenses without efficiency", withoutEfficiency, 1},
		{"boards", len(s.Boards.IDs()), 4},
		{"sinks", len(s.Sinks.IDs()), 6},
		{"sinks by fins", finned, 3},
		{"sinks by power", byPower, 1},
		{"sinks by air speed", bySpeed, 1},
		{"fans", len(s.Fans.IDs()), 3},
		{"drivers", len(s.Drivers.IDs()), 5},
		{"supplies", len(s.Supplies.IDs()), 3},
		{"wires", len(s.Wires.IDs()), 5},
		{"interfaces", len(s.ThermalInterfaces.IDs()), 4},
		{"solders", len(s.Solders.IDs()), 3},
		{"sensors", len(s.Sensors.IDs()), 1},
		{"controllers", len(s.Controllers.IDs()), 4},
	} {
		if tt.got < tt.least {
			t.Errorf("%d %s, want at least %d", tt.got, tt.what, tt.least)
		}
	}
}

// The review asks about what a datasheet does not state; these gaps are there on purpose, and there are no others.
func TestHonestGaps(t *testing.T) {
	s := load(t)
	gaps := map[string][]string{}
	note := func(what, id string, missing bool) {
		if missing {
			gaps[what] = append(gaps[what], id)
		}
	}
	for _, e := range all(s.Emitters) {
		id := e.ID.S
		note("kind", id, !e.RthKind.Set)
		note("derating", id, !e.Derating.Set)
		note("pad potential", id, !e.PadPotential.Set)
		note("other", id,
			!e.MaxForwardCurrent.Set || !e.VoltageSpread.Set || !e.VoltageTempco.Set || !e.FluxVsCurrent.Set ||
				!e.FluxVsJunction.Set || !e.BeamAngle.Set || !e.Rth.Set || !e.MaxJunction.Set || !e.Body.Length.Set || !e.ThermalPad.Length.Set)
	}
	for _, l := range all(s.Lenses) {
		note("efficiency", l.ID.S, !l.Efficiency.Set)
	}
	for _, b := range all(s.Boards) {
		if b.ThermalPath.S == project.PathDielectric {
			note("working voltage", b.ID.S, !b.MaxVoltage.Set)
		}
	}
	for what, want := range map[string][]string{
		"kind": {"white-6000-pair"}, "derating": {"farred-736"}, "pad potential": {"green-528"}, "other": nil,
		"efficiency": {"lens-48-plain"}, "working voltage": {"aluminium-1w"},
	} {
		if !slices.Equal(gaps[what], want) {
			t.Errorf("%s is missing from %v, want from %v", what, gaps[what], want)
		}
	}
}

// spectrumOf returns the spectrum of 1 W of an emitter.
func spectrumOf(t *testing.T, e *project.Emitter) spectrum.Spectrum {
	t.Helper()
	var peaks []spectrum.Peak
	for _, p := range e.Peaks {
		share := 1.0
		if p.Share.Set {
			share = p.Share.SI
		}
		peaks = append(peaks, spectrum.Peak{CentreNM: p.At.SI, FWHMNM: p.Width.SI, RadiantShare: share})
	}
	s, err := spectrum.FromPeaks(peaks)
	if err != nil {
		t.Fatalf("%s: %v", e.ID.S, err)
	}
	return s
}

// radiantW returns the radiant power of an emitter at its test point.
func radiantW(t *testing.T, e *project.Emitter) float64 {
	t.Helper()
	if e.RadiantFlux.Set {
		return e.RadiantFlux.SI
	}
	return e.Flux.SI / spectrumOf(t, e).LERlmW()
}

// The first law, and what parts of the early 2020s reach (rule of thumb, no source).
func TestRadiantEfficiency(t *testing.T) {
	s := load(t)
	band := map[string][2]float64{
		"white-3000": {0.30, 0.52}, "white-4500": {0.30, 0.52}, "white-5700": {0.30, 0.52},
		"white-6000-pair": {0.30, 0.52}, "white-4500-trio": {0.30, 0.52},
		"white-5700-trio": {0.30, 0.52}, "white-5700-six": {0.30, 0.52},
		"royal-453": {0.45, 0.70}, "blue-473": {0.40, 0.60}, "cyan-498": {0.25, 0.45}, "green-528": {0.15, 0.35},
		"amber-591": {0.08, 0.22}, "red-633": {0.25, 0.48}, "photored-662": {0.45, 0.72}, "farred-736": {0.35, 0.65},
	}
	for _, e := range all(s.Emitters) {
		currentA := e.TestCurrent.SI
		electricalW := float64(e.DieCount()) * currentA * at(t, e.ForwardVoltage, currentA)
		eta := radiantW(t, e) / electricalW
		want, known := band[e.ID.S]
		if !known || eta >= 0.75 || eta < want[0] || eta > want[1] {
			t.Errorf("%s: radiant efficiency %.3f at the test point, want %v", e.ID.S, eta, want)
		}
		// Photons out over electrons in cannot exceed one; 96485.33 C/mol is the Faraday constant (CODATA 2018).
		photons := radiantW(t, e) * spectrumOf(t, e).PhotonUmolS(360, 830) * 1e-6
		electrons := float64(e.DieCount()) * currentA / 96485.33
		if q := photons / electrons; q < 0.08 || q > 0.8 {
			t.Errorf("%s: %.2f photons an electron at the test point; no part of this kind does that", e.ID.S, q)
		}
		t.Logf("%s: %.2f W, radiant efficiency %.3f at the test point", e.ID.S, electricalW, eta)
		for i, x := range e.FluxVsCurrent.X {
			v := at(t, e.ForwardVoltage, x)
			atX := radiantW(t, e) * e.FluxVsCurrent.Y[i] / (float64(e.DieCount()) * x * v)
			if atX >= 0.75 {
				t.Errorf("%s: radiant efficiency %.3f at %g A", e.ID.S, atX, x)
			}
		}
	}
}

func TestWhitesHaveTheColourTheyState(t *testing.T) {
	s := load(t)
	seen := map[float64]bool{}
	class := map[string]float64{
		"white-3000": 95, "white-4500": 80, "white-5700": 70, "white-6000-pair": 80, "white-4500-trio": 90,
		"white-5700-trio": 75, "white-5700-six": 70,
	}
	for _, e := range all(s.Emitters) {
		if len(e.Peaks) < 2 {
			continue
		}
		sp := spectrumOf(t, e)
		xy, ok := colour.Chromaticity(sp)
		if !ok {
			t.Fatalf("%s is dark", e.ID.S)
		}
		got := colour.CCT(xy)
		if math.Abs(got.K-e.CCT.SI) > 150 || math.Abs(got.Duv) > 0.006 {
			t.Errorf(
				"%s: %.0f K and Duv %.4f, want %.0f K ± 150 K and at most 0.006 (Duv as in ANSI C78.377, cited from "+
					"memory)",
				e.ID.S, got.K, got.Duv, e.CCT.SI,
			)
		}
		if ler := sp.LERlmW(); ler < 270 || ler > 350 {
			t.Errorf("%s: %.0f lm/W of radiation, want 270 to 350 (rule of thumb, no source)", e.ID.S, ler)
		}
		r, err := colour.RenderingIndices(sp)
		if err != nil {
			t.Fatalf("%s: %v", e.ID.S, err)
		}
		if least := class[e.ID.S]; least == 0 || r.Ra < least || r.Ra > least+6 {
			t.Errorf("%s: Ra %.1f, want the class that its name states, %g", e.ID.S, r.Ra, least)
		}
		t.Logf("%s: %.0f K, Duv %.4f, Ra %.1f, R9 %.0f, %.0f lm/W", e.ID.S, got.K, got.Duv, r.Ra, r.R[8], sp.LERlmW())
		seen[e.CCT.SI] = true
	}
	for _, k := range []float64{3000, 4500, 5700, 6000} {
		if !seen[k] {
			t.Errorf("no white of %g K", k)
		}
	}
}

// TestConfigurationsTakeTheSamePower: six dies at 1.2 A each take 6 · 1.2 A · V_F, whatever joins them: 18 V at 1.2 A,
// 9 V at 2.4 A and 6 V at 3.6 A (nominal).
func TestConfigurationsTakeTheSamePower(t *testing.T) {
	e := load(t).Emitters.Get("white-5700-six")
	dieV := at(t, e.ForwardVoltage, 1.2)
	for _, tt := range []struct {
		name     string
		currentA float64
		series   float64
	}{{"18 V", 1.2, 6}, {"9 V", 2.4, 3}, {"6 V", 3.6, 2}} {
		w, ok := e.FindDieConfiguration(tt.name)
		if !ok {
			t.Fatalf("no configuration %q", tt.name)
		}
		dieA := tt.currentA / float64(w.Parallel.N)
		if math.Abs(dieA-e.MaxForwardCurrent.SI) > 1e-12 {
			t.Errorf("%s: %g A in each die, want the maximum of %g A", tt.name, dieA, e.MaxForwardCurrent.SI)
		}
		v := float64(w.Series.N) * dieV
		if math.Abs(v-tt.series*dieV) > 1e-9 || math.Abs(v*tt.currentA-6*1.2*dieV) > 1e-9 {
			t.Errorf("%s: %.3f V and %.3f W, want %.3f V and %.3f W", tt.name, v, v*tt.currentA,
				tt.series*dieV, 6*1.2*dieV)
		}
	}
}

// TestVoltagesFitTheMaterial: one die at its test current has the voltage of its material, which is at least that of a
// photon of its peak less 10 % (1239.84 V·nm over the wavelength; CODATA 2018), and the ranges are those of usual
// datasheets (rule of thumb, no source).
func TestVoltagesFitTheMaterial(t *testing.T) {
	s := load(t)
	for id, want := range map[string]struct {
		material string
		lo, hi   float64
	}{
		"royal-453": {"InGaN", 2.6, 3.4}, "blue-473": {"InGaN", 2.6, 3.4}, "cyan-498": {"InGaN", 2.6, 3.7},
		"green-528": {"InGaN", 2.6, 3.8}, "amber-591": {"AlInGaP", 1.8, 2.7}, "red-633": {"AlInGaP", 1.8, 2.7},
		"photored-662": {"AlInGaP", 1.7, 2.6}, "farred-736": {"AlInGaP", 1.6, 2.4}, "white-3000": {"InGaN", 2.6, 3.4},
		"white-4500": {"InGaN", 2.6, 3.4}, "white-5700": {"InGaN", 2.6, 3.4}, "white-6000-pair": {"InGaN", 2.6, 3.4},
		"white-4500-trio": {"InGaN", 2.6, 3.4}, "white-5700-trio": {"InGaN", 2.6, 3.4},
		"white-5700-six": {"InGaN", 2.6, 3.4},
	} {
		e := s.Emitters.Get(id)
		if e == nil {
			t.Errorf("no %s", id)
			continue
		}
		v, photonV := at(t, e.ForwardVoltage, e.TestCurrent.SI), 1239.84/e.Peaks[0].At.SI
		if string(e.Material.S) != want.material || v < want.lo || v > want.hi || v < 0.9*photonV {
			t.Errorf("%s: %s, %g V; want %s, %g V to %g V, a photon of its peak has %.2f V", id,
				e.Material.S, v, want.material,
				want.lo, want.hi, photonV)
		}
	}
}

// TestThermalResistanceFitsThePackage: junction to solder point of the whole package, by the package, as usual
// datasheets have it (rule of thumb, no source).
func TestThermalResistanceFitsThePackage(t *testing.T) {
	usual := map[string][2]float64{"3030": {5, 25}, "3535": {1.8, 12}, "5050": {0.6, 4.5}, "7070": {0.35, 2}}
	for _, e := range all(load(t).Emitters) {
		want, known := usual[e.Package.S]
		if !known || e.Rth.SI < want[0] || e.Rth.SI > want[1] {
			t.Errorf("%s in a %s: %g K/W, want %g to %g K/W", e.ID.S, e.Package.S, e.Rth.SI, want[0], want[1])
		}
	}
}

func TestCurvesOfEmitters(t *testing.T) {
	s := load(t)
	for _, e := range all(s.Emitters) {
		id := e.ID.S
		if y := at(t, e.FluxVsCurrent, e.TestCurrent.SI); math.Abs(y-1) > 1e-9 {
			t.Errorf("%s: flux_vs_current is %g at the test current, want 1", id, y)
		}
		if y := at(t, e.FluxVsJunction, e.TestJunction.SI); math.Abs(y-1) > 1e-9 {
			t.Errorf("%s: flux_vs_junction is %g at the test temperature, want 1", id, y)
		}
		// Droop: from about a quarter of the test current InGaN gives less for each ampere; below, other losses flatten
		// the curve (the maximum of the ABC model: Shen et al., Appl. Phys. Lett. 91, 2007, 141101; cited from memory).
		// AlInGaP stays within a tenth of the line.
		for i := 1; i < len(e.FluxVsCurrent.X); i++ {
			before, here := e.FluxVsCurrent.Y[i-1]/e.FluxVsCurrent.X[i-1], e.FluxVsCurrent.Y[i]/e.FluxVsCurrent.X[i]
			if e.Material.S == project.InGaN && e.FluxVsCurrent.X[i-1] >= e.TestCurrent.SI/4 && here >= before {
				t.Errorf("%s: no droop between %g A and %g A", id, e.FluxVsCurrent.X[i-1], e.FluxVsCurrent.X[i])
			}
			if rel := here * e.TestCurrent.SI; e.Material.S == project.AlInGaP && math.Abs(rel-1) > 0.1 {
				t.Errorf("%s: %g of the line at %g A", id, rel, e.FluxVsCurrent.X[i])
			}
		}
		for i := 1; i < len(e.FluxVsJunction.X); i++ {
			if e.FluxVsJunction.Y[i] >= e.FluxVsJunction.Y[i-1] {
				t.Errorf("%s: flux does not fall above %g K", id, e.FluxVsJunction.X[i-1])
			}
		}
		top := e.ForwardVoltage.X[len(e.ForwardVoltage.X)-1]
		if flux := e.FluxVsCurrent.X[len(e.FluxVsCurrent.X)-1]; math.Abs(top-e.MaxForwardCurrent.SI) > 1e-12 ||
			math.Abs(flux-e.MaxForwardCurrent.SI) > 1e-12 {
			t.Errorf(
				"%s: its curves end at %g A and %g A, want the maximum of %g A", id, top, flux, e.MaxForwardCurrent.SI,
			)
		}
		if last := e.FluxVsJunction.X[len(e.FluxVsJunction.X)-1]; last > e.MaxJunction.SI+1e-9 {
			t.Errorf("%s: flux is given at %g K, over the maximum of the junction", id, last)
		}
		// Even if all power were heat, the derating curve keeps the junction below its maximum.
		for i, solderK := range e.Derating.X {
			currentA := e.Derating.Y[i]
			heatW := float64(e.DieCount()) * currentA * at(t, e.ForwardVoltage, currentA)
			if junctionK := solderK + e.Rth.SI*heatW; junctionK > e.MaxJunction.SI {
				t.Errorf(
					"%s: %g A at a solder point of %.0f °C heats the junction to %.0f °C", id, currentA, solderK-273.15,
					junctionK-273.15,
				)
			}
		}
	}
	const hotK = 373.15
	from25 := func(id string) float64 {
		e := s.Emitters.Get(id)
		return at(t, e.FluxVsJunction, hotK) / at(t, e.FluxVsJunction, 298.15)
	}
	for _, tt := range []struct {
		id       string
		low, top float64
	}{ // 100 °C over 25 °C; rule of thumb (no source)
		{"amber-591", 0.55, 0.60},
		{"red-633", 0.60, 0.72},
		{"photored-662", 0.75, 0.85},
		{"royal-453", 0.92, 0.97},
		{"white-5700", 0.87, 0.93},
	} {
		if r := from25(tt.id); r < tt.low || r > tt.top {
			t.Errorf("%s keeps %.3f of its light from 25 °C to 100 °C, want %g to %g", tt.id, r, tt.low, tt.top)
		}
	}
}

func TestPadsAtDifferentPotentialsExist(t *testing.T) {
	s := load(t)
	seen := map[string]bool{}
	for _, e := range all(s.Emitters) {
		seen[string(e.PadPotential.S)] = true
	}
	for _, want := range []string{"isolated", "anode", "cathode", ""} {
		if !seen[want] {
			t.Errorf("no emitter whose pad is %q", want)
		}
	}
}

// cdPerLm returns the peak intensity per lumen of light with I = I₀·exp(−ln2·(2θ/B)^p), p = ln(ln10/ln2)/ln(F/B): a
// pattern with half of its peak at B/2 and a tenth of it at F/2, computed by the midpoint rule.
func cdPerLm(beam, field float64) float64 {
	p := math.Log(math.Log(10)/math.Log(2)) / math.Log(field/beam)
	const n = 20000
	sum := 0.0
	for i := range n {
		theta := (float64(i) + 0.5) * math.Pi / 2 / n
		sum += math.Exp(-math.Ln2*math.Pow(2*theta/beam, p)) * math.Sin(theta) * math.Pi / 2 / n
	}
	return 1 / (2 * math.Pi * sum)
}

func TestLenses(t *testing.T) {
	s := load(t)
	packages := map[string]bool{}
	for _, e := range all(s.Emitters) {
		packages[e.Package.S] = false
	}
	for _, l := range all(s.Lenses) {
		for _, p := range l.Fits {
			if _, known := packages[p.S]; !known {
				t.Errorf("%s fits %q, a package that no emitter has", l.ID.S, p.S)
			}
			packages[p.S] = true
		}
		_, fit, err := intensity.FromLens(intensity.LensData{
			BeamRad: l.Beam.SI, FieldRad: l.Field.SI, PeakCdPerLm: l.Intensity.SI, Efficiency: l.Efficiency.SI,
		})
		if err != nil {
			t.Errorf("%s: %v", l.ID.S, err)
		}
		if trap := l.ID.S == "lens-22-bright"; trap != (len(fit.Notes) > 0) {
			t.Errorf("%s as %s: notes %q, want some for the trap and none for the others", l.ID.S, fit.Model, fit.Notes)
		}
		if !l.Intensity.Set {
			continue
		}
		implied := l.Intensity.SI / cdPerLm(l.Beam.SI, l.Field.SI)
		if l.ID.S == "lens-22-bright" { // the trap: more lumens out than in
			if implied <= 1.2 {
				t.Errorf("%s would need an efficiency of %.2f, want a trap well over 1", l.ID.S, implied)
			}
			continue
		}
		if math.Abs(implied-l.Efficiency.SI) > 0.02 {
			t.Errorf(
				"%s: its peak intensity implies an efficiency of %.3f, and it states %.3f", l.ID.S, implied,
				l.Efficiency.SI,
			)
		}
	}
	for p, fits := range packages {
		if !fits {
			t.Errorf("no lens fits package %q", p)
		}
	}
}

func TestBoards(t *testing.T) {
	s := load(t)
	paths, bases := map[string]bool{}, map[string]bool{}
	for _, b := range all(s.Boards) {
		paths[string(b.ThermalPath.S)], bases[string(b.Base.S)] = true, true
		c := b.PriceByThickness
		for i := 1; i < len(c.X); i++ {
			if c.Y[i] <= c.Y[i-1] {
				t.Errorf("%s: %g m is not dearer than %g m", b.ID.S, c.X[i], c.X[i-1])
			}
		}
	}
	for _, p := range []string{"dielectric", "direct", "vias"} {
		if !paths[p] {
			t.Errorf("no board sends its heat by %q", p)
		}
	}
	for _, b := range []string{"aluminium", "copper", "FR4"} {
		if !bases[b] {
			t.Errorf("no board of %s", b)
		}
	}
	// Rule of thumb (no source): the usual board is 2 mm aluminium with 2 W/(m·K).
	usual := s.Boards.Get("aluminium-2w")
	if !slices.ContainsFunc(usual.PriceByThickness.X, func(x float64) bool { return math.Abs(x-2e-3) < 1e-9 }) ||
		math.Abs(usual.DielectricK.SI-2) > 1e-12 {
		t.Error("aluminium-2w is not made in 2 mm with 2 W/(m·K)")
	}
	// Vias by area: a barrel of 0.3 mm with 25 µm of copper (385 W/(m·K)) in each 0.8 mm square, FR4 (0.29) between.
	const share = math.Pi * (0.15*0.15 - 0.125*0.125) / (0.8 * 0.8)
	if want, got := share*385+(1-share)*0.29, s.Boards.Get("fr4-vias").ViaK.SI; math.Abs(got-want) > 0.5 {
		t.Errorf("fr4-vias conducts %.2f W/(m·K) through its vias, want %.2f", got, want)
	}
}

func TestSinks(t *testing.T) {
	for _, h := range all(load(t).Sinks) {
		id := h.ID.S
		if f := h.Fins; f != nil {
			kg := 2700 * h.Base.Length.SI *
				(h.Base.Width.SI*h.BaseThickness.SI + float64(f.Count.N)*f.Height.SI*f.Thickness.SI)
			if math.Abs(h.Mass.SI/kg-1) > 0.02 {
				t.Errorf("%s weighs %.3f kg, and its metal %.3f kg", id, h.Mass.SI, kg)
			}
		}
		for _, c := range []source.Curve{h.Natural, h.Forced} {
			for i := 1; i < len(c.Y); i++ {
				if c.Y[i] >= c.Y[i-1] {
					t.Errorf("%s: its resistance does not fall above %g", id, c.X[i-1])
				}
			}
		}
		// Free convection grows with about the fourth root of the rise: R falls with the power −0.25 to −0.15 of the
		// heat.
		if n := len(h.Natural.Y) - 1; h.Natural.Set {
			slope := math.Log(h.Natural.Y[n]/h.Natural.Y[0]) / math.Log(h.Natural.X[n]/h.Natural.X[0])
			if slope < -0.25 || slope > -0.15 {
				t.Errorf("%s: resistance goes as the power %.2f of the heat", id, slope)
			}
		}
	}
}

func TestFans(t *testing.T) {
	for _, f := range all(load(t).Fans) {
		id, c := f.ID.S, f.Curve
		n := len(c.Y) - 1
		if c.X[0] != 0 || c.Y[n] != 0 {
			t.Errorf("%s: its curve does not go from no flow to no pressure", id)
		}
		best := 0.0
		for i := range c.Y {
			if i > 0 && c.Y[i] >= c.Y[i-1] {
				t.Errorf("%s: its pressure does not fall at %g m³/s", id, c.X[i])
			}
			best = math.Max(best, c.X[i]*c.Y[i])
		}
		// An axial rotor's shut-off pressure is below the dynamic pressure of its tips, and air gets less than the
		// motor takes.
		tip := math.Pi * 0.94 * f.Frame.SI * f.Speed.SI
		if limit := 0.5 * 1.2 * tip * tip; c.Y[0] > limit || c.Y[0] < 0.2*limit {
			t.Errorf(
				"%s: %.0f Pa at no flow with tips at %.1f m/s, whose dynamic pressure is %.0f Pa", id, c.Y[0], tip,
				limit,
			)
		}
		if best > 0.4*f.Power.SI {
			t.Errorf("%s: the air gets %.2f W of %.2f W", id, best, f.Power.SI)
		}
		if f.MinSpeed.SI >= f.Speed.SI {
			t.Errorf("%s: its least speed is not below its rated speed", id)
		}
	}
}

func TestDriversAndSupplies(t *testing.T) {
	s := load(t)
	kinds := map[string]int{}
	for _, d := range all(s.Drivers) {
		kinds[string(d.Kind.S)]++
		if full := d.OutputMax.SI * d.CurrentMax.SI; d.MaxPower.SI > full*(1+1e-9) {
			t.Errorf(
				"%s: its largest power of %g W exceeds its largest voltage times current, %g W", d.ID.S, d.MaxPower.SI,
				full,
			)
		}
		switch d.Kind.S {
		case project.DriverBuck, project.DriverLinear:
			if d.OutputMax.SI+d.Headroom.SI > d.InputMax.SI {
				t.Errorf("%s: no input gives its largest output", d.ID.S)
			}
		default:
			if d.OpenCircuitVoltage.SI <= d.OutputMax.SI {
				t.Errorf("%s: with no string on it, its output must rise over %g V", d.ID.S, d.OutputMax.SI)
			}
		}
	}
	if kinds["ac"] < 2 || kinds["buck"] < 2 || kinds["boost"] < 1 || kinds["linear"] < 1 {
		t.Errorf("drivers by kind: %v", kinds)
	}
	for _, u := range all(s.Supplies) {
		if rated := u.Power.SI / u.Voltage.SI; u.OverloadCurrent.Set &&
			(u.OverloadCurrent.Lo < 1.05*rated || u.OverloadCurrent.Hi > 1.55*rated) {
			t.Errorf("%s: it gives up at %g A to %g A; of its rated %g A 1.05 to 1.5 times are usual (rule of thumb)", u.ID.S, u.OverloadCurrent.Lo, u.OverloadCurrent.Hi, rated)
		}
		if u.Inrush.Set && (u.Inrush.SI < 15 || u.Inrush.SI > 70) {
			t.Errorf("%s: its inrush of %g A is not one of 15 A to 70 A (rule of thumb)", u.ID.S, u.Inrush.SI)
		}
		c := u.Efficiency
		n := len(c.X) - 1
		if c.X[0] > 0.2 || math.Abs(c.X[n]-1) > 1e-12 || c.Y[0] >= c.Y[n] {
			t.Errorf("%s: its efficiency must be given from small to full load and be worse at small load", u.ID.S)
		}
	}
}

// ASTM B258: d = 0.127 mm · 92^((36−n)/39); IEC 60028: 1/58 Ω·mm²/m at 20 °C. The datasheet rounds to three figures.
func TestWiresFollowTheStandard(t *testing.T) {
	s := load(t)
	for id, gauge := range map[string]float64{"awg24": 24, "awg22": 22, "awg20": 20, "awg18": 18, "awg16": 16} {
		mm := 0.127 * math.Pow(92, (36-gauge)/39)
		ohmPerM := 1 / 58.0 / (math.Pi * mm * mm / 4)
		if got := s.Wires.Get(id).Resistance.SI; math.Abs(got/ohmPerM-1) > 0.003 {
			t.Errorf("%s: %.5f Ω/m, want %.5f", id, got, ohmPerM)
		}
	}
}

// Melting ranges: NIST solder database (Siewert, Liu, Smith and Madeni, 2002), cited from memory.
func TestSoldersMeltWherePublished(t *testing.T) {
	s := load(t)
	for id, want := range map[string][2]float64{
		"sac305": {217, 220}, "snbi58": {138, 138}, "sn63pb37": {183, 183}, "sn60pb40": {183, 191}, "sn965ag35": {221, 221},
	} {
		a := s.Solders.Get(id)
		if solidus, liquidus := a.Solidus.SI-273.15, a.Liquidus.SI-273.15; math.Abs(solidus-want[0]) > 1e-6 ||
			math.Abs(liquidus-want[1]) > 1e-6 {
			t.Errorf("%s melts from %.1f °C to %.1f °C, want %g °C to %g °C", id, solidus, liquidus, want[0], want[1])
		}
	}
}
