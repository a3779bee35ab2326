package tracefile

import (
	"io"

	"tautlog/analysis/trace"
	"tautlog/ingest/parquetfile"
)

// parquetRow is one sample of a Parquet file.
type parquetRow struct {
	Time  int64   `parquet:"time,timestamp(nanosecond),delta"` // ns since 1970-01-01 UTC
	Force float64 `parquet:"force_N"`
	Raw   int64   `parquet:"raw,delta"`
	Mark  string  `parquet:"mark,dict"`
}

// ParquetWriter writes a trace as a Parquet file with the columns time, force_N,
// raw and mark of a Writer, which leaves out the same readings. The force is
// not rounded.
type ParquetWriter struct {
	out  *parquetfile.Writer[parquetRow]
	rows []parquetRow
	voids
}

// NewParquetWriter begins a file on w.
func NewParquetWriter(w io.Writer) *ParquetWriter {
	return &ParquetWriter{out: parquetfile.NewWriter[parquetRow](w)}
}

// Write writes samples, with the raw reading of each.
func (w *ParquetWriter) Write(b trace.Batch, raw []int64) error {
	if len(raw) != b.Len() {
		panic("tracefile: samples and raw readings of unlike number")
	}
	w.rows = w.rows[:0]
	for i, t := range b.T {
		if w.void(b, i) {
			continue
		}
		row := parquetRow{Time: t, Force: b.F[i], Raw: raw[i]}
		if b.Marks != nil {
			row.Mark = string(AppendMark(nil, b.Marks[i]))
		}
		w.rows = append(w.rows, row)
	}
	return w.out.Write(w.rows)
}

// Flush makes the file complete.
func (w *ParquetWriter) Flush() error { return w.out.Close() }
