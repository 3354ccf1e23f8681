package web

import (
	"bytes"
	"fmt"
	"io/fs"
	"maps"
	"net/http"
	"path"
	"slices"
	"strings"
	"time"

	"lampwright/internal/project"
	"lampwright/internal/source"
)

// overlay is a folder in which some files have another text, as after a save.
type overlay struct {
	under fs.FS
	files texts
}

// Open opens a file, the given text instead of the one on the disk.
func (o overlay) Open(name string) (fs.File, error) {
	text, ok := o.files[name]
	switch {
	case !ok:
		return o.under.Open(name)
	case text == nil:
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	return &heldFile{bytes.NewReader(text), path.Base(name)}, nil
}

// Glob lists what is on the disk and what would be.
func (o overlay) Glob(pattern string) ([]string, error) {
	found, err := fs.Glob(o.under, pattern)
	names := found[:0:0]
	for _, n := range found {
		if text, ok := o.files[n]; !ok || text != nil {
			names = append(names, n)
		}
	}
	for n, text := range o.files {
		if ok, _ := path.Match(pattern, n); ok && text != nil && !slices.Contains(names, n) {
			names = append(names, n)
		}
	}
	slices.Sort(names)
	return names, err
}

// heldFile is a file in memory.
type heldFile struct {
	*bytes.Reader
	name string
}

func (f *heldFile) Stat() (fs.FileInfo, error) { return f, nil }
func (f *heldFile) Close() error               { return nil }
func (f *heldFile) Name() string               { return f.name }
func (f *heldFile) Mode() fs.FileMode          { return 0o644 }
func (f *heldFile) ModTime() time.Time         { return time.Time{} }
func (f *heldFile) IsDir() bool                { return false }
func (f *heldFile) Sys() any                   { return nil }

// kindView is one kind of part with the keys that its files may hold.
type kindView struct {
	Kind string       `json:"kind"` // key in a file of parts: emitters
	Doc  string       `json:"doc"`
	Keys []source.Key `json:"keys"`
}

// partView is one part of the project's own files.
type partView struct {
	Kind       string     `json:"kind"`
	ID         string     `json:"id"`
	Name       string     `json:"name"`
	File       string     `json:"file"`
	Line       int        `json:"line"`
	Path       string     `json:"path"` // such as emitters[0]
	Fictitious bool       `json:"fictitious"`
	Uses       []string   `json:"uses"` // where the design names it
	Values     []partLeaf `json:"values"`
}

// partLeaf is one text of a part as stated in the file.
type partLeaf struct {
	Path string `json:"path"` // within the part: flux, flux.source, forward_voltage[0.35 A]
	Text string `json:"text"`
	Line int    `json:"line"`
}

// libraryPart is a built-in part that can be copied.
type libraryPart struct {
	Kind string `json:"kind"`
	ID   string `json:"id"`
	Name string `json:"name"`
	Used bool   `json:"used"`
	Own  bool   `json:"own"` // a part of the project replaces it
	// Info is its key data and Price its unit price, as its file states them; File and Line are its position.
	Info  string `json:"info"`
	Price string `json:"price"`
	File  string `json:"file"`
	Line  int    `json:"line"`
}

// partPlace is where the design names a part.
type partPlace struct {
	Kind string `json:"kind"`
	ID   string `json:"id"`
	Path string `json:"path"` // channels[0].driver
}

type partsView struct {
	Hash    string        `json:"hash"` // of the project that this was read from
	Kinds   []kindView    `json:"kinds"`
	Own     []partView    `json:"own"`
	Library []libraryPart `json:"library"`
	Places  []partPlace   `json:"places"`
	// OwnFile is the file that a new part goes to, which may not exist yet; Counts is the parts of each kind in it.
	OwnFile string         `json:"own_file"`
	Counts  map[string]int `json:"counts"`
}

// parts answers with the project's own parts, value by value, and with what can be copied.
func (s *Server) parts(w http.ResponseWriter, r *http.Request) {
	s.work.reload()
	answer(w, http.StatusOK, s.work.partsView())
}

func (w *workspace) partsView() partsView {
	w.mu.Lock()
	own, design := w.own, w.text
	v := partsView{Hash: w.hash, Own: []partView{}}
	w.mu.Unlock()
	f, _ := source.Read(w.name, design)
	used := named(f)
	v.Kinds = partKinds()
	for _, key := range slices.Sorted(maps.Keys(used)) {
		kind, id, _ := strings.Cut(key, " ")
		for _, at := range used[key] {
			v.Places = append(v.Places, partPlace{kind, id, at})
		}
	}
	v.OwnFile, v.Counts = ownFile(own, v.Kinds)
	mine := map[string]bool{}
	for _, name := range slices.Sorted(maps.Keys(own)) {
		for _, p := range partsIn(name, own[name], v.Kinds) {
			p.Uses = append([]string{}, used[p.Kind+" "+p.ID]...)
			mine[p.Kind+" "+p.ID] = true
			v.Own = append(v.Own, p)
		}
	}
	at := partsOf(w.o.Library)
	for _, e := range w.library.List() {
		key := e.Key + " " + e.ID
		if where, ok := at[key]; ok {
			pos, _ := where.file.At(where.path)
			v.Library = append(v.Library, libraryPart{
				e.Key, e.ID, e.Name, len(used[key]) > 0, mine[key], e.Info, e.Price,
				"library/" + path.Base(pos.File), pos.Line,
			})
		}
	}
	fillLists(&v)
	return v
}

// ownFile returns the file that a new part from a datasheet goes to, and the number of parts of each kind in it: the
// first of parts/own.yaml, parts/own-2.yaml and so on that is not marked as fictitious, or does not exist.
func ownFile(own map[string][]byte, kinds []kindView) (string, map[string]int) {
	for n := 1; ; n++ {
		name := "parts/own.yaml"
		if n > 1 {
			name = fmt.Sprintf("parts/own-%d.yaml", n)
		}
		counts := map[string]int{}
		text, ok := own[name]
		if !ok {
			return name, counts
		}
		f, problems := source.Read(name, text)
		if f == nil || len(problems) > 0 || fictitious(f) {
			continue
		}
		for _, k := range kinds {
			counts[k.Kind] = items(f, k.Kind)
		}
		return name, counts
	}
}

// fictitious reports whether a file of parts is marked so.
func fictitious(f *source.File) (marked bool) {
	for _, l := range f.Leaves("fictitious") {
		marked = l.Text == "true" || l.Text == "yes"
	}
	return marked
}

// partKinds returns the kinds of parts with the keys that their files may hold.
func partKinds() (out []kindView) {
	for _, k := range source.Keys(project.PartsFile{}) {
		if len(k.Keys) > 0 {
			out = append(out, kindView{k.Key, k.Doc, k.Keys})
		}
	}
	return out
}

// partsIn returns the parts of a file, as far as it can be read.
func partsIn(name string, text []byte, kinds []kindView) (out []partView) {
	f, _ := source.Read(name, text)
	if f == nil {
		return nil
	}
	marked := fictitious(f)
	for _, k := range kinds {
		for i := 0; ; i++ {
			at := fmt.Sprintf("%s[%d]", k.Kind, i)
			pos, ok := f.At(at)
			if !ok {
				break
			}
			p := partView{Kind: k.Kind, File: name, Line: pos.Line, Path: at, Fictitious: marked, Values: []partLeaf{}}
			for _, l := range f.Leaves(at) {
				within := strings.TrimPrefix(strings.TrimPrefix(l.Path, at), ".")
				switch within {
				case "id":
					p.ID = l.Text
				case "name":
					p.Name = l.Text
				}
				p.Values = append(p.Values, partLeaf{within, l.Text, l.At.Line})
			}
			out = append(out, p)
		}
	}
	return out
}

// copyPart puts a part into a file of the project's own, where it can be changed.
func (s *Server) copyPart(w http.ResponseWriter, r *http.Request) {
	var in struct {
		Base string `json:"base"`
		Kind string `json:"kind"`
		ID   string `json:"id"`
		As   string `json:"as"` // its id in the project
	}
	if !decode(w, r, &in) {
		return
	}
	if err := s.work.copyPart(in.Base, in.Kind, in.ID, in.As); err != nil {
		s.fail(w, err)
		return
	}
	answer(w, http.StatusOK, s.work.state())
}

func (w *workspace) copyPart(base, kind, id, as string) error {
	if as == "" || len(as) > 60 || strings.Trim(as,
		"abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-") != "" {
		return fmt.Errorf("an id consists of letters, digits and hyphens, such as %s-mine", id)
	}
	text, err := w.textToCopy(kind, id)
	if err != nil {
		return err
	}
	name := "parts/" + as + ".yaml"
	f, problems := source.Read(name, text)
	if len(problems) > 0 {
		return problems
	}
	if text, err = f.Splice(kind+"[0].id", as); err != nil {
		return err
	}
	unlock, err := w.lockFolder()
	if err != nil {
		return err
	}
	defer unlock()
	w.mu.Lock()
	defer w.mu.Unlock()
	w.reloadLocked()
	if !w.exists || base != w.hash {
		return errConflict
	}
	if _, err := w.root.Lstat(name); err == nil {
		return fmt.Errorf("%s already exists; enter another id", name)
	}
	changed := texts{name: text}
	if _, problems := w.load(w.text, changed); len(problems) > len(w.problems) {
		return problems
	}
	return w.put(changed)
}

// textToCopy returns a parts file with one part, line for line as in the project's own parts or the parts library.
func (w *workspace) textToCopy(kind, id string) ([]byte, error) {
	w.mu.Lock()
	own := w.own
	w.mu.Unlock()
	for _, name := range slices.Sorted(maps.Keys(own)) {
		if text, ok := copyOf(name, own[name], []kindView{{Kind: kind}}, id); ok {
			return append([]byte(fmt.Sprintf("# Copied from the part %s of %s.\n", id, name)), text...), nil
		}
	}
	return libraryText(w.o.Library, kind, id)
}

// libraryText returns a parts file with one built-in part.
func libraryText(library fs.FS, kind, id string) ([]byte, error) {
	names, err := fs.Glob(library, "parts/*.yaml")
	if err != nil {
		return nil, err
	}
	for _, name := range names {
		all, err := fs.ReadFile(library, name)
		if err != nil {
			return nil, err
		}
		if text, ok := copyOf(name, all, []kindView{{Kind: kind}}, id); ok {
			head := fmt.Sprintf(
				"# Copied from the built-in part %s, which is fictitious. Remove the mark when every value is "+
					"from a datasheet.\n# It replaces the built-in part of the same id.\n",
				id,
			)
			return append([]byte(head), text...), nil
		}
	}
	return nil, fmt.Errorf("there is no part %q among the %s", id, kind)
}

// copyOf returns a parts file with one part of a file, if that contains it.
func copyOf(name string, text []byte, kinds []kindView, id string) ([]byte, bool) {
	for _, p := range partsIn(name, text, kinds) {
		if p.ID != id {
			continue
		}
		lines := strings.SplitAfter(string(text), "\n")
		first := lines[p.Line-1]
		indent := strings.Repeat(" ", len(first)-len(strings.TrimLeft(first, " "))+1)
		end := p.Line
		for end < len(lines) && (strings.HasPrefix(lines[end], indent) || strings.TrimSpace(lines[end]) == "") {
			end++
		}
		body := strings.TrimRight(strings.Join(lines[p.Line-1:end], ""), "\r\n") + "\n"
		mark := "fictitious: true\n\n"
		if !p.Fictitious {
			mark = "\n"
		}
		return []byte(mark + p.Kind + ":\n" + body), true
	}
	return nil, false
}

// fileAnswer is the text of a file, and which texts it had before.
type fileAnswer struct {
	Name   string  `json:"name"`
	Text   string  `json:"text"`
	Hash   string  `json:"hash"`
	Own    bool    `json:"own"` // it can be changed
	Before []saved `json:"before"`
}

// file answers with the text of a file of the project, of one of its snapshots, or of the parts library, which can be
// read only.
func (s *Server) file(w http.ResponseWriter, r *http.Request) {
	name, before := r.URL.Query().Get("name"), r.URL.Query().Get("before")
	out := fileAnswer{Name: name, Before: []saved{}}
	k := s.work
	k.reload()
	k.mu.Lock()
	text, ok := k.textOf(name)
	k.mu.Unlock()
	if rest, found := strings.CutPrefix(name, "library/"); !ok && found && path.Base(rest) == rest {
		data, err := fs.ReadFile(k.o.Library, "parts/"+rest)
		if err != nil {
			s.fail(w, fmt.Errorf("there is no file %q", name))
			return
		}
		out.Text = string(data)
		answer(w, http.StatusOK, out)
		return
	}
	if !ok {
		s.fail(w, fmt.Errorf("there is no file %q in this project", name))
		return
	}
	dir, end := snapshotDir, ""
	if name != k.name {
		dir, end = snapshotDir+"/parts", "-"+path.Base(name)
	}
	for _, n := range k.snapshotsIn(dir) {
		if !strings.HasSuffix(n, end) {
			continue
		}
		v := saved{Name: n}
		v.When, _ = stampOf(n)
		if n == before {
			data, err := readText(k.folder, dir+"/"+n)
			if err != nil {
				s.fail(w, err)
				return
			}
			text, before = data, ""
		}
		out.Before = append(out.Before, v)
	}
	if before != "" {
		s.fail(w, fmt.Errorf("there is no snapshot %q of %s", before, name))
		return
	}
	out.Text, out.Hash, out.Own = string(text), hashOf(text), true
	answer(w, http.StatusOK, out)
}

// saved is an earlier text of a file.
type saved struct {
	Name string `json:"name"`
	When string `json:"when"` // in UTC
}
