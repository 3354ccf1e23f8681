package cli

import (
	"os"
	"path/filepath"

	"lampwright/internal/atomicfile"
	"lampwright/internal/inputfile"
)

// cacheDir is the folder of unit responses inside a project folder. It may be deleted at any time.
const cacheDir = ".lampwright-cache"

// maxCached is the maximum number of files of each kind in a cache folder; beyond it all are deleted.
const maxCached = 64

// maxCachedBytes is the maximum size of one file of a cache folder.
const maxCachedBytes = 256 << 20

// fileStore stores unit responses as files. Read and write errors are ignored: the responses are then computed again.
type fileStore struct{ dir string }

// Get returns the file of a key.
func (s fileStore) Get(key string) ([]byte, bool) {
	data, err := inputfile.ReadPath(filepath.Join(s.dir, key), maxCachedBytes)
	return data, err == nil && len(data) <= maxCachedBytes
}

// Put writes the file of a key.
func (s fileStore) Put(key string, data []byte) {
	for _, kind := range []string{"heat-*", "light-*"} { // not the snapshots in the same folder
		if names, err := filepath.Glob(filepath.Join(s.dir, kind)); err == nil && len(names) > maxCached {
			for _, n := range names {
				_ = os.Remove(n)
			}
		}
	}
	if os.MkdirAll(s.dir, 0o755) != nil {
		return
	}
	ignore := filepath.Join(s.dir, ".gitignore")
	if _, err := os.Stat(ignore); err != nil {
		_ = atomicfile.Save(ignore, []byte("# Unit responses that Lampwright keeps; delete them at any time.\n*\n"))
	}
	_ = atomicfile.Save(filepath.Join(s.dir, key), data)
}
