// Package strict reads what people write by hand, JSON documents such as rig
// files and gear registers, and tables as CSV, and refuses what it does not
// fully understand, with the line, the column and the place.
//
// Refused in JSON are unknown and repeated keys, keys in other letter case, values of
// the wrong type, and anything after the document. A quantity is a string
// with its unit; a bare number in its place is refused with the list of
// units. It is not a general JSON library: the types it reads into are
// structs, slices, strings, booleans, numbers and types that read text.
package strict

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"

	"tautlog/calc/words"
)

// MaxBytes is the size of the largest document that Decode reads.
const MaxBytes = 64 << 20

// ErrEmpty says that there is no document.
var ErrEmpty = errors.New("empty document")

// ErrSyntax says that the text is not JSON.
var ErrSyntax = errors.New("not JSON")

// ErrUnknownKey says that an object has a key that does not belong there.
var ErrUnknownKey = errors.New("unknown key")

// ErrRepeatedKey says that an object has a key twice.
var ErrRepeatedKey = errors.New("repeated key")

// ErrType says that a value is of the wrong type.
var ErrType = errors.New("wrong type")

// ErrComma says that a number has a comma in a table in which commas are not
// decimal: whoever reads it knows how to say that they are.
var ErrComma = errors.New("a comma in a number")

// ErrTooLarge says that the document is larger than MaxBytes.
var ErrTooLarge = errors.New("document too large")

// Error is a refused document, with where and why.
type Error struct {
	Line, Column int    // from 1, in bytes; 0 where there is no place, or no column
	Path         string // "chain#3.item.ratings#1.value", counted from 1
	Problem      string // what is wrong and what to do
	Reason       error  // one of the sentinels, or the error of the value
}

// Error gives place and problem in one line.
func (e *Error) Error() string {
	switch {
	case e.Line == 0:
		return e.Problem
	case e.Column == 0:
		return words.Say("strict.line", e.Line, e.Problem)
	case e.Path == "":
		return words.Say("strict.place", e.Line, e.Column, e.Problem)
	default:
		return words.Say("strict.path", e.Line, e.Column, e.Path, e.Problem)
	}
}

// Unwrap gives the reason, so that errors.Is works on it.
func (e *Error) Unwrap() error { return e.Reason }

// Document knows where the values of a decoded document stand in its text.
type Document struct {
	data []byte
	at   map[string]int
}

// Error makes an error about the value at path, or at the nearest value
// around it that the document has.
func (d Document) Error(path, problem string, reason error) *Error {
	for near := path; ; near = parent(near) {
		if offset, ok := d.at[near]; ok {
			e := locate(d.data, offset)
			e.Path, e.Problem, e.Reason = path, problem, reason
			return e
		}
		if near == "" {
			return &Error{Path: path, Problem: problem, Reason: reason}
		}
	}
}

// Decode reads one document into v, a pointer to a struct or slice. On an
// error v is left as it was.
func Decode(r io.Reader, v any) (Document, error) {
	data, err := io.ReadAll(io.LimitReader(r, MaxBytes+1))
	if err != nil {
		return Document{}, err
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	switch {
	case len(data) > MaxBytes:
		return Document{}, &Error{Problem: words.Say("strict.large", MaxBytes>>20), Reason: ErrTooLarge}
	case len(bytes.TrimSpace(data)) == 0:
		return Document{}, &Error{Problem: words.Say("strict.empty"), Reason: ErrEmpty}
	}
	root, err := parse(data)
	if err != nil {
		return Document{}, err
	}
	c := checker{Document{data: data, at: map[string]int{}}}
	if err := c.into(root, v); err != nil {
		return Document{}, err
	}
	if err := json.Unmarshal(data, v); err != nil {
		return Document{}, &Error{Problem: err.Error(), Reason: err}
	}
	return c.Document, nil
}

// locate turns a byte offset into line and column.
func locate(data []byte, offset int) *Error {
	offset = min(offset, len(data))
	before := data[:offset]
	return &Error{
		Line:   1 + bytes.Count(before, []byte("\n")),
		Column: offset - bytes.LastIndexByte(before, '\n'),
	}
}

// parent cuts the last step off a path.
func parent(path string) string {
	for i := len(path) - 1; i >= 0; i-- {
		if path[i] == '.' || path[i] == '#' {
			return path[:i]
		}
	}
	return ""
}
