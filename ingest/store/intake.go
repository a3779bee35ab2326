package store

import (
	"context"
	"database/sql"
)

// Intake is what is being brought into a store piece by piece, in one
// transaction.
type Intake struct {
	s  *Store
	tx *sql.Tx
}

// BringIn lets f bring in readings, their cell and their pulls, piece by piece,
// so that they need not be in memory together. All of it is kept, durably, when
// f returns nil; when it returns an error, which BringIn then returns, or the
// process is killed, the store is as it was. Until then nobody else can write,
// and nobody sees any of it.
func (s *Store) BringIn(ctx context.Context, f func(*Intake) error) error {
	var failed error
	err := s.writeReadings(ctx, "store: bring in readings", func(tx *sql.Tx) error {
		failed = f(&Intake{s, tx})
		return failed
	})
	if failed != nil {
		return failed
	}
	return err
}

// Append takes the next runs; see Store.Append.
func (k *Intake) Append(ctx context.Context, runs []Run) error {
	rows, err := tailRows(runs)
	if err == nil {
		err = k.s.append.rows(ctx, k.tx, rows)
	}
	return k.s.explain("store: append readings", err)
}

// SaveCell writes a cell; see Store.SaveCell.
func (k *Intake) SaveCell(ctx context.Context, c Cell) (Cell, error) {
	saved, err := cellShelf().saveIn(ctx, k.s, k.tx, cellDocument(c))
	return asCell(saved), k.s.explain("store: save cell", err)
}

// SavePulls writes pulls; see Store.SavePulls.
func (k *Intake) SavePulls(ctx context.Context, pulls []Pull) error {
	if len(pulls) == 0 {
		return nil
	}
	_, err := k.s.savePullsIn(ctx, k.tx, pulls)
	return k.s.explain(savesPulls(pulls), err)
}
