package record

import (
	"context"
	"fmt"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/calc/calibrate"
	"tautlog/ingest/port"
	"tautlog/ingest/store"
	"tautlog/ingest/wire"
)

// ports are lines of a computer, by their path; of each only one may be open.
type ports map[string]chan port.Event

func (p ports) follow(ctx context.Context, l port.Line, handle func(port.Event)) error {
	for {
		select {
		case e := <-p[l.Path]:
			handle(e)
		case <-ctx.Done():
			return nil
		}
	}
}

// say has the instrument at a port send numbers, a line each.
func (p ports) say(path string, numbers ...int64) {
	var b []byte
	for _, n := range numbers {
		b = fmt.Appendf(b, "%d\n", n)
	}
	p[path] <- port.Event{At: time.Now(), Bytes: b}
}

// plug says that a line was opened. The rest of what it sent before is left out.
func (p ports) plug(path string) {
	p[path] <- port.Event{At: time.Now(), Up: true}
	p[path] <- port.Event{At: time.Now(), Bytes: []byte("\n")}
}

func textCell(id int64, name, path string) store.Cell {
	return store.Cell{ID: id, Name: name, Line: port.Line{Path: path}, Rate: 10, Wire: wire.Config{Format: wire.Text, Text: wire.TextConfig{Column: 1, Unit: "counts"}}, Curve: calibrate.Curve{Coefficients: []float64{0, 1}}}
}

// A cell that is set while the recorder runs is recorded like the others.
func TestSetWhileRunning(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		s, p := newSlate(), ports{"one": make(chan port.Event), "two": make(chan port.Event)}
		r := New(Config{Store: s, Cells: []store.Cell{textCell(1, "A", "one")}, Follow: p.follow})
		assert.ErrorIs(t, r.Set(t.Context(), textCell(2, "B", "two")), ErrNotRunning)
		ctx, stop := context.WithCancel(t.Context())
		ended := make(chan error, 1)
		go func() { ended <- r.Run(ctx) }()
		synctest.Wait()
		require.NoError(t, r.Set(t.Context(), textCell(2, "B", "two")))
		bad := textCell(2, "B", "two")
		bad.Wire.Format = "morse"
		assert.ErrorIs(t, r.Set(t.Context(), bad), wire.ErrConfig, "and goes on as it was")
		for path := range p {
			p.plug(path)
		}
		p.say("one", 5, 6)
		p.say("two", 5, 6, 7)
		time.Sleep(500 * ms)
		synctest.Wait()
		assert.Equal(t, []int64{5, 6, 7}, s.raw[2], "on disk within the same time")
		p.say("two", 8)
		synctest.Wait()
		r.Drop(2)
		r.Drop(3)
		assert.Len(t, r.Statuses(), 1)
		require.NoError(t, r.Set(t.Context(), textCell(3, "C", "two")), "its port is free")
		p.plug("two")
		p.say("two", 9)
		time.Sleep(500 * ms)
		synctest.Wait()
		stop()
		require.NoError(t, <-ended)
		r.Drop(1)
		assert.Equal(t, []int64{5, 6}, s.raw[1])
		assert.Equal(t, []int64{5, 6, 7, 8}, s.raw[2], "what came before it was dropped")
		assert.Equal(t, []int64{9}, s.raw[3])
		assert.Len(t, r.Statuses(), 2)
		assert.ErrorIs(t, r.Set(t.Context(), textCell(3, "C", "one")), ErrNotRunning)
	})
}

// A cell moves from port to port at any moment, with a disk that refuses for a
// while: every reading that came is kept once, in its order, and announced.
func TestACellMovesAndLosesNothing(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		moves := rapid.SliceOfN(rapid.IntRange(0, 900), 1, 6).Draw(rt, "ms between moves")
		refused := rapid.IntRange(0, 5).Draw(rt, "refused from the move")
		synctest.Test(t, func(t *testing.T) {
			s, p := newSlate(), ports{"one": make(chan port.Event), "two": make(chan port.Event)}
			r := New(Config{Store: s, Cells: []store.Cell{textCell(1, "A", "one")}, Follow: p.follow})
			var announced []int64
			var times []int64
			r.Observe(func(a Announcement) {
				if a.Readings != nil {
					announced, times = append(announced, a.Readings.Raw...), append(times, a.Readings.T...)
				}
			})
			ctx, stop := context.WithCancel(t.Context())
			ended := make(chan error, 1)
			go func() { ended <- r.Run(ctx) }()
			synctest.Wait()
			p.plug("one")
			at, n, want := "one", int64(0), []int64{}
			for i, gap := range moves {
				for range gap/100 + 1 {
					n++
					want = append(want, n)
					p.say(at, n)
					time.Sleep(100 * ms)
				}
				if i == refused {
					s.fail(errNoWrite)
				}
				at = map[string]string{"one": "two", "two": "one"}[at]
				require.NoError(t, r.Set(t.Context(), textCell(1, "A", at)))
				p.plug(at)
			}
			s.fail(nil)
			stop()
			require.NoError(t, <-ended)
			synctest.Wait()
			assert.Equal(t, want, s.raw[1], "stored")
			assert.Equal(t, want, announced)
			for i := range times[1:] {
				assert.Greater(t, times[i+1], times[i], "time goes on")
			}
			require.Len(t, r.Statuses(), 1)
			assert.True(t, r.Statuses()[0].Up)
		})
	})
}
