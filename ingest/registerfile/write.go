package registerfile

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"reflect"
	"strings"

	"tautlog/calc/strict"
)

// WriteTable writes vehicles, items or rigs as CSV, with the columns that any
// of them needs.
func WriteTable[T any](w io.Writer, values []T) error {
	columns := columnsOf(reflect.TypeFor[T]())
	entries := make([]map[string]json.RawMessage, len(values))
	for i, v := range values {
		if err := reread(v, &entries[i]); err != nil {
			return err
		}
	}
	var header []string
	rows := make([][]string, len(values))
	for _, c := range columns {
		names, cells, err := c.write(entries)
		if err != nil {
			return err
		}
		header = append(header, names...)
		for i := range rows {
			rows[i] = append(rows[i], cells[i]...)
		}
	}
	return csv.NewWriter(w).WriteAll(append([][]string{header}, rows...))
}

// reread gives a value as its JSON keys.
func reread(v, into any) error {
	doc, err := encode(v)
	if err != nil {
		return err
	}
	return json.Unmarshal(doc, into)
}

// encode is json.Marshal without escapes that only pages need.
func encode(v any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	err := e.Encode(v)
	return bytes.TrimSpace(b.Bytes()), err
}

// write gives the names of the columns and their cells for each entry; nothing
// where no entry has the key, unless it is the name.
func (c column) write(entries []map[string]json.RawMessage) (names []string, cells [][]string, err error) {
	cells = make([][]string, len(entries))
	if c.form == asRows {
		return c.writeRows(entries, cells)
	}
	needed := c.key == "name"
	for i, e := range entries {
		cell, err := c.cell(e[c.key])
		if err != nil {
			return nil, nil, err
		}
		needed = needed || cell != ""
		cells[i] = []string{cell}
	}
	if !needed {
		return nil, make([][]string, len(entries)), nil
	}
	return []string{c.key}, cells, nil
}

// writeRows writes the lists of all entries side by side.
func (c column) writeRows(entries []map[string]json.RawMessage, cells [][]string) (names []string, _ [][]string, err error) {
	lists := make([][]map[string]json.RawMessage, len(entries))
	most := 0
	for i, e := range entries {
		if raw := e[c.key]; raw != nil {
			if err := json.Unmarshal(raw, &lists[i]); err != nil {
				return nil, nil, err
			}
		}
		most = max(most, len(lists[i]))
	}
	for n := range most {
		nth := make([]map[string]json.RawMessage, len(entries))
		for i, l := range lists {
			if n < len(l) {
				nth[i] = l[n]
			}
		}
		for _, p := range c.parts {
			named, more, err := p.write(nth)
			if err != nil {
				return nil, nil, err
			}
			for _, name := range named {
				names = append(names, fmt.Sprintf("%s_%d_%s", c.stem(), n+1, name))
			}
			for i := range cells {
				cells[i] = append(cells[i], more[i]...)
			}
		}
	}
	return names, cells, nil
}

// cell writes one value.
func (c column) cell(raw json.RawMessage) (string, error) {
	if raw == nil || c.form != asText {
		return string(raw), nil
	}
	var text string
	if err := json.Unmarshal(raw, &text); err != nil {
		return "", err
	}
	if text == strings.TrimSpace(text) && !strings.HasPrefix(text, `"`) && !strings.ContainsAny(text, "\r\x00") && text != "" {
		if c.words {
			text = strict.Cell(text)
		}
		return text, nil
	}
	return string(raw), nil
}
