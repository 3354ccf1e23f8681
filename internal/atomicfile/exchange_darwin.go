package atomicfile

import "golang.org/x/sys/unix"

// exchange exchanges two files in one step: renamex_np(2) with RENAME_SWAP.
func exchange(a, b string) error { return unix.RenamexNp(a, b, unix.RENAME_SWAP) }
