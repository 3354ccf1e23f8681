package cli

import (
	"fmt"

	"lampwright/internal/atomicfile"
	"lampwright/internal/choose"
	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/report"
	"lampwright/internal/study"
)

type chooseCmd struct {
	What    string `arg:"" enum:"board,sink,lens,height" help:"Component to vary: board, sink, lens or height."`
	Path    string `arg:"" optional:"" default:"." help:"Project folder or design file; default: current folder."`
	Channel string `short:"c" placeholder:"CHANNEL" help:"Channel whose lenses are varied; default: the first."`
	From    string `default:"100 mm" help:"Minimum hanging height (choose height)."`
	To      string `default:"600 mm" help:"Maximum hanging height (choose height)."`
	Steps   int    `default:"11" help:"Number of heights (choose height)."`
	SVG     string `name:"svg" placeholder:"FILE" help:"Write a diagram of PPFD, uniformity and spill light against height; with -c one line per lens that fits the channel."`
	JSON    bool   `name:"json" help:"Print as JSON."`

	Calibrated bool `help:"Use the parameters that were learned from readings (calibration.yaml)."`
}

// Run compares alternatives for one component of a lamp.
func (c *chooseCmd) Run(r *run) error {
	if c.SVG != "" && c.What != "height" {
		return fmt.Errorf("--svg draws results against hanging height; use it with choose height")
	}
	p, err := r.load(c.Path)
	if err != nil {
		return err
	}
	o, err := r.options(c.Path, p)
	if err != nil {
		return err
	}
	progress := r.partialProgress("alternatives")
	var list []choose.Option
	switch c.What {
	case "board":
		list, err = choose.Boards(r.ctx, p, o, progress)
		choose.ByJunction(list)
	case "sink":
		list, err = choose.Sinks(r.ctx, p, o, progress)
		choose.ByJunction(list)
	case "lens":
		name := c.Channel
		if name == "" {
			name = p.Design.Channels[0].Name.S
		}
		list, err = choose.Lenses(r.ctx, p, name, o, progress)
	case "height":
		var from, to float64
		if from, err = quantity.ParseUnambiguous(c.From, quantity.Length); err != nil {
			return fmt.Errorf("--from: %w", err)
		}
		if to, err = quantity.ParseUnambiguous(c.To, quantity.Length); err != nil {
			return fmt.Errorf("--to: %w", err)
		}
		if list, err = choose.Heights(r.ctx, p, from, to, c.Steps, o, progress); err == nil {
			r.clearProgress()
			return c.heights(r, p, list, from, to, o)
		}
	}
	r.clearProgress()
	if len(list) == 0 && err != nil {
		return err
	}
	if c.JSON {
		if printErr := writeJSON(r, list); printErr != nil {
			return printErr
		}
		return err
	}
	if c.What == "lens" || c.What == "height" {
		show(r, choose.Light, list)
	} else {
		show(r, choose.Heat, list)
		r.prose("", "T_j at maximum ambient. Kelvin per euro: reduction of the maximum T_j per additional euro.")
	}
	return err // the alternatives computed before Ctrl-C have been printed, and the others named
}

func mark(o choose.Option) string {
	if o.Now {
		return "now"
	}
	return ""
}

// show prints options in the columns of their table.
func show(r *run, of choose.Table, list []choose.Option) {
	t := r.table(append([]string{"", "alternative"}, of.Heads...)...)
	for _, o := range list {
		if o.Problem != "" {
			t.row(mark(o), o.Name, wrap(o.Problem, 60, 0))
			continue
		}
		t.row(append([]string{mark(o), o.Name}, of.Row(o)...)...)
	}
	t.print()
}

// heights prints a sweep of heights and the range that meets the requirements, and writes its diagram.
func (c *chooseCmd) heights(r *run, p *project.Project, list []choose.Option, from, to float64, o engine.Options) error {
	o.Samples = -1
	result, err := figure.Evaluate(r.ctx, p, o)
	if err != nil {
		return err
	}
	if c.SVG != "" {
		const steps = 33
		var heights []float64
		for i := range steps {
			heights = append(heights, from+(to-from)*float64(i)/(steps-1))
		}
		points, err := study.HeightSweep(r.ctx, result, c.Channel, heights, r.progress("heights"))
		r.clearProgress()
		if err != nil {
			return err
		}
		picture := report.SweepPicture(points, study.HeightRequirements(result.Lamp), p.Design.Installation.Hanging.SI)
		if picture.Empty() {
			return fmt.Errorf("no height between %s and %s is above the tank rim", quantity.Format(from, quantity.Length), quantity.Format(to, quantity.Length))
		}
		if err := atomicfile.Save(c.SVG, picture.File()); err != nil {
			return err
		}
	}
	if c.JSON {
		return writeJSON(r, list)
	}
	show(r, choose.Light, list)
	if choice, err := study.HeightRange(r.ctx, result, from, to); err != nil {
		r.prose("", err.Error())
	} else {
		r.prose("", choose.HeightText(&choice))
	}
	if c.SVG != "" {
		r.println("wrote " + c.SVG)
	}
	return nil
}
