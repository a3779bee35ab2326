//go:build darwin || freebsd || netbsd || openbsd

package rehearse

import "golang.org/x/sys/unix"

const (
	getTermios = unix.TIOCGETA
	setTermios = unix.TIOCSETA
)
