package project

import (
	"fmt"
	"io/fs"
	"math"
	"path"
	"strings"

	"lampwright/internal/photometry"
)

// farField reads the LM-63 file that a part names, from the folder of its file of parts.
func (a *adder) farField(fsys fs.FS, dir string, f *IntensityDistribution) {
	if !f.FileName.Set {
		return
	}
	name := f.FileName.S
	complain := func(hint, format string, args ...any) {
		a.problems = append(a.problems, problem(a.file, complaint{f.FileName.At, fmt.Sprintf(format, args...), hint}))
	}
	if name == "" || strings.ContainsAny(name, `/\:`) || strings.HasPrefix(name, ".") {
		complain("put the file beside this one and write its name alone, such as my-lens.ies", "photometry_file %q is not the name of a file in the folder of parts", name)
		return
	}
	file, err := fsys.Open(path.Join(dir, name))
	if err != nil {
		complain("it is looked for in the folder of this file of parts", "photometry_file %q: %s", name, reason(err))
		return
	}
	defer file.Close()
	if info, err := file.Stat(); err != nil || !info.Mode().IsRegular() {
		complain("", "photometry_file %q is not a file", name)
		return
	}
	data, err := readAtMost(file, photometry.MaxBytes+1)
	if err != nil {
		complain("", "photometry_file %q: %s", name, reason(err))
		return
	}
	if f.File, err = photometry.Read(data); err != nil {
		f.File = nil
		complain("it must be a photometric file after ANSI/IES LM-63", "photometry_file %q: %v", name, err)
		return
	}
	if flux := f.File.FluxLm(); !(flux > 0) || math.IsInf(flux, 0) {
		f.File = nil
		complain("", "photometry_file %q holds no light", name)
	}
}

func (f *IntensityDistribution) problems() (out []complaint) {
	if f.Table.Set && f.FileName.Set {
		out = append(out, complaint{f.FileName.At, "photometry_file and intensity_vs_angle both give the pattern", "keep one of them"})
	}
	if !f.Table.Set {
		return out
	}
	x, y := f.Table.X, f.Table.Y
	const slack = 1e-9
	switch n := len(x) - 1; {
	case x[0] < -slack || x[n] > math.Pi+slack:
		out = append(out, complaint{f.Table.At, "intensity_vs_angle leaves 0° to 180°", "angles count from the aim to one side; take the mean of both sides"})
	case x[0] > slack:
		out = append(out, complaint{f.Table.At, "intensity_vs_angle does not begin at 0°", "add the intensity straight ahead, such as 0 deg: 100 %"})
	}
	most := 0.0
	for _, v := range y {
		if v < 0 {
			return append(out, complaint{f.Table.At, "intensity_vs_angle falls below zero", "check the points"})
		}
		most = math.Max(most, v)
	}
	if most == 0 {
		out = append(out, complaint{f.Table.At, "intensity_vs_angle holds no light", "check the points"})
	}
	return out
}
