package rehearse_test

import (
	"context"
	"errors"
	"math"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/ingest/needs"
	"tautlog/ingest/port"
	"tautlog/ingest/rehearse"
	"tautlog/ingest/wire"
)

// ways are the two ways in which bytes reach the follower of a session.
var ways = map[string]bool{"pseudo-terminal": false, "pipe": true}

func start(t *testing.T, o rehearse.Options) *rehearse.Session {
	t.Helper()
	if o.Script == nil {
		o.Script = rehearse.Pulls(rehearse.Pull{At: 200 * time.Millisecond, Shape: fixedPull(3)})
	}
	s, err := rehearse.Start(context.Background(), o)
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, s.Close()) })
	if !s.Real() && !o.Pipe {
		t.Skip("no pseudo-terminal here: " + s.Note())
	}
	return s
}

// heard is what arrived on a line.
type heard struct {
	at       time.Time
	readings []wire.Reading
	up, down bool
}

// follow follows the line of a session, decoding by c, until enough says so.
func follow(t *testing.T, s *rehearse.Session, c wire.Config, enough func([]heard) bool) []heard {
	t.Helper()
	d, err := wire.New(c)
	require.NoError(t, err)
	ctx, cancel := context.WithTimeout(context.Background(), needs.Patience)
	defer cancel()
	var all []heard
	err = s.Follow(ctx, s.Line(), func(e port.Event) {
		h := heard{at: e.At, up: e.Up, down: e.Down != nil}
		if e.Up {
			d.Reset()
		}
		h.readings = d.Decode(nil, e.Bytes)
		all = append(all, h)
		if enough(all) {
			cancel()
		}
	})
	require.NoError(t, err)
	require.True(t, enough(all), "after %v", needs.Patience)
	return all
}

func readingsOf(all []heard) (out []wire.Reading) {
	for _, h := range all {
		out = append(out, h.readings...)
	}
	return out
}

func atLeast(n int) func([]heard) bool {
	return func(all []heard) bool { return len(readingsOf(all)) >= n }
}

// What the decoder makes of the bytes is what the generator made, reading by
// reading, and it comes at the pace of the cell.
func TestBytesThroughTheLineAreTheReadings(t *testing.T) {
	t.Parallel()
	for name, pipe := range ways {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			c := rehearse.NewWorld().Benches[0].Cell
			script := rehearse.Pulls(rehearse.Pull{At: 300 * time.Millisecond, Shape: fixedPull(3)})
			before := time.Now()
			s := start(t, rehearse.Options{Cell: c, Script: script, Seed: 5, Pipe: pipe})
			after := time.Now()
			all := follow(t, s, c.Wire, atLeast(2500))
			got := readingsOf(all)[100:] // while a device is being opened, its driver may throw bytes away
			first := int(got[0].Tick / 1000)
			want := samples(t, c, script, 5, first+len(got))
			for i, r := range got {
				require.Equal(t, uint32(first+i)*1000, r.Tick)
				require.Equal(t, want[first+i].Raw, r.Raw, "reading %d", first+i)
				require.Zero(t, r.Mark)
			}
			behind := math.Inf(1)
			for _, h := range all {
				if n := len(h.readings); n > 0 {
					last := float64(h.readings[n-1].Tick) / 1e6
					behind = min(behind, h.at.Sub(after).Seconds()-last)
					require.GreaterOrEqual(t, h.at.Sub(before).Seconds()*(1+40e-6), last, "a reading came before it was taken")
				}
			}
			require.Less(t, behind, 1.0, "the cell is far behind the clock, and stays there")
		})
	}
}

func TestTextLinesThroughTheLineAreTheReadings(t *testing.T) {
	t.Parallel()
	c := rehearse.NewWorld().Benches[1].Cell
	c.Rate = 500
	c.Wire.Text.SeqColumn = 2
	c.Wire.Text.Column = 1
	script := rehearse.Pulls(rehearse.Pull{At: 100 * time.Millisecond, Shape: fixedPull(6)}) // beyond the ceiling
	s := start(t, rehearse.Options{Cell: c, Script: script, Seed: 5})
	got := readingsOf(follow(t, s, c.Wire, atLeast(600)))[50:]
	want := samples(t, c, script, 5, 5000)
	first := -1
	for i := range want { // lines carry no time: find where the reader came in
		if match(want[i:], got) {
			first = i
			break
		}
	}
	assert.GreaterOrEqual(t, first, 0, "the readings are not a stretch of what the generator makes")
}

