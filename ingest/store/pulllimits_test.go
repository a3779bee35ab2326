package store

import (
	"context"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/pull"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

// storedWithLimits is a store with a pull of ten seconds of which a person kept
// the first so many nanoseconds.
func storedWithLimits(t *testing.T, long int64) (*Store, Pull) {
	t.Helper()
	s, cell := openNew(t)
	p, err := s.SavePull(t.Context(), Pull{Cell: cell, Found: foundAt(morning, morning+10*second), Settled: true})
	require.NoError(t, err)
	p, err = s.SavePull(t.Context(), limitedTo(p, morning, morning+long))
	require.NoError(t, err)
	return s, p
}

// limitedTo gives a pull limits with what might have been measured within them.
func limitedTo(p Pull, from, to int64) Pull {
	p.Limits = &Limits{From: from, To: to}
	p.Found = foundAt(from, to)
	p.Found.Flags = append(p.Found.Flags, pull.FlagSetByHand)
	p.Found.Peak, p.By = 33e3, Derived{Calibration: 2}
	return p
}

// TestLimitsStay plays the life of limits: set, outliving what the analysis
// finds again, measured again within them, taken away, undone.
func TestLimitsStay(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir(), Options{Now: atNine})
	cell, ctx := newCell(t, s), WithWho(t.Context(), "Ida")
	found := foundAt(morning, morning+10*second)
	p, err := s.SavePull(ctx, Pull{Cell: cell, Found: found, By: Derived{Calibration: 1}, Settled: true})
	require.NoError(t, err)

	edit := limitedTo(p, morning+second, morning+4*second)
	edit.Found.Kind = pull.Steady
	limited, err := s.SavePull(ctx, edit)
	require.NoError(t, err)
	require.EqualValues(t, 2, limited.Version)
	require.Equal(t, edit.Found, limited.Found)
	require.Equal(t, Derived{Calibration: 2}, limited.By)
	require.Equal(t, pull.Steady, limited.Kind, "nobody has said the kind")
	require.Equal(t, &Limits{From: morning + second, To: morning + 4*second, Who: "Ida", At: limited.Updated.UnixNano(), Found: found, By: Derived{Calibration: 1}}, limited.Limits)
	got, err := s.Pull(ctx, p.ID)
	require.NoError(t, err)
	require.Equal(t, limited, got)

	// The finder comes again: at the same start, a little off, where only the
	// part outside the limits is seen, and with what only overlaps the limits.
	for _, again := range []pull.Pull{foundAt(morning, morning+11*second), foundAt(morning-5*millisecond, morning+9*second), foundAt(morning+5*second, morning+9*second)} {
		seen, err := s.SavePull(ctx, Pull{Cell: cell, Found: again, By: Derived{Calibration: 3}, Settled: true})
		require.NoError(t, err)
		require.Equal(t, p.ID, seen.ID)
		require.Equal(t, limited.Found, seen.Found)
		require.Equal(t, Derived{Calibration: 2}, seen.By)
		require.Equal(t, pull.Steady, seen.Kind)
		require.Equal(t, again, seen.Limits.Found)
		require.Equal(t, Derived{Calibration: 3}, seen.Limits.By)
		require.Equal(t, "Ida", seen.Limits.Who)
	}
	before, err := s.Pull(ctx, p.ID)
	require.NoError(t, err)
	same, err := s.SavePull(ctx, Pull{Cell: cell, Found: foundAt(morning+2*second, morning+3*second), Settled: true})
	require.NoError(t, err, "in the limits, but not where it was found last")
	require.Equal(t, before, same)

	// Measured again within the limits, as by a corrected calibration.
	redone := before
	redone.Version, redone.Found.Peak, redone.By = 0, 34e3, Derived{Calibration: 4}
	redone.Limits = &Limits{From: limited.Limits.From, To: limited.Limits.To, Found: found, By: Derived{Calibration: 4}}
	is, err := s.SavePull(ctx, redone)
	require.NoError(t, err)
	require.Equal(t, []any{p.ID, unit.Force(34e3), Derived{Calibration: 4}, found, "Ida"}, []any{is.ID, is.Found.Peak, is.By, is.Limits.Found, is.Limits.Who})
	late := redone
	late.Limits, late.Found.Peak = &Limits{From: morning, To: morning + 2*second, Found: found}, 35e3
	is, err = s.SavePull(ctx, late)
	require.NoError(t, err)
	require.InDelta(t, 34e3, float64(is.Found.Peak), 0, "measured within limits that are not those of now")

	back := is
	back.Limits = nil
	freed, err := s.SavePull(ctx, back)
	require.NoError(t, err)
	require.Nil(t, freed.Limits)
	require.Equal(t, found, freed.Found)
	require.Equal(t, pull.Kinetic, freed.Kind)
	is, err = s.SavePull(ctx, late)
	require.NoError(t, err)
	require.Equal(t, found, is.Found, "measured within limits that were taken away meanwhile")

	undone := func() Pull {
		changes, err := s.Journal(ctx, "pull", p.ID, 0)
		require.NoError(t, err)
		for _, c := range changes {
			if _, err = s.Undo(ctx, c.ID); err == nil {
				break
			}
			require.ErrorIs(t, err, ErrInvalid, "what was measured is not taken back")
		}
		require.NoError(t, err)
		p, err := s.Pull(ctx, p.ID)
		require.NoError(t, err)
		return p
	}
	is = undone()
	require.NotNil(t, is.Limits)
	require.Equal(t, []any{limited.Limits.From, limited.Limits.To, "Ida", unit.Force(34e3), pull.Steady, Derived{Calibration: 4}},
		[]any{is.Limits.From, is.Limits.To, is.Limits.Who, is.Found.Peak, is.Kind, is.By})
	is = undone()
	require.Nil(t, is.Limits, "an undo is undone")
	require.Equal(t, pull.Kinetic, is.Kind)
	require.NoError(t, s.Integrity(ctx))
}

