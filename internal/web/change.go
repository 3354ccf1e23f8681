package web

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"sort"
	"strings"

	"lampwright/internal/atomicfile"
	"lampwright/internal/inputfile"
	"lampwright/internal/project"
	"lampwright/internal/sheetfile"
	"lampwright/internal/source"
	"lampwright/internal/store"
)

// change is one value of the design file, by its path, or of a file of parts: parts/own.yaml#emitters[0].flux.
type change struct {
	Path string `json:"path"`
	Text string `json:"text"`
}

// previewed names the lamp that a request is about: the design file of one hash, with changes that are not saved.
type previewed struct {
	Base    string   `json:"base"`
	Changes []change `json:"changes"`
}

// gone in place of a text takes a value away: a key with its value, or an item of a list. It is a character that cannot
// stand in a file. Items of lists go last, so that the other paths count the items as the file has them.
const gone = "\x00"

// asYAML before a text makes it YAML: a list in brackets or a mapping in braces in the place of what stands there, or a
// further item of a list. It is a character that cannot stand in a file.
const asYAML = "\x01"

// asBlock before a text is asYAML with the value over several lines, as parts are written. In a file of parts that does
// not exist it begins that file.
const asBlock = "\x02"

// asFile before a token in place of a text puts a file that was dropped on the page beside the parts: the path is its
// name and #, such as parts/white.csv#.
const asFile = "\x03"

// newParts is the text that a file of parts begins with.
const newParts = `# Parts of this project. State the datasheet of each part, and the page of each value.
fictitious: false
`

// newPartsName is the names of files of parts that can be begun.
var newPartsName = regexp.MustCompile(`^parts/[A-Za-z0-9-]{1,60}\.yaml$`)

// itemAtEnd matches the path of an item of a list.
var itemAtEnd = regexp.MustCompile(`\[[0-9]+\]$`)

// maxChanges bounds the values of one request.
const maxChanges = 600

// errConflict says that the file is not what the page believes it to be.
var errConflict = errors.New("the file has changed since this page read it; nothing was written")

// clash is a value that the file states otherwise by now than when it was tried.
type clash struct {
	Path string `json:"path"`
	Was  string `json:"was"` // empty: not stated, or not known any longer
	Now  string `json:"now"`
}

// clashes are values that a save would write over those of another program unseen.
type clashes []clash

func (c clashes) Error() string {
	text := counted(len(c), "value") + " of the file changed since you changed the same here; nothing was written: "
	for i, one := range c[:min(len(c), maxClashes)] {
		if i > 0 {
			text += ", "
		}
		text += one.Path
		if one.Now != "" {
			text += " (now " + one.Now + ")"
		}
	}
	if more := len(c) - maxClashes; more > 0 {
		text += fmt.Sprintf(" and %d more", more)
	}
	return text
}

// maxClashes is the number of values that a message names.
const maxClashes = 4

// badChange is a value that could not be put into the file.
type badChange struct {
	Path string
	err  error
}

func (e *badChange) Error() string { return e.err.Error() }

// splice puts changes into the texts of the project and returns those that have changed; everything else in them stays
// byte for byte. own is the texts of the project's parts.
func (m *fileMemory) splice(name string, design []byte, own map[string][]byte, changes []change) (texts, error) {
	if len(changes) > maxChanges {
		return nil, fmt.Errorf("%d changes at once; at most %d are taken", len(changes), maxChanges)
	}
	out := texts{}
	for _, c := range inOrder(changes) {
		file, path := name, c.Path
		if before, after, ok := strings.Cut(c.Path, "#"); ok {
			file, path = before, after
		}
		text, ok := out[file]
		if !ok && file == name {
			text, ok = design, true
		}
		if !ok {
			text, ok = own[file]
		}
		if !ok && strings.HasPrefix(c.Text, asBlock) && newPartsName.MatchString(file) {
			text, ok = []byte(newParts), true
		}
		if !ok {
			return nil, &badChange{c.Path, fmt.Errorf("there is no file %q in this project", file)}
		}
		f, problems := m.read(file, text)
		if f == nil || len(problems) > 0 {
			return nil, &badChange{c.Path, errors.New("the file has problems; correct them first")}
		}
		f, err := changedFile(f, path, c.Text)
		if err != nil {
			return nil, &badChange{c.Path, err}
		}
		text = f.Text()
		m.put(text, f)
		out[file] = text
	}
	return out, nil
}

// changedFile returns a file with one change.
func changedFile(f *source.File, path, text string) (*source.File, error) {
	yaml, whole := strings.CutPrefix(text, asYAML)
	switch {
	case whole:
		return f.PutItems(path, yaml)
	case text == gone:
		return f.Cleared(path)
	case strings.HasPrefix(text, asBlock):
		if _, there := f.At(path); there && itemAtEnd.MatchString(path) {
			return nil, fmt.Errorf(
				"%s is taken in %s by now; nothing was written. Open Parts: what is new moves behind it",
				path,
				f.Name(),
			)
		}
		return f.PutBlock(path, text[len(asBlock):])
	}
	return f.Spliced(path, text)
}