func match(want []rehearse.Sample, got []wire.Reading) bool {
	for i, r := range got {
		switch {
		case i >= len(want) || r.Mark&3 != 0 != (want[i].Mark != 0):
			return false
		case r.Mark == 0 && r.Raw != want[i].Raw:
			return false
		}
	}
	return true
}

// fast sends 42 kB/s.
func fast() rehearse.Cell {
	c := quietCell()
	c.Rate, c.PerFrame, c.Noise = 10000, 50, 20
	return c
}

func TestDamageIsAsAskedAndNeverAccepted(t *testing.T) {
	t.Parallel()
	const rate = 0.001
	script := rehearse.Pulls(rehearse.Pull{At: 100 * time.Millisecond, Shape: fixedPull(3)})
	s := start(t, rehearse.Options{Cell: fast(), Script: script, Seed: 9, Faults: rehearse.Faults{Damage: rate, Drop: rate}})
	got := readingsOf(follow(t, s, fast().Wire, atLeast(20000)))
	require.NoError(t, s.Close())
	st := s.Stats()
	made := float64(st.Sent + st.Unread + st.Dropped)
	for what, n := range map[string]int64{"damaged": st.Damaged, "dropped": st.Dropped} {
		assert.InDelta(t, rate*made, n, 6*3+6*0.001*made/10, what) // beyond five standard deviations
	}
	last := got[len(got)-1].Tick / 100
	want := samples(t, fast(), script, 9, int(last)+1)
	for _, r := range got {
		require.Equal(t, want[r.Tick/100].Raw, r.Raw)
	}
	assert.Less(t, len(got), int(last), "some frames must have been refused")
}

func TestReaderMayGoAndComeBack(t *testing.T) {
	t.Parallel()
	for name, pipe := range ways {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			c := quietCell()
			s := start(t, rehearse.Options{Cell: c, Pipe: pipe})
			first := readingsOf(follow(t, s, c.Wire, atLeast(200)))
			lostBefore := s.Stats().Unread
			require.Eventually(t, func() bool { return s.Stats().Unread > lostBefore+2000 }, needs.Patience, 10*time.Millisecond,
				"bytes that nobody reads are lost")
			// What the system still held of the time before comes first; then all
			// that was sent while nobody was there is missing.
			last := first[len(first)-1].Tick
			beyond := func(all []heard) bool {
				before := last
				for _, r := range readingsOf(all) {
					if r.Tick-before > 300e3 {
						return true
					}
					before = r.Tick
				}
				return false
			}
			follow(t, s, c.Wire, beyond)
		})
	}
}

// A reader that has the device open and does not read must not stop the cell.
func TestCellNeverWaitsForItsReader(t *testing.T) {
	t.Parallel()
	s := start(t, rehearse.Options{Cell: fast()})
	f, err := os.OpenFile(s.Path, os.O_RDWR, 0)
	require.NoError(t, err)
	defer f.Close()
	require.Eventually(t, func() bool { return s.Stats().Sent > 0 }, needs.Patience, time.Millisecond)
	opened := s.Stats()
	require.Eventually(t, func() bool { return s.Stats().Unread > opened.Unread+20000 }, needs.Patience, 10*time.Millisecond)
	full := s.Stats()
	assert.Less(t, full.Sent, int64(200e3), "a line holds little")
	require.Eventually(t, func() bool { return s.Stats().Readings > full.Readings+5000 }, needs.Patience, 10*time.Millisecond, "the cell goes on")
}

// A cell with flow control waits for a reader who does not read, and loses nothing.
func TestCellWithFlowControlWaitsForItsReader(t *testing.T) {
	t.Parallel()
	s := start(t, rehearse.Options{Cell: fast(), Holds: true})
	f, err := os.OpenFile(s.Path, os.O_RDWR, 0)
	require.NoError(t, err)
	defer f.Close()
	held := int64(-1)
	require.Eventually(t, func() bool {
		before := held
		held = s.Stats().Readings
		return held > 500 && held == before // ten thousand a second would have come
	}, needs.Patience, 100*time.Millisecond, "it sends on")
	require.NoError(t, f.Close())
	all := readingsOf(follow(t, s, fast().Wire, atLeast(20000)))
	for i := range all[1:] {
		require.Equal(t, all[i].Tick+100, all[i+1].Tick, "reading %d", i+1)
	}
	assert.Zero(t, s.Stats().Unread)
}

