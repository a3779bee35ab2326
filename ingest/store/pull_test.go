package store

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/calc/unit"
)

func foundAt(start, end int64) pull.Pull {
	held, hertz := unit.Force(12.5e3), 1.0/3
	return pull.Pull{
		Start: start, End: end, Kind: pull.Kinetic, Peak: 41_234.567890123, PeakAt: (start + end) / 2, PeakLow: 41e3, PeakHigh: 42e3,
		Steady: &held, Rebound: &hertz, Samples: 777, Rate: 1000, Flags: []string{pull.FlagGap}, Remarks: []string{"readings are missing"},
		Terms: []pull.Term{{Name: "noise", Low: 3, High: 4, Note: "from the quiet line"}},
	}
}

func TestPullComesBackWhole(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir(), Options{Now: atNine})
	cell := newCell(t, s)
	d, err := s.SaveDay(t.Context(), Day{Date: "2026-05-09", Name: "practice"})
	require.NoError(t, err)
	r := someRig("long")
	speed, slack, puller, stuck := unit.Speed(8/3.6), unit.Length(1.1), unit.Mass(2750), unit.Mass(3250)
	p := Pull{
		Cell: cell, Day: d.ID, Rig: &r, Found: foundAt(morning, morning+second), Ground: "clay", Settled: true,
		Speed: &speed, Slack: &slack, Depth: DepthFender, Attempt: 2, PullerMass: &puller, StuckMass: &stuck,
	}
	saved, err := s.SavePull(t.Context(), p)
	require.NoError(t, err)
	want := p
	want.ID, want.Version, want.Updated, want.Kind, want.Read = 1, 1, atNine(), pull.Kinetic, "cell "+t.Name()
	require.Equal(t, want, saved)
	got, err := s.Pull(t.Context(), saved.ID)
	require.NoError(t, err)
	require.Equal(t, want, got)
	_, err = s.Pull(t.Context(), 9)
	require.ErrorIs(t, err, ErrNotFound)
	_, err = s.SavePull(t.Context(), Pull{Cell: 99, Found: foundAt(1, 2)})
	require.ErrorIs(t, err, ErrNotFound)
	_, err = s.SavePull(t.Context(), Pull{Cell: cell, Found: foundAt(2, 1)})
	require.ErrorIs(t, err, ErrInvalid)
}

// TestAnalysisNeverDoublesNorUndoesEdits plays the life of a pull: a first
// result, an edit, the final result, a later analysis that sees the start a
// little earlier.
func TestAnalysisNeverDoublesNorUndoesEdits(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	ctx := t.Context()
	first, err := s.SavePull(ctx, Pull{Cell: cell, Found: foundAt(morning, morning+second), Ground: "clay"})
	require.NoError(t, err)

	edit := first
	edit.Kind, edit.Notes = pull.Proof, "test of the new mount"
	edit.Found.Peak, edit.Settled = 1, true // not for people to change
	edited, err := s.SavePull(ctx, edit)
	require.NoError(t, err)
	require.EqualValues(t, 2, edited.Version)
	require.Equal(t, first.Found, edited.Found)
	require.False(t, edited.Settled)
	_, err = s.SavePull(ctx, edit)
	require.ErrorIs(t, err, ErrConflict, "a second edit of what was read first")

	final := foundAt(morning, morning+3*second)
	final.Kind, final.Peak = pull.Steady, 50e3
	settled, err := s.SavePull(ctx, Pull{Cell: cell, Found: final, Ground: "sand", Notes: "not kept", Settled: true})
	require.NoError(t, err)
	require.Equal(t, Pull{
		ID: first.ID, Version: 2, Updated: settled.Updated, Cell: cell, Read: "cell " + t.Name(), Found: final,
		Kind: pull.Proof, Ground: "sand", Notes: "test of the new mount", Settled: true,
	}, settled, "kind and notes were edited, the ground was not")

	again := foundAt(morning-5*millisecond, morning+3*second)
	settled, err = s.SavePull(ctx, Pull{Cell: cell, Found: again, Ground: "sand"})
	require.NoError(t, err)
	require.Equal(t, first.ID, settled.ID)
	require.Equal(t, again, settled.Found)
	require.True(t, settled.Settled, "settled stays settled")

	edited.Ground = "mud" // read before the final result, which is no conflict
	edited, err = s.SavePull(ctx, edited)
	require.NoError(t, err)
	require.Equal(t, "mud", edited.Ground)
	require.Equal(t, again, edited.Found)

	next, err := s.SavePull(ctx, Pull{Cell: cell, Found: foundAt(morning+4*second, morning+5*second)})
	require.NoError(t, err)
	all, err := s.Pulls(ctx, PullFilter{})
	require.NoError(t, err)
	require.Equal(t, []Pull{next, edited}, all)
	changes, err := s.Journal(ctx, "pull", first.ID, 0)
	require.NoError(t, err)
	require.Len(t, changes, 5)
}

