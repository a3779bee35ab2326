package store

import (
	"context"
	"database/sql"
	"errors"
	"slices"
	"strconv"
	"time"

	"tautlog/calc/calibrate"
)

// Check is a check of a cell, kept with the day on which it was made. It can be
// removed (Remove, "check") and that undone.
type Check struct {
	ID      int64     `json:"-"`
	Version int64     `json:"-"` // see Document
	Removed time.Time `json:"-"`

	Cell int64 `json:"cell"`
	Day  int64 `json:"day,omitzero"` // test day; 0: none was in force
	calibrate.Check
}

func checkShelf() shelf[Check] {
	return ofCellShelf("checks", "check", func(c Check) (cell, at int64) { return c.Cell, c.At })
}

func asCheck(d Document[Check]) Check {
	c := d.Value
	c.ID, c.Version, c.Removed = d.ID, d.Version, d.Removed
	return c
}

// SaveCheck keeps a check of a cell, with the day that was in force for the cell
// then. Who is filled in where it is empty.
func (s *Store) SaveCheck(ctx context.Context, c Check) (Check, error) {
	setup, err := s.SetupAt(ctx, c.Cell, c.At)
	if err != nil && !errors.Is(err, ErrNotFound) {
		return c, err
	}
	c.Day = setup.Day
	if c.Who == "" {
		c.Who = s.who(ctx)
	}
	saved, err := checkShelf().save(ctx, s, Document[Check]{Value: c})
	return asCheck(saved), err
}

// Checks gives the checks of a cell that were not removed, the latest first.
func (s *Store) Checks(ctx context.Context, cell int64) ([]Check, error) {
	all, err := checkShelf().list(ctx, s, `WHERE cell = ? AND removed IS NULL ORDER BY id DESC`, cell)
	return convert(all, asCheck), err
}

// Draft is a calibration that is being taken, point by point. Each cell has one
// at most; it is empty when its points were kept or given up.
type Draft struct {
	Version int64 `json:"-"` // see Document

	Cell   int64   `json:"cell"`
	Points []Taken `json:"points"`
}

// Taken is a point of a draft.
type Taken struct {
	calibrate.Point
	At    int64   `json:"at"` // ns UTC
	SD    float64 `json:"sd"` // of one reading
	Count int     `json:"count"`
	Who   string  `json:"who"`
}

// PointsOf gives the points as a fit takes them.
func (d Draft) PointsOf() []calibrate.Point {
	out := make([]calibrate.Point, len(d.Points))
	for i, p := range d.Points {
		out[i] = p.Point
	}
	return out
}

func draftShelf() shelf[Draft] {
	return shelf[Draft]{
		table: "drafts", what: "draft", key: func(d Draft) string { return strconv.FormatInt(d.Cell, 10) },
		check: func(ctx context.Context, tx *sql.Tx, d Draft) error { return cellThere(ctx, tx, d.Cell) },
	}
}

// Draft gives the calibration of a cell that is being taken; an empty one where
// there is none.
func (s *Store) Draft(ctx context.Context, cell int64) (Draft, error) {
	d, err := draftShelf().one(ctx, s, whereKey, strconv.FormatInt(cell, 10))
	if errors.Is(err, ErrNotFound) {
		return Draft{Cell: cell, Version: New}, nil
	}
	out := d.Value
	out.Version = d.Version
	return out, err
}

// SaveDraft writes the points taken so far over those of the version that was
// read; see Document. Who is filled in where it is empty.
func (s *Store) SaveDraft(ctx context.Context, d Draft) (Draft, error) {
	d.Points = slices.Clone(d.Points)
	for i := range d.Points {
		if d.Points[i].Who == "" {
			d.Points[i].Who = s.who(ctx)
		}
	}
	saved, err := draftShelf().save(ctx, s, Document[Draft]{Version: d.Version, Value: d})
	out := saved.Value
	out.Version = saved.Version
	return out, err
}
