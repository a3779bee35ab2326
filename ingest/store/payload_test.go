package store

import (
	"encoding/binary"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/trace"
)

func TestPayloadComesBackExactly(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var runs []Run
		start := rapid.Int64Range(-1e18, 2e18).Draw(t, "start")
		for range rapid.IntRange(1, 5).Draw(t, "runs") {
			r := drawRun(t, 7, start)
			start = r.At(len(r.Raw)) + rapid.SampledFrom([]int64{0, 1, -3e5, 1e15}).Draw(t, "pause")
			if n := len(r.Raw); n > 1 && rapid.Bool().Draw(t, "cut") {
				r = r.slice(rapid.IntRange(0, n-2).Draw(t, "first"), n)
			}
			if len(r.Raw) > 0 {
				runs = append(runs, r)
			}
		}
		got, err := decodePayload(7, encodePayload(runs), new([]int64))
		require.NoError(t, err)
		same(t, readings(runs), readings(got))
		same(t, readings(runs), readings(joinRuns(got)))
	})
}

func TestAnyFlippedBitIsSeen(t *testing.T) {
	t.Parallel()
	marks := make([]trace.Mark, 100)
	marks[40] = trace.Overload
	payload := encodePayload([]Run{{Start: morning, Step: 1e6, Raw: noisy(5, 100), Marks: marks}})
	for bit := range 8 * len(payload) {
		payload[bit/8] ^= 1 << (bit % 8)
		_, err := decodePayload(0, payload, new([]int64))
		require.Error(t, err, "bit %d", bit)
		payload[bit/8] ^= 1 << (bit % 8)
	}
}

// FuzzDecodePayload gives the decoder bodies with a right checksum, which
// chance alone would hardly make.
func FuzzDecodePayload(f *testing.F) {
	for _, r := range []Run{
		{Start: morning, Step: 1e6, Raw: noisy(5, 300)},
		{Start: -5, Step: 1.5, Raw: []int64{math.MinInt64, 3}, Marks: []trace.Mark{trace.Lost, 0}, skip: 9},
	} {
		whole := encodePayload([]Run{r})
		f.Add(whole[:len(whole)-4])
	}
	f.Fuzz(func(t *testing.T, body []byte) {
		payload := binary.LittleEndian.AppendUint32(body[:len(body):len(body)], checksum(body))
		runs, err := decodePayload(0, payload, new([]int64))
		if err != nil {
			return
		}
		again, err := decodePayload(0, encodePayload(runs), new([]int64))
		require.NoError(t, err)
		same(t, readings(runs), readings(again))
	})
}

func FuzzDecodeExtents(f *testing.F) {
	f.Add(encodeExtents(extents([]Run{{Start: morning, Step: 1e6, Raw: noisy(5, 3000)}}, fine)))
	f.Fuzz(func(t *testing.T, packed []byte) {
		var es, again []extent
		if !decodeExtents(packed, func(e extent) { es = append(es, e) }) {
			return
		}
		require.True(t, decodeExtents(encodeExtents(es), func(e extent) { again = append(again, e) }))
		require.Equal(t, es, again)
	})
}
