package store

import (
	"context"
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/pull"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
)

// bySecond gives a stretch of a morning in seconds from its start.
func bySecond(from, to float64) (int64, int64) {
	return morning + int64(from*1e9), morning + int64(to*1e9)
}

// limitedIn is limitedTo in seconds.
func limitedIn(p Pull, from, to float64) Pull {
	a, b := bySecond(from, to)
	return limitedTo(p, a, b)
}

// reviewed is a store with two pulls of a rig, from 0 to 10 s and from 20 to 30 s.
func reviewed(t *testing.T) (s *Store, strap int64, first, second Pull) {
	t.Helper()
	s = open(t, t.TempDir(), Options{Now: atNine})
	cell, r := newCell(t, s), rigOf("a", "s1", "p1", "p2")
	strap = saveItem(t, s, "s1")
	for i, p := range []*Pull{&first, &second} {
		from, to := bySecond(20*float64(i), 20*float64(i)+10)
		var err error
		*p, err = s.SavePull(t.Context(), Pull{Cell: cell, Found: foundAt(from, to), Rig: &r, Settled: true})
		require.NoError(t, err)
	}
	return s, strap, first, second
}

func usesOf(t require.TestingT, s *Store, item int64) int {
	all, _, err := s.ItemsUsed(context.Background(), 0)
	require.NoError(t, err)
	return all[item].Pulls
}

// undoLast takes back the latest change of a pull that a person made.
func undoLast(t *testing.T, s *Store, id int64) {
	t.Helper()
	changes, err := s.Journal(t.Context(), "pull", id, 0)
	require.NoError(t, err)
	for _, c := range changes {
		if _, err = s.Undo(t.Context(), c.ID); err == nil {
			break
		}
		require.ErrorIs(t, err, ErrInvalid, "what was measured is not taken back")
	}
	require.NoError(t, err)
	require.NoError(t, s.Integrity(t.Context()))
}

// TestSetAside: it counts nowhere, the finder does not bring it back, another
// pull may lie over it, and it comes back whole under the gear's new name.
func TestSetAside(t *testing.T) {
	t.Parallel()
	s, strap, first, second := reviewed(t)
	ctx := WithWho(t.Context(), "Ida")
	second.Aside = &Aside{}
	aside, err := s.SavePull(ctx, second)
	require.NoError(t, err)
	require.Equal(t, &Aside{Who: "Ida", At: atNine().UnixNano()}, aside.Aside)
	got, err := s.Pull(ctx, second.ID)
	require.NoError(t, err)
	require.Equal(t, aside, got, "it stays on record")

	for name, f := range map[string]PullFilter{"all": {}, "cell": {Cell: second.Cell}, "item": {Item: strap}, "kind": {Kind: pull.Kinetic}, "time": {From: morning + 15_000_000_000}} {
		all, err := s.Pulls(ctx, f)
		require.NoError(t, err)
		require.NotContains(t, pullIDs(all), second.ID, name)
		f.Aside = true
		all, err = s.Pulls(ctx, f)
		require.NoError(t, err)
		require.Equal(t, []int64{second.ID}, pullIDs(all), name)
	}
	on, err := s.PullsOn(ctx, time.Unix(0, morning).UTC().Format(time.DateOnly), time.UTC)
	require.NoError(t, err)
	require.Equal(t, []int64{first.ID}, pullIDs(on))
	require.Equal(t, 1, usesOf(t, s, strap))
	uses, err := s.ItemUses(ctx, strap)
	require.NoError(t, err)
	require.Len(t, uses, 1)
	changed, err := s.LogSince(ctx, 0)
	require.NoError(t, err)
	require.Equal(t, []int64{first.ID}, changed.Pulls)
	logged, err := s.LoggedPulls(ctx, []int64{first.ID, second.ID}, time.UTC)
	require.NoError(t, err)
	require.Len(t, logged, 1)
	stale, err := s.MeasuredOtherwise(ctx, second.Cell, []Measure{{From: 0, Until: 1 << 62, By: Derived{Calibration: 9}}})
	require.NoError(t, err)
	require.Equal(t, []int64{first.ID}, stale)
	archived, err := s.PullsToArchive(ctx, "a", false, 0)
	require.NoError(t, err)
	require.Len(t, archived, 1)

	from, to := bySecond(19.9, 29)
	again, err := s.SavePull(ctx, Pull{Cell: second.Cell, Found: foundAt(from, to), Rig: second.Rig, Settled: true})
	require.NoError(t, err)
	require.Equal(t, []any{second.ID, aside.Aside}, []any{again.ID, again.Aside}, "found again")
	_, err = s.SavePull(ctx, limitedIn(again, 20, 25))
	require.ErrorIs(t, err, ErrLimits)
	require.ErrorContains(t, err, "count it again first")
	twice := again
	twice.Aside = &Aside{Of: first.ID}
	_, err = s.SavePull(ctx, twice)
	require.ErrorContains(t, err, "set aside already, by Ida")

	d, err := s.Item(ctx, strap)
	require.NoError(t, err)
	d.Value.ID, d.Value.Name = "s9", "s9"
	_, err = s.SaveItem(ctx, d)
	require.NoError(t, err)
	_, err = s.SaveItem(ctx, Document[gear.Item]{Value: gear.Item{ID: "s1", Name: "s1", Kind: gear.RecoveryStrap}})
	require.NoError(t, err)
	wide, err := s.SavePull(ctx, limitedIn(first, 0, 20))
	require.NoError(t, err)
	again.Aside = nil
	_, err = s.SavePull(ctx, again)
	require.ErrorIs(t, err, ErrLimits)
	require.ErrorContains(t, err, "would overlap pull 1")
	_, err = s.SavePull(ctx, limitedIn(wide, 0, 15))
	require.NoError(t, err)
	undoLast(t, s, second.ID)
	back, err := s.Pull(ctx, second.ID)
	require.NoError(t, err)
	require.Nil(t, back.Aside)
	require.Equal(t, again.Found, back.Found)
	require.Equal(t, 2, usesOf(t, s, strap), "the item under its new name")
	undoLast(t, s, second.ID)
	require.Equal(t, 1, usesOf(t, s, strap), "an undo is undone")
}

