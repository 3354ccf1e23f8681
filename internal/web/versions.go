package web

import (
	"context"
	"fmt"
	"io/fs"
	"net/http"
	"path"
	"regexp"
	"slices"
	"strings"
	"time"

	"lampwright/internal/inputfile"
	"lampwright/internal/lamp"
	"lampwright/internal/project"
	"lampwright/internal/quantity"
	"lampwright/internal/source"
)

// Other is a project that is read to be compared with, and never written.
type Other struct {
	Title  string
	Folder fs.FS  // opened so that nothing beyond it can be read
	File   string // name of its design file
}

// version is a design that the present one can be compared with.
type version struct {
	ID    string `json:"id"`
	Kind  string `json:"kind"` // snapshot, here, other or demo
	Title string `json:"title"`
	When  string `json:"when,omitempty"` // of a snapshot, in UTC
	// Differs is in how many values the present design differs from a snapshot, and First the first of them.
	Differs *int     `json:"differs,omitempty"`
	First   []string `json:"first,omitempty"`
}

// Bounds of what is offered from the folder.
const (
	maxHere  = 60
	maxLooks = 400 // entries of the folder that are looked at
)

// versions lists what can be compared with: snapshots, designs in the folder and in folders within it, the projects
// given on the command line, and the demos. A request names one of this list; no path of a request is ever opened.
func (w *workspace) versions() []version {
	list := []version{}
	for _, n := range w.snapshotNames() {
		v := version{ID: "snapshot/" + n, Kind: "snapshot", Title: n}
		v.When, _ = stampOf(n)
		list = append(list, v)
	}
	for _, name := range w.designsHere() {
		list = append(list, version{ID: "here/" + name, Kind: "here", Title: name})
	}
	for i, o := range w.o.Others {
		list = append(list, version{ID: fmt.Sprintf("other/%d", i), Kind: "other", Title: o.Title})
	}
	for _, b := range w.o.Templates {
		if _, ok := b.Files[project.DesignFile]; ok && len(b.Files) == 1 {
			list = append(list, version{ID: "demo/" + b.Key, Kind: "demo", Title: b.Title})
		}
	}
	return list
}

// stampOf returns when a snapshot was taken, by its name.
func stampOf(name string) (string, bool) {
	if len(name) < len(stampLayout) {
		return "", false
	}
	t, err := time.Parse(stampLayout, name[:len(stampLayout)])
	return t.Format(time.RFC3339), err == nil
}

// designsHere returns the design files of the folder besides the one that is open: *.yaml in it, and lamp.yaml in the
// folders within it. Links, and what begins with a dot, are passed over.
func (w *workspace) designsHere() []string {
	fsys := w.folder
	entries, err := fs.ReadDir(fsys, ".")
	if err != nil {
		return nil
	}
	var out []string
	for _, e := range entries[:min(len(entries), maxLooks)] {
		name := e.Name()
		if len(out) == maxHere {
			break
		}
		switch {
		case strings.HasPrefix(name, "."), name == w.name:
			continue
		case e.Type().IsRegular() && path.Ext(name) == ".yaml":
		case e.IsDir():
			name += "/" + project.DesignFile
			if info, err := w.root.Lstat(name); err != nil || !info.Mode().IsRegular() {
				continue
			}
		default:
			continue
		}
		if isDesign(fsys, name) {
			out = append(out, name)
		}
	}
	return out
}

var designKey = regexp.MustCompile(`(?m)^lampwright\s*:`)

// isDesign reports whether a file says at its beginning that it is a design.
func isDesign(fsys fs.FS, name string) bool {
	head, err := inputfile.Read(fsys, name, 16<<10)
	return err == nil && designKey.Match(head)
}

// openVersion is one of the list, read.
type openVersion struct {
	name string // of its design file
	text []byte
	own  fs.FS // the folder of its own parts; nil where it has none
}

// opened reads one of the list. Only what the list holds is read.
func (w *workspace) opened(id string) (v openVersion, err error) {
	found := false
	for _, one := range w.versions() {
		found = found || one.ID == id
	}
	if !found {
		return v, fmt.Errorf("there is no version %q to compare with", id)
	}
	kind, rest, _ := strings.Cut(id, "/")
	v = openVersion{name: w.name, own: w.folder}
	switch kind {
	case "snapshot":
		v.text, err = w.snapshot(rest)
	case "here":
		v.name = path.Base(rest)
		if dir := path.Dir(rest); dir != "." {
			if v.own, err = fs.Sub(v.own, dir); err != nil {
				return v, err
			}
		}
		v.text, err = readText(v.own, v.name)
	case "other":
		for i, o := range w.o.Others {
			if fmt.Sprint(i) == rest {
				v.name, v.own = o.File, o.Folder
			}
		}
		v.text, err = readText(v.own, v.name)
	case "demo":
		for _, b := range w.o.Templates {
			if b.Key == rest {
				v.text, v.name, v.own = b.Files[project.DesignFile], project.DesignFile, nil
			}
		}
	}
	return v, err
}

// readText reads a design file of a folder.
func readText(fsys fs.FS, name string) ([]byte, error) {
	return inputfile.Read(fsys, name, maxText-1)
}

func (s *Server) versions(w http.ResponseWriter, r *http.Request) {
	list := s.work.versions()
	s.work.tell(list)
	answer(w, http.StatusOK, list)
}

// comparedView is another version, computed.
type comparedView struct {
	Text string    `json:"text"`
	Lamp *lampView `json:"lamp"`
}

