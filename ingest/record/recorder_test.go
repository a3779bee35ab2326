package record

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tautlog/calc/calibrate"
	"tautlog/calc/words"
	"tautlog/ingest/port"
	"tautlog/ingest/store"
	"tautlog/ingest/wire"
)

// The tests in this file run in a bubble of virtual time, where a serial line
// and a disk cannot be: the line is a channel of events, the disk a slice.
// A real disk that is full is in full_linux_test.go; real lines, and a daemon
// that is killed, are tested in package watch.

// slate keeps readings in memory, with the virtual time at which they came.
type slate struct {
	mu    sync.Mutex
	raw   map[int64][]int64
	at    map[int64][]time.Time
	err   error
	takes time.Duration
	bad   func(store.Run) bool // is refused for good
	folds int
}

func newSlate() *slate { return &slate{raw: map[int64][]int64{}, at: map[int64][]time.Time{}} }

func (s *slate) Append(_ context.Context, runs []store.Run) error {
	time.Sleep(s.takes)
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.err != nil {
		return s.err
	}
	for _, r := range runs {
		if s.bad != nil && s.bad(r) {
			return fmt.Errorf("run at %d: %w", r.Start, store.ErrOverlap)
		}
	}
	for _, r := range runs {
		for _, x := range r.Raw {
			s.raw[r.Cell] = append(s.raw[r.Cell], x)
			s.at[r.Cell] = append(s.at[r.Cell], time.Now())
		}
	}
	return nil
}

func (s *slate) Fold(context.Context, int64) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.folds++
	return 1, nil
}

func (s *slate) Span(context.Context, int64) (int64, int64, int64, error) { return 0, 0, 0, nil }

func (s *slate) fail(err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.err = err
}

// bench is a recorder of one or two packed cells in a bubble.
type bench struct {
	t     *testing.T
	slate *slate
	rec   *Recorder
	lines map[string]chan port.Event
	sent  map[string]*source
	stop  context.CancelFunc
	ended chan error
}

// source counts up: reading n has the value n.
type source struct {
	seq     uint16
	n       int
	mu      sync.Mutex
	arrived []time.Time
}

func (s *source) arrival(n int64) time.Time {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.arrived[n]
}

const (
	rate     = 1000
	perFrame = 10
)

func newBench(t *testing.T, s *slate, hold int, names ...string) *bench {
	b := &bench{t: t, slate: s, lines: map[string]chan port.Event{}, sent: map[string]*source{}, ended: make(chan error, 1)}
	var cells []store.Cell
	for i, n := range names {
		b.lines[n], b.sent[n] = make(chan port.Event), &source{}
		cells = append(cells, store.Cell{
			ID: int64(i + 1), Name: n, Line: port.Line{Path: n}, Rate: rate,
			Wire:  wire.Config{Format: wire.Packed},
			Curve: calibrate.Curve{Coefficients: []float64{0, 2}},
		})
	}
	b.rec = New(Config{Store: s, Cells: cells, Hold: hold, Follow: b.follow})
	ctx, stop := context.WithCancel(t.Context())
	b.stop = stop
	go func() { b.ended <- b.rec.Run(ctx) }()
	for _, n := range names {
		b.lines[n] <- port.Event{At: time.Now(), Up: true}
	}
	return b
}

func (b *bench) follow(ctx context.Context, l port.Line, handle func(port.Event)) error {
	if l.Path == "" {
		return errors.New("no serial port given")
	}
	for {
		select {
		case <-ctx.Done():
			return nil
		case e := <-b.lines[l.Path]:
			handle(e)
		}
	}
}

// send sends frames for a time, in real pace.
func (b *bench) send(name string, d time.Duration) {
	s := b.sent[name]
	for end := time.Now().Add(d); time.Now().Before(end); {
		time.Sleep(perFrame * time.Second / rate)
		f := wire.Frame{Seq: s.seq, Tick: uint32(s.n * 1e6 / rate), Interval: 1e6 / rate, Readings: make([]int32, perFrame)}
		s.mu.Lock()
		for i := range f.Readings {
			f.Readings[i] = int32(s.n)
			s.n++
			s.arrived = append(s.arrived, time.Now())
		}
		s.mu.Unlock()
		s.seq++
		b.lines[name] <- port.Event{At: time.Now(), Bytes: wire.AppendFrame(nil, f)}
	}
}

