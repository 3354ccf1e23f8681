package project

import (
	"math"

	"lampwright/internal/photometry"
)

// readPhotometry reads the LM-63 file that a part names.
func (a *adder) readPhotometry(f *IntensityDistribution) {
	if !f.FileName.Set {
		return
	}
	ref := FileRef{Key: "photometry_file", Name: f.FileName, MaxBytes: photometry.MaxBytes, Example: "my-lens.ies"}
	data, ok := ref.read(a)
	if !ok {
		return
	}
	file, err := readOnce(a.beside.photometry, ref.path(a), data, photometry.Read)
	if err != nil {
		ref.inside(a, err, "it must be a photometric file after ANSI/IES LM-63")
		return
	}
	if flux := file.FluxLm(); !(flux > 0) || math.IsInf(flux, 0) {
		ref.report(a, "", " contains no light")
		return
	}
	f.File = file
}

func (f *IntensityDistribution) problems() (out []complaint) {
	if f.Table.Set && f.FileName.Set {
		out = append(out, complaint{
			f.FileName.At, "photometry_file and intensity_vs_angle both give the pattern", "keep one of them",
		})
	}
	if !f.Table.Set {
		return out
	}
	x, y := f.Table.X, f.Table.Y
	const slack = 1e-9
	switch n := len(x) - 1; {
	case x[0] < -slack || x[n] > math.Pi+slack:
		out = append(out, complaint{f.Table.At, "intensity_vs_angle leaves 0° to 180°", "angles count from the aim " +
			"to one side; take the mean of both sides"})
	case x[0] > slack:
		out = append(out, complaint{
			f.Table.At, "intensity_vs_angle does not begin at 0°",
			"add the intensity straight ahead, such as 0 deg: 100 %",
		})
	}
	most := 0.0
	for _, v := range y {
		if v < 0 {
			return append(out, complaint{f.Table.At, "intensity_vs_angle falls below zero", "check the points"})
		}
		most = math.Max(most, v)
	}
	if most == 0 {
		out = append(out, complaint{f.Table.At, "intensity_vs_angle contains no light", "check the points"})
	}
	return out
}
