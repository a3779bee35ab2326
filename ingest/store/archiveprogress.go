package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math"
	"time"
)

// Pushed notes that an archive took the readings of a cell from c.Until up to,
// not including, until. Where it refused some, those from refusedFrom on are
// noted as a stretch, with what it said.
func (s *Store) Pushed(ctx context.Context, c ArchivedCell, until int64, refused []ArchiveStretch) (ArchivedCell, error) {
	err := s.write(ctx, "store: note what is archived", func(tx *sql.Tx) error {
		id, err := archiveID(ctx, tx, c.Archive)
		if err != nil {
			return err
		}
		const move = `UPDATE archive_cells SET until_ns = max(until_ns, ?) WHERE archive = ? AND cell = ?`
		if _, err := tx.ExecContext(ctx, move, until, id, c.Cell); err != nil {
			return err
		}
		return s.notePush(ctx, tx, id, c.Cell, refused)
	})
	c.Until = max(c.Until, until)
	return c, err
}

// PushedAgain notes that an archive took the readings of a stretch up to, not
// including, until; see Pushed.
func (s *Store) PushedAgain(ctx context.Context, c ArchivedCell, t ArchiveStretch, until int64, refused []ArchiveStretch) error {
	return s.write(ctx, "store: note what is archived", func(tx *sql.Tx) error {
		id, err := archiveID(ctx, tx, c.Archive)
		if err != nil {
			return err
		}
		step, args := `UPDATE archive_stretches SET from_ns = ? WHERE id = ?`, []any{until, t.ID}
		if until >= t.To {
			step, args = `DELETE FROM archive_stretches WHERE id = ?`, []any{t.ID}
		}
		if _, err := tx.ExecContext(ctx, step, args...); err != nil {
			return err
		}
		return s.notePush(ctx, tx, id, c.Cell, refused)
	})
}

// notePush notes when something was pushed last and what of it was refused. A
// stretch that goes on where a refused one ends is added to it.
func (s *Store) notePush(ctx context.Context, tx *sql.Tx, archive, cell int64, refused []ArchiveStretch) error {
	for _, r := range refused {
		const lengthen = `UPDATE archive_stretches SET to_ns = ? WHERE archive = ? AND cell = ? AND refusal = ? AND to_ns = ?`
		done, err := tx.ExecContext(ctx, lengthen, r.To, archive, cell, r.Refusal, r.From)
		if err != nil {
			return err
		}
		if n, err := done.RowsAffected(); err != nil || n > 0 {
			if err != nil {
				return err
			}
			continue
		}
		const insert = `INSERT INTO archive_stretches (archive, cell, from_ns, to_ns, refusal) VALUES (?, ?, ?, ?, ?)`
		if _, err := tx.ExecContext(ctx, insert, archive, cell, r.From, r.To, r.Refusal); err != nil {
			return err
		}
	}
	return s.noteArchive(ctx, tx, archive, refused)
}

// noteArchive notes a success, or what was refused.
func (s *Store) noteArchive(ctx context.Context, tx *sql.Tx, archive int64, refused []ArchiveStretch) error {
	now := s.options.Now().UnixNano()
	if len(refused) > 0 {
		_, err := tx.ExecContext(ctx, `UPDATE archives SET failed = ?, failure = ? WHERE id = ?`, now, refused[len(refused)-1].Refusal, archive)
		return err
	}
	_, err := tx.ExecContext(ctx, `UPDATE archives SET pushed = ? WHERE id = ?`, now, archive)
	return err
}

// ArchiveFailed notes why an archive could not be pushed to, for those who ask.
func (s *Store) ArchiveFailed(ctx context.Context, archive, why string) error {
	return s.write(ctx, "store: note a failure of the archive", func(tx *sql.Tx) error {
		id, err := archiveID(ctx, tx, archive)
		if err != nil {
			return err
		}
		_, err = tx.ExecContext(ctx, `UPDATE archives SET failed = ?, failure = ? WHERE id = ?`, s.options.Now().UnixNano(), why, id)
		return err
	})
}

