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
	in := startSender(t, forces, "--per-frame", "4", "--damage", "0.01", "--unplug-at", "4.4", "--unplug-for", "1")
	l := startLive(t, in.link, nil)
	start := in.await("start", patience)
	in.await("end", patience)
	l.stop()

	truth, stored := in.readTruth(), readStored(t, l.store, l.cell.ID)
	requireOnlySent(t, truth, stored)

	have := make([]bool, len(truth))
	for _, k := range stored {
		have[k.raw&indexMask] = true
	}
	var damaged, missing int
	for i, s := range truth {
		near := i > 4300 && i < 5800 // in the device's buffer when it went, or before it was opened again
		switch {
		case s.sent && !s.clean:
			damaged++
		case s.clean && !have[i] && !near:
			missing++
		}
	}
	assert.Greater(t, damaged, 1000, "the damage is real")
	assert.Zero(t, missing, "undamaged readings that are not stored")

	var gap, before int64
	for i := 1; i < len(stored); i++ {
		if d := stored[i].t - stored[i-1].t; d > gap {
			gap, before = d, stored[i-1].t
		}
	}
	assert.InDelta(t, 1.2, float64(gap)/1e9, 0.3, "the gap is in the store")
	assert.InDelta(t, 4.4, float64(before-start.UnixNano())/1e9, 0.15, "where the device was unplugged")
	// The earliest of the frames tells how late the sender was at best: a
	// machine with other work to do lets it run late.
	late := int64(1 << 62)
	for i, s := range truth {
		if s.sent && i%4 == 3 {
			late = min(late, s.at-start.UnixNano()-int64(i+1)*1e6)
		}
	}
	for _, k := range stored {
		if i := k.raw & indexMask; i > 7500 {
			taken := start.UnixNano() + i*1e6 + late
			require.InDelta(t, float64(taken)/1e9, float64(k.t)/1e9, 0.030, "time of reading %d", i)
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
	assert.Less(t, time.Duration(p.Found.End-p.Found.Start), 3*time.Second)
	require.NoError(t, l.store.Integrity(t.Context()))
}
