// Package parquetfile writes rows as Parquet files. It alone imports the Parquet
// library, and knows nothing of what the rows mean.
package parquetfile

import (
	"io"

	"github.com/parquet-go/parquet-go"
)

// Media is the media type, as registered with IANA.
const Media = "application/vnd.apache.parquet"

// groupRows is how many rows are held in memory before they are written.
const groupRows = 1 << 18

// Writer writes rows of type T, whose columns are its fields with a tag
// `parquet:"name"`.
type Writer[T any] struct{ out *parquet.GenericWriter[T] }

// NewWriter begins a file on w.
func NewWriter[T any](w io.Writer) *Writer[T] {
	return &Writer[T]{parquet.NewGenericWriter[T](w, parquet.Compression(&parquet.Zstd), parquet.MaxRowsPerRowGroup(groupRows))}
}

// Write appends rows.
func (w *Writer[T]) Write(rows []T) error {
	_, err := w.out.Write(rows)
	return err
}

// Close writes what makes the file complete. It does not close what it writes
// to.
func (w *Writer[T]) Close() error { return w.out.Close() }
