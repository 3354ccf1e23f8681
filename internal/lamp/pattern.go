package lamp

import (
	"fmt"
	"math"

	"lampwright/internal/intensity"
	"lampwright/internal/project"
)

// measured returns a measured intensity distribution, and its origin.
func measured(f *project.IntensityDistribution) (intensity.Distribution, string, error) {
	if f.File != nil {
		p, err := f.File.Distribution()
		return p, "measured, file " + f.FileName.S, err
	}
	p, err := intensity.FromTable(f.Table.X, nil, [][]float64{f.Table.Y})
	return p, "measured table", err
}

// LensOptic returns the intensity distribution of a lens: measured, or fitted to the values of its datasheet.
func (l *Lamp) LensOptic(lens *project.Lens) (Optic, error) {
	o := Optic{Lens: lens, Efficiency: AssumedLens.Used, BeamRad: lens.Beam.SI}
	if lens.Efficiency.Set {
		o.Efficiency, o.EfficiencyFrom = lens.Efficiency.SI, DatasheetOf(lens.Datasheet, "lens", lens.ID.S)
	}
	if !lens.Measured() {
		p, fit, err := l.fitLens(lensData(lens))
		o.Pattern, o.Model, o.Notes = p, fit.Model, fit.Notes
		return o, err
	}
	p, model, err := measured(&lens.IntensityDistribution)
	if err != nil {
		return o, err
	}
	beam := intensity.BeamOf(p)
	o.Pattern, o.Model, o.BeamRad = p, model, beam.BeamRad
	if f := lens.File; f != nil {
		o.Notes = append(o.Notes, f.Warnings...)
		if lumens := float64(f.Lamps) * f.LumensPerLamp; !f.Absolute() && lumens > 0 {
			if eta := f.FluxLm() / lumens; eta > 0 && eta <= 1 && o.EfficiencyFrom == "" {
				o.Efficiency, o.EfficiencyFrom = eta,
					fmt.Sprintf("lens %s, file %s: luminaire flux / lamp flux", lens.ID.S, lens.FileName.S)
			} else if math.Abs(eta/o.Efficiency-1) > 0.05 {
				o.Notes = append(o.Notes,
					fmt.Sprintf("inconsistent data: luminaire flux / lamp flux of the file is %.2f, stated "+
						"efficiency %.2f", eta, o.Efficiency))
			}
		}
	}
	o.Notes = append(o.Notes, inconsistencies(lens, p, beam)...)
	return o, nil
}

// inconsistencies compares the datasheet of a lens with its measured intensity distribution.
func inconsistencies(lens *project.Lens, p intensity.Distribution, beam intensity.Beam) (out []string) {
	for _, a := range []struct {
		what         string
		stated, have float64
	}{{"beam angle", lens.Beam.SI, beam.BeamRad}, {"field angle", lens.Field.SI, beam.FieldRad}} {
		// Datasheets round angles to whole degrees, and lenses of one type differ by about 10 %; rule of thumb (no
		// source).
		if a.stated > 0 && math.Abs(a.have/a.stated-1) > 0.1 {
			out = append(out, fmt.Sprintf("inconsistent data: %s stated %.0f°, measured %.0f°", a.what,
				Degrees(a.stated), Degrees(a.have)))
		}
	}
	if lens.Intensity.Set && lens.Efficiency.Set {
		if eta := lens.Intensity.SI / intensity.PeakPerFlux(p); math.Abs(eta/lens.Efficiency.SI-1) > 0.05 {
			out = append(out, fmt.Sprintf("inconsistent data: %.3g cd/lm with the measured distribution means an "+
				"efficiency of %.2f, stated %.2f", lens.Intensity.SI, eta, lens.Efficiency.SI))
		}
	}
	if up := intensity.ZonalFractions(p, []float64{math.Pi / 2, math.Pi})[0]; up > 0.02 {
		out = append(out, fmt.Sprintf("%.0f %% of the measured light is beyond 90° from the optical axis: check the "+
			"orientation of the file", 100*up))
	}
	return out
}

// Degrees converts an angle from radians.
func Degrees(rad float64) float64 { return rad * 180 / math.Pi }