// saysBoth are two pulls of which different things were said.
func saysBoth(t *testing.T, s *Store, first, second Pull) (Pull, Pull) {
	t.Helper()
	speed, slack := unit.Speed(2), unit.Length(1)
	first.Notes, first.Speed = "first jerk", &speed
	second.Notes, second.Slack, second.Ground = "second jerk", &slack, "clay"
	out, err := s.SavePull(t.Context(), first)
	require.NoError(t, err)
	other, err := s.SavePull(t.Context(), second)
	require.NoError(t, err)
	return out, other
}

// TestJoinPulls: one pull of two, with what was said of both; one undo.
func TestJoinPulls(t *testing.T) {
	t.Parallel()
	s, strap, first, second := reviewed(t)
	first, second = saysBoth(t, s, first, second)
	before, err := s.Pulls(t.Context(), PullFilter{})
	require.NoError(t, err)
	joined, part, err := s.JoinPulls(WithWho(t.Context(), "Ida"), limitedIn(first, 0, 30), second)
	require.NoError(t, err)
	require.Equal(t, &Aside{Who: "Ida", At: atNine().UnixNano(), Of: first.ID}, part.Aside)
	require.Equal(t, []any{"first jerk\nsecond jerk", unit.Speed(2), unit.Length(1), "clay"}, []any{joined.Notes, *joined.Speed, *joined.Slack, joined.Ground})
	all, err := s.Pulls(t.Context(), PullFilter{})
	require.NoError(t, err)
	require.Equal(t, []Pull{joined}, all)
	require.Equal(t, 1, usesOf(t, s, strap))
	require.NoError(t, s.Integrity(t.Context()))

	for _, id := range []int64{second.ID, first.ID, second.ID, first.ID} { // by either of them, and again
		undoLast(t, s, id)
		all, err = s.Pulls(t.Context(), PullFilter{})
		require.NoError(t, err)
		if len(all) == 2 {
			require.Equal(t, plain(before), plain(all))
			require.Equal(t, 2, usesOf(t, s, strap))
		} else {
			require.Equal(t, plain([]Pull{joined}), plain(all))
		}
	}
}

// plain are pulls without what each change counts up.
func plain(all []Pull) []Pull {
	out := slices.Clone(all)
	for i := range out {
		out[i].Version, out[i].Updated = 0, time.Time{}
	}
	return out
}

