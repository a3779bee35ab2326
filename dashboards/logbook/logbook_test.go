package logbook

import (
	"context"
	"fmt"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"tautlog/analysis/pull"
	"tautlog/analysis/shock"
	"tautlog/calc/calibrate"
	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/unit"
	"tautlog/ingest/store"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

var start = time.Date(2026, 5, 17, 9, 0, 0, 0, time.UTC)

// club is a store that somebody works with at random.
type club struct {
	*store.Store
	r     *rand.Rand
	cell  int64
	days  []store.Day
	pulls []int64
}

func newClub(t *testing.T, seed uint64) *club {
	t.Helper()
	s, err := store.Open(t.TempDir(), store.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	c, err := s.SaveCell(t.Context(), store.Cell{Name: "River-1", Curve: calibrate.Curve{Coefficients: []float64{0, 1}}})
	require.NoError(t, err)
	return &club{Store: s, r: rand.New(rand.NewPCG(seed, 1)), cell: c.ID}
}

// found is a pull of the n-th minute.
func (c *club) found(n int) store.Pull {
	gvm, length, kinds := unit.Mass(2000+100*c.r.IntN(5)), unit.Length(9), []pull.Kind{pull.Kinetic, pull.Kinetic, pull.Steady}
	at := start.Add(time.Duration(n) * time.Minute).UnixNano()
	peak := unit.Force(2+c.r.Float64()) * gvm.Weight()
	g := rig.Rig{Name: "one", Pulling: gear.Vehicle{Name: "Heron", GVM: &gvm}, Stuck: gear.Vehicle{Name: "Otter", GVM: &gvm}, Chain: []rig.Link{
		rig.InLine(gear.Item{Name: "River-1", Kind: gear.LoadCell}),
		rig.InLine(gear.Item{Name: "strap", Kind: gear.RecoveryStrap, Length: &length, Ratings: []gear.Rating{{Value: 80e3, Basis: gear.MBS}}}),
	}}
	p := store.Pull{Cell: c.cell, Rig: &g, Ground: c.word(), Settled: c.r.IntN(4) > 0, Found: pull.Pull{
		Start: at, End: at + 2e9, PeakAt: at + 1e9, Kind: kinds[c.r.IntN(3)], Peak: peak, PeakLow: peak * 0.99, PeakHigh: peak * 1.01,
	}}
	if len(c.days) > 0 {
		p.Day = c.days[c.r.IntN(len(c.days))].ID
	}
	return p
}

func (c *club) word() string { return []string{"mud", "sand", "Wet sand", ""}[c.r.IntN(4)] }

// step changes something, as the analysis or a person does.
func (c *club) step(t *testing.T) {
	t.Helper()
	ctx := t.Context()
	switch what := c.r.IntN(10); {
	case what < 4 || len(c.pulls) == 0: // found, or found again and a little earlier
		p := c.found(c.r.IntN(60))
		p.Found.Start -= int64(c.r.IntN(3)) * 1e8
		p, err := c.SavePull(ctx, p)
		require.NoError(t, err)
		c.pulls = append(c.pulls, p.ID)
	case what < 7: // edited
		p, err := c.Pull(ctx, c.pulls[c.r.IntN(len(c.pulls))])
		require.NoError(t, err)
		v := unit.Speed(1 + c.r.Float64())
		p.Ground, p.Speed = c.word(), &v
		if c.r.IntN(3) == 0 {
			p.Rig = nil
		}
		_, err = c.SavePull(ctx, p)
		require.NoError(t, err)
	case what == 7: // a test day, new or of another date
		d := store.Day{Date: start.AddDate(0, 0, c.r.IntN(9)).Format(time.DateOnly), Name: fmt.Sprint("day ", len(c.days))}
		if len(c.days) > 0 && c.r.IntN(2) == 0 {
			i := c.r.IntN(len(c.days))
			d.ID, d.Version, d.Name = c.days[i].ID, c.days[i].Version, c.days[i].Name
			if saved, err := c.SaveDay(ctx, d); err == nil { // refused where it was removed
				c.days[i] = saved
			}
			return
		}
		d, err := c.SaveDay(ctx, d)
		require.NoError(t, err)
		c.days = append(c.days, d)
	default: // undone, where that can be
		changes, err := c.Journal(ctx, "", 0, 5)
		require.NoError(t, err)
		_, _ = c.Undo(ctx, changes[c.r.IntN(len(changes))].ID) // refused for what cannot be undone
		for i, d := range c.days {
			if now, err := c.Day(ctx, d.ID); err == nil {
				c.days[i] = now
			}
		}
	}
}

// fresh is the log as it is read from the store.
func (c *club) fresh(t *testing.T) []shock.Pull {
	t.Helper()
	log, err := c.Logged(t.Context(), store.PullFilter{}, time.UTC)
	require.NoError(t, err)
	out := make([]shock.Pull, len(log))
	for i, l := range log {
		out[i] = shock.FromLog(l)
	}
	return out
}

// TestLogIsInStep makes changes at random and finds what is kept the same as
// what is read, and earlier answers as they were.
func TestLogIsInStep(t *testing.T) {
	t.Parallel()
	for seed := range uint64(3) {
		c := newClub(t, seed)
		b := New(c.Store, time.UTC)
		var before Log
		var was []shock.Pull
		for range 25 {
			for range 1 + c.r.IntN(3) {
				c.step(t)
			}
			log, err := b.Log(t.Context())
			require.NoError(t, err)
			want := c.fresh(t)
			require.Equal(t, want, append([]shock.Pull{}, log.Pulls...))
			require.Equal(t, was, before.Pulls, "what was given out has changed")
			before, was = log, append([]shock.Pull(nil), log.Pulls...)
			told, err := b.OfLog(t.Context())
			require.NoError(t, err)
			require.False(t, told.Behind)
			require.Len(t, told.Fitted.Set.Used, usable(want))
		}
		assert.Greater(t, len(before.Pulls), 10)
	}
}

func usable(pulls []shock.Pull) (n int) {
	for _, p := range pulls {
		if p.Problem() == "" {
			n++
		}
	}
	return n
}

// TestLargeLogIsNeverSilentlyOld works with a log that is fitted in the
// background, while others ask: what is told is either of the log as it is or
// says that it is not; and it gets there.
func TestLargeLogIsNeverSilentlyOld(t *testing.T) {
	t.Parallel()
	c := newClub(t, 9)
	for range 30 {
		c.step(t)
	}
	b := New(c.Store, time.UTC)
	b.many = 5
	ctx, stop := context.WithCancel(t.Context())
	var all sync.WaitGroup
	all.Go(func() { b.Run(ctx, func(err error) { t.Error(err) }) })
	for range 3 {
		all.Go(func() {
			for ctx.Err() == nil {
				if told, err := b.OfLog(ctx); ctx.Err() == nil && assert.NoError(t, err) && !told.Behind {
					assert.Equal(t, told.Pulls, told.Logged)
				}
			}
		})
	}
	settled := func() Told {
		for {
			told, err := b.OfLog(t.Context())
			require.NoError(t, err)
			if !told.Behind {
				return told
			}
			b.Wait(t.Context())
		}
	}
	for range 15 {
		for range 1 + c.r.IntN(8) { // more or fewer than are read while somebody waits
			c.step(t)
		}
		want := c.fresh(t)
		if told, err := b.OfLog(t.Context()); assert.NoError(t, err) && !told.Behind {
			require.Equal(t, want, told.Fitted.Pulls)
		}
		require.Equal(t, want, settled().Fitted.Pulls)
		says, ok, err := b.Answer(t.Context(), "how many?", func(_ context.Context, told Told) (any, error) { return told.Pulls, nil })
		for ; err == nil && !ok; says, ok, err = b.Answer(t.Context(), "how many?", func(_ context.Context, told Told) (any, error) { return told.Pulls, nil }) {
			b.Wait(t.Context())
		}
		require.NoError(t, err)
		require.Equal(t, len(want), says)
	}
	stop()
	all.Wait()
	told, err := b.OfLog(t.Context())
	require.NoError(t, err)
	assert.False(t, told.Behind, "nobody works in the background any more, so it is done at once")
}

// TestSets reads each kept set once, gives of a large one the kept numbers at
// once and the rest when it is done, and lets go of what nobody asks for.
func TestSets(t *testing.T) {
	t.Parallel()
	c := newClub(t, 3)
	for range 40 {
		p := c.found(len(c.pulls))
		p, err := c.SavePull(t.Context(), p)
		require.NoError(t, err)
		c.pulls = append(c.pulls, p.ID)
	}
	log := c.fresh(t)
	first, err := c.SaveSet(t.Context(), shock.Keep("river bar", log[:30]))
	require.NoError(t, err)
	second, err := c.SaveSet(t.Context(), shock.Keep("river bar", log))
	require.NoError(t, err)
	stated, err := c.SaveSet(t.Context(), shock.Kept{Name: "handbook", Assumed: []shock.Assumption{{Multiplier: 3, Source: "the club"}}})
	require.NoError(t, err)
	b := New(c.Store, time.UTC)
	inUse, err := b.InUse(t.Context())
	require.NoError(t, err)
	assert.Equal(t, shock.RuleOfThumb(), inUse.Kept)
	heads, err := b.Sets(t.Context())
	require.NoError(t, err)
	require.Len(t, heads, 3)
	for i, want := range []shock.Kept{stated, second, first} {
		assert.Equal(t, len(want.Pulls), heads[i].Count)
		want.Pulls = nil
		assert.Equal(t, want, heads[i].Kept)
	}
	ref := store.SetRef{Name: "river bar", Version: 2}
	told, err := b.OfSet(t.Context(), ref)
	require.NoError(t, err)
	assert.Equal(t, log, told.Fitted.Pulls)
	_, drift := told.Kept.Refit()
	assert.Empty(t, drift)

	b = New(c.Store, time.UTC)
	b.many = 5
	ctx, stop := context.WithCancel(t.Context())
	var all sync.WaitGroup
	all.Go(func() { b.Run(ctx, func(err error) { t.Error(err) }) })
	for told, err = b.OfSet(t.Context(), ref); told.Behind; told, err = b.OfSet(t.Context(), ref) {
		require.NoError(t, err)
		assert.Equal(t, second.Fit, told.Kept.Fit, "the kept numbers are there at once")
		assert.Nil(t, told.Fitted)
		assert.Equal(t, 40, told.Pulls)
		b.Wait(t.Context())
	}
	require.NoError(t, err)
	assert.Equal(t, log, told.Kept.Pulls)
	told, err = b.OfSet(t.Context(), store.SetRef{Name: "handbook", Version: 1})
	require.NoError(t, err)
	assert.Equal(t, Told{Kept: stated}, told)
	_, err = b.OfSet(t.Context(), store.SetRef{Name: "handbook", Version: 2})
	require.ErrorIs(t, err, store.ErrNotFound)
	stop()
	all.Wait()
}
