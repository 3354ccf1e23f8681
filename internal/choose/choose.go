// Package choose compares alternatives for one component: boards, heat sinks, lenses, hanging heights.
//
// In: a project, and the component to vary.
// Out: one Option per alternative, with the figures, the price, the reduction of the junction temperature per euro, and
// the edits of the design file; and these as rows of texts.
// Assumes: everything else of the lamp is unchanged.
// Leaves to others: every figure (figure), and the layout of the rows (cli, web).
package choose

import (
	"context"
	"errors"
	"fmt"
	"math"
	"sort"

	"lampwright/internal/engine"
	"lampwright/internal/figure"
	"lampwright/internal/light"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// Option is one alternative.
type Option struct {
	Name    string             `json:"name"`
	Now     bool               `json:"now"`               // it is that of the design
	Values  map[string]float64 `json:"values"`            // figures by key
	DeltaK  float64            `json:"delta_k"`           // change of maximum T_j at maximum ambient [K]
	Delta   float64            `json:"delta_eur"`         // change of parts cost [EUR]
	KPerEUR float64            `json:"kelvin_per_euro"`   // reduction of T_j per additional euro; 0 where it costs no more or is not cooler
	Problem string             `json:"problem,omitempty"` // why it cannot be computed
	Sets    []source.Setting   `json:"sets,omitempty"`    // settings of the design file; none where more than values change
}

// Progress is called with the number of finished options.
type Progress func(done, total int)

// trial is a change of the design with a name.
type trial struct {
	name  string
	sets  []source.Setting
	apply func(*project.Design)
}

// Boards varies the stack-up and the thickness of its core: every board of the library in every thickness that it is
// made in.
func Boards(ctx context.Context, p *project.Project, o engine.Options, progress Progress) ([]Option, error) {
	var trials []trial
	for _, id := range p.Library.Boards.IDs() {
		b := p.Library.Boards.Get(id)
		for _, t := range b.PriceByThickness.X {
			sets := []source.Setting{
				{Path: "board.part", Text: id},
				{Path: "board.thickness", Text: project.Millimetres(t)},
			}
			trials = append(trials, trial{fmt.Sprintf("%s, %.3g mm", id, 1e3*t), sets, func(d *project.Design) {
				d.Board.Part.S, d.Board.Thickness.SI, d.Board.Thickness.Lo, d.Board.Thickness.Hi = id, t, t, t
			}})
		}
	}
	now := fmt.Sprintf("%s, %.3g mm", p.Design.Board.Part.S, 1e3*p.Design.Board.Thickness.SI)
	return run(ctx, p, o, trials, now, progress)
}

// Sinks varies the heat sink, each in contact over the whole of its base.
func Sinks(ctx context.Context, p *project.Project, o engine.Options, progress Progress) ([]Option, error) {
	var trials []trial
	slot, _ := p.SlotAt("sink.part")
	for _, a := range p.Alternatives(slot) {
		id := a.Part.ID.S
		trials = append(trials, trial{id, a.Sets, func(d *project.Design) {
			if d.Sink.Part.S != id {
				d.Sink.Contact = nil
			}
			d.Sink.Part.S = id
		}})
	}
	return run(ctx, p, o, trials, p.Design.Sink.Part.S, progress)
}

// Lenses varies the lens of one channel among those that fit all of its emitters.
func Lenses(ctx context.Context, p *project.Project, channel string, o engine.Options, progress Progress) ([]Option,
	error,
) {
	at := -1
	for i := range p.Design.Channels {
		if p.Design.Channels[i].Name.S == channel {
			at = i
		}
	}
	if at < 0 {
		return nil, fmt.Errorf("the design has no channel %q", channel)
	}
	now := ""
	for _, u := range p.Design.Channels[at].Emitters {
		now = u.Lens.S
	}
	var trials []trial
	for _, id := range p.Library.Lenses.IDs() {
		if !fitsAll(p, at, p.Library.Lenses.Get(id)) {
			continue
		}
		var sets []source.Setting
		for j := range p.Design.Channels[at].Emitters {
			sets = append(sets, source.Setting{Path: fmt.Sprintf("channels[%d].emitters[%d].lens", at, j), Text: id})
		}
		trials = append(trials, trial{id, sets, func(d *project.Design) {
			d.Channels = append([]project.Channel(nil), d.Channels...)
			c := &d.Channels[at]
			c.Emitters = append([]project.EmitterUse(nil), c.Emitters...)
			for j := range c.Emitters {
				c.Emitters[j].Lens = source.Text{S: id, Set: true, At: c.Emitters[j].Lens.At}
			}
		}})
	}
	if len(trials) == 0 {
		return nil, fmt.Errorf("no lens of the parts library fits every emitter of channel %q", channel)
	}
	return run(ctx, p, o, trials, now, progress)
}

func fitsAll(p *project.Project, channel int, lens *project.Lens) bool {
	for _, u := range p.Design.Channels[channel].Emitters {
		if !lens.MadeFor(p.Library.Emitters.Get(u.Part.S).Package.S) {
			return false
		}
	}
	return true
}

// Heights varies the hanging height between two heights [m] in equal steps.
func Heights(ctx context.Context, p *project.Project, fromM, toM float64, steps int, o engine.Options,
	progress Progress,
) ([]Option, error) {
	if !(fromM > 0) || !(toM > fromM) || steps < 2 || steps > 200 {
		return nil, errors.New("heights: start above 0, end above start, 2 to 200 steps")
	}
	var trials []trial
	for i := range steps {
		h := fromM + (toM-fromM)*float64(i)/float64(steps-1)
		h = math.Round(1e4*h) / 1e4 // as in the design file
		sets := []source.Setting{{
			Path: "installation.hanging_height",
			Text: fmt.Sprintf("%g mm", math.Round(1e4*h)/10),
		}}
		trials = append(trials, trial{fmt.Sprintf("%.0f mm", 1e3*h), sets, func(d *project.Design) {
			d.Installation.Hanging.SI, d.Installation.Hanging.Lo, d.Installation.Hanging.Hi = h, h, h
		}})
	}
	now := fmt.Sprintf("%.0f mm", 1e3*p.Design.Installation.Hanging.SI)
	return run(ctx, p, o, trials, now, progress)
}

// run evaluates the design as it is and each trial, and compares them. Where the context ends, what is done is returned
// with its error.
func run(ctx context.Context, p *project.Project, o engine.Options, trials []trial, now string,
	progress Progress,
) ([]Option, error) {
	o.Samples = -1
	base, err := figure.Evaluate(ctx, p, o)
	if err != nil {
		return nil, err
	}
	hot, cost := base.Value("lamp.junction-max-ambient"), base.Value("cost.bom")
	var out []Option
	for i, t := range trials {
		q := *p
		t.apply(&q.Design)
		opt := Option{Name: t.name, Now: t.name == now, Sets: t.sets}
		r, err := figure.Evaluate(ctx, &q, o)
		switch {
		case ctx.Err() != nil:
			return stopped(out, trials[i:], now), ctx.Err()
		case err != nil:
			opt.Problem = err.Error()
		default:
			opt.Values = map[string]float64{}
			for _, f := range r.Figures {
				opt.Values[f.Key] = f.Value
			}
			opt.DeltaK, opt.Delta = r.Value("lamp.junction-max-ambient")-hot, r.Value("cost.bom")-cost
			if opt.Delta > 0.005 && opt.DeltaK < 0 {
				opt.KPerEUR = -opt.DeltaK / opt.Delta
			}
		}
		out = append(out, opt)
		if progress != nil {
			progress(i+1, len(trials))
		}
	}
	return out, nil
}

// Stopped is the Problem of an alternative that was not computed because ctx ended.
const Stopped = "not computed: stopped"

// stopped appends the alternatives that were not computed.
func stopped(out []Option, left []trial, now string) []Option {
	for _, t := range left {
		out = append(out, Option{Name: t.name, Now: t.name == now, Sets: t.sets, Problem: Stopped})
	}
	return out
}

// ByJunction sorts options by maximum junction temperature, lowest first; those that could not be computed come last.
func ByJunction(list []Option) {
	key := func(o Option) float64 {
		if o.Problem != "" {
			return math.Inf(1)
		}
		return o.DeltaK
	}
	sort.SliceStable(list, func(i, j int) bool { return key(list[i]) < key(list[j]) })
}

// Table is the layout of options: a heading for each text of a row.
type Table struct {
	Heads []string
	Row   func(Option) []string // of an option that could be computed
}

// Heat is the table for boards and heat sinks. T_j is the maximum at maximum ambient; K/EUR is its reduction per
// additional euro.
var Heat = Table{
	[]string{"maximum T_j", "fan failure", "change", "parts cost", "change", "kelvin per euro"},
	func(o Option) []string {
		failed, per := "", ""
		if v, ok := o.Values["lamp.junction-max-ambient-fan-failure"]; ok {
			failed = quantity.Format(v, quantity.Temperature)
		}
		if o.KPerEUR != 0 {
			per = quantity.Signed(o.KPerEUR, 2)
		}
		return []string{
			quantity.Format(o.Values["lamp.junction-max-ambient"], quantity.Temperature), failed,
			quantity.Signed(o.DeltaK, 1) + " K",
			quantity.Format(o.Values["cost.bom"], quantity.Money), quantity.Signed(o.Delta, 2) + " EUR", per,
		}
	},
}

// Light is the table of lenses and heights.
var Light = Table{
	[]string{"PPFD at target", "uniformity", "spill light", "incident at target", "flux", "parts cost"},
	func(o Option) []string {
		return []string{
			quantity.Format(o.Values["target.ppfd"], quantity.PPFD),
			quantity.Format(o.Values["target.uniformity"], quantity.Ratio),
			quantity.Format(o.Values["light.spill"], quantity.Ratio),
			quantity.Format(o.Values["light.incident-substrate"], quantity.Ratio),
			quantity.Format(o.Values["lamp.flux"], quantity.Flux),
			quantity.Format(o.Values["cost.bom"], quantity.Money),
		}
	},
}

// HeightText states which heights meet the requirements.
func HeightText(c *light.HeightRange) string {
	at := func(m float64) string { return fmt.Sprintf("%.0f mm", 1e3*m) }
	if !c.Found {
		return fmt.Sprintf("no height meets all requirements; closest: %s (%s missed by %.0f %%)", at(c.Best.HeightM),
			c.Limit, -100*c.Margin)
	}
	return fmt.Sprintf("all requirements are met from %s (lower: %s) to %s (higher: %s); "+
		"largest margin at %s: %.0f %% of %s",
		at(c.LowM), c.LowLimit, at(c.HighM), c.HighLimit, at(c.Best.HeightM), 100*c.Margin, c.Limit)
}
