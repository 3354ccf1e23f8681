package web

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"
	"unicode"

	"lampwright/internal/atomicfile"
	"lampwright/internal/figure"
	"lampwright/internal/finding"
	"lampwright/internal/project"
	"lampwright/internal/source"
)

// Bounds of what is kept of projects.
const (
	maxDesks  = 8  // workspaces that are open at once
	maxRecent = 24 // projects that are remembered
)

// projects are the designs that a server can show: that of the command line, its variants, and those that were opened
// or made before. A request names one by its id; no path of a request is ever opened.
type projects struct {
	main   *Server
	o      Options
	sheets sheets

	mu    sync.Mutex
	desks map[string]*Server // those that are open besides the main one, by id
	used  []string           // their ids, the last used one last
	made  []place            // that pages of this server made
}

// place is where a design stands.
type place struct {
	Folder string    `json:"folder"`
	File   string    `json:"file"`
	Name   string    `json:"name,omitempty"`
	When   time.Time `json:"when,omitzero"` // it was opened last
}

// id names a place to the pages.
func (p place) id() string { return hashOf([]byte(p.Folder + "\x00" + p.File)) }

// projectView is a design that a page can go to.
type projectView struct {
	ID      string `json:"id"`
	Name    string `json:"name"`
	Folder  string `json:"folder"`
	File    string `json:"file"`
	Here    bool   `json:"here"`    // it stands in the folder of the present one: a variant
	Present bool   `json:"present"` // it is the one that the page shows
}

// projectsView are the designs that a page can go to: the present one, its variants, then others, the last used first.
type projectsView struct {
	Present  string        `json:"present"`
	Projects []projectView `json:"projects"`
	Beside   string        `json:"beside"` // the folder in which a new project is made; empty where none is
}

// idView names a design that was made.
type idView struct {
	ID string `json:"id"`
}

// ServeHTTP answers a request of the interface by the workspace that it names.
func (p *projects) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	id := r.URL.Query().Get("project")
	if id == "" {
		p.main.api.ServeHTTP(w, r)
		return
	}
	desk, err := p.open(id)
	if err != nil {
		refuse(w, http.StatusNotFound, err.Error())
		return
	}
	desk.api.ServeHTTP(w, r)
}

// open returns the workspace of a design that is known; it opens one that is not open yet.
func (p *projects) open(id string) (*Server, error) {
	if id == p.main.work.place().id() {
		return p.main, nil
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if i := slices.Index(p.used, id); i >= 0 {
		p.used = append(slices.Delete(p.used, i, i+1), id)
	}
	if desk := p.desks[id]; desk != nil {
		return desk, nil
	}
	known := p.known()
	i := slices.IndexFunc(known, func(at place) bool { return at.id() == id })
	if i < 0 {
		return nil, errors.New("there is no such project; it may have been moved or removed")
	}
	if len(p.used) >= maxDesks {
		if !p.closeIdle() {
			return nil, fmt.Errorf("%d projects are open; close the pages of one of them", maxDesks)
		}
	}
	o := p.o
	o.Folder, o.File = known[i].Folder, known[i].File
	work, err := openWorkspace(o)
	if err != nil {
		return nil, fmt.Errorf("the project %s cannot be opened: %w", known[i].Folder, err)
	}
	desk := newDesk(work, p)
	p.desks[id], p.used = desk, append(p.used, id)
	work.reload()
	return desk, nil
}

// closeIdle closes the workspace that no page has open and that was used longest ago; it is false where there is none.
func (p *projects) closeIdle() bool {
	for i, id := range p.used {
		if p.desks[id].work.hub.idle() {
			p.desks[id].work.close()
			delete(p.desks, id)
			p.used = slices.Delete(p.used, i, i+1)
			return true
		}
	}
	return false
}

func (p *projects) close() {
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, desk := range p.desks {
		desk.work.close()
	}
}

// idle reports whether no page listens.
func (h *hub) idle() bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	return len(h.listeners) == 0
}

// place returns where the design of a workspace stands.
func (w *workspace) place() place {
	folder, err := filepath.Abs(w.o.Folder)
	if err != nil {
		folder = w.o.Folder
	}
	return place{Folder: folder, File: w.name}
}

// variants returns the designs of the folder of a workspace, the workspace's own among them.
func (w *workspace) variants() []place {
	at := w.place()
	list := []place{at}
	for _, name := range w.designsHere() {
		if !strings.Contains(name, "/") {
			list = append(list, place{Folder: at.Folder, File: name})
		}
	}
	slices.SortFunc(list[1:], func(a, b place) int { return strings.Compare(a.File, b.File) })
	return list
}

// known returns every design that a page may open; the lock must be held.
func (p *projects) known() []place {
	list := p.main.work.variants()
	for _, id := range p.used {
		if desk := p.desks[id]; desk != nil {
			list = append(list, desk.work.variants()...)
		}
	}
	return append(append(list, p.made...), p.recent()...)
}