// TestJoinRefused: what cannot be joined stays as it is.
func TestJoinRefused(t *testing.T) {
	t.Parallel()
	s, _, first, second := reviewed(t)
	ctx := t.Context()
	far, err := s.SavePull(ctx, Pull{Cell: first.Cell, Found: foundAt(bySecond(40, 50)), Settled: true})
	require.NoError(t, err)
	open, err := s.SavePull(ctx, Pull{Cell: first.Cell, Found: foundAt(bySecond(60, 70))})
	require.NoError(t, err)
	c, err := s.SaveCell(ctx, Cell{Name: "River-2"})
	require.NoError(t, err)
	elsewhere, err := s.SavePull(ctx, Pull{Cell: c.ID, Found: foundAt(bySecond(20, 30)), Settled: true})
	require.NoError(t, err)
	overtaken := second
	overtaken.Version = 7
	before, err := s.Pulls(ctx, PullFilter{})
	require.NoError(t, err)
	for says, with := range map[string]Pull{
		"not with itself": limitedIn(first, 0, 30), "read by another cell": elsewhere, "would overlap pull 2": far, "may still go on": open,
		"it is at version 1": overtaken,
	} {
		_, _, err := s.JoinPulls(ctx, limitedIn(first, 0, 50), with)
		require.ErrorContains(t, err, says)
	}
	after, err := s.Pulls(ctx, PullFilter{})
	require.NoError(t, err)
	require.Equal(t, before, after)
}

// TestPartPull: two pulls of one, the second rigged as the first; one undo.
func TestPartPull(t *testing.T) {
	t.Parallel()
	s, strap, first, second := reviewed(t)
	first, second = saysBoth(t, s, first, second)
	ctx := WithWho(t.Context(), "Ida")
	from, _ := bySecond(5, 5)
	before, err := s.Pulls(ctx, PullFilter{})
	require.NoError(t, err)
	a, b, err := s.PartPull(ctx, limitedTo(first, morning, from-1), limitedIn(Pull{}, 5, 10))
	require.NoError(t, err)
	require.Equal(t, []any{"first jerk", true, ""}, []any{a.Notes, b.Speed == nil, b.Notes})
	require.Equal(t, []any{first.Rig, first.Read, first.Cell, true, first.ID, "Ida"}, []any{b.Rig, b.Read, b.Cell, b.Limits.Made, b.Limits.Of, b.Limits.Who})
	require.Equal(t, b.Found, b.Limits.Found)
	all, err := s.Pulls(ctx, PullFilter{})
	require.NoError(t, err)
	require.Equal(t, []Pull{second, b, a}, all)
	require.Equal(t, 3, usesOf(t, s, strap))

	// The finder comes again, over both, a little off, and with only the second.
	for _, at := range [][2]float64{{0, 10}, {-0.1, 9.9}, {5, 10}, {5.5, 9}} {
		again, err := s.SavePull(ctx, Pull{Cell: first.Cell, Found: foundAt(bySecond(at[0], at[1])), Rig: first.Rig, Settled: true})
		require.NoError(t, err)
		require.Contains(t, []int64{a.ID, b.ID}, again.ID)
	}
	now, err := s.Pulls(ctx, PullFilter{})
	require.NoError(t, err)
	require.Len(t, now, 3)
	require.Equal(t, b, now[1])
	require.NoError(t, s.Integrity(ctx))
	_, err = s.SavePull(ctx, Pull{Cell: first.Cell, Found: first.Found, Rig: first.Rig, Settled: true})
	require.NoError(t, err)

	gone := b
	gone.Limits = nil
	_, err = s.SavePull(ctx, gone)
	require.ErrorContains(t, err, "a person made this pull")
	for _, id := range []int64{b.ID, a.ID} {
		undoLast(t, s, id)
		all, err = s.Pulls(ctx, PullFilter{})
		require.NoError(t, err)
		require.Equal(t, plain(before), plain(all))
		require.Equal(t, 2, usesOf(t, s, strap))
		set, err := s.Pull(ctx, b.ID)
		require.NoError(t, err)
		require.Equal(t, first.ID, set.Aside.Of)
		again, err := s.SavePull(ctx, Pull{Cell: first.Cell, Found: foundAt(bySecond(-0.1, 10)), Rig: first.Rig, Settled: true})
		require.NoError(t, err)
		require.Equal(t, first.ID, again.ID, "what was parted is not found in its place")
		_, err = s.SavePull(ctx, Pull{Cell: first.Cell, Found: first.Found, Rig: first.Rig, Settled: true})
		require.NoError(t, err)
		undoLast(t, s, a.ID)
	}
	undoLast(t, s, a.ID)
	first, err = s.Pull(ctx, first.ID)
	require.NoError(t, err)
	_, _, err = s.PartPull(ctx, limitedTo(first, morning, from-1), limitedIn(Pull{}, 5, 10))
	require.NoError(t, err, "at the same moment as the one that was taken back")
	require.NoError(t, s.Integrity(ctx))
}

