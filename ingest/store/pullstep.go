package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"tautlog/calc/words"
)

// What a person makes of several pulls at once is a step: its changes stand in
// the journal under one number, and Undo of any of them takes all of them back.

type stepKey struct{}

// inStep gives the context of a step that begins now.
func inStep(ctx context.Context, tx *sql.Tx) (context.Context, error) {
	var next int64
	err := tx.QueryRowContext(ctx, `SELECT coalesce(max(id), 0) + 1 FROM journal`).Scan(&next)
	return context.WithValue(ctx, stepKey{}, next), err
}

func stepOf(ctx context.Context) int64 {
	step, _ := ctx.Value(stepKey{}).(int64)
	return step
}

// JoinPulls makes one pull of two of a cell, in one step: into, an edit with the
// limits of both and what was measured within them, and other, which is set
// aside as a part of it. What was said of other alone is taken over, and its
// notes and pictures are added. It is refused as SavePull refuses edits.
func (s *Store) JoinPulls(ctx context.Context, into, other Pull) (joined, part Pull, err error) {
	err = s.write(ctx, fmt.Sprintf("store: join pulls %d and %d", into.ID, other.ID), func(tx *sql.Tx) (err error) {
		switch {
		case into.ID == other.ID:
			return refuse(ErrLimits, words.Error("store.join.self"))
		case into.Cell != other.Cell:
			return refuse(ErrLimits, words.Error("store.join.cells", other.ID))
		}
		if ctx, err = inStep(ctx, tx); err != nil {
			return err
		}
		into.takeOver(other)
		other.Aside = &Aside{Of: into.ID}
		if part, err = s.editPull(ctx, tx, other); err != nil {
			return err
		}
		joined, err = s.editPull(ctx, tx, into)
		return err
	})
	return joined, part, err
}

// takeOver takes from q what is not known of p.
func (p *Pull) takeOver(q Pull) {
	orElse(&p.Day, q.Day)
	orElse(&p.Ground, q.Ground)
	orElse(&p.Rig, q.Rig)
	orElse(&p.Speed, q.Speed)
	orElse(&p.Slack, q.Slack)
	orElse(&p.Depth, q.Depth)
	orElse(&p.Attempt, q.Attempt)
	orElse(&p.PullerMass, q.PullerMass)
	if p.StuckMass == nil {
		p.StuckMass, p.StuckWithin = q.StuckMass, q.StuckWithin
	}
	switch {
	case p.Notes == "":
		p.Notes = q.Notes
	case q.Notes != "" && q.Notes != p.Notes:
		p.Notes += "\n" + q.Notes
	}
	p.Photos = slices.Clone(p.Photos)
	for _, photo := range q.Photos {
		if !slices.Contains(p.Photos, photo) {
			p.Photos = append(p.Photos, photo)
		}
	}
}

func orElse[T comparable](v *T, or T) {
	var none T
	if *v == none {
		*v = or
	}
}

// PartPull makes two pulls of one, in one step: first, an edit with the limits
// of what stays, and second, of which only Found, By and Limits are read: what
// was measured between the limits of the rest. It is rigged as the first was, with the
// same vehicles and on the same day and ground; how it was begun, its notes and
// pictures stay with the first.
func (s *Store) PartPull(ctx context.Context, first, second Pull) (a, b Pull, err error) {
	err = s.write(ctx, fmt.Sprintf("store: part pull %d", first.ID), func(tx *sql.Tx) (err error) {
		if ctx, err = inStep(ctx, tx); err != nil {
			return err
		}
		if a, err = s.editPull(ctx, tx, first); err != nil {
			return err
		}
		second = Pull{
			Cell: a.Cell, Day: a.Day, Rig: a.Rig, Ground: a.Ground, Depth: a.Depth, PullerMass: a.PullerMass, StuckMass: a.StuckMass, StuckWithin: a.StuckWithin,
			Read: a.Read, Found: second.Found, By: second.By, Limits: second.Limits,
		}
		b, err = s.makePull(ctx, tx, second, a.ID)
		return err
	})
	return a, b, err
}

// MakePull enters a pull that was not found: Found and By are what was measured
// within its Limits, with pull.FlagSetByHand. It is refused with ErrLimits where
// they overlap another pull of the cell.
func (s *Store) MakePull(ctx context.Context, p Pull) (made Pull, err error) {
	err = s.write(ctx, "store: make pull at "+clock(p.Found.Start), func(tx *sql.Tx) (err error) {
		if p.Read == "" {
			if p.Read, err = cellName(ctx, tx, p.Cell); err != nil {
				return err
			}
		}
		if err := checkPhotos(ctx, tx, p.Photos, words.Say("store.thepull")); err != nil {
			return err
		}
		made, err = s.makePull(ctx, tx, p, 0)
		return err
	})
	return made, err
}

