package registerfile

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"tautlog/calc/strict"
	"tautlog/calc/words"
)

// ReadTable reads vehicles, items or rigs from CSV. Errors about the table are
// a *strict.Error with the line, and name the column.
func ReadTable[T any](r io.Reader) ([]T, error) {
	header, rows, err := strict.ReadTable(r)
	if err != nil {
		return nil, err
	}
	columns := columnsOf(reflect.TypeFor[T]())
	places := make([]place, len(header.Cells))
	for i, name := range header.Cells {
		if places[i], err = placeOf(columns, name, header.Line); err != nil {
			return nil, err
		}
	}
	values := make([]T, len(rows))
	for i, row := range rows {
		if err := readRow(row, places, &values[i]); err != nil {
			return nil, err
		}
	}
	return values, checkAll("row", values, func(path, problem string, reason error) error {
		number, field, _ := strings.Cut(strings.TrimPrefix(path, "row#"), ".")
		n, err := strconv.Atoi(number)
		if err != nil {
			return err
		}
		return refuse(rows[n-1].Line, columnOf(places, rows[n-1], field), problem, reason)
	})
}

func refuse(line int, column, problem string, reason error) error {
	if column != "" {
		problem = words.Say("registerfile.column", column, problem)
	}
	return &strict.Error{Line: line, Problem: problem, Reason: reason}
}

// place is where a cell belongs.
type place struct {
	name string // of the column
	list string // the key of the list that it is a part of; empty: none
	n    int    // which one of the list, from 1
	column
}

// placeOf finds the place of a column by its name.
func placeOf(columns []column, name string, line int) (place, error) {
	var known []string
	for _, c := range columns {
		if c.form != asRows {
			if c.key == name {
				return place{name: name, column: c}, nil
			}
			known = append(known, c.key)
			continue
		}
		for _, p := range c.parts {
			known = append(known, c.stem()+"_1_"+p.key)
			number, ok := strings.CutPrefix(strings.TrimSuffix(name, "_"+p.key), c.stem()+"_")
			if n, err := strconv.Atoi(number); ok && err == nil && n > 0 && name == fmt.Sprintf("%s_%d_%s", c.stem(), n, p.key) {
				return place{name, c.key, n, p}, nil
			}
		}
	}
	return place{}, refuse(line, "", words.Say("registerfile.nocolumn", name, strings.Join(known, ", ")), strict.ErrUnknownKey)
}

// readRow makes JSON of the cells and reads it as strictly as a file.
func readRow(row strict.Row, places []place, into any) error {
	entry := map[string]any{}
	lists := map[string]map[int]map[string]any{}
	for i, cell := range row.Cells {
		p := places[i]
		if cell == "" {
			continue
		}
		value, err := p.value(cell)
		if err != nil {
			return refuse(row.Line, p.name, err.Error(), strict.ErrType)
		}
		if p.list == "" {
			entry[p.key] = value
			continue
		}
		if lists[p.list] == nil {
			lists[p.list] = map[int]map[string]any{}
		}
		if lists[p.list][p.n] == nil {
			lists[p.list][p.n] = map[string]any{}
		}
		lists[p.list][p.n][p.key] = value
	}
	for key, list := range lists {
		var values []any
		for _, n := range numbers(list) {
			values = append(values, list[n])
		}
		entry[key] = values
	}
	doc, err := encode(entry)
	if err != nil {
		return err
	}
	_, err = strict.Decode(bytes.NewReader(doc), into)
	if fault, ok := errors.AsType[*strict.Error](err); ok {
		return refuse(row.Line, columnOf(places, row, fault.Path), fault.Problem, fault.Reason)
	}
	return err
}

func numbers[T any](list map[int]T) (out []int) {
	for n := range list {
		out = append(out, n)
	}
	slices.Sort(out)
	return out
}

// value makes a JSON value of a cell.
func (c column) value(cell string) (any, error) {
	switch {
	case c.form == asText && !strings.HasPrefix(cell, `"`):
		return cell, nil
	case json.Valid([]byte(cell)):
		return json.RawMessage(cell), nil
	case c.form == asText:
		return nil, words.Error("registerfile.quote", cell)
	case c.form == asNumber:
		return nil, words.Error("registerfile.number", cell)
	}
	return nil, words.Error("registerfile.json")
}

// columnOf is the column in which the value at a path of an entry stands, with
// the rest of the path where it lies deeper. Of a list only those of the row
// count that have a cell.
func columnOf(places []place, row strict.Row, path string) string {
	key, rest, _ := strings.Cut(path, ".")
	key, number, _ := strings.Cut(key, "#")
	used := map[int]bool{}
	for i, p := range places {
		if p.list == key && row.Cells[i] != "" {
			used[p.n] = true
		}
	}
	nth := numbers(used)
	for _, p := range places {
		switch n, err := strconv.Atoi(number); {
		case p.list == "" && p.key == key && key+rest == path:
			return p.name
		case p.list == "" && p.key == key:
			return fmt.Sprintf("%s (%s)", p.name, path)
		case p.list == key && err == nil && n <= len(nth) && p.n == nth[n-1] && p.key == rest:
			return p.name
		}
	}
	return path
}