// TestMakePull: a pull that was not found; what lies on another one is refused.
func TestMakePull(t *testing.T) {
	t.Parallel()
	s, strap, first, _ := reviewed(t)
	ctx := t.Context()
	_, err := s.MakePull(ctx, limitedIn(Pull{Cell: first.Cell}, 5, 15))
	require.ErrorIs(t, err, ErrLimits)
	require.ErrorContains(t, err, "would overlap pull 1")
	bare := limitedIn(Pull{Cell: first.Cell}, 12, 15)
	bare.Found.Flags = nil
	_, err = s.MakePull(ctx, bare)
	require.ErrorContains(t, err, "not measured within them")
	_, err = s.MakePull(ctx, Pull{Cell: first.Cell})
	require.ErrorIs(t, err, ErrLimits)
	_, err = s.MakePull(ctx, limitedIn(Pull{Cell: 99}, 12, 15))
	require.ErrorIs(t, err, ErrNotFound)

	made, err := s.MakePull(ctx, limitedIn(Pull{Cell: first.Cell, Rig: first.Rig}, 12, 15))
	require.NoError(t, err)
	require.Equal(t, []any{true, int64(0), first.Read, pull.Kinetic}, []any{made.Limits.Made, made.Limits.Of, made.Read, made.Kind})
	require.Equal(t, 3, usesOf(t, s, strap))
	shorter, err := s.SavePull(ctx, limitedIn(made, 11, 14))
	require.NoError(t, err)
	require.Equal(t, shorter.Found, shorter.Limits.Found)
	redone := shorter
	redone.Version, redone.Found.Peak = 0, 35e3
	is, err := s.SavePull(ctx, redone)
	require.NoError(t, err)
	require.Equal(t, []any{made.ID, unit.Force(35e3), unit.Force(35e3)}, []any{is.ID, is.Found.Peak, is.Limits.Found.Peak}, "measured again")
	undoLast(t, s, made.ID)
	changes, err := s.Journal(ctx, "pull", made.ID, 0)
	require.NoError(t, err)
	_, err = s.Undo(ctx, changes[len(changes)-1].ID)
	require.NoError(t, err, "that it was made")
	require.Equal(t, 2, usesOf(t, s, strap))
	require.NoError(t, s.Integrity(ctx))
}

// TestStoreOfTheFormatBeforeSetsAside: pulls with limits of format 14 keep them, and are found again by them.
func TestStoreOfTheFormatBeforeSetsAside(t *testing.T) {
	t.Parallel()
	const before = 14
	s, p := storedWithLimits(t, 4*second)
	dir := t.TempDir()
	old := &Store{dir: dir, options: Options{}.withDefaults()}
	require.NoError(t, old.openWriter())
	for i, name := range migrationNames()[:before] {
		require.NoError(t, old.apply(t.Context(), name, i+1))
	}
	_, err := old.writer.Exec(`ATTACH ? AS new`, s.databasePath())
	require.NoError(t, err)
	for _, q := range []string{
		`INSERT INTO main.cells (id, key, version, updated, doc) SELECT id, key, version, updated, doc FROM new.cells`,
		`INSERT INTO main.pulls (id, cell, start_ns, end_ns, settled, edited, version, updated, doc) SELECT id, cell, start_ns, end_ns, settled, edited, version, updated, doc FROM new.pulls`,
	} {
		_, err = old.writer.Exec(q)
		require.NoError(t, err)
	}
	require.NoError(t, old.Close())
	migrated := open(t, dir, Options{})
	got, err := migrated.Pull(t.Context(), p.ID)
	require.NoError(t, err)
	require.Equal(t, p, got)
	again, err := migrated.SavePull(t.Context(), Pull{Cell: p.Cell, Found: foundAt(morning+5*second, morning+9*second), Settled: true})
	require.NoError(t, err)
	require.Equal(t, p.ID, again.ID)
	again.Aside = &Aside{}
	_, err = migrated.SavePull(t.Context(), again)
	require.NoError(t, err)
	require.NoError(t, migrated.Integrity(t.Context()))
}

