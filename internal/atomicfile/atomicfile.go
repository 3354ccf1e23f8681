// Package atomicfile writes files whole or not at all, and over no text that the caller has not seen.
//
// In: a path, the text that the caller expects there, and the new text.
// Out: the new text on the disk; or an error, and the file as another program left it.
// Assumes: the caller may write to the path; a link is followed to its file.
// Leaves to others: snapshots, and what a person does after a conflict (web).
package atomicfile

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
)

// ErrChanged means that another program has changed, made or removed the file. Its text is in place.
var ErrChanged = errors.New("another program has changed the file")

// Ends of the names of temporary files: of one that is being written, and of one that is whole and changes places with
// the file.
const (
	partEnd  = ".lampwright-new"
	wholeEnd = ".lampwright-swap"
)

var leftover = regexp.MustCompile(`^\.(.+)\.[0-9]+\.lampwright-(new|swap)$`)

// Leftover returns the name of the file that a temporary file was written for, and whether the temporary file is whole.
// One stays behind where the program was killed.
func Leftover(name string) (of string, whole, ok bool) {
	m := leftover.FindStringSubmatch(name)
	if m == nil {
		return "", false, false
	}
	return m[1], m[2] == "swap", true
}

// TempPattern returns the pattern of os.CreateTemp for the temporary file of a name.
func TempPattern(name string) string { return "." + name + ".*" + partEnd }

// Save puts data in the place of a file, all of it or nothing: it writes a new file in the same folder, waits until it
// is on the disk, and renames it. Mode and, where the system permits it, owner of an existing file are kept; where the
// path is a link the file that it points to is replaced. A file that its owner may not write is left as it is. A new
// file can be read by all and written by its owner.
func Save(path string, data []byte) error {
	return wrapped("save", path, func() error {
		f, err := find(path)
		if err != nil {
			return err
		}
		tmp, err := f.write(data)
		if err != nil {
			return err
		}
		return f.finish(tmp, os.Rename(tmp, f.path))
	})
}

// Replace is Save where the file has the text was; without was, where no file exists. Otherwise nothing is overwritten,
// and the error is ErrChanged. Where the system can exchange two files in one step (Linux, macOS) this is so even if
// another program writes at the same moment: what was replaced is compared once more, and goes back.
func Replace(path string, was, data []byte) error { return replace(path, was, data, exchange) }

func replace(path string, was, data []byte, exchange func(a, b string) error) error {
	return wrapped("save", path, func() error {
		f, err := find(path)
		if err != nil {
			return err
		}
		if (f.info == nil) != (was == nil) {
			return ErrChanged
		}
		tmp, err := f.write(data)
		if err != nil {
			return err
		}
		if was == nil {
			return f.finish(tmp, create(tmp, f.path))
		}
		if !contains(f.path, was) {
			return f.finish(tmp, ErrChanged)
		}
		whole, err := completed(tmp)
		if err != nil {
			return f.finish(tmp, err)
		}
		return f.swap(whole, was, data, exchange)
	})
}

// Remove removes a file that has the text was; otherwise the error is ErrChanged.
func Remove(path string, was []byte) error {
	return wrapped("remove", path, func() error {
		f, err := find(path)
		if err != nil {
			return err
		}
		if f.info == nil || !contains(f.path, was) {
			return ErrChanged
		}
		tmp, err := f.write(nil)
		if err != nil {
			return err
		}
		whole, err := completed(tmp)
		if err != nil {
			return f.finish(tmp, err)
		}
		if err := os.Rename(f.path, whole); err != nil {
			return f.finish(whole, err)
		}
		if contains(whole, was) {
			return f.finish(whole, nil)
		}
		if err := create(whole, f.path); err != nil {
			return fmt.Errorf("%w; a text of it is in %s", ErrChanged, whole)
		}
		return ErrChanged
	})
}

func wrapped(doing, path string, do func() error) error {
	if err := do(); err != nil {
		return fmt.Errorf("%s %s: %w", doing, path, err)
	}
	return nil
}

