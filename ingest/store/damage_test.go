package store

import (
	"context"
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

func itoa(i int) string { return strconv.Itoa(i) }

// threeBlocks makes a store with three blocks of a thousand readings.
func threeBlocks(t *testing.T) (*Store, int64, []Run) {
	t.Helper()
	s, cell := openNew(t)
	var all []Run
	for i := range 3 {
		run := Run{Cell: cell, Start: morning + int64(i)*10*second, Step: 1e6, Raw: noisy(5, 1000)}
		all = append(all, run)
		require.NoError(t, s.Append(t.Context(), []Run{run}))
		n, err := s.Fold(t.Context(), cell)
		require.NoError(t, err)
		require.Equal(t, 1, n)
	}
	return s, cell, all
}

func damage(t *testing.T, s *Store, statement string) {
	t.Helper()
	done, err := s.writer.Exec(statement)
	require.NoError(t, err)
	n, err := done.RowsAffected()
	require.NoError(t, err)
	require.EqualValues(t, 1, n)
}

func TestDamagedBlockIsToldAndSkippedOnlyOnDemand(t *testing.T) {
	t.Parallel()
	s, cell, all := threeBlocks(t)
	damage(t, s, `UPDATE blocks SET payload = CAST(substr(payload, 1, 99) || x'5a5a' || substr(payload, 102) AS BLOB) WHERE id = 2`)

	var got []Run
	var faults []*DamageError
	tell := func(d *DamageError) {
		require.Len(t, got, 1, "told in its place")
		faults = append(faults, d)
	}
	for r, err := range s.IntactRuns(t.Context(), cell, 0, math.MaxInt64, tell) {
		require.NoError(t, err)
		got = append(got, kept(r))
	}
	require.Equal(t, []Run{all[0], all[2]}, got)
	require.Len(t, faults, 1)
	want := DamageError{Block: 2, Cell: cell, From: all[1].Start, To: all[1].Last(), Readings: 1000, Reason: faults[0].Reason}
	require.Equal(t, want, *faults[0])
	require.ErrorIs(t, faults[0], ErrDamaged)
	require.Contains(t, faults[0].Error(), "block 2 of cell 1, 1000 readings from 2026-05-09T08:00:10.000Z to 2026-05-09T08:00:10.999Z: checksum")

	stopped := 0
	for _, err := range s.Runs(t.Context(), cell, 0, math.MaxInt64) {
		if stopped++; err != nil {
			break
		}
	}
	require.Equal(t, 2, stopped)

	gone, cancel := context.WithCancel(t.Context())
	cancel()
	for _, err := range s.IntactRuns(gone, cell, 0, math.MaxInt64, nil) {
		require.ErrorIs(t, err, context.Canceled, "what is no damage is not left out")
		stopped++
	}
	require.Equal(t, 3, stopped)

	var told *DamageError
	require.ErrorAs(t, s.Integrity(t.Context()), &told)
	require.EqualValues(t, 2, told.Block)
}

func TestIntegritySeesEveryFault(t *testing.T) {
	t.Parallel()
	for name, fault := range map[string]string{
		"a bit":            `UPDATE blocks SET payload = CAST(substr(payload, 1, 9) || x'00' || substr(payload, 11) AS BLOB) WHERE id = 1`,
		"cut short":        `UPDATE blocks SET payload = substr(payload, 1, 300) WHERE id = 1`,
		"empty":            `UPDATE blocks SET payload = x'' WHERE id = 1`,
		"of another block": `UPDATE blocks SET payload = (SELECT payload FROM blocks WHERE id = 2) WHERE id = 1`,
		"count":            `UPDATE blocks SET n = n + 1 WHERE id = 1`,
		"first":            `UPDATE blocks SET first_ns = first_ns - 1 WHERE id = 1`,
		"last":             `UPDATE blocks SET last_ns = last_ns + 1 WHERE id = 1`,
		"overlap":          `UPDATE blocks SET last_ns = (SELECT first_ns FROM blocks WHERE id = 2) WHERE id = 1`,
		"level":            `UPDATE levels SET extents = (SELECT extents FROM levels WHERE size = 256 ORDER BY first_ns DESC LIMIT 1) WHERE size = 256 AND first_ns = (SELECT min(first_ns) FROM levels)`,
		"level's longest":  `UPDATE levels SET longest_ns = 1 WHERE size = 4096 AND first_ns = (SELECT min(first_ns) FROM levels)`,
		"level gone":       `DELETE FROM levels WHERE size = 256 AND first_ns = (SELECT min(first_ns) FROM levels)`,
		"level of nothing": `INSERT INTO levels VALUES (1, 256, 5, 0, x'')`,
		"twice":            `INSERT INTO tails (cell, first_ns, last_ns, n, payload) SELECT cell, first_ns, last_ns, n, payload FROM blocks WHERE id = 1`,
		"pull":             `INSERT INTO pulls VALUES (9, 1, 0, 1, NULL, 0, 0, 1, 0, 'not JSON')`,
		"link gone":        `DELETE FROM pull_items WHERE key = 's1'`,
		"link's load":      `UPDATE pull_items SET doc = replace(doc, '"places":1', '"places":2')`,
		"link's kind":      `UPDATE pull_vehicles SET kind = 'proof' WHERE key = 'puller'`,
		"link to nothing":  `INSERT INTO pull_vehicles VALUES (1, 'tree', NULL, 0, '', '', '{}')`,
		"link left open":   `UPDATE pull_items SET item = NULL`,
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s, cell, _ := threeBlocks(t)
			saveItem(t, s, "s1")
			r := someRig("long")
			_, err := s.SavePull(t.Context(), Pull{Cell: cell, Rig: &r, Found: foundAt(morning, morning+second)})
			require.NoError(t, err)
			require.NoError(t, s.Integrity(t.Context()))
			damage(t, s, fault)
			require.ErrorIs(t, s.Integrity(t.Context()), ErrDamaged)
		})
	}
}

