package project

import (
	"fmt"
	"math"
	"regexp"
	"slices"

	"lampwright/internal/drive"
	"lampwright/internal/source"
	"lampwright/internal/spectrum"
)

// The problems methods find what no single value shows: values of one part that cannot both be true.

func (e *Emitter) problems() (out []complaint) {
	if e.Flux.Set == e.RadiantFlux.Set {
		out = append(out, complaint{
			e.ID.At, fmt.Sprintf("emitter %q must state one of flux and radiant_flux", e.ID.S),
			"take the one its datasheet gives",
		})
	}
	given := 0
	for _, set := range []bool{len(e.Peaks) > 0, e.Spectrum.Set && !e.fromFile, e.SpectrumFile.Set} {
		if set {
			given++
		}
	}
	if given != 1 {
		out = append(out, complaint{
			e.ID.At, fmt.Sprintf("emitter %q must have one of peaks, spectrum and spectrum_file", e.ID.S),
			"read the peaks or the curve off its datasheet",
		})
	}
	if e.SpectrumColumn.Set && !e.SpectrumFile.Given() {
		out = append(
			out, complaint{e.SpectrumColumn.At, "spectrum_column names a column of no file", "add spectrum_file"},
		)
	}
	out = append(out, e.spectrumProblems()...)
	out = append(out, e.curveProblems()...)
	out = append(out, e.driftProblems()...)
	if t := e.CycleTest; t != nil && t.Low.Set && t.High.Set && t.High.SI <= t.Low.SI {
		out = append(out, complaint{
			t.High.At, "the hottest of the cycle test is not above its coldest",
			"check low and high",
		})
	}
	out = append(out, e.lumenProblems()...)
	out = append(out, e.dieProblems()...)
	out = append(out, e.surfaceProblems()...)
	return append(out, e.IntensityDistribution.problems()...)
}

// spectrumProblems checks that the spectrum is light, and fits the flux.
func (e *Emitter) spectrumProblems() (out []complaint) {
	if s, at, err := e.light(); at.File != "" {
		switch {
		case err != nil:
			out = append(out, complaint{
				at, fmt.Sprintf("the spectrum of emitter %q cannot be: %v", e.ID.S, err),
				"read it off its datasheet once more",
			})
		case !(s.RadiantW() > 0):
			out = append(out, complaint{
				at, fmt.Sprintf("the spectrum of emitter %q is dark", e.ID.S),
				"read it off its datasheet once more",
			})
		case e.Flux.Set && s.LuminousLm() < leastLmW*s.RadiantW():
			out = append(out, complaint{
				e.Flux.At,
				fmt.Sprintf(
					"emitter %q states lumens, but its spectrum gives %.2g lm/W: hardly any eye sees it", e.ID.S,
					s.LuminousLm()/s.RadiantW(),
				),
				"state its watts of light as radiant_flux, or look at the wavelengths of its spectrum",
			})
		}
	}
	if sum := e.peakShares(); len(e.Peaks) > 0 && math.Abs(sum-1) > 0.005 {
		out = append(out, complaint{
			e.Peaks[0].At.At, fmt.Sprintf("the shares of the peaks of %q sum to %.1f %%", e.ID.S, 100*sum),
			"they are shares of the radiant power and sum to 100 %",
		})
	}
	return out
}

// curveProblems checks the curves against current and junction temperature.
func (e *Emitter) curveProblems() (out []complaint) {
	for i, v := range e.ForwardVoltage.Y {
		if i > 0 && v <= e.ForwardVoltage.Y[i-1] {
			out = append(
				out, complaint{e.ForwardVoltage.At, "forward_voltage must rise with current", "check the points"},
			)
			break
		}
	}
	for _, c := range []struct {
		name string
		of   source.Curve
		test source.Value
		at   string
	}{
		{"flux_vs_current", e.FluxVsCurrent, e.TestCurrent, "test_current"},
		{"flux_vs_junction", e.FluxVsJunction, e.TestJunction, "test_junction"},
	} {
		if !c.of.Set {
			continue
		}
		if slices.Min(c.of.Y) < 0 {
			out = append(out, complaint{c.of.At, c.name + " falls below zero", "check the points"})
		} else if c.test.Set && !(straight(c.of, c.test.SI) > 0) {
			out = append(out, complaint{
				c.of.At, fmt.Sprintf("%s gives no light at %s, to which all of it is relative", c.name, c.at),
				"check the points and " + c.at,
			})
		}
	}
	return out
}