// ArchiveStretches gives the stretches of a cell that wait, the earliest
// first: those that were refused, or the others.
func (s *Store) ArchiveStretches(ctx context.Context, c ArchivedCell, refused bool) (all []ArchiveStretch, err error) {
	err = s.query(ctx, "store: read what is to be archived again", func(row scan) error {
		var t ArchiveStretch
		err := row(&t.ID, &t.From, &t.To, &t.Refusal)
		all = append(all, t)
		return err
	}, `SELECT s.id, from_ns, to_ns, refusal FROM archive_stretches s JOIN archives a ON a.id = s.archive
		WHERE a.address = ? AND cell = ? AND (refusal <> '') = ? ORDER BY from_ns`, c.Archive, c.Cell, refused)
	return all, err
}

// ArchivedPull is a pull that an archive must be given.
type ArchivedPull struct {
	Pull
	// At is the time under which it is there, ns UTC: where it began when it was
	// pushed first, for one that a person made a little later by its number, because
	// one that is set aside may be there at the same time.
	At      int64
	Changed int64  // of the pull or its test day
	TestDay string // date and name of the test day; empty: none
}

// PullsToArchive gives settled pulls that an archive has not, or not as they
// are now, the earliest first; those set aside only where it has them. Those that it refused as they are come along
// only where refused.
func (s *Store) PullsToArchive(ctx context.Context, archive string, refused bool, limit int) (all []ArchivedPull, err error) {
	err = s.query(ctx, "store: read what pulls are to be archived", func(row scan) error {
		var p ArchivedPull
		stored, err := readPull(func(columns ...any) error { return row(append(columns, &p.At, &p.Changed, &p.TestDay)...) })
		p.Pull = stored.Pull
		all = append(all, p)
		return err
	}, `SELECT id, cell, day, settled, edited, version, updated, doc, at, changed, test_day FROM `+pullsToArchive+` ORDER BY start_ns, id LIMIT ?3`,
		archive, refused, orAll(limit))
	return all, err
}

// pullsToArchive are the pulls that archive ?1 waits for.
const pullsToArchive = `(SELECT pulls.id, cell, coalesce(day, 0) day, settled, edited, pulls.version, pulls.updated, pulls.doc, start_ns,
		coalesce(a.at_ns, start_ns + iif(pulls.doc ->> '$.limits.made', pulls.id, 0)) at, max(pulls.updated, coalesce(days.updated, 0)) changed, coalesce(days.key, '') test_day, a.changed had, a.refusal
	FROM pulls LEFT JOIN days ON days.id = day
	LEFT JOIN archive_pulls a ON a.pull = pulls.id AND a.archive = (SELECT id FROM archives WHERE address = ?1)
	WHERE settled AND (start_ns >= ` + counting + ` OR a.pull IS NOT NULL)) WHERE (had IS NULL OR had <> changed OR (refusal <> '' AND ?2))`

// PullPushed notes that an archive has a pull as it is now, or refused it.
func (s *Store) PullPushed(ctx context.Context, archive string, p ArchivedPull, refusal string) error {
	return s.write(ctx, "store: note what is archived", func(tx *sql.Tx) error {
		id, err := archiveID(ctx, tx, archive)
		if err != nil {
			return err
		}
		const note = `INSERT INTO archive_pulls (archive, pull, at_ns, changed, refusal) VALUES (?, ?, ?, ?, ?)
			ON CONFLICT DO UPDATE SET changed = excluded.changed, refusal = excluded.refusal`
		if _, err := tx.ExecContext(ctx, note, id, p.ID, p.At, p.Changed, refusal); err != nil {
			return err
		}
		var refused []ArchiveStretch
		if refusal != "" {
			refused = []ArchiveStretch{{Refusal: refusal}}
		}
		return s.noteArchive(ctx, tx, id, refused)
	})
}