func (b *bench) finish() error {
	b.stop()
	err := <-b.ended
	synctest.Wait()
	return err
}

// counting is 0, 1, 2 … as stored.
func counting(from, n int) []int64 {
	raw := make([]int64, n)
	for i := range raw {
		raw[i] = int64(from + i)
	}
	return raw
}

func TestReadingsAreOnDiskInTime(t *testing.T) {
	t.Parallel()
	for _, takes := range []time.Duration{0, 5 * time.Millisecond, 40 * time.Millisecond, 80 * time.Millisecond} {
		synctest.Test(t, func(t *testing.T) {
			s := newSlate()
			s.takes = takes
			b := newBench(t, s, 0, "a", "b")
			go b.send("b", 10*time.Second)
			b.send("a", 10*time.Second)
			time.Sleep(time.Second)
			synctest.Wait()
			for id, name := range map[int64]string{1: "a", 2: "b"} {
				require.Equal(t, counting(0, 10000), s.raw[id], "before the end already")
				var worst time.Duration
				for i, at := range s.at[id] {
					worst = max(worst, at.Sub(b.sent[name].arrival(int64(i))))
				}
				assert.LessOrEqual(t, worst, 250*time.Millisecond, "commits of %v", takes)
			}
			require.NoError(t, b.finish())
		})
	}
}

func TestALoneFrameIsNotHeldBackForLong(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		s := newSlate()
		b := newBench(t, s, 0, "a")
		sub := b.rec.Subscribe()
		b.send("a", 10*time.Millisecond)
		time.Sleep(250 * time.Millisecond)
		synctest.Wait()
		require.Equal(t, counting(0, 10), s.raw[1])
		assert.LessOrEqual(t, s.at[1][0].Sub(b.sent["a"].arrival(0)), 250*time.Millisecond)
		require.NoError(t, b.finish())
		n := 0
		for a := range sub.C {
			if a.Readings != nil {
				n += a.Readings.Len()
			}
		}
		assert.Equal(t, 10, n)
	})
}

func TestRunReturnsWhenEverythingIsWritten(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		s := newSlate()
		s.takes = 100 * time.Millisecond
		b := newBench(t, s, 0, "a")
		sub := b.rec.Subscribe()
		b.send("a", 1030*time.Millisecond)
		require.NoError(t, b.finish())
		assert.Equal(t, counting(0, 1030), s.raw[1])
		assert.Equal(t, 1, s.folds, "folded at the end")
		var announced []int64
		for a := range sub.C { // closed by the end of the recorder
			if a.Readings != nil {
				announced = append(announced, a.Readings.Raw...)
				for i, raw := range a.Readings.Raw {
					assert.Equal(t, float64(2*raw), a.Readings.F[i], "by the curve")
				}
			}
		}
		assert.Equal(t, counting(0, 1030), announced)
		_, open := <-b.rec.Subscribe().C
		assert.False(t, open, "subscribed after the end")
	})
}

func TestSilenceIsSaid(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		b := newBench(t, newSlate(), 0, "River-1")
		b.send("River-1", time.Second)
		assert.Empty(t, b.rec.Statuses()[0].Problem)
		sub := b.rec.Subscribe()
		quiet := time.Now()
		time.Sleep(4500 * time.Millisecond)
		s := b.rec.Statuses()[0]
		assert.True(t, s.Up)
		assert.Equal(t, quiet, s.Since)
		assert.Equal(t, "No reading from cell River-1 for 4 s. Check the plug at the amplifier. Recording continues when it returns; the gap is kept.", s.Problem)
		a := <-sub.C
		for a.Status == nil {
			a = <-sub.C
		}
		assert.Contains(t, a.Status.Problem, "No reading from cell River-1 for 3 s.")
		b.send("River-1", 50*time.Millisecond)
		assert.Empty(t, b.rec.Statuses()[0].Problem)
		require.NoError(t, b.finish())
		var last *Status
		for a := range sub.C {
			if a.Status != nil {
				last = a.Status
			}
		}
		assert.Empty(t, last.Problem, "its end is announced")
	})
}

