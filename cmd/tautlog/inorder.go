package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"runtime"

	"golang.org/x/sync/errgroup"
)

// sideBySide bounds how many traces are analysed at once: each takes memory of
// its own, and some cores.
const sideBySide = 2

// inOrder does n pieces of work side by side and uses what comes of them in
// their order, a few at most waiting to be used. It ends at the first error, that
// of the earliest piece that has one; what was done by then and is not to be used
// goes to drop.
func inOrder[T any](ctx context.Context, n int, work func(context.Context, int) (T, error), use func(T) error, drop func(T)) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	type outcome struct {
		value T
		err   error
	}
	atOnce := min(runtime.GOMAXPROCS(0), sideBySide)
	waiting := make(chan chan outcome, atOnce)
	var group errgroup.Group
	group.SetLimit(atOnce)
	go func() {
		defer close(waiting)
		for i := 0; i < n && ctx.Err() == nil; i++ {
			c := make(chan outcome, 1)
			waiting <- c
			group.Go(func() error {
				v, err := work(ctx, i)
				c <- outcome{v, err}
				return nil
			})
		}
	}()
	var failed error
	for c := range waiting {
		o := <-c
		switch {
		case o.err != nil:
			failed = first(failed, o.err)
		case failed != nil:
			drop(o.value)
		default:
			failed = use(o.value)
		}
		if failed != nil {
			stop()
		}
	}
	return first(failed, ctx.Err())
}

func first(a, b error) error {
	if a != nil {
		return a
	}
	return b
}

// spool keeps what is to be printed until all of it is there, so that nothing is
// printed where something fails. Beyond some it is kept in a temporary file.
type spool struct {
	memory bytes.Buffer
	file   *os.File
}

const spoolInMemory = 4 << 20

// Write keeps some more.
func (s *spool) Write(p []byte) (int, error) {
	if s.file == nil {
		if s.memory.Len()+len(p) <= spoolInMemory {
			return s.memory.Write(p)
		}
		if err := s.spill(); err != nil {
			return 0, fmt.Errorf("what is to be printed does not fit into the temporary directory: %w", err)
		}
	}
	return s.file.Write(p)
}

func (s *spool) spill() (err error) {
	if s.file, err = os.CreateTemp("", "tautlog-told-*"); err != nil {
		return err
	}
	os.Remove(s.file.Name()) // where the system lets it; otherwise close does
	_, err = s.memory.WriteTo(s.file)
	s.memory = bytes.Buffer{}
	return err
}

// print writes all of it.
func (s *spool) print(w io.Writer) error {
	if s.file == nil {
		_, err := s.memory.WriteTo(w)
		return err
	}
	if _, err := s.file.Seek(0, io.SeekStart); err != nil {
		return err
	}
	_, err := io.Copy(w, s.file)
	return err
}

func (s *spool) close() error {
	if s.file == nil {
		return nil
	}
	err := s.file.Close()
	if gone := os.Remove(s.file.Name()); !errors.Is(gone, os.ErrNotExist) {
		err = errors.Join(err, gone)
	}
	return err
}
