package wire

// Format names a family of encodings.
type Format string

// The formats.
const (
	Text   Format = "text"   // lines of text, one reading each
	Packed Format = "packed" // COBS frames with a CRC
)

// Config says how a cell's bytes are to be read.
type Config struct {
	Format Format     `json:"format"`
	Text   TextConfig `json:"text,omitzero"`
}

// TextConfig describes lines of text. Columns count from 1; 0 means none.
type TextConfig struct {
	Column       int      `json:"column"`                  // the field that is the reading
	Unit         string   `json:"unit"`                    // "counts" or a unit of force
	Decimals     int      `json:"decimals"`                // digits behind the point that one step of Raw stands for
	DecimalComma bool     `json:"decimal_comma,omitempty"` // 12,345 means 12.345
	TickColumn   int      `json:"tick_column,omitempty"`   // the instrument's time
	TickScale    float64  `json:"tick_scale,omitempty"`    // µs per step of that field, 1 when 0
	SeqColumn    int      `json:"seq_column,omitempty"`    // the instrument's count of lines
	Overload     []string `json:"overload,omitempty"`      // words that mark an overload
	Invalid      []string `json:"invalid,omitempty"`       // words that mark a reading without meaning
}

// New makes a decoder. It refuses a configuration that cannot be read by.
func New(c Config) (Decoder, error) { return nil, nil }

// Validate refuses a configuration that cannot be read by, naming the field.
func (c Config) Validate() error { return nil }
