package derive

import (
	"context"
	"errors"

	"tautlog/calc/words"
	"tautlog/ingest/store"
)

// Parted gives the two pulls that a pull of the cell would be if it were parted
// at a moment, ns UTC, which begins the second: each measured by what is in
// force. It changes nothing: Store.PartPull keeps what comes back. What cannot be
// parted there is refused with store.ErrLimits.
func (c Cell) Parted(ctx context.Context, db *store.Store, p store.Pull, at int64) (first, second store.Pull, err error) {
	from, to := limitsNow(p)
	if at <= from || at > to {
		return p, p, notSet(words.Error("derived.part.outside"))
	}
	if first, err = c.WithLimits(ctx, db, p, from, at-1); err != nil {
		return first, second, inPart(err, words.Say("derived.part.first"))
	}
	second, err = c.set(ctx, db, store.Pull{Cell: c.ID, Settled: true}, at, to)
	second.Kind = second.Found.Kind
	return first, second, inPart(err, words.Say("derived.part.second"))
}

// inPart says of which part it is that it cannot be.
func inPart(err error, part string) error {
	if r, ok := errors.AsType[*store.Refusal](err); ok && errors.Is(err, store.ErrLimits) {
		return notSet(words.Error("derived.part", part, r.Why))
	}
	return err
}

// Joined gives what two pulls of the cell would be as one: the earlier with the
// limits of both, measured by what is in force, and the other as it is. It
// changes nothing: Store.JoinPulls keeps what comes back.
func (c Cell) Joined(ctx context.Context, db *store.Store, a, b store.Pull) (into, other store.Pull, err error) {
	switch {
	case a.ID == b.ID:
		return a, b, notSet(words.Error("derived.join.self"))
	case a.Cell != c.ID || b.Cell != c.ID:
		return a, b, notSet(words.Error("derived.join.cells"))
	case a.Aside != nil || b.Aside != nil:
		return a, b, notSet(words.Error("derived.join.aside"))
	case !a.Settled || !b.Settled:
		return a, b, notSet(words.Error("derived.join.unsettled"))
	}
	into, other = a, b
	if other.Found.Start < into.Found.Start {
		into, other = other, into
	}
	from, to := limitsNow(into)
	otherFrom, otherTo := limitsNow(other)
	into, err = c.withLimits(ctx, db, into, min(from, otherFrom), max(to, otherTo), other.ID)
	return into, other, err
}

// Made gives a pull of the cell that was not found, between two moments, ns UTC,
// measured by what is in force, and rigged as was set for the cell then. It changes
// nothing: Store.MakePull keeps what comes back.
func (c Cell) Made(ctx context.Context, db *store.Store, from, to int64) (store.Pull, error) {
	p, err := c.set(ctx, db, store.Pull{Cell: c.ID, Settled: true}, from, to)
	if err != nil {
		return p, err
	}
	p.Kind = p.Found.Kind
	return AsSetUp(ctx, db, p)
}

// AsSetUp gives a pull with the day, the ground and the rig that were set for its
// cell when it began.
func AsSetUp(ctx context.Context, db *store.Store, p store.Pull) (store.Pull, error) {
	setup, err := db.SetupAt(ctx, p.Cell, p.Found.Start)
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		return p, err
	}
	p.Day, p.Ground = setup.Day, setup.Ground
	if setup.Rig != 0 {
		doc, err := db.Rig(ctx, setup.Rig)
		if err != nil && !errors.Is(err, store.ErrNotFound) {
			return p, err
		}
		if err == nil {
			p.Rig = &doc.Value
		}
	}
	return p, nil
}

// limitsNow are where a pull starts and ends.
func limitsNow(p store.Pull) (from, to int64) {
	if l := p.Limits; l != nil {
		return l.From, l.To
	}
	return p.Found.Start, p.Found.End
}
