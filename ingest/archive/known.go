package archive

import (
	"context"

	"tautlog/calc/calibrate"
	"tautlog/ingest/derive"
	"tautlog/ingest/store"
)

// description is what an archive keeps of a cell: the cell, and how its
// readings become force.
type description struct {
	Cell         store.Cell        `json:"cell"`
	Calibrations []keptCalibration `json:"calibrations"` // all, by number
	Zeros        []keptZero        `json:"zeros"`        // all, in the order in which they were set
}

type keptCalibration struct {
	calibrate.Kept
	Removed bool `json:"removed,omitzero"` // it is not in force any more
}

type keptZero struct {
	calibrate.Zero
	Removed bool `json:"removed,omitzero"`
}

func describe(ctx context.Context, db *store.Store, c store.Cell) (d description, err error) {
	d.Cell = c
	calibrations, err := db.Calibrations(ctx, c.ID)
	if err != nil {
		return d, err
	}
	for _, k := range calibrations {
		d.Calibrations = append(d.Calibrations, keptCalibration{k.Kept, !k.Removed.IsZero()})
	}
	zeros, err := db.Zeros(ctx, c.ID)
	for _, z := range zeros {
		d.Zeros = append(d.Zeros, keptZero{z.Zero, !z.Removed.IsZero()})
	}
	return d, err
}

// known is the cell with how its readings become force.
func (d description) known() (derive.Cell, error) {
	var kept []calibrate.Kept
	for _, k := range d.Calibrations {
		if !k.Removed {
			kept = append(kept, k.Kept)
		}
	}
	var zeros []calibrate.Zero
	for _, z := range d.Zeros {
		if !z.Removed {
			zeros = append(zeros, z.Zero)
		}
	}
	if err := d.Cell.Curve.Validate(); err != nil {
		return derive.Cell{}, err
	}
	history, err := calibrate.NewHistory(d.Cell.Curve, kept, zeros)
	return derive.Cell{Cell: d.Cell, History: history}, err
}

// save makes the cell in a store, with its calibrations under their numbers.
func (d description) save(ctx context.Context, db *store.Store, name string) (store.Cell, error) {
	d.Cell.Name, d.Cell.Line = name, store.Cell{}.Line // that was of another computer
	cell, err := db.SaveCell(ctx, d.Cell)
	if err != nil {
		return cell, err
	}
	for _, k := range d.Calibrations {
		saved, err := db.SaveCalibration(ctx, store.Calibration{Cell: cell.ID, Kept: k.Kept})
		if err == nil && k.Removed {
			err = db.Remove(ctx, "calibration", saved.ID, saved.Version)
		}
		if err != nil {
			return cell, err
		}
	}
	for _, z := range d.Zeros {
		saved, err := db.SaveZero(ctx, store.Zero{Cell: cell.ID, Zero: z.Zero})
		if err == nil && z.Removed {
			err = db.Remove(ctx, "zero", saved.ID, saved.Version)
		}
		if err != nil {
			return cell, err
		}
	}
	return cell, nil
}
