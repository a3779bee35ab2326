package main

import (
	"context"
	"fmt"
	"path/filepath"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"tautlog/analysis/shock"
	"tautlog/calc/unit"
	"tautlog/dashboards/plot"
	"tautlog/dashboards/report"
	"tautlog/ingest/derive"
	"tautlog/ingest/store"
)

// reportFlags say what to report on and how.
type reportFlags struct {
	dir, day, out, by string
	pull              int64
	show              unit.ForceUnit
}

// newReport is the command that writes the report of a day or a pull.
func newReport() *cobra.Command {
	f := reportFlags{show: unit.DefaultShown}
	c := &cobra.Command{
		Use:   "report --data DIR (--day DATE | --pull NUMBER) -o FILE.html|FILE.pdf",
		Short: "Write the report of a day or of one pull, as HTML or PDF",
		Long: `Writes what happened, what to do next, each pull with every item of its rig, how
sure the numbers are, the calibration, and what the multipliers say without and
with these pulls. The HTML is one file that needs no other and prints well.`,
		Example: "  tautlog report --data ~/tautlog --day 2026-05-17 --by 'A. Keeper' -o day.pdf",
		Args:    noArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if err := f.check(); err != nil {
				return err
			}
			src, err := f.source(c.Context())
			if err != nil {
				return err
			}
			doc := report.Build(src)
			write := doc.WriteHTML
			if strings.EqualFold(filepath.Ext(f.out), ".pdf") {
				write = doc.WritePDF
			}
			return writeFile(f.out, write)
		},
	}
	c.Flags().StringVar(&f.dir, "data", "", "`directory` of the store")
	c.Flags().StringVar(&f.day, "day", "", "`date` of the day, as 2026-05-17")
	c.Flags().Int64Var(&f.pull, "pull", 0, "`number` of the pull in the log")
	c.Flags().StringVarP(&f.out, "output", "o", "", "`file` to write, ending in .html or .pdf")
	c.Flags().StringVar(&f.by, "by", "", "`name` of who makes the report")
	c.Flags().Var(unitFlag{&f.show}, "show", "`unit` in which to write forces: kN, t, kgf, lbf, N")
	return c
}

func (f *reportFlags) check() error {
	ext := strings.ToLower(filepath.Ext(f.out))
	switch {
	case f.dir == "":
		return usagef("report wants a store: add --data DIR")
	case (f.day == "") == (f.pull == 0):
		return usagef("report wants a day or a pull: add either --day 2026-05-17 or --pull 12")
	case ext != ".html" && ext != ".pdf":
		return usagef("report wants a file to write: add -o FILE.html or -o FILE.pdf")
	}
	if _, err := time.Parse(time.DateOnly, f.day); f.day != "" && err != nil {
		return usagef("%q is not a date: write it as 2026-05-17", f.day)
	}
	return nil
}

// source gathers what the report is made of.
func (f *reportFlags) source(ctx context.Context) (report.Source, error) {
	db, err := store.OpenReader(f.dir)
	if err != nil {
		return report.Source{}, err
	}
	defer db.Close()
	s := report.Source{By: f.by, Made: time.Now(), Version: version(), Unit: f.show, Date: f.day}
	if s.InUse, err = db.PlanningWith(ctx); err != nil {
		return s, err
	}
	pulls, err := db.Pulls(ctx, store.PullFilter{})
	if err != nil {
		return s, err
	}
	slices.Reverse(pulls) // the earliest first
	logged, err := db.Dated(ctx, pulls, time.Local)
	if err != nil {
		return s, err
	}
	cells, err := db.Cells(ctx)
	if err != nil {
		return s, err
	}
	for i, p := range pulls {
		l := shock.FromLog(logged[i])
		s.With = append(s.With, l)
		if p.ID != f.pull && (f.day == "" || logged[i].Day != f.day) {
			s.Without = append(s.Without, l)
			continue
		}
		s.Date = logged[i].Day
		at := slices.IndexFunc(cells, func(c store.Cell) bool { return c.ID == p.Cell })
		if at < 0 {
			return s, fmt.Errorf("the cell of pull %d is not in the store", p.ID)
		}
		cell, err := derive.Of(ctx, db, cells[at])
		if err != nil {
			return s, err
		}
		r, err := reported(ctx, db, p, cell)
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
func (f *reportFlags) title(ctx context.Context, db *store.Store, p store.Pull, s *report.Source) error {
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
	if f.pull != 0 {
		s.Title = "Pull " + strconv.FormatInt(p.ID, 10) + ", " + s.Title
	}
	return nil
}

// nothing says that there is no such pull, and what there is.
func (f *reportFlags) nothing(logged []shock.Logged) error {
	switch {
	case len(logged) == 0:
		return fmt.Errorf("the store in %s has no pulls yet", f.dir)
	case f.pull != 0:
		return fmt.Errorf("the store in %s has no pull %d; list them with: tautlog export pulls --data %s", f.dir, f.pull, f.dir)
	}
	var days []string
	for _, l := range logged {
		if !slices.Contains(days, l.Day) {
			days = append(days, l.Day)
		}
	}
	return fmt.Errorf("the store in %s has no pulls on %s; it has some on %s", f.dir, f.day, strings.Join(days, ", "))
}

// reported is a pull with its cell and its trace.
func reported(ctx context.Context, db *store.Store, p store.Pull, cell derive.Cell) (report.Pull, error) {
	r := report.Pull{
		Name: "Pull " + strconv.FormatInt(p.ID, 10), At: time.Unix(0, p.Found.Start).Local(),
		Cell: report.Cell{Name: cell.Name, Capacity: cell.Capacity, InForce: cell.History.At(p.Found.PeakAt)},
		Kind: p.Kind, Ground: p.Ground, Notes: p.Notes, Rig: p.Rig, Found: p.Found, Settled: p.Settled, Speed: p.Speed,
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

// version is that of the program, as it was built.
func version() string {
	if info, ok := debug.ReadBuildInfo(); ok {
		return info.Main.Version
	}
	return ""
}
