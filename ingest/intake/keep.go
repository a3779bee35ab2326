package intake

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strings"

	"tautlog/analysis/pull"
	"tautlog/analysis/survey"
	"tautlog/calc/calibrate"
	"tautlog/calc/unit"
	"tautlog/ingest/derive"
	"tautlog/ingest/port"
	"tautlog/ingest/store"
)

// Brought is what was brought in.
type Brought struct {
	Cell     store.Cell
	Made     bool // the store did not know the cell
	Readings int
	First    int64
	Last     int64
	Pulls    int
}

// Keep stores readings and pulls, all of it or nothing; nobody else can write
// meanwhile. The first pass over the readings stores them; where the capacity is
// unknown, others follow.
func (t *Trace) Keep(ctx context.Context, db *store.Store) (Brought, error) {
	cell, known, err := t.cellFor(ctx, db)
	if err != nil {
		return Brought{}, err
	}
	var found *survey.Found
	err = db.BringIn(ctx, func(in *store.Intake) error {
		if !known {
			if cell.Cell, err = in.SaveCell(ctx, cell.Cell); err != nil {
				return err
			}
		}
		each := t.samples(ctx, cell, func(runs []store.Run) error { return in.Append(ctx, runs) })
		config := cell.Config()
		config.Floor = t.ask.Floor
		s := &survey.Source{Config: config, Largest: each.Largest, Each: each}
		if found, err = s.Find(); err != nil {
			return err
		}
		return in.SavePulls(ctx, logged(cell, found.Pulls))
	})
	if err != nil {
		return Brought{}, fmt.Errorf("nothing was imported: %w", err)
	}
	_, err = db.Fold(ctx, cell.ID)
	return Brought{cell.Cell, !known, t.Readings, t.First, t.Last, len(found.Pulls)}, err
}

func logged(cell derive.Cell, pulls []pull.Pull) []store.Pull {
	all := make([]store.Pull, len(pulls))
	for i, p := range pulls {
		all[i] = store.Pull{Cell: cell.ID, Found: p, By: cell.By(p.PeakAt), Kind: p.Kind, Settled: true}
	}
	return all
}

// cellFor is the cell as the store knows it, or a new one.
func (t *Trace) cellFor(ctx context.Context, db *store.Store) (cell derive.Cell, known bool, err error) {
	there, err := db.CellByName(ctx, t.ask.Cell)
	switch {
	case err == nil && t.ask.Capacity != 0 && t.ask.Capacity != there.Capacity:
		return derive.Cell{Cell: there}, true, fmt.Errorf("%w: %s has %s", ErrCapacity, there.Name, there.Capacity)
	case err == nil:
		cell, err = derive.Of(ctx, db, there)
		return cell, true, errors.Join(err, there.Curve.Validate())
	case !errors.Is(err, store.ErrNotFound):
		return cell, false, err
	}
	made, err := t.cell()
	if err != nil {
		return cell, false, err
	}
	made.Name = t.ask.Cell
	if t.ask.Capacity != 0 {
		made.Capacity = t.ask.Capacity
	}
	return derive.New(made), false, nil
}

// CellComment begins the comment line of a trace that holds its cell, as JSON.
const CellComment = "tautlog cell "

// cell is a new cell that suits the trace: the one of the comment above it,
// else one whose counts are those of its column raw, else one whose counts
// are as fine as its decimals.
func (t *Trace) cell() (store.Cell, error) {
	for _, c := range t.file.Comments() {
		if text, ok := strings.CutPrefix(c, CellComment); ok {
			var cell store.Cell
			if err := json.Unmarshal([]byte(text), &cell); err != nil {
				return cell, fmt.Errorf("the cell in the comment of %s cannot be read: %w; remove the comment", t.name, err)
			}
			cell.Line = port.Line{} // that of another computer
			return cell, cell.Curve.Validate()
		}
	}
	if curve, ok := t.curveOfCounts(); ok {
		return store.Cell{Curve: curve}, nil
	}
	t.fitted = true
	return store.Cell{Curve: calibrate.Line(t.file.Unit(), t.decimals.Number())}, nil
}

// curveOfCounts is the curve of an indicator that shows some decimals of some
// unit, if the column raw is of such a one.
func (t *Trace) curveOfCounts() (calibrate.Curve, bool) {
	for _, u := range []unit.ForceUnit{unit.Newton, unit.KilogramF, unit.PoundF} {
		for decimals := -6; decimals <= 12; decimals++ {
			curve := calibrate.Line(u, decimals)
			if one := float64(curve.Slope(0)); math.Abs(one-float64(t.perCount)) <= 1e-13*one {
				return curve, true
			}
		}
	}
	return calibrate.Curve{}, false
}
