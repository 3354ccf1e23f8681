package project

import (
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"sort"

	"lampwright/internal/inputfile"
	"lampwright/internal/source"
)

// MaxFiles bounds the parts files of one project, so that a wrong folder is refused rather than read.
const MaxFiles = 200

// maxOwnBytes bounds the sum of the sizes of the parts files of one project and of the files that they name: reading
// takes some 0.03 s a megabyte.
const maxOwnBytes = 16 << 20

// maxFileBytes is what source reads of a file.
const maxFileBytes = 1 << 20

// Set is the parts of one kind.
type Set[T any] struct {
	Kind  string // in the singular: "emitter"
	parts map[string]*T
}

// Get returns the part of that id, or nil.
func (s Set[T]) Get(id string) *T { return s.parts[id] }

// IDs returns every id, sorted.
func (s Set[T]) IDs() []string {
	ids := make([]string, 0, len(s.parts))
	for id := range s.parts {
		ids = append(ids, id)
	}
	sort.Strings(ids)
	return ids
}

// part is what every kind of part can show of itself.
type part[T any] interface {
	*T
	Basics() *Common
	problems() []complaint
}

// Basics returns what every kind of part says: id, name, sheet, price.
func (c *Common) Basics() *Common { return c }

// complaint is a problem at a place in a file, before the file's line is put to it.
type complaint struct {
	at        source.Pos
	msg, hint string
}

// LoadLibrary reads the built-in library and the project's own parts/*.yaml; own may be nil.
// A project's part goes before a built-in one of the same id. All problems of all files are returned together.
func LoadLibrary(own, builtin fs.FS) (*Library, source.Problems) {
	s := newLibrary()
	all := s.read(builtin, true)
	return s, append(all, s.read(own, false)...)
}

// With returns a copy of this library in which the project's own parts/*.yaml take precedence. Reading the built-in
// library takes longer than computing a lamp again, so a caller that loads one project many times reads it once.
func (s *Library) With(own fs.FS) (*Library, source.Problems) {
	both := &Library{}
	for _, k := range Kinds {
		k.copy(both, s)
	}
	return both, both.read(own, false)
}

func (s Set[T]) clone() Set[T] { return Set[T]{s.Kind, maps.Clone(s.parts)} }

// read adds the parts of a folder to the library; nil has none.
func (s *Library) read(fsys fs.FS, builtin bool) (all source.Problems) {
	if fsys == nil {
		return nil
	}
	if problem, ok := unreadableParts(fsys); ok {
		return source.Problems{problem}
	}
	names, err := fs.Glob(fsys, "parts/*.yaml")
	if err != nil {
		return source.Problems{fileProblem("parts", "cannot list the parts: "+err.Error(), "")}
	}
	if len(names) > MaxFiles {
		return source.Problems{fileProblem("parts", fmt.Sprintf("the folder contains %d files of parts; %d is the "+
			"most that is read", len(names), MaxFiles), "put several parts into one file")}
	}
	if size := sizeOf(fsys, names); size > maxOwnBytes {
		return source.Problems{fileProblem("parts", fmt.Sprintf("the files of parts have %d MB; %d MB are the most "+
			"that is read", size>>20, maxOwnBytes>>20), "keep the parts that this project uses")}
	}
	beside := newFilesBeside(maxOwnBytes - sizeOf(fsys, names))
	for _, name := range names {
		if len(all) > maxProblems {
			return append(all, fileProblem(name, "this and the files after it were not read", "fix the problems above"))
		}
		all = append(all, s.add(fsys, name, builtin, beside)...)
	}
	return all
}

