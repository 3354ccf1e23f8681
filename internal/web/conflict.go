package web

import (
	"fmt"
	"io/fs"
	"os"
	"path"
	"regexp"
	"strings"
	"time"

	"lampwright/internal/atomicfile"
	"lampwright/internal/source"
	"lampwright/internal/store"
)

// lockFile is locked while a server saves: two servers on one folder save one after the other.
const lockFile = cacheDir + "/lock"

// lockWait is how long a save waits for that of another server.
const lockWait = 5 * time.Second

// lockFolder gets the lock of the folder. Where there cannot be a lock file it goes on without: a save over a text that
// the server has not seen is refused in any case.
func (w *workspace) lockFolder() (unlock func(), err error) {
	none := func() {}
	if w.makeCache("") != nil {
		return none, nil
	}
	f, err := w.root.OpenFile(lockFile, os.O_RDONLY|os.O_CREATE, 0o644)
	if err != nil {
		return none, nil
	}
	unlock = func() { f.Close() }
	if info, err := f.Stat(); err != nil || !info.Mode().IsRegular() {
		return unlock, nil
	}
	if err := atomicfile.Lock(f, lockWait); err == atomicfile.ErrBusy {
		f.Close()
		return nil, err
	}
	return unlock, nil
}

// makeCache makes the cache folder, or a folder in it, where it does not exist.
func (w *workspace) makeCache(dir string) error {
	if err := w.root.MkdirAll(path.Join(cacheDir, dir), 0o755); err != nil {
		return err
	}
	if _, err := w.root.Stat(cacheDir + "/.gitignore"); err != nil {
		return w.writeWhole(cacheDir, ".gitignore",
			[]byte(store.FolderIgnore))
	}
	return nil
}

// writeWhole writes a file of the cache folder whole or not at all. It is opened within the folder: a link that leads
// out is refused.
func (w *workspace) writeWhole(dir, name string, text []byte) (err error) {
	tmp := path.Join(dir, strings.Replace(atomicfile.TempPattern(name), "*", fmt.Sprint(w.o.Now().UnixNano()), 1))
	f, err := w.root.OpenFile(tmp, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			_ = w.root.Remove(tmp)
		}
	}()
	_, err = f.Write(text)
	if err == nil {
		err = f.Sync()
	}
	if closeErr := f.Close(); err == nil {
		err = closeErr
	}
	if err != nil {
		return err
	}
	return w.root.Rename(tmp, path.Join(dir, name))
}

// staleAfter is the age of a temporary file of the cache that nobody writes any longer: commands write there without a
// lock.
const staleAfter = time.Hour

// clean removes the temporary files that a killed server left. A text that another program wrote at that moment, and
// that was on its way back, becomes a snapshot.
func (w *workspace) clean() {
	if _, err := w.root.Lstat(cacheDir); err != nil {
		return // nothing was ever saved here
	}
	unlock, err := w.lockFolder()
	if err != nil {
		return // another server saves: the files are its own
	}
	defer unlock()
	for _, dir := range []string{".", "parts", cacheDir, snapshotDir, snapshotDir + "/parts"} {
		entries, err := fs.ReadDir(w.folder, dir)
		if err != nil {
			continue
		}
		for _, e := range entries {
			of, whole, ok := atomicfile.Leftover(e.Name())
			if ok && e.Type().IsRegular() {
				w.cleanOne(dir, e, path.Join(dir, of), whole)
			}
		}
	}
}

// cleanOne removes one temporary file, of the file of.
func (w *workspace) cleanOne(dir string, e fs.DirEntry, of string, whole bool) {
	name := path.Join(dir, e.Name())
	switch dir {
	case ".", "parts":
		if of != w.name && (dir == "." || path.Ext(of) != ".yaml") {
			return
		}
		if now, err := readText(w.folder, of); whole && err == nil {
			if text, err := readText(w.folder, name); err == nil && string(text) != string(now) {
				w.keep(of, text)
			}
		}
	case cacheDir:
		if info, err := e.Info(); err != nil || w.o.Now().Sub(info.ModTime()) < staleAfter {
			return
		}
	}
	_ = w.root.Remove(name)
}

// seenTexts is a version of the project.
type seenTexts struct {
	hash   string
	design []byte
	own    texts
}

// Bounds of the versions that are remembered.
const (
	maxSeen      = 32
	maxSeenBytes = 32 << 20
)

// rememberTexts keeps the present texts, so that a value that was tried on them can be compared with later ones.
func (w *workspace) rememberTexts() {
	w.seen = append(w.seen, seenTexts{w.hash, w.text, w.own})
	size := 0
	for i := len(w.seen) - 1; i >= 0; i-- {
		size += len(w.seen[i].design)
		for _, text := range w.seen[i].own {
			size += len(text)
		}
		if len(w.seen)-i > maxSeen || (size > maxSeenBytes && i < len(w.seen)-1) {
			w.seen = append([]seenTexts(nil), w.seen[i+1:]...)
			return
		}
	}
}

// present returns the hash of the project as it is.
func (w *workspace) present() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.hash
}

// clashesOf returns the changes whose value in the file is another one than when it was tried. A version that is not
// remembered clashes: what it said is not known.
func (w *workspace) clashesOf(changes []change, tried map[string]string) (list clashes) {
	for _, c := range changes {
		base, ok := tried[c.Path]
		if !ok || base == w.hash {
			continue
		}
		now, _ := w.valueIn(w.text, w.own, c.Path)
		was, known := "", false
		for _, s := range w.seen {
			if s.hash == base {
				was, known = w.valueIn(s.design, s.own, c.Path)
			}
		}
		if !known || was != now {
			list = append(list, clash{c.Path, shownValue(was), shownValue(now)})
		}
	}
	return list
}

// valueIn returns the text of a value with what tells which value it is: the length of the lists that it is in, and the
// names of their items. It is false where the file cannot be read.
func (w *workspace) valueIn(design []byte, own texts, at string) (string, bool) {
	name, text, in := w.name, design, at
	if before, after, ok := strings.Cut(at, "#"); ok {
		name, in = before, after
		if text, ok = own[name]; !ok {
			return "", true
		}
	}
	f, _ := w.files.read(name, text)
	if f == nil {
		return "", false
	}
	var b strings.Builder
	for _, l := range f.Leaves(in) {
		fmt.Fprintf(&b, "%s: %s\n", strings.TrimPrefix(strings.TrimPrefix(l.Path, in), "."), l.Text)
	}
	b.WriteString(whereMark)
	for _, at := range listItem.FindAllStringIndex(in, -1) {
		fmt.Fprintln(&b, items(f, in[:at[0]]))
		for _, key := range []string{"name", "id", "part"} {
			for _, l := range f.Leaves(in[:at[1]] + "." + key) {
				fmt.Fprintln(&b, key, l.Text)
			}
		}
	}
	return b.String(), true
}

// whereMark separates a value from its place in valueIn; it cannot stand in a file.
const whereMark = "\x00"

// shownValue is the value of valueIn as a message shows it.
func shownValue(v string) string {
	v, _, _ = strings.Cut(v, whereMark)
	v = strings.ReplaceAll(strings.TrimSpace(v), "\n", ", ")
	return strings.TrimPrefix(v, ": ")
}

var listItem = regexp.MustCompile(`\[[0-9]+\]`)

// items returns the number of items of a list.
func items(f *source.File, path string) int {
	for n := 0; ; n++ {
		if _, ok := f.At(fmt.Sprintf("%s[%d]", path, n)); !ok {
			return n
		}
	}
}
