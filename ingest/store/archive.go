package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"time"

	"github.com/gofrs/flock"
)

// ArchivedCell says under which name the readings of a cell are in an archive,
// and how far.
type ArchivedCell struct {
	Archive string // its address
	Cell    int64
	Station string // the laptop, or what people call it, that the cell is of
	Name    string // of the cell there; stays as it is when the cell is renamed
	Until   int64  // every reading from before that, ns UTC, is there, but for what is in stretches
	Scale   string // what newtons were worked out by
}

// ArchiveStretch is a stretch of readings that an archive must be given once
// more: because they were added behind what it had, because the calibration
// was corrected, or because it refused them.
type ArchiveStretch struct {
	ID       int64
	From, To int64  // ns UTC; To itself is left out
	Refusal  string // what the archive said; empty: it did not refuse them
}

// archiveLock keeps two programs from pushing one store at the same time.
const archiveLock = "archive.lock"

// LockArchive waits until nobody else pushes this store, at most until ctx
// ends, and says first that it waits. Unlock lets others.
func (s *Store) LockArchive(ctx context.Context, waits func()) (unlock func() error, err error) {
	lock := flock.New(filepath.Join(s.dir, archiveLock), flock.SetPermissions(0o640))
	got, err := lock.TryLock()
	if err == nil && !got {
		waits()
		_, err = lock.TryLockContext(ctx, 50*time.Millisecond)
	}
	if err != nil {
		return nil, fmt.Errorf("store: lock the archive of %s: %w", s.dir, err)
	}
	return lock.Unlock, nil
}

// Station is what this store is called in an archive, since many of them push
// into one: what it was called the first time, else the proposal. It is empty
// where neither is known.
func (s *Store) Station(ctx context.Context, proposal string) (name string, err error) {
	const ask = `SELECT name FROM archive_station`
	err = s.read(ctx, "store: read the station", func(tx *sql.Tx) error { return tx.QueryRowContext(ctx, ask).Scan(&name) })
	if !errors.Is(err, ErrNotFound) {
		return name, err
	}
	if proposal == "" {
		return "", nil
	}
	err = s.write(ctx, "store: keep the station", func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, `INSERT OR IGNORE INTO archive_station (id, name) VALUES (1, ?)`, proposal); err != nil {
			return err
		}
		return tx.QueryRowContext(ctx, ask).Scan(&name)
	})
	return name, err
}

const archivedColumns = `SELECT a.address, c.cell, c.station, c.name, c.until_ns, c.scale
	FROM archive_cells c JOIN archives a ON a.id = c.archive `

func readArchived(row scan) (a ArchivedCell, err error) {
	err = row(&a.Archive, &a.Cell, &a.Station, &a.Name, &a.Until, &a.Scale)
	return a, err
}

// ArchivedCells gives the cells that an archive knows of, in the order of
// their IDs.
func (s *Store) ArchivedCells(ctx context.Context, archive string) (all []ArchivedCell, err error) {
	err = s.query(ctx, "store: read what is archived", func(row scan) error {
		a, err := readArchived(row)
		all = append(all, a)
		return err
	}, archivedColumns+`WHERE a.address = ? ORDER BY c.cell`, archive)
	return all, err
}

// ArchiveCell gives how far a cell is in an archive. One that it did not know
// of begins with nothing, under the station and name given, or where another
// cell has that name, with a number behind it.
func (s *Store) ArchiveCell(ctx context.Context, c ArchivedCell) (known ArchivedCell, err error) {
	err = s.write(ctx, "store: note what is archived", func(tx *sql.Tx) error {
		id, err := archiveID(ctx, tx, c.Archive)
		if err != nil {
			return err
		}
		const insert = `INSERT OR IGNORE INTO archive_cells (archive, cell, station, name, until_ns, scale) VALUES (?, ?, ?, ?, ?, ?)`
		for n := 1; ; n++ {
			name := c.Name
			if n > 1 {
				name = fmt.Sprintf("%s %d", c.Name, n)
			}
			if _, err := tx.ExecContext(ctx, insert, id, c.Cell, c.Station, name, int64(math.MinInt64), c.Scale); err != nil {
				return err
			}
			known, err = readArchived(tx.QueryRowContext(ctx, archivedColumns+`WHERE c.archive = ? AND c.cell = ?`, id, c.Cell).Scan)
			if !errors.Is(err, sql.ErrNoRows) {
				return err
			}
		}
	})
	return known, err
}

func archiveID(ctx context.Context, tx *sql.Tx, address string) (id int64, err error) {
	const note = `INSERT INTO archives (address) VALUES (?) ON CONFLICT (address) DO UPDATE SET address = excluded.address RETURNING id`
	err = tx.QueryRowContext(ctx, note, address).Scan(&id)
	return id, err
}

// Rescale notes that newtons are worked out in another way for what was taken
// from a moment on, ns UTC: what the archive has of that must be pushed once
// more.
func (s *Store) Rescale(ctx context.Context, c ArchivedCell, scale string, from int64) (ArchivedCell, error) {
	err := s.write(ctx, "store: push a cell once more", func(tx *sql.Tx) error {
		id, err := archiveID(ctx, tx, c.Archive)
		if err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, `DELETE FROM archive_stretches WHERE archive = ? AND cell = ? AND from_ns >= ?`, id, c.Cell, from); err != nil {
			return err
		}
		const again = `INSERT INTO archive_stretches (archive, cell, from_ns, to_ns, refusal)
			SELECT archive, cell, ?1, until_ns, '' FROM archive_cells WHERE archive = ?2 AND cell = ?3 AND until_ns > ?1`
		if _, err := tx.ExecContext(ctx, again, from, id, c.Cell); err != nil {
			return err
		}
		_, err = tx.ExecContext(ctx, `UPDATE archive_cells SET scale = ? WHERE archive = ? AND cell = ?`, scale, id, c.Cell)
		return err
	})
	c.Scale = scale
	return c, err
}

// behindArchive notes that a row of readings of cell ?1, from ?2 to ?3, was
// added behind others: archives may have passed its time, or be about to.
const behindArchive = `INSERT INTO archive_stretches (archive, cell, from_ns, to_ns, refusal)
	SELECT archive, cell, ?2, ?3 + 1, '' FROM archive_cells WHERE cell = ?1 AND (
		EXISTS (SELECT 1 FROM tails WHERE cell = ?1 AND first_ns > ?3) OR EXISTS (SELECT 1 FROM blocks WHERE cell = ?1 AND first_ns > ?3))`