// TestUndoOfLimitsLeavesTheRest: what was said and found since stays.
func TestUndoOfLimitsLeavesTheRest(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	s, p := storedWithLimits(t, 4*second)
	changes, err := s.Journal(ctx, "pull", p.ID, 1)
	require.NoError(t, err)
	p.Notes = "slack in between"
	p, err = s.SavePull(ctx, p)
	require.NoError(t, err)
	again := foundAt(morning, morning+12*second)
	_, err = s.SavePull(ctx, Pull{Cell: p.Cell, Found: again, Settled: true})
	require.NoError(t, err)
	_, err = s.Undo(ctx, changes[0].ID)
	require.NoError(t, err)
	p, err = s.Pull(ctx, p.ID)
	require.NoError(t, err)
	require.Equal(t, again, p.Found)
	require.Equal(t, "slack in between", p.Notes)

	p, err = s.SavePull(ctx, limitedTo(p, morning, morning+5*second))
	require.NoError(t, err)
	changes, err = s.Journal(ctx, "pull", p.ID, 1)
	require.NoError(t, err)
	_, err = s.SavePull(ctx, limitedTo(p, morning, morning+6*second))
	require.NoError(t, err)
	_, err = s.Undo(ctx, changes[0].ID)
	require.ErrorIs(t, err, ErrConflict, "they were set again since")
}

