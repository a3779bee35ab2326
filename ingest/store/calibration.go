package store

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"time"

	"tautlog/calc/calibrate"
)

// Calibration is a kept calibration of a cell. It never changes; it can be
// removed (Remove, "calibration"), which takes it out of force, and that undone.
type Calibration struct {
	ID      int64     `json:"-"`
	Version int64     `json:"-"` // of the row: see Remove
	Removed time.Time `json:"-"` // when it was taken out of force; zero: it was not

	Cell int64 `json:"cell"`
	calibrate.Kept
}

func calibrationShelf() shelf[Calibration] {
	return shelf[Calibration]{
		table: "calibrations", what: "calibration",
		key:   func(c Calibration) string { return fmt.Sprintf("%d %d", c.Cell, c.Number) },
		check: func(ctx context.Context, tx *sql.Tx, c Calibration) error { return cellThere(ctx, tx, c.Cell) },
	}
}

func asCalibration(d Document[Calibration]) Calibration {
	c := d.Value
	c.ID, c.Version, c.Removed = d.ID, d.Version, d.Removed
	return c
}

// cellThere refuses a cell that is not in the store.
func cellThere(ctx context.Context, tx *sql.Tx, cell int64) error {
	_, err := cellName(ctx, tx, cell)
	return err
}

// SaveCalibration keeps a calibration of a cell under the next number. Who and
// Made are filled in where they are empty, and From with Made. Keeping what the
// latest one says already changes nothing. One that Kept.Check refuses is
// ErrInvalid.
func (s *Store) SaveCalibration(ctx context.Context, c Calibration) (Calibration, error) {
	saved := c
	err := s.write(ctx, "keep a calibration", func(tx *sql.Tx) (err error) {
		saved, err = s.appendCalibration(ctx, tx, c)
		return err
	})
	if err != nil {
		return c, err
	}
	return saved, nil
}

func (s *Store) appendCalibration(ctx context.Context, tx *sql.Tx, c Calibration) (Calibration, error) {
	latest, err := latestCalibration(ctx, tx, c.Cell)
	if err != nil {
		return c, err
	}
	c.ID, c.Version, c.Removed = 0, 0, time.Time{}
	now := s.options.Now().UTC().Format(time.RFC3339)
	if c.Made == "" {
		c.Made = now
	}
	if c.Who == "" {
		c.Who = s.who(ctx)
	}
	if c.From == "" {
		c.From = c.Made
	}
	if err := c.Check(); err != nil {
		return c, fmt.Errorf("%w: %w", ErrInvalid, err)
	}
	if same, err := sameCalibration(latest, c); err != nil || same {
		return latest, err
	}
	c.Number = latest.Number + 1
	d, err := calibrationShelf().saveIn(ctx, s, tx, Document[Calibration]{Value: c})
	return asCalibration(d), err
}

// latestCalibration is the one with the highest number, even where it was
// removed, so that no number comes twice. Its number is 0 where there is none.
func latestCalibration(ctx context.Context, tx *sql.Tx, cell int64) (c Calibration, err error) {
	const ask = `SELECT id, version, coalesce(removed, 0), doc FROM calibrations WHERE cell = ? ORDER BY id DESC LIMIT 1`
	err = eachIn(ctx, tx, func(row scan) error {
		var removed int64
		var doc []byte
		if err := row(&c.ID, &c.Version, &removed, &doc); err != nil {
			return err
		}
		c.Removed = removedAt(removed)
		return json.Unmarshal(doc, &c)
	}, ask, cell)
	return c, err
}

// sameCalibration tells whether the latest one, still in force, says what
// another would, whoever kept it and when.
func sameCalibration(latest, c Calibration) (bool, error) {
	if latest.Number == 0 || !latest.Removed.IsZero() {
		return false, nil
	}
	for _, k := range []*Calibration{&latest, &c} {
		k.Number, k.Made, k.Who = 0, "", ""
	}
	a, err := json.Marshal(latest)
	if err != nil {
		return false, err
	}
	b, err := json.Marshal(c)
	if err != nil {
		return false, fmt.Errorf("%w: %w", ErrInvalid, err)
	}
	return bytes.Equal(a, b), nil
}

