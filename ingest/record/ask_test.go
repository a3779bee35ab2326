package record

import (
	"context"
	"errors"
	"math/rand/v2"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/trace"
	"tautlog/calc/calibrate"
	"tautlog/ingest/port"
	"tautlog/ingest/store"
	"tautlog/ingest/wire"
)

// answering is a recorder of one cell that is asked, in a bubble of virtual
// time, and what it made of the answers.
type answering struct {
	t      testing.TB
	rec    *Recorder
	events chan port.Event
	// answer is what comes of the n-th thing that is sent, each after its
	// delay.
	answer func(n int, sent string) []reply

	mu    sync.Mutex
	sent  []string
	when  []time.Time
	got   Readings
	stop  context.CancelFunc
	ended chan error

	replies sync.WaitGroup
	over    chan struct{}
}

type reply struct {
	after time.Duration
	bytes string
}

func newAnswering(t testing.TB, c wire.Config, rate float64, answer func(n int, sent string) []reply) *answering {
	b := &answering{t: t, events: make(chan port.Event), answer: answer, ended: make(chan error, 1), over: make(chan struct{})}
	cell := store.Cell{ID: 1, Name: "River-1", Line: port.Line{Path: "x", Baud: 19200}, Wire: c, Rate: rate, Curve: calibrate.Curve{Coefficients: []float64{0, 1}}}
	b.rec = New(Config{Store: newSlate(), Cells: []store.Cell{cell}, Follow: b.follow})
	b.rec.Observe(func(a Announcement) {
		if r := a.Readings; r != nil {
			b.mu.Lock()
			defer b.mu.Unlock()
			for i := range r.T {
				b.got.T, b.got.Raw, b.got.F = append(b.got.T, r.T[i]), append(b.got.Raw, r.Raw[i]), append(b.got.F, r.F[i])
				var m trace.Mark
				if r.Marks != nil {
					m = r.Marks[i]
				}
				b.got.Marks = append(b.got.Marks, m)
			}
		}
	})
	ctx, stop := context.WithCancel(context.Background())
	b.stop = stop
	go func() { b.ended <- b.rec.Run(ctx) }()
	return b
}

func (b *answering) follow(ctx context.Context, _ port.Line, handle func(port.Event)) error {
	handle(port.Event{At: time.Now(), Up: true, Send: b.send})
	for {
		select {
		case e := <-b.events:
			handle(e)
		case <-ctx.Done():
			return nil
		}
	}
}

func (b *answering) send(p []byte) error {
	b.mu.Lock()
	n := len(b.sent)
	b.sent, b.when = append(b.sent, string(p)), append(b.when, time.Now())
	b.mu.Unlock()
	for _, r := range b.answer(n, string(p)) {
		b.replies.Go(func() {
			time.Sleep(r.after)
			select {
			case b.events <- port.Event{At: time.Now(), Bytes: []byte(r.bytes)}:
			case <-b.over:
			}
		})
	}
	return nil
}

// after lets time pass, ends the recorder and gives its last status.
func (b *answering) after(d time.Duration) Status {
	time.Sleep(d)
	synctest.Wait()
	s := b.rec.Statuses()[0]
	b.stop()
	require.NoError(b.t, <-b.ended)
	close(b.over)
	b.replies.Wait()
	return s
}

const ms = time.Millisecond

func modbusCell(every, timeout float64) wire.Config {
	return wire.Config{
		Format: wire.Modbus, Modbus: wire.ModbusConfig{Address: 1, Type: "int16", Unit: "counts"},
		Ask: wire.Ask{Every: every, Timeout: timeout},
	}
}

func answerOf(c wire.Config, raw int64) string {
	return string(wire.AppendAnswer(nil, c.Modbus, c.Modbus.Bits(raw)))
}

