package archive_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"tautlog/ingest/archive"
	"tautlog/ingest/archive/archivetest"
	"tautlog/ingest/needs"
)

// TestFullDisk fills the server's disk, a small file system in memory, and
// makes room again.
func TestFullDisk(t *testing.T) {
	t.Parallel()
	dir := needs.Disk(t, "48m")
	server := archivetest.Start(t, archivetest.Options{Dir: dir})
	bucket := server.Database(t)
	l := newLaptop(t, server.URL, bucket, "")
	l.record(t, noise(l.cell, start, 1e6, 100))
	pusher := l.pusher(t)
	push(t, t.Context(), pusher)

	ballast := needs.Fill(t, dir, 200<<10)
	l.record(t, noise(l.cell, start+1e9, 1e6, 100_000))
	_, err := pusher.Push(t.Context(), true)
	wantFault(t, err, archive.Away, "The disk of the archive at "+server.URL+" is full. Make room on it")
	require.NoError(t, os.Remove(ballast))
	server.Kill() // it goes on refusing until it is started again
	server.Run(t)
	push(t, t.Context(), pusher)
	l.wantAll(t, server, bucket)
}
