package main

import (
	"strings"
)

// cellPort is one --cell NAME=PORT.
type cellPort struct{ name, path string }

// parseCellPort reads NAME=PORT.
func parseCellPort(s string) (cellPort, error) {
	name, path, found := strings.Cut(s, "=")
	name, path = strings.TrimSpace(name), strings.TrimSpace(path)
	if !found || name == "" || path == "" {
		return cellPort{}, usagef("--cell %q: write NAME=PORT, for example --cell River-1=/dev/ttyUSB0", s)
	}
	return cellPort{name, path}, nil
}

// parseCellPorts reads every --cell and refuses a name or a port given twice.
func parseCellPorts(args []string) ([]cellPort, error) {
	var out []cellPort
	names, paths := map[string]bool{}, map[string]bool{}
	for _, a := range args {
		c, err := parseCellPort(a)
		if err != nil {
			return nil, err
		}
		if names[c.name] || paths[c.path] {
			return nil, usagef("--cell %q: that name or port is given twice", a)
		}
		names[c.name], paths[c.path] = true, true
		out = append(out, c)
	}
	return out, nil
}
