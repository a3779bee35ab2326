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
type lock struct{ file *os.File }

func acquire(path string) (lock, error) {
	// Without O_NONBLOCK, opening waits for a carrier on some devices; without
	// O_NOCTTY, the device could become this process's terminal.
	fd, err := unix.Open(path, unix.O_RDWR|unix.O_NOCTTY|unix.O_NONBLOCK|unix.O_CLOEXEC, 0)
	if err != nil {
		return lock{}, &fs.PathError{Op: "open", Path: path, Err: err}
	}
	f := os.NewFile(uintptr(fd), path)
	err = unix.Flock(fd, unix.LOCK_EX|unix.LOCK_NB)
	if errors.Is(err, unix.EWOULDBLOCK) {
		_ = f.Close()
		return lock{}, errLocked
	}
	// A system that cannot lock devices has TIOCEXCL alone.
	return lock{file: f}, nil
}

// write sends through the descriptor of the lock, because that one knows
// deadlines: a device that takes no bytes would block the serial library's
// Write for good, and a close with it.
func (l lock) write(_ io.Writer, p []byte) error {
	// Where there are no deadlines the write itself decides.
	_ = l.file.SetWriteDeadline(time.Now().Add(sendWait))
	_, err := l.file.Write(p)
	return err
}

func (l lock) release() {
	if l.file != nil {
		_ = l.file.Close()
	}
}
