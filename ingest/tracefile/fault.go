package tracefile

import (
	"errors"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// The reasons for which a trace file is refused. An Error unwraps to one.
var (
	ErrEmpty      = errors.New("empty file")
	ErrNoReadings = errors.New("no readings")
	ErrNoColumn   = errors.New("column not found")
	ErrNoUnit     = errors.New("no unit of force")
	ErrUnit       = errors.New("unknown or contradictory unit of force")
	ErrDuplicate  = errors.New("column named twice")
	ErrAmbiguous  = errors.New("more than one column would do")
	ErrNumber     = errors.New("not a number")
	ErrComma      = errors.New("a decimal comma where a point was said") // an ErrNumber
	ErrPoint      = errors.New("a decimal point where a comma was said") // an ErrNumber
	ErrNotFinite  = errors.New("not a finite number")
	ErrTime       = errors.New("not a time")
	ErrTimeBack   = errors.New("time goes back")
	ErrRepeated   = errors.New("time repeated")
	ErrRagged     = errors.New("wrong number of columns")
	ErrLongLine   = errors.New("line too long")
	ErrBinary     = errors.New("not text")
	ErrCompressed = errors.New("damaged or cut off compression")
	ErrChanged    = errors.New("file changed while it was read")
)

// Error is the one fault for which a trace was refused. Its text is meant for
// people: what is wrong, where, and what to do.
type Error struct {
	File    string // the file as it was named; "standard input" for "-"
	Line    int64  // counted from 1, after unpacking
	Problem string // what is wrong, without the place
	Remedy  string // what to do about the file
	Flag    string // by which flag a command can be told to take it as it is; empty: by none
	Reason  error  // one of the reasons of this package
}

// Error gives file, line, problem and remedy in one line, for who gave the
// command. Who sent the file by a page has fields in place of flags.
func (e *Error) Error() string {
	say := fmt.Sprintf("%s, line %d: %s; %s", e.File, e.Line, e.Problem, e.Remedy)
	if e.Flag != "" {
		say += ", or " + e.Flag
	}
	return say
}

// Unwrap gives the reason, so that errors.Is works on it.
func (e *Error) Unwrap() error { return e.Reason }

// fault makes an Error whose line counts from the start of the text at hand.
func fault(reason error, line int, remedy, problem string, args ...any) *Error {
	return &Error{Line: int64(line), Problem: fmt.Sprintf(problem, args...), Remedy: remedy, Reason: reason}
}

// flag adds by which flag the file can be taken as it is.
func (e *Error) flag(what string) *Error {
	e.Flag = what
	return e
}

// shown repeats what stood in the file, short and printable.
func shown(b []byte) string {
	const most = 40
	if len(b) > most {
		b = append(b[:most:most], "..."...)
	}
	return fmt.Sprintf("%q", b)
}

// isText tells whether b could have been written by a person or a logger.
// Letters of an older eight-bit encoding are let through.
func isText(b []byte) bool {
	for len(b) > 0 {
		r, n := utf8.DecodeRune(b)
		if r != '\t' && r != '\r' && unicode.IsControl(r) {
			return false
		}
		b = b[n:]
	}
	return true
}

func list(names []string) string { return strings.Join(names, ", ") }
