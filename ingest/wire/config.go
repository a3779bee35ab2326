package wire

import (
	"errors"
	"math"
	"strings"

	"tautlog/calc/unit"
	"tautlog/calc/words"
)

// Format names a family of encodings.
type Format string

// The formats.
const (
	Text   Format = "text"   // lines of text, one reading each
	Packed Format = "packed" // COBS frames with a CRC
	Modbus Format = "modbus" // registers that are asked for, Modbus RTU
)

// Counts is the Unit of a cell that sends numbers without a unit of force.
const Counts = "counts"

// Config says how a cell's bytes are to be read.
type Config struct {
	Format Format       `json:"format"`
	Text   TextConfig   `json:"text,omitzero"`
	Modbus ModbusConfig `json:"modbus,omitzero"`
	Ask    Ask          `json:"ask,omitzero"`
}

// TextConfig describes lines of text. Columns count from 1; 0 means none.
//
// A line ends with CR, LF or ETX, in any mixture; blank lines are nothing.
// STX begins one: what came before it was cut off, and is refused. What
// follows the ETX of a line that began with STX, such as a checksum, is left
// out up to the next STX or line end.
//
// Fields are parted by blanks, tabs, commas, semicolons, colons, equals signs
// and bars; a run of blanks parts once, two commas hold an empty field. With
// a decimal comma, the comma parts nothing. A sign that stands apart from its
// digits belongs to them. Control characters count as blanks. With Cuts,
// fields are parted by their place in the line instead.
//
// A line fits when its reading is a decimal number with no more than the
// configured decimals, written as configured, when a unit that is written at
// the number or beside it is the configured one, when its tick and its count
// are numbers, and when it has the configured number of fields. Nothing that
// is not configured is understood: a minus behind the digits, grouped digits
// or an exponent make a line that does not fit. A line in which one of the
// Overload or Invalid words is a field needs none of that: it gives a marked
// reading. Where such a word stands in place of the number, the reading is
// marked Invalid as well and repeats the value before it. The end of a line
// whose beginning was not seen (the first one after New or Reset) is left
// out: what is left of "123.4" may look like "3.4".
type TextConfig struct {
	Column       int      `json:"column"`                  // the field that is the reading
	Unit         string   `json:"unit"`                    // "counts" or a unit of force
	Decimals     int      `json:"decimals"`                // digits behind the point that one step of Raw stands for
	DecimalComma bool     `json:"decimal_comma,omitempty"` // 12,345 means 12.345
	Fields       int      `json:"fields,omitempty"`        // fields that a line must have, any number when 0
	TickColumn   int      `json:"tick_column,omitempty"`   // the instrument's time
	TickScale    float64  `json:"tick_scale,omitempty"`    // µs per step of that field, 1 when 0
	SeqColumn    int      `json:"seq_column,omitempty"`    // the instrument's count of lines
	SeqWrap      int64    `json:"seq_wrap,omitempty"`      // the count starts again at 0 instead of this; unknown when 0
	Overload     []string `json:"overload,omitempty"`      // words that mark an overload
	Invalid      []string `json:"invalid,omitempty"`       // words that mark a reading without meaning

	// Cuts parts a line of fixed columns: the characters, counted from 0, at
	// which its second and further fields begin. Control characters before
	// the line do not count.
	Cuts []int `json:"cuts,omitempty"`
	// SignBehind says that a minus stands behind the digits: "12.3-".
	SignBehind bool `json:"sign_behind,omitempty"`
	// SignColumn is a field of its own for the sign: "+", "-" or nothing.
	SignColumn int `json:"sign_column,omitempty"`
	// Thousands parts groups of three digits: "," or "." or "'"; then it
	// parts no fields. Digits that are not grouped are read as well.
	Thousands string `json:"thousands,omitempty"`
	// Exponent says that numbers may have one: "1.23E+01". Digits beyond the
	// configured decimals are then rounded off.
	Exponent bool `json:"exponent,omitempty"`
	// UnitWritten says that the unit stands at or beside the reading in every
	// line: without it, or with any other word there, a line is refused.
	UnitWritten bool `json:"unit_written,omitempty"`
	// StatusColumn is a field that holds one of the words of Status in an
	// ordinary line, such as ST (stable) and US (in motion): a line with
	// another word there is refused unless that word sets a mark.
	StatusColumn int      `json:"status_column,omitempty"`
	Status       []string `json:"status,omitempty"`
	// Parity is what the eighth bit of a byte holds where the instrument
	// sends seven and the line is read with eight: EvenParity or OddParity,
	// and a line with a byte of wrong parity is refused, or AnyParity.
	Parity Parity `json:"parity,omitempty"`
}

// Parity is what the eighth bit of a byte of text holds.
type Parity string

// The parities; the empty one means that the bit is part of the text.
const (
	EvenParity Parity = "even" // the bits of a byte sum up to an even number
	OddParity  Parity = "odd"
	AnyParity  Parity = "any" // the bit says nothing and is left out
)

// Bounds of a configuration and of a line.
const (
	maxColumn   = 32
	maxDecimals = 9
	maxLine     = 256
)

// ErrConfig says that a configuration cannot be read by.
var ErrConfig error = words.Kind("wire.config")

// New makes a decoder. It refuses a configuration that cannot be read by.
func New(c Config) (Decoder, error) {
	if err := c.Validate(); err != nil {
		return nil, err
	}
	switch c.Format {
	case Packed:
		return &packedDecoder{}, nil
	case Modbus:
		return newModbusDecoder(c.Modbus), nil
	}
	return newTextDecoder(c.Text, c.Ask.echo()), nil
}

