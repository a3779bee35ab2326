package store

import (
	"cmp"
	"context"
	"database/sql"
	"math"

	"tautlog/calc/words"
)

// Aside says that a person took a pull of the log for none: nobody pulled, or
// it is a part of another one. It stays on record and counts nowhere: in no
// list but that of those set aside, for no item of gear and in no fit.
type Aside struct {
	Who string `json:"who"`          // the store sets it where it is empty
	At  int64  `json:"at"`           // when, ns UTC; likewise where it is 0
	Of  int64  `json:"of,omitempty"` // the pull that it is part of; 0: it was no pull
}

// counts is a time before which no pull is (see maxTime). The columns of a pull
// that is set aside say such a time, so that it comes up in no list and
// overlaps nothing; its document keeps when it was. Counting is the same in SQL.
const (
	counts   = int64(-1 << 62)
	counting = `-(1 << 62)`
)

// when is what the columns start_ns and end_ns say of a pull.
func (p Pull) when() (start, end int64) {
	if p.Aside != nil {
		return math.MinInt64 + p.ID, math.MinInt64 + p.ID
	}
	return p.Found.Start, p.Found.End
}

// takeAside makes of an edit that sets a pull aside, or counts it again, what
// becomes of old with it.
func (s *Store) takeAside(ctx context.Context, tx *sql.Tx, p *Pull, old storedPull) error {
	switch {
	case !old.Settled:
		return refuse(ErrLimits, words.Error("store.limits.unsettled"))
	case p.Aside == nil:
		return limitsFree(ctx, tx, *p)
	case old.Aside != nil:
		return refuse(ErrLimits, words.Error("store.join.already", old.Aside.Who))
	}
	p.Aside = s.asideBy(ctx, *p.Aside)
	return nil
}

// asideBy is a with who says so, and when.
func (s *Store) asideBy(ctx context.Context, a Aside) *Aside {
	a.Who, a.At = cmp.Or(a.Who, s.who(ctx)), cmp.Or(a.At, s.options.Now().UTC().UnixNano())
	return &a
}
