//go:build unix

package record

import (
	"context"
	"math/rand/v2"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tautlog/calc/calibrate"
	"tautlog/ingest/port"
	"tautlog/ingest/store"
	"tautlog/ingest/wire"
)

// BenchmarkPath is the whole way of a reading into a real store: frames of
// ten are decoded, timed, laid out for the announcer and committed 250 at a
// time, four transactions a second of one 1 kHz cell, and folded.
func BenchmarkPath(b *testing.B) {
	s, cell := openStore(b, b.TempDir())
	defer func() { require.NoError(b, s.Close()) }()
	cell.Rate = 1000
	r := New(Config{Store: s, Cells: []store.Cell{cell}})
	require.NoError(b, r.prepare(b.Context()))
	benchFrames(b, r, func(i int) {
		if i%250 == 0 {
			r.lines[0].publish()
			r.writer.commit()
			r.writer.fold(false)
		}
	})
	require.NoError(b, r.writer.failing)
}

// benchFrames has b.N readings of a quiet line come at 1 kHz, in frames of ten,
// with then after each.
func benchFrames(b *testing.B, r *Recorder, then func(i int)) {
	b.Helper()
	l, at := r.lines[0], time.Now()
	frames := quietFrames(1000)
	b.ReportAllocs()
	b.ResetTimer()
	for i := 0; i < b.N; i += 10 {
		at = at.Add(10 * time.Millisecond)
		l.handle(port.Event{At: at, Bytes: frames.next()})
		then(i)
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "readings/s")
}

// BenchmarkTake is the way of a reading up to the buffers: frames of ten are
// decoded, timed, and laid out for the writer and the announcer.
func BenchmarkTake(b *testing.B) {
	r := New(Config{Store: newSlate(), Cells: []store.Cell{{ID: 1, Rate: 1000,
		Wire:  wire.Config{Format: wire.Packed},
		Curve: calibrate.Curve{Coefficients: []float64{0, 1}},
	}}})
	require.NoError(b, r.prepare(b.Context()))
	l := r.lines[0]
	benchFrames(b, r, func(i int) {
		if i%20 == 0 {
			l.publish()
		}
		if i%250 == 0 {
			l.pending.take()
		}
	})
}

// BenchmarkOneCell records one cell at 1 kHz in real time into a real store,
// a second an iteration, and tells the share of one core that takes.
func BenchmarkOneCell(b *testing.B) {
	s, cell := openStore(b, b.TempDir())
	defer func() { require.NoError(b, s.Close()) }()
	cell.Rate = 1000
	r := New(Config{Store: s, Cells: []store.Cell{cell}, Follow: func(ctx context.Context, _ port.Line, handle func(port.Event)) error {
		frames := quietFrames(1000)
		handle(port.Event{At: time.Now(), Up: true})
		tick := time.NewTicker(10 * time.Millisecond)
		defer tick.Stop()
		for {
			select {
			case <-ctx.Done():
				return nil
			case <-tick.C:
				handle(port.Event{At: time.Now(), Bytes: frames.next()})
			}
		}
	}})
	ctx, stop := context.WithCancel(b.Context())
	ended := make(chan error, 1)
	go func() { ended <- r.Run(ctx) }()
	before := cpu()
	b.ResetTimer()
	for range b.N {
		time.Sleep(time.Second)
	}
	b.ReportMetric(100*(cpu()-before).Seconds()/b.Elapsed().Seconds(), "%core")
	stop()
	require.NoError(b, <-ended)
}

func cpu() time.Duration {
	var u syscall.Rusage
	_ = syscall.Getrusage(syscall.RUSAGE_SELF, &u)
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// frames makes packed frames of ten readings of a quiet line.
type frames struct {
	f    wire.Frame
	step uint32
	rng  *rand.Rand
	b    []byte
}

func quietFrames(rate int) *frames {
	interval := uint16(1e6 / rate)
	return &frames{
		f:    wire.Frame{Interval: interval, Readings: make([]int32, 10)},
		step: uint32(interval) * 10, rng: rand.New(rand.NewPCG(1, 2)),
	}
}

func (f *frames) next() []byte {
	for i := range f.f.Readings {
		f.f.Readings[i] = int32(f.rng.NormFloat64() * 5)
	}
	f.b = wire.AppendFrame(f.b[:0], f.f)
	f.f.Seq++
	f.f.Tick += f.step
	return f.b
}
