package store

import (
	"errors"
	"fmt"
)

// What can be wrong. Every error of this package that a caller may want to
// tell apart wraps one of these.
var (
	ErrNoStore  = errors.New("no store here")
	ErrLocked   = errors.New("store is in use")
	ErrNewer    = errors.New("store was written by a newer version")
	ErrOlder    = errors.New("store was written by an older version")
	ErrNotStore = errors.New("not a tautlog store")
	ErrReadOnly = errors.New("store cannot be written")
	ErrFull     = errors.New("disk is full")
	ErrBusy     = errors.New("store is busy")
	ErrNotFound = errors.New("not found")
	ErrConflict = errors.New("changed by someone else meanwhile")
	ErrInvalid  = errors.New("cannot be stored")
	ErrOverlap  = errors.New("readings overlap in time with readings already stored")
	ErrDamaged  = errors.New("stored data is damaged")
)

// DamageError says that a block of readings is not what was written. It wraps
// ErrDamaged.
type DamageError struct {
	Block    int64 // row id; negative for a tail
	Cell     int64
	From, To int64 // times of its first and last reading, ns UTC
	Readings int   // how many it held
	Reason   string
}

// Error names the block, its time span and what is wrong with it.
func (e *DamageError) Error() string {
	return fmt.Sprintf("store: block %d: %s", e.Block, e.Reason)
}

// Unwrap gives ErrDamaged.
func (e *DamageError) Unwrap() error { return ErrDamaged }
