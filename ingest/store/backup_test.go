package store

import (
	"context"
	"database/sql"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tautlog/calc/gear"
)

var restoredAt = time.Date(2026, 5, 9, 8, 0, 0, 0, time.UTC)

func TestABackupHoldsEverything(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	run := Run{Cell: cell, Start: morning, Step: 1e6, Raw: noisy(5, 3000)}
	tail := Run{Cell: cell, Start: run.At(3000), Step: 1e6, Raw: noisy(5, 30)}
	require.NoError(t, s.Append(t.Context(), []Run{run}))
	foldAll(t, s, cell)
	require.NoError(t, s.Append(t.Context(), []Run{tail}))
	item, err := s.SaveItem(t.Context(), Document[gear.Item]{Value: gear.Item{Name: "blue strap 9 m", Kind: gear.RecoveryStrap}})
	require.NoError(t, err)

	file := filepath.Join(t.TempDir(), "club.backup")
	require.NoError(t, s.Backup(t.Context(), file))
	requireSentence(t, s.Backup(t.Context(), file), ErrInvalid, file, "another name")

	dir := filepath.Join(t.TempDir(), "restored")
	done, err := Restore(t.Context(), file, dir, false, restoredAt)
	require.NoError(t, err)
	require.Empty(t, done.Aside)
	r := open(t, dir, Options{})
	require.Equal(t, readings([]Run{run, tail}), readings(collect(t, r, cell, 0, math.MaxInt64)))
	back, err := r.Item(t.Context(), item.ID)
	require.NoError(t, err)
	require.Equal(t, item, back)
	require.Equal(t, journalOf(t, s), journalOf(t, r), "who changed what is kept as well")
	require.NoError(t, r.Integrity(t.Context()))
	requireAlone(t, dir)
}

// TestNobodyIsSignedInWhereABackupWasRestored signs a phone out after a backup
// was made: the restored store does not know it either, nor a pass of then.
func TestNobodyIsSignedInWhereABackupWasRestored(t *testing.T) {
	t.Parallel()
	s, _ := openNew(t)
	jun, err := s.SavePerson(t.Context(), Person{Name: "Jun", Role: "operator"})
	require.NoError(t, err)
	_, err = s.StartSession(t.Context(), "hash of a secret", Session{Person: jun, Made: restoredAt, Seen: restoredAt, Ends: restoredAt.Add(72 * time.Hour)})
	require.NoError(t, err)
	require.NoError(t, s.AddPass(t.Context(), "hash of a pass", jun.ID, restoredAt, restoredAt.Add(5*time.Minute)))
	file := filepath.Join(t.TempDir(), "club.backup")
	require.NoError(t, s.Backup(t.Context(), file))
	require.NoError(t, s.EndSessions(t.Context(), jun.ID))

	dir := filepath.Join(t.TempDir(), "restored")
	_, err = Restore(t.Context(), file, dir, false, restoredAt)
	require.NoError(t, err)
	r := open(t, dir, Options{})
	people, err := r.People(t.Context())
	require.NoError(t, err)
	require.Len(t, people, 1, "who may sign in is kept")
	_, err = r.SessionByHash(t.Context(), "hash of a secret")
	require.ErrorIs(t, err, ErrNotFound)
	_, err = r.PassFor(t.Context(), "hash of a pass", restoredAt)
	require.ErrorIs(t, err, ErrNotFound)
}

func journalOf(t *testing.T, s *Store) (lines []Change) {
	t.Helper()
	lines, err := s.Changes(t.Context(), JournalFilter{Limit: 1000})
	require.NoError(t, err)
	return lines
}

// requireAlone wants no working copy to be left behind.
func requireAlone(t *testing.T, dir string) {
	t.Helper()
	left, err := filepath.Glob(filepath.Join(dir, ".tautlog-*"))
	require.NoError(t, err)
	require.Empty(t, left)
}

func TestABackupBesideARecorderIsOneMoment(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	ctx, stop := context.WithCancel(t.Context())
	var recording sync.WaitGroup
	first := make(chan struct{})
	recording.Go(func() {
		next := Run{Cell: cell, Start: morning, Step: 1e6, Raw: noisy(5, 250)}
		for i := 0; ctx.Err() == nil && i < 2000; i++ {
			if err := s.Append(context.Background(), []Run{next}); err != nil {
				t.Error(err)
				return
			}
			if i == 0 {
				close(first)
			}
			next.Start = next.At(250)
		}
	})
	<-first
	beside, err := OpenReader(s.Dir())
	require.NoError(t, err)
	defer beside.Close()
	file := filepath.Join(t.TempDir(), "club.backup")
	err = beside.Backup(t.Context(), file)
	stop()
	recording.Wait()
	require.NoError(t, err)

	dir := t.TempDir()
	_, err = Restore(t.Context(), file, dir, false, restoredAt)
	require.NoError(t, err)
	got := readings(collect(t, open(t, dir, Options{}), cell, 0, math.MaxInt64))
	require.NotEmpty(t, got)
	require.Equal(t, readings(collect(t, s, cell, 0, math.MaxInt64))[:len(got)], got)
	require.Zero(t, len(got)%250, "no commit is there by half")
}