// compare computes another version.
func (s *Server) compare(w http.ResponseWriter, r *http.Request) {
	var in struct {
		ID string `json:"id"`
	}
	if !decode(w, r, &in) {
		return
	}
	o, err := s.work.opened(in.ID)
	if err != nil {
		s.fail(w, err)
		return
	}
	p, problems := project.LoadTextOn(o.name, o.text, o.own, s.work.library)
	if p == nil {
		s.fail(w, problems)
		return
	}
	s.longer(w, r, "compare", "comparison", func(ctx context.Context, progress func(done, total int)) (any, error) {
		result, findings, err := s.work.evaluate(ctx, p, 0, progress)
		if err != nil {
			return nil, err
		}
		v := newLampView(result, findings, true)
		v.Pictures = nil // the page draws both boards to one scale
		return comparedView{Text: string(o.text), Lamp: v}, nil
	})
}

// requirement is the required range of a result; of some results without one, whether more or less is better.
type requirement struct {
	Key   string      `json:"key"`
	Path  string      `json:"path,omitempty"` // at which the design states it, or would
	Dim   string      `json:"dim,omitempty"`  // of the values at Path
	Min   *float64    `json:"min,omitempty"`  // in the unit of the result
	Max   *float64    `json:"max,omitempty"`
	Value string      `json:"value,omitempty"` // the required value: of a colour with its tolerance, of others without
	Text  string      `json:"text"`
	At    *source.Pos `json:"at,omitempty"` // of the requirement; absent where there is none
	More  int         `json:"more"`         // without a requirement: 1 if more is better, -1 if less
}

// between sets the two ends of a requirement.
func (w *requirement) between(v source.Value, dim quantity.Dim) {
	lo, hi := v.Lo, v.Hi
	w.Min, w.Max, w.Text = &lo, &hi, quantity.Format(lo, dim)+" to "+quantity.Format(hi, dim)
	switch {
	case w.Key == "lamp.duv":
		w.Text = quantity.Signed(lo, 4) + " to " + quantity.Signed(hi, 4)
		w.Value = fmt.Sprintf("%.4g ± %.4g", (lo+hi)/2, (hi-lo)/2)
	case dim == quantity.CCT:
		w.Value = fmt.Sprintf("%.5g K ± %.4g K", (lo+hi)/2, (hi-lo)/2)
	}
}

// requirements returns the requirements of the design, stated or not, and some results without one where more or less
// is better. A requirement is read as the review reads it: a tolerance is a range, a value alone is a minimum or a
// maximum.
func requirements(l *lamp.Lamp) []requirement {
	d := &l.Design.Requirements
	out := []requirement{}
	add := func(key, field string, v source.Value, dim quantity.Dim, upper bool) {
		w := requirement{Key: key, Path: "requirements." + field, Dim: dim.Name(), Text: "not stated"}
		if !v.Set {
			out = append(out, w)
			return
		}
		w.At, w.Value = &v.At, quantity.Format(v.SI, dim)
		switch {
		case v.Lo != v.Hi:
			w.between(v, dim)
		case upper:
			w.Max, w.Text = &v.SI, "≤ "+quantity.Format(v.SI, dim)
		default:
			w.Min, w.Text = &v.SI, "≥ "+quantity.Format(v.SI, dim)
		}
		out = append(out, w)
	}
	add("target.ppfd", "ppfd", d.PPFD, quantity.PPFD, false)
	add("target.uniformity", "uniformity", d.Uniformity, quantity.Ratio, false)
	add("target.dli", "dli", d.DLI, quantity.DLI, false)
	add("lamp.cct", "cct", d.Colour(), quantity.CCT, false)
	duv, _ := d.Whiteness()
	add("lamp.duv", "duv", duv, quantity.None, false)
	add("lamp.ra", "ra", d.Ra, quantity.None, false)
	add("lamp.rf", "rf", d.Rf, quantity.None, false)
	add("lamp.r9", "r9", d.R9, quantity.None, false)
	add("lamp.junction-max-ambient", "max_junction", d.MaxJunction, quantity.Temperature, true)
	add("light.spill", "spill", d.Spill, quantity.Ratio, true)
	add("cost.bom", "budget", d.Budget, quantity.Money, true)
	return preferences(out)
}

// preferred are results of which more (1) or less (-1) is better.
var preferred = []struct {
	more int
	keys []string
}{
	{1, []string{
		"target.uniformity", "lamp.ra", "lamp.rf", "lamp.r9", "lamp.efficacy", "lamp.ppe", "mains.efficacy",
		"mains.ppe", "light.incident-substrate", "viewer.exposure-time",
	}},
	{-1, []string{
		"light.spill", "cost.bom", "cost.electricity-year", "mains.energy-year", "mains.power", "lamp.heat",
		"lamp.junction", "lamp.junction-max-ambient", "lamp.junction-max-ambient-fan-failure",
		"lamp.junction-fan-failure", "sink.temperature", "sink.temperature-max-ambient",
		"sink.temperature-max-ambient-fan-failure", "board.dielectric", "light.glass-loss", "viewer.blue-distance",
		"fan.noise",
	}},
}

// preferences adds to requirements what is better of results without one.
func preferences(out []requirement) []requirement {
	for _, s := range preferred {
		text := map[int]string{1: "more is better", -1: "less is better"}[s.more]
		for _, key := range s.keys {
			i := slices.IndexFunc(out, func(w requirement) bool { return w.Key == key })
			switch {
			case i < 0:
				out = append(out, requirement{Key: key, More: s.more, Text: text})
			case out[i].At == nil:
				out[i].More, out[i].Text = s.more, text
			}
		}
	}
	return out
}