// TestLimitsRefused: what cannot be set changes nothing.
func TestLimitsRefused(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	ctx := t.Context()
	at := func(from, to float64) (int64, int64) {
		return morning + int64(from*float64(second)), morning + int64(to*float64(second))
	}
	save := func(from, to float64, settled bool) Pull {
		start, end := at(from, to)
		p, err := s.SavePull(ctx, Pull{Cell: cell, Found: foundAt(start, end), Settled: settled})
		require.NoError(t, err)
		return p
	}
	before, p, behind, open := save(0, 2, true), save(10, 12, true), save(20, 22, true), save(30, 32, false)
	pick := func(p Pull, a, b float64) Pull {
		from, to := at(a, b)
		return limitedTo(p, from, to)
	}
	bare, wide := pick(p, 10.5, 14), pick(p, 10.5, 11.5)
	bare.Found.Flags = nil
	wide.Found = pick(p, 10, 11.5).Found
	for name, c := range map[string]struct {
		edit Pull
		says string
	}{
		"end before start":           {pick(p, 12, 10), "end before it starts"},
		"no length":                  {pick(p, 11, 11), "end before it starts"},
		"nothing of it":              {pick(p, 13, 15), "nothing of the pull"},
		"the one before":             {pick(p, 2, 11), "overlap pull 1 of the same cell; let it start behind"},
		"the one behind":             {pick(p, 11, 20), "overlap pull 3 of the same cell; let it end before"},
		"still going on":             {pick(open, 30, 31), "may still go on"},
		"not measured within":        {bare, "not measured within them"},
		"measured beyond the limits": {wide, "not measured within them"},
	} {
		was, err := s.Pull(ctx, c.edit.ID)
		require.NoError(t, err)
		_, err = s.SavePull(ctx, c.edit)
		require.ErrorIs(t, err, ErrLimits, name)
		require.ErrorContains(t, err, c.says, name)
		_, tried := s.TryLimits(ctx, c.edit)
		require.ErrorContains(t, tried, c.says, name)
		is, err := s.Pull(ctx, c.edit.ID)
		require.NoError(t, err)
		require.Equal(t, was, is, name)
	}

	// A pull that was made shorter leaves room for its neighbour, and then cannot
	// go back to what was found.
	behind, err := s.SavePull(ctx, pick(behind, 21, 22))
	require.NoError(t, err)
	changes, err := s.Journal(ctx, "pull", behind.ID, 1)
	require.NoError(t, err)
	p, err = s.SavePull(ctx, pick(p, 10, 20.5))
	require.NoError(t, err)
	back := behind
	back.Limits = nil
	_, err = s.SavePull(ctx, back)
	require.ErrorIs(t, err, ErrLimits)
	require.ErrorContains(t, err, "overlap pull 2")
	_, err = s.Undo(ctx, changes[0].ID)
	require.ErrorIs(t, err, ErrLimits)
	_, err = s.SavePull(ctx, pick(before, 0, 9.9))
	require.NoError(t, err)
	require.NoError(t, s.Integrity(ctx))

	tried, err := s.TryLimits(ctx, pick(p, 10, 13))
	require.NoError(t, err)
	kept, err := s.SavePull(ctx, pick(p, 10, 13))
	require.NoError(t, err)
	tried.Updated, tried.Version, tried.Limits.At = kept.Updated, kept.Version, kept.Limits.At
	require.Equal(t, kept, tried)
}

// TestLimitsMoveTheLinks: what an item carried, and when, is what was measured
// within the limits, and a pull of the other cell is beside it where they
// overlap.
func TestLimitsMoveTheLinks(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir(), Options{Now: atNine})
	ctx := t.Context()
	r := rigOf("a", "s1", "p1", "p2")
	r.Chain = slices.Insert(r.Chain, 1, rig.InLine(gear.Item{Name: "c2", Kind: gear.LoadCell}))
	item := saveItem(t, s, "s1")
	save := func(cell string, from, to int64) Pull {
		c, err := s.SaveCell(ctx, Cell{Name: cell})
		require.NoError(t, err)
		p, err := s.SavePull(ctx, Pull{Cell: c.ID, Found: foundAt(morning+from*second, morning+to*second), Rig: &r, Settled: true})
		require.NoError(t, err)
		return p
	}
	p, other := save("c1", 0, 10), save("c2", 6, 9)
	used := func() gear.Used {
		all, _, err := s.ItemsUsed(ctx, 0)
		require.NoError(t, err)
		return all[item]
	}
	beside := func() bool {
		_, ok, err := s.PullBeside(ctx, p)
		require.NoError(t, err)
		return ok
	}
	require.True(t, beside())
	require.EqualValues(t, 1, used().Pulls)
	p, err := s.SavePull(ctx, limitedTo(p, morning+2*second, morning+3*second))
	require.NoError(t, err)
	require.False(t, beside())
	require.EqualValues(t, 2, used().Pulls, "two uses, since they no longer overlap")
	uses, err := s.ItemUses(ctx, item)
	require.NoError(t, err)
	earlier := uses[len(uses)-1]
	most, known := earlier.Most()
	require.True(t, known)
	require.InDelta(t, 33e3, float64(most), 1e-6)
	require.Equal(t, p.Found.Start, earlier.Start)
	chosen, err := s.Pulls(ctx, PullFilter{Item: item, From: morning + second, To: morning + 6*second})
	require.NoError(t, err)
	require.Equal(t, []Pull{p}, chosen, "it starts later")

	p.Limits = nil
	p, err = s.SavePull(ctx, p)
	require.NoError(t, err)
	require.True(t, beside())
	require.EqualValues(t, 1, used().Pulls)
	require.NotZero(t, other.ID)
	require.NoError(t, s.Integrity(ctx))
}

