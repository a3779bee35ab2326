//go:build linux || darwin || freebsd || netbsd || openbsd

package rehearse

import (
	"fmt"
	"os"
	"slices"

	"github.com/creack/pty"
	"golang.org/x/sys/unix"
)

// terminal is a pseudo-terminal behind a symbolic link. A terminal that was
// unplugged comes back under another number, as a serial device may; the link
// follows it.
type terminal struct {
	link   string
	master *os.File
	fd     int
	heard  []byte
}

func newTerminal(link string) device { return &terminal{link: link, fd: -1} }

func (t *terminal) plug() error {
	if t.master != nil {
		return nil
	}
	master, slave, err := pty.Open()
	if err != nil {
		return fmt.Errorf("%w: %w", errNoTerminal, err)
	}
	// Nobody keeps the near end open: so the far end can tell whether anyone
	// reads. The settings stay with the pair.
	defer slave.Close()
	fd := int(master.Fd())
	if err = raw(int(slave.Fd())); err == nil {
		err = unix.SetNonblock(fd, true)
	}
	if err == nil {
		_ = os.Remove(t.link)
		err = os.Symlink(slave.Name(), t.link)
	}
	if err != nil {
		_ = master.Close()
		return err
	}
	t.master, t.fd = master, fd
	return nil
}

func (t *terminal) unplug() {
	if t.master == nil {
		return
	}
	_ = os.Remove(t.link)
	_ = t.master.Close() // hangs up whoever has the near end open
	t.master, t.fd = nil, -1
}

func (t *terminal) write(p []byte) int {
	if t.master == nil || !t.opened() {
		return 0
	}
	for {
		n, err := unix.Write(t.fd, p)
		switch {
		case err == unix.EINTR: // the runtime's own signals
			continue
		case err != nil:
			return 0 // full, or the reader has just gone
		}
		return n
	}
}

// opened reports whether someone has the near end open. Where nobody has, a
// serial driver throws bytes away; a pseudo-terminal would keep them.
func (t *terminal) opened() bool {
	fds := []unix.PollFd{{Fd: int32(t.fd)}}
	for {
		_, err := unix.Poll(fds, 0)
		if err != unix.EINTR {
			return err == nil && fds[0].Revents&unix.POLLHUP == 0
		}
	}
}

// heardMost is as much as is listened to at a time.
const heardMost = 4096

func (t *terminal) read() []byte {
	t.heard = slices.Grow(t.heard[:0], heardMost)
	for t.master != nil && len(t.heard) < heardMost {
		n, err := unix.Read(t.fd, t.heard[len(t.heard):heardMost])
		switch {
		case err == unix.EINTR: // the runtime's own signals
		case n <= 0 || err != nil: // nothing more, or nobody is there
			return t.heard
		default:
			t.heard = t.heard[:len(t.heard)+n]
		}
	}
	return t.heard
}

// raw sets a terminal to pass every byte unchanged (the settings of
// cfmakeraw in termios(3)).
func raw(fd int) error {
	t, err := unix.IoctlGetTermios(fd, getTermios)
	if err != nil {
		return err
	}
	t.Iflag &^= unix.IGNBRK | unix.BRKINT | unix.PARMRK | unix.ISTRIP | unix.INLCR | unix.IGNCR | unix.ICRNL | unix.IXON
	t.Oflag &^= unix.OPOST
	t.Lflag &^= unix.ECHO | unix.ECHONL | unix.ICANON | unix.ISIG | unix.IEXTEN
	t.Cflag &^= unix.CSIZE | unix.PARENB
	t.Cflag |= unix.CS8
	t.Cc[unix.VMIN], t.Cc[unix.VTIME] = 1, 0
	return unix.IoctlSetTermios(fd, setTermios, t)
}
