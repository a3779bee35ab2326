package main

import (
	"io"

	"tautlog/analysis/trace"
	"tautlog/ingest/archive"
)

// writeLines writes readings as line protocol.
func writeLines(w io.Writer, lines *archive.Lines, each readings, nothing func() error) error {
	some := false
	var buf []byte
	err := each(func(b trace.Batch, raw []int64) error {
		some = some || b.Len() > 0
		buf = lines.Append(buf[:0], b, raw)
		_, err := w.Write(buf)
		return err
	})
	if err == nil && !some {
		return nothing()
	}
	return err
}
