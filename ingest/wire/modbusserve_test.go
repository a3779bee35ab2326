package wire

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// However requests reach an instrument, in pieces, behind one another or after
// what is for others, each is answered once, and the answer is read as its value.
func TestAnswersToRequests(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		c := ModbusConfig{
			Address: rapid.IntRange(1, 247).Draw(t, "address"), Function: rapid.IntRange(3, 4).Draw(t, "function"), Register: rapid.IntRange(0, 65534).Draw(t, "register"),
			Type: rapid.SampledFrom([]string{"int16", "uint16", "int32", "uint32", "float32"}).Draw(t, "type"), Order: rapid.SampledFrom([]string{"ABCD", "CDAB", "BADC", "DCBA"}).Draw(t, "order"), Unit: Counts,
		}
		other := c
		other.Address = c.Address%247 + 1
		wanted := rapid.IntRange(1, 5).Draw(t, "requests")
		var sent []byte
		for range wanted {
			for range rapid.IntRange(0, 2).Draw(t, "others") {
				sent = other.request(sent)
			}
			sent = c.request(sent)
		}
		raw := rapid.Int64Range(0, 30000).Draw(t, "raw")
		var answers, heard []byte
		for len(sent) > 0 {
			n := rapid.IntRange(1, len(sent)).Draw(t, "piece")
			heard = append(heard, sent[:n]...)
			sent = sent[n:]
			answers, heard = c.AppendAnswers(answers, heard, c.Bits(raw))
			require.Less(t, len(heard), modbusRequest)
		}
		d, err := New(Config{Format: Modbus, Modbus: c})
		require.NoError(t, err)
		var got []int64
		for _, r := range d.Decode(nil, answers) {
			got = append(got, r.Raw)
		}
		assert.Equal(t, slices.Repeat([]int64{raw}, wanted), got)
		assert.Zero(t, d.Stats().Rejected)
	})
}

// A damaged request is left unanswered and does not spoil the next one; what
// the instrument has not is refused.
func TestRequestsThatAreNotAnsweredWithAValue(t *testing.T) {
	t.Parallel()
	c := ModbusConfig{Address: 17, Register: 10, Type: "int16", Unit: Counts}
	damaged := c.request(nil)
	damaged[3] ^= 1
	value := AppendAnswer(nil, c, 42)
	answers, rest := c.AppendAnswers(nil, c.request(append([]byte("noise"), damaged...)), 42)
	assert.Equal(t, value, answers)
	assert.Empty(t, rest)
	for exception, ask := range map[byte]ModbusConfig{
		noSuchFunction: {Address: 17, Function: 4, Register: 10, Type: "int16"},
		noSuchRegister: {Address: 17, Register: 9, Type: "int16"},
	} {
		answers, _ = c.AppendAnswers(nil, ask.request(nil), 42)
		require.Len(t, answers, exceptionFrame)
		assert.True(t, soundModbus(answers))
		assert.Equal(t, []byte{17, ask.function() | exceptionBit, exception}, answers[:3])
	}
	none := []byte{17, 3, 0, 10, 0, 0}
	crc := crcModbus(none)
	answers, _ = c.AppendAnswers(nil, append(none, byte(crc), byte(crc>>8)), 42)
	assert.Equal(t, []byte{17, 0x83, noSuchCount}, answers[:3])
}
