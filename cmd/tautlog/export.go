package main

import (
	"encoding/json"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"tautlog/analysis/trace"
	"tautlog/ingest/archive"
	"tautlog/ingest/derive"
	"tautlog/ingest/intake"
	"tautlog/ingest/store"
	"tautlog/ingest/tracefile"
)

// exportCommand is what was asked of "tautlog export".
type exportCommand struct {
	stored  storedFlags
	output  string
	seconds bool
	cell    bool
	lines   bool

	register registerExport
}

// newExport is the command that writes a stored trace as CSV.
func newExport() *cobra.Command {
	var e exportCommand
	c := &cobra.Command{
		Use:   "export --data DIR [--gear|--vehicles|--rigs|--pulls] [--cell NAME] [--from TIME] [--to TIME] [-o FILE]",
		Short: "Write a recorded trace, the register of gear or the log of pulls",
		Example: `  tautlog export --data DIR --pulls -o pulls.csv
  tautlog export --data DIR --cell River-1 --from 2026-05-17T09:30 --to 2026-05-17T10:00 -o trace.csv`,
		Long: registerExportHelp + `

Otherwise writes the readings of a cell as CSV with the columns time (RFC 3339, UTC),
force_N, raw (as the cell sent it) and mark (what the cell said about the
reading: overload, lost). tautlog import reads it back, and so does whatever
reads CSV. With --with-cell a store that does not know the cell makes it as it
is here, calibration included. Readings that the cell itself called void are left out, and so are
damaged blocks; both are counted on standard error. Where FILE ends in .parquet
it is a Parquet file with the same columns.`,
		Args: noArgs,
		RunE: e.run,
	}
	e.stored.add(c)
	e.register.add(c)
	c.Flags().StringVarP(&e.output, "output", "o", "-", "`file` to write, complete or not at all; - is standard output")
	c.Flags().BoolVar(&e.seconds, "seconds", false, "write t_s, seconds from the first reading, in place of time")
	c.Flags().BoolVar(&e.lines, "line-protocol", false, "write line protocol of InfluxDB, as tautlog archive pushes it, in place of CSV")
	c.Flags().BoolVar(&e.cell, "with-cell", false, "begin with a comment line that holds what is known of the cell, for an import elsewhere")
	return c
}

func (e *exportCommand) run(c *cobra.Command, _ []string) error {
	if e.stored.dir == "" {
		return usagef("%s wants the directory of a store: add --data DIR", c.CommandPath())
	}
	db, err := store.OpenReader(e.stored.dir)
	if err != nil {
		return err
	}
	defer db.Close()
	if e.register.asked() {
		return e.register.run(c, db, &e.stored, e.output)
	}
	if e.parquet() && (e.seconds || e.cell) {
		return usagef("a Parquet file has a column of times and no comment line: leave out --seconds and --with-cell")
	}
	cell, err := e.stored.chosen(c.Context(), db)
	if err != nil {
		return err
	}
	each := func(yield func(trace.Batch, []int64) error) error {
		var b trace.Batch
		return e.stored.runs(c.Context(), db, cell.ID, c.ErrOrStderr(), map[int64]bool{}, func(run store.Run) error {
			b = cell.Batch(b, run)
			return yield(b, run.Raw)
		})
	}
	nothing := func() error { return e.stored.nothing(c.Context(), db, cell.Cell) }
	write := func(w io.Writer) error { return e.write(w, cell, each, nothing, c.ErrOrStderr()) }
	if e.lines {
		station, err := db.Station(c.Context(), "")
		if err != nil {
			return err
		}
		write = func(w io.Writer) error { return writeLines(w, archive.NewLines(station, cell.Name), each, nothing) }
	}
	if e.output == "-" {
		return write(c.OutOrStdout())
	}
	return writeFile(e.output, write)
}

// readings are those of one cell in order of time, in newtons and raw.
type readings func(yield func(b trace.Batch, raw []int64) error) error

func (e *exportCommand) write(w io.Writer, cell derive.Cell, each readings, nothing func() error, remarks io.Writer) error {
	var out sampleWriter
	err := each(func(b trace.Batch, raw []int64) (err error) {
		if out == nil {
			if out, err = e.begin(w, cell, b.T[0]); err != nil {
				return err
			}
		}
		return out.Write(b, raw)
	})
	if err != nil {
		return err
	}
	if out == nil {
		return nothing()
	}
	if n := out.Void(); n > 0 {
		fmt.Fprintf(remarks, "left out: %s that the cell called void\n", counted(n, "reading"))
	}
	return out.Flush()
}

// sampleWriter writes samples with their raw readings as a file of some form.
type sampleWriter interface {
	Write(b trace.Batch, raw []int64) error
	Void() int
	Flush() error
}

// parquet tells whether that is the form of the file.
func (e *exportCommand) parquet() bool {
	return strings.EqualFold(filepath.Ext(e.output), ".parquet")
}

// begin writes what stands above the readings: the cell has the curve that
// was in force at the first of them.
func (e *exportCommand) begin(w io.Writer, cell derive.Cell, first int64) (sampleWriter, error) {
	if e.parquet() {
		return tracefile.NewParquetWriter(w), nil
	}
	if e.cell {
		told := cell.Cell
		told.Curve = cell.History.At(first).Curve
		known, err := json.Marshal(told)
		if err != nil {
			return nil, err
		}
		if _, err := fmt.Fprintf(w, "# %s%s\n", intake.CellComment, known); err != nil {
			return nil, err
		}
	}
	if e.seconds {
		return tracefile.NewSecondsWriter(w, first), nil
	}
	return tracefile.NewWriter(w), nil
}
