// Package parquetfile writes rows as Parquet files and reads them back. It
// alone imports the Parquet library, and knows nothing of what the rows mean.
package parquetfile

import (
	"errors"
	"fmt"
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

// Columns names the columns of a file.
func Columns(r io.ReaderAt, size int64) (names []string, err error) {
	f, err := open(r, size)
	if err != nil {
		return nil, err
	}
	for _, c := range f.Schema().Columns() {
		names = append(names, c[0])
	}
	return names, nil
}

// Read gives the rows of a file in their order, some at a time, valid until
// yield returns. Columns that T has not are left out.
func Read[T any](r io.ReaderAt, size int64, yield func([]T) error) (err error) {
	f, err := open(r, size)
	if err != nil {
		return err
	}
	in := parquet.NewGenericReader[T](f)
	defer func() { err = errors.Join(err, in.Close()) }()
	rows := make([]T, 4096)
	for {
		n, err := in.Read(rows)
		if n > 0 {
			if err := yield(rows[:n]); err != nil {
				return err
			}
		}
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return fmt.Errorf("this Parquet file cannot be read: %w", err)
		}
	}
}

func open(r io.ReaderAt, size int64) (f *parquet.File, err error) {
	if f, err = parquet.OpenFile(r, size); err != nil {
		return nil, fmt.Errorf("this is no whole Parquet file: %w", err)
	}
	return f, nil
}
