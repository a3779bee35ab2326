package store

import (
	"math"
	"path/filepath"
	"testing"

	"tautlog/ingest/needs"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

func TestReadOnlyDisk(t *testing.T) {
	t.Parallel()
	disk := needs.Disk(t, "8m")
	s := open(t, filepath.Join(disk, "store"), Options{})
	cell := newCell(t, s)
	run := Run{Cell: cell, Start: morning, Step: 1e6, Raw: noisy(5, 250)}
	require.NoError(t, s.Append(t.Context(), []Run{run}))
	require.NoError(t, s.Close())
	require.NoError(t, unix.Mount("tmpfs", disk, "tmpfs", unix.MS_REMOUNT|unix.MS_RDONLY, ""))

	_, err := Open(s.Dir(), Options{})
	requireSentence(t, err, ErrReadOnly, s.Dir(), "may write in")
	_, err = Open(filepath.Join(disk, "other"), Options{})
	requireSentence(t, err, ErrReadOnly, disk)

	r, err := OpenReader(s.Dir())
	require.NoError(t, err, "what was stored can still be read")
	require.Equal(t, []Run{run}, collect(t, r, cell, 0, math.MaxInt64))
	require.NoError(t, r.Backup(t.Context(), filepath.Join(t.TempDir(), "club.backup")), "and backed up")
	require.NoError(t, r.Close())
}

// TestDiskTurnedReadOnly: the system finds an error on the disk while a store is
// written there.
func TestDiskTurnedReadOnly(t *testing.T) {
	t.Parallel()
	disk := needs.Card(t, 16<<20)
	s, err := Open(filepath.Join(disk.Dir, "store"), Options{})
	require.NoError(t, err)
	cell := newCell(t, s)
	run := Run{Cell: cell, Start: morning, Step: 1e6, Raw: noisy(5, 250)}
	require.NoError(t, s.Append(t.Context(), []Run{run}))
	left, err := filepath.Glob(filepath.Join(s.Dir(), "*"))
	require.NoError(t, err)
	require.False(t, s.turned())
	after, err := filepath.Glob(filepath.Join(s.Dir(), "*"))
	require.NoError(t, err)
	require.Equal(t, left, after, "nothing stays of the question")

	disk.Fail()
	next := run
	next.Start = run.At(len(run.Raw))
	requireSentence(t, s.Append(t.Context(), []Run{next}), ErrTurned, s.Dir(), "the system made the disk read-only", "copy the directory to another disk")
	_, err = s.SaveDay(t.Context(), Day{Date: "2026-05-01", Name: "practice"})
	requireSentence(t, err, ErrTurned)
	require.Equal(t, []Run{run}, collect(t, s, cell, 0, math.MaxInt64), "what was stored can still be read")
	_ = s.Close() // which writes nothing any more
}

func TestFullDisk(t *testing.T) {
	t.Parallel()
	disk := needs.Disk(t, "3m")
	s := open(t, disk, Options{foldReadings: 1000})
	cell := newCell(t, s)
	next := Run{Cell: cell, Start: morning, Step: 1e6}
	var kept int
	var err error
	for err == nil && kept < 1000 {
		next.Raw = noisy(3000, 25_000)
		if err = s.Append(t.Context(), []Run{next}); err == nil {
			kept++
			next.Start = next.At(len(next.Raw))
		}
	}
	t.Logf("full after %d runs: %v", kept, err)
	requireSentence(t, err, ErrFull, disk, "make room")
	require.Len(t, readings(collect(t, s, cell, 0, math.MaxInt64)), kept*25_000, "what was stored before is all there")
	require.NoError(t, s.Integrity(t.Context()))
}

func TestBackupAndRestoreOnAFullDisk(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	require.NoError(t, s.Append(t.Context(), []Run{{Cell: cell, Start: morning, Step: 1e6, Raw: noisy(30_000, 600_000)}}))
	file := filepath.Join(t.TempDir(), "club.backup")
	require.NoError(t, s.Backup(t.Context(), file))

	disk := needs.Disk(t, "1m")
	requireSentence(t, s.Backup(t.Context(), filepath.Join(disk, "club.backup")), ErrFull)
	_, err := Restore(t.Context(), file, disk, false, restoredAt)
	require.ErrorIs(t, err, unix.ENOSPC)
	left, err := filepath.Glob(filepath.Join(disk, "*.*"))
	require.NoError(t, err)
	require.Equal(t, []string{filepath.Join(disk, lockName)}, left, "nothing half made stays")
}
