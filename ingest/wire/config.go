package wire

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"tautlog/calc/unit"
)

// Format names a family of encodings.
type Format string

// The formats.
const (
	Text   Format = "text"   // lines of text, one reading each
	Packed Format = "packed" // COBS frames with a CRC
)

// Counts is the Unit of a cell that sends numbers without a unit of force.
const Counts = "counts"

// Config says how a cell's bytes are to be read.
type Config struct {
	Format Format     `json:"format"`
	Text   TextConfig `json:"text,omitzero"`
}

// TextConfig describes lines of text. Columns count from 1; 0 means none.
//
// Fields are parted by blanks, tabs, commas, semicolons, colons, equals signs
// and bars; a run of blanks parts once, two commas hold an empty field. With
// a decimal comma, the comma parts nothing. A sign that stands apart from its
// digits belongs to them. Control characters count as blanks.
//
// A line fits when its reading is a plain decimal number with no more than
// the configured decimals, when a unit that is written at the number or
// beside it is the configured one, when its tick and its count are numbers,
// and when it has the configured number of fields. A line in which one of the
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
}

// Bounds of a configuration and of a line.
const (
	maxColumn   = 32
	maxDecimals = 9
	maxLine     = 256
)

// ErrConfig says that a configuration cannot be read by.
var ErrConfig = errors.New("wire configuration")

// New makes a decoder. It refuses a configuration that cannot be read by.
func New(c Config) (Decoder, error) {
	if err := c.Validate(); err != nil {
		return nil, err
	}
	if c.Format == Packed {
		return &packedDecoder{}, nil
	}
	return newTextDecoder(c.Text), nil
}

// Validate refuses a configuration that cannot be read by, naming the field.
func (c Config) Validate() error {
	switch c.Format {
	case Packed:
		return nil
	case Text:
		return c.Text.validate()
	}
	return refuse("format", c.Format, `use "text" or "packed"`)
}

func refuse(field string, value any, hint string) error {
	return fmt.Errorf("%w: %s is %#v: %s", ErrConfig, field, value, hint)
}

func (c TextConfig) validate() error {
	if c.Column < 1 || c.Column > maxColumn {
		return refuse("text.column", c.Column, "give the number of the field that is the reading, from 1 to 32")
	}
	if c.Unit != Counts {
		if _, err := unit.ParseForceUnit(c.Unit); err != nil {
			return refuse("text.unit", c.Unit, `use "counts" or one of kN, N, kgf, t, lbf`)
		}
	}
	if c.Decimals < 0 || c.Decimals > maxDecimals {
		return refuse("text.decimals", c.Decimals, "give the number of digits behind the point, from 0 to 9")
	}
	if c.Fields != 0 && (c.Fields < c.columns() || c.Fields > maxColumn) {
		return refuse("text.fields", c.Fields, "give the number of fields in a line, at least the highest column and at most 32, or 0 for any")
	}
	if err := c.validateCounters(); err != nil {
		return err
	}
	return errors.Join(validateWords("text.overload", c.Overload), validateWords("text.invalid", c.Invalid))
}

func (c TextConfig) validateCounters() error {
	switch {
	case c.TickColumn < 0 || c.TickColumn > maxColumn || c.TickColumn == c.Column:
		return refuse("text.tick_column", c.TickColumn, "give a field other than the reading, from 1 to 32, or 0 for none")
	case c.SeqColumn < 0 || c.SeqColumn > maxColumn || c.SeqColumn == c.Column:
		return refuse("text.seq_column", c.SeqColumn, "give a field other than the reading, from 1 to 32, or 0 for none")
	case !(c.TickScale >= 0 && c.TickScale <= 1e9) || math.IsNaN(c.TickScale):
		return refuse("text.tick_scale", c.TickScale, "give the microseconds in one step of the tick: 1000 for milliseconds, 1e6 for seconds")
	case c.SeqWrap < 0 || c.SeqWrap == 1:
		return refuse("text.seq_wrap", c.SeqWrap, "give how many values the count has, such as 256, or 0 if that is not known")
	}
	return nil
}

func validateWords(field string, words []string) error {
	for _, w := range words {
		if w == "" || strings.ContainsFunc(w, func(r rune) bool { return r <= ' ' || r == 0x7f || strings.ContainsRune(hardSeparators, r) }) {
			return refuse(field, w, "a word is one field: not empty, without blanks and separators")
		}
	}
	return nil
}

// columns is the highest column in use.
func (c TextConfig) columns() int { return max(c.Column, c.TickColumn, c.SeqColumn) }