func TestFoldLeavesADamagedTailAndGoesOn(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	for i := range 9 {
		require.NoError(t, s.Append(t.Context(), []Run{{Cell: cell, Start: morning + int64(i)*second, Step: 1e6, Raw: noisy(5, 400)}}))
	}
	damage(t, s, `UPDATE tails SET payload = x'01' WHERE id = 5`)
	blocks, err := s.Fold(t.Context(), cell)
	require.NoError(t, err)
	require.Equal(t, 3, blocks) // three tails, the fourth, which the damaged one cuts off, and three more
	require.NoError(t, s.Close())

	s = open(t, s.Dir(), Options{})
	require.Len(t, s.Damage(), 1)
	require.EqualValues(t, 5, s.Damage()[0].Block)
	require.True(t, s.Damage()[0].Tail)
	n, faults := 0, 0
	for r, err := range s.Runs(t.Context(), cell, 0, math.MaxInt64) {
		n += len(r.Raw)
		if err != nil {
			faults++
		}
	}
	require.Equal(t, 8*400, n)
	require.Equal(t, 1, faults)
}

// Rows are decoded beside each other and ahead of who uses them, and come in
// their order all the same, however soon the user stops.
func TestRunsComeInOrder(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir(), Options{foldReadings: 100})
	cell := newCell(t, s)
	run := Run{Cell: cell, Start: morning, Step: 1e6, Raw: make([]int64, 5000)}
	for i := range run.Raw {
		run.Raw[i] = int64(i)
	}
	for i := range 50 {
		require.NoError(t, s.Append(t.Context(), []Run{run.slice(100*i, 100*(i+1))}))
	}
	_, err := s.Fold(t.Context(), cell)
	require.NoError(t, err)
	for _, most := range []int{0, 1, 7, 49, 50} {
		var got []int64
		for r, err := range s.Runs(t.Context(), cell, 0, math.MaxInt64) {
			require.NoError(t, err)
			if len(got) == 100*most {
				break
			}
			got = append(got, r.Raw...)
		}
		require.Equal(t, run.Raw[:100*most], append([]int64{}, got...))
	}
}
