package web

import (
	"context"
	"fmt"
	"net/http"

	"lampwright/internal/choose"
	"lampwright/internal/figure"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/report"
	"lampwright/internal/source"
	"lampwright/internal/store"
	"lampwright/internal/study"
)

// choiceView is hanging heights, each with the lamp at it.
type choiceView struct {
	Heads   []string    `json:"heads"`
	Rows    []choiceRow `json:"rows"`
	Says    string      `json:"says,omitempty"`    // which heights meet the requirements
	Picture string      `json:"picture,omitempty"` // of a sweep of heights
}

type choiceRow struct {
	Name    string           `json:"name"`
	Now     bool             `json:"now"`
	Cells   []string         `json:"cells"`
	Problem string           `json:"problem,omitempty"`
	Sets    []source.Setting `json:"sets"` // the values of the design that select it; empty if values alone cannot
}

// choiceAsk is between which heights, as a person writes them.
type choiceAsk struct {
	Channel string `json:"channel"` // of whose lenses each has a line; none where it is empty
	From    string `json:"from"`
	To      string `json:"to"`
}

// Numbers of heights of a sweep: rows of the table, and points of a line of the picture.
const (
	heightRows   = 11
	heightPoints = 33
)

// span reads the heights [m]. An error names its field.
func (c choiceAsk) span() (from, to float64, err error) {
	if from, err = quantity.ParseUnambiguous(c.From, quantity.Length); err != nil {
		return 0, 0, &badChange{"from", err}
	}
	if to, err = quantity.ParseUnambiguous(c.To, quantity.Length); err != nil {
		return 0, 0, &badChange{"to", err}
	}
	switch {
	case !(from > 0):
		return 0, 0, &badChange{"from", fmt.Errorf("%s must be above zero", c.From)}
	case !(to > from):
		return 0, 0, &badChange{"to", fmt.Errorf("%s must be above %s", c.To, c.From)}
	case to > 10:
		return 0, 0, &badChange{"to", fmt.Errorf("%s exceeds 10 m", c.To)}
	}
	return from, to, nil
}

// choose answers with alternatives, for the file or for a preview. They are computed while the page waits and is
// informed of the progress; a page that no longer waits ends the computation.
func (s *Server) choose(w http.ResponseWriter, r *http.Request) {
	var in struct {
		previewed
		Choice choiceAsk `json:"choice"`
	}
	if !decode(w, r, &in) {
		return
	}
	p := s.edited(w, in.previewed)
	if p == nil {
		return
	}
	s.longer(w, r, "heights", "hanging heights", func(ctx context.Context, progress func(done, total int)) (any, error) {
		return s.work.chosen(ctx, p, in.Choice, progress)
	})
}

// chosen computes alternatives.
func (w *workspace) chosen(ctx context.Context, p *project.Project, ask choiceAsk,
	progress func(done, total int),
) (*choiceView, error) {
	from, to, err := ask.span()
	if err != nil {
		return nil, err
	}
	// Eleven heights would crowd out what trials come back to.
	o := w.options(&store.Memory{Store: w.memory.Store})
	o.Preview = true
	list, err := choose.Heights(ctx, p, from, to, heightRows, o, progress)
	if err != nil {
		return nil, err
	}
	v := &choiceView{}
	if err := w.sweep(ctx, p, ask.Channel, from, to, v); err != nil {
		return nil, err
	}
	table := choose.Light
	v.Heads = table.Heads
	for _, opt := range list {
		row := choiceRow{Name: opt.Name, Now: opt.Now, Problem: opt.Problem, Sets: opt.Sets, Cells: []string{}}
		if opt.Problem == "" {
			row.Cells = table.Row(opt)
			for i := range row.Cells {
				row.Cells[i] = trueMinus(row.Cells[i])
			}
		}
		v.Rows = append(v.Rows, row)
	}
	fillLists(v)
	return v, nil
}

// sweep puts the picture of a sweep of heights to a view, and which of them meet what is wanted.
func (w *workspace) sweep(ctx context.Context, p *project.Project, channel string, from, to float64,
	v *choiceView,
) error {
	o := w.options(&w.memory)
	o.Samples, o.Preview = -1, true
	result, err := figure.Evaluate(ctx, p, o)
	if err != nil {
		return err
	}
	var heights []float64
	for i := range heightPoints {
		heights = append(heights, from+(to-from)*float64(i)/(heightPoints-1))
	}
	points, err := study.HeightSweep(ctx, result, channel, heights, nil)
	if err != nil {
		return err
	}
	if picture := report.SweepPicture(points, study.HeightRequirements(result.Lamp),
		p.Design.Installation.Hanging.SI); !picture.Empty() {
		v.Picture = picture.Inline()
	}
	choice, err := study.HeightRange(ctx, result, from, to)
	switch {
	case ctx.Err() != nil:
		return ctx.Err()
	case err != nil:
		v.Says = err.Error()
	default:
		v.Says = choose.HeightText(&choice)
	}
	return nil
}
