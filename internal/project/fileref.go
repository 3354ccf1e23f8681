package project

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"strings"

	"lampwright/internal/inputfile"
	"lampwright/internal/photometry"
	"lampwright/internal/source"
	"lampwright/internal/spectrum"
	"lampwright/internal/textpos"
)

// FileRef is a file beside a parts file, named by a key of a part.
type FileRef struct {
	Key      string      // such as spectrum_file
	Name     source.Text // the value of that key
	MaxBytes int64       // the largest file that its reader accepts
	Example  string      // a file name
}

// path returns where the file is, from the folder of the project.
func (r FileRef) path(a *adder) string { return path.Join(a.dir, r.Name.S) }

// report adds a problem at the position of the key.
func (r FileRef) report(a *adder, hint, format string, args ...any) {
	msg := fmt.Sprintf("%s %q", r.Key, r.Name.S) + fmt.Sprintf(format, args...)
	a.problems = append(a.problems, problem(a.file, complaint{r.Name.At, msg, hint}))
}

// inside adds what the reader of the file found in it; what concerns the file as a whole is at the key.
func (r FileRef) inside(a *adder, err error, hint string) {
	for _, p := range textpos.Of(err) {
		if p.Line == 0 {
			r.report(a, hint, ": %s", p.Text)
			continue
		}
		p := source.InFile(r.path(a), p, fmt.Sprintf("%s (named at %s)", hint, r.Name.At))
		a.problems = append(a.problems, p)
	}
}

// filesBeside is the files that the parts files of one project name. A file that several parts name is read once.
type filesBeside struct {
	left       int64 // bytes that may still be read
	data       map[string][]byte
	spectra    map[string]parsed[[]spectrum.Named]
	photometry map[string]parsed[*photometry.File]
}

// parsed is what a reader made of a file.
type parsed[T any] struct {
	value T
	err   error
}

func newFilesBeside(left int64) *filesBeside {
	return &filesBeside{
		left, map[string][]byte{}, map[string]parsed[[]spectrum.Named]{}, map[string]parsed[*photometry.File]{},
	}
}

// readOnce returns what a reader makes of the file of a path, from a memory of the files read before.
func readOnce[T any](memory map[string]parsed[T], path string, data []byte, read func([]byte) (T, error)) (T, error) {
	p, ok := memory[path]
	if !ok {
		p.value, p.err = read(data)
		memory[path] = p
	}
	return p.value, p.err
}

// read returns the bytes of the file: one more than MaxBytes of a larger one, so that its reader reports the limit. It
// reports a name outside of the folder of the parts file, all that is not a regular file, and what exceeds the limit
// of all files together.
func (r FileRef) read(a *adder) (data []byte, ok bool) {
	name := r.Name.S
	if name == "" || strings.ContainsAny(name, `/\:`) || strings.HasPrefix(name, ".") {
		r.report(
			a, "put the file beside this one and write its name alone, such as "+r.Example,
			" is not the name of a file in the folder of parts",
		)
		return nil, false
	}
	if data, ok := a.beside.data[r.path(a)]; ok {
		return data, true
	}
	data, err := inputfile.Read(a.fsys, r.path(a), min(r.MaxBytes, a.beside.left))
	if err != nil {
		hint := ""
		if errors.Is(err, fs.ErrNotExist) {
			hint = "it must be in the folder of this parts file"
		}
		r.report(a, hint, ": %s", inputfile.Reason(err))
		return nil, false
	}
	if int64(len(data)) > a.beside.left {
		r.report(a, "keep the parts that this project uses", " was not read: the files of parts, with the spectra and "+
			"LM-63 files that they name, exceed %d MB together", maxOwnBytes>>20)
		return nil, false
	}
	a.beside.left -= int64(len(data))
	a.beside.data[r.path(a)] = data
	return data, true
}
