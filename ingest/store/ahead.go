package store

import (
	"context"
	"database/sql"
	"runtime"
	"sync"
)

// Decoding takes longer than reading a row, and either longer than most of
// what is done with the readings: rows are read and decoded on other cores, a
// few ahead of the one that is used.
const (
	decodersMost = 4 // more would wait for the one that reads the rows
	decodedAhead = 2 // rows beyond those being decoded
)

// decoding is a row on its way: read, decoded, used, and its memory taken for
// another.
type decoding struct {
	row  row
	room []int64
	runs []Run
	err  error
	done chan struct{}
}

func (d *decoding) take(r row) {
	held := d.row.payload[:0]
	d.row = r
	d.row.payload = append(held, r.payload...)
}

func (d *decoding) decode() {
	d.runs, d.err = d.row.decodeInto(&d.room)
	d.done <- struct{}{}
}

// lane is what the reader of rows, the decoders and the user of readings hand
// to each other. Each channel has room for all decodings there are.
type lane struct {
	free, work, ready chan *decoding
	stop              chan struct{}
}

// eachDecoded gives the readings of the rows of a query to use, in the order
// of the rows, until it returns false. A damaged row is given as its
// *DamageError. What is given is valid only until use returns.
func eachDecoded(ctx context.Context, tx *sql.Tx, use func([]Run, error) bool, query string, args ...any) error {
	decoders := min(runtime.GOMAXPROCS(0), decodersMost)
	n := decoders + decodedAhead
	l := lane{make(chan *decoding, n), make(chan *decoding, n), make(chan *decoding, n), make(chan struct{})}
	for range n {
		l.free <- &decoding{done: make(chan struct{}, 1)}
	}
	var running sync.WaitGroup
	var failed error
	running.Go(func() {
		defer close(l.ready) // after failed, which is looked at then
		failed = l.read(ctx, tx, query, args...)
	})
	for range decoders {
		running.Go(func() {
			for d := range l.work {
				d.decode()
			}
		})
	}
	defer running.Wait() // whatever use does: nobody is left in the transaction
	defer close(l.stop)
	for d := range l.ready {
		<-d.done
		if !use(d.runs, d.err) {
			return nil
		}
		l.free <- d
	}
	return failed
}

// read reads rows until there are no more, or nobody wants them.
func (l lane) read(ctx context.Context, tx *sql.Tx, query string, args ...any) error {
	defer close(l.work)
	return eachRow(ctx, tx, func(r row) (bool, error) {
		select {
		case d := <-l.free:
			d.take(r)
			l.work <- d
			l.ready <- d
			return true, nil
		case <-l.stop:
			return false, nil
		}
	}, query, args...)
}