// unreadableParts reports a folder of parts that exists and cannot be listed. fs.Glob alone would take it for an empty
// one, and built-in parts of the same id would be used in place of the project's own without a message.
func unreadableParts(fsys fs.FS) (source.Problem, bool) {
	_, err := fs.ReadDir(fsys, "parts")
	if err == nil {
		return source.Problem{}, false
	}
	info, lstatErr := fs.Lstat(fsys, "parts")
	switch {
	case errors.Is(err, fs.ErrNotExist) && errors.Is(lstatErr, fs.ErrNotExist):
		return source.Problem{}, false // no own parts
	case lstatErr == nil && info.Mode()&fs.ModeSymlink != 0:
		return fileProblem("parts", "cannot follow the link to the folder of the project's own parts: "+inputfile.Reason(err),
			"replace the link by a folder, or remove it"), true
	case lstatErr == nil && !info.IsDir():
		return fileProblem("parts", "this is not a folder, so the project's own parts cannot be read",
			"move its content into a file such as parts/own.yaml, or rename it"), true
	case errors.Is(err, fs.ErrPermission):
		return fileProblem("parts", "permission to read the folder of the project's own parts is denied",
			"allow it, such as with chmod u+rx"), true
	}
	return fileProblem("parts", "cannot read the folder of the project's own parts: "+inputfile.Reason(err),
		"make it readable, or remove it to use built-in parts only"), true
}

// maxProblems is the number of problems after which no further file of parts is read.
const maxProblems = 200

// sizeOf returns the sum of the sizes of files; one that cannot be looked at is reported when it is read.
func sizeOf(fsys fs.FS, names []string) (sum int64) {
	for _, name := range names {
		if info, err := fs.Stat(fsys, name); err == nil && info.Mode().IsRegular() {
			sum += min(info.Size(), maxFileBytes)
		}
	}
	return sum
}

func newLibrary() *Library {
	l := &Library{}
	for _, k := range Kinds {
		k.clear(l)
	}
	return l
}

// add reads one file of parts into the library.
func (s *Library) add(fsys fs.FS, name string, builtin bool, beside *filesBeside) source.Problems {
	data, problems := readFile(fsys, name)
	if len(problems) > 0 {
		return problems
	}
	shown := name
	if builtin {
		shown = path.Join("library", path.Base(name))
	}
	file, problems := source.Read(shown, data)
	if file == nil {
		return problems
	}
	var parts PartsFile
	decoded, doubts := file.DecodeDoubting(&parts, renames...)
	problems = append(problems, decoded...)
	s.Doubts = append(s.Doubts, doubts...)
	a := adder{
		file: file, fsys: fsys, dir: path.Dir(name), beside: beside, builtin: builtin, invented: parts.Fictitious.On,
	}
	for _, k := range Kinds {
		k.put(&a, s, &parts)
	}
	return append(problems, a.problems...)
}

// adder adds the parts of one file to the library.
type adder struct {
	file              *source.File
	fsys              fs.FS
	dir               string // of the parts file
	beside            *filesBeside
	builtin, invented bool
	problems          source.Problems
}

func put[T any, P part[T]](a *adder, set Set[T], parts []T) {
	here := map[string]bool{}
	for i := range parts {
		p := P(&parts[i])
		if r, ok := any(p).(fileReader); ok {
			r.readFiles(a)
		}
		c := p.Basics()
		c.Builtin, c.Fictitious = a.builtin, a.invented
		if !c.ID.Set {
			continue // the decoder has said so
		}
		if old := set.parts[c.ID.S]; old != nil && (here[c.ID.S] || !P(old).Basics().Builtin || a.builtin) {
			a.problems = append(a.problems, problem(a.file, complaint{
				c.ID.At, fmt.Sprintf("%s %q is given twice", set.Kind, c.ID.S), "give one of them another id",
			}))
			continue
		}
		here[c.ID.S] = true
		for _, w := range p.problems() {
			a.problems = append(a.problems, problem(a.file, w))
		}
		set.parts[c.ID.S] = &parts[i]
	}
}

func problem(f *source.File, c complaint) source.Problem {
	return source.Problem{At: c.at, Msg: c.msg, Hint: c.hint, Line: f.Excerpt(c.at)}
}

func fileProblem(name, msg, hint string) source.Problem {
	return source.Problem{At: source.Pos{File: name}, Msg: msg, Hint: hint}
}

// readFile reads a file of at most a megabyte, and a byte of a larger one, so that source reports the limit.
func readFile(fsys fs.FS, name string) ([]byte, source.Problems) {
	data, err := inputfile.Read(fsys, name, maxFileBytes)
	if err != nil {
		return nil, source.Problems{fileProblem(name, "cannot read the file: "+inputfile.Reason(err), "")}
	}
	return data, nil
}