func TestRestoreKeepsAsideWhatIsThere(t *testing.T) {
	t.Parallel()
	s, _ := openNew(t)
	file := filepath.Join(t.TempDir(), "club.backup")
	require.NoError(t, s.Backup(t.Context(), file))

	dir := t.TempDir()
	other := open(t, dir, Options{})
	kept, err := other.SaveItem(t.Context(), Document[gear.Item]{Value: gear.Item{Name: "bow shackle 12", Kind: gear.BowShackle}})
	require.NoError(t, err)
	_, err = Restore(t.Context(), file, dir, true, restoredAt)
	requireSentence(t, err, ErrLocked, dir, "stop the other daemon")
	require.NoError(t, other.Close())
	_, err = Restore(t.Context(), file, dir, false, restoredAt)
	requireSentence(t, err, ErrConflict, dir, "kept aside")

	reader, err := OpenReader(dir)
	require.NoError(t, err)
	defer reader.Close()
	done, err := Restore(t.Context(), file, dir, true, restoredAt)
	require.NoError(t, err)
	require.Equal(t, filepath.Join(dir, "tautlog.before-20260509T080000Z.db"), done.Aside)
	requireAlone(t, dir)
	r := open(t, dir, Options{})
	require.Equal(t, journalOf(t, s), journalOf(t, r))

	back := t.TempDir()
	_, err = Restore(t.Context(), done.Aside, back, false, restoredAt)
	require.NoError(t, err, "what was kept aside can be restored like a backup")
	found, err := open(t, back, Options{}).Item(t.Context(), kept.ID)
	require.NoError(t, err)
	require.Equal(t, kept, found)
}

func TestWhatIsNoBackupChangesNothing(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	require.NoError(t, s.Append(t.Context(), []Run{{Cell: cell, Start: morning, Step: 1e6, Raw: noisy(5, 20_000)}}))
	foldAll(t, s, cell)
	good := filepath.Join(t.TempDir(), "good")
	require.NoError(t, s.Backup(t.Context(), good))
	whole, err := os.ReadFile(good)
	require.NoError(t, err)
	foreign := filepath.Join(t.TempDir(), "foreign")
	db, err := sql.Open("sqlite", "file:"+foreign)
	require.NoError(t, err)
	_, err = db.Exec(`CREATE TABLE letters (text)`)
	require.NoError(t, err)
	require.NoError(t, db.Close())
	other, err := os.ReadFile(foreign)
	require.NoError(t, err)
	damaged := append([]byte(nil), whole...)
	for i := len(damaged) / 2; i < len(damaged)/2+4096; i++ {
		damaged[i] ^= 0x5a
	}
	cases := map[string][]byte{"text": []byte("dear club, here are our pulls\n"), "foreign": other, "cut": whole[:len(whole)*2/3], "damaged": damaged}
	for name, data := range cases {
		t.Run(name, func(t *testing.T) {
			file := filepath.Join(t.TempDir(), "club.backup")
			require.NoError(t, os.WriteFile(file, data, 0o600))
			dir := t.TempDir()
			there := open(t, dir, Options{})
			before, err := there.SaveCell(t.Context(), Cell{Name: "River-1"})
			require.NoError(t, err)
			require.NoError(t, there.Close())
			_, err = Restore(t.Context(), file, dir, true, restoredAt)
			require.ErrorContains(t, err, file)
			require.ErrorContains(t, err, "changed")
			requireAlone(t, dir)
			_, err = open(t, dir, Options{}).CellByName(t.Context(), before.Name)
			require.NoError(t, err, "the store that was there is as it was")
		})
	}
	_, err = Restore(t.Context(), filepath.Join(t.TempDir(), "none"), t.TempDir(), false, restoredAt)
	require.ErrorIs(t, err, os.ErrNotExist)
}

func foldAll(t *testing.T, s *Store, cell int64) {
	t.Helper()
	_, err := s.Fold(t.Context(), cell)
	require.NoError(t, err)
}

// An empty file is no store, though a database would be made of it; and
// a directory that nothing was restored into is not left behind.
func TestNothingIsRestoredFromNothing(t *testing.T) {
	t.Parallel()
	empty := filepath.Join(t.TempDir(), "empty")
	require.NoError(t, os.WriteFile(empty, nil, 0o600))
	_, err := Restore(t.Context(), empty, filepath.Join(t.TempDir(), "new"), false, restoredAt)
	requireSentence(t, err, ErrNotStore, empty, "nothing was restored")
	dir := filepath.Join(t.TempDir(), "new")
	requireSentence(t, RestoreNew(t.Context(), strings.NewReader("notes"), -1, "notes.txt", dir), ErrNotStore, "notes.txt", "nothing was restored")
	require.NoDirExists(t, dir)
}

// What BackedUp works in is gone afterwards, whatever became of it, and what a
// daemon that was killed left of it is gone with the next start.
func TestBackedUpLeavesNothing(t *testing.T) {
	t.Parallel()
	s, _ := openNew(t)
	err := s.BackedUp(t.Context(), func(size int64, backup io.Reader) error {
		all, err := io.ReadAll(backup)
		require.NoError(t, err)
		require.EqualValues(t, size, len(all))
		return io.ErrUnexpectedEOF
	})
	require.ErrorIs(t, err, io.ErrUnexpectedEOF)
	requireAlone(t, s.Dir())
	require.NoError(t, os.Mkdir(filepath.Join(s.Dir(), ".tautlog-saving-1"), 0o700))
	require.NoError(t, s.Close())
	open(t, s.Dir(), Options{})
	requireAlone(t, s.Dir())
}
