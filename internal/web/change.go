package web

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"path/filepath"
	"sort"
	"strings"

	"lampwright/internal/source"
)

// change is one value of the design file, by its path.
type change struct {
	Path string `json:"path"`
	Text string `json:"text"`
}

// maxChanges bounds the values of one request.
const maxChanges = 200

// errConflict says that the file is not what the page believes it to be.
var errConflict = errors.New("the design file has changed since this page read it; nothing was written")

// badChange is a value that could not be put into the file.
type badChange struct {
	Path string
	err  error
}

func (e *badChange) Error() string { return e.err.Error() }

// splice puts changes into a text; everything else stays byte for byte.
func splice(name string, text []byte, changes []change) ([]byte, error) {
	if len(changes) > maxChanges {
		return nil, fmt.Errorf("%d changes at once; at most %d are taken", len(changes), maxChanges)
	}
	for _, c := range changes {
		f, problems := source.Read(name, text)
		if f == nil || len(problems) > 0 {
			return nil, &badChange{c.Path, errors.New("the file has problems; put them right first")}
		}
		out, err := f.Splice(c.Path, c.Text)
		if err != nil {
			return nil, &badChange{c.Path, err}
		}
		text = out
	}
	return text, nil
}

// problemsOf returns what is wrong with a text.
func (w *workspace) problemsOf(text []byte) source.Problems {
	_, problems := w.load(text)
	return problems
}

// save puts changes, or a whole text, in the place of the file that has the hash base. A text with problems is refused
// unless anyway.
func (w *workspace) save(base string, changes []change, whole *string, anyway bool) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.lookLocked()
	if !w.exists || base != w.hash {
		return errConflict
	}
	text, err := w.edited(changes, whole)
	if err != nil {
		return err
	}
	if problems := w.problemsOf(text); len(problems) > 0 && (whole == nil || !anyway) {
		return problems
	}
	before := w.text
	if err := w.write(text); err != nil {
		return err
	}
	if w.past = append(w.past, before); len(w.past) > maxPast {
		w.past = w.past[1:]
	}
	w.future = nil
	return nil
}

// edited returns the present text with changes, or the whole text in its place.
func (w *workspace) edited(changes []change, whole *string) ([]byte, error) {
	if whole != nil {
		return []byte(*whole), nil
	}
	return splice(w.name, w.text, changes)
}

// write saves a text, with a snapshot of what stood there where a burst of saves begins, and computes it.
func (w *workspace) write(text []byte) error {
	if len(text) >= maxText {
		return fmt.Errorf("the text has more than 1 MB; such a design file is refused")
	}
	if hashOf(text) == w.hash {
		return nil
	}
	if now := w.o.Now(); now.Sub(w.lastSave) > burst {
		w.keep(w.text)
		w.lastSave = now
	}
	if _, err := w.root.Stat(w.name); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err // a link that leads out of the folder
	}
	if err := source.Save(filepath.Join(w.o.Folder, w.name), text); err != nil {
		return err
	}
	w.outside = false
	w.adopt(text, w.partsStamp())
	return nil
}

// step goes one step back, or forward again.
func (w *workspace) step(base string, back bool) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.lookLocked()
	if !w.exists || base != w.hash {
		return errConflict
	}
	from, to := &w.past, &w.future
	if !back {
		from, to = to, from
	}
	if len(*from) == 0 {
		return errors.New("there is nothing to take back")
	}
	text, before := (*from)[len(*from)-1], w.text
	if err := w.write(text); err != nil {
		return err
	}
	*from, *to = (*from)[:len(*from)-1], append(*to, before)
	return nil
}

// fill puts a project into an empty folder.
func (w *workspace) fill(key string) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.lookLocked()
	if w.exists {
		return fmt.Errorf("%s stands there already; nothing was written", w.name)
	}
	for _, b := range w.o.Begin {
		if b.Key != key {
			continue
		}
		for name := range b.Files {
			if _, err := w.root.Lstat(name); err == nil {
				return fmt.Errorf("%s stands there already; nothing was written", name)
			}
		}
		for name, data := range b.Files {
			if dir := path.Dir(name); dir != "." {
				if err := w.root.MkdirAll(dir, 0o755); err != nil {
					return err
				}
			}
			if err := source.Save(filepath.Join(w.o.Folder, filepath.FromSlash(name)), data); err != nil {
				return err
			}
		}
		w.lookLocked()
		return nil
	}
	return fmt.Errorf("there is no project %q to begin with", key)
}

// Where snapshots of the design file stand in the folder, and how many are kept.
const (
	cacheDir     = ".lampwright-cache"
	snapshotDir  = cacheDir + "/snapshots"
	maxSnapshots = 200
	stampLayout  = "20060102-150405.000"
)

// keep writes a text beside the cache, so that it can be compared with and brought back. A snapshot that cannot be
// written stops nothing: the file itself is never lost.
func (w *workspace) keep(text []byte) {
	if len(text) == 0 || w.root.MkdirAll(snapshotDir, 0o755) != nil {
		return
	}
	if _, err := w.root.Stat(cacheDir + "/.gitignore"); err != nil {
		_ = w.root.WriteFile(cacheDir+"/.gitignore", []byte("# Unit responses and snapshots that Lampwright keeps; delete them at any time.\n*\n"), 0o644)
	}
	name := w.o.Now().UTC().Format(stampLayout) + "-" + hashOf(text)[:8] + ".yaml"
	if w.root.WriteFile(snapshotDir+"/"+name, text, 0o644) != nil {
		return
	}
	names := w.snapshotNames()
	for i := maxSnapshots; i < len(names); i++ {
		_ = w.root.Remove(snapshotDir + "/" + names[i])
	}
}

// snapshotNames returns the names of snapshots, the newest first.
func (w *workspace) snapshotNames() []string {
	entries, err := fs.ReadDir(w.root.FS(), snapshotDir)
	if err != nil {
		return nil
	}
	var names []string
	for _, e := range entries {
		if e.Type().IsRegular() && strings.HasSuffix(e.Name(), ".yaml") {
			names = append(names, e.Name())
		}
	}
	sort.Sort(sort.Reverse(sort.StringSlice(names)))
	return names
}

// snapshot returns the text of a snapshot. Only a name that the folder lists is read.
func (w *workspace) snapshot(name string) ([]byte, error) {
	for _, n := range w.snapshotNames() {
		if n == name {
			return w.root.ReadFile(snapshotDir + "/" + n)
		}
	}
	return nil, fmt.Errorf("there is no snapshot %q", name)
}
