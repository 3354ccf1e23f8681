package cli

import (
	"fmt"
	"path/filepath"
	"slices"

	"github.com/alecthomas/kong"

	"lampwright/internal/engine"
	"lampwright/internal/inputfile"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
)

// isCalibrated tells whether a command is to compute the lamp with the parameters that were learned from readings.
func isCalibrated(k *kong.Context) bool {
	return slices.ContainsFunc(k.Path, func(p *kong.Path) bool {
		return p.Flag != nil && p.Flag.Name == "calibrated" && p.Flag.Target.Bool()
	})
}

// options returns how a project is evaluated: with the answers that are kept in its folder, and with --calibrated with
// the parameters that were learned from readings. It prints those that do not belong to the design.
func (r *run) options(path string, p *project.Project) (engine.Options, error) {
	o := engine.Options{Solver: r.solver(path)}
	if !r.calibrated {
		return o, nil
	}
	c, problems := project.LoadCalibration(inputfile.Folder(folder(path)))
	switch {
	case len(problems) > 0:
		return o, r.problems(problems, path)
	case c == nil:
		return o, fmt.Errorf("%s not found; learn the parameters from readings of the built lamp first, or omit "+
			"--calibrated", filepath.Join(folder(path), project.CalibrationFile))
	}
	l, err := lamp.New(p, o.Solver.Lens)
	if err != nil {
		return o, err
	}
	l.Calibrate(c)
	for _, d := range l.Calibration.Dropped {
		fmt.Fprintln(r.err, "lampwright: "+d.Text())
	}
	o.Calibration = c
	return o, nil
}
