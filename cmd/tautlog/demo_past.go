package main

import (
	"context"
	"fmt"
	"io"
	"time"

	"tautlog/analysis/shock"
	"tautlog/analysis/survey"
	"tautlog/calc/rig"
	"tautlog/ingest/derive"
	"tautlog/ingest/rehearse"
	"tautlog/ingest/store"
)

// keptSet is the name of the set of multipliers that the invented club kept
// after its second last test day.
const keptSet = "river bar"

// remembering enters the past beside the daemon, so that nobody waits for it.
// The channel gives what went wrong, once it has ended.
func (g *stage) remembering(ctx context.Context, w rehearse.World, seed uint64) <-chan error {
	ended := make(chan error, 1)
	go func() {
		err := g.remember(ctx, w, seed)
		if ctx.Err() != nil {
			err = nil // broken off, as everything else
		}
		ended <- err
	}()
	return ended
}

// remember enters the invented test days of the past as if they had been
// recorded: the readings, the pulls that are found in them, and what people
// wrote down. After all but the last one the club kept a set of multipliers.
func (g *stage) remember(ctx context.Context, w rehearse.World, seed uint64) error {
	known, err := g.store.CellByName(ctx, w.Benches[0].Cell.Name)
	if err != nil {
		return err
	}
	cell, err := derive.Of(ctx, g.store, known)
	if err != nil {
		return err
	}
	rigs := map[string]rig.Rig{}
	for _, r := range w.Rigs {
		rigs[r.ID] = r
	}
	ctx = store.WithWho(ctx, byDemoLater)
	for i, d := range w.Past {
		if i == len(w.Past)-1 {
			if err := g.keep(ctx); err != nil {
				return err
			}
		}
		if err := g.pastDay(ctx, w, cell, d, rigs, seed+uint64(i)); err != nil {
			return fmt.Errorf("the made-up test day %q: %w", d.Name, err)
		}
	}
	return nil
}

// keep fits what is in the log, keeps it, and plans with it.
func (g *stage) keep(ctx context.Context) error {
	log, err := g.store.Logged(ctx, store.PullFilter{}, time.Local)
	if err != nil {
		return err
	}
	pulls := make([]shock.Pull, len(log))
	for i, l := range log {
		pulls[i] = shock.FromLog(l)
	}
	k := shock.Keep(keptSet, pulls)
	k.Note = "Made up, like the pulls behind it."
	if k, err = g.store.SaveSet(ctx, k); err != nil {
		return err
	}
	_, err = g.store.PlanWith(ctx, k.Name, k.Version)
	return err
}

// pastDay enters one test day.
func (g *stage) pastDay(ctx context.Context, w rehearse.World, cell derive.Cell, d rehearse.PastDay, rigs map[string]rig.Rig, seed uint64) error {
	date := time.Now().AddDate(0, 0, -d.Ago)
	midnight := time.Date(date.Year(), date.Month(), date.Day(), 0, 0, 0, 0, time.Local)
	day, err := g.store.SaveDay(ctx, store.Day{Date: midnight.Format(time.DateOnly), Name: d.Name, Place: w.Place})
	if err != nil {
		return err
	}
	for i, p := range d.Pulls {
		if err := g.pastPull(ctx, w.Benches[0].Cell, cell, day, midnight.Add(p.On), p, rigs, seed+100*uint64(i)); err != nil {
			return err
		}
	}
	return nil
}

// pastPull enters one pull of it: the readings from when the cell was switched
// on, and what is found in them.
func (g *stage) pastPull(ctx context.Context, c rehearse.Cell, cell derive.Cell, day store.Day, on time.Time, p rehearse.PastPull, rigs map[string]rig.Rig, seed uint64) error {
	run, err := pastRun(c, p, seed)
	if err != nil {
		return err
	}
	run.Cell, run.Start = cell.ID, on.UnixNano()
	if err := g.store.Append(ctx, []store.Run{run}); err != nil {
		return err
	}
	stretch := &storedFlags{from: timeFlag{on, true}, to: timeFlag{on.Add(rehearse.PastLasts), true}}
	found, err := survey.Find(finderConfig(cell, traceFlags{}), stretch.samples(ctx, g.store, cell, io.Discard))
	if err != nil {
		return err
	}
	r := rigs[p.Rig]
	for _, f := range found.Pulls {
		if _, err := g.store.SavePull(ctx, store.Pull{
			Cell: cell.ID, Day: day.ID, Rig: &r, Found: f, By: cell.By(f.PeakAt), Ground: p.Ground, Settled: true, Speed: &p.Speed, Depth: p.Depth,
		}); err != nil {
			return err
		}
	}
	return nil
}

// pastRun is what the cell read of a pull.
func pastRun(c rehearse.Cell, p rehearse.PastPull, seed uint64) (store.Run, error) {
	run := store.Run{Step: 1e9 / c.Rate}
	g, err := rehearse.NewGenerator(c, p.Script(), seed)
	if err != nil {
		return run, err
	}
	for range int(rehearse.PastLasts.Seconds() * c.Rate) {
		s, err := g.Next()
		if err != nil {
			return run, err
		}
		run.Raw = append(run.Raw, s.Raw)
	}
	return run, nil
}
