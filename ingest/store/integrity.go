package store

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"tautlog/calc/words"
)

// Integrity reads everything and reports whatever does not agree: the
// database's own structure, the checksum and the content of every block and
// tail, the order of time, the levels against the readings, the links of gear
// against the pulls, and the attachments. Each damaged
// block is a *DamageError among the joined errors.
func (s *Store) Integrity(ctx context.Context) error {
	return s.read(ctx, "store: check the store", func(tx *sql.Tx) error {
		c := checker{tx: tx}
		for _, check := range []func(context.Context) error{c.structure, c.references, c.readings, c.levelsLeft, c.pulls, c.linksLeft, c.sets, c.attachments} {
			if err := check(ctx); err != nil {
				return errors.Join(append(c.found, err)...)
			}
		}
		return errors.Join(c.found...)
	})
}

// checker collects what does not agree.
type checker struct {
	tx     *sql.Tx
	found  []error
	levels int // rows of levels that belong to a block
}

func (c *checker) add(err error) { c.found = append(c.found, err) }

func (c *checker) structure(ctx context.Context) error {
	return c.each(ctx, `PRAGMA integrity_check`, func(row scan) error {
		var verdict string
		err := row(&verdict)
		if verdict != "ok" {
			c.add(fmt.Errorf("%w: %s", ErrDamaged, verdict))
		}
		return err
	})
}

func (c *checker) references(ctx context.Context) error {
	return c.each(ctx, `SELECT "table", coalesce(rowid, 0), parent FROM pragma_foreign_key_check`, func(row scan) error {
		var table, parent string
		var id int64
		err := row(&table, &id, &parent)
		c.add(words.Error("store.damaged.row", ErrDamaged, id, table, parent))
		return err
	})
}

func (c *checker) each(ctx context.Context, query string, use func(scan) error, args ...any) error {
	return eachIn(ctx, c.tx, use, query, args...)
}

// readings decodes every row in order of cell and time.
func (c *checker) readings(ctx context.Context) error {
	const all = `
		SELECT 'blocks', id, cell, first_ns, last_ns, n, payload FROM blocks UNION ALL
		SELECT 'tails', id, cell, first_ns, last_ns, n, payload FROM tails
		ORDER BY cell, first_ns`
	var before row
	return eachRow(ctx, c.tx, func(r row) (bool, error) {
		if r.cell == before.cell && r.first <= before.last {
			c.add(r.damaged(words.Error("store.damaged.overlap", thing(before.table), before.id)))
		}
		before = r
		before.payload = nil
		runs, err := r.decode()
		if err != nil {
			c.add(err)
		}
		if r.table == blocksTable {
			return true, c.blockLevels(ctx, r, runs)
		}
		return true, nil
	}, all)
}

// blockLevels compares the levels of a block with its readings.
func (c *checker) blockLevels(ctx context.Context, r row, runs []Run) error {
	for _, size := range []int{coarse, fine} {
		var span int64
		var packed []byte
		const ask = `SELECT longest_ns, extents FROM levels WHERE cell = ? AND size = ? AND first_ns = ?`
		err := c.tx.QueryRowContext(ctx, ask, r.cell, size, r.first).Scan(&span, &packed)
		if errors.Is(err, sql.ErrNoRows) {
			c.add(r.damaged(words.Error("store.damaged.nolevel", size)))
			continue
		}
		if err != nil {
			return err
		}
		c.levels++
		if es := extents(runs, size); runs != nil && (span != longest(es) || !bytes.Equal(packed, encodeExtents(es))) {
			c.add(r.damaged(words.Error("store.damaged.level", size)))
		}
	}
	return nil
}

// levelsLeft looks for levels without a block.
func (c *checker) levelsLeft(ctx context.Context) error {
	var n int
	err := c.tx.QueryRowContext(ctx, `SELECT count(*) FROM levels`).Scan(&n)
	if err == nil && n != c.levels {
		c.add(words.Error("store.damaged.levels", ErrDamaged, n-c.levels))
	}
	return err
}

func (c *checker) sets(ctx context.Context) error {
	return c.each(ctx, setColumns, func(row scan) error {
		_, err := readSet(row)
		if errors.Is(err, ErrDamaged) {
			c.add(err)
			err = nil
		}
		return err
	})
}
