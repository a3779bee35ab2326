package needs

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// Disk mounts a file system in memory of that size ("8m") until the test ends,
// and gives its directory. That needs root.
func Disk(t testing.TB, size string) string {
	t.Helper()
	dir := t.TempDir()
	if err := unix.Mount("tmpfs", dir, "tmpfs", 0, "size="+size); err != nil {
		Missing(t, "cannot mount a small file system here (run as root): %v", err)
	}
	t.Cleanup(func() { require.NoError(t, unix.Unmount(dir, unix.MNT_DETACH)) })
	return dir
}

// Fill writes a file that leaves so many bytes of a disk free, and gives its
// path.
func Fill(t testing.TB, disk string, spare uint64) string {
	t.Helper()
	var free unix.Statfs_t
	require.NoError(t, unix.Statfs(disk, &free))
	name := filepath.Join(disk, "photographs")
	require.NoError(t, os.WriteFile(name, make([]byte, free.Bavail*uint64(free.Bsize)-spare), 0o600))
	return name
}
