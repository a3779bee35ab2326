package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"tautlog/ingest/store"
)

// The parts that what is stored can be taken apart into.
const (
	eachCell = "cell"
	eachDay  = "day"
)

// eachFlag says what of a store is analysed for itself.
type eachFlag struct{ parts []string }

func (e *eachFlag) add(c *cobra.Command) {
	c.Flags().StringSliceVar(&e.parts, "each", nil, "with --data: analyse each `part` of what is stored for itself, side by side: cell, day, or cell,day")
}

func (e *eachFlag) wants(part string) bool { return slices.Contains(e.parts, part) }

func (e *eachFlag) check(s *storedFlags) error {
	for _, p := range e.parts {
		if p != eachCell && p != eachDay {
			return usagef("%q is no part of a store: write --each cell, --each day or --each cell,day", p)
		}
	}
	switch {
	case len(e.parts) > 0 && s.dir == "":
		return usagef("--each takes a store apart: add --data DIR")
	case e.wants(eachCell) && s.cell != "":
		return usagef("--each cell is for all cells: leave out --cell")
	}
	return nil
}

// part is what is analysed for itself: the choice that somebody would make who
// asked for nothing else.
type part struct {
	chosen storedFlags
	which  which
}

// runEach analyses the parts of a store side by side and tells of them in order:
// the cells by name, the days of each as they came.
func (p *pullsCommand) runEach(c *cobra.Command) error {
	db, err := store.OpenReader(p.stored.dir)
	if err != nil {
		return err
	}
	defer db.Close()
	parts, err := p.parts(c.Context(), db)
	if err != nil {
		return err
	}
	return p.runSeveral(c, len(parts), func(ctx context.Context, i int, remarks io.Writer) (*source, which, error) {
		s, err := parts[i].chosen.source(ctx, db, p.trace, remarks)
		return s, parts[i].which, err
	})
}

// parts are those that have readings.
func (p *pullsCommand) parts(ctx context.Context, db *store.Store) (parts []part, err error) {
	cells := []store.Cell{{}}
	if p.each.wants(eachCell) {
		cells, err = db.Cells(ctx)
	} else {
		cells[0], err = p.stored.named(ctx, db)
	}
	if err != nil {
		return nil, err
	}
	for _, cell := range cells {
		chosen := p.stored
		chosen.cell = cell.Name
		all := []part{{chosen, which{Cell: cell.Name}}}
		if p.each.wants(eachDay) {
			if all, err = chosen.days(ctx, db, cell); err != nil {
				return nil, err
			}
		}
		for _, one := range all {
			from, to := one.chosen.window()
			n, _, err := db.Count(ctx, cell.ID, from, to)
			if err != nil {
				return nil, err
			}
			if n > 0 {
				parts = append(parts, one)
			}
		}
	}
	if len(parts) == 0 {
		return nil, fmt.Errorf("the store in %s has no readings in that time; change --from and --to", p.stored.dir)
	}
	return parts, nil
}

// days are those of local time from the first reading of a cell to the last.
func (s *storedFlags) days(ctx context.Context, db *store.Store, cell store.Cell) (days []part, err error) {
	first, last, n, err := db.Span(ctx, cell.ID)
	if err != nil || n == 0 {
		return nil, err
	}
	from, to := s.window()
	end := time.Unix(0, min(last+1, to))
	for at := time.Unix(0, max(first, from)); at.Before(end); {
		morning := time.Date(at.Year(), at.Month(), at.Day()+1, 0, 0, 0, 0, time.Local)
		day := *s
		day.from = timeFlag{at: at, set: true}
		day.to = timeFlag{at: morning, set: true}
		if end.Before(morning) {
			day.to.at = end
		}
		days = append(days, part{day, which{Cell: cell.Name, Day: at.Format(time.DateOnly)}})
		at = morning
	}
	return days, nil
}
