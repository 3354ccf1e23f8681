package web

import (
	"errors"
	"io/fs"
	"maps"
	"net/http"
	"path"
	"slices"
	"strings"

	"lampwright/internal/project"
	"lampwright/internal/source"
)

// difference is one value in which another version and the present design differ.
type difference struct {
	In   string `json:"in"`             // channel warm; own part amber-591
	What string `json:"what"`           // emitter amber-591, lens
	A    string `json:"a"`              // as the other version has it
	B    string `json:"b"`              // as it is now
	InA  bool   `json:"in_a"`           // the value is stated in the other version
	InB  bool   `json:"in_b"`           //
	File string `json:"file,omitempty"` // position in the present files
	Line int    `json:"line,omitempty"`
}

// plainKey is how a key with an item beneath it is called.
var plainKey = map[string]string{
	"channels": "channel", "emitters": "emitter", "supplies": "supply",
	"extras": "extra", "die_configurations": "die configuration", "holes": "hole", "peaks": "peak",
}

// plain returns a way to a value in words.
func plain(steps []source.Step) (in, what string) {
	words := make([]string, len(steps))
	for i, s := range steps {
		key := s.Key
		if one, ok := plainKey[key]; ok && s.Item != "" {
			key = one
		}
		words[i] = strings.TrimSpace(strings.ReplaceAll(key, "_", " ") + " " + s.Item)
	}
	if len(words) > 1 {
		in, words = words[0], words[1:]
	}
	return in, strings.Join(words, ", ")
}

// said is a difference in one line.
func (d difference) said() string {
	side := func(text string, in bool) string {
		if !in {
			return "not stated"
		}
		if r := []rune(text); len(r) > 40 {
			return string(r[:39]) + "…"
		}
		return text
	}
	way := d.What
	if d.In != "" {
		way = d.In + ", " + d.What
	}
	return way + ": " + side(d.A, d.InA) + " → " + side(d.B, d.InB)
}

func differencesOf(list []source.Difference) []difference {
	out := make([]difference, 0, len(list))
	for _, d := range list {
		v := difference{A: d.A, B: d.B, InA: d.InA, InB: d.InB, File: d.AtB.File, Line: d.AtB.Line}
		v.In, v.What = plain(d.Steps)
		out = append(out, v)
	}
	return out
}

// named returns the paths of a design at which it names parts, by kind and id.
func named(design *source.File) map[string][]string {
	out := map[string][]string{}
	if design == nil {
		return out
	}
	var d project.Design
	design.Decode(&d) // what cannot be read names no part
	for _, k := range project.Kinds {
		for _, u := range k.Uses(&d) {
			key := k.Key + " " + u.ID.S
			out[key] = append(out[key], u.ID.At.Path)
		}
	}
	return out
}

// partAt is the position of a part.
type partAt struct {
	file *source.File
	path string
}

// partsOf returns where the parts of a folder stand, by kind and id.
func partsOf(folder fs.FS) map[string]partAt {
	out := map[string]partAt{}
	if folder == nil {
		return out
	}
	names, err := fs.Glob(folder, "parts/*.yaml")
	if err != nil || len(names) > project.MaxFiles {
		return out
	}
	for _, name := range names {
		text, err := readText(folder, name)
		if err != nil {
			continue
		}
		f, _ := source.Read(name, text)
		for _, p := range partsIn(name, text, partKinds()) {
			out[p.Kind+" "+p.ID] = partAt{f, p.Path}
		}
	}
	return out
}

// partDiffers returns the values in which parts differ that both designs name, where a part of one project's own is
// among them.
func partDiffers(a, b *source.File, ownA, ownB map[string]partAt, library fs.FS) (out []difference) {
	if len(ownA) == 0 && len(ownB) == 0 {
		return nil
	}
	builtin, now := partsOf(library), named(b)
	for _, kind := range partKinds() {
		for _, key := range slices.Sorted(maps.Keys(named(a))) {
			id, ok := strings.CutPrefix(key, kind.Kind+" ")
			if !ok || len(now[key]) == 0 {
				continue
			}
			partA, mineA := ownA[key]
			partB, mineB := ownB[key]
			if !mineA && !mineB {
				continue
			}
			whose := "own part "
			if !mineA {
				partA, whose = builtin[key], "own part in place of the built-in "
			}
			if !mineB {
				partB, whose = builtin[key], "built-in part in place of the other's own "
			}
			for _, d := range source.Differ(partA.file, partA.path, partB.file, partB.path) {
				v := differencesOf([]source.Difference{d})[0]
				if v.In != "" {
					v.What = v.In + ", " + v.What
				}
				if !mineB && v.InB {
					v.File = "library/" + path.Base(v.File)
				}
				v.In = whose + id
				out = append(out, v)
			}
		}
	}
	return out
}

// differences answers with every value in which another version and the present design differ, with values that are
// tried.
func (s *Server) differences(w http.ResponseWriter, r *http.Request) {
	var in struct {
		previewed
		ID string `json:"id"`
	}
	if !decode(w, r, &in) {
		return
	}
	k := s.work
	design, changed, err := k.spliced(in.Base, in.Changes)
	if err != nil {
		s.fail(w, err)
		return
	}
	if text, ok := changed[k.name]; ok {
		design = text
	}
	v, err := k.opened(in.ID)
	if err != nil {
		s.fail(w, err)
		return
	}
	a, _ := source.Read(v.name, v.text)
	b, _ := source.Read(k.name, design)
	if a == nil || b == nil {
		s.fail(w, errors.New("one of the two files cannot be read; correct it first"))
		return
	}
	list := differencesOf(source.Differ(a, "", b, ""))
	list = append(list, partDiffers(a, b, partsOf(v.own), partsOf(overlay{k.folder, changed}), k.o.Library)...)
	answer(w, http.StatusOK, list)
}

// tell says of each snapshot in how many values the present design differs from it, and which are the first of them.
func (w *workspace) tell(list []version) {
	const first = 2
	w.mu.Lock()
	now, _ := source.Read(w.name, w.text)
	w.mu.Unlock()
	if now == nil {
		return
	}
	for i := range list {
		if list[i].Kind != "snapshot" {
			continue
		}
		then := w.snapshotFile(list[i].Title)
		if then == nil {
			continue
		}
		all := differencesOf(source.Differ(then, "", now, ""))
		n := len(all)
		list[i].Differs, list[i].First = &n, []string{}
		for _, d := range all[:min(n, first)] {
			list[i].First = append(list[i].First, d.said())
		}
	}
}

// snapshotFile returns a snapshot, read once: it does not change.
func (w *workspace) snapshotFile(name string) *source.File {
	w.mu.Lock()
	f, ok := w.snaps[name]
	w.mu.Unlock()
	if ok {
		return f
	}
	text, err := w.snapshot(name)
	if err != nil {
		return nil
	}
	f, _ = source.Read(w.name, text)
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.snaps == nil || len(w.snaps) > 2*maxSnapshots {
		w.snaps = map[string]*source.File{}
	}
	w.snaps[name] = f
	return f
}