// Calibrations gives every calibration of a cell that was kept, those that
// were removed as well, by number.
func (s *Store) Calibrations(ctx context.Context, cell int64) ([]Calibration, error) {
	all, err := calibrationShelf().list(ctx, s, `WHERE cell = ? ORDER BY id`, cell)
	return convert(all, asCalibration), err
}

// Zero is a level of a cell that was set to zero; see calibrate.Zero. It can be
// removed (Remove, "zero") and that undone.
type Zero struct {
	ID      int64     `json:"-"`
	Version int64     `json:"-"` // see Document
	Removed time.Time `json:"-"`

	Cell int64 `json:"cell"`
	calibrate.Zero
}

func zeroShelf() shelf[Zero] {
	return shelf[Zero]{
		table: "zeros", what: "zero",
		key:   func(z Zero) string { return fmt.Sprintf("%d %d", z.Cell, z.At) },
		check: func(ctx context.Context, tx *sql.Tx, z Zero) error { return cellThere(ctx, tx, z.Cell) },
	}
}

func asZero(d Document[Zero]) Zero {
	z := d.Value
	z.ID, z.Version, z.Removed = d.ID, d.Version, d.Removed
	return z
}

// SaveZero sets a cell to zero from At on. Who is filled in where it is empty.
func (s *Store) SaveZero(ctx context.Context, z Zero) (Zero, error) {
	if z.Who == "" {
		z.Who = s.who(ctx)
	}
	saved, err := zeroShelf().save(ctx, s, Document[Zero]{Value: z})
	return asZero(saved), err
}

// Zeros gives every zero of a cell, those that were removed as well, in the
// order in which they were set.
func (s *Store) Zeros(ctx context.Context, cell int64) ([]Zero, error) {
	all, err := zeroShelf().list(ctx, s, `WHERE cell = ? ORDER BY id`, cell)
	return convert(all, asZero), err
}

// History gives how the readings of a cell become force, over time.
func (s *Store) History(ctx context.Context, c Cell) (*calibrate.History, error) {
	kept, err := s.Calibrations(ctx, c.ID)
	if err != nil {
		return nil, err
	}
	set, err := s.Zeros(ctx, c.ID)
	if err != nil {
		return nil, err
	}
	var ks []calibrate.Kept
	for _, k := range kept {
		if k.Removed.IsZero() {
			ks = append(ks, k.Kept)
		}
	}
	var zs []calibrate.Zero
	for _, z := range set {
		if z.Removed.IsZero() {
			zs = append(zs, z.Zero)
		}
	}
	h, err := calibrate.NewHistory(c.Curve, ks, zs)
	if err != nil {
		return nil, fmt.Errorf("store: cell %s: %w: %w", c.Name, ErrDamaged, err)
	}
	return h, nil
}

// Measured tells by what a pull that is over was measured.
type Measured struct {
	Pull   int64
	PeakAt int64 // ns UTC
	By     Derived
}

// MeasuredBy tells of every pull of a cell that is over by what it was measured,
// the earliest first.
func (s *Store) MeasuredBy(ctx context.Context, cell int64) (out []Measured, err error) {
	const ask = `SELECT id, doc ->> '$.found.PeakAt', doc -> '$.by' FROM pulls WHERE cell = ? AND settled = 1 AND json_valid(doc) ORDER BY start_ns, id`
	err = s.query(ctx, "read by what pulls were measured", func(row scan) error {
		var m Measured
		var by []byte
		if err := row(&m.Pull, &m.PeakAt, &by); err != nil {
			return err
		}
		if by != nil {
			if err := json.Unmarshal(by, &m.By); err != nil {
				return err
			}
		}
		out = append(out, m)
		return nil
	}, ask, cell)
	return out, err
}