// TestReviewWhateverHappens: people join, part, limit, make, set aside and undo,
// and the finder comes again, in any order: what counts never overlaps, the uses of
// an item are the pulls that it was in, nothing is lost, and undo brings
// back exactly what was.
func TestReviewWhateverHappens(t *testing.T) {
	t.Parallel()
	s, n := open(t, t.TempDir(), Options{Now: atNine}), 0
	rapid.Check(t, func(t *rapid.T) {
		n++
		m := &review{s: s, name: fmt.Sprint("River-", n)}
		m.begin(t)
		t.Repeat(map[string]func(*rapid.T){
			"": m.check, "join": m.join, "part": m.part, "limits": m.limit, "found": m.free, "make": m.make,
			"aside": m.aside, "count again": m.countAgain, "note": m.note, "finder": m.found, "undo": m.undo,
		})
	})
	require.NoError(t, s.Integrity(t.Context()))
}

// review drives a store as people do who review the pulls of a cell.
type review struct {
	s      *Store
	name   string
	begun  int64   // the latest change before
	ids    []int64 // of the pulls that were found
	cell   int64
	strap  int64
	finder []pull.Pull
	rig    rig.Rig         // of all that it finds
	notes  map[string]bool // that were written
}

func (m *review) begin(t *rapid.T) {
	ctx := context.Background()
	c, err := m.s.SaveCell(ctx, Cell{Name: m.name})
	require.NoError(t, err)
	m.begun = m.latest(t)
	d, err := m.s.SaveItem(ctx, Document[gear.Item]{Value: gear.Item{ID: m.name, Name: m.name, Kind: gear.RecoveryStrap}})
	require.NoError(t, err)
	m.cell, m.strap, m.notes = c.ID, d.ID, map[string]bool{}
	m.rig = rigOf("a", m.name, "p1", "p2")
	for i := range 3 {
		from, to := bySecond(20*float64(i), 20*float64(i)+10)
		m.finder = append(m.finder, foundAt(from, to))
		p, err := m.s.SavePull(ctx, Pull{Cell: m.cell, Found: m.finder[i], Rig: &m.rig, Settled: true})
		require.NoError(t, err)
		m.ids = append(m.ids, p.ID)
	}
}

func (m *review) counted(t *rapid.T) []Pull {
	all, err := m.s.Pulls(context.Background(), PullFilter{Cell: m.cell})
	require.NoError(t, err)
	return all
}

// pick draws a pull, also one that is set aside.
func (m *review) pick(t *rapid.T, label string) Pull {
	aside, err := m.s.Pulls(context.Background(), PullFilter{Cell: m.cell, Aside: true})
	require.NoError(t, err)
	return rapid.SampledFrom(append(m.counted(t), aside...)).Draw(t, label)
}

func (m *review) check(t *rapid.T) {
	ctx := context.Background()
	all, rigged, notes := m.counted(t), 0, ""
	for i, p := range all {
		require.Nil(t, p.Aside)
		if i > 0 {
			require.Less(t, p.Found.End, all[i-1].Found.Start, "pulls %d and %d", p.ID, all[i-1].ID)
		}
		if p.Rig != nil {
			rigged++
		}
		notes += p.Notes
	}
	require.Equal(t, rigged, usesOf(t, m.s, m.strap))
	aside, err := m.s.Pulls(ctx, PullFilter{Cell: m.cell, Aside: true})
	require.NoError(t, err)
	for _, p := range aside {
		notes += p.Notes
	}
	found := map[int64]bool{}
	for _, p := range append(all, aside...) {
		f, _ := p.ByFinder()
		for i, want := range m.finder {
			if p.ID == m.ids[i] {
				require.Equal(t, want, f)
				found[p.ID] = true
			}
		}
	}
	require.Len(t, found, len(m.finder))
	for note := range m.notes {
		require.Contains(t, notes, note)
	}
}

