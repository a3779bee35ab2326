package store

import (
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"time"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// What can be wrong. Every error of this package that a caller may want to
// tell apart wraps one of these.
var (
	ErrNoStore  = errors.New("there is no store here")
	ErrLocked   = errors.New("the store is in use by another daemon")
	ErrNewer    = errors.New("the store was written by a newer version of tautlog")
	ErrOlder    = errors.New("the store was written by an older version of tautlog")
	ErrNotStore = errors.New("this is not a tautlog store")
	ErrReadOnly = errors.New("the store cannot be written")
	ErrFull     = errors.New("the disk is full")
	ErrRoom     = errors.New("there is too little room on the disk for a copy")
	ErrDisk     = errors.New("the disk could not be read or written")
	ErrGone     = errors.New("the store is no longer where it was opened")
	ErrBusy     = errors.New("the store is held by another process")
	ErrNotFound = errors.New("not found")
	ErrConflict = errors.New("someone else has changed this meanwhile")
	ErrInvalid  = errors.New("this cannot be stored")
	ErrOverlap  = errors.New("readings at this time are stored already")
	ErrDamaged  = errors.New("stored data is damaged")
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
	kind := "block"
	if e.Tail {
		kind = "tail"
	}
	return fmt.Sprintf("%v: %s %d of cell %d, %d readings from %s to %s: %v", ErrDamaged, kind, e.Block, e.Cell,
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
		return fmt.Errorf("store: %s: %w", op, ErrNotFound)
	case !errors.As(err, &fault):
		return fmt.Errorf("store: %s: %w", op, err)
	}
	e := &Error{Path: s.dir, Err: err}
	switch fault.Code() & 0xff {
	case sqlite3.SQLITE_FULL:
		e.Reason, e.Hint = ErrFull, "nothing of this change was kept; make room and try again"
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM, sqlite3.SQLITE_AUTH:
		e.Reason, e.Hint = ErrReadOnly, "name a directory that you may write in"
	case sqlite3.SQLITE_CANTOPEN:
		e.Reason, e.Hint = ErrReadOnly, "check that the directory and the files in it may be read and written"
	case sqlite3.SQLITE_NOTADB:
		e.Reason, e.Hint = ErrNotStore, fmt.Sprintf("%s in it is another kind of file; move it away or name another directory", databaseName)
	case sqlite3.SQLITE_CORRUPT:
		e.Reason, e.Hint = ErrDamaged, "copy the directory before anything else, then restore it from a backup"
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		e.Reason, e.Hint = ErrBusy, "end the other program that uses it and try again"
	case sqlite3.SQLITE_IOERR:
		e.Reason, e.Hint = ErrDisk, "look at the disk, its cable and the system's log"
		if fault.Code() == sqlite3.SQLITE_IOERR_SHMSIZE { // no room for the driver's shared memory file
			e.Reason, e.Hint = ErrFull, "make room and try again"
		}
	default:
		return fmt.Errorf("store: %s: %w", op, err)
	}
	return e
}
