package web

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/search"
	"lampwright/internal/source"
	"lampwright/internal/store"
	"lampwright/internal/wiring"
)

// pickedView is one line of the answer of a picker: first the rows, then each of them computed.
type pickedView struct {
	Rows  []pickRow    `json:"rows,omitempty"`
	Row   *pickedRow   `json:"row,omitempty"`
	Error string       `json:"error,omitempty"` // why the rest is not computed
	Count search.Count `json:"count"`           // with Rows: of the lamp as it is
}

// pickRow is what may be chosen.
type pickRow struct {
	ID    string `json:"id"`
	Name  string `json:"name"`
	Info  string `json:"info"`
	Price string `json:"price"`
	From  string `json:"from"` // library, or a file of parts
	Now   bool   `json:"now"`
	sets  []source.Setting
}

// pickedRow is the whole lamp with what is chosen.
type pickedRow struct {
	ID       string         `json:"id"`
	Sets     []change       `json:"sets"`   // the choice and what it requires, as one change
	Brings   []string       `json:"brings"` // what it requires, in words
	After    search.Count   `json:"after"`
	Clears   []search.Found `json:"clears"`
	Fresh    []search.Found `json:"fresh"`
	PriceEUR float64        `json:"price_eur"` // change of the parts cost
	Figures  []pickFigure   `json:"figures"`
	Problem  string         `json:"problem,omitempty"` // why it cannot be computed
}

type pickFigure struct {
	Key   string  `json:"key"`
	Text  string  `json:"text"`
	Value float64 `json:"value"`
}

// pickFigures are the results that a picker shows.
var pickFigures = []string{
	"target.ppfd", "target.uniformity", "light.spill", "lamp.cct", "lamp.ra", "lamp.junction-max-ambient",
	"mains.power", "cost.bom",
}

// pick answers with what may stand at a path, and then, one after the other, with the whole lamp computed with each.
func (s *Server) pick(w http.ResponseWriter, r *http.Request) {
	var in struct {
		previewed
		At string `json:"at"`
	}
	if !decode(w, r, &in) {
		return
	}
	p := s.edited(w, in.previewed)
	if p == nil {
		return
	}
	taken := removalsOf(in.Changes)
	rows, what := pickRows(p, taken.actual(in.At))
	if len(rows) == 0 {
		s.fail(w, &badChange{in.At, fmt.Errorf("there is nothing to choose at %s", in.At)})
		return
	}
	begun := false
	out := http.NewResponseController(w)
	send := func(v pickedView) error {
		if !begun {
			w.Header().Set("Content-Type", "application/x-ndjson")
		}
		begun = true
		data, err := json.Marshal(v)
		if err != nil {
			return err
		}
		if _, err := w.Write(append(data, '\n')); err != nil {
			return err
		}
		return out.Flush()
	}
	_, err := s.work.queued(w, r, askedBy(r, "pick", "alternatives of "+what), func(ctx context.Context,
		progress func(done, total int),
	) (any, error) {
		return nil, s.work.picked(ctx, p, rows, taken, send, progress)
	})
	switch {
	case err == nil:
	case begun:
		_ = send(pickedView{Error: err.Error()}) // the page may have gone
	default:
		s.fail(w, err)
	}
}

// picked sends rows, and computes each of them.
func (w *workspace) picked(ctx context.Context, p *project.Project, rows []pickRow, taken removals,
	send func(pickedView) error, progress func(done, total int),
) error {
	// The many variants would crowd out of the memory what previews come back to.
	o := w.options(&store.Memory{Store: w.memory.Store})
	c, err := search.NewChooser(ctx, p, o, w.sampled())
	if err != nil {
		return err
	}
	if err := send(pickedView{Rows: rows, Count: c.Now().After}); err != nil {
		return err
	}
	for i := range rows {
		progress(i, len(rows))
		row := pickedRow{ID: rows[i].ID}
		choice, err := c.Now(), error(nil)
		if !rows[i].Now {
			choice, err = c.Choose(ctx, rows[i].sets)
		}
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case err != nil:
			row.Problem = problemText(err)
		default:
			row.fill(choice, taken)
		}
		fillLists(&row)
		if err := send(pickedView{Row: &row}); err != nil {
			return err
		}
	}
	return nil
}