// done does something and, where that was not refused, takes it back and back
// again: each time everything is as it was.
func (m *review) done(t *rapid.T, do func(ctx context.Context) error) {
	ctx := context.Background()
	before := m.counted(t)
	latest := m.latest(t)
	if err := do(ctx); err != nil {
		require.NotErrorIs(t, err, ErrDamaged)
		var refused *Refusal
		require.ErrorAs(t, err, &refused)
		require.Equal(t, before, m.counted(t))
		return
	}
	after := m.counted(t)
	now := m.latest(t)
	if now == latest || rapid.IntRange(0, 2).Draw(t, "undone") > 0 {
		return
	}
	for _, want := range [][]Pull{before, after, before} {
		_, err := m.s.Undo(ctx, m.latest(t))
		require.NoError(t, err)
		require.Equal(t, plain(want), plain(m.counted(t)))
	}
}

func (m *review) latest(t *rapid.T) int64 {
	changes, err := m.s.Journal(context.Background(), "", 0, 1)
	require.NoError(t, err)
	return changes[0].ID
}

// someStretch draws a stretch of time.
func someStretch(t *rapid.T) (from, to float64) {
	from = float64(rapid.IntRange(-20, 130).Draw(t, "from")) / 2
	return from, from + float64(rapid.IntRange(0, 60).Draw(t, "long"))/2
}

func (m *review) join(t *rapid.T) {
	p, q := m.pick(t, "into"), m.pick(t, "other")
	from, to := min(p.Found.Start, q.Found.Start), max(p.Found.End, q.Found.End)
	m.done(t, func(ctx context.Context) error {
		_, _, err := m.s.JoinPulls(ctx, limitedTo(p, from, to), q)
		return err
	})
}

func (m *review) part(t *rapid.T) {
	p := m.pick(t, "of")
	if p.Found.End-p.Found.Start < 2 {
		return
	}
	at := rapid.Int64Range(p.Found.Start+1, p.Found.End-1).Draw(t, "at")
	m.done(t, func(ctx context.Context) error {
		_, _, err := m.s.PartPull(ctx, limitedTo(p, p.Found.Start, at-1), limitedTo(Pull{}, at, p.Found.End))
		return err
	})
}

func (m *review) limit(t *rapid.T) {
	p := m.pick(t, "of")
	from, to := someStretch(t)
	m.done(t, func(ctx context.Context) error {
		_, err := m.s.SavePull(ctx, limitedIn(p, from, to))
		return err
	})
}

func (m *review) free(t *rapid.T) {
	p := m.pick(t, "of")
	p.Limits = nil
	m.done(t, func(ctx context.Context) error {
		_, err := m.s.SavePull(ctx, p)
		return err
	})
}

func (m *review) make(t *rapid.T) {
	from, to := someStretch(t)
	m.done(t, func(ctx context.Context) error {
		_, err := m.s.MakePull(ctx, limitedIn(Pull{Cell: m.cell}, from, to))
		return err
	})
}

func (m *review) aside(t *rapid.T) {
	p := m.pick(t, "of")
	p.Aside = &Aside{}
	m.done(t, func(ctx context.Context) error {
		_, err := m.s.SavePull(ctx, p)
		return err
	})
}

func (m *review) countAgain(t *rapid.T) {
	p := m.pick(t, "of")
	p.Aside = nil
	m.done(t, func(ctx context.Context) error {
		_, err := m.s.SavePull(ctx, p)
		return err
	})
}

func (m *review) note(t *rapid.T) {
	p := m.pick(t, "of")
	note := rapid.StringMatching(`<[a-z]{4}>`).Draw(t, "note")
	p.Notes += note
	_, err := m.s.SavePull(context.Background(), p)
	require.NoError(t, err)
	m.notes[note] = true
}

// found has the finder find the same again.
func (m *review) found(t *rapid.T) {
	i := rapid.IntRange(0, len(m.finder)-1).Draw(t, "again")
	before := len(m.counted(t))
	_, err := m.s.SavePull(context.Background(), Pull{Cell: m.cell, Found: m.finder[i], Rig: &m.rig, Settled: true})
	require.NoError(t, err)
	require.Len(t, m.counted(t), before)
}

// undo takes back any change of a person, if nothing stands on it.
func (m *review) undo(t *rapid.T) {
	changes, err := m.s.Journal(context.Background(), "pull", 0, 100)
	require.NoError(t, err)
	changes = slices.DeleteFunc(changes, func(c Change) bool { return c.ID <= m.begun })
	c := rapid.SampledFrom(changes).Draw(t, "change")
	was := m.counted(t)
	if _, err := m.s.Undo(context.Background(), c.ID); err != nil {
		require.Equal(t, was, m.counted(t))
		return
	}
	m.notes = map[string]bool{} // one of them may have been taken back
}
