package wire

import (
	"fmt"
	"strings"

	"tautlog/calc/words"
)

// Describe says in words how bytes are read.
func (c Config) Describe() string {
	var all []string
	switch c.Format {
	case Packed:
		all = []string{words.Say("wire.packed")}
	case Modbus:
		all = []string{words.Say("wire.modbus", c.Modbus.clause())}
	default:
		all = c.Text.clauses()
		all[0] = words.Say("wire.text", all[0])
	}
	return strings.Join(append(all, c.Ask.clauses(c.Format == Modbus)...), "; ")
}

func (c ModbusConfig) clause() string {
	s := words.Say("wire.modbus.holding", c.Address, c.Register, c.Type)
	if c.function() == 4 {
		s = words.Say("wire.modbus.input", c.Address, c.Register, c.Type)
	}
	if c.Order != "" {
		s = words.Say("wire.modbus.order", s, c.Order)
	}
	s = words.Say("wire.modbus.unit", s, unitName(c.Unit))
	if c.Decimals > 0 {
		s = words.Say("wire.with", s, words.Count("wire.decimals", c.Decimals))
	}
	return s
}

// clauses says what is sent.
func (a Ask) clauses(polled bool) (all []string) {
	if a.Start != "" {
		all = append(all, words.Say("wire.started", a.Start))
	}
	if a.Poll == "" && !polled {
		return all
	}
	s := words.Say("wire.asked")
	if a.Poll != "" {
		s = words.Say("wire.with", s, a.Poll)
	}
	if a.Every > 0 {
		s = words.Say("wire.asked.every", s, a.Every)
	} else {
		s = words.Say("wire.asked.fast", s)
	}
	if a.Echo {
		s = words.Say("wire.asked.echo", s)
	}
	return append(all, s)
}

func (c TextConfig) clauses() []string {
	reading := words.Say("wire.field.reading", c.Column, unitName(c.Unit))
	if c.Decimals > 0 {
		reading = words.Say("wire.with", reading, words.Count("wire.decimals", c.Decimals))
		if c.DecimalComma {
			reading = words.Say("wire.comma", reading)
		}
	}
	all := []string{reading}
	all = append(all, c.notationClauses()...)
	if c.SeqColumn > 0 {
		all = append(all, words.Say("wire.field.counts", c.SeqColumn))
	}
	if c.TickColumn > 0 {
		all = append(all, words.Say("wire.field.time", c.TickColumn, c.tickUnit()))
	}
	if c.Cuts != nil {
		all = append(all, words.Say("wire.cuts", strings.Trim(strings.ReplaceAll(fmt.Sprint(c.Cuts), " ", ", "), "[]")))
	}
	if c.Fields > 0 {
		all = append(all, words.Count("wire.fields.line", c.Fields))
	}
	if len(c.Overload) > 0 {
		all = append(all, words.Say("wire.overload", strings.Join(c.Overload, ", ")))
	}
	if len(c.Invalid) > 0 {
		all = append(all, words.Say("wire.invalid", strings.Join(c.Invalid, ", ")))
	}
	return all
}

// notationClauses says how numbers are written where that is not the usual way.
func (c TextConfig) notationClauses() (all []string) {
	if c.UnitWritten {
		all = append(all, words.Say("wire.unit.written"))
	}
	if c.SignBehind {
		all = append(all, words.Say("wire.minus"))
	}
	if c.SignColumn > 0 {
		all = append(all, words.Say("wire.field.sign", c.SignColumn))
	}
	if c.Thousands != "" {
		all = append(all, words.Say("wire.thousands", c.Thousands))
	}
	if c.Exponent {
		all = append(all, words.Say("wire.exponent"))
	}
	switch c.Parity {
	case EvenParity:
		all = append(all, words.Say("wire.parity.even"))
	case OddParity:
		all = append(all, words.Say("wire.parity.odd"))
	case AnyParity:
		all = append(all, words.Say("wire.parity.none"))
	}
	if c.StatusColumn > 0 {
		all = append(all, words.Say("wire.field.status", c.StatusColumn, oneOf(c.Status)))
	}
	return all
}

// oneOf lists things of which one will do.
func oneOf(all []string) (said string) {
	for i, s := range all {
		if i == 0 {
			said = s
			continue
		}
		said = words.Say("wire.or", said, s)
	}
	return said
}

// unitName is the unit of a reading as people are told it.
func unitName(u string) string {
	if u == Counts {
		return words.Say("wire.counts")
	}
	return u
}

func (c TextConfig) tickUnit() string {
	switch c.TickScale {
	case 0, 1:
		return words.Say("wire.time.us")
	case 1000:
		return words.Say("wire.time.ms")
	case 1e6:
		return words.Say("wire.time.s")
	}
	return words.Say("wire.time.steps", c.TickScale)
}