// TestWhatAPersonSaysOfAPullStays: each of the fields that only a person can
// fill outlives a later analysis, which knows none of them, can be emptied
// again, and then stays empty.
func TestWhatAPersonSaysOfAPullStays(t *testing.T) {
	t.Parallel()
	speed, slack, mass := unit.Speed(2.5), unit.Length(1.5), unit.Mass(3000)
	within := unit.Mass(50)
	for name, say := range map[string]func(*Pull, bool){
		"speed":       func(p *Pull, on bool) { p.Speed = pointer(on, &speed) },
		"slack":       func(p *Pull, on bool) { p.Slack = pointer(on, &slack) },
		"depth":       func(p *Pull, on bool) { p.Depth = map[bool]string{true: DepthCab}[on] },
		"attempt":     func(p *Pull, on bool) { p.Attempt = map[bool]int{true: 3}[on] },
		"puller mass": func(p *Pull, on bool) { p.PullerMass = pointer(on, &mass) },
		"how well": func(p *Pull, on bool) {
			p.StuckMass, p.StuckWithin = pointer(on, &mass), pointer(on, &within)
		},
		"stuck mass": func(p *Pull, on bool) { p.StuckMass = pointer(on, &mass) },
	} {
		s, cell := openNew(t)
		p, err := s.SavePull(t.Context(), Pull{Cell: cell, Found: foundAt(morning, morning+second)})
		require.NoError(t, err)
		for i, on := range []bool{true, false} {
			say(&p, on)
			edited, err := s.SavePull(t.Context(), p)
			require.NoError(t, err, name)
			require.EqualValues(t, i+2, edited.Version, name)
			found := Pull{Cell: cell, Found: foundAt(morning, morning+second+int64(i+1))}
			say(&found, !on) // were the analysis to say something, it would not count
			again, err := s.SavePull(t.Context(), found)
			require.NoError(t, err, name)
			want := edited
			want.Found, want.Updated = found.Found, again.Updated
			require.Equal(t, want, again, name)
			p = again
		}
	}
}

func pointer[T any](on bool, v *T) *T {
	if on {
		return v
	}
	return nil
}

func TestWhatNobodyCanMeanOfAPullIsRefused(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	back, short, none, nan := unit.Speed(-1), unit.Length(-1), unit.Mass(0), unit.Speed(math.NaN())
	some := unit.Mass(100)
	for name, p := range map[string]Pull{
		"speed": {Speed: &back}, "no speed": {Speed: &nan}, "slack": {Slack: &short}, "puller": {PullerMass: &none},
		"stuck": {StuckMass: &none}, "how well nothing is known": {StuckWithin: &some}, "more than all": {StuckMass: &some, StuckWithin: &some}, "depth": {Depth: "deep"}, "attempt": {Attempt: -1},
	} {
		p.Cell, p.Found = cell, foundAt(morning, morning+second)
		_, err := s.SavePull(t.Context(), p)
		require.ErrorIs(t, err, ErrInvalid, name)
	}
}

func TestPullFilter(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	ctx := t.Context()
	other, err := s.SaveCell(ctx, Cell{Name: "other"})
	require.NoError(t, err)
	d, err := s.SaveDay(ctx, Day{Date: "2026-05-09", Name: "practice"})
	require.NoError(t, err)
	for i := range int64(10) {
		p := Pull{Cell: cell, Found: foundAt(i*second, i*second+1)}
		if i%2 == 1 {
			p.Cell = other.ID
		}
		if i >= 6 {
			p.Day = d.ID
		}
		_, err := s.SavePull(ctx, p)
		require.NoError(t, err)
	}
	for _, c := range []struct {
		filter PullFilter
		want   []int64
	}{
		{PullFilter{}, []int64{9, 8, 7, 6, 5, 4, 3, 2, 1, 0}},
		{PullFilter{Limit: 2}, []int64{9, 8}},
		{PullFilter{From: 2 * second, To: 5 * second}, []int64{4, 3, 2}},
		{PullFilter{Cell: cell}, []int64{8, 6, 4, 2, 0}},
		{PullFilter{Cell: other.ID, Day: d.ID}, []int64{9, 7}},
		{PullFilter{From: 100 * second}, nil},
	} {
		got, err := s.Pulls(ctx, c.filter)
		require.NoError(t, err)
		var starts []int64
		for _, p := range got {
			starts = append(starts, p.Found.Start/second)
		}
		require.Equal(t, c.want, starts, "%+v", c.filter)
	}
}

// TestPullsAreSavedAllOrNone: one that is refused takes the others with it.
func TestPullsAreSavedAllOrNone(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	ctx := t.Context()
	one, two := Pull{Cell: cell, Found: foundAt(morning, morning+second)}, Pull{Cell: cell, Found: foundAt(morning+9*second, morning+10*second)}
	bad := two
	bad.Attempt = -1
	_, err := s.SavePulls(ctx, []Pull{one, bad})
	require.ErrorIs(t, err, ErrInvalid)
	all, err := s.Pulls(ctx, PullFilter{})
	require.NoError(t, err)
	require.Empty(t, all)

	saved, err := s.SavePulls(ctx, []Pull{one, two, one})
	require.NoError(t, err)
	require.Equal(t, saved[0].ID, saved[2].ID, "found again")
	all, err = s.Pulls(ctx, PullFilter{})
	require.NoError(t, err)
	require.Equal(t, []Pull{saved[1], saved[2]}, all)
	none, err := s.SavePulls(ctx, nil)
	require.NoError(t, err)
	require.Empty(t, none)
}
