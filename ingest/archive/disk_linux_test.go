package archive_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"tautlog/ingest/archive"
	"tautlog/ingest/archive/archivetest"
)

// TestFullDisk fills the server's disk, a small file system in memory, and
// makes room again. Mounting that needs root.
func TestFullDisk(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	if err := unix.Mount("tmpfs", dir, "tmpfs", 0, "size=48m"); err != nil {
		if os.Getenv("TAUTLOG_CHECKS") == "all" {
			require.NoError(t, err, "mount a small file system")
		}
		t.Skipf("cannot mount a small file system here (run as root): %v", err)
	}
	t.Cleanup(func() { require.NoError(t, unix.Unmount(dir, unix.MNT_DETACH)) })
	server := archivetest.Start(t, archivetest.Options{Dir: dir})
	bucket := server.Database(t)
	l := newLaptop(t, server.URL, bucket, "")
	l.record(t, noise(l.cell, start, 1e6, 100))
	pusher := l.pusher(t)
	push(t, t.Context(), pusher)

	var free unix.Statfs_t
	require.NoError(t, unix.Statfs(dir, &free))
	ballast := filepath.Join(dir, "photographs")
	require.NoError(t, os.WriteFile(ballast, make([]byte, free.Bavail*uint64(free.Bsize)-200<<10), 0o600))
	l.record(t, noise(l.cell, start+1e9, 1e6, 100_000))
	_, err := pusher.Push(t.Context(), true)
	wantFault(t, err, archive.Away, "The disk of the archive at "+server.URL+" is full. Make room on it")
	require.NoError(t, os.Remove(ballast))
	server.Kill() // it goes on refusing until it is started again
	server.Run(t)
	push(t, t.Context(), pusher)
	l.wantAll(t, server, bucket)
}
