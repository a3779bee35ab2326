package store

import (
	"cmp"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"tautlog/analysis/pull"
	"tautlog/calc/words"
)

// ErrLimits says that a start and an end cannot be set to a pull, and why.
var ErrLimits = words.Kind("store.limits")

// Limits are the start and the end of a pull as a person has set them. What is
// measured between them is the pull's Found; what the analysis found by itself
// stays on record here. Of a pull that a person made, that is what was measured
// as well.
type Limits struct {
	From  int64     `json:"from"` // ns UTC
	To    int64     `json:"to"`
	Who   string    `json:"who"`           // who set them; the store sets it where it is empty
	At    int64     `json:"at"`            // when, ns UTC; likewise where it is 0
	Made  bool      `json:"made,omitzero"` // nothing was found there: a person made this pull
	Of    int64     `json:"of,omitzero"`   // of one that was made: the pull that it was parted from; 0: none
	Found pull.Pull `json:"found"`
	By    Derived   `json:"by,omitzero"` // what the force was derived by there
}

// ByFinder is what the analysis found of a pull by itself, whatever limits a
// person has set, and what the force was derived by.
func (p Pull) ByFinder() (pull.Pull, Derived) {
	if p.Limits != nil {
		return p.Limits.Found, p.Limits.By
	}
	return p.Found, p.By
}

// Span is the stretch of time that a pull takes up: within its limits, and
// where it was found.
func (p Pull) Span() (from, to int64) {
	found, _ := p.ByFinder()
	return min(p.Found.Start, found.Start), max(p.Found.End, found.End)
}

func limitsDiffer(a, b *Limits) bool {
	return (a == nil) != (b == nil) || a != nil && (a.From != b.From || a.To != b.To)
}

// keepLimits makes of a result of the analysis what becomes of old with it. A
// result that was measured within the limits that old has is taken as it is;
// another only tells what was found, if it was found where old was.
func (p *Pull) keepLimits(old storedPull) {
	found, by := p.ByFinder()
	if old.Limits == nil {
		if p.Limits != nil {
			p.Found, p.By, p.Limits, p.Kind = found, by, nil, found.Kind
		}
		return
	}
	measured := !limitsDiffer(p.Limits, old.Limits)
	l := *old.Limits
	switch {
	case l.Made && measured:
		l.Found, l.By = p.Found, p.By
	case !l.Made && found.Start <= l.Found.End && l.Found.Start <= found.End:
		l.Found, l.By = found, by
	}
	p.Limits = &l
	if measured {
		return
	}
	p.Found, p.By = old.Found, old.By
	if old.edited&editedKind == 0 {
		p.Kind = old.Kind
	}
}

// takeLimits makes of an edit by a person what becomes of old with it. Where
// limits are set, Found and By of p are what was measured within them; where
// they are taken away, it is again what was found. The kind follows, unless a
// person has said it.
func (s *Store) takeLimits(ctx context.Context, tx *sql.Tx, p *Pull, old storedPull, edited int, besides ...int64) error {
	if edited&editedLimits == 0 {
		p.Found, p.By, p.Limits = old.Found, old.By, old.Limits
		return nil
	}
	found, by := old.ByFinder()
	made := old.Limits != nil && old.Limits.Made
	switch {
	case old.Aside != nil:
		return refuse(ErrLimits, words.Error("store.limits.aside"))
	case p.Limits == nil && made:
		return refuse(ErrLimits, words.Error("store.limits.made"))
	case p.Limits == nil:
		p.Found, p.By = found, by
	default:
		p.Limits = s.limitsBy(ctx, *p.Limits)
		p.Limits.Found, p.Limits.By, p.Limits.Made, p.Limits.Of = found, by, made, 0
		if made {
			p.Limits.Found, p.Limits.By, p.Limits.Of = p.Found, p.By, old.Limits.Of
		}
	}
	if (edited|old.edited)&editedKind == 0 {
		p.Kind = p.Found.Kind
	}
	if err := p.checkLimits(old.Settled); err != nil {
		return err
	}
	return limitsFree(ctx, tx, *p, besides...)
}

