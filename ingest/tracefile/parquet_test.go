package tracefile_test

import (
	"bytes"
	"testing"

	"github.com/parquet-go/parquet-go"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tautlog/analysis/trace"
	"tautlog/ingest/tracefile"
)

func TestParquetHoldsWhatWasWritten(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var file bytes.Buffer
		w := tracefile.NewParquetWriter(&file)
		type row struct {
			Time  int64   `parquet:"time,timestamp(nanosecond)"`
			Force float64 `parquet:"force_N"`
			Raw   int64   `parquet:"raw"`
			Mark  string  `parquet:"mark"`
		}
		want := []row{}
		at := rapid.Int64Range(0, 2e18).Draw(t, "start")
		for range rapid.IntRange(1, 3).Draw(t, "batches") {
			var b trace.Batch
			var raw []int64
			for range rapid.IntRange(1, 50).Draw(t, "n") {
				r := row{Time: at, Force: rapid.Float64Range(-1e6, 1e6).Draw(t, "force"), Raw: rapid.Int64().Draw(t, "raw")}
				mark := rapid.SampledFrom([]trace.Mark{0, trace.Overload, trace.Invalid}).Draw(t, "mark")
				b.T, b.F, b.Marks, raw = append(b.T, at), append(b.F, r.Force), append(b.Marks, mark), append(raw, r.Raw)
				switch mark {
				case trace.Overload:
					r.Mark = "overload"
					fallthrough
				case 0:
					want = append(want, r)
				}
				at += rapid.Int64Range(1, 1e12).Draw(t, "step")
			}
			require.NoError(t, w.Write(b, raw))
		}
		require.NoError(t, w.Flush())
		whole, err := parquet.OpenFile(bytes.NewReader(file.Bytes()), int64(file.Len()))
		require.NoError(t, err)
		require.Equal(t, [][]string{{"time"}, {"force_N"}, {"raw"}, {"mark"}}, whole.Schema().Columns())
		got, err := parquet.Read[row](bytes.NewReader(file.Bytes()), int64(file.Len()))
		require.NoError(t, err)
		require.Equal(t, want, got)
	})
}
