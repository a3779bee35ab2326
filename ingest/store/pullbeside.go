package store

import (
	"cmp"
	"context"
	"database/sql"
	"fmt"

	"tautlog/analysis/pull"
)

// PullBeside gives the pull that is p as the other cell of its rig saw it, by
// pull.SameMoment. It is false for a rig without two cells, for a cell that is
// none of them, and where the other one has no pull at that moment. A cell is
// that of the rig by the name that it had when its pull was entered.
func (s *Store) PullBeside(ctx context.Context, p Pull) (beside Pull, ok bool, err error) {
	if p.Rig == nil || p.Aside != nil {
		return beside, false, nil
	}
	has := p.Rig.Cells()
	if len(has) != 2 {
		return beside, false, nil
	}
	err = s.read(ctx, fmt.Sprintf("store: read what is beside pull %d", p.ID), func(tx *sql.Tx) error {
		other := ""
		switch read, err := readBy(ctx, tx, p); {
		case err != nil:
			return err
		case read == has[0].Name:
			other = has[1].Name
		case read == has[1].Name:
			other = has[0].Name
		default:
			return nil
		}
		all, err := overlapping(ctx, tx, p, other)
		if err != nil {
			return err
		}
		found := make([]pull.Pull, len(all))
		for i, q := range all {
			found[i] = q.Found
		}
		if i := pull.SameMoment(p.Found, found); i >= 0 {
			beside, ok = all[i], true
		}
		return nil
	})
	return beside, ok, err
}

// readBy is the name of the cell that read a pull; before pulls kept it, that
// was the one that the cell has now.
func readBy(ctx context.Context, tx *sql.Tx, p Pull) (string, error) {
	if p.Read != "" {
		return p.Read, nil
	}
	return cellName(ctx, tx, p.Cell)
}

// overlapping gives the pulls that overlap one in time and were read by a cell
// of that name. It looks along the same index as foundAgain, cell by cell.
func overlapping(ctx context.Context, tx *sql.Tx, p Pull, by string) (out []Pull, err error) {
	var cells []Cell
	err = eachIn(ctx, tx, func(row scan) error {
		var c Cell
		err := row(&c.ID, &c.Name)
		cells = append(cells, c)
		return err
	}, `SELECT id, key FROM cells WHERE id <> ? ORDER BY id`, p.Cell)
	for _, c := range cells {
		if err != nil {
			break
		}
		err = eachIn(ctx, tx, func(row scan) error {
			q, err := readPull(row)
			if q.Read = cmp.Or(q.Read, c.Name); q.Read == by {
				out = append(out, q.Pull)
			}
			return err
		}, pullColumns+overlaps, c.ID, p.Found.Start, p.Found.End)
	}
	return out, err
}
