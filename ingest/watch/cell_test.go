package watch

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/trace"
	"tautlog/ingest/derive"
	"tautlog/ingest/record"
	"tautlog/ingest/store"
)

// bench is one watched cell with a real store and a clock in hand; readings
// are pushed to it instead of recorded.
type bench struct {
	t       *testing.T
	store   *store.Store
	watcher *Watcher
	cell    *cell
	now     time.Time
	next    int64 // time of the next reading
}

func newBench(t *testing.T, dir string) *bench {
	t.Helper()
	s, err := store.Open(dir, store.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, s.Close()) })
	sc, err := s.SaveCell(t.Context(), packedCell("/dev/none"))
	require.NoError(t, err)
	b := &bench{t: t, store: s, now: time.Date(2026, 5, 1, 9, 0, 0, 0, time.UTC)}
	b.next = b.now.UnixNano()
	b.restart(sc)
	return b
}

// restart makes a new watcher, as a new daemon does.
func (b *bench) restart(sc store.Cell) {
	cells := []store.Cell{sc}
	b.watcher = New(Config{
		Store: b.store, Recorder: record.New(record.Config{Store: b.store, Cells: cells}),
		Cells: cells, Now: func() time.Time { return b.now },
	})
	b.cell = b.watcher.cells[0]
	b.t.Cleanup(b.watcher.board.End)
}

// push shows the watcher 1 kHz readings, and stores them too.
func (b *bench) push(forces []int) {
	b.t.Helper()
	for len(forces) > 0 {
		n := min(20, len(forces))
		var batch trace.Batch
		for _, f := range forces[:n] {
			batch.T, batch.F = append(batch.T, b.next), append(batch.F, float64(f))
			b.next += 1e6
			b.now = b.now.Add(time.Millisecond)
		}
		b.cell.push(batch)
		forces = forces[n:]
	}
}

// keep stores 1 kHz readings, as the recorder does.
func (b *bench) keep(from int64, forces []int) {
	b.t.Helper()
	run := store.Run{Cell: b.cell.ID, Start: from, Step: 1e6}
	for _, f := range forces {
		run.Raw = append(run.Raw, int64(f)<<indexBits)
	}
	require.NoError(b.t, b.store.Append(b.t.Context(), []store.Run{run}))
}

func (b *bench) pulls() []store.Pull {
	b.t.Helper()
	pulls, err := b.store.Pulls(b.t.Context(), store.PullFilter{})
	require.NoError(b.t, err)
	return pulls
}

func TestAPullWhoseCellStaysSilentIsSettled(t *testing.T) {
	t.Parallel()
	b := newBench(t, t.TempDir())
	forces := quiet(5000, 1)
	addSteady(forces, 3000, 4000-2000, 20000) // unplugged under load
	b.push(forces[:4200])
	assert.Empty(t, b.pulls())
	b.cell.follow([]record.Announcement{{Status: &record.Status{Up: false}}})
	require.Len(t, b.pulls(), 1, "shown when the cell went away")
	assert.False(t, b.pulls()[0].Settled)
	b.now = b.now.Add(splitGap - time.Millisecond)
	b.cell.settleSilent()
	assert.False(t, b.pulls()[0].Settled)
	b.now = b.now.Add(time.Millisecond)
	b.cell.settleSilent()
	require.Len(t, b.pulls(), 1)
	assert.True(t, b.pulls()[0].Settled)
}

func TestPullsFoundAgainAfterARestartAreTheSame(t *testing.T) {
	t.Parallel()
	b := newBench(t, t.TempDir())
	forces := quiet(16000, 1)
	addPulse(forces, 3000, 500, 20000)
	addPulse(forces, 12000, 500, 25000)
	b.keep(b.next, forces)
	from := b.next
	b.push(forces[:13000]) // the second is slack again, but not settled
	before := b.pulls()
	require.Len(t, before, 2)
	assert.Equal(t, []bool{false, true}, []bool{before[0].Settled, before[1].Settled})
	edited := before[1]
	edited.Notes = "strap was wet"
	_, err := b.store.SavePull(t.Context(), edited)
	require.NoError(t, err)

	b.now = time.Unix(0, from).Add(17 * time.Second)
	b.restart(b.cell.Cell.Cell)
	sub := b.watcher.Subscribe()
	require.NoError(t, b.cell.resume(t.Context()))
	after := b.pulls()
	require.Len(t, after, 2)
	for i := range after {
		assert.Equal(t, before[i].ID, after[i].ID)
		assert.True(t, after[i].Settled)
		assert.InDelta(t, float64(before[i].Found.Start), float64(after[i].Found.Start), 20e6)
		assert.InEpsilon(t, float64(before[i].Found.Peak), float64(after[i].Found.Peak), 0.002)
	}
	assert.Equal(t, "strap was wet", after[1].Notes)
	for len(sub.C) > 0 {
		assert.Equal(t, before[0].ID, (<-sub.C).Pull.ID, "what was settled is not told again")
	}
}

// TestLimitsOutliveARestart: of two jerks that were found as one pull a person
// has kept one. The other comes back neither with a new daemon that looks
// through the same readings, nor with its results.
func TestLimitsOutliveARestart(t *testing.T) {
	t.Parallel()
	for _, kept := range [][2]int64{{2900, 3700}, {4900, 5700}} {
		b := newBench(t, t.TempDir())
		forces := quiet(16000, 1)
		addPulse(forces, 3000, 500, 20000)
		addPulse(forces, 5000, 500, 15000)
		b.keep(b.next, forces)
		from := b.next
		b.push(forces)
		require.Len(t, b.pulls(), 1)
		whole := b.pulls()[0]
		require.True(t, whole.Settled)
		c, err := derive.Of(t.Context(), b.store, b.cell.Cell.Cell)
		require.NoError(t, err)
		limited, err := c.WithLimits(t.Context(), b.store, whole, from+kept[0]*1e6, from+kept[1]*1e6)
		require.NoError(t, err)
		limited, err = b.store.SavePull(t.Context(), limited)
		require.NoError(t, err)
		require.Less(t, limited.Found.Impulse, whole.Found.Impulse)

		b.restart(b.cell.Cell.Cell)
		require.NoError(t, b.cell.resume(t.Context()))
		assert.Equal(t, []store.Pull{limited}, b.pulls())
		again, err := b.store.SavePull(t.Context(), store.Pull{Cell: whole.Cell, Found: whole.Found, Settled: true})
		require.NoError(t, err)
		assert.Equal(t, limited, again)
	}
}

func TestNothingIsSeenTwice(t *testing.T) {
	t.Parallel()
	b := trace.Batch{T: []int64{1, 2, 3}, F: []float64{10, 20, 30}, Marks: []trace.Mark{0, 0, trace.Lost}}
	assert.Equal(t, b, after(b, 0))
	assert.Equal(t, trace.Batch{T: []int64{3}, F: []float64{30}, Marks: []trace.Mark{trace.Lost}}, after(b, 2))
	assert.Zero(t, after(b, 3).Len())
}