func TestBytesThatAreNoReadingsAreSaid(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		b := newBench(t, newSlate(), 0, "River-1")
		for range 50 {
			time.Sleep(100 * time.Millisecond)
			b.lines["River-1"] <- port.Event{At: time.Now(), Bytes: []byte("garbage\x00")}
		}
		synctest.Wait()
		s := b.rec.Statuses()[0]
		assert.Contains(t, s.Problem, "Cell River-1 sends, but for 5 s nothing that can be read: 49 lines or frames refused, the latest")
		assert.EqualValues(t, 49, s.Decode.Rejected, "the first may have begun before")
		require.NoError(t, b.finish())
	})
}

func TestALineThatGoesAwayIsSaid(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		b := newBench(t, newSlate(), 0, "River-1")
		b.send("River-1", time.Second)
		gone := time.Now()
		b.lines["River-1"] <- port.Event{At: gone, Down: &port.Problem{Line: port.Line{Path: "/dev/ttyUSB0"}, Kind: port.Gone}}
		time.Sleep(10 * time.Second)
		s := b.rec.Statuses()[0]
		assert.False(t, s.Up)
		assert.Equal(t, gone, s.Since)
		assert.Equal(t, "Cell River-1: the device at /dev/ttyUSB0 went away: check plug, cable and power; it is taken up again when it is back. Recording continues when it returns; the gap is kept.", s.Problem)
		b.lines["River-1"] <- port.Event{At: time.Now(), Up: true}
		b.sent["River-1"].n += 10000
		b.send("River-1", time.Second)
		s = b.rec.Statuses()[0]
		assert.True(t, s.Up)
		assert.Empty(t, s.Problem)
		require.NoError(t, b.finish())
	})
}

func TestALineThatCannotBeFollowedIsSaid(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		r := New(Config{
			Store: newSlate(), Cells: []store.Cell{{ID: 1, Name: "River-1", Wire: wire.Config{Format: wire.Packed}}},
			Follow: func(context.Context, port.Line, func(port.Event)) error { return errors.New("no serial port given") },
		})
		ctx, stop := context.WithCancel(t.Context())
		ended := make(chan error, 1)
		go func() { ended <- r.Run(ctx) }()
		synctest.Wait()
		assert.Contains(t, r.Statuses()[0].Problem, "Recording of cell River-1 has stopped: no serial port given.")
		stop()
		require.NoError(t, <-ended)
	})
}

func TestADiskThatRefusesCostsNothingUpToTheBound(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		s := newSlate()
		b := newBench(t, s, 20000, "a")
		b.send("a", 2*time.Second)
		s.fail(fmt.Errorf("writing: %w", store.ErrFull))
		b.send("a", 10*time.Second)
		st := b.rec.Statuses()[0]
		assert.InDelta(t, 10000, st.Held, 1300)
		assert.Contains(t, st.Problem, "The disk takes no readings (writing: the disk is full):")
		assert.Contains(t, st.Problem, "Make room on the disk; what is held is then written.")
		assert.Regexp(t, `there is room for (9|10|11) s more`, st.Problem)
		s.fail(nil)
		b.send("a", 3*time.Second)
		st = b.rec.Statuses()[0]
		assert.Zero(t, st.Held)
		assert.Zero(t, st.Lost)
		assert.Empty(t, st.Problem)
		require.NoError(t, b.finish())
		assert.Equal(t, counting(0, 15000), s.raw[1])
	})
}

