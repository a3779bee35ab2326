//go:build unix

package port_test

import (
	"encoding/csv"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/analysis/trace"
	"tautlog/ingest/needs"
	"tautlog/ingest/port"
	"tautlog/ingest/wire"
)

// sent is a row of what the sender wrote down.
type sent struct {
	index, seq int
	tick       uint32
	raw        int64
	sent       bool // the device was there
	clean      bool // nothing of it was damaged
	at         time.Time
}

// heard is what a listener made of a line.
type heard struct {
	readings []wire.Reading
	at       []time.Time // of each reading
	changes  []port.Event
	stats    wire.Stats
}

// listen runs testdata/sender/send_frames.py with arguments, an instrument
// that shares no code with this module, and decodes what comes through its
// pseudo-terminal.
func listen(t *testing.T, c wire.Config, arguments ...string) (heard, []sent) {
	t.Helper()
	python := needs.Python(t, "python3")
	dir := t.TempDir()
	link, truth := filepath.Join(dir, "cell"), filepath.Join(dir, "truth.csv")
	args := append([]string{"../../testdata/sender/send_frames.py", "--link", link, "--truth", truth, "--linger", "0.2"}, arguments...)
	sender := exec.Command(python, args...)
	sender.Stderr = os.Stderr

	d, err := wire.New(c)
	require.NoError(t, err)
	f := follow(t, port.Line{Path: link})
	require.NoError(t, sender.Run())
	var h heard
	for _, e := range f.stop(t) {
		if len(e.Bytes) == 0 {
			h.changes = append(h.changes, e)
			if e.Down != nil {
				d.Reset()
			}
			continue
		}
		h.readings = d.Decode(h.readings, e.Bytes)
		for len(h.at) < len(h.readings) {
			h.at = append(h.at, e.At)
		}
	}
	h.stats = d.Stats()
	return h, readTruth(t, truth)
}

func readTruth(t *testing.T, path string) (rows []sent) {
	t.Helper()
	file, err := os.Open(path)
	require.NoError(t, err)
	defer file.Close()
	lines, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	require.Equal(t, []string{"index", "seq", "tick_us", "raw", "sent", "clean", "unix_ns"}, lines[0])
	for _, l := range lines[1:] {
		var n [7]int64
		for i := range n {
			n[i], err = strconv.ParseInt(l[i], 10, 64)
			require.NoError(t, err)
		}
		rows = append(rows, sent{int(n[0]), int(n[1]), uint32(n[2]), n[3], n[4] == 1, n[5] == 1, time.Unix(0, n[6])})
	}
	return rows
}

// values leaves out the marks.
func values(readings []wire.Reading) (v []wire.Reading) {
	for _, r := range readings {
		v = append(v, wire.Reading{Raw: r.Raw, Tick: r.Tick, Timed: r.Timed})
	}
	return v
}

func clean(rows []sent) (v []wire.Reading) {
	for _, r := range rows {
		if r.sent && r.clean {
			v = append(v, wire.Reading{Raw: r.raw, Tick: r.tick, Timed: true})
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
	first := slices.IndexFunc(rows, func(r sent) bool { return r.clean })
	last := len(rows) - 1
	for !rows[last].clean {
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

	// How late bytes are seen, by the sender's clock on the same machine.
	var late []time.Duration
	sentAt := map[uint32]time.Time{}
	for _, r := range rows {
		sentAt[r.tick] = r.at
	}
	for i, r := range h.readings {
		late = append(late, h.at[i].Sub(sentAt[r.Tick]))
	}
	slices.Sort(late)
	t.Logf("%d readings, seen after median %v, 99 %% %v, worst %v", len(late), late[len(late)/2], late[len(late)*99/100], late[len(late)-1])
	assert.Less(t, late[len(late)/2], 50*time.Millisecond)
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
