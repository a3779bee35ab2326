package store

import (
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"time"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"tautlog/calc/words"
)

// What can be wrong. Every error of this package that a caller may want to
// tell apart wraps one of these.
var (
	ErrNoStore  = words.Kind("store.none")
	ErrLocked   = words.Kind("store.locked")
	ErrNewer    = words.Kind("store.newer")
	ErrOlder    = words.Kind("store.older")
	ErrNotStore = words.Kind("store.foreign")
	ErrReadOnly = words.Kind("store.readonly")
	ErrFull     = words.Kind("store.full")
	ErrRoom     = words.Kind("store.room")
	ErrDisk     = words.Kind("store.disk")
	ErrTurned   = words.Kind("store.disk.readonly")
	ErrGone     = words.Kind("store.gone")
	ErrBusy     = words.Kind("store.busy")
	ErrNotFound = words.Kind("store.notfound")
	ErrConflict = words.Kind("store.conflict")
	ErrInvalid  = words.Kind("store.invalid")
	ErrOverlap  = words.Kind("store.overlap")
	ErrDamaged  = words.Kind("store.damaged")
)

// Error is something wrong with the store as a whole, told for people: what,
// where, and what to do.
type Error struct {
	Path   string // of the store
	Reason error  // one of the sentinels
	Hint   string // what to do
	Err    error  // the cause below, or nil
}

// Error is one sentence.
func (e *Error) Error() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %v", e.Path, e.Reason)
	if e.Err != nil {
		fmt.Fprintf(&b, " (%v)", e.Err)
	}
	if e.Hint != "" {
		fmt.Fprintf(&b, "; %s", e.Hint)
	}
	return b.String()
}

// Unwrap gives the sentinel and the cause.
func (e *Error) Unwrap() []error {
	if e.Err == nil {
		return []error{e.Reason}
	}
	return []error{e.Reason, e.Err}
}

// Refusal is a change that is not made: what it is refused with, one of the
// sentinels, and why, told for people.
type Refusal struct {
	Reason error
	Why    error
}

// Error is both.
func (r *Refusal) Error() string { return words.Say("store.refused", r.Reason, r.Why) }

// Unwrap gives both.
func (r *Refusal) Unwrap() []error { return []error{r.Reason, r.Why} }

func refuse(reason, why error) error { return &Refusal{reason, why} }

// thing is what people call what the journal and the tables know by a name.
func thing(what string) string { return words.Say("store.thing." + what) }

// DamageError says that a block of readings is not what was written. It wraps
// ErrDamaged.
type DamageError struct {
	Block    int64 // row id in blocks, or in tails
	Tail     bool  // it is in tails
	Cell     int64 // row id of the cell
	From, To int64 // times of its first and last reading, ns UTC
	Readings int   // how many it held
	Reason   error // what does not agree
}

// Error names the block, its time span and what is wrong with it.
func (e *DamageError) Error() string {
	kind := blocksTable
	if e.Tail {
		kind = tailsTable
	}
	return words.Say("store.damage", ErrDamaged, thing(kind), e.Block, e.Cell,
		e.Readings, clock(e.From), clock(e.To), e.Reason)
}

func clock(ns int64) string { return time.Unix(0, ns).UTC().Format("2006-01-02T15:04:05.000Z") }

// Unwrap gives ErrDamaged and the reason.
func (e *DamageError) Unwrap() []error { return []error{ErrDamaged, e.Reason} }

// explain turns what the driver says into an Error where it can tell people
// what to do, and names the operation.
func (s *Store) explain(op string, err error) error {
	if err == nil {
		return nil
	}
	var ours *Error
	var fault *sqlite.Error
	switch {
	case errors.As(err, &ours):
		return err
	case errors.Is(err, sql.ErrNoRows):
		return fmt.Errorf("%s: %w", op, ErrNotFound)
	case !errors.As(err, &fault):
		return fmt.Errorf("%s: %w", op, err)
	}
	e := &Error{Path: s.dir, Err: err}
	switch fault.Code() & 0xff {
	case sqlite3.SQLITE_FULL:
		e.Reason, e.Hint = ErrFull, words.Say("store.full.do")
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM, sqlite3.SQLITE_AUTH:
		e.Reason, e.Hint = ErrReadOnly, words.Say("store.readonly.do")
	case sqlite3.SQLITE_CANTOPEN:
		e.Reason, e.Hint = ErrReadOnly, words.Say("store.open.do")
	case sqlite3.SQLITE_NOTADB:
		e.Reason, e.Hint = ErrNotStore, words.Say("store.kind.do", databaseName)
	case sqlite3.SQLITE_CORRUPT:
		e.Reason, e.Hint = ErrDamaged, words.Say("store.damaged.do")
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		e.Reason, e.Hint = ErrBusy, words.Say("store.busy.do")
	case sqlite3.SQLITE_IOERR:
		e.Reason, e.Hint = ErrDisk, words.Say("store.disk.do")
		switch {
		case s.turned():
			e.Reason, e.Hint = ErrTurned, words.Say("store.disk.readonly.do")
		case fault.Code() == sqlite3.SQLITE_IOERR_SHMSIZE: // no room for the driver's shared memory file
			e.Reason, e.Hint = ErrFull, words.Say("store.room.do")
		}
	default:
		return fmt.Errorf("%s: %w", op, err)
	}
	return e
}