// spliced is splice with the texts as they stand.
func (w *workspace) spliced(base string, changes []change) (design []byte, changed texts, err error) {
	w.mu.Lock()
	hash, design, own := w.hash, w.text, w.own
	w.mu.Unlock()
	if base != hash {
		return nil, nil, errConflict
	}
	changed, err = w.spliceAll(design, own, changes)
	return design, changed, err
}

// problemsOf returns what is wrong with the project once these texts stand in it.
func (w *workspace) problemsOf(changed texts) source.Problems {
	w.mu.Lock()
	design := w.text
	w.mu.Unlock()
	_, problems := w.load(design, changed)
	return problems
}

// fileText is the whole text of a file that was read with the hash base.
type fileText struct{ name, base, text string }

// textOf returns the text of a file of the project.
func (w *workspace) textOf(name string) ([]byte, bool) {
	if name == w.name {
		return w.text, w.exists
	}
	if besideName.MatchString(name) {
		data, err := inputfile.Read(w.folder, name, sheetfile.MaxBytes)
		return data, err == nil
	}
	if name == project.ReadingsFile {
		return w.readings, w.readings != nil
	}
	text, ok := w.own[name]
	return text, ok
}

// save puts changes in the place of a project that has the hash base, or a whole text in the place of the file it was
// read from. tried is the hashes of the projects on which values were tried first, by their paths. What has problems is
// refused, a whole text unless anyway.
func (w *workspace) save(base string, changes []change, tried map[string]string, whole *fileText, anyway bool) error {
	unlock, err := w.lockFolder()
	if err != nil {
		return err
	}
	defer unlock()
	w.mu.Lock()
	defer w.mu.Unlock()
	w.reloadLocked()
	var changed texts
	if whole != nil {
		now, ok := w.textOf(whole.name)
		if !ok || whole.base != hashOf(now) {
			return errConflict
		}
		changed = texts{whole.name: []byte(whole.text)}
	} else {
		if !w.exists || base != w.hash {
			return errConflict
		}
		if list := w.clashesOf(changes, tried); len(list) > 0 {
			return list
		}
		if changed, err = w.spliceAll(w.text, w.own, changes); err != nil {
			return err
		}
	}
	if _, problems := w.load(w.text, changed); len(problems) > 0 && (whole == nil || !anyway) {
		return problems
	}
	return w.put(changed)
}

// put writes texts as one step that can be undone.
func (w *workspace) put(changed texts) error {
	before, err := w.write(changed)
	if err != nil || len(before) == 0 {
		return err
	}
	if w.past = append(w.past, before); len(w.past) > maxPast {
		w.past = w.past[1:]
	}
	w.future = nil
	return nil
}

// replaced returns the texts before of the files that differ from these, and checks that these can be written there.
func (w *workspace) replaced(changed texts) (before texts, err error) {
	before = texts{}
	for name, text := range changed {
		beside := besideName.MatchString(name)
		if len(text) >= maxText && !beside {
			return nil, errors.New("the text is larger than 1 MB")
		}
		now, ok := w.textOf(name)
		if beside && ok && text == nil && !w.hasDropped(hashOf(now)) {
			continue // another program has changed it since
		}
		if ok == (text != nil) && bytes.Equal(now, text) {
			continue
		}
		before[name] = nil
		if ok {
			before[name] = now
		}
		info, err := w.root.Stat(name)
		switch {
		case errors.Is(err, fs.ErrNotExist):
		case err != nil:
			return nil, err // a link that leads out of the folder
		case !info.Mode().IsRegular():
			return nil, fmt.Errorf("%s is not a file", name)
		case !ok:
			return nil, fmt.Errorf("%s already exists; nothing was written", name)
		}
		// A folder of parts that is a link would lead a save out, which goes by its path.
		if dir := path.Dir(name); dir != "." {
			if err := w.root.MkdirAll(dir, 0o755); err != nil {
				return nil, err
			}
			if info, err := w.root.Lstat(dir); err != nil || !info.IsDir() {
				return nil, fmt.Errorf("%s is a link; open the folder that it points to", dir)
			}
		}
	}
	return before, nil
}

