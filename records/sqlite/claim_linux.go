package sqlite

import (
	"errors"
	"fmt"
	"io"
	"os"
	"syscall"
)

// setOpenFileLock is F_OFD_SETLK of fcntl(2): a lock that belongs to the
// handle and not to the process, so that two parts of one program keep each
// other out too, and that ends with the program.
const setOpenFileLock = 37

// lockByte locks or unlocks one byte of a file.
func lockByte(f *os.File, at int64, lock bool) error {
	l := syscall.Flock_t{Type: syscall.F_UNLCK, Whence: io.SeekStart, Start: at, Len: 1}
	if lock {
		l.Type = syscall.F_WRLCK
	}
	err := syscall.FcntlFlock(f.Fd(), setOpenFileLock, &l)
	switch {
	case err == nil:
		return nil
	case errors.Is(err, syscall.EAGAIN), errors.Is(err, syscall.EACCES):
		return errClaimed
	case errors.Is(err, syscall.ENOLCK), errors.Is(err, syscall.EINVAL), errors.Is(err, syscall.ENOTSUP), errors.Is(err, syscall.ENOSYS):
		return errNoClaims
	}
	return fmt.Errorf("lock: %w", err)
}
