// Package inputfile opens files that people name, so that none of them stops the program.
//
// In: a path, or a name within a folder. Out: an open file, its bytes up to a limit, or an error in words.
// Assumes: the folder may contain anything: named pipes, devices, sockets, links that lead to each other.
// Leaves to others: the syntax of the files, and which limit applies.
//
// The type is looked at before a file is opened, since opening a named pipe waits for its writer. It is opened with
// O_NONBLOCK and looked at again, since another program may have replaced it in between.
package inputfile

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
)

// Folder returns the files of a folder, like os.DirFS, but only regular files and folders. Links are followed.
func Folder(dir string) fs.FS {
	at := func(name string) string { return filepath.Join(dir, filepath.FromSlash(name)) }
	return opener{
		stat:  func(name string) (fs.FileInfo, error) { return os.Stat(at(name)) },
		lstat: func(name string) (fs.FileInfo, error) { return os.Lstat(at(name)) },
		link:  func(name string) (string, error) { return os.Readlink(at(name)) },
		open:  func(name string) (*os.File, error) { return os.OpenFile(at(name), flags, 0) },
	}
}

// Root returns the regular files and folders below a root. A link that leads out of it is refused.
func Root(r *os.Root) fs.FS {
	return opener{
		stat: r.Stat, lstat: r.Lstat, link: r.Readlink,
		open: func(name string) (*os.File, error) { return r.OpenFile(name, flags, 0) },
	}
}

const flags = os.O_RDONLY | syscall.O_NONBLOCK

// ErrType is what an error wraps if the file is neither a regular file nor, where one is permitted, a folder.
var ErrType = errors.New("not a regular file")

// opener is a file system that opens regular files and folders.
type opener struct {
	stat, lstat func(name string) (fs.FileInfo, error)
	link        func(name string) (string, error)
	open        func(name string) (*os.File, error)
}

var _ fs.ReadLinkFS = opener{}

// Open opens a regular file or a folder.
func (o opener) Open(name string) (fs.File, error) {
	if !fs.ValidPath(name) {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrInvalid}
	}
	info, err := o.Stat(name)
	if err != nil {
		return nil, err
	}
	if err := permitted(name, info); err != nil {
		return nil, err
	}
	f, err := o.open(name)
	if err != nil {
		return nil, err
	}
	if info, err = f.Stat(); err == nil {
		err = permitted(name, info)
	}
	if err != nil {
		f.Close()
		return nil, err
	}
	return f, nil
}

// Stat describes a file without opening it.
func (o opener) Stat(name string) (fs.FileInfo, error) {
	if !fs.ValidPath(name) {
		return nil, &fs.PathError{Op: "stat", Path: name, Err: fs.ErrInvalid}
	}
	return o.stat(name)
}

// Lstat describes a file, or a link itself.
func (o opener) Lstat(name string) (fs.FileInfo, error) {
	if !fs.ValidPath(name) {
		return nil, &fs.PathError{Op: "lstat", Path: name, Err: fs.ErrInvalid}
	}
	return o.lstat(name)
}

// ReadLink returns where a link leads.
func (o opener) ReadLink(name string) (string, error) {
	if !fs.ValidPath(name) {
		return "", &fs.PathError{Op: "readlink", Path: name, Err: fs.ErrInvalid}
	}
	return o.link(name)
}

// permitted returns an error for all but regular files and folders.
func permitted(name string, info fs.FileInfo) error {
	m := info.Mode()
	if m.IsRegular() || m.IsDir() {
		return nil
	}
	return typeError(name, info)
}

func typeError(name string, info fs.FileInfo) error {
	return &fs.PathError{Op: "open", Path: name, Err: fmt.Errorf("this is a %s, %w", kindOf(info.Mode()), ErrType)}
}

// kindOf names the type of a file.
func kindOf(m fs.FileMode) string {
	switch {
	case m.IsDir():
		return "folder"
	case m&fs.ModeNamedPipe != 0:
		return "named pipe"
	case m&fs.ModeSocket != 0:
		return "socket"
	case m&fs.ModeDevice != 0:
		return "device"
	}
	return "special file"
}

// Read returns the first limit+1 bytes of a regular file: a reader that finds more than limit reports its limit.
func Read(fsys fs.FS, name string, limit int64) ([]byte, error) {
	f, err := fsys.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, typeError(name, info)
	}
	return io.ReadAll(io.LimitReader(f, limit+1))
}

// ReadPath is Read of a path as typed.
func ReadPath(path string, limit int64) ([]byte, error) {
	data, err := Read(Folder(filepath.Dir(path)), filepath.Base(path), limit)
	if wrong := (*fs.PathError)(nil); errors.As(err, &wrong) {
		return nil, &fs.PathError{Op: "open", Path: path, Err: wrong.Err}
	}
	return data, err
}

// Reason returns the cause of a file error in words, without the path, which a message names already.
func Reason(err error) string {
	if wrong := (*fs.PathError)(nil); errors.As(err, &wrong) {
		err = wrong.Err
	}
	text := err.Error()
	switch {
	case errors.Is(err, syscall.ELOOP):
		return "its links form a loop"
	case strings.HasSuffix(text, "path escapes from parent"):
		return "the link leads out of the project folder; copy the file into the folder"
	}
	if i := strings.LastIndex(text, ": "); i >= 0 {
		return text[i+2:]
	}
	return text
}
