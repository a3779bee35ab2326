package rig

import "io"

// Decode reads a rig from its JSON form.
func Decode(r io.Reader) (Rig, error) { return Rig{}, nil }

// Encode writes a rig as indented JSON that Decode reads back unchanged.
func Encode(w io.Writer, r Rig) error { return nil }

// Validate says what makes the rig impossible to judge.
func (r Rig) Validate() error { return nil }

// Places lists every item of the rig with what it carries, in the order of
// the chain.
func (r Rig) Places() ([]Place, error) { return nil, nil }
