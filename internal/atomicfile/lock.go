package atomicfile

import (
	"errors"
	"os"
	"time"
)

// errLocked means that another process has the lock.
var errLocked = errors.New("locked")

// ErrBusy means that another process kept the lock for longer than the caller waits.
var ErrBusy = errors.New("another Lampwright server is saving into this folder")

// lockPoll is the time between two attempts to get a lock.
const lockPoll = 2 * time.Millisecond

// Lock gets the lock of an open file, which no other open file of this or another process has until it is closed. It
// waits at most so long, and returns ErrBusy then. The lock is advisory; the system releases that of a killed process.
func Lock(f *os.File, wait time.Duration) error {
	end := time.Now().Add(wait)
	for {
		err := tryLock(f)
		if !errors.Is(err, errLocked) {
			return err
		}
		if time.Now().After(end) {
			return ErrBusy
		}
		time.Sleep(lockPoll)
	}
}
