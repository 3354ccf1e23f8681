package web

import (
	"context"
	"net/http"
	"strings"

	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/search"
	"lampwright/internal/source"
	"lampwright/internal/store"
)

// planView is the plan of a lamp, with changes as the page tries them.
type planView struct {
	Before search.Count   `json:"before"`
	After  search.Count   `json:"after"`
	Causes []causeView    `json:"causes"`
	Left   []search.Found `json:"left"` // stops that no change clears
}

// causeView is one reason for findings, with the change that clears them.
type causeView struct {
	Title  string         `json:"title"`
	Change string         `json:"change"`
	Sets   []change       `json:"sets"`
	Clears []search.Found `json:"clears"`
	Brings []search.Found `json:"brings"`
	Price  string         `json:"price"`
	After  search.Count   `json:"after"` // with the causes above it
}

// plan answers with the plan of the file or of a preview.
func (s *Server) plan(w http.ResponseWriter, r *http.Request) {
	var in previewed
	if !decode(w, r, &in) {
		return
	}
	p := s.edited(w, in)
	if p == nil {
		return
	}
	s.longer(w, r, "plan", "plan", func(ctx context.Context, progress func(done, total int)) (any, error) {
		return s.work.planned(ctx, p, removalsOf(in.Changes), progress)
	})
}

// planned searches a plan. Its many variants of board and light would crowd out of the memory what previews come back
// to.
func (w *workspace) planned(ctx context.Context, p *project.Project, taken removals,
	progress func(done, total int),
) (*planView, error) {
	found, err := search.Find(ctx, p, w.options(&store.Memory{Store: w.memory.Store}), progress)
	if err != nil {
		return nil, err
	}
	v := &planView{Before: found.Before, After: found.After, Causes: []causeView{}, Left: found.Left}
	for _, c := range found.Causes {
		v.Causes = append(v.Causes, causeView{
			Title: c.Title, Change: c.Change, Sets: taken.changes(c.Sets), Clears: c.Clears,
			Brings: c.Brings, Price: quantity.Signed(c.PriceEUR, 2) + " EUR", After: c.After,
		})
	}
	return v, nil
}

// changes returns settings of a lamp of which items were taken away as changes of the page, by the paths of the file:
// single values as they are, whole lists, mappings and new items marked, and what is taken away.
func (r removals) changes(sets []source.Setting) (out []change) {
	for _, s := range sets {
		text := s.Text
		switch {
		case text == "":
			text = gone
		case strings.HasSuffix(s.Path, "]") || strings.ContainsAny(text[:1], "[{"):
			text = asYAML + text
		}
		out = append(out, change{Path: r.filed(s.Path), Text: text})
	}
	return out
}
