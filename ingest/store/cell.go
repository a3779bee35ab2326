package store

import (
	"context"
	"time"

	"tautlog/calc/calibrate"
	"tautlog/calc/unit"
	"tautlog/ingest/port"
	"tautlog/ingest/wire"
)

// Cell is a load cell: where it is plugged in, what it sends, and what its
// readings mean.
type Cell struct {
	ID      int64     `json:"-"`
	Version int64     `json:"-"` // see Document
	Updated time.Time `json:"-"`

	Name       string          `json:"name"`
	Line       port.Line       `json:"line"`
	Wire       wire.Config     `json:"wire"`
	Curve      calibrate.Curve `json:"curve"`
	Capacity   unit.Force      `json:"capacity"`             // rated capacity; 0 unknown
	Rate       float64         `json:"rate,omitzero"`        // readings a second; 0 unknown
	LagSeconds float64         `json:"lag_seconds,omitzero"` // first-order time constant of the amplifier; 0 unknown
}

func cellShelf() shelf[Cell] {
	return shelf[Cell]{table: "cells", what: "cell", key: func(c Cell) string { return c.Name }}
}

func cellDocument(c Cell) Document[Cell] {
	return Document[Cell]{ID: c.ID, Version: c.Version, Value: c}
}

func asCell(d Document[Cell]) Cell {
	c := d.Value
	c.ID, c.Version, c.Updated = d.ID, d.Version, d.Updated
	return c
}

// SaveCell writes a cell and gives it back with its ID and new version; see
// Document.
func (s *Store) SaveCell(ctx context.Context, c Cell) (Cell, error) {
	saved, err := cellShelf().save(ctx, s, cellDocument(c))
	return asCell(saved), err
}

// Cells gives all cells by name.
func (s *Store) Cells(ctx context.Context) ([]Cell, error) {
	all, err := cellShelf().list(ctx, s, byKey)
	return convert(all, asCell), err
}

// CellByName gives the cell of that name, or ErrNotFound.
func (s *Store) CellByName(ctx context.Context, name string) (Cell, error) {
	d, err := cellShelf().one(ctx, s, whereKey, name)
	return asCell(d), err
}

// CellByID gives the cell of that ID, or ErrNotFound.
func (s *Store) CellByID(ctx context.Context, id int64) (Cell, error) {
	d, err := cellShelf().one(ctx, s, whereID, id)
	return asCell(d), err
}