// makePull enters a pull that a person has made; of is the one that it was
// parted from, or 0.
func (s *Store) makePull(ctx context.Context, tx *sql.Tx, p Pull, of int64) (Pull, error) {
	if err := p.checkKnown(); err != nil {
		return p, err
	}
	if p.Limits == nil {
		return p, refuse(ErrLimits, words.Error("store.limits.made"))
	}
	p.ID, p.Settled, p.Aside = 0, true, nil
	if p.Kind == "" {
		p.Kind = p.Found.Kind
	}
	edited := editedAll &^ editedKind
	if p.Kind != p.Found.Kind {
		edited = editedAll
	}
	p.Limits = s.limitsBy(ctx, *p.Limits)
	p.Limits.Made, p.Limits.Of, p.Limits.Found, p.Limits.By = true, of, p.Found, p.By
	if err := p.checkLimits(true); err != nil {
		return p, err
	}
	if err := limitsFree(ctx, tx, p); err != nil {
		return p, err
	}
	return s.insertPull(ctx, tx, p, edited)
}

// UndoOfPull takes back the last change of a pull that a person made, as Undo
// does, and gives the numbers of the pulls that it was of. What was measured
// again since stays. It is refused with ErrInvalid where there is none.
func (s *Store) UndoOfPull(ctx context.Context, id int64) (undone []int64, err error) {
	changes, err := s.Journal(ctx, "pull", id, 0)
	if err != nil {
		return nil, err
	}
	for _, c := range changes {
		var last Change
		last, err = s.Undo(ctx, c.ID)
		if errors.Is(err, ErrInvalid) {
			continue
		}
		if err != nil {
			return nil, err
		}
		err = s.read(ctx, "store: read what was undone", func(tx *sql.Tx) error {
			step, err := stepWith(ctx, tx, last)
			for _, c := range step {
				undone = append(undone, c.Ref)
			}
			return err
		})
		return undone, err
	}
	return nil, refuse(ErrInvalid, words.Error("store.undo.nothing"))
}

// undoPulls takes back a change of a pull, and those that are of one step with it.
func (s *Store) undoPulls(ctx context.Context, tx *sql.Tx, c Change) error {
	changes, err := stepWith(ctx, tx, c)
	if err != nil {
		return err
	}
	if len(changes) > 1 {
		if ctx, err = inStep(ctx, tx); err != nil {
			return err
		}
	}
	// What counts no more makes room first, what counts again needs it last.
	slices.SortStableFunc(changes, func(a, b Change) int { return a.counted() - b.counted() })
	for _, c := range changes {
		if err := s.undoPull(ctx, tx, c); err != nil {
			return err
		}
	}
	return nil
}

// stepWith gives all changes of the step that a change of a pull is of, or that one.
func stepWith(ctx context.Context, tx *sql.Tx, c Change) (all []Change, err error) {
	var e struct {
		Step int64 `json:"step"`
	}
	if err := json.Unmarshal(c.After, &e); err != nil {
		return nil, words.Error("store.damaged.change", ErrDamaged, c.ID, err)
	}
	if e.Step == 0 {
		return []Change{c}, nil
	}
	const most = 8 // changes of a step, which follow each other
	err = eachIn(ctx, tx, func(row scan) error {
		c, err := readChange(row)
		all = append(all, c)
		return err
	}, changeColumns+`WHERE id >= ?1 AND id < ?1 + ?2 AND what = 'pull' AND after ->> '$.step' = ?1 ORDER BY id`, e.Step, most)
	return all, err
}

// counted is -1 where undoing a change of a pull sets one aside, 1 where it
// counts one again, else 0.
func (c Change) counted() int {
	var before, after struct {
		Aside *Aside `json:"aside"`
	}
	if c.Before == nil {
		return -1
	}
	if json.Unmarshal(c.Before, &before) != nil || json.Unmarshal(c.After, &after) != nil {
		return 0 // undoPull tells of the damage
	}
	switch {
	case before.Aside != nil && after.Aside == nil:
		return -1
	case before.Aside == nil && after.Aside != nil:
		return 1
	}
	return 0
}
