package web

import (
	"context"
	"fmt"
	"net/http"
	"slices"

	"lampwright/internal/engine"
	"lampwright/internal/quantity"
	"lampwright/internal/start"
	"lampwright/internal/store"
)

// answersView is what a form of answers for a new lamp comes to.
type answersView struct {
	Filled start.Form         `json:"filled"` // with the proposals in place of empty answers
	Wrong  []start.FieldError `json:"wrong"`
	Plants []plantsView       `json:"plants"` // classes of the kind of place
	Source string             `json:"source"` // of PPFD and time at full level
	DLI    string             `json:"dli"`
	Place  sketchView         `json:"place"`
}

// plantsView is a starting point for a class of plants.
type plantsView struct {
	Key   string `json:"key"`
	Title string `json:"title"`
	PPFD  string `json:"ppfd"`
	DLI   string `json:"dli"`
}

// sketchView is the place as it is drawn; lengths are in millimetres.
type sketchView struct {
	Kind      string  `json:"kind"`
	Length    float64 `json:"length"`
	Width     float64 `json:"width"`
	Height    float64 `json:"height"`
	Water     float64 `json:"water"`
	Substrate float64 `json:"substrate"`
}

// startedView is a lamp that was written.
type startedView struct {
	Notes    []start.Note `json:"notes"`
	Stops    int          `json:"stops"`
	Warnings int          `json:"warnings"`
	State    stateView    `json:"state"`
}

// answersError is answers that no design can be written from.
type answersError []start.FieldError

func (e answersError) Error() string { return e[0].Error }

// answers says what a form of answers comes to; nothing is written.
func (s *Server) answers(w http.ResponseWriter, r *http.Request) {
	var in struct {
		Form start.Form `json:"form"`
	}
	if !decode(w, r, &in) {
		return
	}
	a, wrong := start.Read(in.Form)
	mm := func(m float64) float64 { return quantity.In(m, quantity.Length, "mm") }
	v := answersView{
		Filled: start.Filled(a), Wrong: append([]start.FieldError{}, wrong...), Plants: []plantsView{},
		Source: a.Plants.Source, DLI: quantity.Format(a.DLI(a.PPFD()), quantity.DLI),
		Place: sketchView{string(a.Kind), mm(a.LengthM), mm(a.WidthM), mm(a.HeightM), mm(a.WaterM), mm(a.SubstrateM)},
	}
	if a.Own {
		v.Source = "own values"
	}
	for _, p := range start.Proposals() {
		if slices.Contains(p.Kinds, a.Kind) {
			v.Plants = append(v.Plants, plantsView{
				p.Key, p.Title, bandText(p.PPFDMin, p.PPFDMax, "µmol/m²/s"), bandText(p.DLIMin, p.DLIMax, "mol/m²/d"),
			})
		}
	}
	answer(w, http.StatusOK, v)
}

func bandText(lo, hi float64, unit string) string { return fmt.Sprintf("%g to %g %s", lo, hi, unit) }

// newLamp designs a lamp from answers and writes it into an empty folder.
func (s *Server) newLamp(w http.ResponseWriter, r *http.Request) {
	var in struct {
		Form start.Form `json:"form"`
	}
	if !decode(w, r, &in) {
		return
	}
	s.longer(w, r, "new", "design of a new lamp",
		func(ctx context.Context, progress func(done, total int)) (any, error) {
			return s.work.designed(ctx, in.Form, progress)
		})
}

// designed writes the design of a new lamp into the folder, which must have none.
func (w *workspace) designed(ctx context.Context, f start.Form, progress func(done, total int)) (*startedView, error) {
	a, wrong := start.Read(f)
	if len(wrong) > 0 {
		return nil, answersError(wrong)
	}
	if err := w.vacant(); err != nil {
		return nil, err
	}
	library, problems := w.libraryWith(nil)
	if len(problems) > 0 {
		return nil, problems
	}
	l, err := start.Design(ctx, a, library, engine.Options{Solver: &store.Memory{Store: w.memory.Store}}, progress)
	if err != nil {
		return nil, err
	}
	if err := w.create(texts{w.name: l.Text}); err != nil {
		return nil, err
	}
	return &startedView{l.Notes, l.Stops, l.Warnings, w.state()}, nil
}

// vacant is an error where the folder has a design.
func (w *workspace) vacant() error {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.reloadLocked()
	if w.exists {
		return fmt.Errorf("%s already exists; nothing was written", w.name)
	}
	return nil
}
