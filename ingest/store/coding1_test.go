package store

import (
	"encoding/binary"
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"tautlog/analysis/trace"
)

// A block as the last version that wrote coding 1 made it, and the readings
// that it was made of: noise, a rise and a fall, extremes of 64 bits, marks, a
// pause, a grid that was cut (testdata/coding1/README.md).
func oldBlock(t require.TestingT) (payload []byte, want []reading) {
	payload, err := os.ReadFile("testdata/coding1/block.payload")
	require.NoError(t, err)
	f, err := os.Open("testdata/coding1/block.csv")
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	for _, row := range rows[1:] {
		var v [3]int64
		for i, text := range row {
			v[i], err = strconv.ParseInt(text, 10, 64)
			require.NoError(t, err)
		}
		want = append(want, reading{v[0], v[1], trace.Mark(v[2])})
	}
	return payload, want
}

// oldReadings is what the block has of coded readings.
func oldReadings(t require.TestingT) []byte {
	payload, _ := oldBlock(t)
	in := scanner{in: payload[1 : len(payload)-4]}
	total, count := in.uvarint(), in.uvarint()
	_, err := in.runs(0, int(count), make([]int64, total))
	require.NoError(t, err)
	return in.in
}

func TestOldBlocksAreRead(t *testing.T) {
	t.Parallel()
	payload, want := oldBlock(t)
	require.EqualValues(t, codingRice, payload[0])
	runs, err := decodePayload(7, payload, new([]int64))
	require.NoError(t, err)
	same(t, want, readings(runs))
}

func TestCutOldCodingIsRefused(t *testing.T) {
	t.Parallel()
	coded := oldReadings(t)
	_, want := oldBlock(t)
	for cut := range len(coded) {
		require.ErrorIs(t, decodeCoding1(make([]int64, len(want)), coded[:cut]), errCoded, "cut at %d", cut)
	}
}

func TestAnyFlippedBitOfAnOldBlockIsSeen(t *testing.T) {
	t.Parallel()
	payload, _ := oldBlock(t)
	for bit := range 8 * len(payload) {
		payload[bit/8] ^= 1 << (bit % 8)
		_, err := decodePayload(0, payload, new([]int64))
		require.Error(t, err, "bit %d", bit)
		payload[bit/8] ^= 1 << (bit % 8)
	}
}

func TestUnknownCodingIsRefused(t *testing.T) {
	t.Parallel()
	payload, _ := oldBlock(t)
	body := payload[:len(payload)-4]
	body[0] = 99
	_, err := decodePayload(0, binary.LittleEndian.AppendUint32(body, checksum(body)), new([]int64))
	require.ErrorContains(t, err, "coding 99 is not known")
}

// A store from before has blocks and tails of coding 1. They are read beside
// new ones, and folded with new tails into one new block.
func TestOldAndNewReadingsInOneStore(t *testing.T) {
	t.Parallel()
	s, cell := openNew(t)
	payload, want := oldBlock(t)
	old := len(want)
	put := func(table string) {
		_, err := s.writer.Exec(`INSERT INTO `+table+` (cell, first_ns, last_ns, n, payload) VALUES (?, ?, ?, ?, ?)`,
			cell, want[0].at, want[old-1].at, old, payload)
		require.NoError(t, err)
	}
	stored := func() (all []reading) {
		for r, err := range s.Runs(t.Context(), cell, 0, math.MaxInt64) {
			require.NoError(t, err)
			all = append(all, readings([]Run{r})...)
		}
		return all
	}
	put(tailsTable)
	next := Run{Cell: cell, Start: want[len(want)-1].at + second, Step: 1e6, Raw: noisy(5, 500)}
	require.NoError(t, s.Append(t.Context(), []Run{next}))
	want = append(want, readings([]Run{next})...)
	same(t, want, stored())

	s.options.foldReadings = len(want)
	n, err := s.Fold(t.Context(), cell)
	require.NoError(t, err)
	require.Equal(t, 1, n)
	same(t, want, stored())
	var coding []byte
	require.NoError(t, s.reader.QueryRow(`SELECT substr(payload, 1, 1) FROM blocks`).Scan(&coding))
	require.Equal(t, []byte{codingFrames}, coding)
	require.NoError(t, s.Integrity(t.Context()))

	_, err = s.writer.Exec(`DELETE FROM blocks`)
	require.NoError(t, err)
	put(blocksTable)
	same(t, want[:old], stored())
}