// surfaceProblems checks the light-emitting surface.
func (e *Emitter) surfaceProblems() (out []complaint) {
	s, b := &e.LightEmittingSurface, &e.Body
	switch {
	case s.Length.Set != s.Width.Set:
		out = append(out, complaint{
			s.At(), fmt.Sprintf("light_emitting_surface of emitter %q needs length and width", e.ID.S),
			"state both sides; a round one is 0.89 of its diameter in both",
		})
	case s.Stated() && b.Stated() && s.Length.SI*s.Width.SI > b.Length.SI*b.Width.SI:
		out = append(out, complaint{
			s.At(), fmt.Sprintf("light_emitting_surface of emitter %q is larger than its body", e.ID.S),
			"state the rectangle that emits light, in mm",
		})
	}
	return out
}

// dieProblems checks the die configurations.
func (e *Emitter) dieProblems() (out []complaint) {
	names := map[string]bool{}
	for _, w := range e.DieConfigurations {
		if w.Series.Set && w.Parallel.Set && w.Series.N*w.Parallel.N != e.DieCount() {
			out = append(out, complaint{
				w.Name.At,
				fmt.Sprintf(
					"die configuration %q has %d × %d dies, but the package has %d", w.Name.S, w.Series.N,
					w.Parallel.N, e.DieCount(),
				),
				"series times parallel is the number of dies",
			})
		}
		if names[w.Name.S] {
			out = append(out, complaint{w.Name.At, fmt.Sprintf("die configuration %q is given twice", w.Name.S), ""})
		}
		names[w.Name.S] = true
	}
	return out
}

// driftProblems looks at how a part states what current does to its colour: in one way, by curves that hold the test
// point.
func (e *Emitter) driftProblems() (out []complaint) {
	var stated []string
	for _, c := range []struct {
		name string
		of   source.Curve
	}{
		{"peak_vs_current", e.PeakVsCurrent},
		{"dominant_vs_current", e.DominantVsCurrent},
		{"cie_x_vs_current", e.XVsCurrent},
		{"cie_y_vs_current", e.YVsCurrent},
		{"cct_vs_current", e.CCTVsCurrent},
	} {
		if !c.of.Set {
			continue
		}
		if c.name != "cie_y_vs_current" || !e.XVsCurrent.Set {
			stated = append(stated, c.name)
		}
		if len(stated) > 1 {
			out = append(out, complaint{
				c.of.At, fmt.Sprintf("emitter %q states both %s and %s", e.ID.S, stated[0], c.name),
				"keep one way to say how its colour moves with current",
			})
			return out
		}
		if n := len(c.of.X); e.TestCurrent.Set &&
			(e.TestCurrent.SI < c.of.X[0]*(1-1e-9) || e.TestCurrent.SI > c.of.X[n-1]*(1+1e-9)) {
			out = append(out, complaint{c.of.At, fmt.Sprintf(
				"%s does not reach test_current, from which it counts", c.name,
			), "add a point at test_current; there the spectrum is the one stated"})
		}
	}
	if e.XVsCurrent.Set != e.YVsCurrent.Set {
		at := e.XVsCurrent.At
		if e.YVsCurrent.Set {
			at = e.YVsCurrent.At
		}
		out = append(out, complaint{at, fmt.Sprintf(
			"emitter %q states one of cie_x_vs_current and cie_y_vs_current", e.ID.S,
		), "a colour has both; give cct_vs_current where the datasheet has only that"})
	}
	return out
}

// leastLmW is the luminous efficacy of radiation below which no datasheet states lumens [lm/W]: that of about 750 nm
// (CIE 018). Far red of 730 nm has four times as much.
const leastLmW = 0.1

// light returns the spectrum of an emitter to a factor, and where it is: nowhere, if there is none to be had, of which
// others complain.
func (e *Emitter) light() (s spectrum.Spectrum, at source.Pos, err error) {
	switch {
	case e.Spectrum.Set && len(e.Spectrum.X) > 0:
		at = e.Spectrum.At
		s, err = spectrum.FromTable(e.Spectrum.X, e.Spectrum.Y)
	case len(e.Peaks) > 0:
		at = e.Peaks[0].At.At
		var peaks []spectrum.Peak
		for _, p := range e.Peaks {
			share := 1.0
			if p.Share.Set {
				share = p.Share.SI
			}
			if !p.At.Set || !p.Width.Set {
				return s, source.Pos{}, nil
			}
			peaks = append(peaks, spectrum.Peak{CentreNM: p.At.SI, FWHMNM: p.Width.SI, RadiantShare: share})
		}
		s, err = spectrum.FromPeaks(peaks)
	}
	return s, at, err
}

