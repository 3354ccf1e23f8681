package project

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"strings"

	"lampwright/internal/inputfile"
	"lampwright/internal/source"
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

// read returns the bytes of the file: one more than MaxBytes of a larger one, so that its reader reports the limit. It
// reports a name outside of the folder of the parts file, and all that is not a regular file.
func (r FileRef) read(a *adder) (data []byte, ok bool) {
	name := r.Name.S
	if name == "" || strings.ContainsAny(name, `/\:`) || strings.HasPrefix(name, ".") {
		r.report(
			a, "put the file beside this one and write its name alone, such as "+r.Example,
			" is not the name of a file in the folder of parts",
		)
		return nil, false
	}
	data, err := inputfile.Read(a.fsys, r.path(a), r.MaxBytes)
	if err != nil {
		hint := ""
		if errors.Is(err, fs.ErrNotExist) {
			hint = "it must be in the folder of this parts file"
		}
		r.report(a, hint, ": %s", inputfile.Reason(err))
		return nil, false
	}
	return data, true
}
