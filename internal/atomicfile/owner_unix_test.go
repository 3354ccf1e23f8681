//go:build unix

package atomicfile

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"
)

// TestOwner wants root to leave a file to its owner.
func TestOwner(t *testing.T) {
	if os.Getuid() != 0 {
		t.Skip("only root may give files away")
	}
	path := filepath.Join(t.TempDir(), "lamp.yaml")
	must(t, os.WriteFile(path, []byte("a"), 0o640))
	must(t, os.Chown(path, 1234, 2345))
	must(t, Save(path, []byte("b")))
	must(t, Replace(path, []byte("b"), []byte("c")))
	holds(t, path, "c", 0o640)
	info, err := os.Stat(path)
	must(t, err)
	if s := info.Sys().(*syscall.Stat_t); s.Uid != 1234 || s.Gid != 2345 {
		t.Errorf("the owner is %d:%d, want 1234:2345", s.Uid, s.Gid)
	}
}
