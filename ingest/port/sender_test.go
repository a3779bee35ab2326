//go:build unix

package port_test

import (
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/trace"
	"tautlog/ingest/needs"
	"tautlog/ingest/port"
	"tautlog/ingest/wire"
)

// heard is what a listener made of a line.
type heard struct {
	readings []wire.Reading
	at       []time.Time // of each reading
	changes  []port.Event
	stats    wire.Stats
}

// listen decodes what an instrument that shares no code with this module sends
// until it is unplugged at its end.
func listen(t *testing.T, c wire.Config, arguments ...string) (heard, []needs.Sent) {
	t.Helper()
	link := filepath.Join(t.TempDir(), "cell")
	d, err := wire.New(c)
	require.NoError(t, err)
	f := follow(t, port.Line{Path: link})
	h := heard{changes: []port.Event{f.next(t)}} // there is no device yet
	in := needs.Sender(t, link, append([]string{"--linger", "0.2"}, arguments...)...)
	end := in.End()
	for gone := false; !gone; {
		e := f.event(t)
		if len(e.Bytes) == 0 {
			h.changes = append(h.changes, e)
			if e.Down != nil {
				d.Reset()
				gone = e.At.After(end)
			}
			continue
		}
		h.readings = d.Decode(h.readings, e.Bytes)
		for len(h.at) < len(h.readings) {
			h.at = append(h.at, e.At)
		}
	}
	assert.Empty(t, f.stop(t))
	h.stats = d.Stats()
	return h, in.Truth()
}

// values leaves out the marks.
func values(readings []wire.Reading) (v []wire.Reading) {
	for _, r := range readings {
		v = append(v, wire.Reading{Raw: r.Raw, Tick: r.Tick, Timed: r.Timed})
	}
	return v
}

func clean(rows []needs.Sent) (v []wire.Reading) {
	for _, r := range rows {
		if r.There && r.Clean {
			v = append(v, wire.Reading{Raw: r.Raw, Tick: r.Tick, Timed: true})
		}
	}
	return v
}

// One byte in a hundred is damaged: what arrives is exactly what was sent in
// frames without damage, and the sequence gives away how many are missing. The
// sender's dice are seeded, so this is the same stream every time; over all
// streams, a CRC of 16 bits misses about one in 65,536 of the badly damaged
// frames.
func TestDamagedFramesFromAnotherProcess(t *testing.T) {
	t.Parallel()
	h, rows := listen(t, wire.Config{Format: wire.Packed},
		"--rate", "0", "--count", "40000", "--per-frame", "10", "--damage", "0.01", "--seed", "11",
		"--shape", "kinetic", "--noise", "40", "--at", "1", "--every", "4", "--seq0", "64000", "--tick0", "4290000000")
	require.Len(t, rows, 40_000)
	want := clean(rows)
	require.Greater(t, len(want), 10_000)
	require.Less(t, len(want), 30_000, "the damage shows")
	require.Equal(t, want, values(h.readings))
	require.Len(t, h.changes, 3, "there was no device, it came, it went")

	// Holes before the first and after the last frame that arrived do not show.
	first := slices.IndexFunc(rows, func(r needs.Sent) bool { return r.Clean })
	last := len(rows) - 1
	for !rows[last].Clean {
		last--
	}
	assert.EqualValues(t, (last+1-first-len(want))/10, h.stats.Lost)
	assert.EqualValues(t, len(want)/10, h.stats.Units)
	for i, r := range h.readings[1:] {
		gap := r.Tick-h.readings[i].Tick != 1000
		require.Equal(t, gap, r.Mark == trace.Lost, "reading %d", i+1)
	}
}

// The device is taken away in the middle of a pull and comes back.
func TestUnpluggedDuringAPullByAnotherProcess(t *testing.T) {
	t.Parallel()
	h, rows := listen(t, wire.Config{Format: wire.Packed},
		"--rate", "1000", "--count", "3000", "--per-frame", "5", "--damage", "0.01", "--seed", "5",
		"--at", "0.8", "--length", "1", "--unplug-at", "1.2", "--unplug-for", "0.5")
	var kinds []port.Kind
	ups := 0
	for _, e := range h.changes {
		if e.Up {
			ups++
			continue
		}
		p, ok := e.Down.(*port.Problem)
		require.True(t, ok)
		kinds = append(kinds, p.Kind)
	}
	assert.Equal(t, 2, ups)
	assert.Equal(t, []port.Kind{port.Missing, port.Gone, port.Gone}, kinds)

	// Nothing but clean readings, in order. Those that were in the device when
	// it went are gone with it, and nothing else is.
	want, got := clean(rows), values(h.readings)
	at := 0
	missing := []uint32{}
	for _, w := range want {
		if at < len(got) && got[at] == w {
			at++
			continue
		}
		missing = append(missing, w.Tick)
	}
	require.Equal(t, len(got), at, "a reading that was not sent clean")
	for _, tick := range missing {
		assert.Less(t, tick, uint32(1_200_000), "lost while the device was there")
		assert.Greater(t, tick, uint32(500_000), "lost while the device was there")
	}
	assert.True(t, slices.ContainsFunc(got, func(r wire.Reading) bool { return r.Tick > 1_700_000 }), "it goes on by itself")

	// How late bytes are seen, by the sender's clock on the same machine: told and
	// not judged, because that is the machine's; how long they gather is TestGather's.
	var late []time.Duration
	sentAt := map[uint32]time.Time{}
	for _, r := range rows {
		sentAt[r.Tick] = r.At
	}
	for i, r := range h.readings {
		late = append(late, h.at[i].Sub(sentAt[r.Tick]))
	}
	slices.Sort(late)
	t.Logf("%d readings, seen after median %v, 99 %% %v, worst %v", len(late), late[len(late)/2], late[len(late)*99/100], late[len(late)-1])
}

// Lines of text arrive whole and in order; the first one is left out, because
// nobody can know that its beginning was seen.
func TestTextFromAnotherProcess(t *testing.T) {
	t.Parallel()
	h, rows := listen(t, wire.Config{Format: wire.Text, Text: wire.TextConfig{
		Column: 3, Unit: wire.Counts, TickColumn: 2, SeqColumn: 1, Fields: 3,
	}}, "--format", "text", "--rate", "0", "--count", "20000", "--shape", "kinetic", "--noise", "20")
	require.Equal(t, clean(rows)[1:], values(h.readings))
	assert.Equal(t, wire.Stats{Bytes: h.stats.Bytes, Units: 19_999, Readings: 19_999, Partial: 1}, h.stats)
}
