// Package logfile writes the log of pulls as files for other programs: CSV,
// JSON and Parquet. It finds, measures and judges nothing, and reads no file.
package logfile

import (
	"context"
	"encoding/csv"
	"encoding/json"
	"io"
	"slices"
	"time"

	"tautlog/analysis/rating"
	"tautlog/analysis/shock"
	"tautlog/ingest/parquetfile"
	"tautlog/ingest/store"
)

// Form is a kind of file.
type Form string

// The kinds of file. The table has the columns that shock.Decode reads, and
// more; JSON has the whole record of each pull, and the cautions; Parquet has
// the columns of the table, numbers as numbers.
const (
	CSV     Form = "csv"
	JSON    Form = "json"
	Parquet Form = "parquet"
)

// Media is the media type of a file of that form.
func (f Form) Media() string {
	switch f {
	case CSV:
		return "text/csv; charset=utf-8"
	case JSON:
		return "application/json"
	}
	return parquetfile.Media
}

// Row is a pull of the log with what a fit makes of it.
type Row struct {
	Pull store.Pull
	Fit  shock.Pull
	Cell string // its name
}

// document is the whole of a JSON file.
type document struct {
	Pulls    []Record         `json:"pulls"`
	Cautions []rating.Caution `json:"cautions"`
}

// Rows gives the pulls that a filter chooses, the latest first, read page by
// page; days begin by zone.
func Rows(ctx context.Context, db *store.Store, f store.PullFilter, zone *time.Location, use func(Row) error) error {
	const page = 500
	cells, err := cellNames(ctx, db)
	if err != nil {
		return err
	}
	for f.Limit = page; ; {
		pulls, err := db.Pulls(ctx, f)
		if err != nil {
			return err
		}
		if err := rows(ctx, db, pulls, cells, zone, use); err != nil {
			return err
		}
		if len(pulls) < page {
			return nil
		}
		f.Before = pulls[page-1].ID
	}
}

// RowsOn gives the pulls of one date, the latest first.
func RowsOn(ctx context.Context, db *store.Store, date string, zone *time.Location, use func(Row) error) error {
	pulls, err := db.PullsOn(ctx, date, zone)
	if err != nil {
		return err
	}
	cells, err := cellNames(ctx, db)
	if err != nil {
		return err
	}
	return rows(ctx, db, pulls, cells, zone, use)
}

func rows(ctx context.Context, db *store.Store, pulls []store.Pull, cells map[int64]string, zone *time.Location, use func(Row) error) error {
	dated, err := db.Dated(ctx, pulls, zone)
	if err != nil {
		return err
	}
	for i, p := range pulls {
		if err := use(Row{Pull: p, Fit: shock.FromLog(dated[i]), Cell: cells[p.Cell]}); err != nil {
			return err
		}
	}
	return nil
}

func cellNames(ctx context.Context, db *store.Store) (map[int64]string, error) {
	all, err := db.Cells(ctx)
	names := map[int64]string{}
	for _, c := range all {
		names[c.ID] = c.Name
	}
	return names, err
}

// Write writes the rows that each yields in their order.
func Write(w io.Writer, form Form, each func(use func(Row) error) error) error {
	switch form {
	case JSON:
		return writeJSON(w, each)
	case Parquet:
		return writeParquet(w, each)
	}
	table := csv.NewWriter(w)
	if err := table.Write(slices.Concat(shock.PullColumns(), moreColumns)); err != nil {
		return err
	}
	if err := each(func(r Row) error { return table.Write(r.cells()) }); err != nil {
		return err
	}
	table.Flush()
	return table.Error()
}

func writeJSON(w io.Writer, each func(use func(Row) error) error) error {
	doc := document{Pulls: []Record{}, Cautions: rating.Cautions()}
	if err := each(func(r Row) error { doc.Pulls = append(doc.Pulls, r.record()); return nil }); err != nil {
		return err
	}
	out := json.NewEncoder(w)
	out.SetIndent("", "  ")
	return out.Encode(doc)
}
