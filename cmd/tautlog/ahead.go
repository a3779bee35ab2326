package main

import (
	"errors"

	"tautlog/analysis/trace"
)

// aheadBy is how many batches are read ahead of the one that is worked on.
const aheadBy = 4

var errStopped = errors.New("nobody wants more")

// ahead reads a trace on another core than the one that works on it, a few
// batches ahead.
func ahead(each samples) samples {
	return func(yield func(trace.Batch) error) error {
		ready, free, stop := make(chan trace.Batch, aheadBy), make(chan trace.Batch, aheadBy), make(chan struct{})
		for range aheadBy {
			free <- trace.Batch{}
		}
		var failed error
		go func() {
			defer close(ready)
			failed = each(func(b trace.Batch) error {
				select {
				case room := <-free:
					ready <- copied(room, b)
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

// copied is b in the memory of room.
func copied(room, b trace.Batch) trace.Batch {
	c := trace.Batch{T: append(room.T[:0], b.T...), F: append(room.F[:0], b.F...)}
	if b.Marks != nil {
		c.Marks = append(room.Marks[:0], b.Marks...)
	}
	return c
}
