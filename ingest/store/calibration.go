package store

import (
	"bytes"
	"cmp"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
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
	return ofCellShelf("calibrations", "calibration", func(c Calibration) (cell, number int64) { return c.Cell, int64(c.Number) })
}

func asCalibration(d Document[Calibration]) Calibration {
	c := d.Value
	c.ID, c.Version, c.Removed = d.ID, d.Version, d.Removed
	return c
}

// ofCellShelf is a table of what belongs to a cell, whose number tells it from
// others of that cell.
func ofCellShelf[T any](table, what string, of func(T) (cell, number int64)) shelf[T] {
	return shelf[T]{
		table: table, what: what,
		key: func(v T) string {
			cell, number := of(v)
			return fmt.Sprintf("%d %d", cell, number)
		},
		check: func(ctx context.Context, tx *sql.Tx, v T) error {
			cell, _ := of(v)
			return cellThere(ctx, tx, cell)
		},
	}
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
	err := s.write(ctx, "store: keep a calibration", func(tx *sql.Tx) (err error) {
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
		return c, refuse(ErrInvalid, err)
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
		return false, refuse(ErrInvalid, err)
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
	return ofCellShelf("zeros", "zero", func(z Zero) (cell, at int64) { return z.Cell, z.At })
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

// Measure is a stretch of time with what the force of a cell is derived by in
// it. Until itself, ns UTC, is left out.
type Measure struct {
	From, Until int64
	By          Derived
}

// MeasuredOtherwise gives the pulls of a cell that are over and were measured by
// something else than is in force at their peak, the earliest first. The
// stretches follow each other, the earliest first, and leave out no moment. It
// goes along an index and so costs what it finds, however many pulls there are.
func (s *Store) MeasuredOtherwise(ctx context.Context, cell int64, inForce []Measure) (out []int64, err error) {
	err = s.read(ctx, "store: read by what pulls were measured", func(tx *sql.Tx) error {
		found := map[int64]int64{} // when the peak was, by pull
		by, err := nextMeasure(ctx, tx, cell, Derived{Calibration: -1})
		for ; err == nil; by, err = nextMeasure(ctx, tx, cell, by) {
			for _, gap := range otherwise(inForce, by) {
				if err := measuredIn(ctx, tx, cell, by, gap, found); err != nil {
					return err
				}
			}
		}
		if !errors.Is(err, sql.ErrNoRows) {
			return err
		}
		out = slices.SortedFunc(maps.Keys(found), func(a, b int64) int { return cmp.Or(cmp.Compare(found[a], found[b]), cmp.Compare(a, b)) })
		return nil
	})
	return out, err
}

// nextMeasure gives what comes behind another among all that pulls of a cell
// were measured by, or sql.ErrNoRows.
func nextMeasure(ctx context.Context, tx *sql.Tx, cell int64, behind Derived) (by Derived, err error) {
	const next = `SELECT by_calibration, by_zero FROM pulls WHERE cell = ?1 AND settled = 1 AND (by_calibration, by_zero) > (?2, ?3)
		ORDER BY by_calibration, by_zero LIMIT 1`
	err = tx.QueryRowContext(ctx, next, cell, behind.Calibration, behind.Zero).Scan(&by.Calibration, &by.Zero)
	return by, err
}

// otherwise gives the stretches in which something else than by is in force,
// those that follow each other as one.
func otherwise(inForce []Measure, by Derived) (out []Measure) {
	for _, m := range inForce {
		switch n := len(out); {
		case m.By == by:
		case n > 0 && out[n-1].Until == m.From:
			out[n-1].Until = m.Until
		default:
			out = append(out, m)
		}
	}
	return out
}

// measuredIn adds the pulls with their peak in a stretch.
func measuredIn(ctx context.Context, tx *sql.Tx, cell int64, by Derived, in Measure, found map[int64]int64) error {
	const ask = `SELECT id, peak_at FROM pulls WHERE cell = ? AND settled = 1 AND by_calibration = ? AND by_zero = ? AND peak_at >= ? AND peak_at < ? AND start_ns >= ` + counting
	return eachIn(ctx, tx, func(row scan) error {
		var id, at int64
		err := row(&id, &at)
		found[id] = at
		return err
	}, ask, cell, by.Calibration, by.Zero, in.From, in.Until)
}
