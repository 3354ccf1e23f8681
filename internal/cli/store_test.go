package cli

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"lampwright/internal/store"
)

// TestCacheBytes wants the cache bounded by its bytes: the file that was not used for the longest time is deleted
// first, and snapshots stay.
func TestCacheBytes(t *testing.T) {
	dir := filepath.Join(t.TempDir(), store.Folder)
	s := fileStore{dir, 1000}
	names := func() string {
		entries, err := os.ReadDir(dir)
		if err != nil {
			t.Fatal(err)
		}
		var out []string
		for _, e := range entries {
			if e.Name() != ".gitignore" {
				out = append(out, e.Name())
			}
		}
		return strings.Join(out, " ")
	}
	age := func(name string, by time.Duration) {
		at := time.Now().Add(-by)
		if err := os.Chtimes(filepath.Join(dir, name), at, at); err != nil {
			t.Fatal(err)
		}
	}
	put := func(key string, bytes int) { s.Put(key, make([]byte, bytes)) }
	put("heat-a", 400)
	put("light-b", 300)
	put("heat-c", 300)
	if err := os.MkdirAll(filepath.Join(dir, "snapshots"), 0o755); err != nil {
		t.Fatal(err)
	}
	if got := names(); got != "heat-a heat-c light-b snapshots" {
		t.Errorf("1000 of 1000 bytes: %s", got)
	}
	age("heat-a", 3*time.Hour)
	age("light-b", 2*time.Hour)
	age("heat-c", time.Hour)
	if data, ok := s.Get("heat-a"); !ok || len(data) != 400 {
		t.Errorf("got %d bytes, %v", len(data), ok)
	}
	put("light-d", 1)
	if got := names(); got != "heat-a heat-c light-d snapshots" {
		t.Errorf("the file that was not used for the longest time is not the one deleted: %s", got)
	}
	put("light-d", 300)
	if got := names(); got != "heat-a heat-c light-d snapshots" {
		t.Errorf("a file that takes the place of one of its name: %s", got)
	}
	put("heat-e", 1001)
	if got := names(); got != "heat-a heat-c light-d snapshots" {
		t.Errorf("a file larger than the bound: %s", got)
	}
	put("heat-e", 1000)
	if got := names(); got != "heat-e snapshots" {
		t.Errorf("a file as large as the bound: %s", got)
	}
	if err := os.WriteFile(filepath.Join(dir, "heat-f"), make([]byte, 1001), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, ok := s.Get("heat-f"); ok {
		t.Error("a file larger than the bound was read")
	}
}
