package cli

import (
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"lampwright/internal/atomicfile"
	"lampwright/internal/inputfile"
	"lampwright/internal/store"
)

// maxCacheBytes is the maximum size of the unit responses in a cache folder [B]; beyond it those that were not used for
// the longest time are deleted. A file of a large lamp has up to 36 MB.
const maxCacheBytes = 200 << 20

// fileStore stores unit responses as files. Read and write errors are ignored: the responses are then computed again.
type fileStore struct {
	dir      string
	maxBytes int64 // 0 means maxCacheBytes
}

func (s fileStore) limit() int64 {
	if s.maxBytes == 0 {
		return maxCacheBytes
	}
	return s.maxBytes
}

// Get returns the file of a key, and marks it as used now.
func (s fileStore) Get(key string) ([]byte, bool) {
	path := filepath.Join(s.dir, key)
	data, err := inputfile.ReadPath(path, s.limit())
	if err != nil || int64(len(data)) > s.limit() {
		return nil, false
	}
	now := time.Now()
	_ = os.Chtimes(path, now, now)
	return data, true
}

// Put writes the file of a key.
func (s fileStore) Put(key string, data []byte) {
	if int64(len(data)) > s.limit() || os.MkdirAll(s.dir, 0o755) != nil {
		return
	}
	s.shrink(key, s.limit()-int64(len(data)))
	ignore := filepath.Join(s.dir, ".gitignore")
	if _, err := os.Stat(ignore); err != nil {
		_ = atomicfile.Save(ignore, []byte(store.FolderIgnore))
	}
	_ = atomicfile.Save(filepath.Join(s.dir, key), data)
}

// shrink deletes the unit responses that were not used for the longest time, until those besides the one of a key have
// at most so many bytes. Snapshots in the same folder stay.
func (s fileStore) shrink(key string, atMost int64) {
	entries, err := os.ReadDir(s.dir)
	if err != nil {
		return
	}
	var files []fs.FileInfo
	var size int64
	for _, e := range entries {
		name := e.Name()
		if name == key || !strings.HasPrefix(name, "heat-") && !strings.HasPrefix(name, "light-") {
			continue
		}
		if info, err := e.Info(); err == nil && info.Mode().IsRegular() {
			files = append(files, info)
			size += info.Size()
		}
	}
	slices.SortFunc(files, func(a, b fs.FileInfo) int { return a.ModTime().Compare(b.ModTime()) })
	for _, f := range files {
		if size <= atMost {
			return
		}
		if os.Remove(filepath.Join(s.dir, f.Name())) == nil {
			size -= f.Size()
		}
	}
}