// Validate refuses a configuration that cannot be read by, naming the field.
func (c Config) Validate() error {
	if err := c.validateAsk(); err != nil {
		return err
	}
	switch c.Format {
	case Packed:
		return nil
	case Text:
		return c.Text.validate()
	case Modbus:
		return c.Modbus.validate()
	}
	return refuse("format", c.Format, words.Say("wire.hint.format"))
}

// ForceUnit is the unit of force of the readings and how many of its decimals
// one step of Raw stands for; false where readings are counts.
func (c Config) ForceUnit() (u unit.ForceUnit, decimals int, ok bool) {
	name := c.Text.Unit
	decimals = c.Text.Decimals
	switch c.Format {
	case Packed:
		return "", 0, false
	case Modbus:
		name, decimals = c.Modbus.Unit, c.Modbus.Decimals
	}
	u, err := unit.ParseForceUnit(name)
	return u, decimals, err == nil
}

func refuse(field string, value any, hint string) error {
	return words.Error("wire.config.is", ErrConfig, field, value, hint)
}

func (c TextConfig) validate() error {
	if c.Column < 1 || c.Column > maxColumn {
		return refuse("text.column", c.Column, words.Say("wire.hint.text.column"))
	}
	if c.Unit != Counts {
		if _, err := unit.ParseForceUnit(c.Unit); err != nil {
			return refuse("text.unit", c.Unit, words.Say("wire.hint.unit"))
		}
	}
	if c.Decimals < 0 || c.Decimals > maxDecimals {
		return refuse("text.decimals", c.Decimals, words.Say("wire.hint.text.decimals"))
	}
	if c.Fields != 0 && (c.Fields < c.columns() || c.Fields > maxColumn) {
		return refuse("text.fields", c.Fields, words.Say("wire.hint.text.fields"))
	}
	if err := errors.Join(c.validateCounters(), c.validateParting(), c.validateNotation()); err != nil {
		return err
	}
	return errors.Join(validateWords("text.overload", c.Overload), validateWords("text.invalid", c.Invalid), validateWords("text.status", c.Status))
}

// validateParting looks at how lines are parted.
func (c TextConfig) validateParting() error {
	last := 0
	for _, at := range c.Cuts {
		if at <= last || at >= maxLine || len(c.Cuts) >= maxColumn {
			return refuse("text.cuts", c.Cuts, words.Say("wire.hint.text.cuts"))
		}
		last = at
	}
	if n := len(c.Cuts) + 1; n > 1 && (c.columns() > n || c.Fields != 0 && c.Fields != n) {
		return refuse("text.cuts", c.Cuts, words.Say("wire.hint.text.cuts.few"))
	}
	switch c.Parity {
	case "", EvenParity, OddParity, AnyParity:
		return nil
	}
	return refuse("text.parity", string(c.Parity), words.Say("wire.hint.text.parity"))
}

// validateNotation looks at how numbers are written.
func (c TextConfig) validateNotation() error {
	point := string(rune(decimalSign(c.DecimalComma)))
	switch {
	case c.Thousands != "" && (!strings.Contains(",.'", c.Thousands) || len(c.Thousands) != 1 || c.Thousands == point):
		return refuse("text.thousands", c.Thousands, words.Say("wire.hint.text.thousands"))
	case c.SignColumn < 0 || c.SignColumn > maxColumn || c.SignColumn != 0 && (c.SignColumn == c.Column || c.SignBehind):
		return refuse("text.sign_column", c.SignColumn, words.Say("wire.hint.text.sign_column"))
	case c.StatusColumn < 0 || c.StatusColumn > maxColumn || c.StatusColumn != 0 && c.StatusColumn == c.Column:
		return refuse("text.status_column", c.StatusColumn, words.Say("wire.hint.otherfield"))
	case (c.StatusColumn == 0) != (len(c.Status) == 0):
		return refuse("text.status", c.Status, words.Say("wire.hint.text.status"))
	case c.UnitWritten && c.Unit == Counts:
		return refuse("text.unit_written", c.UnitWritten, words.Say("wire.hint.text.unit_written"))
	}
	return nil
}

func (c TextConfig) validateCounters() error {
	switch {
	case c.TickColumn < 0 || c.TickColumn > maxColumn || c.TickColumn == c.Column:
		return refuse("text.tick_column", c.TickColumn, words.Say("wire.hint.otherfield"))
	case c.SeqColumn < 0 || c.SeqColumn > maxColumn || c.SeqColumn == c.Column:
		return refuse("text.seq_column", c.SeqColumn, words.Say("wire.hint.otherfield"))
	case !(c.TickScale >= 0 && c.TickScale <= 1e9) || math.IsNaN(c.TickScale):
		return refuse("text.tick_scale", c.TickScale, words.Say("wire.hint.text.tick_scale"))
	case c.SeqWrap < 0 || c.SeqWrap == 1:
		return refuse("text.seq_wrap", c.SeqWrap, words.Say("wire.hint.text.seq_wrap"))
	}
	return nil
}

func validateWords(field string, all []string) error {
	for _, w := range all {
		if w == "" || strings.ContainsFunc(w, func(r rune) bool { return r <= ' ' || r == 0x7f || strings.ContainsRune(hardSeparators, r) }) {
			return refuse(field, w, words.Say("wire.hint.word"))
		}
	}
	return nil
}

// columns is the highest column in use.
func (c TextConfig) columns() int {
	return max(c.Column, c.TickColumn, c.SeqColumn, c.SignColumn, c.StatusColumn)
}