// straight returns a curve's value at x on straight lines between its points, and on from the outer ones.
func straight(c source.Curve, x float64) float64 {
	if len(c.X) == 1 {
		return c.Y[0]
	}
	i := 1
	for i < len(c.X)-1 && x > c.X[i] {
		i++
	}
	return c.Y[i-1] + (c.Y[i]-c.Y[i-1])*(x-c.X[i-1])/(c.X[i]-c.X[i-1])
}

// peakShares returns the sum of the shares; a peak without a share takes all.
func (e *Emitter) peakShares() (sum float64) {
	for _, p := range e.Peaks {
		if !p.Share.Set {
			sum++
			continue
		}
		sum += p.Share.SI
	}
	return sum
}

// DieCount returns the dies in the package; 1 where the datasheet does not say.
func (e *Emitter) DieCount() int {
	if e.Dies.Set {
		return e.Dies.N
	}
	return 1
}

// FindWiring returns the wiring of that name, or the first where the name is empty; a package that lists none has its
// dies in series.
func (e *Emitter) FindDieConfiguration(name string) (w DieConfiguration, ok bool) {
	if len(e.DieConfigurations) == 0 && name == "" {
		w.Series.N, w.Parallel.N = e.DieCount(), 1
		return w, true
	}
	for _, w := range e.DieConfigurations {
		if name == "" || w.Name.S == name {
			return w, true
		}
	}
	return DieConfiguration{}, false
}

func (l *Lens) problems() (out []complaint) {
	if l.Field.Set && l.Beam.Set && l.Field.SI <= l.Beam.SI {
		out = append(out, complaint{
			l.Field.At, "field_angle must be larger than beam_angle",
			"the field angle is taken at a tenth, the beam angle at half of the largest intensity",
		})
	}
	if unsaid := (source.Pos{}); l.ID.Set && l.Beam.At == unsaid && l.Table.At == unsaid && l.FileName.At == unsaid {
		out = append(out, complaint{
			l.ID.At, fmt.Sprintf("lens %q says nothing of its beam", l.ID.S),
			"add beam_angle: 60 deg (full angle at half of the largest intensity), or intensity_vs_angle, or " +
				"photometry_file",
		})
	}
	return append(out, l.IntensityDistribution.problems()...)
}

func (b *Stackup) problems() (out []complaint) {
	switch b.ThermalPath.S {
	case PathDielectric:
		if !b.Dielectric.Given() || !b.DielectricK.Given() {
			out = append(out, complaint{
				b.ThermalPath.At,
				fmt.Sprintf(
					"board %q sends its heat through a dielectric, and does not state its thickness and "+
						"conductivity",
					b.ID.S,
				),
				"add dielectric_thickness and dielectric_conductivity",
			})
		}
	case PathVias:
		if !b.ViaK.Given() {
			out = append(out, complaint{
				b.ThermalPath.At,
				fmt.Sprintf("board %q sends its heat through vias, and does not state via_conductivity", b.ID.S),
				"add via_conductivity, such as 15 W/(m·K)",
			})
		}
	}
	for i, p := range b.PriceByThickness.Y {
		if p < 0 || b.PriceByThickness.X[i] <= 0 {
			out = append(out, complaint{
				b.PriceByThickness.At, "price_by_thickness contains a thickness or a price that is not above zero",
				"",
			})
			break
		}
	}
	return out
}

func (s *Sink) problems() (out []complaint) {
	if s.Fins == nil && s.Pins == nil && !s.Natural.Given() && !s.Forced.Given() {
		out = append(out, complaint{
			s.ID.At, fmt.Sprintf("sink %q has neither fins nor pins nor a curve", s.ID.S),
			"add fins, or resistance_vs_power from its datasheet",
		})
	}
	if s.Fins != nil && s.Pins != nil {
		out = append(out, complaint{s.ID.At, fmt.Sprintf("sink %q has fins and pins", s.ID.S), "give one of them"})
	}
	out = append(out, s.pinProblems()...)
	if s.ID.Set && (!s.Base.Length.Given() || !s.Base.Width.Given()) {
		out = append(out, complaint{
			s.ID.At, fmt.Sprintf("sink %q does not state length and width of its base", s.ID.S),
			"add base: {length: 100 mm, width: 100 mm}",
		})
	}
	out = append(out, s.finProblems()...)
	for _, c := range []source.Curve{s.Natural, s.Forced} {
		if len(c.X) > 0 && c.X[0] < 0 {
			out = append(out, complaint{c.At, "power and air speed must not be below zero", "check the points"})
		}
		for _, r := range c.Y {
			if r <= 0 {
				out = append(out, complaint{c.At, "a thermal resistance must be above zero", ""})
				break
			}
		}
	}
	return out
}

