package atomicfile

import (
	"errors"

	"golang.org/x/sys/unix"
)

// exchange exchanges two files in one step: renameat2(2) with RENAME_EXCHANGE.
func exchange(a, b string) error {
	err := unix.Renameat2(unix.AT_FDCWD, a, unix.AT_FDCWD, b, unix.RENAME_EXCHANGE)
	if errors.Is(err, unix.EINVAL) { // not every file system can
		return errors.ErrUnsupported
	}
	return err
}