// limitsBy are l with who set them, and when.
func (s *Store) limitsBy(ctx context.Context, l Limits) *Limits {
	l.Who, l.At = cmp.Or(l.Who, s.who(ctx)), cmp.Or(l.At, s.options.Now().UTC().UnixNano())
	return &l
}

// checkLimits refuses limits that are none, or are not those of what was found.
func (p Pull) checkLimits(settled bool) error {
	l := p.Limits
	switch {
	case !settled:
		return refuse(ErrLimits, words.Error("store.limits.unsettled"))
	case l == nil:
		return nil
	case l.To <= l.From:
		return refuse(ErrLimits, words.Error("store.limits.order"))
	case !l.Made && (l.To < l.Found.Start || l.From > l.Found.End):
		return refuse(ErrLimits, words.Error("store.limits.outside"))
	case !l.hold(p.Found):
		return refuse(ErrLimits, words.Error("store.limits.measured"))
	}
	return nil
}

// hold says that a pull was measured within the limits.
func (l Limits) hold(p pull.Pull) bool {
	return l.From <= p.Start && p.Start <= p.End && p.End <= l.To && slices.Contains(p.Flags, pull.FlagSetByHand)
}

// limitsFree refuses a pull that would overlap another one of its cell than
// besides.
func limitsFree(ctx context.Context, tx *sql.Tx, p Pull, besides ...int64) error {
	but, err := json.Marshal(append(besides, p.ID))
	if err != nil {
		return err
	}
	var id, start int64
	err = tx.QueryRowContext(ctx, `SELECT id, start_ns FROM pulls `+overlaps+` AND id NOT IN (SELECT value FROM json_each(?4)) ORDER BY start_ns LIMIT 1`,
		p.Cell, p.Found.Start, p.Found.End, string(but)).Scan(&id, &start)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return nil
	case err != nil:
		return err
	case start > p.Found.Start:
		return refuse(ErrLimits, words.Error("store.limits.after", id))
	}
	return refuse(ErrLimits, words.Error("store.limits.before", id))
}

// TryLimits gives a pull as it would be with limits, with what was measured
// within them, or refuses them as SavePull would. It changes nothing. With
// nil it is the pull with the limits that were found. It may overlap besides.
func (s *Store) TryLimits(ctx context.Context, p Pull, besides ...int64) (tried Pull, err error) {
	err = s.read(ctx, fmt.Sprintf("store: try limits of pull %d", p.ID), func(tx *sql.Tx) error {
		old, err := readPull(tx.QueryRowContext(ctx, pullColumns+whereID, p.ID).Scan)
		if err != nil {
			return err
		}
		tried = old.Pull
		tried.Limits, tried.Found, tried.By = p.Limits, p.Found, p.By
		return s.takeLimits(ctx, tx, &tried, old, editedLimits, besides...)
	})
	return tried, err
}

// undoLimits gives p the limits that before had.
func (s *Store) undoLimits(ctx context.Context, tx *sql.Tx, p *Pull, before Pull, now storedPull) error {
	p.Limits, p.Found, p.By = before.Limits, before.Found, before.By
	return s.takeLimits(ctx, tx, p, now, editedLimits)
}

// kindFollowed says that a change of kind came with one of limits, and that
// nobody said it.
func kindFollowed(before, after Pull) bool {
	return limitsDiffer(before.Limits, after.Limits) && before.Kind == before.Found.Kind && after.Kind == after.Found.Kind
}

// limits looks whether what was measured lies within the limits that were set.
func (c *checker) limits(p Pull) {
	if l := p.Limits; l != nil && (l.To <= l.From || !l.hold(p.Found) || l.Found.End < l.Found.Start) {
		c.add(words.Error("store.damaged.limits", ErrDamaged, p.ID, time.Unix(0, p.Found.Start).UTC().Format(time.RFC3339)))
	}
}
