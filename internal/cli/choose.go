package cli

import (
	"fmt"

	"lampwright/internal/choose"
	"lampwright/internal/design"
	"lampwright/internal/quantity"
)

type chooseCmd struct {
	What    string `arg:"" enum:"board,sink,lens,height" help:"board, sink, lens or height."`
	Path    string `arg:"" optional:"" default:"." help:"Project folder or design file."`
	Channel string `short:"c" help:"Channel whose lenses are varied; the first if not given."`
	From    string `default:"100 mm" help:"Least hanging height."`
	To      string `default:"600 mm" help:"Greatest hanging height."`
	Steps   int    `default:"11" help:"Number of heights."`
	JSON    bool   `name:"json" help:"Print as JSON."`
}

// Run puts alternatives of one lamp side by side.
func (c *chooseCmd) Run(r *run) error {
	p, err := r.load(c.Path)
	if err != nil {
		return err
	}
	o := design.Options{Store: r.store(c.Path)}
	progress := r.progress("alternatives")
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
		if from, err = quantity.Parse(c.From, quantity.Length); err != nil {
			return fmt.Errorf("--from: %w", err)
		}
		if to, err = quantity.Parse(c.To, quantity.Length); err != nil {
			return fmt.Errorf("--to: %w", err)
		}
		list, err = choose.Heights(r.ctx, p, from, to, c.Steps, o, progress)
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
		printLight(r, list)
	} else {
		printHeat(r, list)
	}
	return err // what was done before Ctrl-C has been shown
}

func mark(o choose.Option) string {
	if o.Now {
		return "now"
	}
	return ""
}

// printHeat shows what boards and sinks move.
func printHeat(r *run, list []choose.Option) {
	t := newTable("", "alternative", "hottest junction", "fan stopped", "against now", "parts", "against now", "kelvin per euro")
	for _, o := range list {
		if o.Problem != "" {
			t.Row(mark(o), o.Name, wrap(o.Problem, 60, 0))
			continue
		}
		dead, per := "", ""
		if v, ok := o.Values["lamp.junction-fan-dead"]; ok {
			dead = quantity.Format(v, quantity.Temperature)
		}
		if o.KPerEUR != 0 {
			per = fmt.Sprintf("%+.2f", o.KPerEUR)
		}
		t.Row(mark(o), o.Name, quantity.Format(o.Values["lamp.junction-hottest"], quantity.Temperature), dead, fmt.Sprintf("%+.1f K", o.DeltaK),
			quantity.Format(o.Values["cost.parts"], quantity.Money), fmt.Sprintf("%+.2f EUR", o.Delta), per)
	}
	r.println(t.String())
	r.println("Junctions are those of the hottest day. Kelvin per euro is what each euro more takes off the hottest junction.")
}

// printLight shows what lenses and heights move.
func printLight(r *run, list []choose.Option) {
	t := newTable("", "alternative", "PPFD at target", "uniformity", "misses the place", "arrives", "flux", "parts")
	for _, o := range list {
		if o.Problem != "" {
			t.Row(mark(o), o.Name, wrap(o.Problem, 60, 0))
			continue
		}
		t.Row(mark(o), o.Name, quantity.Format(o.Values["target.ppfd"], quantity.PPFD), quantity.Format(o.Values["target.uniformity"], quantity.Ratio),
			quantity.Format(o.Values["light.spill"], quantity.Ratio), quantity.Format(o.Values["light.reaches"], quantity.Ratio),
			quantity.Format(o.Values["lamp.flux"], quantity.Flux), quantity.Format(o.Values["cost.parts"], quantity.Money))
	}
	r.println(t.String())
}
