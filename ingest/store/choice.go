package store

import (
	"context"
	"database/sql"
	"errors"

	"tautlog/analysis/shock"
)

// PlanningWith gives the set that was chosen to plan with, or the rule of
// thumb.
func (s *Store) PlanningWith(ctx context.Context) (k shock.Kept, err error) {
	err = s.read(ctx, "store: read what is planned with", func(tx *sql.Tx) error {
		stored, err := chosenSet(ctx, tx)
		k = stored.Kept
		return err
	})
	return k, err
}

// PlanningWithRef names the set that PlanningWith gives, without reading it.
func (s *Store) PlanningWithRef(ctx context.Context) (ref SetRef, err error) {
	err = s.read(ctx, "store: read what is planned with", func(tx *sql.Tx) error {
		const ask = `SELECT name, version FROM sets WHERE id = (SELECT kept FROM choices ORDER BY id DESC LIMIT 1)`
		err := tx.QueryRowContext(ctx, ask).Scan(&ref.Name, &ref.Version)
		if errors.Is(err, sql.ErrNoRows) {
			ref, err = refOf(shock.RuleOfThumb()), nil
		}
		return err
	})
	return ref, err
}

// chosenSet gives the set that is chosen; id 0 is the rule of thumb.
func chosenSet(ctx context.Context, tx *sql.Tx) (storedSet, error) {
	const condition = `WHERE id = (SELECT kept FROM choices ORDER BY id DESC LIMIT 1)`
	k, err := readSet(tx.QueryRowContext(ctx, setColumns+condition).Scan)
	if errors.Is(err, sql.ErrNoRows) {
		return storedSet{Kept: shock.RuleOfThumb()}, nil
	}
	return k, err
}

// PlanWith chooses the set to plan with: the named version, the latest that
// there is now for 0, or the rule of thumb by its name. A version that is kept
// later changes nothing of it. Choosing what is chosen already changes nothing;
// a choice is undone by choosing again.
func (s *Store) PlanWith(ctx context.Context, name string, version int) (k shock.Kept, err error) {
	err = s.write(ctx, "store: plan with set "+nameSet(name, version), func(tx *sql.Tx) error {
		k, err = s.choose(ctx, tx, name, version)
		return err
	})
	return k, err
}

func (s *Store) choose(ctx context.Context, tx *sql.Tx, name string, version int) (k shock.Kept, err error) {
	before, err := chosenSet(ctx, tx)
	if err != nil {
		return k, err
	}
	next := storedSet{Kept: shock.RuleOfThumb()}
	if !shock.IsRuleOfThumb(name) || version != 0 {
		if next, err = setInForce(ctx, tx, name, version); err != nil {
			return k, err
		}
	}
	if next.id == before.id {
		return next.Kept, nil
	}
	now := s.options.Now().UTC()
	if _, err := tx.ExecContext(ctx, `INSERT INTO choices (since, kept) VALUES (?, ?)`, now.UnixNano(), idOrNull(next.id)); err != nil {
		return k, err
	}
	return next.Kept, s.enterRefs(ctx, tx, now, "choice", next.id, refOf(before.Kept), refOf(next.Kept))
}
