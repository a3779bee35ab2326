package main

import (
	"context"
	"time"

	"tautlog/calc/calibrate"
	"tautlog/ingest/rehearse"
	"tautlog/ingest/store"
)

// calibrated keeps the invented calibration of a cell, from some months ago.
func (g *stage) calibrated(ctx context.Context, b rehearse.Bench, cell int64) error {
	fit, reason, err := calibrate.Propose(b.KnownLoads())
	if err != nil {
		return err
	}
	k := calibrate.Keep(fit, "proposed: "+reason, 1)
	made := time.Now().AddDate(0, -11, 0)
	k.From, k.Note = made.UTC().Format(time.RFC3339), "Made up."
	k.Certificate = &calibrate.Certificate{
		Number: "LF-014", By: "Lower Fork workshop", Date: made.Format(time.DateOnly), Expires: made.AddDate(1, 0, 0).Format(time.DateOnly),
		High: b.Cell.Capacity, Relative95: 0.001,
	}
	_, err = g.store.SaveCalibration(store.WithWho(ctx, byDemoLater), store.Calibration{Cell: cell, Kept: k})
	return err
}
