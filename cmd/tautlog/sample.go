package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"

	"tautlog/ingest/rehearse"
	"tautlog/ingest/store"
)

// sampleDay is the invented club with its past test days, in a store of its own
// that is thrown away: the pages offer it to who has nothing to look at yet.
type sampleDay struct {
	log   *slog.Logger
	dir   string
	store *store.Store // nil: it is not there
}

// sampleSeed makes it the same for everybody.
const sampleSeed = 7

// Open makes the store up. Its readings take the same way as those of a trace
// from elsewhere: pulls are found in them and measured. It is to be called while
// none is open.
func (d *sampleDay) Open(ctx context.Context) (_ *store.Store, err error) {
	if d.dir, err = os.MkdirTemp("", "tautlog-sample-"); err != nil {
		return nil, fmt.Errorf("no room for the sample day: %w", err)
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, d.Close())
		}
	}()
	if d.store, err = store.Open(d.dir, store.Options{Who: bySample}); err != nil {
		return nil, err
	}
	world := rehearse.NewWorld()
	g, err := newRegister(ctx, d.store, d.log, world)
	if err != nil {
		return nil, err
	}
	b := world.Benches[0]
	c, err := d.store.SaveCell(ctx, store.Cell{Name: b.Cell.Name, Wire: b.Cell.Wire, Curve: b.Cell.Curve, Capacity: b.Cell.Capacity, Rate: b.Cell.Rate, LagSeconds: b.Cell.Lag})
	if err != nil {
		return nil, err
	}
	if err := g.calibrated(ctx, b, c.ID); err != nil {
		return nil, err
	}
	return d.store, g.remember(ctx, world, sampleSeed)
}

// Close throws it away.
func (d *sampleDay) Close() error {
	var err error
	if d.store != nil {
		err = d.store.Close()
		d.store = nil
	}
	return errors.Join(err, os.RemoveAll(d.dir))
}

// close throws it away at the end of the program, if it is there.
func (d *sampleDay) close() {
	if d.store == nil {
		return
	}
	if err := d.Close(); err != nil {
		d.log.Warn("the sample day could not be thrown away", "dir", d.dir, "err", err)
	}
}
