package tracefile_test

import (
	"bytes"
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/trace"
	"tautlog/calc/unit"
	"tautlog/ingest/tracefile"
)

// meant is what the cell did not call void.
func meant(b trace.Batch, raw []int64) (out trace.Batch, outRaw []int64) {
	if b.Marks == nil {
		return b, raw
	}
	for i, m := range b.Marks {
		if m&trace.Invalid == 0 {
			out.T, out.F, out.Marks, outRaw = append(out.T, b.T[i]), append(out.F, b.F[i]), append(out.Marks, m), append(outRaw, raw[i])
		}
	}
	return out, outRaw
}

func TestWriterIsReadBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var b trace.Batch
		var raw []int64
		at := rapid.Int64Range(0, 2e18).Draw(t, "start")
		marked := rapid.Bool().Draw(t, "marked")
		for range rapid.IntRange(1, 50).Draw(t, "n") {
			counts := rapid.Int64Range(-1e9, 1e9).Draw(t, "counts")
			b.T, raw, b.F = append(b.T, at), append(raw, counts), append(b.F, float64(counts)*0.001)
			at += rapid.Int64Range(1, 1e12).Draw(t, "step")
			if marked {
				b.Marks = append(b.Marks, trace.Mark(rapid.IntRange(0, 7).Draw(t, "mark")))
			}
		}
		var text bytes.Buffer
		seconds := rapid.Bool().Draw(t, "seconds")
		w, origin := tracefile.NewWriter(&text), int64(0)
		if seconds {
			text.Reset()
			origin = b.T[0]
			w = tracefile.NewSecondsWriter(&text, origin)
		}
		require.NoError(t, w.Write(b, raw))
		require.NoError(t, w.Flush())
		all := b.Len()
		b, raw = meant(b, raw)
		require.Equal(t, all-b.Len(), w.Void())
		if b.Len() == 0 {
			return
		}
		f, err := tracefile.Open("-", &text, tracefile.Options{})
		require.NoError(t, err)
		defer f.Close()
		n := 0
		require.NoError(t, f.Each(t.Context(), func(back trace.Batch) error {
			for i := range back.T {
				require.Equal(t, b.T[n], origin+back.T[i])
				require.InEpsilon(t, 1+math.Abs(b.F[n]), 1+math.Abs(back.F[i]), 1e-14)
				require.Equal(t, float64(raw[n])/1000, back.F[i], "the decimal that the counts stand for")
				if marked && back.Marks != nil {
					require.Equal(t, b.Marks[n], back.Marks[i])
				}
				n++
			}
			return nil
		}))
		require.Equal(t, b.Len(), n)
		require.Equal(t, !seconds, f.Dates())
	})
}

func TestDecimals(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.SampledFrom([]unit.ForceUnit{unit.Newton, unit.Kilonewton, unit.TonneF, unit.KilogramF, unit.PoundF}).Draw(t, "unit")
		decimals := rapid.IntRange(0, 6).Draw(t, "decimals")
		forces := []float64{float64(u.Newtons()) * math.Pow10(-decimals)} // one count, so that no fewer do
		for range 20 {
			counts := rapid.Int64Range(-1e8, 1e8).Draw(t, "counts")
			written, err := strconv.ParseFloat(strconv.FormatFloat(float64(counts)/math.Pow10(decimals), 'f', decimals, 64), 64)
			require.NoError(t, err)
			forces = append(forces, written*float64(u.Newtons()))
		}
		require.Equal(t, decimals, decimalsOf(forces, u))
	})
	assert.Equal(t, 9, decimalsOf([]float64{math.Pi, 1}, unit.Newton), "as fine as may be")
	assert.Equal(t, 4, decimalsOf([]float64{1e11 / 3, 1}, unit.Newton), "as fine as the counts hold")
	assert.Equal(t, 0, decimalsOf(nil, unit.Newton))
}

// decimalsOf adds the forces one by one.
func decimalsOf(forces []float64, u unit.ForceUnit) int {
	d := tracefile.NewDecimals(u)
	for i := range forces {
		d.Add(forces[i : i+1])
	}
	return d.Number()
}
