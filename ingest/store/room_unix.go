//go:build linux || darwin

package store

import "golang.org/x/sys/unix"

// room is how many bytes this program may still write to the disk of a
// directory; false: the system does not say.
func room(dir string) (free uint64, known bool) {
	var s unix.Statfs_t
	if unix.Statfs(dir, &s) != nil {
		return 0, false
	}
	return s.Bavail * uint64(s.Bsize), true
}
