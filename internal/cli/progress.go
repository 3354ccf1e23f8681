package cli

import (
	"fmt"
	"os"
	"path/filepath"

	"lampwright/internal/store"
)

// progress returns a reporter that draws one line on a terminal, and nothing elsewhere.
func (r *run) progress(what string) func(done, total int) {
	f, ok := r.err.(*os.File)
	if !ok {
		return nil
	}
	info, err := f.Stat()
	if err != nil || info.Mode()&os.ModeCharDevice == 0 {
		return nil
	}
	r.drawn = true
	return func(done, total int) {
		fmt.Fprintf(f, "\r%d of %d %s; Ctrl-C stops with what is done ", done, total, what)
	}
}

// clearProgress wipes the line.
func (r *run) clearProgress() {
	if r.drawn {
		fmt.Fprint(r.err, "\r\033[K")
	}
}

// solver returns the solver of a project, which keeps unit responses in its folder.
func (r *run) solver(path string) *store.Memory {
	dir := path
	if info, err := os.Stat(path); err == nil && !info.IsDir() {
		dir = filepath.Dir(path)
	}
	return &store.Memory{Store: fileStore{filepath.Join(dir, cacheDir)}}
}
