package web

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"time"

	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/project"
)

// trialView answers a trial while its values move: what differs from the lamp of the file, which the page holds.
type trialView struct {
	Against  int                        `json:"against"` // the number of that lamp
	Figures  map[string]figureNow       `json:"figures"` // that differ
	Added    []figureView               `json:"added,omitempty"`
	Gone     []string                   `json:"gone,omitempty"`
	Sections map[string]json.RawMessage `json:"sections"` // that differ; of a list, what stands in the other lamp's is told by its index
	Same     []string                   `json:"same"`     // sections that do not differ
}

// figureNow is what of a figure moves with a value.
type figureNow struct {
	Text  string  `json:"text"`
	Value float64 `json:"value"`
}

// toldAlways are sections that every view shows.
var toldAlways = []string{"counts", "knobs"}

// toldIn is which sections of a lamp a view shows; a view that is not listed is told all.
var toldIn = map[string][]string{
	"review":   {"findings"},
	"place":    {"maps", "place", "board", "emitters", "channels"},
	"channels": {"channels", "emitters"},
	"board":    {"board", "board_heat", "emitters", "channels", "stack", "cases"},
	"colour":   {"spectrum", "channels", "looks"},
	"watts":    {"flow", "orders"},
	"time":     {"cases"},
	"figures":  {},
	"parts":    {},
	"file":     {},
}

var toldAll = []string{"findings", "maps", "place", "board", "board_heat", "emitters", "channels", "stack", "cases", "spectrum", "looks", "flow", "orders", "notes"}

// picturesIn is which pictures a view shows, by the beginning of their names.
var picturesIn = map[string][]string{"place": {"place"}, "channels": {"windows"}, "board": {"layers", "temperature"}, "watts": {"flow"}, "colour": {"chroma", "rendering", "hues"}}

func toldFor(view string) []string {
	names, ok := toldIn[view]
	if !ok {
		names = toldAll
	}
	return append(names[:len(names):len(names)], toldAlways...)
}

// section returns a part of a lamp, a list as a list of its items.
func (v *lampView) section(name string) any {
	switch name {
	case "counts":
		return v.Counts
	case "knobs":
		return list(v.Knobs)
	case "findings":
		return list(v.Findings)
	case "maps":
		return list(v.Maps)
	case "place":
		return v.Place
	case "board":
		return v.Board
	case "board_heat":
		return v.BoardHeat
	case "emitters":
		return list(v.Emitters)
	case "channels":
		return list(v.Channels)
	case "stack":
		return list(v.Stack)
	case "cases":
		return list(v.Cases)
	case "spectrum":
		return v.Spectrum
	case "looks":
		return v.Looks
	case "flow":
		return list(v.Flow)
	case "orders":
		return list(v.Orders)
	case "notes":
		return list(v.Notes)
	}
	panic("web: no section " + name)
}

func list[T any](of []T) []any {
	out := make([]any, len(of))
	for i := range of {
		out[i] = of[i]
	}
	return out
}

// held is a lamp as pages hold it, written down.
type held struct {
	figures  map[string]figureView
	sections map[string]string
	items    map[string]map[string]int // by section and JSON
	length   map[string]int
}

func hold(v *lampView) (*held, error) {
	h := &held{figures: map[string]figureView{}, sections: map[string]string{}, items: map[string]map[string]int{}, length: map[string]int{}}
	for _, f := range v.Figures {
		h.figures[f.Key] = f
	}
	for _, name := range append(toldAll[:len(toldAll):len(toldAll)], toldAlways...) {
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

// differs tells what of a lamp is not as in the one that is held; only the named sections are looked at.
func (h *held) differs(v *lampView, sections []string) (*trialView, error) {
	out := &trialView{Figures: map[string]figureNow{}, Sections: map[string]json.RawMessage{}, Same: []string{}}
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
		told := make([]json.RawMessage, len(items))
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
			told[i] = data
		}
		if same {
			out.Same = append(out.Same, name)
			continue
		}
		data, err := json.Marshal(told)
		if err != nil {
			return nil, err
		}
		out.Sections[name] = data
	}
	return out, nil
}

// try computes values that are not in the file. It ends when the page no longer waits.
func (s *Server) try(w http.ResponseWriter, r *http.Request) {
	var in struct {
		Base    string   `json:"base"`
		Changes []change `json:"changes"`
		Full    bool     `json:"full"`    // with ranges and pictures
		View    string   `json:"view"`    // what the page shows, so that it is told no more
		Against int      `json:"against"` // number of the file's lamp that the page holds; 0 for none
	}
	if !take(w, r, &in) {
		return
	}
	k := s.work
	p, of, err := k.tried(in.Base, in.Changes)
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
	sections := toldFor(in.View)
	if in.Full {
		v := view(result, findings, true)
		if wanted, ok := toldIn[in.View]; ok {
			v.keepPictures(picturesIn[in.View])
			v.leaveOut(wanted)
		}
		answer(w, http.StatusOK, v)
		return
	}
	k.mu.Lock()
	var h *held
	if k.shown != nil && k.shown.number == in.Against && in.Against > 0 {
		h = k.shown.held
	}
	k.mu.Unlock()
	v := viewOf(result, findings, false, sections)
	if h == nil {
		answer(w, http.StatusOK, v)
		return
	}
	d, err := h.differs(v, sections)
	if err != nil {
		s.fail(w, err)
		return
	}
	d.Against = in.Against
	answer(w, http.StatusOK, d)
}

// leaveOut drops what is long and not shown in a view.
func (v *lampView) leaveOut(shown []string) {
	has := map[string]bool{}
	for _, n := range shown {
		has[n] = true
	}
	if !has["board_heat"] {
		v.BoardHeat.TempK = nil
	}
	if !has["spectrum"] {
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
func (w *workspace) trial(rw http.ResponseWriter, r *http.Request, p *project.Project, full bool) (*figure.Evaluation, []finding.Finding, error) {
	ctx, stop := context.WithTimeout(r.Context(), solveTime)
	defer stop()
	defer context.AfterFunc(w.ctx, stop)()
	_ = http.NewResponseController(rw).SetWriteDeadline(time.Now().Add(solveTime)) // a test's recorder has none
	samples := -1
	if full {
		samples = 0
	}
	w.mu.Lock()
	w.jobs++
	j := &job{ID: w.jobs, For: "trial"}
	w.mu.Unlock()
	return w.evaluate(ctx, p, samples, func(done, total int) { w.progress(j, done, total) })
}
