// Package intake brings a trace that was recorded elsewhere into a store, as
// readings of a cell, with the pulls that are found in it: all of it or nothing.
package intake

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"time"

	"tautlog/analysis/trace"
	"tautlog/calc/unit"
	"tautlog/ingest/tracefile"
)

// Ask is how a trace is to be brought in.
type Ask struct {
	Columns  tracefile.Options
	Start    *time.Time // when the seconds of the trace are 0; nil where its times are dates
	Cell     string     // name of the cell; one that the store does not know is made
	Capacity unit.Force // of a cell that is made; 0 unknown
	Floor    unit.Force // above the quiet line, below which no pull begins; 0 for that of the finder
}

// What an Ask can have wrong. Each is told by whoever asked, in the words of
// where it was asked.
var (
	ErrNoStart  = errors.New("the times of the trace are seconds, and it is not said when they were 0")
	ErrDates    = errors.New("the times of the trace are dates, and need no start")
	ErrCapacity = errors.New("the cell is known, with another capacity")
)

// Trace is a trace that is to be brought in, with what was learnt of it in
// passes of their own. It is read again for its readings: they are never in
// memory together.
type Trace struct {
	Readings    int
	First, Last int64 // times of its first and last reading

	ask      Ask
	file     *tracefile.File
	kept     *os.File // its bytes, where they are in no file of a name; nil: there is one
	name     string
	origin   int64               // time at which its times are 0
	decimals *tracefile.Decimals // that its forces need; nil before the first
	perCount unit.Force          // the force of one count, by a column raw; 0 unknown
	fitted   bool                // the cell's counts were made as fine as the forces need, or as they may be
}

// Open opens the trace at path and looks through it, so that whatever is wrong
// with it is told before a store is opened. A *tracefile.Error says where. It is
// read more than once, so it must be a regular file.
func Open(ctx context.Context, path string, a Ask) (*Trace, error) {
	return open(ctx, &Trace{ask: a, name: path})
}

// OpenStream opens a trace that comes as bytes and can be read once. They are
// kept in a file without a name meanwhile, in dir ("" for that of temporary
// files). The name is what errors call it.
func OpenStream(ctx context.Context, from io.Reader, name, dir string, a Ask) (*Trace, error) {
	kept, err := keep(from, dir)
	if err != nil {
		return nil, fmt.Errorf("%s cannot be kept while it is read: %w", name, err)
	}
	return open(ctx, &Trace{ask: a, name: name, kept: kept})
}

func open(ctx context.Context, t *Trace) (_ *Trace, err error) {
	defer func() {
		if err != nil {
			err = errors.Join(err, t.Close())
		}
	}()
	if t.ask.Start != nil {
		t.origin = t.ask.Start.UnixNano()
	}
	at, raw, err := t.largestCount(ctx)
	if err != nil {
		return nil, err
	}
	if t.file, err = t.again(t.ask.Columns); err != nil {
		return nil, err
	}
	return t, t.lookThrough(ctx, at, raw)
}

// again opens the trace from its beginning.
func (t *Trace) again(columns tracefile.Options) (*tracefile.File, error) {
	if t.kept == nil {
		return tracefile.Open(t.name, nil, columns)
	}
	if _, err := t.kept.Seek(0, io.SeekStart); err != nil {
		return nil, err
	}
	return tracefile.Open("-", t.kept, columns)
}

// Close lets go of the trace.
func (t *Trace) Close() (err error) {
	if t.file != nil {
		err = t.file.Close()
	}
	if t.kept != nil {
		err = errors.Join(err, discard(t.kept))
	}
	return err
}

// discard closes what keep made, and removes it where its name is still there.
func discard(kept *os.File) error {
	err := kept.Close()
	if gone := os.Remove(kept.Name()); !errors.Is(gone, os.ErrNotExist) {
		err = errors.Join(err, gone)
	}
	return err
}

// keep copies what can be read once to a temporary file that has no name, where
// the system lets it: Windows removes no open file.
func keep(from io.Reader, dir string) (*os.File, error) {
	f, err := os.CreateTemp(dir, "tautlog-import-*")
	if err != nil {
		return nil, err
	}
	os.Remove(f.Name())
	_, err = io.Copy(f, from)
	if err == nil {
		_, err = f.Seek(0, io.SeekStart)
	}
	if err != nil {
		return nil, errors.Join(err, discard(f))
	}
	return f, nil
}

// largestCount looks for a column raw, and for the reading with the largest
// count: which one it is, and the count; 0 where there is no such column.
func (t *Trace) largestCount(ctx context.Context) (at int, count float64, err error) {
	columns := t.ask.Columns
	columns.ForceColumn, columns.Unit = "raw", unit.Newton
	file, err := t.again(columns)
	if err != nil {
		return 0, 0, err
	}
	n := 0
	err = file.Each(ctx, func(b trace.Batch) error {
		for _, raw := range b.F {
			if math.Abs(raw) > math.Abs(count) {
				at, count = n, raw
			}
			n++
		}
		return nil
	})
	if _, isFault := errors.AsType[*tracefile.Error](err); isFault {
		count, err = 0, nil // no such column, or one of something else
	}
	return at, count, errors.Join(err, file.Close())
}

// lookThrough checks the whole trace and learns what a new cell would have to
// be like. Reading at has the count raw; 0: that is not known.
func (t *Trace) lookThrough(ctx context.Context, at int, raw float64) error {
	return t.file.Each(ctx, func(b trace.Batch) error {
		if err := t.checkTimes(b); err != nil {
			return err
		}
		if t.decimals == nil {
			t.decimals = tracefile.NewDecimals(t.file.Unit())
			t.First = t.origin + b.T[0]
		}
		t.decimals.Add(b.F)
		if i := at - t.Readings; raw != 0 && i >= 0 && i < b.Len() {
			t.perCount = unit.Force(b.F[i] / raw)
		}
		t.Readings += b.Len()
		t.Last = t.origin + b.T[b.Len()-1]
		return nil
	})
}

func (t *Trace) checkTimes(b trace.Batch) error {
	switch {
	case t.file.Dates() && t.ask.Start != nil:
		return ErrDates
	case !t.file.Dates() && t.ask.Start == nil:
		return ErrNoStart
	}
	first, last := t.origin+b.T[0], t.origin+b.T[b.Len()-1]
	if first < 0 || last < first {
		return fmt.Errorf("readings from %s to %s are out of the time that the store keeps; correct the start", clock(first), clock(last))
	}
	return nil
}

func clock(t int64) string { return time.Unix(0, t).UTC().Format(time.RFC3339Nano) }
