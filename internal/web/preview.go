package web

import (
	"bytes"
	"encoding/json"
	"maps"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/project"
)

// previewDiff answers a preview while its values move: the differences from the lamp of the file, which the page has.
type previewDiff struct {
	Against  int                        `json:"against"` // the number of that lamp
	Figures  figuresNow                 `json:"figures"` // that differ
	Added    []figureView               `json:"added,omitempty"`
	Gone     []string                   `json:"gone,omitempty"`
	Sections map[string]json.RawMessage `json:"sections"` // that differ, see lampSnapshot.list and patch
	Same     []string                   `json:"same"`     // sections that do not differ
}

// figuresNow is what of figures moves with a value: lists of one length.
type figuresNow struct {
	At    []int     `json:"at"` // index of the figure in the lamp of the file
	Text  []string  `json:"text"`
	Value []float64 `json:"value"`
}

// lampSnapshot is a lamp as a page has it: its figures, and the JSON of its sections. Previews are sent as differences
// from it.
type lampSnapshot struct {
	figures  map[string]int // index by key
	list     []figureView
	sections map[string]*sectionSnapshot
}

// sectionSnapshot is a section of a lamp; one that is no list has one item.
type sectionSnapshot struct {
	items  []map[string]json.RawMessage // fields of each; nil where it is no object
	byText map[string]int               // index by JSON
	byName map[string]int               // index by nameOf
}

// fieldsOf returns the fields of an object in JSON; nil of anything else.
func fieldsOf(data []byte) (fields map[string]json.RawMessage) {
	if len(data) > 0 && data[0] == '{' {
		_ = json.Unmarshal(data, &fields) // our own JSON
	}
	return fields
}

// nameOf tells an item from the others of its list: a finding by what it is about, anything else by its index.
func nameOf(fields map[string]json.RawMessage, index int) string {
	if check, ok := fields["check"]; ok {
		return string(check) + string(fields["subject"]) + string(fields["figure"])
	}
	return strconv.Itoa(index)
}

func newLampSnapshot(v *lampView) (*lampSnapshot, error) {
	h := &lampSnapshot{figures: map[string]int{}, list: v.Figures, sections: map[string]*sectionSnapshot{}}
	for i, f := range v.Figures {
		h.figures[f.Key] = i
	}
	for _, name := range sectionsOf("") {
		s := &sectionSnapshot{byText: map[string]int{}, byName: map[string]int{}}
		items, _ := v.section(name)
		for i, item := range items {
			data, err := shortJSON(item)
			if err != nil {
				return nil, err
			}
			fields := fieldsOf(data)
			s.items = append(s.items, fields)
			s.byText[string(data)], s.byName[nameOf(fields, i)] = i, i
		}
		h.sections[name] = s
	}
	return h, nil
}

// diff returns what of a lamp differs from the snapshot, in the named sections.
func (h *lampSnapshot) diff(v *lampView, sections []string) (*previewDiff, error) {
	out := &previewDiff{Sections: map[string]json.RawMessage{}, Same: []string{}}
	h.diffFigures(v, out)
	for _, name := range sections {
		data, err := h.sections[name].diff(v.section(name))
		switch {
		case err != nil:
			return nil, err
		case data == nil:
			out.Same = append(out.Same, name)
		default:
			out.Sections[name] = data
		}
	}
	return out, nil
}

// diffFigures sets the figures that differ.
func (h *lampSnapshot) diffFigures(v *lampView, out *previewDiff) {
	out.Figures = figuresNow{At: []int{}, Text: []string{}, Value: []float64{}}
	here := map[string]bool{}
	for _, f := range v.Figures {
		here[f.Key] = true
		at, ok := h.figures[f.Key]
		switch {
		case !ok || h.list[at].Title != f.Title || h.list[at].Kind != f.Kind:
			out.Added = append(out.Added, f)
		case h.list[at].Text != f.Text || h.list[at].Value != f.Value:
			now := &out.Figures
			now.At, now.Text, now.Value = append(now.At, at), append(now.Text, f.Text), append(now.Value, f.Value)
		}
	}
	for _, f := range h.list {
		if !here[f.Key] {
			out.Gone = append(out.Gone, f.Key)
		}
	}
}

// diff returns a section as differences from the snapshot, or nil where it does not differ: the patch of the section
// itself, or a list in which a number is the index of an equal item, a list is a patch, and anything else is an item.
func (s *sectionSnapshot) diff(items []any, many bool) (json.RawMessage, error) {
	same := len(items) == len(s.items)
	out := make([]any, len(items))
	for i, item := range items {
		data, err := shortJSON(item)
		if err != nil {
			return nil, err
		}
		if at, ok := s.byText[string(data)]; ok {
			same = same && at == i
			out[i] = at
			continue
		}
		same = false
		if out[i], err = s.patch(data, i, item); err != nil {
			return nil, err
		}
	}
	switch {
	case same:
		return nil, nil
	case many:
		return json.Marshal(out)
	}
	return json.Marshal(out[0])
}

// patch returns an item as an item of the snapshot with other fields: [its index, the fields that differ, the keys of
// those that are gone]. An item that is no object, or unlike any other, is returned as it is.
func (s *sectionSnapshot) patch(data []byte, index int, item any) (any, error) {
	fields := fieldsOf(data)
	at, ok := s.byName[nameOf(fields, index)]
	if !ok || fields == nil || s.items[at] == nil {
		return json.RawMessage(data), nil
	}
	set, gone := map[string]json.RawMessage{}, []string{}
	was := s.items[at]
	for key, value := range fields {
		if !bytes.Equal(value, was[key]) {
			set[key] = value
		}
	}
	for key := range was {
		if _, here := fields[key]; !here {
			gone = append(gone, key)
		}
	}
	slices.Sort(gone)
	if m, ok := item.(figure.Map); ok {
		for key, cells := range map[string][]float64{"ppfd": m.PPFD, "lux": m.Lux} {
			if _, moved := set[key]; !moved {
				continue
			}
			data, err := shortJSON(packCells(cells, m.NX))
			if err != nil {
				return nil, err
			}
			set[key] = data
		}
	}
	return []any{at, set, gone}, nil
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
	sections, taken := sectionsOf(in.View), removalsOf(in.Changes)
	if in.Full {
		v := newLampView(result, findings, true)
		v.selectFor(viewOf(in.View))
		v.keepPaths(taken)
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
	v.keepPaths(taken)
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

// picturesView is the pictures of the file's lamp that a view shows.
type picturesView struct {
	Pictures map[string]string `json:"pictures"`
}

// pictures answers with the pictures of the file's lamp that a view shows. The page names the lamp that it holds: where
// there is another one by now, it will read that first.
func (s *Server) pictures(w http.ResponseWriter, r *http.Request) {
	k := s.work
	k.mu.Lock()
	shown := k.shown
	k.mu.Unlock()
	if shown == nil || strconv.Itoa(shown.number) != r.URL.Query().Get("lamp") {
		refuse(w, http.StatusNotFound, "there is another lamp by now")
		return
	}
	v := lampView{Pictures: maps.Clone(shown.view.Pictures)}
	v.keepPictures(viewOf(r.URL.Query().Get("view")).Pictures)
	if v.Pictures == nil {
		v.Pictures = map[string]string{} // before they are drawn
	}
	answer(w, http.StatusOK, picturesView{v.Pictures})
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
