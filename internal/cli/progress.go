package cli

import (
	"fmt"
	"io"
	"os"
	"path/filepath"

	"lampwright/internal/store"
)

// progress returns a reporter that draws one line on a terminal, and nothing elsewhere. Before a pager it draws nothing, too: a
// pager owns the screen.
func (r *run) progress(what string) func(done, total int) { return r.reporter(what, "Ctrl-C stops") }

// partialProgress is progress of a command that prints what is done where it is stopped.
func (r *run) partialProgress(what string) func(done, total int) {
	return r.reporter(what, "Ctrl-C stops and prints what is done")
}

func (r *run) reporter(what, stop string) func(done, total int) {
	if !r.drawn {
		return nil
	}
	return func(done, total int) {
		fmt.Fprintf(raw(r.err), "\r%d of %d %s; %s ", done, total, what, stop)
	}
}

func isPipe(w io.Writer) bool {
	f, ok := w.(*os.File)
	if !ok {
		return false
	}
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeNamedPipe != 0
}

// clearProgress clears the progress line.
func (r *run) clearProgress() {
	if r.drawn {
		fmt.Fprint(raw(r.err), "\r\033[K")
	}
}

// solver returns the solver of a project, which keeps unit responses in its folder.
func (r *run) solver(path string) *store.Memory {
	return &store.Memory{Store: fileStore{dir: filepath.Join(folder(path), store.Folder)}}
}