// TestIntegrityOfLimits: a document that was changed past the store is found out.
func TestIntegrityOfLimits(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	s, _ := storedWithLimits(t, 5*second)
	require.NoError(t, s.Integrity(ctx))
	_, err := s.writer.Exec(`UPDATE pulls SET doc = json_set(doc, '$.limits.to', ?)`, morning+second)
	require.NoError(t, err)
	require.ErrorIs(t, s.Integrity(ctx), ErrDamaged)
}

// TestLimitsWhateverHappens: people set limits, take them away and undo, and
// the finder comes again, in any order: no pull is doubled or lost, what
// people set overlaps nothing, what was found last is on record, and comes back.
func TestLimitsWhateverHappens(t *testing.T) {
	t.Parallel()
	dir, n := t.TempDir(), 0
	rapid.Check(t, func(t *rapid.T) {
		n++
		s, err := Open(filepath.Join(dir, strconv.Itoa(n)), Options{Now: atNine})
		require.NoError(t, err)
		defer func() { require.NoError(t, s.Close()) }()
		ctx := context.Background()
		cell, err := s.SaveCell(ctx, Cell{Name: "River-1"})
		require.NoError(t, err)
		const each = 20 * second
		finder := make([]pull.Pull, 3) // what it said last of each
		for i := range finder {
			finder[i] = foundAt(morning+int64(i)*each, morning+int64(i)*each+10*second)
			_, err := s.SavePull(ctx, Pull{Cell: cell.ID, Found: finder[i], Settled: true})
			require.NoError(t, err)
		}
		pick := func(t *rapid.T) Pull {
			p, err := s.Pull(ctx, rapid.Int64Range(1, 3).Draw(t, "pull"))
			require.NoError(t, err)
			return p
		}
		t.Repeat(map[string]func(*rapid.T){
			"": func(t *rapid.T) {
				all, err := s.Pulls(ctx, PullFilter{})
				require.NoError(t, err)
				require.Len(t, all, 3)
				for _, p := range all {
					found, _ := p.ByFinder()
					require.Equal(t, finder[p.ID-1], found)
					if p.Limits == nil {
						require.Equal(t, found, p.Found)
					}
					for _, q := range all {
						if q.ID != p.ID && p.Limits != nil && q.Limits != nil {
							require.True(t, p.Found.End < q.Found.Start || q.Found.End < p.Found.Start)
						}
					}
				}
				require.NoError(t, s.Integrity(ctx))
			},
			"set": func(t *rapid.T) {
				p := pick(t)
				from := morning + rapid.Int64Range(-10, 60).Draw(t, "from")*second
				to := from + rapid.Int64Range(-1, 30).Draw(t, "long")*second
				_, err := s.SavePull(ctx, limitedTo(p, from, to))
				if err != nil {
					require.ErrorIs(t, err, ErrLimits)
				}
			},
			"free": func(t *rapid.T) {
				p := pick(t)
				p.Limits = nil
				if _, err := s.SavePull(ctx, p); err != nil {
					require.ErrorIs(t, err, ErrLimits)
				}
			},
			"note": func(t *rapid.T) {
				p := pick(t)
				p.Notes = rapid.StringMatching(`[a-z]{3}`).Draw(t, "notes")
				_, err := s.SavePull(ctx, p)
				require.NoError(t, err)
			},
			"found again": func(t *rapid.T) {
				i := rapid.IntRange(0, 2).Draw(t, "again")
				start := morning + int64(i)*each + rapid.Int64Range(-1000, 1000).Draw(t, "off")*millisecond
				f := foundAt(start, start+rapid.Int64Range(9000, 9900).Draw(t, "for")*millisecond)
				p, err := s.SavePull(ctx, Pull{Cell: cell.ID, Found: f, Settled: true})
				require.NoError(t, err)
				require.EqualValues(t, i+1, p.ID)
				finder[i] = f
			},
			"undo": func(t *rapid.T) {
				changes, err := s.Journal(ctx, "pull", rapid.Int64Range(1, 3).Draw(t, "of"), 0)
				require.NoError(t, err)
				_, _ = s.Undo(ctx, rapid.SampledFrom(changes).Draw(t, "change").ID)
			},
		})
	})
}