// An instrument that looks at its load at some moment between request and
// answer: each reading's time is within half of that, and is told to be.
func TestAskedReadingsHaveTheMiddleOfRequestAndAnswer(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		every := rapid.SampledFrom([]float64{0, 10, 50, 200}).Draw(rt, "every, ms")
		most := rapid.IntRange(1, 30).Draw(rt, "answers take up to, ms")
		random := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 1))
		synctest.Test(t, func(t *testing.T) {
			c := modbusCell(every, 100)
			var truth []time.Time
			b := newAnswering(t, c, 0, func(n int, _ string) []reply {
				took := time.Duration(random.Int64N(int64(most) * int64(ms)))
				truth = append(truth, time.Now().Add(time.Duration(random.Int64N(int64(took)+1))))
				return []reply{{took, answerOf(c, int64(n))}}
			})
			s := b.after(10 * time.Second)
			require.NotEmpty(t, b.got.T)
			assert.Zero(t, s.Asked.Missed)
			assert.LessOrEqual(t, s.Asked.Within, time.Duration(most)*ms/2+ms)
			for i, at := range b.got.T {
				require.Equal(t, int64(i), b.got.Raw[i], "no answer is left out")
				off := time.Unix(0, at).Sub(truth[i])
				// A quantum of the grid comes on top.
				require.LessOrEqual(t, off.Abs(), time.Duration(most)*ms/2+1200*time.Microsecond, "reading %d", i)
			}
		})
	})
}

func TestAskedAtAnEvenPace(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		c := modbusCell(50, 100)
		b := newAnswering(t, c, 20, func(n int, _ string) []reply {
			return []reply{{7 * ms, answerOf(c, int64(n))}}
		})
		s := b.after(5*time.Second + 60*ms)
		assert.Len(t, b.sent, 101)
		assert.Equal(t, uint64(101), s.Asked.Requests)
		for i := 1; i < len(b.when); i++ {
			assert.Equal(t, 50*ms, b.when[i].Sub(b.when[i-1]))
		}
		for i := 1; i < len(b.got.T); i++ {
			assert.InDelta(t, 50e6, b.got.T[i]-b.got.T[i-1], 1e3)
		}
		assert.Equal(t, 3500*time.Microsecond, s.Asked.Within)
	})
}

// What goes wrong with one answer costs that reading, leaves a gap, and
// nothing that was not an answer to its own request becomes a reading.
func TestAnswersThatGoWrong(t *testing.T) {
	t.Parallel()
	c := modbusCell(20, 60)
	good := func(n int) string { return answerOf(c, int64(n)) }
	damaged := []byte(good(5))
	damaged[4] ^= 1
	cases := map[string]struct {
		fifth   []reply
		refused uint64
		late    uint64
	}{
		"none":                     {nil, 0, 0},
		"wrong CRC":                {[]reply{{5 * ms, string(damaged)}}, 1, 0},
		"cut off":                  {[]reply{{5 * ms, good(5)[:4]}}, 0, 0},
		"late":                     {[]reply{{100 * ms, good(5)}}, 0, 1},
		"half of it late":          {[]reply{{5 * ms, good(5)[:4]}, {100 * ms, good(5)[4:]}}, 0, 1},
		"an exception":             {[]reply{{5 * ms, "\x01\x83\x06\xc1\x32"}}, 1, 0},
		"of another instrument":    {[]reply{{5 * ms, answerOf(wire.Config{Modbus: wire.ModbusConfig{Address: 9, Type: "int16"}}, 5)}}, 1, 0},
		"in pieces, in time":       {[]reply{{5 * ms, good(5)[:2]}, {40 * ms, good(5)[2:]}}, 0, 0},
		"after the request echoed": {[]reply{{2 * ms, string(c.Request()) + good(5)}}, 0, 0},
		"twice":                    {[]reply{{5 * ms, good(5) + good(5)}}, 0, 1},
	}
	for what, k := range cases {
		t.Run(what, func(t *testing.T) {
			t.Parallel()
			synctest.Test(t, func(t *testing.T) {
				b := newAnswering(t, c, 50, func(n int, _ string) []reply {
					if n == 5 {
						return k.fifth
					}
					return []reply{{5 * ms, good(n)}}
				})
				s := b.after(time.Second)
				has := false
				for i, raw := range b.got.Raw {
					has = has || raw == 5
					if i == 0 {
						continue
					}
					step := b.got.T[i] - b.got.T[i-1]
					if raw == b.got.Raw[i-1]+1 && (raw < 5 || raw > 7) {
						assert.InDelta(t, 20e6, step, 2e6, "reading %d", raw)
					}
					if raw-b.got.Raw[i-1] == 2 {
						assert.Equal(t, int64(6), raw)
						assert.Equal(t, trace.Lost, b.got.Marks[i])
						assert.InDelta(t, 160e6, step, 1e6, "asked again when nothing can come of it any more")
					}
				}
				missed := uint64(1)
				if has {
					missed = 0
				}
				assert.Equal(t, missed, s.Asked.Missed)
				assert.Equal(t, k.late, s.Asked.Late)
				assert.Equal(t, k.refused, s.Decode.Rejected)
			})
		})
	}
}