// write saves texts, with a snapshot of the texts before where a burst of saves begins, and computes the project. It
// returns the texts before of the files that it changed.
func (w *workspace) write(changed texts) (before texts, err error) {
	if before, err = w.replaced(changed); err != nil {
		return nil, err
	}
	now := w.o.Now()
	for name := range before {
		if last, ok := w.kept[name]; !ok || now.Sub(last) > burst {
			w.keep(name, before[name])
			w.kept[name] = now
		}
	}
	design, own := w.text, maps.Clone(w.own)
	if own == nil {
		own = map[string][]byte{}
	}
	done := texts{}
	// Parts go before the design, which may name a new one.
	for _, name := range slices.SortedFunc(maps.Keys(before), func(a, b string) int { return strings.Compare(b, a) }) {
		if err := w.replace(name, before[name], changed[name]); err != nil {
			for name, text := range done { // all of a step or nothing of it
				_ = w.replace(name, changed[name], text)
			}
			w.reloadLocked() // pages see what is there now
			if errors.Is(err, atomicfile.ErrChanged) {
				return nil, errConflict
			}
			return nil, err
		}
		done[name] = before[name]
		switch text := changed[name]; {
		case name == w.name:
			design = text
		case besideName.MatchString(name): // it is read with the parts that name it
		case name == project.ReadingsFile:
			w.readings = text
		case text == nil:
			delete(own, name)
		default:
			own[name] = text
		}
	}
	_, readings := before[project.ReadingsFile]
	switch {
	case len(before) > 1 || len(before) == 1 && !readings:
		w.outside = false
		w.adopt(design, own, w.partsStamp())
	case readings: // the lamp stays
		w.outside = false
		w.changed()
	}
	return before, nil
}

// replace writes a text in place of the text that the file has; nil means that it does not exist.
func (w *workspace) replace(name string, was, text []byte) error {
	at := filepath.Join(w.o.Folder, filepath.FromSlash(name))
	if text == nil {
		return atomicfile.Remove(at, was)
	}
	return atomicfile.Replace(at, was, text)
}

// step goes one step back, or forward again.
func (w *workspace) step(base string, back bool) error {
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
	from, to := &w.past, &w.future
	if !back {
		from, to = to, from
	}
	if len(*from) == 0 {
		return errors.New("there is nothing to undo")
	}
	before, err := w.write((*from)[len(*from)-1])
	if err != nil {
		return err
	}
	*from, *to = (*from)[:len(*from)-1], append(*to, before)
	return nil
}

// fill puts a project into an empty folder.
func (w *workspace) fill(key string) error {
	for _, b := range w.o.Templates {
		if b.Key == key {
			return w.create(b.Files)
		}
	}
	return fmt.Errorf("there is no template %q", key)
}

// create writes files into a folder that has no design, and over none that exists.
func (w *workspace) create(files texts) error {
	unlock, err := w.lockFolder()
	if err != nil {
		return err
	}
	defer unlock()
	w.mu.Lock()
	defer w.mu.Unlock()
	w.reloadLocked()
	if w.exists {
		return fmt.Errorf("%s already exists; nothing was written", w.name)
	}
	for name := range files {
		if _, err := w.root.Lstat(name); err == nil {
			return fmt.Errorf("%s already exists; nothing was written", name)
		}
	}
	for name, data := range files {
		if dir := path.Dir(name); dir != "." {
			if err := w.root.MkdirAll(dir, 0o755); err != nil {
				return err
			}
		}
		if err := w.replace(name, nil, data); err != nil {
			return err
		}
	}
	w.reloadLocked()
	return nil
}

// Where snapshots of the design file stand in the folder, and how many are kept.
const (
	cacheDir     = store.Folder
	snapshotDir  = cacheDir + "/snapshots"
	maxSnapshots = 200
	stampLayout  = "20060102-150405.000"
)

// keep writes a text beside the cache, so that it can be compared with and brought back: the design's itself, parts in
// a folder of their own. A snapshot that cannot be written stops nothing: the file itself is never lost.
func (w *workspace) keep(name string, text []byte) {
	dir, end := snapshotDir, ""
	if name != w.name {
		dir, end = snapshotDir+"/parts", "-"+path.Base(name)
	}
	if len(text) == 0 || besideName.MatchString(name) || w.makeCache(strings.TrimPrefix(dir, cacheDir)) != nil {
		return
	}
	stamp := w.o.Now().UTC().Format(stampLayout) + "-" + hashOf(text)[:8]
	if w.writeWhole(dir, stamp+cmp.Or(end, ".yaml"), text) != nil {
		return
	}
	names := w.snapshotsIn(dir)
	for i := maxSnapshots; i < len(names); i++ {
		_ = w.root.Remove(dir + "/" + names[i])
	}
}

// snapshotNames returns the names of snapshots, the newest first.
func (w *workspace) snapshotNames() []string { return w.snapshotsIn(snapshotDir) }

func (w *workspace) snapshotsIn(dir string) []string {
	entries, err := fs.ReadDir(w.folder, dir)
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
			return readText(w.folder, snapshotDir+"/"+n)
		}
	}
	return nil, fmt.Errorf("there is no snapshot %q", name)
}
