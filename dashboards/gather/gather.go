// Package gather collects from the store what a report tells: of a day or of
// one pull. The command and the pages make the same report with it. It
// measures and judges nothing, and draws nothing.
package gather

import (
	"context"
	"errors"
	"slices"
	"strings"
	"time"

	"tautlog/analysis/rating"
	"tautlog/analysis/shock"
	"tautlog/calc/unit"
	"tautlog/calc/words"
	"tautlog/dashboards/plot"
	"tautlog/dashboards/report"
	"tautlog/ingest/derive"
	"tautlog/ingest/store"
)

// ErrNothing says that the log has no such pull, or none on that day.
const ErrNothing = words.Kind("report.nothing")

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
func Report(ctx context.Context, db *store.Store, log Evidence, f Ask) (report.Source, error) {
	s := report.Source{By: f.By, Made: f.Made, Version: f.Version, Unit: f.Unit, Date: f.Day, MadeUp: f.MadeUp}
	pulls, err := f.asked(ctx, db)
	if err != nil {
		return s, err
	}
	ref, err := db.PlanningWithRef(ctx)
	if err != nil {
		return s, err
	}
	if s.InUse, _, err = db.SetHead(ctx, ref); err != nil {
		return s, err
	}
	logged, err := db.Dated(ctx, pulls, f.Zone)
	if err != nil {
		return s, err
	}
	cells := cells{db: db}
	mine := make([]shock.Pull, len(pulls))
	for i, p := range pulls {
		s.Date = logged[i].Day
		cell, err := cells.of(ctx, p)
		if err != nil {
			return s, err
		}
		r, err := f.reported(ctx, db, p, cell)
		if err != nil {
			return s, err
		}
		r.Logged = shock.FromLog(logged[i])
		mine[i] = r.Logged
		s.Pulls = append(s.Pulls, r)
		if err := f.title(ctx, db, p, &s); err != nil {
			return s, err
		}
	}
	s.Log, err = log(ctx, mine)
	return s, err
}

// asked are the pulls that are asked for, the earliest first.
func (f Ask) asked(ctx context.Context, db *store.Store) (pulls []store.Pull, err error) {
	if f.Pull != 0 {
		p, err := db.Pull(ctx, f.Pull)
		if err == nil && p.Aside != nil {
			return nil, words.Error("report.nothing.aside", ErrNothing, f.Pull)
		}
		if err == nil {
			return []store.Pull{p}, nil
		}
		if !errors.Is(err, store.ErrNotFound) {
			return nil, err
		}
	} else if pulls, err = db.PullsOn(ctx, f.Day, f.Zone); err != nil {
		return nil, err
	}
	if len(pulls) == 0 {
		return nil, f.nothing(ctx, db)
	}
	slices.Reverse(pulls)
	return pulls, nil
}

// cells are the cells of a store, each asked for once.
type cells struct {
	db    *store.Store
	all   []store.Cell
	known map[int64]derive.Cell
}

// of is the cell that measured a pull.
func (c *cells) of(ctx context.Context, p store.Pull) (derive.Cell, error) {
	if cell, ok := c.known[p.Cell]; ok {
		return cell, nil
	}
	if c.known == nil {
		all, err := c.db.Cells(ctx)
		if err != nil {
			return derive.Cell{}, err
		}
		c.all, c.known = all, map[int64]derive.Cell{}
	}
	at := slices.IndexFunc(c.all, func(k store.Cell) bool { return k.ID == p.Cell })
	if at < 0 {
		return derive.Cell{}, words.Error("report.nocell", p.ID)
	}
	cell, err := derive.Of(ctx, c.db, c.all[at])
	if err == nil {
		c.known[p.Cell] = cell
	}
	return cell, err
}

// title names the report and its place.
func (f Ask) title(ctx context.Context, db *store.Store, p store.Pull, s *report.Source) error {
	at, err := time.Parse(time.DateOnly, s.Date)
	if err != nil {
		return words.Error("report.nodate", p.ID, s.Date)
	}
	s.Title = words.Date(at)
	if p.Day != 0 {
		d, err := db.Day(ctx, p.Day)
		if err != nil {
			return err
		}
		s.Place, s.Ground = d.Place, d.Ground
		s.Title = words.Say("report.title.day", d.Name, s.Title)
	}
	if f.Pull != 0 {
		s.Title = words.Say("report.title.pull", p.ID, s.Title)
	}
	return nil
}

// daysTold is how many days an error names at most; daysSought is how many of
// the latest pulls it looks for them in.
const (
	daysTold   = 10
	daysSought = 500
)

// nothing says that there is no such pull, and what there is.
func (f Ask) nothing(ctx context.Context, db *store.Store) error {
	latest, err := db.Logged(ctx, store.PullFilter{Limit: daysSought}, f.Zone)
	if err != nil {
		return err
	}
	switch {
	case len(latest) == 0:
		return words.Error("report.nothing.yet", ErrNothing)
	case f.Pull != 0:
		return words.Error("report.nothing.pull", ErrNothing, f.Pull)
	}
	var days []string
	for _, l := range latest {
		if !slices.Contains(days, l.Day) {
			days = append(days, l.Day)
		}
	}
	if len(days) > daysTold || len(latest) == daysSought {
		days = append([]string{"…"}, days[max(0, len(days)-daysTold):]...)
	}
	return words.Error("report.nothing.day", ErrNothing, f.Day, strings.Join(days, ", "))
}

// reported is a pull with its cell and its trace.
func (f Ask) reported(ctx context.Context, db *store.Store, p store.Pull, cell derive.Cell) (report.Pull, error) {
	r := report.Pull{
		Number: p.ID, At: time.Unix(0, p.Found.Start).In(f.Zone),
		Cell: report.Cell{Name: cell.Name, Capacity: cell.Capacity, InForce: cell.History.At(p.Found.PeakAt)},
		Kind: p.Kind, Ground: p.Ground, Notes: p.Notes, Rig: p.Rig, Read: p.Read, Found: p.Found, Settled: p.Settled, Speed: p.Speed,
	}
	if l := p.Limits; l != nil {
		at := func(ns int64) time.Time { return time.Unix(0, ns).In(f.Zone) }
		r.Limits = &report.Limits{From: at(l.From), To: at(l.To), Who: l.Who, When: at(l.At), Found: l.Found, FoundFrom: at(l.Found.Start), FoundTo: at(l.Found.End), Made: l.Made}
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