// The plug is out again and again, so that a reader who comes late sees it go and
// come too.
func TestUnplugAndReplug(t *testing.T) {
	t.Parallel()
	const out = 500 * time.Millisecond
	for name, pipe := range ways {
		for _, keeps := range []bool{false, true} {
			t.Run(name, func(t *testing.T) {
				t.Parallel()
				c := quietCell()
				var f rehearse.Faults
				for at := 400 * time.Millisecond; at < needs.Patience; at += 2 * time.Second {
					f.Outages = append(f.Outages, rehearse.Outage{At: at, For: out, KeepsPower: keeps})
				}
				s := start(t, rehearse.Options{Cell: c, Pipe: pipe, Faults: f})
				path := s.Path
				var was, is []wire.Reading
				follow(t, s, c.Wire, func(all []heard) bool {
					if len(was) < 100 || len(is) < 100 {
						was, is = aroundOutage(all)
					}
					return len(was) >= 100 && len(is) >= 100
				})
				assert.Equal(t, path, s.Path)
				goneOn := was[len(was)-1].Tick + uint32(out.Microseconds())*9/10
				if keeps {
					assert.Greater(t, is[0].Tick, goneOn, "it went on counting")
				} else {
					assert.Less(t, is[0].Tick, goneOn, "it began again")
				}
			})
		}
	}
}

// aroundOutage are the readings before and after the line was opened for the
// latest time.
func aroundOutage(all []heard) (before, after []wire.Reading) {
	var now []wire.Reading
	for _, h := range all {
		if h.up {
			before, now = now, nil
		}
		now = append(now, h.readings...)
	}
	return before, now
}

func TestRestartBeginsTickAndSequenceAgain(t *testing.T) {
	t.Parallel()
	c := quietCell()
	s := start(t, rehearse.Options{Cell: c, Faults: rehearse.Faults{Restarts: []time.Duration{500 * time.Millisecond}}})
	all := readingsOf(follow(t, s, c.Wire, atLeast(900)))
	back := 0
	for i := 1; i < len(all); i++ {
		if all[i].Tick < all[i-1].Tick {
			back++
			assert.Zero(t, all[i].Tick)
			assert.Equal(t, uint32(499e3), all[i-1].Tick)
		}
	}
	assert.Equal(t, 1, back)
}

func TestNothingIsLeftBehind(t *testing.T) {
	t.Parallel()
	s := start(t, rehearse.Options{Cell: quietCell()})
	_, err := os.Stat(s.Path)
	require.NoError(t, err)
	require.NoError(t, s.Close())
	_, err = os.Stat(filepath.Dir(s.Path))
	require.ErrorIs(t, err, os.ErrNotExist)
}

func TestSaysHowBytesTravel(t *testing.T) {
	t.Parallel()
	real := start(t, rehearse.Options{Cell: quietCell()})
	assert.Contains(t, real.Note(), "pseudo-terminal at "+real.Path)
	pipe := start(t, rehearse.Options{Cell: quietCell(), Pipe: true})
	assert.False(t, pipe.Real())
	assert.Contains(t, pipe.Note(), "pipe within this program")
}

func TestAnnouncesWhatIsRigged(t *testing.T) {
	t.Parallel()
	var mu sync.Mutex
	var told []string
	hold := rehearse.Proof{Level: 10e3, Ramp: 0.1, Hold: 0.1, Release: 0.1}
	s := start(t, rehearse.Options{
		Cell: quietCell(), Script: rehearse.Pulls(
			rehearse.Pull{At: 100 * time.Millisecond, Name: "first", Shape: hold},
			rehearse.Pull{At: 600 * time.Millisecond, Name: "second", Shape: hold}),
		Announce: func(p rehearse.Pull) { mu.Lock(); told = append(told, p.Name); mu.Unlock() },
	})
	require.Eventually(t, func() bool { return s.Stats().Readings > 1000 }, needs.Patience, 10*time.Millisecond)
	mu.Lock()
	defer mu.Unlock()
	assert.Equal(t, []string{"first", "second"}, told)
}

// A script that goes wrong later ends the session, and Close says why.
func TestBrokenScriptEndsTheSession(t *testing.T) {
	t.Parallel()
	s, err := rehearse.Start(context.Background(), rehearse.Options{Cell: quietCell(), Pipe: true, Script: rehearse.Pulls(
		rehearse.Pull{Shape: rehearse.Proof{Level: 1, Ramp: 0.05, Hold: 0.05, Release: 0.05}}, rehearse.Pull{Name: "odd one", Shape: rehearse.Kinetic{}},
	)})
	require.NoError(t, err)
	require.Eventually(t, func() bool { return s.Stats().Readings > 100 }, needs.Patience, 10*time.Millisecond)
	select {
	case <-s.Done():
	case <-time.After(needs.Patience):
		require.Fail(t, "the session goes on")
	}
	err = s.Close()
	require.ErrorContains(t, err, "odd one")
	require.False(t, errors.Is(err, context.Canceled))
}
