package record

import (
	"context"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tautlog/ingest/needs"
	"tautlog/ingest/port"
	"tautlog/ingest/store"
	"tautlog/ingest/wire"
)

func TestAFullDisk(t *testing.T) {
	t.Parallel()
	dir := needs.Disk(t, "8m")
	s, cell := openStore(t, dir)
	defer func() { require.NoError(t, s.Close()) }()
	ballast := needs.Fill(t, dir, 300<<10)

	lines := make(chan port.Event)
	r := New(Config{Store: s, Cells: []store.Cell{cell}, Follow: func(ctx context.Context, _ port.Line, handle func(port.Event)) error {
		for {
			select {
			case <-ctx.Done():
				return nil
			case e := <-lines:
				handle(e)
			}
		}
	}})
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- r.Run(ctx) }()

	// 20,000 readings a second of noise that no coding makes small.
	lines <- port.Event{At: time.Now(), Up: true}
	frame := wire.Frame{Interval: 50, Readings: make([]int32, 200)}
	var sent []int64
	tick := time.NewTicker(10 * time.Millisecond)
	defer tick.Stop()
	deadline := time.Now().Add(needs.Patience)
	send := func(until func(Status) bool) {
		for !until(r.Statuses()[0]) {
			require.True(t, time.Now().Before(deadline), "%+v", r.Statuses()[0])
			<-tick.C
			for i := range frame.Readings {
				frame.Readings[i] = int32(uint32(len(sent)+1) * 2654435761)
				sent = append(sent, int64(frame.Readings[i]))
			}
			lines <- port.Event{At: time.Now(), Bytes: wire.AppendFrame(nil, frame)}
			frame.Seq++
			frame.Tick += 10000
		}
	}
	send(func(st Status) bool { return st.Held > 20000 })
	require.Contains(t, r.Statuses()[0].Problem, "The disk takes no readings")
	require.Contains(t, r.Statuses()[0].Problem, "Make room on the disk")
	require.NoError(t, os.Remove(ballast))
	send(func(st Status) bool { return st.Held == 0 })
	require.Empty(t, r.Statuses()[0].Problem)
	stop()
	require.NoError(t, <-ended)
	require.Equal(t, sent, stored(t, s, cell.ID))
	require.NoError(t, s.Integrity(t.Context()))
}
