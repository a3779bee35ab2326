package tracefile

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"runtime"

	"github.com/klauspost/compress/zstd"

	"tautlog/analysis/trace"
	"tautlog/calc/unit"
)

// File is an open trace file. It is not for use by several goroutines at once.
type File struct {
	name    string
	source  *source
	options Options
	largest float64 // as found by Largest
	known   bool    // Largest was called
	layout  layout  // of the latest pass
}

// Open opens the trace at path; "-" is stdin. Nothing is read yet, so that
// faults of the content come from Largest and Each.
func Open(path string, stdin io.Reader, o Options) (*File, error) {
	s, err := openSource(path, stdin)
	if err != nil {
		return nil, err
	}
	name := path
	if path == "-" {
		name = "standard input"
	}
	return &File{name: name, source: s, options: o}, nil
}

// Close lets go of the file.
func (f *File) Close() error { return f.source.close() }

// Largest finds the largest force of the trace in a pass of its own, before
// Each. It looks at the force column only and ends early at a fault, which
// Each then reports. A trace of no or only negative forces gives zero.
func (f *File) Largest(ctx context.Context) (unit.Force, error) {
	p := pipe{workers: workers(), work: findLargest, deliver: func(c *chunk) error {
		f.largest = math.Max(f.largest, c.largest)
		return nil
	}}
	err := f.pass(ctx, false, p, new(int))
	f.known = true
	if _, isFault := errors.AsType[*Error](err); isFault {
		return unit.Force(f.largest), nil
	}
	return unit.Force(f.largest), err
}

// Each reads the trace from its beginning and yields its samples in order, in
// batches that are valid until yield returns. It ends at the first fault,
// which is an *Error, and at the first error of yield. All that was yielded
// before a fault is to be thrown away.
func (f *File) Each(ctx context.Context, yield func(trace.Batch) error) error {
	e := each{yield: yield}
	if err := f.pass(ctx, true, pipe{workers: workers(), work: parseSamples, deliver: e.deliver}, &e.lines); err != nil {
		return err
	}
	if e.samples == 0 {
		return f.fault(ErrNoReadings, e.lines, "give a trace with readings", "there are no readings below the header")
	}
	if f.known && e.largest != f.largest {
		return f.fault(ErrChanged, e.lines, "try again when nothing writes to it", "the file changed while it was read")
	}
	return nil
}

// Dates tells whether the times are RFC 3339, and so nanoseconds UTC since
// 1970, and not seconds from a start of their own. It is known after a pass.
func (f *File) Dates() bool { return f.layout.dates }

// Unit is the unit of the force column. It is known after a pass.
func (f *File) Unit() unit.ForceUnit { return f.layout.unit }

// Comments gives the comment lines above the header, without their "#". They
// are known after a pass.
func (f *File) Comments() []string { return f.layout.comments }

func workers() int { return max(runtime.GOMAXPROCS(0), 1) }

func (f *File) fault(reason error, line int, remedy, problem string) *Error {
	e := fault(reason, max(line, 1), remedy, "%s", problem)
	e.File = f.name
	return e
}

// pass reads the whole file once. It counts its lines and gives every error
// its place.
func (f *File) pass(ctx context.Context, last bool, p pipe, lines *int) error {
	raw, err := f.source.rewind(ctx, last)
	if err != nil {
		return err
	}
	text, done, err := unpacked(raw)
	if err == nil {
		defer done()
		err = f.through(ctx, text, p, lines)
	}
	if found, ok := errors.AsType[*Error](err); ok {
		found.File = f.name
		return found
	}
	_, isDamaged := errors.AsType[damaged](err)
	switch {
	case err == nil, ctx.Err() != nil:
		return ctx.Err()
	case errors.Is(err, ErrLongLine):
		return f.fault(ErrLongLine, *lines+1, "give a CSV file with one reading a line", "the line is longer than 256 KiB")
	case errors.Is(err, zstd.ErrWindowSizeExceeded):
		return f.fault(ErrCompressed, *lines+1, "pack it again, without --long", fmt.Sprintf("unpacking the file takes more than %d MiB of memory, or it is damaged", mostWindow>>20))
	case isDamaged:
		return f.fault(ErrCompressed, *lines+1, "copy or pack the file again", "the packed file is damaged or cut off after this line: "+err.Error())
	}
	return fmt.Errorf("%s, after line %d: %w", f.name, *lines, err)
}

// through reads the header and moves the lines below it through the pipe.
func (f *File) through(ctx context.Context, text io.Reader, p pipe, lines *int) (err error) {
	ahead := make([]byte, chunkSize)
	n, end := readUpTo(ahead, text)
	if end != nil && !errors.Is(end, io.EOF) {
		return end
	}
	var rest []byte
	if f.layout, rest, err = readPreamble(ahead[:n], end != nil, lines, f.options); err != nil {
		return err
	}
	if err := p.run(ctx, f.layout, rest, end, text); !errors.Is(err, io.EOF) {
		return err
	}
	return nil
}

// each delivers samples and keeps the order of time from chunk to chunk.
type each struct {
	yield   func(trace.Batch) error
	lines   int
	samples int
	last    int64
	largest float64
}

func (e *each) deliver(c *chunk) error {
	s := &c.samples
	if len(s.t) > 0 && e.samples > 0 && s.t[0] <= e.last {
		err := outOfOrder(e.last, s.t[0], s.firstLine, s.dates)
		err.Line += int64(e.lines)
		return err
	}
	if s.fault != nil {
		s.fault.Line += int64(e.lines)
		return s.fault
	}
	e.lines += s.lines
	if len(s.t) == 0 {
		return nil
	}
	e.samples += len(s.t)
	e.last = s.t[len(s.t)-1]
	b := trace.Batch{T: s.t, F: s.f}
	if s.marked {
		b.Marks = s.marks
	}
	for i, f := range s.f {
		if !s.marked || s.marks[i]&trace.Invalid == 0 {
			e.largest = max(e.largest, f)
		}
	}
	return e.yield(b)
}

func parseSamples(p *parser, c *chunk) {
	c.samples.reset()
	p.parse(&c.samples, c.text)
}

func findLargest(p *parser, c *chunk) { c.largest = p.largest(c.text) }