// problemText returns why a lamp cannot be built, on one line.
func problemText(err error) string {
	if list, ok := err.(source.Problems); ok && len(list) > 0 {
		return list[0].Msg
	}
	return err.Error()
}

// fill takes over a computed choice.
func (row *pickedRow) fill(c *search.Choice, taken removals) {
	row.Sets, row.After, row.PriceEUR = taken.changes(c.Sets), c.After, c.PriceEUR
	row.Clears, row.Fresh = c.Clears, c.Brings
	for _, m := range c.Companions {
		row.Brings = append(row.Brings, m.Words)
	}
	for _, key := range pickFigures {
		if f, ok := c.Result.Figure(key); ok {
			row.Figures = append(row.Figures, pickFigure{key, trueMinus(f.PlainText()), finite(f.Value)})
		}
	}
}

// pickRows returns what may stand at a path of the design, and what that is in words.
func pickRows(p *project.Project, at string) (rows []pickRow, what string) {
	switch {
	case at == "board.thickness":
		for _, t := range p.Library.Boards.Get(p.Design.Board.Part.S).PriceByThickness.X {
			text := project.Millimetres(t)
			rows = append(rows, pickRow{
				ID: text, Now: near(t, p.Design.Board.Thickness.SI), sets: []source.Setting{{Path: at, Text: text}},
			})
		}
		return rows, "the thickness of the board"
	case strings.HasSuffix(at, ".fuse"):
		return fuseRows(p, at), "the fuse"
	}
	slot, ok := p.SlotAt(at)
	if !ok {
		return nil, ""
	}
	known := map[string]project.Entry{}
	for _, e := range p.Library.List() {
		if e.Kind == slot.Kind.Name {
			known[e.ID] = e
		}
	}
	for _, a := range p.Alternatives(slot) {
		e := known[a.Part.ID.S]
		rows = append(rows, pickRow{
			ID: e.ID, Name: e.Name, Info: e.Info, Price: e.Price, From: e.From, Now: e.ID == slot.Now, sets: a.Sets,
		})
	}
	return rows, "the " + slot.Kind.Name
}

// near reports whether two lengths [m] are the same.
func near(a, b float64) bool { return a-b < 1e-9 && b-a < 1e-9 }

// fuseRows returns time-lag fuses of the ratings that fuses are sold in, and no fuse.
func fuseRows(p *project.Project, at string) (rows []pickRow) {
	use, ok := fuseAt(p, at)
	if !ok {
		return nil
	}
	none := pickRow{ID: "none", Name: "no fuse", Now: use == nil, sets: []source.Setting{{Path: at}}}
	for _, a := range wiring.FuseRatings() {
		row := pickRow{
			ID: quantity.Format(a, quantity.Current), Info: "time-lag, IEC 60127",
			sets: []source.Setting{{Path: at, Text: search.FuseText(a)}},
		}
		row.Now = use != nil && cmp.Compare(use.RatedCurrent.SI, a) == 0
		rows = append(rows, row)
	}
	if use != nil && !slices.ContainsFunc(rows, func(r pickRow) bool { return r.Now }) {
		rows = append(rows, pickRow{ID: use.RatedCurrent.Text, Now: true})
	}
	return append(rows, none)
}

// fuseAt returns the fuse at a path, nil where there is none yet; it is false where none can be.
func fuseAt(p *project.Project, at string) (*project.FuseUse, bool) {
	d := &p.Design
	for i := range d.Channels {
		if at == fmt.Sprintf("channels[%d].fuse", i) {
			return d.Channels[i].Fuse, true
		}
	}
	for j := range d.Supplies {
		if at == fmt.Sprintf("supplies[%d].fuse", j) {
			return d.Supplies[j].Fuse, true
		}
	}
	return nil, false
}
