// Package gather collects from the store what a report tells: of a day or of
// one pull. The command and the pages make the same report with it. It
// measures and judges nothing, and draws nothing.
package gather

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"tautlog/analysis/rating"
	"tautlog/analysis/shock"
	"tautlog/calc/unit"
	"tautlog/dashboards/plot"
	"tautlog/dashboards/report"
	"tautlog/ingest/derive"
	"tautlog/ingest/store"
)

// ErrNothing says that the log has no such pull, or none on that day.
var ErrNothing = errors.New("nothing to report on")

// Ask says what to report on and how: one of Day and Pull is set.
type Ask struct {
	Day     string // as 2026-05-17
	Pull    int64  // its number in the log
	By      string // who makes the report; may be empty
	Version string // of the program
	Unit    unit.ForceUnit
	Made    time.Time
	Zone    *time.Location // in which days begin and times are told
	MadeUp  bool           // all that is in the store is
}

// Report collects what the report of a day or a pull is made of. Where there
// is none it gives ErrNothing, and what there is.
func Report(ctx context.Context, db *store.Store, f Ask) (report.Source, error) {
	s := report.Source{By: f.By, Made: f.Made, Version: f.Version, Unit: f.Unit, Date: f.Day, MadeUp: f.MadeUp}
	var err error
	if s.InUse, err = db.PlanningWith(ctx); err != nil {
		return s, err
	}
	pulls, err := db.Pulls(ctx, store.PullFilter{})
	if err != nil {
		return s, err
	}
	slices.Reverse(pulls) // the earliest first
	logged, err := db.Dated(ctx, pulls, f.Zone)
	if err != nil {
		return s, err
	}
	cells, err := db.Cells(ctx)
	if err != nil {
		return s, err
	}
	known := map[int64]derive.Cell{} // what was asked of the store once
	for i, p := range pulls {
		l := shock.FromLog(logged[i])
		s.With = append(s.With, l)
		if p.ID != f.Pull && (f.Day == "" || logged[i].Day != f.Day) {
			s.Without = append(s.Without, l)
			continue
		}
		s.Date = logged[i].Day
		cell, ok := known[p.Cell]
		if !ok {
			at := slices.IndexFunc(cells, func(c store.Cell) bool { return c.ID == p.Cell })
			if at < 0 {
				return s, fmt.Errorf("the cell of pull %d is not in the store", p.ID)
			}
			if cell, err = derive.Of(ctx, db, cells[at]); err != nil {
				return s, err
			}
			known[p.Cell] = cell
		}
		r, err := f.reported(ctx, db, p, cell)
		if err != nil {
			return s, err
		}
		r.Logged = l
		s.Pulls = append(s.Pulls, r)
		if err := f.title(ctx, db, p, &s); err != nil {
			return s, err
		}
	}
	if len(s.Pulls) == 0 {
		return s, f.nothing(logged)
	}
	return s, nil
}

// title names the report and its place.
func (f Ask) title(ctx context.Context, db *store.Store, p store.Pull, s *report.Source) error {
	at, err := time.Parse(time.DateOnly, s.Date)
	if err != nil {
		return fmt.Errorf("pull %d has the day %q, which is not a date: correct its test day", p.ID, s.Date)
	}
	s.Title = at.Format("2 January 2006")
	if p.Day != 0 {
		d, err := db.Day(ctx, p.Day)
		if err != nil {
			return err
		}
		s.Place, s.Ground = d.Place, d.Ground
		s.Title = strings.TrimSpace(d.Name + ", " + s.Title)
	}
	if f.Pull != 0 {
		s.Title = "Pull " + strconv.FormatInt(p.ID, 10) + ", " + s.Title
	}
	return nil
}

// daysTold is how many days an error names at most.
const daysTold = 10

// nothing says that there is no such pull, and what there is.
func (f Ask) nothing(logged []shock.Logged) error {
	switch {
	case len(logged) == 0:
		return fmt.Errorf("%w: there are no pulls yet", ErrNothing)
	case f.Pull != 0:
		return fmt.Errorf("%w: there is no pull %d", ErrNothing, f.Pull)
	}
	var days []string
	for _, l := range logged {
		if !slices.Contains(days, l.Day) {
			days = append(days, l.Day)
		}
	}
	if len(days) > daysTold {
		days = append([]string{"…"}, days[len(days)-daysTold:]...)
	}
	return fmt.Errorf("%w: there are no pulls on %s, but some on %s", ErrNothing, f.Day, strings.Join(days, ", "))
}

// reported is a pull with its cell and its trace.
func (f Ask) reported(ctx context.Context, db *store.Store, p store.Pull, cell derive.Cell) (report.Pull, error) {
	r := report.Pull{
		Name: "Pull " + strconv.FormatInt(p.ID, 10), At: time.Unix(0, p.Found.Start).In(f.Zone),
		Cell: report.Cell{Name: cell.Name, Capacity: cell.Capacity, InForce: cell.History.At(p.Found.PeakAt)},
		Kind: p.Kind, Ground: p.Ground, Notes: p.Notes, Rig: p.Rig, Read: p.Read, Found: p.Found, Settled: p.Settled, Speed: p.Speed,
	}
	checks, err := db.Checks(ctx, cell.ID)
	if err != nil {
		return r, err
	}
	for _, k := range slices.Backward(checks) {
		if day := time.Unix(0, k.At).In(f.Zone).Format(time.DateOnly); day == r.At.Format(time.DateOnly) {
			r.Cell.Checks = append(r.Cell.Checks, k.Check)
		}
	}
	beside, ok, err := db.PullBeside(ctx, p)
	if err != nil {
		return r, err
	}
	if ok {
		r.Second = &rating.Reading{Cell: beside.Read, Peak: rating.PeakOf(beside.Found)}
	}
	around := (p.Found.End - p.Found.Start) / 8
	columns, err := db.Outline(ctx, cell.ID, p.Found.Start-around, p.Found.End+around, 900)
	if err != nil {
		return r, err
	}
	r.Trace = extents(columns, p, cell)
	return r, nil
}

// extents makes forces of an outline, a part for each stretch without a gap.
func extents(columns []store.Column, p store.Pull, cell derive.Cell) (parts [][]plot.Extent) {
	longest := int64(1e9) // where the rate is not known
	if p.Found.Rate > 0 {
		longest = int64(2.5e9 / p.Found.Rate)
	}
	for i, c := range columns {
		if i == 0 || c.From-columns[i-1].To > longest {
			parts = append(parts, nil)
		}
		curve := cell.History.At(c.From).Curve
		a, b := curve.Force(float64(c.Min))-p.Found.Zero, curve.Force(float64(c.Max))-p.Found.Zero
		at := float64((c.From+c.To)/2-p.Found.Start) / 1e9
		last := len(parts) - 1
		parts[last] = append(parts[last], plot.Extent{At: at, Low: min(a, b), High: max(a, b)})
	}
	return parts
}