func TestBeyondTheBoundTheOldestGoAndThatIsSaid(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		s := newSlate()
		b := newBench(t, s, 5000, "a")
		b.send("a", 2*time.Second)
		s.fail(store.ErrFull)
		b.send("a", 10*time.Second)
		s.fail(nil)
		b.send("a", 3*time.Second)
		st := b.rec.Statuses()[0]
		require.NoError(t, b.finish())
		kept := s.raw[1]
		lost := 15000 - len(kept)
		assert.InDelta(t, 5000, lost, 1300)
		assert.Equal(t, lost, st.Lost)
		before := 0
		for before < len(kept) && kept[before] == int64(before) {
			before++
		}
		assert.InDelta(t, 2000, before, 250)
		assert.Equal(t, counting(before+lost, 15000-before-lost), kept[before:], "all that are newer are there")
		from, to := time.Unix(0, epochOf(b)+int64(before)*1e6).UTC(), time.Unix(0, epochOf(b)+int64(before+lost-1)*1e6).UTC()
		assert.Contains(t, st.Problem, fmt.Sprintf("%d readings of cell a, from %s to %s UTC, could not be kept: the disk is full.",
			words.Number(lost), from.Format("15:04:05.000"), to.Format("15:04:05.000")))
	})
}

// epochOf is the time of the first reading: with a line that delays nothing,
// one frame less one reading before the first arrival.
func epochOf(b *bench) int64 {
	return b.sent["a"].arrival(0).UnixNano() - (perFrame-1)*1e6
}

func TestADiskThatRefusesToTheEndIsAnError(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		s := newSlate()
		b := newBench(t, s, 0, "a")
		s.fail(store.ErrFull)
		b.send("a", 2*time.Second)
		err := b.finish()
		require.ErrorIs(t, err, store.ErrFull)
		assert.ErrorContains(t, err, "2,000 readings")
	})
}

func TestARunThatTheStoreNeverTakesHoldsUpNothing(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		s := newSlate()
		s.bad = func(r store.Run) bool { return r.Cell == 2 }
		b := newBench(t, s, 0, "a", "b")
		go b.send("b", 2*time.Second)
		b.send("a", 2*time.Second)
		time.Sleep(time.Second)
		synctest.Wait()
		assert.Equal(t, counting(0, 2000), s.raw[1])
		st := b.rec.Statuses()
		assert.Empty(t, st[0].Problem)
		assert.Equal(t, 2000, st[1].Lost)
		assert.Contains(t, st[1].Problem, "could not be kept")
		require.NoError(t, b.finish())
	})
}

func TestASlowSubscriberLosesTheOldestAndIsTold(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		b := newBench(t, newSlate(), 0, "a")
		quick, slow := 0, b.rec.Subscribe()
		stop := b.rec.Observe(func(a Announcement) { quick++ })
		b.send("a", 20*time.Second)
		stop()
		require.NoError(t, b.finish())
		got, missed := 0, 0
		var next int64
		for a := range slow.C {
			got, missed = got+1, missed+a.Missed
			if a.Readings != nil {
				assert.True(t, next == 0 || a.Readings.Raw[0] == next, "nothing is missing within what is there")
				next = a.Readings.Raw[len(a.Readings.Raw)-1] + 1
			}
		}
		assert.Equal(t, backlog, got)
		assert.InDelta(t, quick, got+missed, 2, "the status at the start may come before the observer, the last after it")
		assert.EqualValues(t, 20000, next, "the latest are there")
	})
}

func TestReadingsAreAnnouncedAtOnce(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		b := newBench(t, newSlate(), 0, "a")
		var worst time.Duration
		n := 0
		stop := b.rec.Observe(func(a Announcement) {
			if a.Readings != nil && a.Readings.Raw[0] > 0 { // those first are held back for 0.1 s
				worst = max(worst, time.Since(b.sent["a"].arrival(a.Readings.Raw[0])))
				n++
			}
		})
		b.send("a", 5*time.Second)
		require.NoError(t, b.finish())
		stop()
		assert.LessOrEqual(t, worst, 20*time.Millisecond)
		assert.LessOrEqual(t, n, int(5*time.Second/announceEvery)+2, "not more than one in that time")
	})
}
