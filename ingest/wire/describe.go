package wire

import (
	"fmt"
	"strings"
)

// Describe says in words how bytes are read.
func (c Config) Describe() string {
	var all []string
	switch c.Format {
	case Packed:
		all = []string{"packed frames with a checksum, readings in counts"}
	case Modbus:
		all = []string{"Modbus RTU: " + c.Modbus.clause()}
	default:
		all = c.Text.clauses()
		all[0] = "lines of text: " + all[0]
	}
	return strings.Join(append(all, c.Ask.clauses(c.Format == Modbus)...), "; ")
}

func (c ModbusConfig) clause() string {
	kind := "holding"
	if c.function() == 4 {
		kind = "input"
	}
	s := fmt.Sprintf("instrument %d, %s register %d, %s", c.Address, kind, c.Register, c.Type)
	if c.Order != "" {
		s += " in the order " + c.Order
	}
	s += " in " + c.Unit
	if c.Decimals > 0 {
		s += " with " + count(uint64(c.Decimals), "decimal")
	}
	return s
}

// clauses says what is sent.
func (a Ask) clauses(polled bool) (all []string) {
	if a.Start != "" {
		all = append(all, "started with "+a.Start)
	}
	if a.Poll == "" && !polled {
		return all
	}
	s := "asked"
	if a.Poll != "" {
		s += " with " + a.Poll
	}
	if a.Every > 0 {
		s += fmt.Sprintf(" every %g ms", a.Every)
	} else {
		s += " as fast as it answers"
	}
	if a.Echo {
		s += ", which it repeats"
	}
	return append(all, s)
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
	all = append(all, c.notationClauses()...)
	if c.SeqColumn > 0 {
		all = append(all, fmt.Sprintf("field %d counts the lines", c.SeqColumn))
	}
	if c.TickColumn > 0 {
		all = append(all, fmt.Sprintf("field %d is the instrument's time in %s", c.TickColumn, c.tickUnit()))
	}
	if c.Cuts != nil {
		all = append(all, fmt.Sprintf("fields begin at the fixed places 0, %s", strings.Trim(strings.ReplaceAll(fmt.Sprint(c.Cuts), " ", ", "), "[]")))
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

// notationClauses says how numbers are written where that is not the usual way.
func (c TextConfig) notationClauses() (all []string) {
	if c.UnitWritten {
		all = append(all, "the unit is written in every line")
	}
	if c.SignBehind {
		all = append(all, "a minus stands behind the digits")
	}
	if c.SignColumn > 0 {
		all = append(all, fmt.Sprintf("field %d is the sign", c.SignColumn))
	}
	if c.Thousands != "" {
		all = append(all, fmt.Sprintf("%s parts thousands", c.Thousands))
	}
	if c.Exponent {
		all = append(all, "numbers may have an exponent")
	}
	switch c.Parity {
	case EvenParity, OddParity:
		all = append(all, fmt.Sprintf("seven bits with %s parity, which is checked", c.Parity))
	case AnyParity:
		all = append(all, "the eighth bit is left out")
	}
	if c.StatusColumn > 0 {
		all = append(all, fmt.Sprintf("field %d is the status, ordinarily %s", c.StatusColumn, strings.Join(c.Status, " or ")))
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
