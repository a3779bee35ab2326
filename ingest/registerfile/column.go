package registerfile

import (
	"encoding"
	"reflect"
	"strings"
)

// form is how a value stands in a cell.
type form int

const (
	asText   form = iota
	asNumber      // a JSON number, or true or false
	asJSON
	asRows // a list of flat objects, a column for each key of each
)

// column is a key of a type with the form of its values.
type column struct {
	key   string
	form  form
	words bool     // of asText: what people wrote, and no quantity
	parts []column // of asRows
}

// columnsOf lists the keys of a struct, embedded structs flattened as
// encoding/json does.
func columnsOf(t reflect.Type) (out []column) {
	for _, f := range reflect.VisibleFields(t) {
		key, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		if key == "" || key == "-" {
			continue
		}
		c := column{key: key, form: formOf(f.Type), words: f.Type.Kind() == reflect.String}
		if f.Type.Kind() == reflect.Slice && c.form == asJSON {
			if parts, flat := flat(f.Type.Elem()); flat {
				c.form, c.parts = asRows, parts
			}
		}
		out = append(out, c)
	}
	return out
}

func formOf(t reflect.Type) form {
	if t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	if _, ok := reflect.New(t).Interface().(encoding.TextUnmarshaler); ok {
		return asText
	}
	switch t.Kind() {
	case reflect.String:
		return asText
	case reflect.Int, reflect.Float64, reflect.Bool:
		return asNumber
	}
	return asJSON
}

// flat gives the columns of a struct that holds nothing with parts of its own.
func flat(t reflect.Type) ([]column, bool) {
	if t.Kind() != reflect.Struct {
		return nil, false
	}
	parts := columnsOf(t)
	for _, p := range parts {
		if p.form != asText && p.form != asNumber {
			return nil, false
		}
	}
	return parts, true
}

// stem begins the columns of one of a list: "rating" of "ratings".
func (c column) stem() string { return strings.TrimSuffix(c.key, "s") }