// recent returns the projects that were opened before, the last one first. What cannot be read is none.
func (p *projects) recent() []place {
	if p.o.Recent == "" {
		return nil
	}
	data, err := os.ReadFile(p.o.Recent)
	if err != nil || len(data) > maxText {
		return nil
	}
	var list []place
	if json.Unmarshal(data, &list) != nil {
		return nil
	}
	return slices.DeleteFunc(list[:min(len(list), maxRecent)], func(at place) bool {
		info, err := os.Stat(filepath.Join(at.Folder, at.File))
		return err != nil || !info.Mode().IsRegular() || filepath.Base(at.File) != at.File
	})
}

// remember puts a design at the head of those that were opened. A failure loses no more than this.
func (p *projects) remember(w *workspace) {
	if p.o.Recent == "" {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	at := w.place()
	at.Name, at.When = w.title(), p.o.Now().UTC()
	list := slices.DeleteFunc(p.recent(), func(old place) bool { return old.id() == at.id() })
	list = slices.Insert(list, 0, at)
	data, err := json.MarshalIndent(list[:min(len(list), maxRecent)], "", "  ")
	if err != nil || os.MkdirAll(filepath.Dir(p.o.Recent), 0o755) != nil {
		return
	}
	_ = atomicfile.Save(p.o.Recent, append(data, '\n'))
}

// title returns the name of the lamp that the present text states; the file's where it states none.
func (w *workspace) title() string {
	w.mu.Lock()
	text := w.text
	w.mu.Unlock()
	return titleOf(w.name, text)
}

func titleOf(file string, text []byte) string {
	f, _ := source.Read(file, text)
	if f == nil {
		return file
	}
	var d project.Design
	f.Decode(&d) // what cannot be read names no lamp
	if d.Name.Set && d.Name.S != "" {
		return d.Name.S
	}
	return file
}

// listProjects lists the designs that a page can go to.
func (s *Server) listProjects(w http.ResponseWriter, r *http.Request) {
	s.work.reload()
	s.all.remember(s.work)
	here := s.work.place()
	v := projectsView{Present: here.id(), Projects: []projectView{}, Beside: filepath.Dir(here.Folder)}
	seen := map[string]bool{}
	add := func(at place) {
		if seen[at.id()] || len(v.Projects) >= maxHere {
			return
		}
		seen[at.id()] = true
		name := at.Name
		if at.Folder == here.Folder {
			text, err := s.work.textAt(at.File)
			if err != nil {
				return
			}
			name = titleOf(at.File, text)
		}
		v.Projects = append(v.Projects, projectView{
			at.id(), name, at.Folder, at.File, at.Folder == here.Folder, at.id() == v.Present,
		})
	}
	for _, at := range s.work.variants() {
		add(at)
	}
	s.all.mu.Lock()
	known := s.all.known()
	s.all.mu.Unlock()
	for _, at := range known {
		if at.Name == "" {
			at.Name = filepath.Base(at.Folder)
		}
		add(at)
	}
	answer(w, http.StatusOK, v)
}

// textAt returns the text of a design of the folder.
func (w *workspace) textAt(file string) ([]byte, error) {
	if file == w.name {
		w.mu.Lock()
		defer w.mu.Unlock()
		return w.text, nil
	}
	return readText(w.folder, file)
}

// maxName bounds the name of a lamp that a page gives.
const maxName = 80

// typedName checks the name of a lamp that a page gives, and returns it with the file name that is made of it.
func typedName(given string) (name, slug string, err error) {
	name = strings.TrimSpace(given)
	switch {
	case name == "":
		return "", "", errors.New("the name is empty; give one, such as: bar with 60° lenses")
	case len([]rune(name)) > maxName:
		return "", "", fmt.Errorf("the name has more than %d characters", maxName)
	case strings.ContainsFunc(name, unicode.IsControl):
		return "", "", errors.New("the name contains a control character")
	}
	if slug = slugOf(name); slug == "" {
		return "", "", errors.New("the name has no letter or digit in ASCII for the file name; add one")
	}
	return name, slug, nil
}

// makeVariant writes the design, with the changes that are not saved, into a file of its own beside it, under a name.
func (s *Server) makeVariant(w http.ResponseWriter, r *http.Request) {
	var in struct {
		previewed
		Name string `json:"name"`
	}
	if !decode(w, r, &in) {
		return
	}
	name, slug, err := typedName(in.Name)
	if err != nil {
		s.fail(w, err)
		return
	}
	at, err := s.work.addVariant(in.Base, in.Changes, name, slug+".yaml")
	if err != nil {
		s.fail(w, err)
		return
	}
	answer(w, http.StatusOK, idView{at.id()})
}

func (w *workspace) addVariant(base string, changes []change, name, file string) (place, error) {
	unlock, err := w.lockFolder()
	if err != nil {
		return place{}, err
	}
	defer unlock()
	design, changed, err := w.spliced(base, append(slices.Clone(changes), change{Path: "name", Text: name}))
	if err != nil {
		return place{}, err
	}
	for of := range changed {
		if of != w.name {
			return place{}, fmt.Errorf("unsaved changes of %s belong to all variants; save or discard them first", of)
		}
	}
	if text, ok := changed[w.name]; ok {
		design = text
	}
	if _, err := w.root.Lstat(file); err == nil {
		return place{}, fmt.Errorf("%s already exists; choose another name", file)
	}
	if err := w.replace(file, nil, design); err != nil {
		return place{}, err
	}
	return place{Folder: w.place().Folder, File: file}, nil
}

// makeProject makes an empty folder beside that of the present project.
func (s *Server) makeProject(w http.ResponseWriter, r *http.Request) {
	var in struct {
		Name string `json:"name"`
	}
	if !decode(w, r, &in) {
		return
	}
	_, slug, err := typedName(in.Name)
	if err != nil {
		s.fail(w, err)
		return
	}
	at := place{Folder: filepath.Join(filepath.Dir(s.work.place().Folder), slug), File: project.DesignFile}
	err = os.Mkdir(at.Folder, 0o755)
	switch {
	case errors.Is(err, fs.ErrExist):
		err = fmt.Errorf("the folder %s already exists; choose another name", at.Folder)
	case err != nil:
		err = fmt.Errorf("the folder %s cannot be made: %w", at.Folder, err)
	default:
		s.all.mu.Lock()
		s.all.made = append(s.all.made, at)
		s.all.mu.Unlock()
		answer(w, http.StatusOK, idView{at.id()})
		return
	}
	s.fail(w, err)
}

// variantView is a variant beside the others: its key figures, findings, and in what it differs from the present one.
type variantView struct {
	ID      string         `json:"id"`
	Name    string         `json:"name"`
	File    string         `json:"file"`
	Wrong   string         `json:"wrong,omitempty"` // why there are no figures
	Counts  map[string]int `json:"counts"`
	Figures []figureView   `json:"figures"` // those of variantFigures
	Differs []string       `json:"differs"` // the first values in which it differs from the present one
	More    int            `json:"more"`    // further ones
}

// variantFigures are what variants are compared by.
var variantFigures = []string{
	"target.ppfd", "target.dli", "target.uniformity", "lamp.cct", "lamp.ra", "lamp.junction-max-ambient", "light.spill",
	"mains.power", "cost.bom",
}

// Bounds of variants beside each other.
const (
	maxVariants = 12
	maxDiffers  = 6 // differences that are named
)

// compareVariants answers with the variants of the folder beside each other, as their files have them.
func (s *Server) compareVariants(w http.ResponseWriter, r *http.Request) {
	if !decode(w, r, &struct{}{}) {
		return
	}
	s.longer(w, r, "variants", "variants", func(ctx context.Context, progress func(done, total int)) (any, error) {
		list := s.work.variants()
		list = list[:min(len(list), maxVariants)]
		out := make([]variantView, 0, len(list))
		for i, at := range list {
			progress(i, len(list))
			v, err := s.work.variant(ctx, at)
			if err != nil {
				return nil, err
			}
			out = append(out, v)
		}
		return out, nil
	})
}

// variant computes one of the designs of the folder.
func (w *workspace) variant(ctx context.Context, at place) (v variantView, err error) {
	v = variantView{ID: at.id(), File: at.File, Name: at.File, Counts: map[string]int{}}
	defer fillLists(&v)
	text, err := w.textAt(at.File)
	if err != nil {
		v.Wrong = err.Error()
		return v, nil
	}
	v.Name = titleOf(at.File, text)
	now, err := w.textAt(w.name)
	if err != nil {
		return v, err
	}
	a, _ := source.Read(at.File, text)
	if b, _ := source.Read(w.name, now); a != nil && b != nil {
		list := differencesOf(source.Differ(b, "", a, ""))
		list = slices.DeleteFunc(list, func(d difference) bool { return d.In == "" && d.What == "name" })
		for _, d := range list[:min(len(list), maxDiffers)] {
			v.Differs = append(v.Differs, d.said())
		}
		v.More = max(0, len(list)-maxDiffers)
	}
	p, problems := project.LoadTextOn(at.File, text, w.folder, w.library)
	if p == nil {
		v.Wrong = problems[0].Error()
		return v, nil
	}
	result, findings, err := w.evaluate(ctx, p, 0, func(int, int) {})
	if err != nil {
		if ctx.Err() != nil {
			return v, err
		}
		v.Wrong = err.Error()
		return v, nil
	}
	v.fill(result, findings)
	return v, nil
}

// fill adds figures and counts.
func (v *variantView) fill(r *figure.Evaluation, findings []finding.Finding) {
	for s, n := range finding.Count(findings) {
		v.Counts[s.String()] = n
	}
	for _, key := range variantFigures {
		if f, ok := r.Figure(key); ok {
			v.Figures = append(v.Figures, newFigureView(&f, true))
		}
	}
}

// newDesk returns the interface over a workspace.
func newDesk(work *workspace, all *projects) *Server {
	s := &Server{work: work, all: all}
	mux := http.NewServeMux()
	s.routes(mux)
	outer := http.NewServeMux()
	outer.Handle("/api/", compressed(mux))
	outer.HandleFunc("GET /api/events", s.events)
	outer.HandleFunc("POST /api/pick", s.pick) // in pieces
	s.api = outer
	return s
}
