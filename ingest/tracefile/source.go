package tracefile

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/klauspost/compress/gzip"
	"github.com/klauspost/compress/zstd"
)

// source gives the bytes of a file from their beginning, as often as asked.
// What can be read only once, such as standard input, is kept in a temporary
// file as far as a pass before the last has read it.
type source struct {
	file  *os.File  // of a regular file
	begin int64     // where in file the trace begins
	once  io.Reader // of anything else
	kept  *os.File  // what was read of once; nil while there was no need
	owned io.Closer
}

func openSource(path string, stdin io.Reader) (*source, error) {
	if path == "-" {
		return inputSource(stdin), nil
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("the trace cannot be opened: %w", err)
	}
	info, err := f.Stat()
	switch {
	case err != nil:
		return nil, errors.Join(fmt.Errorf("the trace cannot be opened: %w", err), f.Close())
	case info.IsDir():
		return nil, errors.Join(fmt.Errorf("%s is a directory; name a CSV file", path), f.Close())
	case info.Mode().IsRegular():
		return &source{file: f, owned: f}, nil
	}
	return &source{once: f, owned: f}, nil
}

// inputSource is standard input. Where that is a regular file, as behind a
// "<" of the shell, it is read as one, from where it stands.
func inputSource(stdin io.Reader) *source {
	if f, ok := stdin.(*os.File); ok {
		info, err := f.Stat()
		if err == nil && info.Mode().IsRegular() {
			if begin, err := f.Seek(0, io.SeekCurrent); err == nil {
				return &source{file: f, begin: begin}
			}
		}
	}
	return &source{once: stdin}
}

// rewind gives the bytes from the beginning. Unless it is for the last time,
// what is read once is kept.
func (s *source) rewind(ctx context.Context, last bool) (io.Reader, error) {
	if s.file != nil {
		_, err := s.file.Seek(s.begin, io.SeekStart)
		return s.file, err
	}
	once := io.Reader(&interruptible{ctx, s.once, make([]byte, 64<<10)})
	if s.kept == nil {
		if last {
			return once, nil
		}
		if err := s.keep(); err != nil {
			return nil, err
		}
		return io.TeeReader(once, s.kept), nil
	}
	if !last {
		return nil, errors.New("tracefile: only one pass before the last")
	}
	_, err := s.kept.Seek(0, io.SeekStart)
	return io.MultiReader(s.kept, once), err
}

// keep opens the temporary file and, where the system lets it, removes its
// name at once, so that nothing is left behind however the program ends.
func (s *source) keep() (err error) {
	if s.kept, err = os.CreateTemp("", "tautlog-trace-*"); err != nil {
		return fmt.Errorf("standard input must be read twice and cannot be kept: %w; give --capacity, or a file", err)
	}
	os.Remove(s.kept.Name())
	return nil
}

func (s *source) close() error {
	var errs []error
	if s.owned != nil {
		errs = append(errs, s.owned.Close())
	}
	if s.kept != nil {
		errs = append(errs, s.kept.Close())
		if err := os.Remove(s.kept.Name()); !errors.Is(err, os.ErrNotExist) {
			errs = append(errs, err)
		}
	}
	return errors.Join(errs...)
}

// interruptible ends a read when ctx ends, also where the read itself waits
// for a person at a terminal. The waiting read is then left behind, and its
// buffer with it.
type interruptible struct {
	ctx    context.Context
	r      io.Reader
	buffer []byte
}

func (i *interruptible) Read(p []byte) (int, error) {
	if err := i.ctx.Err(); err != nil {
		return 0, err
	}
	type result struct {
		n   int
		err error
	}
	done := make(chan result, 1)
	go func() {
		n, err := i.r.Read(i.buffer[:min(len(p), len(i.buffer))])
		done <- result{n, err}
	}()
	select {
	case <-i.ctx.Done():
		return 0, i.ctx.Err()
	case r := <-done:
		return copy(p, i.buffer[:r.n]), r.err
	}
}

// mostWindow is how far back a zstd file may refer, and so how much memory it
// takes to unpack one: 128 MiB, up to which the reference program unpacks
// without being told to (its manual, --memory). A small file can ask for
// gigabytes.
const mostWindow = 128 << 20

// unpacked gives the text behind r, which is plain or packed with gzip or
// zstd, and what to call when done with it.
func unpacked(r io.Reader) (io.Reader, func(), error) {
	head := bufio.NewReaderSize(r, 64<<10)
	magic, err := head.Peek(4)
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, nil, err
	}
	switch {
	case bytes.HasPrefix(magic, []byte{0x1f, 0x8b}):
		z, err := gzip.NewReader(head)
		if err != nil {
			return nil, nil, damaged{err}
		}
		return packed{z}, func() { z.Close() }, nil
	case bytes.Equal(magic, []byte{0x28, 0xb5, 0x2f, 0xfd}):
		z, err := zstd.NewReader(head, zstd.WithDecoderLowmem(true), zstd.WithDecoderConcurrency(2), zstd.WithDecoderMaxWindow(mostWindow))
		if err != nil {
			return nil, nil, damaged{err}
		}
		return packed{z}, z.Close, nil
	}
	return head, func() {}, nil
}

// damaged is an error of unpacking, as against one of reading.
type damaged struct{ error }

func (d damaged) Unwrap() error { return d.error }

// packed marks the errors of unpacking.
type packed struct{ r io.Reader }

func (p packed) Read(b []byte) (int, error) {
	n, err := p.r.Read(b)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, context.Canceled) {
		err = damaged{err}
	}
	return n, err
}
