package tracefile

import (
	"bytes"
	"context"
	"errors"
	"io"
	"sync"
)

// chunkSize is how much text a worker takes at once. A line must fit into it.
const chunkSize = 256 << 10

// chunk is a stretch of whole lines on its way from the reader through a
// worker to whoever takes the samples, in the order of the file.
type chunk struct {
	buffer  []byte // chunkSize and one byte, for a newline that the file lacks
	text    []byte // whole lines, each with its newline
	err     error  // why the text ends here; io.EOF at the end of the file
	samples samples
	largest float64
	parsed  chan struct{} // one token when the worker is done
}

// pipe reads text in chunks, has them parsed by several workers and delivers
// them in order. A fixed set of chunks goes round, so that memory does not
// grow with the file.
type pipe struct {
	workers int
	work    func(*parser, *chunk)
	deliver func(*chunk) error
}

// run moves the whole of r, beginning with what was read ahead. It returns
// the reason why it ended, io.EOF at the end of the file, when nothing of it
// is at work any more.
func (p pipe) run(ctx context.Context, l layout, ahead []byte, aheadErr error, r io.Reader) error {
	count := p.workers + 3
	free, jobs, order := make(chan *chunk, count), make(chan *chunk, count), make(chan *chunk, count)
	for range count {
		free <- &chunk{buffer: make([]byte, chunkSize+1), parsed: make(chan struct{}, 1)}
	}
	var group sync.WaitGroup
	defer group.Wait()
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	group.Go(func() {
		defer close(jobs)
		feed(ctx, free, ahead, aheadErr, r, func(c *chunk) { order <- c; jobs <- c })
	})
	for range p.workers {
		group.Go(func() {
			own := parser{layout: l}
			for c := range jobs {
				p.work(&own, c)
				c.parsed <- struct{}{}
			}
		})
	}
	return p.drain(ctx, order, free)
}

func (p pipe) drain(ctx context.Context, order <-chan *chunk, free chan<- *chunk) error {
	for {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case c := <-order:
			<-c.parsed
			if err := p.deliver(c); err != nil {
				return err
			}
			if c.err != nil {
				return c.err
			}
			free <- c
		}
	}
}

// feed cuts r into chunks of whole lines until it ends or ctx does. The last
// chunk carries the reason of the end.
func feed(ctx context.Context, free <-chan *chunk, rest []byte, restErr error, r io.Reader, pass func(*chunk)) {
	for {
		var c *chunk
		select {
		case <-ctx.Done():
			return
		case c = <-free:
		}
		rest = c.fill(rest, restErr, r)
		restErr = nil
		pass(c)
		if c.err != nil {
			return
		}
	}
}

// fill takes what is left of the last chunk and reads on to a full buffer or
// the end. It gives what stands behind the last newline, valid until the chunk
// is filled again.
func (c *chunk) fill(rest []byte, restErr error, r io.Reader) []byte {
	n := copy(c.buffer, rest)
	c.err = restErr
	if c.err == nil {
		var m int
		m, c.err = readUpTo(c.buffer[n:chunkSize], r)
		n += m
	}
	end := bytes.LastIndexByte(c.buffer[:n], '\n') + 1
	switch {
	case errors.Is(c.err, io.EOF) && end < n:
		c.buffer[n] = '\n'
		end, n = n+1, n+1
	case c.err == nil && end == 0:
		c.err = ErrLongLine
	}
	c.text = c.buffer[:end]
	return c.buffer[end:n]
}

// readUpTo fills b unless r ends before. Other than io.ReadFull it keeps the
// error of r as it is, so that a cut off file differs from one that ends.
func readUpTo(b []byte, r io.Reader) (n int, err error) {
	for empty := 0; n < len(b) && err == nil; {
		var m int
		m, err = r.Read(b[n:])
		n += m
		if empty++; m > 0 {
			empty = 0
		} else if err == nil && empty == 100 {
			err = io.ErrNoProgress
		}
	}
	return n, err
}
