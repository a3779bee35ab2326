//go:build unix

package port

import "golang.org/x/sys/unix"

// denied reports whether this user may not open a device.
func denied(path string) bool {
	return unix.Access(path, unix.R_OK|unix.W_OK) == unix.EACCES
}
