package watch

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/pull"
	"tautlog/ingest/record"
	"tautlog/ingest/store"
)

// live is a recorder and a watcher at work on a real store in this process.
type live struct {
	store    *store.Store
	cell     store.Cell
	recorder *record.Recorder
	watcher  *Watcher
	stop     func() // returns when everything is written
}

func startLive(t *testing.T, link string, prepare func(*store.Store, store.Cell)) *live {
	t.Helper()
	s, err := store.Open(t.TempDir(), store.Options{})
	require.NoError(t, err)
	cell, err := s.SaveCell(t.Context(), packedCell(link))
	require.NoError(t, err)
	if prepare != nil {
		prepare(s, cell)
	}
	l := &live{store: s, cell: cell}
	ctx, cancel := context.WithCancel(context.Background())
	made, ended := make(chan struct{}), make(chan error, 1)
	go func() {
		ended <- recordAndWatch(ctx, s, cell, func(r *record.Recorder, w *Watcher) {
			l.recorder, l.watcher = r, w
			close(made)
		}, func(record.Announcement) {})
	}()
	<-made
	stopped := false
	l.stop = func() {
		if !stopped {
			stopped = true
			cancel()
			assert.NoError(t, <-ended)
		}
	}
	t.Cleanup(func() {
		l.stop()
		assert.NoError(t, s.Close())
	})
	return l
}

// One byte in a hundred is damaged and the device is unplugged at the peak of
// the pull, for a second.
func TestDamagedBytesAndUnpluggingMidPull(t *testing.T) {
	t.Parallel()
	const at, length, peak = 4000, 800, 25000
	forces := quiet(9000, 1)
	addPulse(forces, at, length, peak)
	in := startSender(t, forces, "--per-frame", "4", "--damage", "0.01", "--unplug-at", "4.4", "--unplug-for", "1", "--unplug-read")
	l := startLive(t, in.Link, nil)
	start := in.Started()
	in.End()
	l.stop()

	truth, stored := in.Truth(), readStored(t, l.store, l.cell.ID)
	requireOnlySent(t, truth, stored)

	have := make([]bool, len(truth))
	for _, k := range stored {
		have[k.raw&indexMask] = true
	}
	var damaged int
	var missing []int
	for i, r := range truth {
		switch {
		case r.There && !r.Clean:
			damaged++
		case r.Clean && !have[i]:
			missing = append(missing, i)
		}
	}
	assert.Greater(t, damaged, 1000, "the damage is real")
	assert.Empty(t, missing, "undamaged readings that are not stored")

	var before, after kept // around the largest gap
	for i := 1; i < len(stored); i++ {
		if stored[i].t-stored[i-1].t > after.t-before.t {
			before, after = stored[i-1], stored[i]
		}
	}
	const gone, back = 4400, 5400
	assert.InDelta(t, gone, before.raw&indexMask, 100, "the gap is in the store, where the device was unplugged")
	assert.InDelta(t, back, after.raw&indexMask, 100, "until it was back")
	// What a machine with other work to do sends late cannot be known to be
	// older; the earliest of the frames since it was plugged in tells by how much.
	late := time.Hour
	for i := 3; i < len(truth); i += 4 {
		if truth[i].There && i > back {
			late = min(late, truth[i].At.Sub(start.Add(time.Duration(i+1)*time.Millisecond)))
		}
	}
	for _, k := range stored {
		if i := k.raw & indexMask; i > 7500 {
			off := time.Unix(0, k.t).Sub(start.Add(time.Duration(i) * time.Millisecond))
			require.Greater(t, off, -30*time.Millisecond, "time of reading %d", i)
			require.Less(t, off, late+30*time.Millisecond, "time of reading %d", i)
		}
	}

	status := l.recorder.Statuses()[0]
	assert.Positive(t, status.Decode.Rejected)
	assert.Positive(t, status.Decode.Lost)

	pulls, err := l.store.Pulls(t.Context(), store.PullFilter{})
	require.NoError(t, err)
	require.Len(t, pulls, 1)
	p := pulls[0]
	assert.Contains(t, p.Found.Flags, pull.FlagGap)
	assert.InDelta(t, 4.0, float64(p.Found.Start-start.UnixNano())/1e9, 0.1)
	assert.True(t, p.Settled)
	assert.Less(t, p.Found.End, after.t+int64(time.Second))
	require.NoError(t, l.store.Integrity(t.Context()))
}
