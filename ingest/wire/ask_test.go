package wire

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestUnescape(t *testing.T) {
	t.Parallel()
	for s, want := range map[string]string{
		`W\r\n`: "W\r\n", `\x02P\x03`: "\x02P\x03", `a\\b`: `a\b`, `\t\0\e`: "\t\x00\x1b", `"\xFF`: "\"\xff", "": "",
	} {
		got, err := Unescape(s)
		require.NoError(t, err, s)
		assert.Equal(t, want, string(got), s)
	}
	for s, says := range map[string]string{`a\`: "lone", `\q`: `\q at character 1`, `\x2`: `\x at character 1`, `ab\xzz`: `\xzz at character 3`} {
		_, err := Unescape(s)
		assert.ErrorContains(t, err, says, s)
	}
}

// escape writes bytes as Unescape reads them.
func escape(b []byte) string {
	var s []byte
	for _, c := range b {
		switch {
		case c == '\r':
			s = append(s, `\r`...)
		case c == '\n':
			s = append(s, `\n`...)
		case c == '\\':
			s = append(s, `\\`...)
		case c < ' ' || c > '~':
			s = fmt.Appendf(s, `\x%02x`, c)
		default:
			s = append(s, c)
		}
	}
	return string(s)
}

func TestEscapeRoundTrip(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		b := rapid.SliceOf(rapid.Byte()).Draw(t, "bytes")
		back, err := Unescape(escape(b))
		require.NoError(t, err)
		assert.Equal(t, string(b), string(back))
	})
}

func TestRequests(t *testing.T) {
	t.Parallel()
	poll := Config{Format: Text, Text: TextConfig{Column: 1, Unit: "kN"}, Ask: Ask{Start: `\x1b`, Poll: `W\r`, Every: 20}}
	assert.Equal(t, "\x1b", string(poll.Start()))
	assert.Equal(t, "W\r", string(poll.Request()))
	assert.Equal(t, 20*time.Millisecond, poll.Ask.Period())
	assert.Equal(t, 500*time.Millisecond, poll.Ask.Patience())
	assert.Empty(t, Config{Format: Packed}.Request())
	registers := Config{Format: Modbus, Modbus: ModbusConfig{Address: 1, Type: "int32"}}
	assert.Equal(t, unhex(t, "01 03 00 00 00 02 C4 0B"), registers.Request())
	assert.Empty(t, registers.Start())
}

func TestDescribe(t *testing.T) {
	t.Parallel()
	for says, c := range map[string]Config{
		"lines of text: field 1 is the reading in kN with 1 decimal; a minus stands behind the digits; 2 fields a line; asked with W\\r every 20 ms, which it repeats": {
			Format: Text, Text: TextConfig{Column: 1, Unit: "kN", Decimals: 1, Fields: 2, SignBehind: true}, Ask: Ask{Poll: `W\r`, Echo: true, Every: 20},
		},
		"lines of text: field 3 is the reading in kgf; the unit is written in every line; seven bits with even parity, which is checked; fields begin at the fixed places 0, 2, 4; started with \\x02": {
			Format: Text, Text: TextConfig{Column: 3, Unit: "kgf", UnitWritten: true, Cuts: []int{2, 4}, Parity: EvenParity}, Ask: Ask{Start: `\x02`},
		},
		"Modbus RTU: instrument 5, input register 8, float32 in the order CDAB in kN with 2 decimals; asked as fast as it answers": {
			Format: Modbus, Modbus: ModbusConfig{Address: 5, Function: 4, Register: 8, Type: "float32", Order: "CDAB", Unit: "kN", Decimals: 2},
		},
	} {
		require.NoError(t, c.Validate())
		assert.Equal(t, says, c.Describe())
	}
}