// file is a place on the disk.
type file struct {
	path string      // links resolved
	info fs.FileInfo // nil where there is no file
}

// find returns the file that a path leads to.
func find(path string) (file, error) {
	real, err := filepath.EvalSymlinks(path)
	if errors.Is(err, fs.ErrNotExist) {
		if _, err := os.Lstat(path); err == nil {
			return file{}, errors.New("it is a link to a file that does not exist")
		}
		return file{path: path}, nil
	}
	if err != nil {
		return file{}, err
	}
	info, err := os.Stat(real)
	if err != nil {
		return file{}, err
	}
	if !info.Mode().IsRegular() {
		return file{}, errors.New("it is not a file")
	}
	if mode := info.Mode().Perm(); mode&0o200 == 0 {
		return file{}, fmt.Errorf("it is read-only (mode %04o): allow its owner to write, such as with chmod u+w, "+
			"and save again: %w", mode, fs.ErrPermission)
	}
	return file{real, info}, nil
}

// write writes data into a temporary file beside the file, with its mode and owner, and waits until it is on the disk.
func (f file) write(data []byte) (name string, err error) {
	dir := filepath.Dir(f.path)
	tmp, err := os.CreateTemp(dir, TempPattern(filepath.Base(f.path)))
	if errors.Is(err, fs.ErrPermission) {
		return "", fmt.Errorf("permission to write into the folder %s is denied: %w", dir, fs.ErrPermission)
	}
	if err != nil {
		return "", err
	}
	defer func() {
		if err != nil {
			tmp.Close()
			os.Remove(tmp.Name())
		}
	}()
	if _, err = tmp.Write(data); err != nil {
		return "", err
	}
	mode := fs.FileMode(0o644)
	if f.info != nil {
		mode = f.info.Mode().Perm()
		keepOwner(tmp, f.info) // only root may give a file to another user
	}
	if err = tmp.Chmod(mode); err != nil {
		return "", err
	}
	if err = tmp.Sync(); err != nil {
		return "", err
	}
	return tmp.Name(), tmp.Close()
}

// completed gives a temporary file the name of one that is whole.
func completed(tmp string) (whole string, err error) {
	whole = tmp[:len(tmp)-len(partEnd)] + wholeEnd
	return whole, os.Rename(tmp, whole)
}

// finish removes the temporary file, where it is still there, and waits until the folder is on the disk.
func (f file) finish(tmp string, err error) error {
	os.Remove(tmp)
	if d, err := os.Open(filepath.Dir(f.path)); err == nil { // not every system can
		_ = d.Sync()
		d.Close()
	}
	return err
}

// swap exchanges a whole temporary file and the file, and looks at what was replaced.
func (f file) swap(whole string, was, data []byte, exchange func(a, b string) error) error {
	err := exchange(whole, f.path)
	if errors.Is(err, errors.ErrUnsupported) {
		return f.finish(whole, os.Rename(whole, f.path))
	}
	if err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			err = ErrChanged // it was removed
		}
		return f.finish(whole, err)
	}
	if contains(whole, was) {
		return f.finish(whole, nil)
	}
	// Another program wrote after the last look. Its text goes back in place.
	if err := exchange(whole, f.path); err == nil && contains(whole, data) {
		return f.finish(whole, ErrChanged)
	}
	return fmt.Errorf("%w; a text of it is in %s", ErrChanged, whole) // it wrote again in between
}

// create gives a temporary file the name of one that must not exist.
func create(tmp, path string) error {
	err := os.Link(tmp, path)
	if err == nil {
		return os.Remove(tmp)
	}
	if _, lstatErr := os.Lstat(path); errors.Is(err, fs.ErrExist) || lstatErr == nil {
		return fmt.Errorf("it exists already: %w", ErrChanged)
	}
	return os.Rename(tmp, path) // a disk without hard links
}

// contains reports whether a file has just that text.
func contains(path string, text []byte) bool {
	data, err := os.ReadFile(path)
	return err == nil && bytes.Equal(data, text)
}