// metalProblems checks that a sink that is given by its pins or fins states what its metal needs.
func (s *Sink) metalProblems(by string) []complaint {
	if s.Conductivity.Set && s.Emissivity.Set && s.BaseThickness.Set {
		return nil
	}
	return []complaint{{
		s.ID.At, fmt.Sprintf("sink %q is given by its %s and needs conductivity, emissivity and base_thickness",
			s.ID.S, by), "",
	}}
}

// pinProblems checks the pins of a sink that has them.
func (s *Sink) pinProblems() (out []complaint) {
	if p := s.Pins; p != nil {
		if p.Diameter.Set &&
			(p.TransversePitch.Set && p.TransversePitch.SI <= p.Diameter.SI || p.LongitudinalPitch.Set &&
				p.LongitudinalPitch.SI <= p.Diameter.SI) {
			out = append(out, complaint{p.Diameter.At, "the pins are as wide as their pitch, and leave no gap", ""})
		}
		out = append(out, s.metalProblems("pins")...)
	}
	return out
}

// finProblems checks the fins of a sink that has them.
func (s *Sink) finProblems() (out []complaint) {
	if f := s.Fins; f != nil {
		if f.Count.Set && f.Thickness.Set && s.Base.Width.Set && float64(f.Count.N)*f.Thickness.SI >= s.Base.Width.SI {
			out = append(out, complaint{
				f.Count.At,
				fmt.Sprintf(
					"%d fins of %.3g mm do not leave gaps on a base %.3g mm wide", f.Count.N, 1e3*f.Thickness.SI,
					1e3*s.Base.Width.SI,
				),
				"the fins stand side by side across the width",
			})
		}
		out = append(out, s.metalProblems("fins")...)
	}
	return out
}

func (f *Fan) problems() (out []complaint) {
	y := f.Curve.Y
	if len(y) > 0 && (f.Curve.X[0] < 0 || slices.Min(y) < 0) {
		out = append(
			out, complaint{f.Curve.At, "flow and pressure of a fan must not be below zero", "check the points"},
		)
	}
	if n := len(y); n >= 2 && y[n-1] >= y[0] {
		out = append(out, complaint{
			f.Curve.At, "the pressure of a fan must fall with flow",
			"pressure_vs_flow goes from the largest pressure at no flow to none at the largest flow",
		})
	}
	return out
}

func (d *Driver) problems() (out []complaint) {
	if d.OutputMin.Set && d.OutputMax.Set && d.OutputMin.SI >= d.OutputMax.SI {
		out = append(out, complaint{d.OutputMin.At, "output_min must be below output_max", ""})
	}
	if d.InputMin.Set && d.InputMax.Set && d.InputMin.SI >= d.InputMax.SI {
		out = append(out, complaint{d.InputMin.At, "input_min must be below input_max", ""})
	}
	if d.CurrentMin.Set && d.CurrentMax.Set && d.CurrentMin.SI > d.CurrentMax.SI {
		out = append(out, complaint{d.CurrentMin.At, "current_min must not be above current_max", ""})
	}
	out = append(out, d.inputProblems()...)
	out = append(out, d.DimmingInput.problems()...)
	return append(out, d.MainsSide.problems()...)
}

// FullW returns the output power of a driver at full load [W]: the rated one, or that of its largest voltage and current.
func (d *Driver) FullW() float64 {
	if d.MaxPower.Set {
		return d.MaxPower.SI
	}
	return d.OutputMax.SI * d.CurrentMax.SI
}

// inputProblems compares what a driver states of its input power.
func (d *Driver) inputProblems() (out []complaint) {
	curve := d.EfficiencyCurve
	if curve.Set && d.Efficiency.Set {
		out = append(out, complaint{curve.At, "efficiency and efficiency_vs_load are both given", "remove efficiency"})
	}
	if curve.Set && !d.MaxPower.Given() {
		out = append(out, complaint{
			curve.At, "efficiency_vs_load is a fraction of a rated power that is not given", "add max_power, such as 50 W",
		})
	}
	if d.NoLoadPower.Set && d.NoLoadPower.SI < d.StandbyPower.SI {
		out = append(out, complaint{
			d.NoLoadPower.At, "no_load_power is below standby_power",
			"a driver in operation takes at least its input power with the light off",
		})
	}
	line := drive.InputLine{
		NoLoadW: max(d.NoLoadPower.SI, d.StandbyPower.SI), FullW: d.FullW(), Load: curve.X, Efficiency: curve.Y,
	}
	if d.Efficiency.Set {
		line.Load, line.Efficiency = []float64{1}, []float64{d.Efficiency.SI}
	}
	at := d.Efficiency.At
	if curve.Set {
		at = curve.At
	}
	return append(out, efficiencyProblems(line, at)...)
}

