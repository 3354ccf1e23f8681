package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/project"
)

// previewDiff answers a preview while its values move: the differences from the lamp of the file, which the page has.
type previewDiff struct {
	Against  int                        `json:"against"` // the number of that lamp
	Figures  map[string]figureNow       `json:"figures"` // that differ
	Added    []figureView               `json:"added,omitempty"`
	Gone     []string                   `json:"gone,omitempty"`
	Sections map[string]json.RawMessage `json:"sections"` // that differ; an item of a list that the file's lamp has is sent as its index there
	Same     []string                   `json:"same"`     // sections that do not differ
}

// figureNow is what of a figure moves with a value.
type figureNow struct {
	Text  string  `json:"text"`
	Value float64 `json:"value"`
}

// lampSnapshot is a lamp as a page has it: its figures, and the JSON of its sections. Previews are sent as differences
// from it.
type lampSnapshot struct {
	figures  map[string]figureView
	sections map[string]string
	items    map[string]map[string]int // by section and JSON
	length   map[string]int
}

func newLampSnapshot(v *lampView) (*lampSnapshot, error) {
	h := &lampSnapshot{
		figures: map[string]figureView{}, sections: map[string]string{},
		items: map[string]map[string]int{}, length: map[string]int{},
	}
	for _, f := range v.Figures {
		h.figures[f.Key] = f
	}
	for _, name := range sectionsOf("") {
		s := v.section(name)
		items, many := s.([]any)
		if !many {
			data, err := json.Marshal(s)
			if err != nil {
				return nil, err
			}
			h.sections[name] = string(data)
			continue
		}
		at := map[string]int{}
		for i, item := range items {
			data, err := json.Marshal(item)
			if err != nil {
				return nil, err
			}
			at[string(data)] = i
		}
		h.items[name], h.length[name] = at, len(items)
	}
	return h, nil
}

// diff returns what of a lamp differs from the snapshot, in the named sections.
func (h *lampSnapshot) diff(v *lampView, sections []string) (*previewDiff, error) {
	out := &previewDiff{Figures: map[string]figureNow{}, Sections: map[string]json.RawMessage{}, Same: []string{}}
	here := map[string]bool{}
	for _, f := range v.Figures {
		here[f.Key] = true
		was, ok := h.figures[f.Key]
		switch {
		case !ok || was.Title != f.Title || was.Kind != f.Kind:
			out.Added = append(out.Added, f)
		case was.Text != f.Text || was.Value != f.Value:
			out.Figures[f.Key] = figureNow{f.Text, f.Value}
		}
	}
	for key := range h.figures {
		if !here[key] {
			out.Gone = append(out.Gone, key)
		}
	}
	for _, name := range sections {
		s := v.section(name)
		items, many := s.([]any)
		if !many {
			data, err := json.Marshal(s)
			if err != nil {
				return nil, err
			}
			if string(data) == h.sections[name] {
				out.Same = append(out.Same, name)
			} else {
				out.Sections[name] = data
			}
			continue
		}
		same := len(items) == h.length[name]
		diff := make([]json.RawMessage, len(items))
		for i, item := range items {
			data, err := json.Marshal(item)
			if err != nil {
				return nil, err
			}
			if at, ok := h.items[name][string(data)]; ok {
				same = same && at == i
				data = fmt.Append(nil, at)
			} else {
				same = false
			}
			diff[i] = data
		}
		if same {
			out.Same = append(out.Same, name)
			continue
		}
		data, err := json.Marshal(diff)
		if err != nil {
			return nil, err
		}
		out.Sections[name] = data
	}
	return out, nil
}

// preview computes values that are not in the file. It ends when the page no longer waits.
func (s *Server) preview(w http.ResponseWriter, r *http.Request) {
	var in struct {
		previewed
		Full    bool   `json:"full"`    // with ranges and pictures
		View    string `json:"view"`    // that the page shows; it selects the data of the answer
		Against int    `json:"against"` // number of the file's lamp that the page holds; 0 for none
	}
	if !decode(w, r, &in) {
		return
	}
	k := s.work
	p, of, err := k.edited(in.Base, in.Changes)
	if err != nil {
		s.fail(w, err)
		return
	}
	result, findings, err := k.trial(w, r, p, in.Full)
	if err != nil {
		s.fail(w, err)
		return
	}
	k.remember(of, result)
	sections := sectionsOf(in.View)
	if in.Full {
		v := newLampView(result, findings, true)
		v.selectFor(viewOf(in.View))
		answer(w, http.StatusOK, v)
		return
	}
	k.mu.Lock()
	var h *lampSnapshot
	if k.shown != nil && k.shown.number == in.Against && in.Against > 0 {
		h = k.shown.snapshot
	}
	k.mu.Unlock()
	v := selectedLampView(result, findings, false, sections)
	if h == nil {
		answer(w, http.StatusOK, v)
		return
	}
	d, err := h.diff(v, sections)
	if err != nil {
		s.fail(w, err)
		return
	}
	d.Against = in.Against
	answer(w, http.StatusOK, d)
}

// selectFor leaves out what is long and that a view does not show.
func (v *lampView) selectFor(view viewDef) {
	if view.Sections == nil {
		return
	}
	v.keepPictures(view.Pictures)
	if !slices.Contains(view.Sections, "board_heat") {
		v.BoardHeat.TempK = nil
	}
	if !slices.Contains(view.Sections, "spectrum") {
		v.Spectrum = figure.SpectrumView{}
	}
}

// keepPictures keeps the pictures whose names begin so.
func (v *lampView) keepPictures(begin []string) {
	for name := range v.Pictures {
		keep := false
		for _, b := range begin {
			keep = keep || strings.HasPrefix(name, b)
		}
		if !keep {
			delete(v.Pictures, name)
		}
	}
}

// trial evaluates a design that is not that of the file, while the page waits; without full it is quick.
func (w *workspace) trial(rw http.ResponseWriter, r *http.Request, p *project.Project,
	full bool,
) (*figure.Evaluation, []finding.Finding, error) {
	ctx, done, err := w.brief(rw, r)
	if err != nil {
		return nil, nil, err
	}
	defer done()
	samples := -1
	if full {
		samples = 0
	}
	j := &job{ID: w.nextJob(), For: "trial"}
	return w.evaluate(ctx, p, samples, func(done, total int) { w.progress(j, done, total) })
}
