package main

import (
	"context"
	"log/slog"
	"sync"
	"time"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/ingest/rehearse"
	"tautlog/ingest/store"
)

// stage holds the invented world as the store knows it.
type stage struct {
	store *store.Store
	log   *slog.Logger
	day   int64
	rigs  map[string]int64 // by the rig's own ID

	mu    sync.Mutex
	setup map[int64]store.Setup // in force, by cell
}

// newStage writes the world's day, vehicles, gear and rigs into the store.
func newStage(ctx context.Context, st *store.Store, log *slog.Logger, w rehearse.World) (*stage, error) {
	g, err := newRegister(ctx, st, log, w)
	if err != nil {
		return nil, err
	}
	day, err := st.SaveDay(ctx, store.Day{Date: time.Now().Format(time.DateOnly), Name: w.Day, Place: w.Place})
	g.day = day.ID
	return g, err
}

// newRegister writes the world's vehicles, gear and rigs into the store.
func newRegister(ctx context.Context, st *store.Store, log *slog.Logger, w rehearse.World) (*stage, error) {
	g := &stage{store: st, log: log, rigs: map[string]int64{}, setup: map[int64]store.Setup{}}
	for _, v := range w.Vehicles {
		if _, err := st.SaveVehicle(ctx, store.Document[gear.Vehicle]{Value: v}); err != nil {
			return nil, err
		}
	}
	for _, it := range w.ItemsOn(time.Now()) {
		if _, err := st.SaveItem(ctx, store.Document[gear.Item]{Value: it}); err != nil {
			return nil, err
		}
	}
	for _, r := range w.Rigs {
		saved, err := st.SaveRig(ctx, store.Document[rig.Rig]{Value: r})
		if err != nil {
			return nil, err
		}
		g.rigs[r.ID] = saved.ID
	}
	return g, nil
}

// powerUp starts every cell of the world and enters it in the store with the
// port that it appeared at. The sessions that were started are given back also
// with an error.
func (g *stage) powerUp(ctx context.Context, w rehearse.World, seed uint64) (cells []store.Cell, sessions []*rehearse.Session, err error) {
	for i, b := range w.Benches {
		c, err := g.store.SaveCell(ctx, store.Cell{
			Name: b.Cell.Name, Wire: b.Cell.Wire, Curve: b.Cell.Curve,
			Capacity: b.Cell.Capacity, Rate: b.Cell.Rate, LagSeconds: b.Cell.Lag,
		})
		if err != nil {
			return cells, sessions, err
		}
		if err := g.rigUp(ctx, c.ID, b.Rig, b.Ground); err != nil {
			return cells, sessions, err
		}
		if i == 0 { // the other one shows what is said without a calibration
			if err := g.calibrated(ctx, b, c.ID); err != nil {
				return cells, sessions, err
			}
		}
		// The cells outlast ctx: they are closed after the daemon has ended, as
		// real ones are.
		s, err := rehearse.Start(context.WithoutCancel(ctx), rehearse.Options{
			Cell: b.Cell, Script: b.Script, Seed: seed + uint64(i),
			Announce: func(p rehearse.Pull) { g.announced(ctx, c.ID, p) },
		})
		if err != nil {
			return cells, sessions, err
		}
		sessions = append(sessions, s)
		c.Line = s.Line()
		if c, err = g.store.SaveCell(ctx, c); err != nil {
			return cells, sessions, err
		}
		cells = append(cells, c)
	}
	return cells, sessions, nil
}

// announced rigs for the next pull, as a crew would before it. It must return
// at once, so it saves on its own goroutine.
func (g *stage) announced(ctx context.Context, cell int64, p rehearse.Pull) {
	go func() {
		if err := g.rigUp(ctx, cell, p.Rig, p.Ground); err != nil && ctx.Err() == nil {
			g.log.Warn("the demonstration could not change its rig", "err", err)
		}
	}()
}

// rigUp puts a rig and a ground in force for a cell, unless they are already.
func (g *stage) rigUp(ctx context.Context, cell int64, rigID, ground string) error {
	g.mu.Lock()
	defer g.mu.Unlock()
	want := store.Setup{Cell: cell, Day: g.day, Rig: g.rigs[rigID], Ground: ground}
	if have, ok := g.setup[cell]; ok && have.Rig == want.Rig && have.Ground == want.Ground {
		return nil
	}
	saved, err := g.store.SetSetup(ctx, want)
	if err == nil {
		g.setup[cell] = saved
	}
	return err
}
