package cli

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"lampwright/internal/bench"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
)

type benchReviewCmd struct {
	Path string `arg:"" optional:"" default:"." help:"Project folder or design file; default: current folder."`
}

// Run compares the readings with the predictions. Its status is 1 where a fault is likelier than the lamp as designed.
func (c *benchReviewCmd) Run(r *run) error {
	result, err := r.evaluate(c.Path)
	if err != nil {
		return err
	}
	readings, problems := project.LoadReadings(os.DirFS(filepath.Clean(c.Path)), result.Lamp.Project)
	if len(problems) > 0 {
		return problems
	}
	if readings == nil {
		return errors.New(project.ReadingsFile + " not found in the project folder")
	}
	model, err := bench.New(result.Sys, readings)
	if err != nil {
		return err
	}
	review, fit, err := model.Review(r.ctx, nil)
	if err != nil {
		return err
	}
	t := r.table("reading", "predicted", "read", "zeta", "verdict")
	for _, x := range review.Rows {
		t.row(x.Label+", "+x.Where, quantity.Format(x.Predicted, x.Dim), quantity.Format(x.Read, x.Dim),
			fmt.Sprintf("%.2f", x.Zeta),
			string(x.Verdict))
	}
	t.print()
	faults, err := model.FindFaults(r.ctx, fit.Gaussian, fit.Used)
	if err != nil {
		return err
	}
	for _, x := range faults[:min(3, len(faults))] {
		r.println(fmt.Sprintf("%s: %.1f %%", x.Title, 100*x.Probability))
	}
	junction := bench.Figure{Title: "hottest junction", Value: func(p lamp.Params) float64 {
		return result.ValueAt(p,
			"lamp.junction")
	}}
	next, err := model.Best(r.ctx, fit.Fit, junction)
	if err != nil {
		return err
	}
	for _, x := range next[:min(3, len(next))] {
		r.println(fmt.Sprintf("next: %s, %s", x.What, x.Where))
	}
	if faults[0].Code != bench.Healthy {
		return errFound
	}
	return nil
}
