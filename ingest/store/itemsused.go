package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"time"

	"tautlog/analysis/life"
	"tautlog/calc/gear"
	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// ItemsUsed gives what the owner's rules count (life.UsedIn) of the items whose
// pulls were changed since a count that an earlier call gave: from 0 of all
// that ever were in a pull. With it comes the count of now.
func (s *Store) ItemsUsed(ctx context.Context, since int64) (used map[int64]gear.Used, now int64, err error) {
	used = map[int64]gear.Used{}
	err = s.read(ctx, "store: count the uses of gear", func(tx *sql.Tx) error {
		for _, count := range []func(context.Context, *sql.Tx, int64, map[int64]gear.Used) error{countPlain, countBeside} {
			if err := count(ctx, tx, since, used); err != nil {
				return err
			}
		}
		return tx.QueryRowContext(ctx, `SELECT coalesce(max(changed), 0) FROM items_used`).Scan(&now)
	})
	return used, now, err
}

// countPlain counts, along an index alone, the pulls that no other cell can
// have seen.
func countPlain(ctx context.Context, tx *sql.Tx, since int64, used map[int64]gear.Used) error {
	return eachIn(ctx, tx, func(row scan) error {
		var item int64
		var most sql.NullFloat64
		var u gear.Used
		err := row(&item, &u.Pulls, &most)
		u.Peak = unit.Force(most.Float64)
		used[item] = u
		return err
	}, plainUses, since)
}

// Both go from the items that changed to the links of each, in this order.
const (
	changedItems = ` FROM (SELECT item FROM items_used INDEXED BY items_used_by_change WHERE changed > ?) u `
	plainUses    = `SELECT u.item, count(l.item), max(0, coalesce(max(l.most), 0))` + changedItems + `
	LEFT JOIN pull_items l INDEXED BY pull_items_used ON l.item = u.item AND l.beside = 0 GROUP BY u.item`
	besideUses = `SELECT l.item, l.pull, l.start_ns, l.kind, l.ground, l.doc` + changedItems + `
	CROSS JOIN pull_items l INDEXED BY pull_items_used ON l.item = u.item AND l.beside = 1`
)

// countBeside adds those that another cell may have seen too.
func countBeside(ctx context.Context, tx *sql.Tx, since int64, used map[int64]gear.Used) error {
	uses := map[int64][]life.Use{}
	err := eachIn(ctx, tx, func(row scan) error {
		var item int64
		u, err := readUse(row, &item)
		uses[item] = append(uses[item], u)
		return err
	}, besideUses, since)
	for item, all := range uses {
		more, sum := life.UsedIn(all), used[item]
		sum.Pulls, sum.Peak = sum.Pulls+more.Pulls, max(sum.Peak, more.Peak)
		used[item] = sum
	}
	return err
}

// LastAbove is the day, in a zone, of the latest pull in which an item may have
// carried more than a load; empty where there is none.
func (s *Store) LastAbove(ctx context.Context, item int64, load unit.Force, zone *time.Location) (gear.Date, error) {
	var start int64
	err := s.read(ctx, "store: read the uses of gear", func(tx *sql.Tx) error {
		return tx.QueryRowContext(ctx, `SELECT coalesce(max(start_ns), 0) FROM pull_items INDEXED BY pull_items_used
	WHERE item = ? AND beside IN (0, 1) AND most > ?`, item, float64(load)).Scan(&start)
	})
	if err != nil || start == 0 {
		return "", err
	}
	return gear.Date(time.Unix(0, start).In(zone).Format(time.DateOnly)), nil
}

// readUse reads a link of an item, behind what the caller asks for first.
func readUse(row scan, first ...any) (u life.Use, err error) {
	var doc []byte
	if err := row(append(first, &u.Pull, &u.Start, &u.Kind, &u.Ground, &doc)...); err != nil {
		return u, err
	}
	if err := json.Unmarshal(doc, &u); err != nil {
		return u, words.Error("store.damaged.use", ErrDamaged, u.Pull, err)
	}
	return u, nil
}

// otherCells are the pulls that overlap a stretch of time at another cell than
// that of a pull. It looks along the same index as foundAgain.
const otherCells = `SELECT p.id FROM cells c CROSS JOIN pulls p ON p.cell = c.id
	AND p.start_ns >= ?2 - (SELECT max(end_ns - start_ns) FROM pulls WHERE cell = c.id) AND p.start_ns <= ?3 AND p.end_ns >= ?2
	WHERE c.id <> ?1`

// noteBeside marks the links of a pull, and of those that overlap it at another
// cell: each may be the same pull as that cell saw it. A mark stays when a pull
// is moved away; it only says that ItemsUsed has to look. The links of a pull that
// is set aside are marked as that, and ItemsUsed passes them over.
func noteBeside(ctx context.Context, tx *sql.Tx, p Pull) error {
	if p.Aside != nil {
		_, err := tx.ExecContext(ctx, `UPDATE pull_items SET beside = 2 WHERE pull = ?`, p.ID)
		return err
	}
	near, err := overlapped(ctx, tx, p)
	if err != nil || len(near) == 0 {
		return err
	}
	for _, id := range append(near, p.ID) {
		if _, err := tx.ExecContext(ctx, `UPDATE pull_items SET beside = 1 WHERE pull = ? AND beside = 0`, id); err != nil {
			return err
		}
	}
	return nil
}

func overlapped(ctx context.Context, tx *sql.Tx, p Pull) (ids []int64, err error) {
	err = eachIn(ctx, tx, func(row scan) error {
		var id int64
		err := row(&id)
		ids = append(ids, id)
		return err
	}, otherCells, p.Cell, p.Found.Start, p.Found.End)
	return ids, err
}
