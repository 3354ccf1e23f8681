//go:build unix

package atomicfile

import (
	"errors"
	"io/fs"
	"os"
	"syscall"

	"golang.org/x/sys/unix"
)

// tryLock gets the lock of a file, or returns errLocked.
func tryLock(f *os.File) error {
	err := unix.Flock(int(f.Fd()), unix.LOCK_EX|unix.LOCK_NB)
	if errors.Is(err, unix.EWOULDBLOCK) || errors.Is(err, unix.EINTR) {
		return errLocked
	}
	return err
}

// keepOwner gives a file the owner and the group of another, or the group alone, as far as the system permits it.
func keepOwner(f *os.File, of fs.FileInfo) {
	s, ok := of.Sys().(*syscall.Stat_t)
	if !ok {
		return
	}
	if f.Chown(int(s.Uid), int(s.Gid)) != nil {
		_ = f.Chown(-1, int(s.Gid))
	}
}
