package strict

import (
	"encoding"
	"encoding/json"
	"reflect"
	"strconv"
	"strings"

	"tautlog/calc/words"
)

// checker compares a parsed document with the type that it is read into, and
// notes where each value stands.
type checker struct{ Document }

func (c checker) into(n *node, v any) error {
	t := reflect.TypeOf(v)
	if t == nil || t.Kind() != reflect.Pointer {
		panic("strict: Decode needs a pointer")
	}
	return c.check(n, t.Elem(), "")
}

func (c checker) refuse(at int, path, problem string, reason error) error {
	e := locate(c.data, at)
	e.Path, e.Problem, e.Reason = path, problem, reason
	return e
}

func (c checker) wrong(n *node, path, want string) error {
	return c.refuse(n.at, path, words.Say("strict.wrong", n.what(), want), ErrType)
}

func (c checker) check(n *node, t reflect.Type, path string) error {
	c.at[path] = n.at
	if t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice {
		if n.token == nil {
			return nil // null: unknown
		}
	}
	if t.Kind() == reflect.Pointer {
		return c.check(n, t.Elem(), path)
	}
	if n.token == nil {
		return c.refuse(n.at, path, words.Say("strict.null"), ErrType)
	}
	if text, ok := reflect.New(t).Interface().(encoding.TextUnmarshaler); ok {
		return c.text(n, text, path)
	}
	switch t.Kind() {
	case reflect.Struct:
		return c.object(n, t, path)
	case reflect.Slice:
		return c.list(n, t, path)
	default:
		return c.scalar(n, t, path)
	}
}

// text checks a value that reads itself from text, such as a quantity.
func (c checker) text(n *node, into encoding.TextUnmarshaler, path string) error {
	switch v := n.token.(type) {
	case string:
		if err := into.UnmarshalText([]byte(v)); err != nil {
			return c.refuse(n.at, path, err.Error(), err)
		}
		return nil
	case json.Number:
		if err := into.UnmarshalText([]byte(v)); err != nil {
			return c.refuse(n.at, path, err.Error(), err)
		}
	}
	return c.wrong(n, path, words.Say("strict.want.string"))
}

func (c checker) object(n *node, t reflect.Type, path string) error {
	if n.token != json.Delim('{') {
		return c.wrong(n, path, words.Say("strict.want.object"))
	}
	known := keys(t)
	seen := map[string]bool{}
	for _, m := range n.members {
		field, ok := known.types[m.key]
		switch {
		case !ok:
			return c.refuse(m.at, path, words.Say("strict.unknown", m.key, strings.Join(known.names, ", ")), ErrUnknownKey)
		case seen[m.key]:
			return c.refuse(m.at, path, words.Say("strict.twice", m.key), ErrRepeatedKey)
		}
		seen[m.key] = true
		if err := c.check(m.value, field, join(path, m.key)); err != nil {
			return err
		}
	}
	return nil
}

func (c checker) list(n *node, t reflect.Type, path string) error {
	if n.token != json.Delim('[') {
		return c.wrong(n, path, words.Say("strict.want.list"))
	}
	for i, item := range n.items {
		if err := c.check(item, t.Elem(), path+"#"+strconv.Itoa(i+1)); err != nil {
			return err
		}
	}
	return nil
}

func (c checker) scalar(n *node, t reflect.Type, path string) error {
	ok, want := false, ""
	switch t.Kind() {
	case reflect.String:
		_, ok = n.token.(string)
		want = words.Say("strict.want.string")
	case reflect.Bool:
		_, ok = n.token.(bool)
		want = words.Say("strict.want.bool")
	case reflect.Float64:
		ok, want = fits(n, func(s string) error { _, err := strconv.ParseFloat(s, 64); return err }), words.Say("strict.want.number")
	case reflect.Int:
		ok, want = fits(n, func(s string) error { _, err := strconv.Atoi(s); return err }), words.Say("strict.want.whole")
	default:
		panic("strict: cannot read into a " + t.String())
	}
	if !ok {
		return c.wrong(n, path, want)
	}
	return nil
}

func fits(n *node, read func(string) error) bool {
	v, ok := n.token.(json.Number)
	return ok && read(string(v)) == nil
}

// keySet is what an object may hold.
type keySet struct {
	names []string
	types map[string]reflect.Type
}

// keys lists the JSON keys of a struct, embedded structs flattened as
// encoding/json does.
func keys(t reflect.Type) keySet {
	set := keySet{types: map[string]reflect.Type{}}
	for i := range t.NumField() {
		f := t.Field(i)
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		switch {
		case f.Anonymous && name == "":
			inner := f.Type
			if inner.Kind() == reflect.Pointer {
				inner = inner.Elem()
			}
			in := keys(inner)
			set.names = append(set.names, in.names...)
			for k, v := range in.types {
				set.types[k] = v
			}
		case f.IsExported() && name != "" && name != "-":
			set.names = append(set.names, name)
			set.types[name] = f.Type
		}
	}
	return set
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}
