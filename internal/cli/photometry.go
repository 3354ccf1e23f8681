package cli

import (
	"fmt"
	"path/filepath"
	"strings"

	"lampwright/internal/atomicfile"
	"lampwright/internal/inputfile"
	"lampwright/internal/photometry"
	"lampwright/internal/quantity"
	"lampwright/internal/study"
)

type photometryCmd struct {
	Path   string `arg:"" optional:"" default:"." help:"Project folder, design file, or LM-63 file (.ies) to inspect."`
	Output string `short:"o" placeholder:"FILE" help:"LM-63 file to write; - for standard output."`
	Date   string `default:"not stated" help:"Issue date in the file."`
	JSON   bool   `name:"json" help:"Print as JSON."`

	Calibrated bool `help:"Use the parameters that were learned from readings (calibration.yaml)."`
}

// Run prints a luminous intensity distribution, and writes that of a lamp.
func (c *photometryCmd) Run(r *run) error {
	if strings.EqualFold(filepath.Ext(c.Path), ".ies") {
		if c.Output != "" {
			return fmt.Errorf("%s is an LM-63 file; -o exports the distribution of a project", c.Path)
		}
		data, err := inputfile.ReadPath(c.Path, photometry.MaxBytes)
		if err != nil {
			return fmt.Errorf("read %s: %s", c.Path, inputfile.Reason(err))
		}
		f, err := photometry.Read(data)
		if err != nil {
			return r.unreadable(c.Path, err)
		}
		return c.show(r, filepath.Base(c.Path), f)
	}
	result, err := r.evaluate(c.Path)
	if err != nil {
		return err
	}
	rep := study.Photometry(result)
	rep.Keywords = []photometry.Keyword{
		{Key: "TEST", Value: "computed by lampwright, not measured"},
		{Key: "TESTLAB", Value: "none"},
		{Key: "ISSUEDATE", Value: c.Date},
		{Key: "MANUFAC", Value: "none"},
		{Key: "LUMINAIRE", Value: result.Name},
		{Key: "OTHER", Value: "typical ambient temperature, all channels at their level; mains input power"},
	}
	data, err := photometry.Write(rep)
	if err != nil {
		return fmt.Errorf("write intensity distribution: %w", err)
	}
	f, err := photometry.Read(data)
	if err != nil {
		return fmt.Errorf("check the written intensity distribution: %w", err)
	}
	switch c.Output {
	case "":
		return c.show(r, result.Name, f)
	case "-":
		_, err := r.out.Write(data)
		return err
	}
	if err := atomicfile.Save(c.Output, data); err != nil {
		return err
	}
	r.println(fmt.Sprintf("wrote %s: %s; lamp %s", c.Output, quantity.Format(f.FluxLm(), quantity.Flux), quantity.Format(result.Value("lamp.flux"), quantity.Flux)))
	return nil
}

func (c *photometryCmd) show(r *run, name string, f *photometry.File) error {
	z, err := study.ZonesOf(f)
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	if c.JSON {
		return writeJSON(r, struct {
			Name string `json:"name"`
			study.Zones
			InputW   float64  `json:"input_w"`
			Absolute bool     `json:"absolute"`
			Warnings []string `json:"warnings,omitempty"`
		}{name, z, f.InputW, f.Absolute(), f.Warnings})
	}
	kind := "relative to " + quantity.Format(float64(f.Lamps)*f.LumensPerLamp, quantity.Flux)
	if f.Absolute() {
		kind = "absolute"
	}
	r.prose("", fmt.Sprintf("%s: LM-63 of %d, type %s, %s", name, f.Edition, map[photometry.Type]string{photometry.TypeC: "C", photometry.TypeB: "B", photometry.TypeA: "A"}[f.Type], kind))
	angles := fmt.Sprintf("beam %s, field %s", quantity.Format(z.BeamRad, quantity.Angle),
		quantity.Format(z.FieldRad, quantity.Angle))
	if z.TiltRad > 0 {
		angles += ", about a direction " + quantity.Format(z.TiltRad, quantity.Angle) + " from the optical axis"
	}
	r.prose("", fmt.Sprintf("flux %s, peak %.4g cd, %s", quantity.Format(z.FluxLm, quantity.Flux), z.PeakCd, angles))
	if f.InputW > 0 {
		r.prose("", fmt.Sprintf("input %s, %s", quantity.Format(f.InputW, quantity.Power), quantity.Format(z.FluxLm/f.InputW, quantity.Efficacy)))
	}
	t := r.table("angle from optical axis", "luminous flux", "fraction", "cumulative")
	sum := 0.0
	for i, s := range z.ZoneShare {
		if sum += s; s < 5e-6 {
			continue
		}
		t.row(fmt.Sprintf("%.0f° to %.0f°", z.FromDeg[i], z.ToDeg[i]), quantity.Format(z.ZoneLm[i], quantity.Flux), fmt.Sprintf("%.2f %%", 100*s), fmt.Sprintf("%.2f %%", 100*sum))
	}
	t.print()
	for _, w := range f.Warnings {
		r.note(w)
	}
	return nil
}