func TestAnExceptionIsTold(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		b := newAnswering(t, modbusCell(100, 50), 10, func(int, string) []reply {
			return []reply{{5 * ms, "\x01\x83\x02\xc0\xf1"}}
		})
		s := b.after(6 * time.Second)
		assert.Regexp(t, `^Cell River-1 answers, but for [56] s with no reading. The instrument answers with exception 2: it has no such register`, s.Problem)
	})
}

func TestNoAnswerIsTold(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		b := newAnswering(t, modbusCell(100, 50), 10, func(int, string) []reply { return nil })
		s := b.after(6 * time.Second)
		assert.Regexp(t, `^Cell River-1 has not answered for [56] s, though it is asked. Check the plug`, s.Problem)
	})
}

func pollCell() wire.Config {
	return wire.Config{
		Format: wire.Text, Text: wire.TextConfig{Column: 1, Unit: "counts"},
		Ask: wire.Ask{Start: `\x1bP`, Poll: `W\r`, Echo: true, Every: 50, Timeout: 100},
	}
}

// A text cell that answers only when asked: half an answer that never ends
// does not run into the next.
func TestPolledLines(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		b := newAnswering(t, pollCell(), 20, func(n int, sent string) []reply {
			switch {
			case sent != "W\r":
				return nil
			case n == 4:
				return []reply{{5 * ms, "W\r\n12"}}
			}
			return []reply{{3 * ms, sent}, {9 * ms, "34\r\n"}}
		})
		s := b.after(2 * time.Second)
		assert.Equal(t, "\x1bP", b.sent[0])
		for _, sent := range b.sent[1:] {
			assert.Equal(t, "W\r", sent)
		}
		assert.Greater(t, len(b.got.Raw), 20)
		for _, raw := range b.got.Raw {
			assert.Equal(t, int64(34), raw)
		}
		assert.Equal(t, uint64(1), s.Asked.Missed)
		assert.Zero(t, s.Decode.Rejected)
	})
}

// A stream that has to be started is started again when it has stopped.
func TestStartedAgainWhenSilent(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		c := pollCell()
		c.Ask.Poll, c.Ask.Echo = "", false
		b := newAnswering(t, c, 10, func(int, string) (stream []reply) {
			for i := range 40 { // then its power fails
				stream = append(stream, reply{time.Duration(100*i) * ms, "7\r\n"})
			}
			return stream
		})
		b.after(17 * time.Second)
		require.Len(t, b.sent, 3)
		assert.Equal(t, []string{"\x1bP", "\x1bP", "\x1bP"}, b.sent)
		assert.Greater(t, b.when[1].Sub(b.when[0]), 3900*ms+silence, "not as long as it sends")
		assert.Less(t, b.when[1].Sub(b.when[0]), 3900*ms+5*silence/4+ms)
	})
}

var errNoWrite = errors.New("no write")

// A device that takes nothing is asked again and again and nothing else comes
// of it.
func TestAskingADeviceThatTakesNothing(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		l := newLine(store.Cell{ID: 1, Name: "River-1", Line: port.Line{Path: "x"}, Wire: modbusCell(10, 50)}, New(Config{Store: newSlate()}))
		_, err := (&Recorder{cfg: Config{Store: newSlate()}}).ready(t.Context(), l)
		require.NoError(t, err)
		l.handle(port.Event{At: time.Now(), Up: true, Send: func([]byte) error { return errNoWrite }})
		time.Sleep(time.Second)
		assert.Greater(t, l.status(time.Now()).Asked.Missed, uint64(5))
		l.handle(port.Event{At: time.Now(), Down: errNoWrite})
		l.held.Stop()
		before := l.status(time.Now()).Asked
		time.Sleep(time.Second)
		assert.Equal(t, before, l.status(time.Now()).Asked, "nothing is asked on a line that is away")
	})
}