// efficiencyProblems reports efficiencies that no converter has.
func efficiencyProblems(line drive.InputLine, at source.Pos) []complaint {
	for _, e := range line.Efficiency {
		if e <= 0 || e > 1 {
			return []complaint{{at, "an efficiency lies above 0 % and not above 100 %", ""}}
		}
	}
	if err := line.Check(); err != nil {
		return []complaint{{at, err.Error(), "check efficiency, no-load and standby power against the datasheet"}}
	}
	return nil
}

// ipCode is how IEC 60529 writes a degree of protection.
var ipCode = regexp.MustCompile(`^IP[0-6X][0-9X][A-Z]*$`)

// ipProblems complains of a text that is no IP code.
func ipProblems(ip source.Text) []complaint {
	if !ip.Set || ipCode.MatchString(ip.S) {
		return nil
	}
	return []complaint{{
		ip.At, fmt.Sprintf("%q is no IP code", ip.S), "it is IP and two digits or X, such as IP20 or IPX4",
	}}
}

// splashOf returns the second digit of an IP code, how much water it keeps out; 0 where it says X or nothing.
func splashOf(ip source.Text) int {
	if ip.Set && ip.S[3] != 'X' {
		return int(ip.S[3] - '0')
	}
	return 0
}

func (m *MainsSide) problems() (out []complaint) {
	out = ipProblems(m.IP)
	if m.InrushTime.Set && !m.Inrush.Given() {
		out = append(
			out,
			complaint{m.InrushTime.At, "inrush_time is of an inrush that is not given", "add inrush, such as 45 A"},
		)
	}
	return out
}

// Splash returns the second digit of the IP code, how much water it keeps out; 0 where it says X or nothing.
func (m *MainsSide) Splash() int { return splashOf(m.IP) }

func (s *Supply) problems() (out []complaint) {
	out = append(out, efficiencyProblems(drive.InputLine{
		NoLoadW: s.StandbyPower.SI, FullW: s.Power.SI, Load: s.Efficiency.X, Efficiency: s.Efficiency.Y,
	}, s.Efficiency.At)...)
	if s.OverloadCurrent.Set && s.OverloadCurrent.Hi < s.Power.SI/s.Voltage.SI*(1-1e-9) {
		out = append(out, complaint{
			s.OverloadCurrent.At, "overload_current lies below the rated current",
			"its rated power over its voltage must flow without an overload",
		})
	}
	return append(out, s.MainsSide.problems()...)
}

func (w *Wire) problems() (out []complaint) {
	if w.MaxCurrentAmbient.Set && w.InsulationRating.Set && w.MaxCurrentAmbient.SI >= w.InsulationRating.SI {
		out = append(
			out,
			complaint{w.MaxCurrentAmbient.At, "max_current_ambient must be below insulation_temperature_rating", ""},
		)
	}
	return out
}

func (i *ThermalInterface) problems() (out []complaint) {
	byBulk := i.Conductivity.Set && i.Thickness.Set
	if byBulk == i.ThermalImpedance.Set {
		out = append(out, complaint{
			i.ID.At,
			fmt.Sprintf("thermal interface %q must state conductivity and thickness, or thermal_impedance", i.ID.S),
			"",
		})
	}
	return out
}

func (s *Solder) problems() (out []complaint) {
	if s.Solidus.Set && s.Liquidus.Set && s.Solidus.SI > s.Liquidus.SI {
		out = append(out, complaint{s.Solidus.At, "solidus must not be above liquidus", ""})
	}
	return out
}

func (s *Sensor) problems() (out []complaint) {
	for i, r := range s.Table.Y {
		if r <= 0 || i > 0 && r >= s.Table.Y[i-1] {
			out = append(out, complaint{
				s.Table.At, "the resistance of this sensor must fall with temperature",
				"it is a thermistor with a negative temperature coefficient",
			})
			break
		}
	}
	return out
}
