package main

import (
	"context"
	"encoding/csv"
	"io"
	"slices"
	"strconv"
	"time"

	"tautlog/analysis/pull"
	"tautlog/analysis/rating"
	"tautlog/analysis/shock"
	"tautlog/calc/rig"
	"tautlog/ingest/store"
)

// pullFilter chooses pulls of the log.
func (s *storedFlags) pullFilter(ctx context.Context, db *store.Store) (f store.PullFilter, err error) {
	if s.from.set {
		f.From = s.from.at.UnixNano()
	}
	if s.to.set {
		f.To = s.to.at.UnixNano()
	}
	if s.cell != "" {
		cell, err := s.chosen(ctx, db)
		if err != nil {
			return f, err
		}
		f.Cell = cell.ID
	}
	return f, nil
}

// loggedPull is a pull of the log as it leaves the program.
type loggedPull struct {
	ID        int64     `json:"id"`
	Cell      string    `json:"cell"`
	Day       string    `json:"day"` // the date
	Start     time.Time `json:"start"`
	End       time.Time `json:"end"`
	Kind      pull.Kind `json:"kind"`
	Ground    string    `json:"ground"`
	Strap     string    `json:"strap"`
	Settled   bool      `json:"settled"` // false: it may still go on
	Reference *float64  `json:"reference_kg"`
	Puller    *float64  `json:"puller_kg"`
	Speed     *float64  `json:"speed_mps"`
	Slack     *float64  `json:"slack_m"`
	Depth     string    `json:"depth"`
	Attempt   int       `json:"attempt"` // 0: not known
	Notes     string    `json:"notes"`
	Rig       *rig.Rig  `json:"rig"` // as it was rigged; null: not known
	pull.Record
}

type logRecord struct {
	Pulls    []loggedPull     `json:"pulls"`
	Cautions []rating.Caution `json:"cautions"`
}

// writeLog writes the log, the latest pull first.
func writeLog(ctx context.Context, db *store.Store, f store.PullFilter, w io.Writer, asJSON bool) error {
	doc := logRecord{Pulls: []loggedPull{}, Cautions: rating.Cautions()}
	table := csv.NewWriter(w)
	if !asJSON {
		if err := table.Write(slices.Concat(shock.PullColumns(), moreColumns)); err != nil {
			return err
		}
	}
	cells, err := cellNames(ctx, db)
	if err != nil {
		return err
	}
	err = eachLogged(ctx, db, f, func(p store.Pull, fit shock.Pull) error {
		if asJSON {
			doc.Pulls = append(doc.Pulls, recordOf(p, fit, cells[p.Cell]))
			return nil
		}
		return table.Write(append(fit.Row(), moreCells(p, cells[p.Cell])...))
	})
	switch {
	case err != nil:
		return err
	case asJSON:
		return writeJSON(w, doc)
	}
	table.Flush()
	return table.Error()
}

func cellNames(ctx context.Context, db *store.Store) (map[int64]string, error) {
	all, err := db.Cells(ctx)
	names := map[int64]string{}
	for _, c := range all {
		names[c.ID] = c.Name
	}
	return names, err
}

// eachLogged goes through the log page by page, with what a fit makes of each
// pull.
func eachLogged(ctx context.Context, db *store.Store, f store.PullFilter, use func(store.Pull, shock.Pull) error) error {
	const page = 500
	for f.Limit = page; ; {
		pulls, err := db.Pulls(ctx, f)
		if err != nil {
			return err
		}
		dated, err := db.Dated(ctx, pulls, time.Local)
		if err != nil {
			return err
		}
		for i, p := range pulls {
			if err := use(p, shock.FromLog(dated[i])); err != nil {
				return err
			}
		}
		if len(pulls) < page {
			return nil
		}
		f.Before = pulls[page-1].ID
	}
}

func recordOf(p store.Pull, fit shock.Pull, cell string) loggedPull {
	return loggedPull{
		ID: p.ID, Cell: cell, Day: fit.Day, Start: time.Unix(0, p.Found.Start).UTC(), End: time.Unix(0, p.Found.End).UTC(),
		Kind: p.Kind, Ground: p.Ground, Strap: fit.Class.Strap, Settled: p.Settled, Reference: number(fit.Reference), Puller: number(fit.Puller),
		Speed: pointed(p.Speed), Slack: pointed(p.Slack), Depth: p.Depth, Attempt: p.Attempt, Notes: p.Notes, Rig: p.Rig,
		Record: p.Found.Record(p.Found.Start),
	}
}

// number is null for zero, which is not known.
func number[T ~float64](v T) *float64 {
	if v == 0 {
		return nil
	}
	f := float64(v)
	return &f
}

func pointed[T ~float64](v *T) *float64 {
	if v == nil {
		return nil
	}
	f := float64(*v)
	return &f
}

// moreColumns are those that a fit does not need.
var moreColumns = []string{"start", "end", "cell", "rig", "rise_time_s", "rise_rate_N_per_s", "impulse_N_s", "steady_N", "slack_m", "depth", "attempt", "notes"}

func moreCells(p store.Pull, cell string) []string {
	rigged := ""
	if p.Rig != nil {
		rigged = p.Rig.Name
	}
	plain := func(v *float64) string {
		if v == nil {
			return ""
		}
		return strconv.FormatFloat(*v, 'g', -1, 64)
	}
	attempt := ""
	if p.Attempt > 0 {
		attempt = strconv.Itoa(p.Attempt)
	}
	return []string{
		clock(p.Found.Start), clock(p.Found.End), cell, rigged, plain(number(p.Found.RiseTime)), plain(number(p.Found.RiseRate)),
		plain(number(p.Found.Impulse)), plain(pointed(p.Found.Steady)), plain(pointed(p.Slack)), p.Depth, attempt, p.Notes,
	}
}
