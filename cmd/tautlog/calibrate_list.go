package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"tautlog/calc/calibrate"
	"tautlog/ingest/derive"
	"tautlog/ingest/store"
)

// cellRecord is a cell with its calibrations, as JSON.
type cellRecord struct {
	Cell         string            `json:"cell"`
	InForce      int               `json:"in_force"` // number; 0: the curve that it was set up with
	Calibrations []calibrationLine `json:"calibrations"`
	Stale        int               `json:"pulls_to_measure_again"`
}

type calibrationLine struct {
	calibrate.Kept
	Removed bool `json:"removed"`
}

// lists lists the calibrations of one cell, or of all.
func (a *calibration) lists(c *cobra.Command) error {
	db, err := store.OpenReader(a.stored.dir)
	if err != nil {
		return err
	}
	defer db.Close()
	cells, err := db.Cells(c.Context())
	if err != nil {
		return err
	}
	if a.stored.cell != "" {
		one, err := (&storedFlags{dir: a.stored.dir, cell: a.stored.cell}).named(c.Context(), db)
		if err != nil {
			return err
		}
		cells = []store.Cell{one}
	}
	records := []cellRecord{}
	out := &lines{w: bufio.NewWriter(c.OutOrStdout())}
	for i, cell := range cells {
		if i > 0 {
			out.gap()
		}
		r, err := a.listed(c.Context(), db, cell, out)
		if err != nil {
			return err
		}
		records = append(records, r)
	}
	if a.json {
		return writeJSON(c.OutOrStdout(), map[string]any{"cells": records})
	}
	return out.end()
}

func (a *calibration) listed(ctx context.Context, db *store.Store, cell store.Cell, out *lines) (cellRecord, error) {
	r := cellRecord{Cell: cell.Name, Calibrations: []calibrationLine{}}
	known, err := derive.Of(ctx, db, cell)
	if err != nil {
		return r, err
	}
	all, err := db.Calibrations(ctx, cell.ID)
	if err != nil {
		return r, err
	}
	stale, err := derive.Stale(ctx, db, known)
	if err != nil {
		return r, err
	}
	r.InForce, r.Stale = known.History.At(time.Now().UnixNano()).Number(), len(stale)
	out.say(0, "Cell %s", cell.Name)
	if r.InForce == 0 {
		out.say(2, "No calibration is in force: the force is by the curve that it was set up with.")
	}
	for _, k := range all {
		r.Calibrations = append(r.Calibrations, calibrationLine{k.Kept, !k.Removed.IsZero()})
		out.gap()
		writeCalibration(out, k, known.History)
	}
	out.stale(len(stale), cell.Name, a.stored.dir)
	return r, nil
}

// numbered gives a kept calibration of a cell.
func numbered(ctx context.Context, db *store.Store, cell store.Cell, number int) (store.Calibration, error) {
	all, err := db.Calibrations(ctx, cell.ID)
	if err != nil {
		return store.Calibration{}, err
	}
	for _, k := range all {
		if k.Number == number {
			return k, nil
		}
	}
	return store.Calibration{}, fmt.Errorf("cell %s has no calibration %d; it has %s", cell.Name, number, counted(len(all), "calibration"))
}

// uses keeps a calibration once more, so that it holds from another moment on.
func (a *calibration) uses(c *cobra.Command) (err error) {
	return a.change(c, a.use, func(ctx context.Context, db *store.Store, k store.Calibration) (store.Calibration, error) {
		k.Repeats, k.Made, k.Who, k.From = k.Number, "", "", ""
		if err := a.keep.fill(&k.Kept); err != nil {
			return k, err
		}
		return db.SaveCalibration(ctx, k)
	})
}

// removes takes a calibration out of force.
func (a *calibration) removes(c *cobra.Command) error {
	return a.change(c, a.remove, func(ctx context.Context, db *store.Store, k store.Calibration) (store.Calibration, error) {
		err := db.Remove(ctx, "calibration", k.ID, 0)
		k.Removed = time.Now()
		return k, err
	})
}

// bringsBack brings a removed calibration back.
func (a *calibration) bringsBack(c *cobra.Command) error {
	return a.change(c, a.back, func(ctx context.Context, db *store.Store, k store.Calibration) (store.Calibration, error) {
		if k.Removed.IsZero() {
			return k, fmt.Errorf("calibration %d was not removed", k.Number)
		}
		latest, err := db.Changes(ctx, store.JournalFilter{What: "calibration", Ref: k.ID, Limit: 1})
		if err == nil {
			_, err = db.Undo(ctx, latest[0].ID)
		}
		k.Removed = time.Time{}
		return k, err
	})
}

// change does something to a kept calibration and tells what follows.
func (a *calibration) change(c *cobra.Command, number int, do func(context.Context, *store.Store, store.Calibration) (store.Calibration, error)) (err error) {
	db, cell, ctx, err := a.stored.edit(c)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	k, err := numbered(ctx, db, cell, number)
	if err == nil {
		k, err = do(ctx, db, k)
	}
	if err != nil {
		return err
	}
	return a.tell(c, db, cell, k)
}

// redoneRecord is a pull that was measured again, as JSON.
type redoneRecord struct {
	Pull    int64   `json:"pull"`
	Was     float64 `json:"was_peak_N"`
	Is      float64 `json:"peak_N"`
	Low     float64 `json:"peak_low_N"`
	High    float64 `json:"peak_high_N"`
	By      int     `json:"calibration"`
	Problem string  `json:"problem,omitempty"` // why it stays as it was
}

// measuresAgain measures the pulls of a cell again.
func (a *calibration) measuresAgain(c *cobra.Command) (err error) {
	db, cell, ctx, err := a.stored.edit(c)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	known, err := derive.Of(ctx, db, cell)
	if err != nil {
		return err
	}
	choose := derive.StalePulls
	if a.all {
		choose = derive.Settled
	}
	pulls, err := choose(ctx, db, known)
	if err != nil {
		return err
	}
	done, err := derive.Again(ctx, db, known, pulls)
	return errors.Join(err, a.writeRedone(c, done))
}

func (a *calibration) writeRedone(c *cobra.Command, done []derive.Redone) error {
	records := []redoneRecord{}
	out := &lines{w: bufio.NewWriter(c.OutOrStdout())}
	if len(done) == 0 {
		out.say(0, "Every pull was measured by what is in force for it: nothing to do.")
	}
	for _, d := range done {
		was, is := d.Was.Found, d.Is.Found
		records = append(records, redoneRecord{d.Was.ID, float64(was.Peak), float64(is.Peak), float64(is.PeakLow), float64(is.PeakHigh), d.Is.By.Calibration, d.Problem})
		if d.Problem != "" {
			out.say(0, "Pull %d stays as it was: %s.", d.Was.ID, d.Problem)
			continue
		}
		out.say(0, "Pull %d: peak %.4g kN, was %.4g kN (true peak %.4g to %.4g kN).", d.Was.ID,
			float64(is.Peak)/1e3, float64(was.Peak)/1e3, float64(is.PeakLow)/1e3, float64(is.PeakHigh)/1e3)
	}
	if a.json {
		return writeJSON(c.OutOrStdout(), map[string]any{"pulls": records})
	}
	return out.end()
}
