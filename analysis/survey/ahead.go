package survey

import (
	"errors"

	"tautlog/analysis/trace"
)

// aheadBy is how many batches are read ahead of the one that is worked on.
const aheadBy = 4

var errStopped = errors.New("nobody wants more")

// Fill puts the next samples into the memory of room.
type Fill func(room trace.Batch) trace.Batch

// Ahead reads a trace on another core than the one that works on it, a few
// batches ahead. Each gives yield what fills a batch, so that samples are written
// where they are worked on; it is called before yield returns.
func Ahead(each func(yield func(Fill) error) error) Samples {
	return func(yield func(trace.Batch) error) error {
		ready, free, stop := make(chan trace.Batch, aheadBy), make(chan trace.Batch, aheadBy), make(chan struct{})
		for range aheadBy {
			free <- trace.Batch{}
		}
		var failed error
		go func() {
			defer close(ready)
			failed = each(func(f Fill) error {
				select {
				case room := <-free:
					ready <- f(room)
					return nil
				case <-stop:
					return errStopped
				}
			})
		}()
		if err := drain(ready, free, stop, yield); err != nil {
			return err
		}
		return failed
	}
}

// drain hands on what is ready. After an error of yield it only waits for the
// reader to end.
func drain(ready <-chan trace.Batch, free chan<- trace.Batch, stop chan<- struct{}, yield func(trace.Batch) error) (err error) {
	for b := range ready {
		if err == nil {
			if err = yield(b); err != nil {
				close(stop)
			}
		}
		free <- b
	}
	return err
}

// Copied fills a batch with b.
func Copied(b trace.Batch) Fill {
	return func(room trace.Batch) trace.Batch {
		c := trace.Batch{T: append(room.T[:0], b.T...), F: append(room.F[:0], b.F...)}
		if b.Marks != nil {
			c.Marks = append(room.Marks[:0], b.Marks...)
		}
		return c
	}
}

// beside shows batches to watchers, one watcher after the other, on another core
// than the one that works on the batch meanwhile. What watch gives is to be
// waited for before the batch is given back; end is to be called when there are
// no more.
func beside(watchers []func(trace.Batch)) (watch func(trace.Batch) (watched <-chan struct{}), end func()) {
	next, done := make(chan trace.Batch, 1), make(chan struct{}, 1)
	go func() {
		for b := range next {
			for _, w := range watchers {
				w(b)
			}
			done <- struct{}{}
		}
	}()
	return func(b trace.Batch) <-chan struct{} { next <- b; return done }, func() { close(next) }
}
