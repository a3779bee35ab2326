package wire

import (
	"encoding/hex"
	"encoding/json"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

type published struct {
	CRC []struct {
		Name  string `json:"name"`
		Check string `json:"check_123456789"`
	} `json:"crc"`
	COBS struct {
		Vectors []struct {
			Data    string `json:"data"`
			Encoded string `json:"encoded"`
		} `json:"vectors"`
	} `json:"cobs"`
}

func readPublished(t *testing.T) (p published) {
	t.Helper()
	b, err := os.ReadFile("testdata/wire_checks.json")
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(b, &p))
	return p
}

func unhex(t *testing.T, s string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.ReplaceAll(s, " ", ""))
	require.NoError(t, err)
	return b
}

func TestPublishedCRC(t *testing.T) {
	t.Parallel()
	p := readPublished(t)
	require.Contains(t, p.CRC[0].Name, "CRC-16/CCITT-FALSE")
	want, err := strconv.ParseUint(p.CRC[0].Check, 0, 16)
	require.NoError(t, err)
	assert.Equal(t, uint16(want), crc16([]byte("123456789")))
	assert.Equal(t, uint16(0x29B1), crc16([]byte("123456789")))
}

func TestPublishedStuffing(t *testing.T) {
	t.Parallel()
	vectors := readPublished(t).COBS.Vectors
	require.Len(t, vectors, 8)
	for _, v := range vectors {
		data, encoded := unhex(t, v.Data), unhex(t, v.Encoded)
		assert.Equal(t, encoded, stuff(nil, data), v.Data)
		back, ok := unstuff(nil, encoded)
		assert.True(t, ok)
		assert.Equal(t, append([]byte{}, data...), append([]byte{}, back...), v.Encoded)
	}
}

// run is the bytes from first to last, around 255.
func run(first, n int) (b []byte) {
	for i := range n {
		b = append(b, byte(first+i))
	}
	return b
}

// The long vectors of testdata/wire_checks.json, written out.
func TestPublishedLongStuffing(t *testing.T) {
	t.Parallel()
	cases := []struct{ data, encoded []byte }{
		{run(1, 254), append([]byte{0xFF}, run(1, 254)...)},
		{append([]byte{0}, run(1, 254)...), append([]byte{1, 0xFF}, run(1, 254)...)},
		{run(1, 255), append(append([]byte{0xFF}, run(1, 254)...), 2, 0xFF)},
		{append(run(2, 254), 0), append(append([]byte{0xFF}, run(2, 254)...), 1, 1)},
		{append(run(3, 253), 0, 1), append(append([]byte{0xFE}, run(3, 253)...), 2, 1)},
	}
	for _, c := range cases {
		assert.Equal(t, c.encoded, stuff(nil, c.data))
		back, ok := unstuff(nil, c.encoded)
		assert.True(t, ok)
		assert.Equal(t, c.data, back)
	}
	// Some encoders end a full last block with an empty one.
	back, ok := unstuff(nil, append(append([]byte{0xFF}, run(1, 254)...), 1))
	assert.True(t, ok)
	assert.Equal(t, run(1, 254), back)
}

func TestStuffingRoundTrip(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		// Mostly non-zero bytes, so that full blocks occur.
		data := rapid.SliceOfN(rapid.OneOf(rapid.ByteRange(1, 3), rapid.Byte()), 0, 1100).Draw(t, "data")
		stuffed := stuff(nil, data)
		assert.NotContains(t, stuffed, byte(0))
		assert.LessOrEqual(t, len(stuffed), len(data)+len(data)/254+1)
		back, ok := unstuff([]byte{}, stuffed)
		assert.True(t, ok)
		assert.Equal(t, append([]byte{}, data...), back)
	})
}
