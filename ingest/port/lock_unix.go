//go:build unix

package port

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"time"

	"golang.org/x/sys/unix"
)

// lock is an exclusive lock on a device. The serial library's own exclusive
// mode (TIOCEXCL) does not hold against root.
//
// It is a bare descriptor and no os.File: the runtime would watch a file for
// readiness, and wake up for every reading that arrives at the device.
type lock struct{ fd int }

func acquire(path string) (lock, error) {
	// Without O_NONBLOCK, opening waits for a carrier on some devices; without
	// O_NOCTTY, the device could become this process's terminal.
	fd, err := unix.Open(path, unix.O_RDWR|unix.O_NOCTTY|unix.O_NONBLOCK|unix.O_CLOEXEC, 0)
	if err != nil {
		return lock{}, &fs.PathError{Op: "open", Path: path, Err: err}
	}
	err = unix.Flock(fd, unix.LOCK_EX|unix.LOCK_NB)
	if errors.Is(err, unix.EWOULDBLOCK) {
		_ = unix.Close(fd)
		return lock{}, errLocked
	}
	// A system that cannot lock devices has TIOCEXCL alone.
	return lock{fd: fd}, nil
}

// write sends through the descriptor of the lock, because that one does not
// block: a device that takes no bytes would block the serial library's Write
// for good, and a close with it.
func (l lock) write(_ io.Writer, p []byte) error {
	for deadline := time.Now().Add(sendWait); len(p) > 0; {
		n, err := unix.Write(l.fd, p)
		switch {
		case n > 0:
			p = p[n:]
		case errors.Is(err, unix.EINTR):
		case err != nil && !errors.Is(err, unix.EAGAIN):
			return os.NewSyscallError("write", err)
		case time.Now().After(deadline):
			return os.ErrDeadlineExceeded
		default:
			time.Sleep(time.Millisecond) // it takes no more at the moment
		}
	}
	return nil
}

func (l lock) release() { _ = unix.Close(l.fd) }
