package registerfile

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	_ "embed"

	"tautlog/calc/gear"
	"tautlog/calc/rig"
	"tautlog/calc/strict"
	"tautlog/calc/words"
)

// ErrTwice says that a register has two vehicles, items or rigs that are told
// by the same name or ID.
var ErrTwice = errors.New("in the register twice")

// Register is what a file holds.
type Register struct {
	Vehicles []gear.Vehicle `json:"vehicles,omitempty"`
	Items    []gear.Item    `json:"items,omitempty"`
	Rigs     []rig.Rig      `json:"rigs,omitempty"`
}

// Schema describes the JSON form as JSON Schema 2020-12.
//
//go:embed register.schema.json
var Schema string

// Decode reads a register from its JSON form. Items and vehicles must make
// sense by themselves; a rig may be a draft. Errors about the document are a
// *strict.Error.
func Decode(r io.Reader) (Register, error) {
	var reg Register
	doc, err := strict.Decode(r, &reg)
	if err != nil {
		return Register{}, err
	}
	return reg, reg.check(func(path, problem string, reason error) error { return doc.Error(path, problem, reason) })
}

// Part is one list of a register, as a table holds it.
type Part string

// The parts of a register.
const (
	Vehicles Part = "vehicles"
	Gear     Part = "gear"
	Rigs     Part = "rigs"
)

// Read reads a file of a register: what begins with a brace is the JSON form,
// which holds whatever lists it holds, all else a table of the part.
func Read(r io.Reader, part Part) (reg Register, err error) {
	b := bufio.NewReader(r)
	start, err := b.Peek(256)
	if err != nil && !errors.Is(err, io.EOF) {
		return reg, words.Error("registerfile.read", err)
	}
	if bytes.HasPrefix(bytes.TrimLeft(start, "\xef\xbb\xbf \t\r\n"), []byte("{")) {
		return Decode(b)
	}
	switch part {
	case Vehicles:
		reg.Vehicles, err = ReadTable[gear.Vehicle](b)
	case Gear:
		reg.Items, err = ReadTable[gear.Item](b)
	case Rigs:
		reg.Rigs, err = ReadTable[rig.Rig](b)
	default:
		return reg, words.Error("registerfile.part", part)
	}
	return reg, err
}

// WritePart writes the table of a part.
func (reg Register) WritePart(w io.Writer, part Part) error {
	switch part {
	case Vehicles:
		return WriteTable(w, reg.Vehicles)
	case Gear:
		return WriteTable(w, reg.Items)
	case Rigs:
		return WriteTable(w, reg.Rigs)
	}
	return words.Error("registerfile.part", part)
}

// Encode writes the JSON form, indented.
func Encode(w io.Writer, reg Register) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(reg)
}

func (reg Register) check(refuse func(path, problem string, reason error) error) error {
	return errors.Join(
		checkAll("vehicles", reg.Vehicles, refuse),
		checkAll("items", reg.Items, refuse),
		checkAll("rigs", reg.Rigs, refuse),
	)
}

// checkAll gives the first fault of a list.
func checkAll[T any](list string, values []T, refuse func(path, problem string, reason error) error) error {
	first := map[string]int{}
	for i, v := range values {
		path := fmt.Sprintf("%s#%d", list, i+1)
		key, problems := entry(v)
		if len(problems) > 0 {
			return refuse(path+"."+problems[0].Path, problems[0].Text, nil)
		}
		if before, ok := first[key]; ok {
			return refuse(path, words.Say("registerfile.twice", key, before), ErrTwice)
		}
		first[key] = i + 1
	}
	return nil
}

// entry gives what an entry of a register is told by, and what makes it
// unusable.
func entry(v any) (key string, problems []gear.Problem) {
	switch v := v.(type) {
	case gear.Vehicle:
		return v.Name, v.Check()
	case gear.Item:
		return v.Key(), v.Check()
	case rig.Rig:
		if v.Name == "" {
			problems = []gear.Problem{{Path: "name", Text: words.Say("registerfile.rigname")}}
		}
		return v.Name, problems
	}
	panic(fmt.Sprintf("registerfile: no entry of a register: %T", v))
}
