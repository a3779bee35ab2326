package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"

	"tautlog/calc/words"
)

// Undo takes back one change of the journal, as a change of its own that can be
// undone as well: a document is again what it was before, what was removed is
// back, what was new is removed, a cell is set up or the set to plan with is
// chosen as before. Of a pull it takes back what that change made of the parts
// that people edit; what the analysis measured stays, but that limits come
// back with what was measured within them. A change of a step (JoinPulls,
// PartPull) goes with the others of it. A pull that a person made is set aside.
//
// It is refused with ErrConflict where something newer stands on the change:
// the same was changed again since, another has its name now, or it is in
// force for a cell. It is refused with ErrInvalid for what cannot be taken back:
// that a pull was found, that a set was kept, that a cell was made.
func (s *Store) Undo(ctx context.Context, change int64) (undone Change, err error) {
	err = s.write(ctx, fmt.Sprintf("store: undo change %d", change), func(tx *sql.Tx) error {
		c, err := readChange(tx.QueryRowContext(ctx, changeColumns+whereID, change).Scan)
		if err != nil {
			return err
		}
		if err := s.undo(ctx, tx, c); err != nil {
			return err
		}
		undone, err = readChange(tx.QueryRowContext(ctx, changeColumns+`ORDER BY id DESC LIMIT 1`).Scan)
		return err
	})
	return undone, err
}

func (s *Store) undo(ctx context.Context, tx *sql.Tx, c Change) error {
	if c.What == "pull" {
		return s.undoPulls(ctx, tx, c)
	}
	if !c.Latest {
		return refuse(ErrConflict, words.Error("store.undo.later", thing(c.What)))
	}
	if h, ok := shelfOf(c.What); ok {
		return s.undoDocument(ctx, tx, c, h)
	}
	switch c.What {
	case "setup":
		return s.undoSetup(ctx, tx, c)
	case "choice":
		return s.undoChoice(ctx, tx, c)
	}
	return refuse(ErrInvalid, words.Error("store.undo.kept", thing(c.What)))
}

func (s *Store) undoDocument(ctx context.Context, tx *sql.Tx, c Change, h anyShelf) error {
	old, err := readStored(ctx, tx, h.where(), whereID, c.Ref)
	switch {
	case err != nil:
		return err
	case c.Before != nil:
		return s.restoreStored(ctx, tx, c.What, h, old, c.Before)
	case c.What == "cell":
		return refuse(ErrInvalid, words.Error("store.undo.cell"))
	}
	return s.removeStored(ctx, tx, c.What, h.where(), old)
}

func (s *Store) undoSetup(ctx context.Context, tx *sql.Tx, c Change) error {
	u := Setup{Cell: c.Ref}
	if c.Before != nil {
		if err := json.Unmarshal(c.Before, &u); err != nil {
			return err
		}
	}
	_, err := s.putSetup(ctx, tx, u)
	return err
}

func (s *Store) undoChoice(ctx context.Context, tx *sql.Tx, c Change) error {
	var ref SetRef
	if err := json.Unmarshal(c.Before, &ref); err != nil {
		return err
	}
	_, err := s.choose(ctx, tx, ref.Name, ref.Version)
	return err
}

// undoPull gives back the parts that a change made other, if they still are as
// it left them. They count as edited from then on.
func (s *Store) undoPull(ctx context.Context, tx *sql.Tx, c Change) error {
	after, err := c.pull(c.After)
	if err != nil {
		return err
	}
	before := after
	switch l := after.Limits; {
	case c.Before != nil:
		if before, err = c.pull(c.Before); err != nil {
			return err
		}
	case l == nil || !l.Made:
		return refuse(ErrInvalid, words.Error("store.undo.pull"))
	default:
		before.Aside = s.asideBy(ctx, Aside{Of: l.Of})
	}
	now, err := readPull(tx.QueryRowContext(ctx, pullColumns+whereID, c.Ref).Scan)
	if err != nil {
		return err
	}
	made, err := after.edits(before)
	if kindFollowed(before.Pull, after.Pull) {
		made &^= editedKind
	}
	if err != nil || made == 0 {
		return refuse(ErrInvalid, words.Error("store.undo.measured"))
	}
	since, err := now.edits(after)
	if err != nil {
		return err
	}
	if since&made != 0 || c.Before == nil && since&editedLimits != 0 {
		return refuse(ErrConflict, words.Error("store.undo.again"))
	}
	p := now.Pull
	before.edited = made
	p.keepEdits(before)
	p.Version++
	if made&editedLimits != 0 {
		if err := s.undoLimits(ctx, tx, &p, before.Pull, now); err != nil {
			return err
		}
	}
	if made&editedAside != 0 {
		if err := s.takeAside(ctx, tx, &p, now); err != nil {
			return err
		}
	}
	_, err = s.updatePull(ctx, tx, p, now, now.edited|made)
	return err
}

// pull reads a pull as it stands in the journal.
func (c Change) pull(doc []byte) (p storedPull, err error) {
	var e pullEntry
	if err := json.Unmarshal(doc, &e); err != nil {
		return p, words.Error("store.damaged.change", ErrDamaged, c.ID, err)
	}
	p.Pull, p.Pull.Day = e.Pull, e.Day
	return p, nil
}

// pullEntry is a pull in the journal: its document, its day, which edit by
// a person it is, and of which step.
type pullEntry struct {
	Pull
	Day     int64 `json:"day,omitzero"`
	Version int64 `json:"version,omitzero"`
	Step    int64 `json:"step,omitzero"` // the first change of it; 0: none
}

func entryOf(ctx context.Context, p Pull) ([]byte, error) {
	return json.Marshal(pullEntry{p, p.Day, p.Version, stepOf(ctx)})
}
