package wire

import (
	"fmt"
	"strings"
)

// Describe says in words how bytes are read.
func (c Config) Describe() string {
	if c.Format == Packed {
		return "packed frames with a checksum, readings in counts"
	}
	return "lines of text: " + strings.Join(c.Text.clauses(), "; ")
}

func (c TextConfig) clauses() []string {
	reading := fmt.Sprintf("field %d is the reading in %s", c.Column, c.Unit)
	if c.Decimals > 0 {
		reading += " with " + count(uint64(c.Decimals), "decimal")
		if c.DecimalComma {
			reading += " behind a comma"
		}
	}
	all := []string{reading}
	if c.SeqColumn > 0 {
		all = append(all, fmt.Sprintf("field %d counts the lines", c.SeqColumn))
	}
	if c.TickColumn > 0 {
		all = append(all, fmt.Sprintf("field %d is the instrument's time in %s", c.TickColumn, c.tickUnit()))
	}
	if c.Fields > 0 {
		all = append(all, count(uint64(c.Fields), "field")+" a line")
	}
	if len(c.Overload) > 0 {
		all = append(all, strings.Join(c.Overload, ", ")+" means overload")
	}
	if len(c.Invalid) > 0 {
		all = append(all, strings.Join(c.Invalid, ", ")+" means no valid reading")
	}
	return all
}

func (c TextConfig) tickUnit() string {
	switch c.TickScale {
	case 0, 1:
		return "microseconds"
	case 1000:
		return "milliseconds"
	case 1e6:
		return "seconds"
	}
	return fmt.Sprintf("steps of %g µs", c.TickScale)
}