// ArchiveState says how far an archive is.
type ArchiveState struct {
	Archive  string
	Pushed   time.Time // when it last took something; zero: never
	Failed   time.Time // when something last went wrong; zero: never
	Failure  string    // what
	Readings int       // that it has not, as they are now
	Refused  int       // of those, refused by it
	Pulls    int       // that it has not, as they are now
	Behind   time.Time // of the readings that it has not, the time of the earliest; zero: it has all
}

// ArchiveStates says how far every archive is that this store was pushed to,
// the latest first.
func (s *Store) ArchiveStates(ctx context.Context) (all []ArchiveState, err error) {
	err = s.query(ctx, "store: read how far archives are", func(row scan) error {
		var a ArchiveState
		var pushed, failed sql.NullInt64
		var failure sql.NullString
		err := row(&a.Archive, &pushed, &failed, &failure)
		a.Pushed, a.Failed, a.Failure = timeOrZero(pushed), timeOrZero(failed), failure.String
		all = append(all, a)
		return err
	}, `SELECT address, pushed, failed, failure FROM archives ORDER BY coalesce(pushed, 0) DESC, id DESC`)
	for i := range all {
		err = errors.Join(err, s.measureArchive(ctx, &all[i]))
	}
	return all, err
}

// ArchiveState says how far one archive is, also one that was never pushed to.
func (s *Store) ArchiveState(ctx context.Context, archive string) (ArchiveState, error) {
	all, err := s.ArchiveStates(ctx)
	for _, a := range all {
		if a.Archive == archive {
			return a, err
		}
	}
	a := ArchiveState{Archive: archive}
	return a, errors.Join(err, s.measureArchive(ctx, &a))
}

func timeOrZero(ns sql.NullInt64) time.Time {
	if !ns.Valid {
		return time.Time{}
	}
	return time.Unix(0, ns.Int64).UTC()
}

// measureArchive counts what an archive has not.
func (s *Store) measureArchive(ctx context.Context, a *ArchiveState) error {
	cells, err := s.Cells(ctx)
	if err != nil {
		return err
	}
	known, err := s.ArchivedCells(ctx, a.Archive)
	if err != nil {
		return err
	}
	until := map[int64]ArchivedCell{}
	for _, c := range known {
		until[c.Cell] = c
	}
	for _, c := range cells {
		at, ok := until[c.ID]
		if !ok {
			at = ArchivedCell{Archive: a.Archive, Cell: c.ID, Until: math.MinInt64}
		}
		if err := s.measureCell(ctx, a, at); err != nil {
			return err
		}
	}
	const pulls = `SELECT count(*) FROM ` + pullsToArchive
	return s.read(ctx, "store: count the pulls to archive", func(tx *sql.Tx) error {
		return tx.QueryRowContext(ctx, pulls, a.Archive, true).Scan(&a.Pulls)
	})
}

func (s *Store) measureCell(ctx context.Context, a *ArchiveState, c ArchivedCell) error {
	again, err := s.ArchiveStretches(ctx, c, false)
	if err != nil {
		return err
	}
	refused, err := s.ArchiveStretches(ctx, c, true)
	if err != nil {
		return err
	}
	for _, t := range append(append(again, refused...), ArchiveStretch{From: c.Until, To: math.MaxInt64}) {
		n, first, err := s.Count(ctx, c.Cell, t.From, t.To)
		if err != nil {
			return fmt.Errorf("store: count readings to archive: %w", err)
		}
		a.Readings += n
		if t.Refusal != "" {
			a.Refused += n
		}
		if at := time.Unix(0, first).UTC(); n > 0 && (a.Behind.IsZero() || at.Before(a.Behind)) {
			a.Behind = at
		}
	}
	return nil
}

// Failing tells that nothing was pushed since the last failure.
func (a ArchiveState) Failing() bool { return a.Failed.After(a.Pushed) }
