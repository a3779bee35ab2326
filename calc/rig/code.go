package rig

import (
	"encoding/json"
	"errors"
	"io"

	"tautlog/calc/strict"
	"tautlog/calc/words"
)

// Decode reads a rig from its JSON form and refuses what is not understood,
// and a rig that Validate refuses, with the line and column.
func Decode(r io.Reader) (Rig, error) {
	rig, where, err := decode(r)
	if err != nil {
		return Rig{}, err
	}
	err = rig.Validate()
	if bad, ok := errors.AsType[*ValidationError](err); ok {
		p := bad.Problems[0]
		return Rig{}, where.Error(p.Path, p.Text+bad.more(), bad)
	}
	return rig, err
}

// DecodeDraft reads like Decode a rig that may not be finished: one without a
// cell, say. What it reads is understood, but need not be possible to judge.
func DecodeDraft(r io.Reader) (Rig, error) {
	rig, _, err := decode(r)
	return rig, err
}

func decode(r io.Reader) (rig Rig, where strict.Document, err error) {
	where, err = strict.Decode(r, &rig)
	return rig, where, err
}

// Encode writes a rig as indented JSON that DecodeDraft reads back unchanged.
func Encode(w io.Writer, r Rig) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(r)
}

// UnmarshalText reads how a shackle sits and refuses any other word.
func (s *Seat) UnmarshalText(b []byte) error {
	switch v := Seat(b); v {
	case FreeSeat, BoundSeat, SeatUnknown:
		*s = v
		return nil
	default:
		return words.Error("rig.wrong.seat", v)
	}
}

// UnmarshalText reads the name of an end and refuses any other word.
func (s *Side) UnmarshalText(b []byte) error {
	switch v := Side(b); v {
	case PullingEnd, StuckEnd, "":
		*s = v
		return nil
	default:
		return words.Error("rig.wrong.end", v)
	}
}
